"""The 1:1 sheets of a build: one or more for each face with openings and for each board.

Each subject gets the way of laying the paper that needs the fewest sheets; what does not go
beside the view, lists and filter plates, goes on a sheet of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fit.draw.boards import board_view
from fit.draw.clip import clipped
from fit.draw.correction import Correction
from fit.draw.drawing import Box, Page, Positioned, item_box, merged
from fit.draw.faces import face_view, faces_to_draw
from fit.draw.furniture import Form, Heading, Lay, form, furniture
from fit.draw.tables import Block, Listing, board_list, hole_list, plate_blocks, set_list
from fit.draw.tiles import Tile, seams, tiles
from fit.draw.view import View, words_of
from fit.geometry.scene import Scene
from fit.trade.hands import HandWork, hole_position_error
from fit.trade.paper import PaperName
from fit.units import show

_SIDE = 12.0
"""Least room for words on the left and right of a view, mm."""
_BANDS = (14.0, 10.0)
"""Room for words above and below a view, mm; the second when that saves a sheet."""
_GAP = 5.0
"""Between blocks, mm."""
_BEYOND = 8.0
"""How far a tile shows what lies past the edge of its view, mm."""
_MARKS = 25.0
"""How far past the edge of its view a tile may carry the names of edges, mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Subject:
    """What one or more sheets are about."""

    view: View
    listing: Listing
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    """A sheet without its furniture, because the number of sheets is not known yet."""

    form: Form
    title: str
    facts: tuple[str, ...]
    drawings: tuple[Positioned, ...]


def sheets(
    scene: Scene,
    paper: PaperName,
    fingerprint: str,
    hand: HandWork,
    *,
    clash: bool = False,
    correction: Correction | None = None,
) -> tuple[Page, ...]:
    """Draw every sheet of a build.

    Args:
        scene: the build worked out.
        paper: what is printed on.
        fingerprint: of the inputs, short, for the title block.
        hand: how well the person works, for a note in the title block.
        clash: the build does not go together; every sheet says so.
        correction: what the printer needs, or None; every sheet says so.

    Returns:
        The pages in order: upright faces, lid, floor, boards; none when nothing is to be cut.

    Raises:
        ValueError: when the paper is too small for the check bars.
    """
    forms = [form(paper, lay, correction) for lay in Lay]
    drafts = [draft for subject in _subjects(scene) for draft in _drafts(subject, forms)]
    strays = f"Planned for holes that stray up to {show(hole_position_error(hand), 1)}."
    warning = ("CLASH: this build does not go together as drawn; see the report.",) if clash else ()
    pages = []
    for number, draft in enumerate(drafts, start=1):
        told = (correction.words(draft.form.stretch),) if correction else ()
        heading = Heading(
            build=scene.build.name,
            view=f"CLASH: {draft.title}" if clash else draft.title,
            lines=(*warning, *told, *draft.facts, strays),
            fingerprint=fingerprint,
            sheet=number,
            of=len(drafts),
        )
        fixed = Positioned(drawing=furniture(draft.form, heading), x=0.0, y=0.0)
        pages.append(
            Page(
                title=f"{number}  {draft.title}",
                width=draft.form.width,
                height=draft.form.height,
                drawings=(*draft.drawings, fixed),
                stretch=draft.form.stretch,
            )
        )
    return tuple(pages)


def _subjects(scene: Scene) -> Iterator[_Subject]:
    for face in faces_to_draw(scene):
        yield _Subject(
            view=face_view(scene, face),
            listing=hole_list(scene, face),
            blocks=plate_blocks(scene, face.name),
        )
    for placed in scene.boards:
        yield _Subject(view=board_view(placed), listing=board_list(placed), blocks=())


def _drafts(subject: _Subject, forms: list[Form]) -> tuple[_Draft, ...]:
    """The cheapest way to show a subject: on one sheet, with its list apart, or in tiles."""
    for band in _BANDS:
        for on in forms:
            lists = set_list(subject.listing, on.free.width, on.free.height)
            draft = _one_sheet(subject, on, (*subject.blocks, *lists), band)
            if draft is not None:
                return (draft,)
    for on in forms:
        lists = set_list(subject.listing, on.free.width, on.free.height)
        for beside, apart in (
            (subject.blocks, lists),
            (lists, subject.blocks),
            ((), (*subject.blocks, *lists)),
        ):
            draft = _one_sheet(subject, on, beside, _BANDS[-1])
            if draft is not None:
                return (draft, *_apart(subject, on, apart))
    return _tiled(subject, min(forms, key=lambda on: len(_tiles_on(subject, on))))


def _one_sheet(
    subject: _Subject, on: Form, blocks: tuple[Block, ...], band: float
) -> _Draft | None:
    """View above, blocks below; None when they do not go on one sheet."""
    view = subject.view
    set_up = _set_up(on, blocks, view.box, band)
    if set_up is None:
        return None
    room, below = set_up
    dx, dy = _shift(room, view.box)
    words = words_of(view, room.moved(-dx, -dy))
    drawn = Positioned(drawing=merged(view.drawing, words), x=dx, y=dy)
    return _Draft(form=on, title=view.title, facts=view.facts, drawings=(drawn, *below))


def _set_up(
    on: Form, blocks: tuple[Block, ...], what: Box, band: float
) -> tuple[Box, tuple[Positioned, ...]] | None:
    """Blocks at the bottom of a sheet and the room above them, if it takes a view that large."""
    free = on.free
    placed = _flow(blocks, free.width, free.height)
    if placed is None:
        return None
    used, spots = placed
    room = Box(free.x0, free.y0 + used, free.x1, free.y1)
    too_wide = what.width + 2 * _SIDE > room.width + 1e-6
    if too_wide or what.height + 2 * band > room.height + 1e-6:
        return None
    below = tuple(
        Positioned(drawing=block.drawing, x=free.x0 + x, y=free.y0 + y) for block, x, y in spots
    )
    return room, below


def _shift(room: Box, what: Box) -> tuple[float, float]:
    """How far to move something so that its middle lies in the middle of a room, mm."""
    return room.middle[0] - what.middle[0], room.middle[1] - what.middle[1]


def _flow(
    blocks: tuple[Block, ...], width: float, height: float
) -> tuple[float, list[tuple[Block, float, float]]] | None:
    """Put blocks in rows from the bottom, the last block lowest: height used, and places."""
    rows: list[list[Block]] = []
    for block in blocks:
        row_width = sum(b.width + _GAP for b in rows[-1]) if rows else 0.0
        if rows and row_width + block.width <= width:
            rows[-1].append(block)
        else:
            rows.append([block])
    spots = []
    y = 0.0
    for row in reversed(rows):
        x = 0.0
        for block in row:
            if x + block.width > width + 1e-6:
                return None
            spots.append((block, x, y))
            x += block.width + _GAP
        y += max(b.height for b in row) + _GAP
    return (y, spots) if y <= height + _GAP else None


def _apart(subject: _Subject, on: Form, blocks: tuple[Block, ...]) -> Iterator[_Draft]:
    """Sheets of blocks alone, filled from the top."""
    waiting = list(blocks)
    while waiting:
        count = len(waiting)
        while count > 1 and _flow(tuple(waiting[:count]), on.free.width, on.free.height) is None:
            count -= 1
        now, waiting = tuple(waiting[:count]), waiting[count:]
        placed = _flow(now, on.free.width, on.free.height)
        if placed is None:
            continue
        used, spots = placed
        top = on.free.y1 - used + _GAP
        yield _Draft(
            form=on,
            title=f"{subject.view.title.split(',')[0]}, lists and plates",
            facts=subject.view.facts[:1],
            drawings=tuple(
                Positioned(drawing=block.drawing, x=on.free.x0 + x, y=top + y)
                for block, x, y in spots
            ),
        )


def _tiles_on(subject: _Subject, on: Form) -> tuple[Tile, ...]:
    widest, tallest = on.free.width - 2 * _SIDE, on.free.height - 2 * _BANDS[-1]
    return tiles(subject.view.box, widest, tallest)


def _tiled(subject: _Subject, on: Form) -> tuple[_Draft, ...]:
    """Tiles of a view; lists and plates go below the last one when there is room."""
    found = _tiles_on(subject, on)
    blocks = (*subject.blocks, *set_list(subject.listing, on.free.width, on.free.height))
    last = _tile_sheet(subject, on, found[-1], blocks)
    drafts = [_tile_sheet(subject, on, tile, ()) for tile in found[:-1]]
    if last is not None:
        drafts.append(last)
        blocks = ()
    else:
        drafts.append(_tile_sheet(subject, on, found[-1], ()))
    return (*(d for d in drafts if d is not None), *_apart(subject, on, blocks))


def _tile_sheet(
    subject: _Subject, on: Form, tile: Tile, blocks: tuple[Block, ...]
) -> _Draft | None:
    """One tile with blocks below it; None when these do not leave it enough room."""
    view = subject.view
    set_up = _set_up(on, blocks, tile.window, _BANDS[-1])
    if set_up is None:
        return None
    room, below = set_up
    dx, dy = _shift(room, tile.window)
    part = clipped(view.drawing, tile.shown(_BEYOND))
    joins = seams(tile)
    taken = [item_box(item).grown(0.5) for item in joins.items()]
    kept = replace(view, hard=(*view.hard, *taken))
    words = words_of(kept, room.moved(-dx, -dy), tile.window, tile.shown(_MARKS))
    count = tile.columns * tile.rows
    facts = (
        f"Column {tile.column + 1} of {tile.columns} from the left, "
        f"row {tile.row + 1} of {tile.rows} from below.",
        "Cut along a seam, lay its crosses on those of the same letter, tape.",
    )
    return _Draft(
        form=on,
        title=f"{view.title}, tile {tile.number} of {count}",
        facts=(*facts, *view.facts),
        drawings=(Positioned(drawing=merged(part, joins, words), x=dx, y=dy), *below),
    )
