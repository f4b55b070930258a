"""What makes sense of a board's size that is left open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fit.model.box import Post, Tray
from fit.model.part import Board, Part
from fit.model.words import PostUse, Seat
from fit.read.schema_board import BoardKeys
from fit.read.schema_build import BuildKeys
from fit.read.schema_size import OpenSizeKeys, whole
from fit.read.words import Say
from fit.units import PITCH, Length, show

_SIDES = ("wide", "high")
_SAME = 1e-6
_BESIDE_POSTS = 2 * PITCH
"""A board reaches so far past the middle of the posts it lies on, mm, where nothing was said."""


def open_size(part: BoardKeys, say: Say) -> None:
    """An open size: at most is no less than at least, and no notch depends on it."""
    size = part.sized()
    if size.up_to is None:
        return
    for n, (least, most) in enumerate(zip(size.least, size.up_to, strict=True)):
        if most is not None and most < least - _SAME:
            limits = isinstance(part.size, OpenSizeKeys)
            told = "at_least asks for" if size.given[n] is not None else "holes and zones need"
            say(
                ("size", "at_most", n) if limits else ("size", n),
                f"{show(most)} {_SIDES[n]} at most is less than the {show(least)} its {told}",
                "make it at least as large",
            )
    if part.notches:
        say(
            ("notches",),
            "a board whose size is open has no notches yet",
            "give its size, or take them out: fit board finds the notches of the biggest board",
        )


def standing_size(part: BoardKeys, loc: tuple[str, ...], say: Say) -> None:
    """A standing board says how large it must be: its joint and its display need that much."""
    size = part.sized()
    if size.up_to is not None and None in size.given:
        say(
            (*loc, "use", "size"),
            "a board that stands on another needs a least size, for its joint and its display",
            "write {at_least: [width, height]}",
        )


def over_posts(
    keys: BuildKeys, parts: Mapping[str, Part | None], box: Tray
) -> dict[str, Part | None]:
    """The boards on posts whose least size is not given: they reach all board posts.

    Args:
        keys: the build's.
        parts: its parts by name.
        box: its box.
    """
    posts = [p for p in box.posts if p.half is keys.carrier.halves[0] and p.use is PostUse.BOARD]
    found: dict[str, Part | None] = {}
    for name, part in parts.items():
        use, on = keys.parts[name].use, keys.parts[name].on
        if not isinstance(use, BoardKeys) or not isinstance(part, Board):
            continue
        if posts and on is Seat.POSTS and part.up_to is not None:
            found[name] = replace(part, size=_over(posts, use, part))
    return found


def _over(posts: list[Post], keys: BoardKeys, part: Board) -> tuple[Length, Length]:
    given = keys.sized().given
    least = [whole(_across(posts, axis), part.stock) for axis in (0, 1)]
    wide, high = (
        now if said is not None or now >= reach else reach
        for said, now, reach in zip(given, part.size, least, strict=True)
    )
    return wide, high


def _across(posts: list[Post], axis: int) -> float:
    places = [float(post.y if axis else post.x) for post in posts] or [0.0]
    return max(places) - min(places) + 2 * _BESIDE_POSTS
