"""Which views share a sheet, how the paper lies, and where everything stands on it.

A unit is what belongs together: a view (or a tile of a large one), the plates to cut for it, its
list. Units that fit share a sheet; the way of laying the paper is the one that takes most of
them. Lists stand at the bottom, above or beside the title block; views share what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from fit.draw.drawing import Box, Page
from fit.draw.furniture import Form, Heading, narrowed, title_fits
from fit.draw.sheet import BAND, Sheet, arrange, drawn
from fit.draw.tables import Block, Listing, joined, set_list
from fit.draw.tiles import Tile, tiles
from fit.draw.units import SIDE, alone, as_view, names_of, noted, notes_apart
from fit.draw.units import Cell as Cell
from fit.draw.units import Imprint as Imprint
from fit.draw.units import Unit as Unit
from fit.draw.view import View


@dataclass(slots=True)
class Composer:
    """Puts units on sheets of one paper."""

    forms: Sequence[Form]
    imprint: Imprint
    _set: dict[tuple[Listing, float, float], tuple[Block, ...]] = field(default_factory=dict)

    def pages(self, units: Sequence[Unit]) -> tuple[Page, ...]:
        """Draw units, in order as far as the paper allows; the first sheet lists all sheets."""
        parts = [part for unit in units for part in self._parts(unit)]
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
            drawn(sheet, self._heading(sheet, number, len(sheets)), number)
            for number, sheet in enumerate(sheets, start=1)
        )

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
        tries = (self._compose((*sheet.units, unit), on) for on in self.forms)
        return next((found for found in tries if found is not None), None)

    def _heading(self, sheet: Sheet, number: int, of: int) -> Heading:
        return self.imprint.heading(sheet.units, sheet.form, sheet.facts, number, of)

    def takes(self, cell: Cell) -> bool:
        """Whether a view goes on one sheet, without lists and facts."""
        return self._fits(Unit(name=cell.caption, title=cell.caption, cells=(cell,)))

    def _parts(self, unit: Unit) -> tuple[Unit, ...]:
        """A unit as units each of which goes on one sheet: its lists apart, or in tiles."""
        if self._fits(unit):
            return (unit,)
        if unit.instead:
            return tuple(part for one in unit.instead for part in self._parts(one))
        if len(unit.cells) > 1:
            # One view after the other; what belongs to them goes with the first.
            singly = [alone(unit, cell) for cell in unit.cells]
            singly[0] = replace(singly[0], plates=unit.plates, lists=unit.lists)
            return tuple(part for one in singly for part in self._parts(one))
        for beside in (replace(unit, lists=()), replace(unit, plates=())):
            if self._fits(beside):
                return (beside, *self._apart(unit, beside))
        bare, left = self._with_few_facts(replace(unit, lists=(), plates=()))
        if self._fits(bare):
            return (bare, *self._apart(replace(unit, lists=noted(unit, left)), bare))
        return self._in_tiles(unit, unit.cells[0].view)

    def _fits(self, unit: Unit) -> bool:
        return any(self._compose((unit,), on) for on in self.forms)

    def _with_few_facts(self, unit: Unit) -> tuple[Unit, tuple[str, ...]]:
        """A unit with no more facts than go on its sheet, and the facts left over."""
        lines = (*unit.facts, *unit.general)
        for keep in range(len(lines), -1, -1):
            facts, general = unit.facts[:keep], unit.general[: max(0, keep - len(unit.facts))]
            fewer = replace(unit, facts=facts, general=general)
            if self._fits(fewer):
                return fewer, lines[keep:]
        return unit, ()

    def _apart(self, unit: Unit, beside: Unit) -> tuple[Unit, ...]:
        """What does not go beside a view, each piece as a unit of its own."""
        title = f"{unit.name}, lists and plates"
        rest = replace(unit, cells=(), general=(), facts=(), title=title)
        units = []
        if not beside.plates:
            for ways in unit.plates:
                alone = replace(rest, plates=(ways,), lists=())
                if self._fits(alone):
                    units.append(alone)
                else:
                    units += self._in_tiles(replace(alone, plates=()), as_view(ways[0]))
        if not beside.lists:
            for listing in unit.lists:
                alone = replace(rest, plates=(), lists=(listing,))
                if self._fits(alone):
                    units.append(alone)
                else:
                    blocks = self._narrowest(listing)
                    units += [replace(rest, plates=((b,),), lists=()) for b in blocks]
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
        parts, left = [], []
        for tile in cut:
            facts = (
                f"Column {tile.column + 1} of {tile.columns} from the left, "
                f"row {tile.row + 1} of {tile.rows} from below.",
                "Cut along a seam, lay its crosses on those of the same letter, tape.",
            )
            cell = Cell(view=view, window=tile.window, tile=tile)
            part = replace(
                unit,
                name=f"{unit.name}, tile {tile.number} of {tile.count}",
                title=cell.caption,
                facts=(*facts, *unit.facts),
                cells=(cell,),
                plates=(),
                lists=(),
            )
            part, over = self._with_few_facts(part)
            parts.append(part)
            left += [fact for fact in over if fact not in left]
        lists = noted(unit, tuple(left))
        whole = replace(parts[-1], plates=unit.plates, lists=lists)
        if self._fits(whole):
            return (*parts[:-1], whole)
        return (*parts, *self._apart(replace(unit, lists=lists), parts[-1]))

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

    def _told_elsewhere(self, sheet: Sheet, sheets: list[Sheet], line: str) -> Sheet | None:
        """A sheet with one more line in its title block.

        What holds for other sheets and stands there gives way, as little as need be.
        """
        others = {fact for other in sheets if other is not sheet for fact in other.facts}
        general = [fact for unit in sheet.units for fact in unit.general if fact in others]
        for drop in range(len(general) + 1):
            facts = (line, *(fact for fact in sheet.facts if fact not in general[:drop]))
            heading = self.imprint.heading(sheet.units, sheet.form, facts)
            if title_fits(sheet.form, heading):
                return replace(sheet, facts=facts)
        return None

    def _compose(
        self,
        units: Sequence[Unit],
        on: Form,
        contents: Listing | None = None,
        first: tuple[str, ...] = (),
    ) -> Sheet | None:
        """Put units on one sheet; None when they do not go there together.

        Lists with the same heads are joined, and notes stand below them, unless there is only
        room for them apart.
        """
        on, rooms = narrowed(on)
        facts, left = self._told(units, on, first)
        pairs = list(zip(units, left, strict=True))
        below = [listing for unit, more in pairs for listing in noted(unit, more)]
        apart = [listing for unit, more in pairs for listing in notes_apart(unit, more)]
        ways = (joined(below), joined(apart), tuple(apart))
        for lists in dict.fromkeys(ways):
            lists = (*((contents,) if contents else ()), *lists)
            choices = [plate for unit in units for plate in unit.plates]
            choices += [c for listing in lists for c in self._choices(listing, on, rooms)]
            sheet = arrange(units, on, facts, choices, rooms)
            if sheet is not None:
                return sheet
        return None

    def _told(
        self, units: Sequence[Unit], on: Form, first: tuple[str, ...]
    ) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
        """The facts that go into the title block, and for each unit those that do not.

        What holds for the whole sheet comes first; what belongs to one of several views names it.
        """
        shown: dict[str, tuple[Unit, str]] = {line: (units[0], line) for line in first}
        single = len(names_of(units)) == 1
        for unit in units:
            shown |= {fact: (unit, fact) for fact in unit.general}
        for unit in units:
            for fact in unit.facts:
                line = fact if single else f"{unit.name}: {fact}"
                shown.setdefault(line, (unit, fact))
        lines = list(shown)
        fit = len(lines)
        while fit and not title_fits(on, self.imprint.heading(units, on, lines[:fit])):
            fit -= 1
        left = tuple(
            tuple(shown[line][1] for line in lines[fit:] if shown[line][0] is unit)
            for unit in units
        )
        return tuple(lines[:fit]), left

    def _choices(self, listing: Listing, on: Form, rooms: Sequence[Box]) -> list[tuple[Block, ...]]:
        """The blocks of a list, each with the ways of setting it, the widest first."""
        wide = self._setting(listing, on.free.width, on.free.height)
        if len(wide) != 1:
            return [(block,) for block in wide]
        found = [wide[0]]
        for room in sorted(rooms, key=lambda r: -r.width):
            narrow = self._setting(listing, room.width, room.height)
            if len(narrow) == 1 and narrow[0].width < found[-1].width - 1.0:
                found.append(narrow[0])
        return [tuple(found)]

    def _setting(self, listing: Listing, room: float, tallest: float) -> tuple[Block, ...]:
        key = (listing, room, tallest)
        if key not in self._set:
            self._set[key] = set_list(listing, room, tallest)
        return self._set[key]

    def _with_contents(self, sheets: list[Sheet]) -> list[Sheet]:
        """The sheets with a list of them all: on the first, else on the first that has room.

        It is a table, or a line in the title block; it never costs a sheet.
        """
        rows = [(str(n), ", ".join(names_of(s.units))) for n, s in enumerate(sheets, start=1)]
        table = Listing(title="Sheets", heads=("sheet", "shows"), rows=tuple(rows))
        line = "Sheets: " + "; ".join(f"{n} {names}" for n, names in rows) + "."
        for n, sheet in enumerate(sheets):
            for told in ((table, ()), (None, (line,))):
                for on in (sheet.form, *self.forms):
                    found = self._compose(sheet.units, on, *told)
                    if found is not None:
                        return [*sheets[:n], found, *sheets[n + 1 :]]
            shorter = self._told_elsewhere(sheet, sheets, line)
            if shorter is not None:
                return [*sheets[:n], shorter, *sheets[n + 1 :]]
        return sheets


def _tiles_on(view: View, on: Form) -> tuple[Tile, ...]:
    widest, tallest = on.free.width - 2 * SIDE, on.free.height - 2 * BAND
    return tiles(view.box, widest, tallest)
