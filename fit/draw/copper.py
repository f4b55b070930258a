"""The view of a perfboard from its copper side: mirrored, with the numbers where they are there.

Strips, the places to cut them, the holes, and what stands on that side.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from fit.draw import pens
from fit.draw.boards import (
    board_marks,
    board_outline,
    hole_arms,
    hole_box,
    inner_corners,
    notch_labels,
    numbered_holes,
    zone_labels,
    zone_outline,
)
from fit.draw.drawing import Box, Circle, Item, Line, Operation, Point, Sketch, item_box
from fit.draw.flipped import flipped
from fit.draw.grid import dots, lost_lines, numbers
from fit.draw.labels import Wanted
from fit.draw.tables import Listing
from fit.draw.view import View, segments
from fit.draw.waste import CHAIN_BIT
from fit.geometry.scene import PlacedBoard
from fit.geometry.strips import StripCut, holes_along, in_notch, middle
from fit.model.part import Board
from fit.model.words import BoardStock, Side, StripRun
from fit.units import PITCH

_RING: Final = 1.0
_ARM: Final = 0.7
"""Half the cross in the ring of a strip cut, mm."""

_SAID: Final = {
    BoardStock.STRIPS: (
        "Copper strips run along the {strips}; thin lines are the gaps between them."
    ),
    BoardStock.PADS: "A copper pad of its own round each hole: nothing to cut.",
    BoardStock.GROUPS: (
        "Copper joins holes in groups: compare with the board, and cut what a screw would join."
    ),
}


def copper_view(placed: PlacedBoard, cuts: tuple[StripCut, ...], bit: float = CHAIN_BIT) -> View:
    """A perfboard seen from its copper side, mm: x runs to the left from the board's own corner.

    Args:
        placed: the board.
        cuts: where its strips are cut.
        bit: for the corner holes of its notches, mm.
    """
    board = placed.board
    across = float(board.size[0])
    outline = _flip(board_outline(board, pens.CUT), across)
    counted = _flip(tuple(numbers(board)), across)
    lost = _flip(lost_lines(board), across)
    below = [zone for zone in board.zones if zone.side is Side.UNDERSIDE]
    zones = _flip(tuple(zone_outline(zone, broken=False) for zone in below), across)
    holes = numbered_holes(placed)
    arms = _flip(tuple(arm for _, hole in holes for arm in hole_arms(hole)), across)
    crosses = tuple(item for cut in cuts for item in _cut_mark(cut, across))
    sketch = Sketch(f"{placed.name}, copper side")
    sketch.add(Operation.GUIDE, *_flip((*_gaps(board), *dots(board)), across), *zones)
    sketch.add(Operation.CUT, *outline)
    sketch.add(Operation.NOTE, *counted)
    sketch.add(Operation.MARK, *lost, *arms, *crosses)
    rings = tuple(Circle((h.x, h.y), h.diameter / 2, pens.DRILL) for _, h in holes)
    sketch.add(Operation.DRILL, *_flip((*rings, *inner_corners(board, bit)), across))
    hard = [item_box(item) for item in counted]
    hard += [_flip_box(hole_box(hole), across).grown(0.6) for _, hole in holes]
    hard += [item_box(item).grown(0.3) for item in crosses if isinstance(item, Circle)]
    return View(
        drawing=sketch.done(),
        box=Box(0.0, 0.0, across, float(board.size[1])),
        marks=board_marks(board, copper=True),
        wanted=_wanted(placed, bit),
        hard=tuple(hard),
        lines=tuple(s for item in (*outline, *zones, *lost, *arms) for s in segments(item)),
        soft=(),
        title=f"{placed.name}, seen from the COPPER SIDE",
        facts=_facts(board, cuts),
    )


def cut_list(placed: PlacedBoard, cuts: tuple[StripCut, ...]) -> Listing:
    """The strips to cut: at which columns of each row, or at which rows of each column."""
    across = placed.board.strips is StripRun.COLUMNS
    strip, hole = ("column", "rows") if across else ("row", "columns")
    holes: dict[int, list[int]] = {}
    for cut in cuts:
        number, at = (cut.column, cut.row) if across else (cut.row, cut.column)
        holes.setdefault(number, []).append(at)
    rows = tuple(
        (f"{strip} {number}", ", ".join(map(str, sorted(found))))
        for number, found in sorted(holes.items())
    )
    title = f"Strips to cut in {placed.name}"
    return Listing(title=title, heads=("strip", f"at hole {hole}"), rows=rows)


def _wanted(placed: PlacedBoard, bit: float) -> tuple[Wanted, ...]:
    """Numbers of the holes, names of notches and of what stands on this side."""
    across = float(placed.board.size[0])
    labels = [
        Wanted(lines=(str(number),), about=_flip_box(hole_box(hole), across), round=True)
        for number, hole in numbered_holes(placed)
    ]
    below = zone_labels(placed.board, Side.UNDERSIDE)
    for label in (*notch_labels(placed.board, bit), *below):
        inside = _flip_box(label.inside, across) if label.inside else None
        labels.append(
            Wanted(
                lines=label.lines,
                short=label.short,
                about=_flip_box(label.about, across),
                inside=inside,
                height=label.height,
            )
        )
    return tuple(labels)


def _facts(board: Board, cuts: tuple[StripCut, ...]) -> tuple[str, ...]:
    facts = ["Copper side: mirrored, as it lies when the board is turned over."]
    facts.append(_SAID[board.stock].format(strips=board.strips))
    if cuts:
        facts.append(
            f"Ring with a cross: cut the strip at that hole, {len(cuts)} in all, so that no screw, "
            "standoff or block joins two strips. Check with a meter."
        )
    return tuple(facts)


def _flip(items: tuple[Item, ...], across: float) -> tuple[Item, ...]:
    return tuple(flipped(item, across) for item in items)


def _flip_box(box: Box, across: float) -> Box:
    return Box(across - box.x1, box.y0, across - box.x0, box.y1)


def _cut_mark(cut: StripCut, across: float) -> Iterator[Circle | Line]:
    x, y = across - middle(cut.column), middle(cut.row)
    yield Circle((x, y), _RING, pens.DRILL)
    yield Line((x - _ARM, y - _ARM), (x + _ARM, y + _ARM), pens.DRILL)
    yield Line((x - _ARM, y + _ARM), (x + _ARM, y - _ARM), pens.DRILL)


def _gaps(board: Board) -> Iterator[Line]:
    """The gaps between strips, where both strips are there."""
    if board.stock is not BoardStock.STRIPS:
        return
    long, wide = (float(size) for size in board.size)
    across = board.strips is StripRun.COLUMNS
    if across:
        long, wide = wide, long

    def point(along: float, beside: float) -> Point:
        return (beside, along) if across else (along, beside)

    count = holes_along(long)
    for strip in range(1, holes_along(wide)):
        start: float | None = None
        for hole in range(1, count + 2):
            gone = hole > count or in_notch(board, *point(middle(hole), strip * PITCH))
            if start is None and not gone:
                start = (hole - 1) * PITCH
            elif start is not None and gone:
                end = min((hole - 1) * PITCH, long)
                yield Line(point(start, strip * PITCH), point(end, strip * PITCH), pens.GRID)
                start = None
