"""The material round the inside of a box, and its lip, as solids of the CAD kernel.

Worked out from the box's own sizes: level sections, leans, thicknesses, radii.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Pnt
from OCP.TopoDS import TopoDS

from fit.geometry.frames import Pose, Vec
from fit.model.box import Tray
from fit.model.words import FaceName, Half, LidKind
from tests.oracle import FAR, Solid, drawn, made, polygon, times


def _upright_box(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float) -> Any:
    return BRepPrimAPI_MakeBox(gp_Pnt(x0, y0, z0), gp_Pnt(x1, y1, z1)).Solid()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wall:
    """Material beyond one inner surface, as a solid.

    Attributes:
        faces: the wall, or the two walls of a rounded corner.
        half: of which half.
        solid: the material, as far out as matters.
        plane: for flat ones, a frame on the surface with z into the material, else None.
        clipped: True when it ends at the rim, so that its plane alone does not decide.
    """

    faces: tuple[FaceName, ...]
    half: Half
    solid: Solid
    plane: Pose | None = None
    clipped: bool = False


@dataclass(frozen=True, slots=True)
class _Section:
    """A level section of a cavity: x0, x1, y0, y1, mm."""

    x0: float
    x1: float
    y0: float
    y1: float

    def corners(self) -> tuple[tuple[float, float], ...]:
        return ((self.x1, self.y1), (self.x0, self.y1), (self.x0, self.y0), (self.x1, self.y0))


def _tan(degrees: float) -> float:
    return math.tan(math.radians(degrees))


def _body_section(tray: Tray, z: float) -> _Section:
    walls = (tray.left, tray.right, tray.front, tray.back)
    lean = [_tan(w.draft) for w in walls]
    level = [w.thickness / math.cos(math.radians(w.draft)) for w in walls]
    rim = tray.height - tray.lid.height
    x = (tray.length - rim * (lean[0] + lean[1])) / 2
    y = (tray.width - rim * (lean[2] + lean[3])) / 2
    return _Section(
        -x - z * lean[0] + level[0],
        x + z * lean[1] - level[1],
        -y - z * lean[2] + level[2],
        y + z * lean[3] - level[3],
    )


def _lid_section(tray: Tray, z: float) -> _Section:
    walls = (tray.left, tray.right, tray.front, tray.back)
    level = [w.thickness / math.cos(math.radians(w.draft)) for w in walls]
    rim = tray.height - tray.lid.height
    body = _body_section(tray, rim)
    own = tray.lid.wall / math.cos(math.radians(tray.lid.draft))
    by = own + (z - rim) * _tan(tray.lid.draft)
    return _Section(
        body.x0 - level[0] + by,
        body.x1 + level[1] - by,
        body.y0 - level[2] + by,
        body.y1 + level[3] - by,
    )


_SIDES = (FaceName.RIGHT, FaceName.BACK, FaceName.LEFT, FaceName.FRONT)
"""Side i has corner i of a section at one end; corners counter-clockwise from (x1, y1)."""

_OUTWARD = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))

_CORNERS = ((1, 1), (-1, 1), (-1, -1), (1, -1))
"""The signs of x and y at each corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Space:
    """The room between the upright walls of a half: two level sections, their heights, mm.

    Its walls reach from ``ends[0]`` to ``ends[1]``; `clipped`: they end at the rim.
    """

    low: _Section
    z0: float
    high: _Section
    z1: float
    ends: tuple[float, float]
    half: Half
    radius: float
    clipped: bool

    def walls(self) -> Iterator[Wall]:
        """The material beside it: four flat walls, and what fills up the rounded corners."""
        yield from map(self._flat, range(4))
        if self.radius > 0:
            yield from map(self._corner, range(4))

    def _flat(self, i: int) -> Wall:
        out = _OUTWARD[i]
        axis = 0 if out[0] else 1
        below, above = (s.corners()[i][axis] * out[axis] for s in (self.low, self.high))
        lean = (above - below) / (self.z1 - self.z0)
        reach = [below + lean * (z - self.z0) for z in self.ends]
        # The profile in (out, z), drawn along the wall far past both corners.
        profile = (
            (reach[0], self.ends[0]),
            (reach[0] + FAR, self.ends[0]),
            (reach[1] + FAR, self.ends[1]),
            (reach[1], self.ends[1]),
        )
        along: Vec = (-out[1], out[0], 0.0)
        points: list[Vec] = [
            (out[0] * r - along[0] * FAR, out[1] * r - along[1] * FAR, z) for r, z in profile
        ]
        size = math.hypot(1.0, lean)
        plane = Pose(
            (out[0] * reach[0], out[1] * reach[0], self.ends[0]),
            along,
            (out[0] * lean / size, out[1] * lean / size, 1.0 / size),
            (out[0] / size, out[1] / size, -lean / size),
        )
        return Wall(
            faces=(_SIDES[i],),
            half=self.half,
            solid=made(drawn(polygon(points), times(along, 2 * FAR)), plane),
            plane=plane,
            clipped=self.clipped,
        )

    def _corner(self, i: int) -> Wall:
        """A level tile between a sharp corner and its round, drawn along the slanted edge."""
        (x, y), (above_x, above_y) = self.low.corners()[i], self.high.corners()[i]
        dx, dy = _CORNERS[i]
        r, h = self.radius, self.radius * (1.0 - math.sqrt(0.5))
        corner = gp_Pnt(x, y, self.z0)
        one, two = gp_Pnt(x, y - dy * r, self.z0), gp_Pnt(x - dx * r, y, self.z0)
        middle = gp_Pnt(x - dx * h, y - dy * h, self.z0)
        maker = BRepBuilderAPI_MakeWire()
        maker.Add(BRepBuilderAPI_MakeEdge(corner, one).Edge())
        maker.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(one, middle, two).Value()).Edge())
        maker.Add(BRepBuilderAPI_MakeEdge(two, corner).Edge())
        tile = BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()
        return Wall(
            faces=(
                FaceName.RIGHT if dx > 0 else FaceName.LEFT,
                FaceName.BACK if dy > 0 else FaceName.FRONT,
            ),
            half=self.half,
            solid=made(drawn(tile, (above_x - x, above_y - y, self.z1 - self.z0)), Pose()),
        )


def _level_wall(face: FaceName, half: Half, z: float, up: float) -> Wall:
    low, high = sorted((z, z + up * FAR))
    plane = Pose((0, 0, z), (1, 0, 0), (0, up, 0), (0, 0, up))
    box = _upright_box(-FAR, FAR, -FAR, FAR, low, high)
    return Wall(faces=(face,), half=half, solid=made(box, plane), plane=plane)


@lru_cache(maxsize=8)
def walls(tray: Tray) -> tuple[Wall, ...]:
    """Everything round the cavity of a closed box, surface by surface."""
    rim, floor = tray.height - tray.lid.height, float(tray.floor)
    deep = tray.lid.kind is LidKind.DEEP
    top = tray.height - tray.lid.thickness
    inner = float(tray.corner_inner)
    found = [
        _level_wall(FaceName.FLOOR, Half.BODY, floor, -1.0),
        _level_wall(FaceName.LID, Half.LID, top, 1.0),
    ]
    body = _Space(
        low=_body_section(tray, floor),
        z0=floor,
        high=_body_section(tray, rim),
        z1=rim,
        ends=(-10.0, rim),
        half=Half.BODY,
        radius=inner,
        clipped=deep,
    )
    found += body.walls()
    if deep:
        lid = _Space(
            low=_lid_section(tray, rim),
            z0=rim,
            high=_lid_section(tray, top),
            z1=top,
            ends=(rim, float(tray.height) + 10.0),
            half=Half.LID,
            radius=inner,
            clipped=True,
        )
        found += lid.walls()
    return tuple(found)


@lru_cache(maxsize=8)
def mouth_of_lid(tray: Tray) -> tuple[Wall, ...]:
    """What the walls of a deep lid sweep on their way up, where they lean outwards."""
    if tray.lid.kind is not LidKind.DEEP or tray.lid.draft >= 0:
        return ()
    rim = tray.height - tray.lid.height
    at = _lid_section(tray, rim)
    mouth = _Space(
        low=at,
        z0=rim,
        high=at,
        z1=rim + FAR,
        ends=(rim, rim + FAR),
        half=Half.LID,
        radius=float(tray.corner_inner),
        clipped=True,
    )
    return tuple(mouth.walls())


@lru_cache(maxsize=8)
def lip(tray: Tray) -> tuple[Solid, Solid] | None:
    """The true lip, a ring with round corners, and what it sweeps on its way up; or None."""
    own = tray.lid.lip
    if own is None:
        return None
    rim = tray.height - tray.lid.height
    outer = _inset(_body_section(tray, rim), own.gap)
    radius, z = max(tray.corner_inner - own.gap, 0.0), rim - own.height
    ring = BRepBuilderAPI_MakeFace(_rounded(outer, radius, z), True)
    hole = _rounded(_inset(outer, own.thickness), max(radius - own.thickness, 0.0), z)
    ring.Add(TopoDS.Wire_s(hole.Reversed()))
    tall = (float(own.height), FAR)
    still, swept_up = (made(drawn(ring.Face(), (0.0, 0.0, h)), Pose()) for h in tall)
    return still, swept_up


def _inset(s: _Section, by: float) -> _Section:
    return _Section(s.x0 + by, s.x1 - by, s.y0 + by, s.y1 - by)


def _rounded(s: _Section, r: float, z: float) -> Any:
    """A level rectangle with round corners as a wire, counter-clockwise."""
    if r <= 0:
        maker = BRepBuilderAPI_MakePolygon()
        for x, y in s.corners():
            maker.Add(gp_Pnt(x, y, z))
        maker.Close()
        return maker.Wire()
    wire = BRepBuilderAPI_MakeWire()
    h = r * math.sqrt(0.5)
    ends: list[tuple[gp_Pnt, gp_Pnt, gp_Pnt]] = []
    for i, (x, y) in enumerate(s.corners()):
        dx, dy = _CORNERS[i]
        one, two = gp_Pnt(x, y - dy * r, z), gp_Pnt(x - dx * r, y, z)
        middle = gp_Pnt(x - dx * (r - h), y - dy * (r - h), z)
        ends.append((one, middle, two) if i % 2 == 0 else (two, middle, one))
    for i, (a, m, b) in enumerate(ends):
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, m, b).Value()).Edge())
        following = ends[(i + 1) % 4][0]
        if b.Distance(following) > 1e-9:
            wire.Add(BRepBuilderAPI_MakeEdge(b, following).Edge())
    return wire.Wire()
