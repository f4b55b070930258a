"""Which places of two free things go together: tables over all places of each.

Whether two things keep their gaps hangs on the ways they are in and on how far one is from the
other, so it is worked out once for each distance and looked up for each two places. Whole numbers
throughout, the same measure as `fit.solve.audit`, and no solver.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fit.solve.maps import Maps, Room, Steps
from fit.solve.problem import Box, Item, Metric, Problem, Rule, Spot, Tie
from fit.solve.separations import bounds, directions, reach

Bits = npt.NDArray[np.uint64]
"""One bit for each place of a thing, 64 to a word."""

Flags = npt.NDArray[np.bool_]

Floats = npt.NDArray[np.float64]

Known = tuple[Steps, ...]
"""The differences of coordinates that there are along each axis, in order, steps."""

_NOISE = 1e-6

WORD = 64
"""Places to a word."""

_CHUNK = 4_000_000
"""So many pairs of places are looked up at once."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mover:
    """A free item with all that follows it alone, and the places they can be at.

    Attributes:
        items: the item first.
        ways: for each place the number of the way.
        at: for each place the coordinates of each of the items, steps: places × items × axes.
    """

    items: tuple[Item, ...]
    ways: Steps
    at: Steps

    def __len__(self) -> int:
        """How many places."""
        return len(self.ways)

    def spots(self, place: int) -> dict[str, Spot]:
        """Where each item is at a place."""
        way = int(self.ways[place])
        return {
            item.name: Spot(way=way, at=tuple(self.at[place, k].tolist()))
            for k, item in enumerate(self.items)
        }

    def only(self, kept: Flags) -> Mover:
        """The same with some of the places."""
        return Mover(items=self.items, ways=self.ways[kept], at=self.at[kept])


def movers(problem: Problem, maps: Maps, margin: int = 0) -> list[Mover] | None:
    """The free items with the places that walls, fixed items and rules about one of them leave.

    Args:
        problem: the question.
        maps: the rooms of its items.
        margin: steps to be kept, but what is enough for an item.

    Returns:
        None where the places of an item are not known one by one.
    """
    free = [item for item in problem.items if not item.fixed]
    follow: dict[str, list[Item]] = {}
    for rule in problem.rules:
        if rule.tie is Tie.FOLLOWS:
            follow.setdefault(rule.items[0], []).append(problem.item(rule.items[1]))
    following = {item.name for items in follow.values() for item in items}
    found = []
    for item in free:
        if item.name in following:
            continue
        mover = _mover(maps, margin, item, follow.get(item.name, ()))
        if mover is None:
            return None
        found.append(_by_itself(problem, _ruled(problem, mover), margin))
    return found


def _mover(maps: Maps, margin: int, item: Item, follow: Sequence[Item]) -> Mover | None:
    items = (item, *follow)
    rooms = [maps.rooms(i) for i in items]
    if rooms[0] is None or any(
        r is None and not i.fixed for i, r in zip(items, rooms, strict=True)
    ):
        return None
    ways, places = [], []
    for number in range(min(len(i.ways) for i in items)):
        at = rooms[0][number].places(_least(item, margin))
        each, kept = [at], np.ones(len(at), dtype=np.bool_)
        for other, room in zip(follow, rooms[1:], strict=True):
            there, good = _along(other, number, at, None if room is None else room[number], margin)
            each.append(there)
            kept &= good
        places.append(np.stack(each, axis=1)[kept])
        ways.append(np.full(int(kept.sum()), number, dtype=np.int64))
    return Mover(items=items, ways=np.concatenate(ways), at=np.concatenate(places))


def _least(item: Item, margin: int) -> int:
    return margin if item.enough is None else min(margin, item.enough)


def _along(
    item: Item, number: int, at: Steps, room: Room | None, margin: int
) -> tuple[Steps, Flags]:
    """Where a follower is at each place of its leader, and whether it may be there."""
    way, good = item.ways[number], np.ones(len(at), dtype=np.bool_)
    there, index = at.copy(), []
    for axis in range(at.shape[1]):
        if not way.moves_on(axis):
            there[:, axis] = way.low[axis]
        if room is not None:
            values = room.values[axis]
            near = np.clip(np.searchsorted(values, there[:, axis]), 0, len(values) - 1)
            good &= values[near] == there[:, axis]
            index.append(near)
    if room is not None:
        good &= room.margin[tuple(index)] >= max(0, _least(item, margin))
    return there, good


def _ruled(problem: Problem, mover: Mover) -> Mover:
    """Without the places that a rule about this thing alone forbids."""
    names = [item.name for item in mover.items]
    kept = np.ones(len(mover), dtype=np.bool_)
    for rule in problem.rules:
        if not set(rule.items) & set(names):
            continue
        if rule.tie is Tie.AMONG:
            kept &= np.isin(mover.ways, sorted(rule.ways))
        elif rule.tie is Tie.CENTRED and rule.items[0] == rule.items[-1]:
            at = mover.at[:, names.index(rule.items[0]), rule.axis]
            kept &= np.abs(2 * at - rule.value) <= max(1, rule.slack)
    return mover.only(kept)


def _by_itself(problem: Problem, mover: Mover, margin: int) -> Mover:
    """Without the places where an item and one that follows it are too near to each other."""
    kept = np.ones(len(mover), dtype=np.bool_)
    for way in np.unique(mover.ways).tolist() if len(mover.items) > 1 else ():
        some = _slice(mover.ways, way)
        for i, j in itertools.combinations(range(len(mover.items)), 2):
            ends = mover.at[some, i], mover.at[some, j]
            one, two = mover.items[i], mover.items[j]
            keeps = _keeps(problem, (one, way), (two, way), ends, margin)
            if keeps is not None:
                known, good = keeps
                away = ends[1] - ends[0]
                index = (np.searchsorted(d, away[:, k]) for k, d in enumerate(known))
                kept[some] &= good[tuple(index)]
    return mover.only(kept)


class Tables:
    """The things of a question and the tables between them, each worked out once.

    They hold as well for the question of some of the things, with what only these follow.
    """

    def __init__(self, problem: Problem, maps: Maps) -> None:
        """Take a question and the rooms of its items."""
        self._problem, self._maps = problem, maps
        self._movers: dict[int, dict[str, Mover] | None] = {}
        self._rows: dict[tuple[int, str, str], tuple[Bits, Bits] | None] = {}

    def movers(self, problem: Problem, margin: int) -> list[Mover] | None:
        """As `movers`, for a question of some of the things."""
        if margin not in self._movers:
            found = movers(self._problem, self._maps, margin)
            self._movers[margin] = None if found is None else {t.items[0].name: t for t in found}
        known = self._movers[margin]
        return None if known is None else [known[i.name] for i in problem.items if i.name in known]

    def between(self, a: Mover, b: Mover, margin: int) -> tuple[Bits, Bits] | None:
        """The table of two things, from either side; None where all their places go together."""
        key = margin, a.items[0].name, b.items[0].name
        if key not in self._rows:
            self._rows[key] = self._worked(a, b, margin)
        return self._rows[key]

    def _worked(self, a: Mover, b: Mover, margin: int) -> tuple[Bits, Bits] | None:
        rows = together(self._problem, a, b, margin)
        return None if rows is None else (rows, turned(rows, len(b)))

    def noted(self, a: Mover, b: Mover, margin: int) -> tuple[Bits, Bits]:
        """The table of two things to note in, also where all their places went together."""
        rows = self.between(a, b, margin)
        if rows is None:
            full = np.full((len(a), -(-len(b) // WORD)), ~np.uint64(0), dtype=np.uint64)
            # No bits beyond the last place.
            full[:, -1] >>= np.uint64(-len(b) % WORD)
            rows = full, turned(full, len(b))
            self._rows[margin, a.items[0].name, b.items[0].name] = rows
        return rows


def together(problem: Problem, a: Mover, b: Mover, margin: int = 0) -> Bits | None:
    """For each place of one thing the places of another that go with it.

    Returns:
        A row of bits for each place of the first; None where all places go together.
    """
    rows = np.empty((len(a), -(-len(b) // WORD)), dtype=np.uint64)
    parts = [
        (_slice(a.ways, p), _slice(b.ways, q), _keeps_of(problem, (a, p), (b, q), margin))
        for p in np.unique(a.ways).tolist()
        for q in np.unique(b.ways).tolist()
    ]
    ties = list(_ties(problem, a, b))
    if not ties and all(not keeps for _, _, keeps in parts):
        return None
    step = max(1, _CHUNK // max(1, len(b)))
    for start in range(0, len(a), step):
        flags = np.ones((min(step, len(a) - start), rows.shape[1] * WORD), dtype=np.bool_)
        flags[:, len(b) :] = False
        some = slice(start, start + len(flags))
        for mine, theirs, keeps in parts:
            first, last = max(mine.start, some.start), min(mine.stop, some.stop)
            for keep in keeps if first < last else ():
                rows_of = slice(first - start, last - start)
                flags[rows_of, theirs] &= keep.looked_up(
                    a.at[first:last, keep.first], b.at[theirs, keep.second]
                )
        for tie in ties:
            flags[:, : len(b)] &= _tied(tie, a, b, some)
        rows[some] = np.packbits(flags, axis=1, bitorder="little").view(np.uint64)
    return rows


def _slice(ways: Steps, way: int) -> slice:
    """The places in a way: they are in order of the ways."""
    return slice(*np.searchsorted(ways, [way, way + 1]).tolist())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Keeps:
    """At which differences of coordinates two items, in one way each, keep their gaps.

    Attributes:
        first, second: which items of the two things.
        differences: along each axis, in order: second less first, steps.
        good: for each combination of them.
    """

    first: int
    second: int
    differences: tuple[Steps, ...]
    good: Flags

    def looked_up(self, at: Steps, there: Steps) -> Flags:
        """For each place of the first and each of the second."""
        index = np.zeros((len(at), len(there)), dtype=np.int32)
        for axis, known in enumerate(self.differences):
            if len(known) == 1:
                continue
            mine, which = np.unique(at[:, axis], return_inverse=True)
            other, whose = np.unique(there[:, axis], return_inverse=True)
            table = np.searchsorted(known, other[None, :] - mine[:, None]).astype(np.int32)
            table *= int(np.prod(self.good.shape[axis + 1 :]))
            index += table[which.ravel()][:, whose.ravel()]
        return self.good.ravel()[index]


def _keeps_of(
    problem: Problem, one: tuple[Mover, int], two: tuple[Mover, int], margin: int
) -> list[_Keeps]:
    (a, p), (b, q) = one, two
    found = []
    for i, j in itertools.product(range(len(a.items)), range(len(b.items))):
        ends = a.at[_slice(a.ways, p), i], b.at[_slice(b.ways, q), j]
        keeps = _keeps(problem, (a.items[i], p), (b.items[j], q), ends, margin)
        if keeps is not None:
            found.append(_Keeps(first=i, second=j, differences=keeps[0], good=keeps[1]))
    return found


def _keeps(
    problem: Problem,
    one: tuple[Item, int],
    two: tuple[Item, int],
    ends: tuple[Steps, Steps],
    margin: int,
) -> tuple[Known, Flags] | None:
    """The differences that there are, and which of them keep the gaps; None where all do."""
    (a, p), (b, q) = one, two
    known = tuple(
        np.unique(np.unique(there)[None, :] - np.unique(at)[:, None])
        for at, there in zip(ends[0].T, ends[1].T, strict=True)
    )
    good = np.ones(tuple(len(d) for d in known), dtype=np.bool_)
    if not good.size:
        return None
    least = min((margin, *(i.enough for i in (a, b) if i.enough is not None)))
    for box, other in itertools.product(a.ways[p].boxes, b.ways[q].boxes):
        gap = problem.gap((a.name, box.layer), (b.name, other.layer))
        if gap is not None:
            _part(
                problem.metric, (box, other), gap.need + (least if gap.counts else 0), known, good
            )
    return None if good.all() else (known, good)


def _part(metric: Metric, boxes: tuple[Box, Box], need: int, known: Known, good: Flags) -> None:
    """Strike out the differences at which two boxes do not keep a gap."""
    (low, high), (other_low, other_high) = (bounds(box) for box in boxes)
    near = tuple(
        slice(
            int(np.searchsorted(d, low[k] - other_high[k] - need, "right")),
            int(np.searchsorted(d, high[k] - other_low[k] + need, "left")),
        )
        for k, d in enumerate(known)
    )
    if any(s.start >= s.stop for s in near):
        return
    there = tuple(d[s] for d, s in zip(known, near, strict=True))
    if metric is Metric.LOOSE and _alike(*boxes):
        good[near] &= _straight(boxes, need, there)
        return
    level = next(
        (
            k
            for k, d in enumerate(known)
            if metric is Metric.LOOSE
            and d[-1] + other_low[k] <= high[k]
            and d[0] + other_high[k] >= low[k]
        ),
        None,
    )
    apart = np.zeros(tuple(len(d) for d in there), dtype=np.bool_)
    for way in directions(metric, len(known), level):
        back = tuple(-n for n in way.normal)
        reaches = reach(boxes[0], way.normal, way.scale) + reach(boxes[1], back, way.scale)
        moved = np.zeros((1,) * len(there), dtype=np.int64)
        for k, n in enumerate(way.normal):
            if n:
                moved = moved + n * _broad(there[k], k, len(there))
        apart |= moved - reaches >= need * way.scale
    good[near] &= apart


def _alike(one: Box, two: Box) -> bool:
    """Whether the straight distance of two rounded boxes is that of their cores, less swells."""
    return not one.swell or not two.swell or one.round == two.round


def _straight(boxes: tuple[Box, Box], need: int, there: Known) -> Flags:
    """Whether two boxes that are rounded alike keep a gap in a straight line, for no more than so.

    Cores of boxes that are rounded about one axis are that far apart in the plane across it, less
    the radii, and so far along it; the two make the hypotenuse.
    """
    one, two = boxes
    swell, axes = one.swell + two.swell, len(there)
    about = one.round if one.swell else two.round
    across: Floats = np.zeros((1,) * axes)
    along: Floats = np.zeros((1,) * axes)
    apart: Flags = np.zeros((1,) * axes, dtype=np.bool_)
    for k, d in enumerate(there):
        gap = np.maximum(d + two.low[k] - one.high[k], one.low[k] - d - two.high[k])
        gap = _broad(gap, k, axes)
        swells = swell if k != about else 0
        # Two that just touch are apart by no gap, and overlap by none.
        apart = apart | (gap >= swells)
        if k == about:
            along = np.maximum(gap, 0.0)
        else:
            across = np.hypot(across, np.maximum(gap, 0.0))
    beside = across - swell
    apart = apart | ((beside >= 0.0) & (swell > 0))
    far = np.hypot(np.maximum(beside, 0.0), along) >= need - _NOISE
    return np.logical_and(apart, far)


def _broad(values: Steps, axis: int, axes: int) -> Steps:
    """Values along one of the axes of a table."""
    return values[tuple(slice(None) if k == axis else None for k in range(axes))]


def _ties(problem: Problem, a: Mover, b: Mover) -> Iterator[tuple[Rule, int, int, bool]]:
    """Rules between two things: the rule, the items of each, whether the first comes first."""
    mine = {item.name: k for k, item in enumerate(a.items)}
    theirs = {item.name: k for k, item in enumerate(b.items)}
    for rule in problem.rules:
        if rule.tie is Tie.CENTRED:
            pairs: Iterator[tuple[str, str]] = iter([(rule.items[0], rule.items[-1])])
        elif rule.tie is Tie.IN_LINE or (rule.tie is Tie.IN_ORDER and rule.value >= 0):
            pairs = itertools.combinations(rule.items, 2)
        elif rule.tie is Tie.IN_ORDER:
            pairs = itertools.pairwise(rule.items)
        else:
            continue
        for one, two in pairs:
            if one in mine and two in theirs:
                yield rule, mine[one], theirs[two], True
            elif one in theirs and two in mine:
                yield rule, mine[two], theirs[one], False


def _tied(tie: tuple[Rule, int, int, bool], a: Mover, b: Mover, some: slice) -> Flags:
    rule, i, j, first = tie
    here, there = a.at[some, i, rule.axis][:, None], b.at[:, j, rule.axis][None, :]
    if rule.tie is Tie.IN_LINE:
        return np.asarray(here == there, dtype=np.bool_)
    if rule.tie is Tie.CENTRED:
        off: Steps = np.abs(here + there - rule.value)
        return off <= max(1, rule.slack)
    after: Steps = there - here if first else here - there
    return after >= rule.value


def layout_of(things: Sequence[Mover], places: Sequence[int]) -> Mapping[str, Spot]:
    """Where all items are when each thing is at one of its places."""
    spots: dict[str, Spot] = {}
    for thing, place in zip(things, places, strict=True):
        spots |= thing.spots(place)
    return spots


def turned(rows: Bits, count: int) -> Bits:
    """The same table from the other thing's side."""
    found = np.zeros((count, -(-len(rows) // WORD)), dtype=np.uint64)
    for start in range(0, count, WORD * 8):
        words = np.ascontiguousarray(rows[:, start // WORD : start // WORD + 8])
        flags = np.unpackbits(words.view(np.uint8), axis=1, bitorder="little")
        flags = flags[:, : count - start].T
        padded = np.zeros((len(flags), found.shape[1] * WORD), dtype=np.uint8)
        padded[:, : len(rows)] = flags
        packed = np.packbits(padded, axis=1, bitorder="little")
        found[start : start + len(flags)] = packed.view(np.uint64)
    return found
