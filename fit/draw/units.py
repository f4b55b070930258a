"""What goes onto sheets: views and tiles, what belongs to them, and what every sheet says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fit.draw.correction import Correction
from fit.draw.drawing import Box
from fit.draw.furniture import Form, Heading
from fit.draw.tables import Block, Listing
from fit.draw.tiles import Tile
from fit.draw.view import Side, View

SIDE: Final = 8.0
"""Least room for words left and right of a view, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A view, or a tile of it, as it wants to stand on a sheet.

    Attributes:
        view: the view.
        window: its own room, mm.
        tile: which part of it, or None for all.
        side: least room left and right of it for words, mm.
    """

    view: View
    window: Box
    tile: Tile | None = None
    side: float = SIDE

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
        general: lines that must be told on its sheet and hold for others like it.
        facts: lines that must be told on its sheet, about itself.
        cells: views and tiles.
        plates: further drawings at 1:1, each in the ways it may lie.
        lists: tables.
        side: from where it is seen.
        instead: the units to take when it goes on no sheet as a whole.
    """

    name: str
    title: str
    general: tuple[str, ...] = ()
    facts: tuple[str, ...] = ()
    cells: tuple[Cell, ...] = ()
    plates: tuple[tuple[Block, ...], ...] = ()
    lists: tuple[Listing, ...] = ()
    side: Side = Side.OUTSIDE
    instead: tuple[Unit, ...] = ()


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
        names = names_of(units)
        title = units[0].title if len(names) == 1 else ", ".join(names)
        if len(names) > 1 and not any(unit.cells for unit in units):
            title += ", lists and plates"
        told = (self.correction.words(on.stretch),) if self.correction else ()
        return Heading(
            build=self.build,
            view=f"CLASH: {title}" if self.clash else title,
            lines=(*self.first, *told, *facts, *self.last),
            fingerprint=self.fingerprint,
            sheet=number,
            of=of,
        )


def names_of(units: Sequence[Unit]) -> list[str]:
    """The names of some units, each once."""
    return list(dict.fromkeys(unit.name for unit in units))


def named(units: Sequence[Unit]) -> bool:
    """Whether views need their names beside them: where the title block tells several."""
    return len(names_of(units)) > 1 or sum(len(unit.cells) for unit in units) > 1


def alone(unit: Unit, cell: Cell) -> Unit:
    """One view of a unit by itself."""
    return replace(
        unit,
        title=cell.caption,
        general=cell.view.general,
        facts=cell.view.facts,
        cells=(cell,),
        plates=(),
        lists=(),
    )


def noted(unit: Unit, notes: tuple[str, ...]) -> tuple[Listing, ...]:
    """A unit's lists, the last one with notes below it; a list of its own for a unit without."""
    if not notes or not unit.lists:
        return notes_apart(unit, notes)
    last = unit.lists[-1]
    return (*unit.lists[:-1], replace(last, notes=(*last.notes, *notes)))


def notes_apart(unit: Unit, notes: tuple[str, ...]) -> tuple[Listing, ...]:
    """A unit's lists, and its notes as one more."""
    if not notes:
        return unit.lists
    return (*unit.lists, Listing(title=f"To {unit.name}", heads=(), rows=(), notes=notes))


def as_view(block: Block) -> View:
    """A plate too large for a sheet, as a view that can be cut into tiles."""
    return View(
        drawing=block.drawing,
        box=Box(0.0, 0.0, block.width, block.height),
        marks=(),
        wanted=(),
        hard=(),
        lines=(),
        soft=(),
        title=block.drawing.name,
    )
