"""The holes of perfboard on a sheet: dots, numbers, the row and column that are lost.

Counting holes takes the place of measuring, from either side of the board.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Line, Text
from fit.geometry.strips import holes_along, in_notch, middle
from fit.model.part import Board
from fit.model.words import BoardStock
from fit.units import PITCH, show

EVERY: Final = 5
"""Hole columns and rows are numbered at 1 and each this many."""

AWAY: Final = 1.4
"""Distance of the numbers from the edge, or from the row that is lost, mm."""

BOTH_SIDES: Final = 20
"""From this many holes on, numbers stand on both sides."""

_DOT = 0.35
"""Half the size of the mark at a hole of the grid, mm."""
_SAME = 1e-6


def lost_row(length: float) -> int:
    """The first hole column (or row) at or beyond an edge: the one that is cut along."""
    return holes_along(length) + 1


def grid_words(along: float, name: str) -> str:
    """A distance from the edge as hole number: ``column 3``, or ``0.6 past column 3``."""
    n = math.floor(along / PITCH + 0.5 + _SAME)
    rest = along - middle(n)
    if rest < 0.05:
        return f"{name} {n}"
    if PITCH - rest < 0.05:
        return f"{name} {n + 1}"
    return f"{show(rest, 1)} past {name} {n}"


def dots(board: Board) -> Iterator[Line]:
    """A small upright cross at each hole that stays on the board."""
    spots = [
        (middle(i), middle(j))
        for i in range(1, holes_along(board.size[0]) + 1)
        for j in range(1, holes_along(board.size[1]) + 1)
        if not in_notch(board, middle(i), middle(j))
    ]
    for x, y in spots:
        yield Line((x - _DOT, y), (x + _DOT, y), pens.GRID)
        yield Line((x, y - _DOT), (x, y + _DOT), pens.GRID)


def numbers(board: Board) -> Iterator[Text]:
    """Numbers of hole columns and rows, beside the board as seen from the component side."""
    across, up = holes_along(board.size[0]), holes_along(board.size[1])
    right, top = middle(across + 1) + AWAY, middle(up + 1) + AWAY
    for n in _counted(across):
        yield Text((middle(n), -AWAY), str(n), pens.SMALL, Anchor.UPPER)
        if up > BOTH_SIDES:
            yield Text((middle(n), top), str(n), pens.SMALL, Anchor.LOWER)
    for n in _counted(up):
        yield Text((-AWAY, middle(n)), str(n), pens.SMALL, Anchor.RIGHT)
        if across > BOTH_SIDES:
            yield Text((right, middle(n)), str(n), pens.SMALL, Anchor.LEFT)


def _counted(count: int) -> list[int]:
    return [n for n in range(1, count + 1) if n == 1 or n % EVERY == 0]


def lost_lines(board: Board) -> tuple[Line, ...]:
    """The hole column and the hole row to cut along, beyond the right and the upper edge."""
    if board.stock is BoardStock.PLAIN:
        return ()
    w, h = float(board.size[0]), float(board.size[1])
    x, y = middle(lost_row(w)), middle(lost_row(h))
    return (
        Line((x, -1.0), (x, y + 1.0), pens.CENTRE),
        Line((-1.0, y), (x + 1.0, y), pens.CENTRE),
    )


def span_words(name: str, low: float, high: float, count: int) -> str:
    """Which of some hole columns (or rows) have their middles from low to high, mm."""
    inside = [n for n in range(1, count + 1) if low - _SAME < middle(n) < high + _SAME]
    if not inside:
        return f"no {name}"
    return f"{name} {inside[0]}" if len(inside) == 1 else f"{name} {inside[0]}–{inside[-1]}"
