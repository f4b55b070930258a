"""Holes a box has already: where they lie, what they are to a cut, and that they hide nothing.

Outlines are compared with shapely, which had no part in working them out.
"""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest
import shapely

from fit.check.inspect import RULES, inspect
from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import faces
from fit.geometry.old_holes import old_holes, shape
from fit.geometry.scene import Cut, Opening, Role
from fit.model.rounded import Rounded, upright_box
from fit.model.words import FaceName
from fit.read import load_build
from fit.solve.other.ways import quarter_turns, turned
from fit.trade.drills import Tool
from fit.units import Length
from tests.conftest import ROOT
from tests.old_holes import BUTTON, ROCKER, made, scene_with

SIDES = 256
"""Of the polygons shapely draws for round corners: off by less than 0.001 mm here."""


def by_shapely(outline: Rounded, sides: int = SIDES) -> Any:
    core = shapely.MultiPoint(outline.points).convex_hull
    return shapely.buffer(core, outline.radius, quad_segs=sides // 4) if outline.radius else core


def depth(a: Rounded, b: Rounded) -> float:
    """The shortest move that parts two, by the outline of all differences of their points."""
    p, q = (shapely.get_coordinates(by_shapely(o, 64)) for o in (a, b))
    both: Any = shapely.MultiPoint((p[:, None, :] - q[None, :, :]).reshape(-1, 2)).convex_hull
    assert both.contains(shapely.Point(0, 0))
    return float(both.exterior.distance(shapely.Point(0, 0)))


def any_outline(seed: random.Random, near: float) -> Rounded:
    at = (seed.uniform(-near, near), seed.uniform(-near, near))
    if seed.random() < 0.4:
        return Rounded((at,), seed.uniform(1, 8))
    wide, high = seed.uniform(3, 20), seed.uniform(3, 14)
    most = min(wide, high) / 2
    radius = seed.choice((0.0, seed.uniform(0, most), most))
    return upright_box(at, wide, high, seed.uniform(0, 180), radius)


def test_what_holds_what_and_how_far_apart_agrees_with_shapely() -> None:
    seed = random.Random(4)
    held = apart = 0
    for number in range(500):
        a, b = any_outline(seed, 2.0), any_outline(seed, 14.0 if number % 2 else 2.0)
        p, q = by_shapely(a), by_shapely(b)
        room = a.room_in(b)
        if p.within(q):
            held += 1
            assert room == pytest.approx(p.distance(q.exterior), abs=0.004)
        else:
            # How far the first sticks out: its furthest point from the second.
            assert -room == pytest.approx(shapely.hausdorff_distance(p.union(q), q), abs=0.004)
        far = a.apart(b)
        assert far == pytest.approx(b.apart(a), abs=1e-9)
        if p.intersection(q).area > 0.01:
            assert -far == pytest.approx(depth(a, b), abs=0.03)
        elif not p.intersects(q):
            apart += 1
            assert far == pytest.approx(p.distance(q), abs=0.004)
    assert held > 15
    assert apart > 60


def test_a_hole_serves_just_where_the_neck_passes(tmp_path: Path) -> None:
    """Brute force: the neck's rim, point by point, against the hole, as shapely has it."""
    seed = random.Random(11)
    told = {True: 0, False: 0}
    build = made(tmp_path, [hole("h", diameter=12)], {"a": button(0, 25)})
    for _ in range(150):
        old = build.box.holes[0]
        size = (seed.uniform(11.7, 13), seed.uniform(11.7, 13))
        old = seed.choice(
            [
                replace(old, diameter=Length(size[0])),
                replace(
                    old,
                    diameter=Length(0.0),
                    size=(Length(size[0]), Length(size[1])),
                    corner_radius=Length(seed.uniform(0, 4)),
                    turn=seed.uniform(0, 90),
                ),
            ]
        )
        off = (seed.uniform(-0.7, 0.7), seed.uniform(-0.7, 0.7))
        scene = assemble(replace(build, box=replace(build.box, holes=(old,))))
        scene = assemble(replace(scene.build, parts=(shifted(scene.build.parts[0], off),)))
        (opening,) = scene.openings
        rim = by_shapely(shape(scene.there[0].opening))
        points = shapely.points(
            [
                (
                    opening.across + 5.8 * math.cos(2 * math.pi * n / SIDES),
                    opening.up + 5.8 * math.sin(2 * math.pi * n / SIDES),
                )
                for n in range(SIDES)
            ]
        )
        out = points[~shapely.contains(rim, points)]
        passes = len(out) == 0
        far = (
            shapely.distance(points, rim.exterior).min()
            if passes
            else shapely.distance(out, rim).max()
        )
        if far < 0.004:
            continue  # nearer than shapely draws round corners
        assert (opening.by == "h") is passes, (old, off)
        told[passes] += 1
    assert min(told.values()) > 30


def hole(
    name: str, on: str = "front", across: Any = 0, up: Any = 25, **more: Any
) -> dict[str, Any]:
    return {"name": name, "on": on, "at": {"across": across, "up": up}, **more}


def button(across: Any, up: Any, on: str = "front", **more: Any) -> dict[str, Any]:
    return {"use": {**BUTTON, **more}, "on": on, "at": {"across": across, "up": up}}


def shifted(used: Any, off: tuple[float, float]) -> Any:
    at = used.at
    across = replace(at.across, value=Length(at.across.value + off[0]))
    up = replace(at.up, value=Length(at.up.value + off[1]))
    return replace(used, at=replace(at, across=across, up=up))


WORDS = [
    ("front", {"from_left": 30}, {"from_rim": 22}),
    ("left", {"share": 0.3}, {"from_floor": 30}),
    ("back", {"from_right": 28}, 27),
    ("right", "centre", "centre"),
    ("lid", {"from_left": 30}, {"from_back": 30}),
    ("floor", {"from_right": 40}, {"from_front": 35}),
]


@pytest.mark.parametrize(("on", "across", "up"), WORDS, ids=[w[0] for w in WORDS])
def test_places_mean_what_they_mean_for_parts_on_leaning_walls_too(
    tmp_path: Path, on: str, across: Any, up: Any
) -> None:
    scene = scene_with(
        tmp_path, [hole("h", on, across, up, diameter=12)], {"a": button(across, up, on)}
    )
    (opening,), (old,) = scene.openings, scene.there
    assert (old.opening.across, old.opening.up) == pytest.approx((opening.across, opening.up))
    assert (opening.by, opening.steps) == ("h", ())
    assert old.opening.role is Role.OLD


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_holes_turn_with_their_box(tmp_path: Path, quarters: int) -> None:
    """Their middles in space are those of the box as it was, turned about the upright axis."""
    holes = [
        hole(f"h{n}", on, across, up, diameter=4)
        for n, (on, across, up) in enumerate(
            [*WORDS, ("lid", {"share": 0.2}, -11), ("floor", 9, {"share": 0.8})]
        )
    ]
    box = made(tmp_path, holes, {}).box
    for before, after in zip(
        old_holes(box, faces(box)),
        old_holes(turned(box, quarters), faces(turned(box, quarters))),
        strict=True,
    ):
        x, y, z = faces(box)[before.opening.face].frame.point(
            (before.opening.across, before.opening.up, 0.0)
        )
        for _ in range(quarters):
            x, y = -y, x
        frame = faces(turned(box, quarters))[after.opening.face].frame
        spot = frame.point((after.opening.across, after.opening.up, 0.0))
        assert spot == pytest.approx((x, y, z), abs=1e-9), before.name
        assert before.name == after.name


def test_a_slot_in_the_lid_turns_its_own_way(tmp_path: Path) -> None:
    slot = hole("s", "lid", 10, 5, diameter=4, long=12, turn=20)
    box = made(tmp_path, [slot], {}).box
    (was,) = old_holes(box, faces(box))
    (now,) = old_holes(turned(box, 1), faces(turned(box, 1)))
    assert (now.opening.turn - was.opening.turn) % 180 == pytest.approx(90)


def test_a_hole_makes_a_box_that_was_the_same_all_round_another_one(tmp_path: Path) -> None:
    even: dict[str, Any] = {"outside": [90, 90, 60], "walls": {"thickness": 2.5}}
    assert quarter_turns(made(tmp_path, [], {}, **even).box) == (0,)
    one = made(tmp_path, [hole("h", diameter=5)], {}, **even).box
    assert quarter_turns(one) == (0, 1, 2, 3)
    both = [hole("h", diameter=5), hole("g", "back", diameter=5)]
    assert quarter_turns(made(tmp_path, both, {}, **even).box) == (0, 1)


def test_which_holes_can_be_agrees_with_the_geometry(tmp_path: Path) -> None:
    """A hole that just stays clear of the walls beside it is read; one a tenth further is not."""
    box = made(tmp_path, [], {}).box
    for name, side in product(FaceName, ("left", "right", "low", "high")):
        face = faces(box)[name]
        r = 4.0
        polygon = shapely.Polygon(face.inner).buffer(-r, join_style="mitre")
        x0, y0, x1, y1 = polygon.bounds
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        along = shapely.LineString(
            {
                "left": [(x0 - 9, middle[1]), middle],
                "right": [middle, (x1 + 9, middle[1])],
                "low": [(middle[0], y0 - 9), middle],
                "high": [middle, (middle[0], y1 + 9)],
            }[side]
        )
        inside = shapely.intersection(polygon, along).bounds
        at = {
            "left": (inside[0], middle[1]),
            "right": (inside[2], middle[1]),
            "low": (middle[0], inside[1]),
            "high": (middle[0], inside[3]),
        }[side]
        out = {"left": (-1, 0), "right": (1, 0), "low": (0, -1), "high": (0, 1)}[side]
        for by, good in ((-0.05, True), (0.05, False)):
            place = (at[0] + by * out[0], at[1] + by * out[1])
            one = [hole("h", name.value, *(round(v, 6) for v in place), diameter=2 * r)]
            assert readable(tmp_path, one) is good, (name, side, by)


def readable(folder: Path, holes: list[dict[str, Any]]) -> bool:
    try:
        made(folder, holes, {})
    except UnusableInput as refused:
        return "hole 'h' runs" not in str(refused)
    return True


def test_a_cut_round_a_hole_is_opened_by_step_bit_or_file_alone(tmp_path: Path) -> None:
    for beside, size, tools in (
        (0.2, 6, [Tool.STEP_BIT]),
        (0.6, 6, [Tool.SAW, Tool.FILE]),  # a step bit would follow the hole
        (0.6, 9, [Tool.FILE]),
    ):
        scene = scene_with(
            tmp_path, [hole("h", across=beside, diameter=size)], {"a": button(0, 25)}
        )
        (opening,) = scene.openings
        assert (opening.by, opening.opens) == ("", ("h",))
        assert [step.tool for step in opening.steps] == tools
        assert opening.steps[-1].size == 12


def test_a_knock_out_opens_for_whoever_wants_it_and_no_other(tmp_path: Path) -> None:
    two = [
        hole("k", diameter=12, knock_out=True),
        hole("l", "back", 0, 25, diameter=12, knock_out=True),
    ]
    scene = scene_with(tmp_path, two, {"a": button(0, 25)})
    assert {h.name: h.closed for h in scene.there} == {"k": False, "l": True}
    assert scene.openings[0].by == "k"


def test_a_cut_out_is_served_by_a_hole_for_what_is_put_through(tmp_path: Path) -> None:
    at = {"across": 0, "up": 25}
    for size, radius, turn, serves in (
        ([19.4, 13.0], 0.5, 0, True),
        ([19.4, 12.5], 0.5, 0, False),  # too low for its hull
        ([19.4, 13.0], 2.5, 0, False),  # its corners stand in the way
        ([13.0, 19.4], 0.5, 0, False),
        ([13.0, 19.4], 0.5, 90, True),
    ):
        holes = [hole("r", size=size, corner_radius=radius, turn=turn)]
        scene = scene_with(tmp_path, holes, {"p": {"use": ROCKER, "on": "front", "at": at}})
        assert (scene.openings[0].by == "r") is serves, (size, radius, turn)


OWN = {"reused", "opened-up", "old-cover", "bare-holes"}


@pytest.mark.parametrize("name", ["hive-scale", "meter-box", "bench-timer", "gate-counter"])
def test_holes_change_nothing_that_is_said_of_bodies(name: str) -> None:
    """A hole takes material away: no clearance may become larger by it (safe side)."""
    build = load_build(name)
    used = load_build("barrel-alarm").box.holes
    plain = assemble(build)
    there = old_holes(replace(build.box, holes=used), plain.faces)
    scene = replace(plain, there=there)
    before = [f for f in inspect(plain) if f.rule not in OWN]
    rules = tuple(rule for rule in RULES if rule.name not in OWN)
    after = inspect(scene, rules)
    assert [f for f in after if not any(a.startswith("hole ") for a in f.about)] == before
    assert len(after) > len(before) or name != "meter-box"


def test_the_flat_of_a_hole_is_not_made_up_for(tmp_path: Path) -> None:
    flat: dict[str, Any] = {"anti_turn": {"flat": 11, "flats": 1}}
    scene = scene_with(tmp_path, [hole("h", diameter=12)], {"a": button(0, 25, **flat)})
    (opening,) = scene.openings
    assert (opening.cut, opening.by) == (Cut.D_FLAT, "")
    found = [f for f in inspect(scene) if f.rule == "old-cover"]
    assert [(f.grade.value, round(f.have, 6)) for f in found] == [("clash", 1.0)]


def test_an_opening_knows_its_hole_in_every_shipped_scene() -> None:
    build = load_build("barrel-alarm")
    assert {h.name for h in build.box.holes} == {"cable", "knob", "lamp", "rocker", "spare"}
    assert (ROOT / "boxes" / "shells" / f"{build.box.name}.yaml").is_file()
    scene = assemble(build)
    lamp: Opening = next(o for o in scene.openings if o.part == "lamp")
    assert lamp.opens == ("lamp",)
