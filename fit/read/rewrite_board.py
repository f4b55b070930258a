"""What to write into a build file for the size a board took, and for what moved with its corner."""

from __future__ import annotations

from typing import Any

from fit.model.build import Used
from fit.model.part import Board, Joint
from fit.model.words import BoardEdge, BoardStock, JointKind
from fit.read.edits import Value, Wanted
from fit.units import Length, in_holes

_ACROSS = (BoardEdge.LEFT, BoardEdge.RIGHT)
_ALONG = (BoardEdge.LOWER, BoardEdge.UPPER)


def board_wanted(was: Used, now: Used, there: Any) -> Wanted:
    """The keys below a part's name that a board of another size needs.

    Holes, zones and noses count from the board's lower left corner, so their numbers change with
    rows at the left or below; each is written where it stands, in the form it has there.

    Args:
        was: the part as read.
        now: with its size settled.
        there: what the file says of it, as plain data.
    """
    found: Wanted = {}
    use = there.get("use") if isinstance(there, dict) else None
    if isinstance(was.part, Board) and isinstance(now.part, Board) and was.part != now.part:
        board = _board(was.part, now.part, use if isinstance(use, dict) else {})
        if board:
            found["use"] = board
    if now.joint is not None and was.joint != now.joint:
        given = there.get("with") if isinstance(there, dict) else None
        inset = Value(_length(BoardStock.PLAIN, now.joint.inset))
        found["with"] = {"inset": inset} if isinstance(given, dict) else Value(_joint(now.joint))
    return found


def _board(was: Board, now: Board, use: dict[str, Any]) -> Wanted:
    found: Wanted = {}
    if was.up_to is not None and now.up_to is None:
        found["size"] = Value([_length(now.stock, side) for side in now.size])
    for key, moved in (
        ("holes", _holes(was, now, use.get("holes"))),
        ("zones", _zones(was, now)),
        ("noses", _noses(was, now)),
    ):
        if moved:
            found[key] = moved
    return found


def _holes(was: Board, now: Board, there: Any) -> Wanted:
    found: Wanted = {}
    for n, (old, new) in enumerate(zip(was.holes, now.holes, strict=True)):
        if old == new:
            continue
        keys = ("x", "y") if isinstance(there, list) and isinstance(there[n], dict) else ("0", "1")
        found[str(n)] = _point(keys, now, new.x, new.y)
    return found


def _zones(was: Board, now: Board) -> Wanted:
    return {
        str(n): {"over": _point(("0", "1"), now, new.x, new.y)}
        for n, (old, new) in enumerate(zip(was.zones, now.zones, strict=True))
        if old != new
    }


def _noses(was: Board, now: Board) -> Wanted:
    found: Wanted = {}
    for n, (old, new) in enumerate(zip(was.noses, now.noses, strict=True)):
        both = _point(("x", "y"), now, new.x, new.y)
        if new.edge in _ACROSS:
            del both["x"]
        elif new.edge in _ALONG:
            del both["y"]
        if old != new:
            found[str(n)] = both
    return found


def _point(keys: tuple[str, str], board: Board, x: Length, y: Length) -> Wanted:
    return {key: Value(_length(board.stock, v)) for key, v in zip(keys, (x, y), strict=True)}


def _length(stock: BoardStock, value: Length) -> str | int | float:
    """Whole and half holes of perfboard as such, all else in mm."""
    holes = None if stock is BoardStock.PLAIN else in_holes(value)
    if holes is not None and not value.plus_minus:
        return holes
    mm = round(float(value), 3) + 0.0
    number = int(mm) if mm == int(mm) else mm
    return f"{number} ± {value.plus_minus:g}" if value.plus_minus else number


def _joint(joint: Joint) -> dict[str, Any]:
    """A joint described on the spot: the catalogue's has another inset."""
    plain = [_length(BoardStock.PLAIN, v) for v in joint.size]
    if joint.kind is JointKind.BLOCK:
        shape: dict[str, Any] = {"kind": "block", "size": plain}
    else:
        thick = _length(BoardStock.PLAIN, joint.thickness)
        shape = {"kind": "bracket", "width": plain[0], "legs": plain[1:], "thickness": thick}
    inset, screw = (_length(BoardStock.PLAIN, v) for v in (joint.inset, joint.screw))
    return shape | {"count": joint.count, "inset": inset, "screw": screw}
