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
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
)
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import (
    BRepPrimAPI_MakeBox,
    BRepPrimAPI_MakeCone,
    BRepPrimAPI_MakeCylinder,
    BRepPrimAPI_MakePrism,
)
from OCP.gp import gp_Ax1, gp_Ax2, gp_Ax3, gp_Dir, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopLoc import TopLoc_Location

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder, Shape

THIN = 1e-5
"""Common room thinner than this, mm, is contact: the kernel's own tolerance is 1e-7."""

FAR = 400.0
"""Larger than any box tested, mm: how far material beyond a wall and ways out of it are drawn."""

Bounds = tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A solid of the kernel, a frame that suits it, and its bounds in the box frame.

    `round`: it is round about the frame's z.
    """

    shape: Any
    frame: Pose
    bounds: Bounds
    round: bool = False


def made(shape: Any, frame: Pose, *, is_round: bool = False) -> Solid:
    """A kernel shape with its bounds."""
    return Solid(shape, frame, _bounds(shape), is_round)


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
        bar = BRepPrimAPI_MakeCylinder(axes, shape.radius, shape.height).Solid()
        return made(bar, pose, is_round=True)
    if isinstance(shape, Cone):
        radii = shape.radius_low, shape.radius_high
        return made(BRepPrimAPI_MakeCone(axes, *radii, shape.height).Solid(), pose, is_round=True)
    ring = [pose.point((x, y, -shape.height / 2)) for x, y in shape.outline]
    return made(drawn(polygon(ring), times(pose.z, shape.height)), pose)


def times(v: Vec, k: float) -> Vec:
    return (v[0] * k, v[1] * k, v[2] * k)


def polygon(points: list[Vec]) -> Any:
    maker = BRepBuilderAPI_MakePolygon()
    for p in points:
        maker.Add(gp_Pnt(*p))
    maker.Close()
    return BRepBuilderAPI_MakeFace(maker.Wire(), True).Face()


def drawn(face: Any, along: Vec) -> Any:
    return BRepPrimAPI_MakePrism(face, gp_Vec(*along)).Shape()


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
    """How thick the room two solids share is, mm: twice its volume over its surface; 0 if none.

    The kernel now and then finds no common room where there is some (a cone right through a
    cylinder, say), while its distance is 0. Such pairs are asked again: round ones turned about
    their own axes, others moved by a tenth of `THIN`, so that what only touches stays below it.
    """
    if apart_in_a_frame(a, b):
        return 0.0
    thick = _common(a.shape, b.shape)
    if thick <= THIN and distance(a, b) <= 0.0:
        again = ((_another(a, n), _another(b, 3 - n)) for n in (0, 1, 2, 3))
        thick = next((t for x, y in again if (t := _common(x, y)) > THIN), 0.0)
    return thick if thick > THIN else 0.0


_MOVES = ((0.0, 0.0, 0.0), (0.6, 0.5, 0.6), (-0.5, 0.6, -0.6), (0.6, -0.6, 0.5))


def _another(solid: Solid, number: int) -> Any:
    """The same solid in another guise: turned about its axis, or all but the same place."""
    if not number:
        return solid.shape
    move = gp_Trsf()
    if solid.round:
        axis = gp_Ax1(gp_Pnt(*solid.frame.origin), gp_Dir(*solid.frame.z))
        move.SetRotation(axis, 0.7 * number)
    else:
        move.SetTranslation(gp_Vec(*times(_MOVES[number], THIN / 10)))
    return solid.shape.Moved(TopLoc_Location(move))


def _common(a: Any, b: Any) -> float:
    common = BRepAlgoAPI_Common(a, b)
    if not common.IsDone():
        raise RuntimeError("the kernel found no common room")
    volume, area = GProp_GProps(), GProp_GProps()
    BRepGProp.VolumeProperties_s(common.Shape(), volume)
    BRepGProp.SurfaceProperties_s(common.Shape(), area)
    return 2.0 * abs(float(volume.Mass())) / area.Mass() if area.Mass() > 0.0 else 0.0


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
