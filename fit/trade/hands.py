"""How far hand work strays. Common practice, no source, unless a line says otherwise."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fit.trade.tables import number, pick, rows


@dataclass(frozen=True, slots=True, kw_only=True)
class HandWork:
    """How far each operation may stray, mm either way.

    Attributes:
        marking: laying the paper template to its edge.
        punching: the punch beside the crossing.
        drilling: the bit beside the punch mark.
        sawing: a straight sawn edge beside its line.
        filing: a filed edge beside its line.
        snapping: a scored and snapped edge before it is filed.
        bending_deg: a bent strip beside its angle, degrees.
    """

    marking: float
    punching: float
    drilling: float
    sawing: float
    filing: float
    snapping: float
    bending_deg: float


@cache
def hand_works() -> Mapping[str, HandWork]:
    """The known ways of working by name (table hands)."""
    return MappingProxyType({row["name"]: _read(row) for row in rows("hands")})


def hand_work(name: str) -> HandWork:
    """A way of working: ``freehand``, ``careful`` or ``guided``.

    Raises:
        UnknownName: for any other name.
    """
    return pick("way of working", name, hand_works())


def hole_position_error(work: HandWork) -> float:
    """How far a drilled hole strays from its mark, mm either way.

    Root sum of squares of marking, punching and drilling: about 0.5 careful, 1.0 freehand, 0.3
    guided.
    """
    return math.hypot(work.marking, work.punching, work.drilling)


def between_features(error: float) -> float:
    """How far two features made independently stray from each other, mm: 0.5 each gives 0.7."""
    return math.hypot(error, error)


def unpunched_wander(bit: float) -> float:
    """How far a twist bit may walk without punch mark or pilot, mm: a quarter of its diameter.

    Source: a makers' magazine on drilling, read.
    """
    return bit / 4


def bend_runout(work: HandWork, height: float) -> float:
    """How far the end of a bent strip of this height stands off, mm: 1 degree gives 0.7 at 40."""
    return height * math.tan(math.radians(work.bending_deg))


def _read(row: Mapping[str, str]) -> HandWork:
    return HandWork(
        marking=number(row, "marking"),
        punching=number(row, "punching"),
        drilling=number(row, "drilling"),
        sawing=number(row, "sawing"),
        filing=number(row, "filing"),
        snapping=number(row, "snapping"),
        bending_deg=number(row, "bending_deg"),
    )
