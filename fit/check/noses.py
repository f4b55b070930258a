"""What looks out through a wall from a board: does it find its hole, and can it be pressed?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fit.check.cuts import called, closeness, up_to_tenth
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import capital, things, wall_doubt, wall_label, wall_words
from fit.findings import Finding
from fit.geometry.box import Face
from fit.geometry.frames import dot
from fit.geometry.noses import NEAR, nose_body, opening_of, section
from fit.geometry.scene import Cut, Opening, PlacedNose
from fit.model.part import Board
from fit.model.words import BoardEdge, NoseKind, PostUse, Seat
from fit.trade.clearances import allowance
from fit.units import Length, show


def near_wall(look: Inspection, kind: NoseKind) -> Iterator[tuple[PlacedNose, Face]]:
    """The noses of a kind that end in, behind or before a wall, and that wall."""
    for nose in look.scene.noses:
        if nose.face is None or nose.nose.kind is not kind:
            continue
        face = look.scene.faces[nose.face]
        if nose.beyond > -face.thickness - NEAR:
            yield nose, face


def check_nose_holes(look: Inspection) -> Iterator[Finding]:
    """Whether what looks out from a board finds its opening in the wall.

    Looks at: each socket or button of a board that reaches into a wall, as wide and as high as it
    passes the wall (a moulded wall leans, so a little more than it is), and its opening.

    Hurts: the holes were drilled where they should be and the sockets stand 0.5 mm beside them;
    the board does not go in, or is screwed down bent.

    Formula: opening ≥ nose + 2·e, e the error of a hole made by hand; where the two middles lie m
    apart, 2·m more. A slot open to the rim: the same across, and e below.

    Source: D ≥ d + 2·e for holes over parts of a board: common practice, no source.

    Example: a socket 9.0 × 3.2 and careful hands (e = 0.49): 10.0 × 4.2.

    Repairs: open the hole by what is missing; drill it from a scrap of board with the same hole
    pattern; cut it open to the rim (slot: true).
    """
    for nose in look.scene.noses:
        opening = opening_of(look.scene, nose)
        if opening is not None and nose.face is not None and nose.through:
            face = look.scene.faces[nose.face]
            found = [
                _hole(look, nose, opening, *size) for size in _sizes(look, nose, opening, face)
            ]
            yield min(found, key=closeness)


def _sizes(
    look: Inspection, nose: PlacedNose, opening: Opening, face: Face
) -> Iterator[tuple[str, float, float]]:
    """What is measured: in words, what the opening has, what it needs, mm."""
    at, e = section(nose.nose, nose.pose, face), look.need("nose-holes", look.error)
    dx, dy = abs(at.across - opening.across), abs(at.up - opening.up)
    if opening.cut is Cut.ROUND:
        beside = math.hypot(dx, dy)
        yield "across", opening.diameter, max(at.width, at.height) + 2 * (e + beside)
        return
    yield "wide", opening.width, at.width + 2 * (e + dx)
    if opening.cut is Cut.RIM_SLOT:
        low = opening.up - opening.height / 2
        yield "of room below", at.up - at.height / 2 - low, e
    else:
        yield "high", opening.height, at.height + 2 * (e + dy)


def _hole(
    look: Inspection, nose: PlacedNose, opening: Opening, words: str, have: float, need: float
) -> Finding:
    own = nose.nose
    short = up_to_tenth(need - have)
    what = f"The {called(opening)}"
    if words == "of room below":
        say = f"{what} leaves {show(have)} mm of room below; {show(need)} is needed."
    else:
        say = f"{what} is {show(have)} mm {words}; with {show(need)} {own.name} finds it."
    return look.finding(
        "nose-holes",
        (nose.board, own.name),
        have=have,
        need=need,
        spread=max(d.plus_minus for d in (own.diameter, own.width, own.height)),
        say=say,
        mend=f"open it by {show(short, 1)} mm"
        if short > 0
        else f"lay the board in and mark {own.name} through its pilot hole",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chain:
    """Everything between a board's button and the wall it looks out through, mm.

    Attributes:
        sizes: what uncertain sizes add up to at worst.
        hands: how far the board strays towards the wall.
    """

    sizes: float
    hands: float


def _chain(look: Inspection, nose: PlacedNose, face: Face, *own: Length) -> _Chain:
    used = look.scene.placed[nose.board].used
    board, tray = used.part, look.tray
    assert isinstance(board, Board)
    parts: list[Length] = list(own)
    if nose.nose.edge is BoardEdge.TOP:
        parts.append(board.thickness)
    if used.standoff is not None:
        parts.append(used.standoff)
    if used.on is Seat.POSTS:
        half = look.scene.placed[nose.board].half
        posts = [p.height for p in tray.posts if p.half is half and p.use is PostUse.BOARD]
        parts.append(max(posts, key=lambda h: h.plus_minus, default=Length(0.0)))
    solid = next(s for s in things(look).solids if s.body.id == (nose.board, nose_body(nose.nose)))
    out = face.frame.z
    return _Chain(
        sizes=sum(p.plus_minus for p in parts) + wall_doubt(look, face.name),
        hands=spread_of(*(s.towards(out) for s in solid.strays)),
    )


def check_button_rise(look: Inspection) -> Iterator[Finding]:
    """Whether a button on a board stands out far enough to be pressed.

    Looks at: each button of a board, and the outside of the wall it points at.

    Hurts: the button lies sunk in its hole, or is pressed flush before it clicks. Found out when
    the lid is on.

    Formula: pr = standoff + board + button − (inside height + wall); at worst, with every
    uncertain size in between against it, pr ≥ travel + 0.5.

    Source: common practice, no source.

    Example: 10 + 1.6 + 19 over a floor of 2 in a box 30 high with a lid of 2: 2 + 30.6 − 30
    gives 2.6; a travel of 0.3 asks for 0.8.

    Repairs: longer spacers; a button with a longer cap; a thinner wall there; a wider hole, so
    that a fingertip goes in.
    """
    for nose, face in near_wall(look, NoseKind.BUTTON):
        own = nose.nose
        chain = _chain(look, nose, face, own.reach)
        have = nose.beyond - chain.sizes
        need = look.need("button-rise", own.travel + allowance("proud-button").mm)
        short = up_to_tenth(need - have)
        where = f"{wall_words(face.name)}'s outside"
        say = f"Button {own.name} of {nose.board} stands {show(have)} mm out of {where} at worst"
        if have < 0:
            say = f"Button {own.name} of {nose.board} lies sunk {show(-have)} mm behind {where}"
        yield look.finding(
            "button-rise",
            (nose.board, wall_label(face.name)),
            have=have,
            need=need,
            spread=chain.hands,
            say=capital(f"{say}; {show(need)} is needed to press it."),
            mend=f"bring it {show(short, 1)} mm further out: longer spacers or a longer cap"
            if short > 0
            else "try it before the board is fixed for good",
        )


def check_button_play(look: Inspection) -> Iterator[Finding]:
    """Whether the wall presses a button on a board all by itself.

    Looks at: what of a button is wider than its hole (the switch's case, a cap's flange): the
    room between that shoulder and the wall's inside.

    Hurts: the lid is screwed down, and the button is pressed for good; or the lid bows.

    Formula: (inside height) − (standoff + board + shoulder) ≥ 0.3 at worst, with every uncertain
    size in between against it.

    Source: common practice, no source.

    Example: 28 inside, 10 + 1.6 + 16 below: 0.4 is left, but 0.1 less for a board of 1.6 ± 0.1:
    just 0.3.

    Repairs: shorter spacers; pare the wall's inside down round the hole; a cap with a thinner
    flange.
    """
    for nose, face in near_wall(look, NoseKind.BUTTON):
        own = nose.nose
        if own.shoulder <= 0:
            continue
        chain = _chain(look, nose, face, own.shoulder)
        level = face.thickness / dot(face.frame.z, nose.pose.z)
        have = own.reach - nose.beyond - level - own.shoulder - chain.sizes
        need = look.need("button-play", allowance("free-play").mm)
        short = up_to_tenth(need - have)
        say = f"stays {show(have)} mm from {wall_words(face.name)} at worst"
        if have < 0:
            say = f"is pressed {show(-have)} mm by {wall_words(face.name)} at worst"
        yield look.finding(
            "button-play",
            (nose.board, wall_label(face.name)),
            have=have,
            need=need,
            spread=chain.hands,
            say=f"The shoulder of button {own.name} of {nose.board} {say}; {show(need)} is needed.",
            mend=f"give it {show(short, 1)} mm more play: shorter spacers or a thinner flange"
            if short > 0
            else "press every button with the lid on before its screws are tight",
        )


nose_holes = rule("nose-holes", Family.HOLES)(check_nose_holes)
button_rise = rule("button-rise", Family.BUTTONS)(check_button_rise)
button_play = rule("button-play", Family.BUTTONS)(check_button_play)
