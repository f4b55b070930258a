"""Room to the walls against the CAD kernel's distances, and by hand."""

from __future__ import annotations

import math
import random

import pytest

from fit.geometry.box import inside, lid_inside
from fit.geometry.containment import (
    WallMargin,
    cavity,
    margins,
    room_above,
    wall_margins,
)
from fit.geometry.corners import to_round
from fit.geometry.frames import Pose, Vec, cross, unit
from fit.geometry.kernel import volume
from fit.geometry.scene import Body
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.solids import body_solid, box_solids
from fit.model.box import Tray
from fit.model.words import FaceName, Half, LidKind
from fit.units import Length as L
from tests.trays import deep_lid, four_walls, tray, wall

KINDS = ("block", "cylinder", "cone", "prism")
BOXES: dict[str, Tray] = {
    "round corners": tray(),
    "uneven drafts": tray(
        front=wall(0.5, 2.0),
        back=wall(3.0, 2.5),
        left=wall(2.0, 1.5),
        right=wall(-1.0, 2.0),
        corner_inner=L(12),
        corner_outer=L(14),
    ),
    "sharp corners": tray(corner_inner=L(0), corner_outer=L(0)),
    "deep lid": tray(lid=deep_lid()),
    "thin deep lid": tray(lid=deep_lid(wall=1.0), corner_inner=L(9), corner_outer=L(10)),
    "thick deep lid": tray(lid=deep_lid(wall=3.5, draft=2.0), corner_inner=L(9)),
}


def turned_anyhow(rng: random.Random, origin: Vec) -> Pose:
    """A right-handed frame in a random direction; upright in one case of three."""
    if rng.random() < 0.34:
        return Pose(origin).turned(rng.uniform(0, 360))
    z = unit((rng.gauss(0, 1), rng.gauss(0, 1), rng.gauss(0, 1)))
    x = unit(cross(z, (0.3, 0.5, 0.81)))
    return Pose(origin, x, cross(z, x), z)


def some_shape(rng: random.Random, kind: str) -> Shape:
    size = rng.uniform(1.5, 9)
    if kind == "block":
        return Block(2 * size, rng.uniform(2, 20), rng.uniform(1, 12))
    if kind == "cylinder":
        return Cylinder(size, rng.uniform(1, 20))
    if kind == "cone":
        return Cone(size, size * rng.uniform(0.3, 2), rng.uniform(2, 15))
    count = rng.randrange(3, 8)
    turns = sorted(rng.uniform(0, 0.8) + i for i in range(count))
    points = [2 * math.pi * t / count for t in turns]
    return Prism(tuple((size * math.cos(a), size * math.sin(a)) for a in points), 2 + size)


def near_the_walls(rng: random.Random, box: Tray, shape: Shape, reach: float = 2.0) -> Pose:
    """A pose that leaves the shape near a wall or corner: inside, touching or in the wall."""
    level = inside(box, box.rim)
    pose = turned_anyhow(
        rng,
        (
            rng.choice((level.x0, level.x1, rng.uniform(level.x0, level.x1))),
            rng.choice((level.y0, level.y1, rng.uniform(level.y0, level.y1))),
            rng.uniform(8, box.height - 8),
        ),
    )
    worst = dict.fromkeys(FaceName, math.inf)
    for m in wall_margins(box, shape, pose):
        worst[m.face] = min(worst[m.face], m.mm)
    shift = [0.0, 0.0, 0.0]
    for low, high, i in (
        (FaceName.LEFT, FaceName.RIGHT, 0),
        (FaceName.FRONT, FaceName.BACK, 1),
        (FaceName.FLOOR, FaceName.LID, 2),
    ):
        # Push it back out of the wall it is in, but now and then not quite.
        free = rng.uniform(-0.5, reach)
        if worst[low] < free:
            shift[i] = free - worst[low]
        elif worst[high] < free:
            shift[i] = worst[high] - free
    return pose.moved((shift[0], shift[1], shift[2]))


def to_box(box: Tray, body: Body) -> float:
    """The kernel's distance from a body to the box's material, mm."""
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape

    solid = body_solid(body)
    found = [BRepExtrema_DistShapeShape(half, solid).Value() for half in box_solids(box)]
    return float(min(found))


def a_body(shape: Shape, pose: Pose) -> Body:
    return Body(owner="it", name="it", shape=shape, pose=pose, half=Half.BODY)


def least(box: Tray, shape: Shape, pose: Pose) -> WallMargin:
    return min(wall_margins(box, shape, pose), key=lambda m: m.mm)


def overlap(box: Tray, body: Body) -> float:
    """The kernel's volume of what a body and the box's material share, mm³."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    solid = body_solid(body)
    return sum(volume(BRepAlgoAPI_Common(half, solid).Shape()) for half in box_solids(box))


def slack(box: Tray, found: WallMargin) -> float:
    """How much too small a margin may be, mm, as the module states it, and the kernel's noise."""
    noise = 1e-5
    deep = box.lid.kind is LidKind.DEEP
    if found.note:
        leans = [math.tan(math.radians(w.draft)) ** 2 for w in (box.front, box.back, box.left)]
        share = max(*leans, math.tan(math.radians(box.right.draft)) ** 2)
        # In a corner with a ledge only the safe side is promised.
        return math.inf if deep else noise + share * abs(found.mm)
    return noise + (0.003 if deep else 0.0)


def compare(name: str, seed: int, count: int) -> tuple[int, int, int]:
    """Random bodies against the kernel: how many inside, in the wall, limited by a corner."""
    rng = random.Random(seed)
    box = BOXES[name]
    inside_, walls, corners = 0, 0, 0
    for i in range(count):
        shape = some_shape(rng, KINDS[i % 4])
        pose = near_the_walls(rng, box, shape)
        found = least(box, shape, pose)
        true = to_box(box, a_body(shape, pose))
        said = f"{name} {seed} {i}: {shape} {found} against {true}"
        corners += bool(found.note)
        if found.mm < 0:
            walls += 1
            assert true < 1e-6, said
            assert overlap(box, a_body(shape, pose)) > 0, said
            continue
        inside_ += 1
        assert found.mm <= true + 1e-6, said
        if found.mm <= 10.0:
            assert true - found.mm <= slack(box, found), said
    return inside_, walls, corners


@pytest.mark.parametrize("name", ["round corners", "thick deep lid"])
def test_random_bodies_against_the_cad_kernel(name: str) -> None:
    inside_, walls, _ = compare(name, 7, 24)
    assert inside_ > 5
    assert walls > 1


@pytest.mark.slow
@pytest.mark.parametrize("name", BOXES)
def test_many_random_bodies_against_the_cad_kernel(name: str) -> None:
    inside_, walls, corners = compare(name, 20, 80)
    assert inside_ > 30
    assert walls > 5
    assert corners > 3 or name == "sharp corners"


def test_the_comparison_would_see_a_hundredth_of_a_millimetre() -> None:
    box, shape = BOXES["round corners"], Block(6, 6, 10)
    pose = Pose((67.0, 42.5, 25.0))
    found = least(box, shape, pose)
    assert found.note
    moved = to_box(box, a_body(shape, pose.moved((-0.01, 0.0, 0.0))))
    assert abs(moved - found.mm) > 0.005
    assert to_box(box, a_body(shape, pose)) == pytest.approx(found.mm, abs=1e-5)


@pytest.mark.slow
def test_a_body_moved_out_of_the_wall_by_its_margin_just_touches() -> None:
    rng = random.Random(3)
    box = BOXES["uneven drafts"]
    planes = {f.plane.face: f.plane.normal for f in cavity(box).flats}
    tried = 0
    while tried < 40:
        shape = some_shape(rng, rng.choice(KINDS))
        pose = near_the_walls(rng, box, shape)
        found = wall_margins(box, shape, pose)
        if sum(m.mm < 0.2 for m in found) != 1 or least(box, shape, pose).note:
            continue
        worst = least(box, shape, pose)
        n, by = planes[worst.face], 0.02 - worst.mm
        freed = pose.moved((n[0] * by, n[1] * by, n[2] * by))
        assert to_box(box, a_body(shape, freed)) == pytest.approx(0.02, abs=1e-5)
        tried += 1


# --- by hand ------------------------------------------------------------------------------------


def by_face(box: Tray, shape: Shape, pose: Pose) -> dict[tuple[FaceName, Half, str], float]:
    return {(m.face, m.half, m.note): m.mm for m in wall_margins(box, shape, pose)}


def test_a_block_in_a_plain_box() -> None:
    # 150 × 100 × 60 outside, 2 mm walls, 2.5 mm floor and lid: inside -73…73, -48…48, 2.5…57.5.
    box = tray(corner_inner=L(0), corner_outer=L(0), **four_walls(0.0))
    found = by_face(box, Block(10, 20, 30), Pose((60.0, -10.0, 20.0)))
    assert {(f, h): mm for (f, h, _), mm in found.items()} == pytest.approx(
        {
            (FaceName.RIGHT, Half.BODY): 73 - 65,
            (FaceName.LEFT, Half.BODY): 55 + 73,
            (FaceName.FRONT, Half.BODY): -20 + 48,
            (FaceName.BACK, Half.BODY): 48 - 0,
            (FaceName.FLOOR, Half.BODY): 5 - 2.5,
            (FaceName.LID, Half.LID): 57.5 - 35,
        },
        abs=1e-12,
    )


def test_a_block_by_a_leaning_wall_is_limited_at_its_foot() -> None:
    # At 2° the inside at height z is 75 - (57.5 - z)·tan 2° - 2/cos 2° from the middle; the
    # distance at right angles to the wall is the level one times cos 2°.
    box = tray(corner_inner=L(0), corner_outer=L(0), **four_walls(2.0))
    tan, cos = math.tan(math.radians(2)), math.cos(math.radians(2))
    level = 75 - (57.5 - 10) * tan - 2 / cos - 70
    found = by_face(box, Block(20, 10, 20), Pose((60.0, 0.0, 20.0)))
    assert found[FaceName.RIGHT, Half.BODY, ""] == pytest.approx(level * cos, abs=1e-12)


def test_a_round_post_in_a_round_corner() -> None:
    # Upright walls: corner radius 4 about (69, 44); a 3 mm post whose axis is 0.6, 0.8 beyond
    # that centre reaches 1 + 1.5 of the 4 mm.
    box = tray(**four_walls(0.0))
    found = by_face(box, Cylinder(1.5, 20), Pose((69.6, 44.8, 20.0)))
    note = "in the rounded corner back right"
    assert found[FaceName.BACK, Half.BODY, note] == pytest.approx(4 - 2.5, abs=1e-12)
    assert found[FaceName.RIGHT, Half.BODY, ""] == pytest.approx(73 - 71.1, abs=1e-12)


def test_a_square_edge_does_not_go_into_a_round_corner() -> None:
    # The block's upright edge lies 3.5 and 3.5 from the corner's centre: 4.95 of 4 mm.
    box = tray(**four_walls(0.0))
    worst = least(box, Block(10, 10, 10), Pose((67.5, 42.5, 20.0)))
    assert worst.mm == pytest.approx(4 - 3.5 * math.sqrt(2), abs=1e-12)
    assert worst.note


def test_no_corner_is_named_far_from_corners() -> None:
    found = wall_margins(tray(), Cylinder(4, 10), Pose((0.0, 0.0, 20.0)))
    assert [m.note for m in found] == [""] * 6


def test_a_deep_lid_measures_each_part_against_its_own_walls() -> None:
    # Upright walls: body inside ±73 below the rim at 40, lid inside ±(75 - 1) above it.
    box = tray(
        lid=deep_lid(wall=1.0, draft=0.0),
        corner_inner=L(0),
        corner_outer=L(0),
        **four_walls(0.0),
    )
    right, lid_right = (FaceName.RIGHT, Half.BODY, ""), (FaceName.RIGHT, Half.LID, "")
    # A plate over the ledge: in reach of the lid's wall, and 0.5 above the ledge.
    found = by_face(box, Block(20, 10, 2), Pose((63.6, 0.0, 41.5)))
    assert found[right] == pytest.approx(0.5, abs=1e-12)
    assert found[lid_right] == pytest.approx(0.4, abs=1e-12)
    # The same plate across the rim meets the body's wall: 0.2 up or 0.6 in would free it.
    found = by_face(box, Block(20, 10, 2), Pose((63.6, 0.0, 40.8)))
    assert found[right] == pytest.approx(-0.2, abs=1e-12)
    # Deep in the body only the wall itself is a way out.
    found = by_face(box, Block(20, 10, 2), Pose((63.6, 0.0, 20.0)))
    assert found[right] == pytest.approx(-0.6, abs=1e-12)
    assert found[lid_right] > 10


def test_a_wall_of_equal_halves_is_no_ledge() -> None:
    box = tray(
        lid=deep_lid(wall=2.0, draft=0.0),
        corner_inner=L(0),
        corner_outer=L(0),
        **four_walls(0.0),
    )
    found = by_face(box, Block(20, 10, 2), Pose((65.0, 0.0, 39.9)))
    assert found[FaceName.RIGHT, Half.BODY, ""] == pytest.approx(-2.0, abs=1e-12)
    assert found[FaceName.RIGHT, Half.LID, ""] == pytest.approx(-2.0, abs=1e-12)


def test_round_bars_in_a_corner_against_their_own_points() -> None:
    # The farthest of many points of the bar's rims: from the centre line in the corner's quarter,
    # from the flat walls outside it.
    corner = next(c for c in cavity(BOXES["uneven drafts"]).rounds if c.sx > 0 and c.sy > 0)
    lean = math.sqrt(1 + corner.tx**2 + corner.ty**2)
    rng = random.Random(11)
    met = 0
    for _ in range(200):
        bar = Cylinder(rng.uniform(1, 5), rng.uniform(2, 12))
        origin = (rng.uniform(58, 70), rng.uniform(35, 46), rng.uniform(15, 45))
        pose = turned_anyhow(rng, origin)
        mm = to_round(corner, (bar, pose))
        if mm is None:
            continue
        far = 0.0
        for z in (-bar.height / 2, bar.height / 2):
            for i in range(720):
                a = math.pi * i / 360
                p = pose.point((bar.radius * math.cos(a), bar.radius * math.sin(a), z))
                x, y = corner.local(p)
                far = max(far, math.hypot(x, y) if x > 0 and y > 0 else max(x, y))
        flats = (corner.beyond((bar, pose), c, 1 - c) for c in (1.0, 0.0))
        reached = max(corner.radius - (mm * lean if mm > 0 else mm), *flats)
        met += 1
        assert reached == pytest.approx(far, abs=1e-4)
    assert met > 50


def test_margins_agree_for_equal_boxes() -> None:
    shape, pose = Block(5, 5, 5), Pose((60.0, 40.0, 30.0))
    assert wall_margins(tray(), shape, pose) == margins(cavity(tray()), shape, pose)


# --- room above a point ---------------------------------------------------------------------


def test_room_above_the_middle_is_floor_to_lid() -> None:
    assert room_above(tray(), 0.0, 0.0) == pytest.approx(57.5 - 2.5)
    assert room_above(tray(lid=deep_lid()), 0.0, 0.0) == pytest.approx(57.5 - 2.5)


def test_room_above_a_point_beside_the_floor_is_none() -> None:
    level = inside(tray(), 2.5)
    assert room_above(tray(), level.x1 + 0.01, 0.0) == 0.0
    # Within both walls, but outside the round corner.
    assert room_above(tray(), level.x1 - 0.5, level.y1 - 0.5) == 0.0
    assert room_above(tray(), level.x1 - 2.5, level.y1 - 2.5) > 50


def test_room_above_ends_at_a_wall_that_leans_inwards() -> None:
    box = tray(right=wall(-1.0), corner_inner=L(0), corner_outer=L(0))
    foot = inside(box, 2.5).x1
    assert room_above(box, foot - 0.5, 0.0) == pytest.approx(
        0.5 / math.tan(math.radians(1.0)), abs=1e-9
    )


def test_room_above_ends_at_a_ledge() -> None:
    box = tray(lid=deep_lid(wall=4.0, draft=0.0), **four_walls(0.0))
    assert room_above(box, 72.0, 0.0) == pytest.approx(box.rim - 2.5)
    inner = lid_inside(box, box.rim).x1
    assert room_above(box, inner - 0.01, 0.0) == pytest.approx(57.5 - 2.5)
