"""The sizes a hand-made copy does not share with its file: what each is, and how far it may be off.

Sizes of bought things are sampled, sizes that a person makes (holes, cut-outs, sawn edges) are
not: those are the work of hands, see :mod:`fit.check.copies_hands`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from enum import StrEnum
from typing import Any

from fit.model.box import Post, Tray
from fit.model.build import Build, Used
from fit.model.part import (
    Board,
    BushingPart,
    Display,
    Gland,
    Grille,
    Grommet,
    Holder,
    PanelPart,
    RimSwitch,
    TapedPart,
)
from fit.model.words import LidKind
from fit.trade.materials import moulded_tolerance
from fit.units import Length

Path = tuple[str | int, ...]
"""Where a length stands in a build: names of fields and places in tuples."""

LONGEST = 500.0
"""Moulded tolerances are known up to here, mm; longer things are taken to be as this long."""

SHEET = 0.1
"""How far a board's thickness may be off, as a share (usual for printed boards, from memory)."""


class Kind(StrEnum):
    """Where an uncertainty comes from."""

    WRITTEN = "written"
    """± in a file."""
    USUAL = "usual"
    """Nothing was said: what such things usually are off."""
    SAWN = "sawn"
    """An edge cut by hand: it can be measured once it is cut."""
    HANDS = "hands"
    """Marking, punching, drilling, filing, bending."""


MEASURABLE = (Kind.WRITTEN, Kind.USUAL, Kind.SAWN)
"""What measuring could make surer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One thing that is not quite as planned.

    Attributes:
        name: in words a person understands.
        plus_minus: mm (degrees for a bend) either way.
        kind: where it comes from.
        usually: how much it is off on average, same unit.
        paths: the lengths of the build it is, each with its sign; empty for hand work.
        owner: the part those belong to; empty for the box.
    """

    name: str
    plus_minus: float
    kind: Kind
    usually: float = 0.0
    paths: tuple[tuple[Path, float], ...] = ()
    owner: str = ""


def usual_spread(size: float, *, across_parting: bool = False) -> float:
    """How far a bought size may be off when nothing is said, mm either way; for orientation.

    That of a moulded size: half of IT12, or IT13 across the parting of the mould.
    """
    nominal = min(abs(size), LONGEST)
    return moulded_tolerance(nominal, across_parting=across_parting) if nominal > 0 else 0.0


def sizes(build: Build) -> tuple[Source, ...]:
    """Every size of the box and of bought parts that may be off, in the build's order."""
    found = list(_box(build.box))
    for number, used in enumerate(build.parts):
        found += _part(("parts", number), used)
    return tuple(s for s in found if s.plus_minus > 0)


# --- the box


def _box(tray: Tray) -> Iterator[Source]:
    flat = tray.lid.kind is LidKind.FLAT
    yield _one("length of the box", ("box", "length"), tray.length)
    yield _one("width of the box", ("box", "width"), tray.width)
    yield _one("height of the box", ("box", "height"), tray.height, parting=True)
    yield _one("thickness of the floor", ("box", "floor"), tray.floor)
    yield from _walls(tray)
    thick: list[Path] = [("box", "lid", "thickness"), *([("box", "lid", "height")] if flat else [])]
    yield _several("thickness of the lid", thick, tray.lid.thickness)
    if not flat:
        yield _one("height of the lid", ("box", "lid", "height"), tray.lid.height)
        yield _one("thickness of the lid's walls", ("box", "lid", "wall"), tray.lid.wall)
    if tray.lid.lip is not None:
        for word in ("height", "thickness", "gap"):
            size = getattr(tray.lid.lip, word)
            yield _one(f"{word} of the lid's lip", ("box", "lid", "lip", word), size)
    yield from _posts(tray)
    for n, rib in enumerate(tray.ribs):
        for word in ("thickness", "depth"):
            size = getattr(rib, word)
            yield _one(f"{word} of rib {rib.name}", ("box", "ribs", n, word), size)


def _walls(tray: Tray) -> Iterator[Source]:
    """Walls of one thickness come out of one mould: they are off together."""
    groups: dict[float, list[str]] = {}
    for name in ("front", "back", "left", "right"):
        groups.setdefault(float(getattr(tray, name).thickness), []).append(name)
    for names in groups.values():
        which = "of the walls" if len(groups) == 1 else f"of the {' and '.join(names)} wall"
        paths: list[Path] = [("box", name, "thickness") for name in names]
        yield _several(f"thickness {which}", paths, getattr(tray, names[0]).thickness)


def _posts(tray: Tray) -> Iterator[Source]:
    """Posts alike are off together in height and thickness, each for itself in its place."""
    alike: dict[tuple[object, ...], list[int]] = {}
    for n, post in enumerate(tray.posts):
        key = (post.half, post.use, *map(float, (post.tip, post.foot, post.height, post.hole)))
        alike.setdefault(key, []).append(n)
    for numbers in alike.values():
        first = tray.posts[numbers[0]]
        which = _post_words([tray.posts[n] for n in numbers])
        for word in ("height", "hole", "depth"):
            paths: list[Path] = [("box", "posts", n, word) for n in numbers]
            named = {"hole": "hole in", "depth": "depth of the hole in"}.get(word, f"{word} of")
            yield _several(f"{named} {which}", paths, getattr(first, word))
        thick: list[Path] = [("box", "posts", n, w) for n in numbers for w in ("tip", "foot")]
        yield _several(f"thickness of {which}", thick, first.tip)
    for n, post in enumerate(tray.posts):
        for word in ("x", "y"):
            size: Length = getattr(post, word)
            # What is printed is the distance of two posts: half of its error is either's.
            off = size.plus_minus or usual_spread(2 * size) / 2
            kind = Kind.WRITTEN if size.plus_minus else Kind.USUAL
            yield Source(
                name=f"place of post {post.name} along {word}",
                plus_minus=off,
                kind=kind,
                paths=((("box", "posts", n, word), 1.0),),
            )


def _post_words(posts: list[Post]) -> str:
    if len(posts) == 1:
        return f"post {posts[0].name}"
    return f"posts {posts[0].name} to {posts[-1].name}"


# --- parts

_THINGS: Mapping[type, tuple[str, ...]] = {
    BushingPart: (
        "neck",
        "hull",
        "bezel",
        "nut",
        "washer",
        "inner_washer",
        "terminals",
        "knob",
        "plug",
    ),
    PanelPart: ("front", "front_thickness", "hull", "terminals", "clamp", "plug"),
    RimSwitch: ("body", "lever", "terminals"),
    Display: ("module", "thickness", "active", "visible", "frame", "frame_height", "rear"),
    Board: ("thickness", "zones"),
    TapedPart: ("size", "tail"),
    Gland: ("neck", "nut", "outside"),
    Grommet: ("flange",),
    Holder: ("size",),
    Grille: ("body",),
}
"""Sizes that get the usual spread when none is written."""

_MADE: Mapping[type, tuple[str, ...]] = {
    BushingPart: ("hole", "anti_turn"),
    PanelPart: ("cutout", "cutout_plus", "corner_radius", "panel_min", "panel_max"),
    RimSwitch: ("slot",),
    Board: ("notches", "holes"),
    TapedPart: ("wire_hole",),
    Gland: ("hole", "cable_min", "cable_max", "bend"),
    Grommet: ("hole", "bend"),
    Grille: ("bit", "pitch", "outer", "inner", "size"),
}
"""What hands make, and limits: not sizes of a thing."""

_NO_USUAL = ("x", "y", "width", "depth")
"""Of an area on a board, these are where its part is soldered: no spread but a written one."""


_CUT = ("hole", "cutout")
"""Of a nose, what is cut for it."""


def _part(path: Path, used: Used) -> Iterator[Source]:
    usual, made = _THINGS.get(type(used.part), ()), _MADE.get(type(used.part), ())
    for field in fields(used.part):
        if field.name not in made:
            yield from _lengths(
                used,
                (*path, "part", field.name),
                getattr(used.part, field.name),
                usual=field.name in usual,
            )
    yield from _lengths(used, (*path, "standoff"), used.standoff, usual=True)
    yield from _lengths(used, (*path, "at"), used.at, usual=False)
    if used.window is not None:
        yield from _lengths(used, (*path, "window", "filter"), used.window.filter, usual=True)
        yield from _lengths(used, (*path, "window", "gap"), used.window.gap, usual=False)
    if used.screws is not None:
        at = (*path, "screws", "length")
        yield from _lengths(used, at, used.screws.length, usual=True)
    if used.joint is not None:
        yield from _lengths(used, (*path, "joint", "size"), used.joint.size, usual=True)


def _lengths(used: Used, path: Path, value: object, *, usual: bool) -> Iterator[Source]:
    """The lengths in a value, each as a source."""
    if isinstance(value, Length):
        spread = value.plus_minus
        kind = Kind.WRITTEN if spread else Kind.USUAL
        if not spread and usual and value > 0:
            spread = _usual_of(used, path, value)
        if spread:
            yield Source(
                name=_words(used, path),
                plus_minus=spread,
                kind=kind,
                paths=((path, 1.0),),
                owner=used.name,
            )
    elif isinstance(value, tuple):
        for n, item in enumerate(value):
            yield from _lengths(used, (*path, n), item, usual=usual)
    elif is_dataclass(value):
        for field in fields(value):
            if field.name in _CUT:
                continue
            inner = getattr(value, field.name)
            plain = usual and not ("zones" in path and field.name in _NO_USUAL)
            yield from _lengths(used, (*path, field.name), inner, usual=plain)


def _usual_of(used: Used, path: Path, value: Length) -> float:
    if isinstance(used.part, Board) and path[-1] == "thickness":
        return SHEET * value
    return usual_spread(value)


# --- words

_CALLED = {
    "hull": "body",
    "inner_washer": "inner washer",
    "front_thickness": "thickness of the front",
    "frame_height": "height of the frame",
    "outside": "outer part",
    "filter": "thickness of the filter plate",
    "gap": "gap before the display",
    "tail": "bundle of wires",
    "across_flats": "width across flats",
    "active": "lit area",
    "visible": "visible area",
}
_SIDES = {0: "width", 1: "height", 2: "depth"}


def _words(used: Used, path: Path) -> str:
    """A size in words: "depth of the body of tare"."""
    inner = [step for step in path[2:] if step not in ("part", "window")]
    whose = f"board {used.name}" if isinstance(used.part, Board) else used.name
    if inner[0] == "at":
        return f"place of {whose} ({inner[1]})"
    if inner[0] == "zones" and isinstance(used.part, Board):
        zone = used.part.zones[int(inner[1])]
        return f"{inner[2]} of {zone.name} on {used.name}"
    named = [_CALLED.get(s, s) if isinstance(s, str) else _SIDES.get(s, "size") for s in inner]
    if named[0] == "size":
        named = named[1:]
    if named[0] == "joint":
        named = [s for s in named if s != "size"]
    return " of the ".join(reversed(named)) + f" of {whose}"


# --- putting other sizes into a build


Tree = dict[str | int, Any]
"""Steps of paths to further steps, or to the number to add, mm."""


def tree_of(paths: Mapping[Path, float]) -> Tree:
    """Paths and what to add there as nested steps."""
    root: Tree = {}
    for path, add in paths.items():
        at = root
        for step in path[:-1]:
            at = at.setdefault(step, {})
        at[path[-1]] = at.get(path[-1], 0.0) + add
    return root


def added(value: Any, tree: Tree | float) -> Any:
    """A build, or anything in it, with lengths changed: each loses its ± and stays above 0."""
    if isinstance(tree, float):
        size = float(value)
        return Length(max(size + tree, 1e-6) if size > 0 else size + tree)
    if isinstance(value, tuple):
        return tuple(added(v, tree[n]) if n in tree else v for n, v in enumerate(value))
    return replace(value, **{str(k): added(getattr(value, str(k)), t) for k, t in tree.items()})


def _one(name: str, path: Path, size: Length, *, parting: bool = False) -> Source:
    return _several(name, [path], size, parting=parting)


def _several(name: str, paths: list[Path], size: Length, *, parting: bool = False) -> Source:
    written = size.plus_minus
    return Source(
        name=name,
        plus_minus=written or usual_spread(size, across_parting=parting),
        kind=Kind.WRITTEN if written else Kind.USUAL,
        paths=tuple((path, 1.0) for path in paths),
    )
