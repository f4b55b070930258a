"""Fold-up nets of card with tabs to glue: boxes without a bottom, and angles."""

from __future__ import annotations

from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Line, Operation, Point, Sketch, Text, polygon
from fit.draw.tables import Block
from fit.draw.view import moved
from fit.trade.lettering import width

TAB: Final = 6.0
"""Depth of a tab to glue, mm, where there is room for it (common practice, no source)."""

_LINE = 3.4
_BELOW = 2.6


def box_net(name: str, w: float, d: float, h: float) -> Block:
    """The net of a box of card, open below, with tabs at its corners and at its foot.

    Args:
        name: printed on its top.
        w, d: size of its foot, mm.
        h: its height, mm.

    Raises:
        ValueError: when a size is not above 0.
    """
    if min(w, d, h) <= 0:
        raise ValueError(f"a box of {w:g} × {d:g} × {h:g} cannot be folded")
    sketch = Sketch(f"net of {name}")
    t = min(TAB, 0.45 * w, 0.45 * d)
    left, low = h + t, h + t
    outline = tuple((x + left, y + low) for x, y in _box_outline(w, d, h, t))
    sketch.add(Operation.CUT, polygon(outline, pens.CUT))
    folds = [
        Line((a[0] + left, a[1] + low), (b[0] + left, b[1] + low), pens.FOLD)
        for a, b in _box_folds(w, d, h)
    ]
    sketch.add(Operation.FOLD, *folds)
    full, high = w + 2 * (h + t), d + 2 * (h + t)
    size = f"{w:g} × {d:g} × {h:g}"
    return _named(sketch, (name, size), (left, low, w, d), (full, high))


def _box_outline(w: float, d: float, h: float, t: float) -> tuple[Point, ...]:
    """Round the net counter-clockwise from its top's lower left corner, the origin, down."""
    a, b, c = min(t, w / 3), min(t, d / 3), min(t, h / 3)
    return (
        (0, -h), (a, -h - t), (w - a, -h - t), (w, -h), (w, 0),
        (w + c, -t), (w + h - c, -t), (w + h, 0),
        (w + h + t, b), (w + h + t, d - b), (w + h, d),
        (w + h - c, d + t), (w + c, d + t), (w, d), (w, d + h),
        (w - a, d + h + t), (a, d + h + t), (0, d + h), (0, d),
        (-c, d + t), (-h + c, d + t), (-h, d),
        (-h - t, d - b), (-h - t, b), (-h, 0),
        (-h + c, -t), (-c, -t), (0, 0),
    )  # fmt: skip


def _box_folds(w: float, d: float, h: float) -> tuple[tuple[Point, Point], ...]:
    """Edges of the top, of the feet, of the corner tabs."""
    return (
        ((0, 0), (w, 0)), ((w, 0), (w, d)), ((w, d), (0, d)), ((0, d), (0, 0)),
        ((0, -h), (w, -h)), ((w + h, 0), (w + h, d)),
        ((w, d + h), (0, d + h)), ((-h, d), (-h, 0)),
        ((w, 0), (w + h, 0)), ((w, d), (w + h, d)),
        ((-h, 0), (0, 0)), ((-h, d), (0, d)),
    )  # fmt: skip


def angle_net(name: str, length: float, high: float, lift: float) -> Block:
    """A strip folded lengthways to a right angle, with a line where the standing board's edge is.

    Args:
        name: printed on its upright leg.
        length: of the strip, mm.
        high: of each leg, mm.
        lift: how far the standing board's edge is above the fold, mm; 0 for no line.
    """
    sketch = Sketch(f"angle of {name}")
    corners = ((0.0, 0.0), (length, 0.0), (length, 2 * high), (0.0, 2 * high))
    sketch.add(Operation.CUT, polygon(corners, pens.CUT))
    sketch.add(Operation.FOLD, Line((0.0, high), (length, high), pens.FOLD))
    if lift > 0.05:
        y = high + lift
        sketch.add(Operation.GUIDE, Line((0.0, y), (length, y), pens.GHOST))
    words = (f"{name}: angle", "this leg on the lying board")
    return _named(sketch, words, (0.0, 0.0, length, high), (length, 2 * high))


def _named(
    sketch: Sketch,
    words: tuple[str, str],
    room: tuple[float, float, float, float],
    size: tuple[float, float],
) -> Block:
    """Put two lines of words in a room of a net, or below the net where they do not go in."""
    x, y, w, h = room
    widest = max(width(line, pens.SMALL, n == 0) for n, line in enumerate(words))
    if widest + 2.0 <= w and h >= 2 * _LINE + 0.6:
        for n, line in enumerate(words):
            at = (x + w / 2, y + h / 2 + (0.5 - n) * _LINE)
            text = Text(at, line, pens.SMALL, Anchor.MIDDLE, 0.0, n == 0)
            sketch.add(Operation.NOTE, text)
        return Block(drawing=sketch.done(), width=size[0], height=size[1])
    lower = Sketch(sketch.name)
    rise = 2 * _LINE + _BELOW
    for layer in sketch.done().layers:
        lower.add(layer.operation, *(moved(item, 0.0, rise) for item in layer.items))
    for n, line in enumerate(words):
        at = (0.0, rise - _BELOW - (n + 0.7) * _LINE)
        lower.add(Operation.NOTE, Text(at, line, pens.SMALL, Anchor.LOWER_LEFT, 0.0, n == 0))
    return Block(drawing=lower.done(), width=max(size[0], widest), height=size[1] + rise)
