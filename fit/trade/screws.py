"""Screws, nuts, washers, threads, spacers, and screws in plastic. Lengths in mm."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from fit.trade.drills import drill_named
from fit.trade.tables import Sure, UnknownName, number, number_or_none, pick, rows


class Fit273(StrEnum):
    """Series of ISO 273 clearance holes. Coarse suits hand work."""

    FINE = "fine"
    MEDIUM = "medium"
    COARSE = "coarse"


class FitInch(StrEnum):
    """Series of ASME B18.2.8 clearance holes. Loose suits hand work."""

    CLOSE = "close"
    NORMAL = "normal"
    LOOSE = "loose"


class HeadForm(StrEnum):
    """Screw heads by the standard that fixes them."""

    PAN_CROSS = "ISO 7045"
    PAN_SLOT = "ISO 1580"
    CAP = "ISO 4762"
    COUNTERSUNK = "ISO 7046"
    """Slotted ones (ISO 2009) have the same head."""
    SOCKET_COUNTERSUNK = "ISO 10642"
    BUTTON = "ISO 7380-1"
    CHEESE = "ISO 1207"


class WasherForm(StrEnum):
    """Plain washers."""

    NORMAL = "normal"
    """ISO 7089."""
    LARGE = "large"
    """ISO 7093-1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A screw head at its greatest.

    Attributes:
        diameter: room to leave for the head.
        height: of the head; of the cone for countersunk ones.
        drive: the driver it takes.
        plain_diameter: of a socket cap without knurling, else None.
        sharp_diameter: where a countersunk cone would end without its rim, else None.
        sure: how the diameter was come by.
    """

    diameter: float
    height: float
    drive: str
    plain_diameter: float | None
    sharp_diameter: float | None
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricThread:
    """A coarse ISO thread: diameter, pitch, tapping drill (ISO 261, ISO 2306)."""

    nominal: float
    pitch: float
    tap_drill: float

    @property
    def minor(self) -> float:
        """Basic minor diameter, d - 1.082532 P (ISO 724)."""
        return self.nominal - 5 / 8 * math.sqrt(3) * self.pitch


@dataclass(frozen=True, slots=True, kw_only=True)
class Nut:
    """A hexagon nut (ISO 4032), and the height of the thin one (ISO 4035)."""

    across_flats: float
    least_corners: float
    height: float
    thin_height: float

    @property
    def across_corners(self) -> float:
        """Circle the nut turns in at its sharpest: flats / cos 30 degrees."""
        return self.across_flats / math.cos(math.pi / 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Washer:
    """A plain washer: hole at least, outside at most, thickness nominal and at most."""

    hole: float
    outside: float
    thickness: float
    thickness_max: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TappingScrew:
    """A tapping screw thread (ISO 1478) and its pan head (ISO 7049), if listed."""

    thread: str
    number: str
    major: tuple[float, float]
    minor: tuple[float, float]
    pitch: float
    head: float | None
    head_height: float | None
    drive: str

    @property
    def nominal(self) -> float:
        """The diameter in its name, ST2.9 is 2.9."""
        return float(self.thread.removeprefix("ST"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Boss:
    """What a post must be for a thread-forming screw: hole, outside, least engagement."""

    hole: float
    outside: float
    engagement: float
    sure: Sure


@dataclass(frozen=True, slots=True, kw_only=True)
class Insert:
    """A heat-set insert of one maker's family: length, outside, hole."""

    length: float
    outside: float
    hole: float
    family: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Standoff:
    """Hexagon standoffs of one thread: flats on offer, length of the stud, stocked lengths."""

    across_flats: tuple[float, ...]
    stud: float
    lengths: tuple[float, ...]


def clearance_hole(thread: str, series: Fit273 = Fit273.MEDIUM) -> float:
    """Clearance hole for a metric screw, M1.6 to M12 (ISO 273).

    Raises:
        UnknownName: when the table has no such thread.
    """
    row = pick("metric screw", thread, _by("clearance_metric", "thread"))
    return number(row, f"{Fit273(series).value}_mm")


def inch_clearance_hole(screw: str, series: FitInch = FitInch.NORMAL) -> float:
    """Clearance hole for an inch screw, ``No.0`` to ``No.10`` and ``1/4`` (ASME B18.2.8).

    Raises:
        UnknownName: when the table has no such screw.
    """
    name = f"No.{screw[1:]}" if screw.startswith("#") else screw
    row = pick("inch screw", name, _by("clearance_inch", "screw"))
    return drill_named(row[f"{FitInch(series).value}_drill"])


def head(thread: str, form: HeadForm) -> Head:
    """A head by thread and standard, M1.6 to M6.

    Raises:
        UnknownName: when that standard's table has no such thread.
    """
    found = {row["thread"]: row for row in rows("screw_heads") if row["standard"] == form.value}
    row = pick(f"{form.value} screw", thread, found)
    return Head(
        diameter=number(row, "diameter_mm"),
        height=number(row, "height_mm"),
        drive=row["drive"],
        plain_diameter=number_or_none(row, "plain_mm"),
        sharp_diameter=number_or_none(row, "sharp_mm"),
        sure=Sure(row["sure"]),
    )


def metric_thread(thread: str) -> MetricThread:
    """A coarse ISO thread, M1.6 to M12.

    Raises:
        UnknownName: when the table has no such thread.
    """
    row = pick("metric thread", thread, _by("metric_threads", "thread"))
    return MetricThread(
        nominal=number(row, "nominal_mm"),
        pitch=number(row, "pitch_mm"),
        tap_drill=number(row, "tap_drill_mm"),
    )


def tap_drill(thread: str) -> float:
    """Tapping drill of a coarse ISO thread (ISO 2306).

    Raises:
        UnknownName: when the table has no such thread.
    """
    return metric_thread(thread).tap_drill


def nut(thread: str) -> Nut:
    """A hexagon nut, M1.6 to M8 (ISO 4032, ISO 4035).

    Raises:
        UnknownName: when the table has no such thread.
    """
    row = pick("nut", thread, _by("nuts", "thread"))
    return Nut(
        across_flats=number(row, "across_flats_mm"),
        least_corners=number(row, "least_corners_mm"),
        height=number(row, "height_mm"),
        thin_height=number(row, "thin_height_mm"),
    )


def washer(thread: str, form: WasherForm = WasherForm.NORMAL) -> Washer:
    """A plain washer: normal M1.6 to M8 (ISO 7089), large M3 to M8 (ISO 7093-1).

    Raises:
        UnknownName: when that table has no such thread.
    """
    found = {row["thread"]: row for row in rows("washers") if row["kind"] == form.value}
    row = pick(f"{form.value} washer", thread, found)
    return Washer(
        hole=number(row, "hole_mm"),
        outside=number(row, "outside_mm"),
        thickness=number(row, "thickness_mm"),
        thickness_max=number(row, "thickness_max_mm"),
    )


@cache
def tapping_screws() -> Mapping[str, TappingScrew]:
    """Tapping screws by thread (tables of ISO 1478 and ISO 7049)."""
    return MappingProxyType({row["thread"]: _tapping(row) for row in rows("tapping_screws")})


def tapping_screw(name: str) -> TappingScrew:
    """A tapping screw by thread (``ST2.9``) or old number (``#4``).

    Raises:
        UnknownName: when the table has no such screw.
    """
    known = tapping_screws()
    return pick("tapping screw", name, {**known, **{s.number: s for s in known.values()}})


def boss(material: str, d: float) -> Boss:
    """The post for a thread-forming screw of nominal diameter ``d`` in a plastic.

    Makers' guidance, the low end: others ask for 2.5 d of engagement in a hole 2.7 d deep.

    Raises:
        UnknownName: when the table has no such plastic.
        ValueError: when the diameter is not above 0.
    """
    if not (math.isfinite(d) and d > 0):
        raise ValueError(f"a screw's diameter must be above 0, not {d}")
    row = pick("plastic for screws", material, _by("screw_bosses", "material"))
    return Boss(
        hole=d * number(row, "hole_factor"),
        outside=d * number(row, "outside_factor"),
        engagement=d * number(row, "engagement_factor"),
        sure=Sure(row["sure"]),
    )


def boss_hole_plus(hole: float) -> float:
    """Plus tolerance of a post's hole: 0.08 to 3.0 mm, 0.10 to 4.5, 0.12 above (CELO, read)."""
    if hole <= 3.0:
        return 0.08
    return 0.10 if hole <= 4.5 else 0.12


def inserts(thread: str) -> tuple[Insert, ...]:
    """Heat-set inserts of a thread, one per maker's family; examples, no standard.

    Raises:
        UnknownName: when no family has the thread.
    """
    known = _by("inserts", "thread")
    wanted = pick("heat-set insert", thread, {name: name for name in known})
    return tuple(
        Insert(
            length=number(row, "length_mm"),
            outside=number(row, "outside_mm"),
            hole=number(row, "hole_mm"),
            family=row["family"],
        )
        for row in rows("inserts")
        if row["thread"] == wanted
    )


def standoff(thread: str) -> Standoff:
    """Hexagon standoffs of a thread as stocked, M2.5 to M5; common practice.

    Raises:
        UnknownName: when the table has no such thread.
    """
    row = pick("standoff", thread, _by("standoffs", "thread"))
    return Standoff(
        across_flats=tuple(float(size) for size in row["across_flats_mm"].split()),
        stud=number(row, "stud_mm"),
        lengths=tuple(float(size) for size in row["lengths_mm"].split()),
    )


def standoff_at_least(thread: str, length: float) -> float:
    """The shortest stocked standoff that is not shorter than ``length``.

    Raises:
        UnknownName: when the thread is unknown or nothing that long is stocked.
    """
    lengths = standoff(thread).lengths
    for each in lengths:
        if each >= length - 1e-9:
            return each
    raise UnknownName(f"{thread} standoff length", f"{length:g}", [f"{each:g}" for each in lengths])


def _tapping(row: Mapping[str, str]) -> TappingScrew:
    return TappingScrew(
        thread=row["thread"],
        number=row["number"],
        major=(number(row, "major_min_mm"), number(row, "major_max_mm")),
        minor=(number(row, "minor_min_mm"), number(row, "minor_max_mm")),
        pitch=number(row, "pitch_mm"),
        head=number_or_none(row, "head_mm"),
        head_height=number_or_none(row, "head_height_mm"),
        drive=row["drive"],
    )


@cache
def _by(table: str, column: str) -> Mapping[str, dict[str, str]]:
    """A table's rows by the names in one column; the first row of a name stands."""
    found: dict[str, dict[str, str]] = {}
    for row in rows(table):
        found.setdefault(row[column], row)
    return MappingProxyType(found)
