"""Cutting a rectangular opening by hand: chain of holes, corner holes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

CHAIN_SPACE: Final = 0.5
"""Least material between the holes of a chain, mm; 0 to 1 is usual. Common practice, no source."""

CHAIN_INSET: Final = 0.5
"""What a chain of holes leaves for the file, mm; 0.5 to 1 is usual. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A chain of holes inside a rectangular opening.

    Attributes:
        width: width of the rectangle of hole centres, mm.
        height: its height, mm.
        count: least number of holes so that none are further apart than the pitch.
    """

    width: float
    height: float
    count: int

    @property
    def perimeter(self) -> float:
        """Length of the line the centres lie on, mm."""
        return 2 * (self.width + self.height)


def chain(
    width: float,
    height: float,
    bit: float,
    *,
    inset: float = CHAIN_INSET,
    space: float = CHAIN_SPACE,
) -> Chain:
    """Lay out a chain of holes inside an opening of ``width`` by ``height`` mm.

    Centres lie half a bit and ``inset`` inside the line; the pitch is the bit and ``space``.
    Bench practice, no source.

    Raises:
        ValueError: when a size is not above 0, or the opening has no room for the bit.
    """
    sizes = (width, height, bit)
    if not all(math.isfinite(v) and v > 0 for v in sizes) or min(inset, space) < 0:
        raise ValueError("sizes must be above 0, inset and space not below")
    off = bit + 2 * inset
    if min(width, height) < off:
        raise ValueError(f"a {bit} mm bit has no room in an opening of {width} x {height} mm")
    inner = Chain(width=width - off, height=height - off, count=1)
    count = max(1, math.ceil(inner.perimeter / (bit + space) - 1e-9))
    return Chain(width=inner.width, height=inner.height, count=count)


def corner_bit(radius: float) -> float:
    """The bit, mm, whose hole leaves a corner of this radius, mm. Plain geometry."""
    return 2 * radius
