"""Which of a build's open parts go in together: asked of questions, and shown by the check.

"No" is a question's that refuses only what is impossible; "yes" is a layout that the check passed.
In between are parts that the questions have room for but that nobody found a place for. Each look
has so much effort and no more, however many parts there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Self

from fit.findings import UnusableInput
from fit.model.build import Build
from fit.solve.all_places import WORK
from fit.solve.areas import within
from fit.solve.asked import LAST, PROOFS, STAGES, asked_of, shared_of
from fit.solve.audit import Layout as Spots
from fit.solve.closer import COARSE, FEW, HOPELESS, LITTLE, STEPS, Closer
from fit.solve.engine import Answer, again, at_least, briefly
from fit.solve.free import Put, dependents
from fit.solve.homing import comes_upon, places_of, small
from fit.solve.layout import Laid, Layout, lay_out
from fit.solve.maps import Maps
from fit.solve.nudge import nudged
from fit.solve.pairs import Tables
from fit.solve.problem import Metric, Problem, Side
from fit.solve.question import Question
from fit.solve.reasons import Guess, only
from fit.solve.run import Status, Watch
from fit.solve.shared import Shared
from fit.solve.witness import Witness

CLOSER = (0.5, Metric.LOOSE)
"""What some parts have room for by the question that was refused is asked once more like this."""

_GLANCE = (0.3,)
"""Effort of the solver's first look for a place."""

_PROOF = (0.2, 0.6)
"""Effort of each round of a proof that parts do not go in …"""

_LIKELY = (0.6, 3.0)
"""… and where no coarse layout was come upon, so that they hardly do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pains:
    """How much is done to settle whether parts go in.

    Attributes:
        regions: so many are looked at closer.
        nudges: so many places are nudged.
        doubts: so many are borne.
        homes: so many starts are made from coarse layouts.
        share: of the checks that are usually asked for one narrow region.
        work: so many words of the tables are looked at to tell the first regions apart.
    """

    regions: int
    nudges: int
    doubts: int
    homes: int
    share: float
    work: int = LITTLE


_SHORT = _Pains(regions=100, nudges=2, doubts=1, homes=5, share=0.25)
"""For answers on the way …"""

_UNLIKELY = replace(_SHORT, homes=0, work=2 * WORK)
"""Where no coarse layout was come upon …"""

_LONG = _Pains(regions=400, nudges=4, doubts=4, homes=40, share=1.0, work=WORK)
"""… and where all hangs on it."""

_HOMING = _Pains(regions=0, nudges=2, doubts=1, homes=HOPELESS, share=0.25)
"""Whether a layout is come near to."""

_MORE = 2
"""So many times the work that refused all of the parts is put into some of them."""

_ROOMIER = 10
"""And once more with so much room, steps: what is found then is easier to push apart."""

_ROOM = (0.3, 1.0)
"""Effort of each longer look for a place."""

_BY_AREAS = 2
"""Of so many parts alone all places are looked at by the check where nothing else settled it."""

_ALONE = 1.0
"""Effort of each step when parts are laid out alone, as a build of their own."""

Asked = tuple[Question, Maps]


class _Questions:
    """The questions of a build that was refused, for all of its parts and for some."""

    def __init__(self, laid: Laid, watch: Watch) -> None:
        assert laid.refused is not None
        assert laid.seen is not None
        self._laid, self.watch, self._seen = laid, watch, laid.seen
        self._maps: dict[tuple[float, Metric, Side], Asked] = {}
        self._tables: dict[int, Tables] = {}
        self._refused = laid.refused, Maps(laid.refused.problem)

    @property
    def cheap(self) -> Asked:
        """A question that only refuses what is impossible, by gaps along the axes."""
        if self._refused[0].problem.metric is CLOSER[1]:
            return self.closer(*PROOFS[0], Side.LOOSE)
        return self._refused

    @property
    def close(self) -> Asked:
        """A question that only refuses what is impossible, by straight gaps."""
        if self._refused[0].problem.metric is CLOSER[1]:
            return self._refused
        return self.closer(*CLOSER, Side.LOOSE)

    def coarser(self, kept: tuple[str, ...]) -> Iterator[Asked]:
        """That question of some of the parts, then with places further apart."""
        yield self._some(self.closer(*CLOSER, Side.LOOSE), kept)
        for marked in COARSE:
            yield self._some(self.closer(marked, CLOSER[1], Side.LOOSE), kept)

    def coarse(self, kept: tuple[str, ...]) -> Asked:
        """The first of the coarser questions."""
        return self._some(self.closer(COARSE[0], CLOSER[1], Side.LOOSE), kept)

    def _some(self, asked: Asked, kept: tuple[str, ...]) -> Asked:
        question, maps = asked
        fewer = only(question.problem, question.items(kept))
        some = maps.renewed(fewer)
        some.tables = self._tables.setdefault(id(question), Tables(question.problem, maps))
        return replace(question, problem=fewer), some

    def closer(self, marked: float, metric: Metric, side: Side) -> Asked:
        """A question of all the parts."""
        key = (marked, metric, side)
        if key not in self._maps:
            asked = asked_of(self._laid.build, self._seen, (marked, metric), side)
            self._maps[key] = asked, Maps(asked.problem)
        return self._maps[key]

    def single(self) -> Watch:
        """The watch for one search at a time."""
        whole = self.watch
        effort = replace(whole.effort, seconds=whole.left, searches=1)
        return Watch(effort=effort, stopped=whole.stopped, maps=whole.maps)

    def only(self, asked: Asked, kept: tuple[str, ...]) -> Problem:
        """A question of some of the parts, with the rooms that are known of them."""
        question, self.watch.maps = self._some(asked, kept)
        return question.problem

    def look(self, asked: Asked, kept: tuple[str, ...], margin: int = 0) -> Spots | None:
        """A layout of a question with so much room, steps, if a look finds one."""
        return at_least(self.only(asked, kept), margin, self.single(), works=_ROOM)

    def brief(self, asked: Asked, kept: tuple[str, ...], works: tuple[float, ...]) -> Answer:
        """Whether it has a layout, by one proof."""
        return briefly(self.only(asked, kept), self.single(), works)


def _guess_of(questions: _Questions) -> Guess[str]:
    """What is guessed of the parts on the coarse grid; what lies in a set that goes in does too."""
    could_be: list[frozenset[str]] = []

    def likely(kept: tuple[str, ...]) -> bool:
        names = frozenset(kept)
        if any(known.issuperset(names) for known in could_be):
            return True
        root = questions.coarse(kept)
        if small(root) and not comes_upon(root):
            return False
        could_be.append(names)
        return True

    return Guess(likely=likely, freedom=lambda name: places_of(questions.coarse((name,))))


class Asker:
    """Asks whether some of the parts have room: the question that was refused, then closer ones.

    Attributes:
        guess: what is guessed of the parts before anything is asked.
        blame: of parts that were refused by their regions how much each was to blame.
    """

    def __init__(self, laid: Laid, watch: Watch) -> None:
        assert laid.seen is not None
        self._laid, self._watch, self._seen = laid, watch, laid.seen
        self._of = _Questions(laid, watch)
        self._witness: Witness | None = None
        self._found: dict[frozenset[str], Mapping[str, Put]] = {}
        self._shown: dict[frozenset[str], Layout] = {}
        self._close_calls: set[frozenset[str]] = set()
        self._near: set[frozenset[str]] = set()
        self._shared: Shared | None = None
        # What refused them all is likely to do for fewer.
        self._work = 0 if laid.refusal is None else _MORE * laid.refusal.work
        self.guess = replace(_guess_of(self._of), nearly=self._nearly)
        self.blame: dict[frozenset[str], Mapping[str, float]] = {}
        self._refusals: dict[frozenset[str], tuple[Asked, Answer]] = {}

    def renewed(self, watch: Watch) -> Self:
        """The same, with all it knows, and another watch."""
        self._watch = self._of.watch = watch
        return self

    def ask(self, kept: tuple[str, ...]) -> Status:
        """Whether these parts go in; a "no" may be proved but once, so the last must be `sure`."""
        # Whether the solver, which is not given long, finds them a place on the safe side.
        asked = self._of.closer(*STAGES[0], Side.SAFE)
        layout = at_least(self._of.only(asked, kept), 0, self._watch, works=_GLANCE)
        if _noted(self._found, kept, asked[0], layout):
            return Status.FOUND
        answer = self._brief(kept, self._of.cheap)
        if answer.status is Status.IMPOSSIBLE:
            return answer.status
        likely = self.guess.likely(kept)
        status = self._closer(kept, _SHORT if likely else _UNLIKELY)
        if status is not Status.OUT_OF_TIME or frozenset(kept) in self._close_calls:
            return status
        answer = self._brief(kept, self._of.close, _PROOF if likely else _LIKELY)
        if answer.status is Status.FOUND:
            # That there is room for them by a loose question says nothing.
            there = self._nudged(kept, self._of.close[0], answer.layout)
            return Status.FOUND if there is not None else Status.OUT_OF_TIME
        return answer.status

    def _brief(
        self, kept: tuple[str, ...], asked: Asked, proof: tuple[float, ...] = _PROOF
    ) -> Answer:
        answer = self._of.brief(asked, kept, proof)
        if answer.status is Status.IMPOSSIBLE:
            self._refusals[frozenset(kept)] = asked, answer
        return answer

    def _closer(self, kept: tuple[str, ...], pains: _Pains) -> Status:
        """Whether they go in, looked at closer and closer, with so much pains."""
        build, names = with_only(self._laid, kept), frozenset(kept)
        seen = replace(self._seen, free=tuple(f for f in self._seen.free if f.name in names))
        movers = (*kept, *dependents(build, seen.free))
        if self._shared is None:
            self._shared = shared_of(self._laid.build, self._seen, Side.LOOSE)
        closer = Closer(
            ask=lambda narrow, step: asked_of(
                build, seen, CLOSER, Side.LOOSE, narrow, STEPS, step, self._shared
            ),
            nudge=lambda puts: self._passed(kept, puts),
            by_check=lambda narrow: within(
                build, seen, movers, narrow, self._watch, share=pains.share
            ),
            watch=self._watch,
            looks=pains.regions,
            tries=pains.nudges,
            doubts=pains.doubts,
            homes=pains.homes,
            work=max(pains.work, self._work),
        )
        said = closer.settle(self._of.coarser(kept), kept)
        if closer.near:
            self._near.add(names)
        if closer.refusal is not None:
            self._work = min(self._work, _MORE * closer.refusal.work)
            self.blame[names] = closer.refusal.blame
        self._close_calls -= {names}
        if closer.close_call:
            self._close_calls.add(names)
        if said is Status.IMPOSSIBLE:
            self._refusals[names] = self._of.close, Answer(status=said, sure=True)
        return said

    def _nearly(self, kept: tuple[str, ...], homes: bool = True) -> bool:
        """Whether a layout of these, or of more, is come near to: of a few that tells nothing.

        Args:
            kept: the parts.
            homes: whether it is tried to; else only whether one was.
        """
        if len(kept) <= FEW:
            return True
        if homes and not self._nearly(kept, homes=False):
            self._closer(kept, _HOMING)
        return any(known.issuperset(kept) for known in (*self._found, *self._near))

    def sure(self, kept: tuple[str, ...]) -> bool:
        """Whether what was proved of parts that were refused is proved again in another way."""
        asked, said = self._refusals[frozenset(kept)]
        return said.sure or again(self._of.only(asked, kept), self._watch, bare=not said.bare)

    def settle(self, kept: tuple[str, ...]) -> Status:
        """Whether these parts go in, by a longer look."""
        close = self._of.close
        said = self._closer(kept, _LONG)
        if said is not Status.OUT_OF_TIME:
            return said
        if self._nudged(kept, close[0], self._of.look(close, kept, _ROOMIER)) is not None:
            return Status.FOUND
        if self._brief(kept, close, _LIKELY).status is Status.IMPOSSIBLE:
            return Status.IMPOSSIBLE
        said = self._closer(kept, replace(_LONG, homes=0))
        if said is Status.OUT_OF_TIME and len(kept) <= _BY_AREAS:
            alone = _alone(self._laid, self._watch, kept, prove=True)
            if alone is not None and alone.status is Status.IMPOSSIBLE:
                self._refusals[frozenset(kept)] = close, Answer(status=alone.status, sure=True)
                return alone.status
        return said

    def seen(self, kept: tuple[str, ...]) -> bool:
        """Whether a short look finds a place for them together, on the safe side."""
        if any(known.issuperset(kept) for known in self._found):
            return True
        asked = self._of.closer(*STAGES[0], Side.SAFE)
        if self._witness is None:
            self._witness = Witness(*asked)
        return _noted(self._found, kept, asked[0], self._witness.layout(kept))

    def shown(self, kept: tuple[str, ...], *, look: bool = True) -> Layout | None:
        """A layout of these parts that the check passed, if one is found.

        Args:
            kept: the parts.
            look: whether one is looked for where none is known.
        """
        names = frozenset(kept)
        if names in self._shown:
            return self._shown[names]
        for known, puts in list(self._found.items()):
            if known.issuperset(names):
                passed = self._passed(kept, puts)
                if passed is not None:
                    return passed
        return self._from(kept, STAGES) if look else None

    def longer(self, kept: tuple[str, ...]) -> Layout | None:
        """The same by a longer look, at last with the check's objections taken back to it.

        Not where no look is close enough.
        """
        if frozenset(kept) in self._close_calls:
            return None
        found = self._from(kept, (LAST,))
        if found is None:
            alone = _alone(self._laid, self._watch, kept, prove=False)
            found = None if alone is None else alone.layout
        return found

    @property
    def whole(self) -> Question:
        """The question with all that is asked of gaps, where the refused one asks for less."""
        return self._of.closer(*STAGES[0], Side.SAFE)[0]

    def _from(self, kept: tuple[str, ...], hows: Sequence[tuple[float, Metric]]) -> Layout | None:
        for how in hows:
            asked = self._of.closer(*how, Side.SAFE)
            layout = self._nudged(kept, asked[0], self._of.look(asked, kept))
            if layout is not None:
                return layout
        return None

    def _nudged(
        self, kept: tuple[str, ...], asked: Question, layout: Spots | None
    ) -> Layout | None:
        """What comes of a question's layout when it is pushed apart where it clashes."""
        return None if layout is None else self._passed(kept, asked.puts(layout, kept))

    def _passed(self, kept: tuple[str, ...], puts: Mapping[str, Put]) -> Layout | None:
        names = frozenset(kept)
        some = {name: put for name, put in puts.items() if name in names}
        found = nudged(with_only(self._laid, kept), self._seen, some, fine=True)
        if found is None:
            return None
        self._found[names] = found[0]
        self._shown[names] = Layout(puts=found[0], verdict=found[1])
        return self._shown[names]


def with_only(laid: Laid, parts: tuple[str, ...]) -> Build:
    """The build without its other open parts."""
    gone = {f.name for f in laid.free} - set(parts)
    build = laid.build
    return replace(
        build,
        parts=tuple(u for u in build.parts if u.name not in gone),
        wires=tuple(w for w in build.wires if not gone & {w.start, w.end}),
        wishes=tuple(w for w in build.wishes if not gone & {*w.parts, w.middle_of}),
    )


def _noted(
    found: dict[frozenset[str], Mapping[str, Put]],
    kept: tuple[str, ...],
    asked: Question,
    layout: Spots | None,
) -> bool:
    """Whether there is a layout, which is then noted."""
    if layout is not None:
        found[frozenset(kept)] = asked.puts(layout, kept)
    return layout is not None


def _alone(laid: Laid, watch: Watch, kept: tuple[str, ...], *, prove: bool) -> Laid | None:
    """Some parts laid out alone, the check's objections taken back to the solver."""
    effort = replace(watch.effort, seconds=watch.left, work=_ALONE)
    less = Watch(effort=effort, stopped=watch.stopped)
    try:
        return lay_out(with_only(laid, kept), less, quick=True, prove=prove)
    except (UnusableInput, KeyError):
        # The others hold these.
        return None
