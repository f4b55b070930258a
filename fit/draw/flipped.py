"""A drawing as seen from the other side: left and right change places, words stay readable."""

from __future__ import annotations

from dataclasses import replace

from fit.draw.drawing import Anchor, Arc, Circle, Item, Line, Node, Path

_OTHER = {
    Anchor.LOWER_LEFT: Anchor.LOWER_RIGHT,
    Anchor.LOWER_RIGHT: Anchor.LOWER_LEFT,
    Anchor.LEFT: Anchor.RIGHT,
    Anchor.RIGHT: Anchor.LEFT,
    Anchor.UPPER_LEFT: Anchor.UPPER_RIGHT,
    Anchor.UPPER_RIGHT: Anchor.UPPER_LEFT,
}


def flipped(item: Item, across: float) -> Item:
    """An item with x replaced by ``across - x``, mm. Words keep their letters and their turn."""
    if isinstance(item, Line):
        (ax, ay), (bx, by) = item.start, item.end
        return Line((across - ax, ay), (across - bx, by), item.pen, item.phase)
    if isinstance(item, Circle):
        return Circle((across - item.centre[0], item.centre[1]), item.radius, item.pen)
    if isinstance(item, Arc):
        centre = (across - item.centre[0], item.centre[1])
        return Arc(centre, item.radius, 180.0 - item.end, 180.0 - item.start, item.pen)
    if isinstance(item, Path):
        # Run backwards, so that it stays counter-clockwise; a bulge goes to its segment's end.
        nodes = item.nodes
        bulges = [nodes[n - 1].bulge for n in range(len(nodes))]
        turned = [Node(across - n.x, n.y, b) for n, b in zip(nodes, bulges, strict=True)]
        return Path(tuple(turned[::-1]), item.pen, item.fill)
    anchor = _OTHER.get(item.anchor, item.anchor)
    return replace(item, at=(across - item.at[0], item.at[1]), anchor=anchor)
