"""Whole-process times: ``fit check`` beside its bare imports, ``fit make`` beside the CAD kernel.

Run it as a script; it prints the medians and the ratios, and fails when a check costs more than
three times the import of what it needs.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
BUILD = ROOT / "boxes" / "builds" / "hive-scale.yaml"
LIBRARIES = "import numpy, shapely, fcl, pydantic, yaml"
CHECK_AT_MOST = 3.0


def seconds(*words: str, runs: int) -> float:
    """Median wall-clock seconds of a Python process; statuses above 1 are failures."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        ran = subprocess.run(
            [sys.executable, *words], cwd=ROOT, capture_output=True, text=True, check=False
        )
        times.append(time.perf_counter() - start)
        if ran.returncode > 1:
            raise SystemExit(f"{' '.join(words)} ended with {ran.returncode}: {ran.stderr}")
    return statistics.median(times[1:])  # the first run warms the disk's cache


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    runs = parser.parse_args().runs
    build = str(BUILD)
    with tempfile.TemporaryDirectory() as folder:
        bare = seconds("-c", LIBRARIES, runs=runs)
        check = seconds("-m", "fit", "check", build, runs=runs)
        kernel = seconds("-c", "import cadquery", runs=runs)
        make = seconds("-m", "fit", "make", build, "--out", f"{folder}/out", runs=runs)
    print(f"{LIBRARIES:<44} {bare:6.2f} s")
    print(f"{'fit check':<44} {check:6.2f} s   {check / bare:.2f} ×")
    print(f"{'import cadquery':<44} {kernel:6.2f} s")
    print(f"{'fit make':<44} {make:6.2f} s   {make / kernel:.2f} ×")
    return 0 if check <= CHECK_AT_MOST * bare else 1


if __name__ == "__main__":
    sys.exit(main())
