"""Every broken file is refused at the right line, in the right words, and nothing else is said.

The files in tests/broken are ours; expected.yaml names the line (or file:line) and a piece of
what must be said. YAML's own rules: YAML 1.2.2.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from fit.findings import UnusableInput
from fit.read import load_box, load_build, load_drawer, load_part

HERE = Path(__file__).parent
BROKEN = HERE / "broken"
GOOD = HERE / "data" / "boxes"
EXPECTED: dict[str, list[dict[str, Any]]] = yaml.safe_load(
    (BROKEN / "expected.yaml").read_text(encoding="utf-8")
)
LOADERS = {"parts": load_part, "shells": load_box, "drawers": load_drawer}


def load(file: str) -> object:
    folder, stem = Path(file).parent.name, Path(file).stem
    if folder == "builds":
        return load_build(BROKEN / file, [GOOD])
    return LOADERS[folder](stem, [BROKEN, GOOD])


def test_every_broken_file_is_listed() -> None:
    there = {path.relative_to(BROKEN).as_posix() for path in BROKEN.glob("*/*.y*ml")}
    assert there == set(EXPECTED)
    assert len(there) >= 40


@pytest.mark.parametrize("file", EXPECTED)
def test_broken_file(file: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        load(file)
    problems = list(caught.value.problems)
    for want in EXPECTED[file]:
        named, _, line = str(want["at"]).rpartition(":")
        match = [
            p
            for p in problems
            if p.where.file.endswith("broken/" + (named or file))
            and p.where.line == int(line)
            and want["says"] in str(p)
        ]
        assert match, f"no problem at {want['at']} says {want['says']!r}:\n{caught.value}"
        problems.remove(match[0])
    assert not problems, "said too much:\n" + "\n".join(map(str, problems))


@pytest.mark.parametrize("file", EXPECTED)
def test_plain_words(file: str) -> None:
    with pytest.raises(UnusableInput) as caught:
        load(file)
    for problem in caught.value.problems:
        said = str(problem)
        said.encode("utf-8")
        assert said.isprintable()
        assert len(said) < 700
        for jargon in (
            "pydantic",
            "Traceback",
            "field required",
            "Input should",
            "mapping",
            "None",
        ):
            assert jargon not in said
        assert problem.right, f"no way out offered: {said}"


def test_problems_come_sorted_by_place() -> None:
    with pytest.raises(UnusableInput) as caught:
        load("builds/many.yaml")
    places = [(p.where.file, p.where.line, p.where.column) for p in caught.value.problems]
    assert places == sorted(places)
    assert len({file for file, _, _ in places}) == 2
