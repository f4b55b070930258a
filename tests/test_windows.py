"""How the waste of a window is taken out, measured with shapely's own polygons."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fit.draw.asked import Ends
from fit.draw.drawing import Arc, Line, Path, path_pieces
from fit.draw.pens import CENTRE
from fit.draw.waste import CHAIN_INSET, Shop, Waste, chain_bit, waste_of
from fit.geometry.assemble import assemble
from fit.geometry.scene import Cut, Opening, Role
from fit.read import load_build
from fit.trade.drills import Step, Tool
from tests.draw_scenes import opening

BITS = (1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 8.0, 10.0)
SHOP = Shop(bits=BITS, sizes=(*BITS, 12.0, 14.0, 16.0, 18.0, 20.0))
BUILDS = ("bench-timer", "gate-counter", "hive-scale", "meter-box")
FINE = 24
"""Quarter segments: a circle's area is right to 2e-4."""


def window(width: float, height: float, bit: float = 3.0, radius: float = 0.0) -> Opening:
    steps = (Step(Tool.DRILL, bit), Step(Tool.SAW, width), Step(Tool.FILE, width))
    return opening(
        cut=Cut.RECTANGLE, role=Role.WINDOW, diameter=0.0, across=0.0, up=0.0, width=width,
        height=height, corner_radius=radius, steps=steps,
    )  # fmt: skip


def outline(hole: Opening) -> shapely.Polygon:
    """The final line: a rectangle with round corners, made by shapely's own buffer."""
    w, h = hole.width / 2, hole.height / 2
    r = min(hole.corner_radius, w, h)
    core = shapely.box(-w + r, -h + r, w - r, h - r)
    return shapely.buffer(core, r, quad_segs=FINE) if r else core


def disc(at: tuple[float, float], diameter: float) -> shapely.Polygon:
    return shapely.buffer(shapely.Point(at), diameter / 2, quad_segs=FINE)


def drilled(found: Waste) -> shapely.Geometry:
    holes = [disc(p, found.bit) for p in found.holes]
    holes += [disc(p, found.relief_bit) for p in found.relief]
    if found.entry is not None:
        holes.append(disc(found.entry, found.entry_size))
    return shapely.union_all(holes)


def within_the_line(found: Waste) -> shapely.Geometry:
    """What falls out once the bridges along the line of centres (or the saw's) are cut."""
    points: list[tuple[float, float]] = []
    for piece in path_pieces(Path(found.line, CENTRE)):
        if isinstance(piece, Line):
            points += [piece.start, piece.end]
        else:
            assert isinstance(piece, Arc)
            n = 64
            step = (piece.end - piece.start) / n
            arc = [piece.at(piece.start + k * step) for k in range(n + 1)]
            points += arc
    if not found.closed:
        return shapely.Polygon()
    # A line without straight stretches has the same points twice, but for rounding.
    kept = [p for p, q in pairwise([*points, points[0]]) if math.dist(p, q) > 1e-9]
    polygon = shapely.Polygon(kept)
    assert shapely.is_valid(polygon)
    return polygon


windows = st.builds(
    window,
    st.floats(6, 140).map(lambda v: round(v, 1)),
    st.floats(6, 90).map(lambda v: round(v, 1)),
    st.sampled_from([2.0, 2.5, 3.0, 3.5]),
    st.sampled_from([0.0, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 9.0, 30.0]),
)


def shipped() -> list[tuple[str, Opening, Shop]]:
    found = []
    for name in BUILDS:
        build = load_build(name)
        # Only the cut-outs' shapes matter here, not where what was left open will go.
        for hole in assemble(build).openings:
            if hole.cut is Cut.RECTANGLE:
                at_home = replace(hole, across=0.0, up=0.0, turn=0.0)
                found.append((f"{name} {hole.part}", at_home, Shop.of(build.drawer)))
    return found


def check(hole: Opening, shop: Shop) -> None:
    found = waste_of(hole, shop)
    if found is None:
        assert min(hole.width, hole.height) < chain_bit(hole) + 2 * CHAIN_INSET
        return
    final = outline(hole)
    # No hole crosses the final line (but for shapely's chords of the line itself).
    gone = drilled(found)
    assert shapely.covers(shapely.buffer(final, 3e-3), gone)
    out = shapely.union(gone, within_the_line(found))
    assert found.left == pytest.approx(shapely.area(shapely.difference(final, out)), rel=0.01)
    if found.way is Ends.CHAIN:
        bridges(found, gone)


def bridges(found: Waste, gone: shapely.Geometry) -> None:
    """Walking along the line of centres there is never more than pitch minus bit to cut."""
    line = shapely.boundary(within_the_line(found)) if found.closed else shapely.LineString(
        [(n.x, n.y) for n in found.line]
    )  # fmt: skip
    assert found.pitch <= found.bit + 1.0 + 1e-6
    if not found.closed and len(found.holes) == 1:
        return
    left = shapely.difference(line, gone)
    for part in shapely.get_parts(left if left.is_empty else shapely.line_merge(left)):
        assert shapely.length(part) <= max(found.pitch - found.bit, 0.0) + 3e-3


@settings(max_examples=60, deadline=None)
@given(windows)
def test_a_chain_stays_inside_the_line_leaves_no_wide_bridge_and_tells_its_filing(
    hole: Opening,
) -> None:
    check(hole, SHOP)


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(windows)
def test_three_hundred_chains(hole: Opening) -> None:
    check(hole, SHOP)


@settings(max_examples=60, deadline=None)
@given(windows)
def test_big_holes_stay_inside_the_line_and_tell_their_filing(hole: Opening) -> None:
    check(hole, replace(SHOP, ends=Ends.BIG_HOLES))


@pytest.mark.parametrize(("hole", "shop"), [pytest.param(h, s, id=n) for n, h, s in shipped()])
def test_the_windows_of_the_shipped_builds(hole: Opening, shop: Shop) -> None:
    check(hole, shop)
    check(hole, replace(shop, ends=Ends.BIG_HOLES))
    found = waste_of(hole, shop)
    assert found is not None


@settings(max_examples=100, deadline=None)
@given(windows)
def test_between_two_holes_of_a_chain_stays_a_millimetre_at_most(hole: Opening) -> None:
    # Builders' pages: pitch of bit + 0.5 to 1, holes inside the line by 0.5 to 1.
    found = waste_of(hole, SHOP)
    if found is None or len(found.holes) == 1:
        return
    assert found.pitch <= found.bit + 1.0 + 1e-6
    if not found.closed:
        return
    sharp = [n for n in found.line if n.bulge == 0.0]
    inset = hole.width / 2 - found.bit / 2 - max(abs(n.x) for n in sharp)
    assert 0.5 - 1e-9 <= inset <= 1.0 + 1e-9
    assert inset == pytest.approx(hole.height / 2 - found.bit / 2 - max(abs(n.y) for n in sharp))


@settings(max_examples=100, deadline=None)
@given(windows)
def test_holes_of_a_chain_seldom_run_into_each_other(hole: Opening) -> None:
    """Only on a side between one and two steps long, or two and three, and then evenly."""
    found = waste_of(hole, SHOP)
    if found is None or not found.closed or hole.corner_radius > 0:
        return
    w, h = (max(abs(p[n]) for p in found.holes) for n in (0, 1))
    sides = (
        sorted(x for x, y in found.holes if abs(y - h) < 1e-9),
        sorted(y for x, y in found.holes if abs(x - w) < 1e-9),
    )
    for side, length in zip(sides, (2 * w, 2 * h), strict=True):
        steps = [b - a for a, b in pairwise(side)]
        assert steps == pytest.approx([length / len(steps)] * len(steps))
        if min(steps) < found.bit - 1e-6:
            assert len(steps) in (2, 3)
            assert min(steps) > 0.7 * found.bit
            fewer = length / (len(steps) - 1)
            assert fewer > found.bit + 1.0


def test_small_holes_in_the_corners_where_a_plate_needs_them_square() -> None:
    # Builders' pages: corner holes of 1.5 wholly inside the lines, drilled first.
    square = waste_of(window(54.4, 22, 3.5), SHOP)
    assert square is not None
    assert square.relief_bit == 1.5
    assert len(square.relief) == 4
    for x, y in square.relief:
        assert 27.2 - abs(x) == pytest.approx(0.75 + 0.5)
        assert 11.0 - abs(y) == pytest.approx(0.75 + 0.5)
    # A corner that may stay as round as a small bit leaves it gets that bit ...
    some = waste_of(window(54.4, 22, 3.5, 1.0), SHOP)
    assert some is not None and some.relief_bit == 2.0
    # ... and one that may stay as round as the chain's bit leaves it needs none.
    round_one = waste_of(window(54.4, 22, 3.5, 1.75), SHOP)
    assert round_one is not None and round_one.relief == ()


def test_the_saw_goes_in_inside_the_chain() -> None:
    found = waste_of(window(54.4, 22, 3.5), SHOP)
    assert found is not None and found.entry is not None
    assert found.entry_size == 10.0
    assert all(
        math.dist(found.entry, p) >= (found.entry_size + found.bit) / 2 + 0.2 for p in found.holes
    )
    # Too narrow for a hole of 5: the saw goes in at a hole of the chain.
    narrow = waste_of(window(54.4, 11, 3.5), SHOP)
    assert narrow is not None and narrow.entry is None


def test_big_holes_one_at_each_end_or_one_in_each_corner() -> None:
    low = waste_of(window(61, 14.4), replace(SHOP, ends=Ends.BIG_HOLES))
    assert low is not None
    assert (low.way, low.bit, len(low.holes)) == (Ends.BIG_HOLES, 12.0, 2)
    assert low.holes[0] == (-(61 / 2 - 0.75 - 6), 0.0)
    tall = waste_of(window(14.4, 61), replace(SHOP, ends=Ends.BIG_HOLES))
    assert tall is not None
    assert tall.holes == tuple((y, x) for x, y in low.holes)
    wide = waste_of(window(92, 45), replace(SHOP, ends=Ends.BIG_HOLES))
    assert wide is not None
    assert (wide.bit, len(wide.holes)) == (20.0, 4)
    # Nothing large in the drawer: a chain after all.
    poor = Shop(bits=(3.0,), sizes=(3.0,), ends=Ends.BIG_HOLES)
    few = waste_of(window(61, 14.4), poor)
    assert few is not None and few.way is Ends.CHAIN


def test_a_shop_knows_the_steps_of_its_step_bits() -> None:
    shop = Shop.of(load_build("hive-scale").drawer)
    # The small drawer: bits 1 to 10 by half millimetres, a step bit 4 to 20 by 2.
    assert shop.bits[0] == 1.0 and shop.bits[-1] == 10.0
    assert {12.0, 14.0, 16.0, 18.0, 20.0} <= set(shop.sizes)
    assert shop.sizes[-1] == 20.0
