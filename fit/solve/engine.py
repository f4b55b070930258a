"""The layout engine: the widest smallest margin, then the tidiest, then the shortest wires.

Solved one after the other, each keeping what the ones before reached. The answer is checked by
whole-number arithmetic that shares nothing with the model, and "impossible" is only said after a
second proof of the bare question with the solver's simplifying steps off, where there are more
things than any layout has room for (`fit.solve.crowd`), or where all places of all things were
gone through (`fit.solve.all_places`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from fit.solve import all_places, sieve
from fit.solve.audit import Layout, smallest_margin, untidiness, wire_length
from fit.solve.crowd import crowded
from fit.solve.maps import Maps
from fit.solve.problem import Problem, Spot
from fit.solve.program import Program, Thing, build, far
from fit.solve.run import Ran, Status, Watch, interruptible, rounds, solve_model

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from fit.solve.program import Expr


_SHORT = 0.5
"""Effort of the first look for the most that can be asked."""

_LITTLE = 3_000_000
"""So many pairs of places are gone through before the solver is asked."""

_FEW = 6
"""All places of so many items are gone through first when a proof is to be given."""

_POLISHING = (0.3, 1.0)
"""Effort of each round of lowering a cost: what is a little nearer after more is not worth it."""


class EngineFault(AssertionError):
    """The solver's answer does not pass the engine's own arithmetic: a bug, never shown as good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What came of a layout question.

    Attributes:
        status: found, impossible (proved twice) or out of time.
        layout: where each item is, when found.
        margin: the smallest margin, steps, when found.
        best: True when no layout has a larger one (up to the cap).
        tidy: True when the wishes and wires are proved to be met as well as can be.
        stopped: True when somebody stopped it.
        seconds: spent.
        bare: True when it was the bare model, without the solver's simplifying steps, that said so.
        sure: True when no solver was needed to prove it.
    """

    status: Status
    layout: Mapping[str, Spot] = field(default_factory=dict)
    margin: int = 0
    best: bool = False
    tidy: bool = False
    stopped: bool = False
    seconds: float = 0.0
    bare: bool = False
    sure: bool = False


def solve(problem: Problem, watch: Watch | None = None) -> Answer:
    """Answer a layout question.

    The largest margin is looked for by halving: each step asks for a layout with at least so
    much.

    Args:
        problem: the question.
        watch: limits, listener and stop switch.

    Raises:
        EngineFault: when an answer fails the engine's own check.
    """
    watch = watch or Watch()
    with interruptible(watch):
        return _solve(problem, watch)


def _solve(problem: Problem, watch: Watch) -> Answer:
    if crowded(problem, _maps(problem, watch)):
        return Answer(status=Status.IMPOSSIBLE, seconds=watch.spent)
    layout, margin, best = _at_once(problem, watch)
    if not layout:
        first = _possible(problem, watch)
        if first.status is not Status.FOUND:
            return first
        layout, margin, best = _widest(problem, first.layout, first.margin, watch)
    tidy, limits = True, list[tuple[Goal, int]]()
    for goal in (_WISHES, _WIRES):
        if goal.wanted(problem):
            layout, proved = _polish(problem, (layout, margin, tuple(limits)), goal, watch)
            limits.append((goal, goal.measure(problem, layout)))
            tidy = tidy and proved
    return Answer(
        status=Status.FOUND,
        layout=layout,
        margin=_checked(problem, layout),
        best=best,
        tidy=tidy,
        stopped=watch.stopped.is_set(),
        seconds=watch.spent,
    )


def at_least(
    problem: Problem, margin: int, watch: Watch, *, works: tuple[float, ...] | None = None
) -> Layout | None:
    """A layout with at least this margin; None when there is none, or none was found in time.

    Args:
        problem: the question.
        margin: steps.
        watch: limits and stop switch.
        works: effort of each round; None: as the watch has it.
    """
    with interruptible(watch):
        _, layout = _ask(problem, margin, watch, works=works)
    if layout is not None:
        _checked(problem, layout)
    return layout


def possible(problem: Problem, watch: Watch | None = None) -> Answer:
    """Only whether there is a layout at all: the margin is not made large."""
    watch = watch or Watch()
    with interruptible(watch):
        return _possible(problem, watch)


def briefly(problem: Problem, watch: Watch, works: tuple[float, ...]) -> Answer:
    """As `possible`, with so much effort, and by one proof alone: for answers on the way.

    What is little is gone through place by place; else the bare model and the simplified one are
    asked in turn: now one, now the other is far quicker. Where there are very many places only the
    bare one is: what simplifying them takes no effort limit counts.
    """
    with interruptible(watch):
        answer = _without_solver(problem, watch, _LITTLE)
        many = sieve.count(_maps(problem, watch), 0) > sieve.MANY
        for n, work in enumerate(works):
            for plain in (True,) if many else (True, False):
                if answer is None:
                    answer = _once(problem, watch, work, plain=plain)
                if answer is None and n == 0 and plain:
                    answer = _without_solver(problem, watch, all_places.MOST)
    return answer or Answer(status=Status.OUT_OF_TIME, stopped=watch.stopped.is_set())


_AGAIN = 3.0
"""Effort of the first round of a proof that is repeated: the first one was not large either."""


def again(problem: Problem, watch: Watch, *, bare: bool) -> bool:
    """Whether it is proved once more that there is no layout: by the bare model, or not by it."""
    with interruptible(watch):
        works = (min(_AGAIN, watch.effort.work), watch.effort.work)
        return _ask(problem, 0, watch, plain=bare, works=works)[0].proved


def _once(problem: Problem, watch: Watch, work: float, *, plain: bool) -> Answer | None:
    """What one model has to say with so much effort."""
    ran, layout = _ask(problem, 0, watch, plain=plain, works=(work,), sieving=False)
    if layout is not None:
        margin = _checked(problem, layout)
        return Answer(status=Status.FOUND, layout=layout, margin=margin)
    return Answer(status=Status.IMPOSSIBLE, bare=plain) if ran.proved else None


def _without_solver(problem: Problem, watch: Watch, most: int) -> Answer | None:
    """By the number of things, or by all places where that is no more than so many pairs."""
    maps = _maps(problem, watch)
    if crowded(problem, maps):
        return Answer(status=Status.IMPOSSIBLE, sure=True)
    gone = all_places.gone_through(problem, maps, watch, most=most)
    if gone.status is Status.IMPOSSIBLE:
        return Answer(status=gone.status, sure=True)
    if gone.status is Status.FOUND:
        margin = _checked(problem, gone.layout)
        return Answer(status=gone.status, layout=gone.layout, margin=margin)
    return None


def _possible(problem: Problem, watch: Watch) -> Answer:
    few = sum(not item.fixed for item in problem.items) <= _FEW
    answer = _without_solver(problem, watch, all_places.MOST if few else 0)
    if answer is None:
        answer = _solved(problem, watch)
    if answer.status is Status.FOUND:
        watch.tell("margin", answer.margin)
    return replace(answer, seconds=watch.spent)


def _solved(problem: Problem, watch: Watch) -> Answer:
    ran, layout = _ask(problem, 0, watch)
    if layout is None and ran.proved:
        ran, layout = _ask(problem, 0, watch, plain=True)
    if layout is None:
        status = Status.IMPOSSIBLE if ran.proved else Status.OUT_OF_TIME
        return Answer(status=status, stopped=watch.stopped.is_set())
    return Answer(status=Status.FOUND, layout=layout, margin=_checked(problem, layout))


def _at_once(problem: Problem, watch: Watch) -> tuple[Layout, int, bool]:
    """All the margin that counts, if a short search finds it; else an empty layout."""
    _, layout = _ask(problem, problem.cap, watch, works=(_SHORT,))
    if layout is None:
        return {}, 0, False
    margin = _checked(problem, layout)
    watch.tell("margin", margin)
    return layout, margin, True


def _widest(
    problem: Problem, layout: Layout, margin: int, watch: Watch
) -> tuple[Layout, int, bool]:
    """The layout with the largest margin found, that margin, and whether it is the largest.

    Each round halves the span between what was found and what was proved too much, with the
    effort of the round; steps left undecided are taken up again by the next.
    """
    impossible = problem.cap + 1
    for work in rounds(watch.effort):
        too_much, wanted = impossible, problem.cap
        while margin < too_much - problem.grain and watch.left:
            ran, better = _ask(problem, max(wanted, margin + 1), watch, works=(work,))
            if better is not None:
                layout, margin = better, _checked(problem, better)
                watch.tell("margin", margin)
            else:
                too_much = max(wanted, margin + 1)
                impossible = too_much if ran.proved else impossible
            wanted = (margin + too_much) // 2
    return layout, margin, margin >= impossible - problem.grain


def _ask(
    problem: Problem,
    margin: int,
    watch: Watch,
    *,
    plain: bool = False,
    works: tuple[float, ...] | None = None,
    sieving: bool = True,
) -> tuple[Ran, Layout | None]:
    maps = _maps(problem, watch)
    for stride in () if plain or not sieving else sieve.strides(maps, margin):
        some = build(problem, margin, maps=maps, stride=stride)
        if some is not None:
            ran = solve_model(some.model, watch, works=(sieve.WORK,))
            if ran.found:
                return ran, some.layout(ran)
    program = build(problem, margin, maps=maps, helpers=not plain)
    if program is None:
        return Ran(found=False, proved=True), None
    ran = solve_model(program.model, watch, plain=plain, works=works)
    return ran, program.layout(ran) if ran.found else None


def _maps(problem: Problem, watch: Watch) -> Maps:
    """The rooms of a question's items, worked out once for all its steps."""
    if watch.maps is None or watch.maps.problem is not problem:
        watch.maps = Maps(problem)
    return watch.maps


def _checked(problem: Problem, layout: Layout) -> int:
    margin = smallest_margin(problem, layout)
    if margin is None:
        raise EngineFault("the solver's layout breaks a rule of the question")
    return margin


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """A cost to lower: how to say it in a model, and how to measure it in a layout."""

    stage: str
    wanted: Callable[[Problem], bool]
    cost: Callable[[Program], Expr]
    measure: Callable[[Problem, Layout], int]


def _polish(
    problem: Problem,
    kept: tuple[Layout, int, tuple[tuple[Goal, int], ...]],
    goal: Goal,
    watch: Watch,
) -> tuple[Layout, bool]:
    """Lower one cost, keeping the margin and earlier costs; and whether it is the lowest."""
    layout, margin, limits = kept
    program = build(problem, margin, maps=_maps(problem, watch))
    if program is None or not watch.left:
        return layout, False
    for earlier, most in limits:
        program.model.add(earlier.cost(program) <= most)
    program.model.minimize(goal.cost(program))
    _hint(program, layout)
    ran = solve_model(program.model, watch, works=_POLISHING)
    if not ran.found:
        return layout, False
    watch.tell(goal.stage, ran.objective)
    return program.layout(ran), ran.proved


def _hint(program: Program, layout: Layout) -> None:
    for name, spot in layout.items():
        thing = program.things[name]
        for value, at in zip(thing.at, spot.at, strict=True):
            program.model.add_hint(value, at)
        for number, way in zip(thing.numbers, thing.ways, strict=True):
            program.model.add_hint(way, number == spot.way)


def _wishes(program: Program) -> Expr:
    costs: list[Expr] = []
    for wish in program.problem.wishes:
        here = program.things[wish.item].at[wish.axis]
        there = program.things[wish.other].at[wish.axis] if wish.other else wish.at
        if wish.mirrored:
            away: Expr = here + there - wish.at
        elif wish.other:
            ends = (program.things[wish.item], program.things[wish.other])
            away = _middle(ends[0], wish.axis) - _middle(ends[1], wish.axis) + wish.at
        else:
            away = here - there
        costs.append(wish.weight * _distance(program, away))
    return sum(costs)


def _middle(thing: Thing, axis: int) -> Expr:
    """Where a thing's middle is along an axis, whichever way it is taken."""
    at: Expr = thing.at[axis]
    for way, choice in zip(thing.item.ways, thing.ways, strict=True):
        if way.beyond:
            at = at + way.beyond[axis] * choice
    return at


def _wires(program: Program) -> Expr:
    costs: list[Expr] = []
    for wire in program.problem.wires:
        a, b = program.things[wire.a], program.things[wire.b]
        costs += [
            wire.weight * _distance(program, _middle(a, axis) - _middle(b, axis) + shift)
            for axis, shift in enumerate(wire.shift[: program.problem.axes])
        ]
    return sum(costs)


def _distance(program: Program, difference: Expr) -> IntVar:
    length = program.model.new_int_var(0, 4 * far(program), "")
    program.model.add_abs_equality(length, difference)
    return length


_WISHES = Goal(stage="tidy", wanted=lambda p: bool(p.wishes), cost=_wishes, measure=untidiness)
_WIRES = Goal(stage="wires", wanted=lambda p: bool(p.wires), cost=_wires, measure=wire_length)
