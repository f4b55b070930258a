"""Open places on holes the box has already: nothing to cut is the best place there is.

A proposal like every other: each is checked, and taken only where the check says nothing worse
than without it. Those with the least choice come first, else in file order, each on the closest
fit first, so the same build gives the same places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from fit.check.inspect import inspect
from fit.findings import Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.old_holes import core, shape
from fit.geometry.scene import OldHole, Scene
from fit.model.build import Build, Coordinate, How, Place, Used, WishKind
from fit.model.part import BushingPart, Gland, Grommet, PanelPart
from fit.model.words import FaceName
from fit.units import Length

_AT_ITS_MIDDLE: Final = (BushingPart, Gland, Grommet, PanelPart)
"""Kinds of parts whose main opening lies about their own middle."""

_TRIALS: Final = 24
"""So many proposals are checked at the most."""

Places = Callable[[Build], Scene]
"""Finds the places a build leaves open, and puts it together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How much is wrong: parts without a place, clashes, what is tight."""

    open: int
    clashes: int
    tight: int

    @classmethod
    def of(cls, scene: Scene) -> Score:
        """What the check says of a scene."""
        grades = [finding.grade for finding in inspect(scene)]
        clashes, tight = grades.count(Grade.CLASH), grades.count(Grade.TIGHT)
        return cls(open=len(scene.open), clashes=clashes, tight=tight)

    def no_worse(self, than: Score) -> bool:
        """Nothing more is open or clashes; where as much does, nothing more is tight."""
        if self.open > than.open or self.clashes > than.clashes:
            return False
        same = (self.open, self.clashes) == (than.open, than.clashes)
        return not same or self.tight <= than.tight


@dataclass(frozen=True, slots=True, kw_only=True)
class Reuse:
    """What came of it.

    Attributes:
        build: with the places on holes that were taken; the others are as open as before.
        scene: of the build with every place found.
        names: the parts that were put on holes.
    """

    build: Build
    scene: Scene
    names: tuple[str, ...] = ()


def on_old_holes(build: Build, scene: Scene, places: Places | None) -> Reuse:
    """Put open parts onto holes of the box as far as the check says nothing worse.

    Args:
        build: with its open places.
        scene: the build with places found without regard to the holes.
        places: finds the other places anew, once a part has gone onto a hole; None: they stay.
            They are tried where they were, too.
    """
    now, left = Reuse(build=build, scene=scene), _TRIALS
    offers = [tuple(_offers(now, used)) for used in build.parts if not _serves(scene, used.name)]
    if not any(offers):
        return now
    score = Score.of(scene)
    # Who has the least choice chooses first.
    for ways in sorted(offers, key=len):
        for hole, moved in ways:
            if left == 0 or any(o.by == hole.name for o in now.scene.openings):
                continue
            left -= 1
            better = next(
                (
                    (tried, marks)
                    for tried in _tried(now, moved, hole, places)
                    if (marks := Score.of(tried.scene)).no_worse(score)
                ),
                None,
            )
            if better is not None:
                now, score = better
                break
    return now


def _serves(scene: Scene, name: str) -> bool:
    """Whether a hole of the box serves a part where it is."""
    return any(o.by for o in scene.openings if o.part == name)


def _tried(now: Reuse, moved: Used, hole: OldHole, places: Places | None) -> Iterator[Reuse]:
    """The build with a part on a hole, the others placed anew or left where they were."""
    trials: list[tuple[Places, Build]] = [(assemble, _with(now.scene.build, moved))]
    build = _with(now.build, moved)
    if places is not None:
        trials.insert(0, (places, build))
    for put_together, tried in trials:
        try:
            scene = put_together(tried)
        except UnusableInput:
            continue
        if any(o.part == moved.name and o.by == hole.name for o in scene.openings):
            yield Reuse(build=build, scene=scene, names=(*now.names, moved.name))


def _with(build: Build, moved: Used) -> Build:
    return replace(build, parts=tuple(moved if u.name == moved.name else u for u in build.parts))


def _offers(now: Reuse, used: Used) -> Iterator[tuple[OldHole, Used]]:
    """A part on each hole that would serve it, the closest fit first."""
    place = used.at or Place()
    given = place.across is not None and place.up is not None
    if not isinstance(used.part, _AT_ITS_MIDDLE) or given or place.beside is not None:
        return
    kept_off = _kept_off(now.build, used)
    found = []
    for hole in now.scene.there:
        face = hole.opening.face
        if face in kept_off or face not in (used.on, *used.also_on):
            continue
        at = Place(
            across=place.across or _at(hole.opening.across), up=place.up or _at(hole.opening.up)
        )
        for turn in dict.fromkeys((used.turn, *used.turns)):
            others = tuple(t for t in (used.turn, *used.turns) if t != turn)
            moved = replace(used, on=hole.opening.face, also_on=(), at=at, turn=turn, turns=others)
            play = _play(now.build, moved, hole)
            if play is not None:
                found.append((round(play, 6), hole.name, turn, hole, moved))
    for _, _, _, hole, moved in sorted(found, key=lambda f: f[:3]):
        yield hole, moved


def _kept_off(build: Build, used: Used) -> frozenset[FaceName]:
    """The faces whose holes are not for a part: a wish about it, or about the face, comes first.

    All of a face of which only a part is to be kept out of (safe side).
    """
    off: set[FaceName] = set()
    for wish in build.wishes:
        named = used.name in wish.parts or wish.middle_of == used.name
        fingers = wish.kind is WishKind.FINGER_GAP and isinstance(used.part, BushingPart)
        if named or fingers:
            off.update(FaceName)
        elif wish.kind is WishKind.KEEP_OUT and wish.on is not None:
            off.add(wish.on)
    return frozenset(off)


def _play(build: Build, moved: Used, hole: OldHole) -> float | None:
    """How loose a part would sit in a hole, mm; None where the hole does not serve it."""
    scene = assemble(replace(build, parts=(moved,), wires=(), wishes=()))
    served = next((o for o in scene.openings if o.by == hole.name), None)
    need = None if served is None else core(served, moved)
    return None if need is None else -shape(hole.opening).room_in(need)


def _at(value: float) -> Coordinate:
    return Coordinate(how=How.AT, value=Length(value))
