"""The paper dummy: nets that fold to the right size, boards with the places of what they carry."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from fit.commands.app import run
from fit.commands.status import Status
from fit.draw.also import Also
from fit.draw.drawing import Circle, Drawing, Line, Operation, item_box
from fit.draw.drawing import Path as Way
from fit.draw.dummy import dummy_units
from fit.draw.extras import extra_pages
from fit.draw.nets import TAB, angle_net, box_net
from fit.draw.pages import Unit
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.geometry.shapes import Block as Brick
from fit.model.part import Board
from fit.trade.paper import PaperName
from fit.units import Length
from tests.conftest import ROOT
from tests.draw_scenes import boards, large, small

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"
mm = st.floats(1.5, 90).map(lambda v: round(v, 2))


def pieces(drawing: Drawing) -> list[Any]:
    """What a net falls into along its outline and folds, in shapely."""
    (outline,) = (i for i in drawing.on(Operation.CUT) if isinstance(i, Way))
    ring = shapely.LinearRing([(n.x, n.y) for n in outline.nodes])
    folds = [
        shapely.LineString([i.start, i.end])
        for i in drawing.on(Operation.FOLD)
        if isinstance(i, Line)
    ]
    lines = shapely.node(shapely.union_all([ring, *folds]))
    return list(shapely.get_parts(shapely.polygonize([lines])))


def sides(piece: Any) -> tuple[float, float]:
    x0, y0, x1, y1 = piece.bounds
    return x1 - x0, y1 - y0


@given(mm, mm, mm)
def test_a_box_net_folds_to_its_size(w: float, d: float, h: float) -> None:
    net = box_net("part", w, d, h)
    found = pieces(net.drawing)
    assert len(found) == 13
    left = found[0].bounds
    box = shapely.union_all(found).bounds
    assert box[0] >= -1e-9
    assert box[2] <= net.width + 1e-6
    assert box[3] <= net.height + 1e-6
    assert len(left) == 4
    whole = [p for p in found if p.area == pytest.approx(sides(p)[0] * sides(p)[1], rel=1e-6)]
    assert len(whole) >= 5
    middle = shapely.Point((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    (top,) = [p for p in found if p.contains(middle)]
    assert sides(top) == pytest.approx((w, d), abs=1e-6)
    flaps = [p for p in found if p is not top and p.intersection(top).length > 1e-6]
    want = sorted([(w, h), (w, h), (h, d), (h, d)])
    assert [pytest.approx(s, abs=1e-6) for s in want] == sorted(
        (round(sides(p)[0], 6), round(sides(p)[1], 6)) for p in flaps
    )
    tabs = [p for p in found if p is not top and p not in flaps]
    assert len(tabs) == 8
    for tab in tabs:
        # Each hangs on one flap, by the whole of a flap's edge.
        hung = [p.intersection(tab).length for p in flaps]
        assert sorted(hung)[-1] == pytest.approx(max(hung))
        assert max(hung) in (pytest.approx(w), pytest.approx(d), pytest.approx(h))
        assert min(sides(tab)) <= TAB + 1e-6


def test_a_box_without_a_height_is_refused() -> None:
    with pytest.raises(ValueError, match="cannot be folded"):
        box_net("flat", 10, 10, 0)


def test_an_angle_has_two_legs_and_a_line_for_the_lifted_board() -> None:
    net = angle_net("stand", 70, 8, 0.6)
    low, high = sorted(pieces(net.drawing), key=lambda p: float(p.bounds[1]))
    assert sides(low) == sides(high) == (70, 8)
    (line,) = (i for i in net.drawing.on(Operation.GUIDE) if isinstance(i, Line))
    assert line.start[1] - high.bounds[1] == pytest.approx(0.6)
    assert angle_net("stand", 70, 8, 0.0).drawing.on(Operation.GUIDE) == ()


def unit_of(scene: Scene, name: str) -> Unit:
    return next(u for u in dummy_units(scene) if u.name == f"dummy {name}")


def nets(unit: Unit) -> dict[str, tuple[float, float]]:
    """Size of the top of each net with a top, by its name."""
    found = {}
    for (block,) in unit.plates:
        parts = pieces(block.drawing)
        if len(parts) == 13:
            top = max(parts, key=lambda p: sum(1 for q in parts if p.intersection(q).length > 1e-6))
            found[block.drawing.name.removeprefix("net of ")] = sides(top)
    return found


def test_a_board_is_there_with_the_net_of_each_zone() -> None:
    scene = small()
    unit = unit_of(scene, "main_board")
    placed = next(b for b in scene.boards if b.name == "main_board")
    drawing = unit.cells[0].view.drawing
    holes = [i for i in drawing.on(Operation.DRILL) if isinstance(i, Circle)]
    assert [h.centre for h in holes] == [(h.x, h.y) for h in placed.holes]
    tops = nets(unit)
    for zone in placed.board.zones:
        name = next(n for n in tops if n.startswith(zone.name))
        assert tops[name] == pytest.approx((zone.width, zone.depth))
        foot = (zone.x, zone.y, zone.x + zone.width, zone.y + zone.depth)
        assert any(
            (b.x0, b.y0, b.x1, b.y1) == pytest.approx(foot)
            for b in (item_box(i) for i in drawing.on(Operation.GUIDE))
        )
    assert any("underside" in name for name in tops)


def test_the_standing_boards_place_is_where_it_stands() -> None:
    scene = small()
    drawing = unit_of(scene, "main_board").cells[0].view.drawing
    lying = next(b for b in scene.boards if b.name == "main_board")
    slabs = [b for b in scene.bodies if b.owner == "display_board" and b.name == "slab"]
    corners = []
    for s in slabs:
        assert isinstance(s.shape, Brick)
        x, y, z = s.shape.dx / 2, s.shape.dy / 2, s.shape.dz / 2
        spots = ((-x, -y, -z), (x, y, z), (-x, y, -z), (x, -y, z))
        corners += [lying.pose.inside(s.pose.point(spot)) for spot in spots]
    want = (
        min(c[0] for c in corners), min(c[1] for c in corners),
        max(c[0] for c in corners), max(c[1] for c in corners),
    )  # fmt: skip
    boxes = [item_box(i) for i in drawing.on(Operation.GUIDE)]
    assert any((b.x0, b.y0, b.x1, b.y1) == pytest.approx(want, abs=1e-6) for b in boxes)


def test_the_display_and_the_blocks_of_a_standing_board_are_there() -> None:
    scene = small()
    unit = unit_of(scene, "display_board")
    names = [block.drawing.name for (block,) in unit.plates]
    assert names.count("net of block of display_board") == 2
    assert names.count("angle of display_board") == 1
    # The digits: module 50.3 × 19 (see the scenes).
    assert nets(unit)["readout"] == pytest.approx((50.3, 19))
    holders = next(u for u in dummy_units(scene) if u.name == "holders")
    assert nets(holders)["cells"] == pytest.approx((58, 47))


def test_low_things_stay_flat_and_builds_without_boards_have_no_dummy() -> None:
    scene = small()
    build = scene.build
    main = build.part("main_board")
    assert isinstance(main.part, Board)
    flat = tuple(replace(zone, height=Length(0.3)) for zone in main.part.zones)
    changed = replace(main, part=replace(main.part, zones=flat))
    parts = tuple(changed if u is main else u for u in build.parts)
    assert nets(unit_of(assemble(replace(build, parts=parts)), "main_board")) == {}
    assert dummy_units(large()) == ()
    assert extra_pages(large(), Also(dummy=True), PaperName.A4, "0") == {}


@pytest.mark.parametrize("scene", [small(), boards()], ids=["small", "boards"])
@pytest.mark.parametrize("paper", list(PaperName)[:2])
def test_it_all_goes_on_paper(scene: Scene, paper: PaperName) -> None:
    pages = extra_pages(scene, Also(dummy=True, label=True), paper, "0")["dummy.pdf"]
    drawn = [placed.drawing for page in pages for placed in page.drawings]
    cuts = [i for d in drawn for i in d.on(Operation.CUT) if isinstance(i, Way)]
    want = [
        i
        for unit in dummy_units(scene)
        for d in (
            *(c.view.drawing for c in unit.cells),
            *(ways[0].drawing for ways in unit.plates),
        )
        for i in d.on(Operation.CUT)
    ]
    assert len(cuts) == len(want)


def test_the_dummy_is_a_file_of_its_own(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run(["make", str(HIVE), "--out", str(out), "--dummy"]) == Status.GOOD
    document = pypdfium2.PdfDocument((out / "dummy.pdf").read_bytes())
    told = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    for words in ("amplifier in its socket", "block of display_board", "cells", "stands here"):
        assert words in told
    assert not (out / "label.pdf").exists()
