"""The plan of a layout: walls, posts, boards and bodies by their outlines, looking into the box.

What is nearer to the viewer hides what lies behind it. What belongs to the other half of the box
is laid over it in dashes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from fit.draw.drawing import (
    Box,
    Circle,
    Item,
    Operation,
    Path,
    Pen,
    Sketch,
    item_box,
    join,
    rounded,
)
from fit.draw.places_dims import Beside
from fit.draw.places_look import SLAB, Looked, Shade
from fit.draw.places_sight import Sight, painted
from fit.draw.places_views import BEHIND, EDGE, OUTSIDE, Name, Picture, edge_word
from fit.draw.view import segments
from fit.geometry.box import Level, inside, outside
from fit.geometry.scene import BOX, Body, Scene
from fit.model.words import UPRIGHT, Half, Stuff

_BODY = Pen(width=0.18)
_BOARD = Pen(width=0.3)
_INNER = 0.8
_BEYOND = 2.0
_SAME: Final = 1e-6


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
    shades = [_on_paper(shade, sight) for shade in looked.above]
    shown = _seen(_near_last([s for s in shades if s.body.half is half], half))
    other = [s for s in shades if s.body.half is not half and not s.body.outside]
    sketch = Sketch("plan")
    for shade in shown:
        sketch.add(Operation.GUIDE, *_painted(shade, _pen(scene, shade.body)))
    dashed = [replace(i, pen=BEHIND) for s in other for i in (*s.outlines, *s.holes)]
    sketch.add(Operation.GUIDE, *dashed)
    sketch.add(Operation.EDGE, *walls)
    drawn = [item for s in shown for item in (*s.outlines, *s.holes)]
    taken = [item_box(item) for item in drawn]
    front = edge_word("FRONT", Beside.BELOW, whole, taken)
    if not small:
        sketch.add(Operation.NOTE, front)
    lines = [*walls, *drawn]
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


def _on_paper(shade: Shade, sight: Sight) -> Shade:
    outlines = (sight.item(item) for item in shade.outlines)
    holes = (sight.item(item) for item in shade.holes)
    return replace(
        shade,
        outlines=tuple(item for item in outlines if isinstance(item, Circle | Path)),
        holes=tuple(item for item in holes if isinstance(item, Path)),
    )


def _painted(shade: Shade, pen: Pen) -> Iterator[Item]:
    """A thing that hides what was drawn before; wires hide nothing."""
    for outline in shade.outlines:
        ground, line = painted(outline, pen)
        if shade.body.stuff is not Stuff.SOFT:
            yield ground
        yield line
    for hole in shade.holes:
        yield replace(hole, pen=pen)


def _note(half: Half, dashed: bool) -> str:
    if half is Half.BODY:
        return "looking into the body" + ("; dashes: on the lid" if dashed else "")
    return "seen through the lid" + ("; dashes: on the body" if dashed else "")


def _level(sight: Sight, level: Level) -> Path:
    box = sight.box(Box(level.x0, level.y0, level.x1, level.y1))
    return rounded(box, level.radius * sight.scale, EDGE)


def _near_last(shades: Iterable[Shade], half: Half) -> list[Shade]:
    """Things in the order they are painted: into the body one looks down, into the lid up."""
    if half is Half.BODY:
        return sorted(shades, key=lambda s: round(s.room[1][2], 6))
    return sorted(shades, key=lambda s: round(-s.room[0][2], 6))


def _seen(shades: list[Shade]) -> list[Shade]:
    """Things without those that a rectangle before them hides wholly."""
    seen = []
    for n, shade in enumerate(shades):
        (x0, y0, _), (x1, y1, _) = shade.room
        if not any(
            other.whole
            and other.room[0][0] <= x0 + _SAME
            and other.room[0][1] <= y0 + _SAME
            and other.room[1][0] >= x1 - _SAME
            and other.room[1][1] >= y1 - _SAME
            for other in shades[n + 1 :]
        ):
            seen.append(shade)
    return seen


def _pen(scene: Scene, body: Body) -> Pen:
    if body.outside:
        return OUTSIDE
    if body.stuff is Stuff.SOFT:
        return BEHIND
    boards = {board.name for board in scene.boards}
    return _BOARD if body.owner in boards and body.name == SLAB else _BODY


def _names(scene: Scene, shades: Iterable[Shade], found: frozenset[str]) -> Iterator[Name]:
    """The parts inside, each named at the largest thing that is seen of it.

    Those on upright faces have their names there, too.
    """
    largest: dict[str, tuple[float, Circle | Path]] = {}
    for shade in shades:
        owner = shade.body.owner
        if owner == BOX or shade.body.outside:
            continue
        for outline in shade.outlines:
            box = item_box(outline)
            size = box.width * box.height
            if owner not in largest or size > largest[owner][0] + _SAME:
                largest[owner] = (size, outline)
    for used in scene.build.parts:
        if used.name in largest:
            outline = largest[used.name][1]
            box = item_box(outline)
            yield Name(
                words=used.name,
                about=box,
                inside=(box.grown(-_INNER),),
                round=isinstance(outline, Circle),
                found=used.name in found,
                must=scene.placed[used.name].face not in UPRIGHT,
            )
