"""What `fit board --pair` found: depth of the lying board, height of the standing one, display."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Any

from fit.commands.board_words import area_words, away_json, away_words, file_text, size_words
from fit.model.build import Build, How
from fit.solve.board_file import file_lines, pieces_out
from fit.solve.board_pair import At, Pair, Pairs
from fit.solve.board_rise import STEP, Raised
from fit.units import show

_FROM = {How.FROM_RIM: "from the rim", How.FROM_FLOOR: "from the floor"}


def from_words(display: Raised) -> str:
    """How a display's height is counted, such as "mm from the rim"."""
    return f"mm {_FROM.get(display.how, 'up')}"


def pairs_text(found: Pairs, before: Build) -> str:
    """The table of heights against depths, what the display's height does, and the lines."""
    lines = [f"{found.standing} (standing) against {found.lying} (lying), every pair checked:", ""]
    lines += [f"  {line}" for line in _table(found)]
    lines.append("")
    if len(found.rows) == 1:
        lines.append("  One pair: neither board takes rows from the other.")
    else:
        lines.append("  Each row further down trades depth for height; nothing between is better.")
    if found.cut_short:
        lines.append("  The search was stopped: more may be possible.")
    if found.raised is not None:
        lines += ["", *(f"  {line}".rstrip() for line in _raised_text(found, found.raised))]
    for n, row in enumerate(found.rows, 1):
        lines += ["", f"  Pair {n}:"]
        for name, grid, outline in (
            (found.lying, found.lying_grid, row.lying),
            (found.standing, found.standing_grid, row.standing),
        ):
            lines.append(
                f"    {name}: {size_words(grid, outline)}, {area_words(grid, outline.area)}"
            )
            lines += [f"      {away_words(grid, away)}" for away in pieces_out(outline)]
        lines.append("    In your file:")
        lines += [f"      {line}" for line in file_text(before, row.build)]
    return "\n".join(lines)


def _table(found: Pairs) -> Iterator[str]:
    heads = [f"{found.lying}: rows deep", f"{found.standing}: rows high"]
    rows = [
        [
            f"{row.depth} ({show(row.depth * found.lying_grid.step)} mm)",
            f"{row.height} ({show(row.height * found.standing_grid.step)} mm)",
        ]
        for row in found.rows
    ]
    if found.raised is not None:
        heads.append(f"{found.raised.name}: {from_words(found.raised)}")
        for cells, row in zip(rows, found.rows, strict=True):
            cells.append(_spans([at for at in row.heights if at.rows >= row.height]))
    wide = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    for number, line in enumerate([heads, *rows]):
        told = "  ".join(cell.rjust(w) for cell, w in zip(line, wide, strict=True))
        yield f"{number or '':>2}  {told}"


def _spans(heights: list[At]) -> str:
    """Heights as spans, such as "18-20, 24"; steps of a millimetre make a span."""
    spans: list[list[float]] = []
    for at in heights:
        if spans and at.rise.mm - spans[-1][1] <= STEP + 1e-6:
            spans[-1][1] = at.rise.mm
        else:
            spans.append([at.rise.mm, at.rise.mm])
    return ", ".join(
        show(low) if low == high else f"{show(low)}-{show(high)}" for low, high in spans
    )


def _raised_text(found: Pairs, display: Raised) -> Iterator[str]:
    if display.open:
        yield f"{display.name}, the display, has no height in your file: each pair names the best."
    else:
        yield (
            f"{display.name}, the display, sits at {show(display.now.mm)} {from_words(display)} in "
            "your file, and stays there."
        )
    yield "Raised or lowered by whole millimetres, all else and the columns as they are:"
    for number, row in enumerate(found.rows, 1):
        yield ""
        yield f"  {display.name}, {from_words(display)}: rows of {found.standing}, pair {number}"
        yield from (f"    {line}" for line in _ladder(row))
    yield from _gain(found, display)
    yield from _barred(display)


def _ladder(row: Pair) -> Iterator[str]:
    told = [list(ats) for _, ats in itertools.groupby(row.heights, key=_alike)]
    wide = max((len(_spans(ats)) for ats in told), default=0)
    for ats in told:
        here = "  ← this pair" if row.rise in [at.rise for at in ats] else ""
        why = f": {ats[0].why.say}" if ats[0].why is not None else ""
        yield f"{_spans(ats):>{wide}}  {ats[0].rows or f'none{why}'}{here}"


def _alike(at: At) -> tuple[object, ...]:
    """What two heights have in common to be told in one line: rows, or what stands against them."""
    return at.rows, None if at.why is None else (at.why.rule, at.why.about)


def _gain(found: Pairs, display: Raised) -> Iterator[str]:
    """Whether moving a fixed display would gain rows."""
    if display.open:
        return
    yield ""
    for number, row in enumerate(found.rows, 1):
        most = max((at.rows for at in row.heights), default=0)
        if most > row.height:
            best = _spans([at for at in row.heights if at.rows == most])
            yield (
                f"Pair {number} could have {most} rows of {found.standing} with {display.name} "
                f"at {best} {from_words(display)}."
            )
            return
    yield f"No other height of {display.name} gains {found.standing} a row."


def _barred(display: Raised) -> Iterator[str]:
    """What stands against heights further up and down, whatever the boards are."""
    tried = [rise.mm for rise in display.rises]
    below = [mm for mm in display.barred if mm < min(tried)]
    above = [mm for mm in display.barred if mm > max(tried)]
    for mm in (max(below, default=None), min(above, default=None)):
        if mm is not None:
            yield f"At {show(mm)} and beyond, whatever the boards: {display.barred[mm].say}"


def pairs_json(found: Pairs, before: Build) -> dict[str, Any]:
    """The table as plain data; lengths in mm."""
    return {
        "lying": found.lying,
        "standing": found.standing,
        "cut_short": found.cut_short,
        "display": None if found.raised is None else _display_json(found.raised),
        "pairs": [
            {
                "depth": row.depth,
                "height": row.height,
                "display": None if row.rise is None else round(row.rise.mm, 4),
                "heights": [_at_json(at) for at in row.heights],
                "lying": {
                    "cells": row.lying.area,
                    "away": [away_json(a) for a in pieces_out(row.lying)],
                },
                "standing": {
                    "cells": row.standing.area,
                    "away": [away_json(a) for a in pieces_out(row.standing)],
                },
                "file": {n: list(lines) for n, lines in file_lines(before, row.build).items()},
            }
            for row in found.rows
        ],
    }


def _display_json(display: Raised) -> dict[str, Any]:
    return {
        "name": display.name,
        "open": display.open,
        "counted": display.how.value,
        "now": round(display.now.mm, 4),
        "step": STEP,
        "barred": [{"at": mm, "say": f.say} for mm, f in sorted(display.barred.items())],
    }


def _at_json(at: At) -> dict[str, Any]:
    return {
        "at": round(at.rise.mm, 4),
        "up": round(at.rise.up, 4),
        "rows": at.rows,
        "why": None if at.why is None else at.why.say,
    }
