"""Measuring with a memory: what stands where it stood is not measured again.

One part moved, a mend tried, a place looked for: nearly all solids of the next scene are where
they were. The same solid in the same pose is readied once, and two readied solids are measured
once, for as long as they are remembered. What is remembered is the answer of a pure function of
sizes and poses, so that findings do not depend on what was asked before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final, Generic, TypeVar

import numpy as np

from fit.geometry import containment, distance, outlines, sweep
from fit.geometry.box import Face
from fit.geometry.containment import Cavity, WallMargin, cavity
from fit.geometry.distance import Gap, Prepared
from fit.geometry.frames import Pose
from fit.geometry.scene import Opening
from fit.geometry.shapes import Shape
from fit.geometry.support import Array, Bounds
from fit.geometry.sweep import Posed, Way
from fit.model.box import Tray

_SOLIDS: Final = 1 << 13
_PAIRS: Final = 1 << 15
"""So many are remembered, the latest asked for: more than a box of 400 parts has."""


_SPARE: Final = 1e-9
"""So much more, mm, that rounding drops nothing."""

T = TypeVar("T")


@lru_cache(maxsize=_SOLIDS)
def prepare(shape: Shape, pose: Pose) -> Prepared:
    """As `fit.geometry.distance.prepare`: the same object for the same solid."""
    return distance.prepare(shape, pose)


@lru_cache(maxsize=_PAIRS)
def gap_between(a: Prepared, b: Prepared) -> Gap:
    """As `fit.geometry.distance.gap_between`."""
    return distance.gap_between(a, b)


@lru_cache(maxsize=_SOLIDS)
def swept(shape: Shape, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """As `fit.geometry.sweep.swept`."""
    return sweep.swept(shape, pose, way)


@lru_cache(maxsize=_SOLIDS)
def passed(shape: Shape, pose: Pose, way: Way) -> tuple[Prepared, ...]:
    """The room a solid passes through on a way, readied."""
    return tuple(prepare(s, p) for s, p in swept(shape, pose, way))


@lru_cache(maxsize=_SOLIDS)
def edge_web(opening: Opening, face: Face) -> float:
    """As `fit.geometry.outlines.edge_web`."""
    return outlines.edge_web(opening, face)


class Room:
    """The inner surfaces of one box.

    Attributes:
        cavity: the surfaces.
    """

    def __init__(self, tray: Tray) -> None:
        self.cavity: Cavity = cavity(tray)
        self._known: dict[tuple[Shape, Pose], tuple[WallMargin, ...]] = {}

    def margins(self, shape: Shape, pose: Pose) -> tuple[WallMargin, ...]:
        """As `fit.geometry.containment.margins`."""
        key = (shape, pose)
        found = self._known.get(key)
        if found is None:
            if len(self._known) >= _SOLIDS:
                self._known.clear()
            found = self._known[key] = containment.margins(self.cavity, shape, pose)
        return found


@lru_cache(maxsize=16)
def room_of(tray: Tray) -> Room:
    """The inner surfaces of a box."""
    return Room(tray)


class Crowd(Generic[T]):
    """Many things and the upright boxes round them, to be asked which are near."""

    def __init__(self, things: Sequence[T], boxes: Sequence[Bounds]) -> None:
        self._things = tuple(things)
        self._low, self._high = ends(boxes)

    def within(self, groups: Iterable[Iterable[Bounds]], reach: float) -> list[list[T]]:
        """For each group of boxes what has its own box no more than `reach` mm from any of them.

        In the crowd's order; what is 1e-9 mm further off may be among it.
        """
        listed = [list(group) for group in groups]
        if not self._things:
            return [[] for _ in listed]
        low, high = ends([box for group in listed for box in group])
        apart = np.maximum(self._low[None] - high[:, None], low[:, None] - self._high[None])
        near = (apart.clip(min=0.0) ** 2).sum(axis=2) <= (reach + _SPARE) ** 2
        owner = [n for n, group in enumerate(listed) for _ in group]
        found: list[set[int]] = [set() for _ in listed]
        rows, columns = np.nonzero(near)
        for row, column in zip(rows.tolist(), columns.tolist(), strict=True):
            found[owner[row]].add(column)
        return [[self._things[n] for n in sorted(places)] for places in found]


def ends(boxes: Sequence[Bounds]) -> tuple[Array, Array]:
    """Lowest and highest corners, (n, 3) mm."""
    corners = np.array(boxes, dtype=float).reshape(-1, 2, 3)
    return corners[:, 0], corners[:, 1]


def forget() -> None:
    """Forget everything: what is asked next is measured anew."""
    for remembered in (prepare, gap_between, swept, passed, edge_web, room_of):
        remembered.cache_clear()
