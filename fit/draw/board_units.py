"""What stands on the sheets of boards: both sides of perfboard, holes and strip cuts in lists."""

from __future__ import annotations

from collections.abc import Iterator

from fit.draw.boards import board_view
from fit.draw.copper import copper_view, cut_list
from fit.draw.pages import Cell, Unit
from fit.draw.tables import Listing, board_list
from fit.draw.view import View
from fit.draw.waste import CHAIN_BIT
from fit.geometry.drilling import chain_bit
from fit.geometry.scene import Scene
from fit.geometry.strips import strip_cuts
from fit.model.words import BoardStock


def board_units(scene: Scene) -> Iterator[Unit]:
    """Each board of a build: both sides of perfboard on one sheet, if they go, else on two."""
    bit = chain_bit(scene.build.drawer) or CHAIN_BIT
    for placed in scene.boards:
        one = _unit(placed.name, board_view(placed, bit), (board_list(placed),))
        if placed.board.stock is BoardStock.PLAIN:
            yield one
            continue
        cuts = strip_cuts(scene, placed)
        lists = (cut_list(placed, cuts),) if cuts else ()
        other = _unit(f"{placed.name} copper", copper_view(placed, cuts, bit), lists)
        yield Unit(
            name=placed.name,
            title=f"{placed.name}, both sides",
            general=(*one.general, *other.general),
            facts=(*one.facts, *other.facts),
            cells=(*one.cells, *other.cells),
            lists=(*one.lists, *other.lists),
            instead=(one, other),
        )


def _unit(name: str, view: View, lists: tuple[Listing, ...]) -> Unit:
    return Unit(
        name=name,
        title=view.title,
        general=view.general,
        facts=view.facts,
        cells=(Cell(view=view, window=view.box),),
        lists=lists,
    )
