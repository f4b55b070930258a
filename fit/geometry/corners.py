"""The rounded upright corners of a cavity: how far a solid reaches into them.

Level sections have corners of one radius at every height, so a corner's surface is a circle of
that radius drawn along a slanted centre line. `fit.geometry.containment` says what is exact.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fit.geometry.box import Level
from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import grown_polyhedron, reach, rims, vertices
from fit.model.words import FaceName

CORNER_ERROR = 1e-6
"""By how much a tilted round solid may seem to reach too far into a rounded corner, mm."""

_SAME = 1e-9

Points = npt.NDArray[np.float64]
Held = tuple[Shape, Pose] | Points
"""A convex solid: a posed shape, or the points it is the hull of (n, 3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """A rounded upright corner.

    Attributes:
        walls: places of its two walls among the cavity's flats: the one along X first.
        sx, sy: signs of the outward directions.
        ax, ay: centre line at z = 0, measured outwards, mm.
        tx, ty: how far the centre line moves outwards per mm of height.
        radius: mm, above 0.
        side, ledge: as those of the two walls it joins.
    """

    walls: tuple[int, int]
    sx: float
    sy: float
    ax: float
    ay: float
    tx: float
    ty: float
    radius: float
    side: int = 0
    ledge: bool = False

    def normal(self, c: float, s: float) -> Vec:
        """Outward normal, not of unit length, where the round faces direction (c, s)."""
        return (self.sx * c, self.sy * s, -(c * self.tx + s * self.ty))

    def beyond(self, held: Held, c: float, s: float) -> float:
        """How far the solid reaches past the centre line towards (c, s), level, mm."""
        return reach_of(held, self.normal(c, s)) - c * self.ax - s * self.ay

    def local(self, p: Vec) -> tuple[float, float]:
        """A point measured outwards from the centre line at its own height, mm."""
        return (
            self.sx * p[0] - self.ax - self.tx * p[2],
            self.sy * p[1] - self.ay - self.ty * p[2],
        )


def rounds(index: dict[FaceName, int], section: Callable[[float], Level]) -> list[Round]:
    """The rounded corners between four walls, none when they are sharp.

    Args:
        index: the place of each upright wall among the cavity's flats.
        section: the inner level section at any height.
    """
    base, one_up = section(0.0), section(1.0)
    r = base.radius
    if r <= 0:
        return []
    found = []
    for along, sx in ((FaceName.LEFT, -1.0), (FaceName.RIGHT, 1.0)):
        for across, sy in ((FaceName.FRONT, -1.0), (FaceName.BACK, 1.0)):
            x, x_up = (s.x0 if sx < 0 else s.x1 for s in (base, one_up))
            y, y_up = (s.y0 if sy < 0 else s.y1 for s in (base, one_up))
            found.append(
                Round(
                    walls=(index[along], index[across]),
                    sx=sx,
                    sy=sy,
                    ax=sx * x - r,
                    ay=sy * y - r,
                    tx=sx * (x_up - x),
                    ty=sy * (y_up - y),
                    radius=r,
                )
            )
    return found


def to_round(corner: Round, held: Held) -> float | None:
    """Margin to a rounded corner, mm, or None when the flat walls alone limit the solid."""
    far = _farthest(corner, held)
    if far is None:
        return None
    mm = corner.radius - far
    return mm / math.sqrt(1 + corner.tx**2 + corner.ty**2) if mm > 0 else mm


def _farthest(corner: Round, held: Held) -> float | None:
    """How far from the corner's centre line the solid reaches, level, within the corner, mm."""
    ends = _ends(held)
    if ends is None:
        return _farthest_tilted(corner, held)
    found = None
    for point, radius in ends:
        x, y = corner.local(point)
        # With its middle outside the quarter a disc meets one of the flat walls first.
        if x > 0 and y > 0:
            found = max(found or 0.0, math.hypot(x, y) + radius)
    return found


def _ends(held: Held) -> list[tuple[Vec, float]] | None:
    """Level discs (middle, radius) the solid is the hull of; None for a tilted round one."""
    if not isinstance(held, tuple):
        return [((x, y, z), 0.0) for x, y, z in held.tolist()]
    shape, pose = held
    if isinstance(shape, Block | Prism):
        return [((x, y, z), 0.0) for x, y, z in vertices(shape, pose).tolist()]
    return discs(shape, pose) if upright(pose) else None


def slanting(corner: Round, held: Held, rim: float) -> Callable[[float], float]:
    """Room proved by the directions between a corner's ledge and its upright surface, mm.

    Each end of the solid must be clear of the round, of the level of the rim, or of a mixture
    of both; ``degrees`` says how much of each. A tilted round solid grows to a 64-sided one.

    Returns:
        The room by degrees, at most the true one; 0 where this mixture proves none.
    """
    ends = _ends(held)
    if ends is None and isinstance(held, tuple):
        ends = _ends(grown_polyhedron(held[0], held[1]))
    off_round, off_level = [], []
    for point, radius in ends or ():
        x, y = corner.local(point)
        far = math.hypot(x, y) if x > 0 and y > 0 else max(x, y)
        off_round.append(corner.radius - far - radius)
        off_level.append(corner.side * (point[2] - rim))
    clear_round, clear_level = np.array(off_round), np.array(off_level)
    lean = math.hypot(corner.tx, corner.ty)

    def room(degrees: float) -> float:
        a, b = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        least = float((a * clear_round + b * clear_level).min())
        return max(least, 0.0) / math.sqrt(a * a * (1 + lean * lean) + 2 * a * b * lean + b * b)

    return room


def _farthest_tilted(corner: Round, held: Held) -> float | None:
    """As `_farthest`, by the solid's tangents: halved where they promise most, until exact.

    Between two directions the solid lies within the wedge of its two tangents, so the wedge's
    tip bounds it from above; the answer is that bound, less than `CORNER_ERROR` too far.
    """

    def tangent(angle: float) -> tuple[float, float]:
        return angle, corner.beyond(held, math.cos(angle), math.sin(angle))

    quarter = [tangent(math.pi / 2 * i / 8) for i in range(9)]
    if quarter[0][1] <= 0 or quarter[-1][1] <= 0:
        return None
    best = max(quarter, key=lambda t: t[1])
    heap = [(-_tip(a, b), a, b) for a, b in pairwise(quarter)]
    heapq.heapify(heap)
    while -heap[0][0] > best[1] + CORNER_ERROR / 2:
        _, a, b = heapq.heappop(heap)
        middle = tangent((a[0] + b[0]) / 2)
        best = max(best, middle, key=lambda t: t[1])
        heapq.heappush(heap, (-_tip(a, middle), a, middle))
        heapq.heappush(heap, (-_tip(middle, b), middle, b))
    if best in (quarter[0], quarter[-1]):
        return None
    return -heap[0][0]


def _tip(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Bound on how far anything between two tangents (angle, distance) reaches, mm."""
    (p, f), (q, g) = a, b
    step = q - p
    # The tip in the frame of the first tangent: f along it, `across` to its left.
    across = (g - f * math.cos(step)) / math.sin(step)
    if 0 <= math.atan2(across, f) <= step:
        return math.hypot(f, across)
    return max(f, g)


def reach_of(held: Held, direction: Vec) -> float:
    """The greatest ``p · direction`` over a solid; the direction need not be of unit length."""
    if isinstance(held, tuple):
        return reach(held[0], held[1], direction)
    return float((held @ np.array(direction)).max())


def upright(pose: Pose) -> bool:
    """Whether a pose's z axis is the box's, up or down."""
    return abs(pose.z[0]) < _SAME and abs(pose.z[1]) < _SAME


def discs(shape: Cylinder | Cone, pose: Pose) -> list[tuple[Vec, float]]:
    """The end discs of a posed round shape, low one first: middle and radius, mm."""
    return [(pose.point((0.0, 0.0, z)), r) for z, r in rims(shape)]
