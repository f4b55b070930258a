"""What must hold so that a thing goes together and works, beside the room one would like.

A rule's need is comfortable: air to spare, a web that will not crack, a window that shows all from
the side. Odds ask for less: that solids do not meet, that a thread catches, that the window shows
what is lit from straight ahead. `Limit.counts` says whether failing keeps the whole from going
together; a border that shows or buttons too close for a finger do not.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from fit.check.copies_fit import least_misfit
from fit.check.holes import post_of
from fit.check.rule import Inspection
from fit.findings import Finding
from fit.geometry.scene import Role, Scene
from fit.geometry.shapes import Point2
from fit.model.build import Build, Need
from fit.model.part import Board, Display, PanelPart
from fit.model.words import Seat, Stuff
from fit.trade.clearances import allowance
from fit.units import Length

Key = tuple[str, tuple[str, ...]]
"""A finding's rule and what it is about."""

_CATCH = 1.0
"""Thread that must show for a nut to catch, mm: a turn or two (common practice, no source)."""

PILOT = 0.8
"""A pilot in shares of its thread-forming screw's diameter, in ABS."""

Measure = Callable[[Inspection, Finding], float]
"""What is left of a finding's room before it fails, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """How odds read the findings of a rule.

    Attributes:
        left: what is left before it fails, mm, of a finding by the rule's usual need.
        counts: whether failing keeps the whole from going together.
        need: what the rule asks of a copy instead of its usual need; None: its own.
    """

    left: Measure
    counts: bool = True
    need: float | None = None


_PAIRS = (
    "bodies",
    "edges",
    "fingers",
    "going-in",
    "lid",
    "plugs",
    "posts-behind",
    "walls",
    "webs",
)
"""Rules that tell each two things apart; the others tell a part's worst, now here, now there."""


def key_of(finding: Finding) -> Key:
    """What a finding is known by from one copy to the next."""
    if finding.rule in _PAIRS:
        return (finding.rule, tuple(sorted(finding.about)))
    if finding.rule == "screw-length":
        most = finding.margin != finding.have - finding.need
        return (finding.rule, (finding.about[0], "most" if most else "least"))
    return (finding.rule, finding.about[:1])


# --- what is left


def _all(_: Inspection, found: Finding) -> float:
    """All that is there: nothing has to be kept free."""
    return found.have


def _own(_: Inspection, found: Finding) -> float:
    """By the rule's own limit."""
    return found.margin


def _catching(_: Inspection, found: Finding) -> float:
    return found.have - _CATCH


def _asking_less(rule: str, usual: float, times: float = 1.0) -> Measure:
    """A rule whose need holds a room that one would only like."""

    def left(look: Inspection, found: Finding) -> float:
        return found.margin + times * look.need(rule, usual)

    return left


def _passing(look: Inspection, found: Finding) -> float:
    """A nose in its opening where both came to be: what was added for hands is room to stray."""
    added = look.need("nose-holes", look.error)
    both_sides = found.need > added + 1e-9  # the room below a nose in a slot has one side only
    return found.margin + (2 if both_sides else 1) * added


def _head(look: Inspection, found: Finding) -> float:
    """Beside a screw: the head itself must go down."""
    screws = look.scene.placed[found.about[0]].used.screws
    return found.have - (float(screws.head.diameter) / 2 if screws is not None else 0.0)


def _in_piece(look: Inspection, found: Finding) -> float:
    """A joint's screw must be in its piece."""
    joint = look.scene.placed[found.about[0]].used.joint
    return found.have - (float(joint.screw) / 2 if joint is not None else 0.0)


def _thread_held(look: Inspection, found: Finding) -> float:
    """Half of the thread asked for still holds; of the room below a screw's end all may go."""
    used = look.scene.placed[found.about[0]].used
    if used.screws is None or found.about[1] == "nut":
        return found.margin
    post = used.on is Seat.POSTS
    if found.margin == found.have - found.need:
        return found.margin + float(used.screws.diameter) * (1.0 if post else 0.5)
    return found.margin + allowance("screw-end").mm * (1.0 if post else 0.5)


def _screws_meet(look: Inspection, found: Finding) -> float:
    """The play of a group of screws less twice what their holes are off, however it is turned."""
    name = found.about[0]
    scene = look.scene
    wall = [(o.across, o.up) for o in scene.openings if o.part == name and o.role is Role.SCREW]
    own = _own_holes(scene, name)
    if len(own) != len(wall):
        return found.have
    return found.have - 2 * least_misfit(wall, own)


def _own_holes(scene: Scene, name: str) -> list[Point2]:
    """A part's own screw holes, in the frame of its face, mm."""
    placed = scene.placed[name]
    part = placed.used.part
    assert placed.face is not None
    frame = scene.faces[placed.face].frame
    holes: list[Point2] = []
    if isinstance(part, Board):
        board = next(b for b in scene.boards if b.name == name)
        holes = [(h.x, h.y) for h in board.holes if h.purpose == "standoff"]
    elif isinstance(part, Display):
        dx, dy = float(part.offset[0]), float(part.offset[1])
        holes = [(float(h.x) - dx, float(h.y) - dy) for h in part.holes]
    elif isinstance(part, PanelPart):
        holes = [(float(h.x), float(h.y)) for h in part.holes]
    on_face = [frame.inside(placed.pose.point((x, y, 0.0))) for x, y in holes]
    return [(p[0], p[1]) for p in on_face]


def _posts_met(look: Inspection, found: Finding) -> float:
    """The least play round a board's screws into posts, the board pushed to where they go in."""
    board = next(b for b in look.scene.boards if b.name == found.about[0])
    used = look.scene.placed[board.name].used
    met = [(h, p) for h in board.holes if (p := post_of(look, h)) is not None]
    if not met:
        return found.margin
    free, wanted = [], []
    for hole, post in met:
        screw = used.screws.diameter if used.screws is not None else post.hole / PILOT
        free.append(hole.diameter - float(screw))
        x, y, _ = board.pose.inside((float(post.x), float(post.y), board.pose.origin[2]))
        wanted.append((x, y))
    own = [(hole.x, hole.y) for hole, _ in met]
    as_it_lies = min(f - 2 * math.dist(w, o) for f, w, o in zip(free, wanted, own, strict=True))
    return max(as_it_lies, min(free) - 2 * least_misfit(wanted, own))


def _shown(look: Inspection, found: Finding) -> float:
    """Window beyond what is lit, at its nearest edge, seen straight, mm."""
    return _beyond(look.scene, found.about[0], lit=True)


def _framed(look: Inspection, found: Finding) -> float:
    """What may be seen beyond the window's edge, at the nearest, mm."""
    return _beyond(look.scene, found.about[0], lit=False)


def _beyond(scene: Scene, name: str, *, lit: bool) -> float:
    placed = scene.placed[name]
    part = placed.used.part
    window = next(o for o in scene.openings if o.part == name and o.role is Role.WINDOW)
    assert isinstance(part, Display)
    assert placed.face is not None
    frame = scene.faces[placed.face].frame
    seat = frame.shifted((window.across, window.up, 0.0)).turned(placed.turn)
    size = part.active if lit else part.visible
    w, h = float(size[0]) / 2, float(size[1]) / 2
    corners = [seat.inside(placed.pose.point((x, y, 0.0))) for x in (-w, w) for y in (-h, h)]
    sides = (
        window.width / 2 - max(c[0] for c in corners),
        window.width / 2 + min(c[0] for c in corners),
        window.height / 2 - max(c[1] for c in corners),
        window.height / 2 + min(c[1] for c in corners),
    )
    return min(sides) if lit else min(-s for s in sides)


_FREE = Limit(left=_all, need=0.0)
_OWN = Limit(left=_own)

_ROOM = (
    "bodies",
    "walls",
    "lid",
    "going-in",
    "order",
    "spanner",
    "webs",
    "edges",
    "posts-behind",
    "driver",
    "step-bit",
    "plugs",
    "hole-edges",
    "notch-rows",
    "joint-carried",
    "joint-square",
    "joint-screws",
)
"""Rules that measure free room: any at all will do."""

_FIXED = (
    "place",
    "passes",
    "panel-thickness",
    "anti-turn",
    "cable-seal",
    "rim-slot",
    "display-clear",
    "button-rise",
    "button-play",
    "chuck",
    "post-pilots",
    "post-walls",
    "plug-seats",
)
"""Rules whose own limit must hold."""

LIMITS: Mapping[str, Limit] = MappingProxyType(
    {
        **dict.fromkeys(_ROOM, _FREE),
        **dict.fromkeys(_FIXED, _OWN),
        "thread": Limit(left=_catching, need=_CATCH),
        "leads": Limit(left=_asking_less("leads", 1.0)),
        "cover": Limit(left=_asking_less("cover", 0.5, 2.0)),
        "nose-holes": Limit(left=_passing, need=0.0),
        "screw-free": Limit(left=_head, need=0.0),
        "joint-holes": Limit(left=_in_piece, need=0.0),
        "screw-length": Limit(left=_thread_held),
        "post-holes": Limit(left=_posts_met),
        "screw-holes": Limit(left=_screws_meet),
        "window-view": Limit(left=_shown),
        "window-border": Limit(left=_framed, counts=False),
        "fingers": Limit(left=_all, counts=False, need=0.0),
        "battery-out": Limit(left=_all, counts=False, need=0.0),
    }
)
"""By rule."""

ADVICE: Final = (
    *("bare-holes", "board-grid", "filter", "holes-on-grid", "legends", "opened-up", "stands"),
    "warmth",
)
"""Rules that say nothing of fitting: how warm it gets, feet, where to saw, plates filed to fit,
what the label says, which holes of the box stay bare or are opened up and how."""


def limit_of(rule: str) -> Limit | None:
    """How odds read a rule's findings; None for advice, which has no odds.

    A rule that is not listed is taken by its own limit, and to count (safe side).
    """
    return LIMITS.get(rule, None if rule in ADVICE else _OWN)


def counts(key: Key) -> bool:
    """Whether a finding that fails keeps the whole from going together."""
    limit = limit_of(key[0])
    return limit is not None and limit.counts


def strict(build: Build) -> Build:
    """The build with needs cut down to what must hold, for measuring its copies."""
    kept = tuple(need for need in build.needs if need.rule not in LIMITS)
    asked = tuple(
        Need(rule=rule, value=Length(limit.need))
        for rule, limit in LIMITS.items()
        if limit.need is not None
    )
    return replace(build, needs=(*kept, *asked))


def hard_only(scene: Scene) -> Scene:
    """A scene under strict needs, without wires and tape: they give way."""
    return replace(
        scene,
        build=strict(scene.build),
        bodies=tuple(b for b in scene.bodies if b.stuff is not Stuff.SOFT),
    )
