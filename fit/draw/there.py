"""Holes the box has already, as the sheets show them: lettered, dotted, and never to be cut."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase

from fit.draw import pens
from fit.draw.cuts import as_items, reach
from fit.draw.drawing import Box, Item
from fit.draw.labels import Wanted
from fit.draw.words import size_words
from fit.geometry.old_holes import Meets, meets
from fit.geometry.paths import outline
from fit.geometry.scene import Cut, OldHole, Opening, Scene
from fit.model.words import FaceName


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettered:
    """A hole of the box with its letter on the sheet, and what it has to do with the parts.

    Attributes:
        letter: A, B, C ... from left to right, then downwards.
        hole: the hole.
        serves: the parts whose opening it provides.
        cut_into: the parts whose cut runs into it or opens it up.
        knock_out: whether it was moulded closed.
    """

    letter: str
    hole: OldHole
    serves: tuple[str, ...] = ()
    cut_into: tuple[str, ...] = ()
    knock_out: bool = False

    @property
    def opening(self) -> Opening:
        """Its outline."""
        return self.hole.opening

    @property
    def box(self) -> Box:
        """The upright box round it, mm."""
        return reach(self.hole.opening)

    @property
    def title(self) -> str:
        """Its name, and whom it serves."""
        served = f" for {', '.join(self.serves)}" if self.serves else ""
        return f"hole {self.hole.name}{served}"

    @property
    def how(self) -> str:
        """What is done about it: as a rule, nothing."""
        if self.hole.closed:
            return "knock-out, stays closed"
        there = "knock it out" if self.knock_out else "there already"
        if self.serves:
            return f"{there}: nothing to cut"
        if self.cut_into:
            return f"{there}: cut into for {', '.join(self.cut_into)}; a twist bit grabs there"
        return f"{there}: plug it where it stays bare"

    @property
    def size(self) -> str:
        """Its size as on a workshop drawing."""
        words = size_words(self.hole.opening)
        return words.removeprefix("cut-out ")


def lettered(scene: Scene, name: FaceName) -> tuple[Lettered, ...]:
    """The holes a face has already, each with its letter."""
    on_it = [hole for hole in scene.there if hole.opening.face is name]
    on_it.sort(key=lambda h: (round(h.opening.across, 3), -h.opening.up, h.name))
    moulded = {hole.name for hole in scene.build.box.holes if hole.knock_out}
    found = []
    for n, hole in enumerate(on_it):
        ways = {o.part: _way(scene, o, hole) for o in scene.openings if o.face is name}
        found.append(
            Lettered(
                letter=_letters(n),
                hole=hole,
                serves=tuple(dict.fromkeys(o.part for o in scene.openings if o.by == hole.name)),
                cut_into=tuple(p for p, way in ways.items() if way in (Meets.OPENS, Meets.PARTLY)),
                knock_out=hole.name in moulded,
            )
        )
    return tuple(found)


def _way(scene: Scene, opening: Opening, hole: OldHole) -> Meets:
    used = scene.build.part(opening.part)
    return meets(opening, used, hole, scene.faces[opening.face])


def _letters(n: int) -> str:
    """A to Z, then AA and so on."""
    first, last = divmod(n, 26)
    return (_letters(first - 1) if first else "") + ascii_uppercase[last]


def there_items(scene: Scene, name: FaceName) -> tuple[Item, ...]:
    """The outlines of the holes a face has already; knock-outs that stay closed among them."""
    face = scene.faces[name]
    return tuple(
        item
        for hole in scene.there
        if hole.opening.face is name
        for item in as_items(outline(hole.opening, face), pens.THERE)
    )


def open_now(scene: Scene, name: FaceName) -> tuple[Opening, ...]:
    """What is open in a face in the end: all that is cut, and the holes it leaves as they are."""
    cut = [o for o in scene.to_cut if o.face is name]
    gone = {opened for o in cut for opened in o.opens}
    there = (h for h in scene.there if h.opening.face is name and not h.closed)
    return (*cut, *(h.opening for h in there if h.name not in gone))


def there_labels(holes: tuple[Lettered, ...]) -> tuple[Wanted, ...]:
    """What the sheet says beside each hole; one that is cut into has its words in the list."""
    return tuple(
        Wanted(
            lines=(one.letter,)
            if one.cut_into
            else (f"{one.letter}  {one.title}", f"{one.size}, {one.how.partition(':')[0]}"),
            short=(one.letter,),
            about=one.box,
            round=one.opening.cut is Cut.ROUND,
        )
        for one in holes
    )
