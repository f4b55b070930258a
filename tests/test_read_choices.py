"""What a build file leaves to be chosen, and what it wishes for.

Whether wishes agree is compared with trying every arrangement of points on a small grid.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.geometry.assemble import assemble
from fit.geometry.legends import reading_turn
from fit.model.build import Along, Build, Region, Used, Wish, WishKind
from fit.model.in_use import quarter_in_use
from fit.model.words import FaceName, Half, Seat
from fit.read import load_build, shipped
from fit.read.wishes_agree import Told, disagreement
from fit.units import Length

HERE = Path(__file__).parent
GOOD = HERE / "data" / "boxes"
HEAD = "build: mine\nbox: tray-150x100x60\ndrawer: small-kit\n"
BOARD = "{kind: board, stock: pads, size: [30, 20]}"


def load(folder: Path, text: str) -> Build:
    path = folder / "mine.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    return load_build(path, [GOOD])


def part(folder: Path, keys: str) -> Used:
    return load(folder, f"parts:\n  a: {{{keys}}}\n").part("a")


# --- choices


def test_what_is_not_said_leaves_no_choice(tmp_path: Path) -> None:
    build = load(tmp_path, "parts:\n  a: {use: press-12, on: right}\n")
    a = build.part("a")
    assert (a.also_on, a.turns, a.standoffs) == ((), (), ())
    assert (build.either_half, build.wishes, float(build.room)) == (False, (), 5.0)


def test_faces_to_choose_from(tmp_path: Path) -> None:
    a = part(tmp_path, "use: press-12, on: [right, lid, left], at: {across: {share: 0.5}}")
    assert (a.on, a.also_on) == (FaceName.RIGHT, (FaceName.LID, FaceName.LEFT))
    one = part(tmp_path, "use: press-12, on: [right]")
    assert (one.on, one.also_on) == (FaceName.RIGHT, ())


@pytest.mark.parametrize(
    ("written", "turn", "turns"),
    [("90", 90, ()), ("any", 0, (90, 180, 270)), ("[90, 0]", 90, (0,)), ("[180]", 180, ())],
)
def test_turns_to_choose_from(
    tmp_path: Path, written: str, turn: int, turns: tuple[int, ...]
) -> None:
    a = part(tmp_path, f"use: press-12, on: right, turn: {written}")
    assert (a.turn, a.turns) == (turn, turns)


@pytest.mark.parametrize(
    ("written", "standoff", "standoffs"),
    [
        ("7", 7.0, ()),
        ("any", 5.0, (10.0,)),  # the spacers of small-kit
        ("[12, 6 mm]", 12.0, (6.0,)),
    ],
)
def test_standoffs_to_choose_from(
    tmp_path: Path, written: str, standoff: float, standoffs: tuple[float, ...]
) -> None:
    a = part(tmp_path, f"use: {BOARD}, on: carrier, standoff: {written}")
    assert a.standoff is not None
    assert (float(a.standoff), tuple(map(float, a.standoffs))) == (standoff, standoffs)


def test_any_spacer_is_each_length_once_from_the_smallest(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    text = HEAD.replace("small-kit", "{bits: [3], spacers: [20, 5, 1 cm, 10, 5.0]}")
    path.write_text(f"{text}parts:\n  a: {{use: {BOARD}, on: carrier, standoff: any}}\n")
    a = load_build(path, [GOOD]).part("a")
    assert (a.standoff, *a.standoffs) == (Length(5), Length(10), Length(20))


@pytest.mark.parametrize(
    ("written", "half", "either"),
    [("body", Half.BODY, False), ("lid", Half.LID, False), ("either", Half.BODY, True)],
)
def test_which_half_carries(tmp_path: Path, written: str, half: Half, either: bool) -> None:
    build = load(tmp_path, f"carrier: {written}\n")
    assert (build.carrier, build.either_half) == (half, either)


def test_posts_in_one_half_are_enough_when_either_may_carry(tmp_path: Path) -> None:
    build = load(tmp_path, f"carrier: either\nparts:\n  a: {{use: {BOARD}, on: posts}}\n")
    assert build.part("a").on is Seat.POSTS


def test_a_gap_from_to(tmp_path: Path) -> None:
    a = part(tmp_path, "use: digits-4, on: front, window: {gap: [1 mm, 6], filter: 2}")
    assert a.window is not None
    assert (a.window.gap, a.window.gap_to) == (Length(1), Length(6))


def test_a_check_takes_the_first_of_each_choice(tmp_path: Path) -> None:
    free = load(
        tmp_path,
        "carrier: either\nparts:\n"
        "  a: {use: press-12, on: [left, right], at: {across: 3, up: 30}, turn: [90, 0]}\n"
        f"  b: {{use: {BOARD}, on: carrier, standoff: [6, 5], at: {{across: 0, up: 0}}}}\n",
    )
    given_ = load(
        tmp_path,
        "parts:\n"
        "  a: {use: press-12, on: left, at: {across: 3, up: 30}, turn: 90}\n"
        f"  b: {{use: {BOARD}, on: carrier, standoff: 6, at: {{across: 0, up: 0}}}}\n",
    )
    one, other = assemble(free), assemble(given_)
    assert one.bodies
    assert one.bodies == other.bodies
    assert one.openings == other.openings


# --- wishes

PARTS = "".join(f"  {name}: {{use: press-12, on: left}}\n" for name in "abc") + (
    "  d: {use: press-12, on: [left, right]}\n  e: {use: press-12, on: back}\n"
)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("row: [a, b, d]", Wish(kind=WishKind.ROW, parts=("a", "b", "d"))),
        ("column: [b, a]", Wish(kind=WishKind.COLUMN, parts=("b", "a"))),
        ("in_line: [a, b]", Wish(kind=WishKind.IN_LINE, parts=("a", "b"))),
        (
            "{in_line: [a, b], along: up}",
            Wish(kind=WishKind.IN_LINE, parts=("a", "b"), along=Along.UP),
        ),
        ("centred: a", Wish(kind=WishKind.CENTRED, parts=("a",))),
        ("centred: [a, e]", Wish(kind=WishKind.CENTRED, parts=("a", "e"))),
        (
            "{centred: [a], on: b, along: up}",
            Wish(kind=WishKind.CENTRED, parts=("a",), middle_of="b", along=Along.UP),
        ),
        ("near: [a, e]", Wish(kind=WishKind.NEAR, parts=("a", "e"))),
        ("far: [a, e, b]", Wish(kind=WishKind.FAR, parts=("a", "e", "b"))),
        ("same_both_sides: [a, b]", Wish(kind=WishKind.SAME_BOTH_SIDES, parts=("a", "b"))),
        ("order: [c, a, b]", Wish(kind=WishKind.ORDER, parts=("c", "a", "b"))),
        ("finger_gap: 1.9 cm", Wish(kind=WishKind.FINGER_GAP, value=Length(19))),
        (
            "keep_out: {on: front, from_left: 10, from_floor: 5}",
            Wish(
                kind=WishKind.KEEP_OUT,
                on=FaceName.FRONT,
                region=Region(left=Length(10), low=Length(5)),
            ),
        ),
        (
            "keep_out: {on: lid, from_right: 10, from_back: 5, from_front: 1}",
            Wish(
                kind=WishKind.KEEP_OUT,
                on=FaceName.LID,
                region=Region(right=Length(10), low=Length(1), high=Length(5)),
            ),
        ),
    ],
)
def test_wishes(tmp_path: Path, written: str, meant: Wish) -> None:
    (wish,) = load(tmp_path, f"parts:\n{PARTS}wishes:\n  - {written}\n").wishes
    assert wish == meant
    text = (tmp_path / "mine.yaml").read_text(encoding="utf-8")
    assert wish.where.line == len(text.splitlines())


def test_wishes_for_parts_that_are_fixed_or_fixed_in_part(tmp_path: Path) -> None:
    text = (
        "parts:\n  a: {use: press-12, on: left, at: {across: 3, up: 30}}\n"
        "  b: {use: press-12, on: left, at: {up: 12}}\n"
        "wishes:\n  - row: [a, b]\n  - row: [a, b]\n".removesuffix("  - row: [a, b]\n")
    )
    assert len(load(tmp_path, text).wishes) == 1


def test_in_use_is_what_labels_and_sheets_take_it_for(tmp_path: Path) -> None:
    for down in FaceName:
        scene = assemble(load(tmp_path, f"stands_on: {down}\n"))
        for name, face in scene.faces.items():
            assert quarter_in_use(name, down) == reading_turn(scene, face), (down, name)


# --- do they agree?

NAMES = "pqrs"
SPOTS = range(-4, 5)
_SOME = st.lists(st.sampled_from(NAMES), min_size=2, max_size=3, unique=True).map(tuple)
_PAIR = st.lists(st.sampled_from(NAMES), min_size=2, max_size=2, unique=True).map(tuple)
_ALONG = st.sampled_from(Along)
_ONE_WISH = st.one_of(
    st.builds(Wish, kind=st.sampled_from([WishKind.ROW, WishKind.COLUMN]), parts=_SOME),
    st.builds(Wish, kind=st.just(WishKind.ORDER), parts=_SOME),
    st.builds(Wish, kind=st.just(WishKind.IN_LINE), parts=_SOME, along=_ALONG),
    st.builds(Wish, kind=st.just(WishKind.SAME_BOTH_SIDES), parts=_PAIR),
    st.builds(
        lambda pair, along: Wish(
            kind=WishKind.CENTRED, parts=pair[:1], middle_of=pair[1], along=along
        ),
        _PAIR,
        _ALONG,
    ),
    st.builds(
        lambda name, along: Wish(kind=WishKind.CENTRED, parts=(name,), along=along),
        st.sampled_from(NAMES),
        _ALONG,
    ),
)


def rising(values: list[int]) -> bool:
    return all(a < b for a, b in pairwise(values))


def across_holds(wish: Wish, at: dict[str, int]) -> bool:
    """Whether a wish's part in the places left to right comes true, gaps apart."""
    values = [at[name] for name in wish.parts]
    if wish.kind in (WishKind.ROW, WishKind.ORDER):
        return rising(values)
    if wish.kind is WishKind.SAME_BOTH_SIDES:
        return values[0] == -values[1]
    if wish.kind is WishKind.COLUMN or (wish.kind is WishKind.IN_LINE and wish.along is Along.UP):
        return len(set(values)) == 1
    if wish.kind is WishKind.CENTRED and wish.along is Along.ACROSS:
        middle = at[wish.middle_of] if wish.middle_of else 0
        return all(value == middle for value in values)
    return True


def up_holds(wish: Wish, at: dict[str, int]) -> bool:
    """The same for heights; larger is higher."""
    values = [at[name] for name in wish.parts]
    if wish.kind is WishKind.COLUMN:
        return rising(values[::-1])
    if wish.kind in (WishKind.ROW, WishKind.SAME_BOTH_SIDES) or (
        wish.kind is WishKind.IN_LINE and wish.along is Along.ACROSS
    ):
        return len(set(values)) == 1
    if wish.kind is WishKind.CENTRED and wish.along is Along.UP:
        middle = at[wish.middle_of] if wish.middle_of else 0
        return all(value == middle for value in values)
    return True


def arrangements() -> Iterator[dict[str, int]]:
    for values in product(SPOTS, repeat=len(NAMES)):
        yield dict(zip(NAMES, values, strict=True))


def possible(wishes: list[Wish]) -> bool:
    """Whether all come true somewhere on the grid, no two parts on one spot."""
    named = {n for w in wishes for n in (*w.parts, w.middle_of) if n}
    lefts = {
        tuple(at[n] for n in sorted(named))
        for at in arrangements()
        if all(across_holds(w, at) for w in wishes)
    }
    ups = {
        tuple(at[n] for n in sorted(named))
        for at in arrangements()
        if all(up_holds(w, at) for w in wishes)
    }
    return any(len(set(zip(left, up, strict=True))) == len(named) for left in lefts for up in ups)


@settings(deadline=None, max_examples=60)
@given(wishes=st.lists(_ONE_WISH, min_size=1, max_size=4))
def test_wishes_disagree_exactly_when_no_arrangement_has_them_all(wishes: list[Wish]) -> None:
    faces = dict.fromkeys(NAMES, FaceName.FRONT)
    told = [Told(wish=wish, faces=faces, stackable=frozenset()) for wish in wishes]
    assert (disagreement(told) is None) == possible(wishes)


def test_things_on_two_faces_may_both_be_in_the_middle() -> None:
    wishes = [Wish(kind=WishKind.CENTRED, parts=("p", "q"), along=along) for along in Along]
    here, there = FaceName.FRONT, FaceName.BACK

    def asked(**faces: FaceName) -> str | None:
        return disagreement([Told(wish=w, faces=faces, stackable=frozenset()) for w in wishes])

    assert asked(p=here, q=there) is None
    assert asked(p=here) is None  # q may go elsewhere
    assert asked(p=here, q=here) == "'p' and 'q' would sit on one spot"


def test_a_board_may_lie_over_a_holder() -> None:
    wishes = [Wish(kind=WishKind.CENTRED, parts=("p", "q"), along=along) for along in Along]
    told = [
        Told(wish=w, faces=dict.fromkeys("pq", FaceName.FLOOR), stackable=frozenset("q"))
        for w in wishes
    ]
    assert disagreement(told) is None


def test_the_manuals_example_can_be_read(root: Path, tmp_path: Path) -> None:
    text = (root / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(
        r"^```yaml\n(build: greenhouse.*?)^```$", text, re.MULTILINE | re.DOTALL
    )
    path = tmp_path / "mine.yaml"
    path.write_text(example, encoding="utf-8")
    build = load_build(path, [shipped()])
    assert len(build.wishes) == 5
    assert build.either_half
    assert build.part("sensor").also_on == (FaceName.RIGHT,)
    for kind in WishKind:
        assert re.search(rf"^\|.*`{kind}: ", text, re.MULTILINE), kind
