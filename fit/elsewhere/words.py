"""A table of boxes as text and as a page that stands alone: no scripts, no colours needed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from fit.elsewhere.row import Row
from fit.elsewhere.told import Table
from fit.units import show

STYLE: Final = """
body { font: 15px/1.45 sans-serif; color: #000; background: #fff; margin: 2em; }
h1 { font-size: 1.5em; margin: 0 0 .2em; }
p { margin: .2em 0 1em; max-width: 60em; }
table { border-collapse: collapse; }
th, td { text-align: left; vertical-align: top; padding: .4em .6em; border-bottom: 1px solid #888; }
th { border-bottom: 2px solid #000; }
td.number { text-align: right; white-space: nowrap; }
td.word { font-weight: bold; white-space: nowrap; }
td.size { white-space: nowrap; }
svg { display: block; margin: .3em 0; max-width: 100%; height: auto; }
table.boxes { table-layout: fixed; width: 100%; overflow-wrap: break-word; }
ul { margin: 0 0 1em; padding-left: 1.1em; }
td ul { margin: 0; }
table + p { margin-top: 1em; }
figure { margin: 1em 0; break-inside: avoid; }
@page { size: A4 landscape; margin: 10mm; }
@media print { body { margin: 0; font-size: 11px; } tr { break-inside: avoid; } }
"""

_WIDTHS: Final = (26, 12, 8, 11, 5, 12, 11, 15)
"""Of the page's columns, percent."""

_MOST: Final = 6
"""So many moved parts are told in the text of a row; the page and the data have them all."""


def verdict_word(row: Row) -> str:
    """One word for a row."""
    if row.goes:
        return row.verdict
    return "clash" if row.verdict else "unusable"


def odds_word(odds: float | None) -> str:
    """A chance as a percentage that never claims certainty."""
    if odds is None:
        return ""
    return ">99%" if odds > 0.995 else "<1%" if odds < 0.005 else f"{odds:.0%}"


def text(table: Table) -> str:
    """The table as lines of text: a line of figures for each row, and what there is to say."""
    width = max((len(row.box) for row in table.rows), default=0)
    lines = [line for row in table.rows for line in _row_lines(row, width)]
    return "\n".join([*lines, "", closing(table)])


def _row_lines(row: Row, width: int) -> Iterator[str]:
    figures = [f"{verdict_word(row):<8}"]
    if row.goes:
        spare = "" if row.spare is None else f"{show(row.spare)} mm spare"
        figures += [f"{spare:<14}", f"{odds_word(row.odds):>4}"]
    figures.append(f"{row.volume:.0f} cm³" if row.volume else "")
    way = f"({row.way})" if row.changes else ""
    yield f"{row.box:<{width}}  {'  '.join(figures)}  {way}".rstrip()
    if row.goes and row.spare_at:
        yield f"    least room: {row.spare_at}"
    if row.reason:
        more = f" (and {row.clashes - 1} more)" if row.clashes > 1 else ""
        yield f"    {row.reason}{more}"
    if row.mend:
        yield f"    mend: {row.mend}"
    if row.reused:
        yield f"    reuses: {'; '.join(row.reused)}"
    if row.goes and row.moved:
        told = "; ".join(row.moved[:_MOST])
        rest = f"; and {len(row.moved) - _MOST} more" if len(row.moved) > _MOST else ""
        yield f"    moved: {told}{rest}"


def closing(table: Table) -> str:
    """One line: in how many boxes it goes together."""
    part = "" if table.share.of == 1 else f" (part {table.share.number} of {table.share.of})"
    if not table.total:
        return f"no boxes to look at{part}"
    told = (
        f"{table.build} goes together in {table.boxes_that_go} of {table.done} "
        f"{'box' if table.done == 1 else 'boxes'}{part}"
    )
    if table.whole:
        return told
    return f"{told}; stopped with {table.total - table.done} boxes still to look at"


def page(table: Table) -> str:
    """The table as a page of HTML."""
    title = f"{escape(table.build)} in other boxes"
    heads = (
        "faces",
        "box",
        "together?",
        "room to spare",
        "odds",
        "outside",
        "holes reused",
        "more to say",
    )
    return "\n".join(
        [
            *page_head(title),
            f"<p>{escape(closing(table))}. Its own box is {escape(table.home)}. Faces are drawn "
            "as seen from outside; odds are rough. Fingerprint "
            f"{escape(table.fingerprint)}.</p>",
            '<table class="boxes">',
            "<colgroup>" + "".join(f'<col style="width: {w}%">' for w in _WIDTHS) + "</colgroup>",
            "<tr>" + "".join(f"<th>{head}</th>" for head in heads) + "</tr>",
            *(_page_row(row) for row in table.rows),
            "</table>",
            "</body>",
            "</html>",
            "",
        ]
    )


def page_head(title: str) -> tuple[str, ...]:
    """The beginning of a page that stands alone."""
    return (
        "<!DOCTYPE html>",
        '<html lang="en">',
        f'<head><meta charset="utf-8"><title>{title}</title><style>{STYLE}</style></head>',
        "<body>",
        f"<h1>{title}</h1>",
    )


def _page_row(row: Row) -> str:
    said = []
    if row.reason:
        more = f" (and {row.clashes - 1} more)" if row.clashes > 1 else ""
        said.append(row.reason + more)
    if row.mend:
        said.append(f"Mend: {row.mend}")
    said += row.moved
    spare = "" if row.spare is None else f"{show(row.spare)} mm"
    size = " × ".join(show(v) for v in row.outside)
    way = f"<br>{escape(row.way)}" if row.changes else ""
    where = f"<br>{escape(row.spare_at)}" if row.spare_at and row.goes else ""
    cells = (
        f"<td>{row.picture}</td>",
        f"<td><b>{escape(row.box)}</b>{way}</td>",
        f'<td class="word">{verdict_word(row)}</td>',
        f"<td>{spare if row.goes else ''}{where}</td>",
        f'<td class="number">{escape(odds_word(row.odds)) if row.goes else ""}</td>',
        f'<td class="size">{size}<br>{row.volume:.0f} cm³</td>' if row.volume else "<td></td>",
        _listed(row.reused),
        _listed(said),
    )
    return "<tr>" + "".join(cells) + "</tr>"


def _listed(words: Sequence[str]) -> str:
    """A cell with a list; an empty one for nothing."""
    items = "".join(f"<li>{escape(each)}</li>" for each in words)
    return f"<td><ul>{items}</ul></td>" if items else "<td></td>"
