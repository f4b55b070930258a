"""How wide a hull is, and what of a part has to pass its opening."""

from __future__ import annotations

from fit.model.part import BushingPart, Hull, PanelPart


def widest(hull: Hull) -> float:
    """The smallest round hole a hull passes, mm: its diameter, or its diagonal."""
    if hull.diameter > 0:
        return float(hull.diameter)
    return float((hull.width**2 + hull.height**2) ** 0.5)


def longest_side(hull: Hull) -> float:
    """The largest size of a hull across its axis, mm."""
    return float(max(hull.diameter, hull.width, hull.height))


def sides(hull: Hull) -> tuple[float, float]:
    """Width and height of the rectangle a hull passes, mm."""
    if hull.diameter > 0:
        return float(hull.diameter), float(hull.diameter)
    return float(hull.width), float(hull.height)


def passing(part: BushingPart | PanelPart) -> list[tuple[str, Hull]]:
    """What goes through a part's opening when it is put in from outside: name and hull."""
    found = [("body", part.hull)]
    if part.terminals is not None:
        found.append(("terminals", part.terminals))
    return [(what, hull) for what, hull in found if not hull.later]
