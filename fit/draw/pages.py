"""Which views share a sheet, how the paper lies, and where everything stands on it.

A unit is what belongs together: a view (or a tile of a large one), the plates to cut for it, its
list. Units that fit share a sheet; the way of laying the paper is the one that takes most of
them. Lists stand at the bottom, above or beside the title block; views share what is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

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
from fit.draw.lettering import width
from fit.draw.packing import Parcel, Pull, pack, spread
from fit.draw.tables import Block, Listing, joined, set_list
from fit.draw.tiles import Tile, seams, tiles
from fit.draw.view import Side, View, words_of

_SIDE, _SIDE_MORE = 8.0, 28.0
"""Least room for words left and right of a view, and what it gets more when there is room, mm."""
_BAND, _BAND_MORE = 9.0, 20.0
"""The same above and below it."""
_LEVELS = (1.0, 0.75, 0.5, 0.3, 0.15)
"""Shares of the additional room that are tried; views that share a sheet need the last."""
_CAPTION = 6.0
"""Height kept for a view's name where several share a sheet, mm."""
_GAP = 5.0
"""Between things on a sheet, mm."""
_BEYOND = 8.0
"""How far a tile shows what lies past the edge of its view, mm."""
_MARKS = 25.0
"""How far past the edge of its view a tile may carry the names of edges, mm."""


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
    side: float = _SIDE

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
        names = _names(units)
        title = units[0].title if len(names) == 1 else ", ".join(names)
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
            done = {id(unit) for unit in sheet.units}
            waiting = [unit for unit in waiting if id(unit) not in done]
        if len(sheets) > 1:
            sheets = self._with_contents(sheets)
        return tuple(
            self._drawn(sheet, number, len(sheets)) for number, sheet in enumerate(sheets, start=1)
        )

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
            singly = [_alone(unit, cell) for cell in unit.cells]
            singly[0] = replace(singly[0], plates=unit.plates, lists=unit.lists)
            return tuple(part for one in singly for part in self._parts(one))
        for beside in (replace(unit, lists=()), replace(unit, plates=())):
            if self._fits(beside):
                return (beside, *self._apart(unit, beside))
        bare, left = self._with_few_facts(replace(unit, lists=(), plates=()))
        if self._fits(bare):
            return (bare, *self._apart(replace(unit, lists=_noted(unit, left)), bare))
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
                    units += self._in_tiles(replace(alone, plates=()), _as_view(ways[0]))
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
        lists = _noted(unit, tuple(left))
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

    def _compose(
        self, units: Sequence[Unit], on: Form, contents: Listing | None = None
    ) -> Sheet | None:
        """Put units on one sheet; None when they do not go there together."""
        on, rooms = narrowed(on)
        facts, lists = self._told(units, on)
        if contents is not None:
            lists = (*lists, contents)
        cells = [cell for unit in units for cell in unit.cells]
        choices = [ways for unit in units for ways in unit.plates]
        choices += [c for listing in joined(lists) for c in self._choices(listing, on, rooms)]
        found = None
        # The least room first: most things that do not go together fail there.
        for level in (*(() if len(cells) > 1 else (0.0,)), *_LEVELS[::-1]):
            above = [_wanting(cell, level, on.free, named=len(cells) > 1) for cell in cells]
            places = _arranged(above, choices, rooms)
            if places is None:
                break
            found = places
        if found is None:
            return None
        return _sheet(on, units, facts, found[: len(cells)], choices, found[len(cells) :])

    def _told(self, units: Sequence[Unit], on: Form) -> tuple[tuple[str, ...], tuple[Listing, ...]]:
        """The facts that go into the title block, and the lists with the others as notes.

        What holds for the whole sheet comes first; what belongs to one of several views names it.
        """
        shown: dict[str, tuple[Unit, str]] = {}
        alone = len(_names(units)) == 1
        for unit in units:
            shown |= {fact: (unit, fact) for fact in unit.general}
        for unit in units:
            for fact in unit.facts:
                line = fact if alone else f"{unit.name}: {fact}"
                shown.setdefault(line, (unit, fact))
        lines = list(shown)
        fit = len(lines)
        while fit and not title_fits(on, self.imprint.heading(units, on, lines[:fit])):
            fit -= 1
        lists: list[Listing] = []
        for unit in units:
            lists += _noted(unit, tuple(shown[n][1] for n in lines[fit:] if shown[n][0] is unit))
        return tuple(lines[:fit]), tuple(lists)

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

        It is a table, or on the first sheet a line in the title block; it never costs a sheet.
        """
        rows = [(str(n), ", ".join(_names(s.units))) for n, s in enumerate(sheets, start=1)]
        table = Listing(title="Sheets", heads=("sheet", "shows"), rows=tuple(rows))
        line = "Sheets: " + "; ".join(f"{n} {names}" for n, names in rows) + "."
        for n, sheet in enumerate(sheets):
            for on in (sheet.form, *self.forms):
                found = self._compose(sheet.units, on, table)
                if found is not None:
                    return [*sheets[:n], found, *sheets[n + 1 :]]
            # What other sheets say as well gives way.
            elsewhere = {f for other in sheets if other is not sheet for f in other.facts}
            for facts in (sheet.facts, tuple(f for f in sheet.facts if f not in elsewhere)):
                heading = self.imprint.heading(sheet.units, sheet.form, (line, *facts))
                if title_fits(sheet.form, heading):
                    told = replace(sheet, facts=(line, *facts))
                    return [*sheets[:n], told, *sheets[n + 1 :]]
        return sheets

    def _drawn(self, sheet: Sheet, number: int, of: int) -> Page:
        """A sheet with its words and furniture."""
        on = sheet.form
        heading = self.imprint.heading(sheet.units, on, sheet.facts, number, of)
        named = len(sheet.cells) > 1
        drawn = [
            _draw_cell(cell, room, named=named)
            for cell, room in zip(sheet.cells, sheet.rooms, strict=True)
        ]
        fixed = Positioned(drawing=furniture(on, heading), x=0.0, y=0.0)
        return Page(
            title=f"{number}  {heading.view}",
            width=on.width,
            height=on.height,
            drawings=(*drawn, *sheet.blocks, fixed),
            stretch=on.stretch,
        )


def _alone(unit: Unit, cell: Cell) -> Unit:
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


def _noted(unit: Unit, notes: tuple[str, ...]) -> tuple[Listing, ...]:
    """A unit's lists, the last one with notes below it; a list of its own for a unit without."""
    if not notes:
        return unit.lists
    if not unit.lists:
        return (Listing(title=f"To {unit.name}", heads=(), rows=(), notes=notes),)
    last = unit.lists[-1]
    return (*unit.lists[:-1], replace(last, notes=(*last.notes, *notes)))


def _wanting(cell: Cell, level: float, free: Box, *, named: bool) -> Parcel:
    """The room a cell asks for at a level of generosity."""
    w, h = cell.window.width, cell.window.height
    side = cell.side + max(0.0, min(_SIDE_MORE * level, (free.width - w) / 2 - cell.side))
    band = _BAND + _BAND_MORE * level
    across = max(w + 2 * side, width(cell.caption, pens.TITLE, True)) if named else w + 2 * side
    size = (across, h + 2 * band + (_CAPTION if named else 0.0))
    return Parcel(sizes=(size,), pull=Pull.TOP)


def _arranged(
    above: Sequence[Parcel], choices: Sequence[tuple[Block, ...]], rooms: Sequence[Box]
) -> tuple[Box, ...] | None:
    """Places of cells and blocks, in that order: the first of some ways of trying that works."""
    for turned in (False, True):
        below = [
            Parcel(
                sizes=tuple((b.width, b.height) for b in (choice[::-1] if turned else choice)),
                pull=Pull.BOTTOM,
            )
            for choice in choices
        ]
        # From the bottom upwards, so that the first block stands highest, nearest to the views.
        places = pack([*below[::-1], *above], rooms, _GAP)
        if places is not None:
            return (*places[len(below) :], *places[: len(below)][::-1])
        places = pack([*above, *below[::-1]], rooms, _GAP)
        if places is not None:
            return (*places[: len(above)], *places[len(above) :][::-1])
    return None


def _sheet(
    on: Form,
    units: Sequence[Unit],
    facts: tuple[str, ...],
    cells: Sequence[Box],
    choices: Sequence[tuple[Block, ...]],
    places: Sequence[Box],
) -> Sheet:
    blocks = []
    for choice, box in zip(choices, places, strict=True):
        block = next(b for b in choice if _same_size(b, box))
        blocks.append(Positioned(drawing=block.drawing, x=box.x0, y=box.y0))
    return Sheet(
        form=on,
        units=tuple(units),
        facts=facts,
        rooms=spread(cells, places, on.free, _GAP),
        blocks=tuple(blocks),
    )


def _same_size(block: Block, box: Box) -> bool:
    return abs(block.width - box.width) < 1e-6 and abs(block.height - box.height) < 1e-6


def _draw_cell(cell: Cell, room: Box, *, named: bool) -> Positioned:
    """A view in the middle of its room, with its words."""
    below_name = Box(room.x0, room.y0, room.x1, room.y1 - (_CAPTION if named else 0.0))
    dx = below_name.middle[0] - cell.window.middle[0]
    dy = below_name.middle[1] - cell.window.middle[1]
    parts = []
    view, tile = cell.view, cell.tile
    drawing = view.drawing
    hard = list(view.hard)
    if named:
        at = (room.x0 - dx, room.y1 - dy)
        name = Text(at, cell.caption, pens.TITLE, Anchor.UPPER_LEFT, 0.0, True)
        hard.append(name.box().grown(0.5))
        sketch = Sketch("name")
        sketch.add(Operation.NOTE, name)
        parts.append(sketch.done())
    if tile is not None:
        drawing = clipped(drawing, tile.shown(_BEYOND))
        joins = seams(tile)
        hard += [item_box(item).grown(0.5) for item in joins.items()]
        parts.append(joins)
    words = words_of(
        replace(view, hard=tuple(hard)),
        room.moved(-dx, -dy),
        tile.window if tile else None,
        tile.shown(_MARKS) if tile else None,
    )
    return Positioned(drawing=merged(drawing, *parts, words), x=dx, y=dy)


def _tiles_on(view: View, on: Form) -> tuple[Tile, ...]:
    widest, tallest = on.free.width - 2 * _SIDE, on.free.height - 2 * _BAND
    return tiles(view.box, widest, tallest)


def _as_view(block: Block) -> View:
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
