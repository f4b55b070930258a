"""Some of a question's parts put together by hand: a quick yes, where the solver need not be asked.

Each part is looked at in a few places only, spread as far as its room goes; whether two places
go together is whole-number arithmetic. A layout that comes of it is proof enough that there is
one; that none comes of it says nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import product

import numpy as np

from fit.solve.audit import pair_margin, smallest_margin
from fit.solve.maps import Maps, Steps
from fit.solve.problem import Item, Problem, Spot, Tie
from fit.solve.question import Question
from fit.solve.reasons import only

_SIDES = tuple(way for way in product((-1, 0, 1), repeat=3) if any(way))
"""Places are taken that lie furthest in these directions …"""

_BETWEEN = 6
"""… and so many in between."""

_MOST = 60
"""A part is looked at in so many places at most."""

_LOOKS = 400
"""So many places are tried for one answer."""

Put = Mapping[str, Spot]
"""Where parts are, and all that follows them."""


class Witness:
    """Puts parts of a question together, as far as a short look finds how."""

    def __init__(self, asked: Question, maps: Maps) -> None:
        """Take the question and the rooms of its items."""
        self._asked, self._maps, self._problem = asked, maps, asked.problem
        self._items: Mapping[str, Item] = {item.name: item for item in self._problem.items}
        self._fixed = {
            i.name: Spot(way=0, at=i.ways[0].low) for i in self._items.values() if i.fixed
        }
        self._places: dict[str, list[Put]] = {}
        self._beside: dict[tuple[str, int, str, int], bool] = {}
        self._looks = 0

    def goes(self, parts: Collection[str]) -> bool:
        """Whether a place was found for all of these parts together."""
        return self.layout(parts) is not None

    def layout(self, parts: Collection[str]) -> Put | None:
        """A place for all of these parts together, if one was found."""
        fewer = only(self._problem, self._asked.items(parts))
        # Fewest places first: what is tight is put first.
        order = sorted(parts, key=lambda name: len(self._of(name)))
        self._looks = _LOOKS
        return self._put(fewer, order, [])

    def _put(self, fewer: Problem, rest: Sequence[str], taken: list[tuple[str, int]]) -> Put | None:
        if not rest:
            return self._held(fewer, taken)
        name = rest[0]
        for n in range(len(self._of(name))):
            if self._looks <= 0:
                return None
            self._looks -= 1
            if all(self._go_together(other, (name, n)) for other in taken):
                layout = self._put(fewer, rest[1:], [*taken, (name, n)])
                if layout is not None:
                    return layout
        return None

    def _held(self, fewer: Problem, taken: Sequence[tuple[str, int]]) -> Put | None:
        """The layout if all rules hold as well; what follows several is the solver's business."""
        layout = dict(self._fixed)
        for name, n in taken:
            layout.update(self._of(name)[n])
        if any(item.name not in layout for item in fewer.items):
            return None
        return layout if smallest_margin(fewer, layout) is not None else None

    def _go_together(self, one: tuple[str, int], two: tuple[str, int]) -> bool:
        key = (*one, *two)
        if key not in self._beside:
            here, there = (self._of(name)[n] for name, n in (one, two))
            self._beside[key] = all(
                pair_margin(self._problem, self._items[a], spot, self._items[b], other) is not None
                for (a, spot), (b, other) in product(here.items(), there.items())
            )
        return self._beside[key]

    def _of(self, name: str) -> list[Put]:
        """The places a part is looked at in; in each it has room alone."""
        if name not in self._places:
            self._places[name] = self._found(name)
        return self._places[name]

    def _found(self, name: str) -> list[Put]:
        rooms = self._maps.rooms(self._items[name])
        if rooms is None:
            return []
        by_option: dict[object, list[Steps]] = {}
        for way, (seat, room) in enumerate(zip(self._asked.seats[name], rooms, strict=True)):
            rows = room.places(0)
            if len(rows):
                numbered = np.column_stack([np.full(len(rows), way), rows])
                by_option.setdefault((seat.option.face, seat.option.turn), []).append(numbered)
        found: dict[tuple[int, ...], None] = {}
        for each in by_option.values():
            found.update(dict.fromkeys(_spread(np.concatenate(each))))
        puts = (self._with_followers(name, row) for row in list(found)[:_MOST])
        return [put for put in puts if self._alone(put)]

    def _with_followers(self, name: str, row: tuple[int, ...]) -> Put:
        spot = Spot(way=row[0], at=row[1:])
        put = {name: spot}
        for rule in self._problem.rules:
            if rule.tie is Tie.FOLLOWS and rule.items[0] == name:
                way = self._items[rule.items[1]].ways[spot.way]
                at = tuple(p if way.moves_on(k) else way.low[k] for k, p in enumerate(spot.at))
                put[rule.items[1]] = Spot(way=spot.way, at=at)
        return put

    def _alone(self, put: Put) -> bool:
        few = only(self._problem, put)
        bare = {**self._fixed, **put}
        return smallest_margin(few, bare) is not None


def _spread(rows: Steps) -> list[tuple[int, ...]]:
    """Rows of way and coordinates: those furthest each way, the middle, and some between."""
    at = rows[:, 1:].astype(float)
    scale = np.maximum(np.ptp(at, axis=0), 1.0)
    sides = np.array(_SIDES, dtype=float)
    furthest = np.argmax((at / scale) @ sides.T, axis=0)
    middle = np.argmin((((at - at.mean(axis=0)) / scale) ** 2).sum(axis=1))
    between = np.linspace(0, len(rows) - 1, _BETWEEN).astype(int)
    chosen = dict.fromkeys([*furthest.tolist(), int(middle), *between.tolist()])
    return [tuple(rows[n].tolist()) for n in chosen]
