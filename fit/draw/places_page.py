"""The paper under small pictures: scale, rows of views, heading, one file of several pages."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Box,
    Drawing,
    Line,
    Operation,
    Page,
    Sketch,
    Text,
    polygon,
)
from fit.draw.svg import svg_bytes
from fit.draw.view import moved
from fit.trade.lettering import ascent, shorten, width
from fit.trade.paper import PaperName, paper
from fit.units import show

SCALES: Final = (
    *(1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0),
    *(10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0),
)
"""So many true mm to one on paper, the largest picture first."""

MARGIN: Final = 10.0
"""Nothing is drawn nearer to the edge of the paper, mm."""

LINE: Final = 3.4
"""Height of a line of small words, mm."""

HEAD: Final = 19.4
"""Height of the heading, mm."""

_BETWEEN = 8.0
"""Between two pages in one picture, mm."""


class TooSmall(ValueError):
    """The paper is too small for the picture at any scale."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What stands at the top: the build, what is said of it, the scale, how to read it."""

    name: str
    caption: str
    scale: float
    how: str


def scale_words(scale: float) -> str:
    """A scale as it is written: ``1:2``."""
    return f"1:{show(scale)}"


def sizes(name: PaperName) -> tuple[tuple[float, float], tuple[float, float]]:
    """A paper's width and height, upright and lying, mm."""
    size = paper(name)
    return (size.w, size.h), (size.h, size.w)


def free_room(size: tuple[float, float], foot: float) -> Box:
    """What is left between heading and foot, mm."""
    w, h = size
    return Box(MARGIN, MARGIN + foot, w - MARGIN, h - MARGIN - HEAD - 2.0)


def heading(said: Heading, size: tuple[float, float]) -> Drawing:
    """The heading of a page, mm from its lower left corner."""
    w, h = size
    left, right, top = MARGIN, w - MARGIN, h - MARGIN
    scale = f"Scale {scale_words(said.scale)}, not for drilling"
    sketch = Sketch("heading")
    scale_room = width(scale, pens.TITLE, True) + 5.0
    name = shorten(said.name, pens.NAME, right - left - scale_room, True)
    caption = shorten(said.caption, pens.TITLE, right - left)
    how = shorten(said.how, pens.SMALL, right - left)
    base = top - pens.NAME * ascent(name) - 0.1
    sketch.add(
        Operation.FRAME,
        Text((left, base), name, pens.NAME, Anchor.LOWER_LEFT, 0.0, True),
        Text((right, base), scale, pens.TITLE, Anchor.LOWER_RIGHT, 0.0, True),
        Text((left, base - 6.2), caption, pens.TITLE),
        Text((left, base - 10.6), how, pens.SMALL),
        Line((left, top - HEAD + 2.0), (right, top - HEAD + 2.0), pens.RULE),
    )
    return sketch.done()


def in_rows(rooms: Sequence[tuple[float, float]], into: Box, gap: float) -> tuple[Box, ...] | None:
    """Rooms side by side in rows, in order; None when they do not go in.

    Of all ways to break the row the lowest is taken. What is left over is shared out evenly.

    Args:
        rooms: width and height of each, mm.
        into: where they go.
        gap: least space between two, mm.
    """
    best: tuple[float, tuple[int, ...]] | None = None
    count = len(rooms)
    for breaks in itertools.product((False, True), repeat=count - 1):
        ends = (*(n for n, cut in enumerate(breaks, start=1) if cut), count)
        rows = list(itertools.pairwise((0, *ends)))
        widest = max(sum(w for w, _ in rooms[a:b]) + gap * (b - a - 1) for a, b in rows)
        height = sum(max(h for _, h in rooms[a:b]) for a, b in rows) + gap * (len(rows) - 1)
        fits = widest <= into.width + 1e-9 and height <= into.height + 1e-9
        if fits and (best is None or height < best[0] - 1e-9):
            best = height, ends
    if best is None:
        return None
    height, ends = best
    rows = list(itertools.pairwise((0, *ends)))
    more_up = (into.height - height) / len(rows)
    found: list[Box] = []
    y = into.y1
    for a, b in rows:
        row = rooms[a:b]
        more = (into.width - sum(w for w, _ in row) - gap * (b - a - 1)) / len(row)
        low = y - max(h for _, h in row) - more_up
        x = into.x0
        for w, _ in row:
            found.append(Box(x, low, x + w + more, y - more_up / 2))
            x += w + more + gap
        y = low - gap
    return tuple(found)


def stacked(pages: Sequence[Page], name: str) -> bytes:
    """Pages below one another as one SVG picture; the edge of the paper is drawn round several."""
    sketch = Sketch(name)
    y = 0.0
    for page in pages:
        y -= page.height
        if len(pages) > 1:
            box = Box(0.0, y, page.width, y + page.height)
            corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
            sketch.add(Operation.GUIDE, polygon(corners, pens.GRID))
        for placed in page.drawings:
            for layer in placed.drawing.layers:
                items = (moved(item, placed.x, placed.y + y) for item in layer.items)
                sketch.add(layer.operation, *items)
        y -= _BETWEEN
    return svg_bytes(sketch.done())
