"""What a layout is pulled towards: middles, balance, nearness, short wires."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from fit.model.build import Along, Build, WishKind
from fit.solve.draft import STEP, Seat
from fit.solve.free import Free, kind_of
from fit.solve.in_use import InUse
from fit.solve.probe import Probe
from fit.solve.problem import Item
from fit.solve.problem import Wire as Strand
from fit.solve.problem import Wish as Cost

_MOST_BALANCED = 8
"""Among so many parts of a face every two are balanced about its middle …"""

_BALANCE = 3
"""… and a step that they are not costs so much."""

_PULL = 20
"""A step nearer to, or further from, another part is worth so many steps off the middle."""


class Pulls:
    """The costs of one question."""

    def __init__(self, build: Build, found: Probe) -> None:
        """Take what was probed of a build."""
        self._build, self._probe = build, found
        self._free: Mapping[str, Free] = {f.name: f for f in found.free}
        self._faces = InUse(build, found)

    def costs(self) -> tuple[tuple[Cost, ...], tuple[Item, ...]]:
        """What to come near to: wishes of nearness, then each part the middle of its face."""
        costs: list[Cost] = []
        items: list[Item] = []
        for wish in self._build.wishes:
            if wish.kind in (WishKind.NEAR, WishKind.FAR):
                weight = _PULL if wish.kind is WishKind.NEAR else -_PULL
                near, points = self._pulled(wish.parts, weight)
                costs += near
                items += points
        for free in self._probe.free:
            if len(free.faces) > 1:
                continue
            face = free.options[0].face
            for along in self._open(free):
                axis = self._faces.axis(face, along)
                at = self._faces.twice_middle(face, along) // 2
                weight = 2 if along is Along.ACROSS else 1
                costs.append(Cost(item=free.name, axis=axis.number, at=at, weight=weight))
        return (*costs, *self._balanced()), tuple(items)

    def _balanced(self) -> Iterator[Cost]:
        """What is seen on a face as far to the left of its middle as to the right.

        Alike parts as far above it as below, too.
        """
        seen = [f for f in self._probe.free if len(f.faces) == 1 and self._faces.cuts(f.name)]
        for face in dict.fromkeys(f.options[0].face for f in seen):
            here = [f for f in seen if f.options[0].face is face][:_MOST_BALANCED]
            for one, two in itertools.combinations(here, 2):
                alike = kind_of(one.used.part) == kind_of(two.used.part)
                for along in (Along.ACROSS, Along.UP) if alike else (Along.ACROSS,):
                    yield Cost(
                        item=one.name,
                        axis=self._faces.axis(face, along).number,
                        at=self._faces.twice_middle(face, along),
                        other=two.name,
                        weight=_BALANCE,
                        mirrored=True,
                    )

    def wires(self) -> tuple[tuple[Strand, ...], tuple[Item, ...]]:
        """The wires with at least one end that moves, and points for ends that stand still."""
        strands: list[Strand] = []
        items: list[Item] = []
        for wire in self._build.wires:
            ends = (wire.start, wire.end)
            if not any(end in self._free for end in ends):
                continue
            points = [p for end in ends for p in self._faces.point(end)]
            there = {p.name for p in points} | {end for end in ends if end in self._free}
            if set(ends) <= there:
                shift = tuple(self._faces.apart(*ends, k) for k in range(3))
                strands.append(Strand(a=wire.start, b=wire.end, shift=shift))
                items += points
        return tuple(strands), tuple(items)

    def placed(
        self, items: Iterable[Item], seats: Mapping[str, tuple[Seat, ...]]
    ) -> Iterator[Item]:
        """The items with the middle of each thing in each of the ways it may be put.

        A point in the engine says nothing of the axis that its face is square to.
        """
        for item in items:
            free = self._free.get(item.name)
            if free is None or len(free.faces) == 1:
                yield item
                continue
            ways = tuple(
                replace(way, beyond=self._beyond(item.name, seat))
                for way, seat in zip(item.ways, seats[item.name], strict=True)
            )
            yield replace(item, ways=ways)

    def _beyond(self, name: str, seat: Seat) -> tuple[int, ...]:
        trial = self._probe.trials[name, seat.option]
        placed = trial.look.scene.placed[name]
        frame = trial.look.scene.faces[seat.option.face].frame
        middle = frame.point((placed.across, placed.up, 0.0))
        taken = seat.axes.values()
        return tuple(0 if k in taken else round(middle[k] / STEP) for k in range(3))

    def _open(self, free: Free) -> list[Along]:
        found = [Along.ACROSS] if free.across else []
        return [*found, Along.UP] if free.up else found

    def _pulled(self, names: Sequence[str], weight: int) -> tuple[list[Cost], list[Item]]:
        """What each two of these cost for each step between them; below 0: they gain by it."""
        points = [p for name in names for p in self._faces.point(name)]
        there = {name for name in names if name in self._free} | {p.name for p in points}
        costs = []
        for pair in itertools.combinations([n for n in names if n in there], 2):
            one, two = sorted(pair, key=lambda name: name not in self._free)
            if one in self._free:
                for axis in range(3):
                    off = self._faces.apart(one, two, axis)
                    costs.append(Cost(item=one, axis=axis, other=two, weight=weight, at=off))
        return costs, points if costs else []
