"""What several rules ask of an opening: its name, how far it strays, how far it reaches."""

from __future__ import annotations

import math

from fit.check.things import wall_label
from fit.findings import Finding
from fit.geometry.box import Face
from fit.geometry.frames import Pose
from fit.geometry.scene import Cut, Opening, Role
from fit.geometry.shapes import Block, Cylinder
from fit.model.words import UPRIGHT, FaceName
from fit.trade.hands import HandWork, hole_position_error

NEAR = 15.0
"""Things further apart than what is needed and this, mm, are not worth a finding."""

_ROLE_WORDS = {
    Role.WINDOW: "window",
    Role.SCREW: "screw hole",
    Role.WIRE: "wire hole",
    Role.TAB: "tab hole",
    Role.VENT: "vent hole",
}


_CUT_WORDS = {Cut.RECTANGLE: "cut-out", Cut.RIM_SLOT: "slot", Cut.OBLONG: "slot"}


def called(opening: Opening) -> str:
    """The opening in words: "hole of tare", "window of readout"."""
    if opening.role is Role.OLD:
        return f"hole {opening.name} of the box"
    kind = _ROLE_WORDS.get(opening.role)
    if kind is None:
        kind = _CUT_WORDS.get(opening.cut, "hole")
    if opening.name:
        return f"{kind} for {opening.name} of {opening.part}"
    return f"{kind} of {opening.part}"


def stray(opening: Opening, hands: HandWork) -> float:
    """How far an edge of the opening may come out beside its place, mm.

    Drilled ones stray by marking, punching and drilling, filed ones by marking and filing; half
    of what an opening may be too large comes on top.
    """
    if opening.drilled:
        placed = hole_position_error(hands)
    else:
        placed = math.hypot(hands.marking, hands.filing)
    return placed + opening.plus / 2


def reach_along(opening: Opening, nx: float, ny: float) -> float:
    """How far an opening reaches along a unit direction of its face, mm, from the face's origin.

    Exact; a D hole counts as round, a key as reaching that far all round, a slot with round ends
    as square (safe side).
    """
    centre = opening.across * nx + opening.up * ny
    if opening.drilled:
        key = opening.height if opening.cut is Cut.KEYED else 0.0
        return centre + opening.diameter / 2 + key
    a = math.radians(0.0 if opening.cut is Cut.RIM_SLOT else opening.turn)
    along_w = nx * math.cos(a) + ny * math.sin(a)
    along_h = ny * math.cos(a) - nx * math.sin(a)
    return centre + (opening.width * abs(along_w) + opening.height * abs(along_h)) / 2


def behind(opening: Opening, face: Face, depth: float) -> tuple[Block | Cylinder, Pose]:
    """The space straight behind an opening, from the wall's inside `depth` mm into the box."""
    middle = (opening.across, opening.up, -face.thickness - depth / 2)
    pose = face.frame.shifted(middle)
    if opening.drilled:
        return Cylinder(opening.diameter / 2, depth), pose
    if opening.cut is not Cut.RIM_SLOT:
        pose = pose.turned(opening.turn)
    return Block(opening.width, opening.height, depth), pose


RIM = "rim"
"""What a finding calls the body's open edge."""


def edge_name(face: Face, nx: float, ny: float) -> str:
    """What lies beyond the edge of a face in that direction: "rim", "floor", "wall left"."""
    x, y, z = face.frame.direction((nx, ny, 0.0))
    if face.name in UPRIGHT and abs(z) > max(abs(x), abs(y)):
        return RIM if z > 0 else wall_label(FaceName.FLOOR)
    if abs(x) > abs(y):
        return wall_label(FaceName.RIGHT if x > 0 else FaceName.LEFT)
    return wall_label(FaceName.BACK if y > 0 else FaceName.FRONT)


def edge_words(edge: str) -> str:
    """An edge of a face in a sentence: "the rim", "the edge at the left wall"."""
    if edge == RIM:
        return "the rim"
    return f"the edge at the {' '.join(reversed(edge.split()))}"


def up_to_tenth(mm: float) -> float:
    """A length rounded up to a tenth, mm, as one moves or files by."""
    return math.ceil(mm * 10 - 1e-6) / 10


def closeness(finding: Finding) -> float:
    """For picking the worst of several: room less spread, mm, without the noise of arithmetic."""
    return round(finding.margin - finding.spread, 6)
