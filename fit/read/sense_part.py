"""Whether a part's sizes can be true of one thing. What merely does not fit is for the check."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from fit.model.words import Entry
from fit.read.schema_board import (
    BoardHoleKeys,
    BoardKeys,
    BracketKeys,
    NotchKeys,
    ScrewKeys,
)
from fit.read.schema_part import (
    BushingKeys,
    DisplayKeys,
    FixingHoleKeys,
    GlandKeys,
    GrilleKeys,
    GrommetKeys,
    HolderKeys,
    PanelKeys,
    PartKeys,
    TapedKeys,
)
from fit.read.sense_grille import sense_grille
from fit.read.sense_nose import sense_noses
from fit.read.sense_size import open_size
from fit.read.sense_sizes import SAME, holes, hull, more, screwed, within
from fit.read.words import Say
from fit.units import show


def sense_part(part: PartKeys, say: Say) -> None:
    """Report what cannot be true of a part."""
    for cls, sense in _SENSES.items():
        if isinstance(part, cls):
            sense(part, say)


def _bushing(part: BushingKeys, say: Say) -> None:
    hull(part.hull, "hull", say)
    hull(part.terminals, "terminals", say)
    hull(part.plug, "plug", say)
    if part.hole is not None and more(part.bushing, part.hole):
        say(
            ("hole",),
            f"a hole of {show(part.hole)} does not let the bushing of {show(part.bushing)} through",
            "make it at least as large, or leave 'hole' out",
        )
    opening = part.hole or part.bushing
    if part.bezel is not None and not more(part.bezel.diameter, opening):
        say(
            ("bezel", "diameter"),
            f"a bezel of {show(part.bezel.diameter)} falls through its hole of {show(opening)}",
            "a bezel is larger than the hole",
        )
    for key, across in (
        ("nut", part.nut.across_flats if part.nut else None),
        ("washer", part.washer.diameter if part.washer else None),
        ("inner_washer", part.inner_washer.diameter if part.inner_washer else None),
    ):
        if across is not None and not more(across, part.bushing):
            say(
                (key,),
                f"'{key}' is {show(across)} across, no larger than the bushing it sits on "
                f"({show(part.bushing)})",
                "correct one of the two",
            )
    if part.inner_washer is not None and part.entry is Entry.OUTSIDE:
        say(
            ("inner_washer",),
            "a part put in from outside has no shoulder inside for this washer",
            "write 'entry: inside' or take it out",
        )
    if part.bezel is not None and part.entry is Entry.INSIDE:
        say(
            ("bezel",),
            "a part put in from inside cannot have a bezel outside",
            "write 'entry: outside', or 'knob' for what is put on afterwards",
        )
    if part.cap and part.knob is None:
        say(("cap",), "'cap' says the knob is pushed, but there is no 'knob'", "add 'knob:'")
    _anti_turn(part, say)


def _anti_turn(part: BushingKeys, say: Say) -> None:
    own = part.anti_turn
    if own is None:
        return
    loc = ("anti_turn",)
    if own.tab_hole <= 0 and own.flat <= 0 and own.key is None:
        say(loc, "neither a tab, a flat nor a key is given", "add 'tab_hole', 'flat' or 'key'")
    if own.tab_hole > 0 and not more(own.tab_radius, part.bushing / 2):
        say(
            loc,
            f"the tab is {show(own.tab_radius)} from the axis, inside the bushing",
            f"'tab_radius' is more than {show(part.bushing / 2)}",
        )
    if own.flats == 2 and own.flat <= 0:
        say((*loc, "flats"), "two flats without their distance", "add 'flat'")
    if own.flat > 0 and own.key is not None:
        say((*loc, "key"), "a flat and a key cannot both be given", "keep the one it has")
    whole = part.hole or part.bushing
    least = 0.0 if own.flats == 2 else whole / 2
    if own.flat > 0 and not least < own.flat < whole:
        say(
            (*loc, "flat"),
            f"a flat of {show(own.flat)} cannot be cut from a hole of {show(whole)}",
            f"it lies between {show(least)} and {show(whole)}",
        )
    if own.key is not None and not more(whole, own.key[0]):
        say(
            (*loc, "key"),
            f"a key {show(own.key[0])} wide is no narrower than its hole of {show(whole)}",
            "[width, depth beyond the round hole]",
        )


def _panel(part: PanelKeys, say: Say) -> None:
    for key in ("hull", "terminals", "clamp", "plug"):
        hull(getattr(part, key), key, say)
    within(part.cutout, part.front, ("cutout", "front"), say)
    if part.panel_max > 0 and more(part.panel_min, part.panel_max):
        say(
            ("panel_min",),
            f"the thinnest wall ({show(part.panel_min)}) is thicker than the thickest "
            f"({show(part.panel_max)})",
            "swap the two",
        )
    _corner(part.corner_radius, part.cutout, say)
    screwed(part.fixing, part.holes, say)
    holes(part.holes, None, say)


def _corner(radius: float, opening: Sequence[float], say: Say) -> None:
    if more(radius, min(opening) / 2):
        say(
            ("corner_radius",),
            f"corners of {show(radius)} are more than half the opening",
            f"at most {show(min(opening) / 2)}",
        )


def _display(part: DisplayKeys, say: Say) -> None:
    for i, form in enumerate(part.holes):
        if isinstance(form, FixingHoleKeys) and form.long > 0:
            say(("holes", i, "long"), "a module's own holes are round here", "take 'long' out")
    within(part.active, part.visible, ("active", "visible"), say)
    # Behind a dark filter more than the module may be seen: `visible` may be larger than it.
    within(part.active, part.module, ("active", "module"), say)
    if part.frame is not None:
        within(part.visible, part.frame, ("visible", "frame"), say)
        within(part.frame, part.module, ("frame", "module"), say)
    if more(part.frame_height, part.thickness):
        say(
            ("frame_height",),
            f"the frame stands {show(part.frame_height)} forward of a module "
            f"{show(part.thickness)} thick",
            "it is part of the thickness",
        )
    for i, way in enumerate(("sideways", "up or down")):
        room = (part.module[i] - part.active[i]) / 2
        if room >= 0 and more(abs(part.offset[i]), room):
            say(
                ("offset",),
                f"the active area, moved {show(part.offset[i])} {way}, leaves the module",
                f"at most {show(room)} either way",
            )
    holes(part.holes, part.module, say)


def _board(part: BoardKeys, say: Say) -> None:
    width, height = part.sized().least
    open_size(part, say)
    for i, form in enumerate(part.holes):
        x, y, d = (form.x, form.y, form.diameter) if isinstance(form, BoardHoleKeys) else form
        if not (x - d / 2 >= -SAME and not more(x + d / 2, width)) or not (
            y - d / 2 >= -SAME and not more(y + d / 2, height)
        ):
            say(
                ("holes", i),
                f"the hole at {show(x)}, {show(y)} is not inside the board of "
                f"{show(width)} x {show(height)}",
                "holes count from the lower left corner",
            )
    for i, cut in enumerate(part.notches):
        over = (cut.x, cut.y, cut.width, cut.depth) if isinstance(cut, NotchKeys) else cut
        _touches(over, (width, height), ("notches", i), "notch", say)
        reach = (over[0] + over[2], over[1] + over[3])
        if over[0] <= 0 and over[1] <= 0 and reach[0] >= width and reach[1] >= height:
            say(("notches", i), "this notch takes the whole board away", "make it smaller")
    for i, zone in enumerate(part.zones):
        _touches(zone.over, (width, height), ("zones", i, "over"), "zone", say)
    sense_noses(part.noses, (width, height), say)


def _touches(
    over: Sequence[float],
    size: tuple[float, float],
    loc: tuple[str | int, ...],
    what: str,
    say: Say,
) -> None:
    """A notch or zone may stick out over the edge, but must lie on the board in part."""
    x, y, w, d = over
    if x >= size[0] or y >= size[1] or x + w <= 0 or y + d <= 0:
        say(
            loc,
            f"this {what} at {show(x)}, {show(y)} does not touch the board of "
            f"{show(size[0])} x {show(size[1])}",
            f"a {what} is [x, y, width, depth] from the lower left corner",
        )


def _taped(part: TapedKeys, say: Say) -> None:
    hull(part.tail, "tail", say)
    for i, way in enumerate(("sideways", "up or down")):
        if more(abs(part.wire_at[i]), part.size[i] / 2):
            say(
                ("wire_at",),
                f"the wire hole, {show(part.wire_at[i])} {way}, is not under the part",
                "it counts from the part's middle",
            )


def _gland(part: GlandKeys, say: Say) -> None:
    if more(part.thread, part.hole):
        say(
            ("hole",),
            f"a hole of {show(part.hole)} does not let the thread of {show(part.thread)} through",
            "make it at least as large",
        )
    if not more(part.nut.across_flats, part.thread):
        say(
            ("nut", "across_flats"),
            f"a nut {show(part.nut.across_flats)} across flats does not go round a thread of "
            f"{show(part.thread)}",
            "correct one of the two",
        )
    if not more(part.outside.diameter, part.hole):
        say(
            ("outside", "diameter"),
            f"{show(part.outside.diameter)} across, it falls through its hole of {show(part.hole)}",
            "the hexagon outside is larger than the hole",
        )
    if more(part.cable_min, part.cable_max):
        say(
            ("cable_min",),
            f"the thinnest cable ({show(part.cable_min)}) is thicker than the thickest "
            f"({show(part.cable_max)})",
            "swap the two",
        )


def _grommet(part: GrommetKeys, say: Say) -> None:
    if not more(part.flange.diameter, part.hole):
        say(
            ("flange", "diameter"),
            f"a flange of {show(part.flange.diameter)} falls through the hole of {show(part.hole)}",
            "a flange is larger than the hole",
        )
    if not more(part.hole, part.cable):
        say(
            ("cable",),
            f"a cable of {show(part.cable)} leaves no rubber in a hole of {show(part.hole)}",
            "the cable is thinner than the hole",
        )


def _holder(part: HolderKeys, say: Say) -> None:
    screwed(part.fixing, part.holes, say)
    holes(part.holes, None, say)


def _bracket(part: BracketKeys, say: Say) -> None:
    for i, leg in enumerate(part.legs):
        if not more(leg, part.thickness):
            say(
                ("legs", i),
                f"a leg of {show(leg)} is no longer than the strip is thick "
                f"({show(part.thickness)})",
                "legs are outside lengths",
            )


def _screw(part: ScrewKeys, say: Say) -> None:
    if not more(part.head.diameter, part.diameter):
        say(
            ("head", "diameter"),
            f"a head of {show(part.head.diameter)} is no larger than the thread of "
            f"{show(part.diameter)}",
            "correct one of the two",
        )


_SENSES: Final[dict[type[PartKeys], Callable[[Any, Say], None]]] = {
    BushingKeys: _bushing,
    PanelKeys: _panel,
    DisplayKeys: _display,
    BoardKeys: _board,
    TapedKeys: _taped,
    GlandKeys: _gland,
    GrommetKeys: _grommet,
    HolderKeys: _holder,
    GrilleKeys: sense_grille,
    BracketKeys: _bracket,
    ScrewKeys: _screw,
}
