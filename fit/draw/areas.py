"""Areas of round things and of what they cover together, for what is left to file."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from fit.draw.drawing import Point

_SLICES: Final = 16
_SLICE: Final = 0.25
"""Slices to the radius of the smallest disc, and the thickest slice, mm: an area is right to a few
thousandths of the discs' own."""


def on_circle(cx: float, cy: float, radius: float, degrees: float) -> Point:
    """The point of a circle in a direction."""
    a = math.radians(degrees)
    return (cx + radius * math.cos(a), cy + radius * math.sin(a))


def disc_area(diameter: float) -> float:
    """Area of a disc, mm²."""
    return math.pi * diameter * diameter / 4


def lens_area(a: float, b: float, apart: float) -> float:
    """Area that two circles of radius a and b have in common (plain geometry)."""
    if apart >= a + b:
        return 0.0
    if apart <= abs(a - b):
        return math.pi * min(a, b) ** 2
    x = (apart * apart + a * a - b * b) / (2 * apart)
    y = apart - x
    chord = math.sqrt(max(0.0, a * a - x * x))
    return a * a * math.acos(x / a) - x * chord + b * b * math.acos(y / b) - y * chord


def rounded_area(half: tuple[float, float], radius: float) -> float:
    """Area within a rectangle with round corners, mm²."""
    r = min(radius, *half)
    return 4 * half[0] * half[1] - (4 - math.pi) * r * r


def covered_area(
    half: tuple[float, float], round_by: float, discs: Iterable[tuple[Point, float]]
) -> float:
    """Area of a rectangle with round corners and of discs (middle, radius) together, mm².

    All of it is the same left and right of the middle, above and below it, so that a quarter is
    measured, in level slices (midpoint rule).
    """
    near = [(x, y, r) for (x, y), r in discs if x + r > 0 and y + r > 0]
    top = max([half[1], *(y + r for _, y, r in near)])
    count = max(1, math.ceil(top / min([_SLICE, *(r / _SLICES for _, _, r in near)])))
    step = top / count
    rows: list[list[tuple[float, float]]] = [[] for _ in range(count)]
    for n in range(min(count, math.ceil(half[1] / step - 0.5))):
        up = max(0.0, (n + 0.5) * step - half[1] + round_by)
        wide = half[0] - round_by + math.sqrt(max(0.0, round_by**2 - up**2))
        rows[n].append((0.0, wide))
    for cx, cy, r in near:
        low, high = ((cy + side * r) / step - 0.5 for side in (-1, 1))
        for n in range(max(0, math.ceil(low)), min(count - 1, math.floor(high)) + 1):
            off = math.sqrt(max(0.0, r * r - ((n + 0.5) * step - cy) ** 2))
            rows[n].append((max(0.0, cx - off), cx + off))
    return 4 * step * sum(_length(row) for row in rows)


def _length(spans: list[tuple[float, float]]) -> float:
    """How much of a line some stretches of it cover together, from 0 on."""
    total = reached = 0.0
    for low, high in sorted(spans):
        if high > reached:
            total += high - max(low, reached)
            reached = high
    return total
