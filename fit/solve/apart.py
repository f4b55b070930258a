"""Two items keep their gaps: each two of their boxes are apart along at least one direction.

Of two boxes that are only apart when two others are, nothing needs to be said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fit.solve.problem import Metric
from fit.solve.program import Program, Slot, Thing, along
from fit.solve.separations import Direction, back_of, directions

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import LiteralT


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """Two boxes that must be apart along at least one direction.

    Attributes:
        slots: the two boxes.
        need: the gap, steps.
        ways: the directions along which it is possible at all.
        least, most: for each of all directions how far the one reference point must be from the
            other, at the least and at the most in any of their ways; None where it is impossible.
        always: both boxes are there in all ways.
    """

    slots: tuple[Slot, Slot]
    need: int
    ways: tuple[Direction, ...]
    least: tuple[int | None, ...]
    most: tuple[int | None, ...]
    always: bool


def keep_apart(program: Program, a: Thing, b: Thing, packed: dict[str, int]) -> None:
    """Every two boxes of two items, except where the packing, or other two, say as much."""
    problem = program.problem
    found: dict[int | None, list[Apart]] = {}
    for one, two in _near(program, a, b):
        gap = problem.gap((a.item.name, one.layer), (b.item.name, two.layer))
        if gap is None:
            continue
        need = program.need(gap, a.item, b.item)
        if one.layer == two.layer and need <= packed.get(one.layer, -1):
            continue
        level = _level(a, one, b, two) if problem.metric is Metric.LOOSE else None
        apart = _apart((a, one), (b, two), need, directions(problem.metric, problem.axes, level))
        if apart is not None:
            found.setdefault(level, []).append(apart)
    for group in found.values():
        for apart in _kept(group):
            _one_of(program, a, b, apart)


def _near(program: Program, a: Thing, b: Thing) -> Iterator[tuple[Slot, Slot]]:
    """The pairs of boxes that can come so near to each other that some gap may matter."""
    problem = program.problem
    gaps = (*problem.gaps.values(), *problem.pairs.values())
    most = max((program.need(gap, a.item, b.item) for gap in gaps), default=0)
    held = [[np.array([t.held(s)[end] for s in t.slots]) for end in (0, 1)] for t in (a, b)]
    if not len(a.slots) or not len(b.slots):
        return
    (low, high), (other_low, other_high) = held
    near = (other_low[None] - high[:, None] < most) & (low[:, None] - other_high[None] < most)
    for n, m in np.argwhere(near.all(axis=2)):
        yield a.slots[n], b.slots[m]


def _level(a: Thing, one: Slot, b: Thing, two: Slot) -> int | None:
    """An axis along which two boxes are never apart, wherever they are put; None: there is none."""
    for axis in range(len(a.low)):
        unit = Direction(tuple(int(k == axis) for k in range(len(a.low))), 1)
        most = []
        for way in (unit, back_of(unit)):
            first, last = a.span(way.normal)[0], b.span(way.normal)[1]
            most.append(last - first - a.reaches(one, way)[0] - b.reaches(two, back_of(way))[0])
        if max(most) <= 0:
            return axis
    return None


def _kept(found: list[Apart]) -> list[Apart]:
    """Without those that are kept by others: whatever parts two boxes parts the other two."""
    if len(found) < 2:
        return found
    least = np.array([[np.inf if v is None else v for v in a.least] for a in found])
    most = np.array([[np.inf if v is None else v for v in a.most] for a in found])
    always = np.array([a.always for a in found])
    # Along a direction that is impossible for the one nothing can part it: it covers there.
    covers = (least[:, None, :] >= most[None, :, :]).all(axis=2) & always[:, None]
    np.fill_diagonal(covers, val=False)
    # Of two that cover each other the first is kept.
    covers &= ~(covers.T & np.tri(len(found), k=-1, dtype=bool))
    return [a for a, gone in zip(found, covers.any(axis=0), strict=True) if not gone]


def _apart(
    a: tuple[Thing, Slot], b: tuple[Thing, Slot], need: int, ways: tuple[Direction, ...]
) -> Apart | None:
    """What two boxes must keep; None where they always do."""
    (thing, slot), (other, other_slot) = a, b
    if _always(thing, slot, other, other_slot, need):
        return None
    possible = []
    least: list[int | None] = []
    most: list[int | None] = []
    for way in ways:
        back = back_of(way)
        (first, last), (low, high) = thing.span(way.normal), other.span(way.normal)
        mine, theirs = thing.reaches(slot, way), other.reaches(other_slot, back)
        if low - last - mine[1] - theirs[1] >= way.scale * need:
            return None
        there = high - first - mine[0] - theirs[0] >= way.scale * need
        least.append(way.scale * need + mine[0] + theirs[0] if there else None)
        most.append(way.scale * need + mine[1] + theirs[1] if there else None)
        if there:
            possible.append(way)
    return Apart(
        slots=(slot, other_slot),
        need=need,
        ways=tuple(possible),
        least=tuple(least),
        most=tuple(most),
        always=not thing.present(slot) and not other.present(other_slot),
    )


def _always(thing: Thing, slot: Slot, other: Thing, other_slot: Slot, need: int) -> bool:
    """Whether the boxes all their ways have are apart along an axis wherever they are put."""
    (low, high), (other_low, other_high) = thing.held(slot), other.held(other_slot)
    return any(
        c - b >= need or a - d >= need
        for a, b, c, d in zip(low, high, other_low, other_high, strict=True)
    )


def _one_of(program: Program, thing: Thing, other: Thing, apart: Apart) -> None:
    """Two boxes are apart along at least one direction, unless one of them is not there."""
    model, choices = program.model, []
    slot, other_slot = apart.slots
    for way in apart.ways:
        back = back_of(way)
        here, _ = thing.reach(slot, way.normal, way.scale)
        there, _ = other.reach(other_slot, back.normal, way.scale)
        moved = along(way.normal, other.at) - along(way.normal, thing.at)
        choice = model.new_bool_var("")
        model.add(moved - here - there >= way.scale * apart.need).only_enforce_if(choice)
        choices.append(choice)
    # Each present way of either box forbids the clause's way out.
    for first in _absences(thing, slot):
        for second in _absences(other, other_slot):
            model.add_bool_or([*choices, *first, *second])


def _absences(thing: Thing, slot: Slot) -> list[list[LiteralT]]:
    present = thing.present(slot)
    return [[~choice] for choice in present] or [[]]
