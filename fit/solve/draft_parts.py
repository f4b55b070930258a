"""The free parts of a layout question: their ways, their places, and what goes along with them."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fit.geometry.box import Face
from fit.geometry.frames import Vec
from fit.geometry.scene import Scene
from fit.model.build import WishKind
from fit.model.words import UPRIGHT
from fit.solve.draft import Draft, Seat, key_of
from fit.solve.free import Free, Option, Put, Span, spans
from fit.solve.probe import PITCH, Coord, Moved, Probe, Trial, main_axis, way_of
from fit.solve.problem import Box, Ints, Item, Rule, Table, Tie, Way
from fit.solve.still import Places, Stills, in_steps, places_of, room_of

_BAND = 0.25
"""A band of a leaning face is so high that a part moves in or out by this much at most, mm."""

FIXED = "the box and all that is fixed"

KNOWN = frozenset({FIXED})

Stops = tuple[float, ...]

_APART = 1.05
"""Places closer to each other than so many steps are the same."""

_TIGHT = 2.0
"""A part that has less room than this anywhere, mm, may be put between the marks of the others."""

_CLOSEST, _CLOSEST_LOOSE = 0.1, 2
"""No two places are looked at closer than this beside each other, mm; nor on the loose side closer
than so many steps."""


def part_of(
    draft: Draft, free: Free, stills: Stills
) -> tuple[tuple[Seat, ...], tuple[Item, ...], tuple[Rule, ...]]:
    """A part, and what follows only some of its coordinates: items with the same ways.

    Returns:
        Its seats, the items, and the rules that hold these together.
    """
    stands = [
        _Stand(option, trial.puts[free.name], trial)
        for option in free.options
        if (trial := draft.probe.trials.get((free.name, option))) is not None
        and not (draft.loose and option.phase != (0.0, 0.0))
        and (draft.narrow is None or key_of(free.name, option) in draft.narrow)
        and (draft.looks_at_all or (free.name, option) not in draft.probe.faulty)
    ]
    stands = stands or _first_stand(draft, free)
    made = _made(draft, free, stills, (stands, draft.marked))
    if not draft.loose and draft.narrow is None and _most(made[1]) < _TIGHT / draft.step:
        made = _made(draft, free, stills, (stands, draft.marked / 2))
    seats, ways = made
    items, rules = list[Item](), list[Rule]()
    for drivers, found in ways.items():
        main = drivers == _all(free)
        name = free.name if main else f"{free.name}, {_words(drivers)}"
        if main or any(way.boxes for way in found):
            items.append(Item(name=name, ways=tuple(found)))
            if not main:
                rules.append(Rule(tie=Tie.FOLLOWS, items=(free.name, name), axis=0))
    return seats, tuple(items), tuple(rules)


def _made(
    draft: Draft, free: Free, stills: Stills, how: tuple[list[_Stand], float]
) -> tuple[tuple[Seat, ...], dict[Drivers, list[Way]]]:
    """The seats of a part in these options, at places so far apart, and the ways of all items."""
    stands, marked = how
    groups = [_groups(draft, free, stand) for stand in stands]
    kinds = {_all(free): None} | {drivers: None for g in groups for drivers in g}
    ways: dict[Drivers, list[Way]] = {drivers: [] for drivers in kinds}
    seats: list[Seat] = []
    for stand, members in zip(stands, groups, strict=True):
        stops = {c: _stops(draft, free, stand.trial, (c, marked)) for _, c in _all(free)}
        everything = [m for ms in members.values() for m in ms]
        whole = _Rooms(draft, stills, stops)
        nearer = {
            coord: max((b - a for a, b in pairwise(values)), default=0.0) / 2
            if draft.loose
            else 0.0
            for coord, values in stops.items()
        }
        for band in _bands(stops, everything, free.name):
            seat, base = _seat(draft, stand, band, nearer)
            seats.append(seat)
            for drivers in kinds:
                mine = members.get(drivers, [])
                lot = _Lot(free.name, stand, band, seat, base, mine)
                ways[drivers].append(_way(draft, lot, drivers, whole))
    return tuple(seats), ways


def _most(ways: Mapping[Drivers, list[Way]]) -> int:
    """The most room that a part has anywhere, all that follows it counted, steps."""
    tables = [[w.table.margin for w in found if w.table is not None] for found in ways.values()]
    return max(
        int(np.minimum.reduce(np.broadcast_arrays(*each)).max(initial=-1))
        for each in zip(*tables, strict=True)
    )


Drivers = tuple[tuple[str, Coord], ...]


def _words(drivers: Drivers) -> str:
    return " and ".join(c.value for _, c in drivers) or "where it is"


def _all(free: Free) -> Drivers:
    open_ = [(Coord.ACROSS, free.across), (Coord.UP, free.up)]
    return tuple((free.name, c) for c, is_open in open_ if is_open)


def _groups(draft: Draft, free: Free, stand: _Stand) -> dict[Drivers, list[Moved]]:
    """What goes with a part, by the coordinates it follows: with none, its option alone."""
    found: dict[Drivers, list[Moved]] = {}
    for key, moved in stand.trial.found.items():
        movers = {name for name, _ in moved.moves}
        if moved.odd or (draft.loose and moved.jumps):
            continue
        if movers == {free.name} or (not movers and differs(draft.probe, free, key, moved)):
            found.setdefault(drivers_of(draft, moved, stand.trial), []).append(moved)
    return found


def differs(probe: Probe, free: Free, key: object, moved: Moved) -> bool:
    """Whether a thing that follows no coordinate depends on the part's option all the same."""
    if len(free.options) == 1:
        return False
    for option in free.options:
        other = probe.trials.get((free.name, option))
        there = None if other is None else other.found.get(key)  # type: ignore[call-overload]
        if other is not None and (there is None or there.blob.around != moved.blob.around):
            return True
    return False


def drivers_of(draft: Draft, moved: Moved, trial: Trial) -> tuple[tuple[str, Coord], ...]:
    """The coordinates a thing follows along their main axes."""
    found = []
    for var, move in moved.moves.items():
        along = way_of(trial.look.scene, trial.puts[var[0]].option.face, var[1])
        if abs(move[main_axis(along)]) > 0.5 * abs(along[main_axis(along)]):
            found.append(var)
    return tuple(sorted(found, key=lambda v: (v[0], v[1].value)))


def _first_stand(draft: Draft, free: Free) -> list[_Stand]:
    """A part that has no place in any option: one of them, to have something to ask about."""
    for option in free.options:
        trial = draft.probe.trials.get((free.name, option))
        if trial is not None:
            return [_Stand(option, trial.puts[free.name], trial)]
    return []


@dataclass(frozen=True, slots=True)
class _Stand:
    """An option as it was tried."""

    option: Option
    put: Put
    trial: Trial

    @property
    def scene(self) -> Scene:
        return self.trial.look.scene

    def tried(self, coord: Coord) -> float:
        value = self.put.across if coord is Coord.ACROSS else self.put.up
        assert value is not None
        return value


def _stops(draft: Draft, free: Free, trial: Trial, how: tuple[Coord, float]) -> Stops:
    """The coordinates to choose from, mm in the face frame.

    By whole holes where something is soldered; else at whole marks from the middle of the face,
    and from the rim of an upright one: that is where a person measures from.
    """
    coord, marked = how
    put = trial.puts[free.name]
    face = trial.look.scene.faces[put.option.face]
    span = spans(face)[coord is Coord.UP]
    if (free.name, coord) in trial.pitched and not draft.loose:
        start = put.across if coord is Coord.ACROSS else put.up
        assert start is not None
        along = way_of(trial.look.scene, face.name, coord)
        step = PITCH / abs(along[main_axis(along)])
    elif draft.narrow is not None:
        closer = draft.narrow.get(key_of(free.name, put.option), {}).get(coord)
        if closer is not None:
            return _closer(draft, closer, span)
        start, step = span.middle, marked
    else:
        upright = coord is Coord.UP and face.name in UPRIGHT
        start, step = (max(p[1] for p in face.outline) if upright else 0.0), marked
    first, last = math.ceil((span.low - start) / step), math.floor((span.high - start) / step)
    marks = [start + k * step for k in range(first, last + 1)]
    better: list[float] = []
    if (free.name, coord) not in trial.pitched or draft.loose:
        better += [at for at in _landmarks(draft, face, coord) if span.low <= at <= span.high]
    if draft.loose:
        better += [span.low, span.high]
    return _told_apart((*better, *marks), draft.step)


def _told_apart(values: Iterable[float], step: float) -> Stops:
    """In order, without those that the grid cannot tell from one that was named before."""
    found: list[float] = []
    for value in values:
        k = bisect_left(found, value)
        if all(abs(value - near) > _APART * step for near in found[max(0, k - 1) : k + 1]):
            found.insert(k, value)
    return tuple(found)


def _closer(draft: Draft, closer: Span, whole: Span) -> Stops:
    """Places close beside each other in a part of a face's span."""
    low, high = max(closer.low, whole.low), min(closer.high, whole.high)
    closest = _CLOSEST_LOOSE * draft.step if draft.loose else _CLOSEST
    count = max(1, math.ceil((high - low) / max(closest, (high - low) / draft.close) - 1e-9))
    return _told_apart((low + (high - low) * k / count for k in range(count + 1)), draft.step)


def _landmarks(draft: Draft, face: Face, coord: Coord) -> Iterator[float]:
    """Coordinates that something else on the face has: what stands still there, its middle."""
    wished = any(w.kind is WishKind.CENTRED for w in draft.build.wishes)
    if coord is Coord.ACROSS or face.name not in UPRIGHT or wished:
        yield spans(face)[coord is Coord.UP].middle
    free = {f.name for f in draft.probe.free}
    for name, placed in draft.look.scene.placed.items():
        if placed.face is face.name and name not in free:
            yield placed.across if coord is Coord.ACROSS else placed.up


def _bands(
    stops: Mapping[Coord, Stops], mine: list[Moved], name: str
) -> list[Mapping[Coord, Stops]]:
    ups = stops.get(Coord.UP, ())
    lean = max(
        (_beside(m.moves[name, Coord.UP]) for m in mine if (name, Coord.UP) in m.moves), default=0.0
    )
    if len(ups) < 2 or lean < 1e-9:
        return [stops]
    count = max(1, math.ceil((ups[-1] - ups[0]) * lean / _BAND))
    size = math.ceil(len(ups) / count)
    return [{**stops, Coord.UP: ups[n : n + size]} for n in range(0, len(ups), size)]


def _beside(move: Vec) -> float:
    """The largest component beside the main one."""
    return sorted(abs(c) for c in move)[1]


@dataclass(frozen=True, slots=True)
class _Lot:
    """What goes along with some coordinates of a part, in one option and band."""

    name: str
    stand: _Stand
    band: Mapping[Coord, Stops]
    seat: Seat
    base: Vec
    members: list[Moved]


def _seat(
    draft: Draft, stand: _Stand, band: Mapping[Coord, Stops], nearer: Mapping[Coord, float]
) -> tuple[Seat, Vec]:
    """What the steps of one option and band mean; and where its centre was tried."""
    frame = stand.scene.faces[stand.option.face].frame
    base = frame.point((stand.put.across or 0.0, stand.put.up or 0.0, 0.0))
    axes, places = {}, {}
    for coord, values in band.items():
        along = way_of(stand.scene, stand.option.face, coord)
        axis = main_axis(along)
        mm = {v: base[axis] + (v - stand.tried(coord)) * along[axis] for v in values}
        axes[coord], places[coord] = axis, {round(at / draft.step): v for v, at in mm.items()}
    return Seat(option=stand.option, axes=axes, places=places, nearer=nearer), base


def _way(draft: Draft, lot: _Lot, drivers: Drivers, rooms: _Rooms) -> Way:
    low, high = [0, 0, 0], [0, 0, 0]
    stops: list[Ints] = [(0,), (0,), (0,)]
    for _, coord in drivers:
        steps = sorted(lot.seat.places[coord])
        axis = lot.seat.axes[coord]
        low[axis], high[axis], stops[axis] = steps[0], steps[-1], tuple(steps)
    boxes = [b for m in lot.members for b in _boxes_of(draft, lot, m, drivers)]
    if len(drivers) == len(lot.band):
        boxes.append(_marker(lot.name))
    return Way(
        boxes=tuple(boxes),
        low=tuple(low),
        high=tuple(high),
        name=lot.stand.option.words,
        stops=tuple(stops),
        table=Table(margin=rooms.of(lot, drivers), known=KNOWN),
    )


Steps = npt.NDArray[np.int64]


@dataclass(slots=True)
class _Rooms:
    """The rooms of one option: worked out for all bands at once where a thing allows."""

    draft: Draft
    stills: Stills
    stops: Mapping[Coord, Stops]
    _whole: dict[Drivers, Steps] = field(default_factory=dict)

    def of(self, lot: _Lot, drivers: Drivers) -> Steps:
        """The room of all that goes along, at each of the places of a band, steps."""
        coords = {coord for _, coord in drivers}
        leans = any(
            (lot.name, c) in m.moves for m in lot.members for c in lot.band if c not in coords
        )
        if leans:
            return self._worked(lot, drivers, lot.band)
        if drivers not in self._whole:
            self._whole[drivers] = self._worked(lot, drivers, self.stops)
        cut = [slice(None)] * 3
        for coord in coords:
            stops = self.stops[coord]
            first = stops.index(lot.band[coord][0])
            last = first + len(lot.band[coord])
            back = self._backwards(lot, coord)
            cut[lot.seat.axes[coord]] = (
                slice(len(stops) - last, len(stops) - first) if back else slice(first, last)
            )
        return self._whole[drivers][tuple(cut)]

    def _backwards(self, lot: _Lot, coord: Coord) -> bool:
        """Whether the coordinate runs against its axis of the box frame."""
        return way_of(lot.stand.scene, lot.stand.option.face, coord)[lot.seat.axes[coord]] < 0

    def _worked(self, lot: _Lot, drivers: Drivers, band: Mapping[Coord, Stops]) -> Steps:
        cap = self.draft.grid.floor(float(self.draft.build.room))
        away: dict[Coord, tuple[int, npt.NDArray[np.float64]]] = {}
        shape = [1, 1, 1]
        for _, coord in drivers:
            axis, tried = lot.seat.axes[coord], lot.stand.tried(coord)
            shape[axis] = len(band[coord])
            values = np.array([v - tried for v in band[coord]])
            away[coord] = axis, values[::-1] if self._backwards(lot, coord) else values
        ends = (shape[0], shape[1], shape[2])
        members = [(m.blob, self._places(lot, m, away, ends)) for m in lot.members]
        if not members:
            return np.full(ends, cap, dtype=np.int64)
        room = room_of(self.stills, members, self.draft.step * (cap + 1))
        return in_steps(room, cap, self.draft.grid)

    def _places(
        self,
        lot: _Lot,
        moved: Moved,
        away: Mapping[Coord, tuple[int, npt.NDArray[np.float64]]],
        shape: tuple[int, int, int],
    ) -> Places:
        """Where a thing is at each place, from where it was tried."""
        moves, rest, off = {}, [], [0.0, 0.0, 0.0]
        for coord, values in lot.band.items():
            move = moved.moves.get((lot.name, coord))
            if move is None:
                continue
            if coord in away:
                moves[away[coord][0]] = move, away[coord][1]
                rest.append(_times(move, lot.seat.nearer[coord]))
                continue
            rest.append(_times(move, (values[-1] - values[0]) / 2 + lot.seat.nearer[coord]))
            middle = (values[0] + values[-1]) / 2 - lot.stand.tried(coord)
            off = [o + c * middle for o, c in zip(off, move, strict=True)]
        return places_of(moves, shape, rest, (off[0], off[1], off[2]))


def _times(v: Vec, by: float) -> Vec:
    return (v[0] * by, v[1] * by, v[2] * by)


def _marker(name: str) -> Box:
    """The reference point itself, for spots to be ruled out."""
    return Box(low=(0, 0, 0), high=(0, 0, 0), layer=f"at {name}")


def _boxes_of(draft: Draft, lot: _Lot, moved: Moved, drivers: Drivers) -> list[Box]:
    """A thing's boxes from the reference point, grown by what it moves beside it in the band."""
    shift, slack = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    for coord, values in lot.band.items():
        move = moved.moves.get((lot.name, coord))
        axis = lot.seat.axes[coord]
        along = (lot.name, coord) in drivers
        if along:
            shift[axis] -= lot.base[axis]
            # Stops are rounded to the grid, by half a step at the most.
            slack[axis] += draft.step / 2 + lot.seat.nearer[coord]
        if move is None:
            continue
        middle = (values[0] + values[-1]) / 2 - lot.stand.tried(coord)
        half = (values[-1] - values[0]) / 2 + lot.seat.nearer[coord]
        for k in range(3):
            if k != axis or not along:
                shift[k] += move[k] * middle
                slack[k] += abs(move[k]) * half
    return draft.boxes(moved.blob, (shift[0], shift[1], shift[2]), (slack[0], slack[1], slack[2]))
