"""A family of boxes: one box with its inside made longer, wider, higher."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from fit.model.build import Build
from fit.solve.other.goes import first_clash
from fit.solve.other.rejects import too_small
from fit.solve.other.resize import Inside, inside_of, with_inside
from fit.solve.other.sound import is_sound

STEP: Final = 0.5
"""Of the grid of sizes, mm."""

BEYOND: Final = 20.0
"""So much longer, wider and higher than the box given is looked as well, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """The sizes looked at: from and to, mm, in steps."""

    low: Inside
    high: Inside
    step: float = STEP


def usual_range(build: Build, step: float = STEP, beyond: float = BEYOND) -> Range:
    """From the least sizes that quick rejects let through to some more than the build's own box."""
    now = inside_of(build.box)
    high = Inside(
        length=_up(now.length + beyond, step),
        width=_up(now.width + beyond, step),
        height=_up(now.height + beyond, step),
    )
    return Range(low=_bound(build, high, step), high=high, step=step)


def _up(value: float, step: float) -> float:
    return math.floor(value / step) * step


def _bound(build: Build, high: Inside, step: float) -> Inside:
    """The least of each size at which nothing is plainly too small, the others at their most."""

    def least(make: Callable[[float], Inside], most: float) -> float:
        good, bad = round(most / step), 0
        while good - bad > 1:
            middle = (good + bad) // 2
            if _rejected(build, make(middle * step)):
                bad = middle
            else:
                good = middle
        return good * step

    def length(v: float) -> Inside:
        return Inside(length=v, width=high.width, height=high.height)

    def width(v: float) -> Inside:
        return Inside(length=high.length, width=v, height=high.height)

    def height(v: float) -> Inside:
        return Inside(length=high.length, width=high.width, height=v)

    return Inside(
        length=least(length, high.length),
        width=least(width, high.width),
        height=least(height, high.height),
    )


def _rejected(build: Build, inside: Inside) -> bool:
    made = sized(build, inside)
    return made is None or too_small(made) is not None


def sized(build: Build, inside: Inside) -> Build | None:
    """The build in a box with that free inside; None when there is no such box."""
    try:
        box = with_inside(build.box, inside)
    except ValueError:
        return None
    return replace(build, box=box) if is_sound(box) else None


def goes(build: Build, inside: Inside) -> bool:
    """Whether a build goes together in its own box made to that free inside."""
    made = sized(build, inside)
    return made is not None and first_clash(made) is None
