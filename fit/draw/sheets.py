"""The 1:1 sheets of a build: each face with openings, each board, the plates to cut for them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fit.draw.asked import AS_USUAL, Asked, Ends
from fit.draw.board_units import board_units
from fit.draw.correction import Correction
from fit.draw.drawing import Page
from fit.draw.faces import face_view, faces_to_draw
from fit.draw.furniture import Lay, form
from fit.draw.inside import inside_view
from fit.draw.joints import joint_units
from fit.draw.pages import Cell, Composer, Imprint, Unit
from fit.draw.remarks import NO_REMARKS, Remarks, remarked_boards, remarked_faces
from fit.draw.tables import Block, Listing, hole_list, plate_blocks
from fit.draw.view import Side, View
from fit.draw.wrap import wrap_units
from fit.geometry.scene import Scene
from fit.model.words import UPRIGHT, FaceName
from fit.trade.hands import HandWork, hole_position_error
from fit.trade.paper import PaperName
from fit.units import show


def sheets(
    scene: Scene,
    paper: PaperName,
    fingerprint: str,
    hand: HandWork,
    *,
    clash: bool = False,
    correction: Correction | None = None,
    asked: Asked = AS_USUAL,
    remarks: Remarks = NO_REMARKS,
) -> tuple[Page, ...]:
    """Draw every sheet of a build.

    Args:
        scene: the build worked out.
        paper: what is printed on.
        fingerprint: of the inputs, short, for the title block.
        hand: how well the person works, for a note in the title block.
        clash: the build does not go together; every sheet says so.
        correction: what the printer needs, or None; every sheet says so.
        asked: what is shown beside the usual, or instead of it.
        remarks: what the sheets of faces and boards must say as well.

    Returns:
        The pages: upright faces, lid, floor, boards, the same faces from inside if asked for, in
        that order as far as small ones that go together allow; none when nothing is to be cut.

    Raises:
        ValueError: when the paper is too small for the check bars.
    """
    strays = f"Planned for holes that stray up to {show(hole_position_error(hand), 1)}."
    warning = ("CLASH: this build does not go together as drawn; see the report.",) if clash else ()
    imprint = Imprint(
        build=scene.build.name,
        fingerprint=fingerprint,
        first=warning,
        last=(strays,),
        clash=clash,
        correction=correction,
    )
    composer = Composer([form(paper, lay, correction) for lay in Lay], imprint)
    if asked.wrap:
        faces = [
            *wrap_units(scene, asked.windows, composer.takes),
            *_faces(scene, asked.windows, skip=UPRIGHT),
        ]
    else:
        faces = [*_faces(scene, asked.windows)]
    units = [*remarked_faces(faces, remarks), *remarked_boards(board_units(scene), remarks)]
    units += joint_units(scene)
    units += remarked_faces(_insides(scene, asked.windows), remarks) if asked.inside else ()
    return composer.pages(units)


def _faces(scene: Scene, ends: Ends, skip: Sequence[FaceName] = ()) -> Iterator[Unit]:
    for face in faces_to_draw(scene):
        if face.name in skip:
            continue
        yield _unit(
            face.name.value.upper(),
            face_view(scene, face, ends),
            hole_list(scene, face, ends=ends),
            plate_blocks(scene, face.name),
        )


def _insides(scene: Scene, ends: Ends) -> Iterator[Unit]:
    for face in faces_to_draw(scene):
        unit = _unit(
            f"{face.name.value.upper()} from INSIDE",
            inside_view(scene, face, ends),
            hole_list(scene, face, Side.INSIDE, ends),
        )
        yield replace(unit, side=Side.INSIDE)


def _unit(
    name: str, view: View, listing: Listing, plates: tuple[tuple[Block, ...], ...] = ()
) -> Unit:
    return Unit(
        name=name,
        title=view.title,
        general=view.general,
        facts=view.facts,
        cells=(Cell(view=view, window=view.box),),
        plates=plates,
        lists=(listing,),
    )
