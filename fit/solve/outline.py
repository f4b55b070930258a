"""The biggest board that goes onto a floor: an outline on the hole grid, exact.

An outline is a rectangle of holes less some rectangular notches, each at a corner or an edge: L,
T, U, Z and the like. Between any two notches, and between a notch and an edge or corner it does
not reach, at least `Limits.least_width` holes stay, so no leg is too thin to hold. Straight saw
cuts make every one of them.

The search is best first over rectangles that still hold blocked holes: a blocked hole is left out
by moving one of the four edges past it, or by a notch. After T.M. Breuel, "An algorithm for
finding maximal whitespace rectangles at arbitrary orientations", ICPR/DAR 2003, with notches added.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

Rect = tuple[int, int, int, int]
"""x0, y0, x1, y1 in holes; x1 and y1 are not part of it."""

Point = tuple[int, int]


class NotchAt(StrEnum):
    """Where a notch is; ``lower`` is the side of row 0."""

    LOWER_LEFT = "lower left"
    LOWER_RIGHT = "lower right"
    UPPER_LEFT = "upper left"
    UPPER_RIGHT = "upper right"
    LOWER = "lower"
    UPPER = "upper"
    LEFT = "left"
    RIGHT = "right"


_CORNERS = (NotchAt.LOWER_LEFT, NotchAt.LOWER_RIGHT, NotchAt.UPPER_LEFT, NotchAt.UPPER_RIGHT)
_EDGES = (NotchAt.LOWER, NotchAt.UPPER, NotchAt.LEFT, NotchAt.RIGHT)
_TO_LEFT = frozenset({NotchAt.LOWER_LEFT, NotchAt.UPPER_LEFT, NotchAt.LEFT})
_TO_RIGHT = frozenset({NotchAt.LOWER_RIGHT, NotchAt.UPPER_RIGHT, NotchAt.RIGHT})
_TO_LOWER = frozenset({NotchAt.LOWER_LEFT, NotchAt.LOWER_RIGHT, NotchAt.LOWER})
_TO_UPPER = frozenset({NotchAt.UPPER_LEFT, NotchAt.UPPER_RIGHT, NotchAt.UPPER})


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What may be sawn.

    Attributes:
        notches: most notches; 0 for a plain rectangle.
        least_width: holes that must stay between cuts, and the board's least width and height.
        least_notch: least width of an edge notch's mouth, holes: saw and file must get in.
        edge_notches: False to allow notches at corners only.
        stock: columns and rows of the stock; None for no limit.
        turned: whether the stock may be used either way round.
    """

    notches: int = 2
    least_width: int = 4
    least_notch: int = 3
    edge_notches: bool = True
    stock: tuple[int, int] | None = None
    turned: bool = True

    def takes(self, rect: Rect) -> bool:
        """Whether the stock is large enough for a rectangle."""
        if self.stock is None:
            return True
        w, h = rect[2] - rect[0], rect[3] - rect[1]
        ways = (self.stock, self.stock[::-1]) if self.turned else (self.stock,)
        return any(w <= columns and h <= rows for columns, rows in ways)


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A notch: where, and the holes it takes."""

    at: NotchAt
    rect: Rect


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A board's outline: its bounding rectangle and the notches in it, in holes."""

    rect: Rect
    notches: tuple[Notch, ...] = ()

    @property
    def area(self) -> int:
        """How many holes it has."""
        return _area(self.rect) - sum(_area(n.rect) for n in self.notches)

    def holes(self) -> frozenset[Point]:
        """Its holes as (column, row)."""
        out = {p for n in self.notches for p in _points(n.rect)}
        return frozenset(p for p in _points(self.rect) if p not in out)


def biggest_board(
    free: Sequence[Sequence[bool]], points: Iterable[Point] = (), limits: Limits | None = None
) -> Outline | None:
    """The outline with the most holes.

    Args:
        free: rows of columns: True where the board may be.
        points: (column, row) of holes that must be on the board (its fixing points).
        limits: what may be sawn.

    Returns:
        The outline; None when there is none.

    Raises:
        ValueError: when the rows differ in length or a limit is below its least sensible value.
    """
    limits = limits or Limits()
    if len({len(row) for row in free}) > 1:
        raise ValueError("the rows of the floor differ in length")
    if limits.notches < 0 or limits.least_width < 1 or limits.least_notch < 1:
        raise ValueError("limits: notches from 0, widths from 1")
    if not free or not free[0]:
        return None
    return _Search(_Floor(free), tuple(points), limits).best()


def _area(r: Rect) -> int:
    return (r[2] - r[0]) * (r[3] - r[1])


def _points(r: Rect) -> Iterator[Point]:
    return itertools.product(range(r[0], r[2]), range(r[1], r[3]))


def _within(p: Point, r: Rect) -> bool:
    return r[0] <= p[0] < r[2] and r[1] <= p[1] < r[3]


class _Floor:
    """The floor as whole numbers used as sets of holes: bit ``row · columns + column``."""

    def __init__(self, free: Sequence[Sequence[bool]]) -> None:
        self.rows, self.columns = len(free), len(free[0])
        self._repeat = [0]
        for n in range(self.rows):
            self._repeat.append(self._repeat[-1] | 1 << (n * self.columns))
        self.blocked = 0
        for y, row in enumerate(free):
            for x, is_free in enumerate(row):
                if not is_free:
                    self.blocked |= 1 << (y * self.columns + x)

    def mask(self, r: Rect) -> int:
        """The holes of a rectangle."""
        if r[0] >= r[2] or r[1] >= r[3]:
            return 0
        line = ((1 << (r[2] - r[0])) - 1) << r[0]
        return (line * self._repeat[r[3] - r[1]]) << (r[1] * self.columns)

    def first(self, mask: int) -> Point:
        """The first hole of a set that is not empty."""
        index = (mask & -mask).bit_length() - 1
        return index % self.columns, index // self.columns

    def squares(self, side: int) -> int:
        """Lower left holes of all free squares of that side."""
        free = self.mask((0, 0, self.columns, self.rows)) & ~self.blocked
        wide = free
        for n in range(1, side):
            wide &= free >> n
        wide &= self.mask((0, 0, max(0, self.columns - side + 1), self.rows))
        square = wide
        for n in range(1, side):
            square &= wide >> (n * self.columns)
        return square


Mark = tuple[NotchAt, Rect]
"""A notch under way: the box round the blocked holes it has to take."""

State = tuple[Rect, tuple[Mark, ...]]


def _notch(rect: Rect, mark: Mark) -> Rect:
    """The notch that takes a mark's box out of a rectangle: from the box to its edge or corner."""
    at, (x0, y0, x1, y1) = mark
    return (
        rect[0] if at in _TO_LEFT else x0,
        rect[1] if at in _TO_LOWER else y0,
        rect[2] if at in _TO_RIGHT else x1,
        rect[3] if at in _TO_UPPER else y1,
    )


class _Search:
    """Best first: the state that promises most is looked at next, so the first that is done wins.

    Every test made on a state under way only gets harder as edges move in and notches grow, so a
    state that fails one can be dropped with all that would come of it.
    """

    def __init__(self, floor: _Floor, points: tuple[Point, ...], limits: Limits) -> None:
        self._floor, self._points, self._limits = floor, points, limits
        self._squares = floor.squares(limits.least_width)
        self._kinds = (*_CORNERS, *_EDGES) if limits.edge_notches else _CORNERS
        self._queue: list[tuple[int, int, int, State]] = []
        self._seen: set[State] = set()
        self._count = 0

    def best(self) -> Outline | None:
        """Run the search."""
        self._push(((0, 0, self._floor.columns, self._floor.rows), ()))
        while self._queue:
            _, _, left, state = heapq.heappop(self._queue)
            if left:
                self._branch(state)
                continue
            narrow = self._too_narrow(state)
            if narrow is not None:
                self._widen(state, narrow)
            elif not self._limits.takes(state[0]):
                self._cut_to_stock(state)
            else:
                rect, marks = state
                notches = tuple(Notch(at=m[0], rect=_notch(rect, m)) for m in marks)
                return Outline(rect=rect, notches=notches)
        return None

    def _push(self, state: State) -> None:
        rect, marks = self._trimmed(state[0]), tuple(sorted(state[1]))
        if rect is None or (rect, marks) in self._seen or not self._allowed(rect, marks):
            return
        self._seen.add((rect, marks))
        taken = 0
        for mark in marks:
            taken |= self._floor.mask(_notch(rect, mark))
        blocked = self._floor.blocked & self._floor.mask(rect)
        promise = _area(rect) - (blocked | taken).bit_count()
        if self._limits.stock is not None:
            promise = min(promise, self._limits.stock[0] * self._limits.stock[1])
        if promise <= 0:
            return
        left = (blocked & ~taken).bit_count()
        self._count += 1
        # Of equal promise the one with least left to settle, then the latest.
        heapq.heappush(self._queue, (-promise, left, left, (rect, marks)))

    def _trimmed(self, rect: Rect) -> Rect | None:
        """Edges moved in to where a square of the least width touches each of them."""
        w, squares = self._limits.least_width, self._squares
        x0, y0, x1, y1 = rect
        while x1 - x0 >= w and y1 - y0 >= w:
            room = squares & self._floor.mask((x0, y0, x1 - w + 1, y1 - w + 1))
            if not room & self._floor.mask((x0, y0, x0 + 1, y1)):
                x0 += 1
            elif not room & self._floor.mask((x1 - w, y0, x1 - w + 1, y1)):
                x1 -= 1
            elif not room & self._floor.mask((x0, y0, x1, y0 + 1)):
                y0 += 1
            elif not room & self._floor.mask((x0, y1 - w, x1, y1 - w + 1)):
                y1 -= 1
            else:
                return x0, y0, x1, y1
        return None

    def _allowed(self, rect: Rect, marks: tuple[Mark, ...]) -> bool:
        if not all(_within(p, rect) for p in self._points):
            return False
        notches = []
        for mark in marks:
            x0, y0, x1, y1 = mark[1]
            if x0 < rect[0] or y0 < rect[1] or x1 > rect[2] or y1 > rect[3]:
                return False
            notch = _notch(rect, mark)
            if not self._clear_of_edges(rect, mark[0], notch):
                return False
            if any(_within(p, notch) for p in self._points):
                return False
            notches.append(notch)
        w = self._limits.least_width
        return all(
            max(b[0] - a[2], a[0] - b[2], b[1] - a[3], a[1] - b[3]) >= w
            for a, b in itertools.combinations(notches, 2)
        )

    def _clear_of_edges(self, rect: Rect, at: NotchAt, notch: Rect) -> bool:
        w = self._limits.least_width
        return (
            (at in _TO_LEFT or notch[0] - rect[0] >= w)
            and (at in _TO_LOWER or notch[1] - rect[1] >= w)
            and (at in _TO_RIGHT or rect[2] - notch[2] >= w)
            and (at in _TO_UPPER or rect[3] - notch[3] >= w)
        )

    def _branch(self, state: State) -> None:
        """Settle one blocked hole: past one of the edges, into a notch there is, or a new one."""
        rect, marks = state
        x, y = self._most_inside(state)
        x0, y0, x1, y1 = rect
        for smaller in ((x + 1, y0, x1, y1), (x0, y0, x, y1), (x0, y + 1, x1, y1), (x0, y0, x1, y)):
            if smaller[0] < smaller[2] and smaller[1] < smaller[3]:
                self._push((smaller, marks))
        for n, (at, box) in enumerate(marks):
            grown = (min(box[0], x), min(box[1], y), max(box[2], x + 1), max(box[3], y + 1))
            self._push((rect, (*marks[:n], (at, grown), *marks[n + 1 :])))
        if len(marks) < self._limits.notches:
            taken = {at for at, _ in marks}
            for at in self._kinds:
                if at in _EDGES or at not in taken:
                    self._push((rect, (*marks, (at, (x, y, x + 1, y + 1)))))

    def _most_inside(self, state: State) -> Point:
        """The blocked hole furthest from all edges: leaving it out costs most."""
        rect, marks = state
        left = self._floor.blocked & self._floor.mask(rect)
        for mark in marks:
            left &= ~self._floor.mask(_notch(rect, mark))
        low, high = 0, min(rect[2] - rect[0], rect[3] - rect[1]) // 2
        found = left
        while low < high:
            n = (low + high + 1) // 2
            inner = self._floor.mask((rect[0] + n, rect[1] + n, rect[2] - n, rect[3] - n)) & left
            if inner:
                low, found = n, inner
            else:
                high = n - 1
        return self._floor.first(found)

    def _too_narrow(self, state: State) -> int | None:
        for n, (at, box) in enumerate(state[1]):
            mouth = box[2] - box[0] if at in (NotchAt.LOWER, NotchAt.UPPER) else box[3] - box[1]
            if at in _EDGES and mouth < self._limits.least_notch:
                return n
        return None

    def _widen(self, state: State, n: int) -> None:
        """An edge notch too narrow to saw: all ways to make it just wide enough."""
        rect, marks = state
        at, (x0, y0, x1, y1) = marks[n]
        level = at in (NotchAt.LOWER, NotchAt.UPPER)
        extra = self._limits.least_notch - (x1 - x0 if level else y1 - y0)
        for more in range(extra + 1):
            less = extra - more
            box = (x0 - less, y0, x1 + more, y1) if level else (x0, y0 - less, x1, y1 + more)
            self._push((rect, (*marks[:n], (at, box), *marks[n + 1 :])))

    def _cut_to_stock(self, state: State) -> None:
        """Every piece of the state's rectangle that the stock allows."""
        (x0, y0, x1, y1), marks = state
        assert self._limits.stock is not None
        stock = self._limits.stock
        for columns, rows in {stock, stock[::-1] if self._limits.turned else stock}:
            width, height = min(columns, x1 - x0), min(rows, y1 - y0)
            for x, y in itertools.product(range(x0, x1 - width + 1), range(y0, y1 - height + 1)):
                self._push(((x, y, x + width, y + height), marks))
