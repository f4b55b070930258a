"""What goes in before what, and the wires to the lid, against brute force and by hand."""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fit.check.order import CLOSING, assembly_order, crossing_wires
from fit.check.passing import closest
from fit.check.rule import Inspection
from fit.check.sequence import Before, precedence, steps_of, tightest_circle
from fit.check.things import things
from fit.geometry.assemble import assemble
from fit.geometry.distance import prepare
from fit.geometry.frames import Pose
from fit.geometry.shapes import Block
from fit.model.words import FaceName, Stuff
from fit.read import load_build
from tests.conftest import ROOT
from tests.support_cases import case_named, merged, scene_of

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
        case_named("two blocks far apart are each other's nearest").build,
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


def test_a_part_from_inside_needs_its_necks_length_behind_it(tmp_path: Path) -> None:
    """12 behind the wall stands a block; a body 10 deep with a neck of 9 needs 19."""
    inside = {
        "kind": "bushing",
        "bushing": 10,
        "neck": 9,
        "entry": "inside",
        "hull": {"width": 30, "height": 30, "depth": 10},
        "nut": {"across_flats": 14, "height": 2.5},
    }
    built = merged(
        case_named("two blocks far apart are each other's nearest").build,
        {"parts": {"pot": {"use": inside, "on": "front", "at": {"across": 0, "up": 25}}}},
    )
    del built["parts"]["b"]
    built["parts"]["a"] = {
        "use": {"kind": "holder", "size": [20, 20, 40]},
        "on": "floor",
        "at": {"across": 0, "up": -16},
    }
    # The block's front stands at -16 - 10 = -26, the wall's inside at -38.
    assert _edges(built, tmp_path) == {("pot", "a"): pytest.approx(-7.0)}


def test_wires_and_cables_hinder_no_step() -> None:
    known = things(Inspection(assemble(load_build(ROOT / "boxes/builds/hive-scale.yaml"))))
    soft = {s.label for s in known.parts if s.body.stuff is Stuff.SOFT}
    assert soft, "the sample has a cable"
    fills = [s for step in steps_of(known) for s in step.fills]
    assert fills
    assert all(s.body.stuff is not Stuff.SOFT for s in fills)


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
    built = case_named("the board comes before the button, whose nut sits behind the display").build
    order = assembly_order(scene_of(built, tmp_path))
    assert order.circle is not None
    assert set(order.circle) == {"main", "button"}
    assert CLOSING not in order.steps


def test_a_board_goes_in_before_the_button_that_reaches_over_it(tmp_path: Path) -> None:
    built = case_named("the display far enough behind the wall").build
    order = assembly_order(scene_of(built, tmp_path))
    assert order.circle is None
    board, button, closing = order.steps
    assert "'main' together with upright, digits" in board
    assert "'button'" in button
    assert closing == CLOSING


def test_nothing_forces_an_order_panel_parts_come_first(tmp_path: Path) -> None:
    built = case_named("a body that ends before the board lets the board pass").build
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
