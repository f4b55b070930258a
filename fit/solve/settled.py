"""A build with a place for everything: the one door to whatever finds places."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fit.findings import Finding
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build
from fit.model.part import Board

if TYPE_CHECKING:
    from fit.solve.board_size import Taken

_SAFETY = 120.0
"""The layout solver, and the search for sizes, are stopped after so many seconds at the latest."""

_WORKS = (0.3, 1.0)
"""Effort of the layout solver for each step: mostly the first finds what the second would, in as
little as a quarter of the time; a few layouts only the second finds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """A build with a place for what it leaves open.

    Attributes:
        scene: the build worked out; what no place was found for is still open.
        found: the parts that were placed.
        nowhere: a finding for each part no place was found for.
        sizes: what became of the boards whose size was open.
    """

    scene: Scene
    found: tuple[str, ...] = ()
    nowhere: tuple[Finding, ...] = ()
    sizes: tuple[Taken, ...] = ()


def settled(
    build: Build,
    tell: Callable[[str], None] | None = None,
    *,
    layouts: bool = True,
    sizes: bool = True,
) -> Settled:
    """Place what a build leaves open: in plain rows, which is quick, else by the layout solver.

    Where the box has holes already, parts go onto those that serve them, as far as the check says
    nothing worse.

    Args:
        build: the build.
        tell: called before what takes a while.
        layouts: whether the layout solver is asked where rows leave something open.
        sizes: whether boards whose size is open are made as large as goes in, which needs
            `layouts` as well; else they have their least size.

    Raises:
        UnusableInput: when it asks for what its box or parts cannot do.
    """
    found = _places(build, tell, layouts=layouts)
    return _sized(found, tell) if layouts and sizes else found


def _places(build: Build, tell: Callable[[str], None] | None, *, layouts: bool) -> Settled:
    scene = assemble(build)
    if not scene.open:
        return Settled(scene=scene)
    if tell is not None:
        tell("looking for places")
    found = _in_rows(build)
    if scene.there:
        found = _reusing(build, found, _in_rows)
    if found.scene.open and layouts:
        return laid_out(build, tell) or found
    return found


def _sized(found: Settled, tell: Callable[[str], None] | None) -> Settled:
    """The same with the boards whose size is open as large as goes in, once all have a place."""
    build = found.scene.build
    if found.scene.open or not any(
        isinstance(used.part, Board) and used.part.up_to is not None for used in build.parts
    ):
        return found
    from fit.solve.board_size import enlarged
    from fit.solve.run import Effort, Watch

    larger = enlarged(build, Watch(effort=Effort(seconds=_SAFETY)), tell or _silent)
    return replace(found, scene=assemble(larger.build), sizes=larger.taken)


def _in_rows(build: Build) -> Settled:
    # Only now: looking for places loads what a check alone never needs.
    from fit.solve.first import place_open

    placing = place_open(build)
    scene = assemble(placing.build)
    return Settled(scene=scene, found=placing.names, nowhere=placing.findings)


def _reusing(build: Build, found: Settled, places: Callable[[Build], Settled] | None) -> Settled:
    """The same with parts on holes the box has already, where that is no worse."""
    from fit.solve.reuse import on_old_holes

    again = None if places is None else lambda tried: places(tried).scene
    reuse = on_old_holes(build, found.scene, again)
    if not reuse.names:
        return found
    open_still = set(reuse.scene.open)
    names = {*reuse.names, *found.found, *found.scene.open} - open_still
    nowhere = tuple(f for f in found.nowhere if f.about[0] in open_still)
    return Settled(
        scene=reuse.scene,
        found=tuple(used.name for used in build.parts if used.name in names),
        nowhere=nowhere,
    )


def laid_out(build: Build, tell: Callable[[str], None] | None = None) -> Settled | None:
    """What the layout solver finds at its first look; None when that is nothing.

    Bounded by the solver's own deterministic effort: the same answer on a slow machine.

    Args:
        build: the build.
        tell: called before what takes a while.
    """
    from fit.solve.layout import lay_out
    from fit.solve.run import Effort, Status, Watch

    for work in _WORKS:
        watch = Watch(effort=Effort(seconds=_SAFETY, work=work))
        laid = lay_out(build, watch, tell or _silent, prove=False)
        if laid.layout is not None or laid.status is Status.IMPOSSIBLE:
            break
    if laid.layout is None:
        return None
    scene = laid.layout.verdict.scene
    found = Settled(scene=scene, found=tuple(f.name for f in laid.free))
    return _reusing(build, found, None) if scene.there else found


def _silent(_: str) -> None:
    """Tell nobody."""
