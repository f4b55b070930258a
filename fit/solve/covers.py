"""Rectangles that overlap each other → rectangles that do not, covering the same."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

Rect = tuple[int, int, int, int]
"""x0, y0, x1, y1; the ends are not part of it."""


def disjoint(rects: Sequence[Rect]) -> list[Rect]:
    """Rectangles that do not overlap and together cover exactly what `rects` cover.

    Columns between neighbouring x coordinates are swept; equal columns are joined again.
    """
    solid = [r for r in rects if r[0] < r[2] and r[1] < r[3]]
    if len(solid) < 2:
        return solid
    xs = sorted({x for r in solid for x in (r[0], r[2])})
    done: list[Rect] = []
    open_runs: dict[tuple[int, int], int] = {}
    for left, right in itertools.pairwise(xs):
        runs = _runs([(r[1], r[3]) for r in solid if r[0] <= left and r[2] >= right])
        ended = [r for r in open_runs if r not in runs]
        done += [(open_runs.pop(run), run[0], left, run[1]) for run in ended]
        for run in runs:
            open_runs.setdefault(run, left)
    done += [(x0, run[0], xs[-1], run[1]) for run, x0 in open_runs.items()]
    return sorted(done)


def _runs(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Spans joined where they touch or overlap."""
    joined: list[tuple[int, int]] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined
