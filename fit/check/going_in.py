"""Does everything get to its seat past rim, lip, posts and what is mounted already?"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial

from fit.check.passing import (
    Group,
    Moving,
    closest,
    groups,
    moving,
    stands_in_the_way,
    wall_rooms,
    way_out,
)
from fit.check.repairs import tenths, when_tight
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import (
    CLOSE,
    Solid,
    Things,
    capital,
    half_of,
    need_between,
    need_to_wall,
    noun,
    things,
    wall_doubt,
    wall_label,
    wall_words,
    widest,
)
from fit.findings import Finding
from fit.geometry.box import inside
from fit.geometry.distance import gap_between
from fit.model.build import Used
from fit.model.part import BushingPart, Hull
from fit.model.words import Entry, Half
from fit.units import show

_REACH = 8.0
"""What a thing passes at more than this, mm, does not hinder it."""

_CARE = 5.0
"""With this much more than is needed, mm, on the way, nobody asks for the room at the seat."""

_WORSE = 1e-6
"""The way in is worse than the seat when it leaves this much less room, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """The nearest a moving solid comes to one thing on its way.

    Attributes:
        label, words: the solid's thing.
        other, other_words: what it passes.
        have, need, spread: mm.
        seat: the room it has once it is in its place, mm.
    """

    label: str
    words: str
    other: str
    other_words: str
    have: float
    need: float
    spread: float
    seat: float

    @property
    def margin(self) -> float:
        """What is there minus what is needed, mm."""
        return self.have - self.need

    @property
    def on_the_way(self) -> bool:
        """Whether the way leaves less room than the seat, where there is room at the seat."""
        return self.have < self.seat - _WORSE and self.seat >= 0


Words = Callable[[Passing], str]
"""How a passing is put into words."""


def check_going_in(look: Inspection) -> Iterator[Finding]:
    """The way of every thing from outside to its seat.

    Looks at: boards with all that is joined to them, and holders, lowered straight past rim,
    ribs and posts (onto the lid: past its lip and posts); the lid with all that hangs on it,
    lowered onto the body with all that stands in it, panel parts and nuts included (a lid that is
    narrower at the rim than above with its walls, too); parts that
    come from inside through the mouth of the box. What is in the way at the seat as well is told
    by `bodies` and `walls`, whether a part passes its own hole by `passes`.

    Hurts: everything has its place, and nothing gets there. A rib above a board, a rim that is
    narrower than the box below it, a board on the lid that must pass under a button.

    Formula: gap ≥ need for every place of the thing on its way, needs as in `bodies`; W(z) as in
    `walls` at every height z from the seat to the rim; the two smaller sizes of what comes from
    inside ≤ the mouth.

    Source: sweeping the outline from rim to seat is common practice, no source.

    Safe side: straight ways only; a board that would go in tilted is refused. Things tilted
    both ways sweep the upright box round them. Parts on the walls can be fitted after the
    boards: that is the rule `order`.

    Example: a holder hangs 16 mm below the lid; a button's body ends 12 below the rim and
    reaches 18 in. If the holder comes to lie below the button, it meets it on its way down.

    Repairs: notch the board; file the rib away where it passes; move the panel part along its
    wall; hang the thing on the other half.
    """
    known = things(look)
    for group in groups(known):
        found = list(_group_passes(look, known, group))
        yield from _told(look, found, partial(_group_words, words=group.words))
    yield from _told(look, list(_lid_passes(look, known)), _lid_words)
    for used in look.scene.build.parts:
        if used.name in look.scene.placed:
            yield from _mouth(look, used)


def _told(look: Inspection, found: list[Passing], words: Words) -> Iterator[Finding]:
    """What is worse on the way than at the seat, and the least room where nothing is."""
    worst: dict[tuple[str, str], Passing] = {}
    for p in found:
        if p.on_the_way and p.margin < CLOSE * p.spread:
            key = (p.label, p.other)
            worst[key] = min(worst.get(key, p), p, key=_margin)
    told = list(worst.values())
    if not told and found:
        least = min(found, key=_margin)
        told = [least] if least.margin >= 0 or least.on_the_way else []
    for p in told:
        mend = when_tight(p.label, p.other_words, p.margin, p.spread)
        yield look.finding(
            "going-in",
            (p.label, p.other),
            have=p.have,
            need=p.need,
            spread=p.spread,
            say=words(p),
            mend=_mend(p) if p.margin < 0 else mend,
        )


def _margin(p: Passing) -> float:
    return p.margin


def _mend(p: Passing) -> str:
    short = tenths(-p.margin)
    if p.other.startswith(("rib ", "post ")) or p.other == "lip":
        return f"notch {p.label} by {short} mm there, or file the {p.other} away where it passes"
    if p.other.startswith("wall "):
        return f"make {p.label} {short} mm smaller on that side"
    return f"move {p.label} or {p.other} {short} mm out of the other's way, or change halves"


def _group_words(p: Passing, words: str) -> str:
    needed = f"; {show(p.need)} mm is needed" if p.need else ""
    by = "" if p.label in words else f" ({p.words})"
    if p.have < 0:
        return capital(
            f"{words}{by} does not go to its seat: it meets {p.other_words} by "
            f"{show(-p.have)} mm on the way{needed}."
        )
    return capital(
        f"{words}{by} goes to its seat {show(p.have)} mm from {p.other_words} on the way{needed}."
    )


def _lid_words(p: Passing) -> str:
    needed = f"; {show(p.need)} mm is needed" if p.need else ""
    if p.have < 0:
        return (
            f"The lid does not go on: {p.words} meets {p.other_words} by {show(-p.have)} mm on "
            f"the way down{needed}."
        )
    return (
        f"The lid goes on: {p.words} passes {p.other_words} at {show(p.have)} mm on the way "
        f"down{needed}."
    )


def _group_passes(look: Inspection, known: Things, group: Group) -> Iterator[Passing]:
    """A group against the moulded features and the upright walls of its own half."""
    way = way_out(known, group.half, group.solids)
    moulded = [s for s in half_of(known.inside, group.half) if s.moulded]
    for solid in group.solids:
        if moulded:
            yield from _pairs(look, known, moving(solid, way), moulded)
        yield from _walls(look, known, solid, group.half)


def _lid_passes(look: Inspection, known: Things) -> Iterator[Passing]:
    """The lid and all it holds against all that stays in the body."""
    below = half_of(known.inside, Half.BODY)
    parts_below = [s for s in below if not s.moulded]
    way = way_out(known, Half.BODY)
    for solid in half_of(known.inside, Half.LID):
        if solid.moulded:
            yield from _pairs(look, known, moving(solid, way), parts_below)
        else:
            yield from _pairs(look, known, moving(solid, way), below)
            yield from _walls(look, known, solid, Half.BODY)
    if look.tray.lid.draft < 0:
        # The walls of a lid that is narrowest at the rim pass what stands up into it.
        for solid in parts_below:
            yield from _walls(look, known, solid, Half.LID)


def _pairs(
    look: Inspection, known: Things, moved: Moving, others: Iterable[Solid]
) -> Iterator[Passing]:
    solid = moved.solid
    for other in others:
        if known.touch(solid.body, other.body):
            continue
        if not stands_in_the_way(other, solid, moved.way):
            continue
        found = closest(moved.ready, other.ready, _REACH)
        if found is None:
            continue
        need = look.need("going-in", need_between(solid, other))
        near = found.mm < need + _CARE
        yield Passing(
            label=solid.label,
            words=solid.words,
            other=other.label,
            other_words=other.words,
            have=found.mm,
            need=need,
            spread=spread_of(solid.spread(found.along), other.spread(found.along)),
            seat=gap_between(solid.ready, other.ready).mm if near else found.mm,
        )


def _walls(look: Inspection, known: Things, solid: Solid, half: Half) -> Iterator[Passing]:
    for face, mm, seat in wall_rooms(known, solid, half):
        if solid.body.seat is face and solid.body.half is half:
            continue
        out = look.scene.faces[face].frame.z
        yield Passing(
            label=solid.label,
            words=solid.words,
            other=wall_label(face),
            other_words=wall_words(face),
            have=mm,
            need=look.need("going-in", need_to_wall(solid, face)),
            spread=spread_of(solid.spread(out), wall_doubt(look, face)),
            seat=seat,
        )


def _mouth(look: Inspection, used: Used) -> Iterator[Finding]:
    """A part that comes from inside must get into the box at all."""
    placed = look.scene.placed[used.name]
    part = used.part
    if not isinstance(part, BushingPart) or part.entry is not Entry.INSIDE:
        return
    if placed.half is Half.LID:
        return
    mouth = inside(look.tray, look.tray.rim)
    limits = sorted((mouth.width, mouth.depth))
    sizes = sorted(_sizes(part.hull))
    have = min(limit - size for limit, size in zip(limits, sizes[:2], strict=True))
    spread = widest(part)
    if have >= CLOSE * max(spread, 1.0):
        return
    yield look.finding(
        "going-in",
        (used.name, "rim"),
        have=have,
        need=0.0,
        spread=spread,
        say=f"{capital(noun(used))} '{used.name}' comes from inside and is "
        f"{show(abs(have))} mm {'larger' if have < 0 else 'smaller'} than the mouth of the box.",
        mend=f"mount {used.name} from outside" if have < 0 else None,
    )


def _sizes(hull: Hull) -> tuple[float, float, float]:
    across = float(hull.diameter)
    return (across or float(hull.width), across or float(hull.height), float(hull.depth))


going_in = rule("going-in", Family.GOING_IN)(check_going_in)
