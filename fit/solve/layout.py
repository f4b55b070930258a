"""Where everything that was left open goes: found, tidied, and passed by the check.

The solver proposes on a grid that errs on the safe side; the check, which a person's own layout
goes through, disposes. What the check objects to is ruled out and the solver asked again, so a
layout that comes out of here has passed.

Room: with one part open no place has more than 0.3 mm more of it than the one proposed (0.15 mm
where there is less than 2), what being tidy took apart, which is told. Places on whole and half
millimetres may cost so much, as nobody can use it (`fit.solve.polish`). With several parts open the
same is done, without that promise.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fit.findings import Finding
from fit.model.build import Build
from fit.solve.areas import settled as by_areas
from fit.solve.asked import LAST, PROOFS, STAGES, asked_of
from fit.solve.close_look import CloseLook, close_look
from fit.solve.closer import Refusal
from fit.solve.crowd import FEW, crowded
from fit.solve.draft import Narrow
from fit.solve.engine import Answer, possible
from fit.solve.free import Free, Put, dependents, free_parts, halves, kind_of
from fit.solve.maps import Maps
from fit.solve.narrow import much_less, narrowed
from fit.solve.polish import WORTH, Polisher, movable
from fit.solve.probe import NoTrial, Probe, probe
from fit.solve.problem import Metric, Rule, Side
from fit.solve.proposal import Cost, Proposer, Spot, insisted, pulls
from fit.solve.question import Question
from fit.solve.run import Effort, Status, Watch, interruptible
from fit.solve.second_look import on_holes, on_one_face
from fit.solve.verdict import Verdict, judged
from fit.solve.written import written

_LAST_SHARE = 0.4
"""The last try may take this share of the time that is left."""

_ROUNDS = 12
"""How often the check's objections are taken back to the solver."""

_LEAST_CUT = 0.5
"""What the check objects to is ruled out at least so far around, mm."""

if TYPE_CHECKING:
    from fit.solve.asking import Asker

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A layout that passed the check.

    Attributes:
        puts: where the free parts went.
        verdict: what the check says of it.
        costs: of the wishes.
        best: True when the solver proved that no layout on its grid is roomier, but for what
            being tidy costs.
        held: the ties that keep it tidy.
    """

    puts: Mapping[str, Put]
    verdict: Verdict
    costs: tuple[Cost, ...] = ()
    best: bool = False
    held: tuple[Rule, ...] = ()

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
        refused: the question that was proved to have no answer, when there is no layout.
        stopped: True when somebody stopped it.
        seen: what was probed of it; None when nothing was open.
        few: parts that are proved to have no layout by themselves, where that is how it was proved.
        fewest: no fewer of the build's parts are refused, then.
        asker: what is known of some of the parts, where that was looked at.
        refusal: what it took to refuse them all, where they were looked at closer and closer.
    """

    build: Build
    free: tuple[Free, ...]
    status: Status
    layout: Layout | None = None
    objections: tuple[Finding, ...] = ()
    refused: Question | None = None
    stopped: bool = False
    seen: Probe | None = None
    few: tuple[str, ...] = ()
    fewest: bool = False
    asker: Asker | None = None
    refusal: Refusal | None = None


def lay_out(
    build: Build,
    watch: Watch | None = None,
    tell: Tell = lambda _: None,
    *,
    quick: bool = False,
    prove: bool = True,
    off: tuple[Spot, ...] = (),
) -> Laid:
    """Place everything a build leaves open.

    Args:
        build: with parts that lack a place, or may go on several faces, or …
        watch: limits, and a way to stop.
        tell: called with a few words before each step that takes a while.
        quick: any layout will do.
        prove: when none is found at once, look on finer and prove that there is none.
        off: spots to keep parts off.

    Raises:
        UnusableInput: when the file asks for something this box or part cannot do.
    """
    watch = watch or Watch(effort=Effort(work=6.0))
    with interruptible(watch):
        found = [
            _one_way(_Search(way, watch, tell, quick, prove, list(off))) for way in halves(build)
        ]
    return max(found, key=_rank)


def _one_way(search: _Search) -> Laid:
    """The search for one way round, and a second look where it must first be known what fits."""
    laid = search.laid()
    seen = laid.seen
    if search.quick or seen is None:
        return laid

    def again(build: Build) -> Layout | None:
        return replace(search, build=build, prove=False, vetoed=False).laid().layout

    def asked() -> Question:
        return asked_of(search.build, seen, STAGES[0])

    laid = on_one_face(laid, asked, again, search.watch)
    return on_holes(laid, again, search.watch)


def _rank(laid: Laid) -> tuple[int, float]:
    order = (Status.OUT_OF_TIME, Status.IMPOSSIBLE, Status.FOUND)
    if any(laid.status is s for s in order[:2]):
        # One way round that is not ruled out keeps the whole from being ruled out.
        return (1 if laid.status is Status.OUT_OF_TIME else 0, 0.0)
    assert laid.layout is not None
    return 2, laid.layout.margin


Outcome = tuple[Layout | None, tuple[Finding, ...], Status]
"""A layout that passed, or what the check had against the last one; and how the solver ended."""


@dataclass(slots=True)
class _Search:
    """The search for one way round."""

    build: Build
    watch: Watch
    tell: Tell
    quick: bool = False
    prove: bool = True
    cuts: list[Spot] = field(default_factory=list)
    free: tuple[Free, ...] = ()
    movers: tuple[str, ...] = ()
    seen: Probe | None = None
    vetoed: bool = False
    look: CloseLook = field(default_factory=CloseLook)

    def laid(self) -> Laid:
        self.free = free_parts(self.build)
        self.movers = (*(f.name for f in self.free), *dependents(self.build, self.free))
        if not self.free:
            return self._as_it_is()
        try:
            self.seen = probe(self.build, self.free)
        except NoTrial as failed:
            raise failed.error from None
        crowd = self._crowd()
        if crowd is not None:
            return Laid(build=self.build, free=self.free, status=Status.IMPOSSIBLE,
                        refused=crowd, seen=self.seen)  # fmt: skip
        best: Layout | None = None
        objections: tuple[Finding, ...] = ()
        status = Status.OUT_OF_TIME
        enough = float(self.build.room) - WORTH
        for marked, metric in STAGES if self.prove else STAGES[:1]:
            layout, objections, status = self._stage(marked, metric, objections)
            if layout is not None and (best is None or layout.margin > best.margin + WORTH):
                best = layout
            if best is not None and (best.best or self.vetoed or best.margin >= enough):
                break
            if not self.watch.left:
                break
        refused = None
        if best is None and self.prove:
            best, refused, objections = self._settled(objections)
            status = Status.OUT_OF_TIME if refused is None else Status.IMPOSSIBLE
        if best is not None:
            status = Status.FOUND
            best = best if self.quick else self._polished(best)
        look = self.look
        return Laid(
            build=self.build,
            free=self.free,
            status=status,
            layout=best,
            objections=() if best is not None else objections,
            refused=refused,
            stopped=self.watch.stopped.is_set(),
            seen=self.seen,
            few=look.few if refused is not None else (),
            fewest=look.fewest,
            asker=look.asker,
            refusal=look.refusal,
        )

    def _crowd(self) -> Question | None:
        """The loose question, where there are more alike parts than one face has room for."""
        alike = Counter((kind_of(f.used.part), f.faces) for f in self.free if len(f.faces) == 1)
        if not self.prove or max(alike.values(), default=0) < FEW:
            return None
        asked = self._asked(*PROOFS[1], Side.LOOSE)
        return asked if crowded(asked.problem, Maps(asked.problem)) else None

    def _polished(self, layout: Layout) -> Layout:
        """Off the marks where that gives clearly more room, by the check's own margins."""
        assert self.seen is not None
        polisher = Polisher(
            judge=lambda puts: judged(written(self.build, puts), self.movers),
            moves=movable(self.build, self.seen, layout.puts, layout.held),
            cap=float(self.build.room),
        )
        puts, verdict = polisher.polished(layout.puts, layout.verdict)
        return replace(layout, puts=puts, verdict=verdict)

    def _as_it_is(self) -> Laid:
        layout = Layout(puts={}, verdict=judged(self.build, ()), best=True)
        return Laid(build=self.build, free=(), status=Status.FOUND, layout=layout)

    def _asked(
        self,
        marked: float,
        metric: Metric,
        side: Side = Side.SAFE,
        narrow: Narrow | None = None,
    ) -> Question:
        assert self.seen is not None
        return asked_of(self.build, self.seen, (marked, metric), side, narrow)

    def _stage(
        self,
        marked: float,
        metric: Metric,
        before: tuple[Finding, ...],
        narrow: Narrow | None = None,
    ) -> Outcome:
        """The best layout on one grid of places that passes the check, or what stood against it."""
        closer = f"{marked:g} mm apart" if narrow is None else "closer where they can be at all"
        self.tell(f"looking for places, {closer}")
        asked = self._asked(marked, metric, narrow=narrow)
        assert self.seen is not None
        proposer = Proposer(self.build, self.seen, self.watch)
        best: Layout | None = None
        objections = before
        for _ in range(_ROUNDS):
            answer, costs = self._proposed(asked, proposer)
            if answer.status is not Status.FOUND:
                return best, objections, answer.status
            puts = asked.puts(answer.layout)
            verdict = judged(written(self.build, puts), self.movers)
            layout = Layout(
                puts=puts,
                verdict=verdict,
                costs=(*costs, *pulls(self.build, verdict.scene), *insisted(self.build)),
                best=answer.best and not self.vetoed,
                held=proposer.held,
            )
            if verdict.good and (best is None or layout.margin > best.margin):
                best = layout
            against = self._against(verdict)
            if not against or not self.watch.left:
                break
            objections = verdict.clashes or objections
            self.tell(f"ruled out: {against[0].say}")
            self._rule_out(against, puts)
        return best, objections, Status.FOUND if best is not None else Status.OUT_OF_TIME

    def _settled(
        self, objections: tuple[Finding, ...]
    ) -> tuple[Layout | None, Question | None, tuple[Finding, ...]]:
        """Look in turn for a proof that there is no layout and, closer and closer, for a layout.

        What the loose question leaves of each part's places is all that need be looked at next.
        """
        narrow: Narrow | None = None
        asked: Question | None = None
        for n, (marked, metric) in enumerate(PROOFS):
            layout, refused, asked = self._refused(marked, metric, narrow)
            if layout is None and refused is None and n == 0:
                layout, refused = self._closer()
            if layout is not None or refused is not None or asked is None:
                return layout, refused, objections
            if metric is Metric.LOOSE:
                closer = narrowed(asked)
                if not much_less(narrow, closer):
                    break
                narrow = closer
            layout, objections, _ = self._last(objections, narrow)
            if layout is not None:
                return layout, None, objections
        return (*self._by_areas(asked), objections)

    def _closer(self) -> tuple[Layout | None, Question | None]:
        """The same by all places of all parts, or of a few of them: closer and closer."""
        if not self.watch.left:
            return None, None
        so_far = Laid(build=self.build, free=self.free, status=Status.OUT_OF_TIME, seen=self.seen)
        self.look = look = close_look(so_far, self.movers, self.watch, self.tell)
        if look.found is None:
            return None, look.refused
        return Layout(puts=look.found[0], verdict=look.found[1]), None

    def _by_areas(self, asked: Question | None) -> tuple[Layout | None, Question | None]:
        """Where no question had an answer: by the check, area by area."""
        if asked is None or not self.watch.left:
            return None, None
        assert self.seen is not None
        self.tell("looking at all places of each part, and of each two")
        said = by_areas(self.build, self.seen, self.movers, asked, self.watch)
        if said.puts is None or insisted(self.build):
            return None, said.refused
        verdict = judged(written(self.build, said.puts), self.movers)
        return (Layout(puts=said.puts, verdict=verdict) if verdict.good else None), None

    def _last(self, objections: tuple[Finding, ...], narrow: Narrow | None) -> Outcome:
        """Look in straight lines, in a share of the time."""
        whole = self.watch
        if not whole.left:
            return None, objections, Status.OUT_OF_TIME
        effort = replace(whole.effort, seconds=_LAST_SHARE * whole.left)
        self.watch = Watch(effort=effort, listen=whole.listen, stopped=whole.stopped)
        try:
            return self._stage(*LAST, objections, narrow)
        finally:
            self.watch = whole

    def _refused(
        self, marked: float, metric: Metric, narrow: Narrow | None
    ) -> tuple[Layout | None, Question | None, Question | None]:
        """Prove that there is no layout; or, if the looser question has one, try that.

        Returns:
            A layout that is good, or the question that was refused; and the question asked, None
            when time ran out.
        """
        if not self.watch.left:
            return None, None, None
        self.tell(f"proving that there is no place, {marked:g} mm apart")
        asked = self._asked(marked, metric, Side.LOOSE, narrow)
        answer = possible(asked.problem, self.watch)
        if answer.status is Status.IMPOSSIBLE:
            return None, asked, asked
        if answer.status is Status.FOUND:
            puts = asked.puts(answer.layout)
            verdict = judged(written(self.build, puts), self.movers)
            # The loose question lets parts a little into what the file wants kept free.
            if verdict.good and not insisted(self.build):
                return Layout(puts=puts, verdict=verdict), None, asked
        return None, None, asked

    def _proposed(self, asked: Question, proposer: Proposer) -> tuple[Answer, tuple[Cost, ...]]:
        if self.quick:
            return proposer.quick(asked, self.cuts), ()
        return proposer.best(asked, self.cuts)

    def _against(self, verdict: Verdict) -> list[Finding]:
        """What the check objects to that another place may mend."""
        found = [f for f in verdict.clashes if self._blamed(f)]
        return sorted(found, key=lambda f: f.margin)

    def _blamed(self, finding: Finding) -> tuple[str, ...]:
        """The free parts that a finding is about, or that move what it is about."""
        assert self.seen is not None
        open_ = [f.name for f in self.free if f.across or f.up or len(f.options) > 1]
        about = set(finding.about)
        moving = {
            mover
            for (_, owner, _, _), moved in self.seen.base.found.items()
            if owner in about
            for mover, _ in moved.moves
        }
        return tuple(name for name in open_ if name in about | moving)

    def _rule_out(self, against: list[Finding], puts: Mapping[str, Put]) -> None:
        """Keep the worst from coming back: the place of one part, or how two are to each other.

        A margin falls off by no more than a thing is moved, so what is far wrong is so all around.
        """
        worst = against[0]
        name, *others = self._blamed(worst)
        size = max(_LEAST_CUT, -worst.margin / math.sqrt(2))
        if len(others) == 1 and len(self.free) > 1:
            beside = others[0]
            cut = Spot(name=name, put=puts[name], size=size, beside=beside, there=puts[beside])
        else:
            cut = Spot(name=name, put=puts[name], size=size)
        self.cuts.append(cut)
        self.vetoed = True
