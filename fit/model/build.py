"""The build: one device, one file."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from fit.findings import Span
from fit.model.box import Tray
from fit.model.part import Joint, Part, Screw
from fit.model.place import Coordinate as Coordinate
from fit.model.place import How as How
from fit.model.words import FaceName, Half, HandsName, PlateHold, Seat, Toward
from fit.units import Length

ZERO = Length(0.0)
NOWHERE = Span("")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a part sits on its face. A coordinate that is None is open.

    Attributes:
        across, up: the two coordinates.
        beside: name of the part it is placed beside, or None.
        side: on which side of that part.
        gap: free space between the two outlines, mm.
    """

    across: Coordinate | None = None
    up: Coordinate | None = None
    beside: str | None = None
    side: Toward = Toward.RIGHT
    gap: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The window a display looks through.

    Attributes:
        filter: thickness of the filter plate, mm; 0 for a bare opening.
        held: how the plate is held.
        opening: width × height to cut, mm; None: worked out from what must be seen.
        gap: free space between the plate's inner face (or the wall's, for a bare opening)
            and the display's viewing surface at the display's centre, mm.
        gap_to: the gap may be anything from `gap` to this, mm; None: it is `gap`.
        seen_from: largest angle from straight ahead at which all must be read, degrees.
        index: refractive index of the plate.
        ledge: how far a plate held behind reaches past the opening on each side, mm.
        tight: how much larger than the opening a pushed-in plate is cut, mm in all.
        corner_radius: largest radius that may stay in the opening's corners, mm.
    """

    filter: Length = ZERO
    held: PlateHold = PlateHold.PUSHED_IN
    opening: tuple[Length, Length] | None = None
    gap: Length = Length(1.0)
    gap_to: Length | None = None
    seen_from: float = 30.0
    index: float = 1.49
    ledge: Length = Length(4.0)
    tight: Length = Length(0.1)
    corner_radius: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Marks round a knob, one for each whole number, evenly spread over its turn.

    Attributes:
        first, last: the numbers at the two ends of the turn; last is the larger.
        start, end: where these stand, degrees clockwise from straight up as the box is used.
    """

    first: int = 0
    last: int = 10
    start: float = -150.0
    end: float = 150.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """One part as used in a build.

    Attributes:
        name: the person's own name for it; unique in the build.
        part: what it is.
        on: the face or seat it sits on; None for a board joined to or carrying something.
        also_on: further faces it may go on instead; only when `on` is a face.
        at: where; None leaves the place open. With `also_on`, good for each of the faces.
        turn: quarter turns on its face, degrees counter-clockwise seen from outside.
        turns: further turns it may take instead.
        window: for displays.
        standoff: height of the spacers under a board on floor, lid or carrier, mm.
        standoffs: further heights it may take instead, mm.
        joined_to: for a standing board: the lying board it is joined to.
        joint: with what.
        carries: names of displays soldered to this board, viewing surface forward.
        screws: the screws that hold it, or None.
        legend: what the front label says beside it; nothing when empty.
        scale: marks round its knob on the front label, or None.
        where: the place in the build file.
    """

    name: str
    part: Part
    on: FaceName | Seat | None = None
    also_on: tuple[FaceName, ...] = ()
    at: Place | None = None
    turn: int = 0
    turns: tuple[int, ...] = ()
    window: Window | None = None
    standoff: Length | None = None
    standoffs: tuple[Length, ...] = ()
    joined_to: str | None = None
    joint: Joint | None = None
    carries: tuple[str, ...] = ()
    screws: Screw | None = None
    legend: str = ""
    scale: Scale | None = None
    where: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire or cable between two parts (its ends' names)."""

    start: str
    end: str
    where: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class StepBit:
    """A step bit: smallest and largest diameter, diameter per step, height of a step, mm."""

    smallest: Length
    largest: Length
    step: Length
    step_height: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawer:
    """What the person has: twist bits, step bits, screws, spacers (lengths), all mm."""

    name: str
    bits: tuple[Length, ...]
    about: str = ""
    step_bits: tuple[StepBit, ...] = ()
    screws: tuple[Screw, ...] = ()
    spacers: tuple[Length, ...] = ()
    where: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """A limit the person overrides: the rule's name and the value, mm."""

    rule: str
    value: Length
    where: Span = field(default=NOWHERE, compare=False)


class WishKind(StrEnum):
    """What a person would like of a layout, or, for KEEP_OUT and FINGER_GAP, insists on.

    Left, right, top and bottom are the viewer's, with the box standing as in use: see
    `fit.model.in_use`.
    """

    ROW = "row"
    """On one face: same height, left to right in this order, equal free gaps."""
    COLUMN = "column"
    """On one face: one above the other, top to bottom in this order, equal free gaps."""
    IN_LINE = "in_line"
    """On one face: centres on one line, in any order and at any distance."""
    CENTRED = "centred"
    """Each part's centre on the middle of its face, or of another part."""
    NEAR = "near"
    """As near to each other as may be; on any faces."""
    FAR = "far"
    """As far from each other as may be; on any faces."""
    SAME_BOTH_SIDES = "same_both_sides"
    """Two parts of one face, mirror images about the middle between its left and right."""
    ORDER = "order"
    """On one face: left to right in this order, at any height."""
    KEEP_OUT = "keep_out"
    """No opening and no part that is free to go elsewhere inside a rectangle of a face."""
    FINGER_GAP = "finger_gap"
    """At least this much free space between controls that fingers work."""


class Along(StrEnum):
    """A direction on a face, as the viewer sees it in use."""

    ACROSS = "across"
    UP = "up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A rectangle on a face, by how far in from each edge it begins, mm; 0: at the edge.

    Edges are the box's own, whichever way up it stands in use: left and right as in the face's
    frame, seen from outside; on lean walls they lean. On lid and floor, `low` counts from the
    front edge and `high` from the back edge; on upright faces from the floor and the rim.
    """

    left: Length = ZERO
    right: Length = ZERO
    low: Length = ZERO
    high: Length = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One line under `wishes`.

    Attributes:
        kind: what is wished.
        parts: names of the parts it is about, in order; none for KEEP_OUT and FINGER_GAP.
        middle_of: for CENTRED: the part whose middle is meant; None: the face's.
        along: for IN_LINE the line's direction (ACROSS: all at the same height); for CENTRED
            the direction in which the middle is meant (ACROSS: half way between left and right).
        on: for KEEP_OUT: the face.
        region: for KEEP_OUT: where on it.
        value: for FINGER_GAP, mm.
        where: the place in the build file.
    """

    kind: WishKind
    parts: tuple[str, ...] = ()
    middle_of: str | None = None
    along: Along = Along.ACROSS
    on: FaceName | None = None
    region: Region | None = None
    value: Length = ZERO
    where: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A file that went into a build: path as found and its contents' SHA-256."""

    path: str
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """One device.

    Attributes:
        name, about: what it is.
        box: the box.
        stands_on: which face is down in use.
        carrier: which half carries the boards.
        either_half: the other half may carry them instead.
        hands: how well the person works.
        drawer: what the person has.
        parts: in file order; names are unique.
        wires: between parts.
        needs: limits overridden.
        wishes: what the layout should look like, in file order.
        room: the smallest margin of a layout above which more room is no merit, mm.
        watts: heat made inside in use, W; 0 when nothing was said.
        read_from: how far from the eye the legends are read, mm.
        sources: every file read, for the fingerprint.
    """

    name: str
    box: Tray
    drawer: Drawer
    about: str = ""
    stands_on: FaceName = FaceName.FLOOR
    carrier: Half = Half.BODY
    either_half: bool = False
    hands: HandsName = HandsName.CAREFUL
    parts: tuple[Used, ...] = ()
    wires: tuple[Wire, ...] = ()
    needs: tuple[Need, ...] = ()
    wishes: tuple[Wish, ...] = ()
    room: Length = Length(5.0)
    watts: float = 0.0
    read_from: Length = Length(500.0)
    sources: tuple[Source, ...] = field(default=(), compare=False)
    where: Span = field(default=NOWHERE, compare=False)

    def part(self, name: str) -> Used:
        """The part of that name.

        Raises:
            KeyError: when the build has no such part.
        """
        for used in self.parts:
            if used.name == name:
                return used
        raise KeyError(name)
