"""Holes and openings of panel parts against the standards and sheets that print them."""

from __future__ import annotations

from itertools import product

import pytest

from fit.trade import tables
from fit.trade.cutouts import (
    ButtonSize,
    RectKind,
    button_hole,
    display,
    displays,
    gland,
    glands,
    meter_cutout,
    meter_cutouts,
    rect_cutout,
    rect_cutouts,
    round_hole,
    round_holes,
)
from fit.trade.drills import panel_thread
from fit.trade.tables import Sure, UnknownName

# IEC 61554 edge to cut-out and its plus tolerance (from memory; 45 and 92 read).
EDGES = {
    24: (22.2, 0.3),
    36: (33.0, 0.6),
    48: (45.0, 0.6),
    72: (68.0, 0.7),
    96: (92.0, 0.8),
    144: (138.0, 1.0),
    192: (186.0, 1.1),
}
FRONTS = [
    (48, 24),
    (24, 48),
    (96, 24),
    (72, 36),
    (36, 72),
    (48, 48),
    (96, 48),
    (48, 96),
    (72, 72),
    (144, 72),
    (72, 144),
    (96, 96),
    (144, 96),
    (144, 144),
    (192, 96),
    (192, 192),
]


@pytest.mark.parametrize(("w", "h"), FRONTS)
def test_iec_61554(w: int, h: int) -> None:
    cut = meter_cutout(w, h)
    assert (cut.w, cut.w_plus) == EDGES[w]
    assert (cut.h, cut.h_plus) == EDGES[h]
    assert cut.tol == min(EDGES[w][1], EDGES[h][1])
    # Never cut the front's own size: the bezel must cover the edge.
    assert cut.w + cut.w_plus < w
    turned = meter_cutout(h, w)
    assert (turned.w, turned.h, turned.w_plus) == (cut.h, cut.w, cut.h_plus)


def test_iec_61554_lists_sixteen_and_no_more() -> None:
    assert set(meter_cutouts()) == set(FRONTS)
    assert len(FRONTS) == 16
    either_way = set(FRONTS) | {(h, w) for w, h in FRONTS}
    for w, h in product(EDGES, EDGES):
        if (w, h) not in either_way:
            with pytest.raises(UnknownName):
                meter_cutout(w, h)


def test_the_edge_table_agrees_with_the_cut_outs() -> None:
    edges = {float(row["front_mm"]): row for row in tables.rows("meter_edges")}
    for (w, h), cut in meter_cutouts().items():
        assert (cut.w, cut.w_plus) == (float(edges[w]["cutout_mm"]), float(edges[w]["plus_mm"]))
        assert (cut.h, cut.h_plus) == (float(edges[h]["cutout_mm"]), float(edges[h]["plus_mm"]))


def test_a_front_off_the_list_is_refused_with_a_near_one() -> None:
    with pytest.raises(UnknownName) as caught:
        meter_cutout(96, 50)
    assert caught.value.wrong == "'96 x 50' is not a known panel meter front"
    assert "96 x 48" in caught.value.right
    with pytest.raises(UnknownName):
        meter_cutout(float("nan"), 48)


@pytest.mark.parametrize(
    ("size", "diameter", "plus"),
    # IEC 60947-5-1, from memory; 22.3 and 30.5 read in a cabinet note and a maker's sheet.
    [("D12", 12.1, 0.2), ("D16", 16.2, 0.2), ("D22", 22.3, 0.4), ("D30", 30.5, 0.5)],
)
def test_iec_60947_5_1(size: str, diameter: float, plus: float) -> None:
    hole = button_hole(ButtonSize(size))
    assert (hole.diameter, hole.plus) == (diameter, plus)
    # The notch stands out of the circle: its floor lies beyond the hole's near edge.
    assert hole.reach > hole.diameter + hole.plus


@pytest.mark.parametrize(
    ("size", "notch", "reach", "reach_plus"),
    # IEC 60947-5-1, from memory and the least sure figures of the table.
    [("D12", 1.7, 13.8, 0.2), ("D16", 1.7, 17.9, 0.2), ("D30", 4.8, 33.0, 0.5)],
)
def test_anti_turn_notches(size: str, notch: float, reach: float, reach_plus: float) -> None:
    hole = button_hole(ButtonSize(size))
    assert (hole.notch, hole.notch_plus) == (notch, 0.2)
    assert (hole.reach, hole.reach_plus) == (reach, reach_plus)
    assert hole.sure is Sure.MEMORY


def test_d22_anti_turn_notch() -> None:
    # IEC 60947-5-1, from memory: width 3.2 +0.2, far edge to notch floor 24.1 +0.4.
    hole = button_hole(ButtonSize.D22)
    assert (hole.notch, hole.notch_plus, hole.reach, hole.reach_plus) == (3.2, 0.2, 24.1, 0.4)


def test_makers_button_holes_agree() -> None:
    # EAO series 14 prints 22.5 and 30.5; Omron A16 16.0 +0.2.
    d22, d30, d16 = (button_hole(size) for size in (ButtonSize.D22, ButtonSize.D30, ButtonSize.D16))
    assert d22.diameter <= 22.5 <= d22.diameter + d22.plus
    assert d30.diameter <= 30.5 <= d30.diameter + d30.plus
    assert 16.0 <= d16.diameter <= 16.2


@pytest.mark.parametrize(
    ("thread", "hole", "tapped", "nut", "cable"),
    [
        # EN 62444 on EN 60423 threads: M12 hole and cable read, others from memory.
        ("M12", 12.5, 10.5, 15.0, (3.0, 6.0)),
        ("M16", 16.5, 14.5, 19.0, (5.0, 8.0)),
        ("M20", 20.5, 18.5, 24.0, (6.0, 12.0)),
        ("M25", 25.5, 23.5, 30.0, (11.0, 17.0)),
        ("M32", 32.5, 30.5, 36.0, (15.0, 21.0)),
    ],
)
def test_metric_glands(
    thread: str, hole: float, tapped: float, nut: float, cable: tuple[float, float]
) -> None:
    found = gland(thread)
    assert (found.hole, found.tapped_hole, found.nut, found.surely) == (hole, tapped, nut, cable)
    assert found.cable is not None
    # What every maker takes lies within what some maker takes.
    assert found.cable[0] <= cable[0] < cable[1] <= found.cable[1]
    assert found.nut is not None
    assert found.nut > found.hole


@pytest.mark.parametrize(
    ("thread", "major", "pitch", "minor"),
    [
        # DIN 40430 as printed in two encyclopedia articles.
        ("PG7", 12.5, 1.27, 11.28),
        ("PG9", 15.2, 1.411, 13.86),
        ("PG11", 18.6, 1.411, 17.26),
        ("PG13.5", 20.4, 1.411, 19.06),
        ("PG16", 22.5, 1.411, 21.16),
        ("PG21", 28.3, 1.587, 26.78),
        ("PG29", 37.0, 1.587, 35.48),
        ("PG48", 59.3, 1.587, 57.78),
    ],
)
def test_pg_glands(thread: str, major: float, pitch: float, minor: float) -> None:
    found = gland(thread)
    assert found.major == major
    assert found.pitch == pytest.approx(pitch, abs=1e-3)
    assert found.hole == pytest.approx(major + 0.3)
    # The flanks of DIN 40430 take a little less than the pitch off the major diameter.
    assert found.tapped_hole < minor < found.major


def test_cables_some_metric_gland_takes() -> None:
    # Makers' usual ranges, from memory (M12 read).
    widest = {name: gland(name).cable for name in ("M12", "M16", "M20", "M25", "M32")}
    assert widest == {
        "M12": (3.0, 6.0),
        "M16": (4.0, 10.0),
        "M20": (6.0, 12.0),
        "M25": (9.0, 17.0),
        "M32": (13.0, 21.0),
    }


def test_every_gland_passes_its_hole() -> None:
    assert len(glands()) == 15
    for found in glands().values():
        assert 0.2 < found.hole - found.major <= 0.5


def test_round_holes_pass_the_thread_they_are_for() -> None:
    # Majors by ASME B1.1 and ISO 261.
    for part, thread in (
        ("toggle-small", "1/4-40 UNS"),
        ("toggle-full", "15/32-32 UNS"),
        ("pot-m7", "M7x0.75"),
        ("pot-3/8", "3/8-32 UNEF"),
        ("jack-6.35", "3/8-32 UNEF"),
        ("bnc", "3/8-32 UNEF"),
        ("bnc-insulated", "1/2-28 UNEF"),
        ("m12-connector", "M12x1"),
    ):
        assert 0.05 < round_hole(part).diameter - panel_thread(thread).major < 0.3


@pytest.mark.parametrize(
    ("part", "diameter", "plus"),
    [("led-5", 5.0, 0.4), ("jack-3.5", 6.2, 0.2), ("xlr-flange", 24.0, 0.2), ("bnc", 9.7, 0.1)],
)
def test_round_holes(part: str, diameter: float, plus: float) -> None:
    # Common practice; the part's own sheet rules.
    found = round_hole(part)
    assert (found.diameter, found.plus) == (diameter, plus)
    assert found.note


def test_a_flat_lies_inside_its_hole() -> None:
    flats = [hole for hole in round_holes().values() if hole.flat is not None]
    assert {hole.part for hole in flats} == {"bnc", "sma"}
    for hole in flats:
        assert hole.flat is not None
        assert hole.diameter / 2 < hole.flat < hole.diameter


@pytest.mark.parametrize(
    ("part", "kind", "w", "h"),
    [
        ("dsub-9", "cut-out", 20.5, 11.4),  # CAD sample panel, makers' sheets
        ("dsub-15", "cut-out", 28.8, 11.4),
        ("dsub-25", "cut-out", 42.5, 11.4),
        ("dsub-9-flange", "part-size", 30.81, 12.55),  # MIL-DTL-24308
        ("iec-inlet-face", "part-size", 24.5, 16.34),  # IEC 60320 sheet C14
        ("usb-c", "cut-out", 10.0, 4.0),  # OpenAT design guide
        ("usb-c-plug-moulding", "keep-out", 12.35, 6.5),  # USB Type-C, from memory
        ("rocker-15x21", "cut-out", 13.0, 19.25),
    ],
)
def test_rectangles(part: str, kind: str, w: float, h: float) -> None:
    found = rect_cutout(part)
    assert (found.kind, found.w, found.h) == (RectKind(kind), w, h)


def test_d_sub_shells_pass_their_cut_outs_and_flanges_cover_them() -> None:
    for n in (9, 15, 25):
        cut = rect_cutout(f"dsub-{n}")
        shell = rect_cutout(f"dsub-{n}-plug-shell")
        flange = rect_cutout(f"dsub-{n}-flange")
        assert shell.w < cut.w < flange.w
        assert shell.h < cut.h < flange.h
        assert cut.pitch == pytest.approx(flange.pitch, abs=0.05)
        # The screw holes keep clear of the opening.
        assert cut.pitch is not None
        assert cut.hole is not None
        assert (cut.pitch - cut.hole) / 2 > cut.w / 2


def test_usb_openings_pass_the_plug_shell() -> None:
    opening, shell = rect_cutout("usb-c"), rect_cutout("usb-c-plug-shell")
    moulding, roomy = rect_cutout("usb-c-plug-moulding"), rect_cutout("usb-c-generous")
    assert shell.w < opening.w < moulding.w < roomy.w
    assert shell.h < opening.h < moulding.h < roomy.h
    assert all(each.w > 0 and each.h > 0 and each.note for each in rect_cutouts().values())


def test_displays() -> None:
    lcd = display("character-16x2")
    # A public library of part models: bezel 71.3 x 24.3, holes 75 x 31 in a board 80 x 36.
    assert (lcd.bezel, lcd.view, lcd.pitch, lcd.board) == (
        (71.3, 24.3),
        (64.5, 14.5),
        (75.0, 31.0),
        (80.0, 36.0),
    )
    # One digit is as high as its name says, in inches.
    assert display("digit-0.5").view[1] == pytest.approx(0.5 * 25.4, abs=0.05)
    assert display("digit-0.56").view[1] == pytest.approx(0.56 * 25.4, abs=0.05)
    for each in displays().values():
        assert each.view[0] <= each.bezel[0]
        assert each.view[1] <= each.bezel[1]
        if each.board is not None and each.pitch is not None and each.hole is not None:
            assert each.pitch[0] + each.hole < each.board[0]
            assert each.pitch[1] + each.hole < each.board[1]
