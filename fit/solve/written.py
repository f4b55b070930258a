"""Places as a person would write them: from the middle, from the rim, in hundredths at most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fit.geometry.box import Face, faces
from fit.model.build import Build, Coordinate, How, Place, Used
from fit.model.words import UPRIGHT
from fit.solve.free import Put, put_in
from fit.units import Length

_SAME = 0.005
_DIGITS = 2


def written(build: Build, puts: Mapping[str, Put]) -> Build:
    """The build with parts put there, in words that survive another box where they can.

    Across counts from the middle of the face; up from the rim of an upright face, and from the
    front edge or the middle of lid and floor, whichever is a whole number. Rounded to hundredths.
    """
    put = put_in(build, puts)
    known = faces(build.box)
    parts = tuple(
        _worded(used, puts[used.name], known[puts[used.name].option.face])
        if used.name in puts
        else used
        for used in put.parts
    )
    return replace(put, parts=parts)


def _worded(used: Used, put: Put, face: Face) -> Used:
    if used.at is None or (put.across is None and put.up is None):
        return used
    place: Place = used.at
    if put.up is not None:
        place = replace(place, up=up_words(face, put.up))
    if put.across is not None:
        place = replace(place, across=across_words(face, put.across, put.up))
    return replace(used, at=place)


def across_words(face: Face, across: float, up: float | None) -> Coordinate:
    """A coordinate across a face, mm, as it is written."""
    ups = [p[1] for p in face.outline]
    low, high = face.reach((min(ups) + max(ups)) / 2 if up is None else up)
    if abs(across - (low + high) / 2) < _SAME:
        return Coordinate(how=How.CENTRE)
    return Coordinate(how=How.AT, value=_length(across))


def up_words(face: Face, up: float) -> Coordinate:
    """A coordinate up a face, mm, as it is written."""
    ups = [p[1] for p in face.outline]
    if abs(up - (min(ups) + max(ups)) / 2) < _SAME:
        return Coordinate(how=How.CENTRE)
    if face.name in UPRIGHT:
        return Coordinate(how=How.FROM_RIM, value=_length(max(ups) - up))
    front = up - min(ups)
    if _whole(up) and not _whole(front):
        # A leaning wall's edge is seldom on a whole millimetre; its middle line always is.
        return Coordinate(how=How.AT, value=_length(up))
    return Coordinate(how=How.FROM_FRONT, value=_length(front))


def _whole(mm: float) -> bool:
    """On a whole or half millimetre, as it is written."""
    return abs(2 * mm - round(2 * mm)) < 2 * _SAME


def _length(mm: float) -> Length:
    # Adding 0 turns -0.0, which nobody writes, into 0.0.
    return Length(round(mm, _DIGITS) + 0.0)
