"""Reads files into the model and gathers every problem of the run."""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from fit.findings import Problem, Span, UnusableInput
from fit.model.box import Tray
from fit.model.build import Drawer, Source
from fit.model.part import Joint, Part, Screw
from fit.read.catalogue import Catalogue, Sort, shown
from fit.read.grumbles import problem
from fit.read.marks import BIGGEST_FILE, Node, compose
from fit.read.scalars import Keys, kind_of, near
from fit.read.schema_board import PartFile
from fit.read.schema_box import BoxKeys, DrawerKeys
from fit.read.schema_part import PartKeys
from fit.read.sense_box import sense_box, sense_drawer
from fit.read.sense_part import sense_part
from fit.read.words import Loc, Say, Translator, empties, hollow, place_of

_SIGNS: Final = {
    Sort.PANEL: ("panel",),
    Sort.BUILD: ("build", "parts"),
    Sort.PART: ("part", "kind"),
    Sort.DRAWER: ("drawer", "bits"),
    Sort.BOX: ("box", "outside"),
}
"""Keys that give away which sort of file one is, asked in this order."""


@cache
def part_adapter() -> TypeAdapter[Any]:
    """Reads a part of any kind."""
    return TypeAdapter(PartFile)


def _read_bytes(path: Path) -> bytes | str:
    """A file's bytes, or in words why there are none."""
    try:
        info = path.stat()
        if stat.S_ISDIR(info.st_mode):
            return "this is a folder, not a file"
        if not stat.S_ISREG(info.st_mode):
            return "this is no ordinary file"
        if info.st_size > BIGGEST_FILE:
            return f"this file is {info.st_size} bytes long, far more than any build"
        return path.read_bytes()
    except FileNotFoundError:
        return "there is no such file"
    except PermissionError:
        return "this file may not be read"
    except (OSError, ValueError):
        return "this file cannot be read"


class Reader:
    """One run: a catalogue, the problems so far, and what was read.

    Args:
        catalogue: where names are looked up.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.problems: list[Problem] = []
        self.sources: dict[str, Source] = {}
        self._kept: dict[tuple[Sort, str], Any] = {}

    def finish(self) -> None:
        """End the run.

        Raises:
            UnusableInput: with every problem, by file and line, when there is one.
        """
        if self.problems:
            once = dict.fromkeys(self.problems)
            by_place = sorted(once, key=lambda p: (p.where.file, p.where.line, p.where.column))
            raise UnusableInput(tuple(by_place))

    def tree(self, path: Path) -> Node | None:
        """The tree of a file, noted as a source; None when there is none."""
        file = shown(path)
        data = _read_bytes(path)
        if isinstance(data, str):
            self.problems.append(problem(Span(file), data, "name a YAML file"))
            return None
        inside = self.catalogue.inside(path)
        self.sources[inside] = Source(path=inside, sha256=hashlib.sha256(data).hexdigest())
        root, problems = compose(data, file)
        self.problems += problems
        return root

    def right_sort(self, root: Node, sort: Sort, name: str | None) -> bool:
        """Whether a file is of the sort wanted and called what it says.

        Args:
            root: its tree.
            sort: the sort wanted.
            name: the file's own name, which its first key repeats; None: it need not.
        """
        assert isinstance(root.value, dict)
        is_a = next((s for s, signs in _SIGNS.items() if any(k in root.value for k in signs)), None)
        if is_a is not None and is_a is not sort:
            self.problems.append(
                problem(root.span, f"this is a {is_a} file, not a {sort} file", f"it has '{is_a}:'")
            )
            return False
        if name is not None and sort not in root.value:
            self.problems.append(
                problem(root.span, f"'{sort}' is missing", f"begin with '{sort}: {name}'")
            )
        elif name is not None and root.value[sort].node.value != name:
            self.problems.append(
                problem(
                    root.value[sort].node.span,
                    f"this file is called {name}, but says it is "
                    f"{kind_of(root.value[sort].node.plain())}",
                    f"write '{sort}: {name}' or rename the file",
                )
            )
        return True

    def validate(self, read: Callable[..., Any], root: Node) -> Any:
        """Validate a whole tree by pydantic; None, with problems noted, when it fails."""
        data, seen = root.plain(), dict[int, type[Keys]]()
        try:
            result = read(data, context=seen)
        except ValidationError as error:
            result = None
            self.note(Translator(root, data, seen).problems(error))
        self.note_empties(root)
        return None if hollow(data) else result

    def note(self, problems: list[Problem]) -> None:
        """Add problems."""
        self.problems += problems

    def note_empties(self, root: Node) -> None:
        """Report empty values where nothing else is reported yet."""
        taken = {p.where for p in self.problems}
        self.note([p for p in empties(root) if p.where not in taken])

    def sayer(self, root: Node, base: Loc = ()) -> Say:
        """A function that reports a problem at keys below `base`."""

        def say(loc: Loc, wrong: str, right: str) -> None:
            self.problems.append(problem(place_of(root, (*base, *loc)), wrong, right))

        return say

    def named(self, sort: Sort, name: str, where: Span) -> Any:
        """What a catalogue name stands for, read once; None when it cannot be had."""
        key = (sort, name)
        if key not in self._kept:
            path = self.catalogue.find(sort, name)
            if path is None:
                self.unknown(sort, name, where)
                return None
            self._kept[key] = self._file(sort, name, path)
        return self._kept[key]

    def unknown(self, sort: Sort, name: str, where: Span) -> None:
        """Report a name that is in no catalogue."""
        guess = near(name, self.catalogue.files(sort))
        right = f"did you mean '{guess}'? " if guess else ""
        self.problems.append(
            problem(
                where,
                f"there is no {sort} called '{name[:60]}'",
                f"{right}looked in {self.catalogue.looked_in(sort)}",
            )
        )

    def _file(self, sort: Sort, name: str, path: Path) -> Any:
        """Read one catalogue file into the model."""
        root = self.tree(path)
        if root is None or not self.right_sort(root, sort, name):
            return None
        if sort is Sort.BOX:
            keys = self.validate(BoxKeys.model_validate, root)
            return None if keys is None else self.box(keys, name, root, (), root.span)
        if sort is Sort.DRAWER:
            keys = self.validate(DrawerKeys.model_validate, root)
            return None if keys is None else self.drawer(keys, name, root, (), root.span)
        keys = self.validate(part_adapter().validate_python, root)
        return None if keys is None else self.part(keys, name, root, (), root.span)

    def box(self, keys: BoxKeys, name: str, root: Node, base: Loc, where: Span) -> Tray | None:
        """A box from its keys, if they make sense."""
        before = len(self.problems)
        sense_box(keys, self.sayer(root, base))
        return keys.tray(name, where) if len(self.problems) == before else None

    def part(self, keys: PartKeys, name: str, root: Node, base: Loc, where: Span) -> Part | None:
        """A part from its keys, if they make sense."""
        before = len(self.problems)
        sense_part(keys, self.sayer(root, base))
        if len(self.problems) != before:
            return None
        part: Part = keys.part_of(name, where)
        return part

    def drawer(
        self, keys: DrawerKeys, name: str, root: Node, base: Loc, where: Span
    ) -> Drawer | None:
        """A drawer from its keys, its screws looked up."""
        before = len(self.problems)
        sense_drawer(keys, self.sayer(root, base))
        screws = [
            self.referred(form, Screw, "a screw", root, (*base, "screws", i))
            for i, form in enumerate(keys.screws)
        ]
        if len(self.problems) != before:
            return None
        return Drawer(
            name=keys.drawer or name,
            about=keys.about,
            bits=tuple(keys.bits),
            step_bits=tuple(bit.make() for bit in keys.step_bits),
            screws=tuple(screw for screw in screws if screw is not None),
            spacers=tuple(keys.spacers),
            where=where,
        )

    def referred(
        self, form: Any, wanted: type[Joint] | type[Screw], word: str, root: Node, loc: Loc
    ) -> Any:
        """A joint or screw, named or described on the spot; None when it is neither."""
        where = place_of(root, loc)
        if isinstance(form, PartKeys):
            return self.part(form, str(loc[-1]), root, loc, where)
        part = self.named(Sort.PART, form, where)
        if part is not None and not isinstance(part, wanted):
            self.problems.append(problem(where, f"'{form}' is not {word}", f"name {word}"))
            return None
        return part
