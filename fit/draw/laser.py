"""Outlines for a machine that burns or mills along them: its kerf made up for, holding tabs.

The beam runs half a kerf inside an opening's outline and half a kerf outside a board's, so that
the hole, or the board, comes out at its size. A tab is a stretch left uncut that holds the piece
until it is broken out by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fit.draw.cuts import as_items
from fit.draw.drawing import Item, Pen
from fit.geometry.offset import parallel
from fit.geometry.paths import ArcSeg, Circle, LineSeg, Outline, Segment

WIDEST_KERF: Final = 2.0
"""Largest kerf taken, mm: beyond that it is a router bit or a slip of the unit."""

LEAST_TABBED: Final = 10.0
"""Openings shorter than this across get no tabs, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tabs:
    """Holding tabs: how many to an outline, and how wide each comes out, mm."""

    count: int
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Laser:
    """What the machine needs: width of its kerf, mm, and holding tabs. By default nothing."""

    kerf: float = 0.0
    tabs: Tabs | None = None

    def named(self, name: str) -> str:
        """A drawing's name, with what was made up for."""
        told = [f"a kerf of {self.kerf:g} mm made up for"] if self.kerf else []
        told += [f"{self.tabs.count} tabs of {self.tabs.width:g} mm"] if self.tabs else []
        return ", ".join([name, *told])


BY_HAND: Final = Laser()
"""Outlines as they are, for a saw and a file."""


def opening_items(outline: Outline, pen: Pen, laser: Laser) -> tuple[Item, ...]:
    """The way round an opening, counter-clockwise: inside its line by half a kerf.

    Raises:
        NothingLeft: when the opening is narrower than the kerf.
    """
    return _items(parallel(outline, -laser.kerf / 2), pen, laser)


def piece_items(loop: Sequence[tuple[float, float]], pen: Pen, laser: Laser) -> tuple[Item, ...]:
    """The way round a piece with straight sides, or round a cut-out in it.

    Args:
        loop: corners with the piece on the left of the way round.
        pen: to draw with.
        laser: what the machine needs.

    Raises:
        NothingLeft: when a cut-out is narrower than the kerf.
    """
    sides = zip(loop, (*loop[1:], loop[0]), strict=True)
    outline = Outline(tuple(LineSeg(a, b) for a, b in sides))
    return _items(parallel(outline, laser.kerf / 2), pen, laser)


def _items(outline: Outline, pen: Pen, laser: Laser) -> tuple[Item, ...]:
    tabs = laser.tabs
    if tabs is None or not _large(outline) or not outline.closed:
        return as_items(outline, pen)
    # The beam takes half a kerf from a tab at both its ends.
    gap = tabs.width + laser.kerf
    pieces = [_cut_open(s) for s in outline.segments]
    whole = sum(_length(s) for s in pieces)
    if tabs.count * gap >= whole:
        return as_items(outline, pen)
    step = whole / tabs.count
    first = _middle_of_longest(pieces)
    gaps = [(first + n * step - gap / 2, first + n * step + gap / 2) for n in range(tabs.count)]
    after = [*(start for start, _ in gaps[1:]), gaps[0][0] + whole]
    chains = [_stretch(pieces, low, high) for (_, low), high in zip(gaps, after, strict=True)]
    return tuple(
        item for chain in chains for item in as_items(Outline(tuple(chain), closed=False), pen)
    )


def _large(outline: Outline) -> bool:
    points = [p for s in outline.segments for p in _corners(s)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return max(max(xs) - min(xs), max(ys) - min(ys)) >= LEAST_TABBED


def _corners(segment: Segment) -> tuple[tuple[float, float], ...]:
    if isinstance(segment, LineSeg):
        return segment.start, segment.end
    (x, y), r = segment.centre, segment.radius
    return (x - r, y - r), (x + r, y + r)


def _cut_open(segment: Segment) -> LineSeg | ArcSeg:
    """A full circle as an arc, begun at its lowest point."""
    if isinstance(segment, Circle):
        return ArcSeg(segment.centre, segment.radius, -90.0, 270.0)
    return segment


def _length(segment: LineSeg | ArcSeg) -> float:
    if isinstance(segment, LineSeg):
        return math.dist(segment.start, segment.end)
    return segment.radius * math.radians(segment.finish - segment.begin)


def _middle_of_longest(pieces: Sequence[LineSeg | ArcSeg]) -> float:
    """How far along the way round the middle of the longest piece lies, mm."""
    longest = max(range(len(pieces)), key=lambda n: round(_length(pieces[n]), 6))
    return sum(_length(s) for s in pieces[:longest]) + _length(pieces[longest]) / 2


def _stretch(pieces: Sequence[LineSeg | ArcSeg], low: float, high: float) -> list[Segment]:
    """The part of a way round from low to high mm along it; it may run on past its beginning."""
    found: list[Segment] = []
    begin = 0.0
    for piece in (*pieces, *pieces):
        length = _length(piece)
        a, b = max(low, begin), min(high, begin + length)
        if b - a > 1e-9:
            found.append(_part(piece, (a - begin) / length, (b - begin) / length))
        begin += length
    return found


def _part(piece: LineSeg | ArcSeg, low: float, high: float) -> LineSeg | ArcSeg:
    """A share of a piece, from low to high (0 to 1)."""
    if isinstance(piece, ArcSeg):
        sweep = piece.finish - piece.begin
        return ArcSeg(
            piece.centre, piece.radius, piece.begin + low * sweep, piece.begin + high * sweep
        )
    (ax, ay), (bx, by) = piece.start, piece.end
    return LineSeg(
        (ax + (bx - ax) * low, ay + (by - ay) * low), (ax + (bx - ax) * high, ay + (by - ay) * high)
    )
