"""Drills against the published series; bits and passes against bench practice."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.trade.drills import (
    FILE_AT_MOST,
    OVERSIZE,
    BoxedSet,
    Step,
    StepBit,
    Tool,
    boxed_set,
    drill_named,
    fractional_drills,
    hole_for_bushing,
    hole_steps,
    jobber_length,
    letter_drills,
    metric_jobber,
    nearest_bit_at_least,
    number_drills,
    panel_thread,
    panel_threads,
)
from fit.trade.openings import chain, corner_bit
from fit.trade.tables import Sure

DRILL, STEP_BIT, FILE, SAW = Tool.DRILL, Tool.STEP_BIT, Tool.FILE, Tool.SAW
SMALL_KIT = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
CONE = StepBit(sizes=tuple(float(d) for d in range(4, 21, 2)), height=5.0)


def test_metric_drills_follow_the_rule_of_bs_328() -> None:
    # BS 328 (same preferred sizes in ISO 235, DIN 338), rule as printed in an encyclopedia.
    hundredths = [
        *(tens + last for tens in range(20, 100, 10) for last in (0, 2, 5, 8)),
        *range(100, 300, 5),
        *range(300, 1400, 10),
        *range(1400, 2501, 25),
    ]
    assert metric_jobber() == tuple(size / 100 for size in hundredths)
    assert len(metric_jobber()) == 227


@pytest.mark.parametrize(
    ("size", "long"), [(1, 34), (2, 49), (2.5, 57), (3, 61), (3.2, 65), (3.5, 70), (4, 75), (5, 86)]
)
def test_jobber_drills_are_as_long_as_din_338_has_them(size: float, long: float) -> None:
    # DIN 338 (ISO 235), overall lengths, from memory.
    assert jobber_length(size) == long


def test_a_jobber_drill_between_two_sizes_and_beyond_the_table() -> None:
    # DIN 338: above 2.12 up to 2.36 mm 53; a 10 mm one is 133, so 93 is short, on the safe side.
    assert [jobber_length(d) for d in (2.12, 2.13, 2.36, 2.37)] == [49, 53, 53, 57]
    assert jobber_length(10) == 93


def test_boxed_sets() -> None:
    # Common shop sets, from memory.
    assert boxed_set(BoxedSet.PIECES_19) == tuple(n / 2 for n in range(2, 21))
    assert boxed_set(BoxedSet.PIECES_25) == tuple(n / 2 for n in range(2, 27))
    assert boxed_set(BoxedSet.PIECES_50) == tuple(n / 10 for n in range(10, 60))
    assert boxed_set(BoxedSet.PIECES_41) == tuple(n / 10 for n in range(60, 101))


@pytest.mark.parametrize(
    ("name", "inch"),
    [
        # ANSI B94.11M, four decimals.
        ("#1", 0.2280),
        ("#5", 0.2055),
        ("#7", 0.2010),
        ("#10", 0.1935),
        ("#18", 0.1695),
        ("#25", 0.1495),
        ("#28", 0.1405),
        ("#43", 0.0890),
        ("#60", 0.0400),
        ("#69", 0.0292),
        ("#80", 0.0135),
        ("A", 0.234),
        ("F", 0.257),
        ("Q", 0.332),
        ("Z", 0.413),
        ("1/64", 1 / 64),
        ("1/8", 0.125),
        ("7/16", 0.4375),
        ("1", 1.0),
    ],
)
def test_inch_drills(name: str, inch: float) -> None:
    assert drill_named(name) == pytest.approx(inch * 25.4, abs=1e-9)


def test_inch_series_are_complete_and_in_order() -> None:
    numbers = number_drills()
    assert list(numbers) == [f"#{n}" for n in range(1, 81)]
    assert sorted(numbers.values(), reverse=True) == list(numbers.values())
    assert "".join(letter_drills()) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    assert sorted(letter_drills().values()) == list(letter_drills().values())
    assert len(fractional_drills()) == 64
    # Letter E is the quarter inch in the standard.
    assert letter_drills()["E"] == pytest.approx(fractional_drills()["1/4"])


def test_nearest_bit() -> None:
    assert nearest_bit_at_least(3.4, (5.0, 3.5, 3.0)) == 3.5
    assert nearest_bit_at_least(0.1 + 0.2, (0.3,)) == 0.3
    assert nearest_bit_at_least(6.1, (5.0, 6.0)) is None
    assert nearest_bit_at_least(1.0, ()) is None


@pytest.mark.parametrize(
    ("measured", "hole"),
    # Common practice, no source: the next half millimetre that leaves a tenth.
    [(11.6, 12.0), (11.7, 12.0), (11.9, 12.0), (11.95, 12.5), (6.35, 6.5), (6.4, 6.5), (6.45, 7.0)],
)
def test_hole_for_a_measured_bushing(measured: float, hole: float) -> None:
    assert hole_for_bushing(measured) == hole


@given(st.floats(0.5, 60))
def test_hole_for_bushing_is_a_half_and_no_larger_than_need_be(measured: float) -> None:
    hole = hole_for_bushing(measured)
    assert hole * 2 == round(hole * 2)
    assert 0.0899 <= hole - measured < 0.5901


def test_bushing_rule_agrees_with_the_published_threads() -> None:
    for thread in panel_threads().values():
        # Never tighter than the customary hole, and within the next half millimetre of it.
        assert 0 <= hole_for_bushing(thread.major) - thread.hole < 0.5
        assert 0.05 <= thread.hole - thread.major <= 0.3


@pytest.mark.parametrize(
    ("name", "major", "hole"),
    [
        # Majors: UN sizes are exact inches (ASME B1.1), M sizes ISO 261; holes common practice.
        ("1/4-40 UNS", 6.35, 6.5),
        ("15/32-32", 11.906, 12.0),
        ("3/8-32 unef", 9.525, 9.8),
        ("1/2-28 UNEF", 12.7, 12.9),
        ("M7", 7.0, 7.2),
        ("M12x1", 12.0, 12.2),
    ],
)
def test_panel_threads(name: str, major: float, hole: float) -> None:
    thread = panel_thread(name)
    assert (thread.major, thread.hole) == (major, hole)
    assert thread.sure is Sure.MEMORY
    if "-" in thread.thread:
        inch, _, per_inch = thread.thread.split()[0].partition("-")
        top, bottom = inch.split("/")
        assert thread.major == pytest.approx(int(top) / int(bottom) * 25.4, abs=6e-4)
        assert thread.pitch == pytest.approx(25.4 / int(per_inch), abs=6e-4)


# Passes: pilots of 2 to 3 mm, step bits in thin plastic and filing up are described on builders'
# pages; the exact sequences are common practice, no source.


def steps(final: float, bits: tuple[float, ...], *cones: StepBit, wall: float = 2.0) -> list[Step]:
    return list(hole_steps(final, bits, cones, wall))


def test_large_twist_holes_open_in_stages() -> None:
    assert steps(12.0, (3.0, 8.0, 12.0)) == [Step(DRILL, 3.0), Step(DRILL, 8.0), Step(DRILL, 12.0)]
    assert steps(10.0, SMALL_KIT) == [Step(DRILL, 3.0), Step(DRILL, 8.0), Step(DRILL, 10.0)]


def test_small_holes_need_a_pilot_only_above_pilot_size() -> None:
    assert steps(2.5, (2.0, 2.5, 3.0)) == [Step(DRILL, 2.5)]
    assert steps(3.0, (2.0, 2.5, 3.0)) == [Step(DRILL, 3.0)]
    assert steps(4.0, SMALL_KIT) == [Step(DRILL, 3.0), Step(DRILL, 4.0)]
    # A 3 mm pilot would leave a 3.2 bit nothing to cut.
    assert steps(3.2, (2.0, 3.0, 3.2)) == [Step(DRILL, 2.0), Step(DRILL, 3.2)]
    assert steps(3.2, (3.2,)) == [Step(DRILL, 3.2)]


def test_the_nearest_bit_above_will_do_within_the_tolerance() -> None:
    assert steps(3.4, (2.0, 3.5)) == [Step(DRILL, 2.0), Step(DRILL, 3.5)]
    assert steps(3.4, (2.0, 3.7)) == [Step(DRILL, 2.0), Step(FILE, 3.4)]
    assert hole_steps(3.4, (2.0, 3.7), (), 2.0, oversize=0.3)[-1] == Step(DRILL, 3.7)


def test_a_step_bit_ends_a_hole_its_step_lands_on() -> None:
    assert steps(16.0, SMALL_KIT, CONE) == [Step(DRILL, 3.0), Step(STEP_BIT, 16.0)]
    # Above 6 mm it is taken before an equal twist bit, up to 6 mm after it.
    assert steps(8.0, SMALL_KIT, CONE) == [Step(DRILL, 3.0), Step(STEP_BIT, 8.0)]
    assert steps(6.0, SMALL_KIT, CONE) == [Step(DRILL, 3.0), Step(DRILL, 6.0)]


def test_a_step_bit_is_no_use_in_a_wall_as_thick_as_its_step() -> None:
    low = StepBit(sizes=CONE.sizes, height=2.0)
    assert steps(8.0, SMALL_KIT, low, wall=2.0)[-1] == Step(DRILL, 8.0)
    assert steps(8.0, SMALL_KIT, low, wall=1.9)[-1] == Step(STEP_BIT, 8.0)


def test_what_no_bit_reaches_is_filed() -> None:
    assert steps(12.0, SMALL_KIT) == [
        Step(DRILL, 3.0),
        Step(DRILL, 8.0),
        Step(DRILL, 10.0),
        Step(FILE, 12.0),
    ]
    assert steps(16.5, SMALL_KIT, CONE) == [
        Step(DRILL, 3.0),
        Step(STEP_BIT, 16.0),
        Step(FILE, 16.5),
    ]


def test_much_is_sawn_before_it_is_filed() -> None:
    assert steps(22.3, SMALL_KIT)[2:] == [Step(DRILL, 10.0), Step(SAW, 21.3), Step(FILE, 22.3)]


def test_without_a_pilot_bit_the_nearest_in_proportion_begins() -> None:
    assert steps(8.0, (3.2, 8.0))[0] == Step(DRILL, 3.2)
    assert steps(8.0, (0.5, 3.2, 8.0))[0] == Step(DRILL, 3.2)
    assert steps(12.0, (1.5, 8.0, 12.0))[0] == Step(DRILL, 1.5)


def test_a_drawer_that_cannot_begin_the_hole_gives_no_passes() -> None:
    assert steps(3.2, (5.0, 8.0)) == []
    assert steps(3.2, ()) == []


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan"), float("inf")])
def test_impossible_sizes_are_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        hole_steps(bad, SMALL_KIT, (), 2.0)
    with pytest.raises(ValueError, match="must be above 0"):
        hole_steps(3.0, SMALL_KIT, (), bad)
    with pytest.raises(ValueError, match="must be above 0"):
        hole_for_bushing(bad)


@given(
    final=st.floats(1, 40),
    bits=st.lists(st.floats(0.5, 20), max_size=8),
    cone=st.lists(st.floats(3, 40), max_size=8),
    wall=st.floats(0.5, 6),
)
def test_passes_always_grow_and_end_at_the_size(
    final: float, bits: list[float], cone: list[float], wall: float
) -> None:
    passes = hole_steps(final, bits, [StepBit(sizes=tuple(cone), height=4.0)], wall)
    sizes = [step.size for step in passes]
    assert all(a < b for a, b in pairwise(sizes))
    for step in passes:
        assert step.tool is not DRILL or step.size in bits
        assert step.tool is not STEP_BIT or (step.size in cone and wall < 4.0)
    if passes:
        assert final - 1e-6 <= sizes[-1] <= final + OVERSIZE + 1e-6
        by_hand = [step for step in passes if step.tool in (FILE, SAW)]
        assert passes[len(passes) - len(by_hand) :] == tuple(by_hand)
        drilled = [step.size for step in passes if step not in by_hand]
        assert (len(by_hand) == 2) == (bool(by_hand) and final - drilled[-1] > FILE_AT_MOST + 1e-6)
    else:
        usable = [*bits, *(cone if wall < 4.0 else [])]
        assert all(size > final for size in usable)


def test_chain_drilling_worked_example() -> None:
    # 45 x 45 opening, 3 mm bit, 0.5 left for the file, pitch 3.5: arithmetic of bench practice.
    holes = chain(45.0, 45.0, 3.0, inset=0.5, space=0.5)
    assert (holes.width, holes.height, holes.perimeter, holes.count) == (41.0, 41.0, 164.0, 47)
    assert corner_bit(3.0) == 6.0


def test_chain_drilling_refuses_what_has_no_room() -> None:
    assert chain(4.0, 10.0, 3.0).width == 0.0
    with pytest.raises(ValueError, match="has no room"):
        chain(3.9, 10.0, 3.0)
    with pytest.raises(ValueError, match="above 0"):
        chain(-1.0, 10.0, 3.0)
