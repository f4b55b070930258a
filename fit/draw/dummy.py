"""The paper dummy: boards, what stands on them, the joint, as card to cut and fold at 1:1.

It is tried in the real box before anything is cut: what does not go in as card will not go in.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from fit.draw import pens
from fit.draw.boards import board_outline, hole_box, holes_on, zone_labels, zone_outline
from fit.draw.drawing import Box, Circle, Operation, Sketch, around, polygon
from fit.draw.labels import Wanted
from fit.draw.nets import angle_net, box_net
from fit.draw.pages import Cell, Unit
from fit.draw.tables import Block
from fit.draw.view import View, segments
from fit.geometry.joints import joint_pieces
from fit.geometry.scene import Body, PlacedBoard, Scene
from fit.geometry.shapes import Block as Brick
from fit.geometry.shapes import Cone, Cylinder, Prism
from fit.model.part import Holder
from fit.model.words import JointKind, Side
from fit.units import show

FOOT: Final = 8.0
"""Height of either leg of the angle that holds a standing board, mm."""

_LEAST: Final = 0.5
"""Lower things are left flat, mm."""

_CARD: Final = (
    "Print on card, or stick it on card. Cut the thick lines, score and fold the thin ones, glue "
    "the tabs.",
    "Try it in the real box before anything is cut.",
)


def dummy_units(scene: Scene) -> tuple[Unit, ...]:
    """One unit for each board with the nets of what stands on it, one for what stands alone."""
    units = [_board_unit(scene, placed) for placed in scene.boards]
    loose = tuple(
        (box_net(used.name, *(float(v) for v in used.part.size)),)
        for used in scene.build.parts
        if isinstance(used.part, Holder)
    )
    if loose:
        units.append(
            Unit(name="holders", title="Paper dummy: holders", general=_CARD, plates=loose)
        )
    return tuple(units)


def _board_unit(scene: Scene, placed: PlacedBoard) -> Unit:
    view = _board_view(scene, placed)
    return Unit(
        name=f"dummy {placed.name}",
        title=view.title,
        general=view.general,
        facts=view.facts,
        cells=(Cell(view=view, window=view.box),),
        plates=tuple((net,) for net in _nets(scene, placed)),
    )


def _nets(scene: Scene, placed: PlacedBoard) -> Iterator[Block]:
    """Zones, displays on the board, its blocks and the angle that holds it upright."""
    for zone in placed.board.zones:
        if zone.height >= _LEAST:
            below = ", underside" if zone.side is Side.UNDERSIDE else ""
            yield box_net(
                f"{zone.name}{below}", float(zone.width), float(zone.depth), float(zone.height)
            )
    for name, box, high in _carried(scene, placed):
        if high >= _LEAST:
            yield box_net(name, _tenth(box.width), _tenth(box.height), _tenth(high))
    pieces = [piece for piece in joint_pieces(scene) if piece.standing == placed.name]
    for piece in pieces:
        if piece.joint.kind is JointKind.BLOCK:
            wide, tall, deep = (float(v) for v in piece.joint.size)
            yield box_net(f"block of {placed.name}", wide, tall, deep)
    if pieces:
        lying = next(board for board in scene.boards if board.name == pieces[0].lying)
        lift = -placed.pose.inside(lying.pose.origin)[1]
        high = max(FOOT, lift + FOOT / 2)
        yield angle_net(placed.name, float(placed.board.size[0]), high, lift)


def _tenth(value: float) -> float:
    return round(value, 1)


def _board_view(scene: Scene, placed: PlacedBoard) -> View:
    """A board as card: outline, holes to pierce, the places of what is glued on."""
    board = placed.board
    sketch = Sketch(f"dummy of {placed.name}")
    outline = board_outline(board, pens.CUT)
    sketch.add(Operation.CUT, *outline)
    zones = [zone_outline(zone, broken=zone.side is Side.UNDERSIDE) for zone in board.zones]
    sketch.add(Operation.GUIDE, *zones)
    labels = list(zone_labels(board))
    places = [(name, box) for name, box, _ in _carried(scene, placed)]
    places += _feet(scene, placed)
    for name, box in places:
        path = polygon(_corners(box), pens.ZONE)
        zones.append(path)
        sketch.add(Operation.GUIDE, path)
        labels.append(Wanted(lines=(name,), about=box, inside=box.grown(-0.8), height=pens.SMALL))
    holes = [Circle((h.x, h.y), h.diameter / 2, pens.DRILL) for h in holes_on(placed)]
    sketch.add(Operation.DRILL, *holes)
    return View(
        drawing=sketch.done(),
        box=Box(0.0, 0.0, float(board.size[0]), float(board.size[1])),
        marks=(),
        wanted=tuple(labels),
        hard=tuple(hole_box(h).grown(0.5) for h in holes_on(placed)),
        lines=tuple(s for item in (*outline, *zones) for s in segments(item)),
        soft=(),
        title=f"Paper dummy: {placed.name}",
        facts=tuple(_facts(scene, placed)),
        general=_CARD,
    )


def _facts(scene: Scene, placed: PlacedBoard) -> Iterator[str]:
    yield f"{placed.name} is {show(placed.board.thickness)} thick: add card until it is."
    used = scene.build.part(placed.name)
    heights = sorted({_length(b) for b in scene.bodies if b.owner == placed.name
                      and b.name.startswith("standoff")})  # fmt: skip
    if heights and used.joined_to is None:
        yield f"It stands on spacers {', '.join(show(h, 1) for h in heights)} high."


def _length(body: Body) -> float:
    return body.shape.height if isinstance(body.shape, Cylinder) else 0.0


def _corners(box: Box) -> tuple[tuple[float, float], ...]:
    return ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))


def _carried(scene: Scene, placed: PlacedBoard) -> Iterator[tuple[str, Box, float]]:
    """Displays soldered to a board: name, place on it, height above its surface, mm."""
    for name in scene.build.part(placed.name).carries:
        points = [
            placed.pose.inside(body.pose.point(p))
            for body in scene.bodies
            if body.owner == name
            for p in _reach(body)
        ]
        above = [p for p in points if p[2] > 0]
        if above:
            yield name, around([(p[0], p[1]) for p in above]), max(p[2] for p in above)


def _reach(body: Body) -> Iterator[tuple[float, float, float]]:
    """The corners of the block round a body, in its own frame."""
    shape = body.shape
    if isinstance(shape, Brick):
        x, y, z = shape.dx / 2, shape.dy / 2, shape.dz / 2
    elif isinstance(shape, Prism):
        x = max(abs(p[0]) for p in shape.outline)
        y = max(abs(p[1]) for p in shape.outline)
        z = shape.height / 2
    else:
        wide = max(shape.radius_low, shape.radius_high) if isinstance(shape, Cone) else shape.radius
        x, y, z = wide, wide, shape.height / 2
    for sx in (-1, 1):
        for sy in (-1, 1):
            for sz in (-1, 1):
                yield sx * x, sy * y, sz * z


def _feet(scene: Scene, placed: PlacedBoard) -> list[tuple[str, Box]]:
    """Where boards stand on this one."""
    found = []
    for other in scene.boards:
        if scene.build.part(other.name).joined_to != placed.name:
            continue
        w, t = float(other.board.size[0]), float(other.board.thickness)
        corners = [
            placed.pose.inside(other.pose.point((x, 0.0, z))) for x in (0.0, w) for z in (-t, 0.0)
        ]
        found.append((f"{other.name} stands here", around([(p[0], p[1]) for p in corners])))
    return found
