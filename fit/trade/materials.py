"""Plastics and moulded boxes: lean, growth with warmth, tolerances, warming. mm, degrees, K, W."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import Sure, number, number_or_none, pick, rows

USUAL_DRAFT: Final = 1.0
"""Usual draft of a moulded wall, degrees per side (a moulder's design page, read)."""

LEAST_DRAFT: Final = 0.5
"""Least draft of a moulded wall, degrees per side (the same page)."""

HEAT_LOSS: Final = (6.6, 9.7)
"""Heat a closed box gives off, W per m^2 and K, least and most: 0.34 to 0.5 W per square foot and
degree Fahrenheit of two pages on steel cabinets, converted; plastic is taken as alike."""


class ToleranceClass(StrEnum):
    """Classes of ISO 2768-1."""

    FINE = "fine"
    MEDIUM = "medium"
    COARSE = "coarse"
    VERY_COARSE = "very_coarse"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plastic:
    """A plastic: usual draft and growth with warmth, each from least to most."""

    name: str
    full_name: str
    draft: tuple[float, float]
    growth: tuple[float, float]
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class CutMethod:
    """How true a way of working plastic sheet comes out, mm either way, from least to most."""

    method: str
    plus_minus: tuple[float, float]


@cache
def plastics() -> Mapping[str, Plastic]:
    """Plastics by short name (table plastics)."""
    return MappingProxyType(
        {
            row["name"]: Plastic(
                name=row["name"],
                full_name=row["full_name"],
                draft=(number(row, "draft_least_deg"), number(row, "draft_most_deg")),
                growth=(number(row, "growth_low_per_k"), number(row, "growth_high_per_k")),
                sure=Sure(row["sure"]),
            )
            for row in rows("plastics")
        }
    )


def plastic(name: str) -> Plastic:
    """A plastic by short name: ``ABS``, ``PC``, ``PS``, ``PMMA``, ``PA``, ``PP``.

    Raises:
        UnknownName: when the table has no such plastic.
    """
    return pick("plastic", name, plastics())


def draft_shift(depth: float, draft_deg: float) -> float:
    """How far a leaning wall moves in over a depth, mm per side: depth * tan(draft)."""
    return depth * math.tan(math.radians(draft_deg))


def draft_from_widths(at_rim: float, at_floor: float, depth: float) -> float:
    """Draft per side, degrees, from inside widths at rim and floor and the depth between.

    Raises:
        ValueError: when the depth is not above 0.
    """
    if not depth > 0:
        raise ValueError(f"the depth between two widths must be above 0, not {depth}")
    return math.degrees(math.atan((at_rim - at_floor) / (2 * depth)))


def growth(name: str, length: float, kelvin: float) -> float:
    """How much a plastic length grows with warmth at most, mm: alpha * L * dT.

    Raises:
        UnknownName: when the table has no such plastic.
    """
    return plastic(name).growth[1] * length * kelvin


def general_tolerance(nominal: float, grade: ToleranceClass) -> float | None:
    """Permissible deviation of a length, mm either way (ISO 2768-1 table 1).

    Returns:
        The deviation, or None where the class has none for the length.

    Raises:
        ValueError: when the length is outside the table, 0.5 to 4000 mm.
    """
    table = rows("general_tolerances")
    if nominal == number(table[0], "over_mm"):
        return number_or_none(table[0], f"{grade.value}_mm")
    for row in table:
        if number(row, "over_mm") < nominal <= number(row, "to_mm"):
            return number_or_none(row, f"{grade.value}_mm")
    raise ValueError(f"general tolerances go from 0.5 to 4000 mm, not {nominal}")


def moulded_tolerance(nominal: float, *, across_parting: bool = False) -> float:
    """How far a moulded size may be off, mm either way; for orientation only.

    Half of IT12, or of IT13 across the parting of the mould (ISO 286-1, from memory). That
    moulders keep to these grades is a low-confidence guess, never a pass or fail figure.

    Raises:
        ValueError: when the length is outside the table, above 0 to 500 mm.
    """
    for row in rows("moulded_tolerances"):
        if number(row, "over_mm") < nominal <= number(row, "to_mm"):
            return number(row, "it13_um" if across_parting else "it12_um") / 2000
    raise ValueError(f"moulded tolerances go from above 0 to 500 mm, not {nominal}")


@cache
def cut_methods() -> Mapping[str, CutMethod]:
    """Ways of working plastic sheet by name (table cut_plastic)."""
    return MappingProxyType(
        {
            row["method"]: CutMethod(
                method=row["method"], plus_minus=(number(row, "from_mm"), number(row, "to_mm"))
            )
            for row in rows("cut_plastic")
        }
    )


def cut_method(name: str) -> CutMethod:
    """How true a way of working plastic sheet comes out, such as ``laser cutting``.

    Raises:
        UnknownName: when the table has no such way.
    """
    return pick("way of working plastic", name, cut_methods())


def warming(watts: float, area_mm2: float) -> tuple[float, float]:
    """How much warmer than the room a closed box gets, K, least and most: P / (U A).

    Args:
        watts: heat made inside, W.
        area_mm2: outside of the box that air can reach, mm^2.

    Raises:
        ValueError: when the area is not above 0 or the heat is below 0.
    """
    if not (area_mm2 > 0 and watts >= 0):
        raise ValueError("the area must be above 0 and the heat not below")
    low, high = HEAT_LOSS
    per_kelvin = area_mm2 * 1e-6
    return watts / (high * per_kelvin), watts / (low * per_kelvin)
