"""Rules tested by data: `tests/cases/*.yaml` holds small builds and what a rule says of them.

A file names its rule, a base build and cases. Each case gives the changes to the base (`drop` takes
out keys, as dotted paths; then the blocks of `change` are merged key by key) and what is expected:

- ``grade`` and ``about``: a finding of that grade about just these things, in any order;
- ``have``, ``need``: its figures, worked out by hand, to 0.01 mm (or ``off``);
- ``worst``: the worst grade the rule gives at all; `grade` when left out;
- ``silent: true``: the rule finds nothing about these things.
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


def case_files() -> tuple[Path, ...]:
    """Every file of cases."""
    return tuple(sorted(CASES.glob("*.yaml")))


def cases_in(path: Path) -> Iterator[Case]:
    """The cases of one file."""
    data = yaml.load(path.read_text(encoding="utf-8"), Loader=_Words)
    for entry in data["cases"]:
        build = copy.deepcopy(data["base"])
        for dotted in entry.get("drop", []):
            _drop(build, dotted)
        build = merged(build, entry.get("change", {}))
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
