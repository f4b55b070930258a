"""Whether the edge a coordinate is counted from is one of its face's edges."""

from __future__ import annotations

from typing import Final

from fit.model.words import UPRIGHT, FaceName
from fit.read.scalars import listed
from fit.read.schema_place import FromKeys
from fit.read.words import Say

_UPRIGHT_ONLY: Final = {"from_rim", "from_floor"}
_LEVEL_ONLY: Final = {"from_front", "from_back"}


def edge_suits(
    faces: tuple[FaceName, ...], given: FromKeys, loc: tuple[str | int, ...], say: Say
) -> bool:
    """Report a coordinate that names no edge or several, or one a face has not.

    Args:
        faces: every face the thing may be on.
        given: the coordinate.
        loc: its keys; the last one is its own.
        say: told what is wrong.
    """
    keys = sorted(given.model_fields_set)
    if len(keys) != 1:
        say(
            loc,
            f"'{loc[-1]}' names {len(keys) or 'no'} edges",
            f"write one of {listed(type(given).key_words())}",
        )
        return False
    key, where = keys[0], (*loc, keys[0])
    level = next((face for face in faces if face not in UPRIGHT), None)
    upright = next((face for face in faces if face in UPRIGHT), None)
    both = "write centre or {share: 0.5}: upright and level faces share no edge but left and right"
    if key in _UPRIGHT_ONLY and level is not None:
        say(
            where,
            f"'{key}' has no meaning on the {level}, which lies level",
            both if upright else "write 'from_front' or 'from_back'",
        )
        return False
    if key in _LEVEL_ONLY and upright is not None:
        say(
            where,
            f"'{key}' has no meaning on '{upright}', which stands upright",
            both if level else "write 'from_rim' or 'from_floor'",
        )
        return False
    return True
