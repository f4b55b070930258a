"""Whether what a board says of its noses can be true of one thing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from fit.model.words import BoardEdge, NoseKind
from fit.read.schema_board import NoseKeys
from fit.read.words import Say
from fit.units import show

_SAME: Final = 1e-9

_SIDES: Final = (BoardEdge.TOP, BoardEdge.UNDERSIDE)
_UPRIGHT: Final = (BoardEdge.LEFT, BoardEdge.RIGHT)

_WHOSE: Final = {
    "plug": NoseKind.PLUG,
    "travel": NoseKind.BUTTON,
    "shoulder": NoseKind.BUTTON,
}
"""Keys that go with one kind."""


def sense_noses(noses: Sequence[NoseKeys], size: tuple[float, float], say: Say) -> None:
    """Report what cannot be true of a board's noses; `size` is the board's, mm."""
    names: set[str] = set()
    for i, nose in enumerate(noses):
        if not nose.name:
            say(("noses", i, "name"), "a nose without a name", "write what it is, such as usb")
        elif nose.name.casefold() in names:
            say(("noses", i, "name"), f"'{nose.name}' is there twice", "rename one of the two")
        names.add(nose.name.casefold())
        _outline(nose, i, say)
        _place(nose, i, size, say)
        _kind(nose, i, say)


def _outline(nose: NoseKeys, i: int, say: Say) -> None:
    """It is round or rectangular, and its opening is as it is, and no smaller."""
    is_round, flat = nose.diameter > 0, nose.width > 0 or nose.height > 0
    if is_round == flat or (flat and min(nose.width, nose.height) <= 0):
        say(
            ("noses", i),
            f"'{nose.name}' has no full outline" if not is_round else f"'{nose.name}' has two",
            "write 'diameter' for a round nose, or both 'width' and 'height'",
        )
        return
    if nose.cutout is not None and is_round:
        say(("noses", i, "cutout"), "a round nose wants a round hole", "write 'hole' instead")
    if nose.hole is not None and not is_round:
        say(("noses", i, "hole"), "this nose is not round", "write 'cutout: [width, height]'")
    pairs = [(nose.diameter, nose.hole, "hole")]
    if nose.cutout is not None:
        pairs += [(own, cut, "cutout") for own, cut in zip(
            (nose.width, nose.height), nose.cutout, strict=True)]  # fmt: skip
    for own, cut, key in pairs:
        if cut is not None and cut < own - _SAME:
            say(
                ("noses", i, key),
                f"an opening of {show(cut)} does not let '{nose.name}' of {show(own)} through",
                "make it larger, or leave it out",
            )
    if nose.plug is not None and (nose.plug.diameter > 0) == (
        nose.plug.width > 0 and nose.plug.height > 0
    ):
        say(
            ("noses", i, "plug"),
            "'plug' has no full outline, or two",
            "write 'diameter' for a round moulding, or both 'width' and 'height'",
        )


def _place(nose: NoseKeys, i: int, size: tuple[float, float], say: Say) -> None:
    """Its middle lies on its edge or side, and no key counts for nothing."""
    counts = {"x", "y"} if nose.edge in _SIDES else {"y" if nose.edge in _UPRIGHT else "x"}
    for key, length in (("x", size[0]), ("y", size[1])):
        value = getattr(nose, key)
        if key in counts and not -_SAME <= value <= length + _SAME:
            say(
                ("noses", i, key),
                f"'{nose.name}' at {show(value)} is not on the board's {show(length)}",
                "it counts from the lower left corner to the nose's middle",
            )
    counts |= set() if nose.edge in _SIDES else {"above", "root"}
    for key in ("x", "y", "above", "root"):
        if key in nose.model_fields_set and key not in counts:
            say(
                ("noses", i, key),
                f"'{key}' counts for nothing at '{nose.edge}'",
                f"take it out; {' and '.join(sorted(counts))} count",
            )
    deep = size[0] if nose.edge in _UPRIGHT else size[1]
    if "root" in counts and nose.root > deep + _SAME:
        say(("noses", i, "root"), f"the board is only {show(deep)} deep there", "make it shorter")


def _kind(nose: NoseKeys, i: int, say: Say) -> None:
    for key, kind in _WHOSE.items():
        if key in nose.model_fields_set and nose.kind is not kind:
            say(("noses", i, key), f"'{key}' is for 'kind: {kind}'", f"take '{key}' out")
    if nose.kind is NoseKind.BUTTON and nose.travel <= 0:
        say(("noses", i), f"how far does button '{nose.name}' go in?", "add 'travel:'")
    if nose.shoulder > nose.reach + _SAME:
        say(
            ("noses", i, "shoulder"),
            f"the shoulder at {show(nose.shoulder)} stands out further than the face at "
            f"{show(nose.reach)}",
            "correct one of the two",
        )
