"""Room for fingers between what they press and turn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from fit.check.cuts import NEAR, up_to_tenth
from fit.check.fitted import bodies_of, fitted, titled
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.findings import Finding
from fit.geometry.distance import gap
from fit.geometry.noses import nose_body
from fit.geometry.scene import Body
from fit.model.part import BushingPart, RimSwitch
from fit.model.words import FaceName, NoseKind
from fit.trade.clearances import Control, finger_gap
from fit.trade.hands import between_features
from fit.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """What a finger works: whose, which on a board, on which face, its kind, what it touches."""

    name: str
    nose: str = ""
    face: FaceName
    kind: Control
    body: Body


def controls(look: Inspection) -> Iterator[Worked]:
    """Everything in a scene that fingers work."""
    for found in fitted(look, BushingPart):
        kind = Control.PUSH if found.part.cap else Control.KNOB
        for body in bodies_of(look, found.name):
            if body.name == "knob":
                yield Worked(name=found.name, face=found.face.name, kind=kind, body=body)
    for switch in fitted(look, RimSwitch):
        for body in bodies_of(look, switch.name):
            if body.name == "lever":
                yield Worked(
                    name=switch.name, face=switch.face.name, kind=Control.TOGGLE, body=body
                )

    for nose in look.scene.noses:
        if nose.nose.kind is NoseKind.BUTTON and nose.face is not None:
            for body in bodies_of(look, nose.board):
                if body.outside and body.name == nose_body(nose.nose):
                    yield Worked(
                        name=nose.board,
                        nose=nose.nose.name,
                        face=nose.face,
                        kind=Control.PUSH,
                        body=body,
                    )


def _titled(look: Inspection, one: Worked) -> str:
    return f"Button {one.nose} of {one.name}" if one.nose else titled(look, one.name)


def _other(one: Worked) -> str:
    return f"{one.nose} of {one.name}" if one.nose else one.name


def check_fingers(look: Inspection) -> Iterator[Finding]:
    """Room between buttons, knobs and switches of one face.

    Looks at: caps, knobs, levers and buttons on boards, edge to edge, each two of one face.

    Hurts: a finger presses two buttons at once, or does not get round a knob.

    Formula: gap ≥ 13 between push buttons, and between a button and anything else; 19 between
    toggles, and between a toggle and a knob; 25 between knobs (one hand, bare fingers).

    Source: NUREG-0700 table 11.5, MIL-STD-1472E table VII; 25 between knobs from memory.
    Keyboards and hobby panels sit closer: say so with needs: {fingers: 6}.

    Example: two 10 mm caps on a 20 mm pitch leave 10 between them; 13 is asked.

    Repairs: move them apart; smaller caps or knobs; set them in two rows.
    """
    for a, b in combinations(controls(look), 2):
        if a.face is not b.face:
            continue
        have = gap(a.body.shape, a.body.pose, b.body.shape, b.body.pose).mm
        need = look.need("fingers", finger_gap(a.kind, b.kind))
        if have - need > NEAR:
            continue
        short = up_to_tenth(need - have)
        yield look.finding(
            "fingers",
            (a.name, b.nose if a.name == b.name else b.name),
            have=have,
            need=need,
            spread=spread_of(between_features(look.error)),
            say=f"{_titled(look, a)} and {_other(b)} leave {show(have)} mm for a finger between "
            "them; "
            f"{show(need)} is asked."
            if have >= 0
            else f"{_titled(look, a)} and {_other(b)} overlap by {show(-have)} mm outside.",
            mend=f"move {_other(a)} {show(short, 1)} mm further from {_other(b)}, or "
            "accept less with needs: {fingers: …}"
            if short > 0
            else f"drill {_other(a)} and {_other(b)} from one template",
        )


fingers = rule("fingers", Family.BUTTONS)(check_fingers)
