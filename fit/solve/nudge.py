"""A layout that nearly goes together, nudged until the check passes it.

A question that errs on the loose side is off by some tenths of a millimetre: what it finds often
needs but a little more room between two parts. Here the check's own margins are followed, also
where they are below zero. A layout that passes in the end is proof that there is one; that none
does says nothing. How often the check is asked is counted, so that the answer is the same
everywhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from fit.findings import UnusableInput
from fit.model.build import Build
from fit.solve.free import Put, dependents, put_in
from fit.solve.polish import TENTH, TRUST, Polisher, movable
from fit.solve.probe import Probe
from fit.solve.proposal import insisted
from fit.solve.verdict import Verdict, judged
from fit.solve.written import written

MOST = 120
"""So often at most the check is asked about one layout …"""

_NEARLY = 0.05
"""… and twice as often where no more than so much is lacking, mm."""

UNITS = (TENTH, 0.02)
"""Parts are moved by tenths of a millimetre first; where that is too coarse, by fiftieths …"""

FINE = 0.004
"""… and where nobody has to mark it, by less than can be written down, mm."""

_ENOUGH = 0.2
"""A clash is gone once there is so much room, mm: the room of a layout is not made large."""

Found = tuple[Mapping[str, Put], Verdict]
"""Places, and what the check says of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Closer(Verdict):
    """On the way each move that gives more room is a good one."""

    @property
    def good(self) -> bool:
        """Whether a move may end here."""
        return not (self.movers & set(self.scene.open))


@dataclass(slots=True)
class _Nudger(Polisher):
    """Moves the parts of a layout that clashes, by multiples of one unit after the other, mm."""

    units: tuple[float, ...] = UNITS

    def nudged(self, puts: Mapping[str, Put]) -> Found | None:
        """Places that pass, if they are come upon."""
        best = puts, self._said(puts)
        for unit in self.units:
            self.unit = unit
            for trust in TRUST:
                while self._hopeful(best[1]):
                    better = self._better(best, trust)
                    if better is None:
                        break
                    best = better
        return (best[0], _plain(best[1])) if _passes(best[1]) else None

    def _hopeful(self, said: Verdict) -> bool:
        """Whether moving on may help: what is wrong is that there is too little room."""
        short = said.margin < self.cap and not _passes(said)
        most = MOST if said.margin < -_NEARLY else 2 * MOST
        return short and bool(self.moves) and self.asked < most


def nudged(
    build: Build, seen: Probe, puts: Mapping[str, Put], *, fine: bool = False
) -> Found | None:
    """A layout near these places that passes the check; None where none was come upon.

    Args:
        build: with no open parts but these.
        seen: what was probed of it, with them or more of them open.
        puts: a place for each of them.
        fine: places may be finer than anybody marks: for proof that there are any.
    """
    if insisted(build):
        # What the file wants kept free the check does not know of.
        return None
    free = tuple(f for f in seen.free if f.name in puts)

    def judge(there: Mapping[str, Put]) -> Verdict:
        put = put_in(build, there) if fine else written(build, there)
        return _Closer(**_fields(judged(put, movers)))

    moves = movable(build, replace(seen, free=free), puts, ())
    try:
        movers = (*puts, *dependents(build, free))
        units = (*UNITS, FINE) if fine else UNITS
        return _Nudger(judge=judge, moves=moves, cap=_ENOUGH, units=units).nudged(puts)
    except (UnusableInput, KeyError):
        # The others hold these, or one was pushed off its face.
        return None


def _passes(said: Verdict) -> bool:
    return _plain(said).good


def _plain(said: Verdict) -> Verdict:
    return Verdict(**_fields(said))


def _fields(said: Verdict) -> dict[str, Any]:
    return {f.name: getattr(said, f.name) for f in fields(said)}
