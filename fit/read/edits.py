"""Sets keys in a YAML text by changing only the characters that must change."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, TypeAlias

from fit.findings import Problem, Span, UnusableInput
from fit.read.grumbles import problem
from fit.read.spots import BREAK, Form, Spot, comments, line_end, line_start

_PLAIN: Final = re.compile(r"[A-Za-z0-9.+-][A-Za-z0-9 ./±+\"-]*")
"""Words that need no quotes in a flow or block of YAML; the first sign opens nothing."""

_ORDER: Final = (
    *("build", "about", "box", "stands_on", "carrier"),
    *("use", "on", "at", "across", "up", "turn", "window", "standoff"),
)
"""A key that is new is written behind the last of the keys before it here."""


@dataclass(frozen=True, slots=True)
class Value:
    """What to write after a key.

    Attributes:
        data: a word, a number, a list of them, or keys with such values.
        default: what the key left out means; never written where the key is left out.
    """

    data: Any
    default: Any = None

    @property
    def text(self) -> str:
        """The data as YAML, in one line."""
        return _written(self.data)


Wanted: TypeAlias = "dict[str, Value | Wanted]"
"""Values to set, nested like the blocks they stand in; in a list the key is the number from 0."""


def _written(data: Any) -> str:
    if isinstance(data, dict):
        return "{" + ", ".join(f"{key}: {_written(value)}" for key, value in data.items()) + "}"
    if isinstance(data, list):
        return "[" + ", ".join(map(_written, data)) + "]"
    if isinstance(data, int | float):
        return format(Decimal(repr(data)), "f")
    word = str(data)
    return word if _PLAIN.fullmatch(word) else "'" + word.replace("'", "''") + "'"


def _nested(wanted: Value | Wanted) -> str:
    """The text of a value, or of a whole new block of keys."""
    if isinstance(wanted, Value):
        return wanted.text
    return "{" + ", ".join(f"{key}: {_nested(value)}" for key, value in wanted.items()) + "}"


@dataclass(frozen=True, slots=True)
class _Edit:
    """The characters from `start` to before `end` become `text`."""

    start: int
    end: int
    text: str


class Editor:
    """Gathers the edits of one text.

    Args:
        text: without a byte order mark.
        root: its spots.
        file: its name for messages.
    """

    def __init__(self, text: str, root: Spot, file: str) -> None:
        self._text = text
        self._root = root
        self._file = file
        self._edits: list[_Edit] = []
        self._problems: list[Problem] = []
        self._repeated = {s.word for s in root.inner() if s.form is Form.ALIAS}

    def refuse(self, at: int, wrong: str, right: str) -> None:
        """Note why something cannot be written; `at` is an index of the text."""
        line = len(BREAK.findall(self._text, 0, at)) + 1
        span = Span(self._file, line, at - line_start(self._text, at) + 1)
        self._problems.append(problem(span, wrong, right))

    def put(self, block: Spot, wanted: Wanted, words: str = "") -> None:
        """Set keys of a block, or items of a list; keys that are not there are added.

        Args:
            block: the block of keys, or the list.
            wanted: what to set.
            words: the block's own key, for messages.
        """
        if not self._may_change(block, words):
            return
        new: Wanted = {}
        for key, value in wanted.items():
            if block.form is Form.LIST:
                item = block.items[int(key)]
                entry: tuple[Spot, Spot] | None = (item, item)
            else:
                entry = block.find(key)
            if entry is None:
                new[key] = value
            elif isinstance(value, Value):
                self._replace(block, entry, value.text)
            else:
                self.put(entry[1], value, key)
        if new:
            self._add(block, new)

    def finish(self) -> str:
        """The new text.

        Raises:
            UnusableInput: with every refusal.
        """
        if self._problems:
            by_place = sorted(self._problems, key=lambda p: (p.where.line, p.where.column))
            raise UnusableInput(tuple(by_place))
        done, parts = 0, []
        for edit in sorted(self._edits, key=lambda e: (e.start, e.end)):
            assert edit.start >= done
            parts += [self._text[done : edit.start], edit.text]
            done = edit.end
        return "".join((*parts, self._text[done:]))

    def _may_change(self, block: Spot, words: str) -> bool:
        """Whether a change to a block changes nothing but what stands there."""
        if block.form is Form.ALIAS:
            self.refuse(
                block.start,
                f"'{words}' repeats '&{block.word}', so nothing can be written into it alone",
                "write its keys out here",
            )
        elif block.form not in (Form.KEYS, Form.LIST):
            self.refuse(block.start, f"'{words}' is not a block of keys", "write {key: value}")
        elif block.anchor in self._repeated:
            self.refuse(
                block.start,
                f"'{words}' is repeated by '*{block.anchor}': a change here would change both",
                "write the other one's keys out",
            )
        elif (merge := block.find("<<")) is not None:
            self.refuse(merge[0].start, "'<<' is not used here", "write the keys out")
        else:
            return True
        return False

    def _replace(self, block: Spot, entry: tuple[Spot, Spot], new: str) -> None:
        """Put a value in another's place."""
        key, old = entry
        anchors = {s.anchor for s in old.inner()} & self._repeated
        if anchors:
            name = min(a for a in anchors if a is not None)
            self.refuse(
                old.start,
                f"'{key.word}' is repeated by '*{name}': a change here would change both",
                "write the other one out",
            )
            return
        if old.form is Form.TEXT_BLOCK or old.start == old.end:
            self.refuse(old.start, f"'{key.word}' has no plain value", "write one after the ':'")
            return
        lost = comments(self._text, self._root, key.end, old.end)
        laid_out = old.form is Form.LIST or old.form is Form.KEYS
        if not laid_out or (old.flow and not lost):
            self._edits.append(_Edit(old.start, old.end, new))
            return
        start = self._text.index(":", key.end) + 1
        if self._text[key.end : start - 1].strip(" \t"):
            self.refuse(
                key.start, f"'{key.word}' is not written in the usual way", "write 'key: value'"
            )
            return
        self._edits.append(_Edit(start, old.end, self._condensed(block, start, old.end, new, lost)))

    def _condensed(
        self, block: Spot, start: int, end: int, new: str, lost: list[tuple[int, str]]
    ) -> str:
        """A value over several lines as one line, with the comments that stood in it kept."""
        text, first = f" {new}", line_end(self._text, start)
        column = " " * self._column(block)
        for at, words in lost:
            if at < first:
                text += "  " + words
            else:
                text += self._break(at) + column + words
        rest = self._text[end : line_end(self._text, end)]
        if lost and (block.flow or rest.strip(" \t")):
            # What follows would be taken for a piece of the last comment.
            text += self._break(end) + column
        return text

    def _add(self, block: Spot, new: Wanted) -> None:
        """Add keys, each behind the keys it belongs behind."""
        if not block.entries:
            inside = self._text.index("{", block.start) + 1
            self._edits.append(_Edit(inside, inside, _nested(new)[1:-1]))
            return
        places: dict[int, list[str]] = {}
        for key, value in new.items():
            places.setdefault(_behind(block, key), []).append(f"{key}: {_nested(value)}")
        for number, lines in places.items():
            behind = block.entries[number][1]
            if block.flow:
                text = "".join(f", {line}" for line in lines)
                self._edits.append(_Edit(behind.end, behind.end, text))
            else:
                self._add_lines(block, behind, lines)

    def _add_lines(self, block: Spot, behind: Spot, lines: list[str]) -> None:
        """Add lines to a block written over several lines."""
        first = block.entries[0][0].start
        before = self._text[line_start(self._text, first) : first]
        if before.strip(" "):
            self.refuse(
                first, "nothing can be added to this block", "begin it on a line of its own"
            )
            return
        last = behind.last()
        break_ = self._break(last.start)
        if last.form is Form.TEXT_BLOCK:
            if last.end != line_start(self._text, last.end):
                right = "end the file with a line break"
                self.refuse(last.start, "nothing can be added behind this text", right)
                return
            # Such a text ends with its empty lines: the next line is the first that is not its.
            text = "".join(f"{before}{line}{break_}" for line in lines)
            self._edits.append(_Edit(last.end, last.end, text))
            return
        at = line_end(self._text, behind.end)
        self._edits.append(_Edit(at, at, "".join(f"{break_}{before}{line}" for line in lines)))

    def _break(self, index: int) -> str:
        """The line break used at an index: that of its line, else that before it."""
        found = BREAK.search(self._text, index) or BREAK.search(self._text)
        return found[0] if found else "\n"

    def _column(self, block: Spot) -> int:
        """How far in a block's keys stand."""
        start = block.entries[0][0].start
        return start - line_start(self._text, start)


def _behind(block: Spot, key: str) -> int:
    """The number of the entry a new key is written behind."""
    before = _ORDER[: _ORDER.index(key)] if key in _ORDER else ()
    found = [i for i, (word, _) in enumerate(block.entries) if word.word in before]
    return found[-1] if found else len(block.entries) - 1
