"""Putting rectangles on a sheet: views from the top, lists from the bottom, nothing overlapping.

The free room is kept as the largest upright rectangles that are still empty; each item goes to
the best corner of one of them. A few rules of thumb, not an optimum: sheets carry a handful of
things.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from fit.draw.drawing import Box

_SLACK = 1e-6


class Pull(StrEnum):
    """Where an item wants to be."""

    TOP = "top"
    BOTTOM = "bottom"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """Something to place.

    Attributes:
        sizes: width and height it may take, the best first, mm.
        pull: where it wants to be.
    """

    sizes: tuple[tuple[float, float], ...]
    pull: Pull


def pack(parcels: Sequence[Parcel], rooms: Sequence[Box], gap: float) -> tuple[Box, ...] | None:
    """Place every parcel in the rooms, mm.

    Args:
        parcels: in the order in which they get their places.
        rooms: empty rectangles; they may overlap each other.
        gap: least distance of two parcels.

    Returns:
        Their boxes, in the same order; None when one finds no place.
    """
    free = list(rooms)
    margins = {round(room.x0, 6) for room in rooms}
    boxes = []
    for parcel in parcels:
        box = _best(parcel, free, margins)
        if box is None:
            return None
        boxes.append(box)
        free = _without(free, box.grown(gap))
    return tuple(boxes)


def _best(parcel: Parcel, free: Iterable[Box], margins: set[float]) -> Box | None:
    """The place of the first size that fits: as far up or down as it goes, then to the left.

    What comes to stand at the bottom beside something else goes to the right, away from it.
    """
    for w, h in parcel.sizes:
        fitting = [r for r in free if r.width >= w - _SLACK and r.height >= h - _SLACK]
        if not fitting:
            continue
        if parcel.pull is Pull.TOP:
            room = min(fitting, key=lambda r: (-round(r.y1, 6), r.x0))
            return Box(room.x0, room.y1 - h, room.x0 + w, room.y1)
        room = min(fitting, key=lambda r: (round(r.y0, 6), r.x0))
        x = room.x0 if round(room.x0, 6) in margins else room.x1 - w
        return Box(x, room.y0, x + w, room.y0 + h)
    return None


def _without(free: list[Box], taken: Box) -> list[Box]:
    """The largest empty rectangles once a box is taken."""
    parts: list[Box] = []
    for room in free:
        if not room.meets(taken):
            parts.append(room)
            continue
        around = (
            Box(room.x0, room.y0, taken.x0, room.y1),
            Box(taken.x1, room.y0, room.x1, room.y1),
            Box(room.x0, room.y0, room.x1, taken.y0),
            Box(room.x0, taken.y1, room.x1, room.y1),
        )
        parts += [part for part in around if part.width > 1.0 and part.height > 1.0]
    kept: list[Box] = []
    for part in sorted(parts, key=lambda b: -b.width * b.height):
        if not any(other.holds(part) for other in kept):
            kept.append(part)
    return kept


def spread(boxes: Sequence[Box], fixed: Sequence[Box], room: Box, gap: float) -> tuple[Box, ...]:
    """Let boxes grow into the empty room round them, first sideways, then up and down, mm.

    Two neighbours share what lies between them; what is fixed keeps its place. A box outside the
    room stays as it is.
    """
    grown = list(boxes)
    for turned in (False, True):
        grown = _grow(grown, [*fixed], room, gap, turned)
    return tuple(grown)


def _grow(boxes: list[Box], fixed: list[Box], room: Box, gap: float, upright: bool) -> list[Box]:
    """Growth along x, or along y when `upright`."""
    result = []
    for n, box in enumerate(boxes):
        if not room.holds(box, _SLACK):
            result.append(box)
            continue
        low, high = (room.y0, room.y1) if upright else (room.x0, room.x1)
        a, b = (box.y0, box.y1) if upright else (box.x0, box.x1)
        others = [(other, True) for m, other in enumerate(boxes) if m != n]
        for other, shares in [*others, *((f, False) for f in fixed)]:
            if not _in_the_way(box, other, upright):
                continue
            c, d = (other.y0, other.y1) if upright else (other.x0, other.x1)
            if d <= a + _SLACK:
                low = max(low, (a + d + gap) / 2 if shares else d + gap)
            elif c >= b - _SLACK:
                high = min(high, (b + c - gap) / 2 if shares else c - gap)
        low, high = min(low, a), max(high, b)
        result.append(Box(box.x0, low, box.x1, high) if upright else Box(low, box.y0, high, box.y1))
    return result


def _in_the_way(box: Box, other: Box, upright: bool) -> bool:
    if upright:
        return box.x0 < other.x1 and other.x0 < box.x1
    return box.y0 < other.y1 and other.y0 < box.y1
