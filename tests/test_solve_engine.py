"""The layout engine: closed forms, ties, wishes, proofs, and stopping in the middle."""

from __future__ import annotations

import itertools
import json
import math
import random
from pathlib import Path
from typing import Any

import pytest

from fit.solve.audit import smallest_margin, untidiness, wire_length
from fit.solve.engine import EngineFault, possible, solve
from fit.solve.problem import (
    Box,
    Gap,
    Grid,
    Item,
    Metric,
    Problem,
    Rule,
    Spot,
    Tie,
    Wall,
    Way,
    Wire,
    Wish,
    room_walls,
    turned,
)
from fit.solve.run import Effort, Status, Watch
from fit.solve.separations import apart, directions

DATA = Path(__file__).parent / "data" / "packing"
CLOSED = json.loads((DATA / "clearance_and_circles.json").read_text())
L_BOARDS = json.loads((DATA / "rectilinear_parts.json").read_text())["board_sets"]

Size = tuple[int, int]


def _rectangle(name: str, size: Size, room: Size, *, turns: bool = False, need: int = 0) -> Item:
    ways = tuple(
        Way(
            boxes=(turned(Box(low=(0, 0), high=size), q),),
            low=(-max(size), -max(size)),
            high=(room[0] + max(size), room[1] + max(size)),
            walls=room_walls((0, 0), room, need=need),
        )
        for q in ((0, 1) if turns else (0,))
    )
    return Item(name=name, ways=ways)


def _disc(name: str, radius: int, room: Size, *, counts: bool = True) -> Item:
    way = Way(
        boxes=(Box(low=(0, 0), high=(0, 0), swell=radius),),
        low=(0, 0),
        high=room,
        walls=room_walls((0, 0), room, counts=counts),
    )
    return Item(name=name, ways=(way,))


def _lengthy(seconds: float = 120, **more: Any) -> Watch:
    return Watch(effort=Effort(seconds=seconds, **more))


# --- known answers ---------------------------------------------------------------------------


@pytest.mark.parametrize("case", CLOSED["rows"], ids=lambda c: c["name"])
def test_a_row_of_parts_gets_the_gap_of_the_closed_form(case: dict[str, Any]) -> None:
    grid = Grid(step=0.1)
    room = (grid.floor(case["panel"][0]), grid.floor(case["panel"][1]))
    height = room[1] // 2 + 1
    items = []
    for n, width in enumerate(case["part_widths"]):
        size = (grid.ceil(width), height)
        sides = tuple(w for w in room_walls((0, 0), room) if w.normal[0])
        level = tuple(w for w in room_walls((0, 0), room, counts=False) if w.normal[1])
        way = Way(
            boxes=(Box(low=(0, 0), high=size),), low=(0, 0), high=room, walls=(*sides, *level)
        )
        items.append(Item(name=f"p{n}", ways=(way,)))
    answer = solve(Problem(axes=2, items=tuple(items), cap=200), _lengthy())
    assert answer.best
    assert answer.margin == math.floor(case["best_min_clearance"] / 0.1 + 1e-6)


@pytest.mark.parametrize("case", CLOSED["two_circles"], ids=lambda c: c["name"])
def test_two_discs_get_nearly_the_greatest_distance_and_never_more(case: dict[str, Any]) -> None:
    step = 0.05
    grid = Grid(step=step)
    room = (grid.floor(case["box"][0]), grid.floor(case["box"][1]))
    items = tuple(
        _disc(f"d{n}", grid.ceil(r), room, counts=False) for n, r in enumerate(case["radii"])
    )
    problem = Problem(axes=2, items=items, metric=Metric.STRAIGHT, cap=room[0])
    answer = solve(problem, _lengthy())
    best = case["best_gap_between_them_walls_free"]
    centres = case["largest_centre_distance"]
    assert answer.margin * step <= best
    assert answer.margin * step >= best - centres * (1 - math.cos(math.pi / 16)) - 2 * step


@pytest.mark.parametrize("case", CLOSED["equal_circles"][:6], ids=lambda c: c["name"])
def test_equal_discs_never_claim_more_than_the_proved_clearance(case: dict[str, Any]) -> None:
    grid = Grid(step=0.5)
    room = (grid.floor(case["panel"][0]), grid.floor(case["panel"][1]))
    radius = grid.ceil(case["circle_radius"])
    items = tuple(_disc(f"d{n}", radius, room) for n in range(case["n"]))
    problem = Problem(axes=2, items=items, metric=Metric.STRAIGHT, cap=room[0])
    answer = solve(problem, _lengthy(20, work=3))
    assert answer.status is Status.FOUND
    best = case["best_min_clearance"]
    assert answer.margin * 0.5 <= best
    assert answer.margin * 0.5 >= 0.95 * best - 1.0


def test_the_straight_metric_brackets_the_distance() -> None:
    r = random.Random(5)
    for _ in range(500):
        boxes, at = [], []
        for _ in range(2):
            size = (r.randint(0, 400), r.randint(0, 400))
            boxes.append(Box(low=(0, 0), high=size, swell=r.choice([0, r.randint(0, 300)])))
            at.append((r.randint(0, 2000), r.randint(0, 2000)))
        gaps = [
            max(0, at[1][k] - at[0][k] - boxes[0].high[k], at[0][k] - at[1][k] - boxes[1].high[k])
            for k in (0, 1)
        ]
        cores = math.hypot(*gaps)
        true = cores - boxes[0].swell - boxes[1].swell
        if true <= 0 or cores == 0:
            continue
        seen = {}
        for metric in Metric:
            ways = directions(metric, 2)
            seen[metric] = max(apart(*_pair(boxes, at), w) / w.scale for w in ways)
        assert seen[Metric.AXIS] <= seen[Metric.STRAIGHT] + 1e-9
        assert cores * 0.98 - boxes[0].swell - boxes[1].swell - 2 <= seen[Metric.STRAIGHT]
        assert seen[Metric.STRAIGHT] <= true + 1e-9 <= seen[Metric.LOOSE] + 2e-9


def _pair(boxes: list[Box], at: list[Size]) -> tuple[Box, Size, Box, Size]:
    return boxes[0], at[0], boxes[1], at[1]


@pytest.mark.parametrize(
    "case",
    [
        pytest.param(c, id=c["name"], marks=() if c is L_BOARDS[0] else pytest.mark.slow)
        for c in L_BOARDS
    ],
)
def test_l_boards_go_into_the_boxes_they_are_known_to_go_into(case: dict[str, Any]) -> None:
    asked = [{"box": case["box"], "answer": case["answer"]}, *case["other_boxes"]]
    for ask in asked:
        width, height = ask["box"]
        items = []
        for n, rects in enumerate(case["parts"]):
            boxes = [Box(low=(x, y), high=(x + w, y + h)) for x, y, w, h in rects]
            ways = tuple(
                Way(
                    boxes=tuple(turned(b, q) for b in boxes),
                    low=(-20, -20),
                    high=(width + 20, height + 20),
                    walls=room_walls((0, 0), (width, height)),
                )
                for q in range(4)
            )
            items.append(Item(name=f"b{n}", ways=ways))
        answer = possible(Problem(axes=2, items=tuple(items)), _lengthy(300, work=100))
        known = {"feasible": Status.FOUND, "impossible": Status.IMPOSSIBLE}[ask["answer"]]
        assert answer.status in (known, Status.OUT_OF_TIME)


# --- ways, walls, layers ---------------------------------------------------------------------


def test_a_leaning_wall_keeps_a_part_off_by_the_true_distance() -> None:
    # A wall through (0, 100) with the normal (3, 4) / 5: distances along it are exact.
    wall = Wall(normal=(3, 4), offset=400, need=10)
    way = Way(boxes=(Box(low=(0, 0), high=(20, 10)),), low=(0, 0), high=(200, 200), walls=(wall,))
    item = Item(name="part", ways=(way,))
    wish = Wish(item="part", axis=0, at=200)
    answer = solve(Problem(axes=2, items=(item,), wishes=(wish,), cap=0))
    x, y = answer.layout["part"].at
    assert y == 0
    # The far corner (x + 20, 10) is at least 10 behind the line: 3x + 4y <= 400 - 50.
    assert 3 * (x + 20) + 4 * 10 <= 350 < 3 * (x + 21) + 4 * 10


def test_a_part_goes_to_the_face_where_there_is_room() -> None:
    def way(height: int, name: str) -> Way:
        return Way(
            boxes=(Box(low=(-5, -5, 0), high=(5, 5, 30)),),
            low=(0, 0, height),
            high=(100, 100, height),
            walls=room_walls((0, 0, 0), (100, 100, 100)),
            name=name,
        )

    blocker = Way(boxes=(Box(low=(0, 0, 0), high=(100, 100, 40)),), low=(0, 0, 0), high=(0, 0, 0))
    items = (
        Item(name="part", ways=(way(0, "floor"), way(60, "lid"))),
        Item(name="battery", ways=(blocker,)),
    )
    answer = solve(Problem(axes=3, items=items, cap=10))
    assert answer.layout["part"].way == 1
    assert answer.margin == 10


def test_layers_without_a_gap_between_them_do_not_see_each_other() -> None:
    room = (10, 10)
    boxes = {"knob": Box(low=(0, 0), high=(10, 10), layer="front")}
    boxes["body"] = Box(low=(0, 0), high=(10, 10), layer="behind")
    items = tuple(
        Item(
            name=name,
            ways=(
                Way(
                    boxes=(box,),
                    low=(0, 0),
                    high=room,
                    walls=room_walls((0, 0), room, layer=box.layer),
                ),
            ),
        )
        for name, box in boxes.items()
    )
    apart_layers = {("behind", "behind"): Gap(need=0), ("front", "front"): Gap(need=0)}
    assert possible(Problem(axes=2, items=items, gaps=apart_layers)).status is Status.FOUND
    together = {**apart_layers, ("behind", "front"): Gap(need=0)}
    assert possible(Problem(axes=2, items=items, gaps=together)).status is Status.IMPOSSIBLE


def test_obstacles_may_touch_and_overlap_each_other() -> None:
    posts = tuple(
        Item(
            name=f"post{n}",
            ways=(Way(boxes=(Box(low=(0, 0), high=(4, 4)),), low=at, high=at),),
        )
        for n, at in enumerate([(0, 0), (2, 2), (4, 0)])
    )
    part = _rectangle("part", (10, 6), (14, 12))
    problem = Problem(axes=2, items=(*posts, part), gaps={("body", "body"): Gap(need=0)}, cap=5)
    answer = solve(problem)
    assert (answer.status, answer.margin) == (Status.FOUND, 0)
    assert answer.layout["part"].at[1] == 6


# --- ties and wishes -------------------------------------------------------------------------


def test_a_row_is_in_line_in_order_evenly_spaced_and_centred() -> None:
    room, names = (200, 80), ("a", "b", "c", "d")
    items = tuple(
        _rectangle(n, (w, 20), room) for n, w in zip(names, (20, 30, 10, 24), strict=True)
    )
    rules = (
        Rule(tie=Tie.IN_LINE, items=names, axis=1),
        Rule(tie=Tie.IN_ORDER, items=names, axis=0, value=32),
        Rule(tie=Tie.EQUAL_GAP, items=names, axis=0),
    )
    answer = solve(Problem(axes=2, items=items, rules=rules, cap=50), _lengthy())
    at = [answer.layout[n].at for n in names]
    assert len({y for _, y in at}) == 1
    gaps = [b[0] - a[0] - w for (a, b), w in zip(itertools.pairwise(at), (20, 30, 10), strict=True)]
    assert len(set(gaps)) == 1
    assert all(b[0] - a[0] >= 32 for a, b in itertools.pairwise(at))
    # c is 10 wide and the pitch at least 32, so every gap is 22 or more: 84 + 3 · 22 = 150, and
    # the walls get half of what is left, 25; 23 for both would be larger than 22 but one less.
    assert answer.margin == 23
    assert answer.best


def test_wishes_come_before_wires_and_after_the_margin() -> None:
    room = (100, 40)
    items = (
        _rectangle("a", (10, 10), room),
        _rectangle("b", (10, 10), room),
        _rectangle("hub", (10, 10), room),
    )
    problem = Problem(
        axes=2,
        items=items,
        cap=5,
        wishes=(Wish(item="a", axis=1, at=15), Wish(item="b", axis=1, other="a")),
        wires=(Wire(a="a", b="hub"), Wire(a="b", b="hub", weight=3)),
    )
    answer = solve(problem, _lengthy())
    assert (answer.margin, answer.best, answer.tidy) == (5, True, True)
    assert answer.layout["a"].at[1] == answer.layout["b"].at[1] == 15
    # Gaps of 5 and parts of 10: the hub 15 above or beside b, and a beside it.
    assert untidiness(problem, answer.layout) == 0
    assert wire_length(problem, answer.layout) == 3 * 15 + 15


def test_the_engine_does_not_believe_a_layout_that_breaks_a_rule(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    room = (30, 30)
    problem = Problem(axes=2, items=(_rectangle("a", (9, 9), room), _rectangle("b", (9, 9), room)))
    wrong = {"a": Spot(way=0, at=(0, 0)), "b": Spot(way=0, at=(5, 5))}
    assert smallest_margin(problem, wrong) is None
    monkeypatch.setattr("fit.solve.program.Program.layout", lambda _self, _ran: wrong)
    with pytest.raises(EngineFault):
        solve(problem)
