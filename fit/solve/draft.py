"""A layout question in the making: its grid, its layers, and boxes on that grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fit.check.rule import Inspection
from fit.geometry.frames import Vec
from fit.model.build import Build
from fit.solve.free import Option, Put
from fit.solve.matter import Blob, Layer, Needs
from fit.solve.probe import Coord, Probe
from fit.solve.problem import Box, Grid, Item, Metric, Rule, Side, Spot

STEP = 0.02
"""The grid, mm: perfboard's 2.54 and a marked 0.5 are whole steps of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """What one way of a part means: its option, and the coordinates behind the steps.

    Attributes:
        option: face, turn and so on.
        axes: the engine's axis of each open coordinate.
        places: for each open coordinate, the step and the mm in the face frame.
    """

    option: Option
    axes: Mapping[Coord, int]
    places: Mapping[Coord, Mapping[int, float]]

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
    layers: dict[Layer, str] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)
    seats: dict[str, tuple[Seat, ...]] = field(default_factory=dict)
    unseen: list[str] = field(default_factory=list)

    @property
    def loose(self) -> bool:
        """Whether boxes within things are taken."""
        return self.grid.side is Side.LOOSE

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
        for low, high in blob.within if self.loose else blob.around:
            ends = [
                self.grid.body(
                    low[k] + shift[k] - grown * slack[k], high[k] + shift[k] + grown * slack[k]
                )
                for k in range(3)
                if low[k] - grown * slack[k] <= high[k] + grown * slack[k]
            ]
            if len(ends) == 3:
                found.append(
                    Box(
                        low=tuple(e[0] for e in ends),
                        high=tuple(e[1] for e in ends),
                        layer=self.name(blob.layer),
                    )
                )
        return found
