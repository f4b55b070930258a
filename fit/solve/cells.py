"""Pieces made of unit cells in a room made of unit cells: the second model, for small integers.

One yes-or-no variable for each place of each piece; no cell is taken twice. Compared with boxes
that keep apart, this proves fillings impossible that no argument about pairs of boxes sees.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from fit.solve.run import Ran, Status, Watch, solve_model

if TYPE_CHECKING:
    from ortools.sat.python import cp_model
    from ortools.sat.python.cp_model import IntVar

Cell = tuple[int, ...]
Shape = frozenset[Cell]


class Moves(StrEnum):
    """How a piece may be put in besides being shifted."""

    FIXED = "fixed"
    TURNS = "turns"
    """Any quarter turns."""
    MIRRORED = "mirrored"
    """Quarter turns and mirror images."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece and how many there are of it."""

    cells: Shape
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """What came of a filling.

    Attributes:
        status: found, impossible (proved twice), or out of time.
        placed: when found, (number of the piece, its cells) for each piece placed.
    """

    status: Status
    placed: tuple[tuple[int, Shape], ...] = ()


def brick(size: Sequence[int]) -> Shape:
    """The cells of a brick with one corner in the origin."""
    return frozenset(itertools.product(*(range(n) for n in size)))


def fill(
    room: Iterable[Cell], pieces: Sequence[Piece], moves: Moves, watch: Watch | None = None
) -> Filling:
    """Put all pieces into a room of free cells.

    Args:
        room: the free cells, any number of axes.
        pieces: to put in; all of them must be in, cells may stay free.
        moves: how they may be turned.
        watch: limits and stop switch.
    """
    watch = watch or Watch()
    free = frozenset(room)
    if sum(len(p.cells) * p.count for p in pieces) > len(free):
        return Filling(status=Status.IMPOSSIBLE)
    places = [
        (number, shape)
        for number, piece in enumerate(pieces)
        for shape in _places(free, piece.cells, moves)
    ]
    for plain in (False, True):
        model, variables = _model(free, pieces, places)
        ran = solve_model(model, watch, plain=plain, linear=True)
        if ran.found:
            return _read(ran, places, variables, pieces)
        if not ran.proved:
            return Filling(status=Status.OUT_OF_TIME)
    return Filling(status=Status.IMPOSSIBLE)


def _read(
    ran: Ran, places: list[tuple[int, Shape]], variables: list[IntVar], pieces: Sequence[Piece]
) -> Filling:
    placed = tuple(p for p, x in zip(places, variables, strict=True) if ran.value(x))
    taken = [cell for _, shape in placed for cell in shape]
    counts = [sum(n == number for n, _ in placed) for number in range(len(pieces))]
    if len(taken) != len(set(taken)) or counts != [p.count for p in pieces]:
        raise AssertionError("the solver's filling overlaps itself or is short of a piece")
    return Filling(status=Status.FOUND, placed=placed)


def _model(
    free: Shape, pieces: Sequence[Piece], places: list[tuple[int, Shape]]
) -> tuple[cp_model.CpModel, list[IntVar]]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    variables = [model.new_bool_var("") for _ in places]
    on_cell: dict[Cell, list[IntVar]] = {cell: [] for cell in free}
    of_piece: list[list[IntVar]] = [[] for _ in pieces]
    for (number, shape), x in zip(places, variables, strict=True):
        of_piece[number].append(x)
        for cell in shape:
            on_cell[cell].append(x)
    spare = len(free) - sum(len(p.cells) * p.count for p in pieces)
    for cell in sorted(free):
        if spare:
            model.add_at_most_one(on_cell[cell])
        else:
            model.add_exactly_one(on_cell[cell])
    for piece, xs in zip(pieces, of_piece, strict=True):
        model.add(sum(xs) == piece.count)
    if spare:
        _slices(model, free, (places, variables), spare)
    return model, variables


def _slices(
    model: cp_model.CpModel,
    free: Shape,
    placed: tuple[list[tuple[int, Shape]], list[IntVar]],
    spare: int,
) -> None:
    """How many cells stay free in each slice, as a remainder.

    If every piece takes a multiple of g cells of a slice, the free cells there are the slice's
    cells modulo g, plus g times something: with few cells to spare this says how they lie. (The
    argument of D.A. Klarner and others for bricks with one even side.)
    """
    for axis in range(len(next(iter(free)))):
        left = []
        for level in sorted({cell[axis] for cell in free}):
            size = sum(cell[axis] == level for cell in free)
            taken = [
                (sum(cell[axis] == level for cell in shape), x)
                for (_, shape), x in zip(*placed, strict=True)
            ]
            g = math.gcd(*(n for n, _ in taken if n)) or 1
            groups = model.new_int_var(0, spare // g, "")
            model.add(sum(n * x for n, x in taken if n) + size % g + g * groups == size)
            left.append(size % g + g * groups)
        model.add(sum(left) == spare)


def _places(free: Shape, shape: Shape, moves: Moves) -> list[Shape]:
    """Every place a shape has in the room."""
    found: set[Shape] = set()
    for turned in sorted(_turns(shape, moves), key=sorted):
        first = min(turned)
        for cell in free:
            shift = tuple(a - b for a, b in zip(cell, first, strict=True))
            moved = frozenset(tuple(a + b for a, b in zip(c, shift, strict=True)) for c in turned)
            if moved <= free:
                found.add(moved)
    return sorted(found, key=sorted)


def _turns(shape: Shape, moves: Moves) -> set[Shape]:
    """A shape in all allowed attitudes, each shifted to the origin."""
    axes = len(next(iter(shape)))
    found = set()
    for order in itertools.permutations(range(axes)):
        for signs in itertools.product((1, -1), repeat=axes):
            if moves is Moves.FIXED and (order != tuple(range(axes)) or min(signs) < 0):
                continue
            if moves is Moves.TURNS and _parity(order) * math.prod(signs) < 0:
                continue
            cells = [tuple(s * c[k] for s, k in zip(signs, order, strict=True)) for c in shape]
            low = [min(c[k] for c in cells) for k in range(axes)]
            found.add(frozenset(tuple(v - w for v, w in zip(c, low, strict=True)) for c in cells))
    return found


def _parity(order: tuple[int, ...]) -> int:
    """1 for an even permutation, -1 for an odd one."""
    swaps = sum(a > b for a, b in itertools.combinations(order, 2))
    return -1 if swaps % 2 else 1
