"""Whether a grille's pattern can be made."""

from __future__ import annotations

import math
from typing import Final

from fit.model.words import Fixing, HolePattern
from fit.read.schema_part import GrilleKeys
from fit.read.sense_sizes import SAME, holes, hull, more, screwed
from fit.read.words import Say
from fit.units import show

_MOST_RINGS: Final = 8
_MOST_HOLES: Final = 217
"""More holes than these in one grille are a slip of the pen: 8 rings have 1 + 6·(1 + … + 8)."""


def sense_grille(part: GrilleKeys, say: Say) -> None:
    """Report what cannot be true of a grille."""
    hull(part.body, "body", say)
    if not more(part.pitch, part.bit):
        say(
            ("pitch",),
            f"holes of {show(part.bit)} every {show(part.pitch)} run into each other",
            f"'pitch' is more than {show(part.bit)}",
        )
    if part.pattern is HolePattern.RINGS:
        _grille_rings(part, say)
    else:
        _grille_area(part, say)
    if part.fixing is Fixing.SCREWS or part.holes:
        screwed(part.fixing, part.holes, say)
    holes(part.holes, None, say)


def _grille_rings(part: GrilleKeys, say: Say) -> None:
    if part.size is not None:
        say(("size",), "rings have no width and height", "write 'outer', the circle they stay in")
    if part.outer <= 0:
        say(("pattern",), "rings need the circle they stay in", "add 'outer'")
        return
    if part.pitch <= part.bit:
        return
    rings = math.floor((part.outer - part.bit) / 2 / part.pitch + SAME)
    first = math.ceil((part.inner + part.bit) / 2 / part.pitch - SAME) if part.inner > 0 else 0
    if more(part.bit, part.outer) or first > rings:
        say(
            ("outer",),
            f"no hole of {show(part.bit)} lies between circles of {show(part.inner)} and "
            f"{show(part.outer)}",
            "make it larger",
        )
    elif rings > _MOST_RINGS:
        _too_many(part, say)


def _grille_area(part: GrilleKeys, say: Say) -> None:
    if part.outer > 0 or part.inner > 0:
        key = "outer" if part.outer > 0 else "inner"
        say((key,), f"'{key}' is for rings", "write 'size: [width, height]'")
    if part.size is None:
        say(("pattern",), f"'{part.pattern}' needs the area its holes stay in", "add 'size'")
        return
    if part.pitch <= part.bit:
        return
    slots = part.pattern is HolePattern.SLOTS
    if more(part.bit, min(part.size)) or (slots and not more(part.size[1], part.bit)):
        say(
            ("size",),
            f"an area of {show(part.size[0])} x {show(part.size[1])} has no room for "
            f"{'a slot' if slots else 'a hole'} of {show(part.bit)}",
            "make it larger",
        )
        return
    across, up = (math.floor((s - part.bit) / part.pitch + SAME) + 1 for s in part.size)
    if across * (1 if slots else up) > _MOST_HOLES:
        _too_many(part, say)


def _too_many(part: GrilleKeys, say: Say) -> None:
    say(
        ("pitch",),
        f"this makes more than {_MOST_HOLES} holes",
        "nobody drills so many by hand: a larger 'pitch', or several smaller grilles",
    )
