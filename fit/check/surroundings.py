"""What is round the box: its warmth, what it stands on, and what to be careful of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fit.check.fitted import titled
from fit.check.rule import Family, Inspection, rule
from fit.findings import Finding
from fit.geometry.box import Face
from fit.geometry.scene import Scene
from fit.geometry.shapes import Point2
from fit.geometry.support import reach
from fit.model.part import Gland, Grommet, Holder
from fit.model.words import BoardStock, FaceName
from fit.trade.cautions import Danger
from fit.trade.clearances import CABLE_BEND
from fit.trade.materials import warming
from fit.units import show

_WARM = 15.0
"""From here on, K above the room, warmth is worth a thought (common practice, no source)."""

_FEET = 5.0
"""Height of ordinary stick-on feet, mm (common practice, no source)."""

_OVER = 1.0
"""What feet must be higher than what stands out below, mm (common practice, no source)."""


def _area(outline: tuple[Point2, ...]) -> float:
    """Area of a polygon, mm² (the surveyor's formula)."""
    turned = (*outline[1:], outline[0])
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, turned, strict=True))) / 2


def _free_area(faces: dict[FaceName, Face], stands_on: FaceName) -> float:
    """Outside that air can reach, mm²: all faces but the one it stands on."""
    return sum(_area(face.outline) for name, face in faces.items() if name is not stands_on)


def check_warmth(look: Inspection) -> Iterator[Finding]:
    """How warm the inside gets, when the build says how much heat is made in it.

    Looks at: watts in the build file against the outside of the box, without the face it stands
    on.

    Hurts: warm electronics drift and age; plastic creeps; cells swell.

    Formula: ΔT = P/(U·A), with U from 6.6 to 9.7 W/m²K and A the free outside; worth a thought
    above 15 K. Warmth is never a clash: at worst it is tight. Figures are in kelvin.

    Source: U from two pages on steel cabinets, converted, plastic taken as alike; 15 is common
    practice, no source. No promise for parts that run hot: see their own sheets.

    Example: 0.5 W in a box of 57 × 70 × 33: 3 to 5 K.

    Repairs: holes low and high; a larger box; the hot part outside on metal.
    """
    watts = look.scene.build.watts
    if watts <= 0:
        return
    low, high = warming(watts, _free_area(look.scene.faces, look.scene.build.stands_on))
    limit = look.need("warmth", _WARM)
    yield look.finding(
        "warmth",
        ("box", "air"),
        have=high,
        need=limit,
        margin=max(0.0, limit - high),
        spread=min(1.0, limit),
        say=f"{show(watts)} W make the inside {show(low, 0)} to {show(high, 0)} K warmer than the "
        f"room; above {show(limit, 0)} it is worth a thought.",
        mend="drill vent holes low and high, or take a larger box",
    )


def check_stands(look: Inspection) -> Iterator[Finding]:
    """Whether the box stands on what stands out of its lower face.

    Looks at: everything outside on the face the box stands on, and the bend of a cable that comes
    out there.

    Hurts: the box rocks on screw heads, a button is held down, a cable is kinked under it.

    Formula: feet of 5 ≥ what stands out + 1; a cable adds 6 times its diameter for its bend.

    Source: feet and 1 are common practice, no source; bend of a cable 4 to 6 diameters, common
    practice, no source.

    Example: pan heads of 2.4 below the floor want feet of 3.4 or more.

    Repairs: stick feet on, higher than what stands out; countersunk screws; another face.
    """
    down = look.scene.build.stands_on
    face = look.scene.faces[down]
    level = sum(a * b for a, b in zip(face.frame.z, face.frame.origin, strict=True))
    below: dict[str, float] = {}
    for body in look.scene.bodies:
        if body.outside and body.seat is down:
            tall = reach(body.shape, body.pose, face.frame.z) - level
            below[body.owner] = max(below.get(body.owner, 0.0), tall)
    for name, tall in below.items():
        part = look.scene.build.part(name).part
        cable = float(part.cable) * CABLE_BEND if isinstance(part, Gland | Grommet) else 0.0
        need = tall + cable + look.need("stands", _OVER)
        yield look.finding(
            "stands",
            (name, down.value),
            have=_FEET,
            need=need,
            spread=0.0,
            say=f"{titled(look, name)} stands out {show(tall)} mm on the {down}, which is below "
            "in use"
            f"{', and its cable bends there' if cable else ''}; the box needs feet of "
            f"{show(need)} mm.",
            mend=f"stick on feet at least {show(need)} mm high, or put {name} on another face",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """A danger of this build and what of it brings it; the words are `fit.trade.cautions`."""

    danger: Danger
    about: tuple[str, ...]


def cares(scene: Scene) -> tuple[Care, ...]:
    """What to be careful of in this build. Never complete, and no promise of safety."""
    used = scene.build.parts
    found = [
        (Danger.MAINS, [u.name for u in used if u.part.mains]),
        (Danger.LITHIUM, [u.name for u in used if isinstance(u.part, Holder) and u.part.lithium]),
        (Danger.DRILLS, [o.part for o in scene.to_cut]),
        (Danger.BLADES, [o.part for o in scene.to_cut if o.width > 0]),
        (Danger.FILES, [o.part for o in scene.to_cut if o.width > 0]),
        (Danger.DUST, [b.name for b in scene.boards if b.board.stock is not BoardStock.PLAIN]),
        (Danger.HOT_PARTS, ["box"] if scene.build.watts > 0 else []),
        (Danger.WATER, [u.name for u in used if isinstance(u.part, Gland)]),
    ]
    return tuple(
        Care(danger=danger, about=tuple(dict.fromkeys(names))) for danger, names in found if names
    )


warmth = rule("warmth", Family.SURROUNDINGS)(check_warmth)
stands = rule("stands", Family.SURROUNDINGS)(check_stands)
