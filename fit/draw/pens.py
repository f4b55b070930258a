"""Pens and letter heights of the sheets, mm: one place, so that all sheets look alike.

Widths follow the steps of ISO 128 line groups (0.13, 0.18, 0.25, 0.35); letters those of
ISO 3098 (2.5, 3.5, 5) with 2.0 for ghosts and tables.
"""

from __future__ import annotations

from fit.draw.drawing import Ink, Pen, Style

CUT = Pen(width=0.35)
"""Saw and file to this line."""

EDGE = Pen(width=0.25)
"""The edge of a face: trim the paper."""

DRILL = Pen(width=0.25)
"""The final size of a round hole."""

STEP = Pen(width=0.13)
"""A size on the way to it."""

CROSS = Pen(width=0.18)
"""The cross for the punch."""

CENTRE = Pen(width=0.13, style=Style.DASH_DOT)
"""Centre lines and drill-centre lines."""

GHOST = Pen(width=0.13, style=Style.DASHED, ink=Ink.DARK)
"""What lies behind."""

OUTSIDE = Pen(width=0.13, style=Style.DASH_DOT_DOT, ink=Ink.DARK)
"""What stands out before the face."""

THERE = Pen(width=0.35, style=Style.DOTTED)
"""A hole that is there already: nothing is cut along it."""

FOLD = Pen(width=0.18, ink=Ink.DARK)
"""Bend the paper here (ISO 128-2: bending lines are thin and unbroken)."""

FLAT = Pen(width=0.13, style=Style.DASHED, ink=Ink.GREY)
"""Where the wall stops being flat."""

GRID = Pen(width=0.13, ink=Ink.GREY)
"""Holes of a board."""

ZONE = Pen(width=0.18, ink=Ink.DARK)
"""Parts on a board."""

LEADER = Pen(width=0.13)
"""From words to what they speak of."""

RULE = Pen(width=0.18)
"""Rules of tables and title."""

FRAME = Pen(width=0.35)
"""Frames, bars, the card."""

TEXT = 2.5
"""Ordinary words: height of capitals, mm."""

SMALL = 2.0
"""The smallest words."""

TITLE = 3.5
NAME = 5.0
