"""Parts that may go on several faces, and what belongs together: on one face where room allows."""

from __future__ import annotations

from pathlib import Path

import pytest

from fit.model.words import FaceName
from fit.solve.layout import Layout
from tests.layout_cases import BUTTON, at, box, found, kept

EITHER = BUTTON % "[front, lid]"


def _buttons(names: str) -> str:
    return "".join(f"  {n}: {EITHER}\n" for n in names)


def _faces(layout: Layout, names: str) -> set[FaceName | None]:
    return {at(layout, n).face for n in names}


def test_a_row_of_parts_that_may_go_on_several_faces_is_on_one(tmp_path: Path) -> None:
    layout = found(box(_buttons("abc"), "  - row: [a, b, c]"), tmp_path)
    assert kept(layout, "row")
    assert len(_faces(layout, "abc")) == 1
    assert len({round(at(layout, n).up, 2) for n in "abc"}) == 1
    assert at(layout, "a").across < at(layout, "b").across < at(layout, "c").across


def test_what_the_row_is_with_decides_the_face(tmp_path: Path) -> None:
    fixed = f"  a: {BUTTON[:-1] % 'front'}, at: {{across: -30, up: 18}}}}\n"
    layout = found(box(fixed + _buttons("b"), "  - in_line: [a, b]"), tmp_path)
    assert kept(layout, "in line")
    assert at(layout, "b").face is FaceName.FRONT
    assert at(layout, "b").up == pytest.approx(at(layout, "a").up, abs=0.011)


def test_a_row_for_which_no_face_has_room_is_given_up_and_said_so(tmp_path: Path) -> None:
    # Side by side with room for fingers six buttons of 12 mm need more than either side has.
    sides = "".join(f"  {n}: {BUTTON % '[left, right]'}\n" for n in "abcdef")
    layout = found(box(sides, "  - row: [a, b, c, d, e, f]", size="[120, 60, 80]"), tmp_path)
    assert not kept(layout, "row")
    (cost,) = [c for c in layout.costs if c.asked]
    assert cost.mm > 0


def test_alike_parts_nobody_speaks_of_share_a_face_and_a_row(tmp_path: Path) -> None:
    layout = found(box(_buttons("ab")), tmp_path)
    assert len(_faces(layout, "ab")) == 1
    assert at(layout, "a").up == pytest.approx(at(layout, "b").up, abs=0.011)


def test_what_is_to_be_near_still_chooses_its_face_by_that(tmp_path: Path) -> None:
    fixed = f"  a: {BUTTON[:-1] % 'lid'}, at: {{across: -30, up: 18}}}}\n"
    layout = found(box(fixed + _buttons("b"), "  - near: [a, b]"), tmp_path)
    assert at(layout, "b").face is FaceName.LID
