"""Does everything find room beside everything else?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from fit.check.repairs import apart, when_tight
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import CLOSE, DEEP, Solid, Things, capital, need_between, things
from fit.findings import Finding
from fit.geometry.distance import Gap, gap_between
from fit.geometry.scene import BOX
from fit.model.words import Half
from fit.units import show

Labels = tuple[str, str]
"""The two things a pair of solids belongs to."""

_REACH = 12.0
"""Pairs of things further apart than this, mm, are only looked at for a nearest neighbour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The two solids of two things that leave the least margin.

    Attributes:
        a, b: the solids.
        gap: between them.
        need: what the table asks, mm; 0 for things that touch on purpose.
        spread: how far hands and uncertain sizes may move the gap, mm.
        touching: whether they touch on purpose.
    """

    a: Solid
    b: Solid
    gap: Gap
    need: float
    spread: float
    touching: bool = False

    @property
    def margin(self) -> float:
        """What is there minus what is needed, mm."""
        return self.gap.mm - self.need

    @property
    def labels(self) -> Labels:
        """The two things."""
        return (self.a.label, self.b.label)


def check_bodies(look: Inspection) -> Iterator[Finding]:
    """Every two things in (and on) the box, and the air between them.

    Looks at: each two solids of different parts, and of parts and the box's posts and ribs, both
    inside or both outside the walls. Of two things only their nearest solids are reported, and
    only where the margin is below three times the spread; each part's nearest neighbour always.
    What touches on purpose (a board on its posts) must only not sink into it.

    Hurts: two things in one place are found out when the holes are drilled. Leads that touch
    metal are found out later, by the smell.

    Formula: gap ≥ need(kind, kind): 1.0 hard beside hard and board beside post, 0.5 nut beside
    nut, 1.5 leads beside a part, 3.0 leads or live metal beside bare metal. Outlines may overlap
    in one view and clear in another; the gap is taken between the solids themselves.

    Source: 0.64 to 0.89 board to post in series production, 1.0 to 1.5 by hand; the others
    common practice, no source.

    Safe side: a nut counts as the round bar its corners sweep, leads as a layer below the whole
    board but for the rings round its supports.

    Example: a button reaches 18 mm behind the wall where a part on the board leaves 17.4: they
    overlap by 0.6 where 1.0 of air is needed, so one of them must give 1.6.

    Repairs: move the part along its wall; longer or shorter spacers; notch the board; a part
    that is less deep.
    """
    known = things(look)
    yield from _touching(look, known)
    found = _Search(look, known)
    pairs = {p.labels: p for p in found.near()}
    wanted = {labels for labels, p in pairs.items() if p.margin < CLOSE * p.spread}
    for label in dict.fromkeys(s.label for s in known.solids if not s.moulded):
        nearest = found.nearest(label, pairs)
        if nearest is not None:
            pairs[nearest.labels] = nearest
            wanted.add(nearest.labels)
    for labels, pair in pairs.items():
        if labels in wanted:
            yield _finding(look, pair)


def measured(look: Inspection, rule_name: str, a: Solid, b: Solid) -> Pair:
    """Two solids and the margin between them, by the need of a rule."""
    gap = gap_between(a.ready, b.ready)
    return Pair(
        a=a,
        b=b,
        gap=gap,
        need=look.need(rule_name, need_between(a, b)),
        spread=spread_of(a.spread(gap.along), b.spread(gap.along)),
    )


def _touching(look: Inspection, known: Things) -> Iterator[Finding]:
    """What rests against each other on purpose, and sinks in."""
    touched = {i for pair in look.scene.touching for i in pair}
    solids = [s for s in known.solids if s.body.id in touched]
    worst: dict[Labels, Pair] = {}
    for i, a in enumerate(solids):
        for b in solids[i + 1 :]:
            if a.body.owner == b.body.owner or not known.touch(a.body, b.body):
                continue
            gap = gap_between(a.ready, b.ready)
            if gap.mm < -DEEP:
                pair = Pair(a=a, b=b, gap=gap, need=0.0, spread=0.0, touching=True)
                worst[pair.labels] = min(worst.get(pair.labels, pair), pair, key=_margin)
    for pair in worst.values():
        yield _finding(look, pair)


def _margin(pair: Pair) -> float:
    return pair.margin


class _Search:
    """The pairs of solids that are to be measured, the nearest upright boxes first."""

    def __init__(self, look: Inspection, known: Things) -> None:
        self._look = look
        self._known = known
        self._groups: dict[Labels, list[tuple[float, Solid, Solid]]] = {}
        for outside in (False, True):
            self._gather([s for s in known.solids if s.body.outside is outside])
        for group in self._groups.values():
            group.sort(key=lambda entry: entry[0])

    def near(self) -> Iterator[Pair]:
        """The worst pair of every two things within reach of each other."""
        for group in self._groups.values():
            if group[0][0] <= _REACH:
                yield self._worst(group)

    def nearest(self, label: str, pairs: dict[Labels, Pair]) -> Pair | None:
        """The pair with the least margin that a thing is part of, None where it is alone."""
        best = min((p for ls, p in pairs.items() if label in ls), key=_margin, default=None)
        groups = [(g[0][0], ls, g) for ls, g in self._groups.items() if label in ls]
        for least, labels, group in sorted(groups, key=lambda g: g[0]):
            if labels in pairs:
                continue
            if best is not None and least - _REACH > best.margin:
                break
            best = min(best or self._worst(group), self._worst(group), key=_margin)
        return best

    def _gather(self, solids: list[Solid]) -> None:
        if len(solids) < 2:
            return
        for i, j, apart_by in _box_gaps(solids):
            a, b = solids[i], solids[j]
            if self._told(a, b):
                continue
            if (b.label, a.label) in self._groups or a.moulded:
                a, b = b, a
            self._groups.setdefault((a.label, b.label), []).append((apart_by, a, b))

    def _told(self, a: Solid, b: Solid) -> bool:
        """Whether a pair is none, or is another rule's business."""
        known = self._known
        if a.body.owner == b.body.owner or known.touch(a.body, b.body):
            return True
        if known.behind_a_board(a.body, b.body):
            return True
        # Lip and posts of the lid against what stays in the body: rule `lid`.
        return any(
            s.body.owner == BOX and s.body.half is Half.LID and o.body.half is Half.BODY
            for s, o in ((a, b), (b, a))
        )

    def _worst(self, group: list[tuple[float, Solid, Solid]]) -> Pair:
        best: Pair | None = None
        for apart_by, a, b in group:
            need = self._look.need("bodies", need_between(a, b))
            if best is not None and apart_by - need >= best.margin:
                continue
            pair = measured(self._look, "bodies", a, b)
            best = pair if best is None else min(best, pair, key=_margin)
        assert best is not None
        return best


def _box_gaps(solids: list[Solid]) -> Iterable[tuple[int, int, float]]:
    """Indices of every two solids and the distance of their upright boxes, mm."""
    low = np.array([s.ready.box[0] for s in solids])
    high = np.array([s.ready.box[1] for s in solids])
    first, second = np.triu_indices(len(solids), k=1)
    apart_by = np.maximum(low[second] - high[first], low[first] - high[second]).clip(min=0.0)
    lengths = np.sqrt((apart_by**2).sum(axis=1))
    return zip(first.tolist(), second.tolist(), lengths.tolist(), strict=True)


def _finding(look: Inspection, pair: Pair) -> Finding:
    a, b, have = pair.a, pair.b, pair.gap.mm
    needed = f"; {show(pair.need)} mm of air is needed" if pair.need else ""
    if have < 0:
        say = f"{a.words} and {b.words} overlap by {show(-have)} mm{needed}."
    elif have == 0:
        say = f"{a.words} and {b.words} touch{needed}."
    else:
        say = f"{a.words} and {b.words} are {show(have)} mm apart{needed}."
    mend = when_tight(a.label, b.label, pair.margin, pair.spread)
    if pair.margin < 0:
        mend = apart(look.scene, a, b, pair.gap.along, -pair.margin)
    return look.finding(
        "bodies",
        pair.labels,
        have=have,
        need=pair.need,
        spread=pair.spread,
        say=capital(say),
        mend=mend,
    )


bodies = rule("bodies", Family.BODIES)(check_bodies)
