"""Material left standing: between openings, to the edges of their face, to posts behind them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise

from fit.check.cuts import (
    NEAR,
    RIM,
    behind,
    called,
    edge_name,
    edge_words,
    reach_along,
    stray,
    up_to_tenth,
)
from fit.check.measure import edge_web, gap_between, prepare
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import Solid, things
from fit.findings import Finding
from fit.geometry import outlines
from fit.geometry.box import Face
from fit.geometry.distance import box_gap
from fit.geometry.old_holes import Meets, meets
from fit.geometry.scene import Body, Cut, Opening, Role
from fit.model.part import Board
from fit.model.words import FaceName, Half
from fit.trade.clearances import WEB_SHARE, vent_web, web, window_to_post
from fit.trade.hands import between_features
from fit.units import show

_SAME = 1e-9

_SAW_REACH = 15.0
"""How deep behind a window a saw or file works, mm (common practice, no source)."""

_BREAKTHROUGH = 3.0
"""How deep behind a wall a bit comes out, mm (common practice, no source)."""


def _fixed_by_its_part(look: Inspection, a: Opening, b: Opening) -> bool:
    """Whether two openings lie where one part's maker wants them, so that no web can be chosen."""
    if a.part != b.part or {Role.WINDOW, Role.VENT} & {a.role, b.role}:
        return False
    return not isinstance(look.scene.build.part(a.part).part, Board)


def _doubt(look: Inspection, face: FaceName) -> float:
    """How far the needed web may be off because the wall's thickness is uncertain, mm."""
    thickness = look.tray.thickness(face)
    return WEB_SHARE * thickness.plus_minus if web(thickness) > web(1e-3) else 0.0


def check_webs(look: Inspection) -> Iterator[Finding]:
    """Material left between two openings of one face.

    Looks at: every two openings of a face that lie near each other, and each cut beside the holes
    the box has already, knock-outs among them. Openings that one part's maker sets (a socket's
    screw holes beside its cut-out, a tab hole) must only not run into each other. One that a hole
    of the box provides counts as a cut: its nut pulls at the web all the same.

    Hurts: a narrow web cracks while the second hole is drilled, or later when a nut is pulled
    tight; a bit also wanders into the hole that is already there.

    Formula: web ≥ max(1.5·t, 3), t the wall's thickness; between the holes of one grille, where
    nothing is tightened, web ≥ max(t, 1.5). A moulder's 1.5 hole diameters is for
    holes that are moulded, where the plastic must flow together; it is not asked of drilled ones.

    Source: 1.5 t from a moulder's page on holes; never below 3 by hand: common practice, no
    source. t is the usual least bar of perforated sheet (makers' guidance, from memory).

    Example: two 12 mm holes in a 2.5 mm wall, centres 15 apart, leave 3.0; max(3.75, 3) is
    needed, so they must be 0.75 further apart.

    Repairs: move one of the two by what is missing; put one on another face; use a smaller part.
    """
    nearest: dict[tuple[str, str, Role, Role], Finding] = {}
    reach = {id(o): _round(o) for o in look.scene.openings}
    most = {name: _most(look, face) for name, face in look.scene.faces.items()}
    for a, b in combinations(look.scene.openings, 2):
        if a.face is not b.face:
            continue
        apart = math.hypot(a.across - b.across, a.up - b.up) - reach[id(a)] - reach[id(b)]
        found = _web(look, a, b) if apart <= most[a.face] else None
        if found is None:
            continue
        # Of several alike (four screw holes beside a window) the least is told.
        key = (a.part, b.part, a.role, b.role)
        if key not in nearest or found.margin < nearest[key].margin - _SAME:
            nearest[key] = found
    yield from nearest.values()
    yield from _beside_old_holes(look)


def _beside_old_holes(look: Inspection) -> Iterator[Finding]:
    """The least web each part's cuts leave to each hole the box has already."""
    least: dict[tuple[str, str], Finding] = {}
    for hole in look.scene.there:
        face = look.scene.faces[hole.opening.face]
        for cut in look.scene.to_cut:
            used = look.scene.build.part(cut.part)
            if cut.face is not face.name or meets(cut, used, hole, face) is not Meets.APART:
                continue
            have, need = (
                outlines.web(cut, hole.opening, face),
                look.need("webs", web(face.thickness)),
            )
            if have - need > NEAR:
                continue
            doubt = 0.0 if look.overridden("webs") else _doubt(look, face.name)
            found = look.finding(
                "webs",
                (cut.part, f"hole {hole.name}"),
                have=have,
                need=need,
                spread=spread_of(stray(cut, look.hands), hole.doubt, doubt),
                say=_web_words(cut, hole.opening, have, need, face),
                mend=f"move {cut.part} {show(up_to_tenth(need - have), 1)} mm further from hole "
                f"{hole.name}, or right onto it"
                if have < need
                else f"drill {cut.part} with a small pilot: a bit wanders towards a hole",
            )
            key = (cut.part, hole.name)
            if key not in least or found.margin < least[key].margin - _SAME:
                least[key] = found
    yield from least.values()


def _web(look: Inspection, a: Opening, b: Opening) -> Finding | None:
    """The web between two openings of one face; None when they are far apart."""
    face = look.scene.faces[a.face]
    own = _fixed_by_its_part(look, a, b)
    grille = a.role is b.role is Role.VENT and a.part == b.part
    usual = vent_web if grille else web
    need = 0.0 if own else look.need("webs", usual(face.thickness))
    have = outlines.web(a, b, face)
    if have - need > NEAR:
        return None
    doubt = 0.0 if own or look.overridden("webs") else _doubt(look, a.face)
    strays = spread_of(stray(a, look.hands), stray(b, look.hands))
    if grille and a.drilled:
        # Marked from one sheet, laid once: its laying moves them alike.
        strays = between_features(spread_of(look.hands.punching, look.hands.drilling))
    return look.finding(
        "webs",
        (a.part,) if a.part == b.part else (a.part, b.part),
        have=have,
        need=need,
        spread=spread_of(strays, doubt),
        say=_web_words(a, b, have, need, face),
        mend=_web_mend(a, b, need - have, own),
    )


def _most(look: Inspection, face: Face) -> float:
    """The widest web on a face that is worth a finding, mm."""
    return look.need("webs", max(web(face.thickness), vent_web(face.thickness))) + NEAR


def _round(opening: Opening) -> float:
    """Radius of a circle about an opening's middle that holds it, mm; none holds a rim's slot."""
    if opening.cut is Cut.RIM_SLOT:
        return math.inf
    key = opening.height if opening.cut is Cut.KEYED else 0.0
    drilled = opening.diameter / 2 + key
    return drilled if opening.drilled else math.hypot(opening.width, opening.height) / 2


def _web_words(a: Opening, b: Opening, have: float, need: float, face: Face) -> str:
    alike = a.part == b.part and called(a) == called(b)
    pair = f"The {called(a)} and the {called(b)}"
    if alike:
        pair = f"Two {called(a).replace(' of ', 's of ', 1)}"
    if have <= 0:
        return f"{pair} run into each other on the {face.name} by {show(-have)} mm."
    left = f"{pair} leave {show(have)} mm of the {face.name} between them"
    if need == 0:
        return f"{left}, as the part wants it."
    return f"{left}; {show(need)} is needed in a {show(face.thickness)} mm wall."


def _web_mend(a: Opening, b: Opening, short: float, own: bool) -> str:
    if own:
        return f"drill the smaller one first and check it against {a.part} itself"
    if short <= 0:
        return f"punch both centres before drilling, and drill {a.part} with a small pilot"
    mover = "one of its holes" if a.part == b.part else a.part
    away = "the other" if a.part == b.part else b.part
    return f"move {mover} {show(up_to_tenth(short), 1)} mm further from {away}"


def check_edges(look: Inspection) -> Iterator[Finding]:
    """Material left between an opening and the edges of its face.

    Looks at: each opening and the nearest edge: the rim, the corners to the next walls, the
    floor; and the flat part of the face, which ends where the rounded corners begin.

    Hurts: a thin bridge below the rim breaks out; a hole that runs into a rounded corner or into
    the floor behind it cannot take a nut, and the bit slides off.

    Formula: to the edges of the face ≥ max(1.5·t, 3); inside the flat part ≥ 0; a window to the
    rim ≥ max(1.5·t, 5, height of the lid's lip), t the wall's thickness.

    Source: 1.5 t from a moulder's page on holes; 3 and 5 by hand: common practice, no source.

    Example: a 12 mm hole with its centre 8 below the rim of a 2 mm wall leaves 2.0 where 3.0 is
    needed.

    Repairs: move the part away from the edge; cut it open to the rim on purpose as a slot.
    """
    least: dict[tuple[str, Role, str], Finding] = {}
    for opening in look.scene.openings:
        face = look.scene.faces[opening.face]
        have, need, edge = _nearest_edge(look, opening, face)
        if have - need > NEAR:
            continue
        found = _edge_finding(look, opening, have, need, edge)
        key = (opening.part, opening.role, edge)
        if key not in least or found.margin < least[key].margin - _SAME:
            least[key] = found
    yield from least.values()


def _edge_finding(
    look: Inspection, opening: Opening, have: float, need: float, edge: str
) -> Finding:
    doubt = 0.0 if look.overridden("edges") or need == 0 else _doubt(look, opening.face)
    short = up_to_tenth(need - have)
    which, face, beyond = called(opening), opening.face, edge_words(edge)
    if need:
        stays = f"stays {show(have)} mm from {beyond}"
        if have < 0:
            stays = f"runs {show(-have)} mm past {beyond}"
        say = f"The {which} on the {face} {stays}; {show(need)} is needed."
    elif have >= 0:
        say = f"The {which} on the {face} ends {show(have)} mm before the rounding of {beyond}."
    else:
        say = f"The {which} on the {face} runs {show(-have)} mm into the rounding of {beyond}."
    return look.finding(
        "edges",
        (opening.part, edge),
        have=have,
        need=need,
        spread=spread_of(stray(opening, look.hands), doubt),
        say=say,
        mend=f"move {opening.part} {show(short, 1)} mm away from {beyond}"
        if short > 0
        else f"measure {opening.part} from {beyond} itself before drilling",
    )


def _nearest_edge(look: Inspection, opening: Opening, face: Face) -> tuple[float, float, str]:
    """Have, need and name of the edge with the least margin."""
    found: list[tuple[float, float, str]] = []
    window = opening.role is Role.WINDOW
    for nx, ny, reach in _sides(face):
        edge = edge_name(face, nx, ny)
        if edge == RIM and opening.cut is Cut.RIM_SLOT:
            continue
        need = edge_need(look, face, window_at_rim=window and edge == RIM)
        found.append((reach - reach_along(opening, nx, ny), need, edge))
    nearest = min(found, key=lambda f: f[0])[2]
    found.append((edge_web(opening, face), 0.0, nearest))
    return min(found, key=lambda f: f[0] - f[1])


def edge_need(look: Inspection, face: Face, *, window_at_rim: bool) -> float:
    """The material an opening leaves to an edge of its face, mm; below a lip a window more."""
    usual = web(face.thickness)
    if window_at_rim:
        lip = look.tray.lid.lip
        usual = max(usual, window_to_post(), float(lip.height) if lip else 0.0)
    return look.need("edges", usual)


def _sides(face: Face) -> Iterator[tuple[float, float, float]]:
    """Outward unit normal and reach of each side of the face's outline."""
    for (ax, ay), (bx, by) in pairwise((*face.outline, face.outline[0])):
        length = math.hypot(bx - ax, by - ay)
        nx, ny = (by - ay) / length, (ax - bx) / length
        yield nx, ny, nx * ax + ny * ay


def depth_behind(opening: Opening) -> float:
    """How deep behind an opening's wall its tool comes out, mm."""
    return _SAW_REACH if opening.role is Role.WINDOW else _BREAKTHROUGH


def check_posts_behind(look: Inspection) -> Iterator[Finding]:
    """Moulded posts and ribs beside or behind an opening.

    Looks at: the space straight behind each opening, as deep as the tool comes (a bit 3 mm, a
    window's saw and file 15 mm), and the posts and ribs of that half of the box. One that a hole of
    the box provides counts as a cut (safe side).

    Hurts: the bit bites into a rib and throws the hole off; a saw cannot pass a post; a post
    shows in the window.

    Formula: window to post or rib ≥ 5; any other opening ≥ 0.

    Source: common practice, no source.

    Example: a window whose corner lies 3 from a post needs 2 more.

    Repairs: move the opening; pare the rib away there (a post that holds nothing, too).
    """
    least: dict[tuple[str, Role, str], Finding] = {}
    for opening in look.scene.openings:
        window = opening.role is Role.WINDOW
        need = look.need("posts-behind", window_to_post() if window else 0.0)
        face = look.scene.faces[opening.face]
        space = prepare(*behind(opening, face, depth_behind(opening)))
        for post in _moulded(look, face.name):
            if box_gap(space.box, post.ready.box) - need > NEAR:
                continue
            have = gap_between(space, post.ready).mm
            if have - need > NEAR:
                continue
            found = _post_finding(look, opening, post.body, have, need)
            key = (opening.part, opening.role, post.label)
            if key not in least or found.margin < least[key].margin - _SAME:
                least[key] = found
    yield from least.values()


def _post_finding(
    look: Inspection, opening: Opening, body: Body, have: float, need: float
) -> Finding:
    short = up_to_tenth(need - have)
    stands = f"stands {show(have)} mm beside" if have > 0 else "stands right behind"
    return look.finding(
        "posts-behind",
        (opening.part, body.name),
        have=have,
        need=need,
        spread=stray(opening, look.hands),
        say=f"The {body.name} {stands} the {called(opening)}"
        + (f"; {show(need)} is needed to saw and file." if need else "."),
        mend=f"move {opening.part} {show(short, 1)} mm, or pare the {body.name} away there"
        if short > 0
        else f"drill {opening.part} with a small pilot and look where it comes out",
    )


def _moulded(look: Inspection, face: FaceName) -> list[Solid]:
    """Posts and ribs of the half a face belongs to; a lid's posts do not reach upright walls."""
    half = Half.LID if face is FaceName.LID else Half.BODY
    kinds = ("post ", "rib ")
    return [s for s in things(look).moulded[half] if s.label.startswith(kinds)]


webs = rule("webs", Family.WEBS)(check_webs)
edges = rule("edges", Family.WEBS)(check_edges)
posts_behind = rule("posts-behind", Family.WEBS)(check_posts_behind)
