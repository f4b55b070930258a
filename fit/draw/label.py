"""The front label: a second print of the layout to stick on, with legends and scales.

The rims of the holes are its register: it is laid over the finished box so that they meet. Letters
are as high as the distance they are read from asks for, and stand clear of knobs and bezels.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.cuts import as_items, reach
from fit.draw.drawing import (
    Anchor,
    Box,
    Item,
    Line,
    Operation,
    Pen,
    Point,
    Sketch,
    Text,
    around,
    join,
    polygon,
    rounded,
)
from fit.draw.faces import faces_to_draw, openings_on
from fit.draw.ghosts import standing_out
from fit.draw.marks import edge_name, up_arrow
from fit.draw.pages import Cell, Unit
from fit.draw.view import Mark, View, segments
from fit.geometry.box import Face
from fit.geometry.frames import Vec, dot, scale
from fit.geometry.outlines import outline
from fit.geometry.scene import Scene
from fit.model.build import Scale, Used
from fit.model.part import BushingPart
from fit.model.words import UPRIGHT
from fit.trade.optics import legend_height
from fit.units import show

BEYOND: Final = 2.0
"""Legends keep off knobs and bezels by this, mm: a finger at the knob must not hide them
(common practice, no source)."""

LEAST_MINUTES: Final = 16.0
"""Least height of lettering, minutes of arc (NUREG-0700); for the numbers of scales."""

_FURTHER = (0.0, 1.0, 2.5, 4.0, 6.0, 9.0, 13.0, 18.0)
"""How much further off a legend is tried, mm."""
_TICK_GAP = 1.0
_TICK = 2.2
_SHORT_TICK = 1.4
_AIR = 0.5
_RIM = Pen(width=0.18)
_INK = Pen(width=0.35)
_EVERY = (1, 2, 5, 10, 20, 50, 100)
"""Each so many ticks are numbered and longer."""
_MOST_NUMBERS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """What a label prints beside its rims, and what found no room.

    Attributes:
        items: letters and ticks, face frame, mm.
        lost: legends without room.
        covered: what each part with something printed hides from view, by its name.
    """

    items: tuple[Item, ...]
    lost: tuple[str, ...]
    covered: dict[str, Box]


def label_units(scene: Scene) -> tuple[Unit, ...]:
    """One label for each face with openings."""
    units = []
    for face in faces_to_draw(scene):
        view = label_view(scene, face)
        units.append(
            Unit(
                name=f"label {face.name.value.upper()}",
                title=view.title,
                general=view.general,
                facts=view.facts,
                cells=(Cell(view=view, window=view.box),),
            )
        )
    return tuple(units)


def label_view(scene: Scene, face: Face) -> View:
    """The label of a face: its flat part, the rims of its openings, legends and scales."""
    box = around(list(face.flat))
    edge = rounded(box, face.flat_radius, pens.EDGE) if face.flat_radius > 0 else None
    trim = edge or polygon(face.flat, pens.EDGE)
    printed = legends(scene, face)
    sketch = Sketch(f"label {face.name.value}")
    sketch.add(Operation.EDGE, trim)
    for opening in openings_on(scene, face.name):
        sketch.add(Operation.CUT, *as_items(outline(opening, face), _RIM))
    sketch.add(Operation.NOTE, *printed.items)
    height = legend_height(float(scene.build.read_from))
    lost = [f"No room for: {', '.join(printed.lost)}."] if printed.lost else []
    return View(
        drawing=sketch.done(),
        box=box,
        marks=_marks(scene, face, box),
        wanted=(),
        hard=(box,),
        lines=tuple(segments(trim)),
        soft=(),
        title=f"Label for {face.name.value.upper()}",
        facts=tuple(lost),
        general=(
            "Print it again after drilling, trim to the outline, lay the rims over the holes, "
            "stick it on, cut the rims out with a knife.",
            f"Letters {show(height, 1)} high, read from {show(scene.build.read_from)} "
            "(NUREG-0700: 20 minutes of arc).",
        ),
    )


def legends(scene: Scene, face: Face) -> Printed:
    """Legends and scales of the parts on a face, each clear of everything else.

    A legend is tried above its part as the box is used, then below, right and left of it, each
    time further off.
    """
    turn = reading_turn(scene, face)
    parts = [
        (used, scene.placed[used.name])
        for used in scene.build.parts
        if used.name in scene.placed and scene.placed[used.name].face is face.name
    ]
    covered = {used.name: box for used, _ in parts if (box := _covered(scene, face, used.name))}
    items: list[Item] = []
    for used, placed in parts:
        if used.scale is not None and used.name in covered:
            marks = tuple(_scale_items(scene, used, (placed.across, placed.up), turn))
            items += marks
            covered[used.name] = join([covered[used.name], *(_box(item) for item in marks)])
    taken = [*covered.values(), *(reach(o) for o in openings_on(scene, face.name))]
    lost = []
    for used, _ in parts:
        if not used.legend or used.name not in covered:
            continue
        text = _legend(scene, used.legend, covered[used.name], turn, taken, face)
        if text is None:
            lost.append(used.legend)
            continue
        items.append(text)
        taken.append(text.box())
    return Printed(items=tuple(items), lost=tuple(lost), covered=covered)


def reading_turn(scene: Scene, face: Face) -> float:
    """By how much letters on a face are turned to be read in use: 0, 90, 180 or 270 degrees.

    On a face that lies level in use they are read from the front, unturned.
    """
    if _level(scene, face):
        return 0.0
    x, y, _ = _up(scene, face)
    return round(math.degrees(math.atan2(-x, y)) / 90.0) * 90.0 % 360.0


def _up(scene: Scene, face: Face) -> Vec:
    """Up in use, in a face's frame."""
    up = scale(scene.faces[scene.build.stands_on].frame.z, -1.0)
    return (dot(up, face.frame.x), dot(up, face.frame.y), dot(up, face.frame.z))


def _level(scene: Scene, face: Face) -> bool:
    """Whether a face lies rather than stands in use."""
    x, y, z = _up(scene, face)
    return abs(z) > math.hypot(x, y)


def _covered(scene: Scene, face: Face, name: str) -> Box | None:
    """The room of what a part has outside a face and of its openings there; None for nothing."""
    boxes = [ghost.box for ghost in standing_out(scene, face) if ghost.owner == name]
    boxes += [reach(o) for o in openings_on(scene, face.name) if o.part == name]
    return join(boxes) if boxes else None


def _box(item: Item) -> Box:
    return item.box() if isinstance(item, Text) else around([p for s in segments(item) for p in s])


def _legend(
    scene: Scene, words: str, about: Box, turn: float, taken: list[Box], face: Face
) -> Text | None:
    height = legend_height(float(scene.build.read_from))
    for further in _FURTHER:
        for degrees in (90.0, 270.0, 0.0, 180.0):
            a = math.radians(degrees + turn)
            way = (math.cos(a), math.sin(a))
            text = _beside(words, height, about, turn, way, BEYOND + further)
            room = text.box()
            clear = not any(room.grown(_AIR).meets(box) for box in taken if box is not about)
            if clear and not room.meets(about) and _on_face(room, face):
                return text
    return None


def _beside(words: str, height: float, about: Box, turn: float, way: Point, gap: float) -> Text:
    """Words beside a box, the letters' own room ``gap`` mm away from it."""
    middle = about.middle
    loose = Text(middle, words, height, Anchor.MIDDLE, turn, True)
    room = loose.box()
    # Letters reach further above their middle than below: put the room's edge at the gap.
    dx = dy = 0.0
    if way[0] > 0.5:
        dx = about.x1 + gap - room.x0
    elif way[0] < -0.5:
        dx = about.x0 - gap - room.x1
    elif way[1] > 0.5:
        dy = about.y1 + gap - room.y0
    else:
        dy = about.y0 - gap - room.y1
    return Text((middle[0] + dx, middle[1] + dy), words, height, Anchor.MIDDLE, turn, True)


def _on_face(room: Box, face: Face) -> bool:
    """Whether a box lies on the flat part of a face, half a millimetre from its edge."""
    wide = room.grown(_AIR)
    corners = ((wide.x0, wide.y0), (wide.x1, wide.y0), (wide.x1, wide.y1), (wide.x0, wide.y1))
    flat = face.flat
    for n, (ax, ay) in enumerate(flat):
        bx, by = flat[(n + 1) % len(flat)]
        if any((bx - ax) * (y - ay) - (by - ay) * (x - ax) < 0 for x, y in corners):
            return False
    return True


def _scale_items(scene: Scene, used: Used, at: Point, turn: float) -> Iterator[Item]:
    """Ticks and numbers round a knob; the numbers stand upright in use."""
    marks = used.scale
    knob = _knob_radius(used)
    if marks is None or knob is None:
        return
    height = legend_height(float(scene.build.read_from), LEAST_MINUTES)
    begin = knob + _TICK_GAP
    spots = scale_spots(marks)
    every = next(n for n in _EVERY if (len(spots) - 1) / n <= _MOST_NUMBERS)
    for n, (number, clockwise) in enumerate(spots):
        # Clockwise from straight up in use, which letters turned by `turn` point to.
        a = math.radians(90.0 + turn - clockwise)
        told = n % every == 0
        end = begin + (_TICK if told else _SHORT_TICK)
        cos, sin = math.cos(a), math.sin(a)
        yield Line(
            (at[0] + begin * cos, at[1] + begin * sin), (at[0] + end * cos, at[1] + end * sin), _INK
        )
        if told:
            words = Text((0.0, 0.0), str(number), height, Anchor.MIDDLE, turn, False)
            size = words.box()
            # So far out that the letters' room keeps clear of the tick, whatever its direction.
            out = end + 0.6 + abs(cos) * size.width / 2 + abs(sin) * size.height / 2
            place = (at[0] + out * cos, at[1] + out * sin)
            yield Text(place, str(number), height, Anchor.MIDDLE, turn, False)


def scale_spots(marks: Scale) -> tuple[tuple[int, float], ...]:
    """The numbers of a scale and where each stands, degrees clockwise from up in use.

    A scale that runs all the way round leaves out its last number, which would lie on the first.
    """
    count = marks.last - marks.first
    step = (marks.end - marks.start) / count
    whole = marks.end - marks.start >= 360.0
    return tuple(
        (marks.first + n, marks.start + n * step) for n in range(count if whole else count + 1)
    )


def _knob_radius(used: Used) -> float | None:
    part = used.part
    if isinstance(part, BushingPart) and part.knob is not None:
        return float(part.knob.diameter) / 2
    return None


def _marks(scene: Scene, face: Face, box: Box) -> tuple[Mark, ...]:
    corners = face.flat
    marks = []
    if face.name in UPRIGHT:
        marks.append(edge_name("RIM", corners[2], corners[3], box.middle, bold=True))
    else:
        marks.append(edge_name("BACK edge", corners[2], corners[3], box.middle))
    if not _level(scene, face):
        a = math.radians(90.0 + reading_turn(scene, face))
        marks.append(up_arrow((math.cos(a), math.sin(a)), box))
    return tuple(marks)
