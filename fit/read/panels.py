"""Panels: groups of parts that are described once and used in several builds.

A panel's parts become parts of the build before anything else is read of it, so all that holds for
parts holds for them; what is wrong with one is told at its place in the panel's file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from fit.findings import Span
from fit.read.catalogue import Catalogue, Sort
from fit.read.grumbles import problem
from fit.read.marks import Key, Node
from fit.read.reader import Reader
from fit.read.schema_build import BuildKeys, PanelKeys
from fit.read.words import Say


def with_panels(root: Node, reader: Reader) -> Node:
    """The tree of a build with the parts of its panels among its own.

    What is wrong with the use of a panel is left to the schema; what is wrong with its file, and
    names that are taken, are noted here.

    Args:
        root: the build's tree.
        reader: finds panel files, and takes the problems.
    """
    assert isinstance(root.value, dict)
    panels = root.value.get("panels")
    if panels is None or not isinstance(panels.node.value, dict):
        return root
    own = root.value.get("parts")
    taken = dict(own.node.value) if own is not None and isinstance(own.node.value, dict) else {}
    if own is not None and not isinstance(own.node.value, dict):
        return root
    for name, use in panels.node.value.items():
        for member, key in _members(name, use, reader):
            if member in taken:
                wrong = f"panel '{name}' brings a part '{member}', and there is one already"
                reader.note([problem(use.span, wrong, "call the panel or the part otherwise")])
            taken[member] = key
    node = Node(panels.node.span, taken) if own is None else replace(own.node, value=taken)
    parts = Key(panels.span if own is None else own.span, node)
    return replace(root, value={**root.value, "parts": parts})


def _members(name: str, use: Key, reader: Reader) -> Iterator[tuple[str, Key]]:
    """The parts one use of a panel brings, by their names in the build."""
    keys = use.node.value
    if not isinstance(keys, dict) or not {"use", "on", "at"} <= set(keys):
        return
    called, at = keys["use"].node, keys["at"].node
    if not isinstance(called.value, str) or not isinstance(at.value, dict):
        return
    if set(at.value) != {"across", "up"}:
        right = "give 'across' and 'up', and nothing else"
        reader.note([problem(at.span, f"panel '{name}' needs one spot to count from", right)])
        return
    root = _file(called.value, called.span, reader)
    if root is None:
        return
    assert isinstance(root.value, dict)
    parts = root.value["parts"].node.value
    assert isinstance(parts, dict)
    for member, key in parts.items():
        assert isinstance(key.node.value, dict)
        off = key.node.value["at"]
        place = {**at.value, "off": off}
        made = {**key.node.value, "on": keys["on"], "at": Key(off.span, Node(off.span, place))}
        yield f"{name}_{member}", Key(key.span, replace(key.node, value=made))


def _file(name: str, where: Span, reader: Reader) -> Node | None:
    """The tree of a panel's file; None, with problems noted, when it cannot be used."""
    path = reader.catalogue.find(Sort.PANEL, name)
    if path is None:
        reader.unknown(Sort.PANEL, name, where)
        return None
    root = reader.tree(path)
    if root is None or not reader.right_sort(root, Sort.PANEL, name):
        return None
    return None if reader.validate(PanelKeys.model_validate, root) is None else root


def load_panel(name: str) -> PanelKeys:
    """Read a panel of the catalogue by its name, as it is written.

    Raises:
        UnusableInput: carrying every problem found.
    """
    reader = Reader(Catalogue.near(Path.cwd()))
    root = _file(name, Span(name), reader)
    reader.finish()
    assert root is not None
    keys: PanelKeys = PanelKeys.model_validate(root.plain(), context={})
    return keys


def sense_offsets(keys: BuildKeys, say: Say) -> None:
    """Report places that stand off a spot that is not known, and panels that have no spot."""
    for name, used in keys.parts.items():
        at = used.at
        if at is not None and at.off is not None and (at.across is None or at.up is None):
            say(
                ("parts", name, "at"),
                "'off' counts from a spot, and this place has none",
                "give 'across' and 'up' as well",
            )
