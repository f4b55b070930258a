"""A build that neither the safe nor the first loose question settled, by all places of its parts.

All parts are looked at closer and closer (`fit.solve.closer`); where these are too many, a few of
them: a few that have no layout by themselves are enough.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fit.solve.areas import within
from fit.solve.asked import PROOFS, asked_of, shared_of
from fit.solve.closer import COARSE, STEPS, Closer, Refusal
from fit.solve.maps import Maps
from fit.solve.nudge import Found, nudged
from fit.solve.problem import Side
from fit.solve.question import Question
from fit.solve.run import Status, Watch

if TYPE_CHECKING:
    from fit.solve.asking import Asker
    from fit.solve.layout import Laid


@dataclass(frozen=True, slots=True, kw_only=True)
class CloseLook:
    """What came of it.

    Attributes:
        found: places that the check passes, when there are any.
        refused: the loose question, where it is proved that there are none.
        few: parts that are proved to have none by themselves, where that is how it was proved.
        fewest: no fewer of the build's parts are refused.
        asker: what is known of some of the parts, where that was looked at.
        refusal: what it took to refuse them all, where that is how it was proved.
    """

    found: Found | None = None
    refused: Question | None = None
    few: tuple[str, ...] = ()
    fewest: bool = False
    asker: Asker | None = None
    refusal: Refusal | None = None


def close_look(
    laid: Laid, movers: tuple[str, ...], watch: Watch, tell: Callable[[str], None]
) -> CloseLook:
    """Look closely at a build that was probed.

    Args:
        laid: what is known of it so far.
        movers: what has a place only once this is done.
        watch: stops it.
        tell: called before what takes a while.
    """
    build, seen = laid.build, laid.seen
    assert seen is not None
    tell("going through all places, closer and closer")
    asked = asked_of(build, seen, PROOFS[1], Side.LOOSE)

    def roots() -> Iterator[tuple[Question, Maps]]:
        yield asked, asked.tabled()
        for marked in COARSE:
            coarser = asked_of(build, seen, (marked, PROOFS[1][1]), Side.LOOSE)
            yield coarser, coarser.tabled()

    shared = shared_of(build, seen, Side.LOOSE)
    closer = Closer(
        ask=lambda narrow, step: asked_of(
            build, seen, PROOFS[1], Side.LOOSE, narrow, STEPS, step, shared
        ),
        nudge=lambda puts: nudged(build, seen, puts),
        by_check=lambda narrow: within(build, seen, movers, narrow, watch),
        watch=watch,
    )
    said = closer.settle(roots(), tuple(asked.seats))
    if said is not Status.OUT_OF_TIME:
        refused = asked if said is Status.IMPOSSIBLE else None
        return CloseLook(found=closer.found, refused=refused, refusal=closer.refusal)
    tell("looking whether a few of the parts go in")
    return _of_few(laid, asked, watch)


def _of_few(laid: Laid, asked: Question, watch: Watch) -> CloseLook:
    # Only now: these ask for layouts of a few parts themselves.
    from fit.solve.asking import Asker
    from fit.solve.nolayout import refused_few

    so_far = replace(laid, refused=asked)
    asker = Asker(so_far, watch)
    few, fewest = refused_few(so_far, asker)
    return CloseLook(refused=asked if few else None, few=few, fewest=fewest, asker=asker)
