"""Poses: where one frame stands in another. The only transform type in the package."""

from __future__ import annotations

import math
from dataclasses import dataclass

Vec = tuple[float, float, float]
"""A point or direction, mm."""

X: Vec = (1.0, 0.0, 0.0)
Y: Vec = (0.0, 1.0, 0.0)
Z: Vec = (0.0, 0.0, 1.0)


def add(a: Vec, b: Vec) -> Vec:
    """Sum of two vectors."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def sub(a: Vec, b: Vec) -> Vec:
    """Difference of two vectors."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def scale(a: Vec, k: float) -> Vec:
    """A vector times a number."""
    return (a[0] * k, a[1] * k, a[2] * k)


def dot(a: Vec, b: Vec) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    """Vector product, right-handed."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def norm(a: Vec) -> float:
    """Length of a vector."""
    return math.sqrt(dot(a, a))


def unit(a: Vec) -> Vec:
    """The direction of a vector, length 1."""
    return scale(a, 1.0 / norm(a))


@dataclass(frozen=True, slots=True)
class Pose:
    """A right-handed frame standing in another: origin (mm) and its three unit axes.

    A point ``(u, v, w)`` of the frame lies at ``origin + u·x + v·y + w·z`` outside it.
    """

    origin: Vec = (0.0, 0.0, 0.0)
    x: Vec = X
    y: Vec = Y
    z: Vec = Z

    def point(self, p: Vec) -> Vec:
        """Where the frame's point ``p`` lies outside, mm."""
        o, a, b, c = self.origin, self.x, self.y, self.z
        return (
            o[0] + p[0] * a[0] + p[1] * b[0] + p[2] * c[0],
            o[1] + p[0] * a[1] + p[1] * b[1] + p[2] * c[1],
            o[2] + p[0] * a[2] + p[1] * b[2] + p[2] * c[2],
        )

    def inside(self, p: Vec) -> Vec:
        """The outside point ``p`` in this frame's own coordinates, mm."""
        q = sub(p, self.origin)
        return (dot(q, self.x), dot(q, self.y), dot(q, self.z))

    def shifted(self, d: Vec) -> Pose:
        """The same frame moved by ``d`` given in its own axes, mm."""
        return Pose(self.point(d), self.x, self.y, self.z)

    def moved(self, d: Vec) -> Pose:
        """The same frame moved by ``d`` given outside, mm."""
        return Pose(add(self.origin, d), self.x, self.y, self.z)

    def turned(self, degrees: float) -> Pose:
        """The frame turned about its own z axis, counter-clockwise seen from +z."""
        c, s = _cos_sin(degrees)
        return Pose(
            self.origin,
            add(scale(self.x, c), scale(self.y, s)),
            add(scale(self.y, c), scale(self.x, -s)),
            self.z,
        )

    def of(self, inner: Pose) -> Pose:
        """The pose ``inner``, given in this frame, as seen from outside this frame."""
        return Pose(
            self.point(inner.origin),
            self.direction(inner.x),
            self.direction(inner.y),
            self.direction(inner.z),
        )

    def direction(self, d: Vec) -> Vec:
        """Where the frame's direction ``d`` points outside."""
        a, b, c = self.x, self.y, self.z
        return (
            d[0] * a[0] + d[1] * b[0] + d[2] * c[0],
            d[0] * a[1] + d[1] * b[1] + d[2] * c[1],
            d[0] * a[2] + d[1] * b[2] + d[2] * c[2],
        )


def _cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at quarter turns."""
    quarter = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}
    if degrees % 360 in quarter:
        return quarter[int(degrees % 360)]
    return math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
