"""The upright walls of a tray laid flat: faces and the round corners between them, exactly.

Between two drafted walls the corner is a cylinder whose level sections are circles and whose axis
leans with both walls. A cylinder can be laid flat without stretching: its lines run side by side,
as far apart as the arc of the section square to them is long. That section is not a circle, so
its arc is summed up numerically (Simpson's rule); with upright walls it is a quarter circle,
r·π/2. Faces meet the corners along these lines, which lean when the walls do, so the whole
strip bends like a slice of a cone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fit.draw.drawing import Point
from fit.geometry.box import Face, lean, outside
from fit.geometry.frames import Vec
from fit.model.box import Tray
from fit.model.words import UPRIGHT, FaceName

_PANELS: Final = 32
"""Of Simpson's rule over a quarter turn: right to 1e-9 of the arc."""

LEVEL_OUT: Final[dict[FaceName, tuple[float, float]]] = {
    FaceName.FRONT: (0.0, -1.0),
    FaceName.RIGHT: (1.0, 0.0),
    FaceName.BACK: (0.0, 1.0),
    FaceName.LEFT: (-1.0, 0.0),
}
"""The level direction out of each wall: X, Y."""


@dataclass(frozen=True, slots=True)
class Motion:
    """A move of the plane: turn by an angle (radians) about the origin, then shift, mm."""

    x: float = 0.0
    y: float = 0.0
    angle: float = 0.0

    def __call__(self, point: Point) -> Point:
        """Where a point comes to lie."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        return (
            self.x + point[0] * c - point[1] * s,
            self.y + point[0] * s + point[1] * c,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A face laid flat, from the line where its left corner ends to where its right one begins.

    Attributes:
        face: the face.
        motion: from its own frame to the sheet.
        low_left, low_right, high_right, high_left: corners of its flat part on the sheet, mm.
        low_curve, high_curve: the lower and upper edge of the round corner to its right, from
            this face to the next, mm.
    """

    face: Face
    motion: Motion
    low_left: Point
    low_right: Point
    high_right: Point
    high_left: Point
    low_curve: tuple[Point, ...]
    high_curve: tuple[Point, ...]


def after(name: FaceName) -> FaceName:
    """The next upright face to the right, seen from outside."""
    return UPRIGHT[(UPRIGHT.index(name) + 1) % 4]


def ruling(tray: Tray, first: FaceName, second: FaceName, at: FaceName, z: float) -> Vec:
    """The point where a wall ends and the round of a corner begins, at a height, mm.

    Args:
        tray: the box.
        first, second: the walls that meet in the corner.
        at: the one of the two whose end is meant.
        z: height, mm.
    """
    section = outside(tray, z)
    x = section.x1 if FaceName.RIGHT in (first, second) else section.x0
    y = section.y1 if FaceName.BACK in (first, second) else section.y0
    r = _radius(tray)
    (ax, ay), (bx, by) = LEVEL_OUT[first], LEVEL_OUT[second]
    other = (bx, by) if at is first else (ax, ay)
    return (x - r * other[0], y - r * other[1], z)


def _radius(tray: Tray) -> float:
    """The rounds of a box that is all round meet in the middle of its floor."""
    section = outside(tray, 0.0)
    return min(section.radius, section.width / 2, section.depth / 2)


def unroll(tray: Tray, faces: dict[FaceName, Face], run: Sequence[FaceName]) -> tuple[Laid, ...]:
    """Lay upright faces flat that follow each other to the right, mm.

    The first face keeps its own frame; the sheet's x and y are its across and up.
    """
    motion = Motion()
    laid = []
    for name in run:
        laid.append(_lay(tray, faces[name], motion))
        motion = next_motion(tray, faces, laid[-1])
    return tuple(laid)


def face_ends(tray: Tray, face: Face) -> tuple[Point, Point, Point, Point]:
    """Corners of a face between its two rounds, in its own frame: lower left first, mm."""
    before = UPRIGHT[UPRIGHT.index(face.name) - 1]
    found = []
    for pair, z in (
        ((before, face.name), 0.0),
        ((face.name, after(face.name)), 0.0),
        ((face.name, after(face.name)), tray.rim),
        ((before, face.name), tray.rim),
    ):
        across, up, _ = face.frame.inside(ruling(tray, *pair, face.name, z))
        found.append((across, up))
    return found[0], found[1], found[2], found[3]


def _lay(tray: Tray, face: Face, motion: Motion) -> Laid:
    low_left, low_right, high_right, high_left = face_ends(tray, face)
    width, low, high = corner_edges(tray, face.name, after(face.name))
    away = math.dist(low_right, high_right)
    d = ((high_right[0] - low_right[0]) / away, (high_right[1] - low_right[1]) / away)

    def on_strip(u: float, s: float) -> Point:
        return motion((low_right[0] + s * d[0] + u * d[1], low_right[1] + s * d[1] - u * d[0]))

    return Laid(
        face=face,
        motion=motion,
        low_left=motion(low_left),
        low_right=motion(low_right),
        high_right=motion(high_right),
        high_left=motion(high_left),
        low_curve=tuple(on_strip(u, s) for u, s in zip(width, low, strict=True)),
        high_curve=tuple(on_strip(u, s) for u, s in zip(width, high, strict=True)),
    )


def corner_edges(
    tray: Tray, first: FaceName, second: FaceName
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """A round corner laid flat: how far from its first line, and how far along it.

    Returns:
        At equal steps of its quarter turn: the distance square to the lines, and the height
        along them of the lower and of the upper edge, from the lower end of the first, mm.
    """
    r = _radius(tray)
    t, v = lean(tray, first), lean(tray, second)
    n = math.sqrt(1 + t * t + v * v)

    def speed(a: float) -> float:
        along = (v * math.cos(a) - t * math.sin(a)) / n
        return r * math.sqrt(1 - along * along)

    step = math.pi / 2 / _PANELS
    width = [0.0]
    for i in range(_PANELS):
        a, b = i * step, (i + 1) * step
        width.append(width[-1] + (speed(a) + 4 * speed((a + b) / 2) + speed(b)) * step / 6)
    angles = [i * step for i in range(_PANELS + 1)]
    low = [r * (t * (math.cos(a) - 1) + v * math.sin(a)) / n for a in angles]
    high = [s + tray.rim * n for s in low]
    return tuple(width), tuple(low), tuple(high)


def next_motion(tray: Tray, faces: dict[FaceName, Face], laid: Laid) -> Motion:
    """Where the face to the right comes to lie: its left line on the last line of the corner."""
    low_left, _, _, high_left = face_ends(tray, faces[after(laid.face.name)])
    start, end = laid.low_curve[-1], laid.high_curve[-1]
    angle = math.atan2(end[1] - start[1], end[0] - start[0]) - math.atan2(
        high_left[1] - low_left[1], high_left[0] - low_left[0]
    )
    turned = Motion(0.0, 0.0, angle)(low_left)
    return Motion(start[0] - turned[0], start[1] - turned[1], angle)
