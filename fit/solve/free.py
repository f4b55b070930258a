"""What a build leaves open, and the ways each free part may be put.

A free part has one or two open coordinates on a face, and perhaps several faces, turns, standoffs
or distances behind its window to choose from. Everything else is as written.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from fit.geometry.assemble import assemble, face_of
from fit.geometry.box import Face
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import Display, Part, RimSwitch
from fit.model.words import FaceName, Half, Seat
from fit.units import Length

GAP_STEP = 0.5
"""Distances behind a window are tried in steps of this, mm."""

_MOST_GAPS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way to put a part, its coordinates aside.

    Attributes:
        face: the face it goes on; None keeps what is written.
        turn: degrees counter-clockwise as written in the file.
        standoff: height of its spacers, mm, or None.
        gap: how far it stands behind its window, mm, or None.
        phase: where between two perfboard holes its places begin, mm across and up; 0 for what
            can be anywhere.
    """

    face: FaceName
    turn: int
    standoff: Length | None = None
    gap: Length | None = None
    phase: tuple[float, float] = (0.0, 0.0)

    @property
    def words(self) -> str:
        """For messages: "right, turned 90"."""
        words = [str(self.face)]
        if self.turn:
            words.append(f"turned {self.turn}")
        if self.standoff is not None:
            words.append(f"on {self.standoff:g} mm standoffs")
        if self.gap is not None:
            words.append(f"{self.gap:g} mm behind its window")
        return ", ".join(words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Free:
    """A part with something left to choose.

    Attributes:
        used: as written.
        options: the ways to put it, as written first.
        across, up: whether that coordinate is open.
    """

    used: Used
    options: tuple[Option, ...]
    across: bool
    up: bool

    @property
    def name(self) -> str:
        """The part's name."""
        return self.used.name

    @property
    def faces(self) -> frozenset[FaceName]:
        """The faces it may go on."""
        return frozenset(option.face for option in self.options)

    @property
    def settled(self) -> bool:
        """True when nothing is open."""
        return not (self.across or self.up) and len(self.options) == 1


def free_parts(build: Build) -> tuple[Free, ...]:
    """The parts of a build that have something left to choose, in file order."""
    found = [_free(build, used) for used in build.parts]
    return tuple(free for free in found if free is not None and not free.settled)


def _free(build: Build, used: Used) -> Free | None:
    face = face_of(build, used)
    if face is None or (used.on is Seat.POSTS and used.at is None):
        return None
    place = used.at or Place()
    if place.beside is not None:
        across = up = False
    else:
        across = place.across is None
        up = place.up is None and not isinstance(used.part, RimSwitch)
    return Free(used=used, options=_options(used, face), across=across, up=up)


def _options(used: Used, face: FaceName) -> tuple[Option, ...]:
    faces = (face, *used.also_on)
    turns = (used.turn, *used.turns)
    heights = (used.standoff, *used.standoffs)
    return tuple(
        Option(face=f, turn=t, standoff=h, gap=g)
        for f, t, h, g in itertools.product(faces, turns, heights, _gaps(used))
    )


def _gaps(used: Used) -> tuple[Length | None, ...]:
    """Distances behind the window: as written, or an even choice of the span that is given."""
    window = used.window
    if window is None or window.gap_to is None or not isinstance(used.part, Display):
        return (None,)
    span = window.gap_to - window.gap
    count = min(_MOST_GAPS, max(1, math.floor(span / GAP_STEP + 1e-9)))
    return tuple(Length(float(window.gap) + span * k / count) for k in range(count + 1))


def kind_of(part: Part) -> Part:
    """A part without what tells it from another of the same make."""
    return replace(part, name="", about="", source="")


def halves(build: Build) -> tuple[Build, ...]:
    """The build, and, where either half may carry the boards, the other way round as well."""
    if not build.either_half:
        return (build,)
    other = Half.LID if build.carrier is Half.BODY else Half.BODY
    return (replace(build, either_half=False), replace(build, carrier=other, either_half=False))


@dataclass(frozen=True, slots=True, kw_only=True)
class Put:
    """Where a free part is put: its option and both coordinates in the face frame, mm.

    A coordinate that is None stays as written.
    """

    option: Option
    across: float | None = None
    up: float | None = None


def put_in(build: Build, puts: Mapping[str, Put]) -> Build:
    """The build with parts put where they are said to go."""
    return replace(
        build,
        parts=tuple(
            _put(used, puts[used.name]) if used.name in puts else used for used in build.parts
        ),
    )


def _put(used: Used, put: Put) -> Used:
    place = used.at or Place()
    if put.across is not None:
        place = replace(place, across=Coordinate(how=How.AT, value=Length(put.across)))
    if put.up is not None:
        place = replace(place, up=Coordinate(how=How.AT, value=Length(put.up)))
    given = put.across is not None or put.up is not None or used.at is not None
    option = put.option
    on = option.face if isinstance(used.on, FaceName) else used.on
    window = used.window
    if window is not None and option.gap is not None:
        window = replace(window, gap=option.gap, gap_to=None)
    return replace(
        used,
        on=on,
        also_on=(),
        at=place if given else None,
        turn=option.turn,
        turns=(),
        standoff=option.standoff,
        standoffs=(),
        window=window,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """From where to where a coordinate may go, mm."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Half way, mm."""
        return (self.low + self.high) / 2


def spans(face: Face) -> tuple[Span, Span]:
    """Where centres on a face may be at all: across and up, mm."""
    across, up = zip(*face.flat, strict=True)
    return Span(low=min(across), high=max(across)), Span(low=min(up), high=max(up))


def dependents(build: Build, free: tuple[Free, ...]) -> tuple[str, ...]:
    """Parts that have a place only once the free ones have: joined boards, what is beside."""
    names = {f.name for f in free}
    return tuple(name for name in assemble(build).open if name not in names)
