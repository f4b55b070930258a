"""Small random builds whose places are written in every way, for tests of other boxes."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble, face_of
from fit.geometry.box import faces
from fit.geometry.places import along
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import BushingPart, Gland, Grommet, Holder, PanelPart, RimSwitch
from fit.model.words import UPRIGHT
from fit.solve.other.goes import first_clash
from fit.units import Length as L
from tests import random_builds as more
from tests.random_holes import with_holes

_ACROSS = (How.AT, How.FROM_LEFT, How.FROM_RIGHT, How.SHARE, How.CENTRE)
_UP_UPRIGHT = (How.AT, How.FROM_RIM, How.FROM_FLOOR, How.SHARE, How.CENTRE)
_ROWS = (BushingPart, Gland, Grommet, PanelPart, Holder)
"""What may stand in a row."""

_UP_LEVEL = (How.AT, How.FROM_FRONT, How.FROM_BACK, How.SHARE, How.CENTRE)


def small_build(seed: int, most: int = 4, *, going: bool = True) -> Build:
    """A build of two to `most` parts; with `going` one that goes together in its own box."""
    rng = Random(seed)
    while True:
        build = more._filled(rng, more._empty(rng), rng.randint(2, most), True)
        build = replace(build, parts=tuple(_anchored(rng, build, used) for used in build.parts))
        try:
            assemble(build)
        except UnusableInput:
            continue
        if not going or first_clash(build) is None:
            return build


def opened(seed: int, most: int = 4) -> Build:
    """A small build in a box with holes, some of its parts left without a place.

    Every second one goes together where nothing is left open and no hole is there.
    """
    rng = Random(f"open {seed}")
    build = with_holes(rng, small_build(seed, most, going=seed % 2 == 0))
    parts = tuple(
        replace(used, at=None) if isinstance(used.part, _ROWS) and rng.random() < 0.6 else used
        for used in build.parts
    )
    return replace(build, parts=parts)


def _anchored(rng: Random, build: Build, used: Used) -> Used:
    """The part at the same spot, written from edges, as a share, or near the middle as `centre`."""
    place = used.at
    face_name = face_of(build, used)
    if place is None or place.beside is not None or face_name is None:
        return used
    face = faces(build.box)[face_name]
    ups = [p[1] for p in face.outline]
    low_up, high_up = min(ups), max(ups)
    up = place.up
    where = (low_up + high_up) / 2
    if up is not None and up.how is How.AT:
        where = float(up.value)
        ways = _UP_UPRIGHT if face_name in UPRIGHT else _UP_LEVEL
        up = _written(rng, ways, low_up, high_up, where)
        where = _back(up, low_up, high_up)
    if isinstance(used.part, RimSwitch):
        where = high_up - used.part.slot[1] / 2
    across = place.across
    if across is not None and across.how is How.AT:
        low, high = face.reach(where)
        across = _written(rng, _ACROSS, low, high, float(across.value))
    return replace(used, at=Place(across=across, up=up))


def _written(
    rng: Random, ways: tuple[How, ...], low: float, high: float, value: float
) -> Coordinate:
    how = rng.choice(ways)
    if how is How.CENTRE and abs(value - (low + high) / 2) > 3.0:
        how = How.AT
    given = {
        How.AT: value,
        How.CENTRE: 0.0,
        How.SHARE: (value - low) / (high - low),
    }
    near_high = how in (How.FROM_RIGHT, How.FROM_RIM, How.FROM_BACK)
    return Coordinate(how=how, value=L(given.get(how, high - value if near_high else value - low)))


def _back(coordinate: Coordinate, low: float, high: float) -> float:
    return along(low, high, coordinate)
