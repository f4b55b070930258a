"""What is seen of a build from each side, worked out once for pictures of any size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from fit.draw.drawing import Box, Circle, Path, item_box, join, polygon
from fit.draw.faces import wanted_on
from fit.draw.ghosts import Ghost, ghosts, silhouette, standing_out
from fit.draw.places_dims import THIN
from fit.draw.trace import board_loops
from fit.geometry.box import Face
from fit.geometry.fixtures import LIP
from fit.geometry.frames import Pose
from fit.geometry.scene import Body, Placed, PlacedBoard, Scene
from fit.geometry.shapes import Block
from fit.geometry.support import Bounds, bounds
from fit.model.words import UPRIGHT, FaceName, Seat, Stuff

SLAB: Final = "slab"
LEADS: Final = "leads"
"""Names of the bodies of a board: itself, and the room that cut leads take under it."""

_SAME: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """A solid thing as it is seen along the box's height.

    Attributes:
        body: it, or the first of the pieces it is made of.
        outlines: its outer outline in (X, Y), mm; several for a board in several parts.
        holes: cut-outs of a board.
        room: the upright box round it.
        whole: whether it fills the rectangle it is seen in, so that it hides what is under it.
    """

    body: Body
    outlines: tuple[Circle | Path, ...]
    room: Bounds
    whole: bool
    holes: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """A build as it is seen.

    Attributes:
        scene: the build worked out.
        before: what stands outside each face.
        behind: what lies near behind it, its own parts included.
        above: what is seen along the box's height.
    """

    scene: Scene
    before: dict[FaceName, tuple[Ghost, ...]]
    behind: dict[FaceName, tuple[Ghost, ...]]
    above: tuple[Shade, ...]


def look(scene: Scene) -> Looked:
    """Look at a build from all sides."""
    shown = faces_shown(scene)
    boards = {board.name: board for board in scene.boards}
    # Without openings no body counts as drawn already. The lip and the leads under a board would
    # only draw the rim and the board once more.
    kept = tuple(
        b for b in scene.bodies if b.name != LIP and not (b.owner in boards and b.name == LEADS)
    )
    bare = replace(scene, openings=(), bodies=kept)

    def behind(face: Face) -> tuple[Ghost, ...]:
        return tuple(_true_board(g, boards, face) for g in ghosts(bare, face))

    return Looked(
        scene=scene,
        before={n: standing_out(scene, scene.faces[n]) for n in shown},
        behind={n: behind(scene.faces[n]) for n in shown},
        above=tuple(_shades(kept, boards)),
    )


def faces_shown(scene: Scene) -> tuple[FaceName, ...]:
    """Faces with openings, with something outside, or with a part at a place of its own there."""
    order = (*UPRIGHT, FaceName.LID, FaceName.FLOOR)
    outside = {body.seat for body in scene.bodies if body.outside}
    return tuple(
        n for n in order if n in outside or wanted_on(scene, n) or any(placed_on(scene, n))
    )


def placed_on(scene: Scene, face: FaceName) -> Iterator[tuple[str, Placed]]:
    """Parts with a place of their own on a face; a board on its posts has none."""
    for name, placed in scene.placed.items():
        if placed.face is face and placed.used.on is not Seat.POSTS:
            yield name, placed


def _true_board(ghost: Ghost, boards: dict[str, PlacedBoard], face: Face) -> Ghost:
    """A notched board behind a face that it lies along: its outline in place of its hull."""
    board = boards.get(ghost.owner)
    if board is None or ghost.name != SLAB or not board.board.notches:
        return ghost
    outer, _ = _loops(board, face.frame)
    if len(outer) != 1:
        return ghost
    return replace(ghost, outline=outer[0], box=item_box(outer[0]))


def _loops(placed: PlacedBoard, frame: Pose) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """A board's outlines and its cut-outs along a frame's z; none of either when seen otherwise."""
    n, z = placed.pose.z, frame.z
    if abs(n[0] * z[0] + n[1] * z[1] + n[2] * z[2]) < 1 - _SAME:
        return (), ()
    outer: list[Path] = []
    inner: list[Path] = []
    for loop in board_loops(placed.board):
        twice = sum(
            a[0] * b[1] - b[0] * a[1] for a, b in zip(loop, (*loop[1:], loop[0]), strict=True)
        )
        points = (frame.inside(placed.pose.point((x, y, 0.0))) for x, y in loop)
        path = polygon(tuple((x, y) for x, y, _ in points), THIN)
        (outer if twice > 0 else inner).append(path)
    return tuple(outer), tuple(inner)


def _shades(bodies: tuple[Body, ...], boards: dict[str, PlacedBoard]) -> Iterator[Shade]:
    """Every body from above; the pieces of one board as one thing."""
    slabs: dict[str, list[Body]] = {}
    for body in bodies:
        if body.owner in boards and body.name == SLAB:
            slabs.setdefault(body.owner, []).append(body)
        else:
            yield Shade(
                body=body,
                outlines=(silhouette(body, Pose()),),
                room=bounds(body.shape, body.pose),
                whole=_level_block(body) and body.stuff is not Stuff.SOFT,
            )
    for name, pieces in slabs.items():
        yield _board_shade(boards[name], pieces)


def _board_shade(placed: PlacedBoard, pieces: list[Body]) -> Shade:
    rooms = [bounds(body.shape, body.pose) for body in pieces]
    low, high = (
        tuple(pick(room[end][axis] for room in rooms) for axis in range(3))
        for end, pick in ((0, min), (1, max))
    )
    outer, holes = _loops(placed, Pose())
    outlines: tuple[Circle | Path, ...] = outer
    if not outer and len(pieces) == 1:
        outlines = (silhouette(pieces[0], Pose()),)
    elif not outer:
        # It stands: seen edge-on, its pieces are one line.
        box = join([item_box(silhouette(body, Pose())) for body in pieces])
        outlines = (_rectangle(box),)
    return Shade(
        body=pieces[0],
        outlines=outlines,
        room=((low[0], low[1], low[2]), (high[0], high[1], high[2])),
        whole=len(pieces) == 1 and _level_block(pieces[0]),
        holes=holes,
    )


def _rectangle(box: Box) -> Path:
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    return polygon(corners, THIN)


def _level_block(body: Body) -> bool:
    """Whether a body is a block that stands straight in the box."""
    if not isinstance(body.shape, Block):
        return False
    axes = (body.pose.x, body.pose.y, body.pose.z)
    return all(max(abs(v) for v in axis) > 1 - _SAME for axis in axes)
