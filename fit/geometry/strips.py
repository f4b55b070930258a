"""Where the copper strips of a board are cut, so that a screw or block joins no two of them.

Strips run along the rows, or along the columns where the board says so. What lies on the copper
side round a hole (the screw itself, the head or standoff, the block or bracket of a joint) may
touch several strips; each of these is cut at the nearest hole on either side. Safe side: blocks
are taken to be metal, and a strip counts as touched as soon as it comes under the thing at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.geometry.scene import Body, PlacedBoard, Scene
from fit.geometry.shapes import Block, Cylinder
from fit.model.part import Board
from fit.model.words import BoardStock, StripRun
from fit.units import PITCH

STRIP: Final = 2.2
"""Width of a copper strip, mm: a pitch less the gap of some 0.35 (common practice, no source)."""

CUT_AWAY: Final = PITCH / 2
"""Least distance of a cut's middle from what it keeps off, mm: half a pitch."""

_TOUCH = 0.05
_SAME = 1e-6


@dataclass(frozen=True, slots=True, order=True)
class StripCut:
    """One cut: at which hole, counted from 1 as on the component side."""

    row: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Contact:
    """What touches the copper: a circle (half sizes equal) or a rectangle, mm on the board."""

    x: float
    y: float
    half_x: float
    half_y: float
    round: bool

    def swapped(self) -> _Contact:
        """The same with the board's axes exchanged."""
        return _Contact(
            x=self.y, y=self.x, half_x=self.half_y, half_y=self.half_x, round=self.round
        )

    def reach(self, row_y: float) -> float | None:
        """Half of what it covers along a strip; None when it does not touch it."""
        away = max(0.0, abs(row_y - self.y) - STRIP / 2)
        if away >= self.half_y - _SAME:
            return None
        return math.sqrt(self.half_y**2 - away**2) if self.round else self.half_x


def strip_cuts(scene: Scene, placed: PlacedBoard) -> tuple[StripCut, ...]:
    """Every cut a board of strips needs, by row and column; none for other boards."""
    board = placed.board
    if board.stock is not BoardStock.STRIPS:
        return ()
    contacts = (*_holes(placed), *_bodies(scene, placed))
    long, wide = (holes_along(float(size)) for size in board.size)
    # Along the columns it is the same with rows and columns exchanged.
    across = board.strips is StripRun.COLUMNS
    if across:
        contacts = tuple(contact.swapped() for contact in contacts)
        long, wide = wide, long
    found: set[StripCut] = set()
    for strip in range(1, wide + 1):
        y = middle(strip)
        spans = [
            (c.x - half - CUT_AWAY, c.x + half + CUT_AWAY)
            for c in contacts
            if (half := c.reach(y)) is not None
        ]
        for low, high in _together(spans):
            ends = (math.floor(low / PITCH + 0.5 + _SAME), math.ceil(high / PITCH + 0.5 - _SAME))
            for hole in ends:
                cut = StripCut(hole, strip) if across else StripCut(strip, hole)
                if 1 <= hole <= long and not in_notch(board, middle(cut.column), middle(cut.row)):
                    found.add(cut)
    return tuple(sorted(found))


def middle(n: int) -> float:
    """Middle of hole column (or row) n, counted from 1, mm from the board's edge."""
    return (n - 0.5) * PITCH


def holes_along(length: float) -> int:
    """How many hole columns (or rows) have their middles on a board of that length, mm."""
    return math.floor(length / PITCH + 0.5 - _SAME)


def in_notch(board: Board, x: float, y: float) -> bool:
    """Whether a point of the board is cut away by a notch."""
    return any(n.x < x < n.x + n.width and n.y < y < n.y + n.depth for n in board.notches)


def _together(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spans of one strip; those without a hole between them to cut at become one."""
    merged: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if merged:
            before = merged[-1]
            first = math.ceil(before[1] / PITCH + 0.5 - _SAME)
            if middle(first) > low + _SAME:
                merged[-1] = (before[0], max(before[1], high))
                continue
        merged.append((low, high))
    return merged


def _holes(placed: PlacedBoard) -> Iterator[_Contact]:
    """Holes opened up: a screw may lie against their rim."""
    for hole in placed.holes:
        r = hole.diameter / 2
        yield _Contact(x=hole.x, y=hole.y, half_x=r, half_y=r, round=True)


def _bodies(scene: Scene, placed: PlacedBoard) -> Iterator[_Contact]:
    """Heads, standoffs and joints that lie against the copper."""
    under = -float(placed.board.thickness)
    parts = {zone.name for zone in placed.board.zones} | {"slab", "leads"}
    for body in scene.bodies:
        if body.owner != placed.name or body.name in parts:
            continue
        x, y, z = placed.pose.inside(body.pose.origin)
        half = _half(body)
        if half is None or abs(z + half[2] - under) > _TOUCH:
            continue
        yield _Contact(
            x=x, y=y, half_x=half[0], half_y=half[1], round=isinstance(body.shape, Cylinder)
        )


def _half(body: Body) -> tuple[float, float, float] | None:
    """Half of a body's size along the board's axes, along which joints and screws stand, mm."""
    if isinstance(body.shape, Cylinder):
        return body.shape.radius, body.shape.radius, body.shape.height / 2
    if isinstance(body.shape, Block):
        return body.shape.dx / 2, body.shape.dy / 2, body.shape.dz / 2
    return None
