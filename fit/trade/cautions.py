"""Short cautions for work that can hurt. They defer to local rules and licensed people."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from fit.trade.tables import rows


class Danger(StrEnum):
    """What a caution is about."""

    DRILLS = "drills"
    BLADES = "blades"
    FILES = "files"
    DUST = "dust"
    SOLVENT = "solvent"
    HEAT = "heat"
    MAINS = "mains"
    EARTH = "earth"
    METAL_BOX = "metal-box"
    LITHIUM = "lithium"
    HOT_PARTS = "hot-parts"
    WATER = "water"


@cache
def cautions() -> Mapping[Danger, str]:
    """Every caution, in the table's order."""
    return MappingProxyType({Danger(row["topic"]): row["text"] for row in rows("cautions")})


def caution(danger: Danger) -> str:
    """The caution about one danger: a few plain sentences."""
    return cautions()[danger]
