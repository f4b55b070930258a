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
  zeros of a smooth function of one angle (:mod:`fit.geometry.rims`).
"""

from __future__ import annotations

import numpy as np

from fit.geometry.frames import Vec
from fit.geometry.rims import rim_directions
from fit.geometry.skins import NO_ANGLE, Flat, Round, Skin, across, cross, units
from fit.geometry.support import Array

Way = tuple[float, Vec]
"""A gap in mm and the unit direction from a to b along which it is left."""


def quick_way(a: Skin, b: Skin) -> Way:
    """The best of the directions that need no search: all there are between flat solids."""
    return _best(a, b, _quick(a, b))


def rim_way(a: Skin, b: Skin, within: float) -> Way | None:
    """The best of the directions found round the rims, None if there are none.

    ``within``: an upper bound, mm, for the better of two numbers: how far the solids are apart,
    and how deep they are known to overlap at the most.

    The search goes round the rims in steps of 5.6° and finer where it must; should it miss a
    direction all the same, the depth comes out too great, never too small.
    """
    directions = rim_directions(a, b, within)
    return _best(a, b, directions) if len(directions) else None


def _best(a: Skin, b: Skin, directions: Array) -> Way:
    """The greatest gap over all directions, either way, and the direction from a to b."""
    both = np.concatenate((directions, -directions))
    reach_a, reach_b = a.reach(both), b.reach(both)
    half = len(directions)
    gaps = -reach_a
    gaps[:half] -= reach_b[half:]
    gaps[half:] -= reach_b[:half]
    at = int(gaps.argmax())
    x, y, z = both[at]
    return float(gaps[at]), (float(x), float(y), float(z))


def _quick(a: Skin, b: Skin) -> Array:
    """The directions that need no search."""
    if isinstance(a, Round):
        return _quick_round(a, b) if isinstance(b, Round) else _quick_mixed(b, a)
    if isinstance(b, Round):
        return _quick_mixed(a, b)
    between = units(cross(a.directions[:, None], b.directions[None]).reshape(-1, 3))
    return np.concatenate((a.normals, b.normals, between))


def _quick_mixed(flat: Flat, bar: Round) -> Array:
    """Between a flat and a round solid: faces, disc, side on corner, side on edge."""
    tried = [
        flat.normals,
        bar.axis[None],
        _side_to_points(bar, flat.points),
        _square_and_leaning(bar.axis, bar.lean, flat.directions, 0.0),
    ]
    if bar.lean != 0.0:
        # the wider rim of a cone on an edge along its axis, which a cylinder meets with its side
        tried.append(across(flat.points - bar.centres[0], bar.axis[None], 0.0))
    return np.concatenate(tried)


def _quick_round(a: Round, b: Round) -> Array:
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


def _side_to_points(bar: Round, points: Array) -> Array:
    """Normals of the side that point towards (a polygon's corner, a parallel bar's axis)."""
    return across(points - bar.centres[0], bar.axis[None], bar.lean)


def _square_and_leaning(axis: Array, lean_a: float, others: Array, lean_b: float) -> Array:
    """Unit directions ``n`` with ``n·axis = lean_a`` and ``n·other = lean_b``, up to two each."""
    normal = cross(others, axis)
    size = (normal * normal).sum(axis=1)
    keep = size > NO_ANGLE**2
    others, normal, size = others[keep], normal[keep], size[keep]
    cosine = others @ axis
    p, q = (lean_a - cosine * lean_b) / size, (lean_b - cosine * lean_a) / size
    inplane = p[:, None] * axis + q[:, None] * others
    rest = 1 - (inplane * inplane).sum(axis=1)
    keep = rest >= 0
    lift = np.sqrt(rest[keep] / size[keep])[:, None] * normal[keep]
    inplane, others = inplane[keep], np.concatenate((others[keep], others[keep]))
    found = np.concatenate((inplane + lift, inplane - lift))
    return _sharpened(found, axis, lean_a, others, lean_b)


def _sharpened(found: Array, axis: Array, lean_a: float, others: Array, lean_b: float) -> Array:
    """The directions after three steps of Newton's method towards both leanings and length 1.

    Between axes that are all but parallel a direction is the small difference of two great ones.
    A flat cone makes much of the error that leaves: its side reaches ``r·cot`` of the half angle
    farther for each radian.
    """
    normal = cross(others, axis)
    size = (normal * normal).sum(axis=1)
    cosine = others @ axis
    for _ in range(3):
        along_a, along_b = found @ axis, (found * others).sum(axis=1)
        off_a, off_b = lean_a - along_a, lean_b - along_b
        p, q = (off_a - cosine * off_b) / size, (off_b - cosine * off_a) / size
        longer = (1 - (found * found).sum(axis=1)) / 2 - p * along_a - q * along_b
        lift = (found * normal).sum(axis=1)
        # flat against both sides the direction lies in the axes' plane, and there it stays
        s = np.where(np.abs(lift) > NO_ANGLE, longer / np.where(lift == 0.0, 1.0, lift), 0.0)
        found = found + p[:, None] * axis + q[:, None] * others + s[:, None] * normal
    return units(found)
