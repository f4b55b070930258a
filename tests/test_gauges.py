"""The printed gauges, measured in the file by two readers that did not write it."""

from __future__ import annotations

import math
import random
from functools import cache
from itertools import pairwise

import pytest

from fit.draw.correction import Correction
from fit.draw.drawing import Page, Text
from fit.draw.gauges import MAKERS, gauge_pages
from fit.draw.gauges_frame import WIDEST, GaugeName
from fit.draw.pdf import pdf_bytes
from fit.trade.lettering import width
from fit.trade.paper import PaperName
from tests.gauge_ink import (
    READERS,
    Lines,
    Point,
    Told,
    boxes,
    circles,
    corner,
    size,
    told,
    turned,
    upright,
)

# ISO 261 coarse pitches; ISO 1478 pitches of tapping screws.
PITCHES = {
    "M1.6": 0.35, "M2": 0.4, "M2.5": 0.45, "M3": 0.5, "M3.5": 0.6, "M4": 0.7, "M5": 0.8, "M6": 1.0,
    "ST2.2": 0.8, "ST2.9": 1.1, "ST3.5": 1.3, "ST4.2": 1.4, "ST4.8": 1.6,
}  # fmt: skip
# Greatest head diameters: ISO 7045 pan heads, ISO 7046 countersunk, ISO 7049 of tapping screws.
PAN = {
    "M1.6": 3.2, "M2": 4.0, "M2.5": 5.0, "M3": 5.6, "M3.5": 7.0, "M4": 8.0, "M5": 9.5, "M6": 12.0,
    "ST2.2": 4.0, "ST2.9": 5.6, "ST3.5": 7.0, "ST4.2": 8.0, "ST4.8": 9.5,
}  # fmt: skip
SUNK = {
    "M1.6": 3.0, "M2": 3.8, "M2.5": 4.7, "M3": 5.5, "M3.5": 7.3, "M4": 8.4, "M5": 9.3, "M6": 11.3,
}  # fmt: skip

TRUE = 0.01
"""How true every line must be, mm."""


@cache
def pages(name: GaugeName) -> tuple[Page, ...]:
    return gauge_pages([name], PaperName.A4, "3f9a1c77")


@cache
def pdf(name: GaugeName) -> bytes:
    return pdf_bytes(pages(name), name.value)


@cache
def ink(name: GaugeName, reader: str) -> Lines:
    return READERS[reader](pdf(name), 0)


@cache
def says(name: GaugeName) -> tuple[Told, ...]:
    return tuple(told(pdf(name), 0))


by_both = pytest.mark.parametrize("reader", READERS)


def _numbers(name: GaugeName) -> list[tuple[float, Told]]:
    return [(float(t.words), t) for t in says(name) if t.words.replace(".", "", 1).isdigit()]


@by_both
def test_rules_count_mm_and_perfboard_holes_from_the_cut_corner(reader: str) -> None:
    found = ink(GaugeName.RULES, reader)
    ((x, y),) = boxes(found, 174, 18)
    # A hole pitch of 2.54 mm: IEC 60097, a tenth of an inch.
    for ends, step, ten in (
        (upright(found, head=y + 18), 1.0, 10),
        (upright(found, foot=y), 2.54, 5),
    ):
        ticks = [each for each in ends if size(each)[1] < 6 and x < each[0][0] < x + 174]
        assert len(ticks) == int(173.5 / step)
        for n, tick in enumerate(ticks, start=1):
            assert tick[0][0] - x == pytest.approx(n * step, abs=TRUE)
            assert (size(tick)[1] == pytest.approx(5.0, abs=TRUE)) is (n % ten == 0)


@by_both
def test_the_corner_card_has_a_zero_in_two_corners(reader: str) -> None:
    found = ink(GaugeName.RULES, reader)
    ((x, y),) = boxes(found, 120, 62)
    across, along = turned(found), found
    for ends, zero, way, step, least in (
        (upright(along, foot=y), x, 1, 1.0, 112),
        (upright(across, foot=x), y, 1, 1.0, 54),
        (upright(along, head=y + 62), x + 120, -1, 2.54, 44),
        (upright(across, head=x + 120), y + 62, -1, 2.54, 21),
    ):
        far = 125 if step * least > 60 else 63
        places = sorted((each[0][0] - zero) * way for each in ends if size(each)[1] < 6)
        places = [p for p in places if 0.1 < p < far]
        assert len(places) >= least
        for n, place in enumerate(places, start=1):
            assert place == pytest.approx(n * step, abs=TRUE)


@by_both
def test_the_depth_strip_counts_from_its_foot(reader: str) -> None:
    found = turned(ink(GaugeName.RULES, reader))
    ((y, x),) = boxes(found, 62, 24)
    for ends, step in ((upright(found, foot=x), 1.0), (upright(found, head=x + 24), 2.54)):
        ticks = [each for each in ends if size(each)[1] < 6 and y < each[0][0] < y + 62]
        assert len(ticks) == int(61.5 / step)
        assert [t[0][0] - y for t in ticks] == pytest.approx(
            [n * step for n in range(1, len(ticks) + 1)], abs=TRUE
        )


def test_numbers_of_the_rules_stand_at_their_ticks() -> None:
    ((x, y),) = boxes(ink(GaugeName.RULES, "pdfium"), 174, 18)
    strip = [(n, t) for n, t in _numbers(GaugeName.RULES) if y < t.y < y + 18]
    assert len(strip) == 17 + 13
    for n, t in strip:
        step = 1.0 if t.y > y + 9 else 2.54
        assert t.x - x == pytest.approx(n * step, abs=0.25)


# Name, wedges as (smallest and largest mark, mark to mark), whether a notch is for round things.
WEDGES = {
    GaugeName.HOLES: (((0.9, 13.3), (12.8, 25.3)), 0.1, True),
    GaugeName.THICKNESS: (((0.4, 6.7),), 0.05, False),
}


def _sides(found: Lines) -> list[tuple[tuple[Point, Point], tuple[Point, Point]]]:
    """Upper and lower side of each wedge, the highest wedge first."""
    slanted = sorted(
        (
            tuple(sorted(each))
            for each in found
            if len(each) == 2 and size(each)[0] > 100 and size(each)[1] > 1
        ),
        key=lambda each: -each[0][1],
    )
    pairs = list(zip(slanted[::2], slanted[1::2], strict=True))
    return [((a[0], a[1]), (b[0], b[1])) for a, b in pairs]


def _height(side: tuple[Point, Point], x: float) -> float:
    (x0, y0), (x1, y1) = side
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


@by_both
@pytest.mark.parametrize("name", WEDGES)
def test_a_wedge_is_as_wide_as_each_of_its_marks_says(name: GaugeName, reader: str) -> None:
    ranges, step, _ = WEDGES[name]
    found = ink(name, reader)
    sides = _sides(found)
    assert len(sides) == len(ranges)
    for (up, low), (small, large) in zip(sides, ranges, strict=True):
        marks = [
            each
            for each in upright(found)
            if up[0][0] + 0.1 < each[0][0] < up[1][0] - 0.1
            and abs(each[1][1] - _height(up, each[1][0])) < TRUE
        ]
        wide = [_height(up, m[0][0]) - _height(low, m[0][0]) for m in marks]
        first, last = round(small / step) + 1, round(large / step)
        assert wide == pytest.approx([n * step for n in range(first, last)], abs=TRUE)
        across = [w for w, m in zip(wide, marks, strict=True) if size(m)[1] > w - TRUE]
        every = step * 10
        assert across == pytest.approx(
            [n * every for n in range(math.ceil(small / every), int(large / every) + 1)], abs=TRUE
        )


@by_both
@pytest.mark.parametrize("name", WEDGES)
def test_a_notch_is_touched_at_each_of_its_marks(name: GaugeName, reader: str) -> None:
    ranges, step, is_round = WEDGES[name]
    found = ink(name, reader)
    for (up, low), (small, large) in zip(_sides(found), ranges, strict=True):
        slope = (low[1][1] - low[0][1]) / (low[1][0] - low[0][0])
        half = math.atan(-slope)
        # Where the two sides would meet, from their distance at the small end.
        apex = low[0][0] - (up[0][1] - low[0][1]) / 2 / math.tan(half)
        sizes = []
        for a, b in upright(found):
            if abs(b[1] - _height(low, b[0])) < TRUE and low[0][0] + 0.05 < b[0] < low[1][0]:
                if abs(a[1] - b[1]) < 1.0:
                    continue
                along = (b[0] - apex) / math.cos(half)
                # A circle touches a side as far from the apex as d/2 over the tangent of half the
                # angle (a tangent is square to the radius); a sheet's corner where it is as wide.
                d = 2 * along * math.tan(half) if is_round else 2 * along * math.sin(half)
                sizes.append(d)
        expected = [n * step for n in range(round(small / step), round(large / step) + 1)]
        expected = [d for d in expected if small + 1e-6 < d < large - 1e-6]
        got = [min(expected, key=lambda e: abs(e - d)) for d in sizes]
        assert sizes == pytest.approx(got, abs=TRUE)
        assert set(got) >= set(expected) - {expected[0]}
        every = step * 10
        numbers = [t for _, t in _numbers(name) if t.y1 < _height(low, t.x)]
        assert numbers
        near = [t for t in numbers if _height(low, t.x) - t.y1 < 6]
        for t in near:
            position = apex + float(t.words) / 2 / math.tan(half) * (
                math.cos(half) if is_round else 1.0
            )
            assert t.x == pytest.approx(position, abs=0.2)
        assert sorted(float(t.words) for t in near) == pytest.approx(
            [n * every for n in range(math.ceil(small / every), int(large / every) + 1)]
        )


@by_both
def test_circles_have_the_diameters_they_are_labelled_with(reader: str) -> None:
    found = circles(ink(GaugeName.CIRCLES, reader))
    sizes = sorted(2 * r for _, _, r in found)
    assert sizes == pytest.approx([n / 2 for n in range(2, 51)], abs=TRUE)
    numbers = _numbers(GaugeName.CIRCLES)
    for x, y, r in found:
        wanted = [
            t
            for n, t in numbers
            if n == pytest.approx(2 * r, abs=TRUE)
            and abs(t.x - x) < 0.3
            and (abs(t.y - y) < 1.0 if r > 3.9 else 0 < y - r - t.y < 4)
        ]
        assert len(wanted) == 1, 2 * r


@by_both
def test_the_screw_gauge_has_the_pitches_and_heads_of_the_standards(reader: str) -> None:
    found = ink(GaugeName.SCREWS, reader)
    names = {t.words: t for t in says(GaugeName.SCREWS) if t.words in PITCHES}
    assert set(names) == set(PITCHES)
    rounds = circles(found)
    for name, label in names.items():
        # The row is told by the middle of its name.
        comb = [
            each
            for each in upright(found)
            if size(each)[1] == pytest.approx(4.2, abs=TRUE)
            and abs((each[0][1] + each[1][1]) / 2 - label.y) < 1.0
        ]
        assert len(comb) == int(24 / PITCHES[name] + 1e-9) + 1
        steps = [b[0][0] - a[0][0] for a, b in pairwise(comb)]
        assert steps == pytest.approx([PITCHES[name]] * len(steps), abs=0.002)
        assert comb[-1][0][0] - comb[0][0][0] == pytest.approx(
            (len(comb) - 1) * PITCHES[name], abs=TRUE
        )
        heads = sorted((x, 2 * r) for x, y, r in rounds if abs(y - label.y) < 1.0)
        want = [PAN[name], *([SUNK[name]] if name in SUNK else [])]
        assert [d for _, d in heads] == pytest.approx(want, abs=TRUE)
        nominal = float(name.strip("MST"))
        bars = [c for c in boxes(found, 20.0, nominal) if abs(c[1] + nominal / 2 - label.y) < 1.0]
        assert len(bars) == 1


@by_both
def test_the_length_rule_counts_down_from_its_cut_end(reader: str) -> None:
    found = turned(ink(GaugeName.SCREWS, reader))
    strips = [e for e in found if len(e) == 4 and size(e)[1] == pytest.approx(16, abs=TRUE)]
    (strip,) = [e for e in strips if size(e)[0] > 60]
    top, x = corner(strip)[0] + size(strip)[0], corner(strip)[1]
    ticks = [e for e in upright(found, foot=x) if size(e)[1] < 6]
    down = sorted(top - each[0][0] for each in ticks)
    assert down == pytest.approx(list(range(1, len(down) + 1)), abs=TRUE)
    assert len(down) > 100


def _strips(found: Lines) -> dict[float, Point]:
    lengths = (31.0, 46.0, 56.0, 92.0, 128.0, 164.0)
    return {length: boxes(found, length, 13.5)[0] for length in lengths}


@by_both
def test_strip_and_slide_read_any_inside_width_to_a_tenth(reader: str) -> None:
    found = ink(GaugeName.INSIDE, reader)
    strips = _strips(found)
    slides = {}
    for slide in (25.0, 50.0):
        ((x, y),) = boxes(found, slide, 6.5)
        ticks = [e[0][0] - x for e in upright(found, head=y + 6.5)]
        slides[slide] = [t for t in ticks if 0.1 < t < 12]
        assert slides[slide] == pytest.approx([0.9 * n for n in range(1, 11)], abs=TRUE)
    rows = random.Random(4)
    for wide in [32.0, 47.0, 205.0, *(rows.uniform(32, 205) for _ in range(400))]:
        length, slide = max(
            (length, slide)
            for length in strips
            for slide in (25.0 if length < 50 else 50.0,)
            if length + 1 <= wide
        )
        assert wide <= length + slide - 9 + 1e-9, "the longest strip that goes in must read it"
        assert _read(found, strips[length], length, slide, slides[slide], wide) == pytest.approx(
            wide, abs=0.06
        )


def _read(
    found: Lines, at: Point, length: float, slide: float, vernier: list[float], wide: float
) -> float:
    """What a person reads: the last mark left of the slide, and the vernier line that meets one."""
    x, y = at[0], at[1] + 6.5
    marks = [e[0][0] - x for e in upright(found, foot=y) if x + 0.1 < e[0][0] < x + length - 0.1]
    assert marks == pytest.approx(list(range(1, int(length))), abs=TRUE)
    end = wide - slide
    whole = max([0.0, *(m for m in marks if m <= end + 0.05)])
    lines = [0.0, *vernier]
    off = [min(abs(end + v - m) for m in marks) for v in lines]
    best = off.index(min(off))
    return round(whole) + slide + (best % 10) / 10


@by_both
def test_the_strips_numbers_count_the_slide_in(reader: str) -> None:
    strips = _strips(ink(GaugeName.INSIDE, reader))
    numbers = _numbers(GaugeName.INSIDE)
    for length, (x, y) in strips.items():
        slide = 25.0 if length < 50 else 50.0
        own = [(n, t) for n, t in numbers if x < t.x < x + length and y + 9 < t.y < y + 13.5]
        assert len(own) >= 3
        for n, t in own:
            assert t.x - x + slide == pytest.approx(n, abs=0.25)


@by_both
def test_draft_marks_point_from_the_corner_at_quarter_degrees(reader: str) -> None:
    found = ink(GaugeName.DRAFT, reader)
    ((x, y, _),) = [c for c in circles(found) if c[2] == pytest.approx(1.2, abs=TRUE)]
    (base,) = [e for e in upright(found, head=y) if size(e)[1] > 60]
    assert base[1] == pytest.approx((x, y), abs=TRUE)
    angles = set()
    for each in found:
        if len(each) != 2 or min(math.dist(p, (x, y)) for p in each) < 150:
            continue
        turns = [math.degrees(math.atan2(p[1] - y, p[0] - x)) for p in each]
        if abs(turns[0] - turns[1]) < 0.01 and abs(turns[0]) < 6:
            assert math.dist(each[0], (x, y)) == pytest.approx(158, abs=TRUE)
            nearest = round(turns[0] * 4) / 4
            # 0.01 mm at 158 mm.
            assert turns == pytest.approx([nearest] * 2, abs=math.degrees(TRUE / 158))
            angles.add(nearest)
    assert angles == {n / 4 for n in range(21)}


@by_both
def test_each_round_corner_has_its_radius(reader: str) -> None:
    found = ink(GaugeName.RADIUS, reader)
    names = [t for t in says(GaugeName.RADIUS) if t.words[:1] == "R" and t.words[1:].isdigit()]
    assert [int(t.words[1:]) for t in names] == list(range(1, 16))
    for t in names:
        r = int(t.words[1:])
        (card,) = [
            e
            for e in found
            if size(e) == pytest.approx((r + 9, r + 9), abs=TRUE)
            and corner(e)[0] < t.x < corner(e)[0] + r + 9
            and corner(e)[1] < t.y < corner(e)[1] + r + 9
        ]
        x, y = corner(card)
        on_arc = [p for p in card if p[0] < x + r + 0.001 and p[1] < y + r + 0.001]
        assert len(on_arc) >= 3  # both ends and the middle at least
        assert [math.dist(p, (x + r, y + r)) for p in on_arc] == pytest.approx(
            [r] * len(on_arc), abs=TRUE
        )


@pytest.mark.parametrize("name", GaugeName)
def test_each_gauge_says_how_to_use_it_in_two_lines(name: GaugeName) -> None:
    gauge = MAKERS[name]()
    assert gauge.width <= WIDEST
    told_here = [item for item in gauge.drawing.items() if isinstance(item, Text)]
    top = gauge.height - 14.5
    head = [t for t in told_here if t.at[1] > top]
    assert len(head) == 3
    assert head[0].bold
    for line in head[1:]:
        assert width(line.words, line.height) <= WIDEST
        assert line.words.endswith(".")
    box = gauge.drawing.box()
    assert box is not None
    assert box.x0 > -0.01
    assert box.x1 < WIDEST + 0.01


@pytest.mark.parametrize("paper", [p for p in PaperName if p is not PaperName.A5])
def test_every_gauge_goes_on_every_paper_even_corrected(paper: PaperName) -> None:
    worst = Correction(printer="x", across=1.03, along=1.03)
    for correction in (None, worst):
        made = gauge_pages((), paper, "3f9a1c77", correction)
        seen = [n for page in made for n in page.title.split("  ")[1].split(", ")]
        assert sorted(seen) == sorted(GaugeName)
        assert len(made) <= 5


def test_small_paper_takes_what_goes_and_names_what_does_not() -> None:
    (page,) = gauge_pages([GaugeName.RADIUS], PaperName.A5, "x")
    assert (page.width, page.height) == (210.0, 148.0)
    with pytest.raises(ValueError, match="the gauge 'holes' needs 170 × 87 mm"):
        gauge_pages([GaugeName.HOLES], PaperName.A5, "x")


def test_the_comparison_fails_when_it_should() -> None:
    wrong = Correction(printer="x", across=1.0005, along=1.0)
    data = pdf_bytes(gauge_pages([GaugeName.RULES], PaperName.A4, "x", wrong), "t")
    for reader in READERS.values():
        assert boxes(reader(data, 0), 174, 18) == []
        assert len(boxes(reader(data, 0), 174 * 1.0005, 18)) == 1


def test_same_bytes_twice() -> None:
    assert pdf_bytes(gauge_pages((), PaperName.A4, "x"), "t") == pdf_bytes(
        gauge_pages((), PaperName.A4, "x"), "t"
    )
