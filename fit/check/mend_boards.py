"""Mends on boards: other spacers and screws, a row more or less, a notch."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from fit.check.mend_change import Change, Cost, Trial
from fit.check.things import Solid, need_between, things
from fit.geometry.distance import gap_between
from fit.geometry.frames import scale
from fit.geometry.scene import PlacedBoard, Scene
from fit.geometry.support import reach
from fit.model.build import Coordinate, How, Place, Used
from fit.model.part import Board, BoardHole, Notch, Screw, Zone
from fit.model.words import BoardStock
from fit.units import PITCH, Length, show

_MOST_ROWS = 8
"""More rows than this are another board, not a mend."""

_LEAST_ROWS = 2
"""Rows that must stay beside a notch (see the rule `notch-rows`)."""

_NEW_SPACERS = (3.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0)
"""Spacers as sold by length, mm (common practice, no source)."""


def boards_of(trial: Trial) -> Iterator[tuple[Used, Board]]:
    """The boards of a clash, and the lying boards under standing ones."""
    names = [u.name for u in trial.parts()]
    names += [u.joined_to for u in trial.parts() if u.joined_to is not None]
    names += [u.name for u in trial.build.parts if set(u.carries) & set(names)]
    for name in dict.fromkeys(names):
        used = trial.build.part(name)
        if isinstance(used.part, Board):
            yield used, used.part


def other_spacers(trial: Trial) -> Iterator[Change]:
    """A board on other spacers, those of the drawer first."""
    for used, _ in boards_of(trial):
        now = used.standoff
        if now is None:
            continue
        owned = {float(s) for s in trial.build.drawer.spacers}
        near = sorted(set(_NEW_SPACERS) - owned, key=partial(_away, float(now)))[:4]
        for length in sorted(owned | set(near), key=partial(_away, float(now))):
            if abs(length - now) < 1e-6:
                continue
            build = trial.put(replace(used, standoff=Length(length)))
            by = length - now
            if trial.helps(build):
                yield Change(
                    title=f"put {used.name} on {show(length)} mm spacers, {show(abs(by))} mm "
                    f"{'longer' if by > 0 else 'shorter'}"
                    + (", from the drawer" if length in owned else ", not in the drawer"),
                    build=build,
                    cost=(Cost.ON_PAPER + abs(by) / 50 if length in owned else Cost.BUY),
                )
                if length in owned:
                    break


def _away(now: float, length: float) -> float:
    return abs(length - now)


def other_screws(trial: Trial) -> Iterator[Change]:
    """Other screws out of the drawer; with other spacers too where no screw alone does."""
    for used in trial.parts():
        if used.screws is None:
            continue
        for screw in trial.build.drawer.screws:
            if not _suits(screw, used.screws):
                continue
            build = trial.put(replace(used, screws=screw))
            if trial.helps(build):
                yield Change(
                    title=f"take {_called(screw)} for {used.name}, from the drawer",
                    build=build,
                    cost=Cost.ON_PAPER + abs(screw.length - used.screws.length) / 50,
                )
            elif used.standoff is not None:
                yield from _both(trial, used, screw)


def _suits(screw: Screw, now: Screw) -> bool:
    """Another screw for the same hole: as thick or nearly, of the same kind."""
    if screw.self_tapping is not now.self_tapping:
        return False
    if not screw.self_tapping and screw.thread != now.thread:
        return False
    return (screw.diameter, screw.length) != (now.diameter, now.length)


def _called(screw: Screw) -> str:
    return f"{screw.thread} × {show(screw.length)} screws"


def _both(trial: Trial, used: Used, screw: Screw) -> Iterator[Change]:
    for length in trial.build.drawer.spacers:
        build = trial.put(replace(used, screws=screw, standoff=length))
        if trial.helps(build):
            yield Change(
                title=f"take {_called(screw)} and {show(length)} mm spacers for {used.name}, "
                "from the drawer",
                build=build,
                cost=Cost.ON_PAPER + 0.5,
            )
            return


# --- a row more or less

_LARGER = ("joint-carried", "joint-holes", "hole-edges", "post-holes", "notch-rows", "screw-free")
"""Clashes that a larger board may remove."""

_SIDES = (("left", 0, -1), ("right", 0, 1), ("lower", 1, -1), ("upper", 1, 1))


def other_size(trial: Trial) -> Iterator[Change]:
    """A perfboard some rows of holes smaller or larger on one side."""
    for used, board in boards_of(trial):
        if board.stock is BoardStock.PLAIN:
            continue
        for word, axis, sign in _SIDES:
            for grow in (-1, 1) if trial.finding.rule in _LARGER else (-1,):
                found = _resized(trial, used, board, word, axis, sign, grow)
                if found is not None:
                    yield found


def _resized(
    trial: Trial, used: Used, board: Board, word: str, axis: int, sign: int, grow: int
) -> Change | None:
    steps = (1, 2, 3, 4, 6, _MOST_ROWS)
    if grow < 0 and not _enough(trial, used, board, axis, sign, steps):
        return None
    for rows in steps:
        other = board_resized(board, axis, sign, grow * rows)
        if other is None:
            return None
        build = trial.put(
            replace(used, part=other, at=kept_place(trial.scene, used, axis, sign, grow * rows))
        )
        if trial.helps(build):
            what = "row" if axis == 1 else "column"
            longer = (
                ("longer" if grow > 0 else "shorter")
                if axis == 0
                else ("higher" if grow > 0 else "lower")
            )
            holes = " × ".join(show(s / PITCH, 1) for s in other.size)
            return Change(
                title=f"make {used.name} {rows} {what}{'s' if rows > 1 else ''} {longer} at its "
                f"{word} edge ({holes} holes)",
                build=build,
                cost=Cost.SIZE + rows / 5 + (0.0 if grow < 0 else 0.1),
                kind=f"size {used.name} {word} {grow}",
            )
    return None


def _enough(
    trial: Trial, used: Used, board: Board, axis: int, sign: int, steps: tuple[int, ...]
) -> bool:
    """Whether cutting off the most that can be cut off helps at all."""
    for rows in reversed(steps):
        other = board_resized(board, axis, sign, -rows)
        if other is not None:
            at = kept_place(trial.scene, used, axis, sign, -rows)
            return trial.helps(trial.put(replace(used, part=other, at=at)))
    return False


def board_resized(board: Board, axis: int, sign: int, rows: int) -> Board | None:
    """A board with rows added (or cut off: rows below 0) at one side.

    None where that cuts into anything on it. Everything stays on its holes: at the left and lower
    side all is counted anew.
    """
    by = rows * PITCH
    size = float(board.size[axis]) + by
    shift = by if sign < 0 else 0.0
    if size < 4 * PITCH:
        return None

    zones: list[Zone] = []
    for zone in board.zones:
        low = float(zone.x if axis == 0 else zone.y) + shift
        high = low + float(zone.width if axis == 0 else zone.depth)
        if low < -1e-6 or high > size + 1e-6:
            return None
        zones.append(replace(zone, x=Length(low)) if axis == 0 else replace(zone, y=Length(low)))
    holes: list[BoardHole] = []
    for hole in board.holes:
        at = float(hole.x if axis == 0 else hole.y) + shift
        if not hole.diameter / 2 < at < size - hole.diameter / 2:
            return None
        holes.append(replace(hole, x=Length(at)) if axis == 0 else replace(hole, y=Length(at)))
    notches = [_notch_resized(n, axis, shift, size, float(board.size[axis])) for n in board.notches]
    pair = list(board.size)
    pair[axis] = Length(size)
    return replace(
        board,
        size=(pair[0], pair[1]),
        zones=tuple(zones),
        holes=tuple(holes),
        notches=tuple(n for n in notches if n is not None),
    )


def _notch_resized(notch: Notch, axis: int, shift: float, size: float, was: float) -> Notch | None:
    """A notch on a board of another size: one at an edge stays at it."""
    low = float(notch.x if axis == 0 else notch.y)
    long = float(notch.width if axis == 0 else notch.depth)
    high = size if low + long > was - 1e-6 else low + long + shift
    low = 0.0 if low < 1e-6 else max(0.0, low + shift)
    if high - low < 1e-6:
        return None
    if axis == 0:
        return replace(notch, x=Length(low), width=Length(high - low))
    return replace(notch, y=Length(low), depth=Length(high - low))


def kept_place(scene: Scene, used: Used, axis: int, sign: int, rows: int) -> Place | None:
    """Where the middle of a board comes to be whose other edges stay, on its face."""
    placed = scene.placed.get(used.name)
    if used.at is None or placed is None or placed.face is None or used.joined_to is not None:
        return used.at
    frame = scene.faces[placed.face].frame
    along = placed.pose.x if axis == 0 else placed.pose.y
    board = used.part
    assert isinstance(board, Board)
    centre = placed.pose.point((board.size[0] / 2, board.size[1] / 2, 0.0))
    step = scale(along, sign * rows * PITCH / 2)
    across, up, _ = frame.inside((centre[0] + step[0], centre[1] + step[1], centre[2] + step[2]))
    return Place(
        across=Coordinate(how=How.AT, value=Length(round(across, 3))),
        up=Coordinate(how=How.AT, value=Length(round(up, 3))),
    )


def holes_inwards(trial: Trial) -> Iterator[Change]:
    """A board's own mounting holes a row or two further from its edges."""
    for used in trial.parts():
        if not isinstance(used.part, Board) or not used.part.holes:
            continue
        board = used.part
        for rows in (1, 2):
            by = rows * PITCH
            holes = tuple(_inwards(board, hole, by) for hole in board.holes)
            build = trial.put(replace(used, part=replace(board, holes=holes)))
            if trial.helps(build):
                yield Change(
                    title=f"drill the mounting holes of {used.name} {rows} "
                    f"{'row' if rows == 1 else 'rows'} further in",
                    build=build,
                    cost=Cost.MOVE + rows / 10,
                )
                break


def _inwards(board: Board, hole: BoardHole, by: float) -> BoardHole:
    """A hole moved off the edges it is within five rows of."""
    near = 5 * PITCH

    def put(value: Length, size: Length) -> Length:
        if value < near:
            return Length(value + by)
        return Length(value - by) if value > size - near else value

    return replace(hole, x=put(hole.x, board.size[0]), y=put(hole.y, board.size[1]))


# --- notches


def notches(trial: Trial) -> Iterator[Change]:
    """A board notched round what is in its way."""
    placed = {b.name: b for b in trial.scene.boards}
    for used, board in boards_of(trial):
        others = [name for name in trial.finding.about if name != used.name]
        if used.name not in placed or used.name not in trial.finding.about:
            continue
        for other in others:
            rect = _round(trial, placed[used.name], other)
            if rect is None:
                continue
            cut = notch_on_rows(board, rect)
            if cut is None:
                continue
            build = trial.put(replace(used, part=replace(board, notches=(*board.notches, cut))))
            if trial.helps(build):
                yield Change(
                    title=f"notch {used.name} round {other}: {notch_words(board, cut)}",
                    build=build,
                    cost=Cost.NOTCH,
                )


def notch_words(board: Board, cut: Notch) -> str:
    """A notch in holes of the grid, or in mm where there is none."""
    unit, word = (1.0, "mm") if board.stock is BoardStock.PLAIN else (PITCH, "holes")
    size = f"{show(cut.width / unit, 1)} × {show(cut.depth / unit, 1)} {word}"
    return f"{size}, {show(cut.x / unit, 1)} from the left and {show(cut.y / unit, 1)} from below"


Rect4 = tuple[float, float, float, float]
"""Left, low, right, high, mm."""


def _round(trial: Trial, board: PlacedBoard, other: str) -> Rect4 | None:
    """What another thing covers of a board with air and a sawn edge's stray round it, mm."""
    known = things(trial.look)
    mine = [s for s in known.solids if s.label == board.name and s.body.name in ("slab", "leads")]
    rects = []
    for solid in known.solids:
        if solid.label != other or solid.body.outside:
            continue
        found = [
            need
            for s in mine
            if (need := trial.look.need("bodies", need_between(s, solid)))
            > gap_between(s.ready, solid.ready).mm
        ]
        if found:
            rects.append(_covered(board, solid, max(found) + trial.look.hands.sawing))
    if not rects:
        return None
    return (
        min(r[0] for r in rects),
        min(r[1] for r in rects),
        max(r[2] for r in rects),
        max(r[3] for r in rects),
    )


def _covered(board: PlacedBoard, solid: Solid, room: float) -> Rect4:
    pose, body = board.pose, solid.body
    at = pose.origin
    spans = []
    for way in (pose.x, pose.y):
        start = sum(a * b for a, b in zip(at, way, strict=True))
        low = -reach(body.shape, body.pose, scale(way, -1.0)) - start
        high = reach(body.shape, body.pose, way) - start
        spans.append((low - room, high + room))
    return spans[0][0], spans[1][0], spans[0][1], spans[1][1]


def notch_on_rows(board: Board, rect: Rect4) -> Notch | None:
    """A notch on whole rows that leaves two rows beside it or none; None where things stand.

    Args:
        board: to be sawn.
        rect: left, low, right and high of what must go, mm from the board's corner.
    """
    grid = PITCH if board.stock is not BoardStock.PLAIN else 0.5
    lows, highs = [], []
    for axis in (0, 1):
        size = float(board.size[axis])
        low = max(0.0, math.floor(rect[axis] / grid + 1e-6) * grid)
        high = min(size, math.ceil(rect[axis + 2] / grid - 1e-6) * grid)
        if high <= low:
            return None
        lows.append(0.0 if low < _LEAST_ROWS * PITCH - 1e-6 else low)
        highs.append(size if size - high < _LEAST_ROWS * PITCH - 1e-6 else high)
    x0, y0, x1, y1 = lows[0], lows[1], highs[0], highs[1]
    if x1 - x0 >= board.size[0] or y1 - y0 >= board.size[1]:
        return None  # that would saw the board in two
    if any(
        x0 < high[0] and low[0] < x1 and y0 < high[1] and low[1] < y1
        for low, high in standing(board)
    ):
        return None
    return Notch(x=Length(x0), y=Length(y0), width=Length(x1 - x0), depth=Length(y1 - y0))


Corner = tuple[float, float]


def standing(board: Board) -> tuple[tuple[Corner, Corner], ...]:
    """The corners of what stands on a board: zones, and holes with as much again round them, mm."""
    return (
        *(
            ((float(z.x), float(z.y)), (float(z.x + z.width), float(z.y + z.depth)))
            for z in board.zones
        ),
        *(
            ((h.x - h.diameter, h.y - h.diameter), (h.x + h.diameter, h.y + h.diameter))
            for h in board.holes
        ),
    )
