"""Why there is no layout, and what would help: never just "no".

The reason is a smallest set of parts that cannot all be in, proved on the loose question: take any
one of them out and the rest has room. What would help is another module's business: `helps`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from fit.findings import UnusableInput
from fit.model.build import Build
from fit.model.words import FaceName
from fit.solve.draft import STEP
from fit.solve.engine import at_least, possible
from fit.solve.free import Free
from fit.solve.layout import LAST, STAGES, Laid, Layout, asked_of, lay_out
from fit.solve.maps import Maps
from fit.solve.probe import Coord
from fit.solve.problem import Metric, Problem, Side
from fit.solve.question import Question
from fit.solve.reasons import least, only
from fit.solve.run import Status, Watch
from fit.solve.witness import Witness
from fit.units import show

CLOSER = (0.5, Metric.LOOSE)
"""What some parts have room for by the question that was refused is asked once more like this."""

_GLANCE = (0.3,)
"""Effort of the solver's first look for a place."""

_ROOM = (0.3, 1.0)
"""Effort of its looks for the room that parts of a reason have without one of them."""

_ALONE = 1.0
"""Effort of each step when these are laid out alone, as a build of their own."""


COPIES = 400
"""Hand-made copies that the odds of a help are counted from: to within some 2 in 100."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """A change with which there is a layout.

    Attributes:
        title: what to do.
        layout: the layout there is then; it passed the check.
        cost: how much trouble it is; only the order matters.
        build: as it was laid out: the build with the change, places still open.
        gap: the rule whose gap was made smaller, or empty.
        usual: what is asked for there, mm.
        odds: the share of simulated hand-made copies of the layout that go together at the first
            cut; None when none were made.
        chances: that the tightest gap which was made smaller holds at the first cut: by what is
            usual, and as it is; None where that is not known.
    """

    title: str
    layout: Layout
    cost: float
    build: Build
    gap: str = ""
    usual: float = 0.0
    odds: float | None = None
    chances: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLayout:
    """Why there is no layout.

    Attributes:
        parts: that cannot all be in, as few as can be.
        strict: each of them was shown to be needed: without it the others have room.
        smallest: no fewer parts of this build are impossible together.
        room_for: so many of them, from the first on, were found a place together.
        say: the reason in a sentence or two, with the room there is and the room they need.
        face: the one face they are on, or None.
        room: what is free for them there, across and up, mm.
        needs: what they need side by side, and one above the other, mm.
        sizes: width and height of each, mm.
        helps: changes that would do, the least trouble first.
    """

    parts: tuple[str, ...]
    strict: bool
    smallest: bool
    say: str
    room_for: int = 0
    face: FaceName | None = None
    room: tuple[float, float] = (0.0, 0.0)
    needs: tuple[float, float] = (0.0, 0.0)
    sizes: tuple[tuple[float, float], ...] = ()
    helps: tuple[Help, ...] = ()


def why_not(laid: Laid, watch: Watch | None = None) -> NoLayout:
    """The smallest reason why a build that was proved impossible is so.

    Raises:
        ValueError: when it was not proved impossible.
    """
    if laid.refused is None:
        raise ValueError("only a build that was proved impossible has a reason")
    watch = watch or Watch()
    asker = _Asker(laid, watch)
    bulk = sorted(laid.free, key=lambda f: -_bulk(laid.refused, f.name))  # type: ignore[arg-type]
    names = tuple(f.name for f in bulk)
    found = least(names, asker.ask, refused=True, seen=asker.seen)
    order = [f.name for f in laid.free]
    parts, strict, smallest = found if found is not None else (names, False, False)
    # That the others have room is only said when they were found a place on the safe side.
    for part in parts if strict else ():
        rest = tuple(n for n in parts if n != part)
        if asker.has_room(rest):
            continue
        closer = _looked_at(laid, rest, watch)
        if closer is not None and closer.refused is not None:
            return why_not(closer, watch)
        strict = strict and closer is not None and closer.layout is not None
    parts = tuple(sorted(parts, key=order.index))
    reason = _told(laid, asker.whole, parts, strict=strict, smallest=smallest and strict)
    if strict:
        return replace(reason, room_for=len(parts) - 1)
    counts = range(len(parts) - 2, 0, -1)
    return replace(reason, room_for=next((n for n in counts if asker.has_room(parts[:n])), 0))


def _looked_at(laid: Laid, parts: tuple[str, ...], watch: Watch) -> Laid | None:
    """What comes of laying out these open parts alone; None where the others hold them."""
    effort = replace(watch.effort, seconds=watch.left, work=_ALONE)
    less = Watch(effort=effort, stopped=watch.stopped)
    try:
        return lay_out(_with_only(laid, parts), less, quick=True)
    except (UnusableInput, KeyError):
        return None


def _with_only(laid: Laid, parts: tuple[str, ...]) -> Build:
    """The build without its other open parts."""
    gone = {f.name for f in laid.free} - set(parts)
    build = laid.build
    return replace(
        build,
        parts=tuple(u for u in build.parts if u.name not in gone),
        wires=tuple(w for w in build.wires if not gone & {w.start, w.end}),
        wishes=tuple(w for w in build.wishes if not gone & {*w.parts, w.middle_of}),
    )


class _Asker:
    """Asks whether some of the parts have room: the question that was refused, then closer ones."""

    def __init__(self, laid: Laid, watch: Watch) -> None:
        assert laid.refused is not None
        self._laid, self._watch = laid, watch
        self._maps: dict[tuple[float, Metric, Side], tuple[Question, Maps]] = {}
        self._refused = laid.refused, Maps(laid.refused.problem)
        self._witness: Witness | None = None
        self._room: list[frozenset[str]] = []

    def ask(self, kept: tuple[str, ...]) -> Status:
        """Whether these parts go in, by questions that only refuse what is impossible."""
        if self._glance(kept):
            return Status.FOUND
        first = self._possible(self._refused, kept)
        close = self._refused[0].problem.metric is CLOSER[1]
        if first is not Status.FOUND or len(kept) < 2 or close:
            return first
        return self._possible(self._closer(*CLOSER, Side.LOOSE), kept)

    def has_room(self, kept: tuple[str, ...]) -> bool:
        """Whether these parts were found a place that errs on the safe side."""
        return self.seen(kept) or any(
            at_least(self._only(self._closer(*how, Side.SAFE), kept), 0, self._watch, works=_ROOM)
            for how in (*STAGES, LAST)
        )

    @property
    def whole(self) -> Question:
        """The question with all that is asked of gaps, where the refused one asks for less."""
        return self._closer(*STAGES[0], Side.SAFE)[0]

    def seen(self, kept: tuple[str, ...]) -> bool:
        """Whether a short look finds a place for them together, on the safe side."""
        if any(known.issuperset(kept) for known in self._room):
            return True
        if self._witness is None:
            self._witness = Witness(*self._closer(*STAGES[0], Side.SAFE))
        return self._witness.goes(kept)

    def _glance(self, kept: tuple[str, ...]) -> bool:
        """The same by the solver, which is not given long."""
        fewer = self._only(self._closer(*STAGES[0], Side.SAFE), kept)
        if at_least(fewer, 0, self._watch, works=_GLANCE) is None:
            return False
        self._room.append(frozenset(kept))
        return True

    def _closer(self, marked: float, metric: Metric, side: Side) -> tuple[Question, Maps]:
        key = (marked, metric, side)
        if key not in self._maps:
            assert self._laid.seen is not None
            asked = asked_of(self._laid.build, self._laid.seen, (marked, metric), side)
            self._maps[key] = asked, Maps(asked.problem)
        return self._maps[key]

    def _possible(self, asked: tuple[Question, Maps], kept: tuple[str, ...]) -> Status:
        return possible(self._only(asked, kept), self._watch).status

    def _only(self, asked: tuple[Question, Maps], kept: tuple[str, ...]) -> Problem:
        question, maps = asked
        fewer = only(question.problem, question.items(kept))
        self._watch.maps = maps.renewed(fewer)
        return fewer


def _told(
    laid: Laid, asked: Question, parts: tuple[str, ...], *, strict: bool, smallest: bool
) -> NoLayout:
    """The reason in words and figures."""
    free = {f.name: f for f in laid.free}
    faces = {f for name in parts for f in free[name].faces}
    one = next(iter(faces)) if len(faces) == 1 and len(parts) > 1 else None
    room, needs = (_room(laid, parts), _need(asked, parts)) if one else ((0.0, 0.0), (0.0, 0.0))
    reason = NoLayout(
        parts=parts,
        strict=strict,
        smallest=smallest,
        say="",
        face=one,
        room=room,
        needs=needs,
        sizes=tuple(_size(asked, name) for name in parts),
    )
    return replace(reason, say=_words(laid, reason))


def _bulk(asked: Question, name: str) -> int:
    """The room a part's largest box takes: large parts make plain reasons."""
    sizes = [0]
    for box in asked.problem.item(name).ways[0].boxes:
        volume = 1
        for a, b in zip(box.low, box.high, strict=True):
            volume *= max(1, b - a)
        sizes.append(volume)
    return max(sizes)


# ── words ───────────────────────────────────────────────────────────────────────────────────


def _words(laid: Laid, reason: NoLayout) -> str:
    free = {f.name: f for f in laid.free}
    names = reason.parts
    if len(names) == 1:
        one = names[0]
        return f"'{one}' has no place on the {_faces(free[one])}: {_alone(laid, one)}"
    listed = f"{', '.join(names[:-1])} and {names[-1]}"
    strict = "without any one of them the others have room"
    if not reason.strict:
        strict = "whether fewer of them would do was not settled"
    if reason.face is None:
        return f"{listed} cannot all be in; {strict}"
    (wide, high), (across, up) = reason.needs, reason.room
    return (
        f"{listed} cannot all be on the {reason.face}; {strict}. Side by side they need "
        f"{show(wide, 0)} mm, one above the other {show(high, 0)} mm; free for them on the "
        f"{reason.face} are at most {show(across, 0)} × {show(up, 0)} mm"
    )


def _size(asked: Question, name: str) -> tuple[float, float]:
    """Width and height of all of a part, along its face, mm."""
    way = asked.problem.item(name).ways[0]
    seat = asked.seats[name][0]
    found = []
    for coord in (Coord.ACROSS, Coord.UP):
        axis = seat.axes.get(coord)
        if axis is None:
            found.append(0.0)
        else:
            low, high = min(b.low[axis] for b in way.boxes), max(b.high[axis] for b in way.boxes)
            found.append((high - low) * STEP)
    return found[0], found[1]


def _faces(free: Free) -> str:
    return " or ".join(sorted(str(f) for f in free.faces))


def _need(asked: Question, names: tuple[str, ...]) -> tuple[float, float]:
    """The least room parts of one face need side by side, and one above the other, mm.

    Of each two neighbours the most that any two of their boxes ask for along that axis; the
    outermost boxes and what they keep to walls count at the ends.
    """
    problem = asked.problem
    found = []
    for coord in (Coord.ACROSS, Coord.UP):
        total = 0.0
        for one, two in pairwise(names):
            ways = [problem.item(n).ways[0] for n in (one, two)]
            axis = asked.seats[one][0].axes.get(coord)
            if axis is None:
                continue
            steps = [
                a.high[axis] - b.low[axis] + gap.need
                for a in ways[0].boxes
                for b in ways[1].boxes
                if (gap := problem.gap((one, a.layer), (two, b.layer))) is not None
            ]
            total += max(steps, default=0) * STEP
        for name, end in ((names[0], 0), (names[-1], 1)):
            axis = asked.seats[name][0].axes.get(coord)
            if axis is not None:
                boxes = problem.item(name).ways[0].boxes
                total += max(-b.low[axis] if end == 0 else b.high[axis] for b in boxes) * STEP
        found.append(total)
    return found[0], found[1]


def _room(laid: Laid, names: tuple[str, ...]) -> tuple[float, float]:
    """How far the places that parts of one face can have alone reach, across and up, mm."""
    assert laid.refused is not None
    maps = Maps(laid.refused.problem)
    found = []
    for coord in (Coord.ACROSS, Coord.UP):
        low, high = math.inf, -math.inf
        for name in names:
            item = laid.refused.problem.item(name)
            axis = laid.refused.seats[name][0].axes.get(coord)
            rooms = maps.rooms(item)
            if axis is None or rooms is None:
                continue
            for way, room in zip(item.ways, rooms, strict=True):
                places = room.places(0)
                if len(places):
                    low = min(low, places[:, axis].min() + min(b.low[axis] for b in way.boxes))
                    high = max(high, places[:, axis].max() + max(b.high[axis] for b in way.boxes))
        found.append(max(0.0, high - low) * STEP if low < high else 0.0)
    return found[0], found[1]


def _alone(laid: Laid, name: str) -> str:
    """What stands in a part's way, by where the check objects least."""
    from fit.solve.free import put_in
    from fit.solve.probe import probe
    from fit.solve.verdict import judged

    free = tuple(f for f in laid.free if f.name == name)
    build = _with_only(laid, (name,))
    try:
        found = probe(build, free)
    except Exception:
        return "it cannot be mounted there"
    verdict = judged(put_in(build, found.base.puts), (name,))
    worst = min(verdict.clashes, key=lambda f: f.margin, default=None)
    if worst is None:
        return "all is taken"
    return f"even in the middle, {worst.say[0].lower()}{worst.say[1:].rstrip('.')}"
