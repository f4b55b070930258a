"""Whether the parts of a build can be what and where their file says, whatever their sizes."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

from fit.model.box import Tray
from fit.model.build import Drawer
from fit.model.part import (
    Board,
    BushingPart,
    Display,
    Gland,
    Grille,
    Grommet,
    Holder,
    Joint,
    PanelPart,
    Part,
    RimSwitch,
    Screw,
    TapedPart,
)
from fit.model.words import UPRIGHT, FaceName, Half, PostUse, Seat
from fit.read.scalars import did_you_mean, listed
from fit.read.schema_board import BoardKeys
from fit.read.schema_build import AnyOf, BuildKeys, FromKeys, PlaceKeys, UsedKeys
from fit.read.sense_place import edge_suits
from fit.read.sense_size import standing_size
from fit.read.words import Say
from fit.units import Length

_A: Final[dict[type[Part], str]] = {
    BushingPart: "a part on a bushing",
    PanelPart: "a panel part",
    RimSwitch: "a rim switch",
    Display: "a display",
    Board: "a board",
    TapedPart: "a taped part",
    Gland: "a gland",
    Grommet: "a grommet",
    Holder: "a holder",
    Grille: "a grille",
    Joint: "a joint",
    Screw: "a screw",
}

_ANY_FACE: Final = tuple(FaceName)
_SEATS: Final[dict[type[Part], tuple[FaceName | Seat, ...]]] = {
    RimSwitch: UPRIGHT,
    Board: (Seat.POSTS, Seat.CARRIER, FaceName.FLOOR, FaceName.LID),
    Holder: (*_ANY_FACE, Seat.CARRIER),
}
"""Where a kind of part can sit; all others sit on any face."""

_INSIDE: Final = {Half.BODY: FaceName.FLOOR, Half.LID: FaceName.LID}
_SCREWED: Final = (Board, PanelPart, Holder, Display, Grille)
_HIDDEN: Final = (Board, Holder)
_MOST_MARKS: Final = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What of a build could be read.

    Attributes:
        keys: the build's keys, without the parts that could not be read.
        parts: what each part in `keys` is; None where that could not be read.
        names: every part's name in the file, readable or not.
        box: the box, or None.
    """

    keys: BuildKeys
    parts: Mapping[str, Part | None]
    names: Collection[str]
    box: Tray | None

    def seats(self, name: str) -> tuple[FaceName, ...]:
        """The faces a part may sit on, with posts and carrier as the floor or lid they mean.

        Empty for a part that is not known or sits on no face; the first choice first.
        """
        used = self.keys.parts.get(name)
        if used is None:
            return ()
        inside = tuple(_INSIDE[half] for half in self.keys.carrier.halves)
        faces = (inside if isinstance(seat, Seat) else (seat,) for seat in used.seats)
        return tuple(face for some in faces for face in some)


def sense_build(draft: Draft, say: Say) -> None:
    """Report what cannot be true of a build."""
    for name, used in draft.keys.parts.items():
        part = draft.parts[name]
        if part is not None:
            _sense_used(draft, name, used, part, say)
        if used.at is not None:
            _place(draft, name, used, used.at, say)
        _links(draft, name, used, say)
    _circles(draft, say)
    _carried_twice(draft, say)


def sense_spacers(keys: BuildKeys, drawer: Drawer | None, say: Say) -> None:
    """Report boards that want any spacer of a drawer that has none."""
    if drawer is None or drawer.spacers:
        return
    for name, used in keys.parts.items():
        if isinstance(used.standoff, AnyOf):
            say(
                ("parts", name, "standoff"),
                f"there are no spacers in drawer '{drawer.name}'",
                "add 'spacers:' to it, or write the heights here, such as [5, 10]",
            )


def known(draft: Draft, other: str, loc: tuple[str | int, ...], say: Say) -> bool:
    """Whether a part of that name is in the file; reported when not."""
    if other in draft.names:
        return True
    otherwise = f"the parts here are {listed(draft.names, 'and')}"
    say(
        loc,
        f"there is no part called '{other}' in this build",
        did_you_mean(other, draft.names, otherwise),
    )
    return False


def _sense_used(draft: Draft, name: str, used: UsedKeys, part: Part, say: Say) -> None:
    loc = ("parts", name)
    if isinstance(part, Joint | Screw):
        after = "with" if isinstance(part, Joint) else "screws"
        say(
            (*loc, "use"),
            f"{_A[type(part)]} is no part of its own",
            f"name it after '{after}:' of the board it holds",
        )
        return
    _seat(draft, used, part, loc, say)
    _choices(draft, used, loc, say)
    only_boards = {
        "joined_to": used.joined_to,
        "with": used.joint,
        "carries": used.carries or None,
        "standoff": used.standoff,
    }
    for key, value in only_boards.items():
        if value is not None and not isinstance(part, Board):
            say((*loc, key), f"'{key}' is for boards; '{name}' is {_A[type(part)]}", "take it out")
    if used.window is not None and not isinstance(part, Display):
        say(
            (*loc, "window"),
            f"'window' is for displays; '{name}' is {_A[type(part)]}",
            "take it out",
        )
    if used.screws is not None and not isinstance(part, _SCREWED):
        say((*loc, "screws"), f"{_A[type(part)]} is not held by screws", "take it out")
    _label(used, part, loc, say)
    if isinstance(part, RimSwitch):
        _rim_switch(used, loc, say)


def _label(used: UsedKeys, part: Part, loc: tuple[str, ...], say: Say) -> None:
    """What the front label says of a part is beside something that is seen from outside."""
    if used.legend and isinstance(part, _HIDDEN):
        say((*loc, "legend"), f"{_A[type(part)]} is not seen from outside", "take the legend out")
    scale = used.scale
    if scale is None:
        return
    if not (isinstance(part, BushingPart) and part.knob is not None):
        say((*loc, "scale"), "a scale stands round a knob", "take it out, or give the part a knob")
    if not 1 <= scale.last - scale.first <= _MOST_MARKS:
        right = f"last is larger than first, by {_MOST_MARKS} at most"
        say((*loc, "scale"), f"no scale runs from {scale.first} to {scale.last}", right)
    if not 0 < scale.end - scale.start <= 360:
        say(
            (*loc, "scale"),
            f"no knob turns from {scale.start:g}° to {scale.end:g}°",
            "the end is larger than the start, by a whole turn at most",
        )


def _rim_switch(used: UsedKeys, loc: tuple[str, ...], say: Say) -> None:
    if used.all_turns != (0,):
        say((*loc, "turn"), "a rim switch hangs in its slot: it cannot be turned", "take it out")
    if used.at is not None and used.at.up is not None:
        say(
            (*loc, "at", "up"),
            "a rim switch hangs on the rim: its height is settled",
            "write only 'across'",
        )


def _seat(draft: Draft, used: UsedKeys, part: Part, loc: tuple[str, ...], say: Say) -> None:
    """`on` is there where it must be, and is a place for this kind of part."""
    what = _A[type(part)]
    seats = _SEATS.get(type(part), _ANY_FACE)
    if used.joined_to is not None and isinstance(used.use, BoardKeys):
        standing_size(used.use, loc, say)
    if not used.seats:
        if used.on is not None:
            return  # a list without a face in it: see _choices
        if not isinstance(part, Board):
            say(loc, f"'on' is missing for {what}", f"add 'on:' and one of {listed(seats)}")
        elif used.joined_to is None:
            say(
                loc,
                "'on' is missing for a board",
                f"add 'on:' and one of {listed(seats)}, or 'joined_to:' for a standing board",
            )
        return
    wrong = [seat for seat in used.seats if seat not in seats]
    if wrong:
        right = f"write {listed(seats)}"
        if isinstance(part, Board):
            right += "; a board behind a wall stands on another: 'joined_to:'"
        say((*loc, "on"), f"{what} cannot sit on '{wrong[0]}'", right)
    elif used.on is Seat.POSTS and draft.box is not None and not _board_posts(draft):
        say(
            (*loc, "on"),
            f"box '{draft.box.name}' has no posts for boards in "
            f"{listed((f'its {half}' for half in draft.keys.carrier.halves), 'and')}",
            "write 'on: carrier' and a 'standoff'",
        )
    if used.joined_to is not None and isinstance(part, Board):
        say(
            (*loc, "on"),
            "a board joined to another stands on that one, not on a face",
            "take out 'on' or 'joined_to'",
        )
    if used.standoff is not None and used.on is Seat.POSTS:
        say(
            (*loc, "standoff"),
            "on the posts there is no standoff",
            "take it out, or write 'on: carrier'",
        )


def _choices(draft: Draft, used: UsedKeys, loc: tuple[str, ...], say: Say) -> None:
    """Lists of choices are lists of different things."""
    for key, given in (("on", used.on), ("turn", used.turn), ("standoff", used.standoff)):
        if not isinstance(given, list):
            continue
        if not given:
            say((*loc, key), f"'{key}' has no choices", "write at least one")
        for i, choice in enumerate(given):
            if choice in given[:i]:
                again = choice.words if isinstance(choice, Length) else choice
                say((*loc, key, i), f"'{again}' stands here twice", "take one of the two out")
    window = used.window
    if window is not None and isinstance(window.gap, tuple) and window.gap[1] <= window.gap[0]:
        say(
            (*loc, "window", "gap"),
            f"no gap is from {window.gap[0].words} to {window.gap[1].words}",
            "write the smaller one first, or a single number",
        )


def _board_posts(draft: Draft) -> bool:
    assert draft.box is not None
    return any(
        post.half in draft.keys.carrier.halves and post.use is PostUse.BOARD
        for post in draft.box.posts
    )


def _place(draft: Draft, name: str, used: UsedKeys, at: PlaceKeys, say: Say) -> None:
    """The coordinates suit the face; `beside` names a neighbour on the same face."""
    loc = ("parts", name, "at")
    for key, given in (("across", at.across), ("up", at.up)):
        if isinstance(given, FromKeys):
            _edge(draft, name, given, (*loc, key), say)
        if at.beside is not None and given is not None:
            say((*loc, key), f"'{key}' is settled by 'beside' already", "take one of the two out")
    if at.beside is None:
        for key in ("gap", "side"):
            if key in at.model_fields_set:
                say(
                    (*loc, key), f"'{key}' goes with 'beside'", f"add 'beside:' or take '{key}' out"
                )
        return
    if len(used.seats) > 1:
        say(
            (*loc, "beside"),
            f"'{name}' may go on several faces, so beside what it sits is not settled",
            "take 'beside' out, or write one face after 'on:'",
        )
        return
    if at.beside == name:
        say((*loc, "beside"), f"'{name}' cannot sit beside itself", "name another part")
        return
    if not known(draft, at.beside, (*loc, "beside"), say):
        return
    own, others = draft.seats(name), draft.seats(at.beside)
    if at.beside not in draft.keys.parts or not own or own == others:
        return
    if len(own) > 1 or len(others) > 1:
        free = at.beside if len(others) > 1 else name
        say(
            (*loc, "beside"),
            f"'{free}' may go on several faces, so '{name}' may not end up on the same one",
            "name a part whose face is settled, or write one face after 'on:'",
        )
        return
    where = f"on '{others[0]}'" if others else "on no face"
    say(
        (*loc, "beside"),
        f"'{name}' is on '{own[0]}', but '{at.beside}' is {where}",
        "name a part on the same face",
    )


def _edge(draft: Draft, name: str, given: FromKeys, loc: tuple[str | int, ...], say: Say) -> None:
    edge_suits(draft.seats(name), given, loc, say)


def _links(draft: Draft, name: str, used: UsedKeys, say: Say) -> None:
    """joined_to, with and carries name the right things."""
    loc = ("parts", name)
    if used.joint is not None and used.joined_to is None:
        say((*loc, "with"), "'with' says how two boards are joined", "add 'joined_to:'")
    other = used.joined_to
    if other is not None and known(draft, other, (*loc, "joined_to"), say):
        target = draft.keys.parts.get(other)
        part = draft.parts.get(other)
        if other == name:
            say((*loc, "joined_to"), f"'{name}' cannot be joined to itself", "name a lying board")
        elif part is not None and not isinstance(part, Board):
            say(
                (*loc, "joined_to"),
                f"'{other}' is {_A[type(part)]}, not a board",
                "name a lying board",
            )
        elif target is not None and target.joined_to is not None:
            say(
                (*loc, "joined_to"),
                f"'{other}' stands on another board itself",
                "name a lying board",
            )
    if used.carries and used.joined_to is None and isinstance(draft.parts.get(name), Board):
        say(
            (*loc, "carries"),
            "only a standing board carries displays behind a wall",
            "add 'joined_to:' or take it out",
        )
    for i, display in enumerate(used.carries):
        if known(draft, display, (*loc, "carries", i), say):
            part = draft.parts.get(display)
            if part is not None and not isinstance(part, Display):
                say(
                    (*loc, "carries", i),
                    f"'{display}' is {_A[type(part)]}, not a display",
                    "name displays",
                )


def _circles(draft: Draft, say: Say) -> None:
    """No chain of `beside` comes back to its start; each circle is reported once."""
    follows = {
        name: used.at.beside
        for name, used in draft.keys.parts.items()
        if used.at is not None and used.at.beside not in (None, name)
    }
    done: set[str] = set()
    for start in follows:
        chain: list[str] = []
        step: str | None = start
        while step is not None and step not in chain and step not in done:
            chain.append(step)
            step = follows.get(step)
        if step in chain:
            ring = chain[chain.index(step) :]
            say(
                ("parts", ring[0], "at", "beside"),
                f"these parts wait for each other: {' beside '.join([*ring, ring[0]])}",
                "give one of them a place of its own",
            )
        done.update(chain)


def _carried_twice(draft: Draft, say: Say) -> None:
    carrier: dict[str, str] = {}
    for name, used in draft.keys.parts.items():
        for i, display in enumerate(used.carries):
            if display in carrier:
                say(
                    ("parts", name, "carries", i),
                    f"'{display}' is carried by '{carrier[display]}' already",
                    "take it out of one of the two",
                )
            carrier.setdefault(display, name)
