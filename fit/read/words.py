"""From pydantic's errors to problems in plain words at the right place of the file.

Errors are told apart by their type code and location only, never by their text.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from fit.findings import Problem, Span
from fit.read.grumbles import problem
from fit.read.marks import Key, Node
from fit.read.scalars import FAULT, FORMS, Keys, did_you_mean, kind_of, listed, near
from fit.read.schema_board import KIND_FAULTS

Loc = tuple[str | int, ...]

Say = Callable[[Loc, str, str], None]
"""Reports a problem: the keys that lead to it, what is wrong, what would be right."""

MOST_PROBLEMS: Final = 200
"""Most problems told of one file: nobody mends more at once."""

_TURNED: Final = {
    "from_rim": "it counts up the face: write it under 'up'",
    "from_floor": "it counts up the face: write it under 'up'",
    "from_front": "it counts up the face: write it under 'up'",
    "from_back": "it counts up the face: write it under 'up'",
    "from_left": "it counts to the right: write it under 'across'",
    "from_right": "it counts to the right: write it under 'across'",
}
"""Keys of one coordinate that are often written under the other."""


def follow(root: Node, loc: Iterable[str | int]) -> tuple[Key | None, Node]:
    """The node at a location, with its key if it has one; stops at the last one that exists.

    Words that name no key (pydantic's tags for the form chosen) are passed over.
    """
    key, node = None, root
    for step in loc:
        value = node.value
        if isinstance(value, dict) and step in value:
            key = value[str(step)]
            node = key.node
        elif isinstance(value, list) and isinstance(step, int) and step < len(value):
            key, node = None, value[step]
    return key, node


def place_of(root: Node, loc: Loc) -> Span:
    """Where to point for a location: the value, or the block it should be in."""
    key, node = follow(root, loc)
    if key is not None and isinstance(node.value, dict | list):
        return key.span
    return node.span


def hollow(data: Any) -> bool:
    """Whether a value is empty or holds an empty one."""
    if isinstance(data, dict):
        return any(map(hollow, data.values()))
    return data is None if not isinstance(data, list) else any(map(hollow, data))


def empties(root: Node) -> list[Problem]:
    """A problem for each key or list entry without a value."""
    found: list[Problem] = []
    if isinstance(root.value, dict):
        for word, key in root.value.items():
            if key.node.value is None:
                found.append(
                    problem(
                        key.span, f"'{word[:60]}' has no value", "write one, or take the line out"
                    )
                )
            else:
                found += empties(key.node)
    elif isinstance(root.value, list):
        for node in root.value:
            if node.value is None:
                found.append(problem(node.span, "this list entry has no value", "write one"))
            else:
                found += empties(node)
    return found


class Translator:
    """Turns the errors of one file.

    Args:
        root: the file's tree.
        data: the same as plain values, as pydantic saw it.
        seen: from `id` of a block to the class it was read as.
    """

    def __init__(self, root: Node, data: Any, seen: Mapping[int, type[Keys]]) -> None:
        self.root = root
        self.data = data
        self.seen = seen

    def problems(self, error: ValidationError) -> list[Problem]:
        """Every problem of one validation, each place once."""
        found: dict[tuple[Span, str], Problem] = {}
        every = error.errors(include_url=False, include_input=False)
        for details in every[:MOST_PROBLEMS]:
            loc: Loc = tuple(details["loc"])
            if self._at(loc) is None and details["type"] not in ("missing", "extra_forbidden"):
                continue  # an empty value: reported by `empties`
            made = self._problem(details, loc)
            found.setdefault((made.where, made.wrong), made)
        return list(found.values())

    def _at(self, loc: Loc) -> Any:
        """The value at a location, as far as it exists."""
        data: Any = self.data
        for step in loc:
            in_list = isinstance(data, list) and isinstance(step, int) and step < len(data)
            if in_list or (isinstance(data, dict) and step in data):
                data = data[step]
        return data

    def _problem(self, details: ErrorDetails, loc: Loc) -> Problem:
        code = details["type"]
        context: Any = details.get("ctx", {})
        if code == "missing":
            return self._missing(loc)
        if code == "extra_forbidden":
            return self._unknown_key(loc)
        if loc and loc[-1] == "[key]":
            key, _ = follow(self.root, loc[:-1])
            where = key.span if key is not None else self.root.span
            return problem(where, context["wrong"], context["right"])
        where = place_of(self.root, loc)
        if code == FAULT:
            return problem(where, context["wrong"], context["right"])
        if code in KIND_FAULTS:
            return self._kind(loc, KIND_FAULTS[code])
        if code in FORMS:
            return problem(where, *FORMS[code])
        return problem(where, *self._shape(code, context, loc))

    def _shape(self, code: str, context: Any, loc: Loc) -> tuple[str, str]:
        """Words for a value of the wrong shape."""
        what = self._name(loc)
        is_now = kind_of(self._at(loc))
        if code in ("too_long", "too_short"):
            count, wanted = context["actual_length"], context.get("max_length")
            return f"{what} has {count} values", f"write {wanted}" if wanted else "write more"
        if code == "list_type":
            right = "write a list: [one, other], or each on a line of its own after '-'"
            return f"{what} is {is_now}, not a list", right
        if code == "tuple_type":
            return f"{what} is {is_now}, not a list", "write a list such as [1, 2]"
        if code in ("model_type", "model_attributes_type", "dict_type"):
            return f"{what} is {is_now}, not a block of keys", "write {key: value}"
        return f"{what} cannot be read", "see the format's reference for what can stand here"

    def _name(self, loc: Loc) -> str:
        words = [step for step in loc if isinstance(step, str) and ":" not in step]
        return f"'{words[-1]}'" if words else "this file"

    def _missing(self, loc: Loc) -> Problem:
        *before, last = loc
        key, node = follow(self.root, before)
        where = key.span if key is not None else node.span
        if isinstance(last, int):
            have = len(node.value) if isinstance(node.value, list) else 0
            return problem(
                where,
                f"{self._name(tuple(before))} has {have} {'value' if have == 1 else 'values'}, "
                "too few",
                "write all of them, such as [12, 30]",
            )
        cls = self.seen.get(id(self._at(tuple(before))))
        about = ""
        if cls is not None:
            for name, info in cls.model_fields.items():
                if last in (name, info.alias) and info.description:
                    about = f" ({info.description})"
        inside = f" in {self._name(tuple(before))}" if key is not None else ""
        return problem(where, f"'{last}' is missing{inside}", f"add '{last}:'{about}")

    def _unknown_key(self, loc: Loc) -> Problem:
        *before, word = loc
        key, _ = follow(self.root, loc)
        where = key.span if key is not None else self.root.span
        cls = self.seen.get(id(self._at(tuple(before))))
        known = cls.key_words() if cls is not None else ()
        right = did_you_mean(word, known, f"the keys here are {listed(known, 'and')}")
        if word in _TURNED and near(word, known) != word:
            right = _TURNED[str(word)]
        return problem(where, f"'{str(word)[:60]}' is not a key here", right)

    def _kind(self, loc: Loc, choices: tuple[str, ...]) -> Problem:
        key, node = follow(self.root, loc)
        where = key.span if key is not None else node.span
        options = f"write {listed(choices)}"
        if not isinstance(node.value, dict):
            return problem(
                node.span,
                f"{kind_of(node.plain())} is neither a name nor a block of keys",
                "write a catalogue name, or a block with 'kind:'",
            )
        kind = node.value.get("kind")
        if kind is None:
            return problem(where, "'kind' is missing", f"add 'kind:' with {listed(choices)}")
        word = kind.node.plain()
        return problem(
            kind.node.span,
            f"{kind_of(word)} is not a kind that can stand here",
            did_you_mean(word, choices, options) if isinstance(word, str) else options,
        )
