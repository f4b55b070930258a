"""``fit board``: its words, its lines for the file, its exit statuses."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import yaml

from fit import pipeline
from fit.commands.app import run
from fit.commands.status import Status
from fit.findings import Verdict
from fit.model.part import Board
from fit.read import load_build
from fit.units import PITCH
from tests.conftest import ROOT

BUILDS = ROOT / "boxes" / "builds"
WRONG = ROOT / "tests" / "wrong"

Captured = pytest.CaptureFixture[str]


class _Words(yaml.SafeLoader):
    """YAML whose `on` is a word, as in the files people write (YAML 1.2)."""


_Words.yaml_implicit_resolvers = {
    first: [(tag, form) for tag, form in known if tag != "tag:yaml.org,2002:bool"]
    for first, known in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def _board(capsys: Captured, *words: str, status: int = 0) -> dict[str, Any]:
    assert run(["board", *words, "--json"]) == status
    data: dict[str, Any] = json.loads(capsys.readouterr().out)
    return data


def _written(path: Path, told: dict[str, list[str]], tmp_path: Path) -> Path:
    """A copy of a build file with the lines that were told, put in as a person would."""
    data = yaml.load(path.read_text(), _Words)
    for name, lines in told.items():
        keys = yaml.load("\n".join(lines), _Words)
        for key, value in keys.items():
            part = data["parts"][name]
            (part if key in ("at", "with") else part["use"])[key] = value
    copy = tmp_path / "copy.yaml"
    copy.write_text(yaml.safe_dump(data, allow_unicode=True, sort_keys=False))
    return copy


@pytest.mark.parametrize("name", ["bench-timer", "meter-box"])
def test_the_lines_told_make_a_file_that_passes(
    name: str, tmp_path: Path, capsys: Captured
) -> None:
    path = BUILDS / f"{name}.yaml"
    found = _board(capsys, str(path))["boards"]
    assert found
    for board in found:
        assert board["status"] == "found"
        copy = _written(path, board["file"], tmp_path)
        assert pipeline.check(copy).verdict is not Verdict.CLASH
        part = load_build(copy).part(board["board"]).part
        assert isinstance(part, Board)
        assert part.size == pytest.approx(board["size"])


def test_every_board_is_told_in_words(capsys: Captured) -> None:
    boards = _board(capsys, "gate-counter")["boards"]
    assert run(["board", "gate-counter"]) == Status.GOOD
    text = capsys.readouterr().out
    assert len(boards) == 2
    for board in boards:
        across, up = (f"{v:.2f}".rstrip("0").rstrip(".") for v in board["size"])
        assert (
            f"{board['board']}: {board['columns']} columns × {board['rows']} rows of holes, "
            f"{across} × {up} mm, {board['cells']} holes"
        ) in text
        for away in board["away"]:
            (low, high), where = away["rows"], away["at"]
            assert re.search(rf"{where}( edge)?: rows? {low}(-{high})?, column", text)
        told = [limit["say"] for limit in board["limits"].values() if limit]
        assert len(told) >= 3
        assert all(say in text for say in told)
    assert "below: there it stands on the other board." in text
    pictures = [line for line in text.splitlines() if re.match(r"^ *\d* +[x#o.~]+$", line)]
    assert len(pictures) > sum(board["rows"] for board in boards)
    assert max(len(line) for line in pictures) <= 100


def test_a_picture_is_as_large_as_its_board(capsys: Captured) -> None:
    assert run(["board", "bench-timer"]) == Status.GOOD
    text = capsys.readouterr().out
    rows = [line.split()[-1] for line in text.splitlines() if re.match(r"^ *\d* +[x#o.~]+$", line)]
    told = re.search(r", (\d+) holes", text)
    assert told is not None
    assert sum(row.count("#") + row.count("o") for row in rows) == int(told[1])


def test_no_board_ends_with_4_and_says_why(capsys: Captured) -> None:
    data = _board(capsys, str(WRONG / "meter-box-wrong.yaml"), status=Status.NO_LAYOUT)
    assert data["boards"][0]["status"] == "impossible"
    assert "overlap by" in data["boards"][0]["reasons"][0]
    assert run(["board", str(WRONG / "meter-box-wrong.yaml")]) == Status.NO_LAYOUT
    assert "card: there is none" in capsys.readouterr().out


def test_a_clash_elsewhere_comes_first(capsys: Captured) -> None:
    path = WRONG / "gate-counter-wrong.yaml"
    assert run(["board", str(path)]) == Status.CLASH
    said = capsys.readouterr()
    assert "gate-counter-wrong.yaml:15" in said.err
    assert "mend this first" in said.err
    assert said.out == ""


def test_no_time_ends_with_5(capsys: Captured) -> None:
    data = _board(capsys, "hive-scale", "--board", "display_board", "--seconds", "0.1", status=5)
    assert data["boards"][0]["status"] == "out_of_time"
    assert data["boards"][0]["cut_short"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["hive-scale", "--board", "main_boad"], "did you mean 'main_board'?"),
        (["hive-scale", "--board", "display_board", "--area", "40"], "stands on another board"),
        (["meter-box", "--holes", "4"], "ask with --area"),
        (["meter-box", "--pair"], "stands on another"),
        (["meter-box", "--pair", "--area", "3"], "exclude each other"),
        (["meter-box", "--area", "3", "--out", "x"], "goes with the biggest board alone"),
        (["meter-box", "--notches", "-1"], "--notches"),
        (["meter-box", "--least-width", "1"], "--least-width"),
        (["meter-box", "--area", "nan"], "--area"),
        (["meter-box", "--seconds", "nan"], "--seconds"),
    ],
)
def test_wrong_use(words: list[str], said: str, capsys: Captured) -> None:
    assert run(["board", *words]) == Status.WRONG_USE
    assert said in " ".join(capsys.readouterr().err.split())


def test_fewer_notches_make_a_smaller_board(capsys: Captured) -> None:
    one, two = (_board(capsys, "bench-timer", "--notches", n)["boards"][0] for n in ("1", "2"))
    assert len(one["away"]) <= 1
    assert one["cells"] < two["cells"]


def test_without_notches_there_is_no_way_round_the_knob(capsys: Captured) -> None:
    data = _board(capsys, "bench-timer", "--notches", "0", status=Status.NO_LAYOUT)
    assert "part 'minutes'" in data["boards"][0]["reasons"][0]


def test_a_pair_of_boards(tmp_path: Path, capsys: Captured) -> None:
    path = BUILDS / "gate-counter.yaml"
    table = _board(capsys, str(path), "--pair")["tables"][0]
    assert (table["lying"], table["standing"]) == ("main_board", "display_board")
    for pair in table["pairs"]:
        copy = _written(path, pair["file"], tmp_path)
        assert pipeline.check(copy).verdict is not Verdict.CLASH
        part = load_build(copy).part("display_board").part
        assert isinstance(part, Board)
        assert part.size[1] == pytest.approx(pair["height"] * PITCH)


def test_a_room_for_a_board(tmp_path: Path, capsys: Captured) -> None:
    build = tmp_path / "small.yaml"
    build.write_text(
        "build: small\n"
        "drawer: small-kit\n"
        "box: {outside: [60, 50, 30], walls: {thickness: 2, draft: 1}, floor: 2,\n"
        "  lid: {kind: flat, thickness: 2}}\n"
        "parts:\n"
        "  board:\n"
        "    use: {kind: board, stock: pads, size: [9 holes, 9 holes], underside: 2,\n"
        "      holes: [[4.5 holes, 4.5 holes, 3.2]]}\n"
        "    on: floor\n"
        "    standoff: 6\n"
        "    at: {across: 0, up: 0}\n"
    )
    words = [str(build), "--holes", "120", "--seconds", "300"]
    room = _board(capsys, *words)["room"]
    assert room["proved"]
    assert room["board"]["cells"] >= 120
    assert room["inside"][0] % 0.5 == 0
    assert run(["board", *words]) == Status.GOOD
    text = capsys.readouterr().out
    assert "120 holes or more: inside" in text
    assert "Nothing smaller" in text


def test_sheets_of_the_boards_alone(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "sheets"
    board = _board(capsys, "bench-timer", "--out", str(out))["boards"][0]
    assert sorted(p.name for p in out.iterdir()) == [
        "board-board.dxf", "board-board.pdf", "board-board.svg", "report.json",
    ]  # fmt: skip
    page = pypdfium2.PdfDocument(out / "board-board.pdf")[0].get_textpage().get_text_range()
    assert f"Keep {board['columns']} columns and {board['rows']} rows" in page


def test_the_same_question_gets_the_same_answer(capsys: Captured) -> None:
    first = _board(capsys, "gate-counter", "--board", "display_board")
    assert _board(capsys, "gate-counter", "--board", "display_board") == first
