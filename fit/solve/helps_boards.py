"""Boards that would help where there is no layout: on other spacers, cut shorter, notched."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from fit.check import inspected
from fit.check.mend_boards import (
    board_resized,
    kept_place,
    notch_on_rows,
    notch_words,
    notches,
    standing,
)
from fit.check.mend_change import Cost, Trial, with_part
from fit.check.rule import Inspection
from fit.findings import Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build, Used
from fit.model.part import Board, Notch
from fit.model.words import BoardStock
from fit.solve.helps_try import Change, Trier
from fit.solve.nolayout import Help
from fit.units import PITCH, show

_MOST_ROWS = 8
"""More rows than this are another board, not a cut."""

_MOST_NOTCH = 16
"""A notch reaches in by at most so many rows."""

_SPARE = 1
"""Two notches at one side leave so many rows of their halves."""

_ROUNDS = 4
"""At most so many things are notched round."""

_SPANS = 3
"""Along an edge so many of the lengths where nothing stands are looked at, the longest first."""

Spot = tuple[int | None, int | None, int]
"""Which end along each of a board's sides a notch is at, 0 or 1; None: along that side, where
nothing stands, and which of such lengths."""

_CORNERS: dict[str, Spot] = {
    "lower left": (0, 0, 0),
    "lower right": (1, 0, 0),
    "upper left": (0, 1, 0),
    "upper right": (1, 1, 0),
}
_EDGES: dict[str, tuple[int | None, int | None]] = {
    "left": (0, None),
    "right": (1, None),
    "lower": (None, 0),
    "upper": (None, 1),
}

Site = tuple[str, tuple[Spot, ...]]
"""Where a board is notched: in words, and where each notch is."""

_PAIRS = (
    ("lower left", "lower right"),
    ("upper left", "upper right"),
    ("lower left", "upper left"),
    ("lower right", "upper right"),
)

SITES: tuple[Site, ...] = (
    *((f"{word} corner", (spot,)) for word, spot in _CORNERS.items()),
    *((f"{word} edge", ((*ends, n),)) for word, ends in _EDGES.items() for n in range(_SPANS)),
)

SITES_OF_MORE: tuple[Site, ...] = (
    *((f"{a} and {b} corners", (_CORNERS[a], _CORNERS[b])) for a, b in _PAIRS),
    ("four corners", tuple(_CORNERS.values())),
)


def _boards(build: Build) -> Iterator[tuple[Used, Board]]:
    for used in build.parts:
        if isinstance(used.part, Board):
            yield used, used.part


def spacers(build: Build, tried: Trier) -> Iterator[Help]:
    """Other spacers under a board, out of the drawer; the nearest length that helps."""
    for used, _ in _boards(build):
        now = used.standoff
        if now is None:
            continue
        for length in sorted(build.drawer.spacers, key=lambda s: (abs(s - now), s)):
            if abs(length - now) < 1e-9:
                continue
            found = tried(
                Change(
                    title=f"put {used.name} on {show(length)} mm spacers instead of {show(now)}",
                    build=with_part(build, replace(used, standoff=length, standoffs=())),
                    cost=Cost.ON_PAPER + 0.1,
                )
            )
            if found is not None:
                yield found
                break


def shorter(build: Build, tried: Trier) -> Iterator[Help]:
    """Boards cut shorter by as few whole rows as will do, at an edge where nothing stands."""
    scene = _scene(build)
    for used, board in _boards(build):
        if board.stock is BoardStock.PLAIN:
            continue
        for axis in (0, 1):
            found = [tried.fewest(cut, _MOST_ROWS) for cut in _cuts(build, scene, used, axis)]
            helps = [one for one in found if one is not None]
            if helps:
                yield min(helps, key=lambda one: one.cost)


def _cuts(build: Build, scene: Scene | None, used: Used, axis: int) -> Iterator[_Cut]:
    """Ways to cut a board along an axis: at either end where it stays put, else where it can be."""
    stays = scene is not None and used.name in scene.placed and used.at is not None
    possible = [
        sign for sign in (1, -1) if isinstance(used.part, Board)
        and board_resized(used.part, axis, sign, -1) is not None
    ]  # fmt: skip
    for sign in possible if stays else possible[:1]:
        yield _Cut(build, scene if stays else None, used, axis, sign)


class _Cut:
    """A board cut shorter at one end by so many rows."""

    def __init__(self, build: Build, scene: Scene | None, used: Used, axis: int, sign: int) -> None:
        self._build, self._scene, self._used = build, scene, used
        self._axis, self._sign = axis, sign

    def __call__(self, rows: int) -> Change | None:
        used, axis = self._used, self._axis
        assert isinstance(used.part, Board)
        cut = board_resized(used.part, axis, self._sign, -rows)
        if cut is None:
            return None
        at = used.at
        where = ""
        if self._scene is not None:
            at = kept_place(self._scene, used, axis, self._sign, -rows)
            ends = ("left", "right") if axis == 0 else ("lower", "upper")
            where = f" at its {ends[self._sign > 0]} edge"
        way = "shorter" if axis == 0 else "narrower"
        return Change(
            title=f"cut {used.name} {rows} row{'s' * (rows > 1)} of holes {way}{where}",
            build=with_part(self._build, replace(used, part=cut, at=at)),
            cost=Cost.SIZE + 0.2 * rows,
        )


def _scene(build: Build) -> Scene | None:
    try:
        return assemble(build)
    except UnusableInput:
        return None


# --- notches


def notched(build: Build, tried: Trier) -> Iterator[Help]:
    """Perfboards notched by whole rows round what is in the way, the smallest notch that does."""
    for used, board in _boards(build):
        if board.stock is BoardStock.PLAIN or not _stands_in_the_way(build, used, tried):
            continue
        for sites in (SITES, SITES_OF_MORE):
            cuts = [_Sawn(build, used, site) for site in sites]
            found = [(tried.fewest(cut.square, cut.most), cut) for cut in cuts]
            helps = [(one.cost, n) for n, (one, _) in enumerate(found) if one is not None]
            if helps:
                help_, cut = found[min(helps)[1]]
                assert help_ is not None
                yield _smallest(help_, cut, tried)
                break


def _smallest(found: Help, cut: _Sawn, tried: Trier) -> Help:
    """A notch that helps made narrower, then less deep, then drawn in to what is in its way."""
    for axis in (0, 1):
        rows = cut.rows_of(found)
        better = tried.fewest(partial(cut.less, rows, axis), rows[axis])
        if better is not None and better.cost < found.cost:
            found = better
    closer = _drawn_in(cut.build, cut.used, found, tried)
    return found if closer is None or closer.cost > found.cost else closer


def _stands_in_the_way(build: Build, used: Used, tried: Trier) -> bool:
    """Whether there is a layout without the board; what other parts hang on is taken to be."""
    refers = any(
        used.name in (u.joined_to, *u.carries, u.at.beside if u.at is not None else None)
        for u in build.parts
    )
    if refers or used.carries or used.joined_to is not None:
        return True
    rest = replace(
        build,
        parts=tuple(u for u in build.parts if u.name != used.name),
        wires=tuple(w for w in build.wires if used.name not in (w.start, w.end)),
        wishes=tuple(w for w in build.wishes if used.name not in (*w.parts, w.middle_of)),
    )
    without = Change(title=f"leave {used.name} out", build=rest, cost=Cost.BUY)
    return not any(u.on is not None for u in rest.parts) or tried(without) is not None


class _Sawn:
    """A board notched at one site, so many rows each way."""

    def __init__(self, build: Build, used: Used, site: Site) -> None:
        assert isinstance(used.part, Board)
        self.build, self.used, self._board, self._site = build, used, used.part, site
        # Of two notches at one side some board stays between.
        spare = _SPARE if len(site[1]) > 1 else 0
        half = [math.floor(side / PITCH / 2) - spare for side in used.part.size]
        self._half = half[0], half[1]

    @property
    def most(self) -> int:
        """The rows of the largest notch."""
        return min(_MOST_NOTCH, max(self._half))

    def square(self, rows: int) -> Change | None:
        """As many rows each way, as far as the board goes."""
        return self.sawn((min(rows, self._half[0]), min(rows, self._half[1])))

    def sawn(self, rows: tuple[int, int]) -> Change | None:
        """So many rows; None where something stands there."""
        if min(rows) < 1:
            return None
        made = [_notch(self._board, ends, rows) for ends in self._site[1]]
        notches_ = tuple(one for one in made if one is not None)
        if len(notches_) < len(made):
            return None
        first = notches_[0]
        holes = f"{show(first.width / PITCH, 0)} × {show(first.depth / PITCH, 0)} holes"
        each = " each" if len(made) > 1 else ""
        title = f"notch {self.used.name} at its {self._site[0]}, {holes}{each}"
        return _with_notches(self.build, self.used, title, notches_)

    def less(self, rows: tuple[int, int], axis: int, count: int) -> Change | None:
        """So many rows on one axis, on the other as it is."""
        return self.sawn((count, rows[1]) if axis == 0 else (rows[0], count))

    def rows_of(self, found: Help) -> tuple[int, int]:
        """The rows of a notch that was made here."""
        board = found.build.part(self.used.name).part
        assert isinstance(board, Board)
        last = board.notches[-1]
        return round(last.width / PITCH), round(last.depth / PITCH)


def _notch(board: Board, spot: Spot, rows: tuple[int, int]) -> Notch | None:
    """A notch by whole rows at a corner, or along an edge; None where something stands."""
    low, high = [0.0, 0.0], [float(side) for side in board.size]
    for axis, end in enumerate(spot[:2]):
        size, cut = float(board.size[axis]), rows[axis] * PITCH
        if end is not None:
            low[axis], high[axis] = (0.0, cut) if end == 0 else (size - cut, size)
    for axis, end in enumerate(spot[:2]):
        if end is None:
            lengths = _bare(board, axis, (low[1 - axis], high[1 - axis]))
            if spot[2] >= len(lengths):
                return None
            low[axis], high[axis] = lengths[spot[2]]
    return notch_on_rows(board, (low[0], low[1], high[0], high[1]))


def _bare(board: Board, axis: int, band: tuple[float, float]) -> list[tuple[float, float]]:
    """Lengths of a board along an axis, whole rows, where nothing stands in a band; longest first.

    Two rows stay at either end: a notch is drawn in to what is in the way afterwards.
    """
    start, end = 2 * PITCH, float(board.size[axis]) - 2 * PITCH
    taken = sorted(
        (math.floor(low[axis] / PITCH) * PITCH, math.ceil(high[axis] / PITCH) * PITCH)
        for low, high in standing(board)
        if low[1 - axis] < band[1] and band[0] < high[1 - axis]
    )
    found = []
    for low, high in taken:
        found.append((start, low))
        start = max(start, high)
    found.append((start, end))
    long = [(a, b) for a, b in found if b - a >= 3 * PITCH - 1e-6]
    return sorted(long, key=lambda ends: (ends[0] - ends[1], ends[0]))


def _with_notches(build: Build, used: Used, title: str, made: tuple[Notch, ...]) -> Change:
    board = used.part
    assert isinstance(board, Board)
    holes = sum(n.width * n.depth for n in made) / PITCH**2
    changed = replace(board, notches=(*board.notches, *made))
    return Change(
        title=title,
        build=with_part(build, replace(used, part=changed)),
        cost=Cost.NOTCH + 0.005 * holes + 0.5 * (len(made) - 1),
    )


def _drawn_in(build: Build, used: Used, found: Help, tried: Trier) -> Help | None:
    """The layout that was found with the board whole, notched just round what is in its way."""
    placed = found.layout.build
    now = placed.part(used.name)
    whole = with_part(placed, replace(now, part=used.part))
    made: list[Notch] = []
    round_: list[str] = []
    for _ in range(_ROUNDS):
        step = _round_one(whole, used.name)
        if step is None:
            break
        whole, cut, other = step
        made.append(cut)
        round_.append(other)
    if not made:
        return None
    board = used.part
    assert isinstance(board, Board)
    words = "; ".join(
        f"round {other}, {notch_words(board, cut)}" for other, cut in zip(round_, made, strict=True)
    )
    change = _with_notches(build, used, f"notch {used.name} {words}", tuple(made))
    return tried(change)


def _round_one(build: Build, name: str) -> tuple[Build, Notch, str] | None:
    """The build with a board notched round one thing that it meets; None when it meets none."""
    scene = _scene(build)
    if scene is None:
        return None
    for finding in inspected(Inspection(scene)):
        if finding.grade is not Grade.CLASH or name not in finding.about:
            continue
        for change in notches(Trial(scene=scene, finding=finding)):
            board = change.build.part(name).part
            before = build.part(name).part
            assert isinstance(board, Board) and isinstance(before, Board)
            if len(board.notches) > len(before.notches):
                other = next((n for n in finding.about if n != name), "it")
                return change.build, board.notches[-1], other
    return None
