"""One group of things in the upright plane it would be slid and tilted in: what must not meet."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fit.check.passing import Group
from fit.check.things import Solid, Things, half_of, is_nose
from fit.geometry.box import Level, ceiling, floor_top, inside, lid_inside, lid_outside, outside
from fit.geometry.distance import box_gap, gap_between, prepare
from fit.geometry.frames import Pose, Vec, cross, dot, scale
from fit.geometry.noses import PREFIX, opening_of
from fit.geometry.scene import Cut, PlacedNose
from fit.geometry.shapes import Point2
from fit.geometry.tilting import Outline, Pair, WayIn, at_stop, outline_in
from fit.model.box import Tray
from fit.model.words import UPRIGHT, FaceName, Half, LidKind

_SIGHT = 3.0
"""Solids further apart than this, mm, are not measured on the way."""

_DEEP = 200.0
"""How far material beyond a wall or floor is drawn, mm."""


OPPOSITE = {
    FaceName.FRONT: FaceName.BACK,
    FaceName.BACK: FaceName.FRONT,
    FaceName.LEFT: FaceName.RIGHT,
    FaceName.RIGHT: FaceName.LEFT,
}

OUT: dict[FaceName, Vec] = {
    FaceName.FRONT: (0.0, -1.0, 0.0),
    FaceName.BACK: (0.0, 1.0, 0.0),
    FaceName.LEFT: (-1.0, 0.0, 0.0),
    FaceName.RIGHT: (1.0, 0.0, 0.0),
}


def noses_in(known: Things, group: Group) -> Iterator[PlacedNose]:
    """The noses of all boards of a group."""
    yield from (n for n in known.scene.noses if n.board in group.names)


def _sections(tray: Tray, half: Half, z: float) -> tuple[Level, Level]:
    """Inner and outer section of a half at a height."""
    if half is Half.BODY:
        return inside(tray, z), outside(tray, z)
    return lid_inside(tray, z), lid_outside(tray, z)


def _ends(tray: Tray, half: Half) -> tuple[float, float]:
    """Heights between which a half has walls; equal where it has none."""
    if half is Half.BODY:
        return 0.0, tray.rim
    deep = tray.lid.kind is LidKind.DEEP
    return tray.rim, float(tray.height) if deep else tray.rim


def _extent(level: Level, way: Vec) -> float:
    """How far a level section reaches along an upright axis of the box, mm."""
    ends = ((level.x0, level.x1), (level.y0, level.y1))
    axis = 0 if way[0] else 1
    return way[axis] * ends[axis][1 if way[axis] > 0 else 0]


class Bench:
    """One group in the plane square to one wall: its outlines, its hurdles, its solids."""

    def __init__(self, known: Things, group: Group, face: FaceName) -> None:
        self._known, self._group, self._face = known, group, face
        self._tray: Tray = known.scene.build.box
        self._noses = {(n.board, n.nose.name): n for n in noses_in(known, group) if n.through}
        self._solids = (*group.solids, *group.noses)
        up: Vec = (0.0, 0.0, 1.0 if group.half is Half.BODY else -1.0)
        out = OUT[face]
        self.plane = Pose(self._pivot(out), out, up, cross(out, up))

    @property
    def barred(self) -> bool:
        """Whether a nose stands in a wall along which the group would have to move."""
        ends = (self._face, OPPOSITE[self._face])
        bottom = FaceName.FLOOR if self._group.half is Half.BODY else FaceName.LID
        barring = (bottom, *(f for f in UPRIGHT if f not in ends))
        return any(n.face in barring for n in self._noses.values())

    def _pivot(self, out: Vec) -> Vec:
        """Where the thing turns: at its nose in the wall, else at its edge on that side."""
        noses = [n for n in self._noses.values() if n.face is self._face]
        if noses:
            return noses[0].pose.point((0.0, 0.0, noses[0].nose.reach - noses[0].beyond))
        lead = max(self._solids, key=lambda s: max(dot(c, out) for c in s.ready.box))
        low, high = lead.ready.box
        return (
            high[0] if out[0] > 0 else low[0] if out[0] < 0 else (low[0] + high[0]) / 2,
            high[1] if out[1] > 0 else low[1] if out[1] < 0 else (low[1] + high[1]) / 2,
            (low[2] + high[2]) / 2,
        )

    # --- hurdles in the plane

    def pairs(self, need: float) -> Iterator[Pair]:
        """Everything that must not meet."""
        moulded = [
            outline_in(self.plane, s.body.shape, s.body.pose)
            for s in half_of(self._known.inside, self._group.half)
            if s.moulded
        ]
        for solid in self._solids:
            own = outline_in(self.plane, solid.body.shape, solid.body.pose)
            hurdles = [
                m.points
                for m in moulded
                if own.low - max(need, 0.0) < m.high and m.low < own.high + max(need, 0.0)
            ]
            hurdles += self._walls(solid, own, need)
            hurdles.append(self._bottom())
            yield from (Pair(own.points, hurdle) for hurdle in hurdles)
            yield from (Pair(own.points, h, close=True) for h in self._own_wall(solid, need))

    def _bottom(self) -> tuple[Point2, ...]:
        tray = self._tray
        z = floor_top(tray) if self._group.half is Half.BODY else ceiling(tray)
        y = self._height(z)
        return ((-_DEEP, y - _DEEP), (_DEEP, y - _DEEP), (_DEEP, y), (-_DEEP, y))

    def _walls(self, solid: Solid, own: Outline, need: float) -> Iterator[tuple[Point2, ...]]:
        low, high = _ends(self._tray, self._group.half)
        if high <= low:
            return
        rounded = self._rounding(own, solid)
        for face in (self._face, OPPOSITE[self._face]):
            yield from self._wall(solid, face, rounded)
        yield from self._beside(solid, own, need)

    def _rounding(self, own: Outline, solid: Solid) -> float:
        """How much nearer the end walls are for a thing that reaches into the rounded corners."""
        r = float(self._tray.corner_inner)
        level, _ = _sections(self._tray, self._group.half, solid.ready.box[0][2])
        over = max(
            own.high - (self._side(level, 1.0) - r),
            -own.low - (self._side(level, -1.0) - r),
            0.0,
        )
        return r - math.sqrt(max(r * r - over * over, 0.0)) if r > 0 else 0.0

    def _side(self, level: Level, sign: float) -> float:
        """How far a section reaches along the axis of the tilt (or against it), mm."""
        way = scale(self.plane.z, sign)
        return _extent(level, way) - dot(self.plane.origin, way)

    def _wall(self, solid: Solid, face: FaceName, rounded: float) -> Iterator[tuple[Point2, ...]]:
        """An end wall; a nose in its own opening is `_own_wall`'s business."""
        nose = self._nose(solid)
        if nose is not None and nose.face is face:
            return
        z0, z1 = _ends(self._tray, self._group.half)
        (a, b), (c, d) = self._reach(face, z0), self._reach(face, z1)
        less = rounded if face is self._face else -rounded
        y0, y1 = self._height(z0), self._height(z1)
        yield ((a - less, y0), (b, y0), (d, y1), (c - less, y1))

    def _reach(self, face: FaceName, z: float) -> tuple[float, float]:
        """Where the inside and the outside of an end wall stand at a height, in the plane, mm."""
        out = OUT[face]
        sign = 1.0 if face is self._face else -1.0
        foot = dot(self.plane.origin, out)
        inner, outer = _sections(self._tray, self._group.half, z)
        return sign * (_extent(inner, out) - foot), sign * (_extent(outer, out) - foot)

    def _height(self, z: float) -> float:
        """A height of the box in the plane, mm."""
        return (z - self.plane.origin[2]) * self.plane.y[2]

    def _own_wall(self, solid: Solid, need: float) -> Iterator[tuple[Point2, ...]]:
        """What stands above and below a nose's own opening.

        The wall counts as thicker inside by the room that is needed, so that a nose that is not
        in its opening keeps off; in its opening all the play there is is its own.
        """
        nose = self._nose(solid)
        cut = None if nose is None else opening_of(self._known.scene, nose)
        if nose is None or cut is None or nose.face not in (self._face, OPPOSITE[self._face]):
            return
        assert nose.face is not None
        low, high = _ends(self._tray, self._group.half)
        face = self._known.scene.faces[nose.face]
        tall = (cut.height or cut.diameter) / 2
        more = max(need, 0.0) * (1.0 if nose.face is self._face else -1.0)
        # Cut at right angles to a leaning face: its edges slope with the wall's normal.
        for edge, far in ((cut.up - tall, low), (cut.up + tall, high)):
            if far == high and cut.cut is Cut.RIM_SLOT:
                continue
            ends = (face.frame.point((0.0, edge, -d)) for d in (0.0, face.thickness))
            outer, inner = ((q[0], q[1]) for q in map(self.plane.inside, ends))
            (a, b), y = self._reach(nose.face, far), self._height(far)
            yield (outer, (inner[0] - more, inner[1]), (a - more, y), (b, y))

    def _nose(self, solid: Solid) -> PlacedNose | None:
        if not is_nose(solid.body):
            return None
        return self._noses.get((solid.body.owner, solid.body.name.removeprefix(PREFIX)))

    def _beside(self, solid: Solid, own: Outline, need: float) -> Iterator[tuple[Point2, ...]]:
        """Side walls closer together further in: a thing must not dip where they are too near."""
        low, high = _ends(self._tray, self._group.half)
        depth = solid.ready.box[0 if self.plane.y[2] > 0 else 1][2]

        def room(z: float) -> float:
            level, _ = _sections(self._tray, self._group.half, z)
            return min(self._side(level, 1.0) - own.high, self._side(level, -1.0) + own.low)

        wanted = min(max(need, 0.0), room(depth))
        mouth = high if self.plane.y[2] > 0 else low
        for z, upper in ((low + high - mouth, False), (mouth, True)):
            if room(z) >= wanted - 1e-9:
                continue
            # Room changes evenly with height.
            share = (wanted - room(depth)) / (room(z) - room(depth)) if room(z) != wanted else 0.0
            y = self._height(depth + share * (z - depth))
            far = y + _DEEP if upper else y - _DEEP
            yield ((-_DEEP, y), (_DEEP, y), (_DEEP, far), (-_DEEP, far))

    # --- the solids themselves

    def least(self, way: WayIn, need: float) -> float:
        """The least room of the moving solids to posts and ribs at every stop, mm.

        It proves the way a second time, by the solids themselves. Walls are left to the plane,
        where they are exact. What is nearer than needed at the seat is not measured.
        """
        known, found = self._known, math.inf
        for other in half_of(known.inside, self._group.half):
            if not other.moulded:
                continue
            for solid in self._solids:
                if known.touch(solid.body, other.body):
                    continue
                if gap_between(solid.ready, other.ready).mm < need:
                    continue
                for stop in way.stops:
                    moved = at_stop(way.plane, stop, solid.body.pose)
                    ready = prepare(solid.body.shape, moved)
                    if box_gap(ready.box, other.ready.box) < min(found, _SIGHT):
                        found = min(found, gap_between(ready, other.ready).mm)
        return found
