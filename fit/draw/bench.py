"""Units on one sheet: what the title block takes, how lists are set, whether all of it goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from fit.draw.drawing import Box
from fit.draw.furniture import Form, Heading, narrowed, title_fits
from fit.draw.sheet import Sheet, arrange
from fit.draw.tables import Block, Listing, joined, set_list
from fit.draw.units import Imprint, Unit, names_of, noted, notes_apart


@dataclass(slots=True)
class Bench:
    """Tries units on sheets of one paper, in each way it may lie.

    Attributes:
        forms: the ways.
        imprint: what every sheet says.
    """

    forms: Sequence[Form]
    imprint: Imprint
    _set: dict[tuple[Listing, float, float], tuple[Block, ...]] = field(default_factory=dict)

    def fits(self, unit: Unit) -> bool:
        """Whether a unit goes on one sheet."""
        return any(self.compose((unit,), on) for on in self.forms)

    def heading(self, sheet: Sheet, number: int, of: int) -> Heading:
        """The title block of a sheet."""
        return self.imprint.heading(sheet.units, sheet.form, sheet.facts, number, of)

    def compose(
        self,
        units: Sequence[Unit],
        on: Form,
        contents: Listing | None = None,
        first: tuple[str, ...] = (),
    ) -> Sheet | None:
        """Put units on one sheet; None when they do not go there together.

        Lists with the same heads are joined, and notes stand below them, unless there is only
        room for them apart.
        """
        on, rooms = narrowed(on)
        facts, left = self._told(units, on, first)
        pairs = list(zip(units, left, strict=True))
        below = [listing for unit, more in pairs for listing in noted(unit, more)]
        apart = [listing for unit, more in pairs for listing in notes_apart(unit, more)]
        ways = (joined(below), joined(apart), tuple(apart))
        for lists in dict.fromkeys(ways):
            lists = (*((contents,) if contents else ()), *lists)
            choices = [plate for unit in units for plate in unit.plates]
            choices += [c for listing in lists for c in self._choices(listing, on, rooms)]
            sheet = arrange(units, on, facts, choices, rooms)
            if sheet is not None:
                return sheet
        return None

    def _told(
        self, units: Sequence[Unit], on: Form, first: tuple[str, ...]
    ) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
        """The facts that go into the title block, and for each unit those that do not.

        What holds for the whole sheet comes first; what belongs to one of several views names it.
        """
        shown: dict[str, tuple[Unit, str]] = {line: (units[0], line) for line in first}
        single = len(names_of(units)) == 1
        for unit in units:
            shown |= {fact: (unit, fact) for fact in unit.general}
        for unit in units:
            for fact in unit.facts:
                line = fact if single or _says_where(unit, fact) else f"{unit.name}: {fact}"
                shown.setdefault(line, (unit, fact))
        lines = list(shown)
        fit = len(lines)
        while fit and not title_fits(on, self.imprint.heading(units, on, lines[:fit])):
            fit -= 1
        left = tuple(
            tuple(shown[line][1] for line in lines[fit:] if shown[line][0] is unit)
            for unit in units
        )
        return tuple(lines[:fit]), left

    def _choices(self, listing: Listing, on: Form, rooms: Sequence[Box]) -> list[tuple[Block, ...]]:
        """The blocks of a list, each with the ways of setting it, the widest first."""
        wide = self.setting(listing, on.free.width, on.free.height)
        if len(wide) != 1:
            return [(block,) for block in wide]
        found = [wide[0]]
        for room in sorted(rooms, key=lambda r: -r.width):
            narrow = self.setting(listing, room.width, room.height)
            if len(narrow) == 1 and narrow[0].width < found[-1].width - 1.0:
                found.append(narrow[0])
        return [tuple(found)]

    def setting(self, listing: Listing, room: float, tallest: float) -> tuple[Block, ...]:
        """A list set in a width, see `set_list`."""
        key = (listing, room, tallest)
        if key not in self._set:
            self._set[key] = set_list(listing, room, tallest)
        return self._set[key]


def _says_where(unit: Unit, fact: str) -> bool:
    """Whether a fact begins with its face already, as those of sheets round the box do."""
    face, colon, _ = fact.partition(": ")
    return bool(colon) and face.isupper() and face in unit.name.split()
