"""Open parts of one face as one row: same height, equal steps, where there is most room."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fit.solve.room import CAP, Array


@dataclass(frozen=True, slots=True)
class Row:
    """A row found: smallest margin, mm; centres (across), mm; height (up), mm."""

    margin: float
    across: tuple[float, ...]
    up: float


def best_row(
    across: Array, up: Array, maps: list[Array], wide: list[float], finger: float
) -> Row | None:
    """The roomiest even row of parts in the given order, left to right.

    Among rows that differ by less than 0.25 mm of margin the one nearest the middle of the face
    is taken, then the one nearest the middle of its height.

    Args:
        across, up: the grid, mm.
        maps: margins for each part over the grid, (across, up).
        wide: width of each part's outline, mm.
        finger: free space wanted between neighbours' outlines, mm.

    Returns:
        The row, or None when the grid is empty. Its margin may be negative.
    """
    if not len(across) or not len(up):
        return None
    step = float(across[1] - across[0]) if len(across) > 1 else 1.0
    count = len(maps)
    closest = max((a + b) / 2 for a, b in pairwise(wide)) if count > 1 else 0.0
    least = int(np.ceil((closest + min(finger, 2.0)) / step)) if count > 1 else 0
    most = (len(across) - 1) // max(1, count - 1) if count > 1 else 0
    middle = (np.abs(across - across.mean())[:, None] / 1000.0) + (
        np.abs(up - up.mean())[None, :] / 2000.0
    )
    best: tuple[float, Row] | None = None
    for pitch in range(least, most + 1):
        usable = len(across) - pitch * (count - 1)
        if usable <= 0:
            break
        rows = np.full((usable, len(up)), CAP)
        for i, each in enumerate(maps):
            rows = np.minimum(rows, each[i * pitch : i * pitch + usable, :])
        if count > 1:
            rows = np.minimum(rows, (pitch * step - closest - finger) / 2 + 1.0)
        half = pitch * (count - 1) // 2
        score = np.round(rows * 4) / 4 - middle[half : half + usable, :]
        a, u = np.unravel_index(int(np.argmax(score)), score.shape)
        if best is None or score[a, u] > best[0] + 1e-12:
            centres = tuple(float(across[a + i * pitch]) for i in range(count))
            best = (float(score[a, u]), Row(float(rows[a, u]), centres, float(up[u])))
    return None if best is None else best[1]
