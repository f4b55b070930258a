"""What the commands that print have in common: the printer's correction, one PDF file written."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fit import __version__
from fit.commands.show import note, problems_text
from fit.commands.status import Status
from fit.findings import UnusableInput
from fit.output import CannotWrite, whole_file
from fit.pipeline import OUT

if TYPE_CHECKING:
    from fit.draw.correction import Correction
    from fit.draw.drawing import Page

PrinterOption = Annotated[
    str | None,
    typer.Option(
        "--printer", metavar="NAME", help="Correct the sheets for a printer told to 'fit printer'."
    ),
]


@contextmanager
def usable_settings() -> Iterator[None]:
    """Turn an unusable settings file into its problem and the exit status for it."""
    try:
        yield
    except UnusableInput as refused:
        note(problems_text(refused.problems))
        raise typer.Exit(Status.UNUSABLE) from None


def correction_for(name: str | None) -> Correction | None:
    """What a printer needs; None without a name."""
    if name is None:
        return None
    from fit.printers import PrinterError, printer_named

    with usable_settings():
        try:
            return printer_named(name).correction
        except PrinterError as refused:
            raise typer.BadParameter(str(refused), param_hint="'--printer'") from None


def print_fingerprint(correction: Correction | None) -> str:
    """Eight hexadecimal digits that change with the version and the printer's correction."""
    need = [correction.printer, correction.across, correction.along] if correction else []
    parts = [__version__, *map(str, need)]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:8]


def write_pdf(out: Path | None, default: str, pages: Sequence[Page], title: str) -> None:
    """Write pages to a file and say so.

    Raises:
        CannotWrite: when that is a file of another kind, or the disk will not take it.
    """
    from fit.draw.pdf import pdf_bytes

    target = out if out is not None else OUT / default
    try:
        if target.is_file():
            with target.open("rb") as there:
                begins = there.read(5)
            if begins not in {b"", b"%PDF-"}:
                raise CannotWrite(f"{target} is not a PDF file; give another name with --out")
    except OSError as error:
        raise CannotWrite(f"cannot write {target}: {error.strerror or error}") from error
    whole_file(target, pdf_bytes(pages, title))
    note(f"{len(pages)} {'sheet' if len(pages) == 1 else 'sheets'} in {target}; print at 100 %")
