"""Which of many bodies are near enough to be worth measuring.

The boxes round the bodies are sorted along one axis and swept: each is compared only with those
that begin before it ends (Ericson, *Real-Time Collision Detection*, section 7.5).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from fit.geometry.support import Array, Bounds

_SPARE = 1e-9
"""So much more, mm, that rounding drops no pair."""

Indices = npt.NDArray[np.intp]


def near_pairs(bounds: Sequence[Bounds], reach: float) -> list[tuple[int, int]]:
    """All pairs (i, j), i < j, of upright boxes no more than ``reach`` mm apart, in order.

    Touching boxes count, and a pair 1e-9 mm farther apart may. As a box is never farther from
    another than the bodies in them, no pair of bodies within ``reach`` is missed. Swept along the
    axis on which the fewest boxes overlap.

    Raises ValueError if ``reach`` is below 0.
    """
    if not reach >= 0.0:
        raise ValueError(f"a reach is 0 mm or more, not {reach}")
    if len(bounds) < 2:
        return []
    boxes = np.array(bounds)
    low, high = boxes[:, 0], boxes[:, 1]
    first, second = min((_swept(low[:, k], high[:, k], reach) for k in range(3)), key=_count)
    left, right = _expanded(first, second)
    apart = np.maximum(low[right] - high[left], low[left] - high[right]).clip(min=0.0)
    near = (apart * apart).sum(axis=1) <= (reach + _SPARE) ** 2
    left, right = left[near], right[near]
    i, j = np.minimum(left, right), np.maximum(left, right)
    order = np.lexsort((j, i))
    return list(zip(i[order].tolist(), j[order].tolist(), strict=True))


class Boxes:
    """Many upright boxes, to be asked how far each is from one other."""

    def __init__(self, bounds: Sequence[Bounds]) -> None:
        boxes = np.array(bounds).reshape(-1, 2, 3)
        self._low, self._high = boxes[:, 0], boxes[:, 1]

    def gaps_from(self, box: Bounds) -> Array:
        """The distance of each to a box, mm; 0 where they meet."""
        apart = np.maximum(self._low - box[1], np.array(box[0]) - self._high).clip(min=0.0)
        distances: Array = np.sqrt((apart * apart).sum(axis=1))
        return distances


def _swept(low: Array, high: Array, reach: float) -> tuple[Indices, Indices]:
    """The order along an axis, and how many boxes behind each begin before it ends."""
    order = np.argsort(low, kind="stable")
    last = np.searchsorted(low[order], high[order] + (reach + _SPARE), side="right")
    return order, last - np.arange(1, len(low) + 1)


def _count(swept: tuple[Indices, Indices]) -> int:
    return int(swept[1].sum())


def _expanded(order: Indices, counts: Indices) -> tuple[Indices, Indices]:
    """The pairs of a sweep: each box with the ``counts`` boxes that follow it in the order."""
    place = np.repeat(np.arange(len(order)), counts)
    begins = np.cumsum(counts) - counts
    behind = np.arange(len(place)) - begins[place] + place + 1
    return order[place], order[behind]
