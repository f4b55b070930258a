"""Where each key and value of a YAML text stands, by character indexes: to change it in place."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

import yaml

from fit.read.marks import events

BREAK: Final = re.compile("\r\n|[\r\n\x85\u2028\u2029]")
"""A line's end, as YAML 1.1 counts lines."""

_COMMENT: Final = re.compile("#[^\r\n\x85\u2028\u2029]*")
"""The parser takes any '#' between two values for the start of a comment, space or no space."""


class Form(StrEnum):
    """What stands at a spot."""

    SCALAR = "scalar"
    TEXT_BLOCK = "text block"
    """A text after '|' or '>', on lines of its own."""
    ALIAS = "alias"
    KEYS = "keys"
    LIST = "list"


@dataclass(slots=True)
class Spot:
    """A value (or key) of the text.

    Attributes:
        form: what it is.
        start: index of its first character, its anchor's if it has one.
        end: index behind its last character; a block's ends with its last value.
        flow: for KEYS and LIST: written in brackets.
        anchor: the name after '&', or None.
        word: a scalar's or alias's text.
        entries: for KEYS: key and value in file order.
        items: for LIST.
    """

    form: Form
    start: int
    end: int
    flow: bool = False
    anchor: str | None = None
    word: str = ""
    entries: list[tuple[Spot, Spot]] = field(default_factory=list)
    items: list[Spot] = field(default_factory=list)

    def find(self, key: str) -> tuple[Spot, Spot] | None:
        """The entry of that key, or None."""
        return next((entry for entry in self.entries if entry[0].word == key), None)

    def inner(self) -> Iterator[Spot]:
        """Itself and everything inside, in the order of the text."""
        yield self
        for key, value in self.entries:
            yield key
            yield from value.inner()
        for item in self.items:
            yield from item.inner()

    def last(self) -> Spot:
        """The value its end is the end of."""
        if self.flow or not (self.entries or self.items):
            return self
        return (self.entries[-1][1] if self.entries else self.items[-1]).last()


def spots(text: str) -> Spot:
    """The spots of a text that can be read (see `marks.compose`): one document of keys.

    Args:
        text: without a byte order mark.
    """
    stack: list[Spot] = []
    pending: list[Spot | None] = []
    root: Spot | None = None
    for event in events(text):
        if isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            pending.pop()
            _close(stack.pop(), event)
            continue
        made = _made(event)
        if made is None:
            continue
        if not stack:
            root = made
        elif stack[-1].form is Form.LIST:
            stack[-1].items.append(made)
        elif pending[-1] is None:
            pending[-1] = made
        else:
            stack[-1].entries.append((pending[-1], made))
            pending[-1] = None
        if made.form in (Form.KEYS, Form.LIST):
            stack.append(made)
            pending.append(None)
    assert root is not None
    return root


def _close(done: Spot, event: Any) -> None:
    """End a list or a block of keys: a block without brackets with its last value."""
    if done.flow:
        done.end = event.end_mark.index
    else:
        inside = [value for _, value in done.entries] or done.items
        done.end = inside[-1].end if inside else done.start


def _made(event: Any) -> Spot | None:
    """The spot an event begins; None for an event that is no value."""
    start: int = event.start_mark.index
    end: int = event.end_mark.index
    if isinstance(event, yaml.AliasEvent):
        return Spot(Form.ALIAS, start, end, word=str(event.anchor))
    if isinstance(event, yaml.ScalarEvent):
        form = Form.TEXT_BLOCK if event.style in ("|", ">") else Form.SCALAR
        return Spot(form, start, end, anchor=event.anchor, word=event.value)
    if isinstance(event, yaml.MappingStartEvent):
        return Spot(Form.KEYS, start, end, flow=bool(event.flow_style), anchor=event.anchor)
    if isinstance(event, yaml.SequenceStartEvent):
        return Spot(Form.LIST, start, end, flow=bool(event.flow_style), anchor=event.anchor)
    return None


def comments(text: str, spot: Spot, start: int, end: int) -> list[tuple[int, str]]:
    """The comments between two indexes: where each begins, and its text with its '#'.

    Args:
        text: the whole text.
        spot: a spot that covers the stretch.
        start, end: the stretch; neither lies inside a scalar.
    """
    found: list[tuple[int, str]] = []
    at = start
    solid = (s for s in spot.inner() if s.form not in (Form.KEYS, Form.LIST))
    for leaf in solid:
        if leaf.end <= start or leaf.start >= end or leaf.start < at:
            continue
        found += _comments_in_gap(text, at, leaf.start)
        at = leaf.end
        if leaf.form is Form.TEXT_BLOCK:
            # A comment may follow the '|' or '>' itself.
            head = BREAK.search(text, leaf.start)
            found += _comments_in_gap(text, leaf.start, head.start() if head else leaf.end)
    return found + _comments_in_gap(text, at, end)


def _comments_in_gap(text: str, start: int, end: int) -> list[tuple[int, str]]:
    return [(m.start(), m[0].rstrip()) for m in _COMMENT.finditer(text, start, end)]


def line_end(text: str, index: int) -> int:
    """The index behind the last character of the line that `index` is on, before its break."""
    found = BREAK.search(text, index)
    return found.start() if found else len(text)


def line_start(text: str, index: int) -> int:
    """The index of the first character of the line that `index` is on."""
    return max((m.end() for m in BREAK.finditer(text, 0, index)), default=0)
