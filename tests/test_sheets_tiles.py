"""Faces and boards larger than the paper: what two neighbouring sheets share is drawn alike.

From the drawings themselves to 1e-9 mm, and from the file as pdfium reads it, also where a
printer's error is made up for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from itertools import combinations

import pytest

from fit.draw import pens
from fit.draw.asked import AS_USUAL, Asked
from fit.draw.clip import clipped
from fit.draw.correction import Correction
from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Operation,
    Page,
    Path,
    Point,
    Text,
    path_pieces,
)
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.draw.tiles import OVERLAP
from fit.geometry.scene import Scene
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_grilles import kinds
from tests.draw_ink import Round, rounds, strokes
from tests.draw_scenes import large
from tests.rasters import BUILDS, scene

DRAWN = (Operation.GUIDE, Operation.EDGE, Operation.FOLD, Operation.MARK, Operation.DRILL,
         Operation.CUT)  # fmt: skip
"""All but words and their leaders, which find other places on each sheet."""
OFF = Correction(printer="desk", across=1.012, along=0.991)


def scenes() -> dict[str, Scene]:
    return {"large": large(), "kinds": kinds()} | {name: scene(name) for name in BUILDS}


@cache
def of(name: str) -> Scene:
    return scenes()[name]


@cache
def pages(
    name: str, paper: PaperName, corrected: bool, asked: Asked = AS_USUAL
) -> tuple[Page, ...]:
    correction = OFF if corrected else None
    return sheets(
        of(name), paper, "3f9a1c77", hand_work("careful"), correction=correction, asked=asked
    )


Seam = tuple[Point, Point]


def seams_of(drawing: Drawing) -> list[Seam]:
    """The seams of a tile: dash-dotted lines with a ring at either end."""
    marks = drawing.on(Operation.MARK)
    rings = {i.centre for i in marks if isinstance(i, Circle) and i.radius == 1.6}
    return [
        (i.start, i.end)
        for i in marks
        if isinstance(i, Line) and i.pen == pens.CENTRE and {i.start, i.end} <= rings
    ]


def neighbours(found: tuple[Page, ...]) -> Iterator[tuple[Drawing, Drawing, Seam]]:
    """Drawings of two tiles and the seam both have."""
    tiled = [
        (p.title.partition("  ")[2].partition(", tile ")[0], p.drawings[0].drawing)
        for p in found
        if ", tile " in p.title
    ]
    for (view, one), (same, other) in combinations(tiled, 2):
        if view == same:
            for seam in set(seams_of(one)) & set(seams_of(other)):
                yield one, other, seam


def shared(seam: Seam) -> Box:
    """What two tiles have in common: 10 mm along their seam, which reaches 5 past both ends."""
    (x0, y0), (x1, y1) = seam
    half = OVERLAP / 2 - 1e-6
    if x0 == x1:
        return Box(x0 - half, min(y0, y1) + 5, x0 + half, max(y0, y1) - 5)
    return Box(min(x0, x1) + 5, y0 - half, max(x0, x1) - 5, y0 + half)


def told(item: Item) -> Iterator[tuple[object, ...]]:
    """What is drawn, in numbers rounded to 1e-8 mm; the same for a path and its pieces."""

    def near(*values: float) -> tuple[float, ...]:
        return tuple(round(v, 8) + 0.0 for v in values)

    if isinstance(item, Path) and item.fill is None:
        for piece in path_pieces(item):
            yield from told(piece)
    elif isinstance(item, Line):
        yield ("line", item.pen, *near(*item.start, *item.end, item.phase))
    elif isinstance(item, Circle):
        yield ("arc", item.pen, *near(*item.centre, item.radius, 0.0, 360.0))
    elif isinstance(item, Arc):
        yield ("arc", item.pen, *near(*item.centre, item.radius, item.start, item.end))


def within(drawing: Drawing, box: Box) -> set[tuple[object, ...]]:
    """All that is drawn in a box but the seams themselves."""
    seams = seams_of(drawing)
    ends = [p for seam in seams for p in seam]
    found: set[tuple[object, ...]] = set()
    for operation in DRAWN:
        for item in drawing.on(operation):
            if isinstance(item, Text) or _of_a_seam(item, seams, ends):
                continue
            one = Drawing(name="", layers=(Layer(operation=operation, items=(item,)),))
            for kept in clipped(one, box).items():
                found |= {(operation, *numbers) for numbers in told(kept)}
    return found


def _of_a_seam(item: Item, seams: list[Seam], ends: list[Point]) -> bool:
    if isinstance(item, Circle):
        return item.radius == 1.6 and item.centre in ends
    if not isinstance(item, Line):
        return False
    middle = ((item.start[0] + item.end[0]) / 2, (item.start[1] + item.end[1]) / 2)
    cross = item.pen == pens.CROSS and any(math.dist(middle, end) < 1e-6 for end in ends)
    return cross or (item.start, item.end) in seams


CASES = [
    ("large", PaperName.A4, False),
    ("large", PaperName.A4, True),
    ("large", PaperName.A5, False),
    ("large", PaperName.A5, True),
    *((name, PaperName.A5, corrected) for name in BUILDS for corrected in (False, True)),
]


@pytest.mark.parametrize(("name", "paper", "corrected"), CASES)
def test_neighbours_draw_what_they_share_alike(
    name: str, paper: PaperName, corrected: bool
) -> None:
    pairs = list(neighbours(pages(name, paper, corrected)))
    assert pairs
    full = 0
    for one, other, seam in pairs:
        box = shared(seam)
        mine, yours = within(one, box), within(other, box)
        assert mine == yours
        full += bool(mine)
    assert full


def test_tiles_of_a_sheet_all_round_agree_too() -> None:
    found = pages("hive-scale", PaperName.A5, False, Asked(wrap=True))
    pairs = list(neighbours(found))
    assert pairs
    assert all(within(a, shared(seam)) == within(b, shared(seam)) for a, b, seam in pairs)


def test_a_line_that_one_of_them_lacks_is_seen() -> None:
    one, other, seam = next(
        pair for pair in neighbours(pages("large", PaperName.A4, False))
        if within(pair[0], shared(pair[2]))
    )  # fmt: skip
    box = shared(seam)
    layers = tuple(
        part for part in other.layers if part.operation not in (Operation.EDGE, Operation.GUIDE)
    )
    assert within(one, box) != within(Drawing(name=other.name, layers=layers), box)


# --- as it is printed ------------------------------------------------------------------------


def crosses(name: str, paper: PaperName, corrected: bool, page: int) -> list[Round]:
    data = pdf_bytes(pages(name, paper, corrected), name)
    x, y = pages(name, paper, corrected)[page].stretch
    assert (x, y) != (1.0, 1.0)
    # A stretched circle is an ellipse: put it right before it is recognised.
    upright = [
        type(s)(
            tuple((px / x, py / y) for px, py in s.points),
            tuple(tuple((px / x, py / y) for px, py in c) for c in s.controls),  # type: ignore[misc]
            s.closed,
            s.pen,
        )
        for s in strokes(data, page)
    ]
    return [r for r in rounds(upright) if r.radius == pytest.approx(1.6, abs=0.005)]


@pytest.mark.parametrize(("paper", "corrected"), [(PaperName.A4, True), (PaperName.A5, True)])
def test_register_marks_of_corrected_sheets_fall_on_each_other(
    paper: PaperName, corrected: bool
) -> None:
    """Undoing the correction, as the printer will, the marks of one seam lie equally far apart."""
    titles = [p.title for p in pages("large", paper, corrected)]
    first, second = (next(n for n, t in enumerate(titles) if f"tile {k} of" in t) for k in (1, 2))
    one, other = (crosses("large", paper, corrected, n) for n in (first, second))
    low, high = sorted(one, key=lambda r: (round(r.x), r.y))[-2:]
    low2, high2 = sorted(other, key=lambda r: (round(r.x), r.y))[:2]
    assert (high2.x - low2.x, high2.y - low2.y) == pytest.approx(
        (high.x - low.x, high.y - low.y), abs=0.01
    )
