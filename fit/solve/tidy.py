"""What makes a layout look right: the wishes of the file, and what a careful person does unasked.

Each wish becomes one or more ties that hold exactly, or a cost to make small. Wishes of the file
come first; alike parts of one face that no wish mentions are put in a row unasked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from fit.geometry.scene import Scene
from fit.model.build import Along, Build, Wish, WishKind
from fit.model.words import FaceName
from fit.solve.draft import STEP
from fit.solve.free import Free, kind_of
from fit.solve.in_use import Axis, InUse
from fit.solve.probe import Probe
from fit.solve.problem import Item, Problem, Rule, Spot, Tie

MM = round(1 / STEP)
"""Steps in a millimetre."""


_ACROSS = frozenset({WishKind.FAR, WishKind.ORDER})
"""Wishes that leave it open how high things are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tidy:
    """Something to hold exactly if room allows.

    Attributes:
        words: what it is, for the report.
        rules: what must hold.
        items: fixed points that the rules need.
        wish: the wish in the file, or None when nobody asked.
        unless: only where none of the things with these words is held.
    """

    words: str
    rules: tuple[Rule, ...]
    items: tuple[Item, ...] = ()
    wish: Wish | None = None
    unless: tuple[str, ...] = ()

    def added(self, problem: Problem) -> Problem:
        """The question with these rules as well."""
        there = {item.name for item in problem.items}
        new = tuple(item for item in self.items if item.name not in there)
        return replace(problem, items=(*problem.items, *new), rules=(*problem.rules, *self.rules))


Made = tuple[tuple[Rule, ...], tuple[Item, ...]]
"""Rules, and the fixed points that they need."""


class Tidier:
    """Turns wishes into ties and costs of one question."""

    def __init__(self, build: Build, found: Probe, bare: Mapping[str, Spot]) -> None:
        """Take what was probed of a build, and a layout that has most room and is not tidy."""
        self._build, self._probe, self._bare = build, found, bare
        self._scene: Scene = found.base.look.scene
        self._free: Mapping[str, Free] = {f.name: f for f in found.free}
        self._faces = InUse(build, found)

    # ── ties ────────────────────────────────────────────────────────────────────────────────

    def ties(self) -> tuple[Tidy, ...]:
        """Everything to hold, the file's own wishes first, in order of worth."""
        wished = [t for wish in self._build.wishes for t in self._of_wish(wish)]
        instead = [
            block
            for wish in self._build.wishes
            if wish.kind in (WishKind.ROW, WishKind.COLUMN)
            for block in self._blocks(wish.parts, words_of(wish))
        ]
        return (*wished, *self._unasked(), *instead)

    def _of_wish(self, wish: Wish) -> Iterator[Tidy]:
        names = wish.parts
        if not any(name in self._free for name in names):
            return
        make = {
            WishKind.ROW: lambda: self._row(names, Along.ACROSS),
            WishKind.COLUMN: lambda: self._row(names, Along.UP),
            WishKind.IN_LINE: lambda: self._line(names, wish.along),
            WishKind.ORDER: lambda: self._order(names),
            WishKind.SAME_BOTH_SIDES: lambda: self._mirrored(names),
            WishKind.CENTRED: lambda: self._centred(names, wish.middle_of, wish.along),
        }.get(wish.kind)
        made = make() if make is not None else None
        if made is not None:
            rules, items = made
            yield Tidy(words=words_of(wish), rules=rules, items=items, wish=wish)

    def _unasked(self) -> Iterator[Tidy]:
        """What no wish speaks of: rows of alike parts; all of a face in line, and in the middle."""
        spoken = {name for wish in self._build.wishes for name in wish.parts}
        heights = {n for w in self._build.wishes if w.kind not in _ACROSS for n in w.parts}
        loose = [
            f
            for f in self._probe.free
            if len(f.faces) == 1 and f.across and f.up and self._faces.cuts(f.name)
        ]
        open_ = [f for f in loose if f.name not in spoken]
        alike: dict[tuple[object, FaceName], list[str]] = {}
        for free in open_:
            alike.setdefault((kind_of(free.used.part), free.options[0].face), []).append(free.name)
        rows = [tuple(names) for names in alike.values() if len(names) > 1]
        for names in rows:
            row = self._row(names, Along.ACROSS)
            if row is not None:
                words = f"{listed(names)} in a row"
                yield Tidy(words=words, rules=row[0], items=row[1])
                yield from self._blocks(names, words, by_column=True)
        for face in dict.fromkeys(f.options[0].face for f in open_):
            names = tuple(f.name for f in open_ if f.options[0].face is face)
            yield from self._level(face, names)
            yield from self._in_the_middle(face, names)
        for face in dict.fromkeys(f.options[0].face for f in loose if f not in open_):
            names = tuple(
                f.name for f in loose if f.options[0].face is face and f.name not in heights
            )
            if len(names) > 1:
                yield from self._level(face, names, alike=True)

    def _blocks(
        self, names: tuple[str, ...], before: str, *, by_column: bool = False
    ) -> Iterator[Tidy]:
        """Alike parts for which one row has no room: even rows below each other.

        Those that no wish names go from left to right (see `question`): column by column.
        """
        if len({kind_of(self._build.part(n).part) for n in names}) > 1:
            return
        if not set(names) <= set(self._free):
            return
        unless: tuple[str, ...] = (before,)
        for rows in range(2, len(names)):
            each, left_over = divmod(len(names), rows)
            if left_over or each < 2:
                continue
            made = self._block(
                [names[n::rows] for n in range(rows)]
                if by_column
                else [names[n : n + each] for n in range(0, len(names), each)]
            )
            if made is None:
                return
            words = f"{listed(names)} in {rows} rows of {each}"
            yield Tidy(words=words, rules=made[0], items=made[1], unless=unless)
            unless = (*unless, words)

    def _block(self, rows: Sequence[tuple[str, ...]]) -> Made | None:
        """Rows of as many parts each, the parts of all rows below each other."""
        lines = [self._row(row, Along.ACROSS) for row in rows]
        columns = [self._row(column, Along.UP) for column in zip(*rows, strict=True)]
        rules: list[Rule] = []
        for made in (*lines, *columns):
            if made is None:
                return None
            rules += made[0]
        return tuple(rules), ()

    def _level(
        self, face: FaceName, names: tuple[str, ...], *, alike: bool = False
    ) -> Iterator[Tidy]:
        """All that goes through a face at one height, with the one thing that is there already.

        Parts that are all alike only when asked: as a rule they are in a row already.
        """
        there = self._there(face)
        every = (*names, *there) if len(there) == 1 else names
        if not alike and len({kind_of(self._build.part(n).part) for n in every}) < 2:
            return
        line = self._line(every, Along.ACROSS)
        if line is not None:
            yield Tidy(words=f"{listed(every)} at one height", rules=line[0], items=line[1])

    def _in_the_middle(self, face: FaceName, names: tuple[str, ...]) -> Iterator[Tidy]:
        """All that goes through a face as one group: evenly spaced, in the middle.

        Left to right as the file has it; where that has no room, as it came to be.
        """
        if len(names) < 2 or self._there(face):
            return
        kinds = {kind_of(self._build.part(n).part) for n in names}
        axis = self._faces.axis(face, Along.ACROSS)
        as_it_is = _as_it_is(self._build, self._bare, axis, names)
        orders = [as_it_is]
        if len(kinds) > 1:
            orders = list(dict.fromkeys((by_kind(self._build, names), as_it_is)))
        before: tuple[str, ...] = ()
        for order in orders:
            told = []
            if len(kinds) > 1 and len(names) > 2:
                even = self._row(order, Along.ACROSS)
                if even is not None:
                    words = f"{listed(order)} evenly spaced"
                    told.append(Tidy(words=words, rules=even[0], items=even[1], unless=before))
            told.append(self._middle(face, order, before))
            yield from told
            before = (*before, *(tidy.words for tidy in told))

    def _middle(self, face: FaceName, order: tuple[str, ...], unless: tuple[str, ...]) -> Tidy:
        axis = self._faces.axis(face, Along.ACROSS)
        along = order if axis.sign > 0 else order[::-1]
        first, last = along[0], along[-1]
        reach = self._faces.visible(first)[0], self._faces.visible(last)[1]
        ends = reach[0][axis.number] + reach[1][axis.number]
        middle = Rule(
            tie=Tie.CENTRED,
            items=(first, last),
            axis=axis.number,
            value=self._faces.twice_middle(face, Along.ACROSS) - round(ends / STEP),
            # As near as marks allow; parts that are alike can always be just there.
            slack=0 if abs(ends) < STEP else MM,
        )
        line = Rule(tie=Tie.IN_LINE, items=order, axis=self._faces.axis(face, Along.UP).number)
        run = Rule(tie=Tie.IN_ORDER, items=along, axis=axis.number)
        words = f"{listed(order)} in the middle"
        return Tidy(words=words, rules=(line, run, middle), unless=unless)

    def _there(self, face: FaceName) -> tuple[str, ...]:
        """What goes through a face and stands still."""
        return tuple(
            name
            for name, placed in self._scene.placed.items()
            if placed.face is face and name not in self._free and self._faces.cuts(name)
        )

    def _row(self, names: Sequence[str], along: Along) -> Made | None:
        there = self._faces.points(names)
        if there is None:
            return None
        face, points = there
        run, other = self._faces.axis(face, along), self._faces.axis(face, _other(along))
        order = tuple(names) if run.sign > 0 else tuple(reversed(names))
        if along is Along.UP:
            # A column is given from the top.
            order = tuple(reversed(order))
        rules = [Rule(tie=Tie.IN_LINE, items=order, axis=other.number)]
        rules.append(Rule(tie=Tie.IN_ORDER, items=order, axis=run.number, value=0))
        if len(order) > 2:
            rules.append(_spacing(self._build, set(self._free), order, run.number))
        return tuple(rules), points

    def _line(self, names: Sequence[str], along: Along) -> Made | None:
        there = self._faces.points(names)
        if there is None:
            return None
        face, points = there
        axis = self._faces.axis(face, _other(along))
        return (Rule(tie=Tie.IN_LINE, items=tuple(names), axis=axis.number),), points

    def _order(self, names: Sequence[str]) -> Made | None:
        there = self._faces.points(names)
        if there is None:
            return None
        face, points = there
        axis = self._faces.axis(face, Along.ACROSS)
        order = tuple(names) if axis.sign > 0 else tuple(reversed(names))
        return (Rule(tie=Tie.IN_ORDER, items=order, axis=axis.number, value=1),), points

    def _mirrored(self, names: Sequence[str]) -> Made | None:
        there = self._faces.points(names)
        if there is None:
            return None
        face, points = there
        run, other = self._faces.axis(face, Along.ACROSS), self._faces.axis(face, Along.UP)
        twice = self._faces.twice_middle(face, Along.ACROSS)
        rules = (
            Rule(tie=Tie.IN_LINE, items=tuple(names), axis=other.number),
            Rule(tie=Tie.CENTRED, items=tuple(names), axis=run.number, value=twice),
        )
        return rules, points

    def _centred(self, names: Sequence[str], other: str | None, along: Along) -> Made | None:
        if other is not None:
            return self._line((*names, other), _other(along))
        there = self._faces.points(names)
        if there is None:
            return None
        face, points = there
        axis = self._faces.axis(face, along)
        twice = self._faces.twice_middle(face, along)
        rules = tuple(
            Rule(tie=Tie.CENTRED, items=(name,), axis=axis.number, value=twice) for name in names
        )
        return rules, points


def _as_it_is(
    build: Build, bare: Mapping[str, Spot], axis: Axis, names: tuple[str, ...]
) -> tuple[str, ...]:
    """Left to right as they came to be when only room counted, alike parts side by side."""
    kinds = [tuple(some) for _, some in _groups(build, names)]

    def middle(some: tuple[str, ...]) -> float:
        return axis.sign * sum(bare[n].at[axis.number] for n in some) / len(some)

    return tuple(name for some in sorted(kinds, key=middle) for name in some)


def _spacing(build: Build, free: set[str], names: Sequence[str], axis: int) -> Rule:
    """Alike parts at equal steps; others with equal gaps where all of them can move.

    Where sizes are not in whole millimetres, or a part that stands still is not on a mark,
    that holds to half a millimetre, which is as near as marks allow.
    """
    moving = set(names) <= free
    alike = len({kind_of(build.part(name).part) for name in names}) == 1
    tie = Tie.EQUAL_PITCH if alike or not moving else Tie.EQUAL_GAP
    slack = 0 if alike and moving else MM // 2
    return Rule(tie=tie, items=tuple(names), axis=axis, slack=slack)


def _groups(build: Build, names: Sequence[str]) -> list[tuple[object, list[str]]]:
    """Alike parts together, in the order of the file."""
    kinds: dict[object, list[str]] = {}
    for name in names:
        kinds.setdefault(kind_of(build.part(name).part), []).append(name)
    return list(kinds.items())


def by_kind(build: Build, names: Sequence[str]) -> tuple[str, ...]:
    """In the order of the file, alike parts side by side."""
    return tuple(name for _, some in _groups(build, names) for name in some)


def _other(along: Along) -> Along:
    return Along.UP if along is Along.ACROSS else Along.ACROSS


def words_of(wish: Wish) -> str:
    """A wish in a few words."""
    names = listed(wish.parts)
    return {
        WishKind.ROW: f"{names} in a row",
        WishKind.COLUMN: f"{names} in a column",
        WishKind.IN_LINE: f"{names} in line",
        WishKind.ORDER: f"{names} in this order",
        WishKind.SAME_BOTH_SIDES: f"{names} the same on both sides",
        WishKind.CENTRED: f"{names} centred" + (f" on {wish.middle_of}" if wish.middle_of else ""),
        WishKind.NEAR: f"{names} near each other",
        WishKind.FAR: f"{names} far from each other",
        WishKind.KEEP_OUT: f"a part of the {wish.on} kept free",
        WishKind.FINGER_GAP: f"{float(wish.value):g} mm for a finger",
    }[wish.kind]


def listed(names: Sequence[str]) -> str:
    """Names as one says them: "a, b and c"."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
