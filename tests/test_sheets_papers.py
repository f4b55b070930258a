"""Every line of every sheet on every paper, read back with two other people's readers."""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise

import pdfplumber
import pytest

from fit.draw.asked import Asked, Ends
from fit.draw.drawing import Arc, Circle, Item, Line, Page, Path, Text, path_pieces
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.geometry.scene import Scene
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_ink import MM, ink_box, letters, overlapping, rounds, strokes, words
from tests.draw_scenes import boards, crowded, large, small

Segment = tuple[float, float, float, float]

MAKERS = {"small": small, "boards": boards, "crowded": crowded, "large": large}
EVERYTHING = Asked(inside=True, windows=Ends.BIG_HOLES)
ROUND_ABOUT = Asked(wrap=True)
CASES = [
    *(("small", paper, EVERYTHING) for paper in PaperName),
    *(("small", paper, ROUND_ABOUT) for paper in PaperName),
    ("large", PaperName.A5, Asked()),
    ("large", PaperName.LEGAL, Asked()),
    ("boards", PaperName.A5, Asked()),
    ("crowded", PaperName.A5, Asked()),
    ("crowded", PaperName.A3, ROUND_ABOUT),
]
QUICK = (PaperName.A4, PaperName.A5)
"""The papers that every run looks at; the slow one has them all."""
each = pytest.mark.parametrize(
    ("name", "paper", "asked"),
    [
        pytest.param(
            *case,
            id=f"{case[0]}-{case[1].value}-{'wrap' if case[2].wrap else 'flat'}",
            marks=() if case[0] == "small" and case[1] in QUICK else pytest.mark.slow,
        )
        for case in CASES
    ],
)
NEAR = 0.01


@cache
def scene(name: str) -> Scene:
    return MAKERS[name]()


@cache
def pages(name: str, paper: PaperName, asked: Asked) -> tuple[Page, ...]:
    return sheets(scene(name), paper, "3f9a1c77", hand_work("careful"), asked=asked)


@cache
def pdf(name: str, paper: PaperName, asked: Asked) -> bytes:
    return pdf_bytes(pages(name, paper, asked), name)


def items(page: Page) -> Iterator[tuple[Item, float, float]]:
    for placed in page.drawings:
        for item in placed.drawing.items():
            yield item, placed.x, placed.y


def straight(page: Page) -> list[Segment]:
    """Every straight line that should be on the page."""
    found = []
    for item, x, y in items(page):
        pieces: Iterable[Line | Arc] = ()
        if isinstance(item, Line):
            pieces = (item,)
        elif isinstance(item, Path) and item.fill is None:
            pieces = path_pieces(item)
        for piece in pieces:
            if isinstance(piece, Line) and piece.start != piece.end:
                (a, b), (c, d) = piece.start, piece.end
                found.append((a + x, b + y, c + x, d + y))
    return found


class Near:
    """Segments sorted into squares of a millimetre by their lower left end."""

    def __init__(self, segments: Iterable[Segment]) -> None:
        self._squares: dict[tuple[int, int], list[Segment]] = defaultdict(list)
        for segment in segments:
            a = self._ordered(segment)
            self._squares[(round(a[0]), round(a[1]))].append(a)

    @staticmethod
    def _ordered(s: Segment) -> Segment:
        # The lower end first; ends as high as each other by x.
        if (round(s[1], 1), s[0]) <= (round(s[3], 1), s[2]):
            return s
        return (s[2], s[3], s[0], s[1])

    def has(self, segment: Segment) -> bool:
        for way in (segment, (segment[2], segment[3], segment[0], segment[1])):
            x, y = round(way[0]), round(way[1])
            for square in ((x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1)):
                for other in self._squares.get(square, ()):
                    if all(abs(p - q) <= NEAR for p, q in zip(way, other, strict=True)):
                        return True
        return False


@each
def test_pdfium_finds_every_line_and_circle(name: str, paper: PaperName, asked: Asked) -> None:
    for n, page in enumerate(pages(name, paper, asked)):
        found = strokes(pdf(name, paper, asked), n)
        near = Near(
            (*a, *b)
            for s in found
            for a, b in pairwise([*s.points, *(s.points[:1] if s.closed else ())])
        )
        missing = [s for s in straight(page) if not near.has(s)]
        assert missing == []
        circles = rounds(found)
        for item, x, y in items(page):
            if isinstance(item, Circle):
                cx, cy = item.centre[0] + x, item.centre[1] + y
                assert any(
                    abs(c.x - cx) <= NEAR
                    and abs(c.y - cy) <= NEAR
                    and abs(c.radius - item.radius) <= NEAR
                    for c in circles
                )


@each
def test_pdfminer_finds_every_line(name: str, paper: PaperName, asked: Asked) -> None:
    with pdfplumber.open(io.BytesIO(pdf(name, paper, asked))) as document:
        for page, drawn in zip(document.pages, pages(name, paper, asked), strict=True):
            segments: list[Segment] = []
            for thing in (*page.lines, *page.curves, *page.rects):
                points = [(x * MM, drawn.height - y * MM) for x, y in thing["pts"]]
                segments += [(*a, *b) for a, b in pairwise([*points, points[0]])]
            near = Near(segments)
            assert [s for s in straight(drawn) if not near.has(s)] == []


@each
def test_words_keep_apart_are_not_too_small_and_stay_off_the_margins(
    name: str, paper: PaperName, asked: Asked
) -> None:
    data = pdf(name, paper, asked)
    for n, page in enumerate(pages(name, paper, asked)):
        typed = letters(data, n)
        assert overlapping(typed, 0.05) == []
        assert min(ink_box(data, n)) >= 10.0
        assert all(i.height >= 2.0 for i, _, _ in items(page) if isinstance(i, Text))
        capitals = [(a, b, c, d) for letter, a, b, c, d in typed if letter in "DEFHKLNPRTUXZ"]
        # As high as the letters are, or, written upwards, as wide.
        assert all(max(c - a, d - b) >= 1.95 for a, b, c, d in capitals)


@each
def test_every_sheet_carries_its_marks(name: str, paper: PaperName, asked: Asked) -> None:
    texts = words(pdf(name, paper, asked))
    for n, text in enumerate(texts, start=1):
        flat = " ".join(text.split())
        assert f"sheet {n} of {len(texts)}" in flat
        assert "lay a bank card here" in flat
        assert "Print at 100 % (actual size)" in flat
        if "seen from" not in flat:
            assert "lists and plates" in flat or "make" in flat, flat
