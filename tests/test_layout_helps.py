"""What would help where there is no layout: each kind alone, as little as will do, and tried anew.

What is too little is asked of the check alone, at every place there is.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import NormalDist

import pytest

from fit.check.odds_sample import chance, sample
from fit.commands.place_words import no_text
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.model.build import Build, Place
from fit.model.part import Board
from fit.pipeline import examine
from fit.read import load_build
from fit.solve.helps import with_helps
from fit.solve.helps_try import Change, Trier
from fit.solve.layout import lay_out
from fit.solve.nolayout import Help, NoLayout, why_not
from fit.solve.run import Effort, Status, Watch
from fit.solve.verdict import WHEREVER, judged
from fit.units import PITCH
from tests.conftest import ROOT
from tests.layout_builds import good_alone
from tests.layout_cases import box, read, watch
from tests.random_parts import at

PRESS = "{use: press-12, on: right}"
ELSEWHERE = "".join(f"  - keep_out: {{on: {f}}}\n" for f in ("front", "back", "left", "lid"))


def _helped(text: str, folder: Path, using: Watch | None = None) -> NoLayout:
    laid = lay_out(read(text, folder), watch())
    assert laid.status is Status.IMPOSSIBLE
    reason = with_helps(laid, why_not(laid, watch()), using or watch())
    for one in reason.helps:
        _goes(one)
    return reason


def _goes(help_: Help) -> None:
    """The help holds when it is done anew: laid out from the start, and by all of the check."""
    again = lay_out(help_.build, watch())
    assert again.status is Status.FOUND, help_.title
    for layout in (help_.layout, again.layout):
        assert layout is not None
        assert not assemble(layout.build).open
        clashes = [
            f
            for f in examine(layout.build, mending=False).findings
            if f.grade is Grade.CLASH and f.rule not in WHEREVER
        ]
        assert not clashes, (help_.title, clashes[0].say)


def _only(reason: NoLayout) -> Help:
    (one,) = reason.helps
    return one


def _anywhere(build: Build, name: str, reach: float, step: float) -> Iterator[Build]:
    """A part of the floor at all places so far about the middle."""
    ways = [k * step for k in range(-math.floor(reach / step), math.floor(reach / step) + 1)]
    used = build.part(name)
    for across, up in itertools.product(ways, ways):
        put = replace(used, at=Place(across=at(across), up=at(up)))
        yield replace(build, parts=tuple(put if u.name == name else u for u in build.parts))


# --- boards

BLOCK = "  m: {use: {kind: holder, size: [14, 14, 30], fixing: tape}, on: floor, at: %s}\n"
ROUND = (
    "  b: {use: {kind: board, stock: pads, size: [44 holes, 29 holes], zones: ["
    "{name: left, over: [0 holes, 12 holes, 3 holes, 5 holes], height: 6},"
    "{name: right, over: [41 holes, 6 holes, 3 holes, 5 holes], height: 6},"
    "{name: low, over: [10 holes, 0 holes, 5 holes, 3 holes], height: 6},"
    "{name: high, over: [10 holes, 26 holes, 5 holes, 3 holes], height: 6}"
    "]}, on: floor, standoff: 8}\n"
)


def test_where_only_a_notch_helps_the_smallest_is_found(tmp_path: Path) -> None:
    # A block stands in the corner; something stands on each side of the board, so that nothing
    # can be cut off, and turned it is longer than the box is wide.
    reason = _helped(box(BLOCK % "{across: 44, up: 26}" + ROUND), tmp_path)
    one = _only(reason)
    # The floor is seen from below: what is to the right in the box is to the left on the board.
    assert one.title.startswith("notch b at its upper left corner, ")
    board = one.build.part("b").part
    assert isinstance(board, Board)
    (notch,) = board.notches
    for side in (notch.width, notch.depth):
        assert side / PITCH == pytest.approx(round(side / PITCH))
    assert float(notch.x) == 0
    assert notch.y + notch.depth == pytest.approx(board.size[1])
    # A row less on either side, and the check objects wherever the board is put.
    for less in (
        replace(notch, width=at(notch.width - PITCH).value),
        replace(notch, y=at(notch.y + PITCH).value, depth=at(notch.depth - PITCH).value),
    ):
        used = replace(one.build.part("b"), part=replace(board, notches=(less,)))
        parts = tuple(used if u.name == "b" else u for u in one.build.parts)
        for put in _anywhere(replace(one.build, parts=parts), "b", 1.0, 0.5):
            assert not judged(put, ("b",)).good


@pytest.mark.slow
def test_a_notch_half_way_along_an_edge_is_drawn_in_to_what_is_in_the_way(tmp_path: Path) -> None:
    reason = _helped(box(BLOCK % "{across: 0, up: 26}" + ROUND), tmp_path)
    one = _only(reason)
    assert one.title.startswith("notch b round m, ")
    board = one.build.part("b").part
    assert isinstance(board, Board)
    (notch,) = board.notches
    # 14 mm with 1 mm of air on both sides and a sawn edge's stray: 7 or 8 rows.
    assert round(notch.width / PITCH) in (7, 8)


@pytest.mark.slow
def test_no_notch_is_told_of_a_board_that_is_not_in_the_way(tmp_path: Path) -> None:
    board = "  b: {use: {kind: board, stock: pads, size: [20 holes, 20 holes]}, on: floor,"
    parts = "".join(f"  {n}: {PRESS}\n" for n in "ac") + board + " standoff: 8}\n"
    wishes = ELSEWHERE + "  - finger_gap: 50 mm\n"
    reason = _helped(box(parts, wishes, size="[120, 80, 36]"), tmp_path)
    assert not [one for one in reason.helps if "notch" in one.title or "cut" in one.title]


def test_two_rows_are_cut_where_two_are_needed(tmp_path: Path) -> None:
    board = "{kind: board, stock: strips, size: [46 holes, 28 holes]}"
    parts = f"  b: {{use: {board}, on: floor, standoff: 8}}\n"
    reason = _helped(box(parts), tmp_path)
    first = reason.helps[0]
    # 116 mm less 1 mm on both sides: 44 holes are 111.8 mm, 45 are 114.3.
    assert first.title == "cut b 2 rows of holes shorter"
    one_row = box(parts.replace("46 holes", "45 holes"))
    build = read(one_row, tmp_path, "one-row")
    for put in _anywhere(build, "b", 1.0, 0.5):
        assert not judged(put, ("b",)).good


@pytest.mark.slow
def test_a_board_that_stays_is_cut_at_the_edge_that_is_in_the_way(tmp_path: Path) -> None:
    # The battery holder must go between the board's right end and the wall.
    parts = (
        "  b: {use: {kind: board, stock: strips, size: [36 holes, 26 holes]}, on: floor,"
        " standoff: 8, at: {across: 0, up: 0}}\n"
        "  m: {use: {kind: holder, size: [14, 74, 30], fixing: tape}, on: floor}\n"
    )
    reason = _helped(box(parts), tmp_path)
    cuts = [one for one in reason.helps if one.title.startswith("cut b")]
    # 58 − 45.7 = 12.3 mm are there, 16 are needed: two rows, at whichever end.
    assert cuts
    assert cuts[0].title.startswith("cut b 2 rows of holes shorter at its ")
    board = cuts[0].layout.verdict.scene.placed["b"]
    assert abs(board.across) == pytest.approx(PITCH, abs=0.01)


# --- gaps


@pytest.mark.slow
def test_where_only_a_smaller_finger_gap_helps_the_largest_that_goes_is_told(
    tmp_path: Path,
) -> None:
    parts = "".join(f"  {n}: {PRESS}\n" for n in "ab")
    wishes = ELSEWHERE + "  - finger_gap: 50 mm\n"
    reason = _helped(box(parts, wishes, size="[120, 80, 36]"), tmp_path)
    one = _only(reason)
    assert one.title.startswith("wish for ")
    (gap,) = (float(w.value) for w in one.build.wishes if float(w.value) > 0)
    # Where one button alone is good, by the check: the two that are furthest apart.
    alone = read(box(f"  open0: {PRESS}\n", size="[120, 80, 36]"), tmp_path, "alone")
    spots = [(float(s[2] or 0), float(s[3] or 0)) for s in good_alone(alone, "open0")]
    widest = max(math.dist(a, b) for a, b in itertools.combinations(spots, 2)) - 10
    # The places looked at are 1 mm apart.
    assert gap - 1.5 < widest < gap + 1.5


@pytest.mark.slow
def test_fingers_closer_than_the_trade_asks_are_told_with_what_it_asks(tmp_path: Path) -> None:
    parts = "".join(f"  {n}: {PRESS}\n" for n in "abcd")
    reason = _helped(box(parts, ELSEWHERE, size="[120, 80, 36]"), tmp_path)
    one = _only(reason)
    (need,) = one.build.needs
    assert need.rule == "fingers"
    assert 6.0 <= need.value < 13.0
    assert f"accept {float(need.value):g} mm for a finger instead of 13" in one.title
    # Half a millimetre more, and there is none any more.
    more = replace(need, value=at(need.value + 0.5).value)
    assert lay_out(replace(one.build, needs=(more,)), watch()).layout is None


def test_a_region_is_kept_less_free_as_little_as_will_do(tmp_path: Path) -> None:
    parts = f"  a: {PRESS}\n"
    wishes = ELSEWHERE + "  - keep_out: {on: right, from_left: 12, from_right: 12}\n"
    reason = _helped(box(parts, wishes, size="[120, 80, 36]"), tmp_path)
    one = _only(reason)
    assert one.title.startswith("keep ")
    assert "mm less of the right free" in one.title


LONG = "  m: {use: {kind: holder, size: [114.5, 74.5, 20], fixing: tape}, on: floor}\n"


def test_less_air_is_told_with_the_odds_it_costs(tmp_path: Path) -> None:
    # 116 mm between the walls: 0.75 mm are left on both sides, 1 is usual.
    reason = _helped(box(LONG), tmp_path)
    one = _only(reason)
    assert one.title.startswith("accept 0.5 mm of air to the walls instead of 1 ")
    assert one.chances is not None
    before, after = one.chances
    walls = [f for f in one.layout.verdict.findings if f.rule == "walls"]
    worst = min(walls, key=lambda f: f.have)
    # A spread is two standard deviations.
    normal = NormalDist(0.0, max(worst.spread, 0.1) / 2)
    assert after == pytest.approx(normal.cdf(worst.have), abs=1e-6)
    assert before == pytest.approx(normal.cdf(1.0), abs=1e-6)
    assert before > after
    laid = lay_out(read(box(LONG), tmp_path), watch())
    said = no_text(laid, reason)
    assert "of 400 simulated copies" in said
    assert "its tightest gap holds at the first cut: " in said


def test_the_odds_of_a_help_are_those_of_the_copies() -> None:
    scene = assemble(load_build(ROOT / "boxes" / "builds" / "bench-timer.yaml"))
    assert chance(scene, 60) == sample(scene, 60, workers=1).whole


# --- the search


class _Counted(Trier):
    """Helps from a number on; notes what was tried."""

    def __init__(self, least: int) -> None:
        super().__init__(Watch(), lambda _: None)
        self.least, self.asked = least, list[int]()

    def __call__(self, change: Change, *, fine: bool = False) -> Help | None:
        number = round(change.cost)
        self.asked.append(number)
        if number < self.least:
            return None
        return Help(
            title=change.title,
            layout=None,  # type: ignore[arg-type]
            cost=change.cost,
            build=change.build,
        )


@pytest.mark.parametrize("least", range(1, 10))
def test_the_least_of_a_kind_is_found_and_the_one_below_was_tried(least: int) -> None:
    build = load_build(ROOT / "boxes" / "builds" / "bench-timer.yaml")
    tried = _Counted(least)

    def make(number: int) -> Change | None:
        return Change(title="", build=build, cost=number) if number <= 8 else None

    found = tried.fewest(make, 12)
    if least > 8:
        assert found is None
        assert tried.asked == [8]
        return
    assert found is not None
    assert found.cost == least
    assert {least, least - 1} - {0} <= set(tried.asked)


@pytest.mark.slow
def test_helps_do_not_depend_on_how_quick_the_machine_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    parts = "".join(f"  {n}: {PRESS}\n" for n in "abcd")
    text = box(parts, size="[120, 80, 36]")
    patient = Watch(effort=Effort(seconds=1e7, work=6.0))
    quick = [one.title for one in _helped(text, tmp_path, patient).helps]
    now = time.monotonic
    start = now()
    monkeypatch.setattr(time, "monotonic", lambda: start + 1000.0 * (now() - start))
    patient = Watch(effort=Effort(seconds=1e7, work=6.0))
    laid = lay_out(read(text, tmp_path), Watch(effort=Effort(seconds=1e7, work=6.0)))
    slow = with_helps(laid, why_not(laid, patient), patient)
    assert [one.title for one in slow.helps] == quick
