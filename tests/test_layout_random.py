"""Small random builds: what is found passes the check, what is refused a plain search refuses too.

The plain search (`tests.layout_builds`) asks the check at every whole millimetre.
"""

from __future__ import annotations

from collections import Counter

import pytest

from fit.findings import UnusableInput
from fit.geometry.assemble import assemble
from fit.solve.layout import Laid, lay_out
from fit.solve.polish import worth
from fit.solve.run import Status
from fit.solve.verdict import judged
from tests.layout_builds import Asked, first_together, good_alone, random_asked
from tests.layout_cases import watch

CLOSE = 0.02
"""Places are written in hundredths of a millimetre: so much is no matter, mm."""


def _laid(asked: Asked) -> Laid | None:
    try:
        return lay_out(asked.build, watch())
    except UnusableInput:
        return None


def _held(asked: Asked, answer: Laid) -> None:
    """What was found is good, and what was given stands where it was given."""
    layout = answer.layout
    assert layout is not None
    again = judged(layout.build, asked.open_)
    assert again.good, [f.say for f in again.clashes]
    assert again.margin == pytest.approx(layout.margin)
    before = assemble(asked.build).placed
    for name, placed in again.scene.placed.items():
        if name not in asked.open_:
            assert placed.across == pytest.approx(before[name].across, abs=0.01)
            assert placed.up == pytest.approx(before[name].up, abs=0.01)
    for name in asked.open_:
        here, given = again.scene.placed[name], asked.build.part(name).at
        if given is not None and given.across is not None:
            assert here.across == pytest.approx(float(given.across.value), abs=0.01)
        if given is not None and given.up is not None:
            assert here.up == pytest.approx(float(given.up.value), abs=0.01)


def _run(seeds: range, most_open: int) -> Counter[str]:
    seen: Counter[str] = Counter()
    for seed in seeds:
        asked = random_asked(seed, most_open=most_open)
        answer = _laid(asked)
        if answer is None:
            seen["unusable"] += 1
            continue
        seen[answer.status.value] += 1
        if answer.status is Status.FOUND:
            _held(asked, answer)
        elif answer.status is Status.IMPOSSIBLE and len(asked.open_) == 2 and most_open == 2:
            assert first_together(asked.build, (asked.open_[0], asked.open_[1])) is None, seed
    return seen


def test_what_is_found_passes_the_check() -> None:
    seen = _run(range(100, 135), 3)
    assert seen["found"] >= 15
    assert seen["impossible"] >= 5
    # Neither found nor refused should be rare; of these there is none.
    assert not seen["out_of_time"]


@pytest.mark.slow
def test_what_is_found_passes_the_check_many_times() -> None:
    seen = _run(range(1000, 1600), 3)
    assert seen["found"] > 300
    assert seen["out_of_time"] <= 12


def test_one_open_part_is_answered_as_by_a_plain_search() -> None:
    assert _alone(range(3), 2.0) == 3


@pytest.mark.proof
def test_one_open_part_is_answered_as_by_a_plain_search_many_times() -> None:
    assert _alone(range(250), 1.0) > 200


def _alone(seeds: range, step: float) -> int:
    """Compare answers with a search by the check alone; how many were found or refused."""
    compared = 0
    for seed in seeds:
        asked = random_asked(seed, most_open=1)
        answer = _laid(asked)
        if answer is None:
            continue
        good = good_alone(asked.build, asked.open_[0], step)
        if answer.status is Status.FOUND:
            assert answer.layout is not None
            most = float(asked.build.room)
            by_search = min(most, max((v.margin for v in good.values()), default=0.0))
            ours = min(most, answer.layout.margin)
            tidy = sum(cost.mm for cost in answer.layout.costs if cost.kept)
            assert ours + tidy >= by_search - worth(ours) - CLOSE, seed
        elif answer.status is Status.IMPOSSIBLE:
            assert not good, (seed, next(iter(good)))
        compared += answer.status is not Status.OUT_OF_TIME
    return compared


@pytest.mark.proof
def test_two_open_parts_that_are_refused_are_so_by_a_plain_search() -> None:
    seen = _run(range(300, 700), 2)
    assert seen["impossible"] > 60
