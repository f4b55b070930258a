"""The 3D files, read back and compared with the model."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import trimesh

from fit.geometry.box import faces
from fit.geometry.frames import cross, dot, sub
from fit.geometry.kernel import volume
from fit.geometry.solids import scene_assembly, write_glb, write_step
from fit.geometry.steptext import steady
from tests.kernel import each, sound, surfaces
from tests.trays import OPENINGS, moulded, scene, tray


def read_back(path: Path) -> Any:
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    reader.ReadFile(str(path))
    reader.TransferRoots()
    return reader.OneShape()


@pytest.fixture(scope="module")
def step(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("step") / "model.step"
    write_step(scene(moulded(), 12), path)
    return path


def test_round_openings_come_back_as_cylinders_on_their_axes(step: Path) -> None:
    cylinders = [s.Cylinder() for s in surfaces(read_back(step)) if "Cylinder" in str(s.GetType())]
    walls = faces(moulded())
    for item in OPENINGS:
        if item.diameter == 0:
            continue
        frame = walls[item.face].frame
        middle = frame.point((item.across, item.up, 0.0))
        met = 0
        for c in cylinders:
            at, way = c.Location(), c.Axis().Direction()
            along = (way.X(), way.Y(), way.Z())
            off = cross(sub((at.X(), at.Y(), at.Z()), middle), along)
            met += (
                abs(c.Radius() - item.diameter / 2) < 1e-9
                and abs(abs(dot(along, frame.z)) - 1) < 1e-12
                and max(map(abs, off)) < 1e-9
            )
        assert met == 1, item


def test_round_openings_stand_in_the_step_text_itself(step: Path) -> None:
    # ISO 10303-42: CYLINDRICAL_SURFACE('', placement, radius).
    found = re.findall(r"CYLINDRICAL_SURFACE\('',#\d+,([\d.E+-]+)\)", step.read_text())
    radii = Counter(round(float(r), 9) for r in found)
    for item in OPENINGS:
        if item.diameter:
            assert radii[item.diameter / 2] >= 1
    assert "SI_UNIT(.MILLI.,.METRE.)" in step.read_text()


def test_the_step_file_holds_the_same_solids(step: Path) -> None:
    build = scene(moulded(), 12)
    back = read_back(step)
    parts = [s for c in scene_assembly(build) for s in each(c.solid, "SOLID")]
    solids = list(each(back, "SOLID"))
    assert len(solids) == len(parts) == 4 + 4 + 12
    assert sorted(map(volume, solids)) == pytest.approx(sorted(map(volume, parts)), rel=1e-9)
    assert all(sound(s) for s in solids)


def test_components_keep_their_names(step: Path) -> None:
    text = step.read_text(encoding="ascii")
    names = re.findall(r"PRODUCT\('([^']*)'", text)
    # ISO 10303-21: letters beyond ASCII between \X2\ and \X0\.
    assert names == ["sample", "body", "lid", *(f"part {i} \\X2\\00B5\\X0\\" for i in range(6))]
    places = re.findall(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\('(\d+)'", text)
    assert places == [str(i + 1) for i in range(8)]


WRITE = """
import sys
from pathlib import Path
from tests.trays import moulded, scene
from fit.geometry.solids import write_glb, write_step
write_step(scene(moulded(), 16), Path(sys.argv[1]))
write_glb(scene(moulded(), 16), Path(sys.argv[2]))
"""


@pytest.mark.slow
def test_the_same_scene_gives_the_same_bytes_in_every_process(tmp_path: Path, root: Path) -> None:
    for n in range(3):
        ran = subprocess.run(
            [sys.executable, "-c", WRITE, tmp_path / f"{n}.step", tmp_path / f"{n}.glb"],
            cwd=root,
            env=os.environ | {"PYTHONPATH": str(root), "PYTHONHASHSEED": str(n)},
            capture_output=True,
            text=True,
            check=True,
        )
        assert ran.stdout + ran.stderr == ""
        time.sleep(1.1)
    for kind in ("step", "glb"):
        assert len({(tmp_path / f"{n}.{kind}").read_bytes() for n in range(3)}) == 1


def test_a_second_writing_in_one_process_gives_the_same_bytes(
    tmp_path: Path, step: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    write_step(scene(moulded(), 12), tmp_path / "again.step")
    assert (tmp_path / "again.step").read_bytes() == step.read_bytes()
    write_step(scene(moulded(), 13), tmp_path / "other.step")
    assert (tmp_path / "other.step").read_bytes() != step.read_bytes()
    assert capfd.readouterr().out == ""


def test_odd_names_come_through(tmp_path: Path) -> None:
    name = "it's; #5 µ\\ 🐝"
    write_step(scene(tray(), name=name), tmp_path / "odd.step")
    text = (tmp_path / "odd.step").read_text(encoding="ascii")
    assert "FILE_NAME('it''s; #5 \\X2\\00B5\\X0\\\\\\ \\X4\\0001F41D\\X0\\'," in text
    assert len(list(each(read_back(tmp_path / "odd.step"), "SOLID"))) == 2


def test_text_that_is_no_step_file_is_refused() -> None:
    with pytest.raises(ValueError, match="no DATA"):
        steady("nothing", "x")


def test_glb_is_the_same_model_in_metres(tmp_path: Path) -> None:
    path = tmp_path / "model.glb"
    box = moulded()
    write_glb(scene(box, 4), path)
    loaded = trimesh.load(path)
    # glTF 2.0: metres, y up; the front then faces +z.
    low, high = loaded.bounds * 1000
    assert low == pytest.approx((-75, 0, -50), abs=0.01)
    assert high == pytest.approx((75, 60, 50), abs=0.01)
    assert {"body", "lid", "part 0 µ", "part 1 µ"} <= set(loaded.graph.nodes)
