"""What every sheet of gauges and the printer's test sheet must be, corrected or not."""

from __future__ import annotations

import io
from functools import cache
from itertools import pairwise

import pdfplumber
import pypdfium2
import pytest

from fit.draw.correction import Correction
from fit.draw.drawing import Page
from fit.draw.furniture import MARGIN
from fit.draw.gauges import gauge_pages
from fit.draw.gauges_printer import printer_page
from fit.draw.pdf import pdf_bytes
from fit.trade.paper import PaperName
from tests.draw_ink import Stroke, ink_box, letters, overlapping, strokes, words

# Sizes: ISO 216 (A4) and ANSI/ASME Y14.1 (Letter).
SIZES = {PaperName.A4: (210.0, 297.0), PaperName.LETTER: (215.9, 279.4)}
JET = Correction(printer="office jet", across=1.0082, along=1.0109)
LARGE = Correction(printer="den", across=0.9758, along=0.971)
WORST = Correction(printer="attic", across=1.03, along=1.03)
CASES = {
    "A4": (PaperName.A4, None),
    "Letter": (PaperName.LETTER, None),
    "A4 corrected": (PaperName.A4, JET),
    "Letter shrunk": (PaperName.LETTER, LARGE),
    "A4 worst": (PaperName.A4, WORST),
}
each_case = pytest.mark.parametrize("case", CASES)


@cache
def pages(case: str) -> tuple[Page, ...]:
    paper, correction = CASES[case]
    test = printer_page(paper, "3f9a1c77", correction)
    return (*gauge_pages((), paper, "3f9a1c77", correction), test)


@cache
def pdf(case: str) -> bytes:
    return pdf_bytes(pages(case), case)


@cache
def ink(case: str, page: int) -> list[Stroke]:
    return strokes(pdf(case), page)


@cache
def typed(case: str, page: int) -> list[tuple[str, float, float, float, float]]:
    return letters(pdf(case), page)


@each_case
def test_the_page_stays_the_paper(case: str) -> None:
    document = pypdfium2.PdfDocument(pdf(case))
    try:
        sizes = [tuple(v * 25.4 / 72 for v in page.get_size()) for page in document]
    finally:
        document.close()
    for size in sizes:
        assert sorted(size) == pytest.approx(SIZES[CASES[case][0]], abs=1e-4)


@each_case
def test_bars_and_card_are_on_every_sheet_and_corrected_with_it(case: str) -> None:
    for n, page in enumerate(pages(case)):
        kx, ky = page.stretch
        found = [s.size for s in ink(case, n)]
        for want in ((100 * kx, 0), (0, 100 * ky), (85.6 * kx, 53.98 * ky)):
            assert sum(size == pytest.approx(want, abs=0.01) for size in found) == 1


@each_case
def test_the_margins_stay_free_in_the_file_and_on_the_print(case: str) -> None:
    for n, page in enumerate(pages(case)):
        left, low, right, top = ink_box(pdf(case), n)
        assert min(left, low, right, top) >= MARGIN
        kx, ky = page.stretch
        half = page.width / 2, page.height / 2
        printed = [half[0] - (half[0] - d) / kx for d in (left, right)]
        printed += [half[1] - (half[1] - d) / ky for d in (low, top)]
        assert min(printed) >= MARGIN - 0.13  # a dot of the rendering


@each_case
def test_words_do_not_run_over_each_other(case: str) -> None:
    for n in range(len(pages(case))):
        assert overlapping(typed(case, n), 0.05) == []


@each_case
def test_no_line_runs_through_a_word(case: str) -> None:
    for n in range(len(pages(case))):
        squares: dict[tuple[int, int], list[tuple[str, float, float, float, float]]] = {}
        for letter in typed(case, n):
            _, x0, y0, x1, y1 = letter
            for i in range(int(x0 // 5), int(x1 // 5) + 1):
                for j in range(int(y0 // 5), int(y1 // 5) + 1):
                    squares.setdefault((i, j), []).append(letter)
        hits = [
            f"{letter} at {x0:.1f}, {y0:.1f}"
            for x, y in _spots(ink(case, n))
            for letter, x0, y0, x1, y1 in squares.get((int(x // 5), int(y // 5)), ())
            if x0 < x < x1 and y0 < y < y1
        ]
        assert hits == []


def _spots(found: list[Stroke]) -> list[tuple[float, float]]:
    """Points all along every stroke, no further apart than the thinnest letter is wide."""
    spots = []
    for stroke in found:
        ring = [*stroke.points, stroke.points[0]] if stroke.closed else list(stroke.points)
        if stroke.controls:
            ring = [_bezier(c, t / 200) for c in stroke.controls for t in range(201)]
        for (x0, y0), (x1, y1) in pairwise(ring):
            count = int(max(abs(x1 - x0), abs(y1 - y0)) / 0.15) + 1
            spots += [
                (x0 + (x1 - x0) * t / count, y0 + (y1 - y0) * t / count) for t in range(count + 1)
            ]
    return spots


def _bezier(c: tuple[tuple[float, float], ...], t: float) -> tuple[float, float]:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    x, y = (sum(w * p[k] for w, p in zip(weights, c, strict=True)) for k in (0, 1))
    return x, y


def test_the_line_check_fails_when_it_should() -> None:
    _, x0, y0, x1, y1 = typed("A4", 0)[0]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    through = Stroke(((x0 - 5, middle[1]), (x1 + 5, middle[1])), (), False, 0.1)
    assert any(x0 < x < x1 and y0 < y < y1 for x, y in _spots([through]))


@each_case
def test_words_are_large_enough_to_read(case: str) -> None:
    least = min(1.0, *(k for page in pages(case) for k in page.stretch))
    with pdfplumber.open(io.BytesIO(pdf(case))) as document:
        for sheet in document.pages:
            # Capitals of the letters are 1493 of 2048 units high (Bitstream Vera, glyph H).
            caps = [float(c["size"]) * 25.4 / 72 * 1493 / 2048 for c in sheet.chars if c["upright"]]
            assert min(caps) >= 2.0 * least - 0.001


@each_case
def test_every_sheet_says_what_it_is(case: str) -> None:
    correction = CASES[case][1]
    count = len(pages(case)) - 1
    for n, text in enumerate(words(pdf(case)), start=1):
        assert "Print at 100 % (actual size)" in text
        assert "3f9a1c77" in text
        assert ("Printer test" if n > count else "Gauges") in text
        assert (f"sheet {n} of {count}" if n <= count else "sheet 1 of 1") in text
        assert ("Corrected for printer" in text) is (correction is not None)
    if case == "A4 corrected":
        assert "Corrected for printer office jet: x +0.82 %, y +1.09 %." in words(pdf(case))[0]
    if case == "Letter shrunk":
        assert "Corrected for printer den: x −2.42 %, y −2.90 %." in words(pdf(case))[0]


@each_case
def test_nothing_depends_on_colour(case: str) -> None:
    with pdfplumber.open(io.BytesIO(pdf(case))) as document:
        for sheet in document.pages:
            for each in (*sheet.lines, *sheet.rects, *sheet.curves, *sheet.chars):
                for colour in (each["stroking_color"], each["non_stroking_color"]):
                    # One number: a grey level.
                    assert isinstance(colour, float | int | None) or len(colour) == 1
