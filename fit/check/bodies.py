"""Does everything find room beside everything else?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from fit.check.measure import ends, gap_between
from fit.check.repairs import apart, when_tight
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import CLOSE, DEEP, Solid, Things, capital, need_between, things
from fit.findings import Finding
from fit.geometry.broad import near_pairs
from fit.geometry.distance import Gap, box_gap
from fit.model.words import Half
from fit.trade.clearances import gaps
from fit.units import show

Labels = tuple[str, str]
"""The two things a pair of solids belongs to."""

Entry = tuple[float, Solid, Solid]
"""The distance of two solids' upright boxes, mm, and the solids."""

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
    near: dict[str, list[Pair]] = {}
    for labels, pair in pairs.items():
        for label in labels:
            near.setdefault(label, []).append(pair)
    for label in dict.fromkeys(s.label for s in known.solids if not s.moulded):
        nearest = found.nearest(label, near)
        if nearest is not None:
            one, other = nearest.labels
            labels = (other, one) if (other, one) in pairs else (one, other)
            pairs.setdefault(labels, nearest)
            wanted.add(labels)
    for labels, pair in pairs.items():
        if labels in wanted:
            yield _finding(look, pair)


def clashing(look: Inspection) -> list[Pair]:
    """Of every two things that have too little room: the worst two solids, the worst pair first."""
    near = _Search(look, things(look)).near()
    return sorted((p for p in near if p.margin < 0.0), key=_margin)


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
        self._most = look.need("bodies", max(room.mm for room in gaps().values()))
        self._low, self._high = ends([s.ready.box for s in known.inside])
        self._rows: dict[str, list[int]] = {}
        for n, solid in enumerate(known.inside):
            self._rows.setdefault(solid.label, []).append(n)
        self._groups: dict[Labels, list[Entry]] = {}
        reach = max(_REACH, self._most)
        for outside in (False, True):
            solids = [s for s in known.solids if s.body.outside is outside]
            for i, j in near_pairs([s.ready.box for s in solids], reach):
                self._add(self._groups, solids[i], solids[j])

    def near(self) -> Iterator[Pair]:
        """The worst pair of every two things within reach of each other."""
        for group in self._groups.values():
            yield self._worst(group)

    def nearest(self, label: str, near: dict[str, list[Pair]]) -> Pair | None:
        """The pair with the least margin that a thing is part of, None where it is alone."""
        if label in near:
            return min(near[label], key=_margin)
        best: Pair | None = None
        for apart_by, a, b in self._by_box(label):
            if best is not None and apart_by - self._most > best.margin:
                break
            if best is not None and apart_by - self._need(a, b) >= best.margin:
                continue
            if not self._told(a, b):
                pair = measured(self._look, "bodies", *((b, a) if a.moulded else (a, b)))
                best = pair if best is None else min(best, pair, key=_margin)
        return best

    def _need(self, a: Solid, b: Solid) -> float:
        return self._look.need("bodies", need_between(a, b))

    def _by_box(self, label: str) -> Iterator[Entry]:
        """A thing's solids with all others inside the walls, the nearest upright boxes first."""
        inside = self._known.inside
        rows = self._rows.get(label, [])
        if not rows:
            return
        low, high = self._low[rows, None], self._high[rows, None]
        apart = np.maximum(self._low - high, low - self._high).clip(min=0.0)
        table = np.sqrt((apart * apart).sum(axis=2)).ravel()
        for at in np.argsort(table, kind="stable").tolist():
            a, b = inside[rows[at // len(inside)]], inside[at % len(inside)]
            if a.body.owner != b.body.owner:
                yield float(table[at]), a, b

    def _add(self, groups: dict[Labels, list[Entry]], a: Solid, b: Solid) -> None:
        if a.body.owner == b.body.owner or self._told(a, b):
            return
        if (b.label, a.label) in groups or a.moulded:
            a, b = b, a
        entry = (box_gap(a.ready.box, b.ready.box), a, b)
        groups.setdefault((a.label, b.label), []).append(entry)

    def _told(self, a: Solid, b: Solid) -> bool:
        """Whether two solids touch on purpose, or are another rule's business."""
        if self._known.touch(a.body, b.body) or self._known.behind_a_board(a.body, b.body):
            return True
        # Lip and posts of the lid against what stays in the body: rule `lid`.
        return any(
            s.moulded and s.body.half is Half.LID and o.body.half is Half.BODY
            for s, o in ((a, b), (b, a))
        )

    def _worst(self, group: list[Entry]) -> Pair:
        best: Pair | None = None
        for apart_by, a, b in sorted(group, key=lambda entry: entry[0]):
            need = self._need(a, b)
            # Boxes that meet say nothing of how deep the solids sit in one another.
            if best is not None and apart_by > 0 and apart_by - need >= best.margin:
                continue
            pair = measured(self._look, "bodies", a, b)
            best = pair if best is None else min(best, pair, key=_margin)
        assert best is not None
        return best


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
