"""A way in for what does not go straight: slid and tilted in an upright plane.

A thing moves in a plane: sideways x, out of the box y, and turned by an angle about a level axis.
Everything is seen along that axis, as convex outlines. Two things whose stretches along the axis
do not overlap never meet; of all others the outlines must stay apart, as if each were drawn out
along the whole axis (safe side: too little room, never too much).

For one angle, the places where a convex outline meets another are again a convex polygon, their
Minkowski sum (T. Lozano-Pérez, Spatial planning: a configuration space approach, 1983). What is
left beside all of them are the free regions of that angle. The angles are gone through in steps;
between two steps nothing moves by more than its distance from the pivot times half the step, and
by that much every outline is grown, so that the steps leave nothing out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from fit.geometry import outlines
from fit.geometry.frames import Pose, Vec, add, cross, dot, scale
from fit.geometry.outlines import Region
from fit.geometry.shapes import Block, Point2, Prism, Shape
from fit.geometry.support import Array, grown_polyhedron, reach, vertices

STEEPEST = 60.0
"""Steepest tilt tried, degrees."""

_FINE = (0.05, 0.1, 0.2, 0.35, 0.5, 0.75)
_STEP = 0.5
ANGLES = (0.0, *_FINE, *(1.0 + _STEP * n for n in range(round((STEEPEST - 1.0) / _STEP) + 1)))
"""The tilts gone through, degrees either way: finer where a thing leaves its seat."""

LIFT = 0.3
"""How far a thing is lifted off its seat before it is moved otherwise, mm; less where need be."""

_LEAST_LIFT = 0.02
_SIDES = 32
"""Sides of the polygon round what is round; it grows by half a per cent."""

_HAIR = 1e-3
"""What a thing that is lifted off its seat keeps from what it nearly touches there, mm."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A convex thing seen along the axis: points (x, y) in the plane, its stretch along it, mm."""

    points: tuple[Point2, ...]
    low: float
    high: float


def outline_in(plane: Pose, shape: Shape, pose: Pose) -> Outline:
    """A solid seen along a plane's z axis. Exact, but that round ones grow by half a per cent."""
    if isinstance(shape, Block | Prism):
        corners = vertices(shape, pose)
    else:
        corners = grown_polyhedron(shape, pose, _SIDES)
    flat = (corners - np.array(plane.origin)) @ np.array((plane.x, plane.y)).T
    foot = dot(plane.origin, plane.z)
    return Outline(
        points=tuple((float(x), float(y)) for x, y in flat),
        low=-reach(shape, pose, scale(plane.z, -1.0)) - foot,
        high=reach(shape, pose, plane.z) - foot,
    )


@dataclass(frozen=True, slots=True)
class Pair:
    """A moving outline and what it must not meet (both in the plane, the mover at its seat).

    `close`: nothing but this is asked, no room besides.
    """

    mover: tuple[Point2, ...]
    hurdle: tuple[Point2, ...]
    close: bool = False


def needed(pairs: Iterable[Pair]) -> tuple[Pair, ...]:
    """Pairs without those that others cover.

    A mover within another one that has to pass the same hurdle, and a hurdle within another one
    that the same mover has to pass, say nothing new.
    """
    listed = tuple(dict.fromkeys(pairs))
    movers = list(dict.fromkeys(p.mover for p in listed))
    hurdles = list(dict.fromkeys(p.hurdle for p in listed))
    inner, within = outlines.covered(movers), outlines.covered(hurdles)
    have = {(movers.index(p.mover), hurdles.index(p.hurdle), p.close): p for p in listed}
    return tuple(
        p
        for (m, h, close), p in have.items()
        if not any((other, h, close) in have for other in inner[m])
        and not any((m, other, close) in have for other in within[h])
    )


@dataclass(frozen=True, slots=True)
class Stop:
    """A place on the way: sideways x and out of the box y, mm, and the tilt, degrees."""

    x: float
    y: float
    tilt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WayIn:
    """A way from the seat to outside, stop by stop.

    Between two stops either the tilt stays and the thing moves straight, or it is turned from
    one step of `ANGLES` to the next where it is.
    """

    plane: Pose
    stops: tuple[Stop, ...]

    @property
    def tilt(self) -> float:
        """The steepest tilt, degrees, with its sign."""
        return max((s.tilt for s in self.stops), key=abs)


def at_stop(plane: Pose, stop: Stop, pose: Pose) -> Pose:
    """Where a pose comes to be at a stop."""
    c, s = math.cos(math.radians(stop.tilt)), math.sin(math.radians(stop.tilt))
    turned = Pose(
        plane.point((stop.x, stop.y, 0.0)),
        add(scale(plane.x, c), scale(plane.y, s)),
        add(scale(plane.y, c), scale(plane.x, -s)),
        plane.z,
    )

    def own(v: Vec) -> Vec:
        return turned.direction((dot(v, plane.x), dot(v, plane.y), dot(v, plane.z)))

    x, y = own(pose.x), own(pose.y)
    return Pose(turned.point(plane.inside(pose.origin)), x, y, cross(x, y))


Node = tuple[int, int]
"""A free region: the number of its angle (below 0: the other way), its own number there."""

Links = dict[Node, set[Node]]
"""Regions of neighbouring angles that share places."""


@dataclass(slots=True)
class _Slice:
    """The free regions of one angle."""

    angle: float
    regions: tuple[Region, ...]
    boxes: tuple[tuple[float, float, float, float], ...]
    top: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A way as the free regions it goes through."""

    band: dict[int, _Slice]
    links: Links
    nodes: list[Node]


@dataclass(slots=True)
class Search:
    """Looks for ways of one thing past its hurdles.

    Attributes:
        plane: x sideways, y out of the box, z the axis of the tilt; origin: the pivot.
        pairs: what must not meet.
        lift: how far it is lifted straight off its seat first, mm.
    """

    plane: Pose
    pairs: tuple[Pair, ...]
    lift: float = LIFT
    _radii: list[float] = field(default_factory=list)
    _seats: list[float] = field(default_factory=list)
    _hulls: dict[float, Sequence[Region]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._radii = [max(math.hypot(x, y) for x, y in p.mover) for p in self.pairs]
        seated = [outlines.depth_in(h, (0.0, 0.0)) for h in self._sums(0.0)]
        while self.lift > _LEAST_LIFT:
            self._seats = [outlines.depth_in(h, (0.0, self.lift)) for h in self._sums(0.0)]
            if all(new >= -1e-9 or new >= old - 1e-9
                   for new, old in zip(self._seats, seated, strict=True)):  # fmt: skip
                return
            self.lift /= 2
        self._seats = seated

    def seated(self, room: float) -> float:
        """The least room at the seat to anything that is further off there than so much, mm."""
        seats = zip(self.pairs, self._seats, strict=True)
        return min((s for p, s in seats if s > room and not p.close), default=math.inf)

    def fits(self, room: float) -> bool:
        """Whether there is a way that leaves so much room everywhere, mm; see `way`."""
        return self._found(room) is not None

    def way(self, room: float) -> WayIn | None:
        """The way with the gentlest tilt that leaves so much room everywhere, mm, or None.

        What is nearer to something already at the seat (lifted off by `lift`) only stays as far
        from that as it is there. Below 0: as if all things were that much smaller.
        """
        found = self._found(room)
        return None if found is None else WayIn(plane=self.plane, stops=tuple(self._stops(found)))

    def _found(self, room: float) -> _Found | None:
        band: dict[int, _Slice] = {0: self._slice(0, room)}
        start = next(
            (n for n, r in enumerate(band[0].regions) if outlines.holds(r, (0.0, self.lift))), None
        )
        if start is None:
            return None
        links: Links = {}
        reached = {(0, start)}
        for number in range(len(ANGLES)):
            for k in {number, -number}:
                if k not in band:
                    inner = k - (1 if k > 0 else -1)
                    if not any(node[0] == inner for node in reached):
                        continue
                    band[k] = self._slice(k, room)
                    _link(links, band, k, inner)
            reached = _flood(links, (0, start))
            goal = next((n for n in reached if _open(band[n[0]], n[1])), None)
            if goal is not None:
                return _Found(band=band, links=links, nodes=_shortest(links, (0, start), goal))
            if number and not any(abs(node[0]) == number for node in reached):
                return None
        return None

    def _angle(self, k: int) -> float:
        return math.copysign(ANGLES[abs(k)], k) if k else 0.0

    def _sums(self, angle: float) -> Sequence[Region]:
        """Where each pair meets at an angle, as polygons of places."""
        if angle not in self._hulls:
            c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
            turn = np.array(((c, s), (-s, c)))
            self._hulls[angle] = outlines.spread_out([_sum(p, turn) for p in self.pairs])
        return self._hulls[angle]

    def _slice(self, k: int, room: float) -> _Slice:
        angle = self._angle(k)
        n = abs(k)
        step = max(ANGLES[i + 1] - ANGLES[i] for i in (n - 1, n) if 0 <= i < len(ANGLES) - 1)
        share, first = math.radians(step) / 2, math.radians(ANGLES[1]) / 2
        grown = [
            min(min(room, 0.0) if pair.close else room, seat - first * radius - _HAIR)
            + share * radius
            for pair, radius, seat in zip(self.pairs, self._radii, self._seats, strict=True)
        ]
        hulls = self._sums(angle)
        x0, y0, x1, y1 = outlines.around_all(hulls)
        top = max(y1 + 2 * max(grown), self.lift) + 1.0
        window = (min(x0, 0.0) - 5.0, min(y0, 0.0) - 5.0, max(x1, 0.0) + 5.0, top)
        found = outlines.regions(window, hulls, grown)
        boxes = tuple(r.bounds for r in found)
        return _Slice(angle, found, boxes, top)

    def _stops(self, found: _Found) -> Iterator[Stop]:
        nodes = found.nodes
        here: Point2 = (0.0, self.lift)
        yield Stop(0.0, 0.0, 0.0)
        for n, node in enumerate(nodes):
            part = found.band[node[0]]
            region = part.regions[node[1]]
            if n + 1 < len(nodes):
                k, number = nodes[n + 1]
                end = outlines.nearest_shared(region, found.band[k].regions[number], here)
            else:
                # Up there nothing is in the way any more, wherever it is.
                end = (here[0], part.top - 0.5)
            for x, y in outlines.route(region, here, end):
                yield Stop(x, y, part.angle)
            here = end


def _sum(pair: Pair, turn: Array) -> list[Point2]:
    """All differences of the hurdle's and the turned mover's corners."""
    mover = np.array(pair.mover) @ turn
    points = np.array(pair.hurdle)[:, None, :] - mover[None, :, :]
    return [(x, y) for x, y in points.reshape(-1, 2).tolist()]


def _open(part: _Slice, number: int) -> bool:
    return outlines.reaches(part.regions[number], part.top)


def _apart(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Whether two upright rectangles (x0, y0, x1, y1) share nothing."""
    return a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def _link(
    links: Links,
    band: dict[int, _Slice],
    k: int,
    inner: int,
) -> None:
    for i, one in enumerate(band[k].regions):
        for j, other in enumerate(band[inner].regions):
            if _apart(band[k].boxes[i], band[inner].boxes[j]):
                continue
            if outlines.share_room(one, other):
                links.setdefault((k, i), set()).add((inner, j))
                links.setdefault((inner, j), set()).add((k, i))


def _flood(links: Links, start: Node) -> set[Node]:
    found, queue = {start}, [start]
    while queue:
        for other in links.get(queue.pop(), ()):
            if other not in found:
                found.add(other)
                queue.append(other)
    return found


def _shortest(
    links: Links,
    start: Node,
    goal: Node,
) -> list[Node]:
    came: dict[Node, Node] = {}
    queue = [start]
    for node in queue:
        if node == goal:
            break
        for other in sorted(links.get(node, ())):
            if other != start and other not in came:
                came[other] = node
                queue.append(other)
    way = [goal]
    while way[-1] != start:
        way.append(came[way[-1]])
    return way[::-1]
