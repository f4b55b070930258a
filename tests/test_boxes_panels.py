"""Panels: groups of parts described once, used in several builds and boxes."""

from __future__ import annotations

from pathlib import Path

import pytest

from fit.commands.app import run
from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.model.build import Build
from fit.model.words import FaceName
from fit.pipeline import fingerprint
from fit.read import load_box, load_build
from fit.solve.other.ways import moved_to

PANEL = """\
panel: pair
about: Two buttons
parts:
  low: {use: press-12, at: [-15, -8]}
  high: {use: press-12, at: [15, 8], turn: 90}
"""

BUILD = """\
build: two-of-them
box: tray-220x140x80
drawer: small-kit
panels:
  a: {use: pair, on: front, at: {across: {from_left: 60}, up: {from_rim: 35}}}
  b: {use: pair, on: left, at: {across: {share: 0.5}, up: centre}}
parts:
  cells: {use: holder-3-aa, on: floor, at: {across: 0, up: 0}}
wires:
  - [a_low, b_high]
"""


def _write(folder: Path, build: str = BUILD, panel: str = PANEL) -> Path:
    (folder / "boxes" / "panels").mkdir(parents=True, exist_ok=True)
    (folder / "boxes" / "panels" / "pair.yaml").write_text(panel)
    path = folder / "two-of-them.yaml"
    path.write_text(build)
    return path


@pytest.fixture
def build(tmp_path: Path) -> Build:
    return load_build(_write(tmp_path))


def test_a_panel_brings_its_parts_under_its_name(build: Build) -> None:
    assert [used.name for used in build.parts] == ["cells", "a_low", "a_high", "b_low", "b_high"]
    assert build.part("b_high").on is FaceName.LEFT
    assert build.part("a_high").turn == 90
    assert (build.wires[0].start, build.wires[0].end) == ("a_low", "b_high")


@pytest.mark.parametrize("box", ["tray-220x140x80", "twin-160x100x70", "tray-150x100x60"])
def test_parts_of_a_panel_keep_their_distances_in_every_box(build: Build, box: str) -> None:
    placed = assemble(moved_to(build, load_box(box)).build).placed
    for name in ("a", "b"):
        low, high = placed[f"{name}_low"], placed[f"{name}_high"]
        # [15, 8] − [−15, −8], however much the edges lean.
        assert high.across - low.across == pytest.approx(30)
        assert high.up - low.up == pytest.approx(16)


def test_the_middle_lies_where_the_build_says(build: Build) -> None:
    scene = assemble(build)
    low, high = scene.placed["a_low"], scene.placed["a_high"]
    across, up = (low.across + high.across) / 2, (low.up + high.up) / 2
    front = scene.faces[FaceName.FRONT]
    assert front.height - up == pytest.approx(35)
    assert across - front.reach(up)[0] == pytest.approx(60)


def test_a_changed_panel_is_another_fingerprint(tmp_path: Path) -> None:
    before = fingerprint(load_build(_write(tmp_path)))
    after = fingerprint(load_build(_write(tmp_path, panel=PANEL.replace("[15, 8]", "[15, 9]"))))
    assert before != after


@pytest.mark.parametrize(
    ("build", "panel", "said"),
    [
        (BUILD.replace("use: pair, on: left", "use: pear, on: left"), PANEL,
         "two-of-them.yaml:6:12: there is no panel called 'pear'; did you mean 'pair'?"),
        (BUILD.replace(", up: centre", ""), PANEL, "panel 'b' needs one spot to count from"),
        (BUILD.replace("cells: {use", "a_low: {use"), PANEL,
         "panel 'a' brings a part 'a_low', and there is one already"),
        (BUILD, PANEL.replace("press-12, at: [15", "press-21, at: [15"),
         "pair.yaml:5:15: there is no part called 'press-21'"),
        (BUILD, PANEL.replace("at: [15, 8]", "at: [15]"), "pair.yaml:5:"),
        (BUILD, PANEL.replace("at: [15, 8]", "on: front, at: [15, 8]"), "pair.yaml:5:"),
        (BUILD, PANEL.replace("panel: pair", "panel: peer"), "write 'panel: pair'"),
        (BUILD, PANEL.replace(", at: [-15, -8]", ""), "'at' is missing"),
        (BUILD.replace("{use: holder-3-aa, on: floor, at: {across: 0, up: 0}}",
                       "{use: holder-3-aa, on: floor, at: {across: 0, off: [1, 2]}}"), PANEL,
         "'off' counts from a spot"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_at_its_place(
    build: str, panel: str, said: str, tmp_path: Path
) -> None:
    with pytest.raises(UnusableInput) as refused:
        load_build(_write(tmp_path, build, panel))
    assert said in "\n".join(map(str, refused.value.problems))


def test_the_shipped_panel_goes_into_a_box(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "scale.yaml"
    path.write_text(
        "build: scale\nbox: tray-220x140x80\ndrawer: small-kit\npanels:\n"
        "  face: {use: window-and-two-buttons, on: front, at: {across: centre, up: centre}}\n"
    )
    assert run(["check", str(path)]) == 0
    assert "scale goes together" in capsys.readouterr().out
    assert run(["list", "panels"]) == 0
    assert "window-and-two-buttons" in capsys.readouterr().out
