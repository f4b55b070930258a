"""Taking the waste out of a window by hand: where to drill, where to saw, what is left to file.

All in the opening's own axes from its middle, mm. Two ways: a chain of small holes all round,
or a few big holes with straight saw cuts between them. No hole reaches past the final line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from fit.draw.areas import covered_area, disc_area, lens_area, on_circle, rounded_area
from fit.draw.asked import Ends
from fit.draw.drawing import Node, Point
from fit.geometry.scene import Cut, Opening
from fit.model.build import Drawer
from fit.trade.drills import Tool

CHAIN_BIT: Final = 3.0
"""Bit for a chain of holes when the drawer names none, mm (2 to 3 is usual, no source)."""

CHAIN_INSET: Final = 0.75
"""What the chain leaves for the file, mm (0.5 to 1 is usual; common practice, no source)."""

CHAIN_SPACE: Final = 0.75
"""What may stay between two holes, mm (0.5 to 1 is usual; common practice, no source)."""

_MOST_SPACE: Final = 1.0
_INSETS: Final = (0.75, 0.7, 0.8, 0.65, 0.85, 0.6, 0.9, 0.55, 0.95, 0.5, 1.0)
"""Insets of a chain, the usual one first: its length is fitted to whole steps by these, mm."""

RELIEF_INSET: Final = 0.5
"""How far the small holes in the corners stay inside the lines, mm. Corner holes sit wholly
inside the lines (builders' pages on cutting windows); how far is common practice, no source."""

_RELIEF: Final = (1.0, 2.0)
"""Bits for the corners, mm: thinner ones break; 1.5 is usual (builders' pages)."""
_RELIEF_SHARE: Final = 0.6
"""A corner's bit is at most this share of the chain's, or it does not reach further in."""
_ENTRY: Final = (5.0, 10.0)
"""Holes to begin a saw cut in, mm: 8 is usual (builders' pages)."""
_BIG: Final = (4.0, 20.0)
"""Big holes at the ends or corners, mm: up to the largest common step bit."""
_LIKE: Final = 0.8
"""One big hole at each end does when it is at least this share of the room's height."""
_QUARTER: Final = math.tan(math.radians(90) / 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """What the holes are made with: twist bits, all sizes, and the way windows are cut."""

    bits: tuple[float, ...] = ()
    sizes: tuple[float, ...] = ()
    ends: Ends = Ends.CHAIN

    @classmethod
    def of(cls, drawer: Drawer, ends: Ends = Ends.CHAIN) -> Shop:
        """The shop of a drawer."""
        bits = sorted(float(b) for b in drawer.bits)
        steps = (
            float(s.smallest + n * s.step)
            for s in drawer.step_bits
            for n in range(math.floor((s.largest - s.smallest) / s.step + 1e-6) + 1)
        )
        return cls(bits=tuple(bits), sizes=tuple(sorted({*bits, *steps})), ends=ends)


NO_SHOP: Final = Shop()
"""Nothing known of the drawer: a chain, without small holes in its corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waste:
    """How the waste of a rectangular opening is taken out.

    Attributes:
        way: by a chain, or by big holes.
        bit: of the chain, or size of the big holes, mm.
        holes: their centres, those in corners first.
        marked: how many of them, from the first, are drawn as circles.
        line: the line the centres lie on, or the line of the saw; with bulges, closed unless it
            has only two ends.
        closed: whether `line` is.
        pitch: greatest distance of two neighbouring holes of the chain, mm; 0 for big holes.
        relief, relief_bit: small holes in the corners, drilled first.
        entry, entry_size: where the saw goes in; None when it goes in at the holes.
        left: what is left to file once the waste is out, mm².
    """

    way: Ends
    bit: float
    holes: tuple[Point, ...]
    marked: int
    line: tuple[Node, ...]
    closed: bool
    pitch: float
    relief: tuple[Point, ...] = ()
    relief_bit: float = 0.0
    entry: Point | None = None
    entry_size: float = 0.0
    left: float = 0.0


def chain_bit(opening: Opening) -> float:
    """The bit for the chain of holes: the first one of the opening's steps, mm."""
    drilled = [step.size for step in opening.steps if step.tool is Tool.DRILL]
    return drilled[0] if drilled else CHAIN_BIT


@lru_cache(maxsize=256)
def waste_of(opening: Opening, shop: Shop) -> Waste | None:
    """How to take the waste out of an opening; None when a bit has no room.

    A slot open to the rim is drilled along its bottom and sawn down to it.
    """
    if opening.cut is Cut.RIM_SLOT:
        return _slot(opening)
    if opening.cut is Cut.OBLONG:
        return _oblong(opening)
    if shop.ends is Ends.BIG_HOLES:
        found = _big_holes(opening, shop)
        if found is not None:
            return found
    return _chain(opening, shop)


def _half(opening: Opening, off: float) -> tuple[float, float] | None:
    half = (opening.width / 2 - off, opening.height / 2 - off)
    return None if min(half) < 0 else half


def _slot(opening: Opening) -> Waste | None:
    bit = chain_bit(opening)
    half = _half(opening, bit / 2 + CHAIN_INSET)
    if half is None:
        return None
    beside = _fitted(lambda inset: (opening.width - bit - 2 * inset,), bit)
    w, h = opening.width / 2 - bit / 2 - beside, half[1]
    ends = ((-w, -h), (w, -h))
    holes = (*ends, *_between(*ends, bit))
    return Waste(
        way=Ends.CHAIN,
        bit=bit,
        holes=holes,
        marked=2,
        line=tuple(Node(x, y) for x, y in ends),
        closed=False,
        pitch=_widest(sorted(holes)),
    )


def _oblong(opening: Opening) -> Waste | None:
    """Holes nearly as wide as a slot with round ends, from end to end of it."""
    sizes = [s.size for s in opening.steps if s.tool in (Tool.DRILL, Tool.STEP_BIT)]
    if not sizes:
        return None
    wide = min(opening.width, opening.height)
    bit, off = min(max(sizes), wide), (max(opening.width, opening.height) - wide) / 2
    level = opening.width >= opening.height
    ends = ((-off, 0.0), (off, 0.0)) if level else ((0.0, -off), (0.0, off))
    return _row(opening, ends, bit)


def _chain(opening: Opening, shop: Shop) -> Waste | None:
    """A chain of holes all round; along the middle where two rows would run into each other."""
    bit = chain_bit(opening)
    half = _half(opening, bit / 2 + CHAIN_INSET)
    if half is None:
        return None
    if 2 * min(half) < bit:
        return _one_row(opening, half, bit)
    inset = _fitted(lambda by: _sides(*_line(opening, bit, by)), bit)
    half, round_by = _line(opening, bit, inset)
    line = _rounded(half, round_by)
    ring, corners = _ring(half, round_by, bit)
    relief_bit = _relief_bit(opening, bit, shop)
    relief = _corners_at(opening, relief_bit / 2, RELIEF_INSET) if relief_bit else ()
    entry_size = _entry_size(half, bit, shop)
    entry = (-half[0] + (bit + entry_size) / 2 + 0.5, 0.0) if entry_size else None
    ordered = (*corners, *(p for p in ring if p not in corners))
    discs = [*((p, bit / 2) for p in ring), *((p, relief_bit / 2) for p in relief)]
    left = _outline_area(opening) - covered_area(half, round_by, discs)
    return Waste(
        way=Ends.CHAIN,
        bit=bit,
        holes=ordered,
        marked=len(corners),
        line=line,
        closed=True,
        pitch=_longest_step(half, round_by, bit),
        relief=relief,
        relief_bit=relief_bit,
        entry=entry,
        entry_size=entry_size,
        left=left,
    )


def _one_row(opening: Opening, half: tuple[float, float], bit: float) -> Waste:
    long = max(opening.width, opening.height)
    reach = (long - bit) / 2 - _fitted(lambda inset: (long - bit - 2 * inset,), bit)
    w, h = (reach, 0.0) if half[0] >= half[1] else (0.0, reach)
    if 2 * max(w, h) < bit:
        w = h = 0.0  # two holes would run into each other
    ends = ((-w, -h), (w, h))
    return _row(opening, ends, bit)


def _row(
    opening: Opening, ends: tuple[tuple[float, float], tuple[float, float]], bit: float
) -> Waste:
    """Holes in one row between two ends; where they overlap that is counted once."""
    holes = tuple(dict.fromkeys((*ends, *_between(*ends, bit))))
    row = sorted(holes)
    lost = sum(lens_area(bit / 2, bit / 2, math.dist(a, b)) for a, b in pairwise(row))
    return Waste(
        way=Ends.CHAIN,
        bit=bit,
        holes=holes,
        marked=min(2, len(holes)),
        line=tuple(Node(x, y) for x, y in ends),
        closed=False,
        pitch=_widest(row),
        left=_outline_area(opening) - len(row) * disc_area(bit) + lost,
    )


def _big_holes(opening: Opening, shop: Shop) -> Waste | None:
    """One big hole at each end, or one in each corner, and saw cuts that touch them."""
    high = min(opening.width, opening.height) - 2 * CHAIN_INSET
    size = _largest(shop.sizes, (max(_BIG[0], _LIKE * high), min(_BIG[1], high)))
    rows = 1
    if size is None:
        size = _largest(shop.sizes, (_BIG[0], min(_BIG[1], (high - 1.0) / 2)))
        rows = 2
    if size is None:
        return None
    if rows == 1:
        along = max(opening.width, opening.height) / 2 - CHAIN_INSET - size / 2
        off = max(along, 0.0)
        wide = opening.width >= opening.height
        holes: tuple[Point, ...] = ((-off, 0.0), (off, 0.0)) if wide else ((0.0, -off), (0.0, off))
        half = (off + size / 2, size / 2) if wide else (size / 2, off + size / 2)
    else:
        holes = _corners_at(opening, size / 2, CHAIN_INSET)
        half = (abs(holes[0][0]) + size / 2, abs(holes[0][1]) + size / 2)
    return Waste(
        way=Ends.BIG_HOLES,
        bit=size,
        holes=tuple(dict.fromkeys(holes)),
        marked=len(holes),
        line=_rounded((half[0], half[1]), size / 2),
        closed=True,
        pitch=0.0,
        left=_outline_area(opening) - rounded_area(half, size / 2),
    )


def _largest(sizes: Sequence[float], span: tuple[float, float]) -> float | None:
    return max((s for s in sizes if span[0] - 1e-9 <= s <= span[1] + 1e-9), default=None)


def _corner(opening: Opening) -> float:
    """The radius of the final line's corners, mm."""
    most = min(opening.width, opening.height) / 2
    return most if opening.cut is Cut.OBLONG else min(opening.corner_radius, most)


def _relief_bit(opening: Opening, bit: float, shop: Shop) -> float:
    """The bit for small holes in the corners; 0 when the chain's own reach far enough in."""
    radius = _corner(opening)
    if bit / 2 <= radius:
        return 0.0
    small = [b for b in shop.bits if _RELIEF[0] <= b <= min(_RELIEF[1], _RELIEF_SHARE * bit)]
    within = [b for b in small if b / 2 <= radius]
    return max(within) if within else min(small, key=lambda b: abs(b - 1.5), default=0.0)


def _entry_size(half: tuple[float, float], bit: float, shop: Shop) -> float:
    """The hole in which a saw cut begins, well inside the chain; 0 when there is no room."""
    most = min(_ENTRY[1], 2 * min(half) - bit - 1.0, max(half) - bit - 1.0)
    return _largest(shop.bits, (_ENTRY[0], most)) or 0.0


def _corners_at(opening: Opening, radius: float, inset: float) -> tuple[Point, ...]:
    """Centres of holes in the four corners that stay inside the final line by an inset."""
    final = _corner(opening)
    off = radius + inset
    if final > off:
        # Along the diagonal, from the centre of the corner's own arc.
        off = final - (final - off) / math.sqrt(2)
    w, h = opening.width / 2 - off, opening.height / 2 - off
    return ((-w, -h), (w, -h), (w, h), (-w, h))


def _rounded(half: tuple[float, float], radius: float) -> tuple[Node, ...]:
    """A rectangle with round corners, counter-clockwise from its lower left."""
    w, h = half
    if radius <= 0:
        return (Node(-w, -h), Node(w, -h), Node(w, h), Node(-w, h))
    r = min(radius, w, h)
    return (
        Node(-w + r, -h),
        Node(w - r, -h, _QUARTER),
        Node(w, -h + r),
        Node(w, h - r, _QUARTER),
        Node(w - r, h),
        Node(-w + r, h, _QUARTER),
        Node(-w, h - r),
        Node(-w, -h + r, _QUARTER),
    )


def _ring(
    half: tuple[float, float], radius: float, bit: float
) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
    """The centres of a chain in order all round, and those in its corners.

    One in the middle of each corner, the others evenly along the line between them.
    """
    w, h = half
    r = radius
    arc = r * math.pi / 2
    ring: list[Point] = []
    corners: list[Point] = []
    # From the middle of one corner to the middle of the next: half an arc, a side, half an arc.
    for cx, cy, begin, side in (
        (-w + r, -h + r, 225.0, 2 * (w - r)),
        (w - r, -h + r, 315.0, 2 * (h - r)),
        (w - r, h - r, 45.0, 2 * (w - r)),
        (-w + r, h - r, 135.0, 2 * (h - r)),
    ):
        end = math.radians(begin + 45.0)
        ux, uy = -math.sin(end), math.cos(end)
        count = _gaps(side + arc, bit)
        corners.append(on_circle(cx, cy, r, begin))
        for k in range(count):
            s = (side + arc) * k / count
            if s <= arc / 2:
                ring.append(on_circle(cx, cy, r, begin + (90.0 * s / arc if arc else 0.0)))
            else:
                on = min(s - arc / 2, side)
                past = max(0.0, s - arc / 2 - side)
                x, y = cx + ux * on, cy + uy * on
                turn = begin + 45.0 + (90.0 * past / arc if arc else 0.0)
                ring.append(on_circle(x, y, r, turn))
    # A square line without sides has all four corners in one place.
    return tuple(dict.fromkeys(ring)), tuple(dict.fromkeys(corners))


def _line(opening: Opening, bit: float, inset: float) -> tuple[tuple[float, float], float]:
    """Half sizes of the line of centres at an inset, and the radius of its corners, mm."""
    off = bit / 2 + inset
    half = (opening.width / 2 - off, opening.height / 2 - off)
    return half, min(max(0.0, _corner(opening) - off), *half)


def _sides(half: tuple[float, float], radius: float) -> tuple[float, ...]:
    """From the middle of one corner of the line to the next, level and upright, mm."""
    return tuple(2 * (side - radius) + radius * math.pi / 2 for side in half)


def _fitted(stretches: Callable[[float], Sequence[float]], bit: float) -> float:
    """The inset, nearest to the usual one, at which stretches of a chain divide best, mm.

    Holes shall neither run into each other nor leave more than a millimetre between them.
    """

    def over(inset: float) -> float:
        """How far holes run into each other."""
        worst = max(bit - s / _gaps(s, bit) if s >= bit else bit - s / 2 for s in stretches(inset))
        return round(max(0.0, worst), 6)

    return min(_INSETS, key=over)


def _gaps(length: float, bit: float) -> int:
    """Into how many steps a stretch of a chain is divided.

    No step is longer than bit and space; a little longer where the holes would run into each
    other. Where even that does not help (between one and two steps), the hole in the middle
    cuts into both its neighbours evenly and is drilled last.
    """
    count = max(1, math.ceil(length / (bit + CHAIN_SPACE) - 1e-9))
    fewer = count - 1
    if fewer and length / count < bit and length / fewer <= bit + _MOST_SPACE + 1e-9:
        return fewer
    return count


def _between(a: Point, b: Point, bit: float) -> Iterator[Point]:
    count = _gaps(math.dist(a, b), bit)
    for i in range(1, count):
        t = i / count
        yield (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)


def _widest(row: Sequence[Point]) -> float:
    return max((math.dist(a, b) for a, b in pairwise(row)), default=0.0)


def _longest_step(half: tuple[float, float], radius: float, bit: float) -> float:
    """The longest step of a ring of holes along its line, mm."""
    return max(side / _gaps(side, bit) for side in _sides(half, radius))


def _outline_area(opening: Opening) -> float:
    return rounded_area((opening.width / 2, opening.height / 2), _corner(opening))
