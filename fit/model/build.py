"""The build: one device, one file."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from fit.findings import Span
from fit.model.box import Tray
from fit.model.part import Joint, Part, Screw
from fit.model.words import FaceName, Half, HandsName, PlateHold, Seat, Toward
from fit.units import Length

ZERO = Length(0.0)
NOWHERE = Span("")


class How(StrEnum):
    """How one coordinate of a position is given."""

    AT = "at"
    """A number in the face's own frame."""
    CENTRE = "centre"
    FROM_LEFT = "from_left"
    FROM_RIGHT = "from_right"
    FROM_RIM = "from_rim"
    FROM_FLOOR = "from_floor"
    FROM_FRONT = "from_front"
    """On lid and floor: from the edge above the front wall."""
    FROM_BACK = "from_back"
    SHARE = "share"
    """A fraction 0..1 of the face's breadth or height, from the left or the floor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coordinate:
    """One coordinate: how it is given and the length (mm; a fraction for SHARE)."""

    how: How
    value: Length = ZERO


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
        at: where; None leaves the place open.
        turn: quarter turns on its face, degrees counter-clockwise seen from outside.
        window: for displays.
        standoff: height of the spacers under a board on floor, lid or carrier, mm.
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
    at: Place | None = None
    turn: int = 0
    window: Window | None = None
    standoff: Length | None = None
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
        hands: how well the person works.
        drawer: what the person has.
        parts: in file order; names are unique.
        wires: between parts.
        needs: limits overridden.
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
    hands: HandsName = HandsName.CAREFUL
    parts: tuple[Used, ...] = ()
    wires: tuple[Wire, ...] = ()
    needs: tuple[Need, ...] = ()
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
