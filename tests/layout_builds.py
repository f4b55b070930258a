"""Small random builds with a part or a few left open, and a plain search to judge the solver by.

The search knows nothing of the solver: it puts the parts on a grid of places and asks the check.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from random import Random

from fit.findings import UnusableInput
from fit.geometry.box import faces
from fit.geometry.scene import Opening
from fit.model.box import Post, Tray
from fit.model.build import Build, Drawer, Place, Used
from fit.model.part import BushingPart, Gland, Grommet, Part
from fit.model.words import FaceName, Half, HandsName, PostUse
from fit.solve.verdict import Verdict, judged
from fit.units import Length as L
from tests import random_parts as some
from tests.random_parts import at, chance
from tests.trays import flat_lid, tray, wall

DRAWER = Drawer(name="bits", bits=(L(3), L(6), L(10)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A build with open parts."""

    build: Build
    open_: tuple[str, ...]


def small_tray(rng: Random) -> Tray:
    """A little tray, its walls upright or leaning; some with closing posts."""
    length, width = float(rng.randint(44, 80)), float(rng.randint(38, 60))
    height = float(rng.randint(26, 44))
    posts: tuple[Post, ...] = ()
    if chance(rng, 0.5):
        posts = tuple(
            Post(name=f"C{n}", half=Half.BODY, x=L(sx * (length / 2 - 7)),
                 y=L(sy * (width / 2 - 7)), tip=L(5), foot=L(6), height=L(height - 6),
                 use=PostUse.CLOSING)
            for n, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)), 1)
        )  # fmt: skip
    walls = dict.fromkeys(
        ("front", "back", "left", "right"),
        wall(rng.choice((0.0, 1.0, 2.0)), rng.choice((2.0, 2.5))),
    )
    return tray(
        name="little", length=L(length), width=L(width), height=L(height), floor=L(2.5),
        lid=flat_lid(2.5), corner_outer=L(4), corner_inner=L(2), posts=posts, ribs=(), **walls,
    )  # fmt: skip


def _part(rng: Random, room: float) -> Part:
    roll = rng.random()
    if roll < 0.6:
        return some.some_bushing(rng, room)
    if roll < 0.75:
        return some.some_grommet(rng)
    if roll < 0.85:
        return some.some_gland(rng)
    if roll < 0.93:
        return some.some_panel(rng, room)
    return some.some_holder(rng, room * 0.5)


_FACES = (FaceName.FRONT, FaceName.BACK, FaceName.RIGHT, FaceName.LID, FaceName.FLOOR)


def random_asked(seed: int, *, most_open: int = 3) -> Asked:
    """The build of a seed: up to two fixed parts, then open ones on one or two faces."""
    rng = Random(seed)
    box = small_tray(rng)
    room = min(float(box.length), float(box.width)) * rng.choice((0.2, 0.4, 0.6))
    sides = rng.sample(_FACES, rng.choice((1, 1, 2)))
    parts: list[Used] = []
    for n in range(rng.choice((0, 1, 2))):
        face = rng.choice((*sides, *_FACES))
        spot = _somewhere(rng, box, face)
        parts.append(Used(name=f"fixed{n}", part=_part(rng, room), on=face, at=spot))
    count = rng.randint(1, most_open)
    for n in range(count):
        part = _part(rng, room)
        face = rng.choice(sides)
        also = tuple(s for s in sides if s is not face) if chance(rng, 0.15) else ()
        turns = () if isinstance(part, BushingPart | Gland | Grommet) else rng.choice(((), (90,)))
        place: Place | None = None
        if chance(rng, 0.2):
            spot = _somewhere(rng, box, face)
            place = replace(spot, **{rng.choice(("across", "up")): None})  # type: ignore[arg-type]
        used = Used(name=f"open{n}", part=part, on=face, also_on=also, at=place, turns=turns)
        parts.append(used)
    build = Build(
        name=f"random {seed}",
        box=box,
        drawer=DRAWER,
        parts=tuple(parts),
        stands_on=rng.choice((FaceName.FLOOR, FaceName.FLOOR, FaceName.LID, FaceName.BACK)),
        carrier=rng.choice((Half.BODY, Half.LID)),
        hands=rng.choice(tuple(HandsName)),
    )
    return Asked(build=build, open_=tuple(u.name for u in parts if u.name.startswith("open")))


def _somewhere(rng: Random, box: Tray, face: FaceName) -> Place:
    across, up = zip(*faces(box)[face].flat, strict=True)
    mid = [(min(c) + max(c)) / 2 for c in (across, up)]
    half = [(max(c) - min(c)) / 2 for c in (across, up)]
    spot = [m + h * rng.uniform(-0.5, 0.5) for m, h in zip(mid, half, strict=True)]
    return Place(across=at(spot[0]), up=at(spot[1]))


# --- the plain search -------------------------------------------------------------------------

Spot = tuple[FaceName, int, float | None, float | None]
"""Face, turn, across and up of a part; None keeps what is written."""


def spots(build: Build, name: str, step: float = 1.0) -> Iterator[Spot]:
    """Every place of an open part on a grid of its face or faces."""
    used = build.part(name)
    assert isinstance(used.on, FaceName)
    place = used.at or Place()
    for face in (used.on, *used.also_on):
        across, up = zip(*faces(build.box)[face].flat, strict=True)
        ways = [
            _grid(values, step) if given is None else (None,)
            for values, given in ((across, place.across), (up, place.up))
        ]
        for turn in (used.turn, *used.turns):
            for a, u in itertools.product(*ways):
                yield face, turn, a, u


def _grid(values: Sequence[float], step: float) -> tuple[float, ...]:
    low, high = math.ceil(min(values) / step), math.floor(max(values) / step)
    return tuple(step * k for k in range(low, high + 1))


def put(build: Build, places: dict[str, Spot]) -> Build:
    """The build with open parts put there; parts left out of `places` are left out of it."""
    parts = []
    for used in build.parts:
        if used.name in places:
            face, turn, across, up = places[used.name]
            place = used.at or Place()
            place = replace(
                place,
                across=place.across if across is None else at(across),
                up=place.up if up is None else at(up),
            )
            parts.append(replace(used, on=face, also_on=(), turn=turn, turns=(), at=place))
        elif not used.name.startswith("open"):
            parts.append(used)
    return replace(build, parts=tuple(parts))


def verdict(build: Build, places: dict[str, Spot]) -> Verdict | None:
    """What the check says of these places; None where the box cannot even have them."""
    try:
        return judged(put(build, places), tuple(places))
    except UnusableInput:
        return None


def good_alone(build: Build, name: str, step: float = 1.0) -> dict[Spot, Verdict]:
    """The places where a part clashes with nothing, all other open parts being left out."""
    found = {}
    for spot in spots(build, name, step):
        said = verdict(build, {name: spot})
        if said is not None and said.good:
            found[spot] = said
    return found


def first_together(
    build: Build, names: tuple[str, str], step: float = 1.0
) -> dict[str, Spot] | None:
    """A pair of places that both can have at once; None where there is none on the grid.

    Taking a part away never makes a clash, so each must be good alone. Pairs whose cuts overlap
    on a face are passed over unasked.
    """
    one, two = (good_alone(build, name, step) for name in names)
    for a, b in itertools.product(one, two):
        if _cuts_meet(one[a], two[b], names):
            continue
        places = dict(zip(names, (a, b), strict=True))
        said = verdict(build, places)
        if said is not None and said.good:
            return places
    return None


def _cuts_meet(a: Verdict, b: Verdict, names: tuple[str, str]) -> bool:
    for one in a.scene.openings:
        for two in b.scene.openings:
            if one.part == names[0] and two.part == names[1] and one.face is two.face:
                apart = math.hypot(one.across - two.across, one.up - two.up)
                if apart < _least(one) + _least(two):
                    return True
    return False


def _least(opening: Opening) -> float:
    """A disc about the middle that an opening surely holds."""
    return (opening.diameter or min(opening.width, opening.height)) / 2
