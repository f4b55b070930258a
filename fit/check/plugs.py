"""Plugs pushed in from outside: do they seat, and do their mouldings clear each other?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from fit.check.cuts import NEAR, up_to_tenth
from fit.check.fitted import Fitted, fitted, sides
from fit.check.measure import gap_between, prepare
from fit.check.noses import near_wall
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import Solid, things, wall_words
from fit.findings import Finding
from fit.geometry.box import Face
from fit.geometry.distance import Prepared
from fit.geometry.frames import Pose
from fit.geometry.noses import PREFIX, opening_of, section
from fit.geometry.scene import Cut, PlacedNose
from fit.geometry.shapes import Block, Cylinder
from fit.model.part import BushingPart, Hull, PanelPart
from fit.model.words import FaceName, NoseKind
from fit.trade.clearances import Thing, needed_gap
from fit.trade.hands import between_features
from fit.units import show

_DEEPEST = 1.6
"""How far a socket's face may lie behind the wall's outside, mm: the least of what is quoted for
small sockets (2.0, 1.9, 1.6)."""

_ROUND_MOULDING = 1.0
"""How much larger than a plug's moulding an opening must be to let it in, mm (common practice,
no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plug:
    """A plug in its socket: whose, its nose on a board, on which face, its moulding outside."""

    owner: str
    nose: str
    face: FaceName
    ready: Prepared

    @property
    def name(self) -> str:
        """The socket in a sentence."""
        return f"{self.nose} of {self.owner}" if self.nose else self.owner


def _sockets(look: Inspection) -> Iterator[Fitted[BushingPart] | Fitted[PanelPart]]:
    yield from fitted(look, BushingPart)
    yield from fitted(look, PanelPart)


def _plugs(look: Inspection) -> Iterator[_Plug]:
    for found in _sockets(look):
        if found.part.plug is not None:
            yield _Plug(
                owner=found.name,
                nose="",
                face=found.face.name,
                ready=_moulding(found.placed.pose, found.part.plug),
            )
    for nose, face in near_wall(look, NoseKind.PLUG):
        if nose.nose.plug is not None:
            outer = nose.pose.shifted((0.0, 0.0, nose.nose.reach - nose.beyond))
            yield _Plug(
                owner=nose.board,
                nose=nose.nose.name,
                face=face.name,
                ready=_moulding(outer, nose.nose.plug),
            )


def _moulding(outside: Pose, plug: Hull) -> Prepared:
    """A plug's moulding; the frame's z points out of the wall from its outside."""
    tall = float(plug.depth)
    pose = outside.shifted((0.0, 0.0, tall / 2))
    if plug.diameter > 0:
        return prepare(Cylinder(plug.diameter / 2, tall), pose)
    return prepare(Block(float(plug.width), float(plug.height), tall), pose)


def check_plug_seats(look: Inspection) -> Iterator[Finding]:
    """Whether a plug goes all the way into its socket.

    Looks at: sockets whose face lies behind the wall's outside, on a wall or on a board, and the
    plug's moulding.

    Hurts: the moulding stops at the wall and the contacts only just touch.

    Formula: recess ≤ 1.6, or opening ≥ moulding + 1 in width and height.

    Source: an open design guide quotes 2.0, 1.9 and 1.6 for three small sockets; + 1 is common
    practice, no source.

    Example: a socket 2.5 behind the wall needs an opening of 13 × 7 for a 12 × 6 moulding.

    Repairs: bring the socket forward; cut the opening to the moulding's size; bevel its edge.
    """
    for found in _sockets(look):
        part = found.part
        if part.plug is None or part.recess <= 0:
            continue
        most = look.need("plug-seats", _DEEPEST)
        room = _opening_room(part, part.plug)
        margin = max(most - part.recess, room)
        yield look.finding(
            "plug-seats",
            (found.name, "plug"),
            have=float(part.recess),
            need=most,
            margin=margin,
            spread=spread_of(part.recess.plus_minus, part.plug.width.plus_minus),
            say=f"The socket of {found.name} lies {show(part.recess)} mm behind the outside; "
            f"more than {show(most)} needs an opening that lets the plug's moulding in.",
            mend=f"bring it {show(up_to_tenth(part.recess - most), 1)} mm forward, or cut the "
            f"opening {show(up_to_tenth(-room), 1)} mm larger"
            if margin < 0
            else "try the plug before the socket is fixed for good",
        )
    yield from _nose_seats(look)


def _nose_seats(look: Inspection) -> Iterator[Finding]:
    """The same for sockets that stand on boards."""
    for nose, face in near_wall(look, NoseKind.PLUG):
        own, recess = nose.nose, -nose.beyond
        if recess <= 0:
            continue
        most = look.need("plug-seats", _DEEPEST)
        room = _nose_room(look, nose, face)
        margin = max(most - recess, room)
        widest = max(d.plus_minus for d in (own.reach, own.plug.width if own.plug else own.reach))
        forward = show(up_to_tenth(max(recess - most, 0.0)), 1)
        larger = ""
        if math.isfinite(room):
            larger = f", or cut the opening {show(up_to_tenth(-room), 1)} mm larger"
        yield look.finding(
            "plug-seats",
            (nose.board, own.name),
            have=recess,
            need=most,
            margin=margin,
            spread=widest,
            say=f"Socket {own.name} of {nose.board} lies {show(recess)} mm behind the outside of "
            f"{wall_words(face.name)}; more than {show(most)} needs an opening that lets the "
            "plug's moulding in.",
            mend=f"bring the board {forward} mm forward{larger}"
            if margin < 0
            else "try the plug before the board is fixed for good",
        )


def _nose_room(look: Inspection, nose: PlacedNose, face: Face) -> float:
    """How much larger a nose's opening is than the moulding and its room, mm."""
    opening, plug = opening_of(look.scene, nose), nose.nose.plug
    if opening is None or plug is None:
        return -math.inf
    at = section(nose.nose, nose.pose, face)
    wide, high = sides(plug)
    if at.turned:
        wide, high = high, wide
    if opening.cut is Cut.ROUND:
        round_plug = plug.diameter > 0
        return opening.diameter - (wide if round_plug else math.hypot(wide, high)) - _ROUND_MOULDING
    tall = opening.height
    if opening.cut is Cut.RIM_SLOT:
        # Above it is open as far as the lid; below it ends under the nose.
        tall = 2 * min(at.up - opening.up + opening.height / 2, opening.height)
    return min(opening.width - wide, tall - high) - _ROUND_MOULDING


def _opening_room(part: BushingPart | PanelPart, plug: Hull) -> float:
    """How much larger the opening is than the moulding and its room, mm."""
    if isinstance(part, PanelPart):
        opening = (float(part.cutout[0]), float(part.cutout[1]))
    else:
        opening = (float(part.hole or part.bushing),) * 2
    return min(o - m - _ROUND_MOULDING for o, m in zip(opening, sides(plug), strict=True))


def check_plugs(look: Inspection) -> Iterator[Finding]:
    """Room outside for plugs beside each other and beside what stands there.

    Looks at: the moulding of each plug against other plugs and against caps, nuts and bezels of
    the same face.

    Hurts: only one of two plugs goes in; a plug presses a button.

    Formula: plug to plug ≥ 1; plug to anything else ≥ 1.

    Source: common practice, no source.

    Example: two sockets 14 apart with 12 mm mouldings leave 2.

    Repairs: move one; turn it by 90°; a plug with a slimmer moulding or an angled one.
    """
    plugs = list(_plugs(look))
    for i, plug in enumerate(plugs):
        for other in plugs[i + 1 :]:
            if other.face is plug.face:
                about = other.nose if other.owner == plug.owner else other.owner
                yield from _plug_gap(look, plug, about, other.name, other.ready, Thing.PLUG)
    for plug, solid in product(plugs, things(look).solids):
        if _outside_neighbour(plug, solid):
            mine = solid.label == plug.owner
            label = solid.body.name.removeprefix(PREFIX) if mine else solid.label
            yield from _plug_gap(look, plug, label, label, solid.ready, Thing.PART)


def _outside_neighbour(plug: _Plug, solid: Solid) -> bool:
    body = solid.body
    if body.owner == plug.owner and (not plug.nose or body.name == PREFIX + plug.nose):
        return False
    return body.outside and body.seat is plug.face


def _plug_gap(
    look: Inspection, plug: _Plug, about: str, other: str, ready: Prepared, kind: Thing
) -> Iterator[Finding]:
    have = gap_between(plug.ready, ready).mm
    need = look.need("plugs", needed_gap(Thing.PLUG, kind))
    if have - need > NEAR:
        return
    short = up_to_tenth(need - have)
    yield look.finding(
        "plugs",
        (plug.owner, about),
        have=have,
        need=need,
        spread=between_features(look.error),
        say=f"The plug in {plug.name} stays {show(have)} mm from {other}; {show(need)} is needed."
        if have >= 0
        else f"The plug in {plug.name} and {other} are in each other's way by {show(-have)} mm.",
        mend=f"move {plug.name} {show(short, 1)} mm further from {other}, or take an angled plug"
        if short > 0
        else f"drill {plug.name} from the same template as {other}",
    )


plug_seats = rule("plug-seats", Family.PLUGS)(check_plug_seats)
plugs = rule("plugs", Family.PLUGS)(check_plugs)
