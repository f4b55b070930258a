"""Finding room for words: labels beside what they speak of, clear of each other and of lines.

A label is tried at many places round its feature, nearest first; what is hard (other openings,
words, lines that matter) is never touched, what is soft (ghosts) costs a little. Words that find no
room are shortened, then left out: the list on the sheet still has them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Item, Line, Point, Text, around
from fit.trade.lettering import DESCENT, ascent, width

Segment = tuple[Point, Point]

_GAPS = (3.0, 4.5, 6.5, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0, 42.0, 52.0, 64.0, 78.0, 94.0)
_DIRECTIONS = 24
_FAR = 30.0
"""Words further away than this give way to a short form nearby, mm."""
_AIR = 0.7
"""Free space round words, mm."""
_LINE = 1.6
"""Distance of two lines of words, in cap heights."""
_SOFT_COST = 3.0
_CROSS_COST = 2.0
_FOREIGN_COST = 4.0
_LEADER_AIR = 0.5
_ROUNDING = 1e-6
_SQUARE = 12.0
"""Side of the squares lines are sorted into, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A label that wants a place.

    Attributes:
        lines: what it says.
        short: what it says when that finds no room.
        about: the feature's box, view coordinates, mm.
        round: whether the feature is round, for where the leader ends.
        inside: room within the feature where the words may stand without a leader, or None.
        height: of the capitals, mm.
        leader: draw a line to the feature.
        foreign: boxes of other things: words without a leader that stand in one seem to be its.
    """

    lines: tuple[str, ...]
    about: Box
    short: tuple[str, ...] = ()
    round: bool = False
    inside: Box | None = None
    height: float = pens.TEXT
    leader: bool = True
    foreign: tuple[Box, ...] = ()


def size_of(lines: tuple[str, ...], height: float) -> tuple[float, float]:
    """Width and height of lines of words, the first one bold, mm."""
    widths = [width(words, height, n == 0 and len(lines) > 1) for n, words in enumerate(lines)]
    return max(widths), height * (ascent(lines[0]) + DESCENT + _LINE * (len(lines) - 1))


def set_lines(lines: tuple[str, ...], box: Box, height: float) -> tuple[Text, ...]:
    """The words of a label, flush left from the top of its box; the first of several bold."""
    top = box.y1 - ascent(lines[0]) * height
    many = len(lines) > 1
    return tuple(
        Text(
            (box.x0, top - n * _LINE * height),
            words,
            height,
            Anchor.LOWER_LEFT,
            0.0,
            many and n == 0,
            True,
        )
        for n, words in enumerate(lines)
    )


class _Lines:
    """Straight lines sorted into squares, so that only near ones are looked at."""

    def __init__(self) -> None:
        self._squares: dict[tuple[int, int], list[Segment]] = {}

    def add(self, line: Segment) -> None:
        (x0, y0), (x1, y1) = line
        box = Box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
        for square in _squares(box):
            self._squares.setdefault(square, []).append(line)

    def near(self, box: Box) -> set[Segment]:
        found = (self._squares.get(square, ()) for square in _squares(box))
        return {line for lines in found for line in lines}

    def through(self, box: Box) -> bool:
        """Whether any line runs through a box."""
        for square in _squares(box):
            for line in self._squares.get(square, ()):
                if crosses(line, box):
                    return True
        return False


def _squares(box: Box) -> Iterable[tuple[int, int]]:
    across = range(math.floor(box.x0 / _SQUARE), math.floor(box.x1 / _SQUARE) + 1)
    up = range(math.floor(box.y0 / _SQUARE), math.floor(box.y1 / _SQUARE) + 1)
    return ((i, j) for i in across for j in up)


class Placer:
    """Hands out room for words in a region of a view."""

    def __init__(self, region: Box) -> None:
        """Start with an empty region."""
        self.region = region
        self._boxes: list[Box] = []
        self._lines = _Lines()
        self._soft = _Lines()
        self._leaders: list[Segment] = []

    def keep(self, *boxes: Box) -> None:
        """Keep words out of boxes."""
        self._boxes += boxes

    def keep_lines(self, lines: Iterable[Segment]) -> None:
        """Keep words off lines."""
        for line in lines:
            self._lines.add(line)

    def avoid(self, lines: Iterable[Segment]) -> None:
        """Keep words off lines where it costs little."""
        for line in lines:
            self._soft.add(line)

    def free(self, box: Box) -> bool:
        """Whether words may stand in a box."""
        wide = box.grown(_AIR)
        return (
            self.region.holds(box)
            and not any(wide.meets(other) for other in self._boxes)
            and not self._lines.through(wide)
            and not any(crosses(line, wide) for line in self._leaders)
        )

    def first(self, boxes: Iterable[Box]) -> Box | None:
        """Take the first of some boxes that is free."""
        for box in boxes:
            if self.free(box):
                self.keep(box)
                return box
        return None

    def place(self, wanted: Wanted) -> tuple[Item, ...]:
        """Find room for a label: its words and leader; nothing when there is no room at all.

        A short form near the feature is better than many words far away.
        """
        for most in (_FAR, math.inf):
            for lines in (wanted.lines, wanted.short):
                if lines:
                    items = self._try(wanted, lines, most)
                    if items:
                        return items
        return ()

    def _try(self, wanted: Wanted, lines: tuple[str, ...], most: float) -> tuple[Item, ...]:
        w, h = size_of(lines, wanted.height)
        if wanted.inside is not None:
            box = self.first(_stand_in(wanted.inside, w, h))
            if box is not None:
                return set_lines(lines, box, wanted.height)
        found = self._beside(wanted, w, h, most)
        if found is None:
            return ()
        box, leader = found
        self.keep(box)
        words = set_lines(lines, box, wanted.height)
        if leader is None:
            return words
        self._leaders.append(leader)
        return (*words, Line(leader[0], leader[1], pens.LEADER))

    def _beside(
        self, wanted: Wanted, w: float, h: float, most: float
    ) -> tuple[Box, Segment | None] | None:
        best: tuple[float, Box, Segment | None] | None = None
        gaps = _GAPS if wanted.leader else (1.0, 2.0)
        for gap in gaps:
            if gap > most or (best is not None and gap >= best[0]):
                break
            for box in _round_about(wanted.about, w, h, gap):
                if not self.free(box):
                    continue
                leader = _leader(wanted, box) if wanted.leader else None
                if leader is not None and not self._leader_free(leader, wanted.about):
                    continue
                cost = gap + self._cost(box, leader)
                cost += _FOREIGN_COST * any(other.has(box.middle) for other in wanted.foreign)
                if best is None or cost < best[0]:
                    best = (cost, box, leader)
        return None if best is None else (best[1], best[2])

    def _cost(self, box: Box, leader: Segment | None) -> float:
        soft = sum(1 for line in self._soft.near(box) if crosses(line, box))
        cost = _SOFT_COST * min(soft, 4)
        if leader is not None:
            near = self._lines.near(around(leader))
            cost += _CROSS_COST * sum(1 for line in near if meet(line, leader))
        return cost

    def _leader_free(self, leader: Segment, own: Box) -> bool:
        inner = own.grown(_LEADER_AIR + 0.1)
        others = (box for box in self._boxes if not inner.holds(box) and not box.holds(own))
        return not any(crosses(leader, box.grown(_LEADER_AIR)) for box in others) and not any(
            meet(leader, other) for other in self._leaders
        )


def _stand_in(room: Box, w: float, h: float) -> list[Box]:
    """Places within a feature: the middle, then towards its edges."""
    cx, cy = room.middle
    free_x, free_y = (room.width - w) / 2, (room.height - h) / 2
    if free_x < 0 or free_y < 0:
        return []
    return [
        _sized(cx + sx * free_x, cy + sy * free_y, w, h)
        for sx, sy in ((0, 0), (0, 0.5), (0, -0.5), (-0.5, 0), (0.5, 0), (0, 1), (0, -1))
    ]


def _sized(cx: float, cy: float, w: float, h: float) -> Box:
    return Box(cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2)


def _round_about(about: Box, w: float, h: float, gap: float) -> Iterable[Box]:
    cx, cy = about.middle
    for n in range(_DIRECTIONS):
        a = 2 * math.pi * (n + 0.5) / _DIRECTIONS
        dx, dy = math.cos(a), math.sin(a)
        px = cx + dx * (about.width / 2 + gap)
        py = cy + dy * (about.height / 2 + gap)
        lean_x = max(-1.0, min(1.0, dx * 1.5))
        lean_y = max(-1.0, min(1.0, dy * 1.5))
        yield _sized(px + lean_x * w / 2, py + lean_y * h / 2, w, h)


def _leader(wanted: Wanted, box: Box) -> Segment:
    """From the label's nearest side to the feature's edge, not through the label itself."""
    mx, my = box.middle
    ports = (
        (box.x0 - 0.5, my),
        (box.x1 + 0.5, my),
        (mx, box.y0 - 0.3),
        (mx, box.y1 + 0.3),
    )
    lines = [(port, _end(wanted, port)) for port in ports]
    clear = [line for line in lines if not crosses(line, box)]
    return min(clear or lines, key=lambda line: math.dist(*line))


def _end(wanted: Wanted, start: Point) -> Point:
    """Where a leader from a point meets the feature's edge."""
    if not wanted.round:
        return _nearest(wanted.about, start)
    (cx, cy), r = wanted.about.middle, wanted.about.width / 2
    away = math.dist(start, (cx, cy)) or 1.0
    return (cx + (start[0] - cx) * r / away, cy + (start[1] - cy) * r / away)


def _nearest(box: Box, point: Point) -> Point:
    return (
        max(box.x0, min(box.x1, point[0])),
        max(box.y0, min(box.y1, point[1])),
    )


def crosses(line: Segment, box: Box) -> bool:
    """Whether a straight line runs through a box's inside."""
    (x0, y0), (x1, y1) = line
    if max(x0, x1) <= box.x0 or min(x0, x1) >= box.x1:
        return False
    if max(y0, y1) <= box.y0 or min(y0, y1) >= box.y1:
        return False
    enter, leave = 0.0, 1.0
    for step, low, high in (
        (x1 - x0, box.x0 - x0, box.x1 - x0),
        (y1 - y0, box.y0 - y0, box.y1 - y0),
    ):
        if step == 0:
            continue
        a, b = low / step, high / step
        enter, leave = max(enter, min(a, b)), min(leave, max(a, b))
    return enter < leave


def meet(one: Segment, other: Segment) -> bool:
    """Whether two straight lines cross each other."""

    def side(a: Point, b: Point, p: Point) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    (a, b), (c, d) = one, other
    # Lines that only touch do not cross; the rest of the number is rounding.
    return side(a, b, c) * side(a, b, d) < -_ROUNDING and side(c, d, a) * side(c, d, b) < -_ROUNDING
