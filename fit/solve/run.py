"""Run the constraint solver: fixed effort, progress, a way to stop. The only place it is run."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


class Status(StrEnum):
    """What came of a question."""

    FOUND = "found"
    IMPOSSIBLE = "impossible"
    """Proved, and the proof repeated in another way."""
    OUT_OF_TIME = "out_of_time"
    """Nothing found and nothing proved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """News while solving: the stage, the best value so far in steps, and seconds spent."""

    stage: str
    best: int
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How hard to try.

    Attributes:
        seconds: wall-clock limit for the whole call. A safety net: an answer cut short by it may
            differ from run to run.
        work: limit of the solver's own deterministic time for each run; an answer cut short by
            it, or by nothing, is the same every time.
        workers: number of searches; fixed, not taken from the machine, so that answers do not
            depend on it.
        seed: of the search.
    """

    seconds: float = 60.0
    work: float = 60.0
    workers: int = 2
    seed: int = 1


@dataclass(slots=True, kw_only=True)
class Watch:
    """The clock of one call, and whether somebody asked it to stop.

    Attributes:
        effort: the limits.
        listen: told each better answer, from another thread.
        stopped: set it from anywhere to stop; the best answer so far is kept.
    """

    effort: Effort = field(default_factory=Effort)
    listen: Callable[[Progress], None] | None = None
    stopped: threading.Event = field(default_factory=threading.Event)
    started: float = field(default_factory=time.monotonic)

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    @property
    def left(self) -> float:
        """Seconds left, at least 0; 0 once stopped."""
        return 0.0 if self.stopped.is_set() else max(0.0, self.effort.seconds - self.spent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """One run of the solver.

    Attributes:
        solver: to read values from, when `found`.
        found: a solution is there.
        proved: it is the best one; or, with nothing found, there is none.
    """

    solver: cp_model.CpSolver
    found: bool
    proved: bool


def solve_model(
    model: cp_model.CpModel, watch: Watch, *, stage: str = "", plain: bool = False
) -> Ran:
    """Run the solver on a model until done, out of effort, or stopped (Ctrl-C included).

    Args:
        model: to solve.
        watch: limits and the stop switch.
        stage: named in the progress.
        plain: no presolve, no symmetry search, another seed: for repeating a proof. Reports of
            wrong "infeasible" answers on the solver's tracker blame these steps.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    p = solver.parameters
    p.max_time_in_seconds = max(0.01, watch.left)
    p.max_deterministic_time = watch.effort.work
    p.num_workers = watch.effort.workers
    p.interleave_search = watch.effort.workers > 1
    p.random_seed = watch.effort.seed + (1000 if plain else 0)
    p.catch_sigint_signal = False
    if plain:
        p.cp_model_presolve = False
        p.symmetry_level = 0
    callback = _Reporter(watch, stage).make() if watch.listen is not None else None
    status = _in_thread(lambda: solver.solve(model, callback), solver, watch)
    if status == cp_model.MODEL_INVALID:
        raise ValueError(model.validate())
    return Ran(
        solver=solver,
        found=status in (cp_model.OPTIMAL, cp_model.FEASIBLE),
        proved=status in (cp_model.OPTIMAL, cp_model.INFEASIBLE),
    )


def _in_thread(
    call: Callable[[], cp_model.CpSolverStatus], solver: cp_model.CpSolver, watch: Watch
) -> cp_model.CpSolverStatus:
    """Run `call` in a thread so that Ctrl-C and `watch.stopped` reach the solver."""
    result: list[cp_model.CpSolverStatus] = []
    failed: list[BaseException] = []

    def body() -> None:
        try:
            result.append(call())
        except BaseException as error:
            failed.append(error)

    thread = threading.Thread(target=body, daemon=True)
    thread.start()
    while thread.is_alive():
        try:
            thread.join(0.002 if watch.spent < 0.2 else 0.05)
        except KeyboardInterrupt:
            watch.stopped.set()
        if watch.stopped.is_set():
            solver.stop_search()
    if failed:
        raise failed[0]
    return result[0]


class _Reporter:
    """Passes each better objective value on."""

    def __init__(self, watch: Watch, stage: str) -> None:
        self._watch, self._stage = watch, stage

    def make(self) -> cp_model.CpSolverSolutionCallback:
        from ortools.sat.python import cp_model

        watch, stage = self._watch, self._stage

        class Callback(cp_model.CpSolverSolutionCallback):
            def on_solution_callback(self) -> None:
                if watch.listen is not None:
                    best = round(self.objective_value)
                    watch.listen(Progress(stage=stage, best=best, seconds=watch.spent))

        return Callback()
