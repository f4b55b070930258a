"""What reaches through a wall from a board: where it sits, its solids, the opening it needs.

A board lies level and a moulded wall leans, so a nose passes its wall aslant: the opening, cut at
right angles to the face, covers the nose's section at both surfaces of the wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fit.geometry.boards import BoardPlan, ceil_tenth
from fit.geometry.box import Face
from fit.geometry.drilling import round_steps, sawn_steps
from fit.geometry.frames import Pose, Vec, dot, scale
from fit.geometry.piece import Piece
from fit.geometry.scene import Body, Cut, Opening, PlacedNose, Role, Scene
from fit.geometry.shapes import Block, Cylinder, Shape
from fit.model.build import Build, Drawer
from fit.model.nose import Nose
from fit.model.part import Board
from fit.model.words import UPRIGHT, BoardEdge, FaceName
from fit.trade.drills import nearest_bit_at_least
from fit.trade.hands import hand_work, hole_position_error

PREFIX = "nose "
"""How the bodies of noses are named: this and the nose's own name."""

NEAR = 15.0
"""A nose that ends further than this behind a wall, mm, is none of that wall's business."""

_SQUARE = math.cos(math.radians(40.0))
"""A nose points at a wall when it meets it less than 40° aslant."""

_ONE_BIT_UP = 1.0
"""A drawer's bit is taken for a nose when it is at most this much larger, mm."""


def nose_body(nose: Nose) -> str:
    """The name of a nose's bodies."""
    return PREFIX + nose.name


def nose_pose(board: Board, nose: Nose, at: Pose) -> Pose:
    """The frame of a nose (see `PlacedNose.pose`) on a board whose frame is given."""
    x, y, above = float(nose.x), float(nose.y), float(nose.above)
    w, h = float(board.size[0]), float(board.size[1])

    def back(v: Vec) -> Vec:
        return scale(v, -1.0)

    match nose.edge:
        case BoardEdge.RIGHT:
            return Pose(at.point((w, y, above)), at.y, at.z, at.x)
        case BoardEdge.LEFT:
            return Pose(at.point((0.0, y, above)), back(at.y), at.z, back(at.x))
        case BoardEdge.UPPER:
            return Pose(at.point((x, h, above)), back(at.x), at.z, at.y)
        case BoardEdge.LOWER:
            return Pose(at.point((x, 0.0, above)), at.x, at.z, back(at.y))
        case BoardEdge.TOP:
            return Pose(at.point((x, y, 0.0)), at.x, at.y, at.z)
        case BoardEdge.UNDERSIDE:
            under = at.point((x, y, -float(board.thickness)))
            return Pose(under, back(at.x), at.y, back(at.z))


@dataclass(frozen=True, slots=True)
class Section:
    """A nose seen along the face it passes: its middle and how far it reaches, face frame, mm.

    Attributes:
        across, up: the middle between the wall's two surfaces.
        width, height: what it covers at both surfaces together, along across and up.
        turned: whether its own width lies along `up`.
    """

    across: float
    up: float
    width: float
    height: float
    turned: bool


def section(nose: Nose, pose: Pose, face: Face) -> Section:
    """What of a face a nose passes through, exactly; the face must not be parallel to its axis."""
    frame = face.frame
    d = (dot(pose.z, frame.x), dot(pose.z, frame.y), dot(pose.z, frame.z))
    p = frame.inside(pose.origin)
    middles = []
    for depth in (0.0, -face.thickness):
        way = (depth - p[2]) / d[2]
        middles.append((p[0] + way * d[0], p[1] + way * d[1]))

    def seen(v: Vec) -> tuple[float, float]:
        """A direction of the section, drawn along the axis into the face."""
        own = (dot(v, frame.x), dot(v, frame.y), dot(v, frame.z))
        return own[0] - own[2] * d[0] / d[2], own[1] - own[2] * d[1] / d[2]

    (ax, ay), (bx, by) = seen(pose.x), seen(pose.y)
    if nose.diameter > 0:
        r = nose.diameter / 2
        half = (r * math.hypot(ax, bx), r * math.hypot(ay, by))
    else:
        w, h = nose.width / 2, nose.height / 2
        half = (w * abs(ax) + h * abs(bx), w * abs(ay) + h * abs(by))
    (a0, u0), (a1, u1) = middles
    return Section(
        across=(a0 + a1) / 2,
        up=(u0 + u1) / 2,
        width=abs(a1 - a0) + 2 * half[0],
        height=abs(u1 - u0) + 2 * half[1],
        turned=abs(ay) > abs(ax),
    )


def _round_reach(nose: Nose, pose: Pose, way: Vec) -> float:
    """How far the section reaches from the axis along a direction, mm."""
    along, over = dot(pose.x, way), dot(pose.y, way)
    if nose.diameter > 0:
        return float(nose.diameter / 2 * math.hypot(along, over))
    return float(nose.width / 2 * abs(along) + nose.height / 2 * abs(over))


def _crossing(nose: Nose, pose: Pose, face: Face, depth: float) -> tuple[float, float]:
    """Where along its axis a nose begins to pass, and has wholly passed, a level of a wall, mm."""
    n = face.frame.z
    level = dot(n, face.frame.point((0.0, 0.0, -depth)))
    slope = dot(n, pose.z)
    middle = (level - dot(n, pose.origin)) / slope
    half = _round_reach(nose, pose, n) / slope
    return middle - half, middle + half


def _wall_before(pose: Pose, faces: dict[FaceName, Face]) -> Face | None:
    """The wall a nose points at; None when it looks out over the rim."""
    face = max(faces.values(), key=lambda f: dot(pose.z, f.frame.z))
    slope = dot(pose.z, face.frame.z)
    if slope < _SQUARE:
        return None
    if face.name in UPRIGHT:
        p = face.frame.inside(pose.origin)
        up = p[1] - p[2] * dot(pose.z, face.frame.y) / slope
        if up >= max(q[1] for q in face.outline):
            return None
    return face


def look_out(
    name: str, board: Board, at: Pose, faces: dict[FaceName, Face]
) -> Iterator[PlacedNose]:
    """A board's noses where they are, the board's frame being given."""
    for nose in board.noses:
        pose = nose_pose(board, nose, at)
        face = _wall_before(pose, faces)
        beyond, through = 0.0, False
        if face is not None:
            beyond = nose.reach - sum(_crossing(nose, pose, face, 0.0)) / 2
            through = nose.reach > _crossing(nose, pose, face, face.thickness)[0]
        yield PlacedNose(
            board=name,
            nose=nose,
            pose=pose,
            face=None if face is None else face.name,
            beyond=beyond,
            through=through,
        )


def opening_of(scene: Scene, nose: PlacedNose) -> Opening | None:
    """The opening a nose looks out through, or None."""
    for o in scene.openings:
        if o.role is Role.NOSE and (o.part, o.name) == (nose.board, nose.nose.name):
            return o
    return None


def noses_of(
    plan: BoardPlan, faces: dict[FaceName, Face], build: Build
) -> tuple[tuple[PlacedNose, ...], Piece]:
    """A board's noses where they are, with their solids and openings.

    Each nose is two solids of one name: what is inside the box (with what of it still stands in
    the room while its foremost part is in the wall already), and what is in the wall and outside.
    An opening is made only in a wall that the nose reaches, or where one was asked for.
    """
    bodies: list[Body] = []
    openings: list[Opening] = []
    noses = tuple(look_out(plan.name, plan.board, plan.pose, faces))
    for at in noses:
        nose = at.nose
        face = None if at.face is None else faces[at.face]
        asked = nose.hole is not None or nose.cutout is not None
        if face is not None and (at.through or (asked and at.beyond > -face.thickness - NEAR)):
            openings.append(_opening(plan.name, nose, section(nose, at.pose, face), face, build))
        bodies += _solids(plan, nose, at.pose, face if at.through else None)
    return noses, Piece(bodies=tuple(bodies), openings=tuple(openings))


def _solids(plan: BoardPlan, nose: Nose, pose: Pose, face: Face | None) -> list[Body]:
    low, high = -float(nose.root), float(nose.reach)
    if face is None:
        return [_solid(plan, nose, pose, (low, high), None, False)]
    first, last = _crossing(nose, pose, face, face.thickness)
    found = []
    if min(last, high) > low:
        found.append(_solid(plan, nose, pose, (low, min(last, high)), face, False))
    found.append(_solid(plan, nose, pose, (max(first, low), high), face, True))
    return found


def _solid(
    plan: BoardPlan,
    nose: Nose,
    pose: Pose,
    ends: tuple[float, float],
    face: Face | None,
    outside: bool,
) -> Body:
    low, high = ends
    shape: Shape = Block(float(nose.width), float(nose.height), high - low)
    if nose.diameter > 0:
        shape = Cylinder(nose.diameter / 2, high - low)
    return Body(
        owner=plan.name,
        name=nose_body(nose),
        shape=shape,
        pose=pose.shifted((0.0, 0.0, (low + high) / 2)),
        half=plan.half,
        stuff=nose.stuff,
        outside=outside,
        seat=None if face is None else face.name,
    )


def play_of(build: Build) -> float:
    """How much larger than a nose its opening is on each side, mm: the hands' error."""
    return hole_position_error(hand_work(build.hands))


def _opening(board: str, nose: Nose, at: Section, face: Face, build: Build) -> Opening:
    more = 2 * play_of(build)
    wide = at.width + more + 2 * _doubt(nose, 0, at.turned)
    high = at.height + more + 2 * _doubt(nose, 1, at.turned)
    drawer = build.drawer
    if nose.slot and face.name in UPRIGHT:
        return _slot(board, nose, at, face, (wide, high), drawer)
    if nose.diameter > 0 and nose.cutout is None:
        diameter = _drilled(max(wide, high), drawer) if nose.hole is None else float(nose.hole)
        return Opening(
            part=board,
            face=face.name,
            cut=Cut.ROUND,
            role=Role.NOSE,
            across=at.across,
            up=at.up,
            diameter=diameter,
            steps=round_steps(drawer, diameter, face.thickness),
            name=nose.name,
        )
    wide, high = _cutout(nose, at, wide, high)
    return Opening(
        part=board,
        face=face.name,
        cut=Cut.RECTANGLE,
        role=Role.NOSE,
        across=at.across,
        up=at.up,
        width=wide,
        height=high,
        steps=sawn_steps(drawer, wide),
        name=nose.name,
    )


def _doubt(nose: Nose, side: int, turned: bool) -> float:
    """Half the uncertainty of a nose's size along across (0) or up (1), mm."""
    if nose.diameter > 0:
        return nose.diameter.plus_minus / 2
    sizes = (nose.height, nose.width) if turned else (nose.width, nose.height)
    return sizes[side].plus_minus / 2


def _drilled(least: float, drawer: Drawer) -> float:
    """The bit that is hardly larger, else the next tenth, to be filed, mm."""
    cones = (
        float(b.smallest) + n * float(b.step)
        for b in drawer.step_bits
        for n in range(1 + round((b.largest - b.smallest) / b.step))
    )
    bit = nearest_bit_at_least(least, [*map(float, drawer.bits), *cones])
    return bit if bit is not None and bit <= least + _ONE_BIT_UP else ceil_tenth(least)


def _cutout(nose: Nose, at: Section, wide: float, high: float) -> tuple[float, float]:
    """Width along across and height along up: as given, or to the next tenth, mm."""
    if nose.cutout is None:
        return ceil_tenth(wide), ceil_tenth(high)
    given = float(nose.cutout[0]), float(nose.cutout[1])
    return (given[1], given[0]) if at.turned else given


def _slot(
    board: str,
    nose: Nose,
    at: Section,
    face: Face,
    sizes: tuple[float, float],
    drawer: Drawer,
) -> Opening:
    """An opening with three sides: from below the nose to the rim."""
    wide, high = _cutout(nose, at, *sizes)
    if nose.hole is not None:
        wide = high = float(nose.hole)
    rim = max(p[1] for p in face.outline)
    low = at.up - high / 2
    return Opening(
        part=board,
        face=face.name,
        cut=Cut.RIM_SLOT,
        role=Role.NOSE,
        across=at.across,
        up=(low + rim) / 2,
        width=wide,
        height=rim - low,
        steps=sawn_steps(drawer, wide),
        name=nose.name,
    )
