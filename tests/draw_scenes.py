"""Builds whose sheets several test files draw and measure. All of our own making."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from fit.geometry.assemble import assemble
from fit.geometry.scene import Cut, Opening, Role, Scene
from fit.model.box import Lid, Lip, Post, Tray, Wall
from fit.model.build import (
    Build,
    Coordinate,
    Drawer,
    How,
    Place,
    StepBit,
    Used,
    Window,
)
from fit.model.part import (
    AntiTurn,
    Board,
    BoardHole,
    BushingPart,
    Disc,
    Display,
    FixingHole,
    Gland,
    Holder,
    Hull,
    Joint,
    Notch,
    Nut,
    PanelPart,
    RimSwitch,
    Zone,
)
from fit.model.words import (
    BoardStock,
    Entry,
    FaceName,
    Fixing,
    Half,
    JointKind,
    LidKind,
    PostUse,
    Seat,
    Side,
)
from fit.trade.drills import Step, Tool
from fit.units import Length as L

DRAWER = Drawer(
    name="kit",
    bits=tuple(L(v) for v in (1.5, 2, 2.5, 3, 3.2, 4, 5, 6, 8, 10)),
    step_bits=(StepBit(smallest=L(4), largest=L(20), step=L(2), step_height=L(5)),),
)


def tray(length: float = 150, width: float = 100, height: float = 60, **changes: Any) -> Tray:
    """A drafted tray with four board posts and four closing posts."""
    side = Wall(thickness=L(2.5), draft=1.5)
    posts = [
        Post(name=f"P{n}", half=Half.BODY, x=L(sx * 50.8), y=L(sy * 30.48), tip=L(6), foot=L(7),
             height=L(8), hole=L(2.4), depth=L(7))
        for n, (sx, sy) in enumerate(((-1, -1), (1, -1), (1, 1), (-1, 1)), start=1)
    ]  # fmt: skip
    posts += [
        Post(name=f"C{n}", half=Half.BODY, x=L(sx * (length / 2 - 9.5)),
             y=L(sy * (width / 2 - 9.5)), tip=L(7), foot=L(8), height=L(height - 5),
             hole=L(2.4), depth=L(15), use=PostUse.CLOSING)
        for n, (sx, sy) in enumerate(((-1, -1), (1, -1), (1, 1), (-1, 1)), start=1)
    ]  # fmt: skip
    sizes: dict[str, Any] = {
        "name": f"tray-{length:.0f}x{width:.0f}x{height:.0f}",
        "length": L(length),
        "width": L(width),
        "height": L(height),
        "front": side,
        "back": side,
        "left": side,
        "right": side,
        "floor": L(2.5),
        "lid": Lid(kind=LidKind.FLAT, thickness=L(2.5), height=L(2.5),
                   lip=Lip(height=L(3), thickness=L(1.5), gap=L(0.3))),
        "corner_outer": L(5),
        "corner_inner": L(3),
        "posts": tuple(posts),
    }  # fmt: skip
    return Tray(**(sizes | changes))


def at(across: float, up: float) -> Place:
    return Place(
        across=Coordinate(how=How.AT, value=L(across)), up=Coordinate(how=How.AT, value=L(up))
    )


def button(hole: float = 12.0, anti_turn: AntiTurn | None = None) -> BushingPart:
    return BushingPart(
        name="button",
        bushing=L(hole - 0.3),
        neck=L(11),
        entry=Entry.OUTSIDE,
        hull=Hull(diameter=L(10.6), depth=L(17)),
        hole=L(hole),
        bezel=Disc(diameter=L(hole + 2), thickness=L(2)),
        nut=Nut(across_flats=L(hole + 2), height=L(2)),
        anti_turn=anti_turn,
    )


DIGITS = Display(
    module=(L(50.3), L(19)),
    thickness=L(8),
    active=(L(47), L(14.2)),
    visible=(L(58), L(26)),
    lead=L(3),
)
GLAND = Gland(
    thread=L(12),
    hole=L(12.5),
    neck=L(8),
    nut=Nut(across_flats=L(17), height=L(5)),
    outside=Disc(diameter=L(16), thickness=L(18)),
    cable_min=L(3),
    cable_max=L(6.5),
    cable=L(5),
    bend=L(20),
)
HOLDER = Holder(
    size=(L(58), L(47), L(17)),
    fixing=Fixing.SCREWS,
    holes=tuple(FixingHole(x=L(x), y=L(0), diameter=L(3.2)) for x in (-14, 14)),
)
SLIDE = RimSwitch(
    body=(L(12), L(6), L(6)), slot=(L(12.4), L(6.4)), lever=(L(2), L(3), L(4)), terminals=L(4)
)
METER = PanelPart(
    front=(L(48), L(29)),
    front_thickness=L(2),
    cutout=(L(45), L(26.5)),
    cutout_plus=L(0.6),
    corner_radius=L(1.5),
    hull=Hull(width=L(44.6), height=L(26), depth=L(21)),
    fixing=Fixing.SNAP,
)
MAIN = Board(
    stock=BoardStock.STRIPS,
    size=(L(46 * 2.54), L(30 * 2.54)),
    underside=L(2.5),
    zones=(
        Zone(name="amplifier in its socket", x=L(30), y=L(45), width=L(20), depth=L(13),
             height=L(14)),
        Zone(name="regulator", x=L(66), y=L(50), width=L(13), depth=L(10), height=L(9)),
        Zone(name="link", x=L(90), y=L(20), width=L(10), depth=L(6), height=L(2),
             side=Side.UNDERSIDE),
    ),
    notches=(Notch(x=L(0), y=L(61 * 1.27 - 2.54 * 2), width=L(2.54 * 6), depth=L(2.54 * 2)),),
)  # fmt: skip
STANDING = Board(stock=BoardStock.PADS, size=(L(30 * 2.54), L(14 * 2.54)), underside=L(2))
BLOCK = Joint(kind=JointKind.BLOCK, size=(L(10), L(10), L(10)))
D_SHAFT = button(9.5, AntiTurn(tab_hole=L(2.5), tab_radius=L(8), tab_angle=90, flat=L(8.7)))
PLAIN = Board(
    stock=BoardStock.PLAIN,
    size=(L(60), L(40)),
    holes=tuple(BoardHole(x=L(x), y=L(y), diameter=L(3.2)) for x in (4, 56) for y in (4, 36)),
)


def build(box: Tray | None = None, *parts: Used, **changes: Any) -> Build:
    given: dict[str, Any] = {"name": "hive-scale", "box": box or tray(), "drawer": DRAWER}
    return Build(parts=parts, **(given | changes))


def small() -> Scene:
    """A scale's readout: window with plate, buttons, gland, D shaft, holder, two boards."""
    window = Window(filter=L(2), seen_from=35)
    return assemble(
        build(
            None,
            Used(name="readout", part=DIGITS, on=FaceName.FRONT, at=at(0, 34), window=window),
            Used(name="tare", part=button(), on=FaceName.RIGHT, at=at(12, 31.5)),
            Used(name="units", part=button(), on=FaceName.RIGHT, at=at(-14, 31.5)),
            Used(name="cell_cable", part=GLAND, on=FaceName.BACK, at=at(-40, 38)),
            Used(name="contrast", part=D_SHAFT, on=FaceName.BACK, at=at(20, 30)),
            Used(name="slide", part=SLIDE, on=FaceName.BACK, at=at(50, 54.3)),
            Used(name="main_board", part=MAIN, on=Seat.POSTS),
            Used(name="display_board", part=STANDING, joined_to="main_board", joint=BLOCK,
                 carries=("readout",)),
            Used(name="cells", part=HOLDER, on=FaceName.LID, at=at(0, 10)),
            stands_on=FaceName.LID,
        )
    )  # fmt: skip


def large() -> Scene:
    """A box whose front and lid are larger than the free part of an A4 sheet."""
    box = tray(320, 210, 90)
    buttons = [
        Used(name=f"key {n}", part=button(), on=FaceName.LID, at=at(-120 + 40 * n, -60 + 9 * n))
        for n in range(7)
    ]
    return assemble(
        build(
            box,
            *buttons,
            Used(name="meter", part=METER, on=FaceName.FRONT, at=at(-90, 50)),
            Used(name="second meter", part=METER, on=FaceName.FRONT, at=at(2, 50)),
            Used(name="power", part=button(16), on=FaceName.FRONT, at=at(120, 30)),
            name="patch-panel",
        )
    )


def crowded() -> Scene:
    """One face full of holes, as no sensible person would have it."""
    buttons = [
        Used(name=f"channel {n:02d}", part=button(6.5), on=FaceName.FRONT,
             at=at(-59 + 13 * (n % 10), 18 + 13 * (n // 10)))
        for n in range(30)
    ]  # fmt: skip
    return assemble(build(tray(), *buttons, name="crowded"))


def boards() -> Scene:
    """A plain board and a perfboard that is not a whole number of holes wide."""
    odd = replace(
        MAIN,
        size=(L(100), L(60)),
        holes=(BoardHole(x=L(6.35), y=L(6.35), diameter=L(3.2)),
               BoardHole(x=L(50), y=L(30), diameter=L(2.5))),
        notches=(
            Notch(x=L(40), y=L(0), width=L(20), depth=L(15)),
            Notch(x=L(70), y=L(40), width=L(10.16), depth=L(10.16)),
        ),
        zones=(),
    )  # fmt: skip
    return assemble(
        build(
            tray(),
            Used(name="made board", part=PLAIN, on=Seat.CARRIER, at=at(0, 20), standoff=L(5)),
            Used(name="cut board", part=odd, on=FaceName.LID, at=at(0, 0), standoff=L(5)),
            name="boards",
        )
    )


def opening(**changes: Any) -> Opening:
    """A 12 mm hole, changed as told."""
    given: dict[str, Any] = {
        "part": "p",
        "face": FaceName.FRONT,
        "cut": Cut.ROUND,
        "role": Role.MOUNT,
        "across": 0.0,
        "up": 30.0,
        "diameter": 12.0,
        "steps": (Step(Tool.DRILL, 3.0), Step(Tool.DRILL, 8.0), Step(Tool.STEP_BIT, 12.0)),
    }
    return Opening(**(given | changes))
