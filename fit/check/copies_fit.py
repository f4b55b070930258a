"""How well a group of screws finds its holes: the best way to lay one pattern of points on another.

A board is pushed about until its screws go in. What stays off then is the least possible largest
distance between the pairs, over all moves and small turns: a convex problem, so searching one
turn after another for the best move finds it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from fit.geometry.shapes import Point2

_TURNS = 18
"""Steps of the search for the best turn: it is closed in on to a thousandth."""

_SHARE = (math.sqrt(5.0) - 1.0) / 2.0

_SPARE = 1e-9


def middle_of(points: Sequence[Point2]) -> tuple[Point2, float]:
    """Middle and radius of the smallest circle round points.

    It is given by two of them, its ends, or by three on it: all are tried, which suits the few
    screws of a board.
    """
    best: tuple[Point2, float] = (points[0], math.inf)
    for p, q in combinations(points, 2):
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
        best = _better(best, middle, math.dist(p, q) / 2, points)
    if best[1] < math.inf:
        return best
    for p, q, r in combinations(points, 3):
        found = _through(p, q, r)
        if found is not None:
            best = _better(best, found, math.dist(found, p), points)
    if best[1] < math.inf:
        return best
    return points[0], max(math.dist(points[0], p) for p in points)


def _better(
    best: tuple[Point2, float], middle: Point2, radius: float, points: Sequence[Point2]
) -> tuple[Point2, float]:
    """The smaller circle, if it holds all points."""
    if radius >= best[1] or any(math.dist(middle, p) > radius + _SPARE for p in points):
        return best
    return middle, radius


def _through(p: Point2, q: Point2, r: Point2) -> Point2 | None:
    """Middle of the circle through three points; None where they lie in line."""
    bx, by, cx, cy = q[0] - p[0], q[1] - p[1], r[0] - p[0], r[1] - p[1]
    d = 2 * (bx * cy - by * cx)
    if abs(d) < 1e-15:
        return None
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    return p[0] + (cy * b2 - by * c2) / d, p[1] + (bx * c2 - cx * b2) / d


def least_misfit(wanted: Sequence[Point2], own: Sequence[Point2]) -> float:
    """The least possible largest distance of pairs of points, the one set moved and turned, mm.

    Turns are small (screw play allows a fraction of a degree): taken to first order.

    Args:
        wanted: where each point should come to lie.
        own: where the points are, in the same order.
    """
    if len(wanted) < 2:
        return 0.0
    off = [(w[0] - o[0], w[1] - o[1]) for w, o in zip(wanted, own, strict=True)]
    x, y = (sum(o[i] for o in own) / len(own) for i in (0, 1))
    arms = [(o[0] - x, o[1] - y) for o in own]
    size = max(math.hypot(*a) for a in arms)
    if size <= 0.0:
        return middle_of(off)[1]

    def left(turn: float) -> float:
        points = [(d[0] + turn * a[1], d[1] - turn * a[0]) for d, a in zip(off, arms, strict=True)]
        return middle_of(points)[1]

    # No turn helps that moves the outermost point further than the points are off already.
    most = 2.0 * left(0.0) / size
    low, high = -most, most
    a, b = high - _SHARE * (high - low), low + _SHARE * (high - low)
    at_a, at_b = left(a), left(b)
    for _ in range(_TURNS):
        if at_a < at_b:
            high, b, at_b = b, a, at_a
            a = high - _SHARE * (high - low)
            at_a = left(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + _SHARE * (high - low)
            at_b = left(b)
    return min(at_a, at_b)
