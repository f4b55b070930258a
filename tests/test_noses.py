"""Noses of boards: where they point, their two solids, the opening each needs; by hand."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from fit.geometry.distance import gap
from fit.geometry.frames import dot
from fit.geometry.kernel import volume
from fit.geometry.scene import Body, Cut, Opening, PlacedNose, Role, Scene
from fit.geometry.solids import box_solids
from fit.geometry.support import reach
from fit.model.words import FaceName
from fit.trade.hands import hand_work, hole_position_error
from tests.support_cases import merged, scene_of

E = hole_position_error(hand_work("careful"))

BASE: dict[str, Any] = {
    "build": "noses",
    "box": {
        "outside": [100, 80, 50],
        "walls": {"thickness": 2},
        "floor": 2,
        "lid": {"kind": "flat", "thickness": 2},
    },
    "drawer": {"bits": [1, 2, 3, 4, 5, 6, 8, 10, 12]},
    "hands": "careful",
    "parts": {
        "board": {
            "use": {"kind": "board", "stock": "plain", "size": [80, 60]},
            "on": "floor",
            "at": {"across": 0, "up": 0},
            "standoff": 10,
        }
    },
}


def _with(folder: Path, nose: dict[str, Any], change: dict[str, Any] | None = None) -> Scene:
    own = {"name": "it", "kind": "plug", "width": 9, "height": 3} | nose
    built = merged(BASE, {"parts": {"board": {"use": {"noses": [own]}}}})
    return scene_of(merged(built, change or {}), folder)


def _nose(scene: Scene) -> PlacedNose:
    (nose,) = scene.noses
    return nose


def _bodies(scene: Scene) -> list[Body]:
    return [b for b in scene.bodies if b.name == "nose it"]


def _opening(scene: Scene) -> Opening:
    (opening,) = (o for o in scene.openings if o.role is Role.NOSE)
    return opening


@pytest.mark.parametrize(
    ("nose", "turn", "face", "point"),
    [
        # The board's surface lies at 13.6; its lower left corner at -40, -30.
        ({"edge": "lower", "x": 10, "above": 2}, 0, FaceName.FRONT, (-30, -30, 15.6)),
        ({"edge": "upper", "x": 10, "above": 2}, 0, FaceName.BACK, (-30, 30, 15.6)),
        ({"edge": "left", "y": 10, "above": 2}, 0, FaceName.LEFT, (-40, -20, 15.6)),
        ({"edge": "right", "y": 10, "above": -1}, 0, FaceName.RIGHT, (40, -20, 12.6)),
        ({"edge": "top", "x": 10, "y": 20}, 0, FaceName.LID, (-30, -10, 13.6)),
        ({"edge": "underside", "x": 10, "y": 20}, 0, FaceName.FLOOR, (-30, -10, 12)),
    ],
)
def test_where_noses_stand_and_point(
    tmp_path: Path,
    nose: dict[str, Any],
    turn: int,
    face: FaceName,
    point: tuple[float, float, float],
) -> None:
    scene = _with(tmp_path, {"reach": 3, **nose})
    found = _nose(scene)
    assert found.face is face
    assert found.pose.origin == pytest.approx(point)
    assert dot(found.pose.z, scene.faces[face].frame.z) == pytest.approx(1.0)
    assert not found.through
    assert not [o for o in scene.openings if o.role is Role.NOSE]


def test_a_nose_is_split_where_its_wall_begins(tmp_path: Path) -> None:
    scene = _with(tmp_path, {"edge": "lower", "x": 40, "above": 1.6, "reach": 11, "root": 4})
    inner, outer = _bodies(scene)
    assert (inner.outside, outer.outside) == (False, True)
    assert inner.seat is outer.seat is FaceName.FRONT
    ends = [(-reach(b.shape, b.pose, (0, 1, 0)), reach(b.shape, b.pose, (0, -1, 0)))
            for b in (inner, outer)]  # fmt: skip
    # From 4 over the board (y -26) to the wall's inside (-38), and on to -41.
    assert ends[0] == pytest.approx((26, 38))
    assert ends[1] == pytest.approx((38, 41))
    assert _nose(scene).beyond == pytest.approx(1.0)


def test_in_a_leaning_wall_both_pieces_cover_it(tmp_path: Path) -> None:
    change = {"box": {"walls": {"draft": 3}}}
    scene = _with(tmp_path, {"edge": "lower", "x": 40, "above": 1.6, "reach": 14}, change)
    inner, outer = _bodies(scene)
    assert gap(inner.shape, inner.pose, outer.shape, outer.pose).mm < 0
    front = scene.faces[FaceName.FRONT]
    inside = dot(front.frame.z, front.frame.point((0, 0, -2.0)))
    assert reach(inner.shape, inner.pose, front.frame.z) > inside
    assert -reach(outer.shape, outer.pose, (0, 1, 0)) < reach(inner.shape, inner.pose, (0, -1, 0))


@pytest.mark.parametrize("draft", [0.0, 1.5, 5.0])
def test_the_opening_lets_the_nose_pass_aslant(tmp_path: Path, draft: float) -> None:
    """w + 2e across; h / cos d + t tan d + 2e along the face; in its middle."""
    change = {"box": {"walls": {"draft": draft}}}
    scene = _with(tmp_path, {"edge": "lower", "x": 46, "above": 1.6, "reach": 14}, change)
    opening, d = _opening(scene), math.radians(draft)
    assert opening.across == pytest.approx(6.0)
    wide, high = 9 + 2 * E, 3 / math.cos(d) + 2 * math.tan(d) + 2 * E
    assert opening.width == pytest.approx(math.ceil(wide * 10) / 10)
    assert opening.height == pytest.approx(math.ceil(high * 10) / 10)
    # The axis at 15.2 meets the middle of the wall's two surfaces there.
    middle = scene.faces[FaceName.FRONT].frame.point((opening.across, opening.up, -1.0))
    assert middle[2] == pytest.approx(15.2)


@pytest.mark.parametrize(
    ("diameter", "bits", "drilled"),
    [
        (7.0, [1, 2, 3, 8], 8.0),  # 7.985: the bit is hardly larger
        (6.5, [1, 2, 3, 8], 8.0),  # 7.485
        (6.0, [1, 2, 3, 8], 7.0),  # 6.985: to the next tenth, filed
        (7.0, [1, 2, 3], 8.0),
        (7.1, [1, 2, 3], 8.1),  # 8.085
    ],
)
def test_a_round_one_takes_a_bit_that_is_hardly_larger(
    tmp_path: Path, diameter: float, bits: list[float], drilled: float
) -> None:
    nose = {"edge": "lower", "x": 40, "above": 4, "reach": 11, "diameter": diameter}
    scene = _with(tmp_path, nose | {"width": 0, "height": 0}, {"drawer": {"bits": bits}})
    opening = _opening(scene)
    assert opening.cut is Cut.ROUND
    assert opening.diameter == pytest.approx(drilled)


def test_a_turned_board_turns_what_is_given(tmp_path: Path) -> None:
    """On the lid a nose 9 along the board's x lies along the face's up after a quarter turn."""
    nose = {"edge": "top", "kind": "button", "travel": 0.3, "x": 20, "y": 20, "reach": 40,
            "cutout": [10, 5]}  # fmt: skip
    plain = _opening(_with(tmp_path, nose))
    assert (plain.width, plain.height) == (10, 5)
    turned = _opening(_with(tmp_path, nose, {"parts": {"board": {"turn": 90}}}))
    assert (turned.width, turned.height) == (5, 10)


def test_a_slot_runs_from_below_the_nose_to_the_rim(tmp_path: Path) -> None:
    nose = {"edge": "lower", "x": 40, "above": 1.6, "reach": 11, "slot": True}
    opening = _opening(_with(tmp_path, nose))
    assert opening.cut is Cut.RIM_SLOT
    high = math.ceil((3 + 2 * E) * 10) / 10
    assert opening.up - opening.height / 2 == pytest.approx(15.2 - high / 2)
    assert opening.up + opening.height / 2 == pytest.approx(48.0)


def test_openings_are_cut_out_of_the_solid_box(tmp_path: Path) -> None:
    scene = _with(tmp_path, {"edge": "lower", "x": 40, "above": 1.6, "reach": 11})
    opening = _opening(scene)
    whole, _ = box_solids(scene.build.box)
    cut, _ = box_solids(scene.build.box, scene.openings)
    assert volume(whole) - volume(cut) == pytest.approx(opening.width * opening.height * 2)


def test_a_display_with_parts_on_its_back_stands_off_its_board(tmp_path: Path) -> None:
    """Soldered down, the module rests on what is behind it: nothing sinks into the board."""
    display = {"kind": "display", "module": [40, 16], "thickness": 6, "active": [36, 12],
               "visible": [38, 14], "rear": 2.5}  # fmt: skip
    change = {
        "parts": {
            "up": {
                "use": {"kind": "board", "stock": "plain", "size": [60, 30]},
                "joined_to": "board",
                "with": {"kind": "block", "size": [8, 8, 8], "inset": 8, "screw": 3},
                "carries": ["digits"],
            },
            "digits": {"use": display, "on": "front", "at": {"across": 0, "up": 34},
                       "window": {"gap": 1}},
        }
    }  # fmt: skip
    scene = scene_of(merged(BASE, change), tmp_path)
    parts = {b.name: b for b in scene.bodies if b.owner == "digits"}
    (slab,) = (b for b in scene.bodies if b.id == ("up", "slab"))
    module, rear = parts["module"], parts["rear"]
    assert gap(rear.shape, rear.pose, slab.shape, slab.pose).mm == pytest.approx(0, abs=1e-6)
    assert gap(module.shape, module.pose, slab.shape, slab.pose).mm == pytest.approx(2.5)
    # 2 of wall, 1 of gap, 6 + 2.5: the board's face lies 11.5 behind the outside.
    assert -reach(slab.shape, slab.pose, (0, -1, 0)) == pytest.approx(-40 + 11.5)
