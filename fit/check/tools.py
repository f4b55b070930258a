"""Hands and tools: is there room for the driver, the step bit, the drill's chuck, the fingers?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from fit.check.cuts import NEAR, called, up_to_tenth
from fit.check.fitted import Fitted, fitted
from fit.check.measure import gap_between, prepare
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.screws import posts_to_open
from fit.check.things import Solid, capital, things, wall_doubt, wall_label, wall_words
from fit.findings import Finding
from fit.geometry.box import Face
from fit.geometry.distance import Prepared, box_gap
from fit.geometry.fixtures import post_name, post_pose
from fit.geometry.frames import Pose, dot
from fit.geometry.scene import Body, Opening
from fit.geometry.shapes import Block, Cone, Cylinder
from fit.geometry.support import extent
from fit.model.box import Post
from fit.model.build import StepBit
from fit.model.part import Board, Display, Holder
from fit.model.words import FaceName, Half, Stuff
from fit.trade.clearances import allowance
from fit.trade.drills import Tool, jobber_length
from fit.units import show

_HANDLE = 100.0
"""Length of a driver's handle, mm (common practice, no source)."""

_POINT = 3.0
"""Length of a step bit's point before its first step, mm (common practice, no source)."""

_CLAMPED = 20.0
"""How much of a twist bit a chuck holds, mm (common practice, no source)."""

_CHUCK_FREE = 0.5
"""Room round a chuck that turns, mm (common practice, no source)."""

_BELOW = ("slab", "leads", "standoff", "screw head", "joint screw")
"""Of a board itself, what no driver meets."""


def check_driver(look: Inspection) -> Iterator[Finding]:
    """Room for a screwdriver above the screws of a board.

    Looks at: straight above each screw head on a board, the driver's shank and then its handle,
    against what stands on the boards, the posts and ribs. Parts on walls can go in after the
    board and are not counted; the other half of the box is away.

    Hurts: the board is in, and a tall part or the standing board covers a screw.

    Formula: a cylinder 7 across and 80 long on the head, then one 30 across; free by 0.

    Source: common practice, no source.

    Example: a relay whose side lies 3 mm beside a screw's middle covers 0.5 of the shank.

    Repairs: move the part on the board; an angled or thin driver; another post.
    """
    for placed in look.scene.boards:
        heads = [
            body
            for body in look.scene.bodies
            if body.owner == placed.name and body.name == "screw head"
        ]
        found = [near for head in heads if (near := _above(look, head)) is not None]
        if not found:
            continue
        have, solid = min(found, key=lambda f: f[0])
        what = solid.body.name if solid.body.owner == placed.name else solid.label
        need = look.need("driver", 0.0)
        yield look.finding(
            "driver",
            (placed.name, what),
            have=have,
            need=need,
            spread=spread_of(look.hands.drilling, solid.doubt),
            say=f"A driver on a screw of {placed.name} passes {solid.words} {show(have)} mm off."
            if have >= 0
            else f"{capital(solid.words)} covers a screw of {placed.name}: it stands "
            f"{show(-have)} mm in "
            "the driver's way.",
            mend=f"move {what} {show(up_to_tenth(need - have), 1)} mm, or use a thin driver"
            if have < need
            else f"try a driver on {placed.name} before {what} is fixed",
        )


def _above(look: Inspection, head: Body) -> tuple[float, Solid] | None:
    """The nearest thing beside the driver above a screw head; None when all is far."""
    reach = allowance("driver-reach").mm
    tall = head.shape.height if isinstance(head.shape, Cylinder) else 0.0
    bars = (
        (allowance("driver-shank").mm / 2, tall / 2, reach),
        (allowance("driver-handle").mm / 2, tall / 2 + reach, _HANDLE),
    )
    drivers = [
        prepare(Cylinder(radius, length), head.pose.shifted((0.0, 0.0, start + length / 2)))
        for radius, start, length in bars
    ]
    near = [
        (gap_between(driver, solid.ready).mm, solid)
        for solid in things(look).inside
        if _in_the_way(look, head, solid)
        for driver in drivers
        if box_gap(driver.box, solid.ready.box) <= NEAR
    ]
    return min((n for n in near if n[0] <= NEAR), key=lambda n: n[0], default=None)


def _in_the_way(look: Inspection, head: Body, solid: Solid) -> bool:
    body = solid.body
    if body.half is not head.half or body.stuff is Stuff.SOFT:
        return False
    if body.owner == head.owner and body.name.startswith(_BELOW):
        return False
    if solid.moulded:
        return not _holds(head, body)
    part = look.scene.build.part(body.owner).part
    return isinstance(part, Board | Holder) or (isinstance(part, Display) and _carried(look, body))


def _holds(head: Body, post: Body) -> bool:
    """Whether a post is the one the screw goes into: it stands right below the head."""
    x, y, _ = head.pose.inside(post.pose.origin)
    return math.hypot(x, y) < 2.0


def _carried(look: Inspection, body: Body) -> bool:
    return any(body.owner in used.carries for used in look.scene.build.parts)


def check_step_bit(look: Inspection) -> Iterator[Finding]:
    """Room behind a wall for the nose of a step bit.

    Looks at: each hole that a step bit opens, in the empty half of the box: posts, ribs and the
    walls opposite, against the bit as far as its step comes through.

    Hurts: the bit's nose meets a post or the floor before its step has reached the wall.

    Formula: the bit reaches n·h + 3 − t behind the wall: n steps of height h up to the size, 3
    its point, t the wall's thickness; it must stay free.

    Source: plain geometry; 3 is common practice, no source.

    Example: 12 mm with a bit of 4 to 20 by 2 and 5 mm steps: 25 + 3 − 2.5 behind the wall.

    Repairs: twist bits and a file there; a step bit with lower steps; drill halfway from inside.
    """
    for opening in look.scene.openings:
        bit = _bit_for(look, opening)
        if bit is None:
            continue
        face = look.scene.faces[opening.face]
        shape, pose = _nose(bit, opening, face)
        have, label = _behind(look, face.name, shape, pose)
        if have > NEAR:
            continue
        yield look.finding(
            "step-bit",
            (opening.part, label),
            have=have,
            need=look.need("step-bit", 0.0),
            spread=look.error,
            say=f"The step bit for the {called(opening)} reaches {show(shape.height)} mm behind "
            f"{wall_words(face.name)} and stays {show(have)} mm from {label}."
            if have >= 0
            else f"The step bit for the {called(opening)} reaches {show(shape.height)} mm behind "
            f"{wall_words(face.name)} and meets {label} {show(-have)} mm too early.",
            mend=f"open the {called(opening)} with twist bits and a file"
            if have < 0
            else "go slowly as the nose comes near",
        )


def _bit_for(look: Inspection, opening: Opening) -> StepBit | None:
    """The step bit that the opening's steps ask for, or None."""
    sizes = [step.size for step in opening.steps if step.tool is Tool.STEP_BIT]
    if not sizes:
        return None
    size = max(sizes)
    bits = look.scene.build.drawer.step_bits
    fits = [b for b in bits if b.smallest - 1e-6 <= size <= b.largest + 1e-6]
    return min(fits, key=lambda b: _steps(b, size) * b.step_height, default=None)


def _steps(bit: StepBit, size: float) -> int:
    return round((size - bit.smallest) / bit.step) + 1


def _nose(bit: StepBit, opening: Opening, face: Face) -> tuple[Cone, Pose]:
    """The bit behind the wall, thin end inwards: z out of the face."""
    length = _steps(bit, opening.diameter) * bit.step_height + _POINT - face.thickness
    middle = (opening.across, opening.up, -face.thickness - length / 2)
    return Cone(bit.smallest / 2, opening.diameter / 2, length), face.frame.shifted(middle)


def _behind(look: Inspection, face: FaceName, shape: Cone, pose: Pose) -> tuple[float, str]:
    """The nearest moulded thing of the empty half to the bit, and its name."""
    half = Half.LID if face is FaceName.LID else Half.BODY
    ready = prepare(shape, pose)
    found = [
        (gap_between(ready, solid.ready).mm, solid.label)
        for solid in things(look).inside
        if solid.moulded and solid.body.half is half and box_gap(ready.box, solid.ready.box) <= NEAR
    ]
    found += [
        (room.mm, wall_label(room.face))
        for room in things(look).margins(shape, pose)
        if room.half is half and room.face is not face and not room.note
    ]
    return min(found, default=(math.inf, ""))


def check_chuck(look: Inspection) -> Iterator[Finding]:
    """Room for a hand drill's chuck over a post that must be drilled where it stands.

    Looks at: each post that takes a screw of a board and has no hole, or a smaller one than the
    screw wants. The half is empty and the other one away; walls, posts, ribs and the lip stay.

    Hurts: the chuck meets the wall before the bit is deep enough; forced, the hole leans and
    the screw splits the post.

    Formula: a bit's free length is L − 20 − h: L over all, 20 in the chuck, h the hole's depth.
    It reaches from the rim to the post's tip, or a cylinder 40 across, from the chuck's nose up
    to the rim, is free by 0.5. h is the hole's own depth, or the screw's reach + 0.5 if more.

    Source: L by DIN 338 (jobber bits), from memory; 40, 20 and 0.5 are common practice, no source.

    Example: 2.3 wide and 7 deep leaves 53 − 20 − 7 = 26; a post 30 below the rim needs its axis
    20.5 from the wall.

    Repairs: a long bit; a pin vice (10 across) turned between the fingers; a screw that suits
    the hole as it is. Drill before anything else goes in, and wear eye protection.
    """
    worst: dict[str, Finding] = {}
    for placed, screw, post, size in posts_to_open(look):
        reach = screw.length - placed.board.thickness + allowance("screw-end").mm
        deep = min(float(post.height), max(float(post.depth), reach))
        found = _drilled(look, placed.name, post, size, deep)
        if found is None:
            continue
        if placed.name not in worst or found.margin < worst[placed.name].margin:
            worst[placed.name] = found
    yield from worst.values()


def _drilled(look: Inspection, name: str, post: Post, size: float, deep: float) -> Finding | None:
    """What a post's hole asks of the drill; None where the tip stands at the rim or beyond."""
    free, depth = jobber_length(size) - _CLAMPED - deep, _below_rim(look, post)
    if depth <= 0 <= free:
        return None
    tray = look.tray
    doubts = (tray.height, tray.lid.height, tray.thickness(_base(post)), post.height, post.depth)
    spread = spread_of(*(d.plus_minus for d in doubts))
    have, need = free, max(0.0, depth)
    words = f"the {show(need)} mm from the rim to its tip"
    if have < need:
        have, words, doubt = _round_chuck(look, post, free, need)
        spread = spread_of(look.hands.drilling, post.x.plus_minus, post.y.plus_minus, doubt)
        need = look.need("chuck", _CHUCK_FREE)
        ends = (
            f"the chuck passes {words} {show(have)} mm off"
            if have >= 0
            else f"{words} stands {show(-have)} mm in the chuck's way"
        )
    else:
        ends = f"that spans {words}"
    out = show(up_to_tenth(max(0.0, depth) + deep), 1)
    return look.finding(
        "chuck",
        (name, post_name(post)),
        have=have,
        need=need,
        spread=spread,
        say=f"{capital(post_name(post))} wants a hole {show(size, 1)} mm wide and {show(deep)} mm "
        f"deep; its bit leaves {show(free)} mm free, and {ends}.",
        mend=f"take a bit that stands {out} mm out of the chuck, or a pin vice turned by hand"
        + (f", or screws that suit the {show(post.hole)} mm hole" if post.hole > 0 else ""),
    )


def _base(post: Post) -> FaceName:
    return FaceName.FLOOR if post.half is Half.BODY else FaceName.LID


def _below_rim(look: Inspection, post: Post) -> float:
    """How deep a post's tip lies in its own half, mm; below 0 where it stands out of it."""
    middle, tray = post_pose(look.tray, post).origin[2], look.tray
    if post.half is Half.BODY:
        return tray.rim - (middle + post.height / 2)
    lip = 0.0 if tray.lid.lip is None else float(tray.lid.lip.height)
    return (middle - post.height / 2) - (tray.rim - lip)


def _round_chuck(
    look: Inspection, post: Post, free: float, depth: float
) -> tuple[float, str, float]:
    """The room round the chuck when the hole is done, to what, and how uncertain that is, mm.

    The chuck's nose is then `free` out of the post's tip, and the rim `depth`.
    """
    out = post.height / 2 + (free + depth) / 2
    pose = post_pose(look.tray, post).shifted((0.0, 0.0, out if post.half is Half.BODY else -out))
    shape = Cylinder(allowance("chuck").mm / 2, depth - free)
    ready = prepare(shape, pose)
    found = [
        (gap_between(ready, solid.ready).mm, solid.words, solid.doubt)
        for solid in things(look).moulded[post.half]
    ]
    found += [
        (room.mm, wall_words(room.face), wall_doubt(look, room.face))
        for room in things(look).margins(shape, pose)
        if room.half is post.half
    ]
    return min(found)


def check_battery_out(look: Inspection) -> Iterator[Finding]:
    """Whether cells come out of their holder without taking the device apart.

    Looks at: above each holder, what the same half of the box carries; the other half is away.

    Hurts: a board must be unscrewed to change the cells.

    Formula: clear height above the holder ≥ 15 (a finger and thumb), as far as anything stands
    above it at all.

    Source: common practice, no source.

    Example: a board 10 above a holder leaves no room for a finger.

    Repairs: move the holder to the other half; move it from under the board; a holder with a
    flap outside. If the board is meant to come out, say so with needs: {battery-out: 0}.
    """
    holders = list(fitted(look, Holder))
    above = [_column(holder) for holder in holders]
    near = things(look).crowd.within([[ready.box] for ready in above], 0.0)
    for holder, ready, solids in zip(holders, above, near, strict=True):
        need = look.need("battery-out", allowance("battery-finger").mm)
        least: dict[str, tuple[float, Solid]] = {}
        for have, solid in sorted(_over(holder, ready, solids), key=lambda f: f[0]):
            least.setdefault(solid.label, (have, solid))
        # The nearest is told, and each other thing in the way: moving one leaves the rest.
        for number, (have, solid) in enumerate(least.values()):
            if have - need <= NEAR and (number == 0 or have < need):
                yield _above_cells(look, holder, solid, have, need)


def _above_cells(
    look: Inspection, holder: Fitted[Holder], solid: Solid, have: float, need: float
) -> Finding:
    return look.finding(
        "battery-out",
        (holder.name, solid.label),
        have=have,
        need=need,
        spread=solid.doubt,
        say=f"{capital(solid.words)} lies {show(have)} mm above {holder.name}; "
        f"{show(need)} is needed to take its cells out.",
        mend=f"move {holder.name} from under {solid.label}, or to the other half of the box",
    )


def taken_out(look: Inspection) -> Iterator[tuple[Fitted[Holder], Block, Pose]]:
    """The room over each holder through which fingers take its cells out."""
    need = look.need("battery-out", allowance("battery-finger").mm)
    for holder in fitted(look, Holder):
        if need > 0:
            wide, high = float(holder.part.size[0]), float(holder.part.size[1])
            pose = holder.placed.pose.shifted((0.0, 0.0, -_top(holder) - need / 2))
            yield holder, Block(wide, high, need), pose


def _top(holder: Fitted[Holder]) -> float:
    """How far a holder's top stands from the outside it is fixed to, mm."""
    return holder.face.thickness + holder.part.size[2]


def _column(holder: Fitted[Holder]) -> Prepared:
    """The room above a holder."""
    wide, high, rise = float(holder.part.size[0]), float(holder.part.size[1]), 500.0
    pose = holder.placed.pose.shifted((0.0, 0.0, -_top(holder) - rise / 2))
    return prepare(Block(wide, high, rise), pose)


def _over(
    holder: Fitted[Holder], ready: Prepared, solids: Iterable[Solid]
) -> Iterator[tuple[float, Solid]]:
    """Clear height from the holder's top to each thing above it in the same half, mm."""
    pose, top = holder.placed.pose, _top(holder)
    seat = dot(pose.origin, pose.z)
    for solid in solids:
        body = solid.body
        if body.owner == holder.name or solid.moulded or body.half is not holder.placed.half:
            continue
        if body.outside or body.stuff is Stuff.SOFT or gap_between(ready, solid.ready).mm >= 0:
            continue
        _, nearest = extent(body.shape, body.pose, pose.z)
        yield seat - nearest - top, solid


driver = rule("driver", Family.TOOLS)(check_driver)
step_bit = rule("step-bit", Family.TOOLS)(check_step_bit)
chuck = rule("chuck", Family.TOOLS)(check_chuck)
battery_out = rule("battery-out", Family.TOOLS)(check_battery_out)
