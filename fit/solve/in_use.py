"""Where things of a layout question are on their faces, as the viewer sees them in use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fit.geometry.assemble import face_of
from fit.geometry.frames import Vec
from fit.geometry.scene import Scene
from fit.model.build import Along, Build
from fit.model.in_use import quarter_in_use
from fit.model.part import Board
from fit.model.words import FaceName
from fit.solve.draft import STEP
from fit.solve.free import Free, spans
from fit.solve.matter import Sort
from fit.solve.probe import Coord, Probe, main_axis, way_of
from fit.solve.problem import Item, Way


@dataclass(frozen=True, slots=True)
class Axis:
    """An axis of the engine on a face: which, and which way runs to the viewer's right or up."""

    number: int
    sign: int


class InUse:
    """The faces of one question."""

    def __init__(self, build: Build, found: Probe) -> None:
        """Take a build and what was probed of it."""
        self._build = build
        self._scene: Scene = found.base.look.scene
        self._found, self._puts = found.base.found, found.base.puts
        self._free: Mapping[str, Free] = {f.name: f for f in found.free}

    def points(self, names: Sequence[str]) -> tuple[FaceName, tuple[Item, ...]] | None:
        """The one face all these are on, and points for those that stand still; None: several."""
        found: set[FaceName] = set()
        for name in names:
            free = self._free.get(name)
            if free is not None:
                found |= {option.face for option in free.options}
            else:
                face = face_of(self._build, self._build.part(name))
                if face is not None:
                    found.add(face)
        if len(found) != 1:
            return None
        points = [p for name in names if name not in self._free for p in self.point(name)]
        if len(points) != sum(name not in self._free for name in names):
            return None
        return next(iter(found)), tuple(points)

    def point(self, name: str) -> tuple[Item, ...]:
        """A fixed part's centre as an item with no boxes."""
        placed = self._scene.placed.get(name)
        if name in self._free or placed is None or placed.face is None:
            return ()
        at = self._scene.faces[placed.face].frame.point((placed.across, placed.up, 0.0))
        steps = tuple(round(c / STEP) for c in at)
        return (Item(name=name, ways=(Way(boxes=(), low=steps, high=steps),)),)

    def apart(self, one: str, two: str, axis: int) -> int:
        """How much further one part is along an axis than the engine's points tell, steps.

        A part's point in the engine says nothing of the axis that its face is square to.
        """
        return self._beyond(one, axis) - self._beyond(two, axis)

    def _beyond(self, name: str, axis: int) -> int:
        free = self._free.get(name)
        if free is None or len(free.faces) > 1:
            return 0
        put = self._puts[name]
        frame = self._scene.faces[put.option.face].frame
        given = {Along.ACROSS: free.across, Along.UP: free.up}
        ways = {Along.ACROSS: frame.x, Along.UP: frame.y}
        if any(given[k] and main_axis(ways[k]) == axis for k in given):
            return 0
        placed = self._scene.placed[name]
        return round(frame.point((placed.across, placed.up, 0.0))[axis] / STEP)

    def visible(self, name: str) -> tuple[Vec, Vec]:
        """How far what is seen of a part reaches from its centre along each axis, mm."""
        placed = self._scene.placed[name]
        assert placed.face is not None
        centre = self._scene.faces[placed.face].frame.point((placed.across, placed.up, 0.0))
        ends = [
            end
            for moved in self._found.values()
            if moved.blob.layer.owner == name
            and (moved.blob.layer.sort is Sort.CUT or moved.blob.layer.outside)
            for end in moved.blob.around
        ] or [(centre, centre)]
        low = tuple(min(e[0][k] for e in ends) - centre[k] for k in range(3))
        high = tuple(max(e[1][k] for e in ends) - centre[k] for k in range(3))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])

    def axis(self, face: FaceName, along: Along) -> Axis:
        """Which engine axis runs to the viewer's right (or up) in use, and which way."""
        quarter = quarter_in_use(face, self._build.stands_on)
        turned = quarter in (90, 270)
        coord = Coord.ACROSS if (along is Along.ACROSS) is not turned else Coord.UP
        way = way_of(self._scene, face, coord)
        axis = main_axis(way)
        # Along the frame's own direction, then as the viewer's is turned against it.
        against = {
            Along.ACROSS: (180, 270),
            Along.UP: (180, 90),
        }[along]
        sign = 1 if way[axis] > 0 else -1
        return Axis(axis, -sign if quarter in against else sign)

    def twice_middle(self, face: FaceName, along: Along) -> int:
        """Twice the coordinate of a face's middle on that axis, steps."""
        across, up = spans(self._scene.faces[face])
        at = self._scene.faces[face].frame.point((across.middle, up.middle, 0.0))
        return round(2 * at[self.axis(face, along).number] / STEP)

    def cuts(self, name: str) -> bool:
        """Whether a part goes through its wall: it is seen from outside."""
        if isinstance(self._build.part(name).part, Board):
            return False
        return any(o.part == name for o in self._scene.openings)
