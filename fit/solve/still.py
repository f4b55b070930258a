"""How much room something that moves has among all that stands still, at each of its places.

Rounded boxes against rounded boxes and the planes of the walls, in straight lines: `Side.SAFE`
never overstates the room, `Side.LOOSE` never understates it. Lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fit.geometry.frames import Vec
from fit.solve.draft import STEP, Draft
from fit.solve.draft_walls import Limit, limits
from fit.solve.matter import Blob, Layer
from fit.solve.rounded import Round, inner, outer

Floats = npt.NDArray[np.float64]

_TINY = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """How far something is moved from where it was tried, at each of its places.

    Attributes:
        shape: how many places there are along each axis of the box frame.
        moved: for each axis of the box frame how far, mm; arrays that broadcast to `shape`.
        stray: how much further it may be in any direction, mm.
    """

    shape: tuple[int, int, int]
    moved: tuple[Floats, Floats, Floats]
    stray: float


@dataclass(frozen=True, slots=True)
class _Still:
    """A rounded box that stands still, and the gap it needs, mm."""

    box: Round
    need: float


@dataclass(slots=True)
class Stills:
    """All that stands still, by what sees it."""

    draft: Draft
    blobs: Sequence[Blob]
    _seen: dict[Layer, list[_Still]]
    _limits: dict[Layer, list[Limit]]

    @classmethod
    def of(cls, draft: Draft, blobs: Sequence[Blob]) -> Stills:
        """Of a question in the making."""
        return cls(draft, blobs, {}, {})

    def seen(self, layer: Layer) -> list[_Still]:
        """What things of a layer keep off."""
        if layer not in self._seen:
            needs: dict[Layer, float | None] = {}
            found = []
            for blob in self.blobs:
                if blob.layer not in needs:
                    needs[blob.layer] = self.draft.needs.between(layer, blob.layer)
                need = needs[blob.layer]
                if need is not None:
                    found += [_Still(box, need) for box in self.boxes(blob)]
            self._seen[layer] = found
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
        within = stills.limits(blob.layer)
        for box in stills.boxes(blob):
            for limit in within:
                _to_limit(room, box, limit, places, loose=stills.draft.loose)
            for still in stills.seen(blob.layer):
                _to_still(room, box, still, places, cap, loose=stills.draft.loose)
    return room


def in_steps(room: Floats, cap: int, *, loose: bool) -> npt.NDArray[np.int64]:
    """A room in whole steps, -1 where it must not be."""
    steps = np.ceil(room / STEP - _TINY) if loose else np.floor(room / STEP + _TINY)
    if loose:
        steps = np.where(room < -_TINY, -1, np.maximum(steps, 0))
    return np.clip(steps, -1, cap).astype(np.int64)


def _to_limit(room: Floats, box: Round, limit: Limit, places: Places, *, loose: bool) -> None:
    n = limit.normal
    reach = sum(c * (h if c > 0 else low) for c, low, h in zip(n, box.low, box.high, strict=True))
    if box.axis is not None:
        reach += box.radius * math.sqrt(sum(n[k] ** 2 for k in range(3) if k != box.axis))
    stray = places.stray if not loose else -places.stray
    moved = sum(c * m for c, m in zip(n, places.moved, strict=True))
    np.minimum(room, limit.offset - limit.need - reach - stray - moved, out=room)


def _to_still(
    room: Floats, box: Round, still: _Still, places: Places, cap: float, *, loose: bool
) -> None:
    """Take away what a rounded box leaves, at the places that are near enough to matter."""
    stray = -places.stray if loose else places.stray
    most = still.need + cap + stray
    near = _near(box, still.box, places, most)
    if near is None:
        return
    part = room[near]
    moved = [
        m[tuple(s if m.shape[k] > 1 else slice(None) for k, s in enumerate(near))]
        for m in places.moved
    ]
    gap = _gap(box, still.box, moved, loose=loose)
    np.minimum(part, gap - still.need - stray, out=part)


def _near(
    box: Round, still: Round, places: Places, most: float
) -> tuple[slice, slice, slice] | None:
    """The places at which two boxes are nearer than `most` along every axis."""
    found = []
    for k, moved in enumerate(places.moved):
        low = still.low[k] - _swell(still, k) - box.high[k] - _swell(box, k) - most
        high = still.high[k] + _swell(still, k) - box.low[k] + _swell(box, k) + most
        if moved.min() > high or moved.max() < low:
            return None
        others = tuple(j for j in range(3) if j != k)
        least, greatest = moved.min(axis=others), moved.max(axis=others)
        inside = np.flatnonzero((greatest >= low) & (least <= high))
        if moved.shape[k] == 1:
            found.append(slice(None))
        elif len(inside):
            found.append(slice(int(inside[0]), int(inside[-1]) + 1))
        else:
            return None
    return found[0], found[1], found[2]


def _swell(box: Round, axis: int) -> float:
    return 0.0 if box.axis is None or box.axis == axis else box.radius


def _gap(a: Round, b: Round, moved: Sequence[Floats], *, loose: bool) -> Floats:
    """The gap between two rounded boxes, the first moved; below 0 where they overlap."""
    if a.axis is None or b.axis is None or a.axis == b.axis:
        return _parallel(a, b, moved)
    # Rounded across different axes: one of the two taken as a plain box, whichever way is nearer
    # to the truth; on the loose side as the plain box within it.
    share = 1 / math.sqrt(2) if loose else 1.0
    one = _parallel(a, _squared(b, share), moved)
    two = _parallel(_squared(a, share), b, moved)
    return np.minimum(one, two) if loose else np.maximum(one, two)


def _squared(box: Round, share: float) -> Round:
    swell = [share * _swell(box, k) for k in range(3)]
    low: Vec = (box.low[0] - swell[0], box.low[1] - swell[1], box.low[2] - swell[2])
    high: Vec = (box.high[0] + swell[0], box.high[1] + swell[1], box.high[2] + swell[2])
    return Round(low, high)


def _parallel(a: Round, b: Round, moved: Sequence[Floats]) -> Floats:
    """The gap between boxes that are rounded across the same axis, or not at all."""
    gaps = [
        np.maximum(b.low[k] - a.high[k] - m, a.low[k] - b.high[k] + m) for k, m in enumerate(moved)
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
    moves: Mapping[int, tuple[Vec, Floats]], shape: tuple[int, int, int], rest: Sequence[Vec]
) -> Places:
    """Where something is at each place.

    Args:
        moves: for each engine axis that runs: what it moves for one mm of its coordinate, and how
            far the coordinate is from where it was tried, mm, place by place.
        shape: how many places there are along each axis.
        rest: how far it may be beside that for coordinates that are not told apart, mm.
    """
    moved = []
    for k in range(3):
        total = np.zeros((1, 1, 1))
        for axis, (move, away) in moves.items():
            if move[k]:
                ends = [1, 1, 1]
                ends[axis] = len(away)
                total = total + move[k] * away.reshape(ends)
        moved.append(total)
    stray = math.hypot(*(sum(abs(v[k]) for v in rest) for k in range(3))) if rest else 0.0
    return Places(shape=shape, moved=(moved[0], moved[1], moved[2]), stray=stray)
