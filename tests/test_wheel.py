"""What a person gets: the wheel in an empty environment, and the README's command as it stands."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv*", "*_cache", "__pycache__", "templates_out", "*.egg-info"
)


def _run(*words: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    bare = {k: v for k, v in os.environ.items() if k not in {"PYTHONPATH", "VIRTUAL_ENV"}}
    return subprocess.run(
        [str(w) for w in words],
        cwd=cwd,
        env=bare,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=1500,
        check=False,
    )


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Path:
    """A copy of the checkout, as from a fresh clone."""
    copy = tmp_path_factory.mktemp("clone") / "fit"
    shutil.copytree(root, copy, ignore=LEFT_OUT)
    (copy / "templates_out").mkdir()
    shutil.copy(root / "templates_out" / ".gitignore", copy / "templates_out")
    return copy


@pytest.fixture(scope="module")
def wheel(tree: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    built = _run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", out, tree, cwd=out)
    assert built.returncode == 0, built.stderr
    (path,) = out.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ``bin`` folder of an environment that holds the wheel and what it asks for."""
    place = tmp_path_factory.mktemp("env") / "v"
    venv.create(place, with_pip=True)
    ran = _run(place / "bin" / "pip", "install", "-q", wheel, cwd=place)
    assert ran.returncode == 0, ran.stderr
    return place / "bin"


def test_the_wheel_holds_the_package_its_tables_and_the_catalogue(wheel: Path, root: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info/" not in name}
    wanted = {
        p.relative_to(root).as_posix()
        for p in (root / "fit").rglob("*")
        if p.suffix in {".py", ".csv"} and not any(part.startswith(".") for part in p.parts)
    } | {
        "fit/" + p.relative_to(root).as_posix() for p in (root / "boxes").rglob("*") if p.is_file()
    }
    assert names == wanted


def test_the_wheel_works_from_another_folder(installed: Path, tmp_path: Path) -> None:
    told = _run(installed / "fit", "list", "builds", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    assert "hive-scale" in told.stdout
    checked = _run(installed / "fit", "check", "hive-scale", "--json", cwd=tmp_path)
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert json.loads(checked.stdout)["build"] == "hive-scale"
    made = _run(installed / "fit", "make", "hive-scale", cwd=tmp_path)
    assert made.returncode == 0, made.stdout + made.stderr
    folder = tmp_path / "templates_out" / "hive-scale"
    listed = json.loads((folder / "report.json").read_text())["files"]
    found = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}
    assert {"sheets.pdf", "model.step"} < found
    assert found == {entry["path"] for entry in listed} | {"report.json"}


def test_the_readme_command_works_as_it_stands(tree: Path) -> None:
    text = (tree / "README.md").read_text()
    match = re.search(r"^```sh\n(.+)\n```$", text, flags=re.MULTILINE)
    assert match
    ran = _run("bash", "-c", match[1], cwd=tree)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert (tree / "templates_out" / "hive-scale" / "sheets.pdf").read_bytes().startswith(b"%PDF-")
