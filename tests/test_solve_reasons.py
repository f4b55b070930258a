"""Why there is no layout: the parts named are enough, and each of them is needed."""

from __future__ import annotations

import itertools
import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fit.solve.engine import possible
from fit.solve.problem import Box, Gap, Item, Problem, Rule, Tie, Way, room_walls, turned
from fit.solve.reasons import Guess, fewest, least, only, why_not
from fit.solve.run import Status
from tests.test_solve_optimum import brute_force

DATA = Path(__file__).parent / "data" / "packing"
CASES = json.loads((DATA / "conflict_sets.json").read_text())["instances"]


def _question(case: dict[str, Any], rules: tuple[str, ...]) -> Problem:
    """A published case with some of its rules: a gap between two parts, or a part to the walls."""
    width, height = case["box"]
    items = []
    for name, (w, h) in case["parts"].items():
        wall = case["rules"][f"wall {name}"] if f"wall {name}" in rules else 0
        items.append(
            Item(
                name=name,
                ways=(
                    Way(
                        boxes=(Box(low=(0, 0), high=(w, h)),),
                        low=(0, 0),
                        high=(width, height),
                        walls=room_walls((0, 0), (width, height), need=wall),
                    ),
                ),
            )
        )
    pairs = {}
    for rule in rules:
        kind, _, about = rule.partition(" ")
        if kind == "gap":
            a, b = about.split("-")
            pairs[a, b] = Gap(need=case["rules"][rule])
    return Problem(axes=2, items=tuple(items), pairs=pairs)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["name"])
def test_known_conflicts_of_rules(case: dict[str, Any]) -> None:
    found = least(tuple(case["rules"]), lambda kept: possible(_question(case, kept)).status)
    assert found is not None
    names, strict, _ = found
    assert strict
    assert sorted(names) in [sorted(known) for known in case["all_minimal_conflict_sets"]]


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["name"])
def test_known_conflicts_of_parts(case: dict[str, Any]) -> None:
    reason = why_not(_question(case, tuple(case["rules"])))
    assert reason is not None
    # A, B and C stand in a row that is too long; D, E, F are innocent.
    assert (reason.names, reason.strict, reason.smallest) == (("A", "B", "C"), True, True)


def test_two_parts_that_are_too_wide_together_are_named_among_many() -> None:
    room = (100, 30)
    sizes = {"lamp": (8, 8), "meter": (60, 20), "socket": (10, 10), "display": (55, 20)}
    sizes["fuse"] = (5, 5)
    items = [_part(name, size, room) for name, size in sizes.items()]
    reason = why_not(Problem(axes=2, items=tuple(items)))
    assert reason is not None
    assert reason.names == ("meter", "display")
    assert reason.smallest


def test_no_reason_where_there_is_a_layout() -> None:
    room = (100, 30)
    items = (_part("a", (20, 20), room), _part("b", (30, 20), room))
    assert why_not(Problem(axes=2, items=items)) is None


def test_taking_a_part_out_never_makes_a_question_harder() -> None:
    # Four in a row at equal steps, one of them left out: the others may keep their places.
    room = (40, 10)
    names = ("a", "b", "c", "d")
    items = tuple(_part(name, (6, 6), room) for name in names)
    rule = Rule(tie=Tie.EQUAL_PITCH, items=names, axis=0)
    problem = Problem(axes=2, items=items, rules=(rule,))
    for count in range(1, 5):
        for kept in itertools.combinations(names, count):
            assert possible(only(problem, kept)).status is Status.FOUND
    assert only(problem, ("a", "c", "d")).rules[-1].items == ("c", "d")


def _part(name: str, size: tuple[int, int], room: tuple[int, int], need: int = 0) -> Item:
    ways = tuple(
        Way(
            boxes=(turned(Box(low=(0, 0), high=size), q),),
            low=(-max(size), -max(size)),
            high=(room[0] + max(size), room[1] + max(size)),
            walls=room_walls((0, 0), room, need=need),
        )
        for q in (0, 1)
    )
    return Item(name=name, ways=ways)


def _crowded(seed: int) -> tuple[Problem, tuple[int, int]]:
    """Parts that fill a small room more than it can hold, or nearly."""
    r = random.Random(seed)
    room = (r.randint(5, 8), r.randint(4, 7))
    items = []
    area, n = 0, 0
    while area < room[0] * room[1] * r.uniform(0.7, 1.1) and n < 5:
        size = (r.randint(1, 5), r.randint(1, 4))
        items.append(_part(f"p{n}", size, room, need=0))
        area += size[0] * size[1]
        n += 1
    if r.random() < 0.5:
        at = (r.randrange(room[0]), r.randrange(room[1]))
        post = Way(boxes=(Box(low=(0, 0), high=(1, 1)),), low=at, high=at)
        items.append(Item(name="post", ways=(post,)))
    gaps = {("body", "body"): Gap(need=r.choice([0, 0, 1]))}
    return Problem(axes=2, items=tuple(items), gaps=gaps), room


def _strictly_minimal(seed: int) -> bool:
    """Whether the case is impossible; if so its reason has been checked by trying everything."""
    problem, room = _crowded(seed)
    box = ((0, 0), room)
    reason = why_not(problem)
    if reason is None:
        assert brute_force(problem, box) is not None, seed
        return False
    assert reason.strict, seed
    assert brute_force(only(problem, reason.names), box) is None, seed
    for name in reason.names:
        rest = [n for n in reason.names if n != name]
        assert brute_force(only(problem, rest), box) is not None, (seed, name)
    if reason.smallest:
        free = [item.name for item in problem.items if not item.fixed]
        for few in itertools.combinations(free, len(reason.names) - 1):
            assert brute_force(only(problem, few), box) is not None, (seed, few)
    return True


def _impossible_cases(count: int, start: int) -> int:
    seed, done = start, 0
    while done < count:
        done += _strictly_minimal(seed)
        seed += 1
    return seed - start


def test_fifteen_impossible_layouts_have_strictly_minimal_reasons() -> None:
    assert _impossible_cases(15, 0) < 100


@pytest.mark.proof
@pytest.mark.parametrize("start", range(1000, 11000, 1000))
def test_two_hundred_more_do_too(start: int) -> None:
    assert _impossible_cases(20, start) < 1000


@pytest.mark.parametrize(("count", "sure"), [(5, True), (8, False)])
def test_a_few_are_only_called_the_fewest_where_all_smaller_sets_were_asked(
    count: int, sure: bool
) -> None:
    """Of five things all sets of three are asked about; of eight these are too many."""
    together, asked = frozenset(range(4)), set[frozenset[int]]()

    def ask(few: tuple[int, ...]) -> Status:
        asked.add(frozenset(few))
        return Status.IMPOSSIBLE if together <= set(few) else Status.FOUND

    assert fewest(range(count), ask, lambda _: False) == (tuple(range(4)), sure)
    smaller = {frozenset(few) for few in itertools.combinations(range(count), 3)}
    assert (smaller <= asked) is sure


GUESSES = {
    "right": None,
    "all go in": True,
    "nothing goes in": False,
}


@pytest.mark.parametrize("wrong", GUESSES)
@pytest.mark.parametrize("seed", range(40))
def test_a_guess_may_be_wrong_but_never_the_reason(seed: int, wrong: str) -> None:
    """Sets of things that are known to conflict, and a guess that is right, or never is."""
    r = random.Random(seed)
    things = tuple(range(r.randint(5, 11)))
    conflicts = [set(r.sample(things, r.randint(3, 5))) for _ in range(r.randint(1, 3))]

    def goes_in(kept: tuple[int, ...]) -> bool:
        return not any(conflict <= set(kept) for conflict in conflicts)

    def ask(kept: tuple[int, ...]) -> Status:
        return Status.FOUND if goes_in(kept) else Status.IMPOSSIBLE

    said = GUESSES[wrong]
    guess = Guess(
        likely=goes_in if said is None else lambda _: bool(said), freedom=lambda thing: thing
    )
    found = least(things, ask, guess=guess)
    assert found is not None
    names, strict, smallest = found
    assert set(names) in conflicts
    # What was only guessed is not called shown.
    assert strict or said is None
    assert all(goes_in(tuple(n for n in names if n != gone)) for gone in names)
    assert not smallest or len(names) == min(map(len, conflicts))


def test_a_guess_saves_questions() -> None:
    """Twelve things of which five conflict: the guess leads to them without a question each."""
    conflict = {1, 4, 6, 9, 11}
    asked: list[tuple[int, ...]] = []

    def goes_in(kept: tuple[int, ...]) -> bool:
        return not conflict <= set(kept)

    def ask(kept: tuple[int, ...]) -> Status:
        asked.append(kept)
        return Status.FOUND if goes_in(kept) else Status.IMPOSSIBLE

    things = tuple(range(12))
    least(things, ask, refused=True)
    without = len(asked)
    asked.clear()
    found = least(things, ask, refused=True, guess=Guess(likely=goes_in, freedom=lambda _: 1))
    assert found is not None and set(found[0]) == conflict
    assert len(asked) < without


def test_what_is_likely_only_by_a_short_look_is_found_by_a_longer_one() -> None:
    """Nine things of which six conflict by a hair: no short look tells, and no short proof does."""
    conflict = {0, 2, 3, 5, 6, 8}
    asked: list[tuple[int, ...]] = []

    def goes_in(kept: tuple[int, ...]) -> bool:
        return not conflict <= set(kept)

    def ask(kept: tuple[int, ...]) -> Status:
        return Status.FOUND if goes_in(kept) else Status.OUT_OF_TIME

    def refused(kept: tuple[int, ...]) -> bool:
        asked.append(kept)
        return not goes_in(kept)

    things = tuple(range(9))
    short: Guess[int] = Guess(likely=lambda _: True, freedom=lambda thing: thing)
    assert fewest(things, ask, lambda _: False, short, refused) is None
    guess = replace(short, nearly=goes_in)
    found = fewest(things, ask, lambda _: False, guess, refused)
    assert found is not None and set(found[0]) == conflict
    # A wrong guess is no reason.
    wrong = replace(short, nearly=lambda kept: 0 in kept)
    asked.clear()
    assert fewest(things, ask, lambda _: False, wrong, refused) is None
    assert asked
