"""Running dimensions: every number counts from one 0, and stands at the end of a thin line.

One row beside a view says how far each part's middle lies from the centre line or the rim (ISO
129-1: running dimensioning). Numbers that would overlap are drawn apart; their lines are bent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Box,
    Circle,
    Ink,
    Item,
    Line,
    Path,
    Pen,
    Point,
    Text,
    around,
    item_box,
    join,
    polygon,
)
from fit.draw.labels import Segment
from fit.trade.lettering import width

THIN: Final = Pen(width=0.13)
"""Lines of dimensions."""

TRIANGLE: Final = 1.5
"""Breadth of the mark of what was found, mm."""

AFTER: Final = 0.6
"""Between the mark and its words, mm."""

_RUN = 3.0
"""How far outside the view's edge the line with the arrows runs, mm."""
_BENT = 5.4
"""Where bent lines end, mm."""
_WORDS = 5.9
"""Where numbers begin, mm."""
_BESIDE = 1.2
"""Between two numbers of one line, and between neighbouring numbers, mm."""
_LEVEL = 2.9
"""Between the middles of numbers one above the other, mm."""
_ARROW = 1.5
_DOT = 0.3
_SAME = 0.02
_ZERO = 0.45


class Beside(StrEnum):
    """On which side of a view a row of dimensions stands."""

    LEFT = "left"
    RIGHT = "right"
    BELOW = "below"
    ABOVE = "above"

    @property
    def upright(self) -> bool:
        """Whether the row runs upwards."""
        return self in (Beside.LEFT, Beside.RIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """What is dimensioned: a point on paper, the number, whether the place was found."""

    at: Point
    words: str
    found: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruled:
    """A row of dimensions: its lines, its numbers, and the lines across the view, on paper, mm."""

    lines: tuple[Item, ...]
    numbers: tuple[Item, ...]
    across: tuple[Segment, ...]
    band: Box | None = None
    """The room outside the view in which nothing else may stand."""

    @property
    def boxes(self) -> tuple[Box, ...]:
        """The room of each line and number outside the view."""
        return tuple(item_box(item) for item in (*self.lines, *self.numbers))


def triangle(left: float, low: float, height: float) -> Path:
    """The mark of what was found, standing at a line of words, mm."""
    points = ((left, low), (left + TRIANGLE, low), (left + TRIANGLE / 2, low + height))
    return polygon(points, THIN, Ink.BLACK)


def marked_words(at: Point, words: str, height: float, *, found: bool) -> tuple[Item, ...]:
    """Words from their left end on the line: in bold and with the mark when found."""
    if not found:
        return (Text(at, words, height, Anchor.LOWER_LEFT, 0.0, False, True),)
    right = (at[0] + TRIANGLE + AFTER, at[1])
    return (
        triangle(at[0], at[1], height * 0.85),
        Text(right, words, height, Anchor.LOWER_LEFT, 0.0, True, True),
    )


def marked_width(words: str, height: float, *, found: bool) -> float:
    """The room such words take across, mm."""
    return width(words, height, found) + (TRIANGLE + AFTER if found else 0.0)


@dataclass(frozen=True, slots=True)
class _Group:
    """Stations of one number: along the row, where the line begins, what is written."""

    along: float
    start: float
    said: tuple[tuple[str, bool], ...]

    @property
    def width(self) -> float:
        widths = [marked_width(words, pens.SMALL, found=found) for words, found in self.said]
        return sum(widths) + _BESIDE * (len(widths) - 1)


def ruled(
    stations: Sequence[Station], datum: float, edges: tuple[float, float], side: Beside
) -> Ruled:
    """Dimension stations from a datum.

    Args:
        stations: what is dimensioned.
        datum: where the 0 lies: x of an upright line for rows below and above, else y, mm.
        edges: y (rows to the side: x) of the view's edge on that side, and of whatever stands
            out beyond it there, mm.
        side: on which side of the view the row stands.

    Returns:
        The row; without stations it is empty.
    """
    if not stations:
        return Ruled(lines=(), numbers=(), across=())
    edge = edges[1]
    groups = _groups(stations, datum, edges, side)
    sizes = [_LEVEL - _BESIDE if side.upright else group.width for group in groups]
    places = apart([group.along for group in groups], sizes, _BESIDE)
    spot = _spots(edge, side)
    lines: list[Item] = []
    numbers: list[Item] = []
    across: list[Segment] = []
    for group, place in zip(groups, places, strict=True):
        across.append((spot(group.along, group.start), spot(group.along, _RUN)))
        bent = Line(spot(group.along, _RUN), spot(place, _BENT), THIN)
        lines.append(bent)
        numbers += _number(group, spot(place, _WORDS), side)
    lines += _run([group.along for group in groups], datum, spot)
    return Ruled(
        band=join([around([spot(datum, 0.0)]), *(item_box(n).grown(0.5) for n in numbers)]),
        lines=(*(Line(a, b, THIN) for a, b in across), *lines),
        numbers=tuple(numbers),
        across=tuple(across),
    )


def _groups(
    stations: Sequence[Station], datum: float, edges: tuple[float, float], side: Beside
) -> list[_Group]:
    """Stations in order along the row, those of the same number together, the 0 among them."""
    k = 1 if side.upright else 0
    out = -1.0 if side in (Beside.LEFT, Beside.BELOW) else 1.0
    found: list[_Group] = []
    spots = [(s.at[k], (s.at[1 - k] - edges[1]) * out, s.words, s.found) for s in stations]
    for along, start, words, was_found in sorted([(datum, 0.0, "0", False), *spots]):
        if abs(along - datum) < _SAME:
            start = -abs(edges[1] - edges[0])  # the centre line or the rim is there already
        last = found[-1] if found else None
        if last is not None and abs(along - last.along) < _SAME and words == last.said[0][0]:
            said = (
                last.said if (words, was_found) in last.said else (*last.said, (words, was_found))
            )
            found[-1] = _Group(last.along, min(last.start, start), said)
        else:
            found.append(_Group(along, start, ((words, was_found),)))
    return [_without_plain_zero(group, stations, k) for group in found]


def _without_plain_zero(group: _Group, stations: Sequence[Station], k: int) -> _Group:
    """A 0 that only found parts stand on is a found number, too."""
    if set(group.said) == {("0", False), ("0", True)}:
        here = [s for s in stations if abs(s.at[k] - group.along) < _SAME and s.words == "0"]
        if all(s.found for s in here):
            return _Group(group.along, group.start, (("0", True),))
    return group


def _spots(edge: float, side: Beside) -> Callable[[float, float], Point]:
    """Points by their place along the row and how far outside the view's edge they lie."""
    out = -1.0 if side in (Beside.LEFT, Beside.BELOW) else 1.0

    def spot(along: float, outside: float) -> Point:
        far = edge + out * outside
        return (far, along) if side.upright else (along, far)

    return spot


def _number(group: _Group, at: Point, side: Beside) -> Iterator[Item]:
    x, y = at
    if side.upright:
        x, y = (x - group.width if side is Beside.LEFT else x), y - pens.SMALL / 2
    else:
        x, y = x - group.width / 2, (y - pens.SMALL if side is Beside.BELOW else y)
    for words, found in group.said:
        yield from marked_words((x, y), words, pens.SMALL, found=found)
        x += marked_width(words, pens.SMALL, found=found) + _BESIDE


def _run(
    alongs: Sequence[float], datum: float, spot: Callable[[float, float], Point]
) -> Iterator[Item]:
    """The line the arrows stand on, from the 0 outwards; a dot where an arrow has no room."""
    yield Circle(spot(datum, _RUN), _ZERO, THIN)
    for sign in (-1.0, 1.0):
        beyond = sorted((a - datum) * sign for a in alongs if (a - datum) * sign > _SAME)
        before = 0.0
        for far in beyond:
            tip = spot(datum + sign * far, _RUN)
            yield Line(spot(datum + sign * max(before, _ZERO), _RUN), tip, THIN)
            if far - before > _ARROW + _ZERO:
                yield _arrow(tip, spot(datum + sign * (far - _ARROW), _RUN))
            else:
                (x, y), r = tip, _DOT
                yield polygon(((x - r, y), (x, y - r), (x + r, y), (x, y + r)), THIN, Ink.BLACK)
            before = far


def _arrow(tip: Point, tail: Point) -> Path:
    length = math.dist(tip, tail)
    nx, ny = (tip[1] - tail[1]) / length, (tail[0] - tip[0]) / length
    half = length * 0.17
    left = (tail[0] + nx * half, tail[1] + ny * half)
    right = (tail[0] - nx * half, tail[1] - ny * half)
    return polygon((tip, left, right), THIN, Ink.BLACK)


def apart(wanted: Sequence[float], sizes: Sequence[float], gap: float) -> list[float]:
    """Middles as near as can be to those wanted, in their order, none overlapping.

    Least squares under order: neighbours that are too near are pooled and moved as one block
    (pool adjacent violators, R. E. Barlow and others, 1972).

    Args:
        wanted: middles, rising.
        sizes: lengths along the row.
        gap: least space between two.
    """
    blocks: list[tuple[float, int, float]] = []
    offsets: list[float] = []
    total = 0.0
    for n, (want, size) in enumerate(zip(wanted, sizes, strict=True)):
        if n:
            total += (sizes[n - 1] + size) / 2 + gap
        offsets.append(total)
        block = (want - total, 1, want - total)
        while blocks and blocks[-1][0] > block[0]:
            _, count, added = blocks.pop()
            count, added = count + block[1], added + block[2]
            block = (added / count, count, added)
        blocks.append(block)
    firsts = [mean for mean, count, _ in blocks for _ in range(count)]
    return [first + offset for first, offset in zip(firsts, offsets, strict=True)]
