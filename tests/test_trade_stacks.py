"""Stacks and fasteners against published worked examples; a stack also against dice."""

from __future__ import annotations

import math
import random
import statistics

import pytest

from fit.trade.screws import Fit273, clearance_hole
from fit.trade.stacks import (
    fixed_hole,
    fixed_zone,
    floating_hole,
    floating_zone,
    inflated,
    pitch_error_allowed,
    rss,
    worst_case,
    zone_from_radial,
    zone_from_square,
)


@pytest.mark.parametrize(
    ("terms", "worst", "root"),
    [
        # Methods: F. Scholz, Tolerance Stack Analysis Methods, Boeing 1995.
        ([0.1] * 10, 1.0, 0.3162),  # ten equal parts, a published example
        ([0.2, 0.1, 0.15], 0.45, 0.2693),  # three parts making 17.00 +-0.27, a published example
        ([0.1, 0.5], 0.6, 0.5099),  # laser cut, then bent acrylic (plexisystem.pl, worst case)
        ([0.3, 0.2, 0.5, 0.3], 1.3, 0.6856),  # box, board, marking, drilling; arithmetic
        ([0.5, 0.5], 1.0, 0.7071),  # arithmetic
        ([], 0.0, 0.0),
        ([-0.3, 0.4], 0.7, 0.5),  # arithmetic; the way a term strays does not matter
    ],
)
def test_stacks(terms: list[float], worst: float, root: float) -> None:
    assert worst_case(terms) == pytest.approx(worst, abs=6e-5)
    assert rss(terms) == pytest.approx(root, abs=6e-5)
    assert rss(terms) <= worst_case(terms) + 1e-12


def test_inflated_stack() -> None:
    # 1.5 times the root sum of squares of the box, board, marking, drilling example.
    assert inflated([0.3, 0.2, 0.5, 0.3]) == pytest.approx(1.0283, abs=6e-5)
    assert inflated([0.3, 0.4], 1.2) == pytest.approx(0.6)


def test_independent_parts_stray_by_the_root_of_squares() -> None:
    dice = random.Random(7)
    terms = [0.3, 0.2, 0.5, 0.3]
    sums = [sum(dice.gauss(0, term) for term in terms) for _ in range(20_000)]
    assert statistics.stdev(sums) == pytest.approx(rss(terms), rel=0.03)


@pytest.mark.parametrize(
    ("f", "h", "each_floating", "each_fixed"),
    [
        (6.0, 6.44, 0.44, 0.22),  # the example of ASME Y14.5's appendix
        (3.0, 3.4, 0.4, 0.2),  # M3 in its ISO 273 medium hole; arithmetic
        (4.0, 4.5, 0.5, 0.25),  # M4
        (2.5, 2.9, 0.4, 0.2),  # M2.5
    ],
)
def test_fasteners(f: float, h: float, each_floating: float, each_fixed: float) -> None:
    assert floating_zone(h, f) == pytest.approx(each_floating)
    assert fixed_zone(h, f) == pytest.approx(each_fixed)
    assert floating_hole(f, each_floating) == pytest.approx(h)
    assert fixed_hole(f, each_fixed, each_fixed) == pytest.approx(h)


def test_hand_marked_panels() -> None:
    # Derived from the formulas of ASME Y14.5's appendix.
    assert fixed_hole(3.0, 1.0, 0.2) == pytest.approx(4.2)
    assert floating_hole(3.0, zone_from_radial(0.5)) == pytest.approx(4.0)
    assert zone_from_square(0.5) == pytest.approx(1.4142, abs=6e-5)
    assert floating_hole(3.0, zone_from_square(0.5)) == pytest.approx(4.4142, abs=6e-5)
    assert pitch_error_allowed(3.4, 3.0) == pytest.approx(0.4)


def test_a_screw_passes_two_floating_holes_drilled_at_their_worst() -> None:
    hole, screw = clearance_hole("M3", Fit273.COARSE), 3.0
    off = floating_zone(hole, screw) / 2
    # Holes off by the zone's radius in opposite ways leave a lens exactly the screw wide.
    assert hole - 2 * off == pytest.approx(screw)
    assert math.isclose(zone_from_radial(off), floating_zone(hole, screw))
