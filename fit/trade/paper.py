"""Paper, cards and coins: things of known size to print on and to check a print by."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from fit.trade.tables import number, number_or_none, pick, rows


class PaperName(StrEnum):
    """Paper a sheet may be printed on."""

    A3 = "A3"
    A4 = "A4"
    A5 = "A5"
    LETTER = "Letter"
    LEGAL = "Legal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A paper size, upright, mm; the cutting tolerances where the standard gives them."""

    name: str
    w: float
    h: float
    w_plus_minus: float | None
    h_plus_minus: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A card of standard size, mm, with the least and greatest the standard lets pass."""

    name: str
    w: float
    h: float
    w_range: tuple[float, float]
    h_range: tuple[float, float]
    radius: float
    radius_range: tuple[float, float]
    thickness: float
    thickness_range: tuple[float, float]


@cache
def papers() -> Mapping[str, Paper]:
    """Paper sizes by name (ISO 216 and US sizes)."""
    return MappingProxyType(
        {
            row["name"]: Paper(
                name=row["name"],
                w=number(row, "w_mm"),
                h=number(row, "h_mm"),
                w_plus_minus=number_or_none(row, "w_plus_minus_mm"),
                h_plus_minus=number_or_none(row, "h_plus_minus_mm"),
            )
            for row in rows("paper")
        }
    )


def paper(name: str) -> Paper:
    """A paper size: ``A4``, ``Letter``, or a `PaperName`.

    Raises:
        UnknownName: when it is in no table.
    """
    return pick("paper size", str(name), papers())


@cache
def card() -> Card:
    """The ID-1 card of ISO/IEC 7810: bank cards, most identity and library cards."""
    row = pick("card", "ID-1", {each["name"]: each for each in rows("cards")})
    return Card(
        name=row["name"],
        w=number(row, "w_mm"),
        h=number(row, "h_mm"),
        w_range=(number(row, "w_min_mm"), number(row, "w_max_mm")),
        h_range=(number(row, "h_min_mm"), number(row, "h_max_mm")),
        radius=number(row, "radius_mm"),
        radius_range=(number(row, "radius_min_mm"), number(row, "radius_max_mm")),
        thickness=number(row, "thickness_mm"),
        thickness_range=(number(row, "thickness_min_mm"), number(row, "thickness_max_mm")),
    )


@cache
def coins() -> Mapping[str, float]:
    """Diameters of coins by name, mm (published by the mints; from memory)."""
    return MappingProxyType({row["name"]: number(row, "diameter_mm") for row in rows("coins")})


def coin(name: str) -> float:
    """Diameter of a coin, mm: ``1 euro``, ``US quarter``.

    Raises:
        UnknownName: when it is in no table.
    """
    return pick("coin", name, coins())
