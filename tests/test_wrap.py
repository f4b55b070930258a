"""The sheet that goes round the box, folded in space by this test from what is in the file.

The test knows the tray by plain trigonometry and rolls the paper round a corner by the curvature
of an ellipse: a circle of radius r, seen along a line that leans, has half axes r and r·cos.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import pytest

from fit.draw.asked import Asked
from fit.draw.drawing import Point
from fit.draw.pdf import pdf_bytes
from fit.draw.sheets import sheets
from fit.draw.unroll import corner_edges
from fit.geometry.assemble import assemble
from fit.geometry.frames import Vec, add, cross, dot, norm, scale, sub, unit
from fit.geometry.scene import Cut, Opening, Scene
from fit.model.box import Tray, Wall
from fit.model.build import Used, Window
from fit.model.words import UPRIGHT, FaceName
from fit.trade.hands import hand_work
from fit.trade.paper import PaperName
from fit.units import Length as L
from tests.draw_ink import Stroke, ink_box, letters, overlapping, rounds, strokes, words
from tests.draw_scenes import DIGITS, at, build, button, tray

OUT = {
    FaceName.FRONT: (0.0, -1.0),
    FaceName.RIGHT: (1.0, 0.0),
    FaceName.BACK: (0.0, 1.0),
    FaceName.LEFT: (-1.0, 0.0),
}
STEPS = 4000
WRAP = Asked(wrap=True)


def wall(draft: float) -> Wall:
    return Wall(thickness=L(2.5), draft=draft)


TRAYS = {
    "drafted": tray(),
    "upright": tray(front=wall(0), back=wall(0), left=wall(0), right=wall(0)),
    "uneven": tray(
        130, 90, 50, front=wall(4), back=wall(1), left=wall(0.5), right=wall(3), corner_outer=L(9)
    ),
    "sharp": tray(120, 80, 50, corner_outer=L(0), corner_inner=L(0)),
}


@cache
def scene(name: str) -> Scene:
    box = TRAYS[name]
    return assemble(
        build(
            box,
            Used(name="readout", part=DIGITS, on=FaceName.FRONT, at=at(0, 25),
                 window=Window(filter=L(2), seen_from=20)),
            Used(name="near the end", part=button(6.5), on=FaceName.FRONT, at=at(48, 12)),
            Used(name="tare", part=button(), on=FaceName.RIGHT, at=at(12, 31.5)),
            Used(name="units", part=button(7), on=FaceName.RIGHT, at=at(-25, 12)),
            Used(name="high", part=button(8), on=FaceName.BACK, at=at(-40, 35)),
            Used(name="low", part=button(9), on=FaceName.BACK, at=at(45, 10)),
            Used(name="last", part=button(10), on=FaceName.LEFT, at=at(20, 28)),
        )
    )  # fmt: skip


@cache
def pdf(name: str, paper: PaperName) -> bytes:
    pages = sheets(scene(name), paper, "3f9a1c77", hand_work("careful"), asked=WRAP)
    return pdf_bytes(pages, name)


def lean(box: Tray, face: FaceName) -> float:
    return math.tan(math.radians(box.wall(face).draft))


def end_of_wall(box: Tray, at: FaceName, other: FaceName, z: float) -> Vec:
    """Where a wall passes into the round of its corner with another, by plain trigonometry."""
    rim = float(box.height) - float(box.lid.height)

    def reach(face: FaceName) -> float:
        across = (FaceName.LEFT, FaceName.RIGHT)
        along = across if face in across else (FaceName.FRONT, FaceName.BACK)
        size = float(box.length if face in across else box.width)
        return (size - rim * sum(lean(box, f) for f in along)) / 2 + z * lean(box, face)

    r = float(box.corner_outer)
    (ax, ay), (bx, by) = OUT[at], OUT[other]
    own, theirs = reach(at), reach(other) - r
    return (ax * own + bx * theirs, ay * own + by * theirs, z)


def normal(box: Tray, face: FaceName) -> Vec:
    x, y = OUT[face]
    return unit((x, y, -lean(box, face)))


@dataclass(frozen=True)
class Frame:
    """Paper lying on the box: a point of the sheet and where it is, with axes on both."""

    low: Point
    up2: Point
    spot: Vec
    up3: Vec
    out: Vec

    @property
    def right2(self) -> Point:
        return (self.up2[1], -self.up2[0])

    @property
    def right3(self) -> Vec:
        return cross(self.up3, self.out)

    def parts(self, q: Point) -> tuple[float, float]:
        dx, dy = q[0] - self.low[0], q[1] - self.low[1]
        return (dx * self.right2[0] + dy * self.right2[1], dx * self.up2[0] + dy * self.up2[1])

    def place(self, q: Point) -> Vec:
        right, up = self.parts(q)
        return add(self.spot, add(scale(self.right3, right), scale(self.up3, up)))


def line_frame(line: tuple[Point, Point], spot: Vec, up3: Vec, out: Vec) -> Frame:
    low, high = sorted(line, key=lambda p: p[1])
    away = math.dist(low, high)
    up2 = ((high[0] - low[0]) / away, (high[1] - low[1]) / away)
    return Frame(low, up2, spot, up3, out)


def rolled(frame: Frame, there: tuple[Point, Point], r: float) -> Frame:
    """The paper laid round a corner, from one line of its bend to the other.

    The curvature of the corner's square section at each direction of its normal is h³/(a·b)²,
    h the ellipse's support (plain geometry).
    """
    low, _ = sorted(there, key=lambda p: p[1])
    width, along = frame.parts(low)
    d = frame.up3
    spot, p, m = frame.spot, frame.right3, frame.out
    if r > 0:
        short = r * d[2]
        tilted = math.hypot(d[0], d[1]) > 1e-9
        q1 = unit(cross((0.0, 0.0, 1.0), d)) if tilted else (1.0, 0.0, 0.0)
        q2 = cross(d, q1)

        def curvature(n: Vec) -> float:
            h = math.hypot(r * dot(n, q1), short * dot(n, q2))
            return h**3 / (r * short) ** 2

        step = width / STEPS
        for _ in range(STEPS):
            half = curvature(m) * step / 2
            mid_m = add(scale(m, math.cos(half)), scale(p, math.sin(half)))
            turn = curvature(mid_m) * step
            mid_p = sub(scale(p, math.cos(turn / 2)), scale(m, math.sin(turn / 2)))
            spot = add(spot, scale(mid_p, step))
            p, m = (
                sub(scale(p, math.cos(turn)), scale(m, math.sin(turn))),
                add(scale(m, math.cos(turn)), scale(p, math.sin(turn))),
            )
    return line_frame(there, add(spot, scale(d, along)), d, m)


@dataclass(frozen=True)
class Strip:
    """One piece found in the file: which faces, its fold lines from left to right, its ink."""

    run: tuple[FaceName, ...]
    lines: tuple[tuple[Point, Point], ...]
    ink: list[Stroke]


def strips(name: str, paper: PaperName) -> Iterator[Strip]:
    """The pieces in the file; several on one sheet stand below each other in order."""
    box = TRAYS[name]
    lengths = [
        math.dist(*(end_of_wall(box, f, after(f), z) for z in (0.0, rim(box)))) for f in UPRIGHT
    ]
    for n, text in enumerate(words(pdf(name, paper))):
        titles = re.findall(r"ROUND THE BOX: ([A-Z –]+), seen", " ".join(text.split()))
        found = strokes(pdf(name, paper), n)
        closed = sorted((s for s in found if s.closed), key=lambda s: -s.size[0] * s.size[1])
        contours = sorted(closed[: len(titles)], key=lambda s: -s.box[3])
        for title, contour in zip(titles, contours, strict=True):
            run = tuple(FaceName(word.lower()) for word in title.split(" – "))
            x0, y0, x1, y1 = contour.box
            ink = [
                s
                for s in found
                if x0 <= s.box[0] and s.box[2] <= x1 and y0 <= s.box[1] and s.box[3] <= y1
            ]
            yield Strip(run, tuple(_lines(ink, contour, lengths)), ink)


def _lines(
    ink: list[Stroke], contour: Stroke, lengths: list[float]
) -> Iterator[tuple[Point, Point]]:
    """The start of a piece, then where it bends, from left to right."""

    def upright(a: Point, b: Point) -> bool:
        long_enough = any(math.dist(a, b) == pytest.approx(v, abs=0.005) for v in lengths)
        return long_enough and abs(a[0] - b[0]) < 15

    sides = pairwise([*contour.points, contour.points[0]])
    yield min((side for side in sides if upright(*side)), key=lambda side: side[0][0])
    folds = [
        (s.points[0], s.points[1])
        for s in ink
        if len(s.points) == 2
        and s.pen == pytest.approx(0.18, abs=0.001)
        and upright(s.points[0], s.points[1])
    ]
    yield from sorted(folds, key=lambda fold: fold[0][0] + fold[1][0])


def after(face: FaceName) -> FaceName:
    return UPRIGHT[(UPRIGHT.index(face) + 1) % 4]


def rim(box: Tray) -> float:
    return float(box.height) - float(box.lid.height)


def folded(name: str, strip: Strip) -> Iterator[tuple[FaceName, Frame, tuple[Point, Point]]]:
    """Each face's place in space, by folding alone, and the line where its paper ends."""
    box = TRAYS[name]
    r = float(box.corner_outer)
    first = strip.run[0]
    before = UPRIGHT[UPRIGHT.index(first) - 1]
    low, high = (end_of_wall(box, first, before, z) for z in (0.0, rim(box)))
    frame = line_frame(strip.lines[0], low, unit(sub(high, low)), normal(box, first))
    lines = list(strip.lines[1:])
    for face in strip.run:
        ends = lines.pop(0)
        yield face, frame, ends
        low2, high2 = sorted(ends, key=lambda p: p[1])
        low, high = frame.place(low2), frame.place(high2)
        at_corner = line_frame(ends, low, unit(sub(high, low)), frame.out)
        ends = lines.pop(0) if r > 0 else ends
        frame = rolled(at_corner, ends, r)
        if r == 0:
            # A sharp corner: the paper is folded by the angle of the two walls.
            frame = replace(frame, out=normal(box, after(face)))
    yield after(strip.run[-1]), frame, ends


def off_axis(opening: Opening, at_home: Scene, spot: Vec) -> float:
    """How far a point lies from an opening's axis, mm."""
    pose = at_home.faces[opening.face].frame
    away = sub(spot, pose.point((opening.across, opening.up, 0.0)))
    return norm(sub(away, scale(pose.z, dot(away, pose.z))))


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.A3, PaperName.LETTER])
@pytest.mark.parametrize("name", TRAYS)
def test_folded_round_the_box_each_hole_is_on_its_axis(name: str, paper: PaperName) -> None:
    seen: list[str] = []
    for strip in strips(name, paper):
        circles = rounds(strip.ink)
        for face, frame, _ in folded(name, strip):
            if face not in strip.run:
                continue
            for opening in scene(name).openings:
                if opening.face is not face or opening.cut is not Cut.ROUND:
                    continue
                near = [
                    c
                    for c in circles
                    if c.radius == pytest.approx(opening.diameter / 2, abs=0.005)
                    and off_axis(opening, scene(name), frame.place((c.x, c.y))) < 0.02
                ]
                assert len(near) == 1, opening.part
                seen.append(opening.part)
    holes = [o.part for o in scene(name).openings if o.cut is Cut.ROUND]
    assert sorted(seen) == sorted(holes)


@pytest.mark.parametrize("name", TRAYS)
def test_the_window_lies_square_on_its_axis(name: str) -> None:
    (window,) = [o for o in scene(name).openings if o.cut is Cut.RECTANGLE]
    strip = next(iter(strips(name, PaperName.A4)))
    _, frame, _ = next(iter(folded(name, strip)))
    sides = (window.width, window.height)
    for stroke in strip.ink:
        lengths = [math.dist(a, b) for a, b in pairwise(stroke.points)]
        if (
            len(lengths) >= 3
            and lengths[:3] == pytest.approx([sides[0], sides[1], sides[0]], abs=0.01)
            and stroke.pen > 0.3
        ):
            corners = [frame.place(p) for p in stroke.points[:4]]
            middle = scale(add(corners[0], corners[2]), 0.5)
            assert off_axis(window, scene(name), middle) < 0.02
            along = unit(sub(corners[1], corners[0]))
            assert along == pytest.approx((1.0, 0.0, 0.0), abs=1e-4)
            return
    pytest.fail("no window on the sheet")


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.A3])
@pytest.mark.parametrize("name", TRAYS)
def test_each_corner_lands_on_the_next_wall(name: str, paper: PaperName) -> None:
    box = TRAYS[name]
    for strip in strips(name, paper):
        for face, frame, _ in list(folded(name, strip))[1:]:
            before = UPRIGHT[UPRIGHT.index(face) - 1]
            # The paper lies in the wall's plane and its line where the round ends.
            assert frame.out == pytest.approx(normal(box, face), abs=1e-5)
            low = end_of_wall(box, face, before, 0.0)
            assert frame.spot == pytest.approx(low, abs=0.01)


@pytest.mark.parametrize("name", TRAYS)
def test_the_tabs_end_goes_onto_the_face_the_sheet_began_with(name: str) -> None:
    """Once round: the last piece's tab lies where the first piece starts."""
    found = list(strips(name, PaperName.A4))
    assert [face for strip in found for face in strip.run] == list(UPRIGHT)
    face, frame, line = list(folded(name, found[-1]))[-1]
    assert face is FaceName.FRONT
    box = TRAYS[name]
    for p, z in zip(sorted(line, key=lambda p: p[1]), (0.0, rim(box)), strict=True):
        want = end_of_wall(box, FaceName.FRONT, FaceName.LEFT, z)
        assert frame.place(p) == pytest.approx(want, abs=0.02)
    # The tab reaches onto the face and no further than its first 15 mm.
    low, high = (end_of_wall(box, FaceName.FRONT, FaceName.LEFT, z) for z in (0.0, rim(box)))
    contour = max((s for s in found[-1].ink if s.closed), key=lambda s: s.size[0] * s.size[1])
    reach = max(frame.parts(p)[0] for p in contour.points)
    assert 14.0 < reach < 17.5
    assert low[0] < 0 > high[0]


def test_an_upright_corner_is_a_quarter_circle_long() -> None:
    width, low, high = corner_edges(TRAYS["upright"], FaceName.FRONT, FaceName.RIGHT)
    assert width[-1] == pytest.approx(5 * math.pi / 2, abs=1e-9)
    assert max(abs(s) for s in low) < 1e-12
    assert set(high) == {57.5}


def test_a_leaning_corner_is_as_long_as_an_elliptic_integral_says() -> None:
    # Walls leaning alike by t: the section square to the corner's line has half axes r and
    # r/n, n² = 1 + 2t², and the corner is the quarter of it about the end of the short axis.
    # Series of the elliptic arc, Abramowitz and Stegun 17.3.35 expanded: r·∫√(1 − k·cos²2…).
    t, r = math.tan(math.radians(1.5)), 5.0
    n2 = 1 + 2 * t * t
    count = 20000
    total = 0.0
    for i in range(count):
        a = (i + 0.5) * math.pi / 2 / count
        along = t * (math.cos(a) - math.sin(a))
        total += r * math.sqrt(1 - along * along / n2) * math.pi / 2 / count
    width, _, _ = corner_edges(TRAYS["drafted"], FaceName.FRONT, FaceName.RIGHT)
    assert width[-1] == pytest.approx(total, abs=1e-7)
    assert width[-1] < r * math.pi / 2


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.LETTER, PaperName.A5])
@pytest.mark.parametrize("name", ["drafted", "uneven"])
def test_words_keep_clear_and_nothing_is_on_the_margin(name: str, paper: PaperName) -> None:
    data = pdf(name, paper)
    for n in range(len(words(data))):
        assert overlapping(letters(data, n), 0.05) == []
        assert min(ink_box(data, n)) >= 10.0


def test_the_sheet_says_what_to_do_and_takes_the_place_of_single_faces() -> None:
    texts = [" ".join(text.split()) for text in words(pdf("drafted", PaperName.A4))]
    everything = " ".join(texts)
    assert "Cut out along the edge, lay round the box, fold at floor and rim" in everything
    assert "under the FLOOR" in everything
    assert "over the RIM" in everything
    assert "goes under FRONT" in everything
    assert "FRONT, seen from OUTSIDE" not in everything


def test_a_box_without_holes_in_its_sides_needs_no_such_sheet() -> None:
    plain = assemble(build(None, Used(name="lamp", part=button(), on=FaceName.LID, at=at(0, 0))))
    pages = sheets(plain, PaperName.A4, "3f9a1c77", hand_work("careful"), asked=WRAP)
    assert [page.title for page in pages] == ["1  LID, seen from OUTSIDE"]
