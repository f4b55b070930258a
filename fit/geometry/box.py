"""A tray's true faces, its level sections and its inner walls, all in the box frame.

Draft arithmetic: a wall leaning by δ stands tan δ further out for each mm of height, so the
inside is ``W(z) = W(rim) − (rim − z)·(tan δ₁ + tan δ₂)`` wide (plain trigonometry), and a face is
``height / cos δ`` long along its slope.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from fit.geometry.frames import Pose, Vec, dot
from fit.geometry.shapes import Point2
from fit.model.box import Tray
from fit.model.words import UPRIGHT, FaceName, Half, LidKind

_CORNER_STEPS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A level section: a rectangle with corners rounded by `radius`, mm, in the box frame."""

    x0: float
    x1: float
    y0: float
    y1: float
    radius: float

    @property
    def width(self) -> float:
        """Along X, mm."""
        return self.x1 - self.x0

    @property
    def depth(self) -> float:
        """Along Y, mm."""
        return self.y1 - self.y0

    def outline(self, steps: int = _CORNER_STEPS) -> tuple[Point2, ...]:
        """The section as a polygon, counter-clockwise.

        Corners are inscribed chords: the polygon is smaller than the section, nowhere by more
        than ``radius·(1 - cos(45°/steps))``. Safe for room, not for material.
        """
        r = min(self.radius, self.width / 2, self.depth / 2)
        if r <= 0:
            return (
                (self.x0, self.y0),
                (self.x1, self.y0),
                (self.x1, self.y1),
                (self.x0, self.y1),
            )
        centres = (
            (self.x1 - r, self.y1 - r, 0.0),
            (self.x0 + r, self.y1 - r, 90.0),
            (self.x0 + r, self.y0 + r, 180.0),
            (self.x1 - r, self.y0 + r, 270.0),
        )
        points = []
        for cx, cy, start in centres:
            for i in range(steps + 1):
                a = math.radians(start + 90.0 * i / steps)
                points.append((cx + r * math.cos(a), cy + r * math.sin(a)))
        return tuple(points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """The outside of a wall, and the wall behind it.

    Attributes:
        name: which face.
        frame: x = across, y = up, z = out of the box; origin on the face (DESIGN of frames:
            upright faces: middle of the edge on the floor's outer plane; floor, lid: middle).
        outline: outer polygon, counter-clockwise in (across, up), mm, sharp corners.
        inner: the wall's inner polygon seen along the frame's z, same coordinates, mm.
        flat: the part of the outline that is flat outside and inside: on upright faces without
            the rounds of the upright edges; openings belong here.
        thickness: of the wall, mm.
        radius: radius of the outline's own corners (floor and lid), mm.
        flat_radius: radius of the corners of `flat` (floor and lid: the cavity's), mm.
    """

    name: FaceName
    frame: Pose
    outline: tuple[Point2, ...]
    inner: tuple[Point2, ...]
    flat: tuple[Point2, ...]
    thickness: float
    radius: float
    flat_radius: float = 0.0

    @property
    def height(self) -> float:
        """Length from the lowest to the highest edge, along the face, mm."""
        ups = [p[1] for p in self.outline]
        return max(ups) - min(ups)

    def reach(self, up: float) -> tuple[float, float]:
        """Where the face's left and right edges are at height ``up``: across, mm."""
        (al, ul), (ar, ur), (br, vr), (bl, vl) = self.outline
        t_left = (up - ul) / (vl - ul)
        t_right = (up - ur) / (vr - ur)
        return al + (bl - al) * t_left, ar + (br - ar) * t_right


def lean(tray: Tray, face: FaceName) -> float:
    """How far an upright wall moves outwards per mm of height: tan of its draft."""
    return math.tan(math.radians(tray.wall(face).draft))


def level_thickness(tray: Tray, face: FaceName) -> float:
    """Thickness of an upright wall measured level, mm: t / cos δ."""
    wall = tray.wall(face)
    return wall.thickness / math.cos(math.radians(wall.draft))


def outside(tray: Tray, z: float) -> Level:
    """The body's outer level section at height ``z``, mm."""
    left, right = lean(tray, FaceName.LEFT), lean(tray, FaceName.RIGHT)
    front, back = lean(tray, FaceName.FRONT), lean(tray, FaceName.BACK)
    half_x = (tray.length - tray.rim * (left + right)) / 2
    half_y = (tray.width - tray.rim * (front + back)) / 2
    return Level(
        x0=-half_x - z * left,
        x1=half_x + z * right,
        y0=-half_y - z * front,
        y1=half_y + z * back,
        radius=tray.corner_outer,
    )


def inside(tray: Tray, z: float) -> Level:
    """The body's inner level section at height ``z``, mm."""
    out = outside(tray, z)
    return Level(
        x0=out.x0 + level_thickness(tray, FaceName.LEFT),
        x1=out.x1 - level_thickness(tray, FaceName.RIGHT),
        y0=out.y0 + level_thickness(tray, FaceName.FRONT),
        y1=out.y1 - level_thickness(tray, FaceName.BACK),
        radius=tray.corner_inner,
    )


def lid_outside(tray: Tray, z: float) -> Level:
    """The lid's outer level section at height ``z`` (rim to top), mm."""
    rim = outside(tray, tray.rim)
    d = (z - tray.rim) * math.tan(math.radians(tray.lid.draft))
    return Level(
        x0=rim.x0 + d, x1=rim.x1 - d, y0=rim.y0 + d, y1=rim.y1 - d, radius=tray.corner_outer
    )


def lid_inside(tray: Tray, z: float) -> Level:
    """A deep lid's inner level section at height ``z`` (rim to ceiling), mm."""
    out = lid_outside(tray, z)
    t = tray.lid.wall / math.cos(math.radians(tray.lid.draft))
    return Level(
        x0=out.x0 + t, x1=out.x1 - t, y0=out.y0 + t, y1=out.y1 - t, radius=tray.corner_inner
    )


def floor_top(tray: Tray) -> float:
    """Height of the floor's inner face, mm."""
    return float(tray.floor)


def ceiling(tray: Tray) -> float:
    """Height of the lid's inner face, mm: the rim under a flat lid."""
    return tray.height - tray.lid.thickness


def deck(tray: Tray, half: Half) -> float:
    """Height of the face boards are carried on: floor's or lid's inner face, mm."""
    return floor_top(tray) if half is Half.BODY else ceiling(tray)


_AXES: dict[FaceName, tuple[Vec, Vec]] = {
    # across, level outward
    FaceName.FRONT: ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
    FaceName.BACK: ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
    FaceName.RIGHT: ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0)),
    FaceName.LEFT: ((0.0, -1.0, 0.0), (-1.0, 0.0, 0.0)),
}


def _ends(section: Level, across: Vec) -> tuple[float, float]:
    """Where a level section begins and ends along ``across``, mm."""
    corners = ((section.x0, section.y0), (section.x1, section.y1))
    a, b = (dot((x, y, 0.0), across) for x, y in corners)
    return min(a, b), max(a, b)


def _upright_frame(tray: Tray, name: FaceName) -> Pose:
    delta = math.radians(tray.wall(name).draft)
    c, s = math.cos(delta), math.sin(delta)
    across, level = _AXES[name]
    base = outside(tray, 0.0)
    reach = base.depth / 2 if level[0] == 0 else base.width / 2
    return Pose(
        (level[0] * reach, level[1] * reach, 0.0),
        across,
        (level[0] * s, level[1] * s, c),
        (level[0] * c, level[1] * c, -s),
    )


def _flat_strip(
    outer: tuple[Point2, ...], inner: tuple[Point2, ...], ro: float, ri: float
) -> tuple[Point2, ...]:
    """What is left of an upright face without the rounds of either surface, mm.

    The upright edges of both polygons lean alike (a neighbour's outer and inner planes are
    parallel), so one of the two limits binds all the way up and the strip is exact.
    """

    def edges(polygon: tuple[Point2, ...], radius: float, up: float) -> tuple[float, float]:
        (al, low), (ar, _), (br, high), (bl, _) = polygon
        t = (up - low) / (high - low)
        return al + (bl - al) * t + radius, ar + (br - ar) * t - radius

    low, high = max(outer[0][1], inner[0][1]), min(outer[2][1], inner[2][1])
    left, right = [], []
    for up in (low, high):
        a, b = edges(outer, ro, up)
        c, d = edges(inner, ri, up)
        left.append(max(a, c))
        right.append(min(b, d))
    return ((left[0], low), (right[0], low), (right[1], high), (left[1], high))


def _upright(tray: Tray, name: FaceName) -> Face:
    delta = math.radians(tray.wall(name).draft)
    c, s = math.cos(delta), math.sin(delta)
    frame = _upright_frame(tray, name)
    t = float(tray.wall(name).thickness)
    low, rim = floor_top(tray), tray.rim
    (a0, b0), (a1, b1) = _ends(outside(tray, 0.0), frame.x), _ends(outside(tray, rim), frame.x)
    (c0, d0), (c1, d1) = _ends(inside(tray, low), frame.x), _ends(inside(tray, rim), frame.x)
    # A point of the inner plane at `up` lies t·sin δ higher than the face at the same `up`.
    up_low, up_high = (low - t * s) / c, (rim - t * s) / c
    outer = ((a0, 0.0), (b0, 0.0), (b1, rim / c), (a1, rim / c))
    inner = ((c0, up_low), (d0, up_low), (d1, up_high), (c1, up_high))
    return Face(
        name=name,
        frame=frame,
        outline=outer,
        inner=inner,
        flat=_flat_strip(outer, inner, float(tray.corner_outer), float(tray.corner_inner)),
        thickness=t,
        radius=0.0,
    )


def _level(tray: Tray, name: FaceName) -> Face:
    if name is FaceName.LID:
        out = lid_outside(tray, tray.height)
        deep = tray.lid.kind is LidKind.DEEP
        inn = lid_inside(tray, ceiling(tray)) if deep else inside(tray, tray.rim)
        z, sign = float(tray.height), 1.0
    else:
        out, inn = outside(tray, 0.0), inside(tray, floor_top(tray))
        z, sign = 0.0, -1.0
    cx, cy = (out.x0 + out.x1) / 2, (out.y0 + out.y1) / 2
    frame = Pose((cx, cy, z), (sign, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, sign))

    def corners(section: Level) -> tuple[Point2, ...]:
        xs = sorted((sign * (section.x0 - cx), sign * (section.x1 - cx)))
        y0, y1 = section.y0 - cy, section.y1 - cy
        return ((xs[0], y0), (xs[1], y0), (xs[1], y1), (xs[0], y1))

    # Plates may be cut right up to the cavity's outline: behind it stands the upright wall.
    return Face(
        name=name,
        frame=frame,
        outline=corners(out),
        inner=corners(inn),
        flat=corners(inn),
        thickness=float(tray.thickness(name)),
        radius=float(tray.corner_outer),
        flat_radius=float(tray.corner_inner),
    )


def faces(tray: Tray) -> dict[FaceName, Face]:
    """All six faces of a tray. The lid's face is its top; a deep lid's sides are not faces."""
    return dict(_faces(tray))


@lru_cache(maxsize=64)
def _faces(tray: Tray) -> Mapping[FaceName, Face]:
    """The same, worked out once for equal boxes: every rib and every part asks."""
    found = {name: _upright(tray, name) for name in UPRIGHT}
    found[FaceName.FLOOR] = _level(tray, FaceName.FLOOR)
    found[FaceName.LID] = _level(tray, FaceName.LID)
    return MappingProxyType(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """An inner surface: points with ``dot(normal, p) >= offset`` are on the free side."""

    face: FaceName
    half: Half
    normal: Vec
    offset: float


def inner_planes(tray: Tray) -> tuple[Plane, ...]:
    """The inner surfaces of floor, lid and body walls (and a deep lid's walls), mm."""
    planes = []
    for name, face in faces(tray).items():
        half = Half.LID if name is FaceName.LID else Half.BODY
        n = face.frame.z
        inward: Vec = (-n[0], -n[1], -n[2])
        on_wall = face.frame.point((0.0, 0.0, -face.thickness))
        planes.append(Plane(face=name, half=half, normal=inward, offset=dot(inward, on_wall)))
    if tray.lid.kind is LidKind.DEEP:
        planes.extend(_deep_lid_planes(tray))
    return tuple(planes)


def _deep_lid_planes(tray: Tray) -> tuple[Plane, ...]:
    delta = math.radians(tray.lid.draft)
    c, s = math.cos(delta), math.sin(delta)
    section = lid_inside(tray, tray.rim)
    level: dict[FaceName, tuple[Vec, Vec]] = {
        FaceName.FRONT: ((0, 1, 0), (0, section.y0, tray.rim)),
        FaceName.BACK: ((0, -1, 0), (0, section.y1, tray.rim)),
        FaceName.LEFT: ((1, 0, 0), (section.x0, 0, tray.rim)),
        FaceName.RIGHT: ((-1, 0, 0), (section.x1, 0, tray.rim)),
    }
    planes = []
    for name, (inward, point) in level.items():
        # These walls lean inwards going up, so their inner normals point downwards a little.
        n: Vec = (inward[0] * c, inward[1] * c, -s)
        planes.append(Plane(face=name, half=Half.LID, normal=n, offset=dot(n, point)))
    return tuple(planes)
