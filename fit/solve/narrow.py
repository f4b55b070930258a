"""Where each free part can be at all, so that the next question looks closer there alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from fit.solve.draft import Narrow, Seat, key_of
from fit.solve.free import Span
from fit.solve.maps import Maps
from fit.solve.probe import Coord
from fit.solve.problem import Item, Tie
from fit.solve.question import Question

_WORTH = 0.7
"""A span that is not shrunk below this share of what it was is not worth another look."""


def narrowed(asked: Question) -> Narrow:
    """For each part and option that has any place: from where to where, with half a step to spare.

    The question must be a loose one, so that nothing is left out.
    """
    maps = Maps(asked.problem)
    items = {item.name: item for item in asked.problem.items}
    following: dict[str, list[Item]] = {}
    for rule in asked.problem.rules:
        if rule.tie is Tie.FOLLOWS:
            following.setdefault(rule.items[0], []).append(items[rule.items[1]])
    found: dict[tuple[str, object], Mapping[Coord, Span]] = {}
    for name, seats in asked.seats.items():
        group = [maps.rooms(i) for i in (items[name], *following.get(name, ()))]
        for number, seat in enumerate(seats):
            tables = [rooms[number].margin for rooms in group if rooms is not None]
            free = np.minimum.reduce(np.broadcast_arrays(*tables)) >= 0
            if not free.any():
                continue
            spans = {coord: _span(free, axis, seat, coord) for coord, axis in seat.axes.items()}
            key = key_of(name, seat.option)
            found[key] = joined(found.get(key), spans)
    return found  # type: ignore[return-value]


def _span(free: npt.NDArray[np.bool_], axis: int, seat: Seat, coord: Coord) -> Span:
    """From the first to the last place along an axis that is free anywhere, mm."""
    others = tuple(k for k in range(free.ndim) if k != axis)
    at = np.flatnonzero(free.any(axis=others))
    steps = sorted(seat.places[coord])
    return span_of(seat, coord, steps[int(at[0])], steps[int(at[-1])])


def span_of(seat: Seat, coord: Coord, first: int, last: int) -> Span:
    """All that the steps from one to another stand for, mm."""
    ends = seat.places[coord][first], seat.places[coord][last]
    return Span(low=min(ends) - seat.nearer[coord], high=max(ends) + seat.nearer[coord])


def joined(one: Mapping[Coord, Span] | None, two: Mapping[Coord, Span]) -> Mapping[Coord, Span]:
    """Spans that hold both."""
    if one is None:
        return two
    return {
        c: replace(s, low=min(s.low, one[c].low), high=max(s.high, one[c].high))
        for c, s in two.items()
    }


def much_less(before: Narrow | None, after: Narrow) -> bool:
    """Whether it is worth asking again: a way has gone, or a span has become much shorter."""
    if before is None or len(after) < len(before):
        return True
    return any(
        span.high - span.low < _WORTH * (before[key][coord].high - before[key][coord].low)
        for key, spans in after.items()
        for coord, span in spans.items()
    )
