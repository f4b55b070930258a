"""What a person may ask the sheets to show, all as usual by default."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Ends(StrEnum):
    """How the waste of a window is taken out."""

    CHAIN = "chain"
    """A chain of small holes all round: little is left to file."""
    BIG_HOLES = "big_holes"
    """One big hole at each end and a saw between them: quick, and more is left to file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Options of the sheets.

    Attributes:
        inside: also show every face with openings from inside, mirrored.
        wrap: show the upright faces as one sheet that goes round the box.
        windows: how the waste of windows is taken out.
    """

    inside: bool = False
    wrap: bool = False
    windows: Ends = Ends.CHAIN


AS_USUAL = Asked()
"""Faces from outside, windows by a chain of holes."""
