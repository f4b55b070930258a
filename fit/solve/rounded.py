"""A solid as upright boxes rounded about one axis: much closer to it than plain boxes are.

`outer` holds all of a solid, `inner` is all within it. A bar along an axis of the box frame is
just one of them; one that leans is cut into slices, so that each strays from it by little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Prism, Shape
from fit.geometry.support import bounds
from fit.solve.upright import inner_box, main_of, slices

_STRAY = 0.12
"""A leaning solid is sliced until a slice strays by no more than this, mm …"""

_MOST = 6
"""… but into no more than so many slices."""


@dataclass(frozen=True, slots=True)
class Round:
    """An upright box `low` to `high`, rounded by `radius` across `axis`; without: a plain box.

    The solid is all that is within `radius` of the box in the plane square to the axis, mm.
    """

    low: Vec
    high: Vec
    radius: float = 0.0
    axis: int | None = None


@lru_cache(maxsize=20_000)
def outer(shape: Shape, pose: Pose) -> tuple[Round, ...]:
    """Rounded boxes that together hold a posed solid, mm."""
    if isinstance(shape, Prism):
        return (_plain(shape, pose),)
    if isinstance(shape, Block):
        return tuple(_plain(*part) for part in _cut_block(shape, pose))
    found = []
    for radius, low, high in slices(shape):
        for a, b in _cut(low, high, pose):
            found.append(_bar(radius, a, b, pose))
    return tuple(found)


@lru_cache(maxsize=20_000)
def inner(shape: Shape, pose: Pose) -> tuple[Round, ...]:
    """Rounded boxes that lie wholly within a posed solid, mm; none for odd shapes."""
    if isinstance(shape, Prism):
        return ()
    if isinstance(shape, Block):
        return tuple(
            Round(low, high)
            for part in _cut_block(shape, pose)
            for low, high in inner_box(part[0], part[1])
        )
    ends = slices(shape, least=True)
    found = []
    for radius, low, high in ends:
        for a, b in _cut(low, high, pose):
            found += _bar_within(radius, a, b, pose)
    return tuple(found)


def _plain(shape: Shape, pose: Pose) -> Round:
    low, high = bounds(shape, pose)
    return Round(low, high)


def _cut(low: float, high: float, pose: Pose) -> list[tuple[float, float]]:
    """A bar's stretch in pieces that stray little from an upright one."""
    axis = pose.z
    lean = math.sqrt(max(0.0, 1.0 - axis[main_of(axis)] ** 2))
    count = min(_MOST, max(1, math.ceil((high - low) * lean / (2 * _STRAY) - 1e-9)))
    size = (high - low) / count
    return [(low + n * size, low + (n + 1) * size) for n in range(count)]


def _bar(radius: float, low: float, high: float, pose: Pose) -> Round:
    """What holds a piece of a bar: its middle line's box, and its radius."""
    axis, half = pose.z, (high - low) / 2
    main = main_of(axis)
    middle = pose.shifted((0.0, 0.0, (low + high) / 2)).origin
    lean = math.sqrt(max(0.0, 1.0 - axis[main] ** 2))
    size = [half * abs(c) for c in axis]
    size[main] += radius * lean
    return _about(middle, size, radius, main)


def _bar_within(radius: float, low: float, high: float, pose: Pose) -> list[Round]:
    """An upright bar within a piece of one that leans."""
    axis, half = pose.z, (high - low) / 2
    main = main_of(axis)
    middle = pose.shifted((0.0, 0.0, (low + high) / 2)).origin
    lean = math.sqrt(max(0.0, 1.0 - axis[main] ** 2))
    # No point of an upright bar of half height h and radius r is further than h·a_m + r·s along
    # the true axis, nor further than r + h·s from it.
    thin = radius - half * lean
    if thin <= 0.0:
        return []
    tall = min(half, (half - thin * lean) / abs(axis[main]))
    if tall <= 0.0:
        return []
    size = [0.0, 0.0, 0.0]
    size[main] = tall
    return [_about(middle, size, thin, main)]


def _about(middle: Vec, size: list[float], radius: float, axis: int) -> Round:
    low = tuple(m - s for m, s in zip(middle, size, strict=True))
    high = tuple(m + s for m, s in zip(middle, size, strict=True))
    return Round(low, high, radius, axis)  # type: ignore[arg-type]


def _cut_block(shape: Block, pose: Pose) -> list[tuple[Block, Pose]]:
    """A block that leans, cut across the side along which that makes it stray the most."""
    sizes = [shape.dx, shape.dy, shape.dz]
    axes = (pose.x, pose.y, pose.z)
    leans = [math.sqrt(max(0.0, 1.0 - a[main_of(a)] ** 2)) for a in axes]
    if max(leans) > 0.3:
        return [(shape, pose)]
    stray = [size * lean / 2 for size, lean in zip(sizes, leans, strict=True)]
    k = stray.index(max(stray))
    count = min(_MOST, max(1, math.ceil(stray[k] / _STRAY - 1e-9)))
    piece = sizes[k] / count
    found = []
    for n in range(count):
        off = [0.0, 0.0, 0.0]
        off[k] = -sizes[k] / 2 + (n + 0.5) * piece
        part = [*sizes]
        part[k] = piece
        found.append((Block(part[0], part[1], part[2]), pose.shifted((off[0], off[1], off[2]))))
    return found
