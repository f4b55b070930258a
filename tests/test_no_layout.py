"""What the layout solver answers, against a search of all places by the check alone."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from itertools import pairwise, product
from pathlib import Path
from random import Random

import pytest

from fit.check import Inspection, inspected
from fit.check.order import order
from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.model.words import FaceName
from fit.solve.crowd import most
from fit.solve.free import put_in
from fit.solve.layout import lay_out
from fit.solve.run import Status
from fit.solve.verdict import judged
from tests.layout_builds import Asked, Spot, good_alone, put, random_asked, spots, verdict
from tests.layout_cases import box, read, watch
from tests.no_layout import Came, run
from tests.place_search import OVER, SMOOTH, Seen, roomiest


def _right(found: list[Came]) -> Counter[tuple[Status | None, Seen | None]]:
    wrong = [(c.seed, c.wrong) for c in found if c.wrong]
    assert not wrong, wrong
    return Counter((c.answer, c.search) for c in found)


def test_a_few_answers() -> None:
    seen = _right(list(run(range(211_001, 211_009), 1, 2, room=False)))
    assert seen[Status.IMPOSSIBLE, Seen.NONE] >= 2
    assert seen[Status.FOUND, None] + seen[Status.FOUND, Seen.PLACE] >= 3


@pytest.mark.slow
def test_some_answers() -> None:
    seen = _right(list(run(range(320_000, 320_050), 2, 2)))
    assert seen[Status.IMPOSSIBLE, Seen.NONE] >= 10
    assert sum(n for (answer, _), n in seen.items() if answer is Status.OUT_OF_TIME) <= 1


@pytest.mark.proof
def test_many_answers() -> None:
    seen = _right(list(run(range(330_000, 330_700), 2, 3, room=False)))
    assert seen[Status.IMPOSSIBLE, Seen.NONE] >= 200
    assert sum(n for (answer, _), n in seen.items() if answer is Status.OUT_OF_TIME) <= 7


@pytest.mark.proof
def test_the_most_room_of_one_part_many_times() -> None:
    found = list(run(range(340_000, 340_250), 2, 1))
    _right(found)
    assert sum(c.best is not None and c.search is Seen.PLACE for c in found) >= 150


# ── what the searches, and the solver's own, rest on ────────────────────────────────────────


def _away(rng: Random, spot: Spot, by: float) -> Spot:
    face, turn, across, up = spot
    angle = rng.uniform(0, 2 * math.pi)
    if across is None or up is None:
        angle = rng.choice((0.0, math.pi)) + (0.0 if up is None else math.pi / 2)
    return (
        face,
        turn,
        None if across is None else across + by * math.cos(angle),
        None if up is None else up + by * math.sin(angle),
    )


def _falls_off_evenly(seeds: range, moves: int) -> int:
    """What is broken by more than parts are moved is broken there too; how often that was asked."""
    asked = 0
    for seed in seeds:
        rng = Random(seed)
        build, names = (a := random_asked(seed)).build, a.open_
        places = {name: list(spots(build, name, 2.0)) for name in names}
        for _ in range(moves if all(places.values()) else 0):
            there = {name: rng.choice(places[name]) for name in names}
            try:
                scene = assemble(put(build, there))
            except UnusableInput:
                continue
            found = inspected(Inspection(scene), (*SMOOTH, order))
            broken = [f for f in found if f.margin < -0.1 and set(names) & set(f.about)]
            for one in broken[:2]:
                moving = names if one.rule == order.name else set(one.about) & set(names)
                by = -one.margin / OVER / len(moving) - 1e-3
                beside = {n: _away(rng, s, by) if n in moving else s for n, s in there.items()}
                said = verdict(build, beside)
                asked += 1
                assert said is None or not said.good, (seed, one.say, there, beside)
    return asked


def test_gaps_fall_off_by_no_more_than_parts_are_moved() -> None:
    assert _falls_off_evenly(range(500_000, 500_012), 6) > 40


@pytest.mark.slow
def test_gaps_fall_off_by_no_more_than_parts_are_moved_many_times() -> None:
    assert _falls_off_evenly(range(510_000, 510_300), 12) > 3000


def test_the_least_room_of_a_nut_is_told_when_another_neighbour_may_stray_more() -> None:
    asked = random_asked(320_005, most_open=2)
    laid = lay_out(asked.build, watch(), quick=True)
    assert laid.layout is not None
    (name,) = asked.open_
    start = replace(laid.layout.puts[name], up=14.98)
    rooms = [
        judged(put_in(asked.build, {name: replace(start, across=-12.5 - n / 100)}), (name,)).margin
        for n in range(60)
    ]
    steps = [abs(b - a) for a, b in pairwise(rooms)]
    assert max(rooms) - min(rooms) > 0.05
    assert max(steps) <= 0.01 * OVER


# ── the last word: area by area ─────────────────────────────────────────────────────────────


def test_two_nuts_on_a_leaning_wall_pass_each_other_round() -> None:
    # With the upright boxes round their spanners neither could be first: the round ends pass.
    asked = random_asked(200_324)
    laid = lay_out(asked.build, watch())
    assert laid.status is Status.FOUND
    assert laid.layout is not None
    assert laid.layout.verdict.good


@pytest.mark.slow
def test_cells_come_out_of_their_holder() -> None:
    # Wherever the holder goes something ends up less than 15 mm above it.
    asked = random_asked(200_408)
    assert lay_out(asked.build, watch()).status is Status.IMPOSSIBLE
    assert not _good_places(asked, 2.0)


def _good_places(asked: Asked, step: float) -> bool:
    """Whether the check passes any of the places on a grid."""
    names = asked.open_
    each = [list(good_alone(asked.build, name, step)) for name in names]
    for places in product(*each):
        said = verdict(asked.build, dict(zip(names, places, strict=True)))
        if said is not None and said.good:
            return True
    return False


# ── the most room ───────────────────────────────────────────────────────────────────────────


def test_places_leave_their_marks_where_that_gives_clearly_more_room() -> None:
    # Between a wall, a post and another part the roomiest spot lies far along a narrow ridge.
    asked = random_asked(400_007, most_open=1)
    layout = lay_out(asked.build, watch()).layout
    assert layout is not None
    again = judged(layout.build, asked.open_)
    assert again.good
    best = roomiest(asked.build, asked.open_[0], 5.0, 0.1, 4000)
    assert best.seen is Seen.PLACE
    assert again.margin >= best.margin - 0.15
    # Whole millimetres give 3.45 mm.
    assert again.margin > 3.75


JOINED = """
build: joined
box: tray-150x100x60
drawer: small-kit
needs: {bodies: 0.5}
parts:
  readout:
    use: digits-4
    on: front
    at: {up: {from_rim: 24}}
    window: {filter: 2 mm, held: pushed_in, seen_from: 35}
  lying:
    use: {kind: board, stock: strips, size: [44 holes, 20 holes], underside: 2.5,
          holes: [[6, 6, 3.2], [104.8, 6, 3.2], [104.8, 44, 3.2], [6, 44, 3.2]]}
    on: floor
    standoff: 5
    screws: screw-m3x6
    at: {across: {from_left: %d}, up: {from_front: 36}}
  standing:
    use: {kind: board, stock: pads, size: [30 holes, 14 holes], underside: 2}
    joined_to: lying
    with: block-10
    carries: [readout]
"""


@pytest.mark.parametrize(("left", "has_room"), [(50, False), (92, True)])
def test_a_joint_keeps_its_blocks_on_the_lying_board(
    left: int, has_room: bool, tmp_path: Path
) -> None:
    # With the lying board far to the left the blocks hang over its edge wherever the readout has
    # room; by the check at every 2 mm (0.5 mm gives the same).
    build = read(JOINED % left, tmp_path)
    movers = ("readout", "standing")
    good, hang = [], []
    for step in range(-25, 26):
        spot: Spot = (FaceName.FRONT, 0, 2.0 * step, None)
        try:
            said = judged(put(build, {"readout": spot}), movers)
        except UnusableInput:
            continue
        good += [said.margin] if said.good else []
        hang += [f for f in said.clashes if f.rule == "joint-carried"]
    assert hang
    assert bool(good) is has_room
    laid = lay_out(build, watch())
    if has_room:
        assert laid.layout is not None
        assert laid.layout.verdict.good
        assert laid.layout.margin >= max(good) - 0.15
    else:
        assert laid.status is Status.IMPOSSIBLE
        # By the question: no veto of the check was needed.
        assert not laid.objections


@pytest.mark.parametrize("side", range(1, 9))
def test_a_triangle_of_balls_is_the_most_there_can_be(side: int) -> None:
    # Points of a triangular lattice within a triangle: (k + 1)(k + 2) / 2 of them reach the bound.
    area, perimeter = math.sqrt(3) / 4 * side**2, 3.0 * side
    assert most(area, perimeter, 1.0) == (side + 1) * (side + 2) // 2
    assert most(area, perimeter, 1.0 + 1e-3) < (side + 1) * (side + 2) // 2


def test_more_buttons_than_a_lid_can_have_are_refused_at_once(tmp_path: Path) -> None:
    # Caps of 10 mm with 13 mm between them: middles 23 mm apart, in 79 × 49 mm at the most. By
    # Oler's bound 2/√3 · 3871/23² + 256/46 + 1 = 15.01.
    parts = "".join(f"  b{n}: {{use: press-12, on: lid}}\n" for n in range(16))
    build = read(box(parts, size="[100, 70, 45]"), tmp_path)
    told: list[str] = []
    laid = lay_out(build, watch(), told.append)
    assert laid.status is Status.IMPOSSIBLE
    assert not told
    # The rows that a person would draw: three of four, 23 mm apart, do go in.
    fewer = replace(build, parts=build.parts[:12])
    assert lay_out(fewer, watch(), quick=True).status is Status.FOUND
