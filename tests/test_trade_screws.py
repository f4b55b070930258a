"""Screws, nuts and washers against the figures of their standards."""

from __future__ import annotations

import pytest

from fit.trade.screws import (
    Fit273,
    FitInch,
    HeadForm,
    WasherForm,
    boss,
    boss_hole_plus,
    clearance_hole,
    head,
    inch_clearance_hole,
    inserts,
    metric_thread,
    nut,
    standoff,
    standoff_at_least,
    tap_drill,
    tapping_screw,
    washer,
)
from fit.trade.tables import Sure, UnknownName, rows


@pytest.mark.parametrize(
    ("thread", "fine", "medium", "coarse"),
    [
        # ISO 273:1979, columns fine (H12), medium (H13), coarse (H14).
        ("M1.6", 1.7, 1.8, 2.0),
        ("M2", 2.2, 2.4, 2.6),
        ("M2.5", 2.7, 2.9, 3.1),
        ("M3", 3.2, 3.4, 3.6),
        ("M3.5", 3.7, 3.9, 4.2),
        ("M4", 4.3, 4.5, 4.8),
        ("M5", 5.3, 5.5, 5.8),
        ("M6", 6.4, 6.6, 7.0),
        ("M7", 7.4, 7.6, 8.0),
        ("M8", 8.4, 9.0, 10.0),
        ("M10", 10.5, 11.0, 12.0),
        ("M12", 13.0, 13.5, 14.5),
    ],
)
def test_iso_273(thread: str, fine: float, medium: float, coarse: float) -> None:
    assert clearance_hole(thread, Fit273.FINE) == fine
    assert clearance_hole(thread, Fit273.MEDIUM) == clearance_hole(thread) == medium
    assert clearance_hole(thread, Fit273.COARSE) == coarse


@pytest.mark.parametrize(
    ("screw", "close", "normal", "loose"),
    [
        # ASME B18.2.8, mm of the drills it names.
        ("No.0", 1.702, 1.930, 2.381),
        ("No.2", 2.381, 2.578, 2.946),
        ("No.4", 3.048, 3.264, 3.658),
        ("#6", 3.912, 4.305, 4.699),
        ("No.8", 4.572, 4.978, 5.410),
        ("No.10", 5.220, 5.613, 6.045),
        ("1/4", 6.747, 7.144, 7.541),
    ],
)
def test_asme_b18_2_8(screw: str, close: float, normal: float, loose: float) -> None:
    assert inch_clearance_hole(screw, FitInch.CLOSE) == pytest.approx(close, abs=6e-4)
    assert inch_clearance_hole(screw) == pytest.approx(normal, abs=6e-4)
    assert inch_clearance_hole(screw, FitInch.LOOSE) == pytest.approx(loose, abs=6e-4)


# dk and k at their greatest, M1.6 to M6, by standard; gaps are sizes a standard leaves out here.
HEADS = {
    HeadForm.PAN_CROSS: {  # ISO 7045
        "M1.6": (3.2, 1.3),
        "M2": (4.0, 1.6),
        "M2.5": (5.0, 2.1),
        "M3": (5.6, 2.4),
        "M3.5": (7.0, 2.6),
        "M4": (8.0, 3.1),
        "M5": (9.5, 3.7),
        "M6": (12.0, 4.6),
    },
    HeadForm.PAN_SLOT: {  # ISO 1580
        "M1.6": (3.2, 1.0),
        "M2": (4.0, 1.3),
        "M2.5": (5.0, 1.5),
        "M3": (5.6, 1.8),
        "M3.5": (7.0, 2.1),
        "M4": (8.0, 2.4),
        "M5": (9.5, 3.0),
        "M6": (12.0, 3.6),
    },
    HeadForm.CAP: {  # ISO 4762, knurled
        "M1.6": (3.14, 1.6),
        "M2": (3.98, 2.0),
        "M2.5": (4.68, 2.5),
        "M3": (5.68, 3.0),
        "M4": (7.22, 4.0),
        "M5": (8.72, 5.0),
        "M6": (10.22, 6.0),
    },
    HeadForm.COUNTERSUNK: {  # ISO 7046, dk from memory
        "M1.6": (3.0, 1.0),
        "M2": (3.8, 1.2),
        "M2.5": (4.7, 1.5),
        "M3": (5.5, 1.65),
        "M3.5": (7.3, 2.35),
        "M4": (8.4, 2.7),
        "M5": (9.3, 2.7),
        "M6": (11.3, 3.3),
    },
    HeadForm.SOCKET_COUNTERSUNK: {  # ISO 10642, sharp
        "M3": (6.72, 1.86),
        "M4": (8.96, 2.48),
        "M5": (11.2, 3.1),
        "M6": (13.44, 3.72),
    },
    HeadForm.BUTTON: {  # ISO 7380-1
        "M3": (5.7, 1.65),
        "M4": (7.6, 2.2),
        "M5": (9.5, 2.75),
        "M6": (10.5, 3.3),
    },
    HeadForm.CHEESE: {  # ISO 1207
        "M1.6": (3.0, 1.1),
        "M2": (3.8, 1.4),
        "M2.5": (4.5, 1.8),
        "M3": (5.5, 2.0),
        "M4": (7.0, 2.6),
        "M5": (8.5, 3.3),
        "M6": (10.0, 3.9),
    },
}


@pytest.mark.parametrize("form", HeadForm)
def test_heads(form: HeadForm) -> None:
    for thread in ("M1.6", "M2", "M2.5", "M3", "M3.5", "M4", "M5", "M6"):
        if thread not in HEADS[form]:
            with pytest.raises(UnknownName):
                head(thread, form)
            continue
        found = head(thread, form)
        assert (found.diameter, found.height) == HEADS[form][thread]
        assert found.drive
        # A head covers the coarsest hole of its screw.
        assert found.diameter > clearance_hole(thread, Fit273.COARSE)


def test_socket_caps_are_as_high_as_the_thread_is_thick() -> None:
    # ISO 4762: k = d; the plain head lies within the knurled one.
    for thread in HEADS[HeadForm.CAP]:
        cap = head(thread, HeadForm.CAP)
        assert cap.height == float(thread[1:])
        assert cap.plain_diameter is not None
        assert 0.1 < cap.diameter - cap.plain_diameter < 0.25


def test_head_details() -> None:
    assert head("M3", HeadForm.CAP).plain_diameter == 5.5
    sunk = head("M3", HeadForm.COUNTERSUNK)
    assert sunk.sharp_diameter == 6.3
    assert sunk.sure is Sure.MEMORY
    # A 90 degree cone: twice the height and the thread make the sharp diameter (ISO 10642).
    for thread, d in (("M3", 3), ("M4", 4), ("M5", 5), ("M6", 6)):
        cone = head(thread, HeadForm.SOCKET_COUNTERSUNK)
        assert cone.sharp_diameter == pytest.approx(d + 2 * cone.height, abs=0.01)
    with pytest.raises(UnknownName, match="ISO 7380-1"):
        head("M2", HeadForm.BUTTON)


@pytest.mark.parametrize(
    ("thread", "pitch", "drill", "minor"),
    [
        # ISO 261 pitch, ISO 2306 drill, ISO 724 minor diameter D1.
        ("M1.6", 0.35, 1.25, 1.221),
        ("M2", 0.4, 1.6, 1.567),
        ("M2.5", 0.45, 2.05, 2.013),
        ("M3", 0.5, 2.5, 2.459),
        ("M3.5", 0.6, 2.9, 2.850),
        ("M4", 0.7, 3.3, 3.242),
        ("M5", 0.8, 4.2, 4.134),
        ("M6", 1.0, 5.0, 4.917),
        ("M8", 1.25, 6.8, 6.647),
        ("M10", 1.5, 8.5, 8.376),
        ("M12", 1.75, 10.2, 10.106),
    ],
)
def test_threads(thread: str, pitch: float, drill: float, minor: float) -> None:
    found = metric_thread(thread)
    assert (found.pitch, tap_drill(thread)) == (pitch, drill)
    assert found.nominal == float(thread[1:])
    assert found.minor == pytest.approx(minor, abs=1e-3)
    assert found.minor < drill < found.nominal


@pytest.mark.parametrize(
    ("thread", "flats", "least", "sharp", "height", "thin"),
    [
        # ISO 4032 s, e min, m max; ISO 4035 m max.
        ("M2", 4.0, 4.32, 4.619, 1.6, 1.2),
        ("M2.5", 5.0, 5.45, 5.774, 2.0, 1.6),
        ("M3", 5.5, 6.01, 6.351, 2.4, 1.8),
        ("M4", 7.0, 7.66, 8.083, 3.2, 2.2),
        ("M5", 8.0, 8.79, 9.238, 4.7, 2.7),
        ("M6", 10.0, 11.05, 11.547, 5.2, 3.2),
        ("M8", 13.0, 14.38, 15.011, 6.8, 4.0),
    ],
)
def test_nuts(
    thread: str, flats: float, least: float, sharp: float, height: float, thin: float
) -> None:
    found = nut(thread)
    assert (found.across_flats, found.least_corners) == (flats, least)
    assert (found.height, found.thin_height) == (height, thin)
    assert found.across_corners == pytest.approx(sharp, abs=1e-3)


@pytest.mark.parametrize(
    ("form", "thread", "outside", "thickness"),
    [
        # ISO 7089.
        ("normal", "M1.6", 4, 0.3),
        ("normal", "M2", 5, 0.3),
        ("normal", "M2.5", 6, 0.5),
        ("normal", "M3", 7, 0.5),
        ("normal", "M3.5", 8, 0.5),
        ("normal", "M4", 9, 0.8),
        ("normal", "M5", 10, 1.0),
        ("normal", "M6", 12, 1.6),
        ("normal", "M8", 16, 1.6),
        # ISO 7093-1.
        ("large", "M3", 9, 0.8),
        ("large", "M4", 12, 1.0),
        ("large", "M5", 15, 1.0),
        ("large", "M6", 18, 1.6),
        ("large", "M8", 24, 2.0),
    ],
)
def test_washers(form: str, thread: str, outside: float, thickness: float) -> None:
    found = washer(thread, WasherForm(form))
    assert (found.outside, found.thickness) == (outside, thickness)
    # ISO 887: holes of these washers are those of the fine series of ISO 273.
    assert found.hole == clearance_hole(thread, Fit273.FINE)
    # The large M5 is 1.0 or 1.2 thick by edition; its 1.4 is room to leave.
    most = 0.4 if (form, thread) == ("large", "M5") else 0.2
    assert 0.05 <= found.thickness_max - thickness + 1e-9 <= most + 2e-9


def test_washers_no_table_has() -> None:
    assert washer("M5", WasherForm.LARGE).thickness_max == 1.4
    with pytest.raises(UnknownName):
        washer("M2", WasherForm.LARGE)


def test_inch_screw_sizes_follow_their_rule() -> None:
    # ASME B1.1: number n is 0.060 + 0.013 n inch.
    for row in rows("clearance_inch"):
        name = row["screw"]
        inch = 0.060 + 0.013 * int(name[3:]) if name.startswith("No.") else 0.25
        assert float(row["major_mm"]) == pytest.approx(inch * 25.4, abs=6e-4)
        holes = [inch_clearance_hole(name, series) for series in FitInch]
        assert inch * 25.4 < holes[0] < holes[1] < holes[2]


@pytest.mark.parametrize(
    ("name", "old", "major", "minor", "pitch", "head_mm"),
    [
        # ISO 1478 thread, ISO 7049 head.
        ("ST2.2", "#2", 2.24, 1.63, 0.8, 4.0),
        ("ST2.9", "#4", 2.90, 2.18, 1.1, 5.6),
        ("ST3.5", "#6", 3.53, 2.64, 1.3, 7.0),
        ("ST4.2", "#8", 4.22, 3.10, 1.4, 8.0),
        ("ST4.8", "#10", 4.80, 3.58, 1.6, 9.5),
        ("ST3.3", "#5", 3.30, 2.39, 1.3, None),
    ],
)
def test_tapping_screws(
    name: str, old: str, major: float, minor: float, pitch: float, head_mm: float | None
) -> None:
    found = tapping_screw(name)
    assert found == tapping_screw(old)
    assert (found.major[1], found.minor[1], found.pitch) == (major, minor, pitch)
    assert found.head == head_mm
    assert found.major[0] < found.major[1]
    assert found.nominal == float(name[2:])


@pytest.mark.parametrize(
    ("material", "hole", "outside", "engagement", "sure"),
    [
        # Makers' factors for a 3 mm screw (PENCOM; PC and PP from memory).
        ("ABS", 2.4, 6.0, 6.0, Sure.READ),
        ("PA 6", 2.25, 5.55, 5.1, Sure.READ),
        ("PC", 2.55, 7.5, 6.6, Sure.MEMORY),
        ("PP", 2.1, 6.0, 6.0, Sure.MEMORY),
        ("ABS/PC blend", 2.4, 6.0, 6.0, Sure.READ),
        ("ASA", 2.34, 6.0, 6.0, Sure.READ),
        ("PA 4.6", 2.19, 5.55, 5.4, Sure.READ),
        ("PA 6 GF30", 2.4, 6.0, 5.7, Sure.READ),
        ("PA 6.6 GF30", 2.46, 6.0, 5.4, Sure.READ),
        ("PBT", 2.25, 5.55, 5.1, Sure.READ),
        ("PS", 2.4, 6.0, 6.0, Sure.MEMORY),
        ("PVC hard", 2.4, 6.0, 6.0, Sure.MEMORY),
    ],
)
def test_bosses(material: str, hole: float, outside: float, engagement: float, sure: Sure) -> None:
    found = boss(material, 3.0)
    assert (found.hole, found.outside, found.engagement) == pytest.approx(
        (hole, outside, engagement)
    )
    assert found.sure is sure
    with pytest.raises(ValueError, match="above 0"):
        boss(material, 0.0)


def test_pilot_of_a_tapping_screw_in_abs() -> None:
    # PENCOM's 0.80 d for a 2.9 screw is 2.32; the thread bites: minor < pilot < major.
    screw = tapping_screw("#4")
    pilot = boss("ABS", screw.nominal).hole
    assert pilot == pytest.approx(2.32)
    assert screw.minor[1] < pilot < screw.major[0]


def test_boss_hole_tolerance() -> None:
    # CELO: +0.08 to 3.0, +0.10 to 4.5, +0.12 above.
    assert [boss_hole_plus(d) for d in (2.4, 3.0, 3.1, 4.5, 4.6)] == [0.08, 0.08, 0.1, 0.1, 0.12]


def test_inserts_and_standoffs() -> None:
    # Two makers' families, as two public tables list them.
    assert [(i.length, i.outside, i.hole) for i in inserts("M3")] == [
        (5.74, 4.55, 4.0),
        (5.7, 4.7, 3.9),
    ]
    assert [i.hole for i in inserts("M2")] == [3.23, 3.1]
    assert [i.hole for i in inserts("M2.5")] == [4.0]
    assert [i.hole for i in inserts("M4")] == [5.67, 5.5]
    assert [i.hole for i in inserts("M5")] == [6.43]
    for thread, flats in (("M2.5", 5.0), ("M4", 7.0), ("M5", 8.0)):
        assert standoff(thread).across_flats == (flats,)
    hexes = standoff("M3")
    assert hexes.across_flats == (5.0, 5.5, 6.0)
    assert standoff_at_least("M3", 10.2) == 11.0
    assert standoff_at_least("M3", 10.0) == 10.0
    with pytest.raises(UnknownName, match="standoff length"):
        standoff_at_least("M3", 61.0)
