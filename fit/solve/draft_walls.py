"""What boxes of a layout question stay within: inner walls, rounded corners, edges of faces."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from fit.geometry.box import floor_top, inner_planes, inside
from fit.geometry.frames import Vec, dot
from fit.model.words import UPRIGHT, FaceName, Half
from fit.solve.draft import Draft
from fit.solve.matter import Layer, Sort
from fit.solve.problem import Wall

_FINE = 100_000
"""Whole numbers stand for the components of a unit normal times this."""

_CHORDS = 3
"""A rounded corner counts as so many planes …"""

_FINER = 9
"""… and where parts are looked at closer as so many."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A half space ``normal · x <= offset`` to keep `need` within, mm.

    What is set against a wall is held by the corner beside it only where it does not reach into
    that wall, as what looks through it may: `seat` is then the half space of the wall.
    """

    normal: Vec
    offset: float
    need: float
    seat: tuple[Vec, float] | None = None


def walls_of(draft: Draft, layers: Iterable[Layer]) -> Iterator[Wall]:
    """What boxes of these layers stay within, for the engine."""
    for layer in sorted(layers, key=draft.name):
        for limit in limits(draft, layer):
            if limit.seat is None:
                yield _wall(draft, layer, limit)


def limits(draft: Draft, layer: Layer) -> Iterator[Limit]:
    """What things of a layer stay within."""
    if layer.sort in (Sort.SOLID, Sort.SPANNER):
        yield from _inner_walls(draft, layer)
    elif layer.sort is Sort.CUT and layer.face is not None:
        yield from _edges(draft, layer, layer.face)


def _inner_walls(draft: Draft, layer: Layer) -> Iterator[Limit]:
    tray = draft.build.box
    for plane in inner_planes(tray):
        need = draft.needs.to_wall(layer, plane.face, plane.half)
        if need is not None:
            yield Limit(_less(plane.normal), -plane.offset, need)
    if layer.outside or layer.half is Half.LID:
        return
    for front, side in (
        (f, s) for f in (FaceName.FRONT, FaceName.BACK) for s in (FaceName.LEFT, FaceName.RIGHT)
    ):
        needs = [draft.needs.to_wall(layer, f, Half.BODY) for f in (front, side)]
        known = [n for n in needs if n is not None]
        seat = _seat(draft, layer, (front, side))
        if len(known) < len(needs) and seat is None:
            continue
        need = min(known) if seat is None else 0.0
        for normal, offset in _corner(draft, front, side):
            yield Limit(normal, offset, need, seat)


def _seat(draft: Draft, layer: Layer, walls: tuple[FaceName, FaceName]) -> tuple[Vec, float] | None:
    """The wall that a solid is set against, if it is one of these: ``normal · x <= offset``."""
    if layer.sort is not Sort.SOLID or layer.face not in walls or layer.moulded:
        return None
    return next(
        (_less(plane.normal), -plane.offset)
        for plane in inner_planes(draft.build.box)
        if plane.face is layer.face and plane.half is Half.BODY
    )


def _corner(draft: Draft, front: FaceName, side: FaceName) -> Iterator[tuple[Vec, float]]:
    """Planes across a rounded upright corner: its chords, or on the loose side its tangents."""
    tray = draft.build.box
    levels = [inside(tray, z) for z in (floor_top(tray), tray.rim)]
    sx, sy = (1 if side is FaceName.RIGHT else -1), (1 if front is FaceName.BACK else -1)
    count = _CHORDS if draft.narrow is None else _FINER
    half = 45.0 / count
    for degrees in ((2 * n + 1) * half for n in range(count)):
        nx, ny = sx * math.cos(math.radians(degrees)), sy * math.sin(math.radians(degrees))
        reaches = []
        for level in levels:
            cx = (level.x1 - level.radius) if sx > 0 else (level.x0 + level.radius)
            cy = (level.y1 - level.radius) if sy > 0 else (level.y0 + level.radius)
            share = 1.0 if draft.loose else math.cos(math.radians(half))
            reaches.append(nx * cx + ny * cy + level.radius * share)
        slope = (reaches[1] - reaches[0]) / (tray.rim - floor_top(tray))
        size = math.sqrt(1 + slope * slope)
        normal = (nx / size, ny / size, -slope / size)
        yield normal, (reaches[0] - slope * floor_top(tray)) / size


def _edges(draft: Draft, layer: Layer, name: FaceName) -> Iterator[Limit]:
    """The edges of a cut's face, and of its flat part, as planes square to the face."""
    face = draft.look.scene.faces[name]
    for points, flat in ((face.outline, False), (face.flat, True)):
        for (ax, ay), (bx, by) in zip(points, (*points[1:], points[0]), strict=True):
            length = math.hypot(bx - ax, by - ay)
            na, nu = (by - ay) / length, (ax - bx) / length
            normal = face.frame.direction((na, nu, 0.0))
            on_edge = face.frame.point((ax, ay, 0.0))
            rim = name in UPRIGHT and normal[2] > 0.5
            if rim and layer.at_rim:
                continue
            need = 0.0 if flat else draft.needs.to_edge(layer, rim=rim)
            yield Limit(normal, dot(normal, on_edge), need)


def _less(v: Vec) -> Vec:
    return (-v[0], -v[1], -v[2])


def _wall(draft: Draft, layer: Layer, limit: Limit) -> Wall:
    """A half space ``normal · x <= offset``, in whole numbers and to the question's side."""
    normal = limit.normal
    whole = (round(_FINE * normal[0]), round(_FINE * normal[1]), round(_FINE * normal[2]))
    # The rounded normal may point off by half a unit on each axis.
    box = draft.build.box
    off = 0.5 * (float(box.length) + float(box.width) + float(box.height)) / draft.step
    at = _FINE * limit.offset / draft.step
    return Wall(
        normal=whole,
        offset=math.ceil(at + off) if draft.loose else math.floor(at - off),
        layers=frozenset({draft.name(layer)}),
        need=draft.grid.need(limit.need),
    )
