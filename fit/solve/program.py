"""From a layout question to a constraint model (CP-SAT)."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fit.solve.audit import way_ends
from fit.solve.problem import Box, Gap, Ints, Item, Metric, Problem, Rule, Spot, Tie, Wall, Way
from fit.solve.separations import Direction, bounds, directions, reach, scale_of

if TYPE_CHECKING:
    from ortools.sat.python import cp_model
    from ortools.sat.python.cp_model import IntVar, LinearExpr, LiteralT

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
    """An item in the model: its position, the choice of its way, and its boxes."""

    item: Item
    at: list[IntVar]
    low: Ints
    high: Ints
    ways: list[IntVar]
    slots: list[Slot]

    def reach(self, slot: Slot, normal: Ints, scale: int) -> tuple[Expr, int]:
        """How far a box reaches along a normal: an expression, and its least value."""
        values = [(way, reach(box, normal, scale)) for way, box in slot.boxes]
        least = min(v for _, v in values)
        if all(v == least for _, v in values):
            return least, least
        return least + sum((v - least) * self.ways[way] for way, v in values if v != least), least

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
    """The model of a problem and the way back from its values."""

    problem: Problem
    model: cp_model.CpModel
    margin: IntVar
    things: dict[str, Thing] = field(default_factory=dict)

    def layout(self, ran: Ran) -> dict[str, Spot]:
        """Read a layout from a run that found one."""
        found = {}
        for name, thing in self.things.items():
            way = next((k for k, w in enumerate(thing.ways) if ran.solver.boolean_value(w)), 0)
            found[name] = Spot(way=way, at=tuple(int(ran.solver.value(v)) for v in thing.at))
        return found


def build(problem: Problem, *, helpers: bool = True) -> Program:
    """Build the model.

    Args:
        problem: the question.
        helpers: add what only speeds the search up (order of equal items, packing helpers);
            without, the model is the bare question, for repeating a proof.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    program = Program(
        problem=problem, model=model, margin=model.new_int_var(0, problem.cap, "margin")
    )
    for item in problem.items:
        program.things[item.name] = _thing(program, item)
    for a, b in itertools.combinations(program.things.values(), 2):
        if not (a.item.fixed and b.item.fixed):
            _keep_apart(program, a, b)
    for rule in problem.rules:
        _tie(program, rule)
    if helpers:
        _order_twins(program)
        _pack(program)
    return program


def _thing(program: Program, item: Item) -> Thing:
    model = program.model
    low = tuple(min(w.low[k] for w in item.ways) for k in range(program.problem.axes))
    high = tuple(max(w.high[k] for w in item.ways) for k in range(program.problem.axes))
    if any(a > b for w in item.ways for a, b in zip(w.low, w.high, strict=True)):
        raise ValueError(f"'{item.name}' has an empty range")
    at = [
        model.new_int_var(a, b, f"{item.name}.{k}")
        for k, (a, b) in enumerate(zip(low, high, strict=True))
    ]
    ways = [model.new_bool_var(f"{item.name} way {k}") for k in range(len(item.ways))]
    model.add_exactly_one(ways)
    thing = Thing(item=item, at=at, low=low, high=high, ways=ways, slots=_slots(item.ways))
    for choice, way in zip(ways, item.ways, strict=True):
        for value, a, b, least, most in zip(at, way.low, way.high, low, high, strict=True):
            if (a, b) != (least, most):
                model.add(value >= a).only_enforce_if(choice)
                model.add(value <= b).only_enforce_if(choice)
    _stay_inside(program, thing)
    return thing


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
    """Each way's walls, the furthest box behind each; walls that all ways share need no choice."""
    for k, way in enumerate(thing.item.ways):
        for wall in way.walls:
            room = _behind(program, thing, way, wall)
            if room is None:
                continue
            constraint = program.model.add(room >= 0)
            if len(thing.ways) > 1:
                constraint.only_enforce_if(thing.ways[k])


def _behind(program: Program, thing: Thing, way: Way, wall: Wall) -> Expr | None:
    """What is left to a wall, times its scale; None where no box sees it."""
    free = wall.offset - _dot(wall.normal, thing.at)
    if not wall.layers:
        return free
    scale = scale_of(wall.normal)
    reaches = [reach(b, wall.normal, scale) for b in way.boxes if b.layer in wall.layers]
    if not reaches:
        return None
    return free - max(reaches) - scale * (wall.need + (program.margin if wall.counts else 0))


def _dot(normal: Ints, at: Iterable[Expr]) -> Expr:
    return sum((n * v for n, v in zip(normal, at, strict=True) if n), 0)


def _keep_apart(program: Program, a: Thing, b: Thing) -> None:
    problem = program.problem
    ways = directions(problem.metric, problem.axes)
    for one, two in itertools.product(a.slots, b.slots):
        gap = problem.gap((a.item.name, one.layer), (b.item.name, two.layer))
        if gap is not None:
            _one_of(program, (a, one), (b, two), gap, ways)


def _one_of(
    program: Program,
    a: tuple[Thing, Slot],
    b: tuple[Thing, Slot],
    gap: Gap,
    ways: tuple[Direction, ...],
) -> None:
    """Two boxes are apart along at least one direction, unless one of them is not there."""
    model, choices = program.model, []
    (thing, slot), (other, other_slot) = a, b
    for way in ways:
        back = tuple(-n for n in way.normal)
        here, here_least = thing.reach(slot, way.normal, way.scale)
        there, there_least = other.reach(other_slot, back, way.scale)
        most = other.span(way.normal)[1] - thing.span(way.normal)[0]
        if most - here_least - there_least < way.scale * gap.need:
            continue
        need = way.scale * (gap.need + (program.margin if gap.counts else 0))
        moved = _dot(way.normal, other.at) - _dot(way.normal, thing.at)
        choice = model.new_bool_var("")
        model.add(moved - here - there >= need).only_enforce_if(choice)
        choices.append(choice)
    _unless_missing(program, a, b, choices)


def _unless_missing(
    program: Program, a: tuple[Thing, Slot], b: tuple[Thing, Slot], choices: list[IntVar]
) -> None:
    # Each present way of either box forbids the clause's way out.
    for first in _absences(*a):
        for second in _absences(*b):
            program.model.add_bool_or([*choices, *first, *second])


def _absences(thing: Thing, slot: Slot) -> list[list[LiteralT]]:
    present = thing.present(slot)
    return [[~choice] for choice in present] or [[]]


def _tie(program: Program, rule: Rule) -> None:
    model = program.model
    things = [program.things[name] for name in rule.items]
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
            model.add(one == two)
    elif rule.tie is Tie.CENTRED:
        model.add_linear_constraint(at[0] + at[-1], rule.value - 1, rule.value + 1)
    else:
        ends = [_ends(thing, rule.axis) for thing in things]
        gaps = [b[0] - a[1] for a, b in itertools.pairwise(ends)]
        for before, after in itertools.pairwise(gaps):
            model.add(before == after)


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
        if thing.item.name not in named and not thing.item.fixed:
            groups.setdefault(thing.item.ways, []).append(thing)
    for twins in groups.values():
        first = twins[0]
        axis = max(range(problem.axes), key=lambda k, t=first: t.high[k] - t.low[k])  # type: ignore[misc]
        for a, b in itertools.pairwise(twins):
            program.model.add(a.at[axis] <= b.at[axis])


def _pack(program: Program) -> None:
    """For flat questions along the axes: the same boxes as one packing, grown by the least gap."""
    problem = program.problem
    gaps = [*problem.gaps.values(), *problem.pairs.values()]
    if problem.axes != 2 or problem.metric is not Metric.AXIS or not problem.gaps:
        return
    layers = {layer for pair in problem.gaps for layer in pair}
    seen = [layer for layer in sorted(layers) if (layer, layer) in problem.gaps]
    grow = min(g.need for g in gaps)
    more = program.margin if all(g.counts for g in gaps) else 0
    for layer in seen:
        across, up = [], []
        for thing in program.things.values():
            slots = [s for s in thing.slots if s.layer == layer and not thing.present(s)]
            if not _disjoint(slots):
                slots = slots[:1]
            for slot in filter(_has_area, slots):
                across.append(_interval(program, thing, slot, 0, grow + more))
                up.append(_interval(program, thing, slot, 1, grow + more))
        program.model.add_no_overlap_2d(across, up)


def _disjoint(slots: list[Slot]) -> bool:
    """Whether boxes of one item never overlap, in any of its ways."""
    for one, two in itertools.combinations(slots, 2):
        for (_, a), (_, b) in zip(one.boxes, two.boxes, strict=True):
            (al, ah), (bl, bh) = bounds(a), bounds(b)
            if all(p < q and r < s for p, q, r, s in zip(al, bh, bl, ah, strict=True)):
                return False
    return True


def _has_area(slot: Slot) -> bool:
    """Whether a box is more than a line in all ways: the solver's packing rule is about areas."""
    return all(a < b for _, box in slot.boxes for a, b in zip(*bounds(box), strict=True))


def _interval(
    program: Program, thing: Thing, slot: Slot, axis: int, extra: Expr
) -> cp_model.IntervalVar:
    unit = tuple(int(i == axis) for i in range(program.problem.axes))
    minus = tuple(-n for n in unit)
    high, _ = thing.reach(slot, unit, 1)
    low, _ = thing.reach(slot, minus, 1)
    model, most = program.model, 4 * far(program)
    start, end = (model.new_int_var(-most, most, "") for _ in range(2))
    size = model.new_int_var(0, most, "")
    model.add(start == thing.at[axis] - low)
    model.add(size == high + low + extra)
    model.add(end == thing.at[axis] + high + extra)
    return model.new_interval_var(start, size, end, "")


def far(program: Program) -> int:
    """A coordinate beyond all others, steps."""
    return 1 + sum(max(abs(v) for v in (*t.low, *t.high)) for t in program.things.values())
