"""Questions with very many places, asked of every so-manieth place first.

A layout on some of the places is a layout, so what is found there holds; where nothing is found,
nothing is said, and all places have to be looked at. A roomy box has many places and is easy; the
solver's tables for all of them are what takes long.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fit.solve.maps import Maps

MANY = 12_000
"""With more places than this in all, some of them are looked at first."""

STRIDES = (8, 3)
"""Every so-manieth place along each axis is looked at, one stride after the other …"""

WORK = 0.3
"""… with this much effort each."""


def strides(maps: Maps | None, margin: int) -> tuple[int, ...]:
    """Which strides to try before all places; none where there are not many."""
    return STRIDES if maps is not None and count(maps, margin) > MANY else ()


def count(maps: Maps, margin: int) -> int:
    """How many places with at least this margin all items have together."""
    found = 0
    for item in maps.problem.items:
        rooms = maps.rooms(item) or ()
        least = margin if item.enough is None else min(margin, item.enough)
        found += sum(int((room.margin >= max(least, 0)).sum()) for room in rooms)
    return found


def sieved(places: npt.NDArray[np.int64], stride: int) -> npt.NDArray[np.int64]:
    """Every so-manieth of some places along each axis.

    Which ones hangs on the coordinate alone: what must be in line, or goes along, still can.

    Args:
        places: one row of coordinates each, steps.
        stride: 1 keeps all.
    """
    if stride == 1 or not len(places):
        return places
    kept = np.ones(len(places), dtype=np.bool_)
    for column in places.T:
        values = np.unique(column)
        if len(values) > stride:
            unit = int(np.diff(values).min())
            kept &= (column // unit) % stride == 0
    return places[kept]
