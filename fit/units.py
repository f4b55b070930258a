"""Lengths and angles: what a person types becomes millimetres and degrees.

This is the only crossing between typed words and numbers. Inside the package a length is a
plain ``float`` in millimetres; a `Length` is such a float that still remembers how uncertain it
is and how it was written.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

INCH: Final = 25.4
"""Millimetres in an inch, exact (international inch, 1959)."""

PITCH: Final = 2.54
"""Hole pitch of perfboard, mm: a tenth of an inch (IEC 60097 basic grid, older edition)."""

LONGEST: Final = 5000.0
"""Longest length accepted, mm. Anything longer is a slip of the unit, not a project box."""

_UNITS: Final = {
    "": 1.0,
    "mm": 1.0,
    "cm": 10.0,
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
    "hole": PITCH,
    "holes": PITCH,
}

_NUMBER: Final = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|\d+(?:\.\d*)?|\.\d+)"
_TERM: Final = re.compile(rf"^\s*(?P<number>{_NUMBER})\s*(?P<unit>[a-zA-Z\"]*)\s*$")
_SPLIT: Final = re.compile(r"±|\+/-|\+-")


class UnitError(ValueError):
    """A typed length or angle that cannot be read.

    Attributes:
        wrong: what is wrong, as half a sentence.
        right: what would be right.
    """

    def __init__(self, wrong: str, right: str) -> None:
        super().__init__(f"{wrong}; {right}")
        self.wrong = wrong
        self.right = right


class Length(float):
    """A length in mm that knows its uncertainty and the words it was typed in.

    Behaves as a float everywhere; arithmetic gives a plain float.

    Attributes:
        plus_minus: half width of the uncertainty, mm (0 when nothing was said).
        words: the text as typed, for messages and sheets.
    """

    __slots__ = ("plus_minus", "words")

    plus_minus: float
    words: str

    def __new__(cls, mm: float, plus_minus: float = 0.0, words: str = "") -> Length:
        """Make a length of ``mm`` millimetres, uncertain by ``plus_minus`` mm either way."""
        self = super().__new__(cls, mm)
        object.__setattr__(self, "plus_minus", float(plus_minus))
        object.__setattr__(self, "words", words or show(mm))
        return self

    def __getnewargs__(self) -> tuple[float, float, str]:  # type: ignore[override]
        """Let copies and pickles keep the uncertainty and the words."""
        return (float(self), self.plus_minus, self.words)


@dataclass(frozen=True, slots=True)
class _Term:
    number: float
    unit: str


def show(mm: float, places: int = 2) -> str:
    """Write a length the way a workshop drawing does: no trailing zeros, no minus zero."""
    text = f"{mm:.{places}f}".rstrip("0").rstrip(".") if places else f"{mm:.0f}"
    return "0" if text in {"-0", ""} else text


def in_holes(mm: float) -> str | None:
    """Whole and half pitches of perfboard in words, such as "4.5 holes"; None for all else."""
    halves = mm / PITCH * 2
    if abs(halves - round(halves)) >= 1e-6:
        return None
    count = round(halves) / 2
    return "0" if not count else f"{show(count)} hole{'' if count == 1 else 's'}"


def _fraction(text: str) -> float:
    whole, _, rest = text.strip().rpartition(" ")
    if "/" not in text:
        return float(text)
    top, bottom = (rest or text).split("/")
    if int(bottom) == 0:
        raise UnitError(f"'{text}' divides by nothing", "write a fraction such as 7/16 in")
    part = int(top) / int(bottom)
    return int(whole) + part if whole.strip() else part


def _term(text: str, allowed: dict[str, float], example: str) -> _Term:
    match = _TERM.match(text)
    if match is None:
        raise UnitError(f"'{text.strip()}' is not a length", f"write {example}")
    unit = match["unit"].lower()
    if unit not in allowed:
        raise UnitError(
            f"'{match['unit']}' is not a unit of length", "use mm, cm, in or holes (2.54 mm)"
        )
    return _Term(_fraction(match["number"]), unit)


def parse_length(typed: object) -> Length:
    """Read a length: ``12``, ``12 mm``, ``1.2 cm``, ``7/16 in``, ``20 holes``, ``96.5 ± 0.5``.

    A bare number is mm. A bare uncertainty takes the unit of the value before it.

    Args:
        typed: a number or text from a file or the command line.

    Returns:
        The length in mm with its uncertainty and the words typed.

    Raises:
        UnitError: when it cannot be read, is not finite, or is beyond any project box.
    """
    example = "a number of mm, or 12 mm, 1.2 cm, 7/16 in, 20 holes, 96.5 ± 0.5"
    if isinstance(typed, bool) or typed is None or not isinstance(typed, (int, float, str)):
        raise UnitError(f"{_kind(typed)} is not a length", f"write {example}")
    if isinstance(typed, Length):
        return typed
    if isinstance(typed, (int, float)):
        return Length(_sane(float(typed), str(typed)), words=show(float(typed), 4))
    pieces = _SPLIT.split(typed)
    if len(pieces) > 2:
        raise UnitError(f"'{typed}' has more than one ±", "write 96.5 ± 0.5")
    value = _term(pieces[0], _UNITS, example)
    spread = 0.0
    if len(pieces) == 2:
        extra = _term(pieces[1], _UNITS, "an uncertainty such as ± 0.5")
        unit = extra.unit or value.unit
        spread = extra.number * _UNITS[unit]
        # "96.5 ± 0.5 mm": the unit at the end belongs to both numbers.
        if not value.unit and extra.unit:
            value = _Term(value.number, extra.unit)
        if spread < 0:
            raise UnitError(f"'{typed}' has an uncertainty below 0", "write 96.5 ± 0.5")
    mm = _sane(value.number * _UNITS[value.unit], typed)
    return Length(mm, _sane(spread, typed), " ".join(typed.split()))


def parse_angle(typed: object) -> float:
    """Read an angle in degrees: ``1.5``, ``1.5 deg``, ``1.5°``.

    Raises:
        UnitError: when it is not a number of degrees between -360 and 360.
    """
    if isinstance(typed, str):
        typed = re.sub(r"\s*(°|deg|degrees?)\s*$", "", typed.strip())
        try:
            typed = float(typed)
        except ValueError:
            raise UnitError(f"'{typed}' is not an angle", "write degrees, such as 1.5") from None
    if isinstance(typed, bool) or not isinstance(typed, (int, float)):
        raise UnitError(f"{_kind(typed)} is not an angle", "write degrees, such as 1.5")
    if not math.isfinite(typed) or abs(typed) > 360:
        raise UnitError(f"'{typed}' is not an angle", "write degrees between -360 and 360")
    return float(typed)


def _kind(value: object) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"'{'true' if value else 'false'}'"
    if isinstance(value, dict):
        return "a block of keys"
    if isinstance(value, (list, tuple)):
        return "a list"
    return f"'{value}'"


def _sane(mm: float, typed: str) -> float:
    if not math.isfinite(mm):
        raise UnitError(f"'{typed}' is not a finite length", "write a number of mm")
    if abs(mm) > LONGEST:
        raise UnitError(
            f"'{typed}' is {show(mm)} mm, longer than any project box",
            f"check the unit; at most {show(LONGEST)} mm",
        )
    return mm
