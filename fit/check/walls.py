"""Does everything stand clear of the walls, at its own height and in the rounded corners?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from operator import itemgetter

from fit.check.repairs import face_move, tenths, when_tight
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import (
    DEEP,
    Solid,
    Things,
    capital,
    is_nose,
    need_to_wall,
    pierced,
    things,
    wall_label,
    wall_words,
)
from fit.findings import Finding
from fit.geometry.containment import WallMargin
from fit.model.part import Board, Display
from fit.model.words import BoardStock, FaceName, Half
from fit.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One solid beside one inner surface.

    Attributes:
        solid: the solid.
        room: the surface, and how far off it is.
        need: what is needed, mm.
        spread: how far hands and uncertain sizes may move it, mm.
    """

    solid: Solid
    room: WallMargin
    need: float
    spread: float

    @property
    def margin(self) -> float:
        """What is there minus what is needed, mm."""
        return self.room.mm - self.need


def check_walls(look: Inspection) -> Iterator[Finding]:
    """Every thing inside the box, and the walls and floor at its own height.

    Looks at: each solid and every inner surface: walls with their draft, the rounded upright
    corners, the floor below what stays in the body. Each part's worst wall is reported, and
    every other one it runs into. A thing set against a wall must only not sink into that wall.

    Hurts: a tray is narrower at the floor than at the rim, and its corners are round inside. A
    board cut to the size at the rim does not go down to its posts.

    Formula: W(z) = W(rim) − (z(rim) − z)·(tan δ1 + tan δ2); part + 2·c ≤ W(z) at its own height,
    c = 1.0 beside a wall, 0.5 for a nut, 1.0 leads above the floor. In a corner of radius r the
    reach from the corner's centre line must stay below r − c.

    Source: 1.0 each side and 1.5 in a rough box from an electronics question page on box
    tolerances; the others common practice, no source. How far a sawn edge strays is in the
    spread.

    Example: 150 mm at the rim, walls 2.5, draft 1.5°, a board 48 below the rim: 145.0 −
    2·48·tan 1.5° = 142.5, so the board may be 140.5 long.

    Repairs: cut the board narrower, nip its corners off, put it higher up where the box is
    wider.
    """
    known = things(look)
    found: dict[str, dict[FaceName, _Near]] = {}
    for solid, rooms in known.rooms.items():
        for room in rooms:
            if not _asked(solid, room):
                continue
            if _seated(solid, room) and (room.mm >= -DEEP or _through(look, solid, room)):
                continue
            need = _need(look, solid, room)
            worst = found.setdefault(solid.label, {})
            if room.face not in worst or room.mm - need < worst[room.face][0]:
                worst[room.face] = (room.mm - need, solid, room, need)
    for walls_of in found.values():
        for n, near in enumerate(sorted(walls_of.values(), key=itemgetter(0))):
            if n == 0 or near[0] < 0:
                yield _finding(look, _beside(known, near))


_Near = tuple[float, Solid, WallMargin, float]
"""The margin of a solid beside an inner surface, these two, and what is needed, mm."""


def _asked(solid: Solid, room: WallMargin) -> bool:
    """Whether this rule looks at a surface; the lid over the body's things is the rule `lid`."""
    if room.half is Half.LID:
        return solid.body.half is Half.LID
    return solid.body.half is Half.BODY or room.face is not FaceName.FLOOR


def _seated(solid: Solid, room: WallMargin) -> bool:
    """Whether it is set against that wall; the lid's own sides are no seat."""
    return solid.body.seat is room.face and room.half is pierced(room.face)


def _through(look: Inspection, solid: Solid, room: WallMargin) -> bool:
    """A display or a nose and the wall it looks through: rules `display-clear`, `nose-holes`."""
    part = look.scene.build.part(solid.body.owner).part
    return (isinstance(part, Display) or is_nose(solid.body)) and not room.note


def _need(look: Inspection, solid: Solid, room: WallMargin) -> float:
    return 0.0 if _seated(solid, room) else look.need("walls", need_to_wall(solid, room.face))


def _beside(known: Things, near: _Near) -> Beside:
    _, solid, room, need = near
    return Beside(
        solid=solid,
        room=room,
        need=need,
        spread=spread_of(known.spread_to(solid, room.face), known.doubt_at(room.face)),
    )


def _finding(look: Inspection, beside: Beside) -> Finding:
    solid, room = beside.solid, beside.room
    where = wall_words(room.face) + (f", {room.note}" if room.note else "")
    needed = f"; {show(beside.need)} mm is needed" if beside.need else ""
    if room.mm < 0:
        say = f"{solid.words} reaches {show(-room.mm)} mm into {where}{needed}."
    else:
        say = f"{solid.words} stays {show(room.mm)} mm from {where}{needed}."
    return look.finding(
        "walls",
        (solid.label, wall_label(room.face)),
        have=room.mm,
        need=beside.need,
        spread=beside.spread,
        say=capital(say),
        mend=_mend(look, beside),
    )


def _mend(look: Inspection, beside: Beside) -> str | None:
    solid, room, short = beside.solid, beside.room, -beside.margin
    if short <= 0:
        return when_tight(solid.label, wall_words(room.face), beside.margin, beside.spread)
    part = look.scene.build.part(solid.body.owner).part
    if isinstance(part, Board) and solid.body.name == "slab":
        if room.note:
            return f"nip off the corner of {solid.label} by {tenths(2 * short)} mm each way"
        rows = " (a whole row of holes)" if part.stock is not BoardStock.PLAIN else ""
        return f"cut {solid.label} back by {tenths(short)} mm on that side{rows}"
    moved = face_move(look.scene, solid, room.face, short)
    return moved or f"take a part {tenths(short)} mm smaller there, or move it to another face"


walls = rule("walls", Family.WALLS)(check_walls)
