"""Whether a box's and a drawer's sizes can be true. What merely does not fit is for the check."""

from __future__ import annotations

import math
from typing import Final

from fit.model.words import FaceName, Half, LidKind
from fit.read.scalars import did_you_mean, listed
from fit.read.schema_box import BoxKeys, DeepLidKeys, DrawerKeys, PostKeys
from fit.read.sense_holes import sense_holes
from fit.read.words import Say
from fit.trade.materials import plastics
from fit.units import show

_SAME: Final = 1e-9

_ACROSS: Final = {"length": ("left", "right"), "width": ("front", "back")}
"""Which two walls lie across each level direction."""


def sense_box(box: BoxKeys, say: Say) -> None:
    """Report what cannot be true of a box."""
    _plastic(box, say)
    if not _heights(box, say) or not _widths(box, say):
        return
    _corners(box, say)
    _lid(box, say)
    _posts(box, say)
    _twice([_own_names(post) for post in box.posts], "posts", "post", say)
    _twice([[rib.name] for rib in box.ribs], "ribs", "rib", say)
    for i, rib in enumerate(box.ribs):
        if math.dist(rib.start, rib.end) <= _SAME:
            say(("ribs", i), f"rib '{rib.name}' begins where it ends", "give it a length")
    _twice([[hole.name] for hole in box.holes], "holes", "hole", say)
    sense_holes(box, say)


def sense_drawer(drawer: DrawerKeys, say: Say) -> None:
    """Report what cannot be true of a drawer."""
    for i, bit in enumerate(drawer.step_bits):
        if bit.largest <= bit.smallest:
            say(
                ("step_bits", i),
                f"this step bit goes from {show(bit.smallest)} to {show(bit.largest)}",
                "'to' is larger than 'from'",
            )
        elif bit.step > bit.largest - bit.smallest + _SAME:
            say(
                ("step_bits", i, "step"),
                f"one step of {show(bit.step)} is more than the whole bit gains",
                f"at most {show(bit.largest - bit.smallest)}",
            )


def _own_names(post: PostKeys) -> list[str]:
    """The names of one post, or of four alike."""
    return [post.name] if post.apart is None else [f"{post.name}{i}" for i in range(1, 5)]


def _twice(groups: list[list[str]], key: str, what: str, say: Say) -> None:
    taken: set[str] = set()
    for i, names in enumerate(groups):
        for name in names:
            if name in taken:
                say(
                    (key, i), f"a {what} called '{name}' stands here twice", "rename one of the two"
                )
        taken.update(names)


def _plastic(box: BoxKeys, say: Say) -> None:
    if box.plastic not in plastics():
        say(
            ("plastic",),
            f"'{box.plastic}' is not a plastic known here",
            did_you_mean(box.plastic, plastics(), f"write {listed(plastics())}"),
        )


def _rim(box: BoxKeys) -> float:
    lid = box.lid.height if isinstance(box.lid, DeepLidKeys) else box.lid.thickness
    return box.outside[2] - lid


def _heights(box: BoxKeys, say: Say) -> bool:
    """The room between floor and rim, and inside a deep lid."""
    rim = _rim(box)
    if rim <= box.floor:
        say(
            ("outside", 2),
            f"closed height {show(box.outside[2])} leaves no room between the lid and a floor of "
            f"{show(box.floor)}",
            "the height is that of body and lid together",
        )
        return False
    if isinstance(box.lid, DeepLidKeys) and box.lid.thickness >= box.lid.height:
        say(
            ("lid", "thickness"),
            f"a top of {show(box.lid.thickness)} fills a lid {show(box.lid.height)} high",
            "write 'kind: flat' for a plate",
        )
        return False
    return True


def _inside(box: BoxKeys, axis: str) -> tuple[float, float]:
    """Width inside along one level direction: at the rim, and at the floor's inside."""
    outside = box.outside[0] if axis == "length" else box.outside[1]
    at_rim = at_floor = float(outside)
    for name in _ACROSS[axis]:
        wall = box.walls.wall(getattr(box.walls, name))
        lean = math.radians(wall.draft)
        level = wall.thickness / math.cos(lean)
        at_rim -= level
        at_floor -= level + (_rim(box) - box.floor) * math.tan(lean)
    return at_rim, at_floor


def _widths(box: BoxKeys, say: Say) -> bool:
    good = True
    for index, axis in enumerate(_ACROSS):
        at_rim, at_floor = _inside(box, axis)
        if at_rim <= 0:
            say(("walls",), f"the walls fill the box's whole {axis}", "check their thickness")
            good = False
        elif at_floor <= 0:
            say(
                ("walls",),
                f"leaning like this, the walls meet before they reach the floor ({axis} "
                f"{show(box.outside[index])} at the rim)",
                "check 'draft': moulded walls lean 0.5 to 2 degrees",
            )
            good = False
    return good


def _corners(box: BoxKeys, say: Say) -> None:
    """Rounds fit the box, and leave plastic in the corner."""
    rim = [_inside(box, axis) for axis in _ACROSS]
    outer, inner = float(box.corners.outer), float(box.corners.inner)
    narrow = min(min(pair) for pair in rim)
    for key, radius, room in (
        ("outer", outer, min(box.outside[0], box.outside[1])),
        ("inner", inner, narrow),
    ):
        if radius > room / 2 + _SAME:
            say(
                ("corners", key),
                f"a round of {show(radius)} is more than half the box",
                f"at most {show(room / 2)}",
            )
            return
    walls = [box.walls.wall(getattr(box.walls, f)) for f in ("front", "back", "left", "right")]
    thick = min(float(wall.thickness) for wall in walls)
    # Along the diagonal: outer round from its centre, inner corner from the same centre.
    reach = math.sqrt(2) * (outer - thick - inner) + inner
    if outer > thick + inner and reach >= outer - _SAME:
        say(
            ("corners",),
            f"a round of {show(outer)} outside and {show(inner)} inside leaves a hole in a corner "
            f"of walls {show(thick)} thick",
            f"inside it is about {show(max(outer - thick, 0.0))}",
        )


def _lid(box: BoxKeys, say: Say) -> None:
    lid = box.lid
    room = min(_inside(box, axis)[0] for axis in _ACROSS)
    if isinstance(lid, DeepLidKeys):
        lean = math.radians(lid.draft)
        for index, axis in enumerate(_ACROSS):
            top = box.outside[index] - 2 * (
                lid.wall / math.cos(lean) + (lid.height - lid.thickness) * math.tan(lean)
            )
            if top <= 0:
                say(("lid",), f"the lid's walls fill its whole {axis}", "check 'wall' and 'draft'")
    lip = lid.lip
    if lip is None:
        return
    depth = _rim(box) - box.floor
    if lip.height > depth + _SAME:
        say(
            ("lid", "lip", "height"),
            f"a lip {show(lip.height)} high stands on the floor: the body is only {show(depth)} "
            "deep inside",
            "check 'height'",
        )
    if 2 * (lip.gap + lip.thickness) >= room:
        say(
            ("lid", "lip"),
            f"this lip fills the body: it is {show(room)} wide inside",
            "check 'gap' and 'thickness'",
        )


def _posts(box: BoxKeys, say: Say) -> None:
    rim, lid = _rim(box), box.lid
    for i, post in enumerate(box.posts):
        one_place = (post.at is None) != (post.apart is None)
        if not one_place:
            say(
                ("posts", i),
                f"post '{post.name}' has {'both' if post.at else 'neither'} 'at' "
                f"{'and' if post.at else 'nor'} 'apart'",
                "write 'at: [x, y]' for one post or 'apart: [x, y]' for four",
            )
        room = box.outside[2] - box.floor - lid.thickness
        if post.half is Half.BODY and LidKind(lid.kind) is LidKind.FLAT:
            room = rim - box.floor
        if post.height > room + _SAME:
            say(
                ("posts", i, "height"),
                f"post '{post.name}' is {show(post.height)} high, the room only {show(room)}",
                "heights count from the inner face of floor or lid",
            )
        if one_place:
            _post_inside(box, i, post, say)
        _post_sizes(box, i, post, say)


def _post_inside(box: BoxKeys, i: int, post: PostKeys, say: Say) -> None:
    """A post may merge with a wall, but its axis stands inside the box."""
    x, y = post.at if post.at is not None else (post.apart or (0.0, 0.0))
    half = 2.0 if post.at is not None else 1.0
    for value, outside, word in ((x, box.outside[0], "x"), (y, box.outside[1], "y")):
        reach = outside / half
        if abs(value) >= reach:
            say(
                ("posts", i, "at" if post.at is not None else "apart"),
                f"post '{post.name}' stands outside the box: {word} {show(value)}",
                f"less than {show(reach)}; places count from the box's middle",
            )


def _post_sizes(box: BoxKeys, i: int, post: PostKeys, say: Say) -> None:
    if post.foot is not None and post.foot < post.tip - _SAME:
        say(
            ("posts", i, "foot"),
            f"the foot ({show(post.foot)}) is thinner than the tip ({show(post.tip)})",
            "swap the two",
        )
    if post.hole >= post.tip:
        say(
            ("posts", i, "hole"),
            f"a hole of {show(post.hole)} leaves nothing of a tip of {show(post.tip)}",
            "the hole is smaller than the tip",
        )
    if (post.hole > 0) != (post.depth > 0):
        missing = "depth" if post.hole > 0 else "hole"
        say(("posts", i), f"'{missing}' of the screw hole is missing", f"add '{missing}:'")
    wall = box.floor if post.half is Half.BODY else box.lid.thickness
    if post.depth >= post.height + wall:
        face = FaceName.FLOOR if post.half is Half.BODY else FaceName.LID
        say(
            ("posts", i, "depth"),
            f"a hole {show(post.depth)} deep comes out of the {face}",
            f"less than {show(post.height + wall)}",
        )
