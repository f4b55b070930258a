"""The report: everything a run found out, as plain data ready for JSON.

Key names are a promise to other programs: add, never rename. Lengths are mm, angles degrees,
coordinates those of the face frames; numbers are rounded to a ten-thousandth.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from fit import __version__
from fit.findings import Finding, Problem, Span, Verdict, verdict_of
from fit.geometry.scene import Cut, OldHole, Opening, Placed, Scene
from fit.output import Written

if TYPE_CHECKING:
    from fit.check.mend import Mend
    from fit.check.odds_sample import Odds
    from fit.check.order import Order
    from fit.solve.board_size import Taken
    from fit.solve.other.shifts import Elsewhere, Shift

_PLACES: Final = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a run came to.

    Attributes:
        scene: the build worked out in the box frame.
        findings: of the check, the worst first.
        found: parts whose place was left open and has been found.
        fingerprint: eight hexadecimal digits that change with any input file or version.
        order: in which it goes together.
        files: what was written, without the report itself.
        mends: what was tried and removes a clash, the best first.
        done: the mend that was done to it, or None.
        odds: from simulated copies, or None when none were made.
        elsewhere: what moved because it is in another box than its own, or None.
        sizes: what became of the boards whose size was left open.
    """

    scene: Scene
    findings: tuple[Finding, ...]
    fingerprint: str
    order: Order
    found: tuple[str, ...] = ()
    files: tuple[Written, ...] = ()
    mends: tuple[Mend, ...] = ()
    done: Mend | None = None
    odds: Odds | None = None
    elsewhere: Elsewhere | None = None
    sizes: tuple[Taken, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst grade found; a part without a place is a clash."""
        return Verdict.CLASH if self.scene.open else verdict_of(self.findings)


def report(outcome: Outcome) -> dict[str, Any]:
    """The report of a run."""
    scene = outcome.scene
    build = scene.build
    return {
        "fit": __version__,
        "build": build.name,
        "box": build.box.name,
        "verdict": outcome.verdict.value,
        "fingerprint": outcome.fingerprint,
        "findings": [_finding(f) for f in outcome.findings],
        "elsewhere": None if outcome.elsewhere is None else _elsewhere(outcome.elsewhere),
        "mends": [_mend(m) for m in outcome.mends],
        "mended": None if outcome.done is None else _mend(outcome.done),
        "odds": None if outcome.odds is None else _odds(outcome.odds),
        "placed": {name: _placed(p) for name, p in scene.placed.items()},
        "found": list(outcome.found),
        "sizes": {taken.name: sizes_told(taken) for taken in outcome.sizes},
        "open": list(scene.open),
        "openings": [_opening(o) for o in scene.openings],
        "there": [_there(hole) for hole in scene.there],
        **_going_together(scene, outcome.order),
        "set_by_hand": {need.rule: round(need.value, _PLACES) for need in build.needs},
        "sources": [{"path": s.path, "sha256": s.sha256} for s in build.sources],
        "files": [{"path": f.path, "sha256": f.sha256} for f in outcome.files],
    }


def sizes_told(taken: Taken) -> dict[str, Any] | None:
    """The size a board took, and for each side why it is no larger; None where none goes in."""
    if taken.outline is None:
        return None
    step = taken.grid.step
    return {
        "columns": taken.columns,
        "rows": taken.rows,
        "size": [_number(taken.columns * step), _number(taken.rows * step)],
        "limits": {
            side: taken.ended[side] if clash is None else clash.say
            for side, clash in taken.limits.items()
        },
        "cut_short": taken.cut_short,
    }


def _going_together(scene: Scene, order: Order) -> dict[str, Any]:
    """What changes when a board moves from one half to the other: order, wires, cautions."""
    from fit.check.order import crossing_wires
    from fit.check.surroundings import cares
    from fit.trade.cautions import caution

    return {
        "order": {
            "steps": list(order.steps),
            "circle": None if order.circle is None else list(order.circle),
        },
        "wires": {
            "all": len(scene.build.wires),
            "crossing": [
                {
                    "from": c.wire.start,
                    "to": c.wire.end,
                    "length": round(c.length, 1),
                    "over": c.over.value,
                }
                for c in crossing_wires(scene)
            ],
        },
        "cautions": [
            {"about": list(care.about), "say": caution(care.danger)} for care in cares(scene)
        ],
    }


def refusal(problems: Iterable[Problem]) -> dict[str, Any]:
    """The report of a build that could not be read."""
    return {
        "fit": __version__,
        "verdict": None,
        "problems": [
            {"where": _span(p.where), "wrong": p.wrong, "right": p.right or None} for p in problems
        ],
    }


def as_json(data: object) -> str:
    """Data as JSON text: indented, in the order given, ending in a newline."""
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _number(value: float) -> float:
    return round(float(value), _PLACES) + 0.0  # + 0.0 turns -0.0 into 0.0


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "grade": finding.grade.value,
        "about": list(finding.about),
        "have": _number(finding.have),
        "need": _number(finding.need),
        "margin": _number(finding.margin),
        "spread": _number(finding.spread),
        "odds": None if finding.odds is None else _number(finding.odds),
        "say": finding.say,
        "mend": finding.mend,
        "where": None if finding.where is None else _span(finding.where),
    }


def _mend(mend: Mend) -> dict[str, Any]:
    return {
        "title": mend.title,
        "removes": {"rule": mend.mends[0], "about": list(mend.mends[1])},
        "verdict": mend.verdict.value,
        "clashes_left": mend.left,
        "cost": _number(mend.cost),
    }


def _odds(odds: Odds) -> dict[str, Any]:
    return {
        "whole": _number(odds.whole),
        "error": _number(odds.error),
        "copies": odds.copies,
        "asked": odds.asked,
        "worth_measuring": [
            {
                "name": worth.name,
                "plus_minus": _number(worth.plus_minus),
                "gain": _number(worth.gain),
                "fewer_failures": _number(worth.fewer),
            }
            for worth in odds.worth
        ],
        "stacks": [
            {
                "rule": rule,
                "about": list(about),
                "left": _number(stack.left),
                "worst_case": _number(stack.worst),
                "root_sum_square": _number(stack.likely),
                "terms": [{"name": n, "mm": _number(mm)} for n, mm in stack.terms],
            }
            for (rule, about), stack in odds.stacks.items()
        ],
    }


def _elsewhere(elsewhere: Elsewhere) -> dict[str, Any]:
    return {
        "home": elsewhere.home,
        "way": elsewhere.way,
        "moved": [shift(s) for s in elsewhere.shifts],
        "boards_drilled_anew": list(elsewhere.boards),
        "by_bare_numbers": list(elsewhere.absolute),
        "unknown": elsewhere.unknown or None,
    }


def shift(moved: Shift) -> dict[str, Any]:
    """How one part moved on its face."""
    return {
        "part": moved.part,
        "was_on": moved.was.value,
        "now_on": moved.now.value,
        "across": _number(moved.across),
        "up": _number(moved.up),
        "turn": _number(moved.turn),
        "say": moved.words(),
    }


def _span(span: Span) -> dict[str, Any]:
    return {"file": span.file, "line": span.line or None, "column": span.column or None}


def _placed(placed: Placed) -> dict[str, Any]:
    return {
        "face": None if placed.face is None else placed.face.value,
        "across": _number(placed.across),
        "up": _number(placed.up),
        "turn": _number(placed.turn),
    }


def _there(hole: OldHole) -> dict[str, Any]:
    opening = hole.opening
    told: dict[str, Any] = {
        "name": hole.name,
        "face": opening.face.value,
        "shape": opening.cut.value,
        "closed": hole.closed,
        "across": _number(opening.across),
        "up": _number(opening.up),
        "turn": _number(opening.turn),
    }
    if opening.drilled:
        return told | {"diameter": _number(opening.diameter)}
    sizes = {"width": opening.width, "height": opening.height}
    sizes["corner_radius"] = opening.corner_radius
    return told | {key: _number(value) for key, value in sizes.items()}


def _opening(opening: Opening) -> dict[str, Any]:
    told: dict[str, Any] = {
        "part": opening.part,
        "face": opening.face.value,
        "shape": opening.cut.value,
        "role": opening.role.value,
        "name": opening.name or None,
        "across": _number(opening.across),
        "up": _number(opening.up),
        "turn": _number(opening.turn),
    }
    if opening.drilled:
        told["diameter"] = _number(opening.diameter)
    if opening.cut is not Cut.ROUND:
        told["width"] = _number(opening.width)
        told["height"] = _number(opening.height)
    if opening.sink > 0:
        told["countersink"] = _number(opening.sink)
    told["corner_radius"] = _number(opening.corner_radius)
    told["plus"] = _number(opening.plus)
    told["by"] = opening.by or None
    told["opens"] = list(opening.opens)
    told["steps"] = [{"tool": s.tool.value, "size": _number(s.size)} for s in opening.steps]
    return told
