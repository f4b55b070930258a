"""From written positions to a centre in the face frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fit.geometry.box import Face
from fit.geometry.frames import Pose
from fit.model.build import Coordinate, Place, Used
from fit.model.part import (
    Board,
    BushingPart,
    Display,
    Gland,
    Grille,
    Grommet,
    Holder,
    Joint,
    PanelPart,
    Part,
    RimSwitch,
    Screw,
    TapedPart,
)
from fit.model.words import UPRIGHT, FaceName, Toward

_COS30 = math.cos(math.radians(30.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A centre on a face, mm, and the half sizes of what stands there, mm, after turning."""

    across: float
    up: float
    half_width: float
    half_height: float


def corner_radius_of_nut(across_flats: float) -> float:
    """Radius of the circle a hexagon nut needs, mm: AF / (2·cos 30°)."""
    return across_flats / (2 * _COS30)


def footprint(part: Part) -> tuple[float, float]:
    """Half width and half height a part takes on the outside of its face, mm, unturned."""
    if isinstance(part, BushingPart):
        radii = [part.bushing / 2]
        radii += [disc.diameter / 2 for disc in (part.bezel, part.knob) if disc is not None]
        if part.nut is not None:
            radii.append(corner_radius_of_nut(part.nut.across_flats))
        return max(radii), max(radii)
    if isinstance(part, PanelPart):
        return part.front[0] / 2, part.front[1] / 2
    if isinstance(part, RimSwitch):
        return part.slot[0] / 2, part.slot[1] / 2
    if isinstance(part, Display):
        return part.visible[0] / 2, part.visible[1] / 2
    if isinstance(part, TapedPart | Holder):
        return part.size[0] / 2, part.size[1] / 2
    if isinstance(part, Grille):
        return part.size[0] / 2 if part.size else part.outer / 2, (
            part.size[1] / 2 if part.size else part.outer / 2
        )
    if isinstance(part, Gland):
        r = max(part.outside.diameter / 2, corner_radius_of_nut(part.nut.across_flats))
        return r, r
    if isinstance(part, Grommet):
        return part.flange.diameter / 2, part.flange.diameter / 2
    if isinstance(part, Board):
        return part.size[0] / 2, part.size[1] / 2
    assert isinstance(part, Joint | Screw)
    return 0.0, 0.0


def turned_footprint(part: Part, turn: float) -> tuple[float, float]:
    """`footprint` after turning by quarter turns."""
    w, h = footprint(part)
    return (h, w) if round(turn / 90) % 2 else (w, h)


def turn_in_use(used: Used, face: FaceName, stands_on: FaceName) -> float:
    """A part's turn in the face frame, degrees.

    On upright faces of a box that stands on its lid everything is turned over, so that it reads
    the right way up in use.
    """
    over = 180 if stands_on is FaceName.LID and face in UPRIGHT else 0
    return float((used.turn + over) % 360)


def along(low: float, high: float, coordinate: Coordinate) -> float:
    """One coordinate between two edges: where it lies, mm."""
    return coordinate.along(low, high)


def locate(face: Face, used: Used, turn: float, spots: dict[str, Spot]) -> Spot | None:
    """Work out where a part's centre is on its face.

    `from_left` and `from_right` count level from the face's edge at the part's own height;
    `from_rim` and `from_floor` count along the face.

    Args:
        face: the face.
        used: the part and its written place.
        turn: in the face frame, degrees.
        spots: parts already located on the same face, by name.

    Returns:
        The spot, or None while a coordinate is open or the part it is beside is not located.
    """
    half_w, half_h = turned_footprint(used.part, turn)
    place = used.at
    if place is None:
        return None
    if place.beside is not None:
        return _beside(place, spots, half_w, half_h)
    ups = [p[1] for p in face.outline]
    if isinstance(used.part, RimSwitch):
        up = max(ups) - used.part.slot[1] / 2
    elif place.up is None:
        return None
    else:
        up = along(min(ups), max(ups), place.up)
    if place.across is None:
        return None
    # Edges lean: what stands off one spot by fixed lengths counts from the edges beside that spot.
    low, high = face.reach(up - (0.0 if place.up is None else place.up.off))
    return Spot(across=along(low, high, place.across), up=up, half_width=half_w, half_height=half_h)


def _beside(place: Place, spots: dict[str, Spot], half_w: float, half_h: float) -> Spot | None:
    assert place.beside is not None
    other = spots.get(place.beside)
    if other is None:
        return None
    dx = other.half_width + half_w + place.gap
    dy = other.half_height + half_h + place.gap
    step = {
        Toward.RIGHT: (dx, 0.0),
        Toward.LEFT: (-dx, 0.0),
        Toward.ABOVE: (0.0, dy),
        Toward.BELOW: (0.0, -dy),
    }[place.side]
    return Spot(
        across=other.across + step[0],
        up=other.up + step[1],
        half_width=half_w,
        half_height=half_h,
    )


def pose_on(face: Face, spot: Spot, turn: float) -> Pose:
    """The frame of a part on a face: x, y in the face, z out of the box."""
    return face.frame.shifted((spot.across, spot.up, 0.0)).turned(turn)
