"""Coordinates on a face as they are written in a file."""

# No `from __future__ import annotations`: see `fit.read.schema_box`.

from typing import Annotated, Any, ClassVar

from pydantic import Discriminator, Field, Tag

from fit.model import place
from fit.read.scalars import (
    JSON_LENGTH,
    By,
    Keys,
    Len,
    Share,
    did_you_mean,
    fault,
    kind_of,
    plain_or_keys,
)
from fit.units import Length, parse_length


def _plain_coordinate(typed: object) -> place.Coordinate:
    if typed == place.How.CENTRE.value:
        return place.Coordinate(how=place.How.CENTRE)
    try:
        return place.Coordinate(how=place.How.AT, value=parse_length(typed))
    except (ValueError, ArithmeticError):
        otherwise = "write centre, a number of mm, or a block such as {from_left: 18}"
        raise fault(
            f"{kind_of(typed)} is not a position", did_you_mean(typed, ["centre"], otherwise)
        ) from None


class FromKeys(Keys):
    """A coordinate counted from an edge, or as a share of the face."""

    target: ClassVar[type[Any]] = place.Coordinate
    share: Share | None = Field(None, description="0 to 1, from the left, floor or front edge")

    def make(self, **more: Any) -> Any:
        """The model's coordinate; the one key given says how."""
        (key,) = sorted(self.model_fields_set)
        return place.Coordinate(how=place.How(key), value=Length(getattr(self, key)))


class AcrossKeys(FromKeys):
    """A coordinate to the right on the face: exactly one key."""

    from_left: Len | None = Field(None, description="from the face's left edge, mm")
    from_right: Len | None = Field(None, description="from the face's right edge, mm")


class UpKeys(FromKeys):
    """A coordinate up the face: exactly one key."""

    from_rim: Len | None = Field(None, description="down from the rim, along the face, mm")
    from_floor: Len | None = Field(None, description="up from the floor, along the face, mm")
    from_front: Len | None = Field(None, description="on lid and floor: from the front edge, mm")
    from_back: Len | None = Field(None, description="on lid and floor: from the back edge, mm")


PlainCoordinate = Annotated[
    place.Coordinate, By(_plain_coordinate, {"anyOf": [{"const": "centre"}, JSON_LENGTH]})
]
Across = Annotated[
    Annotated[PlainCoordinate, Tag("as:plain")] | Annotated[AcrossKeys, Tag("as:keys")],
    Discriminator(plain_or_keys),
]
Up = Annotated[
    Annotated[PlainCoordinate, Tag("as:plain")] | Annotated[UpKeys, Tag("as:keys")],
    Discriminator(plain_or_keys),
]
