"""Wishes for a layout as they are written in a build file."""

# No `from __future__ import annotations`: see fit/read/schema_build.py.

from typing import Annotated, Any, ClassVar, Final

from pydantic import Field, Tag

from fit.findings import Span
from fit.model import build as model
from fit.model.words import FaceName
from fit.read.scalars import Above0, From0, Keys, PartName, by_form, one_of, tagged

KINDS: Final = tuple(kind.value for kind in model.WishKind)
"""The keys that say what is wished: one in each wish."""


_Names = Annotated[
    Annotated[PartName, Tag("as:text")] | Annotated[list[PartName], Tag("as:list")],
    by_form(
        "form_names",
        lambda value: form if (form := tagged(value)) != "as:keys" else None,
        "this is neither a part's name nor a list of names",
        "write [one part, other part]",
    ),
]


class RegionKeys(Keys):
    """A rectangle of a face: how far in from each edge it begins."""

    target: ClassVar[type[Any]] = model.Region
    on: Annotated[FaceName, one_of(FaceName)] = Field(description="the face")
    from_left: From0 | None = Field(None, description="how far in from the left edge, mm")
    from_right: From0 | None = Field(None, description="how far in from the right edge, mm")
    from_floor: From0 | None = Field(None, description="how far up from the floor, mm")
    from_rim: From0 | None = Field(None, description="how far down from the rim, mm")
    from_front: From0 | None = Field(None, description="lid, floor: from the front edge, mm")
    from_back: From0 | None = Field(None, description="lid, floor: from the back edge, mm")

    def make(self, **more: Any) -> Any:
        """The model's region; what is not said reaches to the edge."""
        named = {
            "left": self.from_left,
            "right": self.from_right,
            "low": self.from_floor if self.from_floor is not None else self.from_front,
            "high": self.from_rim if self.from_rim is not None else self.from_back,
        }
        return model.Region(**{word: mm for word, mm in named.items() if mm is not None})


class WishKeys(Keys):
    """One wish: exactly one of the kinds, and for some a word more."""

    target: ClassVar[type[Any]] = model.Wish
    row: _Names | None = Field(None, description="same height, equal gaps, left to right in use")
    column: _Names | None = Field(None, description="equal gaps, top to bottom in use")
    in_line: _Names | None = Field(None, description="centres on one line")
    centred: _Names | None = Field(None, description="in the middle of the face")
    near: _Names | None = Field(None, description="as near to each other as may be")
    far: _Names | None = Field(None, description="as far from each other as may be")
    same_both_sides: _Names | None = Field(
        None, description="two parts, mirror images about the middle of their face"
    )
    order: _Names | None = Field(None, description="left to right in use, at any height")
    keep_out: RegionKeys | None = Field(
        None, description="a rectangle of a face where nothing is put and nothing is cut"
    )
    finger_gap: Above0 | None = Field(
        None, description="free space between controls at the least, mm"
    )
    along: Annotated[model.Along, one_of(model.Along)] = Field(
        model.Along.ACROSS, description="in_line, centred: across (same height; half way) or up"
    )
    on: PartName | None = Field(None, description="centred: on this part, not on the face")

    def kinds(self) -> tuple[str, ...]:
        """The kinds that are given."""
        return tuple(kind for kind in KINDS if getattr(self, kind) is not None)

    def names(self) -> tuple[str, ...]:
        """The parts it is about, in order; without that of `on`."""
        (kind,) = self.kinds()
        value = getattr(self, kind)
        if isinstance(value, str):
            return (value,)
        return tuple(value) if isinstance(value, list) else ()

    def wish(self, where: Span) -> model.Wish:
        """The model's wish; exactly one kind is given."""
        (kind,) = self.kinds()
        out = self.keep_out
        return model.Wish(
            kind=model.WishKind(kind),
            parts=self.names(),
            middle_of=self.on,
            along=self.along,
            on=out.on if out is not None else None,
            region=out.make() if out is not None else None,
            value=self.finger_gap if self.finger_gap is not None else model.ZERO,
            where=where,
        )
