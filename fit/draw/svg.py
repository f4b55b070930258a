"""A drawing as SVG (SVG 1.1) at true size: mm in the file's own units, one group a layer.

Width, height and view box are in mm, so that 1 unit is 1 mm. The y axis of SVG runs down, so
heights are counted from the drawing's upper edge; no group is moved or mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from fit.draw.drawing import (
    DASHES,
    Arc,
    Box,
    Circle,
    Drawing,
    Ink,
    Item,
    Layer,
    Line,
    Operation,
    Path,
    Pen,
    Point,
    Text,
)
from fit.draw.dxf import LAYERS
from fit.trade.lettering import CAP, offset, printable, width

MARGIN: Final = 2.0
"""Free border round the drawing, mm, so that no pen is cut off."""

_WORDLESS: Final = frozenset({Operation.CUT, Operation.DRILL, Operation.EDGE})
"""Layers a machine may follow: no words there."""

_GREY: Final = {
    Ink.BLACK: "#000000",
    Ink.DARK: "#595959",
    Ink.GREY: "#999999",
    Ink.WHITE: "#ffffff",
}
_FONT: Final = "Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif"
_SAME = 1e-6


def svg_bytes(drawing: Drawing) -> bytes:
    """Write a drawing as SVG, the same bytes each run.

    Args:
        drawing: what to write; words on the layers a machine follows are left out.

    Returns:
        The file in UTF-8. Lines and arcs that go on from one another are one path.
    """
    box = (drawing.box() or Box(0.0, 0.0, 0.0, 0.0)).grown(MARGIN)
    w, h = _number(box.width), _number(box.height)
    sheet = _Sheet(box)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{w}mm" height="{h}mm" '
        f'viewBox="0 0 {w} {h}" fill="none" stroke-linecap="round" stroke-linejoin="round">',
        f"<title>{escape(drawing.name)}</title>",
        "<desc>1 unit is 1 mm. The drawing's own origin lies at "
        f"{sheet.words((0.0, 0.0))}, its heights count upwards.</desc>",
    ]
    for layer in drawing.layers:
        lines += _group(layer, sheet)
    lines.append("</svg>")
    return ("\n".join(lines) + "\n").encode()


class _Sheet:
    """Turns the drawing's coordinates into those of the file."""

    def __init__(self, box: Box) -> None:
        self._left, self._top = box.x0, box.y1

    def words(self, point: Point) -> str:
        """A point as ``x y``."""
        return f"{_number(point[0] - self._left)} {_number(self._top - point[1])}"

    def pair(self, point: Point) -> tuple[str, str]:
        """A point as its two numbers."""
        x, y = self.words(point).split()
        return x, y


def _number(value: float) -> str:
    """A number to a ten-thousandth, without needless zeros."""
    told = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if told == "-0" else told


def _group(layer: Layer, sheet: _Sheet) -> Iterator[str]:
    name = LAYERS[layer.operation].replace(" ", "-")
    yield f"<g id={quoteattr(name)}>"
    shapes = [i for i in layer.items if not isinstance(i, Text)]
    yield from _shapes(shapes, sheet)
    if layer.operation not in _WORDLESS:
        for item in layer.items:
            if isinstance(item, Text):
                yield from _words(item, sheet)
    yield "</g>"


def _shapes(items: Iterable[Item], sheet: _Sheet) -> Iterator[str]:
    """Each shape on a line of its own; open ones that follow one another joined."""
    run: list[Line | Arc] = []
    for item in items:
        if isinstance(item, Line | Arc):
            if run and (item.pen != run[-1].pen or not _follows(run[-1], item)):
                yield _run(run, sheet)
                run = []
            run.append(item)
            continue
        if run:
            yield _run(run, sheet)
            run = []
        if isinstance(item, Circle):
            x, y = sheet.pair(item.centre)
            yield f'<circle cx="{x}" cy="{y}" r="{_number(item.radius)}" {_pen(item.pen)}/>'
        elif isinstance(item, Path):
            yield _closed(item, sheet)
    if run:
        yield _run(run, sheet)


def _follows(one: Line | Arc, other: Line | Arc) -> bool:
    return math.dist(_end(one), _start(other)) < _SAME


def _start(item: Line | Arc) -> Point:
    return item.start if isinstance(item, Line) else item.at(item.start)


def _end(item: Line | Arc) -> Point:
    return item.end if isinstance(item, Line) else item.at(item.end)


def _run(run: list[Line | Arc], sheet: _Sheet) -> str:
    way = [f"M{sheet.words(_start(run[0]))}"]
    for item in run:
        if isinstance(item, Line):
            way.append(f"L{sheet.words(item.end)}")
            continue
        # An arc of a whole turn begins where it ends, which SVG would leave out: two halves.
        count = 2 if item.end - item.start > 180.0 + _SAME else 1
        step = (item.end - item.start) / count
        turns = [item.at(item.start + n * step) for n in range(1, count + 1)]
        way += [_arc(item.radius, step, to, sheet) for to in turns]
    return f'<path d="{" ".join(way)}" {_pen(run[0].pen)}/>'


def _arc(radius: float, sweep: float, to: Point, sheet: _Sheet) -> str:
    """An arc to a point, counter-clockwise for a sweep above 0 (y runs down: flag 0)."""
    r, large, flag = _number(radius), int(abs(sweep) > 180.0), int(sweep < 0)
    return f"A{r} {r} 0 {large} {flag} {sheet.words(to)}"


def _closed(path: Path, sheet: _Sheet) -> str:
    nodes = path.nodes
    way = [f"M{sheet.words((nodes[0].x, nodes[0].y))}"]
    for here, there in zip(nodes, nodes[1:] + nodes[:1], strict=True):
        to = (there.x, there.y)
        if here.bulge:
            chord = math.dist((here.x, here.y), to)
            radius = chord * (1 + here.bulge**2) / (4 * abs(here.bulge))
            way.append(_arc(radius, math.degrees(4 * math.atan(here.bulge)), to, sheet))
        elif there is not nodes[0]:
            way.append(f"L{sheet.words(to)}")
    look = f'fill="{_GREY[path.fill]}"' if path.fill is not None else _pen(path.pen)
    return f'<path d="{" ".join(way)} Z" {look}/>'


def _pen(pen: Pen) -> str:
    told = f'stroke="{_GREY[pen.ink]}" stroke-width="{_number(pen.width)}"'
    dashes = " ".join(_number(v) for v in DASHES[pen.style])
    return f'{told} stroke-dasharray="{dashes}"' if dashes else told


def _words(text: Text, sheet: _Sheet) -> Iterator[str]:
    """Words in the room the drawing keeps for them, whatever letters the viewer has."""
    if text.halo:
        corners = " ".join(sheet.words(p) for p in text.corners())
        yield f'<polygon points="{corners}" fill="#ffffff"/>'
    dx, dy = offset(text.words, text.height, text.anchor.value, text.bold)
    c, s = math.cos(math.radians(text.turn)), math.sin(math.radians(text.turn))
    x, y = sheet.pair((text.at[0] + dx * c - dy * s, text.at[1] + dx * s + dy * c))
    turn = f' transform="rotate({_number(-text.turn)} {x} {y})"' if text.turn else ""
    weight = ' font-weight="bold"' if text.bold else ""
    room = _number(width(text.words, text.height, text.bold))
    yield (
        f'<text x="{x}" y="{y}" fill="#000000" font-family="{_FONT}"{weight} '
        f'font-size="{_number(text.height / CAP)}" textLength="{room}" '
        f'lengthAdjust="spacingAndGlyphs"{turn}>{escape(printable(text.words))}</text>'
    )
