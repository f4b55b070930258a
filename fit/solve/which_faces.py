"""On which of several faces parts go, so that what belongs together can be together.

A row is a row on one face: as long as its parts may go on several, nothing can be said about it.
So once a first layout has told how much room there is, parts that a wish puts together, and alike
ones that no wish speaks of, get the face that has most room for all of them. What costs more
room than being tidy may is left as it was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fit.model.build import Build, WishKind
from fit.model.words import FaceName
from fit.solve.audit import Layout
from fit.solve.draft import STEP
from fit.solve.engine import at_least, solve
from fit.solve.free import Free, kind_of
from fit.solve.in_use import InUse
from fit.solve.maps import Maps, with_enough
from fit.solve.probe import Probe
from fit.solve.problem import Rule, Tie
from fit.solve.proposal import Cost, least_room
from fit.solve.question import Question
from fit.solve.run import Status, Watch
from fit.solve.tidy import words_of

_TOGETHER = frozenset(
    {
        WishKind.ROW,
        WishKind.COLUMN,
        WishKind.IN_LINE,
        WishKind.ORDER,
        WishKind.SAME_BOTH_SIDES,
        WishKind.CENTRED,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Faces for parts that could have gone on several.

    Attributes:
        faces: the face of each part it was decided for.
        lost: room that being on one face took, mm, by the words of the wish.
        given_up: wishes for which no face would do.
    """

    faces: Mapping[str, FaceName] = field(default_factory=dict)
    lost: Mapping[str, float] = field(default_factory=dict)
    given_up: tuple[Cost, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Parts to be on one face; `asked` when a wish of the file says so."""

    names: tuple[str, ...]
    words: str
    asked: bool


def on_faces(build: Build, faces: Mapping[str, FaceName]) -> Build:
    """The build with these parts on these faces only."""
    return replace(
        build,
        parts=tuple(
            replace(used, on=faces[used.name], also_on=()) if used.name in faces else used
            for used in build.parts
        ),
    )


def choose(build: Build, seen: Probe, asked: Question, watch: Watch) -> Chosen:
    """The faces on which what belongs together has most room.

    Args:
        build: the build.
        seen: what was probed of it.
        asked: its question.
        watch: limits, and a way to stop.
    """
    free = {f.name: f for f in seen.free}
    groups = list(_groups(build, free))
    loose = _unspoken(build, seen)
    if not groups and not loose:
        return Chosen()
    choice = _Choice(asked, with_enough(Maps(asked.problem)), watch)
    if not choice.begun():
        return Chosen()
    faces: dict[str, FaceName] = {}
    lost: dict[str, float] = {}
    given_up: list[Cost] = []
    for group in groups:
        common = _common(build, free, group.names, faces)
        least = least_room(choice.margin, asked=group.asked)
        before = choice.margin
        face = choice.taken([n for n in group.names if n in free], common, least)
        if face is not None:
            faces |= {n: face for n in group.names if n in free and len(free[n].faces) > 1}
            lost[group.words] = (before - choice.margin) * STEP
        elif group.asked:
            mm = (before - least) * STEP
            given_up.append(Cost(words=group.words, kept=False, mm=mm, asked=True))
    faces |= {name: choice.face(name) for name in loose if name not in faces}
    return Chosen(faces=faces, lost=lost, given_up=tuple(given_up))


def _groups(build: Build, free: Mapping[str, Free]) -> Iterator[_Group]:
    """What a wish puts on one face and may go on several, then alike parts no wish speaks of."""
    several = {n for n, f in free.items() if len(f.faces) > 1 and (f.across or f.up)}
    for wish in build.wishes:
        names = (*wish.parts, *((wish.middle_of,) if wish.middle_of else ()))
        alone = len(names) == 1
        if wish.kind in _TOGETHER and not alone and several & set(names):
            yield _Group(names=names, words=words_of(wish), asked=True)
    spoken = _spoken(build)
    kinds: dict[tuple[object, frozenset[FaceName]], list[str]] = {}
    for name in (n for n in free if n in several and n not in spoken):
        kinds.setdefault((kind_of(free[name].used.part), free[name].faces), []).append(name)
    for some in kinds.values():
        if len(some) > 1:
            yield _Group(names=tuple(some), words="", asked=False)


def _unspoken(build: Build, seen: Probe) -> list[str]:
    """Parts seen from outside that go where there is most room, as nothing pulls them."""
    spoken, in_use = _spoken(build), InUse(build, seen)
    wishes = {n for w in build.wishes if w.kind is WishKind.CENTRED for n in w.parts}
    return [
        f.name
        for f in seen.free
        if len(f.faces) > 1
        and f.across
        and f.up
        and (f.name not in spoken or f.name in wishes)
        and in_use.cuts(f.name)
    ]


def _spoken(build: Build) -> set[str]:
    wished = {name for wish in build.wishes for name in wish.parts}
    return wished | {end for wire in build.wires for end in (wire.start, wire.end)}


def _common(
    build: Build, free: Mapping[str, Free], names: Sequence[str], taken: Mapping[str, FaceName]
) -> list[FaceName]:
    """The faces that all of these may go on, in the order the file has them."""
    first: list[FaceName] = []
    common: set[FaceName] | None = None
    for name in names:
        used = build.part(name)
        if name in taken:
            mine = [taken[name]]
        elif name in free:
            mine = list(dict.fromkeys(option.face for option in free[name].options))
        else:
            mine = [used.on] if isinstance(used.on, FaceName) else []
        first = first or mine
        common = set(mine) if common is None else common & set(mine)
    return [face for face in first if common and face in common]


@dataclass(slots=True)
class _Choice:
    """A question that is narrowed face by face, and the most room it still has."""

    asked: Question
    maps: Maps
    watch: Watch
    margin: int = 0
    spots: Layout = field(default_factory=dict)

    def begun(self) -> bool:
        """Find out how much room there is with all faces open; False when that was not found."""
        self.watch.maps = self.maps
        answer = solve(self.maps.problem, self.watch)
        self.margin, self.spots = answer.margin, answer.layout
        return answer.status is Status.FOUND

    def face(self, name: str) -> FaceName:
        """The face a part is on in the last layout."""
        return self.asked.seats[name][self.spots[name].way].option.face

    def taken(self, names: Sequence[str], faces: Sequence[FaceName], least: int) -> FaceName | None:
        """Keep these parts on the one face that leaves most room; None if none leaves so much."""
        now = {face: sum(self.face(n) is face for n in names) for face in faces}
        tried = {face: self._on(names, face) for face in sorted(faces, key=lambda f: -now[f])}
        for face, maps in tried.items():
            spots = self._with(maps, self.margin)
            if spots is not None:
                self.maps, self.spots = maps, spots
                return face
        return self._roomiest(tried, least)

    def _roomiest(self, tried: Mapping[FaceName, Maps], least: int) -> FaceName | None:
        """Where none leaves all the room: the face that leaves most, if that is enough."""
        best: FaceName | None = None
        grain = max(self.maps.problem.grain, (self.margin - least) // 4)
        margin, below = least, self.margin - 1
        for face, maps in tried.items():
            if self._with(maps, margin) is None:
                continue
            answer = solve(replace(maps.problem, cap=below, grain=grain), self.watch)
            if answer.status is Status.FOUND and answer.margin >= margin:
                best, self.maps, self.spots = face, maps, answer.layout
                margin = answer.margin + grain
                self.margin = answer.margin
        return best

    def _with(self, maps: Maps, margin: int) -> Layout | None:
        self.watch.maps = maps
        return at_least(maps.problem, margin, self.watch)

    def _on(self, names: Sequence[str], face: FaceName) -> Maps:
        rules = tuple(
            Rule(
                tie=Tie.AMONG,
                items=(name,),
                axis=0,
                ways=frozenset(
                    n for n, seat in enumerate(self.asked.seats[name]) if seat.option.face is face
                ),
            )
            for name in names
        )
        problem = self.maps.problem
        return self.maps.renewed(replace(problem, rules=(*problem.rules, *rules)))
