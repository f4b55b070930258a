"""``fit make``: everything that is made from a build."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fit.commands.asking import All, Build, Json, readable, tell_outcome
from fit.commands.making import (
    DummyOption,
    InsideOption,
    JigOption,
    KerfOption,
    LabelOption,
    QuickOption,
    TabsOption,
    WrapOption,
    also_for,
)
from fit.commands.placing import BoxOption, CarrierOption, StandsOption, TurnOption, in_box
from fit.commands.printing import PrinterOption, correction_for
from fit.commands.show import note, progress
from fit.commands.status import status_of
from fit.trade.paper import PaperName

if TYPE_CHECKING:
    from fit.pipeline import Made


def make(
    build: Build,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Folder for the results, replaced as a whole. [default: templates_out/BUILD]",
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        PaperName, typer.Option(case_sensitive=False, help="Paper to print on.")
    ] = PaperName.A4,
    printer: PrinterOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Write the sheets of a build that clashes, too.")
    ] = False,
    inside: InsideOption = False,
    wrap: WrapOption = False,
    quick_windows: QuickOption = False,
    kerf: KerfOption = None,
    tabs: TabsOption = None,
    dummy: DummyOption = False,
    label: LabelOption = False,
    jig: JigOption = None,
    box: BoxOption = None,
    stands_on: StandsOption = None,
    carrier: CarrierOption = None,
    turn_box: TurnOption = 0,
    json: Json = False,
    everything: All = False,
) -> None:
    """Check a build and write its sheets, drawings, 3D model and report."""
    from fit import pipeline

    within = in_box(box, stands_on, carrier, turn_box)
    also = also_for(
        kerf=kerf,
        tabs=tabs,
        inside=inside,
        wrap=wrap,
        quick=quick_windows,
        dummy=dummy,
        label=label,
        jig=jig,
    )
    with readable(json), progress() as tell:
        made = pipeline.make(
            build,
            within=within,
            out=out,
            paper=paper,
            anyway=anyway,
            correction=correction_for(printer),
            also=also,
            tell=tell,
        )
    tell_outcome(made.outcome, json=json, everything=everything)
    _tell_made(made)
    raise typer.Exit(status_of(made.outcome))


def _tell_made(made: Made) -> None:
    if made.withheld:
        note(
            f"no sheets for a build that does not go together; {made.folder} holds the report "
            "alone (--anyway writes them all the same)"
        )
    else:
        note(f"{len(made.outcome.files) + 1} files in {made.folder}")
