"""Writes places that were found into a build file, and leaves every other character as it is.

The values are put where they stand (fit/read/spots.py); then the new text is read again and
compared with what it should say, so that no slip of this module can spoil a person's file.
"""

from __future__ import annotations

import contextlib
import hashlib
import math
import os
import re
import stat
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from fit.findings import Problem, Span, UnusableInput
from fit.model.build import Build, Coordinate, How, Used
from fit.model.words import FaceName, Half
from fit.read.catalogue import shown
from fit.read.edits import Editor, Value, Wanted
from fit.read.grumbles import problem
from fit.read.marks import compose
from fit.read.rewrite_board import board_wanted
from fit.read.spots import Spot, comments, spots
from fit.units import Length, UnitError, parse_length

_BOM: Final = "\ufeff"
_BARE: Final = re.compile(r"[-+0-9.eE]*")
"""A number without a unit: written as such."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What to write for one part; None leaves a thing as the file has it.

    Attributes:
        across, up: coordinates of its place.
        on: the face, where the file names several.
        turn: degrees.
        standoff: height of the spacers, mm.
        gap: free space in front of a display, mm.
        board: the part as read and with its board's size settled.
    """

    across: Coordinate | None = None
    up: Coordinate | None = None
    on: FaceName | None = None
    turn: int | None = None
    standoff: Length | None = None
    gap: Length | None = None
    board: tuple[Used, Used] | None = None


class RewriteFault(Exception):
    """The new text does not say what it should: a fault of this module. Nothing was written."""


def changes(before: Build, after: Build) -> tuple[dict[str, Change], Half | None]:
    """What must be written into the file of `before` so that it says `after`.

    Args:
        before: a build as read.
        after: the same build with places filled in and choices settled: a choice counts as
            settled when `after` has no alternatives to it.

    Returns:
        The changes by part, without parts that stay as they are; the half that carries the
        boards, or None when the file says it already.
    """
    old = {used.name: used for used in before.parts}
    found = {used.name: _change(old[used.name], used) for used in after.parts}
    settled = before.either_half and not after.either_half
    carrier = after.carrier if settled or after.carrier is not before.carrier else None
    return {name: one for name, one in found.items() if one != Change()}, carrier


def _change(old: Used, new: Used) -> Change:
    def settled(value: Any, was: Any, choices: tuple[Any, ...], left: tuple[Any, ...]) -> Any:
        return value if value != was or (choices and not left) else None

    at, was = new.at, old.at
    window, had = new.window, old.window
    gap = None
    if window is not None and had is not None:
        ends = ((had.gap_to,) if had.gap_to is not None else (), ())
        gap = settled(window.gap, had.gap, *ends) if window.gap_to is None else None
    across = at.across if at is not None else None
    up = at.up if at is not None else None
    return Change(
        across=None if was is not None and was.across == across else across,
        up=None if was is not None and was.up == up else up,
        on=settled(new.on, old.on, old.also_on, new.also_on),
        turn=settled(new.turn, old.turn, old.turns, new.turns),
        standoff=settled(new.standoff, old.standoff, old.standoffs, new.standoffs),
        gap=gap,
        board=(old, new) if (old.part, old.joint) != (new.part, new.joint) else None,
    )


def with_places(
    text: str,
    changes: Mapping[str, Change],
    *,
    carrier: Half | None = None,
    file: str = "build file",
) -> str:
    """A build file's text with places written into it.

    Comments, order, quotes, spacing and line ends stay as they are. A value that is there already,
    in whatever unit, is left alone, so that writing twice is writing once.

    Args:
        text: the whole file, with its own line ends (open it with ``newline=""``).
        changes: what to write, by part name.
        carrier: the half that carries the boards; None: as the file has it.
        file: its name for messages.

    Raises:
        UnusableInput: when the text cannot be read, has no such part, or repeats a part by
            '*name' so that a change would change two.
        RewriteFault: when the new text does not say what it should.
    """
    bom = _BOM if text.startswith(_BOM) else ""
    body = text.removeprefix(_BOM)
    tree = _plain(body, file)
    wanted = _needed(_wanted(changes, carrier, tree), tree)
    if not wanted:
        return text
    expected = _merged(wanted, tree)
    root = spots(body)
    editor = Editor(body, root, file)
    _can_take(editor, root, changes)
    editor.put(root, wanted)
    new = editor.finish()
    _compare(body, new, expected, file)
    return bom + new


def write_places(
    path: Path,
    changes: Mapping[str, Change],
    *,
    carrier: Half | None = None,
    sha256: str | None = None,
) -> bool:
    """Write places into a build file, whole or not at all.

    The new text goes into a file beside it, which then takes its place with its permissions. A
    link is followed: the file it points to is changed.

    Args:
        path: the build file.
        changes, carrier: as for `with_places`.
        sha256: of the file when it was read, as in `Build.sources`; None: not compared.

    Returns:
        Whether anything had to be changed.

    Raises:
        UnusableInput: as `with_places`; or the file is another one than was read.
        RewriteFault: as `with_places`.
        OSError: when the disk will not take it; the file is as it was.
    """
    real, name = Path(os.path.realpath(path)), shown(path)
    data = real.read_bytes()
    if sha256 is not None and hashlib.sha256(data).hexdigest() != sha256:
        raise UnusableInput((_changed(name),))
    _plain_bytes(data, name)
    old = data.decode("utf-8")
    new = with_places(old, changes, carrier=carrier, file=name)
    if new == old:
        return False
    _swap(real, data, new.encode("utf-8"), name)
    return True


def _swap(real: Path, old: bytes, new: bytes, name: str) -> None:
    """Put new contents in a file's place by renaming."""
    handle, beside = tempfile.mkstemp(prefix=f".{real.name}.", suffix=".new", dir=real.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(new)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(stat.S_IMODE(real.stat().st_mode))
        if real.read_bytes() != old:
            raise UnusableInput((_changed(name),))
        Path(beside).replace(real)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(beside).unlink()
        raise


def _changed(name: str) -> Problem:
    return problem(
        Span(name, 1, 1), "this file was changed while places were sought", "run it once more"
    )


def _plain(text: str, file: str) -> dict[str, Any]:
    """The text as plain data.

    Raises:
        UnusableInput: when it cannot be read.
    """
    return _plain_bytes(text.encode("utf-8", "surrogatepass"), file)


def _plain_bytes(data: bytes, file: str) -> dict[str, Any]:
    root, problems = compose(data, file)
    if root is None or problems:
        raise UnusableInput(problems)
    tree: dict[str, Any] = root.plain()
    return tree


def _wanted(changes: Mapping[str, Change], carrier: Half | None, tree: dict[str, Any]) -> Wanted:
    """What the file should say, nested as in the file."""
    there = _inside(tree.get("parts"))
    wanted: Wanted = {
        "parts": {name: _part(change, there.get(name)) for name, change in changes.items()}
    }
    if carrier is not None:
        wanted["carrier"] = Value(carrier.value, default=Half.BODY.value)
    return wanted


def _inside(there: Any) -> dict[str, Any]:
    """A block of keys, or a list by its numbers, to look into; empty for anything else."""
    if isinstance(there, list):
        return {str(n): value for n, value in enumerate(there)}
    return there if isinstance(there, dict) else {}


def _needed(wanted: Wanted, tree: dict[str, Any]) -> Wanted:
    """What of it the file does not say yet."""
    found: Wanted = {}
    for key, value in wanted.items():
        there = tree.get(key)
        if isinstance(value, Value):
            if not (_same(there, value.data) or (there is None and value.data == value.default)):
                found[key] = value
        elif more := _needed(value, _inside(there)):
            found[key] = more
    return found


def _same(there: Any, data: Any) -> bool:
    """Whether a value of the file means the same, in whatever unit it is written."""
    if isinstance(data, dict) and isinstance(there, dict):
        return data.keys() == there.keys() and all(_same(there[k], v) for k, v in data.items())
    if isinstance(data, list) or isinstance(there, list | dict):
        alike = isinstance(data, list) and isinstance(there, list) and len(there) == len(data)
        return alike and all(map(_same, there, data))
    try:
        one, other = parse_length(there), parse_length(data)
    except UnitError:
        return bool(there == data)
    return (one, one.plus_minus) == (other, other.plus_minus)


def _merged(wanted: Wanted, tree: dict[str, Any]) -> dict[str, Any]:
    """The file's data with the values set."""
    result = dict(tree)
    for key, value in wanted.items():
        there = result.get(key)
        if isinstance(value, Value):
            result[key] = value.data
            continue
        inner = _merged(value, _inside(there))
        result[key] = list(inner.values()) if isinstance(there, list) else inner
    return result


def _can_take(editor: Editor, root: Spot, changes: Mapping[str, Change]) -> None:
    """Refuse parts that are not there, and places that are settled in another way."""
    parts = root.find("parts")
    for name, change in changes.items():
        entry = parts[1].find(name) if parts is not None else None
        if entry is None:
            at = parts[0].start if parts is not None else root.start
            wrong = f"there is no part called '{name}' in this build any more"
            editor.refuse(at, wrong, "run it once more")
            continue
        place = entry[1].find("at")
        beside = place[1].find("beside") if place is not None else None
        if beside is not None and (change.across is not None or change.up is not None):
            editor.refuse(
                beside[0].start,
                f"'{name}' sits beside another part: its place is settled by that",
                "take 'beside' out to have it placed",
            )


def _compare(old: str, new: str, expected: dict[str, Any], file: str) -> None:
    """Read the new text and compare it with what it should say.

    Raises:
        RewriteFault: when it says anything else, or has lost a comment.
    """
    root, problems = compose(new.encode("utf-8", "surrogatepass"), file)
    if root is None or problems:
        raise RewriteFault(f"the new text cannot be read: {'; '.join(map(str, problems))}")
    if root.plain() != expected:
        raise RewriteFault("the new text does not say what it should")
    if _remarks(old) != _remarks(new):
        raise RewriteFault("a comment was lost")


def _remarks(text: str) -> list[str]:
    return [words for _, words in comments(text, spots(text), 0, len(text))]


def _part(change: Change, there: Any) -> Wanted:
    """What is to be written for one part."""
    found: Wanted = {} if change.board is None else board_wanted(*change.board, there)
    if change.on is not None:
        found["on"] = Value(change.on.value)
    at: Wanted = {
        key: _coordinate(given)
        for key, given in (("across", change.across), ("up", change.up))
        if given is not None
    }
    if at:
        found["at"] = at
    if change.turn is not None:
        found["turn"] = Value(change.turn, default=0)
    if change.gap is not None:
        found["window"] = {"gap": _length(change.gap)}
    if change.standoff is not None:
        found["standoff"] = _length(change.standoff)
    return found


def _coordinate(given: Coordinate) -> Value:
    if given.how is How.CENTRE:
        return Value(How.CENTRE.value)
    if given.how is How.AT:
        return _length(given.value)
    if given.how is How.SHARE:
        return Value({given.how.value: _number(float(given.value))})
    return Value({given.how.value: _length(given.value).data})


def _length(length: Length) -> Value:
    """A length as it was typed where that says the same, else in mm."""
    number = _number(float(length))
    if length.words and not _BARE.fullmatch(length.words):
        with contextlib.suppress(UnitError):
            typed = parse_length(length.words)
            if (typed, typed.plus_minus) == (length, length.plus_minus):
                return Value(length.words)
    if length.plus_minus:
        return Value(f"{number} ± {_number(length.plus_minus)}")
    return Value(number)


def _number(value: float) -> int | float:
    """A number as a file has it: whole where it is whole."""
    if not math.isfinite(value):
        raise RewriteFault(f"{value} cannot be a place")
    return int(value) if value == int(value) else value
