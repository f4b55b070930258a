"""Simulated hand-made copies of a build: scenes that the checker measures like any other.

How uncertainty is read: ± is two standard deviations of a normal distribution, cut at three (a
draw beyond ±1.5 times the written figure is drawn again), each axis for itself. So ± 0.5 means
that 95 of 100 come out within 0.5. A size without ± gets that of ordinary moulded things (half of
IT12, see `fit.trade.materials.moulded_tolerance`; for orientation, a guess), a board 10 % of its
thickness. What hands do is told in :mod:`fit.check.copies_hands`.

Things that follow each other stay together: a nut follows its hole, a display its board, while
the window stays where it was cut; a board rests on its posts however high these came out. A part
sits in the middle of the play in its hole, and boards do not turn in theirs. Sizes act linearly.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from fit.check.copies_hands import Edges, Hands, Ledger, hands_of, mount_of
from fit.check.copies_sizes import Path, Source, added, sizes, tree_of
from fit.check.copies_slopes import pinned, shaped, sizes_of, slopes_of
from fit.geometry.box import faces
from fit.geometry.fixtures import post_name
from fit.geometry.frames import Pose, Vec, add, cross, dot, scale, sub
from fit.geometry.scene import (
    BOX,
    Body,
    Cut,
    DrilledHole,
    Opening,
    Placed,
    PlacedBoard,
    Scene,
)
from fit.geometry.shapes import Block
from fit.geometry.support import Array
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, Display, RimSwitch
from fit.model.words import Seat

CUT_AT = 3.0
"""Standard deviations beyond which a draw is drawn again."""

_NONE: Vec = (0.0, 0.0, 0.0)
_UPRIGHT_BODIES = ("block", "strip")
"""Of a standing board, what stays flat on the lying one when the board leans."""


class Workshop:
    """Makes copies of one scene. Preparing it takes about as long as some checks; a copy is fast.

    Attributes:
        scene: as planned.
        sources: everything that may be off, sizes first.
    """

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self._build = pinned(scene)
        ledger = Ledger(list(sizes(self._build)))
        self._sizes = len(ledger.sources)
        self._slopes = slopes_of(scene, self._build, tuple(ledger.sources))
        self._hands: Hands = hands_of(scene, ledger)
        self.sources: tuple[Source, ...] = tuple(ledger.sources)
        self._usually = np.array([s.usually for s in self.sources])
        self._sigma = np.array([s.plus_minus / 2 for s in self.sources])
        self._numbers = {used.name: n for n, used in enumerate(self._build.parts)}
        self._mounts = {u.name: mount_of(scene, u) for u in self._build.parts}
        self._boards = {b.name: b for b in scene.boards}
        self._sawn = {n: s for n in range(len(scene.bodies)) if (s := self._sawn_sides(n))}
        self._carrier = {name: u.name for u in self._build.parts for name in u.carries}
        self._post_bodies = {
            b.name: n for n, b in enumerate(scene.bodies) if b.owner == BOX
        }

    def draw(self, rng: np.random.Generator) -> Array:
        """How far everything is off in one copy, mm (degrees for bends), as `sources`."""
        z = rng.standard_normal(len(self.sources))
        while (wide := np.abs(z) > CUT_AT).any():
            z[wide] = rng.standard_normal(int(wide.sum()))
        off: Array = self._usually + z * self._sigma
        return off

    def planned(self) -> Array:
        """What `draw` would give with nothing off but what is so on average."""
        return self._usually.copy()

    def make(self, off: Array, owners: frozenset[str] | None = None) -> Scene:
        """The copy in which everything is off by so much.

        Args:
            off: as `draw` gives it.
            owners: parts (and names of moulded bodies) to keep solids of; None for all.
        """
        return _Copy(self, off, owners).scene()

    # --- what a copy asks for

    @property
    def hands(self) -> Hands:
        """The work of hands."""
        return self._hands

    def numbers(self, off: Array) -> Array:
        """The scene's numbers with the sizes off, before any work of hands."""
        row: Array = self._slopes.row + self._slopes.by @ off[: self._sizes]
        return row

    def _sawn_sides(self, number: int) -> tuple[tuple[int, int, float, float], ...]:
        """For a body of a sawn board: (axis, source, sign, end) of each side on a sawn line."""
        body = self.scene.bodies[number]
        lines = self._hands.edges.get(body.owner)
        if lines is None or body.name not in ("slab", "leads"):
            return ()
        assert isinstance(body.shape, Block)
        middle = self._boards[body.owner].pose.inside(body.pose.origin)
        halves = (body.shape.dx / 2, body.shape.dy / 2)
        found = []
        for axis, along in enumerate((lines.x, lines.y)):
            for end in (-1.0, 1.0):
                side = middle[axis] + end * halves[axis]
                for at, source, sign in along:
                    if abs(at - side) < 1e-6:
                        found.append((axis, source, sign, end))
        return tuple(found)


class _Copy:
    """One copy while it is made."""

    def __init__(self, shop: Workshop, off: Array, owners: frozenset[str] | None) -> None:
        self._shop, self._off, self._owners = shop, off, owners
        self._plan = shop.scene
        self._row = shop.numbers(off).tolist()
        self._layout = shop._slopes.layout
        self._shifts: dict[str, Vec] = {}

    def scene(self) -> Scene:
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
        for source, value in zip(shop.sources[: shop._sizes], off.tolist(), strict=False):
            for path, sign in source.paths:
                adds[path] = adds.get(path, 0.0) + sign * value
        for n, opening in enumerate(self._plan.openings):
            number = shop._numbers[opening.part]
            for path, add_on in self._cut_sizes(n, opening, shop._build.parts[number]):
                adds[("parts", number, *path)] = add_on
        for name, edges in shop.hands.edges.items():
            for path, add_on in self._sawn_sizes(shop._boards[name].board, edges):
                key = ("parts", shop._numbers[name], "part", *path)
                adds[key] = adds.get(key, 0.0) + add_on
        build = added(shop._build, tree_of(adds))
        assert isinstance(build, Build)
        return build

    def _cut_sizes(
        self, number: int, opening: Opening, used: Used
    ) -> list[tuple[Path, float]]:
        """The sizes of an opening that the model keeps as well."""
        made = self._shop.hands.made[number]
        if isinstance(used.part, BushingPart) and made.larger is not None:
            is_mount = number in self._shop._mounts[used.name]
            return [(("part", "hole"), float(self._off[made.larger]))] if is_mount else []
        if isinstance(used.part, Display) and made.edges is not None and used.window is not None:
            wide, high = self._growth(number)
            return [(("window", "opening", 0), wide), (("window", "opening", 1), high)]
        if isinstance(used.part, RimSwitch):
            return [(("part", "slot", 1), -self._bottom(number, opening))]
        return []

    def _sawn_sizes(self, board: Board, edges: Edges) -> list[tuple[Path, float]]:
        """Size, notches and what is counted from the lower left corner of a sawn board."""
        found: list[tuple[Path, float]] = []
        for axis, (place, size, lines) in enumerate((("x", "width", edges.x),
                                                     ("y", "depth", edges.y))):  # fmt: skip
            first = self._line(lines, 0.0)
            whole = float(board.size[axis])
            found.append((("size", axis), self._line(lines, whole) - first))
            for n in range(len(board.zones)):
                found.append((("zones", n, place), -first))
            for n in range(len(board.holes)):
                found.append((("holes", n, place), -first))
            for n, notch in enumerate(board.notches):
                low = float(getattr(notch, place))
                high = low + float(getattr(notch, size))
                near, far = self._line(lines, low), self._line(lines, high)
                found.append((("notches", n, place), near - first))
                found.append((("notches", n, size), far - near))
        return found

    def _line(self, lines: tuple[tuple[float, int, float], ...], at: float) -> float:
        """How far a sawn line comes out beside its place, along the axis, mm."""
        for place, source, sign in lines:
            if abs(place - at) < 1e-6:
                return sign * float(self._off[source])
        return 0.0

    # --- openings

    def _own_shift(self, number: int) -> tuple[float, float]:
        """How far the middle of an opening strays in its face, mm."""
        opening, made = self._plan.openings[number], self._shop.hands.made[number]
        across, up = (float(self._off[i]) for i in self._shop.hands.template[opening.face])
        if made.centre is not None:
            return across + self._off[made.centre[0]], up + self._off[made.centre[1]]
        assert made.edges is not None
        left, right, low, high = (0.0 if i is None else float(self._off[i]) for i in made.edges)
        if opening.cut is Cut.RIM_SLOT:
            return across + (left + right) / 2, self._bottom(number, opening) / 2
        along, over = (left + right) / 2, (low + high) / 2
        a = math.radians(opening.turn)
        c, s = math.cos(a), math.sin(a)
        return across + c * along - s * over, up + s * along + c * over

    def _bottom(self, number: int, opening: Opening) -> float:
        """How far the bottom of a slot comes out above its place, mm."""
        made = self._shop.hands.made[number]
        assert made.edges is not None and made.edges[2] is not None
        template = self._shop.hands.template[opening.face][1]
        return float(self._off[template] + self._off[made.edges[2]])

    def _growth(self, number: int) -> tuple[float, float]:
        """How much wider and higher a filed opening comes out, mm."""
        made = self._shop.hands.made[number]
        assert made.edges is not None
        left, right, low, high = (0.0 if i is None else float(self._off[i]) for i in made.edges)
        return right - left, high - low

    def _opening(self, number: int, opening: Opening) -> Opening:
        at = self._layout.openings[number]
        across, up = self._own_shift(number)
        made = self._shop.hands.made[number]
        larger = 0.0 if made.larger is None else float(self._off[made.larger])
        wide = high = 0.0
        if made.edges is not None:
            wide, high = self._growth(number)
        if opening.cut is Cut.RIM_SLOT:
            wide, high = 0.0, -self._bottom(number, opening)
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
        if name in shop._carrier:
            return self.shift(shop._carrier[name])
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
        if name in shop._boards:
            moved = sub(moved, self._own_holes(name, {"standoff"}))
        return moved

    def _followed(self, name: str) -> tuple[float, float]:
        numbers = self._shop._mounts[name]
        if not numbers:
            return 0.0, 0.0
        shifts = [self._own_shift(n) for n in numbers]
        across, up = (sum(s[i] for s in shifts) / len(shifts) for i in (0, 1))
        first = self._plan.openings[numbers[0]]
        if first.cut is Cut.RIM_SLOT:
            up = self._bottom(numbers[0], first)  # the switch rests on the slot's bottom
        return across, up

    def _own_holes(self, name: str, purposes: set[str]) -> Vec:
        """How far the middle of some of a board's holes strays, box frame, mm."""
        board = self._shop._boards[name]
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
        board = self._shop._boards[name]
        posts = {post_name(p): f"post {p.name}" for p in self._plan.build.box.posts}
        met = {h.purpose for h in board.holes} & set(posts.values())
        if not met:
            return _NONE
        moved = [_NONE]
        for body_name, purpose in posts.items():
            if purpose in met:
                at = self._layout.bodies[self._shop._post_bodies[body_name]]
                nominal = self._shop._slopes.row[at : at + 3]
                x, y = (float(self._row[at + i] - nominal[i]) for i in (0, 1))
                moved.append((x, y, 0.0))
        total: Vec = _NONE
        for step in moved:
            total = add(total, step)
        return sub(scale(total, 1 / len(met)), self._own_holes(name, met))

    # --- solids

    def _leaning(self, name: str) -> tuple[Pose, float] | None:
        """For what stands on a joint: the line it leans over (origin, x) and by how much, rad."""
        board = self._shop._carrier.get(name, name)
        joined = self._shop.hands.joined.get(board)
        if joined is None:
            return None
        angle = math.radians(float(self._off[joined.lean]))
        at = self._layout.placed[board]
        origin = add(_vec(self._row, at), self.shift(board))
        pose = self._plan.placed[board].pose
        # It tips over the edge of its foot that stays down: the front one when it leans forward.
        thick = float(self._shop._boards[board].board.thickness)
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
            leans = body.name not in _UPRIGHT_BODIES
            pose = self._put(body.pose, at, body.owner, leans=leans)
        for axis, source, sign, end in self._shop._sawn.get(number, ()):
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
        across, up = self._own_shift(numbers[0])
        moved = add(scale(frame.x, across), scale(frame.y, up))
        return Pose(add(_vec(self._row, at), moved), body.pose.x, body.pose.y, body.pose.z)

    def _placed(self, name: str, placed: Placed, build: Build) -> Placed:
        at = self._layout.placed[name]
        across, up = self._row[at + 3], self._row[at + 4]
        if placed.face is not None:
            if isinstance(placed.used.part, Display):
                window = next(n for n, o in enumerate(self._plan.openings) if o.part == name)
                x, y = self._own_shift(window)
            else:
                frame = self._plan.faces[placed.face].frame
                moved = self.shift(name)
                x, y = dot(moved, frame.x), dot(moved, frame.y)
            across, up = across + x, up + y
        pose = self._put(placed.pose, at, name)
        edges = self._shop.hands.edges.get(name)
        if edges is not None:
            pose = pose.shifted((self._line(edges.x, 0.0), self._line(edges.y, 0.0), 0.0))
        used = build.parts[self._shop._numbers[name]]
        return replace(placed, used=used, across=across, up=up, pose=pose)

    def _board(self, placed: PlacedBoard, build: Build) -> PlacedBoard:
        name = placed.name
        edges = self._shop.hands.edges.get(name, Edges())
        left, low = self._line(edges.x, 0.0), self._line(edges.y, 0.0)
        pose = self._put(placed.pose, self._layout.placed[name], name)
        part = build.parts[self._shop._numbers[name]].part
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
        return replace(
            placed, board=part, pose=pose.shifted((left, low, 0.0)), holes=tuple(holes)
        )


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


def copy_of(scene: Scene, rng: np.random.Generator) -> Scene:
    """One simulated hand-made copy of a scene. For many, keep a `Workshop`."""
    shop = Workshop(scene)
    return shop.make(shop.draw(rng))

