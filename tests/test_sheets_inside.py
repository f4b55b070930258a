"""Sheets for the inside of a wall, measured in the files: mirrored as the eye sees them."""

from __future__ import annotations

import math
from functools import cache

import pytest

from fit.draw.asked import Asked
from fit.draw.drawing import Anchor, Arc, Circle, Line, Node, Path, Text, item_box
from fit.draw.inside import mirrored_item
from fit.draw.pdf import pdf_bytes
from fit.draw.pens import CUT
from fit.draw.sheets import sheets
from fit.geometry.box import Face
from fit.geometry.frames import Vec, cross, dot, scale, sub
from fit.geometry.scene import Cut, Scene
from fit.model.words import UPRIGHT, FaceName
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_ink import Stroke, letters, overlapping, rounds, same_shape, strokes, words
from tests.draw_scenes import small

FACES = (FaceName.FRONT, FaceName.RIGHT, FaceName.BACK, FaceName.LID)


@cache
def scene() -> Scene:
    return small()


@cache
def pdf(paper: PaperName = PaperName.A4) -> bytes:
    pages = sheets(scene(), paper, "3f9a1c77", hand_work("careful"), asked=Asked(inside=True))
    return pdf_bytes(pages, "inside")


@cache
def ink(n: int) -> list[Stroke]:
    return strokes(pdf(), n)


def seen(face: Face, p: Vec) -> tuple[float, float]:
    """Where an eye in the box, looking straight at a wall, sees a point: to its right, up.

    It looks along the outward normal; its right hand is direction × up.
    """
    up = face.frame.y
    right = cross(face.frame.z, up)
    away = sub(p, face.frame.origin)
    return dot(away, right), dot(away, up)


def on_the_inner_skin(face: Face, across: float, up: float) -> Vec:
    return face.frame.point((across, up, -face.thickness))


def where(name: FaceName) -> tuple[int, tuple[float, float]]:
    """The page of a face's inside view and what to add to what the eye sees, mm."""
    face = scene().faces[name]
    corners = tuple(seen(face, on_the_inner_skin(face, *p)) for p in face.inner)
    title = f"{name.value.upper()}, seen from INSIDE"
    page = next(n for n, text in enumerate(words(pdf())) if title in text)
    if name in UPRIGHT:
        (edge,) = [s for s in ink(page) if s.closed and same_shape(s.points, corners, 0.01)]
    else:
        size = (max(x for x, _ in corners) - min(x for x, _ in corners),
                max(y for _, y in corners) - min(y for _, y in corners))  # fmt: skip
        # Edge and end of the flat wall are the same line here.
        edge = next(s for s in ink(page) if s.closed and s.size == pytest.approx(size, abs=0.01))
    x = min(x for x, _ in corners)
    y = min(y for _, y in corners)
    return page, (edge.box[0] - x, edge.box[1] - y)


@pytest.mark.parametrize("name", FACES)
def test_each_hole_is_where_an_eye_inside_sees_its_axis(name: FaceName) -> None:
    face = scene().faces[name]
    page, (dx, dy) = where(name)
    found = rounds(ink(page))
    holes = [o for o in scene().openings if o.face is name and o.cut is Cut.ROUND]
    for hole in holes:
        x, y = seen(face, on_the_inner_skin(face, hole.across, hole.up))
        radii = [r.radius for r in found if math.dist((r.x, r.y), (x + dx, y + dy)) < 0.01]
        assert any(r == pytest.approx(hole.diameter / 2, abs=0.01) for r in radii), hole.part
        # Drawn the way round it has from outside it would lie on the other side.
        if abs(hole.across) > 1 and not any(abs(o.across + hole.across) < 1 for o in holes):
            wrong = [r for r in found if math.dist((r.x, r.y), (dx - x, y + dy)) < 0.5]
            assert not wrong, hole.part


def test_a_window_and_a_slot_are_mirrored_too() -> None:
    face = scene().faces[FaceName.BACK]
    page, (dx, dy) = where(FaceName.BACK)
    slot = next(o for o in scene().openings if o.cut is Cut.RIM_SLOT)
    corners = [
        seen(face, on_the_inner_skin(face, slot.across + sx * slot.width / 2, up))
        for sx, up in ((-1, slot.up - slot.height / 2), (1, slot.up - slot.height / 2))
    ]
    want = sorted((x + dx, y + dy) for x, y in corners)
    bottoms = [
        sorted((a, b))
        for s in ink(page)
        for a, b in zip(s.points, s.points[1:], strict=False)
        if abs(a[1] - b[1]) < 0.01 and s.pen > 0.3
    ]
    assert any(math.dist(a, want[0]) < 0.01 and math.dist(b, want[1]) < 0.01 for a, b in bottoms)


def test_each_view_says_inside_and_names_the_edges_the_other_way_round() -> None:
    for name in FACES:
        title = f"{name.value.upper()}, seen from INSIDE"
        page, _ = where(name)
        text = words(pdf())[page]
        assert title in text
        assert "left and right are mirrored" in text.replace("\n", " ")
        # No view from outside shares its sheet.
        assert "seen from OUTSIDE" not in text
    face = scene().faces[FaceName.RIGHT]
    page, (dx, _) = where(FaceName.RIGHT)
    # Standing inside and looking at the right wall, the front of the box is on the right hand.
    front = seen(face, (0.0, -50.0, 30.0))[0]
    assert front > 0
    found = letters(pdf(), page)
    line = "".join(letter for letter, *_ in found)
    at = line.index("FRONTedge")
    middle = (seen(face, (75.0, 0.0, 30.0))[0]) + dx
    assert found[at][1] > middle


def test_distances_are_told_as_seen_from_inside() -> None:
    text = " ".join(" ".join(words(pdf())).split())
    outside, inside = text.split("from INSIDE", 1)
    # The tare button is 12 to the right from outside, so 12 to the left from inside.
    assert "tare Ø12 drill 3, step bit 12 12 right" in outside
    assert "tare Ø12 drill 3, step bit 12 12 left" in inside


def test_words_do_not_run_over_each_other() -> None:
    for n in range(len(words(pdf()))):
        assert overlapping(letters(pdf(), n), 0.05) == []


def test_without_asking_there_is_no_view_from_inside() -> None:
    pages = sheets(scene(), PaperName.A4, "3f9a1c77", hand_work("careful"))
    assert not any("INSIDE" in page.title for page in pages)


def test_mirroring_twice_changes_nothing_and_once_swaps_sides() -> None:
    q = math.tan(math.radians(90) / 4)
    items = (
        Line((1, 2), (3, 5), CUT),
        Circle((4, 1), 2, CUT),
        Arc((4, 1), 2, 30, 100, CUT),
        Path((Node(0, 0), Node(4, 0, q), Node(5, 1), Node(0, 3)), CUT),
        Text((3, 4), "words", 2.5, Anchor.UPPER_LEFT),
    )
    for item in items:
        once, box = item_box(mirrored_item(item)), item_box(item)
        assert (once.x0, once.y0, once.x1, once.y1) == pytest.approx(
            (-box.x1, box.y0, -box.x0, box.y1)
        )
        again = item_box(mirrored_item(mirrored_item(item)))
        assert (again.x0, again.y0) == pytest.approx((box.x0, box.y0))


def test_the_eye_of_this_test_is_right_handed() -> None:
    # Looking at the front wall from inside, the box's left (−X) is on the right hand.
    face = scene().faces[FaceName.FRONT]
    assert seen(face, (-10.0, -50.0, 20.0))[0] > 0
    assert dot(scale(face.frame.z, 1.0), (0.0, -1.0, 0.0)) > 0.99
