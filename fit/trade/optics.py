"""What is seen through a window: refraction, view angle, height of legends.

Formulas: the law of refraction (any optics text); legend height from NUREG-0700.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import Sure, UnknownName, number, number_or_none, pick, rows

YELLOW: Final = 0.5876
"""Wavelength at which indices are quoted, micrometres (helium d line)."""

LEGEND_MINUTES: Final = 20.0
"""Preferred height of a legend, minutes of arc; 16 at least (NUREG-0700)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearMaterial:
    """A clear material: handbook index, and Sellmeier coefficients where published."""

    name: str
    index: float
    sellmeier_b: float | None
    sellmeier_c: float | None
    sure: Sure


@cache
def clear_materials() -> Mapping[str, ClearMaterial]:
    """Clear materials by name (table indices)."""
    return MappingProxyType(
        {
            row["material"]: ClearMaterial(
                name=row["material"],
                index=number(row, "index"),
                sellmeier_b=number_or_none(row, "sellmeier_b"),
                sellmeier_c=number_or_none(row, "sellmeier_c"),
                sure=Sure(row["sure"]),
            )
            for row in rows("indices")
        }
    )


def refractive_index(material: str) -> float:
    """Handbook index of a clear material: ``PMMA``, ``PC``, ``glass``, ``air``.

    Raises:
        UnknownName: for any other material.
    """
    return pick("clear material", material, clear_materials()).index


def index_at(material: str, wavelength: float = YELLOW) -> float:
    """Index at a wavelength in micrometres (one-term Sellmeier, table indices).

    Raises:
        UnknownName: when the material is unknown or has no published coefficients.
        ValueError: when the wavelength is outside visible light, 0.38 to 0.78.
    """
    if not 0.38 <= wavelength <= 0.78:
        raise ValueError(f"{wavelength} micrometres is not visible light (0.38 to 0.78)")
    entry = pick("clear material", material, clear_materials())
    if entry.sellmeier_b is None or entry.sellmeier_c is None:
        known = [m.name for m in clear_materials().values() if m.sellmeier_b is not None]
        raise UnknownName("material with Sellmeier coefficients", material, known)
    squared = wavelength**2
    return math.sqrt(1 + entry.sellmeier_b * squared / (squared - entry.sellmeier_c))


def angle_in_plate(view_angle_deg: float, index: float) -> float:
    """Angle of the ray inside a plate, degrees from its normal: sin(view) = n sin(inside).

    Raises:
        ValueError: when the angle is not 0 to below 90, or the index is below 1.
    """
    _check(view_angle_deg, index)
    return math.degrees(math.asin(math.sin(math.radians(view_angle_deg)) / index))


def shift(view_angle_deg: float, plate: float, index: float, air_gap: float) -> float:
    """How far the line of sight moves sideways from plate face to display, mm.

    ``plate * tan(asin(sin(a) / n)) + air_gap * tan(a)``: a window masked on the plate's outer
    face must be larger than what it shows by this much on each side.

    Args:
        view_angle_deg: angle of view from the panel's normal, 0 to below 90.
        plate: thickness of the clear plate, mm.
        index: its refractive index.
        air_gap: from plate to display, mm.

    Raises:
        ValueError: when an angle, index or length is out of range.
    """
    _check(view_angle_deg, index, plate, air_gap)
    inside = math.asin(math.sin(math.radians(view_angle_deg)) / index)
    return plate * math.tan(inside) + air_gap * math.tan(math.radians(view_angle_deg))


def bare_shift(view_angle_deg: float, wall: float, air_gap: float) -> float:
    """As `shift` for a bare hole in an opaque wall: ``(wall + air_gap) * tan(a)``, mm.

    Raises:
        ValueError: when an angle or length is out of range.
    """
    return shift(view_angle_deg, wall, 1.0, air_gap)


def apparent_depth(plate: float, index: float, air_gap: float) -> float:
    """How deep a display seems to lie behind a plate, seen straight on, mm: t / n + g.

    Raises:
        ValueError: when the index or a length is out of range.
    """
    _check(0.0, index, plate, air_gap)
    return plate / index + air_gap


def grazing_shift(plate: float, index: float) -> float:
    """The most a plate alone moves the line of sight, mm: t / sqrt(n^2 - 1).

    Raises:
        ValueError: when the index is not above 1 or the thickness is below 0.
    """
    _check(0.0, index, plate)
    if index <= 1:
        raise ValueError("a plate's index must be above 1")
    return plate / math.sqrt(index**2 - 1)


def critical_angle(index: float) -> float:
    """Angle from the normal beyond which light stays inside a plate, degrees: asin(1 / n).

    Raises:
        ValueError: when the index is below 1.
    """
    _check(0.0, index)
    return math.degrees(math.asin(1 / index))


def view_angle(offset: float, distance: float) -> float:
    """Angle of view, degrees, to a point ``offset`` mm from the foot of the eye's normal.

    Args:
        offset: from the point straight before the eye, mm.
        distance: from eye to panel, mm.

    Raises:
        ValueError: when the distance is not above 0.
    """
    if not distance > 0:
        raise ValueError(f"the eye must be before the panel, not at {distance} mm")
    return math.degrees(math.atan(abs(offset) / distance))


def legend_height(distance: float, minutes: float = LEGEND_MINUTES) -> float:
    """Height of lettering, mm, that fills so many minutes of arc at a distance in mm.

    H = 6.283 D M / 21600 (NUREG-0700).

    Raises:
        ValueError: when a value is not above 0.
    """
    if not (distance > 0 and minutes > 0):
        raise ValueError("distance and minutes of arc must be above 0")
    return 2 * math.pi * distance * minutes / 21600


def _check(view_angle_deg: float, index: float, *lengths: float) -> None:
    if not 0 <= view_angle_deg < 90:
        raise ValueError(f"a view angle is 0 to below 90 degrees, not {view_angle_deg}")
    if not (math.isfinite(index) and index >= 1):
        raise ValueError(f"a refractive index is at least 1, not {index}")
    if not all(math.isfinite(length) and length >= 0 for length in lengths):
        raise ValueError("thickness and gap must not be below 0")
