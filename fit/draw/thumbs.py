"""Small pictures of a build's faces for tables, and two builds' faces over each other, as SVG.

They carry no words, are not for cutting, and read well in black and white: one build's lines are
solid, the other's broken.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from fit.draw.cuts import as_items
from fit.draw.drawing import Box, Drawing, Item, Operation, Pen, Sketch, Style, item_box, join
from fit.draw.faces import faces_to_draw, wanted_on
from fit.draw.svg import svg_bytes
from fit.draw.there import open_now
from fit.draw.view import moved
from fit.geometry import paths
from fit.geometry.box import Face
from fit.geometry.paths import face_outline
from fit.geometry.scene import Scene
from fit.model.words import UPRIGHT, FaceName

SCALE: Final = 0.2
"""Of the small pictures."""

_EDGE: Final = Pen(width=1.2)
_CUT: Final = Pen(width=1.8)
_GAP: Final = 8.0

_A_EDGE: Final = Pen(width=0.4)
_A_CUT: Final = Pen(width=0.7)
_B_EDGE: Final = Pen(width=0.4, style=Style.DASHED)
_B_CUT: Final = Pen(width=0.7, style=Style.DASHED)

_SIZE: Final = re.compile(r'width="([\d.]+)mm" height="([\d.]+)mm"')


def faces_picture(scene: Scene) -> str:
    """The faces with openings side by side, as they are seen from outside; empty without any."""
    shown = faces_to_draw(scene)
    if not shown:
        return ""
    sketch = Sketch(f"faces of {scene.build.name} in {scene.build.box.name}")
    left = 0.0
    for face in shown:
        items = _items(scene, face, _EDGE, _CUT)
        box = _box(items)
        sketch.add(Operation.CUT, *(moved(item, left - box.x0, -box.y0) for item in items))
        left += box.width + _GAP
    return inline(sketch.done(), SCALE)


def overlaid(a: Scene, b: Scene, name: FaceName) -> str | None:
    """A face of two builds over each other: the first solid, the second broken, true to scale.

    The two lie with the middle of the floor's edge (lid and floor: their middle) on each other.
    None when neither has an opening there.
    """
    if not wanted_on(a, name) and not wanted_on(b, name):
        return None
    sketch = Sketch(name.value)
    sketch.add(Operation.CUT, *_items(b, b.faces[name], _B_EDGE, _B_CUT))
    sketch.add(Operation.CUT, *_items(a, a.faces[name], _A_EDGE, _A_CUT))
    return inline(sketch.done(), 1.0)


def shown_faces(a: Scene, b: Scene) -> tuple[FaceName, ...]:
    """The faces on which one of two builds has openings, in the order of the sheets."""
    order = (*UPRIGHT, FaceName.LID, FaceName.FLOOR)
    return tuple(n for n in order if wanted_on(a, n) or wanted_on(b, n))


def inline(drawing: Drawing, scale: float) -> str:
    """A drawing as an SVG element to stand within a page, ``scale`` times its true size."""
    text = svg_bytes(drawing).decode()
    text = text[text.index("<svg") :]
    text = re.sub(r"<desc>.*?</desc>\n", "", text)
    # An id may stand in a page only once.
    text = re.sub(r'<g id="[^"]*">', "<g>", text)

    def sized(found: re.Match[str]) -> str:
        w, h = (float(v) * scale for v in found.groups())
        return f'width="{w:.2f}mm" height="{h:.2f}mm"'

    return _SIZE.sub(sized, text, count=1).strip()


def _items(scene: Scene, face: Face, edge: Pen, cut: Pen) -> tuple[Item, ...]:
    outline = as_items(face_outline(face), edge)
    cuts = (
        item
        for opening in open_now(scene, face.name)
        for item in as_items(paths.outline(opening, face), cut)
    )
    return (*outline, *cuts)


def _box(items: Iterable[Item]) -> Box:
    return join([item_box(item) for item in items])
