"""One part moved: only it is measured again, and what is found is what a fresh check finds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from fit.check import inspect, measure
from fit.findings import Finding
from fit.geometry import distance
from fit.geometry.assemble import assemble
from fit.geometry.distance import Gap, Prepared
from fit.geometry.frames import Pose
from fit.geometry.shapes import Shape
from fit.model.build import Build, Coordinate, How, Place
from fit.units import Length as L
from tests.benchmarks.bench_check import crowd
from tests.random_builds import random_build


@pytest.fixture(autouse=True)
def _nothing_remembered() -> Iterator[None]:
    measure.forget()
    yield
    measure.forget()


def moved(build: Build, name: str, by: float) -> Build:
    """The build with one part moved along its face, mm."""
    parts = []
    for used in build.parts:
        if used.name == name:
            at = used.at
            assert at is not None and at.across is not None and at.across.how is How.AT
            across = Coordinate(how=How.AT, value=L(at.across.value + by))
            used = replace(used, at=replace(at, across=across))
        parts.append(used)
    return replace(build, parts=tuple(parts))


def movable(build: Build) -> list[str]:
    return [
        u.name
        for u in build.parts
        if isinstance(u.at, Place) and u.at.across is not None and u.at.across.how is How.AT
    ]


def findings(build: Build) -> tuple[Finding, ...]:
    return inspect(assemble(build))


@pytest.mark.parametrize("seed", range(12))
def test_findings_do_not_depend_on_what_was_asked_before(seed: int) -> None:
    build = random_build(seed).build
    names = movable(build)
    assert names
    changed = [moved(build, name, by) for name, by in zip(names, (0.3, -2.0, 7.0), strict=False)]
    findings(build)
    remembered = [findings(one) for one in changed]
    back_again = findings(build)
    for one, told in zip((*changed, build), (*remembered, back_again), strict=True):
        measure.forget()
        assert findings(one) == told


def test_only_what_was_moved_is_measured_again(monkeypatch: pytest.MonkeyPatch) -> None:
    build = crowd(50)
    scene = assemble(moved(build, "p24", 0.7))
    fresh: list[Prepared] = []
    pairs: list[tuple[Prepared, Prepared]] = []
    real_prepare, real_gap = distance.prepare, distance.gap_between

    def prepare(shape: Shape, pose: Pose) -> Prepared:
        fresh.append(real_prepare(shape, pose))
        return fresh[-1]

    def gap_between(a: Prepared, b: Prepared) -> Gap:
        pairs.append((a, b))
        return real_gap(a, b)

    monkeypatch.setattr(distance, "prepare", prepare)
    monkeypatch.setattr(distance, "gap_between", gap_between)
    told = findings(build)
    first, all_pairs = len(fresh), len(pairs)
    fresh.clear()
    pairs.clear()
    assert inspect(scene) != told
    own = [b for b in scene.bodies if b.owner == "p24"]
    # The part itself, what it passes on its way in, and the finger's room above it.
    assert len(own) <= len(fresh) <= 3 * len(own) < first / 20
    new = {id(ready) for ready in fresh}
    assert pairs
    assert all(id(a) in new or id(b) in new for a, b in pairs)
    assert len(pairs) < all_pairs / 5
    fresh.clear()
    pairs.clear()
    inspect(scene)
    assert not fresh
    assert not pairs


def test_many_things_are_the_same_as_one_after_another() -> None:
    boxes = [distance.prepare(b.shape, b.pose).box for b in assemble(crowd(20)).bodies]
    near = measure.Crowd(range(len(boxes)), boxes).within([[a] for a in boxes], 5.0)
    for box, found in zip(boxes, near, strict=True):
        alone = [n for n, other in enumerate(boxes) if distance.box_gap(box, other) <= 5.0]
        assert found == alone
    both = measure.Crowd(range(len(boxes)), boxes).within([boxes[:2]], 5.0)
    assert both == [sorted({*near[0], *near[1]})]
    assert measure.Crowd([], []).within([boxes], 5.0) == [[]]
