"""Marks that tell which edge is which and which way is up in use."""

from __future__ import annotations

import math

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Ink, Item, Line, Point, Text, polygon
from fit.draw.view import Mark
from fit.trade.lettering import ASCENT, DESCENT, width

_FAR = 1.6
"""Distance of an edge's name from the edge, mm."""
_SHARES = (0.25, 0.75, 0.5, 0.12, 0.88, 0.38, 0.62, 0.05, 0.95, 0.18, 0.82, 0.44, 0.56)
"""Where along an edge its name is tried."""
_SHAFT = 13.0
_HEAD = 4.0


def edge_name(
    words: str, a: Point, b: Point, middle: Point, *, bold: bool = False, upright: bool = False
) -> Mark:
    """The name of an edge that runs from a to b, outside the outline whose middle is given.

    It stands beside the edge, at a quarter of it if that is free; `upright` writes it from below
    upwards, which is also tried where it does not go level.
    """
    size = pens.TEXT
    w, h = width(words, size, bold), size * (ASCENT + DESCENT)
    text = Text((0.0, DESCENT * size), words, size, Anchor.LOWER_LEFT, 0.0, bold, True)
    if upright:
        w, h = h, w
        text = Text((ASCENT * size, 0.0), words, size, Anchor.LOWER_LEFT, 90.0, bold, True)
    away = math.dist(a, b) or 1.0
    nx, ny = (b[1] - a[1]) / away, (a[0] - b[0]) / away
    if (a[0] - middle[0]) * nx + (a[1] - middle[1]) * ny < 0:
        nx, ny = -nx, -ny
    places = []
    for share in _SHARES:
        x, y = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        # The nearest point of the words' box lies _FAR outside the edge.
        half = abs(nx) * w / 2 + abs(ny) * h / 2 + _FAR
        places.append((x + nx * half - w / 2, y + ny * half - h / 2))
    steep = abs(b[1] - a[1]) > abs(b[0] - a[0])
    instead = None
    if steep and not upright:
        instead = edge_name(words, a, b, middle, bold=bold, upright=True)
    return Mark(items=(text,), size=(w, h), places=tuple(places), instead=instead)


def up_arrow(direction: Point, about: Box) -> Mark:
    """An arrow with the words UP IN USE, pointing along the nearest quarter turn.

    Args:
        direction: up in use, in the view.
        about: the outline's box, beside which it looks for a place.
    """
    level = abs(direction[0]) > abs(direction[1])
    size = pens.TEXT
    words = ("UP", "IN USE")
    w_text = max(width(w, size, True) for w in words)
    if level:
        items = _arrow((0.0, 8.5), (_SHAFT, 0.0), direction[0] > 0)
        items += _two_lines(words, 0.0, 0.8, size)
        room = (max(_SHAFT, w_text), 10.5)
    else:
        items = _arrow((2.0, 0.0), (0.0, _SHAFT), direction[1] > 0)
        items += _two_lines(words, 5.0, 3.5, size)
        room = (5.0 + w_text, _SHAFT)
    return Mark(items=items, size=room, places=_round_outline(about, *room))


def _two_lines(words: tuple[str, str], x: float, y: float, size: float) -> tuple[Item, ...]:
    return tuple(
        Text((x, y + (1 - n) * 1.6 * size), line, size, Anchor.LOWER_LEFT, 0.0, True, True)
        for n, line in enumerate(words)
    )


def _arrow(at: Point, along: Point, forwards: bool) -> tuple[Item, ...]:
    tail, tip = at, (at[0] + along[0], at[1] + along[1])
    if not forwards:
        tail, tip = tip, tail
    length = math.dist(tail, tip)
    ux, uy = (tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length
    neck = (tip[0] - ux * _HEAD, tip[1] - uy * _HEAD)
    half = _HEAD * 0.38
    head = (
        tip,
        (neck[0] - uy * half, neck[1] + ux * half),
        (neck[0] + uy * half, neck[1] - ux * half),
    )
    return (Line(tail, neck, pens.FRAME), polygon(head, pens.FRAME, Ink.BLACK))


def _round_outline(about: Box, w: float, h: float) -> tuple[Point, ...]:
    """Places beside an outline: right, left, above, below, then in its corners."""
    far = 4.0
    shares = (0.5, 0.8, 0.2)
    right = [(about.x1 + far, about.y0 + (about.height - h) * s) for s in shares]
    left = [(about.x0 - far - w, about.y0 + (about.height - h) * s) for s in shares]
    across = (0.9, 0.1, 0.7, 0.3, 0.5)
    above = [(about.x0 + (about.width - w) * s, about.y1 + far) for s in across]
    below = [(about.x0 + (about.width - w) * s, about.y0 - far - h) for s in across]
    x0, y0, x1, y1 = about.x0 + far, about.y0 + far, about.x1 - far - w, about.y1 - far - h
    within = [(x1, y1), (x0, y1), (x0, y0), (x1, y0)]
    return (*right, *left, *above, *below, *within)
