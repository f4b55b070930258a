"""A build judged in one box: the same check a person would run on that pair alone."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from fit.elsewhere.row import Row, Ways
from fit.findings import Finding, Grade, UnusableInput, Verdict
from fit.geometry.old_holes import told_reused
from fit.model.box import Tray
from fit.model.build import Build, Source
from fit.model.part import Board
from fit.pipeline import examine
from fit.report import Outcome
from fit.solve.free import free_parts
from fit.solve.other.goes import first_clash
from fit.solve.other.kin import loose
from fit.solve.other.rejects import too_small
from fit.solve.other.shifts import shifts
from fit.solve.other.ways import Moved, Way, moved_to, ways
from fit.solve.settled import Settled, laid_out, settled
from fit.solve.verdict import WHEREVER

if TYPE_CHECKING:
    from fit.check.mend import Mend

WORTH_MENDING: Final = 6
"""Mends are tried where there are no more clashes than this."""

MENDS_IN_TURN: Final = 3
"""So many are done one after the other before a box is given up."""

SPARE_RULES: Final = frozenset(
    {
        *("bodies", "walls", "lid", "going-in", "webs", "edges", "posts-behind"),
        *("fingers", "display-clear", "spanner", "plugs", "driver", "battery-out"),
    }
)
"""Rules whose margin is free room in the box; the others compare a part with its own hole."""

_OTHER_FACE: Final = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is worked out for each box.

    Attributes:
        ways: which ways round.
        mends: whether mends are tried.
        pictures: whether rows carry a picture.
        layouts: whether the layout solver is asked where rows of parts find no good place.
    """

    ways: Ways = Ways.BEST
    mends: bool = True
    pictures: bool = False
    layouts: bool = False


class Judge:
    """Judges one build in box after box.

    Args:
        build: as written.
        asked: what is worked out.
        home: the build in its own box, where that is known already (`at_home`).
    """

    def __init__(self, build: Build, asked: Asked, home: Settled | None = None) -> None:
        self.build = build
        self.asked = asked
        self._home = home or at_home(build)

    def rows(self, box: Tray, sources: tuple[Source, ...] = ()) -> tuple[Row, ...]:
        """The rows of one box: one, or one for each way round."""
        tried = ways(self.build, box)
        if self.asked.ways is Ways.EACH:
            return tuple(self._whole(self._row(box, way, sources)) for way in tried)
        first = self._row(box, tried[0], sources)
        if not first.row.goes and self.asked.ways is Ways.BEST:
            other = next((w for w in tried[1:] if self._goes(box, w, sources)), None)
            if other is not None:
                first = self._row(box, other, sources)
        return (self._whole(first),)

    def _goes(self, box: Tray, way: Way, sources: tuple[Source, ...]) -> bool:
        build = moved_to(self.build, box, way, sources).build
        return too_small(build) is None and first_clash(build) is None

    def row(self, box: Tray, way: Way, sources: tuple[Source, ...] = ()) -> Row:
        """The row of one box and one way round."""
        return self._whole(self._row(box, way, sources))

    def _row(self, box: Tray, way: Way, sources: tuple[Source, ...]) -> _Judged:
        moved = moved_to(self.build, box, way, sources)
        size = (box.length, box.width, box.height)
        plain = Row(
            box=box.name,
            stands_on=way.stands_on.value,
            carrier=way.carrier.value,
            quarters=way.quarters,
            way=way.words(self.build),
            changes=way.changes(self.build),
            outside=tuple(_number(v) for v in size),
            volume=_number(math.prod(size) / 1000.0),
        )
        reject = too_small(moved.build)
        if reject is not None:
            rule = f"quick: {reject.test}"
            row = replace(plain, verdict=Grade.CLASH.value, reason=reject.say, rule=rule)
            return _Judged(row, None)
        try:
            outcome = examine(moved.build, mending=False, layouts=False)
        except UnusableInput as refused:
            # The place in the build's file is the same for every box and says nothing here.
            row = replace(plain, reason=refused.problems[0].wrong, rule="box")
            return _Judged(row, None)
        if not self.asked.layouts or outcome.verdict is not Verdict.CLASH:
            return _Judged(self._checked(plain, outcome), outcome)
        sure = wherever(outcome)
        if sure and outcome.scene.open and not self.asked.mends:
            # Whatever the layout solver found, this would be told of it too.
            row = replace(plain, verdict=outcome.verdict.value, clashes=len(sure))
            return _Judged(replace(row, reason=sure[0].say, rule=sure[0].rule), outcome)
        outcome = self._laid_out(moved, rows=outcome) or outcome
        return _Judged(self._checked(plain, outcome), outcome)

    def _laid_out(self, moved: Moved, rows: Outcome) -> Outcome | None:
        """What is open placed by the layout solver; None where that finds nothing.

        Bounded by the solver's own deterministic effort, so a slow machine gives the same rows.
        """
        build, home = moved.build, self._home
        if not free_parts(build):
            return None
        own = moved.way == Way.of(self.build) and build.box == self.build.box
        if own and home is not None and rows.scene.open:
            # There the solver was asked already.
            found = None if home.scene.open else home
        else:
            found = laid_out(build)
        return None if found is None else examine(found.scene.build, mending=False, sizes=False)

    def _checked(self, plain: Row, outcome: Outcome) -> Row:
        clashes = [f for f in outcome.findings if f.grade is Grade.CLASH]
        spare = _least(f for f in outcome.findings if f.rule in SPARE_RULES)
        shifted = () if self._home is None else shifts(self._home.scene, outcome.scene)
        return replace(
            plain,
            verdict=outcome.verdict.value,
            clashes=max(len(clashes), len(outcome.scene.open)),
            spare=None if spare is None or outcome.scene.open else _number(spare.margin),
            spare_at="" if spare is None else f"{spare.rule} ({', '.join(spare.about)})",
            odds=None if outcome.scene.open else _odds(outcome.findings),
            moved=tuple(s.words() for s in shifted),
            far=_number(sum(min(s.far, _OTHER_FACE) for s in shifted)),
            reused=told_reused(outcome.scene),
            reason=_reason(outcome, clashes),
            rule=clashes[0].rule if clashes else "place" if outcome.scene.open else "",
        )

    def _whole(self, judged: _Judged) -> Row:
        """A row with what is only worked out for rows that are told."""
        row, outcome = judged.row, judged.outcome
        if outcome is None:
            return row
        if self.asked.mends and not row.goes and row.clashes <= WORTH_MENDING:
            row = replace(row, mend=_mend(outcome))
        if self.asked.pictures:
            from fit.draw.thumbs import faces_picture

            row = replace(row, picture=faces_picture(outcome.scene))
        return row


@dataclass(frozen=True, slots=True)
class _Judged:
    """A row and what it was made from; no outcome where the check had nothing to say."""

    row: Row
    outcome: Outcome | None


def at_home(build: Build) -> Settled | None:
    """The build in its own box; None when that does not have what it asks for."""
    try:
        return settled(build, sizes=False)
    except UnusableInput:
        return None


def wherever(outcome: Outcome) -> tuple[Finding, ...]:
    """The clashes that no place of any part mends, the worst first.

    Such are about a part and its own hole, wall or post, where the part has no choice of these.
    """
    build = outcome.scene.build
    if build.either_half:
        return ()
    sizes = {u.name for u in build.parts if isinstance(u.part, Board) and u.part.up_to is not None}
    choice = loose(build) | sizes
    return tuple(
        f
        for f in outcome.findings
        if f.grade is Grade.CLASH and f.rule in WHEREVER and not choice & set(f.about)
    )


def _least(findings: Iterable[Finding]) -> Finding | None:
    return min(findings, key=lambda f: f.margin, default=None)


def _odds(findings: Iterable[Finding]) -> float:
    """All findings hold, as if they had nothing to do with each other (rough)."""
    return _number(math.prod(f.odds for f in findings if f.odds is not None))


def _reason(outcome: Outcome, clashes: list[Finding]) -> str:
    if clashes:
        return clashes[0].say
    if outcome.scene.open:
        return f"no place for {', '.join(outcome.scene.open)}"
    return ""


def _mend(outcome: Outcome) -> str:
    """Mends that leave no clash, one after the other; empty when none were found.

    Each is the one that leaves the fewest clashes, and of these the cheapest.
    """
    from fit.check.mend import mends

    titles: list[str] = []
    for _ in range(MENDS_IN_TURN):
        tried: tuple[Mend, ...] = mends(outcome.scene.build, outcome.findings)
        if outcome.scene.open or not tried:
            return ""
        best = min(tried, key=lambda mend: (mend.left, mend.cost))
        titles.append(best.title)
        if best.left == 0:
            return "; then ".join(titles)
        outcome = examine(best.build, mending=False, sizes=False)
    return ""


def _number(value: float) -> float:
    return round(float(value), 4) + 0.0
