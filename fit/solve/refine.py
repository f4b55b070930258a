"""What a closer look at two parts tells of where they may be: places that do not go together.

A question with places closer to each other errs less on the loose side. What it refuses two parts
in a narrow region holds whatever the other parts do, so it is noted in the tables of the question
that the region was taken from, and no other region is looked at for the same reason.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from fit.solve.all_places import Search
from fit.solve.draft import key_of
from fit.solve.free import Option
from fit.solve.maps import Steps
from fit.solve.pairs import Bits, Flags, Mover, Tables
from fit.solve.probe import Coord
from fit.solve.question import Question

Floats = npt.NDArray[np.float64]

_NOISE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cells:
    """The areas that places stand for.

    Attributes:
        option: the number of each place's option.
        low, high: from where to where, mm: places × (across, up).
    """

    option: Steps
    low: Floats
    high: Floats

    def share(self, other: Cells) -> Flags:
        """Which areas of this and of the other share a point."""
        found: Flags = self.option[:, None] == other.option[None, :]
        for k in range(2):
            found &= self.low[:, None, k] <= other.high[None, :, k] + _NOISE
            found &= other.low[None, :, k] <= self.high[:, None, k] + _NOISE
        return found


class Refiner:
    """Notes what closer looks find in the tables of a question that is looked through."""

    def __init__(self, search: Search, asked: Question, things: Sequence[Mover]) -> None:
        """Take the search through the places of a question's things."""
        self._search, self._asked, self._things = search, asked, things
        self._pairs = list(combinations(range(len(things)), 2))

    def hopeful(
        self, places: Sequence[Steps], closer: Question, movers: Sequence[Mover], tables: Tables
    ) -> bool:
        """Whether no thing, and no two, are refused all over a region that was looked at closer.

        Args:
            places: of each thing in the region.
            closer: the closer question about there.
            movers: the things with all their places in it.
            tables: of it.
        """
        shares = [
            self._shared(thing, some, closer, mover)
            for thing, some, mover in zip(self._things, places, movers, strict=True)
        ]
        for n, share in enumerate(shares):
            if share is not None and not share.any(axis=1).all():
                self._search.strike(n, places[n][~share.any(axis=1)])
        if not all(len(mover) for mover in movers):
            return False
        for pair in list(self._pairs):
            i, j = pair
            rows = tables.between(movers[i], movers[j], 0)
            if rows is None:
                continue
            one, two = shares[i], shares[j]
            if one is not None and two is not None:
                allowed = _condensed(one, rows[0], two)
                if not allowed.all():
                    self._search.forbid((i, places[i]), (j, places[j]), allowed)
            if not rows[0].any():
                # What refused this region is likely to refuse the next.
                self._pairs.remove(pair)
                self._pairs.insert(0, pair)
                return False
        return True

    def _shared(self, thing: Mover, places: Steps, closer: Question, mover: Mover) -> Flags | None:
        """For each place which of the closer ones are in its area; None: not a part's."""
        name = thing.items[0].name
        if name not in self._asked.seats or name not in closer.seats:
            return None
        order = options_of(name, self._asked, closer)
        every = np.arange(len(mover))
        return cells(self._asked, thing, places, order).share(cells(closer, mover, every, order))


Options = Mapping[tuple[str, Option], int]
"""A number for each option of a part."""


def options_of(name: str, *asked: Question) -> Options:
    """The options of a part in questions, numbered."""
    keys = {key_of("", seat.option) for question in asked for seat in question.seats[name]}
    return {key: n for n, key in enumerate(sorted(keys, key=repr))}


def cells(asked: Question, thing: Mover, places: Steps, order: Options) -> Cells:
    """The areas of some places of a part."""
    seats = asked.seats[thing.items[0].name]
    option = np.zeros(len(places), dtype=np.int64)
    low, high = np.full((len(places), 2), -np.inf), np.full((len(places), 2), np.inf)
    ways = thing.ways[places]
    for way in np.unique(ways).tolist():
        seat, there = seats[way], ways == way
        option[there] = order[key_of("", seat.option)]
        for k, coord in enumerate((Coord.ACROSS, Coord.UP)):
            if coord not in seat.axes:
                continue
            steps = thing.at[places[there], 0, seat.axes[coord]]
            mm = np.array([seat.places[coord][step] for step in steps.tolist()])
            low[there, k], high[there, k] = mm - seat.nearer[coord], mm + seat.nearer[coord]
    return Cells(option=option, low=low, high=high)


def _condensed(one: Flags, rows: Bits, two: Flags) -> Flags:
    """Whether any closer place in the area of a place goes with any in that of another's."""
    flags = np.unpackbits(rows.view(np.uint8), axis=1, bitorder="little")[:, : two.shape[1]]
    reached = one.astype(np.float32) @ flags.astype(np.float32)
    found: Flags = (reached > 0.0).astype(np.float32) @ two.T.astype(np.float32) > 0.0
    return found
