"""The blocks and brackets between two boards at a right angle, with the holes they need."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fit.geometry.scene import PlacedBoard, Scene
from fit.model.part import Joint
from fit.model.words import JointKind


@dataclass(frozen=True, slots=True, kw_only=True)
class JointPiece:
    """One block or bracket, as seen from its boards, mm.

    Attributes:
        joint: what it is.
        standing, lying: names of the boards it joins.
        up: its hole towards the standing board: sideways from its middle, and above the lying
            board's surface.
        out: its hole towards the lying board: sideways from its middle, and from the standing
            board's back.
        clearance: diameter of the boards' holes.
    """

    joint: Joint
    standing: str
    lying: str
    up: tuple[float, float]
    out: tuple[float, float]
    clearance: float


def joint_pieces(scene: Scene) -> tuple[JointPiece, ...]:
    """Every block and bracket of a build, joint by joint."""
    boards = {placed.name: placed for placed in scene.boards}
    return tuple(
        piece
        for used in scene.build.parts
        if used.joint is not None and used.joined_to in boards and used.name in boards
        for piece in _pieces(boards[used.name], boards[used.joined_to], used.joint)
    )


def _pieces(standing: PlacedBoard, lying: PlacedBoard, joint: Joint) -> Iterator[JointPiece]:
    word = "block" if joint.kind is JointKind.BLOCK else "strip"
    above = [hole for hole in standing.holes if hole.purpose == word]
    below = [hole for hole in lying.holes if hole.purpose == f"{word} of {standing.name}"]
    _, foot, _ = standing.pose.inside(lying.pose.origin)
    back = -float(standing.board.thickness)
    for high, flat in zip(above, below, strict=True):
        x, _, z = standing.pose.inside(lying.pose.point((flat.x, flat.y, 0.0)))
        yield JointPiece(
            joint=joint,
            standing=standing.name,
            lying=lying.name,
            up=(0.0, high.y - foot),
            out=(x - high.x, back - z),
            clearance=high.diameter,
        )
