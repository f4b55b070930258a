"""Posed solids as arrays, for asking many directions at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fit.geometry.frames import Pose
from fit.geometry.shapes import Block, Prism, Shape
from fit.geometry.support import Array, axes, lean, polyhedron, rims

NO_ANGLE = 1e-11
"""Directions nearer to (anti)parallel or square than this (sine) are taken as exactly so."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flat:
    """A posed block or prism: corners, face normals, edge directions, edges, mm."""

    points: Array
    normals: Array
    directions: Array
    starts: Array
    alongs: Array

    def reach(self, n: Array) -> Array:
        """The farthest corner along each row of ``n``, mm."""
        farthest: Array = (n @ self.points.T).max(axis=1)
        return farthest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Round:
    """A posed cylinder or cone: its frame, the two disc centres and radii (mm), the side's lean."""

    frame: Array
    centres: Array
    radii: Array
    lean: float

    @property
    def axis(self) -> Array:
        """The unit axis."""
        along: Array = self.frame[2]
        return along

    def reach(self, n: Array) -> Array:
        """The farther of the two discs along each row of ``n``, mm."""
        across = n @ self.frame[:2].T
        sine = np.sqrt(across[:, 0] ** 2 + across[:, 1] ** 2)
        ends = n @ self.centres.T + sine[:, None] * self.radii
        farthest: Array = ends.max(axis=1)
        return farthest


Skin = Flat | Round


def skin(shape: Shape, pose: Pose) -> Skin:
    """The arrays of a posed solid."""
    frame = axes(pose)
    if isinstance(shape, Block | Prism):
        own = polyhedron(shape)
        return Flat(
            points=own.points @ frame + pose.origin,
            normals=own.normals @ frame,
            directions=own.directions @ frame,
            starts=own.starts @ frame + pose.origin,
            alongs=own.alongs @ frame,
        )
    (low, r_low), (high, r_high) = rims(shape)
    return Round(
        frame=frame,
        centres=np.array(((low,), (high,))) * frame[2] + pose.origin,
        radii=np.array((r_low, r_high)),
        lean=lean(shape),
    )


def units(vectors: Array) -> Array:
    """Each row at length 1; rows of no length are left out."""
    size = np.sqrt((vectors * vectors).sum(axis=1))
    keep = size > NO_ANGLE
    kept: Array = vectors[keep] / size[keep, None]
    return kept


def cross(a: Array, b: Array) -> Array:
    """Vector products along the last axis (numpy's own is slow on few rows)."""
    product: Array = a[..., [1, 2, 0]] * b[..., [2, 0, 1]] - a[..., [2, 0, 1]] * b[..., [1, 2, 0]]
    return product


def across(arms: Array, alongs: Array, tilt: float) -> Array:
    """Unit directions in the plane of each arm and line that lean to the line by ``tilt``.

    ``alongs``: one line for all arms, (1, 3), or one each, (n, 3). Arms along the line are left
    out.
    """
    arms = arms - (arms * alongs).sum(axis=1)[:, None] * alongs
    size = np.sqrt((arms * arms).sum(axis=1))
    keep = size > NO_ANGLE
    out: Array = arms[keep] * (np.sqrt(1 - tilt**2) / size[keep])[:, None]
    if tilt == 0.0:
        return out
    lift = tilt * np.broadcast_to(alongs, arms.shape)[keep]
    return np.concatenate((lift + out, lift - out))
