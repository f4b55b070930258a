"""What is soldered to a board and reaches through a wall: sockets at its edge, buttons on it."""

from __future__ import annotations

from dataclasses import dataclass

from fit.model.pieces import Hull
from fit.model.words import BoardEdge, NoseKind, Stuff
from fit.units import Length

ZERO = Length(0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nose:
    """A thing on a board that looks out through a wall, round or rectangular across its axis.

    Exactly one of `diameter` and `width`/`height` is above 0. Places count from the board's lower
    left corner, seen from the component side.

    Attributes:
        name: for messages; unique on its board.
        edge: the edge it looks over, or the side of the board it stands on.
        kind: a socket for a plug, or a button to press.
        reach: how far its face stands past that edge (or above that side), mm.
        x, y: the middle: along a left or right edge only y counts, along a lower or upper only x.
        above: at an edge: its middle above the component surface, mm; below 0: under it.
        width, height: of a rectangular one, mm: along the edge, and across the board; on a side
            along the board's x and y.
        diameter: of a round one, mm.
        root: at an edge: how far it lies back over the board, mm.
        stuff: what it is, as far as gaps are concerned.
        travel: of a button: how far it goes in, mm.
        shoulder: of a button: how far what is wider than its hole (the switch's case, a cap's
            flange) stands past the edge or above the side, mm; 0 for none.
        plug: of a socket: the moulding of the plug, depth as far as it stands out from the wall.
        hole: of a round one: diameter to drill, mm; None: worked out.
        cutout: of a rectangular one: width × height to cut; None: worked out.
        slot: cut its opening open to the rim.
    """

    name: str
    edge: BoardEdge
    kind: NoseKind
    reach: Length
    x: Length = ZERO
    y: Length = ZERO
    above: Length = ZERO
    width: Length = ZERO
    height: Length = ZERO
    diameter: Length = ZERO
    root: Length = ZERO
    stuff: Stuff = Stuff.HARD
    travel: Length = ZERO
    shoulder: Length = ZERO
    plug: Hull | None = None
    hole: Length | None = None
    cutout: tuple[Length, Length] | None = None
    slot: bool = False
