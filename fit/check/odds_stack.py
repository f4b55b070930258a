"""Adding up what moves one finding's room: all at worst, and as likely as not.

Each source is set to its ± on either side, all else as planned; half the difference is its term.
Rooms that bend (the play of a group of screws, off to either side alike) have no such terms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from fit.check.odds_limits import Key
from fit.check.odds_run import Bench, Room, Runner
from fit.trade.stacks import rss, worst_case

_COUNTS: Final = 1e-4
"""Terms smaller than this, mm, are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """What is left of a room as planned, and by how much it may be off.

    Attributes:
        left: as planned, mm.
        terms: name of each source and how far it moves the room at its ±, mm, largest first; the
            sign says whether more of it gives more room.
    """

    left: float
    terms: tuple[tuple[str, float], ...]

    @property
    def worst(self) -> float:
        """How far the room is off when all stray the bad way at once, mm."""
        return worst_case(term for _, term in self.terms)

    @property
    def likely(self) -> float:
        """How far it is off at most in 95 of 100 copies: root of the sum of squares, mm."""
        return rss(term for _, term in self.terms)


def stacks(bench: Bench, runner: Runner) -> Mapping[Key, Stack]:
    """The stack of every finding that may fail."""
    planned = bench.shop.planned()
    if not bench.near:
        return {}
    steps = [planned]
    for number, source in enumerate(bench.shop.sources):
        for sign in (1.0, -1.0):
            step = planned.copy()
            step[number] += sign * source.plus_minus
            steps.append(step)
    rooms = runner.rooms(np.array(steps))
    return {key: _stack(bench, key, rooms) for key in sorted(bench.near) if key in rooms[0]}


def _stack(bench: Bench, key: Key, rooms: list[Room]) -> Stack:
    terms = []
    for number, source in enumerate(bench.shop.sources):
        more, less = rooms[2 * number + 1], rooms[2 * number + 2]
        if key not in more or key not in less:
            continue
        term = (more[key] - less[key]) / 2
        if abs(term) > _COUNTS:
            terms.append((source.name, term))
    terms.sort(key=lambda t: (-abs(t[1]), t[0]))
    return Stack(left=rooms[0][key], terms=tuple(terms))
