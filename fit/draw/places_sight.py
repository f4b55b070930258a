"""How a view lies on paper: turned the way up it has in use, and made smaller."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

from fit.draw.drawing import Arc, Box, Circle, Item, Line, Node, Path, Pen, Point, Text, around

_RIGHT_AND_UP: Final = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}
"""The viewer's right in the view's own frame, by how far it is turned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """From a view's own frame to the paper.

    Attributes:
        quarter: how far the viewer's right is turned against the frame's x, degrees
            counter-clockwise: 0, 90, 180 or 270.
        scale: paper mm for one mm.
    """

    quarter: int = 0
    scale: float = 1.0

    def point(self, point: Point) -> Point:
        """A point on paper, mm."""
        c, s = _RIGHT_AND_UP[self.quarter]
        x, y = point
        return ((x * c + y * s) * self.scale, (y * c - x * s) * self.scale)

    def box(self, box: Box) -> Box:
        """An upright box on paper, mm."""
        return around((self.point((box.x0, box.y0)), self.point((box.x1, box.y1))))

    def item(self, item: Item, pen: Pen | None = None) -> Item:
        """A line or outline on paper, with its own pen or another.

        Raises:
            TypeError: for words, which are set on paper and not made smaller.
        """
        if isinstance(item, Text):
            raise TypeError("words are set on paper, not made smaller")
        pen = pen or item.pen
        if isinstance(item, Line):
            return Line(self.point(item.start), self.point(item.end), pen)
        if isinstance(item, Circle):
            return Circle(self.point(item.centre), item.radius * self.scale, pen)
        if isinstance(item, Arc):
            start, end = item.start - self.quarter, item.end - self.quarter
            return Arc(self.point(item.centre), item.radius * self.scale, start, end, pen)
        nodes = (Node(*self.point((n.x, n.y)), n.bulge) for n in item.nodes)
        return Path(tuple(nodes), pen, item.fill)


def painted(item: Circle | Path, pen: Pen) -> tuple[Path, Path]:
    """An outline that hides what was drawn before: its white ground, then its line."""
    from fit.draw.drawing import Ink

    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        half = math.tan(math.radians(180) / 4)
        item = Path((Node(x - r, y, half), Node(x + r, y, half)), pen)
    return replace(item, pen=pen, fill=Ink.WHITE), replace(item, pen=pen, fill=None)
