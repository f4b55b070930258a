"""Whether the holes a box is said to have can be where they are said to be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fit.model.box import Hole, Wall
from fit.model.rounded import Rounded
from fit.model.words import UPRIGHT, FaceName, Half
from fit.read.schema_box import BoxKeys, DeepLidKeys, HoleKeys
from fit.read.schema_place import FromKeys
from fit.read.sense_place import edge_suits
from fit.read.words import Say
from fit.units import show

_SAME: Final = 1e-9

_NEIGHBOURS: Final = {
    FaceName.FRONT: ("left", "right"),
    FaceName.RIGHT: ("front", "back"),
    FaceName.BACK: ("right", "left"),
    FaceName.LEFT: ("back", "front"),
    FaceName.LID: ("left", "right"),
    FaceName.FLOOR: ("right", "left"),
}
"""The walls to the left and right of each face, seen from outside."""


def sense_holes(box: BoxKeys, say: Say) -> None:
    """Report what cannot be true of a box's holes."""
    found: list[tuple[HoleKeys, Rounded]] = []
    for i, hole in enumerate(box.holes):
        if not (_shape(hole, i, say) and _edges(hole, i, say)):
            continue
        plate = _plate(box, hole.on)
        outline = plate.outline(hole.hole())
        if not _on_the_wall(hole, outline, plate, i, say):
            continue
        _free(box, hole, outline, i, say)
        for other, taken in found:
            if other.on is hole.on and outline.apart(taken) < -_SAME:
                say(
                    ("holes", i),
                    f"hole '{hole.name}' runs into hole '{other.name}' by "
                    f"{show(-outline.apart(taken))}",
                    "measure both again; two that have become one are one, as wide as both",
                )
        found.append((hole, outline))


def _shape(hole: HoleKeys, i: int, say: Say) -> bool:
    """Round, a slot or a rectangle: one of them, and whole."""
    loc, name = ("holes", i), hole.name
    if (hole.diameter > 0) == (hole.size is not None):
        which = "both 'diameter' and 'size'" if hole.size is not None else "no size"
        say(
            loc,
            f"hole '{name}' has {which}",
            "write 'diameter:' for a round one, 'size: [width, height]' for a rectangle",
        )
        return False
    if hole.long > 0 and (hole.size is not None or hole.long <= hole.diameter + _SAME):
        say(
            (*loc, "long"),
            f"'long' is the length of a slot, more than its width ({show(hole.diameter)})"
            if hole.size is None
            else f"hole '{name}' is a rectangle and has no 'long'",
            "write 'diameter:' and 'long:' for a slot with round ends",
        )
        return False
    if hole.corner_radius > 0:
        most = 0.0 if hole.size is None else min(hole.size) / 2
        if hole.corner_radius > most + _SAME:
            say(
                (*loc, "corner_radius"),
                f"a corner radius of {show(hole.corner_radius)} is more than hole '{name}' has "
                "room for",
                f"at most {show(most)}" if most else "only rectangles have corners",
            )
            return False
    return True


def _edges(hole: HoleKeys, i: int, say: Say) -> bool:
    good = True
    for word, given in (("across", hole.at.across), ("up", hole.at.up)):
        if isinstance(given, FromKeys):
            good = edge_suits((hole.on,), given, ("holes", i, "at", word), say) and good
    return good


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plate:
    """A face, as far as places on it need it, mm; its sides lean by so much per mm of up.

    `inner` is what the walls and floor beside it take from it at left, right, low and high.
    """

    left: float
    right: float
    low: float
    high: float
    lean_left: float = 0.0
    lean_right: float = 0.0
    inner: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)

    def outline(self, hole: Hole) -> Rounded:
        """Where a hole lies: as parts are placed, from the edges at its own height."""
        up = hole.up.along(self.low, self.high)
        low, high = self.left - self.lean_left * up, self.right + self.lean_right * up
        return hole.outline(hole.across.along(low, high), up)

    def past(self, outline: Rounded, *, inside: bool) -> Iterator[tuple[str, float]]:
        """Each edge, or what stands inside along it: its name, how far an outline runs past, mm."""
        left, right, low, high = self.inner if inside else (0.0, 0.0, 0.0, 0.0)
        sides = (
            ("left edge", -1.0, -self.left - left, self.lean_left),
            ("right edge", 1.0, self.right - right, self.lean_right),
        )
        for word, sign, edge, lean in sides:
            cosine = 1.0 / math.hypot(1.0, lean)
            yield word, outline.reach(sign * cosine, -lean * cosine) - edge * cosine
        yield "lower edge", self.low + low + outline.reach(0.0, -1.0)
        yield "upper edge", outline.reach(0.0, 1.0) - self.high + high


def _tan(wall: Wall) -> float:
    return math.tan(math.radians(wall.draft))


def _level(wall: Wall) -> float:
    """Thickness of a wall measured level, mm."""
    return wall.thickness / math.cos(math.radians(wall.draft))


def _walls(box: BoxKeys) -> dict[str, Wall]:
    return {face.value: box.walls.wall(getattr(box.walls, face.value)) for face in UPRIGHT}


def _rim(box: BoxKeys) -> float:
    lid = box.lid
    return box.outside[2] - (lid.height if isinstance(lid, DeepLidKeys) else lid.thickness)


def _plate(box: BoxKeys, name: FaceName) -> _Plate:
    """A face of a box by its own few sizes (the geometry itself lies further down)."""
    if name in UPRIGHT:
        return _upright(box, name)
    walls, rim, floor = _walls(box), _rim(box), float(box.floor)
    sides = [walls[word] for word in (*_NEIGHBOURS[name], "front", "back")]
    lean = [_tan(wall) for wall in sides]
    wide, high = box.outside[0] / 2, box.outside[1] / 2
    a, b, c, d = (_level(wall) for wall in sides)
    if name is FaceName.FLOOR:
        wide -= rim * (lean[0] + lean[1]) / 2
        high -= rim * (lean[2] + lean[3]) / 2
        # What counts is where the walls meet the floor's inside.
        a, b, c, d = (_level(w) - floor * _tan(w) for w in sides)
    elif isinstance(box.lid, DeepLidKeys):
        side = Wall(thickness=box.lid.wall, draft=box.lid.draft)
        wide, high = (v - box.lid.height * _tan(side) for v in (wide, high))
        a = b = c = d = _level(side) + (0.0 - box.lid.thickness) * _tan(side)
    return _Plate(left=-wide, right=wide, low=-high, high=high, inner=(a, b, c, d))


def _upright(box: BoxKeys, name: FaceName) -> _Plate:
    walls, rim = _walls(box), _rim(box)
    own, a, b = (walls[word] for word in (name.value, *_NEIGHBOURS[name]))
    sine, cosine = (f(math.radians(own.draft)) for f in (math.sin, math.cos))
    span = box.outside[1 if name in (FaceName.LEFT, FaceName.RIGHT) else 0]
    half = (span - rim * (_tan(a) + _tan(b))) / 2
    # The wall's inside lies so much higher at the same place along the wall.
    rise = own.thickness * sine
    return _Plate(
        left=-half,
        right=half,
        low=0.0,
        high=rim / cosine,
        lean_left=_tan(a) * cosine,
        lean_right=_tan(b) * cosine,
        inner=(
            _level(a) - rise * _tan(a),
            _level(b) - rise * _tan(b),
            (box.floor - rise) / cosine,
            rise / cosine,
        ),
    )


def _on_the_wall(hole: HoleKeys, outline: Rounded, plate: _Plate, i: int, say: Say) -> bool:
    for inside in (False, True):
        word, beyond = max(plate.past(outline, inside=inside), key=lambda edge: edge[1])
        if beyond <= _SAME:
            continue
        if inside:
            wrong = f"{show(beyond)} into what stands behind the {word} of the {hole.on}"
            right = "a hole that is there opens into the box: check its place and size"
        else:
            wrong = f"{show(beyond)} past the {word} of the {hole.on}"
            right = "check its place and size: it lies within its face"
        say(("holes", i, "at"), f"hole '{hole.name}' runs {wrong}", right)
        return False
    return True


def _free(box: BoxKeys, hole: HoleKeys, outline: Rounded, i: int, say: Say) -> None:
    """No post or rib stands on the hole: they were moulded in one with the wall."""
    for what, foot in (*_feet(box, hole.on), *_ribs(box, hole.on)):
        into = -outline.apart(foot)
        if into > _SAME:
            say(
                ("holes", i),
                f"hole '{hole.name}' runs {show(into)} into the foot of {what}, which fills it",
                "check where both are; a hole that ends in a post is no hole of the wall",
            )


def _feet(box: BoxKeys, face: FaceName) -> Iterator[tuple[str, Rounded]]:
    half = {FaceName.FLOOR: Half.BODY, FaceName.LID: Half.LID}.get(face)
    walls, rim = _walls(box), _rim(box)
    # The lid's face has its own middle, which lies aside where walls lean differently.
    x0 = rim * (_tan(walls["right"]) - _tan(walls["left"])) / 2
    y0 = rim * (_tan(walls["back"]) - _tan(walls["front"])) / 2
    for group in box.posts:
        if group.half is not half or (group.at is None) == (group.apart is None):
            continue
        for post in group.posts():
            at = (post.x - x0, post.y - y0) if face is FaceName.LID else (-post.x, post.y)
            yield f"post '{post.name}'", Rounded((at,), post.foot / 2)


def _ribs(box: BoxKeys, face: FaceName) -> Iterator[tuple[str, Rounded]]:
    for rib in box.ribs:
        if rib.on is face:
            (ax, ay), (bx, by) = rib.start, rib.end
            bar = Rounded(((float(ax), float(ay)), (float(bx), float(by))), rib.thickness / 2)
            yield f"rib '{rib.name}'", bar
