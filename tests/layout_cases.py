"""Builds with open parts, written as a person writes them, laid out."""

from __future__ import annotations

from pathlib import Path

from fit.geometry.scene import Placed
from fit.model.build import Build
from fit.read import load_build
from fit.solve.layout import Laid, Layout, lay_out
from fit.solve.run import Effort, Status, Watch

BUTTON = (
    "{use: {kind: bushing, bushing: 12, neck: 9, entry: outside,"
    " hull: {diameter: 10, depth: 18}, bezel: {diameter: 14, thickness: 2},"
    " nut: {across_flats: 14, height: 2}}, on: %s}"
)


def read(text: str, folder: Path, name: str = "case") -> Build:
    """A build from its text."""
    path = folder / f"{name}.yaml"
    path.write_text(text)
    return load_build(str(path))


def watch(seconds: float = 900) -> Watch:
    return Watch(effort=Effort(seconds=seconds, work=6.0))


def laid(text: str, folder: Path) -> Laid:
    return lay_out(read(text, folder), watch())


def found(text: str, folder: Path) -> Layout:
    """The layout of a build that has one, passed by the check."""
    answer = laid(text, folder)
    assert answer.status is Status.FOUND, (answer.status, [o.say for o in answer.objections])
    assert answer.layout is not None
    assert answer.layout.verdict.good
    return answer.layout


def at(layout: Layout, name: str) -> Placed:
    return layout.verdict.scene.placed[name]


def kept(layout: Layout, words: str) -> bool:
    """Whether the one asked-for wish whose words hold these was kept."""
    (cost,) = [c for c in layout.costs if c.asked and words in c.words]
    return cost.kept


def box(parts: str, wishes: str = "", more: str = "", size: str = "[120, 80, 50]") -> str:
    """A plain box, no lean, with parts and wishes."""
    return f"""
build: case
box:
  outside: {size}
  walls: {{thickness: 2}}
  floor: 2
  lid: {{kind: flat, thickness: 2}}
drawer: small-kit
{more}
parts:
{parts}
{"wishes:" if wishes else ""}
{wishes}
"""
