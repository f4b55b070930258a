"""Odds: how likely a thing goes together when it is cut for the first time.

Two ways. `with_odds` reads them off each finding's room and spread by a normal distribution, in no
time. `fit.check.odds_sample.sample` makes many hand-made copies, measures each with the rules, and
counts. Margins in the report keep the comfortable needs; odds speak of failing, by the limits in
:mod:`fit.check.odds_limits`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from fit.check.odds_limits import limit_of
from fit.check.rule import Inspection, spread_of
from fit.findings import Finding
from fit.findings.finding import ROUNDING
from fit.geometry.scene import Role, Scene
from fit.trade.drills import OVERSIZE

SIGMAS: Final = 2.0
"""A ± (and a finding's spread) is this many standard deviations."""

LEAST_SPREAD: Final = 0.1
"""No gap is taken truer than this, mm: two moulded sizes of some 20 mm (half of IT12 each)."""

_TRUE: Final = 0.05
"""No size on its own is taken truer than this, mm: a moulded one of 3 mm."""


def normal_share(z: float) -> float:
    """Share of a normal distribution below z standard deviations."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def odds_of(left: float, spread: float) -> float:
    """The chance that what is left (mm) stays above 0 when it may be off by ± spread (mm)."""
    sigma = spread / SIGMAS
    if sigma <= 0.0:
        return 1.0 if left >= -ROUNDING else 0.0
    return normal_share(left / sigma)


def with_odds(scene: Scene, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings with their odds, from room and spread alone. Advice keeps None."""
    look = Inspection(scene)
    return tuple(replace(f, odds=_quick(look, f)) for f in findings)


def _quick(look: Inspection, found: Finding) -> float | None:
    limit = limit_of(found.rule)
    if limit is None:
        return None
    if found.rule in ("order", "place"):
        return odds_of(found.margin, found.spread)
    spread = max(found.spread, _TRUE if limit.need is None else LEAST_SPREAD)
    if found.rule == "joint-square":
        spread = spread_of(found.spread, found.need)  # how far it leans is its need
    if found.rule == "nose-holes":
        spread = spread_of(found.spread, 2 * look.error)  # its need is how far it strays
    if found.rule in ("window-view", "window-border"):
        spread = spread_of(look.error, found.spread / 2)
    if found.rule == "screw-holes":
        return _all_in(look, found)
    return odds_of(limit.left(look, found), spread)


def _all_in(look: Inspection, found: Finding) -> float:
    """The chance that a group of n screws finds its holes: (1 − exp(−r²/2σ²)) for n − 1 of them.

    r is half the play (with what a drill adds on average), σ how far a hole strays along an axis
    once the part has been pushed and turned to its best: three of the 2·n freedoms are used up.
    """
    count = sum(o.part == found.about[0] and o.role is Role.SCREW for o in look.scene.openings)
    if found.have <= 0 or count < 2:
        return 0.0 if found.have < -ROUNDING else 1.0
    radius = (found.have + OVERSIZE / 2) / 2
    sigma = math.hypot(look.hands.punching, look.hands.drilling) / SIGMAS
    sigma *= math.sqrt(1.0 - 1.5 / count)
    return float((1.0 - math.exp(-(radius**2) / (2 * sigma**2))) ** (count - 1))
