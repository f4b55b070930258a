"""Making up for a printer that prints a little too small or too large.

Paper feed and print head each have an error of their own, so there are two factors. A sheet is
drawn true; the writer of its file stretches the whole page about its middle, and the printer's
error brings it back to size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

LIMIT: Final = 0.03
"""Largest correction made, as a share (common practice, no source). Beyond it the print dialog
has scaled the page, and that changes from print to print."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What one printer needs.

    Attributes:
        printer: its name, for the sheets.
        across: factor for lengths across the paper as an upright sheet lies, true ÷ printed.
        along: the same for lengths along it, the way the paper is fed.
    """

    printer: str
    across: float
    along: float

    def on(self, w: float, h: float) -> tuple[float, float]:
        """Factors for x and y of a sheet of w × h mm.

        A sheet that lies (wider than high) goes through the printer turned by a quarter, so its
        x runs along the feed.
        """
        return (self.along, self.across) if w > h else (self.across, self.along)

    def words(self, stretch: tuple[float, float]) -> str:
        """What a sheet says of it, with that sheet's own x and y."""
        x, y = stretch
        return f"Corrected for printer {self.printer}: x {percent(x)}, y {percent(y)}."


def percent(factor: float) -> str:
    """A factor as what it adds or takes away: ``+0.82 %``."""
    told = f"{(factor - 1) * 100:+.2f}".replace("-", "−")
    return f"{told.replace('−0.00', '+0.00')} %"
