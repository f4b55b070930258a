"""How things move against each other when a box gets longer, wider or higher.

Two things whose places do not depend on a size (or depend on it alike) clash at every value of it
if they clash at one. Places are sums of terms of one size each, so looking at both ends of the
range of a size is enough: a thing that moves at all moves by more there than holes can snap.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import astuple, dataclass, replace
from typing import Final

from fit.check.things import wall_label
from fit.findings import Finding, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import Plane, inner_planes
from fit.geometry.distance import gap
from fit.geometry.frames import Vec, dot, sub
from fit.geometry.scene import BOX, Body, Scene
from fit.geometry.support import reach
from fit.model.build import Build, Used
from fit.model.part import Board
from fit.model.words import UPRIGHT, FaceName, Half, LidKind, Seat
from fit.solve.first import most_room
from fit.solve.other.family import Range
from fit.solve.other.rejects import has_choice
from fit.solve.other.resize import Inside, inside_of, with_inside
from fit.units import PITCH

_JUMP: Final = 2 * PITCH
"""How far two holes that snap to a grid may jump against each other, mm."""

_TRUST: Final = 0.98
_NOISE: Final = 0.05
"""Depths at a rounded corner are up to 0.12 % too deep; round solids are searched numerically."""

_SAME: Final = 1e-6
_ASKEW: Final = 0.5
"""Walls whose normals have no more than this in common meet in a corner."""

_HEIGHT: Final = 2

Weights = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """Where else a clash is one: at sizes that move the two against each other by less than it.

    Attributes:
        depth: of the clash, mm.
        weights: how far they move at most for each mm of length, width, height; 0: not at all.
    """

    depth: float
    weights: Weights


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ends:
    """How a thing moves when a size goes to the two ends of its range, mm; None: not as one."""

    low: Vec
    high: Vec


class Kin:
    """What moves with what in a build.

    Args:
        build: in the box whose family is meant.
        within: the sizes looked at.
    """

    def __init__(self, build: Build, within: Range) -> None:
        self._flat = build.box.lid.kind is LidKind.FLAT
        self._loose = loose(build)
        self._jumping = {name for used in build.parts for name in _jumping(used)}
        walls = (build.box.front, build.box.back, build.box.left, build.box.right)
        lean = max(abs(math.tan(math.radians(wall.draft))) for wall in walls)
        self._usual = (1.0, 1.0, 1.0 + 4 * lean)
        home = inside_of(build.box)
        self._sides = tuple(_Side.of(build, home, within, n) for n in range(3))

    @property
    def choices(self) -> bool:
        """Whether any part may go elsewhere than it is put together."""
        return bool(self._loose)

    def sure(self, found: Finding) -> bool:
        """Whether a clash is about things that have no choice."""
        return not self._loose & set(found.about)

    @property
    def here(self) -> Cut:
        """Rules out nothing but the size itself."""
        return Cut(depth=0.0, weights=self._usual)

    def cut(self, found: Finding) -> Cut:
        """What a clash of two solids, or of one and a wall, rules out."""
        short = -found.margin
        if found.rule in ("webs", "edges") and found.have < 0:
            # How far cuts run into each other is no distance; that they must be apart by is.
            short = found.need
        depth = short * _TRUST - _NOISE
        if self._jumping & set(found.about):
            depth -= _JUMP
        weights = tuple(self._weight(found, n) for n in range(3))
        return Cut(depth=max(0.0, depth), weights=(weights[0], weights[1], weights[2]))

    def _weight(self, found: Finding, size: int) -> float:
        usual, side = self._usual[size], self._sides[size]
        if side is None or len(found.about) != 2:
            return usual
        a, b = side.moves.get(found.about[0]), side.moves.get(found.about[1])
        if a is None:
            return usual
        if found.rule == "walls" and self._flat and size != _HEIGHT:
            face = next((f for f in side.walls if wall_label(f) == found.about[1]), None)
            if face is not None:
                return side.rate(*side.to_corners(a, face))
        if b is not None:
            return side.rate(math.dist(a.low, b.low), math.dist(a.high, b.high))
        # A level plane only asks how high a thing is.
        if found.about[1] == FaceName.FLOOR and found.rule in ("walls", "lid"):
            return side.rate(abs(a.low[2]), abs(a.high[2]))
        if found.about[1] == FaceName.LID and found.rule == "lid" and self._flat:
            lifted = side.span if size == _HEIGHT else (0.0, 0.0)
            return side.rate(abs(a.low[2] - lifted[0]), abs(a.high[2] - lifted[1]))
        return usual

    def boards(self, scene: Scene) -> Iterator[Cut]:
        """What lying boards rule out that reach into a wall or a post, whatever gap is asked.

        Told apart from findings, which do not say whether it is the board itself, which never
        changes, or its leads, which end round holes that may jump. Of boards that may rise past
        the rim nothing is said: into a deep lid they leave the body's walls.
        """
        tall = self._sides[_HEIGHT]
        below: frozenset[str] = frozenset() if tall is None else tall.below
        lying = {u.name for u in scene.build.parts if isinstance(u.part, Board) and not u.joined_to}
        posts = [b for b in scene.bodies if b.owner == BOX and b.name.startswith("post ")]
        planes = _uprights(scene)
        for slab in scene.bodies:
            if slab.name != "slab" or slab.owner not in (lying & below) - self._loose:
                continue
            for plane in planes:
                n = plane.normal
                depth = plane.offset + reach(slab.shape, slab.pose, (-n[0], -n[1], -n[2]))
                if depth > _NOISE:
                    yield self._board_cut(depth, slab.owner, plane.face)
            for post in posts:
                if frozenset((slab.id, post.id)) not in scene.touching:
                    off = gap(slab.shape, slab.pose, post.shape, post.pose).mm
                    if off < -_NOISE:
                        yield self._board_cut(-off, slab.owner, post.name)

    def places(self, scene: Scene) -> Iterator[Cut]:
        """What open parts rule out that have no room even beside nothing but what is placed."""
        for name in scene.open:
            used = scene.build.part(name)
            most = None if name in self._loose else most_room(scene.build, scene, used)
            if most is not None and most < 0:
                depth = -most * _TRUST - _NOISE
                # What stands on boards may jump: no more is said than that nothing goes here.
                depth = 0.0 if self._jumping else max(0.0, depth)
                yield Cut(depth=depth, weights=self._usual)

    def _board_cut(self, depth: float, board: str, other: FaceName | str) -> Cut:
        weights = []
        for usual, side in zip(self._usual, self._sides, strict=True):
            slab = None if side is None else side.slabs.get(board)
            if side is None or slab is None:
                weights.append(usual)
            elif isinstance(other, FaceName):
                weights.append(side.rate(*side.to_wall(slab, other)))
            else:
                post = side.moves.get(other)
                apart = post and (math.dist(slab.low, post.low), math.dist(slab.high, post.high))
                weights.append(side.rate(*apart) if apart else usual)
        found = (weights[0], weights[1], weights[2])
        return Cut(depth=max(0.0, depth * _TRUST - _NOISE), weights=found)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """What one size moves when it goes to the two ends of its range.

    Attributes:
        span: how far it goes, down and up, mm.
        moves: by label, what moves as one.
        slabs: the same for each board without what stands on it.
        walls: by face, its inner plane's normal and how far the plane moves along it, mm.
        below: boards that lie no higher than the rim anywhere in the range.
    """

    span: tuple[float, float]
    moves: dict[str, _Ends]
    slabs: dict[str, _Ends]
    walls: dict[FaceName, tuple[Vec, float, float]]
    below: frozenset[str]

    @classmethod
    def of(cls, build: Build, home: Inside, within: Range, size: int) -> _Side | None:
        """For length (0), width or height; None when an end of the range cannot be built."""
        name = ("length", "width", "height")[size]
        ends = (replace(home, **{name: getattr(end, name)}) for end in (within.low, within.high))
        middle, low, high = (_scene(build, inside) for inside in (home, *ends))
        if middle is None or low is None or high is None:
            return None
        at = {p.face: p for p in _uprights(middle)}
        walls = {
            a.face: (a.normal, a.offset - at[a.face].offset, b.offset - at[a.face].offset)
            for a, b in zip(_uprights(low), _uprights(high), strict=True)
        }
        spans = [getattr(end, name) - getattr(home, name) for end in (within.low, within.high)]
        return cls(
            span=(spans[0], spans[1]),
            moves=_moves(_things(middle), _things(low), _things(high)),
            slabs=_moves(_slabs(middle), _slabs(low), _slabs(high)),
            walls=walls,
            below=_below(middle) & _below(low) & _below(high),
        )

    def rate(self, low: float, high: float) -> float:
        """What moves so far towards the two ends, for each mm of the size."""
        rates = [
            moved / abs(span)
            for moved, span in zip((low, high), self.span, strict=True)
            if abs(span) > _SAME
        ]
        most = max(rates, default=1.0)
        return 0.0 if most < _SAME else most

    def to_wall(self, slab: _Ends, face: FaceName) -> tuple[float, float]:
        """How far a board moves against a wall, square to it, towards the two ends."""
        normal, low, high = self.walls[face]
        return abs(dot(normal, slab.low) - low), abs(dot(normal, slab.high) - high)

    def to_corners(self, thing: _Ends, face: FaceName) -> tuple[float, float]:
        """How far a thing moves at most against a wall and the rounds at both its ends.

        A round moves level as both its walls do, and walls that lean move further level than
        square to them.
        """
        beside = [f for f in self.walls if abs(dot(self.walls[f][0], self.walls[face][0])) < _ASKEW]
        level = min(math.hypot(*normal[:2]) for normal, _, _ in self.walls.values())
        at = self.to_wall(thing, face)
        ends = [self.to_wall(thing, f) for f in beside]
        low, high = (max(end[n] for end in ends) for n in (0, 1))
        return math.hypot(at[0], low) / level, math.hypot(at[1], high) / level


def _below(scene: Scene) -> frozenset[str]:
    rim = scene.build.box.rim
    return frozenset(
        name
        for name, slabs in _slabs(scene).items()
        if all(reach(slab.shape, slab.pose, (0.0, 0.0, 1.0)) <= rim + _SAME for slab in slabs)
    )


def _uprights(scene: Scene) -> tuple[Plane, ...]:
    """The inner planes of the four upright walls of the body."""
    planes = inner_planes(scene.build.box)
    return tuple(p for p in planes if p.face in UPRIGHT and p.half is Half.BODY)


def _near(a: Vec, b: Vec) -> bool:
    return math.dist(a, b) < _SAME


def loose(build: Build) -> frozenset[str]:
    """Parts that may go elsewhere than they are put together, and what goes with them."""
    found = {used.name for used in build.parts if has_choice(used)}
    while True:
        more = {used.name for used in build.parts if _ties(used) & found}
        more |= {name for used in build.parts if used.name in found for name in _ties(used)}
        if more <= found:
            return frozenset(found)
        found |= more


def _ties(used: Used) -> set[str]:
    """What a part's place depends on, or goes by."""
    beside = {used.at.beside} if used.at is not None and used.at.beside is not None else set()
    joined = {used.joined_to} if used.joined_to is not None else set()
    return beside | joined | set(used.carries)


def _jumping(used: Used) -> Iterator[str]:
    """Boards with holes or blocks that snap to a grid."""
    if isinstance(used.part, Board):
        if used.joined_to is not None:
            yield used.name
            yield used.joined_to
        # Without a place of its own it goes by the posts alone, and those stay where they are.
        if used.on is Seat.POSTS and used.at is not None:
            yield used.name


def _moves(
    first: dict[str, list[Body]], down: dict[str, list[Body]], up: dict[str, list[Body]]
) -> dict[str, _Ends]:
    """The things that move as one towards both ends, and how."""
    found = {}
    for label, bodies in first.items():
        to_low, to_high = _shift(bodies, down.get(label)), _shift(bodies, up.get(label))
        if to_low is not None and to_high is not None:
            found[label] = _Ends(low=to_low, high=to_high)
    return found


def _slabs(scene: Scene) -> dict[str, list[Body]]:
    """The bare boards by the names of their parts."""
    found: dict[str, list[Body]] = {}
    for body in scene.bodies:
        if body.name == "slab":
            found.setdefault(body.owner, []).append(body)
    return found


def _scene(build: Build, inside: Inside) -> Scene | None:
    try:
        return assemble(replace(build, box=with_inside(build.box, inside)))
    except (UnusableInput, ValueError):
        return None


def _things(scene: Scene) -> dict[str, list[Body]]:
    """Bodies by what a finding calls them."""
    found: dict[str, list[Body]] = {}
    for body in scene.bodies:
        label = body.name if body.owner == BOX else body.owner
        found.setdefault(label, []).append(body)
    return found


def _shift(before: list[Body], after: list[Body] | None) -> Vec | None:
    """By how much bodies moved, all alike and none turned or changed; None when not so."""
    if after is None or len(before) != len(after):
        return None
    shift: Vec | None = None
    for a, b in zip(before, after, strict=True):
        by = sub(b.pose.origin, a.pose.origin)
        if a.name != b.name or not _alike(a, b) or (shift is not None and not _near(shift, by)):
            return None
        shift = by
    return shift


def _alike(a: Body, b: Body) -> bool:
    turned = any(
        not _near(x, y)
        for x, y in ((a.pose.x, b.pose.x), (a.pose.y, b.pose.y), (a.pose.z, b.pose.z))
    )
    if turned or type(a.shape) is not type(b.shape):
        return False
    one, other = _numbers(astuple(a.shape)), _numbers(astuple(b.shape))
    return len(one) == len(other) and all(
        abs(x - y) < _SAME for x, y in zip(one, other, strict=True)
    )


def _numbers(value: object) -> list[float]:
    if isinstance(value, tuple):
        return [number for part in value for number in _numbers(part)]
    return [float(value)] if isinstance(value, int | float) else []
