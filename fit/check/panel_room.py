"""Room to fit a part: a spanner round its nut, a switch in its slot at the rim."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fit.check.cuts import closeness, up_to_tenth
from fit.check.fitted import Fitted, fitted, titled
from fit.check.measure import gap_between, prepare
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import Solid, things, wall_label, wall_words
from fit.findings import Finding, Grade
from fit.geometry.box import level_thickness
from fit.geometry.distance import Prepared
from fit.geometry.frames import Pose
from fit.geometry.shapes import Cylinder
from fit.model.part import BushingPart, Gland, RimSwitch
from fit.model.words import Entry, FaceName, Half
from fit.trade.clearances import Thing, needed_gap, spanner_circle
from fit.units import Length, show

_SOCKET = 20.0
"""Length of a socket over a nut outside, mm (common practice, no source)."""

_TOLD = 5.0
"""Neighbours with a margin above this, mm, are not told."""

_ADDED_LATER = ("knob", "cable")
"""Bodies that come after the nut is tight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """The room a spanner sweeps round a nut: its cylinder, on which side, and the nut's size."""

    name: str
    face: FaceName
    shape: Cylinder
    pose: Pose
    outside: bool
    half: Half
    across_flats: float


def turnings(look: Inspection) -> Iterator[Turning]:
    """The room every spanner in a scene needs."""
    for found in fitted(look, BushingPart):
        part = found.part
        if part.nut is None:
            continue
        under = float(part.washer.thickness) if part.washer is not None else 0.0
        outside = part.entry is Entry.INSIDE
        yield _turning(found, part.nut.across_flats, under, part.nut.height, outside)
    for gland in fitted(look, Gland):
        nut = gland.part.nut
        yield _turning(gland, nut.across_flats, 0.0, nut.height, outside=False)


def _turning(
    found: Fitted[BushingPart] | Fitted[Gland],
    across_flats: float,
    under: float,
    height: float,
    outside: bool,
) -> Turning:
    """Outside a socket comes over the nut; inside an open spanner lies flat round it."""
    tall = _SOCKET if outside else height
    start = under if outside else -found.face.thickness - under - height
    placed = found.placed
    return Turning(
        name=found.name,
        face=found.face.name,
        shape=Cylinder(spanner_circle(across_flats) / 2, tall),
        pose=placed.pose.shifted((0.0, 0.0, start + tall / 2)),
        outside=outside,
        half=placed.half,
        across_flats=across_flats,
    )


def check_spanner(look: Inspection) -> Iterator[Finding]:
    """Room for a spanner round every nut.

    Looks at: the circle a spanner needs round each nut; outside against what stands on the same
    face, inside against its neighbours on the wall, posts, ribs and the walls beside it. Boards,
    knobs and what hangs on the other half come later and are not counted.

    Hurts: the nut cannot be tightened, or the spanner scratches the part beside it.

    Formula: circle = 1.155·AF + 4 (corners of the nut and the spanner's wall), free by 0.5; AF
    the width across flats.

    Source: plain geometry; 4 and 0.5 are common practice, no source.

    Example: a nut 14 across flats needs a circle of 20.2, so its centre stays 10.6 from a wall.

    Repairs: move the part; thin pliers, or turn the part instead of its nut.
    """
    known = things(look)
    need = look.need("spanner", needed_gap(Thing.NUT, Thing.NUT))
    asked = [(turning, prepare(turning.shape, turning.pose)) for turning in turnings(look)]
    near = known.crowd.within([[ready.box] for _, ready in asked], need + _TOLD)
    for (turning, ready), solids in zip(asked, near, strict=True):
        found = list(_beside(look, turning, ready, solids)) + list(_walls_beside(look, turning))
        yield from _told(found)


def _told(found: Iterable[Finding]) -> Iterator[Finding]:
    """What is nearest once hands have strayed, what has least room, and each other that clashes.

    Moving a part away from one leaves the rest. A neighbour may stray more than a wall does, while
    the wall has less room: told by itself the neighbour would make it look roomier than it is.
    """
    worst: dict[tuple[str, ...], Finding] = {}
    for one in sorted(found, key=closeness):
        worst.setdefault(one.about, one)
    least = min(worst.values(), key=lambda one: one.margin, default=None)
    for number, one in enumerate(worst.values()):
        if number == 0 or one is least or one.grade is Grade.CLASH:
            yield one


def _beside(
    look: Inspection, turning: Turning, ready: Prepared, solids: Iterable[Solid]
) -> Iterator[Finding]:
    need = look.need("spanner", needed_gap(Thing.NUT, Thing.NUT))
    for solid in solids:
        if not _counts(look, turning, solid):
            continue
        have = gap_between(ready, solid.ready).mm
        if have - need < _TOLD:
            spread = spread_of(look.error, 0.0 if solid.moulded else look.error, solid.doubt)
            yield _spanner(look, turning, solid.label, solid.words, have, need, spread)


def _counts(look: Inspection, turning: Turning, solid: Solid) -> bool:
    body = solid.body
    if body.owner == turning.name or body.outside is not turning.outside:
        return False
    if body.name in _ADDED_LATER:
        return False
    if solid.moulded:
        return not turning.outside and body.half is turning.half
    placed = look.scene.placed.get(body.owner)
    return body.seat is turning.face and placed is not None and placed.face is turning.face


def _walls_beside(look: Inspection, turning: Turning) -> Iterator[Finding]:
    if turning.outside:
        return
    for room in things(look).margins(turning.shape, turning.pose):
        # Over the rounding of its own wall a spanner is lifted; the wall beyond stops it.
        if turning.face in (room.face, *room.corner) or room.half is not turning.half:
            continue
        need = look.need("spanner", needed_gap(Thing.NUT, Thing.WALL))
        if room.mm - need < _TOLD:
            words = wall_words(room.face) + (f", {room.note}" if room.note else "")
            yield _spanner(look, turning, wall_label(room.face), words, room.mm, need, look.error)


def _spanner(
    look: Inspection,
    turning: Turning,
    label: str,
    words: str,
    have: float,
    need: float,
    spread: float,
) -> Finding:
    room = f"is {show(have)} mm from" if have >= 0 else f"runs {show(-have)} mm into"
    short = up_to_tenth(need - have)
    return look.finding(
        "spanner",
        (turning.name, label),
        have=have,
        need=need,
        spread=spread,
        say=f"A spanner round the nut of {turning.name} ({show(2 * turning.shape.radius, 1)} mm "
        f"across) {room} {words}; {show(need)} is needed.",
        mend=f"move {turning.name} {show(short, 1)} mm away, or hold its nut with thin pliers"
        if short > 0
        else f"tighten {turning.name} before its neighbours go in",
    )


def check_rim_slot(look: Inspection) -> Iterator[Finding]:
    """Whether a switch fits its slot at the rim, and the lid's lip passes it.

    Looks at: slot width and depth against the switch's body; the lip against the part of the
    body that stands behind the wall.

    Hurts: the lid does not lie on the rim, or its lip comes down on the switch.

    Formula: slot width ≥ body width; slot depth ≥ body height; with a lip, either the body ends
    before the lip (depth ≤ t + gap) or it lies below it (slot depth − body height ≥ lip height).

    Source: plain geometry; how true a filed edge comes out is common practice, no source.

    Example: a body 6 high in a slot 9 deep leaves 3 under the rim: a 3 mm lip just passes.

    Repairs: file the slot deeper; cut a gap into the lip there.
    """
    for found in fitted(look, RimSwitch):
        part = found.part
        yield _slot(look, found.name, "wide", part.slot[0], part.body[0])
        yield _slot(look, found.name, "deep", part.slot[1], part.body[1])
        yield from _lip(look, found)


def _slot(look: Inspection, name: str, word: str, slot: Length, body: Length) -> Finding:
    # A slot that is too narrow is filed on; one that is too shallow shows only with the lid on.
    filed = look.hands.filing if word == "deep" else 0.0
    short = up_to_tenth(body - slot)
    return look.finding(
        "rim-slot",
        (name, "rim"),
        have=float(slot),
        need=float(body),
        spread=spread_of(filed, slot.plus_minus, body.plus_minus),
        say=f"The slot of {name} is {show(slot)} mm {word}; its body takes {show(body)}.",
        mend=f"cut the slot {show(short, 1)} mm {word}er"
        if short > 0
        else f"file the slot until the body of {name} lies level with the rim or below it",
    )


def _lip(look: Inspection, found: Fitted[RimSwitch]) -> Iterator[Finding]:
    lip, part = look.tray.lid.lip, found.part
    if lip is None:
        return
    behind = part.body[2] + part.terminals
    before = level_thickness(look.tray, found.face.name) + lip.gap - behind
    below = part.slot[1] - part.body[1] - lip.height
    have, need = (behind + before, behind) if before > below else (below + lip.height, lip.height)
    short = up_to_tenth(need - have)
    yield look.finding(
        "rim-slot",
        (found.name, "lip"),
        have=have,
        need=need,
        spread=spread_of(look.hands.filing, lip.height.plus_minus, part.slot[1].plus_minus),
        say=f"{titled(look, found.name)} reaches {show(behind)} mm in behind the rim, and the "
        "lid's lip comes "
        f"{show(lip.height)} mm down there: "
        + (f"{show(-min(0.0, have - need))} mm too much." if have < need else "it passes."),
        mend=f"cut the slot {show(short, 1)} mm deeper, or cut {show(part.body[0] + 2)} mm out of "
        "the lip there"
        if short > 0
        else "try the lid on before the glue sets",
    )


spanner = rule("spanner", Family.PANEL_PARTS)(check_spanner)
rim_slot = rule("rim-slot", Family.PANEL_PARTS)(check_rim_slot)
