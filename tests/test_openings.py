"""Keys, double flats, slots, countersinks and grilles: outlines, webs, solids, places of holes.

Expected values: shapely's own discs, boxes and buffers; plain geometry; ISO 7046 heads.
"""

from __future__ import annotations

import math
import random
from itertools import combinations, pairwise
from typing import Any

import pytest
import shapely

from fit.check.holes import check_screw_holes
from fit.check.rule import Inspection
from fit.check.sequence import steps_of
from fit.check.things import things
from fit.geometry.box import faces
from fit.geometry.fixing import sink_of
from fit.geometry.grille import grille_spots, open_area
from fit.geometry.kernel import volume
from fit.geometry.outlines import CIRCLE_ERROR, edge_web, polygon, web
from fit.geometry.paths import ArcSeg, Circle, LineSeg, outline
from fit.geometry.scene import Cut, Opening, Role
from fit.geometry.solids import box_solids
from fit.model.part import Disc, Grille, Screw
from fit.model.words import FaceName, HolePattern
from fit.units import Length as L
from tests.draw_grilles import AIR, SLITS, SOUNDER, SUNK, kinds
from tests.trays import four_walls, opening, tray

BOX = tray(**four_walls(0.0))
FRONT = faces(BOX)[FaceName.FRONT]
FINE = 256


def front(**more: Any) -> Opening:
    across, up = more.pop("across", 0.0), more.pop("up", 0.0)
    return opening(FaceName.FRONT, across, up, **more)


def sampled(item: Opening) -> shapely.Polygon:
    """The outline as a fine polygon, walked segment by segment; each begins where one ended."""
    points: list[tuple[float, float]] = []
    for segment in outline(item).segments:
        if isinstance(segment, LineSeg):
            step = [segment.start, segment.end]
        else:
            begin, finish = (
                (0.0, 360.0) if isinstance(segment, Circle) else (segment.begin, segment.finish)
            )
            step = [
                (
                    segment.centre[0] + segment.radius * math.cos(math.radians(a)),
                    segment.centre[1] + segment.radius * math.sin(math.radians(a)),
                )
                for a in (begin + (finish - begin) * n / 1024 for n in range(1025))
            ]
        if points:
            assert math.dist(points[-1], step[0]) < 1e-9
        points += step
    assert math.dist(points[0], points[-1]) < 1e-9
    found = shapely.Polygon(points)
    assert found.exterior.is_ccw
    return found


def expected(item: Opening) -> Any:
    """The same shape from shapely's own discs, boxes and buffers."""
    disc = shapely.buffer(shapely.Point(0, 0), item.diameter / 2, quad_segs=FINE)
    far = 10 * max(item.diameter, item.width)
    if item.cut is Cut.DOUBLE_D:
        shape = disc & shapely.box(-far, -item.height / 2, far, item.height / 2)
    elif item.cut is Cut.KEYED:
        top = item.diameter / 2 + item.height
        shape = disc | shapely.box(-item.width / 2, 0, item.width / 2, top)
    else:
        off = (item.width - item.height) / 2
        shape = shapely.buffer(
            shapely.LineString([(-off, 0), (off, 0)]), item.height / 2, quad_segs=FINE
        )
    turned = shapely.affinity.rotate(shape, item.turn, origin=(0, 0))
    return shapely.affinity.translate(turned, item.across, item.up)


SHAPES = {
    "double d": {"cut": Cut.DOUBLE_D, "diameter": 9.6, "height": 8.7},
    "keyed": {"cut": Cut.KEYED, "diameter": 12.0, "width": 1.8, "height": 0.9},
    "slot": {"cut": Cut.OBLONG, "width": 15.0, "height": 3.2},
    "short slot": {"cut": Cut.OBLONG, "width": 3.4, "height": 3.2},
}


@pytest.mark.parametrize("turn", [0.0, 90.0, 211.0])
@pytest.mark.parametrize("shape", SHAPES)
def test_outlines_are_exact(shape: str, turn: float) -> None:
    item = front(across=7.0, up=30.0, turn=turn, **SHAPES[shape])
    assert shapely.area(sampled(item) ^ expected(item)) < 2e-3


@pytest.mark.parametrize("grow", [0.0, 0.7, -0.4])
@pytest.mark.parametrize("shape", SHAPES)
def test_polygons_cover_what_is_cut_and_little_more(shape: str, grow: float) -> None:
    item = front(across=7.0, up=30.0, turn=33.0, **SHAPES[shape])
    exact = shapely.buffer(expected(item), grow, quad_segs=FINE)
    if item.cut is Cut.KEYED:
        exact = shapely.convex_hull(exact) if grow >= 0 else exact
    cover = polygon(item, grow=grow)
    assert shapely.covers(shapely.buffer(cover, 1e-4), exact)
    # Corners grow square: a key's, and the ends of a flat, stand out by (√2 − 1)·grow.
    square = abs(grow) * 0.42 if item.cut in (Cut.KEYED, Cut.DOUBLE_D) else 0.0
    assert shapely.hausdorff_distance(cover, exact) < CIRCLE_ERROR * 3 + square + (
        0.6 if item.cut is Cut.KEYED else 0.0
    )


@pytest.mark.parametrize("seed", range(40))
def test_webs_between_slots_and_holes(seed: int) -> None:
    """Against shapely's distance of fine polygons; below 0 the openings share some area."""
    rng = random.Random(seed)
    names = [n for n in SHAPES if n != "keyed"]
    first = front(turn=rng.uniform(0, 360), **SHAPES[rng.choice(names)])
    second = front(
        across=rng.uniform(4, 25), up=rng.uniform(-15, 15), turn=rng.uniform(0, 360),
        **SHAPES[rng.choice(names)],
    )  # fmt: skip
    exact = float(shapely.distance(expected(first), expected(second)))
    found = web(first, second)
    assert found == web(second, first) or found == pytest.approx(web(second, first))
    if exact > 0:
        assert exact - 4 * CIRCLE_ERROR - 1e-3 <= found <= exact + 1e-3
    else:
        assert found <= 2 * CIRCLE_ERROR


def test_a_key_counts_towards_its_neighbour() -> None:
    keyed = front(turn=270.0, **SHAPES["keyed"])  # the key points to the right
    beside = front(across=12.0, diameter=4.0)
    # Plain geometry: 12 − 6 − 0.9 − 2.
    assert web(keyed, beside) == pytest.approx(3.1, abs=2 * CIRCLE_ERROR)
    away = front(turn=90.0, **SHAPES["keyed"])
    assert web(away, beside) == pytest.approx(4.0, abs=2 * CIRCLE_ERROR)


def test_the_edge_beside_a_slot() -> None:
    x0 = min(p[0] for p in FRONT.flat)
    slot = front(across=x0 + 10.0, up=30.0, **SHAPES["slot"])
    assert edge_web(slot, FRONT) == pytest.approx(10.0 - 7.5)
    upright = front(across=x0 + 10.0, up=30.0, turn=90.0, **SHAPES["slot"])
    assert edge_web(upright, FRONT) == pytest.approx(10.0 - 1.6)


@pytest.mark.parametrize("shape", SHAPES)
def test_walls_lose_the_area_times_their_thickness(shape: str) -> None:
    item = front(across=5.0, up=30.0, turn=20.0, **SHAPES[shape])
    whole = volume(box_solids(BOX)[0])
    lost = whole - volume(box_solids(BOX, [item])[0])
    assert lost == pytest.approx(
        shapely.area(expected(item)) * BOX.thickness(FaceName.FRONT), rel=1e-4
    )


def test_a_countersink_is_a_cone_of_a_right_angle() -> None:
    hole = front(up=30.0, diameter=3.4)
    sunk = front(up=30.0, diameter=3.4, sink=6.3)
    assert sunk.sunk == pytest.approx(1.45)  # (6.3 − 3.4) / 2 at 90°
    more = volume(box_solids(BOX, [hole])[0]) - volume(box_solids(BOX, [sunk])[0])
    # Frustum less the hole within it: π·h/3·(R² + R·r + r²) − π·r²·h.
    big, small, h = 3.15, 1.7, 1.45
    frustum = math.pi * h / 3 * (big**2 + big * small + small**2) - math.pi * small**2 * h
    assert more == pytest.approx(frustum, rel=1e-6)


def test_countersinks_are_as_wide_as_the_head_without_its_rim() -> None:
    # ISO 7046, theoretical head diameters: M2 4.4, M2.5 5.5, M3 6.3, M4 9.4.
    def screw(thread: str, head: float = 1.0, **more: Any) -> Screw:
        disc = Disc(diameter=L(head), thickness=L(1))
        return Screw(thread=thread, diameter=L(1), length=L(9), head=disc, **more)

    for thread, wide in (("M2", 4.4), ("M2.5", 5.5), ("M3", 6.3), ("M4", 9.4)):
        assert sink_of(screw(thread, countersunk=True)) == wide
    assert sink_of(screw("M3", 6.72, countersunk=True)) == 6.72
    assert sink_of(screw("ST2.9", 5.5, countersunk=True)) == 5.5
    assert sink_of(screw("M3")) == 0.0
    assert sink_of(None) == 0.0


# --- grilles ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("outer", "count"), [(3, 1), (15.9, 1), (16, 7), (29, 19), (42, 37)])
def test_rings_hold_as_many_as_fit(outer: float, count: int) -> None:
    # Centred hexagonal numbers: 1, 7, 19, 37 (OEIS A003215).
    part = Grille(pattern=HolePattern.RINGS, bit=L(3), pitch=L(6.5), outer=L(outer))
    spots = grille_spots(part)
    assert len(spots) == count
    assert all(math.hypot(*p) + 1.5 <= outer / 2 + 1e-9 for p in spots)
    if count > 1:
        nearest = min(math.dist(a, b) for a, b in combinations(spots, 2))
        assert nearest == pytest.approx(6.5)


def test_rings_keep_out_of_an_inner_circle() -> None:
    part = Grille(pattern=HolePattern.RINGS, bit=L(3), pitch=L(6.5), outer=L(42), inner=L(12))
    spots = grille_spots(part)
    assert len(spots) == 12 + 18
    assert min(math.hypot(*p) for p in spots) - 1.5 >= 6.0


def test_a_grid_is_as_full_as_it_can_be_and_stands_in_the_middle() -> None:
    spots = grille_spots(AIR)
    # 40 × 20 with holes of 4 each 8: (40 − 4)/8 = 4.5 and (20 − 4)/8 = 2 steps.
    assert len(spots) == 5 * 3
    xs, ys = sorted({p[0] for p in spots}), sorted({p[1] for p in spots})
    assert xs == pytest.approx([-16, -8, 0, 8, 16])
    assert ys == pytest.approx([-8, 0, 8])


def test_slots_stand_side_by_side() -> None:
    slots = [o for o in kinds().openings if o.part == "slits"]
    assert [o.cut for o in slots] == [Cut.OBLONG] * 6  # (38 − 3)/7 = 5 steps
    assert [o.across for o in slots] == pytest.approx([30 + 7 * (n - 2.5) for n in range(6)])
    for slot in slots:
        x0, y0, x1, y1 = shapely.bounds(expected(slot))
        assert (x1 - x0, y1 - y0) == pytest.approx((3.0, 15.0), abs=1e-6)
    assert [b.across - a.across for a, b in pairwise(slots)] == pytest.approx([7.0] * 5)
    whole = sum(shapely.area(expected(o)) for o in slots)
    assert open_area(tuple(slots)) == pytest.approx(whole, rel=1e-4)


def test_a_grille_turns_with_its_part_and_its_body_sits_behind() -> None:
    scene = kinds()
    holes = [o for o in scene.openings if o.part == "sounder"]
    assert len(holes) == 19
    assert {o.role for o in holes} == {Role.VENT}
    assert sum(o.across for o in holes) / 19 == pytest.approx(50)
    assert sum(o.up for o in holes) / 19 == pytest.approx(-15)
    (body,) = [b for b in scene.bodies if b.owner == "sounder"]
    face = scene.faces[FaceName.LID]
    x, y, z = face.frame.inside(body.pose.origin)
    assert (x, y) == pytest.approx((50, -15))
    assert z == pytest.approx(-2.5 - 6)
    assert open_area(tuple(holes)) == pytest.approx(19 * math.pi * 1.5**2)


def test_what_a_screw_makes_of_its_holes() -> None:
    scene = kinds()
    sinks = {o.part: o.sink for o in scene.openings if o.role is Role.SCREW}
    assert sinks == {"readout": 6.3, "cells": 6.3, "inlet": 0.0}
    slots = [o for o in scene.openings if o.part == "inlet" and o.role is Role.SCREW]
    assert [(o.cut, o.width, o.height, o.turn) for o in slots] == [
        (Cut.OBLONG, 6.0, 3.2, 90.0), (Cut.OBLONG, 6.0, 3.2, 0.0),
    ]  # fmt: skip
    # A countersunk head lies level: nothing of it stands outside.
    heads = [b for b in scene.bodies if b.owner == "readout" and b.name == "screw head"]
    assert heads == []
    assert SUNK.countersunk and SOUNDER.body is not None and SLITS.size is not None


def test_flats_and_keys_lie_where_their_part_says() -> None:
    cuts = {o.part: o for o in kinds().openings if o.role is Role.MOUNT}
    assert (cuts["coax"].cut, cuts["coax"].height) == (Cut.DOUBLE_D, 8.7)
    toggle = cuts["toggle"]
    assert (toggle.cut, toggle.width, toggle.height) == (Cut.KEYED, 1.8, 0.9)
    x0, y0, x1, y1 = shapely.bounds(sampled(toggle))
    # Its key points down: 270 degrees from right.
    assert (x0, y0, x1, y1) == pytest.approx((14, 30 - 6.9, 26, 36), abs=1e-3)
    arcs = [s for s in outline(toggle).segments if isinstance(s, ArcSeg)]
    assert len(arcs) == 1


# --- what the check makes of them -------------------------------------------------------------


def test_mere_holes_are_no_step_of_the_assembly() -> None:
    names = {step.name for step in steps_of(things(Inspection(kinds())))}
    assert "sounder" in names and "readout" in names
    assert not {"air", "slits"} & names


def test_a_countersunk_screw_has_play_in_its_part_only() -> None:
    (found,) = [f for f in check_screw_holes(Inspection(kinds())) if f.about[0] == "readout"]
    assert found.have == pytest.approx(3.2 - 3.0)
