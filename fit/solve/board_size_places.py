"""Layouts with boards whose size is open: places first, then sizes, then other places for more.

The layout solver places everything with each board at its least. The boards then grow (see
`fit.solve.board_size`). Where places are open too, the build is laid out anew with a board of more
rows, as long as that makes the boards larger in all; so many layouts are tried and no more, and
that there is no larger board with everything elsewhere is not proved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from fit.geometry.assemble import assemble
from fit.geometry.scene import Placed
from fit.model.build import Build, Used
from fit.model.part import Board
from fit.solve.board import Tell
from fit.solve.board_grid import build_with, grid_of
from fit.solve.board_search import SIDES, side_moved
from fit.solve.board_size import Taken, enlarged
from fit.solve.free import Put
from fit.solve.layout import Laid, Layout, lay_out
from fit.solve.outline import Outline
from fit.solve.run import Effort, Watch
from fit.solve.verdict import judged
from fit.units import Length

_STEPS = (8, 4, 2, 1)
"""Rows that are tried to be gained by other places, the most first."""

_SHAPES = 8
"""So many other proportions of a board whose place is open are tried."""

_MOST_TRIES = 48
"""So many layouts are tried at the most."""

_WORK = 0.5
"""The layout solver's effort for each of them (see `Effort.work`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """A layout whose boards have taken their sizes.

    Attributes:
        layout: with the sizes, judged anew.
        taken: what became of each board.
    """

    layout: Layout
    taken: tuple[Taken, ...]

    @property
    def whole(self) -> bool:
        """Whether every board goes in."""
        return all(one.outline is not None for one in self.taken)

    @property
    def cells(self) -> int:
        """Cells of all these boards together."""
        return sum(one.columns * one.rows for one in self.taken)


def with_sizes(laid: Laid, layout: Layout, watch: Watch, tell: Tell = lambda _: None) -> Sized:
    """A layout with the boards whose size is open as large as goes in, all else where it is.

    Args:
        laid: what the layout came of.
        layout: one of its layouts.
        watch: clock and stop switch.
        tell: told what is going on.
    """
    larger = enlarged(layout.build, watch, tell)
    movers = layout.verdict.movers | larger.names
    verdict = judged(larger.build, movers)
    puts = {
        name: _moved(put, verdict.scene.placed[name]) if name in larger.names else put
        for name, put in layout.puts.items()
    }
    # The room that was found before the boards grew is not what is left.
    sized = replace(layout, puts=puts, verdict=verdict, best=False)
    return Sized(layout=sized, taken=larger.taken)


def _moved(put: Put, placed: Placed) -> Put:
    """Where a board's middle is now."""
    return replace(
        put,
        across=None if put.across is None else placed.across,
        up=None if put.up is None else placed.up,
    )


def with_more_room(laid: Laid, first: Sized, watch: Watch, tell: Tell = lambda _: None) -> Sized:
    """The same with everything that is open put elsewhere, where that makes the boards larger.

    Args:
        laid: what the layout came of.
        first: its layout with sizes, which is kept where nothing better is found.
        watch: clock and stop switch; the best so far is kept.
        tell: told what is going on.
    """
    if not laid.free or not first.whole:
        return first
    best, tries = first, 0
    gained = True
    while gained:
        gained = False
        for build in _larger(laid, best):
            if watch.left <= 0 or tries >= _MOST_TRIES:
                return best
            tries += 1
            tell("looking for places that leave the boards more room")
            found = _laid_out(build, watch, tell)
            if found is not None and found.cells > best.cells:
                best, gained = found, True
                break
    return best


def _laid_out(build: Build, watch: Watch, tell: Tell) -> Sized | None:
    """A layout of a build that passes, with sizes; None where none is found quickly."""
    effort = Effort(seconds=watch.left, work=_WORK)
    brief = Watch(effort=effort, stopped=watch.stopped)
    laid = lay_out(build, brief, tell, prove=False)
    if laid.layout is None or not laid.layout.verdict.good:
        return None
    found = with_sizes(laid, laid.layout, watch, tell)
    return found if found.whole else None


def _larger(laid: Laid, best: Sized) -> Iterator[Build]:
    """The build with one of its boards larger than it is, what is open being open again."""
    free = {one.name for one in laid.free if one.across or one.up}
    names = {one.name for one in laid.free}
    for taken in best.taken:
        if taken.name in free:
            found = (_at_least(laid.build, taken, size) for size in _sizes(laid.build, taken))
        else:
            sides = [side for side in SIDES if _may_yield(taken, side, names)]
            found = (
                _beyond(laid.build, best, taken, side, rows) for rows in _STEPS for side in sides
            )
        yield from (build for build in found if build is not None)


def _sizes(build: Build, taken: Taken) -> Iterator[tuple[int, int]]:
    """Sizes with more cells than a board has become: wider, higher, then of other proportions."""
    columns, rows = taken.columns, taken.rows
    for more in _STEPS:
        yield columns + more, rows
        yield columns, rows + more
    x0, y0, x1, y1 = taken.grid.reach
    least = build.part(taken.name).part
    assert isinstance(least, Board)
    narrow, low = (math.ceil(side / taken.grid.step - 1e-6) for side in least.size)
    for n in range(_SHAPES):
        wide = narrow + n * (x1 - x0 - narrow) // _SHAPES
        high = max(columns * rows // wide + 1, low)
        if high <= y1 - y0:
            yield wide, high


def _may_yield(taken: Taken, side: str, free: set[str]) -> bool:
    """Whether what limits a board at a side is something that may be put elsewhere."""
    clash = taken.limits.get(side)
    return clash is not None and bool(free & set(clash.about))


def _at_least(build: Build, taken: Taken, size: tuple[int, int]) -> Build | None:
    """The build with a board of at least so many columns and rows.

    None where the file does not allow that. Holes and zones are counted as in the file.
    """
    used, step = build.part(taken.name), taken.grid.step
    assert isinstance(used.part, Board)
    wide, high = (
        Length(max(cells * step, least)) for cells, least in zip(size, used.part.size, strict=True)
    )
    return _with_board(build, replace(used, part=replace(used.part, size=(wide, high))))


def _beyond(build: Build, best: Sized, taken: Taken, side: str, rows: int) -> Build | None:
    """The build with a board, whose place is not open, so many rows larger at one side."""
    now = best.layout.build
    grid = grid_of(assemble(now), taken.name)
    moved = build_with(now, grid, side_moved(Outline(rect=grid.now), side, rows))
    return None if moved is None else _with_board(build, moved.part(taken.name))


def _with_board(build: Build, used: Used) -> Build | None:
    """The build with another board in place of one of the same name; None where it is too large."""
    open_still = build.part(used.name).part
    assert isinstance(used.part, Board) and isinstance(open_still, Board)
    most = open_still.up_to or (None, None)
    if any(m is not None and s > m + 1e-6 for s, m in zip(used.part.size, most, strict=True)):
        return None
    other = replace(used, part=replace(used.part, up_to=most))
    return replace(build, parts=tuple(other if u.name == other.name else u for u in build.parts))
