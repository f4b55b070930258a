"""The sheet that tells how true a printer prints: read with a bank card alone, no rule needed."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from fit.draw import pens
from fit.draw.correction import LIMIT, Correction
from fit.draw.drawing import (
    Anchor,
    Box,
    Drawing,
    Line,
    Operation,
    Page,
    Point,
    Positioned,
    Sketch,
    Text,
)
from fit.draw.furniture import Heading, Lay, form, furniture
from fit.trade.lettering import width
from fit.trade.paper import PaperName, card
from fit.units import show

STEP: Final = 0.2
"""From mark to mark of the slanting scales, mm of printed card."""

_CROSS: Final = 6.0
"""How far the stops run past the card, mm."""
_SIZE: Final = (106.0, 74.0)
_LINE: Final = 4.4
_WIDTH_SCALE: Final = (4.0, 8.5)
_HEIGHT_SCALE: Final = (9.0, 19.0)
"""Where along the card's edge a scale begins, and its mm for each mm of printed card."""

_ASK: Final = (
    "1  Print at 100 %, actual size, on the paper and at the quality the sheets will have.",
    "2  Lay a bank card on the figure, its left and lower edges exactly along the two long lines.",
    "3  Read where the card's RIGHT edge crosses the slanting line: that is the printed width.",
    "4  Read where its UPPER edge crosses the other slanting line: that is the printed height.",
)
_TELL: Final = (
    "5  Give them to fit with a name for the printer, and print by that name from then on:",
    "     fit printer NAME --card WIDTHxHEIGHT",
    "     fit make BUILD --printer NAME",
    "With a good steel rule the two 100 mm bars do as well, the lower one first:",
    "     fit printer NAME --bars ACROSS ALONG",
    "Put the paper in the same way every time. Lying sheets go in turned and are corrected so.",
)
_CHECK: Final = (
    "This sheet is corrected: a card laid on it must read 85.6 and 54, whatever the printer.",
    "Do not enter what it reads: measure a sheet that was printed without correction.",
)


def reading_at(true: float, printed: float) -> float:
    """Where a mark must be drawn so that a card's edge tells the size of its printed outline, mm.

    A print that makes ``true`` into ``printed`` makes a point drawn at true²/printed lie ``true``
    mm from the stop, which is where the real card's edge is.
    """
    return true * true / printed


def readings(true: float) -> tuple[float, ...]:
    """The printed sizes that are marked: what the greatest correction covers, mm."""
    first = math.floor(true / (1 + LIMIT) / STEP)
    last = math.ceil(true / (1 - LIMIT) / STEP)
    return tuple(n * STEP for n in range(first, last + 1))


def printer_page(paper: PaperName, fingerprint: str, correction: Correction | None = None) -> Page:
    """Draw the test sheet; with a correction, a sheet that proves it.

    Raises:
        ValueError: when the paper is too small for it.
    """
    on = form(paper, Lay.UPRIGHT, correction)
    lines = (*_ASK, *(_CHECK if correction else _TELL))
    below = on.free.height - len(lines) * _LINE
    widest = max(_SIZE[0], *(width(line, pens.TEXT) for line in lines))
    if on.free.width < widest or below < _SIZE[1]:
        raise ValueError(f"{on.name} paper is too small for the printer test; use A4 or Letter")
    view = "corrected, to be checked" if correction else "to be read with a bank card"
    facts = (
        "x runs across the upright paper, y along it.",
        "A card is true to about 0.15 %, a reading to 0.1 mm.",
    )
    heading = Heading(
        build="Printer test",
        view=view,
        lines=(correction.words(on.stretch), *facts) if correction else facts,
        fingerprint=fingerprint,
        sheet=1,
        of=1,
    )
    drawn = _figure()
    x = on.free.x0 + (on.free.width - _SIZE[0]) / 2 + _CROSS
    y = on.free.y0 + (below - _SIZE[1]) / 2 + _CROSS
    words = _told(lines, on.free)
    return Page(
        title="printer test",
        width=on.width,
        height=on.height,
        drawings=(
            Positioned(drawing=words, x=0.0, y=0.0),
            Positioned(drawing=drawn, x=x, y=y),
            Positioned(drawing=furniture(on, heading), x=0.0, y=0.0),
        ),
        stretch=on.stretch,
    )


def _told(lines: tuple[str, ...], free: Box) -> Drawing:
    sketch = Sketch("what to do")
    for n, line in enumerate(lines):
        at = (free.x0, free.y1 - pens.TEXT - n * _LINE)
        bold = line.startswith("  ")
        sketch.add(Operation.NOTE, Text(at, line, pens.TEXT, bold=bold))
    return sketch.done()


def _figure() -> Drawing:
    """Two stops for a card's left and lower edge, and slanting scales at its other two."""
    sketch = Sketch("card figure")
    w, h = card().w, card().h
    sketch.add(
        Operation.MARK,
        Line((0.0, -_CROSS), (0.0, h + _CROSS), pens.EDGE),
        Line((-_CROSS, 0.0), (w + _CROSS, 0.0), pens.EDGE),
    )
    _scale(sketch, w, _WIDTH_SCALE, upright=True)
    _scale(sketch, h, _HEIGHT_SCALE, upright=False)
    says = (
        ("bank card", pens.TITLE, 4.0),
        ("left and lower edge on the long lines", pens.TEXT, -2.0),
    )
    for words, size, dy in says:
        at = (w / 2 - 4.0, h / 2 - 3.0 + dy)
        sketch.add(Operation.NOTE, Text(at, words, size, Anchor.MIDDLE))
    return sketch.done()


def _scale(sketch: Sketch, true: float, scale: tuple[float, float], *, upright: bool) -> None:
    """A line that slants across a card's edge, marked with the printed sizes it tells."""
    marks = readings(true)

    def at(size: float, out: float) -> Point:
        along = scale[0] + (size - marks[0]) * scale[1]
        across = reading_at(true, size) + out
        return (across, along) if upright else (along, across)

    for a, b in pairwise(marks):
        sketch.add(Operation.MARK, Line(at(a, 0.0), at(b, 0.0), pens.CROSS))
    for size in marks:
        whole = abs(size - round(size)) < STEP / 2
        sketch.add(
            Operation.MARK, Line(at(size, 0.0), at(size, 4.0 if whole else 2.0), pens.LEADER)
        )
        if whole:
            anchor = Anchor.LEFT if upright else Anchor.LOWER
            words = Text(at(size, 4.6), show(size, 0), pens.TEXT, anchor)
            sketch.add(Operation.NOTE, words)
    x, y = at(marks[-1], 4.0)
    turn, place = (90.0, (true + 16.0, true * 0.3)) if upright else (0.0, (x + 12.0, y - 1.0))
    name = "WIDTH" if upright else "HEIGHT"
    sketch.add(Operation.NOTE, Text(place, name, pens.TEXT, Anchor.MIDDLE, turn, True))
