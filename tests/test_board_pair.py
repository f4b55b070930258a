"""Two boards at a right angle and the display on one: against the check, asked of every one."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from fit import pipeline
from fit.check import Inspection, inspected
from fit.commands.app import run
from fit.commands.board_pair_words import pairs_text
from fit.commands.status import Status
from fit.findings import Grade, UnusableInput, Verdict
from fit.geometry.assemble import assemble
from fit.model.build import Build, Coordinate, Drawer, How, Need, Place, Used, Window
from fit.model.part import Board, BoardHole, Display, Joint
from fit.model.words import BoardStock, FaceName, JointKind
from fit.solve.board import Sawn
from fit.solve.board_pair import Pairs, pairs
from fit.solve.board_rise import raised
from fit.solve.run import Watch
from fit.units import PITCH
from fit.units import Length as L
from tests.trays import flat_lid, four_walls, tray

_WIDE, _DEEP, _HIGH = 12, 10, 10
_MIDDLE = Coordinate(how=How.CENTRE)


def _at(mm: float, how: How = How.AT) -> Coordinate:
    return Coordinate(how=how, value=L(mm))


def _rows(columns: int, rows: int, *holes: tuple[int, int]) -> Board:
    return Board(
        stock=BoardStock.PADS, size=(L(columns * PITCH), L(rows * PITCH)),
        holes=tuple(
            BoardHole(x=L((x - 0.5) * PITCH), y=L((y - 0.5) * PITCH), diameter=L(2))
            for x, y in holes
        ),
    )  # fmt: skip


def _build(height: float, up: Coordinate, draft: float = 1.0) -> Build:
    """A little box whose walls and holes leave either board its twelve columns only."""
    box = tray(
        length=L(40), width=L(44), height=L(height), floor=L(2), corner_inner=L(0), posts=(),
        ribs=(), corner_outer=L(2), lid=flat_lid(2), **four_walls(draft),
    )  # fmt: skip
    display = Display(
        module=(L(22), L(9)), thickness=L(5), active=(L(18), L(6)), visible=(L(20), L(8.5))
    )
    joint = Joint(kind=JointKind.BLOCK, size=(L(8), L(10), L(8)), count=2, inset=L(7), screw=L(2))
    window = Window(gap=L(1), seen_from=0.0, opening=(L(19), L(7)))
    return Build(
        name="it", box=box, drawer=Drawer(name="none", bits=()),
        needs=(Need(rule="hole-edges", value=L(1)),),
        parts=(
            Used(name="digits", part=display, on=FaceName.FRONT, window=window,
                 at=Place(across=_MIDDLE, up=up)),
            Used(name="lying", part=_rows(_WIDE, _DEEP, (2, 8), (11, 8)), on=FaceName.FLOOR,
                 standoff=L(5), at=Place(across=_MIDDLE, up=_at(-1))),
            Used(name="standing", part=_rows(_WIDE, _HIGH), joined_to="lying", joint=joint,
                 carries=("digits",)),
        ),
    )  # fmt: skip


def _with(build: Build, **changes: dict[str, object]) -> Build:
    return replace(
        build,
        parts=tuple(replace(u, **changes.get(u.name, {})) for u in build.parts),  # type: ignore[arg-type]
    )


def _passes(build: Build) -> bool:
    try:
        findings = inspected(Inspection(assemble(build)))
    except UnusableInput:
        return False
    return all(f.grade is not Grade.CLASH for f in findings)


def _found(build: Build, read: Build | None = None) -> Pairs:
    return pairs(build, "standing", Sawn(notches=0, least_width=2), Watch(), read=read)


def _raised_to(build: Build, up: Coordinate) -> Build:
    return _with(build, digits={"at": Place(across=_MIDDLE, up=up)})


def _most_rows(build: Build, up: Coordinate) -> int:
    """The most rows of the standing board, of every number, that the check passes."""
    there = _raised_to(build, up)
    for rows in range(13, 0, -1):
        if _passes(_with(there, standing={"part": _rows(_WIDE, rows)})):
            return rows
    return 0


def _lying(build: Build, first: int, end: int) -> Build:
    """The lying board reaching from one row to before another, counted from its present first."""
    back = ((first + end) / 2 - _DEEP / 2) * PITCH
    part = _rows(_WIDE, end - first, (2, 8 - first), (11, 8 - first))
    return _with(build, lying={"part": part, "at": Place(across=_MIDDLE, up=_at(-1 + back))})


@pytest.mark.parametrize(
    ("height", "how"),
    [
        (40.5, How.AT),
        pytest.param(41, How.FROM_RIM, marks=pytest.mark.slow),
    ],
)
def test_every_height_of_the_display_gets_the_rows_the_check_allows(
    height: float, how: How
) -> None:
    up = _at(23.0) if how is How.AT else _at(17.0, how)
    build = _build(height, up)
    assert _passes(build)
    found = _found(build)
    assert found.raised is not None
    assert found.raised.how is how
    assert not found.raised.open
    (row,) = found.rows
    told = {at.rise.mm: at.rows for at in row.heights}
    lying = _with(build, lying={"part": row.build.part("lying").part,
                                "at": row.build.part("lying").at})  # fmt: skip
    for mm in range(3, 38):
        assert told.get(mm, 0) == _most_rows(lying, _at(mm, how)), mm
    assert set(told.values()) >= {0, 10, 11}
    assert row.rise == found.raised.now
    assert told[row.rise.mm] == row.height


def test_no_pair_of_depth_and_height_beats_those_told() -> None:
    build = _build(40.5, _at(24))
    found = _found(build)
    front = found.rows[0].lying.rect[1]
    passing = {
        (depth, rows)
        for depth in range(9, 16)
        for rows in range(9, 14)
        if _passes(
            _with(_lying(build, front, front + depth), standing={"part": _rows(_WIDE, rows)})
        )
    }
    assert passing
    best = {
        (d, h)
        for d, h in passing
        if not any(a >= d and b >= h and (a, b) != (d, h) for a, b in passing)
    }
    assert {(row.depth, row.height) for row in found.rows} == best


@pytest.mark.slow
@pytest.mark.parametrize("height", [39, 39.5, 40.5, 43])
@pytest.mark.parametrize("draft", [0.0, 2.5])
def test_all_depths_heights_and_displays_are_as_the_check_has_them(
    height: float, draft: float
) -> None:
    build = _build(height, _at(23.5), draft)
    found = _found(build)
    assert found.rows
    front = found.rows[0].lying.rect[1]
    for row in found.rows:
        told = {at.rise.mm: at.rows for at in row.heights}
        lying = _lying(build, front, front + row.depth)
        for mm in (*range(3, int(height)), 23.5):
            assert told.get(mm, 0) == _most_rows(lying, _at(mm)), (row.depth, mm)
    deeper = _lying(build, front, front + found.rows[0].depth + 1)
    assert not _most_rows(deeper, _at(23.5))


def test_an_open_display_is_put_where_the_board_may_be_highest() -> None:
    build = _build(40.5, _at(23))
    read = _with(build, digits={"at": Place(across=_MIDDLE)})
    fixed, free = _found(build), _found(build, read)
    assert free.raised is not None
    assert free.raised.open
    assert [row.height for row in fixed.rows] == [10]
    (row,) = free.rows
    most = {mm: _most_rows(build, _at(mm)) for mm in range(21, 30)}
    assert row.height == max(most.values()) == 11
    assert row.rise is not None
    nearest = min((mm for mm in most if most[mm] == 11), key=lambda mm: abs(mm - 23))
    assert row.rise.mm == nearest
    assert row.build.part("digits").at == Place(across=_MIDDLE, up=row.rise.given)
    assert pipeline.examine(row.build).verdict is not Verdict.CLASH


def test_a_stopped_search_keeps_the_pair_and_the_heights_it_has() -> None:
    watch = Watch()

    def stop(words: str) -> None:
        if words.startswith("digits at 15 "):
            watch.stopped.set()

    build = _build(40.5, _at(24))
    found = pairs(build, "standing", Sawn(notches=0, least_width=2), watch, stop)
    assert found.cut_short
    (row,) = found.rows
    assert _passes(row.build)
    assert [at.rise.mm for at in row.heights] == [*range(8, 16), 24]


def test_a_display_beside_another_part_is_not_moved() -> None:
    build = _build(40.5, _at(24))
    spot = Used(
        name="mark", part=build.part("digits").part, on=FaceName.FRONT, window=Window(),
        at=Place(across=_MIDDLE, up=_at(24)),
    )  # fmt: skip
    beside = _with(build, digits={"at": Place(beside="mark", up=_at(24))})
    beside = replace(beside, parts=(spot, *beside.parts))
    assert raised(beside, beside, "standing", ("lying", "standing")) is None


def test_the_command_tells_what_the_displays_height_does(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run(["board", "gate-counter", "--pair", "--json"]) == Status.GOOD
    table = json.loads(capsys.readouterr().out)["tables"][0]
    assert table["display"]["name"] == "count"
    assert (table["display"]["counted"], table["display"]["now"]) == ("from_floor", 33)
    (pair,) = table["pairs"]
    rows = {at["at"]: at["rows"] for at in pair["heights"]}
    assert rows[33] == pair["height"]
    assert all(at["why"] for at in pair["heights"] if not at["rows"])
    assert all(at["say"] for at in table["display"]["barred"])


def test_the_words_tell_it_in_spans() -> None:
    build = _build(40.5, _at(23, How.FROM_FLOOR))
    text = pairs_text(_found(build), build).splitlines()
    head = next(line for line in text if "rows deep" in line)
    assert head.endswith("digits: mm from the floor")
    told = text[text.index(head) + 1]
    assert told.split() == ["1", "13", "(33.02", "mm)", "10", "(25.4", "mm)", "22-30"]
    here = next(line for line in text if line.endswith("← this pair"))
    assert here.split()[:2] == ["22-23", "10"]
    assert (
        "  Pair 1 could have 11 rows of standing with digits at 24, 28-29 mm from the floor."
        in (text)
    )
    assert sum(" and beyond, whatever the boards: " in line for line in text) == 2
    assert all(line == line.rstrip() for line in text)
