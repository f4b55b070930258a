"""Holes that are there already on paper, for machines and in 3D; read back with other libraries."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import shapely

from fit.draw.cutfiles import cut_files
from fit.draw.drawing import Operation
from fit.draw.dxf import dxf_bytes
from fit.draw.faces import face_view, faces_to_draw
from fit.draw.label import label_view
from fit.draw.laser import Laser
from fit.draw.svg import svg_bytes
from fit.draw.tables import hole_list
from fit.draw.there import lettered
from fit.draw.view import Side
from fit.geometry.jig import jig, jig_names
from fit.geometry.kernel import volume
from fit.geometry.scene import Scene
from fit.geometry.solids import scene_assembly
from fit.model.words import FaceName
from fit.pipeline import examine
from fit.read import load_build
from tests.old_holes import BUTTON, scene_with
from tests.rasters import pdf_of
from tests.test_draw_dxf import gdal


@pytest.fixture(scope="module")
def scene() -> Scene:
    """The shipped build in a box with holes, every place found."""
    return examine(load_build("barrel-alarm"), mending=False).scene


def test_the_list_names_what_is_there_by_letter_and_cuts_only_what_is_not(scene: Scene) -> None:
    told = {
        name: [(row[0], row[1], row[3]) for row in hole_list(scene, scene.faces[name]).rows]
        for name in (FaceName.FRONT, FaceName.RIGHT, FaceName.BACK, FaceName.LEFT)
    }
    assert told[FaceName.RIGHT] == [("A", "hole knob for quiet", "there already: nothing to cut")]
    assert told[FaceName.BACK] == [
        ("A", "hole cable for probe_cable", "there already: nothing to cut")
    ]
    assert told[FaceName.LEFT] == [
        ("A", "hole spare", "knock-out, stays closed"),
        ("B", "hole rocker for power", "there already: nothing to cut"),
    ]
    assert told[FaceName.FRONT][1:] == [
        ("2", "lamp", "opens hole lamp up: step bit 10; no twist bit"),
        ("A", "hole lamp", "there already: cut into for lamp; a twist bit grabs there"),
    ]


def test_seen_from_inside_a_hole_lies_on_the_other_side(scene: Scene) -> None:
    face = scene.faces[FaceName.BACK]
    outside, inside = (hole_list(scene, face, side).rows[0] for side in Side)
    assert (outside[4], inside[4]) == ("42.5 left", "42.5 right")


def test_a_face_whose_holes_all_serve_is_drawn_with_nothing_to_cut(scene: Scene) -> None:
    face = scene.faces[FaceName.BACK]
    assert face.name in {drawn.name for drawn in faces_to_draw(scene)}
    drawing = face_view(scene, face).drawing
    assert drawing.on(Operation.DRILL) == drawing.on(Operation.CUT) == ()
    (ring,) = drawing.on(Operation.THERE)
    assert ring.radius == pytest.approx(6.25)  # type: ignore[union-attr]


def test_dxf_keeps_what_is_there_on_a_layer_of_its_own(scene: Scene, tmp_path: Path) -> None:
    files = cut_files(scene)
    for name, cuts in (("face-right", 0), ("face-left", 0), ("face-front", 8)):
        found = gdal(dxf_bytes(files[name]), tmp_path)
        there = [shape for layer, shape in found if layer == "there already"]
        made = [shape for layer, shape in found if layer in ("cut", "drill")]
        assert len(made) == cuts
        assert len(there) == {"face-right": 1, "face-left": 2, "face-front": 1}[name]
    right = next(
        s for layer, s in gdal(dxf_bytes(files["face-right"]), tmp_path) if "there" in layer
    )
    # By hand: 34 in from the left edge, which leans by 1.5 degrees, 26 down the wall from the rim.
    lean = math.radians(1.5)
    up = 57.5 / math.cos(lean) - 26
    left = -(50 - 57.5 * math.tan(lean)) - up * math.cos(lean) * math.tan(lean)
    assert right.centroid.coords[0] == pytest.approx((left + 34, up), abs=0.001)
    assert math.sqrt(shapely.Polygon(right.coords).area / math.pi) == pytest.approx(6.1, abs=0.01)


def test_a_laser_cuts_nothing_that_is_there(scene: Scene) -> None:
    plain = cut_files(scene)["face-right"].on(Operation.THERE)
    burnt = cut_files(scene, Laser(kerf=0.3))["face-right"]
    assert burnt.on(Operation.THERE) == plain
    assert burnt.on(Operation.DRILL) == burnt.on(Operation.CUT) == ()
    text = svg_bytes(burnt).decode()
    assert text.index('id="there-already"') < text.index("stroke-dasharray")


def test_the_paper_says_so_in_words(scene: Scene) -> None:
    document = pypdfium2.PdfDocument(pdf_of(scene))
    words = "\n".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert "a hole that is there already" in words
    assert "hole knob for quiet" in words
    assert words.count("there already: nothing to cut") == 3


def test_a_label_is_cut_out_over_every_open_hole(scene: Scene) -> None:
    counts = {
        name: len(label_view(scene, scene.faces[name]).drawing.on(Operation.CUT))
        for name in (FaceName.FRONT, FaceName.RIGHT, FaceName.LEFT)
    }
    # Front: a lamp and seven holes of a sounder; left: the knock-out stays closed.
    assert counts == {FaceName.FRONT: 8, FaceName.RIGHT: 1, FaceName.LEFT: 1}


def test_a_jig_guides_only_what_is_drilled(scene: Scene) -> None:
    assert "right" not in jig_names(scene)
    assert len(jig(scene, "front").guides) == 8


def test_letters_run_from_left_to_right_and_past_z(tmp_path: Path) -> None:
    holes = [
        {"name": f"h{n}", "on": "front", "at": {"across": 40 - 2.9 * n, "up": 30}, "diameter": 2}
        for n in range(28)
    ]
    one = {"use": BUTTON, "on": "back", "at": {"across": 0, "up": 30}}
    found = lettered(scene_with(tmp_path, holes, {"a": one}), FaceName.FRONT)
    assert [f.letter for f in found][:2] == ["A", "B"]
    assert [f.letter for f in found][25:] == ["Z", "AA", "AB"]
    assert found[0].hole.name == "h27"


@pytest.mark.slow
def test_the_solid_has_the_holes_that_are_there_and_no_closed_one(tmp_path: Path) -> None:
    """A straight hole takes area × thickness away, however its wall leans."""
    at = {"across": 0, "up": 30}
    sizes: list[dict[str, Any]] = [
        {"name": "a", "on": "front", "at": at, "diameter": 12},
        {"name": "b", "on": "back", "at": at, "size": [20, 10]},
        {"name": "c", "on": "right", "at": at, "diameter": 6, "long": 16, "turn": 30},
        {"name": "d", "on": "left", "at": at, "diameter": 12, "knock_out": True},
    ]
    part = {"a": {"use": BUTTON, "on": "front", "at": at}}
    volumes = []
    for holes, parts in (([], {}), (sizes, part)):
        body = scene_assembly(scene_with(tmp_path, holes, parts))[0]
        assert body.name == "body"
        volumes.append(volume(body.solid))
    taken = 2.5 * (math.pi * 36 + 200 + (10 * 6 + math.pi * 9))
    assert volumes[0] - volumes[1] == pytest.approx(taken, rel=1e-6)
