"""Boards that look out through walls which meet at a corner: what is said, and whether it helps."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from fit.check.rule import Inspection
from fit.findings import Finding, Grade
from tests.support_cases import case_named, rule_named, scene_of

FRONT = {"name": "usb", "edge": "lower", "kind": "plug", "reach": 5, "x": 40, "above": 1.6,
         "width": 9, "height": 4}  # fmt: skip
LEFT = {"name": "jack", "edge": "left", "kind": "plug", "reach": 10, "y": 30, "above": 4,
        "diameter": 7}  # fmt: skip
RIGHT = {**LEFT, "name": "line", "edge": "right"}
SLOT = {"slot": True}


def told(folder: Path, *noses: dict[str, Any]) -> Finding:
    """What `going-in` says of the board with these noses."""
    build = copy.deepcopy(case_named("sockets through two facing walls").build)
    build["parts"]["board"]["use"]["noses"] = list(noses)
    (found,) = rule_named("going-in").check(Inspection(scene_of(build, folder)))
    return found


@pytest.mark.parametrize(
    ("noses", "words"),
    [
        ((FRONT, LEFT), "usb and jack reach through the front wall and the left wall, walls of two "
                        "directions: slid or tilted into the one, it jams in the other"),
        ((FRONT, LEFT | SLOT), "usb reaches through the front wall and jack stands in the left "
                               "wall: slid or tilted into the one, it jams in the other"),
        ((FRONT, LEFT | SLOT, RIGHT | SLOT), "jack and line stand in the left wall and the right"),
    ],
)  # fmt: skip
def test_walls_of_two_directions_are_named_and_the_mend_helps(
    tmp_path: Path, noses: tuple[dict[str, Any], ...], words: str
) -> None:
    found = told(tmp_path, *noses)
    assert found.grade is Grade.CLASH
    assert words in found.say
    closed = [n for n in noses if "slot" not in n]
    names = " and ".join(n["name"] for n in closed)
    assert found.mend == f"cut the opening for {names} open to the rim (slot: true)"
    assert told(tmp_path, *(n | SLOT for n in noses)).grade is Grade.CLEAR


def test_facing_walls_are_another_matter(tmp_path: Path) -> None:
    """There one may be tilted past the other, and no corner is told of."""
    assert "jams" not in told(tmp_path, LEFT, RIGHT).say
