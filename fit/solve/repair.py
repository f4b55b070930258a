"""A layout, looked for by repair: everything is put somewhere, then what clashes moves.

Of the things that clash with others the one that gains most goes where it clashes least
(S. Minton, M. D. Johnston, A. B. Philips, P. Laird, "Minimizing conflicts: a heuristic repair
method for constraint satisfaction and scheduling problems", Artificial Intelligence 58, 1992).
Where no move helps, the clashes that are left weigh more from then on (P. Morris, "The breakout
method for escaping from local minima", AAAI 1993). It proves nothing: where it finds no layout,
there may be one all the same. The numbers that are drawn are the same each time.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from fit.solve.all_places import pairs_of, tables_of
from fit.solve.audit import smallest_margin
from fit.solve.maps import Maps
from fit.solve.pairs import Bits, Flags, Mover, layout_of
from fit.solve.problem import Problem, Spot

MOST = 300_000_000
"""With more pairs of places than this the tables would be too large."""

STEPS = 3000
"""So many moves are made before all is begun anew …"""

STARTS = 5
"""… so often …"""

_FEW = 2
"""… as long as no more than so many clashes were left at some time …"""

_SOON = 800
"""… by this move."""

_NOISE = 1e-9

Floats = npt.NDArray[np.float64]


def repaired(
    problem: Problem,
    maps: Maps,
    *,
    margin: int = 0,
    seed: int = 1,
    steps: int = STEPS,
    starts: int = STARTS,
) -> Mapping[str, Spot] | None:
    """A layout with at least this margin, if one is come upon.

    Args:
        problem: the question.
        maps: the rooms of its items.
        margin: steps.
        seed: of the numbers that are drawn.
        steps: moves before all is begun anew.
        starts: how often that is.
    """
    tables = tables_of(problem, maps)
    things = tables.movers(problem, margin)
    if not things or not all(len(thing) for thing in things) or pairs_of(things) > MOST:
        return None
    rows = {
        (i, j): tables.between(a, b, margin)
        for (i, a), (j, b) in itertools.combinations(enumerate(things), 2)
    }
    repair = _Repair(things, {pair: both for pair, both in rows.items() if both is not None})
    places = repair.run(np.random.default_rng(seed), steps, starts)
    if places is None:
        return None
    fixed = {i.name: Spot(way=0, at=i.ways[0].low) for i in problem.items if i.fixed}
    layout = {**fixed, **layout_of(things, places)}
    # Rules between three and more are not in the tables.
    return layout if smallest_margin(problem, layout) is not None else None


@dataclass(frozen=True, slots=True, eq=False)
class _Beside:
    """A thing beside another: its number, that of the pair, and the other's rows of bytes."""

    other: int
    pair: int
    rows: npt.NDArray[np.uint8]
    count: int

    def against(self, place: int) -> Flags:
        """Which places of it clash with the other being at one of its own."""
        flags = np.unpackbits(self.rows[place], bitorder="little", count=self.count)
        found: Flags = flags == 0
        return found

    def clashes(self, place: int, other: int) -> bool:
        """Whether the two clash."""
        return not self.rows[place, other >> 3] >> (other & 7) & 1


@dataclass(slots=True)
class _Repair:
    """Things, and the tables between them."""

    things: Sequence[Mover]
    rows: Mapping[tuple[int, int], tuple[Bits, Bits]]
    beside: list[list[_Beside]] = field(default_factory=list)
    at: list[int] = field(default_factory=list)
    cost: list[Floats] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)

    def run(self, draw: np.random.Generator, steps: int, starts: int) -> list[int] | None:
        """A place for each, if one is come upon."""
        self.beside = [[] for _ in self.things]
        for n, ((i, j), (rows, turned)) in enumerate(self.rows.items()):
            self.beside[i].append(_Beside(j, n, rows.view(np.uint8), len(self.things[j])))
            self.beside[j].append(_Beside(i, n, turned.view(np.uint8), len(self.things[i])))
        for _ in range(starts):
            self._start(draw)
            fewest = len(self.rows)
            for step in range(steps):
                clashes = self._clashes()
                if not clashes:
                    return self.at
                fewest = min(fewest, len(clashes))
                if step >= _SOON and fewest > _FEW:
                    return None
                self._step(clashes, draw)
        return None

    def _start(self, draw: np.random.Generator) -> None:
        self.weight = [1.0] * len(self.rows)
        self.at = [int(draw.integers(len(thing))) for thing in self.things]
        self.cost = [np.zeros(len(thing)) for thing in self.things]
        for n, at in enumerate(self.at):
            for beside in self.beside[n]:
                self.cost[beside.other] += beside.against(at)

    def _clashes(self) -> list[tuple[int, _Beside]]:
        """What clashes with what, from either side."""
        bad = {n for n, at in enumerate(self.at) if self.cost[n][at] > _NOISE}
        return [
            (n, beside)
            for n in sorted(bad)
            for beside in self.beside[n]
            if n < beside.other
            and beside.other in bad
            and beside.clashes(self.at[n], self.at[beside.other])
        ]

    def _step(self, clashes: list[tuple[int, _Beside]], draw: np.random.Generator) -> None:
        """Move what gains most; where nothing does the clashes weigh more."""
        bad = sorted({k for n, beside in clashes for k in (n, beside.other)})
        least = {n: float(self.cost[n].min()) for n in bad}
        n = max(bad, key=lambda k: self.cost[k][self.at[k]] - least[k])
        if self.cost[n][self.at[n]] - least[n] > _NOISE:
            best = np.flatnonzero(self.cost[n] <= least[n] + _NOISE)
            self._move(n, int(best[draw.integers(len(best))]))
            return
        pairs = {beside.pair for _, beside in clashes}
        for k in bad:
            for beside in self.beside[k]:
                if beside.pair in pairs:
                    self.cost[beside.other] += beside.against(self.at[k])
        for pair in pairs:
            self.weight[pair] += 1.0

    def _move(self, n: int, place: int) -> None:
        for beside in self.beside[n]:
            change = beside.against(place).astype(np.float64) - beside.against(self.at[n])
            self.cost[beside.other] += self.weight[beside.pair] * change
        self.at[n] = place
