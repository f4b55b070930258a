"""Looking at shapes of the CAD kernel."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any


def each(solid: Any, kind: str) -> Iterator[Any]:
    """The faces or solids of a kernel shape."""
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer

    explorer = TopExp_Explorer(solid, getattr(TopAbs_ShapeEnum, f"TopAbs_{kind}"))
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def surfaces(solid: Any) -> list[Any]:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.TopoDS import TopoDS

    return [BRepAdaptor_Surface(TopoDS.Face_s(f)) for f in each(solid, "FACE")]


def kinds(solid: Any) -> Counter[str]:
    return Counter(str(s.GetType()).rpartition("_")[2] for s in surfaces(solid))


def sound(solid: Any) -> bool:
    from OCP.BRepCheck import BRepCheck_Analyzer

    return bool(BRepCheck_Analyzer(solid).IsValid())
