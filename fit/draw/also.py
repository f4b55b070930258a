"""What can be asked for beyond the sheets, all off by default."""

from __future__ import annotations

from dataclasses import dataclass

from fit.draw.asked import AS_USUAL, Asked
from fit.draw.laser import BY_HAND, Laser


@dataclass(frozen=True, slots=True, kw_only=True)
class Also:
    """What else is written, and for which tools.

    Attributes:
        laser: what a machine that cuts along the DXF and SVG outlines needs.
        sheets: what the sheets show beside the usual, or instead of it.
        dummy: also the boards and what stands on them as card to fold.
        label: also a label for each face with openings.
        jigs: faces and boards of which a drilling jig is made, by name.
    """

    laser: Laser = BY_HAND
    sheets: Asked = AS_USUAL
    dummy: bool = False
    label: bool = False
    jigs: tuple[str, ...] = ()


NOTHING_ELSE = Also()
"""The sheets, outlines and models as always."""
