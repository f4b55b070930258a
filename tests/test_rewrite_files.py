"""Writing places: files nobody laid out by hand, what is refused, and the disk.

PyYAML's own constructor (BaseLoader: every scalar a text) and its own node marks are the judges.
"""

from __future__ import annotations

import hashlib
import os
import random
import re
import stat
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.findings import Problem, UnusableInput
from fit.model.build import Coordinate, How
from fit.model.words import FaceName, Half
from fit.read import edits, load_build
from fit.read.rewrite import Change, RewriteFault, with_places, write_places
from fit.units import Length

HERE = Path(__file__).parent
GOOD = HERE / "data" / "boxes"
HIVE = GOOD / "builds" / "hive-scale.yaml"


def at(how: How, value: int = 0) -> Coordinate:
    return Coordinate(how=how, value=Length(value))


# --- files laid out at random


class Layout:
    """A random way to write a build file; each comment has a number of its own."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self.count = 0

    def pick(self, *choices: str) -> str:
        return self.dice.choice(choices)

    def comment(self, odds: float = 0.3) -> str:
        if self.dice.random() > odds:
            return self.pick("", "", " ", "  ")
        self.count += 1
        return f"{self.pick(' ', '   ')}# {self.count} {self.pick('ä: {', '[x] - y', 'a, b}')}"

    def word(self, word: str) -> str:
        quoted = (f"'{word}'", f'"{word}"')
        return self.pick(*quoted) if "#" in word else self.pick(word, word, *quoted)

    def colon(self) -> str:
        return self.pick(": ", ":  ", " : ")

    def flow(self, value: Any) -> str:
        """A value in brackets, perhaps over several lines."""
        gap = self.pick("", " ", "\n" + " " * 12, self.comment(0.1) + "\n" + " " * 14)
        if isinstance(value, dict):
            inner = f",{gap or ' '}".join(
                f"{self.word(key)}{self.colon()}{self.flow(inner)}" for key, inner in value.items()
            )
            return f"{{{gap}{inner}{self.pick('', ',')}{gap}}}" if value else "{}"
        if isinstance(value, list):
            return f"[{gap}{f',{gap or chr(32)}'.join(map(self.flow, value))}{gap}]"
        return self.word(str(value))

    def block(self, value: Any, deep: int) -> str:
        """A value on lines of its own, or in brackets after the key."""
        if not isinstance(value, dict | list) or not value or self.dice.random() < 0.4:
            return f" {self.flow(value)}{self.comment()}\n"
        if isinstance(value, list):
            start = " " * (deep + self.dice.randrange(0, 3))
            items = "".join(f"{start}- {self.flow(v)}{self.comment()}\n" for v in value)
            return f"{self.comment()}\n{items}"
        start = " " * (deep + self.dice.randrange(1, 5))
        lines = f"{self.comment()}\n"
        for key, inner in value.items():
            if self.dice.random() < 0.15:
                lines += f"{self.pick('', start, start + '   ')}{self.comment(1).lstrip()}\n\n"
            if key == "about" and self.dice.random() < 0.5:
                lines += f"{start}about: {self.pick('|', '>-', '> # text')}\n"
                lines += f"{start}  {inner}\n{start}  # {inner}\n{self.pick('', '', chr(10))}"
                continue
            lines += f"{start}{self.word(key)}:{self.block(inner, len(start))}"
        return lines


def random_part(dice: random.Random) -> dict[str, Any]:
    """Keys of a part as texts, in some order."""
    use: Any = dice.choice(["press-12", {"kind": "x", "size": ["3", "4"], "about": "ein Stück"}])
    keys = {
        "use": use,
        "on": dice.choice(["left", ["left", "right"], ["right"]]),
        "at": dice.choice([{}, {"across": "centre"}, {"up": {"from_rim": "3"}}, {"across": "5"}]),
        "turn": dice.choice(["any", ["0", "90"], "180"]),
        "window": dice.choice([{"filter": "2"}, {"gap": ["1", "6"], "held": "behind"}]),
        "standoff": dice.choice(["any", ["5", "10"]]),
        "legend": "# no comment",
        "about": "ein Stück",
    }
    for key in ("on", "at", "turn", "window", "standoff", "legend", "about"):
        if dice.random() < 0.4:
            del keys[key]
    order = list(keys)
    dice.shuffle(order)
    return {key: keys[key] for key in order}


def random_file(seed: int) -> str:
    layout = Layout(seed)
    dice = layout.dice
    parts = {name: random_part(dice) for name in ("tare", "units", "größe")}
    top: dict[str, Any] = {
        "build": "x",
        "box": dice.choice(["tray", {"kind": "y", "about": "Kasten"}]),
    }
    top["parts"] = parts
    if dice.random() < 0.7:
        top["wires"] = [["tare", "units"]]
    if dice.random() < 0.3:
        text = layout.flow(top) + "\n"
    else:
        text = "".join(f"{key}:{layout.block(value, 0)}" for key, value in top.items())
    text = layout.pick("", "", "# head\n", "---\n") + text + layout.pick("", "\n", "# tail\n")
    if dice.random() < 0.15 and not re.search(r"[|>].*\n(.*\n){1,3}$", text):
        text = text.rstrip("\n")
    return layout.pick("", "\ufeff") + text.replace("\n", layout.pick("\n", "\r\n"))


def random_change(dice: random.Random) -> dict[str, Any]:
    """One thing to write, as the keys that lead to it and the texts wanted there."""
    sort = dice.choice(["across", "up", "on", "turn", "standoff", "gap"])
    if sort in ("across", "up"):
        how, number = dice.choice(list(How)), dice.randrange(40)
        if how is How.CENTRE:
            return {"change": {sort: at(how)}, "path": ("at", sort), "data": "centre"}
        if how is How.SHARE:
            number = number % 2
        data: Any = f"{number}" if how is How.AT else {how.value: f"{number}"}
        return {"change": {sort: at(how, number)}, "path": ("at", sort), "data": data}
    if sort == "on":
        face = dice.choice(list(FaceName))
        return {"change": {"on": face}, "path": ("on",), "data": face.value}
    if sort == "turn":
        turn = dice.choice([90, 180, 270])
        return {"change": {"turn": turn}, "path": ("turn",), "data": f"{turn}"}
    path = ("window", "gap") if sort == "gap" else (sort,)
    number = dice.randrange(20)
    return {"change": {sort: Length(number)}, "path": path, "data": f"{number}"}


def data_of(text: str) -> Any:
    return yaml.load(text.removeprefix("\ufeff"), Loader=yaml.BaseLoader)


def remarks(text: str) -> list[str]:
    return [words.rstrip() for words in re.findall(r"# \d+ [^\r\n]*", text)]


def node_at(text: str, path: tuple[str, ...]) -> yaml.Node | None:
    """PyYAML's node at a path, or None."""
    node: yaml.Node | None = yaml.compose(text, Loader=yaml.BaseLoader)
    for word in path:
        assert isinstance(node, yaml.MappingNode)
        node = next((value for key, value in node.value if key.value == word), None)
        if node is None:
            return None
    return node


def set_in(tree: dict[str, Any], path: tuple[str, ...], data: Any) -> None:
    for word in path[:-1]:
        tree = tree.setdefault(word, {})
    tree[path[-1]] = data


@settings(deadline=None, max_examples=120)
@given(seed=st.integers(0, 2**32))
def test_one_thing_written_changes_nothing_else(seed: int) -> None:
    text, dice = random_file(seed), random.Random(seed + 1)
    name, asked = dice.choice(["tare", "units", "größe"]), random_change(dice)
    new = with_places(text, {name: Change(**asked["change"])})
    path = ("parts", name, *asked["path"])
    expected = data_of(text)
    set_in(expected, path, asked["data"])
    assert data_of(new) == expected
    assert remarks(new) == remarks(text)
    bare, bare_new = text.removeprefix("\ufeff"), new.removeprefix("\ufeff")
    assert len(text) - len(bare) == len(new) - len(bare_new)
    assert new.count("\r\n") == (new.count("\n") if "\r" in text else 0)
    node = node_at(bare, path)
    if node is None:
        # Something was put in at one place: nothing went away.
        ahead = alike(bare, bare_new)
        assert ahead + alike(bare[ahead:][::-1], bare_new[::-1]) == len(bare)
    elif "#" not in span(bare, node) and (bare[node.start_mark.index] in "[{" or is_scalar(node)):
        start, end = node.start_mark.index, node.end_mark.index
        assert bare_new.startswith(bare[:start])
        assert bare_new.endswith(bare[end:])
        assert len(bare_new) < start + 30 + len(bare) - end
    assert with_places(new, {name: Change(**asked["change"])}) == new


def is_scalar(node: yaml.Node) -> bool:
    return isinstance(node, yaml.ScalarNode)


def alike(a: str, b: str) -> int:
    """How many characters two texts begin with in common."""
    pairs = enumerate(zip(a, b, strict=False))
    return next((i for i, (x, y) in pairs if x != y), min(len(a), len(b)))


def span(text: str, node: yaml.Node) -> str:
    return text[node.start_mark.index : node.end_mark.index]


@settings(deadline=None, max_examples=60)
@given(seed=st.integers(0, 2**32))
def test_all_at_once_is_one_after_the_other(seed: int) -> None:
    text, dice = random_file(seed), random.Random(seed + 1)
    wanted: dict[str, Change] = {}
    single = text
    expected = data_of(text)
    for name in ("units", "größe", "tare"):
        asked = [random_change(dice) for _ in range(3)]
        once = {tuple(one["path"]): one for one in asked}
        order = [("on",), ("at", "across"), ("at", "up"), ("turn",), ("window", "gap")]
        keys: dict[str, Any] = {}
        for path in [*order, ("standoff",)]:
            if path in once:
                keys |= once[path]["change"]
                single = with_places(single, {name: Change(**once[path]["change"])})
                set_in(expected, ("parts", name, *path), once[path]["data"])
        wanted[name] = Change(**keys)
    new = with_places(text, wanted)
    assert data_of(new) == expected
    assert remarks(new) == remarks(text)
    if not remarks(text):
        assert new == single


_SIGNS = "{}[]:,'\"&*!|>-#?%@`~\\\t \r\n0159.eab±é\u2028\x85\ufeff"


@settings(deadline=None, max_examples=80)
@given(seed=st.integers(0, 2**32))
def test_mistyped_files_are_refused_or_written_right(seed: int) -> None:
    """What is written is compared with what it should say, so nothing wrong comes back."""
    text, dice = random_file(seed), random.Random(seed + 1)
    for _ in range(dice.randrange(1, 4)):
        place = dice.randrange(len(text))
        text = text[:place] + dice.choice(_SIGNS) + text[place + dice.randrange(2) :]
    change = {"units": Change(**random_change(dice)["change"])}
    problems: tuple[Problem, ...] = ()
    try:
        text = with_places(text, change)
        assert with_places(text, change) == text
    except UnusableInput as unusable:
        problems = unusable.problems
    assert all(p.right and str(p).isprintable() for p in problems)


# --- what cannot be written

BOTH = Change(across=at(How.CENTRE), up=at(How.CENTRE))


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("parts:\n  b: &x {use: y}\n  a: *x\n", 3, "repeats '&x'"),
        ("parts:\n  a: &x {use: y}\n  b: *x\n", 2, "would change both"),
        ("parts: &x\n  a: {use: y}\nmore: *x\n", 1, "would change both"),
        ("parts:\n  a: {use: y, at: &x {up: 3}}\n  b: {at: *x}\n", 2, "'at' is repeated by '*x'"),
        ("parts:\n  b: {at: &x {up: 3}}\n  a: {use: y, at: *x}\n", 3, "'at' repeats '&x'"),
        ("parts:\n  a: {at: {up: &x 3}}\n  b: {at: {up: *x}}\n", 2, "'up' is repeated by '*x'"),
        ("x: &x {use: y}\nparts:\n  a:\n    <<: *x\n", 4, "'<<' is not used here"),
        ("parts:\n  b: {use: y}\n", 1, "no part called 'a' in this build any more"),
        ("build: y\n", 1, "no part called 'a' in this build any more"),
        ("parts:\n  a: y\n", 2, "'a' is not a block of keys"),
        ("parts:\n  a: {at: 3}\n", 2, "'at' is not a block of keys"),
        ("parts:\n  a: {at: {up:  , across: 3}}\n", 2, "'up' has no plain value"),
        ("parts:\n  a: {use: y, at: {beside: b}}\n", 2, "sits beside another part"),
        ("parts:\n  a: {use: y}\n---\nparts: {}\n", 3, "a second document"),
        ("parts:\n\ta: {use: y}\n", 2, "indented with a tab"),
        ("parts: {a: {use: y}\n", 1, "'{ }' is not written right"),
        ("parts:\n  a: {use: y}\n  a: {use: z}\n", 3, "stands here twice"),
        ("", 1, "this file is empty"),
        ("parts:\n  a:\n    use:\n      about: |\n        x", 4, "end the file with a line break"),
        ("parts:\n  a: {use: y}\x00\n", 1, "no text file"),
    ],
)
def test_refused(text: str, line: int, says: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        with_places(text, {"a": BOTH}, file="mine.yaml")
    (problem,) = caught.value.problems
    assert (problem.where.file, problem.where.line) == ("mine.yaml", line)
    assert says in problem.wrong + problem.right
    assert problem.right


def test_what_repeats_another_value_may_be_written_over() -> None:
    text = "parts:\n  b: {at: {up: &x 3}}\n  a: {at: {up: *x, across: 1}}\n"
    new = with_places(text, {"a": BOTH})
    assert new == "parts:\n  b: {at: {up: &x 3}}\n  a: {at: {up: centre, across: centre}}\n"


def test_a_mark_nobody_repeats_is_no_hindrance() -> None:
    new = with_places("parts:\n  a: &x {use: y}\n", {"a": Change(turn=90)})
    assert new == "parts:\n  a: &x {use: y, turn: 90}\n"


def test_all_refusals_at_once() -> None:
    text = "parts:\n  a: y\n  b: z\n"
    with pytest.raises(UnusableInput) as caught:
        with_places(text, {"b": BOTH, "a": BOTH, "c": BOTH})
    assert [p.where.line for p in caught.value.problems] == [1, 2, 3]


def test_no_number_is_no_place() -> None:
    change = Change(up=Coordinate(how=How.AT, value=Length(float("nan"))))
    with pytest.raises(RewriteFault):
        with_places("parts:\n  a: {use: y}\n", {"a": change})


@pytest.mark.parametrize(
    "spoilt",
    [
        "parts:\n  a: {use: y, turn: 180}  # c\n",
        "parts:\n  a: {use: y, turn: 90}\n",
        "parts:\n  a: {use: y, turn: 90}  # c\nmore: 1\n",
        "parts:\n  a: {use: y, turn: 90  # c\n",
    ],
)
def test_a_slip_of_the_editor_is_noticed(spoilt: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(edits.Editor, "finish", lambda self: spoilt)
    with pytest.raises(RewriteFault):
        with_places("parts:\n  a: {use: y}  # c\n", {"a": Change(turn=90)})


# --- the disk


@pytest.fixture
def build_file(tmp_path: Path) -> Path:
    path = tmp_path / "mine.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + HIVE.read_bytes().replace(b"\n", b"\r\n"))
    path.chmod(0o640)
    return path


PLACES = {"tare": BOTH}


def test_written_whole_with_its_permissions(build_file: Path) -> None:
    old = build_file.read_bytes()
    read = load_build(build_file, [GOOD])
    (sha,) = (source.sha256 for source in read.sources if source.path == "mine.yaml")
    assert write_places(build_file, PLACES, sha256=sha)
    new = build_file.read_bytes()
    assert new == with_places(old.decode(), PLACES).encode()
    assert new.startswith(b"\xef\xbb\xbf")
    assert new.count(b"\r\n") == new.count(b"\n") == old.count(b"\n")
    assert stat.S_IMODE(build_file.stat().st_mode) == 0o640
    assert [p.name for p in build_file.parent.iterdir()] == ["mine.yaml"]
    place = load_build(build_file, [GOOD]).part("tare").at
    assert place is not None
    assert place.up == at(How.CENTRE)


def test_nothing_to_write_touches_nothing(build_file: Path) -> None:
    write_places(build_file, PLACES)
    before = build_file.stat()
    assert not write_places(build_file, PLACES)
    assert (build_file.stat().st_ino, build_file.stat().st_mtime_ns) == (
        before.st_ino,
        before.st_mtime_ns,
    )


def test_a_link_stays_a_link(build_file: Path, tmp_path: Path) -> None:
    link = tmp_path / "deep" / "link.yaml"
    link.parent.mkdir()
    link.symlink_to(build_file)
    assert write_places(link, PLACES)
    assert link.is_symlink()
    assert b"at: {across: centre, up: centre}" in build_file.read_bytes()


def test_a_file_that_was_changed_since_is_left_alone(build_file: Path) -> None:
    sha = hashlib.sha256(build_file.read_bytes()).hexdigest()
    build_file.write_bytes(build_file.read_bytes() + b"# mine\n")
    changed = build_file.read_bytes()
    with pytest.raises(UnusableInput, match="changed while places were sought"):
        write_places(build_file, PLACES, sha256=sha)
    assert build_file.read_bytes() == changed


def test_a_file_changed_at_the_last_moment_is_left_alone(
    build_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def meddle(handle: int) -> None:
        build_file.write_bytes(b"build: theirs\n")

    monkeypatch.setattr(os, "fsync", meddle)
    with pytest.raises(UnusableInput, match="changed while places were sought"):
        write_places(build_file, PLACES)
    assert build_file.read_bytes() == b"build: theirs\n"
    assert [p.name for p in build_file.parent.iterdir()] == ["mine.yaml"]


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_full_disk_or_ctrl_c_leaves_the_file(
    build_file: Path, error: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(handle: int) -> None:
        raise error

    old = build_file.read_bytes()
    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(type(error)):
        write_places(build_file, PLACES)
    assert build_file.read_bytes() == old
    assert [p.name for p in build_file.parent.iterdir()] == ["mine.yaml"]


@pytest.mark.parametrize("data", [b"build: \xff\n", b"build: x\n\tparts: y\n", b""])
def test_what_cannot_be_read_is_not_written(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "mine.yaml"
    path.write_bytes(data)
    with pytest.raises(UnusableInput):
        write_places(path, PLACES, carrier=Half.LID)
    assert path.read_bytes() == data
