"""What is known of the person's printers: what a test print measured, kept between runs.

One small JSON file in the folder where this system keeps settings, or in the folder that the
environment variable `FIT_CONFIG` names. What was measured is kept, not what follows from it.
"""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from pathlib import Path
from typing import Final

from fit.draw.correction import LIMIT, Correction, percent
from fit.findings import Problem, Span, UnusableInput
from fit.output import whole_file
from fit.trade.paper import card
from fit.units import UnitError, parse_length, show

CONFIG: Final = "FIT_CONFIG"
"""Environment variable: the folder to keep settings in instead of the usual one."""

FILE: Final = "printers.json"

BAR: Final = 100.0
"""Length of the bars on every sheet, mm."""

_LONGEST_NAME: Final = 24
_ALIKE: Final = 0.005
"""Errors of both directions that differ by less have one cause (common practice, no source)."""
_DOUBTFUL: Final = 0.015
"""From here on, the same error both ways is rather the dialog's than the printer's."""
_TIMES: Final = re.compile(r"\s*[x×X*]\s*")


class PrinterError(ValueError):
    """A printer's name or measurement cannot be used; the message says why and what to do."""


class Target(StrEnum):
    """What was measured on the test print."""

    CARD = "card"
    """The outline of a bank card."""
    BARS = "bars"
    """The two 100 mm bars."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """A printer and what a print of it measured.

    Attributes:
        name: the person's word for it.
        target: what was measured.
        across, along: its length across the upright sheet and along it as printed, mm.
    """

    name: str
    target: Target
    across: float
    along: float

    @property
    def true(self) -> tuple[float, float]:
        """What it should have measured, mm."""
        return (card().w, card().h) if self.target is Target.CARD else (BAR, BAR)

    @property
    def correction(self) -> Correction:
        """What later sheets need, so that their prints are true."""
        across, along = self.true
        return Correction(printer=self.name, across=across / self.across, along=along / self.along)

    @property
    def words(self) -> str:
        """One line: what was measured and what is made of it."""
        need = self.correction
        return (
            f"{self.target} measured {show(self.across)} × {show(self.along)}; "
            f"sheets corrected by x {percent(need.across)}, y {percent(need.along)}"
        )

    @property
    def doubt(self) -> str | None:
        """Why this may be no fault of the printer's, or None."""
        x, y = self.correction.across - 1, self.correction.along - 1
        if min(x, y) < _DOUBTFUL or abs(x - y) > _ALIKE:
            return None
        return (
            "the print is smaller by the same share both ways, as a print dialog set to fit the "
            "page makes it (Letter sheets on A4: −2.7 %); if the test print was not at 100 %, "
            "print it again"
        )


def measured(name: str, target: Target, across: str, along: str) -> Printer:
    """A printer from what a person typed.

    Raises:
        PrinterError: when the name or a length cannot be used, or the print is so far from true
            that no printer does that by itself.
    """
    name = _named(name)
    try:
        sizes = [float(parse_length(text)) for text in (across, along)]
    except UnitError as wrong:
        raise PrinterError(str(wrong)) from None
    if min(sizes) <= 0:
        raise PrinterError("a printed length is above 0; give what the test print measured, in mm")
    printer = Printer(name=name, target=target, across=sizes[0], along=sizes[1])
    _refuse_beyond(printer)
    return printer


def card_sizes(typed: str) -> tuple[str, str]:
    """The two lengths in words such as ``84.9x53.4``.

    Raises:
        PrinterError: when there are not two.
    """
    sizes = _TIMES.split(typed.strip())
    if len(sizes) != 2:
        raise PrinterError(f"'{typed}' is not width x height; write 84.9x53.4")
    return sizes[0], sizes[1]


def _named(name: str) -> str:
    name = " ".join(name.split())
    if not name or not name.isprintable() or name.startswith("-"):
        raise PrinterError("a printer needs a name of letters or digits, such as office")
    if len(name) > _LONGEST_NAME:
        raise PrinterError(f"'{name}' is too long for the sheets; at most {_LONGEST_NAME} letters")
    return name


def _refuse_beyond(printer: Printer) -> None:
    """Refuse a correction beyond the limit and name what is likely behind it."""
    need = printer.correction
    x, y = need.across - 1, need.along - 1
    if max(abs(x), abs(y)) <= LIMIT:
        return
    raise PrinterError(
        f"that would be a correction of x {percent(need.across)}, y {percent(need.along)}; "
        f"more than {LIMIT * 100:g} % is not the printer's own error. {_cause(printer, x, y)}"
    )


def _cause(printer: Printer, x: float, y: float) -> str:
    true = printer.true
    swapped = (true[0] / printer.along - 1, true[1] / printer.across - 1)
    if max(map(abs, swapped)) <= LIMIT:
        return "Width and height are in the wrong order: across the upright sheet comes first"
    for factor, unit in ((10.0, "cm"), (25.4, "inches")):
        shares = (true[0] / (printer.across * factor), true[1] / (printer.along * factor))
        if all(abs(share - 1) <= LIMIT for share in shares):
            return f"The lengths seem to be in {unit}; give mm or write the unit"
    if abs(x - y) > 2 * _ALIKE:
        return "The two directions differ too much: measure both again, on a print that lies flat"
    if x < 0:
        return "The print dialog has enlarged the page (fit to page); print at 100 %, actual size"
    if abs((1 + x) * 279.4 / 297 - 1) <= _ALIKE:
        return "That is an A4 sheet made to fit Letter paper; print with --paper Letter, at 100 %"
    return (
        "The print dialog has shrunk the page (fit to page, or A4 on Letter paper); print at "
        "100 %, actual size, on the paper named with --paper"
    )


def config_folder() -> Path:
    """Where settings are kept on this system; it need not exist.

    `FIT_CONFIG` if set; else ``%APPDATA%`` on Windows, ``Library/Application Support`` on macOS,
    and what the XDG Base Directory Specification says elsewhere.
    """
    own = os.environ.get(CONFIG)
    if own:
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming") / "fit"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "fit"
    base = os.environ.get("XDG_CONFIG_HOME", "")
    # The specification: a path that is not absolute is to be ignored.
    return (Path(base) if Path(base).is_absolute() else Path.home() / ".config") / "fit"


def printers() -> dict[str, Printer]:
    """Every printer that is known, by name.

    Raises:
        UnusableInput: when the file is there and cannot be used.
    """
    path = config_folder() / FILE
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise _unusable(path, f"cannot be read: {error.strerror or error}") from error
    except ValueError as error:
        raise _unusable(path, "is not JSON any more") from error
    if not isinstance(told, dict) or not isinstance(told.get("printers"), dict):
        raise _unusable(path, "has no list of printers")
    return {name: _read(path, name, entry) for name, entry in sorted(told["printers"].items())}


def _read(path: Path, name: str, entry: object) -> Printer:
    try:
        if not isinstance(entry, Mapping):
            raise PrinterError("what was measured is missing")
        across, along = entry["measured"]
        target = Target(entry["of"])
        return measured(name, target, *(str(float(length)) for length in (across, along)))
    except (PrinterError, KeyError, TypeError, ValueError) as error:
        raise _unusable(path, f"what it says of '{name}' cannot be used ({error})") from error


def _unusable(path: Path, wrong: str) -> UnusableInput:
    right = "delete the file and enter the printers again with fit printer NAME --card"
    return UnusableInput((Problem(Span(path.as_posix()), wrong, right),))


def remember(printer: Printer) -> Printer | None:
    """Keep what was measured; gives what was known of a printer of that name before.

    Raises:
        UnusableInput: when the file is there and cannot be used.
        CannotWrite: when it cannot be written.
    """
    known = printers()
    _write(known | {printer.name: printer})
    return known.get(printer.name)


def forget(name: str) -> None:
    """Drop a printer.

    Raises:
        PrinterError: when there is none of that name.
        UnusableInput: when the file is there and cannot be used.
        CannotWrite: when it cannot be written.
    """
    gone = printer_named(name)
    _write({name: each for name, each in printers().items() if name != gone.name})


def printer_named(name: str) -> Printer:
    """A printer that is known.

    Raises:
        PrinterError: when there is none of that name; it names those there are.
        UnusableInput: when the file is there and cannot be used.
    """
    known = printers()
    name = " ".join(name.split())
    if name in known:
        return known[name]
    if not known:
        raise PrinterError(f"no printer '{name}' is known; print a test with fit printer --test")
    near = get_close_matches(name, known, n=1)
    right = f"did you mean '{near[0]}'?" if near else f"known are {', '.join(known)}"
    raise PrinterError(f"no printer '{name}' is known; {right}")


def _write(known: Mapping[str, Printer]) -> None:
    told = {
        each.name: {"of": each.target.value, "measured": [each.across, each.along]}
        for _, each in sorted(known.items())
    }
    text = json.dumps({"printers": told}, indent=2, ensure_ascii=False) + "\n"
    whole_file(config_folder() / FILE, text.encode("utf-8"))
