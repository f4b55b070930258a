"""What the sheets say of an opening: its size, its purpose, its passes in plain words."""

from __future__ import annotations

from fit.draw.cuts import chain_bit, chain_points
from fit.draw.ghosts import Ghost
from fit.geometry.scene import Cut, Opening, Role, Scene
from fit.model.part import TapedPart
from fit.trade.drills import Step, Tool
from fit.units import show


def size_words(opening: Opening) -> str:
    """What size an opening is, as on a workshop drawing."""
    size = f"{show(opening.width)} × {show(opening.height)}"
    if opening.plus > 0:
        size += f" (+{show(opening.plus)})"
    if opening.cut is Cut.ROUND:
        return f"Ø{show(opening.diameter)}"
    if opening.cut is Cut.D_FLAT:
        return f"Ø{show(opening.diameter)}, {show(opening.height)} over the flat"
    if opening.cut is Cut.RIM_SLOT:
        return f"slot {size}"
    return f"window {size}" if opening.role is Role.WINDOW else f"cut-out {size}"


def short_steps(opening: Opening) -> str:
    """The passes beside a hole: ``3 › 8 › 12``; for other outlines the bit of the chain."""
    if opening.cut in (Cut.ROUND, Cut.D_FLAT):
        return " › ".join(_short(step) for step in opening.steps)
    points = len(chain_points(opening))
    return f"{points} holes {show(chain_bit(opening))}, saw, file" if points else "saw, file"


def _short(step: Step) -> str:
    return "file" if step.tool is Tool.FILE else show(step.size)


def step_words(opening: Opening) -> str:
    """The passes in words, for the list: ``drill 3, step bit 12``."""
    if opening.cut in (Cut.ROUND, Cut.D_FLAT):
        words = {Tool.DRILL: "drill", Tool.STEP_BIT: "step bit", Tool.FILE: "file to"}
        said = [f"{words.get(s.tool, 'saw to')} {show(s.size)}" for s in opening.steps]
        if opening.cut is Cut.D_FLAT:
            said.append("file the flat last")
        return ", ".join(said) or "no bit in the drawer begins this hole"
    points = len(chain_points(opening))
    if not points:
        return "too narrow for a bit: saw and file"
    holes = f"{points} holes {show(chain_bit(opening))} on the inner line"
    return (
        f"saw down from the rim, {holes}, file"
        if opening.cut is Cut.RIM_SLOT
        else (f"{holes}, cut through, file")
    )


def purpose_words(opening: Opening) -> str:
    """Name of the part and, where it has several holes, what this one is for."""
    extra = {Role.SCREW: "screw", Role.TAB: "tab", Role.WIRE: "wires"}.get(opening.role, "")
    extra = extra or opening.name
    return f"{opening.part}, {extra}" if extra else opening.part


def outside_lines(scene: Scene, ghost: Ghost) -> tuple[str, ...]:
    """What a face says at something that stands outside it."""
    if _taped(scene, ghost):
        return (f"{ghost.owner}: tape it on here", ghost.words)
    return (f"{ghost.name} {ghost.words}",)


def outside_notes(scene: Scene, ghosts: tuple[Ghost, ...]) -> tuple[str, ...]:
    """The same for the list, equal things together: what stands out, how large, how far."""
    owners: dict[str, list[str]] = {}
    for ghost in ghosts:
        what = "taped on" if _taped(scene, ghost) else ghost.name
        said = f"{what} {ghost.words}, stands out {show(ghost.high, 1)}"
        names = owners.setdefault(said, [])
        if ghost.owner not in names:
            names.append(ghost.owner)
    return tuple(f"{', '.join(names)}: {said}." for said, names in owners.items())


def _taped(scene: Scene, ghost: Ghost) -> bool:
    return isinstance(scene.placed[ghost.owner].used.part, TapedPart)
