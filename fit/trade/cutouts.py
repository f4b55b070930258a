"""Holes and openings that panel parts ask for. Lengths in mm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Final

from fit.trade.tables import Sure, UnknownName, number, number_or_none, pick, rows
from fit.units import INCH

_SAME: Final = 0.05
"""Two printed front sizes nearer than this are the same, mm."""


class ButtonSize(StrEnum):
    """Push buttons and pilot lights by the name of their mounting hole."""

    D12 = "D12"
    D16 = "D16"
    D22 = "D22"
    D30 = "D30"


class RectKind(StrEnum):
    """What a rectangle in the table is."""

    CUT_OUT = "cut-out"
    """An opening to cut as it stands."""
    PART_SIZE = "part-size"
    """The part itself; clearance is still to be added."""
    KEEP_OUT = "keep-out"
    """Room a plug or its moulding takes outside the wall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutout:
    """A rectangular cut-out; each edge may be larger by its plus, never smaller."""

    w: float
    h: float
    w_plus: float
    h_plus: float

    @property
    def tol(self) -> float:
        """The plus both edges can bear: the smaller of the two."""
        return min(self.w_plus, self.h_plus)


@dataclass(frozen=True, slots=True, kw_only=True)
class ButtonHole:
    """A round hole with an anti-turn notch; each size may be larger by its plus, never smaller.

    Attributes:
        diameter: of the hole.
        plus: its plus tolerance.
        notch: width of the notch.
        notch_plus: its plus tolerance.
        reach: from the hole's far edge to the floor of the notch.
        reach_plus: its plus tolerance.
        sure: how the figures were come by.
    """

    diameter: float
    plus: float
    notch: float
    notch_plus: float
    reach: float
    reach_plus: float
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundHole:
    """A round panel hole: diameter, plus tolerance, flat to opposite edge of a D hole."""

    part: str
    diameter: float
    plus: float
    flat: float | None
    note: str
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class RectSize:
    """A rectangular opening or part face, with its screw holes where it has any.

    Attributes:
        part: its name in the table.
        kind: whether to cut it, clear it or keep it free.
        w: width.
        h: height.
        corner: corner radius, or None.
        hole: diameter of the two screw holes, or None.
        pitch: distance of the two screw holes, or None.
        note: what it rests on, and what to mind.
        sure: how the figures were come by.
    """

    part: str
    kind: RectKind
    w: float
    h: float
    corner: float | None
    hole: float | None
    pitch: float | None
    note: str
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class Gland:
    """A cable gland.

    Attributes:
        thread: its name.
        major: thread diameter.
        pitch: thread pitch.
        hole: through hole for a gland with a lock nut.
        nut: usual flats of the lock nut, or None where not known.
        surely: cable diameters every maker's gland takes, or None where not known.
        cable: cable diameters some maker's gland takes, or None where not known.
        sure: how the hole was come by.
    """

    thread: str
    major: float
    pitch: float
    hole: float
    nut: float | None
    surely: tuple[float, float] | None
    cable: tuple[float, float] | None
    sure: Sure

    @property
    def tapped_hole(self) -> float:
        """Hole to tap the thread into: major less pitch."""
        return self.major - self.pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Display:
    """A display: board, raised bezel, view, mounting holes (width and height each)."""

    name: str
    board: tuple[float, float] | None
    bezel: tuple[float, float]
    view: tuple[float, float]
    hole: float | None
    pitch: tuple[float, float] | None
    note: str
    sure: Sure


@cache
def meter_cutouts() -> Mapping[tuple[float, float], Cutout]:
    """Cut-outs of panel meters by front width and height, as listed (IEC 61554)."""
    return MappingProxyType(
        {
            (number(row, "front_w_mm"), number(row, "front_h_mm")): Cutout(
                w=number(row, "w_mm"),
                h=number(row, "h_mm"),
                w_plus=number(row, "w_plus_mm"),
                h_plus=number(row, "h_plus_mm"),
            )
            for row in rows("meter_cutouts")
        }
    )


def meter_cutout(front_w: float, front_h: float) -> Cutout:
    """The cut-out of a panel meter with this front; listed fronts may be turned (IEC 61554).

    Raises:
        UnknownName: when it is no listed front either way round.
    """
    for (w, h), cut in meter_cutouts().items():
        if abs(w - front_w) < _SAME and abs(h - front_h) < _SAME:
            return cut
    for (w, h), cut in meter_cutouts().items():
        if abs(w - front_h) < _SAME and abs(h - front_w) < _SAME:
            return Cutout(w=cut.h, h=cut.w, w_plus=cut.h_plus, h_plus=cut.w_plus)
    near = sorted(
        meter_cutouts(), key=lambda front: abs(front[0] - front_w) + abs(front[1] - front_h)
    )
    known = [f"{w:g} x {h:g}" for w, h in near[:3]]
    raise UnknownName("panel meter front", f"{front_w:g} x {front_h:g}", known)


def button_hole(size: ButtonSize) -> ButtonHole:
    """Mounting hole of a push button or pilot light (IEC 60947-5-1, from memory)."""
    row = pick("button size", size.value, {each["size"]: each for each in rows("button_holes")})
    return ButtonHole(
        diameter=number(row, "hole_mm"),
        plus=number(row, "plus_mm"),
        notch=number(row, "notch_mm"),
        notch_plus=number(row, "notch_plus_mm"),
        reach=number(row, "reach_mm"),
        reach_plus=number(row, "reach_plus_mm"),
        sure=Sure(row["sure"]),
    )


@cache
def round_holes() -> Mapping[str, RoundHole]:
    """Round panel holes by part (table round_holes, common practice)."""
    return MappingProxyType(
        {
            row["part"]: RoundHole(
                part=row["part"],
                diameter=number(row, "hole_mm"),
                plus=number(row, "plus_mm"),
                flat=number_or_none(row, "flat_mm"),
                note=row["note"],
                sure=Sure(row["sure"]),
            )
            for row in rows("round_holes")
        }
    )


def round_hole(part: str) -> RoundHole:
    """The customary round hole of a panel part; the part's own sheet rules.

    Raises:
        UnknownName: when the table has no such part.
    """
    return pick("panel part", part, round_holes())


@cache
def rect_cutouts() -> Mapping[str, RectSize]:
    """Rectangular openings and part faces by name (table rect_cutouts)."""
    return MappingProxyType(
        {
            row["part"]: RectSize(
                part=row["part"],
                kind=RectKind(row["kind"]),
                w=number(row, "w_mm"),
                h=number(row, "h_mm"),
                corner=number_or_none(row, "corner_mm"),
                hole=number_or_none(row, "hole_mm"),
                pitch=number_or_none(row, "pitch_mm"),
                note=row["note"],
                sure=Sure(row["sure"]),
            )
            for row in rows("rect_cutouts")
        }
    )


def rect_cutout(part: str) -> RectSize:
    """A rectangular opening or part face by name; see its ``kind`` before cutting.

    Raises:
        UnknownName: when the table has no such part.
    """
    return pick("rectangular part", part, rect_cutouts())


@cache
def glands() -> Mapping[str, Gland]:
    """Cable glands by thread: metric (EN 60423, EN 62444) and PG (DIN 40430)."""
    metric = {row["thread"]: _metric_gland(row) for row in rows("glands_metric")}
    steel = {row["thread"]: _pg_gland(row) for row in rows("glands_pg")}
    return MappingProxyType(metric | steel)


def gland(thread: str) -> Gland:
    """A cable gland: ``M12`` (or ``M12x1.5``) to ``M32``, ``PG7`` to ``PG48``.

    Raises:
        UnknownName: when the tables have no such gland.
    """
    return pick("cable gland", thread, glands())


@cache
def displays() -> Mapping[str, Display]:
    """Displays by name (table displays, common practice)."""
    return MappingProxyType({row["name"]: _display(row) for row in rows("displays")})


def display(name: str) -> Display:
    """A display by name, such as ``character-16x2``.

    Raises:
        UnknownName: when the table has no such display.
    """
    return pick("display", name, displays())


def _metric_gland(row: Mapping[str, str]) -> Gland:
    return Gland(
        thread=row["thread"],
        major=number(row, "major_mm"),
        pitch=number(row, "pitch_mm"),
        hole=number(row, "hole_mm"),
        nut=number_or_none(row, "nut_mm"),
        surely=_pair(row, "surely_from_mm", "surely_to_mm"),
        cable=_pair(row, "cable_from_mm", "cable_to_mm"),
        sure=Sure(row["sure"]),
    )


def _pg_gland(row: Mapping[str, str]) -> Gland:
    cable = _pair(row, "cable_from_mm", "cable_to_mm")
    return Gland(
        thread=row["thread"],
        major=number(row, "major_mm"),
        pitch=INCH / number(row, "threads_per_inch"),
        hole=number(row, "hole_mm"),
        nut=number_or_none(row, "nut_mm"),
        surely=cable,
        cable=cable,
        sure=Sure(row["sure"]),
    )


def _display(row: Mapping[str, str]) -> Display:
    return Display(
        name=row["name"],
        board=_pair(row, "board_w_mm", "board_h_mm"),
        bezel=(number(row, "bezel_w_mm"), number(row, "bezel_h_mm")),
        view=(number(row, "view_w_mm"), number(row, "view_h_mm")),
        hole=number_or_none(row, "hole_mm"),
        pitch=_pair(row, "pitch_w_mm", "pitch_h_mm"),
        note=row["note"],
        sure=Sure(row["sure"]),
    )


def _pair(row: Mapping[str, str], first: str, second: str) -> tuple[float, float] | None:
    low, high = number_or_none(row, first), number_or_none(row, second)
    return None if low is None or high is None else (low, high)
