"""What stands on the sheets of boards: both sides of perfboard, holes and strip cuts in lists."""

from __future__ import annotations

from collections.abc import Iterator

from fit.draw.boards import board_view
from fit.draw.copper import copper_view, cut_list
from fit.draw.cuts import CHAIN_BIT
from fit.draw.pages import Cell, Unit
from fit.draw.tables import board_list
from fit.geometry.drilling import chain_bit
from fit.geometry.scene import Scene
from fit.geometry.strips import strip_cuts
from fit.model.words import BoardStock


def board_units(scene: Scene) -> Iterator[Unit]:
    """Each board of a build; of a made board only the component side."""
    bit = chain_bit(scene.build.drawer) or CHAIN_BIT
    for placed in scene.boards:
        views, lists = [board_view(placed, bit)], [board_list(placed)]
        if placed.board.stock is not BoardStock.PLAIN:
            cuts = strip_cuts(scene, placed)
            views.append(copper_view(placed, cuts, bit))
            lists += [cut_list(placed, cuts)] if cuts else []
        yield Unit(
            name=placed.name,
            title=views[0].title if len(views) == 1 else f"{placed.name}, both sides",
            general=tuple(fact for view in views for fact in view.general),
            facts=tuple(fact for view in views for fact in view.facts),
            cells=tuple(Cell(view=view, window=view.box) for view in views),
            lists=tuple(lists),
        )
