"""The printed order, done step by step with exact solids of the CAD kernel (see tests.moving)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fit.check import ways
from fit.check.order import CLOSING, assembly_order
from fit.check.passing import Group
from fit.check.rule import Inspection
from fit.check.things import Things
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.read import load_build
from tests.conftest import ROOT
from tests.moving import put_together
from tests.support_cases import case_named, merged, rule_named, scene_of

SHIPPED = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
MADE_UP = sorted((ROOT / "tests" / "data" / "order").glob("*.yaml"))

CROOKED = {"slid", "tilted", "tilted-right", "under-a-rib", "one-slot", "standing"}


def _scene(path: Path) -> Scene:
    return assemble(load_build(path))


def test_there_are_ten() -> None:
    assert len(MADE_UP) == 10
    assert {p.stem for p in MADE_UP} > CROOKED


@pytest.mark.parametrize("path", [*SHIPPED, *MADE_UP], ids=lambda path: path.stem)
def test_the_printed_order_can_be_done(path: Path) -> None:
    scene = _scene(path)
    order = assembly_order(scene)
    assert order.circle is None
    assert order.steps[-1] == CLOSING
    bumps, places = put_together(scene)
    assert not bumps, bumps[:5]
    assert places > 50


@pytest.mark.parametrize("name", sorted(CROOKED))
def test_these_need_another_way_and_say_so(name: str) -> None:
    scene = _scene(ROOT / "tests" / "data" / "order" / f"{name}.yaml")
    steps = assembly_order(scene).steps
    assert any("tilted by" in s or "by sliding" in s for s in steps)


@pytest.mark.parametrize("name", ["slid", "tilted", "under-a-rib"])
def test_moving_finds_what_is_in_the_way(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same builds, their boards let straight down: the kernel sees what they meet."""
    scene = _scene(ROOT / "tests" / "data" / "order" / f"{name}.yaml")
    found = ways.going

    def straight(known: Things, group: Group) -> ways.Going:
        return replace(found(known, group), crooked=None)

    monkeypatch.setattr("tests.moving.going", straight)
    monkeypatch.setattr("fit.check.sequence.going", straight)
    bumps, _ = put_together(scene)
    assert max(b.deep for b in bumps) > 0.5


def test_a_board_set_in_back_needs_its_room_free(tmp_path: Path) -> None:
    """A block stands where the board has to go back to: the board is put in first.

    The board's back edge lies at y 30, the block begins at 31; set back it takes up to 31.5.
    """
    built = merged(
        case_named("straight down between upright walls").build,
        {
            "parts": {
                "board": {
                    "use": {
                        "size": [60, 60],
                        "noses": [
                            {"name": "usb", "edge": "lower", "kind": "plug", "reach": 9, "x": 30,
                             "above": 1.6, "width": 9, "height": 3.2}
                        ],
                    },
                    "at": {"across": 0},
                },
                "block": {
                    "use": {"kind": "holder", "size": [30, 6, 12]},
                    "on": "floor",
                    "at": {"across": 0, "up": 34.2},
                },
            }
        },
    )  # fmt: skip
    scene = scene_of(built, tmp_path)
    first, second, _ = assembly_order(scene).steps
    assert "'board'" in first
    assert "'block'" in second
    bumps, _ = put_together(scene)
    assert not bumps


def test_a_board_that_cannot_be_set_back_names_its_circle(tmp_path: Path) -> None:
    """The board's parts overhang the block, so the block is first; it is in the board's way."""
    built = merged(
        case_named("straight down between upright walls").build,
        {
            "parts": {
                "board": {
                    "use": {
                        "size": [60, 60],
                        "zones": [{"name": "overhang", "over": [0, 58, 60, 4], "height": 3}],
                        "noses": [
                            {"name": "usb", "edge": "lower", "kind": "plug", "reach": 9, "x": 30,
                             "above": 1.6, "width": 9, "height": 3.2}
                        ],
                    },
                    "at": {"across": 0},
                },
                "block": {
                    "use": {"kind": "holder", "size": [30, 6, 11]},
                    "on": "floor",
                    "at": {"across": 0, "up": 34},
                },
            }
        },
    )  # fmt: skip
    scene = scene_of(built, tmp_path)
    order = assembly_order(scene)
    assert order.circle is not None
    assert set(order.circle) == {"board", "block"}
    (told,) = rule_named("order").check(Inspection(scene))
    assert told.grade is Grade.CLASH
    assert "board" in told.say
    assert "block" in told.say
