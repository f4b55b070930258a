"""A solid as a few upright boxes: some that hold all of it, some that are all within it.

The first make the safe question (what fits, fits), the second the loose one (what is impossible
there, is impossible). A round bar across an axis is stepped three times, so that a box's corner
stands out of it by at most 22 % of its radius; a tapered post is cut into slices.
"""

from __future__ import annotations

import itertools
import math

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import Bounds, bounds

_AROUND = ((1.0, 0.5), (math.cos(math.radians(30)), math.cos(math.radians(30))), (0.5, 1.0))
"""Half sizes of three boxes that hold a disc of radius 1: its points at 0, 30, 60 and 90°."""

_WITHIN = tuple((math.cos(math.radians(d)), math.sin(math.radians(d))) for d in (25, 45, 65))
"""Half sizes of three boxes within a disc of radius 1."""

_SLICES = 4
"""A tapered solid is cut into this many slices along its axis."""

_TAPER = 0.05
"""Cones that taper by less than this, mm, are taken as bars."""


def around(shape: Shape, pose: Pose) -> tuple[Bounds, ...]:
    """Upright boxes that together hold a posed solid, mm."""
    if isinstance(shape, Block | Prism):
        return (bounds(shape, pose),)
    found: list[Bounds] = []
    for radius, low, high in slices(shape):
        half = (high - low) / 2
        middle = pose.shifted((0.0, 0.0, (low + high) / 2))
        for w, h in _AROUND:
            found.append(bounds(Block(2 * radius * w, 2 * radius * h, 2 * half), middle))
    return tuple(found)


def within(shape: Shape, pose: Pose) -> tuple[Bounds, ...]:
    """Upright boxes that lie wholly within a posed solid, mm; none for odd shapes."""
    if isinstance(shape, Block):
        return inner_box(shape, pose)
    if isinstance(shape, Prism):
        return ()
    found: list[Bounds] = []
    radius = min(r for r, _, _ in _ends(shape))
    for w, h in _WITHIN:
        found += inner_box(Block(2 * radius * w, 2 * radius * h, shape.height), pose)
    return tuple(found)


def _ends(shape: Cylinder | Cone) -> tuple[tuple[float, float, float], ...]:
    h = shape.height / 2
    if isinstance(shape, Cylinder):
        return ((shape.radius, -h, h),)
    return ((shape.radius_low, -h, h), (shape.radius_high, -h, h))


def slices(shape: Cylinder | Cone, *, least: bool = False) -> list[tuple[float, float, float]]:
    """Bars that hold a round solid, or lie within it: radius, from and to along its axis, mm."""
    h, of = shape.height / 2, min if least else max
    if isinstance(shape, Cylinder):
        return [(shape.radius, -h, h)]
    low, high = shape.radius_low, shape.radius_high
    if abs(high - low) < _TAPER:
        return [(of(low, high), -h, h)]
    cuts = [k / _SLICES for k in range(_SLICES + 1)]
    return [
        (
            of(low + (high - low) * a, low + (high - low) * b),
            -h + shape.height * a,
            -h + shape.height * b,
        )
        for a, b in itertools.pairwise(cuts)
    ]


def main_of(axis: Vec) -> int:
    """The axis of the box frame that a direction runs along most."""
    sizes = [abs(c) for c in axis]
    return sizes.index(max(sizes))


def inner_box(shape: Block, pose: Pose) -> tuple[Bounds, ...]:
    """The upright box within a block that leans a little: each half less what the others tilt.

    A point p of the box lies in the block when ``Σ |axis·e_k| p_k`` stays within each half size;
    the box keeps the block's own half sizes less the largest that the other axes can add.
    """
    halves = (shape.dx / 2, shape.dy / 2, shape.dz / 2)
    axes = (pose.x, pose.y, pose.z)
    order = [main_of(axis) for axis in axes]
    if sorted(order) != [0, 1, 2]:
        return ()
    sizes = [0.0, 0.0, 0.0]
    for own, half in zip(order, halves, strict=True):
        sizes[own] = half
    kept = list(sizes)
    for axis, own in zip(axes, order, strict=True):
        others = sum(abs(axis[k]) * sizes[k] for k in range(3) if k != own)
        kept[own] = (sizes[own] - others) / abs(axis[own])
    if min(kept) <= 0.0:
        return ()
    o = pose.origin
    low: Vec = (o[0] - kept[0], o[1] - kept[1], o[2] - kept[2])
    high: Vec = (o[0] + kept[0], o[1] + kept[1], o[2] + kept[2])
    return ((low, high),)
