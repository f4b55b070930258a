"""Random holes a box has already, as a careful person would have measured them.

Each lies within its face and clear of feet, ribs and other holes, so a box file with it is taken.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Any

from fit.geometry.assemble import assemble
from fit.geometry.box import Face, faces
from fit.model.box import Hole, Tray
from fit.model.build import Build
from fit.model.rounded import Rounded
from fit.model.words import FaceName, Half, LidKind
from fit.units import Length as L
from tests.random_parts import at, chance

_CLEAR = 0.5
"""Holes keep so far off everything, mm."""

_TRIES = 40


def with_holes(rng: Random, build: Build, most: int = 4) -> Build:
    """The build in its box with holes: some about as wide as what it wants cut, and near there.

    Args:
        rng: where chance comes from.
        build: any build.
        most: so many holes at the most.
    """
    box = replace(build.box, holes=())
    known, taken = faces(box), dict[FaceName, list[Rounded]]()
    holes: list[Hole] = []
    wanted = list(_wanted(rng, replace(build, box=box)))
    rng.shuffle(wanted)
    for hole in (*wanted[: rng.randint(0, most)], *_anywhere(rng, known)):
        if len(holes) == most:
            break
        face = known[hole.on]
        outline = hole.outline(float(hole.across.value), float(hole.up.value))
        others = taken.setdefault(hole.on, list(_feet(box, face)))
        if _within(face, outline) and all(outline.apart(o) > _CLEAR for o in others):
            others.append(outline)
            holes.append(replace(hole, name=f"h{len(holes)}"))
    return replace(build, box=replace(box, holes=tuple(holes)))


def _wanted(rng: Random, build: Build) -> Iterator[Hole]:
    """Holes by the openings of what has a place: some serve it, some are just too small."""
    for opening in assemble(build).openings:
        across, up = (v + rng.choice((0.0, 0.0, rng.gauss(0, 0.4))) for v in
                      (opening.across, opening.up))  # fmt: skip
        more = rng.choice((0.0, 0.2, 0.5, -0.5, rng.uniform(-2.0, 2.0)))
        spot: dict[str, Any] = {"on": opening.face, "across": at(across), "up": at(up)}
        if opening.width > 0 and opening.height > 0:
            size = (L(max(1.0, opening.width + more)), L(max(1.0, opening.height + more)))
            yield Hole(name="", size=size, **spot)
        elif opening.diameter > 0:
            yield Hole(name="", diameter=L(max(1.0, opening.diameter + more)), **spot)


def _anywhere(rng: Random, known: dict[FaceName, Face]) -> Iterator[Hole]:
    for _ in range(_TRIES):
        name = rng.choice(tuple(FaceName))
        across, up = zip(*known[name].flat, strict=True)
        spot: dict[str, Any] = {
            "on": name,
            "across": at(rng.uniform(min(across), max(across))),
            "up": at(rng.uniform(min(up), max(up))),
            "knock_out": chance(rng, 0.15),
        }
        wide = round(rng.uniform(3, 22), 1)
        if chance(rng, 0.6):
            yield Hole(name="", diameter=L(wide), **spot)
            continue
        spot["turn"] = float(rng.choice((0, 90, 90, 30)))
        high = round(rng.uniform(3, 15), 1)
        if chance(rng, 0.3):
            yield Hole(name="", diameter=L(high), long=L(high + wide), **spot)
        else:
            yield Hole(name="", size=(L(wide), L(high)), **spot)


def _within(face: Face, outline: Rounded) -> bool:
    points = face.flat
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        out = ((y1 - y0) / length, (x0 - x1) / length)
        if outline.reach(*out) > out[0] * x0 + out[1] * y0 - _CLEAR:
            return False
    return True


def _feet(box: Tray, face: Face) -> Iterator[Rounded]:
    """What was moulded onto a face, in its frame."""
    half = {FaceName.FLOOR: Half.BODY, FaceName.LID: Half.LID}.get(face.name)
    for post in box.posts:
        if post.half is half:
            x, y, _ = face.frame.inside((float(post.x), float(post.y), 0.0))
            yield Rounded(((x, y),), float(post.foot) / 2)
    for rib in box.ribs:
        if rib.on is face.name:
            ends = tuple((float(x), float(y)) for x, y in (rib.start, rib.end))
            yield Rounded(ends, float(rib.thickness) / 2)


def as_file(box: Tray) -> dict[str, Any]:
    """What a box file says of a box and its holes, its posts and ribs with it."""
    deep = box.lid.kind is LidKind.DEEP
    lid: dict[str, Any] = {"kind": box.lid.kind.value, "thickness": float(box.lid.thickness)}
    if deep:
        lid |= {"height": float(box.lid.height), "wall": float(box.lid.wall),
                "draft": float(box.lid.draft)}  # fmt: skip
    return {
        "box": box.name,
        "outside": [float(box.length), float(box.width), float(box.height)],
        "walls": {
            "thickness": float(box.front.thickness),
            **{
                name: {"thickness": float(wall.thickness), "draft": float(wall.draft)}
                for name, wall in (("front", box.front), ("back", box.back),
                                   ("left", box.left), ("right", box.right))
            },
        },
        "floor": float(box.floor),
        "lid": lid,
        "posts": [
            {
                "name": post.name, "in": post.half.value, "at": [float(post.x), float(post.y)],
                "tip": float(post.tip), "foot": float(post.foot), "height": float(post.height),
                "use": post.use.value,
            }
            for post in box.posts
        ],
        "ribs": [
            {
                "name": rib.name, "on": rib.on.value, "from": [float(v) for v in rib.start],
                "to": [float(v) for v in rib.end], "thickness": float(rib.thickness),
                "depth": float(rib.depth),
            }
            for rib in box.ribs
        ],
        "holes": [_hole(hole) for hole in box.holes],
    }  # fmt: skip


def _hole(hole: Hole) -> dict[str, Any]:
    told: dict[str, Any] = {
        "name": hole.name,
        "on": hole.on.value,
        "at": {"across": float(hole.across.value), "up": float(hole.up.value)},
        "turn": hole.turn,
        "knock_out": hole.knock_out,
    }
    if hole.size is not None:
        return {**told, "size": [float(v) for v in hole.size]}
    long = {"long": float(hole.long)} if hole.long > hole.diameter else {}
    return {**told, "diameter": float(hole.diameter), **long}
