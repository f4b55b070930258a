"""Convex outlines with round corners: how much one holds another, how far apart two are.

A circle is a point and a radius, a slot with round ends a line and a radius, a rectangle four
corners and the radius they are rounded by (the corners drawn in by as much). What is said of two
of them is exact: for convex outlines it is all in how far each reaches in each direction (its
support function), and that changes only at the sides' normals.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point2 = tuple[float, float]

_SAME = 1e-12


@dataclass(frozen=True, slots=True)
class Rounded:
    """Points in the order of a convex polygon, grown all round by a radius, mm."""

    points: tuple[Point2, ...]
    radius: float = 0.0

    def reach(self, nx: float, ny: float) -> float:
        """How far it reaches along a unit direction from the origin, mm."""
        return max(x * nx + y * ny for x, y in self.points) + self.radius

    def room_in(self, outer: Rounded) -> float:
        """By how much it could grow all round and still lie within another, mm.

        Below 0: how far it sticks out of it where it does so most.
        """
        ways = [*_normals(self.points), *_normals(outer.points)]
        ways += _towards(outer.points, self.points)
        return min(outer.reach(nx, ny) - self.reach(nx, ny) for nx, ny in ways or [(1.0, 0.0)])

    def apart(self, other: Rounded) -> float:
        """The distance between two, mm; below 0: the shortest move that parts them."""
        ways = [*_normals(self.points), *((-x, -y) for x, y in _normals(other.points))]
        ways += _towards(self.points, other.points)
        gaps = (-other.reach(-nx, -ny) - self.reach(nx, ny) for nx, ny in ways or [(1.0, 0.0)])
        return max(gaps)


def upright_box(
    centre: Point2, width: float, height: float, turn: float = 0.0, radius: float = 0.0
) -> Rounded:
    """A rectangle about a centre, turned by degrees, its corners rounded; a slot at the most."""
    r = min(radius, width / 2, height / 2)
    w, h = width / 2 - r, height / 2 - r
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corners = ((-w, -h), (w, -h), (w, h), (-w, h))
    placed = ((centre[0] + x * c - y * s, centre[1] + x * s + y * c) for x, y in corners)
    return Rounded(tuple(dict.fromkeys(placed)), r)


def _normals(points: Sequence[Point2]) -> Iterator[Point2]:
    """Unit normals of the sides, both ways: which way round the points go does not matter."""
    for (ax, ay), (bx, by) in pairwise((*points, points[0])):
        length = math.hypot(bx - ax, by - ay)
        if length > _SAME:
            nx, ny = (by - ay) / length, (ax - bx) / length
            yield nx, ny
            yield -nx, -ny


def _towards(ours: Sequence[Point2], theirs: Sequence[Point2]) -> Iterator[Point2]:
    """Unit directions from each of our points to each of theirs."""
    for ax, ay in ours:
        for bx, by in theirs:
            length = math.hypot(bx - ax, by - ay)
            if length > _SAME:
                yield (bx - ax) / length, (by - ay) / length
