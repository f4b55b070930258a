"""Circles to stand a shaft on or lay a hole over, and corners to compare round edges with."""

from __future__ import annotations

import math
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Arc,
    Box,
    Circle,
    Item,
    Line,
    Node,
    Operation,
    Path,
    Point,
    Sketch,
    Text,
)
from fit.draw.gauges_frame import WIDEST, Gauge, GaugeName, headed
from fit.trade.lettering import width
from fit.units import show

DIAMETERS: Final = tuple(n / 2 for n in range(50, 1, -1))
"""25 down to 1 mm in halves."""

RADII: Final = tuple(range(1, 16))

_ROOM_INSIDE: Final = 8.0
"""From this diameter on the number stands in the circle, mm."""
_APART: Final = 2.6
_ROW_APART: Final = 2.0
_LABEL: Final = 3.2


def circles_gauge() -> Gauge:
    """Circles of 1 to 25 mm in halves."""
    sketch = Sketch("circles")
    rows: list[list[float]] = [[]]
    for d in DIAMETERS:
        if rows[-1] and sum(_cell(each) for each in rows[-1]) + _cell(d) - _APART > WIDEST:
            rows.append([])
        rows[-1].append(d)
    heights = [max(d + (0.0 if d >= _ROOM_INSIDE else _LABEL) for d in row) for row in rows]
    h = sum(heights) + _ROW_APART * (len(rows) - 1)
    y = h
    for row, high in zip(rows, heights, strict=True):
        spare = WIDEST - sum(_cell(d) for d in row) + _APART
        air = spare / (len(row) - 1)
        x = 0.0
        for d in row:
            _circle(sketch, (x + (_cell(d) - _APART) / 2, y - high + _foot(row) + d / 2), d)
            x += _cell(d) + air
        y -= high + _ROW_APART
    how = (
        "Shafts, bits, pins: stand the end on a circle; the one that is just covered is its size.",
        "Holes: lay the hole over a circle; the largest whose whole line is seen is its size.",
    )
    return headed(sketch, GaugeName.CIRCLES, "CIRCLES, 1 TO 25 mm", how, WIDEST, h)


def _cell(d: float) -> float:
    return max(d, width(show(d), pens.SMALL)) + _APART


def _foot(row: list[float]) -> float:
    """Room below a row for the numbers that do not go into their circles."""
    return _LABEL if min(row) < _ROOM_INSIDE else 0.0


def _circle(sketch: Sketch, centre: Point, d: float) -> None:
    sketch.add(Operation.MARK, Circle(centre, d / 2, pens.CROSS))
    x, y = centre
    if d >= _ROOM_INSIDE:
        sketch.add(Operation.NOTE, Text(centre, show(d), pens.SMALL, Anchor.MIDDLE))
        return
    low = (x, y - d / 2 - 0.9)
    sketch.add(Operation.NOTE, Text(low, show(d), pens.SMALL, Anchor.UPPER))


def radius_gauge() -> Gauge:
    """Cards with one round corner each, 1 to 15 mm."""
    sketch = Sketch("radius")
    rows = (RADII[:8], RADII[8:])
    heights = [_side(row[-1]) for row in rows]
    h = sum(heights) + 3.0
    y = h
    for row, high in zip(rows, heights, strict=True):
        air = (WIDEST - sum(_side(r) for r in row)) / (len(row) - 1)
        x = 0.0
        for r in row:
            side = _side(r)
            box = Box(x, y - high, x + side, y - high + side)
            sketch.add(Operation.CUT, _one_round(box, float(r)))
            words = Text((box.x1 - 1.6, box.y1 - 1.6), f"R{r}", pens.TEXT, Anchor.UPPER_RIGHT)
            sketch.add(Operation.NOTE, words)
            x += side + air
        y -= high + 3.0
    how = (
        "Outside corners: lay the corner on the card's round corner; line and edge must run"
        " together.",
        "Inside corners: cut the card out and push its round corner in; no light may show between.",
    )
    return headed(sketch, GaugeName.RADIUS, "RADIUS OF CORNERS, 1 TO 15 mm", how, WIDEST, h)


def _side(radius: float) -> float:
    return radius + 9.0


def _one_round(box: Box, radius: float) -> Item:
    """A square whose lower left corner is round."""
    quarter = math.tan(math.radians(90) / 4)
    nodes = (
        Node(box.x0 + radius, box.y0),
        Node(box.x1, box.y0),
        Node(box.x1, box.y1),
        Node(box.x0, box.y1),
        Node(box.x0, box.y0 + radius, quarter),
    )
    return Path(nodes, pens.EDGE)


DRAFTS: Final = tuple(n / 4 for n in range(21))
"""0 to 5 degrees in quarters."""

_BASE: Final = 76.0
_ARM: Final = 158.0
_POINTER: Final = (170.0, 9.0)


def draft_gauge() -> Gauge:
    """A base line and an arc far away on which a strip laid along a wall tells its lean."""
    sketch = Sketch("draft")
    corner = (6.0, _BASE + _POINTER[1] + 5.0)
    _draft_scale(sketch, corner)
    _draft_words(sketch, corner)
    box = Box(0.0, 0.0, *_POINTER)
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    sketch.add(Operation.CUT, Path(tuple(Node(*c) for c in corners), pens.EDGE))
    words = "pointer: cut out; its long edges must be straight"
    sketch.add(Operation.NOTE, Text((8.0, box.height / 2), words, pens.TEXT, Anchor.LEFT))
    h = corner[1] + _ARM * math.sin(math.radians(5.0)) + 4.0
    how = (
        "Lay the box on its side, its floor along the base line, its corner in the ring.",
        "Push the pointer against the leaning wall; its edge meets the arc at the lean in degrees.",
    )
    return headed(sketch, GaugeName.DRAFT, "DRAFT: LEAN OF A WALL, 0 TO 5°", how, WIDEST, h)


def _draft_scale(sketch: Sketch, corner: Point) -> None:
    x, y = corner
    sketch.add(Operation.MARK, Line((x, y), (x, y - _BASE), pens.FRAME))
    sketch.add(Operation.MARK, Line((x, y), (x + _ARM, y), pens.LEADER))
    sketch.add(Operation.MARK, Circle(corner, 1.2, pens.LEADER))
    sketch.add(Operation.MARK, Arc(corner, _ARM, 0.0, DRAFTS[-1], pens.LEADER))
    for lean in DRAFTS:
        whole, half = lean % 1 == 0, lean % 0.5 == 0
        length = 7.0 if whole else 4.5 if half else 2.5
        a, b = (_out(corner, _ARM + far, lean) for far in (0.0, length))
        sketch.add(Operation.MARK, Line(a, b, pens.LEADER))
        if whole:
            at = _out(corner, _ARM + 7.8, lean)
            sketch.add(Operation.NOTE, Text(at, show(lean), pens.SMALL, Anchor.LEFT))


def _out(corner: Point, far: float, lean: float) -> Point:
    """A point on the ray that leans from the floor's square, by degrees."""
    a = math.radians(lean)
    return corner[0] + far * math.cos(a), corner[1] + far * math.sin(a)


def _draft_words(sketch: Sketch, corner: Point) -> None:
    x, y = corner
    sketch.add(
        Operation.NOTE,
        Text((x + 2.4, y - _BASE / 2), "base line: FLOOR edge", pens.TEXT, Anchor.UPPER, 90),
        Text((x + 60.0, y - 2.0), "square to the floor: no draft", pens.TEXT, Anchor.UPPER_LEFT),
        Text((x + 60.0, y - 30.0), "the box lies here", pens.TITLE, Anchor.LEFT),
    )
