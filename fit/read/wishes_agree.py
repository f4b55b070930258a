"""Whether wishes for a layout agree: can they all come true, wherever the parts are put?

Only what is plain at once is looked at: parts that would share one spot, or stand on both sides
of each other. Distances have no part in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from fit.model.build import Along, Wish, WishKind
from fit.model.words import FaceName

_Node = tuple[str, str]
"""Something with a coordinate: ("part", name), its ("mirror", name), ("middle", face or part)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A wish with what is known of its parts.

    Attributes:
        wish: the wish.
        faces: the face of each part that can be on one face only.
        stackable: parts that may sit one behind the other on one spot of a face: boards, and
            what could not be read.
    """

    wish: Wish
    faces: Mapping[str, FaceName]
    stackable: frozenset[str]


@dataclass(slots=True)
class _Line:
    """One coordinate: which things share it, and which come before which.

    Everything also holds for the mirror images about the middle, the other way round.
    """

    parent: dict[_Node, _Node] = field(default_factory=dict)
    before: list[tuple[_Node, _Node]] = field(default_factory=list)

    def root(self, node: _Node) -> _Node:
        """The one that stands for all that share a node's coordinate."""
        at = self.parent.get(node, node)
        while (above := self.parent.get(at, at)) != at:
            at = above
        self.parent[node] = at
        return at

    def same(self, nodes: Iterable[_Node]) -> None:
        """These share their coordinate."""
        first, *others = nodes
        for other in others:
            self.parent[self.root(other)] = self.root(first)
            self.parent[self.root(_mirror(other))] = self.root(_mirror(first))

    def in_order(self, nodes: Iterable[_Node]) -> None:
        """Each of these comes before the next."""
        for a, b in pairwise(nodes):
            self.before += [(a, b), (_mirror(b), _mirror(a))]

    def circle(self) -> list[_Node]:
        """Things each of which would come before the next and the last before the first."""
        after: dict[_Node, dict[_Node, tuple[_Node, _Node]]] = {}
        for a, b in self.before:
            after.setdefault(self.root(a), {}).setdefault(self.root(b), (a, b))
        done: set[_Node] = set()
        for start in after:
            path: list[_Node] = []
            waiting = [(start, 0)]
            while waiting:
                node, depth = waiting.pop()
                del path[depth:]
                if node in path:
                    ring = [*path[path.index(node) :], node]
                    return [name for a, b in pairwise(ring) for name in after[a][b]]
                if node in done:
                    continue
                path.append(node)
                nexts = [step for step in after.get(node, {}) if step not in done]
                if nexts:
                    waiting += [(step, len(path)) for step in nexts]
                else:
                    done.add(node)
        return []


def disagreement(told: Sequence[Told]) -> str | None:
    """In words, why these wishes cannot all come true; None when nothing plain speaks against."""
    across, up = _Line(), _Line()
    for one in told:
        _enter(one, across, up)
    last = told[-1].wish.parts if told else ()
    return _far_and_near(told) or _order(across, up, last) or _one_spot(told, across, up)


def _part(name: str) -> _Node:
    return ("part", name)


def _mirror(node: _Node) -> _Node:
    """The mirror image: of a part its image, of the image the part, of the middle itself."""
    sort, name = node
    return ({"part": "mirror", "mirror": "part"}.get(sort, sort), name)


def _enter(one: Told, across: _Line, up: _Line) -> None:
    """Enter what a wish says about the two coordinates."""
    wish, nodes = one.wish, [_part(name) for name in one.wish.parts]
    lying = wish.along is Along.ACROSS
    if wish.kind in (WishKind.ROW, WishKind.ORDER):
        across.in_order(nodes)
        if wish.kind is WishKind.ROW:
            up.same(nodes)
    elif wish.kind is WishKind.COLUMN:
        up.in_order(nodes)
        across.same(nodes)
    elif wish.kind is WishKind.IN_LINE:
        (up if lying else across).same(nodes)
    elif wish.kind is WishKind.CENTRED:
        line = across if lying else up
        for name in wish.parts:
            middle = _part(wish.middle_of) if wish.middle_of else _middle(one, name)
            line.same([middle, _part(name)])
    elif wish.kind is WishKind.SAME_BOTH_SIDES:
        up.same(nodes)
        a, b = nodes
        across.same([_mirror(a), b])


def _middle(one: Told, name: str) -> _Node:
    """The middle of a part's face; of its own unknown one when it may go on several."""
    face = one.faces.get(name)
    return ("middle", f"{face}" if face is not None else f"of {name}")


def _far_and_near(told: Sequence[Told]) -> str | None:
    pairs: dict[WishKind, set[tuple[str, ...]]] = {WishKind.NEAR: set(), WishKind.FAR: set()}
    for one in told:
        if one.wish.kind in pairs:
            pairs[one.wish.kind] |= set(combinations(sorted(one.wish.parts), 2))
    both = sorted(pairs[WishKind.NEAR] & pairs[WishKind.FAR])
    return f"'{both[0][0]}' and '{both[0][1]}' cannot be near and far" if both else None


def _order(across: _Line, up: _Line, last: Sequence[str]) -> str | None:
    """A circle in one of the orders, told by two parts of the last wish where it has them."""
    for line, first, second, beside in (
        (across, "left", "right of", "straight above or below it"),
        (up, "above", "below", "at its height"),
    ):
        ring = [name for _, name in line.circle()]
        if len(ring) == 2:
            of = " of" if line is across else ""
            return f"'{ring[0]}' cannot be {first}{of} '{ring[1]}' and {beside}"
        if ring:
            names = list(dict.fromkeys(ring))
            a, b = ([name for name in names if name in last] + names)[:2]
            return f"'{a}' cannot be both {first} and {second} '{b}'"
    return None


def _one_spot(told: Sequence[Told], across: _Line, up: _Line) -> str | None:
    spots: dict[tuple[_Node, _Node], str] = {}
    stackable = {name for one in told for name in one.stackable}
    names = [
        name
        for one in told
        for name in (*one.wish.parts, one.wish.middle_of)
        if name is not None and name not in stackable
    ]
    for name in dict.fromkeys(names):
        spot = (across.root(_part(name)), up.root(_part(name)))
        other = spots.setdefault(spot, name)
        if other != name:
            return f"'{other}' and '{name}' would sit on one spot"
    return None
