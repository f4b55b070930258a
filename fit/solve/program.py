"""From a layout question and a margin to a yes-or-no constraint model (CP-SAT).

The margin is a given number in each model, not a variable: sizes are then constants, and the
solver's packing rules bite. `engine` looks for the largest margin with several such models.
"""

from __future__ import annotations

import contextlib
import gc
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from fit.solve.audit import way_ends
from fit.solve.maps import Maps, Steps
from fit.solve.problem import Box, Gap, Ints, Item, Problem, Rule, Spot, Tie, Wall, Way
from fit.solve.separations import Direction, reach, scale_of
from fit.solve.sieve import sieved

if TYPE_CHECKING:
    from ortools.sat.python import cp_model
    from ortools.sat.python.cp_model import IntVar, LinearExpr

    from fit.solve.run import Ran

    Expr = LinearExpr | int


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """A box of an item, with what it is in each of the item's ways.

    Attributes:
        layer: its layer.
        boxes: (way, box) for each way that has it.
    """

    layer: str
    boxes: tuple[tuple[int, Box], ...]


@dataclass(slots=True, kw_only=True)
class Thing:
    """An item in the model: its position, the choice of its way, and its boxes.

    `item` has only the ways that are open at this margin, with the ranges the walls leave;
    `numbers` are their places in the list the question has. `fixed` is the question's: obstacles
    may overlap each other, a part that walls leave a single spot may not. `mapped` items take
    only places that are known to be free of walls and fixed items. `memory`, `rooms`,
    `reached` and `reaching` hold how far boxes reach, which is asked for many times.
    """

    item: Item
    fixed: bool
    mapped: bool
    numbers: list[int]
    at: list[IntVar]
    low: Ints
    high: Ints
    ways: list[IntVar]
    slots: list[Slot]
    memory: dict[tuple[int, Direction], tuple[int, ...]] = field(default_factory=dict)
    rooms: dict[int, tuple[Ints, Ints]] = field(default_factory=dict)
    reached: dict[Direction, tuple[Steps, Steps]] = field(default_factory=dict)
    reaching: dict[tuple[int, Direction], tuple[Expr, int]] = field(default_factory=dict)

    def reach(self, slot: Slot, normal: Ints, scale: int) -> tuple[Expr, int]:
        """How far a box reaches along a normal: an expression, and its least value."""
        way = Direction(normal, scale)
        found = self.reaching.get((id(slot), way))
        if found is None:
            values = self._reached(slot, way)
            least = min(values)
            more = [
                (v - least) * self.ways[number]
                for (number, _), v in zip(slot.boxes, values, strict=True)
                if v != least
            ]
            found = (least + sum(more) if more else least), least
            self.reaching[id(slot), way] = found
        return found

    def reaches(self, slot: Slot, way: Direction) -> tuple[int, int]:
        """The least and the most a box reaches along a direction, in all ways it is in."""
        values = self._reached(slot, way)
        return min(values), max(values)

    def _reached(self, slot: Slot, way: Direction) -> tuple[int, ...]:
        """How far a box reaches along a direction in each of the ways it is in."""
        key = (id(slot), way)
        found = self.memory.get(key)
        if found is None:
            found = tuple(reach(box, way.normal, way.scale) for _, box in slot.boxes)
            self.memory[key] = found
        return found

    def held(self, slot: Slot) -> tuple[Ints, Ints]:
        """The corners of the room that a box can ever reach into."""
        found = self.rooms.get(id(slot))
        if found is None:
            boxes = [(self.item.ways[n], box) for n, box in slot.boxes]
            axes = range(len(self.low))
            found = (
                tuple(min(w.low[k] + b.low[k] - b.swell for w, b in boxes) for k in axes),
                tuple(max(w.high[k] + b.high[k] + b.swell for w, b in boxes) for k in axes),
            )
            self.rooms[id(slot)] = found
        return found

    def span(self, normal: Ints) -> tuple[int, int]:
        """The least and the most of ``normal · at`` over all positions."""
        ends = [(n * a, n * b) for n, a, b in zip(normal, self.low, self.high, strict=True)]
        return sum(min(e) for e in ends), sum(max(e) for e in ends)

    def present(self, slot: Slot) -> list[IntVar]:
        """The choices of which one must be taken for the box to be there; empty: always."""
        if len(slot.boxes) == len(self.item.ways):
            return []
        return [self.ways[way] for way, _ in slot.boxes]


@dataclass(slots=True, kw_only=True)
class Program:
    """The model of a problem at a margin, and the way back from its values."""

    problem: Problem
    margin: int
    model: cp_model.CpModel
    maps: Maps | None = None
    stride: int = 1
    things: dict[str, Thing] = field(default_factory=dict)

    def layout(self, ran: Ran) -> dict[str, Spot]:
        """Read a layout from a run that found one."""
        found = {}
        for name, thing in self.things.items():
            taken = next(k for k, way in enumerate(thing.ways) if ran.value(way))
            found[name] = Spot(
                way=thing.numbers[taken], at=tuple(ran.value(value) for value in thing.at)
            )
        return found

    def need(self, gap: Gap | Wall, *items: Item) -> int:
        """What must be free at this margin, steps; of items that have their own: no more."""
        return gap.need + (self.least(*items) if gap.counts else 0)

    def least(self, *items: Item) -> int:
        """The margin asked for, but what is enough for any of the items."""
        return min((self.margin, *(i.enough for i in items if i.enough is not None)))


def build(
    problem: Problem,
    margin: int,
    *,
    maps: Maps | None = None,
    helpers: bool = True,
    stride: int = 1,
) -> Program | None:
    """Build the model of: is there a layout with at least this margin?

    Args:
        problem: the question.
        margin: steps.
        maps: the room of each item among what is fixed, where it was worked out.
        helpers: put items that are alike in order; without, the model is the bare question.
        stride: every so-manieth place alone, where the maps know them.

    Returns:
        The model; None when an item has nowhere to be even alone between its walls.
    """
    from ortools.sat.python import cp_model

    program = Program(
        problem=problem, margin=margin, model=cp_model.CpModel(), maps=maps, stride=stride
    )
    with _undisturbed():
        return program if _filled(program, helpers=helpers) else None


@contextlib.contextmanager
def _undisturbed() -> Iterator[None]:
    """Without looks for garbage: a model is many small things, none of them garbage yet."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _filled(program: Program, *, helpers: bool) -> bool:
    """Say all of a problem in its model; False when an item has nowhere to be."""
    from fit.solve.apart import keep_apart
    from fit.solve.packform import pack, pack_planes

    problem = program.problem
    for item in problem.items:
        thing = _thing(program, item)
        if thing is None:
            return False
        program.things[item.name] = thing
    packed = {} if any(i.enough is not None for i in problem.items) else pack(program)
    pack_planes(program)
    for a, b in itertools.combinations(program.things.values(), 2):
        known = (a.mapped and b.fixed) or (a.fixed and b.mapped)
        if not known and not (a.fixed and b.fixed):
            keep_apart(program, a, b, packed)
    for rule in problem.rules:
        _tie(program, rule)
    if helpers:
        _order_twins(program)
    return True


def far(program: Program) -> int:
    """A coordinate beyond all others, steps."""
    return 1 + sum(max(abs(v) for v in (*t.low, *t.high)) for t in program.things.values())


def _thing(program: Program, item: Item) -> Thing | None:
    model = program.model
    rooms = program.maps.rooms(item) if program.maps is not None else None
    kept = [
        (k, _tight(program, item, way) if rooms is None else way) for k, way in enumerate(item.ways)
    ]
    open_ways = [(k, way) for k, way in kept if way is not None]
    places = []
    if rooms is not None:
        least = program.least(item)
        places = [(k, sieved(rooms[k].places(least), program.stride)) for k, _ in open_ways]
        places = [(k, rows) for k, rows in places if len(rows)]
        open_ways = [(k, _cut_to(item.ways[k], rows)) for k, rows in places]
    if not open_ways:
        return None
    ways = tuple(way for _, way in open_ways)
    low = tuple(min(w.low[k] for w in ways) for k in range(program.problem.axes))
    high = tuple(max(w.high[k] for w in ways) for k in range(program.problem.axes))
    at = [_coordinate(program, item.name, axis, ways) for axis in range(program.problem.axes)]
    choices = [model.new_bool_var(f"{item.name} way {k}") for k, _ in open_ways]
    model.add_exactly_one(choices)
    thing = Thing(
        item=Item(name=item.name, ways=ways, enough=item.enough),
        fixed=item.fixed,
        mapped=rooms is not None,
        numbers=[k for k, _ in open_ways],
        at=at,
        low=low,
        high=high,
        ways=choices,
        slots=_slots(ways),
    )
    if rooms is not None:
        _one_place(program, thing, [rows for _, rows in places])
    else:
        _stay_inside(program, thing)
    return thing


def _cut_to(way: Way, rows: Steps) -> Way:
    """A way that may only be at these places, as far as its coordinates one by one can tell."""
    stops = tuple(tuple(np.unique(column).tolist()) for column in rows.T)
    low, high = tuple(s[0] for s in stops), tuple(s[-1] for s in stops)
    return replace(way, low=low, high=high, walls=(), stops=stops, table=None)


def _one_place(program: Program, thing: Thing, places: Sequence[Steps]) -> None:
    """The coordinates are one of the places of the way that is taken."""
    if len(places) == 1:
        rows = places[0]
        if len(rows) < np.prod([len(np.unique(column)) for column in rows.T]):
            program.model.add_allowed_assignments(thing.at, rows.tolist())
        return
    taken = program.model.new_int_var(0, len(places) - 1, "")
    for n, choice in enumerate(thing.ways):
        program.model.add(taken == n).only_enforce_if(choice)
    table = np.concatenate([np.insert(rows, 0, n, axis=1) for n, rows in enumerate(places)])
    program.model.add_allowed_assignments([taken, *thing.at], table.tolist())


def _coordinate(program: Program, name: str, axis: int, ways: Sequence[Way]) -> IntVar:
    """A coordinate that any of the ways allows."""
    from ortools.sat.python import cp_model

    allowed = cp_model.Domain(1, 0)
    for way in ways:
        allowed = allowed.union_with(_allowed(way, axis))
    return program.model.new_int_var_from_domain(allowed, f"{name}.{axis}")


def _allowed(way: Way, axis: int) -> cp_model.Domain:
    from ortools.sat.python import cp_model

    stops = way.stops_on(axis)
    if stops:
        return cp_model.Domain.from_values(stops)
    return cp_model.Domain(way.low[axis], way.high[axis])


def _tight(program: Program, item: Item, way: Way) -> Way | None:
    """A way with its range cut down to what its upright walls leave; None: nothing is left."""
    low, high = list(way.low), list(way.high)
    slanted = []
    for wall in way.walls:
        axes = [k for k, n in enumerate(wall.normal) if n]
        free = _offset(program, item, way, wall)
        if free is None:
            continue
        if len(axes) > 1:
            slanted.append(wall)
            continue
        n = wall.normal[axes[0]]
        if n > 0:
            high[axes[0]] = min(high[axes[0]], free // n)
        else:
            low[axes[0]] = max(low[axes[0]], -(free // -n))
    if any(a > b for a, b in zip(low, high, strict=True)):
        return None
    tight = replace(way, low=tuple(low), high=tuple(high), walls=tuple(slanted))
    stopped = (axis for axis, stops in enumerate(way.stops) if stops)
    return None if any(not tight.stops_on(axis) for axis in stopped) else tight


def _offset(program: Program, item: Item, way: Way, wall: Wall) -> int | None:
    """The most of ``normal · at`` that a wall allows; None where no box sees it."""
    if not wall.layers:
        return wall.offset
    scale = scale_of(wall.normal)
    reaches = [reach(b, wall.normal, scale) for b in way.boxes if b.layer in wall.layers]
    return wall.offset - max(reaches) - scale * program.need(wall, item) if reaches else None


def _slots(ways: Sequence[Way]) -> list[Slot]:
    """Boxes that correspond in all ways share a slot, where the ways are built alike."""
    layers = [tuple(b.layer for b in way.boxes) for way in ways]
    if len(set(layers)) == 1:
        return [
            Slot(layer=layer, boxes=tuple((k, way.boxes[n]) for k, way in enumerate(ways)))
            for n, layer in enumerate(layers[0])
        ]
    return [Slot(layer=b.layer, boxes=((k, b),)) for k, w in enumerate(ways) for b in w.boxes]


def _stay_inside(program: Program, thing: Thing) -> None:
    """Each way's range and its slanted walls."""
    for choice, way in zip(thing.ways, thing.item.ways, strict=True):
        for axis, value in enumerate(thing.at):
            if any(_allowed(w, axis) != _allowed(way, axis) for w in thing.item.ways):
                domain = _allowed(way, axis)
                program.model.add_linear_expression_in_domain(value, domain).only_enforce_if(choice)
        for wall in way.walls:
            most = _offset(program, thing.item, way, wall)
            assert most is not None
            program.model.add(along(wall.normal, thing.at) <= most).only_enforce_if(choice)


def along(normal: Ints, at: Iterable[IntVar]) -> Expr:
    """How far a point lies along a direction, times its length."""
    return sum((n * v for n, v in zip(normal, at, strict=True) if n), 0)


def _tie(program: Program, rule: Rule) -> None:
    model = program.model
    things = [program.things[name] for name in rule.items]
    if rule.tie is Tie.FOLLOWS:
        _follow(program, *things)
        return
    if rule.tie is Tie.AMONG:
        for thing in things:
            for number, way in zip(thing.numbers, thing.ways, strict=True):
                if number not in rule.ways:
                    model.add(way == 0)
        return
    at = [thing.at[rule.axis] for thing in things]
    steps = [b - a for a, b in itertools.pairwise(at)]
    if rule.tie is Tie.IN_LINE:
        for step in steps:
            model.add(step == 0)
    elif rule.tie is Tie.IN_ORDER:
        for step in steps:
            model.add(step >= rule.value)
    elif rule.tie is Tie.EQUAL_PITCH:
        for one, two in itertools.pairwise(steps):
            model.add_linear_constraint(one - two, -rule.slack, rule.slack)
    elif rule.tie is Tie.CENTRED:
        slack = max(1, rule.slack)
        model.add_linear_constraint(at[0] + at[-1], rule.value - slack, rule.value + slack)
    else:
        ends = [_ends(thing, rule.axis) for thing in things]
        gaps = [b[0] - a[1] for a, b in itertools.pairwise(ends)]
        for before, after in itertools.pairwise(gaps):
            model.add_linear_constraint(before - after, -rule.slack, rule.slack)


def _follow(program: Program, leader: Thing, follower: Thing) -> None:
    """The same way, and the same coordinates where the follower has a choice."""
    ways = {item.name: item for item in program.problem.items}[follower.item.name].ways
    choices = dict(zip(follower.numbers, follower.ways, strict=True))
    for number, choice in zip(leader.numbers, leader.ways, strict=True):
        same = choices.pop(number, None)
        if same is None:
            program.model.add(choice == 0)
            continue
        program.model.add(choice == same)
        for axis, (p, q) in enumerate(zip(leader.at, follower.at, strict=True)):
            if ways[number].moves_on(axis):
                program.model.add(p == q).only_enforce_if(choice)
    for choice in choices.values():
        program.model.add(choice == 0)


def _ends(thing: Thing, axis: int) -> tuple[Expr, Expr]:
    ends = [way_ends(way, axis) for way in thing.item.ways]
    low = sum(e[0] * w for e, w in zip(ends, thing.ways, strict=True))
    high = sum(e[1] * w for e, w in zip(ends, thing.ways, strict=True))
    return thing.at[axis] + low, thing.at[axis] + high


def _order_twins(program: Program) -> None:
    """Items that are alike in everything are put in order along the axis they can move on."""
    problem = program.problem
    named = {n for rule in problem.rules for n in rule.items}
    named |= {n for pair in problem.pairs for n in pair}
    named |= {n for wish in problem.wishes for n in (wish.item, wish.other) if n}
    named |= {n for wire in problem.wires for n in (wire.a, wire.b)}
    groups: dict[tuple[Way, ...], list[Thing]] = {}
    for thing in program.things.values():
        if thing.item.name not in named and not thing.fixed:
            groups.setdefault(thing.item.ways, []).append(thing)
    for twins in groups.values():
        room = [b - a for a, b in zip(twins[0].low, twins[0].high, strict=True)]
        axis = room.index(max(room))
        for before, after in itertools.pairwise(twins):
            program.model.add(before.at[axis] <= after.at[axis])
