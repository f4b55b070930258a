"""Builds as they are written in a file."""

# No `from __future__ import annotations`: pydantic would have to read each type back from its
# text, which takes a fifth of the time these classes take to build.

from collections.abc import Iterable
from dataclasses import replace
from enum import StrEnum
from typing import Annotated, Any, ClassVar

from pydantic import Discriminator, Field, Tag

from fit.model import build as model
from fit.model.words import FaceName, Half, HandsName, PlateHold, Seat, Toward
from fit.read.scalars import (
    JSON_LENGTH,
    Above0,
    By,
    From0,
    Index,
    Keys,
    Name,
    PartName,
    Printed,
    Text,
    ViewAngle,
    between,
    did_you_mean,
    fault,
    from_0,
    kind_of,
    one_of,
    whole,
)
from fit.read.schema_board import JointRef, PartRef, ScrewRef
from fit.read.schema_box import BoxRef, DrawerRef
from fit.read.schema_part import ZERO, Pair, Size, list_or_keys
from fit.read.schema_place import Across, Up
from fit.read.schema_place import FromKeys as FromKeys
from fit.read.schema_wishes import WishKeys
from fit.units import Length


class PlaceKeys(Keys):
    """Where a part sits on its face; what is not said is left to the tool."""

    target: ClassVar[type[Any]] = model.Place
    across: Across | None = Field(None, description="to the right, seen from outside")
    up: Up | None = Field(None, description="away from the floor; on lid and floor to the back")
    beside: PartName | None = Field(None, description="the part it sits beside")
    side: Annotated[Toward, one_of(Toward)] = Field(
        Toward.RIGHT, description="on which side of that part: right, left, above or below"
    )
    gap: From0 = Field(ZERO, description="free space between the two, mm")
    off: Pair | None = Field(
        None, description="[right, up] this much further in every box, mm; needs across and up"
    )

    def make(self, **more: Any) -> Any:
        """The model's place: what it stands off goes into its coordinates."""
        made = super().make(**more)
        if self.off is None or made.across is None or made.up is None:
            return made
        right, up = self.off
        return replace(made, across=replace(made.across, off=right), up=replace(made.up, off=up))


def plain_or_list(value: object) -> str:
    """Which form a value has that may be one thing or a list of choices."""
    return "as:list" if isinstance(value, list) else "as:plain"


_GapForm = Annotated[
    Annotated[From0, Tag("as:plain")] | Annotated[tuple[From0, From0], Tag("as:list")],
    Discriminator(plain_or_list),
]


class WindowKeys(Keys):
    """The window a display looks through."""

    target: ClassVar[type[Any]] = model.Window
    filter: From0 = Field(ZERO, description="thickness of the filter plate, mm; 0: none")
    held: Annotated[PlateHold, one_of(PlateHold)] = Field(
        PlateHold.PUSHED_IN, description="pushed_in (a tight fit) or behind (on a ledge)"
    )
    opening: Size | None = Field(None, description="[width, height] to cut, mm; else worked out")
    gap: _GapForm = Field(
        Length(1.0), description="from the plate to the display's surface, mm; [least, most]"
    )
    seen_from: ViewAngle = Field(30.0, description="all is read from up to this angle, degrees")
    index: Index = Field(1.49, description="refractive index of the plate")
    ledge: From0 = Field(Length(4.0), description="how far a plate behind reaches past, mm")
    tight: From0 = Field(Length(0.1), description="how much a pushed-in plate is oversize, mm")
    corner_radius: From0 = Field(ZERO, description="largest round left in the corners, mm")

    def make(self, **more: Any) -> Any:
        """The model's window."""
        near, far = self.gap if isinstance(self.gap, tuple) else (self.gap, None)
        return super().make(gap=near, gap_to=far, **more)


_Mark = Annotated[int, whole(-1000, 1000, "a whole number")]
_Round = Annotated[float, between(-360, 360, "degrees clockwise from straight up")]


class ScaleKeys(Keys):
    """Marks round a knob, one for each whole number."""

    target: ClassVar[type[Any]] = model.Scale
    first: _Mark = Field(0, description="the number where the turn begins")
    last: _Mark = Field(10, description="the number where it ends")
    start: _Round = Field(-150.0, description="where it begins, degrees clockwise from up in use")
    end: _Round = Field(150.0, description="where it ends, degrees clockwise from up in use")


class AnyOf(StrEnum):
    """The word for every choice there is."""

    ANY = "any"


_QUARTERS = (0, 90, 180, 270)


def _turn(typed: object) -> int:
    if isinstance(typed, bool) or not isinstance(typed, int) or typed not in _QUARTERS:
        raise fault(f"{kind_of(typed)} is not a quarter turn", "write 0, 90, 180 or 270")
    return typed


def _turn_or_any(typed: object) -> int | AnyOf:
    if isinstance(typed, str):
        if typed == AnyOf.ANY.value:
            return AnyOf.ANY
        otherwise = "write 0, 90, 180, 270, any, or a list such as [0, 90]"
        raise fault(
            f"{kind_of(typed)} is not a quarter turn", did_you_mean(typed, AnyOf, otherwise)
        )
    return _turn(typed)


def _standoff_or_any(typed: object) -> Length | AnyOf:
    if typed == AnyOf.ANY.value:
        return AnyOf.ANY
    length: Length = from_0(typed)
    return length


def _face_of_several(typed: object) -> FaceName:
    if isinstance(typed, str) and typed in set(Seat):
        raise fault(f"'{typed}' is no face", "only faces stand in a list: take it out")
    face: FaceName = _FACE.read(typed)
    return face


_FACE = one_of(FaceName)
_OneTurn = Annotated[int, By(_turn, {"enum": [*_QUARTERS]})]
_TurnForm = Annotated[
    Annotated[int | AnyOf, By(_turn_or_any, {"enum": [*_QUARTERS, "any"]}), Tag("as:plain")]
    | Annotated[list[_OneTurn], Tag("as:list")],
    Discriminator(plain_or_list),
]
_StandoffForm = Annotated[
    Annotated[
        Length | AnyOf,
        By(_standoff_or_any, {"anyOf": [{"const": "any"}, JSON_LENGTH]}),
        Tag("as:plain"),
    ]
    | Annotated[list[From0], Tag("as:list")],
    Discriminator(plain_or_list),
]
_OnForm = Annotated[
    Annotated[FaceName | Seat, one_of(FaceName, Seat), Tag("as:plain")]
    | Annotated[list[Annotated[FaceName, By(_face_of_several, _FACE.json)]], Tag("as:list")],
    Discriminator(plain_or_list),
]


class UsedKeys(Keys):
    """One part of a build."""

    target: ClassVar[type[Any]] = model.Used
    use: PartRef = Field(description="catalogue name, or the part described here")
    on: _OnForm | None = Field(
        None,
        description="a face, posts, or carrier (inside of the half with the boards); a list of "
        "faces: the tool chooses",
    )
    at: PlaceKeys | None = Field(None, description="where; left out: the tool finds the place")
    turn: _TurnForm = Field(
        0, description="degrees counter-clockwise seen from outside; a list, any: choices"
    )
    window: WindowKeys | None = Field(None, description="for displays")
    standoff: _StandoffForm | None = Field(
        None, description="spacers under a lying board, mm; a list, any (of the drawer): choices"
    )
    joined_to: PartName | None = Field(None, description="standing board: the lying one")
    joint: JointRef | None = Field(None, alias="with", description="what joins the two boards")
    carries: list[PartName] = Field([], description="displays soldered to this board")
    screws: ScrewRef | None = Field(None, description="the screws that hold it")
    legend: Printed = Field("", description="what the front label says beside it")
    scale: ScaleKeys | None = Field(None, description="marks round its knob on the front label")

    @property
    def seats(self) -> tuple[FaceName | Seat, ...]:
        """What it may sit on, the first choice first; none when nothing is said."""
        if isinstance(self.on, list):
            return tuple(self.on)
        return () if self.on is None else (self.on,)

    @property
    def all_turns(self) -> tuple[int, ...]:
        """The turns it may take, the first choice first."""
        if isinstance(self.turn, list):
            return tuple(self.turn)
        return _QUARTERS if isinstance(self.turn, AnyOf) else (self.turn,)

    def heights(self, spacers: Iterable[Length]) -> tuple[Length, ...]:
        """The standoffs it may have, the first choice first; none when nothing is said.

        Args:
            spacers: lengths of the spacers in the drawer, mm: what `any` means.
        """
        if isinstance(self.standoff, list):
            return tuple(self.standoff)
        if isinstance(self.standoff, AnyOf):
            return tuple(sorted(set(spacers)))
        return () if self.standoff is None else (self.standoff,)

    def used(self, spacers: Iterable[Length], **more: Any) -> Any:
        """The model's part in use: the first choices as its own, the others beside them."""
        seat, *seats = self.seats or (None,)
        turn, *turns = self.all_turns
        height, *heights = self.heights(spacers) or (None,)
        return self.make(
            on=seat,
            also_on=tuple(seats),
            turn=turn,
            turns=tuple(turns),
            standoff=height,
            standoffs=tuple(heights),
            **more,
        )


class WireKeys(Keys):
    """A wire or cable between two parts."""

    target: ClassVar[type[Any]] = model.Wire
    start: PartName = Field(alias="from", description="name of a part")
    end: PartName = Field(alias="to", description="name of a part")


WireForm = Annotated[
    Annotated[tuple[PartName, PartName], Tag("as:list")] | Annotated[WireKeys, Tag("as:keys")],
    list_or_keys("wire", "[one part, other part] or {from: one part, to: other part}"),
]


class CarrierWord(StrEnum):
    """Which half carries the boards."""

    BODY = "body"
    LID = "lid"
    EITHER = "either"
    """The body, or the lid instead."""

    @property
    def halves(self) -> tuple[Half, ...]:
        """The halves meant, the first choice first."""
        return tuple(Half) if self is CarrierWord.EITHER else (Half(self.value),)


class PanelUseKeys(Keys):
    """A group of parts from a panel file, put on a face as one."""

    target: ClassVar[type[Any]] = model.Place
    use: Name = Field(description="catalogue name of the panel")
    on: Annotated[FaceName, one_of(FaceName)] = Field(description="the face")
    at: PlaceKeys = Field(description="where its middle [0, 0] lies; across and up")


class MemberKeys(UsedKeys):
    """One part of a panel: as in a build, but for its place."""

    on: None = Field(None, description="the build says on which face")
    at: Pair = Field(description="[right, up] of its middle from the panel's, mm")  # type: ignore[assignment]


class PanelKeys(Keys):
    """Parts with their places relative to each other, for use in several builds."""

    target: ClassVar[type[Any]] = model.Place
    panel: Name | None = Field(None, description="name; same as the file's name")
    about: Text = Field("", description="one line about it")
    parts: dict[PartName, MemberKeys] = Field(description="its parts")


Watts = Annotated[float, between(0, 1000, "a heat in watts")]


class BuildKeys(Keys):
    """One device."""

    target: ClassVar[type[Any]] = model.Build
    build: Name = Field(description="name of the build; results go to a folder of that name")
    about: Text = Field("", description="one line about it")
    box: BoxRef = Field(description="catalogue name of the box, or the box described here")
    stands_on: Annotated[FaceName, one_of(FaceName)] = Field(
        FaceName.FLOOR, description="the face that is down in use"
    )
    carrier: Annotated[CarrierWord, one_of(CarrierWord)] = Field(
        CarrierWord.BODY, description="the half that carries the boards: body, lid or either"
    )
    hands: Annotated[HandsName, one_of(HandsName)] = Field(
        HandsName.CAREFUL, description="freehand, careful or guided"
    )
    drawer: DrawerRef = Field(description="what the person has: bits, screws, spacers")
    parts: dict[PartName, UsedKeys] = Field({}, description="everything in, on and through it")
    panels: dict[PartName, PanelUseKeys] = Field(
        {}, description="groups of parts: each brings its parts, named PANEL_PART"
    )
    wires: list[WireForm] = Field([], description="wires between parts")
    needs: dict[Name, From0] = Field({}, description="limits set by hand: rule name and mm")
    wishes: list[WishKeys] = Field([], description="what the layout should look like")
    room: From0 = Field(Length(5.0), description="margin above which more is no merit, mm")
    watts: Watts = Field(0.0, description="heat made inside in use, W")
    read_from: Above0 = Field(Length(500.0), description="how far off the legends are read, mm")
