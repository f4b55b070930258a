"""The front label: register, letters, scales, and what keeps clear of what."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import shapely

from fit.check.legends import legends as rule_of_legends
from fit.check.rule import Inspection
from fit.commands.app import run
from fit.commands.status import Status
from fit.draw.drawing import Anchor, Circle, Line, Operation, Text, item_box
from fit.draw.ghosts import standing_out
from fit.draw.label import label_units, label_view, legends
from fit.findings import Grade
from fit.geometry.assemble import assemble
from fit.geometry.legends import reading_turn, scale_spots
from fit.geometry.scene import Cut, Scene
from fit.model.build import Scale, Used
from fit.model.part import BushingPart, Disc, Hull
from fit.model.words import Entry, FaceName
from fit.units import Length as L
from tests.conftest import ROOT
from tests.draw_scenes import at, build, button, large, small, tray

KNOB = BushingPart(
    name="pot",
    bushing=L(7),
    neck=L(8),
    entry=Entry.INSIDE,
    hull=Hull(diameter=L(16), depth=L(9)),
    hole=L(7.2),
    knob=Disc(diameter=L(18), thickness=L(14)),
)
HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"


def labelled(*parts: Used, **changes: Any) -> Scene:
    return assemble(build(tray(), *parts, **changes))


def knob(name: str = "level", **changes: Any) -> Used:
    given: dict[str, Any] = {"part": KNOB, "on": FaceName.FRONT, "at": at(0, 28)}
    return Used(name=name, **(given | changes))


def words(scene: Scene, face: FaceName = FaceName.FRONT) -> dict[str, Text]:
    view = label_view(scene, scene.faces[face])
    return {t.words: t for t in view.drawing.on(Operation.NOTE) if isinstance(t, Text)}


def test_letters_are_as_high_as_the_distance_asks_for() -> None:
    for distance in (350, 500, 1000):
        said = words(labelled(knob(legend="LEVEL"), read_from=L(distance)))
        # NUREG-0700: H = 6.283·D·(minutes of arc)/21600, 20 minutes preferred.
        assert said["LEVEL"].height == pytest.approx(6.283 * distance * 20 / 21600, rel=1e-3)


def test_a_legend_keeps_off_its_knob_by_two_millimetres() -> None:
    text = words(labelled(knob(legend="LEVEL")))["LEVEL"]
    box = text.box()
    assert box.y0 - 28 >= 9 + 2 - 1e-6
    # Centre of the letters at least knob radius + half their height + 2 from the axis.
    assert text.at[1] - 28 >= 9 + text.height / 2 + 2 - 0.7
    assert text.at[0] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("stands_on", "face", "turn"),
    [
        (FaceName.FLOOR, FaceName.FRONT, 0),
        (FaceName.LID, FaceName.FRONT, 180),
        (FaceName.LID, FaceName.BACK, 180),
        (FaceName.FLOOR, FaceName.LID, 0),
        (FaceName.BACK, FaceName.LID, 180),
        (FaceName.LEFT, FaceName.FRONT, 270),
        (FaceName.RIGHT, FaceName.FRONT, 90),
    ],
)
def test_letters_are_read_the_right_way_up_in_use(
    stands_on: FaceName, face: FaceName, turn: int
) -> None:
    scene = labelled(knob(legend="LEVEL", on=face, at=at(0, 28)), stands_on=stands_on)
    side = scene.faces[face]
    assert reading_turn(scene, side) == turn
    text = words(scene, face)["LEVEL"]
    assert text.turn == turn
    # The letters' own up, in the box frame, against what is up in use.
    a = math.radians(90 + turn)
    frame = side.frame
    up = [frame.x[k] * math.cos(a) + frame.y[k] * math.sin(a) for k in range(3)]
    down = scene.faces[stands_on].frame.z
    lies = abs(sum(frame.z[k] * down[k] for k in range(3))) > 0.7
    if not lies:
        assert sum(up[k] * down[k] for k in range(3)) < -0.99
        # It stands above its knob, as the box is used.
        away = (text.at[0], text.at[1] - 28)
        assert away[0] * math.cos(a) + away[1] * math.sin(a) > 9 + 2


def test_rims_are_where_the_openings_are_and_nothing_else_is_cut() -> None:
    scene = small()
    for unit in label_units(scene):
        (cell,) = unit.cells
        face = FaceName(unit.name.split()[1].lower())
        openings = [o for o in scene.openings if o.face is face]
        rims = cell.view.drawing.on(Operation.CUT)
        for opening in openings:
            if opening.cut is Cut.ROUND:
                spot = (opening.across, opening.up)
                assert any(
                    isinstance(r, Circle)
                    and math.dist(r.centre, spot) < 1e-9
                    and r.radius == pytest.approx(opening.diameter / 2)
                    for r in rims
                )
        (trim,) = cell.view.drawing.on(Operation.EDGE)
        room = item_box(trim)
        flat = shapely.Polygon(scene.faces[face].flat).bounds
        assert (room.x0, room.y0, room.x1, room.y1) == pytest.approx(flat, abs=1e-6)


def test_marks_spread_evenly_over_the_turn() -> None:
    spots = scale_spots(Scale())
    assert [n for n, _ in spots] == list(range(11))
    assert [a for _, a in spots] == pytest.approx([-150 + 30 * n for n in range(11)])
    round_about = scale_spots(Scale(first=1, last=13, start=0, end=360))
    assert [n for n, _ in round_about] == list(range(1, 13))
    assert round_about[3][0] == 4
    assert round_about[3][1] == pytest.approx(90)


@pytest.mark.parametrize("stands_on", [FaceName.FLOOR, FaceName.LID])
def test_a_scale_stands_round_its_knob_clockwise_from_up_in_use(stands_on: FaceName) -> None:
    scene = labelled(knob(scale=Scale()), stands_on=stands_on)
    sign = 1 if stands_on is FaceName.FLOOR else -1
    said = words(scene)
    for number in range(11):
        text = said[str(number)]
        x, y = sign * text.at[0], sign * (text.at[1] - 28)
        clockwise = math.degrees(math.atan2(x, y))
        assert clockwise == pytest.approx(-150 + 30 * number, abs=1e-6)
        assert item_box(text).grown(-0.01).has(text.at)
        # Numbers never lie under the knob.
        box = shapely.box(*_bounds(text))
        assert box.distance(shapely.Point(0, 28)) > 9 + 1
    view = label_view(scene, scene.faces[FaceName.FRONT])
    ticks = [i for i in view.drawing.on(Operation.NOTE) if isinstance(i, Line)]
    assert len(ticks) == 11
    for tick in ticks:
        assert math.dist(tick.start, (0, 28)) == pytest.approx(10)


def _bounds(text: Text) -> tuple[float, float, float, float]:
    box = text.box()
    return box.x0, box.y0, box.x1, box.y1


def test_a_long_scale_is_numbered_in_round_steps() -> None:
    said = words(labelled(knob(scale=Scale(last=60))))
    assert sorted(int(w) for w in said) == [0, 10, 20, 30, 40, 50, 60]


def test_nothing_printed_lies_on_anything_else() -> None:
    crowd = [
        knob(f"k{n}", at=at(-50 + 25 * n, 30), legend=f"LEVEL {n}", scale=Scale(last=5))
        for n in range(5)
    ]
    scene = labelled(*crowd)
    face = scene.faces[FaceName.FRONT]
    printed = legends(scene, face)
    said = [t for t in printed.items if isinstance(t, Text)]
    shown = [t for t in said if t.words.startswith("LEVEL")]
    assert len(shown) + len(printed.lost) == 5
    assert shown
    solid = [shapely.box(g.box.x0, g.box.y0, g.box.x1, g.box.y1) for g in standing_out(scene, face)]
    boxes = [shapely.box(*_bounds(t)) for t in shown]
    flat = shapely.Polygon(face.flat)
    for n, box in enumerate(boxes):
        assert box.within(flat)
        assert all(not box.intersects(other) for other in boxes[n + 1 :])
        assert all(box.distance(other) > 0.4 for other in solid)
        others = [shapely.box(*_bounds(t)) for t in said if not t.words.startswith("LEVEL")]
        assert all(not box.intersects(other) for other in others)


def test_a_legend_without_room_is_told() -> None:
    words_ = "an endless legend that goes on and on beyond the edge of any box there ever was"
    scene = labelled(knob(legend=words_))
    view = label_view(scene, scene.faces[FaceName.FRONT])
    assert view.facts == (f"No room for: {words_}.",)
    assert words_ not in words(scene)


@pytest.mark.parametrize(
    "said", ["LEVEL", "LEVEL OF THE WATER IN THE BUTT BEHIND THE HOUSE IN SUMMER"]
)
def test_what_the_label_leaves_out_the_rule_tells(said: str) -> None:
    scene = labelled(knob(legend=said))
    (found,) = rule_of_legends.check(Inspection(scene))
    assert (found.grade is Grade.CLASH) is bool(legends(scene, scene.faces[FaceName.FRONT]).lost)
    assert said in found.say
    if found.grade is not Grade.CLASH:
        box = words(scene)[said].box()
        assert found.have == pytest.approx(box.y0 - (28 + 9))


def test_without_legends_there_are_only_rims() -> None:
    for unit in label_units(large()):
        assert unit.cells[0].view.drawing.on(Operation.NOTE) == ()


def test_screws_of_a_part_are_no_place_for_its_legend() -> None:
    scene = labelled(
        Used(name="a", part=button(), on=FaceName.FRONT, at=at(0, 20), legend="START"),
        Used(name="b", part=button(6), on=FaceName.FRONT, at=at(0, 31)),
    )
    box = shapely.box(*_bounds(words(scene)["START"]))
    for opening in scene.openings:
        hole = shapely.Point(opening.across, opening.up).buffer(opening.diameter / 2)
        assert not box.intersects(hole)


def test_the_label_is_a_file_of_its_own(tmp_path: Path) -> None:
    text = HIVE.read_text().replace("{use: press-12, on", "{legend: Ready, use: press-12, on", 1)
    path = tmp_path / "hive-scale.yaml"
    path.write_text(text)
    made = []
    for name in ("one", "two"):
        out = tmp_path / name
        assert run(["make", str(path), "--out", str(out), "--label"]) == Status.GOOD
        made.append((out / "label.pdf").read_bytes())
        assert not (out / "dummy.pdf").exists()
    assert made[0] == made[1]
    document = pypdfium2.PdfDocument(made[0])
    told = " ".join(page.get_textpage().get_text_range() for page in document)
    document.close()
    assert "Ready" in told
    assert "lay a bank card here" in told
    assert "Label for" in told or "label RIGHT" in told


def test_letters_keep_their_anchor_in_the_middle() -> None:
    text = words(labelled(knob(legend="LEVEL")))["LEVEL"]
    assert text.anchor is Anchor.MIDDLE
    assert replace(text, turn=0.0).box().height == pytest.approx(text.box().height)


def test_only_faces_with_something_to_read_get_a_label() -> None:
    mute = [Used(name="b", part=button(), on=FaceName.RIGHT, at=at(0, 20)),
            Used(name="c", part=button(), on=FaceName.FLOOR, at=at(0, 0))]  # fmt: skip
    told = labelled(knob(legend="Level"), *mute)
    assert [u.name for u in label_units(told)] == ["label FRONT"]
    # Words that found no room are told there, too.
    endless = labelled(knob(legend="an endless legend " * 9), *mute)
    assert [u.name for u in label_units(endless)] == ["label FRONT"]
    # Nothing to read at all: rims for what is seen in use, never for what it stands on.
    plain = labelled(knob(legend=""), *mute)
    assert [u.name for u in label_units(plain)] == ["label FRONT", "label RIGHT"]
