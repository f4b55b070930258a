"""Where the parts of one copy come to be: each after its hole, its posts or its board."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fit.check.copies_cuts import Cuts
from fit.geometry.fixtures import post_name
from fit.geometry.frames import Pose, Vec, add, cross, dot, scale, sub
from fit.geometry.scene import Cut
from fit.model.words import Seat

if TYPE_CHECKING:
    from fit.check.copies import Workshop

_NONE: Vec = (0.0, 0.0, 0.0)


class Spots:
    """Where parts come to be in a copy.

    Args:
        shop: what the copy is made from.
        off: how far every source is off, mm.
        row: the scene's numbers with the sizes off.
        cuts: its openings.
    """

    def __init__(self, shop: Workshop, off: list[float], row: list[float], cuts: Cuts) -> None:
        self._shop, self._off, self._row, self._cuts = shop, off, row, cuts
        self._plan, self._layout = shop.scene, shop.slopes.layout
        self._shifts: dict[str, Vec] = {}

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
            aside = scale(own.x, self._off[joined.across])
            out = scale(own.z, self._off[joined.out])
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
            moved = add(moved, scale(frame.z, self._off[shop.hands.gaps[name]]))
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
        x, y = (sum(self._off[p[i]] for p in pairs) / len(pairs) for i in (0, 1))
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

    def _leaning(self, name: str) -> tuple[Pose, float] | None:
        """For what stands on a joint: the line it leans over (origin, x) and by how much, rad."""
        board = self._shop.carrier.get(name, name)
        joined = self._shop.hands.joined.get(board)
        if joined is None:
            return None
        angle = math.radians(self._off[joined.lean])
        at = self._layout.placed[board]
        origin = add(vec(self._row, at), self.shift(board))
        pose = self._plan.placed[board].pose
        # It tips over the edge of its foot that stays down: the front one when it leans forward.
        thick = float(self._shop.boards[board].board.thickness)
        pivot = origin if angle > 0 else add(origin, scale(pose.z, -thick))
        return Pose(pivot, pose.x, pose.y, pose.z), angle

    def put(self, pose: Pose, at: int, name: str, *, leans: bool = True) -> Pose:
        """A frame at the row's place, moved by hands."""
        there = Pose(add(vec(self._row, at), self.shift(name)), pose.x, pose.y, pose.z)
        lean = self._leaning(name) if leans else None
        if lean is None:
            return there
        axis, angle = lean
        return _tipped(there, axis, angle)


def vec(row: list[float], at: int) -> Vec:
    """Three numbers of a row, mm."""
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
