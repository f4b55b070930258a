"""Boxes to put a build into: every shell at hand, by name or file, and what it was read from."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
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

    The hash is empty when the file cannot be read. `own`: the box is described in the build's own
    file and has none for itself.
    """

    name: str
    path: Path
    sha256: str
    own: bool = False


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

    A box that is described in the build's own file is among those the build would find, under its
    name and ``(own box)``, so that no box of the catalogue is taken for it.

    Raises:
        UnusableInput: when the folder is not there.
    """
    own: list[ShellFile] = []
    if folder is None:
        own = list(_own(build))
        found = Catalogue.near(_folder(build)).files(Sort.BOX)
    elif is_folder(folder):
        paths = [p for p in sorted(folder.iterdir(), reverse=True) if p.suffix in _ENDINGS]
        found = {p.stem: p for p in paths}
    else:
        say = problem(Span(shown(folder)), "there is no such folder", "name a folder of box files")
        raise UnusableInput((say,))
    own += (ShellFile(name=name, path=path, sha256=_hash(path)) for name, path in found.items())
    return tuple(sorted(own, key=lambda file: file.name))


def _own(build: Build) -> Iterator[ShellFile]:
    """The box a build describes itself, if it does."""
    if build.where.file and build.box.where.file == build.where.file:
        path = Path(build.where.file)
        yield ShellFile(name=f"{build.box.name} (own box)", path=path, sha256=_hash(path), own=True)


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
    if file.own:
        return Shell(box=replace(build.box, name=file.name))
    reader = Reader(Catalogue.near(_folder(build)))
    box = reader._file(Sort.BOX, file.name, file.path)
    reader.finish()
    assert isinstance(box, Tray)
    return Shell(box=box, sources=tuple(s for _, s in sorted(reader.sources.items())))
