"""What a check found, as data. Findings are values: nothing here is raised."""

from fit.findings.finding import Finding, Grade, Span, Verdict, grade_of, verdict_of
from fit.findings.problem import Problem, UnusableInput

__all__ = [
    "Finding",
    "Grade",
    "Problem",
    "Span",
    "UnusableInput",
    "Verdict",
    "grade_of",
    "verdict_of",
]
