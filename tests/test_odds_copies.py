"""Simulated copies: what follows what, how far it strays, and that nothing clashes by mistake."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fit.check import inspect
from fit.check.copies import CUT_AT, Workshop, copy_of
from fit.check.copies_sizes import Kind, sizes, usual_spread
from fit.geometry.frames import Pose, sub
from fit.geometry.scene import Cut, Role, Scene
from fit.geometry.shapes import Block
from fit.model.part import BushingPart, Display, Gland
from fit.pipeline import examine
from fit.read import load_build
from fit.trade.drills import OVERSIZE
from fit.trade.hands import hand_work, hole_position_error
from fit.units import Length
from tests.conftest import ROOT

BUILDS = sorted((ROOT / "boxes" / "builds").glob("*.yaml"))
_SHOPS: dict[Path, Workshop] = {}


@pytest.fixture(params=BUILDS, ids=lambda p: p.stem)
def shop(request: pytest.FixtureRequest) -> Workshop:
    return shop_of(request.param)


def shop_of(path: Path) -> Workshop:
    if path not in _SHOPS:
        _SHOPS[path] = Workshop(examine(load_build(path)).scene)
    return _SHOPS[path]


def hive_shop() -> Workshop:
    return shop_of(ROOT / "boxes" / "builds" / "hive-scale.yaml")


def copies(shop: Workshop, count: int, seed: int = 1) -> list[Scene]:
    rng = np.random.default_rng(seed)
    return [shop.make(shop.draw(rng)) for _ in range(count)]


def test_with_nothing_off_the_copy_is_the_plan(shop: Workshop) -> None:
    plan, copy = shop.scene, shop.make(np.zeros(len(shop.sources)))
    assert copy.openings == plan.openings
    assert copy.boards == plan.boards or [b.pose for b in copy.boards] == pytest.approx(
        [b.pose for b in plan.boards]
    )
    for made, planned in zip(copy.bodies, plan.bodies, strict=True):
        assert made.id == planned.id
        assert made.pose.origin == pytest.approx(planned.pose.origin, abs=1e-9)
        assert made.shape == planned.shape or repr(made.shape)[:6] == repr(planned.shape)[:6]
    for before, after in zip(inspect(plan), inspect(copy), strict=True):
        assert (after.rule, after.about) == (before.rule, before.about)
        assert after.have == pytest.approx(before.have, abs=1e-6)


def test_draws_are_normal_with_two_sigma_and_cut_at_three() -> None:
    shop = hive_shop()
    rng = np.random.default_rng(2)
    off = np.array([shop.draw(rng) for _ in range(4000)])
    spread = np.array([s.plus_minus for s in shop.sources])
    usual = np.array([s.usually for s in shop.sources])
    z = (off - usual) / spread
    assert float(np.abs(z).max()) <= CUT_AT / 2
    # about 95 of 100 within the written ±: P(|z| < 2 σ), both ends cut at 3 σ
    assert float((np.abs(z) < 1).mean()) == pytest.approx(0.9545 / 0.9973, abs=0.003)
    assert float(z.mean()) == pytest.approx(0.0, abs=0.002)


def test_a_written_uncertainty_is_taken_as_written() -> None:
    """The buttons' bushing is measured: 11.65 ± 0.05."""
    found = {s.name: s for s in sizes(hive_shop().build)}
    bushing = found["bushing of tare"]
    assert (bushing.plus_minus, bushing.kind) == (0.05, Kind.WRITTEN)
    assert found["length of the box"].kind is Kind.USUAL


def test_sizes_without_one_get_half_of_it12() -> None:
    """ISO 286-1, IT12: 400 µm over 120 to 180 mm, 100 µm up to 3; IT13 460 µm over 50 to 80."""
    assert usual_spread(150.0) == pytest.approx(0.200)
    assert usual_spread(2.5) == pytest.approx(0.050)
    assert usual_spread(60.0, across_parting=True) == pytest.approx(0.230)
    assert usual_spread(0.0) == 0.0


def test_what_hands_make_is_no_size() -> None:
    names = {s.name for shop in map(shop_of, BUILDS) for s in sizes(shop.build)}
    assert not any("hole of" in n or "cutout" in n or "slot" in n for n in names)
    assert len(names) > 100


# --- what follows what


def test_a_part_sits_in_its_own_hole(shop: Workshop) -> None:
    for copy in copies(shop, 6):
        for name, placed in copy.placed.items():
            if not isinstance(placed.used.part, BushingPart | Gland):
                continue
            assert placed.face is not None
            hole = next(o for o in copy.openings if o.part == name and o.role is Role.MOUNT)
            frame = copy.faces[placed.face].frame
            for body in (b for b in copy.bodies if b.owner == name):
                across, up, _ = frame.inside(body.pose.origin)
                assert (across, up) == pytest.approx((hole.across, hole.up), abs=1e-6)


def test_a_display_stays_on_its_board_while_the_window_stays_where_it_was_cut() -> None:
    shop = hive_shop()
    plan = shop.scene
    board, shown = plan.placed["display_board"].pose, plan.placed["readout"].pose
    there = board.inside(shown.origin)
    offs = []
    for copy in copies(shop, 200):
        now = copy.placed["display_board"].pose.inside(copy.placed["readout"].pose.origin)
        assert now[:2] == pytest.approx(there[:2], abs=0.8)  # the board's own sawn edges
        module = next(b for b in copy.bodies if b.owner == "readout")
        slab = next(b for b in copy.bodies if b.id == ("display_board", "slab"))
        assert _apart_along_z(slab.pose, module.pose) == pytest.approx(
            _apart_along_z(
                next(b for b in plan.bodies if b.id == ("display_board", "slab")).pose,
                next(b for b in plan.bodies if b.owner == "readout").pose,
            ),
            abs=0.3,
        )
        window = next(o for o in copy.openings if o.role is Role.WINDOW)
        across, up, _ = copy.faces[window.face].frame.inside(copy.placed["readout"].pose.origin)
        offs.append((across - window.across, up - window.up))
    spread = np.array(offs).std(axis=0)
    # template and two filed edges against posts, board and joint holes: some 0.2 to 0.4
    assert 0.1 < float(spread[0]) < 0.5
    assert 0.1 < float(spread[1]) < 0.5


def _apart_along_z(a: Pose, b: Pose) -> float:
    d = sub(b.origin, a.origin)
    return sum(x * y for x, y in zip(d, a.z, strict=True))


def test_holes_of_one_face_share_their_template() -> None:
    """Two buttons on one face: each strays by √(m² + p² + d²), from each other by √2·√(p² + d²)."""
    shop = hive_shop()
    plan = {o.part: o for o in shop.scene.openings if o.part in ("tare", "units")}
    rows = []
    for copy in copies(shop, 400):
        made = {o.part: o for o in copy.openings if o.part in plan}
        rows.append([made[n].across - plan[n].across for n in ("tare", "units")])
    off = np.array(rows)
    hands = hand_work("careful")
    own = hole_position_error(hands) / 2
    # the box's own width moves what is placed from its edges: it adds a little
    assert float(off[:, 0].std()) == pytest.approx(own, rel=0.12)
    between = math.sqrt(2) * math.hypot(hands.punching, hands.drilling) / 2
    assert float((off[:, 0] - off[:, 1]).std()) == pytest.approx(between, rel=0.11)


def test_drilled_holes_come_out_larger_and_filed_openings_either_way() -> None:
    shop = hive_shop()
    drilled, filed = [], []
    for copy in copies(shop, 150):
        for made, planned in zip(copy.openings, shop.scene.openings, strict=True):
            if planned.cut is Cut.ROUND:
                drilled.append(made.diameter - planned.diameter)
            else:
                filed.append(made.width - planned.width)
    assert float(np.mean(drilled)) == pytest.approx(OVERSIZE / 2, abs=0.01)
    assert min(drilled) > -0.06  # a bit cuts no smaller hole than it is, but for its own size
    assert float(np.mean(filed)) == pytest.approx(0.0, abs=0.05)
    edge = hand_work("careful").filing / 2
    assert float(np.std(filed)) == pytest.approx(math.sqrt(2) * edge, rel=0.15)


def test_a_sawn_board_is_off_at_each_edge_and_a_made_one_is_not() -> None:
    shop = hive_shop()
    widths, gaps = [], []
    for copy in copies(shop, 250):
        board = next(b for b in copy.boards if b.name == "main_board")
        widths.append(float(board.board.size[0]))
        slab = next(b for b in copy.bodies if b.id == ("main_board", "slab"))
        assert isinstance(slab.shape, Block)
        gaps.append(slab.shape.dx - board.board.size[0])
    saw = hand_work("careful").sawing / 2
    assert float(np.std(widths)) == pytest.approx(math.sqrt(2) * saw, rel=0.12)
    assert max(map(abs, gaps)) < 1e-9  # solid and model tell the same size
    meter = shop_of(ROOT / "boxes" / "builds" / "meter-box.yaml")
    sizes_seen = {float(c.boards[0].board.size[0]) for c in copies(meter, 20)}
    assert sizes_seen == {100.0}


def test_a_standing_board_leans_about_its_foot_and_its_blocks_do_not() -> None:
    shop = hive_shop()
    foot = shop.scene.placed["main_board"].pose.z
    leans, lowest = [], []
    for copy in copies(shop, 200):
        pose = copy.placed["display_board"].pose
        leans.append(math.degrees(math.asin(sum(a * b for a, b in zip(pose.z, foot, strict=True)))))
        block = next(b for b in copy.bodies if b.id == ("display_board", "block"))
        assert sum(a * b for a, b in zip(block.pose.z, foot, strict=True)) == pytest.approx(0.0)
        main = copy.placed["main_board"].pose
        slabs = [b for b in copy.bodies if b.id == ("display_board", "slab")]
        lowest.append(min(_lowest(b.shape, b.pose, main) for b in slabs))  # type: ignore[arg-type]
    assert float(np.std(leans)) == pytest.approx(0.5, rel=0.15)  # ±1° is two sigma
    assert min(lowest) > -0.75  # a sawn lower edge may be long, the lean adds nothing


def _lowest(shape: Block, pose: Pose, on: Pose) -> float:
    corners = [
        pose.point((x, y, z))
        for x in (-shape.dx / 2, shape.dx / 2)
        for y in (-shape.dy / 2, shape.dy / 2)
        for z in (-shape.dz / 2, shape.dz / 2)
    ]
    return min(on.inside(c)[2] for c in corners)


# --- nothing clashes by mistake


def test_roomy_builds_stay_free_of_clashes_in_every_copy(shop: Workshop) -> None:
    """The shipped builds have 1 mm and more of air: 10 copies by careful hands must not touch."""
    for copy in copies(shop, 10, seed=11):
        touching = [
            f
            for f in inspect(copy)
            if f.rule in ("bodies", "walls", "lid", "going-in") and f.have < -1e-9
        ]
        assert touching == []


def test_a_longer_part_of_the_model_is_a_longer_body() -> None:
    """Rules read sizes from the model and from solids: a copy changes both alike."""
    shop = hive_shop()
    for copy in copies(shop, 5):
        part = copy.placed["tare"].used.part
        assert isinstance(part, BushingPart) and part.knob is not None
        knob = next(b for b in copy.bodies if b.id == ("tare", "knob"))
        assert knob.shape.height == pytest.approx(part.knob.thickness)  # type: ignore[union-attr]
        shown = copy.placed["readout"].used
        assert isinstance(shown.part, Display) and shown.window is not None
        window = next(o for o in copy.openings if o.role is Role.WINDOW)
        assert shown.window.opening == pytest.approx((window.width, window.height))


def test_one_copy_needs_no_workshop() -> None:
    scene = hive_shop().scene
    one, other = (copy_of(scene, np.random.default_rng(8)) for _ in range(2))
    assert one == other != scene


def test_a_size_that_puts_the_plan_off_balance_is_left_out_of_the_solids() -> None:
    """A board that is one hair from another row of the grid must not jump there in a copy."""
    scene = hive_shop().scene
    used = scene.build.part("main_board")
    window = scene.build.part("readout")
    assert window.at is not None and window.at.up is not None
    up = replace(window.at.up, value=Length(float(window.at.up.value), 0.3))
    parts = tuple(
        replace(u, at=replace(window.at, up=up)) if u.name == "readout" else u
        for u in scene.build.parts
    )
    from fit.geometry.assemble import assemble

    shop = Workshop(assemble(replace(scene.build, parts=parts)))
    before = scene.placed["display_board"].pose.origin
    for copy in copies(shop, 50):
        after = copy.placed["display_board"].pose.origin
        assert math.dist(before, after) < 2.0
    assert used.name in scene.placed
