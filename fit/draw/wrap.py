"""The sheet that goes round a box: its upright faces in one piece, corners and all.

It is cut out along its edge, laid round the box, and finds its own place: tabs go under the
floor, over the rim and onto the next face. What does not go on one sheet of paper goes on
several, parted at the corners.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final

from fit.draw import pens
from fit.draw.asked import Ends
from fit.draw.clip import clipped
from fit.draw.drawing import (
    Anchor,
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
    around,
    polygon,
)
from fit.draw.faces import bare_view, face_facts, there_words, up_in_use, wall_words, wanted_on
from fit.draw.labels import Segment, Wanted
from fit.draw.marks import edge_name, up_arrow
from fit.draw.pages import Cell, Unit
from fit.draw.tables import hole_list, plate_blocks
from fit.draw.unroll import Laid, Motion, after, face_ends, next_motion, unroll
from fit.draw.view import Mark, View, common, segments
from fit.draw.waste import Shop
from fit.geometry.scene import Scene
from fit.model.words import UPRIGHT, FaceName
from fit.trade.lettering import ASCENT, DESCENT, width

TAB: Final = 10.0
"""How far the tabs at floor and rim reach, mm."""

LAP: Final = 15.0
"""How far the tab over the next face reaches, mm."""

_HOW = (
    "Cut out along the edge, lay round the box, fold at floor and rim, tape the end under the "
    "start. Between two thin lines at a corner the paper bends."
)
_LEAST_NAMED: Final = 5.0
"""Ghosts that reach less far onto the flat part of a wall get no name there, mm."""
_SET_BACK = 3.0
"""How far a tab's corners keep off the corners of its face, mm."""
_EVERY = 4
"""Each so many points of a corner's curved edges are drawn: off by less than 0.01 mm."""

Fits = Callable[[Cell], bool]
"""Whether a view goes on one sheet."""


def wrap_units(scene: Scene, ends: Ends, fits: Fits) -> Iterator[Unit]:
    """The upright faces as few pieces as the paper allows; none when no upright face is cut."""
    if not any(wanted_on(scene, name) for name in UPRIGHT):
        return
    shop = Shop.of(scene.build.drawer, ends)
    bare = bare_faces(scene, shop)
    waiting = list(UPRIGHT)
    while waiting:
        count = len(waiting)
        while count > 1 and not fits(_cell(wrap_view(scene, waiting[:count], bare))):
            count -= 1
        run, waiting = waiting[:count], waiting[count:]
        yield _unit(scene, run, bare, shop)


def bare_faces(scene: Scene, shop: Shop) -> dict[FaceName, View]:
    """What is drawn of each upright face, in its own frame, without its outline.

    Ghosts end where the round corners begin, which the face's own plane does not follow.
    """
    found = {}
    for name in UPRIGHT:
        face = scene.faces[name]
        view = bare_view(scene, face, (), around(list(face.outline)), shop)
        a, b, c, d = face_ends(scene.build.box, face)
        flat = Box(max(a[0], d[0]), a[1], min(b[0], c[0]), c[1])
        layers = tuple(
            layer
            for part in view.drawing.layers
            for layer in (
                clipped(Drawing(name=name, layers=(part,)), flat).layers
                if part.operation is Operation.GUIDE
                else (part,)
            )
        )
        found[name] = replace(
            view,
            drawing=Drawing(name=name.value, layers=layers),
            wanted=tuple(kept for w in view.wanted if (kept := _on_flat(w, flat)) is not None),
        )
    return found


def _on_flat(wanted: Wanted, flat: Box) -> Wanted | None:
    """A label of what lies on the flat part of a wall; the part of a ghost that does, if any."""
    if wanted.leader or flat.holds(wanted.about, 0.5):
        return wanted
    part = common(wanted.about, flat)
    if min(part.width, part.height) < _LEAST_NAMED:
        return None
    return replace(wanted, about=part, round=False, inside=part.grown(-0.8))


def _unit(scene: Scene, run: Sequence[FaceName], bare: dict[FaceName, View], shop: Shop) -> Unit:
    view = wrap_view(scene, run, bare)
    cut = [name for name in run if wanted_on(scene, name)]
    facts = (
        f"{name.value.upper()}: {fact}"
        for name in run
        for fact in face_facts(scene, scene.faces[name], shop)
    )
    return Unit(
        name=f"round the box: {_words(run)}",
        title=view.title,
        general=view.general,
        facts=(*view.facts, *facts),
        cells=(_cell(view),),
        plates=tuple(block for name in cut for block in plate_blocks(scene, name)),
        lists=tuple(hole_list(scene, scene.faces[name], ends=shop.ends) for name in cut),
    )


def _cell(view: View) -> Cell:
    """Nothing is written beside the ends of the sheet."""
    return Cell(view=view, window=view.box, side=1.0)


def _words(run: Sequence[FaceName]) -> str:
    return " – ".join(name.value.upper() for name in run)


def wrap_view(scene: Scene, run: Sequence[FaceName], bare: dict[FaceName, View]) -> View:
    """Some upright faces that follow each other to the right, laid flat in one piece, mm.

    The sheet is turned so that its two ends lean alike.
    """
    tray, faces = scene.build.box, scene.faces
    flat = unroll(tray, faces, run)
    last = next_motion(tray, faces, flat[-1])
    level = Motion(0.0, 0.0, -last.angle / 2)
    laid = [_moved_laid(one, level) for one in flat]
    lap = _joined(level, last)
    contour = _contour(scene, laid, lap)
    sketch = Sketch("wrap")
    sketch.add(Operation.EDGE, polygon(contour, pens.EDGE))
    folds = [Line(a, b, pens.FOLD) for a, b in _folds(laid)]
    sketch.add(Operation.FOLD, *folds)
    views = [_on_sheet(bare[one.face.name], one.motion) for one in laid]
    for view in (*views, _lapped(scene, laid[-1], lap, bare)):
        for layer in view.drawing.layers:
            sketch.add(layer.operation, *layer.items)
    edges = [*segments(polygon(contour, pens.EDGE)), *(s for f in folds for s in segments(f))]
    return View(
        drawing=sketch.done(),
        box=around(list(contour)),
        marks=tuple(_marks(scene, laid, lap)),
        wanted=tuple(w for view in views for w in view.wanted),
        hard=tuple(box for view in views for box in view.hard),
        lines=(*edges, *(line for view in views for line in view.lines)),
        soft=tuple(line for view in views for line in view.soft),
        title=f"ROUND THE BOX: {_words(run)}, seen from OUTSIDE",
        general=_general(scene),
    )


def _general(scene: Scene) -> tuple[str, ...]:
    return (
        wall_words(scene, scene.faces[FaceName.FRONT]),
        "Thin dashes: what lies behind; end of the flat wall.",
        *dict.fromkeys(words for name in UPRIGHT for words in there_words(scene, name)),
        _HOW,
    )


def _lapped(scene: Scene, last: Laid, lap: Motion, bare: dict[FaceName, View]) -> View:
    """What is cut in the next face as far as the tab reaches that goes onto it."""
    face = scene.faces[after(last.face.name)]
    view = bare[face.name]
    low, _, _, high = face_ends(scene.build.box, face)
    room = around(list(face.outline))
    window = Box(min(low[0], high[0]), room.y0, max(low[0], high[0]) + LAP - 2.0, room.y1)
    part = clipped(view.drawing, window)
    cuts = tuple(layer for layer in part.layers if layer.operation is not Operation.GUIDE)
    return _on_sheet(replace(view, drawing=Drawing(name=part.name, layers=cuts)), lap)


def _joined(first: Motion, second: Motion) -> Motion:
    """Both moves, the second one first."""
    x, y = first((second.x, second.y))
    return Motion(x, y, first.angle + second.angle)


def _moved_laid(laid: Laid, by: Motion) -> Laid:
    return Laid(
        face=laid.face,
        motion=_joined(by, laid.motion),
        low_left=by(laid.low_left),
        low_right=by(laid.low_right),
        high_right=by(laid.high_right),
        high_left=by(laid.high_left),
        low_curve=tuple(by(p) for p in laid.low_curve),
        high_curve=tuple(by(p) for p in laid.high_curve),
    )


def _contour(scene: Scene, laid: Sequence[Laid], lap: Motion) -> tuple[Point, ...]:
    """The line to cut the paper along, counter-clockwise from the lower left."""
    lower: list[Point] = []
    upper: list[Point] = []
    for one in laid:
        lower += _tab(one.low_left, one.low_right, TAB)
        lower += one.low_curve[::_EVERY]
        upper += _tab(one.high_left, one.high_right, -TAB)
        upper += one.high_curve[::_EVERY]
    low, _, _, high = face_ends(scene.build.box, scene.faces[after(laid[-1].face.name)])
    end = (lap((low[0] + LAP, low[1])), lap((high[0] + LAP, high[1])))
    return tuple(_without_twins([*lower, *end, *reversed(upper)]))


def _tab(a: Point, b: Point, far: float) -> list[Point]:
    """A tab along the edge from a to b, that far to its right (negative: to its left)."""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    back = _SET_BACK + abs(far)
    if length < 2 * back + 2.0:
        return [a, b]

    def at(along: float, out: float) -> Point:
        return (a[0] + ux * along + uy * out, a[1] + uy * along - ux * out)

    return [a, at(_SET_BACK, 0.0), at(back, far), at(length - back, far),
            at(length - _SET_BACK, 0.0), b]  # fmt: skip


def _without_twins(points: Sequence[Point]) -> Iterator[Point]:
    for before, point in pairwise([points[-1], *points]):
        if math.dist(before, point) > 1e-6:
            yield point


def _folds(laid: Sequence[Laid]) -> Iterator[Segment]:
    """Where the paper is folded at floor and rim, and where it begins and ends to bend."""
    for one in laid:
        yield one.low_left, one.low_right
        yield one.high_left, one.high_right
        yield one.low_right, one.high_right
        if math.dist(one.low_curve[0], one.low_curve[-1]) > 1e-6:
            yield one.low_curve[-1], one.high_curve[-1]


def _marks(scene: Scene, laid: Sequence[Laid], lap: Motion) -> Iterator[Mark]:
    for one in laid:
        corners = (one.low_left, one.low_right, one.high_right, one.high_left)
        middle = around(list(corners)).middle
        yield _name(one, corners)
        yield edge_name("under the FLOOR", corners[0], corners[1], middle)
        yield edge_name("over the RIM", corners[2], corners[3], middle)
    across, up, _ = up_in_use(scene, laid[0].face)
    yield up_arrow((across, up), around([laid[0].low_left, laid[-1].high_right]))
    yield _lap_words(scene, laid[-1], lap)


def _name(one: Laid, corners: tuple[Point, ...]) -> Mark:
    """The face's name, within it: near a corner, where little else stands."""
    words = one.face.name.value.upper()
    w, h = width(words, pens.TITLE, True), pens.TITLE * (ASCENT + DESCENT)
    text = Text((0.0, DESCENT * pens.TITLE), words, pens.TITLE, Anchor.LOWER_LEFT, 0.0, True, True)
    box = around(list(corners)).grown(-6.0)
    shares = [(x, y) for y in (1.0, 0.0, 0.75, 0.25, 0.5) for x in (0.0, 1.0, 0.25, 0.75, 0.5)]
    return Mark(
        items=(text,),
        size=(w, h),
        places=tuple(
            (box.x0 + (box.width - w) * x, box.y0 + (box.height - h) * y) for x, y in shares
        ),
    )


def _lap_words(scene: Scene, last: Laid, lap: Motion) -> Mark:
    """What the tab at the end is for, written from below upwards."""
    name = after(last.face.name)
    words = f"goes under {name.value.upper()}"
    low, _, _, high = face_ends(scene.build.box, scene.faces[name])
    h, w = width(words, pens.TEXT), pens.TEXT * (ASCENT + DESCENT)
    text = Text((ASCENT * pens.TEXT, 0.0), words, pens.TEXT, Anchor.LOWER_LEFT, 90.0, False, True)
    places = []
    for share in (0.5, 0.75, 0.25):
        x, y = lap(
            (
                low[0] + (high[0] - low[0]) * share + LAP / 2,
                low[1] + (high[1] - low[1]) * share,
            )
        )
        places += [(x + dx - w / 2, y - h / 2) for dx in (0.0, 3.0, -3.0)]
    return Mark(items=(text,), size=(w, h), places=tuple(places))


def _on_sheet(view: View, motion: Motion) -> View:
    """A view moved as a face was; its words stay level."""
    sketch = Sketch(view.drawing.name)
    for layer in view.drawing.layers:
        sketch.add(layer.operation, *(moved_item(item, motion) for item in layer.items))
    return replace(
        view,
        drawing=sketch.done(),
        box=_moved_box(view.box, motion),
        wanted=tuple(_moved_wanted(wanted, motion) for wanted in view.wanted),
        hard=tuple(_moved_box(box, motion) for box in view.hard),
        lines=tuple((motion(a), motion(b)) for a, b in view.lines),
        soft=tuple((motion(a), motion(b)) for a, b in view.soft),
    )


def _moved_box(box: Box, motion: Motion) -> Box:
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    return around([motion(corner) for corner in corners])


def _moved_wanted(wanted: Wanted, motion: Motion) -> Wanted:
    inside = wanted.inside
    if inside is not None:
        # The box in the middle that is surely inside the turned one.
        shrink = abs(math.sin(motion.angle)) * max(inside.width, inside.height) / 2
        inside = _moved_box(inside, motion).grown(-2 * shrink)
        inside = inside if min(inside.width, inside.height) > 0 else None
    about = _moved_box(wanted.about, motion)
    if wanted.round:
        (x, y), r = motion(wanted.about.middle), wanted.about.width / 2
        about = Box(x - r, y - r, x + r, y + r)
    foreign = tuple(_moved_box(box, motion) for box in wanted.foreign)
    return replace(wanted, about=about, inside=inside, foreign=foreign)


def moved_item(item: Item, motion: Motion) -> Item:
    """An item turned and shifted; words keep their turn."""
    if isinstance(item, Line):
        return replace(item, start=motion(item.start), end=motion(item.end))
    if isinstance(item, Circle):
        return replace(item, centre=motion(item.centre))
    if isinstance(item, Arc):
        turn = math.degrees(motion.angle)
        return replace(
            item, centre=motion(item.centre), start=item.start + turn, end=item.end + turn
        )
    if isinstance(item, Path):
        nodes = tuple(Node(*motion((n.x, n.y)), n.bulge) for n in item.nodes)
        return replace(item, nodes=nodes)
    return replace(item, at=motion(item.at))
