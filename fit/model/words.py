"""The closed lists of words a build may use. Options are these enums, never loose strings."""

from __future__ import annotations

from enum import StrEnum


class FaceName(StrEnum):
    """A wall's outside."""

    FRONT = "front"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"
    FLOOR = "floor"
    LID = "lid"


UPRIGHT = (FaceName.FRONT, FaceName.RIGHT, FaceName.BACK, FaceName.LEFT)
"""The four upright faces, in the order a strip of paper meets them going round."""


class Half(StrEnum):
    """One of the two halves of a box."""

    BODY = "body"
    LID = "lid"


class Seat(StrEnum):
    """What a part may sit on besides a face."""

    POSTS = "posts"
    """The moulded board posts of the half that carries the boards."""
    CARRIER = "carrier"
    """The inside of the half that carries the boards: the floor, or the lid's underside."""


class LidKind(StrEnum):
    """How a lid is made."""

    FLAT = "flat"
    """A plate lying on the rim."""
    DEEP = "deep"
    """A shallow tray upside down on the rim."""


class PostUse(StrEnum):
    """What a moulded post is for."""

    BOARD = "board"
    CLOSING = "closing"


class BoardStock(StrEnum):
    """What a board is cut from; for perfboard, how its copper runs."""

    STRIPS = "strips"
    PADS = "pads"
    GROUPS = "groups"
    PLAIN = "plain"
    """A made circuit board: no grid to cut on."""


class StripRun(StrEnum):
    """Where the copper strips of a perfboard run."""

    ROWS = "rows"
    """Along the rows: along the board's width."""
    COLUMNS = "columns"
    """Along the columns: along its height."""


class Side(StrEnum):
    """A side of a board."""

    TOP = "top"
    """The component side."""
    UNDERSIDE = "underside"


class BoardEdge(StrEnum):
    """Where a thing on a board looks out: over an edge, or straight off a side.

    Seen from the component side: left, right, lower and upper edge.
    """

    LEFT = "left"
    RIGHT = "right"
    LOWER = "lower"
    UPPER = "upper"
    TOP = "top"
    UNDERSIDE = "underside"


class NoseKind(StrEnum):
    """What a thing is that looks out through a wall from a board."""

    PLUG = "plug"
    """A socket: a plug goes in from outside."""
    BUTTON = "button"
    """A switch: a finger presses it from outside."""


class Entry(StrEnum):
    """From which side of the wall a panel part is put in."""

    OUTSIDE = "outside"
    INSIDE = "inside"


class Fixing(StrEnum):
    """What holds a part."""

    SNAP = "snap"
    SCREWS = "screws"
    CLAMPS = "clamps"
    GLUE = "glue"
    TAPE = "tape"


class HolePattern(StrEnum):
    """How the holes of a grille lie."""

    RINGS = "rings"
    """Six more in each ring than in the one within it."""
    GRID = "grid"
    """In rows and columns."""
    SLOTS = "slots"
    """Upright slots side by side."""


class PlateHold(StrEnum):
    """How a window's filter plate is held."""

    PUSHED_IN = "pushed_in"
    """Filed to a tight push fit in the opening itself."""
    BEHIND = "behind"
    """Larger than the opening, glued or screwed behind it on a ledge."""


class JointKind(StrEnum):
    """What joins two boards at a right angle."""

    BLOCK = "block"
    STRIP = "strip"


class HandsName(StrEnum):
    """How well the person works."""

    FREEHAND = "freehand"
    CAREFUL = "careful"
    GUIDED = "guided"


class Toward(StrEnum):
    """On which side of another part something is placed, seen from outside the face."""

    RIGHT = "right"
    LEFT = "left"
    ABOVE = "above"
    BELOW = "below"


class Stuff(StrEnum):
    """What a body is, as far as gaps are concerned."""

    HARD = "hard"
    METAL = "metal"
    LIVE = "live"
    SOFT = "soft"
    """Wires and tape: they give way."""
