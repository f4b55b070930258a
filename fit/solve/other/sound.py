"""Whether a box made from another by changing its sizes can be at all.

The same conditions a box file is held to when it is read, for boxes that come from no file.
"""

from __future__ import annotations

from fit.geometry.box import ceiling, floor_top, inside, lid_inside
from fit.model.box import Post, Tray
from fit.model.words import Half, LidKind


def is_sound(box: Tray) -> bool:
    """Whether a box has an inside, posts and lip that can be."""
    if box.rim <= floor_top(box) or ceiling(box) <= floor_top(box):
        return False
    levels = [inside(box, floor_top(box)), inside(box, box.rim)]
    if box.lid.kind is LidKind.DEEP:
        levels.append(lid_inside(box, ceiling(box)))
    narrow = min(min(level.width, level.depth) for level in levels)
    if narrow <= 0 or box.corner_inner > narrow / 2:
        return False
    if box.corner_outer > min(box.length, box.width) / 2:
        return False
    lip = box.lid.lip
    if lip is not None:
        rim = levels[1]
        if lip.height > box.rim - box.floor:
            return False
        if 2 * (lip.gap + lip.thickness) >= min(rim.width, rim.depth):
            return False
    return all(_post(box, post) for post in box.posts)


def _post(box: Tray, post: Post) -> bool:
    room = ceiling(box) - floor_top(box)
    if post.half is Half.BODY and box.lid.kind is LidKind.FLAT:
        room = box.rim - box.floor
    if post.height > room + 1e-9 or post.height <= 0:
        return False
    if abs(post.x) >= box.length / 2 or abs(post.y) >= box.width / 2:
        return False
    wall = box.floor if post.half is Half.BODY else box.lid.thickness
    return post.depth < post.height + wall
