"""How far each size of a box may drift before a build no longer goes together in it.

Makers of boxes of one nominal size differ by tenths of a millimetre. Nothing says that a build
which goes at two sizes goes at all between them, so each direction is walked in steps from the
nominal size outwards, and only the last step, at whose end it breaks, is halved.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from fit.findings import Finding
from fit.model.box import Tray
from fit.model.build import Build
from fit.solve.other.goes import first_clash
from fit.solve.other.resize import Size, drifted
from fit.solve.other.ways import moved_to

RESOLUTION: Final = 0.05
"""Limits are told to this, mm or degrees."""

FURTHEST: Final = {Size.DRAFT: 1.5}
_FURTHEST_MM: Final = 3.0
_STEPS_OF: Final = {Size.DRAFT: 0.25}
_STEP_MM: Final = 0.25
"""A gap narrower than this between two sizes that go is not seen."""

USUAL: Final = 0.5
"""Makers of one nominal size differ by so much, mm (and draft by so many degrees)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """How far one size may go one way.

    Attributes:
        by: the furthest drift at which it still goes together, mm or degrees, never below 0.
        reached: False when it did not break as far as was looked.
        rule, say: what breaks first; empty when nothing did.
    """

    by: float
    reached: bool
    rule: str = ""
    say: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How far one size may drift: the nominal value, and the limits below and above."""

    size: Size
    nominal: float
    down: Limit
    up: Limit

    @property
    def careful(self) -> bool:
        """Whether boxes of one nominal size may well differ by more than it takes."""
        return any(limit.reached and limit.by < USUAL for limit in (self.down, self.up))


def drift(build: Build, box: Tray, size: Size, tell: Callable[[str], None]) -> Drift:
    """How far one size of a box may drift, the others as they are.

    Args:
        build: as written for its own box; it must go together in this one.
        box: the box.
        size: which size.
        tell: called before each direction.
    """
    limits = []
    for sign, word in ((-1, "smaller"), (1, "larger")):
        tell(f"{size}, {word}")
        limits.append(_limit(build, box, size, sign))
    return Drift(size=size, nominal=nominal(box, size), down=limits[0], up=limits[1])


def nominal(box: Tray, size: Size) -> float:
    """A size of a box as it is, mm or degrees; that of the front wall, or of the first post."""
    first = box.posts[0].tip if box.posts else 0.0
    found = {
        Size.LENGTH: box.length,
        Size.WIDTH: box.width,
        Size.HEIGHT: box.height,
        Size.WALL: box.front.thickness,
        Size.DRAFT: box.front.draft,
        Size.POST: first,
    }
    return float(found[size])


def sizes_of(box: Tray) -> tuple[Size, ...]:
    """The sizes a box has."""
    return tuple(s for s in Size if s is not Size.POST or box.posts)


def breaks(build: Build, box: Tray, size: Size, by: float) -> tuple[str, str] | None:
    """What breaks when a size is off by so much, as rule and words; None: it goes together."""
    try:
        other = drifted(box, size, by)
    except ValueError as error:
        return "box", str(error)
    clash = first_clash(moved_to(build, other).build)
    if isinstance(clash, Finding):
        return clash.rule, clash.say
    return None if clash is None else ("box", clash)


def _limit(build: Build, box: Tray, size: Size, sign: int) -> Limit:
    step = _STEPS_OF.get(size, _STEP_MM)
    count = round(FURTHEST.get(size, _FURTHEST_MM) / step)
    for n in range(1, count + 1):
        broken = breaks(build, box, size, sign * n * step)
        if broken is not None:
            return _halved(build, box, size, sign, ((n - 1) * step, n * step), broken)
    return Limit(by=count * step, reached=False)


def _halved(
    build: Build,
    box: Tray,
    size: Size,
    sign: int,
    span: tuple[float, float],
    broken: tuple[str, str],
) -> Limit:
    """The limit within a span at whose beginning it goes together and at whose end it does not."""
    good, bad = (round(edge / RESOLUTION) for edge in span)
    while bad - good > 1:
        middle = (good + bad) // 2
        found = breaks(build, box, size, sign * middle * RESOLUTION)
        if found is None:
            good = middle
        else:
            bad, broken = middle, found
    return Limit(by=good * RESOLUTION, reached=True, rule=broken[0], say=broken[1])
