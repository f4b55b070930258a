"""``fit compare``: two builds, or one build in two boxes, side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fit.commands.asking import Build, Json, readable
from fit.commands.show import note, progress, put
from fit.commands.status import Status

if TYPE_CHECKING:
    from fit.pipeline import InBox


def compare(
    build: Build,
    other: Annotated[
        str | None, typer.Argument(metavar="OTHER", help="The build to compare it with.")
    ] = None,
    within: Annotated[
        list[str] | None,
        typer.Option(
            "--in",
            metavar="BOX",
            help="A box to put it into, the name or file of one. One build and one box: its own "
            "box against that; two boxes: the first against the second.",
            show_default=False,
        ),
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write a page with the faces over each other there."),
    ] = None,
    json: Json = False,
) -> None:
    """Compare two builds, or one build in two boxes."""
    from fit import pipeline
    from fit.elsewhere.compare import as_plain, page, text
    from fit.elsewhere.compare import compare as side_by_side
    from fit.findings import Verdict
    from fit.output import whole_file
    from fit.report import as_json

    places = _places(other, within or [])
    with readable(json), progress() as tell:
        first, second = (
            pipeline.check(name, within=place, tell=tell)
            for name, place in zip((build, other or build), places, strict=True)
        )
    found = side_by_side(first, second)
    if html is not None:
        whole_file(html, page(found).encode())
        note(f"faces over each other in {html}")
    put(as_json(as_plain(found)) if json else text(found))
    clash = Verdict.CLASH in (first.verdict, second.verdict)
    raise typer.Exit(Status.CLASH if clash else Status.GOOD)


def _places(other: str | None, within: list[str]) -> tuple[InBox, InBox]:
    """The boxes of the first and the second.

    Raises:
        BadParameter: when it is not plain what is compared with what.
    """
    from fit.pipeline import OWN_BOX, InBox

    boxes = [InBox(box=name) for name in within]
    if other is None and not boxes:
        say = "give a second build, or a box with --in"
        raise typer.BadParameter(say, param_hint="OTHER")
    if len(boxes) > 2:
        raise typer.BadParameter("two boxes at most", param_hint="--in")
    if not boxes:
        return OWN_BOX, OWN_BOX
    if len(boxes) == 2:
        return boxes[0], boxes[1]
    # Two builds and one box: both go into that.
    return (OWN_BOX, boxes[0]) if other is None else (boxes[0], boxes[0])
