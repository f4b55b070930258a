"""The layout question of a build that was probed, and how closely it is asked."""

from __future__ import annotations

from fit.model.build import Build, WishKind
from fit.solve.draft import CLOSE, STEP, Narrow
from fit.solve.probe import Probe
from fit.solve.problem import Metric, Side
from fit.solve.question import Question, question, shared_in
from fit.solve.regions import kept_out
from fit.solve.shared import Shared

STAGES = ((1.0, Metric.AXIS), (0.5, Metric.AXIS))
"""Places are looked for in steps of a whole millimetre first, then of half ones."""

LAST = (0.5, Metric.STRAIGHT)
"""When gaps along the axes find nothing and prove nothing: straight ones, which take long."""

PROOFS = ((1.0, Metric.AXIS), (0.5, Metric.LOOSE), (0.5, Metric.LOOSE), (0.5, Metric.LOOSE))
"""The same for proofs that there is no place: a cheap one first, a close one, and then closer
looks at what is left."""


def asked_of(
    build: Build,
    seen: Probe,
    how: tuple[float, Metric],
    side: Side = Side.SAFE,
    narrow: Narrow | None = None,
    close: int = CLOSE,
    step: float = STEP,
    shared: Shared | None = None,
) -> Question:
    """The question of a build that was probed, with all that its file insists on."""
    if shared is None or narrow is None:
        shared = shared_of(build, seen, side)
    return question(
        build,
        seen,
        shared,
        side=side,
        metric=how[1],
        marked=how[0],
        narrow=narrow,
        close=close,
        step=step,
    )


def shared_of(build: Build, seen: Probe, side: Side) -> Shared:
    """What all questions about regions of a build have in common, also those of fewer parts."""
    finger = [float(w.value) for w in build.wishes if w.kind is WishKind.FINGER_GAP]
    keep_out = kept_out(build, seen.base.look)
    return shared_in(seen, side=side, finger=max(finger, default=0.0), keep_out=keep_out)
