"""Boards, what joins them, screws; and the choice between all kinds of parts."""

# No `from __future__ import annotations`: pydantic would have to read each type back from its
# text, which takes a fifth of the time these classes take to build.

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Final, Literal

from pydantic import Discriminator, Field, Tag

from fit.model import nose as nose_model
from fit.model import part as model
from fit.model.words import BoardEdge, BoardStock, JointKind, NoseKind, Side, StripRun, Stuff
from fit.read.scalars import (
    Above0,
    Flag,
    From0,
    Keys,
    Len,
    Name,
    Printed,
    Text,
    by_form,
    one_of,
    whole,
)
from fit.read.schema_part import (
    ZERO,
    BushingKeys,
    DisplayKeys,
    GlandKeys,
    GrilleKeys,
    GrommetKeys,
    HolderKeys,
    HoleTriple,
    HullKeys,
    PanelKeys,
    PartKeys,
    RimSwitchKeys,
    Size,
    Size3,
    StudKeys,
    StuffWord,
    TapedKeys,
    list_or_keys,
)
from fit.read.schema_size import BoardSize, Sized, round_hole, sized
from fit.units import Length

KIND_FAULTS: Final[dict[str, tuple[str, ...]]] = {}
"""Error types where `kind` is missing or unknown → the kinds that may stand there."""


def choose_kind(code: str, *kinds: str) -> Discriminator:
    """Chooses the class by `kind`, so that a fault is reported for one kind only."""
    KIND_FAULTS[code] = kinds
    return by_form(code, _kind, "", "")


def _kind(value: object) -> str | None:
    if isinstance(value, str):
        return "as:name"
    return f"kind:{value.get('kind')}" if isinstance(value, dict) else None


class BoardHoleKeys(Keys):
    """A mounting hole of a board."""

    target: ClassVar[type[Any]] = model.BoardHole
    x: Len = Field(description="from the lower left corner, mm")
    y: Len = Field(description="from the lower left corner, mm")
    diameter: Above0 = Field(description="mm")


class NotchKeys(Keys):
    """A rectangle cut out of a board."""

    target: ClassVar[type[Any]] = model.Notch
    x: Len = Field(description="its lower left corner, mm")
    y: Len = Field(description="its lower left corner, mm")
    width: Above0 = Field(description="along the board's x, mm")
    depth: Above0 = Field(description="along the board's y, mm")


Over = Annotated[tuple[Len, Len, Above0, Above0], Field(description="[x, y, width, depth], mm")]
BoardHoleForm = Annotated[
    Annotated[HoleTriple, Tag("as:list")] | Annotated[BoardHoleKeys, Tag("as:keys")],
    list_or_keys("hole", "[x, y, diameter]"),
]
NotchForm = Annotated[
    Annotated[Over, Tag("as:list")] | Annotated[NotchKeys, Tag("as:keys")],
    list_or_keys("notch", "[x, y, width, depth]"),
]


class ZoneKeys(Keys):
    """A rectangle of a board with things on it up to some height."""

    target: ClassVar[type[Any]] = model.Zone
    name: Printed = Field(description="what stands there")
    over: Over = Field(description="[x, y, width, depth] from the lower left corner, mm")
    height: Above0 = Field(description="above the board's surface on that side, mm")
    side: Annotated[Side, one_of(Side)] = Field(Side.TOP, description="top or underside")
    stuff: StuffWord = Field(Stuff.HARD, description="hard, metal, live or soft")

    def make(self, **more: Any) -> Any:
        """The model's zone."""
        x, y, width, depth = self.over
        return super().make(x=x, y=y, width=width, depth=depth)


class NoseKeys(Keys):
    """What is soldered to a board and reaches through a wall: a socket at its edge, a button."""

    target: ClassVar[type[Any]] = nose_model.Nose
    name: Printed = Field(description="what it is; each name once on a board")
    edge: Annotated[BoardEdge, one_of(BoardEdge)] = Field(
        description="left, right, lower or upper: the edge it looks over, seen from the component "
        "side; top or underside: it stands on that side"
    )
    kind: Annotated[NoseKind, one_of(NoseKind)] = Field(
        description="plug: a socket that takes a plug; button: a switch to press"
    )
    reach: Above0 = Field(description="its face past that edge, or above that side, mm")
    x: Len = Field(ZERO, description="its middle from the board's left, mm")
    y: Len = Field(ZERO, description="its middle from the board's lower edge, mm")
    above: Len = Field(
        ZERO, description="at an edge: its middle above the component surface, mm; below 0: under"
    )
    width: From0 = Field(ZERO, description="along the edge (on a side: along x), mm")
    height: From0 = Field(ZERO, description="across the board (on a side: along y), mm")
    diameter: From0 = Field(ZERO, description="of a round one, mm")
    root: From0 = Field(ZERO, description="at an edge: how far it lies back over the board, mm")
    stuff: StuffWord = Field(Stuff.HARD, description="hard, metal, live (bare contacts) or soft")
    travel: From0 = Field(ZERO, description="of a button: how far it goes in, mm")
    shoulder: From0 = Field(
        ZERO, description="of a button: what is wider than its hole, past edge or side, mm; 0: none"
    )
    plug: HullKeys | None = Field(None, description="moulding of the plug outside, as it sits")
    hole: Above0 | None = Field(None, description="diameter to drill, mm; else worked out")
    cutout: Size | None = Field(
        None, description="[width, height] to cut, as its own, mm; else worked out"
    )
    slot: Flag = Field(False, description="true: its opening is cut open to the rim")


class BoardKeys(PartKeys):
    """A board, seen from the component side."""

    target: ClassVar[type[Any]] = model.Board
    kind: Literal["board"]
    stock: Annotated[BoardStock, one_of(BoardStock)] = Field(
        description="strips, pads or groups (perfboard), or plain (a made circuit board)"
    )
    strips: Annotated[StripRun, one_of(StripRun)] = Field(
        StripRun.ROWS,
        description="where the copper of strips runs: rows (along its width) or columns",
    )
    size: BoardSize = Field(
        description="[width, height]; '46 holes' counts perfboard pitches; biggest for either, or "
        "for both, is as large as goes in"
    )
    thickness: Above0 = Field(Length(1.6), description="mm")
    underside: From0 = Field(ZERO, description="how far soldered leads stick out below, mm")
    holes: list[BoardHoleForm] = Field([], description="[x, y, diameter], mm")
    notches: list[NotchForm] = Field([], description="[x, y, width, depth], mm")
    zones: list[ZoneKeys] = Field([], description="where parts stand and how high")
    noses: list[NoseKeys] = Field(
        [], description="what reaches through a wall: sockets at an edge, buttons"
    )

    def make(self, **more: Any) -> Any:
        """The model's board."""
        holes = tuple(
            form.make()
            if isinstance(form, BoardHoleKeys)
            else model.BoardHole(x=form[0], y=form[1], diameter=form[2])
            for form in self.holes
        )
        notches = tuple(
            form.make()
            if isinstance(form, NotchKeys)
            else model.Notch(x=form[0], y=form[1], width=form[2], depth=form[3])
            for form in self.notches
        )
        size = self.sized()
        return super().make(holes=holes, notches=notches, size=size.least, up_to=size.up_to, **more)

    def sized(self) -> Sized:
        """Its size: what it is, or has to be at least."""
        return sized(self.size, self.stock, self._reach())

    def _reach(self) -> Iterator[tuple[float, float]]:
        for form in self.holes:
            at = (form.x, form.y, form.diameter) if isinstance(form, BoardHoleKeys) else form
            yield round_hole(*at)
        for zone in self.zones:
            yield zone.over[0] + zone.over[2], zone.over[1] + zone.over[3]
        for nose in self.noses:
            half = max(nose.width, nose.diameter) / 2, max(nose.height, nose.diameter) / 2
            if nose.edge in (BoardEdge.LEFT, BoardEdge.RIGHT):
                yield float(nose.root), nose.y + half[0]
            elif nose.edge in (BoardEdge.LOWER, BoardEdge.UPPER):
                yield nose.x + half[0], float(nose.root)
            else:
                yield nose.x + half[0], nose.y + half[1]


class ScrewKeys(PartKeys):
    """A screw."""

    target: ClassVar[type[Any]] = model.Screw
    kind: Literal["screw"]
    thread: Text = Field(description="thread name, such as M3 or ST2.9")
    diameter: Above0 = Field(description="of the thread, mm")
    length: Above0 = Field(description="under the head, mm; of a countersunk one over all")
    head: StudKeys = Field(description="its head")
    self_tapping: Flag = Field(False, description="true when it cuts its own thread")
    countersunk: Flag = Field(
        False, description="true for a head of 90° that lies level; the length is over all then"
    )


class JointKeys(PartKeys):
    """What blocks and brackets share."""

    target: ClassVar[type[Any]] = model.Joint
    count: Annotated[int, whole(1, 20, "how many")] = Field(2, description="how many on the edge")
    inset: From0 = Field(
        Length(10.0), description="from the standing board's ends to the outer ones' middle, mm"
    )
    screw: Above0 = Field(Length(3.0), description="diameter of the screws in it, mm")


class BlockKeys(JointKeys):
    """A block between two boards at a right angle."""

    kind: Literal["block"]
    size: Size3 = Field(
        description="[along the edge, up the standing board, along the lying board], mm"
    )

    def make(self, **more: Any) -> Any:
        """The model's joint."""
        return super().make(kind=JointKind.BLOCK, **more)


class BracketKeys(JointKeys):
    """A strip of metal bent to a right angle."""

    kind: Literal["bracket"]
    width: Above0 = Field(description="along the edge, mm")
    legs: Size = Field(
        description="[up the standing board, along the lying board], outside lengths, mm"
    )
    thickness: Above0 = Field(description="of the strip, mm")

    def make(self, **more: Any) -> Any:
        """The model's joint."""
        return super().make(kind=JointKind.STRIP, size=(self.width, *self.legs), **more)


KINDS: Final[dict[str, type[PartKeys]]] = {
    "bushing": BushingKeys,
    "panel": PanelKeys,
    "rim_switch": RimSwitchKeys,
    "display": DisplayKeys,
    "board": BoardKeys,
    "taped": TapedKeys,
    "gland": GlandKeys,
    "grommet": GrommetKeys,
    "holder": HolderKeys,
    "grille": GrilleKeys,
    "block": BlockKeys,
    "bracket": BracketKeys,
    "screw": ScrewKeys,
}
"""Every kind of part by the word a file uses for it."""


PartFile = Annotated[
    Annotated[BushingKeys, Tag("kind:bushing")]
    | Annotated[PanelKeys, Tag("kind:panel")]
    | Annotated[RimSwitchKeys, Tag("kind:rim_switch")]
    | Annotated[DisplayKeys, Tag("kind:display")]
    | Annotated[BoardKeys, Tag("kind:board")]
    | Annotated[TapedKeys, Tag("kind:taped")]
    | Annotated[GlandKeys, Tag("kind:gland")]
    | Annotated[GrommetKeys, Tag("kind:grommet")]
    | Annotated[HolderKeys, Tag("kind:holder")]
    | Annotated[GrilleKeys, Tag("kind:grille")]
    | Annotated[BlockKeys, Tag("kind:block")]
    | Annotated[BracketKeys, Tag("kind:bracket")]
    | Annotated[ScrewKeys, Tag("kind:screw")],
    choose_kind("kind_part", *KINDS),
]
"""A part described in full."""

PartRef = Annotated[
    Annotated[Name, Tag("as:name")]
    | Annotated[BushingKeys, Tag("kind:bushing")]
    | Annotated[PanelKeys, Tag("kind:panel")]
    | Annotated[RimSwitchKeys, Tag("kind:rim_switch")]
    | Annotated[DisplayKeys, Tag("kind:display")]
    | Annotated[BoardKeys, Tag("kind:board")]
    | Annotated[TapedKeys, Tag("kind:taped")]
    | Annotated[GlandKeys, Tag("kind:gland")]
    | Annotated[GrommetKeys, Tag("kind:grommet")]
    | Annotated[HolderKeys, Tag("kind:holder")]
    | Annotated[GrilleKeys, Tag("kind:grille")],
    choose_kind("kind_used", *(k for k in KINDS if k not in {"block", "bracket", "screw"})),
]
"""A part used in a build: its catalogue name, or described on the spot."""

JointRef = Annotated[
    Annotated[Name, Tag("as:name")]
    | Annotated[BlockKeys, Tag("kind:block")]
    | Annotated[BracketKeys, Tag("kind:bracket")],
    choose_kind("kind_joint", "block", "bracket"),
]

ScrewRef = Annotated[
    Annotated[Name, Tag("as:name")] | Annotated[ScrewKeys, Tag("kind:screw")],
    choose_kind("kind_screw", "screw"),
]
