"""Reading drawn files back with other people's readers: pdfium. All sizes in mm."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import pypdfium2
import pypdfium2.raw as pdfium

MM = 25.4 / 72

Point = tuple[float, float]


@dataclass(frozen=True)
class Stroke:
    """One subpath: its on-curve points in order, the curves' control points, closed or not."""

    points: tuple[Point, ...]
    controls: tuple[tuple[Point, Point, Point, Point], ...]
    closed: bool
    pen: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        xs = [p[0] for p in self.points]
        ys = [p[1] for p in self.points]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def size(self) -> tuple[float, float]:
        x0, y0, x1, y1 = self.box
        return x1 - x0, y1 - y0


@dataclass(frozen=True)
class Round:
    """A full circle found in the file."""

    x: float
    y: float
    radius: float
    worst: float
    """Largest distance of a point on it from the circle, as a share of the radius."""


def strokes(data: bytes, page: int) -> list[Stroke]:
    """Every stroked subpath of a page as pdfium reads it, origin in the lower left corner."""
    document = pypdfium2.PdfDocument(data)
    try:
        found = document[page].get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH])
        return [stroke for obj in found for stroke in _subpaths(obj.raw)]
    finally:
        document.close()


def _subpaths(path: object) -> Iterator[Stroke]:
    width, x, y = ctypes.c_float(), ctypes.c_float(), ctypes.c_float()
    fill, stroked = ctypes.c_int(), ctypes.c_int()
    pdfium.FPDFPath_GetDrawMode(path, fill, stroked)
    if not stroked.value:
        return
    pdfium.FPDFPageObj_GetStrokeWidth(path, width)
    placed = pdfium.FS_MATRIX()
    pdfium.FPDFPageObj_GetMatrix(path, placed)
    points: list[Point] = []
    controls: list[tuple[Point, Point, Point, Point]] = []
    waiting: list[Point] = []
    for n in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, n)
        pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        point = (
            (placed.a * x.value + placed.c * y.value + placed.e) * MM,
            (placed.b * x.value + placed.d * y.value + placed.f) * MM,
        )
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            if len(points) > 1:
                yield Stroke(tuple(points), tuple(controls), False, width.value * MM)
            points, controls = [point], []
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            points.append(point)
        else:
            waiting.append(point)
            if len(waiting) == 3:
                controls.append((points[-1], waiting[0], waiting[1], waiting[2]))
                points.append(waiting[2])
                waiting = []
        if pdfium.FPDFPathSegment_GetClose(segment):
            yield Stroke(tuple(points), tuple(controls), True, width.value * MM)
            points, controls = [], []
    if len(points) > 1:
        yield Stroke(tuple(points), tuple(controls), False, width.value * MM)


def rounds(found: list[Stroke]) -> list[Round]:
    """The strokes that are full circles: closed, curves only, all points equally far out."""
    circles = []
    for stroke in found:
        if not stroke.closed or len(stroke.controls) < 4:
            continue
        if len(stroke.controls) != len(stroke.points) - 1:
            continue
        ring = stroke.points[:-1]
        cx = sum(p[0] for p in ring) / len(ring)
        cy = sum(p[1] for p in ring) / len(ring)
        radius = sum(math.dist(p, (cx, cy)) for p in ring) / len(ring)
        on_curve = [_bezier(c, t / 8) for c in stroke.controls for t in range(9)]
        worst = max(abs(math.dist(p, (cx, cy)) - radius) for p in on_curve) / radius
        if worst < 0.01:
            circles.append(Round(cx, cy, radius, worst))
    return circles


def _bezier(c: tuple[Point, Point, Point, Point], t: float) -> Point:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    x, y = (sum(w * p[k] for w, p in zip(weights, c, strict=True)) for k in (0, 1))
    return x, y


def crossings(found: list[Stroke], x: float) -> list[float]:
    """Heights at which strokes cross an upright line."""
    heights = []
    for stroke in found:
        if not stroke.box[0] < x < stroke.box[2]:
            continue
        line = list(stroke.points)
        if stroke.controls:
            line = [stroke.points[0]]
            curves = {c[0]: c for c in stroke.controls}
            for a, b in pairwise(stroke.points):
                curve = curves.get(a)
                steps = [_bezier(curve, t / 64) for t in range(1, 65)] if curve else [b]
                line += steps
        for (x0, y0), (x1, y1) in pairwise(line):
            if min(x0, x1) < x <= max(x0, x1):
                heights.append(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    return sorted(heights)


def letters(data: bytes, page: int) -> list[tuple[str, float, float, float, float]]:
    """Each visible letter with its tight box, mm."""
    document = pypdfium2.PdfDocument(data)
    try:
        text = document[page].get_textpage()
        found = []
        for n in range(text.count_chars()):
            letter = text.get_text_range(n, 1)
            if letter.strip():
                x0, y0, x1, y1 = (v * MM for v in text.get_charbox(n))
                found.append((letter, x0, y0, x1, y1))
        return found
    finally:
        document.close()


def overlapping(boxes: list[tuple[str, float, float, float, float]], least: float) -> list[str]:
    """Pairs of letters whose boxes share more than ``least`` mm each way."""
    order = sorted(boxes, key=lambda b: b[1])
    pairs = []
    for n, (a, ax0, ay0, ax1, ay1) in enumerate(order):
        for b, bx0, by0, bx1, by1 in order[n + 1 :]:
            if bx0 > ax1 - least:
                break
            if min(ax1, bx1) - max(ax0, bx0) > least and min(ay1, by1) - max(ay0, by0) > least:
                pairs.append(f"{a}{b} at {ax0:.1f}, {ay0:.1f}")
    return pairs


def ink_box(data: bytes, page: int, dots: float = 8.0) -> tuple[float, float, float, float]:
    """The room of everything that is not white, rendered with ``dots`` pixels in a mm.

    Distances from the left, bottom, right and top edge of the paper, mm.
    """
    document = pypdfium2.PdfDocument(data)
    try:
        picture = document[page].render(scale=dots * MM, grayscale=True, optimize_mode="print")
        image = picture.to_pil()
    finally:
        document.close()
    box = image.point(lambda v: 255 if v < 250 else 0).getbbox()
    if box is None:
        raise AssertionError("the page is empty")
    left, top, right, bottom = box
    return left / dots, (image.height - bottom) / dots, (image.width - right) / dots, top / dots


def words(data: bytes) -> list[str]:
    """The text of each page."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()


def shape_of(points: tuple[Point, ...]) -> list[Point]:
    """The points of a closed outline from its lowest leftmost one, once each."""
    ring = list(points[:-1]) if math.dist(points[0], points[-1]) < 1e-4 else list(points)
    x0, y0 = min(p[0] for p in ring), min(p[1] for p in ring)
    return sorted((p[0] - x0, p[1] - y0) for p in ring)


def same_shape(a: tuple[Point, ...], b: tuple[Point, ...], within: float) -> bool:
    """Whether two outlines have the same corners, wherever they lie, to ``within`` mm."""
    one, other = shape_of(a), shape_of(b)
    if len(one) != len(other):
        return False
    rest = list(other)
    for p in one:
        near = min(rest, key=lambda q: math.dist(p, q))
        if math.dist(p, near) > within:
            return False
        rest.remove(near)
    return True
