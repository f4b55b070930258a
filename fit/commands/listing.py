"""``fit list`` and ``fit schema``: what fit knows, and how its files are written."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from fit.commands.asking import Json
from fit.commands.catalogue import FileKind, Shelf, entries, write_schemas
from fit.commands.show import note, put, table
from fit.output import CannotWrite
from fit.report import as_json


def list_(
    shelf: Annotated[
        Shelf | None, typer.Argument(help="What to list; everything when left out.")
    ] = None,
    json: Json = False,
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
