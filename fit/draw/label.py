"""The front label: a second print of the layout to stick on, with legends and scales.

The rims of the holes are its register: it is laid over the finished box so that they meet. Letters
are as high as the distance they are read from asks for, and stand clear of knobs and bezels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fit.draw import pens
from fit.draw.cuts import as_items
from fit.draw.drawing import (
    Anchor,
    Box,
    Item,
    Line,
    Operation,
    Pen,
    Sketch,
    Text,
    around,
    polygon,
    rounded,
)
from fit.draw.faces import faces_to_draw
from fit.draw.marks import edge_name, up_arrow
from fit.draw.pages import Cell, Unit
from fit.draw.there import open_now
from fit.draw.view import Mark as EdgeMark
from fit.draw.view import View, segments
from fit.geometry.box import Face
from fit.geometry.legends import Mark, Tick, inscribed, lies_level, reading_turn
from fit.geometry.paths import outline
from fit.geometry.scene import Scene
from fit.model.words import UPRIGHT
from fit.trade.optics import legend_height
from fit.units import show

_RIM = Pen(width=0.18)
_INK = Pen(width=0.35)


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
    """One label for each face with something to read.

    Where nothing is, one for each face with openings that can be seen in use: rims alone help to
    cut a plain sheet that is to be written on by hand.
    """
    faces = [face for face in faces_to_draw(scene) if face.name is not scene.build.stands_on]
    read = [face for face in faces if _says_something(legends(scene, face))]
    units = []
    for face in read or faces:
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


def _says_something(printed: Printed) -> bool:
    return bool(printed.items or printed.lost)


def label_view(scene: Scene, face: Face) -> View:
    """The label of a face: its flat part, the rims of its openings, legends and scales."""
    box = around(list(face.flat))
    edge = rounded(box, face.flat_radius, pens.EDGE) if face.flat_radius > 0 else None
    trim = edge or polygon(face.flat, pens.EDGE)
    printed = legends(scene, face)
    sketch = Sketch(f"label {face.name.value}")
    sketch.add(Operation.EDGE, trim)
    for opening in open_now(scene, face.name):
        sketch.add(Operation.CUT, *as_items(outline(opening, face), _RIM))
    sketch.add(Operation.NOTE, *printed.items)
    height = legend_height(float(scene.build.read_from))
    lost = [f"No room for: {', '.join(printed.lost)}."] if printed.lost else []
    return View(
        drawing=sketch.done(),
        box=box,
        marks=_edges(scene, face, box),
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
    """Legends and scales of the parts on a face, as `fit.geometry.legends` places them."""
    said = inscribed(scene, face)
    items: list[Item] = [_item(mark) for marks in said.scales for mark in marks.marks]
    items += [_item(legend.letters) for legend in said.legends if legend.letters is not None]
    return Printed(
        items=tuple(items),
        lost=tuple(legend.words for legend in said.legends if legend.letters is None),
        covered={name: Box(r.x0, r.y0, r.x1, r.y1) for name, r in said.covered.items()},
    )


def _item(mark: Mark) -> Item:
    if isinstance(mark, Tick):
        return Line(mark.start, mark.end, _INK)
    return Text(mark.at, mark.words, mark.height, Anchor.MIDDLE, mark.turn, mark.bold)


def _edges(scene: Scene, face: Face, box: Box) -> tuple[EdgeMark, ...]:
    corners = face.flat
    marks = []
    if face.name in UPRIGHT:
        marks.append(edge_name("RIM", corners[2], corners[3], box.middle, bold=True))
    else:
        marks.append(edge_name("BACK edge", corners[2], corners[3], box.middle))
    if not lies_level(scene, face):
        a = math.radians(90.0 + reading_turn(scene, face))
        marks.append(up_arrow((math.cos(a), math.sin(a)), box))
    return tuple(marks)
