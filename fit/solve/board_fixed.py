"""What an outline of a board has to keep: cells for fixing points, zones, joints and displays."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

from fit.check import Inspection
from fit.check.holes import post_of
from fit.geometry.assemble import assemble
from fit.geometry.frames import dot
from fit.geometry.scene import Body, DrilledHole, PlacedBoard, Scene
from fit.geometry.support import extent
from fit.model.box import Post
from fit.model.part import Display
from fit.model.words import BoardEdge, BoardStock, Half, PostUse, Seat
from fit.solve.board_grid import Grid, build_with
from fit.solve.board_map import CellMap, State
from fit.solve.outline import Outline, Point, Rect
from fit.trade.clearances import allowance

_BACKED = 1.5
"""Least from a joint's hole to the board's edge, mm (see the rule `hole-edges`)."""

FOOT = "its foot"
"""Why a cell of a standing board's lowest row is kept: any other there would do as well."""

_MOST_SPARE_POSTS = 4
"""Of more board posts than these that the board does not meet now, all or none are tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What an outline has to keep.

    Attributes:
        cells: that must be board.
        why: for each of them, what for.
        window: nothing outside it may be board (an edge that a socket looks over stays).
        outside: points of the board's plane, mm from the present corner, that must not lie within
            the outline's bounding rectangle: posts it is not to meet.
        foot: whether the outline has to begin at row 0, on the board it stands on.
    """

    cells: frozenset[Point]
    why: dict[Point, str]
    window: Rect
    outside: tuple[tuple[float, float], ...] = ()
    foot: bool = False


def kept_of(scene: Scene, grid: Grid, found: CellMap) -> Kept:
    """What an outline of a board has to keep in a scene that has its holes and supports."""
    placed = next(b for b in scene.boards if b.name == grid.name)
    why: dict[Point, str] = {}
    for cell, what in (
        *_under_zones(grid),
        *_round_holes(scene, placed, grid),
        *_under_joints(scene, grid),
        *_behind_displays(scene, grid),
        *_at_noses(grid),
        *_foot(scene, grid, found),
    ):
        why.setdefault(cell, what)
    return Kept(
        cells=frozenset(why),
        why=why,
        window=_window(grid),
        outside=tuple(_spare(scene, placed, grid)),
        foot=grid.standing,
    )


def _under_zones(grid: Grid) -> Iterator[tuple[Point, str]]:
    for zone in grid.board.zones:
        x, y = float(zone.x), float(zone.y)
        for cell in grid.over(x, y, x + zone.width, y + zone.depth):
            if grid.covers(*cell):
                yield cell, zone.name


def _round_holes(scene: Scene, placed: PlacedBoard, grid: Grid) -> Iterator[tuple[Point, str]]:
    """Cells nearer to a hole than the board's edge may be (see the rule `hole-edges`)."""
    look, s = Inspection(scene), grid.step
    offset = _offset(placed, grid)
    for hole in placed.holes:
        if grid.standing and hole.purpose in ("block", "strip"):
            continue  # moves with the width
        x, y = hole.x + offset[0], hole.y + offset[1]
        room = hole.diameter / 2 + _edge(look, placed, hole)
        what = f"the hole for {hole.purpose}" if hole.purpose else "a screw hole"
        for column, row in grid.over(x - room, y - room, x + room, y + room):
            dx = max(column * s - x, x - (column + 1) * s, 0.0)
            dy = max(row * s - y, y - (row + 1) * s, 0.0)
            if math.hypot(dx, dy) < room - 1e-6:
                yield (column, row), what


def _edge(look: Inspection, placed: PlacedBoard, hole: DrilledHole) -> float:
    usual = allowance("hole-to-board-edge").mm
    if post_of(look, hole) is None and hole.purpose not in ("", "standoff"):
        usual = _BACKED
    need = look.need("hole-edges", usual)
    own = {(h.x, h.y) for h in placed.board.holes}
    if placed.board.stock is BoardStock.PLAIN and (hole.x, hole.y) in own:
        # It came so: no more is asked than there is.
        size = placed.board.size
        now = min(hole.x, hole.y, size[0] - hole.x, size[1] - hole.y) - hole.diameter / 2
        need = min(need, max(now, 0.0))
    return need


def _offset(placed: PlacedBoard, grid: Grid) -> tuple[float, float]:
    """From the corner cells are counted from to a board's corner, mm."""
    x, y, _ = grid.pose.inside(placed.pose.origin)
    return x, y


def _under_joints(scene: Scene, grid: Grid) -> Iterator[tuple[Point, str]]:
    riders = {name for name, _ in grid.riders}
    slab = (grid.name, "slab")
    touching = {i for pair in scene.touching if slab in pair for i in pair}
    for body in scene.bodies:
        if body.owner in riders and body.name != "slab" and body.id in touching:
            for cell in _covered(grid, body):
                yield cell, f"the joint of {body.owner}"


def _covered(grid: Grid, body: Body) -> list[Point]:
    """Cells that lie before or behind a body, seen square to the board."""
    x0, y0 = dot(grid.pose.origin, grid.pose.x), dot(grid.pose.origin, grid.pose.y)
    across = extent(body.shape, body.pose, grid.pose.x)
    up = extent(body.shape, body.pose, grid.pose.y)
    return grid.over(across[0] - x0, up[0] - y0, across[1] - x0, up[1] - y0)


def _behind_displays(scene: Scene, grid: Grid) -> Iterator[tuple[Point, str]]:
    for name in scene.build.part(grid.name).carries:
        if not isinstance(scene.build.part(name).part, Display):
            continue
        for body in scene.bodies:
            if body.owner == name and not body.outside:
                for cell in _covered(grid, body):
                    if grid.covers(*cell):
                        yield cell, f"the display {name}"


def _at_noses(grid: Grid) -> Iterator[tuple[Point, str]]:
    x0, y0, x1, y1 = grid.now
    for nose in grid.board.noses:
        half = float(nose.diameter or nose.width) / 2
        x, y, root = float(nose.x), float(nose.y), max(float(nose.root), 0.1)
        tall = float(nose.diameter or nose.height) / 2
        spans = {
            BoardEdge.LEFT: (0.0, y - half, root, y + half),
            BoardEdge.RIGHT: (x1 * grid.step - root, y - half, x1 * grid.step, y + half),
            BoardEdge.LOWER: (x - half, 0.0, x + half, root),
            BoardEdge.UPPER: (x - half, y1 * grid.step - root, x + half, y1 * grid.step),
        }
        span = spans.get(nose.edge, (x - half, y - tall, x + half, y + tall))
        for column, row in grid.over(*span):
            if x0 <= column < x1 and y0 <= row < y1:
                yield (column, row), nose.name


def _foot(scene: Scene, grid: Grid, found: CellMap) -> Iterator[tuple[Point, str]]:
    """The cell of a standing board's lowest row nearest to the middle of what it shows."""
    if not grid.standing:
        return
    columns = [cell[0] for cell, _ in _behind_displays(scene, grid)] or list(grid.now[::2])
    middle = (min(columns) + max(columns)) / 2
    free = [
        column
        for column in range(grid.reach[0], grid.reach[2])
        if found.state(column, 0) is not State.BLOCKED
    ]
    if free:
        yield (min(free, key=lambda c: (abs(c - middle), c)), 0), FOOT


def _window(grid: Grid) -> Rect:
    x0, y0, x1, y1 = grid.reach
    now = grid.now
    edges = {nose.edge for nose in grid.board.noses}
    return (
        now[0] if BoardEdge.LEFT in edges else x0,
        now[1] if BoardEdge.LOWER in edges else y0,
        now[2] if BoardEdge.RIGHT in edges else x1,
        now[3] if BoardEdge.UPPER in edges else y1,
    )


def _board_posts(scene: Scene, placed: PlacedBoard) -> list[Post]:
    """The board posts of the half a board on posts is in; none for any other board."""
    if scene.build.part(placed.name).on is not Seat.POSTS:
        return []
    half: Half = placed.half
    return [p for p in scene.build.box.posts if p.half is half and p.use is PostUse.BOARD]


def _spare(scene: Scene, placed: PlacedBoard, grid: Grid) -> Iterator[tuple[float, float]]:
    """Board posts that a board does not meet, from the corner cells are counted from, mm."""
    met = {hole.purpose for hole in placed.holes}
    for post in _board_posts(scene, placed):
        if f"post {post.name}" not in met:
            x, y, _ = grid.pose.inside((float(post.x), float(post.y), grid.pose.origin[2]))
            yield x, y


def scenes_of(scene: Scene, grid: Grid) -> Iterator[Scene]:
    """The scene, and what it is with a board that rests on more of the box's board posts too."""
    yield scene
    placed = next(b for b in scene.boards if b.name == grid.name)
    spare = list(_spare(scene, placed, grid))
    counts = range(1, len(spare) + 1) if len(spare) <= _MOST_SPARE_POSTS else (len(spare),)
    for count in counts:
        for chosen in itertools.combinations(spare, count):
            rect = _round(grid, chosen)
            within = [p for p in spare if _inside(p, rect, grid.step)]
            if len(within) != count:
                continue  # others lie between them: another choice has them all
            build = build_with(scene.build, grid, Outline(rect=rect))
            if build is not None:
                yield assemble(build)


def _round(grid: Grid, points: tuple[tuple[float, float], ...]) -> Rect:
    """The present board's rectangle with some posts and two cells round them."""
    x0, y0, x1, y1 = grid.now
    columns = [math.floor(x / grid.step) for x, _ in points]
    rows = [math.floor(y / grid.step) for _, y in points]
    return (
        min(x0, min(columns) - 2),
        min(y0, min(rows) - 2),
        max(x1, max(columns) + 3),
        max(y1, max(rows) + 3),
    )


def _inside(point: tuple[float, float], rect: Rect, step: float) -> bool:
    x, y = point
    return rect[0] * step < x < rect[2] * step and rect[1] * step < y < rect[3] * step


def broken(kept: Kept, outline: Outline, step: float) -> bool:
    """Whether an outline's rectangle takes in a post it must not, or leaves its foot."""
    if kept.foot and outline.rect[1] != 0:
        return True
    return any(_inside(p, outline.rect, step) for p in kept.outside)
