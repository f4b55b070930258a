"""What to write into a build file for another outline of a board, and how to count it out."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass

from fit.model.build import Build, Coordinate, How, Used
from fit.model.part import Board, Joint, Zone
from fit.model.words import BoardEdge, BoardStock, JointKind, Side, Stuff
from fit.solve.board_grid import Grid
from fit.solve.outline import NotchAt, Outline
from fit.units import in_holes, show

_PLAIN_WORD = re.compile(r"^[A-Za-zÀ-ÿ][\w À-ÿ-]*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Away:
    """A piece to saw out of a rectangle, counted from the board's lower left corner.

    Attributes:
        at: where it is.
        columns, rows: first and last, from 1 (on a board without holes: millimetres).
    """

    at: NotchAt
    columns: tuple[int, int]
    rows: tuple[int, int]

    @property
    def corner(self) -> bool:
        """Whether a corner goes."""
        return " " in self.at.value


def pieces_out(outline: Outline) -> tuple[Away, ...]:
    """The notches of an outline, to be counted on the board."""
    x, y = outline.rect[0], outline.rect[1]
    return tuple(
        Away(
            at=n.at,
            columns=(n.rect[0] - x + 1, n.rect[2] - x),
            rows=(n.rect[1] - y + 1, n.rect[3] - y),
        )
        for n in outline.notches
    )


def change_at(grid: Grid, outline: Outline) -> dict[str, int]:
    """Cells more (or fewer, below 0) than now at each side."""
    now, then = grid.now, outline.rect
    return {
        "left": now[0] - then[0],
        "right": then[2] - now[2],
        "lower": now[1] - then[1],
        "upper": then[3] - now[3],
    }


def file_lines(before: Build, after: Build) -> dict[str, tuple[str, ...]]:
    """The lines that differ between two builds, by part: what to write under each name.

    Only what another outline of a board changes is looked at: the board, its place, its joint.
    """
    found = {}
    for used in after.parts:
        lines = tuple(_lines(before.part(used.name), used))
        if lines:
            found[used.name] = lines
    return found


def _lines(was: Used, now: Used) -> Iterator[str]:
    if isinstance(was.part, Board) and isinstance(now.part, Board) and was.part != now.part:
        yield from _board_lines(was.part, now.part)
    if was.joint != now.joint and now.joint is not None:
        yield f"with: {_joint(now.joint)}"
    if was.at != now.at and now.at is not None:
        given = {"across": now.at.across, "up": now.at.up}
        told = [f"{k}: {_coordinate(v)}" for k, v in given.items() if v is not None]
        yield f"at: {{{', '.join(told)}}}"


def _coordinate(given: Coordinate) -> str:
    if given.how is How.AT:
        return show(given.value, 3)
    if given.how is How.CENTRE:
        return "centre"
    return f"{{{given.how.value}: {show(given.value, 3)}}}"


def _board_lines(was: Board, now: Board) -> Iterator[str]:
    yield f"size: [{_length(now, now.size[0])}, {_length(now, now.size[1])}]"
    if was.notches != now.notches:
        told = (_list(now, n.x, n.y, n.width, n.depth) for n in now.notches)
        yield f"notches: [{', '.join(told)}]"
    if was.holes != now.holes:
        yield "holes:"
        yield from (f"  - {_list(now, h.x, h.y)[:-1]}, {show(h.diameter, 3)}]" for h in now.holes)
    if was.zones != now.zones:
        yield "zones:"
        yield from (f"  - {_zone(now, z)}" for z in now.zones)
    if was.noses != now.noses:
        for nose in now.noses:
            along = {"x": nose.x, "y": nose.y}
            if nose.edge in (BoardEdge.LEFT, BoardEdge.RIGHT):
                del along["x"]
            elif nose.edge in (BoardEdge.LOWER, BoardEdge.UPPER):
                del along["y"]
            words = ", ".join(f"{k}: {_length(now, v)}" for k, v in along.items())
            yield f"in noses, {_quoted(nose.name)}: {words}"


def _zone(board: Board, zone: Zone) -> str:
    more = [f"height: {show(zone.height, 3)}"]
    if zone.side is not Side.TOP:
        more.append(f"side: {zone.side.value}")
    if zone.stuff is not Stuff.HARD:
        more.append(f"stuff: {zone.stuff.value}")
    over = _list(board, zone.x, zone.y, zone.width, zone.depth)
    return f"{{name: {_quoted(zone.name)}, over: {over}, {', '.join(more)}}}"


def _quoted(text: str) -> str:
    return text if _PLAIN_WORD.match(text) else json.dumps(text, ensure_ascii=False)


def _list(board: Board, *values: float) -> str:
    return f"[{', '.join(_length(board, v) for v in values)}]"


def _length(board: Board, value: float) -> str:
    """Whole and half holes are written as such on perfboard, all else in mm."""
    holes = None if board.stock is BoardStock.PLAIN else in_holes(value)
    return show(value, 3) if holes is None else holes


def _joint(joint: Joint) -> str:
    """A joint described on the spot: the catalogue's has another inset."""
    a, b, c = (show(v, 3) for v in joint.size)
    if joint.kind is JointKind.BLOCK:
        what = f"kind: block, size: [{a}, {b}, {c}]"
    else:
        what = f"kind: bracket, width: {a}, legs: [{b}, {c}], thickness: {show(joint.thickness, 3)}"
    return (
        f"{{{what}, count: {joint.count}, inset: {show(joint.inset, 3)}, "
        f"screw: {show(joint.screw, 3)}}}"
    )
