"""The smallest box room in which a board of a wanted area goes in.

The box keeps its walls, draft, lid and height. Its closing posts and ribs move with the walls they
stand at; its board posts stay where they are round the middle, since the board is drilled for
them; parts keep the places that are written for them.

A larger room is taken to be no worse than a smaller one along each axis (parts that are placed from
opposite edges may break that by chance, towards too large a room, never towards one that does
not pass: every room that is told was checked).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import floor_top, inside, lid_inside
from fit.geometry.scene import PlacedBoard
from fit.model.box import Post, Rib, Tray
from fit.model.build import Build
from fit.model.words import FaceName, Half, LidKind, PostUse
from fit.solve.board import Biggest, Sawn, Tell, laid_out, search
from fit.solve.board_grid import grid_of
from fit.solve.board_map import State
from fit.solve.board_search import seek
from fit.solve.first import place_open
from fit.solve.run import Watch
from fit.trade.clearances import Thing, needed_gap
from fit.units import Length

STEP = 0.5
"""Rooms are tried in steps of this, mm."""

_MOST = 400.0
"""Rooms are not looked for beyond this breadth and depth, mm."""

_LARGER = 1.05
"""Where the present room is too small, the next one tried is so much broader and deeper."""

_TRIES = 12
"""How many outlines are judged for each room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The smallest room found.

    Attributes:
        breadth, depth: inside along X and Y at the rim, mm.
        outside: length and width of the box outside at the rim, mm.
        found: the board in it.
        build: the build in a box of that size, with the board.
        proved: whether every smaller room was ruled out before time was up.
        tried: how many rooms were looked into.
    """

    breadth: float
    depth: float
    outside: tuple[float, float]
    found: Biggest
    build: Build
    proved: bool
    tried: int


def resized(tray: Tray, breadth: float, depth: float) -> Tray:
    """The box with another inside breadth and depth at the rim, mm.

    Closing posts, and ribs of every wall, keep their distance to the nearer wall; what stands on
    a middle line and the board posts stay there.
    """
    now = inside(tray, tray.rim)
    dx, dy = breadth - now.width, depth - now.depth
    return replace(
        tray,
        length=Length(tray.length + dx, tray.length.plus_minus),
        width=Length(tray.width + dy, tray.width.plus_minus),
        posts=tuple(_post(p, dx, dy) for p in tray.posts),
        ribs=tuple(_rib(r, dx, dy) for r in tray.ribs),
    )


def _away(value: Length, by: float) -> Length:
    """Moved with its wall: half the growth to either side of the middle."""
    side = (value > 1e-9) - (value < -1e-9)
    return Length(value + side * by / 2, value.plus_minus)


def _post(post: Post, dx: float, dy: float) -> Post:
    if post.use is PostUse.BOARD:
        return post
    return replace(post, x=_away(post.x, dx), y=_away(post.y, dy))


def _rib(rib: Rib, dx: float, dy: float) -> Rib:
    level = rib.on in (FaceName.FLOOR, FaceName.LID)
    across = dy if rib.on in (FaceName.LEFT, FaceName.RIGHT) else dx

    def moved(at: tuple[Length, Length]) -> tuple[Length, Length]:
        return _away(at[0], across), _away(at[1], dy) if level else at[1]

    return replace(rib, start=moved(rib.start), end=moved(rib.end))


def smallest_room(
    build: Build, name: str, cells: int, sawn: Sawn, watch: Watch, tell: Tell = lambda _: None
) -> Room | None:
    """The room of least area (breadth × depth) in which a board of so many cells goes in.

    Args:
        build: places may be open; they are found anew in every room.
        name: a lying board.
        cells: how many it has to have at least.
        sawn: what may be sawn.
        watch: clock and stop switch; the smallest so far is kept.
        tell: told what is going on.

    Returns:
        The room; None when none up to 400 × 400 mm takes it, or none was found in time.
    """
    hunt = _Hunt(build=build, name=name, cells=cells, sawn=sawn, watch=watch, tell=tell)
    start = hunt.first()
    if start is None:
        return None
    best = hunt.better(start)
    final = hunt.inside(*best)
    assert final is not None
    found = search(laid_out(final, name, sawn, tell), Watch(), above=cells - 1)
    assert found.build is not None
    box = found.build.box
    return Room(
        breadth=best[0],
        depth=best[1],
        outside=(float(box.length), float(box.width)),
        found=found,
        build=found.build,
        proved=watch.left > 0,
        tried=hunt.tried,
    )


@dataclass(slots=True, kw_only=True)
class _Hunt:
    """The hunt for the smallest room."""

    build: Build
    name: str
    cells: int
    sawn: Sawn
    watch: Watch
    tell: Tell
    tried: int = 0
    _no: list[tuple[float, float]] = field(default_factory=list)
    _lost: tuple[float, float] = (0.0, 0.0)
    _step: float = 1.0

    def __post_init__(self) -> None:
        """Work out what of breadth and depth at the rim is no room for the board."""
        tray = self.build.box
        scene = assemble(place_open(self.build).build)
        placed = next(b for b in scene.boards if b.name == self.name)
        rim, here = inside(tray, tray.rim), _narrowest(tray, placed)
        asked = [float(n.value) for n in self.build.needs if n.rule == "walls"]
        gap = asked[0] if asked else needed_gap(Thing.BOARD, Thing.WALL)
        self._step = grid_of(scene, self.name).step
        self._lost = (rim.width - here[0] + 2 * gap, rim.depth - here[1] + 2 * gap)

    def inside(self, breadth: float, depth: float) -> Build | None:
        """The build in a room of that size, every part placed; None when that cannot be."""
        try:
            other = replace(self.build, box=resized(self.build.box, breadth, depth))
            if not _posts_stand(other.box):
                return None
            other = place_open(other).build
            scene = assemble(other)
        except (UnusableInput, ValueError):
            return None
        return None if scene.open or self.name not in scene.placed else other

    def goes(self, breadth: float, depth: float) -> bool:
        """Whether a board of the wanted area goes into a room of that size."""
        if any(breadth <= b and depth <= d for b, d in self._no):
            return False
        self.tried += 1
        self.tell(f"room {breadth:g} × {depth:g} mm")
        found = self._goes(breadth, depth)
        if not found and self.watch.left > 0:
            self._no.append((breadth, depth))
        return found

    def _goes(self, breadth: float, depth: float) -> bool:
        if self.most(breadth, depth) < self.cells:
            return False
        build = self.inside(breadth, depth)
        if build is None:
            return False
        table = laid_out(build, self.name, self.sawn, lambda _: None)
        return any(
            seek(
                floor, table.judge, State.FREE, self.watch, above=self.cells - 1, tries=_TRIES
            ).outline
            is not None
            for floor in table.floors
        )

    def most(self, breadth: float, depth: float) -> int:
        """No rectangle of cells between the walls, with the gap kept, has more."""
        lost, step = self._lost, self._step
        columns = math.floor((breadth - lost[0]) / step + 1e-6)
        rows = math.floor((depth - lost[1]) / step + 1e-6)
        return max(columns, 0) * max(rows, 0)

    def first(self) -> tuple[float, float] | None:
        """A room of the present shape that takes it: the next larger or smaller ones, halved."""
        now = inside(self.build.box, self.build.box.rim)

        def room(n: int) -> tuple[float, float]:
            share = n * STEP / now.width
            return _up(n * STEP), min(_up(max(now.depth * share, STEP)), _MOST)

        low, high = 1, math.ceil(now.width / STEP - 1e-9)
        while not self.goes(*room(high)):
            low, high = high, math.ceil(high * _LARGER)
            if high * STEP > _MOST or self.watch.left <= 0:
                return None
        while high - low > 1 and self.watch.left > 0:
            middle = (low + high) // 2
            low, high = (low, middle) if self.goes(*room(middle)) else (middle, high)
        return room(high)

    def better(self, best: tuple[float, float]) -> tuple[float, float]:
        """Every breadth once: is there a depth that makes less area? Then the least such depth."""
        for breadth in self._breadths(best):
            if self.watch.left <= 0:
                break
            depth = _down_below(best[0] * best[1] / breadth)
            if self.most(breadth, depth) < self.cells or not self.goes(breadth, depth):
                continue
            low = depth
            while low > STEP and self.most(breadth, low - STEP) >= self.cells:
                low -= STEP
            while low < depth and self.watch.left > 0:
                middle = _up((low + depth) / 2 - STEP / 2)
                if self.goes(breadth, middle):
                    depth = middle
                else:
                    low = middle + STEP
            best = (breadth, depth)
        return best

    def _breadths(self, best: tuple[float, float]) -> Iterator[float]:
        """All breadths, those nearest to the present shape first."""
        count = math.floor(_MOST / STEP)
        middle = round(best[0] / STEP)
        for n in sorted(range(1, count + 1), key=lambda n: (abs(n - middle), n)):
            yield n * STEP


def _up(value: float) -> float:
    return math.ceil(value / STEP - 1e-9) * STEP


def _down_below(value: float) -> float:
    """The greatest step below a value."""
    return min((math.ceil(value / STEP - 1e-9) - 1) * STEP, _MOST)


def _posts_stand(tray: Tray) -> bool:
    """Whether every board post still stands on the floor, or hangs from the lid, of its box."""
    low, deep = inside(tray, floor_top(tray)), tray.lid.kind is LidKind.DEEP
    high = lid_inside(tray, tray.height - tray.lid.thickness) if deep else inside(tray, tray.rim)
    for post in tray.posts:
        level, r = (low if post.half is Half.BODY else high), post.foot / 2
        if not (level.x0 + r <= post.x <= level.x1 - r):
            return False
        if not (level.y0 + r <= post.y <= level.y1 - r):
            return False
    return True


def _narrowest(tray: Tray, placed: PlacedBoard) -> tuple[float, float]:
    """The least inside width and depth over the height of a lying board's slab, mm."""
    top = placed.pose.origin[2]
    ends = (top, top - placed.pose.z[2] * placed.board.thickness)
    deep = tray.lid.kind is LidKind.DEEP
    found = [lid_inside(tray, z) if deep and z > tray.rim else inside(tray, z) for z in ends]
    return min(v.width for v in found), min(v.depth for v in found)
