"""What came to lie elsewhere on its face when a build went into another box."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from fit.findings import UnusableInput
from fit.geometry.box import Face
from fit.geometry.scene import Placed, Scene
from fit.model.words import UPRIGHT, FaceName
from fit.solve.other.ways import Moved, wall_behind
from fit.solve.settled import settled

LEAST: Final = 0.05
"""A part has moved when it lies at least so far from where it was, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How one part moved.

    Attributes:
        part: its name.
        was, now: the face before and after.
        across, up: how far it moved, mm, seen from outside: to the right and away from the
            floor (on lid and floor: towards the back). Counted from the nearest edge it had, or
            from the middle where it was in the middle. 0 when it changed faces.
        turn: how far it is turned on its face, degrees.
    """

    part: str
    was: FaceName
    now: FaceName
    across: float = 0.0
    up: float = 0.0
    turn: float = 0.0

    @property
    def far(self) -> float:
        """How far in all, mm; infinite when it changed faces."""
        return float("inf") if self.was is not self.now else float(abs(self.across) + abs(self.up))

    def words(self) -> str:
        """Such as ``tare 1.5 mm right, 3.0 mm towards the rim``."""
        if self.was is not self.now:
            return f"{self.part} now on the {self.now} (was on the {self.was})"
        upright = self.now in UPRIGHT
        # Not up and down: a box may stand on its lid.
        ends = ("towards the rim", "towards the floor") if upright else ("back", "forward")
        ways = ("right", "left", *ends)
        told = []
        for mm, plus, minus in ((self.across, *ways[:2]), (self.up, *ways[2:])):
            if abs(mm) >= LEAST:
                told.append(f"{abs(mm):.1f} mm {plus if mm > 0 else minus}")
        if self.turn:
            told.append(f"turned {self.turn:g}°")
        return f"{self.part} {', '.join(told)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Elsewhere:
    """A build in a box that is not its own.

    Attributes:
        home: name of its own box.
        box: name of the box it is in.
        way: in words, what is not as written.
        quarters: quarter turns of the box.
        shifts: what moved on its face.
        boards: boards whose holes moved.
        absolute: parts written by bare numbers: those are kept as they are.
        unknown: why nothing is known of what moved, or empty.
    """

    home: str
    box: str
    way: str
    quarters: int = 0
    shifts: tuple[Shift, ...] = ()
    boards: tuple[str, ...] = ()
    absolute: tuple[str, ...] = ()
    unknown: str = ""

    def on_face(self, face: FaceName) -> str:
        """What a sheet of a face says about it; empty when nothing moved or turned there."""
        told = []
        if self.quarters and face in UPRIGHT:
            told.append(f"On the {wall_behind(face, self.quarters).upper()} wall of the box.")
        found = [s.words() for s in self.shifts if s.now is face]
        if found:
            told.append(f"MOVED against {self.home}: {'; '.join(found)}.")
        return " ".join(told)

    def on_board(self, board: str) -> str:
        """What the sheet of a board says; empty when its holes are where they were."""
        return f"HOLES MOVED against {self.home}." if board in self.boards else ""


def elsewhere(moved: Moved, there: Scene) -> Elsewhere:
    """What a build in another box came to, against its own box with everything placed.

    Args:
        moved: the build put there.
        there: its scene, everything placed.
    """
    told = Elsewhere(
        home=moved.home.box.name,
        box=moved.build.box.name,
        way=moved.way.words(moved.home),
        quarters=moved.way.quarters,
        absolute=moved.absolute,
    )
    try:
        home = settled(moved.home).scene
    except UnusableInput as refused:
        return replace(told, unknown=str(refused.problems[0]))
    return replace(told, shifts=shifts(home, there), boards=boards_drilled_anew(home, there))


def shifts(home: Scene, there: Scene) -> tuple[Shift, ...]:
    """Parts that moved on their faces, in file order.

    Boards that stand on others, and displays soldered to them, go where those go. What has no
    place in one of the scenes is left out.
    """
    return tuple(_shifts(home, there))


def _shifts(home: Scene, there: Scene) -> Iterator[Shift]:
    for name, was in home.placed.items():
        now = there.placed.get(name)
        if now is None or was.face is None or now.face is None:
            continue
        if was.face is not now.face:
            yield Shift(part=name, was=was.face, now=now.face)
            continue
        across, up = _moved(home.faces[was.face], was, there.faces[now.face], now)
        turn = (now.turn - was.turn) % 360
        if max(abs(across), abs(up)) >= LEAST or turn:
            yield Shift(part=name, was=was.face, now=now.face, across=across, up=up, turn=turn)


def _moved(a: Face, was: Placed, b: Face, now: Placed) -> tuple[float, float]:
    across = _along(a.reach(was.up), was.across, b.reach(now.up), now.across)
    return across, _along(_heights(a), was.up, _heights(b), now.up)


def _heights(face: Face) -> tuple[float, float]:
    ups = [p[1] for p in face.outline]
    return min(ups), max(ups)


def _along(
    before: tuple[float, float], was: float, after: tuple[float, float], now: float
) -> float:
    """How far a coordinate moved against the nearest edge it had, or against the middle."""
    low, high = was - before[0], before[1] - was
    if abs(low - high) < 2 * LEAST:
        return (now - sum(after) / 2) - (was - sum(before) / 2)
    if low < high:
        return (now - after[0]) - low
    return high - (after[1] - now)


def boards_drilled_anew(home: Scene, there: Scene) -> tuple[str, ...]:
    """Boards with a hole that was not there, or is there no more."""

    def holes(scene: Scene) -> dict[str, set[tuple[float, ...]]]:
        return {
            b.name: {(round(h.x, 2), round(h.y, 2), round(h.diameter, 2)) for h in b.holes}
            for b in scene.boards
        }

    before, after = holes(home), holes(there)
    return tuple(n for n, found in after.items() if n in before and found != before[n])
