"""Box after box, on every core, with what is known already taken from the cache.

The workers are processes of their own, started afresh on every system alike (`spawn`), so that a
run gives the same rows whatever the system. Only a few boxes are under way at a time, so memory
does not grow with their number. Ctrl-C ends it with the rows that are done.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Generator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import closing
from dataclasses import dataclass
from itertools import islice
from typing import Final

from fit.elsewhere.cache import Kept, folder, key
from fit.elsewhere.judge import Asked, Judge, at_home
from fit.elsewhere.row import Row
from fit.findings import UnusableInput
from fit.model.build import Build
from fit.read import ShellFile, read_shell
from fit.solve.settled import Settled

Tell = Callable[[str], None]

_FEW: Final = 12
"""So many boxes are done sooner here than workers are started."""

_CHUNK: Final = 4
_AHEAD: Final = 3
"""Chunks under way for each worker: enough that none waits for work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share of the boxes: part `number` of `of`, dealt out one by one by their names' order."""

    number: int = 1
    of: int = 1

    def takes(self, position: int) -> bool:
        """Whether the box at a position (from 0) belongs to it."""
        return position % self.of == self.number - 1


ALL: Final = Share()


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """What a run came to.

    Attributes:
        rows: in the order of the boxes.
        done, total: boxes looked at, and to be looked at.
        kept: of those done, how many were known from an earlier run.
    """

    rows: tuple[Row, ...]
    done: int
    total: int
    kept: int = 0

    @property
    def whole(self) -> bool:
        """Whether it came to its end."""
        return self.done == self.total


def run(
    build: Build,
    files: tuple[ShellFile, ...],
    asked: Asked,
    *,
    share: Share = ALL,
    cached: bool = True,
    workers: int = 0,
    tell: Tell = lambda _: None,
) -> Rows:
    """Judge a build in every box.

    Args:
        build: as written.
        files: the boxes' files, by name.
        asked: what is worked out for each.
        share: which of them.
        cached: whether rows known from earlier runs are used, and new ones kept.
        workers: processes; 0: as many as there are cores.
        tell: called with how far it is and about how long it will take.

    Raises:
        UnusableInput: when the build itself cannot be used in any box.
    """
    mine = [file for n, file in enumerate(files) if share.takes(n)]
    wishes = (
        asked.ways.value,
        f"mends {asked.mends}",
        f"pictures {asked.pictures}",
        f"layouts {asked.layouts}",
    )
    kept = Kept(folder() if cached else None, key(build, wishes))
    known = {file.name: kept.get(_known_by(file)) for file in mine}
    found = {name: rows for name, rows in known.items() if rows is not None}
    before = len(found)
    waiting = [file for file in mine if file.name not in found]
    clock = _Clock(before, len(mine), tell)
    try:
        with closing(_worked_out(build, waiting, asked, workers or os.cpu_count() or 1)) as ready:
            for file, rows in ready:
                found[file.name] = rows
                kept.put(_known_by(file), rows)
                clock.tick(len(found))
    except KeyboardInterrupt:
        pass  # what is done is told; the command says that it was stopped
    finally:
        kept.save()
    rows = tuple(row for file in mine for row in found.get(file.name, ()))
    return Rows(rows=rows, done=len(found), total=len(mine), kept=before)


def _known_by(file: ShellFile) -> str:
    """A row tells the box's name, so two names of one content are two boxes."""
    return f"{file.name} {file.sha256}" if file.sha256 else ""


class _Clock:
    """Tells how far a run is, and from its pace how long it will take. Never part of a result."""

    def __init__(self, before: int, total: int, tell: Tell) -> None:
        self._before, self._total, self._tell = before, total, tell
        self._start = time.monotonic()

    def tick(self, done: int) -> None:
        """One more box is done."""
        pace = (time.monotonic() - self._start) / max(1, done - self._before)
        left = pace * (self._total - done)
        told = f"{left / 60:.0f} min" if left > 90 else f"{left:.0f} s"
        self._tell(f"box {done} of {self._total}, about {told} left")


def _worked_out(
    build: Build, files: list[ShellFile], asked: Asked, workers: int
) -> Generator[tuple[ShellFile, tuple[Row, ...]], None, None]:
    """The rows of each file, in the order they are ready."""
    if workers < 2 or len(files) <= _FEW:
        judge = Judge(build, asked)
        for file in files:
            yield file, rows_of(judge, file)
        return
    chunks = iter([files[n : n + _CHUNK] for n in range(0, len(files), _CHUNK)])
    pool = ProcessPoolExecutor(
        max_workers=workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_start_worker,
        # Found once: a layout of open places takes long.
        initargs=(build, asked, at_home(build)),
    )
    under_way: dict[Future[list[tuple[Row, ...]]], list[ShellFile]] = {}
    try:
        while True:
            for chunk in islice(chunks, workers * _AHEAD - len(under_way)):
                under_way[pool.submit(_work, chunk)] = chunk
            if not under_way:
                return
            ready, _ = wait(under_way, return_when=FIRST_COMPLETED)
            for future in ready:
                yield from zip(under_way.pop(future), future.result(), strict=True)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


_judge: Judge | None = None
"""A worker's own judge."""


def _start_worker(build: Build, asked: Asked, home: Settled | None) -> None:
    global _judge
    # Ctrl-C reaches every process of a terminal; only the first of them answers it.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _judge = Judge(build, asked, home)


def _work(files: list[ShellFile]) -> list[tuple[Row, ...]]:
    assert _judge is not None
    return [rows_of(_judge, file) for file in files]


def rows_of(judge: Judge, file: ShellFile) -> tuple[Row, ...]:
    """The rows of one box file; one that cannot be used gives a row that says why."""
    try:
        shell = read_shell(file, judge.build)
    except UnusableInput as refused:
        return (Row(box=file.name, reason=str(refused.problems[0]), rule="file"),)
    return judge.rows(shell.box, shell.sources)
