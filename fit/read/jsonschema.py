"""JSON Schemas of the sorts of file, for editors that complete and check while typing."""

from __future__ import annotations

from typing import Any, Final

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from fit.read.catalogue import Sort
from fit.read.reader import part_adapter
from fit.read.scalars import JSON_LENGTH
from fit.read.schema_box import BoxKeys, DrawerKeys
from fit.read.schema_build import BuildKeys, PanelKeys
from fit.units import Length

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
"""The JSON Schema dialect pydantic writes."""

_LENGTH_REF: Final = {"$ref": "#/$defs/length"}
_ABOUT_LENGTH: Final = (
    "mm as a number, or text such as 12 mm, 1.2 cm, 7/16 in, 20 holes, 96.5 ± 0.5"
)


class _Writer(GenerateJsonSchema):
    """Writes lengths that are defaults as numbers of mm."""

    def encode_default(self, dft: Any) -> Any:
        """A default as JSON has it."""
        if isinstance(dft, Length):
            return float(dft)
        if isinstance(dft, tuple):
            return [self.encode_default(item) for item in dft]
        return super().encode_default(dft)


def schemas() -> dict[str, dict[str, Any]]:
    """A JSON Schema for each sort of file: box, part, drawer, build, panel."""
    raw = {
        Sort.BOX: TypeAdapter(BoxKeys).json_schema(schema_generator=_Writer),
        Sort.PART: part_adapter().json_schema(schema_generator=_Writer),
        Sort.DRAWER: TypeAdapter(DrawerKeys).json_schema(schema_generator=_Writer),
        Sort.BUILD: TypeAdapter(BuildKeys).json_schema(schema_generator=_Writer),
        Sort.PANEL: TypeAdapter(PanelKeys).json_schema(schema_generator=_Writer),
    }
    return {sort.value: _finished(sort, schema) for sort, schema in raw.items()}


def _finished(sort: Sort, schema: dict[str, Any]) -> dict[str, Any]:
    """Without empty values, which are refused; lengths named once; the file's own name required."""
    clean: dict[str, Any] = _clean(schema)
    for kind in _kinds(clean) if sort is Sort.PART else ():
        kind["required"] = ["part", *kind.get("required", [])]
    if sort in (Sort.BOX, Sort.DRAWER, Sort.PANEL):
        clean["required"] = [sort.value, *clean["required"]]
    definitions = clean.setdefault("$defs", {})
    definitions["length"] = {"description": _ABOUT_LENGTH, **JSON_LENGTH}
    return {"$schema": DIALECT, "title": f"{sort} file of fit", **clean}


def _kinds(schema: dict[str, Any]) -> list[dict[str, Any]]:
    names = [choice["$ref"].rpartition("/")[2] for choice in schema["oneOf"]]
    return [schema["$defs"][name] for name in names]


def _clean(value: Any) -> Any:
    """Drop machine-made titles and the null of optional keys; name lengths by reference."""
    if isinstance(value, list):
        return [_clean(item) for item in value]
    if not isinstance(value, dict):
        return value
    if "properties" in value:
        # A key that may hold nothing is one that is written elsewhere.
        kept = {k: v for k, v in value["properties"].items() if v.get("type") != "null"}
        value = {**value, "properties": {k: _property(v) for k, v in kept.items()}}
        return {k: v if k == "properties" else _clean(v) for k, v in value.items() if k != "title"}
    if "patternProperties" in value:
        value = {**value, "additionalProperties": False}
    if value.get("anyOf") == JSON_LENGTH["anyOf"]:
        return {**{k: v for k, v in value.items() if k not in ("anyOf", "title")}, **_LENGTH_REF}
    return {k: _clean(v) for k, v in value.items() if k != "title"}


def _property(value: dict[str, Any]) -> dict[str, Any]:
    """One key of a block."""
    choices = [c for c in value.get("anyOf", []) if c != {"type": "null"}]
    kept = {k: v for k, v in value.items() if k != "title" and not (k == "default" and v is None)}
    if "anyOf" in value and len(choices) != len(value["anyOf"]):
        kept.pop("anyOf")
        if len(choices) == 1:
            kept |= choices[0]
        elif choices == JSON_LENGTH["anyOf"]:
            kept |= _LENGTH_REF
        else:
            kept["anyOf"] = choices
    cleaned: dict[str, Any] = _clean(kept)
    return cleaned
