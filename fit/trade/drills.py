"""Drill bits: the published series, the nearest bit, and the passes that open a round hole."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import Sure, number, pick, rows
from fit.units import INCH

LEAST_PLAY: Final = 0.09
"""Least difference of hole and bushing, mm: a tenth, less the hundredth by which basic thread
sizes such as 15/32 in (11.906) miss their tenth. Common practice, no source."""

HOLE_STEP: Final = 0.5
"""Step of the ordinary 19- and 25-piece bit sets, mm."""

OVERSIZE: Final = 0.2
"""How much larger than planned a hole may be drilled, mm; the plus tolerance of most panel holes
(see the tables ``button_holes`` and ``round_holes``)."""

PILOT_LEAST: Final = 2.0
PILOT_MOST: Final = 3.0
"""Pilots are 2 to 3 mm (builders' pages on drilling plastic boxes)."""

OPEN_AT_MOST: Final = 5.0
"""Most a twist bit opens a hole in one pass, mm of diameter, as in 3, 8, 12. Common practice, no
source."""

STEP_BIT_FROM: Final = 6.0
"""Above this diameter, mm, a step bit is taken before a twist bit that does as well: twist bits
snatch in thin plastic and leave three-cornered holes (drilling pages of two model makers)."""

FILE_AT_MOST: Final = 4.0
"""Most that is filed, mm of diameter; more is sawn first. Common practice, no source."""

FILE_ALLOWANCE: Final = 0.5
"""What a saw leaves for the file on each edge, mm. Common practice, no source."""

_SAME: Final = 1e-6
# A pilot nearer to the size than this leaves the next bit too little to cut.
_PILOT_SHARE: Final = 0.8


class Tool(StrEnum):
    """What makes a pass."""

    DRILL = "drill"
    STEP_BIT = "step_bit"
    FILE = "file"
    SAW = "saw"


class BoxedSet(StrEnum):
    """Common boxed sets of metric bits."""

    PIECES_19 = "pieces_19"
    """1 to 10 by 0.5 mm."""
    PIECES_25 = "pieces_25"
    """1 to 13 by 0.5 mm."""
    PIECES_50 = "pieces_50"
    """1 to 5.9 by 0.1 mm."""
    PIECES_41 = "pieces_41"
    """6 to 10 by 0.1 mm."""


@dataclass(frozen=True, slots=True)
class Step:
    """One pass at a round hole: the tool, and the diameter it leaves, mm."""

    tool: Tool
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StepBit:
    """A step bit: the diameters of its steps and the height of one step, mm."""

    sizes: tuple[float, ...]
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PanelThread:
    """A thread of panel bushings: basic major, pitch and customary hole, mm."""

    thread: str
    major: float
    pitch: float
    hole: float
    typical: str
    sure: Sure


@cache
def metric_jobber() -> tuple[float, ...]:
    """Stocked metric jobber drills in mm, 0.20 to 25.0, rising (BS 328, table metric_drills)."""
    return tuple(number(row, "diameter_mm") for row in rows("metric_drills"))


def jobber_length(d: float) -> float:
    """Overall length of a jobber twist drill, mm (DIN 338, table jobber_lengths, from memory).

    Above the table's thickest the length of that one, which is too short rather than too long.
    """
    table = rows("jobber_lengths")
    row = next((row for row in table if d <= number(row, "up_to_mm") + _SAME), table[-1])
    return number(row, "overall_mm")


@cache
def boxed_set(pieces: BoxedSet) -> tuple[float, ...]:
    """The bits of a common boxed set, mm, rising (table metric_drills; sets from memory)."""
    return tuple(number(row, "diameter_mm") for row in rows("metric_drills") if row[pieces.value])


@cache
def number_drills() -> Mapping[str, float]:
    """Number drills ``#1`` to ``#80``, mm (ANSI B94.11M)."""
    return _inch_table("number_drills")


@cache
def letter_drills() -> Mapping[str, float]:
    """Letter drills ``A`` to ``Z``, mm (ANSI B94.11M)."""
    return _inch_table("letter_drills")


@cache
def fractional_drills() -> Mapping[str, float]:
    """Fractional drills ``1/64`` to ``1`` inch by 1/64, mm (ANSI B94.11M; exact arithmetic)."""
    sizes = (Fraction(n, 64) for n in range(1, 65))
    return MappingProxyType({str(size): float(size) * INCH for size in sizes})


def drill_named(name: str) -> float:
    """Diameter, mm, of an inch drill by name: ``#7``, ``F`` or ``1/4``.

    Raises:
        UnknownName: when no series has it.
    """
    return pick("drill", name, {**number_drills(), **letter_drills(), **fractional_drills()})


def nearest_bit_at_least(d: float, bits: Iterable[float]) -> float | None:
    """The smallest bit that is not below ``d``, mm; None when all are."""
    return min((bit for bit in bits if bit >= d - _SAME), default=None)


def hole_for_bushing(largest_diameter_mm: float) -> float:
    """The hole to plan for a bushing whose thread measures at most this, mm.

    The next half millimetre that leaves `LEAST_PLAY`: 11.6 to 11.7 measured gives 12.0. Common
    practice, no source. A named thread has a closer hole, see `panel_thread`.

    Raises:
        ValueError: when the diameter is not a positive finite number.
    """
    _check_positive("a bushing's diameter", largest_diameter_mm)
    return math.ceil((largest_diameter_mm + LEAST_PLAY - _SAME) / HOLE_STEP) * HOLE_STEP


@cache
def panel_threads() -> Mapping[str, PanelThread]:
    """Threads of panel bushings by name (table panel_threads)."""
    return MappingProxyType(
        {
            row["thread"]: PanelThread(
                thread=row["thread"],
                major=number(row, "major_mm"),
                pitch=number(row, "pitch_mm"),
                hole=number(row, "hole_mm"),
                typical=row["typical"],
                sure=Sure(row["sure"]),
            )
            for row in rows("panel_threads")
        }
    )


def panel_thread(name: str) -> PanelThread:
    """A bushing thread by name, such as ``15/32-32 UNS``, ``15/32-32`` or ``M7``.

    Raises:
        UnknownName: when the table has no such thread, or several answer to the name.
    """
    return pick("bushing thread", name, panel_threads())


def hole_steps(
    final: float,
    bits: Iterable[float],
    step_bits: Sequence[StepBit],
    wall: float,
    *,
    oversize: float = OVERSIZE,
) -> tuple[Step, ...]:
    """The passes that open a round hole: pilot, stages, final size.

    A bit, or a step of a step bit whose steps are higher than the wall is thick, ends the hole
    when it is at most ``oversize`` above the size; the closest one is taken. Otherwise the
    largest one below is used, and the rest filed, or sawn and filed when it is much.

    Args:
        final: diameter wanted, mm.
        bits: twist bits in the drawer, mm.
        step_bits: step bits in the drawer.
        wall: thickness of the wall, mm.
        oversize: how much larger the hole may come out, mm.

    Returns:
        The passes in working order; empty when nothing in the drawer can begin the hole without
        making it too large.

    Raises:
        ValueError: when a size is not a positive finite number.
    """
    _check_positive("a hole's diameter", final)
    _check_positive("a wall's thickness", wall)
    twist = sorted({float(bit) for bit in bits if bit > 0})
    cone = sorted({float(s) for bit in step_bits if bit.height > wall for s in bit.sizes if s > 0})
    enough = [
        Step(tool, size)
        for tool, sizes in ((Tool.DRILL, twist), (Tool.STEP_BIT, cone))
        for size in sizes
        if final - _SAME <= size <= final + oversize + _SAME
    ]
    liked = Tool.STEP_BIT if final > STEP_BIT_FROM + _SAME else Tool.DRILL
    if enough:
        return _opened(min(enough, key=lambda step: (step.size, step.tool is not liked)), twist)
    below = [Step(Tool.DRILL, size) for size in twist if size < final]
    below += [Step(Tool.STEP_BIT, size) for size in cone if size < final]
    if not below:
        return ()
    largest = max(below, key=lambda step: (step.size, step.tool is liked))
    return (*_opened(largest, twist), *_finished_by_hand(final, largest.size))


def _opened(last: Step, twist: Sequence[float]) -> tuple[Step, ...]:
    """The passes up to and with ``last``: a pilot, and for twist bits the stages between."""
    pilot = _pilot(last.size, twist)
    passes = [] if pilot is None else [Step(Tool.DRILL, pilot)]
    if last.tool is Tool.DRILL and pilot is not None:
        passes += [Step(Tool.DRILL, size) for size in _stages(pilot, last.size, twist)]
    return (*passes, last)


def _pilot(size: float, twist: Sequence[float]) -> float | None:
    """The pilot before a hole of this size; None when the hole is itself that small."""
    if size <= PILOT_MOST + _SAME:
        return None
    smaller = [bit for bit in twist if bit <= _PILOT_SHARE * size + _SAME]
    usual = [bit for bit in smaller if PILOT_LEAST - _SAME <= bit <= PILOT_MOST + _SAME]
    if usual:
        return usual[-1]
    # No bit of 2 to 3 mm: the one nearest to that in proportion.
    middle = math.sqrt(PILOT_LEAST * PILOT_MOST)
    return min(smaller, key=lambda bit: abs(math.log(bit / middle)), default=None)


def _stages(start: float, end: float, twist: Sequence[float]) -> list[float]:
    """Twist bits between two sizes so that no pass opens more than `OPEN_AT_MOST`, if they can."""
    stages: list[float] = []
    now = start
    while end - now > OPEN_AT_MOST + _SAME:
        between = [bit for bit in twist if now + _SAME < bit < end - _SAME]
        if not between:
            break
        reach = [bit for bit in between if bit <= now + OPEN_AT_MOST + _SAME]
        now = reach[-1] if reach else between[0]
        stages.append(now)
    return stages


def _finished_by_hand(final: float, drilled: float) -> tuple[Step, ...]:
    filed = Step(Tool.FILE, final)
    if final - drilled <= FILE_AT_MOST + _SAME:
        return (filed,)
    return (Step(Tool.SAW, final - 2 * FILE_ALLOWANCE), filed)


def _inch_table(name: str) -> Mapping[str, float]:
    return MappingProxyType(
        {row["drill"]: number(row, "diameter_inch") * INCH for row in rows(name)}
    )


def _check_positive(what: str, mm: float) -> None:
    if not (math.isfinite(mm) and mm > 0):
        raise ValueError(f"{what} must be above 0, not {mm}")
