"""What the sheets say of an opening: its size, its purpose, its passes in plain words."""

from __future__ import annotations

from typing import Final

from fit.draw.asked import Ends
from fit.draw.cuts import Numbered
from fit.draw.ghosts import Ghost
from fit.draw.waste import NO_SHOP, Shop, waste_of
from fit.geometry.grille import open_area
from fit.geometry.scene import Cut, Opening, Role, Scene
from fit.model.part import Grille, TapedPart
from fit.model.words import HolePattern, PlateHold
from fit.trade.drills import Step, Tool
from fit.units import show

_PURPOSES: Final = {
    Role.SCREW: "screw",
    Role.TAB: "tab",
    Role.WIRE: "wires",
    Role.VENT: "holes",
}
_FILED: Final = {Cut.D_FLAT: "flat", Cut.DOUBLE_D: "flats", Cut.KEYED: "key"}


def size_words(opening: Opening) -> str:
    """What size an opening is, as on a workshop drawing."""
    size = f"{show(opening.width)} × {show(opening.height)}"
    if opening.plus > 0:
        size += f" (+{show(opening.plus)})"
    if opening.drilled:
        return f"Ø{show(opening.diameter)}{_round_words(opening)}"
    if opening.cut in (Cut.RIM_SLOT, Cut.OBLONG):
        return f"slot {size}{', round ends' if opening.cut is Cut.OBLONG else ''}"
    return f"window {size}" if opening.role is Role.WINDOW else f"cut-out {size}"


def _round_words(opening: Opening) -> str:
    if opening.sink > 0:
        return f", countersunk Ø{show(opening.sink)}"
    if opening.cut is Cut.D_FLAT:
        return f", {show(opening.height)} over the flat"
    if opening.cut is Cut.DOUBLE_D:
        return f", {show(opening.height)} between flats"
    if opening.cut is Cut.KEYED:
        return f", key {show(opening.width)} × {show(opening.height)}"
    return ""


def count_words(group: Numbered) -> str:
    """The size of an opening; of the holes of a grille how many there are, too: ``24 × Ø3``."""
    size = size_words(group.opening)
    return f"{len(group.openings)} × {size}" if group.pattern else size


def grille_notes(scene: Scene, group: Numbered) -> tuple[str, ...]:
    """How the holes of a grille lie, and how much they leave open; nothing for other openings."""
    placed = scene.placed.get(group.opening.part)
    if not group.pattern or placed is None or not isinstance(placed.used.part, Grille):
        return ()
    part = placed.used.part
    if part.size is None:
        inner = f" and outside one of {show(part.inner)}" if part.inner > 0 else ""
        room = f"in rings within a circle of {show(part.outer)}{inner}"
    else:
        way = "side by side" if part.pattern is HolePattern.SLOTS else "in rows and columns"
        room = f"{way} within {show(part.size[0])} × {show(part.size[1])}"
    return (
        f"{group.number} {group.opening.part}: {len(group.openings)} alike, {show(part.pitch)} "
        f"from middle to middle, {room}; {open_area(group.openings):.0f} mm² open.",
    )


def short_steps(opening: Opening, shop: Shop = NO_SHOP) -> str:
    """The passes beside a hole: ``3 › 8 › 12``; for other outlines the bit of the chain."""
    if opening.drilled:
        sink = (f"sink {show(opening.sink)}",) if opening.sink > 0 else ()
        return " › ".join((*(_short(step) for step in opening.steps), *sink))
    waste = waste_of(opening, shop)
    if opening.cut is Cut.OBLONG and waste:
        return f"{len(waste.holes)} holes {show(waste.bit)}, file"
    return f"{len(waste.holes)} holes {show(waste.bit)}, saw, file" if waste else "saw, file"


def _short(step: Step) -> str:
    return "file" if step.tool is Tool.FILE else show(step.size)


def step_words(opening: Opening, shop: Shop = NO_SHOP) -> str:
    """The passes in words, for the list: ``drill 3, step bit 12``."""
    if opening.drilled:
        words = {Tool.DRILL: "drill", Tool.STEP_BIT: "step bit", Tool.FILE: "file to"}
        said = [f"{words.get(s.tool, 'saw to')} {show(s.size)}" for s in opening.steps]
        if opening.cut is not Cut.ROUND:
            said.append(f"file the {_FILED[opening.cut]} last")
        if opening.sink > 0:
            said.append(
                f"countersink 90° outside to {show(opening.sink)}, {show(opening.sunk)} deep"
            )
        if opening.opens:
            told = ", ".join(said) or "it is wide enough"
            return f"opens hole {', '.join(opening.opens)} up: {told}; no twist bit"
        return ", ".join(said) or "no bit in the drawer begins this hole"
    waste = waste_of(opening, shop)
    if waste is None:
        return "too narrow for a bit: saw and file"
    count = f"{len(waste.holes)} holes {show(waste.bit)}"
    if opening.cut is Cut.OBLONG:
        return f"{count}, the ends first; saw and file between them"
    if waste.way is Ends.BIG_HOLES:
        return f"{count}, saw along the inner line, file"
    if opening.cut is Cut.RIM_SLOT:
        return f"saw down from the rim, {count} on the inner line, file"
    return f"{count} on the inner line, cut through, file"


def window_notes(scene: Scene, opening: Opening, number: int, shop: Shop) -> tuple[str, ...]:
    """How a rectangular opening is cut, and how its plate goes in; nothing for other shapes."""
    waste = waste_of(opening, shop)
    if opening.cut is not Cut.RECTANGLE or waste is None:
        return ()
    said = []
    if waste.relief:
        said.append(f"corner holes {show(waste.relief_bit)} first")
    if waste.way is Ends.CHAIN:
        said.append(f"then a hole {show(waste.bit)} each {show(waste.pitch, 1)} at most")
    if waste.entry is not None:
        said.append(f"saw in at the hole {show(waste.entry_size)}")
    said.append(f"{waste.left:.0f} mm² left to file")
    words = "; ".join(said)
    cutting = f"{number} {opening.part}: {words[:1].upper()}{words[1:]}."
    return (cutting, *_plate_notes(scene, opening, number))


def _plate_notes(scene: Scene, opening: Opening, number: int) -> tuple[str, ...]:
    plate = next((p for p in scene.plates if p.part == opening.part), None)
    window = scene.placed[opening.part].used.window if opening.part in scene.placed else None
    if plate is None or window is None or opening.role is not Role.WINDOW:
        return ()
    if window.held is PlateHold.BEHIND:
        ledge = (plate.width - opening.width) / 2
        say = f"its plate goes on from INSIDE and reaches {show(ledge)} past the opening all round"
    else:
        over = plate.width - opening.width
        say = (
            f"its plate is pushed in from OUTSIDE until level; it is {show(over)} larger than the "
            "opening: file it to fit"
        )
    return (f"{number} {opening.part}: {say[:1].upper()}{say[1:]}.",)


def purpose_words(opening: Opening) -> str:
    """Name of the part and, where it has several holes, what this one is for."""
    extra = _PURPOSES.get(opening.role, "")
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
