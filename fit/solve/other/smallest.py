"""The smallest box of a family in which a build goes together, exact on a grid.

Family: walls, floor, lid, draft, rounds and board posts as in a box given; closing posts go with
their corners. Smallest: the least free inside, length × width × height, mm³; of equal ones the one
whose longest side is shortest, then the shorter, narrower, lower.

A build that goes at one size need not go at a larger one (what is placed from an edge moves), so
no answer may be got by halving. Every point of the grid is answered, in the order of volume, but
most without asking the whole check:

- below a bound that quick rejects give for each size by itself, nothing goes;
- where two solids, or a solid and a wall, overlap by a depth d, they still overlap at every size
  whose difference moves them against each other by less than d. Things stand off left and right
  walls, front and back, floor and rim by fixed lengths, shares or from the middle, so from one
  size to another no two move by more than |ΔL| along X, |ΔW| along Y and |ΔH| along Z, and with
  draft by 2·|ΔH|·tan δ more along X and along Y. The depth of two convex solids is the least
  length of a shift that parts them, so it changes by no more than they move.

Holes of boards that snap to a grid jump; a clash about such a board counts for that much less.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from fit.check.bodies import bodies
from fit.check.lid import lid
from fit.check.rule import Inspection, Rule
from fit.check.walls import walls
from fit.findings import Finding, UnusableInput
from fit.geometry.assemble import assemble
from fit.model.box import Tray, Wall
from fit.model.build import Build, Used
from fit.model.part import Board
from fit.model.words import Seat
from fit.solve.other.goes import first_clash
from fit.solve.other.rejects import too_small
from fit.solve.other.resize import Inside, inside_of, with_inside
from fit.solve.other.sound import is_sound
from fit.units import PITCH

Grid = npt.NDArray[np.float64]

STEP: Final = 0.5
"""Of the grid, mm."""

BEYOND: Final = 20.0
"""So much longer, wider and higher than the box given is looked as well, mm."""

_DEEP_RULES: Final[tuple[Rule, ...]] = (walls, lid, bodies)
"""Rules whose margin falls by no more than things move."""

_JUMP: Final = 2 * PITCH
"""How far two holes that snap to a grid may jump against each other, mm."""

_TRUST: Final = 0.98
_NOISE: Final = 0.05
"""Depths at a rounded corner are up to 0.12 % too deep; round solids are searched numerically."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """The sizes looked at: from and to, mm, in steps."""

    low: Inside
    high: Inside
    step: float = STEP


@dataclass(frozen=True, slots=True, kw_only=True)
class Smallest:
    """What a search came to.

    Attributes:
        inside: the smallest free inside, or None when there is none in the range.
        box: the box of that inside, or None.
        range: what was looked at.
        points: how many sizes that is.
        asked: how many of them were put together and checked.
        below: no box with a smaller inside than this goes, mm³.
        whole: whether the search came to its end.
    """

    inside: Inside | None
    box: Tray | None
    range: Range
    points: int
    asked: int
    below: float
    whole: bool = True


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


@dataclass(slots=True)
class _Points:
    """Every size of a range in the order of volume, and which of them are answered."""

    range: Range
    sizes: Grid = field(init=False)
    open: npt.NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        low, high, step = self.range.low, self.range.high, self.range.step

        def axis(a: float, b: float) -> Grid:
            return np.arange(round(a / step), round(b / step) + 1) * step

        grid = np.meshgrid(
            axis(low.length, high.length),
            axis(low.width, high.width),
            axis(low.height, high.height),
            indexing="ij",
        )
        sizes = np.stack([g.ravel() for g in grid], axis=1)
        volume = np.round(sizes.prod(axis=1), 6)
        keys = (sizes[:, 2], sizes[:, 1], sizes[:, 0], sizes.max(axis=1), volume)
        self.sizes = sizes[np.lexsort(keys)]
        self.open = np.ones(len(self.sizes), dtype=bool)

    def waiting(self) -> Iterator[tuple[int, Inside]]:
        """The sizes not answered yet, in order; answers given meanwhile count."""
        for n in range(len(self.sizes)):
            if self.open[n]:
                length, width, height = (float(v) for v in self.sizes[n])
                yield n, Inside(length=length, width=width, height=height)

    def close(self, at: Inside, radius: float, lean: float) -> None:
        """Nothing goes at sizes that differ by less than so much."""
        off = np.abs(self.sizes - (at.length, at.width, at.height))
        self.open &= off[:, 0] + off[:, 1] + off[:, 2] * (1 + 4 * lean) >= radius


def smallest(
    build: Build,
    within: Range,
    tell: Callable[[str], None] = lambda _: None,
) -> Smallest:
    """The smallest inside in a range at which a build goes together in its box's family.

    Args:
        build: in the box whose family is meant.
        within: the range.
        tell: called with how far the search is. Ctrl-C ends it with what is known.
    """
    points = _Points(within)
    lean = max(abs(math.tan(math.radians(w.draft))) for w in _walls(build.box))
    asked, below = 0, 0.0
    try:
        for n, inside in points.waiting():
            below = inside.volume
            if asked % 50 == 0:
                tell(f"nothing below {below / 1000:.0f} cm³, {n} of {len(points.sizes)} sizes")
            made = sized(build, inside)
            if made is None or too_small(made) is not None:
                continue
            asked += 1
            depth = _depth(made)
            if depth is not None:
                points.close(inside, depth, lean)
            elif first_clash(made) is None:
                return _found(made, inside, within, len(points.sizes), asked)
    except KeyboardInterrupt:
        return Smallest(
            inside=None,
            box=None,
            range=within,
            points=len(points.sizes),
            asked=asked,
            below=below,
            whole=False,
        )
    return Smallest(
        inside=None,
        box=None,
        range=within,
        points=len(points.sizes),
        asked=asked,
        below=within.high.volume,
    )


def _found(made: Build, inside: Inside, within: Range, points: int, asked: int) -> Smallest:
    return Smallest(
        inside=inside,
        box=made.box,
        range=within,
        points=points,
        asked=asked,
        below=inside.volume,
    )


def _walls(box: Tray) -> tuple[Wall, ...]:
    return (box.front, box.back, box.left, box.right)


def _depth(build: Build) -> float | None:
    """How deep the deepest clash is that larger or smaller boxes share, mm; None: none found.

    Parts without a place are left out: a clash of the others is one whatever place these get.
    """
    try:
        look = Inspection(assemble(build))
    except UnusableInput:
        return 0.0
    jumping = {name for used in build.parts for name in _jumping(used)}
    deepest: float | None = None
    for rule in _DEEP_RULES:
        for found in rule.check(look):
            if found.margin < -1e-9:
                depth = _sure(found, jumping)
                deepest = depth if deepest is None else max(deepest, depth)
        if deepest is not None and deepest > 1.0:
            break
    return deepest


def _jumping(used: Used) -> Iterator[str]:
    """Boards with holes or blocks that snap to a grid."""
    if isinstance(used.part, Board):
        if used.joined_to is not None:
            yield used.name
            yield used.joined_to
        if used.on is Seat.POSTS:
            yield used.name


def _sure(found: Finding, jumping: set[str]) -> float:
    depth = -found.margin * _TRUST - _NOISE
    if jumping & set(found.about):
        depth -= _JUMP
    return max(0.0, depth)
