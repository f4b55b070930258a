"""What ``fit make`` can be asked for beyond the sheets: how the words become options."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

import typer

from fit.units import UnitError, parse_length

if TYPE_CHECKING:
    from fit.draw.also import Also
    from fit.draw.laser import Tabs

_TABS = re.compile(r"^\s*(\d{1,3})\s*[x×]\s*(\S.*)$")
_MOST_TABS = 50
_WIDEST_TAB = 20.0

KerfOption = Annotated[
    str | None,
    typer.Option(
        "--kerf",
        metavar="MM",
        help="Width a laser or router takes away; DXF and SVG outlines make up for it.",
        show_default=False,
    ),
]
TabsOption = Annotated[
    str | None,
    typer.Option(
        "--tabs",
        metavar="NxMM",
        help="Holding tabs in DXF and SVG outlines, such as 3x0.5: three, each 0.5 mm wide.",
        show_default=False,
    ),
]

InsideOption = Annotated[
    bool, typer.Option("--inside", help="Also draw each face as seen from inside, mirrored.")
]


DummyOption = Annotated[
    bool, typer.Option("--dummy", help="Also a paper dummy to fold and try in the real box.")
]
LabelOption = Annotated[
    bool, typer.Option("--label", help="Also a label for each face, with legends and scales.")
]
JigOption = Annotated[
    list[str] | None,
    typer.Option(
        "--jig",
        metavar="NAME",
        help="Also a drilling jig (STEP) for a face or board; may be given several times.",
        show_default=False,
    ),
]
WrapOption = Annotated[
    bool,
    typer.Option("--wrap", help="Draw the sides as one sheet that goes round the box."),
]
QuickOption = Annotated[
    bool,
    typer.Option(
        "--quick-windows", help="Cut windows by a few big holes and a saw: more is left to file."
    ),
]


def also_for(
    *,
    kerf: str | None,
    tabs: str | None,
    inside: bool = False,
    wrap: bool = False,
    quick: bool = False,
    dummy: bool = False,
    label: bool = False,
    jig: list[str] | None = None,
) -> Also:
    """The options as typed, understood.

    Raises:
        BadParameter: when one cannot be; it says what would be right.
    """
    from fit.draw.also import Also
    from fit.draw.asked import Asked, Ends
    from fit.draw.laser import Laser

    windows = Ends.BIG_HOLES if quick else Ends.CHAIN
    return Also(
        laser=Laser(kerf=_kerf(kerf), tabs=_tabs(tabs)),
        sheets=Asked(inside=inside, wrap=wrap, windows=windows),
        dummy=dummy,
        label=label,
        jigs=tuple(dict.fromkeys(jig or ())),
    )


def _kerf(typed: str | None) -> float:
    from fit.draw.laser import WIDEST_KERF

    if typed is None:
        return 0.0
    return _length(typed, "--kerf", 0.0, WIDEST_KERF)


def _tabs(typed: str | None) -> Tabs | None:
    from fit.draw.laser import Tabs

    if typed is None:
        return None
    found = _TABS.match(typed)
    count = int(found[1]) if found else 0
    if found is None or not 1 <= count <= _MOST_TABS:
        right = f"write how many (1 to {_MOST_TABS}) and how wide, such as 3x0.5"
        raise typer.BadParameter(f"'{typed}' are no tabs; {right}", param_hint="--tabs")
    return Tabs(count=count, width=_length(found[2], "--tabs", 0.05, _WIDEST_TAB))


def _length(typed: str, option: str, least: float, most: float) -> float:
    try:
        value = float(parse_length(typed))
    except UnitError as error:
        raise typer.BadParameter(str(error), param_hint=option) from None
    if not least <= value <= most:
        say = f"'{typed}' is out of range; write {least:g} to {most:g} mm"
        raise typer.BadParameter(say, param_hint=option)
    return value
