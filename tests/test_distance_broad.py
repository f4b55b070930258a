"""Near pairs of boxes against every pair compared with every other."""

from __future__ import annotations

import math
import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.geometry.broad import near_pairs
from fit.geometry.support import Bounds

SPARE = 1e-9


def box_of(rng: random.Random, spread: float, largest: float) -> Bounds:
    middle = [rng.uniform(-spread, spread) for _ in range(3)]
    half = [rng.uniform(0, largest) for _ in range(3)]
    low, high = zip(*((m - h, m + h) for m, h in zip(middle, half, strict=True)), strict=True)
    return low, high


def apart(a: Bounds, b: Bounds) -> float:
    """Distance of two boxes from their spans on each axis."""
    spans = [max(a[0][k], b[0][k]) - min(a[1][k], b[1][k]) for k in range(3)]
    return math.sqrt(sum(max(s, 0.0) ** 2 for s in spans))


def every_pair(boxes: list[Bounds], reach: float) -> list[tuple[int, int]]:
    return [
        (i, j)
        for i in range(len(boxes))
        for j in range(i + 1, len(boxes))
        if apart(boxes[i], boxes[j]) <= reach
    ]


@pytest.mark.parametrize("seed", range(60))
def test_same_pairs_as_comparing_all(seed: int) -> None:
    rng = random.Random(seed)
    boxes = [box_of(rng, rng.choice((5, 60)), 8) for _ in range(rng.randint(0, 90))]
    reach = rng.choice((0.0, 0.5, 3.0, 40.0))
    assert near_pairs(boxes, reach) == every_pair(boxes, reach)


whole = st.integers(-4, 4)
corners = st.tuples(whole, whole, whole)
grid_boxes = st.builds(
    lambda p, q: (
        tuple(float(min(a, b)) for a, b in zip(p, q, strict=True)),
        tuple(float(max(a, b)) for a, b in zip(p, q, strict=True)),
    ),
    corners,
    corners,
)


@given(st.lists(grid_boxes, max_size=12), st.integers(0, 4))
def test_boxes_on_a_grid_that_touch_coincide_or_are_flat(boxes: list[Bounds], reach: int) -> None:
    """Whole numbers, so that exactly touching and exactly ``reach`` apart come up all the time."""
    assert near_pairs(boxes, float(reach)) == every_pair(boxes, reach + SPARE / 2)


def test_two_hundred_bodies_in_a_row_give_only_neighbours() -> None:
    row = [((3.0 * i, 0.0, 0.0), (3.0 * i + 2.0, 2.0, 2.0)) for i in range(200)]
    assert near_pairs(row, 1.0) == list(pairwise(range(200)))
    assert near_pairs(row, 0.99) == []


@pytest.mark.parametrize("reach", [-1.0, math.nan])
def test_a_reach_below_nothing_is_refused(reach: float) -> None:
    with pytest.raises(ValueError, match="0 mm or more"):
        near_pairs([((0, 0, 0), (1, 1, 1))], reach)
