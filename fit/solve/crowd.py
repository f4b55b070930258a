"""Too many things of a size on one face: told by its area and edge, without any search.

So many points at least `d` apart fit into a convex region of area A and perimeter P at most:
``N ≤ 2/√3 · A/d² + P/(2·d) + 1`` (N. Oler, "An inequality in the geometry of numbers", Acta
Mathematica 105, 1961). The points are reference points of items that lie side by side.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from fit.solve.maps import Maps
from fit.solve.problem import Box, Item, Problem

FEW = 5
"""Fewer things than this the solver counts quickly enough itself."""

_NOISE = 1e-6

Axes = tuple[int, int]


def most(area: float, perimeter: float, apart: float) -> int:
    """How many points at least `apart` from each other a convex region holds at most."""
    bound = 2 / math.sqrt(3) * area / apart**2 + perimeter / (2 * apart) + 1
    return math.floor(bound + _NOISE)


def crowded(problem: Problem, maps: Maps) -> bool:
    """Whether some items have no room beside each other for their number alone.

    False says nothing.
    """
    groups: dict[Axes, list[Item]] = {}
    for item in problem.items:
        axes = None if item.fixed else _driven(item)
        if axes is not None:
            groups.setdefault(axes, []).append(item)
    return any(
        len(items) >= FEW and _too_many(problem, maps, axes, items)
        for axes, items in groups.items()
    )


def _driven(item: Item) -> Axes | None:
    """The two axes along which an item moves in all its ways; None if it is otherwise."""
    kinds = {
        tuple(k for k in range(len(w.low)) if len(w.stops[k]) > 1) if w.stops else ()
        for w in item.ways
    }
    axes = kinds.pop() if len(kinds) == 1 else ()
    return (axes[0], axes[1]) if len(axes) == 2 else None


def _too_many(problem: Problem, maps: Maps, axes: Axes, items: Sequence[Item]) -> bool:
    apart = {
        (a.name, b.name): _apart(problem, axes, a, b) for a, b in itertools.combinations(items, 2)
    }
    for least in sorted({d for d in apart.values() if d > 0}, reverse=True):
        kept = _all_apart([i.name for i in items], apart, least)
        if len(kept) < FEW:
            continue
        places = [_places(maps, axes, item) for item in items if item.name in kept]
        if any(p is None for p in places):
            continue
        points = np.concatenate([p for p in places if p is not None])
        if not len(points):
            return True
        if len(kept) > most(*_measured(points), least):
            return True
    return False


def _measured(points: npt.NDArray[np.int64]) -> tuple[float, float]:
    """Area and perimeter of the convex hull of points; a line counts there and back."""
    ordered = [(int(x), int(y)) for x, y in np.unique(points, axis=0)]
    hull = [*_side(ordered)[:-1], *_side(ordered[::-1])[:-1]]
    pairs = list(zip(hull, [*hull[1:], *hull[:1]], strict=True))
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in pairs) / 2
    return abs(area), sum(math.dist(a, b) for a, b in pairs)


def _side(ordered: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """One side of a convex hull, from the first of the points to the last."""
    found: list[tuple[int, int]] = []
    for x, y in ordered:
        while len(found) > 1:
            (ax, ay), (bx, by) = found[-2:]
            if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 0:
                break
            found.pop()
        found.append((x, y))
    return found


def _all_apart(
    names: Sequence[str], apart: Mapping[tuple[str, str], float], least: float
) -> tuple[str, ...]:
    """Some of the items of which each two keep at least so far apart: those with few are let go."""
    kept = list(names)
    while True:
        missing = {
            n: sum(apart.get((n, m), apart.get((m, n), 0.0)) < least for m in kept if m != n)
            for n in kept
        }
        worst = max(kept, key=lambda n: missing[n], default=None)
        if worst is None or not missing[worst]:
            return tuple(kept)
        kept.remove(worst)


def _places(maps: Maps, axes: Axes, item: Item) -> npt.NDArray[np.int64] | None:
    """Where the item may be, in the plane of its two axes; None where that is not known."""
    rooms = maps.rooms(item)
    if rooms is None:
        return None
    found = [room.places(0)[:, list(axes)] for room in rooms]
    return np.concatenate(found) if found else np.empty((0, 2), dtype=np.int64)


def _apart(problem: Problem, axes: Axes, a: Item, b: Item) -> float:
    """How far apart the reference points of two items are at least, steps; 0 where unknown."""
    most_apart = 0.0
    for one in {box.layer for box in a.ways[0].boxes}:
        for two in {box.layer for box in b.ways[0].boxes}:
            gap = problem.gap((a.name, one), (b.name, two))
            if gap is None:
                continue
            ends = [_disc(problem, axes, a, one), _disc(problem, axes, b, two)]
            if ends[0] is None or ends[1] is None or not _level(ends[0][1], ends[1][1]):
                continue
            most_apart = max(most_apart, ends[0][0] + ends[1][0] + gap.need)
    return most_apart


Disc = tuple[float, tuple[int, int]]
"""A radius, and from where to where a disc surely reaches along the third axis, steps."""


def _disc(problem: Problem, axes: Axes, item: Item, layer: str) -> Disc | None:
    """A disc about the reference point within the boxes of a layer, in each way."""
    third = next(k for k in range(problem.axes) if k not in axes)
    found: list[Disc] = []
    for way in item.ways:
        discs = [
            (_radius(box, axes), (box.low[third], box.high[third]))
            for box in way.boxes
            if box.layer == layer
        ]
        best = max(discs, default=None)
        if best is None or best[0] < 0:
            return None
        found.append(best)
    low, high = max(d[1][0] for d in found), min(d[1][1] for d in found)
    return min(d[0] for d in found), (low, high)


def _radius(box: Box, axes: Axes) -> float:
    """Of a disc about the reference point within a box; below 0 where that lies outside."""
    inside = min(min(-box.low[k], box.high[k]) for k in axes)
    if inside < 0:
        return -1.0
    third = next(k for k in range(len(box.low)) if k not in axes)
    return inside + (box.swell if box.round == third else 0)


def _level(one: tuple[int, int], two: tuple[int, int]) -> bool:
    """Whether two things always overlap along the third axis."""
    return one[0] < two[1] and two[0] < one[1] and one[0] <= one[1] and two[0] <= two[1]
