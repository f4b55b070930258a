"""A build put into another box: what carries over, what moves, every way round."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import inner_planes
from fit.geometry.fixtures import fixtures
from fit.geometry.support import bounds
from fit.model.box import Tray
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.words import FaceName, Half
from fit.pipeline import InBox, fingerprint, read
from fit.read import load_box, load_build, load_part
from fit.solve.other.shifts import elsewhere, shifts
from fit.solve.other.ways import Way, moved_to, quarter_turns, turned, wall_behind, ways
from fit.units import Length as L
from tests.random_parts import some_tray


def _at(how: How, value: float = 0.0) -> Coordinate:
    return Coordinate(how=how, value=L(value))


def _button(name: str, on: FaceName, across: Coordinate, up: Coordinate) -> Used:
    return Used(name=name, part=load_part("press-12"), on=on, at=Place(across=across, up=up))


@pytest.fixture(scope="module")
def small() -> Tray:
    return load_box("tray-150x100x60")


@pytest.fixture(scope="module")
def large() -> Tray:
    return load_box("tray-220x140x80")


def _solids(box: Tray) -> set[tuple[str, tuple[float, ...]]]:
    """Each moulded solid by its name and the upright box round it."""
    found = set()
    for body in fixtures(box):
        low, high = bounds(body.shape, body.pose)
        found.add((body.name, tuple(round(v, 6) + 0.0 for v in (*low, *high))))
    return found


@pytest.mark.parametrize("seed", range(12))
def test_a_quarter_turn_turns_every_solid_and_every_wall(seed: int) -> None:
    box = some_tray(Random(seed))
    quarter = turned(box, 1)
    # (x, y) → (−y, x), the rotation by 90° about the upright axis.
    expected = {
        (name, (-b[4] + 0.0, b[0], b[2], -b[1] + 0.0, b[3], b[5])) for name, b in _solids(box)
    }
    named = {(name, tuple(round(v, 6) + 0.0 for v in b)) for name, b in expected}
    assert {b for n, b in _solids(quarter) if n != "lip"} == {b for n, b in named if n != "lip"}
    planes = {p.face: p for p in inner_planes(quarter) if p.half is Half.BODY}
    for plane in inner_planes(box):
        if plane.half is Half.BODY and plane.face in (FaceName.FRONT, FaceName.RIGHT):
            face = FaceName.RIGHT if plane.face is FaceName.FRONT else FaceName.BACK
            x, y, z = plane.normal
            assert planes[face].normal == pytest.approx((-y, x, z))
            assert planes[face].offset == pytest.approx(plane.offset)
            assert wall_behind(face, 1) is plane.face


@pytest.mark.parametrize("seed", range(6))
def test_four_quarter_turns_are_none(seed: int) -> None:
    box = some_tray(Random(seed))
    made = box
    for _ in range(4):
        made = replace(turned(made, 1), name=box.name)
    assert _solids(made) == _solids(box)
    assert (made.length, made.width, made.front, made.back, made.left, made.right) == (
        *(box.length, box.width, box.front, box.back, box.left, box.right),
    )


def test_only_turns_that_differ_count(small: Tray) -> None:
    assert quarter_turns(small) == (0, 1)
    assert quarter_turns(replace(small, width=small.length, posts=())) == (0,)
    one_thick = replace(small, back=replace(small.back, thickness=L(4)))
    assert quarter_turns(one_thick) == (0, 1, 2, 3)


def test_ways_begin_as_written_and_change_little_first() -> None:
    build = load_build("gate-counter")
    found = ways(build, build.box)
    assert found[0] == Way.of(build)
    changes = [way.changes(build) for way in found]
    assert changes == sorted(changes)
    assert len(set(found)) == len(found) == 2 * 2 * 2  # stands, halves, turns
    # Nothing of this one sits on posts or carrier: the half makes no difference.
    plain = load_build("meter-box")
    assert {way.carrier for way in ways(plain, plain.box)} == {plain.carrier}


def test_what_is_written_from_edges_carries_over(small: Tray, large: Tray) -> None:
    rim, left = _at(How.FROM_RIM, 20), _at(How.FROM_LEFT, 30)
    build = Build(
        name="four",
        box=small,
        drawer=load_build("hive-scale").drawer,
        parts=(
            _button("edges", FaceName.FRONT, left, rim),
            _button("middle", FaceName.BACK, _at(How.CENTRE), rim),
            _button("share", FaceName.LEFT, _at(How.SHARE, 0.25), rim),
            _button("number", FaceName.RIGHT, _at(How.AT, 12), _at(How.AT, 30)),
        ),
    )
    moved = moved_to(build, large)
    assert moved.absolute == ("number",)
    there = assemble(moved.build)
    front = there.faces[FaceName.FRONT]
    placed = there.placed["edges"]
    assert placed.across - front.reach(placed.up)[0] == pytest.approx(30)
    assert front.height - placed.up == pytest.approx(20)
    assert there.placed["middle"].across == pytest.approx(0)
    share = there.placed["share"]
    low, high = there.faces[FaceName.LEFT].reach(share.up)
    assert (share.across - low) / (high - low) == pytest.approx(0.25)
    number = there.placed["number"]
    assert (number.across, number.up) == pytest.approx((12, 30))
    told = {s.part: s for s in shifts(assemble(build), there)}
    # From the edge that was nearest and from the middle nothing moved; a share of a wider wall did.
    assert set(told) == {"share", "number"}
    # Right wall, 12 right of the middle: the right edge was nearer. A box W wide at its rim R is
    # W − 2·(R − 30·cos δ)·tan δ wide outside at 30 up the wall; half the difference is the move.
    assert told["number"].across == pytest.approx(
        -((140 - 2 * (77 - 29.995431) * 0.0174551) - (100 - 2 * (57.5 - 29.989720) * 0.0261859))
        / 2,
        abs=1e-3,
    )


def test_nothing_moves_in_its_own_box() -> None:
    build = load_build("hive-scale")
    moved = moved_to(build, build.box)
    assert moved.build == build
    assert elsewhere(moved, assemble(build)).shifts == ()


def test_a_part_that_changes_halves_is_told_by_faces() -> None:
    home = load_build("gate-counter")
    way = Way(stands_on=home.stands_on, carrier=Half.BODY)
    moved = moved_to(home, home.box, way)
    told = elsewhere(moved, assemble(moved.build))
    words = {shift.part: shift.words() for shift in told.shifts}
    assert words["main_board"] == "main_board now on the floor (was on the lid)"
    assert told.way == "boards in the body"


def test_missing_posts_are_a_problem_not_a_fault() -> None:
    home = load_build("hive-scale")
    moved = moved_to(home, load_box("tray-150x90x45"))
    with pytest.raises(UnusableInput, match="no board posts"):
        assemble(moved.build)


def test_the_fingerprint_knows_the_box_and_the_way_round() -> None:
    def print_of(within: InBox) -> str:
        return fingerprint(read("hive-scale", within).build)

    own = print_of(InBox())
    twin = print_of(InBox(box="twin-160x100x70"))
    assert own == print_of(InBox(box="tray-150x100x60"))
    assert len({own, twin, print_of(InBox(quarters=1)), print_of(InBox(carrier=Half.LID))}) == 4
    moved = read("hive-scale", InBox(box="twin-160x100x70"))
    assert any("twin" in source.path for source in moved.build.sources)
