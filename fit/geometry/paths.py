"""Outlines of openings and faces, exact for drawing: straight lines and arcs.

Everything is in a face's frame, (across, up), mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from fit.geometry.box import Face
from fit.geometry.scene import Cut, Opening
from fit.geometry.shapes import Point2


@dataclass(frozen=True, slots=True)
class LineSeg:
    """A straight stretch from `start` to `end`."""

    start: Point2
    end: Point2


@dataclass(frozen=True, slots=True)
class ArcSeg:
    """An arc, counter-clockwise, from `begin` to `finish` degrees (finish above begin)."""

    centre: Point2
    radius: float
    begin: float
    finish: float

    @property
    def start(self) -> Point2:
        """Its first point."""
        return on_circle(self.centre, self.radius, self.begin)

    @property
    def end(self) -> Point2:
        """Its last point."""
        return on_circle(self.centre, self.radius, self.finish)


@dataclass(frozen=True, slots=True)
class Circle:
    """A full circle."""

    centre: Point2
    radius: float


Segment = LineSeg | ArcSeg | Circle


@dataclass(frozen=True, slots=True)
class Outline:
    """A path, counter-clockwise, each segment starting where the one before ends.

    Attributes:
        segments: in order; a full circle stands alone.
        closed: False for a slot open to the rim: the rim itself is the missing side.
    """

    segments: tuple[Segment, ...]
    closed: bool = True


def on_circle(centre: Point2, radius: float, degrees: float) -> Point2:
    """The point of a circle in a direction, mm."""
    a = math.radians(degrees)
    return (centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a))


def outline(opening: Opening, face: Face | None = None) -> Outline:
    """The exact outline of an opening.

    Rectangles and slots have their corner radius where they may keep one. A RIM_SLOT runs down
    from the rim, along its bottom and up to the rim again, and has no turn.

    Args:
        opening: the opening.
        face: its face, needed for a RIM_SLOT: it knows where the rim is.

    Raises:
        ValueError: for a RIM_SLOT without its face, or an opening without size.
    """
    sound(opening, face)
    centre = (opening.across, opening.up)
    match opening.cut:
        case Cut.ROUND:
            return Outline((Circle(centre, opening.diameter / 2),))
        case Cut.D_FLAT:
            return Outline(_d_flat(opening))
        case Cut.DOUBLE_D:
            return Outline(_double_d(opening))
        case Cut.KEYED:
            return Outline(_keyed(opening))
        case Cut.OBLONG:
            return Outline(_oblong(opening))
        case Cut.RECTANGLE:
            corners = rectangle(opening)
            return Outline(tuple(_rounded(corners, opening.corner_radius, True)))
        case Cut.RIM_SLOT:
            corners = slot(opening, face)
            return Outline(tuple(_rounded(corners, opening.corner_radius, False)), closed=False)


_SIZES: Final[dict[Cut, tuple[str, ...]]] = {
    Cut.ROUND: ("diameter",),
    Cut.D_FLAT: ("diameter", "height"),
    Cut.DOUBLE_D: ("diameter", "height"),
    Cut.KEYED: ("diameter", "width", "height"),
    Cut.OBLONG: ("width", "height"),
    Cut.RECTANGLE: ("width", "height"),
    Cut.RIM_SLOT: ("width", "height"),
}
"""The sizes each outline has."""


def sound(opening: Opening, face: Face | None) -> None:
    """Whether an opening has all the sizes its outline needs.

    Raises:
        ValueError: when it has not, or is a RIM_SLOT without its face.
    """
    if min(getattr(opening, size) for size in _SIZES[opening.cut]) <= 0:
        raise ValueError(f"the opening of {opening.part} has no size")
    if opening.cut is Cut.RIM_SLOT and face is None:
        raise ValueError("a slot open to the rim needs its face")


def rectangle(opening: Opening) -> tuple[Point2, ...]:
    """The corners of an opening's own rectangle, counter-clockwise, mm."""
    w, h = opening.width / 2, opening.height / 2
    return tuple(turned(opening, p) for p in ((-w, -h), (w, -h), (w, h), (-w, h)))


def turned(opening: Opening, p: Point2) -> Point2:
    """A point of the opening's own axes in the face frame."""
    a = math.radians(opening.turn)
    c, s = math.cos(a), math.sin(a)
    return (opening.across + p[0] * c - p[1] * s, opening.up + p[0] * s + p[1] * c)


def slot(opening: Opening, face: Face | None) -> tuple[Point2, ...]:
    """Corners of a slot from the rim down and up again, the rim being the face's upper edge."""
    rim = opening.up + opening.height / 2 if face is None else face.outline[2][1]
    w, low = opening.width / 2, opening.up - opening.height / 2
    a, b = opening.across - w, opening.across + w
    return ((a, rim), (a, low), (b, low), (b, rim))


def _rounded(corners: tuple[Point2, ...], radius: float, closed: bool) -> list[Segment]:
    """A counter-clockwise right-angled path with its corners rounded; open ends stay sharp."""
    count = len(corners)
    sides = [math.dist(a, b) for a, b in pairwise((*corners, corners[0]))]
    r = min(radius, *(s / 2 for s in sides)) if radius > 0 else 0.0
    segments: list[Segment] = []
    for i in range(count if closed else count - 1):
        a, b = corners[i], corners[(i + 1) % count]
        ux, uy = (b[0] - a[0]) / sides[i], (b[1] - a[1]) / sides[i]
        first = r if closed or i > 0 else 0.0
        last = r if closed or i < count - 2 else 0.0
        if sides[i] - first - last > 1e-12:
            segments.append(
                LineSeg(
                    (a[0] + ux * first, a[1] + uy * first), (b[0] - ux * last, b[1] - uy * last)
                )
            )
        if last > 0:
            # The arc's centre lies r back along the side and r to its left.
            begin = math.degrees(math.atan2(-ux, uy))
            centre = (b[0] - r * (ux + uy), b[1] - r * (uy - ux))
            segments.append(ArcSeg(centre, r, begin, begin + 90.0))
    return segments


def _d_flat(opening: Opening) -> tuple[Segment, ...]:
    """A circle with the flat across its upper side, before its turn."""
    r = opening.diameter / 2
    if opening.height >= opening.diameter:
        return (Circle((opening.across, opening.up), r),)
    half = math.degrees(math.acos((opening.height - r) / r))
    arc = ArcSeg(
        (opening.across, opening.up), r, 90.0 + half + opening.turn, 450.0 - half + opening.turn
    )
    return (arc, LineSeg(arc.end, arc.start))


def _double_d(opening: Opening) -> tuple[Segment, ...]:
    """A circle with a flat above and one below, before its turn."""
    r, centre, turn = opening.diameter / 2, (opening.across, opening.up), opening.turn
    if opening.height >= opening.diameter:
        return (Circle(centre, r),)
    half = math.degrees(math.acos(opening.height / 2 / r))
    right = ArcSeg(centre, r, half - 90.0 + turn, 90.0 - half + turn)
    left = ArcSeg(centre, r, 90.0 + half + turn, 270.0 - half + turn)
    return (right, LineSeg(right.end, left.start), left, LineSeg(left.end, right.start))


def _keyed(opening: Opening) -> tuple[Segment, ...]:
    """A circle with a square-cornered notch for a key in its upper side, before its turn."""
    r, half = opening.diameter / 2, min(opening.width, opening.diameter) / 2
    angle = math.degrees(math.asin(half / r))
    arc = ArcSeg(
        (opening.across, opening.up), r, 90.0 + angle + opening.turn, 450.0 - angle + opening.turn
    )
    right = turned(opening, (half, r + opening.height))
    left = turned(opening, (-half, r + opening.height))
    return (arc, LineSeg(arc.end, right), LineSeg(right, left), LineSeg(left, arc.start))


def _oblong(opening: Opening) -> tuple[Segment, ...]:
    """A slot with round ends; as long as it is wide, it is a circle."""
    if abs(opening.width - opening.height) < 1e-9:
        return (Circle((opening.across, opening.up), opening.height / 2),)
    radius = min(opening.width, opening.height) / 2
    return tuple(_rounded(rectangle(opening), radius, True))


def oblong_ends(opening: Opening) -> tuple[Point2, Point2]:
    """The middles of the two round ends of an OBLONG opening, face frame, mm."""
    off = (opening.width - opening.height) / 2
    ends = ((-off, 0.0), (off, 0.0)) if off >= 0 else ((0.0, off), (0.0, -off))
    return turned(opening, ends[0]), turned(opening, ends[1])


def face_outline(face: Face) -> Outline:
    """The exact outline of a face: a trapezium, or a plate with rounded corners."""
    return Outline(tuple(_rounded(face.outline, face.radius, True)))
