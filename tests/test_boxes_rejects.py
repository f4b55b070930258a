"""Quick rejects: never of a box that the check would let pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

from fit.findings import UnusableInput
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import Holder
from fit.model.words import FaceName
from fit.read import load_box, load_build, load_part
from fit.solve.other.goes import first_clash
from fit.solve.other.rejects import too_small
from fit.solve.other.resize import Inside, inside_of, with_inside
from fit.solve.other.sound import is_sound
from fit.solve.other.ways import moved_to
from fit.units import Length as L
from tests.boxes_random import small_build
from tests.random_builds import random_build
from tests.random_holes import with_holes
from tests.random_parts import some_tray

EACH = 5
"""Boxes tried with one build: putting a random build together takes longer than judging it."""


def _pairs(seed: int) -> Iterator[Build]:
    """A random build in boxes that are none of its own, most of them too small for something.

    Every second box has holes already, some of them where the build wants its own.
    """
    rng = Random(seed)
    build = random_build(seed).build if seed % 40 == 7 else small_build(seed, 5, going=False)
    yield _holed(seed, moved_to(build, some_tray(rng)).build)
    now = inside_of(build.box)
    made = 1
    while made < EACH:
        sizes = [rng.uniform(0.25, 1.0) * v for v in (now.length, now.width, now.height)]
        try:
            box = with_inside(build.box, Inside(length=sizes[0], width=sizes[1], height=sizes[2]))
        except ValueError:
            continue
        if is_sound(box) or rng.random() < 0.1:
            made += 1
            yield _holed(seed + made, moved_to(build, box).build)


def _holed(seed: int, build: Build) -> Build:
    if seed % 2 or not is_sound(build.box):
        return build
    try:
        return with_holes(Random(seed), build)
    except UnusableInput:
        return build


def _judged(seeds: range) -> tuple[int, Counter[str], list[int]]:
    pairs, tests, wrong = 0, Counter[str](), []
    for seed in seeds:
        for pair in _pairs(seed):
            pairs += 1
            tests["with holes"] += bool(pair.box.holes)
            reject = too_small(pair)
            if reject is not None:
                tests[reject.test] += 1
                if first_clash(pair) is None:
                    wrong.append(seed)
    return pairs, tests, wrong


def test_no_box_is_rejected_that_goes() -> None:
    pairs, tests, wrong = _judged(range(20))
    assert wrong == []
    assert pairs == 20 * EACH
    assert tests.pop("with holes") > 25
    assert sum(tests.values()) > 10


@pytest.mark.slow
def test_no_box_of_two_thousand_is_rejected_that_goes() -> None:
    pairs, tests, wrong = _judged(range(1000, 1400))
    assert wrong == []
    assert pairs == 2000
    assert tests.pop("with holes") > 500
    assert min(tests[name] for name in ("longest part", "height", "face")) > 20


def _with(*parts: Used, box: str = "tray-150x100x60") -> Build:
    return replace(load_build("hive-scale"), box=load_box(box), parts=parts, wires=())


def _holder(name: str, size: tuple[float, float, float], on: FaceName = FaceName.FLOOR) -> Used:
    x, y, z = (L(v) for v in size)
    return Used(name=name, part=Holder(name=name, size=(x, y, z)), on=on)


def test_a_part_longer_than_the_box() -> None:
    # 150 − 2·2.5/cos 1.5° = 144.998 inside at the rim.
    assert too_small(_with(_holder("bar", (144.9, 10, 10)))) is None
    found = too_small(_with(_holder("bar", (145.1, 10, 10))))
    assert found is not None
    assert found.say == "'bar' is 145.1 mm from left to right, the box 145.0 mm inside"
    turned = too_small(_with(replace(_holder("bar", (99, 10, 10)), turn=90)))
    assert turned is not None
    assert "from front to back" in turned.say


def test_a_part_higher_than_the_box() -> None:
    # 60 − 2.5 − 2.5 = 55 from floor to lid.
    assert too_small(_with(_holder("tower", (10, 10, 54.9)))) is None
    found = too_small(_with(_holder("tower", (10, 10, 55.1))))
    assert found is not None
    assert found.test == "height"


def test_more_stuff_than_room() -> None:
    # The most room is 144.998 × 94.998 × 55 = 757.6 cm³.
    half = _holder("a", (140, 90, 28)), _holder("b", (140, 90, 28))
    assert too_small(_with(*half)) is None
    full = (*half, _holder("c", (140, 90, 5)))
    assert sum(140 * 90 * z for z in (28, 28, 5)) > 144.998 * 94.998 * 55
    found = too_small(_with(*full))
    assert found is not None
    assert found.test == "volume"


def test_a_hole_wider_than_its_face_and_more_holes_than_face() -> None:
    meter = load_part("meter-96x48")
    middle = Place(across=Coordinate(how=How.CENTRE), up=Coordinate(how=How.CENTRE))
    on_right = Used(name="m", part=meter, on=FaceName.RIGHT, at=middle)
    assert too_small(_with(on_right)) is None
    low = too_small(_with(on_right, box="tray-150x90x45"))
    assert low is not None
    assert low.test == "face"
    # Cut-outs of 92 × 45 mm = 4140 mm²: one has room in the 100 × 57.5 mm of the face, two not.
    two = too_small(_with(on_right, replace(on_right, name="n")))
    assert two is not None
    assert two.test == "face area"
    assert first_clash(_with(on_right, replace(on_right, name="n"))) is not None
