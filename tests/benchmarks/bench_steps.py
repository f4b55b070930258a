"""The steps of a run on hive-scale, as ratios of one and the same piece of plain Python work.

The reference is measured in the same run, so the figures carry from one machine to another.

    python tests/benchmarks/bench_steps.py
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from fit.check import inspect
from fit.check.odds import with_odds
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.geometry.assemble import assemble
from fit.read import load_build
from fit.solve import place_open
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName


def least(work: Callable[[], object], times: int = 7) -> float:
    """The least processor time of several runs, s."""
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def reference() -> int:
    """A million additions."""
    total = 0
    for i in range(1_000_000):
        total += i
    return total


def main() -> None:
    """Print one line a step."""
    build = load_build("hive-scale")
    whole = place_open(build).build
    scene = assemble(whole)
    findings = inspect(scene)
    hand = hand_work("careful")
    steps: dict[str, Callable[[], object]] = {
        "read": lambda: load_build("hive-scale"),
        "places": lambda: place_open(build),
        "scene": lambda: assemble(whole),
        "inspect": lambda: inspect(scene),
        "odds": lambda: with_odds(scene, findings),
        "sheets": lambda: pdf_bytes(sheets(scene, PaperName.A4, "0", hand), "hive-scale"),
    }
    unit = least(reference)
    print(f"reference, a million additions: {unit * 1000:.1f} ms")
    for name, work in steps.items():
        took = least(work)
        print(f"{name:>8}: {took * 1000:7.1f} ms, {took / unit:6.2f} x the reference")


if __name__ == "__main__":
    main()
