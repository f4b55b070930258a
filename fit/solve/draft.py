"""A layout question in the making: its grid, its layers, and boxes on that grid."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from fit.check.rule import Inspection
from fit.geometry.frames import Vec
from fit.model.build import Build
from fit.solve.free import Option, Put, Span
from fit.solve.matter import Blob, Layer, Needs
from fit.solve.probe import Coord, Probe
from fit.solve.problem import Box, Grid, Item, Metric, Rule, Side, Spot
from fit.solve.rounded import Round, inner, outer

STEP = 0.02
"""The grid, mm: perfboard's 2.54 and a marked 0.5 are whole steps of it."""

CLOSE = 80
"""A span that is looked at closer is cut into so many steps."""

Narrow = Mapping[tuple[str, Option], Mapping[Coord, Span]]
"""For a part and an option (`key_of`) where its coordinates are looked for, mm; what is missing
has no place."""


def key_of(name: str, option: Option) -> tuple[str, Option]:
    """A part and an option, wherever between two holes its places begin."""
    return name, replace(option, phase=(0.0, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """What one way of a part means: its option, and the coordinates behind the steps.

    Attributes:
        option: face, turn and so on.
        axes: the engine's axis of each open coordinate.
        places: for each open coordinate, the step and the mm in the face frame.
        nearer: on the loose side a step stands for all places that are nearer to it than to the
            next one, which may be another way's: how far away these are, mm; 0 on the safe side.
    """

    option: Option
    axes: Mapping[Coord, int]
    places: Mapping[Coord, Mapping[int, float]]
    nearer: Mapping[Coord, float]

    def put(self, spot: Spot) -> Put:
        """Where a spot puts the part."""
        at = {c: self.places[c][spot.at[axis]] for c, axis in self.axes.items()}
        return Put(option=self.option, across=at.get(Coord.ACROSS), up=at.get(Coord.UP))


@dataclass(slots=True)
class Draft:
    """A question in the making."""

    build: Build
    probe: Probe
    needs: Needs
    grid: Grid
    marked: float
    metric: Metric
    narrow: Narrow | None = None
    close: int = CLOSE
    layers: dict[Layer, str] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    seats: dict[str, tuple[Seat, ...]] = field(default_factory=dict)
    unseen: list[str] = field(default_factory=list)

    @property
    def step(self) -> float:
        """The step of the grid, mm."""
        return self.grid.step

    @property
    def loose(self) -> bool:
        """Whether boxes within things are taken."""
        return self.grid.side is Side.LOOSE

    @property
    def looks_at_all(self) -> bool:
        """Whether options that clash wherever they are put count: in proofs, and at last."""
        return self.loose or self.metric is not Metric.AXIS

    @property
    def look(self) -> Inspection:
        """The inspection of the trial with every first option."""
        return self.probe.base.look

    def name(self, layer: Layer) -> str:
        """The engine's name for a layer."""
        return self.layers.setdefault(layer, f"L{len(self.layers)}")

    def boxes(self, blob: Blob, shift: Vec, slack: Vec) -> list[Box]:
        """A blob's boxes for the engine, moved by `shift`; what `slack` says it may stray, mm."""
        grown = -1.0 if self.loose else 1.0
        found = []
        for one in self._covers(blob):
            radius, grows = one.radius, [grown * s for s in slack]
            if self.loose and one.axis is not None:
                # A disc that all its shifted copies hold.
                radius -= math.hypot(*(s for k, s in enumerate(slack) if k != one.axis))
                grows = [g if k == one.axis else 0.0 for k, g in enumerate(grows)]
            low = [v - g + s for v, g, s in zip(one.low, grows, shift, strict=True)]
            high = [v + g + s for v, g, s in zip(one.high, grows, shift, strict=True)]
            if radius < 0.0 or any(a > b for a, b in zip(low, high, strict=True)):
                continue
            ends = [self.grid.body(a, b) for a, b in zip(low, high, strict=True)]
            swell = self.grid.floor(radius) if self.loose else self.grid.ceil(radius)
            found.append(
                Box(
                    low=tuple(e[0] for e in ends),
                    high=tuple(e[1] for e in ends),
                    layer=self.name(blob.layer),
                    swell=swell,
                    round=one.axis,
                )
            )
        return found

    def _covers(self, blob: Blob) -> Sequence[Round]:
        """The boxes that stand for a thing: along the axes plain ones serve better."""
        if self.metric is Metric.AXIS:
            return [Round(*ends) for ends in (blob.within if self.loose else blob.around)]
        return (inner if self.loose else outer)(blob.shape, blob.pose)
