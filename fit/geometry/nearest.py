"""The nearest points of two free convex solids, by our own arithmetic.

The method is that of Gilbert, Johnson and Keerthi (IEEE Journal of Robotics and Automation 4,
1988), on the exact solids: at every step a point of each, and a plane between them, so that the
true distance is known to lie between two numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from fit.geometry.frames import Vec, cross, dot, norm, sub

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
    v = corner[0]
    size, lower, along = norm(v), -math.inf, first
    for _ in range(_ROUNDS):
        if size == 0.0:
            break
        line = (v[0] / size, v[1] / size, v[2] / size)
        corner = _corner(far_a, far_b, line)
        bound = dot(corner[0], line)
        if bound > lower:
            lower, along = bound, line
        if size - lower <= close_enough or any(corner[0] == c[0] for c, _ in held):
            break
        nearer = _closest((*(c for c, _ in held), corner))
        if len(nearer) == 4:
            held, size = nearer, 0.0
            break
        v = _mix(nearer, 0)
        closer = norm(v)
        if closer >= size:
            break
        held, size = nearer, closer
    return Between(lower=lower, upper=size, near_a=_mix(held, 1), near_b=_mix(held, 2), along=along)


def _corner(far_a: Support, far_b: Support, along: Vec) -> Corner:
    p, q = far_a(along), far_b((-along[0], -along[1], -along[2]))
    return sub(q, p), p, q


def _mix(held: Weighed, which: int) -> Vec:
    """The weighed point: of the difference (0), on a (1) or on b (2)."""
    x = y = z = 0.0
    for corner, share in held:
        p = corner[which]
        x, y, z = x + share * p[0], y + share * p[1], z + share * p[2]
    return x, y, z


def _closest(corners: tuple[Corner, ...]) -> Weighed:
    """The point of the corners' hull nearest to the origin, as the corners that carry it.

    The newest corner, the last, is always one of these: it lies nearer than the others' hull.
    """
    if len(corners) == 2:
        return _on_segment(*corners)
    if len(corners) == 3:
        return _on_triangle(*corners)
    return _in_tetrahedron(*corners)


def _on_segment(a: Corner, b: Corner) -> Weighed:
    """On the segment, or at ``b``, or at ``a``."""
    (px, py, pz), (qx, qy, qz) = a[0], b[0]
    ex, ey, ez = qx - px, qy - py, qz - pz
    length = ex * ex + ey * ey + ez * ez
    share = -(px * ex + py * ey + pz * ez) / length if length > 0.0 else 1.0
    if share >= 1.0:
        return ((b, 1.0),)
    if share <= 0.0:
        return ((a, 1.0),)
    return (a, 1.0 - share), (b, share)


def _on_triangle(a: Corner, b: Corner, c: Corner) -> Weighed:
    """Inside, or on one of the two edges that hold the newest corner ``c``.

    Shares are the areas over the three edges, the foot of the origin being seen along the normal
    (Ericson, section 3.4).
    """
    pa, pb, pc = a[0], b[0], c[0]
    normal = cross(sub(pa, pc), sub(pb, pc))
    size = dot(normal, normal)
    if size > 0.0:
        share_a = dot(cross(pb, pc), normal) / size
        share_b = dot(cross(pc, pa), normal) / size
        share_c = 1.0 - share_a - share_b
        if share_a > 0.0 and share_b > 0.0 and share_c > 0.0:
            return (a, share_a), (b, share_b), (c, share_c)
    return min((_on_segment(a, c), _on_segment(b, c)), key=_size)


def _in_tetrahedron(a: Corner, b: Corner, c: Corner, d: Corner) -> Weighed:
    """Inside, or on one of the three faces that hold the newest corner ``d``."""
    pd = d[0]
    da, db, dc = sub(a[0], pd), sub(b[0], pd), sub(c[0], pd)
    over_a, over_b, over_c = cross(db, dc), cross(dc, da), cross(da, db)
    volume = -dot(da, over_a)
    if volume != 0.0:
        share_a, share_b = dot(pd, over_a) / volume, dot(pd, over_b) / volume
        share_c = dot(pd, over_c) / volume
        share_d = 1.0 - share_a - share_b - share_c
        if share_a > 0.0 and share_b > 0.0 and share_c > 0.0 and share_d > 0.0:
            return (a, share_a), (b, share_b), (c, share_c), (d, share_d)
    faces = (_on_triangle(a, b, d), _on_triangle(a, c, d), _on_triangle(b, c, d))
    return min(faces, key=_size)


def _size(held: Weighed) -> float:
    x, y, z = _mix(held, 0)
    return x * x + y * y + z * z
