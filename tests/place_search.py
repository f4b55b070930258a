"""Every place of a build's open parts, looked at by the check alone: areas, not points.

The search knows nothing of the solver. It puts each part into the middle of an area of its face
and asks the check. A gap falls off by no more than the things are moved, so where a rule about
gaps is broken by more than the way from the middle of an area to its corner, it is broken all over
the area, and that is done with. What is left is cut in two, until areas are as small as the
search is fine; of those the middle is judged by all rules. So an answer "no" stands for every
place, except in areas of that last size.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from fit.check import Inspection, bodies, buttons, inspected, lid, panel_room, walls, webs
from fit.check.rule import Rule
from fit.findings import Finding, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import faces
from fit.model.build import Build, Place
from fit.model.words import FaceName
from fit.solve.verdict import NO_ROOM, WHEREVER, Verdict
from tests.layout_builds import Spot, put, verdict

SMOOTH: tuple[Rule, ...] = (
    bodies.bodies,
    walls.walls,
    lid.lid,
    webs.webs,
    webs.edges,
    webs.posts_behind,
    panel_room.spanner,
    buttons.fingers,
)
"""Rules whose margins are gaps: moved by a millimetre, a part loses or wins one at the most."""

OVER = 1.02
"""Rounded corners are measured by chords, which is not quite even: so much is allowed for."""

_TINY = 1e-6

FINE = 0.25
"""Areas of one part are cut down to this size, mm."""


class Seen(StrEnum):
    """What a search came to."""

    PLACE = "place"
    """There is a place, and the check passes it."""
    NONE = "none"
    """There is none: every area was looked at down to the last size."""
    UNSURE = "unsure"
    """There were too many areas."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """An area of places of one part; a coordinate that is given has no middle.

    Attributes:
        face, turn: of the part.
        middle: across and up, mm.
        half: half its size across and up, mm.
    """

    face: FaceName
    turn: int
    middle: tuple[float | None, float | None]
    half: tuple[float, float]

    @property
    def spot(self) -> Spot:
        """Its middle."""
        return self.face, self.turn, *self.middle

    @property
    def reach(self) -> float:
        """From the middle to a corner, mm."""
        return math.hypot(*self.half)

    def halves(self) -> Iterator[Area]:
        """Cut in two across its longer side."""
        k = int(self.half[1] > self.half[0])
        at, half = self.middle[k], self.half[k] / 2
        assert at is not None
        for middle in (at - half, at + half):
            ends = {k: (middle, half), 1 - k: (self.middle[1 - k], self.half[1 - k])}
            yield replace(
                self, middle=(ends[0][0], ends[1][0]), half=(ends[0][1] or 0.0, ends[1][1] or 0.0)
            )


def areas(build: Build, name: str) -> Iterator[Area]:
    """All places of an open part: for each face and turn the whole of its flat."""
    used = build.part(name)
    assert isinstance(used.on, FaceName)
    place = used.at or Place()
    for face in (used.on, *used.also_on):
        flat = zip(*faces(build.box)[face].flat, strict=True)
        ends = [(min(c), max(c)) for c in flat]
        open_ = (place.across is None, place.up is None)
        middle = [(a + b) / 2 if o else None for (a, b), o in zip(ends, open_, strict=True)]
        half = [(b - a) / 2 if o else 0.0 for (a, b), o in zip(ends, open_, strict=True)]
        for turn in dict.fromkeys((used.turn, *used.turns)):
            yield Area(face=face, turn=turn, middle=(middle[0], middle[1]), half=(half[0], half[1]))


Where = dict[str, Area]
"""An area for each part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The answer of a search.

    Attributes:
        seen: what it came to.
        places: a place for each part, where there is one.
        margin: of that place, as far as asked for, mm.
        checks: how often the check was asked.
        small: how many areas of the last size were judged by their middle alone.
    """

    seen: Seen
    places: Mapping[str, Spot] = field(default_factory=dict)
    margin: float = 0.0
    checks: int = 0
    small: int = 0


def _smooth(build: Build, where: Where) -> list[Finding] | None:
    """What the rules about gaps say of the middles; None where the box cannot have them."""
    try:
        scene = assemble(put(build, {name: area.spot for name, area in where.items()}))
    except UnusableInput:
        return None
    found = inspected(Inspection(scene), SMOOTH)
    return [f for f in found if set(where) & set(f.about) and f.rule not in WHEREVER]


def _left(where: Where, found: list[Finding] | None) -> float:
    """The most that the least of the gaps can be anywhere in the areas, mm."""
    if found is None:
        return math.inf
    reach = {name: area.reach * OVER for name, area in where.items()}
    return min(
        (f.margin + sum(reach.get(n, 0.0) for n in set(f.about)) for f in found), default=math.inf
    )


def _in_the_way(where: Where, parts: list[str], found: list[Finding]) -> str:
    """Whose area to cut: the largest, or, of about that size, one that the worst gap is about."""
    worst = min(found, key=lambda f: f.margin, default=None)
    most = max(where[name].reach for name in parts)
    large = [name for name in parts if where[name].reach > most / 3]
    about = [name for name in large if worst is not None and name in worst.about]
    return max(about or large, key=lambda name: where[name].reach)


def _worst(found: list[Finding] | None) -> float:
    return math.inf if found is None else -min((f.margin for f in found), default=math.inf)


@dataclass(slots=True)
class Search:
    """The search for a place of some of a build's open parts, the others left out."""

    build: Build
    names: tuple[str, ...]
    fine: float
    most: int
    checks: int = 0
    small: int = 0
    _alone: dict[tuple[str, Area], bool] = field(default_factory=dict)
    _near: list[tuple[float, int, dict[str, Spot]]] = field(default_factory=list)

    def run(self) -> Found:
        """Look at all areas, the most hopeful first."""
        roots = [list(areas(self.build, name)) for name in self.names]
        queue: list[tuple[float, int, Where]] = []
        count = itertools.count()
        for each in itertools.product(*roots):
            heapq.heappush(queue, (0.0, next(count), dict(zip(self.names, each, strict=True))))
        while queue:
            if self.checks >= self.most:
                return self._said(Seen.UNSURE)
            _, number, where = heapq.heappop(queue)
            if any(self._hopeless(name, area) for name, area in where.items()):
                continue
            found = _smooth(self.build, where)
            self.checks += 1
            if _left(where, found) < -_TINY:
                continue
            worst = _worst(found)
            if worst <= _TINY and self._good(spots := _spots(where)):
                return self._said(Seen.PLACE, spots)
            parts = [n for n, a in where.items() if max(a.half) > self.fine / 2 + _TINY]
            if not parts:
                self.small += 1
                self._near.append((worst, number, _spots(where)))
                continue
            name = _in_the_way(where, parts, found or [])
            for half in where[name].halves():
                heapq.heappush(queue, (worst, next(count), {**where, name: half}))
        return self._closer()

    def _hopeless(self, name: str, area: Area) -> bool:
        """Whether a part cannot be anywhere in an area even without the other open parts."""
        if len(self.names) == 1:
            return False
        key = (name, area)
        if key not in self._alone:
            self.checks += 1
            alone = {name: area}
            self._alone[key] = _left(alone, _smooth(self.build, alone)) < -_TINY
        return self._alone[key]

    def _good(self, places: dict[str, Spot]) -> bool:
        self.checks += 1
        said = verdict(self.build, places)
        return said is not None and said.good

    def _closer(self) -> Found:
        """No middle is good: from the nearest ones go where the gaps are larger."""
        for _, _, places in sorted(self._near, key=lambda one: one[:2])[:3]:
            best, at = climbed(self.build, places, self.fine / 2, cap=0.0)
            self.checks += at.asked
            if best is not None and best.good:
                return self._said(Seen.PLACE, at.places)
        return self._said(Seen.NONE)

    def _said(self, seen: Seen, places: dict[str, Spot] | None = None) -> Found:
        return Found(seen=seen, places=places or {}, checks=self.checks, small=self.small)


def any_place(build: Build, names: tuple[str, ...], fine: float, most: int) -> Found:
    """Whether there is a place for all of some open parts at once.

    A part that is left out takes no room, so where a few have no place all have none: these are
    looked at first.
    """
    checks = 0
    found = Found(seen=Seen.UNSURE)
    for size in range(1, len(names) + 1):
        for some in itertools.combinations(names, size):
            found = Search(build, some, fine if size > 1 else min(fine, FINE), most).run()
            checks += found.checks
            if found.seen is Seen.NONE:
                return replace(found, checks=checks)
    return replace(found, checks=checks)


def _spots(where: Where) -> dict[str, Spot]:
    return {name: area.spot for name, area in where.items()}


@dataclass(slots=True)
class Climb:
    """Where a climb has got to."""

    places: dict[str, Spot]
    asked: int = 0


def room(said: Verdict | None, cap: float) -> float:
    """The least margin of what was placed, clashes of all rules among it, mm; at most `cap`."""
    if said is None or said.movers & set(said.scene.open):
        return -math.inf
    return min(
        (f.margin for f in said.placed if f.margin < 0 or f.rule not in NO_ROOM), default=cap
    )


def climbed(
    build: Build, places: dict[str, Spot], step: float, cap: float, last: float = 0.002
) -> tuple[Verdict | None, Climb]:
    """Move the parts by smaller and smaller steps as long as that makes the least margin larger."""
    at = Climb(places=places, asked=1)
    best = verdict(build, places)
    while step > last and room(best, cap) < cap:
        for there in _beside(at.places, step):
            said = verdict(build, there)
            at.asked += 1
            if room(said, cap) > room(best, cap) + _TINY:
                best, at.places = said, there
                break
        else:
            step /= 2
    return best, at


def _beside(places: dict[str, Spot], step: float) -> Iterator[dict[str, Spot]]:
    for name, (face, turn, across, up) in places.items():
        ways = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1))
        for a, u in ways:
            if (a and across is None) or (u and up is None):
                continue
            spot = (
                face,
                turn,
                None if across is None else across + a * step,
                None if up is None else up + u * step,
            )
            yield {**places, name: spot}


def roomiest(
    build: Build, name: str, cap: float, near: float, most: int, start: Spot | None = None
) -> Found:
    """The most room one open part can have anywhere, up to `cap`, to within `near` mm.

    Areas that cannot have more than what was found are left out, so that nothing is missed but
    what `most` checks did not get to (the answer is then unsure). `start` is a place to begin at.
    """
    best, places, checks, small = -math.inf, dict[str, Spot](), 0, 0

    def better(said: Verdict | None, at: dict[str, Spot]) -> None:
        nonlocal best, places
        if said is not None and said.good and min(cap, said.margin) > best:
            best, places = min(cap, said.margin), at

    def climb(at: dict[str, Spot], step: float) -> None:
        nonlocal checks
        said, there = climbed(build, at, step, cap)
        checks += there.asked
        better(said, there.places)

    if start is not None:
        climb({name: start}, 0.5)
    count = itertools.count()
    queue = [(-math.inf, next(count), area) for area in areas(build, name)]
    while queue and best < cap - _TINY:
        least, _, area = heapq.heappop(queue)
        if -least <= best + near:
            break
        if checks >= most:
            return Found(seen=Seen.UNSURE, places=places, margin=best, checks=checks)
        found = _smooth(build, {name: area})
        checks += 1
        left = _left({name: area}, found)
        if left < -_TINY or left <= best + near:
            continue
        if -_worst(found) > best:
            said = verdict(build, {name: area.spot})
            checks += 1
            if said is not None and said.good and said.margin > best + near:
                climb({name: area.spot}, 0.25)
        if max(area.half) < near / 4:
            small += 1
            continue
        for half in area.halves():
            heapq.heappush(queue, (-min(cap, left), next(count), half))
    seen = Seen.PLACE if places else Seen.NONE
    return Found(seen=seen, places=places, margin=best, checks=checks, small=small)
