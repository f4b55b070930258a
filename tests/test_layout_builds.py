"""The shipped builds with every place taken out: laid out at least as well as by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from fit.findings import Grade, Verdict
from fit.model.build import Build
from fit.pipeline import examine
from fit.read import load_build
from fit.solve.layout import Laid, lay_out
from fit.solve.run import Status
from fit.solve.settled import settled
from fit.solve.verdict import judged
from tests.conftest import ROOT
from tests.layout_cases import watch

NAMES = (
    "hive-scale",
    "gate-counter",
    "meter-box",
    pytest.param("bench-timer", marks=pytest.mark.slow),
)


def _bare(build: Build) -> Build:
    return replace(build, parts=tuple(replace(u, at=None) for u in build.parts))


@cache
def _shipped(name: str) -> Build:
    return load_build(ROOT / "boxes" / "builds" / f"{name}.yaml")


@cache
def _laid(name: str) -> Laid:
    return lay_out(_bare(_shipped(name)), watch())


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_build_without_places_is_laid_out_as_roomy_as_by_hand(name: str) -> None:
    laid = _laid(name)
    assert laid.status is Status.FOUND
    layout = laid.layout
    assert layout is not None
    assert layout.verdict.good
    # As good as the layout that somebody made by hand, measured by the same check.
    by_hand = judged(settled(_shipped(name)).scene.build, layout.verdict.movers)
    assert by_hand.good
    assert layout.margin >= by_hand.margin - 1e-6
    outcome = examine(layout.build, mending=False)
    assert outcome.verdict is not Verdict.CLASH
    assert not [f for f in outcome.findings if f.grade is Grade.CLASH]


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_same_answer_each_time(name: str) -> None:
    again = lay_out(_bare(_shipped(name)), watch()).layout
    first = _laid(name).layout
    assert again is not None
    assert first is not None
    assert again.puts == first.puts
    assert again.costs == first.costs


def test_the_same_answer_each_time_for_one_of_them() -> None:
    again = lay_out(_bare(_shipped("gate-counter")), watch()).layout
    first = _laid("gate-counter").layout
    assert again is not None
    assert first is not None
    assert again.puts == first.puts


def test_three_buttons_come_in_line_evenly_spaced_and_centred(tmp_path: Path) -> None:
    text = (ROOT / "boxes" / "builds" / "hive-scale.yaml").read_text()
    line = "  units: {use: press-12, on: right}\n"
    assert text.count(line) == 1
    path = tmp_path / "three.yaml"
    path.write_text(text.replace(line, line + line.replace("units", "hold")))
    layout = lay_out(_bare(load_build(path)), watch()).layout
    assert layout is not None
    placed = [layout.verdict.scene.placed[n] for n in ("tare", "units", "hold")]
    across = sorted(p.across for p in placed)
    assert max(p.up for p in placed) - min(p.up for p in placed) < 0.011
    assert across[1] - across[0] == pytest.approx(across[2] - across[1], abs=0.02)
    assert across[1] == pytest.approx(0.0, abs=0.02)
    # With room for a finger: what the check asks between two buttons, 13 mm, and 10 mm caps.
    assert across[1] - across[0] >= 23


def test_what_was_given_stays_where_it_is() -> None:
    build = _shipped("meter-box")
    free = replace(
        build,
        parts=tuple(
            replace(u, at=None) if u.name in ("supply", "card") else u for u in build.parts
        ),
    )
    layout = lay_out(free, watch()).layout
    assert layout is not None
    before = judged(build, ()).scene.placed
    for name in ("meter", "start", "stop"):
        here = layout.verdict.scene.placed[name]
        assert here.across == pytest.approx(before[name].across, abs=0.01)
        assert here.up == pytest.approx(before[name].up, abs=0.01)
