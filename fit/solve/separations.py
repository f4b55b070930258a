"""Along which directions two rounded boxes are apart, and by how much: whole numbers only."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cache

from fit.solve.problem import Box, Ints, Metric, Wall

_FINE = 1000
_AROUND = 16


@dataclass(frozen=True, slots=True)
class Direction:
    """A direction in whole numbers and its length, rounded up so gaps are never overstated.

    For `Metric.LOOSE` the length is shortened instead, so gaps are never understated.
    """

    normal: Ints
    scale: int


def scale_of(normal: Ints) -> int:
    """The length of a whole-number vector, rounded up."""
    square = sum(n * n for n in normal)
    root = math.isqrt(square)
    return root if root * root == square else root + 1


@cache
def directions(metric: Metric, axes: int, level: int | None = None) -> tuple[Direction, ...]:
    """The directions two boxes may be apart along, each with its opposite.

    A gap along a direction is a lower bound of the straight distance (the boxes' supporting
    planes are that far apart); the largest over the 16 directions of a plane is at least
    cos(11.25°) = 98.1 % of it: cores that are apart in both axes are nearest at two corners, and
    the directions of the same quadrant see just these. With three axes the best of the three
    planes sees at least √(2/3) of that, 80.0 %.

    Args:
        metric: how gaps are measured.
        axes: 2 or 3.
        level: for `Metric.LOOSE` an axis along which the two are never apart: the plane of the
            other two then sees it all.
    """
    plane = metric is Metric.LOOSE and level is not None
    # 0.001 less, for the rounding of the directions.
    least = (math.cos(math.pi / _AROUND) - 0.001) * (
        math.sqrt(2 / 3) if axes == 3 and not plane else 1.0
    )
    units = [tuple(int(i == axis) for i in range(axes)) for axis in range(axes)]
    found = [Direction(u, 1) for u in (*units, *(tuple(-n for n in u) for u in units))]
    if metric is Metric.AXIS:
        return tuple(found)
    if metric is Metric.LOOSE:
        found = [
            Direction(tuple(_FINE * n for n in d.normal), math.floor(_FINE * least)) for d in found
        ]
    for one, two in itertools.combinations(range(axes), 2):
        if plane and level in (one, two):
            continue
        for k in range(_AROUND):
            if k % (_AROUND // 4) == 0:
                continue
            angle = 2 * math.pi * k / _AROUND
            normal = [0] * axes
            normal[one] = round(_FINE * math.cos(angle))
            normal[two] = round(_FINE * math.sin(angle))
            scale = scale_of(tuple(normal))
            if metric is Metric.LOOSE:
                scale = math.floor(math.hypot(*normal) * least)
            found.append(Direction(tuple(normal), scale))
    return tuple(found)


def back_of(way: Direction) -> Direction:
    """The opposite direction."""
    return Direction(tuple(-n for n in way.normal), way.scale)


def reach(box: Box, normal: Ints, scale: int) -> int:
    """How far a box reaches along `normal` from its reference point, times `scale`.

    `scale` is at least the length of `normal`; rounding it up makes a swell larger: safe.
    """
    core = sum(n * (b if n > 0 else a) for n, a, b in zip(normal, box.low, box.high, strict=True))
    return core + swells_by(Direction(normal, scale), box.round) * box.swell


def swells_by(way: Direction, about: int | None) -> int:
    """How far a swell of one step about an axis (None: every way) reaches along a direction.

    Times the direction's scale.
    """
    if about is None:
        return way.scale
    return min(way.scale, scale_of(tuple(0 if k == about else n for k, n in enumerate(way.normal))))


def apart(a: Box, at_a: Ints, b: Box, at_b: Ints, way: Direction) -> int:
    """The gap from `a` to `b` along one direction, times its scale; negative if they overlap."""
    moved = sum(n * (q - p) for n, p, q in zip(way.normal, at_a, at_b, strict=True))
    back = tuple(-n for n in way.normal)
    return moved - reach(a, way.normal, way.scale) - reach(b, back, way.scale)


def inside(wall: Wall, box: Box, at: Ints) -> int:
    """How far a box stays behind a wall, less the gap needed, times the wall's scale."""
    scale = scale_of(wall.normal)
    moved = sum(n * p for n, p in zip(wall.normal, at, strict=True))
    return wall.offset - moved - reach(box, wall.normal, scale) - scale * wall.need


def bounds(box: Box) -> tuple[Ints, Ints]:
    """The upright box round a rounded box."""
    return (
        tuple(v - box.swells(k) for k, v in enumerate(box.low)),
        tuple(v + box.swells(k) for k, v in enumerate(box.high)),
    )
