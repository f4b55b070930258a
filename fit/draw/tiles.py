"""Faces and boards larger than the paper: cut into tiles that overlap, with marks to join them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Circle, Drawing, Line, Operation, Point, Sketch, Text

OVERLAP: Final = 10.0
"""How much two neighbouring sheets show alike, mm."""

_RING = 1.6
_ARM = 2.8
_OUT = 5.0
"""Distance of the crosses from the window, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One part of a view.

    Attributes:
        column, row: counted from the lower left, from 0.
        columns, rows: how many there are.
        window: the part shown, mm in the view; neighbours overlap.
    """

    column: int
    row: int
    columns: int
    rows: int
    window: Box

    @property
    def number(self) -> int:
        """Counted from 1: from left to right, lowest row first."""
        return self.row * self.columns + self.column + 1

    @property
    def count(self) -> int:
        """How many tiles there are."""
        return self.columns * self.rows

    def shown(self, beyond: float) -> Box:
        """The window, reaching out by ``beyond`` mm where the view ends."""
        box = self.window
        return Box(
            box.x0 - (beyond if self.column == 0 else 0.0),
            box.y0 - (beyond if self.row == 0 else 0.0),
            box.x1 + (beyond if self.column == self.columns - 1 else 0.0),
            box.y1 + (beyond if self.row == self.rows - 1 else 0.0),
        )


def tiles(whole: Box, widest: float, tallest: float) -> tuple[Tile, ...]:
    """Cut a view's room into as few equal windows as fit, each sharing 10 mm with the next."""
    columns, across = _share(whole.width, widest)
    rows, up = _share(whole.height, tallest)
    return tuple(
        Tile(
            column=i,
            row=j,
            columns=columns,
            rows=rows,
            window=Box(
                whole.x0 + i * (across - OVERLAP),
                whole.y0 + j * (up - OVERLAP),
                whole.x0 + i * (across - OVERLAP) + across,
                whole.y0 + j * (up - OVERLAP) + up,
            ),
        )
        for j in range(rows)
        for i in range(columns)
    )


def _share(length: float, most: float) -> tuple[int, float]:
    if length <= most:
        return 1, length
    count = math.ceil((length - OVERLAP) / (most - OVERLAP) - 1e-9)
    return count, (length + (count - 1) * OVERLAP) / count


def seams(tile: Tile, taken: Sequence[Box] = ()) -> Drawing:
    """The seams of a tile: a line along the middle of each overlap, a cross at both its ends.

    The same seam has the same name and its crosses the same places on both sheets. The name
    stands beside its cross, clear of what is taken where it can be.
    """
    sketch = Sketch("seams")
    for name, a, b in _seam_lines(tile):
        sketch.add(Operation.MARK, Line(a, b, pens.CENTRE))
        for at in (a, b):
            sketch.add(Operation.MARK, *_cross(at))
        for at in (a, b):
            places = list(_beside(name, at, _direction(b if at == a else a, at)))
            free = (t for t in places if not any(t.box().meets(box) for box in taken))
            sketch.add(Operation.NOTE, next(free, places[0]))
    return sketch.done()


def _beside(name: str, at: Point, way: Point) -> Iterator[Text]:
    """Where a seam's name may stand: past its cross, on one side or the other, then further."""
    ux, uy = way
    for past in (1.5, -1.5, 4.5):
        for side in (4.6, -4.6):
            where = (at[0] + ux * past + abs(uy) * side, at[1] + uy * past + abs(ux) * side)
            yield Text(where, name, pens.TEXT, Anchor.MIDDLE, 0.0, True)


def _direction(a: Point, b: Point) -> Point:
    away = math.dist(a, b)
    return (b[0] - a[0]) / away, (b[1] - a[1]) / away


def _seam_lines(tile: Tile) -> Iterator[tuple[str, Point, Point]]:
    box, half = tile.window, OVERLAP / 2
    low, high, left, right = box.y0 - _OUT, box.y1 + _OUT, box.x0 - _OUT, box.x1 + _OUT
    upright = tile.columns - 1
    for column, x in ((tile.column - 1, box.x0 + half), (tile.column, box.x1 - half)):
        if 0 <= column < upright:
            yield _letter(tile.row * upright + column), (x, low), (x, high)
    before = upright * tile.rows
    for row, y in ((tile.row - 1, box.y0 + half), (tile.row, box.y1 - half)):
        if 0 <= row < tile.rows - 1:
            yield _letter(before + row * tile.columns + tile.column), (left, y), (right, y)


def _letter(n: int) -> str:
    """Name of a seam: A, B … Z, then A1, B1 and so on."""
    return chr(ord("A") + n % 26) + (str(n // 26) if n >= 26 else "")


def _cross(at: Point) -> Iterator[Circle | Line]:
    x, y = at
    yield Circle(at, _RING, pens.CROSS)
    yield Line((x - _ARM, y), (x + _ARM, y), pens.CROSS)
    yield Line((x, y - _ARM), (x, y + _ARM), pens.CROSS)
