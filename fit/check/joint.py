"""Boards at a right angle: what carries the joint, its holes, its squareness, its screws."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fit.check.cuts import closeness, up_to_tenth
from fit.check.measure import gap_between, prepare
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import Solid, capital, pierced, things, wall_label, wall_words
from fit.findings import Finding
from fit.geometry.distance import Prepared, box_gap
from fit.geometry.frames import Pose, dot
from fit.geometry.scene import Body, DrilledHole, PlacedBoard
from fit.geometry.shapes import Block, Cylinder
from fit.geometry.support import extent
from fit.model.part import Joint
from fit.model.words import JointKind
from fit.trade.clearances import allowance
from fit.trade.hands import bend_runout
from fit.units import show

_WALL = 0.6
"""Material round a screw in a block or strip, in shares of its diameter: a thread-forming screw
wants a post of 2 diameters round a hole of 0.8 (see `post-wall`)."""

_BESIDE = 100.0
"""So far round a board nothing carries a joint, mm: further than any is."""

_LOOKED = 10.0
"""Things further from a standing board than this, mm, are not told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joined:
    """A standing board on its lying one."""

    board: PlacedBoard
    main: PlacedBoard
    joint: Joint

    @property
    def piece(self) -> str:
        """What its bodies are called."""
        return "block" if self.joint.kind is JointKind.BLOCK else "strip"


def _joined(look: Inspection) -> Iterator[_Joined]:
    boards = {placed.name: placed for placed in look.scene.boards}
    for name, board in boards.items():
        used = look.scene.placed[name].used
        if used.joint is not None and used.joined_to in boards:
            yield _Joined(board=board, main=boards[used.joined_to], joint=used.joint)


def _pieces(look: Inspection, joined: _Joined) -> list[Body]:
    return [
        body
        for body in look.scene.bodies
        if body.owner == joined.board.name and body.name == joined.piece
    ]


def _spans(body: Body, frame: Pose) -> tuple[tuple[float, float], tuple[float, float]]:
    """What a body covers along a board's x and y, from that board's corner, mm."""
    x0, y0 = dot(frame.origin, frame.x), dot(frame.origin, frame.y)
    across, up = extent(body.shape, body.pose, frame.x), extent(body.shape, body.pose, frame.y)
    return (across[0] - x0, across[1] - x0), (up[0] - y0, up[1] - y0)


def pieces(look: Inspection) -> Iterator[tuple[str, str, Body]]:
    """The blocks or strips of each joint: the standing board's name, the lying one's, the body."""
    for joined in _joined(look):
        for body in _pieces(look, joined):
            yield joined.board.name, joined.main.name, body


def beside_boards(look: Inspection) -> Iterator[tuple[str, Block, Pose]]:
    """Where a lying board carries no joint: all round it, and its notches, with its name."""
    for main in {joined.main.name: joined.main for joined in _joined(look)}.values():
        wide, high = float(main.board.size[0]), float(main.board.size[1])
        for x0, x1, y0, y1 in (
            (-_BESIDE, 0.0, -_BESIDE, high + _BESIDE),
            (wide, wide + _BESIDE, -_BESIDE, high + _BESIDE),
            (0.0, wide, -_BESIDE, 0.0),
            (0.0, wide, high, high + _BESIDE),
            *((n.x, n.x + n.width, n.y, n.y + n.depth) for n in main.board.notches),
        ):
            pose = main.pose.shifted(((x0 + x1) / 2, (y0 + y1) / 2, 0.0))
            yield main.name, Block(float(x1 - x0), float(y1 - y0), 2 * _BESIDE), pose


def check_joint_carried(look: Inspection) -> Iterator[Finding]:
    """Whether the lying board carries the joint's blocks or strips all over.

    Looks at: the footprint of each block or strip on the lying board, its edges and notches.

    Hurts: a block that hangs over the edge has nothing under its screw; the display leans.

    Formula: footprint to board's edge ≥ 0 on all sides.

    Source: plain geometry; how true a sawn edge comes out is common practice, no source.

    Example: a block 10 deep behind a board that stands 8 from the lying board's edge hangs over
    by 2.

    Repairs: make the lying board longer; put the block on the other side; a shorter block.
    """
    for joined in _joined(look):
        size = joined.main.board.size
        room: list[float] = []
        for body in _pieces(look, joined):
            (x0, x1), (y0, y1) = _spans(body, joined.main.pose)
            room.append(min(x0, y0, size[0] - x1, size[1] - y1))
            for notch in joined.main.board.notches:
                apart_x = max(notch.x - x1, x0 - notch.x - notch.width)
                apart_y = max(notch.y - y1, y0 - notch.y - notch.depth)
                room.append(max(apart_x, apart_y))
        if not room:
            continue
        have, need = min(room), look.need("joint-carried", 0.0)
        piece = joined.piece
        yield look.finding(
            "joint-carried",
            (joined.board.name, joined.main.name),
            have=have,
            need=need,
            spread=look.hands.sawing,
            say=f"The {piece}s of {joined.board.name} lie on {joined.main.name}, {show(have)} mm "
            "inside its edge."
            if have >= 0
            else f"A {piece} of {joined.board.name} hangs {show(-have)} mm over the edge of "
            f"{joined.main.name}.",
            mend=f"make {joined.main.name} {show(up_to_tenth(need - have), 1)} mm longer there, or "
            f"take a smaller {piece}"
            if have < need
            else f"lay the {piece} on before sawing {joined.main.name}",
        )


def check_joint_holes(look: Inspection) -> Iterator[Finding]:
    """Whether the joint's screws meet enough of its blocks or strips.

    Looks at: where each screw hole of both boards comes to lie on its block or strip. On
    perfboard the holes sit on the grid, up to 1.27 mm beside the block's middle.

    Hurts: a screw near the block's edge splits it; the block's own hole, drilled in its middle,
    does not meet the board's.

    Formula: hole's centre to the piece's edge ≥ 0.5·d + 0.6·d, d the screw's diameter.

    Source: makers' guidance for thread-forming screws (post 2·d round a hole of 0.8·d).

    Example: M3 in a block 10 wide, its hole 1.27 beside the middle: 3.73; 3.3 is needed.

    Repairs: drill the block through the board's hole, not in its middle; a larger block.
    """
    for joined in _joined(look):
        found = [
            _to_piece(look, joined, placed, hole)
            for placed, purpose in (
                (joined.board, joined.piece),
                (joined.main, f"{joined.piece} of {joined.board.name}"),
            )
            for hole in placed.holes
            if hole.purpose == purpose
        ]
        if not found:
            continue
        have, where = min(found)
        need = look.need("joint-holes", (0.5 + _WALL) * joined.joint.screw)
        yield look.finding(
            "joint-holes",
            (joined.board.name, joined.piece),
            have=have,
            need=need,
            spread=look.hands.drilling,
            say=f"A joint hole in {where} lies {show(have)} mm from the edge of its "
            f"{joined.piece}; {show(need)} is needed."
            if have >= 0
            else f"A joint hole in {where} misses its {joined.piece} by {show(-have)} mm; it must "
            f"lie {show(need)} inside its edge.",
            mend=_piece_mend(joined.piece, need - have, misses=have < 0),
        )


def _piece_mend(piece: str, short: float, *, misses: bool) -> str:
    if misses:
        return f"set the {piece} where the holes of both boards meet it"
    if short > 0:
        return f"take a {piece} {show(up_to_tenth(2 * short), 1)} mm larger"
    return f"drill the {piece} through the board's hole"


def _to_piece(
    look: Inspection, joined: _Joined, placed: PlacedBoard, hole: DrilledHole
) -> tuple[float, str]:
    """How deep a hole's centre lies inside the piece it is meant for, mm."""
    depths = []
    for body in _pieces(look, joined):
        (x0, x1), (y0, y1) = _spans(body, placed.pose)
        depths.append(min(hole.x - x0, x1 - hole.x, hole.y - y0, y1 - hole.y))
    return max(depths), placed.name


def check_joint_square(look: Inspection) -> Iterator[Finding]:
    """Whether a standing board may lean as much as hand-made joints do.

    Looks at: the standing board and the displays on it, and what stands before and behind them,
    at the height where they come nearest.

    Hurts: the top leans into the window or into a part, and the display is pressed.

    Formula: gap ≥ h·tan δ, h the height of that place above the joint and δ how far a bend or
    block is out of square: 1° for careful hands.

    Source: 1° for a bent strip is common practice, no source.

    Example: 40 mm up, 1° is 0.7.

    Repairs: true the joint against a square before tightening; more gap; a lower board.
    """
    for joined in _joined(look):
        found = [*_leaning(look, joined), *_leaning_walls(look, joined)]
        if found:
            yield min(found, key=closeness)


def _standing(look: Inspection, joined: _Joined) -> list[Solid]:
    """The standing board and what it carries, without its joint."""
    carries = look.scene.placed[joined.board.name].used.carries
    own = [s for s in things(look).of(joined.board.name) if s.body.name not in _JOINT_BODIES]
    return own + [solid for name in carries for solid in things(look).of(name)]


_JOINT_BODIES = ("block", "strip", "joint screw")


def _leaning(look: Inspection, joined: _Joined) -> Iterator[Finding]:
    group = _standing(look, joined)
    own = {solid.body.owner for solid in group} | {joined.main.name}
    normal, foot = joined.board.pose.z, joined.board.pose
    for solid in group:
        for other in things(look).inside:
            if other.body.owner in own or box_gap(solid.ready.box, other.ready.box) > _LOOKED:
                continue
            between = gap_between(solid.ready, other.ready)
            if between.mm > _LOOKED or abs(dot(between.along, normal)) < 0.5:
                continue
            height = foot.inside(between.near_a)[1]
            if height < 1.0:
                continue  # beside the joint itself nothing leans
            yield _square(look, joined, solid, other.label, other.words, between.mm, height)


def _leaning_walls(look: Inspection, joined: _Joined) -> Iterator[Finding]:
    pose, known = joined.board.pose, things(look)
    base = dot(pose.origin, pose.y)
    for solid in _standing(look, joined):
        top = extent(solid.body.shape, solid.body.pose, pose.y)[1] - base
        for room in known.margins(solid.body.shape, solid.body.pose):
            out = look.scene.faces[room.face].frame.z
            if solid.body.seat is room.face and room.half is pierced(room.face):
                continue  # a display and its window: `display-clear` counts the lean there
            if room.mm <= _LOOKED and abs(dot(out, pose.z)) > 0.5:
                label, words = wall_label(room.face), wall_words(room.face)
                yield _square(look, joined, solid, label, words, room.mm, max(0.0, top))


def _square(
    look: Inspection,
    joined: _Joined,
    solid: Solid,
    label: str,
    words: str,
    have: float,
    height: float,
) -> Finding:
    need = look.need("joint-square", bend_runout(look.hands, height))
    return look.finding(
        "joint-square",
        (solid.label, label),
        have=have,
        need=need,
        spread=spread_of(look.hands.drilling, solid.doubt),
        say=f"{capital(solid.words)} "
        + (
            f"stands {show(have)} mm from {words}"
            if have >= 0
            else f"meets {words} by {show(-have)} mm"
        )
        + f", {show(height, 1)} mm above the "
        f"joint; out of square by {show(look.hands.bending_deg)}° its top moves {show(need)} mm.",
        mend=f"true {joined.board.name} against a square and pack the joint, or give it "
        f"{show(up_to_tenth(max(0.1, need - have)), 1)} mm more room",
    )


def check_joint_screws(look: Inspection) -> Iterator[Finding]:
    """Whether a driver reaches the joint's screws, both boards joined on the bench.

    Looks at: a shank's room straight above each joint screw, against what the two boards carry.

    Hurts: the display is soldered in and its module covers the screw that should hold the board.

    Formula: a cylinder 7 across and 80 long above the head, free by 0.

    Source: common practice, no source.

    Example: a display whose edge lies 3 mm beside a screw's middle covers 0.5 of the shank.

    Repairs: screw the boards together before soldering the display; move the block outwards.
    """
    for joined in _joined(look):
        solids = [
            solid
            for owner in (
                joined.board.name,
                joined.main.name,
                *look.scene.placed[joined.board.name].used.carries,
            )
            for solid in things(look).of(owner)
            if solid.body.name not in ("joint screw", "leads")
        ]
        found = []
        for body, up in _joint_heads(look, joined):
            shank = _shank(body, up)
            for solid in solids:
                have = gap_between(shank, solid.ready).mm
                if have < _LOOKED:
                    found.append((have, solid))
        if not found:
            continue
        have, solid = min(found, key=lambda f: f[0])
        own = solid.body.owner == joined.board.name
        yield look.finding(
            "joint-screws",
            (joined.board.name, solid.body.name if own else solid.label),
            have=have,
            need=look.need("joint-screws", 0.0),
            spread=look.hands.drilling,
            say=f"A driver on a joint screw of {joined.board.name} passes {solid.words} "
            f"{show(have)} mm off."
            if have >= 0
            else f"{capital(solid.words)} covers a joint screw of {joined.board.name} by "
            f"{show(-have)} mm.",
            mend=f"set the {joined.piece}s further out, or use a thinner driver"
            if solid.body.owner == joined.main.name
            else f"join the boards before {solid.label} is soldered in, or set the "
            f"{joined.piece}s further out",
        )


def _joint_heads(look: Inspection, joined: _Joined) -> Iterator[tuple[Body, float]]:
    """The joint's screw heads, and which way along the board's z the driver comes: ±1."""
    for placed, side in ((joined.board, 1.0), (joined.main, -1.0)):
        for body in look.scene.bodies:
            if body.owner == placed.name and body.name == "joint screw":
                yield body, side


def _shank(head: Body, side: float) -> Prepared:
    """The driver above a head, ready for measuring."""
    length = allowance("driver-reach").mm
    radius = allowance("driver-shank").mm / 2
    tall = head.shape.height if isinstance(head.shape, Cylinder) else 0.0
    pose = head.pose.shifted((0.0, 0.0, side * (tall + length) / 2))
    return prepare(Cylinder(radius, length), pose)


joint_carried = rule("joint-carried", Family.JOINT)(check_joint_carried)
joint_holes = rule("joint-holes", Family.JOINT)(check_joint_holes)
joint_square = rule("joint-square", Family.JOINT)(check_joint_square)
joint_screws = rule("joint-screws", Family.JOINT)(check_joint_screws)
