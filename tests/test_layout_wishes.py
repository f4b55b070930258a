"""Each kind of wish: kept where it can be, told where it cannot; measured on the result."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from fit.geometry.scene import Opening
from fit.solve.layout import Layout
from fit.solve.run import Status
from tests.layout_cases import BUTTON, at, box, found, kept, laid

FRONT = BUTTON % "front"
A_B_C = "".join(f"  {n}: {FRONT}\n" for n in "abc")
PRESSES = "".join(f"  {n}: {{use: press-12, on: front}}\n" for n in "ab")
NEAR = pytest.approx


def _buttons(names: str, face: str = "front") -> str:
    return "".join(f"  {n}: {BUTTON % face}\n" for n in names)


def _middle(layout: Layout, face: str, *, up: bool) -> float:
    outline = next(f for n, f in layout.verdict.scene.faces.items() if n == face).flat
    values = [p[up] for p in outline]
    return (min(values) + max(values)) / 2


@pytest.mark.parametrize(("stands_on", "sign"), [("floor", 1), ("lid", -1)])
def test_a_row_runs_left_to_right_as_the_viewer_sees_it(
    stands_on: str, sign: int, tmp_path: Path
) -> None:
    more = f"stands_on: {stands_on}"
    layout = found(box(A_B_C, "  - row: [c, a, b]", more), tmp_path)
    c, a, b = (at(layout, n) for n in "cab")
    assert kept(layout, "row")
    assert c.up == NEAR(a.up, abs=0.011)
    assert a.up == NEAR(b.up, abs=0.011)
    # Upside down the face's own right is the viewer's left.
    assert sign * (a.across - c.across) > 0
    assert a.across - c.across == NEAR(b.across - a.across, abs=0.021)


def test_a_row_of_unlike_parts_has_equal_gaps_between_them(tmp_path: Path) -> None:
    wide = "  w: {use: {kind: holder, size: [40, 12, 8], fixing: tape}, on: front}\n"
    layout = found(box(_buttons("ab") + wide, "  - row: [a, w, b]"), tmp_path)
    a, w, b = (at(layout, n) for n in "awb")
    assert kept(layout, "row")
    assert a.across < w.across < b.across
    assert w.across - a.across == NEAR(b.across - w.across, abs=0.03)


def test_a_row_that_has_no_room_is_given_up_and_said_so(tmp_path: Path) -> None:
    # Four buttons with finger room side by side need more than the 46 mm of the right side.
    text = box(_buttons("abcd", "right"), "  - row: [a, b, c, d]", size="[120, 60, 80]")
    layout = found(text, tmp_path)
    assert not kept(layout, "row")
    (cost,) = [c for c in layout.costs if c.asked]
    assert cost.mm > 0


def test_a_column_runs_from_the_top(tmp_path: Path) -> None:
    text = box(_buttons("ab"), "  - column: [a, b]", size="[120, 80, 80]")
    layout = found(text, tmp_path)
    assert kept(layout, "column")
    assert at(layout, "a").across == NEAR(at(layout, "b").across, abs=0.011)
    assert at(layout, "a").up > at(layout, "b").up


def test_a_column_upside_down_runs_from_what_is_the_top_then(tmp_path: Path) -> None:
    text = box(_buttons("ab"), "  - column: [a, b]", "stands_on: lid", size="[120, 80, 80]")
    layout = found(text, tmp_path)
    assert kept(layout, "column")
    assert at(layout, "a").up < at(layout, "b").up


def test_a_column_in_a_low_box_is_given_up(tmp_path: Path) -> None:
    text = box(_buttons("abc"), "  - column: [a, b, c]", size="[160, 80, 40]")
    assert not kept(found(text, tmp_path), "column")


@pytest.mark.parametrize(("along", "same"), [("across", "up"), ("up", "across")])
def test_in_line(along: str, same: str, tmp_path: Path) -> None:
    fixed = f"  a: {FRONT[:-1]}, at: {{across: -30, up: 18}}}}\n"
    text = box(
        fixed + _buttons("b"), f"  - {{in_line: [a, b], along: {along}}}", size="[120, 80, 90]"
    )
    layout = found(text, tmp_path)
    assert kept(layout, "in line")
    assert getattr(at(layout, "a"), same) == NEAR(getattr(at(layout, "b"), same), abs=0.011)
    assert at(layout, "a").across == NEAR(-30, abs=0.01)
    assert at(layout, "a").up == NEAR(18, abs=0.01)


def test_centred_on_the_face_and_on_a_part(tmp_path: Path) -> None:
    fixed = f"  a: {FRONT[:-1]}, at: {{across: -21.3, up: 18}}}}\n"
    wishes = "  - {centred: [b], on: a, along: across}\n  - centred: [c]\n"
    layout = found(box(fixed + _buttons("bc"), wishes, size="[140, 80, 90]"), tmp_path)
    assert at(layout, "b").across == NEAR(-21.3, abs=0.02)
    assert at(layout, "c").across == NEAR(_middle(layout, "front", up=False), abs=0.02)


def test_a_middle_that_is_taken_is_given_up(tmp_path: Path) -> None:
    big = "  m: {use: {kind: holder, size: [50, 40, 30], fixing: tape},"
    big += " on: front, at: {across: 0, up: 24}}\n"
    layout = found(box(big + _buttons("a"), "  - centred: [a]"), tmp_path)
    assert not kept(layout, "centred")
    assert abs(at(layout, "a").across) > 25


def _apart(layout: Layout, one: str, two: str) -> float:
    scene = layout.verdict.scene
    ends = []
    for name in (one, two):
        placed = scene.placed[name]
        assert placed.face is not None
        ends.append(scene.faces[placed.face].frame.point((placed.across, placed.up, 0.0)))
    return math.dist(*ends)


def test_near_and_far_pull_the_two_ways(tmp_path: Path) -> None:
    block = "  m: {use: {kind: holder, size: [20, 20, 10], fixing: tape},"
    block += " on: floor, at: {across: 40, up: 20}}\n"
    parts = block + _buttons("a")
    none, near, far = (
        found(box(parts, wish), tmp_path) for wish in ("", "  - near: [a, m]", "  - far: [a, m]")
    )
    assert _apart(near, "a", "m") < _apart(none, "a", "m") - 5
    assert _apart(far, "a", "m") > _apart(none, "a", "m") + 5
    assert kept(near, "near")
    assert kept(far, "far")
    # Seen from below the floor's right is the front's left: that is where near is.
    assert at(near, "a").across < -25
    assert at(far, "a").across > 35


def test_same_on_both_sides(tmp_path: Path) -> None:
    layout = found(box(_buttons("ab"), "  - same_both_sides: [a, b]"), tmp_path)
    assert kept(layout, "both sides")
    assert at(layout, "a").up == NEAR(at(layout, "b").up, abs=0.011)
    assert at(layout, "a").across == NEAR(-at(layout, "b").across, abs=0.021)


def test_order_at_any_height(tmp_path: Path) -> None:
    layout = found(box(A_B_C, "  - order: [b, c, a]"), tmp_path)
    assert kept(layout, "order")
    assert at(layout, "b").across < at(layout, "c").across < at(layout, "a").across


def test_an_order_against_fixed_parts_is_given_up(tmp_path: Path) -> None:
    fixed = f"  a: {FRONT[:-1]}, at: {{across: -44, up: 24}}}}\n"
    layout = found(box(fixed + _buttons("b"), "  - order: [b, a]"), tmp_path)
    assert not kept(layout, "order")


def _reach(opening: Opening) -> tuple[float, float]:
    return (opening.across - opening.diameter / 2, opening.across + opening.diameter / 2)


@pytest.mark.parametrize("knob", ["", ", knob: {diameter: 30, height: 12}"])
def test_keep_out_keeps_openings_and_what_stands_outside_off(knob: str, tmp_path: Path) -> None:
    part = "  a: " + FRONT.replace(", nut:", knob + ", nut:") + "\n"
    layout = found(box(part, "  - keep_out: {on: front, from_left: 40}"), tmp_path)
    (opening,) = layout.verdict.scene.openings
    # The front's flat inside runs from -60: what is kept free begins 40 mm from the left edge.
    half = 15 if knob else 7
    assert at(layout, "a").across + half <= -20 + 0.01
    assert _reach(opening)[1] <= -20
    assert kept(layout, "kept free")


def test_keep_out_of_a_whole_face_leaves_no_place(tmp_path: Path) -> None:
    answer = laid(box(_buttons("a"), "  - keep_out: {on: front}"), tmp_path)
    assert answer.status is Status.IMPOSSIBLE


def test_finger_gap_is_kept_between_controls(tmp_path: Path) -> None:
    layout = found(box(PRESSES, "  - finger_gap: 30 mm"), tmp_path)
    a, b = at(layout, "a"), at(layout, "b")
    # Between two caps of 10 mm.
    assert math.hypot(a.across - b.across, a.up - b.up) - 10 >= 30 - 0.01
    assert kept(layout, "finger")


def test_a_finger_gap_too_wide_for_the_face_leaves_no_place(tmp_path: Path) -> None:
    answer = laid(box(PRESSES, "  - finger_gap: 100 mm"), tmp_path)
    assert answer.status is Status.IMPOSSIBLE
