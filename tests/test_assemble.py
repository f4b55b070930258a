"""The scene of the shipped builds: places, contacts, both ways round, and one wrong number each."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from fit.check import inspect
from fit.findings import Grade, UnusableInput, verdict_of
from fit.geometry.assemble import assemble
from fit.geometry.distance import gap
from fit.geometry.scene import BOX, Role, Scene
from fit.model.build import Build
from fit.model.words import FaceName, Half
from fit.read import load_build
from fit.solve import place_open
from fit.units import PITCH

BUILDS = ("hive-scale", "meter-box", "bench-timer", "gate-counter")
WRONG = Path(__file__).parent / "wrong"


def scene_of(build: Build) -> Scene:
    return assemble(place_open(build).build)


def clashes(scene: Scene) -> set[frozenset[str]]:
    return {frozenset(f.about) for f in inspect(scene) if f.grade is Grade.CLASH}


@pytest.mark.parametrize("name", BUILDS)
def test_a_shipped_build_goes_together(name: str) -> None:
    found = inspect(scene_of(load_build(name)))
    assert found
    assert verdict_of(found) is Grade.CLEAR, [f.say for f in found if f.grade is not Grade.CLEAR]


@pytest.mark.parametrize(
    ("name", "pair"),
    [
        ("hive-scale", ("main_board", "cells")),
        ("meter-box", ("meter", "card")),
        ("bench-timer", ("minutes", "board")),
        ("gate-counter", ("panel_left", "panel_right")),
    ],
)
def test_one_wrong_number_names_the_two_things(name: str, pair: tuple[str, str]) -> None:
    right = Path("boxes/builds") / f"{name}.yaml"
    wrong = WRONG / f"{name}-wrong.yaml"
    here = Path(__file__).parent.parent
    lines = zip(
        (here / right).read_text().splitlines(), wrong.read_text().splitlines(), strict=True
    )
    assert sum(a != b for a, b in lines) == 1
    assert frozenset(pair) in clashes(scene_of(load_build(str(wrong))))


def test_turned_over_by_one_line_still_goes_together() -> None:
    hung = load_build("gate-counter")
    assert hung.carrier is Half.LID
    lying = replace(hung, carrier=Half.BODY)
    scenes = scene_of(hung), scene_of(lying)
    for scene in scenes:
        assert verdict_of(inspect(scene)) is Grade.CLEAR
    halves = [{n: p.half for n, p in scene.placed.items()} for scene in scenes]
    assert halves[0]["main_board"] is Half.LID
    assert halves[1]["main_board"] is Half.BODY
    # The panels stay on the lid, the window stays in the body's front.
    assert halves[0]["panel_left"] is halves[1]["panel_left"] is Half.LID
    fronts = [[o for o in s.openings if o.role is Role.WINDOW] for s in scenes]
    assert fronts[0] == fronts[1]


def test_a_standing_board_brings_its_display_to_the_window() -> None:
    scene = scene_of(load_build("hive-scale"))
    window = next(o for o in scene.openings if o.role is Role.WINDOW)
    display = scene.placed["readout"]
    across, up, out = scene.faces[FaceName.FRONT].frame.inside(display.pose.origin)
    # Half a pitch is the coarsest step a display may be off on perfboard; here it is on it.
    assert across == pytest.approx(window.across, abs=1e-9)
    assert up == pytest.approx(window.up, abs=1e-9)
    # 2.5 wall, plate 2 pushed in level with the outside, 1 gap: surface 3.5 below the outside.
    assert out == pytest.approx(-3.5, abs=1e-9)
    board = next(b for b in scene.boards if b.name == "display_board")
    x, y, z = board.pose.inside(display.pose.origin)
    assert z == pytest.approx(8.0)
    assert (x / (PITCH / 2)) == pytest.approx(round(x / (PITCH / 2)), abs=1e-9)
    assert (y / (PITCH / 2)) == pytest.approx(round(y / (PITCH / 2)), abs=1e-9)


def test_both_boards_columns_stand_in_line() -> None:
    scene = scene_of(load_build("hive-scale"))
    main, standing = (
        next(b for b in scene.boards if b.name == n) for n in ("main_board", "display_board")
    )
    shift = (standing.pose.origin[0] - main.pose.origin[0]) / PITCH
    assert shift == pytest.approx(round(shift), abs=1e-9)


def test_perfboard_is_shifted_until_holes_meet_the_posts() -> None:
    scene = scene_of(load_build("hive-scale"))
    board = next(b for b in scene.boards if b.name == "main_board")
    posts = [p for p in scene.build.box.posts if p.use.value == "board"]
    for post in posts:
        x, y, _ = board.pose.inside((post.x, post.y, 0.0))
        hole = min(board.holes, key=lambda h: math.dist((h.x, h.y), (x, y)))
        assert math.dist((hole.x, hole.y), (x, y)) == pytest.approx(0.0, abs=1e-9)
        column = hole.x / PITCH + 0.5
        assert column == pytest.approx(round(column), abs=1e-9)


@pytest.mark.parametrize("name", BUILDS)
def test_what_touches_on_purpose_really_touches(name: str) -> None:
    """A contact that is exempt from gaps must not hide one thing inside another."""
    scene = scene_of(load_build(name))
    for pair in scene.touching:
        first, second = ([b for b in scene.bodies if b.id == body_id] for body_id in sorted(pair))
        for a in first:
            for b in second:
                assert gap(a.shape, a.pose, b.shape, b.pose).mm > -1e-6, pair


@pytest.mark.parametrize("name", BUILDS)
def test_every_body_is_a_proper_solid_with_a_known_owner(name: str) -> None:
    scene = scene_of(load_build(name))
    owners = {used.name for used in scene.build.parts} | {BOX}
    assert {b.owner for b in scene.bodies} <= owners
    for used in scene.build.parts:
        assert any(b.owner == used.name for b in scene.bodies), used.name
    for body in scene.bodies:
        x, y, z = body.pose.x, body.pose.y, body.pose.z
        for i, j, k in ((x, y, z), (y, z, x)):
            cross = (
                i[1] * j[2] - i[2] * j[1],
                i[2] * j[0] - i[0] * j[2],
                i[0] * j[1] - i[1] * j[0],
            )
            assert cross == pytest.approx(k, abs=1e-12)


def test_a_part_without_room_is_a_clash_that_names_its_face() -> None:
    build = load_build("hive-scale")
    crowd = tuple(replace(build.part("tare"), name=f"button{i}") for i in range(12))
    placing = place_open(replace(build, parts=(*build.parts, *crowd)))
    assert placing.findings
    assert all(f.grade is Grade.CLASH and "right" in f.about for f in placing.findings)


def test_a_board_on_posts_the_box_does_not_have_is_refused_in_words() -> None:
    build = load_build("hive-scale")
    bare = replace(build, box=replace(build.box, posts=()))
    with pytest.raises(UnusableInput, match="no board posts"):
        assemble(bare)
