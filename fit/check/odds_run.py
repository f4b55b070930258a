"""Measuring many copies, on both processors, only as far as anything may fail.

A few copies are inspected by every rule first. What stays further than `FAR` standard deviations
from failing in these is left alone from then on, and so are the rules and solids that have no
part in the rest.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from dataclasses import dataclass
from types import TracebackType
from typing import Final

import numpy as np

from fit.check.copies import Workshop
from fit.check.inspect import RULES
from fit.check.odds_limits import Key, counts, hard_only, key_of, limit_of
from fit.check.rule import Inspection, Rule
from fit.findings.finding import ROUNDING
from fit.geometry.scene import BOX
from fit.geometry.support import Array

FAR: Final = 5.0
"""Standard deviations beyond which failing is not waited for: one in three million."""

PILOTS: Final = 16
"""Copies inspected by every rule."""

_LEAST_SIGMA: Final = 0.02
"""A room that hardly moved in the first copies is taken to move by this, mm."""

CHUNK: Final = 50
"""Copies that share one stream of random numbers, and one errand of a worker."""

_ALONE: Final = 300
"""Up to so many copies are made here: starting workers takes as long."""

Room = dict[Key, float]
"""What is left of each finding's room, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Measured copies.

    Attributes:
        keys: the findings measured.
        off: a line for each copy: how far each source was off.
        left: a line for each copy, a column for each key; infinite where nothing was near.
        failed: of each copy, whether it does not go together.
    """

    keys: tuple[Key, ...]
    off: Array
    left: Array
    failed: np.typing.NDArray[np.bool_]

    @property
    def count(self) -> int:
        """How many copies."""
        return len(self.failed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What is needed to measure copies: the same in every process.

    Attributes:
        shop: makes them.
        seed: of the random numbers.
        keys: every finding seen in the plan and the first copies.
        near: those that may fail.
        owners: whose solids have a part in these; None for all.
    """

    shop: Workshop
    seed: int
    keys: tuple[Key, ...]
    near: frozenset[Key]
    owners: frozenset[str]

    @classmethod
    def of(cls, shop: Workshop, seed: int) -> Bench:
        """Look at the plan and a few copies with every rule."""
        rng = np.random.default_rng([seed, 2**31])
        offs = [shop.planned(), *(shop.draw(rng) for _ in range(PILOTS))]
        rooms = [measure(shop, off, _counted(), None) for off in offs]
        keys = tuple(dict.fromkeys(key for room in rooms for key in room))
        near = frozenset(key for key in keys if _may_fail([r[key] for r in rooms if key in r]))
        return cls(shop=shop, seed=seed, keys=keys, near=near, owners=_owners(shop, near))

    @property
    def rules(self) -> tuple[Rule, ...]:
        """The rules that have a finding that may fail."""
        names = {rule for rule, _ in self.near}
        return tuple(rule for rule in RULES if rule.name in names)

    def draws(self, chunk: int) -> Array:
        """How far everything is off in the copies of a chunk."""
        rng = np.random.default_rng([self.seed, chunk])
        return np.array([self.shop.draw(rng) for _ in range(CHUNK)])

    def rooms(self, offs: Array) -> list[Room]:
        """What is left in each of some copies, of what may fail."""
        if not self.near:
            return [{} for _ in offs]
        rules = self.rules
        return [measure(self.shop, off, rules, self.owners) for off in offs]


def _counted() -> tuple[Rule, ...]:
    return tuple(rule for rule in RULES if limit_of(rule.name) is not None)


def measure(
    shop: Workshop, off: Array, rules: Iterable[Rule], owners: frozenset[str] | None
) -> Room:
    """Make a copy and tell what is left of each finding's room, mm."""
    look = Inspection(hard_only(shop.make(off, owners)))
    left: Room = {}
    for rule in rules:
        for found in rule.check(look):
            key = key_of(found)
            limit = limit_of(found.rule)
            if limit is None:
                continue
            mm = limit.left(look, found)
            left[key] = min(left.get(key, mm), mm)
    return left


def _may_fail(left: list[float]) -> bool:
    """Whether a room that came out so in a few copies may come out below 0 in many."""
    seen = np.array(left)
    sigma = max(float(seen.std()), _LEAST_SIGMA)
    steady = float(np.ptp(seen)) < ROUNDING
    return bool(seen.min() < -ROUNDING or (not steady and seen.mean() < FAR * sigma))


def _owners(shop: Workshop, near: frozenset[Key]) -> frozenset[str]:
    """Parts and moulded bodies that findings are about, all boards and what they carry."""
    scene = shop.scene
    named = {name for _, about in near for name in about}
    moulded = {b.name for b in scene.bodies if b.owner == BOX} & named
    parts = {name for name in scene.placed if name in named}
    boards = {b.name for b in scene.boards}
    carried = {n for b in boards for n in scene.placed[b].used.carries}
    return frozenset(moulded | parts | boards | carried)


def _fails(room: Room) -> bool:
    return any(mm < -ROUNDING and counts(key) for key, mm in room.items())


class Runner:
    """Measures copies, here or in worker processes, always in the same order."""

    def __init__(self, bench: Bench, copies: int, workers: int | None) -> None:
        self._bench = bench
        if workers is None:
            workers = 1 if copies <= _ALONE else min(2, os.cpu_count() or 1)
        self._pool: ProcessPoolExecutor | None = None
        if workers > 1 and bench.near:
            self._pool = ProcessPoolExecutor(
                workers,
                # A fresh process each: forking one that shows progress from a thread may hang.
                mp_context=multiprocessing.get_context("spawn"),
                initializer=_settle,
                initargs=(bench,),
            )

    def __enter__(self) -> Runner:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    def run(self, copies: int, tell: Callable[[int, int], None]) -> Batch:
        """Draw and measure copies; Ctrl-C ends it with those that are done."""
        chunks = [self._bench.draws(n) for n in range(-(-copies // CHUNK))]
        offs = [chunk[: copies - n * CHUNK] for n, chunk in enumerate(chunks)]
        done: list[list[Room]] = []
        results = self._results(offs)
        try:
            for rooms in results:
                done.append(rooms)
                tell(sum(map(len, done)), copies)
        except KeyboardInterrupt:
            pass  # what is done is told
        return _batch(offs[: len(done)], [room for rooms in done for room in rooms])

    def failures(self, off: Array) -> np.typing.NDArray[np.bool_]:
        """Whether each of some given copies does not go together."""
        return np.array([_fails(room) for room in self.rooms(off)], dtype=np.bool_)

    def rooms(self, off: Array) -> list[Room]:
        """What is left in each of some given copies, of what may fail."""
        pieces = [off[i : i + CHUNK] for i in range(0, len(off), CHUNK)]
        return [room for rooms in self._results(pieces) for room in rooms]

    def _results(self, offs: list[Array]) -> Iterator[list[Room]]:
        if self._pool is None:
            for off in offs:
                yield self._bench.rooms(off)
            return
        waiting: list[Future[list[Room]]] = [self._pool.submit(_errand, off) for off in offs]
        try:
            for off, future in zip(offs, waiting, strict=True):
                try:
                    rooms = future.result()
                except BrokenExecutor:  # no workers to be had here: do it alone
                    rooms = self._bench.rooms(off)
                yield rooms
        finally:
            for future in waiting:
                future.cancel()


_SETTLED: dict[str, Bench] = {}


def _settle(bench: Bench) -> None:
    """Make a worker ready: it knows the bench and leaves Ctrl-C to the one that started it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _SETTLED["bench"] = bench


def _errand(off: Array) -> list[Room]:
    return _SETTLED["bench"].rooms(off)


def _batch(offs: list[Array], rooms: list[Room]) -> Batch:
    keys: Mapping[Key, int] = {
        key: n for n, key in enumerate(sorted({key for room in rooms for key in room}))
    }
    left = np.full((len(rooms), len(keys)), np.inf)
    for line, room in enumerate(rooms):
        for key, mm in room.items():
            left[line, keys[key]] = mm
    return Batch(
        keys=tuple(keys),
        off=np.concatenate(offs) if offs else np.zeros((0, 0)),
        left=left,
        failed=np.array([_fails(room) for room in rooms], dtype=np.bool_),
    )
