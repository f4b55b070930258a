"""How far a posed solid reaches: corners, extents along a direction, upright bounds.

Everything here is closed arithmetic on the exact solid (a round bar is round, not a polygon),
except :func:`grown_polyhedron`, which says by how much it grows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from fit.geometry.frames import Pose, Vec, dot, scale, sub
from fit.geometry.shapes import Block, Cone, Cylinder, Point2, Prism, Shape

Array = npt.NDArray[np.float64]

Bounds = tuple[Vec, Vec]
"""An upright box: its lowest and its highest corner, mm."""

_SAME = 1e-12
"""Two unit directions closer than this are one direction; edges shorter (mm) are none."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Polyhedron:
    """A block or prism in its own frame, as arrays, mm.

    ``normals`` and ``directions`` hold each face normal and edge direction once, whatever its
    sign; ``starts[i]`` is a corner on edge ``i`` and ``alongs[i]`` the unit direction of that edge.
    """

    points: Array
    normals: Array
    directions: Array
    starts: Array
    alongs: Array


def outline_of(shape: Block | Prism) -> tuple[Point2, ...]:
    """The outline of a block or prism across its z axis, counter-clockwise, mm."""
    if isinstance(shape, Prism):
        return shape.outline
    x, y = shape.dx / 2, shape.dy / 2
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def height_of(shape: Shape) -> float:
    """The length along the shape's own z axis, mm."""
    return shape.dz if isinstance(shape, Block) else shape.height


@lru_cache(maxsize=4096)
def polyhedron(shape: Block | Prism) -> Polyhedron:
    """The arrays of a block or prism, kept so that equal shapes share them."""
    outline, half = outline_of(shape), height_of(shape) / 2
    corners = [(x, y, z) for z in (-half, half) for x, y in outline]
    sides: list[Vec] = []
    starts: list[Vec] = [(x, y, 0.0) for x, y in outline]
    alongs: list[Vec] = [(0.0, 0.0, 1.0)] * len(outline)
    for (px, py), (qx, qy) in zip(outline, outline[1:] + outline[:1], strict=True):
        length = math.hypot(qx - px, qy - py)
        if length <= _SAME:
            continue
        ux, uy = (qx - px) / length, (qy - py) / length
        sides.append((uy, -ux, 0.0))
        for z in (-half, half):
            starts.append((px, py, z))
            alongs.append((ux, uy, 0.0))
    up: Vec = (0.0, 0.0, 1.0)
    return Polyhedron(
        points=np.array(corners),
        normals=np.array(_once([up, *sides])),
        directions=np.array(_once([up, *((-ny, nx, 0.0) for nx, ny, _ in sides)])),
        starts=np.array(starts),
        alongs=np.array(alongs),
    )


def _once(directions: list[Vec]) -> list[Vec]:
    """Each direction once, opposite ones counting as the same."""
    kept: list[Vec] = []
    for d in directions:
        if all(min(_far(d, k), _far(d, scale(k, -1.0))) > _SAME for k in kept):
            kept.append(d)
    return kept


def _far(a: Vec, b: Vec) -> float:
    return max(abs(c) for c in sub(a, b))


def axes(pose: Pose) -> Array:
    """The pose's three axes as the rows of a matrix: outside = own @ axes + origin."""
    return np.array((pose.x, pose.y, pose.z))


def vertices(shape: Block | Prism, pose: Pose) -> Array:
    """Corners of a posed block or prism, (n, 3), mm. Low outline first, then the high one."""
    posed: Array = polyhedron(shape).points @ axes(pose) + pose.origin
    return posed


def rims(shape: Cylinder | Cone) -> tuple[tuple[float, float], tuple[float, float]]:
    """The two end discs as (z, radius) in the shape's own frame, low one first, mm."""
    if isinstance(shape, Cylinder):
        return (-shape.height / 2, shape.radius), (shape.height / 2, shape.radius)
    return (-shape.height / 2, shape.radius_low), (shape.height / 2, shape.radius_high)


def lean(shape: Cylinder | Cone) -> float:
    """How far the side's outward normal leans to +z: its z component, -1…1; 0 on a cylinder."""
    (low, r_low), (high, r_high) = rims(shape)
    return (r_low - r_high) / math.hypot(high - low, r_low - r_high)


def reach(shape: Shape, pose: Pose, direction: Vec) -> float:
    """How far the solid reaches along a unit direction: the greatest ``p · direction``, mm.

    The sine between direction and axis is taken from the components across the axis, not from
    ``sqrt(1 - cos²)``, which loses half its digits where the two are nearly parallel.
    """
    across, up, along = dot(direction, pose.x), dot(direction, pose.y), dot(direction, pose.z)
    base = dot(pose.origin, direction)
    if isinstance(shape, Block):
        return base + (abs(across) * shape.dx + abs(up) * shape.dy + abs(along) * shape.dz) / 2
    if isinstance(shape, Cylinder):
        return base + shape.radius * math.hypot(across, up) + abs(along) * shape.height / 2
    if isinstance(shape, Cone):
        sine, lift = math.hypot(across, up), along * shape.height / 2
        return base + max(shape.radius_low * sine - lift, shape.radius_high * sine + lift)
    flat = max([x * across + y * up for x, y in shape.outline])
    return base + flat + abs(along) * shape.height / 2


def extent(shape: Shape, pose: Pose, direction: Vec) -> tuple[float, float]:
    """The interval a posed solid covers along a unit direction, (low, high) in mm, exact.

    Cylinder: ``r·sqrt(1 - (n·a)²) + h/2·|n·a|`` to either side of its middle; cone: the wider
    reach of its two discs; block and prism: their corners.
    """
    return -reach(shape, pose, scale(direction, -1.0)), reach(shape, pose, direction)


def bounds(shape: Shape, pose: Pose) -> Bounds:
    """The smallest upright box round a posed solid, exact, mm."""
    if isinstance(shape, Block | Cylinder):
        (x, y, z), (dx, dy, dz) = pose.origin, _half_spans(shape, pose)
        return (x - dx, y - dy, z - dz), (x + dx, y + dy, z + dz)
    spans = [extent(shape, pose, d) for d in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))]
    return (
        (spans[0][0], spans[1][0], spans[2][0]),
        (spans[0][1], spans[1][1], spans[2][1]),
    )


def _half_spans(shape: Block | Cylinder, pose: Pose) -> Vec:
    """Half of what a block or bar covers along each upright axis, as `reach` has it, mm."""
    (xx, xy, xz), (yx, yy, yz), (zx, zy, zz) = pose.x, pose.y, pose.z
    if isinstance(shape, Block):
        a, b, c = shape.dx, shape.dy, shape.dz
        return (
            (abs(xx) * a + abs(yx) * b + abs(zx) * c) / 2,
            (abs(xy) * a + abs(yy) * b + abs(zy) * c) / 2,
            (abs(xz) * a + abs(yz) * b + abs(zz) * c) / 2,
        )
    r, h = shape.radius, shape.height
    return (
        r * math.hypot(xx, yx) + abs(zx) * h / 2,
        r * math.hypot(xy, yy) + abs(zy) * h / 2,
        r * math.hypot(xz, yz) + abs(zz) * h / 2,
    )


def far_point(shape: Shape, pose: Pose, direction: Vec) -> Vec:
    """A point of the solid that lies farthest along a direction (any length but 0), mm."""
    return farthest(shape, pose)(direction)


def farthest(shape: Shape, pose: Pose) -> Callable[[Vec], Vec]:
    """:func:`far_point` of one posed solid, readied for being asked many times."""
    (ox, oy, oz), (xx, xy, xz), (yx, yy, yz), (zx, zy, zz) = pose.origin, pose.x, pose.y, pose.z
    own = _own_farthest(shape)

    def far(direction: Vec) -> Vec:
        i, j, k = direction
        u, v, w = own(i * xx + j * xy + k * xz, i * yx + j * yy + k * yz, i * zx + j * zy + k * zz)
        return (
            ox + u * xx + v * yx + w * zx,
            oy + u * xy + v * yy + w * zy,
            oz + u * xz + v * yz + w * zz,
        )

    return far


def _own_farthest(shape: Shape) -> Callable[[float, float, float], Vec]:
    """The same in the shape's own frame."""
    half = height_of(shape) / 2
    if isinstance(shape, Block):
        x, y = shape.dx / 2, shape.dy / 2
        return lambda a, b, c: (x if a > 0 else -x, y if b > 0 else -y, half if c > 0 else -half)
    if isinstance(shape, Prism):
        outline = shape.outline

        def corner(a: float, b: float, c: float) -> Vec:
            _, u, v = max([(p * a + q * b, p, q) for p, q in outline])
            return u, v, half if c > 0 else -half

        return corner
    (_, r_low), (_, r_high) = rims(shape)

    def rim(a: float, b: float, c: float) -> Vec:
        sine = math.hypot(a, b)
        upper = r_high * sine + half * c > r_low * sine - half * c
        z, radius = (half, r_high) if upper else (-half, r_low)
        return (radius * a / sine, radius * b / sine, z) if sine > 0.0 else (0.0, 0.0, z)

    return rim


def room(shape: Shape, pose: Pose, point: Vec) -> float:
    """How far a point lies inside the solid's nearest face or side, mm; below 0 it is outside.

    Inside, a ball of that radius about the point lies wholly in the solid.
    """
    x, y, z = pose.inside(point)
    least = height_of(shape) / 2 - abs(z)
    if isinstance(shape, Block):
        return min(least, shape.dx / 2 - abs(x), shape.dy / 2 - abs(y))
    if isinstance(shape, Prism):
        outline = shape.outline
        for (px, py), (qx, qy) in zip(outline, outline[1:] + outline[:1], strict=True):
            ex, ey = qx - px, qy - py
            least = min(least, (ex * (y - py) - ey * (x - px)) / (math.hypot(ex, ey) or 1.0))
        return least
    tilt, ((low, radius), _) = lean(shape), rims(shape)
    across = math.sqrt(1 - tilt * tilt)
    return min(least, across * (radius - math.hypot(x, y)) - tilt * (z - low))


def held_inside(shape: Shape, pose: Pose, point: Vec) -> Vec:
    """The point itself if it lies in the solid, else the point of the solid nearest to it, mm."""
    x, y, z = pose.inside(point)
    if isinstance(shape, Cylinder | Cone):
        away = math.hypot(x, y)
        radius, kept = _held_beside(rims(shape), away, z)
        ratio = radius / away if radius < away else 1.0
        u, v = x * ratio, y * ratio
    else:
        half = height_of(shape) / 2
        kept = min(max(z, -half), half)
        if isinstance(shape, Block):
            u = min(max(x, -shape.dx / 2), shape.dx / 2)
            v = min(max(y, -shape.dy / 2), shape.dy / 2)
        else:
            u, v = _held_flat(shape.outline, x, y)
    if u == x and v == y and kept == z:
        return point
    return pose.point((u, v, kept))


def _held_beside(ends: tuple[Point2, Point2], away: float, z: float) -> Point2:
    """The same for a round solid cut open along its axis: distance from the axis and z."""
    (low, r_low), (high, r_high) = ends
    if r_low == r_high:
        return min(away, r_low), min(max(z, low), high)
    return _held_flat(((0.0, low), (r_low, low), (r_high, high), (0.0, high)), away, z)


def _held_flat(outline: tuple[Point2, ...], x: float, y: float) -> Point2:
    """The point of the outline's inside nearest to a point of its plane."""
    outside, best, held = False, math.inf, (x, y)
    for (px, py), (qx, qy) in zip(outline, outline[1:] + outline[:1], strict=True):
        ex, ey, wx, wy = qx - px, qy - py, x - px, y - py
        outside = outside or ex * wy < ey * wx
        share = min(max((wx * ex + wy * ey) / (ex * ex + ey * ey or 1.0), 0.0), 1.0)
        u, v = px + share * ex, py + share * ey
        away = math.hypot(x - u, y - v)
        if away < best:
            best, held = away, (u, v)
    return held if outside else (x, y)


def grown_polyhedron(shape: Shape, pose: Pose, sides: int = 64) -> Array:
    """Corners (n, 3), mm, of a flat-faced solid that holds the posed one: the safe side.

    Blocks and prisms come back as they are. Round ends become regular polygons of ``sides``
    corners drawn *round* the circle, so the solid grows, nowhere by more than
    ``r·(1/cos(180°/sides) - 1)``: 0.12 % of the radius with 64 sides.

    Raises ValueError for fewer than three sides.
    """
    if isinstance(shape, Block | Prism):
        return vertices(shape, pose)
    if sides < 3:
        raise ValueError(f"a polygon needs three sides or more, not {sides}")
    turn = np.arange(sides) * (2 * math.pi / sides)
    ring = np.column_stack((np.cos(turn), np.sin(turn))) / math.cos(math.pi / sides)
    own = np.vstack([np.column_stack((ring * r, np.full(sides, z))) for z, r in rims(shape)])
    posed: Array = own @ axes(pose) + pose.origin
    return posed
