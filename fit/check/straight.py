"""What a thing passes on a straight way to its seat, and how near it comes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fit.check.measure import Crowd, gap_between
from fit.check.passing import (
    Group,
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
    crowd_of,
    half_of,
    is_nose,
    need_between,
    need_to_wall,
    pierced,
    wall_label,
    wall_words,
)
from fit.geometry.support import Bounds
from fit.geometry.sweep import Way
from fit.model.words import FaceName, Half

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
    crowd = crowd_of(known.moulded[group.half])
    for solid, near in _ways(group.solids, way, crowd):
        yield from _pairs(known, solid, way, near)
    yield from _walls(known, group.solids, group.half)


def lid_passes(known: Things) -> Iterator[Passing]:
    """The lid and all it holds against all that stays in the body."""
    below = crowd_of(half_of(known.inside, Half.BODY))
    way = way_out(known, Half.BODY)
    for solid, near in _ways(half_of(known.inside, Half.LID), way, below):
        others = [s for s in near if not s.moulded] if solid.moulded else near
        yield from _pairs(known, solid, way, others)
    yield from _walls(known, half_of(known.parts, Half.LID), Half.BODY)
    if not known.opens[Half.LID]:
        # The walls of a lid that is narrowest at the rim pass what stands up into it.
        yield from _walls(known, half_of(known.parts, Half.BODY), Half.LID)


def _ways(
    solids: Iterable[Solid], way: Way, others: Crowd[Solid]
) -> Iterator[tuple[Solid, list[Solid]]]:
    """Solids, each on its way out, with what it may pass within reach."""
    listed = list(solids)
    near = others.within([[_stretched(s.ready.box, way)] for s in listed], _REACH)
    return zip(listed, near, strict=True)


def _stretched(box: Bounds, way: Way) -> Bounds:
    """The upright box round all that something in a box passes through on a way."""
    (x0, y0, z0), (x1, y1, z1) = box
    return (x0, y0, min(z0, way.to)), (x1, y1, max(z1, way.to))


def _pairs(known: Things, solid: Solid, way: Way, others: Iterable[Solid]) -> Iterator[Passing]:
    moved = None
    for other in others:
        if known.touch(solid.body, other.body):
            continue
        if not stands_in_the_way(other, solid, way):
            continue
        moved = moved or moving(solid, way)
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


def _walls(known: Things, solids: Iterable[Solid], half: Half) -> Iterator[Passing]:
    """What comes nearer to a wall on the way than at the seat, and what is nearest to one."""
    least: Passing | None = None
    for solid in solids:
        own = _looked_through(solid, half)
        for face, mm, seat in wall_rooms(known, solid, half):
            if face is own:
                # Close to its own wall at the seat; where that wall leans inwards it still has
                # to pass its rim.
                if seat >= 0 and mm < seat - _WORSE:
                    yield _beside(known, solid, face, mm, seat, need=0.0)
                continue
            need = known.need("going-in", need_to_wall(solid, face))
            worse = mm < seat - _WORSE
            if not worse and least is not None and mm - need >= least.margin:
                continue
            beside = _beside(known, solid, face, mm, seat, need=need)
            if worse:
                yield beside
            if least is None or beside.margin < least.margin:
                least = beside
    if least is not None:
        yield least


def _looked_through(solid: Solid, half: Half) -> FaceName | None:
    """The wall of a half that a solid is set against, or passes through."""
    seat = solid.body.seat if solid.body.half is half or is_nose(solid.body) else None
    return seat if seat is not None and pierced(seat) is half else None


def _beside(
    known: Things, solid: Solid, face: FaceName, mm: float, seat: float, *, need: float
) -> Passing:
    return Passing(
        label=solid.label,
        words=solid.words,
        other=wall_label(face),
        other_words=wall_words(face),
        have=mm,
        need=need,
        spread=spread_of(known.spread_to(solid, face), known.doubt_at(face)),
        seat=seat,
    )
