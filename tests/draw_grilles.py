"""A build whose openings are of every kind: grilles, slots, flats, a key, countersinks."""

from __future__ import annotations

from dataclasses import replace

from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Used, Window
from fit.model.part import (
    AntiTurn,
    Disc,
    Display,
    FixingHole,
    Grille,
    Holder,
    Hull,
    Screw,
)
from fit.model.words import FaceName, Fixing, HolePattern
from fit.units import Length as L
from tests.draw_scenes import METER, at, build, button

SUNK = Screw(
    name="m3", thread="M3", diameter=L(3), length=L(16), head=Disc(diameter=L(5.5),
    thickness=L(1.65)), countersunk=True,
)  # fmt: skip
SOUNDER = Grille(
    pattern=HolePattern.RINGS,
    bit=L(3),
    pitch=L(6.5),
    outer=L(29),
    body=Hull(diameter=L(36), depth=L(12)),
    fixing=Fixing.GLUE,
)
AIR = Grille(pattern=HolePattern.GRID, bit=L(4), pitch=L(8), size=(L(40), L(20)))
SLITS = Grille(pattern=HolePattern.SLOTS, bit=L(3), pitch=L(7), size=(L(38), L(15)))
LCD = Display(
    module=(L(80), L(36)),
    thickness=L(9),
    active=(L(58), L(14)),
    visible=(L(66), L(18)),
    holes=tuple(FixingHole(x=L(x), y=L(y), diameter=L(3.2)) for x in (-37, 37) for y in (-15, 15)),
)
INLET = replace(
    METER,
    fixing=Fixing.SCREWS,
    holes=tuple(
        FixingHole(x=L(x), y=L(0), diameter=L(3.2), long=L(6), turn=turn)
        for x, turn in ((-31, 90.0), (31, 0.0))
    ),
)
CELLS = Holder(
    size=(L(58), L(30), L(17)),
    fixing=Fixing.SCREWS,
    holes=tuple(FixingHole(x=L(x), y=L(0), diameter=L(3.4)) for x in (-14, 14)),
)


def kinds() -> Scene:
    """Every kind of opening, each part on a place of its own."""
    return assemble(
        build(
            None,
            Used(name="readout", part=LCD, on=FaceName.LID, at=at(-20, 10),
                 window=Window(filter=L(2), seen_from=15), screws=SUNK),
            Used(name="sounder", part=SOUNDER, on=FaceName.LID, at=at(50, -15)),
            Used(name="air", part=AIR, on=FaceName.BACK, at=at(-30, 30)),
            Used(name="slits", part=SLITS, on=FaceName.BACK, at=at(30, 30)),
            Used(name="inlet", part=INLET, on=FaceName.FRONT, at=at(-20, 30)),
            Used(name="coax", part=button(9.6, AntiTurn(flat=L(8.7), flats=2)),
                 on=FaceName.RIGHT, at=at(-20, 30)),
            Used(name="toggle", part=button(12, AntiTurn(key=(L(1.8), L(0.9)), tab_angle=270)),
                 on=FaceName.RIGHT, at=at(20, 30)),
            Used(name="cells", part=CELLS, on=FaceName.FLOOR, at=at(0, 0), screws=SUNK),
            name="kinds",
        )
    )  # fmt: skip
