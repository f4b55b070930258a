"""Where one or two parts can be at all, by the check itself: whole areas of places, not points.

The last word where neither the safe nor the loose question had one. Each part is put into the
middle of an area of its face. A gap falls off by no more than the things are moved: where a rule
about gaps is broken by more than the way from the middle to a corner, it is broken all over the
area; so it is where the same two solids clash with the parts in all corners of their areas. What is
left is cut in two and looked at again. A place that the check passes is a layout; when no area is
left, it is proved that there is none.

Only for parts that go along with their coordinates: what is soldered goes by whole holes, in jumps.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from fit.check import Inspection, inspected
from fit.check.bodies import bodies, clashing, measured
from fit.check.buttons import fingers
from fit.check.lid import lid
from fit.check.order import order
from fit.check.panel_room import spanner
from fit.check.rule import Rule as CheckRule
from fit.check.things import things
from fit.check.walls import walls
from fit.check.webs import edges, posts_behind, webs
from fit.findings import Finding, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import faces
from fit.geometry.scene import BodyId
from fit.model.build import Build
from fit.model.part import Board
from fit.solve.draft import Narrow, key_of
from fit.solve.free import Free, Option, Put, Span, put_in, spans
from fit.solve.probe import Coord, Probe
from fit.solve.problem import Item, Rule, Tie
from fit.solve.question import Question
from fit.solve.run import Watch
from fit.solve.verdict import judged

_GAPS: tuple[CheckRule, ...] = (
    bodies,
    walls,
    lid,
    webs,
    edges,
    posts_behind,
    spanner,
    fingers,
    order,
)
"""Rules whose margins fall off by no more than things are moved."""

_SPARE = 1.02
"""Rounded corners are measured by chords, so that a margin may fall off by a little more."""

_SURE = 1e-4
"""A rule is broken all over when its margin is below 0 by so much more, mm."""

_SMALLEST = 0.004
"""An area that is no larger, mm, and not ruled out ends the search: it is too close to call."""

_MOST = 5000
"""So often the check is asked at most, for each one or two parts …"""

_BRIEF = {1: 600, 2: 600, 3: 200}
"""… and so often for narrow regions of so many parts; of more it is not asked."""

_SHARE = 0.3
"""What is in the way is cut, unless its area is smaller than this share of the largest."""

_TOGETHER = 2
"""Of more parts at once there are too many areas."""

_FAR = 10_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """An area of places of a part: its option, its middle, half its size, and how it was cut."""

    option: Option
    middle: tuple[float | None, float | None]
    half: tuple[float, float]
    path: tuple[int, ...] = ()

    @property
    def put(self) -> Put:
        """The part in the middle of it."""
        return Put(option=self.option, across=self.middle[0], up=self.middle[1])

    @property
    def reach(self) -> float:
        """The most that a place in it is from the middle, mm."""
        return _SPARE * math.hypot(*self.half)

    def corners(self) -> list[Put]:
        """The part in each corner of it."""
        ends = [
            (None,) if at is None else (at - half, at + half)
            for at, half in zip(self.middle, self.half, strict=True)
        ]
        return [Put(option=self.option, across=a, up=u) for a, u in itertools.product(*ends)]

    def halves(self) -> Iterator[Area]:
        """Cut in two across the longer side."""
        k = int(self.half[1] > self.half[0])
        at, less = self.middle[k] or 0.0, self.half[k] / 2
        for number, way in enumerate((-1, 1)):
            there = at + way * less
            middle = (there, self.middle[1]) if k == 0 else (self.middle[0], there)
            half = (less, self.half[1]) if k == 0 else (self.half[0], less)
            yield replace(self, middle=middle, half=half, path=(*self.path, number))


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What came of it: places for all, or a question in which some have none; or neither."""

    puts: Mapping[str, Put] | None = None
    refused: Question | None = None


def settled(
    build: Build, seen: Probe, movers: Iterable[str], asked: Question, watch: Watch
) -> Settled:
    """Look for a place, or for one or two parts that have none.

    Args:
        build: the build.
        seen: what was probed of it.
        movers: what has a place only once this is done.
        asked: a loose question that has an answer.
        watch: stops it.
    """
    if build.box.holes or not _even(seen):
        # Through a hole that is there already nothing is cut: its rules hold but in one place.
        return Settled()
    for count in range(1, min(_TOGETHER, len(seen.free)) + 1):
        for some in itertools.combinations(seen.free, count):
            every = count == len(seen.free)
            search = _Search(_only(build, seen, some), some, tuple(movers), watch)
            try:
                ended, puts = search.run()
            except (UnusableInput, KeyError):
                # The others hold these.
                continue
            if every and puts is not None:
                return Settled(puts=puts)
            if ended:
                return Settled(refused=_barred(asked, tuple(f.name for f in some)))
    return Settled()


def within(
    build: Build,
    seen: Probe,
    movers: Iterable[str],
    narrow: Narrow,
    watch: Watch,
    *,
    share: float = 1.0,
) -> tuple[bool, Mapping[str, Put] | None]:
    """Look for a place of all free parts in narrow regions of their faces.

    Args:
        build: the build.
        seen: what was probed of it.
        movers: what has a place only once this is done.
        narrow: where the parts are looked for.
        watch: stops it.
        share: of the checks that it usually may take.

    Returns:
        Whether it is proved that there is none; and the places, where some were come upon.
    """
    most = round(share * _BRIEF.get(len(seen.free), 0))
    if not most or build.box.holes or not _even(seen):
        return False, None
    plain = _only(build, seen, seen.free)
    search = _Search(plain, seen.free, tuple(movers), watch, narrow=narrow, most=most)
    try:
        return search.run()
    except (UnusableInput, KeyError):
        return False, None


def _even(seen: Probe) -> bool:
    """Whether everything goes along with the coordinates of one part, evenly."""
    trials = {id(t): t for t in (seen.base, *seen.trials.values())}.values()
    return not any(
        trial.pitched
        or any(m.odd or m.jumps or len({n for n, _ in m.moves}) > 1 for m in trial.found.values())
        for trial in trials
    )


def _only(build: Build, seen: Probe, some: tuple[Free, ...]) -> Build:
    gone = {f.name for f in seen.free} - {f.name for f in some}
    return replace(
        build,
        parts=tuple(u for u in build.parts if u.name not in gone),
        wires=tuple(w for w in build.wires if not gone & {w.start, w.end}),
        wishes=(),
    )


def _barred(asked: Question, names: tuple[str, ...]) -> Question:
    """The question, in which these parts, or these two together, have no place."""
    problem = asked.problem
    if len(names) == 1:
        items = tuple(_nowhere(i) if i.name == names[0] else i for i in problem.items)
        return replace(asked, problem=replace(problem, items=items))
    # Each far behind the other: what no two things can be.
    never = Rule(tie=Tie.IN_ORDER, items=names, axis=0, value=_FAR)
    return replace(asked, problem=replace(problem, rules=(*problem.rules, never)))


def _nowhere(item: Item) -> Item:
    ways = tuple(
        replace(w, table=replace(w.table, margin=np.full_like(w.table.margin, -1)))
        if w.table is not None
        else w
        for w in item.ways
    )
    return replace(item, ways=ways)


Where = Mapping[str, Area]


@dataclass(slots=True)
class _Search:
    """The search for a place of some parts."""

    build: Build
    parts: tuple[Free, ...]
    movers: tuple[str, ...]
    watch: Watch
    narrow: Narrow | None = None
    most: int = _MOST
    asked: int = 0
    dead: set[tuple[str, Option, tuple[int, ...]]] = field(default_factory=set)

    def run(self) -> tuple[bool, Mapping[str, Put] | None]:
        """Whether every area was ruled out; and a good place, where one was come upon."""
        count = itertools.count()
        queue: list[tuple[float, int, Where]] = []
        for each in itertools.product(*(self._roots(free) for free in self.parts)):
            start = {f.name: area for f, area in zip(self.parts, each, strict=True)}
            heapq.heappush(queue, (0.0, next(count), start))
        while queue:
            if self.asked >= self.most or not self.watch.left:
                return False, None
            _, _, where = heapq.heappop(queue)
            if any(self._is_dead(name, area) for name, area in where.items()):
                continue
            found = self._broken(where)
            if found is not None and (
                self._ruled_out(where, found) or self._at_all_corners(where, found)
            ):
                continue
            worst = -min((f.margin for f in found or ()), default=0.0)
            if worst <= 0.0 and found is not None and self._good(where):
                return False, {name: area.put for name, area in where.items()}
            name = self._to_cut(where, found or [])
            if max(area.reach for area in where.values()) < _SMALLEST:
                return False, None
            for half in where[name].halves():
                heapq.heappush(queue, (worst, next(count), {**where, name: half}))
        return True, None

    def _to_cut(self, where: Where, found: list[Finding]) -> str:
        """The largest area of those in the way of what is nearest to being broken all over."""
        reach = {name: area.reach for name, area in where.items()}
        broken = [f for f in found if f.margin < -_SURE and set(f.about) & set(reach)]
        about = set(reach)
        if broken:
            nearest = min(broken, key=lambda f: f.margin + sum(reach.get(n, 0) for n in f.about))
            about &= set(nearest.about)
        name = max((n for n in reach if n in about), key=lambda n: reach[n])
        widest = max(reach, key=lambda n: reach[n])
        return widest if reach[name] < _SHARE * reach[widest] else name

    def _roots(self, free: Free) -> Iterator[Area]:
        known = faces(self.build.box)
        for option in free.options:
            across, up = spans(known[option.face])
            if self.narrow is not None:
                closer = self.narrow.get(key_of(free.name, option))
                if closer is None:
                    continue
                across = _cut(across, closer.get(Coord.ACROSS))
                up = _cut(up, closer.get(Coord.UP))
            middle: list[float | None] = []
            half = []
            for span, is_open in zip((across, up), (free.across, free.up), strict=True):
                middle.append(span.middle if is_open else None)
                half.append((span.high - span.low) / 2 if is_open else 0.0)
            yield Area(option=option, middle=(middle[0], middle[1]), half=(half[0], half[1]))

    def _is_dead(self, name: str, area: Area) -> bool:
        return any(
            (name, area.option, area.path[:n]) in self.dead for n in range(len(area.path) + 1)
        )

    def _puts(self, where: Where) -> dict[str, Put]:
        return {name: area.put for name, area in where.items()}

    def _broken(self, where: Where) -> list[Finding] | None:
        """What the rules about gaps say of the middles; None where they cannot even be had."""
        self.asked += 1
        try:
            scene = assemble(put_in(self.build, self._puts(where)))
        except UnusableInput:
            return None
        boards = {u.name for u in self.build.parts if isinstance(u.part, Board)}
        moving = {*where, *self.movers}
        return [
            f
            for f in inspected(Inspection(scene), _GAPS)
            if moving & set(f.about) and not (f.rule == order.name and boards & set(f.about))
        ]

    def _ruled_out(self, where: Where, found: list[Finding]) -> bool:
        """Whether something is broken all over the areas."""
        whole = sum(area.reach for area in where.values())
        ruled = False
        for one in found:
            if one.margin >= -_SURE:
                continue
            about = set(one.about) & set(where)
            # What is not a free part itself may go along with any of them.
            strange = one.rule == order.name or set(one.about) & (set(self.movers) - set(where))
            reach = whole if strange else sum(where[n].reach for n in about)
            if one.margin + reach < -_SURE:
                ruled = True
                if len(about) == 1 and not strange:
                    name = next(iter(about))
                    self.dead.add((name, where[name].option, where[name].path))
        return ruled

    def _at_all_corners(self, where: Where, found: list[Finding]) -> bool:
        """Whether the same two solids clash with the parts in all corners of their areas.

        How near two convex solids are to each other, overlaps counting below 0, is a convex
        function of how far they are moved: nowhere in an area larger than in all its corners.
        """
        if not any(f.rule == bodies.name and f.margin < -_SURE for f in found):
            return False
        for pair in clashing(self._look(self._puts(where))):
            owners = {pair.a.body.owner, pair.b.body.owner}
            moving = sorted(owners & set(where))
            if not moving or owners & (set(self.movers) - set(where)):
                continue
            ids = pair.a.body.id, pair.b.body.id
            if all(self._clash(puts, ids) for puts in self._corners(where, moving)):
                if len(moving) == 1:
                    name = moving[0]
                    self.dead.add((name, where[name].option, where[name].path))
                return True
        return False

    def _corners(self, where: Where, moving: Sequence[str]) -> Iterator[dict[str, Put]]:
        middles = self._puts(where)
        for ends in itertools.product(*(where[name].corners() for name in moving)):
            yield {**middles, **dict(zip(moving, ends, strict=True))}

    def _clash(self, puts: Mapping[str, Put], ids: tuple[BodyId, BodyId]) -> bool:
        """Whether two solids clash with the parts there; not where these cannot even be had."""
        try:
            look = self._look(puts)
        except UnusableInput:
            return False
        solids = {s.body.id: s for s in things(look).solids}
        if not all(i in solids for i in ids):
            return False
        return measured(look, bodies.name, solids[ids[0]], solids[ids[1]]).margin < -_SURE

    def _look(self, puts: Mapping[str, Put]) -> Inspection:
        self.asked += 1
        return Inspection(assemble(put_in(self.build, puts)))

    def _good(self, where: Where) -> bool:
        self.asked += 1
        try:
            return judged(put_in(self.build, self._puts(where)), (*where, *self.movers)).good
        except UnusableInput:
            return False


def _cut(whole: Span, closer: Span | None) -> Span:
    """What two spans share, or the nearer end of the first."""
    if closer is None:
        return whole
    low = min(max(whole.low, closer.low), whole.high)
    return Span(low=low, high=max(low, min(whole.high, closer.high)))
