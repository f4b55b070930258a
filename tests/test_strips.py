"""Where strips are cut, and the copper side of a board as it is drawn."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
import shapely

from fit.draw.boards import board_view
from fit.draw.copper import copper_view, cut_list
from fit.draw.drawing import Arc, Circle, Item, Line, Node, Operation, Path, Pen, Text, item_box
from fit.draw.flipped import flipped
from fit.draw.sheets import sheets
from fit.draw.trace import board_loops, corner_holes
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.geometry.strips import STRIP, StripCut, middle, strip_cuts
from fit.model.build import Used
from fit.model.part import Board, BoardHole, Notch
from fit.model.words import BoardStock, FaceName, StripRun
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from fit.units import Length as L
from tests.draw_scenes import at, boards, build, small, tray

PEN = Pen(width=0.2)
PITCH = 2.54


def on_standoffs(**changes: Any) -> Scene:
    """One board of strips on standoffs: 20 columns, 16 rows, holes where told."""
    given: dict[str, Any] = {
        "stock": BoardStock.STRIPS,
        "size": (L(20 * PITCH), L(16 * PITCH)),
        "holes": (hole(10, 8),),
    }
    board = Board(**(given | changes))
    used = Used(name="b", part=board, on=FaceName.FLOOR, at=at(0, 0), standoff=L(8))
    return assemble(build(tray(), used))


def hole(column: float, row: float, diameter: float = 3.2) -> BoardHole:
    return BoardHole(x=L((column - 0.5) * PITCH), y=L((row - 0.5) * PITCH), diameter=L(diameter))


def cuts(scene: Scene, name: str = "b") -> tuple[StripCut, ...]:
    return strip_cuts(scene, next(b for b in scene.boards if b.name == name))


def copper_pieces(scene: Scene, name: str) -> Any:
    """The strips as they are left, in shapely: full strips less a 1.5 mm wide cut at each place."""
    placed = next(b for b in scene.boards if b.name == name)
    board = placed.board
    w, rows = float(board.size[0]), int(board.size[1] / PITCH + 0.5)
    gone = [shapely.box(n.x, n.y, n.x + n.width, n.y + n.depth) for n in board.notches]
    gone += [
        shapely.box(middle(c.column) - 0.75, middle(c.row) - 1.2, middle(c.column) + 0.75,
                    middle(c.row) + 1.2)
        for c in cuts(scene, name)
    ]  # fmt: skip
    strips = [
        shapely.box(0, middle(r) - STRIP / 2, w, middle(r) + STRIP / 2) for r in range(1, rows + 1)
    ]
    return shapely.get_parts(shapely.union_all(strips).difference(shapely.union_all(gone)))


@pytest.mark.parametrize("scene", [small(), boards(), on_standoffs()], ids=["l", "odd", "plain"])
def test_nothing_used_touches_a_screw_or_standoff(scene: Scene) -> None:
    """Pieces of copper under a contact reach no hole that is left for a lead beyond its cuts."""
    for placed in scene.boards:
        if placed.board.stock is not BoardStock.STRIPS:
            continue
        pieces = copper_pieces(scene, placed.name)
        for one in placed.holes:
            metal = shapely.Point(one.x, one.y).buffer(one.diameter / 2 - 0.01)
            touched = [p for p in pieces if p.intersects(metal)]
            assert touched
            for piece in touched:
                x0, _, x1, _ = piece.bounds
                # Between its two cuts: at most from one board edge, or a short stretch.
                assert x1 - x0 < 16 or x0 < 0.01 or x1 > float(placed.board.size[0]) - 0.01


def test_a_standoff_of_six_millimetres_touches_three_strips() -> None:
    # M3 standoff: 5.5 across flats (common size), so a circle of 6.35: 3.18 from the middle.
    # Strips next to it begin 2.54 − 1.1 away, those after it 5.08 − 1.1 = 3.98 away.
    found = cuts(on_standoffs())
    assert {c.row for c in found} == {7, 8, 9}
    for row in (7, 8, 9):
        assert sorted(c.column for c in found if c.row == row) == [8, 12]


def test_cuts_keep_off_the_edge_and_out_of_notches() -> None:
    edge = cuts(on_standoffs(holes=(hole(2, 8),)))
    assert {c.column for c in edge} == {4}
    notch = Notch(x=L(0), y=L(5 * PITCH), width=L(8 * PITCH), depth=L(8 * PITCH))
    beside = cuts(on_standoffs(notches=(notch,)))
    # Columns 1 to 8 of rows 6 to 13 are gone, and the strips end there.
    assert {(c.row, c.column) for c in beside} == {(7, 12), (8, 12), (9, 12)}


def test_two_screws_without_a_hole_between_them_are_cut_off_together() -> None:
    near = cuts(on_standoffs(holes=(hole(8, 8), hole(11, 8))))
    assert sorted(c.column for c in near if c.row == 8) == [6, 13]
    apart = cuts(on_standoffs(holes=(hole(6, 8), hole(12, 8))))
    assert sorted(c.column for c in apart if c.row == 8) == [4, 8, 10, 14]
    # Four columns apart, one cut between them serves both.
    shared = cuts(on_standoffs(holes=(hole(7, 8), hole(11, 8))))
    assert sorted(c.column for c in shared if c.row == 8) == [5, 9, 13]


def test_only_strips_are_cut() -> None:
    for stock in (BoardStock.PADS, BoardStock.GROUPS, BoardStock.PLAIN):
        assert cuts(on_standoffs(stock=stock)) == ()


def test_a_block_behind_a_standing_board_of_strips_counts_as_metal() -> None:
    scene = small()
    standing = next(u for u in scene.build.parts if u.name == "display_board")
    assert isinstance(standing.part, Board)
    striped = replace(standing, part=replace(standing.part, stock=BoardStock.STRIPS))
    parts = tuple(striped if u is standing else u for u in scene.build.parts)
    changed = assemble(replace(scene.build, parts=parts))
    found = cuts(changed, "display_board")
    # Blocks 10 x 10 from the foot up lie over rows 1 to 4 at least.
    assert {1, 2, 3, 4} <= {c.row for c in found}
    columns = sorted(c.column for c in found if c.row == 2)
    assert len(columns) == 4
    assert columns[1] - columns[0] >= (10 / PITCH)


def test_the_list_has_every_cut_once() -> None:
    scene = small()
    main = next(b for b in scene.boards if b.name == "main_board")
    found = strip_cuts(scene, main)
    listed = [
        (int(row.split()[1]), int(column))
        for row, at_columns in cut_list(main, found).rows
        for column in at_columns.split(", ")
    ]
    assert listed == [(c.row, c.column) for c in found]


def test_the_copper_side_is_the_component_side_mirrored() -> None:
    scene = small()
    main = next(b for b in scene.boards if b.name == "main_board")
    found = strip_cuts(scene, main)
    copper = copper_view(main, found).drawing
    across = float(main.board.size[0])
    want = shapely.union_all([shapely.Polygon(loop) for loop in board_loops(main.board)])
    got = [shapely.Polygon([(n.x, n.y) for n in i.nodes]) for i in copper.on(Operation.CUT)
           if isinstance(i, Path)]  # fmt: skip
    mirrored = shapely.transform(want, lambda p: [[across, 0]] + p * [[-1, 1]])
    assert shapely.symmetric_difference(shapely.union_all(got), mirrored).area < 1e-9
    rings = {(round(i.centre[0], 6), round(i.centre[1], 6), round(i.radius, 6))
             for i in copper.on(Operation.DRILL) if isinstance(i, Circle)}  # fmt: skip
    for one in main.holes:
        assert (round(across - one.x, 6), round(one.y, 6), round(one.diameter / 2, 6)) in rings
    marks = [i.centre for i in copper.on(Operation.MARK) if isinstance(i, Circle)]
    assert sorted(marks) == sorted((across - middle(c.column), middle(c.row)) for c in found)


@pytest.mark.parametrize("name", ["main_board", "display_board"])
def test_a_number_stands_at_its_own_column_from_either_side(name: str) -> None:
    placed = next(b for b in small().boards if b.name == name)
    across = float(placed.board.size[0])
    for view, mirror in ((board_view(placed), False), (copper_view(placed, ()), True)):
        said = [t for t in view.drawing.on(Operation.NOTE) if isinstance(t, Text)]
        columns = [t for t in said if item_box(t).y1 < 0]
        assert len(columns) >= 5
        for text in columns:
            x = middle(int(text.words))
            assert item_box(text).middle[0] == pytest.approx(across - x if mirror else x)
        rows = [t for t in said if not 0 < item_box(t).middle[0] < across]
        assert rows
        for text in rows:
            assert text.at[1] == pytest.approx(middle(int(text.words)))


def test_strips_are_parted_by_a_line_between_each_two_rows() -> None:
    placed = next(b for b in small().boards if b.name == "main_board")
    drawn = copper_view(placed, ()).drawing.on(Operation.GUIDE)
    long = [i for i in drawn if isinstance(i, Line) and abs(i.start[0] - i.end[0]) > 10]
    assert len({round(i.start[1], 6) for i in long}) == 29
    # The notch of 6 columns in rows 29 and 30 leaves its strips shorter.
    top = next(i for i in long if i.start[1] == pytest.approx(29 * PITCH))
    assert abs(top.start[0] - top.end[0]) == pytest.approx(40 * PITCH, abs=0.01)


def test_corner_holes_lie_in_the_waste_and_touch_both_sides() -> None:
    for placed in (*boards().boards, *small().boards):
        board = placed.board
        whole = shapely.box(0, 0, board.size[0], board.size[1])
        waste = shapely.union_all(
            [shapely.box(n.x, n.y, n.x + n.width, n.y + n.depth) for n in board.notches]
        )
        left = whole.difference(waste)
        for (x, y), r in corner_holes(board, 3.0):
            disc = shapely.Point(x, y).buffer(r, 64)
            assert disc.within(waste.buffer(1e-6))
            assert left.distance(shapely.Point(x, y)) == pytest.approx(r)
            corner = min(
                (p for loop in board_loops(board) for p in loop),
                key=lambda p, x=x, y=y: math.dist(p, (x, y)),  # type: ignore[misc]
            )
            assert math.dist(corner, (x, y)) == pytest.approx(r * math.sqrt(2))


def test_each_inner_corner_has_its_hole_no_larger_than_the_notch() -> None:
    def board(*notches: Notch) -> Board:
        return Board(stock=BoardStock.PADS, size=(L(50), L(40)), notches=notches)

    edge = Notch(x=L(10), y=L(0), width=L(12), depth=L(8))
    corner = Notch(x=L(0), y=L(30), width=L(12), depth=L(10))
    inner = Notch(x=L(30), y=L(15), width=L(10), depth=L(10))
    slit = Notch(x=L(30), y=L(0), width=L(2), depth=L(8))
    counts = [len(corner_holes(board(n), 3.0)) for n in (edge, corner, inner)]
    assert counts == [2, 1, 4]
    assert len(corner_holes(board(edge, corner, inner), 3.0)) == 7
    assert {round(r, 6) for _, r in corner_holes(board(slit), 3.0)} == {1.0}
    assert corner_holes(board(), 3.0) == ()


@pytest.mark.parametrize(
    "item",
    [
        Line((1, 2), (3, 5), PEN),
        Circle((4, 1), 2, PEN),
        Arc((4, 1), 2, 20, 130, PEN),
        Path((Node(0, 0, 0.5), Node(4, 0), Node(4, 3, -0.3), Node(0, 3)), PEN),
    ],
    ids=lambda i: type(i).__name__,
)
def test_turned_over_twice_is_as_before(item: Item) -> None:
    once = flipped(item, 30)
    there, back = item_box(once), item_box(item)
    assert (there.x0, there.x1) == pytest.approx((30 - back.x1, 30 - back.x0))
    assert (there.y0, there.y1) == pytest.approx((back.y0, back.y1))
    again = item_box(flipped(once, 30))
    assert (again.x0, again.y0, again.x1, again.y1) == pytest.approx(
        (back.x0, back.y0, back.x1, back.y1)
    )


def test_both_sides_are_on_the_sheets_and_made_boards_show_one() -> None:
    said = {}
    for name, scene in (("small", small()), ("boards", boards())):
        pages = sheets(scene, PaperName.A4, "0", hand_work("careful"))
        said[name] = " ".join(
            item.words
            for page in pages
            for placed in page.drawings
            for item in placed.drawing.items()
            if isinstance(item, Text)
        )
    for board in ("main_board", "display_board"):
        for side in ("COMPONENT", "COPPER"):
            assert (
                f"{board}, seen from the {side} SIDE" in said["small"]
                or f"{board}, both" in said["small"]
            )
    assert "Strips to cut in main_board" in said["small"]
    assert "made board, seen from the COPPER" not in said["boards"]


def test_strips_along_the_columns_are_those_of_the_board_lying_the_other_way() -> None:
    """A board mirrored about its diagonal has its rows for columns: its cuts are mirrored too."""
    size = (L(20 * PITCH), L(16 * PITCH))
    notch = Notch(x=L(0), y=L(5 * PITCH), width=L(8 * PITCH), depth=L(8 * PITCH))
    rows = on_standoffs(size=size, holes=(hole(10, 8), hole(13, 8)), notches=(notch,))
    turned = Notch(x=notch.y, y=notch.x, width=notch.depth, depth=notch.width)
    columns = on_standoffs(
        size=size[::-1],
        holes=(hole(8, 10), hole(8, 13)),
        notches=(turned,),
        strips=StripRun.COLUMNS,
    )
    assert cuts(rows)
    assert {(c.row, c.column) for c in cuts(columns)} == {(c.column, c.row) for c in cuts(rows)}
    assert cuts(columns) != cuts(replace_strips(columns, StripRun.ROWS))


def replace_strips(scene: Scene, strips: StripRun) -> Scene:
    (placed,) = scene.boards
    other = replace(placed, board=replace(placed.board, strips=strips))
    return replace(scene, boards=(other,))


def test_strips_along_the_columns_are_drawn_and_listed_that_way() -> None:
    scene = on_standoffs(strips=StripRun.COLUMNS)
    (placed,) = scene.boards
    found = strip_cuts(scene, placed)
    listing = cut_list(placed, found)
    assert listing.heads == ("strip", "at hole rows")
    # As above: three strips beside the standoff, cut two holes away on either side.
    assert listing.rows == (("column 9", "6, 10"), ("column 10", "6, 10"), ("column 11", "6, 10"))
    view = copper_view(placed, found)
    lines = [i for i in view.drawing.on(Operation.GUIDE) if isinstance(i, Line)]
    gaps = [i for i in lines if math.dist(i.start, i.end) > PITCH]
    assert len(gaps) == 19
    for gap in gaps:
        assert gap.start[0] == pytest.approx(gap.end[0])
        assert abs(gap.end[1] - gap.start[1]) == pytest.approx(16 * PITCH)
    assert any("run along the columns" in fact for fact in view.facts)
    assert any("along the columns" in fact for fact in board_view(placed).facts)
