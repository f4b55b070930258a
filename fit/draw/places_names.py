"""Names of parts on the small pictures of a layout: where they find room."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fit.draw import pens
from fit.draw.drawing import Box, Drawing, Item, Line, Operation, Point, Sketch, Text, item_box
from fit.draw.labels import Placer, Segment, Wanted, crosses, size_of
from fit.draw.places_dims import marked_width, marked_words
from fit.draw.places_views import Name, Picture
from fit.draw.view import segments
from fit.trade.lettering import DESCENT, width

_AIR = 0.5
_NEAR = 9.0
"""Names that stand elsewhere as well are not led further than this, mm."""
_STEPS = (0.0, -0.5, 0.5, -1.0, 1.0)
_SPOTS = sorted(((x, y) for x in _STEPS for y in _STEPS), key=lambda p: (math.hypot(*p), p))
"""Where in what they name words are tried: shares of the free room, from its middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """The names of a picture.

    Attributes:
        drawing: those that found room.
        key: those that are numbered instead, number and name.
        lost: those that found no room at all.
    """

    drawing: Drawing
    key: tuple[tuple[str, Name], ...] = ()
    lost: tuple[Name, ...] = ()


def named(picture: Picture, region: Box, *, numbers: bool = True) -> Named:
    """Place the names of a picture's parts.

    Args:
        picture: the picture.
        region: where names may stand, mm.
        numbers: a name without room may be replaced by a number.
    """
    placing = _Placing(picture, region)
    # Those that were found first: they are what is looked for.
    wanted = sorted((n for n in picture.names if n.leader), key=lambda n: not n.found)
    for ghosts in (False, True):
        placing.renew(ghosts=ghosts)
        wanted = [name for name in wanted if not placing.within(name, name.words)]
    placing.settle()
    for across in (False, True):
        placing.renew(across=across)
        wanted = [name for name in wanted if not placing.beside(name, name.words)]
    wanted = [name for name in wanted if name.must]
    key: list[tuple[str, Name]] = []
    lost: list[Name] = []
    for name in wanted:
        number = str(len(key) + 1)
        if numbers and (placing.within(name, number) or placing.beside(name, number)):
            key.append((number, name))
        else:
            lost.append(name)
    placing.renew()
    for name in picture.names:
        if not name.leader:
            placing.within(name, name.words)
    return Named(drawing=placing.done(), key=tuple(key), lost=tuple(lost))


class _Placing:
    """Names finding their places one after the other."""

    def __init__(self, picture: Picture, region: Box) -> None:
        self._picture = picture
        self._region = region
        self._kept: list[Box] = list(picture.hard)
        self._items: list[Item] = []
        self._soft: tuple[Segment, ...] = ()
        self._ghosts = False
        self.renew()

    def renew(self, *, ghosts: bool = False, across: bool = False) -> None:
        """Start again with all that is placed.

        Args:
            ghosts: words within what they name may stand on lines of what lies behind.
            across: names may stand on lines across a view.
        """
        picture = self._picture
        placer = Placer(self._region)
        placer.keep(*self._kept)
        placer.keep_lines(picture.lines)
        placer.keep_lines(s for item in self._items for s in segments(item))
        placer.avoid(picture.soft)
        self._ghosts = ghosts
        self._soft = () if ghosts else picture.soft
        if across:
            placer.avoid(picture.across)
        else:
            placer.keep_lines(picture.across)
        self._placer = placer

    def settle(self) -> None:
        """From here on names keep off the things of other names."""
        self._kept += self._picture.things

    def within(self, name: Name, words: str) -> bool:
        """Put words into what they name, if they have room there."""
        w, h = marked_width(words, pens.SMALL, found=name.found), size_of((words,), pens.SMALL)[1]
        spots = (spot for room in name.inside for spot in _spots(room, w, h))
        box = self._placer.first(spot for spot in spots if self._clear(name, spot))
        if box is None:
            return False
        self._kept.append(box)
        self._put(name, words, (box.x0, box.y0 + DESCENT * pens.SMALL))
        return True

    def _clear(self, name: Name, spot: Box) -> bool:
        """Whether a name in a spot stands on nothing that lies behind, nor in a lesser thing."""
        wide = spot.grown(_AIR)
        if any(crosses(line, wide) for line in self._soft):
            return False
        own = _area(name.about)
        return self._ghosts or not any(
            other.about.meets(wide)
            for other in self._picture.names
            if other.leader and other is not name and _area(other.about) < own
        )

    def beside(self, name: Name, words: str) -> bool:
        """Put words near what they name, a line leading to it."""
        wanted = Wanted(
            lines=(_padded(words, found=name.found),),
            about=name.about,
            round=name.round,
            height=pens.SMALL,
        )
        items = self._placer.place(wanted)
        leaders = [math.dist(i.start, i.end) for i in items if isinstance(i, Line)]
        if not name.must and max(leaders, default=0.0) > _NEAR:
            # The room far off stays taken until the next start: it is hardly missed.
            return False
        for item in items:
            if isinstance(item, Text):
                self._kept.append(item_box(item))
                self._put(name, words, item.at)
            else:
                self._items.append(item)
        return bool(items)

    def _put(self, name: Name, words: str, at: Point) -> None:
        self._items += marked_words(at, words, pens.SMALL, found=name.found)

    def done(self) -> Drawing:
        """All that was placed."""
        sketch = Sketch(f"{self._picture.name}, names")
        sketch.add(Operation.NOTE, *self._items)
        return sketch.done()


def _area(box: Box) -> float:
    return box.width * box.height


def _spots(room: Box, w: float, h: float) -> Iterator[Box]:
    free_x, free_y = (room.width - w) / 2, (room.height - h) / 2
    if free_x < 0 or free_y < 0:
        return
    cx, cy = room.middle
    for sx, sy in _SPOTS:
        x, y = cx + sx * free_x, cy + sy * free_y
        yield Box(x - w / 2, y - h / 2, x + w / 2, y + h / 2)


def _padded(words: str, *, found: bool) -> str:
    """Words as wide in plain letters as they are with their mark."""
    room = marked_width(words, pens.SMALL, found=found)
    while width(words, pens.SMALL) < room:
        words = f" {words}"
    return words


def told(keys: Sequence[tuple[str, Named]]) -> Iterator[str]:
    """What the numbers mean, and which names found no room, view by view."""
    for view, names in keys:
        if names.key:
            listed = ", ".join(f"{number} {name.words}" for number, name in names.key)
            yield f"{view}: {listed}."
        if names.lost:
            yield f"{view}, no room for: {', '.join(name.words for name in names.lost)}."
