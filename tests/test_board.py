"""The biggest board: against trying every rectangle with the real check, and against plain sums."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest

from fit import pipeline
from fit.check.rule import Inspection
from fit.check.things import need_between, need_to_wall, things
from fit.findings import Verdict
from fit.geometry.assemble import assemble
from fit.geometry.containment import wall_margins
from fit.geometry.distance import gap
from fit.geometry.shapes import Block
from fit.model.box import Post
from fit.model.build import Build, Used
from fit.model.part import Board, Holder, Zone
from fit.model.words import (
    FaceName,
    Half,
    PostUse,
    Seat,
)
from fit.read import load_build
from fit.solve.board import Biggest, End, Sawn, biggest, boards_in
from fit.solve.board_grid import board_with, build_with, grid_of
from fit.solve.board_map import State, cell_map
from fit.solve.board_pair import pairs
from fit.solve.board_room import resized, smallest_room
from fit.solve.board_search import SIDES, judged, side_moved
from fit.solve.first import place_open
from fit.solve.outline import Outline
from fit.solve.run import Effort, Watch
from fit.units import PITCH
from fit.units import Length as L
from tests.board_builds import a_board, a_build, a_hole, a_socket, place, random_build
from tests.conftest import ROOT
from tests.trays import four_walls, tray

BUILDS = ROOT / "boxes" / "builds"


def _passing(found: Biggest) -> Build:
    """The build with the board that was found: it has to pass the whole check."""
    assert found.end is End.FOUND, found.reasons
    assert found.build is not None
    assert found.kept is not None
    assert found.outline is not None
    assert found.kept.cells <= found.outline.holes()
    assert pipeline.examine(found.build).verdict is not Verdict.CLASH
    return found.build


def _refused(build: Build, found: Biggest, outline: Outline) -> bool:
    other = build_with(build, found.grid, outline)
    return other is None or not judged(other).passes


# --- random trays, every rectangle judged by the check itself


def _best_by_trying(build: Build) -> int:
    """The most cells of all rectangles, the largest first, that the check passes."""
    grid = grid_of(assemble(build), "board")
    x0, y0, x1, y1 = grid.reach
    rects = [
        (a, b, c, d)
        for a, b in itertools.product(range(x0, 1), range(y0, 1))
        for c, d in itertools.product(range(3, x1 + 1), range(3, y1 + 1))
    ]
    for rect in sorted(rects, key=lambda r: ((r[2] - r[0]) * (r[3] - r[1]), r), reverse=True):
        outline = Outline(rect=rect)
        other = build_with(build, grid, outline)
        if other is not None and judged(other).passes:
            return outline.area
    return 0


def _agrees(seed: int) -> int:
    build = random_build(seed)
    found = biggest(build, "board", Sawn(notches=0, least_width=2), Watch())
    assert found.area == _best_by_trying(build), seed
    if found.area:
        _passing(found)
    else:
        assert found.end is End.NONE
        assert found.reasons
    return found.area


def test_random_trays_get_the_best_of_all_rectangles() -> None:
    assert [bool(_agrees(seed)) for seed in (2, 13, 21)] == [True, True, True]


@pytest.mark.slow
@pytest.mark.parametrize("start", range(0, 40, 10))
def test_more_random_trays_do_too(start: int) -> None:
    for seed in range(start, start + 10):
        _agrees(seed)


@pytest.mark.proof
@pytest.mark.parametrize("start", range(40, 200, 10))
def test_all_two_hundred_random_trays_do_too(start: int) -> None:
    for seed in range(start, start + 10):
        _agrees(seed)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["hive-scale", "gate-counter"])
def test_no_larger_rectangle_passes_in_a_demo_build(name: str) -> None:
    build = place_open(load_build(BUILDS / f"{name}.yaml")).build
    board = boards_in(build)[0]
    found = biggest(build, board, Sawn(notches=0), Watch())
    _passing(found)
    assert found.kept is not None
    columns = [c for c, _ in found.kept.cells]
    rows = [r for _, r in found.kept.cells]
    x0, y0, x1, y1 = found.grid.reach
    for a, b in itertools.product(range(x0, min(columns) + 1), range(y0, min(rows) + 1)):
        for c in range(max(columns) + 1, x1 + 1):
            for d in range(max(rows) + 1, y1 + 1):
                if found.area < (c - a) * (d - b) < found.area * 1.1:
                    assert _refused(build, found, Outline(rect=(a, b, c, d))), (a, b, c, d)


# --- the map, cell by cell


@pytest.mark.parametrize(
    ("name", "board"), [("bench-timer", "board"), ("hive-scale", "main_board")]
)
def test_a_cell_is_blocked_just_where_its_own_slab_would_clash(name: str, board: str) -> None:
    scene = assemble(place_open(load_build(BUILDS / f"{name}.yaml")).build)
    grid = grid_of(scene, board)
    found = cell_map(scene, grid)
    known = things(Inspection(scene))
    slab = next(s for s in known.solids if s.body.id == (board, "slab"))
    others = [s for s in known.inside if s.body.owner != board]
    thick, s = float(grid.board.thickness), grid.step
    seen = set()
    for column in range(grid.reach[0], grid.reach[2], 3):
        for row in range(grid.reach[1], grid.reach[3], 4):
            middle = ((column + 0.5) * s, (row + 0.5) * s, -thick / 2)
            shape, pose = Block(s, s, thick), grid.pose.shifted(middle)
            clash = any(
                room.mm < need_to_wall(slab, room.face)
                for room in wall_margins(scene.build.box, shape, pose)
            ) or any(
                gap(shape, pose, o.body.shape, o.body.pose).mm < need_between(slab, o)
                for o in others
                if not known.touch(slab.body, o.body)
            )
            state = found.state(column, row)
            # The leads below the board reach further than its slab here and there.
            assert state is State.BLOCKED or not clash, (column, row)
            seen.add((state is State.BLOCKED, clash))
    assert {(True, True), (False, False)} <= seen


def test_without_leads_the_map_is_the_slabs() -> None:
    build = random_build(3)
    used = build.part("board")
    assert isinstance(used.part, Board)
    bare = replace(used, part=replace(used.part, underside=L(0)))
    build = replace(build, parts=(bare, *build.parts[1:]))
    grid = grid_of(assemble(build), "board")
    found = cell_map(assemble(build), grid)
    alone = {
        (x, y): judged_alone(build, (x, y, x + 1, y + 1))
        for x in range(grid.reach[0], grid.reach[2])
        for y in range(grid.reach[1], grid.reach[3])
        if not (0 <= x < 3 and 0 <= y < 3)
    }
    for cell, passes in alone.items():
        # A single cell may well be tilted in where the straight way is barred.
        state = found.state(*cell)
        assert state is State.DOUBTFUL or passes == (state is State.FREE), cell
    assert {found.state(*cell) for cell in alone} >= {State.FREE, State.BLOCKED}


def judged_alone(build: Build, rect: tuple[int, int, int, int]) -> bool:
    """Whether a board without its hole passes where it covers those cells only."""
    grid = grid_of(assemble(build), "board")
    used = build.part("board")
    bare = replace(used, part=replace(grid.board, holes=()))
    plain = replace(build, parts=(bare, *build.parts[1:]))
    other = build_with(
        plain, replace(grid, board=replace(grid.board, holes=())), Outline(rect=rect)
    )
    return other is not None and judged(other).passes


# --- demo builds


@pytest.mark.parametrize("name", ["bench-timer", "gate-counter", "meter-box"])
def test_the_biggest_boards_of_the_demo_builds_pass_and_one_line_more_does_not(name: str) -> None:
    build = place_open(load_build(BUILDS / f"{name}.yaml")).build
    for board in boards_in(build):
        found = biggest(build, board, Sawn(), Watch())
        _passing(found)
        assert found.outline is not None
        assert found.area > found.grid.area_now
        assert found.area <= found.most
        for side in SIDES:
            if not (found.grid.standing and side == "lower"):
                assert _refused(build, found, side_moved(found.outline, side)), (board, side)


def test_what_stands_on_the_board_keeps_its_place_in_the_box() -> None:
    build = place_open(load_build(BUILDS / "hive-scale.yaml")).build
    found = biggest(build, "main_board", Sawn(), Watch())
    before, after = assemble(build), assemble(_passing(found))
    for name in ("amplifier in its socket", "regulator"):
        was, now = (
            next(b.pose.origin for b in s.bodies if b.name == name) for s in (before, after)
        )
        assert now == pytest.approx(was, abs=0.002)
    was, now = (
        next(b.pose.origin for b in s.boards if b.name == "display_board") for s in (before, after)
    )
    assert now == pytest.approx(was, abs=0.002)


# --- by hand


def test_an_empty_box_by_hand() -> None:
    # Inside 60 × 40, walls upright, corners sharp, 1 mm air beside a board: 58 × 38 to be used.
    # The board's hole is in the middle of cell (1, 1) and that in the middle of the box: to either
    # side 29 = 1.27 + 10 × 2.54 + 2.33, 19 = 1.27 + 6 × 2.54 + 2.49: 21 columns and 13 rows.
    box = tray(length=L(64), width=L(44), corner_inner=L(0), **four_walls(0.0))
    board = Used(
        name="board", part=a_board(3, 3, (a_hole(2, 2),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    found = biggest(a_build(box, board), "board", Sawn(), Watch())
    _passing(found)
    assert found.outline == Outline(rect=(-9, -5, 12, 8))
    assert found.most == found.area == 21 * 13


def test_a_board_grows_over_posts_it_did_not_reach() -> None:
    posts = tuple(
        Post(name=f"B{n}", half=Half.BODY, x=L(x * PITCH), y=L(y * PITCH), tip=L(5), foot=L(5),
             height=L(6), hole=L(2.4), depth=L(5))
        for n, (x, y) in enumerate(((-10, -6), (-10, 6), (10, -6), (10, 6)))
    )  # fmt: skip
    box = tray(length=L(84), width=L(64), posts=posts, **four_walls(0.0))
    small = Used(name="board", part=a_board(6, 17), on=Seat.POSTS, at=place(9.5 * PITCH * -1, 0))
    build = a_build(box, small, edges=3.0)
    assert len(assemble(build).boards[0].holes) == 2
    found = biggest(build, "board", Sawn(), Watch())
    after = assemble(_passing(found))
    assert len(after.boards[0].holes) == 4
    assert found.area > 25 * 15


def test_an_edge_with_a_socket_stays() -> None:
    box = tray(length=L(64), width=L(44), **four_walls(0.0))
    part = a_board(9, 3, (a_hole(7, 2),), noses=(a_socket(),))
    board = Used(name="board", part=part, on=FaceName.FLOOR, at=place(16.5, 0), standoff=L(6))
    build = a_build(box, board)
    found = biggest(build, "board", Sawn(), Watch())
    if found.end is End.FOUND:
        assert found.outline is not None
        assert found.outline.rect[0] == 0
        assert found.outline.rect[2] > 9
        _passing(found)
    else:
        pytest.fail(str(found.reasons))


def test_where_a_zone_clashes_there_is_none_and_it_says_why() -> None:
    build = load_build(ROOT / "tests" / "wrong" / "hive-scale-wrong.yaml")
    found = biggest(place_open(build).build, "main_board", Sawn(), Watch())
    assert found.end is End.NONE
    assert "amplifier" in found.reasons[0]


def test_no_board_where_its_hole_is_blocked() -> None:
    box = tray(length=L(64), width=L(44), **four_walls(0.0))
    board = Used(
        name="board", part=a_board(5, 5, (a_hole(3, 3),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    thing = Used(
        name="cell", part=Holder(size=(L(8), L(8), L(52))), on=FaceName.LID, at=place(-7, 0)
    )
    found = biggest(a_build(box, board, thing, edges=3.0), "board", Sawn(), Watch())
    assert found.end is End.NONE
    assert "cell" in found.reasons[0]


def test_a_stopped_search_keeps_what_it_has() -> None:
    build = load_build(BUILDS / "bench-timer.yaml")
    watch = Watch()
    watch.stopped.set()
    found = biggest(build, "board", Sawn(), watch)
    assert found.end is End.UNKNOWN
    least = found.most

    def stop(words: str) -> None:
        if words.startswith("checking"):
            late.stopped.set()

    late = Watch()
    found = biggest(build, "board", Sawn(), late, stop)
    assert found.cut_short
    assert found.area <= least
    _passing(found)


def test_zones_holes_and_noses_move_with_the_corner() -> None:
    zone = Zone(name="chip", x=L(2 * PITCH), y=L(0), width=L(PITCH), depth=L(PITCH), height=L(5))
    box = tray(length=L(84), width=L(64), **four_walls(0.0))
    used = Used(
        name="board", part=a_board(5, 5, (a_hole(3, 3),), zones=(zone,)), on=FaceName.FLOOR,
        at=place(0, 0), standoff=L(6),
    )  # fmt: skip
    grid = grid_of(assemble(a_build(box, used)), "board")
    other = board_with(grid, Outline(rect=(-2, -1, 7, 5)))
    assert other.size == pytest.approx((9 * PITCH, 6 * PITCH))
    assert (other.zones[0].x, other.zones[0].y) == pytest.approx((4 * PITCH, PITCH))
    assert (other.holes[0].x, other.holes[0].y) == pytest.approx((4.5 * PITCH, 3.5 * PITCH))


# --- pairs and rooms


def test_a_pair_cannot_have_another_row() -> None:
    build = place_open(load_build(BUILDS / "gate-counter.yaml")).build
    found = pairs(build, "display_board", Sawn(), Watch())
    assert len(found.rows) == 1
    row = found.rows[0]
    assert pipeline.examine(row.build).verdict is not Verdict.CLASH
    scene = assemble(row.build)
    for name, outline, side in (
        (found.lying, row.lying, "upper"),
        (found.lying, row.lying, "lower"),
        (found.standing, row.standing, "upper"),
    ):
        grid = grid_of(scene, name)
        rect = outline.rect
        here = Outline(
            rect=(0, 0, rect[2] - rect[0], rect[3] - rect[1]),
            notches=tuple(
                replace(
                    n,
                    rect=(
                        n.rect[0] - rect[0], n.rect[1] - rect[1],
                        n.rect[2] - rect[0], n.rect[3] - rect[1],
                    ),
                )
                for n in outline.notches
            ),
        )  # fmt: skip
        other = build_with(row.build, grid, side_moved(here, side))
        assert other is None or not judged(other).passes, (name, side)


def test_the_smallest_room_of_an_empty_box_by_plain_sums() -> None:
    """Upright walls, sharp corners, nothing inside but the board on one standoff.

    With its hole in the middle of the box, columns to one side of it: ⌊(b/2 − 1 − 1.27)/2.54⌋.
    """
    box = tray(length=L(54), width=L(44), corner_inner=L(0), corner_outer=L(0), **four_walls(0.0))
    board = Used(
        name="board", part=a_board(3, 3, (a_hole(2, 2),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    watch = Watch(effort=Effort(seconds=500))
    room = smallest_room(a_build(box, board), "board", 100, Sawn(least_width=2), watch)
    assert room is not None
    assert room.proved
    assert pipeline.examine(room.build).verdict is not Verdict.CLASH

    def along(inside: float) -> int:
        return 1 + 2 * math.floor((inside / 2 - 1 - PITCH / 2) / PITCH + 1e-9)

    sizes = [n / 2 for n in range(10, 400)]
    least = min(b * d for b in sizes for d in sizes if along(b) * along(d) >= 100)
    assert room.breadth * room.depth == pytest.approx(least)


def test_a_resized_box_keeps_its_posts_at_their_walls() -> None:
    posts = (
        Post(name="C", half=Half.BODY, x=L(40), y=L(-20), tip=L(5), foot=L(5), height=L(20),
             use=PostUse.CLOSING),
        Post(name="B", half=Half.BODY, x=L(20), y=L(10), tip=L(5), foot=L(5), height=L(6)),
    )  # fmt: skip
    box = tray(length=L(104), width=L(64), posts=posts, **four_walls(0.0))
    other = resized(box, 110, 50)
    assert (float(other.length), float(other.width)) == (114, 54)
    assert [float(v) for v in (other.posts[0].x, other.posts[0].y)] == [45, -15]
    assert [float(v) for v in (other.posts[1].x, other.posts[1].y)] == [20, 10]
