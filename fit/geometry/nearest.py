"""The nearest points of two free convex solids, by our own arithmetic.

The method is that of Gilbert, Johnson and Keerthi (IEEE Journal of Robotics and Automation 4,
1988), on the exact solids: at every step a point of each, and a plane between them, so that the
true distance is known to lie between two numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fit.geometry.frames import Vec, cross, dot, norm, scale, sub

Support = Callable[[Vec], Vec]
"""A solid's farthest point along a direction of any length."""

_ROUNDS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Between:
    """What is known of a distance: a point on each solid, and a plane that parts them.

    ``upper`` is the distance of the points, ``lower`` the gap along the unit direction ``along``
    from a to b; the true distance lies between. ``lower`` below 0 proves nothing.
    """

    lower: float
    upper: float
    near_a: Vec
    near_b: Vec
    along: Vec


Corner = tuple[Vec, Vec, Vec]
"""A point of b minus a point of a, and those two points."""

Weighed = tuple[tuple[Corner, float], ...]
"""Corners and their shares, all above 0, summing to 1."""


def nearest(far_a: Support, far_b: Support, first: Vec, close_enough: float) -> Between:
    """Nearest points of two solids given by their supports, mm.

    ``first`` is a guess of the direction from a to b (not zero). Stops once the distance is known
    to ``close_enough``, or nothing is gained any more; ``upper`` is 0 if the solids share a point.
    """
    corner = _corner(far_a, far_b, first)
    held: Weighed = ((corner, 1.0),)
    best = Between(lower=-1.0, upper=norm(corner[0]), near_a=corner[1], near_b=corner[2],
                   along=first)
    for _ in range(_ROUNDS):
        size = best.upper
        v = _mix(held, 0)
        if size == 0.0:
            break
        along = scale(v, 1.0 / size)
        corner = _corner(far_a, far_b, along)
        best = _tighter(best, dot(corner[0], along), along)
        if size - best.lower <= close_enough or any(corner[0] == c[0] for c, _ in held):
            break
        held = _closest((*(c for c, _ in held), corner))
        upper = norm(_mix(held, 0)) if len(held) < 4 else 0.0
        if upper >= size:
            break
        best = Between(lower=best.lower, upper=upper, near_a=_mix(held, 1), near_b=_mix(held, 2),
                       along=best.along)
    return best


def _corner(far_a: Support, far_b: Support, along: Vec) -> Corner:
    p, q = far_a(along), far_b(scale(along, -1.0))
    return sub(q, p), p, q


def _tighter(best: Between, lower: float, along: Vec) -> Between:
    if lower <= best.lower:
        return best
    return Between(lower=lower, upper=best.upper, near_a=best.near_a, near_b=best.near_b,
                   along=along)


def _mix(held: Weighed, which: int) -> Vec:
    """The weighed point: of the difference (0), on a (1) or on b (2)."""
    x = y = z = 0.0
    for corner, share in held:
        p = corner[which]
        x, y, z = x + share * p[0], y + share * p[1], z + share * p[2]
    return x, y, z


def _closest(corners: tuple[Corner, ...]) -> Weighed:
    """The point of the corners' hull nearest to the origin, as the corners that carry it."""
    if len(corners) == 2:
        return _on_segment(*corners)
    if len(corners) == 3:
        return _on_triangle(*corners)
    return _in_tetrahedron(*corners)


def _on_segment(a: Corner, b: Corner) -> Weighed:
    edge = sub(b[0], a[0])
    length = dot(edge, edge)
    share = -dot(a[0], edge) / length if length > 0.0 else 0.0
    if share <= 0.0:
        return ((a, 1.0),)
    if share >= 1.0:
        return ((b, 1.0),)
    return (a, 1.0 - share), (b, share)


def _on_triangle(a: Corner, b: Corner, c: Corner) -> Weighed:
    """By the regions of a triangle's corners, edges and inside (Ericson, section 5.1.5)."""
    ab, ac = sub(b[0], a[0]), sub(c[0], a[0])
    normal = cross(ab, ac)
    size = dot(normal, normal)
    if size > 0.0:
        # shares from the areas over the three edges, the foot of the origin being seen along
        # the normal
        share_c = dot(cross(a[0], b[0]), normal) / size
        share_b = dot(cross(c[0], a[0]), normal) / size
        share_a = 1.0 - share_b - share_c
        if share_a > 0.0 and share_b > 0.0 and share_c > 0.0:
            return (a, share_a), (b, share_b), (c, share_c)
    return min((_on_segment(a, b), _on_segment(a, c), _on_segment(b, c)), key=_size)


def _in_tetrahedron(a: Corner, b: Corner, c: Corner, d: Corner) -> Weighed:
    """Inside, or on one of the three faces that hold the newest corner ``d``."""
    da, db, dc = sub(a[0], d[0]), sub(b[0], d[0]), sub(c[0], d[0])
    volume = dot(da, cross(db, dc))
    if volume != 0.0:
        out = scale(d[0], -1.0)
        share_a = dot(out, cross(db, dc)) / volume
        share_b = dot(out, cross(dc, da)) / volume
        share_c = dot(out, cross(da, db)) / volume
        share_d = 1.0 - share_a - share_b - share_c
        if min(share_a, share_b, share_c, share_d) > 0.0:
            return (a, share_a), (b, share_b), (c, share_c), (d, share_d)
    return min((_on_triangle(a, b, d), _on_triangle(a, c, d), _on_triangle(b, c, d)), key=_size)


def _size(held: Weighed) -> float:
    v = _mix(held, 0)
    return dot(v, v)


