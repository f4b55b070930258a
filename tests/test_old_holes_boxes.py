"""Open places go onto holes that are there, rows tell which, and a box of one's own has a row."""

from __future__ import annotations

import json
import math
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fit.check.copies import Workshop
from fit.check.inspect import inspect
from fit.commands.app import run as run_fit
from fit.elsewhere import run as running
from fit.elsewhere.cache import CACHE
from fit.elsewhere.judge import Asked, Judge
from fit.elsewhere.row import as_data, row_from
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.old_holes import told_reused
from fit.pipeline import InBox, check
from fit.read import load_build, shell_files
from fit.solve.first import place_open
from fit.solve.settled import settled
from tests.old_holes import BUTTON, ROCKER, made, written

Captured = pytest.CaptureFixture[str]

HOLE = {"name": "h", "on": "front", "at": {"across": 20, "up": 25}, "diameter": 12.2}
WIDE = {"name": "w", "on": "front", "at": {"across": -20, "up": 25}, "diameter": 12.6}


@pytest.fixture(autouse=True)
def cache_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the person's own cache."""
    monkeypatch.setenv(CACHE, str(tmp_path / "cache"))


def used(on: Any = "front", use: Any = BUTTON, **more: Any) -> dict[str, Any]:
    return {"use": use, "on": on, **more}


def reused(path: Path, holes: list[dict[str, Any]], parts: dict[str, Any]) -> tuple[str, ...]:
    return told_reused(settled(made(path, holes, parts), layouts=False).scene)


def test_an_open_part_goes_onto_the_hole_that_fits_it_closest(tmp_path: Path) -> None:
    assert reused(tmp_path, [WIDE, HOLE], {"a": used()}) == ("h for a",)
    assert reused(tmp_path, [WIDE, HOLE], {"a": used(), "b": used()}) == ("h for a", "w for b")
    assert reused(tmp_path, [HOLE], {"a": used("back")}) == ()
    assert reused(tmp_path, [HOLE], {"a": used(["back", "front"])}) == ("h for a",)


def test_who_has_the_least_choice_goes_first(tmp_path: Path) -> None:
    other = {**WIDE, "on": "back"}
    parts = {"either": used(["front", "back"]), "front_only": used("front")}
    assert reused(tmp_path, [HOLE, other], parts) == ("w for either", "h for front_only")


def test_a_coordinate_that_is_given_stays(tmp_path: Path) -> None:
    for up, serves in ((25, True), (25.2, True), (26, False)):
        found = reused(tmp_path, [HOLE], {"a": used(at={"up": up})})
        assert (found == ("h for a",)) is serves, up


def test_a_cut_out_is_turned_to_its_hole_where_the_part_may_turn(tmp_path: Path) -> None:
    stands = {"name": "r", "on": "front", "at": {"across": 0, "up": 30}, "size": [13, 19.4]}
    assert reused(tmp_path, [stands], {"p": used(use=ROCKER)}) == ()
    assert reused(tmp_path, [stands], {"p": used(use=ROCKER, turn="any")}) == ("r for p",)


def test_no_hole_is_taken_that_makes_things_worse(tmp_path: Path) -> None:
    """A thing in the way behind the hole; the same thing a little aside."""
    for across, serves in ((20, False), (-20, True)):
        block = {"kind": "holder", "size": [30, 30, 40], "fixing": "tape"}
        at = {"across": -across, "up": -29}
        parts = {"a": used(), "cells": {"use": block, "on": "floor", "at": at}}
        found = reused(tmp_path, [HOLE], parts)
        assert (found == ("h for a",)) is serves


@pytest.mark.parametrize(
    ("wish", "serves"),
    [
        ({"near": ["a", "b"]}, False),
        ({"keep_out": {"on": "front", "from_left": 60}}, False),
        ({"keep_out": {"on": "back"}}, True),
        ({"finger_gap": 19}, False),
    ],
)
def test_a_wish_comes_before_a_hole(tmp_path: Path, wish: Any, serves: bool) -> None:
    path = written(tmp_path, [HOLE], {"a": used(), "b": used("right")})
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    path.write_text(yaml.safe_dump({**data, "wishes": [wish]}), encoding="utf-8")
    found = told_reused(settled(load_build(path), layouts=False).scene)
    assert (found == ("h for a",)) is serves


@pytest.mark.parametrize("name", ["hive-scale", "barrel-alarm"])
def test_what_the_check_says_is_no_worse_than_without_the_holes_in_mind(name: str) -> None:
    build = check(name, within=InBox(box="tray-150x100x60-used")).scene.build
    asked = replace(build, parts=load_build(name).parts)
    rows, found = assemble(place_open(asked).build), settled(asked, layouts=False).scene
    assert len(found.open) <= len(rows.open)
    assert len(told_reused(found)) > len(told_reused(rows))
    plain, now = (Counter(f.grade for f in inspect(scene)) for scene in (rows, found))
    assert now[Grade.CLASH] <= plain[Grade.CLASH]
    again = settled(asked, layouts=False).scene
    assert again.placed == found.placed


def test_a_row_reuses_what_the_check_alone_reuses(capsys: Captured) -> None:
    build = load_build("hive-scale")
    judge = Judge(build, Asked(mends=False, layouts=True))
    rows = [row for file in shell_files(build) for row in running.rows_of(judge, file)]
    told = 0
    for row in (row for row in rows if row.verdict and not row.quick):
        words = ["--box", row.box, "--stands-on", row.stands_on, "--carrier", row.carrier]
        words += ["--turn-box", str(90 * row.quarters), "--json"]
        run_fit(["check", "hive-scale", *words])
        openings = json.loads(capsys.readouterr().out)["openings"]
        alone = [f"{o['by']} for {o['part']}" for o in openings if o["by"]]
        assert list(row.reused) == list(dict.fromkeys(alone))
        told += bool(alone)
        assert row_from(json.loads(json.dumps(as_data(row)))) == row
    assert told == 1


def test_a_hole_that_serves_is_where_it_is_in_every_copy(tmp_path: Path) -> None:
    """No hand drills it: only what is not sure of the hole itself strays, and by no more."""
    sure, unsure = HOLE, {**WIDE, "diameter": "12.6 ± 0.6"}
    parts = {"a": used(at={"across": 20, "up": 25}), "b": used(at={"across": -20, "up": 25})}
    new = {"c": used("back", at={"across": 0, "up": 25})}
    plan = settled(made(tmp_path, [sure, unsure], {**parts, **new})).scene
    shop, rng = Workshop(plan), np.random.default_rng(3)
    strays: dict[str, list[float]] = {"a": [], "b": [], "c": []}
    for copy in (shop.make(shop.draw(rng)) for _ in range(60)):
        for was, now in zip(plan.openings, copy.openings, strict=True):
            strays[was.part].append(math.dist((was.across, was.up), (now.across, now.up)))
    assert max(strays["a"]) == 0
    assert 0.05 < max(strays["b"]) < 1.2
    assert max(strays["c"]) > 0.1


def test_the_table_tells_which_holes_serve(tmp_path: Path, capsys: Captured) -> None:
    html = tmp_path / "table.html"
    run_fit(["boxes", "barrel-alarm", "--ways", "home", "--no-mends", "--html", str(html)])
    told = capsys.readouterr().out
    assert "    reuses: cable for probe_cable; knob for quiet; rocker for power\n" in told
    text = html.read_text(encoding="utf-8")
    assert "<th>holes reused</th>" in text
    served = ("cable for probe_cable", "knob for quiet", "rocker for power")
    assert f"<td><ul>{''.join(f'<li>{words}</li>' for words in served)}</ul></td>" in text


def test_the_check_says_what_becomes_of_each_hole(capsys: Captured) -> None:
    assert run_fit(["check", "barrel-alarm"]) == 0
    lines = capsys.readouterr().out.splitlines()
    told = [line.removeprefix("Holes of the box that ") for line in lines if "Holes of" in line]
    assert told == [
        "serve, nothing to cut there: cable for probe_cable, knob for quiet, rocker for power",
        "are opened up, with no twist bit: lamp for lamp",
    ]
    run_fit(["check", "hive-scale", "--box", "tray-150x100x60-used"])
    assert "that stay bare: plug them: rocker, lamp" in capsys.readouterr().out
    run_fit(["check", "hive-scale"])
    assert "Holes of the box" not in capsys.readouterr().out


def test_compare_sets_what_is_reused_side_by_side(capsys: Captured) -> None:
    words = ["compare", "hive-scale", "--in", "tray-150x100x60-used", "--json"]
    assert run_fit(words) == 0
    figures = {f["what"]: f for f in json.loads(capsys.readouterr().out)["figures"]}
    assert figures["holes reused"]["a"] == "none"
    assert figures["holes reused"]["b"] == "knob for tare; cable for cell_cable"
    assert figures["openings to cut"] == {"what": "openings to cut", "a": "4", "b": "2"}


# --- a box described in the build's own file ------------------------------------------------


def rows_of(out: str) -> dict[str, Any]:
    return {row["box"]: row for row in json.loads(out)["rows"]}


def test_a_box_of_the_builds_own_has_its_row(tmp_path: Path, capsys: Captured) -> None:
    path = written(tmp_path, [HOLE], {"a": used()})
    assert run_fit(["boxes", str(path), "--json", "--no-mends"]) == 0
    rows = rows_of(capsys.readouterr().out)
    own = rows["old (own box)"]
    assert own["verdict"] == "clear"
    assert own["reused"] == ["h for a"]
    assert own["moved"] == []
    alone = check(path)
    assert own["verdict"] == alone.verdict.value
    assert told_reused(alone.scene) == ("h for a",)
    assert len(rows) == len(shell_files(load_build("hive-scale"))) + 1


def test_it_is_kept_and_worked_out_anew_once_its_file_changes(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path, [HOLE], {"a": used()})
    run_fit(["boxes", str(path), "--json", "--no-mends"])
    first = capsys.readouterr().out
    seen: list[str] = []
    known = running.rows_of

    def judged(judge: Judge, file: Any) -> Any:
        seen.append(file.name)
        return known(judge, file)

    monkeypatch.setattr(running, "rows_of", judged)
    run_fit(["boxes", str(path), "--json", "--no-mends"])
    assert (capsys.readouterr().out, seen) == (first, [])
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    path.write_text(yaml.safe_dump({**data, "about": "another"}), encoding="utf-8")
    run_fit(["boxes", str(path), "--json", "--no-mends"])
    assert "old (own box)" in seen


def test_parts_of_a_run_hold_it_once(tmp_path: Path, capsys: Captured) -> None:
    path = written(tmp_path, [HOLE], {"a": used()})
    run_fit(["boxes", str(path), "--json", "--no-mends"])
    whole = rows_of(capsys.readouterr().out)
    files = []
    for n in (1, 2, 3):
        run_fit(["boxes", str(path), "--part", f"{n}/3", "--json", "--no-mends"])
        files.append(tmp_path / f"{n}.json")
        files[-1].write_text(capsys.readouterr().out, encoding="utf-8")
    assert sum("old (own box)" in file.read_text(encoding="utf-8") for file in files) == 1
    run_fit(["boxes", "--merge", *map(str, files), "--json"])
    joined = rows_of(capsys.readouterr().out)
    assert joined.keys() == whole.keys()
    assert joined["old (own box)"]["picture"].startswith("<svg")


def test_a_box_of_the_catalogue_and_a_folder_of_boxes_bring_no_such_row(tmp_path: Path) -> None:
    assert not any(file.own for file in shell_files(load_build("hive-scale")))
    build = made(tmp_path, [], {})
    assert [file.name for file in shell_files(build) if file.own] == ["old (own box)"]
    folder = tmp_path / "boxes"
    folder.mkdir()
    assert shell_files(build, folder) == ()


def test_place_puts_open_parts_on_holes_that_are_there_and_says_so(
    tmp_path: Path, capsys: Captured
) -> None:
    build = tmp_path / "second-hand.yaml"
    shipped = Path("boxes/builds/barrel-alarm.yaml").read_text(encoding="utf-8")
    build.write_text(shipped.replace("build: barrel-alarm", "build: second-hand"))
    assert run_fit(["place", str(build), "--write", "--draw", str(tmp_path / "p.svg")]) == 0
    served = "serve, nothing to cut there: cable for probe_cable, knob for quiet, rocker for power"
    assert served in capsys.readouterr().out
    # What was written is what the check finds served.
    assert "at:" in build.read_text().split("quiet:")[1].splitlines()[0]
    assert run_fit(["check", str(build)]) == 0
    assert served in capsys.readouterr().out
