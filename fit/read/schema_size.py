"""A board's size: given, or left open to be as large as goes in."""

# No `from __future__ import annotations`: see fit/read/schema_board.py.

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import Field, Tag

from fit.model.words import BoardStock
from fit.read.scalars import JSON_LENGTH, By, Keys, above_0, by_form, fault, kind_of, tagged
from fit.read.schema_part import Size
from fit.trade.clearances import allowance
from fit.units import PITCH, Length

BIGGEST: Final = "biggest"
"""The word of a file for a size that is as large as goes in."""

_LEAST_HOLES, _LEAST_MM = 4, 10
"""A board is no smaller than this either way where the file says nothing of it."""

Sides = tuple[Length | None, Length | None]

_WORD: Final[dict[str, Any]] = {"type": "string", "enum": [BIGGEST]}
_RIGHT: Final = f"write [width, height], {BIGGEST} or {{at_least: [width, height]}}"


def _word(typed: object) -> str:
    if typed != BIGGEST:
        raise fault(f"{kind_of(typed)} is not a board's size", _RIGHT)
    return BIGGEST


def _side(typed: object) -> Length | None:
    """A width or height; None where it is open."""
    return None if typed == BIGGEST else above_0(typed)


Side = Annotated[Length | None, By(_side, {"anyOf": [*JSON_LENGTH["anyOf"], _WORD]})]


class OpenSizeKeys(Keys):
    """A size that is left open: the board is as large as goes in, within these limits."""

    at_least: Size | None = Field(
        None, description="[width, height] it must have; holes and zones are counted on this"
    )
    at_most: Size | None = Field(
        None, description="[width, height] of the piece at hand, which it cannot be larger than"
    )


BoardSize = Annotated[
    Annotated[str, By(_word, _WORD), Tag("as:text")]
    | Annotated[tuple[Side, Side], Tag("as:list")]
    | Annotated[OpenSizeKeys, Tag("as:keys")],
    by_form("form_board_size", tagged, "this is not a board's size", _RIGHT),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """What a board's size says, whatever its form.

    Attributes:
        given: width and height of the least the file names; None where it names none.
        least: what it has to be at least, or is, mm.
        up_to: as in `fit.model.part.Board`.
    """

    given: Sides
    least: tuple[Length, Length]
    up_to: Sides | None


def sized(form: Any, stock: BoardStock, needed: Iterable[tuple[float, float]] = ()) -> Sized:
    """Understand a size.

    Args:
        form: as read.
        stock: of the board.
        needed: how far right and up its holes, zones and noses reach, mm: where the file names no
            least, it has to be that large.
    """
    given: Sides = (None, None)
    most: Sides = (None, None)
    if isinstance(form, tuple):
        given = most = form
    elif isinstance(form, OpenSizeKeys):
        given, most = form.at_least or given, form.at_most or most
    reach = [max(ends) for ends in zip((0.0, 0.0), *needed, strict=True)]
    wide, high = (
        side if side is not None else whole(mm, stock)
        for side, mm in zip(given, reach, strict=True)
    )
    fixed = isinstance(form, tuple) and None not in form
    return Sized(given=given, least=(wide, high), up_to=None if fixed else most)


def whole(mm: float, stock: BoardStock) -> Length:
    """A least size that takes in so much: whole holes of perfboard, else whole mm."""
    if stock is BoardStock.PLAIN:
        return Length(max(math.ceil(mm - 1e-6), _LEAST_MM))
    holes = max(math.ceil(mm / PITCH - 1e-6), _LEAST_HOLES)
    return Length(holes * PITCH, words=f"{holes} holes")


def round_hole(x: float, y: float, diameter: float) -> tuple[float, float]:
    """How far right and up a board has to reach round a mounting hole, mm."""
    room = diameter / 2 + allowance("hole-to-board-edge").mm
    return x + room, y + room
