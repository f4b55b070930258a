"""What all gauges share: their names, their headings, scales along an edge, packing on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Drawing, Line, Operation, Point, Sketch, Text, polygon

WIDEST: Final = 174.0
"""Gauges are no wider, mm: an upright A4 sheet has room for that with the greatest correction."""

HEADING: Final = 14.5
"""Height kept above a gauge for its name and two lines of how to use it, mm."""

GAP: Final = 5.0
"""Between gauges, mm."""


class GaugeName(StrEnum):
    """The printed measuring aids."""

    RULES = "rules"
    HOLES = "holes"
    CIRCLES = "circles"
    SCREWS = "screws"
    THICKNESS = "thickness"
    INSIDE = "inside"
    DRAFT = "draft"
    RADIUS = "radius"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """One gauge, drawn with its lower left corner at the origin, mm."""

    name: GaugeName
    drawing: Drawing
    width: float
    height: float


def headed(
    sketch: Sketch, name: GaugeName, title: str, how: tuple[str, str], w: float, h: float
) -> Gauge:
    """Put a gauge's name and its two lines of use above what was drawn from 0 to ``h``."""
    y = h + HEADING - pens.TITLE
    sketch.add(Operation.NOTE, Text((0.0, y), title, pens.TITLE, bold=True))
    for line in how:
        y -= pens.TEXT * 1.65
        sketch.add(Operation.NOTE, Text((0.0, y), line, pens.TEXT))
    return Gauge(name=name, drawing=sketch.done(), width=w, height=h + HEADING)


def cut_box(sketch: Sketch, box: Box) -> None:
    """An upright rectangle to cut out."""
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    sketch.add(Operation.CUT, polygon(corners, pens.EDGE))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """An edge along which a scale runs.

    Attributes:
        start: where the scale's zero lies.
        degrees: direction in which it counts, counter-clockwise from x.
        left: True when its ticks stand on the left of that direction.
    """

    start: Point
    degrees: float
    left: bool = True

    def at(self, along: float, off: float) -> Point:
        """A point ``along`` mm from zero and ``off`` mm from the edge, on the ticks' side."""
        a = math.radians(self.degrees)
        side = off if self.left else -off
        return (
            self.start[0] + along * math.cos(a) - side * math.sin(a),
            self.start[1] + along * math.sin(a) + side * math.cos(a),
        )

    def tick(self, along: float, length: float) -> Line:
        """A tick from the edge inwards."""
        return Line(self.at(along, 0.0), self.at(along, length), pens.LEADER)


def ruled(
    sketch: Sketch,
    rail: Rail,
    *,
    step: float,
    length: float,
    ten: int = 10,
    mitre: bool = False,
    turn: float = 0.0,
) -> None:
    """A rule: a tick each step from zero on, longer each half and each whole ``ten``, numbered.

    Args:
        sketch: to draw on.
        rail: the edge; its zero is the edge's beginning and has no tick.
        step: mm from tick to tick.
        length: of the edge; the rule ends a little before, mm.
        ten: ticks from one number to the next.
        mitre: keep ticks near zero short, because another rule begins at the same corner.
        turn: degrees by which the numbers are turned.
    """
    for n in range(1, int((length - 0.5) / step) + 1):
        whole, half = n % ten == 0, ten % 2 == 0 and n % (ten // 2) == 0
        out = 5.0 if whole else 3.5 if half else 2.3
        along = n * step
        sketch.add(Operation.MARK, rail.tick(along, min(out, along * 0.85) if mitre else out))
        if whole and along < length - 2.5:
            sketch.add(Operation.NOTE, _numbered(rail, along, str(n), turn))


def _numbered(rail: Rail, along: float, words: str, turn: float) -> Text:
    """A number past the end of its tick; beside it on an upright edge."""
    if rail.degrees % 180 == 0:
        return Text(rail.at(along, 7.0), words, pens.TEXT, Anchor.MIDDLE, turn)
    rightwards = rail.at(along, 1.0)[0] > rail.start[0]
    anchor = Anchor.LEFT if rightwards is (turn == 0) else Anchor.RIGHT
    return Text(rail.at(along, 5.8), words, pens.TEXT, anchor, turn)


Shelved = tuple[Gauge, float, float]
"""A gauge and where its lower left corner lies in the room, mm."""


def shelves(gauges: Iterable[Gauge], w: float, h: float) -> list[list[Shelved]]:
    """Set gauges below each other, each on the first page that has room: pages of gauges.

    Raises:
        ValueError: when one is larger than the room; it is named.
    """
    pages: list[list[Gauge]] = []
    for gauge in gauges:
        if gauge.width > w + 1e-6 or gauge.height > h + 1e-6:
            raise ValueError(
                f"the gauge '{gauge.name}' needs {gauge.width:.0f} × {gauge.height:.0f} mm beside "
                "the check bars, more than this paper has"
            )
        for page in pages:
            if _height([*page, gauge]) <= h + 1e-6:
                page.append(gauge)
                break
        else:
            pages.append([gauge])
    return [_places(page, h) for page in pages]


def _height(page: Sequence[Gauge]) -> float:
    return sum(gauge.height for gauge in page) + GAP * (len(page) - 1)


def _places(page: Sequence[Gauge], h: float) -> list[Shelved]:
    """Gauges from the top down, with up to twice the gap between them."""
    air = min(GAP, (h - _height(page)) / max(1, len(page) - 1))
    found = []
    y = h
    for gauge in page:
        found.append((gauge, 0.0, y - gauge.height))
        y -= gauge.height + GAP + max(0.0, air)
    return found
