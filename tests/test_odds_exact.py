"""Predicted odds against copies measured with exact solids of the CAD kernel.

The copies are made by the package; whether their solids share room is asked of the kernel, by
common volumes (see `tests/oracle.py`). Predicted odds come from other copies than those measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from fit.check.copies import Workshop
from fit.check.inspect import RULES
from fit.check.odds_limits import hard_only
from fit.check.odds_run import Bench, measure
from fit.check.odds_sample import sample
from fit.geometry.assemble import assemble
from fit.geometry.scene import BOX, Body, Scene
from fit.model.build import Build
from fit.model.part import Board
from fit.pipeline import examine
from fit.read import load_build
from fit.units import Length
from tests import oracle, oracle_box
from tests.conftest import ROOT

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
SOLID = ("bodies", "walls", "lid")
NEAR = 3.5
"""Solids further apart in the plan than this, mm, are not asked about: no copy is off by that."""


def shipped(path: Path) -> Scene:
    return examine(load_build(path)).scene


def tall_amplifier() -> Scene:
    """The amplifier ends 0.1 below the cells that hang on the lid: a stack of heights."""
    build = shipped(ROOT / "boxes" / "builds" / "hive-scale.yaml").build
    used = build.part("main_board")
    assert isinstance(used.part, Board)
    first, *rest = used.part.zones
    part = replace(used.part, zones=(replace(first, height=Length(27.8)), *rest))
    return _with(build, "main_board", replace(used, part=part))


def near_card() -> Scene:
    """The card stands so high that it ends 0.2 below the meter behind the front."""
    scene = shipped(ROOT / "boxes" / "builds" / "meter-box.yaml")
    used = scene.build.part("card")
    assert used.standoff is not None
    higher = used.standoff + _gap(scene, "meter", "card") - 0.2
    return _with(scene.build, "card", replace(used, standoff=Length(higher)))


def _with(build: Build, name: str, used: object) -> Scene:
    parts = tuple(used if u.name == name else u for u in build.parts)
    return assemble(replace(build, parts=parts))  # type: ignore[arg-type]


def _gap(scene: Scene, one: str, other: str) -> float:
    a = [oracle.solid_of(b.shape, b.pose) for b in scene.bodies if b.owner == one]
    b = [oracle.solid_of(b.shape, b.pose) for b in scene.bodies if b.owner == other]
    return min(oracle.distance(p, q) for p in a for q in b)


# --- exact solids


@dataclass(frozen=True, slots=True)
class Watched:
    """What of a scene may touch in a copy: pairs of bodies, and bodies beside walls."""

    pairs: tuple[tuple[int, int], ...]
    walls: tuple[tuple[int, int], ...]


def watched(scene: Scene) -> Watched:
    """Pairs near each other in the plan that do not touch on purpose, by the kernel."""
    solids = [oracle.solid_of(b.shape, b.pose) for b in scene.bodies]
    pairs = [
        (i, j)
        for i, a in enumerate(scene.bodies)
        for j, b in enumerate(scene.bodies[:i])
        if _meet(scene, a, b)
        and oracle.least_gap(solids[i], solids[j]) < NEAR
        and oracle.distance(solids[i], solids[j]) < NEAR
    ]
    walls = [
        (i, w)
        for i, body in enumerate(scene.bodies)
        for w, wall in enumerate(oracle_box.walls(scene.build.box))
        if body.owner != BOX
        and not body.outside
        and body.seat not in wall.faces
        and oracle.distance(solids[i], wall.solid) < NEAR
    ]
    return Watched(tuple(pairs), tuple(walls))


def _meet(scene: Scene, a: Body, b: Body) -> bool:
    if a.owner == b.owner or a.outside is not b.outside:
        return False
    if frozenset((a.id, b.id)) in scene.touching:
        return False
    for leads, other in ((a, b), (b, a)):
        slab = (leads.owner, "slab")
        # what is mounted on a board stands on its other side
        if leads.name == "leads" and frozenset((slab, other.id)) in scene.touching:
            return False
    return True


def meets(copy: Scene, asked: Watched) -> bool:
    """Whether any two solids of a copy share room, or one is in a wall."""
    solids: dict[int, oracle.Solid] = {}

    def solid(i: int) -> oracle.Solid:
        if i not in solids:
            solids[i] = oracle.solid_of(copy.bodies[i].shape, copy.bodies[i].pose)
        return solids[i]

    if any(oracle.shared(solid(i), solid(j)) > 0.0 for i, j in asked.pairs):
        return True
    walls = oracle_box.walls(copy.build.box) if asked.walls else ()
    return any(oracle.shared(solid(i), walls[w].solid) > 0.0 for i, w in asked.walls)


def exact(scene: Scene, count: int, seed: int) -> float:
    """Share of copies whose solids are free of each other and of the walls, by the kernel."""
    asked = watched(hard_only(scene))
    shop = Workshop(scene)
    rng = np.random.default_rng(seed)
    free = [not meets(hard_only(shop.make(shop.draw(rng))), asked) for _ in range(count)]
    return float(np.mean(free))


def predicted(scene: Scene, count: int, seed: int) -> float:
    """The same share, by the rules on copies of the package's own."""
    bench = Bench.of(Workshop(scene), seed)
    rules = tuple(r for r in RULES if r.name in SOLID)
    rooms = [
        measure(bench.shop, off, rules, None)
        for chunk in range(math.ceil(count / 50))
        for off in bench.draws(chunk)
    ][:count]
    return float(np.mean([min(room.values(), default=1.0) >= -1e-9 for room in rooms]))


TIGHT = [tall_amplifier, near_card]


@pytest.mark.parametrize("make", TIGHT, ids=lambda f: f.__name__)
def test_each_copy_meets_by_the_rules_where_the_kernel_says_so(make: Callable[[], Scene]) -> None:
    scene = make()
    asked, shop = watched(hard_only(scene)), Workshop(scene)
    rules = tuple(r for r in RULES if r.name in SOLID)
    rng = np.random.default_rng(17)
    met = 0
    for _ in range(40):
        off = shop.draw(rng)
        room = min(measure(shop, off, rules, None).values())
        by_kernel = meets(hard_only(shop.make(off)), asked)
        met += by_kernel
        if abs(room) > 1e-3:  # thinner than that either answer is right
            assert (room < 0) == by_kernel
    assert 0 < met < 40


@pytest.mark.proof
@pytest.mark.parametrize("make", TIGHT, ids=lambda f: f.__name__)
def test_predicted_odds_of_tight_builds(make: Callable[[], Scene]) -> None:
    """2,000 copies by the kernel, 2,000 others by `sample`; two points and no more."""
    scene = make()
    odds = sample(scene, copies=2000, seed=1)
    solid = [key for key, held in odds.findings.items() if key[0] in SOLID and held < 1]
    assert len(solid) == 1
    by_kernel = exact(scene, 2000, seed=2)
    assert 0.5 < by_kernel < 0.99
    assert odds.findings[solid[0]] == pytest.approx(by_kernel, abs=0.02)


@pytest.mark.proof
@pytest.mark.parametrize("path", BUILDS, ids=lambda p: p.stem)
def test_predicted_odds_of_every_shipped_build(path: Path) -> None:
    scene = shipped(path)
    by_kernel = exact(scene, 2000, seed=3)
    assert predicted(scene, 200, seed=4) == pytest.approx(by_kernel, abs=0.02)
    odds = sample(scene, copies=2000, seed=5)
    solid = [held for key, held in odds.findings.items() if key[0] in SOLID]
    assert math.prod(solid) == pytest.approx(by_kernel, abs=0.02)
