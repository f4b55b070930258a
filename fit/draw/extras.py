"""Printed things that are made only when asked for, each a PDF of its own."""

from __future__ import annotations

from fit.draw.also import Also
from fit.draw.correction import Correction
from fit.draw.drawing import Page
from fit.draw.dummy import dummy_units
from fit.draw.furniture import Lay, form
from fit.draw.label import label_units
from fit.draw.pages import Composer, Imprint
from fit.geometry.scene import Scene
from fit.trade.paper import PaperName


def extra_pages(
    scene: Scene,
    also: Also,
    paper: PaperName,
    fingerprint: str,
    *,
    clash: bool = False,
    correction: Correction | None = None,
) -> dict[str, tuple[Page, ...]]:
    """The pages of the paper dummy and of the front label, by file name; none without content.

    Args:
        scene: the build worked out.
        also: what is asked for.
        paper: what is printed on.
        fingerprint: of the inputs, short, for the title block.
        clash: the build does not go together; every sheet says so.
        correction: what the printer needs, or None.

    Raises:
        ValueError: when the paper is too small for the check bars.
    """
    wanted = {
        "dummy.pdf": dummy_units(scene) if also.dummy else (),
        "label.pdf": label_units(scene) if also.label else (),
    }
    warning = ("CLASH: this build does not go together as drawn; see the report.",) if clash else ()
    imprint = Imprint(
        build=scene.build.name,
        fingerprint=fingerprint,
        first=warning,
        last=(),
        clash=clash,
        correction=correction,
    )
    forms = [form(paper, lay, correction) for lay in Lay]
    return {name: Composer(forms, imprint).pages(units) for name, units in wanted.items() if units}
