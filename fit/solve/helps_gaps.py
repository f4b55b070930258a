"""Smaller gaps that would help where there is no layout, each as little smaller as will do."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations_with_replacement

from fit.check.buttons import controls
from fit.check.mend_change import Cost
from fit.check.odds import with_odds
from fit.check.things import things
from fit.geometry.box import faces
from fit.model.build import Build, Need, Region, Wish, WishKind
from fit.model.words import FaceName
from fit.solve.free import spans
from fit.solve.helps_try import Change, Trier
from fit.solve.layout import Laid
from fit.solve.nolayout import Help
from fit.trade.clearances import Thing, finger_gap, needed_gap
from fit.units import Length, show

GRAIN = 0.5
"""Gaps are made smaller in steps of this, mm."""

_SNUG = 6.0
"""Keyboards and hobby panels set fingers this close, mm (common practice, no source)."""

_BARE = 0.5
"""Less air than this between two things that are marked and sawn by hand is no plan, mm."""

_BENDS = 1.5
"""Where the table asks for more than this between two kinds of things, it is not for hands that
stray but for bare metal, mm."""

_REGION = 40
"""A region kept free gives way by at most so many steps on each side before it is given up."""


def smaller_gaps(laid: Laid, tried: Trier) -> Iterator[Help]:
    """The gaps of the file's wishes and of the trade made smaller, one at a time."""
    yield from _fingers(laid, tried)
    for number, wish in enumerate(laid.build.wishes):
        if wish.kind is WishKind.KEEP_OUT:
            yield from _kept_free(laid.build, number, tried)
    for rule, words in (("bodies", "between things inside"), ("walls", "to the walls")):
        yield from _air(laid, rule, words, tried)


# --- fingers


def _fingers(laid: Laid, tried: Trier) -> Iterator[Help]:
    """Controls closer than a bare finger likes; first only closer than was wished for."""
    usual = _usual_finger(laid)
    wished = max(
        (float(w.value) for w in laid.build.wishes if w.kind is WishKind.FINGER_GAP), default=0.0
    )
    now = max(usual, wished)
    if usual <= 0.0 or now <= _SNUG:
        return
    count = math.ceil((now - _SNUG) / GRAIN - 1e-9)

    def closer(steps: int) -> Change | None:
        gap = max(_SNUG, now - GRAIN * steps)
        if gap >= usual:
            return Change(
                title=f"wish for {show(gap)} mm between what fingers work instead of "
                f"{show(wished)} (finger_gap: {show(gap)})",
                build=_wishing(laid.build, gap),
                cost=Cost.ON_PAPER,
                gap="fingers",
                usual=wished,
            )
        build = _wishing(_needing(laid.build, "fingers", gap), gap)
        return Change(
            title=f"accept {show(gap)} mm for a finger instead of {show(now)} "
            f"(needs: {{fingers: {show(gap)}}})",
            build=build,
            cost=Cost.ON_PAPER,
            gap="fingers",
            usual=now,
        )

    found = tried.fewest(closer, count)
    if found is not None:
        yield found


def _usual_finger(laid: Laid) -> float:
    """The most that is asked between any two controls that share a face, mm."""
    assert laid.seen is not None
    look = laid.seen.base.look
    worked = tuple(controls(look))
    open_ = {f.name: f.faces for f in laid.free}
    faces: dict[FaceName, list[int]] = {}
    for n, one in enumerate(worked):
        for face in open_.get(one.name, frozenset((one.face,))):
            faces.setdefault(face, []).append(n)
    asked = [
        look.need("fingers", finger_gap(worked[a].kind, worked[b].kind))
        for some in faces.values()
        for a, b in combinations_with_replacement(some, 2)
        if a != b and (worked[a].name in open_ or worked[b].name in open_)
    ]
    return max(asked, default=0.0)


def _wishing(build: Build, gap: float) -> Build:
    """With no wider finger gap wished for than this."""
    return replace(
        build,
        wishes=tuple(
            replace(w, value=Length(min(gap, float(w.value))))
            if w.kind is WishKind.FINGER_GAP
            else w
            for w in build.wishes
        ),
    )


def _needing(build: Build, rule: str, value: float) -> Build:
    """With a need of a rule set, in place of another."""
    others = tuple(n for n in build.needs if n.rule != rule)
    return replace(build, needs=(*others, Need(rule=rule, value=Length(value))))


# --- regions


def _kept_free(build: Build, number: int, tried: Trier) -> Iterator[Help]:
    """A region that is kept free made smaller all round, or given up."""
    wish = build.wishes[number]
    whole = Change(
        title=f"give up keeping a part of the {wish.on} free",
        build=replace(build, wishes=(*build.wishes[:number], *build.wishes[number + 1 :])),
        cost=Cost.ON_PAPER + 0.3,
    )
    given_up = tried(whole)
    if given_up is None:
        return

    def smaller(steps: int) -> Change | None:
        less = _less(build, wish, GRAIN * steps)
        if less is None:
            return None
        wishes = (*build.wishes[:number], less, *build.wishes[number + 1 :])
        return Change(
            title=f"keep {show(GRAIN * steps)} mm less of the {wish.on} free at each edge of "
            "the region",
            build=replace(build, wishes=wishes),
            cost=Cost.ON_PAPER + 0.2,
        )

    yield tried.fewest(smaller, _REGION) or given_up


def _less(build: Build, wish: Wish, by: float) -> Wish | None:
    """A region drawn in from each edge that is not the face's own; None where nothing is left."""
    region = wish.region or Region()
    edges = {
        name: Length(float(getattr(region, name)) + by)
        for name in ("left", "right", "low", "high")
        if float(getattr(region, name)) > 0
    }
    less = replace(region, **edges)
    assert wish.on is not None
    across, up = spans(faces(build.box)[wish.on])
    left = across.high - across.low - float(less.left) - float(less.right)
    high = up.high - up.low - float(less.low) - float(less.high)
    return replace(wish, region=less) if edges and min(left, high) > 0 else None


# --- air


def _air(laid: Laid, rule: str, words: str, tried: Trier) -> Iterator[Help]:
    """Less air than the trade's table has, where it is only there for hands that stray."""
    usual = _usual_air(laid, rule)
    if not _BARE < usual <= _BENDS:
        return

    def less(steps: int) -> Change | None:
        gap = usual - GRAIN * steps
        return Change(
            title=f"accept {show(gap)} mm of air {words} instead of {show(usual)} "
            f"(needs: {{{rule}: {show(gap)}}})",
            build=_needing(laid.build, rule, gap),
            cost=Cost.ON_PAPER + 0.4,
            gap=rule,
            usual=usual,
        )

    found = tried.fewest(less, math.floor((usual - _BARE) / GRAIN + 1e-9))
    if found is not None:
        yield found


def _usual_air(laid: Laid, rule: str) -> float:
    """The most that is asked of any two kinds of things there are, mm."""
    assert laid.seen is not None
    look = laid.seen.base.look
    kinds = dict.fromkeys(solid.kind for solid in things(look).solids if not solid.moulded)
    if rule == "walls":
        asked = [needed_gap(kind, Thing.WALL) for kind in kinds]
    else:
        asked = [needed_gap(a, b) for a, b in combinations_with_replacement(kinds, 2)]
    return look.need(rule, max(asked, default=0.0))


def chances(found: Help) -> tuple[float, float] | None:
    """How likely the tightest of the gaps that were made smaller holds at the first cut.

    Returns:
        By what is usual, and as it is; None where no gap came out smaller than usual, or the gap
        is no matter of going together.
    """
    scene = found.layout.verdict.scene
    rule = [f for f in found.layout.verdict.findings if f.rule == found.gap]
    worst = min(rule, key=lambda f: f.have, default=None)
    if worst is None or worst.have >= found.usual or found.gap == "fingers":
        return None
    usual = replace(worst, have=found.usual, margin=found.usual - worst.need)
    before, after = (finding.odds for finding in with_odds(scene, (usual, worst)))
    return None if before is None or after is None else (before, after)
