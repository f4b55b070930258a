"""Boards cut by hand: the grid, the holes, the notches, the room below."""

from __future__ import annotations

import math
from collections.abc import Iterator

from fit.check.cuts import closeness, up_to_tenth
from fit.check.fitted import titled
from fit.check.holes import FOLLOWS, post_of
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import capital
from fit.findings import Finding
from fit.geometry.drilling import standoff_diameter, thread_for_hole
from fit.geometry.rects import Rect
from fit.geometry.scene import DrilledHole, PlacedBoard
from fit.geometry.shapes import Cylinder
from fit.model.part import Board, Notch, Zone
from fit.model.words import BoardStock, Half, PostUse, Seat, Side
from fit.trade.clearances import allowance
from fit.units import PITCH, show

_BACKED = 1.5
"""Least from a joint's hole to the board's edge, mm: the block backs it (common practice, no
source)."""

_HEAD_FREE = 0.5
"""Free ring round a screw's head on a board, mm (common practice, no source)."""

_RING = 1.0
"""Free ring round a post or standoff under a board, mm (common practice, no source)."""

_LEAST_ROWS = 2
"""Rows of holes that must stay beside a notch (common practice, no source)."""

_WORDS = ("wide", "high")


def on_grid(board: Board) -> bool:
    """Whether a board has a grid of holes."""
    return board.stock is not BoardStock.PLAIN


def _grid_boards(look: Inspection) -> list[PlacedBoard]:
    return [placed for placed in look.scene.boards if on_grid(placed.board)]


def to_line(size: float) -> float:
    """How far a cut edge lies from the nearest good cut line of perfboard, mm.

    Good lines lie midway between two rows (to saw) and on a row (to snap): every half pitch.
    """
    rest = size % (PITCH / 2)
    return min(rest, PITCH / 2 - rest)


def _on_a_row(size: float) -> bool:
    """Whether the nearest good cut line is a row of holes, not midway between two."""
    return abs(size / PITCH - round(size / PITCH)) > 0.25


def _cut_care(size: float) -> tuple[float, bool]:
    """How much care a cut wants: how far off a good line, then whether it costs a row."""
    return round(to_line(size), 6), _on_a_row(size)


def check_board_grid(look: Inspection) -> Iterator[Finding]:
    """Whether perfboard is cut where it can be cut.

    Looks at: width and height of each perfboard against its hole grid, whose first holes lie half
    a pitch from the lower left edges.

    Hurts: a cut just beside a row of holes breaks into them; the row is lost and the edge ragged.

    Formula: the edge lies d from the nearest line midway between rows or on a row, 0 ≤ d ≤ 0.635;
    what is left of 0.635 is compared with how far a sawn edge strays. It can be sawn anywhere, so
    this is never worse than tight.

    Source: common practice, no source; pitch 2.54 (IEC 60097).

    Example: 46 holes are 116.84 wide, sawn between two rows. Snapped along a row instead, that
    row is lost: the piece it comes from needs 47 rows, and the edge is filed flush.

    Repairs: make the size a whole number of holes.
    """
    for placed in _grid_boards(look):
        axis = max((0, 1), key=lambda i: _cut_care(placed.board.size[i]))
        size = placed.board.size[axis]
        count = math.floor(size / PITCH + 0.5 + 1e-9)
        room = PITCH / 4 - to_line(size)
        snapped = _on_a_row(size)
        yield look.finding(
            "board-grid",
            (placed.name, "edge"),
            have=room,
            need=0.0,
            spread=min(spread_of(look.hands.sawing, size.plus_minus), PITCH / 4),
            say=f"{titled(look, placed.name)} is {show(size)} mm {_WORDS[axis]}, "
            f"{show(size / PITCH)} holes: "
            + (
                "its edge lies on a row, which is lost."
                if snapped and room > PITCH / 8
                else f"its edge lies {show(to_line(size))} mm from a good cut line."
            ),
            mend=f"make it {count} holes, {show(count * PITCH)} mm; snapped along a row it costs "
            "one row more",
        )


def check_holes_on_grid(look: Inspection) -> Iterator[Finding]:
    """Whether mounting holes in perfboard lie on holes that are there already.

    Looks at: every hole to make in a perfboard.

    Hurts: the bit is drawn into the nearest hole, and the mounting hole ends up beside its place.

    Formula: distance to the nearest grid hole ≤ 0.5, its radius; further off is tight, never a
    clash.

    Source: builders' advice that mounting holes come only at grid points; common practice.

    Example: a hole drilled 3 mm from both edges lies 0.8 mm beside the grid hole at 3.81, 3.81 on
    each axis.

    Repairs: move it to the nearest hole; drill it from a pilot with the board clamped.
    """
    for placed in _grid_boards(look):
        if not placed.holes:
            continue
        hole = max(placed.holes, key=_off_grid)
        have = PITCH / 2 - _off_grid(hole)
        column, row = _nearest(hole.x), _nearest(hole.y)
        yield look.finding(
            "holes-on-grid",
            (placed.name, _hole_name(hole)),
            have=have,
            need=0.0,
            spread=PITCH / 2 - 0.5,
            say=f"The hole for {_hole_name(hole)} in {placed.name} lies "
            f"{show(_off_grid(hole))} mm beside the nearest hole of the grid.",
            mend=f"put it at hole {column}, {row}: {show((column - 0.5) * PITCH)} and "
            f"{show((row - 0.5) * PITCH)} mm from the edges",
        )


def _nearest(value: float) -> int:
    return max(1, round(value / PITCH + 0.5))


def _off_grid(hole: DrilledHole) -> float:
    return max(abs(v - (_nearest(v) - 0.5) * PITCH) for v in (hole.x, hole.y))


def _hole_name(hole: DrilledHole) -> str:
    return hole.purpose or "a screw"


def check_hole_edges(look: Inspection) -> Iterator[Finding]:
    """Material between a board's holes and its edges.

    Looks at: every hole to make and the nearest edge of the board or of a notch in it. Holes that
    came with a made circuit board are as they are.

    Hurts: the corner breaks off when the screw is tightened.

    Formula: edge of hole to edge of board ≥ 3; for a joint's hole, backed by its block, ≥ 1.5.

    Source: 3 from a university workshop's rules for boards; 1.5 common practice, no source.

    Example: a 3.3 hole in the second row, 3.81 from the edge, leaves 2.16.

    Repairs: take the next row in; a smaller screw; a washer under the head on both sides.
    """
    for placed in look.scene.boards:
        made = {(h.x, h.y) for h in placed.board.holes} if not on_grid(placed.board) else set()
        holes = [hole for hole in placed.holes if (hole.x, hole.y) not in made]
        found = [_edge_finding(look, placed, hole) for hole in holes]
        if found:
            yield min(found, key=closeness)


def _edge_finding(look: Inspection, placed: PlacedBoard, hole: DrilledHole) -> Finding:
    backed = not (post_of(look, hole) or hole.purpose in ("", "standoff"))
    usual = _BACKED if backed else allowance("hole-to-board-edge").mm
    have = _to_edge(placed.board, hole.x, hole.y) - hole.diameter / 2
    need = look.need("hole-edges", usual)
    sawn = look.hands.sawing if on_grid(placed.board) else 0.0
    return look.finding(
        "hole-edges",
        (placed.name, _hole_name(hole)),
        have=have,
        need=need,
        spread=spread_of(sawn, FOLLOWS),
        say=f"The {show(hole.diameter)} mm hole for {_hole_name(hole)} in {placed.name} "
        + (
            f"leaves {show(have)} mm to the board's edge"
            if have >= 0
            else f"reaches {show(-have)} mm past the board's edge"
        )
        + f"; {show(need)} is needed.",
        mend=f"move it {show(up_to_tenth(need - have), 1)} mm inwards (the next row of holes)"
        if have < need
        else "drill it before the board is cut to size",
    )


def _to_edge(board: Board, x: float, y: float) -> float:
    """From a point to the nearest edge of the board or of one of its notches, mm."""
    found = [x, y, board.size[0] - x, board.size[1] - y]
    found += [_to_rect(x, y, _rect(notch)) for notch in board.notches]
    return min(found)


def _rect(area: Notch | Zone) -> Rect:
    x, y = float(area.x), float(area.y)
    return Rect(x, y, x + float(area.width), y + float(area.depth))


def _to_rect(x: float, y: float, rect: Rect) -> float:
    """Distance of a point from a rectangle, mm; below 0 inside."""
    dx = max(rect.x0 - x, x - rect.x1)
    dy = max(rect.y0 - y, y - rect.y1)
    if dx <= 0 and dy <= 0:
        return max(dx, dy)
    return math.hypot(max(0.0, dx), max(0.0, dy))


def check_screw_free(look: Inspection) -> Iterator[Finding]:
    """Room for screw heads and supports round a board's holes.

    Looks at: the named areas of a board (things on it) beside every hole that takes a screw: on
    the component side the head, on the underside the post or standoff.

    Hurts: the head does not go down, or shorts two tracks; the board rocks on a soldered lead.

    Formula: radius free ≥ max(3.5, head/2 + 0.5); on the underside ≥ max(3.5, support/2 + 1).

    Source: an open device's list of faults asks more than 7 mm across for M3; the rest is common
    practice, no source.

    Example: a socket whose edge lies 3.1 from the hole's centre is 0.4 too near for M3.

    Repairs: move the part on the board; a screw with a smaller head; an insulating washer.
    """
    for placed in look.scene.boards:
        used = look.scene.placed[placed.name].used
        head = used.screws.head.diameter / 2 if used.screws is not None else 0.0
        found = [
            _free(look, placed, hole, zone, head)
            for hole in placed.holes
            if hole.purpose == "standoff" or post_of(look, hole) is not None
            for zone in placed.board.zones
        ]
        near = [f for f in found if f.margin < allowance("screw-free-circle").mm]
        if near:
            yield min(near, key=closeness)


def _free(
    look: Inspection, placed: PlacedBoard, hole: DrilledHole, zone: Zone, head: float
) -> Finding:
    have = _to_rect(hole.x, hole.y, _rect(zone))
    post = post_of(look, hole)
    if zone.side is Side.TOP:
        asked, what = head + _HEAD_FREE, "head"
    elif post is not None:
        asked, what = post.tip / 2 + _RING, "post"
    else:
        asked, what = standoff_diameter(thread_for_hole(hole.diameter)) / 2 + _RING, "standoff"
    need = look.need("screw-free", max(allowance("screw-free-circle").mm / 2, asked))
    return look.finding(
        "screw-free",
        (placed.name, zone.name),
        have=have,
        need=need,
        spread=spread_of(FOLLOWS, zone.x.plus_minus, zone.width.plus_minus),
        say=f"{capital(zone.name)} on {placed.name} "
        + (f"stands {show(have)} mm from" if have >= 0 else f"reaches {show(-have)} mm over")
        + f" the middle of the hole for {_hole_name(hole)}; its {what} needs {show(need)} free.",
        mend=f"move {zone.name} {show(up_to_tenth(need - have), 1)} mm (a row of holes) away"
        if have < need
        else f"try the screw in before soldering {zone.name}",
    )


def check_notch_rows(look: Inspection) -> Iterator[Finding]:
    """Board left standing beside a notch.

    Looks at: the strips of perfboard between a notch and the edges beside it, and between two
    notches.

    Hurts: a strip of one row breaks off along its holes.

    Formula: strip ≥ 2 rows of holes, 5.08.

    Source: common practice, no source.

    Example: a notch that leaves one row to the edge: 2.54, so cut it right through to the edge.

    Repairs: cut the notch through to the edge; make it narrower; leave the corner uncut.
    """
    for placed in _grid_boards(look):
        strips = list(_strips(placed.board))
        if not strips:
            continue
        have, where = min(strips)
        need = look.need("notch-rows", _LEAST_ROWS * PITCH)
        yield look.finding(
            "notch-rows",
            (placed.name, "notch"),
            have=have,
            need=need,
            spread=spread_of(look.hands.sawing, look.hands.sawing),
            say=f"{titled(look, placed.name)} keeps {show(have)} mm ({show(have / PITCH, 1)} "
            f"rows) {where} its "
            f"notch; {show(need)} is needed.",
            mend="cut the notch right through to that edge, or make it one row narrower"
            if have < need
            else "drill the notch's inner corners before sawing",
        )


def _strips(board: Board) -> Iterator[tuple[float, str]]:
    """Widths of what stands beside notches, mm, and where."""
    rects = [_rect(notch) for notch in board.notches]
    for rect in rects:
        sides = (
            (rect.x0, "left of"),
            (board.size[0] - rect.x1, "right of"),
            (rect.y0, "below"),
            (board.size[1] - rect.y1, "above"),
        )
        yield from ((width, where) for width, where in sides if width > 1e-6)
    for i, a in enumerate(rects):
        for b in rects[i + 1 :]:
            dx = max(b.x0 - a.x1, a.x0 - b.x1)
            dy = max(b.y0 - a.y1, a.y0 - b.y1)
            if max(dx, dy) > 1e-6:
                yield math.hypot(max(0.0, dx), max(0.0, dy)), "between another notch and"


def check_leads(look: Inspection) -> Iterator[Finding]:
    """Room below a board for its cut leads.

    Looks at: the height of posts or standoffs against the lead ends (and what stands on the
    underside). Perfboard of which no underside is given is taken to have hand-cropped leads of 3.

    Hurts: the board rests on its solder joints instead of its posts and cracks when screwed down.

    Formula: h ≥ protrusion + 1, with h the height of post or standoff.

    Source: 1 mm of air is common practice, no source; hand-cropped leads stand out 1.5 to 3.

    Example: 3 mm of leads on 3 mm spacers: 4 is needed; 5 is the usual spacer.

    Repairs: the next longer spacer, or a washer on each post; crop the leads shorter.
    """
    for placed in look.scene.boards:
        height = _height(look, placed)
        if height is None:
            continue
        board = placed.board
        under = [board.underside, *(z.height for z in board.zones if z.side is Side.UNDERSIDE)]
        longest = max(under)
        said = longest > 0 or not on_grid(board)
        leads = float(longest) if said else allowance("leads-cropped-by-hand").mm
        need = leads + look.need("leads", 1.0)
        yield look.finding(
            "leads",
            (placed.name, "lid" if placed.half is Half.LID else "floor"),
            have=height,
            need=need,
            spread=spread_of(longest.plus_minus, look.hands.filing),
            say=f"{titled(look, placed.name)} stands {show(height)} mm up; its leads "
            f"{'reach' if said else 'are taken to reach'} {show(leads)} mm down and need "
            f"{show(need - leads)} of air.",
            mend=f"raise it {show(up_to_tenth(need - height), 1)} mm, or crop its leads shorter"
            if need > height
            else "crop the leads before it goes in",
        )


def _height(look: Inspection, placed: PlacedBoard) -> float | None:
    """Height of what a lying board rests on, mm; None for a standing one."""
    used = look.scene.placed[placed.name].used
    if used.joined_to is not None:
        return None
    if used.on is Seat.POSTS:
        own = [p for p in look.tray.posts if p.half is placed.half and p.use is PostUse.BOARD]
        return max(float(p.height) for p in own)
    heights = [
        body.shape.height
        for body in look.scene.bodies
        if body.owner == placed.name
        and body.name.startswith("standoff ")
        and isinstance(body.shape, Cylinder)
    ]
    return min(heights, default=None)


board_grid = rule("board-grid", Family.BOARDS)(check_board_grid)
holes_on_grid = rule("holes-on-grid", Family.BOARDS)(check_holes_on_grid)
hole_edges = rule("hole-edges", Family.BOARDS)(check_hole_edges)
screw_free = rule("screw-free", Family.BOARDS)(check_screw_free)
notch_rows = rule("notch-rows", Family.BOARDS)(check_notch_rows)
leads = rule("leads", Family.BOARDS)(check_leads)
