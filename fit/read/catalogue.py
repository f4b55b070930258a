"""Where files are found: a person's own folders first, then the catalogue that ships with fit."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from importlib import resources
from pathlib import Path
from typing import Final


class Sort(StrEnum):
    """The sorts of file, by their first key."""

    BOX = "box"
    PART = "part"
    DRAWER = "drawer"
    BUILD = "build"
    PANEL = "panel"


FOLDERS: Final = {
    Sort.BOX: "shells",
    Sort.PART: "parts",
    Sort.DRAWER: "drawers",
    Sort.BUILD: "builds",
    Sort.PANEL: "panels",
}
"""The folder of each sort inside a catalogue."""

_ENDINGS: Final = (".yaml", ".yml")


def shipped() -> Path:
    """The catalogue shipped with fit: inside the installed package, or beside it in a checkout."""
    package = Path(str(resources.files("fit")))
    inside = package / "boxes"
    return inside if is_folder(inside) else package.parent / "boxes"


def is_folder(path: Path) -> bool:
    """Whether a folder is there and may be looked at."""
    try:
        return path.is_dir()
    except OSError:
        return False


def own_folders(start: Path) -> tuple[Path, ...]:
    """Catalogues near a folder: itself, where it holds builds/ or parts/; `boxes/` in or above it.

    Args:
        start: the folder of the build file, or the working folder.
    """
    found: list[Path] = []
    if any(is_folder(start / folder) for folder in FOLDERS.values()):
        found.append(start)
    if start.name == FOLDERS[Sort.BUILD]:
        found.append(start.parent)
    found += [folder / "boxes" for folder in (start, *start.parents) if is_folder(folder / "boxes")]
    return tuple(dict.fromkeys(found))


def shown(path: Path) -> str:
    """A path for messages: from the working folder where it lies below it, with '/'."""
    try:
        return path.absolute().relative_to(Path.cwd()).as_posix()
    except (ValueError, OSError):
        return path.as_posix()


@dataclass(slots=True)
class Catalogue:
    """Folders searched in order; each holds shells/, parts/, drawers/, builds/."""

    roots: tuple[Path, ...]
    _listed: dict[tuple[Path, Sort], dict[str, Path]] = field(default_factory=dict)

    @classmethod
    def near(cls, start: Path, extra: Iterable[Path] = ()) -> Catalogue:
        """Folders given, then those near `start`, then the shipped one."""
        roots = (*extra, *own_folders(start.absolute()), shipped())
        return cls(tuple(dict.fromkeys(root.absolute() for root in roots)))

    def files(self, sort: Sort) -> dict[str, Path]:
        """Every file of a sort by its name; the first folder that has a name wins."""
        found: dict[str, Path] = {}
        for root in self.roots:
            for name, path in self._list(root, sort).items():
                found.setdefault(name, path)
        return dict(sorted(found.items()))

    def find(self, sort: Sort, name: str) -> Path | None:
        """The file of that exact name (capitals matter on every system), or None."""
        for root in self.roots:
            path = self._list(root, sort).get(name)
            if path is not None:
                return path
        return None

    def looked_in(self, sort: Sort) -> str:
        """The folders searched, for messages."""
        return ", ".join(shown(root / FOLDERS[sort]) for root in self.roots)

    def inside(self, path: Path) -> str:
        """A file's path inside its catalogue, the same on every machine; else its bare name."""
        for root in self.roots:
            if path.absolute().is_relative_to(root):
                return path.absolute().relative_to(root).as_posix()
        return path.name

    def _list(self, root: Path, sort: Sort) -> dict[str, Path]:
        """Files of one folder, listed once: a look-up by listing is exact about capitals."""
        key = (root, sort)
        if key not in self._listed:
            folder = root / FOLDERS[sort]
            try:
                paths = sorted(folder.iterdir(), reverse=True)
            except OSError:
                paths = []
            # Reverse order: of x.yaml and x.yml the first one stays.
            self._listed[key] = {p.stem: p for p in paths if p.suffix in _ENDINGS}
        return self._listed[key]
