"""What fit knows without being told: the catalogue's entries and the schemas of its files."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from fit.findings import UnusableInput


class Shelf(StrEnum):
    """What can be listed."""

    BOXES = "boxes"
    PARTS = "parts"
    DRAWERS = "drawers"
    BUILDS = "builds"
    PANELS = "panels"


class FileKind(StrEnum):
    """The kinds of file that have a schema."""

    BUILD = "build"
    BOX = "box"
    PART = "part"
    DRAWER = "drawer"
    PANEL = "panel"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the catalogue: its name, one line about it, its file."""

    name: str
    about: str
    file: str


def entries(shelves: Iterable[Shelf]) -> dict[str, list[Entry]]:
    """What lies on each shelf, by name: the person's own files and those that ship with fit."""
    from fit.read import Catalogue, Sort, load_box, load_build, load_drawer, load_panel, load_part

    sorts: dict[Shelf, tuple[Sort, Callable[[str], object]]] = {
        Shelf.BOXES: (Sort.BOX, load_box),
        Shelf.PARTS: (Sort.PART, load_part),
        Shelf.DRAWERS: (Sort.DRAWER, load_drawer),
        Shelf.BUILDS: (Sort.BUILD, load_build),
        Shelf.PANELS: (Sort.PANEL, load_panel),
    }
    catalogue = Catalogue.near(Path.cwd())
    return {
        shelf.value: [
            Entry(name=name, about=_about(load, name), file=path.as_posix())
            for name, path in catalogue.files(sort).items()
        ]
        for shelf in shelves
        for sort, load in [sorts[shelf]]
    }


def _about(load: Callable[[str], object], name: str) -> str:
    """The line an entry says about itself; a file that cannot be used says that instead."""
    try:
        return str(getattr(load(name), "about", ""))
    except UnusableInput as refused:
        return f"cannot be used: {refused.problems[0]}"


def write_schemas(folder: Path, texts: dict[str, str]) -> None:
    """Write schema files into a folder, made if missing; files of other names stay.

    Raises:
        OSError: when the disk will not take them.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
