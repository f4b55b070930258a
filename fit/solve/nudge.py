"""A layout that nearly goes together, nudged until the check passes it.

A question that errs on the loose side is off by some tenths of a millimetre: what it finds often
needs but a little more room between two parts. Here the check's own margins are followed, also
where they are below zero. A layout that passes in the end is proof that there is one; that none
does says nothing. How often the check is asked is counted, so that the answer is the same
everywhere.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from fit.findings import UnusableInput
from fit.model.build import Build
from fit.solve.free import Put, dependents
from fit.solve.layout import Laid, Layout
from fit.solve.polish import TRUST, Polisher, movable
from fit.solve.proposal import insisted
from fit.solve.verdict import Verdict, judged
from fit.solve.written import written

MOST = 120
"""So often at most the check is asked about one layout."""

_HOPELESS = -4.0
"""A layout that lacks more room than this, mm, is not nudged."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closer(Verdict):
    """On the way each move that gives more room is a good one."""

    @property
    def good(self) -> bool:
        """Whether a move may end here."""
        return not (self.movers & set(self.scene.open))


@dataclass(slots=True)
class _Nudger(Polisher):
    """Moves the parts of a layout that clashes."""

    def nudged(self, puts: Mapping[str, Put]) -> Layout | None:
        """Places that pass, if they are come upon."""
        verdict = self._said(puts)
        best = puts, verdict
        for trust in TRUST:
            while not _passes(best[1]) and self.moves and self.asked < MOST:
                better = self._better(best, trust)
                if better is None:
                    break
                best = better
        return Layout(puts=best[0], verdict=_plain(best[1])) if _passes(best[1]) else None


def nudged(laid: Laid, build: Build, puts: Mapping[str, Put]) -> Layout | None:
    """A layout near these places that passes the check; None where none was come upon.

    Args:
        laid: what the places are of.
        build: its build with only some of its open parts.
        puts: a place for each of these.
    """
    if laid.seen is None or insisted(build):
        # What the file wants kept free the check does not know of.
        return None
    free = tuple(f for f in laid.free if f.name in puts)
    movers = (*puts, *dependents(build, free))

    def judge(there: Mapping[str, Put]) -> Verdict:
        said = judged(written(build, there), movers)
        return _Closer(
            build=said.build, scene=said.scene, findings=said.findings, movers=said.movers
        )

    moves = movable(build, replace(laid.seen, free=free), puts, ())
    try:
        return _Nudger(judge=judge, moves=moves, cap=0.2).nudged(puts)
    except (UnusableInput, KeyError):
        # The others hold these, or one was pushed off its face.
        return None


def _passes(said: Verdict) -> bool:
    return _plain(said).good


def _plain(said: Verdict) -> Verdict:
    return Verdict(build=said.build, scene=said.scene, findings=said.findings, movers=said.movers)


