"""Parts on a wall: does the thread hold, does the wall suit, is the hole covered and passed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from fit.check.cuts import up_to_tenth
from fit.check.fitted import Fitted, fitted, longest_side, mount_hole, sides, titled, widest
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import wall_label, wall_words
from fit.findings import Finding
from fit.geometry.hulls import passing
from fit.geometry.scene import Cut, Opening
from fit.model.part import BushingPart, Gland, Grommet, PanelPart, TapedPart
from fit.model.words import Entry
from fit.trade.clearances import allowance
from fit.trade.drills import LEAST_PLAY, OVERSIZE
from fit.units import Length, show

_OVERLAP = 0.5
"""Least a bezel, washer or nut must overlap its hole on each side, mm (common practice, no
source)."""

_RUBBER = 0.5
"""How far a grommet's groove may differ from the wall, mm: rubber gives (common practice, no
source)."""

_RUBBER_WALL = 1.0
"""Rubber left round a cable in a grommet, mm on each side (common practice, no source)."""


def check_thread(look: Inspection) -> Iterator[Finding]:
    """Whether enough thread shows beyond the wall for the nut.

    Looks at: parts on a threaded neck and cable glands: neck, wall, washers, nut.

    Hurts: a nut on half a turn of thread strips or shakes loose.

    Formula: neck − t − washers ≥ max(nut, 2), t the wall's thickness.

    Source: builders' reports of nuts that barely catch; 2 mm of thread at least is common
    practice, no source. Panel nuts are 2 to 2.8 mm high.

    Example: an 8 mm neck through a 3 mm wall with a 0.5 mm washer leaves 4.5; a 2.8 mm nut holds.

    Repairs: leave out the washer; file the wall thinner round the hole from inside; a part with a
    longer neck.
    """
    for name, wall, nut, neck, washers in _threaded(look):
        have = neck - wall - sum(washers)
        need = look.need("thread", max(float(nut), allowance("thread-for-nut").mm))
        short = up_to_tenth(need - have)
        past = f"{' and its washer' if washers else ''}; its nut needs {show(need)}."
        say = f"{show(have)} mm of the thread of {name} show beyond the wall{past}"
        if have < 0:
            say = f"The thread of {name} ends {show(-have)} mm inside the wall{past}"
        yield look.finding(
            "thread",
            (name, "nut"),
            have=have,
            need=need,
            spread=spread_of(*(v.plus_minus for v in (neck, wall, nut, *washers))),
            say=say,
            mend=f"leave out a washer or thin the wall round the hole by {show(short, 1)} mm"
            if short > 0
            else None,
        )


def _threaded(
    look: Inspection,
) -> Iterator[tuple[str, Length, Length, Length, list[Length]]]:
    """Name, wall, nut height, neck and washers' thicknesses of everything held by a nut."""
    for found in fitted(look, BushingPart):
        part, wall = found.part, look.tray.thickness(found.face.name)
        if part.nut is not None:
            discs = (part.washer, part.inner_washer if part.entry is Entry.INSIDE else None)
            washers = [disc.thickness for disc in discs if disc is not None]
            yield found.name, wall, part.nut.height, part.neck, washers
    for gland in fitted(look, Gland):
        wall = look.tray.thickness(gland.face.name)
        yield gland.name, wall, gland.part.nut.height, gland.part.neck, []


def check_panel_thickness(look: Inspection) -> Iterator[Finding]:
    """Whether the wall is as thick as the part wants it.

    Looks at: the range of wall thickness of parts set into a cut-out, glands, and the groove of
    grommets.

    Hurts: a snap-in part falls out of a thin wall and will not go into a thick one; a thin wall
    bends under a gland; a grommet does not snap over the wall.

    Formula: least ≤ t ≤ most, t the wall's thickness; gland: t ≥ 1.5; grommet: |t − groove| ≤ 0.5.

    Source: the part's own sheet; 1.5 from a gland maker's instructions; 0.5 for rubber is common
    practice, no source.

    Example: a rocker switch for 1 to 2.5 mm does not snap into a 3 mm wall.

    Repairs: thin the wall from inside, or put a plate behind it; glue the part; another face.
    """
    for panel in fitted(look, PanelPart):
        part, t = panel.part, panel.face.thickness
        if part.panel_max > 0 and part.panel_max - t <= t - part.panel_min:
            yield _thickness(look, panel, part.panel_max, most=True)
        elif part.panel_min > 0:
            yield _thickness(look, panel, part.panel_min, most=False)
    for gland in fitted(look, Gland):
        yield _thickness(look, gland, Length(allowance("gland-wall").mm), most=False)
    for grommet in fitted(look, Grommet):
        groove = grommet.part.groove
        most = grommet.face.thickness >= groove
        limit = Length(groove + (_RUBBER if most else -_RUBBER), groove.plus_minus)
        yield _thickness(look, grommet, limit, most=most)


def _thickness(look: Inspection, found: Fitted[Any], limit: Length, *, most: bool) -> Finding:
    face = found.face.name
    wall = look.tray.thickness(face)
    short = wall - limit if most else limit - wall
    change = "thinner round the hole, or glue it" if most else "thicker with a plate"
    return look.finding(
        "panel-thickness",
        (found.name, wall_label(face)),
        have=float(wall),
        need=float(limit),
        margin=-short,
        spread=spread_of(wall.plus_minus, limit.plus_minus),
        say=f"{titled(look, found.name)} wants a wall of at {'most' if most else 'least'} "
        f"{show(limit)} mm; "
        f"{wall_words(face)} has {show(wall)}.",
        mend=f"make the wall {show(up_to_tenth(short), 1)} mm {change}" if short > 0 else None,
    )


def check_cover(look: Inspection) -> Iterator[Finding]:
    """Whether bezel, washer, nut or front covers the hole.

    Looks at: on both sides of the wall, the disc that bears on it (bezel, washer, nut, shoulder);
    fronts over cut-outs, flanges over grommet holes, a taped part over its wire hole.

    Hurts: the hole shows beside the part, or the part is pulled through.

    Formula: disc ≥ hole + play + 1, with play = hole − bushing: the part may sit to one side of
    its hole and must still overlap it by 0.5. How far the hole itself strays does not matter
    here, since the part goes along with it. Front ≥ cut-out + 1. Taped part: its edge ≥ 1 + e
    beyond the hole, e the hand error.

    Source: common practice, no source.

    Example: a 14 mm bezel on a 12.0 hole for an 11.65 bushing: 12.0 + 0.35 + 1 = 13.35 is needed.

    Repairs: a washer under it; drill the hole no larger than the part needs.
    """
    for bushing in fitted(look, BushingPart):
        yield from _bushing_cover(look, bushing)
    for panel in fitted(look, PanelPart):
        yield from _front_cover(look, panel)
    for gland in fitted(look, Gland):
        hole = mount_hole(look, gland.name)
        discs = {"dome": gland.part.outside.diameter, "nut": gland.part.nut.across_flats}
        yield from _disc_cover(look, gland.name, discs, hole, gland.part.thread)
    for grommet in fitted(look, Grommet):
        hole = mount_hole(look, grommet.name)
        discs = {"flange": grommet.part.flange.diameter}
        yield from _disc_cover(look, grommet.name, discs, hole, grommet.part.hole)
    for taped in fitted(look, TapedPart):
        yield _taped_cover(look, taped)


def _bushing_cover(look: Inspection, found: Fitted[BushingPart]) -> Iterator[Finding]:
    part = found.part
    discs: dict[str, Length] = {}
    if part.entry is Entry.OUTSIDE and part.bezel is not None:
        discs["bezel"] = part.bezel.diameter
    if part.entry is Entry.INSIDE:
        shoulder = part.inner_washer
        size = longest_side(part.hull) if shoulder is None else float(shoulder.diameter)
        discs["shoulder"] = Length(size)
    if part.washer is not None:
        discs["washer"] = part.washer.diameter
    elif part.nut is not None:
        discs["nut"] = part.nut.across_flats
    yield from _disc_cover(look, found.name, discs, mount_hole(look, found.name), part.bushing)


def _disc_cover(
    look: Inspection,
    name: str,
    discs: dict[str, Length],
    hole: Opening | None,
    neck: Length,
) -> Iterator[Finding]:
    """The disc that covers least, against its hole."""
    if hole is None or not discs:
        return
    word, disc = min(discs.items(), key=lambda d: d[1])
    play = max(0.0, hole.diameter - neck)
    need = hole.diameter + play + 2 * look.need("cover", _OVERLAP)
    short = up_to_tenth(need - disc)
    yield look.finding(
        "cover",
        (name, word),
        have=float(disc),
        need=need,
        spread=spread_of(disc.plus_minus, neck.plus_minus, OVERSIZE),
        say=f"The {word} of {name} measures {show(disc)} mm; to cover its {show(hole.diameter)} mm "
        f"hole it should be {show(need)}.",
        mend=f"put a washer {show(short, 1)} mm larger than the {word} under it"
        if short > 0
        else f"drill no larger than {show(hole.diameter)} mm",
    )


def _front_cover(look: Inspection, found: Fitted[PanelPart]) -> Iterator[Finding]:
    part = found.part
    overlap = 2 * look.need("cover", _OVERLAP)
    names = ("width", "height")
    axis = min((0, 1), key=lambda i: part.front[i] - part.cutout[i])
    have, need = float(part.front[axis]), part.cutout[axis] + overlap
    doubt = found.doubt(part.front[axis], part.cutout[axis])
    yield look.finding(
        "cover",
        (found.name, "bezel"),
        have=have,
        need=need,
        spread=spread_of(doubt, float(part.cutout_plus), look.hands.filing, look.hands.filing),
        say=f"The front of {found.name} is {show(have)} mm in {names[axis]}; to cover its "
        f"{show(part.cutout[axis])} mm cut-out it should be {show(need)}.",
        mend=f"cut the opening {show(up_to_tenth(need - have), 1)} mm smaller"
        if need > have
        else "saw inside the line and file up to it",
    )


def _taped_cover(look: Inspection, found: Fitted[TapedPart]) -> Finding:
    part = found.part
    radius = part.wire_hole / 2
    have = min(part.size[i] / 2 - abs(part.wire_at[i]) - radius for i in (0, 1))
    need = 2 * look.need("cover", _OVERLAP)
    return look.finding(
        "cover",
        (found.name, "wire hole"),
        have=have,
        need=need,
        spread=spread_of(look.error, found.doubt(part.wire_hole)),
        say=f"{titled(look, found.name)} "
        + (
            f"reaches {show(have)} mm beyond its wire hole"
            if have >= 0
            else f"leaves {show(-have)} mm of its wire hole uncovered"
        )
        + f"; it must reach {show(need)} beyond the hole to hide and seal it.",
        mend="put the wire hole nearer to the part's middle, or drill it smaller",
    )


def check_passes(look: Inspection) -> Iterator[Finding]:
    """Whether the part goes through its own hole.

    Looks at: everything that has to pass: the neck; put in from outside also the body behind the
    wall and its terminals, but for what is clipped on later.

    Hurts: the hole is drilled, and the part stops at its solder lugs.

    Formula: hole ≥ largest diameter or diagonal that passes; cut-out ≥ width and height.

    Source: plain geometry; less than 0.09 of play counts as tight: common practice, no source.

    Example: lugs 12 × 5 have a diagonal of 13.0 and do not pass a 12.2 hole.

    Repairs: bend the lugs in; file the hole where the lugs pass; a larger hole if the bezel
    covers it.
    """
    for bushing in fitted(look, BushingPart):
        part, hole = bushing.part, mount_hole(look, bushing.name)
        if hole is None:
            continue
        through = {"neck": float(part.bushing)}
        if part.entry is Entry.OUTSIDE:
            through |= {what: widest(hull) for what, hull in passing(part)}
        what = max(through, key=lambda k: through[k])
        yield _passing(look, bushing.name, what, hole.diameter, through[what], part.bushing)
    for gland in fitted(look, Gland):
        hole = mount_hole(look, gland.name)
        if hole is not None:
            thread = gland.part.thread
            yield _passing(look, gland.name, "thread", hole.diameter, float(thread), thread)
    for panel in fitted(look, PanelPart):
        cut = panel.part.cutout
        gaps = [
            (cut[i] - sides(hull)[i], f"{what} ({word})", float(cut[i]), sides(hull)[i])
            for what, hull in passing(panel.part)
            for i, word in enumerate(("width", "height"))
        ]
        if gaps:
            _, what, have, need = min(gaps)
            yield _passing(look, panel.name, what, have, need, cut[0])


def _passing(
    look: Inspection, name: str, what: str, have: float, need: float, doubtful: Length
) -> Finding:
    return look.finding(
        "passes",
        (name, what),
        have=have,
        need=need,
        spread=max(LEAST_PLAY, doubtful.plus_minus),
        say=f"To let the {what} of {name} pass, its opening must be {show(need)} mm; it is "
        f"{show(have)}.",
        mend=f"make the opening {show(up_to_tenth(need - have), 1)} mm larger if its front still "
        "covers it, or bend in what stands out"
        if need > have
        else "file until it slides through",
    )


def check_anti_turn(look: Inspection) -> Iterator[Finding]:
    """Whether a flat in the hole keeps the part from turning.

    Looks at: holes with flats or a notch for a key. (A tab's hole is looked at by `webs`: it
    must not run into the main hole.)

    Hurts: the part turns when its nut is tightened, and wires twist off.

    Formula: hole − flat ≥ play, with play = hole − bushing: the flat must reach further in than
    the part can shift. Depth of a key's notch ≥ play.

    Source: plain geometry.

    Example: a 9.7 hole with its flat at 8.9 for a 9.5 bushing: 0.8 of flat, 0.2 of play.

    Repairs: drill closer to the bushing; leave more for the flat when filing.
    """
    for found in fitted(look, BushingPart):
        part, hole = found.part, mount_hole(look, found.name)
        if hole is None or hole.cut not in (Cut.D_FLAT, Cut.DOUBLE_D, Cut.KEYED):
            continue
        keyed, need = hole.cut is Cut.KEYED, hole.diameter - part.bushing
        have = hole.height if keyed else hole.diameter - hole.height
        what = f"key of {found.name} reaches" if keyed else f"flat of {found.name} stands"
        where = "beyond" if keyed else "into"
        yield look.finding(
            "anti-turn",
            (found.name, "key" if keyed else "flat"),
            have=have,
            need=need,
            spread=spread_of(look.hands.filing, part.bushing.plus_minus),
            say=f"The {what} {show(have)} mm {where} its hole; the part has {show(need)} mm of "
            "play there.",
            mend="drill under size and file the round side until the part just goes in",
        )


def check_cable_seal(look: Inspection) -> Iterator[Finding]:
    """Whether a cable suits its gland or grommet.

    Looks at: the cable's diameter against the gland's sealing range, or the grommet's hole.

    Hurts: a thin cable slips and leaks, a thick one does not go through.

    Formula: least ≤ cable ≤ most (gland); cable ≤ hole − 2 (grommet: 1 mm of rubber all round).

    Source: the gland's own sheet; 1 mm of rubber is common practice, no source.

    Example: a 6.5 mm cable in a gland for 3 to 6 mm.

    Repairs: the next size of gland; a sleeve of heat-shrink on a thin cable.
    """
    for gland in fitted(look, Gland):
        part = gland.part
        if part.cable_max - part.cable <= part.cable - part.cable_min:
            yield _cable(look, gland.name, part.cable, part.cable_max, "at most")
        else:
            yield _cable(look, gland.name, part.cable, part.cable_min, "at least")
    for grommet in fitted(look, Grommet):
        hole = grommet.part.hole
        limit = Length(hole - 2 * _RUBBER_WALL, hole.plus_minus)
        yield _cable(look, grommet.name, grommet.part.cable, limit, "at most")


def _cable(look: Inspection, name: str, cable: Length, limit: Length, word: str) -> Finding:
    margin = limit - cable if word == "at most" else cable - limit
    mend = "take the next larger size" if word == "at most" else "put a sleeve on the cable"
    return look.finding(
        "cable-seal",
        (name, "cable"),
        have=float(cable),
        need=float(limit),
        margin=margin,
        spread=spread_of(cable.plus_minus, limit.plus_minus),
        say=f"{titled(look, name)} takes a cable of {word} {show(limit)} mm; this one has "
        f"{show(cable)}.",
        mend=mend,
    )


thread = rule("thread", Family.PANEL_PARTS)(check_thread)
panel_thickness = rule("panel-thickness", Family.PANEL_PARTS)(check_panel_thickness)
cover = rule("cover", Family.PANEL_PARTS)(check_cover)
passes = rule("passes", Family.PANEL_PARTS)(check_passes)
anti_turn = rule("anti-turn", Family.PANEL_PARTS)(check_anti_turn)
cable_seal = rule("cable-seal", Family.PANEL_PARTS)(check_cable_seal)
