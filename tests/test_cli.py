"""The command line: words, streams and exit statuses, in-process and as a process of its own."""

from __future__ import annotations

import json
import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

import fit
from fit import pipeline
from fit.commands.app import run
from fit.commands.status import Status
from tests.conftest import ROOT, RunFit

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"
PLACE = re.compile(r"^(?P<file>[^:\n]+\.yaml):(?P<line>\d+)(:\d+)?: ", flags=re.MULTILINE)

Captured = pytest.CaptureFixture[str]


def _broken(tmp_path: Path, old: str, new: str) -> Path:
    """The hive scale with one thing changed for the worse."""
    text = HIVE.read_text()
    assert text.count(old) == 1, f"{old!r} is not once in the build"
    copy = tmp_path / "broken.yaml"
    copy.write_text(text.replace(old, new))
    return copy


def test_version(capsys: Captured) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"fit {fit.__version__}\n"


@pytest.mark.parametrize(
    "words",
    [
        ["measure", "x.yaml"],
        ["check"],
        ["check", "a.yaml", "b.yaml"],
        ["check", "--colour", "a.yaml"],
        ["make", "a.yaml", "--paper", "b5"],
        ["make", "a.yaml", "--out"],
        ["list", "screwdrivers"],
        ["schema", "house"],
        [],
    ],
    ids=" ".join,
)
def test_wrong_use_ends_with_2_and_says_something_on_stderr(
    words: list[str], capsys: Captured
) -> None:
    assert run(words) == Status.WRONG_USE
    told = capsys.readouterr()
    assert re.search(r"^(Usage: fit|Error: )", told.err + told.out, re.MULTILINE)
    assert "Traceback" not in told.err + told.out


@pytest.mark.parametrize("command", ["make", "check", "list", "schema"])
def test_every_command_explains_itself(command: str, capsys: Captured) -> None:
    assert run([command, "--help"]) == 0
    told = capsys.readouterr().out
    assert f"Usage: fit {command}" in told
    assert "\x1b" not in told


@pytest.mark.parametrize("path", BUILDS, ids=lambda p: p.stem)
def test_the_demo_builds_go_together(path: Path, capsys: Captured) -> None:
    status = run(["check", str(path)])
    told = capsys.readouterr().out
    assert status == Status.GOOD, told
    assert told.splitlines()[-1].startswith(f"{path.stem} goes together")


def test_there_is_a_demo_build() -> None:
    assert HIVE in BUILDS


def test_a_build_is_also_known_by_its_name(fit_process: RunFit) -> None:
    by_name = fit_process("check", "hive-scale", "--json")
    by_path = fit_process("check", HIVE, "--json")
    assert by_name.returncode == by_path.returncode == 0, by_name.stderr
    assert json.loads(by_name.stdout)["fingerprint"] == json.loads(by_path.stdout)["fingerprint"]


def test_json_is_all_there_is_on_stdout_and_keeps_its_names(capsys: Captured) -> None:
    assert run(["check", str(HIVE), "--json"]) == Status.GOOD
    told = json.loads(capsys.readouterr().out)
    # The names other programs rely on; more may be added, none may go.
    assert {"fit", "build", "box", "verdict", "findings", "placed", "openings", "files"} <= set(
        told
    )
    assert told["fit"] == fit.__version__
    assert told["build"] == "hive-scale"
    assert told["verdict"] in {"clear", "tight"}
    assert told["findings"], "a check that finds nothing has checked nothing"
    for finding in told["findings"]:
        assert {"rule", "grade", "about", "have", "need", "margin", "spread", "odds"} < set(finding)
        assert {"say", "mend", "where"} < set(finding)
        assert finding["grade"] in {"clear", "tight", "clash"}
    grades = [f["grade"] for f in told["findings"]]
    assert grades == sorted(grades, key=["clash", "tight", "clear"].index)
    assert {"tare", "units", "readout"} <= set(told["placed"])
    for place in told["placed"].values():
        assert {"face", "across", "up", "turn"} <= set(place)
    for opening in told["openings"]:
        assert {"part", "face", "shape", "across", "up", "steps"} < set(opening)
        assert ("diameter" in opening) or ("width" in opening and "height" in opening)


def test_a_clash_ends_with_1_and_names_its_line_first(tmp_path: Path, capsys: Captured) -> None:
    path = _broken(tmp_path, "up: {from_rim: 24}", "up: {from_rim: 2}")
    assert run(["check", str(path)]) == Status.CLASH
    told = capsys.readouterr().out
    first = PLACE.match(told)
    assert first, told
    assert Path(first["file"]).name == "broken.yaml"
    line = path.read_text().splitlines()[int(first["line"]) - 1]
    assert line.strip(), "the place is an empty line"
    assert ": clash: " in told.splitlines()[0]
    assert told.splitlines()[-1].startswith("hive-scale does not go together: ")


def test_all_shows_what_is_clear(capsys: Captured) -> None:
    run(["check", str(HIVE)])
    short = capsys.readouterr().out
    run(["check", str(HIVE), "--all"])
    full = capsys.readouterr().out
    hidden = re.search(r"^(\d+) findings? clear \(--all shows them\)$", short, re.MULTILINE)
    assert hidden
    assert full.count("clear: ") - short.count("clear: ") == int(hidden[1])


def test_unusable_input_lists_every_fault_and_ends_with_3(
    tmp_path: Path, fit_process: RunFit
) -> None:
    path = _broken(tmp_path, "hands: careful", "hans: careful\nstands_on: roof")
    path.write_text(path.read_text().replace("stands_on: lid", "", 1))
    ran = fit_process("make", path)
    assert ran.returncode == Status.UNUSABLE
    assert ran.stdout == ""
    assert "Traceback" not in ran.stderr
    assert len(PLACE.findall(ran.stderr)) == len(ran.stderr.splitlines()) >= 2
    assert "hans" in ran.stderr
    assert "roof" in ran.stderr
    assert not (tmp_path / "templates_out").exists()


def test_unusable_input_as_json(tmp_path: Path, capsys: Captured) -> None:
    path = _broken(tmp_path, "hands: careful", "hans: careful")
    assert run(["check", str(path), "--json"]) == Status.UNUSABLE
    told = json.loads(capsys.readouterr().out)
    assert told["verdict"] is None
    assert any("hans" in problem["wrong"] for problem in told["problems"])
    assert all(problem["where"]["file"] for problem in told["problems"])


@pytest.mark.parametrize(
    "contents",
    [b"", b"\xff\xfe\x00", b"- a\n- list\n", b"parts: [", b"\x00", b"&a [*a]", b"build: \t- x"],
    ids=["empty", "not text", "a list", "cut off", "a zero byte", "endless", "tab"],
)
def test_no_file_makes_it_break_down(contents: bytes, tmp_path: Path, capsys: Captured) -> None:
    path = tmp_path / "odd.yaml"
    path.write_bytes(contents)
    assert run(["check", str(path)]) == Status.UNUSABLE
    assert "odd.yaml" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["missing.yaml", "no-such-build", "."])
def test_a_file_that_is_not_there(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["check", name]) == Status.UNUSABLE
    assert name in capsys.readouterr().err


def test_a_fault_in_fit_is_told_in_two_lines_and_traced_on_request(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("hinge")

    monkeypatch.setattr(pipeline, "check", broken)
    assert run(["check", str(HIVE)]) == Status.FAULT
    told = capsys.readouterr()
    assert told.out == ""
    assert "ZeroDivisionError: hinge" in told.err
    assert "Traceback" not in told.err
    assert run(["check", str(HIVE), "--trace"]) == Status.FAULT
    assert "Traceback" in capsys.readouterr().err


def test_ctrl_c_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "check", stopped)
    assert run(["check", str(HIVE)]) == Status.INTERRUPTED
    told = capsys.readouterr()
    assert told.out + told.err == ""


def test_a_reader_that_leaves_early_changes_nothing() -> None:
    ran = subprocess.run(
        f"{sys.executable} -m fit check {HIVE} --all --json | head -n 1; echo ${{PIPESTATUS[0]}}",
        shell=True,
        executable="/bin/bash",
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout == "{\n0\n"
    assert ran.stderr == ""


def _on_a_terminal(**env: str) -> str:
    """What ``fit check`` shows on a terminal."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "fit", "check", str(HIVE), "--all"],
        cwd=ROOT,
        env=os.environ | {"TERM": "xterm-256color"} | env,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
    ) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # how Linux tells that the other end is closed
                break
            shown += piece
            if not piece:
                break
        process.wait(timeout=60)
    os.close(ours)
    return shown.decode()


def test_colour_only_adds_to_what_the_words_say(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    coloured, plain = _on_a_terminal(), _on_a_terminal(NO_COLOR="1")
    assert "\x1b[" in coloured
    assert "\x1b[" not in plain
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


@pytest.mark.parametrize("kind", ["boxes", "parts", "drawers", "builds"])
def test_list_names_every_file_of_the_catalogue(kind: str, capsys: Captured) -> None:
    folder = {"boxes": "shells"}.get(kind, kind)
    names = {p.stem for p in (ROOT / "boxes" / folder).glob("*.yaml")}
    assert run(["list", kind]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert {line.split()[0] for line in lines if line.startswith("  ")} == names
    assert names


def test_list_of_everything_and_as_json(capsys: Captured) -> None:
    assert run(["list"]) == 0
    text = capsys.readouterr().out
    assert run(["list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {"boxes", "parts", "drawers", "builds", "panels"}
    for entries in told.values():
        assert entries
        for entry in entries:
            assert entry["name"] in text


@pytest.mark.parametrize("kind", ["build", "box", "part", "drawer"])
def test_schema_prints_json_schema(kind: str, capsys: Captured) -> None:
    assert run(["schema", kind]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["$schema"].startswith("https://json-schema.org/")


def test_schema_writes_one_file_for_each_kind(tmp_path: Path, capsys: Captured) -> None:
    assert run(["schema", "--out", str(tmp_path / "schemas")]) == 0
    names = {p.name for p in (tmp_path / "schemas").iterdir()}
    assert names == {f"{kind}.schema.json" for kind in ("build", "box", "part", "drawer", "panel")}
    assert capsys.readouterr().out == ""


def test_a_check_loads_neither_the_cad_kernel_nor_the_writers() -> None:
    heavy = ("cadquery", "OCP", "reportlab", "ezdxf", "rich", "matplotlib", "scipy")
    code = (
        "import sys; from fit.commands.app import run; "
        f"run(['check', {str(HIVE)!r}]); "
        f"print([name for name in {heavy!r} if name in sys.modules], file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert ran.stderr.strip() == "[]"
