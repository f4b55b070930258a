"""Outlines of openings and the webs between them, by hand and against shapely's areas."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
import shapely

from fit.geometry.box import faces
from fit.geometry.outlines import CIRCLE_ERROR, edge_web, polygon, web
from fit.geometry.paths import ArcSeg, Circle, LineSeg, Outline, face_outline, outline
from fit.geometry.scene import Cut, Opening
from fit.model.words import FaceName
from fit.units import Length as L
from tests.trays import OPENINGS, four_walls, opening, tray

FACES = faces(tray(**four_walls(0.0)))
FRONT, LID = FACES[FaceName.FRONT], FACES[FaceName.LID]


def hole(across: float, up: float, diameter: float) -> Opening:
    return opening(FaceName.FRONT, across, up, diameter=diameter)


def cutout(across: float, up: float, width: float, height: float, **more: float) -> Opening:
    return opening(
        FaceName.FRONT, across, up, cut=Cut.RECTANGLE, width=width, height=height, **more
    )


def d_hole(across: float, up: float, diameter: float, height: float, turn: float = 0) -> Opening:
    return opening(
        FaceName.FRONT, across, up, cut=Cut.D_FLAT, diameter=diameter, height=height, turn=turn
    )


def sampled(path: Outline) -> shapely.Polygon:
    points: list[tuple[float, float]] = []
    for segment in path.segments:
        if isinstance(segment, LineSeg):
            points.append(segment.start)
            continue
        begin, finish = (
            (0.0, 360.0) if isinstance(segment, Circle) else (segment.begin, segment.finish)
        )
        for i in range(2000):
            a = math.radians(begin + (finish - begin) * i / 2000)
            x, y = segment.centre
            points.append((x + segment.radius * math.cos(a), y + segment.radius * math.sin(a)))
    if not path.closed and not isinstance(path.segments[-1], Circle):
        points.append(path.segments[-1].end)
    return shapely.Polygon(points)


@pytest.mark.parametrize("item", OPENINGS, ids=lambda o: str(o.cut))
def test_each_segment_starts_where_the_last_ended(item: Opening) -> None:
    path = outline(item, FACES[item.face])
    if isinstance(path.segments[0], Circle):
        assert len(path.segments) == 1
        return
    ring = (*path.segments, path.segments[0]) if path.closed else path.segments
    for one, following in pairwise(ring):
        assert not isinstance(one, Circle)
        assert not isinstance(following, Circle)
        assert math.dist(one.end, following.start) < 1e-9


@pytest.mark.parametrize("turn", [0, 90, 30])
def test_a_rounded_rectangle_has_the_right_area_and_turn(turn: float) -> None:
    item = cutout(3, 4, 30, 14, corner_radius=2.0, turn=turn)
    path = outline(item)
    drawn = sampled(path)
    assert drawn.exterior.is_ccw
    assert drawn.area == pytest.approx(30 * 14 - (4 - math.pi) * 4, rel=1e-6)
    assert drawn.centroid.coords[0] == pytest.approx((3, 4), abs=1e-6)
    assert sum(isinstance(s, ArcSeg) for s in path.segments) == 4
    c, s = abs(math.cos(math.radians(turn))), abs(math.sin(math.radians(turn)))
    # A round-cornered rectangle is a smaller one grown by its radius.
    x0, _, x1, _ = drawn.bounds
    assert x1 - x0 == pytest.approx(26 * c + 10 * s + 4, abs=1e-5)


def test_a_sharp_rectangle_is_four_lines() -> None:
    path = outline(cutout(0, 0, 10, 6))
    assert path.segments == (
        LineSeg((-5, -3), (5, -3)),
        LineSeg((5, -3), (5, 3)),
        LineSeg((5, 3), (-5, 3)),
        LineSeg((-5, 3), (-5, -3)),
    )


def test_a_corner_radius_larger_than_half_becomes_a_long_hole() -> None:
    path = outline(cutout(0, 0, 20, 6, corner_radius=9))
    assert sampled(path).area == pytest.approx(14 * 6 + math.pi * 9, rel=1e-5)


def test_a_d_hole_has_the_area_of_a_circle_less_its_cap() -> None:
    # Circular segment of height h: r²·acos(1 - h/r) - (r - h)·√(2rh - h²) (Bronshtein).
    r, h = 4.5, 0.8
    cap = r * r * math.acos(1 - h / r) - (r - h) * math.sqrt(2 * r * h - h * h)
    drawn = sampled(outline(d_hole(1, 2, 9, 8.2)))
    assert drawn.area == pytest.approx(math.pi * r * r - cap, rel=1e-5)
    # The flat lies above, 8.2 from the lowest point.
    _, low, _, high = drawn.bounds
    assert (low, high) == pytest.approx((2 - 4.5, 2 - 4.5 + 8.2), abs=1e-5)
    _, low, _, high = sampled(outline(d_hole(1, 2, 9, 8.2, turn=180))).bounds
    assert (low, high) == pytest.approx((2 + 4.5 - 8.2, 2 + 4.5), abs=1e-5)


def test_a_rim_slot_runs_to_the_rim_and_is_open_there() -> None:
    slot = opening(FaceName.FRONT, 5, 52, cut=Cut.RIM_SLOT, width=8.0, height=11.0)
    path = outline(slot, FRONT)
    assert not path.closed
    assert path.segments == (
        LineSeg((1, 57.5), (1, 46.5)),
        LineSeg((1, 46.5), (9, 46.5)),
        LineSeg((9, 46.5), (9, 57.5)),
    )
    assert polygon(slot, FRONT).bounds == (1, 46.5, 9, 57.5)
    with pytest.raises(ValueError, match="needs its face"):
        outline(slot)


def test_an_opening_without_size_is_refused() -> None:
    for item in (hole(0, 0, 0), cutout(0, 0, 5, 0), d_hole(0, 0, 5, -1)):
        for use in (outline, polygon):
            with pytest.raises(ValueError, match="no size"):
                use(item)


def test_face_outlines() -> None:
    box = tray()
    lid, front = (face_outline(faces(box)[n]) for n in (FaceName.LID, FaceName.FRONT))
    assert sampled(lid).area == pytest.approx(150 * 100 - (4 - math.pi) * 36, rel=1e-6)
    assert len(front.segments) == 4
    lost = 2 * 57.5 * math.tan(math.radians(1.5))
    slope = 57.5 / math.cos(math.radians(1.5))
    assert sampled(front).area == pytest.approx((150 + 150 - lost) / 2 * slope, rel=1e-9)


# --- polygons that cover --------------------------------------------------------------------


@pytest.mark.parametrize("grow", [0.0, 0.7, -0.7])
@pytest.mark.parametrize("item", [hole(3, 5, 3.2), hole(0, 0, 60), d_hole(1, 2, 9, 8.2, 30)])
def test_a_polygon_covers_its_circle_and_hardly_more(item: Opening, grow: float) -> None:
    found = polygon(item, grow=grow)
    radius = item.diameter / 2 + grow
    centre = (item.across, item.up)
    far = max(math.dist(centre, p) for p in found.exterior.coords)
    assert radius < far <= radius + CIRCLE_ERROR + 1e-12
    if item.cut is Cut.ROUND:
        near = shapely.distance(shapely.Point(centre), found.exterior)
        assert near >= radius - 1e-12
    else:
        top = item.height - item.diameter / 2 + grow
        a = math.radians(item.turn)
        reach = max(
            -(x - centre[0]) * math.sin(a) + (y - centre[1]) * math.cos(a)
            for x, y in found.exterior.coords
        )
        assert reach == pytest.approx(top, abs=1e-9)


def test_a_rectangle_grows_square_and_shrinks_to_nothing() -> None:
    item = cutout(0, 0, 10, 6, corner_radius=1, turn=90)
    assert polygon(item).area == pytest.approx(60)
    assert polygon(item, grow=0.5).area == pytest.approx(11 * 7)
    assert polygon(item, grow=-0.5).bounds == pytest.approx((-2.5, -4.5, 2.5, 4.5))
    for small in (item, hole(0, 0, 5), d_hole(0, 0, 5, 4)):
        with pytest.raises(ValueError, match="nothing is left"):
            polygon(small, grow=-4)


# --- webs -----------------------------------------------------------------------------------


def test_web_between_two_holes_is_exact() -> None:
    assert web(hole(0, 0, 12), hole(9, 12, 7)) == pytest.approx(15 - 6 - 3.5, abs=1e-12)
    assert web(hole(0, 0, 12), hole(3, 4, 7)) == pytest.approx(5 - 9.5, abs=1e-12)
    assert web(hole(0, 0, 12), hole(0, 0, 7)) == pytest.approx(-9.5, abs=1e-12)


def test_web_between_a_hole_and_a_rectangle_is_exact() -> None:
    box = cutout(0, 0, 20, 10, corner_radius=3)
    assert web(hole(0, 9, 4), box) == pytest.approx(2.0, abs=1e-12)
    # Off the corner, which a file may leave sharp: 3-4-5 from it.
    assert web(hole(13, 9, 4), box) == pytest.approx(5 - 2, abs=1e-12)
    # Its middle 1 mm inside the edge: it must move 1 + 2 to clear.
    assert web(hole(0, 4, 4), box) == pytest.approx(-3.0, abs=1e-12)


def test_web_between_turned_rectangles() -> None:
    flat, turned = cutout(0, 0, 20, 10), cutout(20, 0, 10, 10, turn=45)
    assert web(flat, turned) == pytest.approx(10 - 5 * math.sqrt(2), abs=1e-9)
    assert web(flat, cutout(12, 0, 10, 10)) == pytest.approx(-3.0, abs=1e-12)
    assert web(flat, cutout(15, 0, 10, 10)) == pytest.approx(0.0, abs=1e-12)


def test_web_to_a_d_hole_is_on_the_safe_side() -> None:
    flat_up = d_hole(0, 0, 9, 8.2)
    found = web(flat_up, hole(0, 12, 4))
    assert found == pytest.approx(12 - 2 - (8.2 - 4.5), abs=1e-9)
    side = web(flat_up, hole(12, 0, 4))
    assert 12 - 2 - 4.5 - CIRCLE_ERROR <= side <= 12 - 2 - 4.5 + 1e-12


def test_webs_against_shapely_on_fine_polygons() -> None:
    rng = random.Random(5)
    for _ in range(150):
        a, b = (
            rng.choice(
                (
                    hole(rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(2, 14)),
                    cutout(
                        rng.uniform(-20, 20),
                        rng.uniform(-20, 20),
                        rng.uniform(2, 14),
                        rng.uniform(2, 14),
                        turn=rng.uniform(0, 360),
                    ),
                )
            )
            for _ in range(2)
        )
        apart = shapely.distance(sampled(outline(a)), sampled(outline(b)))
        found = web(a, b)
        assert web(b, a) == pytest.approx(found, abs=1e-9)
        if apart > 0:
            assert found == pytest.approx(apart, abs=1e-4)
        else:
            assert found < 1e-4


def test_web_to_the_edges_of_a_flat() -> None:
    # Upright walls 2 mm thick, floor 2.5 mm, outer radius 6: flat from -69 to 69, 2.5 to 57.5.
    assert edge_web(hole(0, 10, 5), FRONT) == pytest.approx(10 - 2.5 - 2.5)
    assert edge_web(hole(60, 30, 12), FRONT) == pytest.approx(69 - 66)
    assert edge_web(hole(66, 30, 12), FRONT) == pytest.approx(-3)
    assert edge_web(cutout(0, 52, 30, 8), FRONT) == pytest.approx(57.5 - 56)
    assert edge_web(cutout(0, 30, 30, 8, turn=90), FRONT) == pytest.approx(57.5 - 45)


def test_a_rim_slot_keeps_no_web_to_the_rim() -> None:
    slot = opening(FaceName.FRONT, 60, 52, cut=Cut.RIM_SLOT, width=8.0, height=11.0)
    assert edge_web(slot, FRONT) == pytest.approx(69 - 64)


def test_web_to_the_round_corner_of_a_lid() -> None:
    # Inside ±73 × ±48 with radius 4 about (69, 44): a 3 mm hole 0.6 and 0.8 beyond that centre.
    item = opening(FaceName.LID, 69.6, 44.8, diameter=3.0)
    assert edge_web(item, LID) == pytest.approx(4 - 1 - 1.5)
    square = opening(FaceName.LID, 70, 45, cut=Cut.RECTANGLE, width=5.0, height=5.0)
    assert edge_web(square, LID) == pytest.approx(4 - 3.5 * math.sqrt(2))
    sharp = faces(tray(corner_inner=L(0), **four_walls(0.0)))[FaceName.LID]
    assert edge_web(square, sharp) == pytest.approx(0.5)
