"""A question settled by looking closer and closer where the parts can be at all.

The loose question is asked with places some way apart. What it leaves, for all parts together, is
cut into regions of a few millimetres for each part, and in each of these it is asked once more with
places closer to each other; the closer they are, the less it errs on the loose side. Where nothing
is left, there is no layout; what is left in the end is nudged until the check passes it, or the
check rules it out area by area (`fit.solve.areas`). All of it is counted, nothing is timed, so that
the answer is the same everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from fit.solve.all_places import WORK, Floats, Search, gone_through, pairs_of, tables_of
from fit.solve.draft import STEP, Narrow, key_of
from fit.solve.free import Option, Put, Span
from fit.solve.homing import homed
from fit.solve.maps import Maps, Steps
from fit.solve.narrow import joined, span_of
from fit.solve.pairs import Mover, layout_of
from fit.solve.probe import Coord
from fit.solve.question import Question
from fit.solve.refine import Refiner
from fit.solve.run import Status, Watch

COARSE = (1.0, 2.0)
"""Where there are too many places for another look, they are taken so far apart first, mm."""

LOOKS = 60
"""So many regions are looked at, at most."""

STEPS = 16
"""A region is cut into so many steps along each axis."""

TRIES = 4

_GRIDS = (STEP, STEP, 0.001, 0.001)
"""The step of the grid of each look, mm …"""

_ROOMS = ((40, 20, 10), (20, 10, 5), (100, 40, 20), (20, 10))
"""… and what there is so much room for in it, steps, is tried first."""

_BRIEF = 20_000_000
"""Words of the tables that are looked at for that."""

_PAIRS = 80_000_000
"""Tables of more pairs of places than this are not made."""

_COARSE = 60_000_000
"""A coarse layout is looked for where there are no more than so many."""

_REGION = 4.0
"""A part's first region is so large at most, mm …"""

_SMALLER = 6
"""… and each next one so many times smaller …"""

_DEEPEST = 3
"""… but no closer than this. Of one part no regions are looked at, and of two none within them:
there the check is quick enough itself."""

DOUBTS = 3

HOMES = 40

HOPELESS = 20
"""Where nothing has come near to a layout from so many starts, no more are made."""

FEW = 3
"""Of no more parts than this all places are gone through for a first layout …"""

LITTLE = WORK // 5
"""… and with more only so much work is put into telling the first regions apart …"""

_GLANCES, _GLANCES_WITHIN = 3, 60
"""So many of the starts come first of all, and so many regions next."""

HARD, HARD_LOOKS = 10, 200
"""… but so much more, and so many regions, where it most likely is impossible."""

T = TypeVar("T")

Ask = Callable[[Narrow, float], Question]
"""The loose question where the parts are in narrow regions, on a grid of such a step, mm."""

Try = Callable[[Mapping[str, Put]], T | None]
"""What comes of places that may be nearly right; None when it is no layout."""

ByCheck = Callable[[Narrow], tuple[bool, Mapping[str, Put] | None]]
"""Whether it is proved that there is no layout in narrow regions; and one, where it is found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """What it took to refuse parts.

    Attributes:
        blame: how much each was to blame.
        work: so many words of the tables were looked at to tell their first regions apart.
    """

    blame: Mapping[str, float]
    work: int


@dataclass(slots=True)
class Closer(Generic[T]):
    """A question, looked at closer and closer.

    Attributes:
        ask: the question for a region.
        nudge: makes a layout of what is left in the end.
        by_check: the last word on a narrow region, by the check itself.
        watch: stops it.
        looks: so many regions are looked at, at most.
        tries: so often it is tried to nudge places into a layout, but for those left in the end.
        doubts: so many regions may be left in doubt before it is given up.
        homes: so many starts are made from coarse layouts of more than a few parts.
        work: so many words of the tables are looked at to tell the first regions of many parts
            apart.
        near: so many of the starts came near to a layout.
        found: the layout, when there is one.
        refusal: what it took to refuse the parts, where that was done by their regions.
    """

    ask: Ask
    nudge: Try[T]
    by_check: ByCheck
    watch: Watch
    looks: int = LOOKS
    tries: int = TRIES
    doubts: int = DOUBTS
    homes: int = HOMES
    work: int = LITTLE
    near: int = 0
    found: T | None = None
    refusal: Refusal | None = None

    @property
    def close_call(self) -> bool:
        """Whether it was given up because no look is close enough."""
        return self.doubts <= 0

    def settle(self, roots: Iterable[tuple[Question, Maps]], parts: Sequence[str]) -> Status:
        """Whether parts have a layout; out of time where it would be too much, or too close.

        Args:
            roots: loose questions of these parts and no others, the closest first; the first that
                is not too large is taken.
            parts: their names.
        """
        first: _Look | None = None
        coarse: tuple[Question, Maps] | None = None
        for root in roots:
            things = tables_of(root[0].problem, root[1]).movers(root[0].problem, 0) or []
            count = pairs_of(things)
            if first is None and things and count <= _PAIRS:
                first = _Look(*root, things, parts)
            # Of a few parts no coarse layout is looked for.
            if first is not None and (len(parts) <= FEW or count <= _COARSE):
                coarse = root
                break
        if len(parts) <= FEW:
            return Status.OUT_OF_TIME if first is None else self._within(first, 0)
        if coarse is not None and self._home(coarse, parts, 1, _GLANCES):
            return Status.FOUND
        looks, more = self.looks, self.homes > _GLANCES
        if first is not None and looks > 0:
            self.looks = min(looks, _GLANCES_WITHIN) if more else looks
            said = self._within(first, 0)
            if said is not Status.OUT_OF_TIME or not more:
                return said
        if coarse is not None and self._home(coarse, parts, _GLANCES + 1, self.homes):
            return Status.FOUND
        if first is None or looks <= 0:
            return Status.OUT_OF_TIME
        self.looks = looks
        if self.near == 0 and self.homes >= HOPELESS:
            self.work, self.looks, self.doubts = HARD * WORK, HARD_LOOKS, DOUBTS
        return self._within(first, 0)

    def _home(
        self, root: tuple[Question, Maps], parts: Sequence[str], first: int, last: int
    ) -> bool:
        """Whether a layout is come upon from coarse ones, of the starts from one to another."""
        for seed in range(first, min(last, self.homes) + 1):
            if not self.watch.left or (self.near == 0 and seed > HOPELESS):
                return False
            puts = homed(root, self.ask, parts, seed)
            self.near += puts is not None
            if puts is not None and self._tried(puts):
                return True
        return False

    def _within(self, look: _Look, depth: int) -> Status:
        """Whether there is a layout where this question is about."""
        if any(not len(thing) for thing in look.things):
            return Status.IMPOSSIBLE
        tables = tables_of(look.asked.problem, look.maps)
        work = WORK if len(look.parts) <= FEW + 1 or depth else self.work
        search = Search(tables, look.things, self.watch, work=work)
        if not search.hopeful:
            return self._said(Status.IMPOSSIBLE, look, search, depth)
        if self.tries > 0 and (depth > 0 or len(look.parts) <= FEW):
            puts = look.roomiest(_ROOMS[depth], self.watch)
            if puts is not None and self._tried(puts):
                return Status.FOUND
        if depth == min(_DEEPEST, len(look.parts) - 1):
            return self._last(look, search)
        spans = _Spans(look.asked, look.things, _REGION / _SMALLER**depth)
        worst = Status.IMPOSSIBLE
        refiner = Refiner(search, look.asked, look.things)
        for places in search.regions(spans.to_cut):
            if self.looks <= 0 or self.close_call:
                return Status.OUT_OF_TIME
            self.looks -= 1
            closer = self.ask(spans.narrow(places), _GRIDS[depth + 1])
            maps = closer.tabled()
            tables = tables_of(closer.problem, maps)
            things = tables.movers(closer.problem, 0)
            if things is None or pairs_of(things) > _PAIRS:
                return Status.OUT_OF_TIME
            if not refiner.hopeful(places, closer, things, tables):
                continue
            said = self._within(_Look(closer, maps, things, look.parts), depth + 1)
            if said is Status.FOUND:
                return said
            if said is Status.OUT_OF_TIME:
                worst = said
        return self._said(worst, look, search, depth)

    def _said(self, worst: Status, look: _Look, search: Search, depth: int) -> Status:
        """What a search that came to its end says."""
        if not search.ended:
            return Status.OUT_OF_TIME
        if depth == 0 and worst is Status.IMPOSSIBLE:
            names = [thing.items[0].name for thing in look.things]
            blame = dict(zip(names, search.blame.tolist(), strict=True))
            self.refusal = Refusal(blame=blame, work=search.spent)
        return worst

    def _last(self, look: _Look, search: Search) -> Status:
        """The closest look: what is left is too close to call."""
        places = search.run()
        if places is None:
            return Status.IMPOSSIBLE if search.ended else Status.OUT_OF_TIME
        left = _Spans(look.asked, look.things, 0.0).narrow(search.left)
        ended, puts = self.by_check(left)
        if ended:
            return Status.IMPOSSIBLE
        if self._tried(puts or look.asked.puts(layout_of(look.things, places), look.parts)):
            return Status.FOUND
        self.doubts -= 1
        return Status.OUT_OF_TIME

    def _tried(self, puts: Mapping[str, Put]) -> bool:
        self.tries -= 1
        self.found = self.nudge(puts)
        return self.found is not None


@dataclass(frozen=True, slots=True)
class _Look:
    """A question, the rooms of its items, and the places of what is free in it."""

    asked: Question
    maps: Maps
    things: Sequence[Mover]
    parts: Sequence[str]

    def roomiest(self, margins: Iterable[int], watch: Watch) -> dict[str, Put] | None:
        """A layout with the first of these margins, steps, that there is one with."""
        for margin in margins:
            gone = gone_through(
                self.asked.problem, self.maps, watch, margin=margin, most=_PAIRS, work=_BRIEF
            )
            if gone.status is Status.FOUND:
                return self.asked.puts(gone.layout, self.parts)
        return None


class _Spans:
    """How far the places of parts reach, and where that is."""

    def __init__(self, asked: Question, things: Sequence[Mover], most: float) -> None:
        """Take a question.

        Args:
            asked: the question.
            things: what is free in it.
            most: a part's places may reach so far, mm.
        """
        self._asked, self._things, self._most = asked, things, most
        options = [self._options_of(thing) for thing in things]
        reach = [(1.0 if known else 0.0) * asked.step for _, known in options]
        # All things' places one after the other.
        self._first = np.cumsum([0, *(len(thing) for thing in things)])[:-1]
        self._option = np.concatenate([option for option, _ in options])
        self._at = np.concatenate([t.at[:, 0] * r for t, r in zip(things, reach, strict=True)])

    def _options_of(self, thing: Mover) -> tuple[Steps, bool]:
        """The number of each place's option; and whether what it is has options at all."""
        seats = self._asked.seats.get(thing.items[0].name)
        if seats is None:
            return np.zeros_like(thing.ways), False
        keys = [key_of("", seat.option) for seat in seats]
        return np.array([keys.index(key) for key in keys])[thing.ways], True

    def to_cut(self, places: Sequence[Steps], blame: Floats) -> int | None:
        """The part whose places reach furthest for all it is to blame, of those that are to be cut.

        Infinitely far where it may still be put in several ways.
        """
        starts = np.cumsum([0, *(len(some) for some in places)])[:-1]
        every = np.concatenate([s + n for s, n in zip(places, self._first.tolist(), strict=True)])
        option, at = self._option[every], self._at[every]
        one = np.minimum.reduceat(option, starts) == np.maximum.reduceat(option, starts)
        reach = np.maximum.reduceat(at, starts) - np.minimum.reduceat(at, starts)
        wide = np.where(one, reach.max(axis=1), np.inf)
        n = int(np.where(wide > self._most, wide * blame, 0.0).argmax())
        return n if wide[n] > self._most else None

    def narrow(self, places: Sequence[Steps]) -> Narrow:
        """Where these places are, with half the way to the next of them to spare."""
        found: dict[tuple[str, Option], Mapping[Coord, Span]] = {}
        for thing, some in zip(self._things, places, strict=True):
            name = thing.items[0].name
            for way in np.unique(thing.ways[some]).tolist() if name in self._asked.seats else ():
                seat = self._asked.seats[name][way]
                at = thing.at[some, 0][thing.ways[some] == way]
                spans = {
                    coord: span_of(seat, coord, int(at[:, axis].min()), int(at[:, axis].max()))
                    for coord, axis in seat.axes.items()
                }
                key = key_of(name, seat.option)
                found[key] = joined(found.get(key), spans)
        return found
