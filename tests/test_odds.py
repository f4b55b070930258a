"""Odds from room and spread, from simulated copies, and what is worth measuring better."""

from __future__ import annotations

import itertools
import json
import math
import random
from dataclasses import replace
from functools import cache
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from fit.check import inspect
from fit.check.copies import CUT_AT, Workshop
from fit.check.copies_fit import least_misfit, middle_of
from fit.check.explain import names
from fit.check.odds import LEAST_SPREAD, odds_of, with_odds
from fit.check.odds_limits import ADVICE, LIMITS, key_of
from fit.check.odds_sample import Odds, ranked, sample
from fit.findings import Finding, Grade
from fit.geometry.scene import Scene
from fit.model.build import Build
from fit.model.part import Board
from fit.pipeline import examine
from fit.read import load_build
from fit.trade.stacks import rss, worst_case
from fit.units import Length
from tests.conftest import ROOT, RunFit

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))

STACK = {
    # ISO 286-1: half of IT12 (IT13 across the parting) for each nominal size, mm
    "height of the box": 0.230,  # 60
    "thickness of the lid": 0.050,  # 2.5
    "thickness of the floor": 0.050,  # 2.5
    "height of posts P1 to P4": 0.075,  # 8
    "depth of cells": 0.090,  # 16
    # common practice, from memory: 10 % of a board's thickness
    "thickness of board main_board": 0.160,
    "height of amplifier in its socket on main_board": 0.105,  # 27 to 28
}
"""What lies between floor and lid where the amplifier stands under the cells."""


def placed(path: Path) -> Scene:
    return examine(load_build(path)).scene


@cache
def hive() -> Scene:
    return placed(ROOT / "boxes" / "builds" / "hive-scale.yaml")


def tall_hive(height: float, plus_minus: float = 0.0) -> Scene:
    """The hive scale with its amplifier so high, under the cells on the lid."""
    build = hive().build
    used = build.part("main_board")
    assert isinstance(used.part, Board)
    first, *rest = used.part.zones
    zone = replace(first, height=Length(height, plus_minus))
    part = replace(used.part, zones=(zone, *rest))
    return scene_with(build, used.name, part)


def scene_with(build: Build, name: str, part: Board) -> Scene:
    parts = tuple(replace(u, part=part) if u.name == name else u for u in build.parts)
    from fit.geometry.assemble import assemble

    return assemble(replace(build, parts=parts))


def gap_below_cells(scene: Scene) -> float:
    """From the amplifier's top up to the cells' lower side, mm: both are level blocks."""
    top = next(b for b in scene.bodies if b.name == "amplifier in its socket")
    cells = next(b for b in scene.bodies if (b.owner, b.name) == ("cells", "body"))
    height, deep = top.shape.dz, cells.shape.dz  # type: ignore[union-attr]
    return (cells.pose.origin[2] - deep / 2) - (top.pose.origin[2] + height / 2)


def found(scene: Scene, rule: str, *about: str) -> Finding:
    return next(f for f in inspect(scene) if f.rule == rule and set(f.about) >= set(about))


# --- room and spread


@pytest.mark.parametrize("left", [-1.0, -0.2, 0.0, 0.1, 0.5, 1.0])
@pytest.mark.parametrize("spread", [0.1, 0.5, 1.4])
def test_a_spread_is_two_standard_deviations(left: float, spread: float) -> None:
    assert odds_of(left, spread) == pytest.approx(NormalDist(0, spread / 2).cdf(left))


def test_what_cannot_stray_holds_or_does_not() -> None:
    assert (odds_of(0.0, 0.0), odds_of(1.0, 0.0), odds_of(-0.01, 0.0)) == (1.0, 1.0, 0.0)


def test_odds_speak_of_meeting_and_margins_of_air() -> None:
    scene = tall_hive(27.4)
    finding = found(scene, "bodies", "cells", "main_board")
    assert finding.grade is Grade.CLASH  # 0.5 of air where 1.0 is wanted
    told = next(f for f in with_odds(scene, [finding]))
    gap = gap_below_cells(scene)
    spread = max(finding.spread, LEAST_SPREAD)
    assert told.odds == pytest.approx(NormalDist(0, spread / 2).cdf(gap))
    assert told.odds is not None and told.odds > 0.99


def test_every_rule_about_fitting_has_odds_and_advice_has_none() -> None:
    for path in BUILDS:
        scene = placed(path)
        for finding in with_odds(scene, inspect(scene)):
            assert (finding.odds is None) == (finding.rule in ADVICE)
            assert finding.odds is None or 0.0 <= finding.odds <= 1.0


def test_a_rule_is_either_advice_or_has_a_limit_that_names_it() -> None:
    known = set(names())
    assert set(LIMITS) - {"place"} <= known
    assert set(ADVICE) <= known
    assert not set(LIMITS) & set(ADVICE)


# --- screws that find their holes


def test_the_smallest_circle_round_points() -> None:
    # Euclid III.31: the longest side of a right triangle is a diameter
    middle, radius = middle_of([(0.0, 0.0), (3.0, 0.0), (0.0, 4.0)])
    assert middle == pytest.approx((1.5, 2.0)) and radius == pytest.approx(2.5)
    # equal sides: radius = side / √3
    side = [(0.0, 0.0), (1.0, 0.0), (0.5, math.sqrt(0.75))]
    assert middle_of(side)[1] == pytest.approx(1 / math.sqrt(3))
    assert middle_of([(2.0, 1.0), (2.0, 1.0)]) == ((2.0, 1.0), 0.0)


def test_no_circle_round_points_is_smaller() -> None:
    rng = random.Random(4)
    for _ in range(40):
        points = [(rng.gauss(0, 1), rng.gauss(0, 1)) for _ in range(rng.choice([2, 3, 4, 6]))]
        middle, radius = middle_of(points)
        assert max(math.dist(middle, p) for p in points) == pytest.approx(radius)
        for dx, dy in itertools.product((-1e-4, 0.0, 1e-4), repeat=2):
            near = (middle[0] + dx, middle[1] + dy)
            assert max(math.dist(near, p) for p in points) >= radius - 1e-9


def test_two_holes_share_the_error_of_their_distance() -> None:
    # ASME Y14.5, floating fasteners: half of the difference at either end
    assert least_misfit([(0, 0), (50.4, 0)], [(3, 3), (53, 3)]) == pytest.approx(0.2, abs=2e-3)


def test_a_pattern_that_is_only_moved_and_turned_fits() -> None:
    own = [(0.0, 0.0), (90.0, 0.0), (90.0, 60.0), (0.0, 60.0)]
    a = 0.004
    moved = [
        (x * math.cos(a) - y * math.sin(a) + 0.3, x * math.sin(a) + y * math.cos(a) - 0.2)
        for x, y in own
    ]
    assert least_misfit(moved, own) < 2e-3


def test_no_move_or_turn_fits_better() -> None:
    rng = random.Random(7)
    for _ in range(6):
        own = [(rng.uniform(-50, 50), rng.uniform(-30, 30)) for _ in range(4)]
        wanted = [(x + rng.gauss(0, 0.3), y + rng.gauss(0, 0.3)) for x, y in own]
        least = least_misfit(wanted, own)
        for _ in range(1500):
            a, dx, dy = rng.uniform(-0.02, 0.02), rng.uniform(-1, 1), rng.uniform(-1, 1)
            c, s = math.cos(a), math.sin(a)
            tried = max(
                math.dist(w, (c * o[0] - s * o[1] + dx, s * o[0] + c * o[1] + dy))
                for w, o in zip(wanted, own, strict=True)
            )
            assert tried >= least - 5e-3


# --- copies against arithmetic


def test_a_stack_of_plain_sizes_strays_as_its_root_sum_of_squares() -> None:
    """Scholz, Tolerance Stack Analysis Methods, Boeing, 1995: T = √ΣTᵢ²; ΣTᵢ at worst."""
    shop = Workshop(tall_hive(27.9))
    rng = np.random.default_rng(3)
    gaps = np.array([gap_below_cells(shop.make(shop.draw(rng))) for _ in range(500)])
    likely, worst = rss(STACK.values()), worst_case(STACK.values())
    # a normal distribution cut at ±3σ keeps 0.98658 of its σ (Johnson, Kotz, Balakrishnan 1994)
    assert float(gaps.std()) == pytest.approx(0.98658 * likely / 2, rel=0.09)
    assert float(np.abs(gaps - gap_below_cells(shop.scene)).max()) <= CUT_AT / 2 * worst
    assert float(gaps.mean()) == pytest.approx(gap_below_cells(shop.scene), abs=0.02)


COUNT = 300
"""Copies: a share of 0.85 is then right to 0.062 (three standard errors)."""


@cache
def sampled_tall(height: float, plus_minus: float) -> Odds:
    return sample(tall_hive(height, plus_minus), copies=COUNT, seed=5, workers=1)


def test_sampled_odds_are_those_of_the_stack() -> None:
    odds = sampled_tall(27.75, 0.0)
    gap = gap_below_cells(tall_hive(27.75))
    key = key_of(found(tall_hive(27.75), "bodies", "cells", "main_board"))
    expected = NormalDist(0, rss(STACK.values()) / 2).cdf(gap)
    assert 0.75 < expected < 0.97
    assert odds.findings[key] == pytest.approx(expected, abs=0.062)
    assert odds.whole <= odds.findings[key]


def test_the_stack_of_a_finding_names_its_terms() -> None:
    odds = sampled_tall(27.75, 0.0)
    stack = odds.stacks[key_of(found(tall_hive(27.75), "bodies", "cells", "main_board"))]
    assert {name: abs(mm) for name, mm in stack.terms} == pytest.approx(STACK, abs=1e-3)
    assert stack.likely == pytest.approx(rss(STACK.values()), abs=1e-3)
    assert stack.worst == pytest.approx(worst_case(STACK.values()), abs=1e-3)
    assert stack.left == pytest.approx(gap_below_cells(tall_hive(27.75)), abs=1e-6)
    signs = dict(stack.terms)
    assert signs["height of the box"] > 0 > signs["thickness of the floor"]


def test_the_dimension_that_costs_most_is_named_first_with_its_gain() -> None:
    odds = sampled_tall(27.4, 1.0)
    gap = gap_below_cells(tall_hive(27.4))
    rest = [v for name, v in STACK.items() if not name.startswith("height of amplifier")]
    known = NormalDist(0, rss(rest) / 2).cdf(gap)
    now = NormalDist(0, rss([*rest, 1.0]) / 2).cdf(gap)
    first = odds.worth[0]
    assert first.name == "height of amplifier in its socket on main_board"
    assert first.plus_minus == 1.0
    # three standard errors of so many copies; against the very same copies far closer
    assert first.gain == pytest.approx(known - now, abs=0.065)
    held = odds.findings[key_of(found(tall_hive(27.4), "bodies", "cells", "main_board"))]
    assert first.gain == pytest.approx(known - held, abs=0.005)
    assert len(odds.worth) <= 3
    assert all(first.gain >= other.gain for other in odds.worth)


# --- how it runs


def test_the_same_seed_gives_the_same_answer_however_many_work() -> None:
    scene = placed(ROOT / "boxes" / "builds" / "meter-box.yaml")
    alone, again = (sample(scene, copies=24, seed=9, workers=1) for _ in range(2))
    both = sample(scene, copies=24, seed=9, workers=2)
    assert alone == again == both
    assert sample(scene, copies=24, seed=10, workers=1) != alone


def test_progress_is_told_and_ctrl_c_gives_what_is_done() -> None:
    told: list[tuple[int, int]] = []

    def tell(done: int, asked: int) -> None:
        told.append((done, asked))
        if done >= 100:
            raise KeyboardInterrupt

    scene = placed(ROOT / "boxes" / "builds" / "meter-box.yaml")
    odds = sample(scene, copies=1000, seed=9, tell=tell, workers=1)
    assert told == [(50, 1000), (100, 1000)]
    assert (odds.copies, odds.asked, odds.worth) == (100, 1000, ())
    whole = sample(scene, copies=100, seed=9, workers=1)
    assert (odds.whole, odds.findings) == (whole.whole, whole.findings)


def test_nothing_is_done_before_the_first_copies() -> None:
    with pytest.raises(ValueError, match="at least one"):
        sample(hive(), copies=0)


def test_sampled_odds_take_the_place_of_quick_ones() -> None:
    scene = tall_hive(27.75)
    findings = with_odds(scene, inspect(scene))
    odds = sampled_tall(27.75, 0.0)
    told = ranked(findings, odds)
    assert len(told) == len(findings)
    for before, after in zip(findings, told, strict=True):
        assert replace(before, odds=after.odds) == after
        assert (after.odds is None) == (after.rule in ADVICE)
    clash = next(f for f in told if f.rule == "bodies" and set(f.about) == {"cells", "main_board"})
    assert clash.odds == odds.findings[key_of(clash)]


def test_the_command_tells_the_odds(fit_process: RunFit) -> None:
    path = ROOT / "boxes" / "builds" / "meter-box.yaml"
    ran = fit_process("check", path, "--copies", "12", "--json")
    assert ran.returncode == 0
    told = json.loads(ran.stdout)["odds"]
    assert (told["copies"], told["asked"]) == (12, 12)
    again = sample(examine(load_build(path)).scene, copies=12, workers=1)
    assert told["whole"] == pytest.approx(again.whole, abs=1e-4)
    assert told["error"] == pytest.approx(again.error, abs=1e-4)
    plain = fit_process("check", path, "--copies", "12")
    assert "Goes together at the first cut: " in plain.stdout
    assert "of 12 simulated hand-made copies" in plain.stdout
    assert fit_process("check", path, "--copies", "0").returncode == 2
