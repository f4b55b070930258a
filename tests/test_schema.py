"""The file formats: every model field can be written, defaults agree, editors get a JSON Schema.

JSON Schema's own rules: draft 2020-12.
"""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pydantic import BaseModel

from fit.model import box as box_model
from fit.model import build as build_model
from fit.model import nose as nose_model
from fit.model import part as part_model
from fit.model import pieces as pieces_model
from fit.model import place as place_model
from fit.model.words import JointKind, LidKind
from fit.read import load_build, marks, schemas
from fit.read.scalars import Keys
from fit.read.schema_box import BoxKeys, DrawerKeys
from fit.read.schema_build import BuildKeys, FromKeys

HERE = Path(__file__).parent
GOOD = HERE / "data" / "boxes"
FULL = HERE / "data" / "full" / "builds" / "everything.yaml"

PARTS_OF = (part_model, pieces_model, nose_model, place_model, build_model, box_model)
NOT_WRITTEN = {
    # Not a person's to say: where it stands in a file, what was read, how a half-open place began.
    "where",
    "sources",
}


def dataclasses_of(*modules: Any) -> Iterator[type[Any]]:
    for module in modules:
        for thing in vars(module).values():
            if dataclasses.is_dataclass(thing) and thing.__module__ == module.__name__:
                assert isinstance(thing, type)
                yield thing


def everything(value: Any) -> Iterator[Any]:
    """Every model object inside a value, itself included."""
    if dataclasses.is_dataclass(value):
        yield value
        for field in dataclasses.fields(value):
            yield from everything(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from everything(item)


def all_keys(base: type[Keys] = Keys) -> Iterator[type[Keys]]:
    for cls in base.__subclasses__():
        yield cls
        yield from all_keys(cls)


@pytest.fixture(scope="module")
def seen() -> dict[type[Any], list[Any]]:
    """Every model object of three builds that together say everything, by class."""
    found: dict[type[Any], list[Any]] = {}
    for name in ("everything", "everything-deep", "everything-free"):
        for thing in everything(load_build(FULL.with_name(f"{name}.yaml"))):
            found.setdefault(type(thing), []).append(thing)
    return found


@pytest.mark.parametrize(
    "cls", list(dataclasses_of(*PARTS_OF)), ids=lambda cls: f"{cls.__module__}.{cls.__name__}"
)
def test_every_model_field_can_be_written(cls: type[Any], seen: dict[type[Any], list[Any]]) -> None:
    """In one build or the other each field has a value that is not its default."""
    things = [thing for kind, made in seen.items() if issubclass(kind, cls) for thing in made]
    assert things, f"no {cls.__name__} in {FULL}"
    # `mains` and `name` are every part's: asked of all parts together.
    shared = set() if cls is part_model.PartBase else {"mains", "name"}
    for field in dataclasses.fields(cls):
        if field.name in shared | NOT_WRITTEN:
            continue
        values = [getattr(thing, field.name) for thing in things]
        if field.default is not dataclasses.MISSING:
            assert any(v != field.default for v in values), f"{cls.__name__}.{field.name}"
        else:
            assert all(v is not None for v in values)


def test_every_word_of_every_list_is_used_or_known(seen: dict[type[Any], list[Any]]) -> None:
    joints = {joint.kind for joint in seen[part_model.Joint]}
    lids = {lid.kind for lid in seen[box_model.Lid]}
    hows = {c.how for c in seen[build_model.Coordinate]}
    assert joints == set(JointKind)
    assert lids == set(LidKind)
    assert hows == set(build_model.How)


@pytest.mark.parametrize("cls", list(all_keys()), ids=lambda cls: cls.__name__)
def test_defaults_are_the_models(cls: type[Keys]) -> None:
    """A key left out means what the model's own default means."""
    if issubclass(cls, FromKeys) or cls in (BoxKeys, BuildKeys, DrawerKeys):
        return
    target = {f.name: f for f in dataclasses.fields(cls.target)} if hasattr(cls, "target") else {}
    for name, info in cls.model_fields.items():
        default = info.get_default(call_default_factory=True)
        if info.is_required() or default is None or name not in target:
            continue
        model_default = target[name].default
        if isinstance(default, list):
            default = tuple(default)
        if model_default is not dataclasses.MISSING:
            assert default == model_default, f"{cls.__name__}.{name}"


@pytest.mark.parametrize("cls", list(all_keys()), ids=lambda cls: cls.__name__)
def test_every_key_explains_itself(cls: type[BaseModel]) -> None:
    assert cls.__doc__
    for name, info in cls.model_fields.items():
        if name == "kind":
            continue
        assert info.description, f"{cls.__name__}.{name}"
        assert re.fullmatch(r"[a-z][a-z_]*", info.alias or name)


# --- JSON Schema


class Refused(Exception):
    """A value does not fit a schema."""


def fits(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> None:
    """Check a value against the words of JSON Schema 2020-12 that our schemas use.

    Raises KeyError for a word this checker does not know, so that nothing goes unchecked.
    """
    for word, wants in schema.items():
        applies_to, check = _WORDS[word]
        if isinstance(value, applies_to) and not check(value, wants, schema, root):
            raise Refused(f"{word}: {value!r} against {wants!r}")


def good(value: Any, schema: dict[str, Any], root: dict[str, Any]) -> bool:
    try:
        fits(value, schema, root)
    except Refused:
        return False
    return True


_TYPES: dict[str, tuple[type[Any], ...]] = {
    "object": (dict,),
    "array": (list,),
    "string": (str,),
    "boolean": (bool,),
    "integer": (int,),
    "number": (int, float),
}


def _type(value: Any, wants: str) -> bool:
    return isinstance(value, _TYPES[wants]) and (wants == "boolean") == isinstance(value, bool)


def _more_keys(value: Any, wants: Any, schema: Any, root: Any) -> bool:
    extra = {
        key
        for key in value.keys() - schema.get("properties", {}).keys()
        if not any(re.search(p, key) for p in schema.get("patternProperties", ()))
    }
    return not extra if wants is False else all(good(value[k], wants, root) for k in extra)


_ALL = (object,)
_WORDS: dict[str, tuple[tuple[type[Any], ...], Any]] = {
    "type": (_ALL, lambda v, w, s, r: _type(v, w)),
    "properties": (
        (dict,),
        lambda v, w, s, r: all(good(v[k], x, r) for k, x in w.items() if k in v),
    ),
    "additionalProperties": ((dict,), _more_keys),
    "patternProperties": (
        (dict,),
        lambda v, w, s, r: all(
            good(x, y, r) for p, y in w.items() for k, x in v.items() if re.search(p, k)
        ),
    ),
    "required": ((dict,), lambda v, w, s, r: set(w) <= v.keys()),
    "propertyNames": ((dict,), lambda v, w, s, r: all(good(k, w, r) for k in v)),
    "oneOf": (_ALL, lambda v, w, s, r: sum(good(v, x, r) for x in w) == 1),
    "anyOf": (_ALL, lambda v, w, s, r: any(good(v, x, r) for x in w)),
    "enum": (_ALL, lambda v, w, s, r: v in w),
    "const": (_ALL, lambda v, w, s, r: v == w),
    "pattern": ((str,), lambda v, w, s, r: re.search(w, v) is not None),
    "maxLength": ((str,), lambda v, w, s, r: len(v) <= w),
    "minimum": ((int, float), lambda v, w, s, r: v >= w),
    "maximum": ((int, float), lambda v, w, s, r: v <= w),
    "minItems": ((list,), lambda v, w, s, r: len(v) >= w),
    "maxItems": ((list,), lambda v, w, s, r: len(v) <= w),
    "items": ((list,), lambda v, w, s, r: all(good(x, w, r) for x in v)),
    "prefixItems": (
        (list,),
        lambda v, w, s, r: all(good(x, y, r) for x, y in zip(v, w, strict=False)),
    ),
    "$ref": (_ALL, lambda v, w, s, r: good(v, r["$defs"][w.removeprefix("#/$defs/")], r)),
    # Words that say something to a reader and ask nothing of the value.
    **dict.fromkeys(
        ("$schema", "$defs", "title", "description", "default"), (_ALL, lambda *_: True)
    ),
}

FOLDERS = {"shells": "box", "parts": "part", "drawers": "drawer", "builds": "build"}
GOOD_FILES = sorted([*GOOD.rglob("*.yaml"), *FULL.parent.parent.rglob("*.yaml")])


def tree(path: Path) -> Any:
    root, problems = marks.compose(path.read_bytes(), path.name)
    assert root is not None
    assert not problems
    return root.plain()


@pytest.mark.parametrize("path", GOOD_FILES, ids=lambda p: p.stem)
def test_good_files_fit_their_json_schema(path: Path) -> None:
    schema = schemas()[FOLDERS[path.parent.name]]
    fits(tree(path), schema, schema)


@pytest.mark.parametrize(
    "name",
    [
        "key-near",
        "no-use",
        "no-box",
        "kind-near",
        "word-near",
        "unit-unknown",
        "size-one",
        "turn-odd",
    ],
)
def test_json_schema_refuses_what_reading_refuses(name: str) -> None:
    schema = schemas()["build"]
    with pytest.raises(Refused):
        fits(tree(HERE / "broken" / "builds" / f"{name}.yaml"), schema, schema)


def test_json_schemas_are_whole() -> None:
    for sort, schema in schemas().items():
        text = json.dumps(schema)
        assert schema["$schema"].startswith("https://json-schema.org/")
        assert set(re.findall(r'"\$ref": "#/\$defs/(\w+)"', text)) <= schema["$defs"].keys()
        assert '"null"' not in text
        assert schema["type"] == "object" if sort != "part" else len(schema["oneOf"]) == 13
        assert text == json.dumps(schemas()[sort])


def test_lengths_in_json_schema_are_what_reading_takes() -> None:
    schema = schemas()["build"]
    lengths = [12, 2.5, "12 mm", "1.2cm", "7/16 in", "1 7/16 in", "20 holes", "96.5 ± 0.5", '0.5"']
    for length in lengths:
        fits(length, schema["$defs"]["length"], schema)
    for length in ["twelve", "12 miles", "1:30", True, [12], ""]:
        assert not good(length, schema["$defs"]["length"], schema)
