"""Gaps against the CAD kernel: its shortest distance and its common volume (Open CASCADE)."""

from __future__ import annotations

import random
from typing import Any

import pytest

from fit.geometry.distance import gap
from fit.geometry.frames import Pose, Vec, add, cross, norm, scale, sub
from fit.geometry.shapes import Block, Cone, Cylinder, Shape
from tests.test_distance_known import some_direction, some_pose, some_shape

CLOSE = 1e-4


def solid_of(shape: Shape, pose: Pose) -> Any:
    """The posed shape as a solid of the CAD kernel."""
    import cadquery as cq

    if isinstance(shape, Block):
        corner = cq.Vector(-shape.dx / 2, -shape.dy / 2, -shape.dz / 2)
        made = cq.Solid.makeBox(shape.dx, shape.dy, shape.dz, corner)
    elif isinstance(shape, Cylinder):
        low = cq.Vector(0, 0, -shape.height / 2)
        made = cq.Solid.makeCylinder(shape.radius, shape.height, low)
    elif isinstance(shape, Cone):
        low = cq.Vector(0, 0, -shape.height / 2)
        made = cq.Solid.makeCone(shape.radius_low, shape.radius_high, shape.height, low)
    else:
        points = [cq.Vector(x, y, -shape.height / 2) for x, y in shape.outline]
        wire = cq.Wire.makePolygon([*points, points[0]])
        made = cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, shape.height))
    plane = cq.Plane(cq.Vector(*pose.origin), cq.Vector(*pose.x), cq.Vector(*pose.z))
    return made.moved(cq.Location(plane))


def shortest(a: Any, b: Any) -> float:
    """The shortest distance as the kernel has it; 0 where the solids share room."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    found = BRepExtrema_DistShapeShape(a.wrapped, b.wrapped)
    assert found.IsDone()
    return float(found.Value())


def random_pair(rng: random.Random) -> tuple[Shape, Pose, Shape, Pose]:
    """Two solids 100 mm apart or less, often overlapping."""
    a, b = some_shape(rng), some_shape(rng)
    pose = some_pose(rng)
    out: Vec = scale(some_direction(rng), rng.uniform(0, 100))
    return a, pose, b, Pose(add(pose.origin, out), *_axes(some_pose(rng)))


def _axes(pose: Pose) -> tuple[Vec, Vec, Vec]:
    return pose.x, pose.y, pose.z


def compare(seed: int) -> str:
    """Check one pair; say whether it was free or overlapping, or whether the kernel erred.

    Now and then the kernel misses the shortest line to a cone. It then gives a longer one, and is
    proved wrong by itself: asked about our points, it finds both on the solids.
    """
    a, pose_a, b, pose_b = random_pair(random.Random(seed))
    got = gap(a, pose_a, b, pose_b)
    solid_a, solid_b = solid_of(a, pose_a), solid_of(b, pose_b)
    far = shortest(solid_a, solid_b)
    where = (seed, a, pose_a, b, pose_b)
    if got.mm > 0:
        assert far >= got.mm - CLOSE, where
        assert norm(sub(got.near_a, got.near_b)) == pytest.approx(got.mm, abs=CLOSE), where
        if far <= got.mm + CLOSE:
            return "free"
        assert Cone in (type(a), type(b)), where
        assert on_solid(got.near_a, solid_a), where
        assert on_solid(got.near_b, solid_b), where
        return "erred"
    assert far <= CLOSE, where
    # moved out by the depth they touch, by half of it they still share room
    step = scale(got.along, -got.mm)
    freed = solid_of(b, pose_b.moved(scale(step, 1 + 1e-3 / -got.mm)))
    assert shortest(solid_a, freed) == pytest.approx(1e-3, abs=CLOSE), where
    assert volume(solid_a, solid_b) > 0, where
    assert volume(solid_a, solid_of(b, pose_b.moved(scale(step, 0.5)))) > 0, where
    return "overlapping"


def on_solid(point: Vec, solid: Any) -> bool:
    """Whether the kernel finds a point on, or in, a solid."""
    import cadquery as cq

    return shortest(cq.Vertex.makeVertex(*point), solid) <= CLOSE


def volume(a: Any, b: Any) -> float:
    """What two solids have in common, mm³."""
    return float(a.intersect(b).Volume())


def test_twenty_four_random_pairs_as_the_cad_kernel_has_them() -> None:
    kinds = [compare(seed) for seed in range(24)]
    assert kinds.count("free") >= 5
    assert kinds.count("overlapping") >= 5
    assert kinds.count("erred") <= 2


@pytest.mark.slow
def test_five_hundred_random_pairs_as_the_cad_kernel_has_them() -> None:
    kinds = [compare(seed) for seed in range(1000, 1500)]
    assert kinds.count("free") >= 150
    assert kinds.count("overlapping") >= 100
    assert kinds.count("erred") <= 10


def test_solids_stand_where_the_poses_say() -> None:
    """The translation to the CAD kernel itself, by volume and centre of mass."""
    rng = random.Random(2)
    pose = some_pose(rng)
    for shape, want in ((Block(2, 3, 4), 24.0), (Cylinder(1, 2), 6.283185307179586)):
        made = solid_of(shape, pose)
        assert made.Volume() == pytest.approx(want)
        assert made.Center().toTuple() == pytest.approx(pose.origin)
    assert cross(pose.x, pose.y) == pytest.approx(pose.z)
