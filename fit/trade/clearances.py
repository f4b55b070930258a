"""How much room things need beside each other: gaps, webs, fingers. Lengths in mm.

Where a table names no source the figure is common practice. None of these is a safety distance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import Sure, number, pick, rows

WEB_SHARE: Final = 1.5
"""Web between two cuts in wall thicknesses (a moulder's page on holes, read)."""

_LEAST_BAR: Final = 1.5
"""Least material between two holes of one grille, mm. Common practice, no source."""

WIRE_BEND: Final = 4.0
"""Least inner bend of a single wire in its diameters, 3 to 4. Common practice, no source."""

CABLE_BEND: Final = 6.0
"""Least inner bend of a cable in its diameters, 4 to 6. Common practice, no source."""


class Thing(StrEnum):
    """What stands beside what."""

    BOARD = "board"
    WALL = "wall"
    POST = "post"
    LID = "lid"
    FLOOR = "floor"
    PART = "part"
    """Any hard body."""
    LEADS = "leads"
    """Cut lead ends below a board."""
    LIVE = "live"
    """Bare and carrying low voltage."""
    METAL = "metal"
    """Bare metal that carries nothing."""
    CAP = "cap"
    """A push button's cap."""
    EDGE = "edge"
    """The edge of the hole a cap moves in."""
    NUT = "nut"
    PLUG = "plug"
    """A plug's moulding."""
    CABLE = "cable"


class Control(StrEnum):
    """What a finger works."""

    PUSH = "push"
    TOGGLE = "toggle"
    KNOB = "knob"
    SELECTOR = "selector"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A length that is needed, why, and how it was come by."""

    mm: float
    why: str
    sure: Sure


@cache
def gaps() -> Mapping[frozenset[Thing], Room]:
    """Least gaps by pair of things (table gaps); a thing beside its like is a set of one."""
    return MappingProxyType(
        {frozenset((Thing(row["a"]), Thing(row["b"]))): _room(row) for row in rows("gaps")}
    )


@cache
def gap(a: Thing, b: Thing) -> Room:
    """The least gap between two things, either way round.

    A pair without a row of its own takes the gap of two hard bodies, or that of live metal beside
    bare metal when one of the two is live.
    """
    found = gaps().get(frozenset((a, b)))
    if found is not None:
        return found
    # On the safe side: what lies beside something bare and live may be bare metal too.
    if Thing.LIVE in (a, b):
        return gaps()[frozenset((Thing.LIVE, Thing.METAL))]
    return gaps()[frozenset((Thing.PART,))]


def needed_gap(a: Thing, b: Thing) -> float:
    """The millimetres of `gap`."""
    return gap(a, b).mm


def finger_gap(a: Control, b: Control) -> float:
    """Least distance of two controls, edge to edge, for one hand (NUREG-0700, MIL-STD-1472E)."""
    pairs = {frozenset((row["a"], row["b"])): row for row in rows("finger_gaps")}
    return number(pairs[frozenset((a.value, b.value))], "mm")


@cache
def allowances() -> Mapping[str, Room]:
    """Lengths the bench goes by, by name (table allowances)."""
    return MappingProxyType({row["name"]: _room(row) for row in rows("allowances")})


def allowance(name: str) -> Room:
    """A length the bench goes by, such as ``filter-ledge`` or ``window-to-post``.

    Raises:
        UnknownName: when the table has no such name.
    """
    return pick("allowance", name, allowances())


def web(wall: float) -> float:
    """Least material between two cuts, or a cut and an edge: max(1.5 t, 3).

    Source: 1.5 wall thicknesses from a moulder's page on holes; 3 by hand is common practice.

    Raises:
        ValueError: when the wall is not above 0.
    """
    if not (math.isfinite(wall) and wall > 0):
        raise ValueError(f"a wall's thickness must be above 0, not {wall}")
    return max(WEB_SHARE * wall, allowance("least-web").mm)


def vent_web(wall: float) -> float:
    """Least material between the holes of one grille: max(t, 1.5).

    Source: the bar of perforated sheet is usually not thinner than the sheet (makers' guidance,
    from memory); never below 1.5 by hand is common practice, no source.

    Raises:
        ValueError: when the wall is not above 0.
    """
    if not (math.isfinite(wall) and wall > 0):
        raise ValueError(f"a wall's thickness must be above 0, not {wall}")
    return max(wall, _LEAST_BAR)


def window_to_post() -> float:
    """Least distance of a window's corner to a post or the rim: 5. Common practice, no source."""
    return allowance("window-to-post").mm


def board_side_gap(*, rough_box: bool = False, sawn_board: bool = False) -> float:
    """Room on each side of a board: 1.0, and 0.5 more for a rough box and for a sawn board."""
    more = [allowance("rough-box").mm] * rough_box + [allowance("sawn-board").mm] * sawn_board
    return needed_gap(Thing.BOARD, Thing.WALL) + sum(more)


def spanner_circle(across_flats: float) -> float:
    """Diameter a socket spanner needs round a nut: its corners and the socket's wall."""
    return across_flats / math.cos(math.pi / 6) + allowance("socket-wall").mm


def spacer_for_leads(longest_lead: float) -> float:
    """Least spacer under a board with leads this long: the lead and 3.2 (1/8 in)."""
    return longest_lead + allowance("over-leads").mm


def _room(row: Mapping[str, str]) -> Room:
    return Room(mm=number(row, "mm"), why=row["why"], sure=Sure(row["sure"]))
