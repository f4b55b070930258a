"""The smallest things a file holds: lengths, angles, words, names; and what blocks of keys share.

Scalars are strict: a text is not a number, a number is not a text. Every refusal says what is
wrong and what would be right, and travels through pydantic as the error type `FAULT`.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Annotated, Any, ClassVar, Final

from pydantic import BaseModel, ConfigDict, Discriminator, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError, core_schema

from fit.trade.lettering import unprintable
from fit.units import LONGEST, Length, UnitError, parse_angle, parse_length

FAULT: Final = "fault"
"""Error type of every refusal of our own; its context holds `wrong` and `right`."""

LONGEST_TEXT: Final = 600
"""Longest text accepted, characters: more is not one line about a thing."""

LONGEST_NAME: Final = 60
"""Longest name accepted, characters: names become file names and legends."""

_MOST_ODD: Final = 12
"""Most letters shown that cannot be printed."""

MOST_LISTED: Final = 24
"""Most words listed in one message."""

MOST_LOOKED_AT: Final = 500
"""Most words compared to find a near spelling: beyond that it takes too long."""

_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]*")
_PART_NAME: Final = re.compile(r"\w[\w-]*")
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufeff]")
_PORTS: Final = {f"{port}{n}" for port in ("com", "lpt") for n in range(10)}
_DEVICES: Final = {"con", "prn", "aux", "nul"} | _PORTS


FORMS: Final[dict[str, tuple[str, str]]] = {}
"""What to say when a value has none of the forms its place takes: error type → wrong, right."""


def by_form(code: str, form: Callable[[Any], str | None], wrong: str, right: str) -> Discriminator:
    """Chooses among the forms a value may have, so that a fault is reported for one form only.

    Args:
        code: error type of a value that has none of them; unique.
        form: gives the tag of the value's form, or None.
        wrong: what to say then.
        right: what would be right.
    """
    FORMS[code] = (wrong, right)
    return Discriminator(form, custom_error_type=code, custom_error_message=code)


def fault(wrong: str, right: str = "") -> PydanticCustomError:
    """A refusal that pydantic carries to the place it belongs to."""
    return PydanticCustomError(FAULT, "{wrong}; {right}", {"wrong": wrong, "right": right})


@dataclass(frozen=True, slots=True, eq=False)
class By:
    """Reads a value by one function, with its own JSON Schema; for use in `Annotated`."""

    read: Callable[[Any], Any]
    json: dict[str, Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Validate by the function alone."""
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        """The JSON Schema given."""
        return dict(self.json)


def kind_of(value: object) -> str:
    """What a value from a file is, in plain words: for messages."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return f"'{'true' if value else 'false'}'"
    if isinstance(value, dict):
        return "a block of keys"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, int | float):
        return f"the number {value}"
    text = str(value)
    return f"'{text if len(text) <= 40 else text[:37] + '...'}'"


def near(word: object, known: Iterable[str]) -> str | None:
    """The known word a mistyped one was most likely meant to be, or None."""
    words = list(known)
    if len(words) > MOST_LOOKED_AT:
        return None
    found = difflib.get_close_matches(str(word)[:LONGEST_NAME].lower(), words, n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(word: object, known: Iterable[str], otherwise: str) -> str:
    """'did you mean …?' when a known word is near, else the other words."""
    guess = near(word, known)
    return f"did you mean '{guess}'?" if guess else otherwise


def listed(words: Iterable[str], last: str = "or") -> str:
    """Words as a list in a sentence: a, b or c."""
    *first, end = [str(w) for w in words] or ["nothing"]
    if len(first) > MOST_LISTED:
        first, end = first[:MOST_LISTED], f"{len(first) + 1 - MOST_LISTED} more"
    return f"{', '.join(first)} {last} {end}" if first else end


def _length(typed: object) -> Length:
    if isinstance(typed, int | float) and math.isfinite(typed) and abs(typed) > LONGEST:
        raise fault(
            f"{kind_of(typed)} is longer than any project box",
            f"check the unit; at most {LONGEST:g} mm",
        )
    if isinstance(typed, str) and len(typed) > LONGEST_NAME:
        raise fault(f"{kind_of(typed)} is no sensible length", "write a number of mm")
    try:
        return parse_length(typed)
    except UnitError as error:
        raise fault(error.wrong, error.right) from None


def above_0(typed: object) -> Length:
    """Read a size above 0, mm."""
    mm = _length(typed)
    if mm <= 0:
        raise fault(f"'{mm.words}' is not above 0", "write how large it is in mm")
    if mm.plus_minus >= mm:
        raise fault(
            f"'{mm.words}' is more uncertain than it is large", "measure it again, more closely"
        )
    return mm


def from_0(typed: object) -> Length:
    """Read a length of 0 or more, mm."""
    mm = _length(typed)
    if mm < 0:
        raise fault(f"'{mm.words}' is below 0", "write 0 or more")
    return mm


def _angle(typed: object) -> float:
    if isinstance(typed, str) and len(typed) > LONGEST_NAME:
        raise fault(f"{kind_of(typed)} is no sensible angle", "write degrees, such as 1.5")
    try:
        return parse_angle(typed)
    except UnitError as error:
        raise fault(error.wrong, error.right) from None


def between(
    low: float, high: float, what: str, reader: Callable[[object], float] | None = None
) -> By:
    """Reads a number from `low` to `high`; `what` names it in messages.

    Args:
        low: the least.
        high: the most.
        what: such as "a lean in degrees".
        reader: for angles; None for a plain number.
    """

    def read(typed: object) -> float:
        if reader is not None:
            value = reader(typed)
        elif isinstance(typed, bool) or not isinstance(typed, int | float):
            raise fault(f"{kind_of(typed)} is not a number", f"write {what}")
        else:
            value = float(typed)
        if not math.isfinite(value) or not low <= value <= high:
            raise fault(f"{typed} is out of range", f"write {what} from {low:g} to {high:g}")
        return value

    number = {"type": "number", "minimum": low, "maximum": high}
    if reader is None:
        return By(read, number)
    return By(read, {"anyOf": [number, {"type": "string", "pattern": _ANGLE}]})


def _text(typed: object) -> str:
    if not isinstance(typed, str):
        raise fault(f"{kind_of(typed)} is not a text", "write words, in quotes if need be")
    if _CONTROL.search(typed):
        raise fault("this text holds a character that cannot be printed", "write plain words")
    if len(typed) > LONGEST_TEXT:
        raise fault(f"this text is {len(typed)} characters long", f"write at most {LONGEST_TEXT}")
    return " ".join(typed.split())


def _printed(typed: object) -> str:
    """A text that is printed on sheets: all of its letters are in their font."""
    text = _text(typed)
    odd = unprintable(text)
    if odd:
        these = "these letters" if len(odd) > 1 else "this letter"
        raise fault(
            f"{these} cannot be printed on a sheet: {' '.join(odd[:_MOST_ODD])}",
            "write it in Latin letters, digits and common signs",
        )
    return text


def _named(typed: object, pattern: re.Pattern[str], allowed: str) -> str:
    if not isinstance(typed, str):
        raise fault(f"{kind_of(typed)} is not a name", "write a name, in quotes if it is a number")
    if not pattern.fullmatch(typed):
        raise fault(f"{kind_of(typed)} cannot be a name", f"use only {allowed}")
    if len(typed) > LONGEST_NAME:
        raise fault(f"{kind_of(typed)} is too long a name", f"at most {LONGEST_NAME} characters")
    if typed.split(".")[0].lower() in _DEVICES:
        raise fault(f"'{typed}' cannot be a name", "Windows keeps this word to itself")
    return typed


def _name(typed: object) -> str:
    return _named(typed, _NAME, "letters a to z, digits, '-', '_' and '.'")


def _part_name(typed: object) -> str:
    name = _named(typed, _PART_NAME, "letters, digits, '_' and '-'")
    if name.lower() == "box":
        raise fault("a part cannot be called 'box'", "that word means the box itself")
    return name


_ANGLE: Final = r"^\s*[+-]?[0-9.]+\s*(°|deg|degrees?)?\s*$"
_NUMBER: Final = r"[+-]?([0-9]+ +[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(\.[0-9]*)?|\.[0-9]+)"
_TERM: Final = rf"\s*{_NUMBER}\s*(mm|cm|in|inch|inches|\"|holes?)?\s*"
JSON_LENGTH: Final[dict[str, Any]] = {
    "anyOf": [
        {"type": "number"},
        {"type": "string", "pattern": rf"^{_TERM}((±|\+/-|\+-){_TERM})?$"},
    ]
}
"""A length for editors: a number of mm, or text with a unit and an uncertainty."""

_JSON_NAME: Final = {"type": "string", "pattern": f"^{_NAME.pattern}$", "maxLength": LONGEST_NAME}

Len = Annotated[Length, By(_length, JSON_LENGTH)]
"""A length, mm, of either sign: a coordinate."""
Above0 = Annotated[Length, By(above_0, JSON_LENGTH)]
"""A size, mm, above 0."""
From0 = Annotated[Length, By(from_0, JSON_LENGTH)]
"""A length, mm, 0 or more."""
Lean = Annotated[float, between(-1, 15, "a lean in degrees", _angle)]
"""How far a moulded wall leans, degrees. Moulders give 0.5 to 2, deep textures up to 5 and a few
boxes are built as wedges; slightly below 0 is a body narrowing to its rim."""
Angle = Annotated[float, between(-360, 360, "an angle in degrees", _angle)]
ViewAngle = Annotated[float, between(0, 80, "an angle from straight ahead in degrees", _angle)]
Index = Annotated[float, between(1, 2.5, "a refractive index, 1.49 for acrylic,")]
Share = Annotated[float, between(0, 1, "a share of the face")]
Text = Annotated[str, By(_text, {"type": "string", "maxLength": LONGEST_TEXT})]

Printed = Annotated[str, By(_printed, {"type": "string", "maxLength": LONGEST_TEXT})]
"""A text that is printed on sheets."""
Name = Annotated[str, By(_name, _JSON_NAME)]
"""A catalogue name: also a file name."""
PartName = Annotated[str, By(_part_name, {"type": "string", "pattern": r"^\S+$"})]
"""A person's own name for a part in a build."""
Flag = Annotated[
    bool,
    By(
        lambda typed: typed if isinstance(typed, bool) else _refuse_flag(typed),
        {"type": "boolean"},
    ),
]


def _refuse_flag(typed: object) -> bool:
    raise fault(f"{kind_of(typed)} is neither true nor false", "write true or false")


def whole(low: int, high: int, what: str) -> By:
    """Reads a whole number from `low` to `high`."""

    def read(typed: object) -> int:
        if isinstance(typed, bool) or not isinstance(typed, int):
            raise fault(f"{kind_of(typed)} is not a whole number", f"write {what}")
        if not low <= typed <= high:
            raise fault(f"{typed} is out of range", f"write {what} from {low} to {high}")
        return typed

    return By(read, {"type": "integer", "minimum": low, "maximum": high})


def one_of(*lists: type[StrEnum]) -> By:
    """Reads a word of one or more closed lists."""
    words = {member.value: member for words in lists for member in words}

    def read(typed: object) -> StrEnum:
        if isinstance(typed, str) and typed in words:
            return words[typed]
        raise fault(
            f"{kind_of(typed)} is not a word that can stand here",
            did_you_mean(typed, words, f"write {listed(words)}")
            if isinstance(typed, str)
            else f"write {listed(words)}",
        )

    return By(read, {"type": "string", "enum": list(words)})


def _made(value: Any) -> Any:
    if isinstance(value, Keys):
        return value.make()
    if isinstance(value, list | tuple):
        return tuple(_made(item) for item in value)
    return value


class Keys(BaseModel):
    """A block of keys in a file; unknown keys are refused.

    `target` is the model's dataclass it turns into: fields of the same name are carried over.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    target: ClassVar[type[Any]]

    @model_validator(mode="before")
    @classmethod
    def _remember(cls, data: Any, info: ValidationInfo) -> Any:
        """Note which block of the file is read as which class, to name its keys in messages."""
        if isinstance(info.context, dict):
            info.context[id(data)] = cls
        return data

    def make(self, **more: Any) -> Any:
        """The model's dataclass, with `more` fields that are not keys of the file."""
        own = type(self).model_fields
        values = {
            f.name: _made(getattr(self, f.name))
            for f in fields(self.target)
            if f.name in own and f.name not in more
        }
        return self.target(**values, **more)

    @classmethod
    def key_words(cls) -> tuple[str, ...]:
        """The keys as they stand in a file, in order."""
        return tuple(field.alias or name for name, field in cls.model_fields.items())


def tagged(value: object) -> str | None:
    """Which form a value has, for fields that take several: as:text, as:list, as:keys."""
    if isinstance(value, dict):
        return "as:keys"
    if isinstance(value, list):
        return "as:list"
    return "as:text" if isinstance(value, str) else None


def plain_or_keys(value: object) -> str:
    """As `tagged`, but anything that is not a block of keys counts as plain."""
    return "as:keys" if isinstance(value, dict) else "as:plain"
