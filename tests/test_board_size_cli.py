"""Boards whose size is left open: what the commands say, and what goes into the file."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from fit.commands.app import run
from fit.commands.status import Status
from fit.findings import UnusableInput
from fit.model.part import Board
from fit.read import load_build
from fit.read.rewrite import Change, changes, with_places
from fit.solve.board_size import enlarged
from fit.solve.run import Watch
from fit.solve.settled import settled
from fit.units import PITCH, Length

Captured = pytest.CaptureFixture[str]

_HEAD = """\
# A board as large as goes in
build: little
box: {outside: [84, 64, 34], walls: {thickness: 2, draft: 1}, floor: 2,
  lid: {kind: flat, thickness: 2}}
drawer: small-kit
parts:
"""
_BOARD = """\
  board:   # the main one
    use:
      kind: board
      stock: pads
      size: biggest    # all there is room for
      underside: 2
      holes:
        - [2.5 holes, 2.5 holes, 3.2]   # the only screw
        - {x: 3.5 holes, diameter: 3.2, y: 16.51}
      zones:
        - name: chip
          over: [4 holes, 1 hole, 3 holes, 2 holes]   # its socket
          height: 8
    on: floor
    standoff: 6
    at: {across: 3, up: centre}    # for the switch
"""


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def _file(text: str) -> str:
    path = Path("little.yaml")
    path.write_bytes(text.encode())
    return str(path)


def _json(capsys: Captured, *words: str, status: int = 0) -> dict[str, Any]:
    assert run([*words, "--json"]) == status
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def test_fit_place_says_the_size_and_what_limits_it(capsys: Captured) -> None:
    name = _file(_HEAD + _BOARD)
    data = _json(capsys, "place", name)
    told = data["sizes"]["board"]
    assert data["verdict"] != "clash"
    assert set(told["limits"]) == {"left", "lower", "right", "upper"}
    assert told["size"] == pytest.approx([told["columns"] * PITCH, told["rows"] * PITCH])
    assert run(["place", name]) == Status.GOOD
    text = capsys.readouterr().out
    size = f"{told['columns']} columns × {told['rows']} rows of holes"
    assert f"board, whose size was open: {size}" in text
    for where, side in (("at the left", "left"), ("above", "upper")):
        assert f"no more {where}: {told['limits'][side]}" in text
    assert "with these places and sizes" in text
    assert run(["check", name]) == Status.GOOD
    assert f"    board: {size}" in capsys.readouterr().out


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_writing_changes_the_numbers_of_the_board_alone(capsys: Captured, line_end: str) -> None:
    text = (_HEAD + _BOARD).replace("\n", line_end)
    name = _file(text)
    told = _json(capsys, "place", name, "--write")["sizes"]["board"]
    columns, rows = told["columns"], told["rows"]
    new = Path(name).read_bytes().decode()
    old_lines, new_lines = text.split(line_end), new.split(line_end)
    assert len(old_lines) == len(new_lines)
    changed = {n for n, (a, b) in enumerate(zip(old_lines, new_lines, strict=True)) if a != b}
    keys = ("size:", "- [", "- {x:", "over:", "at:")
    assert {next(k for k in keys if k in old_lines[n]) for n in changed} <= set(keys)
    assert f"      size: [{columns} holes, {rows} holes]    # all there is room for" in new_lines
    hole = next(line for line in new_lines if "the only screw" in line)
    x, y = (float(v) for v in re.findall(r"([\d.]+) holes", hole))
    assert hole == f"        - [{x:g} holes, {y:g} holes, 3.2]   # the only screw"
    left, low = x - 2.5, y - 2.5
    assert left > 0
    assert low > 0
    over = next(line for line in new_lines if "over:" in line)
    assert over.startswith(
        f"          over: [{4 + left:g} holes, {1 + low:g} holes, 3 holes, 2 holes]   # its"
    )
    other = next(line for line in new_lines if "- {x:" in line)
    assert other == f"        - {{x: {3.5 + left:g} holes, diameter: 3.2, y: {6.5 + low:g} holes}}"
    # Written twice is written once, and what was written is what was found.
    board = load_build(name).part("board").part
    assert isinstance(board, Board)
    assert board.up_to is None
    assert board.size == pytest.approx(told["size"])
    assert run(["place", name, "--write"]) == Status.GOOD
    assert Path(name).read_bytes().decode() == new
    assert run(["check", name]) == Status.GOOD


def test_only_what_moved_is_written() -> None:
    text = _HEAD + _BOARD.replace("centre}", "centre }")
    build = load_build(_file(text))
    found = enlarged(settled(build, layouts=False).scene.build, Watch()).build
    wanted, carrier = changes(build, found)
    assert set(wanted) == {"board"}
    assert wanted["board"].up is None
    assert carrier is None
    new = with_places(text, wanted)
    assert "up: centre }    # for the switch" in new
    assert with_places(new, wanted) == new
    again, _ = changes(load_build(_file(new)), found)
    assert with_places(new, again) == new


def test_a_board_that_repeats_another_is_not_written() -> None:
    text = _HEAD + _BOARD.replace("    use:\n", "    use: &slab\n")
    text += "  second: {use: *slab, on: lid, standoff: 6, at: {across: 0, up: 0}}\n"
    build = load_build(_file(text))
    found = enlarged(settled(build, layouts=False).scene.build, Watch()).build
    wanted, _ = changes(build, found)
    with pytest.raises(UnusableInput, match="a change here would change both"):
        with_places(text, {"board": wanted["board"]})
    with pytest.raises(UnusableInput, match="write its keys out here"):
        with_places(text, {"second": wanted["second"]})


_STANDING = """\
  digits: {use: digits-4, on: front, at: {across: centre, up: 17}}
  front:
    use: {kind: board, stock: pads, size: {at_least: [24 holes, 9 holes]}}
    joined_to: board
    with: JOINT   # two of them
    carries: [digits]
"""


@pytest.mark.parametrize(
    ("joint", "written"),
    [
        ("block-10", "{kind: block, size: [10, 10, 10], count: 2, inset: 12.54, screw: 3}"),
        (
            "{kind: bracket, inset: 10, width: 8, legs: [12, 12], thickness: 1}",
            "{kind: bracket, inset: 12.54, width: 8, legs: [12, 12], thickness: 1}",
        ),
    ],
)
def test_a_joint_that_stays_where_it_is_gets_its_inset(joint: str, written: str) -> None:
    text = _HEAD + _BOARD + _STANDING.replace("JOINT", joint)
    build = load_build(_file(text))
    used = build.part("front")
    assert isinstance(used.part, Board)
    assert used.joint is not None
    wider = replace(used.part, size=(Length(26 * PITCH), used.part.size[1]), up_to=None)
    moved = replace(used, part=wider, joint=replace(used.joint, inset=Length(12.54)))
    new = with_places(text, {"front": Change(board=(used, moved))})
    size = "{at_least: [24 holes, 9 holes]}"
    assert new == text.replace(size, "[26 holes, 9 holes]").replace(joint, written)
    again = load_build(_file(new)).part("front").joint
    assert again is not None
    assert moved.joint is not None
    same = {key: getattr(moved.joint, key) for key in ("name", "about", "source", "where")}
    assert replace(again, **same) == moved.joint


def test_a_nose_moves_along_its_edge_only() -> None:
    noses = (
        "      noses:\n"
        "        - {name: usb, edge: lower, kind: plug, x: 5 holes, above: 2, reach: 4, width: 9,\n"
        "           height: 3}   # at the front\n"
        "        - {name: eye, edge: top, kind: plug, y: 9, x: 8, reach: 12, diameter: 4}\n"
    )
    text = _HEAD + _BOARD.replace("    on: floor\n", noses + "    on: floor\n")
    used = load_build(_file(text)).part("board")
    part = used.part
    assert isinstance(part, Board)
    by = Length(2 * PITCH)
    shifted = tuple(replace(n, x=Length(n.x + by), y=Length(n.y + PITCH)) for n in part.noses)
    moved = replace(used, part=replace(part, noses=shifted, up_to=None))
    new = with_places(text, {"board": Change(board=(used, moved))})
    assert "kind: plug, x: 7 holes, above: 2," in new
    assert "kind: plug, y: 11.54, x: 13.08, reach: 12" in new
    assert "height: 3}   # at the front" in new


def test_nothing_of_a_board_is_written_where_nothing_was_open() -> None:
    build = load_build(_file(_HEAD + _BOARD.replace("biggest", "[20 holes, 16 holes]")))
    assert changes(build, build) == ({}, None)
    assert Change() == Change(board=None)


def test_none_of_the_least_size_is_a_proper_no(capsys: Captured) -> None:
    text = _HEAD + _BOARD.replace("biggest", "{at_least: [28 holes, 30 holes]}")
    data = _json(capsys, "place", _file(text), status=Status.NO_LAYOUT)
    assert data["layout"]["status"] == "impossible"
    assert data["layout"]["reason"]["parts"] == ["board"]
    assert run(["place", _file(text)]) == Status.NO_LAYOUT
    out = capsys.readouterr().out
    assert "does not go in even at the least it has to be, 28 holes × 30 holes:" in out
    assert data["layout"]["reason"]["say"].split(".")[0] in out
    # The check itself says where the least board is in the way.
    assert run(["check", _file(text)]) == Status.CLASH
    assert "board: none goes in" in capsys.readouterr().out


def test_a_clash_elsewhere_comes_first(capsys: Captured) -> None:
    text = _HEAD + _BOARD + "  go: {use: press-12, on: right, at: {across: centre, up: 33}}\n"
    name = _file(text)
    data = _json(capsys, "place", name, status=Status.CLASH)
    assert data["sizes"] == {"board": None}
    assert run(["place", name]) == Status.CLASH
    assert "board, whose size is open, waits for this to be mended first:" in (
        capsys.readouterr().out
    )


def test_the_sheets_are_those_of_the_size_taken(capsys: Captured) -> None:
    name = _file(_HEAD + _BOARD)
    assert run(["make", name, "--out", "out", "--paper", "A4"]) == Status.GOOD
    capsys.readouterr()
    told = json.loads(Path("out/report.json").read_text())["sizes"]["board"]
    pages = pypdfium2.PdfDocument("out/sheets.pdf")
    text = "\n".join(page.get_textpage().get_text_range() for page in pages)
    assert f"Keep {told['columns']} columns and {told['rows']} rows" in text


def test_the_biggest_board_of_the_command_is_no_smaller(capsys: Captured) -> None:
    """With notches there may be more, and without them just as much."""
    name = _file(_HEAD + _BOARD)
    told = _json(capsys, "check", name)["sizes"]["board"]
    (board,) = _json(capsys, "board", name, "--notches", "0")["boards"]
    assert board["cells"] == told["columns"] * told["rows"]


def test_a_build_that_leaves_nothing_open_has_no_sizes(capsys: Captured) -> None:
    text = _HEAD + _BOARD.replace("biggest ", "[20 holes, 16 holes] ")
    data = _json(capsys, "place", _file(text))
    assert data["sizes"] == {}
    assert data["layout"]["ways"][0]["margin"] is None
    assert run(["place", _file(text)]) == Status.GOOD
    assert "leaves nothing open" in capsys.readouterr().out
