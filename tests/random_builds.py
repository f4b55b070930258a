"""Random builds, the same for the same seed: good ones, near misses, and wild ones.

A good build is made part by part; a part goes in where the upright box round each of its solids
keeps off those of all others. A near miss is a good build in which one or more parts were moved
along their face, or made deeper, until they come within half a millimetre of something, on
either side of touching. In a wild build the parts lie as they fell.

In more than half of the builds nothing needs any gap, so that the grade of a finding changes just
where solids begin to overlap. Nothing here repairs a build, or asks the check.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations
from random import Random

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble, face_of
from fit.geometry.box import faces, inside, lid_inside
from fit.geometry.fixtures import fixtures
from fit.geometry.scene import BOX, Body, Scene
from fit.geometry.support import Bounds, bounds
from fit.model.box import Tray
from fit.model.build import Build, Coordinate, Drawer, How, Need, Place, Used
from fit.model.part import Board, Holder, Part, RimSwitch
from fit.model.words import UPRIGHT, FaceName, Half, HandsName, LidKind, PostUse, Seat
from fit.units import Length as L
from tests import random_parts as some
from tests.random_holes import with_holes
from tests.random_near import nudged
from tests.random_parts import at, between, chance

_DRAWER = Drawer(name="bits", bits=(L(3), L(6), L(10)))

_TRIES = 120


class Kind(StrEnum):
    """How a build was made."""

    GOOD = "good"
    NEAR = "near miss"
    WILD = "wild"


@dataclass(frozen=True, slots=True, kw_only=True)
class RandomBuild:
    """A build and how it was made."""

    kind: Kind
    build: Build


def random_build(seed: int, *, holes: bool = False) -> RandomBuild:
    """The build of a seed; with `holes` the same in a box that has some already."""
    made = _random_build(seed)
    if not holes:
        return made
    return replace(made, build=with_holes(Random(f"holes {seed}"), made.build))


def _random_build(seed: int) -> RandomBuild:
    rng = Random(seed)
    kind = rng.choices((Kind.GOOD, Kind.NEAR, Kind.WILD), (38, 54, 8))[0]
    build = _empty(rng)
    count = rng.randint(5, 25) if kind is not Kind.WILD else rng.randint(5, 9)
    build = _filled(rng, build, count, kind is not Kind.WILD)
    if kind is Kind.NEAR:
        for _ in range(rng.choice((1, 1, 1, 2))):
            build = nudged(rng, build)
    return RandomBuild(kind=kind, build=build)


def _empty(rng: Random) -> Build:
    tray = some.some_tray(rng)
    rules = ("bodies", "walls", "lid", "going-in")
    needs = tuple(Need(rule=r, value=L(0)) for r in rules) if chance(rng, 0.65) else ()
    return Build(
        name="random",
        box=tray,
        drawer=_DRAWER,
        stands_on=FaceName.LID if chance(rng, 0.3) else FaceName.FLOOR,
        carrier=Half.LID if chance(rng, 0.3) else Half.BODY,
        hands=rng.choice(tuple(HandsName)),
        needs=needs,
    )


# --- filling --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Taken:
    """The upright box round a body, and what it belongs to."""

    owner: str
    half: Half
    outside: bool
    box: Bounds
    lowered: bool = False


def _taken(body: Body, *, lowered: bool = False) -> _Taken:
    box = bounds(body.shape, body.pose)
    return _Taken(body.owner, body.half, body.outside, box, lowered)


def _filled(rng: Random, build: Build, count: int, careful: bool) -> Build:
    taken = [_taken(b) for b in fixtures(build.box)]
    gap_wanted = rng.uniform(0.05, 1.5) if build.needs else rng.uniform(1.5, 3.0)
    misses = 0
    while len(build.parts) < count and misses < _TRIES:
        found = _group(rng, build, len(build.parts))
        alone = replace(build, parts=tuple(found))
        try:
            scene = assemble(alone)
        except UnusableInput:
            misses += 1
            continue
        assert not scene.open, scene.open
        names = {u.name for u in found}
        lowered = isinstance(found[0].part, Board | Holder) and found[0].on not in UPRIGHT
        own = [_taken(b, lowered=lowered) for b in scene.bodies if b.owner in names]
        if careful and not (
            _free(own, taken, gap_wanted) and _within(build.box, scene, names, gap_wanted)
        ):
            misses += 1
            continue
        taken += own
        build = replace(build, parts=(*build.parts, *found))
    return build


def _free(own: list[_Taken], taken: list[_Taken], gap_wanted: float) -> bool:
    if any(_near(a, b, -0.001) for a, b in combinations(own, 2)):
        return False
    return not any(
        _near(a, b, gap_wanted) or _on_the_way(a, b, gap_wanted) for a in own for b in taken
    )


def _near(a: _Taken, b: _Taken, by: float) -> bool:
    if a.outside is not b.outside or a.owner == b.owner:
        return False
    if BOX in (a.owner, b.owner):
        by = min(by, 0.3) if _rests(a, b) else by
    return all(a.box[0][i] < b.box[1][i] + by and b.box[0][i] < a.box[1][i] + by for i in range(3))


def _rests(a: _Taken, b: _Taken) -> bool:
    """Whether one lies on the other, as a board on its posts does: level faces, same height."""
    return abs(a.box[0][2] - b.box[1][2]) < 1e-6 or abs(b.box[0][2] - a.box[1][2]) < 1e-6


def _on_the_way(a: _Taken, b: _Taken, by: float) -> bool:
    """Whether two meet on a straight way: as the lid goes on, or as ``a`` goes to its seat."""
    if a.outside or b.outside:
        return False
    if a.half is b.half:
        if not (a.lowered and b.owner == BOX):
            return False
        by = 0.05
        low, high = (a, b) if a.half is Half.BODY else (b, a)
    else:
        low, high = (b, a) if a.half is Half.BODY else (a, b)
    # `low` is lifted out past `high`.
    level = all(a.box[0][i] < b.box[1][i] + by and b.box[0][i] < a.box[1][i] + by for i in (0, 1))
    return level and low.box[0][2] < high.box[1][2] + (by if a.half is not b.half else -0.001)


def _within(tray: Tray, scene: Scene, names: set[str], by: float) -> bool:
    """Whether the parts' inner solids lie inside the walls, roughly: by upright boxes."""
    top = tray.height - tray.lid.thickness
    for body in scene.bodies:
        if body.outside or body.owner not in names:
            continue
        low, high = bounds(body.shape, body.pose)
        rest = 1e-6 if body.seat in (FaceName.FLOOR, FaceName.LID) else by
        if low[2] < tray.floor + (rest if body.seat is FaceName.FLOOR else by) - 1e-9:
            return False
        if high[2] > top - (rest if body.seat is FaceName.LID else by) + 1e-9:
            return False
        deep = tray.lid.kind is LidKind.DEEP
        for z in (low[2], high[2]):
            room = lid_inside(tray, z) if deep and z > tray.rim else inside(tray, min(z, tray.rim))
            sides = {
                FaceName.LEFT: low[0] - room.x0,
                FaceName.RIGHT: room.x1 - high[0],
                FaceName.FRONT: low[1] - room.y0,
                FaceName.BACK: room.y1 - high[1],
            }
            sides.pop(body.seat, None)  # type: ignore[arg-type]
            if min(sides.values()) < by + room.radius * 0.3:
                return False
    return True


# --- one part, or boards that belong together -----------------------------------------------


def _group(rng: Random, build: Build, n: int) -> list[Used]:
    """A part at a random place; or a board with one standing on it and a display."""
    tray = build.box
    room = inside(tray, tray.rim / 2)
    deep = tray.rim - tray.floor
    roll = rng.random()
    first = not any(isinstance(u.part, Board) for u in build.parts)
    if roll < (0.7 if first else 0.12):
        return _boards(rng, build, n, room.width, room.depth, deep)
    name = f"p{n}"
    across_room = min(room.width, room.depth) * rng.choice((0.1, 0.2, 0.45))
    kinds: list[tuple[float, Part]] = [
        (5, some.some_bushing(rng, across_room)),
        (2, some.some_panel(rng, across_room)),
        (1.5, some.some_rim_switch(rng)),
        (1, some.some_taped(rng)),
        (1.5, some.some_gland(rng)),
        (1.5, some.some_grommet(rng)),
        (2.5, some.some_holder(rng, deep * 0.6)),
        (1.5, some.some_display(rng)),
    ]
    part = rng.choices([p for _, p in kinds], [w for w, _ in kinds])[0]
    from fit.model.part import Display

    on: FaceName | Seat = rng.choice(UPRIGHT if isinstance(part, RimSwitch) else tuple(FaceName))
    if isinstance(part, Holder) and chance(rng, 0.6):
        on = rng.choice((FaceName.FLOOR, FaceName.LID, Seat.CARRIER))
    turn = 0 if isinstance(part, RimSwitch) else rng.choice((0, 90, 180, 270))
    used = Used(
        name=name,
        part=part,
        on=on,
        turn=turn,
        window=some.some_window(rng) if isinstance(part, Display) else None,
        screws=some.some_screw(rng) if isinstance(part, Display) and chance(rng, 0.6) else None,
    )
    return [replace(used, at=_place(rng, build, used))]


def _place(rng: Random, build: Build, used: Used) -> Place:
    face = faces(build.box)[face_of(build, used) or FaceName.FLOOR]
    ups = [p[1] for p in face.outline]
    across = [p[0] for p in face.outline]
    if isinstance(used.part, RimSwitch):
        return Place(across=at(rng.uniform(min(across) * 0.9, max(across) * 0.9)))
    if chance(rng, 0.1):
        share = Coordinate(how=How.SHARE, value=L(round(rng.uniform(0.1, 0.9), 2)))
        return Place(across=share, up=at(rng.uniform(min(ups), max(ups))))
    return Place(
        across=at(rng.uniform(min(across) * 0.9, max(across) * 0.9)),
        up=at(rng.uniform(min(ups) * 0.9, max(ups) * 0.95)),
    )


def _boards(rng: Random, build: Build, n: int, wide: float, high: float, deep: float) -> list[Used]:
    tray = build.box
    name = f"p{n}"
    posts = [p for p in tray.posts if p.half is build.carrier and p.use is PostUse.BOARD]
    screws = some.some_screw(rng) if chance(rng, 0.6) else None
    tall = deep * rng.uniform(0.1, 0.6)
    if posts and chance(rng, 0.6) and not any(u.on is Seat.POSTS for u in build.parts):
        across = 2 * max(p.x for p in posts) + 12
        along = 2 * max(p.y for p in posts) + 12
        board = some.some_board(rng, min(wide - 4, across * 1.1), min(high - 4, along * 1.1), tall)
        # holes where the posts are not would only be more screws
        board = replace(board, holes=())
        main = Used(name=name, part=board, on=Seat.POSTS, screws=screws,
                    turn=rng.choice((0, 0, 0, 180)))  # fmt: skip
    else:
        size = rng.uniform(0.3, 0.8)
        board = some.some_board(rng, wide * size, high * size, tall)
        main = Used(
            name=name,
            part=board,
            on=rng.choice((FaceName.FLOOR, FaceName.LID, Seat.CARRIER)),
            standoff=between(rng, 3, 12),
            screws=screws,
            turn=rng.choice((0, 90, 180, 270)),
        )
        main = replace(main, at=_place(rng, build, main))
    if not chance(rng, 0.4):
        return [main]
    return [main, *_standing(rng, build, n, main, wide, deep)]


def _standing(
    rng: Random, build: Build, n: int, main: Used, wide: float, deep: float
) -> list[Used]:
    """A display behind a window, and the board that stands behind it."""
    display = some.some_display(rng)
    if chance(rng, 0.8):
        display = replace(display, rear=L(0))
    shown = Used(name=f"p{n + 1}", part=display, on=rng.choice(UPRIGHT),
                 window=some.some_window(rng), turn=rng.choice((0, 0, 180)))  # fmt: skip
    ups = [p[1] for p in faces(build.box)[_face(shown)].outline]
    shown = replace(
        shown,
        at=Place(across=at(rng.uniform(-15, 15)), up=at(max(ups) * rng.uniform(0.3, 0.8))),
    )
    upright = some.some_board(rng, wide * 0.6, deep * rng.uniform(0.4, 0.8), 5.0)
    upright = replace(upright, holes=())
    return [
        shown,
        Used(name=f"p{n + 2}", part=upright, joined_to=main.name, carries=(shown.name,),
             joint=some.some_joint(rng) if chance(rng, 0.8) else None),
    ]  # fmt: skip


def _face(used: Used) -> FaceName:
    assert isinstance(used.on, FaceName)
    return used.on
