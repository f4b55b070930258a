"""Quick rejects: boxes that are too small for a build whatever its places, told in no time.

Every test here is a necessary condition of a rule of the check with no gap at all, so a box that
is rejected would clash. What is let through may clash all the same. Only sizes are asked, never
places: a board, a holder or an opening must be smaller than all the room there is for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from fit.geometry.assemble import face_of
from fit.geometry.box import Level, ceiling, faces, floor_top, inside, lid_inside
from fit.geometry.places import turn_in_use
from fit.geometry.rects import Rect, minus
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, Gland, Grommet, Holder, PanelPart
from fit.model.words import UPRIGHT, FaceName, LidKind, Side

SLACK: Final = 0.01
"""Nothing is rejected for less than this, mm: far more than the noise of the check's own sums."""

_LEVEL_X: Final = (FaceName.FRONT, FaceName.BACK)
_AREA_SLACK: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The most room a box has anywhere, mm: along X, along Y, from floor to lid."""

    x: float
    y: float
    z: float

    @property
    def volume(self) -> float:
        """No less than the cavity, mm³."""
        return self.x * self.y * self.z


@dataclass(frozen=True, slots=True, kw_only=True)
class Reject:
    """Why a box is too small: which test, about what, by how much (mm; a share for areas)."""

    test: str
    about: str
    say: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solid:
    """A block inside the box that cannot be made smaller: its name and sizes, mm.

    `x` and `y` are its level sizes, `z` is upright.
    """

    name: str
    x: float
    y: float
    z: float
    volume: float


def room(build: Build) -> Room:
    """The most room in a build's box."""
    box = build.box
    levels: list[Level] = [inside(box, floor_top(box)), inside(box, box.rim)]
    if box.lid.kind is LidKind.DEEP:
        levels += [lid_inside(box, box.rim), lid_inside(box, ceiling(box))]
    return Room(
        x=max(level.width for level in levels),
        y=max(level.depth for level in levels),
        z=ceiling(box) - floor_top(box),
    )


def too_small(build: Build) -> Reject | None:
    """The first reason why a build's box cannot hold it; None when none is plain.

    Args:
        build: with the box in question; its places do not matter.
    """
    solids = tuple(_solids(build))
    tests: tuple[Callable[[], Iterator[Reject]], ...] = (
        lambda: _lengths(solids, room(build)),
        lambda: _openings(build),
        lambda: _volume(solids, room(build)),
    )
    return next((found for test in tests for found in test()), None)


def has_choice(used: Used) -> bool:
    """Whether a part may go on another face, turned otherwise, at another height or depth."""
    deeper = used.window is not None and used.window.gap_to is not None
    return bool(used.also_on or used.turns or used.standoffs) or deeper


def _solids(build: Build) -> Iterator[_Solid]:
    for used in build.parts:
        if has_choice(used):
            continue
        if isinstance(used.part, Board):
            yield from _board(build, used, used.part)
        elif isinstance(used.part, Holder):
            yield from _holder(build, used, used.part)


def _board(build: Build, used: Used, board: Board) -> Iterator[_Solid]:
    whole = Rect(0.0, 0.0, float(board.size[0]), float(board.size[1]))
    away = [Rect(n.x, n.y, n.x + n.width, n.y + n.depth) for n in board.notches]
    left = minus(whole, away)
    if not left:
        return
    # A notch along a whole edge makes a board smaller than it is called.
    wide = max(r.x1 for r in left) - min(r.x0 for r in left)
    high = max(r.y1 for r in left) - min(r.y0 for r in left)
    volume = sum((r.x1 - r.x0) * (r.y1 - r.y0) for r in left) * board.thickness
    if used.joined_to is not None:
        # It stands along one wall or the other: the wider of the two is let through.
        yield _Solid(name=used.name, x=0.0, y=0.0, z=high, volume=volume)
        return
    if face_of(build, used) not in (FaceName.FLOOR, FaceName.LID):
        return
    tall = max((z.height for z in board.zones if z.side is Side.TOP), default=0.0)
    x, y = (high, wide) if used.turn % 180 else (wide, high)
    stack = float(used.standoff or 0.0) + board.thickness + tall
    yield _Solid(name=used.name, x=x, y=y, z=stack, volume=volume)


def _holder(build: Build, used: Used, holder: Holder) -> Iterator[_Solid]:
    face = face_of(build, used)
    if face is None:
        return
    wide, high, off = (float(v) for v in holder.size)
    if turn_in_use(used, face, build.stands_on) % 180:
        wide, high = high, wide
    volume = wide * high * off
    if face not in UPRIGHT:
        yield _Solid(name=used.name, x=wide, y=high, z=off, volume=volume)
    elif face in _LEVEL_X:
        yield _Solid(name=used.name, x=wide, y=off, z=high, volume=volume)
    else:
        yield _Solid(name=used.name, x=off, y=wide, z=high, volume=volume)


def _lengths(solids: tuple[_Solid, ...], most: Room) -> Iterator[Reject]:
    for solid in solids:
        for need, have, word in (
            (solid.x, most.x, "from left to right"),
            (solid.y, most.y, "from front to back"),
        ):
            if need > have + SLACK:
                say = f"'{solid.name}' is {need:.1f} mm {word}, the box {have:.1f} mm inside"
                yield Reject(test="longest part", about=solid.name, say=say)
        if solid.z > most.z + SLACK:
            say = f"'{solid.name}' takes {solid.z:.1f} mm of height, the box has {most.z:.1f}"
            yield Reject(test="height", about=solid.name, say=say)


def _volume(solids: tuple[_Solid, ...], most: Room) -> Iterator[Reject]:
    need = sum(solid.volume for solid in solids)
    if need > most.volume + _AREA_SLACK:
        say = f"boards and holders fill {need / 1000:.0f} cm³, the box {most.volume / 1000:.0f}"
        yield Reject(test="volume", about="", say=say)


def _openings(build: Build) -> Iterator[Reject]:
    """Each opening on its face, and all of a face together: openings may not run into another."""
    known = faces(build.box)
    taken: dict[FaceName, float] = {}
    for used in build.parts:
        face = face_of(build, used)
        cut = _cut(used)
        if face is None or cut is None or has_choice(used):
            continue
        wide, high, area = cut
        if turn_in_use(used, face, build.stands_on) % 180:
            wide, high = high, wide
        outline = known[face].outline
        across = max(p[0] for p in outline) - min(p[0] for p in outline)
        up = known[face].height
        if wide > across + SLACK or high > up + SLACK:
            say = (
                f"the hole of '{used.name}' is {wide:.1f} × {high:.1f} mm, "
                f"the {face} {across:.1f} × {up:.1f}"
            )
            yield Reject(test="face", about=used.name, say=say)
        taken[face] = taken.get(face, 0.0) + area
        if taken[face] > across * up + _AREA_SLACK:
            say = f"the holes in the {face} take {taken[face]:.0f} mm², it has {across * up:.0f}"
            yield Reject(test="face area", about=f"{face}", say=say)


def _cut(used: Used) -> tuple[float, float, float] | None:
    """Width, height and area of the least opening a part needs, mm; None: not known here."""
    part = used.part
    if isinstance(part, PanelPart):
        wide, high = float(part.cutout[0]), float(part.cutout[1])
        # A round of the corners as large as it may be takes a little of the area away.
        rounds = (4 - math.pi) * min(float(part.corner_radius), wide / 2, high / 2) ** 2
        return wide, high, wide * high - rounds
    round_: float | None = None
    if isinstance(part, BushingPart) and part.anti_turn is None:
        # One with flats or a tab has a hole that is no circle.
        round_ = float(part.bushing) if part.hole is None else float(min(part.hole, part.bushing))
    elif isinstance(part, Gland):
        round_ = float(min(part.hole, part.thread))
    elif isinstance(part, Grommet):
        round_ = float(part.hole)
    return None if round_ is None else (round_, round_, math.pi / 4 * round_**2)
