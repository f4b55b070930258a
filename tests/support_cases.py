"""Rules tested by data: `tests/cases/*.yaml` holds small builds and what a rule says of them.

A file names its rule, a base build and cases. Each case gives the changes to the base (`drop` takes
out keys, as dotted paths; then the blocks of `change` are merged key by key) and what is expected:

- ``grade`` and ``about``: a finding of that grade about just these things, in any order;
- ``have``, ``need``: its figures, worked out by hand, to 0.01 mm (or ``off``);
- ``worst``: the worst grade the rule gives at all; `grade` when left out;
- ``silent: true``: the rule finds nothing about these things.

Under ``edges`` a file says where a rule's limit lies: the changes as above, ``move``: the dotted
path of one size, ``limit``: where it is just enough, worked out by hand, ``passes``: on which side
of it the rule is content.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from fit.check.inspect import RULES
from fit.check.rule import Inspection, Rule
from fit.findings import Finding, Grade
from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.read import load_build

CASES = Path(__file__).parent / "cases"

EDGE = 0.05
"""A case within this of the limit, mm, proves where the limit lies."""

NEVER_A_CLASH = {
    "board-grid": "perfboard can be sawn anywhere: off the grid is only more work",
    "holes-on-grid": "a hole can be drilled anywhere: off the grid is only more work",
    "reused": "a hole that is too narrow or too far off is not taken for one that serves",
    "opened-up": "what a cut does not hold all of is no hole it opens up",
    "bare-holes": "a hole is no reason not to build: plug it",
    "warmth": "no promise either way: from 14 K on it is worth a thought",
}
"""Rules whose worst verdict is tight, and why; their limit lies between clear and tight."""


def worst_of(rule: str) -> Grade:
    """What a rule says when it is least content."""
    return Grade.TIGHT if rule in NEVER_A_CLASH else Grade.CLASH


class _Words(yaml.SafeLoader):
    """YAML whose `on` is a word, as in the files people write (YAML 1.2)."""


_Words.yaml_implicit_resolvers = {
    first: [(tag, form) for tag, form in known if tag != "tag:yaml.org,2002:bool"]
    for first, known in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_Words.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(true|false)$"), list("tf"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One named case of one rule."""

    rule: str
    name: str
    build: dict[str, Any]
    about: frozenset[str]
    grade: Grade | None
    worst: Grade
    have: float | None
    need: float | None
    off: float
    silent: bool

    @property
    def title(self) -> str:
        """For the test report."""
        return f"{self.rule}: {self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """Where a rule's limit lies: of which size of which build, in mm."""

    rule: str
    base: dict[str, Any]
    move: str
    limit: float
    passes_above: bool
    about: frozenset[str]

    def build(self, size: float) -> dict[str, Any]:
        """The build with that size."""
        build = copy.deepcopy(self.base)
        *path, last = self.move.split(".")
        at: Any = build
        for key in path:
            at = at[_key(at, key)]
        at[_key(at, last)] = round(size, 9)
        return build


def _key(at: Any, word: str) -> str | int:
    return int(word) if isinstance(at, list) else word


def case_files() -> tuple[Path, ...]:
    """Every file of cases."""
    return tuple(sorted(CASES.glob("*.yaml")))


def cases_in(path: Path) -> Iterator[Case]:
    """The cases of one file."""
    data = yaml.load(path.read_text(encoding="utf-8"), Loader=_Words)
    for entry in data["cases"]:
        build = _changed(data["base"], entry)
        silent = bool(entry.get("silent", False))
        grade = None if silent else Grade(entry["grade"])
        yield Case(
            rule=entry.get("rule", data["rule"]),
            name=entry["name"],
            build=build,
            about=frozenset(entry.get("about", [])),
            grade=grade,
            worst=Grade(entry.get("worst", grade or Grade.CLEAR)),
            have=entry.get("have"),
            need=entry.get("need"),
            off=float(entry.get("off", 0.01)),
            silent=silent,
        )


def _changed(base: dict[str, Any], entry: dict[str, Any]) -> dict[str, Any]:
    build = copy.deepcopy(base)
    for dotted in entry.get("drop", []):
        _drop(build, dotted)
    changed: dict[str, Any] = merged(build, entry.get("change", {}))
    return changed


def edges_in(path: Path) -> Iterator[Edge]:
    """The edges of one file."""
    data = yaml.load(path.read_text(encoding="utf-8"), Loader=_Words)
    for entry in data.get("edges", []):
        yield Edge(
            rule=entry.get("rule", data["rule"]),
            base=_changed(data["base"], entry),
            move=entry["move"],
            limit=float(entry["limit"]),
            passes_above={"above": True, "below": False}[entry["passes"]],
            about=frozenset(entry["about"]),
        )


def all_edges() -> tuple[Edge, ...]:
    """Every edge of every file."""
    return tuple(edge for path in case_files() for edge in edges_in(path))


def all_cases() -> tuple[Case, ...]:
    """Every case of every file."""
    return tuple(case for path in case_files() for case in cases_in(path))


def case_named(name: str) -> Case:
    """The case of that name."""
    return next(case for case in all_cases() if case.name == name)


def merged(base: Any, change: Any) -> Any:
    """Blocks merged key by key; anything else replaced."""
    if not (isinstance(base, dict) and isinstance(change, dict)):
        return copy.deepcopy(change)
    both = {k: copy.deepcopy(v) for k, v in base.items()}
    for key, value in change.items():
        both[key] = merged(both[key], value) if key in both else copy.deepcopy(value)
    return both


def _drop(build: dict[str, Any], dotted: str) -> None:
    *path, last = dotted.split(".")
    at = build
    for key in path:
        at = at[key]
    del at[last]


def scene_of(build: dict[str, Any], folder: Path) -> Scene:
    """A build as data, written to a file, read and put together."""
    path = folder / "case.yaml"
    path.write_text(yaml.safe_dump(build, allow_unicode=True, sort_keys=False), encoding="utf-8")
    scene = assemble(load_build(path))
    assert not scene.open, f"the case leaves {scene.open} without a place"
    return scene


def rule_named(name: str) -> Rule:
    """A rule by its name."""
    return next(rule for rule in RULES if rule.name == name)


def findings_of(case: Case, folder: Path) -> tuple[Finding, ...]:
    """What the case's rule says of its build."""
    return tuple(rule_named(case.rule).check(Inspection(scene_of(case.build, folder))))
