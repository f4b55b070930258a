"""What would help where there is no layout, found by trying.

Each change is laid out anew and passed by the check before it is offered: another face or turn,
a smaller gap, other spacers, boards cut shorter or notched, the next bigger box at hand. Of each
kind the least change that helps is looked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from fit.check.mend_change import Cost, with_part
from fit.check.odds_sample import chance
from fit.findings import UnusableInput
from fit.geometry.box import faces
from fit.model.box import Tray
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, RimSwitch
from fit.model.words import UPRIGHT, FaceName
from fit.solve.free import kind_of, spans
from fit.solve.helps_boards import notched, shorter, spacers
from fit.solve.helps_gaps import chances, smaller_gaps
from fit.solve.helps_try import Change, Tell, Trier
from fit.solve.layout import Laid
from fit.solve.nolayout import COPIES, Help, NoLayout
from fit.solve.other.ways import moved_to
from fit.solve.run import Watch
from fit.solve.tidy import listed

_BOXES = 3
"""So many bigger boxes are tried, the smallest first."""

_SPREADS = 3
"""Parts that are too many for a face go to at most so many others."""

_MOVED = 2
"""So many changes of one part's face or turn are offered."""

_HELPS = 5
"""So many are offered, a bigger box aside."""


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
    return replace(reason, helps=_found(laid, reason, Trier(watch or Watch(), tell), boxes))


def ways_out(
    laid: Laid,
    watch: Watch | None = None,
    tell: Tell = lambda _: None,
    boxes: Sequence[Tray] = (),
) -> tuple[Help, ...]:
    """What would help where a layout was neither found nor ruled out; see `with_helps`."""
    names = tuple(f.name for f in laid.free)
    faces = {face for f in laid.free for face in f.faces}
    face = next(iter(faces)) if len(faces) == 1 else None
    tried = Trier(watch or Watch(), tell)
    found: tuple[Help, ...] = ()
    # Nobody knows how many are too many: one most likely, or two.
    for room_for in (len(names) - 1, len(names) - 2):
        open_ = NoLayout(
            parts=names, strict=False, smallest=False, say="", room_for=room_for, face=face
        )
        found = found or _found(laid, open_, tried, boxes, known=False)
    return found


def _found(
    laid: Laid, reason: NoLayout, tried: Trier, boxes: Sequence[Tray], *, known: bool = True
) -> tuple[Help, ...]:
    # The least trouble first, so that nothing dearer is tried once there is enough.
    kinds: list[Callable[[], Iterator[Help]]] = [
        partial(smaller_gaps, laid, tried),
        partial(spacers, laid.build, tried),
        partial(_moved, laid, reason, tried, turning=True),
        partial(shorter, laid.build, tried),
        partial(notched, laid.build, tried),
        partial(_moved, laid, reason, tried, turning=False),
    ]
    if not known:
        # What is too close to call stays so with a little less: what changes much comes first.
        kinds.reverse()
    helps: list[Help] = []
    for kind in kinds:
        if len(helps) < _HELPS:
            helps += kind()
    helps = sorted(helps, key=lambda one: one.cost)[:_HELPS]
    helps += _bigger(laid.build, boxes, tried)
    return tuple(_with_odds(one, tried) for one in helps)


def _with_odds(help_: Help, tried: Trier) -> Help:
    """With how likely all of it goes together at the first cut; None once stopped."""
    scene = help_.layout.verdict.scene
    if scene.open or not tried.watch.left:
        return help_
    tried.tell(f"copies of: {help_.title}")
    return replace(help_, odds=chance(scene, COPIES), chances=chances(help_))


def _moved(laid: Laid, reason: NoLayout, tried: Trier, *, turning: bool) -> Iterator[Help]:
    """A part of the reason turned, or put on another face; or several spread over some."""
    changes = _turns(laid, reason) if turning else _faces_of(laid, reason)
    found = 0
    for change in changes:
        help_ = tried(change)
        if help_ is not None:
            yield help_
            found += 1
        if found == _MOVED:
            return


def _kinds(laid: Laid, reason: NoLayout) -> Iterator[Used]:
    """The parts of a reason: to move one of several alike ones is as good as to move another."""
    seen = set()
    for name in reason.parts:
        used = laid.build.part(name)
        kind = (kind_of(used.part), used.on, used.also_on, used.at)
        if kind not in seen:
            yield used
        seen.add(kind)


def _turns(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    for used in _kinds(laid, reason):
        yield from _turned(laid.build, used)


def _faces_of(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    spread = list(_spread(laid, reason))
    # Where more than one must go, to move one alone is no good.
    for used in _kinds(laid, reason) if not spread else ():
        yield from _other_faces(laid.build, used)
    yield from spread


def _turned(build: Build, used: Used) -> Iterator[Change]:
    if isinstance(used.part, BushingPart) or used.turns:
        return
    quarter = (used.turn + 90) % 360
    yield Change(
        title=f"turn {used.name} by a quarter",
        build=with_part(build, replace(used, turn=quarter)),
        cost=Cost.TURN,
    )


def _other_faces(build: Build, used: Used) -> Iterator[Change]:
    if not isinstance(used.on, FaceName) or isinstance(used.part, RimSwitch | Board):
        return
    for face in _elsewhere(build, used):
        moved = replace(used, on=face, also_on=(), at=None)
        title = f"put {used.name} on the {face}"
        yield Change(title=title, build=with_part(build, moved), cost=Cost.FACE)


def _elsewhere(build: Build, used: Used) -> list[FaceName]:
    """The faces a part is not allowed on as written, but for the one the box stands on."""
    taken = {used.on, *used.also_on, build.stands_on}
    return [face for face in (*sorted(UPRIGHT, key=str), FaceName.LID) if face not in taken]


def _spread(laid: Laid, reason: NoLayout) -> Iterator[Change]:
    """As many parts as may go together stay on the crowded face; the rest go to others, in turn.

    Or one less stays: the most that may go together often do so in a few places alone.
    """
    build = laid.build
    if reason.face is None:
        return
    crowd = [
        f.used
        for f in laid.free
        if f.faces == {reason.face} and not isinstance(f.used.part, RimSwitch | Board)
    ]
    crowd.sort(key=lambda used: used.name not in reason.parts)
    for fewer, stay in enumerate((reason.room_for, reason.room_for - 1)):
        rest = crowd[max(stay, 0) :]
        if len(crowd) - reason.room_for < 2 or stay < 0:
            return
        there = sorted(_elsewhere(build, rest[0]), key=lambda face: -_area(build, face))
        for count in range(1, 1 + min(len(there), len(rest), _SPREADS)):
            cost = Cost.FACE + 0.1 * count + 0.05 * fewer
            yield _spread_over(build, rest, there[:count], cost)


def _spread_over(
    build: Build, rest: Sequence[Used], there: Sequence[FaceName], cost: float
) -> Change:
    """Parts on other faces, one face after the other in turn."""
    on = {used.name: there[n % len(there)] for n, used in enumerate(rest)}
    parts = tuple(
        replace(u, on=on[u.name], also_on=(), at=None) if u.name in on else u for u in build.parts
    )
    shares = [
        f"{listed([n for n, where in on.items() if where is face])} on the {face}" for face in there
    ]
    return Change(title=f"put {', '.join(shares)}", build=replace(build, parts=parts), cost=cost)


def _area(build: Build, face: FaceName) -> float:
    across, up = spans(faces(build.box)[face])
    return (across.high - across.low) * (up.high - up.low)


def _bigger(build: Build, boxes: Sequence[Tray], tried: Trier) -> Iterator[Help]:
    """The next bigger box at hand that the build goes into."""
    room = _volume(build.box)
    bigger = sorted((b for b in boxes if _volume(b) > room), key=lambda b: (_volume(b), b.name))
    for box in bigger[:_BOXES]:
        try:
            moved = moved_to(build, box).build
        except UnusableInput:
            continue
        found = tried(Change(title=f"take a bigger box, {box.name}", build=moved, cost=Cost.BUY))
        if found is not None:
            yield found
            return


def _volume(box: Tray) -> float:
    return float(box.length) * float(box.width) * float(box.height)
