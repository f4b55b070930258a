"""Directions in which the rim of a round solid meets an edge, a side or another rim squarely.

Round a rim these are stationary points, the zeros of a smooth function of one angle.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from fit.geometry.skins import NO_ANGLE, Flat, Round, Skin, across, cross, units
from fit.geometry.support import Array

_PINNED = 1e-6
"""Two zeros nearer to each other than this (rad) may be taken for none."""

_EVEN = np.linspace(0.0, 1.0, 9)
_CROWDED = np.array([-1.0, *(-(6.0**-k) for k in range(1, 9)), 0.0])
_CROWDED = np.concatenate((_CROWDED, -_CROWDED[-2::-1]))

Rows = npt.NDArray[np.intp]
"""Row numbers."""

Places = tuple[Rows, Rows]
"""Rows and columns of a matrix."""

Around = Callable[[Array, Rows], tuple[Array, Array]]
"""Functions of the given rows, each at its row of angles: the value whose zeros are sought, and
how far the rim's point there is from what it may meet, mm."""


def rim_directions(a: Skin, b: Skin, within: float) -> Array:
    """Directions (n, 3) in which a rim of either solid meets the other squarely.

    Only where a rim passes the other's edge, side or rim ``within`` that many mm: along any
    other such direction the solids are farther apart, or overlap deeper.
    """
    if isinstance(a, Flat):
        return _rims_on_edges(a, b, within) if isinstance(b, Round) else np.empty((0, 3))
    if isinstance(b, Flat):
        return _rims_on_edges(b, a, within)
    if (cross(a.axis, b.axis) ** 2).sum() <= NO_ANGLE**2:
        return np.empty((0, 3))
    return np.concatenate(
        (
            _rims_on_side(a, b, within),
            _rims_on_side(b, a, within),
            _rims_on_rims(a, b, within),
        )
    )


def _rims_on_edges(flat: Flat, bar: Round, within: float) -> Array:
    """Both rims on every edge that is neither along the axis nor square to it."""
    cosine = np.abs(flat.alongs @ bar.axis)
    keep = (cosine > NO_ANGLE) & (cosine < 1 - NO_ANGLE)
    if not keep.any():
        return np.empty((0, 3))
    lines = _Lines(bar, flat.starts[keep], flat.alongs[keep], 0.0, 0.0)
    row, angle = _zeros(lines.around(1.0), lines.radii, within)
    return _leaning(lines.alongs[row], _tangents(bar, angle), 0.0)


def _rims_on_side(side: Round, bar: Round, within: float) -> Array:
    """Both rims of ``bar`` on the side of another round solid."""
    thickness = float(side.radii[0]) * math.sqrt(1 - side.lean**2)
    lines = _Lines(bar, side.centres[:1], side.axis[None], side.lean, thickness)
    found: list[Array] = []
    for sign in (1.0,) if side.lean == 0.0 else (1.0, -1.0):
        row, angle = _zeros(lines.around(sign), lines.radii, within)
        arms = lines.arms[row] + lines.radii[row, None] * _spokes(bar, angle)
        found.append(across(arms, side.axis[None], side.lean))
        found.append(_leaning(lines.alongs[row], _tangents(bar, angle), side.lean))
    return np.concatenate(found)


class _Lines:
    """Both rims of a round solid against lines, one row for each rim and line.

    With ``p`` the rim's point at angle φ, ``t`` its tangent there, ``e`` the line's direction and
    ``w`` the arm from the line to ``p``: the direction ``n`` sought leans to the line by
    ``n·e = tilt``, lies in the plane of ``e`` and ``w``, and is square to ``t``. It may be had
    from ``e`` and ``t`` (``w`` has no length where a rim touches an edge), or from ``e`` and ``w``
    (``t`` may lie along ``e``).
    """

    __slots__ = ("_numbers", "_thickness", "_tilt", "alongs", "arms", "radii")

    def __init__(
        self, bar: Round, starts: Array, alongs: Array, tilt: float, thickness: float
    ) -> None:
        """``thickness``: how far a side reaches over its line along its normal at the start."""
        which = np.repeat((0, 1), len(starts))
        self._tilt, self._thickness = tilt, thickness
        self.alongs = np.concatenate((alongs, alongs))
        self.arms = bar.centres[which] - np.concatenate((starts, starts))
        self.radii = bar.radii[which]
        local, slope = self.arms @ bar.frame.T, self.alongs @ bar.frame.T
        along, size = (self.arms * self.alongs).sum(axis=1), (self.arms**2).sum(axis=1)
        columns = (local[:, 0], local[:, 1], along, slope[:, 0], slope[:, 1], self.radii, size)
        self._numbers = np.array(columns)[:, :, None]

    def around(self, sign: float) -> Around:
        """``n·t`` times the arm's length; sign +1: n points along the arm, -1: against it."""
        straight = sign * math.sqrt(1 - self._tilt**2)

        def square(angles: Array, row: Rows) -> tuple[Array, Array]:
            x, y, along, ex, ey, r, size = self._numbers[:, row]
            cos, sin = np.cos(angles), np.sin(angles)
            run, rise = along + r * (cos * ex + sin * ey), cos * ey - sin * ex
            far = size + r * r + 2 * r * (cos * x + sin * y) - run * run
            arm = np.sqrt(np.maximum(far, 0.0))
            value = straight * (cos * y - sin * x - run * rise)
            away = straight * arm - self._thickness
            if self._tilt != 0.0:
                value, away = value + self._tilt * rise * arm, away + self._tilt * run
            return value, np.abs(away)

        return square


def _leaning(along: Array, tangent: Array, tilt: float) -> Array:
    """Unit directions square to each ``tangent`` that lean to ``along`` by ``tilt``, both."""
    flat = along - (along * tangent).sum(axis=1)[:, None] * tangent
    size = np.sqrt((flat * flat).sum(axis=1))
    keep = (size > NO_ANGLE) & (size >= abs(tilt))
    tangent, size = tangent[keep], size[keep]
    flat = flat[keep] / size[:, None]
    cosine = (tilt / size)[:, None]
    lift: Array = np.sqrt(1 - cosine * cosine) * cross(tangent, flat)
    if tilt == 0.0:
        return lift
    return np.concatenate((cosine * flat + lift, cosine * flat - lift))


def _rims_on_rims(a: Round, b: Round, within: float) -> Array:
    """Directions square to a rim of each.

    The angle runs round the smaller of the two rims: round the larger one, all that matters may
    lie within a single step.
    """
    i, j, sign = (v.ravel() for v in np.meshgrid((0, 1), (0, 1), (1.0, -1.0)))
    less = a.radii[i] <= b.radii[j]
    return np.concatenate(
        (
            _round_rims(a, b, i[less], j[less], sign[less], within),
            _round_rims(b, a, j[~less], i[~less], sign[~less], within),
        )
    )


def _round_rims(a: Round, b: Round, i: Rows, j: Rows, sign: Array, within: float) -> Array:
    """Directions square to rims ``i`` of a and ``j`` of b, where they are nearest or farthest.

    For the point of a's rim at angle φ the nearest (sign +1) and farthest (-1) points of b's rim
    are in closed form; what is left is one function of φ: the part of their difference along
    a's tangent.
    """
    to_b = b.frame @ a.frame[:2].T
    arm = a.centres[i] - b.centres[j]
    table = np.array(
        (a.radii[i], b.radii[j] * sign, *(arm @ a.frame[:2].T).T, *(arm @ b.frame.T).T)
    )

    def facing(cos: Array, sin: Array, row: Rows) -> tuple[Array, Array, Array, Array]:
        """The point of a seen from b: direction across the axis, distance from it, z."""
        r, _, _, _, bx, by, bz = table[:, row, None]
        x, y, z = (
            at + r * (cos * turn[0] + sin * turn[1])
            for at, turn in zip((bx, by, bz), to_b, strict=True)
        )
        size = np.sqrt(x * x + y * y)
        return x / (size + 1e-300), y / (size + 1e-300), size, z

    def around(angles: Array, row: Rows) -> tuple[Array, Array]:
        _, other, ax, ay, _, _, _ = table[:, row, None]
        cos, sin = np.cos(angles), np.sin(angles)
        x, y, size, z = facing(cos, sin, row)
        turn_x, turn_y = (cos * to_b[k, 1] - sin * to_b[k, 0] for k in (0, 1))
        value = cos * ay - sin * ax - other * (x * turn_x + y * turn_y)
        return value, np.hypot(size - other, z)

    row, angle = _zeros(around, a.radii[i], within)
    x, y, _, _ = facing(np.cos(angle)[:, None], np.sin(angle)[:, None], row)
    return units(cross(_tangents(a, angle), x * b.frame[1] - y * b.frame[0]))


def _spokes(bar: Round, angle: Array) -> Array:
    """Unit directions from the axis to the rim at angles round it."""
    turned: Array = np.cos(angle)[:, None] * bar.frame[0] + np.sin(angle)[:, None] * bar.frame[1]
    return turned


def _tangents(bar: Round, angle: Array) -> Array:
    """The rim's unit tangents at angles round the axis."""
    turned: Array = np.cos(angle)[:, None] * bar.frame[1] - np.sin(angle)[:, None] * bar.frame[0]
    return turned


def _zeros(around: Around, radii: Array, within: float) -> tuple[Rows, Array]:
    """Where each row's function of one angle changes sign round the rim: rows and angles.

    Sixty-four steps round, then sixty-four over the four steps about every place that is not
    clear yet: a change whose neighbours differ much in slope may be three; a dip towards zero and
    away again may hide two (rims that all but touch along their tangents). What is still unclear
    in steps of 1e-7 rad is handed on as it is. Places farther off than ``within`` are dropped.
    """
    rows = len(radii)
    row, first, step = np.arange(rows), np.zeros(rows, dtype=np.intp), 2 * math.pi / 64
    found: list[tuple[Rows, Array, Array]] = [(row[:0], np.zeros(0), np.zeros(0))]
    while len(row):
        # one step more at either end, so that every place has neighbours
        angles: Array = step * (first[:, None] + np.arange(-1.0, 66.0))
        values, away = around(angles, row)
        # the rim's point moves by r times the angle, and with it what it is away, at the most
        near = away <= within + 3 * step * radii[row, None]
        sure, unsure = _places(values, near)
        if step < _PINNED or len(unsure[0]) > 16 * rows:
            sure = np.concatenate((sure[0], unsure[0])), np.concatenate((sure[1], unsure[1]))
            unsure = unsure[0][:0], unsure[1][:0]
        found.append((row[sure[0]], angles[sure], np.full(len(sure[0]), step)))
        if not len(unsure[0]):
            break
        # places are numbered in the finer steps; each once, however many steps pointed at it
        place = np.stack((row[unsure[0]], 16 * (first[unsure[0]] + unsure[1] - 2)))
        (row, first), step = np.unique(place, axis=1), step / 16
    row, start, width = (np.concatenate(p) for p in zip(*found, strict=True))
    return row, _narrowed(around, row, start, width)


def _places(values: Array, near: npt.NDArray[np.bool_]) -> tuple[Places, Places]:
    """Steps with one change of sign; steps with, or next to, what may be more than one."""
    differ, slope, size = _differ(values), np.abs(np.diff(values)), np.abs(values)
    steepest = np.maximum(np.maximum(slope[:, :-2], slope[:, 1:-1]), slope[:, 2:])
    flattest = np.minimum(np.minimum(slope[:, :-2], slope[:, 1:-1]), slope[:, 2:])
    even, change = 2 * flattest >= steepest, differ[:, 1:-1] & near[:, 1:-2]
    before, here, after = size[:, :-2], size[:, 1:-1], size[:, 2:]
    bend = before + after - 2 * here
    # the lowest point of the parabola through three neighbours, at less than half the middle one
    dips = (here <= before) & (here <= after) & ((after - before) ** 2 >= 4 * here * bend)
    dips &= near[:, 1:-1] & ~(differ[:, 1:] | differ[:, :-1])
    sure, unsure = np.nonzero(change & even), np.nonzero(change & ~even)
    where, at = np.nonzero(dips)
    unclear = np.concatenate((unsure[0], where)), np.concatenate((unsure[1] + 1, at))
    return (sure[0], sure[1] + 1), unclear


def _narrowed(around: Around, row: Rows, start: Array, width: Array) -> Array:
    """The zeros within intervals, each narrowed by parts crowded about a straight line's zero.

    Three rounds of that leave about 1e-12 rad.
    """
    if not len(row):
        return start
    index, parts = np.arange(len(row)), np.broadcast_to(_EVEN, (len(row), len(_EVEN)))
    for _ in range(3):
        angles = start[:, None] + width[:, None] * parts
        values, _ = around(angles, row)
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
