"""Where everything goes: a page with small pictures of one layout, and layouts side by side.

Not for drilling: the 1:1 sheets are. Parts whose place was found carry a mark.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Box,
    Drawing,
    Item,
    Line,
    Operation,
    Page,
    Pen,
    Point,
    Positioned,
    Sketch,
    Text,
)
from fit.draw.places_dims import marked_width, marked_words
from fit.draw.places_look import Looked, faces_shown, look
from fit.draw.places_names import Named, named, told
from fit.draw.places_page import (
    LINE,
    MARGIN,
    SCALES,
    Heading,
    TooSmall,
    free_room,
    heading,
    in_rows,
    sizes,
    stacked,
)
from fit.draw.places_plan import plan_picture
from fit.draw.places_reason import Reason as Reason
from fit.draw.places_reason import reason_sheets as reason_sheets
from fit.draw.places_reason import reason_svg as reason_svg
from fit.draw.places_views import BEHIND, OPENING, OUTSIDE, Picture, face_picture
from fit.geometry.scene import Scene
from fit.model.words import UPRIGHT, FaceName
from fit.trade.lettering import DESCENT, shorten, width, wrap
from fit.trade.paper import PaperName

_CAPTION = 5.6
"""Height kept for the caption of a view, mm."""
_AFTER = 1.8
_GAP = 6.0
_SMALL_GAP = 4.0
_A_PAGE: Final = 6
"""So many layouts go side by side on a page."""
_FOOT_LINES = 2
_SAMPLE = 8.0
_DESCENT: Final = DESCENT * pens.SMALL + 0.1
_TITLE = 6.5
"""Height kept for what is said of a layout among several, mm."""
_TRIES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A layout to be shown.

    Attributes:
        scene: the build with that layout.
        found: names of the parts whose places were found; all others were given.
        caption: what is said of it, such as ``1: 6.8 mm to spare``.
    """

    scene: Scene
    found: frozenset[str]
    caption: str


def place_sheets(layouts: Sequence[Shown], paper: PaperName) -> tuple[Page, ...]:
    """Draw layouts: side by side when there are several, then each on a page of its own.

    Args:
        layouts: of one build, the best first; at least one.
        paper: what is printed on; each page lies whichever way the picture is larger.

    Raises:
        ValueError: without a layout, or when the paper is too small at any scale.
    """
    if not layouts:
        raise ValueError("there is no layout to draw")
    views = [_Viewed(shown=shown, looked=look(shown.scene)) for shown in layouts]
    beside: list[Page] = []
    if len(views) > 1:
        starts = range(0, len(views), _A_PAGE)
        beside = [_side_by_side(views[n : n + _A_PAGE], paper) for n in starts]
    return (*beside, *(_alone(viewed, paper) for viewed in views))


def place_svg(layouts: Sequence[Shown], paper: PaperName = PaperName.A4) -> bytes:
    """The same pages below one another as one SVG picture, the same bytes each run.

    Raises:
        ValueError: as `place_sheets`.
    """
    return pages_svg(place_sheets(layouts, paper), layouts[0].scene.build.name)


def pages_svg(pages: Sequence[Page], build: str) -> bytes:
    """Pages that are drawn already, below one another as one SVG picture."""
    return stacked(pages, f"{build}, where everything goes")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Viewed:
    """A layout, and how it is seen."""

    shown: Shown
    looked: Looked


# --- one layout -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fitted:
    """Pictures that go on a page: its size, their scale and rooms."""

    size: tuple[float, float]
    scale: float
    pictures: tuple[Picture, ...]
    rooms: tuple[Box, ...]


def _alone(viewed: _Viewed, paper: PaperName) -> Page:
    shown = viewed.shown
    foot, fitted = 0, None
    names: tuple[Named, ...] = ()
    notes: list[str] = []
    for _ in range(_TRIES):
        fitted = _fitted(viewed, paper, (_FOOT_LINES + foot) * LINE + 3.0)
        names = tuple(
            named(picture, _region(picture, room))
            for picture, room in zip(fitted.pictures, fitted.rooms, strict=True)
        )
        keys = [(p.name, n) for p, n in zip(fitted.pictures, names, strict=True)]
        notes = [
            line
            for said in told(keys)
            for line in wrap(said, pens.SMALL, fitted.size[0] - 2 * MARGIN)
        ]
        if len(notes) <= foot:
            break
        foot = len(notes)
    assert fitted is not None
    views = [
        placed
        for picture, room, own in zip(fitted.pictures, fitted.rooms, names, strict=True)
        for placed in _on_page(picture, room, own.drawing)
    ]
    build = shown.scene.build
    said = Heading(
        name=build.name, caption=shown.caption, scale=fitted.scale, how=_how(shown.scene)
    )
    head = heading(said, fitted.size)
    legend = _legend(fitted.size, notes, marks=bool(shown.found))
    fixed = (Positioned(drawing=head, x=0.0, y=0.0), Positioned(drawing=legend, x=0.0, y=0.0))
    return _page(shown.caption, fitted.size, (*views, *fixed))


def _page(title: str, size: tuple[float, float], drawings: tuple[Positioned, ...]) -> Page:
    return Page(title=title, width=size[0], height=size[1], drawings=drawings)


def _how(scene: Scene) -> str:
    return (
        f"Faces from outside, as they stand in use, the {scene.build.stands_on.value.upper()} "
        "down. Sizes in mm."
    )


def _fitted(viewed: _Viewed, paper: PaperName, foot: float) -> _Fitted:
    """All views at the largest scale at which they go on one page, whichever way it lies."""
    faces = faces_shown(viewed.shown.scene)
    for scale in SCALES:
        pictures = _pictures(viewed, faces, scale, small=False)
        wanted = [_wanted(picture) for picture in pictures]
        ways = [(size, in_rows(wanted, free_room(size, foot), _GAP)) for size in sizes(paper)]
        fits = [(size, rooms) for size, rooms in ways if rooms is not None]
        if fits:
            size, rooms = max(fits, key=lambda way: _evenness(wanted, way[1]))
            return _Fitted(size=size, scale=scale, pictures=pictures, rooms=rooms)
    raise TooSmall(f"{paper.value} paper is too small for this box at any scale")


def _pictures(
    viewed: _Viewed, faces: Sequence[FaceName], scale: float, *, small: bool
) -> tuple[Picture, ...]:
    looked, found = viewed.looked, viewed.shown.found
    views = [face_picture(looked, name, 1 / scale, found, small=small) for name in faces]
    return (*views, plan_picture(looked, 1 / scale, found, small=small))


def _wanted(picture: Picture) -> tuple[float, float]:
    words = width(picture.name, pens.TEXT, True)
    if picture.note:
        words += _AFTER + width(picture.note, pens.SMALL)
    return max(picture.room.width, words), picture.room.height + _CAPTION


def _evenness(wanted: Sequence[tuple[float, float]], rooms: Sequence[Box]) -> float:
    """How far rooms are filled: the share of the emptiest one."""
    return min(w * h / (r.width * r.height) for (w, h), r in zip(wanted, rooms, strict=True))


def _shift(picture: Picture, room: Box) -> Point:
    """From a picture's own place to the page: in the middle, its caption at the room's top."""
    dx = room.middle[0] - picture.room.middle[0]
    return dx, room.y1 - _CAPTION - picture.room.y1


def _region(picture: Picture, room: Box) -> Box:
    """Where names may stand, in the picture's own place: its room without the caption."""
    dx, dy = _shift(picture, room)
    return Box(room.x0, room.y0, room.x1, room.y1 - _CAPTION).moved(-dx, -dy)


def _on_page(picture: Picture, room: Box, names: Drawing) -> Iterator[Positioned]:
    dx, dy = _shift(picture, room)
    left = min(picture.room.x0 + dx, room.x1 - _wanted(picture)[0])
    sketch = Sketch(f"{picture.name}, caption")
    at = (max(room.x0, left), room.y1 - pens.TEXT)
    sketch.add(Operation.NOTE, *_caption(picture, at, room.x1 - at[0]))
    yield Positioned(drawing=picture.drawing, x=dx, y=dy)
    yield Positioned(drawing=names, x=dx, y=dy)
    yield Positioned(drawing=sketch.done(), x=0.0, y=0.0)


def _caption(picture: Picture, at: Point, room: float) -> tuple[Text, ...]:
    """The name of a view and what is said of it, on one line."""
    name = Text(at, shorten(picture.name, pens.TEXT, room, True), pens.TEXT, bold=True)
    left = width(picture.name, pens.TEXT, True) + _AFTER
    if not picture.note or left > room:
        return (name,)
    note = shorten(picture.note, pens.SMALL, room - left)
    return (name, Text((at[0] + left, at[1]), note, pens.SMALL))


# --- how it is read -------------------------------------------------------------------------


def _legend(size: tuple[float, float], notes: Sequence[str], *, marks: bool) -> Drawing:
    """The foot of a page: what the numbers stand for, what the lines mean, how dimensions run."""
    sketch = Sketch("legend")
    top = MARGIN + _DESCENT + (_FOOT_LINES + len(notes)) * LINE
    sketch.add(Operation.FRAME, Line((MARGIN, top), (size[0] - MARGIN, top), pens.RULE))
    y = top - LINE
    for words in notes:
        sketch.add(Operation.FRAME, Text((MARGIN, y), words, pens.SMALL))
        y -= LINE
    sketch.add(Operation.FRAME, *_samples((MARGIN, y), marks=marks))
    words = (
        "Numbers: from the 0 of their row, which is the centre line or the rim, to the middle of "
        "the part, along the face."
    )
    sketch.add(
        Operation.FRAME,
        Text((MARGIN, y - LINE), shorten(words, pens.SMALL, size[0] - 2 * MARGIN), pens.SMALL),
    )
    return sketch.done()


def _samples(at: Point, *, marks: bool) -> Iterator[Item]:
    x, y = at
    if marks:
        yield from marked_words((x, y), "place found", pens.SMALL, found=True)
        x += marked_width("place found", pens.SMALL, found=True) + 4.0
        yield Text((x, y), "plain: place given", pens.SMALL)
        x += width("plain: place given", pens.SMALL) + 4.0
    lines: tuple[tuple[Pen, str], ...] = (
        (OPENING, "cut"),
        (OUTSIDE, "stands outside"),
        (BEHIND, "lies behind"),
    )
    for pen, words in lines:
        level = y + pens.SMALL / 2
        yield Line((x, level), (x + _SAMPLE, level), pen)
        yield Text((x + _SAMPLE + 1.2, y), words, pens.SMALL)
        x += _SAMPLE + 1.2 + width(words, pens.SMALL) + 4.0


# --- several layouts ------------------------------------------------------------------------


def _side_by_side(views: Sequence[_Viewed], paper: PaperName) -> Page:
    """Small pictures of some layouts, all at one scale: the faces where places were found."""
    layouts = [viewed.shown for viewed in views]
    faces = _telling(layouts)
    for scale in SCALES:
        sets = [_pictures(viewed, faces, scale, small=True) for viewed in views]
        for size in sizes(paper):
            rooms = _grid(sets, free_room(size, LINE + 3.0))
            if rooms is not None:
                return _compared(layouts, sets, rooms, size, scale)
    raise TooSmall(f"{paper.value} paper is too small for this box at any scale")


def _telling(layouts: Sequence[Shown]) -> tuple[FaceName, ...]:
    """The faces on which any layout has a part whose place was found, in the usual order."""
    moved_to = {
        shown.scene.placed[name].face
        for shown in layouts
        for name in shown.found
        if name in shown.scene.placed
    }
    every = [name for shown in layouts for name in faces_shown(shown.scene) if name in moved_to]
    order = (*UPRIGHT, FaceName.LID, FaceName.FLOOR)
    return tuple(name for name in order if name in every)


_Rooms = list[tuple[Box, tuple[Box, ...]]]
"""The room of each layout, and in it the rooms of its views."""


def _grid(sets: Sequence[tuple[Picture, ...]], into: Box) -> _Rooms | None:
    """Rooms for some layouts in equal rows and columns; None when they do not go in."""
    count = len(sets)
    for columns in range(1, count + 1):
        rows = -(-count // columns)
        w = (into.width - (columns - 1) * 2 * _GAP) / columns
        h = (into.height - (rows - 1) * _GAP) / rows
        found: _Rooms = []
        for n, pictures in enumerate(sets):
            x = into.x0 + (n % columns) * (w + 2 * _GAP)
            y = into.y1 - (n // columns) * (h + _GAP)
            room = Box(x, y - h, x + w, y)
            views = Box(room.x0, room.y0, room.x1, room.y1 - _TITLE)
            inner = in_rows([_wanted(p) for p in pictures], views, _SMALL_GAP)
            if inner is None:
                break
            found.append((room, inner))
        if len(found) == count:
            return found
    return None


def _compared(
    layouts: Sequence[Shown],
    sets: Sequence[tuple[Picture, ...]],
    rooms: _Rooms,
    size: tuple[float, float],
    scale: float,
) -> Page:
    placed: list[Positioned] = []
    titles = Sketch("layouts")
    for shown, pictures, (room, inner) in zip(layouts, sets, rooms, strict=True):
        words = shorten(shown.caption, pens.TITLE, room.width, True)
        at = (room.x0, room.y1 - pens.TITLE)
        titles.add(Operation.NOTE, Text(at, words, pens.TITLE, bold=True))
        for picture, own in zip(pictures, inner, strict=True):
            names = named(picture, _region(picture, own), numbers=False)
            placed += _on_page(picture, own, names.drawing)
    titles.add(Operation.FRAME, *_samples((MARGIN, MARGIN + _DESCENT), marks=True))
    scene = layouts[0].scene
    caption = f"{len(layouts)} layouts side by side"
    said = Heading(name=scene.build.name, caption=caption, scale=scale, how=_how(scene))
    fixed = (titles.done(), heading(said, size))
    return _page(caption, size, (*placed, *(Positioned(drawing=d, x=0.0, y=0.0) for d in fixed)))
