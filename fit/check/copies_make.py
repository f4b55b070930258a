"""Puts one hand-made copy of a scene together."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fit.check.copies_cuts import Cuts
from fit.check.copies_hands import Edges
from fit.check.copies_sizes import Path, added, tree_of
from fit.check.copies_slopes import shaped, sizes_of
from fit.check.copies_spots import Spots, vec
from fit.geometry.box import faces
from fit.geometry.frames import Pose, Vec, add, dot, scale, sub
from fit.geometry.scene import (
    BOX,
    Body,
    Cut,
    DrilledHole,
    Opening,
    Placed,
    PlacedBoard,
    PlacedNose,
    Scene,
)
from fit.geometry.support import Array
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, Display, RimSwitch

if TYPE_CHECKING:
    from fit.check.copies import Workshop

_FLAT_BODIES = ("block", "strip")
"""Of a standing board, what stays flat on the lying one when the board leans."""


class Copy:
    """One copy while it is made: `scene` gives it."""

    def __init__(self, shop: Workshop, off: Array, owners: frozenset[str] | None) -> None:
        self._shop, self._owners = shop, owners
        # plain numbers: what is made of them ends up in the model
        self._off: list[float] = off.tolist()
        self._plan = shop.scene
        self._row = shop.numbers(off).tolist()
        self._layout = shop.slopes.layout
        self._cuts = Cuts(self._plan, shop.hands, self._off)
        self._spots = Spots(shop, self._off, self._row, self._cuts)

    def scene(self) -> Scene:
        """The copy."""
        build = self._build()
        boards = tuple(self._board(b, build) for b in self._plan.boards)
        bodies = [
            self._body(n, body) for n, body in enumerate(self._plan.bodies) if self._kept(body)
        ]
        return replace(
            self._plan,
            build=build,
            faces=faces(build.box),
            bodies=tuple(bodies),
            openings=tuple(self._opening(n, o) for n, o in enumerate(self._plan.openings)),
            boards=boards,
            placed={name: self._placed(name, p, build) for name, p in self._plan.placed.items()},
            noses=tuple(self._nose(nose, build) for nose in self._plan.noses),
        )

    def _kept(self, body: Body) -> bool:
        if self._owners is None:
            return True
        return (body.name if body.owner == BOX else body.owner) in self._owners

    # --- sizes written into the build

    def _build(self) -> Build:
        off, shop = self._off, self._shop
        adds: dict[Path, float] = {}
        for source, value in zip(shop.sources[: shop.size_count], off, strict=False):
            for path, sign in source.paths:
                adds[path] = adds.get(path, 0.0) + sign * value
        for n, opening in enumerate(self._plan.openings):
            number = shop.places[opening.part]
            for path, add_on in self._cut_sizes(n, opening, shop.build.parts[number]):
                adds[("parts", number, *path)] = add_on
        for name, edges in shop.hands.edges.items():
            for path, add_on in self._sawn_sizes(shop.boards[name].board, edges):
                key = ("parts", shop.places[name], "part", *path)
                adds[key] = adds.get(key, 0.0) + add_on
        build = added(shop.build, tree_of(adds))
        assert isinstance(build, Build)
        return build

    def _cut_sizes(self, number: int, opening: Opening, used: Used) -> list[tuple[Path, float]]:
        """The sizes of an opening that the model keeps as well."""
        made = self._shop.hands.made[number]
        if isinstance(used.part, BushingPart) and made.larger is not None:
            is_mount = number in self._shop.mounts[used.name]
            return [(("part", "hole"), self._off[made.larger])] if is_mount else []
        if isinstance(used.part, Display) and made.edges is not None and used.window is not None:
            wide, high = self._cuts.growth(number)
            return [(("window", "opening", 0), wide), (("window", "opening", 1), high)]
        if isinstance(used.part, RimSwitch):
            return [(("part", "slot", 1), -self._cuts.bottom(number, opening))]
        return []

    def _sawn_sizes(self, board: Board, edges: Edges) -> list[tuple[Path, float]]:
        """Size, notches and what is counted from the lower left corner of a sawn board."""
        found: list[tuple[Path, float]] = []
        for axis, (place, size, lines) in enumerate((("x", "width", edges.x),
                                                     ("y", "depth", edges.y))):  # fmt: skip
            first = self._cuts.line(lines, 0.0)
            whole = float(board.size[axis])
            found.append((("size", axis), self._cuts.line(lines, whole) - first))
            found += [(("zones", n, place), -first) for n in range(len(board.zones))]
            found += [(("holes", n, place), -first) for n in range(len(board.holes))]
            for n, notch in enumerate(board.notches):
                low = float(getattr(notch, place))
                high = low + float(getattr(notch, size))
                near, far = self._cuts.line(lines, low), self._cuts.line(lines, high)
                found.append((("notches", n, place), near - first))
                found.append((("notches", n, size), far - near))
        return found

    def _opening(self, number: int, opening: Opening) -> Opening:
        at = self._layout.openings[number]
        across, up = self._cuts.shift(number)
        made = self._shop.hands.made[number]
        larger = 0.0 if made.larger is None else self._off[made.larger]
        wide = high = 0.0
        if made.edges is not None:
            wide, high = self._cuts.growth(number)
        if opening.cut is Cut.RIM_SLOT:
            wide, high = 0.0, -self._cuts.bottom(number, opening)
        drilled = opening.diameter > 0
        return replace(
            opening,
            across=self._row[at] + across,
            up=self._row[at + 1] + up,
            diameter=opening.diameter + larger if drilled else 0.0,
            width=opening.width + wide,
            height=opening.height if drilled else opening.height + high,
        )

    # --- solids

    def _body(self, number: int, body: Body) -> Body:
        at = self._layout.bodies[number]
        count = len(sizes_of(body.shape))
        numbers = self._row[at + 3 : at + 3 + count]
        if body.owner == BOX:
            pose = Pose(vec(self._row, at), body.pose.x, body.pose.y, body.pose.z)
        elif body.name == "filter plate":
            pose = self._with_window(body, at)
        else:
            leans = body.name not in _FLAT_BODIES
            pose = self._spots.put(body.pose, at, body.owner, leans=leans)
        for axis, source, sign, end in self._shop.sawn.get(number, ()):
            moved = sign * self._off[source]
            numbers[axis] += end * moved
            aside = (moved / 2, 0.0, 0.0) if axis == 0 else (0.0, moved / 2, 0.0)
            pose = pose.shifted(aside)
        return Body(
            owner=body.owner,
            name=body.name,
            shape=shaped(body.shape, numbers),
            pose=pose,
            half=body.half,
            stuff=body.stuff,
            outside=body.outside,
            seat=body.seat,
        )

    def _with_window(self, body: Body, at: int) -> Pose:
        numbers = [n for n, o in enumerate(self._plan.openings) if o.part == body.owner]
        frame = self._plan.faces[self._plan.openings[numbers[0]].face].frame
        across, up = self._cuts.shift(numbers[0])
        moved = add(scale(frame.x, across), scale(frame.y, up))
        return Pose(add(vec(self._row, at), moved), body.pose.x, body.pose.y, body.pose.z)

    def _placed(self, name: str, placed: Placed, build: Build) -> Placed:
        at = self._layout.placed[name]
        across, up = self._row[at + 3], self._row[at + 4]
        if placed.face is not None:
            if isinstance(placed.used.part, Display):
                window = next(n for n, o in enumerate(self._plan.openings) if o.part == name)
                x, y = self._cuts.shift(window)
            else:
                frame = self._plan.faces[placed.face].frame
                moved = self._spots.shift(name)
                x, y = dot(moved, frame.x), dot(moved, frame.y)
            across, up = across + x, up + y
        pose = self._spots.put(placed.pose, at, name)
        edges = self._shop.hands.edges.get(name)
        if edges is not None:
            pose = pose.shifted((self._cuts.line(edges.x, 0.0), self._cuts.line(edges.y, 0.0), 0.0))
        used = build.parts[self._shop.places[name]]
        return replace(placed, used=used, across=across, up=up, pose=pose)

    def _board(self, placed: PlacedBoard, build: Build) -> PlacedBoard:
        name = placed.name
        edges = self._shop.hands.edges.get(name, Edges())
        left, low = self._cuts.line(edges.x, 0.0), self._cuts.line(edges.y, 0.0)
        pose = self._spots.put(placed.pose, self._layout.placed[name], name)
        part = build.parts[self._shop.places[name]].part
        assert isinstance(part, Board)
        hands = self._shop.hands
        made = zip(placed.holes, hands.holes[name], hands.larger[name], strict=True)
        holes = [
            DrilledHole(
                x=hole.x - left + self._off[x],
                y=hole.y - low + self._off[y],
                diameter=hole.diameter + (0.0 if larger is None else self._off[larger]),
                purpose=hole.purpose,
            )
            for hole, (x, y), larger in made
        ]
        return replace(placed, board=part, pose=pose.shifted((left, low, 0.0)), holes=tuple(holes))

    def _nose(self, placed: PlacedNose, build: Build) -> PlacedNose:
        """What stands on a board moves with it; its face comes out where it comes out."""
        name = placed.board
        plan = self._shop.boards[name].pose
        board = self._spots.put(plan, self._layout.placed[name], name)
        origin = board.point(plan.inside(placed.pose.origin))
        x, y, z = (
            board.direction(_seen(plan, v)) for v in (placed.pose.x, placed.pose.y, placed.pose.z)
        )
        part = build.parts[self._shop.places[name]].part
        assert isinstance(part, Board)
        nose = next(n for n in part.noses if n.name == placed.nose.name)
        beyond = placed.beyond
        if placed.face is not None:
            wall = faces(build.box)[placed.face].frame
            outer = dot(wall.z, sub(wall.origin, origin)) / dot(wall.z, z)
            beyond = nose.reach - outer
        return replace(placed, nose=nose, pose=Pose(origin, x, y, z), beyond=beyond)


def _seen(pose: Pose, way: Vec) -> Vec:
    """A direction in a frame's own axes."""
    return (dot(way, pose.x), dot(way, pose.y), dot(way, pose.z))
