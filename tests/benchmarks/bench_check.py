"""What a check costs: against the CAD kernel, from 50 to 400 parts, and after one part moved.

Run it as a script, on a machine that does nothing else. It fails when the package's clearances are
not 200 times as fast as the kernel's own all-pairs distances, or differ from them by more than
0.0001 mm; when a check grows faster than n log n and its near pairs; or when judging a build of 50
parts anew after one was moved takes longer than 15 ms.
"""

from __future__ import annotations

import argparse
import math
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import count
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from fit.check import inspect
from fit.check.bodies import bodies
from fit.check.going_in import going_in
from fit.check.inspect import RULES
from fit.check.lid import lid
from fit.check.measure import forget
from fit.check.rule import Rule
from fit.check.walls import walls
from fit.geometry.assemble import assemble
from fit.geometry.broad import near_pairs
from fit.geometry.distance import gap_between, prepare
from fit.geometry.scene import Body, Scene
from fit.model.box import Lid, Tray, Wall
from fit.model.build import Build, Coordinate, Drawer, How, Place, Used
from fit.model.part import BushingPart, Disc, Holder, Hull, Nut, Part
from fit.model.words import Entry, FaceName, LidKind
from fit.units import Length as L
from tests import oracle

REACH = 12.0
"""The rule about bodies measures what is nearer than this, mm."""

EVERYTHING = 10_000.0
FASTER = 200.0
SAME = 1e-4
AGAIN = 15.0
"""A build is judged anew within this, ms, after one of 50 parts was moved."""

GROWS = 1.5
"""What a check costs for each n log n and near pair may grow by this, from 50 to 400 parts."""

SOLID_RULES: tuple[Rule, ...] = (bodies, walls, lid, going_in)


def crowd(parts: int, seed: int = 1) -> Build:
    """A build of many parts: blocks on the floor, buttons through the lid, in rows and columns."""
    rng = Random(seed)
    columns = max(4, round((parts / 2) ** 0.5))
    rows = -(-parts // (2 * columns))
    pitch, height = 30.0, 60.0
    wall = Wall(thickness=L(2.5), draft=1.5)
    tray = Tray(
        name="crowd",
        length=L(columns * pitch + 20),
        width=L(rows * pitch + 20),
        height=L(height),
        front=wall,
        back=wall,
        left=wall,
        right=wall,
        floor=L(2.5),
        lid=Lid(kind=LidKind.FLAT, thickness=L(2.5), height=L(2.5)),
        corner_outer=L(5),
        corner_inner=L(3),
    )
    used = []
    for n in range(parts):
        i, j = (n // 2) % columns, (n // 2) // columns
        x = (i - (columns - 1) / 2) * pitch + rng.uniform(-2, 2)
        y = (j - (rows - 1) / 2) * pitch + rng.uniform(-2, 2)
        below = n % 2 == 0
        face = FaceName.FLOOR if below else FaceName.LID
        part = _block(rng) if below else _button(rng)
        across = -x if below else x
        used.append(
            Used(name=f"p{n}", part=part, on=face, turn=rng.choice((0, 90)),
                 at=Place(across=_at(across), up=_at(y)))
        )  # fmt: skip
    return Build(
        name="crowd", box=tray, drawer=Drawer(name="none", bits=(L(3),)), parts=tuple(used)
    )


def _at(value: float) -> Coordinate:
    return Coordinate(how=How.AT, value=L(value))


def _block(rng: Random) -> Part:
    return Holder(size=(L(rng.uniform(10, 22)), L(rng.uniform(10, 22)), L(rng.uniform(8, 26))))


def _button(rng: Random) -> Part:
    neck = L(rng.uniform(6, 9))
    return BushingPart(
        bushing=L(11.5),
        neck=neck,
        entry=Entry.OUTSIDE,
        hull=Hull(diameter=L(rng.uniform(8, 11)), depth=L(rng.uniform(14, 28))),
        bezel=Disc(diameter=L(14), thickness=L(2)),
        nut=Nut(across_flats=L(14), height=L(2.5)),
    )


def timed(work: Callable[[], object], runs: int) -> float:
    """Median seconds of processor time."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def clocked(
    work: Callable[[], dict[tuple[int, int], float]],
) -> tuple[dict[tuple[int, int], float], float]:
    """What a piece of work gives, and the seconds of processor time it takes."""
    start = time.process_time()
    found = work()
    return found, time.process_time() - start


def by_package(found: list[Body], reach: float) -> dict[tuple[int, int], float]:
    """All clearances within reach: readied, sorted out, measured."""
    ready = [prepare(b.shape, b.pose) for b in found]
    pairs = near_pairs([r.box for r in ready], reach)
    return {(i, j): gap_between(ready[i], ready[j]).mm for i, j in pairs}


def by_kernel(found: list[Body]) -> dict[tuple[int, int], float]:
    """All distances, each with each."""
    solids = [oracle.solid_of(b.shape, b.pose) for b in found]
    return {
        (i, j): oracle.distance(solids[i], solids[j])
        for i in range(len(solids))
        for j in range(i + 1, len(solids))
    }


def against_kernel(parts: int) -> bool:
    """One scene measured by both: one solid of each part."""
    found = [b for b in assemble(crowd(parts)).bodies if b.name == "body"]
    by_package(found[:20], REACH)
    by_kernel(found[:4])
    near, near_took = clocked(partial(by_package, found, REACH))
    ours, took = clocked(partial(by_package, found, EVERYTHING))
    theirs, kernel = clocked(partial(by_kernel, found))
    apart = max(abs(max(mm, 0.0) - theirs[pair]) for pair, mm in ours.items())
    missed = [pair for pair, mm in theirs.items() if mm <= REACH and pair not in near]
    print(f"{parts} parts, {len(found)} solids, {len(theirs)} pairs, {len(near)} near")
    print(f"  package, near pairs {near_took:9.4f} s   {kernel / near_took:8.0f} ×")
    print(f"  package, all pairs  {took:9.4f} s   {kernel / took:8.0f} ×")
    print(f"  CAD kernel, all     {kernel:9.4f} s")
    print(f"  largest difference {apart:.2e} mm, {len(missed)} near pairs missed")
    return kernel >= FASTER * took and apart <= SAME and not missed


def afresh(scene: Scene, rules: tuple[Rule, ...]) -> None:
    """Inspect a scene as if it were the first."""
    forget()
    inspect(scene, rules)


def growth(sizes: tuple[int, ...]) -> bool:
    """Seconds of assembling and inspecting from nothing, by number of parts."""
    shares = []
    for parts in sizes:
        build = crowd(parts)
        scene = assemble(build)
        put = timed(partial(assemble, build), 5)
        solid = timed(partial(afresh, scene, SOLID_RULES), 5)
        alone = timed(partial(afresh, scene, (bodies,)), 5)
        near = len(near_pairs([prepare(b.shape, b.pose).box for b in scene.bodies], REACH))
        count = len(scene.bodies)
        shares.append(solid / (count * math.log2(count) + near))
        print(
            f"{parts:4d} parts {count:5d} bodies {near:5d} near pairs: assemble {put * 1e3:6.1f} "
            f"ms, bodies {alone * 1e3:6.1f} ms, rules about solids {solid * 1e3:6.1f} ms, "
            f"{shares[-1] * 1e6:.1f} µs for each of n log n and near pairs"
        )
    return shares[-1] <= GROWS * shares[0]


def one_moved(parts: int = 50) -> bool:
    """Milliseconds until a build is judged again after one part was moved by a millimetre."""
    build = crowd(parts)
    inspect(assemble(build))

    steps = count(1)

    def moved() -> Scene:
        used = build.parts[parts // 2]
        assert used.at is not None and used.at.across is not None
        at = replace(used.at, across=_at(used.at.across.value + 0.1 * next(steps)))
        rest = [replace(u, at=at) if u is used else u for u in build.parts]
        return assemble(replace(build, parts=tuple(rest)))

    def judged(rules: tuple[Rule, ...]) -> None:
        inspect(moved(), rules)

    def judged_afresh(rules: tuple[Rule, ...]) -> None:
        afresh(moved(), rules)

    took = 0.0
    for name, rules in (("rules about solids", SOLID_RULES), ("all rules", RULES)):
        took = timed(partial(judged, rules), 15) * 1e3
        fresh = timed(partial(judged_afresh, rules), 5) * 1e3
        print(
            f"one of {parts} parts moved, judged anew by {name}: {took:.1f} ms "
            f"(from nothing {fresh:.1f} ms)"
        )
    return took <= AGAIN


def main() -> int:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--parts", type=int, default=200)
    parts = parser.parse_args().parts
    good = against_kernel(parts)
    good &= growth((50, 100, 200, 400))
    good &= one_moved()
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
