"""Holes over boards: do screws find the posts, standoffs and holes they are meant for?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from fit.check.cuts import closeness, up_to_tenth
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.findings import Finding
from fit.geometry.drilling import thread_for_hole
from fit.geometry.scene import DrilledHole, PlacedBoard, Role
from fit.model.box import Post
from fit.model.build import Used
from fit.model.part import Board, Display, PanelPart, Part
from fit.model.words import BoardStock
from fit.trade.hands import between_features
from fit.trade.screws import metric_thread
from fit.trade.stacks import fixed_hole, zone_from_radial
from fit.units import Length, show

FOLLOWS = 0.15
"""How far a bit strays that follows a hole which is already there, mm (common practice, no
source)."""

MADE = 0.1
"""How far a hole of a made circuit board strays, mm (common practice, no source)."""

_SINKING = 0.2
"""How far the depth of a countersink made by hand strays, mm (common practice, no source)."""

_PILOT = 0.8
"""A pilot in shares of its thread-forming screw's diameter, in ABS."""


def post_of(look: Inspection, hole: DrilledHole) -> Post | None:
    """The post a board's hole is meant for, or None."""
    for post in look.tray.posts:
        if hole.purpose == f"post {post.name}":
            return post
    return None


def _own(board: Board, hole: DrilledHole) -> bool:
    return any((h.x, h.y) == (hole.x, hole.y) for h in board.holes)


def hole_error(look: Inspection, board: Board, hole: DrilledHole) -> float:
    """How far a hole of a board may sit beside its place, mm."""
    if board.stock is not BoardStock.PLAIN:
        return FOLLOWS
    return MADE if _own(board, hole) else look.error


def check_post_holes(look: Inspection) -> Iterator[Finding]:
    """Whether a board's holes are large enough for the screws into the posts below.

    Looks at: each hole over a moulded post: its diameter, and how far its centre lies beside the
    post's axis (perfboard holes only come every 2.54 mm).

    Hurts: the last screw does not find its post; forced in, it bends the board.

    Formula: H ≥ F + 2·m, with F the screw's diameter and m the distance from hole to post. What
    marking and drilling add, T1 + T2 of a fixed fastener, is the spread.

    Source: ASME Y14.5, appendix on fixed fasteners: H = F + T1 + T2.

    Example: a 2.9 screw through a perfboard hole 0.6 beside its post: 2.9 + 1.2 = 4.1.

    Repairs: open the hole to that size and lay a washer under the head; file it to a slot.
    """
    for placed in look.scene.boards:
        used = look.scene.placed[placed.name].used
        found = [
            _post_hole(look, placed, used, hole, post)
            for hole in placed.holes
            if (post := post_of(look, hole)) is not None
        ]
        if found:
            yield min(found, key=closeness)


def _post_hole(
    look: Inspection, placed: PlacedBoard, used: Used, hole: DrilledHole, post: Post
) -> Finding:
    x, y, _ = placed.pose.inside((float(post.x), float(post.y), placed.pose.origin[2]))
    beside = math.dist((x, y), (hole.x, hole.y))
    screw = float(used.screws.diameter) if used.screws is not None else post.hole / _PILOT
    need = fixed_hole(screw, zone_from_radial(beside), 0.0)
    made = hole_error(look, placed.board, hole)
    moulded = max(post.x.plus_minus, post.y.plus_minus)
    short = up_to_tenth(need - hole.diameter)
    return look.finding(
        "post-holes",
        (placed.name, f"post {post.name}"),
        have=hole.diameter,
        need=need,
        spread=zone_from_radial(spread_of(made, moulded)),
        say=f"The {show(hole.diameter)} mm hole of {placed.name} sits {show(beside)} mm beside "
        f"post {post.name}; for its {show(screw)} mm screw it must be {show(need)}.",
        mend=f"open that hole by {show(short, 1)} mm and lay a washer under the screw's head"
        if short > 0
        else "start all screws before tightening any",
    )


def check_screw_holes(look: Inspection) -> Iterator[Finding]:
    """Whether a group of screws finds its holes on both sides.

    Looks at: boards on standoffs, displays and panel parts held by screws through the wall: the
    play in the part's own holes and in the holes drilled through the wall.

    Hurts: three screws go in and the fourth does not.

    Formula: (H1 − F) + (H2 − F) ≥ 0 on paper, and as much as the distance of two holes strays:
    √2·√(punching² + drilling²). Laying the template does not count: it moves all holes of a group
    alike. F the screw, H1 and H2 the two holes; a panel part's own hole is not known and gives no
    play.

    Source: ASME Y14.5, appendix on floating fasteners: the distance of two holes may be off by
    H − F of either plate.

    Example: M3 through 3.2 in the board and 3.4 in the floor: 0.6 of play; two careful holes
    stray 0.55 from each other.

    Repairs: mark the holes through the part itself; drill them larger and use washers.
    """
    for name, placed in look.scene.placed.items():
        own = _own_holes(placed.used.part)
        walls = [o for o in look.scene.openings if o.part == name and o.role is Role.SCREW]
        if len(own) < 2 or not walls:
            continue
        yield from _group(look, name, min(own), min(o.diameter for o in walls), len(walls))


def _own_holes(part: Part) -> list[Length]:
    if isinstance(part, Board | Display | PanelPart):
        return [hole.diameter for hole in part.holes]
    return []


def _group(
    look: Inspection, name: str, own: Length, drilled: float, count: int
) -> Iterator[Finding]:
    used = look.scene.placed[name].used
    hidden = isinstance(used.part, PanelPart)
    # The cone of a countersunk head finds its own middle: the hole in the wall gives no play.
    sunk = used.screws is not None and used.screws.countersunk
    if used.screws is not None:
        screw = float(used.screws.diameter)
    elif hidden:
        return
    else:
        screw = metric_thread(thread_for_hole(own)).nominal
    play = (0.0 if sunk else drilled - screw) + (0.0 if hidden else own - screw)
    say = f"The {count} screws of {name} have {show(play)} mm of play in their holes."
    if play < 0:
        say = f"The {show(screw)} mm screws of {name} are {show(-play)} mm too thick for the holes."
    yield look.finding(
        "screw-holes",
        (name, "screws"),
        have=play,
        need=0.0,
        spread=spread_of(
            between_features(spread_of(look.hands.punching, look.hands.drilling)), own.plus_minus
        ),
        say=say,
        mend=f"mark the holes through {name} itself, or drill them larger and use washers",
    )


def check_countersinks(look: Inspection) -> Iterator[Finding]:
    """Whether a wall is thick enough for the countersinks in it.

    Looks at: each screw hole that is countersunk outside.

    Hurts: a cone that goes nearly through leaves a knife edge; the head pulls through it.

    Formula: t − (D − d)/2 ≥ t/3, with t the wall, D the countersink of 90°, d the hole.

    Source: D is where the cone of the head would end without its rim (ISO 7046); a third of the
    wall left standing is common practice, no source.

    Example: M3 in 2 mm: (6.3 − 3.4)/2 = 1.45 deep leaves 0.55; 0.67 is needed.

    Repairs: a thinner screw; a pan head; a countersunk washer under the head.
    """
    worst: dict[str, Finding] = {}
    for opening in look.scene.openings:
        if opening.sink <= 0:
            continue
        wall = look.tray.thickness(opening.face)
        have, need = wall - opening.sunk, look.need("countersinks", wall / 3)
        found = look.finding(
            "countersinks",
            (opening.part, "countersink"),
            have=have,
            need=need,
            spread=spread_of(_SINKING, wall.plus_minus),
            say=f"The countersinks of {opening.part} go {show(opening.sunk)} mm into the "
            f"{opening.face}, {show(wall)} mm thick; {show(need)} is to stay under them.",
            mend=f"take screws with a pan head for {opening.part}, or thinner ones"
            if have < need
            else "sink a little at a time and try the screw's head",
        )
        if opening.part not in worst or found.margin < worst[opening.part].margin:
            worst[opening.part] = found
    yield from worst.values()


post_holes = rule("post-holes", Family.HOLES)(check_post_holes)
screw_holes = rule("screw-holes", Family.HOLES)(check_screw_holes)
countersinks = rule("countersinks", Family.HOLES)(check_countersinks)
