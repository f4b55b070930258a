"""One coordinate of a place on a face, in words that survive another box."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fit.units import Length

ZERO = Length(0.0)


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
    """One coordinate: how it is given and the length (mm; a fraction for SHARE).

    `off` is how much further it lies, mm to the right or up: as much in every box.
    """

    how: How
    value: Length = ZERO
    off: Length = ZERO

    def along(self, low: float, high: float) -> float:
        """Where it lies between two edges, mm."""
        value = float(self.value)
        if self.how is How.AT:
            found = value
        elif self.how is How.CENTRE:
            found = (low + high) / 2
        elif self.how is How.SHARE:
            found = low + value * (high - low)
        elif self.how in _FROM_HIGH:
            found = high - value
        else:
            found = low + value
        return found + self.off


_FROM_HIGH = (How.FROM_RIGHT, How.FROM_RIM, How.FROM_BACK)
