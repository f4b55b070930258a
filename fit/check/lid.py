"""Does the lid close?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from fit.check.bodies import Pair, measured
from fit.check.repairs import moved_away, tenths, when_tight
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import (
    CLOSE,
    DEEP,
    Solid,
    Things,
    capital,
    half_of,
    is_nose,
    need_to_wall,
    pierced,
    things,
    wall_label,
    wall_words,
)
from fit.check.walls import Beside
from fit.findings import Finding
from fit.geometry.box import lid_outside
from fit.geometry.containment import WallMargin
from fit.geometry.distance import box_gap
from fit.geometry.fixtures import LIP
from fit.geometry.frames import Vec, dot, scale
from fit.geometry.scene import BOX
from fit.geometry.support import reach
from fit.model.box import Tray
from fit.model.words import FaceName, Half
from fit.units import show

_REACH = 12.0
"""Lip and lid posts further than this from a part, mm, are not looked at."""


def check_lid(look: Inspection) -> Iterator[Finding]:
    """The room below the closed lid.

    Looks at: what stays in the body, against the lid's inside, its lip and its posts; and what
    hangs on the lid, against the floor; and what stands outside on a wall, against the lid's side,
    where it reaches past the rim. What hangs on the lid against what stands in the body is
    the rule `bodies`; whether it gets past on the way is `going-in`.

    Hurts: the lid rocks on the tallest part, its screws bend it, and it presses on the board
    all its life. A switch or nut close under the rim stands where the lip wants to be.

    Formula: z(top) + 1.5 ≤ z(lid's inside) at each (x, y); post + 1.0; lip + 1.0,
    + 0.5 for a nut; what hangs on the lid + 1.0 above the floor.

    Source: highest part to lid 1 to 2: common practice, no source.

    Example: floor 2.5, posts 8, board 1.6, a part 14 high: its top stands at 26.1; a lid whose
    inside is at 27.0 leaves 0.9 where 1.5 is needed.

    Repairs: lay a tall part flat; lower posts or spacers; cut the lip away over the part's
    width; move the part lower on its wall.
    """
    known = things(look)
    yield from _heights(look, known)
    yield from _moulded(look, known)
    yield from _outside(look, known)


def _heights(look: Inspection, known: Things) -> Iterator[Finding]:
    worst: dict[str, tuple[float, Solid, WallMargin, float]] = {}
    for solid, rooms in known.rooms.items():
        for room in rooms:
            if not _asked(solid, room):
                continue
            need = look.need("lid", need_to_wall(solid, room.face))
            if solid.label not in worst or room.mm - need < worst[solid.label][0]:
                worst[solid.label] = (room.mm - need, solid, room, need)
    for _, solid, room, need in worst.values():
        spread = spread_of(known.spread_to(solid, room.face), known.doubt_at(FaceName.LID))
        beside = Beside(solid=solid, room=room, need=need, spread=spread)
        yield _height_finding(look, beside)


def _margin(found: Pair) -> float:
    return found.margin


def _asked(solid: Solid, room: WallMargin) -> bool:
    """The lid's inner surfaces for what stays in the body, the floor for what hangs on the lid.

    But not of that surface which a nose looks out through.
    """
    through = solid.body.seat is room.face and room.half is pierced(room.face)
    if is_nose(solid.body) and through and not room.note:
        return False
    if solid.body.half is Half.BODY:
        return room.half is Half.LID
    return room.face is FaceName.FLOOR


def _out(look: Inspection, room: WallMargin) -> Vec:
    return look.scene.faces[room.face].frame.z


def _height_finding(look: Inspection, beside: Beside) -> Finding:
    solid, room, short = beside.solid, beside.room, -beside.margin
    what = wall_words(room.face) if room.face is FaceName.FLOOR else "the lid"
    what += f" ({room.face})" if room.face not in (FaceName.FLOOR, FaceName.LID) else ""
    needed = f"{show(beside.need)} mm is needed"
    if room.mm < 0:
        side = "into" if room.face is not FaceName.LID else "too high, into"
        say = f"the lid does not close: {solid.words} reaches {show(-room.mm)} mm {side} {what}"
    elif short > 1e-9:
        say = f"the lid does not close freely: {solid.words} stays {show(room.mm)} mm from {what}"
    else:
        say = f"the lid closes: {solid.words} stays {show(room.mm)} mm from {what}"
    moved = moved_away(look.scene, solid, scale(_out(look, room), -1.0), max(short, 0.0))
    flatter = f"take or lay down a part {tenths(max(short, 0.0))} mm lower there"
    label = wall_label(room.face) if room.half is Half.BODY else "lid"
    return look.finding(
        "lid",
        (solid.label, label),
        have=room.mm,
        need=beside.need,
        spread=beside.spread,
        say=f"{capital(say)}; {needed}.",
        mend=(moved or flatter)
        if short > 0
        else when_tight(solid.label, "the lid", beside.margin, beside.spread),
    )


def _moulded(look: Inspection, known: Things) -> Iterator[Finding]:
    """Lip and posts of the lid beside what stays in the body."""
    below = half_of(known.parts, Half.BODY)
    worst: dict[tuple[str, str], Pair] = {}
    for moulded in half_of(known.inside, Half.LID):
        if moulded.body.owner != BOX:
            continue
        for solid in below:
            if box_gap(solid.ready.box, moulded.ready.box) > _REACH:
                continue
            pair = measured(look, "lid", solid, moulded)
            worst[pair.labels] = min(worst.get(pair.labels, pair), pair, key=_margin)
    for pair in worst.values():
        if pair.margin < CLOSE * pair.spread:
            yield _moulded_finding(look, pair)


def _moulded_finding(look: Inspection, pair: Pair) -> Finding:
    solid, moulded, have = pair.a, pair.b, pair.gap.mm
    name = f"its {LIP}" if moulded.label == LIP else f"its {moulded.label}"
    short = pair.need - have
    if have < 0:
        say = f"the lid does not close: {name} meets {solid.words} by {show(-have)} mm"
    elif short > 1e-9:
        say = f"the lid does not close freely: {name} is {show(have)} mm from {solid.words}"
    else:
        say = f"the lid closes: {name} stays {show(have)} mm from {solid.words}"
    back = scale(pair.gap.along, -1.0)
    moved = moved_away(look.scene, solid, back, max(short, 0.0))
    cut = f"cut the {moulded.label} away beside {solid.label}"
    return look.finding(
        "lid",
        (solid.label, moulded.label),
        have=have,
        need=pair.need,
        spread=pair.spread,
        say=f"{capital(say)}; {show(pair.need)} mm is needed.",
        mend=(f"{moved}, or {cut}" if moved else cut)
        if short > 0
        else when_tight(solid.label, "the lid", pair.margin, pair.spread),
    )


def _outside(look: Inspection, known: Things) -> Iterator[Finding]:
    """What is mounted outside on a wall that leans in, and reaches up beside the lid.

    Where one of the lid's outer planes or the wall's own parts the two, they are free. Other
    directions are not tried, and the lid's edges count as sharp (safe side).
    """
    rim, corners = look.tray.rim, _lid_corners(look.tray)
    for solid in known.solids:
        body = solid.body
        seat = body.seat
        if not body.outside or body.half is Half.LID or solid.ready.box[1][2] <= rim:
            continue
        if is_nose(body) and seat is FaceName.LID:
            continue
        ways = [*_lid_normals(look.tray), *([look.scene.faces[seat].frame.z] if seat else [])]
        have = max(
            -reach(body.shape, body.pose, scale(way, -1.0)) - max(dot(way, c) for c in corners)
            for way in ways
        )
        if have >= -DEEP:
            continue
        moved = moved_away(look.scene, solid, (0.0, 0.0, -1.0), -have)
        yield look.finding(
            "lid",
            (solid.label, "lid"),
            have=have,
            need=0.0,
            spread=0.0,
            say=f"The lid does not close: {solid.words} reaches up past the rim and stands "
            f"{show(-have)} mm in the way of the lid's side.",
            mend=moved or f"move {solid.label} down below the rim",
        )


def _lid_corners(tray: Tray) -> list[Vec]:
    """The lid's outer corners, taken as sharp, mm."""
    return [
        (x, y, z)
        for z in (tray.rim, float(tray.height))
        for at in (lid_outside(tray, z),)
        for x in (at.x0, at.x1)
        for y in (at.y0, at.y1)
    ]


def _lid_normals(tray: Tray) -> Iterator[Vec]:
    """Outward normals of the lid's outer planes, but for its top."""
    lean = math.radians(tray.lid.draft)
    c, s = math.cos(lean), math.sin(lean)
    yield from ((-c, 0.0, s), (c, 0.0, s), (0.0, -c, s), (0.0, c, s), (0.0, 0.0, -1.0))


lid = rule("lid", Family.LID)(check_lid)
