"""Where everything that was left open goes: found, tidied, and passed by the check.

The solver proposes on a grid that errs on the safe side; the check, which a person's own layout
goes through, disposes. What the check objects to is ruled out and the solver asked again, so a
layout that comes out of here has passed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from fit.findings import Finding
from fit.model.build import Build, WishKind
from fit.solve.engine import Answer, possible, solve
from fit.solve.free import Free, Put, dependents, free_parts, halves, put_in
from fit.solve.maps import Maps, with_enough
from fit.solve.probe import NoTrial, Probe, probe
from fit.solve.problem import Box, Gap, Item, Problem, Side, Spot, Way
from fit.solve.question import STEP, Question, question
from fit.solve.regions import kept_out
from fit.solve.run import Effort, Status, Watch, interruptible
from fit.solve.tidy import Tidier, Tidy, words_of
from fit.solve.verdict import Verdict, judged

MARKS = (1.0, 0.5, 0.1)
"""Places are looked for in steps of a whole millimetre first, then of finer ones."""

WORTH = 0.3
"""So much more room, mm, is worth a place that is not on a whole millimetre."""

ALLOWED = 0.5
SHARE = 0.2
"""Being tidy may cost this share of the room, and at most so many mm."""

_ROUNDS = 12
"""How often the check's objections are taken back to the solver."""

_LEAST_CUT = 0.5
"""What the check objects to is ruled out at least so far around, mm."""

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a wish cost.

    Attributes:
        words: the wish.
        kept: whether it holds.
        mm: room that it took, or would have taken, mm; None where it cannot hold at all.
        asked: False for what was done unasked.
    """

    words: str
    kept: bool
    mm: float | None
    asked: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A layout that passed the check.

    Attributes:
        puts: where the free parts went.
        verdict: what the check says of it.
        costs: of the wishes.
        best: True when the solver proved that no layout on its grid is roomier.
    """

    puts: Mapping[str, Put]
    verdict: Verdict
    costs: tuple[Cost, ...] = ()
    best: bool = False

    @property
    def build(self) -> Build:
        """With every place filled in."""
        return self.verdict.build

    @property
    def margin(self) -> float:
        """The smallest room about what was placed, mm, as the check measures it."""
        return self.verdict.margin


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What came of laying out a build.

    Attributes:
        build: as it was.
        free: what was open in it.
        status: found, impossible (proved) or out of time.
        layout: the layout, when found.
        objections: what the check had against the last proposal, when none passed.
        stopped: True when somebody stopped it.
    """

    build: Build
    free: tuple[Free, ...]
    status: Status
    layout: Layout | None = None
    objections: tuple[Finding, ...] = ()
    stopped: bool = False


def lay_out(build: Build, watch: Watch | None = None, tell: Tell = lambda _: None) -> Laid:
    """Place everything a build leaves open.

    Args:
        build: with parts that lack a place, or may go on several faces, or …
        watch: limits, and a way to stop.
        tell: called with a few words before each step that takes a while.

    Raises:
        UnusableInput: when the file asks for something this box or part cannot do.
    """
    watch = watch or Watch(effort=Effort(work=6.0))
    with interruptible(watch):
        found = [_Search(way, watch, tell).laid() for way in halves(build)]
    return max(found, key=_rank)


def _rank(laid: Laid) -> tuple[int, float]:
    order = (Status.OUT_OF_TIME, Status.IMPOSSIBLE, Status.FOUND)
    if any(laid.status is s for s in order[:2]):
        # One way round that is not ruled out keeps the whole from being ruled out.
        return (1 if laid.status is Status.OUT_OF_TIME else 0, 0.0)
    assert laid.layout is not None
    return 2, laid.layout.margin


@dataclass(slots=True)
class _Search:
    """The search for one way round."""

    build: Build
    watch: Watch
    tell: Tell
    free: tuple[Free, ...] = ()
    movers: tuple[str, ...] = ()
    seen: Probe | None = None
    cuts: list[tuple[str, Put, float]] = field(default_factory=list)

    def laid(self) -> Laid:
        self.free = free_parts(self.build)
        self.movers = (*(f.name for f in self.free), *dependents(self.build, self.free))
        if not self.free:
            return self._as_it_is()
        try:
            self.seen = probe(self.build, self.free)
        except NoTrial as failed:
            raise failed.error from None
        best: Layout | None = None
        objections: tuple[Finding, ...] = ()
        status = Status.OUT_OF_TIME
        for marked in MARKS:
            layout, objections, status = self._marked(marked, objections)
            if layout is not None and (best is None or layout.margin > best.margin + WORTH):
                best = layout
            if best is not None and (best.best or best.margin >= float(self.build.room) - WORTH):
                break
            if not self.watch.left or (best is not None and marked <= MARKS[1]):
                break
        if best is not None:
            status = Status.FOUND
        return Laid(
            build=self.build,
            free=self.free,
            status=status,
            layout=best,
            objections=() if best is not None else objections,
            stopped=self.watch.stopped.is_set(),
        )

    def _as_it_is(self) -> Laid:
        layout = Layout(puts={}, verdict=judged(self.build, ()), best=True)
        return Laid(build=self.build, free=(), status=Status.FOUND, layout=layout)

    def _asked(self, marked: float, side: Side = Side.SAFE) -> Question:
        assert self.seen is not None
        finger = [float(w.value) for w in self.build.wishes if w.kind is WishKind.FINGER_GAP]
        return question(
            self.build,
            self.seen,
            side=side,
            marked=marked,
            finger=max(finger, default=0.0),
            keep_out=kept_out(self.build, self.seen.base.look),
        )

    def _marked(
        self, marked: float, before: tuple[Finding, ...]
    ) -> tuple[Layout | None, tuple[Finding, ...], Status]:
        """The best layout on one grid of places that passes the check, or what stood against it."""
        self.tell(f"looking for places, {marked:g} mm apart")
        asked = self._asked(marked)
        best: Layout | None = None
        objections = before
        for _ in range(_ROUNDS):
            answer, costs, maps = self._proposed(asked)
            if answer.status is not Status.FOUND:
                return best, objections, answer.status
            puts = asked.puts(answer.layout)
            verdict = judged(put_in(self.build, puts), self.movers)
            layout = Layout(puts=puts, verdict=verdict, costs=costs, best=answer.best and not self.cuts)
            if verdict.good and (best is None or layout.margin > best.margin):
                best = layout
            against = self._against(verdict, answer.margin * STEP)
            if not against or not self.watch.left:
                break
            objections = verdict.clashes or objections
            self.tell(f"ruled out: {against[0].say}")
            self._rule_out(against, puts, answer.margin * STEP)
        return best, objections, Status.FOUND if best is not None else Status.OUT_OF_TIME

    def _against(self, verdict: Verdict, margin: float) -> list[Finding]:
        """What the check objects to that another place may mend."""
        names = {f.name for f in self.free if f.across or f.up or len(f.options) > 1}
        found = [f for f in verdict.clashes if self._blamed(f, names)]
        return sorted(found, key=lambda f: f.margin)

    def _blamed(self, finding: Finding, names: Iterable[str]) -> str | None:
        """The free part that a finding is about, or that moves what it is about."""
        assert self.seen is not None
        about = set(finding.about)
        for name in names:
            if name in about:
                return name
        for (_, owner, _, _), moved in self.seen.base.found.items():
            if owner in about:
                for mover, _ in moved.moves:
                    if mover in names:
                        return mover
        return None

    def _rule_out(self, against: list[Finding], puts: Mapping[str, Put], margin: float) -> None:
        worst = against[0]
        name = self._blamed(worst, [f.name for f in self.free])
        assert name is not None
        size = max(_LEAST_CUT, -worst.margin)
        self.cuts.append((name, puts[name], size))

    # ── one proposal ────────────────────────────────────────────────────────────────────────

    def _proposed(self, asked: Question) -> tuple[Answer, tuple[Cost, ...], Maps]:
        """The solver's best layout: room first, then tidy, then near, then short wires."""
        problem = ruled_out(asked, self.cuts)
        maps = with_enough(Maps(problem))
        bare = self._solved(maps)
        if bare.status is not Status.FOUND:
            return bare, (), maps
        assert self.seen is not None
        tidier = Tidier(self.build, self.seen, asked)
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
            return replace(bare, best=False), costs, maps
        return replace(answer, best=bare.best and margin >= bare.margin), costs, maps

    def _solved(self, maps: Maps) -> Answer:
        self.watch.maps = maps
        return solve(maps.problem, self.watch)

    def _tied(
        self, maps: Maps, ties: tuple[Tidy, ...], margin: int
    ) -> tuple[Maps, tuple[Cost, ...], int]:
        """Hold what can be held at little cost: all at once if that goes, else one by one."""
        least = margin - min(round(ALLOWED / STEP), round(SHARE * margin))
        if not ties:
            return maps, (), margin
        every, left = self._with(maps, ties, margin)
        if left is not None and left >= margin:
            return every, tuple(_cost(t, kept=True, mm=0.0) for t in ties), margin
        costs: list[Cost] = []
        for tidy in ties:
            tried, left = self._with(maps, (tidy,), margin)
            kept = left is not None and left >= least
            costs.append(_cost(tidy, kept=kept, mm=None if left is None else (margin - left) * STEP))
            if kept and left is not None:
                maps, margin = tried, left
        return maps, tuple(costs), margin

    def _with(self, maps: Maps, ties: tuple[Tidy, ...], cap: int) -> tuple[Maps, int | None]:
        """The question with these ties, and the room they leave up to a cap; None: they cannot."""
        problem = maps.problem
        for tidy in ties:
            problem = tidy.added(problem)
        maps = maps.renewed(replace(problem, cap=cap))
        answer = self._solved(maps)
        return maps, answer.margin if answer.status is Status.FOUND else None


def _cost(tidy: Tidy, *, kept: bool, mm: float | None) -> Cost:
    return Cost(words=tidy.words, kept=kept, mm=mm, asked=tidy.wish is not None)


def ruled_out(asked: Question, cuts: Iterable[tuple[str, Put, float]]) -> Problem:
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
    axes: Mapping[object, int],
    places: Mapping[object, Mapping[int, float]],
    put: Put,
    size: float,
    layer: str,
) -> Box:
    """A box round the nearest steps to a spot; the whole of an axis that has no coordinate."""
    low, high = [-10_000_000] * 3, [10_000_000] * 3
    half = max(1, round(size / STEP))
    for coord, axis in axes.items():
        value = put.across if str(coord) == "across" else put.up
        assert value is not None
        step, there = min(places[coord].items(), key=lambda kv: abs(kv[1] - value))
        near = step + round((value - there) / STEP)
        low[axis], high[axis] = near - half, near + half
    return Box(low=tuple(low), high=tuple(high), layer=layer)


Spots = Mapping[str, Spot]
