"""Ways in by sliding and tilting: free all along by dense sampling, and found where they exist."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import pytest
import shapely

from fit.geometry.frames import Pose
from fit.geometry.shapes import Block, Point2
from fit.geometry.tilting import ANGLES, Pair, Search, Stop, WayIn, at_stop, needed, outline_in

PLANE = Pose((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))


def rect(x0: float, y0: float, x1: float, y1: float) -> tuple[Point2, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def between(stops: tuple[Stop, ...], step: float) -> list[Stop]:
    found = [stops[0]]
    for a, b in pairwise(stops):
        moved = math.hypot(b.x - a.x, b.y - a.y) + 100 * math.radians(abs(b.tilt - a.tilt))
        count = max(1, math.ceil(moved / step))
        for n in range(1, count + 1):
            t = n / count
            found.append(Stop(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t,
                              a.tilt + (b.tilt - a.tilt) * t))  # fmt: skip
    return found


def least(way: WayIn, pairs: tuple[Pair, ...]) -> float:
    """The least distance of any pair at any of many places on the way (shapely)."""
    rooms = []
    for stop in between(way.stops[1:], 0.3):
        c, s = math.cos(math.radians(stop.tilt)), math.sin(math.radians(stop.tilt))
        for pair in pairs:
            mover = shapely.affinity.affine_transform(
                shapely.Polygon(pair.mover), (c, -s, s, c, stop.x, stop.y)
            )
            rooms.append(mover.distance(shapely.Polygon(pair.hurdle)))
    return min(rooms)


def slot(width: float, length: float, thick: float) -> tuple[Pair, ...]:
    """A rod at the bottom of a well whose neck, longer than the rod, is narrower than it."""
    rod = rect(-length / 2, 0, length / 2, thick)
    half, far = width / 2, length / 2 + 15
    hurdles = (
        rect(-far - 5, 50, -half, 120),
        rect(half, 50, far + 5, 120),
        rect(-far - 5, -6, -far, 51),
        rect(far, -6, far + 5, 51),
        rect(-far - 5, -10, far + 5, -1),
    )
    return tuple(Pair(rod, h) for h in hurdles)


@pytest.mark.parametrize("share", [0.99, 0.9, 0.8])
def test_the_gentlest_tilt_lets_a_rod_through_a_mouth(share: float) -> None:
    """A rod of 50 x 2 passes a mouth of w when 50 cos a + 2 sin a <= w."""
    width = 50 * share
    pairs = slot(width, 50.0, 2.0)
    way = Search(plane=PLANE, pairs=pairs).way(0.0)
    assert way is not None
    passes = [a for a in ANGLES if 50 * math.cos(math.radians(a))
              + 2 * math.sin(math.radians(a)) <= width]  # fmt: skip
    # Outlines grow by up to half a step's sweep, 0.22 at this rod's ends; one or two steps more.
    assert passes[0] <= abs(way.tilt) <= passes[0] + 2.0
    assert least(way, pairs) > 0


def test_a_block_does_not_pass_a_mouth_narrower_than_its_least_width() -> None:
    pairs = slot(29.0, 40.0, 30.0)
    assert Search(plane=PLANE, pairs=pairs).way(0.0) is None
    # As if it were smaller by so much all round, it does.
    assert Search(plane=PLANE, pairs=pairs).fits(-6.0)


def test_room_is_kept_all_the_way() -> None:
    pairs = slot(40.0, 50.0, 2.0)
    search = Search(plane=PLANE, pairs=pairs)
    for room in (0.2, 0.5, 0.9):
        way = search.way(room)
        assert way is not None
        assert least(way, pairs) >= room - 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_random_ways_are_free(seed: int) -> None:
    """A board with two blocks on it among random ledges: what is found is free everywhere."""
    rng = random.Random(seed)
    found = 0
    for _ in range(3):
        length = rng.uniform(30, 60)
        parts = [rect(-length / 2, 0, length / 2, 2)]
        for _ in range(2):
            at = rng.uniform(-length / 2, length / 2 - 8)
            parts.append(rect(at, 2, at + rng.uniform(3, 8), rng.uniform(4, 15)))
        half = length / 2 + rng.uniform(1, 4)
        hurdles = [rect(-half - 5, -5, -half, 50), rect(half, -5, half + 5, 50),
                   rect(-half - 5, -9, half + 5, -2)]  # fmt: skip
        for side in (-1, 1):
            y, deep = rng.uniform(17, 40), rng.uniform(0, 12)
            x0, x1 = sorted((side * half, side * (half - deep)))
            hurdles.append(rect(x0, y, x1, y + 2))
        every = tuple(Pair(p, h) for p in parts for h in hurdles)
        pairs = needed(every)
        way = Search(plane=PLANE, pairs=pairs).way(0.0)
        assert Search(plane=PLANE, pairs=every).fits(0.0) is (way is not None)
        if way is not None:
            found += 1
            assert least(way, every) > 0
            assert way.stops[0] == Stop(0.0, 0.0, 0.0)
    assert found


def test_what_is_covered_by_others_is_left_out() -> None:
    large, small = rect(0, 0, 10, 10), rect(2, 2, 4, 4)
    wall, post = rect(20, 0, 30, 10), rect(22, 2, 24, 4)
    assert needed([Pair(large, wall), Pair(small, wall)]) == (Pair(large, wall),)
    assert needed([Pair(large, wall), Pair(large, post)]) == (Pair(large, wall),)
    lone = (Pair(large, post), Pair(small, wall))
    assert set(needed(lone)) == set(lone)
    assert needed([Pair(large, wall), Pair(large, wall)]) == (Pair(large, wall),)
    close = (Pair(large, wall), Pair(small, wall, close=True))
    assert set(needed(close)) == set(close)


def test_solids_move_as_their_outlines_do() -> None:
    shape, pose = Block(10, 4, 3), Pose((5.0, 2.0, 7.0))
    stop = Stop(3.0, -2.0, 30.0)
    moved = outline_in(PLANE, shape, at_stop(PLANE, stop, pose))
    flat = outline_in(PLANE, shape, pose)
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    turned = np.array(flat.points) @ np.array(((c, s), (-s, c))) + (3.0, -2.0)
    assert sorted(map(tuple, np.round(turned, 9))) == sorted(
        map(tuple, np.round(np.array(moved.points), 9))
    )
    assert (moved.low, moved.high) == pytest.approx((flat.low, flat.high))
    assert np.cross(pose.x, pose.y) == pytest.approx(np.array(pose.z))
