"""The true outline of a board: its rectangle without its notches, as closed right-angled loops."""

from __future__ import annotations

import math
from itertools import pairwise

from fit.draw.drawing import Point
from fit.model.part import Board

Edge = tuple[Point, Point]
_SAME = 1e-9


def board_loops(board: Board) -> tuple[tuple[Point, ...], ...]:
    """Outer loops counter-clockwise, inner ones (cut-outs) clockwise, mm in the board's frame.

    Exact: corners are corners of the board or of a notch, nothing is rounded. A notch that
    parts the board gives two outer loops.
    """
    w, h = float(board.size[0]), float(board.size[1])
    holes = [
        (float(n.x), float(n.y), float(n.x + n.width), float(n.y + n.depth)) for n in board.notches
    ]
    xs = _levels(w, [v for n in holes for v in (n[0], n[2])])
    ys = _levels(h, [v for n in holes for v in (n[1], n[3])])

    def kept(i: int, j: int) -> bool:
        if not (0 <= i < len(xs) - 1 and 0 <= j < len(ys) - 1):
            return False
        x, y = (xs[i] + xs[i + 1]) / 2, (ys[j] + ys[j + 1]) / 2
        return not any(x0 < x < x1 and y0 < y < y1 for x0, y0, x1, y1 in holes)

    edges: list[Edge] = []
    for i, (x0, x1) in enumerate(pairwise(xs)):
        for j, (y0, y1) in enumerate(pairwise(ys)):
            if not kept(i, j):
                continue
            # Each side towards what is cut away, with the board on its left.
            sides = (
                ((i, j - 1), ((x0, y0), (x1, y0))),
                ((i + 1, j), ((x1, y0), (x1, y1))),
                ((i, j + 1), ((x1, y1), (x0, y1))),
                ((i - 1, j), ((x0, y1), (x0, y0))),
            )
            edges += [edge for cell, edge in sides if not kept(*cell)]
    return tuple(_straightened(loop) for loop in _loops(edges))


def corner_holes(board: Board, bit: float) -> tuple[tuple[Point, float], ...]:
    """The holes to drill before a notch is sawn: middle and radius, mm.

    One in each inner corner, in the waste and touching both its sides: it stops the saw, and no
    crack starts at a round corner. Smaller than the bit where a side has no room for it.
    """
    found = []
    for loop in board_loops(board):
        count = len(loop)
        for n, corner in enumerate(loop):
            before, after = loop[n - 1], loop[(n + 1) % count]
            if _left(before, corner, after) >= 0:
                continue
            sides = math.dist(before, corner), math.dist(corner, after)
            r = min(bit / 2, *(side / 2 for side in sides))
            # The waste lies on the right of both sides.
            (ux, uy), (vx, vy) = _unit(before, corner), _unit(corner, after)
            found.append(((corner[0] + r * (uy + vy), corner[1] - r * (ux + vx)), r))
    return tuple(found)


def _unit(a: Point, b: Point) -> Point:
    length = math.dist(a, b)
    return (b[0] - a[0]) / length, (b[1] - a[1]) / length


def _levels(end: float, cuts: list[float]) -> list[float]:
    levels = [0.0]
    for value in sorted(c for c in cuts if _SAME < c < end - _SAME):
        if value - levels[-1] > _SAME:
            levels.append(value)
    return [*levels, end]


def _loops(edges: list[Edge]) -> list[list[Point]]:
    """Join edges end to start; where two loops touch at a corner, each keeps to its own board."""
    after: dict[Point, list[Point]] = {}
    for a, b in edges:
        after.setdefault(a, []).append(b)
    loops = []
    while after:
        start = min(after)
        loop, here, came = [start], start, start
        while True:
            ways = after[here]
            there = _leftmost(came, here, ways)
            ways.remove(there)
            if not ways:
                del after[here]
            if there == start:
                break
            loop.append(there)
            came, here = here, there
        loops.append(loop)
    return loops


def _leftmost(came: Point, here: Point, ways: list[Point]) -> Point:
    return max(ways, key=lambda there: _left(came, here, there))


def _left(a: Point, b: Point, c: Point) -> float:
    """How far to the left the way a, b, c turns (its sign is what counts)."""
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _straightened(loop: list[Point]) -> tuple[Point, ...]:
    """The loop without points in the middle of a straight side."""
    count = len(loop)
    return tuple(
        loop[n] for n in range(count) if abs(_left(loop[n - 1], loop[n], loop[(n + 1) % count])) > 0
    )
