"""Refraction against worked values and against least time, which knows nothing of Snell."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.trade.optics import (
    angle_in_plate,
    apparent_depth,
    bare_shift,
    critical_angle,
    grazing_shift,
    index_at,
    legend_height,
    refractive_index,
    shift,
    view_angle,
)
from fit.trade.tables import UnknownName

# Worked from the law of refraction with handbook indices (PMMA 1.49, PC 1.585):
# material, plate mm, air gap mm, view angle, angle in plate, shift per side, the same depth bare.
WORKED = [
    ("PMMA", 3, 2, 15, 10.003, 1.0651, 1.3397),
    ("PMMA", 3, 2, 30, 19.607, 2.2234, 2.8868),
    ("PMMA", 3, 2, 45, 28.331, 3.6174, 5.0000),
    ("PMMA", 3, 2, 60, 35.537, 5.6069, 8.6603),
    ("PMMA", 2, 3, 15, 10.003, 1.1566, 1.3397),
    ("PMMA", 2, 3, 30, 19.607, 2.4445, 2.8868),
    ("PMMA", 2, 3, 45, 28.331, 4.0783, 5.0000),
    ("PMMA", 2, 3, 60, 35.537, 6.6247, 8.6603),
    ("PC", 3, 2, 15, 9.398, 1.0324, 1.3397),
    ("PC", 3, 2, 30, 18.388, 2.1520, 2.8868),
    ("PC", 3, 2, 45, 26.495, 3.4954, 5.0000),
    ("PC", 3, 2, 60, 33.120, 5.4212, 8.6603),
    ("PMMA", 2, 0, 15, 10.003, 0.3528, 0.5359),
    ("PMMA", 2, 0, 30, 19.607, 0.7125, 1.1547),
    ("PMMA", 2, 0, 45, 28.331, 1.0783, 2.0000),
    ("PMMA", 2, 0, 60, 35.537, 1.4285, 3.4641),
]


@pytest.mark.parametrize(("material", "plate", "air", "view", "inside", "moved", "bare"), WORKED)
def test_worked_examples(
    material: str, plate: float, air: float, view: float, inside: float, moved: float, bare: float
) -> None:
    n = refractive_index(material)
    assert angle_in_plate(view, n) == pytest.approx(inside, abs=6e-4)
    assert shift(view, plate, n, air) == pytest.approx(moved, abs=6e-5)
    assert bare_shift(view, plate, air) == pytest.approx(bare, abs=6e-5)


@given(st.floats(1, 80), st.floats(0.5, 6), st.floats(1.2, 1.9), st.floats(0.1, 10))
def test_light_takes_the_quickest_way(view: float, plate: float, n: float, air: float) -> None:
    """Fermat: moving where the ray leaves the plate, either way, makes it later for a far eye."""
    off = shift(view, plate, n, air)
    in_air = air * math.tan(math.radians(view))

    def lateness(enters: float, leaves: float) -> float:
        through_air = math.hypot(air, enters)
        through_plate = n * math.hypot(plate, leaves - enters)
        return through_air + through_plate - leaves * math.sin(math.radians(view))

    best = lateness(in_air, off)
    for nudge in (-1e-3, 1e-3):
        assert lateness(in_air, off + nudge) > best
        assert lateness(in_air + nudge, off) > best


@given(st.floats(0, 89), st.floats(0, 6), st.floats(1.0, 1.9), st.floats(0, 10))
def test_a_plate_never_widens_the_view(view: float, plate: float, n: float, air: float) -> None:
    assert shift(view, plate, n, air) <= bare_shift(view, plate, air) + 1e-9


def test_published_indices() -> None:
    # refractiveindex.info, Sultanova 2009: 1.4906 and 1.5848 at the helium d line.
    assert index_at("PMMA") == pytest.approx(1.4906, abs=6e-5)
    assert index_at("PC") == pytest.approx(1.5848, abs=6e-5)
    for material in ("PMMA", "PC"):
        assert index_at(material) == pytest.approx(refractive_index(material), abs=1e-3)
        # Blue is bent more than red.
        assert index_at(material, 0.45) > index_at(material, 0.65)
    assert refractive_index("glass") == 1.52
    with pytest.raises(UnknownName, match="PMMA, PC"):
        index_at("glass")
    with pytest.raises(ValueError, match="visible"):
        index_at("PMMA", 0.1)


def test_limits() -> None:
    # asin(1 / n): 42.155 for 1.49, 39.118 for 1.585.
    assert critical_angle(1.49) == pytest.approx(42.155, abs=6e-4)
    assert critical_angle(1.585) == pytest.approx(39.118, abs=6e-4)
    # The ray inside at a grazing view is the critical one.
    assert shift(89.999, 3, 1.49, 0) == pytest.approx(grazing_shift(3, 1.49), abs=1e-4)
    # Near the normal a display seems to lie t / n + g deep.
    assert shift(0.01, 3, 1.49, 2) / math.tan(math.radians(0.01)) == pytest.approx(
        apparent_depth(3, 1.49, 2), abs=1e-6
    )


def test_view_angle_worked_example() -> None:
    # x 32.25 seen from 500: 3.690 degrees.
    assert view_angle(32.25, 500) == pytest.approx(3.690, abs=6e-4)
    assert view_angle(-32.25, 500) == view_angle(32.25, 500)


@pytest.mark.parametrize(
    ("distance", "minutes", "height"),
    # NUREG-0700 formula at 350, 500 and 700 mm, 16 and 20 minutes.
    [
        (350, 16, 1.6),
        (500, 16, 2.3),
        (700, 16, 3.3),
        (350, 20, 2.0),
        (500, 20, 2.9),
        (700, 20, 4.1),
    ],
)
def test_legend_height(distance: float, minutes: float, height: float) -> None:
    assert legend_height(distance, minutes) == pytest.approx(height, abs=0.05)
    # The exact arc agrees with the formula's small angle.
    arc = 2 * distance * math.tan(math.radians(minutes / 120))
    assert legend_height(distance, minutes) == pytest.approx(arc, rel=1e-5)


def test_impossible_views_are_refused() -> None:
    for angle in (-1.0, 90.0, float("nan")):
        with pytest.raises(ValueError, match="view angle"):
            shift(angle, 3, 1.49, 2)
        with pytest.raises(ValueError, match="view angle"):
            bare_shift(angle, 3, 2)
    with pytest.raises(ValueError, match="index"):
        shift(30, 3, 0.9, 2)
    with pytest.raises(ValueError, match="below 0"):
        shift(30, -1, 1.49, 2)
    with pytest.raises(ValueError, match="above 1"):
        grazing_shift(3, 1.0)
    with pytest.raises(ValueError, match="before the panel"):
        view_angle(10, 0)
    with pytest.raises(ValueError, match="above 0"):
        legend_height(0)
