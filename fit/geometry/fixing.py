"""Screw holes through a wall: round ones, slots, countersunk ones."""

from __future__ import annotations

from collections.abc import Sequence

from fit.geometry.piece import Mount
from fit.geometry.scene import Opening, Role
from fit.model.part import FixingHole, Screw
from fit.trade.screws import HeadForm, head
from fit.trade.tables import UnknownName


def sink_of(screw: Screw | None) -> float:
    """Diameter of the countersink that takes a screw's head level, mm; 0 for other heads.

    Where the cone of its head would end without its rim (ISO 7046); for threads the table does
    not have, the head as it is written.
    """
    if screw is None or not screw.countersunk:
        return 0.0
    try:
        listed = head(screw.thread, HeadForm.COUNTERSUNK).sharp_diameter or 0.0
    except UnknownName:
        listed = 0.0
    return max(listed, float(screw.head.diameter))


def fixing_openings(
    holes: Sequence[FixingHole], mount: Mount, screw: Screw | None = None
) -> list[Opening]:
    """The screw holes of a part, countersunk outside for a countersunk screw."""
    found = []
    for hole in holes:
        at = (float(hole.x), float(hole.y))
        if hole.long > hole.diameter:
            found.append(
                mount.oblong(float(hole.long), float(hole.diameter), Role.SCREW, at, hole.turn)
            )
        else:
            found.append(mount.hole(float(hole.diameter), Role.SCREW, at, sink=sink_of(screw)))
    return found
