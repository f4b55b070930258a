"""Drawings as DXF, read back with ezdxf's reader and with GDAL, which is none of its kin."""

from __future__ import annotations

import io
import math
from pathlib import Path as FilePath
from typing import Any

import ezdxf
import pyogrio
import pytest
import shapely

from fit.draw.cutfiles import cut_files
from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    Line,
    Operation,
    Pen,
    Sketch,
    Text,
    rounded,
)
from fit.draw.dxf import dxf_bytes
from fit.geometry.box import faces
from fit.geometry.scene import Cut
from fit.model.words import FaceName
from tests.draw_scenes import boards, small

PEN = Pen(width=0.25)


def sample() -> Drawing:
    sketch = Sketch("sample")
    sketch.add(Operation.CUT, rounded(Box(-10, 5, 50, 25), 2.0, PEN), Line((0, 0), (7, 3), PEN))
    sketch.add(Operation.DRILL, Circle((12.5, 30.25), 6.0, PEN), Arc((0, 40), 3, 30, 120, PEN))
    sketch.add(Operation.CUT, Text((0, 0), "never cut me", 2.5))
    return sketch.done()


def read(data: bytes) -> Any:
    return ezdxf.read(io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))  # type: ignore[attr-defined]


def gdal(data: bytes, folder: FilePath) -> list[tuple[str, Any]]:
    path = folder / "drawn.dxf"
    path.write_bytes(data)
    meta, _, shapes, fields = pyogrio.raw.read(path)
    layers = fields[list(meta["fields"]).index("Layer")]
    found = shapely.from_wkb(shapes)
    return [(str(layer), shape) for layer, shape in zip(layers, found, strict=True)]


def test_units_are_millimetres_and_the_version_r2010() -> None:
    # $INSUNITS 4 and $MEASUREMENT 1: Autodesk DXF reference, header variables.
    document = read(dxf_bytes(sample()))
    assert document.header["$INSUNITS"] == 4
    assert document.header["$MEASUREMENT"] == 1
    assert document.dxfversion == "AC1024"


def test_only_plain_entities_and_no_words() -> None:
    document = read(dxf_bytes(sample()))
    space = document.modelspace()
    assert {e.dxftype() for e in space} == {"LINE", "ARC", "CIRCLE", "LWPOLYLINE"}
    assert {e.dxf.layer for e in space} == {"cut", "drill"}
    assert b"never cut me" not in dxf_bytes(sample())
    assert not document.audit().has_errors


def test_coordinates_come_back_to_a_thousandth(tmp_path: FilePath) -> None:
    data = dxf_bytes(sample())
    document = read(data)
    space = document.modelspace()
    circle = space.query("CIRCLE").first
    assert (circle.dxf.center.x, circle.dxf.center.y, circle.dxf.radius) == (12.5, 30.25, 6.0)
    outline = space.query("LWPOLYLINE").first
    assert outline.closed
    assert [round(b, 6) for *_, b in outline.get_points("xyb")].count(0.414214) == 4
    by_gdal = gdal(data, tmp_path)
    bounds = [shape.bounds for _, shape in by_gdal]
    assert any(b == pytest.approx((-10, 5, 50, 25), abs=0.001) for b in bounds)
    ring = next(shape for layer, shape in by_gdal if layer == "drill" and shape.is_ring)
    for point in ring.coords:
        assert math.dist(point[:2], (12.5, 30.25)) == pytest.approx(6.0, abs=0.001)
    assert {layer for layer, _ in by_gdal} == {"cut", "drill"}


def test_same_bytes_twice_and_ezdxf_left_as_it_was() -> None:
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # type: ignore[attr-defined]
    assert dxf_bytes(sample()) == dxf_bytes(sample())
    assert ezdxf.options.write_fixed_meta_data_for_testing is False  # type: ignore[attr-defined]


def test_a_face_carries_its_openings_where_the_scene_has_them(tmp_path: FilePath) -> None:
    scene = small()
    files = cut_files(scene)
    assert set(files) == {
        "face-front", "face-right", "face-back", "face-lid", "board-main_board",
        "board-display_board", "plate-readout",
    }  # fmt: skip
    by_gdal = gdal(dxf_bytes(files["face-right"]), tmp_path)
    holes = {shape.centroid.coords[0]: shape for layer, shape in by_gdal if layer == "drill"}
    # Where the build puts tare and units; 12 mm holes.
    for at in ((12.0, 31.5), (-14.0, 31.5)):
        near = min(holes, key=lambda c, at=at: math.dist(c, at))  # type: ignore[misc]
        assert near == pytest.approx(at, abs=0.001)
        # GDAL turns circles into chords whose ends lie on them.
        for point in holes[near].coords:
            assert math.dist(point[:2], at) == pytest.approx(6.0, abs=0.001)
    edge = next(shape for layer, shape in by_gdal if layer == "edge of the face")
    # Plain trigonometry: 100 at the rim, 57.5 up, walls leaning by 1.5 degrees.
    lean = math.tan(math.radians(1.5))
    low, high = 50 - 57.5 * lean, 50.0
    up = 57.5 / math.cos(math.radians(1.5))
    want = shapely.Polygon([(-low, 0), (low, 0), (high, up), (-high, up)])
    assert shapely.hausdorff_distance(shapely.Polygon(edge.coords), want) < 0.001
    assert faces(scene.build.box)[FaceName.RIGHT].height == pytest.approx(up)


def test_a_window_and_a_slot_are_cut_lines(tmp_path: FilePath) -> None:
    scene = small()
    window = next(o for o in scene.openings if o.face is FaceName.FRONT)
    front = gdal(dxf_bytes(cut_files(scene)["face-front"]), tmp_path)
    cut = next(shape for layer, shape in front if layer == "cut")
    w, h = window.width / 2, window.height / 2
    assert cut.bounds == pytest.approx((-w, 34 - h, w, 34 + h), abs=0.001)
    document = read(dxf_bytes(cut_files(scene)["face-back"]))
    back = document.modelspace()
    slot = next(o for o in scene.openings if o.cut is Cut.RIM_SLOT)
    lines = [(e.dxf.start.x, e.dxf.start.y, e.dxf.end.x, e.dxf.end.y) for e in back.query("LINE")]
    assert len(lines) == 3
    rim = 57.5 / math.cos(math.radians(1.5))
    ends = [lines[0][:2], lines[-1][2:]]
    assert [e[1] for e in ends] == pytest.approx([rim, rim], abs=0.001)
    assert abs(ends[0][0] - ends[1][0]) == pytest.approx(12.4, abs=0.001)
    low = min(min(line[1], line[3]) for line in lines)
    assert low == pytest.approx(slot.up - 3.2, abs=0.001)


def test_a_d_hole_keeps_its_flat(tmp_path: FilePath) -> None:
    back = gdal(dxf_bytes(cut_files(small())["face-back"]), tmp_path)
    (hole,) = [s for layer, s in back if layer == "cut" and s.is_ring]
    # 9.5 across, 8.7 over the flat. GDAL turns arcs into chords whose ends lie on them.
    # The box stands on its lid, so the flat is below.
    points = list(hole.coords)
    level = 30 + 4.75 - 8.7
    assert min(p[1] for p in points) == pytest.approx(level, abs=0.001)
    round_part = [p for p in points if p[1] > level + 0.01]
    assert len(round_part) > 20
    for point in round_part:
        assert math.dist(point[:2], (20, 30)) == pytest.approx(4.75, abs=0.001)
    x0, _, x1, y1 = hole.bounds
    assert (x0, x1, y1) == pytest.approx((15.25, 24.75, 34.75), abs=0.02)


def test_a_notched_board_is_one_closed_outline_and_its_cut_outs(tmp_path: FilePath) -> None:
    data = dxf_bytes(cut_files(boards())["board-cut board"])
    rings = [shapely.Polygon(s.coords) for layer, s in gdal(data, tmp_path) if layer == "cut"]
    outer = max(rings, key=lambda r: r.area)
    inner = [r for r in rings if r is not outer]
    board = shapely.box(0, 0, 100, 60) - shapely.box(40, 0, 60, 15)
    assert shapely.symmetric_difference(outer, board).area < 1e-6
    assert len(inner) == 1
    assert inner[0].bounds == pytest.approx((70, 40, 80.16, 50.16), abs=0.001)
    document = read(data)
    polylines = document.modelspace().query("LWPOLYLINE")
    assert all(line.closed for line in polylines)
    assert sorted(len(line) for line in polylines) == [4, 8]
