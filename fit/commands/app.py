"""The words of the command line and what each of them does.

Only this folder knows typer. Help is plain text: the formatting machinery costs more start-up
time than a check does.
"""

from __future__ import annotations

import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from fit import __version__
from fit.commands.catalogue import FileKind, Shelf, entries, write_schemas
from fit.commands.gauge import gauge
from fit.commands.printer import printer as printer_command
from fit.commands.making import KerfOption, TabsOption, also_for
from fit.commands.printing import PrinterOption, correction_for
from fit.commands.show import (
    coloured,
    findings_text,
    note,
    problems_text,
    progress,
    put,
    table,
)
from fit.commands.status import Status, status_of
from fit.findings import UnusableInput
from fit.output import CannotWrite
from fit.report import Outcome, as_json, refusal, report
from fit.trade.paper import PaperName

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Exit status: 0 clear or tight, 1 clash, 2 wrong use, 3 unusable input.",
)

_Build = Annotated[
    str, typer.Argument(metavar="BUILD", help="A build file, or the name of one fit knows.")
]
_Json = Annotated[bool, typer.Option("--json", help="Print the report as JSON.")]
_All = Annotated[bool, typer.Option("--all", help="Also show the findings that are clear.")]


@app.callback(invoke_without_command=True)
def _top(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
    trace: Annotated[
        bool, typer.Option("--trace", help="Show where in the program a fault happened.")
    ] = False,
) -> None:
    """Say whether it all goes into the box, and print 1:1 sheets to drill by."""
    if version:
        put(f"fit {__version__}")
        raise typer.Exit(Status.GOOD)


@app.command()
def make(
    build: _Build,
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
    kerf: KerfOption = None,
    tabs: TabsOption = None,
    json: _Json = False,
    everything: _All = False,
) -> None:
    """Check a build and write its sheets, drawings, 3D model and report."""
    from fit import pipeline

    also = also_for(kerf=kerf, tabs=tabs)
    correction = correction_for(printer)
    with _readable(json), progress() as tell:
        made = pipeline.make(
            build, out=out, paper=paper, anyway=anyway, correction=correction, also=also, tell=tell
        )
    _tell(made.outcome, json=json, everything=everything)
    if made.withheld:
        note(
            f"no sheets for a build that does not go together; {made.folder} holds the report "
            "alone (--anyway writes them all the same)"
        )
    else:
        note(f"{len(made.outcome.files) + 1} files in {made.folder}")
    raise typer.Exit(status_of(made.outcome))


@app.command()
def check(
    build: _Build,
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
    json: _Json = False,
    everything: _All = False,
) -> None:
    """Check a build: does it go together, and by how much?"""
    from fit import pipeline

    with _readable(json), progress() as tell:
        outcome = pipeline.check(build, tell=tell)
        if mend is not None:
            try:
                outcome = pipeline.with_mend(outcome, mend, tell=tell)
            except pipeline.NoSuchMend as refused:
                note(str(refused))
                raise typer.Exit(Status.WRONG_USE) from None
        if copies is not None:
            outcome = pipeline.with_copies(outcome, copies, tell=tell)
    _tell(outcome, json=json, everything=everything)
    raise typer.Exit(status_of(outcome))


@app.command("list")
def list_(
    shelf: Annotated[
        Shelf | None, typer.Argument(help="What to list; everything when left out.")
    ] = None,
    json: _Json = False,
) -> None:
    """List the boxes, parts, drawers and builds that fit knows."""
    found = entries([shelf] if shelf else list(Shelf))
    if json:
        put(as_json({name: [asdict(entry) for entry in rows] for name, rows in found.items()}))
        return
    pieces = [
        f"{name}\n{table((e.name, e.about) for e in rows) or '  none'}"
        for name, rows in found.items()
    ]
    put("\n\n".join(pieces))


@app.command()
def schema(
    kind: Annotated[
        FileKind | None, typer.Argument(help="Of which file; of every kind when left out.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write KIND.schema.json files there instead."),
    ] = None,
) -> None:
    """Print the JSON Schema of a kind of file, for editors that complete words."""
    from fit.read import schemas

    told = {name: text for name, text in schemas().items() if kind is None or name == kind}
    if out is None:
        put(as_json(told[kind] if kind else told))
        return
    texts = {f"{name}.schema.json": as_json(text) for name, text in told.items()}
    try:
        write_schemas(out, texts)
    except OSError as error:
        raise CannotWrite(f"cannot write {out}: {error.strerror or error}") from error
    note(f"{len(texts)} files in {out}")


app.command()(gauge)
app.command("printer")(printer_command)


def _tell(outcome: Outcome, *, json: bool, everything: bool) -> None:
    if json:
        put(as_json(report(outcome)))
        return
    text = findings_text(outcome, everything=everything)
    if not coloured(text):
        put(text)


@contextmanager
def _readable(json: bool) -> Iterator[None]:
    """Turn unusable input into its problems, one a line, and the exit status for it."""
    try:
        yield
    except UnusableInput as refused:
        note(problems_text(refused.problems))
        if json:
            put(as_json(refusal(refused.problems)))
        raise typer.Exit(Status.UNUSABLE) from None


def run(words: Sequence[str]) -> int:
    """Carry out a command line and give its exit status; never raises.

    A fault in `fit` is told in one line; with ``--trace`` the place in the program is shown.
    """
    trace = "--trace" in words
    try:
        app([w for w in words if w != "--trace"], prog_name="fit")
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except KeyboardInterrupt:
        return Status.INTERRUPTED
    except CannotWrite as refused:
        note(str(refused))
        return Status.WRONG_USE
    except Exception as fault:  # the last resort: no traceback for the person at the bench
        if trace:
            traceback.print_exc()
        else:
            note(_fault(fault))
        return Status.FAULT
    return Status.GOOD


def _fault(fault: Exception) -> str:
    kind = type(fault).__name__
    told = f"{kind}: {fault}" if str(fault) else kind
    return (
        f"fit {__version__} broke down ({told}). This is a fault in fit, not in your file; "
        "nothing was written.\nPlease report it with your build file and what the same command "
        "says with --trace."
    )
