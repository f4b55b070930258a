"""Run the constraint solver: fixed effort, a way to stop, and the same answer every time.

Only single-worker searches are run: measured on these questions they are faster than the solver's
own team of workers (no linear relaxation pays here), and they are deterministic. A few differently
set searches run beside each other in rounds of growing effort; of those that answer in a round
the first in order is taken, whichever was quicker.
"""

from __future__ import annotations

import contextlib
import signal
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from types import FrameType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from fit.solve.maps import Maps


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
        work: limit of the solver's own deterministic time (about seconds) for each yes-or-no
            step; an answer cut short by this alone is the same every time.
        searches: how many different searches run beside each other, 1 to 3. Fixed, not taken
            from the machine, so that answers do not depend on it.
        seed: of the searches.
    """

    seconds: float = 60.0
    work: float = 20.0
    searches: int = 2
    seed: int = 1


@dataclass(slots=True, kw_only=True)
class Watch:
    """The clock of one call, and whether somebody asked it to stop.

    Attributes:
        effort: the limits.
        listen: told each better answer.
        stopped: set it from anywhere to stop; the best answer so far is kept.
        maps: what the engine worked out of the question it was asked last.
    """

    effort: Effort = field(default_factory=Effort)
    listen: Callable[[Progress], None] | None = None
    stopped: threading.Event = field(default_factory=threading.Event)
    started: float = field(default_factory=time.monotonic)
    maps: Maps | None = None

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    @property
    def left(self) -> float:
        """Seconds left, at least 0; 0 once stopped."""
        return 0.0 if self.stopped.is_set() else max(0.0, self.effort.seconds - self.spent)

    def tell(self, stage: str, best: int) -> None:
        """Pass a better answer on."""
        if self.listen is not None:
            self.listen(Progress(stage=stage, best=best, seconds=self.spent))


@contextlib.contextmanager
def interruptible(watch: Watch) -> Iterator[None]:
    """Within it the first Ctrl-C only stops the watch, so that the best answer so far is kept.

    The second one interrupts as usual. Off the main thread, or where the program handles Ctrl-C
    itself, nothing is changed.
    """
    ours = threading.current_thread() is threading.main_thread()
    if not ours or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return

    def stop(number: int, frame: FrameType | None) -> None:
        if watch.stopped.is_set():
            signal.default_int_handler(number, frame)
        watch.stopped.set()

    signal.signal(signal.SIGINT, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What a run of the solver came to.

    Attributes:
        found: a solution is there, its values are in `values`.
        proved: with a solution: there is no better one; without: there is none.
        values: of all variables, by index.
        objective: of the solution.
    """

    found: bool
    proved: bool
    values: tuple[int, ...] = ()
    objective: int = 0

    def value(self, variable: cp_model.IntVar) -> int:
        """A variable's value in the solution."""
        return self.values[variable.index]


@dataclass(frozen=True, slots=True, kw_only=True)
class _How:
    """How a round searches: each round with other seeds, as times vary wildly with the seed."""

    plain: bool
    linear: bool
    turn: int


def solve_model(
    model: cp_model.CpModel,
    watch: Watch,
    *,
    plain: bool = False,
    linear: bool = False,
    works: tuple[float, ...] | None = None,
) -> Ran:
    """Solve a model until it is proved, out of effort, or stopped (`interruptible`).

    Args:
        model: to solve; if it aims at something, that is made small.
        watch: limits and the stop switch.
        plain: no presolve, no symmetry search, another seed: for repeating a proof. Reports of
            wrong "infeasible" answers on the solver's tracker blame these steps.
        linear: use the linear relaxation: for models whose strength it is.
        works: effort of each round; None: `rounds` of the watch's effort.
    """
    best = Ran(found=False, proved=False)
    for turn, work in enumerate(works or rounds(watch.effort)):
        if not watch.left:
            break
        for ran in _round(model, watch, work, _How(plain=plain, linear=linear, turn=turn)):
            if ran.proved:
                return ran
            if ran.found and (not best.found or ran.objective < best.objective):
                best = ran
    return best


def rounds(effort: Effort) -> tuple[float, ...]:
    """Effort of each round: half as much again each time, all of it in the last.

    Short rounds first: the time these questions take is heavy-tailed, so another seed is often
    quicker than going on (C.P. Gomes, B. Selman, N. Crato, H. Kautz, "Heavy-tailed phenomena in
    satisfiability and constraint satisfaction problems", J. Automated Reasoning 24, 2000).
    """
    works = [effort.work]
    while works[0] > 0.3:
        works.insert(0, works[0] / 1.5)
    return tuple(works)


def _round(model: cp_model.CpModel, watch: Watch, work: float, how: _How) -> list[Ran]:
    """All searches once, beside each other; those after one that has its proof are called off."""
    runs = [_Run(model, _solver(watch, work, n, how)) for n in range(max(1, watch.effort.searches))]
    for run in runs:
        run.start()
    while any(run.is_alive() for run in runs):
        waiting = next((run for run in runs if run.is_alive()), runs[0])
        waiting.join(0.001 if watch.spent < 0.2 else 0.02)
        done = [n for n, run in enumerate(runs) if run.ran is not None and run.ran.proved]
        for n, run in enumerate(runs):
            if run.is_alive() and (watch.stopped.is_set() or (done and n > done[0])):
                run.solver.stop_search()
    for run in runs:
        if run.failed is not None:
            raise run.failed
    return [run.ran for run in runs if run.ran is not None]


class _Run(threading.Thread):
    """One search in a thread of its own."""

    def __init__(self, model: cp_model.CpModel, solver: cp_model.CpSolver) -> None:
        super().__init__(daemon=True)
        self.model, self.solver = model, solver
        self.ran: Ran | None = None
        self.failed: Exception | None = None

    def run(self) -> None:
        """Solve, and keep the answer or the error."""
        try:
            self.ran = self._solve()
        except Exception as error:
            self.failed = error

    def _solve(self) -> Ran:
        from ortools.sat.python import cp_model

        status = self.solver.solve(self.model)
        if status == cp_model.MODEL_INVALID:
            raise ValueError(self.model.validate())
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        return Ran(
            found=found,
            proved=status in (cp_model.OPTIMAL, cp_model.INFEASIBLE),
            values=tuple(self.solver.response_proto.solution) if found else (),
            objective=round(self.solver.objective_value) if found else 0,
        )


def _solver(watch: Watch, work: float, number: int, how: _How) -> cp_model.CpSolver:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    p = solver.parameters
    p.max_time_in_seconds = max(0.01, watch.left)
    p.max_deterministic_time = work
    p.num_workers = 1
    p.random_seed = watch.effort.seed + number + 10 * how.turn + (1000 if how.plain else 0)
    p.catch_sigint_signal = False
    p.linearization_level = 1 if how.linear or number == 2 else 0
    if how.plain or number == 1:
        # The bare model is a search of its own: often quicker to find, slower to prove.
        p.cp_model_presolve = False
    if how.plain:
        p.symmetry_level = 0
    return solver
