"""How much room each free item has among all that stands still: its margin at every place.

What an item keeps from walls and fixed items depends on its own place alone. So it is worked out
once, as a table over the places it may take, and the model only holds the places that are left at
the margin asked for. Whole numbers throughout; the same measure as `fit.solve.audit`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fit.solve.problem import Box, Ints, Item, Metric, Problem, Tie, Wall, Way
from fit.solve.separations import (
    Direction,
    bounds,
    directions,
    reach,
    scale_of,
    swells_by,
)

if TYPE_CHECKING:
    from fit.solve.pairs import Tables

Steps = npt.NDArray[np.int64]

MOST_PLACES = 120_000
"""An item's way with more places than this is left to the model."""

_CHUNK = 1_000_000

NEVER = -1
"""The margin of a place that is not allowed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The margins of one way of an item.

    Attributes:
        values: for each axis the coordinates it may have, steps.
        margin: at each combination of them, steps, at most the question's cap; `NEVER` where the
            item may not be.
    """

    values: tuple[Steps, ...]
    margin: Steps

    def places(self, least: int) -> Steps:
        """The places with at least this margin: one row of coordinates each."""
        at = np.nonzero(self.margin >= max(least, 0))
        return np.stack([v[i] for v, i in zip(self.values, at, strict=True)], axis=1)

    @property
    def best(self) -> int:
        """The largest margin anywhere, or `NEVER`."""
        return int(self.margin.max()) if self.margin.size else NEVER


@dataclass(slots=True)
class Maps:
    """The rooms of a question's items, worked out as they are asked for.

    Attributes:
        problem: the question.
        tables: which places go together, of the whole that it is a part of; None: by itself.
    """

    problem: Problem
    _rooms: dict[str, tuple[Room, ...] | None] = field(default_factory=dict)
    _tables: dict[tuple[str, str, frozenset[str]], Fixed] = field(default_factory=dict)
    tables: Tables | None = None

    def rooms(self, item: Item) -> tuple[Room, ...] | None:
        """For each way of an item its room; None where it is fixed or has too many places."""
        if item.name not in self._rooms:
            self._rooms[item.name] = self._worked(item)
        return self._rooms[item.name]

    def _fixed(self, name: str, layer: str, known: frozenset[str]) -> Fixed:
        # Without gaps of their own all items of a layer see the same boxes.
        key = (name if self.problem.pairs else "", layer, known)
        if key not in self._tables:
            self._tables[key] = fixed_boxes(self.problem, name, layer, known)
        return self._tables[key]

    def renewed(self, problem: Problem, changed: frozenset[str] = frozenset()) -> Maps:
        """The rooms for a question that differs only in rules, points, and what is `changed`."""
        return Maps(problem, {n: r for n, r in self._rooms.items() if n not in changed})

    def _worked(self, item: Item) -> tuple[Room, ...] | None:
        if item.fixed:
            return None
        values = [_values(way) for way in item.ways]
        if any(
            way.table is None and np.prod([float(len(v)) for v in each]) > MOST_PLACES
            for way, each in zip(item.ways, values, strict=True)
        ):
            return None
        return tuple(
            _room(self.problem, item, way, each, self._fixed)
            for way, each in zip(item.ways, values, strict=True)
        )


def _values(way: Way) -> tuple[Steps, ...]:
    return tuple(
        np.array(way.stops_on(axis) or range(way.low[axis], way.high[axis] + 1), dtype=np.int64)
        if _few(way, axis)
        else np.zeros(MOST_PLACES + 1, dtype=np.int64)
        for axis in range(len(way.low))
    )


def _few(way: Way, axis: int) -> bool:
    return bool(way.stops_on(axis)) or way.high[axis] - way.low[axis] < MOST_PLACES


def _room(
    problem: Problem,
    item: Item,
    way: Way,
    values: tuple[Steps, ...],
    fixed: Callable[[str, str, frozenset[str]], Fixed],
) -> Room:
    known = frozenset[str]()
    if way.table is not None:
        margin = np.clip(way.table.margin, NEVER, problem.cap)
        known = way.table.known
    else:
        margin = np.full(tuple(len(v) for v in values), problem.cap, dtype=np.int64)
        for axis, stops in enumerate(way.stops):
            if stops and not way.stops_on(axis):
                margin[...] = NEVER
        for wall in way.walls:
            _to_wall(margin, problem.cap, way, wall, values)
    ways = directions(problem.metric, problem.axes) if problem.metric is not Metric.AXIS else ()
    for one in way.boxes:
        _to_boxes(margin, problem.cap, one, fixed(item.name, one.layer, known), values, ways)
    return Room(values=values, margin=margin)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fixed:
    """All fixed boxes that a layer sees: their corners with what they swell, and the gap, steps."""

    low: Steps
    high: Steps
    swell: Steps
    round: Steps
    need: Steps
    counts: npt.NDArray[np.bool_]


def fixed_boxes(problem: Problem, name: str, layer: str, known: frozenset[str]) -> Fixed:
    """The fixed boxes that an item's boxes of a layer must keep off, but those of known items."""
    rows = []
    for item in problem.items:
        if not item.fixed or item.name in known:
            continue
        at = item.ways[0].low
        for box in item.ways[0].boxes:
            gap = problem.gap((name, layer), (item.name, box.layer))
            if gap is not None:
                low = [p + a for p, a in zip(at, bounds(box)[0], strict=True)]
                high = [p + a for p, a in zip(at, bounds(box)[1], strict=True)]
                about = -1 if box.round is None else box.round
                rows.append((*low, *high, box.swell, about, gap.need, gap.counts))
    found = np.array(rows, dtype=np.int64).reshape(len(rows), 2 * problem.axes + 4)
    k = problem.axes
    return Fixed(
        low=found[:, :k],
        high=found[:, k : 2 * k],
        swell=found[:, -4],
        round=found[:, -3],
        need=found[:, -2],
        counts=found[:, -1] > 0,
    )


def _to_boxes(
    margin: Steps,
    cap: int,
    one: Box,
    others: Fixed,
    values: tuple[Steps, ...],
    ways: Sequence[Direction],
) -> None:
    """To many fixed boxes at once, along the best of some directions; none given: the axes."""
    most = others.need + cap
    near = np.ones(len(others.need), dtype=bool)
    lows, highs = bounds(one)
    for axis, v in enumerate(values):
        low, high = lows[axis], highs[axis]
        near &= others.low[:, axis] - (v[-1] + high) < most
        near &= (v[0] + low) - others.high[:, axis] < most
    rows = np.flatnonzero(near)
    chunk = max(1, _CHUNK // margin.size)
    for start in range(0, len(rows), chunk):
        part = rows[start : start + chunk]
        free = _along(one, others, part, values, ways) if ways else _axes(one, others, part, values)
        ends = (-1, *(1,) * margin.ndim)
        free = free - others.need[part].reshape(ends)
        left = np.where(others.counts[part].reshape(ends), np.minimum(free, cap), cap)
        np.minimum(margin, np.where(free < 0, NEVER, left).min(axis=0), out=margin)


def _axes(one: Box, others: Fixed, part: Steps, values: tuple[Steps, ...]) -> Steps:
    """The largest gap along the axes, for each of the fixed boxes and each place."""
    free: Steps | None = None
    lows, highs = bounds(one)
    for axis, v in enumerate(values):
        low, high = lows[axis], highs[axis]
        before = others.low[part, axis, None] - (v + high)
        behind = (v + low) - others.high[part, axis, None]
        shape = [-1] + [1] * len(values)
        shape[axis + 1] = len(v)
        apart = np.maximum(before, behind).reshape(shape)
        free = apart if free is None else np.maximum(free, apart)
    assert free is not None
    return free


def _along(
    one: Box, others: Fixed, part: Steps, values: tuple[Steps, ...], ways: Sequence[Direction]
) -> Steps:
    """The largest gap along the directions, for each of the fixed boxes and each place."""
    free: Steps | None = None
    for way in ways:
        # How far each fixed box reaches back along the direction, from the origin. Its swell is
        # rounded off there, while the corners in the table have it in full along each axis.
        core = sum(
            n
            * np.where(
                n > 0,
                others.low[part, k] + others.swell[part] * (others.round[part] != k),
                others.high[part, k] - others.swell[part] * (others.round[part] != k),
            )
            for k, n in enumerate(way.normal)
        )
        swells = np.array([swells_by(way, about) for about in (None, *range(len(values)))])
        swollen = others.swell[part] * swells[others.round[part] + 1]
        start = core - swollen - reach(one, way.normal, way.scale)
        places = _linear(way.normal, values)
        apart = (start.reshape((-1, *(1,) * len(values))) - places[None]) // way.scale
        free = apart if free is None else np.maximum(free, apart)
    assert free is not None
    return free


def _to_wall(margin: Steps, cap: int, way: Way, wall: Wall, values: tuple[Steps, ...]) -> None:
    """To a half space: what is left of its offset falls off evenly."""
    if not wall.layers:
        left = wall.offset - _linear(wall.normal, values)
        margin[np.broadcast_to(left < 0, margin.shape)] = NEVER
        return
    scale = scale_of(wall.normal)
    reaches = [reach(b, wall.normal, scale) for b in way.boxes if b.layer in wall.layers]
    if not reaches:
        return
    left = wall.offset - _linear(wall.normal, values) - max(reaches) - scale * wall.need
    _lower(margin, left // scale, cap, counts=wall.counts)


def _linear(normal: Ints, values: Sequence[Steps]) -> Steps:
    """``normal · place`` over all places, as an array that broadcasts to them."""
    total = np.zeros((1,) * len(values), dtype=np.int64)
    for axis, (n, v) in enumerate(zip(normal, values, strict=True)):
        if n:
            shape = [1] * len(values)
            shape[axis] = len(v)
            total = total + n * v.reshape(shape)
    return total


def _lower(margin: Steps, free: Steps, cap: int, *, counts: bool) -> None:
    """Take the lesser of the margin so far and what is free now."""
    left = np.where(free < 0, NEVER, np.minimum(free, cap) if counts else cap)
    np.minimum(margin, left, out=margin)


def with_enough(maps: Maps) -> Maps:
    """The question with what is enough for each item: the most that walls and fixed things leave.

    Returns:
        The same rooms with the new question.
    """
    problem = maps.problem
    best = {n: most for items in _together(problem) for n, most in _most(maps, items).items()}
    items = tuple(
        replace(item, enough=best[item.name])
        if NEVER < best.get(item.name, problem.cap) < problem.cap
        else item
        for item in problem.items
    )
    return maps.renewed(replace(problem, items=items))


def _together(problem: Problem) -> list[list[Item]]:
    """Each free item with those that follow it."""
    lead = {r.items[1]: r.items[0] for r in problem.rules if r.tie is Tie.FOLLOWS}
    found = {i.name: [i] for i in problem.items if not i.fixed and i.name not in lead}
    for item in problem.items:
        if item.name in lead:
            found[lead[item.name]].append(item)
    return list(found.values())


def _most(maps: Maps, items: Sequence[Item]) -> dict[str, int]:
    """The most each of some items that go together can have where the least of them has most."""
    rooms = [maps.rooms(item) for item in items]
    known = [(i, r) for i, r in zip(items, rooms, strict=True) if r is not None]
    if not known:
        return {}
    tables = [[r[way].margin for _, r in known] for way in range(len(known[0][1]))]
    least = [np.minimum.reduce(np.broadcast_arrays(*each)) for each in tables]
    top = max(int(each.min(initial=NEVER) if not each.size else each.max()) for each in least)
    found = {}
    for k, (item, _) in enumerate(known):
        found[item.name] = max(
            int(np.broadcast_to(each[k], low.shape)[low >= top].max(initial=NEVER))
            for each, low in zip(tables, least, strict=True)
        )
    return found
