"""Can what is written beside a part be read while a hand works it?"""

from __future__ import annotations

from collections.abc import Iterator

from fit.check.cuts import up_to_tenth
from fit.check.rule import Family, Inspection, rule
from fit.findings import Finding
from fit.geometry.legends import AIR, RULE, Legend, Marks, inscribed
from fit.units import show


def check_legends(look: Inspection) -> Iterator[Finding]:
    """Room on the face for legends and for the scales round knobs.

    Looks at: each legend where the front label prints it (above its part as the box is used, else
    below, right or left, up to 20 off), beside knobs, bezels, openings, other legends and the edge
    of the flat; and the marks round each knob.

    Hurts: words under a knob or under the hand that turns it; numbers printed over the
    neighbour's bezel, or over the rounded edge of the box.

    Formula: legend to its part ≥ 2, so its centre ≥ knob/2 + H/2 + 2 from the knob's axis;
    H = 6.283·D·20/21600 at the distance D it is read from. Letters and marks to all else ≥ 0.5.

    Source: heights of letters NUREG-0700, 20 minutes of arc (16 for numbers); 2 and 0.5 are
    common practice, no source.

    Example: read from 500, capitals are 2.9 high: the middle of the words stands at least 9 +
    1.5 + 2 = 12.5 from the axis of a knob of 18.

    Repairs: shorter words; move the part; say from how near it is read (read_from); accept less
    with needs: {legends: …}.
    """
    faces = {
        look.scene.placed[used.name].face
        for used in look.scene.build.parts
        if (used.legend or used.scale is not None) and used.name in look.scene.placed
    }
    for name, face in look.scene.faces.items():
        if name in faces:
            said = inscribed(look.scene, face)
            for marks in said.scales:
                yield _scale(look, marks)
            for legend in said.legends:
                yield _legend(look, legend)


def _legend(look: Inspection, legend: Legend) -> Finding:
    have, need, part = legend.gap, legend.beyond, legend.part
    say = f"The legend “{legend.words}” stands {show(have)} mm beside {part}."
    if have < need:
        how = f"; it would have to lie {show(-have)} mm under it"
        if not legend.nearer:
            how = f", neither {show(need)} mm off nor nearer"
        elif have >= 0:
            how = f"; {show(need)} mm off is asked, {show(have)} mm off would be free"
        say = f"The legend “{legend.words}” finds no room beside {part}{how}."
    return look.finding(
        RULE,
        (part, "legend"),
        have=have,
        need=need,
        spread=0.0,
        say=say,
        mend=f"say it in fewer letters, or move {part} where {show(up_to_tenth(need - have), 1)} "
        "mm more are free beside it"
        if have < need
        else None,
    )


def _scale(look: Inspection, marks: Marks) -> Finding:
    have, part = marks.free, marks.part
    other = marks.nearest or "the edge of the flat"
    say = f"The scale of {part} keeps {show(have)} mm from {other}"
    if have < 0:
        say = f"The scale of {part} reaches {show(-have)} mm over {other}"
    return look.finding(
        RULE,
        (part, "scale"),
        have=have,
        need=AIR,
        spread=0.0,
        say=f"{say}; {show(AIR)} is needed.",
        mend=f"move {part} {show(up_to_tenth(AIR - have), 1)} mm further from {other}, or take "
        "a smaller knob"
        if have < AIR
        else None,
    )


legends = rule(RULE, Family.BUTTONS)(check_legends)
