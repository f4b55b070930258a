"""What closer looks note: a layout there is keeps all its places, in whatever is struck out."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import numpy as np
import pytest

from fit.findings import UnusableInput
from fit.solve.all_places import tables_of
from fit.solve.asked import PROOFS, asked_of, shared_of
from fit.solve.closer import STEPS, Closer
from fit.solve.draft import Narrow
from fit.solve.free import Put, free_parts
from fit.solve.layout import lay_out
from fit.solve.pairs import Tables
from fit.solve.probe import Probe, probe
from fit.solve.problem import Side
from fit.solve.question import Question
from fit.solve.run import Effort, Status, Watch
from tests.layout_builds import random_asked
from tests.test_solve_loose import places_near

TIGHT = 0.5


def _allowed(rows: np.ndarray, a: int, b: int) -> bool:
    return bool(int(rows[a, b // 64]) >> (b % 64) & 1)


def _kept(asked: Question, tables: Tables, puts: Mapping[str, Put]) -> None:
    """Each two parts of the layout still go together somewhere near."""
    things = tables.movers(asked.problem, 0)
    assert things is not None
    near = {t.items[0].name: places_near(asked, t, puts[t.items[0].name]) for t in things}
    assert all(near.values()), near
    for a, b in itertools.combinations(things, 2):
        rows = tables.between(a, b, 0)
        if rows is not None:
            pairs = itertools.product(near[a.items[0].name], near[b.items[0].name])
            assert any(_allowed(rows[0], i, j) for i, j in pairs), (a.items[0].name,)


def _bits(asked: Question, tables: Tables) -> int:
    """How many pairs of places are struck out."""
    things = tables.movers(asked.problem, 0) or []
    out = 0
    for a, b in itertools.combinations(things, 2):
        rows = tables.between(a, b, 0)
        if rows is not None:
            out += len(a) * len(b) - int(np.bitwise_count(rows[0]).sum())
    return out


def _noted(seed: int) -> int | None:
    """How many pairs were struck out of a build's question by looking closer at its regions.

    None where it has no tight layout.
    """
    asked = random_asked(seed, most_open=5)
    if len(asked.open_) < 3:
        return None
    try:
        layout = lay_out(
            asked.build, Watch(effort=Effort(seconds=60, work=2.0)), quick=True, prove=False
        ).layout
    except UnusableInput:
        return None
    if layout is None or layout.margin > TIGHT:
        return None
    build = asked.build
    seen: Probe = probe(build, free_parts(build))
    puts = {f.name: layout.puts[f.name] for f in seen.free}
    root = asked_of(build, seen, PROOFS[1], Side.LOOSE)
    maps = root.tabled()
    tables = tables_of(root.problem, maps)
    before, shared = _bits(root, tables), shared_of(build, seen, Side.LOOSE)

    def ask(narrow: Narrow, step: float) -> Question:
        return asked_of(build, seen, PROOFS[1], Side.LOOSE, narrow, STEPS, step, shared)

    closer: Closer[None] = Closer(
        ask=ask,
        nudge=lambda _: None,
        by_check=lambda _: (False, None),
        watch=Watch(),
        looks=40,
        homes=0,
        doubts=40,
    )
    said = closer.settle([(root, maps)], tuple(f.name for f in seen.free))
    assert said is not Status.IMPOSSIBLE, seed
    _kept(root, tables, puts)
    return _bits(root, tables) - before


# A build in which much is noted.
TELLING = (980_220,)


def test_notes_never_rule_out_a_layout_there_is() -> None:
    noted = [_noted(seed) for seed in TELLING]
    assert all(noted), noted


@pytest.mark.slow
def test_nor_in_many_more_builds() -> None:
    assert sum(_noted(seed) or 0 for seed in range(981_000, 981_200)) > 0
