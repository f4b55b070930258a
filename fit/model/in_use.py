"""Which way up a face is read when the box stands as it does in use."""

from __future__ import annotations

from typing import Final

from fit.model.words import FaceName

_Axis = tuple[int, int, int]

_AXES: Final[dict[FaceName, tuple[_Axis, _Axis]]] = {
    FaceName.FRONT: ((1, 0, 0), (0, 0, 1)),
    FaceName.RIGHT: ((0, 1, 0), (0, 0, 1)),
    FaceName.BACK: ((-1, 0, 0), (0, 0, 1)),
    FaceName.LEFT: ((0, -1, 0), (0, 0, 1)),
    FaceName.LID: ((1, 0, 0), (0, 1, 0)),
    FaceName.FLOOR: ((-1, 0, 0), (0, 1, 0)),
}
"""Each face's `across` and `up` in the box frame, without the lean of its wall."""


def quarter_in_use(face: FaceName, stands_on: FaceName) -> int:
    """How far the viewer's right and up are turned against a face's frame, in use.

    With the box on its lid a wall is seen upside down: 180, and the viewer's left to right runs
    against `across`. A face that lies level in use, on top or underneath, is read in its own
    frame: 0.

    Args:
        face: the face looked at, from outside.
        stands_on: the face that is down in use.

    Returns:
        0, 90, 180 or 270 degrees counter-clockwise: at 0 the viewer's right is `across` and
        their up is `up`; at 90 it is `up` and minus `across`, and so on.
    """
    across, up = _AXES[face]
    right_down, up_down = _AXES[stands_on]
    # Up in use is against the outward normal of the face it stands on: up × across.
    x, y, z = (
        up_down[1] * right_down[2] - up_down[2] * right_down[1],
        up_down[2] * right_down[0] - up_down[0] * right_down[2],
        up_down[0] * right_down[1] - up_down[1] * right_down[0],
    )
    on_across = x * across[0] + y * across[1] + z * across[2]
    on_up = x * up[0] + y * up[1] + z * up[2]
    return {(0, 1): 0, (-1, 0): 90, (0, -1): 180, (1, 0): 270}.get((on_across, on_up), 0)
