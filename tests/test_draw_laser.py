"""Kerf and holding tabs: compared with shapely's own offsets."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from fit.commands.app import run
from fit.commands.status import Status
from fit.draw.cutfiles import board_cuts, cut_files, face_cuts, plate_cuts
from fit.draw.drawing import Arc, Circle, Item, Line, Operation, path_pieces
from fit.draw.drawing import Path as Way
from fit.draw.laser import LEAST_TABBED, Laser, Tabs
from fit.geometry.offset import NothingLeft, parallel
from fit.geometry.paths import ArcSeg, LineSeg, Outline, outline
from fit.geometry.paths import Circle as Ring
from fit.geometry.scene import Cut
from fit.model.words import FaceName
from tests.conftest import ROOT
from tests.draw_scenes import boards, opening, small

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"
KERF = 0.3
Captured = pytest.CaptureFixture[str]


def sampled(item: Item) -> list[tuple[float, float]]:
    """Points along an item in the order it runs, arcs every degree or so."""
    if isinstance(item, Circle):
        return sampled(Arc(item.centre, item.radius, 0.0, 360.0, item.pen))
    if isinstance(item, Line):
        return [item.start, item.end]
    if isinstance(item, Arc):
        count = max(2, math.ceil(item.end - item.start))
        step = (item.end - item.start) / count
        return [item.at(item.start + n * step) for n in range(count + 1)]
    assert isinstance(item, Way)
    return [p for piece in path_pieces(item) for p in sampled(piece)]


def area(items: tuple[Item, ...]) -> shapely.Polygon:
    """What closed items enclose, each taken as a ring."""
    (item,) = items
    return shapely.Polygon(sampled(item))


def of_outline(path: Outline) -> shapely.Polygon:
    spots: list[tuple[float, float]] = []
    for s in path.segments:
        if isinstance(s, LineSeg):
            spots += [s.start, s.end]
            continue
        begin, sweep = (0.0, 360.0) if isinstance(s, Ring) else (s.begin, s.finish - s.begin)
        for n in range(361):
            a = math.radians(begin + sweep * n / 360)
            spots.append(
                (s.centre[0] + s.radius * math.cos(a), s.centre[1] + s.radius * math.sin(a))
            )
    return shapely.Polygon(spots)


def _middle(s: LineSeg | ArcSeg | Ring) -> tuple[float, float]:
    if isinstance(s, LineSeg):
        return (s.start[0] + s.end[0]) / 2, (s.start[1] + s.end[1]) / 2
    a = math.radians((s.begin + s.finish) / 2 if isinstance(s, ArcSeg) else 77.0)
    return s.centre[0] + s.radius * math.cos(a), s.centre[1] + s.radius * math.sin(a)


SHAPES = {
    "round": opening(),
    "window": opening(cut=Cut.RECTANGLE, width=54.4, height=22.0),
    "with rounds": opening(cut=Cut.RECTANGLE, width=30.0, height=12.0, corner_radius=2.0),
    "with tiny rounds": opening(cut=Cut.RECTANGLE, width=30.0, height=12.0, corner_radius=0.1),
    "turned": opening(cut=Cut.RECTANGLE, width=30.0, height=12.0, corner_radius=3.0, turn=35.0),
    "d": opening(cut=Cut.D_FLAT, diameter=9.5, height=8.7, turn=180.0),
    "half a d": opening(cut=Cut.D_FLAT, diameter=9.5, height=3.0, turn=20.0),
}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("by", [-0.8, -0.15, 0.15, 1.0])
def test_an_outline_beside_an_outline_is_everywhere_as_far_away(name: str, by: float) -> None:
    exact = outline(SHAPES[name])
    before = of_outline(exact)
    moved = parallel(exact, by)
    after = of_outline(moved)
    assert after.within(before) == (by < 0)
    # The polygons stand for arcs with chords of a degree: 0.001 mm inside at these radii.
    away = [before.exterior.distance(shapely.Point(p)) for p in after.exterior.coords]
    assert min(away) > abs(by) - 0.002
    if by < 0:
        # Nothing sticks out at the corners, as it does outside: it is the inset shapely makes.
        want = before.buffer(by, join_style="mitre", mitre_limit=20)
        assert shapely.hausdorff_distance(after, want) < 0.003
    for segment in moved.segments:
        middle = _middle(segment)
        assert before.exterior.distance(shapely.Point(middle)) == pytest.approx(abs(by), abs=0.002)
    for one, following in zip(
        moved.segments, [*moved.segments[1:], moved.segments[0]], strict=True
    ):
        if not isinstance(one, Ring) and not isinstance(following, Ring):
            assert math.dist(one.end, following.start) < 1e-6


@given(st.floats(0.01, 0.4), st.floats(0.0, 3.0), st.floats(0.0, 360.0))
def test_there_and_back_is_the_same_outline(by: float, radius: float, turn: float) -> None:
    shape = opening(cut=Cut.RECTANGLE, width=20.0, height=9.0, corner_radius=radius, turn=turn)
    exact = outline(shape)
    if 0 < radius <= by + 1e-6:
        return  # its rounds are gone for good
    back = parallel(parallel(exact, -by), by)
    for one, other in zip(back.segments, exact.segments, strict=True):
        assert not isinstance(one, Ring)
        assert not isinstance(other, Ring)
        assert one.start == pytest.approx(other.start, abs=1e-6)
        assert one.end == pytest.approx(other.end, abs=1e-6)


def test_what_is_narrower_than_the_kerf_is_refused() -> None:
    for shape in (
        opening(diameter=1.0),
        opening(cut=Cut.RECTANGLE, width=8.0, height=1.0),
        opening(cut=Cut.RECTANGLE, width=0.9, height=0.9, corner_radius=0.45),
    ):
        with pytest.raises(NothingLeft):
            parallel(outline(shape), -0.5)


def test_two_arcs_and_an_arc_and_a_line_meet_where_they_cross() -> None:
    # A lens of two arcs, radius 5, middles 6 apart: moved in by 1, radius 4.
    half = math.degrees(math.acos(3 / 5))
    lens = Outline((
        ArcSeg((-3.0, 0.0), 5.0, -half, half), ArcSeg((3.0, 0.0), 5.0, 180 - half, 180 + half)
    ))  # fmt: skip
    tip = parallel(lens, -1.0).segments[0]
    assert isinstance(tip, ArcSeg)
    assert tip.end == pytest.approx((0.0, math.sqrt(16 - 9)), abs=1e-9)
    with pytest.raises(NothingLeft):
        parallel(lens, -2.5)


def test_openings_are_cut_inside_and_boards_outside_their_line() -> None:
    scene = small()
    laser = Laser(kerf=KERF)
    front = scene.faces[FaceName.FRONT]
    plain = area(face_cuts(scene, front).on(Operation.CUT))
    inner = area(face_cuts(scene, front, laser).on(Operation.CUT))
    want = plain.buffer(-KERF / 2, join_style="mitre")
    assert shapely.hausdorff_distance(inner, want) < 1e-6
    edge = face_cuts(scene, front, laser).on(Operation.EDGE)
    assert edge == face_cuts(scene, front).on(Operation.EDGE)
    (plate,) = scene.plates
    larger = area(plate_cuts(plate, laser).on(Operation.CUT))
    assert larger.bounds == pytest.approx(
        (-KERF / 2, -KERF / 2, plate.width + KERF / 2, plate.height + KERF / 2)
    )


def test_a_notched_board_grows_and_its_cut_outs_and_holes_shrink() -> None:
    cut = next(b for b in boards().boards if b.name == "cut board")
    plain, moved = board_cuts(cut), board_cuts(cut, Laser(kerf=KERF))
    rings = [shapely.Polygon(sampled(i)) for i in plain.on(Operation.CUT)]
    whole = max(rings, key=lambda r: r.area)
    want = whole.difference(next(r for r in rings if r is not whole)).buffer(
        KERF / 2, join_style="mitre"
    )
    got = [shapely.Polygon(sampled(i)) for i in moved.on(Operation.CUT)]
    outer = max(got, key=lambda r: r.area)
    assert outer.difference(next(r for r in got if r is not outer)).symmetric_difference(
        want
    ).area == pytest.approx(0.0, abs=1e-6)
    pairs = zip(plain.on(Operation.DRILL), moved.on(Operation.DRILL), strict=True)
    for before, after in pairs:
        assert isinstance(before, Circle)
        assert isinstance(after, Circle)
        assert before.radius - after.radius == pytest.approx(KERF / 2)


def _length(item: Item) -> float:
    return float(shapely.LineString(sampled(item)).length)


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_tabs_are_left_uncut_in_number_and_width(kerf: float) -> None:
    scene = small()
    tabs = Tabs(count=3, width=0.5)
    for name, drawing in cut_files(scene, Laser(kerf=kerf, tabs=tabs)).items():
        whole = cut_files(scene, Laser(kerf=kerf))[name]
        for operation in (Operation.CUT, Operation.DRILL):
            rings = [i for i in whole.on(operation) if isinstance(i, Way | Circle)]
            tabbed = [r for r in rings if max(_size(r)) >= LEAST_TABBED]
            left = sum(_length(r) for r in whole.on(operation)) - sum(
                _length(i) for i in drawing.on(operation)
            )
            # Half the kerf is burnt off a tab at either end.
            assert left == pytest.approx(len(tabbed) * 3 * (0.5 + kerf), abs=0.02), name
            around = shapely.union_all([shapely.LineString(sampled(i)) for i in rings])
            for item in drawing.on(operation) if rings else ():
                if isinstance(item, Arc) or name != "face-back":
                    assert all(around.distance(shapely.Point(p)) < 0.01 for p in sampled(item))


def _size(item: Item) -> tuple[float, float]:
    x0, y0, x1, y1 = shapely.LineString(sampled(item)).bounds
    return x1 - x0, y1 - y0


def test_the_tabs_of_a_round_hole_are_a_third_of_a_turn_apart() -> None:
    scene = small()
    right = face_cuts(scene, scene.faces[FaceName.RIGHT], Laser(tabs=Tabs(count=3, width=0.5)))
    at = next(o for o in scene.openings if o.face is FaceName.RIGHT)
    arcs = [
        i
        for i in right.on(Operation.DRILL)
        if isinstance(i, Arc) and math.dist(i.centre, (at.across, at.up)) < 1e-6
    ]
    ends = sorted(a.end % 360 for a in arcs)
    starts = sorted(a.start % 360 for a in arcs)
    gaps = [(s - e) % 360 for e in ends for s in starts]
    wide = math.degrees(0.5 / (at.diameter / 2))
    assert sum(1 for g in gaps if g == pytest.approx(wide)) == 3


def test_the_command_line_takes_kerf_and_tabs(tmp_path: Path, capsys: Captured) -> None:
    plain, made = tmp_path / "plain", tmp_path / "laser"
    assert run(["make", str(HIVE), "--out", str(plain)]) == Status.GOOD
    words = ["make", str(HIVE), "--out", str(made), "--kerf", "0.2 mm", "--tabs", "2x0.6"]
    assert run(words) == Status.GOOD
    for name in ("face-front.svg", "face-front.dxf", "board-main_board.svg"):
        assert (made / name).read_bytes() != (plain / name).read_bytes()
    assert (made / "sheets.pdf").read_bytes() == (plain / "sheets.pdf").read_bytes()
    assert "a kerf of 0.2 mm made up for, 2 tabs of 0.6 mm" in (made / "face-front.svg").read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--kerf", "thin"], "is not a length"),
        (["--kerf", "3"], "write 0 to 2 mm"),
        (["--kerf", "-0.1"], "write 0 to 2 mm"),
        (["--tabs", "3"], "such as 3x0.5"),
        (["--tabs", "0x1"], "such as 3x0.5"),
        (["--tabs", "3x0"], "write 0.05 to 20 mm"),
    ],
)
def test_nonsense_is_refused_in_words(
    words: list[str], said: str, tmp_path: Path, capsys: Captured
) -> None:
    given = ["make", str(HIVE), "--out", str(tmp_path / "no"), *words]
    assert run(given) == Status.WRONG_USE
    assert said in capsys.readouterr().err
    assert not (tmp_path / "no").exists()


def test_a_kerf_wider_than_a_hole_is_told_and_nothing_written(
    tmp_path: Path, capsys: Captured
) -> None:
    text = HIVE.read_text().replace("{use: press-12, on: right}", "{use: thin, on: right}", 1)
    (tmp_path / "parts").mkdir()
    (tmp_path / "builds").mkdir()
    (tmp_path / "builds" / "hive-scale.yaml").write_text(text)
    (tmp_path / "parts" / "thin.yaml").write_text(
        "part: thin\nkind: bushing\nsource: invented\nbushing: 1.2\nhole: 1.5\nneck: 8\n"
        "entry: inside\nhull: {diameter: 6, depth: 8}\n"
    )
    words = ["make", str(tmp_path / "builds" / "hive-scale.yaml"), "--out", str(tmp_path / "o")]
    code = run([*words, "--kerf", "1.6", "--anyway"])
    told = capsys.readouterr().err
    assert "leaves nothing of the opening of 'tare' in the right" in told
    assert code == Status.WRONG_USE
    assert not (tmp_path / "o").exists()
