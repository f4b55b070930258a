"""The view of a face from outside: outline, centre lines, what lies behind, every opening."""

from __future__ import annotations

from dataclasses import replace

from fit.draw import pens
from fit.draw.asked import Ends
from fit.draw.cuts import Numbered, as_items, draw_opening, numbered
from fit.draw.drawing import (
    Box,
    Circle,
    Item,
    Line,
    Operation,
    Point,
    Sketch,
    around,
    polygon,
    rounded,
)
from fit.draw.ghosts import PLATE, Ghost, ghosts, standing_out
from fit.draw.labels import Segment, Wanted
from fit.draw.marks import edge_name, up_arrow
from fit.draw.there import lettered, there_items, there_labels
from fit.draw.view import Mark, View, segments
from fit.draw.waste import CHAIN_INSET, Shop, chain_bit
from fit.draw.words import (
    count_words,
    grille_notes,
    outside_lines,
    outside_notes,
    purpose_words,
    short_steps,
    window_notes,
)
from fit.geometry.box import Face
from fit.geometry.frames import Vec, scale
from fit.geometry.paths import face_outline
from fit.geometry.scene import BOX, Cut, Opening, Scene
from fit.model.words import UPRIGHT, FaceName

_BEYOND = 4.0
"""How far a face's centre lines reach past its outline, mm."""

_CROSS = 2.5
"""How far the cross of an opening reaches past it, mm."""

_AIR = 0.6
"""Free space round an opening, mm."""

_LEAST_GHOST = 4.0
"""Ghosts smaller than this get no name, mm."""

_LEAST_OUTSIDE = 8.0
"""The same for what stands outside: heads of screws are left to the list."""


def openings_on(scene: Scene, name: FaceName) -> tuple[Opening, ...]:
    """The openings to cut through a face."""
    return tuple(o for o in scene.to_cut if o.face is name)


def wanted_on(scene: Scene, name: FaceName) -> tuple[Opening, ...]:
    """All openings parts want in a face, those among them that a hole of the box provides."""
    return tuple(o for o in scene.openings if o.face is name)


def faces_to_draw(scene: Scene) -> tuple[Face, ...]:
    """Faces with openings: the upright ones in the order one meets them going round, lid, floor.

    One where holes of the box provide all openings is among them, to show which.
    """
    order = (*UPRIGHT, FaceName.LID, FaceName.FLOOR)
    return tuple(scene.faces[n] for n in order if n in scene.faces and wanted_on(scene, n))


def face_view(scene: Scene, face: Face, ends: Ends = Ends.CHAIN) -> View:
    """A face seen from outside, in its own frame (across, up), mm."""
    edge = as_items(face_outline(face), pens.EDGE)
    shop = Shop.of(scene.build.drawer, ends)
    plain = bare_view(scene, face, edge, around(list(face.outline)), shop)
    return replace(
        plain,
        marks=face_marks(scene, face, face.outline, edge_names(face.name)),
        title=f"{face.name.value.upper()}, seen from OUTSIDE",
        facts=face_facts(scene, face, shop),
        general=(
            wall_words(scene, face),
            "Thin dashes: what lies behind; end of the flat wall.",
            *there_words(scene, face.name),
        ),
    )


def bare_view(scene: Scene, face: Face, edge: tuple[Item, ...], box: Box, shop: Shop) -> View:
    """What is drawn of a face within an edge, and the words it wants, seen from outside.

    It has no title yet, and no marks to tell its edges.
    """
    openings = numbered(openings_on(scene, face.name))
    holes = lettered(scene, face.name)
    behind, before = ghosts(scene, face), standing_out(scene, face)
    sketch = Sketch(face.name.value)
    sketch.add(Operation.GUIDE, *(g.outline for g in (*behind, *before)), _flat_limit(face))
    sketch.add(Operation.EDGE, *edge)
    sketch.add(Operation.THERE, *there_items(scene, face.name))
    centre_lines = _centre_lines(face, box)
    sketch.add(Operation.MARK, *centre_lines)
    for opening in openings_on(scene, face.name):
        draw_opening(sketch, opening, face, shop)
    return View(
        drawing=sketch.done(),
        box=box,
        marks=(),
        wanted=(
            *_labels(openings, shop),
            *there_labels(holes),
            *_outside_names(scene, before),
            *_ghost_names(behind),
        ),
        hard=(*(g.box.grown(_AIR) for g in openings), *(h.box.grown(_AIR) for h in holes)),
        lines=(
            *(s for item in (*edge, *centre_lines) for s in segments(item)),
            *(arm for group in openings for arm in _arms(group)),
        ),
        soft=tuple(s for g in (*behind, *before) for s in segments(g.outline)),
        title="",
    )


def _flat_limit(face: Face) -> Item:
    box = around(list(face.flat))
    if face.flat_radius > 0:
        return rounded(box, face.flat_radius, pens.FLAT)
    return polygon(face.flat, pens.FLAT)


def _centre_lines(face: Face, box: Box) -> tuple[Line, ...]:
    up = Line((0.0, box.y0 - _BEYOND), (0.0, box.y1 + _BEYOND), pens.CENTRE)
    if face.name in UPRIGHT:
        return (up,)
    return (up, Line((box.x0 - _BEYOND, 0.0), (box.x1 + _BEYOND, 0.0), pens.CENTRE))


def _arms(group: Numbered) -> tuple[Segment, ...]:
    """The arms of an opening's cross where they reach past it, mm."""
    if group.pattern or group.opening.cut in (Cut.RIM_SLOT, Cut.OBLONG):
        return ()
    box = group.box
    x, y = box.middle
    far = box.grown(_CROSS)
    return (
        ((box.x1, y), (far.x1, y)),
        ((x, box.y1), (x, far.y1)),
        ((box.x0, y), (far.x0, y)),
        ((x, box.y0), (x, far.y0)),
    )


def _labels(openings: tuple[Numbered, ...], shop: Shop) -> tuple[Wanted, ...]:
    """Crowded openings first: they have the least choice."""
    wanted = []
    for group in openings:
        number, opening, box = group.number, group.opening, group.box
        flat = opening.cut is Cut.RECTANGLE
        margin = chain_bit(opening) + 2 * CHAIN_INSET
        first = f"{number}  {purpose_words(opening)}"
        steps = short_steps(opening, shop)
        second = count_words(group)
        lines = (
            (first, second, steps)
            if opening.cut is not Cut.ROUND
            else (first, f"{second}: {steps}" if "›" in steps else second)
        )
        near = min((_gap(box, other.box) for other in openings if other is not group), default=1e9)
        label = Wanted(
            lines=lines,
            short=(str(number),),
            about=box,
            round=opening.drilled and len(group.openings) == 1,
            inside=box.grown(-margin) if flat else None,
        )
        wanted.append((near, number, label))
    return tuple(label for _, _, label in sorted(wanted, key=lambda w: w[:2]))


def _gap(a: Box, b: Box) -> float:
    dx = max(a.x0 - b.x1, b.x0 - a.x1, 0.0)
    dy = max(a.y0 - b.y1, b.y0 - a.y1, 0.0)
    return max(dx, dy)


def _ghost_names(behind: tuple[Ghost, ...]) -> tuple[Wanted, ...]:
    """Names of what lies behind, once each, at the largest of its outlines."""
    largest: dict[str, Ghost] = {}
    for ghost in behind:
        if min(ghost.box.width, ghost.box.height) < _LEAST_GHOST:
            continue
        words = ghost.name if ghost.owner == BOX else ghost.owner
        if ghost.name == PLATE:
            words = f"plate of {ghost.owner}"
        if words not in largest or _area(ghost.box) > _area(largest[words].box):
            largest[words] = ghost
    return tuple(
        Wanted(
            lines=(words,),
            about=ghost.box,
            inside=ghost.box.grown(-0.8),
            height=pens.SMALL,
            leader=False,
            foreign=tuple(
                other.box
                for other in behind
                if (other.owner, other.name) != (ghost.owner, ghost.name)
                and not other.box.holds(ghost.box)
            ),
        )
        for words, ghost in largest.items()
    )


def _area(box: Box) -> float:
    return box.width * box.height


def _outside_names(scene: Scene, before: tuple[Ghost, ...]) -> tuple[Wanted, ...]:
    """Names of what stands outside, once each; the list has them all."""
    named: dict[tuple[str, tuple[str, ...]], Wanted] = {}
    for ghost in before:
        if min(ghost.box.width, ghost.box.height) >= _LEAST_OUTSIDE:
            lines = outside_lines(scene, ghost)
            named.setdefault(
                (ghost.owner, lines),
                Wanted(
                    lines=lines,
                    short=lines[:1] if len(lines) > 1 else (),
                    about=ghost.box,
                    round=isinstance(ghost.outline, Circle),
                    inside=ghost.box.grown(-1.0),
                    height=pens.SMALL,
                ),
            )
    return tuple(named.values())


def face_marks(
    scene: Scene,
    face: Face,
    corners: tuple[Point, ...],
    names: tuple[str, str, str, str],
    *,
    mirror: bool = False,
) -> tuple[Mark, ...]:
    """The names of a face's edges and the arrow that points up in use.

    Args:
        scene, face: what is drawn.
        corners: of its outline in the view, counter-clockwise from the lower left.
        names: of the lower, right, upper and left edge in the view.
        mirror: the view is seen from inside.
    """
    box = around(list(corners))
    marks = [
        edge_name(words, corners[n], corners[(n + 1) % 4], box.middle, bold=words.startswith("RIM"))
        for n, words in enumerate(names)
    ]
    across, up, out = up_in_use(scene, face)
    if max(abs(across), abs(up)) > abs(out):
        marks.append(up_arrow((-across if mirror else across, up), box))
    return tuple(marks)


def edge_names(face: FaceName) -> tuple[str, str, str, str]:
    """Names of the lower, right, upper and left edge, as seen from outside."""
    if face is FaceName.LID:
        return ("FRONT edge", "RIGHT edge", "BACK edge", "LEFT edge")
    if face is FaceName.FLOOR:
        return ("FRONT edge", "LEFT edge", "BACK edge", "RIGHT edge")
    beside = {
        FaceName.FRONT: ("RIGHT edge", "LEFT edge"),
        FaceName.RIGHT: ("BACK edge", "FRONT edge"),
        FaceName.BACK: ("LEFT edge", "RIGHT edge"),
        FaceName.LEFT: ("FRONT edge", "BACK edge"),
    }
    right, left = beside[face]
    return ("FLOOR edge", right, "RIM (open edge)", left)


def up_in_use(scene: Scene, face: Face) -> Vec:
    """Up in use, in the face's frame: away from what the face it stands on looks at."""
    down = scene.faces[scene.build.stands_on].frame.z
    up = scale(down, -1.0)
    frame = face.frame
    return (_dot(up, frame.x), _dot(up, frame.y), _dot(up, frame.z))


def _dot(a: Vec, b: Vec) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def face_facts(scene: Scene, face: Face, shop: Shop) -> tuple[str, ...]:
    """How windows are cut; how a level face lies in use; what stands out before the face."""
    up = up_in_use(scene, face)[2]
    lies = (f"This face is {'on top' if up > 0 else 'underneath'} in use.",)
    windows = (
        note
        for group in numbered(openings_on(scene, face.name))
        for note in (
            *window_notes(scene, group.opening, group.number, shop),
            *grille_notes(scene, group),
        )
    )
    return (
        *(lies if abs(up) > 0.7 else ()),
        *windows,
        *outside_notes(scene, standing_out(scene, face)),
    )


def there_words(scene: Scene, name: FaceName) -> tuple[str, ...]:
    """What dotted outlines mean, where a face has any."""
    if not lettered(scene, name):
        return ()
    return ("Dotted, with a letter: a hole that is there already; nothing is cut along it.",)


def wall_words(scene: Scene, face: Face) -> str:
    """Which box, and how thick its wall is."""
    return f"Box {scene.build.box.name}, wall {face.thickness:.2f} thick."
