"""Axis-parallel rectangles of a board: taking some away from others, exactly."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle from (x0, y0) to (x1, y1), mm."""

    x0: float
    y0: float
    x1: float
    y1: float

    @classmethod
    def around(cls, x: float, y: float, side: float) -> Rect:
        """A square of that side centred on (x, y)."""
        return cls(x - side / 2, y - side / 2, x + side / 2, y + side / 2)


Spans = list[tuple[float, float]]

_SAME = 1e-9
"""Pieces narrower than this, mm, are the noise of adding lengths, not material."""


def _free(low: float, high: float, taken: Spans) -> Spans:
    spans: Spans = []
    at = low
    for a, b in sorted(taken):
        if a > at:
            spans.append((at, min(a, high)))
        at = max(at, b)
        if at >= high:
            break
    if at < high:
        spans.append((at, high))
    return [(a, b) for a, b in spans if b - a > _SAME]


def minus(whole: Rect, away: Iterable[Rect]) -> tuple[Rect, ...]:
    """The rectangle `whole` without the rectangles `away`, as few level bands of rectangles.

    Exact: the pieces do not overlap and cover just what is left, but for slivers narrower than
    1e-9 mm (a notch that should end at the edge, and does but for rounding).
    """
    taken = [r for r in away if r.x1 > whole.x0 and r.x0 < whole.x1]
    taken = [r for r in taken if r.y1 > whole.y0 and r.y0 < whole.y1]
    cuts = {whole.y0, whole.y1}
    cuts |= {y for r in taken for y in (r.y0, r.y1) if whole.y0 < y < whole.y1}
    levels = sorted(cuts)
    bands: list[tuple[float, float, Spans]] = []
    for low, high in pairwise(levels):
        if high - low <= _SAME:
            continue
        spans = _free(
            whole.x0, whole.x1, [(r.x0, r.x1) for r in taken if r.y0 < high and r.y1 > low]
        )
        if bands and bands[-1][2] == spans and low - bands[-1][1] <= _SAME:
            bands[-1] = (bands[-1][0], high, spans)
        else:
            bands.append((low, high, spans))
    return tuple(Rect(a, low, b, high) for low, high, spans in bands for a, b in spans)
