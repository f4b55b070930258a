"""The layout engine: the widest smallest margin, then the tidiest, then the shortest wires.

Solved one after the other, each keeping what the ones before reached. The answer is checked by
whole-number arithmetic that shares nothing with the model, and "impossible" is only said after a
second proof of the bare question with the solver's simplifying steps off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fit.solve.audit import smallest_margin
from fit.solve.problem import Problem, Spot
from fit.solve.program import Program, build, far
from fit.solve.run import Ran, Status, Watch, solve_model

if TYPE_CHECKING:
    from fit.solve.program import Expr


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
    """

    status: Status
    layout: Mapping[str, Spot] = field(default_factory=dict)
    margin: int = 0
    best: bool = False
    tidy: bool = False
    stopped: bool = False
    seconds: float = 0.0


def solve(problem: Problem, watch: Watch | None = None) -> Answer:
    """Answer a layout question.

    Args:
        problem: the question.
        watch: limits, listener and stop switch.

    Raises:
        EngineFault: when an answer fails the engine's own check.
    """
    watch = watch or Watch()
    program = build(problem)
    program.model.maximize(program.margin)
    ran = solve_model(program.model, watch, stage="margin")
    if not ran.found and ran.proved:
        program, ran = _again(problem, watch)
        if not ran.found:
            status = Status.IMPOSSIBLE if ran.proved else Status.OUT_OF_TIME
            return _nothing(status, watch)
    if not ran.found:
        return _nothing(Status.OUT_OF_TIME, watch)
    layout = program.layout(ran)
    margin = _checked(problem, layout)
    best, tidy = ran.proved, ran.proved
    for goal, stage in ((_wishes, "tidy"), (_wires, "wires")):
        cost = goal(program)
        if cost is None or not watch.left:
            tidy = tidy and cost is None
            continue
        _fix_margin(program, margin)
        better = _improve(program, cost, layout, watch, stage)
        if better is None:
            tidy = False
            continue
        tidy = tidy and better.proved
        layout = program.layout(better)
        margin = _checked(problem, layout)
        program.model.add(cost <= round(better.solver.objective_value))
    return Answer(
        status=Status.FOUND,
        layout=layout,
        margin=margin,
        best=best,
        tidy=tidy,
        stopped=watch.stopped.is_set(),
        seconds=watch.spent,
    )


def possible(problem: Problem, watch: Watch | None = None) -> Answer:
    """Only whether there is a layout at all: the margin is not made large."""
    watch = watch or Watch()
    for helpers in (True, False):
        program = build(problem, helpers=helpers)
        program.model.add(program.margin == 0)
        ran = solve_model(program.model, watch, stage="possible", plain=not helpers)
        if ran.found:
            layout = program.layout(ran)
            margin = _checked(problem, layout)
            return Answer(status=Status.FOUND, layout=layout, margin=margin, seconds=watch.spent)
        if not ran.proved:
            return _nothing(Status.OUT_OF_TIME, watch)
    return _nothing(Status.IMPOSSIBLE, watch)


def _again(problem: Problem, watch: Watch) -> tuple[Program, Ran]:
    program = build(problem, helpers=False)
    program.model.maximize(program.margin)
    return program, solve_model(program.model, watch, stage="proof", plain=True)


def _nothing(status: Status, watch: Watch) -> Answer:
    return Answer(status=status, stopped=watch.stopped.is_set(), seconds=watch.spent)


def _checked(problem: Problem, layout: Mapping[str, Spot]) -> int:
    margin = smallest_margin(problem, layout)
    if margin is None:
        raise EngineFault("the solver's layout breaks a rule of the question")
    return margin


def _fix_margin(program: Program, margin: int) -> None:
    program.model.add(program.margin >= margin)


def _improve(
    program: Program, cost: Expr, layout: Mapping[str, Spot], watch: Watch, stage: str
) -> Ran | None:
    model = program.model
    model.minimize(cost)
    model.clear_hints()  # type: ignore[no-untyped-call]
    for name, spot in layout.items():
        thing = program.things[name]
        for value, at in zip(thing.at, spot.at, strict=True):
            model.add_hint(value, at)
        for k, way in enumerate(thing.ways):
            model.add_hint(way, k == spot.way)
    ran = solve_model(model, watch, stage=stage)
    return ran if ran.found else None


def _wishes(program: Program) -> Expr | None:
    costs: list[Expr] = []
    for wish in program.problem.wishes:
        here = program.things[wish.item].at[wish.axis]
        there = program.things[wish.other].at[wish.axis] if wish.other else wish.at
        costs.append(wish.weight * _distance(program, here - there))
    return sum(costs) if costs else None


def _wires(program: Program) -> Expr | None:
    costs: list[Expr] = []
    for wire in program.problem.wires:
        ends = (program.things[wire.a].at, program.things[wire.b].at)
        costs += [wire.weight * _distance(program, p - q) for p, q in zip(*ends, strict=True)]
    return sum(costs) if costs else None


def _distance(program: Program, difference: Expr) -> Expr:
    if isinstance(difference, int):
        return abs(difference)
    length = program.model.new_int_var(0, 2 * far(program), "")
    program.model.add_abs_equality(length, difference)
    return length
