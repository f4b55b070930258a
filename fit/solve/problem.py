"""A layout question in whole grid steps: items made of boxes, where they may be, what they need.

Everything here is a whole number of steps of one grid. `Grid` converts mm and says to which side:
the safe question lets parts grow and room shrink, so its answers hold; the loose one is the
opposite, so that only what is impossible even there is called impossible.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
import numpy.typing as npt

Ints = tuple[int, ...]

_NOISE = 1e-9


class Side(StrEnum):
    """Which way rounding to the grid errs."""

    SAFE = "safe"
    """Parts grow, room shrinks: what is found fits."""
    LOOSE = "loose"
    """Parts shrink, room grows: what is impossible here is impossible."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A grid of `step` mm and the side rounding errs to."""

    step: float
    side: Side = Side.SAFE

    def body(self, low: float, high: float) -> tuple[int, int]:
        """A solid's two ends, mm, in steps: apart when safe, together when loose."""
        return (
            (self.floor(low), self.ceil(high))
            if self._safe
            else (
                self.ceil(low),
                max(self.ceil(low), self.floor(high)),
            )
        )

    def room(self, low: float, high: float) -> tuple[int, int]:
        """The two ends of free room, mm, in steps: together when safe, apart when loose."""
        if self._safe:
            return self.ceil(low), self.floor(high)
        return self.floor(low), self.ceil(high)

    def need(self, length: float) -> int:
        """A gap or radius that is needed, mm, in steps: larger when safe."""
        return self.ceil(length) if self._safe else self.floor(length)

    def floor(self, length: float) -> int:
        """Mm in whole steps, downwards."""
        return math.floor(length / self.step + _NOISE)

    def ceil(self, length: float) -> int:
        """Mm in whole steps, upwards."""
        return math.ceil(length / self.step - _NOISE)

    def mm(self, steps: int) -> float:
        """Steps in mm."""
        return steps * self.step

    @property
    def _safe(self) -> bool:
        return self.side is Side.SAFE


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box of an item, relative to the item's reference point.

    Attributes:
        low, high: its corners, steps; equal ends are allowed (a point, a line).
        layer: what it is; `Problem.gaps` says which layers keep apart and by how much.
        swell: the box is rounded off by this radius, steps: a point with a swell is a disc.
        round: the axis it is rounded about: it swells square to that alone; None: every way.
    """

    low: Ints
    high: Ints
    layer: str = "body"
    swell: int = 0
    round: int | None = None

    def swells(self, axis: int) -> int:
        """How far it swells along an axis, steps."""
        return 0 if axis == self.round else self.swell


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A half space that boxes stay in: ``normal · x <= offset``.

    Attributes:
        normal: whole numbers, any length but 0.
        offset: steps times the scale of `normal`.
        layers: the layers it holds for; empty: for the reference point alone.
        need: gap to keep to it, steps.
        counts: False where the gap to it does not count as a margin.
    """

    normal: Ints
    offset: int
    layers: frozenset[str] = frozenset({"body"})
    need: int = 0
    counts: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """The room among some of what stands still, worked out beforehand at every place of a way.

    Attributes:
        margin: for each combination of the way's stops, axis by axis, steps; below 0 where the
            item must not be.
        known: the fixed items that are accounted for; so are all walls.
    """

    margin: npt.NDArray[np.int64]
    known: frozenset[str]

    def at(self, way: Way, spot: Ints) -> int:
        """The margin at one of the way's stops."""
        return int(self.margin[tuple(s.index(v) for s, v in zip(way.stops, spot, strict=True))])


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way an item may be put: which way it is turned, on which face.

    Attributes:
        boxes: its bodies in this way.
        low, high: where the reference point may be, axis by axis, ends included, steps.
        walls: what its boxes stay within.
        name: for messages.
        stops: for each axis the only coordinates allowed (in order), steps; an empty one allows
            all; no entries: all on every axis.
        table: the room at every place, where it was worked out; it needs stops on every axis.
        beyond: how much further than the reference point the thing's middle is along each axis,
            steps, where ways differ in that; for nearness and wires.
    """

    boxes: tuple[Box, ...]
    low: Ints
    high: Ints
    walls: tuple[Wall, ...] = ()
    name: str = ""
    stops: tuple[Ints, ...] = ()
    table: Table | None = None
    beyond: Ints = ()

    def moves_on(self, axis: int) -> bool:
        """Whether the reference point has a choice on an axis."""
        return self.low[axis] < self.high[axis]

    def stops_on(self, axis: int) -> Ints:
        """The coordinates allowed on an axis; empty: all from low to high."""
        if not self.stops or not self.stops[axis]:
            return ()
        return tuple(s for s in self.stops[axis] if self.low[axis] <= s <= self.high[axis])


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A thing to place, or an obstacle (one way, ``low == high``).

    Attributes:
        name: of the thing.
        ways: the ways it may be put.
        enough: a margin of its own, steps, above which more is no merit; None: the question's cap.
            What can have no more than a little room anywhere so does not keep all others from
            being made roomy.
    """

    name: str
    ways: tuple[Way, ...]
    enough: int | None = None

    @property
    def fixed(self) -> bool:
        """True when there is nothing to choose, and nothing to find out about its one place."""
        way = self.ways[0]
        return len(self.ways) == 1 and way.low == way.high and way.table is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A needed gap, steps; `counts` is False where more than that is no merit."""

    need: int
    counts: bool = True


class Metric(StrEnum):
    """How gaps are measured."""

    AXIS = "axis"
    """Along the axes: the largest of the gaps in x, y (and z). Never more than the distance."""
    STRAIGHT = "straight"
    """In a straight line, along the best of 16 directions in each plane of two axes: at least
    98 % of the distance of rounded boxes in a plane, and never more than it."""
    LOOSE = "loose"
    """The same directions with gaps counted as larger: never less than the straight distance."""


class Tie(StrEnum):
    """What a rule asks of a list of items along one axis."""

    IN_LINE = "in_line"
    """Reference points at the same coordinate."""
    IN_ORDER = "in_order"
    """Each at least `value` steps after the one before."""
    EQUAL_PITCH = "equal_pitch"
    """The same step from each to the next."""
    EQUAL_GAP = "equal_gap"
    """The same free space from each to the next (boxes of all layers)."""
    CENTRED = "centred"
    """First and last equally far from the coordinate ``value / 2``."""
    FOLLOWS = "follows"
    """The second is in the way of the same number as the first, and at the first's coordinate on
    each axis along which that way lets it move."""
    AMONG = "among"
    """Each in a way of one of the numbers in `ways`; the axis says nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A tie between items along an axis; `value` as the tie says.

    Steps, gaps and middles may be unequal by `slack` steps; a middle by one in any case. `ways`
    is for `Tie.AMONG`.
    """

    tie: Tie
    items: tuple[str, ...]
    axis: int
    value: int = 0
    slack: int = 0
    ways: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """Something tidy to come near to: `item` at `at` along `axis`, or as high as `other`.

    The cost is ``weight`` for each step away. With `other` the item is to be `at` steps below
    it, or, `mirrored`, the two as far to either side of ``at / 2``.
    """

    item: str
    axis: int
    at: int = 0
    other: str | None = None
    weight: int = 1
    mirrored: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire between two reference points; its length is counted along the axes.

    `shift` is how much further the first is along each axis than its reference point is from the
    second's, steps.
    """

    a: str
    b: str
    weight: int = 1
    shift: Ints = (0, 0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """Boxes side by side in a plane: says nothing new, but shortens proofs.

    Attributes:
        axes: the two axes of the plane. Along the third no two of the boxes can ever keep their
            gap.
        boxes: for each item the layer of one of its boxes, the same in all its ways.
        need: the least gap that any two of them must keep, steps.
    """

    axes: tuple[int, int]
    boxes: tuple[tuple[str, str], ...]
    need: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """A layout question.

    Attributes:
        axes: 2 or 3.
        items: to place, obstacles among them.
        gaps: for two layers in alphabetical order, the gap between boxes of different items.
            Layers without an entry do not see each other.
        pairs: for two names in alphabetical order, the gap that replaces `gaps` for them.
        rules: ties that must hold.
        metric: how gaps are measured.
        cap: margins above this count as this, steps.
        grain: the largest margin is looked for to within this many steps.
        packs: boxes that lie in one plane.
        wishes, wires: what decides between layouts of the same margin: wishes first.
    """

    axes: int
    items: tuple[Item, ...]
    gaps: Mapping[tuple[str, str], Gap] = field(
        default_factory=lambda: {("body", "body"): Gap(need=0)}
    )
    pairs: Mapping[tuple[str, str], Gap] = field(default_factory=dict)
    rules: tuple[Rule, ...] = ()
    metric: Metric = Metric.AXIS
    cap: int = 0
    grain: int = 1
    packs: tuple[Pack, ...] = ()
    wishes: tuple[Wish, ...] = ()
    wires: tuple[Wire, ...] = ()

    def gap(self, a: tuple[str, str], b: tuple[str, str]) -> Gap | None:
        """The gap between two boxes, each given as (item, layer); None: they may overlap."""
        layers = self.gaps.get((a[1], b[1]) if a[1] <= b[1] else (b[1], a[1]))
        if layers is None or a[0] == b[0]:
            return None
        return self.pairs.get((a[0], b[0]) if a[0] <= b[0] else (b[0], a[0]), layers)

    def item(self, name: str) -> Item:
        """The item of that name.

        Raises:
            KeyError: when there is none.
        """
        for item in self.items:
            if item.name == name:
                return item
        raise KeyError(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where an item came to be: which of its ways, and the reference point, steps."""

    way: int
    at: Ints


def room_walls(
    low: Ints, high: Ints, *, layer: str = "body", need: int = 0, counts: bool = True
) -> tuple[Wall, ...]:
    """The walls of a rectangular room from `low` to `high`, steps."""
    walls = []
    for axis, (a, b) in enumerate(zip(low, high, strict=True)):
        unit = tuple(int(i == axis) for i in range(len(low)))
        minus = tuple(-n for n in unit)
        for normal, offset in ((unit, b), (minus, -a)):
            walls.append(
                Wall(
                    normal=normal,
                    offset=offset,
                    layers=frozenset({layer}),
                    need=need,
                    counts=counts,
                )
            )
    return tuple(walls)


def turned(box: Box, quarters: int) -> Box:
    """A box turned in the plane of its first two axes by quarter turns counter-clockwise."""
    low, high = box.low, box.high
    for _ in range(quarters % 4):
        low, high = (-high[1], low[0], *low[2:]), (-low[1], high[0], *high[2:])
    return Box(low=low, high=high, layer=box.layer, swell=box.swell)
