"""Rules that begin at a corner of the cut paper, and strips for inside widths."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Line, Operation, Sketch, Text
from fit.draw.gauges_frame import (
    WIDEST,
    Gauge,
    GaugeName,
    Rail,
    cut_box,
    headed,
    ruled,
)
from fit.units import PITCH

_STRIP: Final = 18.0
_CARD: Final = (120.0, 62.0)
_NARROW: Final = 24.0
_FREE: Final = 7.0
"""A scale ends so far before another one's edge, mm."""


def rules_gauge() -> Gauge:
    """A long strip, a card for corners and a strip for depths, in mm and in perfboard holes."""
    sketch = Sketch("rules")
    w, h = _CARD
    _strip(sketch, Box(0.0, h + 4.0, WIDEST, h + 4.0 + _STRIP))
    _corner_card(sketch, Box(0.0, 0.0, w, h))
    _depth_strip(sketch, Box(w + 8.0, 0.0, w + 8.0 + _NARROW, h))
    how = (
        "Cut out; zero is the cut corner itself, so push it into the corner of the box or board.",
        "One edge counts mm, the other perfboard holes of 2.54 mm. Narrow strip: depths, from its"
        " foot.",
    )
    return headed(sketch, GaugeName.RULES, "RULES FROM A CORNER", how, WIDEST, h + 4.0 + _STRIP)


def _strip(sketch: Sketch, box: Box) -> None:
    cut_box(sketch, box)
    top, low = (
        Rail(start=(box.x0, box.y1), degrees=0, left=False),
        Rail(start=(box.x0, box.y0), degrees=0),
    )
    ruled(sketch, top, step=1.0, length=box.width)
    ruled(sketch, low, step=PITCH, length=box.width, ten=5)
    _unit(sketch, top, "mm", 5.0)
    _unit(sketch, low, "holes", 2.5 * PITCH)


def _corner_card(sketch: Sketch, box: Box) -> None:
    """Zero of the mm at the lower left; turned by half a turn, zero of the holes lies there."""
    cut_box(sketch, box)
    mm = (box.x0, box.y0)
    holes = (box.x1, box.y1)
    wide, tall = box.width - _FREE, box.height - _FREE
    low, left = Rail(start=mm, degrees=0), Rail(start=mm, degrees=90, left=False)
    top, right = Rail(start=holes, degrees=180), Rail(start=holes, degrees=270, left=False)
    ruled(sketch, low, step=1.0, length=wide, mitre=True)
    ruled(sketch, left, step=1.0, length=tall, mitre=True)
    ruled(sketch, top, step=PITCH, length=wide, ten=5, mitre=True, turn=180)
    ruled(sketch, right, step=PITCH, length=tall, ten=5, mitre=True, turn=180)
    x, y = box.middle
    sketch.add(
        Operation.NOTE,
        Text((box.x0 + 13.0, box.y0 + 12.0), "mm", pens.TITLE, bold=True),
        Text((x, y - 6.0), "this corner: mm", pens.TEXT, Anchor.MIDDLE),
        Text((box.x1 - 13.0, box.y1 - 10.0), "holes", pens.TITLE, turn=180, bold=True),
        Text((x, y + 6.0), "this corner: perfboard holes", pens.TEXT, Anchor.MIDDLE, 180),
    )


def _depth_strip(sketch: Sketch, box: Box) -> None:
    cut_box(sketch, box)
    left = Rail(start=(box.x0, box.y0), degrees=90, left=False)
    right = Rail(start=(box.x1, box.y0), degrees=90)
    ruled(sketch, left, step=1.0, length=box.height)
    ruled(sketch, right, step=PITCH, length=box.height, ten=5)
    sketch.add(
        Operation.NOTE,
        Text((box.x0 + 7.5, box.y0 + 3.0), "mm", pens.SMALL, Anchor.MIDDLE),
        Text((box.x1 - 8.5, box.y0 + 3.0), "holes", pens.SMALL, Anchor.MIDDLE),
    )


def _unit(sketch: Sketch, rail: Rail, words: str, along: float) -> None:
    sketch.add(Operation.NOTE, Text(rail.at(along, 7.0), words, pens.SMALL, Anchor.MIDDLE))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Set:
    """One slide and the strips it goes with, mm."""

    slide: float
    strips: tuple[float, ...]


_SETS: Final = (
    _Set(slide=25.0, strips=(31.0, 46.0)),
    _Set(slide=50.0, strips=(56.0, 92.0, 128.0, 164.0)),
)
"""Chosen so that each strip begins to read before the next shorter one ends: 32 to 205 mm."""

_HIGH: Final = 13.5
_SLIDE_HIGH: Final = 6.5
_VERNIER: Final = 0.9
"""Ten divisions of 0.9 mm against 1 mm: the vernier reads tenths."""
_LOST: Final = 1.0
"""A slide must lie wholly on its strip, and a strip may not be longer than the box, mm."""


def reads(slide: float, strip: float) -> tuple[float, float]:
    """From which to which inside width a strip and its slide read, mm."""
    return strip + _LOST, strip + slide - 10 * _VERNIER


def inside_gauge() -> Gauge:
    """Two overlapping strips with a vernier, in several lengths."""
    sketch = Sketch("inside")
    rows: tuple[tuple[tuple[float, float], ...], ...] = (
        ((50.0, 164.0),),
        ((50.0, 128.0), (25.0, 31.0)),
        ((50.0, 92.0), (50.0, 56.0)),
        ((25.0, 46.0),),
    )
    pitch = _HIGH + 3.0
    h = pitch * len(rows) - 3.0
    y = h - _HIGH
    for row in rows:
        x = 0.0
        for slide, strip in row:
            _inside_strip(sketch, Box(x, y, x + strip, y + _HIGH), slide)
            x += strip + 4.0
        if row is rows[-1]:
            for slide in (25.0, 50.0):
                _slide(sketch, Box(x, y, x + slide, y + _SLIDE_HIGH), slide)
                x += slide + 4.0
        y -= pitch
    how = (
        "Left end of a strip against one wall; its slide, along the line, against the other.",
        "Read mm at the slide's left end, tenths at that line of the slide which meets a mark.",
    )
    return headed(sketch, GaugeName.INSIDE, "INSIDE WIDTHS, 32 TO 205 mm", how, WIDEST, h)


def _inside_strip(sketch: Sketch, box: Box, slide: float) -> None:
    """A strip whose left end touches one wall; it counts what strip and slide measure together."""
    cut_box(sketch, box)
    y = box.y0 + _SLIDE_HIGH
    sketch.add(Operation.MARK, Line((box.x0, y), (box.x1, y), pens.RULE))
    rail = Rail(start=(box.x0, y), degrees=0)
    for n in range(1, int(box.width)):
        told = n + int(slide)
        length = 3.4 if told % 10 == 0 else 2.6 if told % 5 == 0 else 1.8
        sketch.add(Operation.MARK, rail.tick(float(n), length))
        if told % 10 == 0 and 2.5 < n < box.width - 2.5:
            words = Text(rail.at(float(n), 4.9), str(told), pens.SMALL, Anchor.MIDDLE)
            sketch.add(Operation.NOTE, words)
    low, high = reads(slide, box.width)
    told_range = f"{low:.0f} to {high:.0f}, slide {slide:.0f}"
    at = (box.x0 + 2.0, box.y0 + _SLIDE_HIGH / 2)
    sketch.add(Operation.NOTE, Text(at, told_range, pens.SMALL, Anchor.LEFT))


def _slide(sketch: Sketch, box: Box, slide: float) -> None:
    """A slide: its right end touches the other wall, its left end is the vernier's zero."""
    cut_box(sketch, box)
    rail = Rail(start=(box.x0, box.y1), degrees=0, left=False)
    for n in range(1, 11):
        sketch.add(Operation.MARK, rail.tick(n * _VERNIER, 2.6 if n % 5 == 0 else 1.8))
    x, y = rail.at(5 * _VERNIER, 4.3)
    sketch.add(
        Operation.NOTE,
        Text((x, y), "5", pens.SMALL, Anchor.MIDDLE),
        Text(
            (box.x0 + 11.5, box.y0 + box.height / 2), f"slide {slide:.0f}", pens.SMALL, Anchor.LEFT
        ),
    )
