"""The check is never wrong: random builds judged by the check and by exact solids.

The default run judges two dozen builds, ``-m slow`` a thousand (in `test_never_wrong_even` and
`test_never_wrong_odd`, for two processors), ``-m proof`` five thousand.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import pytest

from fit.check import inspect
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.frames import Pose
from fit.geometry.shapes import Block, Cone, Cylinder
from fit.model.box import Tray
from fit.model.build import Build, Coordinate, Drawer, How, Need, Place, Used
from fit.model.part import Board, Notch, TapedPart
from fit.model.words import BoardStock, FaceName, Half
from fit.units import Length as L
from tests import oracle, oracle_box
from tests.never_wrong import RULES, Verdict, Wrong, assert_never_wrong, compared, judge, run
from tests.random_builds import Kind, random_build
from tests.trays import deep_lid, flat_lid, four_walls, lip, tray, wall


def wrongs(verdicts: list[Verdict], *sorts: str) -> list[tuple[int, Wrong]]:
    return [(v.seed, w) for v in verdicts for w in v.wrong if w.sort in sorts]


def test_ten_random_builds() -> None:
    verdicts = [judge(seed) for seed in range(10)]
    assert_never_wrong(verdicts)
    assert sum(v.figures for v in verdicts) > 40
    assert sum(v.meetings for v in verdicts) >= 4


@pytest.mark.proof
def test_five_thousand_random_builds() -> None:
    verdicts = list(run(range(10_000, 15_000), workers=2))
    assert_never_wrong(verdicts)
    grades = Counter(v.grade for v in verdicts)
    assert 0.3 < grades[Grade.CLASH] / len(verdicts) < 0.7


def test_builds_are_the_same_for_the_same_seed_and_of_every_kind() -> None:
    made = [random_build(seed) for seed in range(12)]
    assert made == [random_build(seed) for seed in range(12)]
    assert len({m.build.box.name + repr(m.build.box) for m in made}) == 12
    assert {m.kind for m in made} == set(Kind)


def a_build_that_clashes() -> int:
    return next(s for s in range(100) if judge(s).meetings)


def test_a_check_that_sees_nothing_is_caught() -> None:
    seed = a_build_that_clashes()
    made = random_build(seed)
    verdict = compared(seed, made.kind, assemble(made.build), ())
    assert wrongs([verdict], "missed")


def test_a_check_of_another_build_is_caught() -> None:
    """Findings of a box 0.3 longer and wider do not pass for those of the box itself."""
    caught = Counter[str]()
    for seed in range(8):
        made = random_build(seed)
        box = made.build.box
        larger = replace(box, length=L(box.length + 0.3), width=L(box.width + 0.3))
        found = inspect(assemble(replace(made.build, box=larger)), RULES)
        verdict = compared(seed, made.kind, assemble(made.build), found)
        caught.update(w.sort for w in verdict.wrong)
    assert caught["too good"] > 2


# --- what random builds brought to light ----------------------------------------------------


def at(across: float, up: float) -> Place:
    return Place(
        across=Coordinate(how=How.AT, value=L(across)), up=Coordinate(how=How.AT, value=L(up))
    )


def build(box: Tray, *parts: Used) -> Build:
    rules = ("bodies", "walls", "lid", "going-in")
    return Build(
        name="small",
        box=box,
        drawer=Drawer(name="none", bits=(L(3),)),
        parts=parts,
        needs=tuple(Need(rule=r, value=L(0)) for r in rules),
    )


def grades(made: Build) -> dict[tuple[str, ...], Grade]:
    """Grades by rule and things, once the kernel agrees."""
    found = inspect(assemble(made), RULES)
    verdict = compared(0, Kind.WILD, assemble(made), found)
    assert not verdict.wrong
    return {(f.rule, *f.about): f.grade for f in found}


@pytest.mark.parametrize(("draft", "clashes"), [(-1.0, True), (0.0, False), (2.0, False)])
def test_a_thing_outside_on_a_wall_that_leans_in_meets_the_lid(
    *, draft: float, clashes: bool
) -> None:
    """60 high, rim at 57.5: a panel 30 high about 50 stands 7.5 up beside a lid of 2.5."""
    panel = TapedPart(size=(L(30), L(30), L(2)), wire_hole=L(5))
    box = tray(**four_walls(draft))
    found = grades(build(box, Used(name="sun", part=panel, on=FaceName.FRONT, at=at(0, 50))))
    assert (found.get(("lid", "sun", "lid")) is Grade.CLASH) is clashes


@pytest.mark.parametrize(("draft", "clashes"), [(-1.0, True), (0.0, False)])
def test_a_lid_narrowest_at_its_rim_has_to_pass_what_stands_up_into_it(
    *, draft: float, clashes: bool
) -> None:
    """Rim at 40, lid inside 146.0 long there, 146.4 at 52, where a board of 146.3 lies."""
    box = tray(lid=replace(deep_lid(wall=2.0), draft=draft), floor=L(2), **four_walls(0.0))
    long_ = 146.3 if draft else 145.9
    card = Board(stock=BoardStock.PLAIN, size=(L(long_), L(20)))
    lying = Used(name="card", part=card, on=FaceName.FLOOR, standoff=L(50), at=at(0, 0))
    found = grades(build(box, lying))
    told = [key for key, grade in found.items() if key[0] == "going-in" and grade is Grade.CLASH]
    assert bool(told) is clashes


def test_a_notch_that_ends_at_the_edge_but_for_rounding_leaves_no_sliver() -> None:
    notch = Notch(x=L(0), y=L(21.868427051942703), width=L(18.6), depth=L(7.831572948057294))
    card = Board(stock=BoardStock.PLAIN, size=(L(122.347), L(29.7)), notches=(notch,))
    lying = Used(name="card", part=card, on=FaceName.FLOOR, standoff=L(8), at=at(0, 0))
    scene = assemble(build(tray(), lying))
    assert all(
        min(b.shape.dx, b.shape.dy) > 1.0 for b in scene.bodies if isinstance(b.shape, Block)
    )


def test_a_display_on_a_board_of_the_lid_meets_the_lids_own_wall_above_its_window() -> None:
    """The lid's wall is 3.5 thick, the body's 1.6: the display behind the body's wall stands 0.39
    in the lid's, which no window goes through."""
    made = random_build(30_820)
    scene = assemble(made.build)
    found = inspect(scene, RULES)
    assert any(
        f.rule == "walls" and f.about == ("p7", "wall front") and -0.389 < f.have < -0.388
        for f in found
    )
    assert not compared(0, made.kind, scene, found).wrong


@pytest.mark.parametrize(
    ("seed", "what"),
    [
        (22_891, "a display of the lid and its filter plate in the body, both beside the lip"),
        (24_425, "a filter plate stays in the front when its display hangs on the lid"),
        (40_349, "a leaning part across the rim, off the edge of a lid's wall that stands back"),
        (43_183, "a lip whose nearest piece hands do not move, and another that they may"),
        (43_260, "a display of the lid in a rounded corner of the lid's own wall"),
        (92_788, "a display close behind its own wall, which leans in and is narrower at the rim"),
    ],
)
def test_builds_that_were_judged_wrong_once(seed: int, what: str) -> None:
    assert not judge(seed).wrong, what


# --- the kernel's side, by hand -------------------------------------------------------------


def block(x: float, y: float, z: float, at: tuple[float, float, float]) -> oracle.Solid:
    return oracle.solid_of(Block(x, y, z), Pose(at))


def test_shared_room_by_hand() -> None:
    """Two blocks overlap by 1 × 2 × 3: twice the volume over the surface is 12/22."""
    one, two = block(10, 10, 10, (0, 0, 0)), block(10, 10, 10, (9, 8, 7))
    assert oracle.shared(one, two) == pytest.approx(12 / 22)
    assert oracle.distance(one, two) == 0.0
    assert oracle.shared(one, block(10, 10, 10, (10, 0, 0))) == 0.0
    assert oracle.distance(one, block(10, 10, 10, (13, 14, 0))) == pytest.approx(5.0)


def test_common_room_in_bounds_that_meet_but_not_in_the_solids() -> None:
    bar = oracle.solid_of(Cylinder(5, 20), Pose())
    corner = Block(4, 4, 4)
    # 5.1 from the axis to the corner of a block turned to face it
    away = (5.1 + math.sqrt(8)) / math.sqrt(2)
    assert oracle.shared(bar, oracle.solid_of(corner, Pose((away, away, 0)))) == 0.0
    near = (4.9 + math.sqrt(8)) / math.sqrt(2)
    assert oracle.shared(bar, oracle.solid_of(corner, Pose((near, near, 0)))) > 0.0


def test_common_room_the_kernel_misses_at_first() -> None:
    """A post of 6.5 to 7.5 stands right across a bar of 15, 6.9 beside its axis at most."""
    post = oracle.solid_of(Cone(3.266, 3.766, 17.903), Pose((83.465, 43.3635, 38.8685)))
    lean = -0.026176948307873153
    bar = oracle.solid_of(
        Cylinder(7.5, 31.227),
        Pose(
            (81.173, 32.812810989612665, 37.09278726477595),
            (1.0, 0.0, 0.0),
            (0.0, lean, -0.9996573249755573),
            (0.0, 0.9996573249755573, lean),
        ),
    )
    assert oracle.shared(post, bar) == pytest.approx(2.79, abs=0.01)


def room_to(box: Tray, face: FaceName, half: Half, solid: oracle.Solid) -> float:
    (found,) = [w for w in oracle_box.walls(box) if w.faces == (face,) and w.half is half]
    return oracle.distance(solid, found.solid)


def test_walls_by_hand() -> None:
    """150 at the rim, walls 2 leaning 1.5°, rim 57.5: 72.5 − 2/cos − 37.5·tan 1.5° at z = 20."""
    box = tray(lid=flat_lid(lip=lip()))
    lean = math.radians(1.5)
    inside = 75 - 2 / math.cos(lean) - (57.5 - 20) * math.tan(lean)
    thin = block(0.2, 0.2, 1e-3, (inside - 3.1, 0, 20))
    assert room_to(box, FaceName.RIGHT, Half.BODY, thin) == pytest.approx(
        3.0 * math.cos(lean), abs=1e-3
    )
    assert room_to(box, FaceName.FLOOR, Half.BODY, thin) == pytest.approx(17.4995)
    assert room_to(box, FaceName.LID, Half.LID, thin) == pytest.approx(37.4995)


def test_rounded_corner_by_hand() -> None:
    """Upright walls, radius 4: along the diagonal the corner is 4·(√2 − 1) nearer."""
    box = tray(**four_walls(0.0))
    corner = next(
        w for w in oracle_box.walls(box) if set(w.faces) == {FaceName.RIGHT, FaceName.BACK}
    )
    pin = oracle.solid_of(Cylinder(1.0, 10), Pose((73 - 4, 48 - 4, 20)))
    assert oracle.distance(pin, corner.solid) == pytest.approx(3.0, abs=1e-6)


def test_deep_lid_by_hand() -> None:
    """A lid wall 3 thick on a body wall 2 thick makes a ledge 1 wide at the rim, z = 40."""
    box = tray(lid=deep_lid(wall=3.0, draft=0.0), left=wall(0.0), right=wall(0.0))
    post = block(1, 1, 4, (73 - 0.5, 0, 37))
    assert room_to(box, FaceName.RIGHT, Half.LID, post) == pytest.approx(1.0)
    tall = block(1, 1, 8, (73 - 0.5, 0, 37))
    (side,) = [
        w for w in oracle_box.walls(box) if w.faces == (FaceName.RIGHT,) and w.half is Half.LID
    ]
    assert oracle.shared(tall, side.solid) > 0.3


def test_lip_by_hand() -> None:
    """The lip's ring: 4 high, 1.5 thick, gap 0.2, on walls 2 thick that stand upright."""
    box = tray(
        lid=flat_lid(lip=lip()), **{k: wall(0.0) for k in ("front", "back", "left", "right")}
    )
    ring = oracle_box.lip(box)
    assert ring is not None
    pin = block(1, 1, 1, (73 - 0.2 - 1.5 - 2.5, 0, 55))
    assert oracle.distance(pin, ring[0]) == pytest.approx(2.0)
    assert oracle.distance(block(1, 1, 1, (0, 0, 50)), ring[0]) > 8
    over = block(1, 1, 1, (73 - 0.2 - 0.7, 0, 90))
    assert oracle.shared(over, ring[0]) == 0.0
    assert oracle.shared(over, ring[1]) > 0.0


@pytest.mark.parametrize("up", [True, False])
def test_ways_by_hand(*, up: bool) -> None:
    sign = 1.0 if up else -1.0
    over = block(2, 2, 2, (0, 0, sign * 50))
    beside = block(2, 2, 2, (10, 0, sign * 50))
    behind = block(2, 2, 2, (0, 0, -sign * 50))
    level = Pose((0, 0, 0), (0, 0, 1), (1, 0, 0), (0, 1, 0))
    for shape, pose in (
        (Block(4, 5, 6), Pose()),
        (Block(4, 5, 6), level),
        (Cylinder(3, 5), Pose()),
        (Cylinder(3, 5), level),
        (Cone(2, 4, 5), Pose()),
        (Cone(4, 2, 5), Pose()),
    ):
        ways = list(oracle.swept(shape, pose, up=up))
        assert any(oracle.shared(w, over) > 0 for w in ways)
        assert not any(oracle.shared(w, beside) > 0 for w in ways)
        assert not any(oracle.shared(w, behind) > 0 for w in ways)


def test_a_cone_keeps_its_slope_on_its_way() -> None:
    """Narrow end first a cone needs its full width only behind its wide end."""
    ways = list(oracle.swept(Cone(4, 1, 6), Pose(), up=True))
    assert any(oracle.shared(w, block(1, 1, 1, (3.4, 0, 2.4))) > 0 for w in ways)
    ways = list(oracle.swept(Cone(1, 4, 6), Pose(), up=True))
    assert not any(oracle.shared(w, block(1, 1, 1, (3.4, 0, -2.4))) > 0 for w in ways)


def test_tilted_things_do_not_move() -> None:
    tilted = Pose((0, 0, 0), (1, 0, 0), (0, 0.8, 0.6), (0, -0.6, 0.8))
    with pytest.raises(ValueError, match="upright"):
        list(oracle.swept(Cylinder(1, 2), tilted, up=True))
