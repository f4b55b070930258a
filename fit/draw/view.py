"""A view ready for the page: what is drawn, and the words that still want a place."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from fit.draw.drawing import (
    Arc,
    Box,
    Circle,
    Drawing,
    Item,
    Line,
    Node,
    Operation,
    Path,
    Point,
    Sketch,
    Text,
    path_pieces,
)
from fit.draw.labels import Placer, Segment, Wanted


class Side(StrEnum):
    """From where views are seen. Views from different sides never share a sheet."""

    OUTSIDE = "outside"
    INSIDE = "inside"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A small mark that may stand at any of several places, the best first.

    Attributes:
        items: drawn with the lower left corner of the room they take at the origin.
        size: of that room, mm.
        places: where that corner may lie, mm.
        instead: what to draw when all of them are taken.
    """

    items: tuple[Item, ...]
    size: tuple[float, float]
    places: tuple[Point, ...]
    instead: Mark | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One view, in its own frame, mm.

    Attributes:
        drawing: all but the words.
        box: the outline's room, by which it is put on the page.
        marks: which edge is which, which way is up.
        wanted: labels, in the order in which they get their places.
        hard: boxes no words may touch.
        lines: lines no words may cross.
        soft: lines words should not cross.
        title: for the title block.
        facts: further lines there, about this view.
        general: lines there that hold for other views alike.
    """

    drawing: Drawing
    box: Box
    marks: tuple[Mark, ...]
    wanted: tuple[Wanted, ...]
    hard: tuple[Box, ...]
    lines: tuple[Segment, ...]
    soft: tuple[Segment, ...]
    title: str
    facts: tuple[str, ...] = ()
    general: tuple[str, ...] = ()


def words_of(
    view: View, region: Box, window: Box | None = None, shown: Box | None = None
) -> Drawing:
    """Place a view's marks and labels in a region of it, mm.

    Args:
        view: the view.
        region: where words may stand.
        window: the part of the view that this sheet is about; labels of features whose middle
            lies outside are left to the other sheets. None: all of it.
        shown: marks have their middle in here, beside what this sheet shows. None: anywhere.
    """
    placer = Placer(region)
    placer.keep(*view.hard)
    placer.keep_lines(view.lines)
    placer.avoid(view.soft)
    sketch = Sketch(f"{view.title}, words")
    for mark in view.marks:
        sketch.add(Operation.NOTE, *_marked(placer, mark, shown))
    for wanted in view.wanted:
        if window is None or window.holds(wanted.about):
            sketch.add(Operation.NOTE, *placer.place(wanted))
        elif window.has(wanted.about.middle):
            sketch.add(Operation.NOTE, *placer.place(_cut_off(wanted, window)))
    return sketch.done()


def _marked(placer: Placer, mark: Mark, shown: Box | None) -> tuple[Item, ...]:
    """A mark at the first of its places that is free; nothing when none is."""
    w, h = mark.size
    rooms = [Box(x, y, x + w, y + h) for x, y in mark.places]
    room = placer.first(r for r in rooms if shown is None or shown.has(r.middle))
    if room is not None:
        return tuple(moved(i, room.x0, room.y0) for i in mark.items)
    return _marked(placer, mark.instead, shown) if mark.instead else ()


def _cut_off(wanted: Wanted, window: Box) -> Wanted:
    """A label of a feature that is shown in part: its leader must end on the part shown."""
    inside = wanted.inside
    if inside is not None:
        inside = common(inside, window)
    return replace(wanted, about=common(wanted.about, window), round=False, inside=inside)


def common(one: Box, other: Box) -> Box:
    """What two boxes have in common; of no size or less when they do not meet."""
    return Box(
        max(one.x0, other.x0), max(one.y0, other.y0), min(one.x1, other.x1), min(one.y1, other.y1)
    )


def moved(item: Item, dx: float, dy: float) -> Item:
    """An item moved, mm."""
    if isinstance(item, Line):
        (ax, ay), (bx, by) = item.start, item.end
        return Line((ax + dx, ay + dy), (bx + dx, by + dy), item.pen, item.phase)
    if isinstance(item, Circle):
        return Circle((item.centre[0] + dx, item.centre[1] + dy), item.radius, item.pen)
    if isinstance(item, Arc):
        centre = (item.centre[0] + dx, item.centre[1] + dy)
        return Arc(centre, item.radius, item.start, item.end, item.pen, item.phase)
    if isinstance(item, Path):
        nodes = tuple(Node(n.x + dx, n.y + dy, n.bulge) for n in item.nodes)
        return Path(nodes, item.pen, item.fill)
    at = (item.at[0] + dx, item.at[1] + dy)
    return Text(at, item.words, item.height, item.anchor, item.turn, item.bold, item.halo)


def segments(item: Item) -> Iterator[Segment]:
    """An item's lines as straight ones, arcs as chords of at most 15°; words have none."""
    if isinstance(item, Line):
        yield item.start, item.end
    elif isinstance(item, Path):
        for piece in path_pieces(item):
            yield from segments(piece)
    elif isinstance(item, Circle):
        yield from segments(Arc(item.centre, item.radius, 0.0, 360.0, item.pen))
    elif isinstance(item, Arc):
        count = max(1, math.ceil((item.end - item.start) / 15))
        step = (item.end - item.start) / count
        points = [item.at(item.start + n * step) for n in range(count + 1)]
        yield from pairwise(points)
