"""The smallest box of a family in which a build goes together, exact on a grid.

Family: walls, floor, lid, draft, rounds and board posts as in a box given; closing posts go with
their corners. Smallest: the least free inside, length × width × height, mm³; of equal ones the one
whose longest side is shortest, then the shorter, narrower, lower.

A build that goes at one size need not go at a larger one (what is placed from an edge moves), so
no answer may be got by halving. Every point of the grid is answered, in the order of volume, but
most without asking the whole check:

- below a bound that quick rejects give for each size by itself, nothing goes;
- where two solids, or a solid and a wall, overlap by a depth d, they still overlap at every size
  whose difference moves them against each other by less than d. Things stand off left and right
  walls, front and back, floor and rim by fixed lengths, shares or from the middle, so from one
  size to another no two move by more than |ΔL| along X, |ΔW| along Y and |ΔH| along Z, and with
  draft by 2·|ΔH|·tan δ more along X and along Y. The depth of two convex solids is the least
  length of a shift that parts them, so it changes by no more than they move.

Where it is known how two things move against each other (not at all, often), that is taken
instead. Holes of boards that snap to a grid jump; a clash about such a board counts for that much
less.

Where a part of a face that is left open has no room in any row, the places of a row that were
looked at lie still in the face's own frame, and what stands in the way of each moves by no more
than that either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from fit.check.bodies import bodies
from fit.check.inspect import RULES
from fit.check.lid import lid
from fit.check.rule import Inspection, Rule
from fit.check.walls import walls
from fit.check.webs import edges, webs
from fit.findings import Finding, Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.model.box import Tray
from fit.model.build import Build
from fit.solve.other.family import Range, sized
from fit.solve.other.goes import first_clash
from fit.solve.other.kin import Cut, Kin
from fit.solve.other.rejects import too_small
from fit.solve.other.resize import Inside

Grid = npt.NDArray[np.float64]

_CHUNK: Final = 4096

_DEEP_RULES: Final[tuple[Rule, ...]] = (walls, lid, bodies, webs, edges)
"""Rules whose margin falls by no more than things move."""

_ALWAYS: Final = frozenset(
    {
        *("thread", "panel-thickness", "passes", "anti-turn", "cable-seal", "filter"),
        *("post-pilots", "post-walls", "board-grid", "notch-rows", "step-bit"),
    }
)
"""Rules about a part and its own hole, wall or post: what clashes there does so at every size."""

_ENOUGH: Final = 1.0
"""A clash as deep as this rules enough out, mm: slower rules are not asked then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smallest:
    """What a search came to.

    Attributes:
        inside: the smallest free inside, or None when there is none in the range.
        box: the box of that inside, or None.
        range: what was looked at.
        points: how many sizes that is.
        asked: how many of them were put together and checked.
        below: no box with a smaller inside than this goes, mm³.
        whole: whether the search came to its end.
        never: what clashes at every size, or None.
    """

    inside: Inside | None
    box: Tray | None
    range: Range
    points: int
    asked: int
    below: float
    whole: bool = True
    never: Finding | None = None


class _Points:
    """Every size of a range in the order of volume, and which of them are answered.

    Args:
        within: the range.
    """

    def __init__(self, within: Range) -> None:
        low, high, step = within.low, within.high, within.step

        def axis(a: float, b: float) -> Grid:
            return np.arange(round(a / step), round(b / step) + 1, dtype=np.float64) * step

        self.axes = (
            axis(low.length, high.length),
            axis(low.width, high.width),
            axis(low.height, high.height),
        )
        grid = np.meshgrid(*self.axes, indexing="ij")
        sizes = np.stack([g.ravel() for g in grid], axis=1)
        volume = np.round(sizes.prod(axis=1), 6)
        keys = (sizes[:, 2], sizes[:, 1], sizes[:, 0], sizes.max(axis=1), volume)
        self._order = np.lexsort(keys)
        self.open = np.ones([len(values) for values in self.axes], dtype=bool)

    @property
    def count(self) -> int:
        """How many sizes there are."""
        return len(self._order)

    def waiting(self) -> Iterator[tuple[int, Inside]]:
        """The sizes not answered yet, in order; answers given meanwhile count."""
        flat = self.open.reshape(-1)
        for start in range(0, self.count, _CHUNK):
            chunk = self._order[start : start + _CHUNK]
            for n, at in enumerate(chunk[flat[chunk]].tolist()):
                if flat[at]:
                    yield start + n, self._at(at)

    def _at(self, flat: int) -> Inside:
        i, j, k = np.unravel_index(flat, self.open.shape)
        length, width, height = self.axes
        return Inside(length=float(length[i]), width=float(width[j]), height=float(height[k]))

    def close(self, at: Inside, cut: Cut) -> None:
        """Nothing goes at this size, nor at those a cut rules out with it."""
        spans, offs = [], []
        middle = (at.length, at.width, at.height)
        for values, centre, weight in zip(self.axes, middle, cut.weights, strict=True):
            off = np.abs(values - centre) * weight
            near = np.flatnonzero((off < cut.depth) | (off == 0.0))
            spans.append(slice(int(near[0]), int(near[-1]) + 1))
            offs.append(off[spans[-1]])
        total = offs[0][:, None, None] + offs[1][None, :, None] + offs[2][None, None, :]
        self.open[tuple(spans)] &= (total >= cut.depth) & (total > 0.0)


def smallest(
    build: Build,
    within: Range,
    tell: Callable[[str], None] = lambda _: None,
) -> Smallest:
    """The smallest inside in a range at which a build goes together in its box's family.

    Args:
        build: in the box whose family is meant.
        within: the range.
        tell: called with how far the search is. Ctrl-C ends it with what is known.
    """
    points = _Points(within)
    none = Smallest(
        inside=None,
        box=None,
        range=within,
        points=points.count,
        asked=0,
        below=within.high.volume,
    )
    never = _never(build)
    if never is not None:
        return replace(none, never=never)
    known = Kin(build, within)
    asked, below = 0, 0.0
    try:
        for n, size in points.waiting():
            below = size.volume
            if asked % 50 == 0:
                tell(f"nothing below {below / 1000:.0f} cm³, {n} of {points.count} sizes")
            made = sized(build, size)
            if made is None or too_small(made) is not None:
                continue
            asked += 1
            cuts = tuple(_cuts(made, known))
            for cut in cuts:
                points.close(size, cut)
            if not cuts and first_clash(made) is None:
                return replace(none, inside=size, box=made.box, asked=asked, below=below)
    except KeyboardInterrupt:
        return replace(none, asked=asked, below=below, whole=False)
    return replace(none, asked=asked)


def _never(build: Build) -> Finding | None:
    """A clash that no size of the box would mend."""
    try:
        look = Inspection(assemble(build))
    except UnusableInput:
        return None
    found = (f for rule in RULES if rule.name in _ALWAYS for f in rule.check(look))
    return next((f for f in found if f.grade is Grade.CLASH), None)


def _cuts(build: Build, known: Kin) -> Iterator[Cut]:
    """What the clashes of a build rule out; none when it has none of the kinds that do.

    Parts without a place are left out: a clash of the others is one whatever place these get.
    """
    if build.either_half:
        return
    try:
        scene = assemble(build)
    except UnusableInput:
        if not known.choices:
            yield known.here
        return
    plain = tuple(known.boards(scene))
    yield from plain
    if any(cut.depth > _ENOUGH for cut in plain):
        return
    look, clash = Inspection(scene), False
    for rule in _DEEP_RULES:
        found = [f for f in rule.check(look) if f.grade is Grade.CLASH and known.sure(f)]
        yield from (known.cut(f) for f in found)
        if any(-f.margin > _ENOUGH for f in found):
            return
        clash = clash or bool(found)
    if not clash:
        yield from known.places(scene)
