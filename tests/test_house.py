"""The house rules: what lies where, how long a file may be, what no file may say."""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "fit", "templates_out", "tests", "boxes"}
MADE = {"build", "dist"}  # by packaging tools; ignored by git

MODULE_LINES = {"fit": 450, "tests": 600}
FUNCTION_LINES = 60
CLASS_METHODS = 15

# Written in pieces, so that this file passes its own test.
UNWANTED = (
    "/wo" + "rk/",
    "/r" + "oot/",
    r"/ho" + r"me/\w",
    "py" + "env",
    "py" + r"pi\.",
    "python" + "hosted",
    "index" + "-url",
    r"\bT" + r"ODO\b",
    r"\bFIX" + r"ME\b",
    r"\bX" + r"XX\b",
    r"\.\./sha" + "red",
    r"DES" + r"IGN\.md",
    r"STY" + r"LE\.md",
    r"RUL" + r"ES\.md",
    r"pytest\.(mark\.)?sk" + "ip",
    r"pytest\.(mark\.)?xf" + "ail",
)


def _texts(root: Path) -> Iterator[Path]:
    for folder in ("fit", "tests", "boxes", ".ci"):
        for path in sorted((root / folder).rglob("*")):
            hidden = any(
                part.startswith((".", "__pycache__")) for part in path.parts[len(root.parts) + 1 :]
            )
            if path.is_file() and not hidden and path.suffix not in {".png", ".stl", ".pdf"}:
                yield path
    yield from (root / name for name in ("README.md", "DEVELOPERS.md", "pyproject.toml"))


def _modules(root: Path) -> list[Path]:
    return [p for folder in ("fit", "tests") for p in sorted((root / folder).rglob("*.py"))]


def test_the_top_level_holds_what_it_should_and_nothing_else(root: Path) -> None:
    seen = {p.name for p in root.iterdir() if not p.name.startswith(".")}
    assert seen - MADE == TOP


def test_results_are_not_kept_in_git(root: Path) -> None:
    lines = (root / "templates_out" / ".gitignore").read_text().split()
    assert lines == ["*", "!.gitignore"]


def test_no_module_is_too_long(root: Path) -> None:
    sizes = {p.relative_to(root): len(p.read_text().splitlines()) for p in _modules(root)}
    assert {str(p): n for p, n in sizes.items() if n > MODULE_LINES[p.parts[0]]} == {}


def test_no_function_and_no_class_is_too_long(root: Path) -> None:
    long = {}
    for path in _modules(root):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef):
                size = (node.end_lineno or 0) - node.lineno + 1
                if size > FUNCTION_LINES:
                    long[f"{path.relative_to(root)}:{node.lineno} {node.name}"] = size
            elif isinstance(node, ast.ClassDef):
                methods = sum(isinstance(part, ast.FunctionDef) for part in node.body)
                if methods > CLASS_METHODS:
                    long[f"{path.relative_to(root)}:{node.lineno} {node.name}"] = methods
    assert long == {}


@pytest.mark.parametrize("word", UNWANTED)
def test_no_file_says(word: str, root: Path) -> None:
    pattern = re.compile(word)
    hits = [
        f"{path.relative_to(root)}:{number}"
        for path in _texts(root)
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if pattern.search(line)
    ]
    assert hits == []


def test_every_module_says_what_it_is_for(root: Path) -> None:
    mute = [
        str(p.relative_to(root))
        for p in sorted((root / "fit").rglob("*.py"))
        if not ast.get_docstring(ast.parse(p.read_text()))
    ]
    assert mute == []


def _blocks(text: str) -> list[tuple[str, str]]:
    """(language, contents) of each fenced block."""
    return re.findall(r"^```(\w*)\n(.*?)^```$", text, flags=re.MULTILINE | re.DOTALL)


def test_readme_opens_with_the_job_and_two_commands(root: Path) -> None:
    text = (root / "README.md").read_text()
    before, _, _ = text.partition("```")
    title, job = [part for part in before.split("\n\n") if part.strip()][:2]
    assert title.startswith("# fit")
    assert len(job.split()) > 40
    (lang1, run), (lang2, test) = _blocks(text)[:2]
    assert (lang1, lang2) == ("sh", "sh")
    for command in (run, test):
        assert len(command.splitlines()) == 1
        assert command.startswith("python3 -m venv ")
    assert "fit make boxes/builds/hive-scale.yaml" in run
    assert test.rstrip().endswith("-m tests")


def test_ci_runs_the_readme_test_command_and_the_slow_tests(root: Path) -> None:
    text = (root / ".ci" / "run").read_text()
    assert text.startswith("#!/usr/bin/env bash\n")
    assert "README.md" in text
    assert "-m slow" in text


def test_builds_named_in_the_manuals_exist(root: Path) -> None:
    for manual in ("README.md", "DEVELOPERS.md"):
        text = (root / manual).read_text()
        for name in set(re.findall(r"\bboxes/[\w/-]+\.yaml", text)):
            assert (root / name).is_file(), f"{manual} names {name}"
        for name in set(re.findall(r"\bfit/[\w/]+\.py\b", text)):
            assert (root / name).is_file(), f"{manual} names {name}"
        for name in set(re.findall(r"\]\((\.pictures/[^)]+)\)", text)):
            assert (root / name).is_file(), f"{manual} shows {name}"


def test_every_ignored_warning_and_lint_rule_has_its_reason(root: Path) -> None:
    lines = (root / "pyproject.toml").read_text().splitlines()
    inside = ""
    for number, line in enumerate(lines):
        if re.match(r"(ignore|filterwarnings) = \[", line):
            inside = line
        elif line.startswith("]"):
            inside = ""
        elif inside and ("ignore" in line or inside.startswith("ignore")):
            reasoned = "#" in line or lines[number - 1].lstrip().startswith("#")
            assert reasoned, f"pyproject.toml:{number + 1} has no reason"


def test_the_version_is_told_once(root: Path) -> None:
    import fit

    project = tomllib.loads((root / "pyproject.toml").read_text())["project"]
    assert "version" not in project
    assert "version" in project["dynamic"]
    assert re.fullmatch(r"\d+\.\d+\.\d+", fit.__version__)
