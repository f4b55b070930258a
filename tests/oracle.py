"""What the CAD kernel says of a scene: which solids share room, in the closed box and on the way.

Bodies are taken from the scene as they stand, and made solid here. Everything else is worked out
afresh: what lies outside the cavity (from the box's own sizes), what a thing sweeps on a straight
upright way, common volumes, distances. Nothing of the package's own measuring is used.

Moving things are lifted straight up (or lowered): upright solids, cones standing on their axis
and round bars lying level sweep solids that are made exactly. Others are refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
)
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder, Shape
from fit.model.box import Tray
from fit.model.words import FaceName, Half, LidKind

THIN = 1e-5
"""Common room thinner than this, mm, is contact: the kernel's own tolerance is 1e-7."""

FAR = 400.0
"""Larger than any box tested, mm: how far material beyond a wall and ways out of it are drawn."""

Bounds = tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A solid of the kernel, a frame that suits it, and its bounds in the box frame."""

    shape: Any
    frame: Pose
    bounds: Bounds


def made(shape: Any, frame: Pose) -> Solid:
    """A kernel shape with its bounds."""
    return Solid(shape, frame, _bounds(shape))


def _bounds(shape: Any) -> Bounds:
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    x0, y0, z0, x1, y1, z1 = box.Get()
    return (x0, y0, z0), (x1, y1, z1)


@lru_cache(maxsize=4096)
def _into(frame: Pose) -> TopLoc_Location:
    move = gp_Trsf()
    axes = gp_Ax3(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x))
    move.SetTransformation(axes)
    return TopLoc_Location(move)


def bounds_in(solid: Solid, frame: Pose) -> Bounds:
    """Bounds of a solid in another frame."""
    return _bounds(solid.shape.Moved(_into(frame)))


def _axes_of(pose: Pose, along: float) -> gp_Ax2:
    return gp_Ax2(gp_Pnt(*pose.point((0.0, 0.0, along))), gp_Dir(*pose.z), gp_Dir(*pose.x))


def solid_of(shape: Shape, pose: Pose) -> Solid:
    """A posed shape as a solid."""
    if isinstance(shape, Block):
        half = gp_Pnt(*pose.point((-shape.dx / 2, -shape.dy / 2, -shape.dz / 2)))
        axes = gp_Ax2(half, gp_Dir(*pose.z), gp_Dir(*pose.x))
        return made(BRepPrimAPI_MakeBox(axes, shape.dx, shape.dy, shape.dz).Solid(), pose)
    axes = _axes_of(pose, -shape.height / 2)
    if isinstance(shape, Cylinder):
        return made(BRepPrimAPI_MakeCylinder(axes, shape.radius, shape.height).Solid(), pose)
    if isinstance(shape, Cone):
        radii = shape.radius_low, shape.radius_high
        return made(BRepPrimAPI_MakeCone(axes, *radii, shape.height).Solid(), pose)
    ring = [pose.point((x, y, -shape.height / 2)) for x, y in shape.outline]
    return made(_drawn(_polygon(ring), _times(pose.z, shape.height)), pose)


def _times(v: Vec, k: float) -> Vec:
    return (v[0] * k, v[1] * k, v[2] * k)


def _polygon(points: list[Vec]) -> Any:
    maker = BRepBuilderAPI_MakePolygon()
    for p in points:
        maker.Add(gp_Pnt(*p))
    maker.Close()
    return BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()


def _drawn(face: Any, along: Vec) -> Any:
    return BRepPrimAPI_MakePrism(face, gp_Vec(*along)).Shape()


def _upright_box(x0: float, x1: float, y0: float, y1: float, z0: float, z1: float) -> Any:
    return BRepPrimAPI_MakeBox(gp_Pnt(x0, y0, z0), gp_Pnt(x1, y1, z1)).Solid()


# --- two solids -----------------------------------------------------------------------------


def apart_in_a_frame(a: Solid, b: Solid) -> bool:
    """Whether the bounds of two solids are apart (or touch) in the box frame or one of their own.

    True proves that they share no room.
    """
    if _parted(a.bounds, b.bounds):
        return True
    return any(_parted(bounds_in(a, f), bounds_in(b, f)) for f in (a.frame, b.frame))


def _parted(a: Bounds, b: Bounds) -> bool:
    return any(a[1][i] - b[0][i] < THIN or b[1][i] - a[0][i] < THIN for i in range(3))


def shared(a: Solid, b: Solid) -> float:
    """How thick the room two solids share is, mm: twice its volume over its surface; 0 if none."""
    if apart_in_a_frame(a, b):
        return 0.0
    common = BRepAlgoAPI_Common(a.shape, b.shape)
    if not common.IsDone():
        raise RuntimeError("the kernel found no common room")
    volume, area = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(common.Shape(), volume)
    BRepGProp.SurfaceProperties_s(common.Shape(), area)
    if area.Mass() <= 0.0:
        return 0.0
    thick = 2.0 * abs(volume.Mass()) / area.Mass()
    return thick if thick > THIN else 0.0


def least_gap(a: Solid, b: Solid) -> float:
    """The distance of the bounds of two solids, mm: never above their own."""
    gaps = [max(b.bounds[0][i] - a.bounds[1][i], a.bounds[0][i] - b.bounds[1][i], 0.0)
            for i in range(3)]  # fmt: skip
    return math.hypot(*gaps)


def distance(a: Solid, b: Solid) -> float:
    """The kernel's shortest distance, mm; 0 where they share room."""
    found = BRepExtrema_DistShapeShape(a.shape, b.shape)
    if not found.IsDone():
        raise RuntimeError("the kernel found no distance")
    return float(found.Value())


# --- ways -----------------------------------------------------------------------------------


def swept(shape: Shape, pose: Pose, *, up: bool) -> Iterator[Solid]:
    """What a solid fills and passes through on its way straight up or down, far out."""
    standing = abs(abs(pose.z[2]) - 1.0) < 1e-12
    if isinstance(shape, Block) and not standing:
        for size, axes in (
            ((shape.dy, shape.dz, shape.dx), (pose.y, pose.z, pose.x)),
            ((shape.dz, shape.dx, shape.dy), (pose.z, pose.x, pose.y)),
        ):
            if abs(abs(axes[2][2]) - 1.0) < 1e-12:
                yield from swept(Block(*size), Pose(pose.origin, *axes), up=up)
                return
    tall = shape.dz if isinstance(shape, Block) else shape.height
    if standing and isinstance(shape, Cone):
        yield solid_of(shape, pose)
        wide = max(shape.radius_low, shape.radius_high)
        widest_up = (shape.radius_high > shape.radius_low) == (pose.z[2] > 0)
        leads = widest_up == up
        sign = 1.0 if up else -1.0
        start = pose.origin[2] + (sign if leads else -sign) * tall / 2
        yield _column(Cylinder(wide, 1.0), pose, *sorted((start, start + sign * FAR)))
    elif standing:
        z = pose.origin[2]
        ends = (z - tall / 2, z + FAR) if up else (z - FAR, z + tall / 2)
        yield _column(shape, pose, *ends)
    elif isinstance(shape, Cylinder) and abs(pose.z[2]) < 1e-12:
        yield solid_of(shape, pose)
        side = Pose(pose.origin, pose.z, _across(pose.z), (0.0, 0.0, 1.0))
        shift = (0.0, 0.0, (FAR if up else -FAR) / 2)
        yield solid_of(Block(shape.height, 2 * shape.radius, FAR), side.shifted(shift))
    else:
        raise ValueError("only upright solids and level round bars move")


def tilted(solid: Solid, plane: Pose, x: float, y: float, degrees: float) -> Solid:
    """A solid turned about a plane's z axis through its origin, then moved in that plane."""
    turn, shift = gp_Trsf(), gp_Trsf()
    axis = gp_Ax1(gp_Pnt(*plane.origin), gp_Dir(*plane.z))
    turn.SetRotation(axis, math.radians(degrees))
    shift.SetTranslation(gp_Vec(*(x * a + y * b for a, b in zip(plane.x, plane.y, strict=True))))
    move = TopLoc_Location(shift * turn)
    return made(solid.shape.Moved(move), solid.frame)


def _across(z: Vec) -> Vec:
    """Level and square to a level direction, so that (z, across, up) is right-handed."""
    return (-z[1], z[0], 0.0)


def _column(shape: Shape, pose: Pose, low: float, high: float) -> Solid:
    x, y, _ = pose.origin
    at = Pose((x, y, (low + high) / 2), pose.x, pose.y, pose.z)
    if isinstance(shape, Block):
        return solid_of(Block(shape.dx, shape.dy, high - low), at)
    if isinstance(shape, Cylinder):
        return solid_of(Cylinder(shape.radius, high - low), at)
    assert not isinstance(shape, Cone)
    return solid_of(type(shape)(shape.outline, high - low), at)


# --- the box --------------------------------------------------------------------------------


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
"""Side i runs from corner i - 1 to corner i, corners counter-clockwise from (x1, y1)."""


def _around(low: _Section, z0: float, high: _Section, z1: float, ends: tuple[float, float],
            half: Half, radius: float, clipped: bool) -> Iterator[Wall]:  # fmt: skip
    """The material beside a drafted space between two levels; flats reach between ``ends``."""
    below, above = low.corners(), high.corners()
    outward = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    slants = [(q[0] - p[0], q[1] - p[1], z1 - z0) for p, q in zip(below, above, strict=True)]
    for i, face in enumerate(_SIDES):
        out = outward[i]
        axis = 0 if out[0] else 1
        lean = (above[i][axis] - below[i][axis]) * out[axis] / (z1 - z0)
        reach = [below[i][axis] * out[axis] + lean * (z - z0) for z in ends]
        # profile in (out, z), drawn along the wall far past both corners
        along: Vec = (-out[1], out[0], 0.0)
        profile = [(reach[0], ends[0]), (reach[0] + FAR, ends[0]), (reach[1] + FAR, ends[1]),
                   (reach[1], ends[1])]  # fmt: skip
        points: list[Vec] = [
            (out[0] * r - along[0] * FAR, out[1] * r - along[1] * FAR, z) for r, z in profile
        ]
        size = math.hypot(1.0, lean)
        normal: Vec = (out[0] / size, out[1] / size, -lean / size)
        at: Vec = (out[0] * reach[0], out[1] * reach[0], ends[0])
        up: Vec = (out[0] * lean / size, out[1] * lean / size, 1.0 / size)
        plane = Pose(at, along, up, normal)
        yield Wall(
            faces=(face,),
            half=half,
            solid=made(_drawn(_polygon(points), _times(along, 2 * FAR)), plane),
            plane=plane,
            clipped=clipped,
        )
    if radius <= 0:
        return
    for i, (x, y) in enumerate(below):
        dx, dy = (1.0 if x == low.x1 else -1.0), (1.0 if y == low.y1 else -1.0)
        a, b = gp_Pnt(x, y - dy * radius, z0), gp_Pnt(x - dx * radius, y, z0)
        h = radius * math.sqrt(0.5)
        m = gp_Pnt(x - dx * (radius - h), y - dy * (radius - h), z0)
        maker = BRepBuilderAPI_MakeWire()
        corner = gp_Pnt(x, y, z0)
        maker.Add(BRepBuilderAPI_MakeEdge(corner, a).Edge())
        maker.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, m, b).Value()).Edge())
        maker.Add(BRepBuilderAPI_MakeEdge(b, corner).Edge())
        tile = BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()
        yield Wall(
            faces=(FaceName.RIGHT if dx > 0 else FaceName.LEFT,
                   FaceName.BACK if dy > 0 else FaceName.FRONT),
            half=half,
            solid=made(_drawn(tile, slants[i]), Pose()),
        )  # fmt: skip


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
        *_around(_body_section(tray, floor), floor, _body_section(tray, rim), rim,
                 (-10.0, rim), Half.BODY, inner, deep),
    ]  # fmt: skip
    if deep:
        found += _around(_lid_section(tray, rim), rim, _lid_section(tray, top), top,
                         (rim, float(tray.height) + 10.0), Half.LID, inner, True)  # fmt: skip
    return tuple(found)


@lru_cache(maxsize=8)
def mouth_of_lid(tray: Tray) -> tuple[Wall, ...]:
    """What the walls of a deep lid sweep on their way up, where they lean outwards."""
    if tray.lid.kind is not LidKind.DEEP or tray.lid.draft >= 0:
        return ()
    rim = tray.height - tray.lid.height
    at = _lid_section(tray, rim)
    return tuple(
        _around(at, rim, at, rim + FAR, (rim, rim + FAR), Half.LID, float(tray.corner_inner), True)
    )


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
    still, swept_up = (made(_drawn(ring.Face(), (0.0, 0.0, h)), Pose()) for h in tall)
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
        dx, dy = ((1, 1), (-1, 1), (-1, -1), (1, -1))[i]
        one, two = gp_Pnt(x, y - dy * r, z), gp_Pnt(x - dx * r, y, z)
        middle = gp_Pnt(x - dx * (r - h), y - dy * (r - h), z)
        ends.append((one, middle, two) if i % 2 == 0 else (two, middle, one))
    for i, (a, m, b) in enumerate(ends):
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, m, b).Value()).Edge())
        following = ends[(i + 1) % 4][0]
        if b.Distance(following) > 1e-9:
            wire.Add(BRepBuilderAPI_MakeEdge(b, following).Edge())
    return wire.Wire()
