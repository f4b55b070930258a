"""Screws: long enough to hold, short enough not to bottom, and posts that bear them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fit.check.cuts import up_to_tenth
from fit.check.holes import post_of
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.findings import Finding
from fit.geometry.scene import PlacedBoard
from fit.geometry.shapes import Cylinder
from fit.model.box import Post
from fit.model.build import Used
from fit.model.part import Display, PanelPart, Screw
from fit.trade.clearances import allowance
from fit.trade.screws import Boss, boss, nut
from fit.trade.tables import UnknownName
from fit.units import Length, show

_METAL_HOLD = 1.0
"""Thread in metal, in screw diameters (common practice, no source)."""

_SMALLER = 0.1
"""How much smaller than the table's a pilot may be, mm (common practice, no source)."""

_LARGER = 0.2
"""How much larger than the table's a pilot may be, mm: 2.9 in 2.3 to 2.5 (common practice)."""

_USUAL_PLASTIC = "ABS"


def _boss(look: Inspection, diameter: float) -> Boss:
    try:
        return boss(look.tray.plastic, diameter)
    except UnknownName:  # a box plastic for which no guidance is listed
        return boss(_USUAL_PLASTIC, diameter)


def _on_posts(look: Inspection) -> Iterator[tuple[PlacedBoard, Screw, Post]]:
    """Boards screwed to posts, with each post that is under one of their holes."""
    for placed in look.scene.boards:
        screws = look.scene.placed[placed.name].used.screws
        if screws is None:
            continue
        for hole in placed.holes:
            post = post_of(look, hole)
            if post is not None:
                yield placed, screws, post


def posts_to_open(look: Inspection) -> Iterator[tuple[PlacedBoard, Screw, Post, float]]:
    """Posts with no hole, or too small a one for their screw, and the hole it wants, mm."""
    for placed, screw, post in _on_posts(look):
        usual = _boss(look, screw.diameter).hole
        if post.hole < usual - _SMALLER:
            yield placed, screw, post, usual


def check_screw_length(look: Inspection) -> Iterator[Finding]:
    """Whether screws are long enough to hold and do not bottom.

    Looks at: boards screwed to posts or standoffs, displays screwed through the wall, panel parts
    with screws: what the screw clamps, what it goes into.

    Hurts: a short screw strips its post; a long one lifts the board or bursts the post's foot;
    two screws meet inside a standoff.

    Formula: post: stack + 2·d ≤ length ≤ stack + depth − 0.5. Standoff, one screw from each end:
    each holds ≥ 1·d, together ≤ h − 0.5. Through the wall with a nut: length ≥ stack + nut.
    Stack is what is clamped, d the screw, depth the post's hole.

    Source: makers' guidance for thread-forming screws asks 2·d in ABS (more in some plastics);
    1·d in metal and 0.5 left are common practice, no source.

    Example: 2.9 through a 1.6 board into a hole 7 deep: 7.4 to 8.1 long.

    Repairs: another length; a washer under the head of a long one; drill the post deeper.
    """
    worst: dict[str, Finding] = {}
    for placed, screw, post in _on_posts(look):
        found = _into_post(look, placed, screw, post)
        if placed.name not in worst or found.margin < worst[placed.name].margin:
            worst[placed.name] = found
    yield from worst.values()
    for placed in look.scene.boards:
        used = look.scene.placed[placed.name].used
        height = standoff_height(look, placed.name)
        if used.screws is not None and height is not None:
            yield from _into_standoff(look, placed, used.screws, height)
    for name, at in look.scene.placed.items():
        if at.face is not None and at.used.screws is not None:
            yield from _through_wall(look, name, at.used, at.used.screws)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """What length a screw may have: whose and into what, from least to most, mm.

    `why_least` and `why_most` say what the limits are for; `deeper` is the repair where no
    length would do.
    """

    about: tuple[str, str]
    screw: Screw
    least: float
    why_least: str
    doubts: tuple[Length, ...]
    most: float = math.inf
    why_most: str = ""
    deeper: str = ""


def _judge(look: Inspection, fit: _Fit) -> Finding:
    """The limit with the smaller margin."""
    length = fit.screw.length
    by_most = fit.most - length <= length - fit.least
    limit, why = (fit.most, fit.why_most) if by_most else (fit.least, fit.why_least)
    margin = limit - length if by_most else length - limit
    if margin >= 0:
        mend = None
    elif fit.least > fit.most:
        mend = f"{fit.deeper}; as it is, no length is right"
    elif by_most:
        mend = f"take screws at most {show(limit)} mm long, or lay washers under their heads"
    else:
        mend = f"take screws at least {show(limit)} mm long"
    return look.finding(
        "screw-length",
        fit.about,
        have=float(length),
        need=limit,
        margin=margin,
        spread=spread_of(*(d.plus_minus for d in (*fit.doubts, length))),
        say=f"The screws of {fit.about[0]} are {show(length)} mm long; they {why} with at "
        f"{'most' if by_most else 'least'} {show(limit)}.",
        mend=mend,
    )


def _into_post(look: Inspection, placed: PlacedBoard, screw: Screw, post: Post) -> Finding:
    stack, left = placed.board.thickness, allowance("screw-end").mm
    hold = look.need("screw-length", _boss(look, screw.diameter).engagement)
    thin = screw.diameter * (post.depth - left) / hold
    fit = _Fit(
        about=(placed.name, f"post {post.name}"),
        screw=screw,
        least=stack + hold,
        why_least=f"hold in the post ({show(hold)} mm of thread)",
        most=stack + post.depth - left,
        why_most="do not bottom in the post",
        deeper=f"drill the post's hole {show(hold + left)} mm deep"
        if hold + left < post.height
        else f"take a screw at most {show(thin, 1)} mm thick",
        doubts=(stack, post.depth),
    )
    return _judge(look, fit)


def standoff_height(look: Inspection, name: str) -> float | None:
    """Height of a board's standoffs, mm; None when it has none."""
    for body in look.scene.bodies:
        if body.owner == name and body.name.startswith("standoff "):
            return body.shape.height if isinstance(body.shape, Cylinder) else None
    return None


def _into_standoff(
    look: Inspection, placed: PlacedBoard, screw: Screw, height: float
) -> Iterator[Finding]:
    board, face = placed.board.thickness, look.scene.placed[placed.name].face
    if face is None:
        return
    wall, left = look.tray.thickness(face), allowance("screw-end").mm
    hold = look.need("screw-length", _METAL_HOLD * screw.diameter)
    least = max(board, wall) + hold
    fit = _Fit(
        about=(placed.name, "standoff"),
        screw=screw,
        least=least,
        why_least=f"hold in the standoff ({show(hold)} mm of thread)",
        # Both ends take the same screw: 2·length − board − wall meet inside the standoff.
        most=(height - left + board + wall) / 2,
        why_most="do not meet inside the standoff",
        deeper=f"take standoffs {show(up_to_tenth(2 * least - board - wall + left), 1)} mm high "
        f"and screws {show(least)} mm long",
        doubts=(board, wall),
    )
    yield _judge(look, fit)


def _through_wall(look: Inspection, name: str, used: Used, screw: Screw) -> Iterator[Finding]:
    """Panel parts and displays whose screws end in a nut inside."""
    placed, part = look.scene.placed[name], used.part
    if placed.face is None:
        return
    face = look.scene.faces[placed.face]
    if isinstance(part, PanelPart) and part.holes:
        stack = part.front_thickness + face.thickness
    elif isinstance(part, Display) and part.holes:
        stack = part.thickness - face.frame.inside(placed.pose.origin)[2]
    else:
        return
    try:
        held = nut(screw.thread).height
    except UnknownName:  # no nut of that thread is listed: usually 0.8 of the diameter
        held = 0.8 * screw.diameter
    fit = _Fit(
        about=(name, "nut"),
        screw=screw,
        least=stack + held,
        why_least="reach through their nuts",
        doubts=(look.tray.thickness(placed.face),),
    )
    yield _judge(look, fit)


def check_post_pilots(look: Inspection) -> Iterator[Finding]:
    """Whether a post's hole suits the screw that cuts its own thread in it.

    Looks at: the hole of each post that takes a screw, its plastic, the screw's diameter.

    Hurts: too small a hole splits the post or shears the screw; too large a one does not hold.

    Formula: k·d − 0.1 ≤ hole ≤ k·d + 0.2; k = 0.80 in ABS, 0.85 in PC, d the screw.

    Source: makers' guidance for thread-forming screws; the tolerances are common practice, no
    source (2.9 in 2.3 to 2.5).

    Example: an M3 in a 2.1 hole in ABS: 2.3 at least.

    Repairs: open the hole with a bit turned by hand; a thinner or thicker screw.
    """
    for placed, screw, post in _worst_posts(look):
        usual = _boss(look, screw.diameter).hole
        least, most = usual - _SMALLER, usual + _LARGER
        tight = post.hole - least <= most - post.hole
        limit, short = (least, least - post.hole) if tight else (most, post.hole - most)
        if short <= 0:
            mend = "turn the first screw in slowly and back it out often"
        elif tight:
            mend = f"open the post's hole to {show(usual, 1)} mm with a bit turned by hand"
        else:
            thicker = up_to_tenth(screw.diameter * post.hole / most)
            mend = f"take a screw at least {show(thicker, 1)} mm thick"
        yield look.finding(
            "post-pilots",
            (placed.name, f"post {post.name}"),
            have=float(post.hole),
            need=limit,
            margin=-short,
            spread=spread_of(post.hole.plus_minus, screw.diameter.plus_minus),
            say=f"Post {post.name} has a {show(post.hole)} mm hole; a {show(screw.diameter)} mm "
            f"screw wants {show(least)} to {show(most)} in {look.tray.plastic}.",
            mend=mend,
        )


def check_post_walls(look: Inspection) -> Iterator[Finding]:
    """Whether a post is thick enough for its screw.

    Looks at: the free end of each post that takes a screw.

    Hurts: the screw's thread bursts a thin post.

    Formula: outside ≥ k·d; k = 2.0 in ABS, 2.5 in PC, d the screw.

    Source: makers' guidance for thread-forming screws.

    Example: a 2.9 screw wants a post of 5.8.

    Repairs: a thinner screw; slip a piece of tube over the post; open the hole a little.
    """
    for placed, screw, post in _worst_posts(look):
        need = look.need("post-walls", _boss(look, screw.diameter).outside)
        yield look.finding(
            "post-walls",
            (placed.name, f"post {post.name}"),
            have=float(post.tip),
            need=need,
            spread=spread_of(post.tip.plus_minus, screw.diameter.plus_minus),
            say=f"Post {post.name} measures {show(post.tip)} mm outside; for a "
            f"{show(screw.diameter)} mm screw in {look.tray.plastic} it should have {show(need)}.",
            mend="take a thinner screw, or slip a tight piece of tube over the post"
            if post.tip < need
            else None,
        )


def _worst_posts(look: Inspection) -> Iterator[tuple[PlacedBoard, Screw, Post]]:
    """For each board, one post of each size."""
    seen: set[tuple[str, float, float]] = set()
    for placed, screw, post in _on_posts(look):
        key = (placed.name, float(post.hole), float(post.tip))
        if key not in seen:
            seen.add(key)
            yield placed, screw, post


screw_length = rule("screw-length", Family.SCREWS)(check_screw_length)
post_pilots = rule("post-pilots", Family.SCREWS)(check_post_pilots)
post_walls = rule("post-walls", Family.SCREWS)(check_post_walls)
