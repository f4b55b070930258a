"""A scene as the CAD kernel has it: what shares room in the closed box and on the way into it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fit.check.passing import Group, groups
from fit.check.rule import Inspection
from fit.check.things import Solid as Known
from fit.check.things import assembly_of, things
from fit.check.ways import going
from fit.geometry.fixtures import LIP
from fit.geometry.scene import BOX, Scene
from fit.geometry.solids import box_solids
from fit.geometry.tilting import WayIn
from fit.model.part import Board, Holder
from fit.model.words import UPRIGHT, FaceName, Half
from tests import oracle, oracle_box
from tests.oracle import THIN, Solid, bounds_in, shared, swept
from tests.oracle_box import Wall

Meeting = tuple[frozenset[str], float, str]
"""Labels of what shares room, how thick that is, and where."""

STRIDE = 0.5
"""A thing on a way that is not straight is looked at after each so many mm."""

WALL = "a wall"
"""Stands for any inner surface in what a meeting is about."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Item:
    """One solid of a scene: as the rules know it, and as the kernel has it.

    The lip's pieces are one item, the true lip.
    """

    known: Known
    solid: Solid
    sweep: tuple[Solid, ...] = ()

    @property
    def label(self) -> str:
        return self.known.label

    @property
    def half(self) -> Half:
        return self.known.body.half

    @property
    def outside(self) -> bool:
        return self.known.body.outside

    @property
    def moulded(self) -> bool:
        return self.known.body.owner == BOX


class Exact:
    """A scene as the kernel has it."""

    def __init__(self, scene: Scene) -> None:
        self.scene, self.tray = scene, scene.build.box
        self.look = Inspection(scene)
        self.known = things(self.look)
        self.items: list[Item] = []
        for known in self.known.solids:
            if known.label == LIP:
                continue
            self.items.append(
                Item(known=known, solid=oracle.solid_of(known.body.shape, known.body.pose))
            )
        ring = oracle_box.lip(self.tray)
        if ring is not None:
            piece = next(s for s in self.known.solids if s.label == LIP)
            self.items.append(Item(known=piece, solid=ring[0], sweep=(ring[1],)))

    @cached_property
    def inside(self) -> list[Item]:
        return [i for i in self.items if not i.outside]

    def near(self, reach: float) -> Iterator[tuple[Item, Item]]:
        """Pairs of things of different owners whose upright bounds are within reach."""
        low = np.array([i.solid.bounds[0] for i in self.items])
        high = np.array([i.solid.bounds[1] for i in self.items])
        apart = np.maximum(low[:, None] - high[None], low[None] - high[:, None]).max(axis=2)
        for a, b in zip(*np.nonzero(np.triu(apart <= reach, k=1)), strict=True):
            one, two = self.items[a], self.items[b]
            if one.known.body.owner != two.known.body.owner and not _moulded_in(one, two):
                yield one, two

    def way(self, item: Item, *, up: bool) -> tuple[Solid, ...]:
        """What a moving item sweeps."""
        if item.sweep:
            return item.sweep
        return tuple(swept(item.known.body.shape, item.known.body.pose, up=up))

    # --- common room ---

    def meetings(self) -> Iterator[Meeting]:
        """Labels of what shares room, how thick, and where: closed, or on the way."""
        for a, b in self.near(-THIN):
            thick = shared(a.solid, b.solid)
            if not thick:
                continue
            about = _between(a, b)
            yield about, thick, f"{name_of(a)} in {name_of(b)}"
        for item in self.inside:
            if item.moulded:
                continue
            for wall in oracle_box.walls(self.tray):
                thick = _in_wall(item.solid, wall)
                if thick:
                    yield frozenset((item.label, WALL)), thick, f"{name_of(item)} in {wall.faces}"
        yield from self._outside()
        yield from self._lid_on()
        yield from self._groups_in()

    def _outside(self) -> Iterator[Meeting]:
        """What stands outside, against the lid above a wall that leans in."""
        tray = self.tray
        for item in self.items:
            seat = item.known.body.seat
            if not item.outside or seat is None:
                continue
            low = bounds_in(item.solid, self.scene.faces[seat].frame)[0][2]
            assert low > -THIN, "what is outside stands before its own face"
            if seat not in UPRIGHT or item.solid.bounds[1][2] <= tray.rim:
                continue
            if tray.wall(seat).draft >= 0 and tray.lid.draft >= 0:
                continue
            thick = shared(item.solid, oracle.made(box_solids(tray)[1], item.solid.frame))
            if thick:
                yield frozenset((item.label, WALL)), thick, f"{name_of(item)} in the lid's outside"

    def _lid_on(self) -> Iterator[Meeting]:
        """The lid with all it holds, lifted off."""
        below = [i for i in self.items if i.half is Half.BODY]
        for item in self.items:
            if item.half is not Half.LID:
                continue
            for way in self.way(item, up=True):
                for other in below:
                    if (item.moulded and other.moulded) or _moulded_in(item, other):
                        continue
                    if _over(way, other.solid):
                        thick = shared(way, other.solid)
                        if thick:
                            about = _between(item, other)
                            yield about, thick, f"{name_of(item)} past {name_of(other)}"
                if item.moulded or item.outside:
                    continue
                for wall in oracle_box.walls(self.tray):
                    if wall.half is Half.BODY and wall.faces != (FaceName.FLOOR,):
                        thick = _in_wall(way, wall, moving=True)
                        if thick:
                            about = frozenset((item.label, WALL))
                            yield about, thick, f"{name_of(item)} past {wall.faces}"
        for wall in oracle_box.mouth_of_lid(self.tray):
            for other in below:
                if not other.moulded and not other.outside:
                    thick = _in_wall(other.solid, wall)
                    if thick:
                        about = frozenset((other.label, WALL))
                        yield about, thick, f"{name_of(other)} in the way of the lid's walls"

    def groups(self) -> Iterator[tuple[Group, list[Item]]]:
        """Boards with all that is joined to them, holders on floor or lid."""
        by_name = {g.name: g for g in groups(self.known)}
        for used in self.scene.build.parts:
            placed = self.scene.placed[used.name]
            if isinstance(used.part, Board) and used.joined_to is None:
                ids = assembly_of(self.scene, used.name)
                yield by_name[used.name], [i for i in self.inside if i.known.body.id in ids]
            elif isinstance(used.part, Holder) and placed.face not in UPRIGHT:
                yield by_name[used.name], [i for i in self.inside if i.label == used.name]

    def _groups_in(self) -> Iterator[Meeting]:
        """Groups past the moulded features and the walls of their own half."""
        for group, items in self.groups():
            way = going(self.known, group).fitting
            for item in items:
                if way is None or way.way is None:
                    up = item.half is Half.BODY
                    yield from self._passed(item, self.way(item, up=up), "straight in")
                else:
                    yield from self._passed(item, self._walked(item, way.way), "tilted in")

    def _passed(self, item: Item, ways: Iterable[Solid], how: str) -> Iterator[Meeting]:
        beside = [
            w for w in oracle_box.walls(self.tray) if w.half is item.half and w.faces[0] in UPRIGHT
        ]
        moulded = [o for o in self.inside if o.moulded and o.half is item.half]
        for way in ways:
            for other in moulded:
                if _over(way, other.solid):
                    thick = shared(way, other.solid)
                    if thick:
                        about = frozenset((item.label, other.label))
                        yield about, thick, f"{name_of(item)} {how} past {name_of(other)}"
            for wall in beside:
                thick = _in_wall(way, wall, moving=True)
                if thick:
                    about = frozenset((item.label, WALL))
                    yield about, thick, f"{name_of(item)} {how} past {wall.faces}"

    def _walked(self, item: Item, way: WayIn) -> Iterator[Solid]:
        """An item at many places on a way that the check proposes, no two far apart."""
        far = max(math.dist(c, way.plane.origin) for c in item.solid.bounds)
        before = way.stops[0]
        for stop in way.stops:
            moved = math.hypot(stop.x - before.x, stop.y - before.y)
            moved += far * math.radians(abs(stop.tilt - before.tilt))
            count = max(1, math.ceil(moved / STRIDE))
            for i in range(1, count + 1):
                x, y, tilt = (
                    a + (b - a) * i / count
                    for a, b in (
                        (before.x, stop.x), (before.y, stop.y), (before.tilt, stop.tilt)
                    )
                )  # fmt: skip
                yield oracle.tilted(item.solid, way.plane, x, y, tilt)
            before = stop


def name_of(item: Item) -> str:
    return f"{item.label}:{item.known.body.name}"


def _between(a: Item, b: Item) -> frozenset[str]:
    """What a meeting of two things is about.

    Through a wall it is a matter of that wall; of a display and its own filter plate (which
    stay with different halves where the display hangs on the lid) one of window and display.
    """
    if a.outside is b.outside:
        return frozenset((a.label, b.label))
    return frozenset(((b if a.outside else a).label, WALL))


def _moulded_in(a: Item, b: Item) -> bool:
    """Whether one is moulded and reaches out through the wall it merges with to the other."""
    return a.outside is not b.outside and (a.moulded or b.moulded)


def _over(a: Solid, b: Solid) -> bool:
    return all(
        a.bounds[0][i] < b.bounds[1][i] - THIN and b.bounds[0][i] < a.bounds[1][i] - THIN
        for i in range(3)
    )


def _in_wall(solid: Solid, wall: Wall, *, moving: bool = False) -> float:
    """How thick the part of a solid is that stands in the material of a wall."""
    if wall.plane is not None:
        depth = bounds_in(solid, wall.plane)[1][2]
        if depth <= THIN:
            return 0.0
        if not wall.clipped and not moving:
            return depth
    return shared(solid, wall.solid)
