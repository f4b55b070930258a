"""The plan of a layout: walls, posts, boards and bodies by their outlines, looking into the box.

What is nearer to the viewer hides what lies behind it. What belongs to the other half of the box
is laid over it in dashes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from fit.draw.drawing import (
    Box,
    Circle,
    Operation,
    Path,
    Pen,
    Sketch,
    item_box,
    join,
    rounded,
)
from fit.draw.places_dims import Beside
from fit.draw.places_sight import Sight, painted
from fit.draw.places_views import BEHIND, EDGE, OUTSIDE, Looked, Name, Picture, edge_word
from fit.draw.view import segments
from fit.geometry.box import Level, inside, outside
from fit.geometry.fixtures import LIP
from fit.geometry.scene import BOX, Body, Scene
from fit.geometry.shapes import Block
from fit.geometry.support import Bounds, bounds
from fit.model.words import UPRIGHT, Half, Stuff

_BODY = Pen(width=0.18)
_BOARD = Pen(width=0.3)
_INNER = 0.8
_BEYOND = 2.0
_SAME: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Solid:
    """A body, its outline seen from above on paper, its room in the box frame."""

    body: Body
    outline: Circle | Path
    room: Bounds


def plan_picture(
    looked: Looked, scale: float, found: frozenset[str], *, small: bool = False
) -> Picture:
    """The box from above, its lid away or looked through, FRONT at the lower edge.

    Args:
        looked: the build.
        scale: paper mm for one mm.
        found: names of the parts whose places were found.
        small: only those parts are named.
    """
    sight = Sight(scale=scale)
    scene = looked.scene
    tray, half = scene.build.box, scene.build.carrier
    walls = [_level(sight, outside(tray, tray.rim)), _level(sight, inside(tray, tray.rim))]
    whole = item_box(walls[0])
    solids = _solids(looked, sight)
    shown = _seen(_near_last([s for s in solids if s.body.half is half], half))
    other = [s for s in solids if s.body.half is not half and not s.body.outside]
    sketch = Sketch("plan")
    for solid in shown:
        ground = painted(solid.outline, _pen(scene, solid.body))
        sketch.add(Operation.GUIDE, *(ground if _hides(solid.body) else ground[1:]))
    dashed = [replace(solid.outline, pen=BEHIND) for solid in other]
    sketch.add(Operation.GUIDE, *dashed)
    sketch.add(Operation.EDGE, *walls)
    taken = [item_box(solid.outline) for solid in shown]
    front = edge_word("FRONT", Beside.BELOW, whole, taken)
    if not small:
        sketch.add(Operation.NOTE, front)
    lines = [*walls, *(solid.outline for solid in shown)]
    words = [] if small else [item_box(front)]
    names = _names(scene, [*shown, *other], found)
    return Picture(
        name="INSIDE",
        note="" if small else _note(half, bool(dashed)),
        drawing=sketch.done(),
        outline=whole,
        room=join([whole.grown(_BEYOND), *words, *taken]),
        names=tuple(name for name in names if name.found or not small),
        hard=tuple(box.grown(0.3) for box in words),
        lines=tuple(s for item in lines for s in segments(item)),
        soft=tuple(s for item in dashed for s in segments(item)),
    )


def _solids(looked: Looked, sight: Sight) -> list[_Solid]:
    """Every body but the lip of the lid, which would only draw the rim once more."""
    found = []
    for body, flat in zip(looked.scene.bodies, looked.above, strict=True):
        outline = sight.item(flat)
        if body.name != LIP and isinstance(outline, Circle | Path):
            room = bounds(body.shape, body.pose)
            found.append(_Solid(body=body, outline=outline, room=room))
    return found


def _note(half: Half, dashed: bool) -> str:
    if half is Half.BODY:
        return "looking into the body" + ("; dashes: on the lid" if dashed else "")
    return "seen through the lid" + ("; dashes: on the body" if dashed else "")


def _level(sight: Sight, level: Level) -> Path:
    box = sight.box(Box(level.x0, level.y0, level.x1, level.y1))
    return rounded(box, level.radius * sight.scale, EDGE)


def _near_last(solids: Iterable[_Solid], half: Half) -> list[_Solid]:
    """Solids in the order they are painted: into the body one looks down, into the lid up."""
    if half is Half.BODY:
        return sorted(solids, key=lambda s: round(s.room[1][2], 6))
    return sorted(solids, key=lambda s: round(-s.room[0][2], 6))


def _seen(solids: list[_Solid]) -> list[_Solid]:
    """Solids without those that a straight block before them hides wholly."""
    seen = []
    for n, solid in enumerate(solids):
        (x0, y0, _), (x1, y1, _) = solid.room
        if not any(
            _level_block(other.body)
            and other.room[0][0] <= x0 + _SAME
            and other.room[0][1] <= y0 + _SAME
            and other.room[1][0] >= x1 - _SAME
            and other.room[1][1] >= y1 - _SAME
            for other in solids[n + 1 :]
        ):
            seen.append(solid)
    return seen


def _level_block(body: Body) -> bool:
    """Whether a body fills the whole rectangle it is seen in."""
    if not isinstance(body.shape, Block) or not _hides(body):
        return False
    axes = (body.pose.x, body.pose.y, body.pose.z)
    return all(max(abs(v) for v in axis) > 1 - _SAME for axis in axes)


def _hides(body: Body) -> bool:
    return body.stuff is not Stuff.SOFT


def _pen(scene: Scene, body: Body) -> Pen:
    if body.outside:
        return OUTSIDE
    if body.stuff is Stuff.SOFT:
        return BEHIND
    boards = {board.name for board in scene.boards}
    return _BOARD if body.owner in boards and body.name == "slab" else _BODY


def _names(scene: Scene, solids: Iterable[_Solid], found: frozenset[str]) -> Iterator[Name]:
    """The parts inside, each named at the largest thing that is seen of it.

    Those on upright faces have their names there, too.
    """
    largest: dict[str, tuple[float, _Solid]] = {}
    for solid in solids:
        owner, box = solid.body.owner, item_box(solid.outline)
        size = box.width * box.height
        if owner == BOX or solid.body.outside:
            continue
        if owner not in largest or size > largest[owner][0] + _SAME:
            largest[owner] = (size, solid)
    for used in scene.build.parts:
        if used.name in largest:
            outline = largest[used.name][1].outline
            box = item_box(outline)
            yield Name(
                words=used.name,
                about=box,
                inside=(box.grown(-_INNER),),
                round=isinstance(outline, Circle),
                found=used.name in found,
                must=scene.placed[used.name].face not in UPRIGHT,
            )
