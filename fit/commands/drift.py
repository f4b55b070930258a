"""``fit boxes BUILD --around BOX``: how far the sizes of a box may drift."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from fit.commands.asking import readable
from fit.commands.show import note, progress, put
from fit.commands.status import Status
from fit.units import show

if TYPE_CHECKING:
    from fit.solve.other.drift import Drift, Limit


def tell_drift(build: str, box: str, *, json: bool) -> None:
    """Work the drifts out and print them.

    Raises:
        Exit: with the status; 1 when the build does not go together in that box as it is.
    """
    from fit import __version__
    from fit.pipeline import InBox, read, refuse_unknown_needs
    from fit.report import as_json
    from fit.solve.other.drift import breaks, drift, sizes_of
    from fit.solve.other.resize import Size

    with readable(json), progress() as tell:
        moved = read(build, InBox(box=box))
        refuse_unknown_needs(moved.home)
        shell = moved.build.box
        broken = breaks(moved.build, shell, Size.LENGTH, 0.0)
        if broken is not None:
            note(f"{moved.home.name} does not go together in {shell.name} as it is: {broken[1]}")
            raise typer.Exit(Status.CLASH)
        found = [drift(moved.build, shell, size, tell) for size in sizes_of(shell)]
    if json:
        told = {"fit": __version__, "build": moved.home.name, "box": shell.name}
        put(as_json({**told, "drifts": [_plain(d) for d in found]}))
    else:
        put(_text(moved.home.name, shell.name, found))
    raise typer.Exit(Status.GOOD)


def _text(build: str, box: str, found: list[Drift]) -> str:
    lines = [f"How far {box} may drift, one size at a time, before {build} no longer goes:", ""]
    for drift in found:
        unit = drift.size.unit
        gap = "" if unit == "°" else " "
        mark = "   take care" if drift.careful else ""
        lines.append(
            f"{drift.size:<7} {show(drift.nominal):>6}{gap}{unit:<2}  "
            f"{_limit(drift.down, '-'):>12}  {_limit(drift.up, '+'):>12}{mark}"
        )
        for limit, word in ((drift.down, "smaller"), (drift.up, "larger")):
            if limit.reached:
                lines.append(f"    {word}: {limit.rule}: {limit.say}")
    if any(drift.careful for drift in found):
        lines += ["", _CARE]
    return "\n".join(lines)


_CARE = (
    "Take care: boxes of one nominal size differ by about 0.5 mm from maker to maker. Measure "
    "yours before you cut."
)


def _limit(limit: Limit, sign: str) -> str:
    more = "" if limit.reached else "more than "
    return f"{more}{sign}{limit.by:.2f}"


def _plain(drift: Drift) -> dict[str, Any]:
    def limit(one: Limit) -> dict[str, Any]:
        by = round(one.by, 4)
        return {"by": by, "reached": one.reached, "rule": one.rule or None, "say": one.say or None}

    return {
        "size": drift.size.value,
        "nominal": round(drift.nominal, 4),
        "unit": drift.size.unit,
        "smaller": limit(drift.down),
        "larger": limit(drift.up),
        "take_care": drift.careful,
    }
