"""Rows worked out before, kept by the contents of everything they depend on.

One file holds the rows of one build with one set of wishes; a row in it is found by the hash of
its box's file. A changed build, part, wish or version of fit (down to its own program text) gives
another file, so nothing old is ever told; a changed box is worked out anew and alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Final

from fit import __version__
from fit.elsewhere.row import Row, as_data, row_from
from fit.model.build import Build
from fit.output import CannotWrite, whole_file

CACHE: Final = "FIT_CACHE"
"""Environment variable: the folder to keep rows in instead of the usual one."""

KEPT: Final = 40
"""So many files stay; the ones longest unused go first."""

_BIGGEST: Final = 200_000_000


def folder() -> Path | None:
    """Where this system keeps what can be worked out again; None where it has no such place."""
    own = os.environ.get(CACHE)
    if own:
        return Path(own)
    try:
        home = Path.home()
    except RuntimeError:
        return None
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
        return base / "fit" / "cache"
    if sys.platform == "darwin":
        return home / "Library" / "Caches" / "fit"
    said = os.environ.get("XDG_CACHE_HOME", "")
    # The base directory specification has relative paths ignored.
    base = Path(said) if said and Path(said).is_absolute() else home / ".cache"
    return base / "fit"


@cache
def program() -> str:
    """Hash of fit's own program text and tables: a changed rule makes every kept row old."""
    found = hashlib.sha256(__version__.encode())
    root = Path(str(resources.files("fit")))
    for path in sorted(root.rglob("*")):
        if path.suffix in (".py", ".csv"):
            found.update(path.relative_to(root).as_posix().encode() + b"\0")
            found.update(hashlib.sha256(path.read_bytes()).digest())
    return found.hexdigest()


def key(build: Build, wishes: Iterable[str]) -> str:
    """The name of a build's file of rows: a hash of all that a row depends on but its box."""
    sources = sorted(f"{source.path} {source.sha256}" for source in build.sources)
    text = "\n".join([program(), *wishes, *sources])
    return hashlib.sha256(text.encode()).hexdigest()


class Kept:
    """The rows kept of one build; without a folder nothing is found and nothing kept.

    Args:
        where: the folder, or None.
        name: the file's name, from `key`.
    """

    def __init__(self, where: Path | None, name: str) -> None:
        self._path = None if where is None else where / f"rows-{name}.json"
        self._rows: dict[str, tuple[Row, ...]] = {}
        self._changed = False
        if self._path is not None:
            self._rows = _read(self._path)

    def get(self, sha256: str) -> tuple[Row, ...] | None:
        """The rows of a box by the hash of its file; None when they are not kept."""
        return self._rows.get(sha256) if sha256 else None

    def put(self, sha256: str, rows: tuple[Row, ...]) -> None:
        """Remember the rows of a box."""
        if sha256 and self._path is not None:
            self._rows[sha256] = rows
            self._changed = True

    def save(self) -> None:
        """Write what is new, whole or not at all; a disk that will not take it does not matter."""
        if self._path is None or not self._changed:
            return
        told = {sha: [as_data(row) for row in rows] for sha, rows in self._rows.items()}
        data = json.dumps(told, ensure_ascii=False, allow_nan=False).encode()
        if len(data) <= _BIGGEST:
            with suppress(CannotWrite):
                whole_file(self._path, data)
                _tidy(self._path.parent)
        self._changed = False


def _read(path: Path) -> dict[str, tuple[Row, ...]]:
    """The rows in a file; none when it is missing or was spoilt."""
    try:
        data = json.loads(path.read_bytes())
        return {str(sha): tuple(row_from(r) for r in rows) for sha, rows in data.items()}
    except (OSError, ValueError, TypeError, AttributeError):
        return {}


def _tidy(where: Path) -> None:
    with suppress(OSError):
        files = [(p.stat().st_mtime, p) for p in where.glob("rows-*.json")]
        for _, path in sorted(files, reverse=True)[KEPT:]:
            path.unlink(missing_ok=True)
