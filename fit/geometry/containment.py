"""How much room a convex solid has to the inner surfaces of its box.

The cavity below the rim is convex: half-spaces behind the walls, and in each rounded upright
corner every plane that touches the round. So the distance from a solid inside it to its surface
is the smallest distance to one of those planes, and a plane's distance is closed arithmetic (how
far the solid reaches along its normal). Level sections have corners of one radius at every
height, so a corner's surface is a circle of that radius drawn along the slanted edge.

Where exactness is given up, margins come out too small, never too large:
- in a rounded corner the slant is charged in full: a positive margin is low by a share of at most
  ``(tan²δ₁ + tan²δ₂)/2`` (0.12 % at 2° and 2°), a negative one is too deep by no more than that;
- a tilted round solid in a rounded corner: by less than `corners.CORNER_ERROR`;
- under a deep lid, a solid diagonally off the edge of a ledge at the rim: by no more than 0.0001
  of the solid's size; off a ledge within a rounded corner by more, since one slanting direction
  must serve the whole round. Where only the cut at the rim shows that the two are apart, 0.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fit.geometry.box import (
    Level,
    Plane,
    ceiling,
    floor_top,
    inner_planes,
    inside,
    lid_inside,
)
from fit.geometry.corners import (
    Held,
    Points,
    Round,
    discs,
    reach_of,
    rounds,
    slanting,
    to_round,
    upright,
)
from fit.geometry.frames import Pose, norm, scale
from fit.geometry.shapes import Cone, Cylinder, Shape
from fit.geometry.support import extent, grown_polyhedron, reach
from fit.model.box import Tray
from fit.model.words import FaceName, Half, LidKind

_SIDES = 64
"""Sides of the polygon round a tilted round solid cut at the rim: up to 0.12 % of its radius."""

_NEAR = 10.0
"""Solids nearer than this to a ledge, mm, are measured in slanting directions as well."""

_CLOSE = 2.0
"""The same for solids across the rim where there is no ledge, mm: more room is not asked there."""

_STEPS = range(10, 90, 10)
"""Those directions: degrees from the wall's own surface towards the level of the rim."""

_THIRDS = 20
"""How often the best of them is closed in on; leaves less than 0.006°."""

_LEDGE = 0.01
"""Smaller steps at the rim, mm, are none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WallMargin:
    """Room to one inner surface, mm; negative: how far the solid reaches into the wall.

    Attributes:
        face: the wall; in a rounded corner the nearer of its two walls.
        half: which half the wall belongs to.
        mm: the margin.
        note: empty for a flat wall; else names the rounded corner.
        corner: the two walls of a rounded corner; empty for a flat wall.
    """

    face: FaceName
    half: Half
    mm: float
    note: str = ""
    corner: frozenset[FaceName] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Flat:
    """A flat inner surface.

    Attributes:
        plane: the surface.
        side: under a deep lid, where the wall's material ends at the rim: 1 for a body wall
            (material below the rim), -1 for a lid wall (above); 0: it counts at every height.
        ledge: True when the other half's wall stands further out at the rim.
    """

    plane: Plane
    side: int = 0
    ledge: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cavity:
    """All inner surfaces of a box; `rim` is its height, mm."""

    flats: tuple[Flat, ...]
    rounds: tuple[Round, ...]
    rim: float


def wall_margins(tray: Tray, shape: Shape, pose: Pose) -> tuple[WallMargin, ...]:
    """The room of a posed solid to every inner surface of a closed box, mm.

    One margin for each flat wall, floor and lid, and one for each rounded corner the solid
    stands in. All at least 0: the solid is inside. Lip, posts and ribs are bodies, not walls.
    """
    return margins(cavity(tray), shape, pose)


def margins(room: Cavity, shape: Shape, pose: Pose) -> tuple[WallMargin, ...]:
    """As `wall_margins`, for a cavity worked out beforehand."""
    solid = _solid(room, shape, pose)
    plain = [
        -reach(shape, pose, scale(flat.plane.normal, -1.0)) - flat.plane.offset
        for flat in room.flats
    ]
    found = [
        WallMargin(
            face=flat.plane.face,
            half=flat.plane.half,
            mm=_at_rim(solid, flat, mm),
        )
        for flat, mm in zip(room.flats, plain, strict=True)
    ]
    for corner in room.rounds:
        i, j = corner.walls
        if plain[i] < corner.radius and plain[j] < corner.radius:
            margin = _in_corner(room, corner, solid, room.flats[i if plain[i] < plain[j] else j])
            if margin is not None:
                found.append(margin)
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solid:
    """A solid and the rim it may stand across.

    Attributes:
        held: the solid.
        rim: height of the rim, mm.
        above, below: how far it stands above and below that level, mm; 0 where no wall ends there.
    """

    held: Held
    rim: float
    above: float = 0.0
    below: float = 0.0

    def clear_of_rim(self, side: int) -> float:
        """How far it stands above (side 1) or below (side -1) the level of the rim, mm."""
        return self.above if side > 0 else self.below


def _solid(room: Cavity, shape: Shape, pose: Pose) -> _Solid:
    ends = any(flat.side for flat in room.flats) or any(corner.side for corner in room.rounds)
    if not ends:
        return _Solid(held=(shape, pose), rim=room.rim)
    low, high = extent(shape, pose, (0.0, 0.0, 1.0))
    return _Solid(held=(shape, pose), rim=room.rim, above=low - room.rim, below=room.rim - high)


def _in_corner(room: Cavity, corner: Round, solid: _Solid, nearer: Flat) -> WallMargin | None:
    mm = to_round(corner, solid.held)
    if mm is None:
        return None
    one, other = (room.flats[k] for k in corner.walls)
    return WallMargin(
        face=nearer.plane.face,
        half=nearer.plane.half,
        mm=_at_rim(solid, corner, mm),
        note=f"in the rounded corner {other.plane.face} {one.plane.face}",
        corner=frozenset((one.plane.face, other.plane.face)),
    )


def _at_rim(solid: _Solid, wall: Flat | Round, mm: float) -> float:
    """A margin to a wall whose material ends at the rim (see the top of this file).

    A solid clear of either the wall's plane or the level of the rim is clear of the wall. When
    it is clear of neither, the piece on the wall's own side of the rim decides.
    """
    if wall.side == 0:
        return mm
    level = solid.clear_of_rim(wall.side)
    clear = max(mm, level)
    # A solid wholly on the wall's own side of the rim is nearest to its upright surface.
    # One diagonally off the edge of a wall is nearest to the edge, ledge or none.
    # A leaning one that stands across the rim may be, too.
    off_edge = wall.ledge or min(mm, level) > 0
    if clear < (_NEAR if off_edge else _CLOSE) and solid.clear_of_rim(-wall.side) < 0:
        off = _off_the_edge(solid, wall)
        if off_edge or off > 0:
            clear = max(clear, off)
    if clear >= 0:
        return clear
    piece = _cut(solid.held, solid.rim, wall.side)
    cut = None if piece is None else _measure(wall, piece)
    if cut is None or cut >= 0:
        return 0.0
    # Out over a ledge is a way out; at a wall that goes on past the rim it is none.
    return max(cut, level) if wall.ledge else cut


def _measure(wall: Flat | Round, held: Held) -> float | None:
    if isinstance(wall, Round):
        return to_round(wall, held)
    return -reach_of(held, scale(wall.plane.normal, -1.0)) - wall.plane.offset


def _off_the_edge(solid: _Solid, wall: Flat | Round) -> float:
    """The best margin in directions between a ledge's two surfaces, mm; below 0: none found.

    Any direction that parts the solid from the wall by so much proves that much room. Above 0
    the room has one peak over the directions (a least of linear functions is concave), so the
    best step is closed in on by thirds.
    """
    if isinstance(wall, Round):
        room = slanting(wall, solid.held, solid.rim)
    else:
        room = _off_flat(solid, wall)
    start = max(_STEPS, key=room)
    low, high = start - 10.0, start + 10.0
    best = room(start)
    for _ in range(_THIRDS):
        one, other = low + (high - low) / 3, high - (high - low) / 3
        left, right = room(one), room(other)
        best = max(best, left, right)
        low, high = (one, high) if left < right else (low, other)
    return best or -math.inf


def _off_flat(solid: _Solid, wall: Flat) -> Callable[[float], float]:
    """The margin, by degrees, in the direction so far from the wall's normal to the upright, mm."""
    normal = wall.plane.normal

    def room(degrees: float) -> float:
        a, b = math.cos(math.radians(degrees)), math.sin(math.radians(degrees)) * wall.side
        way = (a * normal[0], a * normal[1], a * normal[2] + b)
        reached = -reach_of(solid.held, scale(way, -1.0))
        return (reached - a * wall.plane.offset - b * solid.rim) / norm(way)

    return room


def _cut(whole: Held, rim: float, side: int) -> Held | None:
    """The piece of a solid below (side 1) or above (side -1) the rim, or None.

    Exact for blocks, prisms and upright round solids; tilted round ones grow first.
    """
    if not isinstance(whole, tuple):
        points = whole
    elif isinstance(whole[0], Cylinder | Cone) and upright(whole[1]):
        return _cut_upright(whole[0], whole[1], rim, side)
    else:
        points = grown_polyhedron(whole[0], whole[1], _SIDES)
    over = (points[:, 2] - rim) * side
    kept, gone = points[over <= 0], points[over > 0]
    if len(kept) == 0 or len(gone) == 0:
        return kept if len(kept) else None
    # The hull of all crossings from a kept to a removed corner is the cut itself.
    k, g = kept[:, None, :], gone[None, :, :]
    t = (rim - k[..., 2:]) / (g[..., 2:] - k[..., 2:])
    crossings: Points = (k + t * (g - k)).reshape(-1, 3)
    return np.vstack((kept, crossings))


def _cut_upright(shape: Cylinder | Cone, pose: Pose, rim: float, side: int) -> Held | None:
    (bottom, r_bottom), (top, r_top) = sorted(
        ((p[2], r) for p, r in discs(shape, pose)), key=lambda e: e[0]
    )
    low, high = (bottom, min(top, rim)) if side > 0 else (max(bottom, rim), top)
    if high <= low:
        return None

    def radius(z: float) -> float:
        return r_bottom + (r_top - r_bottom) * (z - bottom) / (top - bottom)

    middle = (pose.origin[0], pose.origin[1], (low + high) / 2)
    return Cone(radius(low), radius(high), high - low), Pose(middle)


@lru_cache(maxsize=64)
def cavity(tray: Tray) -> Cavity:
    """The inner surfaces of a box. Equal boxes share one answer."""
    deep = tray.lid.kind is LidKind.DEEP
    rim = tray.rim
    below, above = inside(tray, rim), lid_inside(tray, rim) if deep else None
    flats = []
    for plane in inner_planes(tray):
        if not deep or plane.face in (FaceName.FLOOR, FaceName.LID):
            flats.append(Flat(plane=plane))
            continue
        side = 1 if plane.half is Half.BODY else -1
        step = 0.0 if above is None else side * _step(plane.face, below, above)
        flats.append(Flat(plane=plane, side=side, ledge=step > _LEDGE))
    found = rounds(_places(flats, Half.BODY), lambda z: inside(tray, z))
    if deep:
        found += rounds(_places(flats, Half.LID), lambda z: lid_inside(tray, z))
    sided = [_sided(corner, flats) for corner in found]
    return Cavity(flats=tuple(flats), rounds=tuple(sided), rim=rim)


def _sided(corner: Round, flats: list[Flat]) -> Round:
    one, other = (flats[i] for i in corner.walls)
    return replace(corner, side=one.side, ledge=one.ledge or other.ledge)


def _places(flats: list[Flat], half: Half) -> dict[FaceName, int]:
    return {f.plane.face: i for i, f in enumerate(flats) if f.plane.half is half}


def _step(face: FaceName, below: Level, above: Level) -> float:
    """How much further out the lid's inside stands than the body's, at the rim, mm."""
    steps = {
        FaceName.LEFT: below.x0 - above.x0,
        FaceName.RIGHT: above.x1 - below.x1,
        FaceName.FRONT: below.y0 - above.y0,
        FaceName.BACK: above.y1 - below.y1,
    }
    return steps[face]


def room_above(tray: Tray, x: float, y: float) -> float:
    """Clear height above a point of the floor, mm: up to the lid, a leaning wall or a ledge.

    0 when the point does not lie on the floor's inner face. Lip, posts and ribs are bodies and
    are not counted.
    """
    low, rim, top = floor_top(tray), tray.rim, ceiling(tray)
    reached = _rise(lambda z: inside(tray, z), x, y, low, rim)
    if reached is None:
        return 0.0
    if tray.lid.kind is LidKind.DEEP and reached == rim:
        higher = _rise(lambda z: lid_inside(tray, z), x, y, rim, top)
        reached = rim if higher is None else higher
    return reached - low


def _rise(
    section: Callable[[float], Level], x: float, y: float, low: float, high: float
) -> float | None:
    """The highest point of an upright line from ``low`` that is still inside, mm, or None.

    The space is convex, so the line leaves it at most once; halving finds where, from below.
    """
    if not _holds(section(low), x, y):
        return None
    if _holds(section(high), x, y):
        return high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _holds(section(middle), x, y) else (low, middle)
    return low


def _holds(level: Level, x: float, y: float) -> bool:
    """Whether a point lies in a level section."""
    r = level.radius
    if not (level.x0 <= x <= level.x1 and level.y0 <= y <= level.y1):
        return False
    over_x = max(level.x0 + r - x, x - level.x1 + r)
    over_y = max(level.y0 + r - y, y - level.y1 + r)
    return over_x <= 0 or over_y <= 0 or math.hypot(over_x, over_y) <= r
