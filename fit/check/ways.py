"""How a board or holder gets to its seat when it does not go straight: slid or tilted.

Looked for only where the straight way fails, in the upright planes square to the walls.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from weakref import WeakKeyDictionary

from fit.check.passing import Group
from fit.check.plane import OPPOSITE, OUT, Bench, noses_in
from fit.check.repairs import tenths
from fit.check.rule import spread_of
from fit.check.straight import Passing, group_passes
from fit.check.things import Things
from fit.geometry.distance import Prepared, prepare
from fit.geometry.noses import opening_of
from fit.geometry.scene import Cut, PlacedNose, Scene
from fit.geometry.tilting import Search, Stop, WayIn, at_stop, needed
from fit.model.words import UPRIGHT, FaceName, Half

ROOM = 0.5
"""Room on every side while a board with noses is slid or tilted in, mm. Slid level it must be
W − L ≥ p + c, with p how far a nose stands past the board's edge and c = 1.0, of which both ends
keep half (common practice, no source)."""

MOST = 1.5
"""More room than this, mm, is not looked for."""

SHORT = -1.0
"""What is told where there is no way even without any room, mm."""

_CLOSE_IN = 0.02
_STRIDE = 0.5
"""Two places on a way that are looked at lie at most this far apart, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crooked:
    """What came of looking for a way that is not straight.

    Attributes:
        way: the way, or None.
        towards: the wall it is slid or tilted towards, its leading edge.
        have: the most room such a way leaves everywhere, mm; `SHORT` without a way.
    """

    way: WayIn | None
    towards: FaceName
    have: float


def poking(known: Things, group: Group) -> tuple[PlacedNose, ...]:
    """The noses of a group that reach into upright walls which are not open to the rim there."""
    return tuple(
        n
        for n in noses_in(known, group)
        if n.through and n.face in UPRIGHT and not _open_to_rim(known.scene, n)
    )


def _open_to_rim(scene: Scene, nose: PlacedNose) -> bool:
    own = opening_of(scene, nose)
    return own is not None and own.cut is Cut.RIM_SLOT


@dataclass(frozen=True, slots=True, kw_only=True)
class Going:
    """How a group goes to its seat.

    Attributes:
        passes: what it would pass on the straight way.
        noses: what bars the straight way by reaching through closed walls.
        crooked: another way; None where the straight one is free or none can be looked for.
        need: room a crooked way is to leave, mm.
    """

    passes: tuple[Passing, ...]
    noses: tuple[PlacedNose, ...]
    crooked: Crooked | None
    need: float

    @property
    def blocked(self) -> tuple[Passing, ...]:
        """What is in the way on the straight way."""
        return tuple(p for p in self.passes if p.on_the_way and p.margin < 0)

    @property
    def fitting(self) -> Crooked | None:
        """The crooked way it has to take, when there is one with room enough."""
        found = self.crooked
        return found if found is not None and found.have >= self.need else None


_KEPT: WeakKeyDictionary[Things, dict[str, Going]] = WeakKeyDictionary()


def going(known: Things, group: Group) -> Going:
    """How a group goes in, worked out once: the search runs only when the straight way fails."""
    kept = _KEPT.setdefault(known, {})
    if group.name not in kept:
        passes, noses = tuple(group_passes(known, group)), poking(known, group)
        way = Going(passes=passes, noses=noses, crooked=None, need=known.need("going-in", ROOM))
        if not noses:
            # A way round is no reason to ask for less than on the straight way.
            way = replace(way, need=max((p.need for p in way.blocked), default=way.need))
        # The lid comes straight down: what it carries cannot be slid into a wall of the body.
        barred = group.half is Half.LID and noses
        if (noses or way.blocked) and not barred:
            way = replace(way, crooked=_crooked_way(known, group, way.need))
        kept[group.name] = way
    return kept[group.name]


def _crooked_way(known: Things, group: Group, need: float) -> Crooked | None:
    """A way in by sliding or tilting: with room enough the gentlest, else the roomiest.

    None where no such way can be looked for: noses in walls of two directions.
    """
    found = [c for f in _towards(known, group) if (c := _looked_for(known, group, f, need))]
    return max(found, key=_rank(need)) if found else None


def _rank(need: float) -> Callable[[Crooked], tuple[float, float]]:
    def rank(found: Crooked) -> tuple[float, float]:
        tilt = 90.0 if found.way is None else abs(found.way.tilt)
        return min(found.have, need), -tilt

    return rank


def _towards(known: Things, group: Group) -> tuple[FaceName, ...]:
    """The walls to look towards: those with noses in them, else one of each direction."""
    walls = dict.fromkeys(n.face for n in poking(known, group) if n.face is not None)
    if not walls:
        return (FaceName.FRONT, FaceName.RIGHT)
    first = next(iter(walls))
    if any(f not in (first, OPPOSITE[first]) for f in walls):
        return ()
    return (first,)


def _looked_for(known: Things, group: Group, face: FaceName, need: float) -> Crooked | None:
    bench = Bench(known, group, face)
    if bench.barred:
        return None
    search = Search(plane=bench.plane, pairs=needed(bench.pairs(need)))
    have = _most_room(search, need)
    way = search.way(min(have, need)) if have >= 0 else None
    if way is None:
        return Crooked(way=None, towards=face, have=SHORT)
    # Nothing has more room on its way than at the seat; what has less than needed there already
    # is told by other rules.
    have = min(have, search.seated(need))
    measured = bench.least(way, need)
    return Crooked(way=way, towards=face, have=have if measured >= min(have, need) else measured)


def _most_room(search: Search, need: float) -> float:
    """The most room that a way leaves, mm, to `_CLOSE_IN`; `SHORT` when there is none at all."""
    if search.fits(need):
        low, high = need, max(MOST, need + 1.0)
        if search.fits(high):
            return high
    elif need > 0 and search.fits(0.0):
        low, high = 0.0, need
    else:
        return SHORT
    while high - low > _CLOSE_IN:
        middle = (low + high) / 2
        low, high = (middle, high) if search.fits(middle) else (low, middle)
    return low


def along(group: Group, way: WayIn) -> Iterator[Prepared]:
    """A group's solids at the stops of its way, no two further apart than a stride: what it fills.

    Between two of them nothing moves by more than `_STRIDE`.
    """
    solids = (*group.solids, *group.noses)
    far = max((math.dist(c, way.plane.origin) for s in solids for c in s.ready.box), default=0.0)
    for stop in strides(way.stops, far):
        for solid in solids:
            yield prepare(solid.body.shape, at_stop(way.plane, stop, solid.body.pose))


def strides(stops: Iterable[Stop], radius: float, longest: float = _STRIDE) -> Iterator[Stop]:
    """Stops of a way so near that nothing within `radius` of the pivot moves further than this.

    Steps that are shorter are run together, longer ones divided.
    """
    last: Stop | None = None
    gone = 0.0
    listed = list(stops)
    for n, stop in enumerate(listed):
        if last is None:
            yield stop
            last = stop
            continue
        before = listed[n - 1]
        moved = math.hypot(stop.x - before.x, stop.y - before.y)
        moved += radius * math.radians(abs(stop.tilt - before.tilt))
        if gone + moved <= longest and n + 1 < len(listed):
            gone += moved
            continue
        if gone:
            yield before
        count = max(1, math.ceil(moved / longest))
        for i in range(1, count + 1):
            t = i / count
            yield Stop(
                before.x + (stop.x - before.x) * t,
                before.y + (stop.y - before.y) * t,
                before.tilt + (stop.tilt - before.tilt) * t,
            )
        last, gone = stop, 0.0


def spread_on(group: Group, towards: FaceName, doubt: float) -> float:
    """How far hands and sizes may change the room on a crooked way, mm."""
    way = OUT[towards]
    return spread_of(max((s.spread(way) for s in group.solids), default=0.0), doubt)


def way_words(found: Crooked) -> str:
    """How a group is brought in, in words: "tilted by 9°, its right edge first"."""
    assert found.way is not None
    tilt = found.way.tilt
    if tilt:
        lead = found.towards if tilt < 0 else OPPOSITE[found.towards]
        # The last degree is felt, not measured.
        return f"tilted by {math.ceil(abs(tilt))}°, its {lead} edge first"
    back = max((s.x for s in found.way.stops), key=abs)
    wall = found.towards if back < 0 else OPPOSITE[found.towards]
    return (
        f"by sliding: set it in {tenths(abs(back))} mm back from its place, then push it "
        f"towards the {wall}"
    )
