"""Layouts come upon by repair: each holds, and few that there are are missed."""

from __future__ import annotations

import itertools
import random

import pytest

from fit.solve.all_places import gone_through
from fit.solve.audit import smallest_margin
from fit.solve.maps import Maps
from fit.solve.problem import Box, Gap, Item, Problem, Way, room_walls
from fit.solve.repair import repaired
from fit.solve.run import Status, Watch
from tests.test_solve_optimum import random_case


def _compared(first: int, count: int) -> tuple[int, int]:
    """Of so many questions with a layout, how many layouts were come upon; all of them hold."""
    there = found = 0
    for seed in range(first, first + count):
        problem, _ = random_case(seed)
        for margin in (0, 1):
            known = gone_through(problem, Maps(problem), Watch(), margin=margin).status
            layout = repaired(problem, Maps(problem), margin=margin)
            if layout is not None:
                reached = smallest_margin(problem, layout)
                assert reached is not None
                assert reached >= margin, seed
                assert known is not Status.IMPOSSIBLE, seed
            there += known is Status.FOUND
            found += known is Status.FOUND and layout is not None
    return there, found


def test_layouts_that_are_come_upon_hold_and_few_are_missed() -> None:
    there, found = _compared(3000, 25)
    assert there >= 10
    assert found >= 0.95 * there


@pytest.mark.slow
def test_many_more_layouts_by_repair() -> None:
    there, found = _compared(4000, 500)
    assert found >= 0.95 * there


def _dominoes(width: int, height: int) -> Problem:
    """As many dominoes as fill a room, to be put down or across: no place to spare at all."""
    items = []
    for n in range(width * height // 2):
        ways = tuple(
            Way(
                boxes=(Box(low=(0, 0), high=size),),
                low=(0, 0),
                high=(width, height),
                walls=room_walls((0, 0), (width, height)),
            )
            for size in ((2, 1), (1, 2))
        )
        items.append(Item(name=f"d{n}", ways=ways))
    return Problem(axes=2, items=tuple(items), gaps={("body", "body"): Gap(need=0)})


@pytest.mark.parametrize(("width", "height"), [(4, 4), (5, 4), (6, 4)])
def test_dominoes_fill_a_board(width: int, height: int) -> None:
    problem = _dominoes(width, height)
    layout = repaired(problem, Maps(problem))
    assert layout is not None
    covered = set()
    for item in problem.items:
        spot = layout[item.name]
        (box,) = item.ways[spot.way].boxes
        ends = [range(p + a, p + b) for p, a, b in zip(spot.at, box.low, box.high, strict=True)]
        covered |= set(itertools.product(*ends))
    assert covered == set(itertools.product(range(width), range(height)))


def test_one_domino_too_many_is_not_laid() -> None:
    problem = _dominoes(4, 4)
    extra = Item(name="one more", ways=problem.items[0].ways)
    problem = Problem(axes=2, items=(*problem.items, extra), gaps=problem.gaps)
    assert repaired(problem, Maps(problem)) is None


def test_the_same_each_time_and_other_seeds_lead_elsewhere() -> None:
    problem = _dominoes(6, 4)
    layouts = [repaired(problem, Maps(problem), seed=seed) for seed in (1, 1, 2, 3, 4)]
    assert layouts[0] == layouts[1]
    assert len({repr(layout) for layout in layouts}) > 1


def test_a_part_without_any_place_is_no_layout() -> None:
    problem = _dominoes(4, 4)
    large = Way(
        boxes=(Box(low=(0, 0), high=(5, 5)),),
        low=(0, 0),
        high=(4, 4),
        walls=room_walls((0, 0), (4, 4)),
    )
    wider = Problem(axes=2, items=(problem.items[0], Item(name="large", ways=(large,))))
    assert repaired(wider, Maps(wider)) is None


def test_random_numbers_of_the_program_are_left_alone() -> None:
    random.seed(5)
    first = random.random()
    random.seed(5)
    problem = _dominoes(4, 4)
    repaired(problem, Maps(problem))
    assert random.random() == first
