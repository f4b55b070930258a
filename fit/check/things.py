"""The solids of a scene as the rules see them: what they are, how far they stray, their names."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cached_property
from weakref import WeakKeyDictionary

from fit.check.rule import Inspection
from fit.geometry.containment import Cavity, WallMargin, cavity, margins
from fit.geometry.distance import Prepared, prepare
from fit.geometry.fixtures import LIP, post_name, rib_name
from fit.geometry.frames import Vec, dot
from fit.geometry.noses import PREFIX, nose_body
from fit.geometry.scene import BOX, Body, BodyId, Scene
from fit.model.box import Tray
from fit.model.build import Used
from fit.model.part import Board, BushingPart, Display, Gland, Holder, PanelPart, RimSwitch
from fit.model.words import BoardStock, FaceName, Fixing, Half, JointKind, Seat, Stuff
from fit.trade.clearances import Thing, needed_gap
from fit.trade.hands import bend_runout
from fit.units import Length

DEEP = 1e-6
"""Things that touch on purpose may seem to overlap by this much, mm: the noise of arithmetic."""

CLOSE = 3.0
"""A margin within this many spreads is worth a finding of its own."""

_UPWARDS: Vec = (0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """How far a solid may come to sit beside its place, mm: along an axis and square to it."""

    axis: Vec
    along: float
    across: float

    def towards(self, way: Vec) -> float:
        """The same along any unit direction, mm."""
        share = dot(self.axis, way) ** 2
        return math.sqrt(self.along**2 * share + self.across**2 * max(0.0, 1.0 - share))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """One solid as the rules see it.

    Attributes:
        body: as it stands in the scene.
        ready: prepared for measuring.
        kind: what the table of gaps calls it.
        label: what a finding about it names: the part, or "post P1", "rib R1", "lip".
        words: the same in a sentence.
        doubt: the largest uncertainty of its written sizes, mm.
        strays: how the person's work may move it.
    """

    body: Body
    ready: Prepared
    kind: Thing
    label: str
    words: str
    doubt: float = 0.0
    strays: tuple[Stray, ...] = ()

    @property
    def moulded(self) -> bool:
        """Whether it belongs to the box."""
        return self.body.owner == BOX

    def spread(self, way: Vec) -> float:
        """How far its surface may stray along a unit direction, mm (root sum square)."""
        moves = sum(s.towards(way) ** 2 for s in self.strays)
        return math.sqrt(self.doubt**2 + moves)


class Things:
    """All solids of one scene.

    Attributes:
        solids: everything, in the scene's order.
        room: the box's inner surfaces.
    """

    def __init__(self, look: Inspection) -> None:
        # Not the inspection itself: what is kept for it must not keep it.
        self._hands, self._error = look.hands, look.error
        self._needs = {n.rule: float(n.value) for n in look.scene.build.needs}
        self.scene = look.scene
        self.room: Cavity = cavity(look.tray)
        self._used: Mapping[str, Used] = {u.name: u for u in look.scene.build.parts}
        moulded = _moulded_doubts(look.scene)
        strays = {name: self._strays(name) for name in look.scene.placed}
        self.solids = tuple(self._solid(body, moulded, strays) for body in look.scene.bodies)

    @property
    def tray(self) -> Tray:
        """The box."""
        return self.scene.build.box

    def need(self, rule: str, usual: float) -> float:
        """The limit a rule goes by, mm: the build's own where it names one, else the usual."""
        return self._needs.get(rule, usual)

    @cached_property
    def touched(self) -> frozenset[BodyId]:
        """Every body that touches another on purpose."""
        return frozenset(i for pair in self.scene.touching for i in pair)

    @cached_property
    def inside(self) -> tuple[Solid, ...]:
        """Those inside the walls."""
        return tuple(s for s in self.solids if not s.body.outside)

    @cached_property
    def parts(self) -> tuple[Solid, ...]:
        """Those inside the walls that belong to parts."""
        return tuple(s for s in self.inside if not s.moulded)

    def of(self, owner: str) -> tuple[Solid, ...]:
        """The solids of one part that stand inside the walls."""
        return tuple(s for s in self.parts if s.body.owner == owner)

    def touch(self, a: Body, b: Body) -> bool:
        """Whether two bodies touch on purpose."""
        if a.id not in self.touched or b.id not in self.touched:
            return False
        return frozenset((a.id, b.id)) in self.scene.touching

    def behind_a_board(self, a: Body, b: Body) -> bool:
        """Whether one is the leads of a board and the other is mounted on that board's far side.

        Displays soldered in, joint blocks and standing boards stand on the component side, with
        the board itself between them and its leads. The other way round, the leads of a standing
        board end at its foot, over bare board.
        """
        for leads, other in ((a, b), (b, a)):
            if leads.name != "leads" or other.owner == BOX:
                continue
            slab = (leads.owner, "slab")
            if frozenset((slab, other.id)) in self.scene.touching:
                return True
        return False

    @cached_property
    def rooms(self) -> Mapping[Solid, tuple[WallMargin, ...]]:
        """The parts' solids and their margins to every inner surface."""
        return {s: margins(self.room, s.body.shape, s.body.pose) for s in self.parts}

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
            doubt=_doubt(used, body),
            strays=(*strays.get(body.owner, ()), *sawn),
        )

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
        fixed = not isinstance(part, Holder) or part.fixing is Fixing.SCREWS
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
        named = {"slab": Thing.BOARD, "leads": Thing.LEADS}.get(body.name)
        if named is not None:
            return named
    elif body.name == "nut":
        return Thing.NUT
    by_stuff = {Stuff.SOFT: Thing.CABLE, Stuff.LIVE: Thing.LIVE, Stuff.METAL: Thing.METAL}
    return by_stuff.get(body.stuff, Thing.PART)


def need_between(a: Solid, b: Solid) -> float:
    """The least gap of two solids, mm, by the table.

    The box is plastic: to it, live and bare metal things are as any part.
    """
    if a.moulded or b.moulded:
        return needed_gap(_beside_plastic(a.kind), _beside_plastic(b.kind))
    return needed_gap(a.kind, b.kind)


def need_to_wall(solid: Solid, face: FaceName) -> float:
    """The least gap of a solid to a face's inside, mm, by the table."""
    named = {FaceName.FLOOR: Thing.FLOOR, FaceName.LID: Thing.LID}
    kind = _beside_plastic(solid.kind)
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


def widest(sizes: object) -> float:
    """The largest uncertainty among the lengths of anything from the model, mm."""
    if isinstance(sizes, Length):
        return sizes.plus_minus
    if isinstance(sizes, tuple):
        return max(map(widest, sizes), default=0.0)
    if is_dataclass(sizes):
        return max((widest(getattr(sizes, f.name)) for f in fields(sizes)), default=0.0)
    return 0.0


def _doubt(used: Used, body: Body) -> float:
    """The largest uncertainty behind one body: of its zone on a board, else of its part."""
    part = used.part
    if isinstance(part, Board):
        own = [part.size, part.thickness, part.underside, part.holes, part.notches]
        zones = [z for z in part.zones if z.name == body.name]
        noses = [n for n in part.noses if nose_body(n) == body.name]
        return max(map(widest, (*own, *zones, *noses, used.standoff, used.at)))
    return max(map(widest, (part, used.at, used.window)))


def _moulded_doubts(scene: Scene) -> dict[str, float]:
    tray = scene.build.box
    doubts = {post_name(p): widest(p) for p in tray.posts}
    doubts |= {rib_name(r): widest(r) for r in tray.ribs}
    doubts[LIP] = widest(tray.lid.lip)
    return doubts


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


def half_of(solids: Iterable[Solid], half: Half) -> tuple[Solid, ...]:
    """Those that stay with one half of the box."""
    return tuple(s for s in solids if s.body.half is half)


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
