"""The nearest points of two free solids that stand parallel, one of them round: a short way.

Posts, nuts, buttons and boards nearly always stand so. The round solid is cut open along the half
plane from its axis to the nearest point of the other. In this plane, as (distance from the axis,
height along it), the round one is a flank between two flat ends and the other a straight edge;
of these an end of one is always among the nearest points.
"""

from __future__ import annotations

import math

from fit.geometry.frames import Pose, Vec, dot
from fit.geometry.shapes import Cone, Cylinder, Point2, Shape
from fit.geometry.support import height_of, held_inside, rims

_PARALLEL = 1e-12
"""Axes are parallel when the cosine between them is nearer to 1 than this."""


def upright_points(a: Shape, pose_a: Pose, b: Shape, pose_b: Pose) -> tuple[Vec, Vec] | None:
    """The nearest points of a and b, mm; None unless their axes are parallel and one is round.

    What comes of solids that overlap, or of a cone that reaches past the other's axis, means
    nothing: prove the distance by the solids' extents.
    """
    if 1.0 - abs(dot(pose_a.z, pose_b.z)) > _PARALLEL:
        return None
    if isinstance(a, Cylinder | Cone):
        return _round_first(a, pose_a, b, pose_b)
    if isinstance(b, Cylinder | Cone):
        near_b, near_a = _round_first(b, pose_b, a, pose_a)
        return near_a, near_b
    return None


def _round_first(a: Cylinder | Cone, pose_a: Pose, b: Shape, pose_b: Pose) -> tuple[Vec, Vec]:
    (low, r_low), (high, r_high) = rims(a)
    ends = ((r_low, low), (r_high, high))
    (x, y), edge = _edge(b, pose_b, pose_a)
    tries = [(_on_line(ends, p), p) for p in edge]
    tries += [((min(p[0], r), z), p) for p in edge for r, z in ends]
    tries += [(p, _on_line(edge, p)) for p in ends]
    (r_a, z_a), (r_b, z_b) = min(tries, key=lambda t: math.dist(*t))
    return (
        pose_a.point((x * r_a, y * r_a, z_a)),
        pose_a.point((x * r_b, y * r_b, z_b)),
    )


def _edge(b: Shape, pose_b: Pose, pose_a: Pose) -> tuple[Point2, tuple[Point2, Point2]]:
    """The direction from a's axis to the nearest point of b, and b's edge there: ends (r, z)."""
    if isinstance(b, Cylinder | Cone):
        facing, (r_low, r_high) = pose_b.origin, (r for _, r in rims(b))
    else:
        level = pose_a.point((0.0, 0.0, pose_a.inside(pose_b.origin)[2]))
        facing, (r_low, r_high) = held_inside(b, pose_b, level), (0.0, 0.0)
    x, y, z = pose_a.inside(facing)
    away = math.hypot(x, y)
    half = math.copysign(height_of(b) / 2, dot(pose_a.z, pose_b.z))
    edge = ((max(away - r_low, 0.0), z - half), (max(away - r_high, 0.0), z + half))
    return (x / (away or 1.0), y / (away or 1.0)), edge


def _on_line(line: tuple[Point2, Point2], point: Point2) -> Point2:
    """The point of a straight edge nearest to a point."""
    (px, py), (qx, qy) = line
    ex, ey = qx - px, qy - py
    share = ((point[0] - px) * ex + (point[1] - py) * ey) / (ex * ex + ey * ey)
    share = min(max(share, 0.0), 1.0)
    return px + share * ex, py + share * ey
