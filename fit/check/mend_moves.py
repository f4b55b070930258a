"""Mends by place: along the face, another quarter turn, another face, the other half."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from fit.check.cuts import up_to_tenth
from fit.check.mend_change import Change, Cost, Trial
from fit.check.rule import Inspection
from fit.check.things import direction_word, need_between, things
from fit.geometry.assemble import face_of
from fit.geometry.distance import gap_between
from fit.geometry.frames import Vec, scale
from fit.geometry.scene import Placed, Scene
from fit.geometry.support import reach
from fit.model.build import Coordinate, How, Place, Used
from fit.model.part import (
    Board,
    Display,
    Grille,
    Holder,
    Notch,
    PanelPart,
    RimSwitch,
    TapedPart,
    Zone,
)
from fit.model.words import FaceName, Half, Seat
from fit.trade.hands import between_features
from fit.units import PITCH, Length, show

FARTHEST = 80.0
"""Longer moves, mm, are another layout, not a mend."""

_ROUNDS = 4
"""How often a move is made longer because it meets the next piece of the same thing."""

_DOWN_THE_LINE = (How.FROM_RIGHT, How.FROM_RIM, How.FROM_BACK)
"""Coordinates that count against the face's own direction."""

_UPWARDS = (How.AT, How.FROM_LEFT, How.FROM_FLOOR, How.FROM_FRONT)


def moves(trial: Trial) -> Iterator[Change]:
    """Each part of the clash moved along its face, each way, as far as it takes."""
    for used in trial.parts():
        placed = trial.scene.placed.get(used.name)
        if placed is None or not _may_move(used, placed):
            continue
        for axis, sign in ((0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)):
            if axis == 1 and isinstance(used.part, RimSwitch):
                continue
            yield from _moved_free(trial, used, placed, axis, sign)


def _may_move(used: Used, placed: Placed) -> bool:
    return placed.face is not None and used.on is not Seat.POSTS and used.joined_to is None


def _moved_free(
    trial: Trial, used: Used, placed: Placed, axis: int, sign: float
) -> Iterator[Change]:
    """The shortest move one way that removes the clash, and one with the hands' spread to spare."""
    assert placed.face is not None
    frame = trial.scene.faces[placed.face].frame
    way = scale(frame.x if axis == 0 else frame.y, sign)
    mm = 0.0
    scene: Scene | None = trial.scene
    for _ in range(_ROUNDS):
        if scene is None or mm > FARTHEST:
            return
        mm = up_to_tenth(mm + _step(trial, scene, used.name, way))
        build = trial.put(moved(used, placed, axis, sign * mm))
        scene = trial.scene_of(build)
        if scene is not None and not trial.clashes_in(scene):
            break
    else:
        return
    spare = up_to_tenth(mm + between_features(trial.look.error))
    for length in (spare, mm):
        yield Change(
            title=f"move {used.name} {show(length, 1)} mm {direction_word(way)}",
            build=trial.put(moved(used, placed, axis, sign * length)),
            # with room to spare comes first; without it only where that fails
            cost=Cost.MOVE + mm / 20 + (0.0 if length is spare else 0.001),
            kind=f"move {used.name} {axis} {sign}",
        )


def _step(trial: Trial, scene: Scene, name: str, way: Vec) -> float:
    """How much further to move: past what is in the way, or by what is missing, mm."""
    others = [label for label in trial.finding.about if label != name]
    far = [past(scene, name, other, way) for other in others]
    return max([d for d in far if d > 0], default=max(trial.short, 0.1))


def past(scene: Scene, name: str, other: str, way: Vec) -> float:
    """How far a thing has to go until all of it that is too near another has passed that, mm."""
    look = Inspection(scene)
    known = things(look)
    mine = [s for s in known.solids if s.label == name]
    theirs = [s for s in known.solids if s.label == other]
    far = 0.0
    for a in mine:
        for b in theirs:
            if a.body.outside is not b.body.outside or known.touch(a.body, b.body):
                continue
            need = look.need("bodies", need_between(a, b))
            if gap_between(a.ready, b.ready).mm < need:
                low = -reach(a.body.shape, a.body.pose, scale(way, -1.0))
                far = max(far, reach(b.body.shape, b.body.pose, way) - low + need)
    return far


def moved(used: Used, placed: Placed, axis: int, mm: float) -> Used:
    """A part moved along its face, mm along across (axis 0) or up (1); other words stay."""
    now = (placed.across, placed.up)
    place = used.at or Place()
    given = (place.across, place.up) if place.beside is None else (None, None)
    pair = [_shifted(given[i], now[i], mm if i == axis else 0.0, keep=i != axis) for i in (0, 1)]
    return replace(used, at=Place(across=pair[0], up=pair[1]))


def _shifted(given: Coordinate | None, now: float, mm: float, *, keep: bool) -> Coordinate:
    if given is not None and keep:
        return given
    if given is not None and given.how in (*_UPWARDS, *_DOWN_THE_LINE):
        sign = -1.0 if given.how in _DOWN_THE_LINE else 1.0
        value = round(given.value + sign * mm, 2)
        return replace(given, value=Length(value, given.value.plus_minus))
    return Coordinate(how=How.AT, value=Length(round(now + mm, 2)))


# --- turning, other faces, other half


def turned(trial: Trial) -> Iterator[Change]:
    """A part turned by a quarter."""
    for used in trial.parts():
        if not isinstance(used.part, PanelPart | Holder | TapedPart | Board | Display | Grille):
            continue
        if not (placed := trial.scene.placed.get(used.name)) or not _may_move(used, placed):
            continue
        for turn in (90, 180):
            build = trial.put(replace(used, turn=(used.turn + turn) % 360))
            if trial.helps(build):
                yield Change(
                    title=f"turn {used.name} by {turn}°", build=build, cost=Cost.TURN + turn / 900
                )


_SPOTS = (0.5, 0.3, 0.7)
"""Where on another face a part is tried, as shares of its breadth and height."""


def other_faces(trial: Trial) -> Iterator[Change]:
    """A part on another face of the same half or the other, at a place that is free there."""
    for used in trial.parts():
        if (
            isinstance(used.part, Board | Display | RimSwitch)
            or used.name not in trial.scene.placed
        ):
            continue
        here = face_of(trial.build, used)
        for face in FaceName:
            if face is here or face is trial.build.stands_on:
                continue
            found = _on_face(trial, used, face)
            if found is not None:
                yield found


def _on_face(trial: Trial, used: Used, face: FaceName) -> Change | None:
    for share in _SPOTS:
        across = Coordinate(how=How.SHARE, value=Length(share))
        centre = Coordinate(how=How.CENTRE)
        build = trial.put(replace(used, on=face, at=Place(across=across, up=centre)))
        if trial.helps(build):
            where = "in the middle of" if share == 0.5 else f"at {show(share)} of the breadth of"
            return Change(title=f"put {used.name} {where} the {face}", build=build, cost=Cost.FACE)
    return None


def other_half(trial: Trial) -> Iterator[Change]:
    """Everything that is carried by one half carried by the other; a part from lid to floor."""
    if any(u.on in (Seat.CARRIER, Seat.POSTS) for u in trial.build.parts):
        half = Half.BODY if trial.build.carrier is Half.LID else Half.LID
        build = replace(trial.build, carrier=half)
        if trial.helps(build):
            yield Change(
                title=f"carry the boards in the {half} (carrier: {half})",
                build=build,
                cost=Cost.HALF,
            )


# --- things on boards


def zone_moves(trial: Trial) -> Iterator[Change]:
    """An area of a board with something on it, moved along the board by whole holes."""
    for used in trial.parts():
        if not isinstance(used.part, Board):
            continue
        for number, zone in enumerate(used.part.zones):
            if not _in_it(trial, used, zone.name):
                continue
            for axis, sign in ((0, 1), (0, -1), (1, 1), (1, -1)):
                found = _zone_moved(trial, used, number, axis, sign)
                if found is not None:
                    yield found


def _in_it(trial: Trial, used: Used, zone: str) -> bool:
    """Whether an area's body has a part in the clash."""
    if zone in trial.finding.about:
        return True
    known = things(trial.look)
    mine = [s for s in known.solids if s.label == used.name and s.body.name == zone]
    others = [s for s in known.solids if s.label in trial.finding.about and s.label != used.name]
    if not others:
        return f"({zone})" in trial.finding.say
    return any(
        gap_between(a.ready, b.ready).mm < trial.look.need("bodies", need_between(a, b))
        for a in mine
        for b in others
    )


def _zone_moved(trial: Trial, used: Used, number: int, axis: int, sign: int) -> Change | None:
    board = used.part
    assert isinstance(board, Board)
    zone = board.zones[number]
    low = float(zone.x if axis == 0 else zone.y)
    size = float(zone.width if axis == 0 else zone.depth)
    room = board.size[axis] - low - size if sign > 0 else low
    most = math.floor(room / PITCH + 1e-6)
    for holes in (1, 2, 3, 4, 6, 8, 11, 15, 20):
        if holes > most:
            return None
        at = Length(low + sign * holes * PITCH)
        put = replace(zone, x=at) if axis == 0 else replace(zone, y=at)
        if _over_another(board, number, put.x, put.y):
            continue
        zones = tuple(put if n == number else z for n, z in enumerate(board.zones))
        build = trial.put(replace(used, part=replace(board, zones=zones)))
        if trial.helps(build):
            word = (("left", "right"), ("down", "up"))[axis][sign > 0]
            return Change(
                title=f"put {zone.name} {holes} {'hole' if holes == 1 else 'holes'} further "
                f"{word} on {used.name}",
                build=build,
                cost=Cost.ON_BOARD + holes * PITCH / 20,
            )
    return None


def _over_another(board: Board, number: int, x: Length, y: Length) -> bool:
    """Whether an area would lie over another, or over a notch."""
    zone = board.zones[number]
    taken: list[Zone | Notch] = [
        z for n, z in enumerate(board.zones) if n != number and z.side is zone.side
    ]
    return any(
        x < other.x + other.width
        and other.x < x + zone.width
        and y < other.y + other.depth
        and other.y < y + zone.depth
        for other in (*taken, *board.notches)
    )
