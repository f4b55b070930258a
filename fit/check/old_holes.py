"""Holes the box has already: which of them serve, which get in the way, which stay bare."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from fit.check.cuts import called, stray, up_to_tenth
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.seats import Seat, seats_on, touching
from fit.findings import Finding
from fit.geometry.old_holes import SIDEWAYS, Meets, core, meets, shape, within
from fit.geometry.scene import Cut, OldHole, Opening
from fit.model.rounded import Rounded
from fit.trade.drills import LEAST_PLAY, OVERSIZE
from fit.units import show

_OVERLAP: Final = 0.5
"""How far a disc must reach past a hole all round, as in `cover`, mm."""

_FINGER: Final = 12.5
"""Smallest ball that stands for a finger, mm (IEC 60529, first numeral 2)."""

_FLATS: Final = (Cut.D_FLAT, Cut.DOUBLE_D)


def label(hole: OldHole) -> str:
    """What a finding calls a hole of the box."""
    return f"hole {hole.name}"


def hole_named(look: Inspection, name: str) -> OldHole:
    """The hole of the box of that name."""
    return next(hole for hole in look.scene.there if hole.name == name)


def _met(look: Inspection, hole: OldHole, opening: Opening) -> Meets:
    used, face = look.scene.build.part(opening.part), look.scene.faces[opening.face]
    return meets(opening, used, hole, face)


def check_reused(look: Inspection) -> Iterator[Finding]:
    """Holes of the box that do instead of a new cut.

    Looks at: each opening a part wants, and the holes the box has already.

    Hurts: a hole measured a little wrong may be too narrow after all, or lie beside its place.

    Formula: what must pass lies within the hole, each where it is: for two circles
    (hole − neck)/2 − distance of centres ≥ 0. What must pass is the thread, what of the part is put
    through, or the screw; where that is not known, the cut itself. Tight while less is left than
    the ± of both or, for a neck, half the least play of 0.09.

    Source: plain geometry; the least play is common practice, no source.

    Example: a 10.2 hole, 0.1 beside the middle of a part with a 9.6 neck: 0.3 − 0.1 = 0.2.

    Repairs: none needed; where it is tight, hold the part to the hole before anything else.
    """
    for opening in look.scene.openings:
        used = look.scene.build.part(opening.part)
        need, most = core(opening, used, largest=False), core(opening, used)
        if not opening.by or need is None or most is None:
            continue
        hole = hole_named(look, opening.by)
        there = shape(hole.opening)
        have = need.room_in(there)
        play = 0.0 if need == shape(opening) else LEAST_PLAY / 2
        knocked = any(h.knock_out for h in look.tray.holes if h.name == hole.name)
        done = "knock it out, nothing is cut" if knocked else "nothing is cut"
        yield look.finding(
            "reused",
            (opening.part, label(hole)),
            have=have,
            need=0.0,
            spread=max(play, hole.doubt + have - most.room_in(there)),
            say=f"Hole {hole.name} of the box serves as the {called(opening)}, with "
            f"{show(have)} mm to spare all round: {done}.",
            mend=f"try {opening.part} in hole {hole.name} before anything else is cut",
        )


def check_opened_up(look: Inspection) -> Iterator[Finding]:
    """Holes of the box that a cut opens up.

    Looks at: each cut with a hole of the box wholly inside it.

    Hurts: a twist bit grabs in a hole that is there already, wanders and leaves three corners; and
    where little is cut away on one side, the old edge stays standing there.

    Formula: material cut away all round ≥ 0; tight while it is less than the cut may stray.

    Source: drilling pages of two model makers; 0.25 is common practice, no source.

    Example: an 8 mm hole 1 mm beside the middle of a 12 mm cut leaves 1.0 on its thin side.

    Repairs: open it up with a step bit, or with a file where the middles lie more than 0.25 apart
    (a step bit follows the hole that is there).
    """
    for opening in look.scene.openings:
        for name in opening.opens:
            hole = hole_named(look, name)
            have = within(shape(hole.opening), opening, look.scene.faces[opening.face])
            yield look.finding(
                "opened-up",
                (opening.part, label(hole)),
                have=have,
                need=0.0,
                spread=spread_of(stray(opening, look.hands), hole.doubt),
                say=f"The {called(opening)} opens up hole {name} of the box, by {show(have)} mm "
                f"where it is least; {_how(opening, hole)}.",
                mend=f"move {opening.part} so that the cut lies more evenly round hole {name}, or "
                "mark it anew with the old hole in sight",
            )


def _how(opening: Opening, hole: OldHole) -> str:
    old = hole.opening
    grabs = "a twist bit grabs in it and wanders"
    if not (opening.drilled and old.drilled):
        return f"{grabs}, so saw and file there"
    beside = math.hypot(opening.across - old.across, opening.up - old.up)
    if beside <= SIDEWAYS:
        return f"take a step bit or a file: {grabs}"
    return f"take a file: {grabs}, and a step bit follows it, {show(beside)} mm off"


def check_old_cover(look: Inspection) -> Iterator[Finding]:
    """Whether what a part is held by covers the holes of the box it lies on.

    Looks at: bezels, washers, nuts, flanges, screw heads, standoffs and spacers that lie on a hole
    of the box, whether their own cut runs into it or not; and cuts that run into one with nothing
    to cover it.

    Hurts: the hole shows beside the part; a nut or a head that lies half on nothing tilts, cracks
    the edge or is pulled through.

    Formula: disc beyond the hole all round ≥ 0.5 + play, play being how far the part may shift in
    its opening; 0.5 where its own cut is elsewhere. With nothing to cover it: hole beyond the cut
    ≤ 0.1, as a cut that came out wide. A flat against turning is not made up for by any disc.

    Source: common practice, no source.

    Example: a 14 mm bezel on a 12.6 hole with a 11.6 neck: 7 − 6.3 = 0.7, and 0.5 + 0.5 needed.

    Repairs: a washer that covers the hole; plug the hole and drill anew; move the part.
    """
    for hole in look.scene.there:
        if hole.closed:
            continue
        least: dict[str, Finding] = {}
        for found in (*_own_cuts(look, hole), *_lying_on(look, hole)):
            part = found.about[0]
            if part not in least or found.margin < least[part].margin:
                least[part] = found
        yield from least.values()


def _own_cuts(look: Inspection, hole: OldHole) -> Iterator[Finding]:
    """Parts whose own opening runs into a hole or is provided by it."""
    outline = shape(hole.opening)
    for opening in look.scene.openings:
        way = _met(look, hole, opening)
        if way not in (Meets.PROVIDES, Meets.PARTLY):
            continue
        given = way is Meets.PROVIDES
        spread = hole.doubt if given else spread_of(stray(opening, look.hands), hole.doubt)
        seats = [] if opening.cut in _FLATS else _seats(look, opening.part, hole)
        if not seats:
            yield _uncovered(look, hole, opening, spread)
            continue
        need = core(opening, look.scene.build.part(opening.part), largest=False)
        room = outline if given else shape(opening, look.scene.faces[opening.face])
        play = 0.0 if need is None else max(0.0, -room.room_in(need))
        for seat in seats:
            yield _covered(look, hole, seat, play, spread)


def _seats(look: Inspection, part: str, hole: OldHole) -> list[Seat]:
    """What a part is held by and what of it lies on a hole."""
    outline = shape(hole.opening)
    return [s for s in seats_on(look, part, hole.opening.face) if s.outline.apart(outline) < 0]


def _lying_on(look: Inspection, hole: OldHole) -> Iterator[Finding]:
    """Parts that lie on a hole with their own cuts elsewhere."""
    for part, openings in look.openings.items():
        ways = {_met(look, hole, opening) for opening in openings}
        if ways & {Meets.PROVIDES, Meets.PARTLY}:
            continue
        opened = Meets.OPENS in ways
        strays = max(stray(opening, look.hands) for opening in openings)
        for seat in _seats(look, part, hole):
            if not opened and not seat.taped:
                yield _covered(look, hole, seat, 0.0, spread_of(strays, hole.doubt))


def _covered(look: Inspection, hole: OldHole, seat: Seat, play: float, spread: float) -> Finding:
    have = shape(hole.opening).room_in(seat.outline)
    need = look.need("old-cover", _OVERLAP) + play
    short = up_to_tenth(need - have)
    reaches = f"reaches {show(have)} mm past hole {hole.name} of the box"
    if have < 0:
        reaches = f"leaves {show(-have)} mm of hole {hole.name} of the box uncovered"
    return look.finding(
        "old-cover",
        (seat.part, label(hole)),
        have=have,
        need=need,
        spread=spread,
        say=f"The {seat.word} of {seat.part} {reaches}; it is to reach {show(need)} past it all "
        "round.",
        mend=f"put a washer {show(2 * short, 1)} mm wider than the {seat.word} under it, plug hole "
        f"{hole.name} and drill anew, or move {seat.part}"
        if short > 0
        else f"hold the {seat.word} of {seat.part} over hole {hole.name} before cutting",
    )


def _uncovered(look: Inspection, hole: OldHole, opening: Opening, spread: float) -> Finding:
    face = look.scene.faces[opening.face]
    have = within(shape(hole.opening), opening, face)
    most = (OVERSIZE + opening.plus) / 2
    lost = "takes away the flat against turning of" if opening.cut in _FLATS else "reaches beyond"
    beyond = show(max(0.0, -have))
    return look.finding(
        "old-cover",
        (opening.part, label(hole)),
        have=max(0.0, -have),
        need=most,
        margin=have + most,
        spread=spread,
        say=f"Hole {hole.name} of the box {lost} the {called(opening)}, by {beyond} mm where it "
        f"is most; nothing covers it there, and {show(most)} does no harm.",
        mend=f"move {opening.part} off hole {hole.name}, or glue a plate over the hole and cut "
        "through that",
    )


def check_bare_holes(look: Inspection) -> Iterator[Finding]:
    """Holes of the box that nothing uses and nothing covers.

    Looks at: each open hole of the box that no opening meets and nothing on its wall lies over.

    Hurts: dust, light and insects come in, and it shows. Where a finger goes in, it reaches what is
    inside; with mains in the box that matters most.

    Formula: width ≤ 12.5, a finger; never more than tight, but with mains inside always tight.

    Source: IEC 60529 takes a ball of 12.5 mm for a finger.

    Example: a 16 mm hole left by a switch lets a finger in.

    Repairs: plug it (a blind grommet, a glued disc), use it for a part, or put a label over it.
    """
    mains = any(used.part.mains for used in look.scene.build.parts)
    for hole in look.scene.there:
        if hole.closed or any(_met(look, hole, o) is not Meets.APART for o in look.scene.openings):
            continue
        outline = shape(hole.opening)
        if any(outline.room_in(over) >= 0 for over in touching(look, hole.opening.face)):
            continue
        yield _bare(look, hole, outline, mains=mains)


def _bare(look: Inspection, hole: OldHole, outline: Rounded, *, mains: bool) -> Finding:
    opening = hole.opening
    wide = opening.diameter if opening.drilled else min(opening.width, opening.height)
    need = look.need("bare-holes", _FINGER)
    why = "dust and light come in"
    if wide > need:
        why = "a finger goes in"
    if mains:
        why += ", and there is mains in the box"
    # A note, never a clash: from a finger's width on the margin ends at nothing.
    margin = 0.0 if mains else max(0.0, need - wide)
    return look.finding(
        "bare-holes",
        ("box", label(hole)),
        have=wide,
        need=need,
        margin=margin,
        spread=max(hole.doubt, LEAST_PLAY / 2) if margin <= 0 else hole.doubt,
        say=f"Hole {hole.name} in the {opening.face}, {show(wide)} mm wide, stays bare: {why}.",
        mend=f"plug hole {hole.name}, or put a part there",
    )


reused = rule("reused", Family.OLD_HOLES)(check_reused)
opened_up = rule("opened-up", Family.OLD_HOLES)(check_opened_up)
old_cover = rule("old-cover", Family.OLD_HOLES)(check_old_cover)
bare_holes = rule("bare-holes", Family.OLD_HOLES)(check_bare_holes)
