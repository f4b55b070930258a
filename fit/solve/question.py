"""A build's layout question in whole steps: from what was probed to items, walls and gaps.

The reference point of an item is where its part's centre lies on the face, in the box frame. A
wall that leans moves a part in and out as it goes up: the face is cut into bands, one way each,
and boxes are grown by what they move within a band. `Side.SAFE` grows things and shrinks room,
so what it finds fits; `Side.LOOSE` takes boxes within the things, so what it calls impossible is.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from fit.model.build import Build
from fit.model.in_use import quarter_in_use
from fit.solve.draft import CLOSE, STEP, Draft, Narrow, Seat
from fit.solve.draft_parts import FIXED, Drivers, differs, drivers_of, part_of
from fit.solve.draft_walls import walls_of
from fit.solve.free import Free, Put, kind_of
from fit.solve.maps import Maps
from fit.solve.matter import Blob, Needs
from fit.solve.pairs import Tables
from fit.solve.planes import planes
from fit.solve.probe import Coord, Moved, Probe, main_axis, spare_touching, way_of
from fit.solve.problem import Gap, Grid, Item, Metric, Problem, Rule, Side, Spot, Tie, Way
from fit.solve.shared import Shared

MARKED = 0.5
"""What a person can mark without trouble, mm: places are looked for in steps of this."""

GRAIN = 0.1
"""Margins are made large to within this, mm."""

_ALONG_AXES = math.sqrt(3)
"""A straight distance is at most this times the largest of the gaps along the axes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A layout question and the way back to the build.

    Attributes:
        problem: for the engine.
        seats: for each free part, what its ways mean.
        unseen: things that follow in jumps, left to the check.
        step: of the grid, mm.
        shared: with other questions.
    """

    problem: Problem
    seats: Mapping[str, tuple[Seat, ...]]
    unseen: tuple[str, ...] = ()
    step: float = STEP
    shared: Shared | None = None

    def tabled(self) -> Maps:
        """The rooms of its items, with tables that are kept from one use to the next."""
        maps = Maps(self.problem)
        of = Tables if self.shared is None else self.shared.tables
        maps.tables = of(self.problem, maps)
        return maps

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

    def puts(
        self, layout: Mapping[str, Spot], parts: Iterable[str] | None = None
    ) -> dict[str, Put]:
        """Where a layout puts the free parts, or some of them."""
        names = self.seats if parts is None else parts
        return {name: self.seats[name][layout[name].way].put(layout[name]) for name in names}


def question(
    build: Build,
    found: Probe,
    shared: Shared,
    *,
    side: Side = Side.SAFE,
    metric: Metric = Metric.AXIS,
    marked: float = MARKED,
    narrow: Narrow | None = None,
    close: int = CLOSE,
    step: float = STEP,
) -> Question:
    """Put a layout question.

    Args:
        build: what it is about.
        found: what moves with what in it.
        shared: with other questions of that side about it, if about regions.
        side: to which side rounding errs.
        metric: how gaps are measured: along the axes is quick; straight finds more, and on the
            loose side rules out more.
        marked: the step of places along a face, mm.
        narrow: where to look closer, and nowhere else.
        close: into so many steps spans are cut there.
        step: of the grid, mm.
    """
    grid = Grid(step=step, side=side)
    draft = Draft(
        build, found, shared.needs, grid, marked, metric, narrow, close, layers=shared.layers
    )
    stills = shared.stills(draft)
    for free in found.free:
        make = partial(part_of, draft, free, stills)
        seats, items, rules = shared.part(draft, free, narrow, make) if narrow else make()
        draft.seats[free.name] = seats
        draft.items += items
        draft.rules += rules
    _add_followers(draft)
    _add_fixed(draft, shared.still)
    gaps = shared.gaps_of(draft, _gaps)
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
        step=step,
        shared=shared if narrow else None,
    )


def shared_in(
    found: Probe, *, side: Side, finger: float = 0.0, keep_out: Sequence[Blob] = ()
) -> Shared:
    """What all questions about regions of a build have in common, also those of fewer parts.

    Args:
        found: what moves with what in it, all of its open parts among it.
        side: to which side rounding errs.
        finger: the least finger gap wished for, mm.
        keep_out: regions of faces to keep out of.
    """
    needs = Needs(found.base.look, loose=side is Side.LOOSE, finger=finger)
    spare_touching(needs, found)
    return Shared(needs=needs, still=tuple(_still(found, keep_out, loose=side is Side.LOOSE)))


def _gaps(draft: Draft) -> Mapping[tuple[str, str], Gap]:
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
                found[pair] = Gap(need=draft.grid.need(need), counts=draft.needs.count(a, b))
    return found


def _alike(draft: Draft) -> Iterator[Rule]:
    """Parts that are alike in everything, left to right as the viewer sees them.

    Any layout can be had in this order, as two alike parts may change places; a wish that names
    one of them takes it out.
    """
    spoken = {name for wish in draft.build.wishes for name in wish.parts}
    groups: dict[tuple[object, ...], list[Free]] = {}
    for free in draft.probe.free:
        if (
            len(free.faces) == 1
            and free.across
            and free.name not in spoken
            and not free.used.carries
        ):
            key = (kind_of(free.used.part), free.options, free.up, free.used.at, free.used.window)
            groups.setdefault(key, []).append(free)
    for alike in groups.values():
        if len(alike) > 1:
            face = alike[0].options[0].face
            axis = main_axis(way_of(draft.look.scene, face, Coord.ACROSS))
            quarter = quarter_in_use(face, draft.build.stands_on)
            rising = way_of(draft.look.scene, face, Coord.ACROSS)[axis] > 0
            names = [f.name for f in (alike if rising is not (quarter == 180) else alike[::-1])]
            yield Rule(tie=Tie.IN_ORDER, items=tuple(names), axis=axis, value=0)


def _add_followers(draft: Draft) -> None:
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
            groups.setdefault(drivers_of(draft, moved, base), []).append(moved)
    for drivers, members in groups.items():
        _add_follower(draft, drivers, members)


def _add_follower(
    draft: Draft, drivers: tuple[tuple[str, Coord], ...], members: list[Moved]
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
        walls = tuple(walls_of(draft, {m.blob.layer for m in members}))
        way = Way(
            boxes=tuple(boxes), low=tuple(low), high=tuple(high), walls=walls, stops=tuple(stops)
        )
        draft.items.append(Item(name=name, ways=(way,)))
    else:
        draft.rules = [r for r in draft.rules if name not in r.items]


def _reach(draft: Draft, part: str, coord: Coord) -> float:
    """How far a coordinate may go from where it was tried, mm."""
    put = draft.probe.base.puts[part]
    tried = put.across if coord is Coord.ACROSS else put.up
    assert tried is not None
    places = [v for seat in draft.seats[part] for v in seat.places[coord].values()]
    return max(abs(v - tried) for v in places)


def _still(found: Probe, keep_out: Sequence[Blob], *, loose: bool) -> list[Blob]:
    """All that stands still wherever the open parts go."""
    several = [f for f in found.free if len(f.options) > 1]
    blobs = list(keep_out)
    for key, moved in found.base.found.items():
        if moved.odd or (loose and moved.jumps):
            continue
        if any(differs(found, f, key, moved) for f in several):
            continue
        if not moved.moves:
            blobs.append(moved.blob)
    return blobs


def _add_fixed(draft: Draft, blobs: Sequence[Blob]) -> None:
    zero = (0.0, 0.0, 0.0)
    layers = list(draft.layers)
    seen = [
        b for b in blobs if any(draft.needs.between(b.layer, layer) is not None for layer in layers)
    ]
    boxes = tuple(box for blob in seen for box in draft.boxes(blob, zero, zero))
    if boxes:
        way = Way(boxes=boxes, low=(0, 0, 0), high=(0, 0, 0))
        draft.items.append(Item(name=FIXED, ways=(way,)))
