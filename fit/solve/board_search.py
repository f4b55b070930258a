"""The biggest outline that the checker passes: search on a map, ask, shrink, ask again.

The best outline of a map is proposed. Where the checker objects, any other outline of at most its
size either leaves out its leftmost column, its rightmost, its lowest or its highest row (exact
for rectangles that share a cell), so the search goes on in these four smaller windows, the
largest promise first. What passes is then grown row by row as far as the checker lets it.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

from fit.check import Family, Inspection, inspected
from fit.check.inspect import RULES
from fit.findings import Finding, Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.model.build import Build
from fit.solve.board_fixed import FOOT, Kept, broken
from fit.solve.board_grid import Grid, builds_with
from fit.solve.board_map import CellMap, State
from fit.solve.outline import Limits, Notch, NotchAt, Outline, Rect, biggest_board
from fit.solve.run import Watch

SIDES = ("left", "lower", "right", "upper")
"""The sides of a board in the order of a rectangle's numbers."""

QUICK_FIRST = (
    *(r for r in RULES if r.family not in (Family.BODIES, Family.GOING_IN, Family.ORDER)),
    *(r for r in RULES if r.family in (Family.BODIES, Family.GOING_IN, Family.ORDER)),
)
"""All rules, those that measure many solids last."""

_LEFT = (NotchAt.LEFT, NotchAt.LOWER_LEFT, NotchAt.UPPER_LEFT)
_RIGHT = (NotchAt.RIGHT, NotchAt.LOWER_RIGHT, NotchAt.UPPER_RIGHT)
_LOWER = (NotchAt.LOWER, NotchAt.LOWER_LEFT, NotchAt.LOWER_RIGHT)
_UPPER = (NotchAt.UPPER, NotchAt.UPPER_LEFT, NotchAt.UPPER_RIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What the checker says of an outline: the build with it, and the worst clash or None."""

    build: Build | None
    clash: Finding | None

    @property
    def passes(self) -> bool:
        """Whether the build goes together."""
        return self.build is not None and self.clash is None


@dataclass(slots=True, kw_only=True)
class Judge:
    """The checker, asked about outlines of one board; each outline is judged once.

    Attributes:
        build: with every part placed.
        grid: of the board.
        tell: told how often it was asked.
    """

    build: Build
    grid: Grid
    tell: Callable[[str], None]
    _said: dict[Outline, Judged] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        """How many outlines it judged."""
        return len(self._said)

    def __call__(self, outline: Outline) -> Judged:
        """What the checker says of the board with an outline."""
        found = self._said.get(outline)
        if found is None:
            self.tell(f"checking outline {len(self._said) + 1} of {self.grid.name}")
            found = self._said[outline] = self._judged(outline)
        return found

    def _judged(self, outline: Outline) -> Judged:
        said = Judged(build=None, clash=None)
        for build in builds_with(self.build, self.grid, outline):
            said = judged(build)
            if said.passes:
                break
        return said

    def reason(self, outline: Outline) -> Finding | None:
        """The worst clash of an outline that does not pass, after all rules."""
        for build in builds_with(self.build, self.grid, outline):
            try:
                return worst_clash(inspected(Inspection(assemble(build))))
            except UnusableInput:
                continue
        return None


def judged(build: Build) -> Judged:
    """What the rules say of a build, the quick ones first, up to the first that finds a clash."""
    try:
        look = Inspection(assemble(build))
    except UnusableInput:
        return Judged(build=None, clash=None)
    for rule in QUICK_FIRST:
        clash = worst_clash(rule.check(look))
        if clash is not None:
            return Judged(build=build, clash=clash)
    return Judged(build=build, clash=None)


def worst_clash(findings: Iterable[Finding]) -> Finding | None:
    """The clash that is short of most, or None."""
    clashes = [f for f in findings if f.grade is Grade.CLASH]
    return min(clashes, key=_margin) if clashes else None


def _margin(finding: Finding) -> float:
    return finding.margin


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """Where a board may be: a map, what has to be kept, and what may be sawn."""

    map: CellMap
    kept: Kept
    limits: Limits
    step: float

    def best(self, window: Rect, worst: State) -> Outline | None:
        """The outline with most cells in a window on the safe or the loose map."""
        x0, y0, _, _ = window
        if not all(_holds(window, cell) for cell in self.kept.cells):
            return None
        free = self.map.free(window, worst)
        points = [(x - x0, y - y0) for x, y in self.kept.cells]
        if not free or not free[0] or not all(free[y][x] for x, y in points):
            return None
        found = biggest_board(free, points, self.limits)
        return None if found is None else shifted(found, x0, y0)

    def bound(self) -> int:
        """No outline of the kind can have more cells than this: what is sure to be in the way."""
        cells = frozenset(c for c in self.kept.cells if self.kept.why[c] != FOOT)
        loose = replace(self, kept=replace(self.kept, cells=cells))
        found = loose.best(self.kept.window, State.DOUBTFUL)
        return 0 if found is None else found.area


def _holds(window: Rect, cell: tuple[int, int]) -> bool:
    return window[0] <= cell[0] < window[2] and window[1] <= cell[1] < window[3]


def shifted(outline: Outline, dx: int, dy: int) -> Outline:
    """An outline moved by whole cells."""

    def moved(r: Rect) -> Rect:
        return r[0] + dx, r[1] + dy, r[2] + dx, r[3] + dy

    notches = tuple(replace(n, rect=moved(n.rect)) for n in outline.notches)
    return Outline(rect=moved(outline.rect), notches=notches)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sought:
    """What came of a search.

    Attributes:
        outline: the largest that passes, or None.
        most: no outline on the map that keeps the rules can have more cells.
        ended: False when the search was cut short: `most` may then be above `outline`.
        last: what the checker said of the last one it refused.
    """

    outline: Outline | None
    most: int
    ended: bool
    last: Finding | None = None


def seek(
    floor: Floor,
    judge: Judge,
    worst: State,
    watch: Watch,
    *,
    above: int = 0,
    tries: int = 60,
    window: Rect | None = None,
) -> Sought:
    """The largest outline on a map with more than `above` cells that the checker passes.

    Args:
        floor: the map and what is asked of the outline.
        judge: the checker.
        worst: the worst state of a cell that may be board.
        watch: clock and stop switch.
        above: smaller ones are of no interest.
        tries: how many outlines are judged at most.
        window: where to look; the kept window when left out.
    """
    heap: list[tuple[int, int, Rect, Outline]] = []
    seen: set[Rect] = set()
    asked, last = judge.asked, None

    def push(where: Rect) -> None:
        if where in seen or where[0] >= where[2] or where[1] >= where[3]:
            return
        seen.add(where)
        found = floor.best(where, worst)
        if found is not None and found.area > above:
            heapq.heappush(heap, (-found.area, len(seen), where, found))

    push(window or floor.kept.window)
    while heap:
        area, _, where, outline = heapq.heappop(heap)
        if watch.left <= 0 or judge.asked - asked >= tries:
            return Sought(outline=None, most=-area, ended=False, last=last)
        lowest = _lowest(floor, judge.grid, outline)
        wrong_width = lowest is not None and not judge(lowest).passes
        if wrong_width and lowest is not None:
            last = judge(lowest).clash or last
        elif not broken(floor.kept, outline, floor.step):
            said = judge(outline)
            if said.passes:
                return Sought(outline=outline, most=-area, ended=True)
            last = said.clash or last
        for smaller in _windows(where, outline.rect, across=wrong_width):
            push(smaller)
    return Sought(outline=None, most=above, ended=True, last=last)


def _lowest(floor: Floor, grid: Grid, outline: Outline) -> Outline | None:
    """A standing board as wide as an outline and as low as can be, else None.

    Where its joint comes to sit goes by its width alone: if this one is refused, so is every
    higher one of that width.
    """
    if not grid.standing:
        return None
    top = max(row for _, row in floor.kept.cells) + 1
    x0, y0, x1, _ = outline.rect
    kept = tuple(
        replace(n, rect=(n.rect[0], n.rect[1], n.rect[2], min(n.rect[3], top)))
        for n in outline.notches
        if n.rect[1] < top
    )
    return Outline(rect=(x0, y0, x1, top), notches=kept)


def _windows(where: Rect, rect: Rect, *, across: bool) -> Iterator[Rect]:
    """The window without one line of cells at each side of an outline, or at left and right."""
    x0, y0, x1, y1 = where
    yield max(x0, rect[0] + 1), y0, x1, y1
    yield x0, y0, min(x1, rect[2] - 1), y1
    if across:
        return
    yield x0, max(y0, rect[1] + 1), x1, y1
    yield x0, y0, x1, min(y1, rect[3] - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grown:
    """An outline that cannot be grown, and why: by side, and by notch in order.

    A reason is None where growing was not tried (time was up) or the checker was not to be asked
    (the board stands on that edge, a socket looks over it).
    """

    outline: Outline
    sides: dict[str, Finding | None]
    notches: tuple[Finding | None, ...]


def grow(floor: Floor, judge: Judge, outline: Outline, watch: Watch) -> Grown:
    """Grow an outline that passes, one line of cells at a time, while the checker lets it.

    Each side is moved out, each notch filled or drawn in. One line more on any side, or in any
    notch, is then a clash.
    """
    x0, y0, x1, y1 = floor.kept.window
    while watch.left > 0:
        for _, other in _larger(outline, floor.limits):
            r = other.rect
            within = r[0] >= x0 and r[1] >= y0 and r[2] <= x1 and r[3] <= y1
            within = within and floor.limits.takes(r)
            if within and watch.left > 0 and judge(other).passes:
                outline = other
                break
        else:
            break
    # The reasons come from what was refused; an unasked one is asked now if there is time.
    sides: dict[str, Finding | None] = dict.fromkeys(SIDES)
    for side in SIDES:
        larger = side_moved(outline, side)
        r = larger.rect
        within = r[0] >= x0 and r[1] >= y0 and r[2] <= x1 and r[3] <= y1
        if within and floor.limits.takes(r) and watch.left > 0:
            sides[side] = judge.reason(larger)
    notches = [
        judge.reason(_without(outline, n)) if watch.left > 0 else None
        for n in range(len(outline.notches))
    ]
    return Grown(outline=outline, sides=sides, notches=tuple(notches))


def _larger(outline: Outline, limits: Limits) -> Iterator[tuple[str, Outline]]:
    """The outlines one step larger, those with fewer notches first."""
    for n in range(len(outline.notches)):
        yield f"notch {n}", _without(outline, n)
    for side in SIDES:
        yield side, side_moved(outline, side)
    for n, notch in enumerate(outline.notches):
        for smaller in _drawn_in(notch, outline.rect, limits):
            notches = (*outline.notches[:n], smaller, *outline.notches[n + 1 :])
            yield f"notch {n}", replace(outline, notches=notches)


def _without(outline: Outline, n: int) -> Outline:
    return replace(outline, notches=(*outline.notches[:n], *outline.notches[n + 1 :]))


def side_moved(outline: Outline, side: str, by: int = 1) -> Outline:
    """An outline with one side further out; notches at that side go with it."""
    at = SIDES.index(side)
    step = -by if at < 2 else by
    touching = (_LEFT, _LOWER, _RIGHT, _UPPER)[at]

    def moved(r: Rect) -> Rect:
        values = list(r)
        values[at] += step
        return values[0], values[1], values[2], values[3]

    notches = tuple(
        replace(n, rect=moved(n.rect)) if n.at in touching else n for n in outline.notches
    )
    return Outline(rect=moved(outline.rect), notches=notches)


def _drawn_in(notch: Notch, rect: Rect, limits: Limits) -> Iterator[Notch]:
    """A notch one line smaller on each of its inner sides."""
    edge = notch.at in (NotchAt.LEFT, NotchAt.RIGHT, NotchAt.LOWER, NotchAt.UPPER)
    for at, (low, outer) in enumerate(zip(notch.rect, rect, strict=True)):
        if low == outer:
            continue
        values = list(notch.rect)
        values[at] += 1 if at < 2 else -1
        w, h = values[2] - values[0], values[3] - values[1]
        mouth = w if notch.at in (NotchAt.LOWER, NotchAt.UPPER) else h
        if w > 0 and h > 0 and not (edge and mouth < limits.least_notch):
            yield replace(notch, rect=(values[0], values[1], values[2], values[3]))
