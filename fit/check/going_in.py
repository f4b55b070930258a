"""Does everything get to its seat past rim, lip, posts and what is mounted already?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from fit.check.doubts import widest
from fit.check.passing import Group, groups
from fit.check.plane import OPPOSITE, noses_in
from fit.check.repairs import tenths, when_tight
from fit.check.rule import Family, Inspection, rule
from fit.check.straight import Passing, lid_passes
from fit.check.things import (
    CLOSE,
    capital,
    noun,
    things,
    wall_doubt,
    wall_label,
    wall_words,
)
from fit.check.ways import SHORT, Crooked, Going, going, spread_on, way_words
from fit.findings import Finding
from fit.geometry.box import inside
from fit.geometry.scene import PlacedNose
from fit.model.build import Used
from fit.model.part import BushingPart, Hull
from fit.model.words import Entry, Half
from fit.units import show

Words = Callable[[Passing], str]
"""How a passing is put into words."""


def check_going_in(look: Inspection) -> Iterator[Finding]:
    """The way of every thing from outside to its seat.

    Looks at: boards with all that is joined to them, and holders, lowered straight past rim,
    ribs and posts (onto the lid: past its lip and posts); the lid with all that hangs on it,
    lowered onto the body with all that stands in it, panel parts and nuts included (a lid that is
    narrower at the rim than above with its walls, too); parts that come from inside through the
    mouth of the box. Where the straight way is barred (by a rib, or by a board's own sockets that
    reach through a wall), a way is looked for by sliding and tilting in an upright plane. What is
    in the way at the seat as well is told by `bodies` and `walls`, whether a part passes its own
    hole by `passes`.

    Hurts: everything has its place, and nothing gets there. A rib above a board, a rim that is
    narrower than the box below it, sockets through two facing walls, a board on the lid that must
    pass under a button.

    Formula: gap ≥ need for every place of the thing on its way, needs as in `bodies`; W(z) as in
    `walls` at every height z from the seat to the rim; the two smaller sizes of what comes from
    inside ≤ the mouth. Slid: W − L ≥ p + c, with p how far its nose stands past the board's edge
    and c = 1.0, half of it at either end; tilted: 0.5 on every side at every angle on the way.

    Source: sweeping the outline from rim to seat, and W − L ≥ p + c, are common practice, no
    source; the places free of meeting at one angle by Minkowski sums, T. Lozano-Pérez, 1983.

    Safe side: tilted ways are looked for in planes square to the walls, up to 60°, and there
    things that overlap as seen along the axis of the tilt count as if they reached all along it.
    A board with noses in walls of two directions only goes straight in, with all of these walls
    open to the rim. Things tilted both ways sweep the upright box round them on straight ways;
    round ones on walls that lean by up to 30° the level bar round them.
    Parts on the walls can be fitted after the boards: that is the rule `order`.

    Example: a board of 68 in a box 76 wide inside, its socket standing 6 past its edge, through
    the wall: 76 − 68 − 6 = 2 ≥ 1. Set in back from the wall it goes down and is then pushed
    forward. With sockets through both walls it does not; with the openings cut down from the rim
    as slots it goes straight in again.

    Repairs: cut a nose's opening open to the rim (slot: true); notch the board; file the rib away
    where it passes; move the panel part along its wall; hang the thing on the other half.
    """
    known = things(look)
    for group in groups(known):
        way = going(known, group)
        if way.fitting is not None:
            yield _crooked(look, group, way, way.fitting)
            continue
        if way.noses:
            yield _barred(look, group, way)
        told = way.blocked if way.noses else way.passes
        yield from _told(look, list(told), partial(_group_words, words=group.words))
    yield from _told(look, list(lid_passes(known)), _lid_words)
    for used in look.scene.build.parts:
        if used.name in look.scene.placed:
            yield from _mouth(look, used)


def _told(look: Inspection, found: list[Passing], words: Words) -> Iterator[Finding]:
    """What is worse on the way than at the seat, and the least room where nothing is."""
    close = {(p.label, p.other) for p in found if p.on_the_way and p.margin < CLOSE * p.spread}
    worst: dict[tuple[str, str], Passing] = {}
    for p in found:
        key = (p.label, p.other)
        if p.on_the_way and key in close:
            worst[key] = min(worst.get(key, p), p, key=_unsure)
    told = list(worst.values())
    if not told and found:
        least = min(found, key=_margin)
        told = [least] if least.margin >= 0 or least.on_the_way else []
    for p in told:
        mend = when_tight(p.label, p.other_words, p.margin, p.spread)
        yield look.finding(
            "going-in",
            (p.label, p.other),
            have=p.have,
            need=p.need,
            spread=p.spread,
            say=words(p),
            mend=_mend(p) if p.margin < 0 else mend,
        )


def _crooked(look: Inspection, group: Group, way: Going, found: Crooked) -> Finding:
    """A group that goes in by sliding or tilting."""
    doubt = wall_doubt(look, found.towards)
    spread = spread_on(group, found.towards, doubt)
    label, other = _about(group, way)
    return look.finding(
        "going-in",
        (label, other),
        have=found.have,
        need=way.need,
        spread=spread,
        say=capital(
            f"{group.words} goes in {way_words(found)}; {show(found.have)} mm is left on the "
            f"way where it is tightest; {show(way.need)} mm is needed."
        ),
        mend=f"cut {group.name} from cardboard first and try the way",
    )


def _about(group: Group, way: Going) -> tuple[str, str]:
    """What bars the straight way: a nose's wall, else the thing in the way."""
    if way.noses:
        return group.name, _wall_of(way)
    worst = min(way.blocked, key=_margin)
    return worst.label, worst.other


def _wall_of(way: Going) -> str:
    face = way.noses[0].face
    assert face is not None
    return wall_label(face)


def _barred(look: Inspection, group: Group, way: Going) -> Finding:
    """A group whose noses bar every way in."""
    names = " and ".join(dict.fromkeys(n.nose.name for n in way.noses))
    walls = dict.fromkeys(wall_words(n.face) for n in way.noses if n.face is not None)
    found = way.crooked
    have = SHORT if found is None else found.have
    reach = f"its {names} {'reaches' if len(way.noses) == 1 else 'reach'} through"
    say = f"{group.words} does not go in: {reach} {' and '.join(walls)}"
    if group.half is Half.LID:
        say += ", and the lid it hangs on comes straight down"
    elif others := _crossing(look, group, way):
        kept = " and ".join(dict.fromkeys(n.nose.name for n in others))
        there = " and ".join(dict.fromkeys(wall_words(n.face) for n in others if n.face))
        stand = "stands" if len(others) == 1 else "stand"
        both = any(n in way.noses for n in others)
        say += ", walls of two directions" if both else f" and {kept} {stand} in {there}"
        say += ": slid or tilted into the one, it jams in the other"
    elif have < 0:
        say += ", and it can be neither slid nor tilted to its place"
    else:
        say += f", and slid or tilted it keeps only {show(have)} mm; {show(way.need)} mm is needed"
    return look.finding(
        "going-in",
        (group.name, _wall_of(way)),
        have=have,
        need=way.need,
        spread=0.0 if found is None else spread_on(group, found.towards, 0.0),
        say=capital(f"{say}."),
        mend=f"cut the opening for {names} open to the rim (slot: true)",
    )


def _crossing(look: Inspection, group: Group, way: Going) -> list[PlacedNose]:
    """Noses that stand in walls along which the group would have to be slid or tilted."""
    face = way.noses[0].face
    assert face is not None
    return [
        n
        for n in noses_in(things(look), group)
        if n.through and n.face not in (face, OPPOSITE[face], None)
    ]


def _margin(p: Passing) -> float:
    return p.margin


def _unsure(p: Passing) -> tuple[bool, float]:
    """What hands may spoil first, then what has least room."""
    return p.margin >= p.spread, p.margin


def _mend(p: Passing) -> str:
    short = tenths(-p.margin)
    if p.other.startswith(("rib ", "post ")) or p.other == "lip":
        return f"notch {p.label} by {short} mm there, or file the {p.other} away where it passes"
    if p.other.startswith("wall "):
        return f"make {p.label} {short} mm smaller on that side"
    return f"move {p.label} or {p.other} {short} mm out of the other's way, or change halves"


def _group_words(p: Passing, words: str) -> str:
    needed = f"; {show(p.need)} mm is needed" if p.need else ""
    by = "" if p.label in words else f" ({p.words})"
    if p.have < 0:
        return capital(
            f"{words}{by} does not go to its seat: it meets {p.other_words} by "
            f"{show(-p.have)} mm on the way{needed}."
        )
    return capital(
        f"{words}{by} goes to its seat {show(p.have)} mm from {p.other_words} on the way{needed}."
    )


def _lid_words(p: Passing) -> str:
    needed = f"; {show(p.need)} mm is needed" if p.need else ""
    if p.have < 0:
        return (
            f"The lid does not go on: {p.words} meets {p.other_words} by {show(-p.have)} mm on "
            f"the way down{needed}."
        )
    return (
        f"The lid goes on: {p.words} passes {p.other_words} at {show(p.have)} mm on the way "
        f"down{needed}."
    )


def _mouth(look: Inspection, used: Used) -> Iterator[Finding]:
    """A part that comes from inside must get into the box at all."""
    placed = look.scene.placed[used.name]
    part = used.part
    if not isinstance(part, BushingPart) or part.entry is not Entry.INSIDE:
        return
    if placed.half is Half.LID:
        return
    mouth = inside(look.tray, look.tray.rim)
    limits = sorted((mouth.width, mouth.depth))
    sizes = sorted(_sizes(part.hull))
    have = min(limit - size for limit, size in zip(limits, sizes[:2], strict=True))
    spread = widest(part)
    if have >= CLOSE * max(spread, 1.0):
        return
    yield look.finding(
        "going-in",
        (used.name, "rim"),
        have=have,
        need=0.0,
        spread=spread,
        say=f"{capital(noun(used))} '{used.name}' comes from inside and is "
        f"{show(abs(have))} mm {'larger' if have < 0 else 'smaller'} than the mouth of the box.",
        mend=f"mount {used.name} from outside" if have < 0 else None,
    )


def _sizes(hull: Hull) -> tuple[float, float, float]:
    across = float(hull.diameter)
    return (across or float(hull.width), across or float(hull.height), float(hull.depth))


going_in = rule("going-in", Family.GOING_IN)(check_going_in)
