"""What the commands that look at a build have in common: their words, and how they answer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated

import typer

from fit.commands.show import coloured, findings_text, note, problems_text, put
from fit.commands.status import Status
from fit.findings import UnusableInput
from fit.report import Outcome, as_json, refusal, report

Build = Annotated[
    str, typer.Argument(metavar="BUILD", help="A build file, or the name of one fit knows.")
]
Json = Annotated[bool, typer.Option("--json", help="Print the report as JSON.")]
All = Annotated[bool, typer.Option("--all", help="Also show the findings that are clear.")]


def tell_outcome(outcome: Outcome, *, json: bool, everything: bool) -> None:
    """Print what a run came to."""
    if json:
        put(as_json(report(outcome)))
        return
    text = findings_text(outcome, everything=everything)
    if not coloured(text):
        put(text)


@contextmanager
def readable(json: bool) -> Iterator[None]:
    """Turn unusable input into its problems, one a line, and the exit status for it."""
    try:
        yield
    except UnusableInput as refused:
        note(problems_text(refused.problems))
        if json:
            put(as_json(refusal(refused.problems)))
        raise typer.Exit(Status.UNUSABLE) from None
