"""What a thing passes on a straight way to its seat, and how near it comes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fit.check.passing import (
    Group,
    Moving,
    closest,
    moving,
    stands_in_the_way,
    wall_rooms,
    way_out,
)
from fit.check.rule import spread_of
from fit.check.things import (
    Solid,
    Things,
    half_of,
    is_nose,
    need_between,
    need_to_wall,
    wall_doubt,
    wall_label,
    wall_words,
)
from fit.geometry.distance import gap_between
from fit.model.words import Half

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


def group_passes(known: Things, group: Group) -> Iterator[Passing]:
    """A group against the moulded features and the upright walls of its own half."""
    way = way_out(known, group.half, group.solids)
    moulded = [s for s in half_of(known.inside, group.half) if s.moulded]
    for solid in group.solids:
        if moulded:
            yield from _pairs(known, moving(solid, way), moulded)
        yield from _walls(known, solid, group.half)


def lid_passes(known: Things) -> Iterator[Passing]:
    """The lid and all it holds against all that stays in the body."""
    below = half_of(known.inside, Half.BODY)
    parts_below = [s for s in below if not s.moulded]
    way = way_out(known, Half.BODY)
    for solid in half_of(known.inside, Half.LID):
        if solid.moulded:
            yield from _pairs(known, moving(solid, way), parts_below)
        else:
            yield from _pairs(known, moving(solid, way), below)
            yield from _walls(known, solid, Half.BODY)
    if known.tray.lid.draft < 0:
        # The walls of a lid that is narrowest at the rim pass what stands up into it.
        for solid in parts_below:
            yield from _walls(known, solid, Half.LID)


def _pairs(known: Things, moved: Moving, others: Iterable[Solid]) -> Iterator[Passing]:
    solid = moved.solid
    for other in others:
        if known.touch(solid.body, other.body):
            continue
        if not stands_in_the_way(other, solid, moved.way):
            continue
        found = closest(moved.ready, other.ready, _REACH)
        if found is None:
            continue
        need = known.need("going-in", need_between(solid, other))
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


def _walls(known: Things, solid: Solid, half: Half) -> Iterator[Passing]:
    for face, mm, seat in wall_rooms(known, solid, half):
        if solid.body.seat is face and (solid.body.half is half or is_nose(solid.body)):
            continue
        out = known.scene.faces[face].frame.z
        yield Passing(
            label=solid.label,
            words=solid.words,
            other=wall_label(face),
            other_words=wall_words(face),
            have=mm,
            need=known.need("going-in", need_to_wall(solid, face)),
            spread=spread_of(solid.spread(out), wall_doubt(known, face)),
            seat=seat,
        )
