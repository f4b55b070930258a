"""What makes sense of sizes that several kinds of parts have: bodies, holes, what holds them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from fit.model.words import Fixing
from fit.read.schema_part import FixingHoleKeys, HullKeys
from fit.read.words import Say
from fit.units import show

SAME: Final = 1e-9
"""Sizes closer than this, mm, are equal: the noise of inch arithmetic."""


def more(a: float, b: float) -> bool:
    """Whether a size is larger than another by more than noise."""
    return a > b + SAME


def hull(hull: HullKeys | None, key: str, say: Say) -> None:
    """A body is round or rectangular, never both, never neither."""
    if hull is None:
        return
    if hull.diameter > 0 and (hull.width > 0 or hull.height > 0):
        say(
            (key,),
            f"'{key}' has a diameter and a width or height",
            "keep 'diameter' for a round body, 'width' and 'height' for a rectangular one",
        )
    elif hull.diameter <= 0 and (hull.width <= 0 or hull.height <= 0):
        say(
            (key,),
            f"'{key}' has no full outline",
            "add 'diameter' for a round body, or both 'width' and 'height'",
        )


def within(inner: Sequence[float], outer: Sequence[float], keys: tuple[str, str], say: Say) -> None:
    """A width and height that cannot be larger than another."""
    for i, side in enumerate(("wide", "high")):
        if more(inner[i], outer[i]):
            say(
                (keys[0],),
                f"'{keys[0]}' is {show(inner[i])} {side}, '{keys[1]}' only {show(outer[i])}",
                f"'{keys[0]}' lies within '{keys[1]}': correct one of the two",
            )


def holes(holes: Sequence[Any], size: Sequence[float] | None, say: Say) -> None:
    """Holes of a part whose middle is (0, 0) lie inside it, when its size is given."""
    for i, form in enumerate(holes):
        x, y, d = (form.x, form.y, form.diameter) if isinstance(form, FixingHoleKeys) else form
        if isinstance(form, FixingHoleKeys) and 0 < form.long <= form.diameter + SAME:
            say(
                ("holes", i, "long"),
                f"a slot {show(form.long)} long is no longer than it is wide ({show(d)})",
                "'long' is its length over all; leave it out for a round hole",
            )
        if size is not None and (
            more(abs(x) + d / 2, size[0] / 2) or more(abs(y) + d / 2, size[1] / 2)
        ):
            say(
                ("holes", i),
                f"the hole at {show(x)}, {show(y)} is not inside the part, which reaches "
                f"{show(size[0] / 2)} to each side and {show(size[1] / 2)} up and down",
                "holes count from the part's middle",
            )


def screwed(fixing: Fixing, holes: Sequence[Any], say: Say) -> None:
    """Holes and screws go together."""
    if fixing is Fixing.SCREWS and not holes:
        say(("fixing",), "screws hold this part, but it has no holes", "add 'holes:'")
    if fixing is not Fixing.SCREWS and holes:
        say(
            ("holes",),
            f"this part has screw holes, but '{fixing}' is to hold it",
            "write 'fixing: screws' or take the holes out",
        )
