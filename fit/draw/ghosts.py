"""Ghosts: what lies close behind a wall, seen through it. For the eye only, nothing is cut by them.

Curved bodies that are not seen end-on are drawn by the hull of points on their rims, at most
0.1 % inside the true outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Box, Circle, Path, Point, around, item_box, polygon
from fit.geometry.box import Face
from fit.geometry.frames import Pose, Vec
from fit.geometry.scene import BOX, Body, Role, Scene
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.units import show

NEAR: Final = 25.0
"""Bodies whose nearest point lies within this behind the wall are shown, mm."""

PLATE: Final = "filter plate"
"""Name of the body of a plate held behind its window."""

_ROUND_POINTS = 72
_END_ON = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Ghost:
    """The shadow of one body: outline in the face frame, its box, whose it is and how deep."""

    outline: Circle | Path
    box: Box
    owner: str
    name: str
    depth: float
    words: str = ""
    """Its size, for what stands outside."""
    high: float = 0.0
    """How far it stands out before the face, mm."""


def standing_out(scene: Scene, face: Face) -> tuple[Ghost, ...]:
    """What parts mounted on a face have outside it: bezels, knobs, nuts, things taped on.

    What lies under a larger piece of the same part is left out, but counts for its height.
    """
    found = []
    for body in scene.bodies:
        if body.outside and body.seat is face.name:
            points = [face.frame.inside(body.pose.point(p)) for p in _corners(body)]
            hull = _hull([(x, y) for x, y, _ in points])
            outline = _end_on(body, face.frame) or polygon(hull, pens.OUTSIDE)
            found.append(
                Ghost(
                    outline=replace(outline, pen=pens.OUTSIDE),
                    box=item_box(outline),
                    owner=body.owner,
                    name=body.name,
                    depth=-max(z for _, _, z in points),
                    words=_size_words(body.shape),
                    high=max(z for _, _, z in points),
                )
            )
    return tuple(_outermost(found))


def _outermost(found: list[Ghost]) -> Iterator[Ghost]:
    for n, ghost in enumerate(found):
        same = [(m, g) for m, g in enumerate(found) if g.owner == ghost.owner and m != n]
        over = (
            m
            for m, g in same
            if g.box.holds(ghost.box, 0.01) and (m < n or not ghost.box.holds(g.box, 0.01))
        )
        if next(over, None) is None:
            under = [g.high for _, g in same if ghost.box.holds(g.box, 0.01)]
            yield replace(ghost, high=max([ghost.high, *under]))


def _size_words(shape: Shape) -> str:
    if isinstance(shape, Block):
        return f"{show(shape.dx)} × {show(shape.dy)}"
    if isinstance(shape, Cylinder):
        return f"Ø{show(2 * shape.radius, 1)}"
    if isinstance(shape, Cone):
        return f"Ø{show(2 * max(shape.radius_low, shape.radius_high), 1)}"
    return ""


def ghosts(scene: Scene, face: Face) -> tuple[Ghost, ...]:
    """Bodies near behind a wall, nearest first, without those mounted on that wall.

    Parts that sit on the face itself are left out: their openings are drawn already; but not a
    filter plate behind the wall, which needs its ledge, nor what sits behind a grille. A thing
    made of several solids is shown by one outline round all of them; the box's own features
    singly.
    """
    # A board that only looks out through this wall does not sit on it.
    on_it = (o for o in scene.openings if o.face is face.name and o.role is not Role.NOSE)
    # Where the body behind a grille goes is not told by its holes.
    own = {o.part for o in on_it}
    own -= {o.part for o in scene.openings if o.role is Role.VENT}
    things: dict[tuple[str, ...], list[Body]] = {}
    for n, body in enumerate(scene.bodies):
        mounted = body.owner in own and body.owner != BOX and body.name != PLATE
        if body.outside or mounted:
            continue
        if _depth(body, face) is not None:
            key = (*body.id, str(n)) if body.owner == BOX else body.id
            things.setdefault(key, []).append(body)
    found = [g for bodies in things.values() if (g := _shadow(bodies, face)) is not None]
    return tuple(_without_inner(sorted(found, key=lambda g: (g.depth, g.owner, g.name))))


def _without_inner(found: list[Ghost]) -> Iterator[Ghost]:
    """Leave out what lies in the shadow of something else of the same owner: it adds only ink."""
    for ghost in found:
        others = [g for g in found if g is not ghost and g.owner == ghost.owner]
        inside = [g for g in others if g.box.holds(ghost.box, 0.05)]
        if not any(not ghost.box.holds(g.box, 0.05) or g.depth < ghost.depth for g in inside):
            yield ghost


def _depth(body: Body, face: Face) -> float | None:
    """How far a body's nearest point lies behind the wall's inside, mm; None when not near."""
    nearest = max(face.frame.inside(body.pose.point(p))[2] for p in _corners(body))
    depth = -nearest - face.thickness
    # A body may reach into the wall (a lip, a rib), but not stand outside it.
    return depth if -face.thickness < depth <= NEAR else None


def _shadow(bodies: list[Body], face: Face) -> Ghost | None:
    """The outline of some solids seen through the wall, as far as it lies on the face."""
    flat = []
    for body in bodies:
        points = (face.frame.inside(body.pose.point(p)) for p in _corners(body))
        flat += [(p[0], p[1]) for p in points]
    hull = clipped_convex(_hull(flat), face.outline)
    if len(hull) < 3:
        return None
    whole = around(list(face.outline))
    outline: Circle | Path | None = _end_on(bodies[0], face.frame) if len(bodies) == 1 else None
    if outline is None or not whole.holds(item_box(outline)):
        outline = polygon(hull, pens.GHOST)
    depths = [d for d in (_depth(body, face) for body in bodies) if d is not None]
    return Ghost(
        outline=outline,
        box=item_box(outline),
        owner=bodies[0].owner,
        name=bodies[0].name,
        depth=min(depths),
    )


def clipped_convex(shape: tuple[Point, ...], window: tuple[Point, ...]) -> tuple[Point, ...]:
    """The part of a convex polygon inside another, both counter-clockwise (Sutherland, Hodgman)."""
    kept = list(shape)
    for a, b in zip(window, (*window[1:], window[0]), strict=True):
        before, kept = kept, []
        for p, q in zip(before, [*before[1:], *before[:1]], strict=True):
            side_p, side_q = _turn(a, b, p), _turn(a, b, q)
            if side_p >= 0:
                kept.append(p)
            if (side_p >= 0) != (side_q >= 0):
                t = side_p / (side_p - side_q)
                kept.append((p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t))
    return tuple(kept)


def silhouette(body: Body, frame: Pose) -> Circle | Path:
    """The outline of a body seen along a frame's z axis, in that frame, mm."""
    points = (frame.inside(body.pose.point(p)) for p in _corners(body))
    return _end_on(body, frame) or polygon(_hull([(x, y) for x, y, _ in points]), pens.GHOST)


def _end_on(body: Body, frame: Pose) -> Circle | None:
    """The exact circle of a round body seen end-on."""
    z, n = body.pose.z, frame.z
    along = abs(z[0] * n[0] + z[1] * n[1] + z[2] * n[2])
    if along < 1 - _END_ON or not isinstance(body.shape, Cylinder | Cone):
        return None
    shape = body.shape
    if isinstance(shape, Cylinder):
        radius = shape.radius
    else:
        radius = max(shape.radius_low, shape.radius_high)
    x, y, _ = frame.inside(body.pose.origin)
    return Circle((x, y), radius, pens.GHOST)


def _corners(body: Body) -> Iterator[Vec]:
    """Points whose hull is the body, in its own frame, mm."""
    shape = body.shape
    if isinstance(shape, Block):
        for sx in (-0.5, 0.5):
            for sy in (-0.5, 0.5):
                for sz in (-0.5, 0.5):
                    yield (sx * shape.dx, sy * shape.dy, sz * shape.dz)
    elif isinstance(shape, Prism):
        for x, y in shape.outline:
            yield (x, y, -shape.height / 2)
            yield (x, y, shape.height / 2)
    else:
        rims = (
            (shape.radius_low, shape.radius_high)
            if isinstance(shape, Cone)
            else (shape.radius, shape.radius)
        )
        for radius, z in zip(rims, (-shape.height / 2, shape.height / 2), strict=True):
            for n in range(_ROUND_POINTS):
                a = 2 * math.pi * n / _ROUND_POINTS
                yield (radius * math.cos(a), radius * math.sin(a), z)


def _hull(points: list[Point]) -> tuple[Point, ...]:
    """The convex hull, counter-clockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def chain(run: list[Point]) -> list[Point]:
        kept: list[Point] = []
        for p in run:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], p) <= 1e-9:
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return tuple(chain(ordered) + chain(ordered[::-1]))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
