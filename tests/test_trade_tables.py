"""The tables themselves: headed, whole, read late, and searched with forgiving names."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.trade import (
    cautions,
    clearances,
    cutouts,
    drills,
    hands,
    materials,
    optics,
    paper,
    screws,
    tables,
)
from fit.trade.tables import Sure, UnknownName, pick

NAMES = tables.names()


def test_the_tables_asked_for_are_all_there() -> None:
    assert {
        "allowances",
        "button_holes",
        "clearance_metric",
        "finger_gaps",
        "gaps",
        "glands_metric",
        "glands_pg",
        "hands",
        "indices",
        "meter_cutouts",
        "metric_drills",
        "screw_heads",
    } <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_each_table_says_where_its_figures_come_from_and_how_sure(name: str) -> None:
    assert len(tables.source_of(name)) > 20
    sure = tables.how_sure(name)
    assert sure.startswith(("read", "from memory", "derived", "per row"))
    if sure.startswith("per row"):
        assert "sure" in tables.rows(name)[0]


@pytest.mark.parametrize("name", NAMES)
def test_each_table_is_whole(name: str) -> None:
    data = tables.rows(name)
    assert data
    width = len(data[0])
    for row in data:
        # The csv reader files cells too many under None and fills cells too few with None.
        assert len(row) == width
        assert all(type(each) is str for each in (*row.keys(), *row.values()))
        assert all(cell == cell.strip() for cell in row.values())
        assert any(row.values())
        if "sure" in row:
            assert Sure(row["sure"]) in Sure


@pytest.mark.parametrize("name", NAMES)
def test_every_number_column_holds_numbers(name: str) -> None:
    units = ("_mm", "_deg", "_factor", "_inch", "_per_k", "_um")
    for row in tables.rows(name):
        for column, cell in row.items():
            if column.endswith(units) and " " not in cell and cell:
                assert float(cell) >= 0, f"{name}.{column}"


def test_no_row_is_named_twice() -> None:
    # Heat-set inserts come in two families, heads and washers in several standards.
    several = {"inserts", "screw_heads", "washers", "gaps", "finger_gaps", "meter_cutouts"}
    for name in set(NAMES) - several:
        first = [next(iter(row.values())) for row in tables.rows(name)]
        assert len(first) == len(set(first)), name


def test_where_sources_differ_the_table_says_which_was_taken() -> None:
    # Known disagreements: ISO 273 M12, number drills, IEC 61554, D16 and D22, PG7, ISO 2768 c.
    for name in (
        "clearance_metric",
        "number_drills",
        "meter_edges",
        "button_holes",
        "glands_pg",
        "general_tolerances",
        "rect_cutouts",
        "washers",
        "screw_heads",
    ):
        assert any("taken" in note for note in tables.notes_of(name)), name


def test_nothing_is_opened_before_it_is_asked_for() -> None:
    script = (
        "import sys; opened = []\n"
        "sys.addaudithook(lambda event, args: event == 'open' and opened.append(str(args[0])))\n"
        "from fit.trade import cautions, clearances, cutouts, drills, hands, materials, openings\n"
        "from fit.trade import optics, paper, screws, stacks, tables\n"
        "before = [name for name in opened if name.endswith('.csv')]\n"
        "drills.metric_jobber()\n"
        "after = [name for name in opened if name.endswith('.csv')]\n"
        "print(len(before), len(after))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == ["0", "1"]


def test_an_unknown_name_gets_a_near_spelling() -> None:
    with pytest.raises(UnknownName) as caught:
        materials.plastic("PMA")
    assert caught.value.wrong == "'PMA' is not a known plastic"
    assert "PMMA" in caught.value.right
    assert str(caught.value) == f"{caught.value.wrong}; {caught.value.right}"
    assert isinstance(caught.value, LookupError)


@pytest.mark.parametrize(
    ("look_up", "wrong", "near"),
    [
        (screws.clearance_hole, "M13", "M12"),
        (screws.inch_clearance_hole, "No.7", "No."),
        (screws.tap_drill, "M3.2", "M3"),
        (screws.nut, "M9", "M8"),
        (screws.washer, "M55", "M5"),
        (screws.tapping_screw, "ST2.8", "ST2.9"),
        (screws.inserts, "M33", "M3"),
        (screws.standoff, "M44", "M4"),
        (drills.drill_named, "#81", "#8"),
        (drills.panel_thread, "15/32-30 UNS", "15/32-32 UNS"),
        (cutouts.gland, "PG12", "PG11 or PG13.5"),
        (cutouts.gland, "M18", "M16x1.5 or M20x1.5"),
        (cutouts.round_hole, "togle-small", "toggle-small"),
        (cutouts.rect_cutout, "dsub-8", "dsub-9"),
        (cutouts.display, "caracter-16x2", "character-16x2"),
        (hands.hand_work, "carefol", "careful"),
        (optics.refractive_index, "PMNA", "PMMA"),
        (paper.paper, "Leter", "Letter"),
        (paper.coin, "1 ero", "1 euro"),
        (materials.cut_method, "routng", "routing"),
        (clearances.allowance, "filter-lege", "filter-ledge"),
        (tables.rows, "metric_drill", "metric_drills"),
        (tables.source_of, "nut", "nuts"),
    ],
)
def test_every_look_up_refuses_what_it_does_not_know(
    look_up: object, wrong: str, near: str
) -> None:
    assert callable(look_up)
    with pytest.raises(UnknownName) as caught:
        look_up(wrong)
    assert wrong in caught.value.wrong
    assert near in caught.value.right


def test_a_name_nothing_like_any_other_gets_the_list() -> None:
    with pytest.raises(UnknownName) as caught:
        cutouts.round_hole("qqqq")
    assert caught.value.right.startswith("known are led-3,")
    assert caught.value.right.endswith("more")


def test_an_empty_name_is_unknown() -> None:
    with pytest.raises(UnknownName, match="known are"):
        cutouts.gland("")


def test_letter_case_blanks_and_the_times_sign_do_not_matter() -> None:
    assert cutouts.gland(" m12 × 1.5 ").hole == 12.5
    assert screws.clearance_hole("m3") == screws.clearance_hole("M3")


def test_the_beginning_of_a_name_does_only_where_it_is_plain() -> None:
    assert cutouts.gland("M12").thread == "M12x1.5"
    assert drills.panel_thread("15/32").major == 11.906
    # 1/4-40 and 1/4-32 both begin so; PG2 is not PG21.
    with pytest.raises(UnknownName, match=r"1/4-40 UNS or 1/4-32 UNEF"):
        drills.panel_thread("1/4")
    with pytest.raises(UnknownName):
        cutouts.gland("PG2")


@given(st.text(max_size=12))
def test_no_text_breaks_a_look_up(text: str) -> None:
    table = {"M3": 3, "M3.5": 3, "PG11": 11}
    try:
        found = pick("thread", text, table)
    except UnknownName as unknown:
        answer = f"{unknown.wrong}; {unknown.right}"
    else:
        answer = f"found {found}"
    assert answer.startswith(("found 3", "found 11", f"'{text}' is not a known thread; "))


def test_cautions_are_short_and_defer() -> None:
    assert set(cautions.cautions()) == set(cautions.Danger)
    for text in cautions.cautions().values():
        assert 40 < len(text) < 260
        assert text.endswith(".")
    mains = cautions.caution(cautions.Danger.MAINS)
    assert "local" in mains.lower()
    assert "licensed" in mains
    assert "licensed" in cautions.caution(cautions.Danger.EARTH)
