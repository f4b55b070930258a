"""Why there is no layout, as a picture: the room there is against the room the parts need.

Everything on the page has one scale. The parts stand in a row under the room, from its left edge,
and in a pile beside it, from its lower edge, so that what is too much is seen and measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from fit.draw import pens
from fit.draw.drawing import (
    Anchor,
    Box,
    Drawing,
    Ink,
    Item,
    Line,
    Operation,
    Page,
    Pen,
    Point,
    Positioned,
    Sketch,
    Style,
    Text,
    polygon,
)
from fit.draw.places_page import (
    LINE,
    MARGIN,
    SCALES,
    Heading,
    TooSmall,
    free_room,
    heading,
    sizes,
    stacked,
)
from fit.model.build import Build
from fit.model.words import FaceName
from fit.trade.lettering import DESCENT, width, wrap
from fit.trade.paper import PaperName
from fit.units import show

_ROOM: Final = Pen(width=0.35)
_PART: Final = Pen(width=0.25)
_HATCH: Final = Pen(width=0.13, ink=Ink.GREY)
_LIMIT: Final = Pen(width=0.18, style=Style.DASHED)
_THIN: Final = Pen(width=0.13)

_PITCH = 3.0
"""Between two lines of the hatching, mm."""
_OFF = 5.0
"""From an edge to the dimension line beside it, mm."""
_ROW = 6.0
"""Between two dimension lines, mm."""
_PAST = 1.2
"""How far extension lines reach past it, mm."""
_AIR = 1.0
_BETWEEN = 16.0
"""Between the room and the row or the pile, mm on paper."""
_ARROW = 2.0
_MOST_PILED = 6
"""More parts are not drawn one above the other."""
_SAME: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Parts that cannot all be on a face.

    Attributes:
        face: which.
        room: how far the places they could have reach, across and up, mm.
        parts: name, width and height of each, with the gaps it must keep: widths add up to what
            the parts need side by side, heights to what they need one above the other.
        say: the reason in words, for the foot of the page.
    """

    face: FaceName
    room: tuple[float, float]
    parts: tuple[tuple[str, float, float], ...]
    say: str = ""


def reason_sheets(reason: Reason, build: Build, paper: PaperName) -> tuple[Page, ...]:
    """Draw a reason on one page, whichever way the picture is larger.

    Args:
        reason: why there is no layout.
        build: the build, for the heading.
        paper: what is printed on.

    Raises:
        ValueError: when a size is not above 0, when there are no parts, or when the paper is too
            small at any scale.
    """
    lengths = [*reason.room, *(size for _, w, h in reason.parts for size in (w, h))]
    if not reason.parts or min(lengths) <= 0:
        raise ValueError("a reason has parts, and sizes above 0")
    for scale in SCALES:
        drawing, key = _picture(reason, 1 / scale)
        box = drawing.box()
        assert box is not None
        fits = []
        for size in sizes(paper):
            foot = _foot(reason, key, size)
            free = _free(size, foot)
            fill = min(free.width / box.width, free.height / box.height)
            fits.append((fill, size, foot))
        fill, size, foot = max(fits)
        if fill >= 1.0:
            return (_page(reason, build.name, drawing, foot, size, scale),)
    raise TooSmall(f"{paper.value} paper is too small for this picture at any scale")


def reason_svg(reason: Reason, build: Build, paper: PaperName = PaperName.A4) -> bytes:
    """The same page as one SVG picture, the same bytes each run.

    Raises:
        ValueError: as `reason_sheets`.
    """
    return stacked(reason_sheets(reason, build, paper), f"{build.name}, why there is no layout")


def _page(
    reason: Reason,
    build: str,
    drawing: Drawing,
    foot: Sequence[str],
    size: tuple[float, float],
    scale: float,
) -> Page:
    box = drawing.box()
    assert box is not None
    free = _free(size, foot)
    said = Heading(
        name=build,
        caption=_caption(reason, size[0] - 2 * MARGIN),
        scale=scale,
        how="Each part is drawn with the gaps it must keep. Sizes in mm.",
    )
    words = Sketch("foot")
    top = MARGIN + len(foot) * LINE + 0.8
    if foot:
        words.add(Operation.FRAME, Line((MARGIN, top), (size[0] - MARGIN, top), pens.RULE))
    for n, line in enumerate(foot):
        at = (MARGIN, top - 0.8 - (n + 1) * LINE + 0.6)
        words.add(Operation.FRAME, Text(at, line, pens.SMALL))
    # A little above the middle, where the eye expects it.
    dx = free.middle[0] - box.middle[0]
    dy = free.y0 + (free.height - box.height) * 0.6 - box.y0
    return Page(
        title=f"{reason.face.value}: no room",
        width=size[0],
        height=size[1],
        drawings=(
            Positioned(drawing=drawing, x=dx, y=dy),
            Positioned(drawing=heading(said, size), x=0.0, y=0.0),
            Positioned(drawing=words.done(), x=0.0, y=0.0),
        ),
    )


def _free(size: tuple[float, float], foot: Sequence[str]) -> Box:
    return free_room(size, (len(foot) + 1) * LINE + 3.0)


def _caption(reason: Reason, room: float) -> str:
    names = [name for name, _, _ in reason.parts]
    face = reason.face.value.upper()
    if len(names) == 1:
        return f"{names[0]} has no place on the {face}"
    every = "both" if len(names) == 2 else "all"
    caption = f"{', '.join(names[:-1])} and {names[-1]} cannot {every} be on the {face}"
    if width(caption, pens.TITLE) > room:
        return f"{len(names)} parts cannot {every} be on the {face}"
    return caption


def _foot(reason: Reason, key: Sequence[str], size: tuple[float, float]) -> list[str]:
    room = size[0] - 2 * MARGIN
    said = [reason.say] if reason.say else []
    listed = [f"{'; '.join(key)}."] if key else []
    return [line for words in (*listed, *said) for line in wrap(words, pens.SMALL, room)]


# --- the picture ----------------------------------------------------------------------------


def _picture(reason: Reason, k: float) -> tuple[Drawing, tuple[str, ...]]:
    """The picture at a scale, and what numbers in it stand for."""
    w, h = (side * k for side in reason.room)
    sketch = Sketch("reason")
    room = Box(0.0, 0.0, w, h)
    sketch.add(Operation.GUIDE, *_hatching(room))
    sketch.add(Operation.EDGE, _rectangle(room, _ROOM))
    free = f"free on the {reason.face.value.upper()}"
    if width(free, pens.SMALL) + 2 * _AIR < w and h > 4 * pens.SMALL:
        sketch.add(Operation.NOTE, Text(room.middle, free, pens.SMALL, Anchor.MIDDLE, halo=True))
    _dimension(sketch, (0.0, w), h, f"free {_mm(reason.room[0])}", level=True, out=1.0)
    _dimension(sketch, (0.0, h), 0.0, f"free {_mm(reason.room[1])}", level=False, out=-1.0)
    key = _row(sketch, reason, room, k)
    if 1 < len(reason.parts) <= _MOST_PILED:
        _pile(sketch, reason, room, k)
    return sketch.done(), key


def _row(sketch: Sketch, reason: Reason, room: Box, k: float) -> tuple[str, ...]:
    """The parts side by side under the room, from its left edge."""
    tallest = max(h for _, _, h in reason.parts)
    low = room.y0 - _BETWEEN - tallest * k
    x, boxes = 0.0, []
    for _, w, h in reason.parts:
        boxes.append(Box(x, low, x + w * k, low + h * k))
        x += w * k
    key = _parts(sketch, reason, boxes, [_larger_side(box, room.x1, level=True) for box in boxes])
    needed = sum(w for _, w, _ in reason.parts)
    _dimension(sketch, (0.0, x), low, f"needed {_mm(needed)}", level=True, out=-1.0)
    if needed > reason.room[0] + _SAME:
        sketch.add(Operation.MARK, _limit((room.x1, room.y0), (room.x1, low)))
        over = f"{_mm(needed - reason.room[0])} too much"
        _dimension(sketch, (room.x1, x), low, over, level=True, out=-1.0, bold=True, row=1)
    # Of several, each has room by its height: what is too much there is gaps it shares with others.
    if tallest > reason.room[1] + _SAME and len(reason.parts) == 1:
        high = f"{_mm(tallest)} high, {_mm(tallest - reason.room[1])} too much"
        which = max(boxes, key=lambda box: box.height)
        _dimension(sketch, (low, which.y1), x, high, level=False, out=1.0, bold=True)
    return key


def _pile(sketch: Sketch, reason: Reason, room: Box, k: float) -> None:
    """The parts one above the other beside the room, from its lower edge."""
    left = room.x1 + _BETWEEN
    y, boxes = 0.0, []
    for _, w, h in reason.parts:
        boxes.append(Box(left, y, left + w * k, y + h * k))
        y += h * k
    _parts(sketch, reason, boxes, [_larger_side(box, room.y1, level=False) for box in boxes])
    right = max(box.x1 for box in boxes)
    needed = sum(h for _, _, h in reason.parts)
    _dimension(sketch, (0.0, y), right, f"needed {_mm(needed)}", level=False, out=1.0)
    if needed > reason.room[1] + _SAME:
        sketch.add(Operation.MARK, _limit((room.x1, room.y1), (right, room.y1)))
        over = f"{_mm(needed - reason.room[1])} too much"
        start = right + width(f"needed {_mm(needed)}", pens.SMALL) + 3 * _AIR
        _dimension(sketch, (room.y1, y), start, over, level=False, out=1.0, bold=True, edge=right)


def _larger_side(box: Box, limit: float, *, level: bool) -> Box:
    """The larger part of a box on one side of the line at which the room ends."""
    if level:
        sides = (replace(box, x1=min(box.x1, limit)), replace(box, x0=max(box.x0, limit)))
        return max(sides, key=lambda side: side.width)
    sides = (replace(box, y1=min(box.y1, limit)), replace(box, y0=max(box.y0, limit)))
    return max(sides, key=lambda side: side.height)


def _parts(
    sketch: Sketch, reason: Reason, boxes: Sequence[Box], rooms: Sequence[Box]
) -> tuple[str, ...]:
    """The parts' outlines, named within a room in each of them, or by a number."""
    key = []
    numbered = zip(reason.parts, boxes, rooms, strict=True)
    for number, ((name, w, h), box, room) in enumerate(numbered, start=1):
        sketch.add(Operation.CUT, _rectangle(box, _PART))
        size = f"{_mm(w)} × {_mm(h)}"
        texts = _within(room, (name, size)) or _within(box, (name, size))
        if not texts:
            texts = _within(room, (str(number),))
            key.append(f"{number} {name}, {size}")
        sketch.add(Operation.NOTE, *texts)
    return tuple(key)


def _within(box: Box, lines: tuple[str, ...]) -> tuple[Text, ...]:
    """Lines of words in the middle of a box, level or upright; none when they have no room."""
    size = pens.SMALL
    w = max(width(words, size, n == 0) for n, words in enumerate(lines)) + 2 * _AIR
    h = size * (1.0 + 1.7 * (len(lines) - 1)) + 2 * _AIR
    cx, cy = box.middle
    offsets = [size * 1.7 * ((len(lines) - 1) / 2 - n) for n in range(len(lines))]
    if w <= box.width and h <= box.height:
        spots, turn = [(cx, cy + off) for off in offsets], 0.0
    elif w <= box.height and h <= box.width:
        spots, turn = [(cx - off, cy) for off in offsets], 90.0
    else:
        return ()
    return tuple(
        Text(spot, words, size, Anchor.MIDDLE, turn, n == 0)
        for n, (spot, words) in enumerate(zip(spots, lines, strict=True))
    )


def _mm(length: float) -> str:
    return show(length, 1)


def _rectangle(box: Box, pen: Pen) -> Item:
    return polygon(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), pen)


def _limit(a: Point, b: Point) -> Line:
    """Where the room ends, drawn on to what is held against it."""
    length = math.dist(a, b)
    past = (b[0] + (b[0] - a[0]) / length * _PAST, b[1] + (b[1] - a[1]) / length * _PAST)
    return Line(a, past, _LIMIT)


def _hatching(room: Box) -> Iterator[Line]:
    """Lines rising at 45° within a rectangle."""
    count = math.floor((room.width + room.height) / _PITCH)
    for n in range(1, count + 1):
        off = n * _PITCH - room.height
        # y = x - off, cut off at the four sides.
        x0, x1 = max(0.0, off), min(room.width, off + room.height)
        if x1 - x0 > 0.2:
            yield Line((x0, x0 - off), (x1, x1 - off), _HATCH)


def _dimension(
    sketch: Sketch,
    span: tuple[float, float],
    at: float,
    words: str,
    *,
    level: bool,
    out: float,
    bold: bool = False,
    row: int = 0,
    edge: float | None = None,
) -> None:
    """A dimension line with arrows at both ends and its words.

    Args:
        sketch: what it is drawn into.
        span: from where to where, along x (level) or y, mm.
        at: y (x when upright) of the edge it stands beside.
        words: what it says.
        level: whether it runs across.
        out: 1 to the right or above the edge, -1 to the left or below.
        bold: in heavier letters.
        row: how many dimensions stand nearer to the edge.
        edge: where its extension lines begin, when not at that edge.
    """
    far = at + out * (_OFF + _ROW * row)

    def spot(along: float, off: float) -> Point:
        return (along, off) if level else (off, along)

    begin = (at if edge is None else edge) + out * 0.6
    for along in span:
        sketch.add(Operation.GUIDE, Line(spot(along, begin), spot(along, far + out * _PAST), _THIN))
    sketch.add(Operation.NOTE, *_arrowed(spot(span[0], far), spot(span[1], far)))
    middle = sum(span) / 2
    size = pens.TEXT if bold else pens.SMALL
    if not level:
        anchor = Anchor.LEFT if out > 0 else Anchor.RIGHT
        text = Text((far + out * 1.2, middle), words, size, anchor, 0.0, bold, True)
    elif width(words, size, bold) < abs(span[1] - span[0]):
        text = Text((middle, far + DESCENT * size + 0.3), words, size, Anchor.LOWER, 0.0, bold)
    else:
        after = (max(span) + 2 * _ARROW + 1.0, far)
        text = Text(after, words, size, Anchor.LEFT, 0.0, bold)
    sketch.add(Operation.NOTE, text)


def _arrowed(a: Point, b: Point) -> Iterator[Item]:
    """A line with arrows at both ends; turned round from outside where it is short."""
    length = math.dist(a, b)
    if length < _SAME:
        return
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    inner = length >= 3 * _ARROW
    out = 0.0 if inner else 2 * _ARROW
    yield Line((a[0] - ux * out, a[1] - uy * out), (b[0] + ux * out, b[1] + uy * out), _THIN)
    way = 1.0 if inner else -1.0
    for tip, sign in ((a, way), (b, -way)):
        tail = (tip[0] + ux * _ARROW * sign, tip[1] + uy * _ARROW * sign)
        nx, ny = -uy * _ARROW * 0.17, ux * _ARROW * 0.17
        sides = ((tail[0] + nx, tail[1] + ny), (tail[0] - nx, tail[1] - ny))
        yield polygon((tip, *sides), _THIN, Ink.BLACK)
