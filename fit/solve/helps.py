"""What would help where there is no layout, found by trying.

Each change is laid out anew and passed by the check before it is offered: another face or turn,
fingers closer, other spacers, boards cut shorter, the next bigger box at hand.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from fit.check.mend_boards import board_resized
from fit.check.mend_change import Cost
from fit.findings import Grade, UnusableInput
from fit.geometry.box import faces
from fit.model.box import Tray
from fit.model.build import Build, Need, Used
from fit.model.part import Board, BushingPart, RimSwitch
from fit.model.words import UPRIGHT, BoardStock, FaceName
from fit.solve.free import kind_of, spans
from fit.solve.layout import Laid, Layout, lay_out
from fit.solve.nolayout import Help, NoLayout
from fit.solve.other.ways import moved_to
from fit.solve.run import Effort, Watch
from fit.solve.tidy import listed
from fit.solve.verdict import WHEREVER
from fit.units import Length

_ROWS = 6
"""A board is made shorter by at most so many rows of holes."""

_TRIES = 9
"""So many changes are laid out at most, bigger boxes aside …"""

_BOXES = 3
"""… of which so many are tried, the smallest first."""

_SPREADS = 3
"""Parts that are too many for a face go to at most so many others."""

_HELPS = 4
"""So many are offered."""

_SECONDS = 5.0
"""Laying out one change may take so long, s."""

_SNUG = 6.0
"""Keyboards and hobby panels set fingers this close, mm (common practice, no source)."""

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Change:
    """A changed build: what to do, and what it costs."""

    title: str
    build: Build
    cost: float


def with_helps(
    laid: Laid,
    reason: NoLayout,
    watch: Watch | None = None,
    tell: Tell = lambda _: None,
    boxes: Sequence[Tray] = (),
) -> NoLayout:
    """The reason with what would help, each laid out and checked; Ctrl-C keeps those found.

    Args:
        laid: what was proved impossible.
        reason: why.
        watch: limits, and a way to stop.
        tell: called before each try.
        boxes: the boxes at hand.
    """
    watch = watch or Watch()
    helps: list[Help] = []
    small = sorted(_changes(laid, reason), key=lambda c: c.cost)[:_TRIES]
    for changes, most in ((small, _HELPS - 1), (list(_bigger(laid.build, boxes)), 1)):
        found = 0
        for change in changes:
            if not watch.left or found >= most:
                break
            tell(f"would it go: {change.title}?")
            help_ = _tried(change, watch)
            if help_ is not None:
                helps.append(help_)
                found += 1
    return replace(reason, helps=tuple(helps))


def _tried(change: Change, watch: Watch) -> Help | None:
    effort = Effort(seconds=min(watch.left, _SECONDS), work=0.5)
    less = Watch(effort=effort, stopped=watch.stopped)
    try:
        layout = lay_out(change.build, less, quick=True, prove=False).layout
    except UnusableInput:
        return None
    if layout is None or not layout.verdict.good or not _no_worse(layout):
        return None
    return Help(title=change.title, layout=layout, cost=change.cost)


def _no_worse(layout: Layout) -> bool:
    """Whether nothing clashes, placed or not, but what does so wherever things are put."""
    return all(f.grade is not Grade.CLASH or f.rule in WHEREVER for f in layout.verdict.findings)


def _changes(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    build = laid.build
    spread = list(_spread(laid, reason))
    kinds = set()
    for name in reason.parts:
        used = build.part(name)
        kind = (kind_of(used.part), used.on, used.also_on, used.at)
        # To move one of several alike parts is as good as to move another; where more than one
        # must go, to move one alone is no good.
        if kind not in kinds:
            yield from _turned(build, used)
            if not spread:
                yield from _other_faces(build, used)
        kinds.add(kind)
    yield from spread[:_SPREADS]
    yield from _closer(build, reason)
    yield from _spacers(build)
    yield from _shorter(build)


def _with(build: Build, used: Used) -> Build:
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))


def _turned(build: Build, used: Used) -> Iterator[Change]:
    if isinstance(used.part, BushingPart) or used.turns:
        return
    quarter = (used.turn + 90) % 360
    yield Change(
        f"turn {used.name} by a quarter", _with(build, replace(used, turn=quarter)), Cost.TURN
    )


def _other_faces(build: Build, used: Used) -> Iterator[Change]:
    if not isinstance(used.on, FaceName) or isinstance(used.part, RimSwitch | Board):
        return
    for face in _elsewhere(build, used):
        moved = replace(used, on=face, also_on=(), at=None)
        yield Change(f"put {used.name} on the {face}", _with(build, moved), Cost.FACE)


def _elsewhere(build: Build, used: Used) -> list[FaceName]:
    """The faces a part is not allowed on as written, but for the one the box stands on."""
    taken = {used.on, *used.also_on, build.stands_on}
    return [face for face in (*sorted(UPRIGHT, key=str), FaceName.LID) if face not in taken]


def _spread(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    """As many parts as may go together stay on the crowded face; the rest go to others, in turn."""
    build = laid.build
    if reason.face is None:
        return
    crowd = [
        f.used
        for f in laid.free
        if f.faces == {reason.face} and not isinstance(f.used.part, RimSwitch | Board)
    ]
    crowd.sort(key=lambda used: used.name not in reason.parts)
    rest = crowd[reason.room_for :]
    if len(rest) < 2:
        return
    there = sorted(_elsewhere(build, rest[0]), key=lambda face: -_area(build, face))
    for count in range(1, 1 + min(len(there), len(rest))):
        on = {used.name: there[n % count] for n, used in enumerate(rest)}
        moved = replace(
            build,
            parts=tuple(
                replace(u, on=on[u.name], also_on=(), at=None) if u.name in on else u
                for u in build.parts
            ),
        )
        shares = [
            f"{listed([n for n, where in on.items() if where is face])} on the {face}"
            for face in there[:count]
        ]
        yield Change(f"put {', '.join(shares)}", moved, Cost.FACE + 0.1 * count)


def _area(build: Build, face: FaceName) -> float:
    across, up = spans(faces(build.box)[face])
    return (across.high - across.low) * (up.high - up.low)


def _bigger(build: Build, boxes: Sequence[Tray]) -> Iterator[Change]:
    """The next bigger boxes at hand, as the build would go into them."""
    room = _volume(build.box)
    bigger = sorted((b for b in boxes if _volume(b) > room), key=lambda b: (_volume(b), b.name))
    for box in bigger[:_BOXES]:
        try:
            moved = moved_to(build, box).build
        except UnusableInput:
            continue
        yield Change(f"take a bigger box, {box.name}", moved, Cost.BUY)


def _volume(box: Tray) -> float:
    return float(box.length) * float(box.width) * float(box.height)


def _closer(build: Build, reason: NoLayout) -> Iterator[Change]:
    """Controls closer than a bare finger likes; the check then tells what the gap is."""
    controls = [n for n in reason.parts if isinstance(build.part(n).part, BushingPart | RimSwitch)]
    if len(controls) > 1 and not any(n.rule == "fingers" for n in build.needs):
        need = Need(rule="fingers", value=Length(_SNUG))
        closer = replace(build, needs=(*build.needs, need))
        title = f"accept {_SNUG:g} mm for a finger (needs: {{fingers: {_SNUG:g}}})"
        yield Change(title, closer, Cost.ON_PAPER)


def _spacers(build: Build) -> Iterator[Change]:
    for used in build.parts:
        if isinstance(used.part, Board) and used.standoff is not None:
            for length in build.drawer.spacers:
                if abs(length - used.standoff) > 1e-9:
                    title = f"{length:g} mm spacers under {used.name}"
                    changed = _with(build, replace(used, standoff=length))
                    yield Change(title, changed, Cost.ON_PAPER + 0.1)


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
                    changed = _with(build, replace(used, part=cut))
                    yield Change(title, changed, Cost.SIZE + 0.2 * rows)
                    break
