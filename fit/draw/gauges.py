"""Printed measuring aids that need no tools, on sheets that carry the same proofs as all others."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from fit.draw.correction import Correction
from fit.draw.drawing import Page, Positioned
from fit.draw.furniture import Form, Heading, Lay, form, furniture
from fit.draw.gauges_frame import Gauge, GaugeName, Shelved, shelves
from fit.draw.gauges_rounds import circles_gauge, draft_gauge, radius_gauge
from fit.draw.gauges_rules import inside_gauge, rules_gauge
from fit.draw.gauges_screws import screws_gauge
from fit.draw.gauges_wedges import holes_gauge, thickness_gauge
from fit.trade.paper import PaperName

MAKERS: Final[dict[GaugeName, Callable[[], Gauge]]] = {
    GaugeName.RULES: rules_gauge,
    GaugeName.HOLES: holes_gauge,
    GaugeName.CIRCLES: circles_gauge,
    GaugeName.SCREWS: screws_gauge,
    GaugeName.THICKNESS: thickness_gauge,
    GaugeName.INSIDE: inside_gauge,
    GaugeName.DRAFT: draft_gauge,
    GaugeName.RADIUS: radius_gauge,
}
"""Every gauge and what draws it."""

_FACTS: Final = (
    "Thick paper is best, or glue the sheet on card before cutting.",
    "Cut on the middle of the lines: sharp knife, steel rule, fingers well behind its edge.",
    "A gauge is as true as the print: about 0.1 mm when card and bars are right.",
)


def gauge_pages(
    names: Iterable[GaugeName],
    paper: PaperName,
    fingerprint: str,
    correction: Correction | None = None,
) -> tuple[Page, ...]:
    """Draw gauges, several to a sheet where they go.

    Args:
        names: which; each once, in the order of `GaugeName`. All when empty.
        paper: what is printed on.
        fingerprint: of the inputs, short, for the title block.
        correction: what the printer needs, or None.

    Raises:
        ValueError: when the paper is too small for a gauge or for the check bars.
    """
    wanted = set(names) or set(GaugeName)
    gauges = [MAKERS[name]() for name in GaugeName if name in wanted]
    on, pages = _set(gauges, [form(paper, lay, correction) for lay in Lay])
    told = (correction.words(on.stretch),) if correction else ()
    return tuple(
        _page(on, placed, told, fingerprint, number, len(pages))
        for number, placed in enumerate(pages, start=1)
    )


def _set(gauges: list[Gauge], forms: list[Form]) -> tuple[Form, list[list[Shelved]]]:
    """The way to lay the paper that needs the fewest sheets."""
    best: tuple[Form, list[list[Shelved]]] | None = None
    refused: ValueError | None = None
    for on in forms:
        try:
            pages = shelves(gauges, on.free.width, on.free.height)
        except ValueError as too_small:
            refused = refused or too_small
            continue
        if best is None or len(pages) < len(best[1]):
            best = on, pages
    if best is None:
        raise refused or ValueError("there is no way to lay the paper")
    return best


def _page(
    on: Form,
    placed: list[Shelved],
    told: tuple[str, ...],
    fingerprint: str,
    number: int,
    of: int,
) -> Page:
    names = ", ".join(gauge.name.value for gauge, _, _ in placed)
    heading = Heading(
        build="Gauges",
        view=names,
        lines=(*told, *_FACTS),
        fingerprint=fingerprint,
        sheet=number,
        of=of,
    )
    drawings = [
        Positioned(drawing=gauge.drawing, x=on.free.x0 + x, y=on.free.y0 + y)
        for gauge, x, y in placed
    ]
    fixed = Positioned(drawing=furniture(on, heading), x=0.0, y=0.0)
    return Page(
        title=f"{number}  {names}",
        width=on.width,
        height=on.height,
        drawings=(*drawings, fixed),
        stretch=on.stretch,
    )
