"""Rules about boards on paper that are never worse than tight, and what no data file can say."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fit.check.explain import HEADINGS, sections
from fit.check.inspect import RULES
from fit.check.rule import Family, Inspection
from fit.check.surroundings import cares
from fit.findings import Finding, Grade
from fit.geometry.scene import Cut, Opening, Role, Scene
from fit.trade.cautions import Danger, caution
from tests.support_cases import merged, rule_named, scene_of

BASE: dict[str, Any] = {
    "build": "flat",
    "box": {
        "outside": [100, 80, 50],
        "walls": {"thickness": 2},
        "floor": 2,
        "lid": {"kind": "flat", "thickness": 2},
    },
    "drawer": {"bits": [1, 2, 3, 4, 5, 6, 8, 10, 12]},
    "hands": "careful",
    "parts": {
        "a": {
            "use": {"kind": "board", "stock": "strips", "size": ["20 holes", "20 holes"]},
            "on": "floor",
            "at": {"across": 0, "up": 0},
            "standoff": 6,
        }
    },
}


def _scene(folder: Path, change: dict[str, Any]) -> Scene:
    return scene_of(merged(BASE, change), folder)


def _of(rule: str, scene: Scene) -> list[Finding]:
    return list(rule_named(rule).check(Inspection(scene)))


def _only(rule: str, scene: Scene) -> Finding:
    (finding,) = _of(rule, scene)
    return finding


@pytest.mark.parametrize(
    ("size", "hands", "grade", "room"),
    [
        # Good lines every 1.27; 0.635 is the farthest from one. A careful saw strays 0.5.
        ("20 holes", "careful", Grade.CLEAR, 0.635),
        (50.8 + 1.27, "careful", Grade.CLEAR, 0.635),
        (50.8 + 0.1, "careful", Grade.CLEAR, 0.535),
        (50.8 + 0.13, "careful", Grade.CLEAR, 0.505),
        (50.8 + 0.14, "careful", Grade.TIGHT, 0.495),
        (50.8 - 0.14, "careful", Grade.TIGHT, 0.495),
        (50.8 + 0.635, "careful", Grade.TIGHT, 0.0),
        (50.8 + 0.3, "guided", Grade.CLEAR, 0.335),
        (50.8 + 0.3, "freehand", Grade.TIGHT, 0.335),
    ],
)
def test_perfboard_is_cut_midway_or_on_a_row(
    tmp_path: Path, size: object, hands: str, grade: Grade, room: float
) -> None:
    change = {"hands": hands, "parts": {"a": {"use": {"size": [size, "20 holes"]}}}}
    found = _only("board-grid", _scene(tmp_path, change))
    assert found.grade is grade
    assert found.have == pytest.approx(room, abs=1e-9)


def test_a_row_that_is_snapped_along_is_lost(tmp_path: Path) -> None:
    change = {"parts": {"a": {"use": {"size": [50.8 + 1.27, "20 holes"]}}}}
    assert "lost" in _only("board-grid", _scene(tmp_path, change)).say


def test_a_made_board_has_no_grid(tmp_path: Path) -> None:
    change = {"parts": {"a": {"use": {"stock": "plain", "size": [51.4, 50], "holes": [[5, 5, 3]]}}}}
    scene = _scene(tmp_path, change)
    assert _of("board-grid", scene) == []
    assert _of("holes-on-grid", scene) == []


@pytest.mark.parametrize(
    ("x", "grade", "beside"),
    [
        # Columns at 1.27 + 2.54 i: 11.43 is the fifth. Half a millimetre is a hole's radius.
        (11.43, Grade.CLEAR, 0.0),
        (11.43 + 0.48, Grade.CLEAR, 0.48),
        (11.43 - 0.48, Grade.CLEAR, 0.48),
        (11.43 + 0.52, Grade.TIGHT, 0.52),
        (11.43 + 1.27, Grade.TIGHT, 1.27),
        (11.43 - 0.9, Grade.TIGHT, 0.9),
    ],
)
def test_mounting_holes_lie_on_the_grid(
    tmp_path: Path, x: float, grade: Grade, beside: float
) -> None:
    change = {"parts": {"a": {"use": {"holes": [[x, "4.5 holes", 3.2]]}}}}
    found = _only("holes-on-grid", _scene(tmp_path, change))
    assert found.grade is grade
    assert found.have == pytest.approx(1.27 - beside, abs=1e-9)


def test_the_nearest_hole_is_named(tmp_path: Path) -> None:
    change = {"parts": {"a": {"use": {"holes": [[12.2, 20, 3.2]]}}}}
    mend = _only("holes-on-grid", _scene(tmp_path, change)).mend
    assert mend is not None
    assert "hole 5, 8" in mend  # 4.5 * 2.54 = 11.43, 7.5 * 2.54 = 19.05


@pytest.mark.parametrize(
    ("watts", "grade"),
    [
        # Free outside: 2 * 100 * 48 + 2 * 80 * 48 (to the rim) + 100 * 80 = 0.02528 m²; the least
        # loss 6.6 W/m²K makes 0.1668 W/K, so 15 K are reached with 2.50 W.
        (0.5, Grade.CLEAR),
        (2.0, Grade.CLEAR),
        (2.30, Grade.CLEAR),
        (2.49, Grade.TIGHT),
        (2.51, Grade.TIGHT),
        (20.0, Grade.TIGHT),
    ],
)
def test_warmth_is_at_worst_tight(tmp_path: Path, watts: float, grade: Grade) -> None:
    found = _only("warmth", _scene(tmp_path, {"watts": watts}))
    assert found.grade is grade
    assert found.have == pytest.approx(watts / (6.6 * 0.02528), rel=1e-6)
    assert found.need == 15.0


def test_without_watts_nothing_is_said_of_warmth(tmp_path: Path) -> None:
    assert _of("warmth", _scene(tmp_path, {})) == []


def test_cares_name_what_brings_them(tmp_path: Path) -> None:
    change = {
        "watts": 2,
        "parts": {
            "cells": {
                "use": {"kind": "holder", "size": [20, 20, 10], "lithium": True},
                "on": "lid",
                "at": {"across": 0, "up": 0},
            },
            "inlet": {
                "use": {
                    "kind": "panel",
                    "front": [30, 24],
                    "front_thickness": 2,
                    "cutout": [27, 20],
                    "hull": {"width": 26, "height": 19, "depth": 20},
                    "fixing": "snap",
                    "mains": True,
                },
                "on": "back",
                "at": {"across": 0, "up": 25},
            },
        },
    }
    found = {care.danger: care.about for care in cares(_scene(tmp_path, change))}
    assert found[Danger.MAINS] == ("inlet",)
    assert found[Danger.LITHIUM] == ("cells",)
    assert found[Danger.DRILLS] == ("inlet",)
    assert found[Danger.FILES] == ("inlet",)
    assert found[Danger.DUST] == ("a",)
    assert found[Danger.HOT_PARTS] == ("box",)
    assert Danger.WATER not in found
    assert all(caution(danger) for danger in found)


def test_a_quiet_build_brings_few_cares(tmp_path: Path) -> None:
    scene = _scene(tmp_path, {"parts": {"a": {"use": {"stock": "plain"}}}})
    assert cares(scene) == ()


DISPLAY = {
    "kind": "display",
    "module": [30, 14],
    "thickness": 8,
    "active": [20, 8],
    "visible": [29, 13],
}


def _standing(column_shift: float) -> dict[str, Any]:
    """A display soldered to perfboard whose window does not lie on the grid."""
    return {
        "box": {"posts": [{"name": "P", "apart": [50.8, 40.64], "tip": 6, "height": 8}]},
        "parts": {
            "a": {"use": {"size": ["27 holes", "23 holes"]}, "on": "posts"},
            "stand": {
                "use": {"kind": "board", "stock": "pads", "size": ["16 holes", "12 holes"]},
                "joined_to": "a",
                "with": {"kind": "block", "size": [10, 10, 10]},
                "carries": ["view"],
            },
            "view": {
                "use": DISPLAY,
                "on": "front",
                "at": {"across": column_shift, "up": 30},
                "window": {"opening": [25, 10.6], "gap": 1, "seen_from": 10},
            },
        },
    }


def _without_place(change: dict[str, Any], folder: Path) -> Scene:
    base = merged(BASE, {})
    del base["parts"]["a"]["at"]
    del base["parts"]["a"]["standoff"]
    return scene_of(merged(base, change), folder)


def test_a_display_on_perfboard_is_judged_where_it_really_sits(tmp_path: Path) -> None:
    """The display moves to the grid by up to half a half pitch; the window does not."""
    haves: dict[float, tuple[float, float]] = {}
    for shift in (0.0, 0.3, 0.6, 0.9):
        scene = _without_place(_standing(shift), tmp_path)
        placed = scene.placed["view"]
        off = placed.pose.origin[0] - placed.across
        needed = 20 + 2 * (0.492443 + 3 * 0.176327) + 2 * abs(off)  # 3 tan 10°
        allowed = 29 - 2 * 0.492443 - 2 * abs(off)
        view = _only("window-view", scene)
        border = _only("window-border", scene)
        wide = view.need if "wide" in view.say else None
        if wide is not None:
            assert wide == pytest.approx(needed, abs=1e-4)
        if "wide" in border.say:
            assert border.need == pytest.approx(allowed, abs=1e-4)
        haves[shift] = (off, needed)
    assert max(abs(off) for off, _ in haves.values()) > 0.25
    assert all(abs(off) <= 1.27 / 2 + 1e-9 for off, _ in haves.values())


def test_openings_of_one_part_count_as_one_about(tmp_path: Path) -> None:
    """Four alike screw holes round a cut-out bring one finding, the nearest."""
    scene = _scene(tmp_path, {})
    openings = tuple(
        Opening(
            part="a",
            face=scene.faces[next(iter(scene.faces))].name,
            cut=Cut.ROUND,
            role=Role.SCREW,
            across=12.0 * n,
            up=20.0 + n,
            diameter=5.0,
        )
        for n in range(4)
    )
    found = _of("webs", replace(scene, openings=openings))
    assert len(found) == 1
    assert found[0].have == pytest.approx((12**2 + 1) ** 0.5 - 5.0, abs=1e-9)


MINE = (
    Family.PANEL_PARTS,
    Family.BUTTONS,
    Family.HOLES,
    Family.WEBS,
    Family.WINDOWS,
    Family.BOARDS,
    Family.JOINT,
    Family.SCREWS,
    Family.PLUGS,
    Family.TOOLS,
    Family.SURROUNDINGS,
)


@pytest.mark.parametrize("family", MINE)
def test_every_family_has_rules_and_every_rule_its_page(family: Family) -> None:
    rules = [rule for rule in RULES if rule.family is family]
    assert rules
    for rule in rules:
        page = sections(rule.name)
        assert set(HEADINGS) <= set(page), rule.name
        assert all(page[heading] for heading in HEADINGS), rule.name


@pytest.mark.parametrize("build", ["hive-scale", "bench-timer", "gate-counter", "meter-box"])
def test_findings_are_whole(build: str, root: Path) -> None:
    """Names that exist, figures that are finite, sentences that read as such."""
    from fit.geometry.assemble import assemble
    from fit.read import load_build

    scene = assemble(load_build(root / "boxes" / "builds" / f"{build}.yaml"))
    for rule in RULES:
        if rule.family not in MINE:
            continue
        for finding in rule.check(Inspection(scene)):
            assert finding.rule == rule.name
            assert finding.about[0] in {*scene.placed, "box"}
            assert abs(finding.margin) < 1e4
            assert finding.spread >= 0
            assert finding.say.endswith(".")
            assert finding.grade is not Grade.CLASH or finding.mend
