"""Outlines beside an outline, evenly far off: for tools that take away a width of their own."""

from __future__ import annotations

import math
from itertools import pairwise

from fit.geometry.paths import ArcSeg, Circle, LineSeg, Outline, Segment
from fit.geometry.shapes import Point2

_SAME = 1e-7
"""Points nearer than this are one, mm."""


class NothingLeft(ValueError):
    """The outline is narrower than what is taken off it."""


def parallel(outline: Outline, by: float) -> Outline:
    """The outline moved by ``by`` mm to the right of the way it runs; exact lines and arcs.

    To the right is outwards for a counter-clockwise outline and into the hole for a clockwise
    one. Sharp corners stay sharp; an arc that shrinks to nothing gives its corner to its
    neighbours. The ends of an open outline move at right angles to it.

    Raises:
        NothingLeft: when a side or a radius is used up.
    """
    if by == 0.0:
        return outline
    moved = [beside for s in outline.segments if (beside := _beside(s, by)) is not None]
    if not moved:
        raise NothingLeft("nothing is left")
    if isinstance(moved[0], Circle):
        return Outline(tuple(moved), outline.closed)
    count = len(moved)
    ends = [_meet(a, b) for a, b in pairwise(moved)]
    first, last = _ends(moved[0])[0], _ends(moved[-1])[1]
    if outline.closed:
        first = last = _meet(moved[-1], moved[0])
    starts, ends = [first, *ends], [*ends, last]
    kept = tuple(_between(moved[n], starts[n], ends[n]) for n in range(count))
    return Outline(kept, outline.closed)


def _beside(segment: Segment, by: float) -> Segment | None:
    """A segment moved to its right; None for an arc that shrinks to nothing."""
    if isinstance(segment, Circle):
        if segment.radius + by <= _SAME:
            raise NothingLeft(f"nothing is left of a circle {2 * segment.radius:g} across")
        return Circle(segment.centre, segment.radius + by)
    if isinstance(segment, ArcSeg):
        radius = segment.radius + by
        if radius <= _SAME:
            return None
        return ArcSeg(segment.centre, radius, segment.begin, segment.finish)
    (ax, ay), (bx, by_) = segment.start, segment.end
    length = math.dist(segment.start, segment.end)
    nx, ny = (by_ - ay) / length * by, (ax - bx) / length * by
    return LineSeg((ax + nx, ay + ny), (bx + nx, by_ + ny))


def _ends(segment: Segment) -> tuple[Point2, Point2]:
    if isinstance(segment, Circle):
        raise NothingLeft("a full circle stands alone in an outline")
    return segment.start, segment.end


def _meet(one: Segment, following: Segment) -> Point2:
    """Where two moved segments meet: lengthened or shortened to their crossing."""
    end, start = _ends(one)[1], _ends(following)[0]
    if math.dist(end, start) < _SAME:
        return end
    crossings = _crossings(one, following)
    if not crossings:
        raise NothingLeft("two sides no longer meet")
    middle = ((end[0] + start[0]) / 2, (end[1] + start[1]) / 2)
    return min(crossings, key=lambda p: math.dist(p, middle))


def _crossings(one: Segment, other: Segment) -> list[Point2]:
    if isinstance(one, LineSeg) and isinstance(other, LineSeg):
        return _two_lines(one, other)
    if isinstance(one, LineSeg) and isinstance(other, ArcSeg):
        return _line_and_arc(one, other)
    if isinstance(one, ArcSeg) and isinstance(other, LineSeg):
        return _line_and_arc(other, one)
    assert isinstance(one, ArcSeg)
    assert isinstance(other, ArcSeg)
    return _two_arcs(one, other)


def _two_lines(one: LineSeg, other: LineSeg) -> list[Point2]:
    (ax, ay), (bx, by) = one.start, one.end
    (cx, cy), (dx, dy) = other.start, other.end
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    area = ux * vy - uy * vx
    if abs(area) < 1e-12:
        return []
    share = ((cx - ax) * vy - (cy - ay) * vx) / area
    return [(ax + share * ux, ay + share * uy)]


def _line_and_arc(line: LineSeg, arc: ArcSeg) -> list[Point2]:
    (ax, ay), (bx, by) = line.start, line.end
    length = math.dist(line.start, line.end)
    ux, uy = (bx - ax) / length, (by - ay) / length
    foot = (arc.centre[0] - ax) * ux + (arc.centre[1] - ay) * uy
    away = (arc.centre[0] - ax) * uy - (arc.centre[1] - ay) * ux
    rest = arc.radius**2 - away**2
    if rest < 0:
        return []
    half = math.sqrt(rest)
    return [(ax + (foot + s) * ux, ay + (foot + s) * uy) for s in (-half, half)]


def _two_arcs(one: ArcSeg, other: ArcSeg) -> list[Point2]:
    dx, dy = other.centre[0] - one.centre[0], other.centre[1] - one.centre[1]
    apart = math.hypot(dx, dy)
    if apart < _SAME:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    rest = one.radius**2 - along**2
    if rest < 0:
        return []
    half = math.sqrt(rest)
    ux, uy = dx / apart, dy / apart
    foot = (one.centre[0] + along * ux, one.centre[1] + along * uy)
    return [(foot[0] - s * uy, foot[1] + s * ux) for s in (-half, half)]


def _between(segment: Segment, start: Point2, end: Point2) -> Segment:
    """A moved segment from one meeting point to the next; it must still run its own way."""
    if isinstance(segment, LineSeg):
        (ax, ay), (bx, by) = segment.start, segment.end
        onward = (end[0] - start[0]) * (bx - ax) + (end[1] - start[1]) * (by - ay)
        if onward <= 0:
            raise NothingLeft("a side is used up")
        return LineSeg(start, end)
    assert isinstance(segment, ArcSeg)
    begin, finish = (
        math.degrees(math.atan2(p[1] - segment.centre[1], p[0] - segment.centre[0]))
        for p in (start, end)
    )
    sweep = (finish - begin) % 360.0
    if abs(sweep - (segment.finish - segment.begin)) > 180.0:
        raise NothingLeft("an arc is used up")
    return ArcSeg(segment.centre, segment.radius, begin, begin + sweep)
