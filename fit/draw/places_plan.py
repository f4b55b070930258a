"""The plan of a layout: walls, posts, boards and bodies by their outlines, looking into the box.

What is nearer to the viewer hides what lies behind it. What belongs to the other half of the box
is laid over it in dashes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Box,
    Circle,
    Item,
    Operation,
    Path,
    Pen,
    Sketch,
    Text,
    item_box,
    join,
    rounded,
)
from fit.draw.ghosts import silhouette
from fit.draw.places_sight import Sight, painted
from fit.draw.places_views import BEHIND, EDGE, OUTSIDE, Name, Picture
from fit.draw.view import segments
from fit.geometry.box import Level, inside, outside
from fit.geometry.fixtures import LIP
from fit.geometry.frames import Pose
from fit.geometry.scene import BOX, Body, Scene
from fit.geometry.shapes import Block
from fit.geometry.support import bounds
from fit.model.words import Half, Stuff

_BODY = Pen(width=0.18)
_BOARD = Pen(width=0.3)
_INNER = 0.8
_BEYOND = 2.0
_WORDS = 1.3
_SAME: Final = 1e-6
_FRAME: Final = Pose()


def plan_picture(scene: Scene, scale: float, found: frozenset[str]) -> Picture:
    """The box from above, its lid away or looked through, FRONT at the lower edge.

    Args:
        scene: the build worked out.
        scale: paper mm for one mm.
        found: names of the parts whose places were found.
    """
    sight = Sight(scale=scale)
    tray = scene.build.box
    half = scene.build.carrier
    walls = [_level(sight, outside(tray, tray.rim)), _level(sight, inside(tray, tray.rim))]
    whole = item_box(walls[0])
    sketch = Sketch("plan")
    shown = _seen(_near_last([b for b in scene.bodies if _near(b, half)], half), half)
    other = [b for b in scene.bodies if not _near(b, half) and b.name != LIP]
    drawn: list[Item] = []
    for body in shown:
        drawn.append(sight.item(silhouette(body, _FRAME)))
        ground = painted(_closed(drawn[-1]), _pen(scene, body))
        sketch.add(Operation.GUIDE, *(ground if _hides(body) else ground[1:]))
    dashed = [sight.item(silhouette(b, _FRAME), BEHIND) for b in other if not b.outside]
    sketch.add(Operation.GUIDE, *dashed)
    sketch.add(Operation.EDGE, *walls)
    front = Text((whole.x0 + 2.0, whole.y0 - _WORDS), "FRONT", pens.SMALL, Anchor.UPPER_LEFT, 0.0, True)
    sketch.add(Operation.NOTE, front)
    lines = [*walls, *drawn]
    return Picture(
        name="INSIDE",
        note=_note(half, bool(dashed)),
        drawing=sketch.done(),
        outline=whole,
        room=join([whole.grown(_BEYOND), item_box(front), *(item_box(i) for i in lines)]),
        names=tuple(_names(scene, [*shown, *other], sight, found)),
        hard=(front.box().grown(0.3),),
        lines=tuple(s for item in lines for s in segments(item)),
        soft=tuple(s for item in dashed for s in segments(item)),
        crowded=True,
    )


def _note(half: Half, dashed: bool) -> str:
    if half is Half.BODY:
        return "looking into the body" + ("; dashes: on the lid" if dashed else "")
    return "seen through the lid" + ("; dashes: on the body" if dashed else "")


def _level(sight: Sight, level: Level) -> Path:
    box = sight.box(Box(level.x0, level.y0, level.x1, level.y1))
    return rounded(box, level.radius * sight.scale, EDGE)


def _near(body: Body, half: Half) -> bool:
    """Whether a body belongs to the half that is looked into."""
    return body.half is half and body.name != LIP


def _near_last(bodies: Iterable[Body], half: Half) -> list[Body]:
    """Bodies in the order they are painted: into the body one looks down, into the lid up."""
    sign = 1.0 if half is Half.BODY else -1.0
    low_high = 1 if half is Half.BODY else 0
    return sorted(bodies, key=lambda b: round(sign * bounds(b.shape, b.pose)[low_high][2], 6))


def _seen(bodies: list[Body], half: Half) -> list[Body]:
    """Bodies without those that a straight block before them hides wholly."""
    seen = []
    rooms = [bounds(b.shape, b.pose) for b in bodies]
    for n, body in enumerate(bodies):
        (x0, y0, _), (x1, y1, _) = rooms[n]
        if not any(
            _level_block(other)
            and low[0] <= x0 + _SAME
            and low[1] <= y0 + _SAME
            and high[0] >= x1 - _SAME
            and high[1] >= y1 - _SAME
            for other, (low, high) in zip(bodies[n + 1 :], rooms[n + 1 :], strict=True)
        ):
            seen.append(body)
    return seen


def _level_block(body: Body) -> bool:
    """Whether a body fills the whole rectangle it is seen in."""
    if not isinstance(body.shape, Block) or not _hides(body):
        return False
    axes = (body.pose.x, body.pose.y, body.pose.z)
    return all(max(abs(v) for v in axis) > 1 - _SAME for axis in axes)


def _hides(body: Body) -> bool:
    return body.stuff is not Stuff.SOFT


def _closed(item: Item) -> Circle | Path:
    if not isinstance(item, Circle | Path):
        raise TypeError("a body is seen as a circle or a polygon")
    return item


def _pen(scene: Scene, body: Body) -> Pen:
    if body.outside:
        return OUTSIDE
    if body.stuff is Stuff.SOFT:
        return BEHIND
    boards = {board.name for board in scene.boards}
    return _BOARD if body.owner in boards and body.name == "slab" else _BODY


def _names(
    scene: Scene, bodies: Iterable[Body], sight: Sight, found: frozenset[str]
) -> Iterator[Name]:
    """The parts inside, each named at the largest thing that is seen of it."""
    largest: dict[str, tuple[float, Box, bool]] = {}
    for body in bodies:
        if body.owner == BOX or body.outside:
            continue
        item = sight.item(silhouette(body, _FRAME))
        box = item_box(item)
        size = box.width * box.height
        if body.owner not in largest or size > largest[body.owner][0] + _SAME:
            largest[body.owner] = (size, box, isinstance(item, Circle))
    for used in scene.build.parts:
        if used.name in largest:
            _, box, is_round = largest[used.name]
            inner = box.grown(-_INNER)
            yield Name(
                words=used.name,
                about=box,
                inside=inner,
                round=is_round,
                found=used.name in found,
            )
