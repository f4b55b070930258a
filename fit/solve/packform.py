"""Flat questions measured along the axes, as packing: far stronger than box against box.

Every box of a layer is grown by the least gap of that layer towards +x and +y; boxes keep that
gap exactly when the grown boxes do not overlap. What one item's boxes cover is cut into
rectangles that do not overlap each other, and so is what all fixed items cover together.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fit.solve.covers import Rect, disjoint
from fit.solve.problem import Box, Metric
from fit.solve.program import Program, Thing
from fit.solve.separations import bounds

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from fit.solve.program import Expr


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A rectangle in the packing: its two intervals and its sizes."""

    across: cp_model.IntervalVar
    up: cp_model.IntervalVar
    width: Expr
    height: Expr


_WORTH = 3
"""So many boxes in a plane are worth a packing."""


def pack(program: Program) -> dict[str, int]:
    """Add a packing for each layer that has one.

    Returns:
        For each packed layer the gap, steps, that is now kept between all its boxes.
    """
    problem = program.problem
    if problem.axes != 2 or problem.metric is not Metric.AXIS:
        return {}
    kept = {}
    for layer in sorted({a for a, b in problem.gaps if a == b}):
        gaps = [problem.gaps[layer, layer], *problem.pairs.values()]
        grow = min(program.need(gap) for gap in gaps)
        if grow < 0 or not _all_solid(program, layer):
            continue
        rects = _fixed(program, layer, grow)
        for thing in program.things.values():
            if not thing.fixed:
                rects += _moving(program, thing, layer, grow)
        if rects:
            _no_overlap(program, rects, _room(program, layer, grow))
        kept[layer] = grow
    return kept


def pack_planes(program: Program) -> None:
    """Add a packing for each plane of boxes that the question names."""
    for plane in program.problem.packs:
        things = [(program.things[n], layer) for n, layer in plane.boxes if n in program.things]
        if len(things) < _WORTH:
            continue
        grow = plane.need + program.least(*(thing.item for thing, _ in things))
        rects = [_in_plane(program, thing, layer, (plane.axes, grow)) for thing, layer in things]
        ends = [_span(thing, layer, (plane.axes, grow)) for thing, layer in things]
        room = [max(e[k][1] for e in ends) - min(e[k][0] for e in ends) for k in (0, 1)]
        _no_overlap(program, rects, (room[0], room[1]))


def _in_plane(
    program: Program, thing: Thing, layer: str, how: tuple[tuple[int, int], int]
) -> Packed:
    (one, two), grow = how
    boxes = [_largest(way.boxes, layer) for way in thing.item.ways]
    sides = []
    for axis in (one, two):
        lows = [box.low[axis] for box in boxes]
        sizes = [box.high[axis] - box.low[axis] + grow for box in boxes]
        sides.append(_side(program, thing, axis, lows, sizes))
    (across, width), (up, height) = sides
    return Packed(across=across, up=up, width=width, height=height)


def _span(
    thing: Thing, layer: str, how: tuple[tuple[int, int], int]
) -> tuple[tuple[int, int], ...]:
    axes, grow = how
    boxes = [(way, _largest(way.boxes, layer)) for way in thing.item.ways]
    return tuple(
        (
            min(way.low[axis] + box.low[axis] for way, box in boxes),
            max(way.high[axis] + box.high[axis] + grow for way, box in boxes),
        )
        for axis in axes
    )


def _largest(boxes: Iterable[Box], layer: str) -> Box:
    """Of the boxes that hold one round thing the squarest: it packs the worst."""
    mine = [box for box in boxes if box.layer == layer]
    return max(mine, key=lambda b: min(h - low for low, h in zip(b.low, b.high, strict=True)))


def _all_solid(program: Program, layer: str) -> bool:
    """The packing rules are about areas: a box that is a line or a point needs its own."""
    boxes = (b for t in program.things.values() for w in t.item.ways for b in w.boxes)
    return all(
        a < b for box in boxes if box.layer == layer for a, b in zip(*bounds(box), strict=True)
    )


def _grown(boxes: Iterable[Box], layer: str, grow: int, at: tuple[int, ...] = (0, 0)) -> list[Rect]:
    rects = []
    for box in boxes:
        if box.layer == layer:
            (x0, y0), (x1, y1) = bounds(box)
            rects.append((at[0] + x0, at[1] + y0, at[0] + x1 + grow, at[1] + y1 + grow))
    return disjoint(rects)


def _fixed(program: Program, layer: str, grow: int) -> list[Packed]:
    rects: list[Rect] = []
    for thing in program.things.values():
        if thing.fixed:
            rects += _grown(thing.item.ways[0].boxes, layer, grow, thing.low)
    model = program.model
    return [
        Packed(
            across=model.new_fixed_size_interval_var(x0, x1 - x0, ""),
            up=model.new_fixed_size_interval_var(y0, y1 - y0, ""),
            width=x1 - x0,
            height=y1 - y0,
        )
        for x0, y0, x1, y1 in disjoint(rects)
    ]


def _moving(program: Program, thing: Thing, layer: str, grow: int) -> list[Packed]:
    covers = [_grown(way.boxes, layer, grow) for way in thing.item.ways]
    if all(len(cover) == 1 for cover in covers):
        return [_one(program, thing, [cover[0] for cover in covers])]
    model = program.model
    packed = []
    for choice, cover in zip(thing.ways, covers, strict=True):
        for x0, y0, x1, y1 in cover:
            packed.append(
                Packed(
                    across=model.new_optional_fixed_size_interval_var(
                        thing.at[0] + x0, x1 - x0, choice, ""
                    ),
                    up=model.new_optional_fixed_size_interval_var(
                        thing.at[1] + y0, y1 - y0, choice, ""
                    ),
                    width=x1 - x0,
                    height=y1 - y0,
                )
            )
    return packed


def _one(program: Program, thing: Thing, rects: list[Rect]) -> Packed:
    """One rectangle in every way: one interval whose size follows the way taken."""
    sides = []
    for axis in (0, 1):
        lows = [r[axis] for r in rects]
        sizes = [r[axis + 2] - r[axis] for r in rects]
        sides.append(_side(program, thing, axis, lows, sizes))
    (across, width), (up, height) = sides
    return Packed(across=across, up=up, width=width, height=height)


def _side(
    program: Program, thing: Thing, axis: int, lows: list[int], sizes: list[int]
) -> tuple[cp_model.IntervalVar, Expr]:
    model = program.model
    at = thing.at[axis]
    if len(set(lows)) == len(set(sizes)) == 1:
        return model.new_fixed_size_interval_var(at + lows[0], sizes[0], ""), sizes[0]
    least = min(a + low for a, low in zip(_lows(thing, axis), lows, strict=True))
    most = max(b + low + s for b, low, s in zip(_highs(thing, axis), lows, sizes, strict=True))
    start, end = (model.new_int_var(least, most, "") for _ in range(2))
    size = model.new_int_var(min(sizes), max(sizes), "")
    model.add(start == at + sum(low * w for low, w in zip(lows, thing.ways, strict=True)))
    model.add(size == sum(s * w for s, w in zip(sizes, thing.ways, strict=True)))
    return model.new_interval_var(start, size, end, ""), size


def _lows(thing: Thing, axis: int) -> list[int]:
    return [way.low[axis] for way in thing.item.ways]


def _highs(thing: Thing, axis: int) -> list[int]:
    return [way.high[axis] for way in thing.item.ways]


def _room(program: Program, layer: str, grow: int) -> tuple[int, int]:
    """Width and height of the rectangle that holds every grown box of the layer."""
    ends: list[Rect] = []
    for thing in program.things.values():
        for way in thing.item.ways:
            for x0, y0, x1, y1 in _grown(way.boxes, layer, grow):
                low, high = way.low, way.high
                ends.append((low[0] + x0, low[1] + y0, high[0] + x1, high[1] + y1))
    if not ends:
        return 0, 0
    return (
        max(e[2] for e in ends) - min(e[0] for e in ends),
        max(e[3] for e in ends) - min(e[1] for e in ends),
    )


def _no_overlap(program: Program, rects: list[Packed], room: tuple[int, int]) -> None:
    """The packing, and the two cumulative rules it implies (they make proofs short)."""
    model = program.model
    across, up = [r.across for r in rects], [r.up for r in rects]
    model.add_no_overlap_2d(across, up)
    model.add_cumulative(across, [r.height for r in rects], room[1])
    model.add_cumulative(up, [r.width for r in rects], room[0])
