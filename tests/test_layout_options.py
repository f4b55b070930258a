"""Whatever else may be left open: faces, turns, standoffs, gaps, halves, one coordinate."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from fit.geometry.assemble import assemble
from fit.model.words import FaceName, Half
from fit.read import load_build
from fit.solve.layout import lay_out
from fit.solve.probe import PITCH
from fit.solve.run import Status
from tests.conftest import ROOT
from tests.layout_cases import BUTTON, at, box, found, laid, watch

BLOCK = "{use: {kind: holder, size: %s, fixing: tape}, on: %s%s}"


def _on_several(faces: str) -> str:
    return "  a: " + BUTTON % faces + "\n"


def test_the_face_with_room_is_taken(tmp_path: Path) -> None:
    full = "  m: " + BLOCK % ("[110, 40, 30]", "front", ", at: {across: 0, up: 24}") + "\n"
    layout = found(box(full + _on_several("[front, back]")), tmp_path)
    assert at(layout, "a").face is FaceName.BACK


def test_a_face_on_which_the_part_could_stand_nowhere_well_is_passed_over(tmp_path: Path) -> None:
    # The box would stand on its cable; the other face has no such fault.
    layout = found(box("  a: {use: gland-m12, on: [floor, right]}\n"), tmp_path)
    assert at(layout, "a").face is FaceName.RIGHT


def test_a_turn_is_taken_where_only_that_fits(tmp_path: Path) -> None:
    # 40 × 90 between walls 56 mm and 96 mm apart.
    part = "  m: " + BLOCK % ("[40, 90, 10]", "floor", ", turn: any") + "\n"
    layout = found(box(part, size="[100, 60, 40]"), tmp_path)
    assert layout.puts["m"].option.turn in (90, 270)


def test_a_standoff_is_taken_from_the_drawer(tmp_path: Path) -> None:
    # A small board with tall chips below a large one with tall chips, and the lid above: only one
    # spacer goes between.
    board = "{kind: board, stock: plain, size: %s, zones: [{name: chips, over: %s, height: %s}]}"
    small = board % ("[30, 30]", "[5, 5, 20, 20]", 12)
    large = board % ("[80, 50]", "[30, 10, 20, 20]", 15)
    parts = (
        f"  m: {{use: {small}, on: floor, standoff: 5, at: {{across: 0, up: 0}}}}\n"
        f"  b: {{use: {large}, on: floor, standoff: any, at: {{across: 0, up: 0}}}}\n"
    )
    more = "drawer: {bits: [3], spacers: [5, 10, 25, 40]}"
    text = box(parts).replace("drawer: small-kit\n", more + "\n")
    layout = found(text, tmp_path)
    assert layout.puts["b"].option.standoff == pytest.approx(25)


def test_a_window_gap_is_chosen_within_its_span(tmp_path: Path) -> None:
    parts = (
        "  d: {use: digits-4, on: front, at: {across: 0, up: 25},"
        " window: {filter: 2 mm, held: pushed_in, seen_from: 30, gap: [0.6, 6 mm]}}\n"
        "  m: " + BLOCK % ("[60, 20, 40]", "floor", ", at: {across: 0, up: -6}") + "\n"
    )
    layout = found(box(parts), tmp_path)
    gap = layout.puts["d"].option.gap
    assert gap is not None
    assert 0.6 <= gap <= 6


def test_the_other_half_carries_where_this_one_cannot(tmp_path: Path) -> None:
    # A tall block on the floor takes the body's room; below the lid there is some.
    parts = (
        "  m: " + BLOCK % ("[100, 70, 8]", "floor", ", at: {across: 0, up: 0}") + "\n"
        "  b: {use: {kind: board, stock: plain, size: [80, 50]}, on: carrier, standoff: 5}\n"
    )
    layout = found(box(parts, more="carrier: either"), tmp_path)
    assert layout.build.carrier is Half.LID


def test_one_coordinate_stays_as_given(tmp_path: Path) -> None:
    part = "  a: " + (BUTTON % "front")[:-1] + ", at: {up: {from_rim: 13.3}}}\n"
    layout = found(box(part), tmp_path)
    # The rim of a flat-lidded box 50 mm high is at 48.
    assert at(layout, "a").up == pytest.approx(48 - 13.3, abs=0.01)
    assert at(layout, "a").across == pytest.approx(0, abs=0.01)


def test_a_rim_switch_finds_its_place_along_the_rim(tmp_path: Path) -> None:
    parts = "  s: {use: slide-switch, on: right}\n"
    more = "  m: " + BLOCK % ("[20, 30, 20]", "right", ", at: {across: 0, up: 30}") + "\n"
    layout = found(box(parts + more), tmp_path)
    assert abs(at(layout, "s").across) > 10


def test_what_is_beside_a_free_part_goes_with_it(tmp_path: Path) -> None:
    beside = (BUTTON % "front")[:-1] + ", at: {beside: a, side: right, gap: 20}}"
    layout = found(box(f"  a: {BUTTON % 'front'}\n  b: {beside}\n"), tmp_path)
    # 20 mm between the corners of two nuts of 14 mm across flats.
    apart = 20 + 14 / math.cos(math.radians(30))
    assert at(layout, "b").across - at(layout, "a").across == pytest.approx(apart, abs=0.01)
    assert at(layout, "b").up == pytest.approx(at(layout, "a").up, abs=0.01)
    assert at(layout, "b").across < 50


def test_a_free_display_takes_the_board_behind_it_along_by_whole_holes() -> None:
    build = load_build(ROOT / "boxes" / "builds" / "hive-scale.yaml")
    free = replace(
        build,
        parts=tuple(replace(u, at=None) if u.name == "readout" else u for u in build.parts),
    )
    layout = lay_out(free, watch()).layout
    assert layout is not None
    assert layout.verdict.good
    board = layout.verdict.scene.placed["display_board"]
    assert board is not None
    # Its display is soldered in: whole holes from where the lying board's own holes are.
    before = assemble(build).placed
    moved = layout.verdict.scene.placed["readout"].across - before["readout"].across
    assert moved / PITCH == pytest.approx(round(moved / PITCH), abs=0.01)


def test_a_free_lying_board_takes_the_standing_one_along(tmp_path: Path) -> None:
    parts = (
        "  main: {use: {kind: board, stock: strips, size: [30 holes, 20 holes]}, on: floor,"
        " standoff: 8}\n"
        "  up: {use: {kind: board, stock: pads, size: [20 holes, 10 holes]}, joined_to: main,"
        " with: block-10, carries: [d]}\n"
        "  d: {use: digits-4, on: front, at: {across: 0, up: 34},"
        " window: {filter: 2 mm, held: pushed_in, seen_from: 30}}\n"
    )
    layout = found(box(parts, size="[150, 100, 60]"), tmp_path)
    scene = layout.verdict.scene
    assert not scene.open
    assert {"main", "up", "d"} <= set(scene.placed) | {b.name for b in scene.boards}


@pytest.mark.slow
def test_everything_at_once_is_answered() -> None:
    path = ROOT / "tests" / "data" / "full" / "builds" / "everything-free.yaml"
    answer = lay_out(load_build(path), watch(200))
    assert answer.status in (Status.FOUND, Status.IMPOSSIBLE)
    if answer.layout is not None:
        assert answer.layout.verdict.good


def test_nothing_open_is_laid_out_as_it_is(tmp_path: Path) -> None:
    part = "  a: " + (BUTTON % "front")[:-1] + ", at: {across: 5, up: 20}}\n"
    answer = laid(box(part), tmp_path)
    assert answer.free == ()
    assert answer.layout is not None
    assert answer.layout.puts == {}
