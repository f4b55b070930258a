"""Puts one hand-made copy of a scene together."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from fit.check.copies_cuts import Cuts
from fit.check.copies_hands import Edges
from fit.check.copies_sizes import Path, added, tree_of
from fit.check.copies_slopes import shaped, sizes_of
from fit.geometry.box import faces
from fit.geometry.fixtures import post_name
from fit.geometry.frames import Pose, Vec, add, cross, dot, scale, sub
from fit.geometry.scene import BOX, Body, Cut, DrilledHole, Opening, Placed, PlacedBoard, Scene
from fit.geometry.support import Array
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, Display, RimSwitch
from fit.model.words import Seat

if TYPE_CHECKING:
    from fit.check.copies import Workshop

_NONE: Vec = (0.0, 0.0, 0.0)

_FLAT_BODIES = ("block", "strip")
"""Of a standing board, what stays flat on the lying one when the board leans."""


class Copy:
    """One copy while it is made: `scene` gives it."""

    def __init__(self, shop: Workshop, off: Array, owners: frozenset[str] | None) -> None:
        self._shop, self._off, self._owners = shop, off, owners
        self._plan = shop.scene
        self._row = shop.numbers(off).tolist()
        self._layout = shop.slopes.layout
        self._shifts: dict[str, Vec] = {}
        self._cuts = Cuts(self._plan, shop.hands, off)

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
        )

    def _kept(self, body: Body) -> bool:
        if self._owners is None:
            return True
        return (body.name if body.owner == BOX else body.owner) in self._owners

    # --- sizes written into the build

    def _build(self) -> Build:
        off, shop = self._off, self._shop
        adds: dict[Path, float] = {}
        for source, value in zip(shop.sources[: shop.size_count], off.tolist(), strict=False):
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
            return [(("part", "hole"), float(self._off[made.larger]))] if is_mount else []
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
        larger = 0.0 if made.larger is None else float(self._off[made.larger])
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

    # --- where parts come to be

    def shift(self, name: str) -> Vec:
        """How far a part is moved by the work of hands, box frame, mm."""
        if name not in self._shifts:
            self._shifts[name] = self._shift(name)
        return self._shifts[name]

    def _shift(self, name: str) -> Vec:
        shop, placed = self._shop, self._plan.placed[name]
        if name in shop.carrier:
            return self.shift(shop.carrier[name])
        joined = shop.hands.joined.get(name)
        if joined is not None:
            own = placed.pose
            aside = scale(own.x, float(self._off[joined.across]))
            out = scale(own.z, float(self._off[joined.out]))
            return add(self.shift(placed.used.joined_to or ""), add(aside, out))
        if placed.used.on is Seat.POSTS:
            return self._on_posts(name)
        assert placed.face is not None
        frame = self._plan.faces[placed.face].frame
        across, up = self._followed(name)
        if name in shop.hands.laid:
            x, y = shop.hands.laid[name]
            across, up = across + self._off[x], up + self._off[y]
        moved = add(scale(frame.x, across), scale(frame.y, up))
        if name in shop.hands.gaps:
            moved = add(moved, scale(frame.z, float(self._off[shop.hands.gaps[name]])))
        if name in shop.boards:
            moved = sub(moved, self._own_holes(name, {"standoff"}))
        return moved

    def _followed(self, name: str) -> tuple[float, float]:
        numbers = self._shop.mounts[name]
        if not numbers:
            return 0.0, 0.0
        shifts = [self._cuts.shift(n) for n in numbers]
        across, up = (sum(s[i] for s in shifts) / len(shifts) for i in (0, 1))
        first = self._plan.openings[numbers[0]]
        if first.cut is Cut.RIM_SLOT:
            up = self._cuts.bottom(numbers[0], first)  # the switch rests on the slot's bottom
        return across, up

    def _own_holes(self, name: str, purposes: set[str]) -> Vec:
        """How far the middle of some of a board's holes strays, box frame, mm."""
        board = self._shop.boards[name]
        pairs = [
            pair
            for hole, pair in zip(board.holes, self._shop.hands.holes[name], strict=True)
            if hole.purpose in purposes
        ]
        if not pairs:
            return _NONE
        x, y = (sum(float(self._off[p[i]]) for p in pairs) / len(pairs) for i in (0, 1))
        return add(scale(board.pose.x, x), scale(board.pose.y, y))

    def _on_posts(self, name: str) -> Vec:
        """A board whose holes follow its posts: the middle of these less the middle of those."""
        board = self._shop.boards[name]
        posts = {post_name(p): f"post {p.name}" for p in self._plan.build.box.posts}
        met = {h.purpose for h in board.holes} & set(posts.values())
        if not met:
            return _NONE
        moved = [_NONE]
        for body_name, purpose in posts.items():
            if purpose in met:
                at = self._layout.bodies[self._shop.post_bodies[body_name]]
                nominal = self._shop.slopes.row[at : at + 3]
                x, y = (float(self._row[at + i] - nominal[i]) for i in (0, 1))
                moved.append((x, y, 0.0))
        total: Vec = _NONE
        for step in moved:
            total = add(total, step)
        return sub(scale(total, 1 / len(met)), self._own_holes(name, met))

    # --- solids

    def _leaning(self, name: str) -> tuple[Pose, float] | None:
        """For what stands on a joint: the line it leans over (origin, x) and by how much, rad."""
        board = self._shop.carrier.get(name, name)
        joined = self._shop.hands.joined.get(board)
        if joined is None:
            return None
        angle = math.radians(float(self._off[joined.lean]))
        at = self._layout.placed[board]
        origin = add(_vec(self._row, at), self.shift(board))
        pose = self._plan.placed[board].pose
        # It tips over the edge of its foot that stays down: the front one when it leans forward.
        thick = float(self._shop.boards[board].board.thickness)
        pivot = origin if angle > 0 else add(origin, scale(pose.z, -thick))
        return Pose(pivot, pose.x, pose.y, pose.z), angle

    def _put(self, pose: Pose, at: int, name: str, *, leans: bool = True) -> Pose:
        """A frame at the row's place, moved by hands."""
        there = Pose(add(_vec(self._row, at), self.shift(name)), pose.x, pose.y, pose.z)
        lean = self._leaning(name) if leans else None
        if lean is None:
            return there
        axis, angle = lean
        return _tipped(there, axis, angle)

    def _body(self, number: int, body: Body) -> Body:
        at = self._layout.bodies[number]
        count = len(sizes_of(body.shape))
        numbers = self._row[at + 3 : at + 3 + count]
        if body.owner == BOX:
            pose = Pose(_vec(self._row, at), body.pose.x, body.pose.y, body.pose.z)
        elif body.name == "filter plate":
            pose = self._with_window(body, at)
        else:
            leans = body.name not in _FLAT_BODIES
            pose = self._put(body.pose, at, body.owner, leans=leans)
        for axis, source, sign, end in self._shop.sawn.get(number, ()):
            moved = sign * float(self._off[source])
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
        return Pose(add(_vec(self._row, at), moved), body.pose.x, body.pose.y, body.pose.z)

    def _placed(self, name: str, placed: Placed, build: Build) -> Placed:
        at = self._layout.placed[name]
        across, up = self._row[at + 3], self._row[at + 4]
        if placed.face is not None:
            if isinstance(placed.used.part, Display):
                window = next(n for n, o in enumerate(self._plan.openings) if o.part == name)
                x, y = self._cuts.shift(window)
            else:
                frame = self._plan.faces[placed.face].frame
                moved = self.shift(name)
                x, y = dot(moved, frame.x), dot(moved, frame.y)
            across, up = across + x, up + y
        pose = self._put(placed.pose, at, name)
        edges = self._shop.hands.edges.get(name)
        if edges is not None:
            pose = pose.shifted((self._cuts.line(edges.x, 0.0), self._cuts.line(edges.y, 0.0), 0.0))
        used = build.parts[self._shop.places[name]]
        return replace(placed, used=used, across=across, up=up, pose=pose)

    def _board(self, placed: PlacedBoard, build: Build) -> PlacedBoard:
        name = placed.name
        edges = self._shop.hands.edges.get(name, Edges())
        left, low = self._cuts.line(edges.x, 0.0), self._cuts.line(edges.y, 0.0)
        pose = self._put(placed.pose, self._layout.placed[name], name)
        part = build.parts[self._shop.places[name]].part
        assert isinstance(part, Board)
        hands = self._shop.hands
        made = zip(placed.holes, hands.holes[name], hands.larger[name], strict=True)
        holes = [
            DrilledHole(
                x=hole.x - left + float(self._off[x]),
                y=hole.y - low + float(self._off[y]),
                diameter=hole.diameter + (0.0 if larger is None else float(self._off[larger])),
                purpose=hole.purpose,
            )
            for hole, (x, y), larger in made
        ]
        return replace(placed, board=part, pose=pose.shifted((left, low, 0.0)), holes=tuple(holes))


def _vec(row: list[float], at: int) -> Vec:
    return (row[at], row[at + 1], row[at + 2])


def _tipped(pose: Pose, axis: Pose, angle: float) -> Pose:
    """A frame turned about the x axis of another by an angle, its y towards its z, rad."""
    c, s = math.cos(angle), math.sin(angle)

    def turned(v: Vec) -> Vec:
        # Rodrigues' formula
        along = scale(axis.x, dot(axis.x, v) * (1 - c))
        return add(add(scale(v, c), scale(cross(axis.x, v), s)), along)

    origin = add(axis.origin, turned(sub(pose.origin, axis.origin)))
    x, y = turned(pose.x), turned(pose.y)
    return Pose(origin, x, y, cross(x, y))
