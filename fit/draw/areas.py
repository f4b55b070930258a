"""Areas of round things and of what they share, for what is left to file. Plain geometry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from fit.draw.drawing import Point
from fit.draw.ghosts import clipped_convex

_ARC: Final = 24
_ROUND: Final = 48
"""Pieces a quarter of a corner, and a whole hole, are cut into."""


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


def area_outside(
    ring: Sequence[Point], half: tuple[float, float], radius: float, round_by: float
) -> float:
    """What a chain's holes take away outside the line of their centres, mm².

    Half of a hole on a straight stretch; on a sharp corner three quarters; near a round one what
    the line's own outline leaves of it. Where two run into each other, half of what they have in
    common counts once.
    """
    whole = math.pi * radius * radius
    region = _region(half, round_by)
    known: dict[tuple[float, float], float] = {}
    taken = 0.0
    for x, y in ring:
        from_x, from_y = half[0] - abs(x), half[1] - abs(y)
        if max(from_x, from_y) >= round_by + radius:
            taken += whole / 2
        elif round_by <= 0:
            taken += whole * (0.75 if max(from_x, from_y) < 1e-9 else 0.5)
        else:
            key = (round(abs(x), 6), round(abs(y), 6))
            if key not in known:
                known[key] = whole - _common(key, radius, region)
            taken += known[key]
    twice = sum(
        _twice(a, b, half, radius, round_by)
        for a, b in pairwise([*ring, ring[0]])
        if math.dist(a, b) < 2 * radius
    )
    return taken - twice


def _twice(a: Point, b: Point, half: tuple[float, float], radius: float, round_by: float) -> float:
    """What two neighbouring holes have in common outside their line, mm².

    Half of their lens; on a round corner less by the strip between chord and line.
    """
    x, y = abs(a[0] + b[0]) / 2, abs(a[1] + b[1]) / 2
    in_x, in_y = x - half[0] + round_by, y - half[1] + round_by
    sag = max(0.0, round_by - math.hypot(in_x, in_y)) if min(in_x, in_y) > -1e-9 else 0.0
    apart = math.dist(a, b)
    return max(0.0, lens_area(radius, radius, apart) / 2 - sag * (2 * radius - apart))


def _region(half: tuple[float, float], radius: float) -> tuple[Point, ...]:
    """A rectangle with round corners as a polygon, counter-clockwise."""
    w, h = half[0] - radius, half[1] - radius
    corners = ((-w, -h, 180), (w, -h, 270), (w, h, 0), (-w, h, 90))
    return tuple(
        on_circle(cx, cy, radius, begin + 90 * n / _ARC)
        for cx, cy, begin in corners
        for n in range(_ARC + 1)
    )


def _common(at: Point, radius: float, region: tuple[Point, ...]) -> float:
    """What a disc has in common with a convex polygon, mm²."""
    disc = [on_circle(at[0], at[1], radius, 360 * n / _ROUND) for n in range(_ROUND)]
    inner = clipped_convex(tuple(disc), region)
    # A polygon of n corners is that much smaller than its circle.
    share = _ROUND / (2 * math.pi) * math.sin(2 * math.pi / _ROUND)
    return _area(inner) / share


def _area(polygon: Sequence[Point]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*polygon, *polygon[:1]])) / 2
