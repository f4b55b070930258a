"""Near misses: a part of a build brought to within half a millimetre of touching something."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

from fit.geometry.assemble import assemble
from fit.geometry.containment import wall_margins
from fit.geometry.distance import box_gap, gap
from fit.geometry.frames import Vec, dot
from fit.geometry.scene import BOX, Scene
from fit.geometry.support import bounds
from fit.geometry.sweep import Way, swept
from fit.model.build import Build, Place, Used
from fit.model.part import Board, BushingPart, Holder, PanelPart
from fit.model.words import Half
from fit.units import Length as L
from tests.random_parts import at, chance

_SIGHT = 12.0
"""Further than this, mm, no part is moved to come near to something."""


@dataclass(frozen=True, slots=True)
class _Close:
    """A part, how far it is from something, and the direction to that."""

    owner: str
    mm: float
    along: Vec


def nudged(rng: Random, build: Build) -> Build:
    """One part brought to within half a millimetre of touching something."""
    scene = assemble(build)
    listed = [c for c in _close(rng, scene) if abs(c.mm) < _SIGHT]
    rng.shuffle(listed)
    size = rng.choice((rng.uniform(0.05, 0.5), rng.uniform(0.05, 0.5), rng.uniform(0.001, 0.05)))
    target = size if chance(rng, 0.75) else -size
    if not build.needs:
        target += 1.0  # what most things need beside each other
    for close in listed[:8]:
        moved = _moved(rng, build, scene, close, target)
        if moved is not None:
            return moved
    return build


def _close(rng: Random, scene: Scene) -> Iterator[_Close]:
    """Some near neighbours: side by side, beside walls, and on the lid's way."""
    mine = [b for b in scene.bodies if b.owner != BOX]
    if not mine:
        return
    owners = list(dict.fromkeys(b.owner for b in mine))
    for owner in rng.sample(owners, min(5, len(owners))):
        yield from _neighbours(scene, owner)
    for _ in range(12):
        a = rng.choice(mine)
        if a.outside:
            continue
        room = rng.choice(wall_margins(scene.build.box, a.shape, a.pose))
        if room.face is not a.seat:
            yield _Close(a.owner, room.mm, scene.faces[room.face].frame.z)
    hung = [b for b in scene.bodies if b.half is Half.LID and not b.outside]
    below = [b for b in scene.bodies if b.half is Half.BODY and not b.outside]
    for _ in range(20):
        if not hung or not below:
            return
        a, b = rng.choice(hung), rng.choice(below)
        if a.owner == BOX and b.owner == BOX:
            continue
        for shape, pose in swept(a.shape, a.pose, Way(up=True, to=scene.build.box.height)):
            found = gap(shape, pose, b.shape, b.pose)
            yield _Close(a.owner, found.mm, found.along)
            if a.owner == BOX:
                back = found.along
                yield _Close(b.owner, found.mm, (-back[0], -back[1], -back[2]))


def _neighbours(scene: Scene, owner: str) -> Iterator[_Close]:
    """The three nearest things beside a part, each by its nearest solid."""
    found: dict[str, _Close] = {}
    for a in scene.bodies:
        if a.owner != owner:
            continue
        box = bounds(a.shape, a.pose)
        for b in scene.bodies:
            if b.owner == owner or a.outside is not b.outside:
                continue
            if box_gap(box, bounds(b.shape, b.pose)) > _SIGHT:
                continue
            between = gap(a.shape, a.pose, b.shape, b.pose)
            name = b.owner if b.owner != BOX else b.name
            if name not in found or between.mm < found[name].mm:
                found[name] = _Close(owner, between.mm, between.along)
    yield from sorted(found.values(), key=lambda c: c.mm)[:3]


def _moved(rng: Random, build: Build, scene: Scene, close: _Close, target: float) -> Build | None:
    if close.owner == BOX:
        return None
    used = build.part(close.owner)
    placed = scene.placed[used.name]
    if placed.face is None:
        return None
    frame = scene.faces[placed.face].frame
    flat = dot(close.along, frame.x), dot(close.along, frame.y)
    size = math.hypot(*flat)
    step = close.mm - target
    deeper = dot(close.along, frame.z)
    if size > 0.4 and used.at is not None and used.at.up is not None and abs(step) < _SIGHT:
        by = step / size**2
        place = Place(across=at(placed.across + flat[0] * by), up=at(placed.up + flat[1] * by))
        return _with(build, replace(used, at=place))
    if deeper < -0.6:
        return _with(build, _deeper(rng, used, step / -deeper))
    return None


def _deeper(rng: Random, used: Used, by: float) -> Used:
    """The part, reaching further into the box by so much."""
    part = used.part
    if isinstance(part, BushingPart | PanelPart):
        hull = replace(part.hull, depth=L(max(1.0, part.hull.depth + by)))
        return replace(used, part=replace(part, hull=hull))
    if isinstance(part, Holder):
        w, d, h = part.size
        return replace(used, part=replace(part, size=(w, d, L(max(1.0, h + by)))))
    if isinstance(part, Board) and used.standoff is not None:
        return replace(used, standoff=L(max(1.0, used.standoff + by)))
    if isinstance(part, Board) and part.zones:
        zones = list(part.zones)
        k = rng.randrange(len(zones))
        zones[k] = replace(zones[k], height=L(max(0.5, zones[k].height + by)))
        return replace(used, part=replace(part, zones=tuple(zones)))
    return used


def _with(build: Build, used: Used) -> Build:
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))
