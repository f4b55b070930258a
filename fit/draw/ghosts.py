"""Ghosts: what lies close behind a wall, seen through it. For the eye only, nothing is cut by them.

Curved bodies that are not seen end-on are drawn by the hull of points on their rims, at most
0.1 % inside the true outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Box, Circle, Path, Point, around, item_box, polygon
from fit.geometry.box import Face
from fit.geometry.frames import Vec
from fit.geometry.scene import BOX, Body, Scene
from fit.geometry.shapes import Block, Cone, Cylinder, Prism

NEAR: Final = 25.0
"""Bodies whose nearest point lies within this behind the wall are shown, mm."""

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


def ghosts(scene: Scene, face: Face) -> tuple[Ghost, ...]:
    """Bodies near behind a wall, nearest first, without those mounted on that wall.

    Parts that sit on the face itself are left out: their openings are drawn already.
    """
    own = {o.part for o in scene.openings if o.face is face.name}
    found = [
        ghost
        for body in scene.bodies
        if not body.outside and (body.owner == BOX or body.owner not in own)
        if (ghost := _shadow(body, face)) is not None
    ]
    return tuple(_without_twins(sorted(found, key=lambda g: (g.depth, g.owner, g.name))))


def _without_twins(found: list[Ghost]) -> Iterator[Ghost]:
    """Pieces of one thing that cast the same shadow are drawn once."""
    seen: set[tuple[float, ...]] = set()
    for ghost in found:
        box = ghost.box
        key = tuple(round(v, 2) for v in (box.x0, box.y0, box.x1, box.y1))
        if key not in seen:
            seen.add(key)
            yield ghost


def _shadow(body: Body, face: Face) -> Ghost | None:
    points = [face.frame.inside(body.pose.point(p)) for p in _corners(body)]
    depth = -max(p[2] for p in points) - face.thickness
    # Behind the wall's inner surface, or in it, but not on its outside.
    if not -face.thickness < depth <= NEAR:
        return None
    flat = [(p[0], p[1]) for p in points]
    outline = _end_on(body, face) or polygon(_hull(flat), pens.GHOST)
    box = item_box(outline)
    if not box.meets(around(list(face.outline))):
        return None
    return Ghost(outline=outline, box=box, owner=body.owner, name=body.name, depth=depth)


def _end_on(body: Body, face: Face) -> Circle | None:
    """The exact circle of a round body whose axis stands at right angles to the wall."""
    z, n = body.pose.z, face.frame.z
    along = abs(z[0] * n[0] + z[1] * n[1] + z[2] * n[2])
    if along < 1 - _END_ON or not isinstance(body.shape, Cylinder | Cone):
        return None
    shape = body.shape
    if isinstance(shape, Cylinder):
        radius = shape.radius
    else:
        radius = max(shape.radius_low, shape.radius_high)
    x, y, _ = face.frame.inside(body.pose.origin)
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
