"""Patterns of holes for air or sound, and what sits behind them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fit.geometry.fixing import fixing_openings
from fit.geometry.piece import Mount, Piece
from fit.geometry.scene import Body, Cut, Opening, Role
from fit.geometry.shapes import Point2
from fit.model.build import Used
from fit.model.part import Grille
from fit.model.words import HolePattern

_SAME = 1e-9


def grille_spots(part: Grille) -> tuple[Point2, ...]:
    """The middles of a grille's holes from the part's middle, mm.

    Rings: one in the middle, then 6, 12, 18 … on circles one pitch apart, so that neighbours on
    a ring are at least a pitch apart: 2·k·pitch·sin(π/6k) ≥ pitch. Grid and slots: as many as
    stay in the area, in its middle.
    """
    if part.pattern is HolePattern.RINGS:
        return tuple(_rings(part))
    assert part.size is not None
    xs = _row(float(part.size[0]), part)
    if part.pattern is HolePattern.SLOTS:
        return tuple((x, 0.0) for x in xs)
    ys = _row(float(part.size[1]), part)
    return tuple((x, y) for y in reversed(ys) for x in xs)


def _rings(part: Grille) -> Iterator[Point2]:
    most = (part.outer - part.bit) / 2
    least = (part.inner + part.bit) / 2 if part.inner > 0 else 0.0
    for k in range(math.floor(most / part.pitch + _SAME) + 1):
        radius = k * part.pitch
        if radius < least - _SAME:
            continue
        count = max(1, 6 * k)
        for n in range(count):
            a = math.radians(90.0 - 360.0 * n / count)
            yield (radius * math.cos(a), radius * math.sin(a))


def _row(length: float, part: Grille) -> tuple[float, ...]:
    gaps = max(0, math.floor((length - part.bit) / part.pitch + _SAME))
    return tuple(part.pitch * (n - gaps / 2) for n in range(gaps + 1))


def grille_piece(used: Used, mount: Mount) -> Piece:
    """A grille's openings, and the body behind it."""
    part = used.part
    assert isinstance(part, Grille)
    openings = [_hole(part, mount, spot) for spot in grille_spots(part)]
    openings += fixing_openings(part.holes, mount, used.screws)
    bodies: list[Body] = []
    if part.body is not None:
        inner = -mount.wall
        bodies += mount.hull("body", part.body, inner, inner - part.body.depth)
    return Piece(bodies=tuple(bodies), openings=tuple(openings))


def _hole(part: Grille, mount: Mount, spot: Point2) -> Opening:
    bit = float(part.bit)
    if part.pattern is HolePattern.SLOTS:
        assert part.size is not None
        return mount.oblong(float(part.size[1]), bit, Role.VENT, spot, 90.0)
    return mount.hole(bit, Role.VENT, spot)


def open_area(openings: tuple[Opening, ...]) -> float:
    """What the holes of a grille leave open, mm² (holes that meet count twice)."""
    return sum(_area(o) for o in openings)


def _area(opening: Opening) -> float:
    if opening.cut is Cut.OBLONG:
        wide, long = sorted((opening.width, opening.height))
        return math.pi * wide**2 / 4 + wide * (long - wide)
    return math.pi * opening.diameter**2 / 4


def grille_groups(openings: tuple[Opening, ...]) -> tuple[tuple[Opening, ...], ...]:
    """Openings as they are counted on a sheet: the holes of a grille together, all others alone."""
    groups: dict[tuple[str, int], list[Opening]] = {}
    for n, opening in enumerate(openings):
        key = (opening.part, -1) if opening.role is Role.VENT else ("", n)
        groups.setdefault(key, []).append(opening)
    return tuple(tuple(group) for group in groups.values())
