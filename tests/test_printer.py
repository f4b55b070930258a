"""Printers: what a test print measured, kept, refused, and made up for on later sheets."""

from __future__ import annotations

import json
import math
import os
import stat
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from fit.commands.app import run
from fit.commands.status import Status
from fit.draw.correction import Correction, percent
from fit.draw.drawing import Circle, Line, Page, path_pieces
from fit.draw.drawing import Path as Outline
from fit.draw.furniture import Lay, form
from fit.draw.gauges_printer import printer_page, reading_at, readings
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.findings import UnusableInput
from fit.printers import (
    PrinterError,
    Target,
    card_sizes,
    config_folder,
    forget,
    measured,
    printer_named,
    printers,
    remember,
)
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from tests.conftest import ROOT
from tests.draw_ink import words
from tests.draw_scenes import large, small
from tests.gauge_ink import READERS, Lines, Point, size

HIVE = ROOT / "boxes" / "builds" / "hive-scale.yaml"
# ISO/IEC 7810 ID-1.
CARD = (85.60, 53.98)
Captured = pytest.CaptureFixture[str]

JET = Correction(printer="office jet", across=85.6 / 84.9, along=53.98 / 53.4)
SCENES = {"small": small, "large": large}


@pytest.fixture(autouse=True)
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A settings folder of its own for each test; results land beside it."""
    folder = tmp_path / "settings"
    monkeypatch.setenv("FIT_CONFIG", str(folder))
    monkeypatch.chdir(tmp_path)
    return folder


# ---- what is measured -----------------------------------------------------------------------


def test_a_card_gives_the_factor_of_each_axis() -> None:
    told = measured("office", Target.CARD, "84.9", "53.4")
    assert told.correction.across == pytest.approx(85.60 / 84.9)
    assert told.correction.along == pytest.approx(53.98 / 53.4)
    assert told.correction.words((told.correction.across, told.correction.along)) == (
        "Corrected for printer office: x +0.82 %, y +1.09 %."
    )
    assert told.doubt is None


def test_bars_give_the_same_as_a_card_of_the_same_print() -> None:
    card = measured("a", Target.CARD, str(CARD[0] * 0.99), str(CARD[1] * 1.004)).correction
    bars = measured("a", Target.BARS, "99", "100.4").correction
    assert (card.across, card.along) == pytest.approx((bars.across, bars.along))


def test_a_sheet_that_lies_is_corrected_along_the_feed() -> None:
    need = Correction(printer="x", across=1.01, along=0.98)
    assert need.on(210, 297) == (1.01, 0.98)
    assert need.on(297, 210) == (0.98, 1.01)


def test_percent_has_a_sign_and_no_minus_zero() -> None:
    assert [percent(v) for v in (1.0082, 0.98, 1.0, 0.99999)] == [
        "+0.82 %", "−2.00 %", "+0.00 %", "+0.00 %",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("target", "across", "along", "why"),
    [
        # A4 on Letter paper, fitted: 279.4 / 297 (ISO 216, ANSI/ASME Y14.1).
        (Target.CARD, "80.53", "50.78", "A4 sheet made to fit Letter"),
        (Target.BARS, "94.07", "94.07", "A4 sheet made to fit Letter"),
        # Readers that shrink to 96 %: the dialog's fault.
        (Target.BARS, "96", "96", "dialog has shrunk the page"),
        (Target.BARS, "104", "104.1", "dialog has enlarged the page"),
        (Target.CARD, "53.4", "84.9", "wrong order"),
        (Target.CARD, "8.49", "5.34", "in cm"),
        (Target.BARS, "3.93", "3.94", "in inches"),
        (Target.BARS, "99", "96", "differ too much"),
        (Target.BARS, "96.9", "100", "more than 3 % is not the printer's own error"),
    ],
)
def test_what_no_printer_does_is_refused_with_its_likely_cause(
    target: Target, across: str, along: str, why: str
) -> None:
    with pytest.raises(PrinterError, match=why) as refused:
        measured("x", target, across, along)
    assert "more than 3 %" in str(refused.value)


def test_three_percent_is_still_taken() -> None:
    assert measured("x", Target.BARS, "97.1", "102.9").correction.across == pytest.approx(1 / 0.971)


def test_the_same_shrink_both_ways_is_doubted() -> None:
    # Letter on A4, fitted: 210 / 215.9.
    doubt = measured("x", Target.BARS, "97.27", "97.27").doubt
    assert doubt is not None
    assert "100 %" in doubt
    assert measured("x", Target.BARS, "99.2", "99.2").doubt is None
    assert measured("x", Target.BARS, "97.5", "99.9").doubt is None


@pytest.mark.parametrize(
    ("across", "along"),
    [("0", "100"), ("-99", "99"), ("nan", "99"), ("99", ""), ("99", "x"), ("1e3", "99"), ("", "")],
)
def test_lengths_that_are_none_are_refused(across: str, along: str) -> None:
    with pytest.raises(PrinterError):
        measured("x", Target.BARS, across, along)


@pytest.mark.parametrize("typed", ["84.9x53.4", "84.9 x 53.4", "84.9×53.4", " 84.9X53.4 "])
def test_a_card_is_typed_as_width_by_height(typed: str) -> None:
    told = measured("x", Target.CARD, *card_sizes(typed))
    assert (told.across, told.along) == (84.9, 53.4)


@pytest.mark.parametrize("typed", ["84.9", "", "84.9x53.4x1", "84.9,53.4"])
def test_a_card_of_another_form_is_refused(typed: str) -> None:
    with pytest.raises(PrinterError, match=r"write 84.9x53.4"):
        card_sizes(typed)


def test_inches_are_lengths_too() -> None:
    told = measured("x", Target.BARS, "3.9 in", "9.9 cm")
    assert (told.across, told.along) == pytest.approx((99.06, 99.0))


@pytest.mark.parametrize("name", ["", "   ", "a\x07b", "x" * 25, "--card"])
def test_names_that_do_not_go_on_a_sheet_are_refused(name: str) -> None:
    with pytest.raises(PrinterError):
        measured(name, Target.BARS, "99", "99")


# ---- what is kept ---------------------------------------------------------------------------


def test_printers_are_kept_until_forgotten(config: Path) -> None:
    assert printers() == {}
    first = measured("büro  2", Target.CARD, "84.9", "53.4")
    assert remember(first) is None
    other = measured("den", Target.BARS, "99", "100.2")
    remember(other)
    assert printers() == {"büro 2": first, "den": other}
    assert printer_named("büro 2") == first
    again = measured("den", Target.BARS, "99.5", "100.2")
    assert remember(again) == other
    forget("büro 2")
    assert printers() == {"den": again}
    assert [p.name for p in config.iterdir()] == ["printers.json"]


def test_the_file_holds_what_was_measured_as_plain_json(config: Path) -> None:
    remember(measured("den", Target.BARS, "99", "100.2"))
    told = json.loads((config / "printers.json").read_text(encoding="utf-8"))
    assert told == {"printers": {"den": {"of": "bars", "measured": [99.0, 100.2]}}}


def test_an_unknown_printer_names_those_that_are_known() -> None:
    with pytest.raises(PrinterError, match="fit printer --test"):
        printer_named("den")
    remember(measured("den", Target.BARS, "99", "100.2"))
    with pytest.raises(PrinterError, match="did you mean 'den'"):
        forget("dem")
    with pytest.raises(PrinterError, match="known are den"):
        printer_named("office")


@pytest.mark.parametrize(
    "text",
    [
        "", "{", "[]", "{}", '{"printers": []}', '{"printers": {"a": 3}}',
        '{"printers": {"a": {"of": "card"}}}',
        '{"printers": {"a": {"of": "card", "measured": [84.9]}}}',
        '{"printers": {"a": {"of": "page", "measured": [84.9, 53.4]}}}',
        '{"printers": {"a": {"of": "bars", "measured": [NaN, 99]}}}',
        '{"printers": {"a": {"of": "bars", "measured": [60, 99]}}}',
        '{"printers": {"a": {"of": "bars", "measured": "99"}}}',
    ],
)  # fmt: skip
def test_a_spoilt_file_is_named_and_left_alone(text: str, config: Path) -> None:
    config.mkdir()
    file = config / "printers.json"
    file.write_text(text)
    with pytest.raises(UnusableInput, match=r"printers\.json") as refused:
        remember(measured("den", Target.BARS, "99", "100.2"))
    assert "delete the file" in str(refused.value)
    assert file.read_text() == text


def test_bytes_that_are_no_text_are_a_spoilt_file(config: Path) -> None:
    config.mkdir()
    (config / "printers.json").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UnusableInput):
        printers()


def test_settings_lie_where_each_system_keeps_them(monkeypatch: pytest.MonkeyPatch) -> None:
    # XDG Base Directory Specification; Apple's and Microsoft's folders for application settings.
    monkeypatch.delenv("FIT_CONFIG")
    monkeypatch.setenv("HOME", "/h")
    monkeypatch.setenv("USERPROFILE", "/h")
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    assert config_folder() == Path.home() / ".config" / "fit"
    base = Path("/x/conf").absolute()
    monkeypatch.setenv("XDG_CONFIG_HOME", str(base))
    assert config_folder() == base / "fit"
    monkeypatch.setenv("XDG_CONFIG_HOME", "not/absolute")
    assert config_folder() == Path.home() / ".config" / "fit"
    monkeypatch.setattr("sys.platform", "darwin")
    assert config_folder() == Path.home() / "Library" / "Application Support" / "fit"
    monkeypatch.setattr("sys.platform", "win32")
    monkeypatch.setenv("APPDATA", "/r")
    assert config_folder() == Path("/r") / "fit"
    monkeypatch.delenv("APPDATA")
    assert config_folder() == Path.home() / "AppData" / "Roaming" / "fit"


# ---- the test sheet -------------------------------------------------------------------------


def _slanting(found: Lines) -> list[list[Point]]:
    """The two slanting lines of the test sheet, upright one first, as their corners in order."""
    pieces = [tuple(sorted(e)) for e in found if len(e) == 2 and 0.001 < min(size(e)) < 4]
    lines: list[list[Point]] = []
    for a, b in sorted(pieces):
        for line in lines:
            if math.dist(line[-1], a) < 0.002:
                line.append(b)
                break
        else:
            lines.append([a, b])
    long = sorted((line for line in lines if len(line) > 10), key=lambda line: -len(line))
    assert len(long) == 2
    return long


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("error", [(0.9918, 0.9893), (1.0, 1.0), (0.972, 1.028), (1.021, 0.985)])
def test_a_card_laid_on_the_test_sheet_tells_the_printers_error(
    reader: str, error: tuple[float, float]
) -> None:
    page = printer_page(PaperName.A4, "x")
    found = READERS[reader](pdf_bytes([page], "t"), 0)
    stops = [e for e in found if len(e) == 2 and abs(max(size(e)) - (CARD[0] + 12)) < 0.001]
    stops += [e for e in found if len(e) == 2 and abs(max(size(e)) - (CARD[1] + 12)) < 0.001]
    level, upright = stops
    corner = (upright[0][0], level[0][1])
    # As printed, seen from the stops' corner.
    print_of = [
        [((x - corner[0]) * error[0], (y - corner[1]) * error[1]) for x, y in line]
        for line in _slanting(found)
    ]
    read = []
    for axis, (line, true) in enumerate(zip(print_of, CARD, strict=True)):
        marks = readings(true)
        # The upright line's corners come sorted by x: from its upper end, the largest reading.
        sizes = marks[::-1] if axis == 0 else marks
        assert len(line) == len(sizes)
        across = [p[axis] for p in line]
        read.append(_at(across, sizes, true))
    assert read == pytest.approx([t * e for t, e in zip(CARD, error, strict=True)], abs=0.01)
    told = measured("x", Target.CARD, *(f"{v:.1f}" for v in read)).correction
    # Rounded to a tenth, as a person reads it, the next print is true to 0.1 %.
    assert told.across * error[0] == pytest.approx(1, abs=0.001)
    assert told.along * error[1] == pytest.approx(1, abs=0.001)


def _at(across: list[float], sizes: tuple[float, ...], true: float) -> float:
    """The reading where a line crosses the card's edge, between two marks by eye."""
    for n in range(len(sizes) - 1):
        a, b = across[n], across[n + 1]
        if min(a, b) <= true <= max(a, b):
            return sizes[n] + (sizes[n + 1] - sizes[n]) * (true - a) / (b - a)
    raise AssertionError("the card's edge misses the scale")


def test_the_scales_cover_every_correction_that_is_made() -> None:
    for true in CARD:
        marks = readings(true)
        assert marks[0] <= true / 1.03
        assert marks[-1] >= true / 0.97
        assert reading_at(true, true) == true


def test_the_test_sheet_needs_room() -> None:
    assert printer_page(PaperName.LETTER, "x", JET).stretch == (JET.across, JET.along)
    with pytest.raises(ValueError, match="A5 paper is too small for the printer test"):
        printer_page(PaperName.A5, "x")


# ---- corrected sheets -----------------------------------------------------------------------


@cache
def corrected(name: str, paper: PaperName) -> tuple[tuple[Page, ...], bytes]:
    made = sheets(SCENES[name](), paper, "3f9a1c77", hand_work("careful"), correction=JET)
    return made, pdf_bytes(made, name)


def _model_lines(page: Page, stretch: tuple[float, float]) -> list[tuple[Point, Point]]:
    """Every straight line on a page, stretched about the middle of the paper by plain sums."""
    found = []
    for placed in page.drawings:
        for item in placed.drawing.items():
            lines = [item] if isinstance(item, Line) else []
            if isinstance(item, Outline):
                lines = [piece for piece in path_pieces(item) if isinstance(piece, Line)]
            found += [
                (
                    _moved(ln.start, placed.x, placed.y, page, stretch),
                    _moved(ln.end, placed.x, placed.y, page, stretch),
                )
                for ln in lines
            ]
    return found


def _moved(p: Point, dx: float, dy: float, page: Page, stretch: tuple[float, float]) -> Point:
    x, y = p[0] + dx - page.width / 2, p[1] + dy - page.height / 2
    return page.width / 2 + x * stretch[0], page.height / 2 + y * stretch[1]


def _misses(model: list[tuple[Point, Point]], found: Lines, within: float) -> list[str]:
    """Lines of the model that the file does not have."""
    by_place: dict[tuple[int, int], list[tuple[Point, Point]]] = {}
    for each in found:
        ring = [*each, each[0]] if len(each) > 2 else list(each)
        for a, b in pairwise(ring):
            for start, end in ((a, b), (b, a)):
                key = (round(start[0]), round(start[1]))
                by_place.setdefault(key, []).append((start, end))
    lost = []
    for start, end in model:
        near = [
            line
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            for line in by_place.get((round(start[0]) + i, round(start[1]) + j), ())
        ]
        if not any(math.dist(a, start) <= within and math.dist(b, end) <= within for a, b in near):
            lost.append(f"{start} to {end}")
    return lost


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.LETTER])
@pytest.mark.parametrize("name", SCENES)
def test_each_line_is_the_model_times_the_correction(
    name: str, paper: PaperName, reader: str
) -> None:
    made, data = corrected(name, paper)
    if (name, paper) == ("large", PaperName.A4):
        assert any(page.width > page.height for page in made), "a lying sheet must be among them"
    for n, page in enumerate(made):
        expected = (JET.along, JET.across) if page.width > page.height else (JET.across, JET.along)
        assert page.stretch == expected
        model = _model_lines(page, expected)
        assert len(model) > 40
        found = READERS[reader](data, n)
        assert _misses(model, found, 0.01) == []


def test_the_comparison_fails_when_it_should() -> None:
    made, data = corrected("small", PaperName.A4)
    page = made[0]
    wrong = (page.stretch[0] + 0.0005, page.stretch[1])
    assert _misses(_model_lines(page, wrong), READERS["pdfium"](data, 0), 0.01)


@pytest.mark.parametrize("reader", READERS)
def test_circles_are_stretched_with_their_page(reader: str) -> None:
    made, data = corrected("small", PaperName.A4)
    page = made[1]
    holes = [
        (item.centre[0] + placed.x, item.centre[1] + placed.y, item.radius)
        for placed in page.drawings
        for item in placed.drawing.items()
        if isinstance(item, Circle)
    ]
    assert holes
    kx, ky = page.stretch
    rings = [e for e in READERS[reader](data, 1) if len(e) == 8]
    for x, y, r in holes:
        cx, cy = page.width / 2 + (x - page.width / 2) * kx, page.height / 2 * (1 - ky) + y * ky
        assert any(
            all(abs(math.hypot((px - cx) / kx, (py - cy) / ky) - r) < 0.005 for px, py in ring)
            for ring in rings
        )


def test_a_corrected_print_is_true() -> None:
    # The printer of JET makes 84.9 × 53.4 of a card: what it prints of a corrected bar is 100 mm.
    _, data = corrected("small", PaperName.A4)
    found = READERS["pdfium"](data, 0)
    bars = [size(e) for e in found if len(e) == 2 and max(size(e)) > 99]
    assert any(w * 84.9 / 85.6 == pytest.approx(100, abs=0.01) and h < 0.001 for w, h in bars)
    assert any(h * 53.4 / 53.98 == pytest.approx(100, abs=0.01) and w < 0.001 for w, h in bars)


def test_every_corrected_sheet_says_so() -> None:
    for name in SCENES:
        made, data = corrected(name, PaperName.A4)
        for page, text in zip(made, words(data), strict=True):
            x, y = ("+1.09", "+0.82") if page.width > page.height else ("+0.82", "+1.09")
            assert f"Corrected for printer office jet: x {x} %, y {y} %." in text


def test_room_is_left_for_the_stretch() -> None:
    for lay in Lay:
        plain, wider = form(PaperName.A4, lay), form(PaperName.A4, lay, JET)
        assert wider.free.width < plain.free.width
        shrunk = Correction(printer="x", across=0.98, along=0.99)
        assert form(PaperName.A4, lay, shrunk).free == plain.free


def test_without_a_correction_nothing_changes() -> None:
    made = sheets(small(), PaperName.A4, "3f9a1c77", hand_work("careful"))
    assert all(page.stretch == (1.0, 1.0) for page in made)
    data = pdf_bytes(made, "t")
    assert all("Corrected" not in text for text in words(data))
    assert _misses(_model_lines(made[0], (1.0, 1.0)), READERS["pdfminer"](data, 0), 0.001) == []


# ---- the commands ---------------------------------------------------------------------------


def test_a_printer_is_told_listed_and_forgotten(capsys: Captured) -> None:
    assert run(["printer"]) == Status.GOOD
    assert "no printers are known" in capsys.readouterr().out
    assert run(["printer", "office", "--card", "84.9x53.4"]) == Status.GOOD
    assert "x +0.82 %, y +1.09 %" in capsys.readouterr().out
    assert run(["printer", "den", "--bars", "97.4", "97.3"]) == Status.GOOD
    assert "warning: " in capsys.readouterr().err
    assert run(["printer", "--json"]) == Status.GOOD
    told = json.loads(capsys.readouterr().out)["printers"]
    assert set(told) == {"office", "den"}
    assert told["office"]["measured"] == [84.9, 53.4]
    assert told["office"]["factors"]["across"] == pytest.approx(85.6 / 84.9)
    assert run(["printer", "den", "--forget"]) == Status.GOOD
    capsys.readouterr()
    assert run(["printer"]) == Status.GOOD
    assert "den" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        (["printer", "x", "--card", "80.5x50.8"], "Letter"),
        (["printer", "x", "--card", "84.9"], "84.9x53.4"),
        (["printer", "--card", "84.9x53.4"], "name"),
        (["printer", "--forget"], "name"),
        (["printer", "x"], "no printer 'x'"),
        (["printer", "x", "--forget"], "no printer 'x'"),
        (["printer", "x", "--card", "84.9x53.4", "--bars", "99", "99"], "one of"),
        (["printer", "--out", "x.pdf"], "--test"),
        (["printer", "--test", "--paper", "A5"], "too small"),
        (["printer", "x", "--test"], "no printer 'x'"),
        (["gauge", "--printer", "x"], "no printer 'x'"),
        (["gauge", "--paper", "A5"], "more than this paper has"),
        (["gauge", "callipers"], "callipers"),
        (["make", str(HIVE), "--printer", "x"], "no printer 'x'"),
    ],
)
def test_wrong_use_is_told_in_words(
    typed: list[str], why: str, capsys: Captured, config: Path, tmp_path: Path
) -> None:
    assert run(typed) == Status.WRONG_USE
    said = capsys.readouterr().err
    assert why in said
    assert "Traceback" not in said
    assert not config.exists()
    assert not (tmp_path / "templates_out").exists()


def test_a_spoilt_settings_file_ends_each_command_with_its_status(
    capsys: Captured, config: Path
) -> None:
    config.mkdir()
    (config / "printers.json").write_text("{")
    for typed in (
        ["printer"],
        ["printer", "x", "--card", "84.9x53.4"],
        ["printer", "x", "--test"],
        ["gauge", "--printer", "x"],
        ["make", str(HIVE), "--printer", "x"],
    ):
        assert run(typed) == Status.UNUSABLE
        assert "printers.json: is not JSON any more" in capsys.readouterr().err


def test_gauges_land_in_a_file(tmp_path: Path, capsys: Captured) -> None:
    run(["printer", "office", "--card", "84.9x53.4"])
    assert run(["gauge", "radius", "draft", "--printer", "office"]) == Status.GOOD
    assert "gauges.pdf" in capsys.readouterr().err
    (text,) = words((tmp_path / "templates_out" / "gauges.pdf").read_bytes())
    assert "RADIUS OF CORNERS" in text
    assert "Corrected for printer office: x +0.82 %, y +1.09 %." in text
    out = tmp_path / "new" / "g.pdf"
    assert run(["gauge", "circles", "--out", str(out), "--paper", "letter"]) == Status.GOOD
    assert "CIRCLES" in words(out.read_bytes())[0]
    first = out.read_bytes()
    assert run(["gauge", "circles", "--out", str(out), "--paper", "letter"]) == Status.GOOD
    assert out.read_bytes() == first


def test_only_pdf_files_are_replaced(tmp_path: Path, capsys: Captured) -> None:
    mine = tmp_path / "notes.txt"
    mine.write_text("mine")
    for out, why in ((mine, "not a PDF"), (tmp_path, "is a folder"), (mine / "x.pdf", "file")):
        assert run(["printer", "--test", "--out", str(out)]) == Status.WRONG_USE
        assert why in capsys.readouterr().err
    assert mine.read_text() == "mine"
    assert [p.name for p in tmp_path.iterdir()] == ["notes.txt"]


def test_a_file_that_cannot_be_written_leaves_nothing_behind(
    tmp_path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, data: bytes) -> int:
        self.touch()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    out = tmp_path / "a" / "b" / "g.pdf"
    assert run(["gauge", "radius", "--out", str(out)]) == Status.WRONG_USE
    assert "the disk is full" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_settings_stays_a_link(config: Path, tmp_path: Path) -> None:
    config.mkdir()
    real = tmp_path / "real.json"
    real.write_text('{"printers": {}}')
    link = config / "printers.json"
    link.symlink_to(real)
    remember(measured("den", Target.BARS, "99", "100.2"))
    assert stat.S_ISLNK(os.lstat(link).st_mode)
    assert "den" in real.read_text()


def test_make_corrects_every_sheet(tmp_path: Path) -> None:
    run(["printer", "office", "--card", "84.9x53.4"])
    out = tmp_path / "hive"
    assert run(["make", str(HIVE), "--out", str(out), "--printer", "office"]) == Status.GOOD
    told = words((out / "sheets.pdf").read_bytes())
    assert told
    for text in told:
        assert "Corrected for printer office: x +" in text
