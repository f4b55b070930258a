"""One proposal: the roomiest places on a grid, tidied as far as room allows.

Room first, then what the file wishes and what a careful person does unasked, then nearness, then
short wires. The check has its say afterwards.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fit.geometry.scene import Scene
from fit.model.build import Build, WishKind
from fit.solve.draft import STEP, Seat
from fit.solve.engine import Answer, at_least, possible, solve
from fit.solve.free import Put
from fit.solve.maps import Maps, with_enough
from fit.solve.probe import Coord, Probe
from fit.solve.problem import Box, Gap, Item, Problem, Rule, Way
from fit.solve.pulls import Pulls
from fit.solve.question import Question
from fit.solve.run import Status, Watch
from fit.solve.tidy import Tidier, Tidy, words_of
from fit.units import show

_FAR = 10_000_000
"""Further than anything reaches, steps."""

WISH_SHARE = 0.5
"""A wish of the file may cost this share of the room there is."""

ALLOWED = 0.5
SHARE = 0.2
"""Being tidy unasked may cost this share of the room, and at most so many mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a part shall not be.

    Attributes:
        name, put: the part, and the spot.
        size: how far around, mm.
        beside, there: with them the spot goes along with another part: where that one is now; so
            the two shall not be like this to each other anywhere.
    """

    name: str
    put: Put
    size: float
    beside: str | None = None
    there: Put | None = None


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
    held: tuple[Rule, ...] = ()
    """The ties of the last proposal."""

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
        ties = tidier.ties()
        maps, costs, margin = self._tied(maps, ties, bare.margin)
        kept = {cost.words for cost in costs if cost.kept}
        self.held = tuple(rule for tidy in ties if tidy.words in kept for rule in tidy.rules)
        pulls = Pulls(self.build, self.seen)
        wishes, points = pulls.costs()
        wires, ends = pulls.wires()
        names = {i.name for i in maps.problem.items}
        new = {p.name: p for p in (*points, *ends) if p.name not in names}
        final = replace(
            maps.problem,
            items=(*pulls.placed(maps.problem.items, asked.seats), *new.values()),
            wishes=wishes,
            wires=wires,
            cap=min(margin, maps.problem.cap),
        )
        answer = self._solved(maps.renewed(final))
        if answer.status is not Status.FOUND:
            return bare, costs
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
        first = tuple(tidy for tidy in ties if not tidy.unless)
        every = self._with(maps, first)
        if self._holds(every, margin):
            return every, tuple(_cost(t, kept=True, mm=0.0) for t in first), margin
        costs: list[Cost] = []
        for tidy in ties:
            if any(cost.kept and cost.words in tidy.unless for cost in costs):
                continue
            least = least_room(margin, asked=tidy.wish is not None)
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


def least_room(margin: int, *, asked: bool) -> int:
    """The room that must stay when something is held: half for a wish, more for the unasked."""
    if asked:
        return margin - round(WISH_SHARE * margin)
    return margin - min(round(ALLOWED / STEP), round(SHARE * margin))


def pulls(build: Build, scene: Scene) -> Iterator[Cost]:
    """How near and how far from each other came what was wished so."""
    for wish in build.wishes:
        if wish.kind not in (WishKind.NEAR, WishKind.FAR):
            continue
        there = [
            scene.faces[placed.face].frame.point((placed.across, placed.up, 0.0))
            for placed in (scene.placed.get(name) for name in wish.parts)
            if placed is not None and placed.face is not None
        ]
        apart = [math.dist(p, q) for p, q in itertools.combinations(there, 2)]
        if apart:
            most = max(apart) if wish.kind is WishKind.NEAR else min(apart)
            words = f"{words_of(wish)}, {show(most, 0)} mm from middle to middle"
            yield Cost(words=words, kept=True, mm=0.0, asked=True)


def _cost(tidy: Tidy, *, kept: bool, mm: float) -> Cost:
    return Cost(words=tidy.words, kept=kept, mm=mm, asked=tidy.wish is not None)


def ruled_out(asked: Question, cuts: Iterable[Spot]) -> Problem:
    """The question without the spots that the check has objected to."""
    problem = asked.problem
    items, gaps = list(problem.items), dict(problem.gaps)
    for number, cut in enumerate(cuts):
        layer = f"not {cut.name} {number}"
        for seat in asked.seats[cut.name]:
            if seat.option != cut.put.option:
                continue
            box = _spot_box(seat, cut.put, cut.size, layer)
            if cut.beside is not None and cut.there is not None:
                items = _with_box(asked, items, (cut.beside, cut.there), box)
                continue
            way = Way(boxes=(box,), low=(0, 0, 0), high=(0, 0, 0))
            items.append(Item(name=f"{layer} {len(items)}", ways=(way,)))
        pair = (f"at {cut.name}", layer) if f"at {cut.name}" <= layer else (layer, f"at {cut.name}")
        gaps[pair] = Gap(need=0, counts=False)
    return replace(problem, items=tuple(items), gaps=gaps)


def _with_box(asked: Question, items: list[Item], part: tuple[str, Put], box: Box) -> list[Item]:
    """The items with a box that goes along with a part, wherever that is put in this option."""
    name, put = part

    def grown(number: int, way: Way) -> Way:
        seat = asked.seats[name][number]
        if seat.option != put.option:
            return way
        at = [0, 0, 0]
        low, high = list(box.low), list(box.high)
        for coord, axis in seat.axes.items():
            at[axis] = _step(seat, coord, put)
        for k in range(3):
            if k in seat.axes.values() and high[k] - low[k] < _FAR:
                low[k], high[k] = low[k] - at[k], high[k] - at[k]
            elif k not in seat.axes.values():
                continue
        mine = replace(box, low=tuple(low), high=tuple(high))
        return replace(way, boxes=(*way.boxes, mine))

    return [
        replace(item, ways=tuple(grown(n, way) for n, way in enumerate(item.ways)))
        if item.name == name
        else item
        for item in items
    ]


def _spot_box(seat: Seat, put: Put, size: float, layer: str) -> Box:
    """A box round the nearest steps to a spot; the whole of an axis that has no coordinate."""
    low, high = [-_FAR] * 3, [_FAR] * 3
    half = max(1, round(size / STEP))
    for coord, axis in seat.axes.items():
        near = _step(seat, coord, put)
        low[axis], high[axis] = near - half, near + half
    return Box(low=tuple(low), high=tuple(high), layer=layer)


def _step(seat: Seat, coord: Coord, put: Put) -> int:
    """The step of a coordinate, also where the seat has no such place."""
    value = put.across if coord is Coord.ACROSS else put.up
    assert value is not None
    step, there = min(seat.places[coord].items(), key=lambda kv: abs(kv[1] - value))
    ends = sorted(seat.places[coord].items())
    back = len(ends) > 1 and ends[0][1] > ends[-1][1]
    return step + round((there - value if back else value - there) / STEP)
