"""The scene: everything of a build as solids and openings, in the box frame, mm.

The check, the drawings and the 3D model all read this one scene and hold no sizes of their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fit.geometry.box import Face
from fit.geometry.frames import Pose
from fit.geometry.rects import Rect
from fit.geometry.shapes import Shape
from fit.model.build import Build, Used
from fit.model.nose import Nose
from fit.model.part import Board
from fit.model.words import FaceName, Half, Stuff
from fit.trade.drills import Step

BOX = "box"
"""Owner of the moulded features: posts, ribs, lip."""

BodyId = tuple[str, str]
"""(owner, name) of a body; pieces of one thing share it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """One convex solid.

    Attributes:
        owner: the part's name, or `BOX`.
        name: what of the part it is: "bezel", "nut", "slab", "post P1" ...
        shape, pose: the solid and where it stands in the box frame.
        half: the half of the box it stays with when the box is opened.
        stuff: what it is, as far as gaps are concerned.
        outside: True when it stands outside the walls.
        seat: the wall it is mounted against or through, to which no gap is measured.
    """

    owner: str
    name: str
    shape: Shape
    pose: Pose
    half: Half
    stuff: Stuff = Stuff.HARD
    outside: bool = False
    seat: FaceName | None = None

    @property
    def id(self) -> BodyId:
        """(owner, name)."""
        return (self.owner, self.name)


class Cut(StrEnum):
    """The outline of an opening."""

    ROUND = "round"
    RECTANGLE = "rectangle"
    RIM_SLOT = "rim_slot"
    """Open to the rim: three sides are cut, the fourth is the rim itself."""
    D_FLAT = "d_flat"
    """Round with one flat; `height` is the distance from the flat to the opposite edge."""
    DOUBLE_D = "double_d"
    """Round with two flats opposite each other; `height` is the distance between them."""
    KEYED = "keyed"
    """Round with a notch for a key: `width` wide, `height` deep beyond the circle."""
    OBLONG = "oblong"
    """A slot with round ends: `width` over all, `height` wide."""


DRILLED = (Cut.ROUND, Cut.D_FLAT, Cut.DOUBLE_D, Cut.KEYED)
"""Outlines that begin as a round hole about their middle, `diameter` wide."""


class Role(StrEnum):
    """What an opening is for."""

    MOUNT = "mount"
    WINDOW = "window"
    SCREW = "screw"
    WIRE = "wire"
    TAB = "tab"
    VENT = "vent"
    """One of a pattern of holes for air or sound."""
    NOSE = "nose"
    """What is soldered to a board looks out through it."""
    OLD = "old"
    """It is in the box already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """Anything cut through a wall, at right angles to its face.

    Attributes:
        part: whose opening.
        face: in which face.
        cut: its outline.
        role: what it is for.
        across, up: its centre in the face frame, mm. For RIM_SLOT the middle of the slot.
        turn: degrees counter-clockwise seen from outside.
        diameter: mm (those of `DRILLED`), else 0.
        width, height: mm along its own axes (RECTANGLE, RIM_SLOT, OBLONG; of D holes and keys
            see `Cut`), else 0.
        sink: diameter outside of a countersink of 90° for a screw's head, mm; 0: none.
        corner_radius: largest radius that may stay in the corners, mm.
        plus: how much larger it may come out, mm.
        steps: the tools in order.
        name: which of the part's noses it is for (role NOSE), or which of the box's holes it is
            (role OLD), else empty.
        by: the hole of the box that provides it, so that nothing is cut; else empty.
        opens: holes of the box that lie within it, so that it opens them up.
    """

    part: str
    face: FaceName
    cut: Cut
    role: Role
    across: float
    up: float
    turn: float = 0.0
    diameter: float = 0.0
    width: float = 0.0
    height: float = 0.0
    sink: float = 0.0
    corner_radius: float = 0.0
    plus: float = 0.0
    steps: tuple[Step, ...] = ()
    name: str = ""
    by: str = ""
    opens: tuple[str, ...] = ()

    @property
    def drilled(self) -> bool:
        """Whether it begins as a round hole about its middle."""
        return self.cut in DRILLED

    @property
    def sunk(self) -> float:
        """How deep its countersink of 90° goes into the wall, mm; 0: none."""
        return max(0.0, (self.sink - self.diameter) / 2) if self.sink > 0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OldHole:
    """A hole that is in the box already.

    Attributes:
        name: as in the box's file.
        opening: its outline on its face; its `part` is `BOX`, its role OLD.
        closed: a knock-out that nothing here pushes out: a skin still closes it.
        doubt: how far its edge may lie off by what its sizes and place are uncertain, mm.
    """

    name: str
    opening: Opening
    closed: bool = False
    doubt: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a part came to sit.

    Attributes:
        used: the part as used.
        face: its face, or None for a board that stands on another.
        across, up: its centre in the face frame, mm (boards: centre of the board).
        turn: degrees counter-clockwise in the face frame, with the turn of `stands_on`.
        pose: the part's frame in the box frame.
        half: the half it stays with.
    """

    used: Used
    face: FaceName | None
    across: float
    up: float
    turn: float
    pose: Pose
    half: Half


@dataclass(frozen=True, slots=True, kw_only=True)
class DrilledHole:
    """A hole in a board: centre from its lower left corner, diameter, and what it is for, mm."""

    x: float
    y: float
    diameter: float
    purpose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedBoard:
    """A board in the scene.

    Attributes:
        name: the person's name for it.
        board: the board.
        pose: its frame: origin at the lower left corner on the component surface, x right,
            y up, z out of the component side.
        half: the half it stays with.
        holes: every hole to make, those of posts and joints included.
        supports: what it rests on, as (owner, name) of the bodies.
        clear_under: rectangles of the underside kept free of leads; they may reach past its edges.
    """

    name: str
    board: Board
    pose: Pose
    half: Half
    holes: tuple[DrilledHole, ...]
    supports: tuple[BodyId, ...] = ()
    clear_under: tuple[Rect, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedNose:
    """A nose of a board in the scene.

    Attributes:
        board: the board's name.
        nose: the nose.
        pose: origin on its axis where it leaves the board (at the edge, or on the side), x along
            its width, y along its height, z outwards; box frame.
        face: the wall it points at; None when it points over the rim.
        beyond: how far the middle of its face stands out of that wall's outside, mm along its
            axis; below 0: how far it lies behind.
        through: whether it reaches into the wall at all, so that it needs an opening.
    """

    board: str
    nose: Nose
    pose: Pose
    face: FaceName | None
    beyond: float
    through: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterPlate:
    """A window's plate to cut: part it belongs to, width, height, thickness, mm."""

    part: str
    width: float
    height: float
    thickness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A build worked out in the box frame.

    Attributes:
        build: what it was made from.
        faces: the box's faces.
        bodies: every solid: parts and moulded features.
        openings: everything wanted through walls for parts: cut, but for what a hole of the box
            provides (`Opening.by`).
        boards: every board.
        plates: filter plates.
        placed: where each part sits, by name.
        touching: pairs of body ids that touch on purpose (board on post, nut on wall ...);
            their distance is not measured.
        open: names of parts whose place is still open; they have no bodies yet.
        noses: what looks out through walls from boards.
        there: the holes that are in the box already.
    """

    build: Build
    faces: dict[FaceName, Face]
    bodies: tuple[Body, ...]
    openings: tuple[Opening, ...]
    boards: tuple[PlacedBoard, ...]
    plates: tuple[FilterPlate, ...]
    placed: dict[str, Placed]
    touching: frozenset[frozenset[BodyId]]
    open: tuple[str, ...] = ()
    noses: tuple[PlacedNose, ...] = ()
    there: tuple[OldHole, ...] = ()

    @property
    def to_cut(self) -> tuple[Opening, ...]:
        """The openings still to be made."""
        return tuple(o for o in self.openings if not o.by)
