"""Keys, flats, slots, countersinks and grilles on paper and in files, read back by others.

pdfium and pdfminer read the sheets, ezdxf and GDAL the DXF, svgelements the SVG.
"""

from __future__ import annotations

import io
import math
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pdfplumber
import pyogrio
import pytest
import shapely
import svgelements

from fit.draw.cutfiles import cut_files
from fit.draw.cuts import numbered
from fit.draw.dxf import dxf_bytes
from fit.draw.faces import openings_on
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.draw.svg import svg_bytes
from fit.draw.tables import hole_list
from fit.draw.waste import NO_SHOP, waste_of
from fit.draw.words import short_steps, size_words, step_words
from fit.geometry.jig import jig
from fit.geometry.scene import Cut, Opening, Role, Scene
from fit.model.words import FaceName
from fit.trade.drills import Step, Tool
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.draw_grilles import kinds
from tests.draw_ink import MM, Round, letters, overlapping, rounds, strokes, words
from tests.draw_scenes import opening

WITHIN = 0.01


@cache
def scene() -> Scene:
    return kinds()


@cache
def pdf() -> bytes:
    return pdf_bytes(sheets(scene(), PaperName.A4, "3f9a1c07", hand_work("careful")), "kinds")


def of(part: str, role: Role | None = None) -> list[Opening]:
    return [o for o in scene().openings if o.part == part and role in (None, o.role)]


@cache
def page_rounds() -> tuple[tuple[Round, ...], ...]:
    pages = len(words(pdf()))
    return tuple(tuple(rounds(strokes(pdf(), n))) for n in range(pages))


def page_with(title: str) -> int:
    (found,) = [n for n, text in enumerate(words(pdf())) if f"{title}, seen" in text]
    return found


def offsets(found: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places from the first of them in reading order."""
    order = sorted(found, key=lambda p: (round(p[1], 1), round(p[0], 1)))
    return [(x - order[0][0], y - order[0][1]) for x, y in order]


@pytest.mark.parametrize(("part", "radius"), [("sounder", 1.5), ("air", 2.0), ("readout", 3.15)])
def test_pdfium_finds_each_hole_of_a_pattern_in_its_place(part: str, radius: float) -> None:
    role = Role.SCREW if part == "readout" else Role.VENT
    want = offsets([(o.across, o.up) for o in of(part, role)])
    for circles in page_rounds():
        drawn = [(c.x, c.y) for c in circles if abs(c.radius - radius) < WITHIN / 2]
        there = offsets(drawn) if drawn else []
        if len(there) == len(want) and all(
            any(math.dist(p, q) < WITHIN for p in there) for q in want
        ):
            return
    raise AssertionError(f"{part}: no page has all its holes")


def test_pdfminer_finds_the_countersinks_and_their_holes() -> None:
    with pdfplumber.open(io.BytesIO(pdf())) as document:
        curves = [c for page in document.pages for c in page.curves]
    sizes = [round((c["x1"] - c["x0"]) * MM, 2) for c in curves]
    # Four screws of the readout and two of the cells: ISO 273 medium and as written, 3.4 both.
    assert sizes.count(6.3) == 6
    assert sizes.count(3.4) == 6


def test_what_the_sheets_say() -> None:
    told = " ".join(" ".join(words(pdf())).split())
    for said in (
        "19 × Ø3",
        "15 × Ø4",
        "6 × slot 15 × 3, round ends",
        "Ø9.6, 8.7 between flats",
        "Ø12, key 1.8 × 0.9",
        "Ø3.4, countersunk Ø6.3",
        "slot 6 × 3.2, round ends",
        "countersink 90° outside to 6.3, 1.45 deep",
        "file the flats last",
        "file the key last",
        "19 alike, 6.5 from middle to middle, in rings within a circle of 29; 134 mm² open",
        "side by side within 38 × 15",
        "in rows and columns within 40 × 20; 188 mm² open",
    ):
        assert said in told, said


def test_words_do_not_run_over_each_other_nor_over_holes() -> None:
    for n, circles in enumerate(page_rounds()):
        typed = letters(pdf(), n)
        assert overlapping(typed, 0.05) == []
        drilled = [c for c in circles if 1.0 < c.radius < 8.0]
        for letter, x0, y0, x1, y1 in typed:
            for c in drilled:
                near = (min(max(c.x, x0), x1), min(max(c.y, y0), y1))
                assert math.dist(near, (c.x, c.y)) > c.radius, f"{letter} on a hole"


def test_a_grille_is_one_row_of_the_list_with_its_middle() -> None:
    found = hole_list(scene(), scene().faces[FaceName.LID])
    (row,) = [r for r in found.rows if r[1].startswith("sounder")]
    assert row[1:] == ("sounder, holes", "19 × Ø3", "drill 3", "50 right", "15 to FRONT")
    groups = numbered(openings_on(scene(), FaceName.LID))
    assert [g.number for g in groups] == list(range(1, len(groups) + 1))
    assert sum(len(g.openings) for g in groups) == len(openings_on(scene(), FaceName.LID))


def test_the_body_behind_a_grille_is_shown() -> None:
    lid = page_rounds()[page_with("LID")]
    middle = [c for c in lid if abs(c.radius - 18.0) < WITHIN]
    assert len(middle) == 1
    holes = [c for c in lid if abs(c.radius - 1.5) < WITHIN]
    x = sum(c.x for c in holes if math.dist((c.x, c.y), (middle[0].x, middle[0].y)) < 15) / 19
    assert x == pytest.approx(middle[0].x, abs=WITHIN)


# --- files -----------------------------------------------------------------------------------


def dxf(name: str) -> Any:
    data = io.TextIOWrapper(io.BytesIO(dxf_bytes(cut_files(scene())[name])), encoding="utf-8")
    return ezdxf.read(data)  # type: ignore[attr-defined]


def test_ezdxf_reads_every_hole_of_a_grille_on_the_drill_layer() -> None:
    document = dxf("face-lid")
    circles = document.modelspace().query("CIRCLE")
    vents = {(round(o.across, 3), round(o.up, 3)) for o in of("sounder")}
    drilled = [c for c in circles if c.dxf.layer == "drill" and c.dxf.radius == 1.5]
    assert {(round(c.dxf.center.x, 3), round(c.dxf.center.y, 3)) for c in drilled} == vents
    assert len(drilled) == 19


def test_a_countersink_is_marked_but_never_cut() -> None:
    document = dxf("face-lid")
    circles = document.modelspace().query("CIRCLE")
    sinks = [c for c in circles if c.dxf.radius == pytest.approx(3.15)]
    assert len(sinks) == 4
    assert {c.dxf.layer for c in sinks}.isdisjoint({"cut", "drill", "edge of the face"})


def test_gdal_reads_keys_flats_and_slots_as_closed_cuts(tmp_path: Path) -> None:
    path = tmp_path / "face.dxf"
    shapes: dict[str, list[Any]] = {}
    for name in ("right", "front", "back"):
        path.write_bytes(dxf_bytes(cut_files(scene())[f"face-{name}"]))
        _, _, geometry, fields = pyogrio.raw.read(path, columns=["Layer"])
        shapes[name] = [
            shapely.from_wkb(g)
            for g, layer in zip(geometry, fields[0], strict=True)
            if layer == "cut"
        ]
    assert all(shape.is_closed for found in shapes.values() for shape in found)
    sizes = {
        name: sorted((round(s.bounds[2] - s.bounds[0], 2), round(s.bounds[3] - s.bounds[1], 2))
                     for s in found)
        for name, found in shapes.items()
    }  # fmt: skip
    # 9.6 with 8.7 between flats; 12 with a key 0.9 deeper; slots 6 × 3.2; six of 3 × 15.
    # GDAL turns arcs into chords whose ends lie on them, so that a round is a little smaller.
    assert sizes["right"] == [pytest.approx(s, abs=0.02) for s in ((9.6, 8.7), (12.0, 12.9))]
    slots = [s for s in sizes["front"] if max(s) < 10]
    assert slots == [pytest.approx(s, abs=0.02) for s in ((3.2, 6.0), (6.0, 3.2))]
    assert sizes["back"] == [pytest.approx((3.0, 15.0), abs=0.02)] * 6


def test_svgelements_reads_the_same_holes() -> None:
    data = svg_bytes(cut_files(scene())["face-lid"])
    px = 96 / 25.4
    read = svgelements.SVG.parse(io.BytesIO(data), ppi=96.0)
    circles = [e for e in read.elements() if isinstance(e, svgelements.Circle)]
    sizes = [round(float(c.implicit_rx) / px, 3) for c in circles]
    if not circles:  # drawn as arcs
        paths = [svgelements.Path(e) for e in read.elements() if isinstance(e, svgelements.Shape)]
        boxes = [p.bbox() for p in paths]
        sizes = [round((b[2] - b[0]) / 2 / px, 3) for b in boxes if b]
    assert sizes.count(1.5) == 19
    assert sizes.count(1.7) == 4


def test_a_jig_guides_every_hole_of_a_grille() -> None:
    made = jig(scene(), "back")
    guides = {(round(g.x, 3), round(g.y, 3)) for g in made.guides}
    assert {(round(o.across, 3), round(o.up, 3)) for o in of("air")} <= guides


# --- words and waste -------------------------------------------------------------------------

STEPS = (Step(Tool.DRILL, 3.0), Step(Tool.SAW, 3.0), Step(Tool.FILE, 3.0))


@pytest.mark.parametrize(
    ("changes", "size", "short", "long"),
    [
        ({"diameter": 3.4, "sink": 6.3, "steps": STEPS[:1]}, "Ø3.4, countersunk Ø6.3",
         "3 › sink 6.3", "drill 3, countersink 90° outside to 6.3, 1.45 deep"),
        ({"cut": Cut.DOUBLE_D, "height": 11.0}, "Ø12, 11 between flats", "3 › 8 › 12",
         "drill 3, drill 8, step bit 12, file the flats last"),
        ({"cut": Cut.KEYED, "width": 2.0, "height": 1.0}, "Ø12, key 2 × 1", "3 › 8 › 12",
         "drill 3, drill 8, step bit 12, file the key last"),
        ({"cut": Cut.OBLONG, "diameter": 0.0, "width": 9.0, "height": 3.0, "steps": STEPS},
         "slot 9 × 3, round ends", "3 holes 3, file",
         "3 holes 3, the ends first; saw and file between them"),
        ({"cut": Cut.OBLONG, "diameter": 0.0, "width": 9.0, "height": 3.0, "steps": ()},
         "slot 9 × 3, round ends", "saw, file", "too narrow for a bit: saw and file"),
    ],
)  # fmt: skip
def test_what_is_said_of_an_opening(
    changes: dict[str, Any], size: str, short: str, long: str
) -> None:
    hole = opening(**changes)
    assert (size_words(hole), short_steps(hole), step_words(hole)) == (size, short, long)


@pytest.mark.parametrize("long", [3.2, 5.0, 6.0, 9.0, 14.7, 40.0])
@pytest.mark.parametrize("turn", [0.0, 90.0])
def test_holes_of_a_slot_stay_in_it_and_leave_little(long: float, turn: float) -> None:
    slot = opening(
        cut=Cut.OBLONG, diameter=0.0, width=long, height=3.2, turn=turn, across=0.0, up=0.0,
        steps=STEPS,
    )  # fmt: skip
    waste = waste_of(slot, NO_SHOP)
    assert waste is not None
    off = (long - 3.2) / 2
    final = shapely.buffer(shapely.LineString([(-off, 0), (off, 0)]), 1.6, quad_segs=64)
    holes = shapely.union_all(
        [shapely.buffer(shapely.Point(p), 1.5, quad_segs=64) for p in waste.holes]
    )
    assert shapely.covers(shapely.buffer(final, 1e-3), holes)
    assert waste.left == pytest.approx(shapely.area(final) - shapely.area(holes), rel=0.01)
    xs = sorted(x for x, _ in waste.holes)
    assert xs[0] == pytest.approx(-off) and xs[-1] == pytest.approx(off)
    assert all(b - a <= 4.0 + 1e-9 for a, b in pairwise(xs))
