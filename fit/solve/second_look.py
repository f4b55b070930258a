"""A layout once more, after the first has told how much room there is.

Then it is known which of several faces has room for what belongs together, and whether a part may
sit on a hole that the box has already. With that settled all else is placed anew; the new layout
is taken where the check says nothing worse of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from fit.geometry.assemble import assemble
from fit.model.build import Build, Used
from fit.solve.free import Free, Put, dependents
from fit.solve.question import Question
from fit.solve.reuse import Score, on_old_holes
from fit.solve.run import Status, Watch
from fit.solve.verdict import judged
from fit.solve.which_faces import choose, on_faces
from fit.solve.written import written

if TYPE_CHECKING:
    from fit.solve.layout import Laid, Layout

Again = Callable[[Build], "Layout | None"]
"""Lays a build out once more."""


def on_one_face(laid: Laid, asked: Callable[[], Question], again: Again, watch: Watch) -> Laid:
    """What belongs together on one face, where its parts may go on several.

    Args:
        laid: with a layout.
        asked: its question.
        again: lays the build out with fewer faces.
        watch: limits, and a way to stop.
    """
    several = any(len(free.faces) > 1 for free in laid.free)
    if not several or laid.layout is None or laid.seen is None or not watch.left:
        return laid
    chosen = choose(laid.build, laid.seen, asked(), watch)
    layout = replace(laid.layout, costs=(*laid.layout.costs, *chosen.given_up))
    if chosen.faces and watch.left:
        new = again(on_faces(laid.build, chosen.faces))
        if new is not None and new.verdict.good:
            costs = tuple(
                replace(cost, mm=cost.mm + chosen.lost.get(cost.words, 0.0)) for cost in new.costs
            )
            best = new.best and laid.layout.best
            layout = replace(new, costs=(*costs, *chosen.given_up), best=best)
    return replace(laid, layout=layout)


def on_holes(laid: Laid, again: Again, watch: Watch) -> Laid:
    """Parts on holes the box has already, as far as the check says nothing worse.

    Args:
        laid: with a layout, or without one beside the holes.
        again: lays the build out with parts fixed on holes.
        watch: limits, and a way to stop.
    """
    if laid.seen is None or not laid.build.box.holes or not watch.left:
        return laid
    # The others stay where they are while it is tried who may have which hole.
    placed = laid.layout.verdict.scene if laid.layout is not None else assemble(laid.build)
    reuse = on_old_holes(laid.build, placed, None)
    if not reuse.names:
        return laid
    new = again(reuse.build)
    before = Score.of(placed)
    if new is None:
        return laid
    fixed = {f.name: _put(f, reuse.build.part(f.name)) for f in laid.free if f.name in reuse.names}
    puts = {**fixed, **new.puts}
    movers = (*(f.name for f in laid.free), *dependents(laid.build, laid.free))
    verdict = judged(written(laid.build, puts), movers)
    if not verdict.good or not Score.of(verdict.scene).no_worse(before):
        return laid
    best = new.best and laid.layout is not None and laid.layout.best
    layout = replace(new, puts=puts, verdict=verdict, best=best)
    return replace(laid, status=Status.FOUND, layout=layout, objections=(), refused=None)


def _put(free: Free, fixed: Used) -> Put:
    """A part that was fixed, as one of the ways it may be put."""
    option = next(o for o in free.options if o.face == fixed.on and o.turn == fixed.turn)
    assert fixed.at is not None
    across, up = fixed.at.across, fixed.at.up
    return Put(
        option=option,
        across=float(across.value) if free.across and across is not None else None,
        up=float(up.value) if free.up and up is not None else None,
    )
