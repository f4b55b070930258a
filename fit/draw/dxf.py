"""A drawing as DXF for other programs and machines: mm, lines, arcs, circles, closed outlines.

The only home of ezdxf, which is loaded when a file is written. Words are left out: machines
would cut them.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from fit.draw.drawing import Arc, Circle, Drawing, Item, Line, Operation, Path

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

LAYERS = {
    Operation.CUT: "cut",
    Operation.DRILL: "drill",
    Operation.MARK: "mark",
    Operation.FOLD: "fold",
    Operation.EDGE: "edge of the face",
    Operation.THERE: "there already",
    Operation.GUIDE: "guide",
    Operation.NOTE: "note",
    Operation.FRAME: "frame",
}
"""Layer names by operation."""

_COLOURS = {
    # AutoCAD colour numbers; 7 is black on white. Names, not colours, carry the meaning.
    Operation.CUT: 7,
    Operation.DRILL: 7,
    Operation.MARK: 8,
    Operation.FOLD: 8,
    Operation.EDGE: 8,
    Operation.THERE: 8,
    Operation.GUIDE: 9,
    Operation.NOTE: 9,
    Operation.FRAME: 9,
}

MILLIMETRES = 4
"""$INSUNITS for millimetres (DXF reference, header variables)."""

METRIC = 1
"""$MEASUREMENT for metric (DXF reference, header variables)."""


def dxf_bytes(drawing: Drawing) -> bytes:
    """Write a drawing as DXF R2010, 1 unit = 1 mm, the same bytes each run.

    Args:
        drawing: what to write; its words are left out.

    Returns:
        The file, with LINE, ARC, CIRCLE and closed LWPOLYLINE entities only.
    """
    import ezdxf
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    # The switch replaces time stamps and random identifiers by constants.
    options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2010", units=MILLIMETRES)  # type: ignore[attr-defined]
        document.header["$MEASUREMENT"] = METRIC
        space = document.modelspace()
        for layer in drawing.layers:
            name = LAYERS[layer.operation]
            document.layers.add(name, color=_COLOURS[layer.operation])
            for item in layer.items:
                _add(space, item, name)
        # The writer adds the classes in use in the order of a set: put them in by name first.
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)
        stream = io.StringIO()
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    # R2010 is UTF-8; lines end as the DXF reference has them on every system.
    return stream.getvalue().replace("\r\n", "\n").replace("\n", "\r\n").encode("utf-8")


def _add(space: Modelspace, item: Item, layer: str) -> None:
    at = {"layer": layer}
    if isinstance(item, Line):
        space.add_line(item.start, item.end, dxfattribs=at)
    elif isinstance(item, Circle):
        space.add_circle(item.centre, item.radius, dxfattribs=at)
    elif isinstance(item, Arc):
        space.add_arc(item.centre, item.radius, item.start, item.end, dxfattribs=at)
    elif isinstance(item, Path) and item.fill is None:
        corners = [(node.x, node.y, node.bulge) for node in item.nodes]
        space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs=at)
