"""Puts a build together with the CAD kernel, in the printed order, moving exact solids in steps.

The box is made afresh from its own sizes (`tests.oracle`), its openings are cut through with
solids of their own. What stands already never shares room with what is on its way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.gp import gp_Pnt

from fit.check.order import order_of
from fit.check.passing import Group, groups
from fit.check.rule import Inspection
from fit.check.sequence import Step, in_order, precedence, steps_of
from fit.check.things import Things, is_nose, things
from fit.check.ways import going, strides
from fit.geometry.frames import Pose, Vec, scale
from fit.geometry.scene import BOX, Body, Cut, Opening, Scene
from fit.geometry.shapes import Block, Cylinder, Shape
from fit.geometry.tilting import Stop, at_stop
from fit.model.part import BushingPart, Display, Gland, PanelPart, RimSwitch, TapedPart
from fit.model.words import Entry, FaceName, Half, Stuff
from tests.oracle import FAR, Solid, made, shared, solid_of
from tests.oracle_box import Wall, lip, walls

STEP = 1.0
"""Two places of a moving solid lie at most this far apart, mm."""

HAIR = 1e-3
"""Common room thinner than this, mm, is contact."""

_ADDED_INSIDE = ("nut", "washer", "clamp", "terminals")
"""What of a part from outside is put on from inside."""


@dataclass(frozen=True, slots=True)
class Bump:
    """Two things that share room: which, on which step, how deep, mm."""

    step: str
    moving: str
    standing: str
    deep: float


@dataclass(slots=True)
class Bench:
    """A box half with what stands in it so far."""

    known: Things
    half: Half
    standing: list[tuple[Body, Solid]] = field(default_factory=list)
    steps: int = 0
    cut: dict[Solid, Solid] = field(default_factory=dict)
    opened: dict[tuple[Solid, Opening], Solid] = field(default_factory=dict)

    @property
    def scene(self) -> Scene:
        """What is put together."""
        return self.known.scene

    def material(self, body: Body) -> Iterator[tuple[str, Solid]]:
        """The box as that body meets it: for noses with their openings cut out."""
        tray = self.scene.build.box
        for wall in walls(tray):
            if wall.half is not self.half:
                continue
            solid = self._cut_off(wall)
            if is_nose(body):
                for opening in self.scene.openings:
                    if opening.face in wall.faces and opening.part == body.owner and opening.name:
                        solid = self._open(solid, opening)
            yield " ".join(wall.faces), solid
        if self.half is Half.LID and (ring := lip(tray)) is not None:
            yield "lip", ring[0]

    def _cut_off(self, wall: Wall) -> Solid:
        """A wall as thick as it is, without the rest of the world behind it."""
        if wall.solid not in self.cut:
            tray = self.scene.build.box
            x, y, z = tray.length / 2, tray.width / 2, tray.rim
            low, high = (-10.0, z) if self.half is Half.BODY else (z, tray.height + 10.0)
            block = BRepPrimAPI_MakeBox(gp_Pnt(-x, -y, low), gp_Pnt(x, y, high)).Solid()
            if wall.plane is not None:
                thick = float(tray.thickness(wall.faces[0]))
                slab = Block(2 * FAR, 2 * FAR, thick)
                block = solid_of(slab, wall.plane.shifted((0.0, 0.0, thick / 2))).shape
            shape = BRepAlgoAPI_Common(wall.solid.shape, block).Shape()
            self.cut[wall.solid] = made(shape, wall.solid.frame)
        return self.cut[wall.solid]

    def _open(self, wall: Solid, opening: Opening) -> Solid:
        key = (wall, opening)
        if key not in self.opened:
            self.opened[key] = _opened(self.scene, wall, opening)
        return self.opened[key]

    def bumps(self, step: str, body: Body, pose: Pose) -> Iterator[Bump]:
        """What a body meets in a place."""
        self.steps += 1
        moving = solid_of(body.shape, pose)
        for name, solid in self.material(body):
            if body.outside and not is_nose(body):
                continue
            if (deep := shared(moving, solid)) > HAIR:
                yield Bump(step, f"{body.owner} {body.name}", name, deep)
        for other, solid in self.standing:
            if frozenset((body.id, other.id)) in self.scene.touching or body.owner == other.owner:
                continue
            if (deep := shared(moving, solid)) > HAIR:
                yield Bump(step, f"{body.owner} {body.name}", f"{other.owner} {other.name}", deep)

    def put(self, bodies: list[Body]) -> None:
        """Leave bodies in their places."""
        self.standing += [(b, solid_of(b.shape, b.pose)) for b in bodies]


def _opened(scene: Scene, solid: Solid, opening: Opening) -> Solid:
    face = scene.faces[opening.face]
    deep = 2 * face.thickness + 20.0
    shape: Shape = Block(opening.width, opening.height, deep)
    up = opening.up
    if opening.cut is Cut.ROUND:
        shape = Cylinder(opening.diameter / 2, deep)
    elif opening.cut is Cut.RIM_SLOT:
        shape = Block(opening.width, opening.height + FAR, deep)
        up += FAR / 2
    tool = solid_of(shape, face.frame.shifted((opening.across, up, 0.0)))
    return made(BRepAlgoAPI_Cut(solid.shape, tool.shape).Shape(), solid.frame)


def put_together(scene: Scene) -> tuple[list[Bump], int]:
    """Do every step of the printed order: what bumped into what, and how many places were tried."""
    known = things(Inspection(scene))
    steps = steps_of(known)
    done = in_order(steps, precedence(steps))
    words = order_of(Inspection(scene)).steps
    assert [s.words for h in (Half.BODY, Half.LID) for s in done if s.half is h] == [
        w for w in words if w in {s.words for s in done}
    ]
    found: list[Bump] = []
    benches = {half: Bench(known, half) for half in Half}
    grouped = {g.name: g for g in groups(known)}
    for half, bench in benches.items():
        bench.put(
            [b for b in scene.bodies if b.owner == BOX and b.half is half and b.name != "lip"]
        )
        for step in done:
            if step.half is half:
                found += _do(bench, step, grouped.get(step.name))
    found += _close(benches)
    return found, sum(b.steps for b in benches.values())


def _do(bench: Bench, step: Step, group: Group | None) -> Iterator[Bump]:
    if group is not None:
        bodies = [s.body for s in (*group.solids, *group.noses)]
        for stop, plane in _way(bench, group):
            for body in bodies:
                pose = at_stop(plane, stop, body.pose)
                yield from bench.bumps(step.words, body, pose)
        bench.put(bodies)
        return
    hard = [b for b in bench.scene.bodies if b.owner == step.name and b.stuff is not Stuff.SOFT]
    for body, poses in _wall_part(bench.scene, hard):
        for pose in poses:
            yield from bench.bumps(step.words, body, pose)
    bench.put(hard)


def _way(bench: Bench, group: Group) -> Iterator[tuple[Stop, Pose]]:
    crooked = going(bench.known, group).fitting
    corners = [c for s in group.solids for c in s.ready.box]
    if crooked is not None:
        assert crooked.way is not None
        plane = crooked.way.plane
        far = max(math.dist(c, plane.origin) for c in corners)
        for stop in strides(crooked.way.stops, far, STEP):
            yield stop, plane
        return
    up = 1.0 if group.half is Half.BODY else -1.0
    plane = Pose((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, up), (0.0, -up, 0.0))
    rim = bench.scene.build.box.rim
    low = min(c[2] for c in corners) if up > 0 else max(c[2] for c in corners)
    tops = [b[1].bounds[1 if up > 0 else 0][2] for b in bench.standing] + [rim]
    end = max(tops) - low if up > 0 else low - min(tops)
    count = math.ceil(max(end, 0.0) / STEP) + 1
    for n in range(count + 1):
        yield Stop(0.0, max(end, 0.0) * n / count, 0.0), plane


def _wall_part(scene: Scene, bodies: list[Body]) -> Iterator[tuple[Body, list[Pose]]]:
    """A part on a wall: each of its bodies and the places it goes through."""
    for body in bodies:
        placed = scene.placed[body.owner]
        part, out = placed.used.part, placed.pose.z
        up = 1.0 if placed.half is Half.BODY else -1.0
        lifted: Vec = (0.0, 0.0, up)
        straight = isinstance(part, Display | RimSwitch)
        inside = isinstance(part, BushingPart) and part.entry is Entry.INSIDE
        on_from_inside = isinstance(part, BushingPart | Gland | PanelPart) and (
            body.name in _ADDED_INSIDE and not inside and not body.outside
        )
        if straight or on_from_inside:
            yield body, list(_along(body.pose, lifted, scene.build.box.height))
        elif inside and isinstance(part, BushingPart) and not body.outside:
            back = list(_along(body.pose, scale(out, -1.0), float(part.neck)))
            yield body, [*back, *_along(back[-1], lifted, scene.build.box.height)]
        elif isinstance(part, BushingPart | PanelPart | TapedPart) and body.name == "body":
            yield body, [body.pose]  # its way leads through its own hole: rule `passes`
        else:
            yield body, [body.pose]


def _along(pose: Pose, way: Vec, far: float) -> Iterator[Pose]:
    count = math.ceil(far / STEP)
    return (pose.moved(scale(way, far * n / count)) for n in range(count + 1))


def _close(benches: dict[Half, Bench]) -> Iterator[Bump]:
    """The lid and all it holds, lowered onto the body."""
    lid, body = benches[Half.LID], benches[Half.BODY]
    scene = lid.scene
    moving = [b for b, _ in lid.standing if not b.outside]
    if (ring := lip(scene.build.box)) is not None:
        moving += [b for b in scene.bodies if b.name == "lip" and b.owner == BOX]
        assert ring
    for b in moving:
        for pose in _along(b.pose, (0.0, 0.0, 1.0), scene.build.box.height):
            yield from body.bumps("close the lid", b, pose)
    up = [b for b, _ in body.standing if not b.outside]
    for b in up:
        for name, solid in lid.material(b):
            if b.seat is FaceName.LID or name == "lip":
                continue
            if (deep := shared(solid_of(b.shape, b.pose), solid)) > HAIR:
                yield Bump("close the lid", f"{b.owner} {b.name}", name, deep)
