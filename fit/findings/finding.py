"""The finding: one result of the check, with the figures behind it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Grade(StrEnum):
    """How a finding came out."""

    CLEAR = "clear"
    """The margin is at least the spread of the person's hands."""
    TIGHT = "tight"
    """It goes together on paper, but the margin is smaller than the spread."""
    CLASH = "clash"
    """The margin is below 0: it does not go together."""


Verdict = Grade
"""The grade of a whole build: that of its worst finding."""

_ORDER = {Grade.CLEAR: 0, Grade.TIGHT: 1, Grade.CLASH: 2}

ROUNDING = 1e-9
"""Margins above minus this many mm count as 0: the noise of double arithmetic."""


@dataclass(frozen=True, slots=True)
class Span:
    """A place in a file a person wrote. Line and column count from 1; 0 means unknown."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        """Write it the way editors jump to: ``file:line:column``."""
        return ":".join([self.file, *(str(n) for n in (self.line, self.column) if n)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One result of the check.

    Attributes:
        rule: the plain-word name of the rule.
        grade: clear, tight or clash.
        about: names of the parts (or box features) it is about, the most telling first.
        have: what is there, mm unless the rule says otherwise.
        need: what is needed, same unit.
        margin: ``have - need`` where more is better; negative does not go together.
        spread: how far hand work and uncertain inputs may move the margin, same unit.
        odds: chance, 0..1, that this holds at the first cut; None when not worked out.
        say: one plain sentence.
        mend: the cheapest repair, or None.
        where: the place in the build file, or None.
    """

    rule: str
    grade: Grade
    about: tuple[str, ...]
    have: float
    need: float
    margin: float
    spread: float
    say: str
    odds: float | None = None
    mend: str | None = None
    where: Span | None = None


def grade_of(margin: float, spread: float) -> Grade:
    """Grade a margin (mm) against the spread (mm, not below 0) of the person's hands."""
    if margin < -ROUNDING:
        return Grade.CLASH
    return Grade.TIGHT if margin < spread - ROUNDING else Grade.CLEAR


def verdict_of(findings: Iterable[Finding]) -> Verdict:
    """The worst grade among the findings; clear when there are none."""
    return max((f.grade for f in findings), key=_ORDER.__getitem__, default=Grade.CLEAR)
