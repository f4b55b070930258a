"""Draft arithmetic, faces and moulded features, by hand and by plain trigonometry."""

from __future__ import annotations

import math

import pytest

from fit.geometry.box import (
    Face,
    Level,
    ceiling,
    deck,
    faces,
    floor_top,
    inner_planes,
    inside,
    lid_inside,
    lid_outside,
    outside,
)
from fit.geometry.fixtures import LIP, LIP_ERROR, fixtures, lip_ring, rib_block
from fit.geometry.frames import Vec, cross, dot, norm, sub
from fit.geometry.scene import BOX, Body
from fit.geometry.shapes import Block, Cone, Cylinder, Point2, Prism
from fit.geometry.support import bounds
from fit.model.box import Rib, Tray
from fit.model.words import UPRIGHT, FaceName, Half
from fit.units import Length as L
from tests.trays import POSTS, RIBS, deep_lid, flat_lid, four_walls, lip, moulded, tray, wall


@pytest.mark.parametrize(("draft", "narrower"), [(1.0, 1.396), (1.5, 2.095), (2.0, 2.794)])
def test_inside_narrows_over_forty_millimetres(draft: float, narrower: float) -> None:
    # Two walls leaning by δ: 2 · 40 · tan δ (plain trigonometry).
    box = tray(**four_walls(draft))
    for size in ("width", "depth"):
        lost = getattr(inside(box, 50.0), size) - getattr(inside(box, 10.0), size)
        assert lost == pytest.approx(80 * math.tan(math.radians(draft)), rel=1e-6)
        assert lost == pytest.approx(narrower, abs=0.0005)


def test_each_wall_has_its_own_draft_and_thickness() -> None:
    box = tray(left=wall(0.5, 2.0), right=wall(3.0, 2.5), front=wall(0.0, 1.5), back=wall(1.0))
    low, high = inside(box, 10.0), inside(box, 50.0)
    tan = [math.tan(math.radians(d)) for d in (0.5, 3.0, 0.0, 1.0)]
    assert low.x0 - high.x0 == pytest.approx(40 * tan[0], rel=1e-9)
    assert high.x1 - low.x1 == pytest.approx(40 * tan[1], rel=1e-9)
    assert low.y0 - high.y0 == pytest.approx(40 * tan[2], abs=1e-12)
    assert high.y1 - low.y1 == pytest.approx(40 * tan[3], rel=1e-9)
    # Measured level, a leaning wall of thickness t is t / cos δ thick.
    assert outside(box, 10.0).x1 - low.x1 == pytest.approx(2.5 / math.cos(math.radians(3.0)))


def test_the_rim_has_the_outside_sizes_and_the_floor_is_centred() -> None:
    box = tray(left=wall(0.5), right=wall(3.0))
    rim, base = outside(box, box.rim), outside(box, 0.0)
    assert (rim.width, rim.depth) == pytest.approx((150.0, 100.0))
    assert base.x0 == pytest.approx(-base.x1)
    assert base.y0 == pytest.approx(-base.y1)
    assert box.rim == 57.5


def test_a_lids_heights() -> None:
    flat, deep = tray(), tray(lid=deep_lid())
    assert (floor_top(flat), ceiling(flat), flat.rim) == (2.5, 57.5, 57.5)
    assert (ceiling(deep), deep.rim) == (57.5, 40.0)
    assert deck(deep, Half.LID) == 57.5
    assert deck(deep, Half.BODY) == 2.5


def test_a_deep_lid_narrows_towards_its_top() -> None:
    box = tray(lid=deep_lid(wall=2.0, draft=1.0))
    low, high = lid_outside(box, 40.0), lid_outside(box, 60.0)
    assert (low.width, low.depth) == pytest.approx((150.0, 100.0))
    assert low.width - high.width == pytest.approx(40 * math.tan(math.radians(1)))
    inner = lid_inside(box, 40.0)
    assert inner.x0 - low.x0 == pytest.approx(2.0 / math.cos(math.radians(1)))


# --- faces ----------------------------------------------------------------------------------


ACROSS: dict[FaceName, Vec] = {
    FaceName.FRONT: (1, 0, 0),
    FaceName.LID: (1, 0, 0),
    FaceName.BACK: (-1, 0, 0),
    FaceName.FLOOR: (-1, 0, 0),
    FaceName.RIGHT: (0, 1, 0),
    FaceName.LEFT: (0, -1, 0),
}
"""Seen from outside, the viewer's right."""

OUTWARD: dict[FaceName, Vec] = {
    FaceName.FRONT: (0, -1, 0),
    FaceName.BACK: (0, 1, 0),
    FaceName.RIGHT: (1, 0, 0),
    FaceName.LEFT: (-1, 0, 0),
    FaceName.LID: (0, 0, 1),
    FaceName.FLOOR: (0, 0, -1),
}


@pytest.mark.parametrize("name", FaceName)
def test_face_frames_are_right_handed_and_point_the_right_way(name: FaceName) -> None:
    frame = faces(tray())[name].frame
    assert frame.x == ACROSS[name]
    for axis in (frame.x, frame.y, frame.z):
        assert norm(axis) == pytest.approx(1.0, abs=1e-12)
    assert norm(sub(cross(frame.x, frame.y), frame.z)) < 1e-12
    assert dot(frame.z, OUTWARD[name]) == pytest.approx(
        math.cos(math.radians(1.5)) if name in UPRIGHT else 1.0
    )
    if name in UPRIGHT:
        assert frame.y[2] == pytest.approx(math.cos(math.radians(1.5)))
        assert frame.origin[2] == 0.0
    else:
        assert frame.y == (0.0, 1.0, 0.0)


@pytest.mark.parametrize("name", UPRIGHT)
def test_face_origin_is_the_middle_of_the_lower_edge(name: FaceName) -> None:
    box = tray(left=wall(0.5), right=wall(3.0), front=wall(2.5), back=wall(-1.0))
    face = faces(box)[name]
    base = outside(box, 0.0)
    reach = base.depth / 2 if name in (FaceName.FRONT, FaceName.BACK) else base.width / 2
    expected = tuple(reach * c for c in OUTWARD[name])
    assert face.frame.origin == pytest.approx(expected)
    (a, low), (b, _) = face.outline[:2]
    assert (low, a) == pytest.approx((0.0, -b))


@pytest.mark.parametrize("draft", [0.0, 1.0, 1.5, 2.0, -1.0])
def test_a_face_is_height_over_cosine_long(draft: float) -> None:
    box = tray(**four_walls(draft))
    for name in UPRIGHT:
        assert faces(box)[name].height == pytest.approx(
            57.5 / math.cos(math.radians(draft)), rel=1e-12
        )


def corners(face: Face, points: tuple[Point2, ...], depth: float) -> list[Vec]:
    return [face.frame.point((a, u, -depth)) for a, u in points]


def test_a_trapezium_has_its_corners_on_the_box() -> None:
    box = tray(left=wall(0.5), right=wall(3.0), front=wall(2.5), back=wall(-1.0))
    base, rim = outside(box, 0.0), outside(box, box.rim)
    front = corners(faces(box)[FaceName.FRONT], faces(box)[FaceName.FRONT].outline, 0.0)
    expected = [
        (base.x0, base.y0, 0.0),
        (base.x1, base.y0, 0.0),
        (rim.x1, rim.y0, 57.5),
        (rim.x0, rim.y0, 57.5),
    ]
    assert [c for p in front for c in p] == pytest.approx([c for p in expected for c in p])
    assert faces(box)[FaceName.FRONT].reach(0.0) == pytest.approx((base.x0, base.x1))


@pytest.mark.parametrize("name", FaceName)
def test_inner_corners_lie_on_the_inside(name: FaceName) -> None:
    box = tray(left=wall(0.5), right=wall(3.0), front=wall(2.5), back=wall(-1.0))
    face = faces(box)[name]
    for x, y, z in corners(face, face.inner, face.thickness):
        level = inside(box, z)
        assert min(abs(x - level.x0), abs(x - level.x1)) < 1e-9
        assert min(abs(y - level.y0), abs(y - level.y1)) < 1e-9
        assert z in (pytest.approx(2.5), pytest.approx(57.5))


@pytest.mark.parametrize(("outer", "inner"), [(6, 4), (3, 3), (8, 2), (0, 0)])
def test_the_flat_of_a_face_touches_neither_round(outer: float, inner: float) -> None:
    box = tray(
        corner_outer=L(outer),
        corner_inner=L(inner),
        left=wall(0.5),
        right=wall(-2.0, 3.0),
        front=wall(2.5),
        back=wall(-1.0),
    )
    for name in (FaceName.FRONT, FaceName.BACK):
        face = faces(box)[name]
        for depth, radius, section in (
            (0.0, outer, outside),
            (face.thickness, inner, inside),
        ):
            gaps = []
            for x, _, z in corners(face, face.flat, depth):
                level = section(box, z)
                gaps.append(min(x - level.x0, level.x1 - x) - radius)
            assert min(gaps) > -1e-9
        # The flat is as large as it may be: on either side some round ends right there.
        (a, up), (b, _) = face.flat[:2]
        tight = []
        for depth, radius, section in (
            (0.0, outer, outside),
            (face.thickness, inner, inside),
        ):
            for across in (a, b):
                x, _, z = face.frame.point((across, up, -depth))
                level = section(box, z)
                tight.append(abs(min(x - level.x0, level.x1 - x) - radius) < 1e-9)
        assert sum(tight) >= 2
        ups = sorted({u for _, u in face.flat})
        assert face.frame.point((0.0, ups[0], -face.thickness))[2] >= 2.5 - 1e-9
        assert face.frame.point((0.0, ups[-1], 0.0))[2] <= 57.5 + 1e-9


def test_inner_planes_hold_the_inside_and_not_the_walls() -> None:
    box = tray(lid=deep_lid())
    for plane in inner_planes(box):
        assert norm(plane.normal) == pytest.approx(1.0)
        assert dot(plane.normal, (0.0, 0.0, 30.0)) > plane.offset
        if plane.face is FaceName.RIGHT:
            z = 20.0 if plane.half is Half.BODY else 50.0
            level = inside(box, z) if plane.half is Half.BODY else lid_inside(box, z)
            assert dot(plane.normal, (level.x1, 3.0, z)) == pytest.approx(plane.offset)
    assert len(inner_planes(box)) == 10
    assert len(inner_planes(tray())) == 6


def test_section_outline_is_inscribed() -> None:
    level = Level(x0=-30, x1=30, y0=-20, y1=20, radius=5)
    points = level.outline(steps=16)
    area = (
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
        / 2
    )
    true = 60 * 40 - (4 - math.pi) * 25
    assert true - 0.2 < area < true
    assert Level(x0=-1, x1=1, y0=-1, y1=1, radius=0).outline() == (
        (-1, -1),
        (1, -1),
        (1, 1),
        (-1, 1),
    )


# --- moulded features -----------------------------------------------------------------------


def named(box: Tray, name: str) -> list[Body]:
    return [b for b in fixtures(box) if b.name == name]


def test_posts_stand_on_the_floor_and_hang_from_the_ceiling() -> None:
    box = moulded()
    (p1,), (p2,), (p3,) = (named(box, f"post P{i}") for i in (1, 2, 3))
    assert p1.shape == Cone(3.5, 3.0, 8.0)
    assert p2.shape == Cylinder(3.0, 8.0)
    assert p3.shape == Cone(2.5, 3.0, 10.0)
    assert (p1.half, p2.half, p3.half) == (Half.BODY, Half.BODY, Half.LID)
    assert {b.owner for b in fixtures(box)} == {BOX}
    for body, low, high in ((p1, 2.5, 10.5), (p2, 2.5, 10.5), (p3, 47.5, 57.5)):
        (x0, y0, z0), (x1, y1, z1) = bounds(body.shape, body.pose)
        assert (z0, z1) == pytest.approx((low, high))
        post = next(p for p in POSTS if body.name.endswith(p.name))
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((post.x, post.y))


def test_ribs_stand_on_the_inner_face() -> None:
    box = moulded()
    (body,) = named(box, "rib R1")
    face = faces(box)[FaceName.FRONT]
    assert body.shape == Block(35.0, 1.5, 3.0)
    own = [
        face.frame.inside(body.pose.point((x, y, z)))
        for x in (-17.5, 17.5)
        for y in (-0.75, 0.75)
        for z in (-1.5, 1.5)
    ]
    assert (min(p[0] for p in own), max(p[0] for p in own)) == pytest.approx((19.25, 20.75))
    assert (min(p[1] for p in own), max(p[1] for p in own)) == pytest.approx((10.0, 45.0))
    assert (min(p[2] for p in own), max(p[2] for p in own)) == pytest.approx((-5.0, -2.0))
    (lid_rib,) = named(box, "rib R2")
    assert lid_rib.half is Half.LID
    low, high = bounds(lid_rib.shape, lid_rib.pose)
    assert (low[2], high[2]) == pytest.approx((53.5, 57.5))


def test_a_slanting_rib_runs_from_start_to_end() -> None:
    block, pose = rib_block(moulded(), RIBS[1])
    assert block.dx == pytest.approx(math.hypot(40, 20))
    face = faces(moulded())[FaceName.LID]
    for end, (a, u) in ((-1, (-30.0, 10.0)), (1, (10.0, 30.0))):
        p = face.frame.inside(pose.point((end * block.dx / 2, 0.0, 0.0)))
        assert p[:2] == pytest.approx((a, u))
    assert norm(sub(cross(pose.x, pose.y), pose.z)) < 1e-12


def test_a_rib_without_length_is_refused() -> None:
    rib = Rib(
        name="R9",
        on=FaceName.LEFT,
        start=(L(1), L(2)),
        end=(L(1), L(2)),
        thickness=L(1),
        depth=L(1),
    )
    with pytest.raises(ValueError, match="R9"):
        rib_block(tray(), rib)


def covers(prism: Body, x: float, y: float) -> bool:
    assert isinstance(prism.shape, Prism)
    u, v, _ = prism.pose.inside((x, y, 0.0))
    points = prism.shape.outline
    turned = zip(points, points[1:] + points[:1], strict=True)
    return all((q[0] - p[0]) * (v - p[1]) - (q[1] - p[1]) * (u - p[0]) > -1e-9 for p, q in turned)


def beyond(level: Level, x: float, y: float) -> float:
    """How far a point lies outside a level section, mm; below 0 inside (depth at a corner)."""
    r = level.radius
    cx = (level.x0 + level.x1) / 2
    cy = (level.y0 + level.y1) / 2
    dx = abs(x - cx) - level.width / 2 + r
    dy = abs(y - cy) - level.depth / 2 + r
    return math.hypot(max(dx, 0), max(dy, 0)) + min(max(dx, dy), 0) - r


@pytest.mark.parametrize(
    ("radius", "thickness"), [(6, 1.5), (1.0, 1.5), (0.0, 1.5), (1.7, 1.5), (9, 3)]
)
def test_the_lips_pieces_cover_the_lip_and_little_more(radius: float, thickness: float) -> None:
    box = tray(
        corner_inner=L(radius),
        corner_outer=L(radius),
        lid=flat_lid(lip=lip(thickness)),
    )
    ring = lip_ring(box)
    assert ring is not None
    assert ring.outer.radius == pytest.approx(max(radius - 0.2, 0.0))
    assert ring.outer.x1 == pytest.approx(inside(box, box.rim).x1 - 0.2)
    pieces = named(box, LIP)
    assert {b.half for b in pieces} == {Half.LID}
    for body in pieces:
        low, high = bounds(body.shape, body.pose)
        assert (low[2], high[2]) == pytest.approx((53.5, 57.5))
    in_lip = out_of_lip = 0
    for i in range(140):
        for j in range(130):
            # All over one corner, 12 mm either way, in steps of 0.09.
            x, y = ring.outer.x1 + 0.4 - i * 0.09, ring.outer.y1 + 0.4 - j * 0.09
            off = max(beyond(ring.outer, x, y), -beyond(ring.inner, x, y))
            covered = any(covers(b, x, y) for b in pieces)
            if off <= 0:
                in_lip += 1
                assert covered, (x, y)
            elif off > LIP_ERROR + 1e-9:
                out_of_lip += 1
                assert not covered, (x, y, off)
    assert in_lip > 800
    assert out_of_lip > 1000


def test_a_box_without_features_has_no_fixtures() -> None:
    assert fixtures(tray()) == ()
