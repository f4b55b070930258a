"""Changes to a build that has no layout: how one is tried, and the least of a kind found.

Each try is laid out anew with the solver's own effort, which no clock measures: a slow machine
offers the same helps as a quick one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from fit.findings import Grade, UnusableInput
from fit.model.build import Build
from fit.solve.layout import Layout, lay_out
from fit.solve.nolayout import Help
from fit.solve.run import Effort, Watch
from fit.solve.verdict import WHEREVER

_WORK = 0.5
"""Effort of each yes-or-no step of a try."""

TRIES = 80
"""So many changes are laid out in all."""

Tell = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A changed build: what to do, what it costs, and what else there is to say of it.

    Attributes:
        title: what to do.
        build: with it done.
        cost: how much trouble it is; only the order matters.
        gap: the rule whose gap was made smaller, or empty.
        usual: what is asked for there, mm.
    """

    title: str
    build: Build
    cost: float
    gap: str = ""
    usual: float = 0.0


@dataclass(slots=True)
class Trier:
    """Lays out changed builds, as many as were agreed on."""

    watch: Watch
    tell: Tell
    tries: int = TRIES
    _known: dict[tuple[Build, bool], Help | None] = field(default_factory=dict)

    def __call__(self, change: Change, *, fine: bool = False) -> Help | None:
        """The help that a change is; None where it does not help, or all tries are used up.

        Args:
            change: to be tried.
            fine: look on finer, where the quick look finds nothing.
        """
        known = self._known.get((change.build, fine)) or self._known.get((change.build, not fine))
        if known is not None or (change.build, fine) in self._known:
            return known
        if self.tries <= 0 or not self.watch.left:
            return None
        self.tries -= 1
        self.tell(f"would it go: {change.title}?")
        found = self._tried(change, fine=fine)
        self._known[change.build, fine] = found
        return found

    def _tried(self, change: Change, *, fine: bool) -> Help | None:
        effort = Effort(seconds=self.watch.left, work=_WORK)
        watch = Watch(effort=effort, stopped=self.watch.stopped)
        try:
            layout = lay_out(change.build, watch, quick=True, prove=fine).layout
        except UnusableInput:
            return None
        if layout is None or not layout.verdict.good or not _no_worse(layout):
            return None
        return Help(
            title=change.title,
            layout=layout,
            cost=change.cost,
            gap=change.gap,
            usual=change.usual,
            build=change.build,
        )

    def fewest(self, make: Callable[[int], Change | None], most: int) -> Help | None:
        """The change with the least number that helps, where larger ones help all the more.

        The most is tried first: where that does not help nothing does. The number below the one
        that is found was tried, on finer places too, and does not help.

        Args:
            make: the change for a number from 1 on; None where there is none.
            most: the largest.
        """
        while most > 0 and make(most) is None:
            most -= 1
        found = self._at(make, most) if most > 0 else None
        if found is None:
            return None
        found, high = self._halved(make, found, most, fine=False)
        better = self._at(make, high - 1, fine=True) if high > 1 else None
        if better is not None:
            found, _ = self._halved(make, better, high - 1, fine=True)
        return found

    def _halved(
        self, make: Callable[[int], Change | None], found: Help, high: int, *, fine: bool
    ) -> tuple[Help, int]:
        """The least number that helps, and the help, from one that does."""
        low = 0
        while high - low > 1:
            # One or two are the usual answers.
            middle = low + 1 if low < 2 else (low + high) // 2
            better = self._at(make, middle, fine=fine)
            if better is None:
                low = middle
            else:
                found, high = better, middle
        return found, high

    def _at(
        self, make: Callable[[int], Change | None], number: int, *, fine: bool = False
    ) -> Help | None:
        change = make(number)
        return None if change is None else self(change, fine=fine)


def _no_worse(layout: Layout) -> bool:
    """Whether nothing clashes, placed or not, but what does so wherever things are put."""
    return all(f.grade is not Grade.CLASH or f.rule in WHEREVER for f in layout.verdict.findings)
