"""What `fit board` found, in words for somebody who counts holes on a real board."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from fit.model.build import Build
from fit.solve.board import Biggest, End, Sawn
from fit.solve.board_file import Away, change_at, file_lines, pieces_out
from fit.solve.board_grid import Grid
from fit.solve.board_map import State
from fit.solve.board_room import Room
from fit.solve.outline import Outline
from fit.solve.run import Status as Ran
from fit.units import show

_WIDE = 94
"""Most characters of a picture beside its row numbers."""

SIDE_WORDS = {
    "left": ("column", "at the left"),
    "right": ("column", "at the right"),
    "lower": ("row", "below"),
    "upper": ("row", "above"),
}
"""For each side of a board: what is added there one by one, and where that is."""


def count(number: float, one: str) -> str:
    """Such as "1 row", "3 rows"."""
    return f"{show(number, 0)} {one}{'' if round(number) == 1 else 's'}"


def size_words(grid: Grid, outline: Outline) -> str:
    """Columns, rows and millimetres of an outline's bounding rectangle."""
    w, h = outline.rect[2] - outline.rect[0], outline.rect[3] - outline.rect[1]
    mm = f"{show(w * grid.step)} × {show(h * grid.step)} mm"
    if not grid.holes:
        return mm
    return f"{count(w, 'column')} × {count(h, 'row')} of holes, {mm}"


def area_words(grid: Grid, cells: float) -> str:
    """Holes, or square centimetres on a board without."""
    square = f"{show(cells * grid.step**2 / 100, 1)} cm²"
    return f"{count(cells, 'hole')} ({square})" if grid.holes else square


def found_text(found: Biggest, before: Build, after: Build, sawn: Sawn, verdict: str) -> str:
    """Everything about the biggest board."""
    assert found.outline is not None
    grid, outline = found.grid, found.outline
    lines = [f"{found.name}: {size_words(grid, outline)}, {area_words(grid, outline.area)}"]
    lines += [f"  {line}" for line in _against_now(grid, outline)]
    lines.append(f"  {seen_words(grid)}")
    lines += [f"  {away_words(grid, away)}" for away in pieces_out(outline)]
    lines += ["", "  Why not larger (what the check says of one line more):"]
    lines += [f"    {line}" for line in _limits(found)]
    lines += ["", *(f"  {line}" for line in _bound(found, sawn)), ""]
    lines += [f"  {line}" for line in picture(found)]
    lines += ["", f"  With this board the build is {verdict}. To have it, write in your file:"]
    lines += [f"    {line}" for line in file_text(before, after)]
    return "\n".join(lines)


def file_text(before: Build, after: Build) -> list[str]:
    """The lines to write, part by part."""
    return [
        line
        for name, lines in file_lines(before, after).items()
        for line in (f"{name}:", *(f"  {each}" for each in lines))
    ]


def _against_now(grid: Grid, outline: Outline) -> Iterator[str]:
    more = outline.area - grid.area_now
    what = "more" if more >= 0 else "less"
    now = grid.board.size
    size = f"{show(now[0])} × {show(now[1])} mm"
    yield f"Now it is {size}, {area_words(grid, grid.area_now)}: {area_words(grid, abs(more))} " + (
        f"{what}."
    )
    sides = [
        f"{count(abs(by), word if grid.holes else 'mm').replace('mms', 'mm')} "
        f"{'more' if by > 0 else 'less'} {where}"
        for side, by in change_at(grid, outline).items()
        if by
        for word, where in (SIDE_WORDS[side],)
    ]
    if sides:
        yield f"Against now: {', '.join(sides)}."


def seen_words(grid: Grid) -> str:
    """From where it is seen and counted."""
    if grid.holes:
        return "Seen from the component side; row 1 is the lowest, column 1 is at the left."
    return "Seen from the component side, measured from the lower left corner."


def away_words(grid: Grid, away: Away) -> str:
    """A piece to saw out: which corner or edge, and which rows and columns to count."""
    where = f"Corner away, {away.at}" if away.corner else f"Notch in the {away.at} edge"
    if grid.holes:
        return f"{where}: {_span('row', away.rows)}, {_span('column', away.columns)}."
    (a, b), (c, d) = away.rows, away.columns
    s = grid.step
    return (
        f"{where}: from {show((c - 1) * s)} to {show(d * s)} mm from the left, from "
        f"{show((a - 1) * s)} to {show(b * s)} mm from below."
    )


def _span(what: str, span: tuple[int, int]) -> str:
    return f"{what} {span[0]}" if span[0] == span[1] else f"{what}s {span[0]}-{span[1]}"


def _limits(found: Biggest) -> Iterator[str]:
    assert found.grown is not None and found.outline is not None
    for side, clash in found.grown.sides.items():
        _, where = SIDE_WORDS[side]
        if clash is not None:
            yield f"{where}: {clash.say}"
        elif found.grid.standing and side == "lower":
            yield f"{where}: there it stands on the other board."
        elif any(nose.edge.value == side for nose in found.grid.board.noses):
            yield f"{where}: something looks out over this edge."
        else:
            yield f"{where}: the box ends there." if not found.cut_short else f"{where}: not tried."
    for away, clash in zip(pieces_out(found.outline), found.grown.notches, strict=True):
        if clash is not None:
            yield f"with the {away.at} {'corner' if away.corner else 'notch'} left on: {clash.say}"


def _bound(found: Biggest, sawn: Sawn) -> Iterator[str]:
    kind = kind_words(found.grid, sawn)
    if found.cut_short:
        yield f"The search was stopped: {area_words(found.grid, found.most)} at most, {kind}."
    elif found.most == found.area:
        yield f"Nothing larger can do, {kind}."
    else:
        yield (
            f"At most {area_words(found.grid, found.most)} could ever do, {kind}; of "
            f"{count(found.tried, 'outline')} checked none larger passed."
        )


def kind_words(grid: Grid, sawn: Sawn) -> str:
    """What kind of outline was looked for."""
    cuts = count(sawn.notches, "notch").replace("notchs", "notches")
    wide = count(sawn.least_width, "hole") if grid.holes else f"{sawn.least_width * 2.54:.0f} mm"
    return f"with at most {cuts} and {wide} left between cuts, all else staying where it is"


def none_text(found: Biggest, sawn: Sawn) -> str:
    """Why there is no board."""
    if found.end is End.UNKNOWN:
        head = f"{found.name}: no board was found before the search ended"
    else:
        head = f"{found.name}: there is none, {kind_words(found.grid, sawn)}"
    return "\n".join([head, *(f"  {reason}" for reason in found.reasons)])


# --- the picture


def picture(found: Biggest) -> list[str]:
    """A map of the board and what lies round it, one sign for a hole (or for several)."""
    assert found.outline is not None and found.map is not None
    x0, y0, x1, y1 = found.outline.rect
    a0, b0, a1, b1 = found.map.reach
    left, right, low, high = max(a0, x0 - 2), min(a1, x1 + 2), max(b0, y0 - 2), min(b1, y1 + 2)
    each = max(1, math.ceil((right - left) / _WIDE))
    holes = found.outline.holes()
    lines = []
    for row in range(low, high, each):
        signs = "".join(
            _sign(found, holes, (column, row), each) for column in range(left, right, each)
        )
        number = row - y0 + 1
        told = (
            f"{number:4}" if 1 <= number <= y1 - y0 and (number == 1 or not number % 5) else "    "
        )
        lines.append(f"{told if each == 1 else '    '} {signs}")
    lines.reverse()
    if each == 1:
        marks = [" "] * (right - left)
        for number in (1, *range(10, x1 - x0 + 1, 10)):
            for n, digit in enumerate(str(number)):
                at = number - 1 + x0 - left + n
                if at < len(marks):
                    marks[at] = digit
        lines.append("     " + "".join(marks).rstrip())
    scale = (
        ""
        if each == 1
        else f"  (one sign: {each} × {each} {'holes' if found.grid.holes else 'mm'})"
    )
    lines.append(
        "     # board  o needed here  . left off  ~ left off, doubtful  x too near something"
        + scale
    )
    return lines


def _sign(found: Biggest, holes: frozenset[tuple[int, int]], at: tuple[int, int], each: int) -> str:
    assert found.map is not None and found.kept is not None
    cells = [(at[0] + i, at[1] + j) for i in range(each) for j in range(each)]
    if all(c in holes for c in cells):
        return "o" if any(c in found.kept.cells for c in cells) else "#"
    worst = max(found.map.state(*c) for c in cells if c not in holes)
    return {State.FREE: ".", State.DOUBTFUL: "~", State.BLOCKED: "x"}[worst]


# --- rooms


def room_text(room: Room, before: Build, asked: str) -> str:
    """The smallest room and the board in it."""
    found = room.found
    assert found.outline is not None
    grid = found.grid
    lines = [
        f"{found.name}, {asked} or more: inside {show(room.breadth)} × {show(room.depth)} mm at "
        "the rim,",
        f"  with the walls of {before.box.name} a box of {show(room.outside[0])} × "
        f"{show(room.outside[1])} mm outside.",
        f"  In it: {size_words(grid, found.outline)}, {area_words(grid, found.area)}.",
    ]
    lines += [f"    {away_words(grid, away)}" for away in pieces_out(found.outline)]
    lines += [
        "  Height, lid, walls and their lean stay; closing posts and ribs move with the walls;",
        "  board posts stay round the middle; parts keep the places your file gives them.",
    ]
    tried = f"({room.tried} rooms looked into)"
    if room.proved:
        lines.append(
            f"  Nothing smaller by floor area in steps of 0.5 mm {tried}, taking it that what "
            "does not go into a room does not go into one narrower and shorter."
        )
    else:
        lines.append(f"  Time was up {tried}: a smaller room may do.")
    return "\n".join(lines)


# --- for other programs


def found_json(found: Biggest, before: Build, after: Build | None) -> dict[str, Any]:
    """One board as plain data; lengths in mm."""
    grid, s = found.grid, found.grid.step
    data: dict[str, Any] = {
        "board": found.name,
        "status": {
            End.FOUND: Ran.FOUND,
            End.NONE: Ran.IMPOSSIBLE,
            End.UNKNOWN: Ran.OUT_OF_TIME,
        }[found.end].value,
        "step": s,
        "now": {
            "size": [round(float(v), 4) for v in grid.board.size],
            "cells": round(grid.area_now, 4),
        },
        "most_cells": found.most,
        "cut_short": found.cut_short,
        "tried": found.tried,
        "reasons": list(found.reasons),
    }
    if found.outline is None or found.grown is None or after is None:
        return data
    w, h = (found.outline.rect[n + 2] - found.outline.rect[n] for n in (0, 1))
    return data | {
        "columns": w,
        "rows": h,
        "size": [round(w * s, 4), round(h * s, 4)],
        "cells": found.area,
        "area": round(found.area * s * s, 4),
        "away": [away_json(a) for a in pieces_out(found.outline)],
        "more": change_at(grid, found.outline),
        "limits": {
            side: None if f is None else {"rule": f.rule, "about": list(f.about), "say": f.say}
            for side, f in found.grown.sides.items()
        },
        "file": {name: list(lines) for name, lines in file_lines(before, after).items()},
    }


def away_json(away: Away) -> dict[str, Any]:
    """A piece to saw out, counted from 1."""
    return {"at": away.at.value, "columns": list(away.columns), "rows": list(away.rows)}


def room_json(room: Room, before: Build) -> dict[str, Any]:
    """The smallest room as plain data."""
    return {
        "inside": [room.breadth, room.depth],
        "outside": [round(v, 4) for v in room.outside],
        "proved": room.proved,
        "tried": room.tried,
        "board": found_json(room.found, before, room.build),
    }
