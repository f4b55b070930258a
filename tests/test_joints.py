"""Brackets laid flat, blocks, and the drawings of both."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fit.draw.drawing import Circle, Operation, Path, item_box
from fit.draw.joints import joint_units, pattern
from fit.geometry.assemble import assemble
from fit.geometry.joints import JointPiece, joint_pieces
from fit.geometry.scene import Scene
from fit.model.part import Joint
from fit.model.words import JointKind
from fit.trade.bending import bend_allowance, flat_length, k_factor, k_factors
from fit.trade.tables import UnknownName
from fit.units import Length as L
from tests.draw_scenes import boards, small

STRIP = Joint(
    kind=JointKind.STRIP, size=(L(12), L(14), L(12)), thickness=L(1.5), inset=L(12), screw=L(3)
)


def jointed(joint: Joint) -> Scene:
    """The small scale with another joint between its boards."""
    build = small().build
    parts = tuple(
        replace(used, joint=joint) if used.name == "display_board" else used for used in build.parts
    )
    return assemble(replace(build, parts=parts))


@pytest.mark.parametrize(
    ("material", "share"),
    [("soft brass and soft copper", 0.55), ("bronze and hard copper and cold-rolled steel", 0.71)],
)
def test_the_allowance_is_the_handbooks(material: str, share: float) -> None:
    # Machinery's Handbook: L = share·T + 1.57·R for a right angle (from memory).
    got = bend_allowance(90, 2.0, 1.2, k_factor(material))
    assert got == pytest.approx(share * 1.2 + 1.57 * 2.0, abs=0.002)


def test_k_factors_lie_where_textbooks_have_them() -> None:
    # 0.33 to 0.5 in every textbook of sheet metal (from memory); half the thickness at most.
    assert all(0.33 <= k <= 0.5 for k in k_factors().values())
    with pytest.raises(UnknownName):
        k_factor("cheese")


@given(st.floats(0.3, 3), st.floats(0, 5), st.floats(0, 0.5), st.floats(1, 179))
def test_the_allowance_is_the_length_of_the_unstretched_layer(
    t: float, r: float, k: float, angle: float
) -> None:
    # Plain geometry: an arc's length, summed over short chords.
    count = 2000
    points = [
        ((r + k * t) * math.cos(a), (r + k * t) * math.sin(a))
        for a in (math.radians(angle) * n / count for n in range(count + 1))
    ]
    chords = sum(math.dist(p, q) for p, q in itertools.pairwise(points))
    assert bend_allowance(angle, r, t, k) == pytest.approx(chords, rel=1e-5, abs=1e-9)


def test_nonsense_is_refused() -> None:
    for given_ in ((0, 1, 1, 0.4), (90, -1, 1, 0.4), (90, 1, 0, 0.4), (90, 1, 1, 0.6)):
        with pytest.raises(ValueError, match="a bend has"):
            bend_allowance(*given_)
    with pytest.raises(ValueError, match="ends within its bend"):
        flat_length(2.0, 12.0, 1.0, 1.0, 0.4)


def bent(flat: Any, piece: JointPiece, y: float) -> tuple[float, float]:
    """Where a point of the flat strip's outside comes to lie once it is bent: (up, out), mm."""
    t = float(piece.joint.thickness)
    _, low, high = flat.folds
    if y >= high:
        return y - high + 2 * t, 0.0
    if y <= low:
        return 0.0, low - y + 2 * t
    raise AssertionError("in the bend")


@pytest.mark.parametrize("size", [(12, 14, 12), (10, 20, 11), (15, 13, 25)])
def test_a_bent_strip_has_its_legs_and_its_holes_meet_the_boards(
    size: tuple[float, float, float],
) -> None:
    wide, tall, deep = size
    scene = jointed(replace(STRIP, size=(L(wide), L(tall), L(deep))))
    standing = next(b for b in scene.boards if b.name == "display_board")
    lying = next(b for b in scene.boards if b.name == "main_board")
    pieces = joint_pieces(scene)
    assert len(pieces) == STRIP.count
    back = -float(standing.board.thickness)
    for n, piece in enumerate(pieces):
        flat = pattern(piece)
        assert flat.width == wide
        assert bent(flat, piece, flat.length)[0] == pytest.approx(tall)
        assert bent(flat, piece, 0.0)[1] == pytest.approx(deep)
        # Where the two holes are in the box, straight from the boards' own holes.
        up, _ = bent(flat, piece, flat.up.y)
        _, out = bent(flat, piece, flat.out.y)
        high = [h for h in standing.holes if h.purpose == "strip"][n]
        low = [h for h in lying.holes if h.purpose.startswith("strip of")][n]
        corner = standing.pose.inside(lying.pose.point((low.x, low.y, 0.0)))
        foot = standing.pose.inside(lying.pose.origin)[1]
        assert foot + up == pytest.approx(high.y)
        assert back - out == pytest.approx(corner[2])
        assert flat.out.x - flat.up.x == pytest.approx(corner[0] - high.x)
        assert flat.up.x == pytest.approx(wide / 2)


def test_the_strip_is_shorter_than_its_legs_together() -> None:
    flat = pattern(joint_pieces(jointed(STRIP))[0])
    # r = t = 1.5: legs 14 + 12 less 2·3, and the handbook's 0.64·1.5 + 1.57·1.5.
    assert flat.length == pytest.approx(20 + 0.64 * 1.5 + 1.57 * 1.5, abs=0.01)


def test_a_blocks_two_faces_lie_side_by_side() -> None:
    scene = small()
    for piece in joint_pieces(scene):
        flat = pattern(piece)
        assert (flat.width, flat.length, flat.folds) == (10, 20, (10,))
        assert flat.up.y == pytest.approx(10 + piece.up[1])
        assert flat.out.y == pytest.approx(10 - piece.out[1])
        assert 0 < flat.out.y < 10 < flat.up.y < 20


def test_alike_pieces_are_drawn_once_and_counted() -> None:
    (unit,) = joint_units(small())
    assert [cell.view.title for cell in unit.cells] == ["Block of display_board, make 2"]
    drawing = unit.cells[0].view.drawing
    (outline,) = (i for i in drawing.on(Operation.CUT) if isinstance(i, Path))
    box = item_box(outline)
    assert (box.width, box.height) == (10, 20)
    rings = [i for i in drawing.on(Operation.DRILL) if isinstance(i, Circle)]
    # Tapping drill for M3: 2.5 (ISO 2306).
    assert [i.radius for i in rings] == [1.25, 1.25]
    words = [line for w in unit.cells[0].view.wanted for line in w.lines]
    assert "drill Ø2.5, tap M3" in words
    assert joint_units(boards()) == ()


def test_an_odd_screw_gets_a_plain_hole_and_a_hole_in_the_bend_is_told() -> None:
    thick = replace(STRIP, thickness=L(3), size=(L(12), L(12), L(12)))
    (unit,) = joint_units(jointed(thick))
    assert any("drill that one after bending" in fact for fact in unit.facts)
    (plain,) = joint_units(jointed(STRIP))
    assert not any("after bending" in fact for fact in plain.facts)
    assert any("21" not in fact and "K 0.41" in fact for fact in plain.facts)
