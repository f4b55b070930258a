"""Drilling jigs, read back from STEP with cadquery's reader."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
import shapely

from fit.commands.app import run
from fit.commands.status import Status
from fit.geometry.box import Face
from fit.geometry.jig import NOTCH, THICK, NoSuchJig, jig, jig_names, write_jig
from fit.geometry.scene import Cut
from fit.model.words import FaceName
from fit.trade.drills import Tool
from tests.conftest import ROOT
from tests.draw_scenes import boards, crowded, small

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"
Captured = pytest.CaptureFixture[str]


def read(path: Path) -> Any:
    import cadquery

    return cadquery.importers.importStep(str(path)).val()


def rounds(shape: Any) -> list[tuple[float, float, float]]:
    """Middle and diameter of every upright cylinder that is a hole, not a rounded edge."""
    found = []
    for face in shape.Faces():
        if face.geomType() == "CYLINDER":
            own = face._geomAdaptor().Cylinder()
            at = own.Axis().Location()
            if math.isclose(face.Area(), 2 * math.pi * own.Radius() * THICK, rel_tol=1e-6):
                found.append((at.X(), at.Y(), 2 * own.Radius()))
    return sorted(found)


def flat_area(face: Face) -> float:
    """A face's area: its polygon less what its round corners take (plain geometry)."""
    return shapely.Polygon(face.outline).area - (4 - math.pi) * face.radius**2


@pytest.mark.parametrize("name", ["front", "right", "back", "lid"])
def test_a_faces_jig_is_its_outline_with_a_pilot_for_each_opening(
    name: str, tmp_path: Path
) -> None:
    scene = small()
    made = jig(scene, name)
    write_jig(made, tmp_path / "jig.step")
    shape = read(tmp_path / "jig.step")
    assert shape.isValid()
    face = scene.faces[FaceName(name)]
    box = shape.BoundingBox()
    xs, ys = [p[0] for p in face.outline], [p[1] for p in face.outline]
    assert (box.xmin, box.xmax) == pytest.approx((min(xs), max(xs)), abs=1e-4)
    assert (box.ymin, box.ymax) == pytest.approx((min(ys), max(ys)), abs=1e-4)
    assert (box.zmin, box.zmax) == pytest.approx((0, THICK), abs=1e-4)
    holes = rounds(shape)
    assert len(holes) == len(made.guides)
    for opening in scene.openings:
        if opening.face is face.name and opening.cut is Cut.ROUND:
            pilot = next(s.size for s in opening.steps if s.tool is Tool.DRILL)
            want = (opening.across, opening.up, min(pilot, opening.diameter))
            assert any(h == pytest.approx(want, abs=1e-5) for h in holes)
    taken = sum(math.pi * d * d / 4 for _, _, d in holes) + (NOTCH / 2) ** 2
    assert shape.Volume() == pytest.approx((flat_area(face) - taken) * THICK, rel=1e-6)


def test_a_windows_guides_lie_in_its_corners_inside_the_line() -> None:
    scene = small()
    window = next(o for o in scene.openings if o.face is FaceName.FRONT)
    guides = jig(scene, "front").guides
    assert len(guides) == 4
    for guide in guides:
        left = abs(guide.x - window.across) + guide.diameter / 2
        high = abs(guide.y - window.up) + guide.diameter / 2
        # 0.75 stays for the file (0.5 to 1 is usual; common practice, no source).
        assert window.width / 2 - left == pytest.approx(0.75)
        assert window.height / 2 - high == pytest.approx(0.75)


def test_the_notch_is_on_the_upper_edge_left_of_the_middle_and_clear_of_holes() -> None:
    for scene in (small(), crowded(), boards()):
        for name in jig_names(scene):
            made = jig(scene, name)
            assert made.notch is not None
            x, y = made.notch
            ends = [p for s in made.outline.segments for p in (s.start, s.end)]  # type: ignore[union-attr]
            assert y == pytest.approx(max(p[1] for p in ends))
            assert x < (min(p[0] for p in ends) + max(p[0] for p in ends)) / 2 - NOTCH
            for guide in made.guides:
                assert math.dist(made.notch, (guide.x, guide.y)) > NOTCH + guide.diameter / 2


def test_a_boards_jig_has_a_pilot_over_each_hole(tmp_path: Path) -> None:
    scene = small()
    placed = next(b for b in scene.boards if b.name == "main_board")
    write_jig(jig(scene, "main_board"), tmp_path / "jig.step")
    shape = read(tmp_path / "jig.step")
    holes = rounds(shape)
    assert [(round(x, 4), round(y, 4)) for x, y, _ in holes] == sorted(
        (round(h.x, 4), round(h.y, 4)) for h in placed.holes
    )
    assert all(d <= 3.2 for *_, d in holes)
    box = shape.BoundingBox()
    assert (box.xlen, box.ylen) == pytest.approx(tuple(placed.board.size), abs=1e-4)


def test_guides_leave_material_between_them() -> None:
    for scene in (small(), crowded(), boards()):
        for name in jig_names(scene):
            guides = jig(scene, name).guides
            for n, a in enumerate(guides):
                for b in guides[n + 1 :]:
                    apart = math.dist((a.x, a.y), (b.x, b.y)) - (a.diameter + b.diameter) / 2
                    assert apart > 0.9, name


def test_the_same_jig_gives_the_same_bytes(tmp_path: Path) -> None:
    for n in (1, 2):
        write_jig(jig(small(), "back"), tmp_path / f"{n}.step")
    assert (tmp_path / "1.step").read_bytes() == (tmp_path / "2.step").read_bytes()


def test_what_has_no_holes_has_no_jig() -> None:
    scene = small()
    assert "left" not in jig_names(scene)
    with pytest.raises(NoSuchJig, match="front, back, right, lid, main_board, display_board"):
        jig(scene, "lfet")


def test_the_command_line_makes_jigs_and_names_what_there_is(
    tmp_path: Path, capsys: Captured
) -> None:
    out = tmp_path / "out"
    words = ["make", str(HIVE), "--out", str(out)]
    assert run([*words, "--jig", "right", "--jig", "main_board", "--jig", "right"]) == Status.GOOD
    assert {p.name for p in out.glob("jig-*")} == {"jig-right.step", "jig-main_board.step"}
    capsys.readouterr()
    assert run([*words[:-1], str(tmp_path / "no"), "--jig", "top"]) == Status.WRONG_USE
    assert "no jig can be made for 'top'; there are front, back, right" in capsys.readouterr().err
    assert not (tmp_path / "no").exists()
