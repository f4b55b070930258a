"""How much room something that moves has among all that stands still, at each of its places.

Rounded boxes against rounded boxes and the planes of the walls, in straight lines: `Side.SAFE`
never overstates the room, `Side.LOOSE` never understates it. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fit.geometry.frames import Vec
from fit.geometry.support import reach
from fit.solve.draft import Draft
from fit.solve.draft_walls import Limit, limits
from fit.solve.matter import Blob, Layer
from fit.solve.problem import Grid, Side
from fit.solve.rounded import Round, inner, outer

Floats = npt.NDArray[np.float64]

_TINY = 1e-7

_TOUCHING = 1e-4
"""What is set against a wall may seem to reach so far into it, mm: the noise of arithmetic."""

_WITHIN = tuple((math.cos(math.radians(d)), math.sin(math.radians(d))) for d in (0, 25, 45, 65, 90))
"""Half sizes of boxes within a disc of radius 1; the first and the last are lines."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """How far something is moved from where it was tried, at each of its places.

    Attributes:
        shape: how many places there are along each axis of the box frame.
        moved: for each axis of the box frame how far, mm; arrays that broadcast to `shape`.
        spans: for each axis the least and the most it is moved along it, place by place along
            that axis, mm.
        stray: how much further it may be along each axis, mm.
    """

    shape: tuple[int, int, int]
    moved: tuple[Floats, Floats, Floats]
    spans: tuple[tuple[Floats, Floats], ...]
    stray: Vec

    @property
    def ends(self) -> tuple[Floats, Floats]:
        """The least and the most along each axis, mm."""
        return (
            np.array([low.min() for low, _ in self.spans]),
            np.array([high.max() for _, high in self.spans]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Still:
    """Rounded boxes that stand still: with their corners as upright boxes, and the gaps they need.

    Where a gap does not `count` more of it is no room. `low` and `high` have a row for each box,
    mm.
    """

    boxes: tuple[Round, ...]
    needs: tuple[float, ...]
    count: tuple[bool, ...]
    low: Floats
    high: Floats


@dataclass(slots=True)
class Stills:
    """All that stands still, by what sees it."""

    draft: Draft
    blobs: Sequence[Blob]
    _seen: dict[Layer, Still]
    _limits: dict[Layer, list[Limit]]

    def seen(self, layer: Layer) -> Still:
        """What things of a layer keep off."""
        if layer not in self._seen:
            needs: dict[Layer, float | None] = {}
            found: list[tuple[Round, float, bool]] = []
            for blob in self.blobs:
                if blob.layer not in needs:
                    needs[blob.layer] = self.draft.needs.between(layer, blob.layer)
                need = needs[blob.layer]
                if need is not None:
                    count = self.draft.needs.count(layer, blob.layer)
                    found += [(box, need, count) for box in self.boxes(blob)]
            ends = [_squared(box) for box, *_ in found]
            self._seen[layer] = Still(
                tuple(box for box, *_ in found),
                tuple(need for _, need, _ in found),
                tuple(count for *_, count in found),
                np.array([e.low for e in ends]).reshape(-1, 3),
                np.array([e.high for e in ends]).reshape(-1, 3),
            )
        return self._seen[layer]

    def boxes(self, blob: Blob) -> tuple[Round, ...]:
        """A thing's rounded boxes, to the question's side."""
        return (inner if self.draft.loose else outer)(blob.shape, blob.pose)

    def limits(self, layer: Layer) -> list[Limit]:
        """What things of a layer stay within."""
        if layer not in self._limits:
            self._limits[layer] = list(limits(self.draft, layer))
        return self._limits[layer]


def room_of(stills: Stills, members: Sequence[tuple[Blob, Places]], cap: float) -> Floats:
    """The room at each place, mm, at most `cap`; below 0 where it must not be.

    Args:
        stills: what stands still.
        members: the things that move together, and where each is at each place.
        cap: more than this does not matter, mm.
    """
    room = np.full(members[0][1].shape if members else (1, 1, 1), cap)
    for blob, places in members:
        for limit in stills.limits(blob.layer):
            _to_limit(room, blob, limit, places, loose=stills.draft.loose)
        for box in stills.boxes(blob):
            _to_still(room, box, stills.seen(blob.layer), places, cap, loose=stills.draft.loose)
    return room


def in_steps(room: Floats, cap: int, grid: Grid) -> npt.NDArray[np.int64]:
    """A room in whole steps, -1 where it must not be."""
    loose = grid.side is Side.LOOSE
    steps = np.ceil(room / grid.step - _TINY) if loose else np.floor(room / grid.step + _TINY)
    if loose:
        steps = np.where(room < -_TINY, -1, np.maximum(steps, 0))
    return np.clip(steps, -1, cap).astype(np.int64)


def _to_limit(room: Floats, blob: Blob, limit: Limit, places: Places, *, loose: bool) -> None:
    """Take away what a wall leaves: this far a solid reaches, be it round or leaning."""
    n = limit.normal
    if limit.seat is not None:
        wall, offset = limit.seat
        if reach(blob.shape, blob.pose, wall) > offset + _TOUCHING:
            return
    far = reach(blob.shape, blob.pose, n)
    stray = sum(abs(c) * s for c, s in zip(n, places.stray, strict=True))
    stray = -stray if loose else stray
    moved = sum(c * m for c, m in zip(n, places.moved, strict=True))
    left = limit.offset - limit.need - far - stray - moved
    if limit.seat is not None:
        # How near it is to the corner is no room: it touches the wall all along.
        left = np.where(left < -_TINY, left, np.inf)
    np.minimum(room, left, out=room)


def _to_still(
    room: Floats, box: Round, still: Still, places: Places, cap: float, *, loose: bool
) -> None:
    """Take away what rounded boxes leave, at the places that are near enough to matter."""
    stray = np.array(places.stray) * (-1.0 if loose else 1.0)
    most = np.array(still.needs)[:, None] + cap + stray
    here, (first, last) = _squared(box), places.ends
    # How far the box may be moved along each axis without being far from each of the others.
    low = still.low - np.array(here.high) - most
    high = still.high - np.array(here.low) + most
    for n in np.flatnonzero(((low < last + _TINY) & (high > first - _TINY)).all(axis=1)):
        near = _near(low[n], high[n], places)
        if near is None:
            continue
        part = room[near]
        moved = [
            m[tuple(s if m.shape[k] > 1 else slice(None) for k, s in enumerate(near))]
            for m in places.moved
        ]
        left = _gap(box, still.boxes[n], (moved, stray), loose=loose) - still.needs[n]
        if not still.count[n]:
            left = np.where(left < -_TINY, left, np.inf)
        np.minimum(part, left, out=part)


def _near(low: Floats, high: Floats, places: Places) -> tuple[slice, slice, slice] | None:
    """The places that lie between two corners."""
    found = []
    for k, (least, greatest) in enumerate(places.spans):
        if len(least) == 1:
            found.append(slice(None))
            continue
        inside = np.flatnonzero((greatest >= low[k]) & (least <= high[k]))
        if not len(inside):
            return None
        found.append(slice(int(inside[0]), int(inside[-1]) + 1))
    return found[0], found[1], found[2]


Moved = tuple[Sequence[Floats], Floats]
"""How far a box is moved along each axis, and how much nearer that may bring it (looser: less)."""


def _gap(a: Round, b: Round, moved: Moved, *, loose: bool) -> Floats:
    """The gap between two rounded boxes, the first moved; below 0 where they overlap."""
    if a.axis is None or b.axis is None or a.axis == b.axis:
        return _parallel(a, b, moved)
    # Rounded across different axes: one of the two taken as a plain box, whichever way is nearer
    # to the truth; on the loose side as each of several plain boxes within it.
    if not loose:
        whole = (1.0, 1.0)
        one = _parallel(a, _squared(b, whole), moved)
        return np.maximum(one, _parallel(_squared(a, whole), b, moved))
    gaps = [_parallel(a, _squared(b, share), moved) for share in _WITHIN]
    gaps += [_parallel(_squared(a, share), b, moved) for share in _WITHIN]
    least: Floats = np.minimum.reduce(gaps)
    return least


def _squared(box: Round, shares: tuple[float, float] = (1.0, 1.0)) -> Round:
    """A plain box, swollen by shares of the radius along the two axes it is rounded across."""
    left = iter(shares)
    swell = [0.0 if box.axis in (None, k) else next(left) * box.radius for k in range(3)]
    low: Vec = (box.low[0] - swell[0], box.low[1] - swell[1], box.low[2] - swell[2])
    high: Vec = (box.high[0] + swell[0], box.high[1] + swell[1], box.high[2] + swell[2])
    return Round(low, high)


def _parallel(a: Round, b: Round, moved: Moved) -> Floats:
    """The gap between boxes that are rounded across the same axis, or not at all."""
    gaps = [
        np.maximum(b.low[k] - a.high[k] - m, a.low[k] - b.high[k] + m) - nearer
        for k, (m, nearer) in enumerate(zip(*moved, strict=True))
    ]
    axis = a.axis if a.axis is not None else b.axis
    if axis is None:
        axis = 2
    one, two = (g for k, g in enumerate(gaps) if k != axis)
    flat = _straight(one, two) - (a.radius + b.radius)
    return _straight(flat, gaps[axis])


def _straight(one: Floats, two: Floats) -> Floats:
    """The straight distance from two gaps square to each other; the larger where one is none."""
    larger = np.maximum(one, two)
    lesser = np.minimum(one, two)
    return np.where(lesser > 0.0, np.hypot(one, two), larger)


def places_of(
    moves: Mapping[int, tuple[Vec, Floats]],
    shape: tuple[int, int, int],
    rest: Sequence[Vec],
    off: Vec = (0.0, 0.0, 0.0),
) -> Places:
    """Where something is at each place.

    Args:
        moves: for each engine axis that runs: what it moves for one mm of its coordinate, and how
            far the coordinate is from where it was tried, mm, place by place.
        shape: how many places there are along each axis.
        rest: how far it may be beside that for coordinates that are not told apart, mm.
        off: how far from where it was tried it is at all places, mm.
    """
    moved = []
    for k in range(3):
        total = np.full((1, 1, 1), off[k])
        for axis, (move, away) in moves.items():
            if move[k]:
                ends = [1, 1, 1]
                ends[axis] = len(away)
                total = total + move[k] * away.reshape(ends)
        moved.append(total)
    stray = tuple(sum(abs(v[k]) for v in rest) for k in range(3))
    spans = tuple((_along(m, k, np.min), _along(m, k, np.max)) for k, m in enumerate(moved))
    return Places(
        shape=shape,
        moved=(moved[0], moved[1], moved[2]),
        spans=spans,
        stray=(stray[0], stray[1], stray[2]),
    )


def _along(moved: Floats, axis: int, end: Callable[..., Floats]) -> Floats:
    return end(moved, axis=tuple(j for j in range(3) if j != axis))
