"""Which views share a sheet, how the paper lies, and where everything stands on it.

A unit is what belongs together: a view (or a tile of a large one), the plates to cut for it, its
list. Units that fit share a sheet; the way of laying the paper is the one that takes most of
them. Lists stand at the bottom, above or beside the title block; views share what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fit.draw.bench import Bench
from fit.draw.divide import divided
from fit.draw.drawing import Page
from fit.draw.furniture import Form, title_fits
from fit.draw.sheet import Sheet, drawn
from fit.draw.tables import Listing
from fit.draw.units import Cell as Cell
from fit.draw.units import Imprint as Imprint
from fit.draw.units import Unit as Unit
from fit.draw.units import names_of


class Composer:
    """Puts units on sheets of one paper."""

    def __init__(self, forms: Sequence[Form], imprint: Imprint) -> None:
        """Start with the ways the paper may lie and what every sheet says."""
        self._bench = Bench(forms, imprint)

    def pages(self, units: Sequence[Unit]) -> tuple[Page, ...]:
        """Draw units, in order as far as the paper allows; the first sheet lists all sheets."""
        parts = [part for unit in units for part in divided(self._bench, unit)]
        sheets = self._filled([part for part in parts if part.cells], [])
        # Lists and plates alone go wherever there is room, and only then on sheets of their own.
        apart = [part for part in parts if not part.cells]
        for part in [*apart]:
            for n, sheet in enumerate(sheets):
                fuller = self._with(sheet, part)
                if fuller is not None:
                    sheets[n] = fuller
                    apart.remove(part)
                    break
        sheets = self._filled(apart, sheets)
        if len(sheets) > 1:
            sheets = self._with_contents(sheets)
        return tuple(
            drawn(sheet, self._bench.heading(sheet, number, len(sheets)), number)
            for number, sheet in enumerate(sheets, start=1)
        )

    def takes(self, cell: Cell) -> bool:
        """Whether a view goes on one sheet, without lists and facts."""
        return self._bench.fits(Unit(name=cell.caption, title=cell.caption, cells=(cell,)))

    def _filled(self, waiting: Sequence[Unit], sheets: list[Sheet]) -> list[Sheet]:
        """The sheets so far and as many more as some units need."""
        while waiting:
            sheet = self._fullest(waiting)
            if sheet is None:
                raise ValueError(f"{waiting[0].title} goes on no sheet")
            sheets = [*sheets, sheet]
            done = {id(unit) for unit in sheet.units}
            waiting = [unit for unit in waiting if id(unit) not in done]
        return sheets

    def _with(self, sheet: Sheet, unit: Unit) -> Sheet | None:
        """A sheet with one more unit; the paper may lie another way then."""
        if unit.side is not sheet.units[0].side:
            return None
        tries = (self._bench.compose((*sheet.units, unit), on) for on in self._bench.forms)
        return next((found for found in tries if found is not None), None)

    def _fullest(self, waiting: Sequence[Unit]) -> Sheet | None:
        """The sheet that takes the first unit and as many of the others as possible."""
        best: tuple[tuple[int, float], Sheet] | None = None
        for on in self._bench.forms:
            sheet = self._bench.compose(waiting[:1], on)
            if sheet is None:
                continue
            for unit in waiting[1:]:
                if unit.side is sheet.units[0].side:
                    sheet = self._bench.compose((*sheet.units, unit), on) or sheet
            rank = (len(sheet.units), sum(c.window.width * c.window.height for c in sheet.cells))
            if best is None or rank > best[0]:
                best = (rank, sheet)
        return best[1] if best else None

    def _with_contents(self, sheets: list[Sheet]) -> list[Sheet]:
        """The sheets with a list of them all: on the first, else on the first that has room.

        It is a table, or a line in the title block; it never costs a sheet.
        """
        rows = [(str(n), ", ".join(names_of(s.units))) for n, s in enumerate(sheets, start=1)]
        table = Listing(title="Sheets", heads=("sheet", "shows"), rows=tuple(rows))
        line = "Sheets: " + "; ".join(f"{n} {names}" for n, names in rows) + "."
        for n, sheet in enumerate(sheets):
            for told in ((table, ()), (None, (line,))):
                for on in (sheet.form, *self._bench.forms):
                    found = self._bench.compose(sheet.units, on, *told)
                    if found is not None:
                        return [*sheets[:n], found, *sheets[n + 1 :]]
            shorter = self._told_elsewhere(sheet, sheets, line)
            if shorter is not None:
                return [*sheets[:n], shorter, *sheets[n + 1 :]]
        return sheets

    def _told_elsewhere(self, sheet: Sheet, sheets: list[Sheet], line: str) -> Sheet | None:
        """A sheet with one more line in its title block.

        What holds for other sheets and stands there gives way, as little as need be.
        """
        others = {fact for other in sheets if other is not sheet for fact in other.facts}
        general = [fact for unit in sheet.units for fact in unit.general if fact in others]
        for drop in range(len(general) + 1):
            facts = (line, *(fact for fact in sheet.facts if fact not in general[:drop]))
            heading = self._bench.imprint.heading(sheet.units, sheet.form, facts)
            if title_fits(sheet.form, heading):
                return replace(sheet, facts=facts)
        return None
