"""A problem: something in an input file that keeps the build from being read."""

from __future__ import annotations

from dataclasses import dataclass

from fit.findings.finding import Span


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault in an input file.

    Attributes:
        where: file, line and column of the fault.
        wrong: what is wrong, as half a sentence in plain words.
        right: what would be right; empty when nothing sensible can be offered.
    """

    where: Span
    wrong: str
    right: str = ""

    def __str__(self) -> str:
        """Write ``file:line:column: what is wrong; what would be right``."""
        return f"{self.where}: {self.wrong}" + (f"; {self.right}" if self.right else "")


class UnusableInput(Exception):
    """The input cannot be used; carries every problem found in one run."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = problems
