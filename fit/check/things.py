"""The solids of a scene as the rules see them: what they are, how far they stray, their names."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import cache, cached_property
from weakref import WeakKeyDictionary

from fit.check.doubts import board_doubt, moulded_doubts, part_doubt, widest
from fit.check.measure import prepare, room_of
from fit.check.rule import Inspection
from fit.check.solid import Solid as Solid
from fit.check.solid import Standing, Stray
from fit.check.solid import crowd_of as crowd_of
from fit.check.solid import half_of as half_of
from fit.geometry.containment import Cavity, WallMargin
from fit.geometry.fixtures import LIP
from fit.geometry.frames import Pose, Vec
from fit.geometry.noses import PREFIX
from fit.geometry.scene import BOX, Body, BodyId, Scene
from fit.geometry.shapes import Shape
from fit.model.box import Tray
from fit.model.build import Used
from fit.model.part import Board, BushingPart, Display, Gland, Grille, Holder, PanelPart, RimSwitch
from fit.model.words import UPRIGHT, BoardStock, FaceName, Fixing, Half, JointKind, Seat, Stuff
from fit.trade.clearances import Thing, needed_gap
from fit.trade.hands import bend_runout

DEEP = 1e-6
"""Things that touch on purpose may seem to overlap by this much, mm: the noise of arithmetic."""

CLOSE = 3.0
"""A margin within this many spreads is worth a finding of its own."""

_UPWARDS: Vec = (0.0, 0.0, 1.0)


class Things(Standing):
    """All solids of one scene, with how far they may stray and what is needed.

    Attributes:
        room: the box's inner surfaces.
    """

    def __init__(self, look: Inspection) -> None:
        # Not the inspection itself: what is kept for it must not keep it.
        self._hands, self._error = look.hands, look.error
        self._needs = {n.rule: float(n.value) for n in look.scene.build.needs}
        self.scene = look.scene
        self._room = room_of(look.tray)
        self.room: Cavity = self._room.cavity
        self._used: Mapping[str, Used] = {u.name: u for u in look.scene.build.parts}
        self._spreads: dict[tuple[Solid, FaceName], float] = {}
        self._walls: dict[FaceName, float] = {}
        moulded = moulded_doubts(look.scene)
        self._doubts = {
            u.name: max(part_doubt(u.part), widest((u.at, u.window)))
            for u in look.scene.build.parts
        }
        strays = {name: self._strays(name) for name in look.scene.placed}
        bodies = look.scene.bodies
        super().__init__(look.scene, tuple(self._solid(body, moulded, strays) for body in bodies))

    @property
    def tray(self) -> Tray:
        """The box."""
        return self.scene.build.box

    def need(self, rule: str, usual: float) -> float:
        """The limit a rule goes by, mm: the build's own where it names one, else the usual."""
        return self._needs.get(rule, usual)

    def spread_to(self, solid: Solid, face: FaceName) -> float:
        """How far a solid may stray towards a face, mm."""
        key = (solid, face)
        found = self._spreads.get(key)
        if found is None:
            found = self._spreads[key] = solid.spread(self.scene.faces[face].frame.z)
        return found

    def doubt_at(self, face: FaceName) -> float:
        """As `wall_doubt`, worked out once."""
        found = self._walls.get(face)
        if found is None:
            found = self._walls[face] = wall_doubt(self, face)
        return found

    @cached_property
    def opens(self) -> Mapping[Half, bool]:
        """Whether a half is nowhere narrower on the way out than deeper in."""
        upright = all(self.tray.wall(face).draft >= 0 for face in UPRIGHT)
        return {Half.BODY: upright, Half.LID: self.tray.lid.draft >= 0}

    @cached_property
    def rooms(self) -> Mapping[Solid, tuple[WallMargin, ...]]:
        """The parts' solids and their margins to every inner surface."""
        return {s: self.margins(s.body.shape, s.body.pose) for s in self.parts}

    def margins(self, shape: Shape, pose: Pose) -> tuple[WallMargin, ...]:
        """The margins of anything to every inner surface."""
        return self._room.margins(shape, pose)

    def _solid(
        self, body: Body, moulded: Mapping[str, float], strays: Mapping[str, tuple[Stray, ...]]
    ) -> Solid:
        ready = prepare(body.shape, body.pose)
        if body.owner == BOX:
            words = f"the {body.name}" if body.name == LIP else body.name
            return Solid(
                body=body,
                ready=ready,
                kind=Thing.POST if body.name.startswith("post ") else Thing.WALL,
                label=body.name,
                words=words,
                doubt=moulded.get(body.name, 0.0),
            )
        used = self._used[body.owner]
        sawn = self._sawn(used, body)
        return Solid(
            body=body,
            ready=ready,
            kind=kind_of(used, body),
            label=body.owner,
            words=words_of(used, body),
            doubt=self._doubt(used, body),
            strays=(*strays.get(body.owner, ()), *sawn),
        )

    def _doubt(self, used: Used, body: Body) -> float:
        """The largest uncertainty behind one body: of its zone on a board, else of its part."""
        if isinstance(used.part, Board):
            return board_doubt(used, used.part, body)
        return self._doubts[used.name]

    def _sawn(self, used: Used, body: Body) -> Iterator[Stray]:
        """A sawn board's edges stray in its own plane."""
        part = used.part
        if isinstance(part, Board) and part.stock is not BoardStock.PLAIN and body.name == "slab":
            edge = self._hands.sawing
            yield Stray(axis=self.scene.placed[used.name].pose.z, along=0.0, across=edge)

    def _strays(self, name: str) -> tuple[Stray, ...]:
        """How the work of hands may move a part."""
        placed = self.scene.placed[name]
        used, part = placed.used, placed.used.part
        carrier = next((u for u in self._used.values() if name in u.carries), None)
        if carrier is not None and carrier.name in self.scene.placed:
            return self._strays(carrier.name)
        if isinstance(part, Board):
            return self._board_strays(used, part)
        fixed = not isinstance(part, Holder | Grille) or part.fixing is Fixing.SCREWS
        error = self._error if fixed else self._hands.marking
        return (Stray(axis=placed.pose.z, along=0.0, across=error),)

    def _board_strays(self, used: Used, board: Board) -> tuple[Stray, ...]:
        hands = self._hands
        if used.joined_to is not None:
            under = self._strays(used.joined_to) if used.joined_to in self.scene.placed else ()
            bit = hands.drilling
            own = [Stray(axis=_UPWARDS, along=bit, across=bit)]
            if used.joint is not None and used.joint.kind is JointKind.STRIP:
                lean = bend_runout(hands, float(board.size[1]))
                own.append(Stray(axis=_UPWARDS, along=0.0, across=lean))
            return (*under, *own)
        # Posts are moulded true; only the board's own holes are made by hand.
        error = hands.drilling if used.on is Seat.POSTS else self._error
        return (Stray(axis=_UPWARDS, along=0.0, across=error),)


_KEPT: WeakKeyDictionary[Inspection, Things] = WeakKeyDictionary()


def things(look: Inspection) -> Things:
    """The solids of the scene under inspection, worked out once for all rules."""
    found = _KEPT.get(look)
    if found is None:
        found = _KEPT[look] = Things(look)
    return found


def kind_of(used: Used, body: Body) -> Thing:
    """What the table of gaps calls a part's body."""
    if isinstance(used.part, Board):
        named = _OF_BOARDS.get(body.name)
        if named is not None:
            return named
    elif body.name == "nut":
        return Thing.NUT
    return _OF_STUFF.get(body.stuff, Thing.PART)


_OF_BOARDS = {"slab": Thing.BOARD, "leads": Thing.LEADS}
_OF_STUFF = {Stuff.SOFT: Thing.CABLE, Stuff.LIVE: Thing.LIVE, Stuff.METAL: Thing.METAL}


def need_between(a: Solid, b: Solid) -> float:
    """The least gap of two solids, mm, by the table."""
    return gap_of_kinds(a.kind, b.kind, plastic=a.moulded or b.moulded)


def gap_of_kinds(a: Thing, b: Thing, *, plastic: bool) -> float:
    """The least gap of two kinds of things, mm, by the table.

    The box is plastic: to it, live and bare metal things are as any part.
    """
    if plastic:
        return needed_gap(_beside_plastic(a), _beside_plastic(b))
    return needed_gap(a, b)


def need_to_wall(solid: Solid, face: FaceName) -> float:
    """The least gap of a solid to a face's inside, mm, by the table."""
    return gap_to_wall(solid.kind, face)


@cache
def gap_to_wall(thing: Thing, face: FaceName) -> float:
    """The least gap of a kind of thing to a face's inside, mm, by the table."""
    named = {FaceName.FLOOR: Thing.FLOOR, FaceName.LID: Thing.LID}
    kind = _beside_plastic(thing)
    if face is FaceName.LID and kind in (Thing.NUT, Thing.LEADS):
        kind = Thing.PART
    return needed_gap(kind, named.get(face, Thing.WALL))


def _beside_plastic(kind: Thing) -> Thing:
    return Thing.PART if kind in (Thing.LIVE, Thing.METAL) else kind


_NOUNS: dict[type, str] = {
    PanelPart: "panel part",
    RimSwitch: "switch",
    Display: "display",
    Board: "board",
    Gland: "gland",
    Holder: "holder",
    Grille: "grille",
}

_PLAIN = ("body", "slab", "module")
"""Bodies that are the part itself, not worth naming."""


def noun(used: Used) -> str:
    """What a part is called: button, board, display ..."""
    if isinstance(used.part, BushingPart):
        return "button" if used.part.cap else "part"
    return _NOUNS.get(type(used.part), "part")


def words_of(used: Used, body: Body) -> str:
    """A part's body in a sentence: "button 'tare' (nut)"."""
    named = f"{noun(used)} '{used.name}'"
    return named if body.name in _PLAIN else f"{named} ({body.name.removeprefix(PREFIX)})"


def is_nose(body: Body) -> bool:
    """Whether a body is (part of) what a board looks out with, which may pass its wall."""
    return body.name.startswith(PREFIX)


def wall_doubt(look: Inspection | Things, face: FaceName) -> float:
    """How far a wall's inside may stand off because the box's sizes are uncertain, mm.

    Length and width count half: the box grows to both sides of its middle.
    """
    tray = look.tray
    if face is FaceName.FLOOR:
        return tray.floor.plus_minus
    thick = tray.thickness(face).plus_minus
    if face is FaceName.LID:
        return math.hypot(thick, tray.height.plus_minus, tray.lid.height.plus_minus)
    over = tray.width if face in (FaceName.FRONT, FaceName.BACK) else tray.length
    return math.hypot(thick, over.plus_minus / 2)


def wall_label(face: FaceName) -> str:
    """What a finding about a wall names: "wall front", "floor", "lid"."""
    return face.value if face in (FaceName.FLOOR, FaceName.LID) else f"wall {face}"


def wall_words(face: FaceName) -> str:
    """A wall in a sentence."""
    return f"the {face}" if face in (FaceName.FLOOR, FaceName.LID) else f"the {face} wall"


def pierced(face: FaceName) -> Half:
    """The half whose wall a face's openings go through: above the rim there are none."""
    return Half.LID if face is FaceName.LID else Half.BODY


def capital(sentence: str) -> str:
    """A sentence with its first letter large."""
    return sentence[:1].upper() + sentence[1:]


def direction_word(way: Vec) -> str:
    """A direction in the box in plain words, by its largest part."""
    size = [abs(c) for c in way]
    axis = size.index(max(size))
    words = (
        ("to the left", "to the right"),
        ("to the front", "to the back"),
        ("towards the floor", "towards the lid"),
    )
    return words[axis][way[axis] > 0]


def assembly_of(scene: Scene, lying: str) -> dict[BodyId, str]:
    """Bodies that move with a lying board → owner: its own, joined boards', soldered displays'."""
    boards = {lying} | {u.name for u in scene.build.parts if u.joined_to == lying}
    shown = {name for u in scene.build.parts if u.name in boards for name in u.carries}
    soldered = {
        i for pair in scene.touching for i in pair if i[0] in shown and _other(pair, i)[0] in boards
    }
    return {
        b.id: b.owner
        for b in scene.bodies
        if not b.outside and (b.owner in boards or b.id in soldered)
    }


def _other(pair: frozenset[BodyId], one: BodyId) -> BodyId:
    return next((i for i in pair if i != one), one)
