"""The table of a build in many boxes: true to the check, kept, split, joined, stopped."""

from __future__ import annotations

import json
import re
import shutil
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from fit.commands.app import run as run_fit
from fit.elsewhere import run as running
from fit.elsewhere.cache import CACHE, Kept, key
from fit.elsewhere.judge import Asked, Judge, at_home
from fit.elsewhere.row import Row, Sort, Ways, as_data, ordered, row_from
from fit.elsewhere.run import run
from fit.findings import UnusableInput
from fit.geometry.old_holes import told_reused
from fit.model.part import BushingPart
from fit.pipeline import InBox, compared, examine, read
from fit.read import ShellFile, load_build, read_shell, shell_files
from fit.read.schema_box import BoxKeys
from fit.read.sense_holes import sense_holes
from fit.solve.other.goes import first_clash
from fit.solve.other.ways import moved_to, ways
from fit.units import Length
from tests.boxes_random import opened
from tests.random_builds import random_build
from tests.random_holes import as_file

BUILDS = ("hive-scale", "gate-counter", "meter-box", "bench-timer", "barrel-alarm")

Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def cache_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test reads or writes the person's own cache."""
    where = tmp_path / "cache"
    monkeypatch.setenv(CACHE, str(where))
    return where


@pytest.fixture
def two_shells(tmp_path: Path, root: Path) -> Path:
    """A folder of two boxes."""
    folder = tmp_path / "shells"
    folder.mkdir()
    for name in ("tray-150x100x60", "twin-160x100x70"):
        shutil.copy(root / "boxes" / "shells" / f"{name}.yaml", folder)
    return folder


@pytest.mark.parametrize("name", BUILDS)
def test_every_row_agrees_with_the_check_run_alone(name: str) -> None:
    build = load_build(name)
    judge = Judge(build, Asked(ways=Ways.EACH, mends=False))
    rows = [row for file in shell_files(build) for row in running.rows_of(judge, file)]
    assert len({(r.box, r.way) for r in rows}) == len(rows) > 12
    assert {r.box for r in rows} == {file.name for file in shell_files(build)}
    for row in rows:
        within = InBox(
            box=row.box,
            stands_on=next(f for f in type(build.stands_on) if f == row.stands_on),
            carrier=next(h for h in type(build.carrier) if h == row.carrier),
            quarters=row.quarters,
        )
        try:
            moved = read(name, within)
            # Asked as the row was: without the layout solver.
            alone = compared(examine(moved.build, mending=False, layouts=False), moved)
        except UnusableInput as refused:
            told = (row.verdict, row.reason)
            right = (not row.goes) and (row.quick or told == ("", refused.problems[0].wrong))
        else:
            right = row.verdict == alone.verdict.value
        assert right, row
        if row.quick or not row.verdict:
            continue
        margins = [f for f in alone.findings if f.grade.value == "clash"]
        assert row.clashes == len(margins)
        assert row.reused == told_reused(alone.scene)
        assert row.reason == (margins[0].say if margins else "")
        assert list(row.moved) == (
            [] if alone.elsewhere is None else [s.words() for s in alone.elsewhere.shifts]
        )


def _holed_rows(seeds: Iterable[int]) -> Counter[str]:
    """Random builds with open places in random boxes with holes: rows against the check alone."""
    seen = Counter[str]()
    for seed in seeds:
        build = opened(seed)
        judge = Judge(build, Asked(ways=Ways.EACH, mends=False))
        box = opened(seed + 5000).box if seed % 2 else build.box
        for row in judge.rows(box):
            way = next(w for w in ways(build, box) if w.words(build) == row.way)
            moved = moved_to(build, box, way).build
            if not (row.quick or row.verdict):
                with pytest.raises(UnusableInput, match=re.escape(row.reason)):
                    examine(moved, mending=False, layouts=False)
                continue
            if row.quick:
                assert first_clash(moved) is not None, seed
                continue
            alone = examine(moved, mending=False, layouts=False)
            assert row.verdict == alone.verdict.value, seed
            assert row.reused == told_reused(alone.scene), seed
            seen["reused"] += bool(row.reused)
            seen["go"] += row.goes
            seen["both"] += row.goes and bool(row.reused)
    return seen


def test_rows_in_boxes_with_holes_agree_with_the_check_run_alone() -> None:
    seen = _holed_rows((4, 6))
    assert min(seen["reused"], seen["go"], seen["both"]) > 5


@pytest.mark.slow
def test_more_rows_in_boxes_with_holes_agree_with_the_check_run_alone() -> None:
    seen = _holed_rows(range(100, 180))
    assert min(seen["reused"], seen["go"], seen["both"]) > 15


def test_holes_at_random_are_holes_a_box_file_may_have() -> None:
    """So that nothing is tested that no file can say."""
    said: list[object] = []
    for seed in range(25):
        box = random_build(seed, holes=True).build.box
        sense_holes(BoxKeys.model_validate(as_file(box)), lambda *told: said.append(told))
        assert len(box.holes) == 4
    assert said == []


@pytest.mark.slow
@pytest.mark.parametrize("name", BUILDS)
def test_every_row_agrees_with_the_command_run_alone(name: str, capsys: Captured) -> None:
    run_fit(["boxes", name, "--no-mends", "--json", "--no-cache"])
    for row in json.loads(capsys.readouterr().out)["rows"]:
        words = ["--box", row["box"], "--stands-on", row["stands_on"], "--carrier", row["carrier"]]
        words += ["--turn-box", str(90 * row["quarters"]), "--json"]
        status = run_fit(["check", name, *words])
        alone = json.loads(capsys.readouterr().out)
        goes = row["verdict"] in ("clear", "tight")
        assert goes is (status == 0), row
        assert goes is (alone["verdict"] in ("clear", "tight"))


def test_what_no_place_mends_is_told_without_a_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    """A button's neck wider than its hole, and a display whose place no row finds."""
    build = load_build("hive-scale")
    tare = build.part("tare")
    assert isinstance(tare.part, BushingPart)
    narrow = replace(tare, part=replace(tare.part, hole=Length(8)))
    parts = tuple(
        narrow if u.name == "tare" else replace(u, at=None) if u.name == "readout" else u
        for u in build.parts
    )
    build = replace(build, parts=parts)
    home = at_home(build)
    assert home is not None
    assert not home.scene.open
    alone = examine(home.scene.build, mending=False)

    def never(_: object) -> None:
        raise AssertionError

    judge = Judge(build, Asked(mends=False, layouts=True), home)
    monkeypatch.setattr("fit.elsewhere.judge.laid_out", never)
    for box in (build.box, replace(build.box, name="other", length=Length(152))):
        (row,) = judge.rows(box)
        assert (row.verdict, row.rule, row.clashes) == ("clash", "passes", 1)
        assert row.reason in {f.say for f in alone.findings}
    # Nothing of the kind: the solver is asked.
    good = replace(build, parts=tuple(tare if u.name == "tare" else u for u in parts))
    with pytest.raises(AssertionError):
        Judge(good, judge.asked, home).rows(replace(build.box, length=Length(152)))


def test_the_best_way_is_the_first_that_goes() -> None:
    build = load_build("gate-counter")
    files = {f.name: f for f in shell_files(build)}
    shell = read_shell(files["tray-150x100x60"], build)
    each = Judge(build, Asked(ways=Ways.EACH, mends=False)).rows(shell.box, shell.sources)
    (best,) = Judge(build, Asked(ways=Ways.BEST, mends=False)).rows(shell.box, shell.sources)
    (home,) = Judge(build, Asked(ways=Ways.HOME, mends=False)).rows(shell.box, shell.sources)
    assert not each[0].goes
    assert home == each[0]
    assert best == next(row for row in each if row.goes)
    assert best.way == "boards in the body"


def test_mends_in_the_table_leave_no_clash() -> None:
    build = load_build("bench-timer")
    files = {f.name: f for f in shell_files(build)}
    judge = Judge(build, Asked(ways=Ways.HOME))
    row = next(row for file in files.values() for row in running.rows_of(judge, file) if row.mend)
    now = examine(read("bench-timer", InBox(box=row.box)).build)
    for title in row.mend.split("; then "):
        assert now.verdict.value == "clash"
        mend = next(m for m in now.mends if m.title == title)
        now = examine(mend.build)
    assert now.verdict.value != "clash"


# --- order, files ---------------------------------------------------------------------------


def _row(box: str, **more: object) -> Row:
    return replace(Row(box=box, verdict="clear", spare=1.0, volume=100.0), **more)  # type: ignore[arg-type]


def test_sorting_puts_what_goes_first_whatever_is_asked() -> None:
    rows = [
        _row("small", spare=0.2, volume=50.0, far=9.0),
        _row("roomy", spare=5.0, volume=300.0, far=3.0),
        _row("same", far=0.0),
        _row("turned", far=0.0, changes=1, volume=10.0),
        _row("not", verdict="clash", volume=1.0),
        _row("nothing", verdict="", volume=1.0),
    ]
    names = {by: [row.box for row in ordered(rows, by)] for by in Sort}
    assert names[Sort.SMALLEST] == ["turned", "small", "same", "roomy", "not", "nothing"]
    assert names[Sort.ROOMIEST] == ["roomy", "turned", "same", "small", "not", "nothing"]
    assert names[Sort.LEAST_CHANGED] == ["same", "roomy", "small", "turned", "not", "nothing"]


def test_rows_survive_a_file_and_spoilt_ones_are_refused() -> None:
    row = _row("a", moved=("b 1.0 mm right",), outside=(1.0, 2.0, 3.0), odds=0.5)
    data = as_data(row)
    assert row_from(json.loads(json.dumps(data))) == row
    wrong: tuple[object, ...] = ({**data, "spare": "much"}, {**data, "more": 1}, {"box": "a"}, None)
    for spoilt in wrong:
        with pytest.raises(ValueError, match="row"):
            row_from(spoilt)


def test_parts_joined_give_the_same_bytes_as_one_run(tmp_path: Path, capsys: Captured) -> None:
    files = []
    for n in (1, 2, 3):
        run_fit(["boxes", "bench-timer", "--no-mends", "--part", f"{n}/3", "--json"])
        path = tmp_path / f"{n}.json"
        path.write_text(capsys.readouterr().out)
        files.append(str(path))
    # Parts carry pictures; a run that writes a page has them as well.
    page = tmp_path / "all.html"
    whole = ["boxes", "bench-timer", "--no-mends", "--html", str(page)]
    assert run_fit([*whole, "--json"]) == 0
    told = capsys.readouterr().out
    assert run_fit(["boxes", "--merge", *reversed(files), "--json"]) == 0
    assert capsys.readouterr().out == told
    joined = tmp_path / "joined.html"
    assert run_fit(["boxes", "--merge", *files, "--html", str(joined)]) == 0
    assert joined.read_bytes() == page.read_bytes()
    capsys.readouterr()
    assert run_fit(["boxes", "--merge", files[0], files[2]]) == 3
    assert "part 2/3 of this run is missing" in capsys.readouterr().err
    assert run_fit(["boxes", "--merge", *files, files[0]]) == 3
    assert "is there twice" in capsys.readouterr().err


def test_files_that_are_no_parts_are_told_by_name(tmp_path: Path, capsys: Captured) -> None:
    run_fit(["boxes", "bench-timer", "--no-mends", "--part", "1/2", "--json"])
    first = tmp_path / "first.json"
    first.write_text(capsys.readouterr().out)
    other = tmp_path / "other.json"
    other.write_text(first.read_text().replace('"bench-timer"', '"another"'))
    bad = tmp_path / "bad.json"
    bad.write_text("{")
    old = tmp_path / "old.json"
    old.write_text(first.read_text().replace('"fit": "', '"fit": "9'))
    for files, said in (
        ([first, other], f"{other.as_posix()}: this part belongs to another run"),
        ([bad], f"{bad.as_posix()}: this is no JSON"),
        ([tmp_path / "none.json"], "no such file"),
        ([old], "written by fit 9"),
    ):
        assert run_fit(["boxes", "--merge", *map(str, files)]) == 3
        assert said in capsys.readouterr().err


# --- the cache ------------------------------------------------------------------------------


def _judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The boxes that were judged, and not taken from the cache."""
    seen: list[str] = []
    known = running.rows_of

    def noted(judge: Judge, file: ShellFile) -> tuple[Row, ...]:
        seen.append(file.name)
        return known(judge, file)

    monkeypatch.setattr(running, "rows_of", noted)
    return seen


def test_a_changed_box_is_worked_out_anew_and_alone(
    two_shells: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = load_build("hive-scale")
    seen = _judged(monkeypatch)
    asked = Asked(mends=False)
    first = run(build, shell_files(build, two_shells), asked)
    again = run(build, shell_files(build, two_shells), asked)
    assert seen == ["tray-150x100x60", "twin-160x100x70"]
    assert (again.kept, again.rows) == (2, first.rows)
    twin = two_shells / "twin-160x100x70.yaml"
    twin.write_text(twin.read_text().replace("[160, 100, 70]", "[164, 100, 70]"))
    changed = run(build, shell_files(build, two_shells), asked)
    assert seen[2:] == ["twin-160x100x70"]
    assert changed.rows[1].outside[0] == 164
    assert changed.rows[0] == first.rows[0]
    run(build, shell_files(build, two_shells), asked, cached=False)
    assert len(seen) == 5


def test_a_hole_more_in_a_box_is_a_changed_box(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "used"
    folder.mkdir()
    used = folder / "tray-150x100x60-used.yaml"
    for name in ("tray-150x100x60", "tray-150x100x60-used"):
        shutil.copy(root / "boxes" / "shells" / f"{name}.yaml", folder)
    build = load_build("barrel-alarm")
    asked, seen = Asked(mends=False), _judged(monkeypatch)
    before = run(build, shell_files(build, folder), asked)
    assert before.rows[1].reused == (
        "cable for probe_cable",
        "knob for quiet",
        "rocker for power",
    )
    # The button's hole is too small for it now: it goes elsewhere.
    used.write_text(used.read_text().replace("diameter: 12.2 ± 0.1", "diameter: 6"))
    after = run(build, shell_files(build, folder), asked)
    assert seen[2:] == ["tray-150x100x60-used"]
    assert after.rows[1].reused == ("cable for probe_cable", "rocker for power")
    assert after.rows[0] == before.rows[0]


def test_other_wishes_another_build_or_a_new_rule_find_nothing_kept(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    build = load_build("hive-scale")
    keys = {
        key(build, ("a",)),
        key(build, ("b",)),
        key(load_build("bench-timer"), ("a",)),
        key(replace(build, sources=build.sources[:-1]), ("a",)),
    }
    monkeypatch.setattr("fit.elsewhere.cache.program", lambda: "other text")
    assert len(keys | {key(build, ("a",))}) == 5


@pytest.mark.parametrize("spoilt", [b"", b"{", b"[]", b'{"x": [1]}', b"\xff\xfe", b'{"x": 3}'])
def test_a_spoilt_cache_is_as_good_as_none(
    spoilt: bytes, two_shells: Path, cache_folder: Path
) -> None:
    build = load_build("hive-scale")
    files = shell_files(build, two_shells)
    first = run(build, files, Asked(mends=False))
    (kept,) = cache_folder.glob("rows-*.json")
    kept.write_bytes(spoilt)
    again = run(build, files, Asked(mends=False))
    assert (again.kept, again.rows) == (0, first.rows)


def test_a_cache_that_cannot_be_written_does_not_matter(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    kept = Kept(blocked, "name")
    kept.put("sha", (_row("a"),))
    kept.save()
    assert blocked.read_text() == "in the way"


# --- workers, Ctrl-C, words -----------------------------------------------------------------


def test_workers_give_the_same_rows(root: Path, tmp_path: Path) -> None:
    folder = tmp_path / "many"
    folder.mkdir()
    text = (root / "boxes" / "shells" / "tray-150x90x45.yaml").read_text()
    for n in range(16):
        named = text.replace("tray-150x90x45", f"box-{n:02}").replace("[150,", f"[{145 + n},")
        (folder / f"box-{n:02}.yaml").write_text(named)
    (folder / "bad.yaml").write_text("box: bad\noutside: [1, 2]\n")
    build = load_build("bench-timer")
    files = shell_files(build, folder)
    alone = run(build, files, Asked(mends=False), cached=False, workers=1)
    shared = run(build, files, Asked(mends=False), cached=False, workers=2)
    assert shared == alone
    assert (alone.rows[0].rule, alone.rows[0].goes) == ("file", False)
    assert "bad.yaml:1:1: 'walls' is missing" in alone.rows[0].reason
    assert any(row.goes for row in alone.rows)


def test_ctrl_c_keeps_what_is_done(
    two_shells: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    known = running.rows_of

    def stopped(judge: Judge, file: ShellFile) -> tuple[Row, ...]:
        if file.name.startswith("twin"):
            raise KeyboardInterrupt
        return known(judge, file)

    monkeypatch.setattr(running, "rows_of", stopped)
    words = ["boxes", "hive-scale", "--shells", str(two_shells)]
    assert run_fit(words) == 130
    told = capsys.readouterr().out
    assert told.startswith("tray-150x100x60  clear")
    assert told.rstrip().endswith("stopped with 1 boxes still to look at")
    monkeypatch.setattr(running, "rows_of", known)
    seen = _judged(monkeypatch)
    assert run_fit(words) == 0
    assert seen == ["twin-160x100x70"]


def test_the_page_stands_alone_and_shows_each_face(tmp_path: Path, capsys: Captured) -> None:
    page = tmp_path / "page.html"
    assert run_fit(["boxes", "hive-scale", "--html", str(page)]) == 0
    text = page.read_text()
    assert "<script" not in text
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    capsys.readouterr()
    pictures = [f"<svg{piece.split('</svg>')[0]}</svg>" for piece in text.split("<svg")[1:]]
    assert len(pictures) == 3
    found = []
    for picture in pictures:
        shapes = [e.tag.rpartition("}")[2] for e in ET.fromstring(picture).iter()]
        # Front, right and back: three outlines and a window, two buttons and a gland.
        assert shapes.count("path") == 4
        found.append(shapes.count("circle"))
    # The second-hand box has a hole in its front that nothing uses.
    assert sorted(found) == [3, 3, 4]


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["hive-scale", "--part", "0/3"], 2, "is no part"),
        (["hive-scale", "--part", "4/3"], 2, "is no part"),
        (["hive-scale", "meter-box"], 2, "one build at a time"),
        (["hive-scalp"], 3, "did you mean 'hive-scale'?"),
        (["hive-scale", "--shells", "nowhere"], 3, "there is no such folder"),
        (["hive-scale", "--around", "nothing"], 3, "there is no box called 'nothing'"),
        (["bench-timer", "--around", "tray-220x140x80"], 1, "does not go together in"),
    ],
)
def test_wrong_use_is_told_in_a_line(
    words: list[str], status: int, said: str, capsys: Captured
) -> None:
    assert run_fit(["boxes", *words]) == status
    err = capsys.readouterr().err
    assert said in " ".join(err.split())
    assert "Traceback" not in err


def test_no_box_that_goes_is_a_clash(two_shells: Path, capsys: Captured) -> None:
    assert run_fit(["boxes", "meter-box", "--shells", str(two_shells), "--no-mends"]) == 1
    assert "goes together in 0 of 2 boxes" in capsys.readouterr().out
