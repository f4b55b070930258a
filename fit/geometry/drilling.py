"""The tools for one opening, from what is in the drawer."""

from __future__ import annotations

from collections.abc import Iterator

from fit.geometry.places import corner_radius_of_nut
from fit.model.build import Drawer
from fit.trade.drills import Step, StepBit, Tool, hole_steps
from fit.trade.screws import Fit273, clearance_hole, standoff

_CHAIN = (2.0, 3.5)
"""Bits for chain drilling, mm: smaller ones break, larger ones leave much to file."""


_THREADS = ("M2", "M2.5", "M3", "M4", "M5")


def _sizes(smallest: float, largest: float, step: float) -> Iterator[float]:
    size = smallest
    while size <= largest + 1e-6:
        yield size
        size += step


def round_steps(drawer: Drawer, diameter: float, wall: float) -> tuple[Step, ...]:
    """The passes for a round hole of that diameter (mm) through that wall (mm)."""
    return hole_steps(diameter, [float(b) for b in drawer.bits], _cones(drawer), wall)


def opening_up_steps(
    drawer: Drawer, there: float, diameter: float, wall: float
) -> tuple[Step, ...]:
    """The passes that open a hole of one diameter up to a larger one, mm: step bit and file.

    No twist bit: in a hole that is there it grabs, and leaves three corners.
    """
    steps = hole_steps(diameter, (), _cones(drawer), wall)
    if not steps or steps[0].size <= there:
        steps = hole_steps(diameter, (there,), (), wall) if there < diameter else ()
    return tuple(step for step in steps if step.tool is not Tool.DRILL)


def _cones(drawer: Drawer) -> list[StepBit]:
    """The step bits of a drawer with each of their sizes."""
    return [
        StepBit(
            sizes=tuple(_sizes(float(s.smallest), float(s.largest), float(s.step))),
            height=float(s.step_height),
        )
        for s in drawer.step_bits
    ]


def chain_bit(drawer: Drawer) -> float | None:
    """The bit to chain-drill with, mm: the largest of 2 to 3.5 in the drawer."""
    return max((float(b) for b in drawer.bits if _CHAIN[0] <= b <= _CHAIN[1]), default=None)


def sawn_steps(drawer: Drawer, width: float) -> tuple[Step, ...]:
    """The passes for a window or slot: chain-drilled or sawn, then filed to `width`, mm."""
    bit = chain_bit(drawer)
    drill = () if bit is None else (Step(tool=Tool.DRILL, size=bit),)
    return (*drill, Step(tool=Tool.SAW, size=width), Step(tool=Tool.FILE, size=width))


def oblong_steps(drawer: Drawer, width: float, wall: float) -> tuple[Step, ...]:
    """The passes for a slot with round ends: those of a hole as wide, then saw and file, mm."""
    round_ends = tuple(s for s in round_steps(drawer, width, wall) if s.tool is not Tool.FILE)
    return (*round_ends, Step(tool=Tool.SAW, size=width), Step(tool=Tool.FILE, size=width))


def thread_for_hole(diameter: float) -> str:
    """The largest of M2 to M5 that passes a hole of that diameter, mm; M2 for smaller holes.

    A hole passes a thread when it is not below the ISO 273 fine hole.
    """
    fits = [t for t in _THREADS if clearance_hole(t, Fit273.FINE) <= diameter + 1e-6]
    return fits[-1] if fits else _THREADS[0]


def standoff_diameter(thread: str) -> float:
    """Diameter of the circle a hexagon standoff of that thread takes, mm.

    The table starts at M2.5; smaller ones are taken as large as that (safe side).
    """
    known = thread if thread in _THREADS[1:] else _THREADS[1]
    return 2 * corner_radius_of_nut(min(standoff(known).across_flats))
