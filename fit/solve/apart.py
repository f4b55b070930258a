"""Two items keep their gaps: each two of their boxes are apart along at least one direction.

Of two boxes that are only apart when two others are, nothing needs to be said.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fit.solve.maps import Steps
from fit.solve.problem import Metric
from fit.solve.program import Program, Slot, Thing, along
from fit.solve.separations import Direction, back_of, directions

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LiteralT

    from fit.solve.program import Expr

_NO_LEVEL = -1
_FAR = 1 << 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """Pairs of boxes of two items, and the gap each must keep, steps: one line for each pair."""

    first: Steps
    second: Steps
    need: Steps

    def only(self, kept: npt.NDArray[np.bool_]) -> Pairs:
        """Some of them."""
        return Pairs(first=self.first[kept], second=self.second[kept], need=self.need[kept])

    def __len__(self) -> int:
        """How many pairs."""
        return len(self.need)


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """Pairs of boxes that must be apart along at least one direction.

    Attributes:
        pairs: of boxes.
        least, most: for each pair and direction how far the one reference point must be from the
            other, at the least and at the most in any of their ways; infinite where it is
            impossible.
        always: both boxes are there in all ways.
    """

    pairs: Pairs
    least: npt.NDArray[np.float64]
    most: npt.NDArray[np.float64]
    always: npt.NDArray[np.bool_]


def keep_apart(program: Program, a: Thing, b: Thing, packed: dict[str, int]) -> None:
    """Every two boxes of two items, except where the packing, or other two, say as much."""
    problem = program.problem
    pairs = _near(program, a, b, packed)
    if not len(pairs):
        return
    if problem.metric is Metric.LOOSE:
        levels = _levels(a, b, pairs)
        found = [(k, pairs.only(levels == k)) for k in dict.fromkeys(levels.tolist())]
    else:
        found = [(_NO_LEVEL, pairs)]
    for level, group in found:
        ways = directions(problem.metric, problem.axes, None if level == _NO_LEVEL else level)
        apart = _apart(a, b, group, ways)
        _one_of(program, (a, b), apart, ways, _kept(apart))


def _near(program: Program, a: Thing, b: Thing, packed: dict[str, int]) -> Pairs:
    """The pairs of boxes that can come so near to each other that their gap may matter."""
    layers = {
        (one, two): _need(program, a, b, (one, two), packed)
        for one in dict.fromkeys(s.layer for s in a.slots)
        for two in dict.fromkeys(s.layer for s in b.slots)
    }
    none = np.zeros(0, dtype=np.int64)
    most = max((need for need in layers.values() if need is not None), default=None)
    if most is None:
        return Pairs(first=none, second=none, need=none)
    (low, high), (other_low, other_high) = (
        [np.array([t.held(s)[end] for s in t.slots]) for end in (0, 1)] for t in (a, b)
    )
    before, behind = other_low[None] - high[:, None], low[:, None] - other_high[None]
    first, second = np.nonzero((np.maximum(before, behind) < most).all(axis=2))
    needs = [layers[a.slots[n].layer, b.slots[m].layer] for n, m in zip(first, second, strict=True)]
    need = np.array([-1 if n is None else n for n in needs], dtype=np.int64)
    seen = np.array([n is not None for n in needs], dtype=bool)
    free = np.maximum(before, behind)[first, second].max(axis=1, initial=-_FAR)
    return Pairs(first=first, second=second, need=need).only(seen & (free < need))


def _need(
    program: Program, a: Thing, b: Thing, layers: tuple[str, str], packed: dict[str, int]
) -> int | None:
    """The gap of two layers; None where they do not see each other, or are packed with as much."""
    gap = program.problem.gap((a.item.name, layers[0]), (b.item.name, layers[1]))
    if gap is None:
        return None
    need = program.need(gap, a.item, b.item)
    return None if layers[0] == layers[1] and need <= packed.get(layers[0], -1) else need


def _levels(a: Thing, b: Thing, pairs: Pairs) -> Steps:
    """An axis along which two boxes are never apart, wherever they are put, or `_NO_LEVEL`."""
    found = np.full(len(pairs), _NO_LEVEL, dtype=np.int64)
    for axis in reversed(range(len(a.low))):
        unit = Direction(tuple(int(k == axis) for k in range(len(a.low))), 1)
        level = np.ones(len(pairs), dtype=bool)
        for way in (unit, back_of(unit)):
            most = b.span(way.normal)[1] - a.span(way.normal)[0]
            mine, theirs = _reaches(a, way)[0], _reaches(b, back_of(way))[0]
            level &= most - mine[pairs.first] - theirs[pairs.second] <= 0
        found[level] = axis
    return found


def _reaches(thing: Thing, way: Direction) -> tuple[Steps, Steps]:
    """The least and the most that each box of an item reaches along a direction."""
    if way not in thing.reached:
        ends = np.array([thing.reaches(slot, way) for slot in thing.slots], dtype=np.int64)
        thing.reached[way] = ends[:, 0], ends[:, 1]
    return thing.reached[way]


def _kept(apart: Apart) -> npt.NDArray[np.int64]:
    """Without those that are kept by others: whatever parts two boxes parts the other two."""
    count = len(apart.pairs)
    if count < 2:
        return np.arange(count)
    # Along a direction that is impossible for the one nothing can part it: it covers there.
    covers = np.repeat(apart.always[:, None], count, axis=1)
    for least, most in zip(apart.least.T, apart.most.T, strict=True):
        covers &= least[:, None] >= most[None, :]
    np.fill_diagonal(covers, val=False)
    # Of two that cover each other the first is kept.
    covers &= ~(covers.T & np.tri(count, k=-1, dtype=bool))
    return np.flatnonzero(~covers.any(axis=0))


def _apart(a: Thing, b: Thing, pairs: Pairs, ways: tuple[Direction, ...]) -> Apart:
    """What pairs of boxes must keep, but for those that always do."""
    least, most = [], []
    free = np.zeros(len(pairs), dtype=bool)
    for way in ways:
        (first, last), (low, high) = a.span(way.normal), b.span(way.normal)
        (mine, mine_most), (theirs, theirs_most) = _reaches(a, way), _reaches(b, back_of(way))
        need = way.scale * pairs.need
        near = need + mine[pairs.first] + theirs[pairs.second]
        far = need + mine_most[pairs.first] + theirs_most[pairs.second]
        free |= low - last >= far
        there = high - first >= near
        least.append(np.where(there, near, np.inf))
        most.append(np.where(there, far, np.inf))
    present = [np.array([not t.present(s) for s in t.slots]) for t in (a, b)]
    always = present[0][pairs.first] & present[1][pairs.second]
    return Apart(
        pairs=pairs.only(~free),
        least=np.stack(least, axis=1)[~free],
        most=np.stack(most, axis=1)[~free],
        always=always[~free],
    )


def _one_of(
    program: Program,
    things: tuple[Thing, Thing],
    apart: Apart,
    ways: tuple[Direction, ...],
    kept: npt.NDArray[np.int64],
) -> None:
    """Two boxes are apart along at least one direction, unless one of them is not there."""
    model, (thing, other) = program.model, things
    moved: dict[Direction, Expr] = {}
    # Boxes that must be as far apart along the same direction are so together.
    alike: dict[tuple[int, float], IntVar] = {}
    for n in kept.tolist():
        slot = thing.slots[int(apart.pairs.first[n])]
        other_slot = other.slots[int(apart.pairs.second[n])]
        need, choices = int(apart.pairs.need[n]), []
        for k, way in enumerate(ways):
            if apart.least[n, k] == np.inf:
                continue
            same = (k, float(apart.least[n, k]))
            if apart.least[n, k] == apart.most[n, k] and same in alike:
                choices.append(alike[same])
                continue
            if way not in moved:
                moved[way] = along(way.normal, other.at) - along(way.normal, thing.at)
            here, _ = thing.reach(slot, way.normal, way.scale)
            there, _ = other.reach(other_slot, back_of(way).normal, way.scale)
            choice = model.new_bool_var("")
            model.add(moved[way] - here - there >= way.scale * need).only_enforce_if(choice)
            choices.append(choice)
            if apart.least[n, k] == apart.most[n, k]:
                alike[same] = choice
        # Each present way of either box forbids the clause's way out.
        for first in _absences(thing, slot):
            for second in _absences(other, other_slot):
                model.add_bool_or([*choices, *first, *second])


def _absences(thing: Thing, slot: Slot) -> list[list[LiteralT]]:
    present = thing.present(slot)
    return [[~choice] for choice in present] or [[]]
