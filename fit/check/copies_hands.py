"""What hands do to a copy: where holes, cut-outs, boards and glued things come to be.

- A face's paper template is laid once: its marking error moves every opening of that face alike.
- Each drilled hole then strays by punching and drilling, and comes out 0 to `OVERSIZE` too large.
- Each edge of a filed opening strays by filing; a switch's slot by its bottom, its width is filed
  until the switch goes in.
- A part follows its hole or cut-out; held by several screws, the middle of its screw holes; taped
  or glued, it is laid by eye: marking, once more.
- A board on posts follows the posts by the holes in it, a board on standoffs the holes in the
  wall; a standing board the drilling of its joint, and it leans by bending.
- Each edge of perfboard strays by sawing, on a row of holes by snapping; so does a notch's edge.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from fit.check.copies_sizes import Kind, Source
from fit.check.holes import FOLLOWS, MADE
from fit.geometry.scene import Cut, Opening, PlacedBoard, Role, Scene
from fit.model.build import Used
from fit.model.part import Board, Display, Grille, Holder, TapedPart
from fit.model.words import BoardStock, FaceName, Fixing, Seat
from fit.trade.drills import OVERSIZE
from fit.trade.hands import HandWork, hand_work
from fit.units import PITCH

Axes = tuple[str, str]
"""The words for two axes."""

Pair = tuple[int, int]
"""Two sources: along the face's (or board's) first axis and along its second."""


@dataclass(slots=True)
class Ledger:
    """Every source in order; adding one gives its number."""

    sources: list[Source] = field(default_factory=list)

    def add(self, name: str, spread: float, kind: Kind = Kind.HANDS, usually: float = 0.0) -> int:
        """Write a source down."""
        self.sources.append(Source(name=name, plus_minus=spread, kind=kind, usually=usually))
        return len(self.sources) - 1

    def pair(self, name: str, spread: float, words: Axes = ("sideways", "up")) -> Pair:
        """A source for each of two axes."""
        return self.add(f"{name}, {words[0]}", spread), self.add(f"{name}, {words[1]}", spread)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """The sources of one opening.

    Attributes:
        centre: of a drilled hole.
        larger: of a drilled hole's diameter.
        edges: of a filed opening: left, right, low, high; None where it is filed to fit.
    """

    centre: Pair | None = None
    larger: int | None = None
    edges: tuple[int | None, int | None, int | None, int | None] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """The sawn lines of a board: (place, source) along x and along y, mm; outwards is more."""

    x: tuple[tuple[float, int, float], ...] = ()
    y: tuple[tuple[float, int, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """A standing board's own sources: sideways, towards its display, its lean in degrees."""

    across: int
    out: int
    lean: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """All the work of hands in one scene.

    Attributes:
        template: of each face.
        made: of each opening, as the scene has them.
        laid: of what is laid by eye, by name.
        gaps: of the spacers behind a display on its wall, by name.
        edges: of each sawn board.
        holes: of each board's holes, as the board has them.
        larger: of the diameters of those that are drilled by hand, else None.
        joined: of each standing board.
    """

    template: Mapping[FaceName, Pair]
    made: tuple[Made, ...]
    laid: Mapping[str, Pair]
    gaps: Mapping[str, int]
    edges: Mapping[str, Edges]
    holes: Mapping[str, tuple[Pair, ...]]
    larger: Mapping[str, tuple[int | None, ...]]
    joined: Mapping[str, Joined]


def hands_of(scene: Scene, ledger: Ledger) -> Hands:
    """Write down all the work of hands a scene takes."""
    hands = hand_work(scene.build.hands)
    faces = list(dict.fromkeys(o.face for o in scene.openings))
    doubts = {hole.name: hole.doubt for hole in scene.there}
    used = scene.build.parts
    carried = {name for u in used for name in u.carries}
    walled = [
        u
        for u in used
        if isinstance(u.part, Display) and u.name not in carried and _is_in(scene, u)
    ]
    return Hands(
        template={f: ledger.pair(f"template on the {f}", hands.marking) for f in faces},
        made=tuple(_made(o, hands, ledger, doubts) for o in scene.openings),
        laid={
            u.name: ledger.pair(f"{u.name}, laid by eye", hands.marking)
            for u in used
            if _is_in(scene, u) and _laid(scene, u)
        },
        gaps={u.name: ledger.add(f"spacers behind {u.name}", hands.filing) for u in walled},
        edges={
            b.name: _edges(b, hands, ledger)
            for b in scene.boards
            if b.board.stock is not BoardStock.PLAIN
        },
        holes={b.name: tuple(_board_holes(b, hands, ledger)) for b in scene.boards},
        larger={b.name: tuple(_larger(b, ledger)) for b in scene.boards},
        joined={
            b.name: _joined(b.name, hands, ledger)
            for b in scene.boards
            if scene.placed[b.name].used.joined_to is not None
        },
    )


def _is_in(scene: Scene, used: Used) -> bool:
    return used.name in scene.placed


def screws_of(scene: Scene, name: str) -> list[int]:
    """The numbers of a part's screw holes through its wall."""
    return [n for n, o in enumerate(scene.openings) if o.part == name and o.role is Role.SCREW]


def _laid(scene: Scene, used: Used) -> bool:
    """Whether a part is laid by eye: no hole or cut-out says where it goes."""
    part = used.part
    if isinstance(part, TapedPart):
        return True
    if isinstance(part, Holder | Grille):
        return part.fixing is not Fixing.SCREWS or not screws_of(scene, used.name)
    if isinstance(part, Display):
        carried = any(used.name in u.carries for u in scene.build.parts)
        return not carried and not screws_of(scene, used.name)
    if isinstance(part, Board):
        lies = used.joined_to is None and used.on is not Seat.POSTS
        return lies and not screws_of(scene, used.name)
    return False


def mount_of(scene: Scene, used: Used) -> list[int]:
    """The numbers of the openings whose middle a part follows."""
    if isinstance(used.part, Display | Board | Holder | Grille):
        return screws_of(scene, used.name)
    if isinstance(used.part, TapedPart):
        return []
    return [
        n
        for n, o in enumerate(scene.openings)
        if o.part == used.name and o.role in (Role.MOUNT, Role.WIRE)
    ][:1]


def _made(opening: Opening, hands: HandWork, ledger: Ledger, doubts: Mapping[str, float]) -> Made:
    what = _called(opening)
    if opening.by:
        # Nothing is cut: it lies and measures as the box has it, as far as that is known.
        if doubts[opening.by] <= 0:
            return Made(edges=(None, None, None, None))
        return Made(centre=ledger.pair(f"where the {what} is already", doubts[opening.by]))
    if opening.drilled:
        strays = math.hypot(hands.punching, hands.drilling)
        return Made(
            centre=ledger.pair(f"punching and drilling the {what}", strays),
            larger=ledger.add(
                f"how wide the {what} is drilled", OVERSIZE / 2, usually=OVERSIZE / 2
            ),
        )
    sides = ("left", "right", "lower", "upper")
    low, high = 0, 4
    if opening.cut is Cut.RIM_SLOT:
        high = 3  # the upper side is the rim itself
    edges = [
        ledger.add(f"filing the {side} edge of the {what}", hands.filing)
        for side in sides[low:high]
    ]
    filed: list[int | None] = [*edges, *[None] * (4 - len(edges))]
    return Made(edges=(filed[0], filed[1], filed[2], filed[3]))


def _called(opening: Opening) -> str:
    kinds = {Role.WINDOW: "window", Role.SCREW: "screw hole", Role.WIRE: "wire hole"}
    return f"{kinds.get(opening.role, 'opening')} of {opening.part}"


def _edges(placed: PlacedBoard, hands: HandWork, ledger: Ledger) -> Edges:
    board, name = placed.board, placed.name
    width, height = float(board.size[0]), float(board.size[1])

    def outer(word: str, size: float) -> int:
        on_row = abs(size / PITCH - round(size / PITCH)) > 0.25
        how, spread = ("snapped", hands.snapping) if on_row else ("sawn", hands.sawing)
        return ledger.add(f"{word} edge of board {name}, {how}", spread, Kind.SAWN)

    x = [(0.0, outer("left", 0.0), -1.0), (width, outer("right", width), 1.0)]
    y = [(0.0, outer("lower", 0.0), -1.0), (height, outer("upper", height), 1.0)]
    for notch in board.notches:
        for lines, low, size, whole in (
            (x, float(notch.x), float(notch.width), width),
            (y, float(notch.y), float(notch.depth), height),
        ):
            for at, sign in ((low, -1.0), (low + size, 1.0)):
                if 1e-6 < at < whole - 1e-6:
                    words = f"notch in board {name}, edge at {at:.1f}"
                    lines.append((at, ledger.add(words, hands.sawing, Kind.SAWN), sign))
    return Edges(x=tuple(x), y=tuple(y))


def _board_holes(placed: PlacedBoard, hands: HandWork, ledger: Ledger) -> list[Pair]:
    """Holes follow the grid of perfboard; those of a made board are as its maker drilled them."""
    own = {(float(h.x), float(h.y)) for h in placed.board.holes}
    found = []
    for hole in placed.holes:
        spread = math.hypot(hands.marking, hands.punching, hands.drilling)
        if placed.board.stock is not BoardStock.PLAIN:
            spread = FOLLOWS
        elif (hole.x, hole.y) in own:
            spread = MADE
        what = f"hole for {hole.purpose or 'a screw'} in board {placed.name}"
        found.append(ledger.pair(what, spread))
    return found


def _larger(placed: PlacedBoard, ledger: Ledger) -> list[int | None]:
    own = {(float(h.x), float(h.y)) for h in placed.board.holes}
    made = placed.board.stock is BoardStock.PLAIN
    return [
        None
        if made and (hole.x, hole.y) in own
        else ledger.add(
            f"how wide the hole for {hole.purpose or 'a screw'} in board {placed.name} is drilled",
            OVERSIZE / 2,
            usually=OVERSIZE / 2,
        )
        for hole in placed.holes
    ]


def _joined(name: str, hands: HandWork, ledger: Ledger) -> Joined:
    return Joined(
        across=ledger.add(f"joint holes of {name}, sideways", hands.drilling),
        out=ledger.add(f"joint holes of {name}, towards its display", hands.drilling),
        lean=ledger.add(f"squareness of {name}'s joint (degrees)", hands.bending_deg),
    )
