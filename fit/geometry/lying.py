"""Boards that lie: on moulded posts, or on standoffs against floor or lid."""

from __future__ import annotations

import math

from fit.findings import Problem, UnusableInput
from fit.geometry.boards import (
    SUPPORT_FREE,
    BoardPlan,
    best_shift,
    ceil_tenth,
    nearest_hole,
)
from fit.geometry.box import Face, deck
from fit.geometry.drilling import round_steps, standoff_diameter, thread_for_hole
from fit.geometry.frames import Pose, Vec
from fit.geometry.places import Spot
from fit.geometry.rects import Rect
from fit.geometry.scene import BOX, Body, Cut, DrilledHole, Opening, Role
from fit.model.box import Post, Tray
from fit.model.build import Drawer, Used
from fit.model.part import Board
from fit.model.words import BoardStock, FaceName, Half, PostUse
from fit.trade.screws import Fit273, clearance_hole

_MATCH = 1.0
"""A board hole within this many mm of a post's axis is taken to be meant for it."""

_ASSUMED_HEIGHT = 10.0
"""Standoff height when none is given, mm."""


def _facing(face: Face) -> Pose:
    """Axes of a board carried by a face: component side into the box, y as the face's up."""
    f = face.frame
    x: Vec = (-f.x[0], -f.x[1], -f.x[2])
    z: Vec = (-f.z[0], -f.z[1], -f.z[2])
    return Pose(f.origin, x, f.y, z)


def _corner(centre: Pose, board: Board) -> Pose:
    return centre.shifted((-board.size[0] / 2, -board.size[1] / 2, 0.0))


def on_standoffs(
    used: Used, board: Board, face: Face, half: Half, spot: Spot, drawer: Drawer
) -> BoardPlan:
    """A board on standoffs (or spacers) against the inside of floor or lid.

    Every mounting hole of the board gets a standoff, and a screw hole through the face.
    """
    height = float(used.standoff if used.standoff is not None else _ASSUMED_HEIGHT)
    rise = face.thickness + height + board.thickness
    centre = _facing(face).shifted((-spot.across, spot.up, rise)).turned(-used.turn)
    plan = BoardPlan(used=used, board=board, pose=_corner(centre, board), half=half, face=face.name)
    under = -float(board.thickness)
    for n, hole in enumerate(board.holes, 1):
        at = (float(hole.x), float(hole.y))
        thread = used.screws.thread if used.screws else thread_for_hole(float(hole.diameter))
        diameter = standoff_diameter(thread)
        plan.add_hole(*at, float(hole.diameter), "standoff", diameter + 2 * SUPPORT_FREE)
        plan.bodies.append(
            plan.bar(f"standoff {n}", at, diameter, under - height, under, face.name)
        )
        plan.supports.append((used.name, f"standoff {n}"))
        plan.openings.append(_screw_hole(plan, at, thread, face, drawer))
        if used.screws is not None:
            plan.bodies += _heads(plan, at, under - height - face.thickness, face.name)
    return plan


def _heads(plan: BoardPlan, at: tuple[float, float], outer: float, face: FaceName) -> list[Body]:
    assert plan.used.screws is not None
    head = plan.used.screws.head
    tall = float(head.thickness)
    return [
        plan.bar("screw head", at, head.diameter, 0.0, tall),
        plan.bar("outer screw head", at, head.diameter, outer - tall, outer, face, outside=True),
    ]


def _screw_hole(
    plan: BoardPlan, at: tuple[float, float], thread: str, face: Face, drawer: Drawer
) -> Opening:
    """The hole through floor or lid: ISO 273 medium; up to coarse does no harm."""
    across, up, _ = face.frame.inside(plan.pose.point((*at, 0.0)))
    diameter = clearance_hole(thread, Fit273.MEDIUM)
    return Opening(
        part=plan.name,
        face=face.name,
        cut=Cut.ROUND,
        role=Role.SCREW,
        across=across,
        up=up,
        diameter=diameter,
        plus=clearance_hole(thread, Fit273.COARSE) - diameter,
        steps=round_steps(drawer, diameter, face.thickness),
    )


def on_posts(used: Used, board: Board, face: Face, tray: Tray, spot: Spot | None) -> BoardPlan:
    """A board on the moulded board posts of floor or lid.

    Without a written place the board is centred on the posts, then shifted by up to half a
    pitch to where its holes (its own, or perfboard holes) meet the posts best.

    Raises:
        UnusableInput: when the box has no board posts in that half.
    """
    half = Half.LID if face.name is FaceName.LID else Half.BODY
    posts = [p for p in tray.posts if p.half is half and p.use is PostUse.BOARD]
    if not posts:
        say = f"'{used.name}' is on posts, but the {half} of '{tray.name}' has no board posts"
        raise UnusableInput(
            (Problem(used.where, say, "put it on the floor or lid with standoff:"),)
        )
    height = max(float(p.height) for p in posts)
    up = 1.0 if half is Half.BODY else -1.0
    z = deck(tray, half) + up * (height + board.thickness)
    axes = _facing(face).turned(-used.turn)
    x, y = _middle(posts)
    if spot is not None:
        x, y, _ = face.frame.point((spot.across, spot.up, 0.0))
    pose = _corner(Pose((x, y, z), axes.x, axes.y, axes.z), board)
    if spot is None:
        pose = pose.shifted((*_shift(board, pose, posts, z), 0.0))
    plan = BoardPlan(used=used, board=board, pose=pose, half=half, face=face.name)
    for post in posts:
        _meet(plan, post, z)
    _keep_own_holes(plan)
    return plan


def _middle(posts: list[Post]) -> tuple[float, float]:
    xs, ys = [float(p.x) for p in posts], [float(p.y) for p in posts]
    return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


def _shift(board: Board, pose: Pose, posts: list[Post], z: float) -> tuple[float, float]:
    """How far to move the board in its own axes so that holes meet posts, mm."""
    seats = [pose.inside((float(p.x), float(p.y), z)) for p in posts]
    if board.holes:
        return _match_holes(board, seats)
    if board.stock is BoardStock.PLAIN:
        return 0.0, 0.0
    # Moving the board by +s moves the posts by −s in the board's frame.
    return -best_shift([s[0] for s in seats]), -best_shift([s[1] for s in seats])


def _match_holes(board: Board, seats: list[Vec]) -> tuple[float, float]:
    """The move that lays most holes on posts, then with the least squares left over."""
    best: tuple[int, float, tuple[float, float]] = (0, 0.0, (0.0, 0.0))
    for hole in board.holes:
        for seat in seats:
            move = (seat[0] - hole.x, seat[1] - hole.y)
            pairs = _pairs(board, seats, move)
            n = len(pairs)
            mean = (
                sum(s[0] - h[0] for h, s in pairs) / n,
                sum(s[1] - h[1] for h, s in pairs) / n,
            )
            left = sum(math.dist((h[0] + mean[0], h[1] + mean[1]), s) ** 2 for h, s in pairs)
            best = max(best, (n, -left, mean), key=lambda b: (b[0], round(b[1], 9)))
    return best[2]


def _pairs(
    board: Board, seats: list[Vec], move: tuple[float, float]
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    pairs = []
    for hole in board.holes:
        at = (hole.x + move[0], hole.y + move[1])
        near = min(((s[0], s[1]) for s in seats), key=lambda s: math.dist(at, s))
        if math.dist(at, near) <= _MATCH:
            pairs.append(((float(hole.x), float(hole.y)), near))
    return pairs


def _meet(plan: BoardPlan, post: Post, z: float) -> None:
    """Let the board rest on one post: the hole above it, the contact, the free ring."""
    board = plan.board
    x, y, _ = plan.pose.inside((float(post.x), float(post.y), z))
    if not (0 < x < board.size[0] and 0 < y < board.size[1]):
        return
    body = (BOX, f"post {post.name}")
    plan.supports.append(body)
    plan.touching.append(((plan.name, "slab"), body))
    hole = _hole_over(plan, x, y, post)
    plan.add_hole(hole.x, hole.y, hole.diameter, hole.purpose, 0.0)
    widest = _diameter_below(post, float(board.underside))
    plan.clear_under.append(Rect.around(x, y, widest + 2 * SUPPORT_FREE))
    screws = plan.used.screws
    if screws is not None:
        head = screws.head
        plan.bodies.append(
            plan.bar("screw head", (x, y), head.diameter, 0.0, float(head.thickness))
        )


def _diameter_below(post: Post, depth: float) -> float:
    """A post's diameter that many mm from its tip: conical posts grow towards the foot, mm."""
    share = min(1.0, depth / post.height)
    return float(post.tip + (post.foot - post.tip) * share)


def _hole_over(plan: BoardPlan, x: float, y: float, post: Post) -> DrilledHole:
    """The board's own hole near the post, or the perfboard hole to open up there."""
    purpose = f"post {post.name}"
    for own in plan.board.holes:
        if math.dist((own.x, own.y), (x, y)) <= _MATCH:
            at = (float(own.x), float(own.y))
            return DrilledHole(x=at[0], y=at[1], diameter=float(own.diameter), purpose=purpose)
    screws = plan.used.screws
    # A pilot is about 0.8 of a thread-forming screw's diameter in ABS.
    shank = float(screws.diameter) if screws is not None else post.hole / 0.8
    clearance = ceil_tenth(shank + 0.4)
    if not plan.on_grid:
        return DrilledHole(x=x, y=y, diameter=clearance, purpose=purpose)
    hx, hy = nearest_hole(x), nearest_hole(y)
    diameter = ceil_tenth(clearance + 2 * math.dist((hx, hy), (x, y)))
    return DrilledHole(x=hx, y=hy, diameter=diameter, purpose=purpose)


def _keep_own_holes(plan: BoardPlan) -> None:
    made = {(h.x, h.y) for h in plan.holes}
    for own in plan.board.holes:
        at = (float(own.x), float(own.y))
        if at not in made:
            plan.add_hole(*at, float(own.diameter), "", 0.0)
