"""How much room there is on a face: a map of the smallest margin over all centres.

Everything is reduced to upright boxes in the face's own frame: parts grow, room shrinks (safe
side), so a spot that this map calls free is free; the checker measures it exactly afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from fit.geometry.box import Face, inner_planes
from fit.geometry.frames import Vec, dot
from fit.geometry.scene import Body, Opening, Scene
from fit.geometry.support import extent

Array = npt.NDArray[np.float64]

CAP = 8.0
"""Margins above this, mm, count as this: more room than that helps nobody."""


@dataclass(frozen=True, slots=True)
class FaceBox:
    """An upright box in a face's frame: lowest and highest (across, up, out), mm."""

    low: Vec
    high: Vec


def face_box(face: Face, body: Body) -> FaceBox:
    """A body's bounds in the face's frame, exact."""
    spans = []
    for axis in (face.frame.x, face.frame.y, face.frame.z):
        low, high = extent(body.shape, body.pose, axis)
        shift = dot(face.frame.origin, axis)
        spans.append((low - shift, high - shift))
    return FaceBox((spans[0][0], spans[1][0], spans[2][0]), (spans[0][1], spans[1][1], spans[2][1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A part to be placed, relative to its centre.

    Attributes:
        boxes: its bodies' bounds in the face frame with the centre at (0, 0), mm.
        hole: half width and half height of what is cut for it, mm.
    """

    boxes: tuple[FaceBox, ...]
    hole: tuple[float, float]


def outline_of(face: Face, bodies: Iterable[Body], openings: Iterable[Opening]) -> Outline:
    """The outline of a part whose bodies and openings were made at the face's origin."""
    half = [(max(o.diameter, o.width) / 2, max(o.diameter, o.height) / 2) for o in openings]
    return Outline(
        boxes=tuple(face_box(face, b) for b in bodies),
        hole=(max((h[0] for h in half), default=0.0), max((h[1] for h in half), default=0.0)),
    )


class RoomMap:
    """Margins over a grid of centres on one face.

    Attributes:
        across, up: the grid's coordinates, mm.
    """

    def __init__(
        self,
        scene: Scene,
        face: Face,
        step: float,
        need: float,
        web: float,
        *,
        across: float | None = None,
        up: float | None = None,
    ) -> None:
        """Prepare the map.

        Args:
            scene: what is placed already.
            face: the face.
            step: of the grid, mm.
            need: gap wanted to other bodies and walls, mm.
            web: material wanted between cuts, mm.
            across, up: a coordinate that is given and not open, mm.
        """
        ups = [p[1] for p in face.flat]
        acrosses = [p[0] for p in face.flat]
        self._face, self._need, self._web = face, need, web
        self.across: Array = np.arange(np.ceil(min(acrosses)), max(acrosses) + 1e-9, step)
        self.up: Array = np.arange(np.ceil(min(ups)), max(ups) + 1e-9, step)
        if across is not None:
            self.across = np.array([across])
        if up is not None:
            self.up = np.array([up])
        self._others = [face_box(face, b) for b in scene.bodies]
        self._holes = [
            (o.across, o.up, max(o.diameter, o.width) / 2, max(o.diameter, o.height) / 2)
            for o in scene.openings
            if o.face is face.name
        ]
        self._planes = [p for p in inner_planes(scene.build.box) if p.face is not face.name]

    def margins(self, part: Outline) -> Array:
        """The smallest margin at each centre, (across, up) mm, capped at `CAP`."""
        a, u = np.meshgrid(self.across, self.up, indexing="ij")
        best = self._to_others(part.boxes)
        for box in part.boxes:
            if box.high[2] <= 0:
                best = np.minimum(best, self._to_walls(box, a, u))
        best = np.minimum(best, self._to_edges(part, a, u))
        for ha, hu, hw, hh in self._holes:
            da = np.abs(a - ha) - hw - part.hole[0]
            du = np.abs(u - hu) - hh - part.hole[1]
            best = np.minimum(best, _apart(da, du) - self._web)
        found: Array = best
        return found

    def _to_others(self, boxes: Iterable[FaceBox]) -> Array:
        """Margin to the boxes that are placed already. Squares are compared, roots drawn once."""
        a, u, most = self.across, self.up, CAP + self._need
        apart = np.full((len(a), len(u)), most**2)
        deep = np.full(apart.shape, most)
        for box, other in product(boxes, self._others):
            out = max(box.low[2] - other.high[2], other.low[2] - box.high[2])
            if out >= most:
                continue
            da = np.maximum(a + (box.low[0] - other.high[0]), (other.low[0] - box.high[0]) - a)
            du = np.maximum(u + (box.low[1] - other.high[1]), (other.low[1] - box.high[1]) - u)
            level = np.maximum(da, 0.0) ** 2 + max(out, 0.0) ** 2
            np.minimum(apart, level[:, None] + np.maximum(du, 0.0) ** 2, out=apart)
            if out <= 0:
                in_a, in_u = _within(da), _within(du)
                sunk = np.maximum(np.maximum(da[in_a, None], du[in_u]), out)
                deep[in_a, in_u] = np.minimum(deep[in_a, in_u], sunk)
        found: Array = np.minimum(np.minimum(np.sqrt(apart), deep) - self._need, CAP)
        return found

    def _to_walls(self, box: FaceBox, a: Array, u: Array) -> Array:
        """To the inner planes of the other walls; a plane's distance falls off linearly."""
        best = np.full(a.shape, CAP)
        frame = self._face.frame
        for plane in self._planes:
            n = (dot(plane.normal, frame.x), dot(plane.normal, frame.y), dot(plane.normal, frame.z))
            lowest = sum(min(n[i] * box.low[i], n[i] * box.high[i]) for i in range(3))
            base = dot(plane.normal, frame.origin) - plane.offset + lowest
            best = np.minimum(best, n[0] * a + n[1] * u + base - self._need)
        return best

    def _to_edges(self, part: Outline, a: Array, u: Array) -> Array:
        """From the cut to the edges of the face's flat part, less the web."""
        best = np.full(a.shape, CAP)
        points = self._face.flat
        for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
            length = float(np.hypot(x1 - x0, y1 - y0))
            nx, ny = -(y1 - y0) / length, (x1 - x0) / length
            reach = abs(nx) * part.hole[0] + abs(ny) * part.hole[1]
            best = np.minimum(best, nx * (a - x0) + ny * (u - y0) - reach - self._web)
        return best


def _within(gaps: Array) -> slice:
    """The stretch of a line of centres at which two boxes overlap along it."""
    inside = np.flatnonzero(gaps <= 0)
    return slice(inside[0], inside[-1] + 1) if len(inside) else slice(0)


def _apart(da: Array, du: Array) -> Array:
    """Distance of two rectangles from their gaps along both axes; negative when they overlap."""
    both = (da > 0) & (du > 0)
    apart: Array = np.where(both, np.hypot(da, du), np.maximum(da, du))
    return apart
