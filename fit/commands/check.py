"""``fit check``: does it go together?"""

from __future__ import annotations

from typing import Annotated

import typer

from fit.commands.asking import All, Build, Json, readable, tell_outcome
from fit.commands.placing import BoxOption, CarrierOption, StandsOption, TurnOption, in_box
from fit.commands.show import note, progress
from fit.commands.status import Status, status_of


def check(
    build: Build,
    mend: Annotated[
        int | None,
        typer.Option("--mend", metavar="N", help="Show the check after the N-th mend."),
    ] = None,
    copies: Annotated[
        int | None,
        typer.Option(
            "--copies",
            metavar="N",
            min=1,
            max=100_000,
            help="Simulate N hand-made copies (2000 is plenty) and tell the odds.",
        ),
    ] = None,
    box: BoxOption = None,
    stands_on: StandsOption = None,
    carrier: CarrierOption = None,
    turn_box: TurnOption = 0,
    json: Json = False,
    everything: All = False,
) -> None:
    """Check a build: does it go together, and by how much?"""
    from fit import pipeline

    within = in_box(box, stands_on, carrier, turn_box)
    with readable(json), progress() as tell:
        outcome = pipeline.check(build, within=within, tell=tell)
        if mend is not None:
            try:
                outcome = pipeline.with_mend(outcome, mend, tell=tell)
            except pipeline.NoSuchMend as refused:
                note(str(refused))
                raise typer.Exit(Status.WRONG_USE) from None
        if copies is not None:
            outcome = pipeline.with_copies(outcome, copies, tell=tell)
    tell_outcome(outcome, json=json, everything=everything)
    raise typer.Exit(status_of(outcome))
