"""Why there is no layout, and what would help: never just "no".

The reason is a smallest set of parts that cannot all be in, proved on the loose question: take any
one of them out and the rest has room. What would help is found by trying: each change is laid out
anew and passed by the check before it is offered.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from fit.check.mend_boards import board_resized
from fit.check.mend_change import Cost
from fit.findings import Grade, UnusableInput
from fit.model.build import Build, Need, Used
from fit.model.part import Board, BushingPart, RimSwitch
from fit.model.words import UPRIGHT, BoardStock, FaceName
from fit.solve.draft import STEP
from fit.solve.engine import possible
from fit.solve.free import Free
from fit.solve.layout import Laid, Layout, lay_out
from fit.solve.maps import Maps
from fit.solve.probe import Coord
from fit.solve.question import Question
from fit.solve.reasons import least, only
from fit.solve.run import Effort, Status, Watch
from fit.units import Length, show

_ROWS = 6
"""A board is made shorter by at most so many rows of holes."""

_TRIES = 14
"""So many changes are laid out at most."""

_HELPS = 4
"""So many are offered."""

_SNUG = 6.0
"""Keyboards and hobby panels set fingers this close, mm (common practice, no source)."""

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Help:
    """A change with which there is a layout.

    Attributes:
        title: what to do.
        layout: the layout there is then; it passed the check.
        cost: how much trouble it is; only the order matters.
    """

    title: str
    layout: Layout
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoLayout:
    """Why there is no layout.

    Attributes:
        parts: that cannot all be in, as few as can be.
        strict: each of them was shown to be needed: without it the others have room.
        smallest: no fewer parts of this build are impossible together.
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
    asked = laid.refused
    bulk = sorted(laid.free, key=lambda f: -_bulk(asked, f.name))
    names = tuple(f.name for f in bulk)

    def ask(kept: tuple[str, ...]) -> Status:
        fewer = only(asked.problem, asked.items(kept))
        whole = watch.maps
        if whole is not None and whole.problem is asked.problem:
            there = watch
            watch.maps = whole.renewed(fewer)
            answer = possible(fewer, there)
            watch.maps = whole
            return answer.status
        return possible(fewer, watch).status

    watch.maps = Maps(asked.problem)
    found = least(names, ask)
    order = [f.name for f in laid.free]
    parts, strict, smallest = found if found is not None else (names, False, False)
    return _told(laid, tuple(sorted(parts, key=order.index)), strict=strict, smallest=smallest)


def _told(laid: Laid, parts: tuple[str, ...], *, strict: bool, smallest: bool) -> NoLayout:
    """The reason in words and figures."""
    free = {f.name: f for f in laid.free}
    faces = {f for name in parts for f in free[name].faces}
    one = next(iter(faces)) if len(faces) == 1 and len(parts) > 1 else None
    room, needs = (_room(laid, parts), _need(laid, parts)) if one else ((0.0, 0.0), (0.0, 0.0))
    reason = NoLayout(
        parts=parts,
        strict=strict,
        smallest=smallest,
        say="",
        face=one,
        room=room,
        needs=needs,
        sizes=tuple(_size(laid, name) for name in parts),
    )
    return replace(reason, say=_words(laid, reason))


def with_helps(
    laid: Laid, reason: NoLayout, watch: Watch | None = None, tell: Tell = lambda _: None
) -> NoLayout:
    """The reason with what would help, each laid out and checked; Ctrl-C keeps those found."""
    watch = watch or Watch()
    helps: list[Help] = []
    for title, build, cost in sorted(_changes(laid, reason), key=lambda c: c[2])[:_TRIES]:
        if not watch.left or len(helps) >= _HELPS:
            break
        tell(f"would it go, {title}?")
        less = Watch(effort=Effort(seconds=min(watch.left, 5.0), work=1.0), stopped=watch.stopped)
        try:
            tried = lay_out(build, less, quick=True, prove=False)
        except UnusableInput:
            continue
        if tried.layout is not None and tried.layout.verdict.good and _no_worse(tried.layout):
            helps.append(Help(title=title, layout=tried.layout, cost=cost))
    return replace(reason, helps=tuple(helps))


def _no_worse(layout: Layout) -> bool:
    """Whether nothing clashes, placed or not."""
    return all(f.grade is not Grade.CLASH for f in layout.verdict.findings)


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


def _size(laid: Laid, name: str) -> tuple[float, float]:
    """Width and height of all of a part, along its face, mm."""
    assert laid.refused is not None
    way = laid.refused.problem.item(name).ways[0]
    seat = laid.refused.seats[name][0]
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


def _need(laid: Laid, names: tuple[str, ...]) -> tuple[float, float]:
    """The least room parts of one face need side by side, and one above the other, mm.

    Of each two neighbours the most that any two of their boxes ask for along that axis; the
    outermost boxes and what they keep to walls count at the ends.
    """
    assert laid.refused is not None
    problem = laid.refused.problem
    found = []
    for coord in (Coord.ACROSS, Coord.UP):
        total = 0.0
        for one, two in pairwise(names):
            ways = [problem.item(n).ways[0] for n in (one, two)]
            axis = laid.refused.seats[one][0].axes.get(coord)
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
            axis = laid.refused.seats[name][0].axes.get(coord)
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
    build = replace(
        laid.build,
        parts=tuple(
            u for u in laid.build.parts if u.name not in {f.name for f in laid.free} - {name}
        ),
        wires=(),
    )
    try:
        found = probe(build, free)
    except Exception:
        return "it cannot be mounted there"
    verdict = judged(put_in(build, found.base.puts), (name,))
    worst = min(verdict.clashes, key=lambda f: f.margin, default=None)
    return f"even in the middle, {worst.say[0].lower()}{worst.say[1:]}" if worst else "all is taken"


# ── what might help ─────────────────────────────────────────────────────────────────────────

Change = tuple[str, Build, float]


def _changes(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    build = laid.build
    for name in reason.parts:
        used = build.part(name)
        yield from _turned(build, used)
        yield from _other_faces(build, used)
    yield from _closer(build, reason)
    yield from _spacers(build)
    yield from _shorter(build)


def _with(build: Build, used: Used) -> Build:
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))


def _turned(build: Build, used: Used) -> Iterator[Change]:
    if isinstance(used.part, BushingPart) or used.turns:
        return
    quarter = (used.turn + 90) % 360
    yield f"turn {used.name} by a quarter", _with(build, replace(used, turn=quarter)), Cost.TURN


def _other_faces(build: Build, used: Used) -> Iterator[Change]:
    if not isinstance(used.on, FaceName) or isinstance(used.part, RimSwitch | Board):
        return
    taken = {used.on, *used.also_on, build.stands_on}
    for face in (*sorted(UPRIGHT, key=str), FaceName.LID):
        if face not in taken:
            moved = replace(used, on=face, also_on=(), at=None)
            yield f"put {used.name} on the {face}", _with(build, moved), Cost.FACE


def _closer(build: Build, reason: NoLayout) -> Iterator[Change]:
    """Controls closer than a bare finger likes; the check then tells what the gap is."""
    controls = [n for n in reason.parts if isinstance(build.part(n).part, BushingPart | RimSwitch)]
    if len(controls) > 1 and not any(n.rule == "fingers" for n in build.needs):
        need = Need(rule="fingers", value=Length(_SNUG))
        closer = replace(build, needs=(*build.needs, need))
        yield (
            f"accept {_SNUG:g} mm for a finger (needs: {{fingers: {_SNUG:g}}})",
            closer,
            Cost.ON_PAPER,
        )


def _spacers(build: Build) -> Iterator[Change]:
    for used in build.parts:
        if isinstance(used.part, Board) and used.standoff is not None:
            for length in build.drawer.spacers:
                if abs(length - used.standoff) > 1e-9:
                    title = f"{length:g} mm spacers under {used.name}"
                    yield title, _with(build, replace(used, standoff=length)), Cost.ON_PAPER + 0.1


def _shorter(build: Build) -> Iterator[Change]:
    """Boards cut shorter by whole rows, from the side where nothing stands."""
    for used in build.parts:
        board = used.part
        if not isinstance(board, Board) or board.stock is BoardStock.PLAIN:
            continue
        for axis in (0, 1):
            for rows in (1, 2, 3, _ROWS):
                for sign in (1, -1):
                    cut = board_resized(board, axis, sign, -rows)
                    if cut is None:
                        continue
                    size = f"{rows} row{'s' if rows > 1 else ''} of holes"
                    way = "shorter" if axis == 0 else "narrower"
                    title = f"cut {used.name} {size} {way}"
                    yield title, _with(build, replace(used, part=cut)), Cost.SIZE + 0.2 * rows
                    break
