"""Several good layouts that differ enough to be worth choosing between."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fit.model.build import Build
from fit.solve.free import Put
from fit.solve.layout import Laid, Layout, Tell, lay_out
from fit.solve.proposal import Spot
from fit.solve.run import Status, Watch

APART = 10.0
"""Two layouts differ when some part is so far from where it is in the other, mm, or elsewhere."""


def several(
    build: Build, first: Laid, count: int, watch: Watch, tell: Tell = lambda _: None
) -> tuple[Layout, ...]:
    """The best layout and others that differ from it and from each other, the roomiest first.

    Each further one keeps some part off the spot it has in one that is there already.
    """
    if first.status is not Status.FOUND or first.layout is None:
        return ()
    found = [first.layout]
    movable = [f.name for f in first.free if f.across or f.up or len(f.options) > 1]
    tried: set[frozenset[tuple[str, int]]] = set()
    queue: list[tuple[tuple[str, int], ...]] = [((name, 0),) for name in movable]
    while queue and len(found) < count and watch.left:
        kept_off = queue.pop(0)
        key = frozenset(kept_off)
        if key in tried:
            continue
        tried.add(key)
        off = tuple(Spot(name=name, put=found[n].puts[name], size=APART) for name, n in kept_off)
        tell(f"another way, with {' and '.join(name for name, _ in kept_off)} elsewhere")
        laid = lay_out(build, watch, tell, prove=False, off=off)
        if laid.layout is None or not laid.layout.verdict.good:
            continue
        if all(differ(laid.layout.puts, other.puts) for other in found):
            found.append(laid.layout)
            queue += [(*kept_off, (name, len(found) - 1)) for name in movable]
    best, *rest = found
    return (best, *sorted(rest, key=lambda layout: -layout.margin))


def differ(a: Mapping[str, Put], b: Mapping[str, Put]) -> bool:
    """Whether some part is clearly elsewhere."""
    for name, one in a.items():
        other = b[name]
        if replace(one.option, phase=(0.0, 0.0)) != replace(other.option, phase=(0.0, 0.0)):
            return True
        for p, q in ((one.across, other.across), (one.up, other.up)):
            if p is not None and q is not None and abs(p - q) >= APART - 1e-6:
                return True
    return False
