"""Reading builds: the sample, the catalogue, the words of YAML, and files nobody meant to write."""

from __future__ import annotations

import hashlib
import os
import random
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fit.findings import Problem, Span, UnusableInput
from fit.model.box import Lip
from fit.model.build import Build, Coordinate, How, Window
from fit.model.part import Board, BushingPart, Display, Gland, Grommet, Holder
from fit.model.words import FaceName, Half, HandsName, JointKind, PlateHold, Seat, Toward
from fit.read import Catalogue, Sort, load_box, load_build, load_drawer, load_part, marks, shipped
from fit.units import PITCH, Length

HERE = Path(__file__).parent
GOOD = HERE / "data" / "boxes"
HIVE = GOOD / "builds" / "hive-scale.yaml"
_BOX = "shells/tray-150x100x60.yaml"
HEAD = "build: mine\nbox: tray-150x100x60\ndrawer: small-kit\n"


@pytest.fixture(scope="module")
def hive() -> Build:
    return load_build(HIVE)


def write(folder: Path, text: str | bytes, name: str = "mine.yaml") -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def mm(*lengths: float) -> list[float]:
    return [float(length) for length in lengths]


def refused(path: Path | str, folders: tuple[Path, ...] = (GOOD,)) -> str:
    with pytest.raises(UnusableInput) as caught:
        load_build(path, folders)
    return str(caught.value)


# --- the sample


def test_the_sample_says_what_it_says(hive: Build) -> None:
    assert (hive.name, hive.hands, hive.stands_on) == (
        "hive-scale",
        HandsName.CAREFUL,
        FaceName.LID,
    )
    assert hive.carrier is Half.BODY
    assert [used.name for used in hive.parts] == [
        "readout",
        "tare",
        "units",
        "main_board",
        "display_board",
        "cells",
        "cell_cable",
    ]
    assert [(w.start, w.end) for w in hive.wires] == [
        ("cells", "main_board"),
        ("tare", "main_board"),
    ]
    kinds = {used.name: type(used.part) for used in hive.parts}
    assert kinds["readout"] is Display
    assert kinds["tare"] is BushingPart
    assert kinds["cells"] is Holder
    assert kinds["cell_cable"] is Gland


def test_the_samples_places(hive: Build) -> None:
    at = hive.part("readout").at
    assert at is not None
    assert at.across == Coordinate(how=How.CENTRE)
    assert at.up == Coordinate(how=How.FROM_RIM, value=Length(24))
    assert hive.part("tare").at is None
    cable = hive.part("cell_cable").at
    assert cable is not None
    assert cable.across == Coordinate(how=How.FROM_LEFT, value=Length(25))
    assert hive.part("main_board").on is Seat.POSTS
    assert hive.part("display_board").on is None


def test_the_samples_window_and_boards(hive: Build) -> None:
    assert hive.part("readout").window == Window(
        filter=Length(2), held=PlateHold.PUSHED_IN, seen_from=35
    )
    board = hive.part("main_board").part
    assert isinstance(board, Board)
    assert board.size == pytest.approx((46 * PITCH, 30 * PITCH))
    assert board.size[0].words == "46 holes"
    (zone,) = board.zones
    assert mm(zone.x, zone.y, zone.width, zone.depth, zone.height) == [2, 2, 16, 10, 14]
    joint = hive.part("display_board").joint
    assert joint is not None
    assert joint.kind is JointKind.BLOCK
    assert mm(*joint.size) == [10, 10, 10]
    assert hive.part("display_board").joined_to == "main_board"


def test_the_samples_box_and_drawer(hive: Build) -> None:
    box = hive.box
    assert mm(box.length, box.width, box.height, box.rim) == [150, 100, 60, 57.5]
    assert mm(box.front.draft, box.back.draft, box.front.thickness) == [2, 1.5, 2.5]
    assert box.lid.lip == Lip(height=Length(3), thickness=Length(1.5), gap=Length(0.3))
    corners = {p.name: mm(p.x, p.y) for p in box.posts if p.name.startswith("P")}
    assert corners == {"P1": [-55, -30], "P2": [55, -30], "P3": [55, 30], "P4": [-55, 30]}
    assert mm(*(p.foot for p in box.posts))[::4] == [7, 7]
    assert hive.drawer.screws[0].thread == "M3"
    assert float(hive.drawer.step_bits[0].largest) == 20


def test_everything_knows_its_line(hive: Build) -> None:
    lines = HIVE.read_text(encoding="utf-8").splitlines()
    for used in hive.parts:
        assert lines[used.where.line - 1].strip().startswith(used.name + ":")
        assert used.where.column == 3
    for wire in hive.wires:
        assert wire.start in lines[wire.where.line - 1]
    assert hive.part("tare").part.where.file.endswith("parts/press-12.yaml")


def test_uncertainty_and_words_survive(hive: Build) -> None:
    display = hive.part("readout").part
    assert isinstance(display, Display)
    assert mm(display.thickness, display.thickness.plus_minus) == [8, 0.2]
    assert display.thickness.words == "8 ± 0.2"


def test_sources_are_named_alike_on_every_machine(hive: Build) -> None:
    paths = [source.path for source in hive.sources]
    assert paths == sorted(paths)
    assert "builds/hive-scale.yaml" in paths
    assert "shells/tray-150x100x60.yaml" in paths
    assert len(paths) == 9
    for source in hive.sources:
        assert source.sha256 == hashlib.sha256((GOOD / source.path).read_bytes()).hexdigest()


# --- names and folders


def test_own_folder_beats_the_one_above(tmp_path: Path) -> None:
    part = (
        "part: press-12\nkind: grommet\nhole: {}\ngroove: 1.5\ncable: 3\n"
        "flange: {{diameter: 20, thickness: 1}}\n"
    )
    write(tmp_path / "boxes" / "parts", part.format(9), "press-12.yaml")
    write(tmp_path / "deep" / "boxes" / "parts", part.format(8), "press-12.yaml")
    path = write(tmp_path / "deep", HEAD + "parts:\n  a: {use: press-12, on: left}\n")
    write(tmp_path / "boxes" / "shells", (GOOD / _BOX).read_bytes(), Path(_BOX).name)
    near = load_build(path).part("a").part
    assert isinstance(near, Grommet)
    assert float(near.hole) == 8
    given = load_build(path, [tmp_path / "boxes"]).part("a").part
    assert isinstance(given, Grommet)
    assert float(given.hole) == 9


def test_a_build_by_its_bare_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "boxes" / "builds", HEAD, "zz-mine.yaml")
    build = load_build("zz-mine", [GOOD])
    assert build.where == Span("boxes/builds/zz-mine.yaml", 1, 1)
    assert "did you mean 'zz-mine'" in refused("zz-mime")


def test_paths_are_shown_from_the_working_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path / "here", HEAD + "handz: careful\n")
    monkeypatch.chdir(tmp_path)
    assert refused(path).startswith("here/mine.yaml:4:1: ")
    monkeypatch.chdir(HERE)
    assert refused(path).startswith(f"{path.as_posix()}:4:1: ")


def test_shipped_drawers_can_be_read() -> None:
    small, full = load_drawer("small-kit", [shipped()]), load_drawer("full-kit", [shipped()])
    assert set(small.bits) < set(full.bits)
    assert list(small.bits) == sorted(small.bits)
    assert list(full.bits) == sorted(full.bits)
    assert len(full.screws) > len(small.screws) > 2


def test_every_shipped_file_can_be_read() -> None:
    catalogue = Catalogue((shipped(),))
    loaders = {
        Sort.BOX: load_box,
        Sort.PART: load_part,
        Sort.DRAWER: load_drawer,
        Sort.BUILD: load_build,
    }
    for sort, load in loaders.items():
        names = catalogue.files(sort)
        assert names, f"no {sort} is shipped"
        for name in names:
            assert load(name, [shipped()]).name == name


def test_no_such_things(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "none.yaml")
    assert "no such file" in refused("none/at/all")
    assert "folder, not a file" in refused(tmp_path)
    assert "no build called" in refused(" ")
    assert "folder, not a file" in refused("")
    assert "no build called" in refused("a\0b")
    assert "no build called" in refused("x" * 5000)
    assert "no such folder" in refused(HIVE, (tmp_path / "none",))
    with pytest.raises(UnusableInput, match="no box called"):
        load_box("../shells/tray-150x100x60", [GOOD])


def test_a_device_is_not_waited_for() -> None:
    assert "no ordinary file" in refused(Path(os.devnull))


# --- files that are no text, or no YAML


def test_not_utf_8(tmp_path: Path) -> None:
    latin = write(tmp_path, HEAD.encode() + "about: Zähler\n".encode("latin-1"))
    assert "mine.yaml:4:9: this line is not UTF-8" in refused(latin)
    assert "no text file" in refused(write(tmp_path, HEAD.encode("utf-16")))
    assert "no text file" in refused(write(tmp_path, bytes(range(256)) * 9))
    assert "UTF-8" in refused(write(tmp_path, HEAD.encode() + b"about: \xed\xa0\x80\n"))


def test_byte_order_mark_and_dos_lines_are_read(tmp_path: Path) -> None:
    text = HEAD + "about: Zähler für das Tor\n"
    path = write(tmp_path, b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert load_build(path, [GOOD]).about == "Zähler für das Tor"


def test_far_too_big(tmp_path: Path) -> None:
    assert "bytes long" in refused(write(tmp_path, HEAD + "#" * 2_000_000))
    many = HEAD + "needs:\n" + "".join(f"  rule{i}: 1\n" for i in range(11_000))
    assert "far too many" in refused(write(tmp_path, many))


def test_thousands_of_faults_are_told_and_counted(tmp_path: Path) -> None:
    unknown = HEAD + "".join(f"key{i}: 1\n" for i in range(4000))
    assert refused(write(tmp_path, unknown)).count("\n") < 1000
    wires = HEAD + "wires:\n" + "".join(f"  - [a{i}, b{i}]\n" for i in range(2000))
    assert "no part called 'a0'" in refused(write(tmp_path, wires))


def test_a_secret_file_is_not_read(tmp_path: Path) -> None:
    path = write(tmp_path, HEAD)
    path.chmod(0)
    if os.access(path, os.R_OK):  # the administrator may read everything
        assert load_build(path, [GOOD]).name == "mine"
    else:
        assert "may not be read" in refused(path)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        # YAML 1.2.2, section 10.3.2, core schema; the last three are words there, not in YAML 1.1.
        ("null", None),
        ("~", None),
        ("true", True),
        ("False", False),
        ("0", 0),
        ("-12", -12),
        ("010", 10),
        ("2.5", 2.5),
        ("-.5", -0.5),
        ("1e3", 1000.0),
        (".inf", float("inf")),
        ("'12'", "12"),
        ("7/16 in", "7/16 in"),
        ("1:30", "1:30"),
        ("on", "on"),
        ("yes", "yes"),
        ("2024-01-02", "2024-01-02"),
    ],
)
def test_words_of_yaml(written: str, meant: object) -> None:
    root, problems = marks.compose(f"key: {written}\n".encode(), "f.yaml")
    assert not problems
    assert root is not None
    value = root.plain()["key"]
    assert value == meant
    assert type(value) is type(meant)


@pytest.mark.parametrize("path", sorted(GOOD.rglob("*.yaml")), ids=lambda p: p.stem)
def test_same_tree_as_pyyaml(path: Path) -> None:
    """PyYAML's own constructor agrees, but for its YAML 1.1 reading of the key `on`."""
    root, _ = marks.compose(path.read_bytes(), "f.yaml")
    assert root is not None

    def words(value: object) -> object:
        if isinstance(value, dict):
            return {"on" if k is True else k: words(v) for k, v in value.items()}
        return [words(v) for v in value] if isinstance(value, list) else value

    assert root.plain() == words(yaml.safe_load(path.read_text(encoding="utf-8")))


def test_the_slow_parser_says_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    for path in sorted((HERE / "broken" / "builds").glob("[!f]*.yaml")):
        fast, fast_problems = marks.compose(path.read_bytes(), "f.yaml")
        with monkeypatch.context() as patch:
            patch.setattr(marks, "Loader", yaml.SafeLoader)
            slow, slow_problems = marks.compose(path.read_bytes(), "f.yaml")
        assert (fast is None) == (slow is None), path.name
        assert {p.where.line for p in fast_problems} == {p.where.line for p in slow_problems}
        if fast is not None and slow is not None:
            assert repr(fast.plain()) == repr(slow.plain())


def test_anchors_in_reason_are_read(tmp_path: Path) -> None:
    text = HEAD + "parts:\n  a: &a {use: press-12, on: left}\n  b: *a\n"
    build = load_build(write(tmp_path, text), [GOOD])
    assert build.part("a").part == build.part("b").part


# --- ways to write things


def place(tmp_path: Path, at: str, on: str = "left") -> Build:
    text = f"parts:\n  a: {{use: press-12, on: {on}}}\n  b: {{use: press-12, on: {on}, at: {at}}}\n"
    return load_build(write(tmp_path, HEAD + text), [GOOD])


@pytest.mark.parametrize(
    ("axis", "written", "how", "value"),
    [
        ("across", "12", How.AT, 12),
        ("across", "-0.5 in", How.AT, -12.7),
        ("across", "centre", How.CENTRE, 0),
        ("across", "{from_left: 18}", How.FROM_LEFT, 18),
        ("across", "{from_right: 1.8 cm}", How.FROM_RIGHT, 18),
        ("across", "{share: 0.3}", How.SHARE, 0.3),
        ("up", "{from_rim: 24}", How.FROM_RIM, 24),
        ("up", "{from_floor: 10 holes}", How.FROM_FLOOR, 25.4),
        ("up", "{share: 1}", How.SHARE, 1),
    ],
)
def test_coordinates(tmp_path: Path, axis: str, written: str, how: How, value: float) -> None:
    at = place(tmp_path, f"{{{axis}: {written}}}").part("b").at
    assert at is not None
    given = getattr(at, axis)
    assert given.how is how
    assert given.value == pytest.approx(value)
    assert getattr(at, "up" if axis == "across" else "across") is None


def test_edges_of_level_faces(tmp_path: Path) -> None:
    at = place(tmp_path, "{up: {from_back: 9}}", on="lid").part("b").at
    assert at is not None
    assert at.up == Coordinate(how=How.FROM_BACK, value=Length(9))


def test_beside(tmp_path: Path) -> None:
    at = place(tmp_path, "{beside: a, gap: 14, side: below}").part("b").at
    assert at is not None
    assert (at.beside, float(at.gap), at.side) == ("a", 14, Toward.BELOW)


def test_beside_in_a_chain_is_no_circle(tmp_path: Path) -> None:
    parts = "".join(
        f"  p{i}: {{use: press-12, on: left, at: {{beside: p{i + 1}}}}}\n" for i in range(50)
    )
    text = f"{HEAD}parts:\n{parts}  p50: {{use: press-12, on: left}}\n"
    assert len(load_build(write(tmp_path, text), [GOOD]).parts) == 51


def test_display_without_window_gets_a_bare_opening(tmp_path: Path) -> None:
    build = load_build(write(tmp_path, HEAD + "parts:\n  r: {use: digits-4, on: front}\n"), [GOOD])
    assert build.part("r").window == Window()


def test_box_and_drawer_on_the_spot(tmp_path: Path) -> None:
    text = (
        "build: mine\n"
        "box: {outside: [90, 60, 40], walls: {thickness: 2}, floor: 2,"
        " lid: {kind: flat, thickness: 2}}\n"
        "drawer: {bits: [3, 1/4 in]}\nneeds: {web: 2.5, lid-room: 0}\ncarrier: lid\n"
    )
    build = load_build(write(tmp_path, text))
    assert (build.box.name, float(build.box.length), build.carrier) == ("mine", 90, Half.LID)
    assert mm(*build.drawer.bits) == [3, 6.35]
    assert [(n.rule, float(n.value), n.where.line) for n in build.needs] == [
        ("web", 2.5, 4),
        ("lid-room", 0, 4),
    ]
    assert [s.path for s in build.sources] == ["mine.yaml"]


# --- files nobody meant to write

_TEXT = HIVE.read_text(encoding="utf-8")
_SIGNS = st.sampled_from("{}[]:,'\"&*!|>-#?%@`~\\\t \r\n0159.eab±\x00\x07é\ufffe\u2028")


def survives(path: Path, data: bytes) -> None:
    """Reading gives a build or problems at lines that exist; anything else is raised on."""
    path.write_bytes(data)
    problems: tuple[Problem, ...] = ()
    try:
        build = load_build(path, [GOOD])
    except UnusableInput as unusable:
        build, problems = None, unusable.problems
    assert (build is None) == bool(problems)
    last = len(data.decode("utf-8", "replace").splitlines()) + 1
    for problem in problems:
        assert str(problem).isprintable()
        assert problem.where.line <= last or problem.where.file != path.as_posix()


@settings(
    deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(edits=st.lists(st.tuples(st.integers(0, len(_TEXT)), _SIGNS, st.booleans()), max_size=4))
def test_mistyped_signs(tmp_path: Path, edits: list[tuple[int, str, bool]]) -> None:
    text = _TEXT
    for place_, sign, over in edits:
        text = text[:place_] + sign + text[place_ + over :]
    survives(tmp_path / "fuzz.yaml", text.encode("utf-8", "surrogatepass"))


@settings(
    deadline=None, max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32), cuts=st.integers(1, 5))
def test_lines_lost_doubled_and_swapped(tmp_path: Path, seed: int, cuts: int) -> None:
    dice, lines = random.Random(seed), _TEXT.splitlines()
    for _ in range(cuts):
        i, j = dice.randrange(len(lines)), dice.randrange(len(lines))
        match dice.randrange(4):
            case 0:
                del lines[i]
            case 1:
                lines.insert(j, lines[i])
            case 2:
                lines[i], lines[j] = lines[j], lines[i]
            case _:
                lines[i] = " " * dice.randrange(4) + lines[i].strip()
    survives(tmp_path / "fuzz.yaml", "\n".join(lines).encode())


_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["centre", "press-12", "front", "20 holes", "main_board", "1/0 in"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(
    deadline=None, max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_value_anywhere(tmp_path: Path, data: st.DataObject) -> None:
    root, _ = marks.compose(_TEXT.encode(), "f.yaml")
    assert root is not None
    tree = root.plain()
    for _ in range(data.draw(st.integers(1, 3))):
        at = tree
        while True:
            keys = list(at) if isinstance(at, dict) else list(range(len(at)))
            key = data.draw(st.sampled_from(keys))
            inner = at[key]
            if not (isinstance(inner, dict | list) and inner and data.draw(st.booleans())):
                break
            at = inner
        at[key] = data.draw(_VALUES)
    # Every JSON text is YAML, and PyYAML's writer quotes what YAML 1.1 would take for a bool.
    text = yaml.safe_dump(tree, allow_unicode=True)
    survives(tmp_path / "fuzz.yaml", text.encode("utf-8", "surrogatepass"))
