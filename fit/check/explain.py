"""The page of a rule, printed from the docstring of its function.

A rule's docstring is a summary line, then paragraphs that each begin with one of `HEADINGS` and a
colon, in that order, so that no page lacks the reason, the source or the repair. `ALSO` may be
added where a rule gives exactness up.
"""

from __future__ import annotations

import inspect as introspect
import re

from fit.check.inspect import RULES
from fit.check.rule import Rule

HEADINGS = ("Looks at", "Hurts", "Formula", "Source", "Example", "Repairs")
"""The paragraphs of every rule's docstring, in order."""

ALSO = "Safe side"
"""Heading of the paragraph that says which way a rule errs, where it does."""

_HEADING = re.compile(rf"^({'|'.join((*HEADINGS, ALSO))}):\s*", re.MULTILINE)


def names() -> tuple[str, ...]:
    """The names of all rules, in the order they are inspected."""
    return tuple(rule.name for rule in RULES)


def page(rule: str) -> str:
    """What a rule looks at, why, by which formula, whose figures, an example and repairs.

    Args:
        rule: its name, as in the report.

    Raises:
        KeyError: when there is no rule of that name.
    """
    found = _rule(rule)
    return f"{found.name}\n\n{_text(found)}\n"


def sections(rule: str) -> dict[str, str]:
    """The page in pieces: heading → text, the summary under the empty heading.

    Raises:
        KeyError: when there is no rule of that name.
    """
    summary, *rest = _HEADING.split(_text(_rule(rule)))
    found = {"": summary.strip()}
    for heading, text in zip(rest[::2], rest[1::2], strict=True):
        found[heading] = text.strip()
    return found


def _text(rule: Rule) -> str:
    return introspect.getdoc(rule.check) or ""


def _rule(name: str) -> Rule:
    for rule in RULES:
        if rule.name == name:
            return rule
    raise KeyError(name)
