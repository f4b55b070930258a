"""Whole-process times: ``fit check`` beside its bare imports, ``fit make`` beside the CAD kernel.

Run it as a script; it prints times and ratios, and fails when a check costs more than three times
the import of what it needs. The processes take turns and the least of each counts, since whatever
else the machine does only adds to them. The processor's time decides; the clock's is told as well.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
BUILD = ROOT / "boxes" / "builds" / "hive-scale.yaml"
LIBRARIES = "import numpy, shapely, fcl, pydantic, yaml"
CHECK_AT_MOST = 3.0

Cost = tuple[float, float]
"""Seconds of the processor (user and system), and seconds by the clock."""


def cost(*words: str, kept: str) -> Cost:
    """One run of a Python process; statuses above 1 are failures."""
    # An installed fit has its bytecode beside it; a checkout keeps it in a folder of this run.
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    start, before = time.perf_counter(), os.times()
    ran = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**env, "PYTHONPYCACHEPREFIX": kept},
        capture_output=True,
        text=True,
        check=False,
    )
    wall, after = time.perf_counter() - start, os.times()
    if ran.returncode > 1:
        raise SystemExit(f"{' '.join(words)} ended with {ran.returncode}: {ran.stderr}")
    cpu = after.children_user + after.children_system
    cpu -= before.children_user + before.children_system
    return cpu or wall, wall  # Windows does not tell of children


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as folder:
        asked = {
            LIBRARIES: ("-c", LIBRARIES),
            "fit check": ("-m", "fit", "check", str(BUILD)),
            "import cadquery": ("-c", "import cadquery"),
            "fit make": ("-m", "fit", "make", str(BUILD), "--out", f"{folder}/out"),
        }
        found: dict[str, list[Cost]] = {name: [] for name in asked}
        for turn in range(runs + 1):
            for name, words in asked.items():
                took = cost(*words, kept=f"{folder}/bytecode")
                if turn:  # the first writes the bytecode and warms the disk's cache
                    found[name].append(took)
    best = {name: tuple(map(min, zip(*costs, strict=True))) for name, costs in found.items()}
    print(f"{'':<44} processor    clock")
    for name, (cpu, wall) in best.items():
        beside = best[LIBRARIES if name in (LIBRARIES, "fit check") else "import cadquery"]
        ratios = f"{cpu / beside[0]:5.2f} × {wall / beside[1]:6.2f} ×"
        print(f"{name:<44} {cpu:6.2f} s {wall:8.2f} s   {ratios}")
    return 0 if best["fit check"][0] <= CHECK_AT_MOST * best[LIBRARIES][0] else 1


if __name__ == "__main__":
    sys.exit(main())
