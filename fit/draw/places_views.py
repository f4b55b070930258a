"""Small pictures of a layout: each face from outside, the box from above. Not for cutting.

Faces stand the way up they have in use. Everything is on paper at a scale already, so that words,
pens and dashes keep their size.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from fit.draw import pens
from fit.draw.cuts import as_items, reach
from fit.draw.drawing import (
    Anchor,
    Box,
    Circle,
    Drawing,
    Ink,
    Item,
    Line,
    Operation,
    Pen,
    Sketch,
    Style,
    Text,
    item_box,
    join,
)
from fit.draw.faces import edge_names, wanted_on
from fit.draw.ghosts import Ghost
from fit.draw.labels import Segment
from fit.draw.places_dims import THIN, Beside, Ruled, Station, ruled
from fit.draw.places_look import Looked, placed_on
from fit.draw.places_sight import Sight
from fit.draw.there import there_items
from fit.draw.view import segments
from fit.geometry.box import Face
from fit.geometry.fixtures import LIP
from fit.geometry.legends import lies_level, reading_turn
from fit.geometry.paths import face_outline, outline
from fit.geometry.scene import BOX, Cut, Opening, Role, Scene
from fit.model.words import UPRIGHT, FaceName
from fit.units import show

EDGE: Final = Pen(width=0.25)
OPENING: Final = Pen(width=0.35)
_VENT = Pen(width=0.18)
OUTSIDE: Final = Pen(width=0.13)
BEHIND: Final = Pen(width=0.13, style=Style.DASHED, ink=Ink.DARK)
_CENTRE = Pen(width=0.13, style=Style.DASH_DOT)

_BEYOND = 2.0
"""How far a centre line reaches past the face, mm."""
_CROSS = 1.2
"""Half a cross at the middle of a placed part, mm."""
_EDGE_WORDS = 1.3
"""From an edge to its name, mm."""
_SHARES = (0.03, 0.75, 0.25, 0.9, 0.6, 0.4)
_FURTHER = 1.5
_INNER = 0.8
_LEAST_GHOST = 3.0
"""What lies behind and is narrower than this gets no name, mm on paper."""
_HIDDEN = 0.3
"""What lies behind and reaches less than this past what stands before it is not drawn, mm."""
_CAPTION_AIR = 1.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """A part's name that wants a place.

    Attributes:
        words: the name.
        about: what it names, on paper.
        inside: rooms in which it may stand without a line leading to it, the best first.
        round: whether what it names is round.
        found: whether the place was found.
        leader: whether it may stand further off, with a line leading to it.
        must: it is also named far off, or by a number, or as one without room.
    """

    words: str
    about: Box
    inside: tuple[Box, ...] = ()
    round: bool = False
    found: bool = False
    leader: bool = True
    must: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One view on paper, before its names are placed.

    Attributes:
        name, note: its caption: the name, and what is to be said of it.
        drawing: all but the names of parts.
        outline: the room of what is shown, without dimensions, mm.
        room: the room of everything.
        names: wanted, the most important first.
        hard: boxes no name may touch.
        lines: lines no name may touch.
        across: lines that names may stand on where there is no other room.
        soft: lines that names should not stand on.
        things: boxes in which only the name of what is there may stand.
    """

    name: str
    note: str
    drawing: Drawing
    outline: Box
    room: Box
    names: tuple[Name, ...]
    hard: tuple[Box, ...] = ()
    lines: tuple[Segment, ...] = ()
    across: tuple[Segment, ...] = ()
    soft: tuple[Segment, ...] = ()
    things: tuple[Box, ...] = ()


def face_picture(
    looked: Looked, name: FaceName, scale: float, found: frozenset[str], *, small: bool = False
) -> Picture:
    """A face from outside, the way up it has in use.

    Args:
        looked: the build.
        name: which face.
        scale: paper mm for one mm.
        found: names of the parts whose places were found.
        small: without dimensions and without what lies behind.
    """
    scene = looked.scene
    face = scene.faces[name]
    sight = Sight(quarter=round(reading_turn(scene, face)), scale=scale)
    edge = [sight.item(item) for item in as_items(face_outline(face), EDGE)]
    whole = join([item_box(item) for item in edge])
    parts = _parts(looked, face, sight)
    taken = [box for part in parts for box in part.boxes]
    full = join([whole, *taken])
    outlines = [item for part in parts for item in (*part.outside, *part.cut)]
    sketch = Sketch(name.value)
    there = [sight.item(item) for item in there_items(scene, name)]
    sketch.add(Operation.EDGE, *edge)
    sketch.add(Operation.THERE, *there)
    sketch.add(Operation.CUT, *outlines)
    plain = Picture(
        name=name.value.upper(),
        note=_note(scene, face),
        drawing=sketch.done(),
        outline=whole,
        room=full,
        names=tuple(part.name(found) for part in parts),
        lines=tuple(s for item in (*edge, *there, *outlines) for s in segments(item)),
        things=tuple(box.grown(0.3) for box in taken),
    )
    if small:
        return plain
    behind = _behind(looked.behind.get(name, ()), parts, sight)
    rows = _dimensions(scene, face, sight, whole, full, found)
    marks = (*_crosses(scene, face, sight), *_centre_lines(face, sight, whole))
    key = _edge_words(face, sight, whole, taken)
    sketch.add(Operation.GUIDE, *(sight.item(g.outline, BEHIND) for g in behind), *marks)
    for row in rows:
        sketch.add(Operation.GUIDE, *row.lines)
        sketch.add(Operation.NOTE, *row.numbers)
    sketch.add(Operation.NOTE, key)
    return replace(
        plain,
        drawing=sketch.done(),
        room=join([whole.grown(_BEYOND), full, key.box(), *(b for r in rows for b in r.boxes)]),
        names=(*plain.names, *_behind_names(behind, parts, sight)),
        hard=(key.box().grown(0.3), *(row.band for row in rows if row.band)),
        across=(
            *(s for row in rows for s in row.across),
            *(s for item in marks for s in segments(item)),
        ),
        soft=tuple(s for g in behind for s in segments(sight.item(g.outline, BEHIND))),
    )


def _note(scene: Scene, face: Face) -> str:
    if not lies_level(scene, face):
        return ""
    return "underneath in use" if face.name is scene.build.stands_on else "on top in use"


# --- parts ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """What a part has on a face, on paper: its openings and what stands outside.

    `pieces` are their rooms, and whether each is round.
    """

    owner: str
    words: str
    cut: tuple[Item, ...]
    outside: tuple[Item, ...]
    pieces: tuple[tuple[Box, bool], ...]

    @property
    def boxes(self) -> tuple[Box, ...]:
        return tuple(box for box, _ in self.pieces)

    def name(self, found: frozenset[str]) -> Name:
        about, is_round = max(self.pieces, key=lambda piece: _area(piece[0]))
        return Name(
            words=self.words,
            about=about,
            inside=(about.grown(-_INNER), join([*self.boxes]).grown(-_INNER)),
            round=is_round,
            found=self.owner in found,
        )


def _parts(looked: Looked, face: Face, sight: Sight) -> tuple[_Part, ...]:
    """Parts with openings or something outside on a face, in the order of the file."""
    scene = looked.scene
    mine: dict[tuple[str, str], list[Opening]] = {}
    for o in wanted_on(scene, face.name):
        mine.setdefault((o.part, o.name if o.role is Role.NOSE else ""), []).append(o)
    before: dict[str, list[Ghost]] = {}
    for ghost in looked.before.get(face.name, ()):
        before.setdefault(ghost.owner, []).append(ghost)
        mine.setdefault((ghost.owner, ""), [])
    for name, _ in placed_on(scene, face.name):
        mine.setdefault((name, ""), [])
    order = {used.name: n for n, used in enumerate(scene.build.parts)}
    found = []
    for (owner, nose), openings in sorted(mine.items(), key=lambda m: (order[m[0][0]], m[0][1])):
        outside = [sight.item(g.outline, OUTSIDE) for g in before.get(owner, ()) if not nose]
        pieces = [*_pieces(openings, sight)]
        pieces += [(item_box(item), isinstance(item, Circle)) for item in outside]
        found.append(
            _Part(
                owner=owner,
                words=f"{owner}, {nose}" if nose else owner,
                cut=tuple(i for o in openings for i in _cut(o, face, sight)),
                outside=tuple(outside),
                pieces=tuple(pieces) or ((_middle(scene, owner, sight), False),),
            )
        )
    return tuple(found)


def _pieces(openings: Sequence[Opening], sight: Sight) -> Iterator[tuple[Box, bool]]:
    """The rooms of openings on paper, and whether they are round; a grille is one piece."""
    vents = [sight.box(reach(o)) for o in openings if o.role is Role.VENT]
    if vents:
        yield join(vents), False
    for o in openings:
        if o.role is not Role.VENT:
            yield sight.box(reach(o)), o.drilled


def _middle(scene: Scene, owner: str, sight: Sight) -> Box:
    """The middle of a part that has no opening where it sits."""
    placed = scene.placed[owner]
    x, y = sight.point((placed.across, placed.up))
    return Box(x - 0.1, y - 0.1, x + 0.1, y + 0.1)


def _cut(opening: Opening, face: Face, sight: Sight) -> Iterator[Item]:
    pen = _VENT if opening.role is Role.VENT else OPENING
    for item in as_items(outline(opening, face), pen):
        yield sight.item(item)
    if opening.sink > 0:
        centre = (opening.across, opening.up)
        yield sight.item(Circle(centre, opening.sink / 2, OUTSIDE))


def _behind(found: Iterable[Ghost], parts: Sequence[_Part], sight: Sight) -> tuple[Ghost, ...]:
    """What lies near behind a face, the bodies of its own parts included, as far as it shows."""
    before = {part.owner: part.boxes for part in parts if part.cut or part.outside}

    def hidden(ghost: Ghost) -> bool:
        box = sight.box(ghost.box)
        return any(piece.holds(box, _HIDDEN) for piece in before.get(ghost.owner, ()))

    return tuple(g for g in found if g.name != LIP and not hidden(g))


def _behind_names(behind: Iterable[Ghost], parts: Sequence[_Part], sight: Sight) -> Iterator[Name]:
    """Names of what lies behind, once each, where they go into their outline."""
    largest: dict[str, Box] = {}
    own = {BOX, *(part.owner for part in parts)}
    for ghost in behind:
        box = sight.box(ghost.box)
        known = largest.get(ghost.owner)
        if ghost.owner not in own and (known is None or _area(box) > _area(known)):
            largest[ghost.owner] = box
    for owner, box in largest.items():
        if min(box.width, box.height) >= _LEAST_GHOST:
            yield Name(words=owner, about=box, inside=(box.grown(-_INNER),), leader=False)


def _area(box: Box) -> float:
    return box.width * box.height


# --- dimensions -----------------------------------------------------------------------------


def _dimensions(
    scene: Scene, face: Face, sight: Sight, whole: Box, full: Box, found: frozenset[str]
) -> tuple[Ruled, ...]:
    """Two rows: from the centre line, and from the rim (lid and floor: the other centre line)."""
    across, up = [], []
    upright = face.name in UPRIGHT
    rim = face.outline[2][1]
    slots = {o.part: o for o in wanted_on(scene, face.name) if o.cut is Cut.RIM_SLOT}
    for name, placed in placed_on(scene, face.name):
        was_found = name in found
        at = (placed.across, placed.up)
        high = show(abs(rim - at[1]) if upright else abs(at[1]), 1)
        if name in slots:
            # A slot is sawn in from the rim: how deep, not where its middle lies.
            at = (at[0], slots[name].up - slots[name].height / 2)
            high = f"{show(slots[name].height, 1)} deep"
        point = sight.point(at)
        across.append(Station(at=point, words=show(abs(at[0]), 1), found=was_found))
        up.append(Station(at=point, words=high, found=was_found))
    turned = sight.quarter in (90, 270)
    level, standing = (up, across) if turned else (across, up)
    zero = sight.point((0.0, rim if upright else 0.0))
    below = _AWAY[_key_side(face, sight)]
    row = below if not below.upright else Beside.BELOW
    column = below if below.upright else _nearer_side(standing, whole)
    return (
        ruled(level, zero[0], (_edge(whole, row), _edge(full, row)), row),
        ruled(standing, zero[1], (_edge(whole, column), _edge(full, column)), column),
    )


def _edge(box: Box, side: Beside) -> float:
    return {
        Beside.BELOW: box.y0,
        Beside.ABOVE: box.y1,
        Beside.LEFT: box.x0,
        Beside.RIGHT: box.x1,
    }[side]


_KEY_SIDE: Final = {0: Beside.ABOVE, 90: Beside.RIGHT, 180: Beside.BELOW, 270: Beside.LEFT}
"""On which side of the paper the frame's `up` edge lies, by how far the view is turned."""

_AWAY: Final = {
    Beside.ABOVE: Beside.BELOW,
    Beside.BELOW: Beside.ABOVE,
    Beside.LEFT: Beside.RIGHT,
    Beside.RIGHT: Beside.LEFT,
}


def _key_side(face: Face, sight: Sight) -> Beside:
    """Where the edge with a name lies: the rim, or the edge at the front of lid and floor."""
    side = _KEY_SIDE[sight.quarter]
    return side if face.name in UPRIGHT else _AWAY[side]


def _nearer_side(stations: Sequence[Station], whole: Box) -> Beside:
    """The side to which the lines of a row are shorter."""
    middle = sum(s.at[0] for s in stations) / max(1, len(stations))
    return Beside.LEFT if middle <= whole.middle[0] + 0.1 else Beside.RIGHT


def _crosses(scene: Scene, face: Face, sight: Sight) -> Iterator[Item]:
    for _, placed in placed_on(scene, face.name):
        x, y = sight.point((placed.across, placed.up))
        yield Line((x - _CROSS, y), (x + _CROSS, y), THIN)
        yield Line((x, y - _CROSS), (x, y + _CROSS), THIN)


def _centre_lines(face: Face, sight: Sight, whole: Box) -> tuple[Item, ...]:
    """The face's middle, as the numbers count from it."""
    x, y = sight.point((0.0, 0.0))
    upright = Line((x, whole.y0 - _BEYOND), (x, whole.y1 + _BEYOND), _CENTRE)
    level = Line((whole.x0 - _BEYOND, y), (whole.x1 + _BEYOND, y), _CENTRE)
    if face.name not in UPRIGHT:
        return (upright, level)
    return (level,) if sight.quarter in (90, 270) else (upright,)


def _edge_words(face: Face, sight: Sight, whole: Box, taken: Sequence[Box]) -> Text:
    """Which edge is the rim; of lid and floor, which is at the front."""
    words = "RIM" if face.name in UPRIGHT else edge_names(face.name)[0]
    return edge_word(words, _key_side(face, sight), whole, taken)


def edge_word(words: str, side: Beside, whole: Box, taken: Sequence[Box]) -> Text:
    """The name of an edge beside it, at the first place along it that is clear of some boxes."""
    text = Text((0.0, 0.0), words, pens.SMALL)
    for further in (0.0, _FURTHER):
        for share in _SHARES:
            text = _beside(words, side, whole, share, further)
            if not any(text.box().grown(0.3).meets(box) for box in taken):
                return text
    far = join([whole, *taken])
    return _beside(words, side, far, _SHARES[0], 0.0)


def _beside(words: str, side: Beside, whole: Box, share: float, further: float) -> Text:
    out = _EDGE_WORDS + further
    if side.upright:
        y = whole.y1 - share * whole.height
        if side is Beside.RIGHT:
            at, anchor = (whole.x1 + out, y), Anchor.UPPER_LEFT
        else:
            at, anchor = (whole.x0 - out, y), Anchor.UPPER_RIGHT
    else:
        x = whole.x0 + share * whole.width
        if side is Beside.ABOVE:
            at, anchor = (x, whole.y1 + out), Anchor.LOWER_LEFT
        else:
            at, anchor = (x, whole.y0 - out), Anchor.UPPER_LEFT
    return Text(at, words, pens.SMALL, anchor, 0.0, True, True)
