"""The holes a box has already: where they lie, and what they are to the openings parts want.

A wanted opening meets a hole in one of four ways: they lie apart; the hole provides the opening
(what goes through it passes, where it is); the hole lies within the opening, which opens it up; or
they share some room only, and the hole reaches beyond the cut.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from typing import Final

from fit.geometry.box import Face
from fit.geometry.drilling import opening_up_steps, thread_for_hole
from fit.geometry.hulls import passing, sides, widest
from fit.geometry.paths import slot
from fit.geometry.scene import BOX, Cut, OldHole, Opening, Role, Scene
from fit.model.box import Hole, Tray
from fit.model.build import Drawer, Used
from fit.model.part import BushingPart, Gland, PanelPart
from fit.model.rounded import Rounded, upright_box
from fit.model.words import Entry, FaceName
from fit.trade.screws import metric_thread
from fit.units import Length

_SAME: Final = 1e-9

SIDEWAYS: Final = 0.25
"""A step bit follows the hole that is there: where the cut's centre lies further beside it, mm,
only a file brings it to its place. Common practice, no source."""


class Meets(StrEnum):
    """How a wanted opening and a hole of the box lie to each other."""

    APART = "apart"
    PROVIDES = "provides"
    OPENS = "opens"
    PARTLY = "partly"


def old_holes(tray: Tray, faces: Mapping[FaceName, Face]) -> tuple[OldHole, ...]:
    """The holes of a box on its faces."""
    return tuple(_old_hole(hole, faces[hole.on]) for hole in tray.holes)


def _old_hole(hole: Hole, face: Face) -> OldHole:
    ups = [p[1] for p in face.outline]
    up = hole.up.along(min(ups), max(ups))
    # As parts are placed: edges lean, and count at the hole's own height.
    across = hole.across.along(
        *face.reach(up - hole.up.off),
    )
    opening = Opening(
        part=BOX,
        name=hole.name,
        face=face.name,
        cut=Cut.ROUND,
        role=Role.OLD,
        across=across,
        up=up,
        diameter=float(hole.diameter),
    )
    sizes = [hole.diameter]
    if hole.size is not None:
        sizes = list(hole.size)
        opening = replace(
            opening,
            cut=Cut.RECTANGLE,
            turn=hole.turn,
            width=float(hole.size[0]),
            height=float(hole.size[1]),
            corner_radius=float(hole.corner_radius),
        )
    elif hole.long > hole.diameter:
        sizes.append(hole.long)
        opening = replace(
            opening,
            cut=Cut.OBLONG,
            turn=hole.turn,
            diameter=0.0,
            width=float(hole.long),
            height=float(hole.diameter),
            corner_radius=hole.diameter / 2,
        )
    placed = math.hypot(hole.across.value.plus_minus, hole.up.value.plus_minus)
    return OldHole(
        name=hole.name,
        opening=opening,
        closed=hole.knock_out,
        doubt=placed + max(size.plus_minus for size in sizes) / 2,
    )


def shape(opening: Opening, face: Face | None = None) -> Rounded:
    """An opening's outline; a D hole's or a key's without flats or notch."""
    centre = (opening.across, opening.up)
    if opening.drilled:
        return Rounded((centre,), opening.diameter / 2)
    if opening.cut is Cut.RIM_SLOT:
        return Rounded(slot(opening, face))
    return upright_box(centre, opening.width, opening.height, opening.turn, opening.corner_radius)


def within(inner: Rounded, opening: Opening, face: Face) -> float:
    """How much an outline could grow and still lie within what an opening may cut away, mm.

    Rectangles may be cut into their corners, whatever radius may stay there; of a key only the
    round part counts (safe side: less is found to lie within).
    """
    room = inner.room_in(shape(replace(opening, corner_radius=0.0), face))
    if opening.cut is Cut.OBLONG:
        room = inner.room_in(shape(opening, face))
    for nx, ny, level in _flats(opening):
        beside = opening.across * nx + opening.up * ny
        room = min(room, level - (inner.reach(nx, ny) - beside))
    return room


def _flats(opening: Opening) -> Iterator[tuple[float, float, float]]:
    """Each flat of a D hole: its normal, and how far it lies from the middle, mm."""
    angle = math.radians(opening.turn + 90.0)
    nx, ny = math.cos(angle), math.sin(angle)
    if opening.cut is Cut.D_FLAT:
        yield nx, ny, opening.height - opening.diameter / 2
    elif opening.cut is Cut.DOUBLE_D:
        yield nx, ny, opening.height / 2
        yield -nx, -ny, opening.height / 2


def core(opening: Opening, used: Used, *, largest: bool = True) -> Rounded | None:
    """What has to pass an opening, at its place; None where only the cut itself will do.

    A bushing's or gland's thread, what of a part is put through, a screw, each at the `largest` it
    may measure or as it is written; where that is not known, the opening itself. Only the cut
    itself will do for holes with flats or keys, countersinks, slots to the rim and the holes of
    grilles.
    """
    if opening.cut not in (Cut.ROUND, Cut.RECTANGLE, Cut.OBLONG):
        return None
    if opening.sink > 0 or opening.role is Role.VENT:
        return None
    share = 1.0 if largest else 0.0
    if opening.role is Role.MOUNT and isinstance(used.part, PanelPart):
        wide, high = _through(used.part, share)
        narrow, low = min(opening.width, wide), min(opening.height, high)
        return shape(replace(opening, width=narrow, height=low))
    least = _neck(opening, used, share)
    return shape(replace(opening, diameter=min(opening.diameter, least)))


def _at_most(length: Length, share: float) -> float:
    """A length with so large a share of its ±, mm."""
    return length + share * length.plus_minus


def _through(part: PanelPart, share: float) -> tuple[float, float]:
    """Width and height of what is put through a panel part's cut-out, mm."""
    found = []
    for _, hull in passing(part):
        doubt = max(v.plus_minus for v in (hull.diameter, hull.width, hull.height))
        wide, high = sides(hull)
        found.append((wide + share * doubt, high + share * doubt))
    # Nothing goes through: what holds it in place wants the cut-out as it is.
    found = found or [(math.inf, math.inf)]
    return max(f[0] for f in found), max(f[1] for f in found)


def _neck(opening: Opening, used: Used, share: float) -> float:
    """The diameter that has to pass a round opening, mm."""
    part = used.part
    if opening.role is Role.MOUNT and isinstance(part, BushingPart):
        necks = [_at_most(part.bushing, share)]
        if part.entry is Entry.OUTSIDE:
            necks += [widest(hull) for _, hull in passing(part)]
        return max(necks)
    if opening.role is Role.MOUNT and isinstance(part, Gland):
        return _at_most(part.thread, share)
    if opening.role is Role.SCREW and opening.cut is Cut.ROUND:
        if used.screws is not None:
            return _at_most(used.screws.diameter, share)
        return metric_thread(thread_for_hole(opening.diameter)).nominal
    return opening.diameter


def meets(opening: Opening, used: Used, hole: OldHole, face: Face) -> Meets:
    """How a wanted opening and a hole of the box lie to each other."""
    if opening.face is not hole.opening.face:
        return Meets.APART
    outline = shape(hole.opening)
    if outline.apart(shape(opening, face)) >= -_SAME:
        return Meets.APART
    need = core(opening, used)
    if need is not None and need.room_in(outline) >= -_SAME:
        return Meets.PROVIDES
    return Meets.OPENS if within(outline, opening, face) >= -_SAME else Meets.PARTLY


def met(
    openings: Iterable[Opening],
    there: tuple[OldHole, ...],
    parts: Mapping[str, Used],
    faces: Mapping[FaceName, Face],
    drawer: Drawer,
) -> tuple[tuple[Opening, ...], tuple[OldHole, ...]]:
    """Openings that know the holes they meet, and the holes, those pushed out open.

    Of several holes that provide an opening the one with most room is taken.
    """
    if not there:
        return tuple(openings), there
    found: list[Opening] = []
    pushed: set[str] = set()
    for opening in openings:
        face, used = faces[opening.face], parts[opening.part]
        ways = {hole.name: (hole, meets(opening, used, hole, face)) for hole in there}
        near = {name: both for name, both in ways.items() if both[1] is not Meets.APART}
        pushed |= near.keys()
        made = opening
        for hole, way in sorted(near.values(), key=lambda both: _room(opening, used, both[0])):
            if way is Meets.PROVIDES:
                made = replace(opening, by=hole.name, opens=(), steps=())
            elif way is Meets.OPENS and not made.by:
                made = _opened(made, hole, face, drawer)
        found.append(made)
    return tuple(found), tuple(replace(h, closed=h.closed and h.name not in pushed) for h in there)


def told_reused(scene: Scene) -> tuple[str, ...]:
    """Which holes of the box provide an opening, and for which part: ``aerial for socket``."""
    return tuple(dict.fromkeys(f"{o.by} for {o.part}" for o in scene.openings if o.by))


def _room(opening: Opening, used: Used, hole: OldHole) -> float:
    need = core(opening, used)
    return -math.inf if need is None else need.room_in(shape(hole.opening))


def _opened(opening: Opening, hole: OldHole, face: Face, drawer: Drawer) -> Opening:
    """An opening that opens up a hole: a round one in a round one by step bit or file alone."""
    steps, old = opening.steps, hole.opening
    if opening.cut is Cut.ROUND and old.drilled:
        beside = math.hypot(opening.across - old.across, opening.up - old.up)
        follows = drawer if beside <= SIDEWAYS else replace(drawer, step_bits=())
        steps = opening_up_steps(follows, old.diameter, opening.diameter, face.thickness)
    return replace(opening, opens=(*opening.opens, hole.name), steps=steps)
