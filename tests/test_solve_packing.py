"""Published packings: known answers found, and nothing smaller left over.

Limits are generous and no time is asserted: the solver's times vary wildly with chance.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from fit.solve.cells import Moves, Piece, fill
from fit.solve.packing import Packing, fill_bricks, pack, smallest_box, smallest_strip
from fit.solve.run import Effort, Status, Watch

DATA = Path(__file__).parent / "data" / "packing"


def _cases(name: str, key: str = "instances") -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads((DATA / f"{name}.json").read_text())[key]
    return cases


def _named(case: dict[str, Any]) -> str:
    return str(case.get("name", case.get("n")))


def _patient() -> Watch:
    return Watch(effort=Effort(seconds=600, work=300))


def _sizes(case: dict[str, Any]) -> list[tuple[int, int]]:
    return [(w, h) for w, h in case["items"]]


def _right(sizes: Sequence[tuple[int, int]], packing: Packing, turns: bool) -> None:
    """The places are a packing: right sizes, inside, no overlap."""
    for (w, h), (_, _, pw, ph) in zip(sizes, packing.places, strict=True):
        assert (w, h) == (pw, ph) or (turns and (h, w) == (pw, ph))
    for x, y, w, h in packing.places:
        assert 0 <= x <= packing.box[0] - w
        assert 0 <= y <= packing.box[1] - h
    for a, b in itertools.combinations(packing.places, 2):
        apart_x = a[0] + a[2] <= b[0] or b[0] + b[2] <= a[0]
        apart_y = a[1] + a[3] <= b[1] or b[1] + b[3] <= a[1]
        assert apart_x or apart_y


@pytest.mark.parametrize("case", _cases("hopper_turton_2001_strip"), ids=_named)
def test_strips_of_hopper_and_turton_reach_the_known_height(case: dict[str, Any]) -> None:
    packing = smallest_strip(_sizes(case), case["strip_width"], turns=True, watch=_patient())
    assert packing.box == (case["strip_width"], case["optimal_height"])
    assert packing.least
    _right(_sizes(case), packing, turns=True)


@pytest.mark.parametrize("case", _cases("beasley_1985_strip"), ids=_named)
@pytest.mark.parametrize("turns", [False, True], ids=["fixed", "turns"])
@pytest.mark.proof
def test_strips_of_beasley_reach_the_known_height(case: dict[str, Any], turns: bool) -> None:
    packing = smallest_strip(_sizes(case), case["strip_width"], turns=turns, watch=_patient())
    assert packing.box[1] == case["turns" if turns else "fixed"]
    assert packing.least
    _right(_sizes(case), packing, turns)


@pytest.mark.parametrize("case", _cases("consecutive_squares")[:10], ids=_named)
def test_consecutive_squares_get_the_known_least_area(case: dict[str, Any]) -> None:
    sizes = [(n, n) for n in range(1, case["n"] + 1)]
    packing = smallest_box(sizes, watch=_patient())
    assert packing.box[0] * packing.box[1] == case["minimal_area"]
    assert packing.least
    _right(sizes, packing, turns=False)
    for box in case["boxes_listed_in_sources"]:
        known = pack(sizes, tuple(box), watch=_patient())
        assert known.status is Status.FOUND
        _right(sizes, known, turns=False)


@pytest.mark.parametrize("case", _cases("consecutive_squares")[:10], ids=_named)
def test_consecutive_squares_get_the_known_smallest_square(case: dict[str, Any]) -> None:
    sizes = [(n, n) for n in range(1, case["n"] + 1)]
    side = case["smallest_square_side"]
    assert pack(sizes, (side, side), watch=_patient()).status is Status.FOUND
    smaller = pack(sizes, (side - 1, side - 1), watch=_patient())
    assert smaller.status is Status.IMPOSSIBLE


@pytest.mark.parametrize("case", _cases("unoriented_rectangles")[:7], ids=_named)
def test_turned_rectangles_get_the_least_area(case: dict[str, Any]) -> None:
    sizes = [(n, n + 1) for n in range(1, case["n"] + 1)]
    packing = smallest_box(sizes, turns=True, watch=_patient())
    assert packing.box[0] * packing.box[1] == case["minimal_area"]
    assert packing.least
    _right(sizes, packing, turns=True)


@pytest.mark.parametrize("case", _cases("orthogonal_packing"), ids=_named)
@pytest.mark.parametrize("turns", [False, True], ids=["fixed", "turns"])
@pytest.mark.proof
def test_yes_or_no_packings_of_clautiaux(case: dict[str, Any], turns: bool) -> None:
    # Two of them (E00N23 and E00X23, fixed) are out of reach of a minute: "unknown" is right too.
    watch = Watch(effort=Effort(seconds=60, work=60))
    packing = pack(_sizes(case), tuple(case["box"]), turns=turns, watch=watch)
    if case["turns" if turns else "fixed"] == "feasible":
        assert packing.status in (Status.FOUND, Status.OUT_OF_TIME)
        if packing.status is Status.FOUND:
            _right(_sizes(case), packing, turns)
    else:
        assert packing.status in (Status.IMPOSSIBLE, Status.OUT_OF_TIME)


@pytest.mark.parametrize("case", _cases("bricks"), ids=_named)
def test_known_fillings_with_bricks(case: dict[str, Any]) -> None:
    bricks = [(p["size"], p["count"]) for p in case["pieces"]]
    filling = fill_bricks(case["box"], bricks, watch=_patient())
    if case["answer"] == "impossible":
        assert filling.status is Status.IMPOSSIBLE
        return
    assert filling.status is Status.FOUND
    taken = [cell for _, shape in filling.placed for cell in shape]
    assert len(taken) == len(set(taken))
    assert all(0 <= v < n for cell in taken for v, n in zip(cell, case["box"], strict=True))
    for number, (size, count) in enumerate(bricks):
        placed = [shape for n, shape in filling.placed if n == number]
        assert len(placed) == count
        for shape in placed:
            sides = [max(c[k] for c in shape) - min(c[k] for c in shape) + 1 for k in range(3)]
            assert sorted(sides) == sorted(size)
            assert len(shape) == sides[0] * sides[1] * sides[2]


THEOREMS = _cases("rectilinear_parts", "theorems")


@pytest.mark.parametrize("case", [c for c in THEOREMS if "pento" not in c["name"]], ids=_named)
def test_known_fillings_with_l_and_t_shapes(case: dict[str, Any]) -> None:
    _filled_as_known(case)


@pytest.mark.proof
@pytest.mark.parametrize("case", [c for c in THEOREMS if "pento" in c["name"]], ids=_named)
def test_the_twelve_pentominoes_fill_their_rectangles(case: dict[str, Any]) -> None:
    _filled_as_known(case)


def _filled_as_known(case: dict[str, Any]) -> None:
    blocked = {tuple(c) for c in case["blocked_cells"]}
    room = [c for c in itertools.product(*map(range, case["board"])) if c not in blocked]
    pieces = [
        Piece(cells=frozenset((x, y) for x, y in p["cells"]), count=p["count"])
        for p in case["pieces"]
    ]
    moves = Moves.TURNS if "no mirror" in case["allow"] else Moves.MIRRORED
    filling = fill(room, pieces, moves, _patient())
    if case["answer"] == "impossible":
        assert filling.status is Status.IMPOSSIBLE
    else:
        assert filling.status is Status.FOUND
        taken = sorted(cell for _, shape in filling.placed for cell in shape)
        assert taken == sorted(room)


def test_a_rectangle_wider_than_the_strip_is_refused() -> None:
    with pytest.raises(ValueError, match="wider than the strip"):
        smallest_strip([(5, 2)], 4)
    assert smallest_strip([(5, 2)], 4, turns=True).box == (4, 5)


def test_a_stopped_packing_says_so() -> None:
    watch = _patient()
    watch.stopped.set()
    assert smallest_box([(3, 2), (4, 4)], turns=True, watch=watch).status is Status.OUT_OF_TIME
