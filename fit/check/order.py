"""In which order it goes together, the circle that makes it impossible, and the lid's wires."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from fit.check.passing import groups
from fit.check.repairs import tenths, when_tight
from fit.check.rule import Family, Inspection, rule
from fit.check.sequence import (
    Before,
    Circle,
    Step,
    in_order,
    precedence,
    steps_of,
    tightest_circle,
)
from fit.check.things import DEEP, Things, things
from fit.check.ways import going
from fit.findings import Finding
from fit.geometry.box import Level, outside
from fit.geometry.frames import Vec, add, dot, scale
from fit.geometry.scene import Placed, Scene
from fit.geometry.shapes import Block, Prism
from fit.geometry.support import reach, vertices
from fit.model.build import Wire
from fit.model.part import Board
from fit.model.words import FaceName, Half
from fit.trade.clearances import allowance
from fit.units import show

CLOSING = "close the lid and drive its screws"
"""The last step of every build."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """The order of assembly.

    Attributes:
        steps: what to do, in order, the closing of the lid last; when there is a circle, the
            steps that can be done before it stops.
        circle: names of the parts of which each has to be in before the next and the last before
            the first; None when it goes together.
    """

    steps: tuple[str, ...]
    circle: tuple[str, ...] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A wire whose ends stay with different halves of the box.

    Attributes:
        wire: the wire.
        length: to cut it to, mm.
        over: the side of the rim the lid is laid beside.
    """

    wire: Wire
    length: float
    over: FaceName


def check_order(look: Inspection) -> Iterator[Finding]:
    """The order in which it all goes together, or the circle that makes it impossible.

    Looks at: for each step (a board with all joined to it, a holder, a part on a wall) the room
    that must be free while it is done: its way in, the spanner for its nut, the screwdriver
    above its screws; and what else will stand there. The lid comes last. Reported is the circle
    of steps with least room, also where there is room.

    Hurts: the board cannot go in past the buttons, the buttons' nuts cannot be turned past the
    board. Found at the last step, it costs a board.

    Formula: step A has to come before step B when the room A needs overlaps what B puts there.
    A circle's room is the largest of the rooms between its steps; it must be ≥ 0. Spanner: a
    circle of 1.155·AF + 4 as high as the nut; screwdriver: a shank of 7.

    Source: a circle in a list of "before" makes sorting impossible (A. B. Kahn, 1962); spanner
    and shank common practice, no source.

    Safe side: straight ways along the upright axis (a board that must be slid or tilted: the way
    `going-in` found, looked at every 0.5 mm), spanners straight from the open side. Wires give
    way and hinder nothing; those to the lid must be soldered with the lid lying open.

    Example: a button's body reaches over the board, so the board goes in first; but its nut
    sits behind the display's board, which leaves no room for the spanner. Neither can be first.

    Repairs: move the part along its wall; take one that is held from outside; notch the board
    where it passes; cut the part's hole open to the rim, as a slot.
    """
    plan = _plan(look)
    if not plan.names:
        return
    tight, order = plan.tight, plan.order
    if tight is None and not _shut_out(look):
        yield look.finding(
            "order",
            plan.names,
            have=0.0,
            need=0.0,
            spread=0.0,
            say=f"It goes together: {_listed(order)}.",
        )
    if tight is not None:
        yield _circle_finding(look, tight, order)


def _shut_out(look: Inspection) -> bool:
    """Whether something does not get in at all, whatever the order: that tells `going-in`."""
    known = things(look)
    ways = (going(known, group) for group in groups(known))
    return any(w.fitting is None and (w.noses or w.blocked) for w in ways)


def _circle_finding(look: Inspection, tight: Circle, order: Order) -> Finding:
    weakest = tight.weakest
    names = tight.names
    need = look.need("order", 0.0)
    if weakest.mm < need:
        chain = "; ".join(
            f"{e.first} has to be in before {e.then}, or {e.blocker} is in its way"
            for e in tight.edges
        )
        say = f"It cannot be put together: {chain}."
    else:
        say = (
            f"It goes together with {show(weakest.mm - need)} mm to spare between {weakest.first} "
            f"and {weakest.then}: {_listed(order)}."
        )
    short = need - weakest.mm
    return look.finding(
        "order",
        names,
        have=weakest.mm,
        need=need,
        spread=weakest.spread,
        say=say,
        mend=f"give {weakest.first} {tenths(short)} mm more room past {weakest.then}: move one of "
        "the two along its wall, or notch the board where it passes"
        if short > 0
        else when_tight(weakest.first, weakest.then, -short, weakest.spread),
    )


def _listed(order: Order) -> str:
    return "; ".join(f"{n} {words}" for n, words in enumerate(order.steps, 1))


def assembly_order(scene: Scene) -> Order:
    """The order in which a build goes together, from a scene alone."""
    return order_of(Inspection(scene))


def order_of(look: Inspection) -> Order:
    """The order in which the build under inspection goes together."""
    return _plan(look).order


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """The order, with the names of all its steps and the circle that has least room."""

    names: tuple[str, ...]
    tight: Circle | None
    order: Order


_KEPT: WeakKeyDictionary[Inspection, _Plan] = WeakKeyDictionary()


def _plan(look: Inspection) -> _Plan:
    """The plan of the scene under inspection, worked out once."""
    found = _KEPT.get(look)
    if found is None:
        known = things(look)
        steps = steps_of(known)
        edges = precedence(steps)
        tight = tightest_circle(edges)
        order = _order(steps, edges, tight, known)
        names = tuple(s.name for s in steps)
        found = _KEPT[look] = _Plan(names=names, tight=tight, order=order)
    return found


def _order(
    steps: tuple[Step, ...], edges: tuple[Before, ...], tight: Circle | None, known: Things
) -> Order:
    done = in_order(steps, edges)
    words = [s.words for half in (Half.BODY, Half.LID) for s in done if s.half is half]
    if len(done) < len(steps):
        return Order(steps=tuple(words), circle=tight.names if tight is not None else None)
    crossing = crossing_wires(known.scene)
    if crossing:
        longest = max(c.length for c in crossing)
        words.append(
            f"lay the lid open beside the {crossing[0].over} wall and solder the "
            f"{_count(len(crossing))} to it, the longest {show(math.ceil(longest), 0)} mm"
        )
    return Order(steps=(*words, CLOSING), circle=None)


def _count(number: int) -> str:
    return "one wire" if number == 1 else f"{number} wires"


def crossing_wires(scene: Scene) -> tuple[Crossing, ...]:
    """The wires that cross the joint between the halves, and how long to cut them.

    The lid lies open, turned over beside one wall, the rims touching. A wire's path runs from
    its end in the body over that edge of the rim to its end on the lid: with both halves laid
    flat about the edge it is a straight line, ``√(t² + (r1 + r2)²)`` with t along the edge and
    r the ends' distances from it. To that come 20 to 30 of slack (common practice, no source).
    All wires share the side that makes the longest of them shortest.

    Wires with an end that is not placed yet are left out. An end on a board is taken at that
    board's farthest corner, on any other part at the farthest corner of its innermost end (the
    middle of a round one): lengths come out rather too long than too short.
    """
    ends = [
        (wire, one, other)
        for wire in scene.build.wires
        for one, other in [(scene.placed.get(wire.start), scene.placed.get(wire.end))]
        if one is not None and other is not None and one.half is not other.half
    ]
    if not ends:
        return ()
    rim = outside(scene.build.box, scene.build.box.rim)
    slack = allowance("lid-wire").mm
    laid = {
        face: [_path(scene, one, other, rim, face) + slack for _, one, other in ends]
        for face in (FaceName.BACK, FaceName.FRONT, FaceName.LEFT, FaceName.RIGHT)
    }
    best = min(laid, key=lambda face: max(laid[face]))
    return tuple(
        Crossing(wire=wire, length=length, over=best)
        for (wire, _, _), length in zip(ends, laid[best], strict=True)
    )


def _path(scene: Scene, one: Placed, other: Placed, rim: Level, face: FaceName) -> float:
    """The longest straight way from one part over an edge of the rim to another, mm."""
    z = scene.build.box.rim
    return max(
        _over_edge(p, q, rim, z, face) for p in _ends(scene, one) for q in _ends(scene, other)
    )


def _over_edge(p: Vec, q: Vec, rim: Level, z: float, face: FaceName) -> float:
    edges = {
        FaceName.LEFT: (0, rim.x0),
        FaceName.RIGHT: (0, rim.x1),
        FaceName.FRONT: (1, rim.y0),
        FaceName.BACK: (1, rim.y1),
    }
    axis, at = edges[face]
    along = p[1 - axis] - q[1 - axis]
    radii = [math.hypot(v[axis] - at, v[2] - z) for v in (p, q)]
    return math.hypot(along, sum(radii))


def _ends(scene: Scene, placed: Placed) -> list[Vec]:
    """Where a wire may be soldered to a part."""
    board = placed.used.part
    if isinstance(board, Board):
        w, h = float(board.size[0]), float(board.size[1])
        return [placed.pose.point((x, y, 0.0)) for x in (0.0, w) for y in (0.0, h)]
    mine = [b for b in scene.bodies if b.owner == placed.used.name and not b.outside]
    if not mine:
        return [placed.pose.origin]
    inwards = scale(placed.pose.z, -1.0)
    deepest = max(mine, key=lambda b: reach(b.shape, b.pose, inwards))
    end = reach(deepest.shape, deepest.pose, inwards)
    if isinstance(deepest.shape, Block | Prism):
        corners: list[Vec] = [
            (x, y, z) for x, y, z in vertices(deepest.shape, deepest.pose).tolist()
        ]
        return [c for c in corners if dot(c, inwards) > end - DEEP]
    middle = deepest.pose.origin
    return [add(middle, scale(inwards, end - dot(middle, inwards)))]


order = rule("order", Family.ORDER)(check_order)
