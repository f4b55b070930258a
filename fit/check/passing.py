"""Groups of things that go in as one piece, and what they pass on a straight way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from fit.check.measure import gap_between, passed, swept
from fit.check.things import Solid, Things, assembly_of, is_nose, noun
from fit.geometry.containment import WallMargin
from fit.geometry.distance import Gap, Prepared, box_gap
from fit.geometry.sweep import Way
from fit.model.part import Board, Holder
from fit.model.words import UPRIGHT, FaceName, Half


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """What goes in as one piece, straight along the box's upright axis.

    Attributes:
        name: the part that leads it.
        names: every part in it.
        words: what it is called in a sentence.
        half: the half it goes into.
        solids: what moves inside the box.
        noses: what of it ends up in walls and outside.
    """

    name: str
    names: tuple[str, ...]
    words: str
    half: Half
    solids: tuple[Solid, ...]
    noses: tuple[Solid, ...] = ()


_KEPT: WeakKeyDictionary[Things, tuple[Group, ...]] = WeakKeyDictionary()


def groups(known: Things) -> tuple[Group, ...]:
    """Boards with all that is joined to them, and holders on floor or lid."""
    found = _KEPT.get(known)
    if found is None:
        found = _KEPT[known] = tuple(_groups(known))
    return found


def _groups(known: Things) -> Iterator[Group]:
    scene = known.scene
    outside = [s for s in known.solids if s.body.outside and is_nose(s.body)]
    for used in scene.build.parts:
        placed = scene.placed.get(used.name)
        if placed is None:
            continue
        if isinstance(used.part, Board) and used.joined_to is None:
            ids = assembly_of(scene, used.name)
            solids = tuple(s for s in known.parts if s.body.id in ids)
        elif isinstance(used.part, Holder) and placed.face in (FaceName.FLOOR, FaceName.LID):
            solids = known.of(used.name)
        else:
            continue
        owners = {s.body.owner for s in solids} | {used.name}
        yield Group(
            name=used.name,
            names=tuple(u.name for u in scene.build.parts if u.name in owners),
            words=f"{noun(used)} '{used.name}'",
            half=placed.half,
            solids=solids,
            noses=tuple(s for s in outside if s.body.owner in owners),
        )


def way_out(known: Things, half: Half, solids: Iterable[Solid] = ()) -> Way:
    """The straight way out of a half of the box: over the rim, or below all that the lid holds."""
    low, high = known.levels[half]
    if half is Half.BODY:
        return Way(up=True, to=high)
    return Way(up=False, to=min([low, *(s.ready.box[0][2] for s in solids)]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Moving:
    """A solid on its way: it and the room it passes through, in pieces."""

    solid: Solid
    way: Way
    ready: tuple[Prepared, ...]


def moving(solid: Solid, way: Way) -> Moving:
    """A solid on a way out."""
    return Moving(solid=solid, way=way, ready=passed(solid.body.shape, solid.body.pose, way))


def stands_in_the_way(other: Solid, of: Solid, way: Way) -> bool:
    """Whether a thing reaches past the near end of a solid on its way out.

    What does not is nearest to the solid at its seat already.
    """
    (_, _, low), (_, _, high) = of.ready.box
    return other.ready.box[1][2] > low if way.up else other.ready.box[0][2] < high


def closest(pieces: Iterable[Prepared], other: Prepared, reach: float) -> Gap | None:
    """The least gap of several solids to one other, or None where all are further than `reach`."""
    best: Gap | None = None
    for piece in pieces:
        bound = box_gap(piece.box, other.box)
        if bound > reach or (best is not None and 0 < bound >= best.mm):
            continue
        found = gap_between(piece, other)
        best = found if best is None or found.mm < best.mm else best
    return best


def wall_rooms(known: Things, solid: Solid, half: Half) -> Iterator[tuple[FaceName, float, float]]:
    """Each upright wall of a half: the least room to it on the way, and at the seat, mm."""
    seats = dict(_upright(known.rooms[solid], half))
    if known.opens[half]:
        yield from ((face, mm, mm) for face, mm in seats.items())
        return
    way = Way(up=half is Half.BODY, to=known.scene.build.box.rim)
    least: dict[FaceName, float] = {}
    for shape, pose in swept(solid.body.shape, solid.body.pose, way):
        for face, mm in _upright(known.margins(shape, pose), half):
            least[face] = min(least.get(face, mm), mm)
    yield from ((face, mm, seats.get(face, mm)) for face, mm in least.items())


def _upright(rooms: Iterable[WallMargin], half: Half) -> Iterator[tuple[FaceName, float]]:
    """The least margin to each upright wall of a half, mm, rounded corners included."""
    least: dict[FaceName, float] = {}
    for room in rooms:
        if room.half is half and room.face in UPRIGHT:
            least[room.face] = min(least.get(room.face, room.mm), room.mm)
    yield from least.items()
