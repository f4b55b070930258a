"""Simulated hand-made copies of a build: scenes that the checker measures like any other.

How uncertainty is read: ± is two standard deviations of a normal distribution, cut at three (a
draw beyond ±1.5 times the written figure is drawn again), each axis for itself. So ± 0.5 means
that 95 of 100 come out within 0.5. A size without ± gets that of ordinary moulded things (half of
IT12, see `fit.trade.materials.moulded_tolerance`; for orientation, a guess), a board 10 % of its
thickness. What hands do is told in :mod:`fit.check.copies_hands`.

Things that follow each other stay together: a nut follows its hole, a display its board, while
the window stays where it was cut; a board rests on its posts however high these came out. A part
sits in the middle of the play in its hole, and boards do not turn in theirs. Sizes act linearly.
"""

from __future__ import annotations

import numpy as np

from fit.check.copies_hands import Hands, Ledger, hands_of, mount_of
from fit.check.copies_make import Copy
from fit.check.copies_sizes import Source, sizes
from fit.check.copies_slopes import pinned, slopes_of
from fit.geometry.scene import (
    BOX,
    Scene,
)
from fit.geometry.shapes import Block
from fit.geometry.support import Array

CUT_AT = 3.0
"""Standard deviations beyond which a draw is drawn again."""


class Workshop:
    """Makes copies of one scene. Preparing it takes about as long as some checks; a copy is fast.

    Attributes:
        scene, build: as planned, with what is made by plan written out.
        sources: everything that may be off, sizes first; so many of them are sizes.
        slopes: how the scene follows its sizes.
        hands: the work of hands.
        places, mounts: by part, its place in the build and the openings it follows.
        boards, carrier: boards by name, and which of them carries a display.
        sawn: by body, its sides on sawn lines: (axis, source, sign, end).
        post_bodies: by name, where the scene has them.
    """

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.build = pinned(scene)
        ledger = Ledger(list(sizes(self.build)))
        self.size_count = len(ledger.sources)
        self.slopes = slopes_of(scene, self.build, tuple(ledger.sources))
        self.hands: Hands = hands_of(scene, ledger)
        self.sources: tuple[Source, ...] = tuple(ledger.sources)
        self._usually = np.array([s.usually for s in self.sources])
        self._sigma = np.array([s.plus_minus / 2 for s in self.sources])
        self.places = {used.name: n for n, used in enumerate(self.build.parts)}
        self.mounts = {u.name: mount_of(scene, u) for u in self.build.parts}
        self.boards = {b.name: b for b in scene.boards}
        self.sawn = {n: s for n in range(len(scene.bodies)) if (s := self._sawn_sides(n))}
        self.carrier = {name: u.name for u in self.build.parts for name in u.carries}
        self.post_bodies = {b.name: n for n, b in enumerate(scene.bodies) if b.owner == BOX}

    def draw(self, rng: np.random.Generator) -> Array:
        """How far everything is off in one copy, mm (degrees for bends), as `sources`."""
        z = rng.standard_normal(len(self.sources))
        while (wide := np.abs(z) > CUT_AT).any():
            z[wide] = rng.standard_normal(int(wide.sum()))
        off: Array = self._usually + z * self._sigma
        return off

    def planned(self) -> Array:
        """What `draw` would give with nothing off but what is so on average."""
        return self._usually.copy()

    def make(self, off: Array, owners: frozenset[str] | None = None) -> Scene:
        """The copy in which everything is off by so much.

        Args:
            off: as `draw` gives it.
            owners: parts (and names of moulded bodies) to keep solids of; None for all.
        """
        return Copy(self, off, owners).scene()

    def numbers(self, off: Array) -> Array:
        """The scene's numbers with the sizes off, before any work of hands."""
        row: Array = self.slopes.row + self.slopes.by @ off[: self.size_count]
        return row

    def _sawn_sides(self, number: int) -> tuple[tuple[int, int, float, float], ...]:
        """For a body of a sawn board: (axis, source, sign, end) of each side on a sawn line."""
        body = self.scene.bodies[number]
        lines = self.hands.edges.get(body.owner)
        if lines is None or body.name not in ("slab", "leads"):
            return ()
        assert isinstance(body.shape, Block)
        middle = self.boards[body.owner].pose.inside(body.pose.origin)
        halves = (body.shape.dx / 2, body.shape.dy / 2)
        found = []
        for axis, along in enumerate((lines.x, lines.y)):
            for end in (-1.0, 1.0):
                side = middle[axis] + end * halves[axis]
                for at, source, sign in along:
                    if abs(at - side) < 1e-6:
                        found.append((axis, source, sign, end))
        return tuple(found)


def copy_of(scene: Scene, rng: np.random.Generator) -> Scene:
    """One simulated hand-made copy of a scene. For many, keep a `Workshop`."""
    shop = Workshop(scene)
    return shop.make(shop.draw(rng))
