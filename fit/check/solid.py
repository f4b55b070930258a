"""Solids as the rules see them, and what stands where among all of a scene."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from fit.check.measure import Crowd
from fit.geometry.distance import Prepared
from fit.geometry.frames import Vec, dot
from fit.geometry.scene import BOX, Body, BodyId, Scene
from fit.model.words import Half
from fit.trade.clearances import Thing


@dataclass(frozen=True, slots=True, kw_only=True)
class Stray:
    """How far a solid may come to sit beside its place, mm: along an axis and square to it."""

    axis: Vec
    along: float
    across: float

    def towards(self, way: Vec) -> float:
        """The same along any unit direction, mm."""
        share = dot(self.axis, way) ** 2
        return math.sqrt(self.along**2 * share + self.across**2 * max(0.0, 1.0 - share))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """One solid as the rules see it.

    Attributes:
        body: as it stands in the scene.
        ready: prepared for measuring.
        kind: what the table of gaps calls it.
        label: what a finding about it names: the part, or "post P1", "rib R1", "lip".
        words: the same in a sentence.
        doubt: the largest uncertainty of its written sizes, mm.
        strays: how the person's work may move it.
    """

    body: Body
    ready: Prepared
    kind: Thing
    label: str
    words: str
    doubt: float = 0.0
    strays: tuple[Stray, ...] = ()

    @property
    def moulded(self) -> bool:
        """Whether it belongs to the box."""
        return self.body.owner == BOX

    def spread(self, way: Vec) -> float:
        """How far its surface may stray along a unit direction, mm (root sum square)."""
        moves = sum(s.towards(way) ** 2 for s in self.strays)
        return math.sqrt(self.doubt**2 + moves)


class Standing:
    """All solids of one scene, where they stand.

    Attributes:
        scene: the scene.
        solids: everything, in the scene's order.
    """

    def __init__(self, scene: Scene, solids: tuple[Solid, ...]) -> None:
        self.scene, self.solids = scene, solids

    @cached_property
    def touched(self) -> frozenset[BodyId]:
        """Every body that touches another on purpose."""
        return frozenset(i for pair in self.scene.touching for i in pair)

    @cached_property
    def crowd(self) -> Crowd[Solid]:
        """All solids, to be asked which are near."""
        return crowd_of(self.solids)

    @cached_property
    def inside(self) -> tuple[Solid, ...]:
        """Those inside the walls."""
        return tuple(s for s in self.solids if not s.body.outside)

    @cached_property
    def parts(self) -> tuple[Solid, ...]:
        """Those inside the walls that belong to parts."""
        return tuple(s for s in self.inside if not s.moulded)

    def of(self, owner: str) -> tuple[Solid, ...]:
        """The solids of one part that stand inside the walls."""
        return self._by_owner.get(owner, ())

    @cached_property
    def _by_owner(self) -> Mapping[str, tuple[Solid, ...]]:
        found: dict[str, list[Solid]] = {}
        for solid in self.parts:
            found.setdefault(solid.body.owner, []).append(solid)
        return {owner: tuple(solids) for owner, solids in found.items()}

    @cached_property
    def moulded(self) -> Mapping[Half, tuple[Solid, ...]]:
        """What of the box itself stands inside each half."""
        return {half: tuple(s for s in half_of(self.inside, half) if s.moulded) for half in Half}

    @cached_property
    def levels(self) -> Mapping[Half, tuple[float, float]]:
        """The lowest and the highest point of what stands inside each half, and the rim, mm."""
        rim = self.scene.build.box.rim
        found = {}
        for half in Half:
            boxes = [s.ready.box for s in half_of(self.inside, half)]
            found[half] = (
                min([rim, *(b[0][2] for b in boxes)]),
                max([rim, *(b[1][2] for b in boxes)]),
            )
        return found

    def touch(self, a: Body, b: Body) -> bool:
        """Whether two bodies touch on purpose."""
        if a.id not in self.touched or b.id not in self.touched:
            return False
        return frozenset((a.id, b.id)) in self.scene.touching

    def behind_a_board(self, a: Body, b: Body) -> bool:
        """Whether one is the leads of a board and the other is mounted on that board's far side.

        Displays soldered in, joint blocks and standing boards stand on the component side, with
        the board itself between them and its leads. The other way round, the leads of a standing
        board end at its foot, over bare board.
        """
        for leads, other in ((a, b), (b, a)):
            if leads.name != "leads" or other.owner == BOX:
                continue
            slab = (leads.owner, "slab")
            if frozenset((slab, other.id)) in self.scene.touching:
                return True
        return False


def crowd_of(solids: Sequence[Solid]) -> Crowd[Solid]:
    """Solids, to be asked which are near."""
    return Crowd(solids, [s.ready.box for s in solids])


def half_of(solids: Iterable[Solid], half: Half) -> tuple[Solid, ...]:
    """Those that stay with one half of the box."""
    return tuple(s for s in solids if s.body.half is half)
