"""All rules, in the order a person would look, and the inspection of a whole scene."""

from __future__ import annotations

from fit.check.rule import Inspection, Rule
from fit.findings import Finding, Grade
from fit.geometry.scene import Scene

RULES: tuple[Rule, ...] = ()
"""Every rule."""

_WORST_FIRST = {Grade.CLASH: 0, Grade.TIGHT: 1, Grade.CLEAR: 2}


def inspect(scene: Scene, rules: tuple[Rule, ...] | None = None) -> tuple[Finding, ...]:
    """Inspect a scene by all rules (or the given ones): worst first, then as the rules stand."""
    inspection = Inspection(scene)
    found = [f for r in (RULES if rules is None else rules) for f in r.check(inspection)]
    return tuple(sorted(found, key=lambda f: (_WORST_FIRST[f.grade],)))
