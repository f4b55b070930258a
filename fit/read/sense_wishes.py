"""Whether the wishes of a build can be meant: the parts are there, on one face, and agree."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fit.findings import Span
from fit.model.box import Tray
from fit.model.build import Wish, WishKind
from fit.model.part import Board
from fit.model.words import UPRIGHT, FaceName
from fit.read.scalars import listed
from fit.read.schema_wishes import KINDS, RegionKeys, WishKeys
from fit.read.sense_build import Draft, known
from fit.read.wishes_agree import Told, disagreement
from fit.read.words import Loc, Say

MOST_WISHES: Final = 100
"""Most wishes accepted in one build."""

_ONE_FACE: Final = {
    WishKind.ROW,
    WishKind.COLUMN,
    WishKind.IN_LINE,
    WishKind.SAME_BOTH_SIDES,
    WishKind.ORDER,
}
_FEWEST: Final = {WishKind.CENTRED: 1, WishKind.KEEP_OUT: 0, WishKind.FINGER_GAP: 0}
"""Fewest parts named; for all others two."""

_ALONG: Final = (WishKind.IN_LINE, WishKind.CENTRED)
_UPRIGHT_ONLY: Final = ("from_floor", "from_rim")
_LEVEL_ONLY: Final = ("from_front", "from_back")


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One wish of the file: its number in the list, its keys, its place."""

    number: int
    keys: WishKeys
    where: Span


def sense_wishes(draft: Draft, given: Sequence[Given], say: Say) -> tuple[Wish, ...]:
    """Report what cannot be meant; give the wishes that can.

    Args:
        draft: what of the build could be read.
        given: its wishes, in file order.
        say: reports a problem.
    """
    if len(given) > MOST_WISHES:
        right = f"keep the {MOST_WISHES} that matter most"
        say(("wishes",), f"there are {len(given)} wishes", right)
        return ()
    good = [one for one in given if _makes_sense(draft, one, say)]
    wishes = [one.keys.wish(one.where) for one in good]
    _once(good, say)
    agreeing: list[Told] = []
    for one, wish in zip(good, wishes, strict=True):
        told = _told(draft, wish)
        clash = disagreement([*agreeing, told])
        if clash is None:
            agreeing.append(told)
            continue
        other = next((w for w in agreeing if disagreement([w, told])), None)
        with_what = ""
        if other is not None:
            with_what = f" if the wish on line {other.wish.where.line} comes true"
        elif disagreement([told]) is None:
            with_what = " if the wishes before it come true"
        say(
            ("wishes", one.number),
            f"this wish cannot come true{with_what}: {clash}",
            "take one of them out" if with_what else "take a name out",
        )
    return tuple(wishes)


def _makes_sense(draft: Draft, one: Given, say: Say) -> bool:
    """Whether one wish can be meant, whatever the others say."""
    loc: Loc = ("wishes", one.number)
    keys, kinds = one.keys, one.keys.kinds()
    if len(kinds) != 1:
        wrong = (
            f"this wish is {listed(kinds, 'and')} at once" if kinds else "this wish says nothing"
        )
        say(loc, wrong, f"write one of {listed(KINDS)}, each wish on a line of its own")
        return False
    (kind,) = kinds
    good = True
    for word, fits in (("along", _ALONG), ("on", (WishKind.CENTRED,))):
        if word in keys.model_fields_set and WishKind(kind) not in fits:
            say((*loc, word), f"'{word}' goes with {listed(fits, 'and')}", "take it out")
            good = False
    if keys.keep_out is not None:
        return _region(draft.box, keys.keep_out, (*loc, kind), say) and good
    return _parts(draft, one, kind, say) and good


def _parts(draft: Draft, one: Given, kind: str, say: Say) -> bool:
    """The parts named are there, enough of them, each once, and can be on one face."""
    loc: Loc = ("wishes", one.number, kind)
    names, fewest = one.keys.names(), _FEWEST.get(WishKind(kind), 2)
    if len(names) < fewest:
        what = {0: "no part", 1: "one part"}[len(names)]
        need = "a part" if fewest == 1 else "two parts" + (" or more" if kind != _PAIR else "")
        say(loc, f"'{kind}' names {what}", f"name {need}")
        return False
    if kind == _PAIR and len(names) > 2:
        say(loc, f"'{kind}' names {len(names)} parts", "name two: each side has one")
        return False
    good = True
    for i, name in enumerate(names):
        at = (*loc, i) if isinstance(getattr(one.keys, kind), list) else loc
        if name in names[:i]:
            say(at, f"'{name}' stands here twice", "take one of the two out")
            good = False
        else:
            good = known(draft, name, at, say) and good
    if one.keys.on is not None and kind == WishKind.CENTRED:
        good = _middle(draft, one, names, say) and good
    if not good or WishKind(kind) not in _ONE_FACE | {WishKind.CENTRED}:
        return good
    return _one_face(draft, kind, names, one.keys.on, loc, say)


_PAIR: Final = WishKind.SAME_BOTH_SIDES.value


def _middle(draft: Draft, one: Given, names: tuple[str, ...], say: Say) -> bool:
    """The part that `centred` is centred on is another one."""
    loc: Loc = ("wishes", one.number, "on")
    assert one.keys.on is not None
    if one.keys.on in names:
        say(loc, f"'{one.keys.on}' cannot be centred on itself", "name another part")
        return False
    if one.keys.on in set(FaceName) and one.keys.on not in draft.names:
        right = "take 'on' out: without it the middle of the part's face is meant"
        say(loc, f"there is no part called '{one.keys.on}' in this build", right)
        return False
    return known(draft, one.keys.on, loc, say)


def _one_face(
    draft: Draft, kind: str, names: tuple[str, ...], on: str | None, loc: Loc, say: Say
) -> bool:
    """Every part has a place of its own on a face, and there is one face for all."""
    every = (*names, on) if on is not None else names
    every = tuple(name for name in every if name in draft.keys.parts)
    for name in every:
        if not draft.seats(name):
            standing = draft.keys.parts[name].joined_to is not None
            if standing:
                say(
                    loc,
                    f"'{name}' stands on another board and has no place of its own on a face",
                    "take it out, or name the part it carries",
                )
            return False  # a part without a face is reported with the part
    if kind == WishKind.CENTRED and on is None:
        return True
    first = every[0] if every else ""
    for name in every[1:]:
        if not set(draft.seats(name)) & set(draft.seats(first)):
            say(
                loc,
                f"'{first}' is on '{listed(draft.seats(first))}', but '{name}' on "
                f"'{listed(draft.seats(name))}'",
                "name parts of one face",
            )
            return False
    common = set.intersection(*(set(draft.seats(name)) for name in every)) if every else {""}
    if not common:
        say(loc, "there is no face that all of these may go on", "name parts of one face")
    return bool(common)


def _region(box: Tray | None, region: RegionKeys, loc: Loc, say: Say) -> bool:
    """The edges are the face's, and between them something is left."""
    upright = region.on in UPRIGHT
    unsuited, instead = (_LEVEL_ONLY, _UPRIGHT_ONLY) if upright else (_UPRIGHT_ONLY, _LEVEL_ONLY)
    good = True
    for key in unsuited:
        if getattr(region, key) is not None:
            how = "stands upright" if upright else "lies level"
            say(
                (*loc, key),
                f"'{key}' has no meaning on the {region.on}, which {how}",
                f"write '{instead[unsuited.index(key)]}'",
            )
            good = False
    if not good or box is None:
        return good
    made = region.make()
    wide, high = _most(box, region.on)
    for taken, there, what in (
        (made.left + made.right, wide, "wide"),
        (made.low + made.high, high, "high" if upright else "deep"),
    ):
        if taken >= there:
            say(
                loc,
                f"nothing is left between these edges: '{region.on}' is {there:.0f} mm {what}",
                "write how far in from each edge the rectangle begins",
            )
            return False
    return True


def _most(box: Tray, face: FaceName) -> tuple[float, float]:
    """The most a face can measure, width and height, mm: no wall leans enough to have more."""
    if face not in UPRIGHT:
        return float(box.length), float(box.width)
    wall = {FaceName.FRONT: box.front, FaceName.RIGHT: box.right}.get(
        face, box.back if face is FaceName.BACK else box.left
    )
    lean = math.cos(math.radians(wall.draft))
    return float(box.length if face in (FaceName.FRONT, FaceName.BACK) else box.width), (
        box.height / lean
    )


def _once(good: Sequence[Given], say: Say) -> None:
    """There is one finger gap, and no wish twice."""
    seen: list[tuple[Given, Wish]] = []
    for one in good:
        wish = one.keys.wish(one.where)
        for earlier, other in seen:
            gaps = wish.kind is WishKind.FINGER_GAP and other.kind is WishKind.FINGER_GAP
            if wish == other or gaps:
                line = earlier.where.line
                what = f"'{wish.kind}'" if gaps else "this wish"
                say(("wishes", one.number), f"{what} stands on line {line} already", "take one out")
                break
        seen.append((one, wish))


def _told(draft: Draft, wish: Wish) -> Told:
    """A wish with what must be known of its parts to see whether it agrees with others."""
    names = set(wish.parts) | ({wish.middle_of} if wish.middle_of else set())
    return Told(
        wish=wish,
        faces={n: draft.seats(n)[0] for n in sorted(names) if len(draft.seats(n)) == 1},
        stackable=frozenset(n for n in names if isinstance(draft.parts.get(n), Board | None)),
    )
