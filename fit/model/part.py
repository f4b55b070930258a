"""Parts: what a person mounts in, on and through a box.

Every part has its own frame. For parts on a face it is the face's frame moved to the part's
centre: x across, y up, z out of the box; depths count inwards from the seat on the wall.
"""

from __future__ import annotations

from dataclasses import dataclass

from fit.model.nose import Nose
from fit.model.pieces import ZERO as ZERO
from fit.model.pieces import AntiTurn as AntiTurn
from fit.model.pieces import Disc as Disc
from fit.model.pieces import FixingHole as FixingHole
from fit.model.pieces import Hull as Hull
from fit.model.pieces import Nut as Nut
from fit.model.pieces import PartBase as PartBase
from fit.model.words import (
    BoardStock,
    Entry,
    Fixing,
    HolePattern,
    JointKind,
    Side,
    StripRun,
    Stuff,
)
from fit.units import Length


@dataclass(frozen=True, slots=True, kw_only=True)
class BushingPart(PartBase):
    """A round part on a threaded neck: button, switch, jack, knob shaft, lamp.

    Attributes:
        bushing: largest diameter of the thread or neck, mm.
        neck: usable length of the bushing from its seat, mm.
        entry: OUTSIDE: bezel outside, nut inside, the body passes through the hole.
            INSIDE: shoulder against the inside of the wall, washer and nut outside.
        hole: diameter to drill, mm; None: taken from the bushing by the trade table.
        bezel: the flange outside (entry OUTSIDE), or None.
        nut: the panel nut, or None for a snap-in part.
        washer: under the nut, or None.
        inner_washer: between shoulder and wall (entry INSIDE), or None.
        hull: the body behind the wall, depth counted from the seat.
        terminals: pins or lugs behind the hull: a hull whose depth counts from the hull's end.
        knob: cap or knob outside: diameter and height above the wall, mm, or None.
        anti_turn: tab or flat, or None.
        cap: True when `knob` is pushed by a finger and moves in.
        plug: the moulding of the plug that goes in from outside, depth as far as it stands out
            from the wall, or None.
        recess: how far the socket's face lies behind the wall's outside, mm.
    """

    bushing: Length
    neck: Length
    entry: Entry
    hull: Hull
    hole: Length | None = None
    bezel: Disc | None = None
    nut: Nut | None = None
    washer: Disc | None = None
    inner_washer: Disc | None = None
    terminals: Hull | None = None
    knob: Disc | None = None
    anti_turn: AntiTurn | None = None
    cap: bool = False
    plug: Hull | None = None
    recess: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelPart(PartBase):
    """A rectangular part set into a cut-out from outside: panel meter, inlet, rocker switch.

    Attributes:
        front: width × height of the bezel outside, mm.
        front_thickness: how far the bezel stands out, mm.
        cutout: width × height of the opening, mm.
        cutout_plus: how much larger the opening may be, mm.
        corner_radius: largest radius that may stay in the opening's corners, mm.
        hull: the body behind the wall, depth from the bezel's seat.
        terminals: behind the hull, or None.
        fixing: what holds it.
        holes: fixing holes (fixing SCREWS).
        panel_min, panel_max: range of wall thickness it takes, mm; max 0 for no limit.
        clamp: room its clamps take: a rectangular hull around the hull, or None.
        plug: the moulding of the plug that goes in from outside, depth as far as it stands out
            from the wall, or None.
        recess: how far the socket's face lies behind the wall's outside, mm.
    """

    front: tuple[Length, Length]
    front_thickness: Length
    cutout: tuple[Length, Length]
    hull: Hull
    fixing: Fixing
    cutout_plus: Length = ZERO
    corner_radius: Length = ZERO
    terminals: Hull | None = None
    holes: tuple[FixingHole, ...] = ()
    panel_min: Length = ZERO
    panel_max: Length = ZERO
    clamp: Hull | None = None
    plug: Hull | None = None
    recess: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class RimSwitch(PartBase):
    """A small switch glued into a slot cut down from the rim.

    Attributes:
        body: width (along the rim), height (down from the rim), depth (into the box), mm.
            The body's outer face is level with the wall's outside.
        slot: width and depth (down from the rim) of the slot, mm.
        lever: width, height and how far it stands out, mm.
        terminals: depth of pins behind the body, mm, over the body's width and height.
    """

    body: tuple[Length, Length, Length]
    slot: tuple[Length, Length]
    lever: tuple[Length, Length, Length]
    terminals: Length = ZERO
    fixing: Fixing = Fixing.GLUE


@dataclass(frozen=True, slots=True, kw_only=True)
class Display(PartBase):
    """A display module that looks out through a window.

    Attributes:
        module: width × height of the part itself, mm (its own circuit board where it has one).
        thickness: from the module's rear to its viewing surface, mm.
        active: width × height that must be seen, mm.
        visible: width × height that may be seen before frame or border shows, mm.
        offset: centre of the active area from the module's centre, (x, y) mm.
        frame: width × height of a raised frame around the visible area, mm; None: the module.
        frame_height: how far that frame's front stands before the rest of the module, mm.
        rear: room taken behind the module (chips, pins), mm; soldered to a board, the module
            stands this far off it.
        holes: fixing holes of the module.
        lead: protrusion of pins behind the module when soldered into a board, mm.
    """

    module: tuple[Length, Length]
    thickness: Length
    active: tuple[Length, Length]
    visible: tuple[Length, Length]
    offset: tuple[Length, Length] = (ZERO, ZERO)
    frame: tuple[Length, Length] | None = None
    frame_height: Length = ZERO
    rear: Length = ZERO
    holes: tuple[FixingHole, ...] = ()
    lead: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A rectangle of a board with things up to some height on it.

    Attributes:
        name: for messages.
        x, y: lower left corner on the board, mm, seen from the component side.
        width, depth: size along the board's x and y, mm.
        height: above (or below) the board's surface, mm.
        side: component side or underside.
    """

    name: str
    x: Length
    y: Length
    width: Length
    depth: Length
    height: Length
    side: Side = Side.TOP
    stuff: Stuff = Stuff.HARD


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardHole:
    """A mounting hole: centre on the board from its lower left corner, and diameter, mm."""

    x: Length
    y: Length
    diameter: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Notch:
    """A rectangle cut out of a board: lower left corner and size, mm."""

    x: Length
    y: Length
    width: Length
    depth: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Board(PartBase):
    """A board, seen from the component side: x to the right, y up, origin lower left corner.

    Perfboard: hole column i (1-based) is at x = (i − ½)·2.54 mm, rows likewise in y.

    Attributes:
        stock: what it is cut from.
        strips: where the copper of STRIPS runs.
        size: width × height, mm.
        thickness: mm.
        underside: how far soldered leads stick out below, mm, everywhere but round the holes.
        holes: mounting holes.
        notches: cut-outs, at an edge or inside.
        zones: where parts stand and how high.
        noses: what reaches through a wall: sockets at an edge, buttons.
        up_to: width and height it may have at most, mm, each None for no limit, where its size is
            open: it is then as large as goes in, and `size` is the least it has to be. None: its
            size is `size`.
    """

    stock: BoardStock
    size: tuple[Length, Length]
    strips: StripRun = StripRun.ROWS
    thickness: Length = Length(1.6)
    underside: Length = ZERO
    holes: tuple[BoardHole, ...] = ()
    notches: tuple[Notch, ...] = ()
    zones: tuple[Zone, ...] = ()
    noses: tuple[Nose, ...] = ()
    up_to: tuple[Length | None, Length | None] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TapedPart(PartBase):
    """A flat thing taped on outside, its wires going in through one hole (solar panel).

    Attributes:
        size: width × height × thickness, mm.
        wire_hole: diameter, mm.
        wire_at: centre of that hole from the part's centre, (x, y) mm.
        tail: room the wires need behind the wall: diameter and depth, mm, or None.
    """

    size: tuple[Length, Length, Length]
    wire_hole: Length
    wire_at: tuple[Length, Length] = (ZERO, ZERO)
    tail: Hull | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gland(PartBase):
    """A cable gland with a lock nut inside.

    Attributes:
        thread: major diameter, mm.
        hole: clearance hole, mm.
        neck: thread length from the seat, mm.
        nut: the lock nut inside.
        outside: diameter and length of dome and hexagon outside, mm.
        cable_min, cable_max: range of cable diameters it seals, mm.
        cable: the cable's diameter, mm.
        bend: room the cable needs inside before it turns, mm from the inner wall.
    """

    thread: Length
    hole: Length
    neck: Length
    nut: Nut
    outside: Disc
    cable_min: Length
    cable_max: Length
    cable: Length
    bend: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Grommet(PartBase):
    """A rubber grommet with a cable through it.

    Attributes:
        hole: diameter to drill, mm.
        groove: wall thickness it takes, mm.
        flange: diameter and thickness of each flange, mm.
        cable: diameter of the cable, mm.
        bend: room the cable needs inside before it turns, mm from the inner wall.
    """

    hole: Length
    groove: Length
    flange: Disc
    cable: Length
    bend: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder(PartBase):
    """A battery, its holder, or any other block that stands on a face's inside.

    Attributes:
        size: width × depth × height off the face, mm.
        fixing: what holds it.
        holes: screw holes through the face (fixing SCREWS).
        lithium: True for lithium cells, which brings a caution.
    """

    size: tuple[Length, Length, Length]
    fixing: Fixing = Fixing.TAPE
    holes: tuple[FixingHole, ...] = ()
    stuff: Stuff = Stuff.HARD
    lithium: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Grille(PartBase):
    """A pattern of holes for air or sound, with or without a body behind it (a loudspeaker).

    Attributes:
        pattern: how the holes lie.
        bit: diameter of each hole, or width of each slot, mm.
        pitch: from the middle of one to the next, mm.
        outer: diameter of the circle all holes stay in, mm (rings).
        inner: diameter of the circle they keep out of, mm (rings); 0: one in the middle.
        size: width × height all stay in, mm (grid, slots); slots are as long as it is high.
        body: what sits behind it, depth from the wall's inside, or None.
        fixing: what holds the body.
        holes: its fixing holes (fixing SCREWS).
    """

    pattern: HolePattern
    bit: Length
    pitch: Length
    outer: Length = ZERO
    inner: Length = ZERO
    size: tuple[Length, Length] | None = None
    body: Hull | None = None
    fixing: Fixing = Fixing.GLUE
    holes: tuple[FixingHole, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Screw(PartBase):
    """A screw: thread name, length under the head, head diameter and height, all mm.

    A `countersunk` one has a head of 90°, lies level with what it holds, and its length is over
    all.
    """

    thread: str
    diameter: Length
    length: Length
    head: Disc
    self_tapping: bool = False
    countersunk: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint(PartBase):
    """What joins two boards at a right angle.

    Attributes:
        kind: block, or bent strip.
        size: for a block: width (along the edge), height (along the standing board), depth
            (along the lying board), mm. For a strip: width, the two legs' outside lengths.
        thickness: of a bent strip, mm; 0 for a block.
        count: how many along the edge.
        inset: from the standing board's ends to the middle of the outer ones, mm.
        screw: diameter of the screws in it, mm.
    """

    kind: JointKind
    size: tuple[Length, Length, Length]
    thickness: Length = ZERO
    count: int = 2
    inset: Length = Length(10.0)
    screw: Length = Length(3.0)


Part = (
    BushingPart
    | PanelPart
    | RimSwitch
    | Display
    | Board
    | TapedPart
    | Gland
    | Grommet
    | Holder
    | Grille
    | Joint
    | Screw
)
