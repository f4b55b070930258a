"""Wedges and notches: one slanting cut on each side gives a gauge for holes and one for shafts.

The wedge that falls out goes into a hole or a gap until it stops; the notch that stays is slid
over a shaft or a sheet until it stops. Both are read where they touch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Line, Operation, Point, Sketch, Text
from fit.draw.gauges_frame import Gauge, GaugeName, cut_box, headed
from fit.trade.lettering import width
from fit.units import show

_EDGE: Final = 8.0
"""Card left at the closed end, mm."""
_ABOVE: Final = 6.0
_BELOW: Final = 9.0
_LEAST: Final = 4.0
"""Width of a wedge from which on it has room for numbers, mm."""
_BETWEEN: Final = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wedge:
    """A wedge and its notch.

    Attributes:
        small, large: widths at its ends, mm.
        run: mm of length for each mm of width.
        step: mm of width from mark to mark.
        numbered: marks from one number to the next; half of them has a longer mark.
        round: the notch is for round things, which touch it a little before their widest place.
    """

    small: float
    large: float
    run: float
    step: float
    numbered: int
    round: bool

    @property
    def length(self) -> float:
        """From end to end, mm."""
        return (self.large - self.small) * self.run

    @property
    def sizes(self) -> tuple[tuple[int, float], ...]:
        """Every marked size in mm, with its number counted from zero in steps."""
        first, last = round(self.small / self.step), round(self.large / self.step)
        return tuple((n, n * self.step) for n in range(first, last + 1))

    def wide_at(self, size: float) -> float:
        """Where the wedge is as wide as a size, mm from its small end."""
        return (size - self.small) * self.run

    def touched_at(self, size: float) -> float:
        """Where a thing of a size touches the notch, mm from the small end.

        A circle of diameter d in a notch of half angle a touches it d/2 / tan a from the point
        where the sides would meet, measured along the side; a sheet's edge where it is as wide.
        """
        if not self.round:
            return self.wide_at(size)
        half = math.atan(1 / (2 * self.run))
        return size / 2 / math.tan(half) * math.cos(half) - self.small * self.run


HOLES: Final = (
    Wedge(small=0.9, large=13.3, run=13.0, step=0.1, numbered=10, round=True),
    Wedge(small=12.8, large=25.3, run=13.0, step=0.1, numbered=10, round=True),
)
THICKNESS: Final = (Wedge(small=0.4, large=6.7, run=25.0, step=0.05, numbered=10, round=False),)


def holes_gauge() -> Gauge:
    """Wedges for holes and notches for shafts, 1 to 25 mm in tenths."""
    how = (
        "Holes: push the wedge in until it stops; read at the face. Long marks are mm, short ones"
        " tenths.",
        "Shafts, wires, bits: slide the notch over them until it stops; read where they touch it.",
    )
    return _gauge(GaugeName.HOLES, "HOLES AND SHAFTS, 1 TO 25 mm", how, HOLES)


def thickness_gauge() -> Gauge:
    """A notch for sheets and walls and a wedge for gaps, 0.5 to 6.5 mm in twentieths."""
    how = (
        "Gaps, slots: push the wedge in until it stops; read at the face. Each mark is 0.05 mm.",
        "Sheet, walls: slide the notch over the edge until it stops; read there.",
    )
    return _gauge(GaugeName.THICKNESS, "THICKNESS AND GAPS, 0.5 TO 6.5 mm", how, THICKNESS)


def _gauge(name: GaugeName, title: str, how: tuple[str, str], wedges: tuple[Wedge, ...]) -> Gauge:
    sketch = Sketch(name.value)
    heights = [wedge.large + _ABOVE + _BELOW for wedge in wedges]
    h = sum(heights) + _BETWEEN * (len(wedges) - 1)
    w = max(wedge.length for wedge in wedges) + _EDGE
    y = h
    for wedge, high in zip(wedges, heights, strict=True):
        _wedge(sketch, wedge, Box(0.0, y - high, wedge.length + _EDGE, y))
        y -= high + _BETWEEN
    return headed(sketch, name, title, how, w, h)


def _wedge(sketch: Sketch, wedge: Wedge, card: Box) -> None:
    """A card with the wedge's outline in it, open on the right."""
    cut_box(sketch, card)
    axis = card.y0 + _BELOW + wedge.large / 2
    x = card.x0 + _EDGE
    ends = [(x, wedge.small / 2), (x + wedge.length, wedge.large / 2)]
    up: list[Point] = [(px, axis + half) for px, half in ends]
    low: list[Point] = [(px, axis - half) for px, half in ends]
    for a, b in ((up[0], up[1]), (low[0], low[1]), (up[0], low[0])):
        sketch.add(Operation.CUT, Line(a, b, pens.EDGE))
    words = "notch, and wedge that falls out"
    sketch.add(Operation.NOTE, Text((x, card.y1 - 4.0), words, pens.SMALL))
    for n, size in wedge.sizes:
        rank = 2 if n % wedge.numbered == 0 else int(n % (wedge.numbered // 2) == 0)
        _wedge_mark(sketch, wedge, (x, axis), size, rank)
        _notch_mark(sketch, wedge, (x, axis), size, rank)


def _wedge_mark(sketch: Sketch, wedge: Wedge, at: Point, size: float, rank: int) -> None:
    """A mark on the wedge, down from its upper side; right across it where a number stands."""
    x = at[0] + wedge.wide_at(size)
    if rank == 2 and 0.0 < x - at[0] < wedge.length - 0.1:
        a, b = (x, at[1] + size / 2), (x, at[1] - size / 2)
        sketch.add(Operation.MARK, Line(a, b, pens.LEADER))
        if size >= _LEAST:
            right = width(show(size), pens.SMALL) + 1.5 < at[0] + wedge.length - x
            where = (x + (0.7 if right else -0.7), at[1] - 0.45)
            anchor = Anchor.LEFT if right else Anchor.RIGHT
            sketch.add(Operation.NOTE, Text(where, show(size), pens.SMALL, anchor))
    elif rank < 2 and 0.1 < x - at[0] < wedge.length - 0.1:
        length = min((0.9, 1.4)[rank], size * 0.6)
        a, b = (x, at[1] + size / 2), (x, at[1] + size / 2 - length)
        sketch.add(Operation.MARK, Line(a, b, pens.LEADER))


def _notch_mark(sketch: Sketch, wedge: Wedge, at: Point, size: float, rank: int) -> None:
    """A mark on the card, down from the notch's lower side."""
    along = wedge.touched_at(size)
    if not 0.3 < along < wedge.length - 0.3:
        return
    x = at[0] + along
    y = at[1] - (wedge.small + along / wedge.run) / 2
    foot = (x, y - (1.3, 2.2, 3.4)[rank])
    sketch.add(Operation.MARK, Line((x, y), foot, pens.LEADER))
    if rank == 2:
        words = Text((x, foot[1] - 0.7), show(size), pens.SMALL, Anchor.UPPER)
        sketch.add(Operation.NOTE, words)
