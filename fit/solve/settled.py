"""A build with a place for everything: the one door to whatever finds places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fit.findings import Finding
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build

_SAFETY = 120.0
"""The layout solver is stopped after so many seconds at the latest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A build with a place for what it leaves open.

    Attributes:
        scene: the build worked out; what no place was found for is still open.
        found: the parts that were placed.
        nowhere: a finding for each part no place was found for.
    """

    scene: Scene
    found: tuple[str, ...] = ()
    nowhere: tuple[Finding, ...] = ()


def settled(
    build: Build, tell: Callable[[str], None] | None = None, *, layouts: bool = True
) -> Settled:
    """Place what a build leaves open: in plain rows, which is quick, else by the layout solver.

    Args:
        build: the build.
        tell: called before what takes a while.
        layouts: whether the layout solver is asked where rows leave something open.

    Raises:
        UnusableInput: when it asks for what its box or parts cannot do.
    """
    scene = assemble(build)
    if not scene.open:
        return Settled(scene=scene)
    # Only now: looking for places loads what a check alone never needs.
    from fit.solve.first import place_open

    if tell is not None:
        tell("looking for places")
    placing = place_open(build)
    scene = assemble(placing.build)
    if scene.open and layouts:
        laid = _laid_out(build, tell)
        if laid is not None:
            return laid
    return Settled(scene=scene, found=placing.names, nowhere=placing.findings)


def _laid_out(build: Build, tell: Callable[[str], None] | None) -> Settled | None:
    """What the layout solver finds at its first look; None when that is nothing.

    Bounded by the solver's own deterministic effort: the same answer on a slow machine.
    """
    from fit.solve.layout import lay_out
    from fit.solve.run import Effort, Watch

    watch = Watch(effort=Effort(seconds=_SAFETY, work=1.0))
    laid = lay_out(build, watch, tell or _silent, prove=False)
    if laid.layout is None:
        return None
    return Settled(scene=laid.layout.verdict.scene, found=tuple(f.name for f in laid.free))


def _silent(_: str) -> None:
    """Tell nobody."""
