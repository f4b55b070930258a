"""What a face says beside its parts: where legends and the marks round knobs find room.

The front label prints it and the rule `legends` judges it, both from here. Everything is in the
face's frame, seen from outside, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from fit.geometry.box import Face
from fit.geometry.frames import Vec, dot, scale
from fit.geometry.rects import Rect
from fit.geometry.scene import Cut, Opening, Placed, Scene
from fit.geometry.shapes import Point2
from fit.geometry.support import extent
from fit.model.build import Scale, Used
from fit.model.part import BushingPart
from fit.trade.lettering import text_corners
from fit.trade.optics import legend_height

RULE: Final = "legends"
"""The rule that judges legends; ``needs: {legends: …}`` moves them on the label, too."""

BEYOND: Final = 2.0
"""Legends keep off knobs and bezels by this, mm: a finger at the knob must not hide them
(common practice, no source)."""

AIR: Final = 0.5
"""Letters and marks keep off everything else, and off the edge of the flat, by this, mm."""

LEAST_MINUTES: Final = 16.0
"""Least height of lettering, minutes of arc (NUREG-0700); for the numbers of scales."""

_FURTHER: Final = (0.0, 1.0, 2.5, 4.0, 6.0, 9.0, 13.0, 18.0)
"""How much further off a legend is tried, mm."""
_TICK_GAP = 1.0
_TICK = 2.2
_SHORT_TICK = 1.4
_EVERY = (1, 2, 5, 10, 20, 50, 100)
"""Each so many ticks are numbered and longer."""
_MOST_NUMBERS = 10
_STEP = 0.25
_HALVINGS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Letters:
    """Words about their middle, their capitals `height` mm high, turned counter-clockwise."""

    at: Point2
    words: str
    height: float
    turn: float
    bold: bool = False

    def room(self) -> Rect:
        """The upright rectangle round the words, descenders included."""
        corners = text_corners(self.at, self.words, self.height, "middle", self.turn, self.bold)
        return _around(corners)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A mark of a scale, from near the knob outwards."""

    start: Point2
    end: Point2

    def room(self) -> Rect:
        """The upright rectangle round it."""
        return _around((self.start, self.end))


Mark = Tick | Letters


@dataclass(frozen=True, slots=True, kw_only=True)
class Legend:
    """The legend of one part.

    Attributes:
        part: its name.
        words: what it says.
        letters: where it stands; None where it finds no room.
        gap: between the letters' room and the part's; without room the most that would be free,
            below 0 when the letters would lie under the part.
        beyond: the least gap it was looked for with.
        nearer: whether it would be clear of all else at that lesser gap; not, when it would not
            even with all of its height under the part.
    """

    part: str
    words: str
    letters: Letters | None
    gap: float
    beyond: float
    nearer: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """The scale round one part's knob.

    Attributes:
        part: its name.
        marks: ticks and numbers.
        free: from them to the nearest other thing on the face, or to the edge of its flat.
        nearest: the name of that thing, empty for the edge.
    """

    part: str
    marks: tuple[Mark, ...]
    free: float
    nearest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Inscribed:
    """All that is written on a face.

    Attributes:
        legends, scales: in the order of the build's parts.
        covered: what each part hides from view, scale included, by its name.
    """

    legends: tuple[Legend, ...]
    scales: tuple[Marks, ...]
    covered: dict[str, Rect]


def inscribed(scene: Scene, face: Face) -> Inscribed:
    """Legends and scales of the parts on a face, each legend clear of everything else.

    A legend is tried above its part as the box is used, then below, right and left of it, each
    time further off. Scales stand round their knobs, come what may.
    """
    turn = reading_turn(scene, face)
    parts = [
        (used, scene.placed[used.name])
        for used in scene.build.parts
        if used.name in scene.placed and scene.placed[used.name].face is face.name
    ]
    there = (hole.opening for hole in scene.there)
    openings = [o for o in (*scene.openings, *there) if o.face is face.name]
    solid = {u.name: r for u, _ in parts if (r := _hidden(scene, face, u.name, openings))}
    covered = dict(solid)
    scales = []
    for used, placed in parts:
        marks = tuple(_marks(scene, used, placed, turn)) if used.name in solid else ()
        if marks:
            scales.append(_scale(face, used.name, marks, solid, openings))
            covered[used.name] = _joined([covered[used.name], *(m.room() for m in marks)])
    legends: list[Legend] = []
    for used, _ in parts:
        if used.legend and used.name in covered:
            taken = [room for name, room in covered.items() if name != used.name]
            taken += [opening_room(o) for o in openings if o.part != used.name]
            taken += [done.letters.room() for done in legends if done.letters is not None]
            place = _Place(scene, face, covered[used.name], turn, taken)
            legends.append(place.legend(used.name, used.legend))
    return Inscribed(legends=tuple(legends), scales=tuple(scales), covered=covered)


def beyond(scene: Scene) -> float:
    """How far legends keep off what they belong to: 2 mm, or what the build's needs say."""
    return next((float(n.value) for n in scene.build.needs if n.rule == RULE), BEYOND)


# --- how it is read


def reading_turn(scene: Scene, face: Face) -> float:
    """By how much letters on a face are turned to be read in use: 0, 90, 180 or 270 degrees.

    On a face that lies level in use they are read from the front, unturned.
    """
    if lies_level(scene, face):
        return 0.0
    x, y, _ = _up(scene, face)
    return round(math.degrees(math.atan2(-x, y)) / 90.0) * 90.0 % 360.0


def lies_level(scene: Scene, face: Face) -> bool:
    """Whether a face lies rather than stands in use."""
    x, y, z = _up(scene, face)
    return abs(z) > math.hypot(x, y)


def _up(scene: Scene, face: Face) -> Vec:
    """Up in use, in a face's frame."""
    up = scale(scene.faces[scene.build.stands_on].frame.z, -1.0)
    return (dot(up, face.frame.x), dot(up, face.frame.y), dot(up, face.frame.z))


# --- what is taken


def opening_room(opening: Opening) -> Rect:
    """The upright rectangle round an opening, its countersink and key included."""
    if opening.drilled:
        key = opening.height if opening.cut is Cut.KEYED else 0.0
        size = max(opening.diameter + 2 * key, opening.sink)
        return Rect.around(opening.across, opening.up, size)
    a = math.radians(0.0 if opening.cut is Cut.RIM_SLOT else opening.turn)
    c, s = abs(math.cos(a)), abs(math.sin(a))
    w, h = opening.width / 2, opening.height / 2
    x, y = w * c + h * s, w * s + h * c
    return Rect(opening.across - x, opening.up - y, opening.across + x, opening.up + y)


def _hidden(scene: Scene, face: Face, name: str, openings: Iterable[Opening]) -> Rect | None:
    """The room of what a part has outside a face and of its openings there; None for nothing."""
    x, y = (dot(face.frame.origin, axis) for axis in (face.frame.x, face.frame.y))
    rooms = [opening_room(o) for o in openings if o.part == name]
    for body in scene.bodies:
        if body.owner == name and body.outside and body.seat is face.name:
            x0, x1 = extent(body.shape, body.pose, face.frame.x)
            y0, y1 = extent(body.shape, body.pose, face.frame.y)
            rooms.append(Rect(x0 - x, y0 - y, x1 - x, y1 - y))
    return _joined(rooms) if rooms else None


def _joined(rooms: Sequence[Rect]) -> Rect:
    return Rect(
        min(r.x0 for r in rooms),
        min(r.y0 for r in rooms),
        max(r.x1 for r in rooms),
        max(r.y1 for r in rooms),
    )


def _around(points: Iterable[Point2]) -> Rect:
    listed = list(points)
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    return Rect(min(xs), min(ys), max(xs), max(ys))


def _apart(a: Rect, b: Rect) -> float:
    """Between two rectangles: their distance, or below 0 how far one must move to be free."""
    dx = max(b.x0 - a.x1, a.x0 - b.x1)
    dy = max(b.y0 - a.y1, a.y0 - b.y1)
    return math.hypot(dx, dy) if dx > 0 and dy > 0 else max(dx, dy)


def _inside(room: Rect, face: Face) -> float:
    """From a rectangle to the edge of a face's flat part; below 0 where it reaches over it."""
    corners = ((room.x0, room.y0), (room.x1, room.y0), (room.x1, room.y1), (room.x0, room.y1))
    flat = face.flat
    least = math.inf
    for (ax, ay), (bx, by) in zip(flat, (*flat[1:], flat[0]), strict=True):
        size = math.hypot(bx - ax, by - ay)
        if size > 0:
            sides = [((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / size for x, y in corners]
            least = min(least, *sides)
    return least


# --- legends


class _Place:
    """Where the legend of one part may stand."""

    def __init__(
        self, scene: Scene, face: Face, about: Rect, turn: float, taken: Sequence[Rect]
    ) -> None:
        self._face, self._about, self._turn, self._taken = face, about, turn, taken
        self._height = legend_height(float(scene.build.read_from))
        self._beyond = beyond(scene)

    def legend(self, part: str, words: str) -> Legend:
        """The first place with room; else how much room there would be."""
        for further in _FURTHER:
            for degrees in (90.0, 270.0, 0.0, 180.0):
                letters = self._beside(words, degrees + self._turn, self._beyond + further)
                if self._clear(letters):
                    return Legend(
                        part=part,
                        words=words,
                        letters=letters,
                        gap=self._beyond + further,
                        beyond=self._beyond,
                    )
        nearer, gap = max(
            self._most(words, degrees + self._turn) for degrees in (90.0, 270.0, 0.0, 180.0)
        )
        return Legend(
            part=part, words=words, letters=None, gap=gap, beyond=self._beyond, nearer=nearer
        )

    def _clear(self, letters: Letters) -> bool:
        room = letters.room()
        free = all(_apart(room, taken) >= AIR for taken in self._taken)
        return free and _inside(room, self._face) >= AIR

    def _most(self, words: str, degrees: float) -> tuple[bool, float]:
        """Whether, and at which gap below the one asked for, a legend would be clear that way.

        At the least the letters reach under the part with all of their height.
        """
        room = self._beside(words, degrees, 0.0).room()
        least = -min(room.x1 - room.x0, room.y1 - room.y0)
        gap = self._beyond
        while gap > least:
            lower = max(gap - _STEP, least)
            if self._clear(self._beside(words, degrees, lower)):
                low, high = lower, gap
                for _ in range(_HALVINGS):
                    middle = (low + high) / 2
                    clear = self._clear(self._beside(words, degrees, middle))
                    low, high = (middle, high) if clear else (low, middle)
                return True, low
            gap = lower
        return False, least

    def _beside(self, words: str, degrees: float, gap: float) -> Letters:
        """Words beside the part, the letters' own room `gap` mm away from its."""
        about = self._about
        middle = ((about.x0 + about.x1) / 2, (about.y0 + about.y1) / 2)
        loose = Letters(at=middle, words=words, height=self._height, turn=self._turn, bold=True)
        room = loose.room()
        # Letters reach further above their middle than below: put the room's edge at the gap.
        way = (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)))
        dx = dy = 0.0
        if way[0] > 0.5:
            dx = about.x1 + gap - room.x0
        elif way[0] < -0.5:
            dx = about.x0 - gap - room.x1
        elif way[1] > 0.5:
            dy = about.y1 + gap - room.y0
        else:
            dy = about.y0 - gap - room.y1
        at = (middle[0] + dx, middle[1] + dy)
        return Letters(at=at, words=words, height=self._height, turn=self._turn, bold=True)


# --- scales


def knob_radius(used: Used) -> float | None:
    """Radius of a part's knob, mm, or None."""
    part = used.part
    if isinstance(part, BushingPart) and part.knob is not None:
        return float(part.knob.diameter) / 2
    return None


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


def _marks(scene: Scene, used: Used, placed: Placed, turn: float) -> Iterator[Mark]:
    """Ticks and numbers round a knob; the numbers stand upright in use."""
    radius = knob_radius(used)
    if used.scale is None or radius is None:
        return
    at = (placed.across, placed.up)
    height = legend_height(float(scene.build.read_from), LEAST_MINUTES)
    begin = radius + _TICK_GAP
    spots = scale_spots(used.scale)
    every = next(n for n in _EVERY if (len(spots) - 1) / n <= _MOST_NUMBERS)
    for n, (number, clockwise) in enumerate(spots):
        # Clockwise from straight up in use, which letters turned by `turn` point to.
        a = math.radians(90.0 + turn - clockwise)
        told = n % every == 0
        end = begin + (_TICK if told else _SHORT_TICK)
        cos, sin = math.cos(a), math.sin(a)
        yield Tick(
            start=(at[0] + begin * cos, at[1] + begin * sin),
            end=(at[0] + end * cos, at[1] + end * sin),
        )
        if told:
            size = Letters(at=(0.0, 0.0), words=str(number), height=height, turn=turn).room()
            wide, high = size.x1 - size.x0, size.y1 - size.y0
            # So far out that the letters' room keeps clear of the tick, whatever its direction.
            out = end + 0.6 + abs(cos) * wide / 2 + abs(sin) * high / 2
            place = (at[0] + out * cos, at[1] + out * sin)
            yield Letters(at=place, words=str(number), height=height, turn=turn)


def _scale(
    face: Face, name: str, marks: tuple[Mark, ...], solid: dict[str, Rect], openings: list[Opening]
) -> Marks:
    rooms = [m.room() for m in marks]
    others = [(other, room) for other, room in solid.items() if other != name]
    others += [(o.part, opening_room(o)) for o in openings if o.part != name]
    near = [(_apart(mark, room), other) for mark in rooms for other, room in others]
    near += [(_inside(mark, face), "") for mark in rooms]
    free, nearest = min(near)
    return Marks(part=name, marks=marks, free=free, nearest=nearest)
