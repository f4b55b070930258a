"""Why there is no layout: a smallest set of things that cannot all be in.

By deletion: take things out one by one as long as it stays impossible. What is left is minimal in
the strict sense: take any one of it out and the rest goes in. Every "impossible" on the way is
proved twice (`engine.possible`). See U. Junker, "QuickXplain: preferred explanations and
relaxations for over-constrained problems", AAAI 2004, for the family of methods.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, TypeVar

from fit.solve.engine import possible
from fit.solve.problem import Item, Problem, Rule, Tie
from fit.solve.run import Status, Watch, interruptible
from fit.solve.separations import bounds

T = TypeVar("T")

Ask = Callable[[tuple[T, ...]], Status]
"""Whether a set of things goes in. Taking things out must never turn yes into no."""

_PAIRS_UP_TO = 12
"""Of up to so many things all pairs are tried first: two things are the plainest reason."""

_PAIRS = 2
_SMALL = 4
"""Where a short look tells most of the answers, sets of up to so many are tried first …"""

_SETS = 250
"""… of no size of which there are more than so many …"""

_MOST_ASKED, _MOST_ASKED_LONG = 6, 24
"""… as long as no more than so many of a size have to be asked about."""

_AGAIN = 4
"""So many of those that nobody knows of are looked at for longer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess(Generic[T]):
    """What may be guessed before anything is proved.

    Attributes:
        likely: whether a subset goes in, most likely.
        freedom: how many places a thing has by itself.
        nearly: the same as likely by a longer look, which tells more and takes longer.
    """

    likely: Callable[[tuple[T, ...]], bool]
    freedom: Callable[[T], int]
    nearly: Callable[[tuple[T, ...]], bool] | None = None


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


def least(
    things: Sequence[T],
    ask: Ask[T],
    *,
    refused: bool = False,
    seen: Callable[[tuple[T, ...]], bool] | None = None,
    guess: Guess[T] | None = None,
) -> tuple[tuple[T, ...], bool, bool] | None:
    """A minimal impossible subset; whether that is strict; whether none has fewer members.

    Args:
        things: those that rather belong into a reason first: the last are taken out first.
        ask: whether a subset goes in.
        refused: that all of them together do not go in is known.
        seen: a short look that may see that a subset goes in; larger sets are tried with it.
        guess: what may be guessed of it.

    Returns:
        None when all of them go in, or nobody knows.
    """
    if not refused and ask(tuple(things)) is not Status.IMPOSSIBLE:
        return None
    known = _Known(ask, seen)
    few = _few(things, known)
    if few.found is not None:
        return few.found, few.sure, few.sure
    order = sorted(things, key=lambda thing: -few.doubt[thing])
    guessed = None if guess is None else _guessed(order, known, guess)
    kept = guessed or _first(order, few, known) or order
    strict = True
    for thing in kept[::-1]:
        fewer = [t for t in kept if t != thing]
        if guessed and guess is not None and guess.likely(tuple(fewer)):
            # Most likely needed: whoever wants to be sure finds the rest a place.
            strict = False
            continue
        answer = known.ask(tuple(fewer))
        if answer is Status.IMPOSSIBLE:
            kept = fewer
        strict = strict and answer is not Status.OUT_OF_TIME
    return tuple(kept), strict, few.sure and len(kept) <= few.size + 1


def fewest(
    things: Sequence[T],
    ask: Ask[T],
    seen: Callable[[tuple[T, ...]], bool],
    guess: Guess[T] | None = None,
    longer: Callable[[tuple[T, ...]], bool] | None = None,
) -> tuple[tuple[T, ...], bool] | None:
    """A few things that are impossible together, as far as small sets are looked through.

    And whether none of fewer things is.

    Args:
        things: those that rather belong into a reason first.
        ask: whether a subset goes in.
        seen: a short look that may see that a subset goes in.
        guess: what may be guessed of it.
        longer: whether a subset is refused after a longer look.
    """
    known = _Known(ask, seen)
    few = _few(things, known, _MOST_ASKED_LONG)
    if few.found is not None:
        return few.found, few.sure
    for some in few.unsure[:_AGAIN]:
        if longer is not None and longer(some):
            # Of others as small as these nobody knows.
            return some, False
    order = sorted(things, key=lambda thing: -few.doubt[thing])
    guessed = None if guess is None else _guessed(order, known, guess)
    found = guessed or _first(order, few, known)
    if found is None and guess is not None and guess.nearly is not None and longer is not None:
        # What is impossible by a hair is likely only by a short look.
        kept = _hardly(order, known, guess, guess.nearly)
        found = kept if len(kept) < len(order) and longer(tuple(kept)) else None
    return None if found is None else (tuple(found), few.sure and len(found) <= few.size + 1)


def _guessed(order: Sequence[T], known: _Known[T], guess: Guess[T]) -> list[T] | None:
    """What is left when things are taken out as long as the rest hardly goes in: if it does not."""
    kept = _hardly(order, known, guess, guess.likely)
    smaller = len(kept) < len(order)
    return kept if smaller and known.ask(tuple(kept)) is Status.IMPOSSIBLE else None


def _hardly(
    order: Sequence[T], known: _Known[T], guess: Guess[T], likely: Callable[[tuple[T, ...]], bool]
) -> list[T]:
    """What is left when things are taken out as long as the rest hardly goes in.

    The freest go first: of those that have little choice it is easiest to prove.
    """
    kept = list(order)
    for thing in sorted(order, key=guess.freedom, reverse=True):
        fewer = [t for t in kept if t != thing]
        if not known.holds(tuple(fewer)) and not likely(tuple(fewer)):
            kept = fewer
    return kept


def _first(order: Sequence[T], few: _Few[T], known: _Known[T]) -> list[T] | None:
    """The first of some things, as few as are impossible, but not all of them.

    What a short look could not see going in is what a reason is likely made of.
    """
    for count in range(few.size + 1, len(order)) if few.doubt and known.looks else ():
        if known.ask(tuple(order[:count])) is Status.IMPOSSIBLE:
            return list(order[:count])
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Few(Generic[T]):
    """What came of looking through small sets.

    Attributes:
        found: one that is impossible, of as few as can be.
        size: sets of up to so many were looked through.
        sure: all of fewer things are known to go in.
        doubt: how often a thing was in one that a short look could not see going in.
        unsure: those that nobody knows of, the smallest first.
    """

    found: tuple[T, ...] | None
    size: int
    sure: bool
    doubt: Counter[T]
    unsure: tuple[tuple[T, ...], ...] = ()


def _few(things: Sequence[T], known: _Known[T], most: int = _MOST_ASKED) -> _Few[T]:
    small = _tried(len(things), known.looks)
    doubt: Counter[T] = Counter()
    unsure: list[tuple[T, ...]] = []
    for size in range(small + 1):
        left = [few for few in itertools.combinations(things, size) if not known.holds(few)]
        if size > _PAIRS and len(left) > most:
            small = size - 1
            break
        doubt.update(thing for few in left for thing in few)
        for few in left:
            answer = known.ask(few)
            if answer is Status.IMPOSSIBLE:
                sure = all(len(one) == size for one in unsure)
                return _Few(found=few, size=size, sure=sure, doubt=doubt)
            if answer is Status.OUT_OF_TIME:
                unsure.append(few)
    return _Few(found=None, size=small, sure=not unsure, doubt=doubt, unsure=tuple(unsure))


def _tried(count: int, looked: bool) -> int:
    """Sets of up to so many of so many things are all tried."""
    if count > _PAIRS_UP_TO:
        return 1
    if not looked:
        return _PAIRS
    sizes = range(_PAIRS, min(_SMALL, count - 1) + 1)
    return max((n for n in sizes if math.comb(count, n) <= _SETS), default=count - 1)


class _Known(Generic[T]):
    """Sets of things that go in: what lies within one of them does so too."""

    def __init__(self, ask: Ask[T], seen: Callable[[tuple[T, ...]], bool] | None) -> None:
        self._ask, self._seen = ask, seen
        self._sets: list[frozenset[T]] = []
        self._said: dict[frozenset[T], Status] = {}

    @property
    def looks(self) -> bool:
        """Whether there is a short look."""
        return self._seen is not None

    def holds(self, few: tuple[T, ...]) -> bool:
        """Whether these are known to go in, or a short look sees that they do."""
        if any(known.issuperset(few) for known in self._sets):
            return True
        if self._seen is None or not self._seen(few):
            return False
        self._sets.append(frozenset(few))
        return True

    def ask(self, few: tuple[T, ...]) -> Status:
        """Whether these go in."""
        if self.holds(few):
            return Status.FOUND
        answer = self._said.get(frozenset(few)) or self._ask(few)
        self._said[frozenset(few)] = answer
        if answer is Status.FOUND:
            self._sets.append(frozenset(few))
        return answer


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
    single = rule.tie in (Tie.IN_LINE, Tie.AMONG)
    if single or (rule.tie is Tie.IN_ORDER and rule.value >= 0):
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
