"""What moves with what: found by putting a build together several times.

The open parts are put somewhere, then each coordinate is moved by a millimetre and each option is
tried: what has changed in the scene depends on it. So the solver knows nothing about kinds of
parts; a board that stands behind a free display, or a button set beside another, moves along.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from fit.check import inspected
from fit.check.rule import Inspection
from fit.check.things import things
from fit.findings import Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.box import faces
from fit.geometry.frames import Vec, sub
from fit.geometry.scene import Scene
from fit.model.build import Build
from fit.model.words import FaceName
from fit.solve.free import Free, Option, Put, put_in, spans
from fit.solve.matter import Blob, Key, Needs, matter
from fit.solve.verdict import WHEREVER

PITCH = 2.54
"""What is soldered to perfboard moves by whole holes, mm."""

_UP_PHASES, _ACROSS_PHASES = 5, 2

_SAME = 1e-6
_LEAN = 0.2
"""How far something may go beside a coordinate's main axis, mm for each mm."""


class Coord(StrEnum):
    """The two coordinates of a place."""

    ACROSS = "across"
    UP = "up"


Var = tuple[str, Coord]
"""A coordinate of a free part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A thing in a trial scene and how it follows the open coordinates.

    Attributes:
        blob: as it stands in the trial.
        moves: for each coordinate it follows: mm in the box frame for one mm.
        odd: it follows in some other way (turning, or in jumps even when the coordinate goes by
            whole holes), so that only a trial can tell.
        jumps: it follows only as long as the coordinate goes by whole holes.
    """

    blob: Blob
    moves: Mapping[Var, Vec] = field(default_factory=dict)
    odd: bool = False
    jumps: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A scene with every free part put somewhere.

    Attributes:
        puts: where.
        look: its inspection.
        found: everything in it, by key.
        pitched: coordinates that go by whole holes of perfboard, as something that follows them
            does: what is soldered, or joined by screws through holes.
    """

    puts: Mapping[str, Put]
    look: Inspection
    found: Mapping[Key, Moved]
    pitched: frozenset[Var] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """What was found out about a build.

    Attributes:
        free: its free parts.
        base: the scene with every free part in its first option.
        trials: for each part and option the scene with that part in that option, the others in
            their first; options the box cannot have are missing.
        faulty: options that are not looked at until the others have been.
    """

    free: tuple[Free, ...]
    base: Trial
    trials: Mapping[tuple[str, Option], Trial]
    faulty: frozenset[tuple[str, Option]] = frozenset()


class NoTrial(Exception):
    """No option of a part can even be put together: the message of the last says why."""

    def __init__(self, name: str, error: UnusableInput) -> None:
        super().__init__(name)
        self.name, self.error = name, error


def probe(build: Build, free: tuple[Free, ...]) -> Probe:
    """Find out what moves with what.

    What goes by whole holes gets a few phases to begin at, as options.

    Raises:
        NoTrial: when a part can be put nowhere.
    """
    first = {f.name: _first_put(build, f) for f in free}
    base = _trial(build, free, first)
    trials: dict[tuple[str, Option], Trial] = {}
    free = tuple(_with_phases(one, base.pitched) for one in free)
    for one in free:
        trials[one.name, first[one.name].option] = base
        for option in one.options:
            if option == first[one.name].option:
                continue
            puts = {**first, one.name: middle(build, one, option)}
            try:
                trials[one.name, option] = _trial(build, (one,), puts)
            except UnusableInput:
                continue
        for option in _twins(one, trials):
            del trials[one.name, option]
    faulty = frozenset((one.name, option) for one in free for option in _faulty(one, trials))
    return Probe(free=free, base=base, trials=trials, faulty=faulty)


def _twins(free: Free, trials: Mapping[tuple[str, Option], Trial]) -> list[Option]:
    """Options that come to the same as one before them, as the turns of a round part do."""
    seen: set[tuple[object, ...]] = set()
    found = []
    for option in free.options:
        trial = trials.get((free.name, option))
        if trial is None:
            continue
        alike = tuple((key, moved.blob.around) for key, moved in sorted(trial.found.items()))
        if (option.face, alike) in seen:
            found.append(option)
        seen.add((option.face, alike))
    return found


def _faulty(free: Free, trials: Mapping[tuple[str, Option], Trial]) -> list[Option]:
    """Options in which something clashes wherever the part is put, where others have no such fault.

    A cable that comes out below, say, when another face would do.
    """
    kinds = {replace(o, phase=(0.0, 0.0)) for o in free.options if (free.name, o) in trials}
    if len(kinds) < 2:
        return []
    bad: dict[Option, bool] = {}
    for option in free.options:
        kind = replace(option, phase=(0.0, 0.0))
        trial = trials.get((free.name, option))
        if trial is not None and kind not in bad:
            bad[kind] = any(
                f.rule in WHEREVER and f.grade is Grade.CLASH and free.name in f.about
                for f in inspected(trial.look)
            )
    if all(bad.values()):
        return []
    return [
        o for o in free.options if (free.name, o) in trials and bad[replace(o, phase=(0.0, 0.0))]
    ]


def middle(build: Build, free: Free, option: Option) -> Put:
    """A part in the middle of a face, as far as it is open."""
    across, up = spans(faces(build.box)[option.face])
    return Put(
        option=option,
        across=across.middle + option.phase[0] if free.across else None,
        up=up.middle + option.phase[1] if free.up else None,
    )


def _with_phases(free: Free, pitched: frozenset[Var]) -> Free:
    """A part whose coordinates go by whole holes, with several places between holes to begin at."""
    across = _phases(_ACROSS_PHASES if (free.name, Coord.ACROSS) in pitched else 1)
    up = _phases(_UP_PHASES if (free.name, Coord.UP) in pitched else 1)
    return replace(
        free,
        options=tuple(replace(o, phase=(a, u)) for o in free.options for a in across for u in up),
    )


def _phases(count: int) -> tuple[float, ...]:
    """Evenly spread over a pitch, the middle of the face first."""
    return tuple(PITCH * ((k + 1) // 2) * (-1) ** k / count for k in range(count))


def _first_put(build: Build, free: Free) -> Put:
    last: UnusableInput | None = None
    for option in free.options:
        put = middle(build, free, option)
        try:
            assemble(put_in(build, {free.name: put}))
        except UnusableInput as error:
            last = error
            continue
        return put
    assert last is not None
    raise NoTrial(free.name, last)


def _trial(build: Build, moving: tuple[Free, ...], puts: Mapping[str, Put]) -> Trial:
    """A scene, and what follows the coordinates of some of its free parts."""
    look = Inspection(assemble(put_in(build, puts)))
    here = matter(look)
    moves: dict[Key, dict[Var, Vec]] = {key: {} for key in here}
    odd: set[Key] = set()
    jumps: set[Key] = set()
    pitched: set[Var] = set()
    for one in moving:
        for coord in _open(puts[one.name]):
            along = way_of(look.scene, puts[one.name].option.face, coord)

            def after(step: float, one: Free = one, coord: Coord = coord) -> dict[Key, Vec | None]:
                there = {**puts, one.name: _shifted(puts[one.name], coord, step)}
                scene = assemble(put_in(build, there))
                return _followers(here, matter(Inspection(scene)), step)

            found = after(1.0)
            if not all(_clean(move, along) for move in found.values()):
                jumps |= {key for key, move in found.items() if not _clean(move, along)}
                found = after(PITCH / max(abs(c) for c in along))
                pitched.add((one.name, coord))
            for key, move in found.items():
                if move is None or not _clean(move, along):
                    odd.add(key)
                elif any(abs(c) > _SAME for c in move):
                    moves[key][one.name, coord] = move
    return Trial(
        puts=puts,
        look=look,
        found={
            k: Moved(blob=b, moves=moves[k], odd=k in odd, jumps=k in jumps)
            for k, b in here.items()
        },
        pitched=frozenset(pitched),
    )


def way_of(scene: Scene, face: FaceName, coord: Coord) -> Vec:
    """Which way a coordinate of a face runs in the box frame, unit length."""
    frame = scene.faces[face].frame
    return frame.x if coord is Coord.ACROSS else frame.y


def main_axis(way: Vec) -> int:
    """The axis of the box frame that a direction runs along most."""
    sizes = [abs(c) for c in way]
    return sizes.index(max(sizes))


def _clean(move: Vec | None, along: Vec) -> bool:
    """Whether something goes along with a coordinate, or stays, along that one's main axis.

    Beside that axis it may go a little: walls lean.
    """
    if move is None:
        return False
    axis = main_axis(along)
    with_it = abs(move[axis] - along[axis]) < _SAME or abs(move[axis]) < _SAME
    return with_it and all(abs(move[k]) <= _LEAN for k in range(3) if k != axis)


def _open(put: Put) -> list[Coord]:
    found = [] if put.across is None else [Coord.ACROSS]
    return found if put.up is None else [*found, Coord.UP]


def _shifted(put: Put, coord: Coord, step: float) -> Put:
    if coord is Coord.ACROSS:
        assert put.across is not None
        return replace(put, across=put.across + step)
    assert put.up is not None
    return replace(put, up=put.up + step)


def _followers(
    here: Mapping[Key, Blob], there: Mapping[Key, Blob], step: float
) -> dict[Key, Vec | None]:
    return {key: _follows(blob, there.get(key), step) for key, blob in here.items()}


def _follows(here: Blob, there: Blob | None, step: float) -> Vec | None:
    """How far a thing moved, mm for each mm; None where it did not just move."""
    if there is None or len(here.around) != len(there.around) or here.layer != there.layer:
        return None
    first = sub(there.around[0][0], here.around[0][0])
    for one, two in zip(here.around, there.around, strict=True):
        for a, b in zip(one, two, strict=True):
            if any(abs(b[k] - a[k] - first[k]) > _SAME for k in range(3)):
                return None
    return (first[0] / step, first[1] / step, first[2] / step)


def spare_touching(needs: Needs, found: Probe) -> None:
    """Tell the needs which solids touch on purpose."""
    for trial in {id(t): t for t in (found.base, *found.trials.values())}.values():
        known = things(trial.look)
        needs.spare(known, known.solids)
