"""Solids against hand calculation, against the bodies, and as read back from the files."""

from __future__ import annotations

import math
from typing import Any

import pytest

from fit.geometry.box import Level, faces, inside, lid_inside, lid_outside, outside
from fit.geometry.fixtures import fixtures
from fit.geometry.frames import Pose, Vec, cross, dot
from fit.geometry.kernel import volume
from fit.geometry.scene import Body, Cut
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.solids import (
    body_solid,
    box_solids,
    post_solid,
)
from fit.geometry.support import extent as by_arithmetic
from fit.model.box import Tray
from fit.model.words import FaceName, Half
from fit.units import Length as L
from tests.kernel import each, kinds, sound, surfaces
from tests.trays import (
    POSTS,
    deep_lid,
    flat_lid,
    four_walls,
    lip,
    moulded,
    opening,
    tray,
    wall,
)

SHARP = {"corner_outer": L(0), "corner_inner": L(0)}
UNEVEN = {
    "front": wall(0.5, 2.0),
    "back": wall(3.0, 2.5),
    "left": wall(2.0, 1.5),
    "right": wall(-1.0, 2.0),
}


def prismatoid(low: Level, middle: Level, high: Level, height: float) -> float:
    """h/6·(A₀ + 4·A½ + A₁), exact for a solid between two level polygons (prismatoid formula);
    the rounds take (4 - π)·r² from every level section."""
    areas = [s.width * s.depth for s in (low, middle, high)]
    round_ = (4 - math.pi) * low.radius**2
    return height / 6 * (areas[0] + 4 * areas[1] + areas[2]) - round_ * height


def between(section: Any, box: Tray, low: float, high: float) -> float:
    middle = section(box, (low + high) / 2)
    return prismatoid(section(box, low), middle, section(box, high), high - low)


# --- volumes --------------------------------------------------------------------------------


def test_a_plain_box_has_the_volume_calculated_by_hand() -> None:
    body, lid = box_solids(tray(**SHARP, **four_walls(0.0)))
    assert volume(body) == pytest.approx(150 * 100 * 57.5 - 146 * 96 * 55, rel=1e-9)
    assert volume(lid) == pytest.approx(150 * 100 * 2.5, rel=1e-9)


@pytest.mark.parametrize("round_", [SHARP, {"corner_outer": L(6), "corner_inner": L(4)}])
@pytest.mark.parametrize("walls", [four_walls(1.0), four_walls(2.0), UNEVEN])
def test_a_drafted_box_has_the_volume_of_prismatoids(round_: Any, walls: Any) -> None:
    box = tray(**round_, **walls)
    body, lid = box_solids(box)
    expected = between(outside, box, 0, 57.5) - between(inside, box, 2.5, 57.5)
    assert volume(body) == pytest.approx(expected, rel=1e-6)
    rim = outside(box, 57.5)
    plate = rim.width * rim.depth - (4 - math.pi) * rim.radius**2
    assert volume(lid) == pytest.approx(plate * 2.5, rel=1e-6)
    assert sound(body)
    assert sound(lid)


@pytest.mark.parametrize("wall_thickness", [1.0, 2.0, 3.5])
def test_a_deep_lid_has_the_volume_of_prismatoids(wall_thickness: float) -> None:
    box = tray(lid=deep_lid(wall=wall_thickness, draft=1.5))
    _, lid = box_solids(box)
    expected = between(lid_outside, box, 40, 60) - between(lid_inside, box, 40, 57.5)
    assert volume(lid) == pytest.approx(expected, rel=1e-6)
    assert sound(lid)


def test_corner_rounds_as_wide_as_the_box_still_close() -> None:
    box = tray(length=L(60), width=L(40), corner_outer=L(20), corner_inner=L(18), **four_walls(0.0))
    body, _ = box_solids(box)
    outer = 20 * 40 + math.pi * 400
    inner = 20 * 36 + math.pi * 324
    assert volume(body) == pytest.approx(outer * 57.5 - inner * 55, rel=1e-9)
    assert sound(body)


# --- true surfaces --------------------------------------------------------------------------


def test_walls_are_planes_and_corners_are_circles_drawn_along_the_slant() -> None:
    body, lid = box_solids(tray())
    # Outside and inside four walls and a floor, and the rim; eight slanted corners.
    assert kinds(body) == {"Plane": 11, "SurfaceOfExtrusion": 8}
    assert kinds(lid) == {"Plane": 6, "Cylinder": 4}
    straight, _ = box_solids(tray(**four_walls(0.0)))
    assert kinds(straight) == {"Plane": 11, "Cylinder": 8}


@pytest.mark.parametrize("lid", [flat_lid(), deep_lid()])
def test_wall_planes_stand_where_the_faces_say(lid: Any) -> None:
    box = tray(lid=lid, **UNEVEN)
    body, _ = box_solids(box)
    planes = []
    for s in surfaces(body):
        if str(s.GetType()).endswith("Plane"):
            a, b, c, d = s.Plane().Coefficients()
            planes.append(((a, b, c), d))
    for face in faces(box).values():
        if face.name is FaceName.LID:
            continue
        for depth in (0.0, -face.thickness):
            point = face.frame.point((3.0, 5.0, depth))
            met = [
                n
                for n, d in planes
                if abs(dot(n, point) + d) < 1e-9 and abs(abs(dot(n, face.frame.z)) - 1) < 1e-12
            ]
            assert len(met) == 1


def crossings(solid: Any, start: Vec, along: Vec) -> list[float]:
    """Where a line meets the solid's surface, in order, mm from its start."""
    from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

    meet = IntCurvesFace_ShapeIntersector()
    meet.Load(solid, 1e-7)
    meet.Perform(gp_Lin(gp_Pnt(*start), gp_Dir(*along)), -1000.0, 1000.0)
    return sorted(meet.WParameter(i + 1) for i in range(meet.NbPnt()))


@pytest.mark.parametrize("z", [2.6, 10.0, 31.7, 57.4])
def test_sections_of_the_solid_are_as_wide_as_the_arithmetic_says(z: float) -> None:
    box = tray(**UNEVEN)
    body, _ = box_solids(box)
    out, inn = outside(box, z), inside(box, z)
    assert crossings(body, (0, 1, z), (1, 0, 0)) == pytest.approx(
        [out.x0, inn.x0, inn.x1, out.x1], abs=1e-7
    )
    assert crossings(body, (1, 0, z), (0, 1, 0)) == pytest.approx(
        [out.y0, inn.y0, inn.y1, out.y1], abs=1e-7
    )
    # Out along 45° from the centre of the inner round: its radius, at every height.
    start = (inn.x1 - inn.radius, inn.y1 - inn.radius, z)
    half = math.sqrt(0.5)
    assert min(t for t in crossings(body, start, (half, half, 0)) if t > 0) == pytest.approx(
        inn.radius, abs=1e-7
    )


# --- moulded features and bodies ------------------------------------------------------------


def frustum(r: float, s: float, h: float) -> float:
    """Volume of a truncated cone, π·h/3·(r² + r·s + s²)."""
    return math.pi * h / 3 * (r * r + r * s + s * s)


def test_posts_are_true_cones_with_true_holes() -> None:
    box = moulded()
    p1, p2, p3 = (post_solid(box, p) for p in POSTS)
    assert volume(p1) == pytest.approx(frustum(3.5, 3, 8) - math.pi * 1.25**2 * 6, rel=1e-9)
    assert volume(p2) == pytest.approx(math.pi * 9 * 8, rel=1e-9)
    assert volume(p3) == pytest.approx(frustum(3, 2.5, 10) - math.pi * 10, rel=1e-9)
    assert kinds(p1) == {"Cone": 1, "Cylinder": 1, "Plane": 3}
    assert kinds(p3) == {"Cone": 1, "Cylinder": 1, "Plane": 2}
    assert all(sound(p) for p in (p1, p2, p3))


def extent(solid: Any) -> tuple[float, ...]:
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(solid, box, False, False)
    return tuple(box.Get())


def test_moulded_solids_fill_their_bodies() -> None:
    box = moulded()
    body, lid = box_solids(box)
    halves = {Half.BODY: list(each(body, "SOLID")), Half.LID: list(each(lid, "SOLID"))}
    assert [len(s) for s in halves.values()] == [4, 4]
    for feature in fixtures(box):
        if feature.name == "lip":
            continue
        mine = extent(body_solid(feature))
        same = [s for s in halves[feature.half] if extent(s) == pytest.approx(mine, abs=1e-6)]
        assert len(same) == 1, feature.name


def test_the_lip_is_a_true_ring_within_its_pieces() -> None:
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Fuse

    box = tray(lid=flat_lid(lip=lip()))
    _, lid = box_solids(box)
    ring = list(each(lid, "SOLID"))[1]
    rim = inside(box, 57.5)
    w, d, r = rim.width - 0.4, rim.depth - 0.4, 3.8
    area = w * d - (4 - math.pi) * r**2
    hole = (w - 3) * (d - 3) - (4 - math.pi) * (r - 1.5) ** 2
    assert volume(ring) == pytest.approx((area - hole) * 4, rel=1e-9)
    assert kinds(ring) == {"Plane": 10, "Cylinder": 8}
    pieces = [body_solid(b) for b in fixtures(box)]
    whole = pieces[0]
    for piece in pieces[1:]:
        whole = BRepAlgoAPI_Fuse(whole, piece).Shape()
    assert volume(BRepAlgoAPI_Common(whole, ring).Shape()) == pytest.approx(volume(ring), rel=1e-7)
    assert volume(whole) < volume(ring) * 1.002


SHAPES: list[tuple[Shape, float]] = [
    (Block(3, 4, 5), 60.0),
    (Cylinder(2, 7), math.pi * 28),
    (Cone(3, 1, 6), frustum(3, 1, 6)),
    (Cone(2, 2, 6), math.pi * 24),
    (Cone(2, 0, 6), math.pi * 8),
    (Prism(((-2, -1), (2, -1), (0, 3)), 5), 8 * 5),
]


@pytest.mark.parametrize(("shape", "mm3"), SHAPES, ids=lambda v: type(v).__name__)
def test_bodies_become_solids_where_they_stand(shape: Shape, mm3: float) -> None:
    z = (0.6, 0.0, 0.8)
    x = (0.8, 0.0, -0.6)
    pose = Pose((10.0, 20.0, 30.0), x, cross(z, x), z)
    body = Body(owner="it", name="it", shape=shape, pose=pose, half=Half.BODY)
    solid = body_solid(body)
    assert sound(solid)
    assert volume(solid) == pytest.approx(mm3, rel=1e-9)
    for direction in (x, pose.y, z):
        low, high = reach_along(solid, direction)
        assert (low, high) == pytest.approx(by_arithmetic(shape, pose, direction), abs=1e-6)


def reach_along(solid: Any, direction: Vec) -> tuple[float, float]:
    """The kernel's extent of a solid along a direction, by turning the solid."""
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    turn = gp_Trsf()
    turn.SetTransformation(gp_Ax3(gp_Pnt(0, 0, 0), gp_Dir(*direction)))
    box = extent(solid.Moved(TopLoc_Location(turn)))
    return box[2], box[5]


# --- openings -------------------------------------------------------------------------------


def test_openings_take_their_area_times_the_wall() -> None:
    box = tray(**UNEVEN)
    whole, whole_lid = map(volume, box_solids(box))
    for item, area in (
        (opening(FaceName.FRONT, 5, 30, diameter=12.0), math.pi * 36),
        (opening(FaceName.BACK, 5, 30, diameter=7.0), math.pi * 12.25),
        (opening(FaceName.FLOOR, 5, 30, diameter=5.0), math.pi * 6.25),
        (
            opening(FaceName.LEFT, 5, 30, cut=Cut.RECTANGLE, width=10.0, height=6.0, turn=90.0),
            60.0,
        ),
        (
            opening(FaceName.RIGHT, 5, 30, cut=Cut.RECTANGLE, width=10.0, height=6.0,
                    corner_radius=2.0),
            60.0 - (4 - math.pi) * 4,
        ),
    ):  # fmt: skip
        body, lid = box_solids(box, [item])
        assert whole - volume(body) == pytest.approx(area * box.thickness(item.face), rel=1e-7)
        assert volume(lid) == pytest.approx(whole_lid, rel=1e-12)
    body, lid = box_solids(box, [opening(FaceName.LID, 0, 0, diameter=8.0)])
    assert whole_lid - volume(lid) == pytest.approx(math.pi * 16 * 2.5, rel=1e-9)
    assert volume(body) == pytest.approx(whole, rel=1e-12)


@pytest.mark.parametrize("draft", [0.0, 2.0, -2.0])
def test_a_rim_slot_opens_the_rim(draft: float) -> None:
    box = tray(**four_walls(draft))
    face = faces(box)[FaceName.LEFT]
    top = face.outline[2][1]
    slot = opening(FaceName.LEFT, 0, top - 5.5, cut=Cut.RIM_SLOT, width=8.0, height=11.0)
    body, _ = box_solids(box, [slot])
    taken = volume(box_solids(box)[0]) - volume(body)
    # A leaning wall's rim is level: inside it lies t·tan δ lower along the face than outside.
    height = 11.0 - math.tan(math.radians(draft)) * 2.0 / 2
    assert taken == pytest.approx(8.0 * 2.0 * height, rel=1e-7)
    start = face.frame.point((0.0, top - 0.02, 0.0))
    assert all(abs(t) > 5 for t in crossings(body, (start[0], start[1], box.rim - 0.01), (1, 0, 0)))


def test_openings_leave_posts_whole() -> None:
    box = moulded()
    below_post = opening(FaceName.FLOOR, 55, -30, diameter=3.0)
    body, _ = box_solids(box, [below_post])
    assert any(
        volume(s) == pytest.approx(frustum(3.5, 3, 8) - math.pi * 1.25**2 * 6)
        for s in each(body, "SOLID")
    )
