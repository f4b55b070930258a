"""The neutral drawing: letters, outlines, cutting to a window."""

from __future__ import annotations

import math
from pathlib import Path as FilePath

import pytest
import reportlab
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFile

from fit.draw.clip import clipped
from fit.draw.drawing import (
    Anchor,
    Arc,
    Box,
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Node,
    Operation,
    Path,
    Pen,
    Point,
    Sketch,
    Text,
    bulge_arc,
    item_box,
    merged,
    path_pieces,
    rounded,
)
from fit.trade import lettering

PEN = Pen(width=0.25)
FONTS = FilePath(reportlab.__file__).parent / "fonts"
mm = st.floats(-200, 200).map(lambda v: round(v, 3))


@pytest.mark.parametrize(("bold", "file"), [(False, "Vera.ttf"), (True, "VeraBd.ttf")])
def test_letter_widths_are_those_of_the_font_file(bold: bool, file: str) -> None:
    # Outside source: the font itself, read by reportlab's own TrueType reader (per 1000 em).
    font = TTFontFile(str(FONTS / file))
    widths = lettering.WIDTHS[bold]
    assert len(widths) > 200
    for letter, units in widths.items():
        in_font = font.charWidths[ord(letter)]
        assert units / lettering.UNITS * 1000 == pytest.approx(in_font, abs=1e-6), letter


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("Ø12: 3 › 8", "Ø12: 3 › 8"),
        ("⌀12 → 8", "Ø12 › 8"),
        ("Łódź", "Łódz"),
        ("жук", "???"),
        ("tab\there", "tab here"),
    ],
)
def test_letters_the_font_lacks_are_replaced(typed: str, printed: str) -> None:
    assert lettering.printable(typed) == printed
    assert bool(lettering.unprintable(typed)) == ("?" in printed)


def test_letters_that_cannot_be_printed_are_named_once() -> None:
    assert lettering.unprintable("жужа, why?") == "жуа"
    assert lettering.unprintable("Ø 5 Ω → ñ?") == ""


def test_words_are_wrapped_and_shortened_to_the_room() -> None:
    words = "print at actual size and check the bars before cutting"
    lines = lettering.wrap(words, 2.5, 40.0)
    assert " ".join(lines) == words
    assert len(lines) > 1
    assert all(lettering.width(line, 2.5) <= 40.0 for line in lines)
    short = lettering.shorten(words, 2.5, 40.0)
    assert short.endswith("…")
    assert lettering.width(short, 2.5) <= 40.0
    assert lettering.shorten("short", 2.5, 40.0) == "short"


@given(st.sampled_from(Anchor), st.sampled_from([0.0, 90.0, 180.0, 37.0]), mm, mm)
def test_a_texts_box_lies_where_its_anchor_says(
    anchor: Anchor, turn: float, x: float, y: float
) -> None:
    text = Text((x, y), "Ready", 2.5, anchor, turn)
    a, b, c, d = text.corners()
    assert math.dist(a, b) == pytest.approx(lettering.width("Ready", 2.5))
    assert math.dist(a, d) == pytest.approx(math.dist(b, c))
    # The anchor lies in the letters' room, or on its edge.
    s, k = math.sin(math.radians(-turn)), math.cos(math.radians(-turn))
    near = [((p[0] - x) * k - (p[1] - y) * s, (p[0] - x) * s + (p[1] - y) * k) for p in (a, c)]
    assert near[0][0] <= 1e-9 <= near[1][0] + 2e-9
    assert near[0][1] <= 1e-9 <= near[1][1] + 2e-9


@given(mm, mm, mm, mm, st.floats(-4, 4).filter(lambda b: abs(b) > 0.01))
def test_a_bulge_is_the_arc_that_dxf_means(
    ax: float, ay: float, bx: float, by: float, bulge: float
) -> None:
    # Outside source: ezdxf's own arithmetic of bulges.
    from ezdxf.math import bulge_to_arc

    if math.dist((ax, ay), (bx, by)) < 0.1:
        return
    arc = bulge_arc((ax, ay), (bx, by), bulge, PEN)
    centre, start, end, radius = bulge_to_arc((ax, ay), (bx, by), bulge)
    assert arc.radius == pytest.approx(radius, rel=1e-9)
    assert arc.centre == pytest.approx((centre.x, centre.y), abs=1e-6 * (1 + radius))
    sweep = (math.degrees(end - start)) % 360
    assert arc.end - arc.start == pytest.approx(sweep, abs=1e-6)


def test_a_rounded_rectangle_has_the_room_and_the_length_it_should() -> None:
    path = rounded(Box(0, 0, 85.6, 53.98), 3.18, PEN)
    box = item_box(path)
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((0, 0, 85.6, 53.98), abs=1e-9)
    length = sum(
        math.dist(p.start, p.end)
        if isinstance(p, Line)
        else p.radius * math.radians(p.end - p.start)
        for p in path_pieces(path)
    )
    assert length == pytest.approx(2 * (85.6 + 53.98) - 8 * 3.18 + 2 * math.pi * 3.18)


def test_layers_come_in_painting_order_and_merge() -> None:
    one, other = Sketch("one"), Sketch("other")
    one.add(Operation.CUT, Line((0, 0), (1, 0), PEN))
    other.add(Operation.GUIDE, Line((0, 1), (1, 1), PEN))
    both = merged(one.done(), other.done())
    assert [layer.operation for layer in both.layers] == [Operation.GUIDE, Operation.CUT]
    assert both.box() == Box(0, 0, 1, 1)
    assert Sketch("empty").done().box() is None


points = st.tuples(mm, mm)
items: st.SearchStrategy[Item] = st.one_of(
    st.builds(Line, points, points, st.just(PEN)),
    st.builds(Circle, points, st.floats(0.5, 120), st.just(PEN)),
    st.builds(
        lambda c, r, s, w: Arc(c, r, s, s + w, PEN),
        points,
        st.floats(0.5, 120),
        st.floats(0, 360),
        st.floats(1, 360),
    ),
)
WINDOW = Box(-60.0, -40.0, 70.0, 50.0)


def _on(item: Item) -> list[Point]:
    """Points along an item, a fine comb."""
    if isinstance(item, Line):
        (x, y), (u, v) = item.start, item.end
        return [(x + (u - x) * t / 200, y + (v - y) * t / 200) for t in range(201)]
    if isinstance(item, Circle):
        item = Arc(item.centre, item.radius, 0, 360, PEN)
    assert isinstance(item, Arc)
    return [item.at(item.start + (item.end - item.start) * t / 400) for t in range(401)]


def _from(item: Item, point: Point) -> float:
    """Distance of a point from an item."""
    if isinstance(item, Line):
        (x, y), (u, v) = item.start, item.end
        length = math.dist(item.start, item.end) or 1e-12
        t = max(0.0, min(1.0, ((point[0] - x) * (u - x) + (point[1] - y) * (v - y)) / length**2))
        return math.dist(point, (x + (u - x) * t, y + (v - y) * t))
    if isinstance(item, Circle):
        item = Arc(item.centre, item.radius, 0, 360, PEN)
    assert isinstance(item, Arc)
    angle = math.degrees(math.atan2(point[1] - item.centre[1], point[0] - item.centre[0]))
    turned = item.start + (angle - item.start) % 360
    if turned <= item.end:
        return abs(math.dist(point, item.centre) - item.radius)
    return min(math.dist(point, item.at(a)) for a in (item.start, item.end))


@given(items)
def test_cutting_keeps_just_what_lies_in_the_window(item: Item) -> None:
    drawing = Drawing(name="x", layers=(Layer(operation=Operation.CUT, items=(item,)),))
    kept = clipped(drawing, WINDOW).items()
    for part in kept:
        assert WINDOW.holds(item_box(part), 1e-6)
        for point in _on(part):
            assert _from(item, point) < 1e-6
    for point in _on(item):
        if WINDOW.grown(-0.01).has(point):
            assert min((_from(part, point) for part in kept), default=1e9) < 1e-6


def test_words_and_painted_shapes_are_kept_whole_or_not_at_all() -> None:
    head = Path((Node(69, 0), Node(75, 0), Node(72, 5)), PEN, None)
    inside = Text((0, 0), "here", 2.5)
    drawing = Sketch("x")
    drawing.add(Operation.NOTE, inside, Text((68, 0), "cut in half", 2.5), head)
    kept = clipped(drawing.done(), WINDOW).items()
    assert [item for item in kept if isinstance(item, Text)] == [inside]
    assert not [item for item in kept if isinstance(item, Path)]
    assert len([item for item in kept if isinstance(item, Line)]) == 2


def test_a_cut_line_keeps_its_place_in_the_dash_pattern() -> None:
    drawing = Sketch("x")
    drawing.add(Operation.GUIDE, Line((-100, 0), (100, 0), PEN), Circle((70, 0), 10, PEN))
    line, *arcs = clipped(drawing.done(), WINDOW).items()
    assert isinstance(line, Line)
    assert line.phase == pytest.approx(40.0)
    assert [a.phase for a in arcs if isinstance(a, Arc)] == [pytest.approx(10 * math.pi / 2)]
