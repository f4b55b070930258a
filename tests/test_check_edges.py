"""Near the edge no rule is wrong: one dimension moved by 0.05 mm to either side flips the verdict.

Where the limit lies is worked out by hand in `tests/cases/*.yaml`, under ``edges``; so a rule whose
limit is off by as much, or that does not look at that dimension at all, fails here, and so does a
new rule without an edge.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fit.check.inspect import RULES
from fit.check.rule import Inspection
from tests.support_cases import (
    EDGE,
    NEVER_A_CLASH,
    Edge,
    all_cases,
    all_edges,
    rule_named,
    scene_of,
    worst_of,
)

EDGES = all_edges()


@pytest.mark.parametrize("edge", EDGES, ids=lambda edge: edge.rule)
def test_a_twentieth_of_a_millimetre_flips_the_verdict(edge: Edge, tmp_path: Path) -> None:
    below, above = (_fails(edge, edge.limit + moved, tmp_path) for moved in (-EDGE, EDGE))
    assert (below, above) == ((True, False) if edge.passes_above else (False, True))


def _fails(edge: Edge, size: float, folder: Path) -> bool:
    """Whether the rule grades what the edge is about as badly as it can, with the size so."""
    look = Inspection(scene_of(edge.build(size), folder))
    grades = {
        f.grade for f in rule_named(edge.rule).check(look) if frozenset(f.about) == edge.about
    }
    return worst_of(edge.rule) in grades


def test_every_rule_has_an_edge_and_cases() -> None:
    assert {edge.rule for edge in EDGES} == {rule.name for rule in RULES}
    assert {case.rule for case in all_cases()} == {rule.name for rule in RULES}
    assert {rule.name for rule in RULES} >= set(NEVER_A_CLASH)


def test_a_limit_elsewhere_is_caught(tmp_path: Path) -> None:
    """The test above fails when the limit is a tenth of a millimetre off."""
    edge = next(e for e in EDGES if e.rule == "bodies")
    assert _fails(edge, edge.limit + 0.1 - 2 * EDGE - 0.01, tmp_path)
    assert not _fails(edge, edge.limit + 0.1 - EDGE, tmp_path)
