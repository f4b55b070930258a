"""Lines of a printed page as two readers see them, pdfium and pdfminer; mm from the lower left."""

from __future__ import annotations

import ctypes
import io
import math
from collections.abc import Callable
from dataclasses import dataclass

import pdfplumber
import pypdfium2
import pypdfium2.raw as pdfium

MM = 25.4 / 72

Point = tuple[float, float]
Lines = list[tuple[Point, ...]]
"""Subpaths by the points on them, filled ones too; a closing point is not repeated."""


def by_pdfium(data: bytes, page: int) -> Lines:
    """Every subpath of a page by pdfium, put where its matrix puts it."""
    document = pypdfium2.PdfDocument(data)
    try:
        found: Lines = []
        for obj in document[page].get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH]):
            found += _subpaths(obj.raw)
        return found
    finally:
        document.close()


def _subpaths(path: object) -> Lines:
    x, y, m = ctypes.c_float(), ctypes.c_float(), pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(path, m)
    found: list[list[Point]] = []
    waiting = 0
    for n in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, n)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        point = (
            (m.a * x.value + m.c * y.value + m.e) * MM,
            (m.b * x.value + m.d * y.value + m.f) * MM,
        )
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            found.append([point])
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            found[-1].append(point)
        else:
            waiting = (waiting + 1) % 3
            if waiting == 0:
                found[-1].append(point)
    return [_open(points) for points in found]


def by_pdfminer(data: bytes, page: int) -> Lines:
    """The same by pdfminer, through pdfplumber."""
    with pdfplumber.open(io.BytesIO(data)) as document:
        sheet = document.pages[page]
        high = float(sheet.height)
        return [
            _open([(float(x) * MM, (high - float(top)) * MM) for x, top in each["pts"]])
            for each in (*sheet.lines, *sheet.rects, *sheet.curves)
        ]


def _open(points: list[Point]) -> tuple[Point, ...]:
    # A curve that comes back to its start is closed once more by pdfminer.
    while len(points) > 2 and math.dist(points[0], points[-1]) < 1e-4:
        points = points[:-1]
    return tuple(points)


READERS: dict[str, Callable[[bytes, int], Lines]] = {"pdfium": by_pdfium, "pdfminer": by_pdfminer}


@dataclass(frozen=True)
class Told:
    """A word on the page and its box."""

    words: str
    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def x(self) -> float:
        return (self.x0 + self.x1) / 2

    @property
    def y(self) -> float:
        return (self.y0 + self.y1) / 2


def told(data: bytes, page: int) -> list[Told]:
    """The words of a page that stand upright, with their places, by pdfminer."""
    with pdfplumber.open(io.BytesIO(data)) as document:
        sheet = document.pages[page]
        high = float(sheet.height)
        return [
            Told(
                each["text"],
                float(each["x0"]) * MM,
                (high - float(each["bottom"])) * MM,
                float(each["x1"]) * MM,
                (high - float(each["top"])) * MM,
            )
            for each in sheet.extract_words(x_tolerance=1.0)
        ]


def size(points: tuple[Point, ...]) -> tuple[float, float]:
    """Width and height of the room some points take."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def corner(points: tuple[Point, ...]) -> Point:
    """The lower left corner of the room some points take."""
    return min(p[0] for p in points), min(p[1] for p in points)


def boxes(lines: Lines, w: float, h: float, within: float = 0.01) -> list[Point]:
    """Lower left corners of all upright rectangles of a size, from the top of the page."""
    found = [
        corner(each)
        for each in lines
        if len(each) == 4 and abs(size(each)[0] - w) < within and abs(size(each)[1] - h) < within
    ]
    return sorted(found, key=lambda p: (-round(p[1], 2), p[0]))


def upright(lines: Lines, *, foot: float | None = None, head: float | None = None) -> Lines:
    """Upright strokes whose lower or upper end lies at a height, from below upwards."""
    found = []
    for each in lines:
        if len(each) == 2 and size(each)[0] < 0.001 and size(each)[1] > 0.1:
            a, b = sorted(each, key=lambda p: p[1])
            if (foot is None or abs(a[1] - foot) < 0.005) and (
                head is None or abs(b[1] - head) < 0.005
            ):
                found.append((a, b))
    return sorted(found)


def turned(lines: Lines) -> Lines:
    """The page mirrored at its diagonal: level strokes become upright ones."""
    return [tuple((y, x) for x, y in each) for each in lines]


def circles(lines: Lines) -> list[tuple[float, float, float]]:
    """Middle and radius of all closed rings of eight points or more, equally far out."""
    found = []
    for each in lines:
        if len(each) < 8:
            continue
        x, y = (sum(p[k] for p in each) / len(each) for k in (0, 1))
        far = [math.dist(p, (x, y)) for p in each]
        if max(far) - min(far) < 0.002:
            found.append((x, y, sum(far) / len(far)))
    return found
