"""What every sheet carries: margins, 100 mm bars, the outline of a bank card, the title block.

A print that came out at the wrong scale is the commonest reason for a spoilt box, and a viewer may
ignore the file's wish to be printed unscaled; so each sheet can be checked with a card.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from fit.draw import pens
from fit.draw.correction import Correction
from fit.draw.drawing import (
    Anchor,
    Box,
    Drawing,
    Line,
    Operation,
    Sketch,
    Text,
    polygon,
    rounded,
)
from fit.trade.lettering import shorten, width, wrap
from fit.trade.paper import Card, PaperName, card, paper

MARGIN: Final = 10.0
"""Nothing is drawn nearer to the edge of the paper, mm."""

BAR: Final = 100.0
"""Length of the check bars, mm."""

_PEN = 0.2
"""Half a pen's width, so that a frame's line itself stays off the margin, mm."""
_TICK = 4.0
_LANE = 7.0
"""Width kept for a bar, mm."""
_GAP = 3.0
_LEAST_TITLE = 62.0
_TITLE = 94.0
"""Width of a title block that need not fill its place, mm."""
_LEAST_SPARE = 50.0
_LEAST_LIST = 15.0
_LINE = 1.62
"""Distance of two lines of words, in cap heights."""


class Lay(StrEnum):
    """How a sheet lies and where its furniture stands."""

    UPRIGHT = "upright"
    """Portrait, furniture along the bottom."""
    LEVEL = "level"
    """Landscape, furniture along the bottom."""
    LEVEL_BESIDE = "level_beside"
    """Landscape, furniture in a column on the right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A sheet before anything is drawn on it: all boxes in paper coordinates, mm.

    Attributes:
        name: of the paper.
        width, height: of the paper as it lies.
        free: where views and tables go.
        bar_across, bar_up: room of the two bars.
        card: the card's outline.
        title: the title block.
        stretch: factors for x and y that the page needs, see `Page`.
    """

    name: str
    width: float
    height: float
    free: Box
    bar_across: Box
    bar_up: Box
    card: Box
    title: Box
    stretch: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What the title block says.

    Attributes:
        build: name of the build.
        view: what is shown, such as ``FRONT, seen from OUTSIDE``.
        lines: more about it, one fact a line.
        fingerprint: of the inputs.
        sheet, of: page number and count.
    """

    build: str
    view: str
    lines: tuple[str, ...]
    fingerprint: str
    sheet: int
    of: int


def form(name: PaperName, lay: Lay, correction: Correction | None = None) -> Form:
    """Lay out a sheet's furniture.

    Raises:
        ValueError: when the paper is too small for the card and the bars.
    """
    size = paper(name)
    return form_of_size(name.value, size.w, size.h, lay, correction)


def form_of_size(
    name: str, short: float, long: float, lay: Lay, correction: Correction | None = None
) -> Form:
    """Lay out the furniture of paper of any size, given upright, mm.

    With a correction the margins are kept both in the file and on the printed paper.

    Raises:
        ValueError: when it is too small for the card and the bars.
    """
    w, h = (short, long) if lay is Lay.UPRIGHT else (long, short)
    x, y = correction.on(w, h) if correction else (1.0, 1.0)
    left, low = _inset(w, x), _inset(h, y)
    inner = Box(left, low, w - left, h - low)
    if min(inner.width, inner.height) < BAR + 2 * _LANE:
        raise ValueError(f"{name} paper is too small for a 100 mm bar and a card")
    lay_out = _beside if lay is Lay.LEVEL_BESIDE else _below
    return replace(lay_out(name, w, h, inner, card()), stretch=(x, y))


def _inset(length: float, factor: float) -> float:
    """Distance from the edge of what, stretched by a factor, still keeps off the margin, mm."""
    return length / 2 - (length / 2 - MARGIN) / max(1.0, factor) + _PEN


def _below(name: str, w: float, h: float, inner: Box, id1: Card) -> Form:
    """Bars at the left and bottom edge, the card in their corner, the title beside or above."""
    x, y = inner.x0 + _LANE + _GAP, inner.y0 + _LANE + _GAP
    place = Box(x, y, x + id1.w, y + id1.h)
    left = place.x1 + _GAP
    if inner.x1 - left >= _LEAST_TITLE:
        title = Box(left, y, inner.x1, place.y1)
        top = place.y1
    else:
        title = Box(x, place.y1 + _GAP, inner.x1, place.y1 + _GAP + 40.0)
        top = title.y1
    return Form(
        name=name,
        width=w,
        height=h,
        free=Box(x, top + _GAP, inner.x1, inner.y1),
        bar_across=Box(x, inner.y0, inner.x1, inner.y0 + _LANE),
        bar_up=Box(inner.x0, y, inner.x0 + _LANE, min(inner.y1, y + BAR + 20.0)),
        card=place,
        title=title,
    )


def _beside(name: str, w: float, h: float, inner: Box, id1: Card) -> Form:
    """A column on the right: one bar along its bottom, the card above it, the other bar beside."""
    column = max(BAR + 4.0, id1.w + _GAP + _LANE)
    x, y = inner.x1 - column, inner.y0 + _LANE + _GAP
    place = Box(x, y, x + id1.w, y + id1.h)
    right = inner.x1 - _LANE
    return Form(
        name=name,
        width=w,
        height=h,
        free=Box(inner.x0, inner.y0, x - 2 * _GAP, inner.y1),
        bar_across=Box(x, inner.y0, inner.x1, inner.y0 + _LANE),
        bar_up=Box(right, y, inner.x1, min(inner.y1, y + BAR + 20.0)),
        card=place,
        title=Box(x, place.y1 + _GAP, right - _GAP, min(inner.y1, place.y1 + _GAP + 62.0)),
    )


def narrowed(on: Form) -> tuple[Form, tuple[Box, ...]]:
    """The form with a title block no wider than it need be, and all empty rooms, the main first.

    Rooms are the largest empty rectangles; they overlap where the paper's free part has a corner.
    """
    place, title, free = on.card, on.title, on.free
    if title.x0 > place.x1 and title.width >= _TITLE + _LEAST_SPARE + _GAP:
        # A title block belongs into the lower right corner; the room is between it and the card.
        title = Box(title.x1 - _TITLE, title.y0, title.x1, title.y1)
        spare = Box(place.x1 + 2 * _GAP, title.y0, title.x0 - 2 * _GAP, free.y1)
        return replace(on, title=title), (free, spare)
    top = max(title.y1, on.bar_up.y1)
    if title.y0 > place.y1 and place.x0 > free.x1:
        above = Box(free.x0, top + 2 * _GAP, on.width - free.x0, free.y1)
        return on, (free, above) if above.height > _LEAST_LIST else (free,)
    return on, (free,)


def furniture(on: Form, heading: Heading) -> Drawing:
    """The bars, the card and the title block of one sheet, in paper coordinates."""
    sketch = Sketch("furniture")
    _bar(sketch, on.bar_across, upright=False)
    _bar(sketch, on.bar_up, upright=True)
    _card(sketch, on.card)
    _title(sketch, on, heading)
    return sketch.done()


def _bar(sketch: Sketch, lane: Box, *, upright: bool) -> None:
    """A 100 mm line with a tick each 10 mm, long ones at its ends, and its length in words."""
    x, y = lane.x0, lane.y0
    middle = (lane.x0 + lane.x1) / 2 if upright else (lane.y0 + lane.y1) / 2

    def at(along: float, side: float) -> tuple[float, float]:
        return (middle + side, y + along) if upright else (x + along, middle + side)

    sketch.add(Operation.FRAME, Line(at(0, 0), at(BAR, 0), pens.FRAME))
    for step in range(11):
        half = _TICK / 2 if step in (0, 10) else _TICK / 4
        pen = pens.RULE
        sketch.add(Operation.FRAME, Line(at(step * 10.0, -half), at(step * 10.0, half), pen))
    room = (lane.height if upright else lane.width) - BAR
    words, size = f"{BAR:.0f} mm", pens.TEXT
    if room >= width(words, size) + 2:
        where, anchor = at(BAR + 2.0, 0.0), Anchor.LEFT
    else:
        # No room past the end: above the bar, between two short ticks.
        where, anchor = at(BAR / 2, _TICK / 4 + 0.3), Anchor.LOWER
        size = pens.SMALL
    turn = 90.0 if upright else 0.0
    if upright and anchor is Anchor.LOWER:
        where = at(BAR / 2, -_TICK / 4 - 0.3)
    sketch.add(Operation.FRAME, Text(where, words, size, anchor, turn))


def _card(sketch: Sketch, place: Box) -> None:
    id1 = card()
    sketch.add(Operation.FRAME, rounded(place, id1.radius, pens.FRAME))
    cx, cy = place.middle
    says = (
        ("lay a bank card here", pens.TITLE, 4.0),
        ("it must just cover this outline,", pens.TEXT, -3.0),
        ("or the print is the wrong size: do not cut", pens.TEXT, -8.0),
        (f"{id1.w:.2f} × {id1.h:.2f} mm, ISO/IEC 7810 ID-1", pens.SMALL, -18.0),
    )
    for words, size, dy in says:
        sketch.add(Operation.FRAME, Text((cx, cy + dy), words, size, Anchor.MIDDLE))


def title_fits(on: Form, heading: Heading) -> bool:
    """Whether all lines of a heading go into the title block."""
    room = on.title.width - 5.0
    used = _title_head(on, heading)[1] - 1.6
    lines = sum(1 for _ in _title_words(heading, room))
    return used - (lines - 1) * pens.SMALL * _LINE - pens.SMALL >= _foot_rule(on) + 0.8


def _title_head(on: Form, heading: Heading) -> tuple[list[Text], float]:
    """The build's name and what is shown, and the height of the rule below them."""
    box = on.title
    left, room = box.x0 + 2.5, box.width - 5.0
    y = box.y1 - 2.5
    name = shorten(heading.build, pens.NAME, room, True)
    texts = [Text((left, y), name, pens.NAME, Anchor.UPPER_LEFT, 0.0, True)]
    y -= pens.NAME + 2.2
    for line in _two_lines(heading.view, room):
        texts.append(Text((left, y), line, pens.TITLE, Anchor.UPPER_LEFT, 0.0, True))
        y -= pens.TITLE + 1.6
    return texts, y


def _title(sketch: Sketch, on: Form, heading: Heading) -> None:
    box = on.title
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    texts, y = _title_head(on, heading)
    sketch.add(Operation.FRAME, polygon(corners, pens.FRAME), *texts)
    sketch.add(Operation.FRAME, Line((box.x0, y), (box.x1, y), pens.RULE))
    foot = _title_foot(sketch, on, heading)
    y -= 1.6
    for words, bold in _title_words(heading, box.width - 5.0):
        if y - pens.SMALL < foot + 0.8:
            break
        text = Text((box.x0 + 2.5, y), words, pens.SMALL, Anchor.UPPER_LEFT, 0.0, bold)
        sketch.add(Operation.FRAME, text)
        y -= pens.SMALL * _LINE


def _foot_rule(on: Form) -> float:
    """Height of the rule above the bottom row of a title block."""
    return on.title.y0 + pens.SMALL + 3.2


def _two_lines(words: str, room: float) -> list[str]:
    """The view's name on one line, or on two, broken at the last comma where both go."""
    if width(words, pens.TITLE, True) <= room:
        return [words]
    for n in range(len(words) - 1, 0, -1):
        pair = [words[: n + 1], words[n + 2 :]]
        if words[n : n + 2] == ", " and all(width(p, pens.TITLE, True) <= room for p in pair):
            return pair
    lines = wrap(words, pens.TITLE, room, True)
    lines = [*lines[:1], " ".join(lines[1:])] if len(lines) > 1 else lines
    return [shorten(line, pens.TITLE, room, True) for line in lines]


def _title_words(heading: Heading, room: float) -> Iterator[tuple[str, bool]]:
    say = "Print at 100 % (actual size). Check bars before cutting."
    for line in wrap(say, pens.SMALL, room, True):
        yield line, True
    for fact in heading.lines:
        for line in wrap(fact, pens.SMALL, room):
            yield shorten(line, pens.SMALL, room), False


def _title_foot(sketch: Sketch, on: Form, heading: Heading) -> float:
    """The bottom row: inputs, paper, page; gives the height of the rule above it."""
    box = on.title
    left, room = box.x0 + 2.5, box.width - 5.0
    rule = _foot_rule(on)
    page = f"sheet {heading.sheet} of {heading.of}"
    inputs = f"mm, 1:1 on {on.name}; inputs {heading.fingerprint}"
    space = room - width(page, pens.SMALL, True) - 3.0
    low = box.y0 + 1.8
    sketch.add(
        Operation.FRAME,
        Line((box.x0, rule), (box.x1, rule), pens.RULE),
        Text((left, low), shorten(inputs, pens.SMALL, space), pens.SMALL),
        Text((box.x1 - 2.5, low), page, pens.SMALL, Anchor.LOWER_RIGHT, 0.0, True),
    )
    return rule
