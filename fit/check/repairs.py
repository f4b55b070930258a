"""The cheapest repair for things that stand too near each other, in words."""

from __future__ import annotations

import math

from fit.check.things import Solid, direction_word
from fit.geometry.frames import Vec, dot, norm, scale, sub
from fit.geometry.scene import Scene
from fit.model.part import Board
from fit.model.words import FaceName, Half, Seat
from fit.units import show

_LEAST_SHARE = 0.3
"""A part is not moved in its face when less than this share of the move would count."""

_MOST = 60.0
"""A move longer than this, mm, is no repair."""


def tenths(mm: float) -> str:
    """A length rounded up to a tenth, mm, as one moves or files by."""
    return show(math.ceil(mm * 10 - 1e-6) / 10, 1)


def moved_away(scene: Scene, solid: Solid, away: Vec, mm: float) -> str | None:
    """How to bring a solid ``mm`` further along ``away``; None where its part cannot be moved.

    Parts on a wall move in the plane of their wall, boards on spacers in theirs, or on longer
    or shorter spacers. Boards on posts, boards joined to others and moulded things stay.
    """
    placed = scene.placed.get(solid.body.owner)
    if placed is None or placed.face is None or mm > _MOST:
        return None
    used = placed.used
    if isinstance(used.part, Board):
        if used.on is Seat.POSTS:
            return None
        lift = away[2] if placed.half is Half.BODY else -away[2]
        if abs(lift) > 0.7:
            word = "longer" if lift > 0 else "shorter"
            return f"put {used.name} on spacers {tenths(mm / abs(lift))} mm {word}"
    n = placed.pose.z
    flat = sub(away, scale(n, dot(away, n)))
    size = norm(flat)
    if size < _LEAST_SHARE or mm / size > _MOST:
        return None
    way = direction_word(scale(flat, 1.0 / size))
    return f"move {used.name} {tenths(mm / size)} mm {way}"


def apart(scene: Scene, a: Solid, b: Solid, along: Vec, short: float) -> str:
    """The cheapest way to bring two solids ``short`` mm further apart; ``along`` from a to b."""
    back = scale(along, -1.0)
    options = [moved_away(scene, a, back, short), moved_away(scene, b, along, short)]
    found = [words for words in options if words is not None]
    if found:
        return ", or ".join(found)
    board = next((s for s in (a, b) if s.body.name == "slab"), None)
    if board is not None:
        other = b if board is a else a
        return (
            f"cut {board.label} back by {tenths(short)} mm there, or notch it round {other.label}"
        )
    return f"take a part {tenths(short)} mm smaller there, or put one of the two on another face"


def face_move(scene: Scene, solid: Solid, face: FaceName, short: float) -> str | None:
    """How to bring a solid ``short`` mm further from a wall, or None."""
    out = scene.faces[face].frame.z
    return moved_away(scene, solid, scale(out, -1.0), short)


def when_tight(a: str, b: str, margin: float, spread: float) -> str | None:
    """What to do about a margin that is smaller than the spread of the hands; None for more."""
    if margin >= spread:
        return None
    return f"hold {a} and {b} together in the box before anything is cut for good"
