"""Gaps of simple pairs that can be worked out on paper."""

from __future__ import annotations

import math
import random

import pytest

from fit.geometry.distance import gap
from fit.geometry.frames import Pose, Vec, add, cross, scale
from fit.geometry.shapes import Block, Cone, Cylinder
from tests.test_distance_known import some_pose


def turned_alike(rng: random.Random) -> tuple[Pose, Pose, Vec]:
    """Two poses with the same axes, and b's middle seen from a, in these axes."""
    pose = some_pose(rng)
    offset: Vec = (rng.uniform(-9, 9), rng.uniform(-9, 9), rng.uniform(-9, 9))
    return pose, pose.shifted(offset), offset


@pytest.mark.parametrize("seed", range(200))
def test_blocks_turned_alike_by_hand(seed: int) -> None:
    """Free: the three gaps along the edges squared; overlapping: the least of three ways out."""
    rng = random.Random(seed)
    a, b = (Block(*(rng.uniform(0.5, 12) for _ in range(3))) for _ in range(2))
    pose_a, pose_b, at = turned_alike(rng)
    sides = zip(at, (a.dx + b.dx, a.dy + b.dy, a.dz + b.dz), strict=True)
    apart = [abs(d) - total / 2 for d, total in sides]
    want = math.hypot(*(max(d, 0.0) for d in apart)) if max(apart) > 0 else max(apart)
    assert gap(a, pose_a, b, pose_b).mm == pytest.approx(want, abs=2e-5 if want > 0 else 1e-9)


@pytest.mark.parametrize("seed", range(200))
def test_parallel_cylinders_by_hand(seed: int) -> None:
    """Two circles and two heights, each on its own."""
    rng = random.Random(seed)
    a, b = (Cylinder(rng.uniform(0.5, 6), rng.uniform(0.5, 12)) for _ in range(2))
    pose_a, pose_b, at = turned_alike(rng)
    pose_b = pose_b.turned(rng.uniform(0, 360))
    apart = (
        math.hypot(at[0], at[1]) - a.radius - b.radius,
        abs(at[2]) - (a.height + b.height) / 2,
    )
    want = math.hypot(*(max(d, 0.0) for d in apart)) if max(apart) > 0 else max(apart)
    assert gap(a, pose_a, b, pose_b).mm == pytest.approx(want, abs=2e-5 if want > 0 else 1e-9)


@pytest.mark.parametrize("seed", range(50))
def test_crossed_cylinders_by_hand(seed: int) -> None:
    """Long bars crossing at any angle: the line square to both axes, less the two radii."""
    rng = random.Random(seed)
    a, b = Cylinder(rng.uniform(0.5, 6), 200.0), Cylinder(rng.uniform(0.5, 6), 200.0)
    pose = some_pose(rng)
    angle, d = rng.uniform(30, 90), rng.uniform(0, 15)
    z = add(
        scale(pose.z, math.cos(math.radians(angle))), scale(pose.y, math.sin(math.radians(angle)))
    )
    pose_b = Pose(add(pose.origin, scale(pose.x, d)), pose.x, cross(z, pose.x), z)
    want = d - a.radius - b.radius
    assert gap(a, pose, b, pose_b).mm == pytest.approx(want, abs=2e-5 if want > 0 else 1e-9)


def test_a_pin_in_a_board_comes_out_the_short_way() -> None:
    """A pin stands 0.8 mm high in a board 120 × 80 × 1.6: endways it is half of both heights less
    that, 5.8 - 0.8; sideways it would be more than 38."""
    board, pin = Block(120, 80, 1.6), Cylinder(1, 10)
    got = gap(board, Pose(), pin, Pose((3.0, 2.0, 0.8)))
    assert got.mm == pytest.approx(-5.0, abs=1e-9)
    assert got.along == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)


def test_solids_on_one_another() -> None:
    """Same place, same axes: the shortest way out is over the smallest half sum."""
    for a, b, want in (
        (Block(4, 6, 8), Block(2, 3, 9), -3.0),
        (Cylinder(3, 20), Cylinder(1, 20), -4.0),
        (Cylinder(3, 2), Cylinder(1, 3), -2.5),
        (Cone(2, 2, 30), Cylinder(1, 30), -3.0),
        (Block(4, 6, 30), Cylinder(1, 30), -3.0),
        (Block(40, 60, 3), Cone(30, 0.5, 3), -3.0),
    ):
        assert gap(a, Pose(), b, Pose()).mm == pytest.approx(want, abs=1e-9)


def test_a_wide_cone_leaves_an_upright_edge_square_to_its_axis() -> None:
    """Both stand upright: the wide rim, r = 20, is 3 mm past the block's corner, 45° to its faces,
    so sideways it is less deep than in either of them."""
    block, cone = Block(10, 10, 200), Cone(20, 1, 30)
    off = 5 + (20 - 3) / math.sqrt(2)
    got = gap(block, Pose(), cone, Pose((off, off, 0.0)))
    assert got.mm == pytest.approx(-3.0, abs=1e-9)
    assert got.along == pytest.approx((math.sqrt(0.5), math.sqrt(0.5), 0.0), abs=1e-9)


def test_touching_is_exactly_zero_within_a_tenth_of_a_millionth() -> None:
    a, b = Block(10, 10, 10), Cylinder(2, 6)
    for off, want in ((5e-8, 0.0), (-5e-8, 0.0), (3e-7, 3e-7), (-3e-7, -3e-7)):
        got = gap(a, Pose(), b, Pose((1.0, 1.0, 8.0 + off)))
        assert got.mm == pytest.approx(want, abs=1e-10)
        assert (got.mm == 0.0) == (want == 0.0)
        assert got.near_a[2] == pytest.approx(5.0, abs=1e-6)
        assert got.along == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)
