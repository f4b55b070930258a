"""The view of a board from its component side: outline, holes by column and row, zones.

On perfboard a hole row is the natural line to snap or saw along; that row is lost, and the rest
is filed back to the outline. Counting holes takes the place of measuring.
"""

from __future__ import annotations

from fit.draw import pens
from fit.draw.drawing import (
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
from fit.draw.grid import (
    AWAY,
    BOTH_SIDES,
    dots,
    grid_words,
    lost_lines,
    lost_row,
    numbers,
    span_words,
)
from fit.draw.labels import Segment, Wanted
from fit.draw.marks import edge_name
from fit.draw.trace import board_loops, corner_holes
from fit.draw.view import Mark, View, segments
from fit.draw.waste import CHAIN_BIT
from fit.geometry.scene import DrilledHole, PlacedBoard
from fit.geometry.strips import holes_along, middle
from fit.model.part import Board, Notch, Zone
from fit.model.words import BoardStock, Side
from fit.trade.lettering import width, wrap
from fit.units import show

_ARM = 2.5
_OPEN = 0.5
_TICK = 0.6


def numbered_holes(placed: PlacedBoard) -> tuple[tuple[int, DrilledHole], ...]:
    """A board's holes with their numbers on the sheet: from left to right, then downwards."""
    order = sorted(holes_on(placed), key=lambda h: (round(h.x, 3), -h.y))
    return tuple(enumerate(order, start=1))


def holes_on(placed: PlacedBoard) -> tuple[DrilledHole, ...]:
    """The holes whose middle lies on the board: a joint that misses it asks for others, too."""
    w, h = (float(size) for size in placed.board.size)
    return tuple(hole for hole in placed.holes if 0 <= hole.x <= w and 0 <= hole.y <= h)


def board_view(placed: PlacedBoard, bit: float = CHAIN_BIT) -> View:
    """A board seen from its component side, in its own frame, mm.

    Args:
        placed: the board.
        bit: for the corner holes of its notches, mm.
    """
    board = placed.board
    sketch = Sketch(placed.name)
    outline = board_outline(board, pens.CUT)
    sketch.add(Operation.CUT, *outline)
    hard: list[Box] = []
    arms: list[Segment] = []
    w, h = float(board.size[0]), float(board.size[1])
    if board.stock is not BoardStock.PLAIN:
        sketch.add(Operation.GUIDE, *dots(board))
        counted = list(numbers(board))
        sketch.add(Operation.NOTE, *counted)
        hard += [n.box() for n in counted]
        sketch.add(Operation.MARK, *lost_lines(board))
    for zone in board.zones:
        sketch.add(Operation.GUIDE, zone_outline(zone, broken=zone.side is Side.UNDERSIDE))
    corners = inner_corners(board, bit)
    sketch.add(Operation.DRILL, *corners)
    sketch.add(Operation.MARK, *(t for c in corners for t in punch_ticks(c)))
    holes = numbered_holes(placed)
    for _, hole in holes:
        _draw_hole(sketch, hole)
        hard.append(hole_box(hole).grown(0.6))
        arms += [s for item in hole_arms(hole) for s in segments(item)]
    zone_lines = [s for z in board.zones for s in segments(zone_outline(z, broken=False))]
    lost = [s for item in lost_lines(board) for s in segments(item)]
    return View(
        drawing=sketch.done(),
        box=Box(0.0, 0.0, w, h),
        marks=board_marks(board),
        wanted=(*_hole_labels(board, holes), *notch_labels(board, bit), *zone_labels(board)),
        hard=tuple(hard),
        lines=tuple([s for item in outline for s in segments(item)] + zone_lines + lost + arms),
        soft=(),
        title=f"{placed.name}, seen from the COMPONENT SIDE",
        facts=(*_facts(board), *_missing(placed)),
    )


def _missing(placed: PlacedBoard) -> tuple[str, ...]:
    count = len(placed.holes) - len(holes_on(placed))
    return (f"Holes that would lie beside the board: {count}, not drawn.",) if count else ()


def board_outline(board: Board, pen: Pen) -> tuple[Item, ...]:
    """Its outline and its cut-outs."""
    return tuple(polygon(loop, pen) for loop in board_loops(board))


def inner_corners(board: Board, bit: float) -> tuple[Circle, ...]:
    """The holes drilled first in the inner corners of notches; none in a made board."""
    if board.stock is BoardStock.PLAIN:
        return ()
    return tuple(Circle(at, r, pens.STEP) for at, r in corner_holes(board, bit))


def punch_ticks(circle: Circle) -> tuple[Line, Line]:
    """A small upright cross in the middle of a corner hole."""
    x, y = circle.centre
    return (
        Line((x - _TICK, y), (x + _TICK, y), pens.CROSS),
        Line((x, y - _TICK), (x, y + _TICK), pens.CROSS),
    )


def zone_outline(zone: Zone, *, broken: bool) -> Item:
    """A zone's rectangle; broken when what stands there is on the other side."""
    x, y = float(zone.x), float(zone.y)
    far_x, far_y = x + float(zone.width), y + float(zone.depth)
    pen = pens.ZONE
    if broken:
        pen = Pen(width=pen.width, style=Style.DASHED, ink=pen.ink)
    return polygon(((x, y), (far_x, y), (far_x, far_y), (x, far_y)), pen)


def _draw_hole(sketch: Sketch, hole: DrilledHole) -> None:
    sketch.add(Operation.DRILL, Circle((hole.x, hole.y), hole.diameter / 2, pens.DRILL))
    sketch.add(Operation.MARK, *hole_arms(hole))


def hole_arms(hole: DrilledHole) -> tuple[Line, ...]:
    """The four arms of a hole's cross, its middle left open for the punch."""
    x, y, far = hole.x, hole.y, hole.diameter / 2 + _ARM
    ways = ((1, 0), (0, 1), (-1, 0), (0, -1))
    return tuple(
        Line((x + dx * _OPEN, y + dy * _OPEN), (x + dx * far, y + dy * far), pens.CROSS)
        for dx, dy in ways
    )


def hole_box(hole: DrilledHole) -> Box:
    """The square round a hole, mm."""
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
                about=hole_box(hole),
                round=True,
            )
        )
    return tuple(wanted)


def notch_labels(board: Board, bit: float) -> tuple[Wanted, ...]:
    """What is said of each notch: its size, what is lost, how it is made."""
    return tuple(
        Wanted(
            lines=_notch_words(board, n, bit),
            short=(f"{show(n.width)} × {show(n.depth)}",),
            about=box,
            inside=box.grown(-0.8),
            height=pens.SMALL,
        )
        for n in board.notches
        for box in (Box(float(n.x), float(n.y), float(n.x + n.width), float(n.y + n.depth)),)
    )


def _notch_words(board: Board, notch: Notch, bit: float) -> tuple[str, ...]:
    size = f"cut out {show(notch.width)} × {show(notch.depth)}"
    if board.stock is BoardStock.PLAIN:
        return (size,)
    lost = [
        span_words(name, float(low), float(low + long), count)
        for name, low, long, count in (
            ("columns", notch.x, notch.width, holes_along(board.size[0])),
            ("rows", notch.y, notch.depth, holes_along(board.size[1])),
        )
    ]
    first = f"drill Ø{show(bit)} in the corner first, then saw"
    return (size, ", ".join(lost) + " go", first)


def zone_labels(board: Board, side: Side | None = None) -> tuple[Wanted, ...]:
    """Names and heights of what stands on a board; only on one side when it is given."""
    wanted = []
    for zone in board.zones:
        if side is not None and zone.side is not side:
            continue
        box = Box(
            float(zone.x),
            float(zone.y),
            float(zone.x + zone.width),
            float(zone.y + zone.depth),
        )
        way = " below" if zone.side is Side.UNDERSIDE and side is None else " high"
        lines = (*_folded(zone.name, box.width - 1.8), f"{show(zone.height)}{way}")
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


def board_marks(board: Board, *, copper: bool = False) -> tuple[Mark, ...]:
    """Where to cut and where to count from, as seen from the component or the copper side."""
    if board.stock is BoardStock.PLAIN:
        return ()
    w, h = float(board.size[0]), float(board.size[1])
    inside = (w / 2, h / 2)
    beside = AWAY + (3.4 if holes_along(w) > BOTH_SIDES else 0.0)
    above = AWAY + (2.2 if holes_along(h) > BOTH_SIDES else 0.0)
    x, y = middle(lost_row(w)) + beside, middle(lost_row(h)) + above
    x = w - x if copper else x
    column, row = f"cut on hole column {lost_row(w)}", f"cut on hole row {lost_row(h)}"
    corner = "count holes from this corner"
    room = width(corner, pens.SMALL)
    return (
        edge_name(column, (x, 0.0), (x, h), inside, upright=True),
        edge_name(row, (0.0, y), (w, y), inside),
        Mark(
            items=(Text((0.0, 0.0), corner, pens.SMALL),),
            size=(room, 3.0),
            places=((w - room if copper else 0.0, -8.3),),
        ),
    )


def _facts(board: Board) -> tuple[str, ...]:
    facts = [f"{show(board.size[0])} × {show(board.size[1])}, {show(board.thickness)} thick."]
    if board.stock is BoardStock.PLAIN:
        return (*facts, "Outline for checking; a made board is not cut.")
    across, up = holes_along(board.size[0]), holes_along(board.size[1])
    facts.append(
        f"Keep {across} columns and {up} rows of holes; the next ones are lost. "
        "File to the full line."
    )
    if board.notches:
        facts.append("Notches: the thin circle in the corner is drilled first; saw in to it, file.")
    if board.stock is BoardStock.STRIPS:
        facts.append(f"Copper strips run along the {board.strips}, on the other side.")
    return tuple(facts)
