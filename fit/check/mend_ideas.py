"""What might mend a clash: changes to a build, to be tried by the checker before they are told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from fit.check.mend_boards import (
    holes_inwards,
    notches,
    other_screws,
    other_size,
    other_spacers,
)
from fit.check.mend_change import Change, Trial
from fit.check.mend_moves import moves, other_faces, other_half, turned, zone_moves
from fit.check.mend_parts import (
    gap_larger,
    hole_larger,
    slot_deeper,
    washer_out,
    window_resized,
)

Ideas = Callable[[Trial], Iterator[Change]]
"""Changes worth trying for one clash."""

_SOLIDS: Final[tuple[Ideas, ...]] = (
    moves,
    zone_moves,
    other_spacers,
    turned,
    other_size,
    notches,
    other_faces,
    other_half,
)
"""For two things in one place, or one where a wall or the lid is."""

_ON_FACE: Final[tuple[Ideas, ...]] = (moves, turned, other_faces)
"""For openings and what stands on a face."""

_BY_RULE: Final[dict[str, tuple[Ideas, ...]]] = {
    "bodies": _SOLIDS,
    "walls": _SOLIDS,
    "lid": _SOLIDS,
    "going-in": _SOLIDS,
    "order": _SOLIDS,
    "driver": (zone_moves, other_spacers, moves, other_size),
    "joint-square": (moves, other_size, gap_larger),
    "joint-screws": (other_size, moves),
    "joint-carried": (other_size, moves),
    "joint-holes": (other_size,),
    "webs": _ON_FACE,
    "old-cover": _ON_FACE,
    "edges": _ON_FACE,
    "posts-behind": _ON_FACE,
    "spanner": _ON_FACE,
    "fingers": _ON_FACE,
    "plugs": _ON_FACE,
    "step-bit": _ON_FACE,
    "stands": _ON_FACE,
    "panel-thickness": (other_faces,),
    "battery-out": (moves, other_half),
    "window-view": (window_resized, gap_larger, moves),
    "window-border": (window_resized, moves),
    "display-clear": (gap_larger, moves),
    "thread": (washer_out, other_faces),
    "passes": (hole_larger,),
    "rim-slot": (slot_deeper,),
    "leads": (other_spacers,),
    "screw-length": (other_screws, other_spacers),
    "chuck": (other_screws,),
    "post-pilots": (other_screws,),
    "post-walls": (other_screws,),
    "post-holes": (other_screws, other_size),
    "screw-holes": (other_screws,),
    "screw-free": (zone_moves, other_screws, other_size),
    "hole-edges": (holes_inwards, other_size, other_screws),
    "notch-rows": (other_size,),
}
"""What is worth trying for a clash of a rule."""


def ideas(trial: Trial) -> tuple[Change, ...]:
    """Every change worth trying for a clash, the cheapest first."""
    found: list[Change] = []
    for make in _BY_RULE.get(trial.finding.rule, ()):
        found += make(trial)
    return tuple(sorted(found, key=lambda change: change.cost))
