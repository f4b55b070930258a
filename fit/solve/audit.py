"""The engine's own second look: is a layout right, and what is its smallest margin?

Exact whole-number arithmetic that shares nothing with the constraint model but the problem.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from fit.solve.problem import Box, Ints, Item, Problem, Rule, Spot, Tie, Way
from fit.solve.separations import apart, directions, inside, reach, scale_of

Layout = Mapping[str, Spot]


def smallest_margin(problem: Problem, layout: Layout) -> int | None:
    """The smallest margin of a layout, steps, at most `problem.cap`; None if it is not allowed.

    Items missing from the layout are taken as left out (the rules still need theirs).
    """
    margin = problem.cap
    for item in problem.items:
        spot = layout.get(item.name)
        if spot is None:
            continue
        own = _own_margin(item.ways[spot.way], spot.at, problem.cap)
        if own is None:
            return None
        margin = min(margin, _counted(problem, own, item))
    for a, b in itertools.combinations([i for i in problem.items if i.name in layout], 2):
        between = pair_margin(problem, a, layout[a.name], b, layout[b.name])
        if between is None:
            return None
        margin = min(margin, _counted(problem, between, a, b))
    if not all(holds(problem, rule, layout) for rule in problem.rules):
        return None
    return margin


def _counted(problem: Problem, margin: int, *items: Item) -> int:
    """A margin as it counts: all there can be, once it is enough for one of the items."""
    enough = min((i.enough for i in items if i.enough is not None), default=problem.cap)
    return margin if margin < enough else problem.cap


def _own_margin(way: Way, at: Ints, cap: int) -> int | None:
    """To the walls; None when outside."""
    if any(not a <= p <= b for a, p, b in zip(way.low, at, way.high, strict=True)):
        return None
    if way.table is not None:
        known = way.table.at(way, at)
        return None if known < 0 else min(known, cap)
    margin = cap
    for wall in way.walls:
        if not wall.layers:
            if sum(n * p for n, p in zip(wall.normal, at, strict=True)) > wall.offset:
                return None
            continue
        for box in way.boxes:
            if box.layer in wall.layers:
                left = inside(wall, box, at) // scale_of(wall.normal)
                if left < 0:
                    return None
                margin = min(margin, left) if wall.counts else margin
    return margin


def pair_margin(problem: Problem, a: Item, spot_a: Spot, b: Item, spot_b: Spot) -> int | None:
    """The smallest margin between two placed items, steps, at most the cap; None: too close."""
    if (a.fixed and b.fixed) or _known(a, spot_a, b) or _known(b, spot_b, a):
        return problem.cap
    ways = directions(problem.metric, problem.axes)
    margin = problem.cap
    for one, two in itertools.product(a.ways[spot_a.way].boxes, b.ways[spot_b.way].boxes):
        gap = problem.gap((a.name, one.layer), (b.name, two.layer))
        if gap is None or _far_off(one, spot_a.at, two, spot_b.at, gap.need + problem.cap):
            continue
        free = max(apart(one, spot_a.at, two, spot_b.at, w) // w.scale for w in ways) - gap.need
        if free < 0:
            return None
        margin = min(margin, free) if gap.counts else margin
    return margin


def _known(item: Item, spot: Spot, other: Item) -> bool:
    """Whether a fixed item is accounted for in the table of a placed one."""
    table = item.ways[spot.way].table
    return other.fixed and table is not None and other.name in table.known


def _far_off(one: Box, at_one: Ints, two: Box, at_two: Ints, most: int) -> bool:
    """Whether two boxes are at least so far apart along an axis that nothing more matters."""
    reach_of = one.swell + two.swell + most
    for p, q, low, high, other_low, other_high in zip(
        at_one, at_two, one.low, one.high, two.low, two.high, strict=True
    ):
        if q + other_low - p - high >= reach_of or p + low - q - other_high >= reach_of:
            return True
    return False


def holds(problem: Problem, rule: Rule, layout: Layout) -> bool:
    """Whether a rule holds; False while one of its items is missing."""
    if any(name not in layout for name in rule.items):
        return False
    if rule.tie is Tie.FOLLOWS:
        return _follows(problem, layout, *rule.items)
    if rule.tie is Tie.AMONG:
        return all(layout[name].way in rule.ways for name in rule.items)
    at = [layout[name].at[rule.axis] for name in rule.items]
    steps = [b - a for a, b in itertools.pairwise(at)]
    if rule.tie is Tie.IN_LINE:
        return len(set(at)) <= 1
    if rule.tie is Tie.IN_ORDER:
        return all(s >= rule.value for s in steps)
    if rule.tie is Tie.EQUAL_PITCH:
        return all(abs(a - b) <= rule.slack for a, b in itertools.pairwise(steps))
    if rule.tie is Tie.CENTRED:
        return abs(at[0] + at[-1] - rule.value) <= max(1, rule.slack)
    ends = [_ends(problem.item(name), layout[name], rule.axis) for name in rule.items]
    gaps = [b[0] - a[1] for a, b in itertools.pairwise(ends)]
    return all(abs(a - b) <= rule.slack for a, b in itertools.pairwise(gaps))


def _follows(problem: Problem, layout: Layout, leader: str, follower: str) -> bool:
    first, second = layout[leader], layout[follower]
    way = problem.item(follower).ways[second.way]
    return first.way == second.way and all(
        p == q for k, (p, q) in enumerate(zip(first.at, second.at, strict=True)) if way.moves_on(k)
    )


def _ends(item: Item, spot: Spot, axis: int) -> tuple[int, int]:
    low, high = way_ends(item.ways[spot.way], axis)
    return spot.at[axis] + low, spot.at[axis] + high


def way_ends(way: Way, axis: int) -> tuple[int, int]:
    """The lowest and highest end of a way's boxes along an axis, from its reference point."""
    unit = tuple(int(i == axis) for i in range(len(way.low)))
    minus = tuple(-n for n in unit)
    return (
        -max(reach(b, minus, 1) for b in way.boxes),
        max(reach(b, unit, 1) for b in way.boxes),
    )


def untidiness(problem: Problem, layout: Layout) -> int:
    """The cost of the wishes that are not met."""
    cost = 0
    for wish in problem.wishes:
        here = layout[wish.item].at[wish.axis]
        if wish.other is None:
            away = here if wish.mirrored else here - wish.at
        elif wish.mirrored:
            away = here + layout[wish.other].at[wish.axis] - wish.at
        else:
            ends = (_middle(problem, layout, n)[wish.axis] for n in (wish.item, wish.other))
            away = next(ends) - next(ends) + wish.at
        cost += wish.weight * abs(away)
    return cost


def _middle(problem: Problem, layout: Layout, name: str) -> tuple[int, ...]:
    """Where a thing's middle is."""
    spot = layout[name]
    beyond = problem.item(name).ways[spot.way].beyond
    return tuple(p + q for p, q in zip(spot.at, beyond or (0,) * len(spot.at), strict=True))


def wire_length(problem: Problem, layout: Layout) -> int:
    """The weighted length of all wires along the axes, steps."""
    return sum(
        w.weight
        * sum(
            abs(p - q + s)
            for p, q, s in zip(
                _middle(problem, layout, w.a), _middle(problem, layout, w.b), w.shift, strict=False
            )
        )
        for w in problem.wires
    )
