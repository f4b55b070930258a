"""A face seen from inside the box: everything mirrored, for a sheet that goes on the inside."""

from __future__ import annotations

from dataclasses import replace

from fit.draw import pens
from fit.draw.asked import Ends
from fit.draw.drawing import (
    Anchor,
    Arc,
    Box,
    Circle,
    Drawing,
    Item,
    Layer,
    Line,
    Node,
    Path,
    Point,
    Text,
    around,
    polygon,
    rounded,
)
from fit.draw.faces import bare_view, edge_names, face_facts, face_marks, there_words, wall_words
from fit.draw.labels import Segment, Wanted
from fit.draw.view import View
from fit.draw.waste import Shop
from fit.geometry.box import Face
from fit.geometry.scene import Scene

_OTHER_SIDE = {
    Anchor.LOWER_LEFT: Anchor.LOWER_RIGHT,
    Anchor.LOWER_RIGHT: Anchor.LOWER_LEFT,
    Anchor.LEFT: Anchor.RIGHT,
    Anchor.RIGHT: Anchor.LEFT,
    Anchor.UPPER_LEFT: Anchor.UPPER_RIGHT,
    Anchor.UPPER_RIGHT: Anchor.UPPER_LEFT,
}


def inside_view(scene: Scene, face: Face, ends: Ends = Ends.CHAIN) -> View:
    """A face seen from inside, mm: x is minus across, so left and right change places.

    What is trimmed to is the wall's own inside, from the floor's inside to the rim and from one
    neighbouring wall to the other. Numbers are those of the view from outside.
    """
    box = around(list(face.inner))
    if face.flat_radius > 0:
        edge = rounded(box, face.flat_radius, pens.EDGE)
    else:
        edge = polygon(face.inner, pens.EDGE)
    a, b, c, d = (_over(point) for point in face.inner)
    low, right, top, left = edge_names(face.name)
    shop = Shop.of(scene.build.drawer, ends)
    return replace(
        mirrored(bare_view(scene, face, (edge,), box, shop)),
        marks=face_marks(scene, face, (b, a, d, c), (low, left, top, right), mirror=True),
        title=f"{face.name.value.upper()}, seen from INSIDE",
        facts=face_facts(scene, face, shop),
        general=(
            wall_words(scene, face),
            "Seen from INSIDE: left and right are mirrored. For the inside of the wall.",
            *there_words(scene, face.name),
        ),
    )


def mirrored(view: View) -> View:
    """A view with left and right changed, without its marks. Words stay readable."""
    layers = tuple(
        Layer(operation=layer.operation, items=tuple(mirrored_item(i) for i in layer.items))
        for layer in view.drawing.layers
    )
    return replace(
        view,
        drawing=Drawing(name=view.drawing.name, layers=layers),
        box=_over_box(view.box),
        marks=(),
        wanted=tuple(_over_wanted(wanted) for wanted in view.wanted),
        hard=tuple(_over_box(box) for box in view.hard),
        lines=tuple(_over_line(line) for line in view.lines),
        soft=tuple(_over_line(line) for line in view.soft),
    )


def mirrored_item(item: Item) -> Item:
    """An item mirrored at the upright axis."""
    if isinstance(item, Line):
        return replace(item, start=_over(item.start), end=_over(item.end))
    if isinstance(item, Circle):
        return replace(item, centre=_over(item.centre))
    if isinstance(item, Arc):
        return replace(
            item, centre=_over(item.centre), start=180.0 - item.end, end=180.0 - item.start
        )
    if isinstance(item, Path):
        return replace(item, nodes=tuple(Node(-n.x, n.y, -n.bulge) for n in item.nodes))
    return Text(
        _over(item.at),
        item.words,
        item.height,
        _OTHER_SIDE.get(item.anchor, item.anchor),
        -item.turn,
        item.bold,
        item.halo,
    )


def _over(point: Point) -> Point:
    return (-point[0], point[1])


def _over_box(box: Box) -> Box:
    return Box(-box.x1, box.y0, -box.x0, box.y1)


def _over_line(line: Segment) -> Segment:
    return _over(line[0]), _over(line[1])


def _over_wanted(wanted: Wanted) -> Wanted:
    inside = None if wanted.inside is None else _over_box(wanted.inside)
    foreign = tuple(_over_box(box) for box in wanted.foreign)
    return replace(wanted, about=_over_box(wanted.about), inside=inside, foreign=foreign)
