"""Two builds, or one build in two boxes, side by side: figures, and faces over each other."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html import escape
from typing import Any, Final

from fit.check.order import crossing_wires
from fit.draw.thumbs import overlaid, shown_faces
from fit.elsewhere.judge import SPARE_RULES
from fit.elsewhere.words import odds_word, page_head
from fit.findings import Finding, Grade
from fit.geometry.old_holes import told_reused
from fit.model.words import FaceName
from fit.report import Outcome, report, shift
from fit.solve.other.shifts import Shift, shifts
from fit.trade.drills import Tool
from fit.units import show

_DRILLS: Final = (Tool.DRILL, Tool.STEP_BIT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing compared: what, and how it is in the first and in the second."""

    what: str
    a: str
    b: str

    @property
    def same(self) -> bool:
        """Whether both are alike."""
        return self.a == self.b


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two outcomes side by side.

    Attributes:
        a, b: the outcomes.
        lines: what was compared.
        shifts: parts of one name in both that lie elsewhere on their faces in the second.
        only_a, only_b: parts that only one of them has.
    """

    a: Outcome
    b: Outcome
    lines: tuple[Line, ...]
    shifts: tuple[Shift, ...]
    only_a: tuple[str, ...]
    only_b: tuple[str, ...]

    @property
    def names(self) -> tuple[str, str]:
        """What the two are called."""
        return called(self.a), called(self.b)


def called(outcome: Outcome) -> str:
    """A build and its box."""
    build = outcome.scene.build
    way = outcome.elsewhere.way if outcome.elsewhere is not None else "as written"
    more = "" if way == "as written" else f" ({way})"
    return f"{build.name} in {build.box.name}{more}"


def compare(a: Outcome, b: Outcome) -> Comparison:
    """Compare two outcomes; either may clash or have parts without a place."""
    names_a = [used.name for used in a.scene.build.parts]
    names_b = [used.name for used in b.scene.build.parts]
    return Comparison(
        a=a,
        b=b,
        lines=tuple(Line(what=what, a=tell(a), b=tell(b)) for what, tell in _FIGURES),
        shifts=shifts(a.scene, b.scene),
        only_a=tuple(n for n in names_a if n not in names_b),
        only_b=tuple(n for n in names_b if n not in names_a),
    )


def _verdict(outcome: Outcome) -> str:
    if outcome.scene.open:
        return f"no place for {', '.join(outcome.scene.open)}"
    return outcome.verdict.value


def _counts(outcome: Outcome) -> str:
    clash = sum(f.grade is Grade.CLASH for f in outcome.findings)
    tight = sum(f.grade is Grade.TIGHT for f in outcome.findings)
    return f"{clash} and {tight}"


def _least(n: int) -> Callable[[Outcome], str]:
    def tell(outcome: Outcome) -> str:
        rooms = [f for f in outcome.findings if f.rule in SPARE_RULES]
        rooms.sort(key=lambda f: (f.margin, f.rule, f.about))
        # Of what a rule says of one part only the least: four posts alike are one figure.
        firsts: dict[tuple[str, str], Finding] = {}
        for found in rooms:
            firsts.setdefault((found.rule, found.about[0]), found)
        if len(firsts) <= n:
            return ""
        found = list(firsts.values())[n]
        return f"{show(found.margin)} mm, {found.rule} ({', '.join(found.about)})"

    return tell


def _odds(outcome: Outcome) -> str:
    if outcome.scene.open:
        return ""
    return odds_word(math.prod(f.odds for f in outcome.findings if f.odds is not None))


def _outside(outcome: Outcome) -> str:
    box = outcome.scene.build.box
    return " × ".join(show(v) for v in (box.length, box.width, box.height)) + " mm"


def _volume(outcome: Outcome) -> str:
    box = outcome.scene.build.box
    return f"{box.length * box.width * box.height / 1000:.0f} cm³"


def _bits(outcome: Outcome) -> str:
    """Every size drilled into the box, walls and lid; boards come on top of that."""
    steps = (s for o in outcome.scene.openings for s in o.steps if s.tool in _DRILLS)
    sizes = sorted({round(s.size, 2) for s in steps})
    return ", ".join(show(s) for s in sizes) + " mm" if sizes else "none"


def _openings(outcome: Outcome) -> str:
    return str(len(outcome.scene.to_cut))


def _reused(outcome: Outcome) -> str:
    return "; ".join(told_reused(outcome.scene)) or "none"


def _wires(outcome: Outcome) -> str:
    if outcome.scene.open:
        return ""
    crossing = crossing_wires(outcome.scene)
    total = len(outcome.scene.build.wires)
    longest = max((w.length for w in crossing), default=0.0)
    told = f"{len(crossing)} of {total}"
    return f"{told}, the longest {math.ceil(longest)} mm" if crossing else told


_FIGURES: tuple[tuple[str, Callable[[Outcome], str]], ...] = (
    ("goes together", _verdict),
    ("clashes and tight", _counts),
    ("least room", _least(0)),
    ("next", _least(1)),
    ("then", _least(2)),
    ("odds (rough)", _odds),
    ("outside", _outside),
    ("volume", _volume),
    ("openings to cut", _openings),
    ("holes reused", _reused),
    ("sizes to drill", _bits),
    ("wires to the lid", _wires),
)


def text(found: Comparison) -> str:
    """The comparison as lines of text: each thing with both figures below each other."""
    width = max(len(line.what) for line in found.lines)
    a, b = found.names
    lines = [f"A  {a}", f"B  {b}", ""]
    for line in found.lines:
        if line.same:
            lines.append(f"{line.what:<{width}}  A, B  {line.a or '-'}")
            continue
        lines.append(f"{line.what:<{width}}  A     {line.a or '-'}")
        lines.append(f"{'':<{width}}  B     {line.b or '-'}")
    return "\n".join([*lines, "", *_moved_lines(found)])


def _moved_lines(found: Comparison) -> Iterator[str]:
    shared = len(found.a.scene.build.parts) > len(found.only_a)
    if found.shifts:
        yield "In B, against A:"
    elif shared:
        yield "No part lies elsewhere on its face."
    yield from (f"    {shift.words()}" for shift in found.shifts)
    for who, names in (("A", found.only_a), ("B", found.only_b)):
        if names:
            yield f"Only {who} has: {', '.join(names)}"


def page(found: Comparison) -> str:
    """The comparison as a page of HTML that stands alone, its faces true to scale."""
    a, b = (escape(name) for name in found.names)
    rows = (
        f"<tr><td>{escape(line.what)}</td><td>{escape(line.a)}</td><td>{escape(line.b)}</td></tr>"
        for line in found.lines
    )
    faces = "\n".join(_face(found, name) for name in shown_faces(found.a.scene, found.b.scene))
    return "\n".join(
        [
            *page_head(f"{a} and {b}"),
            "<table>",
            f"<tr><th></th><th>A: {a}</th><th>B: {b}</th></tr>",
            *rows,
            "</table>",
            *_moved_listed(found),
            "<p>Faces over each other, seen from outside, at true size where the page is not "
            "scaled: A in solid lines, B in broken ones. Floor edges lie on each other, middle on "
            "middle. Not for cutting: the sheets are.</p>",
            faces,
            "</body>",
            "</html>",
            "",
        ]
    )


def _moved_listed(found: Comparison) -> Iterator[str]:
    """The same lines: what is told of the two, and the shifts as a list below it."""
    lines = [escape(words) for words in _moved_lines(found)]
    yield from (f"<p>{line}</p>" for line in lines[:1])
    shifted = lines[1 : 1 + len(found.shifts)]
    if shifted:
        yield "<ul>" + "".join(f"<li>{line.strip()}</li>" for line in shifted) + "</ul>"
    yield from (f"<p>{line}</p>" for line in lines[1 + len(shifted) :])


def _face(found: Comparison, name: FaceName) -> str:
    picture = overlaid(found.a.scene, found.b.scene, name)
    return f"<figure><figcaption><b>{name}</b></figcaption>{picture}</figure>"


def as_plain(found: Comparison) -> dict[str, Any]:
    """The comparison as plain data: both reports, the figures as told, what moved."""
    return {
        "a": report(found.a),
        "b": report(found.b),
        "figures": [{"what": line.what, "a": line.a, "b": line.b} for line in found.lines],
        "moved": [shift(s) for s in found.shifts],
        "only_a": list(found.only_a),
        "only_b": list(found.only_b),
    }
