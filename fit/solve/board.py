"""The biggest board of a build: each board by itself, everything else where it is.

The board keeps its holes and what stands on it; only its outline changes. What is proposed is put
into the build and goes through every rule before it is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum

from fit.check import Inspection, inspected
from fit.check.bodies import bodies
from fit.check.lid import lid
from fit.check.walls import walls
from fit.findings import Finding, Grade
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build
from fit.solve.board_fixed import Kept, kept_of, scenes_of
from fit.solve.board_grid import Grid, grid_of
from fit.solve.board_map import CellMap, State, cell_map
from fit.solve.board_search import Floor, Grown, Judge, grow, seek
from fit.solve.outline import Limits, Outline, Point
from fit.solve.run import Watch
from fit.units import PITCH

LEAST_WIDTH = 4
"""Holes that stay between cuts unless told otherwise."""

_SAFE_TRIES, _LOOSE_TRIES = 150, 40
"""How many outlines are judged on the safe map, and beyond it."""

Tell = Callable[[str], None]


class End(StrEnum):
    """How a search for a board ended."""

    FOUND = "found"
    NONE = "none"
    """No outline of the kind asked for: proved."""
    UNKNOWN = "unknown"
    """Stopped, or out of tries, with nothing found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawn:
    """What may be sawn: most notches, and holes that must stay between cuts."""

    notches: int = 2
    least_width: int = LEAST_WIDTH

    def limits(self, grid: Grid) -> Limits:
        """The same in cells of a grid."""
        share = PITCH / grid.step
        return Limits(
            notches=self.notches,
            least_width=max(1, math.ceil(self.least_width * share - 1e-9)),
            least_notch=max(1, math.ceil(3 * share - 1e-9)),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Biggest:
    """The biggest board found.

    Attributes:
        name: the board.
        grid: its grid.
        end: how the search ended.
        outline: in cells of the grid, or None.
        build: the build with it, passed by the checker, or None.
        most: no outline of the kind can have more cells.
        grown: why it is no larger, side by side and notch by notch.
        reasons: when nothing was found: why not, in words.
        map, kept: what it was found on, for pictures; None when no map was needed.
        tried: how many outlines were judged.
        cut_short: True when the search was stopped; a larger one may exist up to `most`.
    """

    name: str
    grid: Grid
    end: End
    most: int
    map: CellMap | None = None
    kept: Kept | None = None
    outline: Outline | None = None
    build: Build | None = None
    grown: Grown | None = None
    reasons: tuple[str, ...] = ()
    tried: int = 0
    cut_short: bool = False

    @property
    def area(self) -> int:
        """Cells of the outline, 0 for none."""
        return 0 if self.outline is None else self.outline.area


def boards_in(build: Build) -> tuple[str, ...]:
    """Names of the boards that have a place, lying ones first."""
    scene = assemble(build)
    lying = [b.name for b in scene.boards if build.part(b.name).joined_to is None]
    return (*lying, *(b.name for b in scene.boards if b.name not in lying))


def clashes_elsewhere(build: Build, names: tuple[str, ...]) -> tuple[Finding, ...]:
    """Clashes of a build that are about none of these boards: no outline mends them."""
    findings = inspected(Inspection(assemble(build)))
    return tuple(f for f in findings if f.grade is Grade.CLASH and not set(f.about) & set(names))


def clashes_anyway(build: Build, name: str) -> tuple[Finding, ...]:
    """Clashes of solids that stay whatever a board's outline: neither its slab nor its leads."""
    scene = assemble(build)
    gone = {(name, body) for body in ("slab", "leads")}
    if build.part(name).joined_to is not None:
        # A joint's place goes by the board's width.
        gone |= {(name, body) for body in ("block", "strip", "joint screw")}
        gone.add((build.part(name).joined_to or "", "joint screw"))
    rest = replace(scene, bodies=tuple(b for b in scene.bodies if b.id not in gone))
    found = inspected(Inspection(rest), (bodies, walls, lid))
    return tuple(f for f in found if f.grade is Grade.CLASH)


@dataclass(slots=True, kw_only=True)
class Table:
    """One board of a build, laid out to be searched.

    Attributes:
        grid: the board's grid.
        judge: the checker.
        floors: one for each choice of posts to rest on.
    """

    grid: Grid
    judge: Judge
    floors: list[Floor] = field(default_factory=list)


def laid_out(build: Build, name: str, sawn: Sawn, tell: Tell) -> Table:
    """A board's maps, ready to be searched; the build has to have every part placed."""
    scene: Scene = assemble(build)
    grid = grid_of(scene, name)
    table = Table(grid=grid, judge=Judge(build=build, grid=grid, tell=tell))
    for choice in scenes_of(scene, grid):
        tell(f"looking where {name} can be")
        found = cell_map(choice, grid)
        kept = kept_of(choice, grid, found)
        limits = sawn.limits(grid)
        table.floors.append(Floor(map=found, kept=kept, limits=limits, step=grid.step))
    return table


def biggest(
    build: Build, name: str, sawn: Sawn, watch: Watch, tell: Tell = lambda _: None
) -> Biggest:
    """The biggest board that goes into a build in place of one of its boards.

    Args:
        build: with every part placed.
        name: of the board.
        sawn: what may be sawn.
        watch: clock and stop switch; the best so far is kept.
        tell: told what is going on.
    """
    anyway = clashes_anyway(build, name)
    if anyway:
        return Biggest(
            name=name,
            grid=grid_of(assemble(build), name),
            end=End.NONE,
            most=0,
            reasons=tuple(f"Whatever its outline: {f.say}" for f in anyway),
        )
    return search(laid_out(build, name, sawn, tell), watch)


def search(table: Table, watch: Watch, above: int = 0) -> Biggest:
    """The biggest board of a table; only one with more than `above` cells is of interest.

    First on the safe maps, then, where the loose maps promise more, beyond them.
    """
    best: Grown | None = None
    floor, ended, last = table.floors[0], True, None
    most = max(choice.bound() for choice in table.floors)
    for worst, tries in ((State.FREE, _SAFE_TRIES), (State.DOUBTFUL, _LOOSE_TRIES)):
        for choice in table.floors:
            beat = max(above, best.outline.area if best is not None else 0)
            found = seek(choice, table.judge, worst, watch, above=beat, tries=tries)
            ended, last = ended and found.ended, found.last or last
            if found.outline is not None:
                best, floor = grow(choice, table.judge, found.outline, watch), choice
    if best is None and not ended:
        best, floor = _rectangle(table, watch, above)
    if best is None:
        return _nothing(table, floor, most, tuple(_why_not(floor, last)), ended=ended)
    exact = ended and floor.limits.notches == 0
    return Biggest(
        name=table.grid.name,
        grid=table.grid,
        end=End.FOUND,
        most=best.outline.area if exact else max(most, best.outline.area),
        map=floor.map,
        kept=floor.kept,
        outline=best.outline,
        build=table.judge(best.outline).build,
        grown=best,
        tried=table.judge.asked,
        cut_short=watch.left <= 0,
    )


def _rectangle(table: Table, watch: Watch, above: int) -> tuple[Grown | None, Floor]:
    """A board without notches, where of the many with notches that were tried none passed."""
    for choice in table.floors:
        plain = replace(choice, limits=replace(choice.limits, notches=0))
        found = seek(plain, table.judge, State.FREE, watch, above=above, tries=_SAFE_TRIES)
        if found.outline is not None:
            return grow(choice, table.judge, found.outline, watch), choice
    return None, table.floors[0]


def _nothing(
    table: Table, floor: Floor, most: int, reasons: tuple[str, ...], *, ended: bool
) -> Biggest:
    return Biggest(
        name=table.grid.name,
        grid=table.grid,
        end=End.NONE if ended else End.UNKNOWN,
        most=most,
        map=floor.map,
        kept=floor.kept,
        reasons=reasons,
        tried=table.judge.asked,
        cut_short=not ended,
    )


def _why_not(floor: Floor, last: Finding | None) -> list[str]:
    """Why there is no outline, in words."""
    told: dict[tuple[str, str], Point] = {}
    for cell in sorted(floor.kept.cells):
        fault = floor.map.faults.get(cell)
        inside = floor.map.state(*cell) is State.BLOCKED
        if fault is not None and fault.sure:
            told.setdefault((floor.kept.why[cell], fault.other), cell)
        elif fault is None and inside:
            told.setdefault((floor.kept.why[cell], "the box's own walls"), cell)
    said = [f"There must be board for {what}, but {other} is too near." for what, other in told]
    if not said and last is not None:
        said = [f"Every outline that was tried is refused. {last.say}"]
    return said or [_between(floor)]


def _between(floor: Floor) -> str:
    """What lies between the cells an outline has to keep."""
    columns, rows = ([cell[n] for cell in floor.kept.cells] or [0] for n in (0, 1))
    others = {
        fault.other: None
        for (x, y), fault in sorted(floor.map.faults.items())
        if min(columns) <= x <= max(columns) and min(rows) <= y <= max(rows)
    }
    if not others:
        return "Between the things in the way no piece is wide enough to saw."
    return (
        f"Between what it must reach there is {' and '.join(others)}: so few notches, or so much "
        "left between cuts, leave no way round."
    )
