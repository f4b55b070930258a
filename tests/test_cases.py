"""Every rule against its own small builds, whose figures are worked out by hand beside them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fit.check import inspect
from fit.findings import Finding, Grade, verdict_of
from fit.geometry.assemble import assemble
from tests.random_builds import random_build
from tests.support_cases import (
    EDGE,
    NEVER_A_CLASH,
    Case,
    all_cases,
    case_files,
    cases_in,
    findings_of,
    worst_of,
)

CASES = all_cases()

BELOW_NOTHING = re.compile(r"(?<![\w.])[-−]\d")
"""A length below 0: nobody measures that. Something overlaps, misses or runs past instead."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.title)
def test_case(case: Case, tmp_path: Path) -> None:
    found = findings_of(case, tmp_path)
    told = "\n".join(f"{f.grade} {f.about} {f.have:.3f} of {f.need:.3f}: {f.say}" for f in found)
    matching = [f for f in found if frozenset(f.about) == case.about]
    assert not [f.say for f in found if BELOW_NOTHING.search(f"{f.say} {f.mend}")]
    if case.silent:
        assert not matching, told
    else:
        assert [f.grade for f in matching if f.grade is case.grade], told or "nothing found"
        _figures(case, next(f for f in matching if f.grade is case.grade))
    assert verdict_of(found) is case.worst, told


def _figures(case: Case, finding: Finding) -> None:
    assert finding.rule == case.rule
    if case.have is not None:
        assert finding.have == pytest.approx(case.have, abs=case.off)
    if case.need is not None:
        assert finding.need == pytest.approx(case.need, abs=1e-9)
    assert finding.say[0].isupper() or finding.say[0].isdigit()
    assert finding.say.endswith(".")
    if finding.grade is Grade.CLASH:
        assert finding.mend, "a clash without a repair"


@pytest.mark.parametrize("path", case_files(), ids=lambda path: path.stem)
def test_a_file_proves_its_rule_from_both_sides(path: Path, tmp_path: Path) -> None:
    """Three cases either side of the limit, one of each so close that no other limit passes."""
    asked = [c for c in cases_in(path) if not c.silent]
    for rule in {c.rule for c in asked}:
        mine = [c for c in asked if c.rule == rule]
        passing = [c for c in mine if c.grade is not worst_of(rule)]
        failing = [c for c in mine if c.grade is worst_of(rule)]
        assert len(passing) >= 3, rule
        assert len(failing) >= 3, rule
        assert any(_on_edge(c, tmp_path) for c in passing), rule
        assert any(_on_edge(c, tmp_path) for c in failing), rule


def _on_edge(case: Case, folder: Path) -> bool:
    return any(
        abs(f.margin - (f.spread if case.rule in NEVER_A_CLASH else 0.0)) <= EDGE
        and f.grade is case.grade
        and frozenset(f.about) == case.about
        for f in findings_of(case, folder)
    )


def test_names_are_unique() -> None:
    titles = [case.title for case in CASES]
    assert len(titles) == len(set(titles))


def test_no_sentence_about_random_builds_has_a_length_below_nothing() -> None:
    told = [
        f"{found.say} {found.mend}"
        for seed in range(60)
        for found in inspect(assemble(random_build(seed).build))
    ]
    assert len(told) > 3000
    assert not [words for words in told if BELOW_NOTHING.search(words)]
