"""The neutral drawing: what is drawn, in mm at 1:1, without knowing any file format.

A `Drawing` is one view in its own coordinates (x to the right, y up). A `Page` is a sheet of
paper on which drawings are placed; its origin is the lower left corner of the paper. Angles are
degrees, counter-clockwise from the x axis. Writers turn these into PDF, DXF and so on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from fit.trade.lettering import text_corners

Point = tuple[float, float]
"""A point on a drawing, mm."""


class Operation(StrEnum):
    """What is done at a line. Lists the layers of a drawing in the order they are painted."""

    GUIDE = "guide"
    """Ghosts: what lies behind, the flat part of a wall, the grid of a board. Nothing is done."""
    NOTE = "note"
    """Words, leaders and dimensions."""
    EDGE = "edge"
    """The edge of a face: the paper is trimmed here, the box is not."""
    THERE = "there"
    """Holes that are there already: nothing is cut."""
    FOLD = "fold"
    """The paper is folded here."""
    MARK = "mark"
    """Centre lines, crosses for the punch, drill-centre lines."""
    DRILL = "drill"
    """Round holes: their final size and the sizes on the way."""
    CUT = "cut"
    """Sawn, filed or snapped to this line."""
    FRAME = "frame"
    """Page furniture: bars, card, title, tables."""


class Style(StrEnum):
    """How a line is broken."""

    SOLID = "solid"
    DASHED = "dashed"
    DASH_DOT = "dash_dot"
    DOTTED = "dotted"
    """What is there already (ISO 128-2, line type 07)."""
    DASH_DOT_DOT = "dash_dot_dot"
    """Outlines of neighbouring parts (ISO 128-2, line type 05.1)."""


DASHES: dict[Style, tuple[float, ...]] = {
    Style.SOLID: (),
    Style.DASHED: (2.4, 1.2),
    Style.DOTTED: (0.5, 0.7),
    Style.DASH_DOT: (6.0, 1.0, 0.6, 1.0),
    Style.DASH_DOT_DOT: (4.0, 0.8, 0.5, 0.8, 0.5, 0.8),
}
"""Lengths of strokes and gaps in turn, mm."""


class Ink(StrEnum):
    """How dark. Lightness never carries a meaning of its own."""

    BLACK = "black"
    DARK = "dark"
    GREY = "grey"
    WHITE = "white"
    """Only for filling behind words."""


class Anchor(StrEnum):
    """Which point of a text's box (baseline to cap height) lies on its place."""

    LOWER_LEFT = "lower_left"
    LOWER = "lower"
    LOWER_RIGHT = "lower_right"
    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"
    UPPER_LEFT = "upper_left"
    UPPER = "upper"
    UPPER_RIGHT = "upper_right"


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle, mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Along x, mm."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Along y, mm."""
        return self.y1 - self.y0

    @property
    def middle(self) -> Point:
        """Its middle."""
        return ((self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2)

    def grown(self, by: float) -> Box:
        """The box larger by ``by`` mm on each side (smaller when negative)."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def moved(self, dx: float, dy: float) -> Box:
        """The box moved."""
        return Box(self.x0 + dx, self.y0 + dy, self.x1 + dx, self.y1 + dy)

    def holds(self, other: Box, slack: float = 1e-9) -> bool:
        """Whether the other box lies wholly in this one."""
        return (
            other.x0 >= self.x0 - slack
            and other.y0 >= self.y0 - slack
            and other.x1 <= self.x1 + slack
            and other.y1 <= self.y1 + slack
        )

    def meets(self, other: Box) -> bool:
        """Whether the two boxes overlap; touching is not overlapping."""
        return (
            self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1
        )

    def has(self, point: Point, slack: float = 1e-9) -> bool:
        """Whether a point lies in the box or on its edge."""
        return (
            self.x0 - slack <= point[0] <= self.x1 + slack
            and self.y0 - slack <= point[1] <= self.y1 + slack
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How a line is drawn: width in mm, style, ink."""

    width: float
    style: Style = Style.SOLID
    ink: Ink = Ink.BLACK


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line. `phase`: mm of the dash pattern that went before its start."""

    start: Point
    end: Point
    pen: Pen
    phase: float = 0.0


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc, counter-clockwise from `start` to `end` degrees; end is larger than start."""

    centre: Point
    radius: float
    start: float
    end: float
    pen: Pen
    phase: float = 0.0

    def at(self, degrees: float) -> Point:
        """The point of the arc's circle in a direction."""
        a = math.radians(degrees)
        return (
            self.centre[0] + self.radius * math.cos(a),
            self.centre[1] + self.radius * math.sin(a),
        )


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point
    radius: float
    pen: Pen


@dataclass(frozen=True, slots=True)
class Node:
    """A corner of a path and how the path goes on to the next.

    `bulge` is the tangent of a quarter of the arc's angle, positive counter-clockwise, 0 for a
    straight line (the convention of DXF's LWPOLYLINE).
    """

    x: float
    y: float
    bulge: float = 0.0


@dataclass(frozen=True, slots=True)
class Path:
    """A closed outline of straight lines and arcs. With `fill` it is painted, not stroked."""

    nodes: tuple[Node, ...]
    pen: Pen
    fill: Ink | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words.

    Attributes:
        at: where the anchor point of its box lies, mm.
        words: what it says.
        height: of its capitals, mm.
        anchor: which point of the box lies there.
        turn: degrees counter-clockwise about `at`.
        bold: heavier letters.
        halo: True paints a white ground behind it, so that ghosts do not run through it.
    """

    at: Point
    words: str
    height: float
    anchor: Anchor = Anchor.LOWER_LEFT
    turn: float = 0.0
    bold: bool = False
    halo: bool = False

    def corners(self) -> tuple[Point, ...]:
        """The four corners of the letters' room (descenders included), mm."""
        return text_corners(
            self.at, self.words, self.height, self.anchor.value, self.turn, self.bold
        )

    def box(self) -> Box:
        """The upright rectangle round the words, mm."""
        return around(self.corners())


Item = Line | Arc | Circle | Path | Text


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """All that belongs to one operation."""

    operation: Operation
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """One view at 1:1 in its own coordinates, mm. Layers come in painting order."""

    name: str
    layers: tuple[Layer, ...]

    def on(self, operation: Operation) -> tuple[Item, ...]:
        """The items of one layer; none when there is no such layer."""
        found = [layer.items for layer in self.layers if layer.operation is operation]
        return tuple(item for items in found for item in items)

    def items(self) -> tuple[Item, ...]:
        """Every item in painting order."""
        return tuple(item for layer in self.layers for item in layer.items)

    def box(self) -> Box | None:
        """The room it takes, without pen widths, mm; None when it is empty."""
        boxes = [item_box(item) for item in self.items()]
        return join(boxes) if boxes else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Positioned:
    """A drawing on a page: its origin lies at (x, y) from the paper's lower left corner, mm."""

    drawing: Drawing
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A sheet of paper: size in mm and what is placed on it.

    Attributes:
        title: for the document's outline and for messages.
        width, height: of the paper as printed, mm.
        drawings: what is on it.
        stretch: factors for x and y by which a writer stretches all of it about the middle of
            the paper, to make up for a printer's error.
    """

    title: str
    width: float
    height: float
    drawings: tuple[Positioned, ...]
    stretch: tuple[float, float] = (1.0, 1.0)


class Sketch:
    """Collects items by operation while a view is being built."""

    def __init__(self, name: str) -> None:
        """Start an empty view."""
        self.name = name
        self._items: dict[Operation, list[Item]] = {}

    def add(self, operation: Operation, *items: Item) -> None:
        """Put items on a layer."""
        self._items.setdefault(operation, []).extend(items)

    def done(self) -> Drawing:
        """The finished drawing, its layers in painting order."""
        used = [op for op in Operation if op in self._items]
        layers = tuple(Layer(operation=op, items=tuple(self._items[op])) for op in used)
        return Drawing(name=self.name, layers=layers)


def merged(*drawings: Drawing) -> Drawing:
    """Drawings in the same coordinates as one, so that ghosts lie under the words of all."""
    sketch = Sketch(drawings[0].name)
    for drawing in drawings:
        for layer in drawing.layers:
            sketch.add(layer.operation, *layer.items)
    return sketch.done()


def around(points: tuple[Point, ...] | list[Point]) -> Box:
    """The smallest upright box round some points (at least one)."""
    xs = [p[0] for p in points]
    ys = [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def join(boxes: list[Box]) -> Box:
    """The smallest upright box round some boxes (at least one)."""
    return Box(
        min(b.x0 for b in boxes),
        min(b.y0 for b in boxes),
        max(b.x1 for b in boxes),
        max(b.y1 for b in boxes),
    )


def bulge_arc(a: Point, b: Point, bulge: float, pen: Pen) -> Arc:
    """The arc of a path's segment from a to b with a bulge other than 0.

    An arc that runs clockwise comes back counter-clockwise, from b to a.
    """
    if bulge < 0:
        a, b, bulge = b, a, -bulge
    dx, dy = b[0] - a[0], b[1] - a[1]
    # Middle of the chord, moved along the left normal by (1 - bulge²) / (4·bulge) chords.
    k = (1 - bulge * bulge) / (4 * bulge)
    centre = ((a[0] + b[0]) / 2 - dy * k, (a[1] + b[1]) / 2 + dx * k)
    radius = math.hypot(dx, dy) * (1 + bulge * bulge) / (4 * bulge)
    start = math.degrees(math.atan2(a[1] - centre[1], a[0] - centre[0]))
    return Arc(centre, radius, start, start + math.degrees(4 * math.atan(bulge)), pen)


def path_pieces(path: Path) -> tuple[Line | Arc, ...]:
    """A path as single lines and arcs; dash phases run on round the path."""
    pieces: list[Line | Arc] = []
    nodes = path.nodes
    phase = 0.0
    for here, there in zip(nodes, nodes[1:] + nodes[:1], strict=True):
        a, b = (here.x, here.y), (there.x, there.y)
        if here.bulge:
            arc = bulge_arc(a, b, here.bulge, path.pen)
            pieces.append(replace(arc, phase=phase))
            phase += arc.radius * math.radians(arc.end - arc.start)
        elif a != b:
            pieces.append(Line(a, b, path.pen, phase))
            phase += math.dist(a, b)
    return tuple(pieces)


def item_box(item: Item) -> Box:
    """The room an item takes, without its pen's width, mm."""
    if isinstance(item, Line):
        return around((item.start, item.end))
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        return Box(x - r, y - r, x + r, y + r)
    if isinstance(item, Arc):
        first = math.ceil(item.start / 90 - 1e-12)
        turns = range(first, math.floor(item.end / 90 + 1e-12) + 1)
        return around([item.at(d) for d in (item.start, item.end, *(90.0 * t for t in turns))])
    if isinstance(item, Path):
        corners = around([(n.x, n.y) for n in item.nodes])
        return join([corners, *(item_box(piece) for piece in path_pieces(item))])
    return item.box()


def polygon(points: tuple[Point, ...], pen: Pen, fill: Ink | None = None) -> Path:
    """A closed path of straight lines."""
    return Path(tuple(Node(x, y) for x, y in points), pen, fill)


def rounded(box: Box, radius: float, pen: Pen) -> Path:
    """A rectangle with round corners, counter-clockwise; radius 0 for sharp corners."""
    x0, y0, x1, y1 = box.x0, box.y0, box.x1, box.y1
    r = min(radius, box.width / 2, box.height / 2)
    if r <= 0:
        return polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), pen)
    q = math.tan(math.radians(90) / 4)
    return Path(
        (
            Node(x0 + r, y0),
            Node(x1 - r, y0, q),
            Node(x1, y0 + r),
            Node(x1, y1 - r, q),
            Node(x1 - r, y1),
            Node(x0 + r, y1, q),
            Node(x0, y1 - r),
            Node(x0, y0 + r, q),
        ),
        pen,
    )
