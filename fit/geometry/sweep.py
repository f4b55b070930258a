"""The room a solid passes through on its way in or out along the box's upright axis.

A thing that is lowered straight to its seat comes through all the space above it. That space,
together with the thing itself, is again a few convex solids, so that it can be measured like any
other.

Exact: blocks and prisms with an axis upright or their outline in an upright plane, upright round
solids, round bars lying level. A round solid on a wall that leans is taken as a level bar as wide,
long enough to hold it: seen along the wall that is just what it passes through. Anything else that
is tilted both ways is taken as the upright box round it. So all pass through too much, never too
little.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from fit.geometry.frames import Pose, Vec, add, cross, dot, scale, unit
from fit.geometry.shapes import Block, Cone, Cylinder, Point2, Prism, Shape
from fit.geometry.support import bounds, reach, vertices

Posed = tuple[Shape, Pose]
"""A solid and where it stands."""

_UP: Vec = (0.0, 0.0, 1.0)

_LEANS = 0.5
"""Sine of the slope, 30°, up to which a round solid is taken as a level bar."""

_SQUARE = 1e-9
"""Sine up to which a direction counts as square or parallel to the upright axis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A straight way along the upright axis: up or down, as far as a level.

    Attributes:
        up: True when the thing is taken out upwards (body), False downwards (open lid).
        to: height at which the way ends, mm; nothing past it counts, but for what stands there
            already.
    """

    up: bool
    to: float


def swept(shape: Shape, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """The solids that cover a posed solid and all it passes through on a way.

    They are exact or too large (see the top of this file). A solid that lies past the end of
    the way comes back alone.
    """
    if _level(pose.z) and isinstance(shape, Cylinder):
        return _lying_bar(shape, pose, way)
    if isinstance(shape, Block):
        shape, pose = _axis_chosen(shape, pose)
    if _upright(pose.z):
        return _standing(shape, pose, way)
    if isinstance(shape, Block | Prism) and _level(pose.z):
        return _drawn(shape, pose, way)
    if isinstance(shape, Cylinder | Cone) and abs(pose.z[2]) <= _LEANS:
        return _leaning(shape, pose, way)
    return _box_round(shape, pose, way)


def _level(axis: Vec) -> bool:
    return abs(axis[2]) <= _SQUARE


def _upright(axis: Vec) -> bool:
    return math.hypot(axis[0], axis[1]) <= _SQUARE


def _stretch(low: float, high: float, way: Way) -> tuple[float, float]:
    """Lowest and highest level of a column from a solid's own levels to the end of the way."""
    return (low, max(high, way.to)) if way.up else (min(low, way.to), high)


def _standing(shape: Shape, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """A solid whose axis is upright: it gets taller; a cone keeps itself and gets a column."""
    (_, _, low), (_, _, high) = bounds(shape, pose)
    if isinstance(shape, Cone):
        wide_up = (shape.radius_high > shape.radius_low) == (pose.z[2] > 0)
        radius = max(shape.radius_low, shape.radius_high)
        # Out over its wide end it leaves a column from that end on; else from the far end.
        start = (high if wide_up else low) if way.up else (low if not wide_up else high)
        bottom, top = _stretch(start, start, way)
        return ((shape, pose), *_column(Cylinder(radius, top - bottom), pose, bottom, top))
    bottom, top = _stretch(low, high, way)
    if isinstance(shape, Block):
        tall: Shape = Block(shape.dx, shape.dy, top - bottom)
    elif isinstance(shape, Cylinder):
        tall = Cylinder(shape.radius, top - bottom)
    else:
        tall = Prism(shape.outline, top - bottom)
    return tuple(_column(tall, pose, bottom, top))


def _column(shape: Shape, pose: Pose, bottom: float, top: float) -> Iterable[Posed]:
    if top > bottom:
        x, y, _ = pose.origin
        yield shape, Pose((x, y, (bottom + top) / 2), pose.x, pose.y, pose.z)


def _lying_bar(shape: Cylinder, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """A round bar lying level: itself, and a block as wide from its axis to where it ends."""
    x, y, z = pose.origin
    bottom, top = _stretch(z, z, way)
    frame = Pose((x, y, (bottom + top) / 2), pose.z, cross(_UP, pose.z), _UP)
    if top <= bottom:
        return ((shape, pose),)
    block = Block(shape.height, 2 * shape.radius, top - bottom)
    # The end of the way stands for a level, not for the bar's last place: the half round past
    # it is left out.
    return ((shape, pose), (block, frame))


def _leaning(shape: Cylinder | Cone, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """A round solid whose axis is nearly level: itself, and a level bar that holds it, passing.

    Of a disc that leans by α the circle is seen ``cos α`` as high as it is wide, so a level disc
    as wide in the place of its lower end (taken out upwards) reaches at least as far down, and
    all of it that is higher up is passed by the level one as well.
    """
    radius = (
        shape.radius if isinstance(shape, Cylinder) else max(shape.radius_low, shape.radius_high)
    )
    along = unit((pose.z[0], pose.z[1], 0.0))
    back, front = (reach(shape, pose, d) for d in (scale(along, -1.0), along))
    here = dot(pose.origin, along)
    end = shape.height / 2 * abs(pose.z[2])
    x, y, z = add(pose.origin, scale(along, (front - back) / 2 - here))
    start = Pose((x, y, z - end if way.up else z + end), _UP, cross(along, _UP), along)
    bar, block = Cylinder(radius, front + back), _stretch(start.origin[2], start.origin[2], way)
    if block[1] <= block[0]:
        return ((shape, pose),)
    return ((shape, pose), *_lying_bar(bar, start, way))


def _axis_chosen(shape: Block, pose: Pose) -> Posed:
    """The same block with its z along an upright edge, else along a level one, where it has one."""
    turned = (
        (shape, pose),
        (Block(shape.dy, shape.dz, shape.dx), Pose(pose.origin, pose.y, pose.z, pose.x)),
        (Block(shape.dz, shape.dx, shape.dy), Pose(pose.origin, pose.z, pose.x, pose.y)),
    )
    for lies in (_upright, _level):
        for block, frame in turned:
            if lies(frame.z):
                return block, frame
    return shape, pose


def _drawn(shape: Block | Prism, pose: Pose, way: Way) -> tuple[Posed, ...]:
    """A solid whose outline stands in an upright plane: the outline drawn along that plane."""
    across = unit(cross(_UP, pose.z))
    flat = Pose(pose.origin, across, cross(pose.z, across), pose.z)
    corners = vertices(shape, pose).tolist()
    points = [(dot((p[0], p[1], p[2]), across), float(p[2])) for p in corners]
    far = [(x, max(z, way.to) if way.up else min(z, way.to)) for x, z in points]
    ring = _hull([*points, *far])
    middle_x = (min(p[0] for p in ring) + max(p[0] for p in ring)) / 2
    middle_z = (min(p[1] for p in ring) + max(p[1] for p in ring)) / 2
    here = (dot(pose.origin, across), pose.origin[2])
    moved = flat.shifted((middle_x - here[0], middle_z - here[1], 0.0))
    outline = tuple((x - middle_x, z - middle_z) for x, z in ring)
    height = shape.dz if isinstance(shape, Block) else shape.height
    return ((Prism(outline, height), moved),)


def _hull(points: list[Point2]) -> list[Point2]:
    """The convex hull, counter-clockwise, without points on its edges (A. M. Andrew, 1979)."""

    def half(ordered: Iterable[Point2]) -> list[Point2]:
        kept: list[Point2] = []
        for p in ordered:
            while len(kept) >= 2 and _turn(kept[-2], kept[-1], p) <= _SQUARE:
                kept.pop()
            kept.append(p)
        return kept[:-1]

    ordered = sorted(set(points))
    return half(ordered) + half(reversed(ordered))


def _turn(a: Point2, b: Point2, c: Point2) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _box_round(shape: Shape, pose: Pose, way: Way) -> tuple[Posed, ...]:
    (x0, y0, low), (x1, y1, high) = bounds(shape, pose)
    bottom, top = _stretch(low, high, way)
    middle = ((x0 + x1) / 2, (y0 + y1) / 2, (bottom + top) / 2)
    return ((Block(x1 - x0, y1 - y0, top - bottom), Pose(middle)),)


def drawn_in(shape: Shape, pose: Pose, by: float) -> Posed:
    """A solid lengthened by ``by`` mm against its own z axis: what it fills while pushed home.

    Exact for blocks, prisms and cylinders; a cone is taken as the cylinder round it.
    """
    back = pose.shifted((0.0, 0.0, -by / 2))
    if isinstance(shape, Block):
        return Block(shape.dx, shape.dy, shape.dz + by), back
    if isinstance(shape, Prism):
        return Prism(shape.outline, shape.height + by), back
    if isinstance(shape, Cylinder):
        return Cylinder(shape.radius, shape.height + by), back
    return Cylinder(max(shape.radius_low, shape.radius_high), shape.height + by), back
