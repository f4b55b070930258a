"""Boards that stand at a right angle on a lying board, and the joints that hold them."""

from __future__ import annotations

from dataclasses import dataclass

from fit.geometry.boards import BoardPlan, ceil_tenth, nearest_hole
from fit.geometry.frames import Pose, Vec, add, cross, dot, scale, sub
from fit.geometry.rects import Rect
from fit.model.build import How, Used
from fit.model.part import Board, Display, Joint
from fit.model.words import BoardStock, JointKind
from fit.trade.screws import HeadForm, head
from fit.units import PITCH

_HALF = PITCH / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """Where a standing board has to bring its display.

    Attributes:
        point: centre of the display's viewing surface, box frame, mm.
        out: level direction out of the window's face.
        display: the display.
    """

    point: Vec
    out: Vec
    display: Display

    @property
    def depth(self) -> float:
        """From the viewing surface to the board it is soldered to, mm.

        A module with parts on its back rests on these (or on pins as long as they are high).
        """
        return float(self.display.thickness + self.display.rear)


def level_out(normal: Vec) -> Vec:
    """The level part of a face's outward direction, length 1."""
    size = (normal[0] ** 2 + normal[1] ** 2) ** 0.5
    return (normal[0] / size, normal[1] / size, 0.0)


def stand(used: Used, board: Board, main: BoardPlan, aim: Aim) -> BoardPlan:
    """Stand a board upright on a lying one, its component side towards the aim's face.

    Its foot rests on the lying board's component side. Perfboard is lifted by less than half a
    pitch, so that the display sits on the grid at the window's height, and set sideways so that
    both boards' columns stand in line.
    """
    up = main.pose.z
    across = cross(up, aim.out)
    face = sub(aim.point, scale(aim.out, aim.depth))
    foot = dot(main.pose.origin, up)
    rise = dot(aim.point, up) - foot
    lift = rise % _HALF if board.stock is not BoardStock.PLAIN else 0.0
    left = _left(used, board, main, aim, across)
    origin = add(
        add(scale(across, left), scale(up, foot + lift)), scale(aim.out, dot(face, aim.out))
    )
    pose = Pose(origin, across, up, aim.out)
    return BoardPlan(used=used, board=board, pose=pose, half=main.half, face=None)


def _left(used: Used, board: Board, main: BoardPlan, aim: Aim, across: Vec) -> float:
    """Where the standing board's left edge is along `across`, mm."""
    width = float(board.size[0])
    centre = dot(aim.point, across)
    if used.at is not None and used.at.across is not None:
        given = used.at.across
        middle = dot(main.pose.point((main.board.size[0] / 2, 0.0, 0.0)), across)
        if given.how is How.AT:
            return middle + given.value - width / 2
        centre = middle if given.how is How.CENTRE else centre
    left = centre - width / 2
    if not main.on_grid:
        return left
    # Columns in line: a whole number of pitches from the lying board's own left edge.
    corners = [main.pose.point((x, 0.0, 0.0)) for x in (0.0, float(main.board.size[0]))]
    edge = min(dot(c, across) for c in corners)
    return edge + round((left - edge) / PITCH) * PITCH


def display_pose(plan: BoardPlan, aim: Aim, turn: float) -> Pose:
    """The frame of a display soldered to a standing board: active centre, viewing surface.

    On perfboard its centre is brought to the nearest half pitch; what that leaves between it
    and the window's centre is found by the window's rule.
    """
    x, y, _ = plan.pose.inside(aim.point)
    if plan.on_grid:
        x, y = round(x / _HALF) * _HALF, round(y / _HALF) * _HALF
    at = plan.pose.point((x, y, aim.depth))
    # The board's y may point down the box; the display reads upright in use.
    upright = Pose(at, cross((0.0, 0.0, 1.0), aim.out), (0.0, 0.0, 1.0), aim.out)
    return upright.turned(turn)


def add_joint(plan: BoardPlan, main: BoardPlan, joint: Joint) -> None:
    """Put the blocks or bent strips of a joint behind a standing board.

    Each gets a screw hole in either board; perfboard holes are opened up where columns meet.
    """
    wide, tall, deep = (float(v) for v in joint.size)
    name = "block" if joint.kind is JointKind.BLOCK else "strip"
    thick = -float(plan.board.thickness)
    # How far the lying board's component surface lies below the standing board's foot.
    foot = dot(sub(main.pose.origin, plan.pose.origin), plan.pose.y)
    screw = _head_of(joint)
    hole = ceil_tenth(joint.screw + 0.4)
    for x in _stations(plan, joint):
        x0, x1 = x - wide / 2, x + wide / 2
        if joint.kind is JointKind.BLOCK:
            plan.bodies.append(
                plan.block(name, Rect(x0, foot, x1, foot + tall), thick - deep, thick)
            )
        else:
            t = float(joint.thickness)
            plan.bodies += [
                plan.block(name, Rect(x0, foot, x1, foot + tall), thick - t, thick),
                plan.block(name, Rect(x0, foot, x1, foot + t), thick - deep, thick - t),
            ]
        plan.clear_under.append(Rect(x0, foot - 1.0, x1, foot + tall))
        y = foot + tall / 2
        y = nearest_hole(y) if plan.on_grid else y
        plan.add_hole(x, y, hole, name, 0.0)
        plan.bodies.append(plan.bar("joint screw", (x, y), screw[0], 0.0, screw[1]))
        _through_main(plan, main, (x, foot, thick - deep / 2), hole, screw, name)
    plan.touching.append(((plan.name, name), (main.name, "slab")))
    plan.touching.append(((plan.name, "slab"), (main.name, "slab")))
    plan.supports.append((main.name, "slab"))


def _through_main(
    plan: BoardPlan,
    main: BoardPlan,
    at: Vec,
    hole: float,
    screw: tuple[float, float],
    name: str,
) -> None:
    u, v, _ = main.pose.inside(plan.pose.point(at))
    if main.on_grid:
        u, v = nearest_hole(u), nearest_hole(v)
    main.add_hole(u, v, hole, f"{name} of {plan.name}", 0.0)
    low = -float(main.board.thickness)
    main.bodies.append(main.bar("joint screw", (u, v), screw[0], low - screw[1], low))


def _head_of(joint: Joint) -> tuple[float, float]:
    """Diameter and height of a pan head for the joint's screws, mm."""
    size = head(f"M{float(joint.screw):g}", HeadForm.PAN_CROSS)
    return size.diameter, size.height


def _stations(plan: BoardPlan, joint: Joint) -> list[float]:
    """Where along the standing board the joint's pieces sit, mm from its left edge."""
    width = float(plan.board.size[0])
    if joint.count == 1:
        spots = [width / 2]
    else:
        step = (width - 2 * joint.inset) / (joint.count - 1)
        spots = [joint.inset + i * step for i in range(joint.count)]
    return [nearest_hole(s) for s in spots] if plan.on_grid else spots
