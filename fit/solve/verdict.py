"""What the check says of a layout that was found: how roomy it is, and what still stands in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fit.check import Inspection, inspected
from fit.findings import Finding, Grade
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build

WHEREVER = frozenset(
    {
        "anti-turn",
        "board-grid",
        "button-play",
        "cable-seal",
        "chuck",
        "cover",
        "filter",
        "leads",
        "notch-rows",
        "panel-thickness",
        "passes",
        "plug-seats",
        "post-pilots",
        "post-holes",
        "post-walls",
        "rim-slot",
        "joint-screws",
        "joint-square",
        "screw-holes",
        "screw-length",
        "stands",
        "thread",
        "warmth",
        "window-border",
        "window-view",
    }
)
"""Rules that say the same wherever a part is put: no place mends them, none makes them worse."""

NO_ROOM = frozenset({"order", "joint-holes", "joint-carried", "holes-on-grid", "hole-edges"})
"""Rules that must hold, but whose margin is no room between things."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """A layout as the check sees it.

    Attributes:
        build: with every place filled in.
        scene: put together.
        findings: all of them.
        movers: the parts that were free to move, and what moves with them.
    """

    build: Build
    scene: Scene
    findings: tuple[Finding, ...]
    movers: frozenset[str]

    @property
    def margin(self) -> float:
        """The smallest room that any place leaves about what was placed, mm; inf for none."""
        return min((f.margin for f in self.roomy), default=float("inf"))

    @property
    def roomy(self) -> tuple[Finding, ...]:
        """The findings whose margin is room about what was placed."""
        return tuple(f for f in self.placed if f.rule not in NO_ROOM)

    @property
    def rooms(self) -> tuple[float, ...]:
        """For each part that moves the smallest room about it, least first, mm."""
        least: dict[str, float] = {}
        for found in self.roomy:
            for name in self.movers & set(found.about):
                least[name] = min(found.margin, least.get(name, found.margin))
        return tuple(sorted(least.values()))

    @property
    def placed(self) -> tuple[Finding, ...]:
        """The findings that depend on where things were put."""
        return tuple(
            f for f in self.findings if f.rule not in WHEREVER and self.movers & set(f.about)
        )

    @property
    def clashes(self) -> tuple[Finding, ...]:
        """Those of them that are clashes."""
        return tuple(f for f in self.placed if f.grade is Grade.CLASH)

    @property
    def good(self) -> bool:
        """Whether everything that was placed is there and clashes with nothing."""
        return not self.clashes and not (self.movers & set(self.scene.open))

    @property
    def tightest(self) -> Finding | None:
        """The finding with the smallest room."""
        return min(self.roomy, key=lambda f: f.margin, default=None)


def judged(build: Build, movers: Iterable[str]) -> Verdict:
    """Put a build together and let the check have its say."""
    scene = assemble(build)
    return Verdict(
        build=build,
        scene=scene,
        findings=tuple(inspected(Inspection(scene))),
        movers=frozenset(movers),
    )
