"""What is left open gets a place in every command: in rows, else by the layout solver."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fit.commands.status import Status
from fit.elsewhere.judge import Asked, Judge
from fit.findings import Verdict
from fit.model.build import Build
from fit.pipeline import examine
from fit.read import load_build
from fit.solve.layout import lay_out
from tests.conftest import ROOT, RunFit

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"


def open_display() -> Build:
    """The display's place left open too: no row of parts can settle that."""
    build = load_build(HIVE)
    return replace(
        build,
        parts=tuple(replace(u, at=None) if u.name == "readout" else u for u in build.parts),
    )


def test_rows_leave_a_display_open_and_the_check_places_it_all_the_same() -> None:
    build = open_display()
    quick = examine(build, mending=False, layouts=False)
    assert "readout" in quick.scene.open
    assert quick.verdict is Verdict.CLASH
    whole = examine(build, mending=False)
    assert not whole.scene.open
    assert whole.verdict is not Verdict.CLASH
    assert {"readout", "tare", "units"} <= set(whole.found)


def test_a_row_of_the_table_of_boxes_is_what_the_layout_solver_says_alone() -> None:
    build = open_display()
    plain = Judge(build, Asked(mends=False)).rows(build.box)[0]
    assert not plain.goes
    row = Judge(build, Asked(mends=False, layouts=True)).rows(build.box)[0]
    assert row.goes
    alone = lay_out(build)
    assert alone.layout is not None
    assert examine(alone.layout.build, mending=False).verdict is not Verdict.CLASH


def test_places_for_another_box_are_told_and_not_written(
    fit_process: RunFit, tmp_path: Path
) -> None:
    text = HIVE.read_text(encoding="utf-8").replace(
        "    at: {across: centre, up: {from_rim: 24}}\n", ""
    )
    path = tmp_path / "mine.yaml"
    path.write_text(text, encoding="utf-8")
    there = fit_process("place", path, "--box", "twin-160x100x70", "--draw", tmp_path / "a.svg")
    assert there.returncode == Status.GOOD, there.stderr
    assert "readout" in there.stdout
    assert "--write" not in there.stdout
    refused = fit_process("place", path, "--box", "twin-160x100x70", "--write")
    assert refused.returncode == Status.WRONG_USE
    assert path.read_text(encoding="utf-8") == text


@pytest.mark.slow
def test_the_example_of_the_readme_goes_together(fit_process: RunFit, tmp_path: Path) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    start = readme.index("build: greenhouse-fan")
    path = tmp_path / "greenhouse-fan.yaml"
    path.write_text(readme[start : readme.index("```", start)], encoding="utf-8")
    ran = fit_process("check", path)
    assert ran.returncode == Status.GOOD, ran.stdout
    assert "goes together" in ran.stdout
