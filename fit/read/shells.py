"""Boxes to put a build into: every shell at hand, by name or file, and what it was read from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from fit.findings import Span, UnusableInput
from fit.model.box import Tray
from fit.model.build import Build, Source
from fit.read.catalogue import Catalogue, Sort, is_folder, shown
from fit.read.grumbles import problem
from fit.read.reader import Reader

_ENDINGS: Final = (".yaml", ".yml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """A box of the catalogue and the files it was read from."""

    box: Tray
    sources: tuple[Source, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ShellFile:
    """A box's file before it is read: the box's name, where it lies, its contents' SHA-256.

    The hash is empty when the file cannot be read.
    """

    name: str
    path: Path
    sha256: str


def load_shell(name_or_path: str, build: Build) -> Shell:
    """Read a box by its file, or by its name as the build itself would find it.

    Raises:
        UnusableInput: carrying every problem found.
    """
    path = Path(name_or_path)
    by_file = path.suffix in _ENDINGS or "/" in name_or_path or "\\" in name_or_path
    catalogue = Catalogue.near(_folder(build))
    reader = Reader(catalogue)
    if by_file:
        box = reader._file(Sort.BOX, path.stem, path)
    else:
        box = reader.named(Sort.BOX, name_or_path, Span("--box"))
    reader.finish()
    assert isinstance(box, Tray)
    return Shell(box=box, sources=tuple(s for _, s in sorted(reader.sources.items())))


def shell_files(build: Build, folder: Path | None = None) -> tuple[ShellFile, ...]:
    """Every box file at hand, by name: those a build would find, or all below one folder.

    Raises:
        UnusableInput: when the folder is not there.
    """
    if folder is None:
        found = Catalogue.near(_folder(build)).files(Sort.BOX)
    elif is_folder(folder):
        paths = [p for p in sorted(folder.iterdir(), reverse=True) if p.suffix in _ENDINGS]
        found = {p.stem: p for p in paths}
    else:
        say = problem(Span(shown(folder)), "there is no such folder", "name a folder of box files")
        raise UnusableInput((say,))
    return tuple(
        ShellFile(name=name, path=path, sha256=_hash(path)) for name, path in sorted(found.items())
    )


def _folder(build: Build) -> Path:
    return Path(build.where.file).absolute().parent if build.where.file else Path.cwd()


def _hash(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""


def read_shell(file: ShellFile, build: Build) -> Shell:
    """Read one of the files at hand.

    Raises:
        UnusableInput: carrying every problem found.
    """
    reader = Reader(Catalogue.near(_folder(build)))
    box = reader._file(Sort.BOX, file.name, file.path)
    reader.finish()
    assert isinstance(box, Tray)
    return Shell(box=box, sources=tuple(s for _, s in sorted(reader.sources.items())))
