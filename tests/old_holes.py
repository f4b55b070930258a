"""Builds in boxes that have holes already, as data: what several test files share."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from fit.geometry.assemble import assemble
from fit.geometry.scene import Scene
from fit.model.build import Build
from fit.read import load_build

BOX: dict[str, Any] = {
    "outside": [120, 90, 60],
    "walls": {"thickness": 2.5, "draft": 1.5, "left": {"draft": 0.5}, "back": {"draft": 2.5}},
    "floor": 3,
    "lid": {"kind": "flat", "thickness": 2.5},
}
"""Walls that lean, each its own way."""

BUTTON: dict[str, Any] = {
    "kind": "bushing",
    "bushing": 11.6,
    "hole": 12,
    "neck": 8,
    "entry": "outside",
    "hull": {"diameter": 10, "depth": 12},
    "bezel": {"diameter": 16, "thickness": 2},
    "nut": {"across_flats": 15, "height": 2},
}

ROCKER: dict[str, Any] = {
    "kind": "panel",
    "front": [24, 16],
    "front_thickness": 2,
    "cutout": [19.2, 12.9],
    "corner_radius": 1,
    "hull": {"width": 19, "height": 12.6, "depth": 12},
    "fixing": "snap",
}


def written(folder: Path, holes: list[dict[str, Any]], parts: dict[str, Any], **box: Any) -> Path:
    """A build file with its box described in it."""
    data = {
        "build": "old",
        "box": {**BOX, **box, "holes": holes},
        "hands": "careful",
        "drawer": {
            "bits": [2, 3, 4, 5, 6, 8, 10, 12],
            "step_bits": [{"from": 4, "to": 20, "step": 2, "height": 5}],
        },
        "parts": parts,
    }
    path = folder / "old.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    return path


def made(folder: Path, holes: list[dict[str, Any]], parts: dict[str, Any], **box: Any) -> Build:
    """The build read back."""
    return load_build(written(folder, holes, parts, **box))


def scene_with(
    folder: Path, holes: list[dict[str, Any]], parts: dict[str, Any], **box: Any
) -> Scene:
    """The build put together."""
    return assemble(made(folder, holes, parts, **box))
