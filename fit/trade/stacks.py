"""Adding up uncertainties, and how large a hole must be so that a screw finds it.

Sources: F. Scholz, *Tolerance Stack Analysis Methods*, Boeing Information & Support Services,
1995; ASME Y14.5, appendix on floating and fixed fasteners.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

INFLATION: Final = 1.5
"""Usual factor on a root sum of squares (Bender; from memory. Published pages give 1.2 to 1.5)."""


def worst_case(terms: Iterable[float]) -> float:
    """Sum of the terms' sizes (half widths, mm): everything strays the same way at once."""
    return math.fsum(abs(term) for term in terms)


def rss(terms: Iterable[float]) -> float:
    """Root of the sum of squares of the terms (half widths, mm): they stray independently."""
    return math.hypot(*terms)


def inflated(terms: Iterable[float], factor: float = INFLATION) -> float:
    """Root of the sum of squares times ``factor``, for terms that are not quite independent."""
    return factor * rss(terms)


def floating_hole(fastener: float, zone: float) -> float:
    """Smallest hole, mm, when both parts have clearance holes: H = F + T.

    Args:
        fastener: largest diameter of the screw, mm.
        zone: diameter of the zone a hole's centre lies in, mm (see `zone_from_radial`).
    """
    return fastener + zone


def floating_zone(hole: float, fastener: float) -> float:
    """Diameter of the zone each hole may lie in, both parts with clearance holes: T = H - F, mm."""
    return hole - fastener


def fixed_hole(fastener: float, zone_of_hole: float, zone_of_thread: float) -> float:
    """Smallest hole, mm, when the other part holds the screw: H = F + T1 + T2."""
    return fastener + zone_of_hole + zone_of_thread


def fixed_zone(hole: float, fastener: float) -> float:
    """Diameter of the zone for hole and for thread, equally shared: T = (H - F) / 2, mm."""
    return (hole - fastener) / 2


def zone_from_radial(error: float) -> float:
    """Diameter of the zone, mm, of a mark that strays at most ``error`` in any direction."""
    return 2 * error


def zone_from_square(error: float) -> float:
    """Diameter of the zone, mm, of a mark that strays ``error`` across and ``error`` up."""
    return 2 * math.sqrt(2) * error


def pitch_error_allowed(hole: float, fastener: float) -> float:
    """Largest error of the distance of two clearance holes over two fixed studs, mm: H - F."""
    return hole - fastener
