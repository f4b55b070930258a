"""Words for putting a build into another box, for every command that can."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

import typer

from fit.model.words import FaceName, Half

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fit.pipeline import InBox
    from fit.solve.other.shifts import Elsewhere

_TURNS: Final = (0, 90, 180, 270)

BoxOption = Annotated[
    str | None,
    typer.Option(
        "--box",
        metavar="BOX",
        help="Put it into another box: the name of one fit knows, or a box file.",
        show_default=False,
    ),
]
StandsOption = Annotated[
    FaceName | None,
    typer.Option(
        "--stands-on",
        help="With that face down in use, whatever the file says.",
        show_default=False,
    ),
]
CarrierOption = Annotated[
    Half | None,
    typer.Option(
        "--carrier",
        help="With the boards in that half, whatever the file says.",
        show_default=False,
    ),
]


TurnOption = Annotated[
    int,
    typer.Option(
        "--turn-box",
        metavar="DEGREES",
        help="Turn the box by 90, 180 or 270° counter-clockwise, seen from above, and leave the "
        "build's faces where they are.",
    ),
]


def in_box(box: str | None, stands_on: FaceName | None, carrier: Half | None, turn: int) -> InBox:
    """The options as typed, understood.

    Raises:
        BadParameter: when the box cannot be turned like that.
    """
    from fit.pipeline import InBox

    if turn not in _TURNS:
        say = f"a box is turned by 0, 90, 180 or 270 degrees, not {turn}"
        raise typer.BadParameter(say, param_hint="--turn-box")
    return InBox(box=box, stands_on=stands_on, carrier=carrier, quarters=turn // 90)


def elsewhere_lines(elsewhere: Elsewhere) -> Iterator[str]:
    """What moved because a build is not in its own box."""
    way = "" if elsewhere.way == "as written" else f" ({elsewhere.way})"
    yield f"In {elsewhere.box}{way}, against {elsewhere.home} as written:"
    if elsewhere.unknown:
        yield f"    what moved is not known: in its own box {elsewhere.unknown}"
        return
    for moved in elsewhere.shifts:
        yield f"    {moved.words()}"
    if not elsewhere.shifts:
        yield "    nothing moved against the edges nearest to it"
    for board in elsewhere.boards:
        yield f"    {board} gets its holes in other places"
    if elsewhere.absolute:
        names = ", ".join(elsewhere.absolute)
        yield f"    placed by bare numbers, which count from the middle as before: {names}"
