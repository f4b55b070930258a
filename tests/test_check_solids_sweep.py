"""The room a solid passes through: nothing left out, and no larger than it must be."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import trimesh

from fit.geometry.distance import gap
from fit.geometry.frames import Pose, cross
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import reach, vertices
from fit.geometry.sweep import Way, drawn_in, swept


def poses(rng: random.Random) -> dict[str, Pose]:
    """One pose of each kind the sweep tells apart."""
    a, lean = rng.uniform(0, 2 * math.pi), rng.uniform(0.05, 1.4)
    level = (math.cos(a), math.sin(a), 0.0)
    side = cross((0.0, 0.0, 1.0), level)
    leaning = (math.cos(lean) * level[0], math.cos(lean) * level[1], math.sin(lean))
    at = (rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(5, 20))
    lying = Pose(at, side, (0.0, 0.0, 1.0), level)
    tilted = Pose(at, side, cross(leaning, side), leaning)
    return {
        "upright": Pose(at, level, side, (0.0, 0.0, 1.0)),
        "over": Pose(at, level, cross((0.0, 0.0, -1.0), level), (0.0, 0.0, -1.0)),
        "lying": lying,
        "lying, turned": lying.turned(math.degrees(lean)),
        "tilted": tilted,
        "tilted, turned": tilted.turned(math.degrees(a)),
    }


def test_the_poses_are_right_handed() -> None:
    for pose in poses(random.Random(1)).values():
        assert np.cross(pose.x, pose.y) == pytest.approx(np.array(pose.z))


SHAPES: dict[str, Shape] = {
    "block": Block(7.0, 4.0, 2.0),
    "bar": Cylinder(2.5, 9.0),
    "cone": Cone(4.0, 2.0, 6.0),
    "spike": Cone(1.0, 3.0, 6.0),
    "prism": Prism(((0.0, 0.0), (6.0, 0.0), (5.0, 3.0), (1.0, 4.0)), 3.0),
}
WAYS = {"up": Way(up=True, to=60.0), "down": Way(up=False, to=-45.0)}


def inside_of(shape: Shape, rng: random.Random) -> tuple[float, float, float]:
    """A point of a shape, as often as not on its skin."""
    if isinstance(shape, Block | Prism):
        corners = vertices(shape, Pose())
        weights = np.array([rng.random() ** 3 for _ in corners])
        point = (weights / weights.sum()) @ corners
        return float(point[0]), float(point[1]), float(point[2])
    turn, share = rng.uniform(0, 2 * math.pi), rng.random()
    if isinstance(shape, Cylinder):
        low = high = shape.radius
    else:
        low, high = shape.radius_low, shape.radius_high
    r = (low + (high - low) * share) * rng.choice([1.0, rng.random()])
    return r * math.cos(turn), r * math.sin(turn), (share - 0.5) * shape.height


def holds(pieces: tuple[tuple[Shape, Pose], ...], point: tuple[float, float, float]) -> bool:
    """Whether a point lies in one of several solids, by a tiny block put there."""
    speck = Block(1e-9, 1e-9, 1e-9)
    return any(gap(s, p, speck, Pose(point)).mm <= 1e-6 for s, p in pieces)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", SHAPES)
def test_nothing_a_solid_passes_is_left_out(kind: str, way: str) -> None:
    rng = random.Random(f"{kind} {way}")
    shape, going = SHAPES[kind], WAYS[way]
    for name, pose in poses(rng).items():
        pieces = swept(shape, pose, going)
        for _ in range(60):
            x, y, z = pose.point(inside_of(shape, rng))
            lift = rng.uniform(min(z, going.to), max(z, going.to))
            assert holds(pieces, (x, y, lift)), f"{name}: {(x, y, z)} on its way at {lift}"


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["block", "prism"])
def test_exact_ways_are_no_larger_than_the_true_ones(kind: str, way: str) -> None:
    """A convex solid moved along a line covers the hull of its first and last place (trimesh)."""
    rng = random.Random(f"{kind} {way}")
    shape, going = SHAPES[kind], WAYS[way]
    assert isinstance(shape, Block | Prism)
    exact = ["upright", "over", "lying", "lying, turned"] + ["tilted"] * (kind == "block")
    found = poses(rng)
    for name in exact:
        corners = vertices(shape, found[name])
        # Every point of the solid goes to the same level: flattened there.
        flat = corners.copy()
        flat[:, 2] = going.to
        hull = trimesh.convex.convex_hull(np.vstack((corners, flat)))
        (piece,) = swept(shape, found[name], going)
        assert isinstance(piece[0], Block | Prism)
        mine = trimesh.convex.convex_hull(vertices(piece[0], piece[1]))
        assert mine.volume == pytest.approx(hull.volume, rel=1e-6), name


def test_a_lying_bar_keeps_its_round_underside() -> None:
    bar, pose = Cylinder(3.0, 20.0), Pose((0, 0, 10), (0, 1, 0), (0, 0, 1), (1, 0, 0))
    pieces = swept(bar, pose, Way(up=True, to=40.0))
    corner = (0.0, 2.9, 7.1)  # below the bar's side, inside the box round it
    assert not holds(pieces, corner)
    assert holds(pieces, (0.0, 2.9, 10.0))
    assert holds(pieces, (0.0, 2.9, 39.9))


@pytest.mark.parametrize("kind", ["bar", "cone", "spike"])
@pytest.mark.parametrize("way", WAYS)
def test_a_round_solid_on_a_leaning_wall_keeps_its_round_end(kind: str, way: str) -> None:
    """Seen along the wall, what it passes is its circle and a strip as wide, no more."""
    rng, going, shape = random.Random(kind), WAYS[way], SHAPES[kind]
    assert isinstance(shape, Cylinder | Cone)
    radius = (
        shape.radius if isinstance(shape, Cylinder) else max(shape.radius_low, shape.radius_high)
    )
    outwards = -1.0 if going.up else 1.0
    for _ in range(10):
        yaw, lean = rng.uniform(0, 2 * math.pi), rng.uniform(-0.2, 0.2)
        level = (math.cos(yaw), math.sin(yaw), 0.0)
        side = cross((0.0, 0.0, 1.0), level)
        axis = (math.cos(lean) * level[0], math.cos(lean) * level[1], math.sin(lean))
        pose = Pose((3.0, -2.0, 10.0), side, cross(axis, side), axis)
        pieces = swept(shape, pose, going)
        for _ in range(40):
            point = pose.point(inside_of(shape, rng))
            lift = rng.uniform(min(point[2], going.to), max(point[2], going.to))
            assert holds(pieces, (point[0], point[1], lift))
        end = shape.height / 2 * abs(axis[2])
        for turn in np.linspace(0.0, math.pi, 19):
            # Just outside the circle's lower half, as low as the solid's lower end may make it.
            r = radius + 1e-3
            away, low = r * math.cos(turn), outwards * (r * math.sin(turn) + end)
            x, y, _ = (p + away * s for p, s in zip(pose.origin, side, strict=True))
            assert not holds(pieces, (x, y, 10.0 + low)), (lean, turn)


def test_what_lies_past_the_end_of_the_way_stays_as_it_is() -> None:
    block, pose = Block(4.0, 4.0, 4.0), Pose((0, 0, 50))
    (piece,) = swept(block, pose, Way(up=True, to=40.0))
    assert reach(*piece, (0.0, 0.0, 1.0)) == pytest.approx(52.0)
    assert -reach(*piece, (0.0, 0.0, -1.0)) == pytest.approx(48.0)


@pytest.mark.parametrize("kind", SHAPES)
def test_drawn_in_against_the_own_axis(kind: str) -> None:
    rng = random.Random(kind)
    for pose in poses(rng).values():
        piece = drawn_in(SHAPES[kind], pose, 7.0)
        for _ in range(30):
            x, y, z = inside_of(SHAPES[kind], rng)
            assert holds((piece,), pose.point((x, y, z - rng.uniform(0, 7.0))))
