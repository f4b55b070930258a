"""Blocks that stand on a sheet beside a view: lists of holes, filter plates to cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fit.draw import pens
from fit.draw.asked import Ends
from fit.draw.boards import numbered_holes
from fit.draw.cuts import Numbered, numbered
from fit.draw.drawing import Anchor, Box, Drawing, Line, Operation, Sketch, Text, rounded
from fit.draw.faces import openings_on
from fit.draw.grid import grid_words
from fit.draw.there import lettered
from fit.draw.view import Side
from fit.draw.waste import Shop
from fit.draw.words import count_words, purpose_words, step_words
from fit.geometry.box import Face
from fit.geometry.scene import Cut, FilterPlate, PlacedBoard, Scene
from fit.model.words import UPRIGHT, BoardStock, FaceName
from fit.trade.lettering import shorten, width, wrap
from fit.units import show

_PAD = 3.0
"""Space between two columns, mm."""
_LINE = 3.4
"""Height of a line in a list, mm."""
_ROW_AIR = 1.0
_NOTES = 84.0
"""Notes are set at least this wide where there is room, mm."""
_FROM = {Side.OUTSIDE: "", Side.INSIDE: " from INSIDE"}
_LEAST = 14.0
"""Columns are not made narrower than this, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Something to put on a sheet: drawn with its lower left corner at the origin, mm."""

    drawing: Drawing
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """A list before it is set: its title, the heads of its columns, its rows."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    """Lines under the table."""


def hole_list(
    scene: Scene, face: Face, side: Side = Side.OUTSIDE, ends: Ends = Ends.CHAIN
) -> Listing:
    """Every opening of a face: number, part, size, passes, where it lies as seen from a side.

    After those to cut, with letters, the holes that are there already.
    """
    shop = Shop.of(scene.build.drawer, ends)
    upright = face.name in UPRIGHT
    mirror = -1.0 if side is Side.INSIDE else 1.0
    rim = (face.inner if side is Side.INSIDE else face.outline)[2][1]
    rows = tuple(
        (
            str(group.number),
            purpose_words(group.opening),
            count_words(group),
            step_words(group.opening, shop),
            _beside_centre(mirror * group.middle[0]),
            _below_rim(group, rim) if upright else _along(group.middle[1]),
        )
        for group in numbered(openings_on(scene, face.name))
    )
    rows += tuple(
        (
            one.letter,
            one.title,
            one.size,
            one.how,
            _beside_centre(mirror * one.opening.across),
            show(rim - one.opening.up, 1) if upright else _along(one.opening.up),
        )
        for one in lettered(scene, face.name)
    )
    last = "below rim" if upright else "from cross line"
    heads = ("no.", "part", "size", "how", "from centre line", last)
    return Listing(
        title=f"Openings in {face.name.value.upper()}{_FROM[side]}",
        heads=heads,
        rows=rows,
    )


def _beside_centre(across: float) -> str:
    if abs(across) < 0.05:
        return "on it"
    return f"{show(abs(across), 1)} {'right' if across > 0 else 'left'}"


def _along(up: float) -> str:
    if abs(up) < 0.05:
        return "on it"
    return f"{show(abs(up), 1)} to {'BACK' if up > 0 else 'FRONT'}"


def _below_rim(group: Numbered, rim: float) -> str:
    """From the rim, at that height, to the middle of an opening, along the wall."""
    if group.opening.cut is Cut.RIM_SLOT:
        return f"{show(group.opening.height, 1)} deep"
    return show(rim - group.middle[1], 1)


def board_list(placed: PlacedBoard) -> Listing:
    """Every hole of a board: number, purpose, size, and where it lies."""
    on_grid = placed.board.stock is not BoardStock.PLAIN
    rows: list[tuple[str, ...]] = []
    for number, hole in numbered_holes(placed):
        row = (str(number), hole.purpose, f"open to Ø{show(hole.diameter)}")
        place = (show(hole.x, 1), show(hole.y, 1))
        if on_grid:
            grid = (grid_words(hole.x, "column"), grid_words(hole.y, "row"))
            rows.append((*row, *grid, *place))
        else:
            rows.append((*row, *place))
    grid_heads = ("column", "row") if on_grid else ()
    heads = ("no.", "for", "size", *grid_heads, "from left", "from below")
    return Listing(title=f"Holes in {placed.name}", heads=heads, rows=tuple(rows))


def set_list(listing: Listing, room: float, tallest: float) -> tuple[Block, ...]:
    """Set a list in a given width, mm; broken into several blocks when it is too tall.

    The widest columns give way first and break their words over several lines. Notes stand below
    the last row. Nothing when there are neither rows nor notes.
    """
    if not listing.rows and not listing.notes:
        return ()
    widths = _widths(listing, room) if listing.rows else []
    titled = min(room, width(listing.title, pens.TEXT, True))
    full = max(sum(widths), titled, min(room, _NOTES) if listing.notes else 0.0)
    notes = [line for note in listing.notes for line in wrap(note, pens.SMALL, full - 1.0)]
    head = _cells(listing.heads, widths, True) if listing.rows else []
    blocks: list[_Setting] = [_Setting(listing.title, full, widths, head)]
    for row in (_cells(row, widths) for row in listing.rows):
        if blocks[-1].rows and blocks[-1].height + _height(row) > tallest:
            blocks.append(_Setting(listing.title, full, widths, head))
        blocks[-1].rows.append(row)
    for line in notes:
        if blocks[-1].height + _LINE + _ROW_AIR > tallest:
            blocks.append(_Setting(listing.title, full, [], []))
        blocks[-1].notes.append(line)
    return tuple(block.done() for block in blocks)


@dataclass(slots=True)
class _Setting:
    """A block being set: cells are lists of lines."""

    title: str
    width: float
    widths: list[float]
    head: list[list[str]]
    rows: list[list[list[str]]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def height(self) -> float:
        """What it takes so far, mm."""
        table = sum(_height(row) for row in ([self.head, *self.rows] if self.rows else []))
        return 5.0 + table + (len(self.notes) * _LINE + _ROW_AIR if self.notes else 0.0)

    def done(self) -> Block:
        """The block, drawn."""
        sketch = Sketch(self.title)
        height = self.height
        title = shorten(self.title, pens.TEXT, self.width, True)
        sketch.add(Operation.FRAME, Text((0.0, height - 3.0), title, pens.TEXT, bold=True))
        y = height - 5.0
        if self.rows:
            y = self._table(sketch, y)
        for line in self.notes:
            y -= _LINE
            sketch.add(Operation.FRAME, Text((0.5, y + 0.7 - 0.3), line, pens.SMALL))
        return Block(drawing=sketch.done(), width=self.width, height=height)

    def _table(self, sketch: Sketch, y: float) -> float:
        """Draw head and rows from a height down; gives the height of the last rule."""
        across = sum(self.widths)
        for n, row in enumerate([self.head, *self.rows]):
            pen = pens.RULE if n < 2 else pens.LEADER
            sketch.add(Operation.FRAME, Line((0.0, y), (across, y), pen))
            x = 0.0
            for lines, column in zip(row, self.widths, strict=True):
                for k, words in enumerate(lines):
                    at = (x + 0.5, y - (k + 1) * _LINE + 0.7)
                    sketch.add(Operation.FRAME, Text(at, words, pens.SMALL, bold=n == 0))
                x += column
            y -= _height(row)
        sketch.add(Operation.FRAME, Line((0.0, y), (across, y), pens.RULE))
        return y


def _widths(listing: Listing, room: float) -> list[float]:
    """Column widths within a room; none narrower than its longest word, the widest give way."""
    lines = [listing.heads, *listing.rows]
    columns = range(len(listing.heads))
    widths, least = [], []
    for n in columns:
        cells = [(line[n], line is listing.heads) for line in lines]
        widths.append(max(width(words, pens.SMALL, bold) for words, bold in cells) + _PAD)
        longest = [width(w, pens.SMALL, bold) for words, bold in cells for w in words.split()]
        least.append(min(widths[-1], max([_LEAST - _PAD, *longest]) + _PAD))
    while sum(widths) > room:
        loose = [n for n in columns if widths[n] > least[n] + 1e-9]
        if not loose:
            break
        widest = max(loose, key=lambda n: widths[n])
        widths[widest] = max(least[widest], widths[widest] - 1.0)
    return widths


def _cells(row: Sequence[str], widths: Sequence[float], bold: bool = False) -> list[list[str]]:
    return [
        [
            shorten(line, pens.SMALL, room - _PAD / 2, bold)
            for line in wrap(words, pens.SMALL, room - _PAD / 2, bold)
        ]
        for words, room in zip(row, widths, strict=True)
    ]


def _height(cells: Sequence[Sequence[str]]) -> float:
    return max(1, *(len(lines) for lines in cells)) * _LINE + _ROW_AIR


def joined(listings: Sequence[Listing]) -> tuple[Listing, ...]:
    """Lists with the same heads as one, each row saying which list it comes from."""
    by_heads: dict[tuple[str, ...], list[Listing]] = {}
    for listing in listings:
        by_heads.setdefault(listing.heads, []).append(listing)
    return tuple(_one_list(heads, same) for heads, same in by_heads.items())


def _one_list(heads: tuple[str, ...], same: Sequence[Listing]) -> Listing:
    if len(same) == 1 or not heads:
        return same[0]
    words = [listing.title.partition(" in ") for listing in same]
    # The notes of a sheet round the box say of themselves which face they are about.
    said = tuple(f"{where}: " for _, _, where in words)
    return Listing(
        title=words[0][0],
        heads=("in", *heads),
        rows=tuple(
            (where, *row)
            for listing, (_, _, where) in zip(same, words, strict=True)
            for row in listing.rows
        ),
        notes=tuple(
            note if note.startswith(said) else f"{where}: {note}"
            for listing, (_, _, where) in zip(same, words, strict=True)
            for note in listing.notes
        ),
    )


def plate_blocks(scene: Scene, face: FaceName) -> tuple[tuple[Block, ...], ...]:
    """The filter plates of a face's windows at 1:1, each lying and standing."""
    return tuple(
        (_plate(plate, standing=False), _plate(plate, standing=True))
        for plate in scene.plates
        if plate.part in scene.placed and scene.placed[plate.part].face is face
    )


def _plate(plate: FilterPlate, *, standing: bool) -> Block:
    """A plate with its size in words, within it when they have room there."""
    sketch = Sketch(f"filter plate of {plate.part}")
    w, h = (plate.height, plate.width) if standing else (plate.width, plate.height)
    sketch.add(Operation.CUT, rounded(Box(0.0, 0.0, w, h), 0.0, pens.CUT))
    size = f"{show(plate.width)} × {show(plate.height)}, {show(plate.thickness)} thick"
    words = (f"Filter plate of {plate.part}", size)
    widest = max(width(line, pens.SMALL, n == 0) for n, line in enumerate(words))
    if widest + 3.0 <= plate.width and plate.height >= 2 * _LINE + 2.0:
        for n, line in enumerate(words):
            away = (0.5 - n) * _LINE
            at = (w / 2 - away, h / 2) if standing else (w / 2, h / 2 + away)
            turn = 90.0 if standing else 0.0
            text = Text(at, line, pens.SMALL, Anchor.MIDDLE, turn, n == 0)
            sketch.add(Operation.NOTE, text)
        return Block(drawing=sketch.done(), width=w, height=h)
    for n, line in enumerate(words):
        at = (0.0, h + 5.2 - n * _LINE)
        sketch.add(Operation.NOTE, Text(at, line, pens.SMALL, bold=n == 0))
    return Block(drawing=sketch.done(), width=max(w, widest), height=h + 7.8)
