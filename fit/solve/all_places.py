"""Questions about few things, answered by going through all their places.

What goes with what is looked up in tables (`fit.solve.pairs`). A place of one thing that goes with
no place left to another is struck out (arc consistency: A. K. Mackworth, "Consistency in networks
of relations", Artificial Intelligence 8, 1977), until nothing changes. Then the places of one
thing are cut in two, and each half is looked at alone: when nothing is left in either, there is no
layout. Whole numbers, no solver, nothing left to chance: what is refused here is refused.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fit.solve.audit import smallest_margin
from fit.solve.maps import Maps, Steps
from fit.solve.pairs import WORD, Bits, Flags, Mover, Tables, layout_of
from fit.solve.problem import Problem, Spot
from fit.solve.run import Status, Watch

MOST = 60_000_000
"""With more pairs of places than this in all the tables would be too large."""

WORK = 500_000_000
"""So many words of the tables are looked at, at most."""

_NODE = 20_000
"""What a look at one set of places costs besides, in words."""

Floats = npt.NDArray[np.float64]

Cut = Callable[[Sequence[Steps], Floats], int | None]
"""Which thing is to be cut in two, given the places left to each and how much it is to blame."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gone:
    """What came of going through all places.

    Attributes:
        status: found, impossible, or out of time where it would have been too much.
        layout: where each item is, when found.
    """

    status: Status
    layout: Mapping[str, Spot] = field(default_factory=dict)


_TOO_MUCH = Gone(status=Status.OUT_OF_TIME)


def gone_through(
    problem: Problem,
    maps: Maps,
    watch: Watch,
    *,
    margin: int = 0,
    most: int = MOST,
    work: int = WORK,
) -> Gone:
    """Whether there is a layout with at least this margin, by all places of all things.

    Args:
        problem: the question.
        maps: the rooms of its items.
        watch: stops it.
        margin: steps.
        most: with more pairs of places it is not begun.
        work: so many words of the tables are looked at, at most.
    """
    tables = tables_of(problem, maps)
    things = tables.movers(problem, margin)
    if things is None:
        return _TOO_MUCH
    if any(not len(thing) for thing in things):
        return Gone(status=Status.IMPOSSIBLE)
    if pairs_of(things) > most:
        return _TOO_MUCH
    search = Search(tables, things, watch, work=work, margin=margin)
    places = search.run()
    if places is None:
        return Gone(status=Status.IMPOSSIBLE) if search.ended else _TOO_MUCH
    fixed = {i.name: Spot(way=0, at=i.ways[0].low) for i in problem.items if i.fixed}
    layout = {**fixed, **layout_of(things, places)}
    # Rules between three and more are not in the tables.
    reached = smallest_margin(problem, layout)
    return _TOO_MUCH if reached is None else Gone(status=Status.FOUND, layout=layout)


def tables_of(problem: Problem, maps: Maps) -> Tables:
    """The tables of a question: those of the whole that it is a part of, where they are known."""
    return maps.tables if maps.tables is not None else Tables(problem, maps)


def pairs_of(things: Sequence[Mover]) -> int:
    """How many pairs of places of two things there are."""
    return sum(len(a) * len(b) for a, b in itertools.combinations(things, 2))


class Search:
    """The places left to each thing, and the tables between them.

    Attributes:
        ended: no place was left out of account.
        hopeful: something is left once what goes with nothing is struck out.
        blame: how often nothing was left for a thing, or because of it: what is most to blame is
            best cut first (F. Boussemart et al., "Boosting systematic search by weighting
            constraints", ECAI 2004).
    """

    def __init__(
        self, tables: Tables, things: Sequence[Mover], watch: Watch, *, work: int = WORK,
        margin: int = 0,
    ) -> None:  # fmt: skip
        """Look the tables up.

        Args:
            tables: between the things.
            things: all that is free in it.
            watch: stops the search.
            work: so many words of the tables are looked at, at most.
            margin: steps to be kept.
        """
        self._things, self._watch, self._work, self._given = things, watch, work, work
        self._of, self._margin, self._news = tables, margin, 0
        ends = np.cumsum([0, *(-(-len(thing) // WORD) for thing in things)]).tolist()
        self.blame = np.ones(len(things))
        self._spans = [slice(a, b) for a, b in itertools.pairwise(ends)]
        found: list[dict[int, Bits]] = [{} for _ in things]
        for (i, a), (j, b) in itertools.combinations(enumerate(things), 2):
            rows = tables.between(a, b, margin)
            if rows is not None:
                found[i][j], found[j][i] = rows
        self._rows = [_Rows(of, self._spans) for of in found]
        none = np.zeros(0, dtype=np.uint64)
        self._alive = np.concatenate([none, *(_all(len(thing)) for thing in things)])
        self._left = self._alive.copy()
        self.hopeful = self._struck(self._left, range(len(things)))
        self.ended = not self.hopeful and self._work > 0

    @property
    def spent(self) -> int:
        """So many words of the tables were looked at."""
        return self._given - self._work

    @property
    def left(self) -> list[Steps]:
        """The places of each thing that are left once what goes with nothing is struck out."""
        return self._places(self._left)

    def run(self) -> list[int] | None:
        """A place for each thing; None when there is none (`ended`), or it took too much."""
        for places in self.regions(_smallest):
            return [int(each[0]) for each in places]
        return None

    def regions(self, cut: Cut) -> Iterator[list[Steps]]:
        """Places for each thing that together hold all layouts; none left out when it `ended`.

        Args:
            cut: which of the things is to be cut in two first; None where all are small enough.
        """
        # What was found out since it was begun is struck out of all that is left.
        stack = [(0, self._left.copy())] if self.hopeful else []
        while stack and self._work > 0 and self._watch.left:
            known, left = stack.pop()
            if known != self._news and not self._still(left):
                continue
            places = self._places(left)
            n = cut(places, self.blame)
            if n is None:
                yield places
                continue
            halves = []
            for half in self._halves(n, places[n]):
                less = left.copy()
                less[self._spans[n]] = self._flags(n, half)
                if self._struck(less, [n]):
                    halves.append(less)
            stack += [(self._news, half) for half in sorted(halves, key=self._room)]
        self.ended = not stack and self._work > 0

    def strike(self, n: int, places: Steps) -> None:
        """Take places out, that were found to be none of a thing."""
        self._alive[self._spans[n]] &= ~self._flags(n, places)
        self._news += 1

    def forbid(self, one: tuple[int, Steps], two: tuple[int, Steps], allowed: Flags) -> None:
        """Note which of some places of two things may still go together, in the tables too.

        Args:
            one, two: the number of a thing, and places of it.
            allowed: for each place of the first and each of the second.
        """
        (i, here), (j, there) = one, two
        rows = self._of.noted(self._things[i], self._things[j], self._margin)
        rows[0][here] &= _flagged(allowed, there, rows[0].shape[1])
        rows[1][there] &= _flagged(allowed.T, here, rows[1].shape[1])
        self._rows[i].note(j, here, rows[0])
        self._rows[j].note(i, there, rows[1])
        self._news += 1

    def _still(self, left: Bits) -> bool:
        """Strike out what was found to be no place, or to go with nothing, since these were."""
        left &= self._alive
        if not all(left[span].any() for span in self._spans):
            return False
        return self._struck(left, range(len(self._things)))

    def _halves(self, n: int, places: Steps) -> tuple[Steps, Steps]:
        """Places of a thing, cut in two across their longest side; its ways one by one."""
        thing = self._things[n]
        ways = thing.ways[places]
        if ways[0] != ways[-1]:
            middle = ways[len(ways) // 2]
            cut = ways < middle if ways[0] != middle else ways <= middle
            return places[cut], places[~cut]
        at = thing.at[places, 0]
        axis = int(np.argmax(at.max(axis=0) - at.min(axis=0)))
        ordered = places[np.argsort(at[:, axis], kind="stable")]
        half = len(places) // 2
        return np.sort(ordered[:half]), np.sort(ordered[half:])

    def _struck(self, left: Bits, changed: Iterable[int]) -> bool:
        """Strike out what goes with nothing left; False when something has no place then."""
        waiting = list(changed)
        while waiting:
            n = waiting.pop(0)
            rows = self._rows[n]
            here = _places(left[self._spans[n]])
            self._work -= _NODE + len(here) * rows.bits.shape[1]
            if self._work <= 0:
                return False
            if not rows.others:
                continue
            before = left[rows.words]
            fewer = before & np.bitwise_or.reduce(rows.bits[here], axis=0)
            lost = fewer != before
            if not lost.any():
                continue
            there = np.bitwise_or.reduceat(fewer, rows.starts)
            if not there.all():
                self.blame[[n, rows.others[int(there.argmin())]]] += 1.0
                return False
            left[rows.words] = fewer
            for k in np.flatnonzero(np.bitwise_or.reduceat(lost, rows.starts)).tolist():
                if rows.others[k] not in waiting:
                    waiting.append(rows.others[k])
        return True

    def _places(self, left: Bits) -> list[Steps]:
        places = _places(left)
        first = [span.start * WORD for span in self._spans]
        starts = np.searchsorted(places, first).tolist()
        ends = [*starts[1:], len(places)][: len(starts)]
        return [places[a:b] - n for a, b, n in zip(starts, ends, first, strict=True)]

    def _flags(self, n: int, places: Steps) -> Bits:
        span = self._spans[n]
        return _bits(places, span.stop - span.start)

    def _room(self, left: Bits) -> float:
        """How much is left to all of them together: what has most is looked at first."""
        counts = np.bitwise_count(left)
        return float(sum(np.log(counts[span].sum()) for span in self._spans))


class _Rows:
    """For each place of a thing the places of all others that go with it, in one row of bits.

    Attributes:
        others: the numbers of those others with which not every place goes.
        bits: the rows.
        starts: where each of the others begins in a row, words.
        words: which word of all things' places each word of a row is.
    """

    def __init__(self, rows: Mapping[int, Bits], spans: Sequence[slice]) -> None:
        """Put tables side by side.

        Args:
            rows: the tables, by the number of the other thing.
            spans: the words of each thing's places.
        """
        self._spans, self._tables = spans, dict(rows)
        self._join()

    def _join(self) -> None:
        self.others = sorted(self._tables)
        blocks = [self._tables[other] for other in self.others]
        self.bits: Bits = np.hstack(blocks) if blocks else np.zeros((0, 0), dtype=np.uint64)
        self.starts = np.cumsum([0, *(block.shape[1] for block in blocks)])[:-1]
        spans = [self._spans[other] for other in self.others]
        words = [np.arange(span.start, span.stop) for span in spans]
        self.words = np.concatenate(words) if words else np.zeros(0, dtype=np.intp)

    def note(self, other: int, places: Steps, rows: Bits) -> None:
        """Take over what was noted of some places, in the table with another thing."""
        if other not in self._tables:
            self._tables[other] = rows
            self._join()
        start = int(self.starts[self.others.index(other)])
        self.bits[places, start : start + rows.shape[1]] = rows[places]


def _smallest(places: Sequence[Steps], blame: Floats) -> int | None:
    """What has the fewest places, more than one, for all it is to blame."""
    several = [k for k, each in enumerate(places) if len(each) > 1]
    return min(several, key=lambda k: len(places[k]) / blame[k], default=None)


def _all(count: int) -> Bits:
    return _bits(np.arange(count), -(-count // WORD))


def _bits(places: Steps, words: int) -> Bits:
    flags = np.zeros(words * WORD, dtype=np.bool_)
    flags[places] = True
    return np.packbits(flags, bitorder="little").view(np.uint64)


def _flagged(allowed: Flags, places: Steps, words: int) -> Bits:
    """For each row which places are allowed, all others being so."""
    flags = np.ones((len(allowed), words * WORD), dtype=np.bool_)
    flags[:, places] = allowed
    return np.packbits(flags, axis=1, bitorder="little").view(np.uint64)


def _places(bits: Bits) -> Steps:
    found: Steps = np.unpackbits(bits.view(np.uint8), bitorder="little").nonzero()[0]
    return found
