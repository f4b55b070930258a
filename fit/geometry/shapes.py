"""The four convex solids everything inside a box is made of.

Each shape is centred on its own origin: middle of its bounding box in z, axis or centre in x, y.
Hollow or notched things are several convex solids with one owner.
"""

from __future__ import annotations

from dataclasses import dataclass

Point2 = tuple[float, float]
"""A point in a plane, mm."""


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangular block, edge lengths mm along its own x, y, z."""

    dx: float
    dy: float
    dz: float


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A round bar along its own z: radius and height, mm."""

    radius: float
    height: float


@dataclass(frozen=True, slots=True)
class Cone:
    """A truncated cone along its own z: radius at the low and the high end, height, mm."""

    radius_low: float
    radius_high: float
    height: float


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex polygon, counter-clockwise in its own x, y (mm), drawn out by height along z."""

    outline: tuple[Point2, ...]
    height: float


Shape = Block | Cylinder | Cone | Prism
