"""Which cells of a board's grid may hold board, by the checker's own distances.

A board is the union of its cells, so its distance to anything is the least of its cells'
distances: what the rules about solids say of each cell alone they say of the whole. Rectangles of
cells are measured as one solid and divided only where something is too near.

Two maps come out. On the safe one a cell is free when nothing is nearer than it may be, at the
seat and on the straight way in, with a little more for rounding. On the loose one a cell is
blocked only when board there is a clash whatever the rest of the outline looks like: crooked ways
in, and leads that a joint may keep away, are given the benefit of the doubt.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum

import numpy as np

from fit.check import Inspection
from fit.check.things import (
    Solid,
    Things,
    kind_of,
    need_between,
    need_to_wall,
    things,
    wall_words,
    words_of,
)
from fit.geometry.broad import Boxes
from fit.geometry.containment import WallMargin, cavity, margins
from fit.geometry.distance import Gap, Prepared, box_gap, gap_between, prepare
from fit.geometry.rects import Rect, minus
from fit.geometry.scene import Body, Scene
from fit.geometry.shapes import Block
from fit.geometry.support import Bounds
from fit.geometry.sweep import Way, swept
from fit.model.words import UPRIGHT, FaceName, Half, Stuff
from fit.solve.board_grid import Grid
from fit.solve.outline import Rect as Cells
from fit.trade.clearances import gaps

ROUNDING = 0.001
"""What places lose when they are written to a thousandth, mm."""

_WORSE = 1e-6
"""The way in is worse than the seat when it leaves this much less room, mm."""


class State(IntEnum):
    """What is known of a cell."""

    FREE = 0
    DOUBTFUL = 1
    """Blocked on the safe map only."""
    BLOCKED = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """Why a cell cannot be board.

    Attributes:
        other: what is too near, in words.
        have, need: the distance and the least it may be, mm.
        sure: whether it holds for every outline.
    """

    other: str
    have: float
    need: float
    sure: bool


@dataclass(slots=True, kw_only=True)
class CellMap:
    """The cells of a rectangle of the grid: rows of states from `reach`'s lower left corner."""

    reach: Cells
    states: list[list[State]]
    faults: dict[tuple[int, int], Fault] = field(default_factory=dict)

    def state(self, column: int, row: int) -> State:
        """What is known of a cell; outside the reach it is blocked."""
        x0, y0, x1, y1 = self.reach
        if not (x0 <= column < x1 and y0 <= row < y1):
            return State.BLOCKED
        return self.states[row - y0][column - x0]

    def free(self, window: Cells, worst: State) -> list[list[bool]]:
        """Rows of a window: True where a cell is no worse than a state."""
        x0, y0, x1, y1 = window
        dx, dy = self.reach[0], self.reach[1]
        return [
            [state <= worst for state in row[x0 - dx : x1 - dx]]
            for row in self.states[y0 - dy : y1 - dy]
        ]


def cell_map(scene: Scene, grid: Grid) -> CellMap:
    """The map of a board's grid in a scene.

    The scene's board has to have its holes, supports and keep-outs as the outline sought will
    have them; how far it reaches does not matter.
    """
    probe = _Probe(scene, grid)
    x0, y0, x1, y1 = grid.reach
    found = CellMap(reach=grid.reach, states=[[State.FREE] * (x1 - x0) for _ in range(y1 - y0)])
    waiting = [grid.reach]
    while waiting:
        cells = waiting.pop()
        faults = probe.faults(cells)
        first = next(faults, None)
        if first is None:
            continue
        if cells[2] - cells[0] == 1 and cells[3] - cells[1] == 1:
            worst = first if first.sure else next((f for f in faults if f.sure), first)
            found.faults[cells[0], cells[1]] = worst
            state = State.BLOCKED if worst.sure else State.DOUBTFUL
            found.states[cells[1] - y0][cells[0] - x0] = state
            continue
        waiting += _divided(cells)
    return found


def _divided(cells: Cells) -> list[Cells]:
    x0, y0, x1, y1 = cells
    if x1 - x0 >= y1 - y0:
        middle = (x0 + x1) // 2
        return [(x0, y0, middle, y1), (middle, y0, x1, y1)]
    middle = (y0 + y1) // 2
    return [(x0, y0, x1, middle), (x0, middle, x1, y1)]


@dataclass(frozen=True, slots=True)
class _Passed:
    """The thing itself on a way, what it passes, and whether the walls narrow on the way."""

    way: Way
    others: _Near
    walls: Half | None


class _Near:
    """Solids to be asked for those near a box."""

    def __init__(self, solids: Sequence[Solid], boxes: Sequence[_Moving] | None = None) -> None:
        self.solids = solids
        rounds = [_round(m) for m in boxes] if boxes is not None else [s.ready.box for s in solids]
        self._boxes = Boxes(rounds) if rounds else None

    def to(self, box: Bounds, reach: float) -> Iterator[tuple[int, Solid]]:
        """Those whose upright boxes are nearer than `reach`, mm, and their numbers."""
        if self._boxes is None:
            return
        gaps_to = self._boxes.gaps_from(box)
        for n in np.flatnonzero(gaps_to < reach):
            yield int(n), self.solids[int(n)]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Moving:
    """A solid on its way: it and the room it passes through, in pieces."""

    solid: Solid
    way: Way
    ready: tuple[Prepared, ...]


def _moving(solid: Solid, way: Way) -> _Moving:
    pieces = swept(solid.body.shape, solid.body.pose, way)
    return _Moving(solid=solid, way=way, ready=tuple(prepare(s, p) for s, p in pieces))


def _half(known: Things, half: Half) -> list[Solid]:
    """What stays with a half of the box, inside."""
    return [s for s in known.inside if s.body.half is half]


def _way_out(known: Things, half: Half) -> Way:
    """The straight way out of a half: over the rim, or below all that the lid holds."""
    boxes = [s.ready.box for s in _half(known, half)]
    if half is Half.BODY:
        return Way(up=True, to=max([known.tray.rim, *(high[2] for _, high in boxes)]))
    return Way(up=False, to=min([known.tray.rim, *(low[2] for low, _ in boxes)]))


def _in_the_way(other: Solid, of: Solid, way: Way) -> bool:
    """Whether a thing reaches past the near end of a solid on its way out."""
    low, high = of.ready.box[0][2], of.ready.box[1][2]
    return other.ready.box[1][2] > low if way.up else other.ready.box[0][2] < high


def _closest(pieces: Iterable[Prepared], other: Prepared, reach: float) -> Gap | None:
    """The least gap of several solids to one other, or None where all are further off."""
    near = [p for p in pieces if box_gap(p.box, other.box) <= reach]
    return min((gap_between(p, other) for p in near), key=_mm, default=None)


def _mm(gap: Gap) -> float:
    return gap.mm


def _round(moved: _Moving) -> Bounds:
    """The upright box round all pieces of a solid on its way."""
    boxes = [p.box for p in moved.ready]
    low = [min(b[0][i] for b in boxes) for i in range(3)]
    high = [max(b[1][i] for b in boxes) for i in range(3)]
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


class _Probe:
    """Measures rectangles of board in a scene from which the board itself was taken out."""

    def __init__(self, scene: Scene, grid: Grid) -> None:
        self._grid = grid
        placed = next(b for b in scene.boards if b.name == grid.name)
        self._half = placed.half
        # Where a standing board's joint sits changes with its width: its leads are everywhere.
        self._clear = () if grid.standing else placed.clear_under
        self._whole = scene
        mine = {(grid.name, "slab"), (grid.name, "leads")}
        rest = replace(scene, bodies=tuple(b for b in scene.bodies if b.id not in mine))
        self._look = Inspection(rest)
        self._known: Things = things(self._look)
        self._slab, self._leads = self._templates(scene, grid)
        self._room = cavity(scene.build.box)
        known = self._known
        others = [s for s in known.inside if s.body.owner != grid.name]
        self._others = _Near(others)
        self._most = max(room.mm for room in gaps().values())
        self._most = max(self._most, *(known.need(r, 0.0) for r in ("bodies", "lid", "going-in")))
        self._ways = tuple(self._own_ways(known))
        over = _half(known, Half.LID) if self._half is Half.BODY else ()
        down = _way_out(known, Half.BODY)
        self._lid = tuple(_moving(s, down) for s in over if s.body.owner != grid.name)
        self._lid_near = _Near([m.solid for m in self._lid], self._lid)

    def _templates(self, scene: Scene, grid: Grid) -> tuple[Solid, Solid]:
        """A slab and leads to be given other shapes."""
        known = things(Inspection(scene))
        slab = next(s for s in known.solids if s.body.id == (grid.name, "slab"))
        used = scene.build.part(grid.name)
        body = replace(slab.body, name="leads", stuff=Stuff.METAL)
        leads = replace(slab, body=body, kind=kind_of(used, body), words=words_of(used, body))
        return slab, leads

    def _own_ways(self, known: Things) -> Iterator[_Passed]:
        """How the board itself moves: into its half, and with the lid onto the body."""
        tray = known.tray
        moulded = [s for s in _half(known, self._half) if s.moulded]
        narrow = any(tray.wall(face).draft < 0 for face in UPRIGHT)
        if self._half is Half.BODY:
            up = _way_out(known, Half.BODY)
            yield _Passed(up, _Near(moulded), Half.BODY if narrow else None)
            if tray.lid.draft < 0:
                yield _Passed(up, _Near([]), Half.LID)
            return
        out = _way_out(known, Half.LID)
        yield _Passed(out, _Near(moulded), Half.LID if tray.lid.draft < 0 else None)
        below = _half(known, Half.BODY)
        up = _way_out(known, Half.BODY)
        yield _Passed(up, _Near(below), Half.BODY if narrow else None)

    def faults(self, cells: Cells) -> Iterator[Fault]:
        """What is wrong with board on all these cells, lazily."""
        s = self._grid.step
        rect = Rect(cells[0] * s, cells[1] * s, cells[2] * s, cells[3] * s)
        under = -float(self._grid.board.thickness)
        slab = self._shaped(self._slab, rect, under, 0.0)
        solids = [(slab, True)]
        deep = float(self._grid.board.underside)
        if deep > 0:
            solids += [
                (self._shaped(self._leads, piece, under - deep, under), not self._grid.standing)
                for piece in minus(rect, self._clear)
            ]
        for solid, sure in solids:
            yield from self._at_walls(solid, sure)
            yield from self._at_bodies(solid, sure)
        for solid, _ in solids:
            yield from self._on_the_way(solid)

    def _shaped(self, like: Solid, rect: Rect, low: float, high: float) -> Solid:
        middle = ((rect.x0 + rect.x1) / 2, (rect.y0 + rect.y1) / 2, (low + high) / 2)
        shape = Block(rect.x1 - rect.x0, rect.y1 - rect.y0, high - low)
        body: Body = replace(like.body, shape=shape, pose=self._grid.pose.shifted(middle))
        return replace(like, body=body, ready=prepare(body.shape, body.pose))

    def _at_walls(self, solid: Solid, sure: bool) -> Iterator[Fault]:
        """Rules `walls` and `lid`: every inner surface."""
        body = solid.body
        for room in margins(self._room, body.shape, body.pose):
            usual = need_to_wall(solid, room.face)
            rule = "lid" if _is_lids(body.half, room) else "walls"
            need = self._known.need(rule, usual)
            if room.mm < need + ROUNDING:
                hard = sure and room.mm < need - ROUNDING
                yield Fault(other=wall_words(room.face), have=room.mm, need=need, sure=hard)

    def _at_bodies(self, solid: Solid, sure: bool) -> Iterator[Fault]:
        """Rules `bodies` and `lid`: everything inside the walls."""
        known = self._known
        for _, other in self._others.to(solid.ready.box, self._most + ROUNDING):
            if known.touch(solid.body, other.body):
                continue
            if known.behind_a_board(solid.body, other.body):
                continue
            of_lid = other.moulded and other.body.half is Half.LID and solid.body.half is Half.BODY
            need = known.need("lid" if of_lid else "bodies", need_between(solid, other))
            have = gap_between(solid.ready, other.ready).mm
            if have < need + ROUNDING:
                hard = sure and have < need - ROUNDING
                yield Fault(other=other.words, have=have, need=need, sure=hard)

    def _on_the_way(self, solid: Solid) -> Iterator[Fault]:
        """Rule `going-in`, straight ways only."""
        for passed in self._ways:
            moved = _moving(solid, passed.way)
            for _, other in passed.others.to(_round(moved), self._most + ROUNDING):
                if _in_the_way(other, solid, passed.way):
                    yield from self._passes(moved, solid, other)
            if passed.walls is not None:
                yield from self._narrowing(solid, passed.way, passed.walls)
        for n, other in self._lid_near.to(solid.ready.box, self._most + ROUNDING):
            if _in_the_way(solid, other, self._lid[n].way):
                yield from self._passes(self._lid[n], other, solid)

    def _passes(self, moved: _Moving, solid: Solid, other: Solid) -> Iterator[Fault]:
        known = self._known
        if solid.body.owner == other.body.owner or known.touch(solid.body, other.body):
            return
        found = _closest(moved.ready, other.ready, self._most + 1.0)
        if found is None:
            return
        need = known.need("going-in", need_between(solid, other))
        if found.mm >= need + ROUNDING:
            return
        if found.mm < gap_between(solid.ready, other.ready).mm - _WORSE:
            words = other.words if solid.body.owner == self._grid.name else solid.words
            yield Fault(other=f"{words} on the way in", have=found.mm, need=need, sure=False)

    def _narrowing(self, solid: Solid, way: Way, half: Half) -> Iterator[Fault]:
        """Upright walls that stand nearer together on the way out than at the seat."""
        room, body = self._room, solid.body
        seats = _upright(margins(room, body.shape, body.pose), half)
        for shape, pose in swept(body.shape, body.pose, way):
            for face, mm in _upright(margins(room, shape, pose), half).items():
                need = self._known.need("going-in", need_to_wall(solid, face))
                if mm < need + ROUNDING and mm < seats.get(face, mm) - _WORSE:
                    other = f"{wall_words(face)} on the way in"
                    yield Fault(other=other, have=mm, need=need, sure=False)


def _is_lids(half: Half, room: WallMargin) -> bool:
    """Whether a surface is the business of the rule `lid` (see there)."""
    if half is Half.BODY:
        return room.half is Half.LID
    return room.face is FaceName.FLOOR


def _upright(rooms: Iterable[WallMargin], half: Half) -> dict[FaceName, float]:
    """The least margin to each upright wall of a half, mm."""
    least: dict[FaceName, float] = {}
    for room in rooms:
        if room.half is half and room.face in UPRIGHT:
            least[room.face] = min(least.get(room.face, room.mm), room.mm)
    return least
