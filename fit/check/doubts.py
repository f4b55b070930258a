"""How uncertain the written sizes behind a solid are."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from functools import lru_cache
from typing import Any

from fit.geometry.fixtures import LIP, post_name, rib_name
from fit.geometry.noses import nose_body
from fit.geometry.scene import Body, Scene
from fit.model.build import Used
from fit.model.part import Board, Part
from fit.units import Length


def widest(sizes: object) -> float:
    """The largest uncertainty among the lengths of anything from the model, mm."""
    if isinstance(sizes, Length):
        return sizes.plus_minus
    if isinstance(sizes, tuple):
        return max(map(widest, sizes), default=0.0)
    most = 0.0
    kind: Any = type(sizes)
    for name in _fields(kind):
        value = getattr(sizes, name)
        if not isinstance(value, str | int):
            most = max(most, widest(value))
    return most


@lru_cache(maxsize=64)
def _fields(kind: type) -> tuple[str, ...]:
    """Names of the fields of a class of the model; none of anything else."""
    return tuple(f.name for f in fields(kind)) if is_dataclass(kind) else ()


_KEPT: dict[int, tuple[Part, float]] = {}
_MOST_KEPT = 4096


def part_doubt(part: Part) -> float:
    """As `widest`, worked out once for each part as described.

    By the object itself: two parts of the same sizes may be known to different exactness.
    """
    kept = _KEPT.get(id(part))
    if kept is None or kept[0] is not part:
        if len(_KEPT) >= _MOST_KEPT:
            _KEPT.clear()
        kept = _KEPT[id(part)] = (part, widest(part))
    return kept[1]


def board_doubt(used: Used, part: Board, body: Body) -> float:
    """The largest uncertainty behind one body of a board: of its own zone or nose, mm."""
    own = [part.size, part.thickness, part.underside, part.holes, part.notches]
    zones = [z for z in part.zones if z.name == body.name]
    noses = [n for n in part.noses if nose_body(n) == body.name]
    return max(map(widest, (*own, *zones, *noses, used.standoff, used.at)))


def moulded_doubts(scene: Scene) -> dict[str, float]:
    """The largest uncertainty of each post, rib and of the lip, mm, by name."""
    tray = scene.build.box
    doubts = {post_name(p): widest(p) for p in tray.posts}
    doubts |= {rib_name(r): widest(r) for r in tray.ribs}
    doubts[LIP] = widest(tray.lid.lip)
    return doubts
