"""Outlines and cuts alone, for machines and other programs; no words.

Coordinates are those of the face (across, up), of the board or of the plate, mm.
"""

from __future__ import annotations

from fit.draw import pens
from fit.draw.boards import holes_on
from fit.draw.cuts import as_items
from fit.draw.drawing import Circle as Ring
from fit.draw.drawing import Drawing, Operation, Sketch
from fit.draw.faces import faces_to_draw, openings_on
from fit.draw.laser import BY_HAND, Laser, opening_items, piece_items
from fit.draw.there import there_items
from fit.draw.trace import board_loops
from fit.geometry.box import Face
from fit.geometry.offset import NothingLeft
from fit.geometry.paths import Circle, Outline, face_outline, outline
from fit.geometry.scene import Cut, FilterPlate, PlacedBoard, Scene


def cut_files(scene: Scene, laser: Laser = BY_HAND) -> dict[str, Drawing]:
    """Each face with openings, each board and each filter plate, by file name without ending.

    Args:
        scene: the build worked out.
        laser: what the machine needs; by default outlines as they are.

    Raises:
        NothingLeft: when something to cut is narrower than the kerf; it is named.
    """
    files = {}
    for face in faces_to_draw(scene):
        files[f"face-{face.name.value}"] = face_cuts(scene, face, laser)
    for placed in scene.boards:
        files[f"board-{placed.name}"] = board_cuts(placed, laser)
    for plate in scene.plates:
        files[f"plate-{plate.part}"] = plate_cuts(plate, laser)
    return files


def face_cuts(scene: Scene, face: Face, laser: Laser = BY_HAND) -> Drawing:
    """A face's outline and openings. The outline is the box's own and is not cut.

    Nor are the holes that are there already: they stand on a layer of their own.

    Raises:
        NothingLeft: when an opening is narrower than the kerf.
    """
    sketch = Sketch(laser.named(face.name.value))
    sketch.add(Operation.EDGE, *as_items(face_outline(face), pens.EDGE))
    sketch.add(Operation.THERE, *there_items(scene, face.name))
    for opening in openings_on(scene, face.name):
        operation = Operation.DRILL if opening.cut is Cut.ROUND else Operation.CUT
        try:
            items = opening_items(outline(opening, face), pens.CUT, laser)
        except NothingLeft as error:
            raise NothingLeft(f"the opening of '{opening.part}' in the {face.name}") from error
        sketch.add(operation, *items)
        if opening.sink > 0:
            middle = (opening.across, opening.up)
            sketch.add(Operation.MARK, Ring(middle, opening.sink / 2, pens.STEP))
    return sketch.done()


def board_cuts(placed: PlacedBoard, laser: Laser = BY_HAND) -> Drawing:
    """A board's outline, cut-outs and holes.

    Raises:
        NothingLeft: when a cut-out or a hole is narrower than the kerf.
    """
    sketch = Sketch(laser.named(placed.name))
    try:
        for loop in board_loops(placed.board):
            sketch.add(Operation.CUT, *piece_items(loop, pens.CUT, laser))
        for hole in holes_on(placed):
            ring = Outline((Circle((hole.x, hole.y), hole.diameter / 2),))
            sketch.add(Operation.DRILL, *opening_items(ring, pens.DRILL, laser))
    except NothingLeft as error:
        raise NothingLeft(f"a hole or cut-out of '{placed.name}'") from error
    return sketch.done()


def plate_cuts(plate: FilterPlate, laser: Laser = BY_HAND) -> Drawing:
    """A filter plate's outline."""
    sketch = Sketch(laser.named(f"plate of {plate.part}"))
    w, h = plate.width, plate.height
    corners = ((0.0, 0.0), (w, 0.0), (w, h), (0.0, h))
    sketch.add(Operation.CUT, *piece_items(corners, pens.CUT, laser))
    return sketch.done()
