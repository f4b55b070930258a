"""What one part contributes to a scene, and the few shapes parts are built from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fit.geometry.drilling import oblong_steps, round_steps, sawn_steps
from fit.geometry.frames import Pose
from fit.geometry.places import corner_radius_of_nut
from fit.geometry.scene import Body, BodyId, Cut, Opening, Role
from fit.geometry.shapes import Block, Cylinder, Shape
from fit.model.build import Drawer
from fit.model.part import Hull
from fit.model.words import FaceName, Half, Stuff
from fit.trade.drills import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Bodies, openings and purposeful contacts of one part."""

    bodies: tuple[Body, ...] = ()
    openings: tuple[Opening, ...] = ()
    touching: tuple[tuple[BodyId, BodyId], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount:
    """Where a part's frame stands: x, y in the face, z out; wall thickness; who and with what.

    Attributes:
        owner: the part's name.
        face: its face.
        pose: the part's frame, origin on the wall's outer surface.
        wall: thickness of the wall, mm.
        across, up, turn: the same place in the face frame, mm and degrees.
        half: the half the part stays with.
        drawer: for the drilling steps.
    """

    owner: str
    face: FaceName
    pose: Pose
    wall: float
    across: float
    up: float
    turn: float
    half: Half
    drawer: Drawer

    def solid(
        self,
        name: str,
        shape: Shape,
        high: float,
        low: float,
        at: tuple[float, float] = (0.0, 0.0),
        *,
        stuff: Stuff = Stuff.HARD,
        outside: bool = False,
    ) -> Body:
        """A body whose axis is the part's z, from z = high down to z = low (mm, inwards < 0)."""
        pose = self.pose.shifted((at[0], at[1], (high + low) / 2))
        return Body(
            owner=self.owner,
            name=name,
            shape=shape,
            pose=pose,
            half=self.half,
            stuff=stuff,
            outside=outside,
            seat=self.face,
        )

    def disc(
        self, name: str, diameter: float, high: float, low: float, *, outside: bool = False
    ) -> Body:
        """A round body from z = high down to z = low, mm."""
        return self.solid(name, Cylinder(diameter / 2, high - low), high, low, outside=outside)

    def nut(self, across_flats: float, high: float, low: float, *, outside: bool = False) -> Body:
        """A nut as the round bar its corners sweep (safe side: grows by the six gaps)."""
        return self.disc("nut", 2 * corner_radius_of_nut(across_flats), high, low, outside=outside)

    def hull(self, name: str, hull: Hull, high: float, low: float) -> Iterable[Body]:
        """A hull's body from z = high down to z = low; nothing when it has no length left."""
        if high - low <= 0:
            return
        if hull.diameter > 0:
            shape: Shape = Cylinder(hull.diameter / 2, high - low)
        else:
            shape = Block(float(hull.width), float(hull.height), high - low)
        yield self.solid(name, shape, high, low, stuff=hull.stuff)

    def steps(self, diameter: float) -> tuple[Step, ...]:
        """The tools for a round hole of that diameter in this wall, from the drawer."""
        return round_steps(self.drawer, diameter, self.wall)

    def place(self, x: float, y: float) -> tuple[float, float]:
        """The part's point (x, y) in the face frame: across, up, mm."""
        spot = Pose((self.across, self.up, 0.0)).turned(self.turn).point((x, y, 0.0))
        return spot[0], spot[1]

    def hole(
        self,
        diameter: float,
        role: Role,
        at: tuple[float, float] = (0.0, 0.0),
        *,
        sink: float = 0.0,
    ) -> Opening:
        """A round opening at the part's point `at`, countersunk where `sink` is above 0."""
        across, up = self.place(*at)
        return Opening(
            part=self.owner,
            face=self.face,
            cut=Cut.ROUND,
            role=role,
            across=across,
            up=up,
            diameter=diameter,
            sink=sink,
            steps=self.steps(diameter),
        )

    def oblong(
        self, long: float, wide: float, role: Role, at: tuple[float, float], turn: float = 0.0
    ) -> Opening:
        """A slot with round ends: a hole at each end, sawn and filed between them."""
        across, up = self.place(*at)
        return Opening(
            part=self.owner,
            face=self.face,
            cut=Cut.OBLONG,
            role=role,
            across=across,
            up=up,
            turn=(self.turn + turn) % 360.0,
            width=long,
            height=wide,
            corner_radius=wide / 2,
            steps=oblong_steps(self.drawer, wide, self.wall),
        )

    def cutout(
        self,
        width: float,
        height: float,
        role: Role,
        *,
        corner_radius: float = 0.0,
        plus: float = 0.0,
        at: tuple[float, float] = (0.0, 0.0),
        cut: Cut = Cut.RECTANGLE,
    ) -> Opening:
        """A rectangular opening centred on the part's point `at`; drilled, sawn and filed."""
        across, up = self.place(*at)
        return Opening(
            part=self.owner,
            face=self.face,
            cut=cut,
            role=role,
            across=across,
            up=up,
            turn=self.turn,
            width=width,
            height=height,
            corner_radius=corner_radius,
            plus=plus,
            steps=sawn_steps(self.drawer, width),
        )
