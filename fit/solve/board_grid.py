"""The grid a board is cut on, and a build with another outline of one of its boards.

Cells are counted from the present board's lower left corner, so that everything on the board and
the holes for its posts keep their places: cell (0, 0) holds the present first hole, cells left of
it or below it have numbers below 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import ceiling, floor_top, inside, lid_inside
from fit.geometry.frames import Pose, dot
from fit.geometry.scene import PlacedBoard, Scene
from fit.model.box import Tray
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import Board, Notch
from fit.model.words import BoardEdge, BoardStock, LidKind
from fit.solve.outline import Outline, Rect
from fit.units import PITCH, Length

PLAIN_STEP = 1.0
"""Grid of boards without holes, mm."""

SAME = 0.002
"""A board that came out within this of its place, mm, is where it was meant to be."""

_ROUNDS = 4
"""How often places are written anew: the board's own first, then those standing on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """The grid of one board of a build.

    Attributes:
        name: the board.
        board: as it is now.
        step: side of a cell, mm: one pitch of perfboard.
        pose: the present board's frame, from whose corner cells are counted.
        reach: cells that may lie inside the box at all.
        standing: it stands on another board.
        riders: boards standing on it, and their frames, which are to stay.
    """

    name: str
    board: Board
    step: float
    pose: Pose
    reach: Rect
    standing: bool
    riders: tuple[tuple[str, Pose], ...] = ()

    @property
    def holes(self) -> bool:
        """Whether its cells are holes."""
        return self.board.stock is not BoardStock.PLAIN

    @property
    def now(self) -> Rect:
        """The cells of the present board's bounding rectangle; a piece of a cell counts."""
        w, h = self.board.size
        return 0, 0, math.ceil(w / self.step - 1e-6), math.ceil(h / self.step - 1e-6)

    @property
    def area_now(self) -> float:
        """What the present board covers, in cells."""
        whole = self.board.size[0] * self.board.size[1]
        gone = sum(n.width * n.depth for n in self.board.notches)
        return float(whole - gone) / self.step**2

    def covers(self, column: int, row: int) -> bool:
        """Whether the middle of a cell is on the present board."""
        x, y = (column + 0.5) * self.step, (row + 0.5) * self.step
        if not (0 < x < self.board.size[0] and 0 < y < self.board.size[1]):
            return False
        return not any(
            n.x < x < n.x + n.width and n.y < y < n.y + n.depth for n in self.board.notches
        )

    def over(self, x0: float, y0: float, x1: float, y1: float) -> list[tuple[int, int]]:
        """The cells that share more than an edge with a rectangle of the board, mm."""
        s, small = self.step, 1e-6
        columns = range(math.floor(x0 / s + small), math.ceil(x1 / s - small))
        rows = range(math.floor(y0 / s + small), math.ceil(y1 / s - small))
        return [(column, row) for row in rows for column in columns]


def grid_of(scene: Scene, name: str) -> Grid:
    """The grid of a board of a scene.

    Raises:
        KeyError: when the scene has no such board.
    """
    placed = {b.name: b for b in scene.boards}
    at = placed[name]
    step = PLAIN_STEP if at.board.stock is BoardStock.PLAIN else PITCH
    used = scene.build.part(name)
    riders = [u.name for u in scene.build.parts if u.joined_to == name and u.name in placed]
    return Grid(
        name=name,
        board=at.board,
        step=step,
        pose=at.pose,
        reach=_reach(scene.build.box, at, step, used.joined_to is not None),
        standing=used.joined_to is not None,
        riders=tuple((r, placed[r].pose) for r in riders),
    )


def _reach(tray: Tray, at: PlacedBoard, step: float, standing: bool) -> Rect:
    """Cells of the upright box round the cavity; a standing board begins at its foot."""
    levels = [inside(tray, z) for z in (floor_top(tray), tray.rim)]
    if tray.lid.kind is LidKind.DEEP:
        levels += [lid_inside(tray, z) for z in (tray.rim, ceiling(tray))]
    low = (min(v.x0 for v in levels), min(v.y0 for v in levels), floor_top(tray))
    high = (max(v.x1 for v in levels), max(v.y1 for v in levels), ceiling(tray))
    ends = []
    for way in (at.pose.x, at.pose.y):
        start = dot(at.pose.origin, way)
        pairs = [(a * w, b * w) for a, b, w in zip(low, high, way, strict=True)]
        ends.append((sum(map(min, pairs)) - start, sum(map(max, pairs)) - start))
    (x0, x1), (y0, y1) = ends
    rect = (
        math.floor(x0 / step),
        math.floor(y0 / step),
        math.ceil(x1 / step),
        math.ceil(y1 / step),
    )
    return (rect[0], 0, rect[2], rect[3]) if standing else rect


def board_with(grid: Grid, outline: Outline) -> Board:
    """The board with another outline; holes, zones and noses stay on their holes."""
    s, board = grid.step, grid.board
    x0, y0, x1, y1 = outline.rect
    dx, dy = -x0 * s, -y0 * s
    return replace(
        board,
        size=(_cells(grid, x1 - x0), _cells(grid, y1 - y0)),
        notches=tuple(
            Notch(
                x=_cells(grid, n.rect[0] - x0),
                y=_cells(grid, n.rect[1] - y0),
                width=_cells(grid, n.rect[2] - n.rect[0]),
                depth=_cells(grid, n.rect[3] - n.rect[1]),
            )
            for n in outline.notches
        ),
        holes=tuple(replace(h, x=_moved(h.x, dx), y=_moved(h.y, dy)) for h in board.holes),
        zones=tuple(replace(z, x=_moved(z.x, dx), y=_moved(z.y, dy)) for z in board.zones),
        noses=tuple(
            n
            if n.edge in (BoardEdge.TOP, BoardEdge.UNDERSIDE) and not (dx or dy)
            else replace(n, x=_moved(n.x, dx), y=_moved(n.y, dy))
            for n in board.noses
        ),
    )


def _cells(grid: Grid, count: int) -> Length:
    return Length(count * grid.step, words=f"{count} holes" if grid.holes else "")


def _moved(value: Length, by: float) -> Length:
    return Length(float(value) + by, value.plus_minus) if by else value


def frame_of(grid: Grid, outline: Outline) -> Pose:
    """The frame a board of that outline has to come out with."""
    x, y = outline.rect[0] * grid.step, outline.rect[1] * grid.step
    return grid.pose.shifted((x, y, 0.0))


def build_with(build: Build, grid: Grid, outline: Outline) -> Build | None:
    """The build with another outline of one board, all else where it was.

    The place written in the file is kept where it still means the same, else it is written as
    numbers rounded to a thousandth of a millimetre, as they go into a file.

    Returns:
        The build; None when the board cannot be brought to its place in it.
    """
    used = build.part(grid.name)
    board = board_with(grid, outline)
    target = {grid.name: frame_of(grid, outline), **dict(grid.riders)}
    other = _put(build, replace(used, part=board))
    for _ in range(_ROUNDS):
        try:
            scene = assemble(other)
        except UnusableInput:
            return None
        frames = {b.name: b.pose for b in scene.boards}
        if not all(name in frames for name in target):
            return None
        off = [name for name in target if not _same(frames[name], target[name])]
        if not off:
            return other
        other = _brought(other, scene, target, off)
    return None


def builds_with(build: Build, grid: Grid, outline: Outline) -> Iterator[Build]:
    """The builds with another outline: as `build_with`, and with a joint left where it is.

    A joint's blocks sit so far from the ends of the standing board. Where that grows (or shrinks)
    alike at both ends they can also stay where they are, with another inset.
    """
    as_is = build_with(build, grid, outline)
    if as_is is not None:
        yield as_is
    used = build.part(grid.name)
    more = -outline.rect[0]
    alike = more == outline.rect[2] - grid.now[2]
    whole = abs(grid.board.size[0] / grid.step - grid.now[2]) < 1e-6
    if used.joint is None or used.joint.count < 2 or not more or not (alike and whole):
        return
    inset = float(used.joint.inset) + more * grid.step
    if inset > 0:
        joint = replace(used.joint, inset=Length(round(inset, 3)))
        kept = build_with(_put(build, replace(used, joint=joint)), grid, outline)
        if kept is not None:
            yield kept


def _put(build: Build, used: Used) -> Build:
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))


def _same(a: Pose, b: Pose) -> bool:
    return all(abs(p - q) <= SAME for p, q in zip(a.origin, b.origin, strict=True))


def _brought(build: Build, scene: Scene, target: dict[str, Pose], off: list[str]) -> Build:
    """With places written as numbers for the boards that came out beside their places."""
    boards = {b.name: b for b in scene.boards}
    for name in off:
        used = build.part(name)
        if used.joined_to is None:
            build = _put(build, replace(used, at=_on_face(scene, boards[name], target[name])))
    for name in off:
        used = build.part(name)
        if used.joined_to is not None:
            main = boards[used.joined_to]
            under = target.get(main.name, main.pose)
            at = _along(boards[name].board, main.board, target[name], under)
            build = _put(build, replace(used, at=at))
    return build


def _on_face(scene: Scene, placed: PlacedBoard, target: Pose) -> Place:
    """The place of a board's middle; a coordinate that still means the same stays as written."""
    there = scene.placed[placed.name]
    assert there.face is not None
    size = placed.board.size
    centre = target.point((size[0] / 2, size[1] / 2, 0.0))
    across, up, _ = scene.faces[there.face].frame.inside(centre)
    at = scene.build.part(placed.name).at or Place()
    return Place(across=_kept(at.across, there.across, across), up=_kept(at.up, there.up, up))


def _kept(given: Coordinate | None, is_at: float, wanted: float) -> Coordinate:
    return given if given is not None and abs(is_at - wanted) <= SAME else _number(wanted)


def _along(board: Board, main: Board, target: Pose, under: Pose) -> Place:
    """Where a standing board is along its lying one, from middle to middle."""
    middle = dot(under.point((main.size[0] / 2, 0.0, 0.0)), target.x)
    return Place(across=_number(dot(target.origin, target.x) + board.size[0] / 2 - middle))


def _number(value: float) -> Coordinate:
    return Coordinate(how=How.AT, value=Length(round(value, 3) + 0.0))
