"""What must go in before what: the graph behind the order of assembly, and its circles."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from fit.check.measure import Crowd, prepare, swept
from fit.check.passing import Group, closest, groups, moving, way_out
from fit.check.rule import spread_of
from fit.check.things import DEEP, Solid, Things, noun
from fit.check.ways import along, going, way_words
from fit.geometry.distance import Gap, Prepared
from fit.geometry.places import corner_radius_of_nut
from fit.geometry.scene import Opening, Placed, Role
from fit.geometry.shapes import Cylinder
from fit.geometry.sweep import Way, drawn_in
from fit.model.part import (
    BushingPart,
    Display,
    Gland,
    Grille,
    Holder,
    PanelPart,
    Part,
    RimSwitch,
)
from fit.model.words import Entry, Fixing, Half, Seat, Stuff
from fit.trade.clearances import allowance, spanner_circle

NEAR = 5.0
"""Ways that stay further than this, mm, from a thing are not hindered by it."""

_NUT_HEIGHT = 5.0
"""Room along a fixing screw for its nut and a finger behind a wall, mm (common practice, no
source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of the assembly.

    Attributes:
        name: the part that leads it.
        names: every part it brings in.
        half: the half it is done in.
        words: what is done.
        rank: which steps come first where nothing forces an order.
        fills: solids that stand there afterwards.
        needs: room that must be free while it is done: way in, spanner, screwdriver.
    """

    name: str
    names: tuple[str, ...]
    half: Half
    words: str
    rank: int
    fills: tuple[Solid, ...]
    needs: tuple[Prepared, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """One step has to be done before another, because its way leads where the other will stand.

    Attributes:
        first, then: names of the two steps.
        blocker: what of the second would stand in the way, in words.
        mm: room the way keeps to what will stand there; below 0 it is blocked afterwards.
        spread: how far hands may move that, mm.
    """

    first: str
    then: str
    blocker: str
    mm: float
    spread: float


def steps_of(known: Things) -> tuple[Step, ...]:
    """Every step of a build but the closing of the lid, in file order."""
    scene = known.scene
    grouped = {g.name: g for g in groups(known)}
    brought = {name for g in grouped.values() for name in g.names}
    found = []
    for used in scene.build.parts:
        placed = scene.placed.get(used.name)
        if placed is None:
            continue
        way = way_out(known, placed.half)
        if used.name in grouped:
            group = grouped[used.name]
            found.append(
                Step(
                    name=used.name,
                    names=group.names,
                    half=group.half,
                    words=_board_words(placed, group.names) + _how(known, group),
                    rank=1 if isinstance(used.part, Holder) else 2,
                    fills=_hard(group.solids),
                    needs=tuple(_brought_in(known, group, way)),
                )
            )
        elif used.name not in brought and not _mere_holes(used.part):
            found.append(_on_wall(known, placed, way))
    return tuple(found)


def _mere_holes(part: Part) -> bool:
    """Whether there is nothing to fit: a grille without a body behind it."""
    return isinstance(part, Grille) and part.body is None


def _hard(solids: Iterable[Solid]) -> tuple[Solid, ...]:
    """What does not give way."""
    return tuple(s for s in solids if s.body.stuff is not Stuff.SOFT)


def _on_wall(known: Things, placed: Placed, way: Way) -> Step:
    used = placed.used
    mine = known.of(used.name)
    return Step(
        name=used.name,
        names=(used.name,),
        half=placed.half,
        words=_wall_words(placed),
        rank=0,
        fills=_hard(mine),
        needs=tuple(_room_for(known, placed, mine, way)),
    )


def _brought_in(known: Things, group: Group, way: Way) -> Iterator[Prepared]:
    """The way of a board or holder to its seat, and a screwdriver straight above its screws."""
    crooked = going(known, group).fitting
    if crooked is not None and crooked.way is not None:
        yield from along(group, crooked.way)
    for solid in group.solids:
        if crooked is None:
            yield from moving(solid, way).ready
        if solid.body.name == "screw head":
            yield from _driver(solid, way)


def _how(known: Things, group: Group) -> str:
    """How a group is brought in, where it does not go straight."""
    way = going(known, group)
    return "" if way.fitting is None else f", {way_words(way.fitting)}"


def _driver(head: Solid, way: Way) -> Iterator[Prepared]:
    radius = allowance("driver-shank").mm / 2
    shape = head.body.shape
    height = shape.height if isinstance(shape, Cylinder) else 1.0
    yield from _column(Cylinder(radius, height), head, way)


def _column(shape: Cylinder, at: Solid, way: Way) -> Iterator[Prepared]:
    for piece, pose in swept(shape, at.body.pose, way):
        yield prepare(piece, pose)


def _room_for(
    known: Things, placed: Placed, mine: tuple[Solid, ...], way: Way
) -> Iterator[Prepared]:
    """What a part on a wall needs free inside while it is mounted."""
    part = placed.used.part
    if isinstance(part, BushingPart) and part.entry is Entry.INSIDE:
        for solid in mine:
            shape, pose = drawn_in(solid.body.shape, solid.body.pose, float(part.neck))
            yield from (prepare(s, p) for s, p in swept(shape, pose, way))
    elif isinstance(part, BushingPart | Gland) and part.nut is not None:
        wide = spanner_circle(part.nut.across_flats) / 2
        tall = float(part.nut.height)
        yield from (
            r for s in mine if s.body.name == "nut" for r in _column(Cylinder(wide, tall), s, way)
        )
    elif isinstance(part, Display | RimSwitch):
        yield from (r for s in mine for r in moving(s, way).ready)
    elif isinstance(part, PanelPart) and part.fixing is Fixing.CLAMPS:
        yield from (r for s in mine if s.body.name == "clamp" for r in moving(s, way).ready)
    elif isinstance(part, PanelPart | Holder | Grille) and part.fixing is Fixing.SCREWS:
        for opening in known.scene.openings:
            if opening.part == placed.used.name and opening.role is Role.SCREW:
                yield from _screw_room(known, opening, way)


def _screw_room(known: Things, opening: Opening, way: Way) -> Iterator[Prepared]:
    face = known.scene.faces[opening.face]
    depth = -face.thickness - _NUT_HEIGHT / 2
    pose = face.frame.shifted((opening.across, opening.up, depth))
    radius = corner_radius_of_nut(2 * opening.diameter)
    for piece, at in swept(Cylinder(radius, _NUT_HEIGHT), pose, way):
        yield prepare(piece, at)


def _board_words(placed: Placed, names: tuple[str, ...]) -> str:
    used = placed.used
    others = [n for n in names if n != used.name]
    along = f" together with {', '.join(others)}" if others else ""
    half = "lid" if placed.half is Half.LID else "body"
    seat = "its posts" if used.on is Seat.POSTS else f"the {placed.face}"
    return f"put {noun(used)} '{used.name}'{along} into the {half}, onto {seat}"


def _wall_words(placed: Placed) -> str:
    used, part = placed.used, placed.used.part
    inside = isinstance(part, Display | Holder | Grille) or (
        isinstance(part, BushingPart) and part.entry is Entry.INSIDE
    )
    side = "inside" if inside else "outside"
    words = f"fit {noun(used)} '{used.name}' to the {placed.face} from {side}"
    if isinstance(part, RimSwitch):
        words = f"slide {noun(used)} '{used.name}' into its slot in the {placed.face}"
    if isinstance(part, BushingPart | Gland) and part.nut is not None:
        words += ", pulling its wires through first, and tighten its nut"
    return words


def precedence(steps: Iterable[Step]) -> tuple[Before, ...]:
    """For every two steps of one half: how near the way of one leads to where the other stands."""
    found = []
    listed = list(steps)
    fills = [(then, solid) for then in listed for solid in then.fills]
    crowd = Crowd([then for then, _ in fills], [solid.ready.box for _, solid in fills])
    near = crowd.within([[r.box for r in first.needs] for first in listed], NEAR)
    for first, hinders in zip(listed, near, strict=True):
        for then in {id(then): then for then in hinders}.values():
            if first is then or first.half is not then.half:
                continue
            before = _nearest(first, then)
            if before is not None:
                found.append(before)
    return tuple(found)


def _nearest(first: Step, then: Step) -> Before | None:
    """The room the way of one step keeps to what the other puts there, where it is a way at all.

    What is as near once both are in their places, or overlaps there, is no matter of order but
    the rule `bodies`.
    """
    best: Gap | None = None
    nearest: Solid | None = None
    for solid in then.fills:
        gap = closest(first.needs, solid.ready, NEAR)
        if gap is not None and (best is None or gap.mm < best.mm):
            best, nearest = gap, solid
    if best is None or nearest is None:
        return None
    standing = [s.ready for s in first.fills]
    seats = [closest(standing, s.ready, NEAR) for s in then.fills]
    if any(seat is not None and seat.mm <= max(best.mm, 0.0) + DEEP for seat in seats):
        return None
    moved = first.fills[0].spread(best.along) if first.fills else 0.0
    spread = spread_of(moved, nearest.spread(best.along))
    return Before(
        first=first.name, then=then.name, blocker=nearest.words, mm=best.mm, spread=spread
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """Steps each of which has to be done before the next, and the last before the first.

    Attributes:
        edges: in order; the `then` of the last is the `first` of the first.
    """

    edges: tuple[Before, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Its steps."""
        return tuple(e.first for e in self.edges)

    @property
    def weakest(self) -> Before:
        """The edge that misses being free by least (or is free by most)."""
        return max(self.edges, key=lambda e: e.mm)


def tightest_circle(edges: Iterable[Before]) -> Circle | None:
    """The circle that has least room: edges are let in from the tightest on until one closes.

    The room of a circle is that of its weakest edge; below 0 every edge of it is blocked, and
    nothing can be first. None when even all edges together close no circle.
    """
    followers: dict[str, dict[str, Before]] = {}
    for edge in sorted(edges, key=lambda e: (e.mm, e.first, e.then)):
        back = _path(followers, edge.then, edge.first)
        if back is not None:
            return Circle(edges=(edge, *back))
        followers.setdefault(edge.first, {})[edge.then] = edge
    return None


def _path(
    followers: Mapping[str, Mapping[str, Before]], start: str, goal: str
) -> tuple[Before, ...] | None:
    """A shortest way along edges, or None."""
    came: dict[str, tuple[Before, ...]] = {start: ()}
    queue = [start]
    while queue:
        at = queue.pop(0)
        if at == goal:
            return came[at]
        for name, edge in followers.get(at, {}).items():
            if name not in came:
                came[name] = (*came[at], edge)
                queue.append(name)
    return None


def in_order(steps: Iterable[Step], edges: Iterable[Before]) -> tuple[Step, ...]:
    """Steps so that no blocked way is needed late; parts on walls first where nothing says.

    The steps of a circle are left out.
    """
    blocked = [e for e in edges if e.mm < 0]
    waiting = sorted(steps, key=lambda s: s.rank)
    if not blocked:
        return tuple(waiting)
    done: list[Step] = []
    while waiting:
        open_names = {s.name for s in waiting}
        ready = [
            s
            for s in waiting
            if not any(e.then == s.name and e.first in open_names for e in blocked)
        ]
        if not ready:
            break
        done.append(ready[0])
        waiting.remove(ready[0])
    return tuple(done)
