"""Parts as they are written in a file: everything set in, on or through a wall."""

# No `from __future__ import annotations`: pydantic would have to read each type back from its
# text, which takes a fifth of the time these classes take to build.

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, Tag

from fit.findings import Span
from fit.model import part as model
from fit.model.words import Entry, Fixing, HolePattern, Stuff
from fit.read.scalars import (
    Above0,
    Angle,
    Flag,
    From0,
    Keys,
    Len,
    Name,
    Text,
    by_form,
    one_of,
    tagged,
    whole,
)
from fit.units import Length

ZERO = Length(0.0)

Pair = Annotated[tuple[Len, Len], Field(description="[x, y], mm")]
Size = Annotated[tuple[Above0, Above0], Field(description="[width, height], mm")]
Size3 = tuple[Above0, Above0, Above0]
StuffWord = Annotated[Stuff, one_of(Stuff)]
FixingWord = Annotated[Fixing, one_of(Fixing)]


def list_or_keys(what: str, as_list: str) -> Discriminator:
    """Chooses between the short form (a list) and the long one (a block of keys)."""
    return by_form(
        f"form_{what}",
        lambda value: form if (form := tagged(value)) != "as:text" else None,
        f"this is not a {what}",
        f"write {as_list}",
    )


class PartKeys(Keys):
    """What every part file may say."""

    part: Name | None = Field(None, description="catalogue name; same as the file's name")
    about: Text = Field("", description="one line about it")
    source: Text = Field("", description="where its sizes come from")
    mains: Flag = Field(False, description="true when mains voltage comes to it: brings a caution")

    def part_of(self, name: str, where: Span) -> Any:
        """The model's part, under its own name or else the one given."""
        return self.make(name=self.part or name, where=where)


class DiscKeys(Keys):
    """A round plate."""

    target: ClassVar[type[Any]] = model.Disc
    diameter: Above0 = Field(description="mm")
    thickness: Above0 = Field(description="along the part's axis, mm")


class StudKeys(Keys):
    """A knob, cap or screw head."""

    target: ClassVar[type[Any]] = model.Disc
    diameter: Above0 = Field(description="mm")
    height: Above0 = Field(description="how far it stands out, mm")

    def make(self, **more: Any) -> Any:
        """A disc as thick as this is high."""
        return model.Disc(diameter=self.diameter, thickness=self.height)


class DomeKeys(Keys):
    """What a gland shows outside: dome and hexagon together."""

    target: ClassVar[type[Any]] = model.Disc
    diameter: Above0 = Field(description="across the corners of the hexagon, mm")
    length: Above0 = Field(description="from the wall to the dome's end, mm")

    def make(self, **more: Any) -> Any:
        """A disc as thick as this is long."""
        return model.Disc(diameter=self.diameter, thickness=self.length)


class NutKeys(Keys):
    """A hexagon nut."""

    target: ClassVar[type[Any]] = model.Nut
    across_flats: Above0 = Field(description="spanner width, mm")
    height: Above0 = Field(description="mm")


class HullKeys(Keys):
    """A body behind a wall: round (diameter) or rectangular (width and height), and how deep."""

    target: ClassVar[type[Any]] = model.Hull
    depth: Above0 = Field(description="into the box from the seat, mm")
    diameter: From0 = Field(ZERO, description="of a round body, mm")
    width: From0 = Field(ZERO, description="of a rectangular body, mm")
    height: From0 = Field(ZERO, description="of a rectangular body, mm")
    stuff: StuffWord = Field(Stuff.HARD, description="hard, metal, live (bare contacts) or soft")
    later: Flag = Field(
        False, description="true when put on once the part sits: need not pass the hole"
    )


class AntiTurnKeys(Keys):
    """A tab, a key or flats that keep a part from turning in its hole."""

    target: ClassVar[type[Any]] = model.AntiTurn
    tab_hole: From0 = Field(ZERO, description="diameter of the small hole for a tab, mm")
    tab_radius: From0 = Field(ZERO, description="from the axis to that hole's middle, mm")
    tab_angle: Angle = Field(
        90.0,
        description="direction of tab or key seen from outside, degrees counter-clockwise from "
        "right",
    )
    flat: From0 = Field(
        ZERO, description="width of a D-shaped hole, flat to opposite edge or flat to flat, mm"
    )
    flats: Annotated[int, whole(1, 2, "how many flats")] = Field(1, description="1 or 2")
    key: Size | None = Field(
        None, description="[width, depth beyond the round hole] of a notch for a key, mm"
    )


class FixingHoleKeys(Keys):
    """A screw hole, from the part's middle."""

    target: ClassVar[type[Any]] = model.FixingHole
    x: Len = Field(description="to the right of the part's middle, mm")
    y: Len = Field(description="above the part's middle, mm")
    diameter: Above0 = Field(description="mm; of a slot: its width")
    long: From0 = Field(
        ZERO, description="length over all of a slot with round ends, mm; 0: a round hole"
    )
    turn: Angle = Field(0.0, description="where a slot runs, degrees counter-clockwise from right")


HoleTriple = tuple[Len, Len, Above0]
FixingHoleForm = Annotated[
    Annotated[HoleTriple, Tag("as:list")] | Annotated[FixingHoleKeys, Tag("as:keys")],
    list_or_keys("hole", "[x, y, diameter]"),
]


def fixing_holes(forms: list[Any]) -> tuple[model.FixingHole, ...]:
    """Holes of a part from either form."""
    return tuple(
        form.make()
        if isinstance(form, FixingHoleKeys)
        else model.FixingHole(x=form[0], y=form[1], diameter=form[2])
        for form in forms
    )


class BushingKeys(PartKeys):
    """A round part on a threaded neck: button, switch, jack, knob shaft, lamp."""

    target: ClassVar[type[Any]] = model.BushingPart
    kind: Literal["bushing"]
    bushing: Above0 = Field(description="largest diameter of thread or neck, mm")
    neck: Above0 = Field(description="usable length of the neck from its seat, mm")
    entry: Annotated[Entry, one_of(Entry)] = Field(
        description="outside: put in from outside, nut inside; inside: shoulder inside, nut outside"
    )
    hull: HullKeys = Field(description="the body behind the wall, depth from the seat")
    hole: Above0 | None = Field(None, description="diameter to drill, mm; else from the table")
    bezel: DiscKeys | None = Field(None, description="the flange outside")
    nut: NutKeys | None = Field(None, description="the panel nut; none for a snap-in part")
    washer: DiscKeys | None = Field(None, description="under the nut")
    inner_washer: DiscKeys | None = Field(None, description="between shoulder and wall")
    terminals: HullKeys | None = Field(None, description="pins or lugs behind the body")
    knob: StudKeys | None = Field(None, description="cap or knob outside")
    anti_turn: AntiTurnKeys | None = Field(None, description="tab or flat")
    cap: Flag = Field(False, description="true when the knob is pushed in by a finger")
    plug: HullKeys | None = Field(None, description="moulding of the plug outside, as it sits")
    recess: From0 = Field(ZERO, description="socket's face behind the wall's outside, mm")


class PanelKeys(PartKeys):
    """A rectangular part set into a cut-out: panel meter, inlet, rocker switch."""

    target: ClassVar[type[Any]] = model.PanelPart
    kind: Literal["panel"]
    front: Size = Field(description="[width, height] of the bezel outside, mm")
    front_thickness: From0 = Field(description="how far the bezel stands out, mm")
    cutout: Size = Field(description="[width, height] of the opening, mm")
    hull: HullKeys = Field(description="the body behind the wall, depth from the bezel's seat")
    fixing: FixingWord = Field(description="snap, screws, clamps, glue or tape")
    cutout_plus: From0 = Field(ZERO, description="how much larger the opening may be, mm")
    corner_radius: From0 = Field(ZERO, description="largest round left in its corners, mm")
    terminals: HullKeys | None = Field(None, description="behind the body")
    holes: list[FixingHoleForm] = Field([], description="[x, y, diameter] from the middle, mm")
    panel_min: From0 = Field(ZERO, description="thinnest wall it takes, mm")
    panel_max: From0 = Field(ZERO, description="thickest wall it takes, mm; 0: no limit")
    clamp: HullKeys | None = Field(None, description="room its clamps take")
    plug: HullKeys | None = Field(None, description="moulding of the plug outside, as it sits")
    recess: From0 = Field(ZERO, description="socket's face behind the wall's outside, mm")

    def make(self, **more: Any) -> Any:
        """The model's panel part."""
        return super().make(holes=fixing_holes(self.holes), **more)


class RimSwitchKeys(PartKeys):
    """A small switch glued into a slot cut down from the rim."""

    target: ClassVar[type[Any]] = model.RimSwitch
    kind: Literal["rim_switch"]
    body: Size3 = Field(description="[along the rim, down from the rim, into the box], mm")
    slot: Size = Field(description="[width, depth down from the rim] of the slot, mm")
    lever: Size3 = Field(description="[width, height, how far it stands out], mm")
    terminals: From0 = Field(ZERO, description="depth of the pins behind the body, mm")
    fixing: FixingWord = Field(Fixing.GLUE, description="what holds it")


class DisplayKeys(PartKeys):
    """A display module that looks out through a window."""

    target: ClassVar[type[Any]] = model.Display
    kind: Literal["display"]
    module: Size = Field(description="[width, height] of the whole module, mm")
    thickness: Above0 = Field(description="from its rear to its viewing surface, mm")
    active: Size = Field(description="[width, height] that must be seen, mm")
    visible: Size = Field(description="[width, height] that may be seen, mm")
    offset: Pair = Field((ZERO, ZERO), description="active middle from the module's middle, mm")
    frame: Size | None = Field(None, description="[width, height] of a raised frame, mm")
    frame_height: From0 = Field(ZERO, description="how far that frame stands forward, mm")
    rear: From0 = Field(
        ZERO, description="room taken behind the module, mm; it stands this far off its board"
    )
    holes: list[FixingHoleForm] = Field([], description="[x, y, diameter] from the middle, mm")
    lead: From0 = Field(ZERO, description="pins behind the module when soldered to a board, mm")

    def make(self, **more: Any) -> Any:
        """The model's display."""
        return super().make(holes=fixing_holes(self.holes), **more)


class TapedKeys(PartKeys):
    """A flat thing taped on outside, its wires going in through one hole."""

    target: ClassVar[type[Any]] = model.TapedPart
    kind: Literal["taped"]
    size: Size3 = Field(description="[width, height, thickness], mm")
    wire_hole: Above0 = Field(description="diameter of the hole for its wires, mm")
    wire_at: Pair = Field((ZERO, ZERO), description="that hole from the part's middle, mm")
    tail: HullKeys | None = Field(None, description="room the wires need behind the wall")


class GlandKeys(PartKeys):
    """A cable gland with a lock nut inside."""

    target: ClassVar[type[Any]] = model.Gland
    kind: Literal["gland"]
    thread: Above0 = Field(description="major diameter of the thread, mm")
    hole: Above0 = Field(description="clearance hole, mm")
    neck: Above0 = Field(description="length of thread from the seat, mm")
    nut: NutKeys = Field(description="the lock nut inside")
    outside: DomeKeys = Field(description="dome and hexagon outside")
    cable_min: Above0 = Field(description="thinnest cable it seals, mm")
    cable_max: Above0 = Field(description="thickest cable it seals, mm")
    cable: Above0 = Field(description="diameter of the cable in it, mm")
    bend: From0 = Field(ZERO, description="room before the cable turns, from the inner wall, mm")


class GrommetKeys(PartKeys):
    """A rubber grommet with a cable through it."""

    target: ClassVar[type[Any]] = model.Grommet
    kind: Literal["grommet"]
    hole: Above0 = Field(description="diameter to drill, mm")
    groove: Above0 = Field(description="wall thickness it takes, mm")
    flange: DiscKeys = Field(description="each flange")
    cable: Above0 = Field(description="diameter of the cable, mm")
    bend: From0 = Field(ZERO, description="room before the cable turns, from the inner wall, mm")


class HolderKeys(PartKeys):
    """A battery, its holder, or any other block on the inside of a face."""

    target: ClassVar[type[Any]] = model.Holder
    kind: Literal["holder"]
    size: Size3 = Field(description="[width, depth, height off the face], mm")
    fixing: FixingWord = Field(Fixing.TAPE, description="what holds it")
    holes: list[FixingHoleForm] = Field([], description="[x, y, diameter] from the middle, mm")
    stuff: StuffWord = Field(Stuff.HARD, description="hard, metal, live or soft")
    lithium: Flag = Field(False, description="true for lithium cells: brings a caution")

    def make(self, **more: Any) -> Any:
        """The model's holder."""
        return super().make(holes=fixing_holes(self.holes), **more)


class GrilleKeys(PartKeys):
    """A pattern of holes for air or sound, with or without a body behind it."""

    target: ClassVar[type[Any]] = model.Grille
    kind: Literal["grille"]
    pattern: Annotated[HolePattern, one_of(HolePattern)] = Field(
        description="rings, grid or slots: how its holes lie"
    )
    bit: Above0 = Field(description="diameter of each hole, or width of each slot, mm")
    pitch: Above0 = Field(description="from the middle of one to the next, mm")
    outer: From0 = Field(ZERO, description="rings: diameter of the circle all holes stay in, mm")
    inner: From0 = Field(ZERO, description="rings: of the circle they keep out of, mm; 0: none")
    size: Size | None = Field(
        None, description="grid, slots: [width, height] all stay in, mm; slots are that high"
    )
    body: HullKeys | None = Field(
        None, description="what sits behind it, depth from the wall's inside"
    )
    fixing: FixingWord = Field(Fixing.GLUE, description="what holds that body")
    holes: list[FixingHoleForm] = Field([], description="[x, y, diameter] from the middle, mm")

    def make(self, **more: Any) -> Any:
        """The model's grille."""
        return super().make(holes=fixing_holes(self.holes), **more)
