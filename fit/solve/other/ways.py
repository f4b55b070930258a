"""The ways round in which a build can go into a box, and the build put there.

A quarter turn of the box is counted counter-clockwise, seen from above: after one, the build's
back lies on what was the box's right wall. The build keeps its own names of faces; it is the box
that turns.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from fit.model.box import Hole, Post, Rib, Tray
from fit.model.build import Build, Coordinate, How, Source
from fit.model.words import UPRIGHT, FaceName, Half, Seat
from fit.units import Length

_BACK_TO_FRONT: Final = {
    FaceName.BACK: FaceName.RIGHT,
    FaceName.LEFT: FaceName.BACK,
    FaceName.FRONT: FaceName.LEFT,
    FaceName.RIGHT: FaceName.FRONT,
}
"""After one quarter turn: which of the box's walls each of the build's faces lies on."""

_PLACES: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way round.

    Attributes:
        stands_on: the face that is down in use.
        carrier: the half that carries the boards.
        quarters: quarter turns of the box, 0 to 3.
    """

    stands_on: FaceName
    carrier: Half
    quarters: int = 0

    @classmethod
    def of(cls, build: Build) -> Way:
        """The way a build is written."""
        return cls(stands_on=build.stands_on, carrier=build.carrier)

    def changes(self, build: Build) -> int:
        """In how many respects it is not as the build is written."""
        other = (self.stands_on is not build.stands_on) + (self.carrier is not build.carrier)
        return other + bool(self.quarters)

    def words(self, build: Build) -> str:
        """What is not as written, such as ``stands on its lid, box turned 90°``."""
        told = []
        if self.quarters:
            told.append(f"box turned {90 * self.quarters}°")
        if self.stands_on is not build.stands_on:
            told.append(f"stands on its {self.stands_on}")
        if self.carrier is not build.carrier:
            told.append(f"boards in the {self.carrier}")
        return ", ".join(told) or "as written"


def wall_behind(face: FaceName, quarters: int) -> FaceName:
    """Which of a turned box's own faces one of the build's faces lies on."""
    for _ in range(quarters % 4):
        face = _BACK_TO_FRONT.get(face, face)
    return face


def turned(box: Tray, quarters: int) -> Tray:
    """The box turned about its upright axis by quarter turns; its name tells the turn."""
    quarters %= 4
    if quarters == 0:
        return box
    made = box
    for _ in range(quarters):
        made = _turned_once(made)
    return replace(made, name=f"{box.name} turned {90 * quarters}°")


def _turned_once(box: Tray) -> Tray:
    return replace(
        box,
        length=box.width,
        width=box.length,
        back=box.right,
        left=box.back,
        front=box.left,
        right=box.front,
        posts=tuple(replace(p, x=_minus(p.y), y=p.x) for p in box.posts),
        ribs=tuple(_turned_rib(rib) for rib in box.ribs),
        holes=tuple(_turned_hole(hole) for hole in box.holes),
    )


def _minus(value: Length) -> Length:
    return Length(0.0 - value, value.plus_minus)


def _turned_rib(rib: Rib) -> Rib:
    """A rib on an upright wall goes with it; one on lid or floor turns in that face's frame."""
    if rib.on in UPRIGHT:
        lies_on = {wall: face for face, wall in _BACK_TO_FRONT.items()}
        return replace(rib, on=lies_on[rib.on])

    def spot(p: tuple[Length, Length]) -> tuple[Length, Length]:
        # The floor is seen from below, so there a turn runs the other way.
        return (_minus(p[1]), p[0]) if rib.on is FaceName.LID else (p[1], _minus(p[0]))

    return replace(rib, start=spot(rib.start), end=spot(rib.end))


_ACROSS_AS_UP: Final = {How.FROM_LEFT: How.FROM_FRONT, How.FROM_RIGHT: How.FROM_BACK}
_UP_AS_ACROSS: Final = {How.FROM_FRONT: How.FROM_LEFT, How.FROM_BACK: How.FROM_RIGHT}
_OTHER_EDGE: Final = {
    How.FROM_LEFT: How.FROM_RIGHT,
    How.FROM_RIGHT: How.FROM_LEFT,
    How.FROM_FRONT: How.FROM_BACK,
    How.FROM_BACK: How.FROM_FRONT,
}


def _turned_hole(hole: Hole) -> Hole:
    """A hole goes with its wall; one in lid or floor turns in that face's frame, as ribs do."""
    if hole.on in UPRIGHT:
        lies_on = {wall: face for face, wall in _BACK_TO_FRONT.items()}
        return replace(hole, on=lies_on[hole.on])
    across = replace(hole.up, how=_UP_AS_ACROSS.get(hole.up.how, hole.up.how))
    up = replace(hole.across, how=_ACROSS_AS_UP.get(hole.across.how, hole.across.how))
    if hole.on is FaceName.LID:
        return replace(hole, across=_mirrored(across), up=up, turn=(hole.turn + 90.0) % 360.0)
    return replace(hole, across=across, up=_mirrored(up), turn=(hole.turn - 90.0) % 360.0)


def _mirrored(given: Coordinate) -> Coordinate:
    """A coordinate counted from the other edge, or to the other side of the middle."""
    value = given.value
    if given.how is How.AT:
        value = _minus(value)
    elif given.how is How.SHARE:
        value = Length(1.0 - value)
    how = _OTHER_EDGE.get(given.how, given.how)
    return Coordinate(how=how, value=value, off=_minus(given.off))


def _likeness(box: Tray) -> tuple[object, ...]:
    """What makes two boxes the same to a build: sizes, and moulded things whatever their names."""

    def post(p: Post) -> tuple[object, ...]:
        return (
            p.half,
            *(round(float(v) + 0.0, _PLACES) + 0.0 for v in (p.x, p.y, p.tip, p.foot, p.height)),
            *(round(float(v), _PLACES) for v in (p.hole, p.depth)),
            p.use,
        )

    def rib(r: Rib) -> tuple[object, ...]:
        ends = sorted(
            tuple(round(float(v) + 0.0, _PLACES) + 0.0 for v in e) for e in (r.start, r.end)
        )
        return (r.on, *ends, float(r.thickness), float(r.depth))

    return (
        *(round(float(v), _PLACES) for v in (box.length, box.width, box.height, box.floor)),
        *(box.front, box.back, box.left, box.right),
        *(box.corner_outer, box.corner_inner, box.lid, box.plastic),
        frozenset(post(p) for p in box.posts),
        frozenset(rib(r) for r in box.ribs),
        frozenset(replace(hole, name="") for hole in box.holes),
    )


def quarter_turns(box: Tray) -> tuple[int, ...]:
    """The quarter turns after which a box is not the same again, 0 first."""
    seen: dict[tuple[object, ...], int] = {}
    for quarters in range(4):
        seen.setdefault(_likeness(turned(box, quarters)), quarters)
    return tuple(seen.values())


def ways(build: Build, box: Tray) -> tuple[Way, ...]:
    """Every sensible way round, those that change least first; the first is as written.

    Standing on the lid instead of the floor is tried unless the build stands on a side; the other
    half for the boards only where something sits on posts or carrier.
    """
    stands = [build.stands_on]
    if build.stands_on in (FaceName.FLOOR, FaceName.LID):
        stands += [f for f in (FaceName.FLOOR, FaceName.LID) if f is not build.stands_on]
    halves = [build.carrier]
    # `either` leaves the choice to whatever finds the places.
    if not build.either_half and any(isinstance(used.on, Seat) for used in build.parts):
        halves += [half for half in Half if half is not build.carrier]
    found = [
        Way(stands_on=stand, carrier=half, quarters=quarters)
        for stand, half, quarters in product(stands, halves, quarter_turns(box))
    ]
    return tuple(sorted(found, key=lambda way: way.changes(build)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A build put into another box; no place in it is changed yet.

    Attributes:
        build: the build with the other box.
        home: the build as written.
        way: which way round.
        absolute: parts with a coordinate written as a bare number. It counts from the origin of
            its face and is kept as it is, so its distance to the edges changes.
    """

    build: Build
    home: Build
    way: Way
    absolute: tuple[str, ...]


def moved_to(
    build: Build,
    box: Tray,
    way: Way | None = None,
    sources: tuple[Source, ...] = (),
    *,
    this_half: bool = False,
) -> Moved:
    """Put a build into another box.

    What is written from an edge, from the middle, as a share or beside another part is worked
    out anew in the other box; so is every place left open.

    Args:
        build: as written for its own box.
        box: the other box (it may be the same one, for another way round).
        way: which way round; None: as written.
        sources: files the box was read from, for the fingerprint.
        this_half: the way's half carries the boards even where the build would take either.
    """
    way = way or Way.of(build)
    extra = sources
    if way != Way.of(build):
        told = way.words(build)
        # No file says which way round, and the fingerprint must know.
        extra += (Source(path=told, sha256=hashlib.sha256(told.encode()).hexdigest()),)
    known = {source.path for source in extra}
    moved = replace(
        build,
        box=turned(box, way.quarters),
        stands_on=way.stands_on,
        carrier=way.carrier,
        either_half=build.either_half and not this_half and way.carrier is build.carrier,
        sources=(*(s for s in build.sources if s.path not in known), *extra),
    )
    return Moved(build=moved, home=build, way=way, absolute=tuple(_absolute(build)))


def _absolute(build: Build) -> Iterator[str]:
    for used in build.parts:
        place = used.at
        if place is None or place.beside is not None:
            continue
        if any(c is not None and c.how is How.AT for c in (place.across, place.up)):
            yield used.name
