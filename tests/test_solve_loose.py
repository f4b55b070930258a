"""The loose side: what it refuses is impossible. Places that the check passes are never refused."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from fit.findings import UnusableInput
from fit.solve.asked import asked_of
from fit.solve.draft import key_of
from fit.solve.free import Free, Put, free_parts, put_in, spans
from fit.solve.maps import Maps
from fit.solve.narrow import span_of
from fit.solve.pairs import Mover, movers
from fit.solve.probe import Coord, NoTrial, Probe, probe
from fit.solve.problem import Metric, Side
from fit.solve.question import Question
from fit.solve.refine import cells, options_of
from fit.solve.verdict import judged
from tests.layout_builds import random_asked
from tests.layout_cases import BUTTON, box, read

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


def places_near(asked: Question, thing: Mover, put: Put) -> list[int]:
    """The places of a thing whose areas hold where it is put."""
    name = thing.items[0].name
    order = options_of(name, asked)
    areas = cells(asked, thing, np.arange(len(thing)), order)
    here = areas.option == order[key_of("", put.option)]
    for k, at in enumerate((put.across, put.up)):
        if at is not None:
            here &= (areas.low[:, k] <= at + 1e-6) & (areas.high[:, k] >= at - 1e-6)
    return [int(n) for n in np.flatnonzero(here)]


def _left(asked: Question, name: str, put: Put) -> bool:
    """Whether the question leaves the part any place whose area holds this one."""
    found = movers(asked.problem, Maps(asked.problem))
    assert found is not None
    (thing,) = [t for t in found if t.items[0].name == name]
    return bool(places_near(asked, thing, put))


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


def _holes(asked: Question, seen: Probe) -> Iterator[tuple[str, Coord, float, float]]:
    """Spans of faces that no stop of a part stands for, mm."""
    for name, seats in asked.seats.items():
        for option in {seat.option for seat in seats}:
            face = seen.base.look.scene.faces[option.face]
            for coord, whole in zip((Coord.ACROSS, Coord.UP), spans(face), strict=True):
                areas = sorted(
                    (area.low, area.high)
                    for seat in seats
                    if seat.option == option and coord in seat.axes
                    for step in seat.places[coord]
                    for area in [span_of(seat, coord, step, step)]
                )
                reached = whole.low
                for low, high in areas:
                    if low > reached + 1e-6:
                        yield name, coord, reached, low
                    reached = max(reached, high)
                if areas and reached < whole.high - 1e-6:
                    yield name, coord, reached, whole.high


def _single(asked: Question) -> int:
    """How many ways have but one stop along a coordinate."""
    return sum(
        len(seat.places[coord]) == 1
        for seats in asked.seats.values()
        for seat in seats
        for coord in seat.axes
    )


def test_stops_stand_for_all_of_a_face(tmp_path: Path) -> None:
    """Also where a leaning wall is cut into bands, and the last of them has a single stop."""
    single = 0
    for height in range(57, 61):
        text = box(f"  a: {BUTTON % 'front'}\n", size=f"[120, 80, {height}]")
        build = read(
            text.replace("walls: {thickness: 2}", "walls: {thickness: 2, draft: 2}"), tmp_path
        )
        seen = probe(build, free_parts(build))
        asked = asked_of(build, seen, (1.0, Metric.LOOSE), Side.LOOSE)
        assert list(_holes(asked, seen)) == [], height
        single += _single(asked)
    assert single > 0


def test_stops_of_random_builds_do_too() -> None:
    for seed in range(972_000, 972_012):
        try:
            build = random_asked(seed, most_open=2).build
            seen = probe(build, free_parts(build))
        except (NoTrial, UnusableInput):
            continue
        asked = asked_of(build, seen, (0.5, Metric.LOOSE), Side.LOOSE)
        assert list(_holes(asked, seen)) == [], seed


@pytest.mark.parametrize("refused", [True, False])
def test_what_is_set_against_a_wall_stays_out_of_its_rounded_corner(
    refused: bool, tmp_path: Path
) -> None:
    """A block of 20 mm on a wall, whose end stands so far within a round of 3 mm, or beside it."""
    end = 58.0 - (1.0 if refused else 3.1)
    block = "{use: {kind: holder, size: [20, 12, 8], fixing: tape}, on: front, at: {across: %s}}"
    text = box(f"  a: {block % (end - 10.0)}\n  needs: {{}}\n".replace("  needs: {}\n", ""))
    text = text.replace(
        "walls: {thickness: 2}", "walls: {thickness: 2}\n  corners: {outer: 5, inner: 3}"
    )
    build = read(text, tmp_path)
    seen = probe(build, free_parts(build))
    asked = asked_of(build, seen, (0.5, Metric.LOOSE), Side.LOOSE)
    found = movers(asked.problem, Maps(asked.problem))
    assert found is not None
    (thing,) = found
    put = Put(option=seen.free[0].options[0], across=None, up=24.0)
    good = judged(put_in(build, {"a": put}), ("a",)).good
    assert good is not refused
    assert bool(len(thing)) is not refused
