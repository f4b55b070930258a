"""Which boxes of a question lie side by side on one face: packings that shorten proofs."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

from fit.model.words import FaceName
from fit.solve.matter import Layer, Sort
from fit.solve.problem import Box, Gap, Item, Pack

_SORTS = (Sort.CONTROL, Sort.SPANNER, Sort.CUT, Sort.SOLID)


_Plane = tuple[Sort, FaceName | None, bool, tuple[int, int]]


def planes(
    items: Iterable[Item], gaps: Mapping[tuple[str, str], Gap], layers: Mapping[Layer, str]
) -> tuple[Pack, ...]:
    """For each face and kind of thing, the boxes of its parts that all keep off each other."""
    names = {name: layer for layer, name in layers.items()}
    groups: dict[_Plane, list[tuple[Item, str]]] = {}
    for item in items:
        driven = _driven(item)
        if item.fixed or driven is None:
            continue
        for sort in _SORTS:
            mine = _layer(item, sort, names)
            if mine is not None:
                key = (sort, names[mine].face, names[mine].outside, driven)
                groups.setdefault(key, []).append((item, mine))
    found = []
    for (*_, axes), members in groups.items():
        need = _least(members, gaps, axes)
        if len(members) > 2 and need is not None:
            boxes = tuple((item.name, layer) for item, layer in members)
            found.append(Pack(axes=axes, boxes=boxes, need=need))
    return tuple(found)


def _driven(item: Item) -> tuple[int, int] | None:
    """The two axes along which an item moves in all its ways; None if it is otherwise."""
    kinds = {
        tuple(k for k in range(3) if len(w.stops[k]) > 1) if w.stops else () for w in item.ways
    }
    axes = kinds.pop() if len(kinds) == 1 else ()
    return (axes[0], axes[1]) if len(axes) == 2 else None


def _layer(item: Item, sort: Sort, names: Mapping[str, Layer]) -> str | None:
    """The layer of an item's largest box of a sort, where all its ways have it."""
    best: tuple[int, str] | None = None
    for box in item.ways[0].boxes:
        layer = names.get(box.layer)
        if layer is None or layer.sort is not sort or layer.face is None:
            continue
        if not all(any(b.layer == box.layer for b in way.boxes) for way in item.ways):
            continue
        size = min(h - low for low, h in zip(box.low, box.high, strict=True))
        if best is None or size > best[0]:
            best = (size, box.layer)
    return None if best is None else best[1]


def _least(
    members: list[tuple[Item, str]], gaps: Mapping[tuple[str, str], Gap], axes: tuple[int, ...]
) -> int | None:
    """The least gap any two must keep; None where two may overlap in the plane."""
    third = next(k for k in range(3) if k not in axes)
    needs = []
    for (one, a), (two, b) in itertools.combinations(members, 2):
        gap = gaps.get((a, b) if a <= b else (b, a))
        if gap is None or not gap.counts:
            return None
        lows = _ends(one, a, third), _ends(two, b, third)
        apart = max(lows[1][1] - lows[0][0], lows[0][1] - lows[1][0])
        if apart >= gap.need:
            return None
        needs.append(gap.need)
    return min(needs, default=None)


def _ends(item: Item, layer: str, axis: int) -> tuple[int, int]:
    """The least high end and the greatest low end of an item's boxes of a layer."""
    boxes: list[Box] = [b for way in item.ways for b in way.boxes if b.layer == layer]
    return min(b.high[axis] for b in boxes), max(b.low[axis] for b in boxes)
