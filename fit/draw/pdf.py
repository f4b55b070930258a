"""Pages as PDF: vector, exact page size, the same bytes each run.

The only home of reportlab, which is loaded when a file is written. PDF counts in points of
1/72 inch; millimetres become points here and nowhere else.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, Any

from fit.draw.drawing import (
    DASHES,
    Arc,
    Circle,
    Drawing,
    Ink,
    Item,
    Line,
    Page,
    Path,
    Pen,
    Point,
    Text,
    bulge_arc,
)
from fit.trade.lettering import CAP, STRETCH, offset, printable

if TYPE_CHECKING:
    from collections.abc import Callable

POINTS = 72 / 25.4
"""Points in a millimetre."""

PDF_VERSION = (1, 6)
"""PrintScaling came with PDF 1.6 (ISO 32000-1, table 150)."""

_GREY = {Ink.BLACK: 0.0, Ink.DARK: 0.3, Ink.GREY: 0.45, Ink.WHITE: 1.0}
"""0 is black. All but white are nearer to black, so that a printer without shades prints them."""
_FONTS = {False: ("SheetLetters", "Vera.ttf"), True: ("SheetLettersBold", "VeraBd.ttf")}
_WIDEST_CURVE = 45.0
"""Degrees of arc per Bézier curve: its radius is then right to 5e-6."""


def pdf_bytes(pages: Sequence[Page], title: str) -> bytes:
    """Write pages as one PDF file.

    Args:
        pages: in printing order; each keeps its own paper size. At least one.
        title: for the document's properties.

    Returns:
        The file: PDF 1.6, viewer preference PrintScaling None, letters embedded.

    Raises:
        ValueError: when there is no page, because a PDF must have one.
    """
    from reportlab.pdfgen.canvas import Canvas

    if not pages:
        raise ValueError("a PDF needs at least one page")
    _load_fonts()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, invariant=1, pageCompression=1, pdfVersion=PDF_VERSION)
    canvas.setTitle(title)
    canvas.setCreator("fit")
    canvas.setAuthor("fit")
    canvas.setSubject("Print at 100 %, actual size")
    canvas.setViewerPreference("PrintScaling", "None")
    for number, page in enumerate(pages, start=1):
        canvas.setPageSize((page.width * POINTS, page.height * POINTS))
        canvas.bookmarkPage(f"sheet{number}")
        canvas.addOutlineEntry(page.title, f"sheet{number}")
        _stretch(canvas, page)
        for placed in page.drawings:
            _draw(canvas, placed.drawing, placed.x, placed.y)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _stretch(canvas: Any, page: Page) -> None:
    """Stretch what follows on the page about its middle."""
    x, y = page.stretch
    if page.stretch != (1.0, 1.0):
        dx, dy = page.width * (1 - x) / 2 * POINTS, page.height * (1 - y) / 2 * POINTS
        canvas.transform(x, 0, 0, y, dx, dy)


def _load_fonts() -> None:
    from reportlab.pdfbase.pdfmetrics import getRegisteredFontNames, registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    known = getRegisteredFontNames()
    for name, file in _FONTS.values():
        if name not in known:
            registerFont(TTFont(name, file))


def _draw(canvas: Any, drawing: Drawing, x: float, y: float) -> None:
    canvas.saveState()
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    for layer in drawing.layers:
        for key, items in groupby(layer.items, key=_style):
            if key is None:
                for item in items:
                    _lone(canvas, item, x, y)
            else:
                _strokes(canvas, key[0], key[1], items, x, y)
    canvas.restoreState()


def _style(item: Item) -> tuple[Pen, float] | None:
    """What neighbours must share to go into one stroke; None for items painted singly."""
    if isinstance(item, Text) or (isinstance(item, Path) and item.fill is not None):
        return None
    phase = item.phase if isinstance(item, Line | Arc) else 0.0
    return item.pen, phase


def _strokes(
    canvas: Any, pen: Pen, phase: float, items: Iterator[Item], x: float, y: float
) -> None:
    canvas.setStrokeGray(_GREY[pen.ink])
    canvas.setLineWidth(pen.width * POINTS)
    canvas.setDash([d * POINTS for d in DASHES[pen.style]], phase * POINTS)
    path = canvas.beginPath()
    for item in items:
        _trace(path, item, x, y)
    canvas.drawPath(path, stroke=1, fill=0)


def _lone(canvas: Any, item: Item, x: float, y: float) -> None:
    if isinstance(item, Text):
        _letters(canvas, item, x, y)
    elif isinstance(item, Path) and item.fill is not None:
        canvas.setFillGray(_GREY[item.fill])
        path = canvas.beginPath()
        _trace(path, item, x, y)
        canvas.drawPath(path, stroke=0, fill=1)


def _trace(path: Any, item: Item, x: float, y: float) -> None:
    if isinstance(item, Line):
        path.moveTo((item.start[0] + x) * POINTS, (item.start[1] + y) * POINTS)
        path.lineTo((item.end[0] + x) * POINTS, (item.end[1] + y) * POINTS)
    elif isinstance(item, Arc):
        start = item.at(item.start)
        path.moveTo((start[0] + x) * POINTS, (start[1] + y) * POINTS)
        _curves(path.curveTo, item, x, y)
    elif isinstance(item, Circle):
        (cx, cy), r = item.centre, item.radius
        path.moveTo((cx + r + x) * POINTS, (cy + y) * POINTS)
        _curves(path.curveTo, Arc(item.centre, r, 0.0, 360.0, item.pen), x, y)
        path.close()
    elif isinstance(item, Path):
        _closed(path, item, x, y)


def _closed(path: Any, item: Path, x: float, y: float) -> None:
    nodes = item.nodes
    path.moveTo((nodes[0].x + x) * POINTS, (nodes[0].y + y) * POINTS)
    for here, there in zip(nodes, nodes[1:] + nodes[:1], strict=True):
        if here.bulge:
            a, b = (here.x, here.y), (there.x, there.y)
            _curves(path.curveTo, bulge_arc(a, b, here.bulge, item.pen), x, y, here.bulge < 0)
        elif there is not nodes[0]:
            path.lineTo((there.x + x) * POINTS, (there.y + y) * POINTS)
    path.close()


def _curves(
    curve: Callable[..., None], arc: Arc, x: float, y: float, backwards: bool = False
) -> None:
    """An arc as Bézier curves of at most 45° each: handles of 4/3·tan(a/4) radii."""
    first, last = (arc.end, arc.start) if backwards else (arc.start, arc.end)
    count = max(1, math.ceil(abs(last - first) / _WIDEST_CURVE - 1e-9))
    step = math.radians((last - first) / count)
    handle = 4 / 3 * math.tan(step / 4) * arc.radius
    for i in range(count):
        a = math.radians(first) + i * step
        b = a + step
        p, q = arc.at(math.degrees(a)), arc.at(math.degrees(b))
        c1: Point = (p[0] - handle * math.sin(a), p[1] + handle * math.cos(a))
        c2: Point = (q[0] + handle * math.sin(b), q[1] - handle * math.cos(b))
        curve(*((v + (x, y)[k]) * POINTS for point in (c1, c2, q) for k, v in enumerate(point)))


def _letters(canvas: Any, text: Text, x: float, y: float) -> None:
    if text.halo:
        canvas.setFillGray(1.0)
        path = canvas.beginPath()
        corners = text.corners()
        path.moveTo((corners[0][0] + x) * POINTS, (corners[0][1] + y) * POINTS)
        for px, py in corners[1:]:
            path.lineTo((px + x) * POINTS, (py + y) * POINTS)
        path.close()
        canvas.drawPath(path, stroke=0, fill=1)
    dx, dy = offset(text.words, text.height, text.anchor.value, text.bold)
    c, s = math.cos(math.radians(text.turn)), math.sin(math.radians(text.turn))
    left, low = text.at[0] + x + dx * c - dy * s, text.at[1] + y + dx * s + dy * c
    canvas.setFillGray(0.0)
    words = canvas.beginText()
    words.setTextTransform(c, s, -s, c, left * POINTS, low * POINTS)
    words.setFont(_FONTS[text.bold][0], text.height / CAP * POINTS)
    words.setHorizScale(STRETCH * 100)
    words.textOut(printable(text.words))
    canvas.drawText(words)
