"""`fit explain`: what a rule looks at, why, by which formula, and what to do about it."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Annotated

import typer

from fit.commands.show import note, put, table
from fit.commands.status import Status


def explain(
    rule: Annotated[
        str | None,
        typer.Argument(metavar="RULE", help="A rule's name, as in the report; all when left out."),
    ] = None,
) -> None:
    """Explain a rule: what it looks at, why it hurts, its formula, source and repairs."""
    from fit.check.explain import names, page, sections

    if rule is None:
        put("rules\n" + table((name, sections(name)[""].split("\n")[0]) for name in names()))
        return
    if rule not in names():
        near = get_close_matches(rule, names(), n=1)
        hint = f"did you mean '{near[0]}'?" if near else "fit explain lists them"
        note(f"there is no rule called '{rule}'; {hint}")
        raise typer.Exit(Status.WRONG_USE)
    put(page(rule))
