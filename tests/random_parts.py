"""Random boxes and parts, all such as a build file could describe. Sizes in mm."""

from __future__ import annotations

import math
from random import Random

from fit.model.box import Lid, Lip, Post, Rib, Tray, Wall
from fit.model.build import Coordinate, How, Window
from fit.model.part import (
    Board,
    BoardHole,
    BushingPart,
    Disc,
    Display,
    FixingHole,
    Gland,
    Grommet,
    Holder,
    Hull,
    Joint,
    Notch,
    Nut,
    PanelPart,
    RimSwitch,
    Screw,
    TapedPart,
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
    PlateHold,
    PostUse,
    Side,
    Stuff,
)
from fit.units import PITCH
from fit.units import Length as L


def between(rng: Random, low: float, high: float) -> L:
    """A length, sometimes a round one: round sizes meet and touch exactly."""
    value = rng.uniform(low, high)
    return L(round(value * 2) / 2 if rng.random() < 0.3 else round(value, 3))


def chance(rng: Random, share: float) -> bool:
    return rng.random() < share


def at(value: float) -> Coordinate:
    return Coordinate(how=How.AT, value=L(round(value, 3)))


# --- boxes ----------------------------------------------------------------------------------


def some_tray(rng: Random) -> Tray:
    """A tray: any lid, lip, drafts wall by wall, round or sharp corners, posts and ribs."""
    length, width = between(rng, 90, 210), between(rng, 70, 150)
    height = between(rng, 42, 90)
    alike = rng.choice((0.0, 1.0, 1.5, 2.0, 3.0))
    lean_in = chance(rng, 0.06)
    walls = []
    thick = between(rng, 1.5, 3.0)
    for _ in range(4):
        draft = alike if chance(rng, 0.5) else round(rng.uniform(0.0, 4.0), 2)
        if lean_in:
            draft = -round(rng.uniform(0.2, 1.0), 2)
        walls.append(Wall(thickness=thick if chance(rng, 0.7) else between(rng, 1.5, 3.5),
                          draft=draft))  # fmt: skip
    inner = rng.choice((L(0), between(rng, 0.5, 8)))
    outer = L(inner + min(float(w.thickness) for w in walls)) if chance(rng, 0.7) else inner
    floor = between(rng, 1.5, 3.0)
    lid = _some_lid(rng, float(height))
    rim = height - lid.height
    tray = Tray(
        name="random",
        length=length,
        width=width,
        height=height,
        front=walls[0],
        back=walls[1],
        left=walls[2],
        right=walls[3],
        floor=floor,
        lid=lid,
        corner_outer=outer,
        corner_inner=inner,
        posts=_some_posts(rng, length, width, rim - floor, height - floor - lid.thickness),
        ribs=(),
    )
    return _with_ribs(rng, tray)


def _some_lid(rng: Random, height: float) -> Lid:
    thick = between(rng, 1.5, 3.0)
    lip = None
    if chance(rng, 0.6):
        lip = Lip(height=between(rng, 2, 6), thickness=between(rng, 1, 2.5),
                  gap=between(rng, 0.1, 0.8))  # fmt: skip
    if chance(rng, 0.6):
        return Lid(kind=LidKind.FLAT, thickness=thick, height=thick, lip=lip)
    draft = rng.choice((0.0, 1.0, 2.0, round(rng.uniform(0, 4), 2)))
    if chance(rng, 0.08):
        draft = -1.0
    return Lid(kind=LidKind.DEEP, thickness=thick, height=between(rng, 8, min(30.0, height / 2)),
               wall=between(rng, 1.5, 3.5), draft=draft, lip=lip)  # fmt: skip


def _some_posts(
    rng: Random, length: float, width: float, deep: float, whole: float
) -> tuple[Post, ...]:
    posts: list[Post] = []
    for half in (Half.BODY, Half.LID):
        if not chance(rng, 0.8 if half is Half.BODY else 0.4):
            continue
        x, y = between(rng, 22, length / 2 - 14), between(rng, 18, width / 2 - 14)
        tip, height = between(rng, 4, 7), between(rng, 3, 12)
        foot = L(tip + between(rng, 0.2, 2.5)) if chance(rng, 0.6) else tip
        for n, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)), 1):
            posts.append(
                Post(name=f"{half.value[0].upper()}{n}", half=half, x=L(sx * x), y=L(sy * y),
                     tip=tip, foot=foot, height=height, hole=L(2.4), depth=L(height - 1),
                     use=PostUse.BOARD)
            )  # fmt: skip
    if chance(rng, 0.5):
        inset = between(rng, 7, 11)
        half = Half.BODY if chance(rng, 0.7) else Half.LID
        height = L(deep - 0.5) if half is Half.BODY else between(rng, 4, min(20.0, whole))
        tip = between(rng, 5, 8)
        foot = L(tip + 1.0) if chance(rng, 0.5) else tip
        for n, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)), 1):
            posts.append(
                Post(name=f"C{n}", half=half, x=L(sx * (length / 2 - inset)),
                     y=L(sy * (width / 2 - inset)), tip=tip, foot=foot, height=height,
                     use=PostUse.CLOSING)
            )  # fmt: skip
    return tuple(posts)


def _with_ribs(rng: Random, tray: Tray) -> Tray:
    from dataclasses import replace

    ribs = []
    for n in range(rng.choice((0, 0, 1, 2, 3))):
        face = rng.choice(tuple(FaceName))
        if face in (FaceName.FLOOR, FaceName.LID):
            x, y = rng.uniform(-30, 30), rng.uniform(-20, 20)
            turn = math.radians(rng.choice((0, 90, 30)))
            reach = rng.uniform(5, 20)
            start = (L(x), L(y))
            end = (L(x + reach * math.cos(turn)), L(y + reach * math.sin(turn)))
        else:
            x = rng.uniform(-30, 30)
            low, high = rng.uniform(3, 12), rng.uniform(14, float(tray.rim) - 1)
            start, end = (L(x), L(low)), (L(x), L(high))
        ribs.append(Rib(name=f"R{n}", on=face, start=start, end=end,
                        thickness=between(rng, 1, 2.5), depth=between(rng, 1, 6)))  # fmt: skip
    return replace(tray, ribs=tuple(ribs))


# --- parts ----------------------------------------------------------------------------------


def some_hull(rng: Random, size: float, deep: float) -> Hull:
    """A round or rectangular body no wider than a size."""
    depth = between(rng, 3, max(4.0, deep))
    stuff = rng.choice((Stuff.HARD, Stuff.HARD, Stuff.METAL, Stuff.LIVE))
    if chance(rng, 0.5):
        return Hull(depth=depth, diameter=between(rng, size * 0.5, size), stuff=stuff)
    w, h = between(rng, size * 0.4, size * 0.7), between(rng, size * 0.4, size * 0.7)
    return Hull(depth=depth, width=w, height=h, stuff=stuff)


def some_bushing(rng: Random, deep: float) -> BushingPart:
    """A part on a bushing, from outside or inside."""
    entry = rng.choice((Entry.OUTSIDE, Entry.INSIDE))
    bushing = between(rng, 5, rng.choice((10, 20)))
    inside = entry is Entry.INSIDE
    disc = Disc(diameter=L(bushing + between(rng, 1, 6)), thickness=between(rng, 0.3, 1.5))
    return BushingPart(
        bushing=bushing,
        neck=between(rng, 4, 14),
        entry=entry,
        hull=some_hull(rng, float(bushing) * (1.6 if inside else 0.98), deep),
        bezel=None if inside else Disc(diameter=L(bushing + between(rng, 2, 6)),
                                       thickness=between(rng, 1, 4)),
        nut=Nut(across_flats=L(bushing + between(rng, 2, 5)), height=between(rng, 1.5, 4))
        if chance(rng, 0.85) else None,
        washer=disc if chance(rng, 0.4) else None,
        inner_washer=disc if inside and chance(rng, 0.3) else None,
        terminals=some_hull(rng, float(bushing) * 0.6, 6.0) if chance(rng, 0.4) else None,
        knob=Disc(diameter=between(rng, 6, 30), thickness=between(rng, 3, 16))
        if chance(rng, 0.4) else None,
    )  # fmt: skip


def some_panel(rng: Random, deep: float) -> PanelPart:
    """A part in a cut-out: snapped in, clamped or screwed."""
    w, h = between(rng, 12, 40), between(rng, 8, 26)
    rim = between(rng, 1, 3)
    fixing = rng.choice((Fixing.SNAP, Fixing.CLAMPS, Fixing.SCREWS))
    holes: tuple[FixingHole, ...] = ()
    if fixing is Fixing.SCREWS:
        holes = tuple(FixingHole(x=L(s * (w / 2 + 3)), y=L(0), diameter=L(3.2)) for s in (-1, 1))
    return PanelPart(
        front=(L(w + 2 * rim), L(h + 2 * rim)),
        front_thickness=between(rng, 1, 4),
        cutout=(w, h),
        hull=Hull(depth=between(rng, 4, max(5.0, deep)), width=L(w - 0.5), height=L(h - 0.5)),
        terminals=some_hull(rng, float(min(w, h)) * 0.8, 6.0) if chance(rng, 0.4) else None,
        fixing=fixing,
        holes=holes,
        clamp=Hull(depth=between(rng, 3, 10), width=L(w + between(rng, 1, 8)), height=L(h))
        if fixing is Fixing.CLAMPS else None,
    )  # fmt: skip


def some_rim_switch(rng: Random) -> RimSwitch:
    """A switch in a slot at the rim."""
    w, h = between(rng, 8, 14), between(rng, 4, 9)
    return RimSwitch(
        body=(w, h, between(rng, 4, 12)),
        slot=(L(w + 0.2), L(h + between(rng, 0, 8))),
        lever=(L(4), L(3), between(rng, 0, 5)),
        terminals=between(rng, 0, 5),
    )


def some_taped(rng: Random) -> TapedPart:
    """A flat thing taped on, its wires going in."""
    w, h = between(rng, 15, 50), between(rng, 12, 40)
    wires = Hull(diameter=between(rng, 2, 6), depth=between(rng, 3, 20))
    return TapedPart(
        size=(w, h, between(rng, 1, 4)),
        wire_hole=L(5),
        wire_at=(L(w * rng.uniform(-0.4, 0.4)), L(h * rng.uniform(-0.4, 0.4))),
        tail=wires if chance(rng, 0.7) else None,
    )


def some_gland(rng: Random) -> Gland:
    """A cable gland."""
    thread = between(rng, 8, 16)
    return Gland(
        thread=thread,
        hole=L(thread + 0.3),
        neck=between(rng, 5, 12),
        nut=Nut(across_flats=L(thread + between(rng, 3, 6)), height=between(rng, 2.5, 5)),
        outside=Disc(diameter=L(thread + between(rng, 2, 7)), thickness=between(rng, 10, 25)),
        cable_min=L(3),
        cable_max=L(6),
        cable=between(rng, 3, 6),
        bend=between(rng, 0, 25),
    )


def some_grommet(rng: Random) -> Grommet:
    """A grommet with its cable."""
    hole = between(rng, 5, 12)
    return Grommet(
        hole=hole,
        groove=L(2),
        flange=Disc(diameter=L(hole + between(rng, 2, 5)), thickness=between(rng, 1, 3)),
        cable=L(hole * 0.6),
        bend=between(rng, 0, 25),
    )


def some_holder(rng: Random, tall: float) -> Holder:
    """A block on the inside of a face."""
    big = rng.choice((20, 40, 60))
    w, d = between(rng, 8, big), between(rng, 8, big * 0.7)
    screwed = chance(rng, 0.3)
    return Holder(
        size=(w, d, between(rng, 4, max(5.0, tall))),
        fixing=Fixing.SCREWS if screwed else Fixing.TAPE,
        holes=(FixingHole(x=L(0), y=L(0), diameter=L(3.2)),) if screwed else (),
        stuff=rng.choice((Stuff.HARD, Stuff.METAL, Stuff.SOFT)),
    )


def some_display(rng: Random) -> Display:
    """A display module; some with a raised frame, chips behind, or fixing holes."""
    w, h = between(rng, 20, 60), between(rng, 14, 30)
    aw, ah = L(w * 0.7), L(h * 0.6)
    raised = chance(rng, 0.5)
    thick = between(rng, 4, 10)
    holes: tuple[FixingHole, ...] = ()
    if chance(rng, 0.5):
        holes = tuple(
            FixingHole(x=L(sx * (w / 2 - 2)), y=L(sy * (h / 2 - 2)), diameter=L(2.7))
            for sx in (-1, 1) for sy in (-1, 1)
        )  # fmt: skip
    return Display(
        module=(w, h),
        thickness=thick,
        active=(aw, ah),
        visible=(L(w * 0.75), L(h * 0.7)),
        offset=(L(w * rng.uniform(-0.1, 0.1)), L(h * rng.uniform(-0.1, 0.1))),
        frame=(L(w * 0.9), L(h * 0.8)) if raised else None,
        frame_height=L(thick * 0.4) if raised else L(0),
        rear=between(rng, 0, 6) if chance(rng, 0.3) else L(0),
        holes=holes,
        lead=L(3),
    )


def some_window(rng: Random) -> Window:
    """A window: bare, with a plate pushed in, or a plate behind."""
    filter_ = rng.choice((L(0), between(rng, 1, 3)))
    return Window(
        filter=filter_,
        held=rng.choice((PlateHold.PUSHED_IN, PlateHold.BEHIND)),
        gap=between(rng, 0.5, 3),
        seen_from=rng.choice((0.0, 20.0, 35.0)),
        ledge=between(rng, 3, 6),
    )


def some_board(rng: Random, wide: float, high: float, tall: float) -> Board:
    """A board no larger than given, with notches, holes and zones up to a height."""
    stock = rng.choice(tuple(BoardStock))
    if stock is BoardStock.PLAIN:
        size = (between(rng, 14, max(15.0, wide)), between(rng, 12, max(13.0, high)))
    else:
        cols, rows = (max(5, int(rng.uniform(0.4, 1.0) * v / PITCH)) for v in (wide, high))
        size = (L(cols * PITCH), L(rows * PITCH))
    w, h = float(size[0]), float(size[1])
    holes: tuple[BoardHole, ...] = ()
    if chance(rng, 0.7):
        inset = (math.floor(5.0 / PITCH) + 0.5) * PITCH
        holes = tuple(
            BoardHole(x=L(x), y=L(y), diameter=L(3.2))
            for x in (inset, w - inset) for y in (inset, h - inset)
        )  # fmt: skip
    notches = []
    if chance(rng, 0.3):
        nw, nh = w * rng.uniform(0.1, 0.3), h * rng.uniform(0.1, 0.3)
        notches.append(Notch(x=L(rng.choice((0.0, w - nw, w * 0.5))),
                             y=L(rng.choice((0.0, h - nh))), width=L(nw), depth=L(nh)))  # fmt: skip
    zones = []
    for n in range(rng.randint(0, 4)):
        zw, zh = rng.uniform(3, w * 0.35), rng.uniform(3, h * 0.35)
        under = chance(rng, 0.15)
        zones.append(
            Zone(name=f"zone {n}", x=L(rng.uniform(0, w - zw)), y=L(rng.uniform(0, h - zh)),
                 width=L(zw), depth=L(zh),
                 height=between(rng, 0.5, 2.5) if under else between(rng, 1, max(2.0, tall)),
                 side=Side.UNDERSIDE if under else Side.TOP,
                 stuff=rng.choice((Stuff.HARD, Stuff.METAL, Stuff.LIVE, Stuff.SOFT)))
        )  # fmt: skip
    return Board(
        stock=stock,
        size=size,
        thickness=rng.choice((L(1.6), L(1.0), L(1.6))),
        underside=rng.choice((L(0), between(rng, 1, 3))),
        holes=holes,
        notches=tuple(notches),
        zones=tuple(zones),
    )


def some_joint(rng: Random) -> Joint:
    """Blocks, or bent strips."""
    kind = rng.choice((JointKind.BLOCK, JointKind.STRIP))
    thick = L(1.5) if kind is JointKind.STRIP else L(0)
    return Joint(
        kind=kind,
        size=(between(rng, 6, 12), between(rng, 6, 12), between(rng, 6, 12)),
        thickness=thick,
        count=rng.choice((1, 2, 3)),
        inset=between(rng, 6, 9),
        screw=L(3),
    )


def some_screw(rng: Random) -> Screw:
    """A screw for boards and displays."""
    size = rng.choice(("M2", "M2.5", "M3"))
    d = float(size[1:])
    return Screw(
        thread=size,
        diameter=L(d),
        length=between(rng, 6, 20),
        head=Disc(diameter=L(2 * d), thickness=L(0.6 * d)),
    )
