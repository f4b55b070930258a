"""How long a strip must be so that it has its size once it is bent.

Source: Machinery's Handbook, allowances for bends in sheet metal (table bends, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import number, pick, rows

USUAL: Final = "half-hard brass and copper and soft steel and aluminium"
"""What brackets are made of unless somebody knows better."""


@cache
def k_factors() -> Mapping[str, float]:
    """K factor by material: depth of the layer that keeps its length, in thicknesses."""
    return MappingProxyType(
        {row["material"]: number(row, "share") / (math.pi / 2) for row in rows("bends")}
    )


def k_factor(material: str = USUAL) -> float:
    """The K factor of a material.

    Raises:
        UnknownName: when the table does not list it.
    """
    return pick("material to bend", material, k_factors())


def bend_allowance(angle: float, radius: float, thickness: float, k: float) -> float:
    """Length of strip a bend takes, mm: angle · (r + K·t), the angle in radians.

    Args:
        angle: by which it is bent, degrees, above 0 to 180.
        radius: inside, mm.
        thickness: of the strip, mm.
        k: K factor, 0 to 0.5.

    Raises:
        ValueError: when a value is out of range.
    """
    if not (0 < angle <= 180 and radius >= 0 and thickness > 0 and 0 <= k <= 0.5):
        raise ValueError("a bend has an angle to 180°, a thickness, a radius and K up to 0.5")
    return math.radians(angle) * (radius + k * thickness)


def flat_length(leg: float, other: float, radius: float, thickness: float, k: float) -> float:
    """Length of the strip for a right angle whose legs are given by their outside lengths, mm.

    Raises:
        ValueError: when a value is out of range or a leg ends within the bend.
    """
    bend = radius + thickness
    if min(leg, other) <= bend:
        raise ValueError(f"a leg of {min(leg, other):g} mm ends within its bend of {bend:g} mm")
    return leg + other - 2 * bend + bend_allowance(90.0, radius, thickness, k)
