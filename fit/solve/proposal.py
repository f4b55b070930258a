"""One proposal: the roomiest places on a grid, tidied as far as room allows.

Room first, then what the file wishes and what a careful person does unasked, then nearness, then
short wires. The check has its say afterwards.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from fit.model.build import Build, WishKind
from fit.solve.draft import STEP
from fit.solve.engine import Answer, at_least, possible, solve
from fit.solve.free import Put
from fit.solve.maps import Maps, with_enough
from fit.solve.probe import Coord, Probe
from fit.solve.problem import Box, Gap, Item, Problem, Way
from fit.solve.question import Question
from fit.solve.run import Status, Watch
from fit.solve.tidy import Tidier, Tidy, words_of
from fit.units import show

WISH_SHARE = 0.5
"""A wish of the file may cost this share of the room there is."""

ALLOWED = 0.5
SHARE = 0.2
"""Being tidy unasked may cost this share of the room, and at most so many mm."""

Spot = tuple[str, Put, float]
"""A part, where it shall not be, and how far around, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a wish cost.

    Attributes:
        words: the wish.
        kept: whether it holds.
        mm: room that it took at most, mm, or, where it was given up, would have taken at least.
        asked: False for what was done unasked.
    """

    words: str
    kept: bool
    mm: float
    asked: bool


def insisted(build: Build) -> tuple[Cost, ...]:
    """The wishes that every proposal keeps."""
    return tuple(
        Cost(words=words_of(wish), kept=True, mm=0.0, asked=True)
        for wish in build.wishes
        if wish.kind in (WishKind.KEEP_OUT, WishKind.FINGER_GAP)
    )


@dataclass(slots=True)
class Proposer:
    """Makes proposals for a build that was probed."""

    build: Build
    seen: Probe
    watch: Watch
    most: int | None = None
    """The most room any layout has, once a proposal told."""

    def quick(self, asked: Question, cuts: Iterable[Spot]) -> Answer:
        """Any layout, neither roomy nor tidy."""
        return possible(ruled_out(asked, cuts), self.watch)

    def best(self, asked: Question, cuts: Iterable[Spot]) -> tuple[Answer, tuple[Cost, ...]]:
        """The solver's best layout: room first, then tidy, then near, then short wires."""
        problem = ruled_out(asked, cuts)
        if self.most is not None:
            # What is ruled out since then has not made more room.
            problem = replace(problem, cap=min(problem.cap, self.most))
        maps = with_enough(Maps(problem))
        bare = self._solved(maps)
        if bare.status is not Status.FOUND:
            return bare, ()
        if bare.best:
            self.most = bare.margin + problem.grain
        tidier = Tidier(self.build, self.seen, bare.layout)
        maps, costs, margin = self._tied(maps, tidier.ties(), bare.margin)
        wishes, points = tidier.costs()
        wires, ends = tidier.wires()
        names = {i.name for i in maps.problem.items}
        new = {p.name: p for p in (*points, *ends) if p.name not in names}
        final = replace(
            maps.problem,
            items=(*maps.problem.items, *new.values()),
            wishes=wishes,
            wires=wires,
            cap=min(margin, maps.problem.cap),
        )
        answer = self._solved(maps.renewed(final))
        if answer.status is not Status.FOUND:
            return bare, costs
        costs = (*costs, *_pulls(self.build, final, answer))
        return replace(answer, best=bare.best), costs

    def _solved(self, maps: Maps) -> Answer:
        self.watch.maps = maps
        return solve(maps.problem, self.watch)

    def _tied(
        self, maps: Maps, ties: tuple[Tidy, ...], margin: int
    ) -> tuple[Maps, tuple[Cost, ...], int]:
        """Hold what can be held at little cost: all at once if that goes, else one by one."""
        if not ties:
            return maps, (), margin
        every = self._with(maps, ties)
        if self._holds(every, margin):
            return every, tuple(_cost(t, kept=True, mm=0.0) for t in ties), margin
        costs: list[Cost] = []
        for tidy in ties:
            least = _least(tidy, margin)
            tried = self._with(maps, (tidy,))
            left = self._room_left(tried, margin, least)
            kept = left is not None and left >= least
            lost = margin - (left if kept and left is not None else least)
            costs.append(_cost(tidy, kept=kept, mm=lost * STEP))
            if kept and left is not None:
                maps, margin = tried, left
        return maps, tuple(costs), margin

    def _room_left(self, maps: Maps, margin: int, least: int) -> int | None:
        """The most room up to a margin, to within half of what may be lost; None: none at all."""
        if self._holds(maps, margin):
            return margin
        if not self._holds(maps, least):
            return None
        grain = max(maps.problem.grain, (margin - least) // 4)
        answer = self._solved(maps.renewed(replace(maps.problem, cap=margin - 1, grain=grain)))
        return max(answer.margin, least) if answer.status is Status.FOUND else least

    def _with(self, maps: Maps, ties: tuple[Tidy, ...]) -> Maps:
        """The question with these ties."""
        problem = maps.problem
        for tidy in ties:
            problem = tidy.added(problem)
        return maps.renewed(problem)

    def _holds(self, maps: Maps, margin: int) -> bool:
        """Whether there is a layout with this much room."""
        self.watch.maps = maps
        return at_least(maps.problem, margin, self.watch) is not None


def _least(tidy: Tidy, margin: int) -> int:
    """The room that must stay when something is held: half for a wish, more for the unasked."""
    if tidy.wish is not None:
        return margin - round(WISH_SHARE * margin)
    return margin - min(round(ALLOWED / STEP), round(SHARE * margin))


def _pulls(build: Build, asked: Problem, answer: Answer) -> Iterator[Cost]:
    """How near and how far from each other came what was wished so."""
    names = {item.name for item in asked.items}
    for wish in build.wishes:
        if wish.kind not in (WishKind.NEAR, WishKind.FAR):
            continue
        there = [answer.layout[n].at for n in wish.parts if n in names]
        apart = [math.dist(p, q) * STEP for p, q in itertools.combinations(there, 2)]
        if apart:
            most = max(apart) if wish.kind is WishKind.NEAR else min(apart)
            words = f"{words_of(wish)}, {show(most, 0)} mm from middle to middle"
            yield Cost(words=words, kept=True, mm=0.0, asked=True)


def _cost(tidy: Tidy, *, kept: bool, mm: float) -> Cost:
    return Cost(words=tidy.words, kept=kept, mm=mm, asked=tidy.wish is not None)


def ruled_out(asked: Question, cuts: Iterable[Spot]) -> Problem:
    """The question without the spots that the check has objected to: part, spot, mm around it."""
    problem = asked.problem
    items, gaps = list(problem.items), dict(problem.gaps)
    for number, (name, put, size) in enumerate(cuts):
        layer = f"not {name} {number}"
        for seat in asked.seats[name]:
            if seat.option != put.option:
                continue
            boxes = _spot_box(seat.axes, seat.places, put, size, layer)
            way = Way(boxes=(boxes,), low=(0, 0, 0), high=(0, 0, 0))
            items.append(Item(name=f"{layer} {len(items)}", ways=(way,)))
        pair = (f"at {name}", layer) if f"at {name}" <= layer else (layer, f"at {name}")
        gaps[pair] = Gap(need=0, counts=False)
    return replace(problem, items=tuple(items), gaps=gaps)


def _spot_box(
    axes: Mapping[Coord, int],
    places: Mapping[Coord, Mapping[int, float]],
    put: Put,
    size: float,
    layer: str,
) -> Box:
    """A box round the nearest steps to a spot; the whole of an axis that has no coordinate."""
    low, high = [-10_000_000] * 3, [10_000_000] * 3
    half = max(1, round(size / STEP))
    for coord, axis in axes.items():
        value = put.across if coord is Coord.ACROSS else put.up
        assert value is not None
        step, there = min(places[coord].items(), key=lambda kv: abs(kv[1] - value))
        near = step + round((value - there) / STEP)
        low[axis], high[axis] = near - half, near + half
    return Box(low=tuple(low), high=tuple(high), layer=layer)
