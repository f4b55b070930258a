"""Gaps against pairs built so that the answer is known beforehand.

Each pair is built from two contacts. A contact is a point on a solid and a direction that leaves
the solid there squarely (a face, side or disc), or lies between the faces that meet there (edge,
rim, corner, tip). The second solid is turned so that its direction faces the first one's, and put
so that the two points lie ``g`` apart along it. Then

- ``g >= 0``: the plane halfway parts the two and the two points are ``g`` apart, so ``g`` is their
  distance, whatever the contacts are;
- ``g < 0`` and a flat or round side of one of the two lies ``-g`` over the other's point, with at
  least as much room to all its other faces: a ball of radius ``-g`` about that point lies in the
  solid, so no move shorter than ``-g`` can free it, and the move along the direction does;
- ``g < 0`` and two crossing edges: the same with a ball in the pyramid over the parallelogram
  that the two edges sweep, which lies in the difference of the two solids.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context

import pytest

from fit.geometry.distance import TOUCHING, gap
from fit.geometry.frames import Pose, Vec, add, cross, dot, norm, scale, sub, unit
from fit.geometry.shapes import Block, Cone, Cylinder, Prism, Shape

GAPS = (0.0, 1e-9, 1e-8, 2e-7, 1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.1, 0.5)
FLAT_KINDS = ("end", "side", "edge", "corner")
ROUND_KINDS = ("disc", "side", "rim")
Known = tuple[Shape, Pose, Shape, Pose, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """A point of a solid, a direction out of it, in its own frame, and what kind of place it is.

    ``run``: along an edge, its direction, and how far it runs to the nearer end, mm.
    """

    kind: str
    point: Vec
    out: Vec
    run: tuple[Vec, float] | None = None


def size(rng: random.Random) -> float:
    """0.5 … 200 mm, small ones as likely as large ones."""
    return math.exp(rng.uniform(math.log(0.5), math.log(200.0)))


def some_shape(rng: random.Random) -> Shape:
    """A solid of a random kind and size; now and then a board or a pin, or a pointed cone."""
    kind = rng.randrange(6)
    if kind == 0:
        return Block(size(rng), size(rng), size(rng))
    if kind == 1:
        return Cylinder(size(rng) / 2, size(rng))
    if kind == 2:
        low, high = size(rng) / 2, size(rng) / 2
        return Cone(low, 0.0 if rng.random() < 0.2 else high, size(rng))
    if kind == 3:
        usual = (Block(120, 80, 1.6), Cylinder(1, 10), Cylinder(1.5, 30), Cone(3, 1.5, 2))
        return usual[rng.randrange(4)]
    return some_prism(rng)


def some_prism(rng: random.Random) -> Prism:
    """Corners on an ellipse, so that the outline is convex; no two nearer than 0.15 rad."""
    count = rng.randint(3, 12)
    step, start = 2 * math.pi / count, rng.uniform(0, 6)
    turns = [start + (i + rng.uniform(0, 1 - 0.15 / step)) * step for i in range(count)]
    rx, ry = size(rng) / 2, size(rng) / 2
    return Prism(tuple((rx * math.cos(t), ry * math.sin(t)) for t in turns), size(rng))


def contact(shape: Shape, rng: random.Random) -> Contact:
    """A random contact of a solid."""
    if isinstance(shape, Cylinder):
        return _round_contact(shape.radius, shape.radius, shape.height, rng)
    if isinstance(shape, Cone):
        return _round_contact(shape.radius_low, shape.radius_high, shape.height, rng)
    return _flat_contact(shape, rng)


def _round_contact(low: float, high: float, height: float, rng: random.Random) -> Contact:
    turn, top = rng.uniform(0, 2 * math.pi), rng.random() < 0.5
    cos, sin = math.cos(turn), math.sin(turn)
    lean = (low - high) / math.hypot(height, low - high)
    side: Vec = (math.sqrt(1 - lean**2) * cos, math.sqrt(1 - lean**2) * sin, lean)
    end: Vec = (0.0, 0.0, 1.0 if top else -1.0)
    radius, z = (high, height / 2) if top else (low, -height / 2)
    kind = rng.choice(["disc", "side", "rim"])
    if kind == "disc" and radius > 0:
        r = radius * rng.random()
        return Contact(kind="disc", point=(r * cos, r * sin, z), out=end)
    if kind == "side":
        share = rng.random()
        r = low + (high - low) * share
        return Contact(kind="side", point=(r * cos, r * sin, (share - 0.5) * height), out=side)
    share = rng.random()
    if radius == 0:
        # the tip: anything between the axis and any of the side's normals
        return Contact(kind="tip", point=(0.0, 0.0, z), out=unit(_between(end, side, share)))
    return Contact(
        kind="rim", point=(radius * cos, radius * sin, z), out=unit(_between(end, side, share))
    )


def _flat_contact(shape: Block | Prism, rng: random.Random) -> Contact:
    if isinstance(shape, Block):
        x, y, half = shape.dx / 2, shape.dy / 2, shape.dz / 2
        outline: tuple[tuple[float, float], ...] = ((-x, -y), (x, -y), (x, y), (-x, y))
    else:
        outline, half = shape.outline, shape.height / 2
    i = rng.randrange(len(outline))
    p, q, o = outline[i], outline[(i + 1) % len(outline)], outline[i - 1]
    top = half if rng.random() < 0.5 else -half
    end: Vec = (0.0, 0.0, math.copysign(1.0, top))
    side, other = _side(p, q), _side(o, p)
    low: Vec = (p[0], p[1], top)
    share, again = rng.random(), rng.random()
    length = math.hypot(q[0] - p[0], q[1] - p[1])
    on_edge: Vec = (p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share, top)
    kind = rng.choice(["end", "side", "edge", "upright", "corner"])
    if kind == "end":
        j = rng.randrange(len(outline))
        at = tuple(again * on_edge[k] + (1 - again) * outline[j][k] for k in (0, 1))
        return Contact(kind="end", point=(at[0], at[1], top), out=end)
    if kind == "side":
        return Contact(kind="side", point=(on_edge[0], on_edge[1], top * again), out=side)
    if kind == "edge":
        run = unit((q[0] - p[0], q[1] - p[1], 0.0)), length * min(share, 1 - share)
        out = unit(_between(end, side, again))
        return Contact(kind="edge", point=on_edge, out=out, run=run)
    if kind == "upright":
        run = (0.0, 0.0, 1.0), half * (1 - share)
        out = unit(_between(other, side, again))
        return Contact(kind="edge", point=(p[0], p[1], top * share), out=out, run=run)
    out = unit(_between(_between(other, side, again), end, share))
    return Contact(kind="corner", point=low, out=out)


def _side(p: tuple[float, float], q: tuple[float, float]) -> Vec:
    return unit((q[1] - p[1], p[0] - q[0], 0.0))


def _between(a: Vec, b: Vec, share: float) -> Vec:
    return add(scale(a, share), scale(b, 1 - share))


def some_pose(rng: random.Random) -> Pose:
    """Upright half of the time (quarter turns about random axes), else turned at random."""
    at: Vec = (rng.uniform(-100, 100), rng.uniform(-100, 100), rng.uniform(-100, 100))
    if rng.random() < 0.5:
        names: list[Vec] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
        x, y = (scale(n, rng.choice((1.0, -1.0))) for n in rng.sample(names, 2))
        return Pose(at, x, y, cross(x, y))
    return _frame(at, some_direction(rng), rng.uniform(0, 360))


def some_direction(rng: random.Random) -> Vec:
    return unit((rng.gauss(0, 1), rng.gauss(0, 1), rng.gauss(0, 1)))


def _frame(at: Vec, z: Vec, degrees: float) -> Pose:
    """A frame with a given z axis, turned about it."""
    k = min(range(3), key=lambda i: abs(z[i]))
    x = unit(cross(z, (float(k == 0), float(k == 1), float(k == 2))))
    return Pose(at, x, cross(z, x), z).turned(degrees)


def facing(a: Shape, at_a: Contact, b: Shape, at_b: Contact, g: float, rng: random.Random) -> Known:
    """Both solids, posed so that the contacts face each other over the gap ``g``."""
    pose_a = some_pose(rng)
    out = pose_a.direction(at_a.out)
    # b's frame from two frames along the contacts' directions, one turned on the other
    spin = rng.choice([0.0, 90.0, rng.uniform(0, 360)])
    own, there = (
        _frame((0.0, 0.0, 0.0), at_b.out, 0.0),
        _frame((0.0, 0.0, 0.0), scale(out, -1.0), spin),
    )
    turned = [there.direction(own.inside(d)) for d in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))]
    x = unit(turned[0])
    y = unit(sub(turned[1], scale(x, dot(x, turned[1]))))
    frame = Pose((0.0, 0.0, 0.0), x, y, cross(x, y))
    meet = add(pose_a.point(at_a.point), scale(out, g))
    return a, pose_a, b, frame.moved(sub(meet, frame.point(at_b.point))), g


def room(shape: Shape, p: Vec) -> float:
    """How far a point in the shape's frame lies inside its nearest face (below 0: outside)."""
    if isinstance(shape, Block):
        return min(shape.dx / 2 - abs(p[0]), shape.dy / 2 - abs(p[1]), shape.dz / 2 - abs(p[2]))
    inside = shape.height / 2 - abs(p[2])
    if isinstance(shape, Cylinder):
        return min(inside, shape.radius - math.hypot(p[0], p[1]))
    if isinstance(shape, Cone):
        slope = shape.radius_high - shape.radius_low
        there = (shape.radius_low + shape.radius_high) / 2 + slope * p[2] / shape.height
        away = (there - math.hypot(p[0], p[1])) * shape.height / math.hypot(shape.height, slope)
        return min(inside, away)
    for a, b in zip(shape.outline, shape.outline[1:] + shape.outline[:1], strict=True):
        n = _side(a, b)
        inside = min(inside, n[0] * (a[0] - p[0]) + n[1] * (a[1] - p[1]))
    return inside


def holds_ball(known: Known, at_a: Contact, at_b: Contact) -> bool:
    """Whether the depth of an overlapping pair is proved to be ``-g`` (module docstring)."""
    a, pose_a, b, pose_b, g = known
    meet_a, meet_b = pose_a.point(at_a.point), pose_b.point(at_b.point)
    if at_a.kind in ("end", "side", "disc") and room(a, pose_a.inside(meet_b)) >= -g * (1 - 1e-9):
        return True
    if at_b.kind in ("end", "side", "disc") and room(b, pose_b.inside(meet_a)) >= -g * (1 - 1e-9):
        return True
    if at_a.run is None or at_b.run is None:
        return False
    return _pyramid_room(known, at_a, at_b) >= -g


def _pyramid_room(known: Known, at_a: Contact, at_b: Contact) -> float:
    """Room round the origin in the pyramid over two crossing edges' parallelogram."""
    _, pose_a, _, pose_b, _ = known
    assert at_a.run is not None and at_b.run is not None
    along_a, along_b = pose_a.direction(at_a.run[0]), pose_b.direction(at_b.run[0])
    if norm(cross(along_a, along_b)) < 0.05:
        return -1.0
    base = sub(pose_b.point(at_b.point), pose_a.point(at_a.point))
    tip = sub(pose_b.origin, pose_a.origin)
    u, v = scale(along_a, at_a.run[1]), scale(along_b, at_b.run[1])
    corners = [
        add(base, add(scale(u, i), scale(v, j))) for i, j in ((1, 1), (1, -1), (-1, -1), (-1, 1))
    ]
    least = math.inf
    for i in range(4):
        p, q = corners[i], corners[(i + 1) % 4]
        normal = cross(sub(q, p), sub(tip, p))
        if norm(normal) < 1e-9:
            return -1.0
        inward = math.copysign(1.0, dot(normal, sub(base, p)))
        least = min(least, -dot(normal, p) * inward / norm(normal))
    return least


def known_pair(shapes: list[Shape], rng: random.Random) -> tuple[str, Known]:
    """A pair whose gap is known, and the name of its two contacts."""
    while True:
        a, b = rng.choice(shapes), rng.choice(shapes)
        at_a, at_b = contact(a, rng), contact(b, rng)
        g = rng.choice(GAPS) if rng.random() < 0.6 else -rng.choice((*GAPS, 1.0, 5.0))
        known = facing(a, at_a, b, at_b, g, rng)
        if g >= 0 or holds_ball(known, at_a, at_b):
            sign = "free" if g > 0 else "touching" if g == 0 else "overlapping"
            return f"{type(a).__name__} {at_a.kind}, {type(b).__name__} {at_b.kind}, {sign}", known


def fault(known: Known) -> str | None:
    """What is wrong with the gap of a pair, or None."""
    a, pose_a, b, pose_b, g = known
    got = gap(a, pose_a, b, pose_b)
    apart = norm(sub(got.near_a, got.near_b))
    if abs(g) <= 0.99 * TOUCHING and got.mm != 0.0:
        return f"should touch at {g}, got {got.mm}"
    if abs(g) >= 1.01 * TOUCHING and (got.mm == 0.0 or (got.mm > 0.0) != (g > 0.0)):
        return f"wrong sign at {g}, got {got.mm}"
    if abs(got.mm - g) > 1e-4:
        return f"should be {g}, got {got.mm}"
    if abs(apart - abs(g)) > 2e-3:
        return f"should be {g}, got points {apart} apart"
    return None


def run(job: tuple[int, int]) -> tuple[Counter[str], list[str]]:
    """Measure ``count`` pairs from one seed: how many of each kind, and what went wrong."""
    seed, count = job
    rng = random.Random(seed)
    shapes = [some_shape(rng) for _ in range(300)]
    kinds: Counter[str] = Counter()
    faults: list[str] = []
    for i in range(count):
        kind, known = known_pair(shapes, rng)
        kinds[kind] += 1
        wrong = fault(known)
        if wrong is not None:
            faults.append(f"seed {seed}, pair {i}, {kind}: {wrong}: {known}")
    return kinds, faults


def run_all(first_seed: int, jobs: int, share: int) -> tuple[Counter[str], list[str]]:
    """Measure ``jobs`` times ``share`` pairs in processes. Should one die, this raises."""
    kinds: Counter[str] = Counter()
    faults: list[str] = []
    work = [(seed, share) for seed in range(first_seed, first_seed + jobs)]
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        for some_kinds, some_faults in pool.map(run, work):
            kinds += some_kinds
            faults += some_faults
    return kinds, faults


def check(kinds: Counter[str], faults: list[str], count: int) -> None:
    """No fault, and every kind of contact was there, free, touching and overlapping."""
    assert not faults, f"{len(faults)} of {count}:\n" + "\n".join(faults[:5])
    assert kinds.total() == count
    seen: Counter[tuple[str, str]] = Counter()
    for kind, times in kinds.items():
        *two, sign = kind.split(", ")
        for place in two:
            seen[place, sign] += times
    places = [f"{shape} {kind}" for shape in ("Block", "Prism") for kind in FLAT_KINDS]
    places += [f"{shape} {kind}" for shape in ("Cylinder", "Cone") for kind in ROUND_KINDS]
    for place in [*places, "Cone tip"]:
        for sign in ("free", "touching", "overlapping"):
            assert seen[place, sign] >= count / 5000, (place, sign)


def test_eight_thousand_pairs_of_known_gap() -> None:
    check(*run_all(0, 2, 4_000), 8_000)


@pytest.mark.slow
def test_a_million_pairs_of_known_gap() -> None:
    check(*run_all(100, 200, 5_000), 1_000_000)


def test_a_wrong_gap_would_be_seen() -> None:
    """The check itself: the same pairs with another gap written beside them all fail."""
    rng = random.Random(4)
    shapes = [some_shape(rng) for _ in range(50)]
    for _ in range(100):
        a, pose_a, b, pose_b, g = known_pair(shapes, rng)[1]
        assert fault((a, pose_a, b, pose_b, g + 2e-3)) is not None
        assert fault((a, pose_a, b, pose_b, g - 2e-3)) is not None


def test_very_flat_cones_side_on_side() -> None:
    """Two half a millimetre high and a hand wide, axes all but parallel: one pair in a million."""
    a = Cone(radius_low=48.25497403185872, radius_high=0.0, height=0.5286488537527299)
    pose_a = Pose(
        origin=(-18.12724124770682, -4.734385745924769, 44.29135902038993),
        x=(-0.27174359973417744, 0.18029162652754807, 0.9453308126828206),
        y=(0.4346521784775097, 0.8993927082127188, -0.0465858364585889),
        z=(-0.8586226760039978, 0.398230694218618, -0.32276836033584727),
    )
    b = Cone(radius_low=74.48525357991248, radius_high=0.787772400948557, height=0.6432064828933697)
    pose_b = Pose(
        origin=(-23.7545674615719, 24.317587805587458, 95.21365873966866),
        x=(0.47860122807923716, 0.3905683678151604, -0.7863823589979926),
        y=(0.1899294510812253, 0.8283630052620791, 0.5270118927739312),
        z=(0.8572442289645529, -0.40158570887841455, 0.3222751159050151),
    )
    assert fault((a, pose_a, b, pose_b, 1e-9)) is None
