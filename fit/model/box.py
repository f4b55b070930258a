"""The box a person buys: a drafted tray with a lid, its posts, lip and ribs."""

from __future__ import annotations

from dataclasses import dataclass, field

from fit.findings import Span
from fit.model.place import Coordinate
from fit.model.rounded import Rounded, upright_box
from fit.model.words import FaceName, Half, LidKind, PostUse
from fit.units import Length

ZERO = Length(0.0)
NOWHERE = Span("")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One upright wall.

    Attributes:
        thickness: mm, at right angles to the wall.
        draft: lean in degrees; positive when the box is wider at the rim than at the floor.
    """

    thickness: Length
    draft: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lip:
    """The ring that stands down from a lid into the body.

    Attributes:
        height: mm it reaches below the rim.
        thickness: mm, level.
        gap: mm between the lip's outside and the body's inside at the rim, level.
    """

    height: Length
    thickness: Length
    gap: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Lid:
    """The lid.

    Attributes:
        kind: a flat plate, or a deep lid (a shallow tray upside down).
        thickness: mm of its top plate.
        height: outside height above the rim, mm; equals the thickness for a flat lid.
        wall: thickness of a deep lid's upright walls, mm, at right angles to the wall.
        draft: lean of a deep lid's walls, degrees; positive: narrower towards the top.
        lip: the ring into the body, or None.
    """

    kind: LidKind
    thickness: Length
    height: Length
    wall: Length = ZERO
    draft: float = 0.0
    lip: Lip | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A moulded screw pillar, round, upright.

    Attributes:
        name: for messages; unique in its box.
        half: whether it stands on the floor or hangs from the lid.
        x, y: axis in the box frame, mm.
        tip: diameter at the free end, mm.
        foot: diameter where it meets floor or lid, mm; larger than tip when conical.
        height: mm from the inner face of floor or lid.
        hole: diameter of the screw hole in the tip, mm; 0 for none.
        depth: depth of that hole, mm.
        use: holds a board, or takes a closing screw.
    """

    name: str
    half: Half
    x: Length
    y: Length
    tip: Length
    foot: Length
    height: Length
    hole: Length = ZERO
    depth: Length = ZERO
    use: PostUse = PostUse.BOARD


@dataclass(frozen=True, slots=True, kw_only=True)
class Rib:
    """A moulded rib: a straight bar standing up from the inside of a wall, the floor or the lid.

    Attributes:
        name: for messages; unique in its box.
        on: the wall it stands on.
        start, end: ends of its centre line, (across, up) in that face's frame, mm.
        thickness: mm along the wall.
        depth: mm it stands into the box from the wall's inner face.
    """

    name: str
    on: FaceName
    start: tuple[Length, Length]
    end: tuple[Length, Length]
    thickness: Length
    depth: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A hole that is in the box already: moulded, or drilled by somebody before.

    Round, a slot with round ends, or a rectangle; it goes straight through its wall.

    Attributes:
        name: for messages; unique in its box.
        on: the face it is in.
        across, up: its centre on that face, as places of parts are given.
        diameter: mm, of a round hole or of a slot's round ends; 0 for a rectangle.
        long: length over all of a slot, mm; 0 for a round hole.
        size: width × height of a rectangle, mm; None for the others.
        corner_radius: of a rectangle's corners, mm.
        turn: of a slot or rectangle, degrees counter-clockwise seen from outside.
        knock_out: still closed by a thin skin; a hole only once somebody pushes it out.
    """

    name: str
    on: FaceName
    across: Coordinate
    up: Coordinate
    diameter: Length = ZERO
    long: Length = ZERO
    size: tuple[Length, Length] | None = None
    corner_radius: Length = ZERO
    turn: float = 0.0
    knock_out: bool = False

    def outline(self, across: float, up: float) -> Rounded:
        """Its outline with its centre there, mm."""
        if self.size is not None:
            w, h = self.size
            return upright_box((across, up), w, h, self.turn, self.corner_radius)
        if self.long > self.diameter:
            return upright_box((across, up), self.long, self.diameter, self.turn, self.diameter / 2)
        return Rounded(((across, up),), self.diameter / 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray:
    """A drafted tray with a lid.

    Level sections are rectangles whose corners are rounded by the same radius at every height.

    Attributes:
        name: as in the catalogue.
        about: one line, or empty.
        length: outside along X at the rim, mm.
        width: outside along Y at the rim, mm.
        height: outside along Z with the lid closed, mm.
        front, back, left, right: the upright walls.
        floor: thickness of the floor, mm.
        corner_outer, corner_inner: radius of the upright edges, mm, in every level section.
        lid: the lid.
        posts, ribs: moulded features.
        holes: those that are there already.
        plastic: name of the material (ABS, PC, PS ...).
        where: the place in its file.
    """

    name: str
    length: Length
    width: Length
    height: Length
    front: Wall
    back: Wall
    left: Wall
    right: Wall
    floor: Length
    lid: Lid
    corner_outer: Length = ZERO
    corner_inner: Length = ZERO
    posts: tuple[Post, ...] = ()
    ribs: tuple[Rib, ...] = ()
    holes: tuple[Hole, ...] = ()
    plastic: str = "ABS"
    about: str = ""
    where: Span = field(default=NOWHERE, compare=False)

    @property
    def rim(self) -> float:
        """Height of the rim above the floor's outside, mm."""
        return self.height - self.lid.height

    def wall(self, face: FaceName) -> Wall:
        """The upright wall behind a face.

        Raises:
            KeyError: for floor and lid, which are not upright walls.
        """
        walls = {
            FaceName.FRONT: self.front,
            FaceName.BACK: self.back,
            FaceName.LEFT: self.left,
            FaceName.RIGHT: self.right,
        }
        return walls[face]

    def thickness(self, face: FaceName) -> Length:
        """Thickness of the wall behind any face, mm, at right angles to it."""
        if face is FaceName.FLOOR:
            return self.floor
        if face is FaceName.LID:
            return self.lid.thickness
        return self.wall(face).thickness
