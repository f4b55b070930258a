"""A lying board, the board standing on it and the display that one carries, sized together.

How far the lying board may reach back is set against how high the standing one may be, and that
against how high its display sits on its wall. The pairs of which neither board can be given
another row without taking one from the other are told; where the file leaves the display's
height open, each at the height that allows most.

For each depth the lying board is the largest one that the check passes, so a lying board of the
same depth that leaves out more is not tried. With the display at another height the standing
board keeps its columns, as found or as the file has them, and its rows are tried one by one: what
is told then can be had, other columns might give more. Every pair that is told passed the check.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fit.findings import Finding
from fit.geometry.assemble import assemble
from fit.geometry.frames import dot
from fit.model.build import Build
from fit.solve.board import Sawn, Table, Tell, laid_out
from fit.solve.board_grid import Grid, grid_of
from fit.solve.board_map import State
from fit.solve.board_rise import Raised, Rise, assembled, at_height, raised, rows_within, top_column
from fit.solve.board_search import Floor, Judge, grow, seek, shifted, side_moved
from fit.solve.outline import Outline, Rect
from fit.solve.run import Watch

_TRIES = 150
"""How many outlines of each board are judged for each row of the table."""

_MORE_TRIES = 40
"""How many of those with notches, once a rectangle has been found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class At:
    """What came of a height of the display.

    Attributes:
        rise: the height.
        rows: how many rows the standing board may have then, 0 for none.
        why: with none: what the check says of the lowest board tried.
    """

    rise: Rise
    rows: int
    why: Finding | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One pair of boards that was checked together.

    Attributes:
        depth: rows of holes of the lying board from the front to the back.
        height: rows of holes of the standing board.
        lying, standing: their outlines, in cells of their present grids.
        build: the build with both.
        rise: where its display is; None when that is not moved.
        heights: what came of each height of the display that was tried with this lying board.
    """

    depth: int
    height: int
    lying: Outline
    standing: Outline
    build: Build
    rise: Rise | None = None
    heights: tuple[At, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairs:
    """The pairs of a lying and a standing board, the deepest lying board first.

    Attributes:
        lying, standing: names of the boards.
        lying_grid, standing_grid: their grids.
        rows: the pairs.
        raised: the display that was raised and lowered; None when its height is not its own.
        cut_short: True when time was up, or the search was stopped, before all was tried.
    """

    lying: str
    standing: str
    lying_grid: Grid
    standing_grid: Grid
    rows: tuple[Pair, ...]
    raised: Raised | None = None
    cut_short: bool


def pairs(
    build: Build,
    standing: str,
    sawn: Sawn,
    watch: Watch,
    tell: Tell = lambda _: None,
    read: Build | None = None,
) -> Pairs:
    """Heights of a standing board against depths of the board it stands on.

    Args:
        build: with every part placed.
        standing: name of a board that stands on another.
        sawn: what may be sawn.
        watch: clock and stop switch; the pairs found so far are kept.
        tell: told what is going on.
        read: the build as written, to see whether the display's height is open; else it is not.

    Raises:
        KeyError: when there is no such board, or it stands on nothing.
    """
    lying = build.part(standing).joined_to
    if lying is None:
        raise KeyError(standing)
    table = laid_out(build, lying, sawn, tell)
    tell("raising and lowering the display")
    hunt = _Hunt(
        table=table,
        standing=standing,
        grid=grid_of(assemble(build), standing),
        display=raised(read or build, build, standing, (lying, standing)),
        sawn=sawn,
        watch=watch,
        tell=tell,
    )
    rows = hunt.rows()
    return Pairs(
        lying=lying,
        standing=standing,
        lying_grid=table.grid,
        standing_grid=hunt.grid,
        rows=rows,
        raised=hunt.display,
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stood:
    """A standing board with a lying one and its display somewhere.

    Attributes:
        build: with a standing board to begin from, or the highest found.
        outline: the highest one, in cells of the standing board's present grid; None for none.
        most: whether no other lying board would allow a higher one there.
        why: what the check says of the lowest board, when none passes.
    """

    build: Build
    outline: Outline | None
    most: bool
    why: Finding | None = None

    @property
    def height(self) -> int:
        """Its rows, 0 for none."""
        return 0 if self.outline is None else self.outline.rect[3]


@dataclass(slots=True, kw_only=True)
class _Hunt:
    """The hunt for the pairs of one build.

    Attributes:
        table: the lying board's.
        standing: the standing board's name.
        grid: the standing board's present grid.
        display: the display that may be raised and lowered.
        sawn, watch, tell: as for `pairs`.
    """

    table: Table
    standing: str
    grid: Grid
    display: Raised | None
    sawn: Sawn
    watch: Watch
    tell: Tell

    def rows(self) -> tuple[Pair, ...]:
        """The pairs, the deepest lying board first."""
        floor = self.table.floors[0]
        lying = self.table.grid.name
        axis, far = _front(self.table.judge.build, lying, self.standing)
        whole = seek(floor, self.table.judge, State.FREE, self.watch, tries=_TRIES)
        if whole.outline is None:
            return ()
        edge = _edge(whole.outline, axis, far)
        rows: list[Pair] = []
        for depth in range(_deep(whole.outline, axis), 0, -1):
            if self.watch.left <= 0:
                break
            self.tell(f"{lying} {depth} rows deep: how high can {self.standing} be")
            outline = self._lying(floor, _window(floor, axis, far, edge, depth))
            if outline is None:
                break
            more = rows[-1].height if rows else 0
            pair, ended = self._row(outline, _deep(outline, axis), more)
            rows += [] if pair is None else [pair]
            if ended:
                break
        return tuple(rows)

    def _lying(self, floor: Floor, window: Rect) -> Outline | None:
        """The largest lying board in a window that passes with the standing one as it is."""
        found = seek(floor, self.table.judge, State.FREE, self.watch, window=window, tries=_TRIES)
        return found.outline

    def _row(self, lying: Outline, depth: int, more: int) -> tuple[Pair | None, bool]:
        """A pair with a standing board of more than so many rows, if there is one.

        Returns:
            It, and whether a less deep lying board is of no use.
        """
        build = self.table.judge(lying).build
        assert build is not None
        free = self.display is not None and self.display.open
        now = self._highest(build, 0 if free else more)
        here = None if self.display is None else self.display.now
        stood: list[tuple[Rise | None, _Stood]] = [(here, now)]
        if free:
            stood = self._ladder(now)
        best = max(stood, key=self._worth)
        ended = all(one.most for _, one in stood)
        if best[1].outline is None or best[1].height <= more:
            return None, ended
        if free and best[1] is not now:
            grown = self._highest(best[1].build, best[1].height - 1)
            best = (best[0], grown if grown.height >= best[1].height else best[1])
        ladder = stood if free else self._ladder(now)
        pair = Pair(
            depth=depth,
            height=best[1].height,
            lying=lying,
            standing=self._as_counted(best[1]),
            build=best[1].build,
            rise=best[0],
            heights=tuple(
                At(rise=rise, rows=one.height, why=one.why)
                for rise, one in ladder
                if rise is not None
            ),
        )
        return pair, ended

    def _worth(self, one: tuple[Rise | None, _Stood]) -> tuple[int, float]:
        """The highest board first, then the display moved least."""
        rise, stood = one
        if self.display is None or rise is None:
            return stood.height, 0.0
        return stood.height, -abs(rise.mm - self.display.now.mm)

    def _as_counted(self, stood: _Stood) -> Outline:
        """An outline in cells of the standing board's grid as the file has it."""
        assert stood.outline is not None
        pose = next(b.pose for b in assemble(stood.build).boards if b.name == self.standing)
        x, _, _ = self.grid.pose.inside(pose.origin)
        return shifted(stood.outline, round(x / self.grid.step) - stood.outline.rect[0], 0)

    def _ladder(self, now: _Stood) -> list[tuple[Rise | None, _Stood]]:
        """The highest standing boards with the display at each height, the lowest number first."""
        found: list[tuple[Rise | None, _Stood]] = []
        if self.display is None:
            return found
        for rise in self.display.rises:
            if rise == self.display.now:
                found.append((rise, now))
            elif self.watch.left > 0:
                self.tell(f"{self.display.name} at {rise.mm:g} mm: how high can {self.standing} be")
                found.append((rise, self._at(now, rise)))
        return found

    def _at(self, now: _Stood, rise: Rise) -> _Stood:
        """The highest standing board with the display at another height, its columns as now.

        Its columns are those it has with the display where it is, or else the file's.
        """
        assert self.display is not None
        build = at_height(now.build, self.display.name, rise)
        scene = assembled(build)
        if scene is None:
            return _Stood(build=build, outline=None, most=True)
        grid = grid_of(scene, self.standing)
        judge = Judge(build=build, grid=grid, tell=lambda _: None)
        low, most = rows_within(scene, grid)
        low = max(low, min(self._joint_rows(build, grid), most))
        # What stands against the lowest board stands at the front, where no lying board goes less.
        best = _Stood(build=build, outline=None, most=True)
        for shape in self._shapes(now):
            for height in range(most, max(best.height, low - 1), -1):
                lowest = judge(_of_height(shape, low))
                if not lowest.passes:
                    # Where its joint sits goes by the width: no higher one passes either.
                    best = best if best.outline or best.why else replace(best, why=lowest.clash)
                    break
                said = judge(_of_height(shape, height))
                if said.passes and said.build is not None:
                    outline = _of_height(shape, height)
                    best = _Stood(build=said.build, outline=outline, most=height == most)
                    break
        return best

    def _joint_rows(self, build: Build, grid: Grid) -> int:
        """The rows that a standing board's joint is screwed to."""
        joint = build.part(self.standing).joint
        return 1 if joint is None else math.ceil(joint.size[1] / grid.step) + 1

    def _shapes(self, now: _Stood) -> list[Outline]:
        """The standing board as found and as in the file, counted from the first one's corner."""
        if now.outline is None:
            return [Outline(rect=self.grid.now)]
        here = self._as_counted(now)
        back = -here.rect[0]
        return [shifted(here, back, 0), shifted(Outline(rect=self.grid.now), back, 0)]

    def _highest(self, build: Build, more: int) -> _Stood:
        """The highest standing board with more than so many rows, the lying board as it is."""
        table = laid_out(build, self.standing, self.sawn, self.tell)
        floor = table.floors[0]
        column = top_column(floor.kept)
        x0, y0, x1, y1 = floor.kept.window
        free = [r for r in range(y0, y1) if floor.map.state(column, r) is State.FREE]
        most = max(free, default=-1) + 1
        for height in range(most, more, -1):
            if self.watch.left <= 0:
                break
            if height - 1 not in free:
                continue
            top = (column, height - 1)
            kept = replace(
                floor.kept,
                cells=floor.kept.cells | {top},
                why={**floor.kept.why, top: "its height"},
                window=(x0, y0, x1, height),
            )
            high = replace(floor, kept=kept)
            outline = self._of_rows(high, table.judge, height)
            if outline is not None:
                outline = grow(high, table.judge, outline, self.watch).outline
                after = table.judge(outline).build
                assert after is not None
                return _Stood(build=after, outline=outline, most=height == most)
        return _Stood(build=build, outline=None, most=most <= more)

    def _of_rows(self, floor: Floor, judge: Judge, rows: int) -> Outline | None:
        """A standing board of just so many rows: a rectangle, or with notches a larger one.

        Rectangles first: there are few of them, and notches at the foot take the joint's ground.
        """
        plain = replace(floor, limits=replace(floor.limits, notches=0))
        best: Outline | None = None
        for each in (plain, floor):
            tries, above = (_TRIES, 0) if best is None else (_MORE_TRIES, best.area)
            found = seek(each, judge, State.FREE, self.watch, above=above, tries=tries).outline
            if found is not None and found.rect[3] == rows:
                best = found
        return best


def _of_height(outline: Outline, height: int) -> Outline:
    """An outline with so many rows; a notch that they do not reach goes."""
    other = side_moved(outline, "upper", height - outline.rect[3])
    notches = tuple(n for n in other.notches if n.rect[1] < n.rect[3] <= height)
    return replace(other, notches=notches)
