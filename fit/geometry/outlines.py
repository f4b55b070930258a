"""The room openings take up in their face: polygons that cover them, and the webs left between.

The only home of shapely. Everything is in a face's frame, (across, up), mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from fit.geometry.box import Face
from fit.geometry.paths import oblong_ends, on_circle, rectangle, slot, sound, turned
from fit.geometry.scene import Cut, Opening
from fit.geometry.shapes import Point2

CIRCLE_ERROR = 0.005
"""How far a polygon may stand outside the circle it stands for, mm. It never cuts inside."""


def polygon(opening: Opening, face: Face | None = None, grow: float = 0.0) -> shapely.Polygon:
    """A polygon that covers an opening, grown all round by ``grow`` mm (below 0: shrunk).

    On the safe side for what is left standing: circles (and the ends of slots) become tangent
    polygons, outside by at most `CIRCLE_ERROR`; rectangles keep sharp corners, since a file may
    take them that far, and grow square; a RIM_SLOT grows beyond the rim as well.

    Raises:
        ValueError: as `outline`, and when shrinking leaves nothing.
    """
    sound(opening, face)
    match opening.cut:
        case Cut.ROUND:
            return _disc(opening, grow)
        case Cut.D_FLAT | Cut.DOUBLE_D:
            return _d_polygon(opening, grow)
        case Cut.KEYED:
            return _keyed_polygon(opening, grow)
        case Cut.OBLONG:
            return _oblong_polygon(opening, grow)
        case Cut.RECTANGLE:
            base = shapely.Polygon(rectangle(opening))
        case Cut.RIM_SLOT:
            base = shapely.Polygon(slot(opening, face))
    if grow == 0:
        return base
    return _kept(shapely.buffer(base, grow, join_style="mitre", mitre_limit=2.0), opening)


def _kept(found: BaseGeometry, opening: Opening) -> shapely.Polygon:
    if not isinstance(found, shapely.Polygon) or found.is_empty:
        raise ValueError(f"nothing is left of the opening of {opening.part}")
    return found


def _disc(opening: Opening, grow: float) -> shapely.Polygon:
    return _round((opening.across, opening.up), opening.diameter / 2 + grow, opening)


def _round(centre: Point2, radius: float, opening: Opening) -> shapely.Polygon:
    """A polygon round a circle, its sides tangents."""
    if radius <= 0:
        raise ValueError(f"nothing is left of the opening of {opening.part}")
    count = max(8, math.ceil(math.pi / math.acos(radius / (radius + CIRCLE_ERROR))))
    far = radius / math.cos(math.pi / count)
    # Turned with the opening, so that the tangent points do not depend on its turn.
    return shapely.Polygon(
        [on_circle(centre, far, opening.turn + 360.0 * i / count) for i in range(count)]
    )


def _d_polygon(opening: Opening, grow: float) -> shapely.Polygon:
    both = opening.cut is Cut.DOUBLE_D
    level = (opening.height / 2 if both else opening.height - opening.diameter / 2) + grow
    far = opening.diameter + abs(grow)
    low = -level if both else -far
    if level <= low:
        raise ValueError(f"nothing is left of the opening of {opening.part}")
    between = [(-far, low), (far, low), (far, level), (-far, level)]
    strip = shapely.Polygon([turned(opening, p) for p in between])
    return _kept(shapely.intersection(_disc(opening, grow), strip), opening)


def _keyed_polygon(opening: Opening, grow: float) -> shapely.Polygon:
    """The convex outline round hole and key (safe side: a little beside the key stays)."""
    disc = _disc(opening, grow)
    w, top = opening.width / 2 + grow, opening.diameter / 2 + opening.height + grow
    key = [turned(opening, p) for p in ((w, 0.0), (w, top), (-w, top), (-w, 0.0))]
    both = [disc, shapely.Polygon(key)] if w > 0 else [disc]
    return _kept(shapely.convex_hull(shapely.union_all(both)), opening)


def _oblong_polygon(opening: Opening, grow: float) -> shapely.Polygon:
    radius = min(opening.width, opening.height) / 2 + grow
    ends = [_round(end, radius, opening) for end in oblong_ends(opening)]
    return _kept(shapely.convex_hull(shapely.union_all(ends)), opening)


def _skeleton(opening: Opening, face: Face | None) -> tuple[BaseGeometry, float]:
    """What an opening is when its radius is taken off: point, line, or the polygon itself."""
    if opening.cut is Cut.ROUND:
        sound(opening, face)
        return shapely.Point(opening.across, opening.up), opening.diameter / 2
    if opening.cut is Cut.OBLONG and abs(opening.width - opening.height) > 1e-9:
        sound(opening, face)
        return shapely.LineString(oblong_ends(opening)), min(opening.width, opening.height) / 2
    return polygon(opening, face), 0.0


def web(a: Opening, b: Opening, face: Face | None = None) -> float:
    """The material left between two openings of one face, mm; not above 0 when they meet.

    Exact for round openings, round-ended slots and rectangles with sharp corners (a file may take
    them that far, whatever radius may stay); too small by at most twice `CIRCLE_ERROR` where a D
    hole takes part, and beside a key by what its convex outline adds. Overlapping openings give
    minus the shortest move that parts them.

    Raises:
        ValueError: as `outline`.
    """
    (p, r), (q, s) = _skeleton(a, face), _skeleton(b, face)
    apart = float(shapely.distance(p, q))
    if apart > 0:
        return apart - r - s
    return -_overlap(p, q) - r - s


def _overlap(p: BaseGeometry, q: BaseGeometry) -> float:
    """The shortest move, mm, that parts two convex outlines: along a side's normal."""
    ours, theirs = _points(p), _points(q)
    best = math.inf
    for own, other in ((ours, theirs), (theirs, ours)):
        for nx, ny, reach in _sides(own):
            best = min(best, reach - min(x * nx + y * ny for x, y in other))
    return best if math.isfinite(best) else 0.0


def _points(shape: BaseGeometry) -> list[Point2]:
    coords = shapely.get_coordinates(shape).tolist()
    return [(x, y) for x, y in (coords[:-1] if isinstance(shape, shapely.Polygon) else coords)]


def _sides(points: list[Point2] | tuple[Point2, ...]) -> list[tuple[float, float, float]]:
    """Outward unit normal and reach of each side of a convex polygon, either way round."""
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise((*points, points[0])))
    sides = []
    for a, b in pairwise((*points, points[0])):
        length = math.dist(a, b)
        if length > 1e-12:
            sign = math.copysign(1.0, area)
            nx, ny = sign * (b[1] - a[1]) / length, sign * (a[0] - b[0]) / length
            sides.append((nx, ny, nx * a[0] + ny * a[1]))
    return sides


def edge_web(opening: Opening, face: Face) -> float:
    """The material left between an opening and the edge of the face's flat part, mm.

    Negative: how far it reaches past the edge. The upper edge does not count for a RIM_SLOT,
    which is open there. Exact, D holes too small by at most `CIRCLE_ERROR`; the rounded corners
    of floor and lid count as well.

    Raises:
        ValueError: as `outline`.
    """
    shape, radius = _skeleton(opening, face)
    points = _points(shape)
    found = []
    for nx, ny, reach in _sides(face.flat):
        if opening.cut is Cut.RIM_SLOT and ny > 0.5:
            continue
        found.append(reach - max(x * nx + y * ny for x, y in points) - radius)
    if face.flat_radius > 0:
        found.extend(_corner_webs(points, radius, face))
    return min(found)


def _corner_webs(points: list[Point2], radius: float, face: Face) -> list[float]:
    """Distances to the rounds of a plate's flat part, of the points that lie within them."""
    xs, ys = [p[0] for p in face.flat], [p[1] for p in face.flat]
    r = min(face.flat_radius, (max(xs) - min(xs)) / 2, (max(ys) - min(ys)) / 2)
    found = []
    for x, y in points:
        over_x = max(min(xs) + r - x, x - max(xs) + r)
        over_y = max(min(ys) + r - y, y - max(ys) + r)
        if over_x > 0 and over_y > 0:
            found.append(r - math.hypot(over_x, over_y) - radius)
    return found


# --- room for a thing to move in its plane ----------------------------------------------------

Region = shapely.Polygon
"""A connected piece of room, with holes where something stands."""


def spread_out(hulls: Sequence[Sequence[Point2]]) -> Sequence[Region]:
    """The convex polygon round each set of points."""
    coords = np.array([p for points in hulls for p in points])
    numbers = np.repeat(np.arange(len(hulls)), [len(points) for points in hulls])
    points = np.asarray(shapely.points(coords))
    found: list[Region] = np.asarray(
        shapely.convex_hull(shapely.multipoints(points, indices=numbers))
    ).tolist()
    return found


def covered(hulls: Sequence[Sequence[Point2]]) -> list[list[int]]:
    """For each set of points the numbers of those whose polygon covers it.

    Of two that cover each other the first does.
    """
    shapes = np.array(spread_out(hulls), dtype=object)
    by = shapely.covers(shapes[None, :], shapes[:, None]).tolist()
    count = range(len(hulls))
    return [[o for o in count if by[n][o] and o != n and (o < n or not by[o][n])] for n in count]


def around_all(shapes: Sequence[Region]) -> tuple[float, float, float, float]:
    """The upright rectangle (x0, y0, x1, y1) round several polygons, mm."""
    x0, y0, x1, y1 = shapely.total_bounds(np.array(shapes, dtype=object)).tolist()
    return x0, y0, x1, y1


def depth_in(hull: Region, at: Point2) -> float:
    """How far a point lies outside a polygon, mm; below 0: how far inside."""
    point = shapely.Point(at)
    if shapely.intersects_xy(hull, *at):
        return -float(shapely.distance(point, shapely.boundary(hull)))
    return float(shapely.distance(point, hull))


def regions(
    window: tuple[float, float, float, float], taken: Sequence[Region], grown: Sequence[float]
) -> tuple[Region, ...]:
    """What is left of a window (x0, y0, x1, y1) beside polygons grown by so much each, mm.

    Corners grow square, so that no point is left that is nearer to one than asked (safe side).
    """
    wide = shapely.buffer(taken, list(grown), join_style="mitre", mitre_limit=2.0)
    left = shapely.difference(shapely.box(*window), shapely.union_all(wide))
    pieces = shapely.get_parts(left)
    return tuple(p for p in pieces if isinstance(p, shapely.Polygon) and p.area > _SPECK)


_SPECK = 1e-6
"""Areas below this, mm², are none."""


def share_room(one: Region, other: Region) -> bool:
    """Whether two regions share any area."""
    return bool(shapely.relate_pattern(one, other, "2********"))


def nearest_shared(one: Region, other: Region, to: Point2) -> Point2:
    """The place in both of two regions nearest to a point."""
    both = shapely.intersection(one, other)
    pieces = [p for p in shapely.get_parts(both).tolist() if isinstance(p, shapely.Polygon)]
    solid = shapely.multipolygons(pieces)
    if shapely.intersects_xy(solid, *to):
        return to
    line = shapely.shortest_line(solid, shapely.Point(to))
    x, y = shapely.get_coordinates(line).tolist()[0]
    return float(x), float(y)


def holds(region: Region, at: Point2) -> bool:
    """Whether a point lies in a region."""
    return bool(shapely.intersects_xy(region, *at))


def reaches(region: Region, level: float) -> bool:
    """Whether a region reaches up to a level, mm."""
    return float(region.bounds[3]) >= level - 1e-9


def route(region: Region, start: Point2, end: Point2) -> tuple[Point2, ...]:
    """The shortest way between two points of a region that stays in it, corner by corner.

    Shortest ways turn at corners only (E. W. Dijkstra's algorithm over those that see each other).
    """
    straight = shapely.LineString((start, end))
    if start == end or shapely.covers(region, straight):
        return (start, end)
    corners = [(x, y) for x, y in shapely.get_coordinates(region).tolist()]
    points = [start, end, *dict.fromkeys(corners)]
    left: dict[int, float] = dict.fromkeys(range(len(points)), math.inf)
    left[0] = 0.0
    came: dict[int, int] = {}
    shapely.prepare(region)
    near = shapely.buffer(region, 1e-9)
    while left:
        here = min(left, key=lambda n: left[n])
        gone = left.pop(here)
        if here == 1 or math.isinf(gone):
            break
        others = list(left)
        seen = shapely.covers(
            near, shapely.linestrings([(points[here], points[n]) for n in others])
        )
        for n, sees in zip(others, seen.tolist(), strict=True):
            far = gone + math.dist(points[here], points[n])
            if sees and far < left[n]:
                left[n], came[n] = far, here
    way = [1]
    while way[-1] in came:
        way.append(came[way[-1]])
    return tuple(points[n] for n in reversed(way))
