"""Parts as they sit on their faces: what rules about panel parts go through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Generic, TypeVar

from fit.check.rule import Inspection
from fit.check.things import capital, noun
from fit.geometry.box import Face
from fit.geometry.hulls import longest_side as longest_side
from fit.geometry.hulls import sides as sides
from fit.geometry.hulls import widest as widest
from fit.geometry.scene import Body, Opening, Placed, Role
from fit.model.part import Part
from fit.units import Length

P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted(Generic[P]):
    """A part of one kind on its face.

    Attributes:
        name: the person's name for it.
        part: the part.
        placed: where it sits.
        face: the face it sits on.
    """

    name: str
    part: P
    placed: Placed
    face: Face

    def doubt(self, *lengths: Length) -> float:
        """Worst of what uncertain lengths add up to, mm: they are of one part, one measurer."""
        return sum(length.plus_minus for length in lengths)


def fitted(look: Inspection, kind: type[P]) -> Iterator[Fitted[P]]:
    """Every part of a kind that sits on a face, in the order of the build."""
    for name, placed in look.scene.placed.items():
        part = placed.used.part
        if isinstance(part, kind) and placed.face is not None:
            yield Fitted(name=name, part=part, placed=placed, face=look.scene.faces[placed.face])


def mount_hole(look: Inspection, name: str) -> Opening | None:
    """The main opening of a part, or None when it has none."""
    for opening in look.openings.get(name, ()):
        if opening.role in (Role.MOUNT, Role.WIRE):
            return opening
    return None


def bodies_of(look: Inspection, name: str) -> list[Body]:
    """A part's bodies."""
    return list(look.bodies.get(name, ()))


def titled(look: Inspection, name: str) -> str:
    """A part at the start of a sentence: "Button 'tare'"."""
    return capital(f"{noun(look.scene.build.part(name))} '{name}'")
