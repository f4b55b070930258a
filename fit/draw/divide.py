"""Cutting what goes on no sheet as a whole into units that do: lists apart, views in tiles."""

from __future__ import annotations

from dataclasses import replace

from fit.draw.bench import Bench
from fit.draw.furniture import Form
from fit.draw.sheet import BAND
from fit.draw.tables import Block, Listing
from fit.draw.tiles import Tile, tiles
from fit.draw.units import SIDE, Cell, Unit, alone, as_view, noted
from fit.draw.view import View


def divided(bench: Bench, unit: Unit) -> tuple[Unit, ...]:
    """A unit as units each of which goes on one sheet: its lists apart, or in tiles."""
    if bench.fits(unit):
        return (unit,)
    if unit.instead:
        return tuple(part for one in unit.instead for part in divided(bench, one))
    if len(unit.cells) > 1:
        # One view after the other; what belongs to them goes with the first.
        singly = [alone(unit, cell) for cell in unit.cells]
        singly[0] = replace(singly[0], plates=unit.plates, lists=unit.lists)
        return tuple(part for one in singly for part in divided(bench, one))
    for beside in (replace(unit, lists=()), replace(unit, plates=())):
        if bench.fits(beside):
            return (beside, *_apart(bench, unit, beside))
    bare, left = _with_few_facts(bench, replace(unit, lists=(), plates=()))
    if bench.fits(bare):
        return (bare, *_apart(bench, replace(unit, lists=noted(unit, left)), bare))
    return _in_tiles(bench, unit, unit.cells[0].view)


def _with_few_facts(bench: Bench, unit: Unit) -> tuple[Unit, tuple[str, ...]]:
    """A unit with no more facts than go on its sheet, and the facts left over."""
    lines = (*unit.facts, *unit.general)
    for keep in range(len(lines), -1, -1):
        facts, general = unit.facts[:keep], unit.general[: max(0, keep - len(unit.facts))]
        fewer = replace(unit, facts=facts, general=general)
        if bench.fits(fewer):
            return fewer, lines[keep:]
    return unit, ()


def _apart(bench: Bench, unit: Unit, beside: Unit) -> tuple[Unit, ...]:
    """What does not go beside a view, each piece as a unit of its own."""
    title = f"{unit.name}, lists and plates"
    rest = replace(unit, cells=(), general=(), facts=(), title=title)
    units = []
    if not beside.plates:
        for ways in unit.plates:
            alone = replace(rest, plates=(ways,), lists=())
            if bench.fits(alone):
                units.append(alone)
            else:
                units += _in_tiles(bench, replace(alone, plates=()), as_view(ways[0]))
    if not beside.lists:
        for listing in unit.lists:
            alone = replace(rest, plates=(), lists=(listing,))
            if bench.fits(alone):
                units.append(alone)
            else:
                blocks = _narrowest(bench, listing)
                units += [replace(rest, plates=((b,),), lists=()) for b in blocks]
    return tuple(units)


def _narrowest(bench: Bench, listing: Listing) -> tuple[Block, ...]:
    """A list set for the form that takes it in the fewest blocks."""
    found = [bench.setting(listing, on.free.width, on.free.height) for on in bench.forms]
    fitting = [
        blocks
        for blocks, on in zip(found, bench.forms, strict=True)
        if all(block.width <= on.free.width + 1e-6 for block in blocks)
    ]
    return min(fitting or found, key=len)


def _in_tiles(bench: Bench, unit: Unit, view: View) -> tuple[Unit, ...]:
    cut = min((_tiles_on(view, on) for on in bench.forms), key=len)
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
        part, over = _with_few_facts(bench, part)
        parts.append(part)
        left += [fact for fact in over if fact not in left]
    lists = noted(unit, tuple(left))
    whole = replace(parts[-1], plates=unit.plates, lists=lists)
    if bench.fits(whole):
        return (*parts[:-1], whole)
    return (*parts, *_apart(bench, replace(unit, lists=lists), parts[-1]))


def _tiles_on(view: View, on: Form) -> tuple[Tile, ...]:
    widest, tallest = on.free.width - 2 * SIDE, on.free.height - 2 * BAND
    return tiles(view.box, widest, tallest)
