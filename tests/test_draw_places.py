"""Small pictures of layouts, read back from PDF and SVG: places, dimensions, words, reasons."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from random import Random
from typing import Any
from xml.etree import ElementTree

import pdfplumber
import pytest

from fit.draw.drawing import Box, Operation, Page, Text, item_box
from fit.draw.labels import crosses
from fit.draw.pdf import pdf_bytes
from fit.draw.places import (
    Reason,
    Shown,
    pages_svg,
    place_sheets,
    place_svg,
    reason_sheets,
    reason_svg,
)
from fit.draw.places_dims import apart
from fit.draw.places_page import MARGIN, in_rows
from fit.draw.view import segments
from fit.geometry.assemble import assemble
from fit.geometry.box import outside
from fit.geometry.frames import Vec, cross, dot, scale, sub
from fit.geometry.scene import Cut, Placed, Role, Scene
from fit.geometry.support import bounds
from fit.model.words import UPRIGHT, FaceName, Seat
from fit.read import load_build
from fit.solve.settled import settled
from fit.trade.paper import PaperName
from tests.draw_grilles import kinds
from tests.draw_ink import MM, Stroke, ink_box, letters, overlapping, rounds, strokes, words
from tests.draw_scenes import at, boards, build, crowded, large, small, tray
from tests.random_builds import random_build

BUILDS = ("hive-scale", "bench-timer", "gate-counter", "meter-box")
RANDOM = tuple(f"random {seed}" for seed in range(10))
MADE: dict[str, Callable[[], Scene]] = {
    "small": small,
    "large": large,
    "crowded": crowded,
    "boards": boards,
    "grilles": kinds,
    "on its back": lambda: assemble(replace(small().build, stands_on=FaceName.BACK)),
    "on its left": lambda: assemble(replace(small().build, stands_on=FaceName.LEFT)),
}
EVERY = (*BUILDS, *RANDOM, *MADE)
FEW = ("hive-scale", "bench-timer", "random 5", "small", "on its left")


@cache
def shown(name: str) -> Shown:
    """A layout; of shipped builds what is placed by the tool, of others every second part."""
    if name in BUILDS:
        found = settled(load_build(name))
        return Shown(scene=found.scene, found=frozenset(found.found), caption="as found")
    scene = MADE[name]() if name in MADE else assemble(random_build(int(name[7:])).build)
    parts = scene.build.parts
    return Shown(scene=scene, found=frozenset(u.name for u in parts[::2]), caption=name)


@cache
def pages(name: str) -> tuple[Page, ...]:
    return place_sheets((shown(name),), PaperName.A4)


@cache
def pdf(name: str) -> bytes:
    return pdf_bytes(pages(name), name)


@cache
def ink(name: str) -> list[Stroke]:
    return strokes(pdf(name), 0)


@cache
def typed(name: str) -> list[dict[str, Any]]:
    """The words of the page with their boxes from its lower left corner, mm, and their font."""
    with pdfplumber.open(io.BytesIO(pdf(name))) as document:
        page = document.pages[0]
        found = page.extract_words(x_tolerance=0.7, extra_attrs=["fontname"])
        return [
            {
                "text": word["text"],
                "bold": "Bold" in word["fontname"],
                "x0": word["x0"] * MM,
                "x1": word["x1"] * MM,
                "y0": (float(page.height) - word["bottom"]) * MM,
                "y1": (float(page.height) - word["top"]) * MM,
            }
            for word in found
        ]


def told_scale(text: str) -> float:
    """Paper mm for a true one, as a page says."""
    told = re.search(r"Scale 1:([\d.]+), not for drilling", text)
    assert told is not None
    return 1 / float(told[1])


def scale_of(name: str) -> float:
    return told_scale(words(pdf(name))[0])


def seen(scene: Scene, face: FaceName, point: Vec) -> tuple[float, float]:
    """A point as the viewer of a face sees it in use, true mm: right and up from its origin.

    From the box frame alone: up is away from what the box stands on, right is up × out.
    """
    frame = scene.faces[face].frame
    down = scene.faces[scene.build.stands_on].frame.z
    axes = (frame.x, frame.y, scale(frame.x, -1), scale(frame.y, -1))
    up = max(axes, key=lambda axis: -dot(axis, down))
    if abs(dot(frame.z, down)) > 0.7:
        up = frame.y
    away = sub(point, frame.origin)
    return dot(away, cross(up, frame.z)), dot(away, up)


def origin(name: str, view: str) -> tuple[float, float]:
    """Where a view's own origin lies on the page."""
    (found,) = [p for p in pages(name)[0].drawings if p.drawing.name == view]
    return found.x, found.y


def placed_on_faces(scene: Scene) -> list[tuple[str, FaceName, Placed]]:
    return [
        (name, placed.face, placed)
        for name, placed in scene.placed.items()
        if placed.face is not None and placed.used.on is not Seat.POSTS
    ]


def middle(name: str, face: FaceName, across: float, up: float) -> tuple[float, float]:
    """Where a point of a face must lie on the page."""
    scene = shown(name).scene
    x, y = seen(scene, face, scene.faces[face].frame.point((across, up, 0.0)))
    dx, dy = origin(name, face.value)
    return dx + x * scale_of(name), dy + y * scale_of(name)


@pytest.mark.parametrize("name", EVERY)
def test_every_round_hole_lies_where_the_scene_has_it(name: str) -> None:
    scene, k = shown(name).scene, scale_of(name)
    found = rounds(ink(name))
    holes = [o for o in scene.openings if o.cut is Cut.ROUND]
    for hole in holes:
        x, y = middle(name, hole.face, hole.across, hole.up)
        # 0.01 mm at true size.
        assert any(
            math.dist((c.x, c.y), (x, y)) < 0.01 * k + 1e-3
            and abs(c.radius - hole.diameter / 2 * k) < 0.01 * k
            for c in found
        ), hole


def leads(name: str, start: tuple[float, float]) -> list[tuple[float, float]]:
    """Where the thin straight lines that begin at a point or pass through it end, bends followed.

    Only those that leave the point level or upright for more than 5 mm.
    """
    lines = [s.points for s in ink(name) if len(s.points) == 2 and not s.closed and s.pen < 0.16]
    ends = []
    for a, b in lines:
        for near, far in ((a, b), (b, a)):
            k = 0 if abs(near[0] - far[0]) < 1e-3 else 1
            level = abs(near[k] - far[k]) < 1e-3
            on = abs(start[k] - near[k]) < 0.03 and level
            between = (near[1 - k] - start[1 - k]) * (start[1 - k] - far[1 - k]) >= -0.05
            if on and between and abs(far[1 - k] - start[1 - k]) > 5.0:
                ends += [q if math.dist(p, far) < 1e-3 else p for p, q in lines
                         if (p, q) != (a, b) and min(math.dist(p, far), math.dist(q, far)) < 1e-3
                         and 2.3 < abs(p[1 - k] - q[1 - k]) < 2.5]  # fmt: skip
    return ends


def told_at(name: str, end: tuple[float, float]) -> list[tuple[str, bool]]:
    """The numbers that stand at the end of a line, the nearest first."""

    def away(word: dict[str, Any]) -> float:
        dx = max(word["x0"] - end[0], end[0] - word["x1"], 0.0)
        dy = max(word["y0"] - end[1], end[1] - word["y1"], 0.0)
        return math.hypot(dx, dy)

    numbers = [w for w in typed(name) if re.fullmatch(r"[\d.]+", w["text"])]
    near = sorted((w for w in numbers if away(w) < 11.0), key=away)
    return [(w["text"], w["bold"]) for w in near]


@pytest.mark.parametrize(
    "name", [*BUILDS, *RANDOM, "small", "grilles", "on its back", "on its left"]
)
def test_each_placed_part_has_its_two_dimensions(name: str) -> None:
    scene = shown(name).scene
    for part, face, placed in placed_on_faces(scene):
        slots = [o for o in scene.openings if o.part == part and o.cut is Cut.RIM_SLOT]
        up = slots[0].up - slots[0].height / 2 if slots else placed.up
        spot = middle(name, face, placed.across, up)
        if face in UPRIGHT:
            wanted = [abs(placed.across), scene.faces[face].outline[2][1] - up]
        else:
            wanted = [abs(placed.across), abs(up)]
        ends = leads(name, spot)
        bold = part in shown(name).found
        for value in wanted:
            # One decimal is printed. What lies on the 0 itself has the centre line for its line.
            said = [told for end in ends for told in told_at(name, end)]
            assert value < 0.05 or (f"{value:.1f}".removesuffix(".0"), bold) in said, (part, value)


@pytest.mark.parametrize("name", EVERY)
def test_nothing_on_the_page_overlaps(name: str) -> None:
    assert min(ink_box(pdf(name), 0)) >= MARGIN - 0.2
    assert overlapping(letters(pdf(name), 0), 0.05) == []
    boxes = [
        (text.words, text.box().moved(p.x, p.y))
        for p in pages(name)[0].drawings
        for text in p.drawing.items()
        if isinstance(text, Text)
    ]
    for (a, one), (b, other) in combinations(boxes, 2):
        assert not one.grown(-0.05).meets(other), (a, b)


@pytest.mark.parametrize("name", EVERY)
def test_no_words_stand_on_a_cut_or_an_edge(name: str) -> None:
    placed = pages(name)[0].drawings
    lines = [
        ((a[0] + p.x, a[1] + p.y), (b[0] + p.x, b[1] + p.y))
        for p in placed
        for item in (*p.drawing.on(Operation.CUT), *p.drawing.on(Operation.EDGE))
        for a, b in segments(item)
    ]
    for p in placed:
        for text in p.drawing.items():
            if isinstance(text, Text):
                box = text.box().moved(p.x, p.y)
                assert not any(crosses(line, box) for line in lines), text.words


@pytest.mark.parametrize("name", EVERY)
def test_letters_are_two_millimetres_and_more(name: str) -> None:
    texts = [i for p in pages(name)[0].drawings for i in p.drawing.items() if isinstance(i, Text)]
    assert min(text.height for text in texts) >= 2.0


@pytest.mark.parametrize("name", EVERY)
def test_every_part_on_a_face_is_named(name: str) -> None:
    text = " ".join(words(pdf(name))[0].split())
    for part in {o.part for o in shown(name).scene.openings}:
        assert part in text


@pytest.mark.parametrize("name", EVERY)
def test_each_face_says_which_edge_is_the_rim(name: str) -> None:
    scene = shown(name).scene
    text = words(pdf(name))[0].split()
    faces = {o.face for o in scene.openings} | {f for _, f, _ in placed_on_faces(scene)}
    faces |= {b.seat for b in scene.bodies if b.outside and b.seat is not None}
    assert text.count("RIM") == len(faces & set(UPRIGHT))
    for face in faces:
        assert face.value.upper() in text
    for face in faces & set(UPRIGHT):
        box = next(p.drawing for p in pages(name)[0].drawings if p.drawing.name == face.value)
        (rim,) = [i for i in box.items() if isinstance(i, Text) and i.words == "RIM"]
        # Nearer to the middle of the rim than to that of the edge at the floor.
        out = scene.faces[face].outline
        ends = [
            middle(name, face, (a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            for a, b in ((out[2], out[3]), (out[0], out[1]))
        ]
        dx, dy = origin(name, face.value)
        spot = rim.box().moved(dx, dy).middle
        k = 1 if abs(ends[0][1] - ends[1][1]) > 1 else 0
        assert abs(spot[k] - ends[0][k]) < abs(spot[k] - ends[1][k])


def test_only_found_parts_are_marked() -> None:
    bold = {w["text"] for w in typed("hive-scale") if w["bold"]}
    assert {"tare", "units"} <= bold
    assert not bold & {"readout", "main_board", "cell_cable", "cells", "display_board"}


def test_without_a_found_part_the_mark_is_not_explained() -> None:
    assert "place found" in words(pdf("hive-scale"))[0]
    assert "place found" not in words(pdf("meter-box"))[0]


@pytest.mark.parametrize("name", FEW)
def test_the_plan_shows_walls_and_boards_where_they_are(name: str) -> None:
    scene, k = shown(name).scene, scale_of(name)
    dx, dy = origin(name, "plan")
    tray_ = scene.build.box
    level = outside(tray_, tray_.rim)
    boxes = [s.box for s in ink(name) if s.closed]

    def drawn(x0: float, y0: float, x1: float, y1: float) -> bool:
        want = (dx + x0 * k, dy + y0 * k, dx + x1 * k, dy + y1 * k)
        return any(box == pytest.approx(want, abs=0.01) for box in boxes)

    assert drawn(level.x0, level.y0, level.x1, level.y1)
    for board in scene.boards:
        rooms = [bounds(b.shape, b.pose) for b in scene.bodies if b.id == (board.name, "slab")]
        low = [min(r[0][i] for r in rooms) for i in (0, 1)]
        high = [max(r[1][i] for r in rooms) for i in (0, 1)]
        assert drawn(*low, *high), board.name


def test_the_scale_is_as_large_as_the_paper_takes() -> None:
    scales = []
    for paper in (PaperName.A3, PaperName.A4, PaperName.A5):
        text = words(pdf_bytes(place_sheets((shown("small"),), paper), "small"))[0]
        scales.append(told_scale(text))
    assert scales[0] > scales[1] > scales[2]


def test_a_paper_that_is_too_small_is_refused() -> None:
    huge = Shown(scene=assemble(build(tray(9000, 8000, 900))), found=frozenset(), caption="huge")
    with pytest.raises(ValueError, match="A5 paper is too small"):
        place_sheets((huge,), PaperName.A5)
    with pytest.raises(ValueError, match="no layout"):
        place_sheets((), PaperName.A4)


# --- several layouts ------------------------------------------------------------------------


@cache
def several(count: int) -> tuple[Shown, ...]:
    home = settled(load_build("hive-scale")).scene.build
    found = []
    for n in range(count):
        moved_to = {"tare": at(-14 - n, 26 + n), "units": at(16 + n / 2, 24)}
        parts = tuple(
            replace(u, at=moved_to[u.name], on=FaceName.LEFT if n == 2 else u.on)
            if u.name in moved_to
            else u
            for u in home.parts
        )
        scene = assemble(replace(home, parts=parts))
        caption = f"{n + 1}: {6 - n / 2:g} mm to spare"
        found.append(Shown(scene=scene, found=frozenset(moved_to), caption=caption))
    return tuple(found)


def test_layouts_stand_side_by_side_six_to_a_page_and_then_alone() -> None:
    layouts = several(7)
    drawn = place_sheets(layouts, PaperName.LETTER)
    data = pdf_bytes(drawn, "several")
    told = words(data)
    assert len(told) == 2 + 7
    for n, layout in enumerate(layouts):
        assert layout.caption in told[n // 6]
        assert layout.caption in told[2 + n]
    # Both faces on which any layout has a found part, for each layout; and the plan.
    assert [told[0].split().count(w) for w in ("RIGHT", "LEFT", "INSIDE", "FRONT")] == [6, 6, 6, 0]
    for n in (0, 1):
        assert overlapping(letters(data, n), 0.05) == []
        assert min(ink_box(data, n)) >= MARGIN - 0.2


def test_side_by_side_each_button_is_where_its_layout_has_it() -> None:
    layouts = several(3)
    page = place_sheets(layouts, PaperName.A4)[0]
    data = pdf_bytes((page,), "three")
    k = told_scale(words(data)[0])
    circles = rounds(strokes(data, 0))
    views = [p for p in page.drawings if p.drawing.name in ("right", "left")]
    assert [p.drawing.name for p in views] == ["right", "left"] * 3
    for n, layout in enumerate(layouts):
        for o in layout.scene.openings:
            if o.part in layout.found and o.role is Role.MOUNT:
                view = views[2 * n + (o.face is FaceName.LEFT)]
                frame = layout.scene.faces[o.face].frame
                x, y = seen(layout.scene, o.face, frame.point((o.across, o.up, 0.0)))
                want = (view.x + x * k, view.y + y * k)
                near = [c for c in circles if math.dist((c.x, c.y), want) < 0.01]
                assert any(abs(c.radius - o.diameter / 2 * k) < 0.01 for c in near), o.part


# --- SVG ------------------------------------------------------------------------------------

SPACE = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("name", FEW)
def test_svg_and_pdf_show_the_same_circles(name: str) -> None:
    tree = ElementTree.fromstring(place_svg((shown(name),)))
    rings = [
        [float(c.get(v, "nan")) for v in ("cx", "cy", "r")] for c in tree.iter(f"{SPACE}circle")
    ]
    assert rings
    printed = rounds(ink(name))
    # SVG counts from the drawing's own corner, down: the first ring tells where that is.
    told = tree.findtext(f"{SPACE}desc") or ""
    left, top = (float(v) for v in told.split("lies at ")[1].split(",")[0].split())
    height = pages(name)[0].height
    for cx, cy, r in rings:
        x, y = cx - left, top - cy + height
        assert any(
            math.dist((c.x, c.y), (x, y)) < 0.002 and abs(c.radius - r) < 0.001 for c in printed
        )


def test_the_same_layout_gives_the_same_bytes() -> None:
    one, other = (shown("small"), replace(shown("small"), scene=small()))
    assert place_svg((one,)) == place_svg((other,))
    sheets = place_sheets((other,), PaperName.A4)
    assert pdf_bytes(sheets, "small") == pdf("small")
    assert pages_svg(sheets, "hive-scale") == place_svg((one,))


def test_pages_of_one_svg_do_not_overlap() -> None:
    sheets = place_sheets(several(3), PaperName.A4)
    tree = ElementTree.fromstring(pages_svg(sheets, "x"))
    height = float(tree.get("height", "").removesuffix("mm"))
    assert height > sum(page.height for page in sheets)


# --- reasons --------------------------------------------------------------------------------

BUTTONS = (
    ("readout", 96.0, 40.0),
    ("tare", 62.0, 36.0),
    ("units", 62.0, 36.0),
    ("mode", 66.0, 36.0),
)


def why(room: tuple[float, float], parts: tuple[tuple[str, float, float], ...]) -> Reason:
    return Reason(face=FaceName.FRONT, room=room, parts=parts, say="Said in words.")


def reasoned(reason: Reason, paper: PaperName = PaperName.A4) -> bytes:
    return pdf_bytes(reason_sheets(reason, small().build, paper), "why")


def test_a_reason_shows_room_and_need_to_one_scale() -> None:
    data = reasoned(why((206.0, 55.0), BUTTONS))
    (text,) = words(data)
    for said in (
        *("free 206", "free 55", "needed 286", "80 too much", "needed 148", "93 too much"),
        "readout, tare, units and mode cannot all be on the FRONT",
        "Said in words.",
    ):
        assert said in " ".join(text.split())
    k = told_scale(text)
    sizes = [(s.size[0] / k, s.size[1] / k) for s in strokes(data, 0) if s.closed]
    assert sum(s == pytest.approx((206, 55), abs=0.02) for s in sizes) == 1
    for _, w, h in BUTTONS:
        # Once in the row, once in the pile; two parts are of one size.
        same = [p for p in BUTTONS if p[1:] == (w, h)]
        assert sum(s == pytest.approx((w, h), abs=0.02) for s in sizes) == 2 * len(same)
    rows = [s.box for s in strokes(data, 0) if s.closed and 0.2 < s.pen < 0.3]
    row = sorted(b for b in rows if abs(b[1] - min(r[1] for r in rows)) < 0.01)
    assert [round((b[2] - b[0]) / k, 1) for b in row] == [96, 62, 62, 66]
    assert all(a[2] == pytest.approx(b[0], abs=0.01) for a, b in pairwise(row))


def test_what_fits_is_not_called_too_much() -> None:
    text = words(reasoned(why((120.0, 60.0), (("start", 40.0, 22.0), ("stop", 42.0, 22.0)))))[0]
    assert "too much" not in text
    assert "needed 82" in text and "needed 44" in text
    alone = words(reasoned(why((60.0, 55.0), (("meter", 50.0, 70.0),))))[0]
    assert "meter has no place on the FRONT" in alone
    assert "70 high, 15 too much" in alone


@pytest.mark.parametrize("seed", range(25))
def test_reasons_of_any_size_are_legible(seed: int) -> None:
    rng = Random(seed)
    count = rng.choice((1, 2, 2, 3, 4, 6, 9, 12))
    parts = tuple(
        (f"part {n}", round(rng.uniform(4, 120), 1), round(rng.uniform(4, 90), 1))
        for n in range(count)
    )
    room = (round(rng.uniform(8, 300), 1), round(rng.uniform(8, 120), 1))
    (page,) = reason_sheets(why(room, parts), small().build, PaperName.A4)
    data = pdf_bytes((page,), "why")
    assert overlapping(letters(data, 0), 0.05) == []
    assert min(ink_box(data, 0)) >= MARGIN - 0.2
    text = " ".join(words(data)[0].split())
    for name, w, h in parts:
        assert name in text
        assert f"{w:g} × {h:g}" in text
    boxes = [
        (i.words, item_box(i).moved(p.x, p.y))
        for p in page.drawings
        for i in p.drawing.items()
        if isinstance(i, Text)
    ]
    for (a, one), (b, other) in combinations(boxes, 2):
        assert not one.grown(-0.05).meets(other), (a, b)


def test_a_reason_that_is_none_is_refused() -> None:
    for reason in (why((10.0, 10.0), ()), why((0.0, 10.0), (("a", 1.0, 1.0),)),
                   why((10.0, 10.0), (("a", 1.0, -1.0),))):  # fmt: skip
        with pytest.raises(ValueError, match="sizes above 0"):
            reason_sheets(reason, small().build, PaperName.A4)


def test_a_reason_as_svg_has_the_same_words() -> None:
    reason = why((206.0, 55.0), BUTTONS)
    tree = ElementTree.fromstring(reason_svg(reason, small().build))
    said = {text.text for text in tree.iter(f"{SPACE}text")}
    assert {"free 206", "needed 286", "80 too much"} <= said


# --- pieces ---------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(40))
def test_numbers_are_moved_apart_as_little_as_can_be(seed: int) -> None:
    rng = Random(seed)
    count = rng.randint(1, 9)
    wanted = sorted(rng.uniform(0, 40) for _ in range(count))
    sizes = [rng.uniform(2, 9) for _ in range(count)]
    places = apart(wanted, sizes, 1.0)
    for (a, sa), (b, sb) in pairwise(zip(places, sizes, strict=True)):
        assert b - a >= (sa + sb) / 2 + 1.0 - 1e-9
    # The min-max formula of isotonic regression (Barlow and others, 1972, theorem 1.4).
    offsets = [0.0]
    for sa, sb in pairwise(sizes):
        offsets.append(offsets[-1] + (sa + sb) / 2 + 1.0)
    free = [w - o for w, o in zip(wanted, offsets, strict=True)]

    def mean(a: int, b: int) -> float:
        return sum(free[a : b + 1]) / (b - a + 1)

    for n, place in enumerate(places):
        best = max(min(mean(a, b) for b in range(n, count)) for a in range(n + 1))
        assert place == pytest.approx(best + offsets[n])


@pytest.mark.parametrize("seed", range(40))
def test_rows_keep_order_and_do_not_overlap(seed: int) -> None:
    rng = Random(seed)
    rooms = [(rng.uniform(20, 90), rng.uniform(20, 70)) for _ in range(rng.randint(1, 7))]
    into = Box(10, 20, 200, rng.uniform(120, 290))
    found = in_rows(rooms, into, 6.0)
    if found is None:
        # Not even one below the other without the gaps could be told to fit from areas alone.
        assert sum((w + 6) * (h + 6) for w, h in rooms) > 0.25 * into.width * into.height
        return
    for (w, h), box in zip(rooms, found, strict=True):
        assert into.holds(box, 1e-6) and box.width >= w - 1e-9 and box.height >= h - 1e-9
    for one, other in pairwise(found):
        beside = other.x0 >= one.x1 + 6.0 - 1e-9 and other.y1 == pytest.approx(one.y1)
        assert beside or other.y1 <= one.y0 - 6.0 + 1e-9
