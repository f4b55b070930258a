"""Outlines as SVG, read back at true size with svgelements, which did not write them.

CSS 2.1, 4.3.2 (Lengths): 1 in = 25.4 mm = 96 px; so a browser shows them.
"""

from __future__ import annotations

import io
import math
from pathlib import Path as FilePath
from typing import Any
from xml.etree import ElementTree

import pyogrio
import pytest
import shapely
import svgelements

from fit.draw.cutfiles import cut_files
from fit.draw.drawing import (
    Anchor,
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
from fit.draw.svg import MARGIN, svg_bytes
from fit.model.words import FaceName
from fit.trade.lettering import width
from tests.draw_scenes import boards, crowded, large, small

PEN = Pen(width=0.25)
PX = 96 / 25.4
SPACE = "{http://www.w3.org/2000/svg}"
SCENES = {"small": small, "large": large, "crowded": crowded, "boards": boards}


def read(data: bytes) -> Any:
    return svgelements.SVG.parse(io.BytesIO(data), ppi=96.0)


def origin(data: bytes) -> tuple[float, float]:
    """Where the drawing's own origin lies in the file, from its description, mm."""
    told = ElementTree.fromstring(data).findtext(f"{SPACE}desc") or ""
    x, y = told.split("lies at ")[1].split(",")[0].split()
    return float(x), float(y)


def group(data: bytes, name: str) -> list[Any]:
    """The shapes of one group as paths in mm, y up from the drawing's own origin."""
    (found,) = read(data).select(lambda e: isinstance(e, svgelements.Group) and e.id == name)
    x, y = origin(data)
    back = svgelements.Matrix(f"scale({1 / PX})") * svgelements.Matrix(f"translate({-x}, {-y})")
    turned = back * svgelements.Matrix("scale(1, -1)")
    return [abs(svgelements.Path(shape) * turned) for shape in found]


def points(path: Any, count: int = 40) -> list[tuple[float, float]]:
    """A comb of points along a path's segments."""
    return [
        (float(p.x), float(p.y))
        for segment in path
        if not isinstance(segment, svgelements.Move)
        for p in (segment.point(n / count) for n in range(count + 1))
    ]


def bounds(path: Any) -> tuple[float, ...]:
    return tuple(float(v) for v in path.bbox())


def sample() -> Drawing:
    sketch = Sketch("a & <b>")
    sketch.add(Operation.CUT, rounded(Box(-10, 5, 50, 25), 2.0, PEN), Line((0, 0), (7, 3), PEN))
    sketch.add(Operation.DRILL, Circle((12.5, 30.25), 6.0, PEN), Arc((0, 40), 3, 30, 320, PEN))
    sketch.add(Operation.CUT, Text((0, 0), "never cut me", 2.5))
    sketch.add(Operation.NOTE, Text((5, 20), "Ø12 & more", 3.0, Anchor.MIDDLE, 90.0))
    return sketch.done()


def test_the_file_is_as_large_as_the_drawing_in_mm() -> None:
    data = svg_bytes(sample())
    root = ElementTree.fromstring(data)
    box = sample().box()
    assert box is not None
    wide, high = box.width + 2 * MARGIN, box.height + 2 * MARGIN
    assert root.get("width") == f"{wide:.4f}".rstrip("0").rstrip(".") + "mm"
    view = [float(v) for v in (root.get("viewBox") or "").split()]
    assert view == pytest.approx([0, 0, wide, high], abs=1e-4)
    as_shown = read(data)
    assert float(as_shown.width) == pytest.approx(wide * PX, abs=0.001)
    assert float(as_shown.height) == pytest.approx(high * PX, abs=0.001)


def test_lines_arcs_and_circles_come_back_to_a_thousandth() -> None:
    data = svg_bytes(sample())
    outline, line = group(data, "cut")
    assert bounds(outline) == pytest.approx((-10, 5, 50, 25), abs=0.001)
    # Plain arithmetic: straight sides, and a full circle in four corners.
    length = 2 * (56 + 16) + 2 * math.pi * 2
    assert outline.length() == pytest.approx(length, abs=0.002)
    assert points(line)[0] == pytest.approx((0, 0), abs=0.001)
    assert points(line)[-1] == pytest.approx((7, 3), abs=0.001)
    circle, arc = group(data, "drill")
    for p in points(circle):
        assert math.dist(p, (12.5, 30.25)) == pytest.approx(6, abs=0.001)
    for p in points(arc):
        assert math.dist(p, (0, 40)) == pytest.approx(3, abs=0.001)
    assert arc.length() == pytest.approx(3 * math.radians(290), abs=0.002)


def test_words_stay_off_the_layers_a_machine_follows() -> None:
    data = svg_bytes(sample())
    assert b"never cut me" not in data
    root = ElementTree.fromstring(data)
    (said,) = root.iter(f"{SPACE}text")
    assert said.text == "Ø12 & more"
    assert float(said.get("textLength", "")) == pytest.approx(width("Ø12 & more", 3.0), abs=1e-3)
    assert said.get("transform", "").startswith("rotate(-90 ")
    assert root.findtext(f"{SPACE}title") == "a & <b>"
    assert [g.get("id") for g in root.iter(f"{SPACE}g")] == ["note", "drill", "cut"]


@pytest.mark.parametrize("name", SCENES)
def test_svg_and_dxf_of_everything_to_cut_show_the_same(name: str, tmp_path: FilePath) -> None:
    for file, drawing in cut_files(SCENES[name]()).items():
        svg, dxf = svg_bytes(drawing), dxf_bytes(drawing)
        assert svg_bytes(drawing) == svg
        path = tmp_path / "drawn.dxf"
        path.write_bytes(dxf)
        meta, _, found, fields = pyogrio.raw.read(path)
        layers = fields[list(meta["fields"]).index("Layer")]
        for layer in {str(v) for v in layers}:
            rings = [s for s, at in zip(found, layers, strict=True) if at == layer]
            drawn = shapely.union_all(shapely.from_wkb(rings))
            ways = [shapely.LineString(points(w, 12)) for w in group(svg, layer.replace(" ", "-"))]
            mine = shapely.union_all(ways)
            # Both turn arcs into chords, up to 0.03 mm inside them at these sizes.
            assert shapely.hausdorff_distance(mine, drawn, densify=0.05) < 0.05, (file, layer)


def test_a_face_has_its_window_where_the_scene_has_it() -> None:
    scene = small()
    data = svg_bytes(cut_files(scene)["face-front"])
    (window,) = group(data, "cut")
    opening = next(o for o in scene.openings if o.face is FaceName.FRONT)
    w, h = opening.width / 2, opening.height / 2
    assert bounds(window) == pytest.approx((-w, 34 - h, w, 34 + h), abs=0.001)
    (edge,) = group(data, "edge-of-the-face")
    # Plain trigonometry: 150 wide at the rim, 57.5 up, walls leaning by 1.5 degrees.
    up = 57.5 / math.cos(math.radians(1.5))
    assert bounds(edge) == pytest.approx((-75, 0, 75, up), abs=0.001)


def test_a_slot_is_one_open_path_and_a_plate_has_its_size() -> None:
    scene = small()
    files = cut_files(scene)
    back = svg_bytes(files["face-back"])
    slot = next(p for p in group(back, "cut") if not isinstance(p[-1], svgelements.Close))
    assert len(slot) == 4
    (plate,) = group(svg_bytes(files["plate-readout"]), "cut")
    (cut,) = scene.plates
    assert bounds(plate) == pytest.approx((0, 0, cut.width, cut.height), abs=0.001)
