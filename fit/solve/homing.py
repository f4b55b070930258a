"""Places for many parts, come upon on a coarse grid and followed to ever finer ones.

On the loose side a coarse question leaves parts tenths of a millimetre too near to each other. From
a layout of it that was come upon the next question looks closer around it, and the next closer yet;
what comes out is so nearly right that it can be nudged until the check passes it. Most tries come
to nothing: another start is as good as more pains. It proves nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from fit.solve.all_places import pairs_of, tables_of
from fit.solve.draft import STEP, Narrow, key_of
from fit.solve.free import Option, Put, Span
from fit.solve.maps import Maps
from fit.solve.probe import Coord
from fit.solve.problem import Spot
from fit.solve.question import Question
from fit.solve.repair import repaired

PAIRS = 250_000_000
"""Of more pairs of places no coarse layout is looked for."""

_ROOM = 0.4
"""A coarse layout with so much room is tried first, mm."""

_CLOSER = ((1.5, STEP), (0.4, 0.001))
"""How far around each place it is looked for next, and the step of the grid, mm."""

_ROOMIER = 0.1
"""There one with so much room is better, mm."""

_STEPS, _GUESS, _STARTS = 1000, 2000, 2
"""Moves for each of these, and for a guess whether there is a layout, and how often is begun."""

Ask = Callable[[Narrow, float], Question]

Root = tuple[Question, Maps]


def comes_upon(root: Root) -> bool:
    """Whether a coarse layout is come upon at all."""
    return repaired(root[0].problem, root[1], steps=_GUESS, starts=_STARTS) is not None


def small(root: Root) -> bool:
    """Whether a question is small enough for it."""
    things = tables_of(root[0].problem, root[1]).movers(root[0].problem, 0)
    return bool(things) and pairs_of(things or ()) <= PAIRS


def places_of(root: Root) -> int:
    """How many places there are to choose from; 0 where these are not known one by one."""
    things = tables_of(root[0].problem, root[1]).movers(root[0].problem, 0)
    return sum(len(thing) for thing in things or ())


def homed(root: Root, ask: Ask, parts: Sequence[str], seed: int) -> dict[str, Put] | None:
    """Where parts nearly have a layout, if it is come upon.

    Args:
        root: the coarse question of these parts.
        ask: the same question about narrow regions, on a finer grid.
        parts: their names.
        seed: each leads elsewhere; with every other one there is more room to begin with.
    """
    room = round(_ROOM / root[0].step) if seed % 2 else 0
    layout = repaired(
        root[0].problem, root[1], margin=room, seed=seed, steps=_GUESS, starts=_STARTS
    )
    asked = root[0]
    for half, step in _CLOSER:
        if layout is None:
            return None
        asked = ask(_around(asked.puts(layout, parts), half), step)
        layout = _best(asked, seed)
    return None if layout is None else asked.puts(layout, parts)


def _best(asked: Question, seed: int) -> Mapping[str, Spot] | None:
    """A layout of a question, with some room if that is come upon."""
    maps = asked.tabled()
    found = None
    for room in (0, round(_ROOMIER / asked.step)):
        better = repaired(asked.problem, maps, margin=room, seed=seed, steps=_STEPS, starts=_STARTS)
        if better is None:
            break
        found = better
    return found


def _around(puts: Mapping[str, Put], half: float) -> Narrow:
    """The regions around places, so far to either side, mm."""
    found: dict[tuple[str, Option], Mapping[Coord, Span]] = {}
    for name, put in puts.items():
        ends = {Coord.ACROSS: put.across, Coord.UP: put.up}
        found[key_of(name, put.option)] = {
            coord: Span(low=at - half, high=at + half)
            for coord, at in ends.items()
            if at is not None
        }
    return found
