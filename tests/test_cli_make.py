"""``fit make``: what lands in the folder, and what does not when something goes wrong."""

from __future__ import annotations

import hashlib
import json
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from fit import pipeline
from fit.commands.app import run
from fit.commands.status import Status
from tests.conftest import ROOT, RunFit

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"

Captured = pytest.CaptureFixture[str]


def _hashes(folder: Path) -> dict[str, str]:
    return {
        p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


def _report(folder: Path) -> dict[str, Any]:
    told = json.loads((folder / "report.json").read_text())
    assert isinstance(told, dict)
    return told


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of the hive scale, made once for this file; tests change copies."""
    folder = tmp_path_factory.mktemp("made") / "hive-scale"
    assert run(["make", str(HIVE), "--out", str(folder)]) == Status.GOOD
    return folder


@pytest.fixture
def results(made: Path, tmp_path: Path) -> Path:
    """A copy of those results, alone in a folder."""
    return Path(shutil.copytree(made, tmp_path / "place" / "hive-scale"))


@pytest.fixture
def clashing(tmp_path: Path) -> Path:
    """The hive scale with its window at the very rim."""
    text = HIVE.read_text()
    assert text.count("{from_rim: 24}") == 1
    path = tmp_path / "hive-scale.yaml"
    path.write_text(text.replace("{from_rim: 24}", "{from_rim: 2}"))
    return path


def test_every_kind_of_file_is_there(made: Path) -> None:
    told = _report(made)
    faces = {opening["face"] for opening in told["openings"]}
    boards = {"main_board", "display_board"}
    assert faces == {"front", "right", "back"}
    assert set(_hashes(made)) >= {
        "report.json",
        "sheets.pdf",
        "model.step",
        "model.glb",
        *(f"face-{face}.dxf" for face in faces),
        *(f"board-{board}.dxf" for board in boards),
    }


def test_the_report_lists_every_file_with_its_hash(made: Path) -> None:
    listed = {entry["path"]: entry["sha256"] for entry in _report(made)["files"]}
    found = _hashes(made)
    del found["report.json"]
    assert listed == found


def test_check_and_make_report_the_same(made: Path, capsys: Captured) -> None:
    run(["check", str(HIVE), "--json"])
    checked = json.loads(capsys.readouterr().out)
    assert checked.pop("files") == []
    told = _report(made)
    del told["files"]
    assert checked == told


def test_the_same_input_gives_the_same_bytes_from_anywhere(
    made: Path, tmp_path: Path, fit_process: RunFit
) -> None:
    ran = fit_process("make", "hive-scale", PYTHONHASHSEED="7", TZ="Asia/Tokyo", LANG="C")
    assert ran.returncode == Status.GOOD, ran.stderr
    again = _hashes(tmp_path / "templates_out" / "hive-scale")
    before = _hashes(made)
    # Only the report tells where the build file was found.
    assert again.pop("report.json")
    assert before.pop("report.json")
    assert again == before


def test_the_fingerprint_changes_with_the_text_and_not_with_its_place(
    tmp_path: Path, capsys: Captured
) -> None:
    (tmp_path / "deep").mkdir()
    copies = [tmp_path / "a.yaml", tmp_path / "deep" / "b.yaml", tmp_path / "c.yaml"]
    for copy in copies:
        shutil.copy(HIVE, copy)
    copies[2].write_text(HIVE.read_text() + "\n# changed\n")
    prints = []
    for path in (HIVE, *copies):
        run(["check", str(path), "--json"])
        prints.append(json.loads(capsys.readouterr().out)["fingerprint"])
    assert prints[0] == prints[1] == prints[2] != prints[3]
    assert all(len(p) == 8 and int(p, 16) >= 0 for p in prints)


def test_a_clash_takes_old_paper_away_and_leaves_the_report(
    results: Path, clashing: Path, capsys: Captured
) -> None:
    assert run(["make", str(clashing), "--out", str(results)]) == Status.CLASH
    assert set(_hashes(results)) == {"report.json"}
    assert _report(results)["verdict"] == "clash"
    assert _report(results)["files"] == []
    assert "no sheets" in capsys.readouterr().err


def test_anyway_writes_a_clashing_build_and_every_sheet_says_so(
    results: Path, clashing: Path
) -> None:
    import pdfplumber

    assert run(["make", str(clashing), "--out", str(results), "--anyway"]) == Status.CLASH
    with pdfplumber.open(results / "sheets.pdf") as pdf:
        assert pdf.pages
        for page in pdf.pages:
            assert "CLASH" in page.extract_text()


def test_good_sheets_do_not_say_clash(made: Path) -> None:
    import pdfplumber

    with pdfplumber.open(made / "sheets.pdf") as pdf:
        assert not any("CLASH" in page.extract_text() for page in pdf.pages)


@pytest.mark.parametrize(
    ("paper", "size"),
    # ISO 216 and ANSI/ASME Y14.1, mm.
    [("letter", (215.9, 279.4)), ("A3", (297.0, 420.0))],
)
def test_paper(paper: str, size: tuple[float, float], tmp_path: Path) -> None:
    import pypdfium2

    assert run(["make", str(HIVE), "--out", str(tmp_path / "o"), "--paper", paper]) == Status.GOOD
    pdf = pypdfium2.PdfDocument(tmp_path / "o" / "sheets.pdf")
    try:
        for page in pdf:
            seen = sorted(length * 25.4 / 72 for length in page.get_size())
            assert seen == pytest.approx(size, abs=0.01)
    finally:
        pdf.close()


class Broken(Exception):
    """A writer that fails in a way nobody foresaw."""


@pytest.mark.parametrize("error", [Broken, KeyboardInterrupt])
@pytest.mark.parametrize("step", ["checking", "writing sheets.pdf", "writing model.step"])
def test_whatever_breaks_at_whatever_step_the_old_results_stay(
    results: Path, step: str, error: type[BaseException]
) -> None:
    before = _hashes(results)
    reached = []

    def tell(words: str) -> None:
        if words == step:
            reached.append(words)
            raise error

    with pytest.raises(error):
        pipeline.make(HIVE, out=results, tell=tell)
    assert reached == [step]
    assert _hashes(results) == before
    assert [p.name for p in results.parent.iterdir()] == [results.name]


@pytest.mark.parametrize(
    ("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["ctrl-c", "kill"]
)
def test_a_process_stopped_while_it_writes_leaves_nothing_behind(
    results: Path, number: signal.Signals, status: int
) -> None:
    before = _hashes(results)
    with subprocess.Popen(
        [sys.executable, "-m", "fit", "make", HIVE, "--out", results],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        while process.poll() is None and not list(results.parent.glob(".*/sheets.pdf")):
            time.sleep(0.005)
        process.send_signal(number)
        out, err = process.communicate(timeout=60)
    assert process.returncode == status
    assert out + err == ""
    assert _hashes(results) == before
    assert [p.name for p in results.parent.iterdir()] == [results.name]


def test_a_disk_that_takes_no_more_is_told_plainly(results: Path) -> None:
    """A limit on file sizes stands in for a full disk: the system itself refuses to write."""
    before = _hashes(results)
    code = (
        "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)); "
        "from fit.commands import main; main()"
    )
    ran = subprocess.run(
        [sys.executable, "-B", "-c", code, "make", HIVE, "--out", results],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == Status.WRONG_USE, ran.stderr
    assert ran.stderr.startswith(f"cannot write {results}: ")
    assert "Traceback" not in ran.stderr
    assert _hashes(results) == before
    assert [p.name for p in results.parent.iterdir()] == [results.name]


def test_a_folder_with_a_diary_in_it_is_not_touched(results: Path, capsys: Captured) -> None:
    (results / "diary.txt").write_text("mine")
    before = _hashes(results)
    assert run(["make", str(HIVE), "--out", str(results)]) == Status.WRONG_USE
    assert "diary.txt" in capsys.readouterr().err
    assert _hashes(results) == before


def test_a_file_where_the_folder_should_be(tmp_path: Path, capsys: Captured) -> None:
    (tmp_path / "out").write_text("mine")
    assert run(["make", str(HIVE), "--out", str(tmp_path / "out")]) == Status.WRONG_USE
    assert "is a file" in capsys.readouterr().err
    assert (tmp_path / "out").read_text() == "mine"
