"""What parts are described with: bodies, discs, nuts, holes; and what all parts share."""

from __future__ import annotations

from dataclasses import dataclass, field

from fit.findings import Span
from fit.model.words import Stuff
from fit.units import Length

ZERO = Length(0.0)
NOWHERE = Span("")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartBase:
    """What all parts share: catalogue name, one line about it, source of its sizes, its place.

    `mains`: mains voltage comes to it, which brings a caution.
    """

    name: str = ""
    about: str = ""
    source: str = ""
    mains: bool = False
    where: Span = field(default=NOWHERE, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Disc:
    """A round plate: diameter and thickness (along the part's axis), mm."""

    diameter: Length
    thickness: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut:
    """A hexagon nut: width across flats and height, mm."""

    across_flats: Length
    height: Length


@dataclass(frozen=True, slots=True, kw_only=True)
class Hull:
    """A body behind a wall: round (diameter) or rectangular (width × height), and how deep.

    Exactly one of `diameter` and `width`/`height` is above 0. `later`: clipped or screwed on once
    the part sits, so that it need not pass the hole.
    """

    depth: Length
    diameter: Length = ZERO
    width: Length = ZERO
    height: Length = ZERO
    stuff: Stuff = Stuff.HARD
    later: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AntiTurn:
    """A tab, a key or flats that keep a bushing part from turning.

    Attributes:
        tab_hole: diameter of the small hole for a tab, mm; 0 for none.
        tab_radius: distance of that hole from the axis, mm.
        tab_angle: direction of tab or key, degrees counter-clockwise from `across`, seen from
            outside.
        flat: width over a flat of the hole, mm: with one flat to the opposite edge, with two
            between them; 0 for none.
        flats: how many flats, 1 or 2.
        key: width of the notch for a key, and how deep it goes beyond the round hole, mm; None
            for none.
    """

    tab_hole: Length = ZERO
    tab_radius: Length = ZERO
    tab_angle: float = 90.0
    flat: Length = ZERO
    flats: int = 1
    key: tuple[Length, Length] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FixingHole:
    """A screw hole beside an opening, or in a module: centre from the part's centre, mm.

    `long`: length over all of a slot with round ends as wide as `diameter`, 0 for a round hole;
    `turn`: where it runs, degrees counter-clockwise from `across`.
    """

    x: Length
    y: Length
    diameter: Length
    long: Length = ZERO
    turn: float = 0.0
