"""The moulded features of a box as bodies: posts, ribs and the lip under the lid."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fit.geometry.box import Level, ceiling, faces, floor_top, inside
from fit.geometry.frames import Pose, Vec, cross, unit
from fit.geometry.scene import BOX, Body
from fit.geometry.shapes import Block, Cone, Cylinder, Point2, Prism, Shape
from fit.model.box import Post, Rib, Tray
from fit.model.words import FaceName, Half

LIP = "lip"
"""Name of the lip's bodies."""

LIP_ERROR = 0.1
"""How far the pieces of a lip's rounded corners may stand beyond the true lip, mm."""


def post_name(post: Post) -> str:
    """The name of a post's body."""
    return f"post {post.name}"


def rib_name(rib: Rib) -> str:
    """The name of a rib's body."""
    return f"rib {rib.name}"


def fixtures(tray: Tray) -> tuple[Body, ...]:
    """Every moulded feature that takes room inside a box, in the box frame, mm.

    Posts and ribs are exact (a post's screw hole counts as filled). The lip comes in convex
    pieces that cover it and stand out beyond it by no more than `LIP_ERROR`, at the rounded
    corners only.

    Raises:
        ValueError: for a rib whose two ends are the same point.
    """
    posts = (_body(post_name(p), _post_shape(p), post_pose(tray, p), p.half) for p in tray.posts)
    ribs = (
        _body(
            rib_name(rib),
            *rib_block(tray, rib),
            Half.LID if rib.on is FaceName.LID else Half.BODY,
        )
        for rib in tray.ribs
    )
    return (*posts, *ribs, *_lip_bodies(tray))


def _body(name: str, shape: Shape, pose: Pose, half: Half) -> Body:
    return Body(owner=BOX, name=name, shape=shape, pose=pose, half=half)


def post_pose(tray: Tray, post: Post) -> Pose:
    """The middle of a post, z up, whichever half it belongs to."""
    rises = post.height / 2
    z = floor_top(tray) + rises if post.half is Half.BODY else ceiling(tray) - rises
    return Pose((float(post.x), float(post.y), z))


def _post_shape(post: Post) -> Cylinder | Cone:
    height = float(post.height)
    if post.tip == post.foot:
        return Cylinder(post.tip / 2, height)
    low, high = (post.foot, post.tip) if post.half is Half.BODY else (post.tip, post.foot)
    return Cone(low / 2, high / 2, height)


def rib_block(tray: Tray, rib: Rib) -> tuple[Block, Pose]:
    """A rib as a block and its pose: x along the rib, z out of the wall's face.

    Raises:
        ValueError: when both ends are the same point.
    """
    face = faces(tray)[rib.on]
    (a0, u0), (a1, u1) = rib.start, rib.end
    run = math.hypot(a1 - a0, u1 - u0)
    if run <= 0:
        raise ValueError(f"rib {rib.name} has no length")
    along: Vec = unit(face.frame.direction((a1 - a0, u1 - u0, 0.0)))
    out = face.frame.z
    middle = face.frame.point(((a0 + a1) / 2, (u0 + u1) / 2, -face.thickness - rib.depth / 2))
    pose = Pose(middle, along, cross(out, along), out)
    return Block(run, float(rib.thickness), float(rib.depth)), pose


@dataclass(frozen=True, slots=True, kw_only=True)
class LipRing:
    """The lip's exact shape: the ring between two level sections, drawn out upright.

    Attributes:
        outer, inner: its level sections; `inner.radius` is 0 where the ring is wider than the
            outer radius.
        low, high: heights of its lower edge and of the rim, mm.
    """

    outer: Level
    inner: Level
    low: float
    high: float


def lip_ring(tray: Tray) -> LipRing | None:
    """The exact lip of a box, or None without one.

    Its outside is the body's inner section at the rim set in by the gap, upright all the way
    down; parallel curves keep their centres, so each corner radius shrinks by what it is set in.
    """
    lip = tray.lid.lip
    if lip is None:
        return None
    outer = _inset(inside(tray, tray.rim), lip.gap)
    return LipRing(
        outer=outer,
        inner=_inset(outer, lip.thickness),
        low=tray.rim - lip.height,
        high=tray.rim,
    )


def _inset(level: Level, by: float) -> Level:
    return Level(
        x0=level.x0 + by,
        x1=level.x1 - by,
        y0=level.y0 + by,
        y1=level.y1 - by,
        radius=max(level.radius - by, 0.0),
    )


def _lip_bodies(tray: Tray) -> list[Body]:
    ring, lip = lip_ring(tray), tray.lid.lip
    if ring is None or lip is None:
        return []
    pieces = _bars(ring, lip.thickness)
    out, e = ring.outer, max(ring.outer.radius, lip.thickness)
    for (cx, cy), turn in (
        ((out.x1 - e, out.y1 - e), 0.0),
        ((out.x0 + e, out.y1 - e), 90.0),
        ((out.x0 + e, out.y0 + e), 180.0),
        ((out.x1 - e, out.y0 + e), 270.0),
    ):
        pose = Pose((cx, cy, 0.0)).turned(turn)
        pieces.extend((outline, pose) for outline in _corner(out.radius, lip.thickness))
    height, middle = ring.high - ring.low, (ring.low + ring.high) / 2
    return [
        _body(LIP, Prism(outline, height), pose.moved((0.0, 0.0, middle)), Half.LID)
        for outline, pose in pieces
    ]


def _bars(ring: LipRing, thickness: float) -> list[tuple[tuple[Point2, ...], Pose]]:
    """The four straight bars between the corners."""
    out, e = ring.outer, max(ring.outer.radius, thickness)
    bars: list[tuple[tuple[Point2, ...], Pose]] = []
    for x0, x1, y0, y1 in (
        (out.x0 + e, out.x1 - e, out.y0, out.y0 + thickness),
        (out.x0 + e, out.x1 - e, out.y1 - thickness, out.y1),
        (out.x0, out.x0 + thickness, out.y0 + e, out.y1 - e),
        (out.x1 - thickness, out.x1, out.y0 + e, out.y1 - e),
    ):
        if x1 - x0 <= 0 or y1 - y0 <= 0:
            continue
        hx, hy = (x1 - x0) / 2, (y1 - y0) / 2
        outline = ((-hx, -hy), (hx, -hy), (hx, hy), (-hx, hy))
        bars.append((outline, Pose((x0 + hx, y0 + hy, 0.0))))
    return bars


def _corner(radius: float, thickness: float) -> list[tuple[Point2, ...]]:
    """The corner between +x and +y in convex pieces; origin at the corner square's inner corner.

    A thick lip's corner (radius below thickness) is one piece with a rounded outside; a thin
    one is a quarter ring cut into four-sided pieces. Arcs outside become tangents, arcs inside
    chords, so the pieces cover the ring.
    """
    steps = _steps(radius)
    if radius < thickness:
        d = thickness - radius
        arc = [(d + x, d + y) for x, y in _tangents(radius, steps)] if radius > 0 else [(d, d)]
        return [((0.0, 0.0), (thickness, 0.0), *arc, (0.0, thickness))]
    inner, half = radius - thickness, math.radians(45.0 / steps)
    far = radius / math.cos(half)
    pieces = []
    for i in range(steps):
        a, b = 2 * half * i, 2 * half * (i + 1)
        near = (_polar(inner, b), _polar(inner, a)) if inner > 0 else ((0.0, 0.0),)
        pieces.append((_polar(far, a), _polar(far, b), *near))
    return pieces


def _steps(radius: float) -> int:
    """Pieces of a quarter circle whose tangents stay within `LIP_ERROR` of it."""
    if radius <= 0:
        return 1
    return max(2, math.ceil(math.pi / 4 / math.acos(radius / (radius + LIP_ERROR))))


def _tangents(radius: float, steps: int) -> list[Point2]:
    """Corners of the tangent polygon round a quarter circle, without the two arc ends."""
    half = math.radians(45.0 / steps)
    far = radius / math.cos(half)
    return [_polar(far, half * (2 * i + 1)) for i in range(steps)]


def _polar(radius: float, angle: float) -> Point2:
    return (radius * math.cos(angle), radius * math.sin(angle))
