"""A drilling jig: a plate with the outline of a face or a board and a guide hole over each centre.

It is laid flush on the face, clamped, and drilled through with the first, smallest bit; the holes
are opened out without it. A notch in its upper edge, nearer to the left, tells how it lies.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fit.geometry.drilling import chain_bit, round_steps
from fit.geometry.frames import Pose
from fit.geometry.kernel import (
    Component,
    Solid,
    circle,
    compound,
    cut_away,
    drawn_out,
    flat,
    line,
    loop,
    placed,
    round_bar,
    step_text,
    wire,
)
from fit.geometry.paths import ArcSeg, Circle, LineSeg, Outline, face_outline
from fit.geometry.scene import Cut, Opening, PlacedBoard, Scene
from fit.geometry.shapes import Cylinder, Point2
from fit.geometry.steptext import steady
from fit.model.words import FaceName
from fit.trade.drills import Tool

THICK: Final = 5.0
"""Thickness of the plate, mm: guides a pilot bit of 2 to 3.5 over more than its diameter
(common practice, no source)."""

PILOT: Final = 2.5
"""Guide hole where the drawer has no bit to begin with, mm (2 to 3 is usual)."""

NOTCH: Final = 4.0
"""Width of the notch that tells how the plate lies, mm; half as deep."""

_CHAIN_INSET: Final = 0.75
_WEB: Final = 1.0
_SHARES: Final = (0.25, 0.2, 0.3, 0.15, 0.35, 0.1, 0.4)


class NoSuchJig(LookupError):
    """There is no face or board of that name to make a jig for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """A guide hole: middle and diameter, mm in the frame of the face or board."""

    x: float
    y: float
    diameter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Jig:
    """A plate to drill through.

    Attributes:
        name: of the face or board.
        outline: of the plate, counter-clockwise, in the frame of the face or board, mm.
        guides: its holes.
        notch: middle of the notch on the upper edge, mm, or None where no place is free.
        thickness: mm.
    """

    name: str
    outline: Outline
    guides: tuple[Guide, ...]
    notch: Point2 | None
    thickness: float = THICK


def jig_names(scene: Scene) -> tuple[str, ...]:
    """What a jig can be made for: faces with openings, boards with holes."""
    faces = {opening.face for opening in scene.to_cut}
    boards = tuple(board.name for board in scene.boards if board.holes)
    return (*(name.value for name in FaceName if name in faces), *boards)


def jig(scene: Scene, name: str) -> Jig:
    """Work out the jig for a face (by its name) or a board.

    Raises:
        NoSuchJig: when there is no such face or board, or nothing to drill in it.
    """
    if name not in jig_names(scene):
        raise NoSuchJig(f"no jig can be made for '{name}'; there are {_listed(scene)}")
    if name in [face.value for face in FaceName]:
        face = scene.faces[FaceName(name)]
        outline = face_outline(face)
        guides = tuple(
            guide
            for opening in scene.to_cut
            if opening.face is face.name
            for guide in _guides(scene, opening)
        )
        top = face.outline[3], face.outline[2]
    else:
        found = next(board for board in scene.boards if board.name == name)
        w, h = (float(v) for v in found.board.size)
        corners = ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))
        sides = zip(corners, (*corners[1:], corners[0]), strict=True)
        outline = Outline(tuple(LineSeg(a, b) for a, b in sides))
        guides = tuple(_board_guides(scene, found))
        top = (0.0, h), (w, h)
    return Jig(name=name, outline=outline, guides=guides, notch=_notch(*top, guides))


def _listed(scene: Scene) -> str:
    names = jig_names(scene)
    return ", ".join(names) if names else "neither faces with openings nor boards with holes"


def _guides(scene: Scene, opening: Opening) -> Iterator[Guide]:
    """The pilot of a round hole; the corner holes of a window or slot."""
    drawer = scene.build.drawer
    if opening.drilled:
        drilled = [step.size for step in opening.steps if step.tool is Tool.DRILL]
        size = min([*drilled[:1], opening.diameter]) if drilled else min(PILOT, opening.diameter)
        yield Guide(x=opening.across, y=opening.up, diameter=size)
        return
    bit = chain_bit(drawer) or PILOT
    inset = bit / 2 + _CHAIN_INSET
    half_w, half_h = opening.width / 2 - inset, opening.height / 2 - inset
    if min(half_w, half_h) < 0:
        return  # too narrow for the bit: it is sawn and filed
    slot = opening.cut is Cut.RIM_SLOT
    frame = Pose((opening.across, opening.up, 0.0)).turned(0.0 if slot else opening.turn)
    spots = {(-half_w, -half_h), (half_w, -half_h)}
    if not slot:
        spots |= {(half_w, half_h), (-half_w, half_h)}
    kept: list[Point2] = []
    for x, y in sorted(spots):
        # Corners nearer than a bit would run into each other: one of them is enough.
        if all(math.dist((x, y), other) >= bit + _WEB for other in kept):
            kept.append((x, y))
    for x, y in kept:
        across, up, _ = frame.point((x, y, 0.0))
        yield Guide(x=across, y=up, diameter=bit)


def _board_guides(scene: Scene, board: PlacedBoard) -> Iterator[Guide]:
    """The pilots of a board's holes."""
    for hole in board.holes:
        steps = round_steps(scene.build.drawer, hole.diameter, float(board.board.thickness))
        drilled = [step.size for step in steps if step.tool is Tool.DRILL]
        size = drilled[0] if drilled else PILOT
        yield Guide(x=hole.x, y=hole.y, diameter=min(size, hole.diameter))


def _notch(left: Point2, right: Point2, guides: Sequence[Guide]) -> Point2 | None:
    """A place on the upper edge, left of its middle, clear of all guide holes."""
    for share in _SHARES:
        x = left[0] + (right[0] - left[0]) * share
        y = left[1] + (right[1] - left[1]) * share
        if all(math.dist((x, y), (g.x, g.y)) > NOTCH + g.diameter / 2 + _WEB for g in guides):
            return (x, y)
    return None


def jig_solid(made: Jig) -> Solid:
    """The plate as a solid: its face towards the box at z = 0, mm."""
    base = flat([wire([_edge(s) for s in made.outline.segments if not isinstance(s, Circle)])])
    plate = drawn_out(base, (0.0, 0.0, made.thickness))
    tools = [
        placed(
            round_bar(Cylinder(guide.diameter / 2, 2 * made.thickness)),
            Pose((guide.x, guide.y, made.thickness / 2)),
        )
        for guide in made.guides
    ]
    if made.notch is not None:
        x, y = made.notch
        half = NOTCH / 2
        # Wider above the edge, so that nothing of it is left standing there.
        corners = ((x, y - half), (x + 2 * half, y + half), (x - 2 * half, y + half))
        profile = flat([loop([(a, b, -made.thickness) for a, b in corners])])
        tools.append(drawn_out(profile, (0.0, 0.0, 3 * made.thickness)))
    return cut_away(plate, tools)


def _edge(segment: LineSeg | ArcSeg) -> Solid:
    if isinstance(segment, LineSeg):
        return line((*segment.start, 0.0), (*segment.end, 0.0))
    frame = Pose((*segment.centre, 0.0))
    return circle(frame, segment.radius, segment.begin, segment.finish)


def write_jig(made: Jig, path: Path) -> None:
    """Write a jig as STEP (ISO 10303-21), mm; the same jig gives the same bytes.

    Raises:
        OSError: when the file cannot be written.
    """
    title = f"jig {made.name}"
    part = Component(name=title, colour=(0.85, 0.75, 0.45, 1.0), solid=compound([jig_solid(made)]))
    text = steady(step_text(title, [part]), title)
    path.write_text(text, encoding="ascii", newline="\n")
