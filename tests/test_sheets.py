"""The 1:1 sheets, measured in the files they become."""

from __future__ import annotations

import io
import math
import re
from functools import cache
from itertools import pairwise

import pdfplumber
import pypdfium2
import pytest

from fit.draw.clip import clipped
from fit.draw.drawing import Box, Circle, Line, Operation, Page, Text, item_box
from fit.draw.faces import face_view
from fit.draw.furniture import MARGIN, Lay, form, form_of_size
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.draw.tiles import OVERLAP, tiles
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Used
from fit.model.words import FaceName
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_ink import (
    Round,
    Stroke,
    crossings,
    ink_box,
    letters,
    overlapping,
    rounds,
    same_shape,
    strokes,
    words,
)
from tests.draw_scenes import at, boards, build, button, crowded, large, small

SCENES = {"small": small, "large": large, "crowded": crowded, "boards": boards}
# Sizes: ISO 216 (A), ANSI/ASME Y14.1 (Letter), common practice (Legal: 8.5 x 14 in).
SIZES = {
    PaperName.A3: (297.0, 420.0),
    PaperName.A4: (210.0, 297.0),
    PaperName.A5: (148.0, 210.0),
    PaperName.LETTER: (215.9, 279.4),
    PaperName.LEGAL: (215.9, 355.6),
}
BOTH = (PaperName.A4, PaperName.LETTER)
MOST = (PaperName.A3, PaperName.A5, PaperName.LEGAL)
FINGERPRINT = "3f9a1c77"


@cache
def scene(name: str) -> Scene:
    return SCENES[name]()


@cache
def pages(name: str, paper: PaperName) -> tuple[Page, ...]:
    return sheets(scene(name), paper, FINGERPRINT, hand_work("careful"))


@cache
def pdf(name: str, paper: PaperName) -> bytes:
    return pdf_bytes(pages(name, paper), name)


@cache
def ink(name: str, paper: PaperName, n: int) -> list[Stroke]:
    return strokes(pdf(name, paper), n)


@cache
def typed(name: str, paper: PaperName, n: int) -> list[tuple[str, float, float, float, float]]:
    return letters(pdf(name, paper), n)


@cache
def told(name: str, paper: PaperName) -> list[str]:
    return words(pdf(name, paper))


def page_of(name: str, paper: PaperName, title: str) -> int:
    """The first page whose words have the given title."""
    return next(n for n, text in enumerate(told(name, paper)) if title in text)


each_file = pytest.mark.parametrize(
    ("name", "paper"),
    [
        *((name, paper) for name in SCENES for paper in BOTH),
        *(("small", paper) for paper in MOST),
    ],
)


@each_file
def test_each_page_is_the_paper_lying_or_standing(name: str, paper: PaperName) -> None:
    document = pypdfium2.PdfDocument(pdf(name, paper))
    try:
        sizes = [tuple(v * 25.4 / 72 for v in page.get_size()) for page in document]
    finally:
        document.close()
    w, h = SIZES[paper]
    for size in sizes:
        assert sorted(size) == pytest.approx(sorted((w, h)), abs=1e-4)


@each_file
def test_every_sheet_has_both_bars_and_the_card(name: str, paper: PaperName) -> None:
    for n in range(len(pages(name, paper))):
        found = ink(name, paper, n)
        open_lines = [s.size for s in found if not s.closed]
        assert sum(size == pytest.approx((100, 0), abs=0.01) for size in open_lines) == 1
        assert sum(size == pytest.approx((0, 100), abs=0.01) for size in open_lines) == 1
        # ISO/IEC 7810 ID-1: 85.60 × 53.98, corners 2.88 to 3.48.
        size = pytest.approx((85.6, 53.98), abs=0.01)
        (card,) = [s for s in found if s.closed and s.size == size]
        x0, y0, _, _ = card.box
        straight = min(p[0] for p in card.points if p[1] == pytest.approx(y0, abs=0.001))
        assert straight - x0 == pytest.approx(3.18, abs=0.01)


@each_file
def test_nothing_runs_over_the_card(name: str, paper: PaperName) -> None:
    for n in range(len(pages(name, paper))):
        found = ink(name, paper, n)
        size = pytest.approx((85.6, 53.98), abs=0.01)
        (card,) = [s for s in found if s.closed and s.size == size]
        x0, y0, x1, y1 = card.box
        for letter, a, b, c, d in typed(name, paper, n):
            inside = a > x0 and b > y0 and c < x1 and d < y1
            assert inside or c < x0 or d < y0 or a > x1 or b > y1, letter
        for a, b, c, d in (s.box for s in found if s is not card):
            assert c < x0 or d < y0 or a > x1 or b > y1


@each_file
def test_nothing_runs_over_the_bars(name: str, paper: PaperName) -> None:
    for n in range(len(pages(name, paper))):
        found = ink(name, paper, n)
        for size in ((100, 0), (0, 100)):
            bar = next(s for s in found if s.size == pytest.approx(size, abs=0.01))
            x0, y0, x1, y1 = bar.box
            x0, y0, x1, y1 = x0 - 0.5, y0 - 0.5, x1 + 0.5, y1 + 0.5
            near = [s for s in found if s is not bar and not _apart(s.box, (x0, y0, x1, y1))]
            # Its own eleven ticks, a tick each 10 mm, and nothing else.
            assert len(near) == 11
            assert all(min(s.size) < 0.001 and max(s.size) <= 4.001 for s in near)
            for letter, *box in typed(name, paper, n):
                assert _apart(tuple(box), (x0, y0, x1, y1)), letter


def _apart(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


@pytest.mark.parametrize("paper", BOTH)
def test_pdfminer_measures_bars_and_card_alike(paper: PaperName) -> None:
    with pdfplumber.open(io.BytesIO(pdf("small", paper))) as document:
        for sheet in document.pages[:2]:
            lengths = [
                (abs(ln["x1"] - ln["x0"]) * 25.4 / 72, abs(ln["y1"] - ln["y0"]) * 25.4 / 72)
                for ln in sheet.lines
            ]
            assert sum(v == pytest.approx((100, 0), abs=0.01) for v in lengths) == 1
            assert sum(v == pytest.approx((0, 100), abs=0.01) for v in lengths) == 1
            curves = [
                ((c["x1"] - c["x0"]) * 25.4 / 72, (c["y1"] - c["y0"]) * 25.4 / 72)
                for c in sheet.curves
            ]
            assert sum(v == pytest.approx((85.6, 53.98), abs=0.01) for v in curves) == 1


@each_file
def test_nothing_is_printed_on_the_margins(name: str, paper: PaperName) -> None:
    for n in range(len(pages(name, paper))):
        assert min(ink_box(pdf(name, paper), n)) >= MARGIN


@each_file
def test_words_do_not_run_over_each_other(name: str, paper: PaperName) -> None:
    for n in range(len(pages(name, paper))):
        assert overlapping(typed(name, paper, n), 0.05) == []


def test_the_overlap_check_fails_when_it_should() -> None:
    boxes = letters(pdf("small", PaperName.A4), 0)
    _, x0, y0, x1, y1 = boxes[0]
    assert overlapping([*boxes, ("x", x0 + 0.2, y0 + 0.2, x1, y1)], 0.05)


@pytest.mark.parametrize("paper", BOTH)
def test_every_sheet_says_what_it_is(paper: PaperName) -> None:
    for name in SCENES:
        count = len(pages(name, paper))
        for n, text in enumerate(told(name, paper), start=1):
            assert scene(name).build.name in text
            assert FINGERPRINT in text
            assert f"sheet {n} of {count}" in text
            assert "Print at 100 % (actual size)" in text
            assert "lay a bank card here" in text
            assert "100 mm" in text
            assert "Planned for holes that stray up to 0.5." in text
    for title, *facts in (
        ("FRONT, seen from OUTSIDE", "RIM (open edge)", "FLOOR edge"),
        ("RIGHT, seen from OUTSIDE", "IN USE"),
        ("BACK, seen from OUTSIDE", "slot 12.4 × 6.4"),
        ("LID, seen from OUTSIDE", "This face is underneath in use"),
    ):
        text = told("small", paper)[page_of("small", paper, title)]
        assert all(fact in text for fact in facts)


@pytest.mark.parametrize(
    ("name", "paper"),
    [("small", PaperName.A4), ("small", PaperName.A5), ("large", PaperName.LETTER)],
)
def test_a_list_of_all_sheets_stands_on_the_first_that_has_room(
    name: str, paper: PaperName
) -> None:
    texts = told(name, paper)
    found = [n for n, text in enumerate(texts) if re.search(r"^Sheets", text, re.MULTILINE)]
    assert len(found) == 1
    if paper is not PaperName.A5:
        assert found == [0]
    list_of_all = " ".join(texts[found[0]].split())
    for n, page in enumerate(pages(name, paper), start=1):
        face = page.title.split("  ")[1].split(",")[0]
        assert re.search(rf"\b{n} {face}\b", list_of_all), page.title


def test_one_sheet_alone_needs_no_list() -> None:
    one = assemble(
        build(None, Used(name="tare", part=button(), on=FaceName.RIGHT, at=at(12, 31.5)))
    )
    drawn = sheets(one, PaperName.A4, FINGERPRINT, hand_work("careful"))
    (only,) = words(pdf_bytes(drawn, "one"))
    assert "Sheets" not in only


def test_small_views_share_a_sheet_and_lists_cost_none() -> None:
    # Two faces of 150 × 57.5 and 100 × 57.5 go on one upright A4; on A3 nearly all goes on one.
    titles = [page.title for page in pages("small", PaperName.A4)]
    assert not any("lists" in title for title in titles)
    assert any(title.endswith("FRONT, RIGHT") for title in titles)
    assert len(pages("small", PaperName.A3)) < len(titles) < len(pages("small", PaperName.A5))


def test_the_arrow_points_up_in_use() -> None:
    # The small build stands on its lid: up in use is down on the upright faces' sheets.
    for changed, sign in ((scene("small"), -1), (scene("crowded"), 1)):
        view = face_view(changed, changed.faces[FaceName.FRONT])
        arrow = next(m for m in view.marks if any(isinstance(i, Line) for i in m.items))
        shaft = next(i for i in arrow.items if isinstance(i, Line))
        assert math.copysign(1, shaft.end[1] - shaft.start[1]) == sign


@pytest.mark.parametrize("paper", BOTH)
def test_a_faces_outline_and_holes_are_where_the_box_has_them(paper: PaperName) -> None:
    # Plain trigonometry: 100 wide at the rim, 57.5 up to it, walls leaning by 1.5 degrees.
    found = ink("small", paper, page_of("small", paper, "RIGHT, seen"))
    lean, up = math.tan(math.radians(1.5)), 57.5 / math.cos(math.radians(1.5))
    low = 50 - 57.5 * lean
    corners = ((-low, 0.0), (low, 0.0), (50.0, up), (-50.0, up))
    (edge,) = [s for s in found if s.closed and same_shape(s.points, corners, 0.01)]
    x, y = (edge.box[0] + edge.box[2]) / 2, edge.box[1]
    holes = rounds(found)
    for across in (12.0, -14.0):
        sizes = sorted(
            r.radius for r in holes if math.dist((r.x, r.y), (x + across, y + 31.5)) < 0.01
        )
        # 3 mm pilot, the 12 mm hole, the 14 mm bezel outside.
        assert sizes == pytest.approx([1.5, 6.0, 7.0], abs=0.01)


@pytest.mark.parametrize("paper", BOTH)
def test_a_window_has_its_line_its_chain_and_its_plate(paper: PaperName) -> None:
    window = next(o for o in scene("small").openings if o.face is FaceName.FRONT)
    plate = scene("small").plates[0]
    found = ink("small", paper, page_of("small", paper, "FRONT, seen"))
    size = (window.width, window.height)
    (line,) = [s for s in found if s.closed and s.size == pytest.approx(size, abs=0.01)]
    lying = (plate.width, plate.height)
    (cut,) = [
        s
        for s in found
        if s.closed and any(s.size == pytest.approx(way, 1e-5) for way in (lying, lying[::-1]))
    ]
    assert cut.box != line.box
    bit = 3.2
    off = bit / 2 + 0.75
    inner = (window.width - 2 * off, window.height - 2 * off)
    (chain,) = [s for s in found if s.closed and s.size == pytest.approx(inner, abs=0.01)]
    x0, y0, x1, y1 = chain.box
    corners = [r for r in rounds(found) if r.radius == pytest.approx(bit / 2, abs=0.001)]
    assert sorted((round(r.x, 2), round(r.y, 2)) for r in corners) == sorted(
        (round(x, 2), round(y, 2)) for x in (x0, x1) for y in (y0, y1)
    )
    # Holes along the lower side: small crosses, none further apart than bit plus 0.75.
    spots = sorted(
        (s.box[0] + s.box[2]) / 2
        for s in found
        if s.size == pytest.approx((1.2, 0), abs=0.001) and abs(s.box[1] - y0) < 0.001
    )
    steps = [b - a for a, b in pairwise(spots)]
    assert max(steps) <= bit + 0.75 + 0.001
    assert max(steps) - min(steps) < 0.001
    assert (spots[0], spots[-1]) == pytest.approx((x0, x1), abs=0.001)


@pytest.mark.parametrize("paper", BOTH)
def test_a_lid_has_round_corners(paper: PaperName) -> None:
    found = ink("small", paper, page_of("small", paper, "LID, seen"))
    (lid,) = [s for s in found if s.closed and s.size == pytest.approx((150, 100), abs=0.01)]
    straight = [p for p in lid.points if p[1] == pytest.approx(lid.box[1], abs=0.001)]
    assert max(p[0] for p in straight) - min(p[0] for p in straight) == pytest.approx(140, abs=0.01)


@pytest.mark.parametrize("paper", BOTH)
def test_a_board_has_its_outline_its_grid_and_its_lost_rows(paper: PaperName) -> None:
    size = (30 * 2.54, 14 * 2.54)
    sheets_of_it = [ink("small", paper, n) for n in range(len(pages("small", paper)))]
    found, edges = next(
        (found, edges)
        for found in sheets_of_it
        if (edges := [s for s in found if s.closed and s.size == pytest.approx(size, abs=0.01)])
    )
    # The component side stands above the copper side.
    x, y = max((edge.box[:2] for edge in edges), key=lambda corner: corner[1])
    found = [s for s in found if s.box[1] > y - 5]
    spots = {
        (round((s.box[0] + s.box[2]) / 2 - x, 2), round(s.box[1] - y, 2))
        for s in found
        if s.size == pytest.approx((0.7, 0), abs=0.001)
    }
    want = {
        (round((i - 0.5) * 2.54, 2), round((j - 0.5) * 2.54, 2))
        for i in range(1, 31)
        for j in range(1, 15)
    }
    assert len(spots) == len(want)
    assert all(min(math.dist(s, w) for w in want) < 0.02 for s in spots)
    # Hole column 31 and hole row 15 are cut along: half a pitch past the outline.
    xs = [s.box[0] - x for s in found if s.size[0] < 0.001 and s.size[1] > size[1]]
    ys = [s.box[1] - y for s in found if s.size[1] < 0.001 and s.size[0] > size[0]]
    assert any(v == pytest.approx(30.5 * 2.54, abs=0.01) for v in xs)
    assert any(v == pytest.approx(14.5 * 2.54, abs=0.01) for v in ys)


def _seam(found: list[Stroke]) -> list[Round]:
    return [r for r in rounds(found) if r.radius == pytest.approx(1.6, abs=0.001)]


@pytest.mark.parametrize("paper", BOTH)
def test_two_tiles_show_the_same_where_they_overlap(paper: PaperName) -> None:
    titles = [page.title for page in pages("large", paper)]
    one, other = (
        ink("large", paper, next(n for n, t in enumerate(titles) if f"tile {k} of" in t))
        for k in (1, 2)
    )
    low, high = sorted((r for r in _seam(one)), key=lambda r: (round(r.x), r.y))[-2:]
    low2, high2 = sorted((r for r in _seam(other)), key=lambda r: (round(r.x), r.y))[:2]
    assert (high2.x - low2.x, high2.y - low2.y) == pytest.approx(
        (high.x - low.x, high.y - low.y), abs=0.01
    )
    # Pens of leaders and ghosts are thinner; leaders differ from sheet to sheet.
    thick = [[s for s in found if s.pen > 0.15] for found in (one, other)]
    for away in (-4.5, -3.1, -1.9, 2.1, 3.3, 4.6):
        # Without the seam's own crosses at both ends.
        mine, yours = (
            [y - a.y for y in crossings(lines, a.x + away) if a.y + 0.1 < y < b.y - 0.1]
            for lines, a, b in ((thick[0], low, high), (thick[1], low2, high2))
        )
        # The face's two edges and two cut lines of the meter at least.
        assert len(mine) >= 4
        assert mine == pytest.approx(yours, abs=0.01)


def test_tiles_share_ten_millimetres_and_cover_the_view() -> None:
    whole = Box(-160, 0, 160, 210)
    found = tiles(whole, 150, 100)
    assert (found[0].columns, found[0].rows) == (3, 3)
    for tile in found:
        assert tile.window.width <= 150
        assert tile.window.height <= 100
        for other in found:
            if other.row == tile.row and other.column == tile.column + 1:
                assert tile.window.x1 - other.window.x0 == pytest.approx(OVERLAP)
    assert found[0].window.x0 == whole.x0
    assert found[-1].window.x1 == pytest.approx(whole.x1)
    assert found[-1].window.y1 == pytest.approx(whole.y1)
    assert len(tiles(Box(0, 0, 150, 100), 150, 100)) == 1


def test_clipped_tiles_hold_the_same_items_in_their_overlap() -> None:
    changed = scene("large")
    view = face_view(changed, changed.faces[FaceName.LID])
    found = tiles(view.box, 150, 170)
    for one in found:
        for other in found:
            x0 = max(one.window.x0, other.window.x0)
            y0 = max(one.window.y0, other.window.y0)
            both = Box(
                x0, y0, min(one.window.x1, other.window.x1), min(one.window.y1, other.window.y1)
            )
            if one is other or both.width < 1 or both.height < 1:
                continue
            mine = clipped(clipped(view.drawing, one.window), both)
            yours = clipped(clipped(view.drawing, other.window), both)
            straight = clipped(view.drawing, both)
            assert len(mine.items()) == len(yours.items()) == len(straight.items())
            for a, b in zip(mine.items(), yours.items(), strict=True):
                assert type(a) is type(b)
                p, q = item_box(a), item_box(b)
                assert (p.x0, p.y0, p.x1, p.y1) == pytest.approx((q.x0, q.y0, q.x1, q.y1))
                if isinstance(a, Line) and isinstance(b, Line):
                    assert a.phase == pytest.approx(b.phase)


@each_file
def test_every_opening_is_labelled_or_at_least_listed(name: str, paper: PaperName) -> None:
    everything = " ".join(told(name, paper))
    for opening in scene(name).openings:
        assert opening.part in everything
    sheet_words = [
        item.words
        for page in pages(name, paper)
        for placed in page.drawings
        for item in placed.drawing.on(Operation.NOTE)
        if isinstance(item, Text)
    ]
    firsts = [w for w in sheet_words if w[:1].isdigit()]
    for face in {o.face for o in scene(name).openings}:
        count = sum(1 for o in scene(name).openings if o.face is face)
        numbers = {w.split("  ")[0] for w in firsts}
        assert {str(n) for n in range(1, count + 1)} <= numbers


@pytest.mark.parametrize("name", SCENES)
def test_same_bytes_twice(name: str) -> None:
    again = sheets(SCENES[name](), PaperName.A4, FINGERPRINT, hand_work("careful"))
    assert pdf_bytes(again, name) == pdf(name, PaperName.A4)


def test_a_build_without_openings_or_boards_has_no_sheets() -> None:
    assert sheets(assemble(build()), PaperName.A4, FINGERPRINT, hand_work("careful")) == ()


def test_paper_too_small_for_the_bars_is_refused() -> None:
    assert form(PaperName.A5, Lay.UPRIGHT).free.height > 50
    with pytest.raises(ValueError, match="A6 paper is too small"):
        form_of_size("A6", 105.0, 148.0, Lay.UPRIGHT)


def test_punch_crosses_are_open_in_the_middle() -> None:
    changed = scene("small")
    view = face_view(changed, changed.faces[FaceName.RIGHT])
    holes = [i.centre for i in view.drawing.on(Operation.DRILL) if isinstance(i, Circle)]
    arms = [i for i in view.drawing.on(Operation.MARK) if isinstance(i, Line)]
    for centre in set(holes):
        reach = [min(math.dist(arm.start, centre), math.dist(arm.end, centre)) for arm in arms]
        assert sorted(reach)[:4] == pytest.approx([0.5] * 4)
