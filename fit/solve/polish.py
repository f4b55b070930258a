"""A layout that passed, moved off the marks where that gives clearly more room.

The solver proposes places a millimetre or half of one apart, by sizes rounded to the safe side. So
the room it found can be some tenths less than there is. Here the check's own margins are followed:
how each of the small ones grows with each coordinate is measured, the move that makes the least of
them largest is worked out as if they grew evenly, and the check says what came of it. Moves get
smaller, down to a tenth of a millimetre. How often the check is asked is counted, not timed, so
that the answer is the same everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from fit.model.build import Build, WishKind
from fit.solve.free import Free, Put
from fit.solve.probe import Coord, Probe, Var, main_axis, way_of
from fit.solve.problem import Rule
from fit.solve.run import Effort, Watch, solve_model
from fit.solve.verdict import Verdict

TENTH = 0.1
"""Parts are moved by whole tenths of a millimetre: closer than that nobody measures."""

TRUST = (20, 6, 3, 1)
"""Margins are taken to grow evenly over so many tenths."""

_TRIED = 0.05
"""So far a coordinate is moved to see how margins grow, mm."""

WORTH, WORTH_TIGHT, TIGHT = 0.3, 0.15, 2.0
"""So much more room, mm, is worth a place in tenths; and where there is less than `TIGHT` of it, or
where half a millimetre from the marks will do."""

_MOST = 160
"""So often at most the check is asked."""

_FINE = 1000
"""Margins are whole thousandths of a millimetre in the model."""

_WORK = 0.05
"""Effort of the model, which is a small one."""

_TINY = 1e-6

Puts = Mapping[str, Put]
Judge = Callable[[Puts], Verdict]

_NOT_IN_THE_CHECK = (WishKind.KEEP_OUT, WishKind.FINGER_GAP)
_PULLED = (WishKind.NEAR, WishKind.FAR)


def worth(margin: float) -> float:
    """How much more than this room is worth a place off the marks, mm."""
    return WORTH_TIGHT if margin < TIGHT else WORTH


def movable(build: Build, seen: Probe, puts: Puts, held: Iterable[Rule]) -> tuple[Var, ...]:
    """The coordinates that may leave their marks: those that nothing else decides.

    What goes by whole holes, what a kept wish or row ties, and what was pulled near stays. Where
    the file wants something free that the check does not know of, everything does.
    """
    if any(wish.kind in _NOT_IN_THE_CHECK for wish in build.wishes):
        return ()
    pulled = {name for w in build.wishes if w.kind in _PULLED for name in w.parts}
    tied = {(name, rule.axis) for rule in held for name in rule.items}
    return tuple(
        (free.name, coord)
        for free in seen.free
        if free.name not in pulled
        for coord in _open(free)
        if not _fixed(seen, free, puts[free.name], coord)
        and (free.name, _axis(seen, puts[free.name], coord)) not in tied
    )


def _open(free: Free) -> tuple[Coord, ...]:
    return tuple(c for c, o in ((Coord.ACROSS, free.across), (Coord.UP, free.up)) if o)


def _fixed(seen: Probe, free: Free, put: Put, coord: Coord) -> bool:
    trial = seen.trials.get((free.name, put.option))
    return trial is None or (free.name, coord) in trial.pitched


def _axis(seen: Probe, put: Put, coord: Coord) -> int:
    return main_axis(way_of(seen.base.look.scene, put.option.face, coord))


Key = tuple[str, tuple[str, ...]]
"""A rule and what a finding of it is about."""

At = tuple[Puts, Verdict]


@dataclass(slots=True)
class Polisher:
    """Moves the parts of one layout.

    Attributes:
        judge: what the check says of parts put somewhere.
        moves: the coordinates that may be moved, in order.
        cap: more room than this is no merit, mm.
        unit: they are moved by whole multiples of this, mm.
    """

    judge: Judge
    moves: tuple[Var, ...]
    cap: float
    unit: float = TENTH
    asked: int = 0
    _beside: dict[Var, dict[Key, float]] = field(default_factory=dict)
    _there: Puts | None = None

    def polished(self, puts: Puts, verdict: Verdict) -> At:
        """Places with clearly more room, or the same."""
        best: At = puts, verdict
        for trust in TRUST:
            while self.moves and best[1].margin < self.cap and self.asked < _MOST:
                better = self._better(best, trust)
                if better is None:
                    break
                best = better
        gained = self._room(best[1]) - verdict.margin
        if gained > WORTH_TIGHT:
            halves = self._on_halves(puts, best[0])
            if halves[1].good and self._room(halves[1]) - verdict.margin > max(
                WORTH_TIGHT, gained - WORTH_TIGHT
            ):
                return halves
        return best if gained > worth(verdict.margin) else (puts, verdict)

    def _on_halves(self, start: Puts, best: Puts) -> At:
        """The nearest places that are whole or half millimetres from where the parts were."""
        by = {var: round(2 * (_at(best, var) - _at(start, var))) / 2 for var in self.moves}
        there = _moved(start, by)
        return there, self._said(there)

    def _room(self, verdict: Verdict) -> float:
        return min(verdict.margin, self.cap)

    def _said(self, puts: Puts) -> Verdict:
        self.asked += 1
        return self.judge(puts)

    def _better(self, best: At, trust: int) -> At | None:
        """After the best move of at most so many tenths, as the check has it; None: no roomier."""
        puts, verdict = best
        least = _margins(verdict)
        reach = verdict.margin + 2 * len(self.moves) * trust * self.unit
        small = {key: margin for key, margin in least.items() if margin < reach}
        grows = self._grows(puts, small)
        move = _best_move(small, grows, (trust, self.unit), self.cap)
        if not any(move.values()):
            return None
        there = _moved(puts, {var: self.unit * steps for var, steps in move.items()})
        said = self._said(there)
        return (
            (there, said) if said.good and self._room(said) > self._room(verdict) + _TINY else None
        )

    def _grows(self, puts: Puts, small: Mapping[Key, float]) -> dict[Var, dict[Key, float]]:
        """By how much margins grow for each mm of each coordinate."""
        if self._there is not puts:
            # Asked once for all moves from there, be they long or short.
            self._beside = {
                var: _margins(self._said(_moved(puts, {var: _TRIED}))) for var in self.moves
            }
            self._there = puts
        return {
            var: {key: (there.get(key, was) - was) / _TRIED for key, was in small.items()}
            for var, there in self._beside.items()
        }


def _margins(verdict: Verdict) -> dict[Key, float]:
    """The least margin of each rule about each lot of things, mm."""
    found: dict[Key, float] = {}
    for one in verdict.roomy:
        key = one.rule, one.about
        found[key] = min(one.margin, found.get(key, one.margin))
    return found


def _best_move(
    small: Mapping[Key, float],
    grows: Mapping[Var, Mapping[Key, float]],
    steps: tuple[int, float],
    cap: float,
) -> dict[Var, int]:
    """The move, in so many steps of so much, mm, that makes the least margin largest.

    The shortest of several.
    """
    from ortools.sat.python import cp_model

    trust, unit = steps
    model = cp_model.CpModel()
    moves = {var: model.new_int_var(-trust, trust, "") for var in grows}
    low = min(small.values(), default=0.0)
    least = model.new_int_var(math.floor(_FINE * low), math.ceil(_FINE * cap), "")
    for key, margin in small.items():
        grown = sum(round(_FINE * unit * grows[var][key]) * at for var, at in moves.items())
        model.add(round(_FINE * margin) + grown >= least)
    lengths = []
    for at in moves.values():
        length = model.new_int_var(0, trust, "")
        model.add_abs_equality(length, at)
        lengths.append(length)
    model.maximize(10 * least - sum(lengths))
    ran = solve_model(model, Watch(effort=Effort(work=_WORK, searches=1)), linear=True)
    return {var: ran.value(at) if ran.found else 0 for var, at in moves.items()}


def _at(puts: Puts, var: Var) -> float:
    put = puts[var[0]]
    return (put.across if var[1] is Coord.ACROSS else put.up) or 0.0


def _moved(puts: Puts, by: Mapping[Var, float]) -> Puts:
    found = dict(puts)
    for (name, coord), mm in by.items():
        put = found[name]
        if coord is Coord.ACROSS and put.across is not None:
            found[name] = replace(put, across=put.across + mm)
        elif coord is Coord.UP and put.up is not None:
            found[name] = replace(put, up=put.up + mm)
    return found
