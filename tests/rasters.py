"""Sheets as pictures: drawn by pdfium and by Poppler, and compared with pictures kept.

    python -m tests.rasters

draws the pictures in `tests/data/rasters` anew, one per sheet of every shipped build, 1 bit a dot.
Look at what changed (`git diff --stat`, then the pictures themselves) before keeping them.

Two renderers shade edges differently. So a picture has two maps: where there is any ink at all,
and where it is surely dark. What is dark in one must have some ink in the other within two dots:
a quarter of a millimetre where renderers are compared, half of one against pictures kept.
"""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import numpy as np
import pypdfium2
from PIL import Image

from fit.draw.asked import AS_USUAL, Asked
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.geometry.scene import Scene
from fit.read import load_build
from fit.solve.settled import settled
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName

BUILDS: Final = ("barrel-alarm", "bench-timer", "gate-counter", "hive-scale", "meter-box")
KEPT: Final = Path(__file__).parent / "data" / "rasters"
COARSE: Final = 4
FINE: Final = 8
"""Dots per millimetre: of the pictures kept, and to compare renderers. Whole numbers, so that
paper is a whole number of dots wide: pdfium stretches a page to whole dots, Poppler does not."""

NEAR: Final = 2
"""How many dots ink may lie beside ink: renderers put whole letters on whole dots."""

ANY: Final = 246
KEPT_INK: Final = 226
DARK: Final = 110
"""Shades below these are any ink, ink that is kept, and surely ink; 255 is paper."""

Shades = np.ndarray[Any, np.dtype[np.uint8]]
Ink = np.ndarray[Any, np.dtype[np.bool_]]


@cache
def scene(name: str) -> Scene:
    """A shipped build with every part placed."""
    return settled(load_build(name), layouts=False).scene


def pdf_of(found: Scene, asked: Asked = AS_USUAL) -> bytes:
    """Its sheets on A4; the fingerprint is left out, which changes with every comma."""
    hand = hand_work(found.build.hands)
    return pdf_bytes(sheets(found, PaperName.A4, "0" * 8, hand, asked=asked), found.build.name)


def by_pdfium(data: bytes, dots: int) -> list[Shades]:
    """Each page in shades of grey."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [
            np.asarray(page.render(scale=_inch(dots) / 72, grayscale=True).to_pil().convert("L"))
            for page in document
        ]
    finally:
        document.close()


def _inch(dots: int) -> float:
    """Dots per inch; a hair less, so that rounding does not make one dot more of the paper."""
    return dots * 25.4 * (1 - 1e-6)


def by_poppler(data: bytes, dots: int) -> list[Shades]:
    """The same by the command ``pdftoppm``."""
    with TemporaryDirectory() as folder:
        source = Path(folder) / "in.pdf"
        source.write_bytes(data)
        subprocess.run(
            ["pdftoppm", "-gray", "-r", str(_inch(dots)), str(source), str(Path(folder) / "page")],
            check=True,
            capture_output=True,
        )
        return [np.asarray(Image.open(p).convert("L")) for p in sorted(Path(folder).glob("*.pgm"))]


def thick(ink: Ink) -> Ink:
    """The ink and every dot at most `NEAR` beside it, across, up and both."""
    h, w = ink.shape
    level = np.pad(ink, ((0, 0), (NEAR, NEAR)))
    level = np.logical_or.reduce([level[:, n : n + w] for n in range(2 * NEAR + 1)])
    upright = np.pad(level, ((NEAR, NEAR), (0, 0)))
    grown: Ink = np.logical_or.reduce([upright[n : n + h] for n in range(2 * NEAR + 1)])
    return grown


def same_size(a: Shades, b: Shades) -> tuple[Shades, Shades]:
    """Both cut to the smaller: renderers round the paper's size differently, by one dot at most."""
    assert all(abs(p - q) <= 1 for p, q in zip(a.shape, b.shape, strict=True)), (a.shape, b.shape)
    h, w = (min(p, q) for p, q in zip(a.shape, b.shape, strict=True))
    return a[:h, :w], b[:h, :w]


def strays(one: Shades, other: Shades) -> int:
    """How many dots are dark in one of two pictures without any ink near them in the other."""
    a, b = same_size(one, other)
    lone = ((a < DARK) & ~thick(b < ANY)) | ((b < DARK) & ~thick(a < ANY))
    return int(lone.sum())


def coarse(shades: Shades) -> Ink:
    """What of a picture is kept: where there is ink."""
    return shades < KEPT_INK


def strays_from_kept(shades: Shades, kept: Ink) -> int:
    """The same against a picture kept, which has only one map, half-way between the two."""
    now, then = same_size(shades, np.where(kept, 0, 255).astype(np.uint8))
    ink = then < DARK
    lone = ((now < DARK) & ~thick(ink)) | (ink & ~thick(now < ANY))
    return int(lone.sum())


def kept_of(name: str) -> list[Path]:
    """The pictures kept of a build, in the order of its sheets."""
    return sorted(KEPT.glob(f"{name}-[0-9][0-9].png"))


def read_kept(path: Path) -> Ink:
    """A picture that was kept."""
    return ~np.asarray(Image.open(path).convert("1"))


def _png(ink: Ink) -> bytes:
    out = io.BytesIO()
    Image.fromarray(~ink).save(out, "PNG", optimize=True)
    return out.getvalue()


def renew() -> Iterator[Path]:
    """Draw all pictures anew; those of sheets that are gone are taken away."""
    KEPT.mkdir(exist_ok=True)
    for name in BUILDS:
        for old in kept_of(name):
            old.unlink()
        for n, shades in enumerate(by_pdfium(pdf_of(scene(name)), COARSE), start=1):
            path = KEPT / f"{name}-{n:02d}.png"
            path.write_bytes(_png(coarse(shades)))
            yield path


if __name__ == "__main__":
    written = list(renew())
    size = sum(path.stat().st_size for path in written)
    print(f"{len(written)} pictures, {size / 1000:.0f} kB, in {KEPT}")
    sys.exit(0)
