"""A folder of results that appears whole or not at all.

The files are written into a new folder beside the target, which then takes the target's place
by renaming. Whatever stops the work half way (an error, a full disk, Ctrl-C), the old folder
stays as it was and nothing half-written is left lying about.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import secrets
import shutil
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

REPORT: Final = "report.json"
"""The file that tells which files of a folder are ours."""

_CLUTTER: Final = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})
"""Files that file managers leave in any folder they have shown (common practice, no source)."""

_TRIES: Final = 5


class CannotWrite(Exception):
    """The results cannot be written there; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One file written: its path below the folder, with ``/``, and its contents' SHA-256."""

    path: str
    sha256: str


def contents(folder: Path) -> tuple[Written, ...]:
    """Every file below a folder with its SHA-256, sorted by path."""
    found = [p for p in folder.rglob("*") if p.is_file()]
    return tuple(
        Written(
            path=p.relative_to(folder).as_posix(),
            sha256=hashlib.sha256(p.read_bytes()).hexdigest(),
        )
        for p in sorted(found)
    )


def strangers(folder: Path) -> tuple[str, ...]:
    """Files in a folder that `fit` did not write, as paths below it.

    Ours are the report and the files it lists. An unreadable report makes every file a stranger:
    nothing is ever replaced that might be somebody's own.
    """
    listed = _listed(folder / REPORT)
    ours = {REPORT, *listed} if listed is not None else set()
    return tuple(sorted(name for name in _files(folder) if name not in ours))


def _files(folder: Path) -> Iterator[str]:
    """Everything below a folder that is not a real folder or clutter.

    Raises:
        OSError: when part of it cannot be looked at.
    """

    def refuse(error: OSError) -> None:
        raise error

    for place, folders, files in os.walk(folder, onerror=refuse):
        links = [name for name in folders if Path(place, name).is_symlink()]
        for name in files + links:
            if name not in _CLUTTER:
                yield Path(place, name).relative_to(folder).as_posix()


def _listed(report: Path) -> set[str] | None:
    try:
        told = json.loads(report.read_text(encoding="utf-8"))
        return {entry["path"] for entry in told["files"]} if "fit" in told else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def refuse_unless_ours(target: Path) -> None:
    """Make sure that replacing the folder loses nothing but our own earlier results.

    Raises:
        CannotWrite: when it is a file, the working folder, or holds somebody's own files.
    """
    if target.exists() and not target.is_dir():
        raise CannotWrite(f"{target} is a file, not a folder; give another with --out")
    if not target.is_dir():
        return
    here = Path.cwd()
    if here.is_relative_to(target.resolve()):
        raise CannotWrite(
            f"{target} is the working folder or one above it, and is replaced as a whole; "
            "give a folder of its own with --out"
        )
    try:
        found = strangers(target)
    except OSError as error:
        raise _cannot(target, error) from error
    if found:
        shown = ", ".join(found[:3]) + (" …" if len(found) > 3 else "")
        raise CannotWrite(
            f"{target} holds files that fit did not write ({shown}), and is replaced as a whole; "
            "move them away or give another folder with --out"
        )


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """Give a new folder to write into; when the block ends well it becomes ``target``.

    On any exception the new folder goes and the target stays as it was.

    Raises:
        CannotWrite: when the target may not be replaced, or the disk will not take it.
    """
    target = target.resolve()
    refuse_unless_ours(target)
    made: list[Path] = []
    kept = False
    try:
        made = _make_parents(target.parent)
        work = target.with_name(f".{target.name}.new-{secrets.token_hex(4)}")
        work.mkdir()
        try:
            yield work
            _swap(work, target)
            kept = True
        finally:
            shutil.rmtree(work, ignore_errors=True)
    except OSError as error:
        raise _cannot(target, error) from error
    finally:
        if not kept:
            _drop_empty(made)


def whole_file(target: Path, data: bytes) -> None:
    """Write one file so that it appears whole or not at all; folders above it are made.

    Raises:
        CannotWrite: when the disk will not take it; what was there stays.
    """
    made: list[Path] = []
    kept = False
    try:
        if target.is_dir():
            raise CannotWrite(f"{target} is a folder; give the name of a file")
        target = target.resolve()  # what a link points to is replaced, not the link
        made = _make_parents(target.parent)
        work = target.with_name(f".{target.name}.new-{secrets.token_hex(4)}")
        try:
            work.write_bytes(data)
            work.replace(target)
            kept = True
        finally:
            work.unlink(missing_ok=True)
    except OSError as error:
        raise _cannot(target, error) from error
    finally:
        if not kept:
            _drop_empty(made)


def _make_parents(folder: Path) -> list[Path]:
    """Make a folder and those above it; tell which are new, the deepest first."""
    missing = []
    while not folder.exists():
        missing.append(folder)
        folder = folder.parent
    for new in reversed(missing):
        new.mkdir(exist_ok=True)
    return missing


def _drop_empty(folders: list[Path]) -> None:
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:
            return  # somebody else uses it by now


def _swap(work: Path, target: Path) -> None:
    """Put ``work`` in the place of ``target``: two renames, undone if the second fails."""
    old = target.with_name(f".{target.name}.old-{secrets.token_hex(4)}")
    with _undisturbed():
        for _ in range(_TRIES):
            with suppress(FileNotFoundError):
                target.rename(old)
            try:
                work.rename(target)
            except OSError as error:
                if error.errno in {errno.ENOTEMPTY, errno.EEXIST}:
                    # Another run put its folder there between our two renames: turn again.
                    shutil.rmtree(old, ignore_errors=True)
                    continue
                if old.exists():
                    old.rename(target)
                raise
            shutil.rmtree(old, ignore_errors=True)
            return
    raise CannotWrite(f"{target} is being written by another run; try again")


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Hold Ctrl-C and a polite kill back until the block is done."""
    if threading.current_thread() is not threading.main_thread():
        yield  # signals only ever interrupt the main thread
        return
    held: list[int] = []
    names = (signal.SIGINT, signal.SIGTERM)
    before = [signal.signal(name, lambda number, _: held.append(number)) for name in names]
    try:
        yield
    finally:
        for name, handler in zip(names, before, strict=True):
            signal.signal(name, handler if handler is not None else signal.SIG_DFL)
    for number in held:
        signal.raise_signal(number)


def _cannot(target: Path, error: OSError) -> CannotWrite:
    why = {
        errno.EACCES: "you may not write there",
        errno.EPERM: "you may not write there",
        errno.EROFS: "that disk is read-only",
        errno.ENOSPC: "the disk is full",
        getattr(errno, "EDQUOT", -1): "your share of the disk is full",
        errno.ENOTDIR: "part of that path is a file",
        errno.ENAMETOOLONG: "that name is too long",
    }.get(error.errno or 0, (error.strerror or str(error)).lower())
    return CannotWrite(f"cannot write {target}: {why}; nothing was changed there")
