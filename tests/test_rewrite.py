"""Places written into a build file: every other character stays as it was.

PyYAML's own constructor (BaseLoader: every scalar a text) is the judge of what a text says.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from fit.model.build import Build, Coordinate, How, Place
from fit.model.words import FaceName, Half
from fit.read import load_build, marks, shipped
from fit.read.rewrite import Change, changes, with_places
from fit.units import Length

HERE = Path(__file__).parent
GOOD = HERE / "data" / "boxes"
HIVE = GOOD / "builds" / "hive-scale.yaml"
SHIPPED = sorted((shipped() / "builds").glob("*.yaml"))
HEAD = "build: mine\nbox: tray-150x100x60\ndrawer: small-kit\n"


def at(how: How, value: float = 0.0, words: str = "") -> Coordinate:
    return Coordinate(how=how, value=Length(value, words=words))


LEFT_12 = at(How.FROM_LEFT, 12)
RIM_24 = at(How.FROM_RIM, 24)
CENTRE = at(How.CENTRE)
BOTH = Change(across=LEFT_12, up=RIM_24)


# --- by hand: what stood there, what is asked, what stands there then

CASES: dict[str, tuple[str, Change, str]] = {
    "flow": (
        "  a: {use: press-12, on: right}      # no place\n",
        BOTH,
        "  a: {use: press-12, on: right, at: {across: {from_left: 12}, up: {from_rim: 24}}}"
        "      # no place\n",
    ),
    "flow, more keys behind": (
        "  a: { use : press-12,on: right , legend: 'x' }\n",
        Change(up=CENTRE),
        "  a: { use : press-12,on: right, at: {up: centre} , legend: 'x' }\n",
    ),
    "flow as JSON": (
        '  "a": {"use":"press-12","on":"right"}\n',
        Change(up=CENTRE, turn=90),
        '  "a": {"use":"press-12","on":"right", at: {up: centre}, turn: 90}\n',
    ),
    "flow over lines": (
        "  a: {use: press-12,   # a button\n      on: right   # side\n     }\n",
        Change(up=CENTRE),
        "  a: {use: press-12,   # a button\n      on: right, at: {up: centre}   # side\n     }\n",
    ),
    "block": (
        "  a:   # the button\n      use: press-12\n      on: right # side\n\n      legend: x\n",
        BOTH,
        "  a:   # the button\n      use: press-12\n      on: right # side\n"
        "      at: {across: {from_left: 12}, up: {from_rim: 24}}\n\n      legend: x\n",
    ),
    "block, part of a place there in flow": (
        "  a:\n    use: press-12\n    at: {across: centre}  # so far\n    on: right\n",
        Change(up=RIM_24),
        "  a:\n    use: press-12\n    at: {across: centre, up: {from_rim: 24}}  # so far\n"
        "    on: right\n",
    ),
    "block, part of a place there in block": (
        "  a:\n    use: press-12\n    on: right\n    at:  # so far\n        up: 3 mm # high\n",
        Change(across=LEFT_12),
        "  a:\n    use: press-12\n    on: right\n    at:  # so far\n        up: 3 mm # high\n"
        "        across: {from_left: 12}\n",
    ),
    "an empty place": (
        "  a: {use: press-12, on: right, at: {}}\n",
        BOTH,
        "  a: {use: press-12, on: right, at: {across: {from_left: 12}, up: {from_rim: 24}}}\n",
    ),
    "another place": (
        "  a:\n    use: press-12\n    on: right\n"
        "    at:\n      across: {from_left: 9}\n      up:\n        from_floor: 3 # low\n",
        BOTH,
        "  a:\n    use: press-12\n    on: right\n"
        "    at:\n      across: {from_left: 12}\n      up: {from_rim: 24} # low\n",
    ),
    "a face out of a list": (
        "  a: {use: press-12, on: [left, right], turn: any}\n",
        Change(on=FaceName.RIGHT, turn=270),
        "  a: {use: press-12, on: right, turn: 270}\n",
    ),
    "a face out of a list over lines": (
        "  a:\n    use: press-12\n    on:   # either\n    - left   # best\n    # or\n    - right\n"
        "    legend: x\n",
        Change(on=FaceName.RIGHT, across=CENTRE),
        "  a:\n    use: press-12\n    on: right  # either\n    # best\n    # or\n"
        "    at: {across: centre}\n    legend: x\n",
    ),
    "a standoff and a gap": (
        "  a:\n    use: press-12\n    standoff: any\n    window: {filter: 2, gap: [1, 6]}\n",
        Change(standoff=Length(5), gap=Length(2.35)),
        "  a:\n    use: press-12\n    standoff: 5\n    window: {filter: 2, gap: 2.35}\n",
    ),
    "what is there already": (
        "  a: {use: press-12, on: right, at: {across: 1.2 cm, up: {from_rim: 24.0}}}\n",
        Change(across=at(How.AT, 12), up=RIM_24, on=FaceName.RIGHT, turn=0),
        "  a: {use: press-12, on: right, at: {across: 1.2 cm, up: {from_rim: 24.0}}}\n",
    ),
    "behind a text on lines of its own": (
        "  a:\n    use:\n      kind: x\n      about: >\n        one\n        two\n    turn: 0\n",
        Change(up=CENTRE),
        "  a:\n    use:\n      kind: x\n      about: >\n        one\n        two\n"
        "    at: {up: centre}\n    turn: 0\n",
    ),
    "a key in question marks": (
        "  a:\n    on: right\n    ? use\n    : press-12\n",
        Change(turn=90),
        "  a:\n    on: right\n    ? use\n    : press-12\n    turn: 90\n",
    ),
}


@pytest.fixture(params=["C parser", "Python parser"])
def _parsers(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of PyYAML's parsers give the same places."""
    if request.param == "Python parser":
        monkeypatch.setattr(marks, "Loader", yaml.SafeLoader)


@pytest.mark.usefixtures("_parsers")
@pytest.mark.parametrize("line_end", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize("before", ["", "\ufeff"], ids=["plain", "BOM"])
@pytest.mark.parametrize("case", CASES)
def test_by_hand(case: str, before: str, line_end: str) -> None:
    old, change, new = CASES[case]
    around = "# Zähler für das Tor\nbuild: x\nparts:\n{}  z: {{use: y}}  # end\n"
    old, new = (before + around.format(text).replace("\n", line_end) for text in (old, new))
    assert with_places(old, {"a": change}) == new
    assert with_places(new, {"a": change}) == new


@pytest.mark.usefixtures("_parsers")
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("parts:\n  a:\n    use: b", "parts:\n  a:\n    use: b\n    turn: 90"),
        ("parts:\r\n  a:\r\n    use: b", "parts:\r\n  a:\r\n    use: b\r\n    turn: 90"),
        ("parts: {a: {use: b}}", "parts: {a: {use: b, turn: 90}}"),
        ("{parts: {a: {use: b}}}\n", "{parts: {a: {use: b, turn: 90}}}\n"),
        ("---\nparts:\n  a: {use: b,}\n...\n", "---\nparts:\n  a: {use: b, turn: 90,}\n...\n"),
        ("parts:\n  a:\n    use: b\n# end", "parts:\n  a:\n    use: b\n    turn: 90\n# end"),
    ],
)
def test_at_the_end_of_the_file(old: str, new: str) -> None:
    assert with_places(old, {"a": Change(turn=90)}) == new


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("build: x\nbox: y # z\nparts: {}\n", "build: x\nbox: y # z\ncarrier: lid\nparts: {}\n"),
        ("build: x\ncarrier:   either # ?\n", "build: x\ncarrier:   lid # ?\n"),
        ("build: x\ncarrier: 'lid'\n", "build: x\ncarrier: 'lid'\n"),
        (
            "build: x\nbox:\n  lid:\n    kind: flat\n\ndrawer: d\n",
            "build: x\nbox:\n  lid:\n    kind: flat\ncarrier: lid\n\ndrawer: d\n",
        ),
    ],
)
def test_the_carrier(old: str, new: str) -> None:
    assert with_places(old, {}, carrier=Half.LID) == new


def test_what_left_out_means_the_same_is_not_written() -> None:
    old = "build: x\nparts:\n  a: {use: b}\n"
    assert with_places(old, {"a": Change(turn=0)}, carrier=Half.BODY) == old


@pytest.mark.parametrize(
    ("given_", "written"),
    [
        (CENTRE, "centre"),
        (at(How.AT, -12.5), "-12.5"),
        (at(How.AT, -0.0), "0"),
        (at(How.AT, 0.00001), "0.00001"),
        (at(How.AT, 25.4, "10 holes"), "10 holes"),
        (at(How.AT, 12.7, '1/2"'), '1/2"'),
        (at(How.FROM_LEFT, 18), "{from_left: 18}"),
        (at(How.FROM_RIGHT, 18.25), "{from_right: 18.25}"),
        (at(How.FROM_RIGHT, 18.25, "something else"), "{from_right: 18.25}"),
        (at(How.FROM_RIGHT, 18.25, "7 mm"), "{from_right: 18.25}"),
        (at(How.SHARE, 0.3), "{share: 0.3}"),
        (Coordinate(how=How.AT, value=Length(12, 0.5)), "12 ± 0.5"),
        (Coordinate(how=How.AT, value=Length(12, 0.5, "12 mm +- 1/2")), "12 mm +- 1/2"),
    ],
)
def test_every_way_to_give_a_coordinate(tmp_path: Path, given_: Coordinate, written: str) -> None:
    old = HEAD + "parts:\n  a: {use: press-12, on: left}\n"
    new = with_places(old, {"a": Change(across=given_)})
    assert f"at: {{across: {written}}}}}" in new
    place = read(tmp_path, new).part("a").at
    assert place is not None
    assert place.across is not None
    assert place.across == given_
    assert place.across.value.plus_minus == given_.value.plus_minus


@pytest.mark.parametrize(
    ("how", "face"),
    [
        (How.FROM_RIM, "left"),
        (How.FROM_FLOOR, "left"),
        (How.FROM_FRONT, "lid"),
        (How.FROM_BACK, "lid"),
    ],
)
def test_every_edge_below_and_above(tmp_path: Path, how: How, face: str) -> None:
    old = HEAD + f"parts:\n  a: {{use: press-12, on: {face}}}\n"
    new = with_places(old, {"a": Change(up=at(how, 7.5))})
    assert read(tmp_path, new).part("a").at == Place(up=at(how, 7.5))


def read(folder: Path, text: str, *more: Path) -> Build:
    path = folder / "mine.yaml"
    path.write_bytes(text.encode())
    return load_build(path, [*more, GOOD])


# --- the builds that come with it


def without_places(text: str) -> str:
    """A build file without the places of its parts that are written in one line."""
    text = re.sub(r"^ +at: \{(?:[^{}]|\{[^{}]*\})*\}\n", "", text, flags=re.MULTILINE)
    return re.sub(r", at: \{(?:[^{}]|\{[^{}]*\})*\}", "", text)


@pytest.mark.usefixtures("_parsers")
@pytest.mark.parametrize("path", [*SHIPPED, HIVE], ids=lambda p: f"{p.parent.parent.name}-{p.stem}")
def test_places_taken_out_and_written_back_give_the_same_build(path: Path, tmp_path: Path) -> None:
    text = path.read_bytes().decode()
    folder = path.parent.parent
    whole = load_build(path, [folder])
    # What sits beside another part keeps its place: that is no coordinate.
    beside = [u.name for u in whole.parts if u.at is not None and u.at.beside]
    bare_text = without_places(text) if not beside else without_coordinates(text)
    bare = read(tmp_path, bare_text, folder)
    assert sum(u.at is not None for u in bare.parts) == len(beside)
    places, carrier = changes(bare, whole)
    assert carrier is None
    assert len(places) >= 2
    new = with_places(bare_text, places)
    assert read(tmp_path, new, folder) == whole
    assert remarks(new) == remarks(bare_text)
    assert with_places(text, places) == text


def without_coordinates(text: str) -> str:
    lines = text.splitlines(keepends=True)
    return "".join(line if "beside" in line else without_places(line) for line in lines)


def remarks(text: str) -> list[str]:
    """Comments of a file in which no text holds a '#'."""
    return re.findall(r"#.*", text)


def test_choices_settled_are_written_and_read_back(tmp_path: Path) -> None:
    path = HERE / "data" / "full" / "builds" / "everything-free.yaml"
    text = path.read_bytes().decode().replace("&button", "").replace("*button", "")
    text = re.sub(r"^  [bde]: \n", "", text, flags=re.MULTILINE)
    text = text[: text.index("wishes:")]
    free = read(tmp_path, text)
    settled = replace(
        free,
        carrier=Half.LID,
        either_half=False,
        parts=tuple(
            replace(
                used,
                on=used.also_on[-1] if used.also_on else used.on,
                also_on=(),
                turn=used.turns[-1] if used.turns else used.turn,
                turns=(),
                standoff=used.standoffs[-1] if used.standoffs else used.standoff,
                standoffs=(),
                window=replace(used.window, gap=Length(3.5), gap_to=None) if used.window else None,
                at=replace(used.at or Place(), across=LEFT_12),
            )
            for used in free.parts
        ),
    )
    places, carrier = changes(free, settled)
    new = with_places(text, places, carrier=carrier)
    assert read(tmp_path, new) == settled
    assert changes(settled, settled) == ({}, None)
    # Choices that are still open stay open.
    assert changes(free, free) == ({}, None)
    first = replace(free, parts=tuple(replace(u, turns=()) for u in free.parts))
    assert changes(free, first)[0] == {"a": Change(turn=0), "c": Change(turn=90)}
