"""Cutting a drawing to a window, exactly: for faces larger than the paper.

What is kept stays where it is and as it is: a line keeps its place in the dash pattern, so two
sheets show the same thing where they overlap.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Path,
    Point,
    Text,
    item_box,
    path_pieces,
)

_SHORTEST = 1e-9


def clipped(drawing: Drawing, window: Box) -> Drawing:
    """The part of a drawing that lies in a window, mm.

    Lines and arcs are cut at the window's edge. Words and painted shapes are kept only when they
    lie in it wholly: half a word says nothing.
    """
    layers = []
    for layer in drawing.layers:
        kept = tuple(part for item in layer.items for part in _clip(item, window))
        if kept:
            layers.append(Layer(operation=layer.operation, items=kept))
    return Drawing(name=drawing.name, layers=tuple(layers))


def _clip(item: Item, window: Box) -> Iterator[Item]:
    if window.holds(item_box(item)):
        yield item
    elif isinstance(item, Line):
        yield from _clip_line(item, window)
    elif isinstance(item, Circle):
        whole = Arc(item.centre, item.radius, 0.0, 360.0, item.pen)
        yield from _clip_arc(whole, window)
    elif isinstance(item, Arc):
        yield from _clip_arc(item, window)
    elif isinstance(item, Path) and item.fill is None:
        for piece in path_pieces(item):
            yield from _clip(piece, window)
    elif not isinstance(item, Path | Text):
        raise TypeError(f"cannot cut a {type(item).__name__} to a window")


def _clip_line(line: Line, window: Box) -> Iterator[Line]:
    """Liang and Barsky's way: the shares of the line at which it enters and leaves."""
    (x, y), (dx, dy) = (
        line.start,
        (line.end[0] - line.start[0], line.end[1] - line.start[1]),
    )
    enter, leave = 0.0, 1.0
    for step, room in (
        (-dx, x - window.x0),
        (dx, window.x1 - x),
        (-dy, y - window.y0),
        (dy, window.y1 - y),
    ):
        if step == 0:
            if room < 0:
                return
        elif step < 0:
            enter = max(enter, room / step)
        else:
            leave = min(leave, room / step)
    length = math.hypot(dx, dy)
    if (leave - enter) * length <= _SHORTEST:
        return
    a: Point = line.start if enter == 0 else (x + dx * enter, y + dy * enter)
    b: Point = line.end if leave == 1 else (x + dx * leave, y + dy * leave)
    yield Line(a, b, line.pen, line.phase + enter * length)


def _clip_arc(arc: Arc, window: Box) -> Iterator[Arc]:
    """Cut the arc where it meets the window's four edge lines; keep what has its middle in it."""
    cuts = {arc.start, arc.end}
    (cx, cy), r = arc.centre, arc.radius
    for axis, edge in ((0, window.x0), (0, window.x1), (1, window.y0), (1, window.y1)):
        share = (edge - (cx, cy)[axis]) / r
        if abs(share) < 1:
            base = math.degrees(math.acos(share) if axis == 0 else math.asin(share))
            for angle in (base, -base) if axis == 0 else (base, 180.0 - base):
                turned = arc.start + (angle - arc.start) % 360.0
                if turned < arc.end:
                    cuts.add(turned)
    angles = sorted(cuts)
    begin = None
    for low, high in pairwise(angles):
        inside = window.has(arc.at((low + high) / 2))
        if inside and begin is None:
            begin = low
        if not inside and begin is not None:
            yield _part(arc, begin, low)
            begin = None
    if begin is not None:
        yield _part(arc, begin, arc.end)


def _part(arc: Arc, start: float, end: float) -> Arc:
    gone = arc.radius * math.radians(start - arc.start)
    return Arc(arc.centre, arc.radius, start, end, arc.pen, arc.phase + gone)
