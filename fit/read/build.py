"""Reads a build: its own file, and every file it names."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from fit.findings import Span, UnusableInput
from fit.model.box import Tray
from fit.model.build import Build, Drawer, Need, Used, Window, Wire, Wish
from fit.model.part import Board, Display, Joint, Part, Screw
from fit.read.catalogue import Catalogue, Sort, is_folder, shown
from fit.read.grumbles import problem
from fit.read.marks import Node
from fit.read.panels import sense_offsets, with_panels
from fit.read.reader import Reader
from fit.read.scalars import Keys
from fit.read.schema_box import BoxKeys, DrawerKeys
from fit.read.schema_build import BuildKeys, UsedKeys, WireKeys
from fit.read.schema_part import PartKeys
from fit.read.sense_build import Draft, known, sense_build, sense_spacers
from fit.read.sense_size import over_posts
from fit.read.sense_wishes import Given, sense_wishes
from fit.read.words import Loc, Translator, follow, hollow, place_of
from fit.units import Length

_STAND_INS: Final[dict[str, str]] = {"build": "x", "box": "x", "drawer": "x"}
"""Values put where a key that must be there could not be read, so that the rest still can be."""


def load_build(path_or_name: str | Path, extra_folders: Iterable[str | Path] = ()) -> Build:
    """Read a build and everything it names.

    Args:
        path_or_name: path of a build file, or a build's name in a catalogue.
        extra_folders: catalogues to search before all others.

    Returns:
        The build.

    Raises:
        UnusableInput: carrying every problem found in all files, by file and line.
    """
    extra = _folders(extra_folders)
    path = build_file(path_or_name, extra)
    reader = Reader(Catalogue.near(path.absolute().parent, extra))
    build = _BuildReader(reader).read(path)
    reader.finish()
    assert build is not None
    return build


def load_box(name: str, extra_folders: Iterable[str | Path] = ()) -> Tray:
    """Read a box of the catalogue by its name.

    Raises:
        UnusableInput: carrying every problem found.
    """
    box: Tray = _load(Sort.BOX, name, extra_folders)
    return box


def load_part(name: str, extra_folders: Iterable[str | Path] = ()) -> Part:
    """Read a part of the catalogue by its name.

    Raises:
        UnusableInput: carrying every problem found.
    """
    part: Part = _load(Sort.PART, name, extra_folders)
    return part


def load_drawer(name: str, extra_folders: Iterable[str | Path] = ()) -> Drawer:
    """Read a drawer of the catalogue by its name.

    Raises:
        UnusableInput: carrying every problem found.
    """
    drawer: Drawer = _load(Sort.DRAWER, name, extra_folders)
    return drawer


def _load(sort: Sort, name: str, extra_folders: Iterable[str | Path]) -> Any:
    reader = Reader(Catalogue.near(Path.cwd(), _folders(extra_folders)))
    thing = reader.named(sort, name, Span(name))
    reader.finish()
    return thing


def _folders(given: Iterable[str | Path]) -> tuple[Path, ...]:
    folders = tuple(Path(folder) for folder in given)
    missing = [folder for folder in folders if not is_folder(folder)]
    if missing:
        raise UnusableInput(
            tuple(
                problem(Span(shown(folder)), "there is no such folder", "name a catalogue folder")
                for folder in missing
            )
        )
    return folders


def build_file(path_or_name: str | Path, extra: tuple[Path, ...] = ()) -> Path:
    """The file meant: an existing path, or a catalogue name.

    Raises:
        UnusableInput: when no catalogue has a build of that name.
    """
    path, text = Path(path_or_name), str(path_or_name)
    try:
        if path.is_file():
            return path
    except (OSError, ValueError):
        pass
    looks_like_path = isinstance(path_or_name, Path) or path.suffix in (".yaml", ".yml")
    if looks_like_path or "/" in text or "\\" in text:
        return path
    catalogue = Catalogue.near(Path.cwd(), extra)
    found = catalogue.find(Sort.BUILD, text)
    if found is not None:
        return found
    if is_folder(path):
        return path
    reader = Reader(catalogue)
    reader.unknown(Sort.BUILD, text, Span(text or "(no name)"))
    raise UnusableInput(tuple(reader.problems))


class _BuildReader:
    """Reads one build file, keeping what can be read so that all problems come at once."""

    def __init__(self, reader: Reader) -> None:
        self.reader = reader
        self.root = Node(Span(""), None)
        self.bad: set[Loc] = set()

    def read(self, path: Path) -> Build | None:
        """The build; None when a problem was noted."""
        root = self.reader.tree(path)
        if root is None or not self.reader.right_sort(root, Sort.BUILD, None):
            return None
        self.root = root = with_panels(root, self.reader)
        keys = self._keys()
        if keys is None:
            return None
        box = None if ("box",) in self.bad else self._box(keys)
        drawer = None if ("drawer",) in self.bad else self._drawer(keys)
        parts = {name: self._part(name, used) for name, used in keys.parts.items()}
        if box is not None:
            parts |= over_posts(keys, parts, box)
        draft = Draft(keys=keys, parts=parts, names=self._names(), box=box)
        sense_build(draft, self.reader.sayer(root))
        sense_offsets(keys, self.reader.sayer(root))
        wires = self._wires(draft)
        wishes = self._wishes(draft)
        sense_spacers(keys, drawer, self.reader.sayer(root))
        spacers = drawer.spacers if drawer is not None else ()
        used = [self._used(name, keys.parts[name], part, spacers) for name, part in parts.items()]
        if self.reader.problems or box is None or drawer is None:
            return None
        return Build(
            name=keys.build,
            about=keys.about,
            box=box,
            drawer=drawer,
            stands_on=keys.stands_on,
            carrier=keys.carrier.halves[0],
            either_half=len(keys.carrier.halves) > 1,
            hands=keys.hands,
            parts=tuple(one for one in used if one is not None),
            wires=wires,
            needs=self._needs(keys),
            wishes=wishes,
            room=keys.room,
            watts=keys.watts,
            read_from=keys.read_from,
            sources=tuple(source for _, source in sorted(self.reader.sources.items())),
            where=root.span,
        )

    def _keys(self) -> BuildKeys | None:
        """The build's keys, without the parts, wires and needs that cannot be read."""
        data = self.root.plain()
        keys, error = self._validated(data)
        if error is not None:
            self._prune(data, error)
        # Everything wrong is known now; once more without it, to look at what is left.
        if self._drop_hollow(data) or error is not None:
            keys, _ = self._validated(data)
        self._same_names()
        self.reader.note_empties(self.root)
        return keys

    def _validated(self, data: Any) -> tuple[BuildKeys | None, ValidationError | None]:
        """The keys, or the error, whose problems are noted."""
        seen: dict[int, type[Keys]] = {}
        try:
            return BuildKeys.model_validate(data, context=seen), None
        except ValidationError as error:
            self.reader.note(Translator(self.root, data, seen).problems(error))
            return None, error

    def _drop_hollow(self, data: dict[str, Any]) -> bool:
        """Take out parts with an empty value in them: what they lack is not known."""
        parts = data.get("parts")
        names = [n for n, p in parts.items() if hollow(p)] if isinstance(parts, dict) else []
        for name in names:
            del data["parts"][name]
            self.bad.add(("parts", name))
        return bool(names)

    def _prune(self, data: dict[str, Any], error: ValidationError) -> None:
        """Take out of the data what was refused; parts, wires and needs one by one."""
        for details in error.errors(include_url=False, include_input=False, include_context=False):
            loc = details["loc"]
            top = str(loc[0]) if loc else ""
            group = data.get(top)
            if top in ("parts", "needs") and isinstance(group, dict) and len(loc) > 1:
                group.pop(loc[1], None)
                self.bad.add((top, loc[1]))
            elif top in ("wires", "wishes") and isinstance(group, list) and len(loc) > 1:
                group[int(loc[1])] = None
                self.bad.add((top, loc[1]))
            else:
                data.pop(top, None)
                self.bad.add((top,))
                if top in _STAND_INS:
                    data[top] = _STAND_INS[top]
        for top in ("wires", "wishes"):
            if isinstance(data.get(top), list):
                data[top] = [one for one in data[top] if one is not None]

    def _names(self) -> list[str]:
        """Every part's name in the file, readable or not."""
        _, node = follow(self.root, ("parts",))
        assert isinstance(self.root.value, dict)
        return (
            list(node.value) if "parts" in self.root.value and isinstance(node.value, dict) else []
        )

    def _same_names(self) -> None:
        """Names that differ only in capitals would overwrite each other's files."""
        taken: dict[str, str] = {}
        for name in self._names():
            other = taken.setdefault(name.casefold(), name)
            if other != name:
                key, _ = follow(self.root, ("parts", name))
                assert key is not None
                self.reader.note(
                    [
                        problem(
                            key.span,
                            f"'{name}' and '{other}' differ only in capitals",
                            "rename one of the two",
                        )
                    ]
                )

    def _box(self, keys: BuildKeys) -> Tray | None:
        where = place_of(self.root, ("box",))
        if isinstance(keys.box, BoxKeys):
            return self.reader.box(keys.box, keys.build, self.root, ("box",), where)
        box: Tray | None = self.reader.named(Sort.BOX, keys.box, where)
        return box

    def _drawer(self, keys: BuildKeys) -> Drawer | None:
        where = place_of(self.root, ("drawer",))
        if isinstance(keys.drawer, DrawerKeys):
            return self.reader.drawer(keys.drawer, keys.build, self.root, ("drawer",), where)
        drawer: Drawer | None = self.reader.named(Sort.DRAWER, keys.drawer, where)
        return drawer

    def _part(self, name: str, used: UsedKeys) -> Part | None:
        loc: Loc = ("parts", name, "use")
        where = place_of(self.root, loc)
        if isinstance(used.use, PartKeys):
            return self.reader.part(used.use, name, self.root, loc, where)
        part: Part | None = self.reader.named(Sort.PART, used.use, where)
        if isinstance(part, Board) and part.up_to is not None:
            wrong = f"the size of board '{used.use}' is open in its own file"
            right = "give its size there, or describe it here: use: {kind: board, ...}"
            self.reader.note([problem(where, wrong, right)])
        return part

    def _used(
        self, name: str, used: UsedKeys, part: Part | None, spacers: tuple[Length, ...]
    ) -> Used | None:
        """One part as used; its joint and screws are looked up even when the part is not known."""
        loc: Loc = ("parts", name)
        joint = screws = None
        if used.joint is not None:
            joint = self.reader.referred(used.joint, Joint, "a joint", self.root, (*loc, "with"))
        if used.screws is not None:
            screws = self.reader.referred(
                used.screws, Screw, "a screw", self.root, (*loc, "screws")
            )
            if isinstance(part, Board) and screws is not None and screws.countersunk:
                self.reader.sayer(self.root)(
                    (*loc, "screws"),
                    "a countersunk head does not lie flat on a board",
                    "take a screw with a pan head",
                )
        if part is None or self.reader.problems:
            return None
        window = used.window.make() if used.window is not None else None
        if window is None and isinstance(part, Display):
            window = Window()
        key, _ = follow(self.root, loc)
        assert key is not None
        at = used.at.make() if used.at is not None else None
        scale = used.scale.make() if used.scale is not None else None
        more = {"part": part, "joint": joint, "screws": screws, "window": window, "at": at}
        more["scale"] = scale
        made: Used = used.used(spacers, name=name, where=key.span, **more)
        return made

    def _wires(self, draft: Draft) -> tuple[Wire, ...]:
        """The wires; both ends are parts, and two of them."""
        _, node = follow(self.root, ("wires",))
        wires: list[Wire] = []
        if not isinstance(node.value, list):
            return ()
        kept = [i for i in range(len(node.value)) if ("wires", i) not in self.bad]
        say = self.reader.sayer(self.root)
        for i, form in zip(kept, draft.keys.wires, strict=False):
            is_block = isinstance(form, WireKeys)
            start, end = (form.start, form.end) if isinstance(form, WireKeys) else form
            good = True
            for word, key in ((start, "from" if is_block else 0), (end, "to" if is_block else 1)):
                good = known(draft, word, ("wires", i, key), say) and good
            if good and start == end:
                say(("wires", i), f"this wire goes from '{start}' to itself", "name two parts")
            wires.append(Wire(start=start, end=end, where=node.value[i].span))
        return tuple(wires)

    def _wishes(self, draft: Draft) -> tuple[Wish, ...]:
        """The wishes that can be read; what cannot be meant by them is reported."""
        _, node = follow(self.root, ("wishes",))
        nodes = node.value if draft.keys.wishes and isinstance(node.value, list) else []
        kept = [i for i in range(len(nodes)) if ("wishes", i) not in self.bad]
        given = [
            Given(number=i, keys=wish, where=nodes[i].span)
            for i, wish in zip(kept, draft.keys.wishes, strict=True)
        ]
        return sense_wishes(draft, given, self.reader.sayer(self.root))

    def _needs(self, keys: BuildKeys) -> tuple[Need, ...]:
        return tuple(
            Need(rule=rule, value=value, where=place_of(self.root, ("needs", rule)))
            for rule, value in keys.needs.items()
        )
