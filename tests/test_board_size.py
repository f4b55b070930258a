"""Boards whose size is left open: against every size, judged by the check, and in files."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from pathlib import Path

import pytest

from fit import pipeline
from fit.check import Inspection, inspected
from fit.findings import Grade, UnusableInput, Verdict
from fit.geometry.assemble import assemble
from fit.model.build import Build, Used
from fit.model.part import Board, BushingPart, Hull
from fit.model.words import BoardStock, Entry, FaceName
from fit.read import load_build
from fit.solve.board import Sawn, biggest
from fit.solve.board_grid import build_with, grid_of
from fit.solve.board_search import SIDES, side_moved
from fit.solve.board_size import Taken, enlarged, open_sizes
from fit.solve.board_size_places import with_more_room, with_sizes
from fit.solve.layout import lay_out
from fit.solve.outline import Outline
from fit.solve.run import Effort, Watch
from fit.solve.settled import settled
from fit.units import PITCH
from fit.units import Length as L
from tests.board_builds import a_board, a_build, a_hole, a_socket, place, random_build
from tests.conftest import ROOT
from tests.trays import four_walls, tray

More = tuple[int, int, int, int]
"""Columns and rows more at the left, below, at the right, above."""


def _board(build: Build, name: str = "board") -> Board:
    part = build.part(name).part
    assert isinstance(part, Board)
    return part


def _open(build: Build, most: tuple[int | None, int | None] = (None, None)) -> Build:
    """The build with its board's size open, up to so many columns and rows."""
    wide, high = (None if n is None else L(n * PITCH) for n in most)
    return _with(build, replace(_board(build), up_to=(wide, high)))


def _with(build: Build, part: Board, **more: object) -> Build:
    used = replace(build.part("board"), part=part, **more)  # type: ignore[arg-type]
    return replace(build, parts=tuple(used if u.name == "board" else u for u in build.parts))


def _larger(build: Build, more: More) -> Build:
    """The build with rows put round its board by hand, on floor or lid, all else where it was.

    Seen from outside, across runs against the board's own x; up runs along its y.
    """
    left, low, right, high = more
    board = _board(build)
    at = build.part("board").at
    assert at is not None
    assert at.across is not None
    assert at.up is not None
    middle = (
        at.across.value + (left - right) * PITCH / 2,
        at.up.value + (high - low) * PITCH / 2,
    )
    part = replace(
        board,
        size=(L(board.size[0] + (left + right) * PITCH), L(board.size[1] + (low + high) * PITCH)),
        holes=tuple(
            replace(h, x=L(h.x + left * PITCH), y=L(h.y + low * PITCH)) for h in board.holes
        ),
        up_to=None,
    )
    return _with(build, part, at=place(*middle))


def _passes(build: Build) -> bool:
    try:
        findings = inspected(Inspection(assemble(build)))
    except UnusableInput:
        return False
    return all(f.grade is not Grade.CLASH for f in findings)


def _more(taken: Taken) -> More:
    assert taken.outline is not None
    (x0, y0, x1, y1), (_, _, wide, high) = taken.outline.rect, taken.grid.now
    return -x0, -y0, x1 - wide, y1 - high


def _one_more(more: More, n: int) -> More:
    a, b, c, d = (m + (k == n) for k, m in enumerate(more))
    return a, b, c, d


def _best_by_trying(build: Build, most: tuple[int, int]) -> int:
    """The most cells of all boards that hold the least one, the largest first."""
    wide, high = (round(s / PITCH) for s in _board(build).size)
    # None is wider or deeper than the box itself.
    columns, rows = min(most[0], int(38 / PITCH)), min(most[1], int(32 / PITCH))
    sizes: dict[More, int] = {
        (a, b, c, d): (wide + a + c) * (high + b + d)
        for a, b, c, d in itertools.product(range(9), repeat=4)
        if wide + a + c <= columns and high + b + d <= rows
    }
    for more in sorted(sizes, key=lambda m: (-sizes[m], m)):
        if _passes(_larger(build, more)):
            return sizes[more]
    return 0


def _limits(seed: int) -> tuple[int | None, int | None]:
    r = random.Random(seed)
    return r.choice([None, None, 5, 7]), r.choice([None, None, 4, 6])


def _cannot_be_enlarged(seed: int) -> Taken:
    """What a random build's board took: it passes, and one row more on any side does not."""
    build = random_build(seed)
    most = _limits(seed)
    found = enlarged(_open(build, most), Watch())
    (taken,) = found.taken
    assert not open_sizes(found.build)
    if taken.outline is None:
        assert not _passes(build), seed
        assert taken.reasons
        return taken
    more = _more(taken)
    assert _passes(found.build), seed
    assert _passes(_larger(build, more)), seed
    for n, side in enumerate(SIDES):
        size = (taken.columns, taken.rows)[n % 2]
        if size == most[n % 2]:
            assert taken.ended[side] == "your file allows no more"
        else:
            assert not _passes(_larger(build, _one_more(more, n))), (seed, side)
    return taken


def test_no_row_can_be_added_to_a_random_board() -> None:
    found = [_cannot_be_enlarged(seed) for seed in range(14)]
    assert sum(taken.outline is not None for taken in found) > 8
    assert any("your file allows no more" in taken.ended.values() for taken in found)
    assert any(taken.columns * taken.rows > 60 for taken in found)


@pytest.mark.slow
@pytest.mark.parametrize("start", range(14, 74, 12))
def test_nor_to_dozens_more(start: int) -> None:
    for seed in range(start, start + 12):
        _cannot_be_enlarged(seed)


def _is_the_largest(seed: int) -> None:
    build = random_build(seed)
    most = _limits(seed)
    (taken,) = enlarged(_open(build, most), Watch()).taken
    wide, high = (99 if n is None else n for n in most)
    assert taken.columns * taken.rows == _best_by_trying(build, (wide, high)), seed


@pytest.mark.parametrize("seed", [0, 4, 11, 13])
def test_the_size_is_the_largest_of_all(seed: int) -> None:
    _is_the_largest(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 6, 8, 10, 16, 19])
def test_so_it_is_in_more_boxes(seed: int) -> None:
    _is_the_largest(seed)


@pytest.mark.proof
@pytest.mark.parametrize("seed", range(20, 60))
def test_and_in_dozens_of_others(seed: int) -> None:
    _is_the_largest(seed)


def test_an_empty_box_by_hand() -> None:
    # As in test_board: 21 columns and 13 rows go into 60 × 40 mm round a hole in the middle.
    box = tray(length=L(64), width=L(44), corner_inner=L(0), **four_walls(0.0))
    used = Used(
        name="board", part=a_board(3, 3, (a_hole(2, 2),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    build = a_build(box, used)
    (taken,) = enlarged(_open(build), Watch()).taken
    assert (taken.columns, taken.rows) == (21, 13)
    (taken,) = enlarged(_open(build, (20, None)), Watch()).taken
    assert (taken.columns, taken.rows) == (20, 13)
    assert [taken.ended[s] for s in ("left", "right")] == ["your file allows no more"] * 2
    plain = replace(_board(build), stock=BoardStock.PLAIN, size=(L(8), L(8)), up_to=(None, None))
    (taken,) = enlarged(_with(build, plain), Watch()).taken
    # In whole millimetres from a corner 4 mm off the middle: 25 more on each side make 58 and 38.
    assert (taken.columns, taken.rows) == (58, 38)


def test_an_edge_that_something_looks_over_stays() -> None:
    box = tray(length=L(64), width=L(44), **four_walls(0.0))
    part = a_board(9, 3, (a_hole(7, 2),), noses=(a_socket(),))
    used = Used(name="board", part=part, on=FaceName.FLOOR, at=place(16.5, 0), standoff=L(6))
    (taken,) = enlarged(_open(a_build(box, used)), Watch()).taken
    assert taken.outline is not None
    assert taken.outline.rect[0] == 0
    assert taken.ended["left"] == "something looks out over this edge"
    assert taken.columns > 9


def _button(depth: float) -> BushingPart:
    return BushingPart(
        bushing=L(7), neck=L(6), entry=Entry.OUTSIDE, hull=Hull(diameter=L(6), depth=L(depth))
    )


def test_what_clashes_elsewhere_comes_first() -> None:
    box = tray(length=L(64), width=L(44), corner_inner=L(0), **four_walls(0.0))
    used = Used(
        name="board", part=a_board(3, 3, (a_hole(2, 2),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    deep = Used(name="deep", part=_button(90), on=FaceName.LEFT, at=place(0, 45))
    found = enlarged(_open(a_build(box, used, deep)), Watch())
    (taken,) = found.taken
    assert taken.waits
    assert taken.outline is None
    assert "deep" in taken.reasons[0]
    assert _board(found.build).size == used.part.size  # type: ignore[union-attr]


def test_where_the_least_is_in_the_way_there_is_none() -> None:
    box = tray(length=L(64), width=L(44), corner_inner=L(0), **four_walls(0.0))
    used = Used(
        name="board", part=a_board(12, 6, (a_hole(2, 2),)), on=FaceName.FLOOR, at=place(0, 0),
        standoff=L(6),
    )  # fmt: skip
    deep = Used(name="deep", part=_button(36), on=FaceName.LEFT, at=place(0, 14))
    (taken,) = enlarged(_open(a_build(box, used, deep)), Watch()).taken
    assert taken.outline is None
    assert not taken.waits
    assert any("deep" in reason for reason in taken.reasons)


def test_a_stopped_search_keeps_a_board_that_passes() -> None:
    watch = Watch()

    def stop(words: str) -> None:
        if words.startswith("checking outline 3 "):
            watch.stopped.set()

    build = random_build(13)
    found = enlarged(_open(build), watch, stop)
    (taken,) = found.taken
    assert taken.outline is None or _passes(found.build)
    assert taken.cut_short


@pytest.mark.slow
def test_a_lying_and_a_standing_board_take_their_sizes_together(tmp_path: Path) -> None:
    text = (ROOT / "boxes" / "builds" / "hive-scale.yaml").read_text()
    for size, least in (("[46 holes, 30 holes]", "[44, 28]"), ("[30 holes, 14 holes]", "[30, 14]")):
        holes = least.replace(",", " holes,").replace("]", " holes]")
        assert size in text
        text = text.replace(size, f"{{at_least: {holes}}}")
    found = settled(_read(tmp_path, text))
    assert [taken.name for taken in found.sizes] == ["main_board", "display_board"]
    build = found.scene.build
    assert pipeline.examine(build).verdict is not Verdict.CLASH
    for taken in found.sizes:
        grid = grid_of(found.scene, taken.name)
        assert (taken.columns, taken.rows) == grid.now[2:]
        for side in SIDES:
            if grid.standing and side == "lower":
                continue
            other = build_with(build, grid, side_moved(Outline(rect=grid.now), side))
            assert other is None or not _passes(other), (taken.name, side)
    # With notches allowed, so many outlines are refused that a rectangle has to do.
    again = biggest(build, "display_board", Sawn(), Watch())
    assert again.area >= found.sizes[1].columns * found.sizes[1].rows


# --- with places open

_FILE = """\
build: little
box: {outside: [84, 64, 34], walls: {thickness: 2, draft: 1}, floor: 2,
  lid: {kind: flat, thickness: 2}}
drawer: small-kit
parts:
  board:
    use:
      kind: board
      stock: pads
      size: biggest
      underside: 2
      holes: [[2.5 holes, 2.5 holes, 3.2]]
    on: floor
    standoff: 6
    at: {across: 3, up: centre}
  cell: {use: {kind: holder, size: [16, 22, 18], fixing: tape}, on: floor}
"""


def _read(folder: Path, text: str) -> Build:
    path = folder / "little.yaml"
    path.write_text(text)
    return load_build(path)


def test_other_places_make_a_board_larger(tmp_path: Path) -> None:
    build = _read(tmp_path, _FILE)
    watch = Watch(effort=Effort(seconds=300, work=6))
    laid = lay_out(build, watch)
    assert laid.layout is not None
    first = with_sizes(laid, laid.layout, watch)
    best = with_more_room(laid, first, watch)
    assert best.cells > first.cells
    assert best.layout.build.part("cell").at != first.layout.build.part("cell").at
    for sized in (first, best):
        (taken,) = sized.taken
        assert pipeline.examine(sized.layout.build).verdict is not Verdict.CLASH
        board = _board(sized.layout.build)
        assert board.size == pytest.approx((taken.columns * PITCH, taken.rows * PITCH))


def test_a_check_takes_the_size_as_well(tmp_path: Path) -> None:
    build = _read(tmp_path, _FILE)
    found = settled(build)
    (taken,) = found.sizes
    assert _board(found.scene.build).size == pytest.approx(
        (taken.columns * PITCH, taken.rows * PITCH)
    )
    outcome = pipeline.examine(build)
    assert outcome.sizes == found.sizes
    assert outcome.verdict is not Verdict.CLASH
    quick = settled(build, layouts=False)
    assert not quick.sizes
    assert _board(quick.scene.build).size == _board(build).size


# --- what a file says


@pytest.mark.parametrize(
    ("size", "least", "most"),
    [
        # A hole of 3.2 at 6.35, 3 mm from the board's edge: 10.95, 5 whole holes.
        ("biggest", (5, 5), (None, None)),
        ("[biggest, 12 holes]", (5, 12), (None, 12)),
        ("[20 holes, biggest]", (20, 5), (20, None)),
        ("{at_least: [9 holes, 8 holes]}", (9, 8), (None, None)),
        ("{at_most: [40 holes, 30 holes]}", (5, 5), (40, 30)),
        ("{at_least: [9 holes, 8 holes], at_most: [9 holes, 30 holes]}", (9, 8), (9, 30)),
    ],
)
def test_every_way_to_leave_a_size_open(
    size: str, least: tuple[int, int], most: tuple[int | None, int | None], tmp_path: Path
) -> None:
    board = _board(_read(tmp_path, _FILE.replace("size: biggest", f"size: {size}")))
    assert board.size == pytest.approx([n * PITCH for n in least])
    assert board.up_to is not None
    assert [m if m is None else round(m / PITCH, 6) for m in board.up_to] == list(most)


def test_a_board_on_posts_reaches_them(tmp_path: Path) -> None:
    text = (
        "build: posts\nbox: tray-150x100x60\ndrawer: small-kit\nparts:\n"
        "  board: {use: {kind: board, stock: pads, size: biggest}, on: posts}\n"
    )
    build = _read(tmp_path, text)
    posts = [p for p in build.box.posts if p.use.value == "board"]
    board = _board(build)
    for axis, side in ((0, board.size[0]), (1, board.size[1])):
        ends = [float((p.x, p.y)[axis]) for p in posts]
        assert side >= max(ends) - min(ends) + 2 * PITCH
    scene = assemble(build)
    assert len(scene.boards[0].holes) == len(posts)


def test_a_board_of_the_catalogue_has_a_size(tmp_path: Path) -> None:
    parts = tmp_path / "boxes" / "parts"
    parts.mkdir(parents=True)
    (parts / "slab.yaml").write_text("part: slab\nkind: board\nstock: pads\nsize: biggest\n")
    text = _FILE[: _FILE.index("  board:")] + "  board: {use: slab, on: floor, standoff: 6}\n"
    with pytest.raises(UnusableInput) as caught:
        _read(tmp_path, text)
    (problem,) = caught.value.problems
    assert problem.where.line == 6
    assert "the size of board 'slab' is open in its own file" in str(problem)
