"""Brackets as flat patterns and blocks as the two faces to drill, all at 1:1."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.boards import hole_arms, hole_box
from fit.draw.drawing import Box, Circle, Line, Operation, Sketch, polygon
from fit.draw.labels import Wanted
from fit.draw.pages import Cell, Unit
from fit.draw.view import View, segments
from fit.geometry.joints import JointPiece, joint_pieces
from fit.geometry.scene import DrilledHole, Scene
from fit.model.words import JointKind
from fit.trade.bending import bend_allowance, flat_length, k_factor, k_factors
from fit.trade.screws import tap_drill
from fit.trade.tables import UnknownName
from fit.units import show

INSIDE_RADIUS: Final = 1.0
"""Radius inside a bend made in a vice, in thicknesses (common practice, no source)."""

_SAME: Final = 0.05
_AIR = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """A piece laid flat: x across it from its left edge, y up from the end on the lying board.

    Attributes:
        width, length: of the strip or of a block's two faces, mm.
        folds: heights of the line to bend or fold along and, for a bracket, of the ends of the
            bend, mm.
        up, out: the holes towards the standing and the lying board.
    """

    width: float
    length: float
    folds: tuple[float, ...]
    up: DrilledHole
    out: DrilledHole

    @property
    def holes(self) -> tuple[DrilledHole, ...]:
        """Those whose middle lies on the piece: a board beside it asks for others, too."""
        return tuple(
            hole
            for hole in (self.up, self.out)
            if 0 <= hole.x <= self.width and 0 <= hole.y <= self.length
        )


def pattern(piece: JointPiece) -> Pattern:
    """Lay a block's two faces, or a bent strip, flat.

    A strip's legs are straight outside its bend, whose length is the bend allowance.

    Raises:
        ValueError: when a bracket's leg ends within its bend.
    """
    wide, tall, deep = (float(v) for v in piece.joint.size)
    drill = _drill(piece)
    t = float(piece.joint.thickness)
    bend, taken = 0.0, 0.0
    if piece.joint.kind is JointKind.STRIP:
        radius = _radius(piece)
        bend = radius + t
        taken = bend_allowance(90.0, radius, t, k_factor())
        length = flat_length(tall, deep, radius, t, k_factor())
    else:
        length = tall + deep
    low = deep - bend
    middle = low + taken / 2
    return Pattern(
        width=wide,
        length=length,
        folds=(middle,) if not taken else (middle, low, low + taken),
        up=DrilledHole(
            x=wide / 2 + piece.up[0],
            y=low + taken + piece.up[1] - bend,
            diameter=drill,
            purpose=piece.standing,
        ),
        out=DrilledHole(
            x=wide / 2 + piece.out[0],
            y=low - piece.out[1] + bend,
            diameter=drill,
            purpose=piece.lying,
        ),
    )


def _radius(piece: JointPiece) -> float:
    """Radius inside the bend, mm: as large as the shorter leg leaves it half a millimetre."""
    _, tall, deep = (float(v) for v in piece.joint.size)
    t = float(piece.joint.thickness)
    return max(0.0, min(INSIDE_RADIUS * t, min(tall, deep) - t - 0.5))


def joint_units(scene: Scene) -> tuple[Unit, ...]:
    """One unit with every block and bracket of a build, alike ones once; none without joints."""
    groups: list[list[JointPiece]] = []
    for piece in joint_pieces(scene):
        group = next((g for g in groups if _alike(g[0], piece)), None)
        if group is None:
            groups.append([piece])
        else:
            group.append(piece)
    if not groups:
        return ()
    views = [_view(group[0], len(group)) for group in groups]
    facts = dict.fromkeys(fact for view in views for fact in view.facts)
    return (
        Unit(
            name="brackets and blocks",
            title=views[0].title if len(views) == 1 else "Brackets and blocks",
            facts=tuple(facts),
            cells=tuple(Cell(view=view, window=view.box) for view in views),
        ),
    )


def _alike(one: JointPiece, other: JointPiece) -> bool:
    same = (one.joint, one.standing, one.lying) == (other.joint, other.standing, other.lying)
    places = zip((*one.up, *one.out), (*other.up, *other.out), strict=True)
    return same and all(abs(a - b) < _SAME for a, b in places)


def _thread(piece: JointPiece) -> str:
    return f"M{show(piece.joint.screw)}"


def _drill(piece: JointPiece) -> float:
    """For a thread in the piece; for a plain hole where the table has no such thread."""
    try:
        return tap_drill(_thread(piece))
    except UnknownName:
        return piece.clearance


def _made(piece: JointPiece) -> str:
    drill = _drill(piece)
    tapped = f"drill Ø{show(drill)}, tap {_thread(piece)}"
    return tapped if drill < piece.joint.screw else f"drill Ø{show(drill)}"


def _view(piece: JointPiece, count: int) -> View:
    flat = pattern(piece)
    bracket = piece.joint.kind is JointKind.STRIP
    kind = "bracket" if bracket else "block"
    sketch = Sketch(f"{kind} of {piece.standing}")
    w, high = flat.width, flat.length
    outline = polygon(((0.0, 0.0), (w, 0.0), (w, high), (0.0, high)), pens.CUT)
    sketch.add(Operation.CUT, outline)
    middle, *ends = flat.folds
    folds = [Line((-2.0, middle), (w + 2.0, middle), pens.CENTRE)]
    sketch.add(Operation.FOLD, *folds, *(Line((0.0, y), (w, y), pens.STEP) for y in ends))
    holes = flat.holes
    for hole in holes:
        ring = Circle((hole.x, hole.y), hole.diameter / 2, pens.DRILL)
        sketch.add(Operation.DRILL, ring)
        sketch.add(Operation.MARK, *hole_arms(hole))
    return View(
        drawing=sketch.done(),
        box=Box(0.0, 0.0, w, high),
        marks=(),
        wanted=tuple(_labels(piece, flat)),
        hard=tuple(hole_box(hole).grown(_AIR) for hole in holes),
        lines=(*segments(outline), *(s for fold in folds for s in segments(fold))),
        soft=(),
        title=f"{kind.capitalize()} of {piece.standing}, make {count}",
        facts=tuple(_facts(piece, flat)),
    )


def _labels(piece: JointPiece, flat: Pattern) -> Iterator[Wanted]:
    fold = flat.folds[0]
    line = "bend line" if piece.joint.kind is JointKind.STRIP else "edge"
    for hole in flat.holes:
        yield Wanted(
            lines=(
                f"to {hole.purpose}",
                _made(piece),
                f"{show(abs(hole.y - fold), 1)} from the {line}",
            ),
            short=(hole.purpose,),
            about=hole_box(hole),
            round=True,
        )
    say = "bend here" if piece.joint.kind is JointKind.STRIP else "edge of the block: fold here"
    box = Box(0.0, fold - 0.1, flat.width, fold + 0.1)
    yield Wanted(lines=(say,), about=box, height=pens.SMALL)


def _facts(piece: JointPiece, flat: Pattern) -> Iterator[str]:
    for hole in (flat.up, flat.out):
        if hole not in flat.holes:
            yield f"The hole to {hole.purpose} would lie beside this piece; it is not drawn."
    wide, tall, deep = (float(v) for v in piece.joint.size)
    if piece.joint.kind is JointKind.BLOCK:
        yield (
            f"Block {show(wide)} × {show(tall)} × {show(deep)}: the two faces that meet the "
            "boards, side by side. Fold the paper over the block's edge."
        )
        return
    t, r = float(piece.joint.thickness), _radius(piece)
    yield (
        f"Strip {show(wide)} × {show(t)}, {show(flat.length, 1)} long, makes legs of {show(tall)} "
        f"and {show(deep)} outside. Drill before bending; file the edges, they are sharp."
    )
    low, high = (f(k_factors().values()) for f in (min, max))
    stray = bend_allowance(90.0, r, t, high) - bend_allowance(90.0, r, t, low)
    yield (
        f"The bend takes angle × (r + K·t): r {show(r)} inside, K "
        f"{k_factor():.2f} (Machinery's Handbook: {low:.2f} soft to {high:.2f} hard, "
        f"{show(stray / 2, 2)} mm either way)."
    )
    reach = max(hole.diameter / 2 for hole in (flat.up, flat.out))
    ends = flat.folds[1:]
    if any(min(ends) - reach < hole.y < max(ends) + reach for hole in (flat.up, flat.out)):
        yield "A hole reaches into the bend: drill that one after bending."
