"""Remarks that a sheet must carry about what it shows, such as that a hole moved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from fit.draw.pages import Unit
from fit.model.words import FaceName


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarks:
    """One line about each face and each board that has one."""

    faces: Mapping[FaceName, str] = field(default_factory=dict)
    boards: Mapping[str, str] = field(default_factory=dict)


NO_REMARKS: Final = Remarks()


def remarked_faces(units: Iterable[Unit], remarks: Remarks) -> Iterator[Unit]:
    """Units of faces, each with the remarks about the faces it shows before its other facts."""
    for unit in units:
        told = [
            words
            for face, words in remarks.faces.items()
            if face.value.upper() in unit.name.replace(":", " ").split()
        ]
        yield _with(unit, tuple(told))


def remarked_boards(units: Iterable[Unit], remarks: Remarks) -> Iterator[Unit]:
    """Units of boards, each with the remark about its board before its other facts."""
    for unit in units:
        words = remarks.boards.get(unit.name)
        yield _with(unit, (words,) if words else ())


def _with(unit: Unit, told: tuple[str, ...]) -> Unit:
    if not told:
        return unit
    cells = tuple(
        replace(cell, view=replace(cell.view, facts=(*told, *cell.view.facts)))
        for cell in unit.cells
    )
    return replace(
        unit,
        facts=(*told, *unit.facts),
        cells=cells,
        instead=tuple(_with(other, told) for other in unit.instead),
    )
