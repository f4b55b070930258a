"""Things on a sheet: never over each other, never outside, and what stands outside a face."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.commands.making import also_for
from fit.draw.asked import Asked, Ends
from fit.draw.cuts import numbered
from fit.draw.drawing import Box, Circle, Operation, Path, Style, item_box
from fit.draw.faces import face_view, openings_on
from fit.draw.ghosts import ghosts, standing_out
from fit.draw.packing import Parcel, Pull, pack, spread
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.draw.tables import Listing, joined, set_list
from fit.draw.waste import Shop
from fit.draw.words import window_notes
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Used, Window
from fit.model.part import Disc, TapedPart
from fit.model.words import FaceName, PlateHold
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from fit.units import Length as L
from tests.draw_ink import words
from tests.draw_scenes import DIGITS, GLAND, at, build, button

ROOMS = (Box(0, 50, 180, 250), Box(90, 0, 180, 250))

sides = st.floats(5, 90).map(lambda v: round(v, 1))
parcels = st.lists(
    st.builds(
        lambda w, h, pull, both: Parcel(sizes=((w, h), (h, w)) if both else ((w, h),), pull=pull),
        sides,
        sides,
        st.sampled_from(Pull),
        st.booleans(),
    ),
    min_size=1,
    max_size=8,
)


def apart(a: Box, b: Box, gap: float) -> bool:
    return (
        a.x1 + gap <= b.x0 + 1e-6
        or b.x1 + gap <= a.x0 + 1e-6
        or a.y1 + gap <= b.y0 + 1e-6
        or b.y1 + gap <= a.y0 + 1e-6
    )


@settings(max_examples=200, deadline=None)
@given(parcels)
def test_parcels_lie_in_a_room_and_keep_their_distance(wanted: list[Parcel]) -> None:
    places = pack(wanted, ROOMS, 5.0)
    if places is None:
        return
    for n, (parcel, box) in enumerate(zip(wanted, places, strict=True)):
        assert any(room.holds(box, 1e-6) for room in ROOMS)
        assert any(
            (box.width, box.height) == pytest.approx(size, abs=1e-9) for size in parcel.sizes
        )
        assert all(apart(box, other, 5.0) for other in places[:n])


@settings(max_examples=200, deadline=None)
@given(parcels)
def test_boxes_that_grow_neither_meet_nor_shrink(wanted: list[Parcel]) -> None:
    places = pack(wanted, ROOMS[:1], 5.0)
    if places is None:
        return
    fixed = [b for b, p in zip(places, wanted, strict=True) if p.pull is Pull.BOTTOM]
    free = [b for b, p in zip(places, wanted, strict=True) if p.pull is Pull.TOP]
    grown = spread(free, fixed, ROOMS[0], 5.0)
    for n, (old, new) in enumerate(zip(free, grown, strict=True)):
        assert new.holds(old, 1e-6)
        assert ROOMS[0].holds(new, 1e-6)
        assert all(apart(new, other, 0.0) for other in (*grown[:n], *fixed))


def test_what_has_no_place_is_told() -> None:
    large = Parcel(sizes=((100.0, 100.0),), pull=Pull.TOP)
    assert pack([large, large], ROOMS[:1], 5.0) is None
    assert pack([large], ROOMS[:1], 5.0) == (Box(0.0, 150.0, 100.0, 250.0),)


def test_a_list_keeps_its_rows_and_its_notes_when_it_is_broken() -> None:
    rows = tuple((str(n), f"part number {n} with a long name", "drill 3") for n in range(40))
    notes = tuple(f"Note {n}: something that must be told at some length." for n in range(9))
    listing = Listing(title="Openings in LID", heads=("no.", "part", "how"), rows=rows, notes=notes)
    blocks = set_list(listing, 60.0, 70.0)
    assert len(blocks) > 2
    said = [
        item.words
        for block in blocks
        for item in block.drawing.on(Operation.FRAME)
        if hasattr(item, "words")
    ]
    flat = " ".join(said)
    assert all(f"number {n}" in flat for n in range(40))
    assert all(f"Note {n}:" in flat for n in range(9))
    for block in blocks:
        assert block.height <= 70.0
        box = block.drawing.box()
        assert box is not None
        assert Box(0, 0, block.width, block.height).holds(box, 0.2)


def test_lists_with_the_same_heads_become_one_that_says_where() -> None:
    one = Listing(title="Openings in FRONT", heads=("no.",), rows=(("1",), ("2",)))
    two = Listing(title="Openings in LID", heads=("no.",), rows=(("1",),), notes=("Careful.",))
    other = Listing(title="Holes in board", heads=("no.", "for"), rows=(("1", "x"),))
    found = joined([one, two, other])
    assert [listing.title for listing in found] == ["Openings", "Holes in board"]
    assert found[0].heads == ("in", "no.")
    assert found[0].rows == (("FRONT", "1"), ("FRONT", "2"), ("LID", "1"))
    assert found[0].notes == ("LID: Careful.",)


def outside() -> Scene:
    panel = TapedPart(size=(L(60), L(40), L(2.5)), wire_hole=L(4), wire_at=(L(-24), L(0)))
    knob = button(7)
    knobbed = type(knob)(
        **{f: getattr(knob, f) for f in knob.__slots__ if f != "knob"},
        knob=Disc(diameter=L(20), thickness=L(15)),
    )
    return assemble(
        build(
            None,
            Used(name="panel", part=panel, on=FaceName.LID, at=at(-30, 10), turn=90),
            Used(name="level", part=knobbed, on=FaceName.LID, at=at(40, 0)),
            Used(name="cable", part=GLAND, on=FaceName.BACK, at=at(0, 30)),
        )
    )


def test_what_stands_outside_is_drawn_where_it_will_be_with_size_and_reach() -> None:
    scene = outside()
    found = {g.owner: g for g in standing_out(scene, scene.faces[FaceName.LID])}
    assert set(found) == {"panel", "level"}
    panel, knob = found["panel"], found["level"]
    # Turned by a quarter: 40 wide and 60 high, its middle at (−30, 10).
    box = panel.box
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((-50, -20, -10, 40))
    assert isinstance(panel.outline, Path)
    # Of knob and bezel only the larger is drawn; the height is that of both.
    assert isinstance(knob.outline, Circle)
    assert knob.outline.radius == pytest.approx(10)
    assert math.dist(knob.outline.centre, (40, 0)) < 1e-9
    assert knob.words == "Ø20"
    assert knob.high == pytest.approx(15)
    assert all(g.outline.pen.style is Style.DASH_DOT_DOT for g in found.values())
    lid = sheets(scene, PaperName.A4, "3f9a1c77", hand_work("careful"))
    text = " ".join(" ".join(words(pdf_bytes(lid, "outside"))).split())
    assert "panel: tape it on here" in text
    assert "knob Ø20" in text
    assert "panel: taped on 60 × 40, stands out 2.5." in text
    assert "level: knob Ø20, stands out 15." in text
    assert "cable: dome Ø16, stands out 18." in text


def with_plate(held: PlateHold) -> Scene:
    window = Window(filter=L(2), held=held, seen_from=20, ledge=L(4))
    return assemble(
        build(None, Used(name="readout", part=DIGITS, on=FaceName.FRONT, at=at(0, 30),
                         window=window))
    )  # fmt: skip


def notes_of(scene: Scene, ends: Ends = Ends.CHAIN) -> str:
    (group,) = numbered(openings_on(scene, FaceName.FRONT))
    number, opening = group.number, group.opening
    shop = Shop.of(scene.build.drawer, ends)
    return " ".join(window_notes(scene, opening, number, shop))


def test_a_sheet_says_how_a_window_is_cut_and_which_way_its_plate_goes_in() -> None:
    pushed = notes_of(with_plate(PlateHold.PUSHED_IN))
    assert "Corner holes 1.5 first" in pushed
    assert "then a hole 3.2 each 3.8 at most" in pushed
    assert "saw in at the hole 10" in pushed
    assert "mm² left to file" in pushed
    assert "pushed in from OUTSIDE until level; it is 0.1 larger than the opening" in pushed
    quick = notes_of(with_plate(PlateHold.PUSHED_IN), Ends.BIG_HOLES)
    assert "Corner holes" not in quick
    behind = with_plate(PlateHold.BEHIND)
    assert "goes on from INSIDE and reaches 4 past the opening all round" in notes_of(behind)
    # Its ledge is shown: the plate is 8 larger than the opening both ways.
    face = behind.faces[FaceName.FRONT]
    (plate,) = [g for g in ghosts(behind, face) if g.name == "filter plate"]
    (opening,) = openings_on(behind, FaceName.FRONT)
    assert (plate.box.width, plate.box.height) == pytest.approx(
        (opening.width + 8, opening.height + 8)
    )
    named = [w.lines for w in face_view(behind, face).wanted]
    assert ("plate of readout",) in named
    assert not [g for g in ghosts(with_plate(PlateHold.PUSHED_IN), face) if g.owner == "readout"
                and g.name == "filter plate"]  # fmt: skip


def test_options_of_the_command_line_reach_the_sheets() -> None:
    plain = also_for(kerf=None, tabs=None)
    assert plain.sheets == Asked()
    asked = also_for(kerf=None, tabs=None, inside=True, wrap=True, quick=True)
    assert asked.sheets == Asked(inside=True, wrap=True, windows=Ends.BIG_HOLES)


def test_every_item_of_a_view_from_outside_lies_on_its_sheet() -> None:
    # Something outside that reaches past the face's edge must not be cut off by the paper.
    scene = outside()
    for page in sheets(scene, PaperName.A5, "3f9a1c77", hand_work("careful")):
        for placed in page.drawings:
            for item in placed.drawing.items():
                box = item_box(item).moved(placed.x, placed.y)
                assert Box(10, 10, page.width - 10, page.height - 10).holds(box, 1e-6)
