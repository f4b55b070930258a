"""Random builds with open parts, answered twice: by the solver, and by a search of all places.

``python -m tests.no_layout --builds 600 --first 300000`` lays out builds from seeds 300000 …, lets
`tests.place_search` look at all places by the check alone, prints every disagreement and the sums,
and ends with status 1 when the solver was wrong.

A disagreement is one of:

- *wrong no*: the solver says that there is no place, and the search has one that the check passes;
- *wrong yes*: the check does not pass what the solver found;
- *less room*: for one open part, the search has a place with more room than is promised.

What the search could not get to the end of is counted as *unsure* and says nothing.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial

from fit.findings import UnusableInput
from fit.solve.layout import Laid, lay_out
from fit.solve.polish import worth
from fit.solve.run import Effort, Status, Watch
from fit.solve.verdict import judged
from tests.layout_builds import Asked, random_asked
from tests.place_search import Seen, any_place, roomiest

COARSE = 0.5
"""Areas of several parts are cut down to this size, mm."""

MOST = 4000
"""So many checks a search may take for some of the parts."""

NEAR = 0.1
"""The most room is looked for to within this, mm."""


CLOSE = 0.02
"""Places are written in hundredths of a millimetre: so much is no matter, mm."""


@dataclass(slots=True, kw_only=True)
class Came:
    """What came of one build.

    Attributes:
        seed, parts: of the build; how many parts are open.
        answer: of the solver; None for a build that cannot be put together.
        search: of the search.
        seconds: the solver took.
        margin, best: the room the solver and the search found, mm, where it was compared.
        tidy: what being tidy took of it, mm.
        wrong: what they disagree about.
    """

    seed: int
    parts: int
    answer: Status | None = None
    search: Seen | None = None
    seconds: float = 0.0
    margin: float | None = None
    best: float | None = None
    tidy: float = 0.0
    wrong: list[str] = field(default_factory=list)


def came(seed: int, most_open: int = 3, *, room: bool = True) -> Came:
    """One random build, answered twice; for its yes or no any layout will do."""
    asked = random_asked(seed, most_open=most_open)
    made = Came(seed=seed, parts=len(asked.open_))
    start = time.perf_counter()
    try:
        limits = Watch(effort=Effort(seconds=60.0, work=6.0))
        laid = lay_out(asked.build, limits, quick=not room)
    except UnusableInput:
        return made
    made.answer, made.seconds = laid.status, time.perf_counter() - start
    if laid.status is Status.FOUND:
        _judge(made, asked, laid)
        if room and made.parts == 1:
            _compare(made, asked, laid)
        return made
    found = any_place(asked.build, asked.open_, COARSE, MOST)
    made.search = found.seen
    if laid.status is Status.IMPOSSIBLE and found.seen is Seen.PLACE:
        made.wrong.append(f"wrong no: {dict(found.places)}")
    return made


def _judge(made: Came, asked: Asked, laid: Laid) -> None:
    layout = laid.layout
    assert layout is not None
    again = judged(layout.build, asked.open_)
    if not again.good or again.margin < layout.margin - 1e-6:
        made.wrong.append(f"wrong yes: {[f.say for f in again.clashes]}")


def _compare(made: Came, asked: Asked, laid: Laid) -> None:
    layout = laid.layout
    assert layout is not None
    cap = float(asked.build.room)
    put = layout.puts[asked.open_[0]]
    start = put.option.face, put.option.turn, put.across, put.up
    found = roomiest(asked.build, asked.open_[0], cap, NEAR, MOST, start)
    made.search, made.margin = found.seen, min(cap, layout.margin)
    made.best = max(found.margin, made.margin)
    made.tidy = sum(cost.mm for cost in layout.costs if cost.kept)
    promised = made.best - made.tidy - worth(made.margin) - CLOSE
    if made.margin < promised:
        made.wrong.append(f"less room: {made.margin:.3f} mm, {made.best:.3f} at {found.places}")


def run(seeds: Iterable[int], workers: int, most_open: int, *, room: bool = True) -> Iterator[Came]:
    """Answer many builds, in order of their seeds."""
    answer = partial(came, most_open=most_open, room=room)
    if workers <= 1:
        yield from map(answer, seeds)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(answer, seeds, chunksize=4)


def main(words: list[str] | None = None) -> int:
    """Answer builds and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else None)
    parser.add_argument("--builds", type=int, default=300)
    parser.add_argument("--first", type=int, default=300_000, help="the first seed")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--open", type=int, default=3, help="the most open parts of a build")
    parser.add_argument("--no-room", action="store_true", help="compare yes and no alone")
    asked = parser.parse_args(words)
    seeds = range(asked.first, asked.first + asked.builds)
    sums: Counter[str] = Counter()
    short: list[tuple[float, int]] = []
    for c in run(seeds, asked.workers, asked.open, room=not asked.no_room):
        answer = "unusable" if c.answer is None else c.answer.value
        sums[f"{answer}, {c.parts} open, search: {c.search}"] += 1
        if c.answer is Status.OUT_OF_TIME or c.seconds > 5.0 or c.search is Seen.UNSURE:
            print(
                f"{c.seed} ({c.parts} open) {answer}, search {c.search}, {c.seconds:.1f} s",
                flush=True,
            )
        if c.margin is not None and c.best is not None and c.search is Seen.PLACE:
            short.append((c.best - c.margin, c.seed))
        for words_ in c.wrong:
            print(f"{c.seed} {words_}", flush=True)
            sums["wrong"] += 1
    for key, number in sorted(sums.items()):
        print(f"{key:>50} {number}")
    short.sort(reverse=True)
    close = sum(by <= 0.15 for by, _ in short)
    print(f"room of one open part compared: {len(short)}, within 0.15 mm {close}")
    print("furthest off", [(seed, round(by, 2)) for by, seed in short[:20]])
    return 1 if sums["wrong"] else 0


if __name__ == "__main__":
    sys.exit(main())
