"""Going through all places: the same yes or no as trying every position, and true distances."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest

from fit.geometry.distance import gap
from fit.geometry.frames import Pose
from fit.geometry.shapes import Block, Cylinder, Shape
from fit.solve.all_places import Search, gone_through
from fit.solve.audit import smallest_margin
from fit.solve.maps import Maps
from fit.solve.pairs import Flags, Mover, Tables, movers, together
from fit.solve.problem import Box, Gap, Item, Metric, Problem, Tie, Way
from fit.solve.run import Effort, Status, Watch
from tests.test_solve_optimum import brute_force, random_case


def _agrees(seed: int) -> Status:
    """Whether each margin is said to be possible just where trying every position finds it."""
    problem, room = random_case(seed)
    best = brute_force(problem, room)
    equal = any(rule.tie in (Tie.EQUAL_GAP, Tie.EQUAL_PITCH) for rule in problem.rules)
    said = Status.OUT_OF_TIME
    for margin in range(problem.cap, -1, -1):
        said_here = gone_through(problem, Maps(problem), Watch(), margin=margin)
        said = said_here.status
        if best is None or margin > best:
            # Rules between three are not in the tables: then nothing may be known.
            assert said is Status.IMPOSSIBLE or (equal and said is Status.OUT_OF_TIME), seed
        else:
            assert said is Status.FOUND or (equal and said is Status.OUT_OF_TIME), (seed, margin)
        if said is Status.FOUND:
            reached = smallest_margin(problem, said_here.layout)
            assert reached is not None
            assert reached >= margin, seed
    return said


def test_all_places_say_what_trying_every_position_says() -> None:
    statuses = [_agrees(seed) for seed in range(400, 450)]
    assert statuses.count(Status.FOUND) >= 15
    assert statuses.count(Status.IMPOSSIBLE) >= 5


@pytest.mark.slow
def test_many_more_questions_by_all_places() -> None:
    for seed in range(1000, 2500):
        _agrees(seed)


def _solid(box: Box, at: tuple[int, ...]) -> tuple[Shape, Pose]:
    """A plain box, or a bar round about an axis."""
    ends = zip(box.low, box.high, at, strict=True)
    mx, my, mz = ((a + b) / 2 + p for a, b, p in ends)
    middle = (mx, my, mz)
    x, y, z = (b - a for a, b in zip(box.low, box.high, strict=True))
    if box.swell:
        frames = {
            0: Pose(middle, (0, 1, 0), (0, 0, 1), (1, 0, 0)),
            1: Pose(middle, (0, 0, 1), (1, 0, 0), (0, 1, 0)),
            2: Pose(middle),
        }
        assert box.round is not None
        return Cylinder(box.swell, (x, y, z)[box.round]), frames[box.round]
    return Block(x, y, z), Pose(middle)


def _two(problem: Problem) -> tuple[Mover, Mover]:
    things = movers(problem, Maps(problem))
    assert things is not None
    return things[0], things[1]


def _random_box(r: random.Random, about: int) -> Box:
    size = [r.randint(2, 12) for _ in range(3)]
    if r.random() < 0.5:
        return Box(low=(0, 0, 0), high=tuple(size))
    high = tuple(s if k == about else 0 for k, s in enumerate(size))
    return Box(low=(0, 0, 0), high=high, swell=r.randint(1, 8), round=about)


@pytest.mark.parametrize("seed", range(60))
def test_straight_gaps_are_those_of_the_solids(seed: int) -> None:
    """Every place of a box beside another: kept apart just where the exact solids are."""
    r = random.Random(seed)
    about, need = r.randrange(3), r.choice([0, 1, 3, 7])
    boxes = [_random_box(r, about) for _ in range(2)]
    moves = r.sample(range(3), 2)
    high = tuple(24 if k in moves else r.randint(0, 6) for k in range(3))
    low = tuple(-24 if k in moves else h for k, h in enumerate(high))
    stops = tuple(tuple(range(a, b + 1, 3)) for a, b in zip(low, high, strict=True))
    items = (
        Item(name="a", ways=(Way(boxes=(boxes[0],), low=(0, 0, 0), high=(1, 0, 0)),)),
        Item(name="b", ways=(Way(boxes=(boxes[1],), low=low, high=high, stops=stops),)),
    )
    problem = Problem(
        axes=3, items=items, gaps={("body", "body"): Gap(need=need)}, metric=Metric.LOOSE
    )
    a, b = _two(problem)
    table = together(problem, a, b)
    for one, two in itertools.product(range(len(a)), r.sample(range(len(b)), min(40, len(b)))):
        at, there = (tuple(t.at[k, 0].tolist()) for t, k in ((a, one), (b, two)))
        far = gap(*_solid(boxes[0], at), *_solid(boxes[1], there)).mm
        apart = table is None or bool(int(table[one, two // 64]) >> (two % 64) & 1)
        if abs(far - need) > 1e-5:
            assert apart == (far > need), (at, there, far, need)


def test_two_kinds_of_bars_are_never_called_nearer_than_they_are() -> None:
    """Bars about different axes have no such formula: their gap is then overstated, not more."""
    r = random.Random(5)
    for _ in range(40):
        one = Box(low=(0, 0, 0), high=(10, 0, 0), swell=r.randint(1, 6), round=0)
        two = Box(low=(0, 0, 0), high=(0, 10, 0), swell=r.randint(1, 6), round=1)
        at = tuple(r.randint(-14, 14) for _ in range(3))
        items = (
            Item(name="a", ways=(Way(boxes=(one,), low=(0, 0, 0), high=(1, 0, 0)),)),
            Item(
                name="b",
                ways=(Way(boxes=(two,), low=at, high=(at[0] + 1, *at[1:])),),
            ),
        )
        need = r.randint(0, 4)
        problem = Problem(
            axes=3, items=items, gaps={("body", "body"): Gap(need=need)}, metric=Metric.LOOSE
        )
        a, b = _two(problem)
        table = together(problem, a, b)
        far = gap(*_solid(one, (0, 0, 0)), *_solid(two, at)).mm
        if far >= need:
            assert table is None or int(table[0, 0]) & 1, (at, far, need)


def test_a_search_that_is_cut_short_says_nothing() -> None:
    room = Box(low=(0, 0), high=(7, 7))
    items = tuple(
        Item(name=f"p{n}", ways=(Way(boxes=(room,), low=(0, 0), high=(20, 20)),)) for n in range(9)
    )
    # Nine squares of 7 on 27 by 27: at most nine go in, and only in rows.
    problem = Problem(axes=2, items=items)
    maps = Maps(problem)
    assert gone_through(problem, maps, Watch(), work=1000).status is Status.OUT_OF_TIME
    assert gone_through(problem, maps, Watch(), most=1000).status is Status.OUT_OF_TIME
    late = Watch(effort=Effort(seconds=0.0))
    assert gone_through(problem, maps, late).status is Status.OUT_OF_TIME
    things = movers(problem, maps) or []
    assert not Search(Tables(problem, maps), things, Watch(), work=1000).ended


def _allowed(problem: Problem, things: list[Mover], tables: Tables) -> dict[tuple[int, int], Flags]:
    """Which places of each two go together, from the tables, or from none."""
    found = {}
    for i, j in itertools.combinations(range(len(things)), 2):
        rows = tables.between(things[i], things[j], 0)
        size = len(things[i]), len(things[j])
        found[i, j] = np.ones(size, dtype=np.bool_)
        if rows is not None:
            bits = np.unpackbits(rows[0].view(np.uint8), axis=1, bitorder="little")
            found[i, j] = bits[:, : size[1]].astype(np.bool_)
    return found


def _noted(seed: int) -> tuple[int, bool]:
    """A search that is told on the way what goes with nothing, against all combinations."""
    problem, _ = random_case(seed)
    maps = Maps(problem)
    tables = Tables(problem, maps)
    things = tables.movers(problem, 0) or []
    if not 2 <= len(things) <= 4 or not 0 < math.prod(len(t) for t in things) <= 20_000:
        return 0, False
    allowed = _allowed(problem, things, tables)
    r = np.random.default_rng(seed)
    search = Search(tables, things, Watch())
    notes = 0
    for i, j in list(allowed):
        some = [np.flatnonzero(r.random(len(things[k])) < 0.7) for k in (i, j)]
        flags = r.random((len(some[0]), len(some[1]))) < 0.5
        search.forbid((i, some[0]), (j, some[1]), flags)
        allowed[i, j][np.ix_(some[0], some[1])] &= flags
        notes += 1
    gone = np.flatnonzero(r.random(len(things[0])) < 0.5)
    search.strike(0, gone)
    there = [
        combination
        for combination in itertools.product(*(range(len(t)) for t in things))
        if combination[0] not in gone and all(f[combination[i], combination[j]]
                                          for (i, j), f in allowed.items())
    ]  # fmt: skip
    found = search.run()
    assert search.ended or found is not None
    assert (tuple(found) in there) if found is not None else not there, seed
    return notes, found is not None


def test_what_is_noted_on_the_way_counts_and_nothing_else_does() -> None:
    said = [_noted(seed) for seed in range(400, 520)]
    tried = [found for notes, found in said if notes]
    assert len(tried) >= 30
    assert any(tried) and not all(tried)
