"""``fit place``: exit statuses, words, JSON, several ways, and places written into the file."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from fit.commands.app import run
from fit.commands.status import Status
from fit.model.build import Build
from fit.solve.free import free_parts
from fit.solve.layout import Laid, lay_out
from fit.solve.probe import probe
from fit.solve.run import Status as Ran
from tests.conftest import ROOT
from tests.layout_cases import BUTTON, box

Captured = pytest.CaptureFixture[str]

FRONT = BUTTON % "front"
TWO = f"  a: {FRONT}   # left as it is\n  b: {FRONT}\n"
TOO_MANY = "".join(f"  {n}: {{use: press-12, on: right}}\n" for n in "abcd")
TOO_LARGE = "  a: {use: meter-96x48, on: right}\n"


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def _file(text: str) -> Path:
    path = Path("mine.yaml")
    path.write_text(text)
    return path


def test_what_is_found_is_told_and_ends_with_0(capsys: Captured) -> None:
    assert run(["place", str(_file(box(TWO)))]) == Status.GOOD
    out = capsys.readouterr().out
    assert "front" in out
    assert "Least room" in out
    assert "Tidied, unasked: a and b in a row" in out
    assert "--write" in out


def test_a_clash_that_no_place_mends_ends_with_1_and_is_told(capsys: Captured) -> None:
    # A gland on the floor the box stands on, and nowhere else to go.
    assert run(["place", str(_file(box("  a: {use: gland-m12, on: floor}\n")))]) == Status.CLASH
    assert "Still a clash, wherever things are put: " in capsys.readouterr().out


def test_an_unusable_file_ends_with_3(capsys: Captured) -> None:
    assert run(["place", str(_file(box("  a: {use: no-such-part, on: front}\n")))]) == 3
    assert "mine.yaml:" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [["--take", "2"], ["--ways", "0"], ["--seconds", "0"], ["--draw", "x.png"]]
)
def test_wrong_use_ends_with_2(words: list[str], capsys: Captured) -> None:
    assert run(["place", str(_file(box(TWO))), *words]) == Status.WRONG_USE
    assert capsys.readouterr().err


def test_no_layout_ends_with_4_a_reason_and_ways_out(capsys: Captured) -> None:
    text = box(TOO_MANY, size="[120, 80, 36]")
    assert run(["place", str(_file(text))]) == Status.NO_LAYOUT
    out = capsys.readouterr().out
    assert "cannot be laid out: this is proved" in out
    assert "cannot all be on the right" in out
    assert "What would help" in out


def test_out_of_time_ends_with_5(capsys: Captured) -> None:
    build = ROOT / "tests" / "data" / "full" / "builds" / "everything-free.yaml"
    assert run(["place", str(build), "--seconds", "0.1"]) == Status.OUT_OF_TIME
    out = capsys.readouterr().out
    assert "ran out of time" in out
    assert "--seconds" in out


def _first_search_ends_with_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Build] = []

    def searched(build: Build, *given: Any, **more: Any) -> Laid:
        asked.append(build)
        if len(asked) > 1:
            return lay_out(build, *given, **more)
        free = free_parts(build)
        return Laid(build=build, free=free, status=Ran.OUT_OF_TIME, seen=probe(build, free))

    monkeypatch.setattr("fit.solve.layout.lay_out", searched)


def test_what_was_not_settled_is_told_with_ways_out(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search that ends with nothing: each way out was laid out and checked all the same."""

    file = str(_file(box(TOO_LARGE, size="[130, 80, 70]")))
    _first_search_ends_with_nothing(monkeypatch)
    assert run(["place", file]) == Status.OUT_OF_TIME
    out = capsys.readouterr().out
    _first_search_ends_with_nothing(monkeypatch)
    assert run(["place", file, "--json"]) == Status.OUT_OF_TIME
    data = json.loads(capsys.readouterr().out)["layout"]
    assert "before a layout was found or ruled out" in out
    assert "Give it longer" in out
    assert "What would help" in out
    assert data["status"] == "out_of_time"
    titles = [one["title"] for one in data["helps"]]
    assert titles
    assert all(title in out for title in titles)
    assert all(one["margin"] >= 0 for one in data["helps"])


def test_nothing_open_says_so(capsys: Captured) -> None:
    part = f"  a: {FRONT[:-1]}, at: {{across: 5, up: 20}}}}\n"
    assert run(["place", str(_file(box(part)))]) == Status.GOOD
    assert "leaves nothing open" in capsys.readouterr().out


def test_json(capsys: Captured) -> None:
    assert run(["place", str(_file(box(TWO))), "--json"]) == Status.GOOD
    data = json.loads(capsys.readouterr().out)
    layout = data["layout"]
    assert data["verdict"] in ("clear", "tight")
    assert layout["status"] == "found"
    assert layout["open"] == ["a", "b"]
    (way,) = layout["ways"]
    assert way["margin"] > 0
    assert way["places"]["a"]["face"] == "front"
    assert {"across", "up", "turn", "standoff", "gap"} < set(way["places"]["a"])
    assert {"say", "kept", "cost", "asked"} == set(way["wishes"][0])
    # The same numbers as in the part of the report every command has.
    assert data["placed"]["a"]["across"] == pytest.approx(way["places"]["a"]["across"], abs=0.01)


def test_json_of_a_refusal(capsys: Captured) -> None:
    text = box(TOO_LARGE, size="[130, 80, 70]")
    assert run(["place", str(_file(text)), "--json"]) == Status.NO_LAYOUT
    layout = json.loads(capsys.readouterr().out)["layout"]
    assert layout["status"] == "impossible"
    assert layout["reason"]["parts"] == ["a"]
    assert layout["reason"]["strict"] is True
    assert layout["reason"]["say"].startswith("'a' has no place on the right")
    assert {"title", "margin", "odds"} == set(layout["helps"][0])


def test_several_ways_differ(capsys: Captured) -> None:
    assert run(["place", str(_file(box(TWO))), "--ways", "3", "--json"]) == Status.GOOD
    ways = json.loads(capsys.readouterr().out)["layout"]["ways"]
    assert len(ways) == 3
    places = [{n: (p["face"], p["across"], p["up"]) for n, p in w["places"].items()} for w in ways]
    for k, one in enumerate(places):
        for two in places[k + 1 :]:
            assert any(abs(one[n][i] - two[n][i]) >= 10 - 1e-6 for n in one for i in (1, 2))


def test_write_changes_nothing_else_and_the_check_is_clear(capsys: Captured) -> None:
    path = _file(box(TWO, "  - row: [b, a]"))
    before = path.read_text()
    assert run(["place", str(path), "--write"]) == Status.GOOD
    after = path.read_text()
    changed = [
        (a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b
    ]
    assert [a.strip()[:2] for a, _ in changed] == ["a:", "b:"]
    assert all("at:" in b for _, b in changed)
    assert "   # left as it is\n" in after
    assert run(["check", str(path)]) == Status.GOOD
    capsys.readouterr()
    assert run(["place", str(path), "--write"]) == Status.GOOD
    told = capsys.readouterr()
    assert "nothing open" in told.out
    assert path.read_text() == after


def test_take_writes_that_way(capsys: Captured) -> None:
    path = _file(box(TWO))
    assert run(["place", str(path), "--ways", "2", "--json"]) == Status.GOOD
    second = json.loads(capsys.readouterr().out)["layout"]["ways"][1]["places"]
    assert run(["place", str(path), "--ways", "2", "--take", "2", "--write"]) == Status.GOOD
    capsys.readouterr()
    assert run(["check", str(path), "--json"]) == Status.GOOD
    placed = json.loads(capsys.readouterr().out)["placed"]
    for name, place in second.items():
        assert placed[name]["across"] == pytest.approx(place["across"], abs=0.01)
        assert placed[name]["up"] == pytest.approx(place["up"], abs=0.011)


def test_a_shipped_build_is_not_written_into(capsys: Captured) -> None:
    path = ROOT / "boxes" / "builds" / "hive-scale.yaml"
    before = path.read_bytes()
    assert run(["place", "hive-scale", "--write"]) == Status.WRONG_USE
    assert "belongs to fit itself" in capsys.readouterr().err
    assert path.read_bytes() == before


def test_ctrl_c_ends_with_130_and_tells_what_there_is(tmp_path: Path) -> None:
    build = tmp_path / "long.yaml"
    shutil.copy(ROOT / "tests" / "data" / "full" / "builds" / "everything-free.yaml", build)
    process = subprocess.Popen(
        [sys.executable, "-m", "fit", "place", str(build)],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    time.sleep(3)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == Status.INTERRUPTED, (out, err)
    assert "Traceback" not in err
    assert "stopped before" in out or "Least room" in out
