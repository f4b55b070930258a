"""What questions about ever narrower regions of one build have in common, worked out once.

Regions are cut out of each other, so most parts are looked for where they were looked for before.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from fit.solve.draft import Draft, Narrow, Seat
from fit.solve.draft_walls import Limit
from fit.solve.free import Free
from fit.solve.maps import Maps
from fit.solve.matter import Blob, Layer, Needs
from fit.solve.pairs import Bits, Mover, Tables
from fit.solve.problem import Gap, Item, Problem, Rule
from fit.solve.still import Still, Stills

Made = tuple[tuple[Seat, ...], tuple[Item, ...], tuple[Rule, ...]]
"""The seats of a part, its items, and the rules that hold these together."""

Gaps = Mapping[tuple[str, str], Gap]

Rows = tuple[Bits, Bits] | None


@dataclass(slots=True)
class Shared:
    """For questions of one build, one side and one metric, of all its open parts or some.

    Attributes:
        needs: what things ask of each other.
        still: what stands still.
        layers: the engine's names of layers.
    """

    needs: Needs
    still: tuple[Blob, ...]
    layers: dict[Layer, str] = field(default_factory=dict)
    _seen: dict[Layer, Still] = field(default_factory=dict)
    _limits: dict[Layer, list[Limit]] = field(default_factory=dict)
    _parts: dict[object, Made] = field(default_factory=dict)
    _gaps: dict[object, Gaps] = field(default_factory=dict)
    _rows: dict[object, tuple[Mover, Mover, Rows]] = field(default_factory=dict)

    def gaps_of(self, draft: Draft, make: Callable[[Draft], Gaps]) -> Gaps:
        """The gaps between layers, as before where no layers have come up since."""
        key = (draft.step, len(draft.layers))
        if key not in self._gaps:
            self._gaps[key] = make(draft)
        return self._gaps[key]

    def stills(self, draft: Draft) -> Stills:
        """All that stands still, for a question about regions."""
        return Stills(draft, self.still, self._seen, self._limits)

    def part(self, draft: Draft, free: Free, narrow: Narrow, make: Callable[[], Made]) -> Made:
        """What a part is in a question about regions: as before where it may be as before."""
        where = frozenset(
            (key[1], tuple(sorted((c.value, s.low, s.high) for c, s in spans.items())))
            for key, spans in narrow.items()
            if key[0] == free.name
        )
        key = (free.name, draft.step, draft.close, draft.marked, where)
        if key not in self._parts:
            self._parts[key] = make()
        return self._parts[key]

    def rows(
        self, of: tuple[str, ...], a: Mover, b: Mover, margin: int, make: Callable[[], Rows]
    ) -> Rows:
        """The table of two things in a question of these items: as before if both may be so."""
        key = (of, margin, tuple(map(id, a.items)), tuple(map(id, b.items)))
        known = self._rows.get(key)
        if known is None or not (_alike(known[0], a) and _alike(known[1], b)):
            # The things are kept as well, so that no others get their ids.
            known = self._rows[key] = (a, b, make())
        return known[2]

    def tables(self, problem: Problem, maps: Maps) -> Tables:
        """The tables of one of the questions."""
        return _Tables(problem, maps, self)


class _Tables(Tables):
    """Tables of which those between things that are as before are taken over."""

    def __init__(self, problem: Problem, maps: Maps, shared: Shared) -> None:
        super().__init__(problem, maps)
        self._shared, self._of = shared, tuple(item.name for item in problem.items)

    def _worked(self, a: Mover, b: Mover, margin: int) -> Rows:
        make = partial(super()._worked, a, b, margin)
        return self._shared.rows(self._of, a, b, margin, make)


def _alike(one: Mover, two: Mover) -> bool:
    """Whether things of the same items have the same places."""
    return np.array_equal(one.ways, two.ways) and np.array_equal(one.at, two.at)
