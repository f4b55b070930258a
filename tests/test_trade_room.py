"""Hands, gaps, materials, paper: practice where there is no standard, standards where there is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.trade.clearances import (
    Control,
    Thing,
    allowance,
    board_side_gap,
    finger_gap,
    gap,
    needed_gap,
    spacer_for_leads,
    spanner_circle,
    vent_web,
    web,
    window_to_post,
)
from fit.trade.hands import (
    bend_runout,
    between_features,
    hand_work,
    hand_works,
    hole_position_error,
    unpunched_wander,
)
from fit.trade.materials import (
    HEAT_LOSS,
    LEAST_DRAFT,
    USUAL_DRAFT,
    ToleranceClass,
    cut_method,
    draft_from_widths,
    draft_shift,
    general_tolerance,
    growth,
    moulded_tolerance,
    plastic,
    plastics,
    warming,
)
from fit.trade.paper import PaperName, card, coin, coins, paper
from fit.trade.stacks import rss
from fit.trade.tables import Sure, UnknownName


@pytest.mark.parametrize(
    ("name", "error"),
    # Common practice, no source: plan 0.5 for a careful hole, 1.0 for a hasty one.
    [("careful", 0.5), ("freehand", 1.0), ("guided", 0.3)],
)
def test_hole_position_error(name: str, error: float) -> None:
    work = hand_work(name)
    assert hole_position_error(work) == pytest.approx(error, abs=0.05)
    assert hole_position_error(work) == pytest.approx(
        rss([work.marking, work.punching, work.drilling])
    )


def test_careful_hands() -> None:
    # Common practice, no source: saw 0.5, file 0.2, template 0.3, bend 1 degree, 0.7 mm at 40.
    work = hand_work("careful")
    assert (work.sawing, work.filing, work.marking, work.bending_deg) == (0.5, 0.2, 0.3, 1.0)
    assert 0.2 <= work.punching <= 0.3
    assert 0.5 <= work.snapping <= 1.0
    assert bend_runout(work, 40) == pytest.approx(0.7, abs=0.005)
    assert between_features(0.5) == pytest.approx(0.7, abs=0.01)
    # A makers' magazine: without a punch mark a bit may walk a quarter of its diameter.
    assert unpunched_wander(6.0) == 1.5


def test_better_hands_are_better_at_everything() -> None:
    assert list(hand_works()) == ["freehand", "careful", "guided"]
    free, careful, guided = hand_works().values()
    for field in type(free).__dataclass_fields__:
        assert getattr(free, field) > getattr(careful, field) > getattr(guided, field)


@pytest.mark.parametrize(
    ("a", "b", "mm"),
    [
        (Thing.BOARD, Thing.WALL, 1.0),  # a question page on box tolerances
        (Thing.PART, Thing.LID, 1.5),  # the rest common practice, no source
        (Thing.LIVE, Thing.METAL, 3.0),
        (Thing.PART, Thing.PART, 1.0),
        (Thing.BOARD, Thing.POST, 1.0),
        (Thing.BOARD, Thing.PART, 1.0),
        (Thing.LEADS, Thing.FLOOR, 1.0),
        (Thing.NUT, Thing.NUT, 0.5),
        (Thing.PLUG, Thing.PLUG, 1.0),
        (Thing.CAP, Thing.EDGE, 0.5),
        (Thing.PLUG, Thing.WALL, 0.5),
    ],
)
def test_gaps(a: Thing, b: Thing, mm: float) -> None:
    assert needed_gap(a, b) == needed_gap(b, a) == mm
    assert gap(a, b).why


@given(st.sampled_from(Thing), st.sampled_from(Thing))
def test_every_pair_of_things_has_a_gap(a: Thing, b: Thing) -> None:
    assert needed_gap(a, b) == needed_gap(b, a)
    assert needed_gap(a, b) >= 0.5
    if Thing.LIVE in (a, b):
        assert needed_gap(a, b) == 3.0


def test_board_side_gap() -> None:
    # 1.0 each side, 1.5 in a rough box, 0.5 more for a board sawn by hand.
    assert board_side_gap() == 1.0
    assert board_side_gap(rough_box=True) == 1.5
    assert board_side_gap(rough_box=True, sawn_board=True) == 2.0


def test_bars_of_a_grille() -> None:
    # As thick as the sheet, as in perforated sheet; 1.5 at least.
    assert vent_web(1.0) == vent_web(1.5) == 1.5
    assert vent_web(2.5) == 2.5
    with pytest.raises(ValueError, match="above 0"):
        vent_web(-1.0)


def test_webs() -> None:
    # 1.5 wall thicknesses (a moulder's page), by hand never below 3 (common practice, no source).
    assert web(1.5) == web(2.0) == 3.0
    assert web(3.0) == 4.5
    with pytest.raises(ValueError, match="above 0"):
        web(0.0)


@pytest.mark.parametrize(
    ("a", "b", "mm"),
    [
        (Control.PUSH, Control.PUSH, 13),  # NUREG-0700 table 11.5
        (Control.TOGGLE, Control.TOGGLE, 19),
        (Control.TOGGLE, Control.SELECTOR, 19),
        (Control.PUSH, Control.TOGGLE, 13),  # MIL-STD-1472E table VII, one hand
        (Control.PUSH, Control.KNOB, 13),
        (Control.PUSH, Control.SELECTOR, 13),
        (Control.KNOB, Control.TOGGLE, 19),
        (Control.KNOB, Control.SELECTOR, 25),
        (Control.KNOB, Control.KNOB, 25),  # from memory
        (Control.SELECTOR, Control.SELECTOR, 25),  # from memory
    ],
)
def test_finger_gaps(a: Control, b: Control, mm: float) -> None:
    assert finger_gap(a, b) == finger_gap(b, a) == mm


def test_allowances() -> None:
    # Common practice, no source, but for the soldering standard's 2.29 as quoted.
    assert window_to_post() == 5.0
    assert spacer_for_leads(1.8) == pytest.approx(5.0)
    assert (allowance("panel-nut").mm, allowance("panel-nut-thin").mm) == (2.8, 2.0)
    assert (allowance("filter-ledge").mm, allowance("lid-wire").mm) == (3.0, 25.0)
    assert (allowance("driver-shank").mm, allowance("chuck").mm) == (7.0, 40.0)
    assert allowance("leads-below").mm == 2.29
    assert allowance("leads-below").sure is Sure.READ
    # A socket spanner on an M3 nut: corners 6.351 (ISO 4032) and 4 for its wall.
    assert spanner_circle(5.5) == pytest.approx(10.351, abs=1e-3)


@pytest.mark.parametrize(
    ("draft", "depth", "side"),
    # Trigonometry, worked by hand.
    [(0.5, 40, 0.3491), (1, 40, 0.6982), (1, 50, 0.8728), (1.5, 40, 1.0474), (2, 60, 2.0952)],
)
def test_draft(draft: float, depth: float, side: float) -> None:
    assert draft_shift(depth, draft) == pytest.approx(side, abs=6e-5)
    assert draft_from_widths(100, 100 - 2 * side, depth) == pytest.approx(draft, abs=1e-3)
    with pytest.raises(ValueError, match="above 0"):
        draft_from_widths(100, 99, 0)


def test_plastics() -> None:
    assert set(plastics()) >= {"ABS", "PC", "PS", "PMMA"}
    # Moulders' pages: half a degree at least, 1 usual; ABS 0 deg 30 to 1 deg 20.
    assert plastic("abs").draft == pytest.approx((0.5, 4 / 3), abs=0.005)
    # PC 30 minutes to 1 degree; PS and PMMA 35 minutes to 1 degree 30 (a moulder's table).
    assert plastic("PC").draft == (0.5, 1.0)
    assert plastic("PS").draft == plastic("PMMA").draft == pytest.approx((35 / 60, 1.5), abs=5e-4)
    for each in plastics().values():
        assert each.draft[0] >= LEAST_DRAFT
        assert each.draft[0] <= USUAL_DRAFT <= each.draft[1]
        assert each.growth[0] <= each.growth[1]
    # Polycarbonate, 1 m and 30 K: 2.1 mm (a sheet seller's example).
    assert growth("PC", 1000, 30) == pytest.approx(2.1)


@pytest.mark.parametrize(
    ("nominal", "fine", "medium", "coarse", "very"),
    [
        # ISO 2768-1:1989 table 1.
        (0.5, 0.05, 0.1, 0.2, None),
        (3, 0.05, 0.1, 0.2, None),
        (3.01, 0.05, 0.1, 0.3, 0.5),
        (30, 0.1, 0.2, 0.5, 1),
        (100, 0.15, 0.3, 0.8, 1.5),
        (400, 0.2, 0.5, 1.2, 2.5),
        (1000, 0.3, 0.8, 2, 4),
        (2000, 0.5, 1.2, 3, 6),
        (4000, None, 2, 4, 8),
    ],
)
def test_iso_2768(
    nominal: float, fine: float | None, medium: float, coarse: float, very: float | None
) -> None:
    found = [general_tolerance(nominal, grade) for grade in ToleranceClass]
    assert found == [fine, medium, coarse, very]


def test_sizes_outside_a_tolerance_table_are_refused() -> None:
    for nominal in (0.4, 4001, float("nan")):
        with pytest.raises(ValueError, match=r"0\.5 to 4000"):
            general_tolerance(nominal, ToleranceClass.FINE)
    for nominal in (0.0, 501, float("nan")):
        with pytest.raises(ValueError, match="above 0 to 500"):
            moulded_tolerance(nominal)


@pytest.mark.parametrize(
    ("low", "high"), [(3, 6), (6, 10), (18, 30), (50, 80), (80, 120), (180, 250), (400, 500)]
)
def test_moulded_tolerances_follow_iso_286(low: float, high: float) -> None:
    # ISO 286-1: i = 0.45 D^(1/3) + 0.001 D at the geometric mean, IT12 = 160 i, IT13 = 250 i.
    mean = math.sqrt(low * high)
    unit = (0.45 * mean ** (1 / 3) + 0.001 * mean) / 1000
    assert moulded_tolerance(high) == pytest.approx(80 * unit, rel=0.05)
    assert moulded_tolerance(high, across_parting=True) == pytest.approx(125 * unit, rel=0.05)


def test_cut_plastic() -> None:
    # A plastics workshop's guide for designers (plexisystem.pl).
    assert cut_method("laser cutting").plus_minus == (0.1, 0.1)
    assert cut_method("routing").plus_minus == (0.1, 0.2)
    assert cut_method("line bending").plus_minus == (0.5, 0.5)


def test_warming() -> None:
    # 0.34 and 0.5 W per square foot and degree Fahrenheit, converted.
    per_foot = 1 / 0.3048**2 / (5 / 9)
    low, high = HEAT_LOSS
    assert (low, high) == pytest.approx((0.34 * per_foot, 0.5 * per_foot), abs=0.02)
    # 0.5 W in a closed 57 x 70 x 33 box: a few kelvin.
    area = 2 * (57 * 70 + 57 * 33 + 70 * 33)
    low, high = warming(0.5, area)
    assert 3 < low < high < 5
    with pytest.raises(ValueError, match="above 0"):
        warming(1, 0)


@pytest.mark.parametrize(
    ("name", "w", "h"),
    [
        (PaperName.A3, 297, 420),  # ISO 216
        (PaperName.A4, 210, 297),
        (PaperName.A5, 148, 210),
        (PaperName.LETTER, 215.9, 279.4),  # 8.5 x 11 in
        (PaperName.LEGAL, 215.9, 355.6),  # 8.5 x 14 in
    ],
)
def test_paper(name: PaperName, w: float, h: float) -> None:
    found = paper(name)
    assert (found.w, found.h) == (w, h) == (paper(name.value.lower()).w, found.h)
    if name.value.startswith("A"):
        # ISO 216: sides as 1 to root 2; tolerance 1.5 to 150 mm, 2 to 600.
        assert h / w == pytest.approx(math.sqrt(2), rel=0.005)
        assert (found.w_plus_minus, found.h_plus_minus) == (1.5 if w <= 150 else 2.0, 2.0)
    else:
        assert found.w_plus_minus is None


def test_card() -> None:
    # ISO/IEC 7810 ID-1.
    found = card()
    assert (found.w, found.h, found.radius, found.thickness) == (85.60, 53.98, 3.18, 0.76)
    assert (found.radius_range, found.thickness_range) == ((2.88, 3.48), (0.68, 0.84))
    assert found.w == pytest.approx(3.370 * 25.4, abs=0.01)
    # Least and greatest edges, from memory.
    assert (found.w_range, found.h_range) == ((85.47, 85.72), (53.92, 54.03))


def test_coins() -> None:
    # European Central Bank and United States Mint, from memory.
    assert (coin("1 euro"), coin("2 euro"), coin("us quarter")) == (23.25, 25.75, 24.26)
    # The quarter is 0.955 in, the cent 0.75 in.
    assert coin("US quarter") == pytest.approx(0.955 * 25.4, abs=0.01)
    assert coin("US cent") == pytest.approx(0.75 * 25.4, abs=0.01)
    assert coin("US nickel") == pytest.approx(0.835 * 25.4, abs=0.01)
    assert coin("US dime") == pytest.approx(0.705 * 25.4, abs=0.01)
    cents = [coin(f"{n} euro cent") for n in (1, 2, 5, 10, 20, 50)]
    assert cents == [16.25, 18.75, 21.25, 19.75, 22.25, 24.25]
    assert len(coins()) == 12
    with pytest.raises(UnknownName):
        coin("3 euro")
