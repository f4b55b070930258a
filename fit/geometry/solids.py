"""Exact solids of a box and everything in it, and the 3D files made from them.

Walls are true planes, round openings true cylinders; a rounded upright edge is a circle drawn
along the slanted edge. Solids of one component touch or stand in one another and are not fused.
The CAD kernel behind this loads when the first solid is made, which takes over a second.
"""

from __future__ import annotations

import colorsys
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from fit.geometry.box import (
    Face,
    Level,
    ceiling,
    faces,
    floor_top,
    inside,
    lid_inside,
    lid_outside,
    outside,
)
from fit.geometry.fixtures import lip_ring, post_pose, rib_block
from fit.geometry.frames import Pose, Vec
from fit.geometry.kernel import (
    Component,
    Solid,
    arc,
    block,
    circle,
    compound,
    cut_away,
    drawn_out,
    flat,
    glb_bytes,
    line,
    loop,
    placed,
    round_bar,
    sewn,
    step_text,
    turned_round,
    wire,
)
from fit.geometry.paths import ArcSeg, Circle, LineSeg, Segment, outline
from fit.geometry.scene import BOX, Body, Opening, Scene
from fit.geometry.shapes import Block, Cone, Prism
from fit.geometry.steptext import steady
from fit.model.box import Post, Tray
from fit.model.words import FaceName, Half, LidKind

OVERCUT = 0.5
"""How far a cutting tool reaches beyond either side of its wall, mm."""


def box_solids(tray: Tray, openings: Iterable[Opening] = ()) -> tuple[Solid, Solid]:
    """Body and lid as compounds: the half itself, then its ribs, posts and lip.

    Openings are cut through their wall only, at right angles to its face; the lip, ribs and
    posts stay whole behind them.

    Raises:
        ValueError: when an opening has no size or a rib no length.
    """
    tools: dict[Half, list[Solid]] = {Half.BODY: [], Half.LID: []}
    walls = faces(tray)
    for opening in openings:
        half = Half.LID if opening.face is FaceName.LID else Half.BODY
        tools[half].append(_tool(opening, walls[opening.face]))
        if opening.sunk > 0:
            tools[half].append(_sink(opening, walls[opening.face]))
    body = [cut_away(_body_shell(tray), tools[Half.BODY])]
    lid = [cut_away(_lid_shell(tray), tools[Half.LID])]
    for rib in tray.ribs:
        bar, pose = rib_block(tray, rib)
        (lid if rib.on is FaceName.LID else body).append(placed(block(bar), pose))
    for post in tray.posts:
        (lid if post.half is Half.LID else body).append(post_solid(tray, post))
    lid.extend(_lip(tray))
    return compound(body), compound(lid)


# --- the two halves -------------------------------------------------------------------------


def _body_shell(tray: Tray) -> Solid:
    low, rim = floor_top(tray), tray.rim
    out0, out1 = outside(tray, 0.0), outside(tray, rim)
    in0, in1 = inside(tray, low), inside(tray, rim)
    return sewn(
        [
            _plate(out0, 0.0),
            *_sides(out0, 0.0, out1, rim),
            _ring(out1, in1, rim),
            *_sides(in0, low, in1, rim),
            _plate(in0, low),
        ]
    )


def _lid_shell(tray: Tray) -> Solid:
    low, top, high = tray.rim, ceiling(tray), float(tray.height)
    out0, out1 = lid_outside(tray, low), lid_outside(tray, high)
    outer = [*_sides(out0, low, out1, high), _plate(out1, high)]
    if tray.lid.kind is LidKind.FLAT:
        return sewn([_plate(out0, low), *outer])
    in0, in1 = lid_inside(tray, low), lid_inside(tray, top)
    inner = [*_sides(in0, low, in1, top), _plate(in1, top)]
    return sewn([_ring(out0, in0, low), *outer, *inner])


def _lip(tray: Tray) -> list[Solid]:
    ring = lip_ring(tray)
    if ring is None:
        return []
    return [drawn_out(_ring(ring.outer, ring.inner, ring.low), (0, 0, ring.high - ring.low))]


@dataclass(frozen=True, slots=True)
class _Corner:
    """One corner of a level section: its arc's ends and its middle point (equal when sharp)."""

    start: Vec
    middle: Vec
    end: Vec


def _corners(level: Level, z: float) -> list[_Corner]:
    r = level.radius
    found = []
    for cx, cy, begin in (
        (level.x1 - r, level.y1 - r, 0.0),
        (level.x0 + r, level.y1 - r, 90.0),
        (level.x0 + r, level.y0 + r, 180.0),
        (level.x1 - r, level.y0 + r, 270.0),
    ):
        pose = Pose((cx, cy, z)).turned(begin)
        half = r * math.sqrt(0.5)
        found.append(
            _Corner(pose.point((r, 0, 0)), pose.point((half, half, 0)), pose.point((0, r, 0)))
        )
    return found


def _level_wire(level: Level, z: float) -> Solid:
    corners = _corners(level, z)
    edges = []
    for one, following in zip(corners, [*corners[1:], corners[0]], strict=True):
        if level.radius > 0:
            edges.append(arc(one.start, one.middle, one.end))
        if math.dist(one.end, following.start) > 1e-9:
            edges.append(line(one.end, following.start))
    return wire(edges)


def _plate(level: Level, z: float) -> Solid:
    return flat([_level_wire(level, z)])


def _ring(outer: Level, inner: Level, z: float) -> Solid:
    return flat([_level_wire(outer, z), _level_wire(inner, z).Reversed()])


def _sides(low: Level, z0: float, high: Level, z1: float) -> list[Solid]:
    """The upright surfaces between two level sections: planes, and slanted corner rounds."""
    below, above = _corners(low, z0), _corners(high, z1)
    found = []
    for i in range(4):
        a, b = below[i], above[i]
        if low.radius > 0:
            slant = tuple(q - p for p, q in zip(a.start, b.start, strict=True))
            found.append(drawn_out(arc(a.start, a.middle, a.end), slant))
        c, d = below[(i + 1) % 4], above[(i + 1) % 4]
        points = [a.end, c.start, d.start, b.end]
        kept = [p for k, p in enumerate(points) if math.dist(p, points[k - 1]) > 1e-9]
        if len(kept) > 2:
            found.append(flat([loop(kept)]))
    return found


def post_solid(tray: Tray, post: Post) -> Solid:
    """A post with its screw hole, turned about its axis: true cylinders and cones."""
    middle = post_pose(tray, post).origin
    up = 1.0 if post.half is Half.BODY else -1.0
    height, hole = float(post.height), post.hole / 2
    deep = min(float(post.depth), height) if 0 < post.hole < post.tip else 0.0
    through = deep >= height
    profile = [(hole if through else 0.0, 0.0), (post.foot / 2, 0.0), (post.tip / 2, height)]
    if deep > 0:
        profile.append((hole, height))
    if not through:
        profile.extend([(hole, height - deep), (0.0, height - deep)] if deep else [(0.0, height)])
    foot = middle[2] - up * height / 2
    points = [(middle[0] + x, middle[1], foot + up * z) for x, z in profile]
    return turned_round(flat([loop(points)]), middle)


# --- openings -------------------------------------------------------------------------------


def _tool(opening: Opening, face: Face) -> Solid:
    """What an opening takes away: its outline, drawn out through the wall and a bit more."""
    path = outline(opening, face)
    segments = list(path.segments)
    if not path.closed:
        segments.extend(_over_the_rim(segments, face.thickness + 1.0))
    base = face.frame.shifted((0.0, 0.0, -face.thickness - OVERCUT))
    profile = flat([wire([_edge(s, base) for s in segments])])
    depth = face.thickness + 2 * OVERCUT
    out = base.z
    return drawn_out(profile, (out[0] * depth, out[1] * depth, out[2] * depth))


def _sink(opening: Opening, face: Face) -> Solid:
    """What a countersink of 90° takes away: a cone, drawn on a bit outside the wall."""
    r, out, deep = opening.sink / 2, OVERCUT, opening.sunk
    cone = Cone(r - deep, r + out, deep + out)
    middle = (opening.across, opening.up, (out - deep) / 2)
    return placed(round_bar(cone), face.frame.shifted(middle))


def _over_the_rim(segments: Sequence[Segment], by: float) -> list[LineSeg]:
    first, last = segments[0], segments[-1]
    if isinstance(first, Circle) or isinstance(last, Circle):
        raise ValueError("a slot open to the rim cannot be round")
    (ax, top), (bx, _) = first.start, last.end
    corners = [(bx, top), (bx, top + by), (ax, top + by), (ax, top)]
    return [LineSeg(p, q) for p, q in pairwise(corners)]


def _edge(segment: Segment, base: Pose) -> Solid:
    """A segment of an outline as an edge in the plane of a frame."""
    if isinstance(segment, LineSeg):
        return line(base.point((*segment.start, 0.0)), base.point((*segment.end, 0.0)))
    centre = base.shifted((*segment.centre, 0.0))
    if isinstance(segment, ArcSeg):
        return circle(centre, segment.radius, segment.begin, segment.finish)
    return circle(centre, segment.radius, 0.0, 360.0)


# --- bodies ---------------------------------------------------------------------------------


def body_solid(body: Body) -> Solid:
    """One convex body as an exact solid where it stands in the box frame."""
    shape = body.shape
    if isinstance(shape, Block):
        own = block(shape)
    elif isinstance(shape, Prism):
        base = loop([(x, y, -shape.height / 2) for x, y in shape.outline])
        own = drawn_out(flat([base]), (0, 0, shape.height))
    else:
        own = round_bar(shape)
    return placed(own, body.pose)


# --- the whole scene ------------------------------------------------------------------------


def scene_assembly(scene: Scene) -> tuple[Component, ...]:
    """Body, lid, then every part in the order of its first body."""
    there = (hole.opening for hole in scene.there if not hole.closed)
    body, lid = box_solids(scene.build.box, (*scene.to_cut, *there))
    found = [
        Component(name="body", colour=(0.62, 0.64, 0.66, 0.45), solid=body),
        Component(name="lid", colour=(0.80, 0.82, 0.84, 0.35), solid=lid),
    ]
    owners: dict[str, list[Solid]] = {}
    for b in scene.bodies:
        if b.owner != BOX:
            owners.setdefault(b.owner, []).append(body_solid(b))
    for i, (owner, solids) in enumerate(owners.items()):
        # Steps of the golden ratio round the colour circle keep neighbours apart.
        r, g, b_ = colorsys.hsv_to_rgb((0.08 + i * 0.618034) % 1.0, 0.55, 0.85)
        found.append(Component(name=owner, colour=(r, g, b_, 1.0), solid=compound(solids)))
    return tuple(found)


def write_step(scene: Scene, path: Path) -> None:
    """Write the scene as STEP (ISO 10303-21), mm; the same scene gives the same bytes.

    Raises:
        OSError: when the file cannot be written.
    """
    title = scene.build.name
    text = steady(step_text(title, scene_assembly(scene)), title)
    path.write_text(text, encoding="ascii", newline="\n")


def write_glb(scene: Scene, path: Path) -> None:
    """Write the scene as binary glTF 2.0 (m, y up); the same scene gives the same bytes.

    Triangles of curved surfaces lie within `kernel.MESH_ERROR` of them.

    Raises:
        OSError: when the file cannot be written.
    """
    path.write_bytes(glb_bytes(scene.build.name, scene_assembly(scene)))
