"""The main job on the shipped builds: what the report says is what every file holds.

Each file is read by somebody else's reader: pdfium and pdfminer (through pdfplumber) for the
sheets, GDAL and ezdxf for the outlines, the CAD kernel's STEP reader for the solids.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import pdfplumber
import pyogrio
import pytest

from fit import pipeline
from fit.geometry.box import faces
from fit.model.words import FaceName
from fit.read import load_box
from fit.trade.paper import PaperName
from tests.draw_ink import rounds, strokes

BUILDS = ("hive-scale", "meter-box", "bench-timer", "gate-counter")
MM = 25.4 / 72
PAPER = {PaperName.A4: (210.0, 297.0), PaperName.LETTER: (215.9, 279.4)}

Report = dict[str, Any]


@pytest.fixture(scope="module", params=BUILDS)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out: Path = tmp_path_factory.mktemp("made") / str(request.param)
    pipeline.make(str(request.param), out=out)
    return out


@pytest.fixture(scope="module")
def report(made: Path) -> Report:
    told: Report = json.loads((made / "report.json").read_text(encoding="utf-8"))
    return told


def on_face(report: Report, face: str, shape: str = "round") -> list[Report]:
    return [o for o in report["openings"] if o["face"] == face and o["shape"] == shape]


def pdf_of(report: Report, paper: PaperName, folder: Path) -> bytes:
    if paper is PaperName.A4:
        return (folder / "sheets.pdf").read_bytes()
    other = folder.parent / f"{folder.name}-{paper.value}"
    if not other.exists():
        pipeline.make(report["build"], out=other, paper=paper)
    return (other / "sheets.pdf").read_bytes()


def circles_by_page(data: bytes) -> Iterator[list[tuple[float, float, float]]]:
    with pdfplumber.open(BytesIO(data)) as document:
        pages = len(document.pages)
    for n in range(pages):
        yield [(c.x, c.y, c.radius) for c in rounds(strokes(data, n))]


@pytest.mark.parametrize("paper", PAPER)
def test_round_openings_lie_on_the_paper_as_in_the_report(
    made: Path, report: Report, paper: PaperName
) -> None:
    """Every hole has, on one page, a hole of its face just as far off as in the report.

    A face too large for the page is tiled, so not all its holes need share one page.
    """
    pages = list(circles_by_page(pdf_of(report, paper, made)))
    for face in {o["face"] for o in report["openings"]}:
        holes = on_face(report, face)
        for hole in holes:
            others = [o for o in holes if o is not hole]
            assert any(_drawn(hole, others, page) for page in pages), (hole, paper)


def _drawn(hole: Report, others: list[Report], page: list[tuple[float, float, float]]) -> bool:
    """Whether the hole and, if its face has more, another one lie on the page in true distance."""
    here = [c for c in page if math.isclose(2 * c[2], hole["diameter"], abs_tol=0.01)]
    for x, y, _ in here:
        for o in others:
            at = (x + o["across"] - hole["across"], y + o["up"] - hole["up"], o["diameter"] / 2)
            if any(math.dist(at, c) < 0.01 for c in page):
                return True
    return bool(here) and not others


@pytest.mark.parametrize("paper", PAPER)
def test_two_readers_find_bars_and_page_sizes(made: Path, report: Report, paper: PaperName) -> None:
    data = pdf_of(report, paper, made)
    with pdfplumber.open(BytesIO(data)) as document:
        for n, page in enumerate(document.pages):
            size = sorted((float(page.width) * MM, float(page.height) * MM))
            assert size == pytest.approx(sorted(PAPER[paper]), abs=0.01)
            by_pdfium = [s.size for s in strokes(data, n)]
            by_miner = [
                ((line["x1"] - line["x0"]) * MM, (line["bottom"] - line["top"]) * MM)
                for line in page.lines
            ]
            for found in (by_pdfium, by_miner):
                assert any(abs(w - 100) < 0.01 and h < 0.01 for w, h in found), (
                    "no 100 mm bar across"
                )
                assert any(abs(h - 100) < 0.01 and w < 0.01 for w, h in found), (
                    "no 100 mm bar along"
                )


def test_dxf_holds_every_opening_where_the_report_has_it(made: Path, report: Report) -> None:
    for face in {o["face"] for o in report["openings"]}:
        file = made / f"face-{face}.dxf"
        document = ezdxf.filemanagement.readfile(str(file))
        assert document.header["$INSUNITS"] == 4
        kinds = {e.dxftype() for e in document.modelspace()}
        assert kinds <= {"LINE", "ARC", "CIRCLE", "LWPOLYLINE"}
        circles = [
            (e.dxf.center.x, e.dxf.center.y, e.dxf.radius)
            for e in document.modelspace().query("CIRCLE")
        ]
        _meta, _fid, shapes, _fields = pyogrio.raw.read(file, columns=["Layer"])
        boxes = [_bounds(shape) for shape in shapes]
        for o in on_face(report, face):
            r = o["diameter"] / 2
            assert any(math.dist((o["across"], o["up"], r), c) < 0.001 for c in circles), o
            wanted = (o["across"] - r, o["up"] - r, o["across"] + r, o["up"] + r)
            # GDAL draws a circle as chords of about 4 degrees: its box may be short by their sag.
            sag = r * (1 - math.cos(math.radians(2.5))) + 0.001
            assert any(
                all(abs(a - b) <= sag for a, b in zip(wanted, box, strict=True)) for box in boxes
            ), o
        for o in on_face(report, face, "rectangle"):
            w, h = (o["height"], o["width"]) if o["turn"] % 180 else (o["width"], o["height"])
            wanted = (o["across"] - w / 2, o["up"] - h / 2, o["across"] + w / 2, o["up"] + h / 2)
            assert any(
                all(abs(a - b) < 0.001 for a, b in zip(wanted, box, strict=True)) for box in boxes
            ), o


def _bounds(wkb: bytes) -> tuple[float, float, float, float]:
    import shapely

    return tuple(float(v) for v in shapely.from_wkb(wkb).bounds)  # type: ignore[return-value]


def test_step_holds_each_round_opening_as_a_cylinder_on_its_axis(
    made: Path, report: Report
) -> None:
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    reader = STEPControl_Reader()
    reader.ReadFile(str(made / "model.step"))
    reader.TransferRoots()
    found = []
    walk = TopExp_Explorer(reader.OneShape(), TopAbs_FACE)
    while walk.More():
        surface = BRepAdaptor_Surface(TopoDS.Face_s(walk.Current()))
        if surface.GetType() == GeomAbs_Cylinder:
            cylinder = surface.Cylinder()
            at, along = cylinder.Axis().Location(), cylinder.Axis().Direction()
            found.append(
                (cylinder.Radius(), (at.X(), at.Y(), at.Z()), (along.X(), along.Y(), along.Z()))
            )
        walk.Next()
    frames = faces(load_box(report["box"]))
    for o in report["openings"]:
        if o["shape"] != "round":
            continue
        frame = frames[FaceName(o["face"])].frame
        # The report rounds to a ten-thousandth.
        point = frame.point((o["across"], o["up"], 0.0))
        assert any(
            abs(radius - o["diameter"] / 2) < 1e-6
            and _off_axis(point, at, along) < 2e-4
            and abs(abs(sum(a * b for a, b in zip(along, frame.z, strict=True))) - 1) < 1e-9
            for radius, at, along in found
        ), o


def _off_axis(p: tuple[float, ...], at: tuple[float, ...], along: tuple[float, ...]) -> float:
    d = [a - b for a, b in zip(p, at, strict=True)]
    t = sum(a * b for a, b in zip(d, along, strict=True))
    return math.hypot(*(a - t * b for a, b in zip(d, along, strict=True)))


def test_the_report_has_the_promised_names(made: Path, report: Report) -> None:
    assert {"fit", "build", "box", "verdict", "findings", "placed", "openings", "files"} <= set(
        report
    )
    assert report["verdict"] == "clear"
    for finding in report["findings"]:
        assert {
            "rule",
            "grade",
            "about",
            "have",
            "need",
            "margin",
            "spread",
            "odds",
            "say",
            "mend",
            "where",
        } <= set(finding)
    for placed in report["placed"].values():
        assert {"face", "across", "up", "turn"} <= set(placed)
    for opening in report["openings"]:
        assert {"part", "face", "shape", "across", "up", "steps"} <= set(opening)
        assert opening["steps"], "an opening nobody can make"
    names = {f["path"] for f in report["files"]}
    assert {"sheets.pdf", "model.step"} <= names
    assert all(re.fullmatch(r"[0-9a-f]{64}", f["sha256"]) for f in report["files"])
    assert names | {"report.json"} == {p.name for p in made.iterdir()}


def test_twice_the_same_bytes(made: Path, report: Report, tmp_path: Path) -> None:
    again = tmp_path / "again"
    pipeline.make(report["build"], out=again)
    for file in sorted(made.iterdir()):
        assert file.read_bytes() == (again / file.name).read_bytes(), file.name


def test_what_changes_when_everything_moves_to_the_other_half(tmp_path: Path) -> None:
    """One changed line; the report tells the order and the wires that now cross."""
    text = (Path(__file__).parent.parent / "boxes/builds/gate-counter.yaml").read_text()
    turned = tmp_path / "turned.yaml"
    turned.write_text(text.replace("\ncarrier: lid", "\ncarrier: body"), encoding="utf-8")
    from fit.report import report as told

    hung, lying = (told(pipeline.check(b)) for b in ("gate-counter", turned))
    assert hung["verdict"] == lying["verdict"] == "clear"
    crossing = [
        {frozenset((w["from"], w["to"])) for w in r["wires"]["crossing"]} for r in (hung, lying)
    ]
    assert crossing[0] == {frozenset(("sensor_cable", "main_board"))}
    assert crossing[1] == {
        frozenset(("panel_left", "main_board")),
        frozenset(("panel_right", "main_board")),
    }
    assert all(w["length"] > 100 for r in (hung, lying) for w in r["wires"]["crossing"])
    assert hung["order"]["circle"] is lying["order"]["circle"] is None
    assert hung["order"]["steps"] != lying["order"]["steps"]
    assert any("main_board" in s and "lid" in s for s in hung["order"]["steps"])
    assert any("main_board" in s and "body" in s for s in lying["order"]["steps"])
