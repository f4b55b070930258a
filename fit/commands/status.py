"""Exit statuses. Other programs rely on them: add, never change."""

from __future__ import annotations

from enum import IntEnum

from fit.findings import Verdict
from fit.report import Outcome


class Status(IntEnum):
    """What the process tells the one that started it."""

    GOOD = 0
    """Clear or tight."""
    CLASH = 1
    """It does not go together."""
    WRONG_USE = 2
    """Used wrongly, or the results cannot be written there."""
    UNUSABLE = 3
    """A file cannot be used."""
    NO_LAYOUT = 4
    """No layout, or no board, of the kind asked for exists: proved."""
    OUT_OF_TIME = 5
    """Time ran out before one was found or ruled out."""
    FAULT = 70
    """A fault in `fit` itself (the number is EX_SOFTWARE of BSD's sysexits.h)."""
    INTERRUPTED = 130
    """Stopped with Ctrl-C (128 + SIGINT, as shells count)."""


def status_of(outcome: Outcome) -> Status:
    """The exit status for what a run came to."""
    return Status.CLASH if outcome.verdict is Verdict.CLASH else Status.GOOD
