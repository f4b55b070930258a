"""Rectangles into a rectangle, a strip or the smallest box; bricks into a box.

The same calls serve boards cut from stock and the published test sets.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass

from fit.solve.cells import Filling, Moves, Piece, brick, fill
from fit.solve.engine import Answer, possible
from fit.solve.problem import Box, Item, Problem, Way
from fit.solve.run import Status, Watch

Size = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """What came of a packing.

    Attributes:
        status: found, impossible, or out of time.
        box: width and height of the rectangle asked for, or found to be the smallest.
        places: for each rectangle, in the order given: x, y, width, height as it lies.
        least: with `smallest_strip` and `smallest_box`: True when every smaller one is proved
            impossible.
    """

    status: Status
    box: Size
    places: tuple[tuple[int, int, int, int], ...] = ()
    least: bool = False


def pack(
    sizes: Sequence[Size], box: Size, *, turns: bool = False, watch: Watch | None = None
) -> Packing:
    """Put rectangles into a rectangle without overlap.

    Args:
        sizes: whole-number widths and heights, above 0.
        box: width and height of the rectangle.
        turns: whether they may be turned by quarters.
        watch: limits and stop switch.
    """
    if sum(w * h for w, h in sizes) > box[0] * box[1]:
        return Packing(status=Status.IMPOSSIBLE, box=box)
    ways = [_ways(size, box, turns) for size in sizes]
    if not all(ways):
        return Packing(status=Status.IMPOSSIBLE, box=box)
    largest = max(range(len(sizes)), key=lambda n: sizes[n][0] * sizes[n][1])
    ways[largest] = [_one_quarter(way) for way in ways[largest]]
    items = tuple(Item(name=str(n), ways=tuple(w)) for n, w in enumerate(ways))
    answer = possible(Problem(axes=2, items=items), watch)
    places = _places(answer, items) if answer.status is Status.FOUND else ()
    return Packing(status=answer.status, box=box, places=places)


def _ways(size: Size, box: Size, turns: bool) -> list[Way]:
    sides = [size] if not turns or size[0] == size[1] else [size, (size[1], size[0])]
    return [
        Way(
            boxes=(Box(low=(0, 0), high=side),),
            low=(0, 0),
            high=(box[0] - side[0], box[1] - side[1]),
        )
        for side in sides
        if side[0] <= box[0] and side[1] <= box[1]
    ]


def _one_quarter(way: Way) -> Way:
    """A packing stays one when mirrored, so one piece's middle may be kept in one quarter."""
    half = (way.high[0] // 2, way.high[1] // 2)
    return Way(boxes=way.boxes, low=way.low, high=half)


def _places(answer: Answer, items: tuple[Item, ...]) -> tuple[tuple[int, int, int, int], ...]:
    places = []
    for item in items:
        spot = answer.layout[item.name]
        width, height = item.ways[spot.way].boxes[0].high
        places.append((spot.at[0], spot.at[1], width, height))
    return tuple(places)


def smallest_strip(
    sizes: Sequence[Size], width: int, *, turns: bool = False, watch: Watch | None = None
) -> Packing:
    """The least height of a strip of given width that holds all rectangles.

    Heights are asked for from the area bound upwards, each proved impossible before the next.

    Raises:
        ValueError: when a rectangle is wider than the strip.
    """
    watch = watch or Watch()
    if any(min(s) > width if turns else s[0] > width for s in sizes):
        raise ValueError("a rectangle is wider than the strip")
    tallest = max(_least_height(s, width, turns) for s in sizes)
    height = max(tallest, -(-sum(w * h for w, h in sizes) // width))
    sure = True
    while True:
        found = pack(sizes, (width, height), turns=turns, watch=watch)
        if found.status is Status.FOUND:
            return Packing(status=found.status, box=found.box, places=found.places, least=sure)
        if not watch.left:
            return Packing(status=Status.OUT_OF_TIME, box=(width, height))
        sure = sure and found.status is Status.IMPOSSIBLE
        height += 1


def _least_height(size: Size, width: int, turns: bool) -> int:
    lying = [h for w, h in (size, size[::-1] if turns else size) if w <= width]
    return min(lying)


def smallest_box(
    sizes: Sequence[Size], *, turns: bool = False, watch: Watch | None = None
) -> Packing:
    """The rectangle of least area that holds all rectangles.

    Boxes are asked for by rising area. Of two that are mirror images (as with squares, or with
    quarter turns) only one is asked for. One inside another that is impossible is skipped.
    """
    watch = watch or Watch()
    mirror = turns or all(w == h for w, h in sizes)
    area = sum(w * h for w, h in sizes)
    widths = range(max(min(s) if mirror else s[0] for s in sizes), sum(max(s) for s in sizes) + 1)
    queue = [(w * h, w, h) for w in widths if (h := -(-area // w)) >= (w if mirror else 1)]
    queue += [(w * w, w, w) for w in widths if mirror and -(-area // w) < w]
    heapq.heapify(queue)
    sure, impossible = True, list[Size]()
    while watch.left:
        _, w, h = heapq.heappop(queue)
        heapq.heappush(queue, (w * (h + 1), w, h + 1))
        if any(w <= a and h <= b for a, b in impossible):
            continue
        found = pack(sizes, (w, h), turns=turns, watch=watch)
        if found.status is Status.FOUND:
            return Packing(status=found.status, box=(w, h), places=found.places, least=sure)
        if found.status is Status.IMPOSSIBLE:
            impossible.append((w, h))
        sure = sure and found.status is Status.IMPOSSIBLE
    return Packing(status=Status.OUT_OF_TIME, box=(0, 0))


def fill_bricks(
    box: Sequence[int],
    bricks: Sequence[tuple[Sequence[int], int]],
    *,
    turns: bool = True,
    watch: Watch | None = None,
) -> Filling:
    """Put bricks, given as (size, how many), into a box, in two or three dimensions."""
    pieces = [Piece(cells=brick(size), count=count) for size, count in bricks]
    moves = Moves.TURNS if turns else Moves.FIXED
    return fill(brick(box), pieces, moves, watch)
