"""``fit boxes``: one build in every box at hand."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from fit.commands.asking import Json, readable
from fit.commands.show import note, progress, put
from fit.commands.status import Status
from fit.elsewhere.row import Sort, Ways

if TYPE_CHECKING:
    from fit.elsewhere.run import Share
    from fit.elsewhere.told import Table

_SHARE: Final = re.compile(r"\s*(\d{1,5})\s*/\s*(\d{1,5})\s*")

MENDED: Final = 60
"""Mends are tried without being asked for when there are no more boxes than this."""

Words = Annotated[
    list[str],
    typer.Argument(metavar="BUILD", help="A build; with --merge the files of all parts instead."),
]


SortOption = Annotated[Sort, typer.Option(help="What comes first.")]
WaysOption = Annotated[
    Ways,
    typer.Option(
        help="Which ways round (stands on lid or floor, boards in body or lid, box turned): "
        "as written; where it does not go like that, the first one in which it does; each in "
        "a row of its own."
    ),
]
ShellsOption = Annotated[
    Path | None,
    typer.Option(metavar="DIR", help="Look at the box files there, not at every box fit knows."),
]
AroundOption = Annotated[
    str | None,
    typer.Option(
        metavar="BOX",
        help="Instead: how far each size of that box may drift before something breaks.",
    ),
]
MendsOption = Annotated[
    bool | None,
    typer.Option(
        "--mends/--no-mends",
        help=f"Try what would mend near misses. [default: with up to {MENDED} boxes]",
        show_default=False,
    ),
]
LayoutsOption = Annotated[
    bool | None,
    typer.Option(
        "--layouts/--no-layouts",
        help="Ask the layout solver (as fit place does) where simple rows of parts find no good "
        f"place. [default: with up to {MENDED} boxes]",
        show_default=False,
    ),
]
HtmlOption = Annotated[
    Path | None, typer.Option(metavar="FILE", help="Write the table there, with pictures.")
]
PartOption = Annotated[
    str | None, typer.Option(metavar="N/M", help="Only the N-th of M parts, for several machines.")
]
MergeOption = Annotated[
    bool, typer.Option("--merge", help="Make one table of the JSON of all parts.")
]
NoCacheOption = Annotated[
    bool, typer.Option("--no-cache", help="Work everything out anew, and keep nothing.")
]


def boxes(
    words: Words,
    sort: SortOption = Sort.SMALLEST,
    ways: WaysOption = Ways.BEST,
    shells: ShellsOption = None,
    around: AroundOption = None,
    mends: MendsOption = None,
    layouts: LayoutsOption = None,
    html: HtmlOption = None,
    part: PartOption = None,
    merge: MergeOption = False,
    no_cache: NoCacheOption = False,
    json: Json = False,
) -> None:
    """Try a build in every box at hand: does it go together there, and what moves?"""
    share = _share(part)
    if merge:
        with readable(json):
            table = _merged(words, sort)
        _tell(table, html, json=json)
        return
    if len(words) > 1:
        raise typer.BadParameter("one build at a time; --merge joins files", param_hint="BUILD")
    if around is not None:
        from fit.commands.drift import tell_drift

        tell_drift(words[0], around, json=json)
        return
    table = _worked_out(
        words[0],
        sort,
        ways,
        shells,
        (mends, layouts),
        share,
        json=json,
        html=html,
        cached=not no_cache,
    )
    _tell(table, html, json=json)


def _worked_out(
    build: str,
    sort: Sort,
    ways: Ways,
    shells: Path | None,
    deep: tuple[bool | None, bool | None],
    share: Share,
    *,
    json: bool,
    html: Path | None,
    cached: bool,
) -> Table:
    from fit.elsewhere.judge import Asked
    from fit.elsewhere.run import run
    from fit.elsewhere.told import table_of
    from fit.pipeline import fingerprint, refuse_unknown_needs
    from fit.read import load_build, shell_files

    with readable(json), progress() as tell:
        home = load_build(build)
        refuse_unknown_needs(home)
        files = shell_files(home, shells)
        few = len(files) <= MENDED
        mends, layouts = (few if wanted is None else wanted for wanted in deep)
        asked = Asked(
            ways=ways,
            mends=mends,
            layouts=layouts,
            # Parts carry pictures, so that what is made of them can have them.
            pictures=html is not None or share.of > 1,
        )
        rows = run(home, files, asked, share=share, cached=cached, tell=tell)
    return table_of(home.name, home.box.name, fingerprint(home), asked, rows, share, sort)


def _merged(words: list[str], sort: Sort) -> Table:
    from fit.elsewhere.told import joined

    return joined([Path(word) for word in words], sort)


def _tell(table: Table, html: Path | None, *, json: bool) -> None:
    from fit.elsewhere.told import as_plain
    from fit.elsewhere.words import page, text
    from fit.output import whole_file
    from fit.report import as_json

    if html is not None:
        whole_file(html, page(table).encode())
        note(f"table with pictures in {html}")
    put(as_json(as_plain(table)) if json else text(table))
    if not table.whole:
        raise typer.Exit(Status.INTERRUPTED)
    raise typer.Exit(Status.GOOD if table.boxes_that_go else Status.CLASH)


def _share(part: str | None) -> Share:
    from fit.elsewhere.run import ALL, Share

    if part is None:
        return ALL
    found = _SHARE.fullmatch(part)
    number, of = (int(found[1]), int(found[2])) if found else (0, 0)
    if not 1 <= number <= of:
        say = f"'{part}' is no part; write such as 3/8 for the third of eight"
        raise typer.BadParameter(say, param_hint="--part")
    return Share(number=number, of=of)
