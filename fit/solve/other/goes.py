"""Whether a build goes together, by the check's own rules, and nothing more than that."""

from __future__ import annotations

from typing import Final

from fit.check.inspect import RULES
from fit.check.rule import Inspection, Rule
from fit.findings import Finding, Grade, UnusableInput
from fit.model.build import Build
from fit.solve.settled import settled

_SLOW_LAST: Final = ("walls", "lid", "bodies", "going-in", "order")
"""Rules that take long are asked last: most boxes fail on a quick one."""


def first_clash(build: Build) -> Finding | str | None:
    """The first clash met, the quick rules first; None when the build goes together.

    The whole check has the same verdict: clear or tight just where this is None.

    Returns:
        A finding, or in words why the check cannot even begin.
    """
    try:
        placed = settled(build, layouts=False)
    except UnusableInput as refused:
        return refused.problems[0].wrong
    if placed.nowhere:
        return placed.nowhere[0]
    if placed.scene.open:
        return f"no place for {', '.join(placed.scene.open)}"
    look = Inspection(placed.scene)
    for rule in sorted(RULES, key=_slowness):
        for finding in rule.check(look):
            if finding.grade is Grade.CLASH:
                return finding
    return None


def _slowness(rule: Rule) -> int:
    return _SLOW_LAST.index(rule.name) + 1 if rule.name in _SLOW_LAST else 0
