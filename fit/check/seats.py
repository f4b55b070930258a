"""What parts bear on a wall with: bezels, washers, nuts, heads, as outlines on its face."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.check.rule import Inspection
from fit.geometry.box import Face
from fit.geometry.scene import Body
from fit.geometry.shapes import Block, Cylinder
from fit.model.part import BushingPart
from fit.model.rounded import Rounded, upright_box
from fit.model.words import Entry, FaceName

_FLUSH: Final = 1e-6
"""A body bears on a wall when it ends within this of it, mm."""

_TAPED: Final = "panel"

_BEARING: Final = frozenset(
    {
        *("bezel", "washer", "nut", "inner washer", "flange", "inner flange", "dome", "clamp"),
        *("screw head", "outer screw head", "spacer", "filter plate", _TAPED),
    }
)

_STANDOFF: Final = "standoff "

_SHOULDER: Final = "body"
"""Of a bushing part that is put in from inside: what of it bears on the wall."""

_ACROSS_FLATS: Final = math.cos(math.radians(30.0))
"""A nut's solid is as wide as its corners; between them it covers as much less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """What bears on a wall: whose, what, and its outline on the face, mm; taped on or pulled."""

    part: str
    word: str
    outline: Rounded
    taped: bool = False


def seats_on(look: Inspection, part: str, face: FaceName) -> Iterator[Seat]:
    """What of a part bears on a wall, outside or inside; of a nut what its flats leave."""
    wall = look.scene.faces[face]
    kind = look.scene.build.part(part).part
    inside = isinstance(kind, BushingPart) and kind.entry is Entry.INSIDE
    for body in look.bodies.get(part, ()):
        shoulder = inside and body.name == _SHOULDER
        if body.name in _BEARING or body.name.startswith(_STANDOFF) or shoulder:
            outline = footprint(body, wall)
            if outline is not None:
                word = "shoulder" if shoulder else body.name
                taped = body.name == _TAPED
                yield Seat(part=part, word=word, outline=outline, taped=taped)


def touching(look: Inspection, face: FaceName) -> Iterator[Rounded]:
    """The outlines of all that lies flat on a wall, outside or inside."""
    wall = look.scene.faces[face]
    for body in look.scene.bodies:
        if body.seat is face:
            outline = footprint(body, wall)
            if outline is not None:
                yield outline


def footprint(body: Body, wall: Face) -> Rounded | None:
    """The outline of a body that lies flat on a wall, on its face, mm; None when it does not."""
    if not isinstance(body.shape, Cylinder | Block):
        return None
    across, up, out = wall.frame.inside(body.pose.origin)
    z = body.pose.z
    level = abs(sum(a * b for a, b in zip(z, wall.frame.z, strict=True)))
    tall = body.shape.height if isinstance(body.shape, Cylinder) else body.shape.dz
    ends = (out - tall / 2, -(out + tall / 2) - wall.thickness)
    if level < 1 - _FLUSH or min(abs(end) for end in ends) > _FLUSH:
        return None
    if isinstance(body.shape, Cylinder):
        flats = _ACROSS_FLATS if body.name == "nut" else 1.0
        return Rounded(((across, up),), body.shape.radius * flats)
    x = body.pose.x
    turn = math.degrees(
        math.atan2(
            sum(a * b for a, b in zip(x, wall.frame.y, strict=True)),
            sum(a * b for a, b in zip(x, wall.frame.x, strict=True)),
        )
    )
    return upright_box((across, up), body.shape.dx, body.shape.dy, turn)
