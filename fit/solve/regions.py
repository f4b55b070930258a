"""Parts of faces to keep out of, as the file wishes."""

from __future__ import annotations

from collections.abc import Iterator

from fit.check.rule import Inspection
from fit.model.build import Build, WishKind
from fit.solve.free import spans
from fit.solve.matter import Blob, region_blob


def kept_out(build: Build, look: Inspection) -> tuple[Blob, ...]:
    """The regions that no opening and no free part may reach into."""
    return tuple(_regions(build, look))


def _regions(build: Build, look: Inspection) -> Iterator[Blob]:
    for wish in build.wishes:
        if wish.kind is not WishKind.KEEP_OUT or wish.on is None or wish.region is None:
            continue
        face = look.scene.faces[wish.on]
        ups = [p[1] for p in face.outline]
        low_up = min(ups) + float(wish.region.low)
        high_up = max(ups) - float(wish.region.high)
        middle = (low_up + high_up) / 2
        left, right = face.reach(middle)
        # A face's edges lean: the region is taken as wide as at its widest.
        wide = spans(face)[0]
        low = left + float(wish.region.left) if wish.region.left else min(left, wide.low)
        high = right - float(wish.region.right) if wish.region.right else max(right, wide.high)
        yield region_blob(look, wish.on, (low, low_up), (high, high_up))
