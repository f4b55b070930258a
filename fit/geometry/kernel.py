"""The CAD kernel, kept behind a few plain functions.

The only home of OCP, which comes with cadquery and loads in half the time. Loading still takes
over a second, so every function imports what it needs when it is called. All lengths mm.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder

Solid = Any
"""A shape of the kernel (TopoDS_Shape): solid, compound, face, wire or edge."""

MESH_ERROR = 0.05
"""How far the triangles of a curved surface may lie from it, mm."""


def line(a: Vec, b: Vec) -> Solid:
    """A straight edge."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.gp import gp_Pnt

    return BRepBuilderAPI_MakeEdge(gp_Pnt(*a), gp_Pnt(*b)).Edge()


def arc(a: Vec, b: Vec, c: Vec) -> Solid:
    """A circular edge from a through b to c."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Pnt

    return BRepBuilderAPI_MakeEdge(
        GC_MakeArcOfCircle(gp_Pnt(*a), gp_Pnt(*b), gp_Pnt(*c)).Value()
    ).Edge()


def circle(frame: Pose, radius: float, begin: float, finish: float) -> Solid:
    """A circular edge about a frame's origin, in its x-y plane, between two angles in degrees."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir, gp_Pnt

    axes = gp_Ax2(gp_Pnt(*frame.origin), gp_Dir(*frame.z), gp_Dir(*frame.x))
    whole = gp_Circ(axes, radius)
    if finish - begin >= 360.0:
        return BRepBuilderAPI_MakeEdge(whole).Edge()
    return BRepBuilderAPI_MakeEdge(whole, math.radians(begin), math.radians(finish)).Edge()


def turned_round(profile: Solid, middle: Vec) -> Solid:
    """A face turned once about the upright axis through a point, as a solid."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    axis = gp_Ax1(gp_Pnt(*middle), gp_Dir(0, 0, 1))
    return outward(BRepPrimAPI_MakeRevol(profile, axis).Shape())


def wire(edges: Iterable[Solid]) -> Solid:
    """Edges that follow one another, joined."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeWire

    maker = BRepBuilderAPI_MakeWire()
    for edge in edges:
        maker.Add(edge)
    return maker.Wire()


def loop(points: Sequence[Vec]) -> Solid:
    """A closed wire of straight edges."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakePolygon
    from OCP.gp import gp_Pnt

    maker = BRepBuilderAPI_MakePolygon()
    for point in points:
        maker.Add(gp_Pnt(*point))
    maker.Close()
    return maker.Wire()


def flat(wires: Sequence[Solid]) -> Solid:
    """A plane face inside its first wire, without what the others enclose."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.TopoDS import TopoDS

    maker = BRepBuilderAPI_MakeFace(wires[0], True)
    for hole in wires[1:]:
        maker.Add(TopoDS.Wire_s(hole))
    return maker.Face()


def drawn_out(base: Solid, along: Sequence[float]) -> Solid:
    """An edge drawn out to a surface, or a face to a solid, along a vector."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec

    return BRepPrimAPI_MakePrism(base, gp_Vec(*along)).Shape()


def sewn(parts: Iterable[Solid]) -> Solid:
    """One solid out of the faces that close it."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
    from OCP.TopoDS import TopoDS

    sewing = BRepBuilderAPI_Sewing(1e-6)
    for face in parts:
        sewing.Add(face)
    sewing.Perform()
    return outward(BRepBuilderAPI_MakeSolid(TopoDS.Shell_s(sewing.SewedShape())).Solid())


def outward(solid: Solid) -> Solid:
    """The solid with its material inside, whichever way its faces were made."""
    from OCP.BRepLib import BRepLib
    from OCP.TopoDS import TopoDS

    found = TopoDS.Solid_s(solid)
    BRepLib.OrientClosedSolid_s(found)
    return found


def compound(parts: Iterable[Solid]) -> Solid:
    """Several shapes as one, not fused."""
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    found, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(found)
    for part in parts:
        builder.Add(found, part)
    return found


def cut_away(shape: Solid, tools: list[Solid]) -> Solid:
    """A shape without what all the tools cover, in one go."""
    if not tools:
        return shape
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.TopTools import TopTools_ListOfShape

    arguments, cutters = TopTools_ListOfShape(), TopTools_ListOfShape()
    arguments.Append(shape)
    for tool in tools:
        cutters.Append(tool)
    cut = BRepAlgoAPI_Cut()
    cut.SetArguments(arguments)
    cut.SetTools(cutters)
    cut.Build()
    return cut.Shape()


def placed(shape: Solid, pose: Pose) -> Solid:
    """A shape moved from its own frame to where a pose puts it."""
    from OCP.gp import gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    o, x, y, z = pose.origin, pose.x, pose.y, pose.z
    move = gp_Trsf()
    move.SetValues(*(v for row in zip(x, y, z, o, strict=True) for v in row))
    return shape.Moved(TopLoc_Location(move))


def block(shape: Block) -> Solid:
    """A rectangular block centred on the origin."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    corner = gp_Pnt(-shape.dx / 2, -shape.dy / 2, -shape.dz / 2)
    return BRepPrimAPI_MakeBox(corner, shape.dx, shape.dy, shape.dz).Solid()


def round_bar(shape: Cylinder | Cone) -> Solid:
    """A cylinder or truncated cone centred on the origin, along z."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCone, BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    axes = gp_Ax2(gp_Pnt(0, 0, -shape.height / 2), gp_Dir(0, 0, 1))
    if isinstance(shape, Cylinder):
        return BRepPrimAPI_MakeCylinder(axes, shape.radius, shape.height).Solid()
    low, high = shape.radius_low, shape.radius_high
    if low == high:
        return BRepPrimAPI_MakeCylinder(axes, low, shape.height).Solid()
    return BRepPrimAPI_MakeCone(axes, low, high, shape.height).Solid()


def volume(solid: Solid) -> float:
    """Volume of a solid or of all solids of a compound, mm³."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, props)
    return float(props.Mass())


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """A named, coloured piece of the scene.

    Attributes:
        name: "body", "lid", or the part's name.
        colour: red, green, blue, opacity, 0..1. The box is see-through.
        solid: a compound, in the box frame, mm.
    """

    name: str
    colour: tuple[float, float, float, float]
    solid: Solid


def _document(title: str, components: Iterable[Component]) -> Any:
    """Named, coloured components under one title, as a document of the kernel."""
    from OCP.Quantity import Quantity_Color, Quantity_ColorRGBA, Quantity_TypeOfColor
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopLoc import TopLoc_Location
    from OCP.XCAFApp import XCAFApp_Application
    from OCP.XCAFDoc import XCAFDoc_ColorType, XCAFDoc_DocumentTool

    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    XCAFApp_Application.GetApplication_s().InitDocument(document)
    shapes = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    colours = XCAFDoc_DocumentTool.ColorTool_s(document.Main())

    def name(label: Any, text: str) -> None:
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(text, True))

    top = shapes.NewShape()
    name(top, title)
    for component in components:
        label = shapes.AddShape(component.solid, False)
        name(label, component.name)
        colour = Quantity_Color(*component.colour[:3], Quantity_TypeOfColor.Quantity_TOC_sRGB)
        rgba = Quantity_ColorRGBA(colour, component.colour[3])
        colours.SetColor(label, rgba, XCAFDoc_ColorType.XCAFDoc_ColorSurf)
        name(shapes.AddComponent(top, label, TopLoc_Location()), component.name)
    shapes.UpdateAssemblies()
    return document


def _hush() -> None:
    """Keep the kernel from printing its progress; failures come back as return values."""
    from OCP.Message import Message, Message_Gravity

    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)


def step_text(title: str, components: Iterable[Component]) -> str:
    """The components as the text of a STEP file, as the kernel writes it.

    Raises:
        OSError: when the kernel cannot write it.
    """
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer

    _hush()
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "model.step"
        writer = STEPCAFControl_Writer()
        Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
        writer.Transfer(_document(title, components))
        if writer.Write(str(draft)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise OSError("the STEP file could not be written")
        return draft.read_text(encoding="utf-8")


def glb_bytes(title: str, components: Sequence[Component]) -> bytes:
    """The components as binary glTF 2.0 (m, y up), curved surfaces in triangles.

    Raises:
        OSError: when the kernel cannot write it.
    """
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.Message import Message_ProgressRange
    from OCP.RWGltf import RWGltf_CafWriter
    from OCP.RWMesh import RWMesh_CoordinateSystem
    from OCP.TCollection import TCollection_AsciiString
    from OCP.TColStd import TColStd_IndexedDataMapOfStringString

    _hush()
    for component in components:
        BRepMesh_IncrementalMesh(component.solid, MESH_ERROR, False, 0.3, False)
    with tempfile.TemporaryDirectory() as folder:
        draft = Path(folder) / "model.glb"
        writer = RWGltf_CafWriter(TCollection_AsciiString(str(draft)), True)
        axes = writer.ChangeCoordinateSystemConverter()
        axes.SetInputLengthUnit(0.001)
        axes.SetInputCoordinateSystem(RWMesh_CoordinateSystem.RWMesh_CoordinateSystem_Zup)
        facts = TColStd_IndexedDataMapOfStringString()
        if not writer.Perform(_document(title, components), facts, Message_ProgressRange()):
            raise OSError("the 3D model could not be written")
        return draft.read_bytes()
