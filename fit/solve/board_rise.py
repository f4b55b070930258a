"""A display raised and lowered on its wall, and what that does to the board it is soldered to.

The standing board's foot stays on the lying one. Perfboard is lifted from it by what the display's
height leaves over whole half pitches, so its upper edge goes up and down by less than 1.27 mm; the
rows behind the display have to be there; and a leaning wall takes the board along. So a
millimetre more or less may gain a row or cost one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from fit.check import Family, Inspection
from fit.findings import Finding, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import Face, faces
from fit.geometry.scene import Scene
from fit.model.build import Build, Coordinate, How, Used
from fit.model.part import Display
from fit.model.words import FaceName
from fit.solve.board_fixed import FOOT, Kept, kept_of
from fit.solve.board_grid import Grid
from fit.solve.board_map import CellMap, State, cell_map
from fit.solve.board_search import QUICK_FIRST, worst_clash
from fit.solve.free import spans
from fit.units import Length

STEP = 1.0
"""Heights of a display are tried on whole millimetres, as a person marks them, mm."""

_KEPT_WORDS = (How.FROM_RIM, How.FROM_FLOOR, How.AT)
_LONG = (Family.GOING_IN, Family.ORDER)
_SAME = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Rise:
    """A height of a display: as a file has it, and mm up its face."""

    given: Coordinate
    up: float

    @property
    def mm(self) -> float:
        """The number of the file."""
        return float(self.given.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Raised:
    """A display that is raised and lowered.

    Attributes:
        name: the display.
        how: in which words its heights are told.
        now: where it is.
        open: its height is not written in the file.
        rises: the heights that may be tried, the lowest number first, with the present one.
        barred: for heights at which something clashes whatever its boards are: what.
    """

    name: str
    how: How
    now: Rise
    open: bool
    rises: tuple[Rise, ...]
    barred: dict[float, Finding]


def raised(read: Build, placed: Build, standing: str, boards: tuple[str, ...]) -> Raised | None:
    """The display a standing board follows, and the heights it may have.

    Args:
        read: as written.
        placed: the same with every part placed.
        standing: the board.
        boards: names of the two boards that are to be sized.

    Returns:
        None when its height is not its own: beside another part.
    """
    used = _shown(placed, standing)
    if used is None or used.at is None or used.at.up is None or used.at.beside is not None:
        return None
    assert isinstance(used.on, FaceName)
    face = faces(placed.box)[used.on]
    up = assemble(placed).placed[used.name].up
    how = used.at.up.how if used.at.up.how in _KEPT_WORDS else How.AT
    now = Rise(given=_as_given(face, how, up), up=up)
    if used.at.up.how is how and not used.at.up.off:
        now = replace(now, given=used.at.up)
    rises, barred = [], {}
    for rise in sorted({*_whole(face, how, now), now}, key=_number):
        clash = _clash_elsewhere(at_height(placed, used.name, rise), boards)
        if clash is None:
            rises.append(rise)
        else:
            barred[rise.mm] = clash
    at = read.part(used.name).at
    return Raised(
        name=used.name,
        how=how,
        now=now,
        open=at is None or at.up is None,
        rises=tuple(rises),
        barred=barred,
    )


def _number(rise: Rise) -> float:
    return rise.mm


def _shown(build: Build, standing: str) -> Used | None:
    """The display whose window says where the board stands: the first with a window."""
    for name in build.part(standing).carries:
        used = build.part(name)
        if isinstance(used.part, Display) and isinstance(used.on, FaceName):
            return used
    return None


def _ends(face: Face) -> tuple[float, float]:
    ups = [p[1] for p in face.outline]
    return min(ups), max(ups)


def _as_given(face: Face, how: How, up: float) -> Coordinate:
    low, high = _ends(face)
    mm = {How.FROM_RIM: high - up, How.FROM_FLOOR: up - low}.get(how, up)
    return Coordinate(how=how, value=Length(round(mm, 3) + 0.0))


def _whole(face: Face, how: How, now: Rise) -> Iterator[Rise]:
    """Every whole millimetre of the flat part of a face, but for the present height."""
    low, high = _ends(face)
    span = spans(face)[1]
    for n in range(math.ceil(-high - 1), math.floor(2 * high) + 1):
        mm = n * STEP
        up = {How.FROM_RIM: high - mm, How.FROM_FLOOR: low + mm}.get(how, mm)
        if span.low <= up <= span.high and abs(up - now.up) > _SAME:
            yield Rise(given=Coordinate(how=how, value=Length(mm)), up=up)


def at_height(build: Build, display: str, rise: Rise) -> Build:
    """The build with its display at another height, all else as written."""

    def moved(used: Used) -> Used:
        if used.name != display or used.at is None:
            return used
        return replace(used, at=replace(used.at, up=rise.given))

    return replace(build, parts=tuple(map(moved, build.parts)))


def _clash_elsewhere(build: Build, boards: tuple[str, ...]) -> Finding | None:
    """A clash that no outline of these boards mends, going in and order left aside.

    Those take long, and whatever is told is checked with the boards anyway.
    """
    look = Inspection(assemble(build))
    for rule in (r for r in QUICK_FIRST if r.family not in _LONG):
        clash = worst_clash(f for f in rule.check(look) if not set(f.about) & set(boards))
        if clash is not None:
            return clash
    return None


def top_column(kept: Kept) -> int:
    """The column whose topmost cell is a standing board's height: amid all it has to keep."""
    cells = [cell for cell in kept.cells if kept.why[cell] != FOOT] or kept.cells
    columns = [column for column, _ in cells]
    return (min(columns) + max(columns)) // 2


def rows_within(scene: Scene, grid: Grid) -> tuple[int, int]:
    """The rows a standing board needs at least, and those it may have at most.

    Its height is counted in one column: only that is measured, from the display upwards.
    """
    kept = kept_of(scene, grid, CellMap(reach=(0, 0, 0, 0), states=[]))
    column = top_column(kept)
    low = max((row for _, row in kept.cells), default=0) + 1
    x0, _, x1, y1 = kept.window
    if low > y1 or not x0 <= column < x1:
        return low, 0
    strip = cell_map(scene, replace(grid, reach=(column, low - 1, column + 1, y1)))
    rows = [row for row in range(low - 1, y1) if strip.state(column, row) is State.FREE]
    return low, max(rows, default=-1) + 1


def assembled(build: Build) -> Scene | None:
    """The scene, or None where the box or the boards cannot have it."""
    try:
        return assemble(build)
    except UnusableInput:
        return None
