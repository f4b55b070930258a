"""Boards whose size a build leaves open: each as large as goes in, whole rows of holes at a time.

A board begins as the least it has to be, in its place and with all else in theirs. Rows are put
round that on any side by the search for the biggest board (`fit.solve.board`), without notches;
holes, zones, noses and what stands on it stay where they are in the box.

Guaranteed: the check has passed what is taken, and it refuses one row more on any side, unless
that is more than the file allows, the box ends there, the board stands on that side or something
looks out over it. Not guaranteed, where the search was stopped; nor that with the other parts in
other places (`fit.solve.board_size_places` tries some), or with less of another board whose size is
open too, there would be no larger one. Boards are taken one after the other, those that lie first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fit.findings import Finding
from fit.geometry.assemble import assemble
from fit.model.build import Build
from fit.model.part import Board
from fit.solve.board import (
    Sawn,
    Table,
    Tell,
    boards_in,
    clashes_anyway,
    clashes_elsewhere,
    laid_out,
    search,
)
from fit.solve.board_grid import Grid, grid_of
from fit.solve.board_search import SIDES, Floor, grow, judged
from fit.solve.outline import Limits, Outline
from fit.solve.run import Watch

_ROUNDS = 4
"""How often boards are gone through: one that grew may stand in another's way, or not any more."""

_NO_LIMIT = 10_000
"""Columns or rows that no box has."""

_LEAST = "the least it has to be"


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The size one board took.

    Attributes:
        name: the board.
        grid: of the board as it was before.
        outline: in cells of that grid; None when none of at least the least size goes in.
        limits: for each side what the check says of one row more; None where it was not to be
            asked (see `ended`).
        ended: for a side without such a finding: why there is no more.
        reasons: when there is none: why not, in words.
        waits: True when no size was looked for, as something else clashes.
        cut_short: True when the search was stopped.
    """

    name: str
    grid: Grid
    outline: Outline | None
    limits: dict[str, Finding | None]
    ended: dict[str, str]
    reasons: tuple[str, ...] = ()
    waits: bool = False
    cut_short: bool = False

    @property
    def columns(self) -> int:
        """Columns of holes, or mm of a board without."""
        return 0 if self.outline is None else self.outline.rect[2] - self.outline.rect[0]

    @property
    def rows(self) -> int:
        """Rows of holes, or mm of a board without."""
        return 0 if self.outline is None else self.outline.rect[3] - self.outline.rect[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Enlarged:
    """A build whose boards have taken their sizes.

    Attributes:
        build: with them; a board that does not go in has its least size.
        taken: what became of each board whose size was open.
    """

    build: Build
    taken: tuple[Taken, ...] = ()

    @property
    def names(self) -> frozenset[str]:
        """The boards whose size was open."""
        return frozenset(one.name for one in self.taken)


def open_sizes(build: Build) -> tuple[str, ...]:
    """Names of the boards whose size is left open."""
    return tuple(
        used.name
        for used in build.parts
        if isinstance(used.part, Board) and used.part.up_to is not None
    )


def enlarged(build: Build, watch: Watch, tell: Tell = lambda _: None) -> Enlarged:
    """Let every board whose size is open be as large as goes in.

    Args:
        build: with every part placed.
        watch: clock and stop switch; what was found so far is kept.
        tell: told what is going on.
    """
    asked = set(open_sizes(build))
    names = [name for name in boards_in(build) if name in asked]
    elsewhere = clashes_elsewhere(build, tuple(names))
    if elsewhere:
        return Enlarged(build=settled_sizes(build), taken=_waiting(build, names, elsewhere))
    taken: dict[str, Taken] = {}
    now = build
    for _ in range(_ROUNDS):
        before = now
        for name in names:
            tell(f"how large can {name} be")
            one, now = _taken(now, name, watch, tell)
            taken[name] = one
        if now == before or len(names) == 1 or watch.left <= 0:
            break
    return Enlarged(build=settled_sizes(now), taken=tuple(taken[name] for name in names))


def _waiting(build: Build, names: list[str], clashes: tuple[Finding, ...]) -> tuple[Taken, ...]:
    """No size mends a clash of other things: that comes first."""
    scene = assemble(build)
    reasons = tuple(f.say for f in clashes)
    return tuple(replace(_none(n, grid_of(scene, n), reasons), waits=True) for n in names)


def settled_sizes(build: Build) -> Build:
    """The build with every size as it is now, none open any more."""
    parts = tuple(
        replace(used, part=replace(used.part, up_to=None))
        if isinstance(used.part, Board) and used.part.up_to is not None
        else used
        for used in build.parts
    )
    return replace(build, parts=parts)


def _taken(build: Build, name: str, watch: Watch, tell: Tell) -> tuple[Taken, Build]:
    """The size of one board, all else as it is, and the build with it."""
    table = laid_out(build, name, Sawn(notches=0, least_width=1), tell)
    grid = table.grid
    anyway = clashes_anyway(build, name)
    if anyway:
        reasons = tuple(f"Whatever its size: {f.say}" for f in anyway)
        return _none(name, grid, reasons), build
    table.floors = [_around(floor, grid) for floor in table.floors]
    found = search(table, watch)
    grown = found.grown
    least = Outline(rect=grid.now)
    if grown is None and table.judge(least).passes:
        # Of the many that were tried none passes: then row by row from the least.
        grown = grow(table.floors[0], table.judge, least, watch)
    after = None if grown is None else table.judge(grown.outline).build
    if grown is not None and after is not None:
        one = Taken(
            name=name,
            grid=grid,
            outline=grown.outline,
            limits=grown.sides,
            ended=_ended(table, grown.outline),
            cut_short=watch.left <= 0,
        )
        return one, after
    as_it_is = judged(build)
    if not as_it_is.passes:
        said = [as_it_is.clash.say] if as_it_is.clash is not None else []
        reasons = tuple(dict.fromkeys((*said, *found.reasons)))
        return _none(name, grid, reasons, cut_short=found.cut_short), build
    # The least board passes, and whole rows round it do not.
    why = "whole rows of holes do not go in, the board as it is does"
    one = Taken(
        name=name,
        grid=grid,
        outline=least,
        limits=dict.fromkeys(SIDES),
        ended=dict.fromkeys(SIDES, why),
        cut_short=watch.left <= 0,
    )
    return one, build


def _none(name: str, grid: Grid, reasons: tuple[str, ...], *, cut_short: bool = False) -> Taken:
    return Taken(
        name=name,
        grid=grid,
        outline=None,
        limits=dict.fromkeys(SIDES),
        ended={},
        reasons=reasons,
        cut_short=cut_short,
    )


def _around(floor: Floor, grid: Grid) -> Floor:
    """A floor on which an outline holds all of the least board, and is no larger than may be."""
    x0, y0, x1, y1 = grid.now
    least = {(x, y): _LEAST for x in range(x0, x1) for y in range(y0, y1)}
    why = {**least, **floor.kept.why}
    kept = replace(floor.kept, cells=frozenset(why), why=why)
    return replace(floor, kept=kept, limits=_limited(floor.limits, grid))


def _limited(limits: Limits, grid: Grid) -> Limits:
    """With what the file says of the most; never less than the board has now."""
    assert grid.board.up_to is not None
    now = (grid.now[2], grid.now[3])
    columns, rows = (
        _NO_LIMIT if most is None else max(have, int(most / grid.step + 1e-6))
        for most, have in zip(grid.board.up_to, now, strict=True)
    )
    return replace(limits, stock=(columns, rows), turned=False)


def _ended(table: Table, outline: Outline) -> dict[str, str]:
    """Why there is no more at a side that the check was not asked about."""
    grid, limits = table.grid, table.floors[0].limits
    window = table.floors[0].kept.window
    assert limits.stock is not None
    edges = {nose.edge.value for nose in grid.board.noses}
    found = {}
    for n, side in enumerate(SIDES):
        size = outline.rect[n % 2 + 2] - outline.rect[n % 2]
        if grid.standing and side == "lower":
            found[side] = "there it stands on the other board"
        elif side in edges:
            found[side] = "something looks out over this edge"
        elif size >= limits.stock[n % 2]:
            found[side] = "your file allows no more"
        elif outline.rect[n] == window[n]:
            found[side] = "the box ends there"
        else:
            found[side] = "the board cannot be brought to that place, or it was not tried"
    return found
