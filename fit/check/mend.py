"""Mends: for each clash, changes that remove it and make no other, each tried by the checker.

A change is first tried against the rule that found the clash; what helps is then inspected by
every rule. Only what passes is told, the cheapest first. The work is counted, not timed, so that
the same build gets the same mends on any machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from fit.check.inspect import RULES
from fit.check.mend_change import Trial, clash_key
from fit.check.mend_ideas import ideas
from fit.check.odds_limits import Key
from fit.check.rule import Inspection, Rule
from fit.findings import Finding, Grade, UnusableInput, Verdict, verdict_of
from fit.geometry.assemble import assemble
from fit.model.build import Build

EACH: Final = 3
"""So many mends are told for a clash."""

INSPECTIONS: Final = 24
"""So many changed builds are inspected as a whole in one run."""

TRIES: Final = 90
"""So many are tried against one rule."""

_WORSE: Final = 1e-6
"""A clash that stays may not get worse by more than this, mm."""

_SLOW_LAST: Final = ("bodies", "walls", "lid", "going-in", "order")
"""Rules that take long are asked last: most changes fail on a quick one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """A change that removes a clash and makes no other.

    Attributes:
        title: what to do, with the figure.
        build: the build with it done.
        verdict: of the mended build, other clashes that were there before included.
        cost: rough minutes of work; only the order matters.
        mends: the rule and the parts of the clash it removes.
        left: how many clashes are left.
        kind: mends of one kind differ only in how much; empty: alone.
    """

    title: str
    build: Build
    verdict: Verdict
    cost: float
    mends: Key
    left: int
    kind: str = ""


def mends(build: Build, findings: Iterable[Finding]) -> tuple[Mend, ...]:
    """Tried mends for the clashes of a build, the cheapest first.

    Args:
        build: with every place filled in.
        findings: what the check says of it.
    """
    scene = assemble(build)
    clashes = [f for f in findings if f.grade is Grade.CLASH and f.rule != "place"]
    before = {clash_key(f): f.margin for f in clashes}
    found: list[Mend] = []
    budget = INSPECTIONS
    for number, clash in enumerate(clashes):
        share = max(1, budget // (len(clashes) - number))
        trial = Trial(scene=scene, finding=clash, tries=max(20, TRIES // len(clashes)))
        told, used = _for_one(trial, before, share)
        found += told
        budget -= used
        if budget <= 0:
            break
    return tuple(sorted(found, key=lambda m: (m.left, m.cost)))


def _for_one(trial: Trial, before: Mapping[Key, float], inspections: int) -> tuple[list[Mend], int]:
    """Mends of one clash, and how many inspections they took."""
    found: list[Mend] = []
    kinds: set[str] = set()
    used = 0
    for change in ideas(trial):
        if len(found) == EACH or used == inspections:
            break
        if change.kind in kinds:
            continue
        used += 1
        after = tried(change.build, before)
        key = clash_key(trial.finding)
        if after is None or any(clash_key(f) == key and _is_clash(f) for f in after):
            continue
        kinds |= {change.kind} - {""}
        found.append(
            Mend(
                title=change.title,
                build=change.build,
                verdict=verdict_of(after),
                cost=change.cost,
                mends=key,
                left=sum(map(_is_clash, after)),
                kind=change.kind,
            )
        )
    return found, used


def _is_clash(finding: Finding) -> bool:
    return finding.grade is Grade.CLASH


def tried(build: Build, before: Mapping[Key, float]) -> tuple[Finding, ...] | None:
    """The findings of a changed build; None as soon as it clashes where it did not before.

    Args:
        build: the changed build.
        before: the margins of the clashes that were there, by what they are about.
    """
    try:
        scene = assemble(build)
    except (UnusableInput, ValueError):
        return None
    if scene.open:
        return None
    look = Inspection(scene)
    found: list[Finding] = []
    for rule in _quick_first():
        for finding in rule.check(look):
            found.append(finding)
            was = before.get(clash_key(finding))
            if _is_clash(finding) and (was is None or finding.margin < was - _WORSE):
                return None
    return tuple(found)


def _quick_first() -> tuple[Rule, ...]:
    return tuple(sorted(RULES, key=lambda r: r.name in _SLOW_LAST))


def worth_telling(found: Iterable[Mend]) -> tuple[Mend, ...]:
    """Without those that read like one before, or do less of what one before mends it all with.

    Two clashes often ask for the same move, but for hundredths or for a few millimetres.

    Args:
        found: the best first.
    """
    told: dict[str, Mend] = {}
    enough: set[str] = set()
    for mend in found:
        if mend.kind not in enough:
            told.setdefault(mend.title, mend)
        if mend.kind and not mend.left:
            enough.add(mend.kind)
    return tuple(told.values())


def mended(findings: Iterable[Finding], found: Iterable[Mend]) -> tuple[Finding, ...]:
    """Findings whose clashes tell the cheapest mend that was tried, or none where none helped."""
    best: dict[Key, Mend] = {}
    for mend in sorted(found, key=lambda m: m.cost):
        best.setdefault(mend.mends, mend)
    titles = {key: mend.title for key, mend in best.items()}
    return tuple(
        replace(f, mend=titles.get(clash_key(f))) if _is_clash(f) and f.rule != "place" else f
        for f in findings
    )
