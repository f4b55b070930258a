"""What must hold of every gap, and of the reaches it rests on, whatever the solids."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.geometry.distance import (
    TOUCHING,
    Gap,
    box_gap,
    gap,
    gap_between,
    moved,
    prepare,
    too_near,
)
from fit.geometry.frames import Pose, Vec, add, dot, norm, scale, sub
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import (
    bounds,
    extent,
    far_point,
    grown_polyhedron,
    held_inside,
    room,
    vertices,
)
from tests.test_distance_known import some_direction, some_pose, some_shape

Pair = tuple[Shape, Pose, Shape, Pose]

SPREAD = 10_000
golden = math.pi * (3 - math.sqrt(5))
turns = np.arange(SPREAD) * golden
heights = 1 - (2 * np.arange(SPREAD) + 1) / SPREAD
flat = np.sqrt(1 - heights**2)
DIRECTIONS = np.column_stack((flat * np.cos(turns), flat * np.sin(turns), heights))
"""Directions spread evenly (a golden spiral), about 2° from one to the next."""


def random_pair(seed: int, spread: float) -> Pair:
    rng = random.Random(seed)
    a, b = some_shape(rng), some_shape(rng)
    pose = some_pose(rng)
    there = some_pose(rng)
    out = scale(some_direction(rng), rng.uniform(0, spread))
    return a, pose, b, Pose(add(pose.origin, out), there.x, there.y, there.z)


def shell(shape: Shape, pose: Pose, count: int = 2000) -> np.ndarray:
    """Points on the solid's edges: corners, or dense round the rims."""
    if isinstance(shape, Block):
        x, y, z = shape.dx / 2, shape.dy / 2, shape.dz / 2
        own = [(i * x, j * y, k * z) for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)]
    elif isinstance(shape, Prism):
        own = [(x, y, z) for x, y in shape.outline for z in (-shape.height / 2, shape.height / 2)]
    else:
        low, high = (
            (shape.radius, shape.radius)
            if isinstance(shape, Cylinder)
            else (shape.radius_low, shape.radius_high)
        )
        own = [
            (r * math.cos(t), r * math.sin(t), z)
            for r, z in ((low, -shape.height / 2), (high, shape.height / 2))
            for t in np.linspace(0, 2 * math.pi, count, endpoint=False)
        ]
    return np.array([pose.point(p) for p in own])


def reaches(shape: Shape, pose: Pose, directions: np.ndarray) -> np.ndarray:
    """How far a solid reaches along many directions: its corners, or circles seen aslant."""
    if isinstance(shape, Block | Prism):
        corners: np.ndarray = (shell(shape, pose) @ directions.T).max(axis=0)
        return corners
    radii = (
        (shape.radius, shape.radius)
        if isinstance(shape, Cylinder)
        else (shape.radius_low, shape.radius_high)
    )
    sine = np.linalg.norm(np.cross(directions, np.array(pose.z)), axis=1)
    discs = [
        directions @ np.array(pose.shifted((0.0, 0.0, z)).origin) + r * sine
        for r, z in zip(radii, (-shape.height / 2, shape.height / 2), strict=True)
    ]
    wider: np.ndarray = np.maximum(*discs)
    return wider


pairs = st.builds(random_pair, st.integers(0, 10**9), st.sampled_from((3.0, 30.0, 120.0)))


@given(pairs)
@settings(max_examples=200, deadline=None)
def test_either_way_round_is_the_same_gap(pair: Pair) -> None:
    a, pose_a, b, pose_b = pair
    one, other = gap(a, pose_a, b, pose_b), gap(b, pose_b, a, pose_a)
    assert one.mm == pytest.approx(other.mm, abs=2e-5)
    if one.mm < 0:
        assert one.mm == pytest.approx(other.mm, abs=1e-9)


@given(pairs, st.integers(0, 10**9))
@settings(max_examples=200, deadline=None)
def test_moving_both_alike_changes_nothing(pair: Pair, seed: int) -> None:
    a, pose_a, b, pose_b = pair
    frame = some_pose(random.Random(seed))
    one, other = gap(a, pose_a, b, pose_b), gap(a, frame.of(pose_a), b, frame.of(pose_b))
    assert one.mm == pytest.approx(other.mm, abs=2e-5)


@given(pairs)
@settings(max_examples=200, deadline=None)
def test_moving_by_the_depth_frees(pair: Pair) -> None:
    a, pose_a, b, pose_b = pair
    got = gap(a, pose_a, b, pose_b)
    assert norm(got.along) == pytest.approx(1.0)
    if got.mm >= 0:
        return
    for extra in (1e-6, 0.01, 1.0):
        step = scale(got.along, extra - got.mm)
        freed = gap(a, pose_a, b, pose_b.moved(step))
        assert freed.mm == pytest.approx(extra, abs=2e-5)
        assert freed.mm > 0
    assert gap(a, pose_a, b, pose_b.moved(scale(got.along, -got.mm - 1e-6))).mm < 0


@given(pairs)
@settings(max_examples=200, deadline=None)
def test_no_direction_frees_with_less_or_shows_more_room(pair: Pair) -> None:
    """Ten thousand directions: what each leaves between the solids is the gap at the most.

    The best of them are tried again more finely round about, so that they come close to it.
    """
    a, pose_a, b, pose_b = pair
    got = gap(a, pose_a, b, pose_b)
    rng = np.random.default_rng(1)
    directions, best = DIRECTIONS, -math.inf
    for fine in (0.02, 0.005, 0.001, 2e-4, 2e-5, 0.0):
        left = -reaches(b, pose_b, -directions) - reaches(a, pose_a, directions)
        best = max(best, float(left.max()))
        tops = directions[np.argsort(left)[-20:]]
        directions = (tops[:, None] + fine * rng.normal(size=(1, 50, 3))).reshape(-1, 3)
        directions = directions / np.linalg.norm(directions, axis=1)[:, None]
    assert best <= got.mm + 2e-5
    if got.mm < 0:
        assert best <= got.mm + 1e-9
        assert left_between(got, a, pose_a, b, pose_b) == pytest.approx(got.mm, abs=1e-9)


def left_between(got: Gap, a: Shape, pose_a: Pose, b: Shape, pose_b: Pose) -> float:
    """What the gap's own direction leaves between the two."""
    low, _ = extent(b, pose_b, got.along)
    _, high = extent(a, pose_a, got.along)
    return low - high


@given(pairs)
@settings(max_examples=200, deadline=None)
def test_the_near_points_lie_on_the_solids_the_gap_apart(pair: Pair) -> None:
    a, pose_a, b, pose_b = pair
    got = gap(a, pose_a, b, pose_b)
    assert room(a, pose_a, got.near_a) >= -1e-6
    assert room(b, pose_b, got.near_b) >= -1e-6
    assert sub(got.near_b, got.near_a) == pytest.approx(scale(got.along, got.mm), abs=0.02)
    assert norm(sub(got.near_b, got.near_a)) == pytest.approx(abs(got.mm), abs=2e-3)


@given(pairs, st.floats(0, 20))
@settings(max_examples=200, deadline=None)
def test_too_near_is_the_gap_against_the_need(pair: Pair, need: float) -> None:
    a, pose_a, b, pose_b = pair
    assert too_near(a, pose_a, b, pose_b, need) == (gap(a, pose_a, b, pose_b).mm < need)


@given(pairs)
@settings(max_examples=100, deadline=None)
def test_boxes_are_never_farther_apart_than_what_is_in_them(pair: Pair) -> None:
    a, pose_a, b, pose_b = pair
    boxes = box_gap(bounds(a, pose_a), bounds(b, pose_b))
    assert boxes <= max(gap(a, pose_a, b, pose_b).mm, 0.0) + 1e-5


def test_moved_is_the_same_as_prepared_there() -> None:
    rng = random.Random(3)
    for _ in range(100):
        a, b = prepare(some_shape(rng), some_pose(rng)), prepare(some_shape(rng), some_pose(rng))
        there = some_pose(rng)
        assert gap_between(a, moved(b, there)) == gap(a.shape, a.pose, b.shape, there)


SHAPES = (
    Block(2, 30, 7),
    Cylinder(4, 1.5),
    Cone(5, 2, 9),
    Cone(3, 0, 4),
    Cone(1, 6, 2),
    Prism(((0, 0), (9, 1), (4, 6)), 3),
)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_reaches_are_those_of_the_outermost_points(shape: Shape) -> None:
    """Extents and bounds against dense points on the edges, on which every reach lies."""
    rng = random.Random(5)
    for _ in range(40):
        pose, n = some_pose(rng), some_direction(rng)
        points = shell(shape, pose)
        low, high = extent(shape, pose, n)
        along = points @ np.array(n)
        assert low == pytest.approx(along.min(), abs=2e-5)
        assert high == pytest.approx(along.max(), abs=2e-5)
        assert low <= along.min() + 1e-9
        assert high >= along.max() - 1e-9
        assert dot(far_point(shape, pose, n), n) == pytest.approx(high, abs=1e-9)
        box = np.array(bounds(shape, pose))
        assert box[0] == pytest.approx(points.min(axis=0), abs=2e-5)
        assert box[1] == pytest.approx(points.max(axis=0), abs=2e-5)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_along_the_axis_nothing_is_lost(shape: Shape) -> None:
    """Where a direction all but lies along the axis, the sine is as exact as the rest."""
    pose = Pose().turned(17)
    off = 1e-9
    n: Vec = (off, 0.0, math.sqrt(1 - off * off))
    points = shell(shape, pose, 20_000)
    assert extent(shape, pose, n)[1] == pytest.approx((points @ np.array(n)).max(), abs=1e-14)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
@pytest.mark.parametrize("sides", [3, 12, 64])
def test_the_grown_solid_holds_the_true_one_and_no_more_than_it_says(
    shape: Shape, sides: int
) -> None:
    rng = random.Random(6)
    widest = max(abs(v) for v in bounds(shape, Pose())[1])
    grows = widest * (1 / math.cos(math.pi / sides) - 1)
    for _ in range(40):
        pose, n = some_pose(rng), some_direction(rng)
        grown = (grown_polyhedron(shape, pose, sides) @ np.array(n)).max()
        true = extent(shape, pose, n)[1]
        assert true - 1e-9 <= grown <= true + grows + 1e-9


def test_a_polygon_of_two_sides_is_refused() -> None:
    with pytest.raises(ValueError, match="three sides"):
        grown_polyhedron(Cylinder(1, 1), Pose(), 2)


def test_flat_solids_have_the_corners_a_pencil_gives() -> None:
    pose = Pose((10.0, 0.0, 0.0)).turned(90)
    got = {tuple(p) for p in vertices(Block(2, 4, 6), pose).round(12).tolist()}
    assert got == {(10.0 + x, y, z) for x in (-2.0, 2.0) for y in (-1.0, 1.0) for z in (-3.0, 3.0)}


@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_the_point_held_inside_is_the_nearest(shape: Shape) -> None:
    """Against the same solid's gap to a speck 2e-6 mm across, and left alone inside."""
    rng = random.Random(8)
    for _ in range(60):
        pose = some_pose(rng)
        point = add(pose.origin, scale(some_direction(rng), rng.uniform(0, 25)))
        held = held_inside(shape, pose, point)
        speck = gap(shape, pose, Block(2e-6, 2e-6, 2e-6), Pose(point)).mm
        assert room(shape, pose, held) >= -1e-9
        if room(shape, pose, point) >= 0:
            assert held == point
            assert speck < 0
        else:
            assert norm(sub(held, point)) == pytest.approx(speck, abs=2e-5)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
def test_room_is_how_far_the_nearest_plane_is(shape: Shape) -> None:
    """Inside a convex solid the room is the least way to the planes that bound it: every plane
    stands off by its reach, and of ten thousand directions none is nearer."""
    rng = random.Random(9)
    seen = 0
    while seen < 20:
        pose = some_pose(rng)
        point = add(pose.origin, scale(some_direction(rng), rng.uniform(0, 3)))
        inside = room(shape, pose, point)
        if inside <= 0:
            continue
        seen += 1
        ways = (shell(shape, pose, 500) @ DIRECTIONS.T).max(axis=0) - DIRECTIONS @ np.array(point)
        assert ways.min() >= inside - 1e-3
        assert ways.min() <= inside + 0.05 * norm(sub(bounds(shape, pose)[1], point))


def test_touching_solids_are_not_too_near_for_no_need() -> None:
    """A board on a post touches it: that is not nearer than 0, but nearer than any need."""
    board, post = Block(40, 30, 1.6), Cylinder(3, 10)
    on_top = Pose((0.0, 0.0, 5.8 + TOUCHING / 2))
    assert not too_near(post, Pose(), board, on_top, 0.0)
    assert too_near(post, Pose(), board, on_top, 0.01)
