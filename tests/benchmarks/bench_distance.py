"""How long a gap takes: ``python -m tests.benchmarks.bench_distance``.

The CAD kernel measures the same pairs in the same run, so that the ratio means something on any
machine. Nothing is asserted about time.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable, Sequence

from fit.geometry.broad import near_pairs
from fit.geometry.distance import Prepared, gap_between, prepare
from fit.geometry.frames import Pose, add, scale
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from tests.test_distance_cad import shortest, solid_of
from tests.test_distance_known import some_direction, some_pose

BODIES = 200
"""A well filled box: parts of a few mm to a few cm in 150 × 100 × 60 mm."""

CAD_PAIRS = 300
"""The CAD kernel measures this many of the pairs; all of them would take minutes."""


def part(rng: random.Random) -> Shape:
    """A part as they come: mostly blocks and bars, a few prisms and cones."""
    kind = rng.random()
    size = [rng.uniform(1, 14) for _ in range(3)]
    if kind < 0.5:
        return Block(*size)
    if kind < 0.85:
        return Cylinder(size[0] / 2, size[1])
    if kind < 0.95:
        x, y = size[0] / 2, size[1] / 2
        return Prism(((-x, -y), (x, -y), (x, 0.0), (0.0, y), (-x, y)), size[2])
    return Cone(size[0] / 2, size[0] / 4, size[1])


def body(rng: random.Random, tilted: float) -> tuple[Shape, Pose]:
    """A part somewhere in the box, upright unless it is one of the tilted."""
    pose = some_pose(rng)
    if rng.random() >= tilted:
        pose = Pose().turned(rng.choice((0, 90, 180, 270)))
    at = (rng.uniform(-75, 75), rng.uniform(-50, 50), rng.uniform(0, 60))
    return part(rng), Pose(at, pose.x, pose.y, pose.z)


def each(work: Callable[[int, int], object], pairs: Sequence[tuple[int, int]]) -> list[float]:
    """Microseconds of each pair."""
    taken = []
    for i, j in pairs:
        start = time.perf_counter()
        work(i, j)
        taken.append((time.perf_counter() - start) * 1e6)
    return taken


def show(name: str, taken: list[float]) -> None:
    mean, median = statistics.fmean(taken), statistics.median(taken)
    print(f"{name:<44} {len(taken):>6} pairs  mean {mean:8.1f}  median {median:8.1f} µs")


def scene(rng: random.Random, tilted: float) -> None:
    bodies = [body(rng, tilted) for _ in range(BODIES)]
    start = time.perf_counter()
    ready = [prepare(shape, pose) for shape, pose in bodies]
    readied = time.perf_counter() - start
    start = time.perf_counter()
    near = near_pairs([p.box for p in ready], 3.0)
    swept = time.perf_counter() - start
    every = [(i, j) for i in range(BODIES) for j in range(i + 1, BODIES)]
    print(f"\n{BODIES} bodies, {tilted:.0%} tilted: readied in {readied * 1e3:.1f} ms, ", end="")
    print(f"{len(near)} pairs within 3 mm found in {swept * 1e3:.2f} ms")
    ours = each(lambda i, j: gap_between(ready[i], ready[j]), every)
    show("every pair", ours)
    show("pairs within 3 mm", each(lambda i, j: gap_between(ready[i], ready[j]), near))
    solids = [solid_of(shape, pose) for shape, pose in bodies]
    some = rng.sample(every, CAD_PAIRS)
    cad = each(lambda i, j: shortest(solids[i], solids[j]), some)
    show("CAD kernel, some of the pairs", cad)
    same = each(lambda i, j: gap_between(ready[i], ready[j]), some)
    show("the same pairs here", same)
    print(f"CAD kernel / here: {sum(cad) / sum(same):.0f} times")
    whole = statistics.fmean(cad) * len(every) * 1e-6
    start = time.perf_counter()
    for i, j in near_pairs([p.box for p in ready], 3.0):
        gap_between(ready[i], ready[j])
    here = time.perf_counter() - start
    print(f"whole scene: {here * 1e3:.1f} ms; CAD kernel, all pairs: about {whole:.0f} s, ", end="")
    print(f"{whole / here:.0f} times as long")


def overlaps(rng: random.Random) -> None:
    """What depth costs, by the solids that overlap."""
    kinds: dict[str, list[float]] = {}
    while sum(map(len, kinds.values())) < 2000:
        (a, pose_a), (b, _), turned = body(rng, 0.5), body(rng, 0.5), some_pose(rng)
        there = add(pose_a.origin, scale(some_direction(rng), rng.uniform(0, 8)))
        axes = turned if rng.random() < 0.5 else pose_a
        one: Prepared = prepare(a, pose_a)
        two = prepare(b, Pose(there, axes.x, axes.y, axes.z))
        start = time.perf_counter()
        got = gap_between(one, two)
        taken = (time.perf_counter() - start) * 1e6
        if got.mm < 0:
            names = sorted((type(a).__name__, type(b).__name__))
            upright = "as it stands" if axes is pose_a else "tilted"
            kinds.setdefault(f"{names[0]} in {names[1]}, {upright}", []).append(taken)
    print("\noverlapping:")
    for name, taken_all in sorted(kinds.items()):
        show(name, taken_all)


def main() -> None:
    rng = random.Random(1)
    for tilted in (0.0, 0.3):
        scene(rng, tilted)
    overlaps(rng)


if __name__ == "__main__":
    main()
