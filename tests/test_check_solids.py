"""The rules about solids, against brute force, trigonometry and a general geometry library."""

from __future__ import annotations

import itertools
import math
import random
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from fit.check import inspect
from fit.check.bodies import bodies
from fit.check.explain import HEADINGS, names, page, sections
from fit.check.inspect import RULES
from fit.check.order import CLOSING, assembly_order, crossing_wires
from fit.check.passing import closest
from fit.check.rule import Inspection
from fit.check.sequence import Before, precedence, steps_of, tightest_circle
from fit.check.things import need_between, things
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.distance import gap, prepare
from fit.geometry.frames import Pose, cross
from fit.geometry.scene import Scene
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import reach, vertices
from fit.geometry.sweep import Way, drawn_in, swept
from fit.model.words import FaceName
from fit.read import load_build
from tests.conftest import ROOT
from tests.support_cases import Case, all_cases, merged, scene_of

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
WRONG = sorted((ROOT / "tests" / "wrong").glob("*.yaml"))


@pytest.fixture(params=[*BUILDS, *WRONG], ids=lambda path: path.stem)
def scene(request: pytest.FixtureRequest) -> Scene:
    return assemble(load_build(request.param))


# --- cases by name


def case(name: str) -> Case:
    return next(c for c in all_cases() if c.name == name)


# --- the sweep


def poses(rng: random.Random) -> dict[str, Pose]:
    """One pose of each kind the sweep tells apart."""
    a, lean = rng.uniform(0, 2 * math.pi), rng.uniform(0.05, 1.4)
    level = (math.cos(a), math.sin(a), 0.0)
    side = cross((0.0, 0.0, 1.0), level)
    leaning = (math.cos(lean) * level[0], math.cos(lean) * level[1], math.sin(lean))
    at = (rng.uniform(-20, 20), rng.uniform(-20, 20), rng.uniform(5, 20))
    lying = Pose(at, side, (0.0, 0.0, 1.0), level)
    tilted = Pose(at, side, cross(leaning, side), leaning)
    return {
        "upright": Pose(at, level, side, (0.0, 0.0, 1.0)),
        "over": Pose(at, level, cross((0.0, 0.0, -1.0), level), (0.0, 0.0, -1.0)),
        "lying": lying,
        "lying, turned": lying.turned(math.degrees(lean)),
        "tilted": tilted,
        "tilted, turned": tilted.turned(math.degrees(a)),
    }


def test_the_poses_are_right_handed() -> None:
    for pose in poses(random.Random(1)).values():
        assert np.cross(pose.x, pose.y) == pytest.approx(np.array(pose.z))


SHAPES: dict[str, Shape] = {
    "block": Block(7.0, 4.0, 2.0),
    "bar": Cylinder(2.5, 9.0),
    "cone": Cone(4.0, 2.0, 6.0),
    "spike": Cone(1.0, 3.0, 6.0),
    "prism": Prism(((0.0, 0.0), (6.0, 0.0), (5.0, 3.0), (1.0, 4.0)), 3.0),
}
WAYS = {"up": Way(up=True, to=60.0), "down": Way(up=False, to=-45.0)}


def inside_of(shape: Shape, rng: random.Random) -> tuple[float, float, float]:
    """A point of a shape, as often as not on its skin."""
    if isinstance(shape, Block | Prism):
        corners = vertices(shape, Pose())
        weights = np.array([rng.random() ** 3 for _ in corners])
        point = (weights / weights.sum()) @ corners
        return float(point[0]), float(point[1]), float(point[2])
    turn, share = rng.uniform(0, 2 * math.pi), rng.random()
    if isinstance(shape, Cylinder):
        low = high = shape.radius
    else:
        low, high = shape.radius_low, shape.radius_high
    r = (low + (high - low) * share) * rng.choice([1.0, rng.random()])
    return r * math.cos(turn), r * math.sin(turn), (share - 0.5) * shape.height


def holds(pieces: tuple[tuple[Shape, Pose], ...], point: tuple[float, float, float]) -> bool:
    """Whether a point lies in one of several solids, by a tiny block put there."""
    speck = Block(1e-9, 1e-9, 1e-9)
    return any(gap(s, p, speck, Pose(point)).mm <= 1e-6 for s, p in pieces)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", SHAPES)
def test_nothing_a_solid_passes_is_left_out(kind: str, way: str) -> None:
    rng = random.Random(f"{kind} {way}")
    shape, going = SHAPES[kind], WAYS[way]
    for name, pose in poses(rng).items():
        pieces = swept(shape, pose, going)
        for _ in range(60):
            x, y, z = pose.point(inside_of(shape, rng))
            lift = rng.uniform(min(z, going.to), max(z, going.to))
            assert holds(pieces, (x, y, lift)), f"{name}: {(x, y, z)} on its way at {lift}"


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["block", "prism"])
def test_exact_ways_are_no_larger_than_the_true_ones(kind: str, way: str) -> None:
    """A convex solid moved along a line covers the hull of its first and last place (trimesh)."""
    rng = random.Random(f"{kind} {way}")
    shape, going = SHAPES[kind], WAYS[way]
    assert isinstance(shape, Block | Prism)
    exact = ["upright", "over", "lying", "lying, turned"] + ["tilted"] * (kind == "block")
    found = poses(rng)
    for name in exact:
        corners = vertices(shape, found[name])
        # Every point of the solid goes to the same level: flattened there.
        flat = corners.copy()
        flat[:, 2] = going.to
        hull = trimesh.convex.convex_hull(np.vstack((corners, flat)))
        (piece,) = swept(shape, found[name], going)
        assert isinstance(piece[0], Block | Prism)
        mine = trimesh.convex.convex_hull(vertices(piece[0], piece[1]))
        assert mine.volume == pytest.approx(hull.volume, rel=1e-6), name


def test_a_lying_bar_keeps_its_round_underside() -> None:
    bar, pose = Cylinder(3.0, 20.0), Pose((0, 0, 10), (0, 1, 0), (0, 0, 1), (1, 0, 0))
    pieces = swept(bar, pose, Way(up=True, to=40.0))
    corner = (0.0, 2.9, 7.1)  # below the bar's side, inside the box round it
    assert not holds(pieces, corner)
    assert holds(pieces, (0.0, 2.9, 10.0))
    assert holds(pieces, (0.0, 2.9, 39.9))


def test_what_lies_past_the_end_of_the_way_stays_as_it_is() -> None:
    block, pose = Block(4.0, 4.0, 4.0), Pose((0, 0, 50))
    (piece,) = swept(block, pose, Way(up=True, to=40.0))
    assert reach(*piece, (0.0, 0.0, 1.0)) == pytest.approx(52.0)
    assert -reach(*piece, (0.0, 0.0, -1.0)) == pytest.approx(48.0)


@pytest.mark.parametrize("kind", SHAPES)
def test_drawn_in_against_the_own_axis(kind: str) -> None:
    rng = random.Random(kind)
    for pose in poses(rng).values():
        piece = drawn_in(SHAPES[kind], pose, 7.0)
        for _ in range(30):
            x, y, z = inside_of(SHAPES[kind], rng)
            assert holds((piece,), pose.point((x, y, z - rng.uniform(0, 7.0))))


# --- bodies: brute force over all pairs


def test_every_pair_of_things_is_judged_by_its_worst_solids(scene: Scene) -> None:
    look = Inspection(scene)
    known = things(look)
    worst: dict[frozenset[str], float] = {}
    for a, b in itertools.combinations(known.solids, 2):
        if a.body.owner == b.body.owner or a.body.outside is not b.body.outside:
            continue
        if known.touch(a.body, b.body) or known.behind_a_board(a.body, b.body):
            continue
        margin = gap(a.body.shape, a.body.pose, b.body.shape, b.body.pose).mm - need_between(a, b)
        pair = frozenset((a.label, b.label))
        worst[pair] = min(worst.get(pair, margin), margin)
    told = list(bodies.check(look))
    found = {frozenset(f.about): f for f in told}
    assert len(found) == len(told), "two things are told twice"
    lid_side = {b.name for b in scene.bodies if b.owner == "box" and b.half == "lid"}
    for pair, finding in found.items():
        assert finding.margin == pytest.approx(worst[pair], abs=2e-5)
    for pair, margin in worst.items():
        if margin < 0 and not pair & lid_side:
            assert found[pair].grade is Grade.CLASH, f"{set(pair)} at {margin} is not told"


def test_every_part_has_its_nearest_neighbour(scene: Scene) -> None:
    found = {name for f in bodies.check(Inspection(scene)) for name in f.about}
    inside = {b.owner for b in scene.bodies if not b.outside and b.owner != "box"}
    assert inside <= found


SOLID = ("bodies", "walls", "lid", "going-in", "order")


@pytest.mark.parametrize("path", BUILDS, ids=lambda path: path.stem)
def test_the_samples_go_together(path: Path) -> None:
    rules = tuple(r for r in RULES if r.name in SOLID)
    clashes = [f for f in inspect(assemble(load_build(path)), rules) if f.grade is Grade.CLASH]
    assert not clashes, [f.say for f in clashes]


@pytest.mark.parametrize("path", WRONG, ids=lambda path: path.stem)
def test_a_mistake_is_told_once_and_not_again_as_an_order(path: Path) -> None:
    """Two things in one place are a clash of bodies, not of the order they go in."""
    found = inspect(assemble(load_build(path)), tuple(r for r in RULES if r.name in SOLID))
    clashes = [f for f in found if f.grade is Grade.CLASH]
    assert clashes
    pairs = [frozenset(f.about) for f in clashes]
    assert len(set(pairs)) == len(pairs), [f.say for f in clashes]


# --- the way past other things


def test_a_piece_that_touches_does_not_hide_one_that_sinks_in() -> None:
    post = prepare(Block(10.0, 10.0, 10.0), Pose())
    touching = prepare(Block(2.0, 2.0, 2.0), Pose((6.0, 0.0, 0.0)))
    sunk = prepare(Block(2.0, 2.0, 2.0), Pose((4.0, 0.0, 0.0)))
    apart = prepare(Block(2.0, 2.0, 2.0), Pose((9.0, 0.0, 0.0)))
    for pieces in itertools.permutations((touching, sunk, apart)):
        found = closest(pieces, post, 5.0)
        assert found is not None
        assert found.mm == pytest.approx(-2.0)
    assert closest((apart,), post, 2.0) is None


def test_a_screwdriver_is_wider_than_the_board_beside_its_hole(tmp_path: Path) -> None:
    """A hole 2 from the edge: a shank of 7 stands 1.5 past it, a part 1.2 beside is in its way."""
    built = merged(
        case("two blocks far apart are each other's nearest").build,
        {
            "parts": {
                "board": {
                    "use": {
                        "kind": "board",
                        "stock": "plain",
                        "size": [40, 30],
                        "holes": [[20, 2, 3.2]],
                    },
                    "on": "floor",
                    "at": {"across": 0, "up": 0},
                    "standoff": 10,
                    "screws": {
                        "kind": "screw",
                        "thread": "M3",
                        "diameter": 3,
                        "length": 6,
                        "head": {"diameter": 3.9, "height": 2},
                    },
                },
                "shelf": {
                    "use": {"kind": "holder", "size": [30, 8, 21.8]},
                    "on": "front",
                    "at": {"across": 0, "up": 30},
                },
            }
        },
    )
    for name in ("a", "b"):
        del built["parts"][name]
    # The board's front edge lies at y -15; the shelf ends 21.8 behind the wall's inside, at -16.2.
    edges = _edges(built, tmp_path)
    assert edges["board", "shelf"] == pytest.approx(-0.3)
    del built["parts"]["board"]["screws"]
    # Without, the spacer reaches furthest: M3, 5 across flats.
    assert _edges(built, tmp_path)["board", "shelf"] == pytest.approx(3.2 - 5 / math.sqrt(3))


def _edges(build: dict[str, Any], folder: Path) -> dict[tuple[str, str], float]:
    known = things(Inspection(scene_of(build, folder)))
    return {(e.first, e.then): e.mm for e in precedence(steps_of(known))}


# --- order


def simple_circles(edges: list[Before]) -> list[list[Before]]:
    """Every circle without a repeated step, by trying all paths."""
    out: dict[str, list[Before]] = {}
    for edge in edges:
        out.setdefault(edge.first, []).append(edge)
    found: list[list[Before]] = []

    def walk(path: list[Before]) -> None:
        for edge in out.get(path[-1].then, []):
            if edge.then == path[0].first:
                found.append([*path, edge])
            elif edge.then not in {e.first for e in path} and edge.then > path[0].first:
                walk([*path, edge])

    for edge in edges:
        if edge.then > edge.first:
            walk([edge])
    return found


def test_the_tightest_circle_is_the_one_whose_best_edge_is_worst() -> None:
    rng = random.Random(7)
    circles = 0
    for _ in range(300):
        steps = "abcdef"[: rng.randint(2, 6)]
        pairs = rng.sample(
            list(itertools.permutations(steps, 2)), k=rng.randint(1, 2 * len(steps) - 2)
        )
        edges = [
            Before(first=a, then=b, blocker=b, mm=rng.uniform(-5, 5), spread=0.0) for a, b in pairs
        ]
        rooms = [max(e.mm for e in circle) for circle in simple_circles(edges)]
        found = tightest_circle(edges)
        assert (found is None) == (not rooms)
        if found is not None:
            circles += 1
            assert found.weakest.mm == min(rooms)
            assert [e.then for e in found.edges] == [*found.names[1:], found.names[0]]
    assert circles > 100


def test_a_circle_names_its_parts_and_stops_the_list(tmp_path: Path) -> None:
    built = case("the board comes before the button, whose nut sits behind the display").build
    order = assembly_order(scene_of(built, tmp_path))
    assert order.circle is not None
    assert set(order.circle) == {"main", "button"}
    assert CLOSING not in order.steps


def test_a_board_goes_in_before_the_button_that_reaches_over_it(tmp_path: Path) -> None:
    built = case("the display far enough behind the wall").build
    order = assembly_order(scene_of(built, tmp_path))
    assert order.circle is None
    board, button, closing = order.steps
    assert "'main' together with upright, digits" in board
    assert "'button'" in button
    assert closing == CLOSING


def test_nothing_forces_an_order_panel_parts_come_first(tmp_path: Path) -> None:
    built = case("a body that ends before the board lets the board pass").build
    order = assembly_order(scene_of(built, tmp_path))
    assert "'button'" in order.steps[0]


# --- wires


WIRED = {
    "build": "wired",
    "box": {
        "outside": [100, 80, 50],
        "walls": {"thickness": 2},
        "floor": 2,
        "lid": {"kind": "flat", "thickness": 2},
    },
    "drawer": {"bits": [1, 2, 3, 4, 5]},
    "carrier": "body",
    "parts": {
        "board": {
            "use": {"kind": "board", "stock": "plain", "size": [40, 30], "holes": [[4, 4, 3.2]]},
            "on": "carrier",
            "at": {"across": 0, "up": 0},
            "standoff": 8,
        },
        "cells": {
            "use": {"kind": "holder", "size": [20, 20, 10]},
            "on": "lid",
            "at": {"across": 0, "up": 20},
        },
        "cable": {
            "use": {
                "kind": "grommet",
                "hole": 8,
                "groove": 2,
                "flange": {"diameter": 11, "thickness": 1.5},
                "cable": 5,
            },
            "on": "back",
            "at": {"across": 0, "up": 25},
        },
    },
    "wires": [["cells", "board"], ["cable", "board"]],
}


def over_the_rim(face: FaceName, p: tuple[float, ...], q: tuple[float, ...]) -> float:
    """The shortest way from p over an edge of the rim to q, by trying points along the edge."""
    along = np.linspace(-80, 80, 160001)
    still = np.ones_like(along)
    x, y = {
        FaceName.BACK: (along, 40.0 * still),
        FaceName.FRONT: (along, -40.0 * still),
        FaceName.LEFT: (-50.0 * still, along),
        FaceName.RIGHT: (50.0 * still, along),
    }[face]
    edge = np.stack((x, y, 48.0 * still), axis=-1)
    ways = np.linalg.norm(edge - p, axis=1) + np.linalg.norm(edge - q, axis=1)
    return float(ways.min())


def test_a_wire_to_the_lid_reaches_over_the_rim(tmp_path: Path) -> None:
    """Length: the way with the lid turned over beside the box, and 25 of slack."""
    scene = scene_of(WIRED, tmp_path)
    (crossing,) = crossing_wires(scene)
    assert (crossing.wire.start, crossing.wire.end) == ("cells", "board")
    # The board's surface lies at 2 + 8 + 1.6, the holder hangs 10 below the lid's inside.
    corners = [(x, y, 11.6) for x in (-20, 20) for y in (-15, 15)]
    ends = [(x, y, 38.0) for x in (-10, 10) for y in (10, 30)]
    longest = {
        face: max(over_the_rim(face, p, q) for p in corners for q in ends)
        for face in (FaceName.BACK, FaceName.FRONT, FaceName.LEFT, FaceName.RIGHT)
    }
    assert crossing.over is min(longest, key=lambda face: longest[face])
    assert crossing.length == pytest.approx(min(longest.values()) + 25, abs=1e-4)


def test_turning_the_carrier_over_changes_which_wires_cross(tmp_path: Path) -> None:
    scene = scene_of(merged(WIRED, {"carrier": "lid", "parts": {"board": {"at": {"up": -10}}}}),
                     tmp_path)  # fmt: skip
    (crossing,) = crossing_wires(scene)
    assert crossing.wire.start == "cable"
    order = assembly_order(scene)
    assert any("into the lid" in step and "'board'" in step for step in order.steps)
    assert any("solder the one wire" in step for step in order.steps)


def test_no_wire_crosses_where_all_stays_in_one_half(tmp_path: Path) -> None:
    lone = merged(WIRED, {"wires": [["cable", "board"]]})
    assert crossing_wires(scene_of(lone, tmp_path)) == ()


# --- limits the build sets itself, pages, speed


def test_a_build_may_set_a_rules_limit(tmp_path: Path) -> None:
    tight = case("0.03 too near").build
    assert inspect(scene_of(tight, tmp_path), (bodies,))[0].grade is Grade.CLASH
    own = merged(tight, {"needs": {"bodies": 0.4}})
    finding = inspect(scene_of(own, tmp_path), (bodies,))[0]
    assert (finding.need, finding.grade) == (0.4, Grade.CLEAR)


@pytest.mark.parametrize("name", names())
def test_every_rule_explains_itself(name: str) -> None:
    told = sections(name)
    assert told[""]
    found = [heading for heading in told if heading in HEADINGS]
    assert found == list(HEADINGS)
    assert all(len(told[heading]) > 10 for heading in HEADINGS)
    assert page(name).startswith(f"{name}\n\n")
    assert "mm" in page(name) or any(ch.isdigit() for ch in told["Formula"] + told["Example"])


def test_no_page_for_an_unknown_rule() -> None:
    with pytest.raises(KeyError):
        page("no-such-rule")


def test_rules_have_names_of_their_own() -> None:
    assert len(set(names())) == len(names())


def test_a_whole_build_is_inspected_in_a_tenth_of_a_second() -> None:
    """Measured in processor time, the best of several, so that a busy machine does not count."""
    scene = assemble(load_build(ROOT / "boxes" / "builds" / "hive-scale.yaml"))
    assert len(scene.bodies) > 60
    taken = []
    for _ in range(5):
        start = time.process_time()
        inspect(scene)
        taken.append(time.process_time() - start)
    assert min(taken) < 0.1
