"""Parts on, in and through a wall: their bodies and openings."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

from fit.geometry.fixing import fixing_openings
from fit.geometry.grille import grille_piece
from fit.geometry.piece import Mount, Piece
from fit.geometry.scene import Body, Cut, Opening, Role
from fit.geometry.shapes import Block, Cylinder
from fit.model.build import Used
from fit.model.part import (
    BushingPart,
    Gland,
    Grille,
    Grommet,
    Holder,
    PanelPart,
    RimSwitch,
    TapedPart,
)
from fit.model.words import Entry, Stuff
from fit.trade.drills import hole_for_bushing


def bushing_hole(part: BushingPart) -> float:
    """The hole a bushing part needs, mm: as given, or from its largest bushing diameter."""
    if part.hole is not None:
        return float(part.hole)
    return hole_for_bushing(part.bushing + part.bushing.plus_minus)


def _bushing(part: BushingPart, mount: Mount) -> Piece:
    if part.entry is Entry.OUTSIDE:
        bodies = list(_from_outside(part, mount))
    else:
        bodies = list(_from_inside(part, mount))
    if part.knob is not None:
        bodies.append(
            mount.disc("knob", part.knob.diameter, part.knob.thickness, 0.0, outside=True)
        )
    return Piece(bodies=tuple(bodies), openings=tuple(_bushing_openings(part, mount)))


def _bushing_openings(part: BushingPart, mount: Mount) -> Iterator[Opening]:
    hole = mount.hole(bushing_hole(part), Role.MOUNT)
    turn = part.anti_turn
    if turn is None:
        yield hole
        return
    if turn.flat > 0:
        cut = Cut.DOUBLE_D if turn.flats == 2 else Cut.D_FLAT
        hole = replace(hole, cut=cut, turn=mount.turn, height=float(turn.flat))
    elif turn.key is not None:
        wide, deep = (float(v) for v in turn.key)
        way = (mount.turn + turn.tab_angle - 90.0) % 360.0
        hole = replace(hole, cut=Cut.KEYED, turn=way, width=wide, height=deep)
    yield hole
    if turn.tab_hole > 0:
        at = _polar(float(turn.tab_radius), turn.tab_angle)
        yield mount.hole(float(turn.tab_hole), Role.TAB, at)


def _polar(radius: float, degrees: float) -> tuple[float, float]:
    a = math.radians(degrees)
    return radius * math.cos(a), radius * math.sin(a)


def _from_outside(part: BushingPart, mount: Mount) -> Iterator[Body]:
    """Bezel outside, nut inside; neck and hull count from the wall's outer face."""
    inner = -mount.wall
    if part.bezel is not None:
        yield mount.disc("bezel", part.bezel.diameter, part.bezel.thickness, 0.0, outside=True)
    at = inner
    if part.washer is not None:
        yield mount.disc("washer", part.washer.diameter, at, at - part.washer.thickness)
        at -= part.washer.thickness
    if part.nut is not None:
        yield mount.nut(part.nut.across_flats, at, at - part.nut.height)
    if part.neck > mount.wall:
        yield mount.disc("neck", part.bushing, inner, -part.neck)
    yield from mount.hull("body", part.hull, inner, -part.hull.depth)
    yield from _terminals(part, mount, min(inner, -float(part.hull.depth)))


def _from_inside(part: BushingPart, mount: Mount) -> Iterator[Body]:
    """Shoulder against the inside; neck comes out through the hole, nut outside."""
    shoulder = -mount.wall
    if part.inner_washer is not None:
        low = shoulder - part.inner_washer.thickness
        yield mount.disc("inner washer", part.inner_washer.diameter, shoulder, low)
        shoulder = low
    yield from mount.hull("body", part.hull, shoulder, shoulder - part.hull.depth)
    yield from _terminals(part, mount, shoulder - part.hull.depth)
    out = part.neck + shoulder
    if out > 0:
        yield mount.disc("neck", part.bushing, out, 0.0, outside=True)
    at = 0.0
    if part.washer is not None:
        yield mount.disc("washer", part.washer.diameter, part.washer.thickness, 0.0, outside=True)
        at = float(part.washer.thickness)
    if part.nut is not None:
        yield mount.nut(part.nut.across_flats, at + part.nut.height, at, outside=True)


def _terminals(part: BushingPart | PanelPart, mount: Mount, start: float) -> Iterator[Body]:
    if part.terminals is not None:
        yield from mount.hull("terminals", part.terminals, start, start - part.terminals.depth)


def _panel(part: PanelPart, mount: Mount) -> Piece:
    width, height = float(part.front[0]), float(part.front[1])
    thick = float(part.front_thickness)
    bodies = [
        mount.solid("bezel", Block(width, height, thick), thick, 0.0, outside=True),
        *mount.hull("body", part.hull, -mount.wall, -part.hull.depth),
        *_terminals(part, mount, min(-mount.wall, -float(part.hull.depth))),
    ]
    if part.clamp is not None:
        bodies += mount.hull("clamp", part.clamp, -mount.wall, -mount.wall - part.clamp.depth)
    openings = [
        mount.cutout(
            float(part.cutout[0]),
            float(part.cutout[1]),
            Role.MOUNT,
            corner_radius=float(part.corner_radius),
            plus=float(part.cutout_plus),
        )
    ]
    openings += fixing_openings(part.holes, mount)
    return Piece(bodies=tuple(bodies), openings=tuple(openings))


def _rim_switch(part: RimSwitch, mount: Mount) -> Piece:
    width, height, depth = (float(v) for v in part.body)
    slot_w, slot_d = float(part.slot[0]), float(part.slot[1])
    # The body rests on the bottom of the slot; the part's origin is the slot's middle.
    middle = (height - slot_d) / 2
    inner = -mount.wall
    bodies = []
    if depth > mount.wall:
        bodies.append(
            mount.solid(
                "body", Block(width, height, depth - mount.wall), inner, -depth, (0, middle)
            )
        )
    if part.terminals > 0:
        start = min(inner, -depth)
        size = Block(width, height, float(part.terminals))
        bodies.append(mount.solid("terminals", size, start, start - part.terminals, (0, middle)))
    lever_w, lever_h, lever_out = (float(v) for v in part.lever)
    if lever_out > 0:
        lever = Block(lever_w, lever_h, lever_out)
        bodies.append(mount.solid("lever", lever, lever_out, 0.0, (0, middle), outside=True))
    slot = mount.cutout(slot_w, slot_d, Role.MOUNT, cut=Cut.RIM_SLOT)
    return Piece(bodies=tuple(bodies), openings=(slot,))


def _taped(part: TapedPart, mount: Mount) -> Piece:
    width, height, thick = (float(v) for v in part.size)
    at = (float(part.wire_at[0]), float(part.wire_at[1]))
    bodies = [mount.solid("panel", Block(width, height, thick), thick, 0.0, outside=True)]
    if part.tail is not None:
        radius = part.tail.diameter / 2
        low = -mount.wall - part.tail.depth
        tail = Cylinder(radius, float(part.tail.depth))
        bodies.append(mount.solid("wires", tail, -mount.wall, low, at, stuff=Stuff.SOFT))
    hole = mount.hole(float(part.wire_hole), Role.WIRE, at)
    return Piece(bodies=tuple(bodies), openings=(hole,))


def _gland(part: Gland, mount: Mount) -> Piece:
    inner = -mount.wall
    bodies = [
        mount.disc("dome", part.outside.diameter, part.outside.thickness, 0.0, outside=True),
        mount.nut(part.nut.across_flats, inner, inner - part.nut.height),
    ]
    end = inner
    if part.neck > mount.wall:
        end = -float(part.neck)
        bodies.append(mount.disc("neck", part.thread, inner, end))
    bodies += _cable(float(part.cable), float(part.bend), mount, end)
    return Piece(bodies=tuple(bodies), openings=(mount.hole(float(part.hole), Role.MOUNT),))


def _cable(diameter: float, bend: float, mount: Mount, start: float) -> Iterator[Body]:
    end = -mount.wall - bend
    if end < start:
        bar = Cylinder(diameter / 2, start - end)
        yield mount.solid("cable", bar, start, end, stuff=Stuff.SOFT)


def _grommet(part: Grommet, mount: Mount) -> Piece:
    inner, thick = -mount.wall, float(part.flange.thickness)
    bodies = [
        mount.disc("flange", part.flange.diameter, thick, 0.0, outside=True),
        mount.disc("inner flange", part.flange.diameter, inner, inner - thick),
        *_cable(float(part.cable), float(part.bend), mount, inner - thick),
    ]
    return Piece(bodies=tuple(bodies), openings=(mount.hole(float(part.hole), Role.WIRE),))


def _holder(used: Used, mount: Mount) -> Piece:
    part = used.part
    assert isinstance(part, Holder)
    width, depth, height = (float(v) for v in part.size)
    inner = -mount.wall
    shape = Block(width, depth, height)
    body = mount.solid("body", shape, inner, inner - height, stuff=part.stuff)
    holes = fixing_openings(part.holes, mount, used.screws)
    return Piece(bodies=(body,), openings=tuple(holes))


_MAKERS: dict[type, Callable[[Any, Mount], Piece]] = {
    BushingPart: _bushing,
    PanelPart: _panel,
    RimSwitch: _rim_switch,
    TapedPart: _taped,
    Gland: _gland,
    Grommet: _grommet,
}

_SCREWED: dict[type, Callable[[Used, Mount], Piece]] = {Holder: _holder, Grille: grille_piece}
"""Those whose openings also depend on the screws that hold them."""


def on_wall(used: Used, mount: Mount) -> Piece:
    """Bodies and openings of a part mounted on a face (anything but boards and displays).

    Raises:
        TypeError: for a part that is not mounted on a wall by itself.
    """
    screwed = _SCREWED.get(type(used.part))
    if screwed is not None:
        return screwed(used, mount)
    maker = _MAKERS.get(type(used.part))
    if maker is None:
        raise TypeError(f"{type(used.part).__name__} is not mounted on a wall by itself")
    return maker(used.part, mount)
