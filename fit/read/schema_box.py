"""Boxes and drawers as they are written in a file."""

# No `from __future__ import annotations`: pydantic would have to read each type back from its
# text, which takes a fifth of the time these classes take to build.

from typing import Annotated, Any, ClassVar, Literal

from pydantic import Discriminator, Field, Tag

from fit.findings import Span
from fit.model import box as model
from fit.model.build import StepBit
from fit.model.words import FaceName, Half, LidKind, PostUse
from fit.read.scalars import (
    Above0,
    Angle,
    Flag,
    From0,
    Keys,
    Lean,
    Name,
    Text,
    by_form,
    one_of,
    tagged,
)
from fit.read.schema_board import ScrewRef, choose_kind
from fit.read.schema_part import ZERO, Pair, Size
from fit.read.schema_place import Across, Up
from fit.units import Length

HalfWord = Annotated[Half, one_of(Half)]


class WallKeys(Keys):
    """What is different about one upright wall."""

    target: ClassVar[type[Any]] = model.Wall
    thickness: Above0 | None = Field(None, description="at right angles to the wall, mm")
    draft: Lean | None = Field(None, description="lean, degrees; wider at the rim above 0")


class WallsKeys(Keys):
    """The four upright walls: alike, or told apart."""

    target: ClassVar[type[Any]] = model.Wall
    thickness: Above0 = Field(description="at right angles to the wall, mm")
    draft: Lean = Field(0.0, description="lean, degrees; above 0 when wider at the rim")
    front: WallKeys | None = Field(None, description="only what differs")
    back: WallKeys | None = Field(None, description="only what differs")
    left: WallKeys | None = Field(None, description="only what differs")
    right: WallKeys | None = Field(None, description="only what differs")

    def wall(self, own: WallKeys | None) -> model.Wall:
        """One wall: its own values, else the common ones."""
        thickness = own.thickness if own is not None else None
        draft = own.draft if own is not None else None
        return model.Wall(
            thickness=self.thickness if thickness is None else thickness,
            draft=self.draft if draft is None else draft,
        )


class CornersKeys(Keys):
    """The rounds of the upright edges."""

    target: ClassVar[type[Any]] = model.Tray
    outer: From0 = Field(ZERO, description="radius outside, mm")
    inner: From0 = Field(ZERO, description="radius inside, mm")


class LipKeys(Keys):
    """The ring that stands down from the lid into the body."""

    target: ClassVar[type[Any]] = model.Lip
    height: Above0 = Field(description="how far it reaches below the rim, mm")
    thickness: Above0 = Field(description="level, mm")
    gap: From0 = Field(description="between the lip and the body's inside at the rim, mm")


class FlatLidKeys(Keys):
    """A plate lying on the rim."""

    target: ClassVar[type[Any]] = model.Lid
    kind: Literal["flat"]
    thickness: Above0 = Field(description="mm")
    lip: LipKeys | None = Field(None, description="the ring into the body")

    def make(self, **more: Any) -> Any:
        """The model's lid: as high as it is thick."""
        return super().make(kind=LidKind.FLAT, height=self.thickness)


class DeepLidKeys(Keys):
    """A shallow tray upside down on the rim."""

    target: ClassVar[type[Any]] = model.Lid
    kind: Literal["deep"]
    height: Above0 = Field(description="outside, above the rim, mm")
    thickness: Above0 = Field(description="of its top plate, mm")
    wall: Above0 = Field(description="thickness of its upright walls, mm")
    draft: Lean = Field(0.0, description="lean of its walls, degrees; narrower at the top above 0")
    lip: LipKeys | None = Field(None, description="the ring into the body")

    def make(self, **more: Any) -> Any:
        """The model's lid."""
        return super().make(kind=LidKind.DEEP)


LidForm = Annotated[
    Annotated[FlatLidKeys, Tag("kind:flat")] | Annotated[DeepLidKeys, Tag("kind:deep")],
    choose_kind("kind_lid", "flat", "deep"),
]


class PostKeys(Keys):
    """One moulded post, or four alike."""

    target: ClassVar[type[Any]] = model.Post
    name: Name = Field(description="for messages; four posts add 1 to 4 to it")
    half: HalfWord = Field(Half.BODY, alias="in", description="body or lid")
    at: Pair | None = Field(None, description="[x, y] of its axis from the box's middle, mm")
    apart: tuple[Above0, Above0] | None = Field(
        None, description="four posts alike: [along x, along y] from axis to axis, mm"
    )
    tip: Above0 = Field(description="diameter at the free end, mm")
    foot: Above0 | None = Field(None, description="diameter at the foot, mm; else as the tip")
    height: Above0 = Field(description="from the inner face of floor or lid, mm")
    hole: From0 = Field(ZERO, description="diameter of the screw hole, mm; 0: none")
    depth: From0 = Field(ZERO, description="depth of that hole, mm")
    use: Annotated[PostUse, one_of(PostUse)] = Field(
        PostUse.BOARD, description="board: holds a board; closing: takes a closing screw"
    )

    def posts(self) -> tuple[model.Post, ...]:
        """The one post, or four: front left, front right, back right, back left."""
        foot = self.tip if self.foot is None else self.foot
        if self.at is not None:
            return (self.make(foot=foot, x=self.at[0], y=self.at[1]),)
        assert self.apart is not None
        x, y = self.apart[0] / 2, self.apart[1] / 2
        corners = ((-x, -y), (x, -y), (x, y), (-x, y))
        return tuple(
            self.make(name=f"{self.name}{i}", foot=foot, x=Length(px), y=Length(py))
            for i, (px, py) in enumerate(corners, start=1)
        )


class RibKeys(Keys):
    """A moulded rib: a straight bar on the inside of a wall, the floor or the lid."""

    target: ClassVar[type[Any]] = model.Rib
    name: Name = Field(description="for messages")
    on: Annotated[FaceName, one_of(FaceName)] = Field(description="the wall it stands on")
    start: Pair = Field(alias="from", description="[across, up] in the face's frame, mm")
    end: Pair = Field(alias="to", description="[across, up] in the face's frame, mm")
    thickness: Above0 = Field(description="along the wall, mm")
    depth: Above0 = Field(description="how far it stands into the box, mm")


class HolePlaceKeys(Keys):
    """Where a hole's centre lies on its face."""

    target: ClassVar[type[Any]] = model.Hole
    across: Across = Field(description="to the right, seen from outside")
    up: Up = Field(description="away from the floor; on lid and floor to the back")


class HoleKeys(Keys):
    """A hole that is in the box already: round, a slot with round ends, or a rectangle."""

    target: ClassVar[type[Any]] = model.Hole
    name: Name = Field(description="for messages")
    on: Annotated[FaceName, one_of(FaceName)] = Field(description="the face it is in")
    at: HolePlaceKeys = Field(description="where its centre lies")
    diameter: From0 = Field(ZERO, description="of a round hole, or the width of a slot, mm")
    long: From0 = Field(ZERO, description="length over all of a slot with round ends, mm")
    size: Size | None = Field(None, description="[width, height] of a rectangle, mm")
    corner_radius: From0 = Field(ZERO, description="of a rectangle's corners, mm")
    turn: Angle = Field(
        0.0, description="of a slot or rectangle, degrees counter-clockwise seen from outside"
    )
    knock_out: Flag = Field(False, description="true while a thin skin still closes it")

    def hole(self) -> model.Hole:
        """The model's hole."""
        made: model.Hole = self.make(across=_coordinate(self.at.across), up=_coordinate(self.at.up))
        return made


def _coordinate(form: Any) -> Any:
    return form.make() if isinstance(form, Keys) else form


class BoxKeys(Keys):
    """A drafted tray with a lid."""

    target: ClassVar[type[Any]] = model.Tray
    box: Name | None = Field(None, description="catalogue name; same as the file's name")
    about: Text = Field("", description="one line about it")
    outside: tuple[Above0, Above0, Above0] = Field(
        description="[length and width at the rim, height with the lid closed], mm"
    )
    walls: WallsKeys = Field(description="the four upright walls")
    floor: Above0 = Field(description="thickness of the floor, mm")
    corners: CornersKeys = Field(
        default_factory=lambda: CornersKeys.model_validate({}),
        description="rounds of the upright edges",
    )
    lid: LidForm = Field(description="flat or deep")
    posts: list[PostKeys] = Field([], description="moulded screw pillars")
    ribs: list[RibKeys] = Field([], description="moulded ribs")
    holes: list[HoleKeys] = Field([], description="holes that are there already")
    plastic: Text = Field("ABS", description="name of the material")

    def tray(self, name: str, where: Span) -> model.Tray:
        """The model's box, under its own name or else the one given."""
        length, width, height = self.outside
        return model.Tray(
            name=self.box or name,
            about=self.about,
            length=length,
            width=width,
            height=height,
            front=self.walls.wall(self.walls.front),
            back=self.walls.wall(self.walls.back),
            left=self.walls.wall(self.walls.left),
            right=self.walls.wall(self.walls.right),
            floor=self.floor,
            corner_outer=self.corners.outer,
            corner_inner=self.corners.inner,
            lid=self.lid.make(),
            posts=tuple(post for group in self.posts for post in group.posts()),
            ribs=tuple(rib.make() for rib in self.ribs),
            holes=tuple(hole.hole() for hole in self.holes),
            plastic=self.plastic,
            where=where,
        )


class StepBitKeys(Keys):
    """A step bit."""

    target: ClassVar[type[Any]] = StepBit
    smallest: Above0 = Field(alias="from", description="smallest diameter, mm")
    largest: Above0 = Field(alias="to", description="largest diameter, mm")
    step: Above0 = Field(description="diameter gained per step, mm")
    step_height: Above0 = Field(alias="height", description="height of one step, mm")


class DrawerKeys(Keys):
    """What a person has."""

    target: ClassVar[type[Any]] = StepBit
    drawer: Name | None = Field(None, description="name; same as the file's name")
    about: Text = Field("", description="one line about it")
    bits: list[Above0] = Field(description="twist bits, diameters, mm")
    step_bits: list[StepBitKeys] = Field([], description="step bits")
    screws: list[ScrewRef] = Field([], description="screws: catalogue names, or described here")
    spacers: list[Above0] = Field([], description="spacers, lengths, mm")


def name_or_keys(what: str) -> Discriminator:
    """Chooses between a catalogue name and a description on the spot."""

    def form(value: object) -> str | None:
        tag = tagged(value)
        return "as:name" if tag == "as:text" else tag if tag == "as:keys" else None

    right = f"write the name of a {what} or describe it here"
    return by_form(f"form_{what}", form, f"this is not a {what}", right)


BoxRef = Annotated[
    Annotated[Name, Tag("as:name")] | Annotated[BoxKeys, Tag("as:keys")], name_or_keys("box")
]
DrawerRef = Annotated[
    Annotated[Name, Tag("as:name")] | Annotated[DrawerKeys, Tag("as:keys")],
    name_or_keys("drawer"),
]
