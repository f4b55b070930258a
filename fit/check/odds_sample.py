"""Odds from many simulated hand-made copies, and what is worth measuring better."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fit.check.copies import Workshop
from fit.check.copies_sizes import MEASURABLE
from fit.check.odds import SIGMAS, normal_share
from fit.check.odds_limits import Key, counts, key_of, limit_of
from fit.check.odds_run import Batch, Bench, Runner
from fit.check.odds_stack import Stack, stacks
from fit.findings import Finding
from fit.findings.finding import ROUNDING
from fit.geometry.scene import Scene
from fit.geometry.support import Array

COPIES: Final = 2000
"""How many copies are made unless told otherwise."""

_TOLD: Final = 3
"""So many dimensions worth measuring are named."""

_TRIED: Final = 6
"""So many are tried by measuring copies again."""

_AGAIN: Final = 500
"""On so many copies at first; those that are told, on all."""

_LEAST_GAIN: Final = 2e-4
"""A dimension that changes the odds less is not worth measuring."""

_NEAR: Final = 0.2
"""Standard deviations from failing within which a copy is measured again."""

_FEWEST: Final = 10
"""From fewer copies nothing is concluded."""

_NOISE: Final = 3.0
"""A link between a size and a room weaker than this many standard errors is taken for chance."""

Tell = Callable[[int, int], None]
"""Called with copies done and copies asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """A dimension worth measuring better.

    Attributes:
        name: which, in words.
        plus_minus: how far it may be off now, mm.
        gain: by how much the odds of the whole would grow if it were known exactly.
        fewer: by how much the odds of all single failures together would shrink; tells small
            gains apart that the count of copies cannot show.
    """

    name: str
    plus_minus: float
    gain: float
    fewer: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds:
    """What sampling came to.

    Attributes:
        whole: share of copies that go together at the first cut.
        copies: how many were made; fewer than asked when it was interrupted.
        asked: how many were asked for.
        findings: share of copies in which each finding holds, by rule and what it is about; what
            never came near failing has 1.
        worth: the dimensions worth measuring better, the best first; at most three.
        stacks: of each finding that may fail, what adds up to how far its room may be off.
    """

    whole: float
    copies: int
    asked: int
    findings: Mapping[Key, float]
    worth: tuple[Worth, ...]
    stacks: Mapping[Key, Stack]

    @property
    def error(self) -> float:
        """Standard error of `whole` from the number of copies."""
        return math.sqrt(max(self.whole * (1 - self.whole), 1e-9) / max(self.copies, 1))


def _silent(_done: int, _asked: int) -> None:
    """Tell nobody."""


def sample(
    scene: Scene,
    copies: int = COPIES,
    seed: int = 1,
    tell: Tell = _silent,
    workers: int | None = None,
) -> Odds:
    """Make hand-made copies of a scene and count how many go together.

    The same seed gives the same answer, however many processes share the work. Interrupted by
    Ctrl-C it gives what is done.

    Args:
        scene: with nothing left open.
        copies: how many.
        seed: of the random numbers.
        tell: told how far it is.
        workers: processes; None: two where there are two processors and many copies.

    Raises:
        ValueError: when no copy is asked for.
        KeyboardInterrupt: when not one copy is done yet.
    """
    if copies < 1:
        raise ValueError("at least one copy is needed")
    shop = Workshop(scene)
    bench = Bench.of(shop, seed)
    with Runner(bench, copies, workers) as runner:
        batch = runner.run(copies, tell)
        if not batch.count:
            raise KeyboardInterrupt
        worth: tuple[Worth, ...] = ()
        added: Mapping[Key, Stack] = {}
        if batch.count == copies:
            with suppress(KeyboardInterrupt):  # the odds are done: tell them at least
                added = stacks(bench, runner)
                worth = _worth(shop, batch, runner)
    held = _shares(batch)
    return Odds(
        whole=float(np.mean(~batch.failed)),
        copies=batch.count,
        asked=copies,
        findings={key: held.get(key, 1.0) for key in (*bench.keys, *held)},
        worth=worth,
        stacks=added,
    )


def chance(scene: Scene, copies: int = COPIES, seed: int = 1) -> float:
    """In how many of so many hand-made copies of a scene all goes together, as a share.

    The same copies as `sample` makes, counted only.

    Args:
        scene: with nothing left open.
        copies: how many.
        seed: of the random numbers.

    Raises:
        KeyboardInterrupt: when not one copy is done yet.
    """
    with Runner(Bench.of(Workshop(scene), seed), copies, 1) as runner:
        batch = runner.run(copies, _silent)
    if not batch.count:
        raise KeyboardInterrupt
    return float(np.mean(~batch.failed))


def _shares(batch: Batch) -> dict[Key, float]:
    """In how many of the copies each finding held."""
    return {key: float(np.mean(batch.left[:, n] >= -ROUNDING)) for n, key in enumerate(batch.keys)}


# --- what to measure better


def _worth(shop: Workshop, batch: Batch, runner: Runner) -> tuple[Worth, ...]:
    """The sizes whose uncertainty costs most.

    Each finding's dependence on each size, straight and bent, tells how the chance of its failing
    would shrink. The first few are then measured again, all else being the same.
    """
    sigma = np.array([s.plus_minus / SIGMAS for s in shop.sources])
    usual = np.array([s.usually for s in shop.sources])
    z = (batch.off - usual) / np.maximum(sigma, 1e-12)
    fewer = np.zeros(len(shop.sources))
    slopes = np.zeros((len(batch.keys), len(shop.sources)))
    for k, key in enumerate(batch.keys):
        if counts(key):
            shrinks, slopes[k] = _fewer(z, batch.left[:, k])
            fewer += shrinks
    columns = [n for n, s in enumerate(shop.sources) if s.kind in MEASURABLE]
    best = sorted(columns, key=lambda n: (-fewer[n], n))[:_TRIED]
    best = [n for n in best if fewer[n] >= _LEAST_GAIN]

    def changed(number: int, part: slice) -> int:
        without = batch.left[part] - z[part, number : number + 1] * slopes[:, number]
        return _changed(batch, runner, (number, float(usual[number])), part, without)

    first, rest = slice(0, _AGAIN), slice(_AGAIN, None)
    tried = {n: changed(n, first) for n in best}
    told = sorted(best, key=lambda n: -tried[n] - fewer[n])[:_TOLD]
    found = [
        Worth(
            name=shop.sources[n].name,
            plus_minus=shop.sources[n].plus_minus,
            # one copy may also come to fail by chance: that is no loss
            gain=max(0.0, (tried[n] + changed(n, rest)) / batch.count),
            fewer=float(fewer[n]),
        )
        for n in told
    ]
    return tuple(sorted(found, key=lambda w: -w.gain - w.fewer))


def _fewer(z: Array, left: Array) -> tuple[Array, Array]:
    """How the chance of failing shrinks when each source's part of a room's spread goes.

    Also the room's straight dependence on each, mm for a standard deviation of it.
    """
    none = np.zeros(z.shape[1])
    seen = np.isfinite(left)
    room, drawn = left[seen], z[seen]
    if len(room) < _FEWEST or (spread := float(room.std())) < ROUNDING:
        return none, none
    room = (room - room.mean()) / spread
    straight = drawn.T @ room / len(room)
    bent = (drawn**2 - 1.0).T @ room / len(room) / math.sqrt(2.0)
    chance = _NOISE / math.sqrt(len(room))
    straight = np.where(np.abs(straight) > chance, straight, 0.0)
    share = straight**2 + np.where(np.abs(bent) > chance, bent**2, 0.0)
    if not share.any():
        return none, none
    now = float(left[seen].mean()) / spread
    rest = now / np.sqrt(np.maximum(1.0 - share, 0.0025))
    failing = normal_share(-now)
    return np.array([failing - normal_share(-r) for r in rest]), straight * spread


def _changed(
    batch: Batch, runner: Runner, known: tuple[int, float], part: slice, without: Array
) -> int:
    """How many more of some copies go together with one size as planned, all else the same.

    Only those are measured again where something fails or comes near it.

    Args:
        known: the number of the size's source, and what it is off as planned.
        without: about what is left in each copy with that size as planned, mm.
    """
    left, failed = batch.left[part], batch.failed[part]
    if not len(left):
        return 0
    counted = np.array([counts(key) for key in batch.keys])
    spread = np.nanstd(np.where(np.isfinite(batch.left), batch.left, np.nan), axis=0)
    near = (np.minimum(left, without) < _NEAR * spread) & counted
    again = np.flatnonzero(near.any(axis=1))
    off = batch.off[part][again].copy()
    off[:, known[0]] = known[1]
    return int(failed[again].sum()) - int(runner.failures(off).sum())


def ranked(findings: Sequence[Finding], odds: Odds) -> tuple[Finding, ...]:
    """Findings with their odds as sampled; what was not sampled keeps what it had."""
    return tuple(
        replace(f, odds=odds.findings.get(key_of(f), f.odds)) if limit_of(f.rule) else f
        for f in findings
    )
