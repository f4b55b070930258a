"""A box of other sizes: what goes with its walls and what stays.

The closing posts stand in the corners and go with them; the board posts stay where they are, since
boards are drilled for them. Everything else of the box stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from fit.geometry.box import ceiling, floor_top, inside
from fit.model.box import Post, Tray, Wall
from fit.model.words import Half, PostUse
from fit.units import Length

LEAST: Final = 0.1
"""Nothing gets thinner or smaller than this, mm."""


class Size(StrEnum):
    """What may be otherwise about a box."""

    LENGTH = "length"
    WIDTH = "width"
    HEIGHT = "height"
    WALL = "wall"
    """All four upright walls and the floor; the outside stays."""
    DRAFT = "draft"
    POST = "post"
    """Diameter of every post, tip and foot alike."""

    @property
    def unit(self) -> str:
        """Mm or degrees."""
        return "°" if self is Size.DRAFT else "mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """The free inside of a box, mm: length and width at the rim, height from floor to lid."""

    length: float
    width: float
    height: float

    @property
    def volume(self) -> float:
        """Length × width × height, mm³."""
        return self.length * self.width * self.height


def inside_of(box: Tray) -> Inside:
    """The free inside of a box."""
    rim = inside(box, box.rim)
    return Inside(length=rim.width, width=rim.depth, height=ceiling(box) - floor_top(box))


def with_inside(box: Tray, want: Inside) -> Tray:
    """The box with that free inside; walls, floor, lid and draft as they are.

    Without the holes somebody left in this one: a box of other sizes is another box.
    """
    now, box = inside_of(box), replace(box, holes=())
    made = drifted(box, Size.LENGTH, want.length - now.length)
    made = drifted(made, Size.WIDTH, want.width - now.width)
    return drifted(made, Size.HEIGHT, want.height - now.height)


def drifted(box: Tray, size: Size, by: float) -> Tray:
    """The box with one size larger by so much (mm or degrees), smaller below 0.

    Raises:
        ValueError: when nothing would be left of it.
    """
    return _DRIFTS[size](box, by)


def _length(box: Tray, by: float) -> Tray:
    posts = tuple(_out(p, by / 2, 0.0) for p in box.posts)
    return replace(box, length=_more(box.length, by), posts=posts)


def _width(box: Tray, by: float) -> Tray:
    posts = tuple(_out(p, 0.0, by / 2) for p in box.posts)
    return replace(box, width=_more(box.width, by), posts=posts)


def _out(post: Post, dx: float, dy: float) -> Post:
    """A closing post with its corner: away from the box's middle."""
    if post.use is not PostUse.CLOSING:
        return post
    x = float(post.x) + (dx if post.x > 0 else -dx if post.x < 0 else 0.0)
    y = float(post.y) + (dy if post.y > 0 else -dy if post.y < 0 else 0.0)
    return replace(post, x=Length(x, post.x.plus_minus), y=Length(y, post.y.plus_minus))


def _height(box: Tray, by: float) -> Tray:
    """The body gets higher; a lid keeps its own height."""
    posts = tuple(
        replace(p, height=_more(p.height, by))
        if p.use is PostUse.CLOSING and p.half is Half.BODY
        else p
        for p in box.posts
    )
    return replace(box, height=_more(box.height, by), posts=posts)


def _wall(box: Tray, by: float) -> Tray:
    def thicker(wall: Wall) -> Wall:
        return replace(wall, thickness=_more(wall.thickness, by))

    return replace(
        box,
        front=thicker(box.front),
        back=thicker(box.back),
        left=thicker(box.left),
        right=thicker(box.right),
        floor=_more(box.floor, by),
    )


def _draft(box: Tray, by: float) -> Tray:
    def leaning(wall: Wall) -> Wall:
        return replace(wall, draft=wall.draft + by)

    return replace(
        box,
        front=leaning(box.front),
        back=leaning(box.back),
        left=leaning(box.left),
        right=leaning(box.right),
    )


def _post(box: Tray, by: float) -> Tray:
    posts = tuple(replace(p, tip=_more(p.tip, by), foot=_more(p.foot, by)) for p in box.posts)
    if any(p.hole >= p.tip for p in posts):
        raise ValueError("the hole would be wider than the post")
    return replace(box, posts=posts)


def _more(value: Length, by: float) -> Length:
    if value + by < LEAST:
        raise ValueError("nothing would be left")
    return Length(value + by, value.plus_minus)


_DRIFTS: Final[dict[Size, Callable[[Tray, float], Tray]]] = {
    Size.LENGTH: _length,
    Size.WIDTH: _width,
    Size.HEIGHT: _height,
    Size.WALL: _wall,
    Size.DRAFT: _draft,
    Size.POST: _post,
}
