"""``fit gauge``: measuring aids to print."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fit.commands.printing import PrinterOption, correction_for, print_fingerprint, write_pdf
from fit.draw.gauges_frame import GaugeName
from fit.trade.paper import PaperName


def gauge(
    names: Annotated[
        list[GaugeName],
        typer.Argument(metavar="NAME", help="Which: " + ", ".join(GaugeName) + ". [all]"),
    ] = [],  # noqa: B006 - typer makes a list of its own for each call
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="The PDF file to write. [default: templates_out/gauges.pdf]",
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        PaperName, typer.Option(case_sensitive=False, help="Paper to print on.")
    ] = PaperName.A4,
    printer: PrinterOption = None,
) -> None:
    """Print measuring aids that need no tools: rules, hole and screw gauges and more."""
    from fit.draw.gauges import gauge_pages

    correction = correction_for(printer)
    try:
        pages = gauge_pages(names, paper, print_fingerprint(correction), correction)
    except ValueError as too_small:
        raise typer.BadParameter(str(too_small), param_hint="'--paper'") from None
    write_pdf(out, "gauges.pdf", pages, "gauges")
