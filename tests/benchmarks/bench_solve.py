"""How long the solver's questions take: ``python -m tests.benchmarks.bench_solve [word ...]``.

Times vary with the machine and its other work; nothing is asserted. Processor seconds stand
beside wall-clock seconds (two searches run beside each other).
"""

from __future__ import annotations

import json
import random
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from fit.model.box import Post
from fit.model.build import Build, Coordinate, Drawer, How, Place, Used
from fit.model.part import Board, BoardHole, Holder
from fit.model.words import BoardStock, FaceName, Half
from fit.read import load_build
from fit.solve.board import Sawn, biggest
from fit.solve.engine import solve
from fit.solve.layout import lay_out
from fit.solve.outline import Limits, biggest_board
from fit.solve.packing import fill_bricks, pack, smallest_box, smallest_strip
from fit.solve.problem import Box, Gap, Item, Metric, Problem, Way, room_walls, turned
from fit.solve.run import Effort, Watch
from fit.units import Length as L
from tests.trays import flat_lid, lip, tray

DATA = Path(__file__).parent.parent / "data" / "packing"


def _cases(name: str) -> list[dict[str, Any]]:
    cases: list[dict[str, Any]] = json.loads((DATA / f"{name}.json").read_text())["instances"]
    return cases


def _watch(seconds: float = 120) -> Watch:
    return Watch(effort=Effort(seconds=seconds, work=seconds))


def _timed(what: str, call: Callable[[], str]) -> None:
    wall, used = time.perf_counter(), time.process_time()
    result = call()
    print(
        f"{what:44} {result:34} {time.perf_counter() - wall:7.2f} s wall"
        f" {time.process_time() - used:7.2f} s processor",
        flush=True,
    )


def strips() -> None:
    """Hopper & Turton C1 and C2, turns allowed as published, and without."""
    for case in _cases("hopper_turton_2001_strip"):
        sizes = [(w, h) for w, h in case["items"]]
        for turns in (True, False):

            def run(case: Any = case, sizes: Any = sizes, turns: bool = turns) -> str:
                p = smallest_strip(sizes, case["strip_width"], turns=turns, watch=_watch())
                known = case["optimal_height"]
                return f"height {p.box[1]} (known {known}), least {p.least}"

            _timed(f"{case['name']}{' turns' if turns else ''}", run)


def squares() -> None:
    """Consecutive squares: the smallest box, all smaller areas proved impossible."""
    for case in _cases("consecutive_squares")[:12]:
        sizes = [(n, n) for n in range(1, case["n"] + 1)]

        def run(case: Any = case, sizes: Any = sizes) -> str:
            p = smallest_box(sizes, watch=_watch())
            return f"{p.box[0]} × {p.box[1]} (known {case['minimal_area']}), least {p.least}"

        _timed(f"squares 1 .. {case['n']}", run)


def bricks() -> None:
    """Fillings of small boxes with bricks."""
    for case in _cases("bricks"):
        pieces = [(p["size"], p["count"]) for p in case["pieces"]]

        def run(case: Any = case, pieces: Any = pieces) -> str:
            filling = fill_bricks(case["box"], pieces, watch=_watch())
            return f"{filling.status} (known {case['answer']})"

        _timed(case["name"], run)


def bins() -> None:
    """Yes-or-no packings of Clautiaux and others."""
    for case in _cases("orthogonal_packing"):
        sizes = [(w, h) for w, h in case["items"]]
        for turns in (False, True):

            def run(case: Any = case, sizes: Any = sizes, turns: bool = turns) -> str:
                p = pack(sizes, tuple(case["box"]), turns=turns, watch=_watch(30))
                return f"{p.status} (known {case['turns' if turns else 'fixed']})"

            _timed(f"{case['name']}{' turns' if turns else ''}", run)


def boards() -> None:
    """The biggest board on 60 × 40 holes: four posts and up to eight things in the way."""
    for notches in range(5):
        for seed in (0, 5, 9, 16, 23, 27):
            r = random.Random(seed)
            things = [(0, 0, 4, 4), (56, 0, 60, 4), (0, 36, 4, 40), (56, 36, 60, 40)]
            for _ in range(r.randint(1, 8)):
                w, h = r.randint(1, 16), r.randint(1, 12)
                x, y = r.randint(0, 59), r.randint(0, 39)
                if r.random() < 0.6:
                    x, y = r.choice([(0, y), (60 - w, y), (x, 0), (x, 40 - h)])
                things.append((x, y, x + w, y + h))
            free = [
                [not any(a <= x < c and b <= y < d for a, b, c, d in things) for x in range(60)]
                for y in range(40)
            ]

            def run(free: Any = free, notches: int = notches) -> str:
                board = biggest_board(free, (), Limits(notches=notches))
                return f"{board.area if board else 0} holes"

            _timed(f"board, {notches} notches, floor {seed}", run)


def floors() -> None:
    """The biggest board of a whole build, checked: a floor of about 60 × 40 holes.

    The map by the checker's distances, the outline, the check of it and of one line more.
    """
    box = tray(
        length=L(160), width=L(109), lid=flat_lid(lip=lip()), corner_inner=L(3),
        posts=tuple(
            Post(name=f"C{n}", half=Half.BODY, x=L(x), y=L(y), tip=L(7), foot=L(8), height=L(50))
            for n, (x, y) in enumerate(((-70, -45), (70, -45), (70, 45), (-70, 45)))
        ),
    )  # fmt: skip
    hole = BoardHole(x=L(8.89), y=L(8.89), diameter=L(3.2))
    part = Board(stock=BoardStock.PADS, size=(L(17.78), L(17.78)), holes=(hole,), underside=L(2))
    for seed in range(6):
        r = random.Random(seed)
        parts = [_on("board", part, 0.0, 0.0)]
        corners = r.sample([(-28, -30), (28, -30), (28, 30), (-28, 30)], r.randint(1, 4))
        for n, (x, y) in enumerate(corners):
            size = (L(r.uniform(8, 40)), L(r.uniform(8, 25)), L(20))
            parts.append(_on(f"thing {n}", Holder(size=size), x, y))
        build = Build(
            name="floor", box=box, drawer=Drawer(name="none", bits=()), parts=tuple(parts)
        )

        def run(build: Build = build) -> str:
            found = biggest(build, "board", Sawn(), Watch())
            reach = found.grid.reach
            return f"{found.area} of {reach[2] - reach[0]} × {reach[3] - reach[1]} holes"

        _timed(f"floor {seed}, {len(parts) - 1} things", run)


def _on(name: str, part: Board | Holder, x: float, y: float) -> Used:
    at = Place(across=Coordinate(how=How.AT, value=L(x)), up=Coordinate(how=How.AT, value=L(y)))
    return Used(name=name, part=part, on=FaceName.FLOOR, at=at, standoff=L(8))


def _flat(seed: int, count: int, fill: float, metric: Metric) -> Problem:
    """Parts on a 120 × 50 mm panel, 0.1 mm grid, 2 mm gaps; for STRAIGHT half of them round."""
    r = random.Random(seed)
    room, need, items = (1200, 500), 20, []
    area = room[0] * room[1] * fill / count
    for n in range(count):
        a, aspect = area * r.uniform(0.4, 1.6), r.uniform(0.5, 2)
        w = min(int((a * aspect) ** 0.5), room[1] - 2 * need)
        box = Box(low=(0, 0), high=(w, min(int(a / w), room[1] - 2 * need)))
        if metric is Metric.STRAIGHT and n % 2:
            box = Box(low=(0, 0), high=(0, 0), swell=int((area / 3.14) ** 0.5 * 0.8))
        ways = tuple(
            Way(
                boxes=(turned(box, q),),
                low=(-1200, -1200),
                high=(2400, 2400),
                walls=room_walls((0, 0), room, need=need),
            )
            for q in (0, 1)
        )
        items.append(Item(name=f"p{n}", ways=ways[:1] if box.swell else ways))
    gaps = {("body", "body"): Gap(need=need)}
    return Problem(axes=2, items=tuple(items), gaps=gaps, metric=metric, cap=50)


def _deep(seed: int, count: int) -> Problem:
    """Blocks in a 140 × 90 × 50 mm cavity, each against the floor or the lid, 0.1 mm grid."""
    r = random.Random(seed)
    room, items = (1400, 900, 500), []
    for n in range(count):
        size = tuple(r.randint(150, 450) for _ in range(3))
        ways = [
            Way(
                boxes=(turned(Box(low=(0, 0, 0), high=size), q),),
                low=(-1400, -1400, z),
                high=(2800, 2800, z),
                walls=room_walls((0, 0, 0), room, counts=False),
            )
            for q in (0, 1)
            for z in (0, room[2] - size[2])
        ]
        items.append(Item(name=f"b{n}", ways=tuple(ways)))
    gaps = {("body", "body"): Gap(need=10)}
    return Problem(axes=3, items=tuple(items), gaps=gaps, cap=50)


def layouts() -> None:
    """The best smallest margin of realistic flat and deep layouts."""
    for metric, sizes in (
        (Metric.AXIS, ((6, 0.4), (8, 0.4), (10, 0.4), (15, 0.4), (8, 0.6), (10, 0.6), (12, 0.6))),
        (Metric.STRAIGHT, ((4, 0.35), (6, 0.35), (8, 0.35))),
    ):
        for count, fill in sizes:
            for seed in (0, 1):
                problem = _flat(seed, count, fill, metric)
                _timed(f"flat {metric}, {count} parts, {fill:.0%} full", _margin(problem))
    for count in (4, 6, 8, 10):
        for seed in (0, 1):
            _timed(f"deep, {count} blocks", _margin(_deep(seed, count)))


def _margin(problem: Problem) -> Callable[[], str]:
    def run() -> str:
        answer = solve(problem, Watch(effort=Effort(seconds=30)))
        return f"{answer.status}, margin {answer.margin}, best {answer.best}"

    return run


def builds() -> None:
    """The shipped builds with all their places taken out, as many times one known packing."""
    case = _cases("hopper_turton_2001_strip")[0]
    sizes = [(w, h) for w, h in case["items"]]
    used = time.process_time()
    for _ in range(5):
        smallest_strip(sizes, case["strip_width"], turns=True, watch=_watch())
    unit = (time.process_time() - used) / 5
    print(f"one packing of {case['name']}: {unit:.2f} s processor")
    for name in ("hive-scale", "gate-counter", "meter-box", "bench-timer"):
        build = load_build(name)
        bare = replace(build, parts=tuple(replace(u, at=None) for u in build.parts))

        def run(bare: Build = bare) -> str:
            begun = time.process_time()
            layout = lay_out(bare, Watch(effort=Effort(seconds=60, work=6.0))).layout
            took = (time.process_time() - begun) / unit
            room = f"{layout.margin:.2f} mm to spare" if layout else "none"
            return f"{room}, {took:.1f} packings"

        _timed(f"{name} without its places", run)


ALL = {f.__name__: f for f in (builds, boards, floors, squares, bricks, strips, bins, layouts)}


if __name__ == "__main__":
    for name in sys.argv[1:] or ALL:
        ALL[name]()
