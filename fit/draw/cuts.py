"""How an opening is drawn: final line, punch cross, sizes on the way, chain of holes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

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
    around,
    join,
)
from fit.draw.waste import CHAIN_BIT as CHAIN_BIT
from fit.draw.waste import NO_SHOP, Shop, Waste, waste_of
from fit.geometry import paths
from fit.geometry.box import Face
from fit.geometry.frames import Pose
from fit.geometry.grille import grille_groups
from fit.geometry.paths import ArcSeg, Outline
from fit.geometry.scene import Cut, Opening, Role
from fit.trade.drills import Tool

_ARM = 2.5
"""How far the arms of a cross reach past the hole, mm."""
_OPEN = 0.5
"""Half the open middle of a cross, where the punch goes, mm."""
_TICK = 0.6
_SAME = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """What has one number on a sheet: an opening, or all the holes of a grille."""

    number: int
    openings: tuple[Opening, ...]

    @property
    def opening(self) -> Opening:
        """The opening, or the first of several alike."""
        return self.openings[0]

    @property
    def box(self) -> Box:
        """The upright box round it, mm."""
        return join([reach(opening) for opening in self.openings])

    @property
    def middle(self) -> Point:
        """Its middle in the face frame, mm."""
        if len(self.openings) == 1:
            return self.opening.across, self.opening.up
        return self.box.middle

    @property
    def pattern(self) -> bool:
        """Whether it is a pattern of holes."""
        return self.opening.role is Role.VENT


def numbered(openings: tuple[Opening, ...]) -> tuple[Numbered, ...]:
    """A face's openings with their numbers on the sheet: from left to right, then downwards."""
    groups = [Numbered(number=0, openings=group) for group in grille_groups(openings)]
    order = sorted(groups, key=lambda g: (round(g.middle[0], 3), -g.middle[1]))
    return tuple(replace(group, number=n) for n, group in enumerate(order, start=1))


def local(opening: Opening, x: float, y: float) -> Point:
    """A point given along the opening's own axes from its middle, in the face frame, mm."""
    # A slot open to the rim has no turn, as its outline has none.
    turn = 0.0 if opening.cut is Cut.RIM_SLOT else opening.turn
    spot = Pose((opening.across, opening.up, 0.0)).turned(turn).point((x, y, 0.0))
    return spot[0], spot[1]


def as_items(outline: Outline, pen: Pen) -> tuple[Item, ...]:
    """An exact outline as drawing items: a closed one as one circle or path."""
    segments = outline.segments
    if outline.closed and not any(isinstance(s, paths.Circle) for s in segments):
        nodes = [node for segment in segments for node in _nodes(segment)]
        return (Path(tuple(nodes), pen),)
    return tuple(_as_item(segment, pen) for segment in segments)


def _nodes(segment: paths.Segment) -> Iterator[Node]:
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
    elif not isinstance(segment, paths.Circle):
        yield Node(*segment.start)


def _as_item(segment: paths.Segment, pen: Pen) -> Item:
    if isinstance(segment, paths.Circle):
        return Circle(segment.centre, segment.radius, pen)
    if isinstance(segment, ArcSeg):
        return Arc(segment.centre, segment.radius, segment.begin, segment.finish, pen)
    return Line(segment.start, segment.end, pen)


def reach(opening: Opening) -> Box:
    """The upright box round an opening, mm."""
    if opening.drilled:
        r = max(opening.diameter, opening.sink) / 2
        box = Box(opening.across - r, opening.up - r, opening.across + r, opening.up + r)
        if opening.cut is not Cut.KEYED:
            return box
        w, top = opening.width / 2, r + opening.height
        return join([box, around([local(opening, -w, top), local(opening, w, top)])])
    w, h = opening.width / 2, opening.height / 2
    corners = [local(opening, x, y) for x, y in ((-w, -h), (w, -h), (w, h), (-w, h))]
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return Box(min(xs), min(ys), max(xs), max(ys))


def chain_points(opening: Opening, shop: Shop = NO_SHOP) -> tuple[Point, ...]:
    """Where to drill to take out the waste of a rectangular opening or slot, face frame, mm.

    Those in corners or at ends first; none when a bit has no room.
    """
    waste = waste_of(opening, shop)
    return () if waste is None else tuple(local(opening, x, y) for x, y in waste.holes)


def draw_opening(sketch: Sketch, opening: Opening, face: Face, shop: Shop = NO_SHOP) -> None:
    """Draw one opening: final line, sizes on the way, where to punch and drill."""
    if opening.drilled:
        _draw_round(sketch, opening, face)
    else:
        _draw_rectangle(sketch, opening, face, shop)


def _draw_round(sketch: Sketch, opening: Opening, face: Face) -> None:
    centre, radius = (opening.across, opening.up), opening.diameter / 2
    operation = Operation.DRILL if opening.cut is Cut.ROUND else Operation.CUT
    sketch.add(operation, *as_items(paths.outline(opening, face), pens.DRILL))
    sizes = {round(step.size, 3) for step in opening.steps if step.tool is not Tool.FILE}
    for size in sorted(sizes):
        if size < opening.diameter - _SAME:
            sketch.add(Operation.DRILL, Circle(centre, size / 2, pens.STEP))
    if opening.sink > 0:
        sketch.add(Operation.DRILL, Circle(centre, opening.sink / 2, pens.STEP))
        radius = max(radius, opening.sink / 2)
    if opening.role is Role.VENT:
        # One of many near each other: a full cross would run into the next hole.
        _ticks(sketch, centre)
        return
    key = opening.height if opening.cut is Cut.KEYED else 0.0
    _cross(sketch, opening, radius + _ARM, radius + _ARM + key, _OPEN, _OPEN)


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


def _draw_rectangle(sketch: Sketch, opening: Opening, face: Face, shop: Shop) -> None:
    sketch.add(Operation.CUT, *as_items(paths.outline(opening, face), pens.CUT))
    if opening.cut is Cut.RECTANGLE:
        w, h = opening.width / 2, opening.height / 2
        _cross(sketch, opening, w + _ARM, h + _ARM, max(w - 1.0, _OPEN), max(h - 1.0, _OPEN))
    waste = waste_of(opening, shop)
    if waste is not None:
        _draw_waste(sketch, opening, waste)


def _draw_waste(sketch: Sketch, opening: Opening, waste: Waste) -> None:
    """The line of centres, or of the saw; holes in corners as circles, the others as crosses."""
    sketch.add(Operation.MARK, *_waste_line(opening, waste))
    circles = [(p, waste.bit) for p in waste.holes[: waste.marked]]
    if opening.cut is Cut.OBLONG:
        circles = []  # the final line shows them
    circles += [(p, waste.relief_bit) for p in waste.relief]
    if waste.entry is not None:
        circles.append((waste.entry, waste.entry_size))
    for point, size in circles:
        sketch.add(Operation.DRILL, Circle(local(opening, *point), size / 2, pens.STEP))
    spots = [*waste.holes, *((waste.entry,) if waste.entry is not None else ())]
    for point in spots:
        _ticks(sketch, local(opening, *point))


def _ticks(sketch: Sketch, at: Point) -> None:
    """A small cross where a hole is punched."""
    x, y = at
    sketch.add(
        Operation.MARK,
        Line((x - _TICK, y), (x + _TICK, y), pens.CROSS),
        Line((x, y - _TICK), (x, y + _TICK), pens.CROSS),
    )


def _waste_line(opening: Opening, waste: Waste) -> tuple[Item, ...]:
    nodes = tuple(Node(*local(opening, node.x, node.y), node.bulge) for node in waste.line)
    if waste.closed:
        return (Path(nodes, pens.CENTRE),)
    (a, b) = nodes
    return (Line((a.x, a.y), (b.x, b.y), pens.CENTRE),) if a != b else ()
