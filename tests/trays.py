"""Boxes and scenes that several test files measure. All of our own making."""

from __future__ import annotations

from typing import Any

from fit.geometry.box import faces
from fit.geometry.fixtures import fixtures
from fit.geometry.frames import Pose
from fit.geometry.scene import Body, Cut, Opening, Role, Scene
from fit.geometry.shapes import Block, Cone, Cylinder, Prism
from fit.model.box import Lid, Lip, Post, Rib, Tray, Wall
from fit.model.build import Build, Drawer
from fit.model.words import FaceName, Half, LidKind
from fit.units import Length as L


def wall(draft: float = 1.5, thickness: float = 2.0) -> Wall:
    return Wall(thickness=L(thickness), draft=draft)


def lip(thickness: float = 1.5) -> Lip:
    return Lip(height=L(4), thickness=L(thickness), gap=L(0.2))


def flat_lid(thickness: float = 2.5, lip: Lip | None = None) -> Lid:
    return Lid(kind=LidKind.FLAT, thickness=L(thickness), height=L(thickness), lip=lip)


def deep_lid(wall: float = 2.0, draft: float = 1.0, lip: Lip | None = None) -> Lid:
    return Lid(
        kind=LidKind.DEEP,
        thickness=L(2.5),
        height=L(20),
        wall=L(wall),
        draft=draft,
        lip=lip,
    )


def tray(**changes: Any) -> Tray:
    """A 150 × 100 × 60 tray, 2 mm walls leaning by 1.5°, round corners, flat lid."""
    sizes: dict[str, Any] = {
        "name": "sample",
        "length": L(150),
        "width": L(100),
        "height": L(60),
        "front": wall(),
        "back": wall(),
        "left": wall(),
        "right": wall(),
        "floor": L(2.5),
        "lid": flat_lid(),
        "corner_outer": L(6),
        "corner_inner": L(4),
    }
    return Tray(**(sizes | changes))


def four_walls(draft: float, thickness: float = 2.0) -> dict[str, Wall]:
    return dict.fromkeys(("front", "back", "left", "right"), wall(draft, thickness))


POSTS = (
    Post(name="P1", half=Half.BODY, x=L(-55), y=L(-30), tip=L(6), foot=L(7), height=L(8),
         hole=L(2.5), depth=L(6)),
    Post(name="P2", half=Half.BODY, x=L(55), y=L(30), tip=L(6), foot=L(6), height=L(8)),
    Post(name="P3", half=Half.LID, x=L(40), y=L(-20), tip=L(5), foot=L(6), height=L(10),
         hole=L(2), depth=L(10)),
)  # fmt: skip

RIBS = (
    Rib(on=FaceName.FRONT, name="R1", start=(L(20), L(10)), end=(L(20), L(45)),
        thickness=L(1.5), depth=L(3)),
    Rib(on=FaceName.LID, name="R2", start=(L(-30), L(10)), end=(L(10), L(30)),
        thickness=L(2), depth=L(4)),
)  # fmt: skip


def moulded(**changes: Any) -> Tray:
    """The sample tray with posts, ribs and a lip."""
    return tray(**({"lid": flat_lid(lip=lip()), "posts": POSTS, "ribs": RIBS} | changes))


def opening(face: FaceName, across: float, up: float, **more: Any) -> Opening:
    fields: dict[str, Any] = {"part": "it", "cut": Cut.ROUND, "role": Role.MOUNT}
    return Opening(face=face, across=across, up=up, **(fields | more))


OPENINGS = (
    opening(FaceName.FRONT, 0, 30, diameter=12.0),
    opening(FaceName.RIGHT, -15, 25, diameter=7.0),
    opening(FaceName.BACK, 20, 28, cut=Cut.D_FLAT, diameter=9.0, height=8.2, turn=30.0),
    opening(FaceName.LID, -20, 10, cut=Cut.RECTANGLE, width=30.0, height=14.0,
            corner_radius=1.0, turn=90.0),
    opening(FaceName.LID, 30, 20, diameter=3.2),
    opening(FaceName.LEFT, 5, 52, cut=Cut.RIM_SLOT, width=8.0, height=11.0),
    opening(FaceName.FLOOR, 10, -12, diameter=5.0),
)  # fmt: skip


def scene(box: Tray, parts: int = 0, name: str = "sample") -> Scene:
    """A scene of openings, moulded features and a number of plain bodies."""
    bodies = list(fixtures(box))
    kinds = (
        Block(8, 6, 5),
        Cylinder(3, 9),
        Cone(4, 2, 7),
        Prism(((-3, -3), (4, -2), (3, 4), (-2, 3)), 6),
    )
    for i in range(parts):
        pose = Pose((-60 + 9.0 * (i % 14), -40 + 9.0 * (i // 14), 20)).turned(7.0 * i)
        bodies.append(
            Body(owner=f"part {i // 2} µ", name=f"piece {i}", shape=kinds[i % 4], pose=pose,
                 half=Half.BODY)
        )  # fmt: skip
    return Scene(
        build=Build(name=name, box=box, drawer=Drawer(name="none", bits=())),
        faces=faces(box),
        bodies=tuple(bodies),
        openings=OPENINGS,
        boards=(),
        plates=(),
        placed={},
        touching=frozenset(),
    )
