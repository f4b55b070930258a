"""The text of a STEP file (ISO 10303-21) made the same for the same model.

The CAD kernel writes the time into the header, counts the places of components on from file to
file, orders the colours by memory address and leaves names in UTF-8. Here the header is written
anew, counts start at 1, colour blocks follow the order of what they colour, entities are numbered
in a row, and letters beyond ASCII are written the way the standard has always allowed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_STAMP = "2000-01-01T00:00:00"
_STYLE = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION"
_TOKEN = re.compile(r"'(?:[^']|'')*'|#(\d+)|;")
_PLACE = re.compile(r"NEXT_ASSEMBLY_USAGE_OCCURRENCE\s*\(\s*'\d*'")


@dataclass(frozen=True, slots=True)
class _Entity:
    number: int
    text: str
    """Everything from its own number to the semicolon."""

    def refers_to(self) -> list[int]:
        """The numbers in it, its own first."""
        return [int(m[1]) for m in _TOKEN.finditer(self.text) if m[1]]


def steady(text: str, name: str) -> str:
    """The same model's STEP text, free of whatever changes from one writing to the next.

    Args:
        text: the file as the kernel wrote it.
        name: the model's name, for the header.

    Raises:
        ValueError: when the text has no DATA section.
    """
    head, found, rest = text.partition("\nDATA;\n")
    data, closed, _ = rest.rpartition("ENDSEC;")
    if not found or not closed:
        raise ValueError("not a STEP file: it has no DATA section")
    schema = re.search(r"FILE_SCHEMA\s*\(.*?\)\s*\)\s*;", head, flags=re.DOTALL)
    header = (
        "ISO-10303-21;\nHEADER;\n"
        "FILE_DESCRIPTION(('Box, openings and everything inside'),'2;1');\n"
        f"FILE_NAME('{_quoted(name)}','{_STAMP}',(''),(''),'','fit','');\n"
        f"{schema[0] if schema else ''}\nENDSEC;\nDATA;\n"
    )
    entities = _in_order([_unwrapped(e) for e in _entities(data)])
    numbers = {e.number: i for i, e in enumerate(entities, 1)}
    body = "\n".join(_renumbered(e.text, numbers) for e in entities)
    places = iter(range(1, len(entities) + 1))
    body = _PLACE.sub(lambda _: f"NEXT_ASSEMBLY_USAGE_OCCURRENCE('{next(places)}'", body)
    return _ascii(f"{header}{body}\nENDSEC;\nEND-ISO-10303-21;\n")


def _quoted(name: str) -> str:
    """A name as the inside of a STEP string."""
    plain = "".join(c if c.isprintable() else " " for c in name)
    return plain.replace("\\", "\\\\").replace("'", "''")


def _entities(data: str) -> list[_Entity]:
    found, start = [], 0
    for token in _TOKEN.finditer(data):
        if token[0] == ";":
            text = data[start : token.end()].strip()
            start = token.end()
            number = re.match(r"#(\d+)", text)
            if number:
                found.append(_Entity(int(number[1]), text))
    return found


def _unwrapped(entity: _Entity) -> _Entity:
    """A place on one line: where the kernel breaks it depends on the digits of its count."""
    if not _PLACE.search(entity.text):
        return entity
    return _Entity(entity.number, re.sub(r"\n\s*", "", entity.text))


def _in_order(entities: list[_Entity]) -> list[_Entity]:
    """Colour blocks, which come last in any order, sorted by the lowest thing they colour."""
    starts = [i for i, e in enumerate(entities) if _STYLE in e.text]
    if not starts:
        return entities
    first = entities[starts[0]].number
    geometry = entities[: starts[0]]
    blocks = [entities[a:b] for a, b in zip(starts, [*starts[1:], len(entities)], strict=True)]

    def coloured(block: list[_Entity]) -> int:
        return min(n for e in block for n in e.refers_to() if n < first)

    return geometry + [e for block in sorted(blocks, key=coloured) for e in block]


def _renumbered(text: str, numbers: dict[int, int]) -> str:
    def one(token: re.Match[str]) -> str:
        return f"#{numbers[int(token[1])]}" if token[1] else token[0]

    return _TOKEN.sub(one, text)


def _ascii(text: str) -> str:
    r"""Letters beyond ASCII as ``\X2\…\X0\``, rarer signs as ``\X4\…\X0\``."""

    def written(run: re.Match[str]) -> str:
        code = run[0]
        if ord(max(code)) > 0xFFFF:
            return f"\\X4\\{code.encode('utf-32-be').hex().upper()}\\X0\\"
        return f"\\X2\\{code.encode('utf-16-be').hex().upper()}\\X0\\"

    return re.sub(r"[^\x00-\x7f]+", written, text)
