"""``fit printer``: what a test print measured, so that later sheets come out true."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fit.commands.printing import correction_for, print_fingerprint, usable_settings, write_pdf
from fit.commands.show import note, put, table
from fit.report import as_json
from fit.trade.paper import PaperName

if TYPE_CHECKING:
    from fit.printers import Printer

_Name = Annotated[
    str | None,
    typer.Argument(metavar="NAME", help="Your word for the printer; all when left out."),
]
_Card = Annotated[
    str | None,
    typer.Option(metavar="WIDTHxHEIGHT", help="The bank card's outline as printed: 84.9x53.4."),
]
_Bars = Annotated[
    tuple[str, str] | None,
    typer.Option(metavar="ACROSS ALONG", help="The two 100 mm bars as printed: 99.2 98.9."),
]


def printer(
    name: _Name = None,
    card: _Card = None,
    bars: _Bars = None,
    forget: Annotated[bool, typer.Option("--forget", help="Drop what is known of it.")] = False,
    test: Annotated[
        bool, typer.Option("--test", help="Print the test sheet; with NAME a corrected one.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="The PDF file for --test. [default: templates_out/printer-test.pdf]",
            show_default=False,
        ),
    ] = None,
    paper: Annotated[
        PaperName, typer.Option(case_sensitive=False, help="Paper to print the test on.")
    ] = PaperName.A4,
    json: Annotated[bool, typer.Option("--json", help="Print what is known as JSON.")] = False,
) -> None:
    """Tell what a printer's test print measured; later sheets are corrected by it.

    Without options: list the printers.
    """
    asked = [
        word
        for word, said in (
            ("--card", card is not None),
            ("--bars", bars is not None),
            ("--forget", forget),
            ("--test", test),
        )
        if said
    ]
    if len(asked) > 1:
        raise typer.BadParameter(f"give one of {', '.join(asked)} at a time")
    if out is not None and not test:
        raise typer.BadParameter("only --test writes a file", param_hint="'--out'")
    if test:
        _test(name, out, paper)
        return
    if asked and name is None:
        raise typer.BadParameter(f"{asked[0]} needs the printer's name", param_hint="'NAME'")
    with usable_settings():
        _keep(name, card, bars, forget)
        if forget:
            return
        _show(name, json=json)


def _test(name: str | None, out: Path | None, paper: PaperName) -> None:
    from fit.draw.gauges_printer import printer_page

    correction = correction_for(name)
    try:
        page = printer_page(paper, print_fingerprint(correction), correction)
    except ValueError as too_small:
        raise typer.BadParameter(str(too_small), param_hint="'--paper'") from None
    write_pdf(out, "printer-test.pdf", [page], "printer test")


def _keep(name: str | None, card: str | None, bars: tuple[str, str] | None, forget: bool) -> None:
    """Do what was asked to what is known."""
    from fit import printers

    try:
        if name is not None and forget:
            printers.forget(name)
            note(f"{name} is forgotten")
        elif name is not None and card is not None:
            size = printers.card_sizes(card)
            _remember(printers.measured(name, printers.Target.CARD, *size))
        elif name is not None and bars is not None:
            _remember(printers.measured(name, printers.Target.BARS, *bars))
    except printers.PrinterError as refused:
        raise typer.BadParameter(str(refused)) from None


def _remember(told: Printer) -> None:
    from fit.printers import remember

    before = remember(told)
    if before is not None:
        note(f"before: {before.words}")
    if told.doubt:
        note(f"warning: {told.doubt}")


def _show(name: str | None, *, json: bool) -> None:
    """List every printer, or the one named."""
    from fit.printers import PrinterError, printer_named, printers

    try:
        named = printer_named(name) if name is not None else None
    except PrinterError as refused:
        raise typer.BadParameter(str(refused)) from None
    known = printers() if named is None else {named.name: named}
    if json:
        put(as_json({"printers": {key: _data(each) for key, each in known.items()}}))
    elif known:
        put(table((key, each.words) for key, each in known.items()))
    else:
        put("no printers are known; print a test with fit printer --test")


def _data(told: Printer) -> dict[str, object]:
    need = told.correction
    return {
        "of": told.target.value,
        "measured": [told.across, told.along],
        "factors": {"across": need.across, "along": need.along},
    }
