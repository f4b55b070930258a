"""A run's rows as a file of plain data, and several such files as one run again."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fit import __version__
from fit.elsewhere.judge import Asked
from fit.elsewhere.row import Row, Sort, Ways, as_data, ordered, row_from
from fit.elsewhere.run import ALL, Rows, Share
from fit.findings import Problem, Span, UnusableInput


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of one build in many boxes.

    Attributes:
        build: the build's name.
        home: the name of its own box.
        fingerprint: of the build in its own box.
        asked: what was worked out.
        share: which share of the boxes.
        done, total: boxes looked at, and to be looked at.
        rows: sorted.
        sort: by what.
    """

    build: str
    home: str
    fingerprint: str
    asked: Asked
    share: Share
    done: int
    total: int
    rows: tuple[Row, ...]
    sort: Sort

    @property
    def whole(self) -> bool:
        """Whether all its boxes were looked at."""
        return self.done == self.total

    @property
    def boxes_that_go(self) -> int:
        """In how many boxes it goes together, one way or the other."""
        return len({row.box for row in self.rows if row.goes})


def table_of(
    build: str, home: str, fingerprint: str, asked: Asked, rows: Rows, share: Share, sort: Sort
) -> Table:
    """A run as a table."""
    return Table(
        build=build,
        home=home,
        fingerprint=fingerprint,
        asked=asked,
        share=share,
        done=rows.done,
        total=rows.total,
        rows=ordered(rows.rows, sort),
        sort=sort,
    )


def as_plain(table: Table) -> dict[str, Any]:
    """A table as plain data, ready for JSON."""
    return {
        "fit": __version__,
        "build": table.build,
        "home": table.home,
        "fingerprint": table.fingerprint,
        "ways": table.asked.ways.value,
        "mends": table.asked.mends,
        "pictures": table.asked.pictures,
        "layouts": table.asked.layouts,
        "part": [table.share.number, table.share.of],
        "done": table.done,
        "total": table.total,
        "sort": table.sort.value,
        "rows": [as_data(row) for row in table.rows],
    }


def table_from(path: Path) -> Table:
    """A table read back from a file.

    Raises:
        UnusableInput: when it is no such file, or from another version.
    """
    span = Span(path.as_posix())
    right = "give files written by fit boxes BUILD --part N/M --json"
    try:
        data = json.loads(path.read_bytes())
    except OSError as error:
        raise _unusable(span, (error.strerror or str(error)).lower(), right) from None
    except ValueError:
        raise _unusable(span, "this is no JSON", right) from None
    try:
        if data["fit"] != __version__:
            raise _unusable(
                span, f"written by fit {data['fit']}, this is {__version__}", "work it out anew"
            )
        number, of = data["part"]
        return Table(
            build=str(data["build"]),
            home=str(data["home"]),
            fingerprint=str(data["fingerprint"]),
            asked=Asked(
                ways=Ways(data["ways"]),
                mends=data["mends"] is True,
                pictures=data["pictures"] is True,
                layouts=data["layouts"] is True,
            ),
            share=Share(number=int(number), of=int(of)),
            done=int(data["done"]),
            total=int(data["total"]),
            rows=tuple(row_from(row) for row in data["rows"]),
            sort=Sort(data["sort"]),
        )
    except (KeyError, TypeError, ValueError):
        raise _unusable(span, "this is no table of boxes", right) from None


def joined(paths: Iterable[Path], sort: Sort) -> Table:
    """The table that one run over all boxes would have given.

    Raises:
        UnusableInput: when the files are not all the parts of one run.
    """
    files = list(paths)
    tables = [table_from(path) for path in files]
    problems = [
        p for path, table in zip(files, tables, strict=True) for p in _strange(path, table, tables)
    ]
    first = tables[0]
    missing = set(range(1, first.share.of + 1)) - {table.share.number for table in tables}
    if missing and not problems:
        told = ", ".join(f"{n}/{first.share.of}" for n in sorted(missing))
        wrong = f"part {told} of this run is missing"
        problems.append(Problem(Span(files[0].as_posix()), wrong, "give the files of all parts"))
    if problems:
        raise UnusableInput(tuple(problems))
    return Table(
        build=first.build,
        home=first.home,
        fingerprint=first.fingerprint,
        asked=first.asked,
        share=ALL,
        done=sum(table.done for table in tables),
        total=sum(table.total for table in tables),
        rows=ordered((row for table in tables for row in table.rows), sort),
        sort=sort,
    )


def _strange(path: Path, table: Table, tables: list[Table]) -> list[Problem]:
    """Why a file does not belong with the first one."""
    first = tables[0]
    same = (table.build, table.fingerprint, table.asked, table.share.of)
    span = Span(path.as_posix())
    if same != (first.build, first.fingerprint, first.asked, first.share.of):
        right = f"all parts are of one run: {first.build}, fingerprint {first.fingerprint}"
        return [Problem(span, "this part belongs to another run", right)]
    if any(t is not table and t.share == table.share for t in tables):
        told = f"part {table.share.number}/{table.share.of} is there twice"
        return [Problem(span, told, "give each part once")]
    return []


def _unusable(span: Span, wrong: str, right: str) -> UnusableInput:
    return UnusableInput((Problem(span, wrong, right),))
