"""A gauge for screws: thickness, pitch, head and length, from the published tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from fit.draw import pens
from fit.draw.drawing import Anchor, Box, Circle, Ink, Line, Operation, Point, Sketch, Text, polygon
from fit.draw.gauges_frame import WIDEST, Gauge, GaugeName, Rail, cut_box, headed, ruled
from fit.trade.screws import HeadForm, head, metric_thread, tapping_screws
from fit.units import show

METRIC: Final = ("M1.6", "M2", "M2.5", "M3", "M3.5", "M4", "M5", "M6")
TAPPING: Final = ("ST2.2", "ST2.9", "ST3.5", "ST4.2", "ST4.8")

_NAME: Final = 0.0
_BAR: Final = 31.0
_BAR_LONG: Final = 20.0
_COMB: Final = 58.0
_COMB_LONG: Final = 24.0
_COMB_HIGH: Final = 4.2
_PAN: Final = 94.0
_SUNK: Final = 114.0
_TABLE: Final = 127.0
_LENGTH_X: Final = 140.0
_FOOT: Final = 4.5


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewRow:
    """One thread of the gauge, mm; heads at their greatest, None where no table has them."""

    name: str
    diameter: float
    pitch: float
    pan: float | None
    sunk: float | None

    @property
    def high(self) -> float:
        """Height of its row, mm."""
        return max(self.diameter, _COMB_HIGH, self.pan or 0.0, self.sunk or 0.0) + 2.2


def screw_rows() -> tuple[ScrewRow, ...]:
    """ISO 261 coarse threads and ISO 1478 tapping screws, with heads of ISO 7045, 7046, 7049."""
    rows = []
    for name in METRIC:
        thread = metric_thread(name)
        rows.append(
            ScrewRow(
                name=name,
                diameter=thread.nominal,
                pitch=thread.pitch,
                pan=head(name, HeadForm.PAN_CROSS).diameter,
                sunk=head(name, HeadForm.COUNTERSUNK).diameter,
            )
        )
    for name in TAPPING:
        screw = tapping_screws()[name]
        rows.append(
            ScrewRow(
                name=name, diameter=screw.nominal, pitch=screw.pitch, pan=screw.head, sunk=None
            )
        )
    return tuple(rows)


def screws_gauge() -> Gauge:
    """Bars, combs and circles for each thread, and a rule for lengths."""
    sketch = Sketch("screws")
    rows = screw_rows()
    h = sum(row.high for row in rows) + 5.5 + _FOOT
    y = h - 3.0
    for x, words in (
        (_NAME, "thread × pitch"),
        (_BAR, "shank"),
        (_COMB, "crests"),
        (_PAN - 7.0, "pan head"),
        (_SUNK - 7.0, "countersunk"),
    ):
        sketch.add(Operation.NOTE, Text((x, y), words, pens.TEXT, bold=True))
    y -= 2.2
    for row in rows:
        _row(sketch, row, y - row.high / 2)
        y -= row.high
        sketch.add(Operation.MARK, Line((0.0, y), (_TABLE, y), pens.LEADER))
    tables = "Pitches: ISO 261, ISO 1478. Heads at their greatest: ISO 7045, 7046, 7049."
    sketch.add(Operation.NOTE, Text((0.0, 0.7), tables, pens.SMALL))
    _length_rule(sketch, Box(_LENGTH_X, 0.0, _LENGTH_X + 16.0, h - 5.0))
    how = (
        "Lay the shank on a bar: its own size is just hidden. On a comb crests meet lines"
        " all along.",
        "Stand the head on a circle. Length: hang the head over the rule's end (countersunk:"
        " flush).",
    )
    return headed(sketch, GaugeName.SCREWS, "SCREWS", how, WIDEST, h)


def _row(sketch: Sketch, row: ScrewRow, y: float) -> None:
    says = Text((_NAME, y), f"{row.name} × {show(row.pitch)}", pens.TEXT, Anchor.LEFT, bold=True)
    sketch.add(Operation.NOTE, says)
    half = row.diameter / 2
    corners: tuple[Point, ...] = (
        (_BAR, y - half),
        (_BAR + _BAR_LONG, y - half),
        (_BAR + _BAR_LONG, y + half),
        (_BAR, y + half),
    )
    sketch.add(Operation.GUIDE, polygon(corners, pens.LEADER, Ink.BLACK))
    low = y - _COMB_HIGH / 2
    for n in range(int(_COMB_LONG / row.pitch + 1e-9) + 1):
        x = _COMB + n * row.pitch
        sketch.add(Operation.MARK, Line((x, low), (x, low + _COMB_HIGH), pens.LEADER))
    for x, size in ((_PAN, row.pan), (_SUNK, row.sunk)):
        if size is not None:
            sketch.add(Operation.MARK, Circle((x, y), size / 2, pens.CROSS))


def _length_rule(sketch: Sketch, box: Box) -> None:
    """A strip that counts down from its cut upper end."""
    cut_box(sketch, box)
    left = Rail(start=(box.x0, box.y1), degrees=270)
    ruled(sketch, left, step=1.0, length=box.height)
    at = (box.x0, box.y1 + 1.5)
    sketch.add(Operation.NOTE, Text(at, "length: head up here", pens.SMALL))
