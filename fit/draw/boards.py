"""The view of a board from its component side: outline, holes by column and row, zones.

On perfboard a hole row is the natural line to snap or saw along; that row is lost, and the rest
is filed back to the outline. Counting holes takes the place of measuring.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Box,
    Circle,
    Item,
    Line,
    Operation,
    Pen,
    Sketch,
    Style,
    Text,
    polygon,
)
from fit.draw.labels import Segment, Wanted
from fit.draw.lettering import width, wrap
from fit.draw.marks import edge_name
from fit.draw.trace import board_loops
from fit.draw.view import Mark, View, segments
from fit.geometry.scene import DrilledHole, PlacedBoard
from fit.model.part import Board, Notch, Zone
from fit.model.words import BoardStock, Side
from fit.units import PITCH, show

EVERY: Final = 5
"""Hole columns and rows are numbered at 1 and each this many."""

_DOT = 0.35
"""Half the size of the mark at a hole of the grid, mm."""
_ARM = 2.5
_OPEN = 0.5
_AWAY = 1.4
"""Distance of the numbers from the edge, or from the row that is lost, mm."""
_BOTH_SIDES = 20
"""From this many holes on, numbers stand on both sides."""
_SAME = 1e-6


def numbered_holes(placed: PlacedBoard) -> tuple[tuple[int, DrilledHole], ...]:
    """A board's holes with their numbers on the sheet: from left to right, then downwards."""
    order = sorted(placed.holes, key=lambda h: (round(h.x, 3), -h.y))
    return tuple(enumerate(order, start=1))


def board_view(placed: PlacedBoard) -> View:
    """A board seen from its component side, in its own frame, mm."""
    board = placed.board
    sketch = Sketch(placed.name)
    outline = _outline(board, pens.CUT)
    sketch.add(Operation.CUT, *outline)
    hard: list[Box] = []
    arms: list[Segment] = []
    w, h = float(board.size[0]), float(board.size[1])
    if board.stock is not BoardStock.PLAIN:
        sketch.add(Operation.GUIDE, *_grid(board))
        numbers = list(_numbers(board))
        sketch.add(Operation.NOTE, *numbers)
        hard += [n.box() for n in numbers]
        sketch.add(Operation.MARK, *_lost_lines(board))
    for zone in board.zones:
        sketch.add(Operation.GUIDE, _zone_outline(zone))
    holes = numbered_holes(placed)
    for _, hole in holes:
        _draw_hole(sketch, hole)
        hard.append(_hole_box(hole).grown(0.6))
        arms += [s for item in _arms(hole) for s in segments(item)]
    zone_lines = [s for z in board.zones for s in segments(_zone_outline(z))]
    lost = [s for item in _lost_lines(board) for s in segments(item)]
    return View(
        drawing=sketch.done(),
        box=Box(0.0, 0.0, w, h),
        marks=_marks(board),
        wanted=(*_hole_labels(board, holes), *_notch_labels(board), *_zone_labels(board)),
        hard=tuple(hard),
        lines=tuple([s for item in outline for s in segments(item)] + zone_lines + lost + arms),
        soft=(),
        title=f"{placed.name}, seen from the COMPONENT SIDE",
        facts=_facts(board),
    )


def _outline(board: Board, pen: Pen) -> tuple[Item, ...]:
    return tuple(polygon(loop, pen) for loop in board_loops(board))


def columns(length: float) -> int:
    """How many hole columns (or rows) have their middles on a board of that length, mm."""
    return math.floor(length / PITCH + 0.5 - _SAME)


def lost_row(length: float) -> int:
    """The first hole column (or row) at or beyond an edge: the one that is cut along."""
    return columns(length) + 1


def _centre(n: int) -> float:
    """Middle of hole column (or row) n, mm from the board's edge."""
    return (n - 0.5) * PITCH


def grid_words(along: float, name: str) -> str:
    """A distance from the edge as hole number: ``column 3``, or ``0.6 past column 3``."""
    n = math.floor(along / PITCH + 0.5 + _SAME)
    rest = along - _centre(n)
    if rest < 0.05:
        return f"{name} {n}"
    if PITCH - rest < 0.05:
        return f"{name} {n + 1}"
    return f"{show(rest, 1)} past {name} {n}"


def _in_notch(board: Board, x: float, y: float) -> bool:
    return any(n.x < x < n.x + n.width and n.y < y < n.y + n.depth for n in board.notches)


def _grid(board: Board) -> Iterator[Line]:
    """A small upright cross at each hole that stays on the board."""
    spots = [
        (_centre(i), _centre(j))
        for i in range(1, columns(board.size[0]) + 1)
        for j in range(1, columns(board.size[1]) + 1)
        if not _in_notch(board, _centre(i), _centre(j))
    ]
    for x, y in spots:
        yield Line((x - _DOT, y), (x + _DOT, y), pens.GRID)
        yield Line((x, y - _DOT), (x, y + _DOT), pens.GRID)


def _counted(count: int) -> list[int]:
    return [n for n in range(1, count + 1) if n == 1 or n % EVERY == 0]


def _numbers(board: Board) -> Iterator[Text]:
    across, up = columns(board.size[0]), columns(board.size[1])
    right, top = _centre(across + 1) + _AWAY, _centre(up + 1) + _AWAY
    for n in _counted(across):
        yield Text((_centre(n), -_AWAY), str(n), pens.SMALL, Anchor.UPPER)
        if up > _BOTH_SIDES:
            yield Text((_centre(n), top), str(n), pens.SMALL, Anchor.LOWER)
    for n in _counted(up):
        yield Text((-_AWAY, _centre(n)), str(n), pens.SMALL, Anchor.RIGHT)
        if across > _BOTH_SIDES:
            yield Text((right, _centre(n)), str(n), pens.SMALL, Anchor.LEFT)


def _lost_lines(board: Board) -> tuple[Line, ...]:
    """The hole column and the hole row to cut along, beyond the right and the upper edge."""
    if board.stock is BoardStock.PLAIN:
        return ()
    w, h = float(board.size[0]), float(board.size[1])
    x, y = _centre(lost_row(w)), _centre(lost_row(h))
    return (
        Line((x, -1.0), (x, y + 1.0), pens.CENTRE),
        Line((-1.0, y), (x + 1.0, y), pens.CENTRE),
    )


def _zone_outline(zone: Zone) -> Item:
    x, y = float(zone.x), float(zone.y)
    far_x, far_y = x + float(zone.width), y + float(zone.depth)
    pen = pens.ZONE
    if zone.side is Side.UNDERSIDE:
        pen = Pen(width=pen.width, style=Style.DASHED, ink=pen.ink)
    return polygon(((x, y), (far_x, y), (far_x, far_y), (x, far_y)), pen)


def _draw_hole(sketch: Sketch, hole: DrilledHole) -> None:
    sketch.add(Operation.DRILL, Circle((hole.x, hole.y), hole.diameter / 2, pens.DRILL))
    sketch.add(Operation.MARK, *_arms(hole))


def _arms(hole: DrilledHole) -> tuple[Line, ...]:
    """The four arms of a hole's cross, its middle left open for the punch."""
    x, y, far = hole.x, hole.y, hole.diameter / 2 + _ARM
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    return tuple(
        Line((x + dx * _OPEN, y + dy * _OPEN), (x + dx * far, y + dy * far), pens.CROSS)
        for dx, dy in ways
    )


def _hole_box(hole: DrilledHole) -> Box:
    r = hole.diameter / 2
    return Box(hole.x - r, hole.y - r, hole.x + r, hole.y + r)


def _hole_labels(board: Board, holes: tuple[tuple[int, DrilledHole], ...]) -> tuple[Wanted, ...]:
    wanted = []
    for number, hole in holes:
        if board.stock is BoardStock.PLAIN:
            place = f"{show(hole.x, 1)} from left, {show(hole.y, 1)} up"
        else:
            place = f"{grid_words(hole.x, 'column')}, {grid_words(hole.y, 'row')}"
        wanted.append(
            Wanted(
                lines=(f"{number}  {hole.purpose}", f"open to Ø{show(hole.diameter)}", place),
                short=(str(number),),
                about=_hole_box(hole),
                round=True,
            )
        )
    return tuple(wanted)


def _notch_labels(board: Board) -> tuple[Wanted, ...]:
    return tuple(
        Wanted(
            lines=_notch_words(board, n),
            short=(f"{show(n.width)} × {show(n.depth)}",),
            about=box,
            inside=box.grown(-0.8),
            height=pens.SMALL,
        )
        for n in board.notches
        for box in (Box(float(n.x), float(n.y), float(n.x + n.width), float(n.y + n.depth)),)
    )


def _notch_words(board: Board, notch: Notch) -> tuple[str, ...]:
    size = f"cut out {show(notch.width)} × {show(notch.depth)}"
    if board.stock is BoardStock.PLAIN:
        return (size,)
    lost = [
        _span(name, float(low), float(low + long), count)
        for name, low, long, count in (
            ("columns", notch.x, notch.width, columns(board.size[0])),
            ("rows", notch.y, notch.depth, columns(board.size[1])),
        )
    ]
    return (size, ", ".join(lost) + " go")


def _span(name: str, low: float, high: float, count: int) -> str:
    inside = [n for n in range(1, count + 1) if low - _SAME < _centre(n) < high + _SAME]
    if not inside:
        return f"no {name}"
    return f"{name} {inside[0]}" if len(inside) == 1 else f"{name} {inside[0]}–{inside[-1]}"


def _zone_labels(board: Board) -> tuple[Wanted, ...]:
    wanted = []
    for zone in board.zones:
        box = Box(
            float(zone.x),
            float(zone.y),
            float(zone.x + zone.width),
            float(zone.y + zone.depth),
        )
        side = " below" if zone.side is Side.UNDERSIDE else " high"
        lines = (*_folded(zone.name, box.width - 1.8), f"{show(zone.height)}{side}")
        wanted.append(
            Wanted(
                lines=lines,
                short=(zone.name,),
                about=box,
                inside=box.grown(-0.8),
                height=pens.SMALL,
            )
        )
    return tuple(wanted)


def _folded(words: str, room: float) -> list[str]:
    """Words broken to fit a room, or whole when a single word is wider than it."""
    lines = wrap(words, pens.SMALL, room, True)
    fits = all(width(line, pens.SMALL, True) <= room for line in lines)
    return lines if fits and len(lines) <= 3 else [words]


def _marks(board: Board) -> tuple[Mark, ...]:
    w, h = float(board.size[0]), float(board.size[1])
    middle = (w / 2, h / 2)
    if board.stock is BoardStock.PLAIN:
        return ()
    x, y = _centre(lost_row(w)), _centre(lost_row(h))
    right = f"cut on hole column {lost_row(w)}"
    top = f"cut on hole row {lost_row(h)}"
    beside = _AWAY + (3.4 if columns(w) > _BOTH_SIDES else 0.0)
    above = _AWAY + (2.2 if columns(h) > _BOTH_SIDES else 0.0)
    return (
        edge_name(right, (x + beside, 0.0), (x + beside, h), middle, upright=True),
        edge_name(top, (0.0, y + above), (w, y + above), middle),
        Mark(
            items=(Text((0.0, 0.0), "count holes from this corner", pens.SMALL),),
            size=(width("count holes from this corner", pens.SMALL), 3.0),
            places=((0.0, -8.3),),
        ),
    )


def _facts(board: Board) -> tuple[str, ...]:
    facts = [f"{show(board.size[0])} × {show(board.size[1])}, {show(board.thickness)} thick."]
    if board.stock is BoardStock.PLAIN:
        return (*facts, "Outline for checking; a made board is not cut.")
    facts.append(
        f"Keep {columns(board.size[0])} columns and {columns(board.size[1])} rows of holes; "
        "the next ones are lost. File to the full line."
    )
    if board.stock is BoardStock.STRIPS:
        facts.append("Copper strips run along the rows, on the other side.")
    facts.append("On the copper side everything is mirrored.")
    return tuple(facts)
