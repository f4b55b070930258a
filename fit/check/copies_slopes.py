"""How every solid of a scene moves and grows when one size of the build changes.

The build is put together again with one size a hair larger. What a person decides by the plan
stays as planned: the openings, the holes in boards, where boards are joined and displays are
soldered in. So a display whose box came out taller does not follow its window.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from fit.check.copies_sizes import Path, Source, added, tree_of
from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.scene import BOX, Body, Opening, Role, Scene
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import Array
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.part import BushingPart, Display
from fit.units import Length

HAIR = 1e-3
"""By how much a size is changed to see what follows it, mm."""

_STEEPEST = 20.0
"""What moves faster than this many times a size's own change has jumped, not moved."""


def pinned(scene: Scene) -> Build:
    """The build with everything a person makes written out as the plan has it."""
    return replace(scene.build, parts=tuple(_pinned(scene, used) for used in scene.build.parts))


def _pinned(scene: Scene, used: Used) -> Used:
    placed = scene.placed.get(used.name)
    opening = next(
        (o for o in scene.openings if o.part == used.name and o.role in (Role.MOUNT, Role.WINDOW)),
        None,
    )
    if placed is not None and used.at is not None and used.at.beside is not None:
        across = Coordinate(how=How.AT, value=Length(placed.across))
        up = Coordinate(how=How.AT, value=Length(placed.up))
        used = replace(used, at=Place(across=across, up=up))
    if opening is None:
        return used
    if isinstance(used.part, BushingPart):
        return replace(used, part=replace(used.part, hole=Length(opening.diameter)))
    if isinstance(used.part, Display) and used.window is not None:
        cut = (Length(opening.width), Length(opening.height))
        return replace(used, window=replace(used.window, opening=cut))
    return used


# --- a scene as a row of numbers


def sizes_of(shape: Shape) -> tuple[float, ...]:
    """The numbers that make a shape, mm."""
    if isinstance(shape, Block):
        return (shape.dx, shape.dy, shape.dz)
    if isinstance(shape, Cylinder):
        return (shape.radius, shape.height)
    if isinstance(shape, Cone):
        return (shape.radius_low, shape.radius_high, shape.height)
    return (shape.height, *(c for point in shape.outline for c in point))


def shaped(like: Shape, sizes: list[float]) -> Shape:
    """A shape of the same kind from its numbers; none gets thinner than nothing."""
    least = [max(v, 1e-6) for v in sizes]
    if isinstance(like, Block):
        return Block(*least)
    if isinstance(like, Cylinder):
        return Cylinder(*least)
    if isinstance(like, Cone):
        return Cone(*least)
    flat = sizes[1:]
    outline = tuple((flat[i], flat[i + 1]) for i in range(0, len(flat), 2))
    return Prism(outline, least[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where the numbers of a scene stand in the row.

    Attributes:
        bodies: first number of each body; three of its place, then those of its shape.
        placed: first number of each part: three of its frame, then across and up.
        openings: first number of each opening: across and up.
        count: how many there are.
    """

    bodies: tuple[int, ...]
    placed: dict[str, int]
    openings: tuple[int, ...]
    count: int


def layout_of(scene: Scene) -> Layout:
    """The layout of a scene's row."""
    at, bodies, openings = 0, [], []
    for body in scene.bodies:
        bodies.append(at)
        at += 3 + len(sizes_of(body.shape))
    placed = {}
    for name in scene.placed:
        placed[name] = at
        at += 5
    for _ in scene.openings:
        openings.append(at)
        at += 2
    return Layout(bodies=tuple(bodies), placed=placed, openings=tuple(openings), count=at)


def row_of(scene: Scene) -> Array:
    """All numbers of a scene."""
    return np.array(list(_numbers(scene.bodies, scene, scene.openings)))


def _numbers(
    bodies: tuple[Body, ...], scene: Scene, openings: tuple[Opening, ...]
) -> Iterator[float]:
    for body in bodies:
        yield from body.pose.origin
        yield from sizes_of(body.shape)
    for placed in scene.placed.values():
        yield from placed.pose.origin
        yield placed.across
        yield placed.up
    for opening in openings:
        yield opening.across
        yield opening.up


# --- slopes


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """A scene's numbers, and how each changes with each size.

    Attributes:
        layout: where they stand.
        row: as planned.
        by: a line for each number, a column for each size.
    """

    layout: Layout
    row: Array
    by: Array


def slopes_of(scene: Scene, build: Build, sizes: tuple[Source, ...]) -> Slopes:
    """Work out how a scene follows its sizes.

    Args:
        scene: as planned.
        build: the same with what is made by plan pinned.
        sizes: the sizes.
    """
    layout, row = layout_of(scene), row_of(scene)
    by = np.zeros((layout.count, len(sizes)))
    for column, source in enumerate(sizes):
        change = _change(scene, build, row, source)
        if change is not None:
            by[:, column] = _as_decided(scene, layout, source, change)
    return Slopes(layout=layout, row=row, by=by)


def _change(scene: Scene, build: Build, row: Array, source: Source) -> Array | None:
    """How the row changes with a size, per mm; None where it jumps both ways."""
    for step in (HAIR, -HAIR):
        paths: dict[Path, float] = {path: sign * step for path, sign in source.paths}
        try:
            other = assemble(added(build, tree_of(paths)))
        except (UnusableInput, ValueError):
            continue
        moved = row_of(other)
        if moved.shape != row.shape or other.placed.keys() != scene.placed.keys():
            continue
        change: Array = (moved - row) / step
        if np.abs(change).max(initial=0.0) <= _STEEPEST:
            return change
    return None


def _as_decided(scene: Scene, layout: Layout, source: Source, change: Array) -> Array:
    """The change without what only a new plan would do."""
    path = source.paths[0][0]
    if path[1] == "posts" and path[-1] in ("x", "y"):
        # What stands on the posts follows them by its holes: that is the work of hands.
        for number, body in enumerate(scene.bodies):
            if body.owner != BOX:
                change[_whole(layout, scene, number)] = 0.0
        for at in (*layout.placed.values(),):
            change[at : at + 5] = 0.0
        for at in layout.openings:
            change[at : at + 2] = 0.0
    for at, opening in zip(layout.openings, scene.openings, strict=True):
        if opening.role is Role.NOSE:
            change[at : at + 2] = 0.0  # it is cut where the plan has it
    for name, used in ((n, p.used) for n, p in scene.placed.items()):
        if used.joined_to is not None and used.joined_to in layout.placed:
            _stay_joined(scene, layout, source, change, name)
    return change


def _stay_joined(scene: Scene, layout: Layout, source: Source, change: Array, name: str) -> None:
    """A standing board keeps its place on its lying one, and its displays theirs on it."""
    used = scene.placed[name].used
    group = {name, *used.carries}
    main, own = layout.placed[used.joined_to or ""], layout.placed[name]
    under = change[main : main + 3].copy()
    moved = change[own : own + 3].copy()
    inner = source.owner in group
    for number, body in enumerate(scene.bodies):
        if body.owner in group and body.name != "filter plate":
            at = layout.bodies[number]
            if inner:
                change[at : at + 3] -= moved
            else:
                change[_whole(layout, scene, number)] = 0.0
                change[at : at + 3] = under
    for member in group & layout.placed.keys():
        at = layout.placed[member]
        change[at : at + 3] = change[at : at + 3] - moved if inner else under


def _whole(layout: Layout, scene: Scene, number: int) -> slice:
    at = layout.bodies[number]
    return slice(at, at + 3 + len(sizes_of(scene.bodies[number].shape)))
