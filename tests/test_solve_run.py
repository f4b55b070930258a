"""Running the solver: proofs are repeated, stopping keeps the best, rounding errs as it says."""

from __future__ import annotations

import itertools
import os
import random
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

from fit.solve.audit import smallest_margin
from fit.solve.covers import disjoint
from fit.solve.engine import possible, solve
from fit.solve.problem import Box, Grid, Item, Problem, Side, Way, room_walls, turned
from fit.solve.run import Effort, Progress, Status, Watch

Size = tuple[int, int]


def _rectangle(name: str, size: Size, room: Size, *, turns: bool = False, need: int = 0) -> Item:
    ways = tuple(
        Way(
            boxes=(turned(Box(low=(0, 0), high=size), q),),
            low=(-max(size), -max(size)),
            high=(room[0] + max(size), room[1] + max(size)),
            walls=room_walls((0, 0), room, need=need),
        )
        for q in ((0, 1) if turns else (0,))
    )
    return Item(name=name, ways=ways)


def _lengthy(seconds: float = 120, **more: Any) -> Watch:
    return Watch(effort=Effort(seconds=seconds, **more))


def test_impossible_is_only_said_after_a_second_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    import fit.solve.engine as engine
    from fit.solve import run

    asked: list[bool] = []
    true_solve = run.solve_model

    def spy(*args: Any, **how: Any) -> Any:
        asked.append(how["plain"])
        return true_solve(*args, **how)

    monkeypatch.setattr(engine, "solve_model", spy)
    monkeypatch.setattr(engine, "_FEW", 0)  # else no solver is asked about two things
    room = (20, 20)
    items = tuple(_rectangle(f"p{n}", (11, 11), room) for n in range(2))
    assert possible(Problem(axes=2, items=items)).status is Status.IMPOSSIBLE
    assert asked == [False, True], asked


def test_a_wrong_infeasible_of_the_solver_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    import fit.solve.engine as engine
    from fit.solve import run

    true_solve = run.solve_model

    def liar(*args: Any, **how: Any) -> Any:
        if not how["plain"]:
            return run.Ran(found=False, proved=True)
        return true_solve(*args, **how)

    monkeypatch.setattr(engine, "solve_model", liar)
    monkeypatch.setattr(engine, "_FEW", 0)
    room = (20, 20)
    items = tuple(_rectangle(f"p{n}", (9, 9), room) for n in range(2))
    assert possible(Problem(axes=2, items=items)).status is Status.FOUND


def _hard() -> Problem:
    """Far more parts than can be proved best in seconds, and a layout is easily found."""
    r = random.Random(7)
    room = (1500, 900)
    items = tuple(
        _rectangle(f"p{n}", (r.randint(100, 300), r.randint(100, 300)), room, turns=True)
        for n in range(22)
    )
    return Problem(axes=2, items=items, cap=300)


def test_progress_only_gets_better_and_stopping_keeps_the_best() -> None:
    heard: list[Progress] = []
    watch = _lengthy(300, work=300)

    def listen(news: Progress) -> None:
        heard.append(news)
        if len(heard) == 2:
            threading.Timer(0.2, watch.stopped.set).start()

    watch.listen = listen
    problem = _hard()
    answer = solve(problem, watch)
    assert answer.stopped
    assert answer.status is Status.FOUND
    assert [n.best for n in heard] == sorted(n.best for n in heard)
    assert answer.margin == heard[-1].best == smallest_margin(problem, answer.layout)


def test_ctrl_c_keeps_the_best_so_far(root: Path) -> None:
    code = (
        "import os, signal\n"
        "from tests.test_solve_run import _hard, _lengthy\n"
        "from fit.solve.engine import solve\n"
        "watch = _lengthy(300, work=300)\n"
        "watch.listen = lambda news: os.kill(os.getpid(), signal.SIGINT)\n"
        "answer = solve(_hard(), watch)\n"
        "print(answer.status, answer.stopped, answer.margin >= 0)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        cwd=root,
        env=os.environ | {"PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        timeout=200,
        check=False,
    )
    assert ran.stdout.split() == ["found", "True", "True"], ran.stderr


def test_out_of_time_is_not_called_impossible() -> None:
    watch = _lengthy(0.0)
    answer = solve(_hard(), watch)
    assert (answer.status, answer.best) == (Status.OUT_OF_TIME, False)


# --- the grid --------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_rounding_to_the_grid_errs_to_the_side_it_says(seed: int) -> None:
    r = random.Random(seed)
    step = r.choice([0.05, 0.1, 0.254, 1.0])
    safe, loose = Grid(step=step), Grid(step=step, side=Side.LOOSE)
    a = r.uniform(-100, 100)
    b = a + r.uniform(0, 50)
    slack = 1e-6
    assert safe.mm(safe.body(a, b)[0]) <= a + slack
    assert safe.mm(safe.body(a, b)[1]) >= b - slack
    assert safe.mm(safe.room(a, b)[0]) >= a - slack
    assert safe.mm(safe.room(a, b)[1]) <= b + slack
    assert safe.mm(safe.need(b - a)) >= b - a - slack >= loose.mm(loose.need(b - a)) - 2 * slack
    low, high = loose.room(a, b)
    assert loose.mm(low) <= a + slack and loose.mm(high) >= b - slack
    low, high = loose.body(a, b)
    assert low <= high
    assert loose.mm(high - low) <= max(b - a, 0) + slack


@pytest.mark.parametrize("seed", range(30))
def test_a_cover_has_no_overlap_and_the_same_cells(seed: int) -> None:
    r = random.Random(seed)
    rects = []
    for _ in range(r.randint(0, 7)):
        x, y = r.randint(0, 9), r.randint(0, 9)
        rects.append((x, y, x + r.randint(0, 6), y + r.randint(0, 6)))

    def cells(rect: tuple[int, int, int, int]) -> list[tuple[int, int]]:
        return list(itertools.product(range(rect[0], rect[2]), range(rect[1], rect[3])))

    covered = [c for rect in disjoint(rects) for c in cells(rect)]
    assert len(covered) == len(set(covered))
    assert set(covered) == {c for rect in rects for c in cells(rect)}


def test_the_solver_library_is_not_loaded_before_it_is_needed(root: Path) -> None:
    code = (
        "import sys, fit.solve, fit.commands.app, fit.solve.engine; print('ortools' in sys.modules)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "False"
