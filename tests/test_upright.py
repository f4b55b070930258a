"""Nearest points of solids that stand parallel, against flat figures measured by shapely."""

from __future__ import annotations

import random

import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate, translate

from fit.geometry.frames import Pose, X, Y, Z, norm, scale, sub
from fit.geometry.shapes import Block, Cone, Cylinder, Prism
from fit.geometry.upright import upright_points
from tests.test_distance_known import some_pose

HEXAGON = ((4.0, 0.0), (2.0, 3.0), (-2.0, 3.0), (-4.0, 0.0), (-2.0, -3.0), (2.0, -3.0))


def flank(cone: Cone, at: float, z: float) -> Polygon:
    """A cone cut through its axis, which stands at `at`, its middle at height z."""
    half, low, high = cone.height / 2, cone.radius_low, cone.radius_high
    return Polygon(
        [(at - low, z - half), (at + low, z - half), (at + high, z + half), (at - high, z + half)]
    )


def some_cone(rng: random.Random) -> Cone:
    return Cone(rng.uniform(0.5, 5), rng.uniform(0.5, 5), rng.uniform(0.5, 12))


def upside_down(pose: Pose) -> Pose:
    return Pose(pose.origin, pose.x, scale(pose.y, -1.0), scale(pose.z, -1.0))


@pytest.mark.parametrize("seed", range(100))
def test_two_cones_side_by_side(seed: int) -> None:
    """Two round solids with parallel axes are nearest in the plane through both."""
    rng = random.Random(seed)
    a, b, pose = some_cone(rng), some_cone(rng), some_pose(rng)
    away, z = rng.uniform(10.5, 20), rng.uniform(-20, 20)
    over = pose.turned(rng.uniform(0, 360)).shifted((away, 0.0, z))
    want = flank(a, 0.0, 0.0).distance(flank(b, away, z))
    for points in (
        upright_points(a, pose, b, over),
        upright_points(b, over, a, pose),
        upright_points(a, pose, Cone(b.radius_high, b.radius_low, b.height), upside_down(over)),
    ):
        assert points is not None
        assert norm(sub(*points)) == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize("seed", range(100))
@pytest.mark.parametrize("above", [False, True])
def test_cone_and_a_flat_solid(seed: int, above: bool) -> None:
    """In the half plane from the axis the flat solid is all that lies beyond its nearest point."""
    rng = random.Random(seed)
    a, pose, turn = some_cone(rng), some_pose(rng), rng.uniform(0, 360)
    tall = rng.uniform(0.5, 12)
    far = (rng.uniform(-4, 4), 0.0) if above else (rng.uniform(14, 25), rng.uniform(-4, 4))
    z = rng.uniform(13, 20) if above else rng.uniform(-15, 15)
    b: Block | Prism = Prism(HEXAGON, tall) if seed % 2 else Block(8.0, 6.0, tall)
    plan = Polygon(HEXAGON) if seed % 2 else box(-4, -3, 4, 3)
    plan = translate(rotate(plan, turn, origin=(0, 0)), *far)
    start = plan.distance(Point(0, 0))
    want = flank(a, 0.0, 0.0).distance(box(start, z - tall / 2, 100, z + tall / 2))
    over = pose.shifted((*far, z)).turned(turn)
    for points in (upright_points(a, pose, b, over), upright_points(b, over, a, pose)):
        assert points is not None
        assert norm(sub(*points)) == pytest.approx(want, abs=1e-9)


def test_points_come_in_the_order_of_the_solids() -> None:
    bar, block = Cylinder(1.0, 5.0), Block(2.0, 2.0, 2.0)
    beside = Pose((5.0, 0.0, 4.0))
    assert upright_points(bar, Pose(), block, beside) == ((1.0, 0.0, 2.5), (4.0, 0.0, 3.0))
    assert upright_points(block, beside, bar, Pose()) == ((4.0, 0.0, 3.0), (1.0, 0.0, 2.5))


def test_other_solids_are_left_to_others() -> None:
    lying = Pose((9.0, 0.0, 0.0), Y, Z, X)
    assert upright_points(Cylinder(1, 5), Pose(), Cylinder(1, 5), lying) is None
    assert upright_points(Block(1, 1, 1), Pose(), Block(1, 1, 1), Pose((9.0, 0, 0))) is None
