"""The biggest board: against published-style cases, and against trying every outline there is."""

from __future__ import annotations

import functools
import itertools
import json
import random
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from fit.solve.outline import Limits, NotchAt, Outline, Point, Rect, biggest_board

DATA = Path(__file__).parent / "data" / "packing"
CASES = json.loads((DATA / "largest_rectangle_and_L.json").read_text())["instances"]


def _floor(columns: int, rows: int, obstacles: list[list[int]]) -> list[list[bool]]:
    free = [[True] * columns for _ in range(rows)]
    for x0, y0, x1, y1 in obstacles:
        for y in range(y0, y1):
            free[y][x0:x1] = [False] * (x1 - x0)
    return free


def _sound(free: list[list[bool]], points: list[Point], board: Outline) -> None:
    holes = board.holes()
    assert len(holes) == board.area
    assert all(free[y][x] for x, y in holes)
    assert set(points) <= holes


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["name"])
def test_known_largest_rectangles_and_ls(case: dict[str, Any]) -> None:
    columns, rows = case["cavity"]
    free = _floor(columns, rows, case["obstacles"])
    for key, limits in {
        "rectangle": Limits(notches=0, least_width=1),
        "L_1": Limits(notches=1, least_width=1, edge_notches=False),
        "L_8": Limits(notches=1, least_width=8, edge_notches=False),
    }.items():
        board = biggest_board(free, (), limits)
        assert board is not None
        _sound(free, [], board)
        assert board.area == case[key]


# --- trying every outline --------------------------------------------------------------------


def _cuts(width: int, height: int, limits: Limits) -> list[tuple[str, Rect]]:
    """Every notch a width × height rectangle may have, alone."""
    w, found = limits.least_width, []
    for a, b in itertools.product(range(1, width - w + 1), range(1, height - w + 1)):
        found += [
            ("lower left", (0, 0, a, b)),
            ("lower right", (width - a, 0, width, b)),
            ("upper left", (0, height - b, a, height)),
            ("upper right", (width - a, height - b, width, height)),
        ]
    if limits.edge_notches:
        for i, j in itertools.combinations(range(w, width - w + 1), 2):
            if j - i >= limits.least_notch:
                for d in range(1, height - w + 1):
                    found += [("", (i, 0, j, d)), ("", (i, height - d, j, height))]
        for i, j in itertools.combinations(range(w, height - w + 1), 2):
            if j - i >= limits.least_notch:
                for d in range(1, width - w + 1):
                    found += [("", (0, i, d, j)), ("", (width - d, i, width, j))]
    return found


def _compatible(a: tuple[str, Rect], b: tuple[str, Rect], w: int) -> bool:
    if a[0] and a[0] == b[0]:
        return False
    p, q = a[1], b[1]
    return max(q[0] - p[2], p[0] - q[2], q[1] - p[3], p[1] - q[3]) >= w


@functools.cache
def _outlines(columns: int, rows: int, limits: Limits) -> npt.NDArray[np.uint64]:
    """Every outline on a floor of that size, as sets of holes: bit ``row · columns + column``."""
    every: set[int] = set()
    for width, height in itertools.product(range(1, columns + 1), range(1, rows + 1)):
        if min(width, height) < limits.least_width:
            continue
        if limits.stock is not None and not (
            sorted((width, height))[0] <= min(limits.stock)
            and sorted((width, height))[1] <= max(limits.stock)
        ):
            continue
        cuts = _cuts(width, height, limits)
        masks = [_mask(columns, cut[1]) for cut in cuts]
        full = _mask(columns, (0, 0, width, height))
        shapes = {full}
        level: list[tuple[int, ...]] = [(n,) for n in range(len(cuts))]
        for count in range(limits.notches):
            shapes |= {full & ~functools.reduce(int.__or__, (masks[n] for n in c)) for c in level}
            if count + 1 < limits.notches:
                level = [
                    (*c, n)
                    for c in level
                    for n in range(c[-1] + 1, len(cuts))
                    if all(_compatible(cuts[m], cuts[n], limits.least_width) for m in c)
                ]
        for x, y in itertools.product(range(columns - width + 1), range(rows - height + 1)):
            every |= {s << (y * columns + x) for s in shapes}
    return np.array(sorted(every), dtype=np.uint64)


def _mask(columns: int, r: Rect) -> int:
    return sum(1 << (y * columns + x) for x in range(r[0], r[2]) for y in range(r[1], r[3]))


def _best_by_force(free: list[list[bool]], points: list[Point], limits: Limits) -> int:
    rows, columns = len(free), len(free[0])
    blocked = sum(
        1 << (y * columns + x) for y, row in enumerate(free) for x, ok in enumerate(row) if not ok
    )
    wanted = sum({1 << (y * columns + x) for x, y in points})
    every = _outlines(columns, rows, limits)
    ok = ((every & np.uint64(blocked)) == 0) & ((every & np.uint64(wanted)) == np.uint64(wanted))
    return int(np.bitwise_count(every[ok]).max()) if ok.any() else 0


KINDS = [
    (6, 5, Limits(notches=2, least_width=1, least_notch=1)),
    (7, 5, Limits(notches=2, least_width=2, least_notch=1)),
    (8, 6, Limits(notches=2, least_width=2, least_notch=2)),
    (9, 7, Limits(notches=2, least_width=3, least_notch=1)),
    (6, 5, Limits(notches=1, least_width=1, least_notch=2)),
    (6, 6, Limits(notches=4, least_width=2, edge_notches=False)),
    (7, 6, Limits(notches=3, least_width=2, least_notch=2)),
    (7, 5, Limits(notches=2, least_width=1, least_notch=3, stock=(5, 4))),
    (8, 7, Limits(notches=0, least_width=1)),
    (8, 8, Limits(notches=2, least_width=2, least_notch=3)),
]


def _random_floor(
    r: random.Random, columns: int, rows: int
) -> tuple[list[list[bool]], list[Point]]:
    obstacles = []
    for _ in range(r.randint(0, 5)):
        w, h = r.randint(1, 3), r.randint(1, 3)
        x, y = r.randint(-1, columns - 1), r.randint(-1, rows - 1)
        obstacles.append([max(0, x), max(0, y), min(columns, x + w), min(rows, y + h)])
    points = [(r.randrange(columns), r.randrange(rows)) for _ in range(r.choice([0, 0, 0, 1, 2]))]
    return _floor(columns, rows, obstacles), points


def _agrees(seed: int) -> int:
    r = random.Random(seed)
    columns, rows, limits = KINDS[seed % len(KINDS)]
    free, points = _random_floor(r, columns, rows)
    board = biggest_board(free, points, limits)
    if board is not None:
        _sound(free, points, board)
    found = 0 if board is None else board.area
    assert found == _best_by_force(free, points, limits), seed
    return found


def test_fifty_random_floors_get_the_best_of_all_outlines() -> None:
    areas = [_agrees(seed) for seed in range(50)]
    assert len(set(areas)) > 10
    assert 0 in areas


@pytest.mark.proof
@pytest.mark.parametrize("start", range(50, 500, 50))
def test_the_other_random_floors_do_too(start: int) -> None:
    for seed in range(start, start + 50):
        _agrees(seed)


def test_a_board_round_a_big_thing_is_notched_and_keeps_its_legs() -> None:
    # A 60 × 40 floor, posts in the corners, a battery holder reaching in from the lower edge.
    posts = [[0, 0, 4, 4], [56, 0, 60, 4], [0, 36, 4, 40], [56, 36, 60, 40]]
    free = _floor(60, 40, [*posts, [20, 0, 40, 12]])
    board = biggest_board(free, [(6, 6), (53, 33)], Limits())
    assert board is not None
    _sound(free, [(6, 6), (53, 33)], board)
    # By hand: between two posts 52 × 40 less 20 × 12; or 56 × 36 less 20 × 8 and a corner of 4 × 4.
    assert board.area == 1840
    assert NotchAt.LOWER in {n.at for n in board.notches}


def test_more_notches_never_make_it_smaller() -> None:
    r = random.Random(3)
    for _ in range(10):
        free, _ = _random_floor(r, 20, 14)
        areas = [
            board.area if (board := biggest_board(free, (), Limits(notches=n))) else 0
            for n in range(5)
        ]
        assert areas == sorted(areas)


def test_no_board_where_a_fixing_point_is_blocked() -> None:
    free = _floor(20, 20, [[5, 5, 6, 6]])
    assert biggest_board(free, [(5, 5)]) is None
    assert biggest_board([], ()) is None
    with pytest.raises(ValueError, match="differ in length"):
        biggest_board([[True], [True, True]])
    with pytest.raises(ValueError, match="widths from 1"):
        biggest_board(free, (), Limits(least_width=0))
