"""Windows: is all seen that must be seen, and nothing else; does the filter plate hold."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from fit.check.cuts import up_to_tenth
from fit.check.fitted import Fitted, bodies_of, fitted, titled
from fit.check.rule import Family, Inspection, rule, spread_of
from fit.check.things import wall_label, wall_words
from fit.findings import Finding
from fit.geometry.frames import Pose
from fit.geometry.support import reach
from fit.geometry.views import BARE, View, view_of
from fit.model.build import Window
from fit.model.part import Display
from fit.model.words import PlateHold
from fit.trade.clearances import allowance
from fit.trade.hands import bend_runout
from fit.trade.optics import bare_shift, shift
from fit.units import Length, show

_TIGHTEST = 0.3
"""Most a pushed-in plate may be larger than its opening, mm: more cracks it or the wall (common
practice, no source)."""

_BOARD_PLAY = 0.3
"""How far a board may sit to one side within its screw holes, mm (common practice, no source)."""

_WORDS = ("wide", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sight:
    """A display behind its window as it came to sit, mm; pairs are along the window's own axes.

    Attributes:
        view: what the window must and may be for a display in its very middle.
        window: as written.
        off: how far the display's active centre lies beside the window's centre.
        least, most: what the opening must and may be, for this display where it is.
    """

    view: View
    window: Window
    off: tuple[float, float]
    least: tuple[float, float]
    most: tuple[float, float]


def _sights(look: Inspection) -> Iterator[tuple[Fitted[Display], _Sight]]:
    for found in fitted(look, Display):
        yield found, _sight(look, found)


def _sight(look: Inspection, found: Fitted[Display]) -> _Sight:
    placed, face = found.placed, found.face
    window = placed.used.window or BARE
    view = view_of(found.part, window, face.thickness, look.scene.build.hands)
    seat = face.frame.shifted((placed.across, placed.up, 0.0)).turned(placed.turn)
    off_x, off_y, _ = seat.inside(placed.pose.origin)
    worst = _farthest(found, window, seat)
    edges = (worst[0] + view.error, worst[1] + view.error)
    visible = found.part.visible
    return _Sight(
        view=view,
        window=window,
        off=(off_x, off_y),
        least=(2 * edges[0], 2 * edges[1]),
        most=(
            visible[0] - 2 * view.error - 2 * abs(off_x),
            visible[1] - 2 * view.error - 2 * abs(off_y),
        ),
    )


def _farthest(found: Fitted[Display], window: Window, seat: Pose) -> tuple[float, float]:
    """How far from the window's centre a line of sight to the active area's corners comes out.

    Every corner counts at its own depth, so that a display that does not stand parallel to its
    wall is seen at its deepest edge too.
    """
    w, h = found.part.active[0] / 2, found.part.active[1] / 2
    worst = [0.0, 0.0]
    for sx in (-w, w):
        for sy in (-h, h):
            corner = seat.inside(found.placed.pose.point((sx, sy, 0.0)))
            aside = _shift_at(window, found.face.thickness, -corner[2])
            for axis in (0, 1):
                worst[axis] = max(worst[axis], abs(corner[axis]) + aside)
    return worst[0], worst[1]


def _shift_at(window: Window, wall: float, depth: float) -> float:
    """How far a line of sight moves sideways down to a depth below the wall's outside, mm."""
    plate = float(window.filter)
    if plate <= 0:
        return bare_shift(window.seen_from, wall, max(0.0, depth - wall))
    return shift(window.seen_from, plate, window.index, max(0.0, depth - plate))


def _doubts(found: Fitted[Display], sight: _Sight, size: Length) -> float:
    """How far uncertain sizes may move what is seen, mm."""
    slope = math.tan(math.radians(sight.window.seen_from))
    part = found.part
    return spread_of(
        size.plus_minus,
        2 * sight.window.gap.plus_minus * slope,
        2 * part.thickness.plus_minus * slope,
        2 * max(length.plus_minus for length in part.offset),
    )


def check_window_view(look: Inspection) -> Iterator[Finding]:
    """Whether everything on the display is seen through its window, from the given angle too.

    Looks at: the opening, the display's active area where it really sits (a display on perfboard
    sits on the grid, not always in the window's middle), its depth, the plate, the angle.

    Hurts: the ends of the display are hidden as soon as one looks from the side.

    Formula: opening ≥ active + 2·(shift + e) + 2·off, per axis. Shift = s·tan(asin(sin θ / n)) +
    g·tan θ: plate s thick of index n, g of air between wall's outside and display; e the hand
    error; off how far the display sits beside the window's centre.

    Source: law of refraction (any optics text); the sum with e is common practice, no source.

    Example: 47 active, 2 plate of index 1.49 and 1.5 air at 30°: shift 0.7 + 0.9; e 0.5: the
    opening must be 51.2 wide.

    Repairs: cut the opening larger, up to what `window-border` allows; bring the display nearer;
    bevel the inner edge.
    """
    for found, sight in _sights(look):
        axis = min((0, 1), key=lambda i: sight.view.opening[i] - sight.least[i])
        have, need = sight.view.opening[axis], sight.least[axis]
        yield look.finding(
            "window-view",
            (found.name, "window"),
            have=have,
            need=need,
            spread=_doubts(found, sight, found.part.active[axis]),
            say=f"The window of {found.name} is {show(have)} mm {_WORDS[axis]}; to show all of it "
            f"from {show(sight.window.seen_from)}° it must be {show(need)}{_off_words(sight)}.",
            mend=_view_mend(found, sight),
        )


def check_window_border(look: Inspection) -> Iterator[Finding]:
    """Whether the window shows only the display's face, not its frame or what lies beside it.

    Looks at: the opening against the display's visible area, where the display really sits.

    Hurts: the edge of the metal frame, a solder joint or bare board shows in the window.

    Formula: opening ≤ visible − 2·e − 2·off, per axis; e the hand error, off how far the display
    sits beside the window's centre. The visible area is taken to lie round the active one.

    Source: common practice, no source.

    Example: 64.5 visible, e 0.5: at most 63.5 wide when the display is in the middle.

    Repairs: cut the opening smaller, down to what `window-view` allows; a dark filter or a paper
    frame behind it hides the border.
    """
    for found, sight in _sights(look):
        axis = min((0, 1), key=lambda i: sight.most[i] - sight.view.opening[i])
        have, most = sight.view.opening[axis], sight.most[axis]
        yield look.finding(
            "window-border",
            (found.name, "window"),
            have=have,
            need=most,
            margin=most - have,
            spread=_doubts(found, sight, found.part.visible[axis]),
            say=f"The window of {found.name} is {show(have)} mm {_WORDS[axis]}; beyond "
            f"{show(most)} the display's border shows{_off_words(sight)}.",
            mend=_view_mend(found, sight),
        )


def _off_words(sight: _Sight) -> str:
    off = max(abs(v) for v in sight.off)
    return f", as the display sits {show(off)} mm off its middle" if off >= 0.005 else ""


def _view_mend(found: Fitted[Display], sight: _Sight) -> str:
    """The opening that does; else a smaller angle or a mask."""
    if all(low <= high for low, high in zip(sight.least, sight.most, strict=True)):
        size = [show((a + b) / 2, 1) for a, b in zip(sight.least, sight.most, strict=True)]
        return f"cut the opening {size[0]} × {size[1]} mm"
    if max(abs(v) for v in sight.off) >= 0.3:
        return f"move the window to sit in front of {found.name}: {_moves(sight)}"
    least = [show(up_to_tenth(v), 1) for v in sight.least]
    return (
        f"cut the opening {least[0]} × {least[1]} mm and hide the border with a paper mask, or "
        f"bring {found.name} nearer to the window"
    )


def _moves(sight: _Sight) -> str:
    ways = (("right", "left"), ("up", "down"))
    return " and ".join(
        f"{show(abs(v), 1)} mm {way[0] if v > 0 else way[1]}"
        for v, way in zip(sight.off, ways, strict=True)
        if abs(v) >= 0.05
    )


def check_filter(look: Inspection) -> Iterator[Finding]:
    """Whether the filter plate holds.

    Looks at: a plate pushed into its opening: how much larger it is; a plate behind: its ledge.

    Hurts: a loose plate falls in, too tight a one cracks; a narrow ledge leaves no room for glue.

    Formula: pushed in: 0 ≤ plate − opening ≤ 0.3; behind: ledge ≥ 3 on each side.

    Source: common practice, no source.

    Example: a plate filed to 0.1 over its opening is pressed in by thumb.

    Repairs: file the plate to the opening, not the other way round; glue it in the corners.
    """
    for found, sight in _sights(look):
        window = sight.window
        if window.filter <= 0:
            continue
        if window.held is PlateHold.BEHIND:
            yield _ledge(look, found.name, window)
            continue
        over = window.tight
        loose = over <= _TIGHTEST - over
        yield look.finding(
            "filter",
            (found.name, "filter plate"),
            have=float(over),
            need=0.0 if loose else _TIGHTEST,
            margin=float(over) if loose else _TIGHTEST - over,
            spread=over.plus_minus,
            say=f"The filter plate of {found.name} is {show(over)} mm larger than its opening; "
            f"0 to {show(_TIGHTEST)} holds by itself.",
            mend="cut the plate over size and file it until it just goes in by thumb",
        )


def _ledge(look: Inspection, name: str, window: Window) -> Finding:
    need = look.need("filter", allowance("filter-ledge").mm)
    short = up_to_tenth(need - window.ledge)
    return look.finding(
        "filter",
        (name, "filter plate"),
        have=float(window.ledge),
        need=need,
        spread=spread_of(
            look.hands.marking, look.hands.filing, look.hands.filing, window.ledge.plus_minus
        ),
        say=f"The filter plate of {name} reaches {show(window.ledge)} mm past the opening on each "
        f"side; {show(need)} is needed to glue it.",
        mend=f"cut the plate {show(2 * short, 1)} mm larger"
        if short > 0
        else "hold the plate against the wall and mark it through the opening",
    )


def check_display_clear(look: Inspection) -> Iterator[Finding]:
    """Whether the display stays off the filter plate and the wall.

    Looks at: the foremost point of the display against the inner face of wall and plate. A wall
    leans and a display on a standing board is upright, so the nearest point counts, not the
    middle.

    Hurts: pressed glass cracks or shows dark patches; a touching plate marks the display.

    Formula: nearest distance ≥ 0. Its spread: the spacers' cut where the wall holds the display;
    on a standing board its lean, height·tan 1°, and 0.3 of play in the board's screws.

    Source: builders' advice that a display must never touch its window; the terms are common
    practice, no source.

    Example: 1.0 of gap in the middle, display 19 high, wall leaning 2°: 0.67 is left at its edge.

    Repairs: more gap; a thin foam frame between; for a leaning wall, set the display lower.
    """
    for found, sight in _sights(look):
        out = found.face.frame.z
        at = sum(a * b for a, b in zip(out, found.face.frame.origin, strict=True))
        front = [b for b in bodies_of(look, found.name) if b.name in ("module", "frame")]
        if not front:
            continue
        nearest = max(reach(body.shape, body.pose, out) for body in front) - at
        have = -nearest - sight.view.reference
        need = look.need("display-clear", 0.0)
        plate = sight.window.filter > 0
        what = "filter plate" if plate else wall_label(found.face.name)
        words = "the filter plate" if plate else wall_words(found.face.name)
        short = up_to_tenth(need - have)
        yield look.finding(
            "display-clear",
            (found.name, what),
            have=have,
            need=need,
            spread=spread_of(
                _sway(look, found), sight.window.gap.plus_minus, found.part.thickness.plus_minus
            ),
            say=f"{titled(look, found.name)} stays {show(have)} mm behind {words} at its nearest "
            "point."
            if have >= 0
            else f"{titled(look, found.name)} reaches {show(-have)} mm into {words}.",
            mend=f"give it {show(short, 1)} mm more gap"
            if short > 0
            else f"lay a thin foam frame between {found.name} and {words}",
        )


def _sway(look: Inspection, found: Fitted[Display]) -> float:
    """How far a display may come nearer to its window by hand work, mm."""
    for board in look.scene.boards:
        used = look.scene.placed[board.name].used
        if found.name not in used.carries:
            continue
        up, foot = board.pose.y, board.pose.inside((0.0, 0.0, 0.0))[1]
        tops = [reach(b.shape, b.pose, up) + foot for b in bodies_of(look, found.name)]
        return spread_of(bend_runout(look.hands, max(tops)), _BOARD_PLAY)
    return look.hands.filing


window_view = rule("window-view", Family.WINDOWS)(check_window_view)
window_border = rule("window-border", Family.WINDOWS)(check_window_border)
filter_plate = rule("filter", Family.WINDOWS)(check_filter)
display_clear = rule("display-clear", Family.WINDOWS)(check_display_clear)
