"""A build with a place for everything: the one door to whatever finds places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fit.findings import Finding
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build


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


def settled(build: Build, tell: Callable[[str], None] | None = None) -> Settled:
    """Place what a build leaves open.

    Args:
        build: the build.
        tell: called before what takes a while.

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
    return Settled(scene=assemble(placing.build), found=placing.names, nowhere=placing.findings)
