"""All rules, in the order a person would look, and the inspection of a whole scene."""

from __future__ import annotations

from fit.check import (
    boards,
    bodies,
    buttons,
    going_in,
    holes,
    joint,
    legends,
    lid,
    noses,
    old_holes,
    order,
    panel_parts,
    panel_room,
    plugs,
    screws,
    surroundings,
    tools,
    walls,
    webs,
    windows,
)
from fit.check.rule import Inspection, Rule
from fit.findings import Finding, Grade
from fit.geometry.scene import Scene

_IN_THE_BOX: tuple[Rule, ...] = (
    bodies.bodies,
    walls.walls,
    lid.lid,
    going_in.going_in,
    order.order,
)
"""Rules about solids in the closed box and on their way into it."""

_ON_PAPER: tuple[Rule, ...] = (
    panel_parts.thread,
    panel_parts.panel_thickness,
    panel_parts.cover,
    panel_parts.passes,
    panel_parts.anti_turn,
    panel_parts.cable_seal,
    panel_room.spanner,
    panel_room.rim_slot,
    webs.webs,
    webs.edges,
    webs.posts_behind,
    old_holes.reused,
    old_holes.opened_up,
    old_holes.old_cover,
    old_holes.bare_holes,
    windows.window_view,
    windows.window_border,
    windows.filter_plate,
    windows.display_clear,
    buttons.fingers,
    legends.legends,
    noses.button_rise,
    noses.button_play,
    noses.nose_holes,
    holes.post_holes,
    holes.screw_holes,
    holes.countersinks,
    boards.board_grid,
    boards.holes_on_grid,
    boards.hole_edges,
    boards.screw_free,
    boards.notch_rows,
    boards.leads,
    joint.joint_carried,
    joint.joint_holes,
    joint.joint_square,
    joint.joint_screws,
    screws.screw_length,
    screws.post_pilots,
    screws.post_walls,
    plugs.plug_seats,
    plugs.plugs,
    tools.driver,
    tools.step_bit,
    tools.chuck,
    tools.battery_out,
    surroundings.warmth,
    surroundings.stands,
)
"""Rules about openings, parts on walls, boards, screws: what can be judged one at a time."""

RULES: tuple[Rule, ...] = (*_IN_THE_BOX, *_ON_PAPER)
"""Every rule."""

_WORST_FIRST = {Grade.CLASH: 0, Grade.TIGHT: 1, Grade.CLEAR: 2}


def inspect(scene: Scene, rules: tuple[Rule, ...] | None = None) -> tuple[Finding, ...]:
    """Inspect a scene by all rules (or the given ones): worst first, then as the rules stand."""
    return inspected(Inspection(scene), rules)


def inspected(look: Inspection, rules: tuple[Rule, ...] | None = None) -> tuple[Finding, ...]:
    """As `inspect`, for who asks more of the same inspection afterwards."""
    found = [f for r in (RULES if rules is None else rules) for f in r.check(look)]
    return tuple(sorted(found, key=lambda f: (_WORST_FIRST[f.grade],)))
