"""``python -m tests``: every check of the project, the tests last. Fails if any of them fails."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
BIN = Path(sys.executable).parent

CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports",),
    ("codespell",),
    ("pytest", "-n", "auto", "--dist", "loadfile", *sys.argv[1:]),
)


def main() -> int:
    failed = []
    for name, *rest in CHECKS:
        print("==>", name, *rest, flush=True)
        if subprocess.run([BIN / name, *rest], cwd=ROOT, check=False).returncode:
            failed.append(" ".join([name, *rest]))
    if failed:
        print("failed:", "; ".join(failed), file=sys.stderr)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
