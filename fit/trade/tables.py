"""Published tables as CSV files, each headed by where its figures come from.

A table begins with ``#`` lines: ``source:``, ``how sure:`` and any number of ``note:``. A ``#``
line without such a word goes on with the one before. Then come a header row and the data. Tables
are read when first asked for and kept.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Final, TypeVar

_FOLDER: Final = "data"
_HEADING: Final = re.compile(r"^(source|how sure|note): *(.*)$")
_SIZED: Final = re.compile(r"^([^0-9]+)([0-9]+(?:\.[0-9]+)?)")
_MOST_LISTED: Final = 12

T = TypeVar("T")


class Sure(StrEnum):
    """How a figure came into a table."""

    READ = "read"
    """Read in a published page, file or package; not in the standard itself, which is sold."""
    MEMORY = "memory"
    """Recalled, not read anywhere while the table was made."""
    DERIVED = "derived"
    """Arithmetic on other figures."""
    PRACTICE = "practice"
    """Common practice, no source."""


class UnknownName(LookupError):
    """A name that is in no row of a table.

    Attributes:
        wrong: what is wrong, as half a sentence.
        right: the nearest names, or all of them when nothing comes near.
    """

    def __init__(self, kind: str, name: str, known: Iterable[str]) -> None:
        names = list(known)
        near = _near(name, names)
        if near:
            self.right = f"did you mean {' or '.join(near)}?"
        else:
            more = f" and {len(names) - _MOST_LISTED} more" if len(names) > _MOST_LISTED else ""
            self.right = f"known are {', '.join(names[:_MOST_LISTED])}{more}"
        self.wrong = f"'{name}' is not a known {kind}"
        super().__init__(f"{self.wrong}; {self.right}")


@dataclass(frozen=True, slots=True)
class _Table:
    source: str
    how_sure: str
    notes: tuple[str, ...]
    rows: tuple[dict[str, str], ...]


def names() -> tuple[str, ...]:
    """The names of all tables, in alphabetical order."""
    folder = files(__package__) / _FOLDER
    found = (entry.name for entry in folder.iterdir())
    return tuple(sorted(name[:-4] for name in found if name.endswith(".csv")))


def rows(name: str) -> tuple[dict[str, str], ...]:
    """The data rows of a table, each a dictionary from column to text.

    Raises:
        UnknownName: when there is no such table.
    """
    return _table(name).rows


def source_of(name: str) -> str:
    """Where a table's figures come from, in words.

    Raises:
        UnknownName: when there is no such table.
    """
    return _table(name).source


def how_sure(name: str) -> str:
    """How a table's figures were come by: read, from memory or derived, and what of it.

    Raises:
        UnknownName: when there is no such table.
    """
    return _table(name).how_sure


def notes_of(name: str) -> tuple[str, ...]:
    """The notes of a table; where two sources differ they say which was taken and why.

    Raises:
        UnknownName: when there is no such table.
    """
    return _table(name).notes


def number(row: Mapping[str, str], column: str) -> float:
    """The number in a cell.

    Raises:
        KeyError: when the table has no such column.
        ValueError: when the cell holds no number.
    """
    return float(row[column])


def number_or_none(row: Mapping[str, str], column: str) -> float | None:
    """The number in a cell, or None when the cell is empty.

    Raises:
        KeyError: when the table has no such column.
        ValueError: when the cell holds something that is no number.
    """
    return float(row[column]) if row[column] else None


def pick(kind: str, name: str, table: Mapping[str, T]) -> T:
    """Find an entry by name: letter case, blanks and ``×`` for ``x`` do not matter.

    The beginning of a name will do where it ends in a figure and only one name goes on from it
    with something else than a figure: ``M12`` finds ``M12x1.5``, ``M1`` finds nothing.

    Args:
        kind: what is looked for, for the message (``"thread"``).
        name: the name as typed.
        table: the entries by their proper names.

    Raises:
        UnknownName: when no entry, or more than one, answers to the name.
    """
    if name in table:
        return table[name]
    asked = _folded(name)
    folded = {_folded(known): known for known in table}
    if asked in folded:
        return table[folded[asked]]
    starts = [known for low, known in folded.items() if _goes_on(asked, low)]
    if len(starts) == 1:
        return table[starts[0]]
    raise UnknownName(kind, name, starts or table)


def _folded(name: str) -> str:
    return "".join(name.casefold().replace("×", "x").split())


def _goes_on(start: str, whole: str) -> bool:
    rest = whole[len(start) :]
    return bool(
        start[-1:].isdigit() and whole.startswith(start) and rest and rest[0] not in "0123456789."
    )


def _near(name: str, known: list[str]) -> list[str]:
    """Up to three known names: next sizes of the same kind first, then like spellings."""
    folded: dict[str, str] = {}
    for each in known:
        folded.setdefault(_folded(each), each)
    asked = _folded(name)
    close = _next_sizes(asked, list(folded)) + get_close_matches(asked, list(folded), 3, 0.6)
    close += [low for low in folded if asked and low.startswith(asked)]
    return [folded[low] for low in dict.fromkeys(close)][:3]


def _next_sizes(asked: str, known: list[str]) -> list[str]:
    """The two names that begin alike and whose figure is nearest: PG11 and PG13.5 for PG12."""
    wanted = _SIZED.match(asked)
    if wanted is None:
        return []
    sizes = [(match, low) for low in known if (match := _SIZED.match(low))]
    alike = [
        (abs(float(match[2]) - float(wanted[2])), low)
        for match, low in sizes
        if match[1] == wanted[1]
    ]
    return [low for _, low in sorted(alike)[:2]]


@cache
def _table(name: str) -> _Table:
    known = names()
    if name not in known:
        raise UnknownName("table", name, known)
    lines = (files(__package__) / _FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    start = next((n for n, line in enumerate(lines) if not line.startswith("#")), len(lines))
    said: dict[str, list[str]] = {"source": [], "how sure": [], "note": []}
    last = said["source"]
    for line in lines[:start]:
        text = line.lstrip("#").strip()
        heading = _HEADING.match(text)
        if heading is not None:
            last = said[heading[1]]
            last.append(heading[2])
        elif last:
            last[-1] = f"{last[-1]} {text}"
    data = tuple(dict(row) for row in csv.DictReader(lines[start:], strict=True))
    return _Table(" ".join(said["source"]), " ".join(said["how sure"]), tuple(said["note"]), data)
