"""Two builds, or one build in two boxes, side by side; sheets for another box."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pdfplumber
import pytest

from fit.commands.app import run
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.pipeline import InBox, check, remarks_of
from fit.read import load_build
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName

Captured = pytest.CaptureFixture[str]


def test_one_build_in_its_own_and_another_box(tmp_path: Path, capsys: Captured) -> None:
    page = tmp_path / "both.html"
    words = ["compare", "hive-scale", "--in", "twin-160x100x70", "--html", str(page)]
    assert run(words) == 0
    text = capsys.readouterr().out
    assert text.startswith("A  hive-scale in tray-150x100x60\nB  hive-scale in twin-160x100x70\n")
    # 150 × 100 × 60 and 160 × 100 × 70 mm.
    assert "A     900 cm³" in text
    assert "B     1120 cm³" in text
    assert "main_board 5.5 mm left" in text
    html = page.read_text()
    assert "<script" not in html
    pictures = [f"<svg{piece.split('</svg>')[0]}</svg>" for piece in html.split("<svg")[1:]]
    assert len(pictures) == 3  # front, right, back
    for picture in pictures:
        root = ET.fromstring(picture)
        shapes = [e for e in root.iter() if e.tag.endswith(("path", "circle"))]
        broken = [e for e in shapes if e.get("stroke-dasharray")]
        assert len(broken) * 2 == len(shapes) > 0
        assert {e.get("stroke") for e in shapes} == {"#000000"}
        # True to scale: as many mm wide as there are units in it.
        width = float((root.get("width") or "").removesuffix("mm"))
        assert width == pytest.approx(float((root.get("viewBox") or "").split()[2]), abs=0.01)


def test_two_boxes_in_the_order_given(capsys: Captured) -> None:
    boxes = ["--in", "twin-160x100x70", "--in", "tray-150x100x60"]
    assert run(["compare", "hive-scale", *boxes, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["a"]["box"], told["b"]["box"]) == ("twin-160x100x70", "tray-150x100x60")
    board = next(m for m in told["moved"] if m["part"] == "main_board")
    assert board["across"] == pytest.approx(5.5, abs=0.3)
    figures = {line["what"]: (line["a"], line["b"]) for line in told["figures"]}
    assert figures["volume"] == ("1120 cm³", "900 cm³")


def test_two_builds_and_what_only_one_has(capsys: Captured) -> None:
    assert run(["compare", "bench-timer", "meter-box"]) == 0
    text = capsys.readouterr().out
    for side, name in (("A", "bench-timer"), ("B", "meter-box")):
        parts = ", ".join(used.name for used in load_build(name).parts)
        assert f"Only {side} has: {parts}\n" in text
    assert "lies elsewhere" not in text


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (["hive-scale"], 2, "give a second build, or a box with --in"),
        (["hive-scale", "--in", "a", "--in", "b", "--in", "c"], 2, "two boxes at most"),
        (["hive-scale", "--in", "tray-220x140x80"], 3, "no board posts"),
        (["hive-scale", "--in", "tray-22x140x80"], 3, "did you mean 'tray-220x140x80'?"),
    ],
)
def test_what_cannot_be_compared(
    words: list[str], status: int, said: str, capsys: Captured
) -> None:
    assert run(["compare", *words]) == status
    assert said in " ".join(capsys.readouterr().err.split())


def test_a_clash_on_either_side_is_status_1(capsys: Captured) -> None:
    assert run(["compare", "bench-timer", "--in", "tray-150x100x60"]) == 1
    assert "B     clash" in capsys.readouterr().out


# --- check and make in another box ----------------------------------------------------------


def test_check_tells_what_moved(capsys: Captured) -> None:
    assert run(["check", "hive-scale", "--box", "twin-160x100x70"]) == 0
    text = capsys.readouterr().out
    assert "In twin-160x100x70, against tray-150x100x60 as written:" in text
    assert "    main_board gets its holes in other places\n" in text
    run(["check", "hive-scale", "--box", "twin-160x100x70", "--json"])
    told = json.loads(capsys.readouterr().out)
    assert told["box"] == "twin-160x100x70"
    assert told["elsewhere"]["home"] == "tray-150x100x60"
    own = run(["check", "hive-scale", "--json"])
    assert own == 0
    plain = json.loads(capsys.readouterr().out)
    assert plain["elsewhere"] is None
    assert plain["fingerprint"] != told["fingerprint"]


def test_a_box_file_will_do(root: Path, capsys: Captured) -> None:
    file = root / "boxes" / "shells" / "twin-160x100x70.yaml"
    assert run(["check", "hive-scale", "--box", str(file)]) == 0
    assert "In twin-160x100x70" in capsys.readouterr().out
    assert run(["check", "hive-scale", "--box", "no/such.yaml"]) == 3
    assert "no/such.yaml: there is no such file" in capsys.readouterr().err


def test_a_box_turns_by_quarters_only(capsys: Captured) -> None:
    assert run(["check", "hive-scale", "--turn-box", "45"]) == 2
    assert "0, 90, 180 or 270" in " ".join(capsys.readouterr().err.split())


def test_sheets_for_another_box_say_what_moved(tmp_path: Path) -> None:
    outcome = check("hive-scale", within=InBox(box="twin-160x100x70"))
    hand = hand_work(outcome.scene.build.hands)
    pages = sheets(outcome.scene, PaperName.A4, "x", hand, remarks=remarks_of(outcome))
    file = tmp_path / "sheets.pdf"
    file.write_bytes(pdf_bytes(pages, "hive-scale"))
    with pdfplumber.open(file) as pdf:
        told = [" ".join(page.extract_text().split()) for page in pdf.pages]
    right = next(text for text in told if "RIGHT, seen from" in text)
    assert "RIGHT: MOVED against tray-150x100x60: tare 0.2 mm right, 0.5 mm" in right
    # Nothing moved on the front against the edges nearest to it.
    assert "FRONT: MOVED" not in " ".join(told)
    boards = [text for text in told if "HOLES MOVED against tray-150x100x60." in text]
    assert boards
    assert all("main_board" in text for text in boards)


def test_sheets_for_a_turned_box_name_its_wall(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.chdir(tmp_path)
    run(["make", "meter-box", "--turn-box", "180"])
    capsys.readouterr()
    folder = tmp_path / "templates_out" / "meter-box-in-tray-220x140x80-turned-180"
    with pdfplumber.open(folder / "sheets.pdf") as pdf:
        text = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    assert "On the BACK wall of the box." in text
