"""A build's layout question in whole steps: from what was probed to items, walls and gaps.

The reference point of an item is where its part's centre lies on the face, in the box frame. A
wall that leans moves a part in and out as it goes up: the face is cut into bands, one way each,
and boxes are grown by what they move within a band. `Side.SAFE` grows things and shrinks room,
so what it finds fits; `Side.LOOSE` takes boxes within the things, so what it calls impossible is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from fit.check.rule import Inspection
from fit.geometry.box import Face, floor_top, inner_planes, inside
from fit.geometry.frames import Vec, dot
from fit.geometry.scene import Scene
from fit.geometry.support import Bounds
from fit.model.build import Build
from fit.model.in_use import quarter_in_use
from fit.model.words import UPRIGHT, FaceName, Half
from fit.solve.free import Free, Option, Put, spans
from fit.solve.matter import Blob, Layer, Needs, Sort
from fit.solve.planes import planes
from fit.solve.probe import PITCH, Coord, Moved, Probe, Trial, main_axis, spare_touching, way_of
from fit.solve.problem import Box, Gap, Grid, Item, Metric, Problem, Rule, Side, Spot, Tie, Wall, Way

STEP = 0.02
"""The grid, mm: perfboard's 2.54 and a marked 0.5 are whole steps of it."""

MARKED = 0.5
"""What a person can mark without trouble, mm: places are looked for in steps of this."""

GRAIN = 0.1
"""Margins are made large to within this, mm."""

_BAND = 0.25
"""A band of a leaning face is so high that a part moves in or out by this much at most, mm."""

_ALONG_AXES = math.sqrt(3)
"""A straight distance is at most this times the largest of the gaps along the axes."""

_FINE = 100_000
_CHORDS = (15.0, 45.0, 75.0)
FIXED = "the box and all that is fixed"

Stops = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """What one way of a part means: its option, and the coordinates behind the steps.

    Attributes:
        option: face, turn and so on.
        axes: the engine's axis of each open coordinate.
        places: for each open coordinate, the step and the mm in the face frame.
    """

    option: Option
    axes: Mapping[Coord, int]
    places: Mapping[Coord, Mapping[int, float]]

    def put(self, spot: Spot) -> Put:
        """Where a spot puts the part."""
        at = {c: self.places[c][spot.at[axis]] for c, axis in self.axes.items()}
        return Put(option=self.option, across=at.get(Coord.ACROSS), up=at.get(Coord.UP))


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A layout question and the way back to the build.

    Attributes:
        problem: for the engine.
        seats: for each free part, what its ways mean.
        unseen: things that follow in jumps, left to the check.
    """

    problem: Problem
    seats: Mapping[str, tuple[Seat, ...]]
    unseen: tuple[str, ...] = ()

    def parts(self, items: Iterable[str]) -> tuple[str, ...]:
        """The free parts among the names of items."""
        return tuple(name for name in items if name in self.seats)

    def items(self, parts: Iterable[str]) -> frozenset[str]:
        """The items of parts, and those that follow these and no other part."""
        kept = set(parts)
        leaders: dict[str, set[str]] = {}
        for rule in self.problem.rules:
            for follower in set(rule.items) - set(self.seats):
                leaders.setdefault(follower, set()).update(set(rule.items) & set(self.seats))
        return frozenset(kept | {name for name, lead in leaders.items() if lead <= kept})

    def puts(self, layout: Mapping[str, Spot]) -> dict[str, Put]:
        """Where a layout puts the free parts."""
        return {name: seats[layout[name].way].put(layout[name]) for name, seats in self.seats.items()}


@dataclass(slots=True)
class _Draft:
    """A question in the making."""

    build: Build
    probe: Probe
    needs: Needs
    grid: Grid
    marked: float
    metric: Metric
    layers: dict[Layer, str] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    seats: dict[str, tuple[Seat, ...]] = field(default_factory=dict)
    unseen: list[str] = field(default_factory=list)

    @property
    def loose(self) -> bool:
        """Whether boxes within things are taken."""
        return self.grid.side is Side.LOOSE

    @property
    def look(self) -> Inspection:
        """The inspection of the trial with every first option."""
        return self.probe.base.look

    def name(self, layer: Layer) -> str:
        """The engine's name for a layer."""
        return self.layers.setdefault(layer, f"L{len(self.layers)}")

    def boxes(self, blob: Blob, shift: Vec, slack: Vec) -> list[Box]:
        """A blob's boxes for the engine, moved by `shift`; what `slack` says it may stray, mm."""
        grown = -1.0 if self.loose else 1.0
        found = []
        for low, high in blob.within if self.loose else blob.around:
            ends = [
                self.grid.body(low[k] + shift[k] - grown * slack[k], high[k] + shift[k] + grown * slack[k])
                for k in range(3)
                if low[k] - grown * slack[k] <= high[k] + grown * slack[k]
            ]
            if len(ends) == 3:
                found.append(
                    Box(
                        low=tuple(e[0] for e in ends),
                        high=tuple(e[1] for e in ends),
                        layer=self.name(blob.layer),
                    )
                )
        return found


def question(
    build: Build,
    found: Probe,
    *,
    side: Side = Side.SAFE,
    metric: Metric = Metric.AXIS,
    marked: float = MARKED,
    finger: float = 0.0,
    keep_out: Sequence[Blob] = (),
) -> Question:
    """Put a layout question.

    Args:
        build: what it is about.
        found: what moves with what in it.
        side: to which side rounding errs.
        metric: how gaps are measured: along the axes is quick; straight finds more, and on the
            loose side rules out more.
        marked: the step of places along a face, mm.
        finger: the least finger gap wished for, mm.
        keep_out: regions of faces to keep out of.
    """
    needs = Needs(found.base.look, loose=side is Side.LOOSE, finger=finger)
    spare_touching(needs, found)
    draft = _Draft(build, found, needs, Grid(step=STEP, side=side), marked, metric)
    for free in found.free:
        _add_part(draft, free)
    _add_followers(draft)
    _add_fixed(draft, keep_out)
    gaps = _gaps(draft)
    return Question(
        problem=Problem(
            axes=3,
            items=tuple(draft.items),
            gaps=gaps,
            packs=planes(draft.items, gaps, draft.layers) if metric is Metric.AXIS else (),
            rules=(*draft.rules, *_alike(draft)),
            metric=metric,
            cap=draft.grid.floor(float(build.room)),
            grain=max(1, draft.grid.floor(GRAIN)),
        ),
        seats=draft.seats,
        unseen=tuple(dict.fromkeys(draft.unseen)),
    )


def _gaps(draft: _Draft) -> dict[tuple[str, str], Gap]:
    found = {}
    layers = list(draft.layers.items())
    for n, (a, name_a) in enumerate(layers):
        for b, name_b in layers[n:]:
            need = draft.needs.between(a, b)
            if need is not None:
                if draft.loose and draft.metric is Metric.AXIS:
                    # Straight need mm apart, they are so much apart along at least one axis.
                    need /= _ALONG_AXES
                pair = (name_a, name_b) if name_a <= name_b else (name_b, name_a)
                found[pair] = Gap(need=draft.grid.need(need))
    return found


def _alike(draft: _Draft) -> Iterator[Rule]:
    """Parts that are alike in everything, left to right as the viewer sees them.

    Any layout can be had in this order, as two alike parts may change places; a wish that names
    one of them takes it out.
    """
    spoken = {name for wish in draft.build.wishes for name in wish.parts}
    groups: dict[tuple[object, ...], list[Free]] = {}
    for free in draft.probe.free:
        if len(free.faces) == 1 and free.across and free.name not in spoken and not free.used.carries:
            key = (free.used.part, free.options, free.up, free.used.at, free.used.window)
            groups.setdefault(key, []).append(free)
    for alike in groups.values():
        if len(alike) > 1:
            face = alike[0].options[0].face
            axis = main_axis(way_of(draft.look.scene, face, Coord.ACROSS))
            quarter = quarter_in_use(face, draft.build.stands_on)
            rising = way_of(draft.look.scene, face, Coord.ACROSS)[axis] > 0
            names = [f.name for f in (alike if rising is not (quarter == 180) else alike[::-1])]
            yield Rule(tie=Tie.IN_ORDER, items=tuple(names), axis=axis, value=0)


# ── the free parts ──────────────────────────────────────────────────────────────────────────


def _add_part(draft: _Draft, free: Free) -> None:
    """A part, and what follows only some of its coordinates: items with the same ways."""
    stands = [
        _Stand(option, trial.puts[free.name], trial)
        for option in free.options
        if (trial := draft.probe.trials.get((free.name, option))) is not None
        and not (draft.loose and option.phase != (0.0, 0.0))
    ]
    groups = [_groups(draft, free, stand) for stand in stands]
    kinds = {_all(free): None} | {drivers: None for g in groups for drivers in g}
    ways: dict[Drivers, list[Way]] = {drivers: [] for drivers in kinds}
    seats: list[Seat] = []
    for stand, members in zip(stands, groups, strict=True):
        stops = {c: _stops(draft, free, stand.trial, c) for _, c in _all(free)}
        everything = [m for ms in members.values() for m in ms]
        for band in _bands(stops, everything, free.name):
            seat, base = _seat(stand, band)
            seats.append(seat)
            for drivers in kinds:
                lot = _Lot(free.name, stand, band, seat, base, members.get(drivers, []))
                ways[drivers].append(_way(draft, lot, drivers))
    draft.seats[free.name] = tuple(seats)
    for drivers, found in ways.items():
        main = drivers == _all(free)
        name = free.name if main else f"{free.name}, {_words(drivers)}"
        if main or any(way.boxes for way in found):
            draft.items.append(Item(name=name, ways=tuple(found)))
            if not main:
                draft.rules.append(Rule(tie=Tie.FOLLOWS, items=(free.name, name), axis=0))


Drivers = tuple[tuple[str, Coord], ...]


def _words(drivers: Drivers) -> str:
    return " and ".join(c.value for _, c in drivers) or "where it is"


def _all(free: Free) -> Drivers:
    open_ = [(Coord.ACROSS, free.across), (Coord.UP, free.up)]
    return tuple((free.name, c) for c, is_open in open_ if is_open)


def _groups(draft: _Draft, free: Free, stand: _Stand) -> dict[Drivers, list[Moved]]:
    """What goes with a part, by the coordinates it follows: with none, its option alone."""
    found: dict[Drivers, list[Moved]] = {}
    for key, moved in stand.trial.found.items():
        movers = {name for name, _ in moved.moves}
        if moved.odd or (draft.loose and moved.jumps):
            continue
        if movers == {free.name} or (not movers and _differs(draft, free, key, moved)):
            found.setdefault(_drivers(draft, moved, stand.trial), []).append(moved)
    return found


def _differs(draft: _Draft, free: Free, key: object, moved: Moved) -> bool:
    """Whether a thing that follows no coordinate depends on the part's option all the same."""
    if len(free.options) == 1:
        return False
    for option in free.options:
        other = draft.probe.trials.get((free.name, option))
        there = None if other is None else other.found.get(key)  # type: ignore[call-overload]
        if other is not None and (there is None or there.blob.around != moved.blob.around):
            return True
    return False


def _drivers(draft: _Draft, moved: Moved, trial: Trial) -> tuple[tuple[str, Coord], ...]:
    """The coordinates a thing follows along their main axes."""
    found = []
    for var, move in moved.moves.items():
        along = way_of(trial.look.scene, trial.puts[var[0]].option.face, var[1])
        if abs(move[main_axis(along)]) > 0.5 * abs(along[main_axis(along)]):
            found.append(var)
    return tuple(sorted(found, key=lambda v: (v[0], v[1].value)))


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


def _stops(draft: _Draft, free: Free, trial: Trial, coord: Coord) -> Stops:
    """The coordinates to choose from, mm in the face frame.

    By whole holes where something is soldered; else at whole marks from the middle of the face,
    and from the rim of an upright one: that is where a person measures from.
    """
    put = trial.puts[free.name]
    face = trial.look.scene.faces[put.option.face]
    span = spans(face)[coord is Coord.UP]
    if (free.name, coord) in trial.pitched and not draft.loose:
        start = put.across if coord is Coord.ACROSS else put.up
        assert start is not None
        along = way_of(trial.look.scene, face.name, coord)
        step = PITCH / abs(along[main_axis(along)])
    else:
        upright = coord is Coord.UP and face.name in UPRIGHT
        start, step = (max(p[1] for p in face.outline) if upright else 0.0), draft.marked
    first, last = math.ceil((span.low - start) / step), math.floor((span.high - start) / step)
    marks = {start + k * step for k in range(first, last + 1)}
    if (free.name, coord) not in trial.pitched or draft.loose:
        marks |= {at for at in _landmarks(draft, face, coord) if span.low <= at <= span.high}
    return tuple(sorted(marks))


def _landmarks(draft: _Draft, face: Face, coord: Coord) -> Iterator[float]:
    """Coordinates that something else on the face has: what stands still there, its middle."""
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


def _seat(stand: _Stand, band: Mapping[Coord, Stops]) -> tuple[Seat, Vec]:
    """What the steps of one option and band mean; and where its centre was tried."""
    frame = stand.scene.faces[stand.option.face].frame
    base = frame.point((stand.put.across or 0.0, stand.put.up or 0.0, 0.0))
    axes, places = {}, {}
    for coord, values in band.items():
        along = way_of(stand.scene, stand.option.face, coord)
        axis = main_axis(along)
        mm = {v: base[axis] + (v - stand.tried(coord)) * along[axis] for v in values}
        axes[coord], places[coord] = axis, {round(at / STEP): v for v, at in mm.items()}
    return Seat(option=stand.option, axes=axes, places=places), base


def _way(draft: _Draft, lot: _Lot, drivers: Drivers) -> Way:
    low, high, stops = [0, 0, 0], [0, 0, 0], [(0,), (0,), (0,)]
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
        walls=tuple(_walls(draft, {m.blob.layer for m in lot.members})),
        name=lot.stand.option.words,
        stops=tuple(stops),
    )


def _marker(name: str) -> Box:
    """The reference point itself, for spots to be ruled out."""
    return Box(low=(0, 0, 0), high=(0, 0, 0), layer=f"at {name}")


def _boxes_of(draft: _Draft, lot: _Lot, moved: Moved, drivers: Drivers) -> list[Box]:
    """A thing's boxes from the reference point, grown by what it moves beside it in the band."""
    shift, slack = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    for coord, values in lot.band.items():
        move = moved.moves.get((lot.name, coord))
        axis = lot.seat.axes[coord]
        along = (lot.name, coord) in drivers
        if along:
            shift[axis] -= lot.base[axis]
            # Stops are rounded to the grid, by half a step at the most. On the loose side a stop
            # stands for all places that are nearer to it than to the next.
            slack[axis] += STEP / 2
            if draft.loose:
                slack[axis] += max((b - a for a, b in pairwise(values)), default=0.0) / 2
        if move is None:
            continue
        middle = (values[0] + values[-1]) / 2 - lot.stand.tried(coord)
        half = (values[-1] - values[0]) / 2
        for k in range(3):
            if k != axis or not along:
                shift[k] += move[k] * middle
                slack[k] += abs(move[k]) * half
    return draft.boxes(moved.blob, (shift[0], shift[1], shift[2]), (slack[0], slack[1], slack[2]))


# ── what follows several parts ──────────────────────────────────────────────────────────────


def _add_followers(draft: _Draft) -> None:
    """Things that follow several parts: items tied to them.

    Where one of these has several options what follows it so is left to the check.
    """
    base = draft.probe.base
    several = {f.name for f in draft.probe.free if len(f.options) > 1}
    groups: dict[Drivers, list[Moved]] = {}
    for key, moved in base.found.items():
        movers = {name for name, _ in moved.moves}
        if moved.odd or (len(movers) > 1 and (several & movers or draft.loose)):
            draft.unseen.append(f"{key[1]} {key[2]}".strip())
        elif len(movers) > 1:
            groups.setdefault(_drivers(draft, moved, base), []).append(moved)
    for drivers, members in groups.items():
        _add_follower(draft, drivers, members)


def _add_follower(
    draft: _Draft, drivers: tuple[tuple[str, Coord], ...], members: list[Moved]
) -> None:
    base, boxes = draft.probe.base, []
    name = " and ".join(f"{n} {c}" for n, c in drivers)
    origin, low, high = [0.0, 0.0, 0.0], [0, 0, 0], [0, 0, 0]
    stops: list[tuple[int, ...]] = [(0,), (0,), (0,)]
    for part, coord in drivers:
        seat = draft.seats[part][0]
        axis = seat.axes[coord]
        put = base.puts[part]
        frame = base.look.scene.faces[put.option.face].frame
        origin[axis] = frame.point((put.across or 0.0, put.up or 0.0, 0.0))[axis]
        item = next(i for i in draft.items if i.name == part)
        low[axis] = min(w.low[axis] for w in item.ways)
        high[axis] = max(w.high[axis] for w in item.ways)
        stops[axis] = tuple(sorted({s for w in item.ways for s in w.stops[axis]}))
        draft.rules.append(Rule(tie=Tie.IN_LINE, items=(part, name), axis=axis))
    for moved in members:
        slack = [0.0, 0.0, 0.0]
        for (part, coord), move in moved.moves.items():
            reach = _reach(draft, part, coord)
            axis = draft.seats[part][0].axes[coord]
            for k in range(3):
                if k != axis or (part, coord) not in drivers:
                    slack[k] += abs(move[k]) * reach
        shift = (-origin[0], -origin[1], -origin[2])
        boxes += draft.boxes(moved.blob, shift, (slack[0], slack[1], slack[2]))
    if boxes:
        way = Way(boxes=tuple(boxes), low=tuple(low), high=tuple(high), stops=tuple(stops))
        draft.items.append(Item(name=name, ways=(way,)))
    else:
        draft.rules = [r for r in draft.rules if name not in r.items]


def _reach(draft: _Draft, part: str, coord: Coord) -> float:
    """How far a coordinate may go from where it was tried, mm."""
    put = draft.probe.base.puts[part]
    tried = put.across if coord is Coord.ACROSS else put.up
    assert tried is not None
    places = [v for seat in draft.seats[part] for v in seat.places[coord].values()]
    return max(abs(v - tried) for v in places)


# ── what stands still ───────────────────────────────────────────────────────────────────────


def _add_fixed(draft: _Draft, keep_out: Sequence[Blob]) -> None:
    several = [f for f in draft.probe.free if len(f.options) > 1]
    zero = (0.0, 0.0, 0.0)
    blobs = list(keep_out)
    for key, moved in draft.probe.base.found.items():
        if moved.odd or (draft.loose and moved.jumps):
            continue
        if any(_differs(draft, f, key, moved) for f in several):
            continue
        if not moved.moves:
            blobs.append(moved.blob)
    layers = [layer for layer in draft.layers]
    seen = [b for b in blobs if any(draft.needs.between(b.layer, layer) is not None for layer in layers)]
    boxes = tuple(box for blob in seen for box in draft.boxes(blob, zero, zero))
    if boxes:
        way = Way(boxes=boxes, low=(0, 0, 0), high=(0, 0, 0))
        draft.items.append(Item(name=FIXED, ways=(way,)))


# ── walls ───────────────────────────────────────────────────────────────────────────────────


def _walls(draft: _Draft, layers: Iterable[Layer]) -> Iterator[Wall]:
    for layer in sorted(layers, key=draft.name):
        if layer.sort in (Sort.SOLID, Sort.SPANNER):
            yield from _inner_walls(draft, layer)
        elif layer.sort is Sort.CUT and layer.face is not None:
            yield from _edges(draft, layer, layer.face)


def _inner_walls(draft: _Draft, layer: Layer) -> Iterator[Wall]:
    tray = draft.build.box
    for plane in inner_planes(tray):
        need = draft.needs.to_wall(layer, plane.face, plane.half)
        if need is not None:
            yield _wall(draft, layer, _less(plane.normal), -plane.offset, need)
    if layer.outside or layer.half is Half.LID:
        return
    for front, side in ((f, s) for f in (FaceName.FRONT, FaceName.BACK) for s in (FaceName.LEFT, FaceName.RIGHT)):
        needs = [draft.needs.to_wall(layer, f, Half.BODY) for f in (front, side)]
        if None in needs:
            continue
        for normal, offset in _corner(draft, front, side):
            yield _wall(draft, layer, normal, offset, min(n for n in needs if n is not None))


def _corner(draft: _Draft, front: FaceName, side: FaceName) -> Iterator[tuple[Vec, float]]:
    """Planes across a rounded upright corner: its chords, or on the loose side its tangents."""
    tray = draft.build.box
    levels = [inside(tray, z) for z in (floor_top(tray), tray.rim)]
    sx, sy = (1 if side is FaceName.RIGHT else -1), (1 if front is FaceName.BACK else -1)
    for degrees in _CHORDS:
        nx, ny = sx * math.cos(math.radians(degrees)), sy * math.sin(math.radians(degrees))
        reaches = []
        for level in levels:
            cx = (level.x1 - level.radius) if sx > 0 else (level.x0 + level.radius)
            cy = (level.y1 - level.radius) if sy > 0 else (level.y0 + level.radius)
            share = 1.0 if draft.loose else math.cos(math.radians(15.0))
            reaches.append(nx * cx + ny * cy + level.radius * share)
        slope = (reaches[1] - reaches[0]) / (tray.rim - floor_top(tray))
        size = math.sqrt(1 + slope * slope)
        normal = (nx / size, ny / size, -slope / size)
        yield normal, (reaches[0] - slope * floor_top(tray)) / size


def _edges(draft: _Draft, layer: Layer, name: FaceName) -> Iterator[Wall]:
    """The edges of a cut's face, and of its flat part, as planes square to the face."""
    face = draft.look.scene.faces[name]
    for points, flat in ((face.outline, False), (face.flat, True)):
        for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
            length = math.hypot(bx - ax, by - ay)
            na, nu = (by - ay) / length, (ax - bx) / length
            normal = face.frame.direction((na, nu, 0.0))
            on_edge = face.frame.point((ax, ay, 0.0))
            rim = name in UPRIGHT and normal[2] > 0.5
            if rim and layer.at_rim:
                continue
            need = 0.0 if flat else draft.needs.to_edge(layer, rim=rim)
            yield _wall(draft, layer, normal, dot(normal, on_edge), need)


def _less(v: Vec) -> Vec:
    return (-v[0], -v[1], -v[2])


def _wall(draft: _Draft, layer: Layer, normal: Vec, offset: float, need: float) -> Wall:
    """A half space ``normal · x <= offset``, in whole numbers and to the question's side."""
    whole = (round(_FINE * normal[0]), round(_FINE * normal[1]), round(_FINE * normal[2]))
    # The rounded normal may point off by half a unit on each axis.
    box = draft.build.box
    off = 0.5 * (float(box.length) + float(box.width) + float(box.height)) / STEP
    at = _FINE * offset / STEP
    return Wall(
        normal=whole,
        offset=math.ceil(at + off) if draft.loose else math.floor(at - off),
        layers=frozenset({draft.name(layer)}),
        need=draft.grid.need(need),
    )
