"""Why there is no layout, and what would help: every word of it tried."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from fit.findings import Grade
from fit.model.build import Build
from fit.pipeline import examine
from fit.read.shells import read_shell, shell_files
from fit.solve.asked import STAGES, asked_of
from fit.solve.free import free_parts
from fit.solve.helps import with_helps
from fit.solve.layout import Laid, lay_out
from fit.solve.maps import Maps
from fit.solve.nolayout import NoLayout, why_not
from fit.solve.probe import probe
from fit.solve.run import Status
from fit.solve.verdict import WHEREVER
from fit.solve.witness import Witness
from tests.layout_builds import random_asked
from tests.layout_cases import box, read, watch

PRESS = "{use: press-12, on: %s}"


def _refused(text: str, folder: Path) -> tuple[Laid, NoLayout]:
    laid = lay_out(read(text, folder), watch())
    assert laid.status is Status.IMPOSSIBLE
    return laid, why_not(laid, watch())


def _helped(laid: Laid, reason: NoLayout) -> NoLayout:
    boxes = [read_shell(file, laid.build).box for file in shell_files(laid.build)]
    helped = with_helps(laid, reason, watch(), boxes=boxes)
    for one in helped.helps:
        # What is offered goes together, by everything that `fit check` asks of places.
        found = examine(one.layout.build, mending=False).findings
        clashes = [f for f in found if f.grade is Grade.CLASH]
        assert all(f.rule in WHEREVER for f in clashes), one.title
    return helped


def _without(build: Build, names: set[str]) -> Build:
    return replace(build, parts=tuple(u for u in build.parts if u.name not in names), wires=())


def _is_true(laid: Laid, reason: NoLayout) -> None:
    """Take any one of the parts out and the others have room, as the solver lays them out."""
    open_ = {f.name for f in laid.free}
    for gone in reason.parts:
        rest = _without(laid.build, open_ - (set(reason.parts) - {gone}))
        answer = lay_out(rest, watch())
        assert answer.status is Status.FOUND, (gone, reason.parts)


def test_too_many_buttons_on_a_side(tmp_path: Path) -> None:
    # 13 mm for a finger between caps of 10 mm: three in a row need 46 mm from first to last
    # middle, and there are 80 - 2 × 10 or so. Four go neither in one row nor in two.
    parts = "".join(f"  {n}: {PRESS % 'right'}\n" for n in "abcd")
    laid, reason = _refused(box(parts, size="[120, 80, 36]"), tmp_path)
    assert reason.parts == tuple("abcd")
    assert reason.strict
    assert "without any one of them the others have room" in reason.say
    _is_true(laid, reason)
    helped = _helped(laid, reason)
    titles = [one.title for one in helped.helps]
    assert any(title.startswith("put a on the ") for title in titles), titles


def test_a_part_that_goes_nowhere_is_the_whole_reason(tmp_path: Path) -> None:
    parts = "  a: {use: meter-96x48, on: right}\n  b: {use: press-12, on: front}\n"
    laid, reason = _refused(box(parts, size="[130, 80, 70]"), tmp_path)
    assert reason.parts == ("a",)
    assert reason.strict
    assert reason.say.startswith("'a' has no place on the right: ")
    helped = _helped(laid, reason)
    assert any("put a on the front" in one.title for one in helped.helps)


def test_a_board_that_is_too_long_is_cut_shorter(tmp_path: Path) -> None:
    board = (
        "{use: {kind: board, stock: strips, size: [46 holes, 28 holes]}, on: floor, standoff: 8}"
    )
    laid, reason = _refused(box(f"  b: {board}\n"), tmp_path)
    # 46 holes are 116.8 mm; between the walls are 116.
    assert reason.parts == ("b",)
    helped = _helped(laid, reason)
    assert any("shorter" in one.title for one in helped.helps)
    assert any("bigger box" in one.title for one in helped.helps)


@pytest.mark.slow
def test_many_too_many_are_spread_over_other_faces(tmp_path: Path) -> None:
    parts = "".join(f"  {n}: {PRESS % 'right'}\n" for n in "abcdefghij")
    laid, reason = _refused(box(parts, size="[120, 60, 40]"), tmp_path)
    helped = _helped(laid, reason)
    assert any("on the lid" in one.title for one in helped.helps)


@cache
def _some_refused() -> tuple[Laid, ...]:
    found = []
    for seed in range(2000, 2070):
        asked = random_asked(seed, most_open=3)
        if len(asked.open_) > 1:
            laid = lay_out(asked.build, watch())
            if laid.status is Status.IMPOSSIBLE:
                found.append(laid)
    return tuple(found)


@pytest.mark.slow
def test_a_strict_reason_is_true_and_a_help_goes_together() -> None:
    strict = 0
    for laid in _some_refused():
        reason = why_not(laid, watch())
        if reason.strict:
            strict += 1
            _is_true(laid, reason)
        _helped(laid, reason)
    assert strict >= 0.9 * len(_some_refused()) > 5


@pytest.mark.proof
def test_reasons_of_many_parts_are_true() -> None:
    strict = refused = 0
    for seed in range(5000, 5040):
        asked = random_asked(seed, most_open=9)
        laid = lay_out(asked.build, watch())
        if laid.status is Status.IMPOSSIBLE:
            refused += 1
            reason = why_not(laid, watch())
            if reason.strict:
                strict += 1
                _is_true(laid, reason)
    assert strict >= 0.9 * refused > 10


def test_what_a_short_look_sees_going_in_does_go_in() -> None:
    seen = 0
    for seed in (700, 702, 704, 707):
        asked = random_asked(seed, most_open=4)
        free = free_parts(asked.build)
        question = asked_of(asked.build, probe(asked.build, free), STAGES[0])
        look = Witness(question, Maps(question.problem))
        for count in (1, 2):
            for few in itertools.combinations(asked.open_, count):
                if look.goes(few):
                    seen += 1
                    rest = _without(asked.build, set(asked.open_) - set(few))
                    assert lay_out(rest, watch(), quick=True).status is Status.FOUND
    assert seen > 3
