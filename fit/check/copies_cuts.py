"""Where the openings of one copy come to be, and how large, by the work of hands."""

from __future__ import annotations

import math

from fit.check.copies_hands import Hands
from fit.geometry.scene import Cut, Opening, Scene


class Cuts:
    """The openings of a copy.

    Args:
        plan: the scene as planned.
        hands: the work of hands in it.
        off: how far every source is off, mm.
    """

    def __init__(self, plan: Scene, hands: Hands, off: list[float]) -> None:
        self._plan, self._hands, self._off = plan, hands, off

    def shift(self, number: int) -> tuple[float, float]:
        """How far the middle of an opening strays in its face, mm."""
        opening, made = self._plan.openings[number], self._hands.made[number]
        # A hole that is there already is laid out by no template.
        template = () if opening.by else self._hands.template[opening.face]
        across, up = (self._off[i] for i in template) if template else (0.0, 0.0)
        if made.centre is not None:
            return across + self._off[made.centre[0]], up + self._off[made.centre[1]]
        assert made.edges is not None
        left, right, low, high = (0.0 if i is None else self._off[i] for i in made.edges)
        if opening.cut is Cut.RIM_SLOT:
            return across + (left + right) / 2, self.bottom(number, opening) / 2
        along, over = (left + right) / 2, (low + high) / 2
        a = math.radians(opening.turn)
        c, s = math.cos(a), math.sin(a)
        return across + c * along - s * over, up + s * along + c * over

    def bottom(self, number: int, opening: Opening) -> float:
        """How far the bottom of a slot comes out above its place, mm."""
        made = self._hands.made[number]
        assert made.edges is not None and made.edges[2] is not None
        template = self._hands.template[opening.face][1]
        return float(self._off[template] + self._off[made.edges[2]])

    def growth(self, number: int) -> tuple[float, float]:
        """How much wider and higher a filed opening comes out, mm."""
        made = self._hands.made[number]
        assert made.edges is not None
        left, right, low, high = (0.0 if i is None else self._off[i] for i in made.edges)
        return right - left, high - low

    def line(self, lines: tuple[tuple[float, int, float], ...], at: float) -> float:
        """How far a sawn line comes out beside its place, along the axis, mm."""
        for place, source, sign in lines:
            if abs(place - at) < 1e-6:
                return sign * self._off[source]
        return 0.0
