"""Words find room clear of each other, of openings and of lines; holes of a chain lie right."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.draw.cuts import chain_points, reach
from fit.draw.drawing import Box, Line, Operation, Text
from fit.draw.faces import face_view
from fit.draw.grid import grid_words, lost_row
from fit.draw.labels import Placer, Wanted, crosses, meet
from fit.draw.sheets import sheets
from fit.draw.trace import board_loops
from fit.draw.waste import CHAIN_INSET, CHAIN_SPACE, chain_bit
from fit.draw.words import purpose_words, short_steps, size_words, step_words
from fit.geometry.scene import BOX, Cut, Opening, Role, Scene
from fit.geometry.strips import holes_along
from fit.model.part import Board, Notch
from fit.model.words import BoardStock, FaceName
from fit.trade.drills import Step, Tool
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from fit.units import PITCH
from fit.units import Length as L
from tests.draw_scenes import crowded, opening

BASE = crowded()
across = st.floats(-60, 60).map(lambda v: round(v, 1))
up = st.floats(10, 48).map(lambda v: round(v, 1))
names = st.sampled_from(["tare", "cell cable", "a rather long name of a part", "x", "Ø", "Ärger"])
holes = st.builds(
    lambda p, a, u, d: opening(part=p, across=a, up=u, diameter=d),
    names,
    across,
    up,
    st.floats(2, 18).map(lambda v: round(v, 1)),
)
windows = st.builds(
    lambda p, a, u, w, h, t: opening(
        part=p, cut=Cut.RECTANGLE, role=Role.WINDOW, across=a, up=u, width=w, height=h, turn=t,
        diameter=0.0,
    ),
    names,
    across,
    up,
    st.floats(5, 60).map(lambda v: round(v, 1)),
    st.floats(5, 30).map(lambda v: round(v, 1)),
    st.sampled_from([0.0, 90.0]),
)  # fmt: skip
faces = st.lists(st.one_of(holes, windows), min_size=1, max_size=14)


def with_openings(found: list[Opening]) -> Scene:
    moulded = tuple(body for body in BASE.bodies if body.owner == BOX)
    return replace(BASE, openings=tuple(found), placed={}, bodies=moulded)


def _text_boxes(scene: Scene, paper: PaperName) -> list[list[Box]]:
    pages = sheets(scene, paper, "0" * 8, hand_work("careful"))
    return [
        [
            item.box().moved(placed.x, placed.y)
            for placed in page.drawings
            for item in placed.drawing.items()
            if isinstance(item, Text)
        ]
        for page in pages
    ]


@settings(max_examples=25, deadline=None)
@given(faces, st.sampled_from([PaperName.A4, PaperName.LETTER]))
def test_no_two_texts_of_a_sheet_overlap(found: list[Opening], paper: PaperName) -> None:
    for boxes in _text_boxes(with_openings(found), paper):
        for n, box in enumerate(boxes):
            clash = [other for other in boxes[n + 1 :] if box.grown(-0.01).meets(other)]
            assert clash == []


@settings(max_examples=25, deadline=None)
@given(faces)
def test_labels_keep_off_openings_outline_and_centre_lines(found: list[Opening]) -> None:
    scene = with_openings(found)
    face = scene.faces[FaceName.FRONT]
    (page, *_) = sheets(scene, PaperName.A4, "0" * 8, hand_work("careful"))
    words = [i for i in page.drawings[0].drawing.on(Operation.NOTE) if isinstance(i, Text)]
    assert words
    view = face_view(scene, face)
    for text in words:
        box = text.box()
        if text.words[0].isdigit() or "›" in text.words:
            for other in found:
                # In a window there may stand its own words, inside the holes of the chain.
                room = reach(other)
                if other.cut is Cut.ROUND:
                    assert not box.meets(room)
                else:
                    edges = [
                        ((room.x0, room.y0), (room.x1, room.y0)),
                        ((room.x1, room.y0), (room.x1, room.y1)),
                        ((room.x1, room.y1), (room.x0, room.y1)),
                        ((room.x0, room.y1), (room.x0, room.y0)),
                    ]
                    assert not any(crosses(edge, box) for edge in edges)
        assert not any(crosses(line, box) for line in view.lines)


@settings(max_examples=25, deadline=None)
@given(faces)
def test_leaders_end_on_their_opening_and_cross_no_words(found: list[Opening]) -> None:
    scene = with_openings(found)
    (page, *_) = sheets(scene, PaperName.A4, "0" * 8, hand_work("careful"))
    notes = page.drawings[0].drawing.on(Operation.NOTE)
    # The arrow's shaft is a thick line; leaders are the thin ones.
    leaders = [i for i in notes if isinstance(i, Line) and i.pen.width < 0.2]
    boxes = [i.box() for i in notes if isinstance(i, Text)]
    for n, leader in enumerate(leaders):
        line = (leader.start, leader.end)
        assert not any(crosses(line, box.grown(-0.05)) for box in boxes)
        assert not any(meet(line, (o.start, o.end)) for o in leaders[n + 1 :])
        assert any(_on_edge(leader.end, o) for o in found)


def _on_edge(point: tuple[float, float], found: Opening) -> bool:
    if found.cut is Cut.ROUND:
        away = math.dist(point, (found.across, found.up))
        return abs(away - found.diameter / 2) < 1e-6
    box = reach(found)
    return box.grown(1e-6).has(point) and not box.grown(-1e-6).has(point)


def test_words_without_room_are_shortened_then_left_out() -> None:
    wanted = Wanted(lines=("1  a long name", "Ø12"), short=("1",), about=Box(-3, -3, 3, 3))
    roomy, narrow, none = (
        Placer(Box(-60, -60, 60, 60)),
        Placer(Box(-9, -9, 9, 9)),
        Placer(Box(-4, -4, 4, 4)),
    )
    for placer in (roomy, narrow, none):
        placer.keep(Box(-3, -3, 3, 3))
    assert [i.words for i in roomy.place(wanted) if isinstance(i, Text)] == list(wanted.lines)
    assert [i.words for i in narrow.place(wanted) if isinstance(i, Text)] == ["1"]
    assert none.place(wanted) == ()


@given(
    st.tuples(*[st.integers(-5, 5)] * 4),
    st.tuples(*[st.integers(-5, 5)] * 2, *[st.integers(1, 6)] * 2),
)
def test_crossing_a_box_is_what_shapely_says(
    line: tuple[int, int, int, int], at: tuple[int, int, int, int]
) -> None:
    (x0, y0, x1, y1), (x, y, w, h) = line, at
    if (x0, y0) == (x1, y1):
        return
    inside = shapely.relate_pattern(
        shapely.LineString([(x0, y0), (x1, y1)]), shapely.box(x, y, x + w, y + h), "T********"
    )
    assert crosses(((x0, y0), (x1, y1)), Box(x, y, x + w, y + h)) == inside


@given(
    st.floats(5, 120), st.floats(5, 80), st.sampled_from([2.0, 2.5, 3.0, 3.5]),
    st.sampled_from([0.0, 90.0, 30.0]),
)  # fmt: skip
def test_a_chain_lies_inside_the_line_and_is_close_enough(
    width: float, height: float, bit: float, turn: float
) -> None:
    # Rule: centres half a bit and 0.5 to 1 mm inside the line (usually 0.75), at most a bit and
    # 1 mm apart.
    hole = opening(
        cut=Cut.RECTANGLE, diameter=0.0, across=3.0, up=-7.0, width=width, height=height,
        turn=turn, steps=(Step(Tool.DRILL, bit), Step(Tool.SAW, width), Step(Tool.FILE, width)),
    )  # fmt: skip
    points = chain_points(hole)
    off = bit / 2 + CHAIN_INSET
    assert chain_bit(hole) == bit
    assert bool(points) == (min(width, height) >= 2 * off)
    a = math.radians(-turn)
    for x, y in points:
        u = (x - 3) * math.cos(a) - (y + 7) * math.sin(a)
        v = (x - 3) * math.sin(a) + (y + 7) * math.cos(a)
        assert abs(u) <= width / 2 - bit / 2 - 0.5 + 1e-9
        assert abs(v) <= height / 2 - bit / 2 - 0.5 + 1e-9
    legs = (width - 2 * off, height - 2 * off)
    long = min(legs) > bit * bit / CHAIN_SPACE + bit
    limit = bit + CHAIN_SPACE if long else bit + 1.0
    if len(points) > 4:
        ring = shapely.MultiPoint(points)
        for n, p in enumerate(points):
            others = [q for k, q in enumerate(points) if k != n]
            assert min(math.dist(p, q) for q in others) <= limit + 1e-9
        assert len(set(points)) == len(points) == len(ring.geoms)


def test_a_narrow_opening_gets_one_row_of_holes() -> None:
    hole = opening(cut=Cut.RECTANGLE, diameter=0.0, width=30.0, height=6.0)
    assert {round(y, 6) for _, y in chain_points(hole)} == {30.0}
    xs = sorted(x for x, _ in chain_points(hole))
    assert (xs[0], xs[-1]) == pytest.approx((-15 + 2.25, 15 - 2.25))
    assert max(b - a for a, b in pairwise(xs)) <= 3.75


def test_a_slot_is_drilled_along_its_bottom_only() -> None:
    slot = opening(cut=Cut.RIM_SLOT, diameter=0.0, width=12.4, height=8.0, turn=180.0)
    assert {round(y, 6) for _, y in chain_points(slot)} == {30 - 4 + 2.25}


@pytest.mark.parametrize(
    ("changes", "size", "steps", "said"),
    [
        ({}, "Ø12", "3 › 8 › 12", "drill 3, drill 8, step bit 12"),
        ({"diameter": 12.5, "steps": (Step(Tool.DRILL, 12.0), Step(Tool.FILE, 12.5))},
         "Ø12.5", "12 › file", "drill 12, file to 12.5"),
        ({"steps": ()}, "Ø12", "", "no bit in the drawer begins this hole"),
        ({"cut": Cut.D_FLAT, "height": 11.0}, "Ø12, 11 over the flat", "3 › 8 › 12",
         "drill 3, drill 8, step bit 12, file the flat last"),
        ({"cut": Cut.RECTANGLE, "width": 45.0, "height": 22.2, "plus": 0.6, "role": Role.MOUNT},
         "cut-out 45 × 22.2 (+0.6)", "32 holes 3, saw, file",
         "32 holes 3 on the inner line, cut through, file"),
        ({"cut": Cut.RECTANGLE, "width": 4.0, "height": 22.0, "role": Role.WINDOW},
         "window 4 × 22", "saw, file", "too narrow for a bit: saw and file"),
        ({"cut": Cut.RIM_SLOT, "width": 12.0, "height": 6.0}, "slot 12 × 6",
         "3 holes 3, saw, file", "saw down from the rim, 3 holes 3 on the inner line, file"),
    ],
)  # fmt: skip
def test_what_is_said_of_an_opening(
    changes: dict[str, object], size: str, steps: str, said: str
) -> None:
    hole = opening(**changes)
    assert (size_words(hole), short_steps(hole), step_words(hole)) == (size, steps, said)


def test_purposes_are_told_apart() -> None:
    assert purpose_words(opening()) == "p"
    assert purpose_words(opening(role=Role.TAB)) == "p, tab"
    assert purpose_words(opening(role=Role.SCREW)) == "p, screw"


whole = st.integers(1, 12)
notches = st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11), whole, whole), max_size=4)


@given(st.integers(6, 12), st.integers(6, 12), notches)
def test_a_boards_outline_is_the_rectangle_without_its_notches(
    w: int, h: int, cut: list[tuple[int, int, int, int]]
) -> None:
    board = Board(
        stock=BoardStock.PADS,
        size=(L(w), L(h)),
        notches=tuple(Notch(x=L(x), y=L(y), width=L(a), depth=L(b)) for x, y, a, b in cut),
    )
    away = shapely.union_all([shapely.box(x, y, x + a, y + b) for x, y, a, b in cut])
    want = shapely.box(0, 0, w, h) - away
    loops = [shapely.Polygon(loop) for loop in board_loops(board)]
    signs = [1 if loop.exterior.is_ccw else -1 for loop in loops]
    assert all(loop.is_valid for loop in loops)
    got = shapely.union_all([p for p, s in zip(loops, signs, strict=True) if s > 0])
    got = got - shapely.union_all([p for p, s in zip(loops, signs, strict=True) if s < 0])
    assert shapely.symmetric_difference(got, want).area < 1e-9
    assert sum(s * p.area for p, s in zip(loops, signs, strict=True)) == pytest.approx(want.area)


@pytest.mark.parametrize(
    ("holes", "kept", "lost"), [(46 * PITCH, 46, 47), (30 * PITCH, 30, 31), (100.0, 39, 40)]
)
def test_the_row_that_is_cut_along_is_the_next_one(holes: float, kept: int, lost: int) -> None:
    # Common practice, no source: a hole row is the natural line to snap along, and is lost.
    assert (holes_along(holes), lost_row(holes)) == (kept, lost)
    assert (lost - 0.5) * PITCH >= holes - 1e-9


def test_places_on_the_grid_are_told_by_counting() -> None:
    assert grid_words(2.5 * PITCH, "column") == "column 3"
    assert grid_words(2.5 * PITCH + 0.6, "row") == "0.6 past row 3"
    assert grid_words(2.5 * PITCH - 0.01, "row") == "row 3"
