"""Why there is no layout, and what would help: never just "no".

The reason is a smallest set of parts that cannot all be in, proved on the loose question: take any
one of them out and the rest has room. What would help is another module's business: `helps`.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from itertools import pairwise

from fit.model.build import Build
from fit.model.words import FaceName
from fit.solve.asking import Asker, with_only
from fit.solve.draft import STEP
from fit.solve.free import Free
from fit.solve.layout import Laid, Layout
from fit.solve.maps import Maps
from fit.solve.probe import Coord
from fit.solve.question import Question
from fit.solve.reasons import fewest, least
from fit.solve.run import Status, Watch
from fit.units import show

COPIES = 400
"""Hand-made copies that the odds of a help are counted from: to within some 2 in 100."""

_UNSETTLED = 1
"""Where more than so many parts cannot be told to be needed or not, no others are asked about."""

_QUICK = 4
"""That the others of no more parts than this go in is soon seen by the solver."""

_MOST_SEEN = 66
"""Whether no fewer parts are refused is seen of so many sets of them: pairs of twelve."""


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
        strict: each of them was shown to be needed: without it the others have room, in a layout
            that passed the check.
        smallest: no fewer parts of this build were refused.
        room_for: so many of them, from the first on, were found a place together.
        rest: where the reason is strict, such a layout without each of the parts, in their order.
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
    rest: tuple[Layout, ...] = ()
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
    asker = Asker(laid, watch) if laid.asker is None else laid.asker.renewed(watch)
    names = laid.few or _most_to_blame(laid)
    order = [f.name for f in laid.free]
    parts, smallest, rest = _needed(asker, names, order)
    # Of parts besides these few it was asked before.
    smallest = smallest and (not laid.few or laid.fewest)
    strict = len(rest) == len(parts)
    if strict and not smallest:
        smallest = _none_fewer(asker, order, len(parts) - 1)
    reason = _told(laid, asker.whole, parts, strict=strict, smallest=smallest and strict)
    if strict:
        return replace(reason, room_for=len(parts) - 1, rest=rest)
    counts = range(len(parts) - 2, 0, -1)
    return replace(reason, room_for=next((n for n in counts if asker.shown(parts[:n])), 0))


def refused_few(laid: Laid, asker: Asker) -> tuple[tuple[str, ...], bool]:
    """A few parts that are proved to have no layout, by small sets of them; empty: none seen.

    And whether no fewer of the build's parts are refused.

    Args:
        laid: with a loose question that may have an answer.
        asker: of it.
    """
    found = fewest(
        _by_bulk(laid),
        asker.ask,
        asker.seen,
        asker.guess,
        lambda few: asker.settle(few) is Status.IMPOSSIBLE,
    )
    return found if found is not None and asker.sure(found[0]) else ((), False)


def _most_to_blame(laid: Laid) -> tuple[str, ...]:
    """The parts that were most to blame for the refusal of all first, else the largest."""
    blame = {} if laid.refusal is None else laid.refusal.blame
    return tuple(sorted(_by_bulk(laid), key=lambda name: -blame.get(name, 0.0)))


def _by_bulk(laid: Laid) -> tuple[str, ...]:
    """The parts, the largest first."""
    asked = laid.refused
    assert asked is not None
    return tuple(f.name for f in sorted(laid.free, key=lambda f: -_bulk(asked, f.name)))


def _needed(
    asker: Asker, names: tuple[str, ...], order: list[str]
) -> tuple[tuple[str, ...], bool, tuple[Layout, ...]]:
    """Parts that cannot all be in; whether no fewer are refused; layouts without each of them."""
    found = least(names, asker.ask, refused=True, seen=asker.seen, guess=asker.guess)
    parts, _, smallest = found if found is not None else (names, False, False)
    if len(parts) < len(names) and not asker.sure(parts):
        # What was proved once but not again counts for nothing.
        parts, smallest = names, False
    parts = tuple(sorted(parts, key=order.index))
    without = {part: tuple(n for n in parts if n != part) for part in parts}
    # That the others have room is only said when the check passed a layout of theirs.
    look = len(parts) <= _QUICK
    rest = {part: asker.shown(others, look=look) for part, others in without.items()}
    blame = asker.blame.get(frozenset(parts), {})
    unsettled = 0
    for part in sorted(parts, key=lambda name: blame.get(name, 0.0)):
        if rest[part] is not None or unsettled > _UNSETTLED:
            continue
        others = without[part]
        said = asker.settle(others)
        if said is Status.IMPOSSIBLE and asker.sure(others):
            fewer, _, layouts = _needed(asker, others, order)
            # Of parts besides these nobody asked whether fewer are refused.
            return fewer, False, layouts
        unsettled += said is not Status.FOUND
    for part, others in without.items():
        rest[part] = rest[part] or asker.shown(others) or asker.longer(others)
        if rest[part] is None:
            break
    return parts, smallest, tuple(layout for layout in rest.values() if layout is not None)


def _none_fewer(asker: Asker, names: list[str], size: int) -> bool:
    """Whether any so many of these parts are seen to go in; False where that would be long."""
    if math.comb(len(names), size) > _MOST_SEEN:
        return False
    return all(asker.seen(few) for few in itertools.combinations(names, size))


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
        strict = "whether fewer would do was not settled"
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
    build = with_only(laid, (name,))
    try:
        found = probe(build, free)
    except Exception:
        return "it cannot be mounted there"
    verdict = judged(put_in(build, found.base.puts), (name,))
    worst = min(verdict.clashes, key=lambda f: f.margin, default=None)
    if worst is None:
        return "all is taken"
    return f"even in the middle, {worst.say[0].lower()}{worst.say[1:].rstrip('.')}"
