"""Why there is no layout: a smallest set of things that cannot all be in.

By deletion: take things out one by one as long as it stays impossible. What is left is minimal in
the strict sense: take any one of it out and the rest goes in. Every "impossible" on the way is
proved twice (`engine.possible`). See U. Junker, "QuickXplain: preferred explanations and
relaxations for over-constrained problems", AAAI 2004, for the family of methods.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from fit.solve.engine import possible
from fit.solve.problem import Item, Problem, Rule, Tie
from fit.solve.run import Status, Watch, interruptible
from fit.solve.separations import bounds

T = TypeVar("T")

Ask = Callable[[tuple[T, ...]], Status]
"""Whether a set of things goes in. Taking things out must never turn yes into no."""

_PAIRS_UP_TO = 12
"""Of up to so many things all pairs are tried first: two things are the plainest reason."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why there is no layout.

    Attributes:
        names: the parts that cannot all be in, in the order of the question.
        strict: True when each is shown to be needed: without it the others go in.
        smallest: True when besides no set of fewer parts is impossible.
    """

    names: tuple[str, ...]
    strict: bool
    smallest: bool


def why_not(problem: Problem, watch: Watch | None = None) -> Reason | None:
    """A smallest set of free parts that cannot all be in, obstacles and rules being given.

    Returns:
        The reason; None when there is a layout, or none was proved impossible in time.
    """
    watch = watch or Watch()
    parts = [item for item in problem.items if not item.fixed]
    parts.sort(key=_bulk, reverse=True)
    names = tuple(item.name for item in parts)
    with interruptible(watch):
        found = least(names, lambda kept: possible(only(problem, kept), watch).status)
    if found is None:
        return None
    order = [item.name for item in problem.items]
    return Reason(
        names=tuple(sorted(found[0], key=order.index)), strict=found[1], smallest=found[2]
    )


def least(things: Sequence[T], ask: Ask[T]) -> tuple[tuple[T, ...], bool, bool] | None:
    """A minimal impossible subset; whether that is strict; whether none has fewer members.

    Args:
        things: those that rather belong into a reason first: the last are taken out first.
        ask: whether a subset goes in.

    Returns:
        None when all of them go in, or nobody knows.
    """
    if ask(tuple(things)) is not Status.IMPOSSIBLE:
        return None
    sure, tried = True, 2 if len(things) <= _PAIRS_UP_TO else 1
    for size in range(tried + 1):
        for few in itertools.combinations(things, size):
            answer = ask(few)
            if answer is Status.IMPOSSIBLE:
                return few, sure, sure
            sure = sure and answer is Status.FOUND
    kept, strict = list(things), True
    for thing in reversed(things):
        fewer = [t for t in kept if t != thing]
        answer = ask(tuple(fewer))
        if answer is Status.IMPOSSIBLE:
            kept = fewer
        strict = strict and answer is not Status.OUT_OF_TIME
    return tuple(kept), strict, sure and len(kept) <= tried + 1


def only(problem: Problem, names: Iterable[str]) -> Problem:
    """The question with only these free parts (obstacles stay), and never harder than before.

    Ties of parts that are left out go with them; equal steps are kept between neighbours only.
    """
    kept = set(names) | {item.name for item in problem.items if item.fixed}
    return replace(
        problem,
        items=tuple(item for item in problem.items if item.name in kept),
        rules=tuple(r for rule in problem.rules for r in _fewer(rule, kept)),
        wishes=tuple(
            w for w in problem.wishes if w.item in kept and (w.other is None or w.other in kept)
        ),
        wires=tuple(w for w in problem.wires if w.a in kept and w.b in kept),
    )


def _fewer(rule: Rule, kept: set[str]) -> list[Rule]:
    if rule.tie is Tie.FOLLOWS:
        return [rule] if set(rule.items) <= kept else []
    if rule.tie is Tie.CENTRED:
        return [rule] if {rule.items[0], rule.items[-1]} <= kept else []
    if rule.tie is Tie.IN_LINE or (rule.tie is Tie.IN_ORDER and rule.value >= 0):
        return [replace(rule, items=tuple(n for n in rule.items if n in kept))]
    runs = itertools.groupby(rule.items, key=lambda name: name in kept)
    return [replace(rule, items=tuple(run)) for there, run in runs if there]


def _bulk(item: Item) -> int:
    """The largest room any of an item's boxes takes: large parts make plain reasons."""
    sizes = []
    for box in item.ways[0].boxes:
        low, high = bounds(box)
        volume = 1
        for a, b in zip(low, high, strict=True):
            volume *= max(1, b - a)
        sizes.append(volume)
    return max(sizes, default=0)
