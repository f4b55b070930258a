"""The loose side: what it refuses is impossible. Places that the check passes are never refused."""

from __future__ import annotations

import random

import numpy as np
import pytest

from fit.findings import UnusableInput
from fit.solve.asked import asked_of
from fit.solve.draft import key_of
from fit.solve.free import Free, Put, free_parts, put_in, spans
from fit.solve.maps import Maps
from fit.solve.pairs import movers
from fit.solve.probe import NoTrial, Probe, probe
from fit.solve.problem import Metric, Side
from fit.solve.question import Question
from fit.solve.refine import cells
from fit.solve.verdict import judged
from tests.layout_builds import random_asked

TRIED = 60


def _random_put(r: random.Random, seen: Probe, free: Free) -> Put:
    option = r.choice(free.options)
    face = seen.base.look.scene.faces[option.face]
    across, up = (r.uniform(s.low, s.high) for s in spans(face))
    return Put(
        option=option,
        across=across if free.across else None,
        up=up if free.up else None,
    )


def _left(asked: Question, name: str, put: Put) -> bool:
    """Whether the question leaves the part any place whose area holds this one."""
    found = movers(asked.problem, Maps(asked.problem))
    assert found is not None
    (thing,) = [t for t in found if t.items[0].name == name]
    order = {key_of("", s.option): n for n, s in enumerate(asked.seats[name])}
    areas = cells(asked, thing, np.arange(len(thing)), order)
    here = areas.option == order[key_of("", put.option)]
    for k, at in enumerate((put.across, put.up)):
        if at is not None:
            here &= (areas.low[:, k] <= at + 1e-6) & (areas.high[:, k] >= at - 1e-6)
    return bool(here.any())


def _never_refused(first: int, builds: int) -> int:
    """How many places of one open part were passed by the check; none of them is refused."""
    passed = 0
    for seed in range(first, first + builds):
        r = random.Random(seed)
        try:
            build = random_asked(seed, most_open=1).build
            seen = probe(build, free_parts(build))
        except (NoTrial, UnusableInput):
            continue
        if len(seen.free) != 1 or not (seen.free[0].across or seen.free[0].up):
            continue
        (free,) = seen.free
        asked = [asked_of(build, seen, (m, Metric.LOOSE), Side.LOOSE) for m in (0.5, 1.0)]
        for _ in range(TRIED):
            put = _random_put(r, seen, free)
            try:
                good = judged(put_in(build, {free.name: put}), (free.name,)).good
            except UnusableInput:
                continue
            if not good:
                continue
            passed += 1
            for question in asked:
                assert _left(question, free.name, put), (seed, put)
    return passed


def test_no_place_that_passes_is_refused() -> None:
    assert _never_refused(970_000, 6) > 25


@pytest.mark.slow
def test_nor_in_many_more_builds() -> None:
    assert _never_refused(971_000, 200) > 1000
