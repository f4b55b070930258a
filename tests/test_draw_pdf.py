"""Pages as PDF, read back with pdfium and pdfminer, which did not write them."""

from __future__ import annotations

import io
import math

import pdfplumber
import pypdfium2
import pytest

from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Ink,
    Line,
    Operation,
    Page,
    Pen,
    Point,
    Positioned,
    Sketch,
    Style,
    Text,
    polygon,
    rounded,
)
from fit.draw.pdf import pdf_bytes
from tests.draw_ink import letters, rounds, same_shape, strokes, words

PEN = Pen(width=0.25)
# Sizes: ISO 216 (A4) and ANSI/ASME Y14.1 (Letter, 8.5 × 11 in).
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def page(size: tuple[float, float], shift: float = 0.0) -> Page:
    sketch = Sketch("sample")
    sketch.add(Operation.CUT, rounded(Box(0, 0, 85.6, 53.98), 3.18, PEN))
    sketch.add(Operation.CUT, polygon(((0, 60), (100 + shift, 60), (97, 90), (3, 90)), PEN))
    sketch.add(Operation.DRILL, Circle((30, 20), 6.0, PEN), Circle((60, 20), 40.0, PEN))
    dashed = Pen(width=0.13, style=Style.DASH_DOT, ink=Ink.GREY)
    sketch.add(Operation.MARK, Line((0, 100), (100, 100), dashed), Arc((50, 120), 20, 10, 200, PEN))
    sketch.add(Operation.NOTE, Text((10, 150), "Print at 100 % ⌀12 → 8", 2.5, halo=True))
    drawn = Positioned(drawing=sketch.done(), x=20.0, y=30.0)
    return Page(title="1  sample", width=size[0], height=size[1], drawings=(drawn,))


@pytest.fixture(scope="module", params=sorted(PAPERS))
def paper(request: pytest.FixtureRequest) -> tuple[tuple[float, float], bytes]:
    size = PAPERS[request.param]
    return size, pdf_bytes([page(size)], "sample build")


def test_the_page_is_exactly_the_paper(paper: tuple[tuple[float, float], bytes]) -> None:
    size, data = paper
    document = pypdfium2.PdfDocument(data)
    try:
        assert [v * 25.4 / 72 for v in document[0].get_size()] == pytest.approx(size, abs=1e-4)
    finally:
        document.close()
    with pdfplumber.open(io.BytesIO(data)) as other:
        box = [float(v) * 25.4 / 72 for v in other.pages[0].mediabox]
        assert box == pytest.approx([0, 0, *size], abs=1e-4)


def test_the_file_asks_not_to_be_scaled(paper: tuple[tuple[float, float], bytes]) -> None:
    # PrintScaling: ISO 32000-1, table 150, PDF 1.6.
    data = paper[1]
    assert data.startswith(b"%PDF-1.6\n")
    with pdfplumber.open(io.BytesIO(data)) as document:
        wish = document.doc.catalog["ViewerPreferences"]
        assert getattr(wish, "resolve", lambda: wish)()["PrintScaling"].name == "None"
        assert document.metadata["Title"] == "sample build"
    reader = pypdfium2.PdfDocument(data)
    try:
        assert reader.get_version() == 16
    finally:
        reader.close()


def test_outlines_come_back_to_a_hundredth(paper: tuple[tuple[float, float], bytes]) -> None:
    found = strokes(paper[1], 0)
    trapezium = next(s for s in found if s.size[1] == pytest.approx(30, abs=0.01))
    corners: list[Point] = [(20, 90), (120, 90), (117, 120), (23, 120)]
    assert same_shape(trapezium.points, tuple(corners), 0.001)
    for corner in corners:
        assert min(math.dist(corner, p) for p in trapezium.points) < 0.001
    card = next(s for s in found if s.closed and s.size == pytest.approx((85.6, 53.98), abs=0.001))
    assert card.box == pytest.approx((20, 30, 105.6, 83.98), abs=0.001)
    line = next(s for s in found if s.size == pytest.approx((100, 0), abs=0.001))
    assert line.pen == pytest.approx(0.13, abs=1e-4)


def test_circles_are_round_to_a_hundred_thousandth(
    paper: tuple[tuple[float, float], bytes],
) -> None:
    found = [r for r in rounds(strokes(paper[1], 0)) if r.radius > 5]
    small, large = sorted(found, key=lambda r: r.radius)
    assert (small.x, small.y, small.radius) == pytest.approx((50, 50, 6), abs=0.001)
    assert (large.x, large.y, large.radius) == pytest.approx((80, 50, 40), abs=0.001)
    # pdfium hands out single precision: 1e-5 of 6 mm is about what it can tell.
    assert large.worst < 1e-5


def test_pdfminer_sees_the_same(paper: tuple[tuple[float, float], bytes]) -> None:
    size, data = paper
    with pdfplumber.open(io.BytesIO(data)) as document:
        sheet = document.pages[0]
        curves = [
            [v * 25.4 / 72 for v in (c["x0"], c["y0"], c["x1"], c["y1"])] for c in sheet.curves
        ]
        lines = [[ln[k] * 25.4 / 72 for k in ("x0", "y0", "x1", "y1")] for ln in sheet.lines]
        assert sheet.chars[0]["fontname"].endswith("BitstreamVeraSans-Roman")
    assert any(c == pytest.approx([20, 30, 105.6, 83.98], abs=0.01) for c in curves)
    assert any(c == pytest.approx([44, 44, 56, 56], abs=0.01) for c in curves)
    assert any(ln == pytest.approx([20, 130, 120, 130], abs=0.01) for ln in lines)
    assert size[0] > 200


def test_capitals_have_the_height_asked_for(paper: tuple[tuple[float, float], bytes]) -> None:
    heights = [y1 - y0 for letter, _, y0, _, y1 in letters(paper[1], 0) if letter == "P"]
    assert heights == [pytest.approx(2.5, abs=0.02)]
    assert "Print at 100 % Ø12 › 8" in words(paper[1])[0]


def test_the_letters_travel_with_the_file(paper: tuple[tuple[float, float], bytes]) -> None:
    assert b"FontFile2" in paper[1]


def test_the_comparison_fails_when_it_should() -> None:
    true = strokes(pdf_bytes([page(PAPERS["A4"])], "t"), 0)
    moved = strokes(pdf_bytes([page(PAPERS["A4"], shift=0.02)], "t"), 0)
    one, other = (next(s for s in f if 29.9 < s.size[1] < 30.1) for f in (true, moved))
    assert same_shape(one.points, one.points, 0.01)
    assert not same_shape(one.points, other.points, 0.01)


def test_the_same_pages_give_the_same_bytes() -> None:
    pages = [page(PAPERS["A4"]), page(PAPERS["Letter"])]
    assert pdf_bytes(pages, "t") == pdf_bytes(pages, "t")
    assert pdf_bytes(pages, "t") != pdf_bytes(pages[:1], "t")


def test_no_page_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one page"):
        pdf_bytes([], "t")
