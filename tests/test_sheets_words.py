"""Words on sheets: high enough, clear of each other and of every hole, black on white.

Shipped builds and random ones, from the drawings themselves, with shapely.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import replace

import pdfplumber
import pytest
import shapely

from fit.draw.asked import AS_USUAL, Asked
from fit.draw.drawing import Circle, Drawing, Ink, Layer, Operation, Page, Path, Text, path_pieces
from fit.draw.drawing import Line as Straight
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_grilles import kinds
from tests.random_builds import random_build
from tests.rasters import BUILDS, scene

EVERYTHING = Asked(inside=True)
SHRUNK = 0.05
"""Letters may come as near as their own room, mm."""


def drawn(found: Scene, paper: PaperName, asked: Asked = AS_USUAL) -> tuple[Page, ...]:
    return sheets(found, paper, "3f9a1c77", hand_work(found.build.hands), asked=asked)


def placed(page: Page) -> Iterator[tuple[Drawing, float, float]]:
    for spot in page.drawings:
        yield spot.drawing, spot.x, spot.y


def room(text: Text, x: float, y: float) -> shapely.Polygon:
    found = shapely.Polygon([(a + x, b + y) for a, b in text.corners()])
    return shapely.buffer(found, -SHRUNK)


def words_of(page: Page) -> list[tuple[str, shapely.Polygon]]:
    return [
        (item.words, room(item, x, y))
        for drawing, x, y in placed(page)
        for item in drawing.items()
        if isinstance(item, Text) and item.words.strip()
    ]


def holes_of(page: Page) -> list[shapely.Geometry]:
    """Round holes as discs; windows and slots as the line that is cut."""
    found: list[shapely.Geometry] = []
    for drawing, x, y in placed(page):
        for item in drawing.on(Operation.DRILL):
            if isinstance(item, Circle):
                at = shapely.Point(item.centre[0] + x, item.centre[1] + y)
                found.append(shapely.buffer(at, item.radius))
        found += [
            shapely.MultiLineString(list(_chords(item, x, y)))
            for item in drawing.on(Operation.CUT)
            if isinstance(item, Path) and item.fill is None
        ]
    return found


def _chords(path: Path, x: float, y: float) -> Iterator[list[tuple[float, float]]]:
    for piece in path_pieces(path):
        if isinstance(piece, Straight):
            points = [piece.start, piece.end]
        else:
            step = (piece.end - piece.start) / 16
            points = [piece.at(piece.start + n * step) for n in range(17)]
        yield [(a + x, b + y) for a, b in points]


def faults(page: Page) -> list[str]:
    """Every pair that touches: words and words, words and holes."""
    words, holes = words_of(page), holes_of(page)
    rooms = [box for _, box in words]
    found = []
    if rooms:
        pairs = shapely.STRtree(rooms).query(rooms, predicate="intersects").T.tolist()
        found += [f"'{words[a][0]}' on '{words[b][0]}'" for a, b in pairs if a < b]
    if rooms and holes:
        pairs = shapely.STRtree(holes).query(rooms, predicate="intersects").T.tolist()
        found += [f"'{words[a][0]}' on a hole" for a, _ in pairs]
    return [f"{page.title}: {fault}" for fault in found]


def low(page: Page) -> list[str]:
    """Words whose capitals are below 2 mm."""
    return [
        item.words
        for drawing, _, _ in placed(page)
        for item in drawing.items()
        if isinstance(item, Text) and item.height < 2.0 - 1e-9
    ]


def check(pages: tuple[Page, ...]) -> None:
    assert [fault for page in pages for fault in faults(page)] == []
    assert [words for page in pages for words in low(page)] == []


@pytest.mark.parametrize(
    ("paper", "asked"),
    [(PaperName.A4, AS_USUAL), (PaperName.A5, AS_USUAL), (PaperName.A4, EVERYTHING)],
    ids=["a4", "a5", "inside"],
)
@pytest.mark.parametrize("name", BUILDS)
def test_words_of_the_shipped_builds(name: str, paper: PaperName, asked: Asked) -> None:
    check(drawn(scene(name), paper, asked))


@pytest.mark.slow
@pytest.mark.parametrize("asked", [AS_USUAL, EVERYTHING, Asked(wrap=True)], ids=str)
@pytest.mark.parametrize("paper", PaperName)
def test_words_of_the_shipped_builds_on_all_papers(paper: PaperName, asked: Asked) -> None:
    for name in BUILDS:
        check(drawn(scene(name), paper, asked))


def test_words_beside_openings_of_every_kind() -> None:
    check(drawn(kinds(), PaperName.A4, EVERYTHING))
    check(drawn(kinds(), PaperName.A5))


@pytest.mark.parametrize("seed", range(8))
def test_words_of_random_builds(seed: int) -> None:
    check(drawn(assemble(random_build(seed).build), PaperName.A4))


@pytest.mark.slow
@pytest.mark.parametrize("first", range(100, 220, 20))
def test_words_of_many_random_builds(first: int) -> None:
    for seed in range(first, first + 20):
        paper = list(PaperName)[seed % len(PaperName)]
        check(drawn(assemble(random_build(seed).build), paper, AS_USUAL))


def test_these_checks_can_fail() -> None:
    page = drawn(scene("hive-scale"), PaperName.A4)[0]
    assert faults(page) == [] and low(page) == []
    spot, item = next(
        (s, i)
        for s in page.drawings
        for i in s.drawing.items()
        if isinstance(i, Text) and len(i.words) > 8
    )
    there, hole = next(
        (s, c)
        for s in page.drawings
        for c in s.drawing.on(Operation.DRILL)
        if isinstance(c, Circle)
    )
    middle = (hole.centre[0] + there.x - spot.x, hole.centre[1] + there.y - spot.y)
    for words in (
        Text(item.at, "twice", item.height, item.anchor, item.turn),
        Text(middle, "on it", 2.0),
        Text((-50.0, -50.0), "tiny", 1.9),
    ):
        more = Layer(operation=Operation.NOTE, items=(words,))
        wrong = replace(spot.drawing, layers=(*spot.drawing.layers, more))
        others = tuple(s for s in page.drawings if s is not spot)
        changed = replace(page, drawings=(*others, replace(spot, drawing=wrong)))
        assert faults(changed) or low(changed)


# --- black and white -------------------------------------------------------------------------


def grey(colour: float | tuple[float, ...]) -> float:
    """A shade as pdfminer has it: a number, or one alone; more than one would be a colour."""
    if not isinstance(colour, tuple):
        return colour
    (shade,) = colour
    return shade


@pytest.mark.parametrize("name", BUILDS)
def test_a_printer_without_shades_loses_nothing(name: str) -> None:
    """Shades are grey, never colours, and nearer to black than to white, but for the paper itself;
    words and what is drilled or cut are black. Read back by pdfminer."""
    pages = drawn(scene(name), PaperName.A4, EVERYTHING)
    with pdfplumber.open(io.BytesIO(pdf_bytes(pages, name))) as document:
        for page in document.pages:
            lines = [t for t in (*page.lines, *page.curves, *page.rects) if t["stroke"]]
            fills = [t for t in (*page.curves, *page.rects) if t["fill"]]
            assert max(grey(t["stroking_color"]) for t in lines) < 0.5
            assert {grey(t["non_stroking_color"]) for t in fills} <= {0.0, 1.0}
            assert {grey(letter["non_stroking_color"]) for letter in page.chars} == {0.0}
    for operation in (Operation.DRILL, Operation.CUT, Operation.MARK, Operation.NOTE):
        for page in pages:
            shades = {
                item.pen.ink
                for drawing, _, _ in placed(page)
                for item in drawing.on(operation)
                if not isinstance(item, Text) and not (isinstance(item, Path) and item.fill)
            }
            assert shades <= {Ink.BLACK}, operation
