"""From the bytes of a YAML file to plain values that know their line and column.

The words are those of YAML 1.2 (core schema): `on`, `yes` and `no` are words like any other, and
`010` is ten. The tree is built from the parser's events with a limit on depth and size, so that
no file, however odd, can exhaust memory or the stack.

Source of the number and word forms: YAML 1.2.2, section 10.3.2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

import yaml

from fit.findings import Problem, Span
from fit.read.grumbles import plain_words, problem

DEEPEST: Final = 24
"""Deepest nesting of blocks and lists accepted; a build needs eight."""

LARGEST: Final = 10_000
"""Most values accepted in one file, repeated ones counted each time."""

BIGGEST_FILE: Final = 1_000_000
"""Largest file accepted, bytes; a build has a few thousand."""

_INTEGER: Final = re.compile(r"[-+]?[0-9]+")
_FLOAT: Final = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_INFINITE: Final = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
_WORDS: Final[dict[str, bool | None]] = {
    "": None,
    "~": None,
    **dict.fromkeys(("null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_TAB: Final = re.compile(r"^[ ]*(\t)[ \t]*[^\s#]", re.MULTILINE)
_CONTROL: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufeff\ufffe\uffff]")

Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The C parser where PyYAML was built with it, else the slow one: both give the same events."""

Scalar = str | int | float | bool | None


@dataclass(slots=True)
class Node:
    """A value and its place: a scalar, a list of nodes, or a block of keys."""

    span: Span
    value: Scalar | list[Node] | dict[str, Key]
    size: int = 1
    depth: int = 1

    def plain(self) -> Any:
        """The value as plain Python data."""
        if isinstance(self.value, dict):
            return {word: key.node.plain() for word, key in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


@dataclass(slots=True)
class Key:
    """A key's own place, and its value."""

    span: Span
    node: Node


@dataclass(slots=True)
class _Open:
    """A list or block still being read; `key` is the key whose value comes next."""

    node: Node
    anchor: str | None
    key: tuple[str, Span] | None = None


class _Stop(Exception):
    """Reading cannot go on."""

    def __init__(self, reason: Problem) -> None:
        super().__init__(str(reason))
        self.reason = reason


@dataclass(slots=True)
class _Builder:
    """Puts events together. Duplicate keys are noted and read on; all else stops."""

    file: str
    root: Node | None = None
    stack: list[_Open] = field(default_factory=list)
    anchors: dict[str, Node] = field(default_factory=dict)
    unfinished: set[str] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)
    count: int = 0

    def span(self, mark: Any) -> Span:
        """The place of a mark of the parser."""
        return Span(self.file, mark.line + 1, mark.column + 1)

    def stop(self, event: Any, wrong: str, right: str) -> _Stop:
        """The end of reading at an event."""
        return _Stop(problem(self.span(event.start_mark), wrong, right))

    def take(self, event: Any) -> None:
        """Handle one event."""
        if isinstance(event, yaml.ScalarEvent):
            self.scalar(event)
        elif isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            self.open(event)
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            self.close(event)
        elif isinstance(event, yaml.AliasEvent):
            self.alias(event)
        elif isinstance(event, yaml.DocumentStartEvent) and self.root is not None:
            raise self.stop(
                event, "a second document begins here", "keep one per file: no line of '---'"
            )

    def scalar(self, event: Any) -> None:
        """A text, number or word: a key where a key is due, else a value."""
        if event.tag is not None and event.tag != "!":
            raise self._tag(event)
        span = self.span(event.start_mark)
        if self.stack and isinstance(self.stack[-1].node.value, dict) and not self.stack[-1].key:
            self._key(event.value, span)
            return
        value = _resolved(event.value) if event.style is None or event.style == "" else event.value
        node = Node(span, value)
        if event.anchor:
            self.anchors[event.anchor] = node
        self._put(node, event)

    def open(self, event: Any) -> None:
        """A list or a block begins."""
        if event.tag is not None:
            raise self._tag(event)
        self._no_key_due(event)
        if len(self.stack) >= DEEPEST:
            raise self.stop(
                event, "this is nested too deeply", f"at most {DEEPEST} blocks inside each other"
            )
        value: Any = {} if isinstance(event, yaml.MappingStartEvent) else []
        self.stack.append(_Open(Node(self.span(event.start_mark), value), event.anchor))
        if event.anchor:
            self.anchors.pop(event.anchor, None)
            self.unfinished.add(event.anchor)

    def close(self, event: Any) -> None:
        """A list or a block ends."""
        done = self.stack.pop()
        if done.anchor:
            self.unfinished.discard(done.anchor)
            self.anchors[done.anchor] = done.node
        self._put(done.node, event)

    def alias(self, event: Any) -> None:
        """A value given before is repeated."""
        self._no_key_due(event)
        if event.anchor in self.unfinished:
            raise self.stop(event, f"'*{event.anchor}' repeats itself", "write the value out")
        node = self.anchors.get(event.anchor)
        if node is None:
            raise self.stop(
                event,
                f"'*{event.anchor}' repeats a value that was never marked",
                f"mark it with '&{event.anchor}' before, or write it out",
            )
        if len(self.stack) + node.depth > DEEPEST:
            raise self.stop(event, "this is nested too deeply", "write the value out")
        self._put(node, event)

    def _tag(self, event: Any) -> _Stop:
        return self.stop(event, "'!' in front of a value is not used here", "write it in quotes")

    def _no_key_due(self, event: Any) -> None:
        top = self.stack[-1] if self.stack else None
        if top is not None and isinstance(top.node.value, dict) and top.key is None:
            raise self.stop(
                event, "a key must be one word, not a list or block", "write 'key: value'"
            )

    def _key(self, word: str, span: Span) -> None:
        top = self.stack[-1]
        assert isinstance(top.node.value, dict)
        earlier = top.node.value.get(word)
        if earlier is not None:
            self.problems.append(
                problem(
                    span,
                    f"'{word[:60]}' stands here twice: first on line {earlier.span.line}, "
                    f"again on line {span.line}",
                    "take one of the two out",
                )
            )
        top.key = (word, span)

    def _put(self, node: Node, event: Any) -> None:
        """Put a finished value where it belongs."""
        self.count += node.size
        if not self.stack:
            self.root = node
            return
        top = self.stack[-1]
        top.node.size += node.size
        top.node.depth = max(top.node.depth, node.depth + 1)
        if top.node.size > LARGEST or self.count > 3 * LARGEST:
            raise self.stop(
                event, "this file holds far too many values", f"at most {LARGEST}, repeats counted"
            )
        if isinstance(top.node.value, list):
            top.node.value.append(node)
            return
        assert isinstance(top.node.value, dict)
        assert top.key is not None
        word, span = top.key
        top.node.value.setdefault(word, Key(span, node))
        top.key = None


def _resolved(text: str) -> Scalar:
    """An unquoted scalar as YAML 1.2 understands it."""
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.fullmatch(text):
        # Beyond 15 digits no float holds it exactly, and nothing here is that long.
        return int(text) if len(text) <= 15 else float(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    if _INFINITE.fullmatch(text):
        return float(text.replace(".", "", 1))
    return text


def compose(data: bytes, file: str) -> tuple[Node | None, tuple[Problem, ...]]:
    """Read the bytes of one file.

    Args:
        data: the file's bytes.
        file: its name for messages.

    Returns:
        The tree (None when there is none to work with) and every problem found.
    """
    text, fault = _decoded(data, file)
    if fault is not None:
        return None, (fault,)
    tab = _TAB.search(text)
    if tab is not None:
        place = _place(file, text, tab.start(1))
        return None, (problem(place, "this line is indented with a tab", "indent with spaces"),)
    builder = _Builder(file)
    try:
        for event in events(text):
            builder.take(event)
    except _Stop as stop:
        return None, (*builder.problems, stop.reason)
    except yaml.YAMLError as error:
        return None, (*builder.problems, plain_words(error, file, text))
    root = builder.root
    if root is None or root.value is None:
        return None, (problem(Span(file, 1, 1), "this file is empty", "write 'key: value' lines"),)
    if not isinstance(root.value, dict):
        return None, (
            problem(root.span, "this file is not made of 'key: value' lines", "begin with one"),
        )
    return root, tuple(builder.problems)


def events(text: str) -> Iterator[Any]:
    """The parser's events of a text, in order.

    Raises:
        yaml.YAMLError: where the text cannot be read.
    """
    loader = Loader(text)
    try:
        while (event := loader.get_event()) is not None:
            yield event
            if isinstance(event, yaml.StreamEndEvent):
                return
    finally:
        loader.dispose()


def _place(file: str, text: str, index: int) -> Span:
    before = text[:index]
    return Span(file, before.count("\n") + 1, index - (before.rfind("\n") + 1) + 1)


def _decoded(data: bytes, file: str) -> tuple[str, Problem | None]:
    """The text of a file, or what keeps it from being text."""
    start = Span(file, 1, 1)
    if len(data) > BIGGEST_FILE:
        return "", problem(
            start,
            f"this file is {len(data)} bytes long",
            f"at most {BIGGEST_FILE}; is it the right one?",
        )
    if b"\0" in data:
        return "", problem(start, "this is no text file", "name a YAML file, saved as UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line, column = before.count(b"\n") + 1, error.start - (before.rfind(b"\n") + 1) + 1
        return "", problem(
            Span(file, line, column), "this line is not UTF-8 text", "save the file as UTF-8"
        )
    control = _CONTROL.search(text)
    if control is not None:
        return "", problem(
            _place(file, text, control.start()),
            "this line holds a character that cannot be printed",
            "take it out",
        )
    return text, None
