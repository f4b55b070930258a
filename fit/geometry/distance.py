"""How far apart two posed convex solids are, or how deep they sit in one another.

python-fcl is asked first, for free distances only: its answer comes as a point on each solid, and
is taken only when the exact extents of both solids along the line of these points prove it (of
random pairs it gets about one in twenty-five with a round bar wrong by more than 0.00001 mm, and
one in a few hundred boxes wrong by millimetres, with a point outside the box). What it cannot
answer, or gets wrong, is worked out here: overlap and its depth from the short list of directions
in :mod:`fit.geometry.overlap`, free distances with :mod:`fit.geometry.upright` and
:mod:`fit.geometry.nearest`. The sign always rests on exact extents along one direction, never on
what fcl says of overlap.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import fcl
import numpy as np

from fit.geometry.frames import Pose, Vec, add, norm, scale, sub
from fit.geometry.nearest import Between, nearest
from fit.geometry.overlap import quick_way, rim_way
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.skins import Flat, skin
from fit.geometry.support import (
    Bounds,
    axes,
    bounds,
    far_point,
    farthest,
    held_inside,
    polyhedron,
    reach,
    room,
)
from fit.geometry.upright import upright_points

TOUCHING = 1e-7
"""Gaps and depths up to this, mm, are touching and reported as exactly 0."""

PROVED = 1e-5
"""A free distance is taken once it is proved to this, mm."""

_DOUBTED = 1e-3
"""Distances below this, mm, give too short a line to take a direction from: done another way."""

_SHIFT = 1.0
"""How far touching solids are drawn apart, mm, to find where they meet."""

_ROUNDS = 20
"""How often two meeting points are brought together, one on the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """What lies between two solids a and b.

    ``mm`` above 0: they are free, and this far apart, right to 0.00002 mm. ``mm`` = 0: they touch,
    or are within 0.0000001 mm of it, on either side. Below 0: they overlap, and ``-mm`` is how far
    one must be moved along the best straight direction to be free: the least such move. Between
    round solids that stand neither square nor parallel to the other it is found by a search;
    should that miss the best direction, the depth comes out too great, never too small.

    ``near_a`` and ``near_b`` are the points of the two solids nearest to each other, or, where
    they overlap, the points that would meet if they were moved just free; right to 0.002 mm.
    ``along`` is the unit direction from a to b in which the gap is measured: moving b by ``-mm``
    along it frees an overlapping pair. Ties (a bar in the middle of a hole) give one of the equal
    answers.
    """

    mm: float
    near_a: Vec
    near_b: Vec
    along: Vec


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """A posed solid with what measuring it needs, so that a scene readies each body once."""

    shape: Shape
    pose: Pose
    box: Bounds
    body: fcl.CollisionObject | None


def prepare(shape: Shape, pose: Pose) -> Prepared:
    """Ready a solid for measuring. The pose's axes must be unit and square to each other."""
    geometry = _geometry(shape)
    body = None
    if geometry is not None:
        # fcl takes the axes as the columns of its matrix
        body = fcl.CollisionObject(geometry, fcl.Transform(axes(pose).T, np.array(pose.origin)))
    return Prepared(shape=shape, pose=pose, box=bounds(shape, pose), body=body)


def moved(solid: Prepared, pose: Pose) -> Prepared:
    """The same solid in another pose."""
    return prepare(solid.shape, pose)


@lru_cache(maxsize=4096)
def _geometry(shape: Shape) -> fcl.CollisionGeometry | None:
    """The solid fcl knows for a shape; None for cones, which it only knows pointed."""
    if isinstance(shape, Block):
        return fcl.Box(shape.dx, shape.dy, shape.dz)
    if isinstance(shape, Cylinder):
        return fcl.Cylinder(shape.radius, shape.height)
    if isinstance(shape, Cone):
        return None
    return _convex(shape)


def _convex(shape: Prism) -> fcl.Convex:
    """A prism for fcl: faces counter-clockwise seen from outside, each led by its corner count."""
    count = len(shape.outline)
    faces = [count, *range(count - 1, -1, -1), count, *range(count, 2 * count)]
    for i in range(count):
        j = (i + 1) % count
        faces += [4, i, j, j + count, i + count]
    return fcl.Convex(polyhedron(shape).points, count + 2, np.array(faces))


def gap(a: Shape, pose_a: Pose, b: Shape, pose_b: Pose) -> Gap:
    """The gap between two posed solids. See :class:`Gap`."""
    return gap_between(prepare(a, pose_a), prepare(b, pose_b))


def gap_between(a: Prepared, b: Prepared) -> Gap:
    """The gap between two readied solids. See :class:`Gap`."""
    free = _asked(a, b)
    if free is not None and free.upper > _DOUBTED:
        if not _proved(free):
            free = _worked(a, b, free.along)
    elif (a.body is None or b.body is None) and box_gap(a.box, b.box) > _DOUBTED:
        free = _worked(a, b, _middles(a, b))
    else:
        return _close(a, b)
    return _free(free) if _proved(free) else _close(a, b)


def too_near(a: Shape, pose_a: Pose, b: Shape, pose_b: Pose, need: float) -> bool:
    """Whether two posed solids are less than ``need`` mm apart (or overlap)."""
    return too_near_between(prepare(a, pose_a), prepare(b, pose_b), need)


def too_near_between(a: Prepared, b: Prepared, need: float) -> bool:
    """Whether two readied solids are less than ``need`` mm apart (or overlap)."""
    if box_gap(a.box, b.box) >= max(need, TOUCHING):
        return False
    return gap_between(a, b).mm < need


def box_gap(a: Bounds, b: Bounds) -> float:
    """The distance between two upright boxes, mm; 0 if they meet. Never above the solids' own."""
    squares = 0.0
    for low_a, high_a, low_b, high_b in zip(*a, *b, strict=True):
        apart = low_b - high_a if low_b > high_a else low_a - high_b
        if apart > 0.0:
            squares += apart * apart
    return math.sqrt(squares)


def _middles(a: Prepared, b: Prepared) -> Vec:
    """The line between the two middles as a first guess; any direction where they coincide."""
    apart = sub(b.pose.origin, a.pose.origin)
    size = norm(apart)
    return scale(apart, 1.0 / size) if size > 0.0 else a.pose.z


def _proved(free: Between) -> bool:
    """Whether two solids are free beyond doubt, and by how much."""
    return free.lower > TOUCHING and free.upper - free.lower <= PROVED


def _free(found: Between) -> Gap:
    """A proved distance. The lower number is given: too little room, not too much."""
    return Gap(mm=found.lower, near_a=found.near_a, near_b=found.near_b, along=found.along)


def _close(a: Prepared, b: Prepared) -> Gap:
    """The gap where fcl is of no use: touching, overlapping, all but touching."""
    skin_a, skin_b = skin(a.shape, a.pose), skin(b.shape, b.pose)
    least, along = quick_way(skin_a, skin_b)
    found = _where(a, b, least, along)
    flat = isinstance(skin_a, Flat) and isinstance(skin_b, Flat)
    if _settled(a, b, found) or (flat and least <= TOUCHING):
        return _rounded(found)
    free = _worked(a, b, along)
    if _proved(free):
        return _free(free)
    if least <= TOUCHING and not flat:
        way = rim_way(skin_a, skin_b, max(-least, free.upper))
        if way is not None and way[0] > least:
            least, along = way
            found = _where(a, b, least, along)
    if max(least, free.lower) <= TOUCHING or _settled(a, b, found):
        return _rounded(found)
    return _corner_to_corner(least, free)


def _corner_to_corner(least: float, free: Between) -> Gap:
    """The distance of solids that are free, nearest along a line too short to prove it by.

    Where the points are so near that their distance hardly matters it is given as it is.
    """
    mm = free.upper if 0.0 < free.upper <= 2 * PROVED else max(least, free.lower)
    return Gap(mm=mm, near_a=free.near_a, near_b=free.near_b, along=free.along)


def _settled(a: Prepared, b: Prepared, found: Between) -> bool:
    """Whether no other direction can be better, by the points where the two meet.

    Free solids: the points are as far apart as the direction proves. Overlapping ones: a ball of
    the depth's radius about the one's point lies in the other, so no shorter move frees them.
    """
    if found.lower > TOUCHING:
        return found.upper - found.lower <= PROVED
    ball = max(room(a.shape, a.pose, found.near_b), room(b.shape, b.pose, found.near_a))
    return ball >= -found.lower - TOUCHING / 10


def _rounded(found: Between) -> Gap:
    """A gap or depth, with what counts as touching put to 0."""
    mm = 0.0 if abs(found.lower) <= TOUCHING else found.lower
    return Gap(mm=mm, near_a=found.near_a, near_b=found.near_b, along=found.along)


def _where(a: Prepared, b: Prepared, depth: float, along: Vec) -> Between:
    """Where the two meet once b is moved along the direction by the gap, as they stand now.

    Most often a corner or rim point of the one meets a face of the other. If not, they are drawn
    apart and asked for their nearest points.
    """
    step = scale(along, depth)
    far_b = far_point(b.shape, b.pose, scale(along, -1.0))
    found = _brought_together(a, b, sub(far_b, step), step, 1)
    if _beside(found, step) > TOUCHING / 10:
        found = _brought_together(a, b, far_point(a.shape, a.pose, along), step, 1)
    if _beside(found, step) > TOUCHING / 10:
        drawn = moved(b, b.pose.moved(scale(along, _SHIFT - depth)))
        apart = _asked(a, drawn)
        if apart is None or apart.upper - apart.lower > PROVED:
            apart = _worked(a, drawn, along)
        found = _brought_together(a, b, apart.near_a, step, _ROUNDS)
    near_a, near_b = found
    upper = norm(sub(near_b, near_a))
    return Between(lower=depth, upper=upper, near_a=near_a, near_b=near_b, along=along)


def _brought_together(
    a: Prepared, b: Prepared, near_a: Vec, step: Vec, rounds: int
) -> tuple[Vec, Vec]:
    """Points of a and b that lie the step apart, or nearly, from a first guess of a's.

    Where both solids are round the nearest points fcl gives may lie a thousandth of a millimetre
    to the side of one another: each is put on its solid in turn.
    """
    for _ in range(rounds):
        near_a = held_inside(a.shape, a.pose, near_a)
        near_b = held_inside(b.shape, b.pose, add(near_a, step))
        if _beside((near_a, near_b), step) <= TOUCHING / 10:
            break
        near_a = sub(near_b, step)
    return held_inside(a.shape, a.pose, near_a), near_b


def _beside(found: tuple[Vec, Vec], step: Vec) -> float:
    """How far two points are from lying just the step apart, mm."""
    return norm(sub(found[1], add(found[0], step)))


def _asked(a: Prepared, b: Prepared) -> Between | None:
    """The nearest points fcl gives, with exact bounds; None where it sees no gap."""
    if a.body is None or b.body is None:
        return None
    answer = fcl.DistanceResult()
    if fcl.distance(a.body, b.body, _request(), answer) <= 0.0:
        return None
    p, q = answer.nearest_points
    near_a = held_inside(a.shape, a.pose, (float(p[0]), float(p[1]), float(p[2])))
    near_b = held_inside(b.shape, b.pose, (float(q[0]), float(q[1]), float(q[2])))
    return _between(a, b, near_a, near_b)


def _between(a: Prepared, b: Prepared, near_a: Vec, near_b: Vec) -> Between | None:
    """What two points prove of a distance, by the exact extents along their line."""
    apart = sub(near_b, near_a)
    upper = norm(apart)
    if upper == 0.0:
        return None
    along = scale(apart, 1.0 / upper)
    lower = -reach(b.shape, b.pose, scale(along, -1.0)) - reach(a.shape, a.pose, along)
    return Between(lower=lower, upper=upper, near_a=near_a, near_b=near_b, along=along)


@lru_cache(maxsize=1)
def _request() -> fcl.DistanceRequest:
    """Unsigned: with signed distances on, fcl gives wrong depths and can end the process."""
    return fcl.DistanceRequest(enable_nearest_points=True, enable_signed_distance=False)


def _worked(a: Prepared, b: Prepared, first: Vec) -> Between:
    """Nearest points by our own arithmetic."""
    points = upright_points(a.shape, a.pose, b.shape, b.pose)
    short = None if points is None else _between(a, b, *points)
    if short is not None and _proved(short):
        return short
    return nearest(farthest(a.shape, a.pose), farthest(b.shape, b.pose), first, PROVED / 100)
