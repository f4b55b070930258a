"""What several test files use."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parent.parent

# A shell that runs the tests in the background leaves Ctrl-C switched off for all it starts.
signal.signal(signal.SIGINT, signal.default_int_handler)

# How long an example takes says how busy the machine is, not whether the code is right.
settings.register_profile("fit", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("fit")

Ran = subprocess.CompletedProcess[str]
RunFit = Callable[..., Ran]


@pytest.fixture(scope="session")
def root() -> Path:
    """The top folder of the checkout."""
    return ROOT


@pytest.fixture
def fit_process(tmp_path: Path) -> RunFit:
    """Run ``python -m fit …`` as its own process, in a folder of its own unless told where."""

    def run(*words: str | Path, cwd: Path = tmp_path, **env: str) -> Ran:
        return subprocess.run(
            [sys.executable, "-m", "fit", *map(str, words)],
            cwd=cwd,
            env=os.environ | {"PYTHONPATH": str(ROOT), "COLUMNS": "100"} | env,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )

    return run
