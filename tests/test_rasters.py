"""Every shipped sheet looks the same to pdfium and to Poppler, and as it looked before.

`python -m tests.rasters` draws the pictures kept anew.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fit.draw.asked import Asked, Ends
from fit.geometry.scene import Opening, Scene
from tests.rasters import (
    BUILDS,
    COARSE,
    FINE,
    KEPT,
    by_pdfium,
    by_poppler,
    kept_of,
    pdf_of,
    read_kept,
    scene,
    strays,
    strays_from_kept,
)

ALL = Asked(inside=True)
ROUND_ABOUT = Asked(wrap=True, windows=Ends.BIG_HOLES)

FEW = 50
"""Dots that may be in doubt on a sheet: marks of a board's grid finer than a dot, a thin line right
at the edge of the white ground under words. A small hole beside its place makes twice as many."""


@pytest.fixture(scope="module", autouse=True)
def poppler() -> None:
    assert shutil.which("pdftoppm"), "the command pdftoppm is missing: install poppler-utils"


@cache
def pdf(name: str) -> bytes:
    return pdf_of(scene(name))


@pytest.mark.parametrize("name", BUILDS)
def test_two_renderers_draw_the_same_sheets(name: str) -> None:
    ours, theirs = by_pdfium(pdf(name), FINE), by_poppler(pdf(name), FINE)
    assert len(ours) == len(theirs) > 1
    assert max(strays(a, b) for a, b in zip(ours, theirs, strict=True)) <= FEW


@pytest.mark.slow
@pytest.mark.parametrize("asked", [ALL, ROUND_ABOUT], ids=["inside", "wrap"])
@pytest.mark.parametrize("name", BUILDS)
def test_two_renderers_draw_the_same_on_request(name: str, asked: Asked) -> None:
    data = pdf_of(scene(name), asked)
    found = zip(by_pdfium(data, FINE), by_poppler(data, FINE), strict=True)
    # Round the box lines lean, and more of them end at such an edge.
    assert max(strays(a, b) for a, b in found) <= 2 * FEW


@pytest.mark.parametrize("name", BUILDS)
def test_sheets_look_as_they_did(name: str) -> None:
    """Not so? Look at both, then `python -m tests.rasters` keeps the new ones."""
    kept = [read_kept(path) for path in kept_of(name)]
    for drawn in (by_pdfium(pdf(name), COARSE), by_poppler(pdf(name), COARSE)):
        assert len(drawn) == len(kept)
        assert max(strays_from_kept(s, k) for s, k in zip(drawn, kept, strict=True)) <= FEW


def test_what_is_kept_is_small() -> None:
    assert sum(path.stat().st_size for path in KEPT.glob("*")) < 1_000_000
    assert {path.name.rsplit("-", 1)[0] for path in KEPT.glob("*.png")} == set(BUILDS)


# --- the comparison can fail -----------------------------------------------------------------


def shifted(found: Scene, mm: float) -> Scene:
    """The same with one round hole beside its place."""
    which = next(o for o in found.openings if o.drilled)

    def moved(opening: Opening) -> Opening:
        return replace(opening, across=opening.across + mm) if opening is which else opening

    return replace(found, openings=tuple(moved(o) for o in found.openings))


@pytest.mark.parametrize("name", BUILDS)
def test_a_hole_a_millimetre_beside_its_place_is_seen(name: str) -> None:
    wrong = pdf_of(shifted(scene(name), 1.0))
    fine = zip(by_pdfium(wrong, FINE), by_poppler(pdf(name), FINE), strict=True)
    assert max(strays(a, b) for a, b in fine) > 2 * FEW
    kept = [read_kept(path) for path in kept_of(name)]
    now = zip(by_pdfium(wrong, COARSE), kept, strict=True)
    assert max(strays_from_kept(s, k) for s, k in now) > 2 * FEW


def test_a_missing_line_and_an_added_one_are_seen() -> None:
    paper = np.full((60, 60), 255, dtype=np.uint8)
    line = paper.copy()
    line[30, 5:55] = 0
    assert strays(line, line) == 0
    assert strays(line, paper) == 50
    assert strays(paper, line) == 50
    assert strays_from_kept(paper, line < 128) == 50
    assert strays_from_kept(line, paper < 128) == 50
    # Two dots beside is the same line, three dots are not; shades at its edge do not matter.
    beside = np.roll(line, 2, axis=0)
    assert strays(line, beside) == 0
    assert strays(line, np.roll(line, 3, axis=0)) == 100
    pale = np.where(beside == 0, 200, 255).astype(np.uint8)
    assert strays(line, pale) == 0
