"""Small builds with a board to be made larger: by hand, and at random."""

from __future__ import annotations

import random

from fit.model.box import Lip, Post, Rib, Tray
from fit.model.build import Build, Coordinate, Drawer, How, Need, Place, Used
from fit.model.nose import Nose
from fit.model.part import Board, BoardHole, Holder
from fit.model.words import BoardEdge, BoardStock, FaceName, Half, NoseKind, PostUse, Stuff
from fit.solve.board_search import judged
from fit.units import PITCH
from fit.units import Length as L
from tests.trays import flat_lid, four_walls, tray


def place(x: float, y: float) -> Place:
    """A place by numbers, mm."""
    return Place(across=Coordinate(how=How.AT, value=L(x)), up=Coordinate(how=How.AT, value=L(y)))


def a_board(columns: int, rows: int, holes: tuple[BoardHole, ...] = (), **more: object) -> Board:
    """A board of so many columns and rows, with pads."""
    size = (L(columns * PITCH), L(rows * PITCH))
    return Board(stock=BoardStock.PADS, size=size, holes=holes, **more)  # type: ignore[arg-type]


def a_hole(column: int, row: int, diameter: float = 2.0) -> BoardHole:
    """A mounting hole in the middle of a cell."""
    return BoardHole(x=L((column - 0.5) * PITCH), y=L((row - 0.5) * PITCH), diameter=L(diameter))


def a_build(box: Tray, *parts: Used, edges: float = 1.0) -> Build:
    """A build of these parts, with that much from a hole to the board's edge, mm."""
    needs = (Need(rule="hole-edges", value=L(edges)),)
    return Build(name="it", box=box, drawer=Drawer(name="none", bits=()), parts=parts, needs=needs)


def random_build(seed: int) -> Build:
    """A small tray with a board on one standoff and things in its way."""
    r = random.Random(seed)
    lip = Lip(height=L(3), thickness=L(1.2), gap=L(0.3)) if r.random() < 0.5 else None
    ribs = [
        Rib(name=f"R{n}", on=face, start=(L(a), L(3)), end=(L(a), L(r.choice([8, 14, 24]))),
            thickness=L(1.5), depth=L(r.choice([1.5, 3])))
        for n, face in enumerate((FaceName.FRONT, FaceName.LEFT))
        if r.random() < 0.4
        for a in (r.uniform(-8, 8),)
    ]  # fmt: skip
    posts = [
        Post(name=f"P{n}", half=Half.BODY, x=L(x), y=L(y), tip=L(4), foot=L(5),
             height=L(r.choice([4, 25])), use=PostUse.CLOSING)
        for n, (x, y) in enumerate(((-14, -11), (14, -11), (14, 11), (-14, 11)))
        if r.random() < 0.4
    ]  # fmt: skip
    box = tray(
        length=L(38 + r.random()), width=L(32 + r.random()), height=L(30), ribs=tuple(ribs),
        posts=tuple(posts), lid=flat_lid(lip=lip), corner_inner=L(r.choice([0, 2, 4])),
        **four_walls(r.choice([0.0, 1.5, 3.0, -1.0])),
    )  # fmt: skip
    on = r.choice([FaceName.FLOOR, FaceName.FLOOR, FaceName.LID])
    board = a_board(3, 3, (a_hole(2, 2),), underside=L(r.choice([0, 2])))
    where = place(r.uniform(-3, 3), r.uniform(-2, 2))
    parts = [
        Used(name="board", part=board, on=on, at=where, standoff=L(r.choice([5, 7, 10]))),
    ]
    wanted = len(parts) + r.randint(0, 3)
    while len(parts) < wanted:
        size = (L(r.uniform(2, 9)), L(r.uniform(2, 9)), L(r.uniform(3, 20)))
        thing = Holder(size=size, stuff=r.choice([Stuff.HARD, Stuff.SOFT, Stuff.METAL]))
        spot = place(r.uniform(-13, 13), r.uniform(-10, 10))
        face = r.choice([FaceName.FLOOR, FaceName.LID])
        used = Used(name=f"thing {len(parts)}", part=thing, on=face, at=spot)
        if judged(a_build(box, *parts[1:], used)).passes:
            parts.append(used)
    return a_build(box, *parts)


def a_socket() -> Nose:
    """A socket that looks out over a board's left edge."""
    return Nose(
        name="usb", edge=BoardEdge.LEFT, kind=NoseKind.PLUG, reach=L(3.5), y=L(3.81), above=L(2),
        width=L(8), height=L(3), root=L(5), slot=True,
    )  # fmt: skip
