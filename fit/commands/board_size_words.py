"""What boards whose size was left open took, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fit.commands.board_words import SIDE_WORDS, size_words
from fit.model.build import Build
from fit.report import as_json
from fit.solve.board_size import Taken


def sizes_lines(sizes: Iterable[Taken]) -> Iterator[str]:
    """The sizes alone, for a check."""
    yield "Boards whose size was open, as large as goes in (fit place says what limits them):"
    for taken in sizes:
        yield f"    {taken.name}: {_size(taken)}"


def limits_lines(sizes: Iterable[Taken]) -> Iterator[str]:
    """The sizes, and what limits each side."""
    for taken in sizes:
        yield f"{taken.name}, whose size was open: {_size(taken)}"
        if taken.outline is None:
            continue
        for side, clash in taken.limits.items():
            say = f"{taken.ended[side]}." if clash is None else clash.say
            yield f"    no more {SIDE_WORDS[side][1]}: {say}"
        if taken.cut_short:
            yield "    the search was stopped: a larger one may go in"


def none_lines(taken: Taken) -> Iterator[str]:
    """Why no board of at least the least size goes in."""
    if taken.waits:
        yield f"{taken.name}, whose size is open, waits for this to be mended first:"
        yield from (f"    {reason}" for reason in taken.reasons)
        return
    wide, high = taken.grid.board.size
    yield (
        f"{taken.name}, whose size is open, does not go in even at the least it has to be, "
        f"{wide.words} × {high.words}:"
    )
    for reason in taken.reasons:
        yield f"    {reason}"


def _size(taken: Taken) -> str:
    if taken.outline is None:
        return "not looked for, as something else clashes" if taken.waits else "none goes in"
    return size_words(taken.grid, taken.outline)


def none_json(build: Build, taken: Iterable[Taken]) -> str:
    """The same as data."""
    none = [one for one in taken if one.outline is None]
    return as_json(
        {
            "build": build.name,
            "box": build.box.name,
            "layout": {
                "status": "impossible",
                "reason": {
                    "parts": [one.name for one in none],
                    "say": " ".join(dict.fromkeys(r for one in none for r in one.reasons)),
                },
            },
        }
    )
