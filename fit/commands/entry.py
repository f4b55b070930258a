"""The process behind the command line: its streams, its signals, its end."""

from __future__ import annotations

import gc
import os
import signal
import sys
from io import TextIOWrapper
from typing import NoReturn


def main() -> NoReturn:
    """Run the command line of this process and end it."""
    # Loading makes many objects that stay: searching them for rubbish takes a tenth of a check.
    gc.set_threshold(50_000, 20, 50)
    # Nor has any other package a say in how files are read; looking for such takes time.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    from fit.commands.app import run

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # an old terminal shows ? for ±, and goes on
    # A polite kill unwinds like Ctrl-C does, so that nothing half-written stays behind.
    signal.signal(signal.SIGTERM, lambda number, _: sys.exit(128 + number))
    status = run(sys.argv[1:])
    gc.freeze()  # nor need they be searched once more at the very end: another tenth
    sys.exit(status)
