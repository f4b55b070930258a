"""How an opening is drawn: final line, punch cross, sizes on the way, chain of holes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Item,
    Line,
    Node,
    Operation,
    Path,
    Pen,
    Point,
    Sketch,
    polygon,
)
from fit.geometry import outlines
from fit.geometry.box import Face
from fit.geometry.frames import Pose
from fit.geometry.outlines import ArcSeg, Outline
from fit.geometry.scene import Cut, Opening
from fit.trade.drills import Tool

CHAIN_BIT: Final = 3.0
"""Bit for a chain of holes when the drawer names none, mm (2 to 3 is usual, no source)."""

CHAIN_INSET: Final = 0.75
"""What the chain leaves for the file, mm (0.5 to 1 is usual; common practice, no source)."""

CHAIN_SPACE: Final = 0.75
"""Most that stays between two holes, mm (0.5 to 1 is usual; common practice, no source)."""

_ARM = 2.5
"""How far the arms of a cross reach past the hole, mm."""
_OPEN = 0.5
"""Half the open middle of a cross, where the punch goes, mm."""
_TICK = 0.6
_SAME = 0.05


def numbered(openings: tuple[Opening, ...]) -> tuple[tuple[int, Opening], ...]:
    """A face's openings with their numbers on the sheet: from left to right, then downwards."""
    order = sorted(openings, key=lambda o: (round(o.across, 3), -o.up))
    return tuple(enumerate(order, start=1))


def local(opening: Opening, x: float, y: float) -> Point:
    """A point given along the opening's own axes from its middle, in the face frame, mm."""
    # A slot open to the rim has no turn, as its outline has none.
    turn = 0.0 if opening.cut is Cut.RIM_SLOT else opening.turn
    spot = Pose((opening.across, opening.up, 0.0)).turned(turn).point((x, y, 0.0))
    return spot[0], spot[1]


def as_items(outline: Outline, pen: Pen) -> tuple[Item, ...]:
    """An exact outline as drawing items: a closed one as one circle or path."""
    segments = outline.segments
    if outline.closed and not any(isinstance(s, outlines.Circle) for s in segments):
        nodes = [node for segment in segments for node in _nodes(segment)]
        return (Path(tuple(nodes), pen),)
    return tuple(_as_item(segment, pen) for segment in segments)


def _nodes(segment: outlines.Segment) -> Iterator[Node]:
    """A segment's corners without its end; an arc of more than half a turn is cut in two.

    GDAL, for one, draws a larger arc of an LWPOLYLINE wrongly.
    """
    if isinstance(segment, ArcSeg):
        sweep = segment.finish - segment.begin
        count = 1 if sweep <= 180.0 else 2
        bulge = math.tan(math.radians(sweep / count) / 4)
        for n in range(count):
            begin = segment.begin + n * sweep / count
            yield Node(*ArcSeg(segment.centre, segment.radius, begin, begin).start, bulge)
    elif not isinstance(segment, outlines.Circle):
        yield Node(*segment.start)


def _as_item(segment: outlines.Segment, pen: Pen) -> Item:
    if isinstance(segment, outlines.Circle):
        return Circle(segment.centre, segment.radius, pen)
    if isinstance(segment, ArcSeg):
        return Arc(segment.centre, segment.radius, segment.begin, segment.finish, pen)
    return Line(segment.start, segment.end, pen)


def reach(opening: Opening) -> Box:
    """The upright box round an opening, mm."""
    if opening.cut in (Cut.ROUND, Cut.D_FLAT):
        r = opening.diameter / 2
        return Box(opening.across - r, opening.up - r, opening.across + r, opening.up + r)
    w, h = opening.width / 2, opening.height / 2
    corners = [local(opening, x, y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))]
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return Box(min(xs), min(ys), max(xs), max(ys))


def chain_bit(opening: Opening) -> float:
    """The bit for the chain of holes: the first one of the opening's steps, mm."""
    drilled = [step.size for step in opening.steps if step.tool is Tool.DRILL]
    return drilled[0] if drilled else CHAIN_BIT


def chain_line(opening: Opening) -> tuple[float, float] | None:
    """Half width and half height of the drill-centre line, mm; None when a bit has no room.

    An opening too narrow for two rows gets one, along its middle.
    """
    off = chain_bit(opening) / 2 + CHAIN_INSET
    half = (opening.width / 2 - off, opening.height / 2 - off)
    if min(half) < 0:
        return None
    # Two rows nearer than a bit would run into each other.
    if 2 * min(half) < chain_bit(opening):
        return (half[0], 0.0) if half[0] >= half[1] else (0.0, half[1])
    return half


def chain_points(opening: Opening) -> tuple[Point, ...]:
    """Where to drill the chain of a rectangular opening, face frame, mm.

    Corners first, then evenly spread between them, none further apart than bit plus 0.75 mm.
    """
    half = chain_line(opening)
    if half is None:
        return ()
    w, h = half
    pitch = chain_bit(opening) + CHAIN_SPACE
    corners = [(-w, -h), (w, -h), (w, h), (-w, h)]
    if opening.cut is Cut.RIM_SLOT:
        # Only the bottom of a slot is drilled; its sides are sawn down from the rim.
        ends = corners[:2]
        legs = [(ends[0], ends[1])]
    elif min(w, h) == 0:
        ends = [(-w, -h), (w, h)]
        legs = [(ends[0], ends[1])]
    else:
        ends = corners
        legs = list(zip(corners, [*corners[1:], corners[0]], strict=True))
    points = list(dict.fromkeys(ends))
    for a, b in legs:
        count = math.ceil(math.dist(a, b) / pitch - 1e-9)
        for i in range(1, count):
            t = i / count
            points.append((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t))
    return tuple(local(opening, x, y) for x, y in points)


def draw_opening(sketch: Sketch, opening: Opening, face: Face) -> None:
    """Draw one opening: final line, sizes on the way, where to punch and drill."""
    if opening.cut in (Cut.ROUND, Cut.D_FLAT):
        _draw_round(sketch, opening, face)
    else:
        _draw_rectangle(sketch, opening, face)


def _draw_round(sketch: Sketch, opening: Opening, face: Face) -> None:
    centre, radius = (opening.across, opening.up), opening.diameter / 2
    operation = Operation.DRILL if opening.cut is Cut.ROUND else Operation.CUT
    sketch.add(operation, *as_items(outlines.outline(opening, face), pens.DRILL))
    sizes = {round(step.size, 3) for step in opening.steps if step.tool is not Tool.FILE}
    for size in sorted(sizes):
        if size < opening.diameter - _SAME:
            sketch.add(Operation.DRILL, Circle(centre, size / 2, pens.STEP))
    _cross(sketch, opening, radius + _ARM, radius + _ARM, _OPEN, _OPEN)


def _cross(
    sketch: Sketch, opening: Opening, right: float, high: float, in_x: float, in_y: float
) -> None:
    """Four arms along the opening's axes, from in_x (in_y) out to right (high), mm."""
    arms = (
        ((in_x, 0.0), (right, 0.0)),
        ((0.0, in_y), (0.0, high)),
        ((-in_x, 0.0), (-right, 0.0)),
        ((0.0, -in_y), (0.0, -high)),
    )
    for a, b in arms:
        sketch.add(Operation.MARK, Line(local(opening, *a), local(opening, *b), pens.CROSS))


def _draw_rectangle(sketch: Sketch, opening: Opening, face: Face) -> None:
    sketch.add(Operation.CUT, *as_items(outlines.outline(opening, face), pens.CUT))
    if opening.cut is not Cut.RIM_SLOT:
        w, h = opening.width / 2, opening.height / 2
        _cross(sketch, opening, w + _ARM, h + _ARM, max(w - 1.0, _OPEN), max(h - 1.0, _OPEN))
    half = chain_line(opening)
    if half is None:
        return
    sketch.add(Operation.MARK, _centre_line(opening, *half))
    radius = chain_bit(opening) / 2
    points = chain_points(opening)
    corners = 2 if opening.cut is Cut.RIM_SLOT or min(half) == 0 else 4
    for n, point in enumerate(points):
        if n < corners:
            sketch.add(Operation.DRILL, Circle(point, radius, pens.STEP))
        x, y = point
        sketch.add(
            Operation.MARK,
            Line((x - _TICK, y), (x + _TICK, y), pens.CROSS),
            Line((x, y - _TICK), (x, y + _TICK), pens.CROSS),
        )


def _centre_line(opening: Opening, w: float, h: float) -> Item:
    """The line the centres of the chain lie on."""
    if opening.cut is Cut.RIM_SLOT:
        return Line(local(opening, -w, -h), local(opening, w, -h), pens.CENTRE)
    if min(w, h) == 0:
        return Line(local(opening, -w, -h), local(opening, w, h), pens.CENTRE)
    corners = ((-w, -h), (w, -h), (w, h), (-w, h))
    return polygon(tuple(local(opening, *p) for p in corners), pens.CENTRE)
