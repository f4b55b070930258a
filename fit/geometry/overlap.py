"""The best direction to part two convex solids along, and how far apart or deep they are in it.

Along a unit direction ``n`` two solids leave the gap ``low_b(n) - high_a(n)``; below zero, that
is how far one must be moved along ``n`` to come free. Whatever direction is tried, its gap never
exceeds the true one. So a poor direction can only make an overlap look deeper (the safe side),
and one direction with a positive gap proves that the solids are free.

A convex body is what is left by its planes at the points where its skin has just one tangent
plane, and the nearest way out of it is square to one of those (Schneider, *Convex Bodies: The
Brunn-Minkowski Theory*, section 2.2). Applied to the difference of the two solids, that leaves a
short list of directions to try, the separating axes of two polyhedra (Ericson, *Real-Time
Collision Detection*, section 5.2.1) carried over to round solids:

- a face or end disc of either: its normal;
- two straight edges: square to both;
- the side of a round solid on a corner, an edge or another side: in closed form;
- a rim on a straight edge or a side, or two rims: stationary points round the rim, which are the
  zeros of a smooth function of one angle.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fit.geometry.frames import Pose, Vec
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape
from fit.geometry.support import Array, axes, lean, polyhedron, rims

_NONE = 1e-11
"""Directions nearer to (anti)parallel or square than this (sine) are taken as exactly so."""

_FREE = 1e-7
"""A gap above this (mm) proves the solids free, so the slow directions need not be tried."""

_PINNED = 1e-6
"""Two zeros nearer to each other than this (rad) may be taken for none."""

_EVEN = np.linspace(0.0, 1.0, 9)
_CROWDED = np.array([-1.0, *(-(6.0**-k) for k in range(1, 9)), 0.0])
_CROWDED = np.concatenate((_CROWDED, -_CROWDED[-2::-1]))

Rows = npt.NDArray[np.intp]
"""Row numbers."""

Places = tuple[Rows, Rows]
"""Rows and columns of a matrix."""

Zero = Callable[[Array, Rows], Array]
"""Values of the functions of the given rows, each at its row of angles."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Flat:
    """A posed block or prism: corners, face normals, edge directions, edges."""

    points: Array
    normals: Array
    directions: Array
    starts: Array
    alongs: Array

    def reach(self, n: Array) -> Array:
        """The farthest corner along each row of ``n``."""
        farthest: Array = (n @ self.points.T).max(axis=1)
        return farthest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Round:
    """A posed cylinder or cone: its frame, the two disc centres and radii, the side's lean."""

    frame: Array
    centres: Array
    radii: Array
    lean: float

    @property
    def axis(self) -> Array:
        """The unit axis."""
        along: Array = self.frame[2]
        return along

    def reach(self, n: Array) -> Array:
        """The farther of the two discs along each row of ``n``."""
        across = n @ self.frame[:2].T
        sine = np.sqrt(across[:, 0] ** 2 + across[:, 1] ** 2)
        ends = n @ self.centres.T + sine[:, None] * self.radii
        farthest: Array = ends.max(axis=1)
        return farthest


_Body = _Flat | _Round


def way_out(shape_a: Shape, pose_a: Pose, shape_b: Shape, pose_b: Pose) -> tuple[float, Vec]:
    """The direction from ``a`` to ``b`` that leaves the greatest gap, and that gap in mm.

    A gap of 0 or less is exact: moving ``b`` along the direction by its size is the shortest
    straight move that frees the two (between round solids the directions come from a search
    round the rims in steps of 5.6°; should it miss one, the depth comes out too great, never too
    small). A gap above 0 proves the two free, but they may be farther apart in a direction that
    is not on the list (corner to corner).
    """
    a, b = _body(shape_a, pose_a), _body(shape_b, pose_b)
    best, n = _best(a, b, _quick(a, b))
    if best <= _FREE and (isinstance(a, _Round) or isinstance(b, _Round)):
        slow = _slow(a, b)
        if len(slow):
            other, m = _best(a, b, slow)
            if other > best:
                best, n = other, m
    return best, (float(n[0]), float(n[1]), float(n[2]))


def _body(shape: Shape, pose: Pose) -> _Body:
    frame = axes(pose)
    if isinstance(shape, Block | Prism):
        own = polyhedron(shape)
        return _Flat(
            points=own.points @ frame + pose.origin,
            normals=own.normals @ frame,
            directions=own.directions @ frame,
            starts=own.starts @ frame + pose.origin,
            alongs=own.alongs @ frame,
        )
    return _round(shape, pose, frame)


def _round(shape: Cylinder | Cone, pose: Pose, frame: Array) -> _Round:
    (low, r_low), (high, r_high) = rims(shape)
    return _Round(
        frame=frame,
        centres=np.array(((low,), (high,))) * frame[2] + pose.origin,
        radii=np.array((r_low, r_high)),
        lean=lean(shape),
    )


def _best(a: _Body, b: _Body, directions: Array) -> tuple[float, Array]:
    """The greatest gap over all directions, either way, and the direction from a to b."""
    both = np.concatenate((directions, -directions))
    reach_a, reach_b = a.reach(both), b.reach(both)
    half = len(directions)
    gaps = -reach_a
    gaps[:half] -= reach_b[half:]
    gaps[half:] -= reach_b[:half]
    at = int(gaps.argmax())
    return float(gaps[at]), both[at]


def _quick(a: _Body, b: _Body) -> Array:
    """The directions that need no search."""
    if isinstance(a, _Flat) and isinstance(b, _Flat):
        between = _units(_cross(a.directions[:, None], b.directions[None]).reshape(-1, 3))
        return np.concatenate((a.normals, b.normals, between))
    if isinstance(a, _Round) and isinstance(b, _Round):
        return _quick_round(a, b)
    flat, bar = (a, b) if isinstance(a, _Flat) else (b, a)
    assert isinstance(flat, _Flat) and isinstance(bar, _Round)
    return np.concatenate(
        (
            flat.normals,
            bar.axis[None],
            _side_to_points(bar, flat.points),
            _square_and_leaning(bar.axis, bar.lean, flat.directions, 0.0),
        )
    )


def _quick_round(a: _Round, b: _Round) -> Array:
    """Between two round solids: discs, side on side, side on the tip of a cone."""
    tried = [
        a.axis[None],
        b.axis[None],
        _side_to_points(a, np.concatenate((b.centres, a.centres + a.frame[0]))),
        _side_to_points(b, np.concatenate((a.centres, b.centres + b.frame[0]))),
        # the outward side of b is the inward way from a, hence the sign
        _square_and_leaning(a.axis, a.lean, b.axis[None], -b.lean),
    ]
    return np.concatenate(tried)


def _side_to_points(bar: _Round, points: Array) -> Array:
    """Normals of the side that point towards (a polygon's corner, a parallel bar's axis)."""
    return _across(points - bar.centres[0], bar.axis[None], bar.lean)


def _across(arms: Array, alongs: Array, tilt: float) -> Array:
    """Unit directions in the plane of each arm and line that lean to the line by ``tilt``."""
    arms = arms - (arms * alongs).sum(axis=1)[:, None] * alongs
    size = np.sqrt((arms * arms).sum(axis=1))
    keep = size > _NONE
    out = arms[keep] * (math.sqrt(1 - tilt**2) / size[keep])[:, None]
    if tilt == 0.0:
        return out
    lift: Array = tilt * np.broadcast_to(alongs, arms.shape)[keep]
    return np.concatenate((lift + out, lift - out))


def _square_and_leaning(axis: Array, lean_a: float, others: Array, lean_b: float) -> Array:
    """Unit directions ``n`` with ``n·axis = lean_a`` and ``n·other = lean_b``, up to two each."""
    normal = _cross(others, axis)
    size = (normal * normal).sum(axis=1)
    keep = size > _NONE**2
    others, normal, size = others[keep], normal[keep], size[keep]
    cosine = others @ axis
    p, q = (lean_a - cosine * lean_b) / size, (lean_b - cosine * lean_a) / size
    inplane = p[:, None] * axis + q[:, None] * others
    rest = 1 - (inplane * inplane).sum(axis=1)
    keep = rest >= 0
    lift = np.sqrt(rest[keep] / size[keep])[:, None] * normal[keep]
    return np.concatenate((inplane[keep] + lift, inplane[keep] - lift))


def _slow(a: _Body, b: _Body) -> Array:
    """The directions found round the rims."""
    if isinstance(a, _Round) and isinstance(b, _Round):
        if (_cross(a.axis, b.axis) ** 2).sum() <= _NONE**2:
            return np.empty((0, 3))
        tried = [_rim_on_side(a, b), _rim_on_side(b, a), _rim_on_rim(a, b)]
        return np.concatenate(tried)
    flat, bar = (a, b) if isinstance(a, _Flat) else (b, a)
    assert isinstance(flat, _Flat) and isinstance(bar, _Round)
    cosine = np.abs(flat.alongs @ bar.axis)
    keep = (cosine > _NONE) & (cosine < 1 - _NONE)
    if not keep.any():
        return np.empty((0, 3))
    starts, alongs = flat.starts[keep], flat.alongs[keep]
    return _rims_on_lines(bar, starts, alongs, 0.0, thick=False)


def _rim_on_side(side: _Round, bar: _Round) -> Array:
    """The rims of ``bar`` on the side of another round solid."""
    return _rims_on_lines(bar, side.centres[:1], side.axis[None], side.lean, thick=True)


def _rims_on_lines(
    bar: _Round, starts: Array, alongs: Array, tilt: float, thick: bool
) -> Array:
    """Directions in which a rim of ``bar`` meets an edge, or a side round that line, squarely.

    With ``p`` the rim's point at angle φ, ``t`` its tangent there, ``e`` the line's direction and
    ``w`` the arm from the line to ``p``: the direction ``n`` leans to the line by ``n·e = tilt``,
    lies in the plane of ``e`` and ``w``, and is square to ``t``. It is taken from ``e`` and ``t``,
    as ``w`` has no length where a rim touches an edge; where a ``thick`` side goes round the line,
    from ``e`` and ``w`` too, as ``t`` may lie along ``e``.
    """
    count = len(starts)
    which = np.repeat((0, 1), count)
    starts, alongs = np.concatenate((starts, starts)), np.concatenate((alongs, alongs))
    arm = bar.centres[which] - starts
    local, slope = arm @ bar.frame.T, alongs @ bar.frame.T
    numbers = [local[:, 0], local[:, 1], (arm * alongs).sum(axis=1)]
    numbers += [slope[:, 0], slope[:, 1], bar.radii[which], (arm * arm).sum(axis=1)]
    straight, signs = math.sqrt(1 - tilt**2), (1.0,) if tilt == 0.0 else (1.0, -1.0)
    found: list[Array] = []
    for sign in signs:

        def square(angles: Array, rows: Rows, s: float = sign) -> Array:
            x, y, along, ex, ey, r, size = (v[rows, None] for v in numbers)
            cos, sin = np.cos(angles), np.sin(angles)
            run, rise = along + r * (cos * ex + sin * ey), cos * ey - sin * ex
            value: Array = s * straight * (cos * y - sin * x - run * rise)
            if tilt != 0.0:
                far = size + r * r + 2 * r * (cos * x + sin * y) - run * run
                value = value + tilt * rise * np.sqrt(np.maximum(far, 0.0))
            return value

        rows, angle = _zeros(square, 2 * count)
        tangent = _tangents(bar, angle)
        found.append(_leaning(alongs[rows], tangent, tilt))
        if thick:
            spot = bar.centres[which[rows]] + bar.radii[which[rows], None] * _spokes(bar, angle)
            found.append(_across(spot - starts[rows], alongs[rows], tilt))
    return np.concatenate(found)


def _leaning(along: Array, tangent: Array, tilt: float) -> Array:
    """Unit directions square to each ``tangent`` that lean to ``along`` by ``tilt``, both."""
    flat = along - (along * tangent).sum(axis=1)[:, None] * tangent
    size = np.sqrt((flat * flat).sum(axis=1))
    keep = (size > _NONE) & (size >= abs(tilt))
    tangent, size = tangent[keep], size[keep]
    flat = flat[keep] / size[:, None]
    cosine = (tilt / size)[:, None]
    lift = np.sqrt(1 - cosine * cosine) * _cross(tangent, flat)
    if tilt == 0.0:
        return lift
    return np.concatenate((cosine * flat + lift, cosine * flat - lift))


def _rim_on_rim(a: _Round, b: _Round) -> Array:
    """Directions square to a rim of each. The angle runs round the smaller of the two rims: round
    the larger one, all that matters may lie within a single step."""
    i, j, sign = (v.ravel() for v in np.meshgrid((0, 1), (0, 1), (1.0, -1.0)))
    less = a.radii[i] <= b.radii[j]
    return np.concatenate(
        (
            _round_rim(a, b, i[less], j[less], sign[less]),
            _round_rim(b, a, j[~less], i[~less], sign[~less]),
        )
    )


def _round_rim(a: _Round, b: _Round, i: Rows, j: Rows, sign: Array) -> Array:
    """Directions square to rim ``i`` of a and rim ``j`` of b, where they are nearest (sign +1) or
    farthest (-1) there.

    For the point of a's rim at angle φ the nearest and farthest points of b's rim are in closed
    form; what is left is one function of φ: the part of their difference along a's tangent.
    """
    to_b = b.frame[:2] @ a.frame[:2].T
    arm = a.centres[i] - b.centres[j]
    across_a, across_b = arm @ a.frame[:2].T, arm @ b.frame[:2].T
    table = (a.radii[i], b.radii[j] * sign, *across_a.T, *across_b.T)

    def around(angles: Array, rows: Rows) -> tuple[Array, Array, Array]:
        """The direction of b's point in its own plane, and the part along a's tangent."""
        radius, other, ax, ay, bx, by = (v[rows, None] for v in table)
        cos, sin = np.cos(angles), np.sin(angles)
        x = bx + radius * (cos * to_b[0, 0] + sin * to_b[0, 1])
        y = by + radius * (cos * to_b[1, 0] + sin * to_b[1, 1])
        size = np.sqrt(x * x + y * y) + 1e-300
        x, y = x / size, y / size
        turn_x, turn_y = cos * to_b[0, 1] - sin * to_b[0, 0], cos * to_b[1, 1] - sin * to_b[1, 0]
        part: Array = cos * ay - sin * ax - other * (x * turn_x + y * turn_y)
        return x, y, part

    rows, angle = _zeros(lambda angles, rows: around(angles, rows)[2], len(sign))
    if not len(rows):
        return np.empty((0, 3))
    x, y, _ = around(angle[:, None], rows)
    other = x * b.frame[1] - y * b.frame[0]
    return _units(_cross(_tangents(a, angle), other))


def _spokes(bar: _Round, angle: Array) -> Array:
    """Unit directions from the axis to the rim at angles round it."""
    turned: Array = np.cos(angle)[:, None] * bar.frame[0] + np.sin(angle)[:, None] * bar.frame[1]
    return turned


def _tangents(bar: _Round, angle: Array) -> Array:
    """The rim's unit tangents at angles round the axis."""
    turned: Array = np.cos(angle)[:, None] * bar.frame[1] - np.sin(angle)[:, None] * bar.frame[0]
    return turned


def _zeros(function: Zero, rows: int) -> tuple[Rows, Array]:
    """Where each row's function of one angle changes sign round the circle: rows and angles.

    Sixty-four steps round, then sixty-four over the four steps about every place that is not
    clear yet: a change whose neighbours differ much in slope may be three; a dip towards zero and
    away again may hide two (rims that all but touch along their tangents). What is still unclear
    in steps of 1e-7 rad is handed on as it is.
    """
    row, first, step = np.arange(rows), np.zeros(rows, dtype=np.intp), 2 * math.pi / 64
    found: list[tuple[Rows, Array, Array]] = [(row[:0], np.zeros(0), np.zeros(0))]
    while len(row):
        # one step more at either end, so that every place has neighbours
        angles = step * (first[:, None] + np.arange(-1, 66))
        sure, unsure = _places(function(angles, row))
        if step < _PINNED or len(unsure[0]) > 16 * rows:
            sure = np.concatenate((sure[0], unsure[0])), np.concatenate((sure[1], unsure[1]))
            unsure = unsure[0][:0], unsure[1][:0]
        found.append((row[sure[0]], angles[sure], np.full(len(sure[0]), step)))
        # places are numbered in the finer steps; each once, however many steps pointed at it
        place = np.stack((row[unsure[0]], 16 * (first[unsure[0]] + unsure[1] - 2)))
        (row, first), step = np.unique(place, axis=1), step / 16
    row, start, width = (np.concatenate(p) for p in zip(*found, strict=True))
    return row, _narrowed(function, row, start, width)


def _places(values: Array) -> tuple[Places, Places]:
    """Steps with one change of sign; steps with, or next to, what may be more than one."""
    differ, slope, size = _differ(values), np.abs(np.diff(values)), np.abs(values)
    steepest = np.maximum(np.maximum(slope[:, :-2], slope[:, 1:-1]), slope[:, 2:])
    flattest = np.minimum(np.minimum(slope[:, :-2], slope[:, 1:-1]), slope[:, 2:])
    even = 2 * flattest >= steepest
    before, here, after = size[:, :-2], size[:, 1:-1], size[:, 2:]
    bend = before + after - 2 * here
    # the lowest point of the parabola through three neighbours, at less than half the middle one
    dips = (here <= before) & (here <= after) & ((after - before) ** 2 >= 4 * here * bend)
    dips &= ~(differ[:, 1:] | differ[:, :-1])
    sure, unsure = np.nonzero(differ[:, 1:-1] & even), np.nonzero(differ[:, 1:-1] & ~even)
    where, at = np.nonzero(dips)
    unclear = np.concatenate((unsure[0], where)), np.concatenate((unsure[1] + 1, at))
    return (sure[0], sure[1] + 1), unclear


def _narrowed(function: Zero, row: Rows, start: Array, width: Array) -> Array:
    """The zeros within intervals, each narrowed by parts crowded about a straight line's zero.

    Three rounds of that leave about 1e-12 rad.
    """
    if not len(row):
        return start
    index, parts = np.arange(len(row)), np.broadcast_to(_EVEN, (len(row), len(_EVEN)))
    for _ in range(3):
        angles = start[:, None] + width[:, None] * parts
        values = function(angles, row)
        change = _differ(values).argmax(axis=1)
        start, width = angles[index, change], angles[index, change + 1] - angles[index, change]
        low, high = values[index, change], values[index, change + 1]
        share = np.clip(low / np.where(low == high, 1.0, low - high), 0.0, 1.0)
        parts = np.clip(share[:, None] + _CROWDED, 0.0, 1.0)
    zeros: Array = start + width * share
    return zeros


def _differ(values: Array) -> npt.NDArray[np.bool_]:
    """Whether neighbours along a row lie on different sides of zero."""
    below = values < 0
    changed: npt.NDArray[np.bool_] = below[:, :-1] != below[:, 1:]
    return changed


def _units(vectors: Array) -> Array:
    """Each row at length 1; rows of no length are left out."""
    size = np.sqrt((vectors * vectors).sum(axis=1))
    keep = size > _NONE
    kept: Array = vectors[keep] / size[keep, None]
    return kept


def _cross(a: Array, b: Array) -> Array:
    """Vector products along the last axis (numpy's own is slow on few rows)."""
    product: Array = (
        a[..., [1, 2, 0]] * b[..., [2, 0, 1]] - a[..., [2, 0, 1]] * b[..., [1, 2, 0]]
    )
    return product
