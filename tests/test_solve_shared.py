"""What questions about regions have in common: each says what it would say by itself."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fit.findings import UnusableInput
from fit.model.build import Build
from fit.solve.all_places import tables_of
from fit.solve.asked import PROOFS, asked_of, shared_of
from fit.solve.asking import with_only
from fit.solve.closer import STEPS
from fit.solve.draft import STEP, Narrow, key_of
from fit.solve.draft_parts import FIXED
from fit.solve.free import Option, Span, free_parts
from fit.solve.layout import Laid
from fit.solve.probe import Coord, Probe, probe
from fit.solve.problem import Side
from fit.solve.question import Question
from fit.solve.run import Status
from tests.layout_builds import random_asked
from tests.layout_cases import BUTTON, box, read


def _region(r: random.Random, root: Question, wide: float) -> Narrow:
    """Somewhere for each part, in one of its options; some of these are met again."""
    found: dict[tuple[str, Option], Mapping[Coord, Span]] = {}
    for name, seats in root.seats.items():
        seat = r.choice(seats)
        spans = {}
        for coord, places in seat.places.items():
            values = sorted(places.values())
            low = r.choice([values[0], values[len(values) // 2], r.choice(values)])
            spans[coord] = Span(low=low, high=min(values[-1], low + wide) + 0.1)
        found[key_of(name, seat.option)] = spans
    return found


def _same(one: Question, two: Question) -> int:
    """The same places and the same tables; how many pairs of places there are."""
    items = [[i.name for i in q.problem.items if i.name != FIXED] for q in (one, two)]
    assert items[0] == items[1]
    assert one.seats == two.seats
    tables = [tables_of(q.problem, q.tabled()) for q in (one, two)]
    things = [t.movers(q.problem, 0) or [] for t, q in zip(tables, (one, two), strict=True)]
    for a, b in zip(*things, strict=True):
        assert np.array_equal(a.at, b.at) and np.array_equal(a.ways, b.ways)
    count = 0
    pairs = zip(*(itertools.combinations(t, 2) for t in things), strict=True)
    for (a, b), (c, d) in pairs:
        here, there = tables[0].between(a, b, 0), tables[1].between(c, d, 0)
        assert (here is None) == (there is None)
        if here is not None and there is not None:
            assert np.array_equal(here[0], there[0]) and np.array_equal(here[1], there[1])
            count += len(a) * len(b)
    return count


def _asked(build: Build, seen: Probe, seed: int, kept: tuple[str, ...] | None = None) -> int:
    """Regions of a build, or of some of its parts, asked about with and without what is shared."""
    r = random.Random(seed)
    shared = shared_of(build, seen, Side.LOOSE)
    count = 0
    for step, wide in itertools.product((STEP, 0.001), (4.0, 0.6)):
        for _ in range(4):
            some, about = build, seen
            names = [f.name for f in seen.free]
            if kept is None and len(names) > 1 and r.random() < 0.5:
                names = [n for n in names if n in set(r.sample(names, len(names) - 1))]
                some = with_only(Laid(build=build, free=seen.free, status=Status.FOUND), (*names,))
                about = replace(seen, free=tuple(f for f in seen.free if f.name in names))
            root = asked_of(some, about, PROOFS[1], Side.LOOSE)
            where = _region(r, root, wide)
            how = (some, about, PROOFS[1], Side.LOOSE, where, STEPS, step)
            alone = shared_of(build, seen, Side.LOOSE)
            count += _same(asked_of(*how, shared), asked_of(*how, alone))
    return count


@pytest.mark.parametrize("seed", [983_002, 983_004, 983_007])
def test_what_is_shared_changes_no_answer(seed: int) -> None:
    build = random_asked(seed, most_open=4).build
    assert _asked(build, probe(build, free_parts(build)), seed) > 0


@pytest.mark.slow
def test_nor_in_many_more_builds() -> None:
    count = 0
    for seed in range(983_100, 983_140):
        try:
            build = random_asked(seed, most_open=6).build
            seen = probe(build, free_parts(build))
        except UnusableInput:
            continue
        count += _asked(build, seen, seed) if seen.free else 0
    assert count > 30_000


def test_a_part_that_is_left_out_stands_in_nobodys_way(tmp_path: Path) -> None:
    """Also one that has its place already, of which only the face is open."""
    one = BUTTON % "[front, left]"
    build = read(
        box(f"  a: {one[:-1]}, at: {{across: 30, up: 20}}}}\n  b: {BUTTON % 'front'}\n"), tmp_path
    )
    seen = probe(build, free_parts(build))
    assert {f.name: (f.across, f.up) for f in seen.free} == {
        "a": (False, False),
        "b": (True, True),
    }
    some = with_only(Laid(build=build, free=seen.free, status=Status.FOUND), ("b",))
    about = replace(seen, free=tuple(f for f in seen.free if f.name == "b"))
    shared = shared_of(build, seen, Side.LOOSE)
    there = seen.base.puts["a"]
    assert there.across is None
    at = seen.base.look.scene.placed["a"]
    where: Narrow = {
        ("b", option): {
            Coord.ACROSS: Span(low=at.across - 1, high=at.across + 1),
            Coord.UP: Span(low=at.up - 1, high=at.up + 1),
        }
        for option in about.free[0].options
    }
    asked = asked_of(some, about, PROOFS[1], Side.LOOSE, where, STEPS, STEP, shared)
    (things,) = [tables_of(asked.problem, asked.tabled()).movers(asked.problem, 0)]
    assert things is not None and all(len(thing) for thing in things)
