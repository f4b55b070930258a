"""A lying board and the board standing on it, sized together.

How far the lying board may reach back is set against how high the standing one may be. The pairs
of which neither board can be given another row without taking one from the other are told.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fit.geometry.assemble import assemble
from fit.geometry.frames import dot
from fit.model.build import Build
from fit.solve.board import Sawn, Table, Tell, laid_out
from fit.solve.board_grid import Grid
from fit.solve.board_map import State
from fit.solve.board_search import Floor, grow, seek
from fit.solve.outline import Outline, Rect
from fit.solve.run import Watch

_TRIES = 150
"""How many outlines of each board are judged for each row of the table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One pair of boards that was checked together.

    Attributes:
        depth: rows of holes of the lying board from the front to the back.
        height: rows of holes of the standing board.
        lying, standing: their outlines, in cells of their present grids.
        build: the build with both.
    """

    depth: int
    height: int
    lying: Outline
    standing: Outline
    build: Build


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """The pairs of a lying and a standing board, the deepest lying board first.

    Attributes:
        lying, standing: names of the boards.
        lying_grid, standing_grid: their grids.
        rows: the pairs.
        cut_short: True when time was up, or the search was stopped, before all was tried.
    """

    lying: str
    standing: str
    lying_grid: Grid
    standing_grid: Grid
    rows: tuple[Pair, ...]
    cut_short: bool


def pairs(
    build: Build, standing: str, sawn: Sawn, watch: Watch, tell: Tell = lambda _: None
) -> Pairs:
    """Heights of a standing board against depths of the board it stands on.

    Args:
        build: with every part placed.
        standing: name of a board that stands on another.
        sawn: what may be sawn.
        watch: clock and stop switch; the pairs found so far are kept.
        tell: told what is going on.

    Raises:
        KeyError: when there is no such board, or it stands on nothing.
    """
    lying = build.part(standing).joined_to
    if lying is None:
        raise KeyError(standing)
    table = laid_out(build, lying, sawn, tell)
    front = laid_out(build, standing, sawn, tell)
    floor, axis, towards = table.floors[0], *_front(table.judge.build, lying, standing)
    cap = _rows_in_reach(front.floors[0])
    rows: list[Pair] = []
    whole = seek(floor, table.judge, State.FREE, watch, tries=_TRIES)
    deepest = 0 if whole.outline is None else _deep(whole.outline, axis)
    edge = None if whole.outline is None else _edge(whole.outline, axis, towards)
    for depth in range(deepest, 0, -1):
        if edge is None or watch.left <= 0:
            break
        tell(f"{lying} {depth} rows deep: how high can {standing} be")
        more = rows[-1].height if rows else 0
        found = _pair(table, floor, _window(floor, axis, towards, edge, depth), watch)
        if found is None:
            break
        pair = _highest(found, standing, sawn, watch, tell, more, axis)
        if pair is not None:
            rows.append(pair)
            if pair.height >= cap:
                break
    return Pairs(
        lying=lying,
        standing=standing,
        lying_grid=table.grid,
        standing_grid=front.grid,
        rows=tuple(rows),
        cut_short=watch.left <= 0,
    )


def _front(build: Build, lying: str, standing: str) -> tuple[int, bool]:
    """Along which axis of the lying board the standing one looks, and whether to its far end."""
    frames = {b.name: b.pose for b in assemble(build).boards}
    out = frames[standing].z
    along = (dot(frames[lying].x, out), dot(frames[lying].y, out))
    axis = 0 if abs(along[0]) > abs(along[1]) else 1
    return axis, along[axis] > 0


def _deep(outline: Outline, axis: int) -> int:
    return outline.rect[axis + 2] - outline.rect[axis]


def _edge(outline: Outline, axis: int, far: bool) -> int:
    return outline.rect[axis + 2] if far else outline.rect[axis]


def _window(floor: Floor, axis: int, far: bool, edge: int, depth: int) -> Rect:
    """The kept window cut to so many rows behind the front edge."""
    values = list(floor.kept.window)
    if far:
        values[axis] = max(values[axis], edge - depth)
    else:
        values[axis + 2] = min(values[axis + 2], edge + depth)
    return values[0], values[1], values[2], values[3]


def _rows_in_reach(floor: Floor) -> int:
    """The highest row of a standing board that is not blocked over all its columns."""
    x0, y0, x1, y1 = floor.kept.window
    for row in range(y1 - 1, y0 - 1, -1):
        if any(floor.map.state(column, row) is not State.BLOCKED for column in range(x0, x1)):
            return row + 1
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lying:
    """A lying board that passes together with the standing one as it is now."""

    outline: Outline
    build: Build


def _pair(table: Table, floor: Floor, window: Rect, watch: Watch) -> _Lying | None:
    found = seek(floor, table.judge, State.FREE, watch, window=window, tries=_TRIES)
    if found.outline is None:
        return None
    build = table.judge(found.outline).build
    return None if build is None else _Lying(outline=found.outline, build=build)


def _highest(
    lying: _Lying, standing: str, sawn: Sawn, watch: Watch, tell: Tell, more: int, axis: int
) -> Pair | None:
    """The highest standing board with more rows than so many that passes with a lying board."""
    table = laid_out(lying.build, standing, sawn, tell)
    floor = table.floors[0]
    columns = [c for c, _ in floor.kept.cells]
    middle = (min(columns) + max(columns)) // 2
    for height in range(_rows_in_reach(floor), more, -1):
        if watch.left <= 0:
            return None
        x0, y0, x1, _ = floor.kept.window
        top = (middle, height - 1)
        kept = replace(
            floor.kept,
            cells=floor.kept.cells | {top},
            why={**floor.kept.why, top: "its height"},
            window=(x0, y0, x1, height),
        )
        high = replace(floor, kept=kept)
        found = seek(high, table.judge, State.FREE, watch, tries=_TRIES)
        if found.outline is not None and found.outline.rect[3] == height:
            outline = grow(high, table.judge, found.outline, watch).outline
            build = table.judge(outline).build
            assert build is not None
            return Pair(
                depth=_deep(lying.outline, axis),
                height=height,
                lying=lying.outline,
                standing=outline,
                build=build,
            )
    return None
