"""One row: a build in one box, one way round, as plain values ready for a file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any, Final

from fit.findings import Verdict


class Sort(StrEnum):
    """What a table is sorted by; boxes in which it does not go together always come last."""

    SMALLEST = "smallest"
    """By outside volume."""
    ROOMIEST = "roomiest"
    """By room to spare."""
    LEAST_CHANGED = "least-changed"
    """By how little is not as written, then by how little moved."""


class Ways(StrEnum):
    """Which ways round are tried."""

    HOME = "home"
    """As written only."""
    BEST = "best"
    """One row a box: as written, or where it does not go like that the first way it does."""
    EACH = "each"
    """All of them, one row each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A build in a box.

    Attributes:
        box: the box's name.
        stands_on, carrier, quarters: which way round.
        way: the same in words; ``as written`` when it is.
        changes: in how many respects it is not as written.
        verdict: clear, tight or clash; empty when the build asks for what the box does not have.
        clashes: how many.
        spare: the least room to spare, mm; None where nothing is known.
        spare_at: the rule and the parts where that is.
        odds: rough chance that all goes together at the first cut; None where nothing is known.
        moved: in words, what moved on its face against the build's own box.
        far: how far in all, mm; a change of face counts 1000.
        reused: holes the box has already that serve, and the parts they serve.
        reason: the first reason why it does not go together, or empty.
        rule: the rule that gives it; ``quick: …`` for a quick reject, ``box`` for what the box
            does not have, ``file`` for a box file that cannot be used.
        mend: what mends it, tried one after the other until no clash is left; or empty.
        outside: length, width and height, mm.
        volume: outside, cm³.
        picture: the faces with their openings, as SVG, or empty.
    """

    box: str
    stands_on: str = ""
    carrier: str = ""
    quarters: int = 0
    way: str = ""
    changes: int = 0
    verdict: str = ""
    clashes: int = 0
    spare: float | None = None
    spare_at: str = ""
    odds: float | None = None
    moved: tuple[str, ...] = ()
    far: float = 0.0
    reused: tuple[str, ...] = ()
    reason: str = ""
    rule: str = ""
    mend: str = ""
    outside: tuple[float, ...] = ()
    volume: float = 0.0
    picture: str = ""

    @property
    def goes(self) -> bool:
        """Whether it goes together."""
        return self.verdict in (Verdict.CLEAR.value, Verdict.TIGHT.value)

    @property
    def quick(self) -> bool:
        """Whether a quick reject said so and the check was not asked."""
        return self.rule.startswith("quick")


_FIELDS: Final = {f.name for f in fields(Row)}
_NUMBERS: Final = ("clashes", "quarters", "changes", "far", "volume")
_MAYBE: Final = ("spare", "odds")
_LISTS: Final = ("moved", "reused", "outside")


def as_data(row: Row) -> dict[str, Any]:
    """A row as plain data; `row_from` makes the same row of it."""
    return {k: list(v) if isinstance(v, tuple) else v for k, v in asdict(row).items()}


def row_from(data: object) -> Row:
    """A row from plain data.

    Raises:
        ValueError: when it is no row.
    """
    if not isinstance(data, dict) or set(data) != _FIELDS:
        raise ValueError("this is no row")
    for name, value in data.items():
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if name in _LISTS:
            right = isinstance(value, list)
        elif name in _MAYBE:
            right = value is None or number
        elif name in _NUMBERS:
            right = number
        else:
            right = isinstance(value, str)
        if not right:
            raise ValueError(f"'{name}' of a row cannot be {value!r}")
    lists = {name: tuple(data[name]) for name in _LISTS}
    return Row(**{**data, **lists})


def ordered(rows: Iterable[Row], by: Sort) -> tuple[Row, ...]:
    """Rows in the order asked for; equal ones by name, so that the order is always the same."""

    def key(row: Row) -> tuple[object, ...]:
        spare = -(row.spare if row.spare is not None else -1e9)
        name = (row.box, row.changes, row.way)
        if not row.goes:
            # The nearest misses first, whatever was asked: they are what may be worth a mend.
            return (1, not row.mend, row.quick, not row.verdict, row.clashes, *name)
        keys: dict[Sort, tuple[object, ...]] = {
            Sort.SMALLEST: (row.volume, spare),
            Sort.ROOMIEST: (spare, row.volume),
            Sort.LEAST_CHANGED: (row.changes, row.far, row.volume),
        }
        return (0, *keys[by], *name)

    return tuple(sorted(rows, key=key))
