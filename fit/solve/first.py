"""A first place for every part whose place was left open. The checker has the last word."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fit.findings import Finding, Grade
from fit.geometry.assemble import assemble, face_of
from fit.geometry.box import Face
from fit.geometry.panel import on_wall
from fit.geometry.piece import Mount
from fit.geometry.places import along, turn_in_use, turned_footprint
from fit.geometry.scene import Scene
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import Board, Display
from fit.model.words import FaceName, Half
from fit.solve.room import Array, Outline, RoomMap, outline_of
from fit.solve.row import Row, best_row
from fit.trade.clearances import Control, finger_gap, web
from fit.trade.hands import hand_work, hole_position_error
from fit.units import Length

_STEP = 1.0
"""Grid of centres, mm: what a person can mark."""

_PART_GAP = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """What came of placing the open parts.

    Attributes:
        build: the build with every place found filled in.
        names: parts that were placed.
        findings: one for each part no place was found for.
    """

    build: Build
    names: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def place_open(build: Build) -> Placing:
    """Fill in the places a build leaves open, face by face, as even rows.

    Parts that share a face are put in one row in file order, each face where its smallest
    margin is largest. A place found here is a proposal: inspect the result.
    """
    scene = assemble(build)
    names: list[str] = []
    findings: list[Finding] = []
    while scene.open:
        waiting = [build.part(name) for name in scene.open]
        first = next((u for u in waiting if _can_place(build, u)), None)
        if first is None:
            break
        face = face_of(build, first)
        assert face is not None
        row = [u for u in waiting if _can_place(build, u) and face_of(build, u) is face]
        # A part with one coordinate given is no free member of a row.
        row = [first] if first.at is not None else [u for u in row if u.at is None]
        found = _row_on(build, scene, face, row)
        if found is None or found.margin < 0:
            findings += [_nowhere(u, face, found) for u in row]
            break
        build = _with_places(build, row, found)
        names += [u.name for u in row]
        scene = assemble(build)
    return Placing(build=build, names=tuple(names), findings=tuple(findings))


def _can_place(build: Build, used: Used) -> bool:
    open_place = used.at is None or used.at.beside is None
    return (
        open_place
        and face_of(build, used) is not None
        and not isinstance(used.part, Board | Display)
    )


def most_room(build: Build, scene: Scene, used: Used) -> float | None:
    """No row that a part is in can have more room than this, mm, whatever else is placed.

    Below 0 it has no place. The places looked at are those of a row, in the face's own frame.

    Args:
        build: the build.
        scene: of it, with nothing placed that is open.
        used: a part that is open.

    Returns:
        None where a row has no say about the part, or part of its place is written.
    """
    face = face_of(build, used)
    if face is None or used.at is not None or not _can_place(build, used):
        return None
    _, (margins,) = _maps(build, scene, scene.faces[face], [used])
    return float(margins.max(initial=-math.inf))


def _row_on(build: Build, scene: Scene, name: FaceName, row: list[Used]) -> Row | None:
    room, maps = _maps(build, scene, scene.faces[name], row)
    turns = [turn_in_use(u, name, build.stands_on) for u in row]
    wide = [2 * turned_footprint(u.part, t)[0] for u, t in zip(row, turns, strict=True)]
    return best_row(room.across, room.up, maps, wide, finger_gap(Control.PUSH, Control.PUSH))


def _maps(build: Build, scene: Scene, face: Face, row: list[Used]) -> tuple[RoomMap, list[Array]]:
    """The map of a face, and each part's margins on it."""
    gap = _PART_GAP + hole_position_error(hand_work(build.hands))
    across, up = _given(face, row[0])
    # The holes the box has already want a web like those that are cut.
    there = (hole.opening for hole in scene.there)
    scene = replace(scene, openings=(*scene.openings, *there))
    room = RoomMap(scene, face, _STEP, gap, web(face.thickness), across=across, up=up)
    outlines = [_outline(build, face, used) for used in row]
    alike = {outline: room.margins(outline) for outline in set(outlines)}
    return room, [alike[outline] for outline in outlines]


def _given(face: Face, used: Used) -> tuple[float | None, float | None]:
    """The coordinates that are written and not open, mm (across at the face's mid height)."""
    if used.at is None:
        return None, None
    ups = [p[1] for p in face.outline]
    across = up = None
    if used.at.across is not None:
        across = along(*face.reach((min(ups) + max(ups)) / 2), used.at.across)
    if used.at.up is not None:
        up = along(min(ups), max(ups), used.at.up)
    return across, up


def _outline(build: Build, face: Face, used: Used) -> Outline:
    turn = turn_in_use(used, face.name, build.stands_on)
    mount = Mount(
        owner=used.name,
        face=face.name,
        pose=face.frame.turned(turn),
        wall=face.thickness,
        across=0.0,
        up=0.0,
        turn=turn,
        half=Half.LID if face.name is FaceName.LID else Half.BODY,
        drawer=build.drawer,
    )
    piece = on_wall(used, mount)
    return outline_of(face, piece.bodies, piece.openings)


def _with_places(build: Build, row: list[Used], found: Row) -> Build:
    at = {}
    for used, across in zip(row, found.across, strict=True):
        given = used.at or Place()
        at[used.name] = Place(
            across=given.across or Coordinate(how=How.AT, value=Length(across)),
            up=given.up or Coordinate(how=How.AT, value=Length(found.up)),
        )
    parts = tuple(replace(u, at=at[u.name]) if u.name in at else u for u in build.parts)
    return replace(build, parts=parts)


def _nowhere(used: Used, face: FaceName, row: Row | None) -> Finding:
    short = -row.margin if row is not None else 0.0
    return Finding(
        rule="place",
        grade=Grade.CLASH,
        about=(used.name, f"{face}"),
        have=-short,
        need=0.0,
        margin=-short or -1.0,
        spread=0.0,
        say=f"no place was found for '{used.name}' on the {face}: it is short of {short:.1f} mm",
        mend="ask fit place, which looks harder; put it on another face; move what is in its way",
        where=used.where,
    )
