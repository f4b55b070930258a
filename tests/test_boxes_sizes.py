"""Boxes of other sizes: how far each may drift, and the smallest that does."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from fit.commands.app import run
from fit.model.build import Build
from fit.model.part import BushingPart
from fit.model.words import PostUse
from fit.pipeline import examine
from fit.read import load_build
from fit.solve.other.drift import RESOLUTION, breaks, drift
from fit.solve.other.family import Range, goes, usual_range
from fit.solve.other.goes import first_clash
from fit.solve.other.resize import Inside, Size, drifted, inside_of, with_inside
from fit.solve.other.smallest import smallest
from fit.units import Length
from tests.boxes_random import opened, small_build

Captured = pytest.CaptureFixture[str]


def _silent(_: str) -> None:
    pass


def test_the_inside_is_what_is_left_of_the_outside() -> None:
    box = load_build("hive-scale").box
    now = inside_of(box)
    assert now.length == pytest.approx(150 - 2 * 2.5 / math.cos(math.radians(1.5)))
    assert now.height == pytest.approx(60 - 2.5 - 2.5)
    want = Inside(length=120, width=90, height=40)
    made = inside_of(with_inside(box, want))
    assert (made.length, made.width, made.height) == pytest.approx((120, 90, 40))


def test_closing_posts_go_with_their_corners_and_board_posts_stay() -> None:
    box = load_build("hive-scale").box
    longer = drifted(drifted(box, Size.LENGTH, 10), Size.HEIGHT, -4)
    for before, after in zip(box.posts, longer.posts, strict=True):
        closing = before.use is PostUse.CLOSING
        moved = math.copysign(5, before.x) if closing else 0
        assert after.x - before.x == pytest.approx(moved)
        assert after.height - before.height == pytest.approx(-4 if closing else 0)


def test_limits_are_where_the_check_turns() -> None:
    build = load_build("bench-timer")
    found = drift(build, build.box, Size.LENGTH, _silent)
    assert found.down.reached
    edge = found.down.by
    for by, goes_there in ((edge, True), (edge + RESOLUTION, False)):
        other = replace(build, box=drifted(build.box, Size.LENGTH, -by))
        verdict = examine(other, mending=False).verdict.value
        assert (verdict != "clash") is goes_there
    clash = breaks(build, build.box, Size.LENGTH, -(edge + RESOLUTION))
    assert clash is not None
    assert clash[0] == found.down.rule


def test_a_size_that_breaks_nothing_is_told_as_more_than() -> None:
    build = load_build("bench-timer")
    found = drift(build, build.box, Size.DRAFT, _silent)
    assert not found.up.reached
    assert found.up.by == pytest.approx(1.5)
    assert not found.careful


# --- the smallest ---------------------------------------------------------------------------


def _brute(build: Build, within: Range) -> Inside | None:
    """Every size asked in turn, with nothing left out and nothing inferred."""

    def axis(low: float, high: float) -> list[float]:
        step = within.step
        return [n * step for n in range(round(low / step), round(high / step) + 1)]

    sizes = [
        Inside(length=length, width=width, height=height)
        for length in axis(within.low.length, within.high.length)
        for width in axis(within.low.width, within.high.width)
        for height in axis(within.low.height, within.high.height)
    ]
    sizes.sort(
        key=lambda s: (
            round(s.volume, 6),
            max(s.length, s.width, s.height),
            *(s.length, s.width, s.height),
        )
    )
    return next((size for size in sizes if goes(build, size)), None)


def _near_the_answer(build: Build, step: float, down: int, up: int) -> Range:
    """A range round a rough answer, so that most of it is near the edge of what goes."""
    rough = smallest(build, usual_range(build, 4.0, 0.0)).inside or inside_of(build.box)

    def end(by: int) -> Inside:
        length, width, height = (
            max(2 * step, (round(v / step) + by) * step)
            for v in (rough.length, rough.width, rough.height)
        )
        return Inside(length=length, width=width, height=height)

    return Range(low=end(-down), high=end(up), step=step)


@pytest.mark.parametrize("seed", [3, 5])
def test_smallest_is_what_a_scan_finds(seed: int) -> None:
    build = small_build(seed)
    within = _near_the_answer(build, 0.5, 3, 1)
    assert smallest(build, within).inside == _brute(build, within)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(50))
def test_smallest_is_what_a_scan_finds_on_fifty_builds(seed: int) -> None:
    build = small_build(seed)
    fine = (0.5, 7, 1) if seed % 2 else (3.0, 4, 2)
    within = _near_the_answer(build, *fine)
    assert smallest(build, within).inside == _brute(build, within)


def _opened(seed: int) -> Build:
    """A small build that goes in its own box with some places left open."""
    while True:
        build = opened(seed, 3)
        if any(used.at is None for used in build.parts) and first_clash(build) is None:
            return build
        seed += 1000


@pytest.mark.parametrize("seed", [1, 4])
def test_smallest_with_open_places_is_what_a_scan_finds(seed: int) -> None:
    build = _opened(seed)
    within = _near_the_answer(build, 1.0, 3, 1)
    assert smallest(build, within).inside == _brute(build, within)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(30))
def test_smallest_with_open_places_is_what_a_scan_finds_on_thirty_builds(seed: int) -> None:
    build = _opened(seed + 100)
    within = _near_the_answer(build, 0.5 if seed % 2 else 2.0, 4, 1)
    assert smallest(build, within).inside == _brute(build, within)


@pytest.mark.parametrize("name", ["hive-scale", "bench-timer"])
def test_the_smallest_box_of_a_shipped_build_goes_and_is_small(name: str) -> None:
    build = load_build(name)
    within = usual_range(build, 1.0, 4.0)
    found = smallest(build, within)
    assert found.box is not None
    assert found.inside is not None
    assert found.inside.volume < inside_of(build.box).volume
    assert examine(replace(build, box=found.box), mending=False).verdict.value != "clash"
    assert found.asked < found.points / 100
    # One step smaller in any one size it does not go: those are smaller, so they were answered.
    for size in ("length", "width", "height"):
        less = replace(found.inside, **{size: getattr(found.inside, size) - 1.0})
        assert not goes(build, less)


def test_what_never_goes_is_told_at_once() -> None:
    build = load_build("meter-box")
    # A bushing of 22 mm and a hole of 20: the neck passes through no hole of that size anywhere.
    start = build.part("start")
    assert isinstance(start.part, BushingPart)
    narrow = replace(start, part=replace(start.part, hole=Length(20)))
    parts = tuple(narrow if used.name == "start" else used for used in build.parts)
    found = smallest(replace(build, parts=parts), usual_range(build, 10.0, 0.0))
    assert found.inside is None
    assert found.never is not None
    assert found.never.rule == "passes"


# --- the commands ---------------------------------------------------------------------------


def test_smallest_is_told_as_a_shopping_list_entry(capsys: Captured) -> None:
    words = ["smallest", "bench-timer", "--step", "2", "--beyond", "2"]
    assert run(words) == 0
    text = capsys.readouterr().out
    assert text.startswith("For bench-timer, a box like tray-150x90x45:\n    inside ")
    assert "    walls             2.5 mm, draft 1°, ABS\n" in text
    assert "    closing posts     4, in the corners\n" in text
    assert run([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    length, width, height = told["inside"]
    # 2.5 mm of wall at 1° of draft on both sides, floor and lid of 2.5 mm each.
    level = 2 * 2.5 / math.cos(math.radians(1))
    assert told["outside"] == pytest.approx([length + level, width + level, height + 5], abs=1e-3)
    assert told["volume"] == pytest.approx(length * width * height / 1000)


def test_sizes_in_which_nothing_goes_are_said_to_be_looked_at(capsys: Captured) -> None:
    words = ["smallest", "bench-timer", "--box", "twin-160x100x70", "--step", "10", "--beyond", "0"]
    assert run(words) == 4
    assert "No box like twin-160x100x70 was found" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["--step", "0.1"], ["--beyond", "-1"]])
def test_steps_and_ranges_have_limits(words: list[str], capsys: Captured) -> None:
    assert run(["smallest", "bench-timer", *words]) == 2
    assert "is out of range" in " ".join(capsys.readouterr().err.split())


def test_drifts_are_told_with_what_breaks_first(capsys: Captured) -> None:
    words = ["boxes", "bench-timer", "--around", "tray-150x90x45"]
    assert run([*words, "--json"]) == 0
    told = {d["size"]: d for d in json.loads(capsys.readouterr().out)["drifts"]}
    assert set(told) == {size.value for size in Size}
    assert told["height"]["unit"] == "mm"
    assert told["draft"]["unit"] == "°"
    for size in told.values():
        ends = (size["smaller"], size["larger"])
        assert size["take_care"] is any(end["reached"] and end["by"] < 0.5 for end in ends)
        assert all((end["rule"] is not None) is end["reached"] for end in ends)
