"""Mends: each removes its clash, makes no other, and tells the right figure."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from fit.check import inspect
from fit.check.cuts import up_to_tenth
from fit.check.mend import EACH, Mend, mended, mends
from fit.check.mend_boards import board_resized
from fit.check.mend_change import Trial, clash_key
from fit.check.mend_moves import moved
from fit.findings import Finding, Grade
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.box import Tray
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import Board, BoardHole, Hull, Notch, Zone
from fit.model.words import BoardStock
from fit.pipeline import NoSuchMend, examine, with_mend
from fit.read import load_build
from fit.trade.hands import between_features, hand_work, hole_position_error
from fit.units import PITCH, Length
from tests import oracle
from tests.conftest import ROOT, RunFit

WRONG = sorted((ROOT / "tests" / "wrong").glob("*.yaml"))
BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))


def clashes(findings: Iterable[Finding]) -> dict[tuple[str, tuple[str, ...]], float]:
    return {clash_key(f): f.margin for f in findings if f.grade is Grade.CLASH}


def check_each(before: Iterable[Finding], found: Iterable[Mend]) -> None:
    """Every mend inspected afresh: its clash is gone, no other came, none got worse."""
    was = clashes(before)
    for mend in found:
        scene = assemble(mend.build)
        assert scene.open == ()
        after = clashes(inspect(scene))
        assert mend.mends in was and mend.mends not in after, mend.title
        assert after.keys() <= was.keys(), mend.title
        assert all(margin >= was[key] - 1e-6 for key, margin in after.items())
        assert mend.left == len(after)
        assert (mend.verdict is Grade.CLASH) == bool(after)


# --- the four wrong builds


@pytest.mark.parametrize("path", WRONG, ids=lambda p: p.stem)
def test_each_wrong_build_gets_a_mend_that_holds(path: Path) -> None:
    outcome = examine(load_build(path))
    assert outcome.verdict is Grade.CLASH
    found = outcome.mends
    assert found
    check_each(outcome.findings, found)
    assert found[0].verdict is not Grade.CLASH
    assert [m.cost for m in found] == sorted(m.cost for m in found)
    assert all(any(c.isdigit() for c in m.title) for m in found if m.title.startswith("move"))


@pytest.mark.parametrize("path", WRONG, ids=lambda p: p.stem)
def test_mended_things_share_no_room_by_the_kernel(path: Path) -> None:
    """The two things of each clash, as exact solids: they met before and are apart after."""
    outcome = examine(load_build(path))
    for mend in outcome.mends:
        rule, about = mend.mends
        assert rule == "bodies"
        assert meet(outcome.scene, *about)
        assert not meet(assemble(mend.build), *about), mend.title


def meet(scene: Scene, one: str, other: str) -> bool:
    def solids(name: str) -> list[tuple[bool, oracle.Solid]]:
        mine = (b for b in scene.bodies if b.owner == name)
        return [(b.outside, oracle.solid_of(b.shape, b.pose)) for b in mine]

    return any(
        oracle.shared(a, b) > 0
        for out_a, a in solids(one)
        for out_b, b in solids(other)
        if out_a is out_b
    )


def test_a_move_is_what_is_missing_and_the_spread_of_two_holes_rounded_up() -> None:
    """Two flat panels side by side on the lid: the arithmetic of a ruler."""
    outcome = examine(load_build(ROOT / "tests" / "wrong" / "gate-counter-wrong.yaml"))
    scene = outcome.scene
    left, right = scene.placed["panel_left"], scene.placed["panel_right"]
    short = 60.0 + 1.0 - (right.across - left.across)
    error = between_features(hole_position_error(hand_work("careful")))
    mm = up_to_tenth(up_to_tenth(short) + error)
    titles = [m.title for m in outcome.mends]
    assert f"move panel_left {mm:.1f} mm to the left" in titles
    assert f"move panel_right {mm:.1f} mm to the right" in titles


def test_the_finding_tells_the_cheapest_mend_that_was_tried() -> None:
    outcome = examine(load_build(WRONG[0]))
    clash = next(f for f in outcome.findings if f.grade is Grade.CLASH)
    assert clash.mend == outcome.mends[0].title
    # by itself the rule proposes shorter spacers; the checker found that these do not do
    alone = next(f for f in inspect(outcome.scene) if clash_key(f) == clash_key(clash))
    assert alone.mend is not None and alone.mend != clash.mend


def test_less_of_what_mends_all_is_not_told_and_nothing_twice() -> None:
    """Each clash of a readout that is too high asks for another move down: the longest does."""
    build = load_build(ROOT / "boxes" / "builds" / "hive-scale.yaml")
    readout = build.part("readout")
    assert readout.at is not None and readout.at.up is not None
    up = replace(readout.at.up, value=Length(12))
    outcome = examine(with_used(build, replace(readout, at=replace(readout.at, up=up))))
    every = mends(outcome.scene.build, outcome.findings)
    moves = [m for m in every if m.title.startswith("move readout")]
    assert len(moves) > 1 and min(m.left for m in moves) == 0
    told = [m.title for m in outcome.mends]
    assert len(set(told)) == len(told)
    assert [t for t in told if t.startswith("move readout")] == [moves[0].title]
    assert set(told) <= {m.title for m in every}


def test_a_board_that_is_cut_enough_is_not_told_to_be_cut_less() -> None:
    """Two posts stand 4 columns in its way, two 6: six columns mend all of it."""
    build = load_build(ROOT / "boxes" / "builds" / "hive-scale.yaml")
    used = build.part("main_board")
    assert isinstance(used.part, Board)
    wide = replace(used.part, size=(Length(52 * PITCH), used.part.size[1]))
    told = [m.title for m in examine(with_used(build, replace(used, part=wide))).mends]
    shorter = [t for t in told if "columns shorter" in t]
    assert shorter == [t for t in shorter if " 6 columns" in t]
    assert {t.split(" at its ")[1].split()[0] for t in shorter} == {"left", "right"}


def test_the_same_build_gets_the_same_mends() -> None:
    one, other = (examine(load_build(WRONG[1])) for _ in range(2))
    assert one.mends == other.mends


def test_a_clear_build_needs_none() -> None:
    for path in BUILDS:
        outcome = examine(load_build(path))
        assert outcome.mends == ()


# --- what nothing helps, and what others say


def test_what_cannot_be_mended_is_told_no_mend() -> None:
    """A button twice as deep as the box is wide: nothing a person can change here helps."""
    build = placed_build("hive-scale")
    used = build.part("tare")
    hull = Hull(depth=Length(400.0), diameter=Length(10.6))
    part = replace(used.part, hull=hull)  # type: ignore[arg-type]
    scene = assemble(with_used(build, replace(used, part=part)))
    findings = inspect(scene)
    found = mends(scene.build, findings)
    check_each(findings, found)
    told = mended(findings, found)
    assert any(f.grade is Grade.CLASH and f.mend is None for f in told)
    removed = {m.mends for m in found}
    for finding in told:
        if finding.grade is Grade.CLASH:
            assert (finding.mend is None) == (clash_key(finding) not in removed)


def placed_build(name: str) -> Build:
    return examine(load_build(ROOT / "boxes" / "builds" / f"{name}.yaml")).scene.build


def with_used(build: Build, used: Used) -> Build:
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))


def test_no_mend_of_a_shaken_build_makes_another_clash() -> None:
    """Parts pushed about at random: whatever is offered holds when inspected afresh."""
    rng = random.Random(20)
    offered = 0
    for name in ("bench-timer", "meter-box", "gate-counter"):
        build = placed_build(name)
        scene = assemble(build)
        movable = [
            u
            for u in build.parts
            if u.at is not None and scene.placed[u.name].face is not None and u.joined_to is None
        ]
        for _ in range(2):
            used = rng.choice(movable)
            mm = rng.choice([-1, 1]) * rng.uniform(6, 25)
            shaken = with_used(build, moved(used, scene.placed[used.name], rng.choice([0, 1]), mm))
            after = assemble(shaken)
            if after.open:
                continue
            findings = inspect(after)
            found = mends(shaken, findings)
            check_each(findings, found)
            assert len(found) <= EACH * len(clashes(findings))
            offered += len(found)
    assert offered > 3


def test_screws_that_are_too_short_are_changed_for_those_of_the_drawer() -> None:
    build = placed_build("meter-box")
    used = build.part("card")
    assert used.screws is not None
    long = replace(used.screws, length=Length(10.0))
    scene = assemble(with_used(build, replace(used, screws=long)))
    findings = inspect(scene)
    assert ("screw-length", ("card", "standoff")) in clashes(findings)
    found = mends(scene.build, findings)
    check_each(findings, found)
    titles = [m.title for m in found]
    assert "take M3 × 6 screws for card, from the drawer" in titles
    assert all(m.build.part("card").screws in build.drawer.screws for m in found[:1])


def test_a_window_that_is_too_small_is_cut_larger() -> None:
    build = placed_build("hive-scale")
    used = build.part("readout")
    assert used.window is not None
    window = replace(used.window, opening=(Length(47.0), Length(14.2)))
    scene = assemble(with_used(build, replace(used, window=window)))
    findings = inspect(scene)
    assert any(rule == "window-view" for rule, _ in clashes(findings))
    found = mends(scene.build, findings)
    check_each(findings, found)
    assert found[0].title.startswith("cut the window of readout ")
    opening = found[0].build.part("readout").window
    assert opening is not None and opening.opening is not None and opening.opening[0] > 47.0


def test_a_display_that_touches_its_window_gets_more_air() -> None:
    build = placed_build("bench-timer")
    used = build.part("readout")
    assert used.window is not None
    window = replace(used.window, gap=Length(-0.4))
    scene = assemble(with_used(build, replace(used, window=window)))
    findings = inspect(scene)
    assert any(rule == "display-clear" for rule, _ in clashes(findings))
    found = mends(scene.build, findings)
    check_each(findings, found)
    assert any("from its window" in m.title for m in found)


def test_a_board_in_the_way_of_a_part_is_notched_or_cut_with_two_rows_left() -> None:
    outcome = examine(load_build(ROOT / "tests" / "wrong" / "bench-timer-wrong.yaml"))
    for mend in outcome.mends:
        board = mend.build.part("board").part
        assert isinstance(board, Board)
        for notch in board.notches:
            sides = (
                notch.x,
                notch.y,
                board.size[0] - notch.x - notch.width,
                board.size[1] - notch.y - notch.depth,
            )
            assert all(side < 1e-6 or side > 2 * PITCH - 1e-6 for side in sides)
            for size in (notch.x, notch.y, notch.width, notch.depth):
                assert size / PITCH == pytest.approx(round(size / PITCH))


# --- moving and resizing by themselves


HOWS = [
    (How.AT, 1.0),
    (How.FROM_LEFT, 1.0),
    (How.FROM_RIGHT, 1.0),
    (How.CENTRE, 1.0),
    (How.SHARE, 1.0),
]


@pytest.mark.parametrize("mm", [-3.4, 5.1])
@pytest.mark.parametrize(("how", "_"), HOWS)
def test_a_part_moves_as_far_as_it_is_told_however_its_place_was_written(
    how: How, _: float, mm: float
) -> None:
    build = placed_build("meter-box")
    used = build.part("supply")
    value = {How.AT: -20.0, How.FROM_LEFT: 80.0, How.FROM_RIGHT: 80.0, How.SHARE: 0.4}.get(how, 0.0)
    place = Place(
        across=Coordinate(how=how, value=Length(value)),
        up=Coordinate(how=How.FROM_RIM, value=Length(30.0)),
    )
    scene = assemble(with_used(build, replace(used, at=place)))
    before = scene.placed["supply"]
    for axis in (0, 1):
        put = moved(scene.build.part("supply"), before, axis, mm)
        after = assemble(with_used(scene.build, put)).placed["supply"]
        shift = (after.across - before.across, after.up - before.up)
        assert shift[axis] == pytest.approx(mm, abs=0.006)
        # the other coordinate keeps the words it was written in (from_left counts along a leaning
        # edge, so it moves with the height by what the wall leans)
        assert abs(shift[1 - axis]) < 0.2 if how is not How.AT else abs(shift[1 - axis]) < 1e-6


def board(**more: object) -> Board:
    plain = Board(
        stock=BoardStock.STRIPS,
        size=(Length(20 * PITCH), Length(12 * PITCH)),
        holes=(BoardHole(x=Length(2.5 * PITCH), y=Length(2.5 * PITCH), diameter=Length(3.2)),),
        zones=(
            Zone(
                name="chip",
                x=Length(6 * PITCH),
                y=Length(4 * PITCH),
                width=Length(8 * PITCH),
                depth=Length(4 * PITCH),
                height=Length(9.0),
            ),
        ),
    )
    return replace(plain, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("sign", [-1, 1])
@pytest.mark.parametrize("rows", [-2, -1, 1, 3])
def test_rows_come_and_go_at_one_edge_and_all_else_stays(axis: int, sign: int, rows: int) -> None:
    before = board()
    after = board_resized(before, axis, sign, rows)
    hole = before.holes[0]
    edge = float(hole.x if axis == 0 else hole.y) - hole.diameter / 2
    if sign < 0 and rows < 0 and edge <= -rows * PITCH:
        assert after is None  # that would saw through the hole
        return
    assert after is not None
    assert after.size[axis] == pytest.approx(before.size[axis] + rows * PITCH)
    assert after.size[1 - axis] == before.size[1 - axis]

    def off(b: Board, low: float) -> float:
        """From the edge that stays."""
        return low if sign > 0 else b.size[axis] - low

    for old, new in ((before.zones[0], after.zones[0]), (before.holes[0], after.holes[0])):
        was, now = ((float(v.x), float(v.y)) for v in (old, new))
        assert off(after, now[axis]) == pytest.approx(off(before, was[axis]))
        assert now[1 - axis] == was[1 - axis]


def test_a_notch_at_an_edge_stays_at_it_and_one_that_is_cut_off_goes() -> None:
    notch = Notch(x=Length(0), y=Length(3 * PITCH), width=Length(2 * PITCH), depth=Length(PITCH))
    shorter = board_resized(board(notches=(notch,), holes=()), 0, -1, -1)
    assert shorter is not None
    assert (shorter.notches[0].x, shorter.notches[0].width) == pytest.approx((0.0, PITCH))
    gone = board_resized(board(notches=(notch,), holes=()), 0, -1, -3)
    assert gone is not None and gone.notches == ()


def test_a_board_is_not_cut_through_what_is_on_it() -> None:
    assert board_resized(board(), 0, 1, -7) is None  # the chip ends six columns from the right
    assert board_resized(board(), 0, 1, -6) is not None


def test_trying_is_counted() -> None:
    outcome = examine(load_build(WRONG[0]))
    clash = next(f for f in outcome.findings if f.grade is Grade.CLASH)
    trial = Trial(scene=outcome.scene, finding=clash, tries=2)
    assert trial.scene_of(outcome.scene.build) is not None
    assert not trial.helps(outcome.scene.build)
    assert trial.scene_of(outcome.scene.build) is None
    # a build that cannot be put together helps nobody
    tray = outcome.scene.build.box
    assert isinstance(tray, Tray)
    fresh = Trial(scene=outcome.scene, finding=clash)
    parts = tuple(replace(u, on=None) for u in outcome.scene.build.parts if u.name == "board")
    assert fresh.scene_of(replace(outcome.scene.build, parts=parts)) is None


# --- the command


def test_the_command_shows_the_check_after_a_mend(fit_process: RunFit) -> None:
    path = ROOT / "tests" / "wrong" / "bench-timer-wrong.yaml"
    before = fit_process("check", path, "--json")
    after = fit_process("check", path, "--mend", "1", "--json")
    assert (before.returncode, after.returncode) == (1, 0)
    told, mended_report = json.loads(before.stdout), json.loads(after.stdout)
    first = told["mends"][0]
    assert first["title"] == mended_report["mended"]["title"]
    assert set(first["removes"]["about"]) == {"board", "minutes"}
    assert first["verdict"] == mended_report["verdict"]
    assert told["mended"] is None and mended_report["mends"] == []
    assert math.isclose(
        mended_report["placed"]["minutes"]["across"] - told["placed"]["minutes"]["across"],
        float(first["title"].split()[2]),
        abs_tol=0.01,
    )


def test_a_mend_that_is_not_there_is_refused_in_words(fit_process: RunFit) -> None:
    path = ROOT / "tests" / "wrong" / "bench-timer-wrong.yaml"
    ran = fit_process("check", path, "--mend", "99")
    assert ran.returncode == 2
    assert "there is no number 99" in ran.stderr and "Traceback" not in ran.stderr
    clear = examine(load_build(BUILDS[0]))
    for number in (0, 1, -1):
        with pytest.raises(NoSuchMend, match="has no mends"):
            with_mend(clear, number)
