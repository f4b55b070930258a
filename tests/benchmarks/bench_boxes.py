"""Boxes by the thousand: one build in generated trays, with its cost for each box.

    python tests/benchmarks/bench_boxes.py [COUNT ...]

Each count is run from files on disk, as ``fit boxes --shells DIR --no-cache`` reads them, and is
reported with the processor time for each box as a ratio to one ``fit check`` of the same build in
process, measured in the same run. Growth is the cost for each box against the smallest count's.
"""

from __future__ import annotations

import os
import random
import resource
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from fit.elsewhere.judge import Asked
from fit.elsewhere.run import run
from fit.model.build import Build
from fit.pipeline import examine
from fit.read import load_build, shell_files

ROOT = Path(__file__).parent.parent.parent
OPEN = ("tare", "units", "cells")
"""Parts of the build whose place is left open."""

TRAY = """\
box: {name}
outside: [{length}, {width}, {height}]
walls: {{thickness: {wall}, draft: {draft}}}
floor: {wall}
corners: {{outer: 5, inner: 3}}
lid:
  kind: flat
  thickness: 2.5
  lip: {{height: 3, thickness: 1.5, gap: 0.3}}
posts:
  - {{name: C, in: body, apart: [{across}, {deep}], tip: 7, foot: 8, height: {post}, hole: 2.4, depth: 15, use: closing}}
  - {{name: P, in: body, apart: [101.6, 60.96], tip: 6, foot: 7, height: 9.5, hole: 2.4, depth: 9, use: board}}
plastic: ABS
"""  # noqa: E501


def shells(folder: Path, count: int, seed: int = 1) -> None:
    """Trays about as large as the build needs, some too small, each in a file of its own."""
    rng = random.Random(seed)
    for n in range(count):
        length, width = rng.randint(125, 200), rng.randint(85, 140)
        height, wall = rng.randint(45, 80), rng.choice((2.0, 2.5, 3.0))
        text = TRAY.format(
            name=f"made-{n:05}",
            length=length,
            width=width,
            height=height,
            wall=wall,
            draft=rng.choice((1.0, 1.5, 2.0)),
            across=length - 19,
            deep=width - 19,
            post=height - 5,
        )
        (folder / f"made-{n:05}.yaml").write_text(text, encoding="utf-8")


def three_open() -> Build:
    """The weight readout of a beehive with three places left open."""
    build = load_build(ROOT / "boxes" / "builds" / "hive-scale.yaml")
    parts = tuple(replace(u, at=None) if u.name in OPEN else u for u in build.parts)
    return replace(build, parts=parts)


def _processor() -> float:
    own, others = (resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def main(counts: list[int]) -> None:
    """Run each count and tell what it took."""
    build = three_open()
    examine(build, mending=False)
    start = time.process_time()
    for _ in range(5):
        examine(build, mending=False)
    once = (time.process_time() - start) / 5
    print(f"one check of the build in process: {once * 1000:.0f} ms; {os.cpu_count()} cores")
    first = 0.0
    for count in counts:
        with tempfile.TemporaryDirectory() as folder:
            shells(Path(folder), count)
            files = shell_files(build, Path(folder))
            clock, processor = time.monotonic(), _processor()
            rows = run(build, files, Asked(mends=False), cached=False)
            took, spent = time.monotonic() - clock, _processor() - processor
        each = spent / count
        first = first or each
        most = max(
            resource.getrusage(w).ru_maxrss
            for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        )
        good = sum(row.goes for row in rows.rows)
        print(
            f"{count:6} boxes: {took:7.1f} s, processor {spent:7.1f} s, {each / once:5.2f} checks "
            f"a box, growth {each / first:.2f}, largest process {most / 1024:.0f} MB; "
            f"{good} go, {sum(r.quick for r in rows.rows)} rejected quickly"
        )


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [250, 1000])
