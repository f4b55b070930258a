"""Why a build is impossible, in the strict sense: take any one part of the reason out, and it goes.

The layout that shows it is put together and judged anew, part by part; that all of them together do
not go in is proved anew for the build of these parts alone.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace

import pytest

from fit.check import Inspection, inspected
from fit.findings import Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.solve.free import free_parts, put_in
from fit.solve.layout import Laid, lay_out
from fit.solve.nolayout import NoLayout, why_not
from fit.solve.nudge import nudged
from fit.solve.probe import probe
from fit.solve.run import Effort, Status, Watch
from fit.solve.verdict import WHEREVER, judged
from tests.layout_builds import random_asked
from tests.layout_cases import watch

MOST_OPEN = 12


def _refused(first: int) -> Iterator[tuple[int, Laid]]:
    """The impossible builds of two open parts and more, from a seed on."""
    for seed in itertools.count(first):
        asked = random_asked(seed, most_open=MOST_OPEN)
        if len(asked.open_) < 2:
            continue
        quick = Watch(effort=Effort(seconds=900, work=2.0))
        try:
            laid = lay_out(asked.build, quick, quick=True)
        except UnusableInput:
            continue
        if laid.status is Status.IMPOSSIBLE:
            yield seed, laid


def _each_is_needed(laid: Laid, reason: NoLayout) -> None:
    """Without any one of the parts the others are in, as a build that only lacks the others."""
    assert len(reason.rest) == len(reason.parts)
    open_ = {f.name for f in laid.free}
    fixed = {u.name: u for u in laid.build.parts if u.name not in open_}
    for gone, layout in zip(reason.parts, reason.rest, strict=True):
        there = {u.name: u for u in layout.build.parts}
        assert set(there) == {*fixed, *reason.parts} - {gone}
        assert all(there[name] == used for name, used in fixed.items())
        for name in set(reason.parts) - {gone}:
            was, used = laid.build.part(name), there[name]
            assert used.part == was.part
            assert used.on in (was.on, *was.also_on)
        found = inspected(Inspection(scene := assemble(layout.build)))
        assert not scene.open
        ours = set(reason.parts)
        clashes = [f for f in found if f.grade is Grade.CLASH and ours & set(f.about)]
        assert all(f.rule in WHEREVER for f in clashes), [f.say for f in clashes]


def _together_impossible(laid: Laid, reason: NoLayout) -> None:
    gone = {f.name for f in laid.free} - set(reason.parts)
    alone = replace(laid.build, parts=tuple(u for u in laid.build.parts if u.name not in gone))
    again = lay_out(alone, watch(), quick=True)
    assert again.status is Status.IMPOSSIBLE, reason.parts


def _strict(first: int, builds: int) -> list[int]:
    """The seeds of those of so many builds whose reason was not shown to be strict."""
    loose = []
    for seed, laid in itertools.islice(_refused(first), builds):
        reason = why_not(laid, watch())
        if reason.strict:
            _each_is_needed(laid, reason)
        else:
            assert "whether fewer would do was not settled" in reason.say
            loose.append(seed)
        _together_impossible(laid, reason)
    return loose


def test_a_few_reasons_are_strict() -> None:
    assert not _strict(930_000, 3)


@pytest.mark.slow
def test_reasons_of_whole_builds_are_strict() -> None:
    assert not _strict(931_000, 25)


@pytest.mark.proof
def test_reasons_of_two_hundred_whole_builds_are_strict() -> None:
    assert len(_strict(932_000, 200)) <= 1


def test_parts_that_clash_a_little_are_nudged_apart() -> None:
    tried = 0
    for seed in range(700, 720):
        asked = random_asked(seed, most_open=1)
        layout = lay_out(asked.build, watch(), quick=True).layout
        (name,) = asked.open_
        if layout is None or layout.puts[name].across is None:
            continue
        seen = probe(asked.build, free_parts(asked.build))
        at = layout.puts[name]
        for off in (n / 2 for n in range(1, 33)):
            # From where it is to one side, until the check objects.
            there = {name: replace(at, across=(at.across or 0.0) + off)}
            if not judged(put_in(asked.build, there), asked.open_).good:
                tried += 1
                found = nudged(asked.build, seen, there)
                assert found is not None, seed
                assert judged(put_in(asked.build, found[0]), asked.open_).good
                break
    assert tried > 2
