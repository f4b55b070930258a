"""One sheet: room for its views and lists, and how they are drawn there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from fit.draw import pens
from fit.draw.clip import clipped
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
from fit.draw.furniture import Form, Heading, furniture
from fit.draw.packing import Parcel, Pull, pack, spread
from fit.draw.tables import Block
from fit.draw.tiles import seams
from fit.draw.units import Cell, Unit, named
from fit.draw.view import words_of
from fit.trade.lettering import shorten, width

_SIDE_MORE = 28.0
"""What a view gets more left and right than it needs when there is room, mm."""
BAND: Final = 9.0
"""Least room for words above and below a view, mm."""
_BAND_MORE = 20.0
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


def arrange(
    units: Sequence[Unit],
    on: Form,
    facts: tuple[str, ...],
    choices: Sequence[tuple[Block, ...]],
    rooms: Sequence[Box],
) -> Sheet | None:
    """Units with their blocks on one sheet; None when they do not go there together."""
    found = _roomiest(units, on, choices, rooms)
    return None if found is None else _sheet(on, units, facts, found, choices)


def drawn(sheet: Sheet, heading: Heading, number: int) -> Page:
    """A sheet with its words and furniture."""
    on = sheet.form
    several = named(sheet.units)
    views = [
        _draw_cell(cell, room, named=several)
        for cell, room in zip(sheet.cells, sheet.rooms, strict=True)
    ]
    fixed = Positioned(drawing=furniture(on, heading), x=0.0, y=0.0)
    return Page(
        title=f"{number}  {heading.view}",
        width=on.width,
        height=on.height,
        drawings=(*views, *sheet.blocks, fixed),
        stretch=on.stretch,
    )


def _roomiest(
    units: Sequence[Unit], on: Form, choices: Sequence[tuple[Block, ...]], rooms: Sequence[Box]
) -> tuple[Box, ...] | None:
    """Places of cells and blocks with as much room round the cells as there is."""
    cells = [cell for unit in units for cell in unit.cells]
    found = None
    # The least room first: most things that do not go together fail there.
    for level in (*(() if len(cells) > 1 else (0.0,)), *_LEVELS[::-1]):
        above = [_wanting(cell, level, on.free, named=named(units)) for cell in cells]
        places = _arranged(above, choices, rooms)
        if places is None:
            break
        found = places
    return found


def _wanting(cell: Cell, level: float, free: Box, *, named: bool) -> Parcel:
    """The room a cell asks for at a level of generosity."""
    w, h = cell.window.width, cell.window.height
    side = cell.side + max(0.0, min(_SIDE_MORE * level, (free.width - w) / 2 - cell.side))
    band = BAND + _BAND_MORE * level
    across = w + 2 * side
    if named:
        across = max(across, min(free.width, width(cell.caption, pens.TITLE, True)))
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
    found: Sequence[Box],
    choices: Sequence[tuple[Block, ...]],
) -> Sheet:
    count = sum(len(unit.cells) for unit in units)
    cells, places = found[:count], found[count:]
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
        words = shorten(cell.caption, pens.TITLE, room.width, True)
        name = Text(at, words, pens.TITLE, Anchor.UPPER_LEFT, 0.0, True)
        hard.append(name.box().grown(0.5))
        sketch = Sketch("name")
        sketch.add(Operation.NOTE, name)
        parts.append(sketch.done())
    if tile is not None:
        drawing = clipped(drawing, tile.shown(_BEYOND))
        printed = [item_box(i).grown(0.3) for i in drawing.items() if isinstance(i, Text)]
        joins = seams(tile, printed)
        hard += [item_box(item).grown(0.5) for item in joins.items()]
        parts.append(joins)
    labels = words_of(
        replace(view, hard=tuple(hard)),
        room.moved(-dx, -dy),
        tile.window if tile else None,
        tile.shown(_MARKS) if tile else None,
    )
    return Positioned(drawing=merged(drawing, *parts, labels), x=dx, y=dy)
