"""The rules about solids: against brute force over all pairs, and by hand."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from pathlib import Path

import pytest

from fit.check import inspect
from fit.check.bodies import bodies
from fit.check.explain import HEADINGS, names, page, sections
from fit.check.inspect import RULES
from fit.check.rule import Inspection
from fit.check.things import Solid, Things, need_between, things
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.distance import gap
from fit.geometry.scene import Scene
from fit.read import load_build
from tests.conftest import ROOT
from tests.support_cases import case_named, merged, scene_of

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
WRONG = sorted((ROOT / "tests" / "wrong").glob("*.yaml"))


@pytest.fixture(params=[*BUILDS, *WRONG], ids=lambda path: path.stem)
def scene(request: pytest.FixtureRequest) -> Scene:
    return assemble(load_build(request.param))


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
    assert {f.about[0] for f in told} <= set(scene.placed), "a part is named before a post"
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


# --- how far things stray, and what to do


def test_a_bent_strip_lets_its_board_lean(tmp_path: Path) -> None:
    """1 degree in 36 mm is 0.63; to that come the screws of both boards, 0.49 and 0.3."""
    built = case_named("the display far enough behind the wall").build
    block = things(Inspection(scene_of(built, tmp_path)))
    built = merged(built, {"parts": {"upright": {"with": {}}}})
    built["parts"]["upright"]["with"] = {
        "kind": "bracket", "width": 8, "legs": [12, 12], "thickness": 1.5, "count": 2,
        "inset": 8, "screw": 3,
    }  # fmt: skip
    strip = things(Inspection(scene_of(built, tmp_path)))
    error = math.sqrt(0.3**2 + 0.25**2 + 0.3**2)
    lean = 36 * math.tan(math.radians(1))
    assert _slab(block).spread((0.0, 1.0, 0.0)) == pytest.approx(math.hypot(error, 0.3))
    assert _slab(strip).spread((0.0, 1.0, 0.0)) == pytest.approx(math.hypot(error, 0.3, lean))
    assert _slab(strip).spread((0.0, 0.0, 1.0)) == pytest.approx(0.3)


def _slab(known: Things) -> Solid:
    return next(s for s in known.of("upright") if s.body.name == "slab")


def test_what_should_only_touch_must_not_sink_in(tmp_path: Path) -> None:
    scene = scene_of(
        case_named("a board rests on its posts, its leads a ring away").build, tmp_path
    )
    up = replace(scene, bodies=tuple(
        replace(b, pose=b.pose.moved((0.0, 0.0, 1.0))) if b.name == "post P1" else b
        for b in scene.bodies
    ))  # fmt: skip
    assert not [f for f in bodies.check(Inspection(scene)) if f.have <= 0]
    (sunk,) = (f for f in bodies.check(Inspection(up)) if f.have < 0)
    assert (set(sunk.about), sunk.grade) == ({"a", "post P1"}, Grade.CLASH)
    assert sunk.have == pytest.approx(-1.0)
    assert sunk.need == 0


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("0.03 too near", "move a 0.1 mm to the right, or move b 0.1 mm to the left"),
        ("leads under a board want 1.5 over a part", "put b on spacers 0.1 mm longer"),
    ],
)
def test_the_repair_goes_the_right_way(name: str, words: str, tmp_path: Path) -> None:
    found = bodies.check(Inspection(scene_of(case_named(name).build, tmp_path)))
    assert words in [f.mend for f in found if f.grade is Grade.CLASH]


# --- limits the build sets itself, pages, speed


def test_a_build_may_set_a_rules_limit(tmp_path: Path) -> None:
    tight = case_named("0.03 too near").build
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
