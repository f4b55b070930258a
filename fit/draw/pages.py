"""Which views share a sheet, how the paper lies, and where everything stands on it.

A unit is what belongs together: a view (or a tile of a large one), the plates to cut for it, its
list. Units that fit share a sheet; the way of laying the paper is the one that takes most of
them. Lists stand at the bottom, above or beside the title block; views share what is left.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache

from fit.draw import pens
from fit.draw.clip import clipped
from fit.draw.correction import Correction
from fit.draw.drawing import (
    Anchor,
    Box,
    Operation,
    Page,
    Positioned,
    Sketch,
    Text,
    item_box,
    merged,
)
from fit.draw.furniture import Form, Heading, furniture, narrowed, title_fits
from fit.draw.packing import Parcel, Pull, pack, spread
from fit.draw.tables import Block, Listing, set_list
from fit.draw.tiles import Tile, seams, tiles
from fit.draw.view import View, words_of

_SIDE, _SIDE_MORE = 12.0, 24.0
"""Least room for words left and right of a view, and what it gets more when there is room, mm."""
_BAND, _BAND_MORE = 10.0, 18.0
"""The same above and below it."""
_LEVELS = (1.0, 0.75, 0.5, 0.25)
"""Shares of the additional room that are tried; views that share a sheet need the last."""
_CAPTION = 6.0
"""Height kept for a view's name where several share a sheet, mm."""
_GAP = 5.0
"""Between things on a sheet, mm."""
_BEYOND = 8.0
"""How far a tile shows what lies past the edge of its view, mm."""
_MARKS = 25.0
"""How far past the edge of its view a tile may carry the names of edges, mm."""


class Side(StrEnum):
    """From where views are seen. Views from different sides never share a sheet."""

    OUTSIDE = "outside"
    INSIDE = "inside"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A view, or a tile of it, as it wants to stand on a sheet: the window is its own room, mm."""

    view: View
    window: Box
    tile: Tile | None = None

    @property
    def caption(self) -> str:
        """What it is called where several views share a sheet."""
        if self.tile is None:
            return self.view.title
        return f"{self.view.title}, tile {self.tile.number} of {self.tile.count}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """What stands on one sheet together.

    Attributes:
        name: short, for the list of sheets.
        title: for the title block when it is alone on its sheet.
        facts: lines that must be told on its sheet.
        cells: views and tiles.
        plates: further drawings at 1:1.
        lists: tables.
        side: from where it is seen.
    """

    name: str
    title: str
    facts: tuple[str, ...] = ()
    cells: tuple[Cell, ...] = ()
    plates: tuple[Block, ...] = ()
    lists: tuple[Listing, ...] = ()
    side: Side = Side.OUTSIDE


@dataclass(frozen=True, slots=True, kw_only=True)
class Imprint:
    """What every sheet of a build says.

    Attributes:
        build: its name.
        fingerprint: of the inputs.
        first, last: lines before and after the facts of what is shown.
        clash: the build does not go together.
        correction: what the printer needs, or None.
    """

    build: str
    fingerprint: str
    first: tuple[str, ...]
    last: tuple[str, ...]
    clash: bool
    correction: Correction | None

    def heading(
        self, units: Sequence[Unit], on: Form, facts: Sequence[str], number: int = 1, of: int = 1
    ) -> Heading:
        """The title block of a sheet."""
        title = units[0].title if len(units) == 1 else ", ".join(_names(units))
        told = (self.correction.words(on.stretch),) if self.correction else ()
        return Heading(
            build=self.build,
            view=f"CLASH: {title}" if self.clash else title,
            lines=(*self.first, *told, *facts, *self.last),
            fingerprint=self.fingerprint,
            sheet=number,
            of=of,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet worked out but not yet drawn: its units, the room of each cell, its blocks."""

    form: Form
    units: tuple[Unit, ...]
    facts: tuple[str, ...]
    rooms: tuple[Box, ...]
    blocks: tuple[Positioned, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """All cells of its units."""
        return tuple(cell for unit in self.units for cell in unit.cells)


def _names(units: Sequence[Unit]) -> list[str]:
    return list(dict.fromkeys(unit.name for unit in units))


@dataclass(slots=True)
class Composer:
    """Puts units on sheets of one paper."""

    forms: Sequence[Form]
    imprint: Imprint
    _set: dict[tuple[Listing, float, float], tuple[Block, ...]] = field(default_factory=dict)

    def pages(self, units: Sequence[Unit]) -> tuple[Page, ...]:
        """Draw units, in order as far as the paper allows; the first sheet lists all sheets."""
        waiting = [part for unit in units for part in self._parts(unit)]
        sheets: list[Sheet] = []
        while waiting:
            sheet = self._fullest(waiting)
            if sheet is None:
                raise ValueError(f"{waiting[0].title} goes on no sheet")
            sheets.append(sheet)
            waiting = [unit for unit in waiting if unit not in sheet.units]
        if len(sheets) > 1:
            sheets[0] = self._with_contents(sheets)
        return tuple(
            self._drawn(sheet, number, len(sheets)) for number, sheet in enumerate(sheets, start=1)
        )

    def _parts(self, unit: Unit) -> tuple[Unit, ...]:
        """A unit as units each of which goes on one sheet: its lists apart, or in tiles."""
        if self._fits(unit):
            return (unit,)
        for beside in (replace(unit, lists=()), replace(unit, plates=()),
                       replace(unit, lists=(), plates=())):  # fmt: skip
            if self._fits(beside):
                return (beside, *self._apart(unit, beside))
        if len(unit.cells) != 1:
            singly = [replace(unit, cells=(cell,), lists=(), plates=()) for cell in unit.cells]
            return (*(part for one in singly for part in self._parts(one)),
                    *self._apart(unit, replace(unit, lists=(), plates=())))  # fmt: skip
        return self._in_tiles(unit, unit.cells[0].view)

    def _fits(self, unit: Unit) -> bool:
        return any(self._compose((unit,), on) for on in self.forms)

    def _apart(self, unit: Unit, beside: Unit) -> tuple[Unit, ...]:
        """What does not go beside a view, each piece as a unit of its own."""
        rest = replace(unit, cells=(), facts=unit.facts[:1], title=f"{unit.name}, lists and plates")
        units = []
        if not beside.plates:
            for block in unit.plates:
                alone = replace(rest, plates=(block,), lists=())
                if self._fits(alone):
                    units.append(alone)
                else:
                    units += self._in_tiles(alone, _as_view(block))
        if not beside.lists:
            units += [
                replace(rest, plates=(block,), lists=())
                for listing in unit.lists
                for block in self._narrowest(listing)
            ]
        return tuple(units)

    def _narrowest(self, listing: Listing) -> tuple[Block, ...]:
        """A list set for the form that takes it in the fewest blocks."""
        found = [self._setting(listing, on.free.width, on.free.height) for on in self.forms]
        fitting = [
            blocks
            for blocks, on in zip(found, self.forms, strict=True)
            if all(block.width <= on.free.width + 1e-6 for block in blocks)
        ]
        return min(fitting or found, key=len)

    def _in_tiles(self, unit: Unit, view: View) -> tuple[Unit, ...]:
        cut = min((_tiles_on(view, on) for on in self.forms), key=len)
        parts = []
        for tile in cut:
            facts = (
                f"Column {tile.column + 1} of {tile.columns} from the left, "
                f"row {tile.row + 1} of {tile.rows} from below.",
                "Cut along a seam, lay its crosses on those of the same letter, tape.",
            )
            cell = Cell(view=view, window=tile.window, tile=tile)
            words = f"{unit.name}, tile {tile.number} of {tile.count}"
            parts.append(
                replace(unit, name=words, title=cell.caption, facts=(*facts, *unit.facts),
                        cells=(cell,), plates=(), lists=())
            )  # fmt: skip
        whole = replace(parts[-1], plates=unit.plates, lists=unit.lists)
        if self._fits(whole):
            return (*parts[:-1], whole)
        return (*parts, *self._apart(unit, parts[-1]))

    def _fullest(self, waiting: Sequence[Unit]) -> Sheet | None:
        """The sheet that takes the first unit and as many of the others as possible."""
        best: tuple[tuple[int, float], Sheet] | None = None
        for on in self.forms:
            sheet = self._compose(waiting[:1], on)
            if sheet is None:
                continue
            for unit in waiting[1:]:
                if unit.side is sheet.units[0].side:
                    sheet = self._compose((*sheet.units, unit), on) or sheet
            rank = (len(sheet.units), sum(c.window.width * c.window.height for c in sheet.cells))
            if best is None or rank > best[0]:
                best = (rank, sheet)
        return best[1] if best else None

    def _compose(
        self, units: Sequence[Unit], on: Form, contents: Listing | None = None
    ) -> Sheet | None:
        """Put units on one sheet; None when they do not go there together."""
        on, rooms = narrowed(on)
        facts, lists = self._told(units, on)
        if contents is not None:
            lists = [*lists, contents]
        cells = [cell for unit in units for cell in unit.cells]
        blocks = [(block,) for unit in units for block in unit.plates]
        for listing in lists:
            blocks += self._choices(listing, on, rooms)
        below = [
            Parcel(sizes=tuple((b.width, b.height) for b in choice), pull=Pull.BOTTOM)
            for choice in blocks
        ]
        levels = _LEVELS if len(cells) > 1 else (*_LEVELS, 0.0)
        for level in levels:
            above = [_wanting(cell, level, len(cells) > 1, on.free) for cell in cells]
            for parcels in ([*above, *below], [*below[::-1], *above]):
                first = len(above) if parcels[: len(above)] == above else len(below)
                places = pack(parcels, rooms, _GAP)
                if places is not None:
                    return _sheet(on, units, facts, cells, blocks, places, above_first=first)
        return None
