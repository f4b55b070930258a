"""Mends on parts and their openings: windows, gaps, washers, holes, slots."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fit.check.cuts import up_to_tenth
from fit.check.mend_change import Change, Cost, Trial
from fit.geometry.panel import bushing_hole
from fit.geometry.scene import Role
from fit.geometry.views import BARE, view_of
from fit.model.part import BushingPart, Display, RimSwitch
from fit.units import Length, show


def window_resized(trial: Trial) -> Iterator[Change]:
    """Another size for a window, and where none does, a smaller angle."""
    for used in trial.parts():
        placed = trial.scene.placed.get(used.name)
        if not isinstance(used.part, Display) or placed is None or placed.face is None:
            continue
        window = used.window or BARE
        wall = trial.scene.faces[placed.face].thickness
        view = view_of(used.part, window, wall, trial.build.hands)
        sizes = [
            tuple(round((a + b) / 2, 1) for a, b in zip(view.least, view.most, strict=True)),
            tuple(up_to_tenth(v) for v in view.least),
            tuple(round(v - 0.05, 1) for v in view.most),
        ]
        for width, height in sizes:
            cut = (Length(width), Length(height))
            build = trial.put(replace(used, window=replace(window, opening=cut)))
            if trial.helps(build):
                yield Change(
                    title=f"cut the window of {used.name} {show(width, 1)} × {show(height, 1)} mm",
                    build=build,
                    cost=Cost.ON_PAPER,
                )
                break
        for angle in (25.0, 20.0, 15.0, 10.0):
            if angle >= window.seen_from:
                continue
            build = trial.put(replace(used, window=replace(window, seen_from=angle, opening=None)))
            if trial.helps(build):
                yield Change(
                    title=f"be content to read {used.name} from {show(angle)}° instead of "
                    f"{show(window.seen_from)}°",
                    build=build,
                    cost=Cost.ON_PAPER + 1.0,
                )
                break


def gap_larger(trial: Trial) -> Iterator[Change]:
    """More or less air between a display and its window."""
    names = {name for u in trial.parts() for name in u.carries}
    names |= {u.name for u in trial.parts()}
    for used in trial.build.parts:
        if used.name not in names or not isinstance(used.part, Display):
            continue
        window = used.window or BARE
        for by in (up_to_tenth(trial.short), up_to_tenth(trial.short + 0.5), -0.5):
            gap = round(window.gap + by, 2)
            if gap <= 0:
                continue
            build = trial.put(replace(used, window=replace(window, gap=Length(gap))))
            if trial.helps(build):
                yield Change(
                    title=f"set {used.name} {show(abs(by), 1)} mm "
                    f"{'further from' if by > 0 else 'nearer to'} its window "
                    f"(gap {show(gap)} mm)",
                    build=build,
                    cost=Cost.ON_PAPER + 0.2,
                )
                break


def washer_out(trial: Trial) -> Iterator[Change]:
    """A panel part without one of its washers."""
    for used in trial.parts():
        if not isinstance(used.part, BushingPart):
            continue
        part = used.part
        for word, worn, without in (
            ("washer", part.washer, replace(part, washer=None)),
            ("inner washer", part.inner_washer, replace(part, inner_washer=None)),
        ):
            if worn is None:
                continue
            build = trial.put(replace(used, part=without))
            if trial.helps(build):
                yield Change(
                    title=f"leave the {word} of {used.name} out",
                    build=build,
                    cost=Cost.ON_PAPER,
                )


def hole_larger(trial: Trial) -> Iterator[Change]:
    """A larger hole for a part that does not go through its own."""
    for used in trial.parts():
        if not isinstance(used.part, BushingPart):
            continue
        size = round(bushing_hole(used.part) + up_to_tenth(trial.short), 2)
        build = trial.put(replace(used, part=replace(used.part, hole=Length(size))))
        if trial.helps(build):
            yield Change(
                title=f"drill the hole of {used.name} {show(size)} mm",
                build=build,
                cost=Cost.ON_PAPER,
            )


def slot_deeper(trial: Trial) -> Iterator[Change]:
    """A wider or deeper slot for a switch at the rim."""
    slots = {o.part for o in trial.scene.openings if o.role is Role.MOUNT}
    for used in trial.parts():
        if not isinstance(used.part, RimSwitch) or used.name not in slots:
            continue
        for axis, word in ((0, "wide"), (1, "deep")):
            pair = list(used.part.slot)
            pair[axis] = Length(round(pair[axis] + up_to_tenth(trial.short), 2))
            part = replace(used.part, slot=(pair[0], pair[1]))
            build = trial.put(replace(used, part=part))
            if trial.helps(build):
                yield Change(
                    title=f"cut the slot of {used.name} {show(pair[axis])} mm {word}",
                    build=build,
                    cost=Cost.ON_PAPER,
                )
