"""Boards: what is known of one while the scene is put together, and its solids at the end."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from fit.geometry.frames import Pose
from fit.geometry.piece import Piece
from fit.geometry.rects import Rect, minus
from fit.geometry.scene import Body, BodyId, DrilledHole, Opening, PlacedBoard
from fit.geometry.shapes import Block, Cylinder
from fit.model.build import Used
from fit.model.part import Board
from fit.model.words import BoardStock, FaceName, Half, Side, Stuff
from fit.units import PITCH

SCREW_FREE = 7.0
"""Least diameter kept free of leads round a screw, mm (common practice, no source)."""

SUPPORT_FREE = 1.5
"""Free ring round a post or standoff under a board, mm (common practice, no source)."""


@dataclass(slots=True, kw_only=True)
class BoardPlan:
    """A board while the scene grows: joints and supports add holes and keep-outs.

    Attributes:
        used, board: the board and how it is used.
        pose: origin lower left on the component surface, z out of the component side.
        half: the half it stays with.
        face: the face it is carried by, None for a standing board.
        holes: to make, beyond those the board has.
        clear_under: rectangles of the underside kept free of leads.
        supports: bodies it rests on.
        bodies, openings: what comes with it (standoffs, screw heads, blocks).
        touching: purposeful contacts.
    """

    used: Used
    board: Board
    pose: Pose
    half: Half
    face: FaceName | None
    holes: list[DrilledHole] = field(default_factory=list)
    clear_under: list[Rect] = field(default_factory=list)
    supports: list[BodyId] = field(default_factory=list)
    bodies: list[Body] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    touching: list[tuple[BodyId, BodyId]] = field(default_factory=list)

    @property
    def name(self) -> str:
        """The person's name for it."""
        return self.used.name

    @property
    def on_grid(self) -> bool:
        """Whether it is perfboard."""
        return self.board.stock is not BoardStock.PLAIN

    def block(
        self,
        name: str,
        rect: Rect,
        low: float,
        high: float,
        stuff: Stuff = Stuff.HARD,
        seat: FaceName | None = None,
    ) -> Body:
        """A block over a rectangle of the board from z = low to high, mm."""
        middle = ((rect.x0 + rect.x1) / 2, (rect.y0 + rect.y1) / 2, (low + high) / 2)
        shape = Block(rect.x1 - rect.x0, rect.y1 - rect.y0, high - low)
        return self._body(name, shape, middle, stuff, seat)

    def bar(
        self,
        name: str,
        at: tuple[float, float],
        diameter: float,
        low: float,
        high: float,
        seat: FaceName | None = None,
        *,
        stuff: Stuff = Stuff.METAL,
        outside: bool = False,
    ) -> Body:
        """A round bar at a point of the board from z = low to high, mm."""
        shape = Cylinder(diameter / 2, high - low)
        return self._body(name, shape, (*at, (low + high) / 2), stuff, seat, outside)

    def _body(
        self,
        name: str,
        shape: Block | Cylinder,
        at: tuple[float, float, float],
        stuff: Stuff,
        seat: FaceName | None,
        outside: bool = False,
    ) -> Body:
        return Body(
            owner=self.name,
            name=name,
            shape=shape,
            pose=self.pose.shifted(at),
            half=self.half,
            stuff=stuff,
            seat=seat,
            outside=outside,
        )

    def add_hole(self, x: float, y: float, diameter: float, purpose: str, clear: float) -> None:
        """A hole to make, with a square of side `clear` under it kept free of leads, mm."""
        self.holes.append(DrilledHole(x=x, y=y, diameter=diameter, purpose=purpose))
        self.clear_under.append(Rect.around(x, y, max(SCREW_FREE, clear)))


def nearest_hole(value: float) -> float:
    """The hole column (or row) nearest to a distance from the board's edge, mm."""
    return (max(1, round(value / PITCH + 0.5)) - 0.5) * PITCH


def column(value: float) -> float:
    """A distance from the board's edge as a hole number: 1 is the first hole; may be broken."""
    return value / PITCH + 0.5


def finish(plan: BoardPlan) -> tuple[PlacedBoard, Piece]:
    """The finished board and its solids: slab, parts' zones, leads, and what came with it.

    Leads are taken to stick out everywhere below except in the keep-outs: safe side.
    """
    bodies = tuple(_solids(plan))
    placed = PlacedBoard(
        name=plan.name,
        board=plan.board,
        pose=plan.pose,
        half=plan.half,
        holes=tuple(plan.holes),
        supports=tuple(plan.supports),
        clear_under=tuple(plan.clear_under),
    )
    return placed, Piece(
        bodies=(*bodies, *plan.bodies),
        openings=tuple(plan.openings),
        touching=tuple(plan.touching),
    )


def _solids(plan: BoardPlan) -> Iterator[Body]:
    board = plan.board
    whole = Rect(0.0, 0.0, float(board.size[0]), float(board.size[1]))
    notches = [
        Rect(float(n.x), float(n.y), float(n.x + n.width), float(n.y + n.depth))
        for n in board.notches
    ]
    under = -float(board.thickness)
    for rect in minus(whole, notches):
        yield plan.block("slab", rect, under, 0.0)
    if board.underside > 0:
        for rect in minus(whole, [*notches, *plan.clear_under]):
            yield plan.block("leads", rect, under - board.underside, under, Stuff.METAL)
    for zone in board.zones:
        rect = Rect(
            float(zone.x), float(zone.y), float(zone.x + zone.width), float(zone.y + zone.depth)
        )
        high, low = float(zone.height), 0.0
        if zone.side is Side.UNDERSIDE:
            high, low = under, under - zone.height
        yield plan.block(zone.name, rect, low, high, zone.stuff)


def best_shift(values: list[float]) -> float:
    """The shift that brings values nearest to hole positions, mm, in [−pitch/2, pitch/2].

    Hole positions are (i − ½)·pitch. Minimises the largest distance left: on a circle of one
    pitch the best centre lies opposite the widest empty arc.
    """
    rest = sorted((v - PITCH / 2) % PITCH for v in values)
    arcs = [((rest[(i + 1) % len(rest)] - rest[i]) % PITCH or PITCH, i) for i in range(len(rest))]
    widest, i = max(arcs)
    middle = rest[i] + widest + (PITCH - widest) / 2
    shift = -(middle % PITCH)
    return shift + PITCH if shift < -PITCH / 2 else shift


def ceil_tenth(value: float) -> float:
    """Round up to a tenth of a millimetre."""
    return math.ceil(value * 10 - 1e-9) / 10
