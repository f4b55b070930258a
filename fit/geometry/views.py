"""Displays and the windows they look through."""

from __future__ import annotations

from dataclasses import dataclass

from fit.geometry.fixing import sink_of
from fit.geometry.frames import Pose
from fit.geometry.piece import Mount, Piece
from fit.geometry.scene import Body, FilterPlate, Opening, Role
from fit.geometry.shapes import Block, Cylinder
from fit.model.build import Used, Window
from fit.model.part import Display
from fit.model.words import Half, PlateHold
from fit.trade.hands import hand_work, hole_position_error
from fit.trade.optics import bare_shift, shift
from fit.trade.screws import Fit273, clearance_hole

BARE = Window()


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What a window must and may show, mm.

    Attributes:
        error: hand error of the opening's edges.
        shift: how much further each side must open to be seen from the given angle.
        least, most: width × height the opening must and may have.
        opening: width × height that is cut.
        reference: depth of the surface the display's gap counts from, below the wall's outside.
        surface: depth of the display's viewing surface at its centre, below the wall's outside.
    """

    error: float
    shift: float
    least: tuple[float, float]
    most: tuple[float, float]
    opening: tuple[float, float]
    reference: float
    surface: float


def view_of(display: Display, window: Window, wall: float, hands: str) -> View:
    """The window of a display behind a wall of that thickness, mm.

    ``active + 2·(shift + e) ≤ opening ≤ visible − 2·e`` (common practice, no source), with the
    shift from the law of refraction. A size that is not given is put midway between the limits.

    Args:
        display: the display.
        window: the window as written.
        wall: thickness, mm.
        hands: name of the hand work, for e.
    """
    error = hole_position_error(hand_work(hands))
    plate = float(window.filter)
    # A plate pushed in sits level with the outside; one behind touches the inside.
    back = plate if window.held is PlateHold.PUSHED_IN else wall + plate
    reference = max(back, wall)
    surface = reference + window.gap
    if plate <= 0:
        side = bare_shift(window.seen_from, wall, float(window.gap))
    else:
        # Behind the wall's thickness the plate only adds its own refraction; what is not plate
        # between the wall's outside and the display is air.
        side = shift(window.seen_from, plate, window.index, surface - plate)
    active = (float(display.active[0]), float(display.active[1]))
    visible = (float(display.visible[0]), float(display.visible[1]))
    least = (active[0] + 2 * (side + error), active[1] + 2 * (side + error))
    most = (visible[0] - 2 * error, visible[1] - 2 * error)
    if window.opening is not None:
        opening = (float(window.opening[0]), float(window.opening[1]))
    else:
        opening = (_between(least[0], most[0]), _between(least[1], most[1]))
    return View(
        error=error,
        shift=side,
        least=least,
        most=most,
        opening=opening,
        reference=reference,
        surface=surface,
    )


def _between(low: float, high: float) -> float:
    """Midway, to a tenth; a hand-cut window needs no finer figure."""
    return round((low + high) / 2, 1)


def window_piece(used: Used, mount: Mount, hands: str) -> tuple[View, Piece, FilterPlate | None]:
    """The window's opening and filter plate; the display itself comes with `display_bodies`."""
    display = used.part
    assert isinstance(display, Display)
    window = used.window or BARE
    view = view_of(display, window, mount.wall, hands)
    width, height = view.opening
    opening = mount.cutout(width, height, Role.WINDOW, corner_radius=float(window.corner_radius))
    plate, bodies = None, []
    if window.filter > 0:
        extra = 2 * window.ledge if window.held is PlateHold.BEHIND else float(window.tight)
        thick = float(window.filter)
        plate = FilterPlate(
            part=used.name, width=width + extra, height=height + extra, thickness=thick
        )
        if window.held is PlateHold.BEHIND:
            shape = Block(plate.width, plate.height, thick)
            high = -mount.wall
            bodies.append(mount.solid("filter plate", shape, high, high - thick))
    return view, Piece(bodies=tuple(bodies), openings=(opening,)), plate


def display_bodies(used: Used, pose: Pose, mount: Mount, half: Half) -> tuple[Body, ...]:
    """The display's solids.

    Args:
        used: the display as used.
        pose: its frame: origin at the centre of its active area on the viewing surface,
            y up in use, z towards the viewer.
        mount: the window's place.
        half: the half it stays with: its board's, or its wall's.
    """
    part = used.part
    assert isinstance(part, Display)
    dx, dy = -float(part.offset[0]), -float(part.offset[1])
    front = -float(part.frame_height)
    rear = -float(part.thickness)

    def block(name: str, size: tuple[float, float], high: float, low: float) -> Body:
        return Body(
            owner=used.name,
            name=name,
            shape=Block(size[0], size[1], high - low),
            pose=pose.shifted((dx, dy, (high + low) / 2)),
            half=half,
            seat=mount.face,
        )

    module = (float(part.module[0]), float(part.module[1]))
    bodies = [block("module", module, front, rear)]
    if part.frame is not None and part.frame_height > 0:
        frame = (float(part.frame[0]), float(part.frame[1]))
        bodies.append(block("frame", frame, 0.0, front))
    if part.rear > 0:
        bodies.append(block("rear", module, rear, rear - part.rear))
    return tuple(bodies)


def display_fixings(used: Used, pose: Pose, mount: Mount) -> Piece:
    """Screws through the wall and spacers down to a display's own circuit board.

    The display's frame is parallel to the wall here. Nothing when it has no screws.
    """
    part, screw = used.part, used.screws
    assert isinstance(part, Display)
    if screw is None or not part.holes:
        return Piece()
    bodies: list[Body] = []
    openings: list[Opening] = []
    surface = mount.pose.inside(pose.origin)[2]
    seat = surface - part.frame_height
    board_back = surface - part.thickness
    dk, k = float(screw.head.diameter), float(screw.head.thickness)
    for hole in part.holes:
        at = (float(hole.x - part.offset[0]), float(hole.y - part.offset[1]))
        diameter = clearance_hole(screw.thread, Fit273.MEDIUM)
        openings.append(mount.hole(diameter, Role.SCREW, at, sink=sink_of(screw)))
        spacer = Cylinder(dk / 2, -mount.wall - seat)
        if spacer.height > 0:
            bodies.append(mount.solid("spacer", spacer, -mount.wall, seat, at))
        if not screw.countersunk:
            bodies.append(mount.solid("screw head", Cylinder(dk / 2, k), k, 0.0, at, outside=True))
        tip = -float(screw.length)
        if tip < board_back:
            shank = Cylinder(screw.diameter / 2, board_back - tip)
            bodies.append(mount.solid("screw end", shank, board_back, tip, at))
    return Piece(bodies=tuple(bodies), openings=tuple(openings))
